//! A cylinder's parameters and geometry, and the tables over crank angle that follow from them.
//!
//! **Models** bore, stroke, rod, valve events; volume, wall area and motored pressure by crank angle, computed once
//! for the step in use.
//!
//! **Leaves out** valve lift (represented by an overlap area), piston pin offset.
//!
//! **Checked by** `exact_…` in `tests/model/physics.rs`.

use super::laws::{flame_speed_factor, wiebe};
use crate::num::{self, FlowFunction, Sampled, Table};
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// Parameters of a cylinder; the `[cylinder]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Bore \[mm\].
    pub bore_mm: f64,
    /// Stroke \[mm\].
    pub stroke_mm: f64,
    /// Connecting rod length between centres \[mm\].
    pub rod_mm: f64,
    /// Compression ratio \[-\].
    pub compression_ratio: f64,
    /// Inlet valve closing, after bottom dead centre \[deg\].
    pub inlet_closes_abdc_deg: f64,
    /// Exhaust valve opening, before bottom dead centre \[deg\].
    pub exhaust_opens_bbdc_deg: f64,
    /// Valve overlap as effective area times angle \[mm² deg\].
    pub overlap_mm2_deg: f64,
    /// Pressure lost across the inlet valve at 6000 rpm, share of manifold pressure \[-\].
    pub inlet_loss_at_6000: f64,
    /// Share that the moving air column in a tuned inlet pipe adds to the charge when the valve closes \[-\], over
    /// engine speed \[rpm\]: represents the pressure waves in the pipes, which the model leaves out.
    pub inlet_tuning: Table,
    /// Share of the difference from coolant to manifold temperature that the charge takes up on its way
    /// in \[-\], over engine speed \[rpm\].
    pub port_heating: Table,
    /// Crank angle in which blow-down pressure falls to 1/e \[deg\].
    pub blowdown_deg: f64,
    /// Share of the exhaust gas's excess over wall temperature that the residual keeps \[-\], over
    /// speed \[rpm\]: a slow engine has time to cool it.
    pub residual_heat_kept: Table,
    /// Temperature of head, piston and liner above the coolant \[K\].
    pub wall_over_coolant_k: f64,
    /// Factor on Woschni's wall loss \[-\], over speed \[rpm\]: calibration.
    pub wall_loss_factor: Table,
    /// Share of the fuel that burns when nothing else limits it \[-\], over speed \[rpm\]: calibration.
    pub combustion_efficiency: Table,
    /// Burn duration, 0 to 100 %, at the anchor state \[deg\]: 3000 rpm, charge 700 K and 1200 kPa at spark,
    /// stoichiometric, residual 0.07; over speed \[rpm\]: calibration.
    pub burn_anchor_deg: Table,
    /// Relative spread of burn duration from cycle to cycle \[-\].
    pub burn_spread: f64,
    /// Relative flame speed below which nothing burns \[-\].
    pub flame_dead: f64,
    /// Relative flame speed above which the burn is complete \[-\].
    pub flame_whole: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "cylinder";
        between(s, "bore_mm", self.bore_mm, 50.0, 130.0)?;
        between(s, "stroke_mm", self.stroke_mm, 40.0, 140.0)?;
        between(s, "rod_mm", self.rod_mm, 0.9 * self.stroke_mm, 4.0 * self.stroke_mm)?;
        between(s, "compression_ratio", self.compression_ratio, 6.0, 16.0)?;
        between(s, "inlet_closes_abdc_deg", self.inlet_closes_abdc_deg, 0.0, 90.0)?;
        between(s, "exhaust_opens_bbdc_deg", self.exhaust_opens_bbdc_deg, 0.0, 90.0)?;
        for (key, v) in [
            ("inlet_closes_abdc_deg", self.inlet_closes_abdc_deg),
            ("exhaust_opens_bbdc_deg", self.exhaust_opens_bbdc_deg),
        ] {
            if v % 2.0 != 0.0 {
                return Err(ParamError::new(s, key, ParamRule::Even));
            }
        }
        between(s, "overlap_mm2_deg", self.overlap_mm2_deg, 0.0, 20_000.0)?;
        between(s, "inlet_loss_at_6000", self.inlet_loss_at_6000, 0.0, 0.4)?;
        for p in self.inlet_tuning.points() {
            between(s, "inlet_tuning", p[1], -0.2, 0.4)?;
        }
        for p in self.port_heating.points() {
            between(s, "port_heating", p[1], 0.0, 0.9)?;
        }
        between(s, "blowdown_deg", self.blowdown_deg, 2.0, 90.0)?;
        for p in self.residual_heat_kept.points() {
            between(s, "residual_heat_kept", p[1], 0.1, 1.0)?;
        }
        between(s, "wall_over_coolant_k", self.wall_over_coolant_k, 0.0, 150.0)?;
        for p in self.wall_loss_factor.points() {
            between(s, "wall_loss_factor", p[1], 0.5, 3.0)?;
        }
        for p in self.combustion_efficiency.points() {
            between(s, "combustion_efficiency", p[1], 0.7, 1.0)?;
        }
        for p in self.burn_anchor_deg.points() {
            between(s, "burn_anchor_deg", p[1], 15.0, 120.0)?;
        }
        between(s, "burn_spread", self.burn_spread, 0.0, 0.4)?;
        between(s, "flame_dead", self.flame_dead, 0.0, 0.9)?;
        between(s, "flame_whole", self.flame_whole, self.flame_dead + 0.001, 1.0)
    }
    /// Swept volume of one cylinder \[m³\].
    pub fn swept_m3(&self) -> f64 {
        std::f64::consts::FRAC_PI_4 * self.bore_mm * self.bore_mm * self.stroke_mm * 1e-9
    }
    /// Clearance volume \[m³\].
    pub fn clearance_m3(&self) -> f64 {
        self.swept_m3() / (self.compression_ratio - 1.0)
    }
    /// Cylinder volume \[m³\] at an angle after top dead centre \[deg\].
    pub fn volume_m3(&self, deg: f64) -> f64 {
        let r = 0.5 * self.stroke_mm;
        let (s, c) = (num::sin_deg(deg), num::cos_deg(deg));
        let drop_mm = r + self.rod_mm - (r * c + (self.rod_mm * self.rod_mm - r * r * s * s).sqrt());
        self.clearance_m3() + std::f64::consts::FRAC_PI_4 * self.bore_mm * self.bore_mm * drop_mm * 1e-9
    }
    /// Piston travel per crank angle \[m/rad\] at an angle after top dead centre \[deg\].
    pub fn travel_m_rad(&self, deg: f64) -> f64 {
        let r = 0.5e-3 * self.stroke_mm;
        let l = 1e-3 * self.rod_mm;
        let (s, c) = (num::sin_deg(deg), num::cos_deg(deg));
        r * s + r * r * s * c / (l * l - r * r * s * s).sqrt()
    }
}

