//! Sockets: discovery by UDP, connections by TCP, and one thread that queries the module.
//!
//! *Inside*: threads, limits, wall-clock timers, the table of connections. *Outside*: frames ([`super::doip`]), what
//! a connection does with them ([`super::link`]), what the module answers ([`super::uds`]).
//!
//! Each connection has a reading thread of its own, which waits for the module's answer before it reads on: a tester
//! has one request under way, and anything further stays in its own socket. Requests go through a channel of
//! [`QUEUE`] places to the one thread that holds the module's sessions; that thread looks at the bench between two
//! steps, at most [`RATE`] times a second. Whatever testers do, the load on the bench's thread is limited.

#![expect(
    clippy::disallowed_methods,
    reason = "threads of the network wait by the wall clock; the bench does not"
)]

use super::car::{AtDesk, Seat};
use super::doip::{EDITION_2012, Fault, Frame, LONGEST, payload};
use super::identity::{Identity, MODULE};
use super::link::{ALIVE, Effect, Link, activation, answered};
use super::refusal::nrc;
use super::uds::{P2_MS, Reply, Request, Server, refused};
use super::{Clock, Rate};
use crate::link::Routine;
use socket2::{Domain, Protocol, Socket, Type};
use std::io::{ErrorKind, Read, Write};
use std::net::{Ipv4Addr, Shutdown, SocketAddr, TcpListener, TcpStream, UdpSocket};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

/// Maximum number of testers, each with a connection and a source address of its own.
pub const TESTERS: usize = 8;
/// Maximum number of connections: more than testers, so that a further tester is told why it cannot be activated.
pub const CONNECTIONS: usize = TESTERS + 4;
/// Maximum requests per second, and in a burst.
pub const RATE: f64 = 300.0;
const BURST: f64 = 60.0;
/// Maximum frames of a connection per second, and in a burst.
const FRAMES: (f64, f64) = (600.0, 200.0);
/// Maximum answers to datagrams per second, and in a burst.
const DATAGRAMS: (f64, f64) = (50.0, 50.0);
/// Maximum number of waiting requests.
pub const QUEUE: usize = 16;
/// A tester that accepts no byte for this long is gone.
const SLOWEST: Duration = Duration::from_secs(2);
/// How often a thread checks whether it is to stop.
const LOOK: Duration = Duration::from_millis(50);
/// How many announcements are sent, and their interval (A_DoIP_Announce_Num, _Interval).
const ANNOUNCE: (u32, Duration) = (3, Duration::from_millis(500));
/// Interval at which a pending response is repeated.
const PENDING_EVERY: Duration = Duration::from_millis(2000);

/// The bound sockets: both are bound before anything is simulated.
#[derive(Debug)]
pub struct Bound {
    tcp: TcpListener,
    udp: UdpSocket,
    at: SocketAddr,
}

impl Bound {
    /// Binds the address for UDP and TCP; port 0 selects a free one.
    pub fn take(at: SocketAddr) -> std::io::Result<Self> {
        let tcp = TcpListener::bind(at)?;
        let at = tcp.local_addr()?;
        let udp = Socket::new(Domain::for_address(at), Type::DGRAM, Some(Protocol::UDP))?;
        // a tester on this machine may listen for announcements on the same port
        udp.set_reuse_address(true)?;
        udp.bind(&at.into())?;
        let udp = UdpSocket::from(udp);
        if at.is_ipv4() {
            udp.set_broadcast(true)?;
        }
        Ok(Self { tcp, udp, at })
    }
    /// The address.
    pub fn at(&self) -> SocketAddr {
        self.at
    }
}

/// Traffic counters, for measurements.
#[derive(Debug, Default)]
pub struct Counts {
    /// Connections accepted.
    pub connections: AtomicU64,
    /// Connections refused.
    pub turned_away: AtomicU64,
    /// Requests answered.
    pub requests: AtomicU64,
    /// Datagrams answered.
    pub datagrams: AtomicU64,
    /// Datagrams ignored because they arrived too fast.
    pub passed_over: AtomicU64,
}

/// The state that all threads share.
struct Shared {
    clock: Clock,
    stop: AtomicBool,
    awake: AtomicBool,
    identity: Identity,
    slots: Mutex<Vec<Arc<Slot>>>,
    counts: Counts,
}

