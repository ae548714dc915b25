//! The same over real sockets: discovery, activation, several testers, limits, and what hostile ones can do.
#![expect(clippy::disallowed_methods, reason = "waits for sockets that go by the clock")]

use crate::bay::jobs::scenario;
use crate::net_support::{Line, MODULE, OTHER, TESTER};
use idlewright::net::doip::{Frame, payload};
use idlewright::net::server::{Bound, CONNECTIONS, Running, TESTERS};
use idlewright::session::Options;
use idlewright::session::live::{Beat, Live, Order, Pace};
use std::io::Write;
use std::net::{SocketAddr, TcpStream, UdpSocket};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

struct Served {
    running: Running,
    live: Arc<Live>,
}

impl Served {
    fn at(&self) -> SocketAddr {
        self.running.at()
    }
    fn time_s(&self) -> f64 {
        self.live.look(|s| s.desk.time_s()).expect("a desk")
    }
    fn lines(&self) -> usize {
        self.live.look(|s| s.desk.session().bench().log().len()).expect("a desk")
    }
}

/// A healthy engine at idle, at the pace of the clock.
fn served() -> Served {
    let beat = Beat { rest: Duration::from_millis(2), views: false };
    let live = Live::with_hands(scenario("healthy-idle"), None, Options::default(), beat, || ());
    while live.conditioning().is_some() {
        std::thread::sleep(Duration::from_millis(10));
    }
    live.order(Order::Pace(Pace::Times(1.0)));
    let live = Arc::new(live);
    let bound = Bound::take(([127, 0, 0, 1], 0).into()).expect("a free port");
    let running = Running::begin(bound, Arc::clone(&live) as _, 1).expect("threads").expect("a desk");
    // until the module's thread has looked once, nobody is awake
    let end = Instant::now() + Duration::from_secs(20);
    let s = Served { running, live };
    while power(&s) != Some(1) {
        assert!(Instant::now() < end, "the module never wakes");
        std::thread::sleep(Duration::from_millis(20));
    }
    s
}

fn asks(s: &Served, kind: u16, data: &[u8]) -> Option<Frame> {
    let udp = UdpSocket::bind("127.0.0.1:0").expect("a socket");
    udp.set_read_timeout(Some(Duration::from_millis(500))).expect("a timeout");
    udp.send_to(&Frame::new(0x02, kind, data.into()).bytes(), s.at()).expect("sent");
    let mut buffer = [0; 512];
    let n = udp.recv(&mut buffer).ok()?;
    Some(Frame::of_datagram(&buffer[..n]).expect("a frame"))
}

fn power(s: &Served) -> Option<u8> {
    asks(s, payload::POWER, &[]).map(|f| f.payload[0])
}

#[test]
fn source_the_car_is_found_by_datagram() {
    let s = served();
    let vin = s.running.identity().vin.clone();
    let found = asks(&s, payload::IDENTIFY, &[]).expect("an answer");
    assert_eq!(found.kind, payload::ANNOUNCE);
    assert_eq!(found.payload.len(), 33);
    assert_eq!(found.payload[..17], *vin.as_bytes());
    assert_eq!(found.payload[17..19], MODULE.to_be_bytes());
    let eid = found.payload[19..25].to_vec();
    assert_eq!(asks(&s, payload::IDENTIFY_VIN, vin.as_bytes()), Some(found.clone()));
    assert_eq!(asks(&s, payload::IDENTIFY_EID, &eid), Some(found));
    assert_eq!(asks(&s, payload::IDENTIFY_EID, &[9; 6]), None, "another car is meant");
    assert_eq!(asks(&s, payload::STATUS, &[]).expect("status").payload[..3], [1, TESTERS as u8, 0]);
    let line = Line::activated(s.at(), TESTER);
    assert_eq!(asks(&s, payload::STATUS, &[]).expect("status").payload[2], 1);
    drop(line);
    // faults of a header
    assert_eq!(asks(&s, 0x1234, &[]).expect("a refusal").payload, [0x01]);
    assert_eq!(asks(&s, payload::IDENTIFY, &[1]).expect("a refusal").payload, [0x04]);
}

