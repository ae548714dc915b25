//! Standing and being driven on: hours and months in a few steps.
//!
//! *Inside*: the locked car at rest, in long steps while its module sleeps. *Outside*: what a hand may do at
//! all (`mod.rs`), a driver's feet (`drive.rs`).
//!
//! A rest needs key off and an engine that stands. Until the module has saved and sleeps, time goes in ordinary steps; then
//! in steps of ten seconds, in which only what is slow moves: battery, heat, catalysts, what drips. A hand that touches
//! the car ends it.

use crate::bench::Bench;
use crate::bench::action::{Action, Life};
use crate::bench::record::Kind;
use crate::bench::view::BatteryTruth;
use crate::ecm::Power;
use crate::plant::battery::Battery;
use crate::units::celsius;
use serde::{Deserialize, Serialize};

/// Longest step of a rest \[s\].
const STEP_S: f64 = 10.0;
/// Between two rows of the trace while a car rests \[s\].
const REST_ROW_S: f64 = 60.0;

/// What goes on without a hand at the car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Slow {
    /// It stands locked until then \[s of the plant\].
    Rest(f64),
}

impl Bench {
    /// The car is locked and left for so many hours; or why not.
    pub(super) fn begin_rest(&mut self, hours: f64) -> Result<(), String> {
        if self.plant.s.hands.key_on {
            return Err("key off first".into());
        }
        if self.plant.turning() {
            return Err("stop the engine first".into());
        }
        if self.plant.s.road.speed_m_s > 0.0 {
            return Err("the car is rolling: bring it to a stand first".into());
        }
        self.slow = Some(Slow::Rest(self.plant.s.time_s + 3600.0 * hours));
        Ok(())
    }
    /// Driven on from day to day; or why not.
    pub(super) fn begin_life(&mut self, _life: Life) -> Result<(), String> {
        Err("this is not built yet".into())
    }
    /// A hand touches the car: whatever went on without it ends.
    pub(super) fn touched(&mut self, action: &Action) {
        if self.slow.is_some() && !matches!(action, Action::Note(_) | Action::Wait) {
            self.slow = None;
            self.note(Kind::Drive { what: "the rest ended: a hand touched the car".into() });
        }
    }
    /// Between two rows of the trace now \[s\], where it is more than usual.
    pub fn slow_row_s(&self) -> Option<f64> {
        self.slow.as_ref().map(|_| REST_ROW_S)
    }
    /// One long step of a rest, if the car sleeps; false where time goes in ordinary steps.
    pub(super) fn slow_step(&mut self) -> bool {
        let Some(Slow::Rest(until_s)) = self.slow else { return false };
        let left_s = until_s - self.plant.s.time_s;
        if left_s <= 0.0 {
            self.slow = None;
            self.note(Kind::Drive { what: "the rest is over".into() });
            return false;
        }
        if self.ecm.s.power != Power::Off || self.plant.turning() {
            return false;
        }
        self.plant.rest(self.ecm.out(), left_s.min(STEP_S));
        self.sampled();
        true
    }
}

/// The battery as it is.
pub(super) fn battery_truth(b: &Battery) -> BatteryTruth {
    BatteryTruth {
        kind: b.label.kind.name().into(),
        rated_ah: b.label.rated_ah,
        capacity_ah: b.capacity_ah(),
        charge_pct: 100.0 * b.charge,
        open_circuit_v: b.open_circuit_v(),
        resistance_mohm: 1e3 * b.resistance_ohm(),
        gassing_a: b.gassing_a(),
        water_lost_g: b.water_lost_g,
        acid_c: celsius(b.acid_k),
        lost_pct: b.lost().map(|x| 100.0 * x),
    }
}
