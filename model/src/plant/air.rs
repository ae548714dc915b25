//! The intake air path: filter, meter, throttle body with its deposit, leak, purge, manifold.
//!
//! **Models** quasi-steady isentropic flow through the plate's open area, through a leak behind the
//! meter and through the purge valve, a filter with a square-law loss, isothermal filling of one manifold
//! volume, a canister that releases vapour into the air drawn through it, a throttle motor with lag, a slew limit
//! that depends on its supply, a spring default position, and wear that makes it slow and sticky.
//!
//! **Leaves out** waves and ram, heat in the manifold beyond one temperature, reverse flow at the meter,
//! crankcase and brake-booster flow, vapour's share of the manifold pressure.
//!
//! **State** ([`State`]): manifold pressure \[Pa\], plate opening above its stop \[deg\], metered flow \[kg/s\],
//! vapour in canister and manifold \[kg\].
//!
//! **Parameters** ([`Params`]), with sources in the car's file.
//!
//! **Equations**
//! 1. Open area of a plate with closed angle ψ₀ at ψ, shaft ratio a = d/D:
//!    `A/(πD²/4) = 1 − r + (2/π)[(a/cos ψ)√(cos²ψ − a²cos²ψ₀) + r asin(a/r) − a√(1−a²) − asin a]`,
//!    `r = cos ψ/cos ψ₀`; from a/r ≥ 1 on only the shaft blocks the bore.
//! 2. A film of thickness δ around the bore takes `π D δ`; a least area always stays open.
//! 3. `ṁ = C_d A p₀/√(R T₀) Ψ(p/p₀)`, Ψ the isentropic flow function, γ 1.40.
//! 4. `dp/dt = (R T_m/V)(ṁ_throttle + ṁ_leak + ṁ_purge − ṁ_drawn)`, semi-implicit in Ψ's slope where unchoked.
//! 5. Vapour in the purge flow: share `w_max · load`, load the canister's content over its capacity.
//! 6. Recirculated exhaust gas (`egr`) enters as a given flow; it mixes with what the manifold holds and leaves with what is drawn.
//! 7. `T_m` is that of air and gas by their masses.
//!
//! **Valid** for manifold pressure up to ambient, film up to about 120 µm.
//!
//! **Checked by** `source_throttle_plate…`, `exact_film…`, `source_isentropic…`, `exact_manifold…` in
//! `tests/model/physics.rs`; `holds_air…` in `tests/model/balances.rs`.

use crate::num::{self, FlowFunction};
use crate::plant::account::Totals;
use crate::plant::cylinder::Charge;
use crate::plant::parts::ThrottleBody;
use crate::units::{ParamError, R_AIR, between};
use serde::{Deserialize, Serialize};

