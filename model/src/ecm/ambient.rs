//! Ambient pressure: this module has no sensor for it and learns it from the manifold pressure sensor.
//!
//! *Inside*: when the manifold is at ambient pressure, and what is learned then. *Outside*: what the value is used
//! for (breathing, throttle area, injectors, the misfire monitor's region), the store that keeps it.
//!
//! **Learns** with the key on and the engine stopped, once the pressure is steady; with the throttle wide open and
//! the engine not fast, corrected for the pressure loss of filter and duct; and at once where manifold pressure is
//! above the value in use, since the engine is naturally aspirated. Between these events the value stays as last
//! learned: a car that is driven up a mountain pass with a light foot still uses the ambient pressure of the valley.
//!
//! **State** ([`State`]): how long the conditions have held, a mean \[kPa\].
//!
//! **Checked by** `tests/module/altitude.rs`.

use crate::ecm::inputs::{self, Pin, PinState};
use crate::ecm::memory::{self, Name, Store};
use crate::ecm::{Ecm, Gate};
use crate::link::Gate as GateKind;
use crate::link::Writer;
use crate::num::lag_share;
use crate::signals::SensorFrame;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.ambient]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Opening above the stop from which the plate counts as wide open \[deg\].
    pub wide_deg: f64,
    /// Highest engine speed at which ambient pressure is learned with the throttle wide open \[rpm\].
    pub up_to_rpm: f64,
    /// Pressure loss of filter, duct and open plate at 100 g/s \[kPa\]; proportional to the square of the flow.
    pub loss_kpa: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.ambient";
        between(s, "wide_deg", self.wide_deg, 20.0, 90.0)?;
        between(s, "up_to_rpm", self.up_to_rpm, 500.0, 9000.0)?;
        between(s, "loss_kpa", self.loss_kpa, 0.0, 30.0)
    }
}

/// Time for which the conditions must have held \[s\].
const HELD_S: f64 = 0.3;
/// Engine stopped: deviation of the pressure from its own mean below which it counts as steady \[kPa\]. A manifold
/// that is still filling deviates more.
const AT_REST_KPA: f64 = 0.2;
/// The same with the engine turning, where firing pulsations show \[kPa\].
const TURNING_KPA: f64 = 2.0;
/// Time constant of that mean \[s\].
const MEAN_TAU_S: f64 = 0.3;
/// Excess of manifold pressure over the value in use that shows the value to be wrong \[kPa\].
const ABOVE_KPA: f64 = 1.0;

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    mean_kpa: f64,
    held_s: f64,
    /// State of the conditions.
    pub gates: Vec<Gate>,
}

impl Default for State {
    fn default() -> Self {
        Self { mean_kpa: 0.0, held_s: 0.0, gates: Vec::with_capacity(2) }
    }
}

impl State {
    /// Every 10 ms.
    pub fn fast(
        &mut self,
        (cal, inputs_cal): (&Cal, &inputs::Cal),
        memory_cal: &memory::Cal,
        store: &mut Store,
        i: &inputs::State,
        dt_s: f64,
    ) {
        if self.mean_kpa == 0.0 {
            self.mean_kpa = i.map_kpa;
        }
        self.mean_kpa += (i.map_kpa - self.mean_kpa) * lag_share(dt_s, MEAN_TAU_S);
        let at_rest = i.rpm <= 0.0 && !i.key_crank;
        let opening_deg = inputs_cal.throttle_deg(i.throttle_v) - store.get(Name::ClosedStop);
        let wide = i.rpm > 0.0 && i.rpm <= cal.up_to_rpm && opening_deg >= cal.wide_deg;
        let calm = (i.map_kpa - self.mean_kpa).abs() < if at_rest { AT_REST_KPA } else { TURNING_KPA };
        let sound = i.looks[Pin::ManifoldPressure as usize] == PinState::Sound;
        self.held_s = if sound && calm && (at_rest || wide) { self.held_s + dt_s } else { 0.0 };
        self.gates.clear();
        self.gates.push(Gate::switch(GateKind::AtRestOrWide, at_rest || wide));
        self.gates.push(Gate::switch(GateKind::Steady, calm));
        let per_100 = 0.01 * i.air_g_s;
        let told_kpa = if at_rest { self.mean_kpa } else { self.mean_kpa + cal.loss_kpa * per_100 * per_100 };
        let above = sound && i.rpm > 0.0 && self.mean_kpa > store.get(Name::Ambient) + ABOVE_KPA;
        if self.held_s >= HELD_S || above {
            // a value outside its limits means that the sensor is wrong: the old value is kept
            let _ = store.write(memory_cal, Name::Ambient, told_kpa, Writer::Ordinary, i.time_s);
        }
    }
}

impl Ecm {
    /// Samples the pins, with ambient pressure as last learned.
    pub(super) fn take_in(&mut self, f: &SensorFrame, plate: [f64; 2]) {
        self.s.inputs.ambient_kpa = self.s.store.get(Name::Ambient);
        self.s.inputs.sample(&self.cal.s.inputs, f, plate);
    }

    /// Learns ambient pressure, every 10 ms.
    pub(super) fn learn_ambient(&mut self, dt_s: f64) {
        let Self { cal, s, .. } = self;
        let cals = (&cal.s.ambient, &cal.s.inputs);
        s.ambient.fast(cals, &cal.s.memory, &mut s.store, &s.inputs, dt_s);
        s.inputs.ambient_kpa = s.store.get(Name::Ambient);
    }
}
