//! A class played by the program itself: a number of seats through real sockets, each working at its car, and the
//! time from an act until it is visible.
//!
//! *Inside*: simulated pages that act and wait, and the table of measurements. *Outside*: the class that they join,
//! which is like any other ([`super::server`]).

use super::listen::{self, Gate};
use super::{Class, Config, now, server};
use crate::app::Error;
use crate::words::numbers::number;
use crate::words::say;
use futures_util::{SinkExt, StreamExt};
use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::{Value, json};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::time::{sleep, timeout};
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;

/// Longest wait for a car's earlier life.
const PATIENCE: Duration = Duration::from_secs(600);
/// Time between two acts at a seat.
const EVERY: Duration = Duration::from_secs(4);

/// The acts done in turn at a seat: looking, asking, switching, a part that may be good.
fn acts() -> [Value; 8] {
    [
        json!({ "load": ["compressor", true] }),
        json!({ "ask": "read_codes" }),
        json!({ "measure": "vacuum_gauge" }),
        json!({ "ask": "read_learned" }),
        json!({ "load": ["compressor", false] }),
        json!({ "pedal": 12.0 }),
        json!({ "pedal": 0.0 }),
        json!({ "measure": { "voltmeter": "battery_post" } }),
    ]
}

/// The result of a rehearsal.
#[derive(Debug, Clone, Default)]
pub struct Rehearsed {
    /// Number of seats played.
    pub seats: usize,
    /// Time from an act to the view that shows it \[s\], sorted.
    pub seen_s: Vec<f64>,
    /// Time from an act to its acknowledgement \[s\], sorted.
    pub acked_s: Vec<f64>,
    /// Memory per seat \[MB\].
    pub mb_a_seat: f64,
    /// CPU time over elapsed time, all cores together.
    pub cpu: f64,
    /// The pace that cars reached; mean of those set to ×1.
    pub pace: f64,
    /// Views that a page received per second; mean over the pages.
    pub views_a_second: f64,
    /// Pages that lost their connection.
    pub lost: usize,
}

impl Rehearsed {
    /// The value below which this share of all values lies.
    fn share(all: &[f64], share: f64) -> f64 {
        let place = (share * all.len() as f64).ceil() as usize;
        all.get(place.saturating_sub(1)).copied().unwrap_or(f64::NAN)
    }
    /// A line of the table.
    pub fn line(&self) -> String {
        let ms = |all: &[f64], share: f64| number(1000.0 * Self::share(all, share), 0);
        say!(
            "class-rehearsal-line",
            seats = format!("{:>6}", self.seats),
            acts = format!("{:>6}", self.seen_s.len()),
            ack = format!("{:>8}", ms(&self.acked_s, 0.95)),
            half = format!("{:>8}", ms(&self.seen_s, 0.5)),
            most = format!("{:>8}", ms(&self.seen_s, 0.95)),
            mb = format!("{:>8}", number(self.mb_a_seat, 1)),
            cpu = format!("{:>6}", number(100.0 * self.cpu, 0)),
            pace = format!("{:>6}", number(self.pace, 2)),
            views = format!("{:>8}", number(self.views_a_second, 1)),
            lost = format!("{:>5}", self.lost),
        )
    }
}

/// Plays a number of seats for a time in a class of its own.
pub async fn rehearse(config: &Config, seats: usize, seconds: f64) -> Result<Rehearsed, Error> {
    let cannot = |e: std::io::Error| Error::File(e.to_string());
    let listener = listen::bind(SocketAddr::from(([127, 0, 0, 1], 0))).await.map_err(cannot)?;
    let at = listener.local_addr().map_err(cannot)?;
    let first = || crate::app::listing::scenarios().into_iter().nth(1).map(|s| s.name.to_owned());
    let lesson = config.lesson.clone().or_else(first);
    let config = Config { seats: seats + 8, lesson, ..config.clone() };
    let (class, _) = Class::open(&config)?;
    class.change(|s| s.variants = false)?;
    let gate = Gate::new(listener, None, 4 * seats + 64).map_err(cannot)?;
    let serving = tokio::spawn(server::serve(Arc::clone(&class), gate, std::future::pending()));
    let before_mb = memory_mb();
    let mut pages = Vec::new();
    for k in 0..seats {
        pages.push(tokio::spawn(Player::join(at, class.word.clone(), k)));
    }
    let mut players = Vec::new();
    for page in pages {
        if let Ok(Some(player)) = page.await {
            players.push(player);
        }
    }
    let lost = seats - players.len();
    let (cpu_from, from) = (cpu_s(), now());
    let until = now() + Duration::from_secs_f64(seconds);
    let playing: Vec<_> = players.into_iter().map(|p| tokio::spawn(p.play(until))).collect();
    let mut all = Rehearsed { seats, lost, ..Rehearsed::default() };
    let (mut paces, mut views) = (Vec::new(), 0);
    for page in playing {
        match page.await {
            Ok(Some(played)) => {
                all.seen_s.extend(played.seen_s);
                all.acked_s.extend(played.acked_s);
                paces.extend(played.pace);
                views += played.views;
            }
            _ => all.lost += 1,
        }
    }
    let past = now().duration_since(from).as_secs_f64();
    all.cpu =
        (cpu_s() - cpu_from) / past / std::thread::available_parallelism().map_or(1.0, |n| n.get() as f64);
    all.views_a_second = views as f64 / past / seats as f64;
    all.mb_a_seat = (memory_mb() - before_mb) / seats as f64;
    all.seen_s.sort_by(f64::total_cmp);
    all.acked_s.sort_by(f64::total_cmp);
    all.pace = paces.iter().sum::<f64>() / paces.len().max(1) as f64;
    serving.abort();
    for seat in class.seats() {
        seat.remove();
    }
    Ok(all)
}

