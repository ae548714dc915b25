//! The compression gauge in a cylinder's plug hole: what its check valve holds.
//!
//! *Inside*: how the held pressure builds up stroke by stroke, when the test is over, why there is no result.
//! *Outside*: the gauge's own errors and its place in the bay ([`crate::bench::tools`]).
//!
//! A stroke whose pressure exceeds the held pressure pushes gas through the valve: a share of the missing pressure
//! goes in, since hose and gauge have a volume to fill. Between strokes the valve holds. The plant's cylinder is
//! unchanged: the gauge closes the plug hole, and its volume is not counted in the clearance volume.
//!
//! **Checked by** `tests/bench/gauges.rs`.

use crate::bench::facts::{Hindrance, place};
use crate::plant::Plant;
use serde::{Deserialize, Serialize};

/// Engine speed above which the engine runs by itself \[rpm\]: no starter turns it this fast.
const RUNS_RPM: f64 = 450.0;

/// State of the test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Stand {
    /// Nobody has cranked yet.
    Waiting,
    /// The engine is turning, or has turned and is not at rest yet.
    Cranked,
    /// The engine runs: no test.
    Ran,
    /// The engine is at rest after cranking.
    Over,
}

/// A gauge at work on one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Gauge {
    cylinder: usize,
    cycles: u64,
    /// Pressure held over ambient \[Pa\].
    pub(super) held_pa: f64,
    /// Strokes of this cylinder since the gauge was screwed in.
    pub(super) strokes: u32,
    pub(super) stand: Stand,
}

/// Refuses the gauge on an engine that could start, or for a cylinder that does not exist.
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
    /// A gauge just screwed in, holding no pressure; `cylinder` counted from 1.
    pub(super) fn new(plant: &Plant, cylinder: u8) -> Self {
        let cylinder = usize::from(cylinder).saturating_sub(1);
        let cycles = plant.s.accounts.get(cylinder).map_or(0, |a| a.cycles);
        Self { cylinder, cycles, held_pa: 0.0, strokes: 0, stand: Stand::Waiting }
    }

    /// Takes a sample; `fills` is the share of the missing pressure that one stroke adds \[-\].
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

    /// Whether the test has ended, with or without a result.
    pub(super) fn is_over(&self) -> bool {
        matches!(self.stand, Stand::Ran | Stand::Over)
    }

    /// Result in one word, when the gauge is taken out: `held`, or why there is nothing to read.
    pub(super) fn state(&self) -> &'static str {
        match self.stand {
            Stand::Ran => "engine_ran",
            _ if self.strokes == 0 => "not_cranked",
            _ => "held",
        }
    }
}
