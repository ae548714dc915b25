//! One cylinder: trapped charge, burn, pressure and work by crank angle.
//!
//! **Models** a four-stroke spark-ignition cylinder with one zone. Closed part (inlet closing to exhaust
//! opening): energy balance on the internal energy of fresh and burned gas with temperature-dependent
//! heat capacities, a Wiebe burn and Woschni's wall loss. Open part: exhaust by a blow-down that decays
//! in crank angle to the exhaust pressure, intake at manifold pressure; residual from the clearance
//! volume and from back-flow in the valve overlap. Unburned mixture stays in the charge as air and fuel and passes to
//! the next cycle or to the exhaust.
//!
//! **Leaves out** dissociation, crevices, blow-by of a sound engine, wave dynamics in the ports, swirl, knock.
//!
//! **State** ([`State`]): air, fuel and product masses \[kg\], temperature \[K\], pressure \[Pa\], internal
//! energy \[J\], burned share of the fuel \[-\], burn under way, work of the cycle \[J\].
//!
//! **Parameters** ([`Params`]): geometry; valve events; burn anchor and its exponents; calibration of
//! wall loss and combustion efficiency over speed. Sources beside each field and in the car's file.
//!
//! **Equations** (numbers are repeated in the code)
//! 1. `U = Σ mᵢ uᵢ(T) − x m_f q`; `dU = −p dV − dQ_w`; trapezoid in `p dV`, wall loss at mid-step.
//! 2. `x = η_c (1 − exp(−5 y³))`, `y = (θ − θ_spark)/Δθ` (Wiebe, a 5, m 2).
//! 3. `h = 3.26 B^−0.2 p^0.8 T^−0.55 w^0.8` with kPa (Woschni, SAE 670931), written with
//!    `p = m R T / V`; `w = 2.28 S_p + 3.24e-3 V_d T_r/(p_r V_r) (p − p_mot)`.
//! 4. Burn duration `Δθ = Δθ₀ (S_p ν)^⅓ S_L^−⅔` over its value at an anchor state (form of Hires,
//!    Tabaczynski and Novak, SAE 780232, from memory), with `S_L ∝ T^2.18 p^−0.16 φ-factor (1 −
//!    2.06 x_r^0.77)` (Metghalchi and Keck 1982; Rhodes and Keck, SAE 850047; from memory) and `ν ∝
//!    T^1.7/p`.
//! 5. Fresh charge: `m R T_i = p_i (V_ivc − V_evc) − V_evc (p_e − p_i)/γ − back-flow`, drawn step by step; where the
//!    inlet pipe is tuned to the speed, `1 + τ(n)` times that mass is drawn, and trapped at a correspondingly higher
//!    pressure, without loss.
//! 6. Residual: `p_e V_evc/(R T_e)` plus orifice flow through the overlap area for the overlap's time.
//! 7. Leakage past closed valves and rings: `A p/√(R T) Ψ`, with its energy and the work of pushing it out.
//! 8. The exhaust gas carries away `H = U − U_kept − ∫p dV`, taken over the exhaust stroke with a decaying blow-down.
//!    Of its excess over wall temperature, the last gas to leave keeps the same share as the residual, the first gas
//!    keeps all.
//!
//! **Valid** from cranking to 6500 rpm, manifold 20 to 105 kPa, lambda 0.6 to the misfire limit.
//!
//! **Checked by** `exact_wiebe…`, `source_woschni…`, `source_closed_cycle…`, `source_gamma…`,
//! `source_residual…` in `tests/model/physics.rs`, `holds_energy…` in `tests/model/balances.rs`.

mod gas;
mod geometry;
mod laws;
mod spark;

pub use self::gas::{AIR, Charge, FUEL_VAPOUR, FuelHeat, Gas, PRODUCTS};
pub(super) use self::geometry::Row;
pub use self::geometry::{Inlet, Kinematics, Params};
pub use self::laws::{flame_speed_factor, wiebe, woschni, woschni_velocity};

use self::gas::{N_COEF, poly};
use crate::num::{self, Stream};
use crate::plant::parts::Seals;
use serde::{Deserialize, Serialize};

/// Turns of Newton's method at most: each squares an error, so that the poorest guess needs four.
const TURNS: u32 = 6;