/// A connection in the table.
struct Slot {
    number: u64,
    source: Mutex<Option<u16>>,
    /// An alive check was answered since the last one was sent.
    alive: AtomicBool,
    stream: TcpStream,
    /// Ensures that one frame is written at a time.
    writes: Mutex<()>,
}

/// A request for the module's thread.
struct Job {
    what: Wanted,
    reply: SyncSender<Reply>,
}

enum Wanted {
    Request { from: u16, functional: bool, data: Vec<u8> },
    Ended(Routine),
}

fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A server that runs until it is dropped or stopped.
pub struct Running {
    shared: Arc<Shared>,
    threads: Vec<JoinHandle<()>>,
    at: SocketAddr,
}

impl std::fmt::Debug for Running {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Running").field("at", &self.at).finish_non_exhaustive()
    }
}

impl Running {
    /// Starts serving the desk's module; none if the desk is gone.
    pub fn begin(bound: Bound, seat: Arc<dyn Seat>, number: u32) -> std::io::Result<Option<Self>> {
        let Some(mut module) = AtDesk::new(Arc::clone(&seat), number) else { return Ok(None) };
        // a tester that connects at once finds the module's actual state
        let awake = super::car::Module::scan(&mut module).is_some_and(|s| s.awake);
        let Bound { tcp, udp, at } = bound;
        let shared = Arc::new(Shared {
            clock: Clock::start(),
            stop: AtomicBool::new(false),
            awake: AtomicBool::new(awake),
            identity: super::car::Module::identity(&module).clone(),
            slots: Mutex::default(),
            counts: Counts::default(),
        });
        let (jobs, wanted) = sync_channel(QUEUE);
        tcp.set_nonblocking(true)?;
        udp.set_read_timeout(Some(LOOK))?;
        let named = |name: &str, run: Box<dyn FnOnce(Arc<Shared>) + Send>| {
            let shared = Arc::clone(&shared);
            std::thread::Builder::new().name(name.into()).spawn(move || run(shared))
        };
        let threads = vec![
            named("net-module", Box::new(move |shared| ask_module(&shared, module, &wanted)))?,
            named("net-tcp", Box::new(move |shared| accept(&shared, &*seat, &tcp, &jobs)))?,
            named("net-udp", Box::new(move |shared| discovery(&shared, &udp, at)))?,
        ];
        Ok(Some(Self { shared, threads, at }))
    }