#[test]
fn source_activation_has_its_codes() {
    let s = served();
    let mut wrong = Line::open(s.at());
    assert_eq!(wrong.activate(0x1234), Some(0x00), "no tester's address");
    assert!(wrong.is_closed());
    let mut kind = Line::open(s.at());
    kind.send(payload::ACTIVATE, &[0x0E, 0x00, 0xE0, 0, 0, 0, 0]);
    assert_eq!(kind.frame().expect("an answer").payload[4], 0x06);
    assert!(kind.is_closed());
    let mut one = Line::activated(s.at(), TESTER);
    assert_eq!(one.activate(TESTER), Some(0x10), "again is no harm");
    // the same address on another line: the first is asked whether it is alive, and is
    let mut second = Line::open(s.at());
    second.send(payload::ACTIVATE, &[&TESTER.to_be_bytes()[..], &[0; 5]].concat());
    let check = one.frame().expect("an alive check");
    assert_eq!(check.kind, payload::ALIVE);
    one.send(payload::IS_ALIVE, &TESTER.to_be_bytes());
    assert_eq!(second.frame().expect("an answer").payload[4], 0x03);
    assert!(second.is_closed());
    assert_eq!(one.told(&[0x3E, 0x00]), [0x7E, 0x00], "the first goes on");
    // one that does not answer makes room
    let mut third = Line::open(s.at());
    assert_eq!(third.activate(TESTER), Some(0x10));
    assert!(one.is_closed());
    assert_eq!(third.activate(OTHER), Some(0x02), "one address to a line");
    assert!(third.is_closed());
}

#[test]
fn source_messages_are_acknowledged_or_not() {
    let s = served();
    let mut early = Line::open(s.at());
    let refused = early.request(MODULE, &[0x3E, 0x00]).expect("an answer");
    assert_eq!((refused.kind, refused.payload[4]), (payload::NACK, 0x02), "not activated");
    assert!(early.is_closed());
    let mut line = Line::activated(s.at(), TESTER);
    let nobody = line.request(0x1999, &[0x3E, 0x00]).expect("an answer");
    assert_eq!((nobody.kind, nobody.payload[4]), (payload::NACK, 0x03));
    assert_eq!(line.told(&[0x01, 0x0C])[..2], [0x41, 0x0C]);
    // too long: passed over, and the line goes on
    line.send(payload::DIAGNOSTIC, &vec![0x22; 6000]);
    assert_eq!(line.frame().expect("a refusal").payload, [0x02]);
    assert_eq!(line.told(&[0x3E, 0x00]), [0x7E, 0x00]);
    // a frame of no version ends it
    line.stream.write_all(&[0x55; 8]).expect("sent");
    assert_eq!(line.frame().expect("a refusal").payload, [0x00]);
    assert!(line.is_closed());
    // with the key off nobody is behind the address
    let key = |key| Order::Do(idlewright::bench::action::Action::Key(key), Default::default());
    s.live.order(key(idlewright::bench::action::Key::Off));
    let end = Instant::now() + Duration::from_secs(20);
    while power(&s) != Some(0) && Instant::now() < end {
        std::thread::sleep(Duration::from_millis(50));
    }
    let mut line = Line::activated(s.at(), TESTER);
    let asleep = line.request(MODULE, &[0x3E, 0x00]).expect("an answer");
    assert_eq!((asleep.kind, asleep.payload[4]), (payload::NACK, 0x06));
}

#[test]
fn holds_testers_are_counted_and_quiet_ones_go() {
    let s = served();
    let mut all: Vec<Line> = (0..TESTERS as u16).map(|k| Line::activated(s.at(), 0x0E10 + k)).collect();
    // all are alive while they answer: one more hears that all places are taken
    let mut more = Line::open(s.at());
    more.send(payload::ACTIVATE, &[0x0E, 0x50, 0, 0, 0, 0, 0]);
    for line in &mut all {
        assert_eq!(line.frame().expect("an alive check").kind, payload::ALIVE);
        line.send(payload::IS_ALIVE, &line.source.to_be_bytes());
    }
    assert_eq!(more.frame().expect("an answer").payload[4], 0x01);
    for (k, line) in all.iter_mut().enumerate() {
        assert_eq!(line.told(&[0x22, 0xF1, 0x90]).len(), 20, "tester {k}");
    }
    drop(all);
    // connections that are opened and never used take their places for two seconds and no longer
    let seen = || {
        let counts = s.running.counts();
        counts.connections.load(Ordering::Relaxed) + counts.turned_away.load(Ordering::Relaxed)
    };
    let before = seen();
    let half: Vec<TcpStream> = (0..3 * CONNECTIONS).filter_map(|_| TcpStream::connect(s.at()).ok()).collect();
    // connect() returns before the server accepts: the next tester must not stand in line behind these
    let accepted = || seen() == before + half.len() as u64;
    let end = Instant::now() + Duration::from_secs(20);
    while (!accepted() || s.running.connected() > 0) && Instant::now() < end {
        std::thread::sleep(Duration::from_millis(50));
    }
    assert!(accepted());
    assert_eq!(s.running.connected(), 0);
    drop(half);
    assert_eq!(Line::activated(s.at(), TESTER).told(&[0x3E, 0x00]), [0x7E, 0x00]);
}