/// Where the cylinder is in its cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Phase {
    /// Both valves shut.
    Closed,
    /// Exhaust valve open.
    Exhaust,
    /// Inlet valve open.
    Intake,
}

/// State of one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Where in the cycle.
    pub phase: Phase,
    /// Charge at inlet closing, or what is left of it.
    pub charge: Charge,
    /// Temperature \[K\].
    pub t_k: f64,
    /// Pressure \[Pa\].
    pub p_pa: f64,
    /// Internal energy, chemical part included \[J\].
    pub u_j: f64,
    /// Burned share of the fuel \[-\].
    pub burned: f64,
    /// Mass share of burned gas in the present charge \[-\].
    pub residual_share: f64,
    /// Temperature a step ago, and two \[K\].
    t_before: [f64; 2],
    p_before: f64,
    coef: [f64; N_COEF],
    coef_fresh: [f64; N_COEF],
    coef_gain: [f64; N_COEF],
    mr: f64,
    mr_fresh: f64,
    mr_gain: f64,
    heat_j: f64,
    w_motored: f64,
    w_motored_08: f64,
    w_slope: f64,
    h_front: f64,
    /// Added to that by the growth of m R when all burns.
    h_gain: f64,
    p_ref: f64,
    wall_k: f64,
    sparked: bool,
    burning: bool,
    burn_start_deg: f64,
    /// Duration of the present or last burn \[deg\].
    pub burn_deg: f64,
    /// One over it.
    per_burn: f64,
    burn_whole: f64,
    fresh_kg: f64,
    /// The inlet camshaft as it stood when the inlet opened.
    inlet: Inlet,
    /// Share that the moving air column in the inlet pipe adds to the charge being drawn \[-\].
    pub tuning: f64,
    /// Mass of the charge that will stay, including the back-flow in the overlap \[kg\]; that back-flow \[kg\].
    kept_kg: f64,
    back_kg: f64,
    /// Net work since the last inlet closing \[J\].
    work_j: f64,
    /// Wall loss since the last inlet closing \[J\].
    wall_j: f64,
    /// Gas leaked this cycle into the exhaust and past the rings, by its composition before the burn \[kg\].
    slipped: [Charge; 2],
    /// Highest pressure since the inlet last closed \[Pa\].
    peak_pa: f64,
    stream: Stream,
    spark_stream: Stream,
}

/// Results of a step for the rest of the plant.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StepOut {
    /// Work on the piston, before subtracting that of crankcase pressure \[J\].
    pub work_j: f64,
    /// Mass drawn from the manifold \[kg\]; negative is back-flow.
    pub drawn_kg: f64,
    /// Heat to the walls \[J\].
    pub wall_j: f64,
    /// Change of volume \[m³\].
    pub grown_m3: f64,
}

/// Result of one cycle, reported at exhaust opening.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct CycleReport {
    /// Net mean effective pressure over the last 720° \[Pa\].
    pub imep_pa: f64,
    /// Lambda of the charge \[-\]; 0 without fuel.
    pub lambda: f64,
    /// Mass share of burned gas at inlet closing \[-\].
    pub residual: f64,
    /// Share of the fuel that burned \[-\].
    pub burned: f64,
    /// Air trapped \[kg\].
    pub air_kg: f64,
    /// Duration of the burn \[deg\].
    pub burn_deg: f64,
    /// Highest pressure while both valves were shut \[Pa\].
    pub peak_pa: f64,
    /// Heat that the gas gives to the walls while the exhaust valve is open \[J\].
    pub open_wall_j: f64,
    /// Misfire: less than half of the fuel that could burn did, although fuel was present.
    pub misfired: bool,
}

/// What a cylinder tells when its exhaust valve opens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opened {
    /// Its last cycle.
    pub report: CycleReport,
    /// The gas that will leave during the exhaust stroke.
    pub gone: Charge,
    /// Enthalpy that this gas takes along \[J\].
    pub heat_j: f64,
}

/// What happened to a cylinder at the start of a step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AtStart {
    /// Air drawn for what the cylinder holds between its last step and the inlet's closing \[kg\].
    pub drawn_kg: f64,
    /// Its exhaust valve opened.
    pub opened: Option<Opened>,
}