/// The `[air]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Throttle bore \[mm\].
    pub bore_mm: f64,
    /// Throttle shaft over bore \[-\].
    pub shaft_ratio: f64,
    /// Plate at its stop, from the plane across the bore \[deg\].
    pub closed_deg: f64,
    /// Discharge coefficient \[-\].
    pub discharge: f64,
    /// Leakage area around a closed clean plate \[mm²\].
    pub seal_leak_mm2: f64,
    /// Least area that a deposit can leave \[mm²\].
    pub least_mm2: f64,
    /// Plate opening that the springs hold without drive, above the stop \[deg\].
    pub spring_default_deg: f64,
    /// Widest opening above the stop \[deg\].
    pub widest_deg: f64,
    /// Lag of the plate's motor \[s\].
    pub motor_lag_s: f64,
    /// Fastest plate movement at 13.5 V \[deg/s\].
    pub motor_slew_deg_s: f64,
    /// Deposit growth in ordinary use \[µm per hour running\].
    pub deposit_um_h: f64,
    /// Manifold volume with runners \[L\].
    pub manifold_l: f64,
    /// Filter and duct loss at 100 g/s \[kPa\].
    pub filter_kpa_at_100: f64,
    /// Share of the difference from coolant to inlet air that the manifold takes up \[-\].
    pub manifold_heating: f64,
    /// Effective area of the purge valve fully open \[mm²\].
    pub purge_mm2: f64,
    /// Fuel vapour that the canister can hold \[g\].
    pub canister_g: f64,
    /// Share of fuel vapour in the flow drawn through a full canister \[-\].
    pub canister_share: f64,
    /// Vapour that each litre filled into the tank drives into the canister \[g\].
    pub vapour_g_l: f64,
    /// How far the maker's other size of throttle body differs: bore \[mm\], closed stop \[deg\].
    pub other_variant: [f64; 2],
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "air";
        between(s, "bore_mm", self.bore_mm, 25.0, 100.0)?;
        between(s, "shaft_ratio", self.shaft_ratio, 0.0, 0.4)?;
        between(s, "closed_deg", self.closed_deg, 0.0, 20.0)?;
        between(s, "discharge", self.discharge, 0.3, 1.0)?;
        between(s, "seal_leak_mm2", self.seal_leak_mm2, 0.0, 20.0)?;
        between(s, "least_mm2", self.least_mm2, 0.01, 5.0)?;
        between(s, "spring_default_deg", self.spring_default_deg, 0.0, 20.0)?;
        between(s, "widest_deg", self.widest_deg, 40.0, 90.0 - self.closed_deg)?;
        between(s, "motor_lag_s", self.motor_lag_s, 0.001, 0.5)?;
        between(s, "motor_slew_deg_s", self.motor_slew_deg_s, 20.0, 5000.0)?;
        between(s, "deposit_um_h", self.deposit_um_h, 0.0, 10.0)?;
        between(s, "manifold_l", self.manifold_l, 0.5, 20.0)?;
        between(s, "filter_kpa_at_100", self.filter_kpa_at_100, 0.0, 20.0)?;
        between(s, "manifold_heating", self.manifold_heating, 0.0, 0.9)?;
        between(s, "purge_mm2", self.purge_mm2, 0.0, 30.0)?;
        between(s, "canister_g", self.canister_g, 1.0, 500.0)?;
        between(s, "canister_share", self.canister_share, 0.0, 0.8)?;
        between(s, "vapour_g_l", self.vapour_g_l, 0.0, 5.0)?;
        between(s, "other_variant[0]", self.other_variant[0], -0.3 * self.bore_mm, 0.3 * self.bore_mm)?;
        between(s, "other_variant[1]", self.other_variant[1], -3.0, 3.0)
    }
    /// Offset of a body's closed stop from nominal, as its sensor sees it \[deg\].
    pub fn stop_of_deg(&self, body: &ThrottleBody) -> f64 {
        body.stop_offset_deg + if body.other_variant { self.other_variant[1] } else { 0.0 }
    }
    /// Bore of a body \[mm\].
    pub fn bore_of_mm(&self, body: &ThrottleBody) -> f64 {
        self.bore_mm + body.bore_offset_mm + if body.other_variant { self.other_variant[0] } else { 0.0 }
    }
}

/// Ratio of the heat capacities of air \[-\].
pub const GAMMA: f64 = 1.40;

/// (1) Open fraction of the bore for a plate at `deg` from the plane across the bore.
pub fn open_fraction(deg: f64, closed_deg: f64, shaft_ratio: f64) -> f64 {
    if deg <= closed_deg {
        return 0.0;
    }
    let a = shaft_ratio;
    let (c, c0) = (num::cos_deg(deg.min(90.0)), num::cos_deg(closed_deg));
    let r = c / c0;
    let shaft = a * (1.0 - a * a).sqrt() + num::asin(a);
    if a >= r {
        return 1.0 - std::f64::consts::FRAC_2_PI * shaft;
    }
    let plate = (a / c) * (c * c - a * a * c0 * c0).sqrt() + r * num::asin(a / r);
    1.0 - r + std::f64::consts::FRAC_2_PI * (plate - shaft)
}

/// (1) Open area \[mm²\] of a clean body, seal leakage included: bore \[mm\], its closed angle \[deg\], shaft over bore
/// \[-\], seal leakage \[mm²\], plate opening above the stop \[deg\].
pub fn clean_area_mm2(
    bore_mm: f64,
    closed_deg: f64,
    shaft_ratio: f64,
    seal_mm2: f64,
    opening_deg: f64,
) -> f64 {
    let bore = std::f64::consts::FRAC_PI_4 * bore_mm * bore_mm;
    bore * open_fraction(closed_deg + opening_deg, closed_deg, shaft_ratio) + seal_mm2
}

