//! A scenario served on the network: prepared, paced, worked on by testers and by local hand acts, and handed in.
//!
//! *Inside*: the sequence of these steps, hand acts read line by line. *Outside*: arguments, where the results are
//! stored (the command line), sockets ([`super::server`]).
//!
//! The network carries what a tester can request, and nothing that needs a hand: no request turns a key. Hand acts
//! come from an action file, or as lines, each with the contents of one act: `key = "crank"`.

#![expect(
    clippy::disallowed_methods,
    reason = "threads of the network wait by the wall clock; the bench does not"
)]

use super::server::{Bound, Counts, Running};
use crate::app::load::{self, Hands, Loaded};
use crate::app::{Error, Options, Run};
use crate::session::desk::Reach;
use crate::session::live::{Beat, Live, Order, Pace};
use crate::words::{facts, say};
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

/// Default port: that of the standard, on this machine alone.
pub const PORT: u16 = 13_400;
/// Longest sleep of the bench's thread while time runs.
const REST: Duration = Duration::from_millis(2);
/// Maximum length of a hand act's line \[bytes\].
const LONGEST_LINE: usize = 2000;
/// Permitted paces.
const PACES: std::ops::RangeInclusive<f64> = 0.1..=20.0;

/// What is served, with its options.
#[derive(Debug)]
pub struct Serves {
    /// The scenario.
    pub loaded: Loaded,
    /// Hand acts with times of their own.
    pub hands: Option<Hands>,
    /// Seed, cache.
    pub options: Options,
    /// Simulated seconds per second.
    pub pace: f64,
    /// Bound sockets.
    pub bound: Bound,
}

/// The address to listen at: this machine alone, unless the network is requested.
pub fn listens(listen: Option<&str>, lan: bool) -> Result<SocketAddr, Error> {
    let at = match listen {
        Some(text) => {
            text.parse().map_err(|_| Error::rule(say!("net-no-address", given = crate::app::shown(text))))?
        }
        None if lan => SocketAddr::from(([0, 0, 0, 0], PORT)),
        None => SocketAddr::from(([127, 0, 0, 1], PORT)),
    };
    if !lan && !at.ip().is_loopback() {
        return Err(Error::rule(say!("net-needs-lan", address = at.to_string())));
    }
    Ok(at)
}

/// Binds the address.
pub fn bind(at: SocketAddr) -> Result<Bound, Error> {
    Bound::take(at)
        .map_err(|e| Error::File(say!("net-cannot-listen", address = at.to_string(), why = e.to_string())))
}

/// Checks that a car can be served at this pace.
pub fn pace(pace: f64) -> Result<f64, Error> {
    if PACES.contains(&pace) {
        return Ok(pace);
    }
    Err(Error::rule(say!("net-pace", given = pace.to_string())))
}

/// Prints messages for the person who serves.
pub type Tells<'a> = dyn FnMut(&str) + 'a;

/// The result of serving.
#[derive(Debug)]
pub struct Served {
    /// The attempt that was handed in.
    pub run: Run,
    /// Simulated time over elapsed time, while testers were served.
    pub pace: Option<f64>,
    /// Number of requests answered.
    pub requests: u64,
}

