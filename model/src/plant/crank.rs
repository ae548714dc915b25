//! The crank: inertia, friction, starter; the reluctor wheel's edge times.
//!
//! **Models** a rigid crank with rotating inertia and the kinetic energy of the reciprocating masses, a
//! friction correlation over speed and oil temperature, a starter with a straight torque line, and a
//! 60−2 wheel with every edge sensed where wheel, mounting and sensor put it (`parts::edges_deg`).
//!
//! **Leaves out** torsion of the shaft, play, reverse rotation: an engine that runs out of energy stops.
//!
//! **State** ([`State`]): speed \[rad/s\], step index in the cycle, completed share of the step \[-\], next edge.
//!
//! **Equations**
//! 1. `½ J(θ) ω²` changes by the work of gas, friction, loads and starter in the step;
//!    `J(θ) = J₀ + m Σ (ds/dθ)²`.
//! 2. Inside a step `ω²` is linear in angle, so `t(θ) = 2 Δθ/(ω₀ + ω(θ))`.
//! 3. Friction mep `(c₀ + c₁ n + c₂ n²) f(T_oil)` bar, n in 1000 rpm (form of Heywood eq. 13.6).
//! 4. Starter torque `T₀ (V/12)(1 − ω/(ω_f V/12))`.
//!
//! **Valid** from standstill to 7000 rpm.
//!
//! **Checked by** `exact_missed_firing…`, `source_motored…`, `exact_edges…` in `tests/model/physics.rs`.

use crate::num::{self, Sampled, Stream, Table};
use crate::plant::cylinder;
use crate::plant::parts::{Shaft, TEETH};
use crate::signals::TICKS_PER_S;
use crate::units::{ParamError, ParamRule, between, rad_s, rpm};
use serde::{Deserialize, Serialize};

/// Speed up to which friction is tabulated \[rpm\]; no engine reaches it.
const FRICTION_TO_RPM: f64 = 10_000.0;
/// Speed below which the crank advances by time steps, not angle steps \[rad/s\].
pub const SLOW_RAD_S: f64 = 3.0;

/// The `[crank]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Rotating inertia with flywheel \[kg m²\].
    pub inertia_kg_m2: f64,
    /// Reciprocating mass of one cylinder \[kg\].
    pub reciprocating_kg: f64,
    /// Friction mep of the warm engine \[bar\], over speed \[rpm\].
    pub friction_bar: Table,
    /// Friction over its warm value, by oil temperature \[°C\].
    pub friction_oil: Table,
    /// Starter torque at the crank at standstill and 12 V \[N m\].
    pub starter_nm: f64,
    /// Speed at the crank without load at 12 V \[rpm\].
    pub starter_free_rpm: f64,
    /// Starter current at standstill and 12 V \[A\].
    pub starter_a: f64,
    /// Position of the first tooth after the gap, before top dead centre of cylinder 1 \[deg\].
    pub first_tooth_btdc_deg: f64,
    /// Radius of the wheel \[mm\].
    pub wheel_radius_mm: f64,
    /// One tooth of the cam's own wheel, as crank angle \[deg\].
    pub cam_tooth_deg: f64,
    /// Capture jitter as crank angle, rms \[deg\].
    pub edge_jitter_deg: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "crank";
        between(s, "inertia_kg_m2", self.inertia_kg_m2, 0.02, 1.0)?;
        between(s, "reciprocating_kg", self.reciprocating_kg, 0.05, 3.0)?;
        for p in self.friction_bar.points() {
            between(s, "friction_bar", p[1], 0.2, 6.0)?;
        }
        for p in self.friction_oil.points() {
            between(s, "friction_oil", p[1], 0.5, 10.0)?;
        }
        between(s, "starter_nm", self.starter_nm, 20.0, 400.0)?;
        between(s, "starter_free_rpm", self.starter_free_rpm, 150.0, 800.0)?;
        between(s, "starter_a", self.starter_a, 50.0, 1500.0)?;
        between(s, "first_tooth_btdc_deg", self.first_tooth_btdc_deg, 0.0, 354.0)?;
        between(s, "wheel_radius_mm", self.wheel_radius_mm, 30.0, 200.0)?;
        between(s, "cam_tooth_deg", self.cam_tooth_deg, 6.0, 40.0)?;
        if self.cam_tooth_deg % 2.0 != 0.0 {
            return Err(ParamError::new(s, "cam_tooth_deg", ParamRule::Even));
        }
        between(s, "edge_jitter_deg", self.edge_jitter_deg, 0.0, 0.1)
    }
    /// Back-EMF of a turning starter \[V\].
    pub fn starter_back_v(&self, omega: f64) -> f64 {
        12.0 * omega / rad_s(self.starter_free_rpm)
    }
    /// (4) Starter torque at the crank \[N m\].
    pub fn starter_torque_nm(&self, omega: f64, supply_v: f64) -> f64 {
        let v = supply_v / 12.0;
        if v <= 0.0 {
            return 0.0;
        }
        (self.starter_nm * v * (1.0 - omega / (rad_s(self.starter_free_rpm) * v))).max(0.0)
    }
}

