//! From a desk's samples to those that a sound card asks for.
//!
//! *Inside*: another rate, several channels, volume, and what is played while nothing comes: the desk paused, runs at
//! another pace or is late. *Outside*: making samples ([`crate::bench::sound`]), the sound card itself (`window/`).
//!
//! The desk's clock and the card's are two clocks. The player waits until a tenth of a second is in store, and then plays
//! a little faster or slower, by half a percent at most, so that about so much stays there.

use crate::bench::sound::RATE_HZ;
use crate::session::live::Tube;
use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

/// Samples in store when playing begins, and about which it goes on.
const STORE: usize = RATE_HZ as usize / 10;
/// Most by which the pitch is bent to keep the store.
const BENT: f64 = 0.005;
/// Time in which the sound comes up when it begins, and goes when nothing follows \[s\].
const FADE_S: f64 = 0.02;

/// The knob: volume in percent.
#[derive(Debug)]
pub struct Knob(AtomicU32);

impl Knob {
    /// Turned to a volume \[%\].
    pub fn new(percent: u8) -> Self {
        Self(AtomicU32::new(percent.into()))
    }
    /// Turns it to a volume \[%\].
    pub fn turn(&self, percent: u8) {
        self.0.store(percent.into(), Ordering::Relaxed);
    }
    /// Factor on the sound pressure: the square of the share, since ears hear ratios.
    fn gain(&self) -> f64 {
        let share = f64::from(self.0.load(Ordering::Relaxed).min(100)) / 100.0;
        share * share
    }
}

/// Plays what comes through a tube.
#[derive(Debug)]
pub struct Player {
    tube: Arc<Tube>,
    knob: Arc<Knob>,
    /// Frames a second that the card asks for, and samples in a frame.
    rate_hz: f64,
    channels: usize,
    store: VecDeque<i16>,
    /// Place between the first two samples in store, 0 to 1.
    place: f64,
    playing: bool,
    /// Loudness from 0 to 1 while the sound comes up or goes.
    fade: f64,
    last: f64,
}

impl Player {
    /// For a card with so many frames a second and samples in a frame.
    pub fn new(tube: Arc<Tube>, knob: Arc<Knob>, rate_hz: u32, channels: u16) -> Self {
        Self {
            tube,
            knob,
            rate_hz: f64::from(rate_hz.max(1)),
            channels: usize::from(channels.max(1)),
            store: VecDeque::with_capacity(2 * crate::session::live::MOST_IN_TUBE),
            place: 0.0,
            playing: false,
            fade: 0.0,
            last: 0.0,
        }
    }

    /// Fills whole frames with samples from −1 to 1; silence where there are none.
    pub fn fill(&mut self, out: &mut [f32]) {
        self.tube.take(&mut self.store);
        let gain = self.knob.gain();
        let off = self.store.len() as f64 / STORE as f64 - 1.0;
        let per_frame = f64::from(RATE_HZ) / self.rate_hz * (1.0 + BENT * off.clamp(-1.0, 1.0));
        let fade = 1.0 / (FADE_S * self.rate_hz);
        for frame in out.chunks_mut(self.channels) {
            self.playing = if self.playing { self.store.len() > 2 } else { self.store.len() >= STORE };
            if self.playing {
                self.fade = (self.fade + fade).min(1.0);
                let at = |k: usize| f64::from(self.store[k]) / 32_768.0;
                self.last = at(0) + self.place * (at(1) - at(0));
                self.place += per_frame;
                let whole = (self.place as usize).min(self.store.len() - 1);
                self.store.drain(..whole);
                self.place -= whole as f64;
            } else {
                // the last sample dies away: no step, no click
                self.fade = (self.fade - fade).max(0.0);
            }
            frame.fill((gain * self.fade * self.last) as f32);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A player at a card's rate, and its tube.
    fn player(rate_hz: u32, channels: u16) -> (Player, Arc<Tube>) {
        let tube = Arc::new(Tube::default());
        (Player::new(Arc::clone(&tube), Arc::new(Knob::new(100)), rate_hz, channels), tube)
    }

    /// Silence until a tenth of a second is in store; then both channels have the samples; silence again when nothing
    /// follows, without a step on the way.
    #[test]
    fn holds_it_begins_and_ends_without_a_step() {
        let (mut p, tube) = player(48_000, 2);
        let mut out = vec![1.0_f32; 960];
        tube.put(&[16_384; STORE - 1]);
        p.fill(&mut out);
        assert!(out.iter().all(|x| *x == 0.0), "not yet");
        tube.put(&[16_384; 4800]);
        let mut all = vec![0.0_f32; 0];
        for _ in 0..40 {
            p.fill(&mut out);
            all.extend_from_slice(&out);
        }
        assert!(all.chunks(2).all(|f| f[0] == f[1]), "both channels");
        let most = all.iter().copied().fold(0.0, f32::max);
        assert!((most - 0.5).abs() < 1e-3, "{most}");
        let step = all.chunks(2).map(|f| f[0]).collect::<Vec<_>>();
        let step = step.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f32::max);
        assert!(step < 1e-3, "a step of {step}");
        assert_eq!(all[all.len() - 1], 0.0, "nothing follows");
    }

    /// A card of another rate hears the same pitch, within the half percent by which it may be bent.
    #[test]
    fn holds_the_pitch_at_another_rate() {
        let (mut p, tube) = player(44_100, 1);
        // a square wave of 100 Hz
        let wave = |k: usize| if (k / 240).is_multiple_of(2) { 8000 } else { -8000 };
        let (mut sent, mut out, mut all) = (0, vec![0.0_f32; 441], Vec::new());
        for _ in 0..300 {
            let piece: Vec<i16> = (sent..sent + 480).map(wave).collect();
            sent += 480;
            tube.put(&piece);
            p.fill(&mut out);
            all.extend_from_slice(&out);
        }
        // of two seconds, after the beginning
        let two = &all[44_100..132_300];
        let rises = two.windows(2).filter(|w| w[0] < 0.0 && w[1] >= 0.0).count();
        assert!((199..=201).contains(&rises), "{rises} waves in two seconds");
    }

    /// The knob: half is a quarter of the pressure, nothing is nothing.
    #[test]
    fn exact_the_knob() {
        for (percent, gain) in [(0, 0.0), (50, 0.25), (100, 1.0)] {
            assert_eq!(Knob::new(percent).gain(), gain);
        }
    }
}
