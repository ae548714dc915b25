//! The exhaust: mixing of the cylinders' pulses, delay to the wide-band sensor, back pressure.
//!
//! **Models** one stirred volume per bank into which every cylinder's gas goes evenly over its exhaust
//! stroke, a transport delay in crank angle, a quasi-steady back pressure of each bank's own pipe, which can be
//! blocked, and leaks through which the troughs of the pulsation draw in air: one ahead of the first bank's sensor, one
//! in each bank at the flange between its sensor and its catalyst.
//!
//! **Leaves out** the pulses themselves (they enter as one amplitude), gas lost through a leak; what lies behind the
//! sensor (`catalyst`).
//!
//! **State** ([`State`]): by bank air, fuel and raw fuel that made the gas in the volume \[kg\], the delay line, flow
//! and back pressure.
//!
//! **Equations**
//! 1. `dA = dA_in − A dm/M`, likewise for fuel and raw fuel: a stirred volume of constant mass.
//! 2. `λ = A/(F · AFR)`, of all air and fuel that went in, burned or not. How much of the raw fuel a sensor's surface
//!    burns is part of the sensor model (`sensors`).
//! 3. For each bank, from its own flow: `p = p_ambient + k ṁ²` for a free pipe. A blockage acts as a long narrow
//!    passage (a melted or clogged catalyst) with the gas's density by its mean pressure, isothermal:
//!    `p_e² = p² + 2 p (f − 1) k ṁ²`, `f = 1/(1 − b)²` with `b` the share of area blocked. For a small loss that is
//!    `p + (f − 1) k ṁ²`; for a large loss the pressure grows in proportion to the flow itself.
//! 4. Leak: gauge pressure `p_e − p_ambient + a sin φ` with amplitude `a = a₁₀ ṁ/(10 g/s)`; over the part of a period
//!    in which it is below zero, air enters at `C A √(2 ρ |p|)`. Where the mean exceeds the amplitude, no air enters.
//!    At the catalyst's flange the manifold and the pipe have left `AT_JOINT` of the amplitude; the mean pressure there is
//!    that of the catalyst and the pipe behind it, taken as the whole of (3).
//!
//! **Checked by** `holds_fuel…` in `tests/model/balances.rs`, `exact_one_injector…` in `tests/module/learning.rs`,
//! `exact_back_pressure…` and `holds_a_restricted_bank…` in `tests/module/whimbrel.rs`.

use crate::num;
use crate::plant::cylinder::Charge;
use crate::plant::parts::Exhaust;
use crate::units::{ParamError, R_AIR, between};
use serde::{Deserialize, Serialize};

/// Crank angle between two entries of the delay line \[deg\].
pub const DELAY_PITCH_DEG: f64 = 6.0;

/// The `[exhaust]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Gas in the mixing volume of one bank \[g\].
    pub mixing_g: f64,
    /// Delay to the sensor \[deg of crank\].
    pub delay_deg: f64,
    /// Back pressure of one bank's free pipe at 100 g/s through it \[kPa\].
    pub back_kpa_at_100: f64,
    /// Amplitude of the pulsation in one bank at 10 g/s through it \[kPa\].
    pub pulse_kpa_at_10: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "exhaust";
        between(s, "mixing_g", self.mixing_g, 0.02, 10.0)?;
        between(s, "delay_deg", self.delay_deg, 0.0, 3000.0)?;
        between(s, "back_kpa_at_100", self.back_kpa_at_100, 0.0, 80.0)?;
        between(s, "pulse_kpa_at_10", self.pulse_kpa_at_10, 0.0, 30.0)
    }
}

/// One bank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bank {
    air_kg: f64,
    fuel_kg: f64,
    /// Fuel that left its cylinder unburned though there was air for it.
    raw_kg: f64,
    /// All fuel, and raw fuel, over the fuel that the air could burn, along the pipe.
    line: Vec<[f64; 2]>,
    head: usize,
    /// Lambda of the gas at the sensor, burned or not \[-\].
    pub lambda: f64,
    /// Raw fuel at the sensor over the fuel that the air could burn \[-\].
    pub raw: f64,
    /// Pressure at the ports \[Pa\].
    pub pressure_pa: f64,
    /// Flow \[kg/s\], smoothed.
    pub flow_kg_s: f64,
    /// Air drawn in through a leak at the catalyst's flange, behind the sensor \[kg/s\].
    pub joint_kg_s: f64,
    passed_kg: f64,
}