/// Serves until `stop` is set or a line `end` arrives; `lines` are hand acts.
pub fn serve(
    of: Serves,
    stop: &AtomicBool,
    lines: &Receiver<String>,
    tells: &mut Tells<'_>,
) -> Result<Served, Error> {
    let Serves { loaded, hands, options, pace, bound } = of;
    let actions = hands.as_ref().map(|h| h.actions.clone());
    let beat = Beat { rest: REST, views: false };
    let live = Arc::new(Live::with_hands(loaded.scenario.clone(), actions, options, beat, || ()));
    prepared(&live, stop, tells)?;
    let lan = !bound.at().ip().is_loopback();
    let no_thread = |why: String| Error::File(say!("net-no-threads", why = why));
    let seat: Arc<dyn super::car::Seat> = Arc::clone(&live) as _;
    let running = Running::begin(bound, seat, 1).map_err(|e| no_thread(e.to_string()))?;
    let mut running = running.ok_or(Error::Stopped)?;
    live.order(Order::Pace(Pace::Times(pace)));
    tells(&found(&running, lan));
    let clock = super::Clock::start();
    let at_s = |live: &Live| live.look(|stands| stands.desk.time_s());
    let from_s = at_s(&live);
    while !stop.load(Ordering::Relaxed) {
        match lines.recv_timeout(Duration::from_millis(100)) {
            Ok(line) if line.trim() == "end" => break,
            Ok(line) => {
                if let Some(said) = hand(&live, &loaded, &line) {
                    tells(&said);
                }
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => std::thread::sleep(Duration::from_millis(100)),
        }
        if live.trouble().is_some() {
            break;
        }
    }
    let past_s = clock.now().as_secs_f64();
    let reached = from_s.zip(at_s(&live)).map(|(from, to)| (to - from) / past_s.max(1e-3));
    let requests = told(running.counts());
    running.stop();
    drop(running);
    live.order(Order::HandIn);
    let run = loop {
        if let Some(run) = live.handed_in() {
            break run;
        }
        if let Some(trouble) = live.trouble() {
            return Err(Error::rule(facts::trouble(&trouble)));
        }
        std::thread::sleep(Duration::from_millis(10));
    };
    let run = Run { actions: hands.map(|h| h.actions), ..run };
    Ok(Served { run, pace: reached, requests })
}

fn told(counts: &Counts) -> u64 {
    counts.requests.load(Ordering::Relaxed)
}

/// Waits until the car is handed over.
fn prepared(live: &Live, stop: &AtomicBool, tells: &mut Tells<'_>) -> Result<(), Error> {
    tells(&say("net-preparing"));
    while live.conditioning().is_some() {
        if stop.load(Ordering::Relaxed) {
            return Err(Error::Stopped);
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    live.trouble().map_or(Ok(()), |t| Err(Error::rule(facts::trouble(&t))))
}

/// The message that says how to reach the server.
fn found(running: &Running, lan: bool) -> String {
    let mut lines = vec![
        say!("net-open", address = running.at().to_string()),
        say!(
            "net-who",
            vin = running.identity().vin.as_str(),
            address = format!("0x{:04X}", super::identity::MODULE)
        ),
        say("net-unprotected"),
    ];
    if lan {
        lines.push(say("net-lan-caution"));
    }
    lines.push(say("net-hands"));
    lines.push(say("net-stop"));
    lines.join("\n")
}

/// Carries out a line as a hand act; returns the message about it.
fn hand(live: &Live, of: &Loaded, line: &str) -> Option<String> {
    let line = line.trim();
    if line.is_empty() || line.starts_with('#') {
        return None;
    }
    if line.len() > LONGEST_LINE {
        return Some(say("net-line-too-long"));
    }
    // one act of an action file; several of its keys are separated by semicolons
    let keys = line.replace(';', "\n");
    let text = format!(
        "schema = 1\n[about]\nid = \"hands\"\ntitle = \"hands\"\n[[act]]\nid = \"hand\"\nat_s = 0\n{keys}\n"
    );
    let hands = match load::hands_of("hands", text.as_bytes(), of) {
        Ok(hands) => hands,
        Err(e) => return Some(e.to_string()),
    };
    let [act] = hands.actions.acts.as_slice() else { return Some(say("net-one-hand")) };
    let action = act.hand.clone();
    let said = |order: Order| -> Option<(bool, Option<crate::bench::facts::Told>)> {
        let (give, get) = std::sync::mpsc::sync_channel(1);
        let then = move |stands: &crate::session::live::Stands<'_>, _: f64| {
            let _ = give.try_send((stands.waits.is_some(), stands.said.cloned()));
        };
        live.order_then(order, then);
        get.recv_timeout(Duration::from_secs(30)).ok()
    };
    let came = match said(Order::Do(action, Reach::Both))? {
        // a line of its own may answer the lesson's question first; otherwise the question stays open
        (true, _) => said(Order::Pass)?.1,
        (false, told) => told,
    };
    came.map(|told| facts::told(&told))
}