/// Constant tables over the cycle; computed once.
#[derive(Debug, Clone, PartialEq)]
pub struct Tables {
    /// Inertia with reciprocating part at each step of a turn \[kg m²\].
    pub inertia: Vec<f64>,
    /// One over each of them.
    per_inertia: Vec<f64>,
    /// (3) Friction mean effective pressure \[Pa\] over speed \[rad/s\], of the car's table at every 5 rpm.
    friction_pa: Sampled,
    step_rad: f64,
    step_deg: f64,
    first_tooth_deg: f64,
}

impl Tables {
    /// Tables for an engine with a given crank drive, whose cylinders are at `offsets_deg` (their firing top dead
    /// centre in the cycle).
    pub fn new(p: &Params, c: &cylinder::Params, shaft: &Shaft, offsets_deg: &[f64], step_deg: f64) -> Self {
        let per_turn = (360.0 / step_deg).round() as usize;
        let inertia: Vec<f64> = (0..per_turn)
            .map(|j| {
                let deg = j as f64 * step_deg;
                let moving: f64 = offsets_deg
                    .iter()
                    .map(|o| {
                        let v = c.travel_m_rad(deg - o);
                        v * v
                    })
                    .sum();
                p.inertia_kg_m2 * shaft.inertia_gain + p.reciprocating_kg * shaft.reciprocating_gain * moving
            })
            .collect();
        Self {
            friction_pa: Sampled::new(rad_s(FRICTION_TO_RPM), FRICTION_TO_RPM as usize / 5, |omega| {
                1e5 * p.friction_bar.at(rpm(omega))
            }),
            per_inertia: inertia.iter().map(|i| 1.0 / i).collect(),
            inertia,
            step_rad: step_deg.to_radians(),
            step_deg,
            first_tooth_deg: (720.0 - p.first_tooth_btdc_deg) % 360.0,
        }
    }
    /// (3) Friction mean effective pressure of a warm engine \[Pa\] at a speed \[rad/s\].
    #[inline]
    pub fn friction_pa(&self, omega: f64) -> f64 {
        self.friction_pa.at(omega)
    }
    /// Crank step \[rad\].
    pub fn step_rad(&self) -> f64 {
        self.step_rad
    }
    /// Angle in the turn \[deg\] of an edge with a position error \[deg\], \[0, 360).
    pub fn edge_deg(&self, tooth: usize, off_deg: f64) -> f64 {
        (self.first_tooth_deg + 6.0 * tooth as f64 + off_deg + 720.0) % 360.0
    }
}

/// State of the crank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Speed \[rad/s\].
    pub omega: f64,
    /// Step index in the cycle; 0 is firing top dead centre of cylinder 1.
    pub index: usize,
    /// Completed share of the present step, while advancing by time \[-\].
    pub share: f64,
    /// Time spent in the present step, while advancing by time \[s\].
    pub in_step_s: f64,
    next_tooth: usize,
    next_edge_deg: f64,
    /// Angle in the turn at which each edge is sensed \[deg\].
    edges_deg: Vec<f64>,
    jitter_deg: f64,
    jitter: Stream,
}

