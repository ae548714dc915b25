//! Ambient pressure: this module has no sensor for it and takes it from the manifold's.
//!
//! *Inside*: when the manifold stands at ambient pressure, and what is learned then. *Outside*: what the value is used
//! for (breathing, throttle area, injectors, the misfire monitor's region), the store that keeps it.
//!
//! **Learns** with the key on and the engine at rest, once the pressure has come to rest; with the throttle wide open
//! and the engine not fast, less what filter and duct take; and at once where the manifold stands above the value in
//! use, since nothing here pumps air in. Between these the value is as old as the last of them: a car that is driven up
//! a pass with a light foot believes in the air of the valley.
//!
//! **State** ([`State`]): how long the conditions have held, a mean \[kPa\].
//!
//! **Checked by** `tests/module/altitude.rs`.

use crate::ecm::inputs::{self, Pin, PinState};
use crate::ecm::memory::{self, Name, Store};
use crate::ecm::{Ecm, Gate, gates::GateKind};
use crate::link::Writer;
use crate::num::lag_share;
use crate::signals::SensorFrame;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.ambient]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// The plate counts as wide open from so far above its stop \[deg\].
    pub wide_deg: f64,
    /// Fastest engine \[rpm\] at which it is learned with the throttle wide open.
    pub up_to_rpm: f64,
    /// What filter, duct and open plate take at 100 g/s \[kPa\]; it goes with the square of the flow.
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

/// The conditions must have held for so long \[s\].
const HELD_S: f64 = 0.3;
/// At rest: the pressure within so much of its own mean \[kPa\]. A manifold that is still filling is further off.
const AT_REST_KPA: f64 = 0.2;
/// The same with the engine turning, where its firings are seen \[kPa\].
const TURNING_KPA: f64 = 2.0;
/// Time constant of that mean \[s\].
const MEAN_TAU_S: f64 = 0.3;
/// Above the value in use by so much the manifold says that it is wrong \[kPa\].
const ABOVE_KPA: f64 = 1.0;

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    mean_kpa: f64,
    held_s: f64,
    /// How the conditions stand.
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
            // outside its limits the sensor is wrong, and the old value stands
            let _ = store.write(memory_cal, Name::Ambient, told_kpa, Writer::Ordinary, i.time_s);
        }
    }
}

impl Ecm {
    /// Takes the pins in, with ambient pressure as it is known.
    pub(super) fn take_in(&mut self, f: &SensorFrame, plate: [f64; 2]) {
        self.s.inputs.ambient_kpa = self.s.store.get(Name::Ambient);
        self.s.inputs.sample(&self.cal.s.inputs, f, plate);
    }

    /// Ambient pressure, every 10 ms.
    pub(super) fn learn_ambient(&mut self, dt_s: f64) {
        let Self { cal, s, .. } = self;
        let cals = (&cal.s.ambient, &cal.s.inputs);
        s.ambient.fast(cals, &cal.s.memory, &mut s.store, &s.inputs, dt_s);
        s.inputs.ambient_kpa = s.store.get(Name::Ambient);
    }
}