/// The manifold as every open inlet valve sees it in a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IntakeAir {
    /// Pressure behind the valve \[Pa\].
    p_pa: f64,
    /// Mass of the charge in a volume at that pressure \[kg/m³\].
    density: f64,
}

impl IntakeAir {
    /// At a speed \[rad/s\], from the manifold's pressure \[Pa\] and one over gas constant and temperature of the charge
    /// on its way in \[kg/J\].
    #[inline]
    pub fn new(p: &Params, omega: f64, manifold_pa: f64, per_rt: f64) -> Self {
        let loss =
            p.inlet_loss_at_6000 * (omega * omega) * (1.0 / (628.318_530_717_958_6 * 628.318_530_717_958_6));
        let p_pa = manifold_pa * (1.0 - loss);
        Self { p_pa, density: p_pa * per_rt }
    }
}

/// What the module, the coil and the plug do for a spark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coil {
    /// Spark before top dead centre \[deg\], if the coil is driven.
    pub spark_deg: Option<f64>,
    /// Voltage that the coil reaches \[kV\].
    pub spark_kv: f64,
    /// Gap of the plug \[mm\].
    pub gap_mm: f64,
    /// Spread of the breakdown voltage \[-\].
    pub spread: f64,
}

/// Ways out of a closed cylinder, and the pressures behind them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaks {
    /// Leakage of valves and rings.
    pub seals: Seals,
    /// Exhaust pressure \[Pa\].
    pub exhaust_pa: f64,
    /// Crankcase pressure \[Pa\].
    pub crankcase_pa: f64,
}

/// Properties that differ between the cylinders of an engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Own {
    /// Voltage that the coil reaches \[kV\].
    pub spark_kv: f64,
    /// Gap of the plug \[mm\].
    pub gap_mm: f64,
    /// Spread of the breakdown voltage \[-\].
    pub spark_spread: f64,
    /// Leakage of valves and rings.
    pub seals: Seals,
    /// Crankcase pressure \[Pa\].
    pub crankcase_pa: f64,
}

impl Default for Own {
    /// A spark that always jumps, a cylinder without leakage.
    fn default() -> Self {
        Self {
            spark_kv: 100.0,
            gap_mm: 0.9,
            spark_spread: 0.0,
            seals: Seals::default(),
            crankcase_pa: 101_325.0,
        }
    }
}

/// Surroundings of a cylinder during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Length of the step \[s\].
    pub dt_s: f64,
    /// Crank speed \[rad/s\].
    pub omega: f64,
    /// Manifold pressure \[Pa\].
    pub manifold_pa: f64,
    /// Temperature of the charge on its way in \[K\].
    pub charge_k: f64,
    /// Exhaust pressure \[Pa\].
    pub exhaust_pa: f64,
    /// Wall temperature \[K\].
    pub wall_k: f64,
    /// Spark before top dead centre \[deg\], if the coil is driven.
    pub spark_deg: Option<f64>,
    /// This cylinder's own coil, plug and seals.
    pub own: Own,
    /// Combustion properties of the fuel.
    pub fuel: FuelHeat,
}

impl State {
    /// A cylinder at rest, filled with still air. The first stream draws its cycle-to-cycle spread, the second the
    /// spread of its breakdown voltage.
    pub fn at_rest(
        k: &Kinematics,
        index: usize,
        p_pa: f64,
        t_k: f64,
        (stream, spark_stream): (Stream, Stream),
    ) -> Self {
        let volume = k.volume_m3(index);
        let filled = p_pa * volume / (AIR.r * t_k);
        let phase = if index >= k.ivc || index < k.evo {
            Phase::Closed
        } else if index < k.evc {
            Phase::Exhaust
        } else {
            Phase::Intake
        };
        // with the inlet open, gas in the clearance volume counts as residual, the rest as drawn
        let kept = if phase == Phase::Intake { filled * k.left / volume } else { filled };
        let mut s = Self {
            phase,
            charge: Charge { air: kept, fuel: 0.0, products: 0.0 },
            t_k,
            p_pa,
            u_j: 0.0,
            burned: 0.0,
            residual_share: 0.0,
            t_before: [t_k; 2],
            p_before: p_pa,
            coef: [0.0; N_COEF],
            coef_fresh: [0.0; N_COEF],
            coef_gain: [0.0; N_COEF],
            mr: 0.0,
            mr_fresh: 0.0,
            mr_gain: 0.0,
            heat_j: 0.0,
            w_motored: 1.0,
            w_motored_08: 1.0,
            w_slope: 0.0,
            h_front: 0.0,
            h_gain: 0.0,
            p_ref: p_pa,
            wall_k: t_k,
            sparked: true,
            burning: false,
            burn_start_deg: 0.0,
            burn_deg: 0.0,
            per_burn: 0.0,
            burn_whole: 0.0,
            fresh_kg: filled - kept,
            inlet: Inlet::REST,
            tuning: 0.0,
            kept_kg: 0.0,
            back_kg: 0.0,
            work_j: 0.0,
            wall_j: 0.0,
            slipped: [Charge::default(); 2],
            peak_pa: p_pa,
            stream,
            spark_stream,
        };
        s.close(k, FuelHeat { afr: 14.6, heat_j_kg: 0.0 }, 1.0, t_k, 0.0, volume);
        s
    }

