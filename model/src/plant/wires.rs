//! Faults between a sensor's element and the module's pin: a sensor off its curve, and a defective harness.
//!
//! **Models** per sensor an offset and a gain in volts, a lag, noise, an element that no longer moves; per
//! wire an open circuit, a short to earth or to the sensors' supply, and a loose contact that interrupts the wire
//! briefly.
//!
//! **Leaves out** resistance in series, cross-talk, common earths.
//!
//! **State** ([`State`]): per sensor the lagged \[V\] and the held voltage \[V\], when a loose contact next
//! changes \[s\].
//!
//! **Parameters** ([`Ill`]): set by hand or by the initial state; a sound sensor and wire change nothing, to the last
//! bit.
//!
//! **Equations** `v' = gain·v + offset`, lagged, plus noise; then the wire.
//!
//! **Checked by** `exact_sensor_faults…` in `tests/model/faults.rs`.

use crate::num::{self, Stream};
use serde::{Deserialize, Serialize};

/// A sensor that can be at fault itself or in its wire.
pub type Sensor = crate::signals::Sensor;
/// How many sensors there are.
pub const SENSORS: usize = crate::signals::SENSORS;

/// Condition of a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wire {
    /// Sound.
    #[default]
    Sound,
    /// Open circuit.
    Open,
    /// Shorted to earth.
    ToEarth,
    /// Shorted to the sensors' supply of 5 V.
    ToSupply,
    /// A loose contact: open for moments of 0.05 to 0.5 s, once every few seconds.
    Loose,
}

/// What is wrong with a sensor and its wire.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Ill {
    /// Offset added \[V\].
    pub offset_v: f64,
    /// Gain by which the voltage is multiplied \[-\].
    pub gain: f64,
    /// Lag in addition to its own \[s\].
    pub lag_s: f64,
    /// Noise in addition to its own, standard deviation \[V\].
    pub noise_v: f64,
    /// The element no longer moves.
    pub stuck: bool,
    /// Its wire.
    pub wire: Wire,
}

impl Default for Ill {
    /// Sound.
    fn default() -> Self {
        Self { offset_v: 0.0, gain: 1.0, lag_s: 0.0, noise_v: 0.0, stuck: false, wire: Wire::Sound }
    }
}

impl Ill {
    /// A new sensor on the same wire.
    pub fn with_new_sensor(self) -> Self {
        Self { wire: self.wire, ..Self::default() }
    }
    /// Nothing is wrong.
    #[inline]
    pub fn sound(&self) -> bool {
        *self == Self::default()
    }
}

/// Mean time between two losses of a loose contact \[s\]; assumed.
const LOOSE_EVERY_S: f64 = 4.0;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct One {
    lagged_v: f64,
    held_v: f64,
    lost: bool,
    left_s: f64,
    noise: Stream,
    contact: Stream,
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    each: Vec<One>,
}

impl State {
    /// All at rest; random streams from the run's seed.
    pub fn at_rest(seed: u64) -> Self {
        let one = |name: &str| One {
            lagged_v: 0.0,
            held_v: 0.0,
            lost: false,
            left_s: 0.0,
            noise: Stream::new(seed, &format!("ill.{name}")),
            contact: Stream::new(seed, &format!("contact.{name}")),
        };
        Self { each: Sensor::ALL.iter().map(|(_, name)| one(name)).collect() }
    }

    /// How many wires there are.
    pub fn length(&self) -> usize {
        self.each.len()
    }

    /// Advances a loose contact; call once per sample. True while the wire carries no signal.
    pub fn broken(&mut self, sensor: Sensor, ill: &Ill, dt_s: f64) -> bool {
        let s = &mut self.each[sensor.index()];
        match ill.wire {
            Wire::Sound => false,
            Wire::Loose => {
                s.left_s -= dt_s;
                if s.left_s <= 0.0 {
                    s.lost = !s.lost;
                    let u = s.contact.uniform().max(1e-6);
                    s.left_s = if s.lost { 0.05 + 0.45 * u } else { -LOOSE_EVERY_S * num::ln(u) };
                }
                s.lost
            }
            _ => true,
        }
    }

    /// Converts the element's voltage to the pin's \[V\]; call once per sample.
    #[inline]
    pub fn pass(&mut self, sensor: Sensor, ill: &Ill, plugged: bool, volts: f64, dt_s: f64) -> f64 {
        // nearly every sensor is sound nearly always
        let v = if ill.sound() {
            let s = &mut self.each[sensor.index()];
            (s.held_v, s.lagged_v) = (volts, volts);
            volts
        } else {
            self.spoil(sensor, ill, volts, dt_s)
        };
        if plugged { v } else { sensor.open_v() }
    }

    /// What a sensor and a wire that are not sound make of a voltage \[V\].
    #[inline(never)]
    fn spoil(&mut self, sensor: Sensor, ill: &Ill, volts: f64, dt_s: f64) -> f64 {
        let s = &mut self.each[sensor.index()];
        let mut v = if ill.stuck { s.held_v } else { volts * ill.gain + ill.offset_v };
        s.lagged_v += (v - s.lagged_v) * num::lag_share(dt_s, ill.lag_s);
        v = s.lagged_v;
        if ill.noise_v > 0.0 {
            v += ill.noise_v * s.noise.normal();
        }
        v = v.clamp(0.0, 5.0);
        if self.broken(sensor, ill, dt_s) {
            v = match ill.wire {
                Wire::ToEarth => 0.0,
                Wire::ToSupply => 5.0,
                _ => sensor.open_v(),
            };
        }
        let s = &mut self.each[sensor.index()];
        if !ill.stuck {
            // what it would be stuck at, and where a lag would start from
            s.held_v = volts;
        }
        if ill.lag_s <= 0.0 {
            s.lagged_v = v;
        }
        v
    }
}
