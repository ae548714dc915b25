//! What a run sounds like: a stretch of it is heard while it runs.
//!
//! *Inside*: which stretch, counted from hand-over as a trainee's acts are. *Outside*: how samples are made
//! ([`crate::bench::sound`]), files. Nothing before hand-over is heard: it would tell what was done to the car. What goes
//! on without anybody at the car is silent, though its time counts.

use crate::bench::sound::RATE_HZ;
use crate::bench::trace::ROW_S;
use crate::session::{SAME_S, Session};

/// Longest stretch that may be heard \[s\].
pub const LONGEST_S: f64 = 600.0;
/// Length of a stretch unless another is asked for \[s\].
pub const USUAL_S: f64 = 30.0;

/// A stretch of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Begin, after hand-over \[s\]; not below zero.
    pub from_s: f64,
    /// Length \[s\], at most [`LONGEST_S`].
    pub for_s: f64,
}

/// A stretch, and what was heard of it so far.
#[derive(Debug, Clone)]
pub(super) struct Hearing {
    stretch: Stretch,
    samples: Vec<i16>,
}

impl Hearing {
    /// Number of samples of the whole stretch.
    fn most(&self) -> usize {
        (self.stretch.for_s * f64::from(RATE_HZ)).round() as usize
    }
    /// Samples of the stretch, not more than it is long.
    pub(super) fn heard(mut self) -> Vec<i16> {
        self.samples.truncate(self.most());
        self.samples
    }
}

impl Session {
    /// The same session, of which a stretch is heard: the run holds its samples.
    pub fn hearing(mut self, stretch: Stretch) -> Self {
        self.hearing = Some(Hearing { stretch, samples: Vec::new() });
        self
    }

    /// Advances the bench to a time \[s\], and listens if the stretch has begun and is not over.
    pub(super) fn bench_to(&mut self, to_s: f64) {
        if let Some(hearing) = &self.hearing {
            let since_s = self.bench.time_s() - self.hand_over_s;
            let Stretch { from_s, for_s } = hearing.stretch;
            // a step of the bench may end a little early: one row more completes the last samples
            let within = (from_s - SAME_S..from_s + for_s + ROW_S).contains(&since_s);
            let more = hearing.samples.len() < hearing.most();
            self.bench.listen(self.trainee && within && more);
        }
        self.bench.advance_to(to_s);
        if let Some(hearing) = &mut self.hearing {
            self.bench.take_sound(&mut hearing.samples);
        }
    }
}