    /// Computes once what the closed part needs: energy coefficients, wall-loss constants.
    fn close(
        &mut self,
        k: &Kinematics,
        fuel: FuelHeat,
        omega: f64,
        wall_k: f64,
        wall_factor: f64,
        v_m3: f64,
    ) {
        let c = self.charge;
        let all_burned = Charge {
            air: c.air - fuel.afr * c.fuel,
            fuel: 0.0,
            products: c.products + (1.0 + fuel.afr) * c.fuel,
        };
        self.coef_fresh = c.energy();
        let burned = all_burned.energy();
        self.coef_gain = std::array::from_fn(|i| burned[i] - self.coef_fresh[i]);
        self.coef = self.coef_fresh;
        self.mr_fresh = c.mr();
        self.mr_gain = all_burned.mr() - self.mr_fresh;
        self.mr = self.mr_fresh;
        self.heat_j = c.fuel * fuel.heat_j_kg;
        self.coef_gain[0] -= self.heat_j;
        self.burned = 0.0;
        self.burning = false;
        self.burn_deg = 0.0;
        self.u_j = poly(&self.coef, self.t_k * 1e-3).0;
        self.t_before = [self.t_k; 2];
        self.p_before = self.p_pa;
        self.p_ref = self.p_pa;
        self.wall_k = wall_k;
        let s_p = 2.0 * k.stroke_m * omega / (2.0 * std::f64::consts::PI);
        self.w_motored = 2.28 * s_p;
        self.w_motored_08 = num::pow(self.w_motored.max(1e-6), 0.8);
        self.w_slope = 3.24e-3 * k.swept * self.t_k / (self.p_pa * v_m3);
        self.h_front = wall_factor * k.woschni_b * num::pow(self.mr * 1e-3, 0.8);
        // (m R)^0.8 grows a little with the burn: first order of the power is enough for its 4 %
        self.h_gain = 0.8 * self.h_front * self.mr_gain / self.mr_fresh;
    }

    /// Sets a closed charge by hand, at inlet closing, for checks against a reference: masses, state and
    /// a predetermined burn. Step it from the index after inlet closing on: the step of inlet closing itself would
    /// trap the charge again.
    pub fn closed_for_check(
        k: &Kinematics,
        charge: Charge,
        t_k: f64,
        fuel: FuelHeat,
        omega: f64,
        wall: (f64, f64),
        burn: (f64, f64, f64),
    ) -> Self {
        let v = k.volume_m3(k.ivc);
        let mut s =
            Self::at_rest(k, k.ivc, 1e5, t_k, (Stream::new(0, "check"), Stream::new(0, "check spark")));
        s.charge = charge;
        s.p_pa = charge.mr() * t_k / v;
        s.close(k, fuel, omega, wall.0, wall.1, v);
        s.sparked = true;
        s.burning = true;
        (s.burn_start_deg, s.burn_deg, s.burn_whole) = burn;
        s.per_burn = 1.0 / s.burn_deg;
        s
    }

    /// Step index at which the inlet closes in this cycle.
    #[inline]
    pub fn shuts(&self, k: &Kinematics) -> usize {
        k.ivc - self.inlet.earlier
    }

    /// Air drawn in so far for the next charge, less back-flow \[kg\].
    pub fn fresh_kg(&self) -> f64 {
        self.fresh_kg
    }