impl Bank {
    /// (1) Adds the gas of one of its cylinders during one step.
    #[inline]
    pub fn take(&mut self, pulse: &Pulse) {
        let out = pulse.displaces;
        self.air_kg += pulse.air_kg - self.air_kg * out;
        self.fuel_kg += pulse.fuel_kg - self.fuel_kg * out;
        self.raw_kg += pulse.raw_kg - self.raw_kg * out;
        self.passed_kg += pulse.mass_kg;
    }
}

/// Gas on its way out of one cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Pulse {
    /// Mass in one crank step \[kg\].
    pub mass_kg: f64,
    /// Share of the gas in the mixing volume that this mass displaces \[-\].
    pub displaces: f64,
    /// Air that went in, in one step \[kg\].
    pub air_kg: f64,
    /// Fuel that went in, in one step \[kg\].
    pub fuel_kg: f64,
    /// Part of that fuel that is still raw although there was air for it, in one step \[kg\].
    pub raw_kg: f64,
}

/// State of the exhaust.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Banks.
    pub banks: Vec<Bank>,
    /// Flow of all banks \[kg/s\], smoothed.
    pub flow_kg_s: f64,
    /// Air drawn in through a leak ahead of the first bank's sensor \[kg/s\].
    pub leak_kg_s: f64,
}

/// (3) Back pressure over ambient \[Pa\] of one bank at its flow; `loss_factor` is that of the blockage.
pub fn back_pa(p: &Params, flow_kg_s: f64, loss_factor: f64, ambient_pa: f64) -> f64 {
    let per_100 = flow_kg_s / 0.1;
    let free_pa = p.back_kpa_at_100 * 1e3 * per_100 * per_100;
    if loss_factor <= 1.0 {
        return free_pa;
    }
    let before_pa = ambient_pa + free_pa;
    (before_pa * before_pa + 2.0 * before_pa * (loss_factor - 1.0) * free_pa).sqrt() - ambient_pa
}

/// (4) Air drawn in through a leak area of a bank with a free pipe, ahead of its sensor \[kg/s\].
pub fn drawn_in_kg_s(p: &Params, area_mm2: f64, flow_kg_s: f64, ambient_pa: f64, ambient_k: f64) -> f64 {
    let back_pa = back_pa(p, flow_kg_s, 1.0, ambient_pa);
    drawn_in_against_kg_s(p, (area_mm2, 1.0), (flow_kg_s, back_pa), ambient_pa, ambient_k)
}

/// (4) The same at the catalyst's flange, behind the sensor.
pub fn drawn_in_at_joint_kg_s(
    p: &Params,
    area_mm2: f64,
    flow_kg_s: f64,
    ambient_pa: f64,
    ambient_k: f64,
) -> f64 {
    let back_pa = back_pa(p, flow_kg_s, 1.0, ambient_pa);
    drawn_in_against_kg_s(p, (area_mm2, AT_JOINT), (flow_kg_s, back_pa), ambient_pa, ambient_k)
}

/// (4) The same for an area and the share of the amplitude at its place, a flow \[kg/s\] and a given mean back
/// pressure \[Pa\].
fn drawn_in_against_kg_s(
    p: &Params,
    (area_mm2, amplitude): (f64, f64),
    (flow_kg_s, back_pa): (f64, f64),
    ambient_pa: f64,
    ambient_k: f64,
) -> f64 {
    if area_mm2 <= 0.0 || flow_kg_s <= 0.0 {
        return 0.0;
    }
    let pulse_pa = amplitude * p.pulse_kpa_at_10 * 1e3 * flow_kg_s / 0.01;
    let density = ambient_pa / (R_AIR * ambient_k);
    // mean over a period by its 24 mid-points
    let mut sum = 0.0;
    for i in 0..24 {
        let gauge = back_pa + pulse_pa * num::sin_deg(15.0 * f64::from(i) + 7.5);
        if gauge < 0.0 {
            sum += (-2.0 * density * gauge).sqrt();
        }
    }
    DISCHARGE * area_mm2 * 1e-6 * sum / 24.0
}

