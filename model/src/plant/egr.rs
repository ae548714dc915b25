//! The exhaust-gas-recirculation valve: a motor lifts a pintle off its seat against a spring; burned gas flows into the manifold.
//!
//! **Models** a motor whose force follows duty and supply, in both directions, a return spring, friction in the stem's guide,
//! a metal seat and the soot on it, which gives way under force; flow through pintle and passage in series from the first
//! bank's exhaust; the gas's cooling on its way. What the gas does in the manifold is part of `air`: it displaces air, mixes,
//! and is drawn into the cylinders, whose flames it slows (`cylinder`).
//!
//! **Leaves out** the force of the gas on the pintle (a balanced pintle), the motor's inductance and heat, soot that breaks off
//! or is burned away (it only grows), the pulsation of the exhaust, gas that flows back, condensate, and uneven distribution
//! to the cylinders.
//!
//! **State** ([`State`]): lift \[mm\], gas through the valve \[kg/s\], its temperature \[K\].
//!
//! **Parameters** ([`Params`]): sources beside each key in the car's file.
//!
//! **Equations**
//! 1. `F = k U d m − F₀ − c x + E max(0, h − x)/h`, d the duty from −1 to 1, m what the motor is worth, h the soot.
//! 2. `b dx/dt = F ∓ R` where `|F| > R`, else it stands; `R = R₀ + r h`. Solved implicitly; never below the metal seat.
//! 3. `A_v = C π D (x − (1 − q) min(x, h))`: a pintle that rests on soot leaks a share q of the gap under it.
//! 4. `1/A² = 1/A_v² + 1/A_p²`, `ṁ = A p_e/√(R T) Ψ(p/p_e)`, Ψ the isentropic flow function.
//! 5. `T = T_c + κ (T_p − T_c)`, T_p the exhaust pipe, T_c the coolant.
//!
//! **Valid** for pressures at the ports above that of the manifold; else nothing flows.
//!
//! **Checked by** `tests/model/egr.rs`.

use crate::num::FlowFunction;
use crate::plant::parts::EgrValve;
use crate::units::{ParamError, R_AIR, between};
use serde::{Deserialize, Serialize};

/// The `[egr]` section of a car's file; without it no exhaust gas is recirculated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Pintle \[mm\], and its most lift \[mm\].
    pub pintle_mm: [f64; 2],
    /// Passage from the exhaust to the manifold \[mm\].
    pub passage_mm: f64,
    /// Discharge coefficient of both \[-\].
    pub discharge: f64,
    /// Force of the motor for each volt at full duty \[N/V\].
    pub motor_n_v: f64,
    /// Spring: force on the seat \[N\], rate \[N/mm\].
    pub spring: [f64; 2],
    /// Friction: clean \[N\], more for each µm of soot \[N/µm\].
    pub friction: [f64; 2],
    /// Drag of motor and gears \[N s/mm\].
    pub drag_n_s_mm: f64,
    /// Force that would press soot flat \[N\].
    pub soot_n: f64,
    /// Share of the gap under a pintle on soot that is open \[-\].
    pub soot_open: f64,
    /// Soot in ordinary use \[µm per hour with gas flowing\].
    pub soot_um_h: f64,
    /// Share of the gas's heat over coolant that its way into the manifold leaves \[-\].
    pub heat_kept: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "egr";
        between(s, "pintle_mm[0]", self.pintle_mm[0], 4.0, 40.0)?;
        between(s, "pintle_mm[1]", self.pintle_mm[1], 1.0, 10.0)?;
        between(s, "passage_mm", self.passage_mm, 2.0, 30.0)?;
        between(s, "discharge", self.discharge, 0.3, 1.0)?;
        between(s, "motor_n_v", self.motor_n_v, 0.5, 20.0)?;
        between(s, "spring[0]", self.spring[0], 0.5, 40.0)?;
        between(s, "spring[1]", self.spring[1], 0.0, 20.0)?;
        between(s, "friction[0]", self.friction[0], 0.0, 10.0)?;
        between(s, "friction[1]", self.friction[1], 0.0, 0.5)?;
        between(s, "drag_n_s_mm", self.drag_n_s_mm, 0.1, 10.0)?;
        between(s, "soot_n", self.soot_n, 5.0, 1000.0)?;
        between(s, "soot_open", self.soot_open, 0.0, 1.0)?;
        between(s, "soot_um_h", self.soot_um_h, 0.0, 10.0)?;
        between(s, "heat_kept", self.heat_kept, 0.0, 1.0)
    }
    /// (3), (4) Effective area \[mm²\] at a lift \[mm\], with so much soot \[mm\] and so much of the passage blocked \[-\].
    pub fn area_mm2(&self, lift_mm: f64, soot_mm: f64, blocked: f64) -> f64 {
        let open_mm = lift_mm - (1.0 - self.soot_open) * lift_mm.min(soot_mm);
        if open_mm <= 0.0 {
            return 0.0;
        }
        let valve = self.discharge * std::f64::consts::PI * self.pintle_mm[0] * open_mm;
        let left = (1.0 - blocked).max(0.0);
        let passage = self.discharge * std::f64::consts::FRAC_PI_4 * self.passage_mm * self.passage_mm * left;
        if passage <= 0.0 { 0.0 } else { valve * passage / (valve * valve + passage * passage).sqrt() }
    }
    /// Where a pintle rests on so much soot \[mm\] under a closing force \[N\]: lift \[mm\].
    pub fn rests_mm(&self, soot_mm: f64, force_n: f64) -> f64 {
        soot_mm * (1.0 - force_n / self.soot_n).clamp(0.0, 1.0)
    }
    /// Closing force on the seat \[N\] of a valve that the motor drives shut with a duty \[-\] at a supply \[V\].
    pub fn closing_n(&self, part: &EgrValve, duty: f64, supply_v: f64) -> f64 {
        let friction = self.friction[0] + self.friction[1] * part.soot_um;
        (self.motor_n_v * supply_v * duty * part.motor + self.spring[0] - friction).max(0.0)
    }
}

