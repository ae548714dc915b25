//! Who is let in, and what a hostile client may do: the class goes on.
#![expect(clippy::disallowed_methods, reason = "waits for a program that goes by the clock")]

use crate::bay::number_from;
use crate::support::{HEALTHY, Page, Served, WORD};
use serde_json::json;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio_rustls::rustls;
use tokio_tungstenite::tungstenite::Message;

#[test]
fn holds_pages_carry_the_headers_and_strangers_get_none() {
    let served = Served::new("headers", HEALTHY);
    for path in ["/", "/words.json", "/assets/seat.js", "/seat", "/wall", "/debrief", "/nowhere"] {
        let (_, head, _) = served.http("GET", path, &[], "");
        for line in [
            "content-security-policy: default-src 'none'; script-src 'self'",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
        ] {
            assert!(head.contains(line), "{path}: {line}\n{head}");
        }
        assert!(!head.contains("unsafe-inline"), "{path}");
    }
    assert_eq!(served.http("GET", "/seat", &[], "").0, 303);
    assert_eq!(served.http("GET", "/wall", &[], "").0, 403);
    assert_eq!(served.http("GET", "/wall?key=00", &[], "").0, 403);
    assert_eq!(served.http("GET", "/assets/..%2f..%2fCargo.toml", &[], "").0, 404);
    assert!(served.http("GET", "/words.json", &[], "").2.contains("\"join-title\":"));
    // a body that is larger than any name
    let large = "x".repeat(100_000);
    assert_eq!(served.joins(json!({ "class": WORD, "seat": large })).0, 413);
}

#[test]
fn holds_a_seat_is_its_cookies_and_names_stay_text() {
    let served = Served::new("join", HEALTHY);
    assert_eq!(served.joins(json!({ "class": "wrong", "seat": "fox" })).0, 403);
    for bad in ["<img src=x onerror=alert(1)>", "\u{1b}[31mred", "", "a/b"] {
        assert_eq!(served.joins(json!({ "class": WORD, "seat": bad })).0, 400, "{bad:?}");
    }
    let cookie = served.join("fox");
    assert_eq!(served.joins(json!({ "class": WORD, "seat": "FOX" })).0, 409, "somebody has it");
    let foreign = [("Origin", "http://elsewhere")];
    let with = json!({ "class": WORD, "seat": "hare" }).to_string();
    assert_eq!(served.http("POST", "/join", &foreign, &with).0, 403);
    // sockets: with the cookie, from the own page
    let own = format!("http://{}", served.host);
    let tries = [
        ("", own.as_str()),
        ("seat=00", own.as_str()),
        (cookie.as_str(), ""),
        (cookie.as_str(), "http://elsewhere"),
        (cookie.as_str(), "null"),
    ];
    for (with, origin) in tries {
        assert_eq!(served.socket("/seat/ws", with, origin).err(), Some(403), "{with:?} from {origin:?}");
    }
    assert!(served.socket("/seat/ws", &cookie, &own).is_ok());
}

#[test]
fn holds_wrong_words_in_a_row_must_wait() {
    let served = Served::new("wrong", HEALTHY);
    let last = (0..12)
        .map(|k| served.joins(json!({ "class": format!("w{k}"), "seat": "fox" })).0)
        .collect::<Vec<_>>()
        .pop();
    assert_eq!(last, Some(429));
    assert_eq!(served.joins(json!({ "class": WORD, "seat": "fox" })).0, 429, "the right one too");
}