/// (2) Open area \[mm²\] of a body whose plate is `opening_deg` above its stop.
pub fn open_area_mm2(p: &Params, body: &ThrottleBody, opening_deg: f64) -> f64 {
    let d = p.bore_of_mm(body);
    let clean = clean_area_mm2(d, p.closed_deg, p.shaft_ratio, p.seal_leak_mm2, opening_deg);
    (clean - film_area_mm2(d, body.deposit_um)).max(p.least_mm2)
}

/// Area that a film \[µm\] takes from a bore \[mm\], in mm².
pub fn film_area_mm2(bore_mm: f64, film_um: f64) -> f64 {
    std::f64::consts::PI * bore_mm * film_um * 1e-3
}

/// (3) Isentropic flow \[kg/s\] through an effective area \[mm²\] from `p0` \[Pa\], `t0` \[K\] to `p` \[Pa\].
pub fn orifice_kg_s(flow: &FlowFunction, area_mm2: f64, p0_pa: f64, t0_k: f64, p_pa: f64) -> f64 {
    area_mm2 * 1e-6 * p0_pa / (R_AIR * t0_k).sqrt() * flow.at(p_pa / p0_pa)
}

/// Time constant of the pressure in air box and duct \[s\]; assumed.
const DUCT_S: f64 = 0.05;

/// Supply at which the motor's fastest movement is specified \[V\].
const MOTOR_V: f64 = 13.5;
/// Position error above which a worn-out motor moves the plate \[deg\]; assumed.
const STICKS_DEG: f64 = 1.5;

/// What flowed in one crank step \[kg\], and its length \[s\].
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
struct LastStep {
    metered_kg: f64,
    leak_kg: f64,
    purge_kg: f64,
    vapour_kg: f64,
    dt_s: f64,
}

/// State of the intake air path.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Manifold pressure \[Pa\].
    pub manifold_pa: f64,
    /// Manifold temperature \[K\].
    pub manifold_k: f64,
    /// Plate above its stop \[deg\].
    pub opening_deg: f64,
    /// The last crank step.
    last: LastStep,
    /// Fuel vapour held by the canister \[kg\].
    pub canister_kg: f64,
    /// Fuel vapour in the manifold \[kg\].
    pub vapour_kg: f64,
    /// Pressure before the throttle \[Pa\].
    pub before_throttle_pa: f64,
    /// One over it.
    per_before: f64,
    /// Total flow through all openings, divided by Ψ \[kg/s\].
    per_psi: f64,
    /// Share of the flow through the leak; share through the purge valve.
    leak_share: f64,
    purge_share: f64,
    /// Recirculated exhaust gas: flow \[kg/s\], temperature \[K\]; what it is made of, for each kg of it.
    egr: (f64, f64, Charge),
    /// That gas in the manifold.
    pub burned: Charge,
    /// Vapour over air in what the purge valve passes.
    vapour_ratio: f64,
    fill: f64,
}

/// Surroundings of the slow part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings<'a> {
    /// Ambient pressure \[Pa\].
    pub ambient_pa: f64,
    /// Air drawn in \[K\].
    pub inlet_k: f64,
    /// Coolant \[K\].
    pub coolant_k: f64,
    /// The body fitted.
    pub body: &'a ThrottleBody,
    /// Unmetered leak \[mm²\].
    pub leak_mm2: f64,
    /// Purge area through which the canister is drawn from \[mm²\].
    pub purge_mm2: f64,
    /// Filter loss over that of a clean one \[-\].
    pub filter_loss: f64,
    /// Opening commanded of the motor, above the body's own stop \[deg\]; none leaves the plate to the springs.
    pub wanted_deg: Option<f64>,
    /// Mean flow through the filter since the last tick \[kg/s\].
    pub metered_kg_s: f64,
    /// Supply of the motor \[V\].
    pub supply_v: f64,
}

