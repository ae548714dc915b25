//! A class that is served by the program itself, and a page that talks to it over real sockets.
#![expect(
    clippy::disallowed_methods,
    reason = "waits for a program that goes by the clock, and reads what it wrote"
)]

use crate::bay::program::{command, folder};
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::http::HeaderValue;
use tokio_tungstenite::tungstenite::{Error, Message, WebSocket, client};

/// A healthy car.
pub const HEALTHY: &str = "healthy-idle";
/// A lesson with causes to choose from.
pub const LESSON: &str = "idles-high";
/// The word of every class here.
pub const WORD: &str = "quiet-teal";
/// Longest that anything is waited for.
pub const PATIENCE: Duration = Duration::from_secs(180);

/// A class under way.
#[derive(Debug)]
pub struct Served {
    child: Child,
    pub dir: PathBuf,
    /// Host and port.
    pub host: String,
    /// The instructor's secret, where one was printed.
    pub key: Option<String>,
}

impl Drop for Served {
    fn drop(&mut self) {
        self.kill();
    }
}

impl Served {
    /// A new class in a folder of its own.
    #[track_caller]
    pub fn new(name: &str, lesson: &str) -> Self {
        let dir = folder(name);
        Self::again(&dir, &["--word", WORD, "--lesson", lesson])
    }

    /// A class that is there already, or is made.
    pub fn again(dir: &Path, more: &[&str]) -> Self {
        let mut args = vec!["class", "class", "--listen", "127.0.0.1:0"];
        args.extend(more);
        let mut child = command(dir, &args)
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the program runs");
        let (mut host, mut key) = (None, None);
        for line in BufReader::new(child.stdout.take().expect("piped")).lines() {
            let line = line.expect("text");
            if let Some((_, secret)) = line.split_once("wall?key=") {
                key = Some(secret.to_owned());
            } else if let Some((_, rest)) = line.split_once("://") {
                host = rest.split('/').next().map(str::to_owned);
            }
            if line.contains("Ctrl-C") {
                break;
            }
        }
        let host = host.expect("it says where it is");
        Self { child, dir: dir.into(), host, key }
    }

    /// Killed without warning.
    pub fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// The class's folder.
    pub fn class(&self) -> PathBuf {
        self.dir.join("class")
    }

    /// A request: status, head and body.
    pub fn http(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &str,
    ) -> (u16, String, String) {
        let mut stream = TcpStream::connect(&self.host).expect("it listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        let mut text = format!("{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n", self.host);
        for (name, value) in headers {
            text += &format!("{name}: {value}\r\n");
        }
        text += &format!("Content-Length: {}\r\n\r\n{body}", body.len());
        stream.write_all(text.as_bytes()).expect("sent");
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        let all = String::from_utf8_lossy(&all).into_owned();
        let (head, body) = all.split_once("\r\n\r\n").unwrap_or((&all, ""));
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        (status, head.to_lowercase(), body.to_owned())
    }

    /// Joins; gives the cookie.
    #[track_caller]
    pub fn join(&self, seat: &str) -> String {
        let (status, head, body) = self.joins(json!({ "class": WORD, "seat": seat }));
        assert_eq!(status, 200, "{body}");
        cookie(&head)
    }

    /// Tries to join.
    pub fn joins(&self, with: Value) -> (u16, String, String) {
        self.http("POST", "/join", &[("Content-Type", "application/json")], &with.to_string())
    }

    /// The instructor's cookie.
    #[track_caller]
    pub fn instructor(&self) -> String {
        let key = self.key.as_ref().expect("a link was printed");
        let (status, head, body) = self.http("GET", &format!("/wall?key={key}"), &[], "");
        assert_eq!(status, 303, "{body}");
        cookie(&head)
    }

    /// Opens a socket; the status where it is refused.
    pub fn socket(&self, path: &str, cookie: &str, origin: &str) -> Result<Page, u16> {
        let stream = TcpStream::connect(&self.host).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_millis(100))).expect("a timeout");
        stream.set_nodelay(true).expect("no delay");
        let mut request = format!("ws://{}{path}", self.host).into_client_request().expect("an address");
        let text = |v: &str| HeaderValue::from_str(v).expect("a header");
        request.headers_mut().insert("cookie", text(cookie));
        if !origin.is_empty() {
            request.headers_mut().insert("origin", text(origin));
        }
        let mut shaken = client(request, stream);
        loop {
            match shaken {
                Ok((socket, _)) => return Ok(Page { socket, frames: Vec::new(), n: 0, view: Value::Null }),
                Err(tokio_tungstenite::tungstenite::HandshakeError::Interrupted(mid)) => {
                    shaken = mid.handshake()
                }
                Err(tokio_tungstenite::tungstenite::HandshakeError::Failure(Error::Http(r))) => {
                    return Err(r.status().as_u16());
                }
                Err(e) => panic!("{e}"),
            }
        }
    }

