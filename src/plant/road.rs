//! Driveline and road: a converter, fixed ratios, a car's weight and drag; rollers for steady holds.
//!
//! **Models** a torque converter by its capacity and torque ratio, gears chosen by road speed, rolling
//! and air drag, brakes that hold. Rollers put a chosen torque on the crank for a steady hold.
//!
//! **Leaves out** shifts between ratios as events, slip of tyres, slopes, rough road.
//!
//! **State** ([`State`]): road speed \[m/s\].
//!
//! **Equations**
//! 1. Pump torque `K ω² (1 − s²)`, s turbine over pump speed, not below zero; turbine torque times
//!    `r₀ − (r₀ − 1) s/0.85` up to s 0.85, then 1.
//! 2. `m dv/dt = F_wheel − m g f_r − ½ρc_dA v² − F_brake`.
//!
//! **Checked by** `practice_in_drive…` in `tests/physics.rs`.

use crate::num::lag_share;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// Time constant with which the forward clutch takes hold or lets go \[s\]; assumed.
const CLUTCH_S: f64 = 0.4;

/// The `[road]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Mass \[kg\].
    pub mass_kg: f64,
    /// Converter capacity \[N m per (rad/s)²\].
    pub converter_capacity: f64,
    /// Converter torque ratio at stall \[-\].
    pub converter_ratio: f64,
    /// Over-all ratios, engine turns per wheel turn.
    pub ratios: Vec<f64>,
    /// Upshift speeds \[km/h\], one fewer than ratios.
    pub upshift_km_h: Vec<f64>,
    /// Wheel radius \[m\].
    pub wheel_m: f64,
    /// Rolling resistance \[-\].
    pub rolling: f64,
    /// Drag area \[m²\].
    pub drag_m2: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "road";
        between(s, "mass_kg", self.mass_kg, 500.0, 4000.0)?;
        between(s, "converter_capacity", self.converter_capacity, 1e-4, 0.05)?;
        between(s, "converter_ratio", self.converter_ratio, 1.0, 3.5)?;
        between(s, "wheel_m", self.wheel_m, 0.2, 0.5)?;
        between(s, "rolling", self.rolling, 0.002, 0.05)?;
        between(s, "drag_m2", self.drag_m2, 0.2, 2.0)?;
        if self.ratios.is_empty() || self.upshift_km_h.len() + 1 != self.ratios.len() {
            return Err(ParamError {
                key: "road.upshift_km_h".into(),
                rule: "must hold one speed fewer than there are ratios".into(),
            });
        }
        for r in &self.ratios {
            between(s, "ratios", *r, 1.0, 25.0)?;
        }
        for u in &self.upshift_km_h {
            between(s, "upshift_km_h", *u, 1.0, 250.0)?;
        }
        Ok(())
    }
}

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Road speed \[m/s\].
    pub speed_m_s: f64,
    /// Torque of rollers or other brakes on the crank, set by hand \[N m\].
    pub rollers_nm: f64,
    /// Torque that the driveline takes from the crank \[N m\].
    pub crank_nm: f64,
    /// How far the forward clutch has taken hold \[-\].
    pub engaged: f64,
}

impl State {
    /// Every 10 ms. `drive` is the selector in drive.
    pub fn tick(&mut self, p: &Params, drive: bool, brake: bool, omega: f64, dt_s: f64) {
        let gear = p.upshift_km_h.iter().filter(|u| self.speed_m_s * 3.6 > **u).count();
        let per_m_s = p.ratios[gear] / p.wheel_m;
        let mut force = 0.0;
        let mut taken = 0.0;
        self.engaged += (f64::from(u8::from(drive)) - self.engaged) * lag_share(dt_s, CLUTCH_S);
        if self.engaged > 0.01 && omega > 10.0 {
            let s = self.speed_m_s * per_m_s / omega;
            if s < 1.0 {
                taken = self.engaged * p.converter_capacity * omega * omega * (1.0 - s * s);
                let ratio = (p.converter_ratio - (p.converter_ratio - 1.0) * s / 0.85).max(1.0);
                force = 0.92 * taken * ratio * per_m_s;
            } else {
                // overrun: the wheels turn the engine
                let back = self.engaged * (p.converter_capacity * omega * omega * (s * s - 1.0)).min(60.0);
                taken = -back;
                force = -back * per_m_s;
            }
        }
        self.crank_nm = taken + if omega > 10.0 { self.rollers_nm } else { 0.0 };
        let mut drag = p.mass_kg * 9.81 * p.rolling + 0.6 * p.drag_m2 * self.speed_m_s * self.speed_m_s;
        if brake {
            drag += 0.35 * p.mass_kg * 9.81;
        }
        if self.speed_m_s > 0.0 || force > drag {
            self.speed_m_s = (self.speed_m_s + (force - drag) / p.mass_kg * dt_s).max(0.0);
        }
    }
}