    /// Advances by one crank step from step index `i` of this cylinder's cycle (0 is firing top dead
    /// centre). Events at the start of the step (inlet closing, exhaust opening, overlap) are handled first; a
    /// [`CycleReport`] and the gas discharged into the exhaust are returned at exhaust opening.
    pub fn step(
        &mut self,
        p: &Params,
        k: &Kinematics,
        i: usize,
        s: &Surroundings,
        port: &mut Charge,
    ) -> (StepOut, Option<Opened>) {
        let at_start = self.event(p, k, i, s, port);
        let row = k.row(i);
        let mut out = match self.phase {
            Phase::Closed => {
                let Own { spark_kv, gap_mm, spark_spread: spread, seals, crankcase_pa } = s.own;
                if self.spark_falls(k, row, s.spark_deg) {
                    let coil = Coil { spark_deg: s.spark_deg, spark_kv, gap_mm, spread };
                    self.spark(p, k, row, (s.omega, s.fuel), &coil);
                }
                let out = self.closed_step(k, row, s.dt_s);
                if seals.leak() {
                    let leaks = Leaks { seals, exhaust_pa: s.exhaust_pa, crankcase_pa };
                    self.slip(k, row, s.dt_s, &leaks);
                }
                self.mark_peak();
                out
            }
            Phase::Exhaust => self.exhaust_step(k, row, s.exhaust_pa),
            Phase::Intake => {
                let per_rt = 1.0 / (crate::units::R_AIR * s.charge_k);
                self.intake_step(k, i, row, &IntakeAir::new(p, s.omega, s.manifold_pa, per_rt))
            }
        };
        out.drawn_kg += at_start.drawn_kg;
        (out, at_start.opened)
    }

    /// Whether anything happens at the start of a step: see [`Kinematics::events`].
    #[inline]
    pub fn has_event(&self, k: &Kinematics, i: usize) -> bool {
        i == k.evo || i == k.evc || i == self.shuts(k)
    }

    /// What happens at the start of a step, if anything.
    pub fn event(
        &mut self,
        p: &Params,
        k: &Kinematics,
        i: usize,
        s: &Surroundings,
        port: &mut Charge,
    ) -> AtStart {
        let mut at_start = AtStart::default();
        if !self.has_event(k, i) {
            return at_start;
        }
        if i == k.evo {
            at_start.opened = Some(self.open_exhaust(p, k, s));
        } else if i == k.evc {
            self.overlap(p, k, s);
        } else if i == self.shuts(k) {
            at_start.drawn_kg = self.draws_last(s);
            self.trap(p, k, s, port);
        }
        at_start
    }

    /// A step with the exhaust valve open, against the pressure in the pipe \[Pa\].
    #[inline]
    pub(super) fn exhaust_step(&mut self, k: &Kinematics, row: &Row, exhaust_pa: f64) -> StepOut {
        let grown_m3 = row.grown_m3;
        let p0 = self.p_pa;
        self.p_pa = exhaust_pa + (p0 - exhaust_pa) * k.blowdown_keep;
        let work_j = 0.5 * (p0 + self.p_pa) * grown_m3;
        self.work_j += work_j;
        StepOut { work_j, drawn_kg: 0.0, wall_j: 0.0, grown_m3 }
    }

    /// (5) A step with the inlet valve open: the manifold fills the volume that the piston opens.
    #[inline]
    pub(super) fn intake_step(&mut self, k: &Kinematics, i: usize, row: &Row, air: &IntakeAir) -> StepOut {
        let grown_m3 = row.grown_m3;
        let work_j = air.p_pa * grown_m3;
        let mut drawn_kg = (1.0 + self.tuning) * air.density * grown_m3;
        if i == k.evc {
            // what the residual has pushed back before it is drawn in again
            drawn_kg += self.fresh_kg;
            self.fresh_kg = 0.0;
        }
        self.fresh_kg += drawn_kg;
        self.p_pa = air.p_pa;
        self.work_j += work_j;
        StepOut { work_j, drawn_kg, wall_j: 0.0, grown_m3 }
    }

