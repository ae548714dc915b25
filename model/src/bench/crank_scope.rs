//! The scope on the crank sensor's wire: tooth periods round a turn, from edge times.
//!
//! *Inside*: finding the gap, comparing the periods of a turn with their neighbours, finding the tooth that stands
//! out, the position of each edge in the turn. *Outside*: the scope's own error ([`crate::bench::tools`]), what a
//! module computes from the same edges.
//!
//! Each period is divided by the mean of its two neighbours; the gap counts as a third of its duration. The result is
//! averaged over the turns of a record, so that jitter and missed firings average out. A tooth that was hit makes the
//! period before it longer and the one after it shorter (or the other way round), so it stands out on both sides.
//! Runout of the wheel moves all edges by a slow wave: neighbours move together, and no tooth stands out.
//!
//! The position of an edge is its share of the turn's duration. Within a turn the crank speed is not constant: firing
//! accelerates the crank and compression slows it down, which at idle moves edges by a degree and more. In an engine
//! that fires evenly this ripple has waves of `n` and `2n` per turn, `n` being the firings per turn. These two waves
//! are fitted and removed ([`Round::edge_deg`]), and with them the wheel's own waves of the same length. What remains
//! of the engine's ripple falls with the square of its speed.
//!
//! **Checked by** `tests/bench/gauges.rs` and here.

use crate::num;
use crate::signals::ToothEdge;
use nalgebra::{SMatrix, SVector};
use serde::{Deserialize, Serialize};

/// Number of teeth on the wheel.
const TEETH: usize = 58;
/// Length of the gap in tooth pitches: two missing teeth and one regular pitch.
const GAP: f64 = 3.0;
/// From one tooth to the next \[deg\].
const PITCH_DEG: f64 = 6.0;
/// A period more than this many times as long as the previous one is the gap.
const GAP_FROM: f64 = 2.0;

/// Result of a record.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Round {
    /// Deviation of each period from the mean of its neighbours \[%\]; the first ends at tooth 1, after the gap.
    pub(super) off_pct: Vec<f64>,
    /// Tooth that stands out most, 1 to 58.
    pub(super) tooth: usize,
    /// Larger deviation of the two periods at that tooth \[%\], with its sign.
    pub(super) most_pct: f64,
    /// Deviation of each edge from where it should be \[deg\], mean zero, firing ripple removed; from tooth 1 on.
    pub(super) edge_deg: Vec<f64>,
}

/// A record in progress.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Teeth {
    last_tick: Option<u64>,
    last_period: f64,
    /// Periods since the gap, the gap itself first; empty until a gap has passed.
    turn: Vec<f64>,
    sums: Vec<f64>,
    /// Deviation of each edge \[deg\], summed over turns.
    edge_sums: Vec<f64>,
    /// Firings per turn.
    beats: u8,
    /// Whole turns in the sums.
    pub(super) turns: u32,
}

impl Teeth {
    /// An empty record, for an engine with this number of firings per turn.
    pub(super) fn new(beats: u8) -> Self {
        Self {
            last_tick: None,
            last_period: 0.0,
            turn: Vec::with_capacity(TEETH + 1),
            sums: vec![0.0; TEETH],
            edge_sums: vec![0.0; TEETH],
            beats,
            turns: 0,
        }
    }

    /// Takes an edge that arrived on the wire.
    pub(super) fn edge(&mut self, edge: &ToothEdge) {
        let Some(last) = self.last_tick.replace(edge.tick) else { return };
        let period = edge.tick.saturating_sub(last) as f64;
        let is_gap = self.last_period > 0.0 && period > GAP_FROM * self.last_period;
        self.last_period = period;
        if is_gap {
            if self.turn.len() == TEETH {
                self.add_turn();
            }
            self.turn.clear();
            self.turn.push(period);
        } else if !self.turn.is_empty() && self.turn.len() <= TEETH {
            self.turn.push(period);
        }
    }

    fn add_turn(&mut self) {
        let t = |k: usize| if k.is_multiple_of(TEETH) { self.turn[0] / GAP } else { self.turn[k % TEETH] };
        for (k, sum) in self.sums.iter_mut().enumerate() {
            *sum += 200.0 * t(k) / (t(k + TEETH - 1) + t(k + 1)) - 100.0;
        }
        // from the last tooth through the gap to the last tooth again: a whole turn
        let whole: f64 = self.turn.iter().sum();
        let mut at = 0.0;
        for (k, (sum, period)) in self.edge_sums.iter_mut().zip(&self.turn).enumerate() {
            at += period;
            *sum += 360.0 * at / whole - PITCH_DEG * (GAP + k as f64);
        }
        self.turns += 1;
    }

    /// Result of the turns so far; none without a whole turn.
    pub(super) fn round(&self) -> Option<Round> {
        if self.turns == 0 {
            return None;
        }
        let off_pct: Vec<f64> = self.sums.iter().map(|s| s / f64::from(self.turns)).collect();
        let behind = |k: usize| off_pct[(k + 1) % TEETH];
        let stands_out = |k: &usize| (off_pct[*k] - behind(*k)).abs();
        let k = (0..TEETH).max_by(|a, b| stands_out(a).total_cmp(&stands_out(b)))?;
        let most_pct = if off_pct[k].abs() >= behind(k).abs() { off_pct[k] } else { behind(k) };
        let mut edge_deg: Vec<f64> = self.edge_sums.iter().map(|s| s / f64::from(self.turns)).collect();
        without_beat(&mut edge_deg, f64::from(self.beats));
        Some(Round { tooth: k + 1, most_pct, off_pct, edge_deg })
    }
}

