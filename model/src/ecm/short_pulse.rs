//! Short-pulse trim: a routine that learns what each injector delivers where its needle hardly lifts.
//!
//! *Inside*: the routine's phases and what it writes. *Outside*: the estimate of each cylinder's fuel
//! ([`crate::ecm::cylinder_trim`]), the pulse that follows ([`crate::ecm::injectors`]), its entry conditions
//! (services).
//!
//! At warm idle the cylinder trim is first allowed to settle. Then rail pressure is raised, so that the same fuel
//! takes shorter pulses; the differences between the cylinders are then those at short pulses. Any part of them that
//! the trim had absorbed at the long pulses is given back in the same step, so that the long pulses stay correct.
//!
//! **Equation**: with `e = exp(−t_open/τ)` at the long and the short pulse, `dg = x/(e_short − e_long) dt/T` and
//! `d(trim) = e_long dg`; x moves by −dg (e_short − e_long).
//!
//! **State** ([`State`]): phase, time in the phase, pulse at the beginning.
//!
//! **Checked by** `practice_short_pulse…` in `tests/module/cylinder_trim.rs`.

use crate::ecm::cylinder_trim;
use crate::ecm::memory::{self, Name, Store};
use crate::link::{Failed, Writer};
use crate::num;
use serde::{Deserialize, Serialize};

/// Rail pressure during the second phase \[kPa\].
const RAISED_KPA: f64 = 14_000.0;
/// Deviation below which the cylinders count as settled \[-\].
const AT_REST: f64 = 0.003;
/// Time for which they must stay settled \[s\].
const AT_REST_S: f64 = 10.0;
/// Time constant of learning \[s\].
const LEARN_S: f64 = 12.0;
/// Maximum duration of either phase \[s\].
const LONGEST_S: f64 = 240.0;
/// Assumed differences between the cylinders when the pulses have just become shorter \[-\].
const UNKNOWN: f64 = 0.03;

/// Phase of the routine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Phase {
    /// Not running.
    #[default]
    Off,
    /// The cylinder trim settles at normal pulses.
    Long,
    /// Rail pressure is raised.
    Short,
}

/// State of the routine.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Phase.
    pub phase: Phase,
    in_phase_s: f64,
    rest_s: f64,
    long_us: f64,
}

/// Inputs and stores that the routine works with.
pub struct Context<'a> {
    /// Cylinder trim with its estimate.
    pub trim: &'a mut cylinder_trim::State,
    /// Learned values.
    pub store: &'a mut Store,
    /// Their calibration.
    pub memory_cal: &'a memory::Cal,
    /// Nominal opening of the last pulse \[µs\].
    pub open_us: f64,
    /// Nominal opening over which the excess decays \[µs\].
    pub short_us: f64,
    /// Maximum uncertainty with which the estimate may be used \[-\].
    pub certain: f64,
    /// Number of cylinders.
    pub cylinders: usize,
    /// Module's time \[s\].
    pub time_s: f64,
    /// Still idling, in closed loop.
    pub idling: bool,
}

impl State {
    /// Begins.
    pub fn begin(&mut self) {
        *self = Self { phase: Phase::Long, ..Self::default() };
    }
    /// Ends, with or without a result.
    pub fn end(&mut self) {
        *self = Self::default();
    }
    /// Requested rail pressure \[kPa\].
    pub fn rail_kpa(&self) -> Option<f64> {
        (self.phase == Phase::Short).then_some(RAISED_KPA)
    }
    /// Every 100 ms; `Some` when it has ended, with the reason if it failed.
    pub fn slow(&mut self, c: &mut Context<'_>, dt_s: f64) -> Option<Result<(), Failed>> {
        if self.phase == Phase::Off {
            return None;
        }
        self.in_phase_s += dt_s;
        if !c.idling {
            self.end();
            return Some(Err(Failed::LeftWarmIdle));
        }
        if self.in_phase_s > LONGEST_S {
            self.end();
            return Some(Err(Failed::CylindersNotAtRest));
        }
        let of_all = |f: &dyn Fn(usize) -> f64| (0..c.cylinders).map(f).fold(0.0, f64::max);
        let known = of_all(&|k| c.trim.uncertainty(k)) <= c.certain && self.in_phase_s > AT_REST_S;
        let apart = of_all(&|k| c.trim.estimate[k].abs());
        self.rest_s = if known && apart < AT_REST { self.rest_s + dt_s } else { 0.0 };
        if self.phase == Phase::Long {
            self.long_us += (c.open_us - self.long_us) * if self.long_us > 0.0 { 0.02 } else { 1.0 };
            if self.rest_s >= AT_REST_S {
                c.trim.forget(UNKNOWN);
                (self.phase, self.in_phase_s, self.rest_s) = (Phase::Short, 0.0, 0.0);
            }
            return None;
        }
        let gives = |us: f64| num::exp(-us / c.short_us);
        let (long, short) = (gives(self.long_us), gives(c.open_us));
        if known && short - long > 0.02 {
            for k in 0..c.cylinders {
                let step = 100.0 * c.trim.estimate[k] / (short - long) * dt_s / LEARN_S;
                let (name, by) = (Name::ShortPulse(k as u8), Writer::Routine);
                let went = c.store.move_by(c.memory_cal, name, step, by, c.time_s);
                let name = Name::CylinderTrim(k as u8);
                let back = c.store.move_by(c.memory_cal, name, long * went, by, c.time_s);
                c.trim.estimate[k] += 0.01 * (back - short * went);
            }
        }
        if self.rest_s >= AT_REST_S {
            self.end();
            return Some(Ok(()));
        }
        None
    }
}