#[test]
fn holds_a_tester_that_goes_in_the_middle_leaves_the_engine_whole() {
    let s = served();
    let mut line = Line::activated(s.at(), TESTER);
    line.unlock();
    // the car is handed over as it starts: a cylinder can be cut once it idles
    let end = Instant::now() + Duration::from_secs(30);
    loop {
        let told = line.told(&[0x2F, 0x26, 0x01, 0x03, 0x00]);
        if told[0] == 0x6F {
            break;
        }
        assert!(Instant::now() < end, "{told:02X?}");
        std::thread::sleep(Duration::from_millis(200));
    }
    drop(line);
    let mut other = Line::activated(s.at(), OTHER);
    let end = Instant::now() + Duration::from_secs(20);
    while other.told(&[0x22, 0x26, 0x01])[3] == 0 {
        assert!(Instant::now() < end, "the injector stays cut");
        std::thread::sleep(Duration::from_millis(100));
    }
    assert_eq!(other.told(&[0x10, 0x03])[0], 0x50, "the session is free");
}

#[test]
fn holds_hostile_testers_cannot_stall_the_engine() {
    let s = served();
    let lines_before = s.lines();
    let (began, from_s) = (Instant::now(), s.time_s());
    let stop = Arc::new(AtomicBool::new(false));
    let at = s.at();
    let mut floods = Vec::new();
    let mut flood = |run: Box<dyn FnOnce(&AtomicBool) + Send>| {
        let stop = Arc::clone(&stop);
        floods.push(std::thread::spawn(move || run(&stop)));
    };
    // one that asks and never reads
    flood(Box::new(move |stop| {
        let ask = Frame::new(0x02, payload::DIAGNOSTIC, vec![0x0E, 0x20, 0x10, 0x00, 0x19, 0x0A]).bytes();
        while !stop.load(Ordering::Relaxed) {
            let mut line = Line::open(at);
            let _ = line.stream.set_write_timeout(Some(Duration::from_millis(100)));
            let _ = line.activate(0x0E20);
            while !stop.load(Ordering::Relaxed) && line.stream.write_all(&ask).is_ok() {}
            // cut off, or as much as the sockets hold: it comes again
            std::thread::sleep(Duration::from_millis(100));
        }
    }));
    // one that asks as fast as it is answered
    flood(Box::new(move |stop| {
        let mut line = Line::activated(at, 0x0E21);
        while !stop.load(Ordering::Relaxed) {
            line.told(&[0x22, 0x22, 0x01, 0xF4, 0x0C]);
        }
    }));
    // one that opens and leaves
    flood(Box::new(move |stop| {
        while !stop.load(Ordering::Relaxed) {
            if let Ok(mut half) = TcpStream::connect(at) {
                let _ = half.write_all(&[0x02, 0xFD, 0x80]);
            }
            std::thread::sleep(Duration::from_millis(5));
        }
    }));
    // and datagrams
    flood(Box::new(move |stop| {
        let udp = UdpSocket::bind("127.0.0.1:0").expect("a socket");
        let frame = Frame::new(0xFF, payload::IDENTIFY, Vec::new()).bytes();
        while !stop.load(Ordering::Relaxed) {
            for _ in 0..50 {
                let _ = udp.send_to(&frame, at);
            }
            std::thread::sleep(Duration::from_millis(1));
        }
    }));
    std::thread::sleep(Duration::from_secs(6));
    let mut line = Line::activated(at, TESTER);
    assert_eq!(line.told(&[0x01, 0x0C])[..2], [0x41, 0x0C], "an honest tester is answered meanwhile");
    let (past, ran) = (began.elapsed().as_secs_f64(), s.time_s() - from_s);
    stop.store(true, Ordering::Relaxed);
    drop(line);
    for flood in floods {
        // a connection that the server ended ends its flood in a panic of its own
        let _ = flood.join();
    }
    let counts = s.running.counts();
    println!(
        "{ran:.3} s simulated in {past:.3} s: {:+.2} %; {} requests, {} connections, {} turned away, {} datagrams answered, {} passed over",
        100.0 * (ran / past - 1.0),
        counts.requests.load(Ordering::Relaxed),
        counts.connections.load(Ordering::Relaxed),
        counts.turned_away.load(Ordering::Relaxed),
        counts.datagrams.load(Ordering::Relaxed),
        counts.passed_over.load(Ordering::Relaxed),
    );
    // readings that repeat do not fill the logbook
    let more = s.lines() - lines_before;
    assert!(more < 40, "{more} lines");
}