    /// A page of our own at a path.
    #[track_caller]
    pub fn page(&self, path: &str, cookie: &str) -> Page {
        let origin = format!("http://{}", self.host);
        self.socket(path, cookie, &origin).expect("let in")
    }

    /// A seat that has joined, its car handed over.
    #[track_caller]
    pub fn seat(&self, word: &str) -> (Page, String) {
        let cookie = self.join(word);
        let mut page = self.page("/seat/ws", &cookie);
        page.until_handed_over();
        (page, cookie)
    }
}

fn cookie(head: &str) -> String {
    let line = head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).expect("a cookie");
    for flag in ["httponly", "samesite=strict", "path=/"] {
        assert!(line.contains(flag), "{line}");
    }
    line.split(';').next().expect("a value").to_owned()
}

/// A page: it keeps every frame that it was sent.
pub struct Page {
    socket: WebSocket<TcpStream>,
    pub frames: Vec<String>,
    n: u64,
    /// The latest view.
    pub view: Value,
}

impl Page {
    /// Sends a message as it is.
    pub fn send(&mut self, message: &Value) {
        self.raw(Message::text(message.to_string()));
    }
    pub fn raw(&mut self, message: Message) {
        let _ = self.socket.send(message);
    }

    /// The next message, if one comes within the socket's timeout; none at the end of the socket.
    pub fn next(&mut self) -> Result<Option<Value>, ()> {
        match self.socket.read() {
            Ok(Message::Text(text)) => {
                let value: Value = serde_json::from_str(&text).expect("JSON");
                self.frames.push(text.to_string());
                if value["kind"] == "view" {
                    self.view = value.clone();
                }
                Ok(Some(value))
            }
            Ok(Message::Close(_)) => Err(()),
            Ok(_) => Ok(None),
            Err(Error::Io(e))
                if matches!(e.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) =>
            {
                Ok(None)
            }
            Err(_) => Err(()),
        }
    }

    /// Waits for a message.
    #[track_caller]
    pub fn until(&mut self, what: &str, is: impl Fn(&Value) -> bool) -> Value {
        let began = Instant::now();
        while began.elapsed() < PATIENCE {
            match self.next() {
                Ok(Some(v)) if is(&v) => return v,
                Ok(_) => {}
                Err(()) => panic!("the socket closed before {what}: {:?}", self.frames.last()),
            }
        }
        panic!("no {what}; last: {:?}", self.frames.last());
    }

    /// Waits for a view of the car, unless the latest one will do: while time stands, a view is sent only when something
    /// has changed, and may come before the act that changed it is acknowledged.
    #[track_caller]
    pub fn until_view(&mut self, what: &str, is: impl Fn(&Value) -> bool) -> Value {
        let is = |v: &Value| v["kind"] == "view" && is(&v["view"]);
        if is(&self.view) { self.view.clone() } else { self.until(what, is) }
    }

    /// Waits until the car is handed over; gives the `hello`.
    #[track_caller]
    pub fn until_handed_over(&mut self) -> Value {
        let hello = self.until("hand-over", |v| v["kind"] == "hello" && v["lesson"]["groups"].is_array());
        self.n = hello["attempt"]["last_n"].as_u64().expect("a number");
        hello
    }

    /// Sends something with the next number; waits until it is on disk. Gives why it was refused.
    #[track_caller]
    pub fn order(&mut self, mut message: Value) -> Option<String> {
        self.n += 1;
        message["n"] = json!(self.n);
        self.send(&message);
        let n = self.n;
        let ack = self.until(&format!("ack of {message}"), |v| v["kind"] == "ack" && v["n"] == n);
        ack["refused"].as_str().map(str::to_owned)
    }

    /// Does something at the car; fails where it is refused.
    #[track_caller]
    pub fn act(&mut self, act: Value) {
        let refused = self.order(json!({ "kind": "act", "act": act }));
        assert_eq!(refused, None, "{act}");
    }

    /// Waits until the car has come to a time after hand-over \[s\].
    #[track_caller]
    pub fn until_time(&mut self, s: f64) {
        self.until(&format!("{s} s"), |v| {
            let time = |key: &str| v["view"][key].as_f64();
            matches!((time("time_s"), time("hand_over_s")), (Some(t), Some(from)) if t - from >= s - 1e-6)
        });
    }

    /// Waits until the page is closed by the other side; gives why.
    pub fn until_closed(&mut self) -> Option<String> {
        let began = Instant::now();
        let mut why = None;
        while began.elapsed() < PATIENCE {
            match self.next() {
                Ok(Some(v)) if v["kind"] == "bye" => why = v["why"].as_str().map(str::to_owned),
                Ok(_) => {}
                Err(()) => return why,
            }
        }
        panic!("still open");
    }
}