/// Discharge coefficient of a crack; common practice for a sharp edge.
const DISCHARGE: f64 = 0.6;
/// Share of the pulsation's amplitude that is left at the catalyst's flange; assumed: the pulses of the cylinders have met
/// and half a metre of pipe lies between.
const AT_JOINT: f64 = 0.5;

impl State {
    /// Filled with air.
    pub fn at_rest(p: &Params, banks: usize, ambient_pa: f64) -> Self {
        let n = (p.delay_deg / DELAY_PITCH_DEG).round() as usize + 1;
        let bank = Bank {
            air_kg: p.mixing_g * 1e-3,
            fuel_kg: 0.0,
            raw_kg: 0.0,
            line: vec![[0.0; 2]; n],
            head: 0,
            lambda: 10.0,
            raw: 0.0,
            pressure_pa: ambient_pa,
            flow_kg_s: 0.0,
            joint_kg_s: 0.0,
            passed_kg: 0.0,
        };
        Self { banks: vec![bank; banks], flow_kg_s: 0.0, leak_kg_s: 0.0 }
    }
    /// What a kg of the gas in a bank's mixing volume is made of, for a stoichiometric ratio: raw fuel counts as not burned.
    pub fn made_of(&self, bank: usize, afr: f64) -> Charge {
        let b = &self.banks[bank];
        let all_kg = (b.air_kg + b.fuel_kg).max(1e-12);
        let burned_kg = (b.fuel_kg - b.raw_kg).clamp(0.0, b.air_kg / afr);
        let products = (1.0 + afr) * burned_kg;
        let of = Charge { air: b.air_kg - afr * burned_kg, fuel: b.fuel_kg - burned_kg, products };
        of.times(1.0 / all_kg)
    }
    /// Recirculated gas from a bank \[kg\], ahead of its pipe.
    pub fn lead_off(&mut self, bank: usize, kg: f64) {
        let b = &mut self.banks[bank];
        b.passed_kg = (b.passed_kg - kg).max(0.0);
    }
    /// Moves the delay line on by one pitch.
    pub fn shift(&mut self, afr: f64) {
        for b in &mut self.banks {
            let per_kg = afr / b.air_kg.max(1e-12);
            b.line[b.head] = [b.fuel_kg * per_kg, b.raw_kg * per_kg];
            b.head = if b.head + 1 == b.line.len() { 0 } else { b.head + 1 };
            let [all, raw] = b.line[b.head];
            (b.lambda, b.raw) = (1.0 / all.max(0.1), raw);
        }
    }
    /// (3), (4) The slow part. Every 10 ms; pipes in the order of the banks, a leak is in the first.
    pub fn tick(
        &mut self,
        p: &Params,
        pipes: &[Exhaust],
        leak_mm2: f64,
        (ambient_pa, ambient_k): (f64, f64),
        dt_s: f64,
    ) {
        let lag = num::lag_share(dt_s, 0.1);
        self.flow_kg_s = 0.0;
        for (b, pipe) in self.banks.iter_mut().zip(pipes) {
            b.flow_kg_s += (b.passed_kg / dt_s - b.flow_kg_s) * lag;
            b.passed_kg = 0.0;
            let back_pa = back_pa(p, b.flow_kg_s, pipe.loss_factor(), ambient_pa);
            b.pressure_pa = ambient_pa + back_pa;
            let (hole, there) = ((pipe.joint_leak_mm2, AT_JOINT), (b.flow_kg_s, back_pa));
            b.joint_kg_s = drawn_in_against_kg_s(p, hole, there, ambient_pa, ambient_k);
            self.flow_kg_s += b.flow_kg_s;
        }
        let Some(b) = self.banks.first_mut() else { return };
        let blocked = pipes.first().map_or(1.0, Exhaust::loss_factor);
        let there = (b.flow_kg_s, back_pa(p, b.flow_kg_s, blocked, ambient_pa));
        self.leak_kg_s = drawn_in_against_kg_s(p, (leak_mm2, 1.0), there, ambient_pa, ambient_k);
        if self.leak_kg_s > 0.0 {
            let in_kg = self.leak_kg_s * dt_s;
            let out = (in_kg / (p.mixing_g * 1e-3)).min(0.5);
            b.air_kg += in_kg - b.air_kg * out;
            b.fuel_kg -= b.fuel_kg * out;
            b.raw_kg -= b.raw_kg * out;
        }
    }
}
