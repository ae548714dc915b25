//! Testers: one that asks a module without a network, and one that speaks DoIP over real sockets.
#![expect(clippy::disallowed_methods, reason = "waits for sockets that go by the clock")]

use idlewright::bench::Bench;
use idlewright::net::car::OnBench;
use idlewright::net::doip::{Frame, Framer, payload};
use idlewright::net::security::key;
use idlewright::net::uds::{Reply, Request, Server};
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

/// Address of a tester.
pub const TESTER: u16 = 0x0E00;
/// Another one.
pub const OTHER: u16 = 0x0E01;
/// Address of the module.
pub const MODULE: u16 = 0x1000;

/// A module without a network, at a time that the test says.
#[derive(Debug)]
pub struct Bay {
    pub bench: Bench,
    pub server: Server,
    pub now: Duration,
}

impl Bay {
    pub fn new(bench: Bench) -> Self {
        Self { bench, server: Server::new(7), now: Duration::ZERO }
    }

    /// Asks; none where nothing is answered. A routine that is waited for is run to its end.
    pub fn ask_as(&mut self, from: u16, functional: bool, data: &[u8]) -> Option<Vec<u8>> {
        let mut module = OnBench::new(&mut self.bench);
        match self.server.answer(&mut module, &Request { from, functional, data }, self.now) {
            Reply::None => None,
            Reply::Bytes(bytes) => Some(bytes),
            Reply::Pending(of) => {
                for _ in 0..600 {
                    self.wait(0.1);
                    let mut module = OnBench::new(&mut self.bench);
                    if let Some(bytes) = self.server.ended(&mut module, of, self.now) {
                        return Some(bytes);
                    }
                }
                panic!("it never ends");
            }
        }
    }
    pub fn ask(&mut self, data: &[u8]) -> Option<Vec<u8>> {
        self.ask_as(TESTER, false, data)
    }
    /// Asks, and is answered.
    #[track_caller]
    pub fn told(&mut self, data: &[u8]) -> Vec<u8> {
        self.ask(data).unwrap_or_else(|| panic!("no answer to {data:02X?}"))
    }
    /// The code of a refusal.
    #[track_caller]
    pub fn refused(&mut self, data: &[u8]) -> u8 {
        match self.told(data)[..] {
            [0x7F, sid, code] if sid == data[0] => code,
            ref other => panic!("{data:02X?}: expected a refusal, got {other:02X?}"),
        }
    }
    /// Time passes, the bench's and the network's.
    pub fn wait(&mut self, seconds: f64) {
        self.bench.advance_by(seconds);
        self.now += Duration::from_secs_f64(seconds);
    }
    /// An extended session, unlocked.
    #[track_caller]
    pub fn unlock(&mut self) {
        assert_eq!(self.told(&[0x10, 0x03])[..2], [0x50, 0x03]);
        let seed = self.told(&[0x27, 0x01]);
        let seed = u32::from_be_bytes([seed[2], seed[3], seed[4], seed[5]]);
        let sent = [&[0x27, 0x02], &key(seed).to_be_bytes()[..]].concat();
        assert_eq!(self.told(&sent), [0x67, 0x02]);
    }
    /// Keeps the session up while time passes.
    pub fn present(&mut self, seconds: f64) {
        let mut left = seconds;
        while left > 0.0 {
            self.wait(left.min(2.0));
            left -= 2.0;
            assert_eq!(self.ask(&[0x3E, 0x80]), None);
        }
    }
}

/// A tester with a connection.
#[derive(Debug)]
pub struct Line {
    pub stream: TcpStream,
    pub framer: Framer,
    pub got: std::collections::VecDeque<Frame>,
    pub source: u16,
}

/// Longest that an answer is waited for.
const PATIENCE: Duration = Duration::from_secs(20);