impl State {
    /// At rest at a step index, with edges at their nominal angles.
    pub fn at_rest(t: &Tables, index: usize, seed: u64) -> Self {
        let mut s = Self {
            omega: 0.0,
            index,
            share: 0.0,
            in_step_s: 0.0,
            next_tooth: 0,
            next_edge_deg: 0.0,
            edges_deg: Vec::new(),
            jitter_deg: 0.0,
            jitter: Stream::new(seed, "edge.jitter"),
        };
        s.fit(t, &[0.0; TEETH], 0.0);
        s
    }

    /// Fits a wheel and a sensor: the sensed error of each edge \[deg\], the capture's jitter \[deg rms\].
    pub fn fit(&mut self, t: &Tables, off_deg: &[f64; TEETH], jitter_deg: f64) {
        self.edges_deg = off_deg.iter().enumerate().map(|(i, off)| t.edge_deg(i, *off)).collect();
        self.jitter_deg = jitter_deg;
        // which edge comes next
        let here = (self.index as f64 * t.step_deg) % 360.0;
        let (mut best, mut tooth) = (f64::MAX, 0);
        for (i, at) in self.edges_deg.iter().enumerate() {
            let ahead = (at - here + 720.0) % 360.0;
            if ahead < best {
                (best, tooth) = (ahead, i);
            }
        }
        self.next_tooth = tooth;
        self.next_edge_deg = here + best;
    }

    /// (1) Speed after one angle step with a given work \[J\], or none if the energy runs out.
    #[inline]
    pub fn speed_after(&self, t: &Tables, work_j: f64) -> Option<f64> {
        let n = t.inertia.len();
        let j = if self.index >= n { self.index - n } else { self.index };
        let (before, per_after) = (t.inertia[j], t.per_inertia[if j + 1 == n { 0 } else { j + 1 }]);
        let squared = (before * (self.omega * self.omega) + 2.0 * work_j) * per_after;
        (squared > SLOW_RAD_S * SLOW_RAD_S).then(|| squared.sqrt())
    }

    /// Edges passed while going from the present index one step on, from speed `w0` to `w1`, in a
    /// step that starts at `start_s` and takes `dt_s`: the captured time \[timer ticks\]. At most one edge lies in a step
    /// of 2°.
    #[inline]
    pub fn edge_in_step(
        &mut self,
        t: &Tables,
        (start_s, dt_s): (f64, f64),
        (w0, w1): (f64, f64),
    ) -> Option<u64> {
        let n = t.inertia.len();
        let here = f64::from((if self.index >= n { self.index - n } else { self.index }) as u32) * t.step_deg;
        if self.next_edge_deg >= here + t.step_deg {
            return None;
        }
        let f = (self.next_edge_deg - here) / t.step_deg;
        // (2) inside the step; the mean of w0 and w1 belongs to the whole of dt
        let wf = (w0 * w0 + f * (w1 * w1 - w0 * w0)).max(0.0).sqrt();
        let whole = if w0 + wf > 0.0 { f * (w0 + w1) / (w0 + wf) } else { f };
        let jitter_s = self.jitter_deg * self.jitter.jitter() / t.step_deg * dt_s;
        let at_s = start_s + whole * dt_s + jitter_s;
        let tick = num::whole(at_s * TICKS_PER_S);
        self.next_tooth = if self.next_tooth + 1 == TEETH { 0 } else { self.next_tooth + 1 };
        let mut next = self.edges_deg[self.next_tooth];
        if next < here {
            next += 360.0;
        }
        self.next_edge_deg = next;
        Some(tick)
    }

    /// Advances to the next step of the cycle.
    #[inline]
    pub fn turn_on(&mut self, per_cycle: usize) {
        self.index += 1;
        let n = per_cycle / 2;
        if self.index == n || self.index == per_cycle {
            self.next_edge_deg -= 360.0;
            if self.next_edge_deg < 0.0 {
                self.next_edge_deg += 360.0;
            }
        }
        if self.index == per_cycle {
            self.index = 0;
        }
    }
}

/// (3) Friction torque \[N m\] for an engine with a total swept volume \[m³\].
pub fn friction_torque_nm(mep_pa: f64, swept_all_m3: f64) -> f64 {
    mep_pa * swept_all_m3 * (0.25 * std::f64::consts::FRAC_1_PI)
}
