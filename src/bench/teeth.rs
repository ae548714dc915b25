//! The scope on the crank sensor's wire: tooth periods round a turn, from edge times.
//!
//! *Inside*: finding the gap, a turn's periods against their neighbours, the tooth that stands out. *Outside*:
//! the scope's own error ([`crate::bench::tools`]), what a module makes of the same edges.
//!
//! Each period is divided by the mean of the two beside it; the gap counts as a third of itself. Over the turns
//! of a record the mean is taken, so that jitter and missed firings fade. A tooth that was hit makes the period
//! before it longer and the one behind it shorter (or the other way round) and so stands out on both sides. A
//! wheel that runs out moves all edges by a slow wave: neighbours move together, and nothing stands out.
//!
//! **Checked by** `tests/gauges.rs` and here.

use crate::signals::ToothEdge;
use serde::{Deserialize, Serialize};

/// Teeth of the wheel.
const TEETH: usize = 58;
/// Teeth left out in the gap, and the one before.
const GAP: f64 = 3.0;
/// A period so many times as long as the last is the gap.
const GAP_FROM: f64 = 2.0;

/// What a record came to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Round {
    /// Each period against the mean of its neighbours, less one \[%\]; the first ends at tooth 1 behind the gap.
    pub(super) off_pct: Vec<f64>,
    /// Tooth that stands out most, 1 to 58.
    pub(super) tooth: usize,
    /// Largest deviation of the two periods at it \[%\], with its sign.
    pub(super) most_pct: f64,
}

/// A record under way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Teeth {
    last_tick: Option<u64>,
    last_period: f64,
    /// Periods since the gap, the gap's own first; empty until a gap has gone by.
    turn: Vec<f64>,
    sums: Vec<f64>,
    /// Whole turns in the sums.
    pub(super) turns: u32,
}

impl Teeth {
    /// Nothing seen yet.
    pub(super) fn new() -> Self {
        Self {
            last_tick: None,
            last_period: 0.0,
            turn: Vec::with_capacity(TEETH + 1),
            sums: vec![0.0; TEETH],
            turns: 0,
        }
    }

    /// An edge came along the wire.
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
        self.turns += 1;
    }

    /// What the turns so far say; none without a whole turn.
    pub(super) fn round(&self) -> Option<Round> {
        if self.turns == 0 {
            return None;
        }
        let off_pct: Vec<f64> = self.sums.iter().map(|s| s / f64::from(self.turns)).collect();
        let behind = |k: usize| off_pct[(k + 1) % TEETH];
        let stands_out = |k: &usize| (off_pct[*k] - behind(*k)).abs();
        let k = (0..TEETH).max_by(|a, b| stands_out(a).total_cmp(&stands_out(b)))?;
        let most_pct = if off_pct[k].abs() >= behind(k).abs() { off_pct[k] } else { behind(k) };
        Some(Round { tooth: k + 1, most_pct, off_pct })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten turns at 100 µs a degree with edges this much off \[deg\].
    fn seen(off_deg: impl Fn(usize) -> f64) -> Round {
        let mut t = Teeth::new();
        for turn in 0..10 {
            for i in 0..TEETH {
                let deg = 360.0 * f64::from(turn) + 6.0 * i as f64 + off_deg(i) + 90.0;
                t.edge(&ToothEdge { tick: (1000.0 * deg).round() as u64, cam_high: false });
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

    /// Early and late, beside the gap too.
    #[test]
    fn holds_for_every_tooth_both_ways() {
        for hit in 0..TEETH {
            for deg in [-0.5, 0.5] {
                let r = seen(|i| if i == hit { deg } else { 0.0 });
                assert_eq!(r.tooth, hit + 1, "{deg}°: {r:?}");
            }
        }
    }

    /// By hand: a wave of `a` once a turn has a third difference of a·(2π/60)³ ≤ 1.2e-3·a: 0.01 % of a tooth at
    /// half a degree. Across the gap a third of it stands for a tooth, half as far again each way: some tenths.
    #[test]
    fn holds_runout_is_no_hit_tooth() {
        let wave = |i: usize| 0.5 * crate::num::sin_deg(6.0 * i as f64 - 70.0);
        let r = seen(wave);
        assert!(r.most_pct.abs() < 0.5, "{r:?}");
        let both = seen(|i| wave(i) + if i == 30 { 0.3 } else { 0.0 });
        assert_eq!(both.tooth, 31);
    }
}
