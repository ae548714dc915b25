//! The spark: when it falls, whether it jumps, and what it lights.
//!
//! *Inside*: the step of the spark, the breakdown at the plug against what the coil reaches, the burn that follows; numbers in
//! brackets are the equations of [`super::State`]. *Outside*: the burn itself, step by step.
//!
//! **Checked by** `exact_…` and `source_…` of the burn in `tests/model/physics.rs`, `tests/model/faults.rs`.

use super::{Coil, FuelHeat, Kinematics, Params, Row, State, flame_speed_factor};
use crate::num;
use crate::plant::ignition;

/// Crank angle after which a spark that could not be given is not given any more \[deg\]: more than a module's command moves
/// within a compression; assumed.
const MISSED_DEG: f64 = 30.0;
/// Crank angle after top dead centre from which no spark is waited for \[deg\].
const SPARK_OVER_DEG: f64 = 60.0;

impl State {
    /// Whether this compression still waits for its spark.
    #[inline]
    pub fn awaits_spark(&self) -> bool {
        !self.sparked
    }

    /// Whether the spark of this compression, which still waits for it, falls in a step, or can no longer fall.
    #[inline]
    pub(in crate::plant) fn spark_falls(&self, k: &Kinematics, row: &Row, spark_deg: Option<f64>) -> bool {
        let deg = row.deg;
        self.awaits_spark()
            && (spark_deg.is_some_and(|advance| deg + k.step_deg > -advance) || deg > SPARK_OVER_DEG)
    }

    /// Lights the charge in the step in which its spark falls: see [`State::spark_falls`].
    #[inline(never)]
    pub(in crate::plant) fn spark(
        &mut self,
        p: &Params,
        k: &Kinematics,
        row: &Row,
        (omega, fuel): (f64, FuelHeat),
        coil: &Coil,
    ) {
        let deg = row.deg;
        if let Some(advance) = coil.spark_deg
            && deg + k.step_deg > -advance
        {
            self.sparked = true;
            // a coil that is connected after its spark was due does not fire in this cycle
            if deg < MISSED_DEG - advance {
                self.ignite(p, k, -advance, (omega, fuel), coil);
            }
        }
        if deg > SPARK_OVER_DEG {
            self.sparked = true;
        }
    }

    fn ignite(
        &mut self,
        p: &Params,
        k: &Kinematics,
        start_deg: f64,
        (omega, fuel): (f64, FuelHeat),
        coil: &Coil,
    ) {
        self.sparked = true;
        let spread = self.stream.normal();
        if self.charge.fuel <= 0.0 {
            return;
        }
        let needs_kv = ignition::breakdown_kv(coil.gap_mm, self.p_pa, self.t_k);
        // draw a random number only where it could matter
        let (spread_kv, have_kv) = (coil.spread, coil.spark_kv);
        if needs_kv * (1.0 + 5.0 * spread_kv) > have_kv
            && needs_kv * (1.0 + spread_kv * self.spark_stream.normal()) > have_kv
        {
            return;
        }
        let phi = self.charge.fuel * fuel.afr / self.charge.air.max(1e-12);
        let flame = flame_speed_factor(phi, self.residual_share);
        if flame <= p.flame_dead {
            return;
        }
        let whole = ((flame - p.flame_dead) / (p.flame_whole - p.flame_dead)).min(1.0);
        let rpm = crate::units::rpm(omega);
        let oxygen = (self.charge.air / (fuel.afr * self.charge.fuel)).min(1.0);
        self.burn_whole = p.combustion_efficiency.at(rpm) * whole * oxygen;
        // (4)
        let s_p = 2.0 * k.stroke_m * omega / (2.0 * std::f64::consts::PI);
        let anchor_s_p = 2.0 * k.stroke_m * 50.0;
        let t = self.t_k / 700.0;
        let pr = self.p_pa / 1.2e6;
        // by logarithms: powers take longer
        let (ln_t, ln_pr) = (num::ln(t), num::ln(pr));
        let ln_nu = 1.7 * ln_t - ln_pr;
        let ln_s_l = 2.18 * ln_t - 0.16 * ln_pr + num::ln(flame / k.anchor_flame);
        let ln_over_anchor = (num::ln((s_p / anchor_s_p).max(1e-3)) + ln_nu - 2.0 * ln_s_l) / 3.0;
        let over_anchor = num::exp(ln_over_anchor + p.burn_spread * spread);
        self.burn_deg = (p.burn_anchor_deg.at(rpm) * over_anchor).clamp(8.0, 400.0);
        self.per_burn = 1.0 / self.burn_deg;
        self.burn_start_deg = start_deg;
        self.burning = true;
    }
}
