//! Wear of parts with use, besides the film in the throttle bore (`air`), the battery's own wear (`battery`) and the
//! catalysts' (`catalyst`): plug gaps burn open, injectors clog, a MAF sensor's element gathers dirt.
//!
//! **Models** each in proportion to hours of running. **Leaves out** what makes one engine worse than another:
//! short trips, poor fuel, oily intakes.
//!
//! **State** is the parts' own: gap \[mm\], share of an injector's flow that is lost \[-\], error of the meter \[-\].
//!
//! **Valid** for a few thousand hours.
//!
//! **Checked by** `holds_use…` in `tests/bench/life.rs`.

use crate::plant::Parts;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[wear]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Growth of a plug's gap per hour of running \[mm/h\].
    pub gap_mm_h: f64,
    /// Share of its flow that an injector loses per hour of running \[1/h\].
    pub injector_per_h: f64,
    /// Share of the flow by which a MAF sensor's reading falls per hour of running \[1/h\].
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
    /// Applies the wear of a number of running hours.
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

/// Wear state of the parts that wear with use.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Worn {
    /// Film in the throttle bore \[µm\].
    deposit_um: f64,
    gaps_mm: Vec<f64>,
    clogged: Vec<f64>,
    /// Errors of the MAF sensor \[-\].
    meter: [f64; 2],
    /// Health of the catalysts \[-\].
    health: Vec<f64>,
    /// Soot on the seat of the exhaust-gas-recirculation valve \[µm\].
    soot_um: f64,
}

impl Worn {
    /// Wear state of the parts as they are now.
    pub fn of(parts: &Parts) -> Self {
        Self {
            deposit_um: parts.throttle.deposit_um,
            gaps_mm: parts.plugs.iter().map(|p| p.gap_mm).collect(),
            clogged: parts.injectors.iter().map(|i| i.clogged).collect(),
            meter: [parts.air_meter.error_at_3, parts.air_meter.error_at_60],
            health: parts.exhausts.iter().map(|e| e.health).collect(),
            soot_um: parts.egr_valve.soot_um,
        }
    }
    /// Wear from then until now.
    pub fn until(&self, now: &Self) -> Self {
        let less = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| b - a).collect();
        Self {
            deposit_um: now.deposit_um - self.deposit_um,
            gaps_mm: less(&self.gaps_mm, &now.gaps_mm),
            clogged: less(&self.clogged, &now.clogged),
            meter: [now.meter[0] - self.meter[0], now.meter[1] - self.meter[1]],
            // health falls by a factor
            health: self.health.iter().zip(&now.health).map(|(a, b)| b / a.max(1e-9)).collect(),
            soot_um: now.soot_um - self.soot_um,
        }
    }
    /// Applies the same wear once more.
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
        parts.egr_valve.soot_um += self.soot_um;
    }
}