impl State {
    /// At rest, manifold at ambient pressure, plate at its spring default.
    pub fn at_rest(p: &Params, ambient_pa: f64, inlet_k: f64) -> Self {
        Self {
            manifold_pa: ambient_pa,
            manifold_k: inlet_k,
            opening_deg: p.spring_default_deg,
            last: LastStep::default(),
            canister_kg: 0.0,
            vapour_kg: 0.0,
            before_throttle_pa: ambient_pa,
            per_before: 1.0 / ambient_pa,
            per_psi: 0.0,
            leak_share: 0.0,
            purge_share: 0.0,
            egr: (0.0, inlet_k, Charge::default()),
            burned: Charge::default(),
            vapour_ratio: 0.0,
            fill: 0.0,
        }
    }

    /// The slow part: plate, filter, temperatures. Every 10 ms.
    pub fn tick(&mut self, p: &Params, s: &Surroundings, dt_s: f64) {
        let wanted = s.wanted_deg.unwrap_or(p.spring_default_deg).clamp(0.0, p.widest_deg);
        let wear = s.body.motor_wear;
        // dry gears and worn brushes: up to nine times slower, and it sticks until the position error is large enough
        let way = wanted - self.opening_deg;
        let way = if way.abs() < STICKS_DEG * wear { 0.0 } else { way };
        let go = way * num::lag_share(dt_s, p.motor_lag_s * (1.0 + 8.0 * wear));
        // a motor's free speed is proportional to its supply; the springs need none
        let driven = if s.wanted_deg.is_some() { (s.supply_v / MOTOR_V).clamp(0.0, 1.2) } else { 1.0 };
        let most = p.motor_slew_deg_s * driven * (1.0 - 0.9 * wear) * dt_s;
        self.opening_deg = (self.opening_deg + go.clamp(-most, most)).clamp(0.0, p.widest_deg);
        let per_100 = s.metered_kg_s.max(0.0) / 0.1;
        let behind_pa = s.ambient_pa
            - (p.filter_kpa_at_100 * s.filter_loss * 1e3 * per_100 * per_100).min(0.9 * s.ambient_pa);
        // the air in box and duct responds with a lag: without it the flow of a wide-open plate would chatter from
        // tick to tick
        self.before_throttle_pa += (behind_pa - self.before_throttle_pa) * num::lag_share(dt_s, DUCT_S);
        self.per_before = 1.0 / self.before_throttle_pa;
        self.manifold_k = s.inlet_k + p.manifold_heating * (s.coolant_k - s.inlet_k);
        // (7)
        let burned_kg = self.burned.mass();
        if burned_kg > 0.0 {
            let share = (burned_kg / self.held_kg().max(1e-9)).min(1.0);
            self.manifold_k += share * (self.egr.1 - self.manifold_k);
        }
        let plate_mm2 = p.discharge * open_area_mm2(p, s.body, self.opening_deg);
        let area_mm2 = plate_mm2 + s.leak_mm2 + s.purge_mm2;
        self.leak_share = s.leak_mm2 / area_mm2;
        self.purge_share = s.purge_mm2 / area_mm2;
        // (5)
        let vapour = p.canister_share * (self.canister_kg / (p.canister_g * 1e-3)).clamp(0.0, 1.0);
        self.vapour_ratio = vapour / (1.0 - vapour);
        self.per_psi = area_mm2 * 1e-6 * self.before_throttle_pa / (R_AIR * s.inlet_k).sqrt();
        self.fill = R_AIR * self.manifold_k / (p.manifold_l * 1e-3);
    }

