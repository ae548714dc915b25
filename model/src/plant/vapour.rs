//! Vapour over the fuel in the tank: its pressure, what makes it rise, and the ways in and out.
//!
//! **Models** one volume (what fuel leaves free in the tank, with neck, line and the tank's side of the canister) at one
//! pressure and at the fuel's temperature; fuel that evaporates until its vapour is saturated; fuel that warms on a
//! running engine; the canister's bed with the vent valve to ambient; holes to ambient; the cap with its two valves; and
//! what the purge valve draws.
//!
//! **Leaves out** vapour that the breathing tank brings into the canister (refuelling alone loads it, `air`), vapour's
//! molar mass in flows, fuel that sloshes, heat of evaporation, alcohol's effect on vapour pressure, ambient pressure that
//! changes while the system is shut, and the line's own resistance.
//!
//! **State** ([`State`]): pressure above ambient \[Pa\], partial pressure of the vapour \[Pa\], fuel temperature \[K\].
//!
//! **Parameters** ([`Params`]), with sources in the car's file.
//!
//! **Equations**
//! 1. `p_sat = p₁₀₀ exp(B (1/310.95 K − 1/T))`, p₁₀₀ the vapour pressure at 37.8 °C (100 °F), B fitted to a published table.
//! 2. `dp_v/dt = (p_sat − p_v)/τ`, `τ = V/(h A)`: vapour crosses the still gas over the fuel.
//! 3. Ideal gas, isothermal: `dp = R T dm/V`.
//! 4. Through openings to ambient: `Q = A √(2 |p|/ρ)`, so that `dp/dt = −k sgn(p) √|p|`, `k = (p₀/V) A √(2/ρ)`; solved
//!    implicitly over each tick. Incompressible: up to 4 kPa the mass flow is less than 2 % off (expansion factor of
//!    ISO 5167, from memory).
//! 5. A round, sharp-edged hole: `A = 0.6 π d²/4` (discharge coefficient 0.60 to 0.61: ISO 5167, from memory).
//! 6. The purge valve with the vent shut: isentropic flow from the tank's pressure instead of the duct's.
//!
//! **Valid** for pressures within ±15 kPa of ambient and fuel from −30 to 45 °C.
//!
//! **Checked by** `tests/model/vapour.rs`.

use crate::num::{self, FlowFunction};
use crate::units::{ParamError, R_AIR, between};
use serde::{Deserialize, Serialize};

/// The `[vapour]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Volume that is free of fuel with the tank full: dome, neck, line, canister \[L\].
    pub free_l: f64,
    /// Effective area of canister bed and open vent valve in series \[mm²\].
    pub vent_mm2: f64,
    /// Effective area of the neck with its cap off or loose \[mm²\].
    pub neck_mm2: f64,
    /// The cap's valves open at so much vacuum, at so much pressure \[kPa\].
    pub cap_kpa: [f64; 2],
    /// (1) Vapour pressure of the fuel at 37.8 °C \[kPa\].
    pub volatile_kpa: f64,
    /// (2) Surface times transfer coefficient \[cm³/s\].
    pub evaporates_cm3_s: f64,
    /// With the engine running fuel warms towards so much above ambient \[K\], with this time constant \[s\].
    pub warms: [f64; 2],
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "vapour";
        between(s, "free_l", self.free_l, 1.0, 50.0)?;
        between(s, "vent_mm2", self.vent_mm2, 5.0, 500.0)?;
        between(s, "neck_mm2", self.neck_mm2, 5.0, 2000.0)?;
        between(s, "cap_kpa[0]", self.cap_kpa[0], 2.5, 14.0)?;
        between(s, "cap_kpa[1]", self.cap_kpa[1], 2.5, 14.0)?;
        between(s, "volatile_kpa", self.volatile_kpa, 20.0, 110.0)?;
        between(s, "evaporates_cm3_s", self.evaporates_cm3_s, 0.0, 2000.0)?;
        between(s, "warms[0]", self.warms[0], 0.0, 40.0)?;
        between(s, "warms[1]", self.warms[1], 100.0, 100_000.0)
    }
}

/// (1) 37.8 °C \[K\], at which the vapour pressure of petrol is stated.
const STATED_K: f64 = 310.95;
/// (1) B \[K\], from 5.2 psi at 60 °F and 6.2 at 70 °F of a petrol with 10 at 100 °F (EPA AP-42, table 7.1-2, from memory).
const LATENT_K: f64 = 2640.0;
/// Vapour never fills more than this share of the space: beyond it fuel would boil.
const BOILS: f64 = 0.95;
/// (5) Discharge coefficient of a hole.
pub const DISCHARGE: f64 = 0.6;
/// A valve of the cap, fully open \[mm²\], and how far above its opening pressure it is so \[Pa\]; assumed.
const CAP_VALVE: [f64; 2] = [30.0, 500.0];

/// (1) Vapour pressure \[Pa\] at a temperature \[K\].
pub fn saturated_pa(p: &Params, fuel_k: f64) -> f64 {
    1e3 * p.volatile_kpa * num::exp(LATENT_K * (1.0 / STATED_K - 1.0 / fuel_k))
}