#[test]
fn holds_hostile_pages_harm_nobody_else() {
    let served = Served::new("hostile", HEALTHY);
    let (mut good, _) = served.seat("good");
    good.order(json!({ "kind": "pace", "pace": 1.0 }));
    let bad = served.join("bad");
    // a giant frame, half a frame, no JSON, no object, bytes: the page is closed
    let mut page = served.page("/seat/ws", &bad);
    page.raw(Message::text("x".repeat(1 << 20)));
    page.until_closed();
    for nonsense in ["{", "[]", "7", "{\"kind\":\"act\"}"] {
        let mut page = served.page("/seat/ws", &bad);
        page.raw(Message::text(nonsense));
        page.until_closed();
    }
    let mut page = served.page("/seat/ws", &bad);
    page.raw(Message::binary(vec![0; 64]));
    page.until_closed();
    // a cookie with its letters moved
    let forged: String = bad.chars().rev().collect();
    assert!(served.socket("/seat/ws", &forged, &format!("http://{}", served.host)).is_err());
    let before = latency(&mut good);
    let mut flood = served.page("/seat/ws", &bad);
    // connections that say nothing, or half a request: more than there are places. By hand as many as files may be
    // open: IDLEWRIGHT_CONNECTIONS=10000
    let many = number_from("IDLEWRIGHT_CONNECTIONS").unwrap_or(400);
    let idle: Vec<TcpStream> = (0..many)
        .filter_map(|k| {
            let mut s = TcpStream::connect(&served.host).ok()?;
            if k % 2 == 0 {
                let _ = s.write_all(b"GET /seat/ws HTTP/1.1\r\nHost: ");
            }
            Some(s)
        })
        .collect();
    // a flood of orders is slowed down, and none of it is refused to others; its answers are never read
    for n in 1..=200 {
        flood.send(&json!({ "kind": "act", "n": n, "act": { "pedal": f64::from(n % 100) } }));
    }
    let meanwhile = latency(&mut good);
    println!(
        "{} of {many} connected; act to acknowledgement {:.1} ms before, {:.1} ms meanwhile (19 of 20 are faster)",
        idle.len(),
        1e3 * before.as_secs_f64(),
        1e3 * meanwhile.as_secs_f64()
    );
    assert!(meanwhile < Duration::from_secs(2), "{meanwhile:?}");
    drop((idle, flood));
    // places are free again
    let mut late = served.page("/seat/ws", &served.join("late"));
    late.until_handed_over();
}

/// How long an act takes until it is acknowledged, at a pace that no limit holds back: 19 of 20 are faster.
fn latency(page: &mut Page) -> Duration {
    let mut all: Vec<Duration> = (0..40)
        .map(|k| {
            std::thread::sleep(Duration::from_millis(100));
            let began = Instant::now();
            page.act(json!({ "brake": k % 2 == 0 }));
            began.elapsed()
        })
        .collect();
    all.sort();
    all[37]
}

/// With a certificate everything is encrypted: pages come to whoever trusts it, and nothing to whoever speaks plainly.
#[test]
fn holds_a_class_with_a_certificate_is_encrypted() {
    let dir = crate::bay::program::folder("encrypted");
    let made = rcgen::generate_simple_self_signed(["127.0.0.1".to_owned()]).expect("a certificate");
    crate::bay::program::write(&dir, "cert.pem", &made.cert.pem());
    crate::bay::program::write(&dir, "key.pem", &made.signing_key.serialize_pem());
    let served = Served::again(&dir, &["--word", WORD, "--cert", "cert.pem", "--key", "key.pem"]);
    let mut trusted = rustls::RootCertStore::empty();
    trusted.add(made.cert.der().clone()).expect("a certificate");
    let asks = |trusted: rustls::RootCertStore| -> std::io::Result<String> {
        let config = rustls::ClientConfig::builder().with_root_certificates(trusted).with_no_client_auth();
        let name = "127.0.0.1".try_into().expect("an address");
        let client = rustls::ClientConnection::new(Arc::new(config), name).expect("a client");
        let mut stream = rustls::StreamOwned::new(client, TcpStream::connect(&served.host)?);
        stream.write_all(
            format!("GET / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", served.host).as_bytes(),
        )?;
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        Ok(String::from_utf8_lossy(&all).into_owned())
    };
    let page = asks(trusted).expect("an answer");
    assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    assert!(
        asks(rustls::RootCertStore::empty()).is_err(),
        "whoever does not know the certificate goes no further"
    );
    assert_eq!(served.http("GET", "/", &[], "").0, 0, "nothing is told in the clear");
}