    /// A step of a length \[s\] with both valves shut, before what leaks out in it.
    #[inline]
    pub(super) fn closed_step(&mut self, k: &Kinematics, row: &Row, dt_s: f64) -> StepOut {
        let dv = row.grown_m3;
        let mut x = self.burned;
        if self.burning {
            let y = (row.deg + k.step_deg - self.burn_start_deg) * self.per_burn;
            if y > 0.0 {
                // (2)
                x = self.burn_whole * k.wiebe.at(y.min(1.0));
                self.coef = std::array::from_fn(|c| self.coef_fresh[c] + x * self.coef_gain[c]);
                self.mr = self.mr_fresh + x * self.mr_gain;
                if y >= 1.0 {
                    self.burning = false;
                }
            }
        }
        // (3) at mid-step, extrapolated from the last two steps; bounded, because in long steps near standstill these are
        // a poor guide
        let [t_1, t_2] = self.t_before;
        let t_guess = (3.0 * (self.t_k - t_1) + t_2).clamp(0.5 * self.t_k, 1.5 * self.t_k);
        let t_mid = 0.5 * (self.t_k + t_guess);
        let mut w_08 = self.w_motored_08;
        if x > 0.0 {
            let p_mid = self.p_pa + 0.5 * (self.p_pa - self.p_before);
            let over = p_mid - self.p_ref * row.motored_mid;
            if over > 0.0 {
                w_08 = k.power_08.at(self.w_motored + self.w_slope * over);
            }
        }
        // coefficient times area, W/K
        let loses = (self.h_front + x * self.h_gain) * w_08 * row.wall_mid * k.fourth_root.at(t_mid);
        // limited to what brings the gas to wall temperature; its heat capacity is at least 2.5 m R. From the present
        // temperature, not the extrapolated one: otherwise the little gas left by a leak would oscillate about wall
        // temperature, further each time
        let most_j = 2.5 * self.mr * (self.t_k - self.wall_k).abs();
        let wall_j = (loses * (t_mid - self.wall_k) * dt_s).clamp(-most_j, most_j);
        // (1) trapezoid in p dV, solved for the temperature at the end by Newton
        let half = 0.5 * dv;
        let known = self.u_j - self.p_pa * half - wall_j;
        let per_k = self.mr * row.per_after;
        let slope_p = per_k * half;
        let mut t = t_guess;
        for _ in 0..TURNS {
            let (u, du) = poly(&self.coef, t * 1e-3);
            let over_k = (u + slope_p * t - known) / (du * 1e-3 + slope_p);
            t -= over_k;
            // heat capacity changes by some 2e-4 of itself per K, so that 2e-6 K are left at most; they are not carried
            // on, since energy is. The guess is seldom further off, but for the burn
            if over_k.abs() < 0.1 {
                break;
            }
        }
        let p1 = per_k * t;
        let work_j = (self.p_pa + p1) * half;
        self.t_before = [self.t_k, t_1];
        self.p_before = self.p_pa;
        self.t_k = t;
        self.p_pa = p1;
        self.u_j -= work_j + wall_j;
        self.burned = x;
        self.wall_j += wall_j;
        self.work_j += work_j;
        StepOut { work_j, drawn_kg: 0.0, wall_j, grown_m3: dv }
    }

    /// The end of a step with both valves shut.
    #[inline]
    pub(super) fn mark_peak(&mut self) {
        if self.p_pa > self.peak_pa {
            self.peak_pa = self.p_pa;
        }
    }

    /// (7) Gas that leaks out past closed valves and rings in this step; inflow is left out.
    #[cold]
    pub(super) fn slip(&mut self, k: &Kinematics, row: &Row, dt_s: f64, leaks: &Leaks) {
        let Leaks { seals, exhaust_pa, crankcase_pa } = *leaks;
        let to = [(seals.valves_mm2, exhaust_pa), (seals.rings_mm2, crankcase_pa)];
        for (way, (mm2, there_pa)) in to.into_iter().enumerate() {
            if mm2 <= 0.0 || there_pa >= self.p_pa {
                continue;
            }
            let mass = self.charge.mass();
            let r = self.mr / mass;
            let kg = mm2 * 1e-6 * self.p_pa / (r * self.t_k).sqrt() * k.flow.at(there_pa / self.p_pa) * dt_s;
            let share = (kg / mass).min(0.5);
            self.slipped[way] = self.slipped[way].plus(&self.charge.times(share));
            // each kilogram takes its internal energy and the work of pushing it out with it
            let pushed_j = share * self.mr * self.t_k;
            let keep = 1.0 - share;
            self.charge = self.charge.times(keep);
            for c in self.coef.iter_mut().chain(&mut self.coef_fresh).chain(&mut self.coef_gain) {
                *c *= keep;
            }
            self.mr *= keep;
            self.mr_fresh *= keep;
            self.mr_gain *= keep;
            self.heat_j *= keep;
            self.u_j = self.u_j * keep - pushed_j;
            let cv = poly(&self.coef, self.t_k * 1e-3).1 * 1e-3;
            self.t_k = (self.t_k - pushed_j / cv).max(200.0);
            self.u_j = poly(&self.coef, self.t_k * 1e-3).0;
            self.p_pa = self.mr * self.t_k * row.per_after;
        }
    }

