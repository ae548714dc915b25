//! Sound on its way from a desk's thread to whoever plays it.
//!
//! *Inside*: a short queue. *Outside*: making samples ([`crate::bench::sound`]), playing them.

use crate::bench::sound::RATE_HZ;
use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};

/// Most samples that wait to be played: a quarter of a second, as much as a desk may be behind the clock.
pub const MOST: usize = RATE_HZ as usize / 4;

/// A queue of samples, [`RATE_HZ`] a second. One side puts samples in, the other takes them out; neither waits.
#[derive(Debug, Default)]
pub struct Tube(Mutex<VecDeque<i16>>);

impl Tube {
    /// Puts samples in. Those that nobody has taken for too long are dropped, the oldest first.
    pub fn put(&self, samples: &[i16]) {
        let mut queue = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        queue.extend(samples);
        let over = queue.len().saturating_sub(MOST);
        queue.drain(..over);
    }
    /// Moves all samples that wait to the end of `to`.
    pub fn take(&self, to: &mut VecDeque<i16>) {
        to.append(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner));
    }
}