/// A cylinder's geometry over one step of the cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::plant) struct Row {
    /// Crank angle after firing top dead centre at which the step starts \[deg\], meant for the closed part: negative in the
    /// compression.
    pub deg: f64,
    /// Volume at the step's start \[m³\], one over that at its end, and growth from the first to the second.
    pub before_m3: f64,
    pub per_after: f64,
    pub grown_m3: f64,
    /// At its middle: wall area times volume^-0.8, in powers of metres; motored pressure over that at inlet closing.
    pub wall_mid: f64,
    pub motored_mid: f64,
}

/// Where a phaser has put the inlet camshaft, beside the rest for which the tables are made.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Inlet {
    /// Steps by which the inlet closes before its index.
    pub(super) earlier: usize,
    /// What the cylinder holds there beyond the volume at that step \[m³\]: closing seldom falls on a step.
    pub(super) more_m3: f64,
    /// Motored pressure over that by the tables \[-\].
    pub(super) motored: f64,
    /// Overlap as area times angle over that at rest \[-\].
    pub(super) overlap: f64,
}

impl Inlet {
    /// At rest, closing on a step.
    pub const REST: Inlet = Inlet { earlier: 0, more_m3: 0.0, motored: 1.0, overlap: 1.0 };
}

/// Tables over crank angle that every cylinder of an engine shares; made once.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinematics {
    /// Crank step \[deg\].
    pub step_deg: f64,
    /// Steps in one turn.
    pub per_turn: usize,
    rows: Vec<Row>,
    /// The inlet camshaft, where a phaser turns it.
    pub(super) inlet: Inlet,
    /// Exhaust opening, overlap top, inlet closing as step index in the cycle.
    pub(super) evo: usize,
    pub(super) evc: usize,
    pub(super) ivc: usize,
    pub(super) blowdown_keep: f64,
    /// Work per pascal of overpressure at exhaust opening, while it decays to the exhaust pressure \[m³\].
    pub(super) blowdown_m3: f64,
    pub(super) woschni_b: f64,
    pub(super) swept: f64,
    /// Cylinder volume that holds the residual when the exhaust valve closes \[m³\].
    pub(super) left: f64,
    pub(super) stroke_m: f64,
    pub(super) flow: FlowFunction,
    /// (2) over y, within 1e-6.
    pub(super) wiebe: Sampled,
    /// Relative flame speed of the state at which burn durations are anchored \[-\].
    pub(super) anchor_flame: f64,
    /// w^0.8 over w \[m/s\], within 4e-5 of it from 3 m/s on, 3e-4 at 1 m/s.
    pub(super) power_08: Sampled,
    /// T^0.25 over T \[K\], within 1e-5 of it from 200 K on.
    pub(super) fourth_root: Sampled,
}