/// (4) Gas \[kg/s\] through an effective area \[mm²\] from the exhaust \[Pa, K\] into the manifold \[Pa\].
pub fn flow_kg_s(
    flow: &FlowFunction,
    area_mm2: f64,
    (exhaust_pa, gas_k): (f64, f64),
    manifold_pa: f64,
) -> f64 {
    if area_mm2 <= 0.0 || manifold_pa >= exhaust_pa {
        return 0.0;
    }
    area_mm2 * 1e-6 * exhaust_pa / (R_AIR * gas_k).sqrt() * flow.at(manifold_pa / exhaust_pa)
}

/// State.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Lift of the pintle over its metal seat \[mm\].
    pub lift_mm: f64,
    /// Gas through the valve \[kg/s\].
    pub gas_kg_s: f64,
    /// That gas where it enters the manifold \[K\].
    pub gas_k: f64,
    /// Share of the first bank's gas that goes this way \[-\].
    pub share: f64,
}

/// Surroundings of a tick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Around {
    /// Exhaust pressure at the ports of the first bank \[Pa\].
    pub exhaust_pa: f64,
    /// Exhaust pipe of the first bank, coolant \[K\].
    pub pipe_k: f64,
    /// Coolant \[K\].
    pub coolant_k: f64,
    /// Manifold pressure \[Pa\].
    pub manifold_pa: f64,
    /// Gas that leaves the first bank's ports \[kg/s\].
    pub ports_kg_s: f64,
    /// Supply of the motor \[V\].
    pub supply_v: f64,
}

impl State {
    /// Shut.
    pub fn at_rest(coolant_k: f64) -> Self {
        Self { lift_mm: 0.0, gas_kg_s: 0.0, gas_k: coolant_k, share: 0.0 }
    }

    /// A valve that was just fitted: its spring alone lets the pintle down.
    pub fn fitted(&mut self, p: &Params, part: &EgrValve) {
        let rests_mm = p.rests_mm(1e-3 * part.soot_um, p.closing_n(part, 0.0, 0.0));
        self.lift_mm = part.stuck_mm.unwrap_or(rests_mm).clamp(0.0, p.pintle_mm[1]);
    }

    /// (1), (2) Moves the pintle.
    fn pintle(&mut self, p: &Params, part: &EgrValve, duty: f64, supply_v: f64, dt_s: f64) {
        if let Some(mm) = part.stuck_mm {
            self.lift_mm = mm.clamp(0.0, p.pintle_mm[1]);
            return;
        }
        let soot_mm = 1e-3 * part.soot_um;
        let motor = p.motor_n_v * supply_v.max(0.0) * duty.clamp(-1.0, 1.0) * part.motor;
        let bed = if soot_mm > 0.0 { p.soot_n / soot_mm } else { 0.0 };
        let lift = self.lift_mm;
        let force = motor - p.spring[0] - p.spring[1] * lift + bed * (soot_mm - lift).max(0.0);
        let friction = p.friction[0] + p.friction[1] * part.soot_um;
        if force.abs() <= friction || (lift <= 0.0 && force < 0.0) {
            return;
        }
        let steady = motor - p.spring[0] - friction * force.signum();
        let inertia = p.drag_n_s_mm / dt_s;
        let free = (inertia * lift + steady) / (inertia + p.spring[1]);
        let next = if soot_mm > 0.0 && free < soot_mm {
            (inertia * lift + steady + p.soot_n) / (inertia + p.spring[1] + bed)
        } else {
            free
        };
        self.lift_mm = next.clamp(0.0, p.pintle_mm[1]);
    }

    /// Every 10 ms, or a longer step of a car at rest.
    pub fn tick(
        &mut self,
        p: &Params,
        part: &EgrValve,
        flow: &FlowFunction,
        duty: f64,
        a: &Around,
        dt_s: f64,
    ) {
        self.pintle(p, part, duty, a.supply_v, dt_s);
        let area_mm2 = p.area_mm2(self.lift_mm, 1e-3 * part.soot_um, part.blocked);
        // (5)
        self.gas_k = a.coolant_k + p.heat_kept * (a.pipe_k - a.coolant_k);
        let through = flow_kg_s(flow, area_mm2, (a.exhaust_pa, self.gas_k), a.manifold_pa);
        // no more than the ports give: an engine that stands gives none
        self.gas_kg_s = through.min(MOST_SHARE * a.ports_kg_s.max(0.0));
        self.share = if self.gas_kg_s > 0.0 { self.gas_kg_s / a.ports_kg_s } else { 0.0 };
    }
}

/// Largest share of a bank's gas that is recirculated \[-\]: the pipe behind the branch keeps its flow; assumed.
const MOST_SHARE: f64 = 0.8;