/// What a played page reads of a message. The rest is skipped: a real page reads it on a machine of its own.
#[derive(Debug, Default, Deserialize)]
struct Heard {
    kind: String,
    n: Option<u64>,
    #[serde(default)]
    live: Option<Reached>,
    #[serde(default)]
    lesson: Option<Lesson>,
}

#[derive(Debug, Deserialize)]
struct Reached {
    reached: Option<f64>,
}

#[derive(Debug, Deserialize)]
struct Lesson {
    /// There once the car is handed over.
    groups: Option<Vec<IgnoredAny>>,
}

type Socket = tokio_tungstenite::WebSocketStream<TcpStream>;

/// A page played by the program.
struct Player {
    socket: Socket,
    n: u64,
    k: usize,
    seen_s: Vec<f64>,
    acked_s: Vec<f64>,
    pace: Option<f64>,
    views: usize,
}

impl Player {
    async fn join(at: SocketAddr, word: String, k: usize) -> Option<Self> {
        let cookie = cookie(at, &json!({ "class": word, "seat": format!("seat {k}") }).to_string()).await?;
        let mut request = format!("ws://{at}/seat/ws").into_client_request().ok()?;
        request.headers_mut().insert("cookie", cookie.parse().ok()?);
        request.headers_mut().insert("origin", format!("http://{at}").parse().ok()?);
        let stream = TcpStream::connect(at).await.ok()?;
        let (socket, _) = tokio_tungstenite::client_async(request, stream).await.ok()?;
        let mut player = Self { socket, n: 0, k, seen_s: Vec::new(), acked_s: Vec::new(), pace: None, views: 0 };
        let ready = |m: &Heard| m.kind == "hello" && m.lesson.as_ref().is_some_and(|l| l.groups.is_some());
        timeout(PATIENCE, player.until(ready)).await.ok()??;
        player.order(json!({ "kind": "pace", "pace": 1.0 })).await?;
        let look = json!({ "kind": "look", "engine": true, "hidden": false });
        player.socket.send(Message::text(look.to_string())).await.ok()?;
        Some(player)
    }

    async fn next(&mut self) -> Option<Heard> {
        loop {
            match self.socket.next().await?.ok()? {
                Message::Text(text) => {
                    let message: Heard = serde_json::from_str(&text).ok()?;
                    if let Some(pace) = message.live.as_ref().and_then(|l| l.reached) {
                        self.pace = Some(pace);
                    }
                    self.views += usize::from(message.kind == "view");
                    return Some(message);
                }
                Message::Close(_) => return None,
                _ => {}
            }
        }
    }
    async fn until(&mut self, is: impl Fn(&Heard) -> bool) -> Option<Heard> {
        loop {
            let message = self.next().await?;
            if is(&message) {
                return Some(message);
            }
        }
    }
    async fn order(&mut self, mut message: Value) -> Option<()> {
        self.n += 1;
        message["n"] = json!(self.n);
        self.socket.send(Message::text(message.to_string())).await.ok()?;
        let n = self.n;
        self.until(|m| m.kind == "ack" && m.n == Some(n)).await.map(|_| ())
    }

    /// Acts every few seconds until the time is up, and receives messages in between.
    async fn play(mut self, until: Instant) -> Option<Self> {
        // pages do not all act at the same moment
        let first = EVERY.mul_f64((self.k % 40) as f64 / 40.0);
        self.views = 0;
        let mut next = now() + first;
        let mut k = self.k;
        while now() < until {
            let rest = next.saturating_duration_since(now());
            if let Ok(gone) = timeout(rest, self.next()).await {
                gone?;
                continue;
            }
            next = now() + EVERY;
            let act = acts()[k % 8].clone();
            k += 1;
            let sent = now();
            self.order(json!({ "kind": "act", "act": act })).await?;
            self.acked_s.push(now().duration_since(sent).as_secs_f64());
            self.until(|m| m.kind == "view").await?;
            self.seen_s.push(now().duration_since(sent).as_secs_f64());
        }
        Some(self)
    }
}

/// Joins the class; returns the cookie.
async fn cookie(at: SocketAddr, body: &str) -> Option<String> {
    for _ in 0..50 {
        let Ok(mut stream) = TcpStream::connect(at).await else {
            sleep(Duration::from_millis(50)).await;
            continue;
        };
        let head = format!(
            "POST /join HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        stream.write_all(head.as_bytes()).await.ok()?;
        stream.write_all(body.as_bytes()).await.ok()?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).await.ok()?;
        let line = answer.lines().find_map(|l| l.strip_prefix("set-cookie: "))?;
        return line.split(';').next().map(str::to_owned);
    }
    None
}

/// Memory used by this program \[MB\]; none if the system does not report it.
#[expect(clippy::disallowed_methods, reason = "the system tells memory in a file")]
fn memory_mb() -> f64 {
    let text = std::fs::read_to_string("/proc/self/statm").unwrap_or_default();
    let pages = text.split(' ').nth(1).and_then(|n| n.parse::<f64>().ok());
    pages.map_or(f64::NAN, |p| p * 4096.0 / 1e6)
}

/// CPU time used by this program \[s\].
fn cpu_s() -> f64 {
    cpu_time::ProcessTime::now().as_duration().as_secs_f64()
}