    /// The address at which it listens.
    pub fn at(&self) -> SocketAddr {
        self.at
    }
    /// The module's identity.
    pub fn identity(&self) -> &Identity {
        &self.shared.identity
    }
    /// The traffic counters.
    pub fn counts(&self) -> &Counts {
        &self.shared.counts
    }
    /// Number of open connections.
    pub fn connected(&self) -> usize {
        lock(&self.shared.slots).len()
    }
    /// Stops the server: connections are closed, threads end.
    pub fn stop(&mut self) {
        self.shared.stop.store(true, Ordering::Relaxed);
        for slot in lock(&self.shared.slots).iter() {
            let _ = slot.stream.shutdown(Shutdown::Both);
        }
        for thread in self.threads.drain(..) {
            let _ = thread.join();
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.stop();
    }
}

/// The module's thread: answers one request after another, and ends sessions that are not kept alive.
fn ask_module(shared: &Shared, mut module: AtDesk, wanted: &Receiver<Job>) {
    let mut server = Server::new(shared.clock.seed());
    let mut rate = Rate::new(RATE, BURST);
    let mut looked = Duration::ZERO;
    while !shared.stop.load(Ordering::Relaxed) {
        let job = wanted.recv_timeout(LOOK);
        let now = shared.clock.now();
        if now.saturating_sub(looked) >= LOOK {
            looked = now;
            let Some(scan) = super::car::Module::scan(&mut module) else { break };
            shared.awake.store(scan.awake, Ordering::Relaxed);
            server.tick(&mut module, now);
        }
        match job {
            Ok(Job { what, reply }) => {
                rate.wait(&shared.clock);
                let now = shared.clock.now();
                let answer = match what {
                    Wanted::Request { from, functional, data } => {
                        server.answer(&mut module, &Request { from, functional, data: &data }, now)
                    }
                    Wanted::Ended(of) => match server.ended(&mut module, of, now) {
                        Some(bytes) => Reply::Bytes(bytes),
                        None => Reply::Pending(of),
                    },
                };
                shared.counts.requests.fetch_add(1, Ordering::Relaxed);
                // a connection that was closed needs no answer
                let _ = reply.try_send(answer);
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
    }
    shared.awake.store(false, Ordering::Relaxed);
}

/// Accepts connections from addresses that the seat admits, each on a thread of its own.
fn accept(shared: &Arc<Shared>, seat: &dyn Seat, tcp: &TcpListener, jobs: &SyncSender<Job>) {
    let mut number = 0;
    let mut rate = Rate::new(200.0, 100.0);
    while !shared.stop.load(Ordering::Relaxed) {
        let Ok((stream, from)) = tcp.accept() else {
            std::thread::sleep(Duration::from_millis(10));
            continue;
        };
        rate.wait(&shared.clock);
        if !seat.admits(from.ip()) {
            shared.counts.turned_away.fetch_add(1, Ordering::Relaxed);
            continue;
        }
        number += 1;
        let Some(slot) = slot(shared, stream, number) else {
            shared.counts.turned_away.fetch_add(1, Ordering::Relaxed);
            continue;
        };
        shared.counts.connections.fetch_add(1, Ordering::Relaxed);
        let (theirs, jobs, own) = (Arc::clone(shared), jobs.clone(), Arc::clone(&slot));
        let run = move || {
            Connection { shared: &theirs, jobs: &jobs, slot: &own }.run();
            let _ = own.stream.shutdown(Shutdown::Both);
            lock(&theirs.slots).retain(|s| s.number != own.number);
        };
        if std::thread::Builder::new().name("net-tester".into()).spawn(run).is_err() {
            lock(&shared.slots).retain(|s| s.number != number);
        }
    }
}

/// A place in the table; none if all are in use. A refused connection is closed at once.
fn slot(shared: &Shared, stream: TcpStream, number: u64) -> Option<Arc<Slot>> {
    stream.set_nonblocking(false).ok()?;
    stream.set_nodelay(true).ok()?;
    stream.set_read_timeout(Some(LOOK)).ok()?;
    stream.set_write_timeout(Some(SLOWEST)).ok()?;
    let mut slots = lock(&shared.slots);
    if slots.len() >= CONNECTIONS {
        return None;
    }
    let slot = Arc::new(Slot {
        number,
        source: Mutex::new(None),
        alive: AtomicBool::new(true),
        stream,
        writes: Mutex::new(()),
    });
    slots.push(Arc::clone(&slot));
    Some(slot)
}

impl Slot {
    /// Sends a frame; false if the tester does not accept it.
    fn send(&self, frame: &Frame) -> bool {
        let _one = lock(&self.writes);
        (&self.stream).write_all(&frame.bytes()).is_ok()
    }
    /// The same, unless another thread is still writing.
    fn send_now(&self, frame: &Frame) -> bool {
        match self.writes.try_lock() {
            Ok(_one) => (&self.stream).write_all(&frame.bytes()).is_ok(),
            Err(_) => false,
        }
    }
}

/// A connection's thread.
struct Connection<'a> {
    shared: &'a Shared,
    jobs: &'a SyncSender<Job>,
    slot: &'a Slot,
}

impl Connection<'_> {
    fn run(&self) {
        let mut link = Link::new(self.shared.clock.now());
        let mut rate = Rate::new(FRAMES.0, FRAMES.1);
        let mut buffer = [0; 2048];
        while !self.shared.stop.load(Ordering::Relaxed) {
            let n = match (&self.slot.stream).read(&mut buffer) {
                Ok(0) => return,
                Ok(n) => n,
                Err(e) if matches!(e.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut) => 0,
                Err(e) if e.kind() == ErrorKind::Interrupted => continue,
                Err(_) => return,
            };
            let now = self.shared.clock.now();
            let awake = self.shared.awake.load(Ordering::Relaxed);
            let effects = link.feed(&buffer[..n], now, awake);
            for _ in 0..effects.len() {
                rate.wait(&self.shared.clock);
            }
            for effect in effects {
                if !self.carry_out(effect, &mut link) {
                    return;
                }
            }
            if link.too_quiet(self.shared.clock.now()) {
                return;
            }
        }
    }

    /// Carries out an effect; false if the connection ends.
    fn carry_out(&self, effect: Effect, link: &mut Link) -> bool {
        match effect {
            Effect::Send(frame) => self.slot.send(&frame),
            Effect::Close => false,
            Effect::Alive => {
                self.slot.alive.store(true, Ordering::Relaxed);
                true
            }
            Effect::Settle { source, version } => {
                let code = self.settle(source, version);
                let all = link.settled(source, version, code, self.shared.clock.now());
                all.into_iter().all(|e| self.carry_out(e, link))
            }
            Effect::Request { source, functional, data, version } => {
                self.ask(source, functional, data, version)
            }
        }
    }

    /// Whether a source address may be activated here: other connections in the way get an alive check.
    fn settle(&self, source: u16, version: u8) -> u8 {
        let others = || -> Vec<Arc<Slot>> {
            let slots = lock(&self.shared.slots);
            slots
                .iter()
                .filter(|s| s.number != self.slot.number && lock(&s.source).is_some())
                .cloned()
                .collect()
        };
        let same = |s: &Arc<Slot>| *lock(&s.source) == Some(source);
        let full = others().len() >= TESTERS;
        let in_way: Vec<Arc<Slot>> = others().into_iter().filter(|s| full || same(s)).collect();
        if !in_way.is_empty() {
            for slot in &in_way {
                slot.alive.store(false, Ordering::Relaxed);
                slot.send_now(&Frame::new(version, payload::ALIVE, Vec::new()));
            }
            let until = self.shared.clock.now() + ALIVE;
            while self.shared.clock.now() < until && !in_way.iter().all(|s| s.alive.load(Ordering::Relaxed)) {
                std::thread::sleep(Duration::from_millis(5));
            }
            for slot in in_way.iter().filter(|s| !s.alive.load(Ordering::Relaxed)) {
                *lock(&slot.source) = None;
                let _ = slot.stream.shutdown(Shutdown::Both);
            }
        }
        // two connections that activate at the same moment are resolved here
        let slots = lock(&self.shared.slots);
        let active = |s: &&Arc<Slot>| s.number != self.slot.number && lock(&s.source).is_some();
        if slots.iter().filter(active).any(same) {
            return activation::IN_USE;
        }
        if slots.iter().filter(active).count() >= TESTERS {
            return activation::ALL_TAKEN;
        }
        *lock(&self.slot.source) = Some(source);
        activation::DONE
    }

    /// Sends a request to the module and its answer to the tester; pending responses in between.
    fn ask(&self, from: u16, functional: bool, data: Vec<u8>, version: u8) -> bool {
        let sid = data.first().copied().unwrap_or(0);
        let send = |bytes: &[u8]| self.slot.send(&answered(version, from, bytes));
        let mut announced: Option<Duration> = None;
        let mut pending = |now: Duration| -> bool {
            if announced.is_some_and(|at| now.saturating_sub(at) < PENDING_EVERY) {
                return true;
            }
            announced = Some(now);
            send(&refused(sid, nrc::PENDING))
        };
        let mut what = Wanted::Request { from, functional, data };
        loop {
            let (reply, get) = sync_channel(1);
            let mut job = Job { what, reply };
            // a full queue is waited for: the tester's further requests stay in its socket
            loop {
                match self.jobs.try_send(job) {
                    Ok(()) => break,
                    Err(TrySendError::Full(back)) if !self.shared.stop.load(Ordering::Relaxed) => {
                        job = back;
                        std::thread::sleep(Duration::from_millis(2));
                    }
                    Err(_) => return false,
                }
            }
            let answer = loop {
                match get.recv_timeout(Duration::from_millis(P2_MS.into())) {
                    Ok(answer) => break answer,
                    Err(RecvTimeoutError::Disconnected) => return false,
                    Err(RecvTimeoutError::Timeout) if self.shared.stop.load(Ordering::Relaxed) => {
                        return false;
                    }
                    Err(RecvTimeoutError::Timeout) if functional => {}
                    Err(RecvTimeoutError::Timeout) => {
                        if !pending(self.shared.clock.now()) {
                            return false;
                        }
                    }
                }
            };
            match answer {
                Reply::None => return true,
                Reply::Bytes(bytes) => return send(&bytes),
                Reply::Pending(of) => {
                    if !pending(self.shared.clock.now()) {
                        return false;
                    }
                    std::thread::sleep(LOOK);
                    what = Wanted::Ended(of);
                }
            }
        }
    }
}

/// Answers datagrams, and announces the car at the start.
fn discovery(shared: &Shared, udp: &UdpSocket, at: SocketAddr) {
    let to = match at.ip() {
        ip if !ip.is_ipv4() => None,
        ip if ip.is_loopback() => Some(Ipv4Addr::new(127, 255, 255, 255)),
        _ => Some(Ipv4Addr::BROADCAST),
    };
    let mut rate = Rate::new(DATAGRAMS.0, DATAGRAMS.1);
    let mut left = ANNOUNCE.0;
    let mut next = shared.clock.now();
    let mut buffer = [0; LONGEST + 64];
    while !shared.stop.load(Ordering::Relaxed) {
        let now = shared.clock.now();
        if left > 0 && now >= next {
            (left, next) = (left - 1, now + ANNOUNCE.1);
            if let Some(to) = to {
                let frame = announcement(shared, EDITION_2012);
                // there may be no receiver
                let _ = udp.send_to(&frame.bytes(), (to, at.port()));
            }
        }
        let Ok((n, from)) = udp.recv_from(&mut buffer) else { continue };
        if !rate.passes(shared.clock.now()) {
            shared.counts.passed_over.fetch_add(1, Ordering::Relaxed);
            // datagrams that arrive in the meantime are dropped by the system
            std::thread::sleep(Duration::from_millis(20));
            continue;
        }
        if let Some(answer) = datagram(shared, &buffer[..n]) {
            shared.counts.datagrams.fetch_add(1, Ordering::Relaxed);
            let _ = udp.send_to(&answer.bytes(), from);
        }
    }
}

/// The vehicle announcement: VIN, logical address, entity and group identification, no further action required.
fn announcement(shared: &Shared, version: u8) -> Frame {
    let i = &shared.identity;
    let mut p = i.vin.as_bytes().to_vec();
    p.extend(MODULE.to_be_bytes());
    p.extend(i.eid);
    p.extend(i.eid);
    p.extend([0x00, 0x00]);
    Frame::new(version, payload::ANNOUNCE, p)
}

/// The answer to a datagram.
fn datagram(shared: &Shared, bytes: &[u8]) -> Option<Frame> {
    let frame = match Frame::of_datagram(bytes) {
        Ok(frame) => frame,
        Err(fault) => return Some(Frame::refuses(EDITION_2012, fault)),
    };
    let version = if frame.version == 0xFF { EDITION_2012 } else { frame.version };
    let i = &shared.identity;
    let p = &frame.payload;
    match (frame.kind, p.len()) {
        (payload::IDENTIFY, 0) => Some(announcement(shared, version)),
        (payload::IDENTIFY_EID, 6) => (p[..] == i.eid).then(|| announcement(shared, version)),
        (payload::IDENTIFY_VIN, 17) => (p[..] == *i.vin.as_bytes()).then(|| announcement(shared, version)),
        (payload::STATUS, 0) => {
            let open = lock(&shared.slots).iter().filter(|s| lock(&s.source).is_some()).count();
            let mut out = vec![0x01, TESTERS as u8, open as u8];
            out.extend((LONGEST as u32).to_be_bytes());
            Some(Frame::new(version, payload::STATUS_IS, out))
        }
        (payload::POWER, 0) => {
            let ready = u8::from(shared.awake.load(Ordering::Relaxed));
            Some(Frame::new(version, payload::POWER_IS, vec![ready]))
        }
        (
            payload::IDENTIFY
            | payload::IDENTIFY_EID
            | payload::IDENTIFY_VIN
            | payload::STATUS
            | payload::POWER,
            _,
        ) => Some(Frame::refuses(version, Fault::Length)),
        // an announcement by another entity is not a request
        (payload::ANNOUNCE | payload::HEADER_NACK | payload::STATUS_IS | payload::POWER_IS, _) => None,
        _ => Some(Frame::refuses(version, Fault::Type)),
    }
}
