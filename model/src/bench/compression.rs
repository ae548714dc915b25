//! The compression gauge in a cylinder's plug hole: what its check valve holds.
//!
//! *Inside*: how held pressure creeps up stroke by stroke, when the test is over, why it was none. *Outside*: the
//! gauge's own errors and its place in the bay ([`crate::bench::tools`]).
//!
//! A stroke that goes over what is held pushes through the valve: of what is missing, a share goes in, since
//! hose and gauge have a volume to fill. Between strokes the valve holds. The plant's cylinder stays as it is:
//! the gauge closes the hole that the plug has left, and its volume does not take from the clearance.
//!
//! **Checked by** `tests/bench/gauges.rs`.

use crate::bench::facts::{Hindrance, place};
use crate::plant::Plant;
use serde::{Deserialize, Serialize};

/// Engine speed above which it runs by itself \[rpm\]: no starter turns it so fast.
const RUNS_RPM: f64 = 450.0;

/// How the test stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Stand {
    /// Nobody has cranked yet.
    Waiting,
    /// The engine turns, or has turned and is not still yet.
    Cranked,
    /// The engine runs: no test.
    Ran,
    /// It stands still after cranking.
    Over,
}

/// A gauge at work on one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Gauge {
    cylinder: usize,
    cycles: u64,
    /// Pressure held over ambient \[Pa\].
    pub(super) held_pa: f64,
    /// Strokes of this cylinder since it was put in.
    pub(super) strokes: u32,
    pub(super) stand: Stand,
}

/// Keeps a gauge off an engine that could start, or a cylinder that is not there.
pub(super) fn may(plant: &Plant, cylinder: u8) -> Result<(), Hindrance> {
    let n = plant.params().layout.cylinders();
    place(n, cylinder)?;
    if plant.turning() {
        return Err(Hindrance::PlugMustComeOut);
    }
    let plugs = &plant.s.hands.plugs;
    let in_yet = |them: &[bool]| them.iter().take(n).any(|is_in| *is_in);
    if in_yet(&plugs.coils) || in_yet(&plugs.injectors) {
        return Err(Hindrance::WouldStart);
    }
    Ok(())
}

impl Gauge {
    /// Screwed in, empty; `cylinder` from 1.
    pub(super) fn new(plant: &Plant, cylinder: u8) -> Self {
        let cylinder = usize::from(cylinder).saturating_sub(1);
        let cycles = plant.s.accounts.get(cylinder).map_or(0, |a| a.cycles);
        Self { cylinder, cycles, held_pa: 0.0, strokes: 0, stand: Stand::Waiting }
    }

    /// Looks at a sample; `fills` is the share of what is missing that one stroke brings \[-\].
    pub(super) fn look(&mut self, plant: &Plant, fills: f64) {
        if plant.speed_rpm() > RUNS_RPM {
            self.stand = Stand::Ran;
        }
        let Some(account) = plant.s.accounts.get(self.cylinder) else { return };
        // a cycle ends with the exhaust valve opening: at cranking speed several samples after its peak
        if account.cycles != self.cycles {
            self.cycles = account.cycles;
            self.strokes += 1;
            let peak_pa = account.last.peak_pa - plant.ambient().0;
            self.held_pa += fills * (peak_pa - self.held_pa).max(0.0);
        }
        match self.stand {
            Stand::Waiting if plant.turning() => self.stand = Stand::Cranked,
            Stand::Cranked if !plant.turning() => self.stand = Stand::Over,
            _ => {}
        }
    }

    /// The test has come to its end, good or not.
    pub(super) fn is_over(&self) -> bool {
        matches!(self.stand, Stand::Ran | Stand::Over)
    }

    /// In one word, when it is taken out: `held`, or why there is nothing to read.
    pub(super) fn state(&self) -> &'static str {
        match self.stand {
            Stand::Ran => "engine_ran",
            _ if self.strokes == 0 => "not_cranked",
            _ => "held",
        }
    }
}
