//! The compression gauge in a cylinder's plug hole: what its check valve holds.
//!
//! *Inside*: how the held pressure builds up stroke by stroke, when the test is over, why there is no result.
//! *Outside*: the gauge's own errors and its place in the bay ([`crate::bench::tools`]).
//!
//! **Equations**
//! 1. The screwed end adds its volume `v` to the cylinder's: `p' = p [(V_i + v)/(V_c + v) · V_c/V_i]^1.3`, with the volumes
//!    at inlet closing and at top dead centre; 1.3 stands for a slow compression.
//! 2. A stroke whose pressure exceeds the held pressure pushes gas into the hose `V_h` until both are equal. It cools there to
//!    half its temperature, so that it gains the share `V_c/(V_c + 2 V_h)` of the missing pressure. Between strokes the valve
//!    holds.
//!
//! The plant's cylinder is unchanged: it does not miss the gas in the gauge.
//!
//! **Checked by** `tests/bench/gauges.rs`.

use crate::bench::facts::{Hindrance, place};
use crate::num;
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

    /// Takes a sample, with a gauge of such volumes behind and before its check valve \[cm³\].
    pub(super) fn look(&mut self, plant: &Plant, [hose_cm3, adapter_cm3]: [f64; 2]) {
        if plant.speed_rpm() > RUNS_RPM {
            self.stand = Stand::Ran;
        }
        let Some(account) = plant.s.accounts.get(self.cylinder) else { return };
        // a cycle ends with the exhaust valve opening: at cranking speed several samples after its peak
        if account.cycles != self.cycles {
            self.cycles = account.cycles;
            self.strokes += 1;
            let p = &plant.params().cylinder;
            let (top_m3, more_m3) = (p.clearance_m3(), 1e-6 * adapter_cm3);
            let shut_m3 = p.volume_m3(180.0 + p.inlet_closes_abdc_deg);
            // (1)
            let ratio = (shut_m3 + more_m3) / (top_m3 + more_m3) * top_m3 / shut_m3;
            let peak_pa = account.last.peak_pa * num::pow(ratio, 1.3) - plant.ambient().0;
            // (2)
            let fills = top_m3 / (top_m3 + 2e-6 * hose_cm3);
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