impl Kinematics {
    /// For checked parameters and a step \[deg\] that divides 2.
    pub fn new(p: &Params, step_deg: f64) -> Self {
        Self::with_cam(p, step_deg, 0.0)
    }
    /// The same with a retarded cam \[deg of crank\], advanced where negative: every valve event shifts.
    pub fn with_cam(p: &Params, step_deg: f64, late_deg: f64) -> Self {
        let per_turn = (360.0 / step_deg).round() as usize;
        let volume: Vec<f64> = (0..per_turn).map(|j| p.volume_m3(j as f64 * step_deg)).collect();
        let bore_m = p.bore_mm * 1e-3;
        let head_piston = std::f64::consts::FRAC_PI_2 * bore_m * bore_m;
        let v_ivc = p.volume_m3(180.0 + p.inlet_closes_abdc_deg + late_deg);
        let at = |deg: f64| (deg / step_deg).round() as usize;
        let blowdown_keep = num::exp(-step_deg / p.blowdown_deg);
        let (evo, evc) = (at(180.0 - p.exhaust_opens_bbdc_deg + late_deg), at(360.0 + late_deg));
        let mut over = 1.0;
        let mut blowdown_m3 = 0.0;
        for i in evo..evc {
            let grown = volume[(i + 1) % per_turn] - volume[i % per_turn];
            blowdown_m3 += 0.5 * over * (1.0 + blowdown_keep) * grown;
            over *= blowdown_keep;
        }
        let mut k = Self {
            inlet: Inlet::REST,
            step_deg,
            per_turn,
            rows: (0..2 * per_turn)
                .map(|i| {
                    let j = i % per_turn;
                    let v = p.volume_m3((j as f64 + 0.5) * step_deg);
                    let (before_m3, after_m3) = (volume[j], volume[(j + 1) % per_turn]);
                    Row {
                        deg: i as f64 * step_deg - if i >= per_turn { 720.0 } else { 0.0 },
                        before_m3,
                        per_after: 1.0 / after_m3,
                        grown_m3: after_m3 - before_m3,
                        wall_mid: (head_piston + 4.0 * v / bore_m) * num::pow(v, -0.8),
                        motored_mid: num::pow(v_ivc / v, 1.3),
                    }
                })
                .collect(),
            evo,
            evc,
            ivc: at(540.0 + p.inlet_closes_abdc_deg + late_deg),
            blowdown_keep,
            blowdown_m3,
            woschni_b: 3.26 * num::pow(bore_m, -0.2),
            swept: p.swept_m3(),
            left: p.volume_m3(360.0 + late_deg),
            stroke_m: p.stroke_mm * 1e-3,
            flow: FlowFunction::new(1.33),
            wiebe: Sampled::new(1.0, 1200, wiebe),
            anchor_flame: flame_speed_factor(1.0, 0.07),
            power_08: Sampled::new(128.0, 1024, |w| num::pow(w, 0.8)),
            fourth_root: Sampled::new(4096.0, 1024, |t| t.sqrt().sqrt()),
        };
        k.turn_inlet(p, late_deg, 0.0, 1.0);
        k
    }
    /// Turns the inlet camshaft: the camshafts are retarded and the inlet then advanced \[deg of crank\]; its overlap as area
    /// times angle over that at rest \[-\].
    pub fn turn_inlet(&mut self, p: &Params, late_deg: f64, advance_deg: f64, overlap: f64) {
        let rest_deg = 180.0 + p.inlet_closes_abdc_deg + late_deg;
        let deg = rest_deg - advance_deg;
        let step = (deg / self.step_deg).round();
        let v = p.volume_m3(deg);
        let on_step = (deg - step * self.step_deg).abs() < 1e-9;
        self.inlet = Inlet {
            earlier: self.ivc.saturating_sub(self.per_turn + step as usize),
            more_m3: if on_step { 0.0 } else { v - self.volume_m3(step as usize) },
            motored: if advance_deg == 0.0 { 1.0 } else { num::pow(v / p.volume_m3(rest_deg), 1.3) },
            overlap,
        };
    }
    /// Steps in one cycle of two turns.
    pub fn per_cycle(&self) -> usize {
        2 * self.per_turn
    }
    /// Step index of exhaust opening, of the overlap's top dead centre, of inlet closing.
    pub fn events(&self) -> (usize, usize, usize) {
        (self.evo, self.evc, self.ivc)
    }
    /// Step index in the cycle at which the inlet closes, where the camshaft stands now.
    pub fn inlet_shut_step(&self) -> usize {
        self.ivc - self.inlet.earlier
    }
    /// Volume at which it closes there \[m³\].
    pub fn inlet_shut_m3(&self) -> f64 {
        self.volume_m3(self.inlet_shut_step()) + self.inlet.more_m3
    }
    /// Volume \[m³\] at a step index in the turn.
    pub fn volume_m3(&self, j: usize) -> f64 {
        self.rows[j % self.per_turn].before_m3
    }
    /// Swept volume \[m³\].
    pub fn swept_m3(&self) -> f64 {
        self.swept
    }
    /// The step that starts at an index in the cycle.
    #[inline]
    pub(in crate::plant) fn row(&self, i: usize) -> &Row {
        &self.rows[i]
    }
}
