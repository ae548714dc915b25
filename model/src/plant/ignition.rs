//! The spark: the voltage that a coil can reach and the voltage that a gap needs.
//!
//! **Models** the voltage at which a gap breaks down in the gas present, and the voltage that a coil of a given
//! strength reaches on a given supply. A spark that does not jump ignites nothing.
//!
//! **Leaves out** electrode shape and polarity, insufficient dwell at high speed, restrikes, energy beyond the
//! first jump: whether a weak mixture burns is decided by its flame ([`crate::plant::cylinder`]).
//!
//! **Equations**
//! 1. Paschen's curve for air as fitted by `24.22 x + 6.08 √x` kV with x the gap in cm times the density over
//!    that at 1 atm and 293 K (Craggs and Meek, Electrical Breakdown of Gases, from memory).
//! 2. A coil reaches `U₀ · strength · (V − 3)/(12 − 3)`, at most its own; assumed.
//!
//! **Valid** for gaps of 0.2 to 3 mm, 0.5 to 40 bar.
//!
//! **Checked by** `source_paschen…` in `tests/module/misfire.rs`.

use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[ignition]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Voltage that a good coil reaches at 12 V and more \[kV\].
    pub coil_kv: f64,
    /// Gap of a new plug \[mm\].
    pub gap_mm: f64,
    /// Spread of the breakdown voltage from spark to spark \[-\].
    pub spread: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "ignition";
        between(s, "coil_kv", self.coil_kv, 10.0, 80.0)?;
        between(s, "gap_mm", self.gap_mm, 0.3, 2.0)?;
        between(s, "spread", self.spread, 0.0, 0.3)
    }
    /// (2) Voltage that a coil of a given strength \[-\] reaches \[kV\].
    pub fn reached_kv(&self, strength: f64, supply_v: f64) -> f64 {
        self.coil_kv * strength * ((supply_v - 3.0) / 9.0).clamp(0.0, 1.0)
    }
}

/// (1) Voltage at which a gap \[mm\] breaks down in gas at a pressure \[Pa\] and temperature \[K\], in kV.
pub fn breakdown_kv(gap_mm: f64, p_pa: f64, t_k: f64) -> f64 {
    let x = 0.1 * gap_mm * (p_pa / 101_325.0) * (293.0 / t_k);
    24.22 * x + 6.08 * x.max(0.0).sqrt()
}