#[test]
fn holds_a_class_stands_behind_a_path_of_a_proxys() {
    let dir = crate::bay::program::folder("base");
    let served = Served::again(&dir, &["--word", WORD, "--lesson", HEALTHY, "--base-path", "/monday/"]);
    assert_eq!(served.http("GET", "/", &[], "").0, 404);
    assert_eq!(served.http("GET", "/monday", &[], "").0, 308);
    assert_eq!(served.http("GET", "/monday/", &[], "").0, 200);
    let with = json!({ "class": WORD, "seat": "fox" }).to_string();
    // as a proxy passes a page's request on: its own host, and whom it comes from
    let passed = [("Origin", format!("http://{}", served.host)), ("X-Forwarded-For", "10.0.0.7".into())];
    let passed: Vec<(&str, &str)> = passed.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let (status, head, body) = served.http("POST", "/monday/join", &passed, &with);
    assert_eq!(status, 200, "{body}");
    let line = head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).expect("a cookie");
    assert!(line.contains("path=/monday/"), "{line}");
    let cookie = line.split(';').next().expect("a value").to_owned();
    let mut page = served.page("/monday/seat/ws", &cookie);
    page.until_handed_over();
    // whoever is wrong too often waits; another behind the same proxy does not
    let tries = |from: &str, word: &str| {
        let body = json!({ "class": word, "seat": "hare" }).to_string();
        served.http("POST", "/monday/join", &[("X-Forwarded-For", from)], &body).0
    };
    let last = (0..12).map(|_| tries("10.0.0.8", "wrong")).collect::<Vec<_>>().pop();
    assert_eq!((last, tries("10.0.0.9", "wrong")), (Some(429), 403));
}

#[test]
fn holds_a_new_link_shuts_the_old_one_out() {
    let mut served = Served::new("link", HEALTHY);
    let old = served.instructor();
    let key = served.key.clone().expect("a key");
    served.kill();
    let dir = served.dir.clone();
    let served = Served::again(&dir, &["--new-link"]);
    assert_ne!(served.key.as_ref(), Some(&key));
    assert_eq!(served.http("GET", &format!("/wall?key={key}"), &[], "").0, 403);
    assert_eq!(served.http("GET", "/wall", &[("Cookie", &old)], "").0, 403, "its cookie too");
    served.instructor();
    // a second program in the same folder would run the same seats
    let second = crate::bay::program::go(&dir, &["class", "class", "--listen", "127.0.0.1:0"]);
    crate::bay::program::ends(&second, 4);
    // without --lan nobody else is let in
    let open = crate::bay::program::go(&dir, &["class", "other", "--listen", "0.0.0.0:0"]);
    crate::bay::program::ends(&open, 2);
}

/// A rehearsal in a folder that holds one lost all its pages, printed no numbers and ended well.
#[test]
fn bug_a_rehearsal_wants_a_new_folder() {
    let dir = crate::bay::program::folder("rehearsal");
    let again = || crate::bay::program::go(&dir, &["class", "class", "--rehearse", "1", "--seconds", "1"]);
    let told = crate::bay::program::ends(&again(), 0);
    assert!(!told.contains("NaN"), "{told}");
    let told = again();
    assert_ne!(told.status.code(), Some(0));
    assert!(crate::bay::program::err(&told).contains("new folder"));
}

/// A class was deleted at once, with everybody's work, by whoever mistook the folder.
#[test]
fn bug_a_class_was_deleted_without_being_asked() {
    use crate::bay::program::{command, ends, err, go};
    use std::process::Stdio;
    let mut served = Served::new("delete", HEALTHY);
    served.join("fox");
    served.kill();
    let there = |served: &Served| served.class().join("class.db").is_file();
    // nobody answers
    let o = go(&served.dir, &["class", "class", "--delete"]);
    ends(&o, 2);
    assert!(err(&o).contains("Type the folder's name, class") && err(&o).contains("--yes"), "{}", err(&o));
    assert!(there(&served));
    let answered = |with: &str| {
        let mut child = command(&served.dir, &["class", "class", "--delete"])
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program runs");
        let mut to = child.stdin.take().expect("piped");
        to.write_all(with.as_bytes()).expect("typed");
        drop(to);
        child.wait().expect("it ends").code()
    };
    assert_eq!(answered("another\n"), Some(2));
    assert!(there(&served));
    assert_eq!(answered("class\n"), Some(0));
    assert!(!there(&served));
    // a script says so beforehand
    let mut again = Served::again(&served.dir, &["--word", WORD, "--lesson", HEALTHY]);
    again.kill();
    ends(&go(&again.dir, &["class", "class", "--delete", "--yes"]), 0);
    assert!(!there(&again));
}