/// Removes the mean and the waves of `beats` and `2 beats` per turn from the deviations of the edges \[deg\]: least
/// squares over the teeth that are present.
fn without_beat(off_deg: &mut [f64], beats: f64) {
    let waves = |k: usize| {
        let deg = PITCH_DEG * k as f64;
        let of = |n: f64| (num::sin_deg(n * deg), num::cos_deg(n * deg));
        let ((a, b), (c, d)) = (of(beats), of(2.0 * beats));
        SVector::<f64, 5>::from([1.0, a, b, c, d])
    };
    let mut normal = SMatrix::<f64, 5, 5>::zeros();
    let mut right = SVector::<f64, 5>::zeros();
    for (k, off) in off_deg.iter().enumerate() {
        let w = waves(k);
        normal += w * w.transpose();
        right += w * *off;
    }
    // the five terms are always independent over 58 teeth
    let Some(fit) = normal.lu().solve(&right) else { return };
    for (k, off) in off_deg.iter_mut().enumerate() {
        *off -= waves(k).dot(&fit);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Result of ten turns at 100 µs a degree with edges displaced by this much \[deg\].
    fn seen(off_deg: impl Fn(usize) -> f64) -> Round {
        let mut t = Teeth::new(2);
        for turn in 0..10 {
            for i in 0..TEETH {
                let deg = 360.0 * f64::from(turn) + 6.0 * i as f64 + off_deg(i) + 90.0;
                t.edge(&ToothEdge { tick: (1000.0 * deg).round() as u64, cam_high: false, cam_tick: None });
            }
        }
        assert_eq!(t.turns, 8, "the first gap opens a turn, the last turn is not closed");
        t.round().expect("whole turns")
    }

    /// By hand: tooth 20 is 0.6° late. Its period 6.6 against (6 + 5.4)/2 is 15.789 % long, the next 5.4 against
    /// (6.6 + 6)/2 is 14.286 % short, those beyond 6/(6 + 6.6)·2 = 4.762 % short and 6/(5.4 + 6)·2 = 5.263 % long.
    #[test]
    fn exact_a_hit_tooth() {
        let r = seen(|i| if i == 19 { 0.6 } else { 0.0 });
        assert_eq!(r.tooth, 20);
        assert!((r.most_pct - 15.789).abs() < 0.001, "{}", r.most_pct);
        for (k, by_hand) in [(18, -4.762), (19, 15.789), (20, -14.286), (21, 5.263), (40, 0.0)] {
            assert!((r.off_pct[k] - by_hand).abs() < 0.001, "{k}: {} for {by_hand}", r.off_pct[k]);
        }
    }

    /// Teeth that are early or late, also next to the gap.
    #[test]
    fn holds_for_every_tooth_both_ways() {
        for hit in 0..TEETH {
            for deg in [-0.5, 0.5] {
                let r = seen(|i| if i == hit { deg } else { 0.0 });
                assert_eq!(r.tooth, hit + 1, "{deg}°: {r:?}");
            }
        }
    }

    /// A once-per-turn wave of 0.06° and a hit tooth are found where they were put, within what the fit of two waves
    /// to 58 values takes from them: a single tooth loses 5 of 58 parts. A firing ripple of 1.2° twice and 0.3° four
    /// times a turn leaves no trace.
    #[test]
    fn exact_edges_without_the_beat() {
        let wave = |n: f64, i: usize| num::sin_deg(n * 6.0 * i as f64 + 20.0);
        let wheel = |i: usize| 0.06 * wave(1.0, i) + if i == 30 { 0.4 } else { 0.0 };
        let still = seen(wheel);
        let beating = seen(|i| wheel(i) + 1.2 * wave(2.0, i) + 0.3 * wave(4.0, i));
        let middle = (0..TEETH).map(wheel).sum::<f64>() / TEETH as f64;
        for i in 0..TEETH {
            // ticks of a thousandth of a degree
            assert!((still.edge_deg[i] - beating.edge_deg[i]).abs() < 0.002, "tooth {}", i + 1);
            let off = still.edge_deg[i] - (wheel(i) - middle);
            assert!(off.abs() < if i == 30 { 0.05 } else { 0.04 }, "tooth {}: {off}", i + 1);
        }
        assert!(still.edge_deg.iter().sum::<f64>().abs() < 1e-9);
    }

    /// By hand: a wave of amplitude `a` once a turn has a third difference of at most a·(2π/60)³ = 1.2e-3·a, which is
    /// 0.01 % of a tooth's period at half a degree. Beside the gap the next tooth is three pitches away, so that some
    /// tenths of a percent are left.
    #[test]
    fn holds_runout_is_no_hit_tooth() {
        let wave = |i: usize| 0.5 * crate::num::sin_deg(6.0 * i as f64 - 70.0);
        let r = seen(wave);
        assert!(r.most_pct.abs() < 0.5, "{r:?}");
        let both = seen(|i| wave(i) + if i == 30 { 0.3 } else { 0.0 });
        assert_eq!(both.tooth, 31);
    }
}