    fn open_exhaust(&mut self, p: &Params, k: &Kinematics, s: &Surroundings) -> Opened {
        let c = self.charge;
        let fuel = s.fuel;
        let mut report = CycleReport {
            imep_pa: self.work_j / k.swept,
            lambda: if c.fuel > 0.0 { c.air_in(fuel.afr) / (c.fuel_in(fuel.afr) * fuel.afr) } else { 0.0 },
            residual: self.residual_share,
            burned: self.burned,
            air_kg: c.air,
            burn_deg: self.burn_deg,
            peak_pa: self.peak_pa,
            open_wall_j: 0.0,
            misfired: c.fuel > 1e-9 && self.burned < 0.5 * (c.air / (fuel.afr * c.fuel)).min(1.0),
        };
        self.work_j = 0.0;
        self.wall_j = 0.0;
        let burned_fuel = self.burned * c.fuel;
        self.charge = Charge {
            air: c.air - fuel.afr * burned_fuel,
            fuel: c.fuel - burned_fuel,
            products: c.products + (1.0 + fuel.afr) * burned_fuel,
        };
        self.burned = 0.0;
        self.burning = false;
        // isentropic to the exhaust pressure
        let t_open = self.t_k * num::pow((s.exhaust_pa / self.p_pa).clamp(0.05, 20.0), 0.23);
        let heat_kept = p.residual_heat_kept.at(crate::units::rpm(s.omega));
        let t_res = s.wall_k + heat_kept * (t_open - s.wall_k);
        let (energy_j, evo_pa) = (self.charge.energy_j(self.t_k), self.p_pa);
        self.t_before = [t_res; 2];
        self.phase = Phase::Exhaust;
        // Back-flow in the overlap is this cylinder's own gas from its port: it never mixes with the rest of the
        // exhaust, and is computed here so that the exhaust's mass balance is right.
        let mut back = 0.0;
        if s.manifold_pa < s.exhaust_pa && s.omega > 1.0 {
            let area_time = k.inlet.overlap * p.overlap_mm2_deg * 1e-6 / s.omega.to_degrees();
            back = area_time * s.exhaust_pa / (PRODUCTS.r * t_res).sqrt()
                * k.flow.at(s.manifold_pa / s.exhaust_pa);
        }
        let mass = self.charge.mass();
        self.kept_kg = (self.residual_after(k, s, t_res) + back).min(mass);
        self.back_kg = back.min(self.kept_kg);
        let gone = mass - self.kept_kg;
        // (8)
        let kept = self.charge.times(self.kept_kg / mass);
        let pushed_j = s.exhaust_pa * (k.volume_m3(k.evo) - k.volume_m3(k.evc));
        let blown_j = (evo_pa - s.exhaust_pa) * k.blowdown_m3;
        let leaves_j = energy_j - kept.energy_j(t_open) + pushed_j - blown_j;
        let out = self.charge.times(gone / mass);
        // hardly anything leaves from a charge that a leak has emptied, while the piston keeps pushing
        let hottest_k = 2.0 * self.t_k.max(t_open);
        let leaves_j = leaves_j.min(out.energy_j(hottest_k) + out.mr() * hottest_k);
        let at_walls_j = out.energy_j(s.wall_k) + out.mr() * s.wall_k;
        let cooled_j = 0.5 * (1.0 - heat_kept) * (leaves_j - at_walls_j);
        report.open_wall_j = cooled_j + kept.energy_j(t_open) - kept.energy_j(t_res);
        Opened { report, gone: out, heat_j: leaves_j - cooled_j }
    }

