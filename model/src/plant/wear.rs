//! What use takes from parts besides the film in the throttle bore (`air`), the battery's own wear (`battery`) and the
//! catalysts' (`catalyst`): plugs burn their gaps open, injectors clog, an air meter's element gathers dirt.
//!
//! **Models** each in proportion to hours of running. **Leaves out** what makes one engine worse than another:
//! short trips, poor fuel, oily intakes.
//!
//! **State** is the parts' own: gap \[mm\], share of an injector's flow that is lost \[-\], error of the meter \[-\].
//!
//! **Valid** for some thousand hours.
//!
//! **Checked by** `holds_use…` in `tests/bench/life.rs`.

use crate::plant::Parts;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[wear]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// A plug's gap grows by so much an hour of running \[mm/h\].
    pub gap_mm_h: f64,
    /// Share of its flow that an injector loses an hour of running \[1/h\].
    pub injector_per_h: f64,
    /// Share of what flows that an air meter tells less an hour of running \[1/h\].
    pub air_meter_per_h: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "wear";
        between(s, "gap_mm_h", self.gap_mm_h, 0.0, 0.01)?;
        between(s, "injector_per_h", self.injector_per_h, 0.0, 0.001)?;
        between(s, "air_meter_per_h", self.air_meter_per_h, 0.0, 0.001)
    }
    /// So many hours of running.
    pub fn runs(&self, parts: &mut Parts, hours: f64) {
        for plug in &mut parts.plugs {
            plug.gap_mm += self.gap_mm_h * hours;
        }
        for injector in &mut parts.injectors {
            injector.clogged = (injector.clogged + self.injector_per_h * hours).min(1.0);
        }
        let meter = &mut parts.air_meter;
        meter.error_at_3 -= self.air_meter_per_h * hours;
        meter.error_at_60 -= self.air_meter_per_h * hours;
    }
}

/// How worn what wears with use is.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Worn {
    /// Film in the throttle bore \[µm\].
    deposit_um: f64,
    gaps_mm: Vec<f64>,
    clogged: Vec<f64>,
    /// Errors of the air meter \[-\].
    meter: [f64; 2],
    /// Health of the catalysts \[-\].
    health: Vec<f64>,
}

impl Worn {
    /// As the parts are now.
    pub fn of(parts: &Parts) -> Self {
        Self {
            deposit_um: parts.throttle.deposit_um,
            gaps_mm: parts.plugs.iter().map(|p| p.gap_mm).collect(),
            clogged: parts.injectors.iter().map(|i| i.clogged).collect(),
            meter: [parts.air_meter.error_at_3, parts.air_meter.error_at_60],
            health: parts.exhausts.iter().map(|e| e.health).collect(),
        }
    }
    /// What use took from then until now.
    pub fn until(&self, now: &Self) -> Self {
        let less = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| b - a).collect();
        Self {
            deposit_um: now.deposit_um - self.deposit_um,
            gaps_mm: less(&self.gaps_mm, &now.gaps_mm),
            clogged: less(&self.clogged, &now.clogged),
            meter: [now.meter[0] - self.meter[0], now.meter[1] - self.meter[1]],
            // what is left falls by its share
            health: self.health.iter().zip(&now.health).map(|(a, b)| b / a.max(1e-9)).collect(),
        }
    }
    /// Use takes as much once more.
    pub fn again(&self, parts: &mut Parts) {
        parts.throttle.deposit_um += self.deposit_um;
        for (plug, more) in parts.plugs.iter_mut().zip(&self.gaps_mm) {
            plug.gap_mm += more;
        }
        for (injector, more) in parts.injectors.iter_mut().zip(&self.clogged) {
            injector.clogged = (injector.clogged + more).min(1.0);
        }
        parts.air_meter.error_at_3 += self.meter[0];
        parts.air_meter.error_at_60 += self.meter[1];
        for (exhaust, kept) in parts.exhausts.iter_mut().zip(&self.health) {
            exhaust.health *= kept;
        }
    }
}
