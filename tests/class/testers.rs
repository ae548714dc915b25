//! A seat's module on the network: its own port, its own page's device, its own logbook.

#![expect(clippy::disallowed_methods, reason = "what was kept is read, and a port's closing waited for")]

use crate::bay::program::{ends, go};
use crate::net_support::Line;
use crate::support::{LESSON, PATIENCE, Served, WORD};
use serde_json::json;
use socket2::{Domain, Socket, Type};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::time::{Duration, Instant};

/// A port that nobody has.
fn free_port() -> u16 {
    TcpListener::bind(("127.0.0.1", 0)).expect("a port").local_addr().expect("an address").port()
}

/// A connection from an address of this machine; whether anything is answered there.
fn is_answered(from: [u8; 4], at: SocketAddr) -> bool {
    let socket = Socket::new(Domain::IPV4, Type::STREAM, None).expect("a socket");
    socket.bind(&SocketAddr::from((from, 0)).into()).expect("an address of this machine");
    socket.connect(&at.into()).expect("it listens");
    let stream = TcpStream::from(socket);
    stream.set_read_timeout(Some(Duration::from_millis(50))).expect("a timeout");
    let mut line = Line { stream, framer: Default::default(), got: Default::default(), source: 0x0E00 };
    line.activate(0x0E00).is_some()
}

#[test]
fn holds_a_seat_s_module_answers_the_tester_of_its_own_device() {
    let port = free_port();
    let at = SocketAddr::from(([127, 0, 0, 1], port));
    let testers = port.to_string();
    let dir = crate::bay::program::folder("testers");
    let mut served = Served::again(&dir, &["--word", WORD, "--lesson", LESSON, "--testers", &testers]);
    let (mut page, cookie) = served.seat("heron");
    page.until("its port", |v| v["tester_port"] == port);
    let mut line = Line::activated(at, 0x0E00);
    // the vehicle's identification, then codes: the second stands in the logbook, as a trainee's own reading does
    assert_eq!(line.told(&[0x22, 0xF1, 0x90])[..3], [0x62, 0xF1, 0x90]);
    assert_eq!(line.told(&[0x19, 0x02, 0xFF])[..2], [0x59, 0x02]);
    // what the lesson asks before an act is asked on the seat's page, and no tester passes it over by asking again
    for _ in 0..2 {
        assert_eq!(line.told(&[0x14, 0xFF, 0xFF, 0xFF]), [0x7F, 0x14, 0x22]);
    }
    page.until_view("the question", |v| !v["questions"][0].is_null());
    page.order(json!({ "kind": "pass" }));
    page.until_view("an end of questions", |v| v["questions"][0].is_null());
    // another device of the room is not let in
    if cfg!(target_os = "linux") {
        assert!(!is_answered([127, 0, 0, 2], at), "a stranger is turned away");
        assert!(is_answered([127, 0, 0, 1], at), "the seat's own device is not");
    }
    // what the tester asked for outlives a kill
    served.kill();
    let served = Served::again(&dir, &["--testers", &testers]);
    let mut page = served.page("/seat/ws", &cookie);
    page.until_handed_over();
    page.until("its port again", |v| v["tester_port"] == port);
    assert!(is_answered([127, 0, 0, 1], at));
    let book = served.class().join("logbooks/1-1.jsonl");
    page.order(json!({ "kind": "hand_in" }));
    page.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    let text = std::fs::read_to_string(&book).expect("kept");
    assert_eq!(text.matches("\"read_codes\"").count(), 1, "{text}");
    assert_eq!(text.matches("{\"ask\":\"clear_codes\"}").count(), 1, "{text}");
    ends(&go(&served.dir, &["verify", book.to_str().expect("a path")]), 0);
    // the car is gone, and its port with it
    let began = Instant::now();
    while TcpStream::connect(at).is_ok() {
        assert!(began.elapsed() < PATIENCE, "the port stays open");
        std::thread::sleep(Duration::from_millis(100));
    }
}
