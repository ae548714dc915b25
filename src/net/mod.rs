//! The module on a network, by open standards: UDS (ISO 14229-1) over DoIP (ISO 13400-2), services of SAE J1979.
//!
//! A thin layer of bytes over the typed requests that window, command line and class send to the module. Nothing here
//! has access to truth: it sends only what the module reports, and what a scenario hides stays hidden.
//!
//! *Inside*: [`doip`] frames · [`link`] one connection · `server` sockets, threads, limits · [`uds`] sessions and the
//! order in which a request is checked · [`security`] · [`codes`] trouble codes · [`data`] values by identifier ·
//! [`routines`] · [`obd`] services of J1979 · [`pids`] its parameters and scalings · [`catalogue`] own numbers and
//! the table of all numbers · [`refusal`] negative response codes · [`identity`] the module's identity · [`car`] the
//! path to the module · `serve` the complete server as a command. *Outside*: arguments (the command line), what a
//! request means (`ecm/services.rs`), `docs/network.md`.
//!
//! **Checked by** `tests/class/net_uds.rs` and its neighbours, `tests/net-clients.sh`.

pub mod car;
pub mod catalogue;
pub mod codes;
pub mod data;
pub mod doip;
pub mod identity;
pub mod link;
pub mod obd;
pub mod pids;
pub mod refusal;
pub mod routines;
pub mod security;
#[cfg(feature = "net")]
pub mod serve;
#[cfg(feature = "net")]
pub mod server;
pub mod uds;

use std::time::{Duration, Instant};

/// Wall-clock time since a server was started.
#[derive(Debug, Clone, Copy)]
pub struct Clock(Instant);

impl Clock {
    /// Starts the clock.
    #[expect(clippy::disallowed_methods, reason = "timers of a network are the wall clock's")]
    pub fn start() -> Self {
        Self(Instant::now())
    }
    /// Time since the start.
    pub fn now(&self) -> Duration {
        self.0.elapsed()
    }
    /// A number that differs from start to start; it does not enter the simulation.
    #[expect(clippy::disallowed_methods, reason = "seeds of a security access that protects nothing")]
    pub fn seed(&self) -> u32 {
        std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(1, |d| d.subsec_nanos())
    }
}

/// A rate limit: a number per second, and a burst.
#[derive(Debug, Clone, Copy)]
pub struct Rate {
    a_second: f64,
    most: f64,
    left: f64,
    at: Duration,
}

impl Rate {
    /// Starts full.
    pub fn new(a_second: f64, most: f64) -> Self {
        Self { a_second, most, left: most, at: Duration::ZERO }
    }
    /// Whether one more may pass; otherwise it must wait.
    pub fn passes(&mut self, now: Duration) -> bool {
        let past_s = now.saturating_sub(self.at).as_secs_f64();
        self.at = now;
        self.left = (self.left + past_s * self.a_second).min(self.most);
        if self.left < 1.0 {
            return false;
        }
        self.left -= 1.0;
        true
    }
    /// Waits until one more may pass.
    #[expect(
        clippy::disallowed_methods,
        reason = "who sends too fast waits by the wall clock, whatever the bench's pace"
    )]
    pub fn wait(&mut self, clock: &Clock) {
        while !self.passes(clock.now()) {
            std::thread::sleep(Duration::from_secs_f64(((1.0 - self.left) / self.a_second).max(0.0005)));
        }
    }
}
