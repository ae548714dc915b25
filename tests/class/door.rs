//! Who is let in, and what a hostile client may do: the class goes on.
#![expect(clippy::disallowed_methods, reason = "waits for a program that goes by the clock")]

use crate::support::{Served, WORD};
use serde_json::json;
use std::io::Write;
use std::net::TcpStream;
use std::time::Duration;
use tokio_tungstenite::tungstenite::Message;

#[test]
fn holds_pages_carry_the_headers_and_strangers_get_none() {
    let served = Served::new("headers", "A0");
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
    let served = Served::new("join", "A0");
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
    let served = Served::new("wrong", "A0");
    let last = (0..12).map(|k| served.joins(json!({ "class": format!("w{k}"), "seat": "fox" })).0).last();
    assert_eq!(last, Some(429));
    assert_eq!(served.joins(json!({ "class": WORD, "seat": "fox" })).0, 429, "the right one too");
}

#[test]
fn holds_hostile_pages_harm_nobody_else() {
    let served = Served::new("hostile", "A0");
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
    // connections that say nothing, or half a request
    let idle: Vec<TcpStream> = (0..200)
        .filter_map(|k| {
            let mut s = TcpStream::connect(&served.host).ok()?;
            if k % 2 == 0 {
                let _ = s.write_all(b"GET /seat/ws HTTP/1.1\r\nHost: ");
            }
            Some(s)
        })
        .collect();
    // a flood of orders is slowed down, and none of it is refused to others
    let mut flood = served.page("/seat/ws", &bad);
    for n in 1..=200 {
        flood.send(&json!({ "kind": "act", "n": n, "act": { "pedal": f64::from(n % 100) } }));
    }
    let began = std::time::Instant::now();
    good.act(json!({ "brake": true }));
    assert!(began.elapsed() < Duration::from_secs(2), "{:?}", began.elapsed());
    drop((idle, flood));
}