    /// The fast part: (3) and (4) over one crank step. Adds what flowed to the sums.
    #[inline]
    pub fn step(&mut self, flow: &FlowFunction, drawn_kg: f64, dt_s: f64, sums: &mut Totals) {
        let ratio = self.manifold_pa * self.per_before;
        // nearly equal pressures: a straight line, taken backwards too, or a wide-open plate would chatter
        let psi = if ratio > 0.999 { flow.near_slope() * (1.0 - ratio) } else { flow.at(ratio) };
        let total_kg_s = self.per_psi * psi;
        let mut dm = total_kg_s * dt_s - drawn_kg;
        let mut egr_kg = 0.0;
        if self.egr.0 > 0.0 {
            // (6)
            egr_kg = self.egr.0 * dt_s;
            dm += egr_kg;
            self.burned = self.burned.plus(&self.egr.2.times(egr_kg));
        }
        if ratio > 0.999 {
            let slope = self.per_psi * flow.near_slope() * self.per_before;
            dm /= 1.0 + self.fill * slope * dt_s;
        } else if ratio > flow.critical_ratio() {
            // slope of Ψ near equal pressures, on the safe side further away
            let twice_below = 2.0 * (1.0 - ratio).max(5e-4);
            dm *= twice_below / (twice_below + self.fill * total_kg_s * self.per_before * dt_s);
        }
        self.manifold_pa = (self.manifold_pa + self.fill * dm).max(1000.0);
        let came = dm + drawn_kg - egr_kg;
        let (mut leak_kg, mut purge_kg, mut vapour_kg) = (0.0, 0.0, 0.0);
        sums.egr_kg += egr_kg;
        // most of the time nothing leaks and nothing is purged
        if self.leak_share > 0.0 {
            leak_kg = came * self.leak_share;
            sums.leak_kg += leak_kg;
        }
        if self.purge_share > 0.0 {
            purge_kg = came * self.purge_share;
            vapour_kg = (purge_kg * self.vapour_ratio).clamp(0.0, self.canister_kg);
            self.canister_kg -= vapour_kg;
            self.vapour_kg += vapour_kg;
            sums.purge_kg += purge_kg;
            sums.vapour_kg += vapour_kg;
        }
        let metered_kg = came - leak_kg - purge_kg;
        self.last = LastStep { metered_kg, leak_kg, purge_kg, vapour_kg, dt_s };
        sums.metered_kg += metered_kg;
    }

    fn in_last_step(&self, kg: f64) -> f64 {
        if self.last.dt_s > 0.0 { kg / self.last.dt_s } else { 0.0 }
    }
    /// Flow through the meter in the last crank step \[kg/s\].
    pub fn metered_kg_s(&self) -> f64 {
        self.in_last_step(self.last.metered_kg)
    }
    /// The same through the leak \[kg/s\].
    pub fn leak_kg_s(&self) -> f64 {
        self.in_last_step(self.last.leak_kg)
    }
    /// The same through the purge valve, air and vapour \[kg/s\].
    pub fn purge_kg_s(&self) -> f64 {
        self.in_last_step(self.last.purge_kg + self.last.vapour_kg)
    }

    /// Takes the vapour that goes with a mass of air drawn from the manifold \[kg\].
    pub fn take_vapour(&mut self, drawn_kg: f64) -> f64 {
        if self.vapour_kg <= 0.0 {
            return 0.0;
        }
        let taken = (self.vapour_kg * drawn_kg / self.held_kg().max(1e-9)).clamp(0.0, self.vapour_kg);
        self.vapour_kg -= taken;
        taken
    }

    /// Recirculated exhaust gas, from now until the next call: flow \[kg/s\], temperature \[K\], what a kg of it is made of.
    pub fn recirculate(&mut self, kg_s: f64, gas_k: f64, of: Charge) {
        self.egr = (kg_s, gas_k, of);
    }

    /// Puts the exhaust gas that goes with a mass drawn from the manifold \[kg\] into a port's charge. The mass drawn is
    /// counted as air: the products and the fuel in it are taken off the air.
    pub fn take_burned(&mut self, drawn_kg: f64, port: &mut Charge) {
        if self.burned.mass() <= 0.0 {
            return;
        }
        let share = (drawn_kg / self.held_kg().max(1e-9)).clamp(0.0, 1.0);
        let taken = self.burned.times(share);
        self.burned = self.burned.times(1.0 - share);
        port.products += taken.products;
        port.fuel += taken.fuel;
        port.air -= taken.products + taken.fuel;
    }

    /// Refuelling pushes vapour into the canister, up to its capacity.
    pub fn refuel(&mut self, p: &Params, litres: f64) {
        self.canister_kg = (self.canister_kg + 1e-3 * p.vapour_g_l * litres).min(1e-3 * p.canister_g);
    }

    /// Air in the manifold \[kg\].
    pub fn held_kg(&self) -> f64 {
        if self.fill > 0.0 { self.manifold_pa / self.fill } else { 0.0 }
    }
}
