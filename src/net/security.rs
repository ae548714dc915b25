//! Security access (service 27): one level, required before anything that changes the module.
//!
//! *Inside*: seed, key, wrong keys and the delay after them. It protects nothing: the algorithm is published here and
//! in `docs/network.md`, so that a program can be taught the sequence.
//!
//! key = rotate left by 7 (seed XOR 49444C45) + 57524947, all in 32 bits, the carry of the sum dropped.

use super::refusal::{Nrc, nrc};
use std::time::Duration;

/// Request seed, level 1.
pub const SEED: u8 = 0x01;
/// Send key, level 1.
pub const KEY: u8 = 0x02;
/// Number of wrong keys before the delay.
pub const TRIES: u8 = 3;
/// Duration of the delay.
pub const WAIT: Duration = Duration::from_secs(10);

/// The key for a seed.
pub fn key(seed: u32) -> u32 {
    (seed ^ 0x4944_4C45).rotate_left(7).wrapping_add(0x5752_4947)
}

/// State of security access.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Security {
    open: bool,
    seed: Option<u32>,
    wrong: u8,
    until: Option<Duration>,
    given: u32,
}

impl Security {
    /// Starts the sequence of seeds with a number.
    pub fn new(first: u32) -> Self {
        Self { given: first, ..Self::default() }
    }
    /// Whether requests that change the module are allowed.
    pub fn open(&self) -> bool {
        self.open
    }
    /// The session has changed: locked again.
    pub fn lock(&mut self) {
        (self.open, self.seed) = (false, None);
    }

    /// Service 27; the sub-function was checked to be [`SEED`] or [`KEY`].
    pub fn access(&mut self, sub: u8, rest: &[u8], now: Duration) -> Result<Vec<u8>, Nrc> {
        let waits = self.until.is_some_and(|until| now < until);
        match (sub, rest) {
            (SEED, []) if waits => Err(nrc::WAIT),
            (SEED, []) if self.open => Ok(vec![0x67, SEED, 0, 0, 0, 0]),
            (SEED, []) => {
                // an odd increment steps through every number; no seed is sent twice in a row, and zero means
                // unlocked
                self.given = self.given.wrapping_mul(0x0019_660D).wrapping_add(0x3C6E_F35F);
                let seed = self.given.max(1);
                self.seed = Some(seed);
                Ok([&[0x67, SEED], &seed.to_be_bytes()[..]].concat())
            }
            (KEY, _) if self.seed.is_none() => Err(nrc::SEQUENCE),
            (KEY, [a, b, c, d]) => {
                let sent = u32::from_be_bytes([*a, *b, *c, *d]);
                if self.seed.take().map(key) == Some(sent) {
                    (self.open, self.wrong) = (true, 0);
                    return Ok(vec![0x67, KEY]);
                }
                self.wrong += 1;
                if self.wrong < TRIES {
                    return Err(nrc::KEY);
                }
                self.wrong = 0;
                self.until = Some(now + WAIT);
                Err(nrc::TRIES)
            }
            _ => Err(nrc::LENGTH),
        }
    }
}