/// (5) Effective area of a round hole \[mm²\], from its diameter \[mm\].
pub fn hole_mm2(diameter_mm: f64) -> f64 {
    DISCHARGE * std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm
}

/// (4) `k` \[√Pa/s\] for an effective area \[mm²\], a volume \[L\], ambient pressure \[Pa\] and temperature \[K\].
pub fn pace(area_mm2: f64, gas_l: f64, ambient_pa: f64, gas_k: f64) -> f64 {
    let density = ambient_pa / (R_AIR * gas_k);
    ambient_pa / (gas_l * 1e-3) * area_mm2 * 1e-6 * (2.0 / density).sqrt()
}

/// (6) Flow through the purge valve from the tank's pressure, over that from the duct's, into the manifold \[Pa\].
pub fn from_tank(flow: &FlowFunction, manifold_pa: f64, duct_pa: f64, tank_pa: f64) -> f64 {
    let of = |pa: f64| pa * flow.at(manifold_pa / pa);
    let by_duct = of(duct_pa);
    if by_duct <= 0.0 { 0.0 } else { of(tank_pa) / by_duct }
}

/// State.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Pressure above ambient \[Pa\].
    pub gauge_pa: f64,
    /// Partial pressure of the fuel's vapour \[Pa\].
    pub vapour_pa: f64,
    /// Fuel \[K\].
    pub fuel_k: f64,
    /// What the purge valve had passed at the last tick \[kg\].
    purged_kg: f64,
}

/// Surroundings of a tick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Around {
    /// Ambient pressure \[Pa\].
    pub ambient_pa: f64,
    /// Ambient temperature \[K\].
    pub ambient_k: f64,
    /// Tank less the fuel in it \[L\].
    pub gas_l: f64,
    /// The vent valve is shut.
    pub vent_shut: bool,
    /// Holes in cap and line \[mm\].
    pub hole_mm: [f64; 2],
    /// The cap is on and tight.
    pub cap_on: bool,
    /// The engine runs.
    pub running: bool,
    /// Air that the purge valve has passed since the plant was built \[kg\].
    pub purged_kg: f64,
}

impl State {
    /// After a night: fuel at ambient temperature, its vapour saturated, no pressure.
    pub fn at_rest(p: Option<&Params>, ambient_k: f64) -> Self {
        let vapour_pa = p.map_or(0.0, |p| saturated_pa(p, ambient_k));
        Self { gauge_pa: 0.0, vapour_pa, fuel_k: ambient_k, purged_kg: 0.0 }
    }

    /// Effective area to ambient \[mm²\].
    fn open_mm2(&self, p: &Params, a: &Around) -> f64 {
        let vent = if a.vent_shut { 0.0 } else { p.vent_mm2 };
        let limit_pa = 1e3 * p.cap_kpa[usize::from(self.gauge_pa > 0.0)];
        let [valve_mm2, over_pa] = CAP_VALVE;
        let cap = if a.cap_on {
            hole_mm2(a.hole_mm[0]) + valve_mm2 * ((self.gauge_pa.abs() - limit_pa) / over_pa).clamp(0.0, 1.0)
        } else {
            p.neck_mm2
        };
        vent + cap + hole_mm2(a.hole_mm[1])
    }

    /// Every 10 ms, or a longer step of a car at rest.
    pub fn tick(&mut self, p: &Params, a: &Around, dt_s: f64) {
        let goes_k = a.ambient_k + if a.running { p.warms[0] } else { 0.0 };
        self.fuel_k += (goes_k - self.fuel_k) * num::lag_share(dt_s, p.warms[1]);
        let gas_l = a.gas_l.max(0.0) + p.free_l;
        // (1), (2)
        let saturated_pa = saturated_pa(p, self.fuel_k).min(BOILS * a.ambient_pa);
        let share = if p.evaporates_cm3_s > 0.0 {
            num::lag_share(dt_s, gas_l * 1e3 / p.evaporates_cm3_s)
        } else {
            0.0
        };
        let came_pa = (saturated_pa - self.vapour_pa) * share;
        // (3)
        let drawn_kg = a.purged_kg - std::mem::replace(&mut self.purged_kg, a.purged_kg);
        let drawn_pa = R_AIR * self.fuel_k * drawn_kg / (gas_l * 1e-3);
        // (4): x = p′ + dt k sgn(p′) √|p′|, solved for p′
        let x = self.gauge_pa + came_pa - drawn_pa;
        let half = 0.5 * dt_s * pace(self.open_mm2(p, a), gas_l, a.ambient_pa, a.ambient_k);
        let root = x.abs() / (half + (half * half + x.abs()).sqrt()).max(1e-12);
        let gauge_pa = if x < 0.0 { -root * root } else { root * root };
        // gas that left took its share of vapour along; air that came in brought none
        let went_pa = (self.gauge_pa + came_pa - gauge_pa).max(0.0);
        self.gauge_pa = gauge_pa;
        self.vapour_pa = (self.vapour_pa + came_pa) * (1.0 - (went_pa / a.ambient_pa).min(1.0));
    }
}