    /// Gas leaked since the last call, into the exhaust and past the rings, by its composition before the burn
    /// \[kg\].
    pub fn take_slipped(&mut self) -> [Charge; 2] {
        std::mem::take(&mut self.slipped)
    }

    /// (6) Mass that will stay in the cylinder \[kg\], for residual gas at `t_res` \[K\].
    fn residual_after(&self, k: &Kinematics, s: &Surroundings, t_res: f64) -> f64 {
        (s.exhaust_pa * k.left / (PRODUCTS.r * t_res)).min(self.charge.mass())
    }

    fn overlap(&mut self, p: &Params, k: &Kinematics, s: &Surroundings) {
        self.inlet = k.inlet;
        self.tuning = p.inlet_tuning.at(crate::units::rpm(s.omega));
        let [t_res, _] = self.t_before;
        let p_in = s.manifold_pa;
        let back = self.back_kg;
        let mass = self.charge.mass();
        // an engine at rest with this valve open has no residual computed yet
        let kept = if self.kept_kg > 0.0 { self.kept_kg } else { self.residual_after(k, s, t_res) };
        self.charge = self.charge.times((kept / mass).min(1.0));
        self.t_k = t_res;
        // (5) the residual's expansion, and the back-flow, take volume that fresh charge would have filled
        let room = k.left * (s.exhaust_pa - p_in) / 1.33;
        self.fresh_kg = -(room / (crate::units::R_AIR * s.charge_k) + back * t_res / s.charge_k);
        (self.kept_kg, self.back_kg) = (0.0, 0.0);
        self.phase = Phase::Intake;
    }

    /// (5) Air for what the cylinder holds between its last step and the inlet's closing \[kg\].
    fn draws_last(&mut self, s: &Surroundings) -> f64 {
        let kg = (1.0 + self.tuning) * self.p_pa * self.inlet.more_m3 / (crate::units::R_AIR * s.charge_k);
        self.fresh_kg += kg;
        kg
    }

    fn trap(&mut self, p: &Params, k: &Kinematics, s: &Surroundings, port: &mut Charge) {
        let fresh_air = self.fresh_kg.max(0.0);
        // recirculated exhaust gas was drawn as air: the port takes it off
        self.charge = self.charge.plus(&Charge { air: (fresh_air + port.air).max(0.0), ..*port });
        *port = Charge::default();
        let mass = self.charge.mass().max(1e-9);
        // only burned gas slows the flame; unburned mixture left by a misfire counts as mixture
        self.residual_share = self.charge.products / mass;
        let v = k.volume_m3(self.shuts(k));
        // the last of the air is pushed in by the column behind it
        self.p_pa *= num::pow(1.0 + self.tuning, 1.4);
        self.t_k = (self.p_pa * (v + self.inlet.more_m3) / self.charge.mr()).clamp(220.0, 1500.0);
        self.p_pa = self.charge.mr() * self.t_k / v;
        self.peak_pa = self.p_pa;
        let rpm = crate::units::rpm(s.omega);
        self.close(k, s.fuel, s.omega, s.wall_k, p.wall_loss_factor.at(rpm), v);
        self.p_ref *= self.inlet.motored;
        self.sparked = false;
        self.phase = Phase::Closed;
    }

    /// Gas and heat escape past the rings of a stationary engine: pressure relaxes to ambient.
    pub fn relax(&mut self, share: f64, ambient_pa: f64, wall_k: f64, v_m3: f64) {
        if self.phase == Phase::Closed {
            self.t_k += share * (wall_k - self.t_k);
            self.p_pa += share * (ambient_pa - self.p_pa);
            let wanted = self.p_pa * v_m3 / self.t_k;
            let k = wanted / self.mr;
            self.charge = self.charge.times(k);
            for c in self.coef.iter_mut().chain(&mut self.coef_fresh).chain(&mut self.coef_gain) {
                *c *= k;
            }
            self.mr *= k;
            self.mr_fresh *= k;
            self.mr_gain *= k;
            self.heat_j *= k;
            self.u_j = poly(&self.coef, self.t_k * 1e-3).0;
            self.t_before = [self.t_k; 2];
            self.p_before = self.p_pa;
        } else {
            self.p_pa += share * (ambient_pa - self.p_pa);
        }
    }
}