impl Line {
    /// A connection that is not activated.
    pub fn open(at: SocketAddr) -> Self {
        let stream = TcpStream::connect(at).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_millis(50))).expect("a timeout");
        Self { stream, framer: Framer::default(), got: Default::default(), source: TESTER }
    }
    /// One that is.
    #[track_caller]
    pub fn activated(at: SocketAddr, source: u16) -> Self {
        let mut line = Self::open(at);
        assert_eq!(line.activate(source), Some(0x10));
        line
    }
    pub fn send(&mut self, kind: u16, payload: &[u8]) {
        // a connection that was ended takes nothing, and says so when it is read
        let _ = self.stream.write_all(&Frame::new(0x02, kind, payload.into()).bytes());
    }
    /// The next frame; none where the connection ended or nothing came.
    pub fn frame_within(&mut self, patience: Duration) -> Option<Frame> {
        let end = Instant::now() + patience;
        let mut buffer = [0; 1024];
        while Instant::now() < end {
            if let Some(frame) = self.got.pop_front() {
                return Some(frame);
            }
            match self.stream.read(&mut buffer) {
                Ok(0) => return None,
                Ok(n) => {
                    let Self { framer, got, .. } = self;
                    framer.push(&buffer[..n], &mut |f| got.push_back(f.expect("a frame")));
                }
                Err(e)
                    if matches!(e.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) => {}
                Err(_) => return None,
            }
        }
        None
    }
    pub fn frame(&mut self) -> Option<Frame> {
        self.frame_within(PATIENCE)
    }
    /// Nothing more comes, and the connection is closed.
    pub fn is_closed(&mut self) -> bool {
        let end = Instant::now() + PATIENCE;
        let mut buffer = [0; 1024];
        while Instant::now() < end {
            match self.stream.read(&mut buffer) {
                Ok(0) => return true,
                Ok(_) => {}
                Err(e)
                    if matches!(e.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) => {}
                Err(_) => return true,
            }
        }
        false
    }
    /// Asks for routing activation; the code of the answer.
    pub fn activate(&mut self, source: u16) -> Option<u8> {
        self.source = source;
        let p = [&source.to_be_bytes()[..], &[0; 5]].concat();
        self.send(payload::ACTIVATE, &p);
        let frame = self.frame()?;
        (frame.kind == payload::ACTIVATED).then(|| frame.payload[4])
    }
    /// Sends a request; the acknowledgement, positive or negative.
    pub fn request(&mut self, to: u16, data: &[u8]) -> Option<Frame> {
        let p = [&self.source.to_be_bytes()[..], &to.to_be_bytes(), data].concat();
        self.send(payload::DIAGNOSTIC, &p);
        self.frame()
    }
    /// Asks, and is answered; pending answers are waited for.
    #[track_caller]
    pub fn told(&mut self, data: &[u8]) -> Vec<u8> {
        let ack = self.request(MODULE, data).expect("an acknowledgement");
        assert_eq!(ack.kind, payload::ACK, "{ack:02X?}");
        loop {
            let frame = self.frame().unwrap_or_else(|| panic!("no answer to {data:02X?}"));
            assert_eq!(frame.kind, payload::DIAGNOSTIC, "{frame:02X?}");
            assert_eq!(frame.payload[..4], [&MODULE.to_be_bytes()[..], &self.source.to_be_bytes()].concat());
            if frame.payload[4..] != [0x7F, data[0], 0x78] {
                return frame.payload[4..].to_vec();
            }
        }
    }
    /// An extended session, unlocked.
    #[track_caller]
    pub fn unlock(&mut self) {
        assert_eq!(self.told(&[0x10, 0x03])[..2], [0x50, 0x03]);
        let seed = self.told(&[0x27, 0x01]);
        let seed = u32::from_be_bytes([seed[2], seed[3], seed[4], seed[5]]);
        assert_eq!(self.told(&[&[0x27, 0x02], &key(seed).to_be_bytes()[..]].concat()), [0x67, 0x02]);
    }
}
