//! Faults for an instructor who wants to surprise: by level, with place and size drawn from a seed.
//!
//! *Inside*: the table, which of them suit a car in its present state, the draw. *Outside*: applying one (session),
//! their names (`assets/words/en/catalogue.ftl`).
//!
//! A level means what it means for scenarios (`docs/instructor.md`): 1, the first evidence points at the fault; 2, it
//! points at a sound part as well; 3, evidence conflicts. A fault has a level here only if a technician finds it with
//! what the bench offers. Sizes are *assumed*: large enough to be noticed on every car, and no larger.
//!
//! **Checked by** `tests/attempts/surprise.rs`.

use crate::bench::action::{Action, Connector, Ill, PartChoice, PartKind, Sensor, Wire};
use crate::bench::has::Has;
use crate::num::Stream;

/// Draws a place and a size: each from its own range, evenly.
type Draw = fn(&Has, &mut Stream) -> Action;

/// A fault with its level.
#[derive(Debug, Clone, Copy)]
pub struct Surprise {
    /// Its id; message `surprise-ID` names it.
    pub id: &'static str,
    /// Its level, 1 to 3.
    pub level: u8,
    /// A part is exchanged for it, which needs a standing engine.
    pub standing: bool,
    draw: Draw,
}

const fn fault(id: &'static str, level: u8, draw: Draw) -> Surprise {
    Surprise { id, level, standing: false, draw }
}

const fn part(id: &'static str, level: u8, draw: Draw) -> Surprise {
    Surprise { id, level, standing: true, draw }
}

/// A size between two ends.
fn size(s: &mut Stream, low: f64, high: f64) -> f64 {
    // as somebody would set it: in twentieths of the range
    low + (high - low) * (20.0 * s.uniform()).round() / 20.0
}

/// One of so many, from 1.
fn which(s: &mut Stream, of: u8) -> u8 {
    1 + ((s.uniform() * f64::from(of)) as u8).min(of.saturating_sub(1))
}

/// The sensor by which the module calculates its air.
fn air(has: &Has) -> Sensor {
    if has.air_meter { Sensor::AirMeter } else { Sensor::ManifoldPressure }
}

fn fitted(kind: PartKind, key: &str, x: f64) -> Action {
    let mut choice = PartChoice::new(kind);
    choice.say(key, Some(x));
    Action::Fit(choice)
}

/// Every fault.
pub const SURPRISES: &[Surprise] = &[
    // a code of the circuit, or of the one cylinder, names what is open
    fault("coolant-wire", 1, |_, _| {
        Action::Sensor(Sensor::Coolant, Ill { wire: Wire::Open, ..Ill::default() })
    }),
    fault("air-wire", 1, |has, _| Action::Sensor(air(has), Ill { wire: Wire::Open, ..Ill::default() })),
    fault("coil-plug", 1, |has, s| Action::Connector(Connector::Coil(which(s, has.cylinders)), false)),
    // the warning and the voltmeter say that nothing charges
    fault("alternator-plug", 1, |_, _| Action::Connector(Connector::Alternator, false)),
    // trims and a lean code could be the MAF sensor's, the fuel pump's or the regulator's
    fault("inlet-leak", 2, |_, s| Action::Leak(size(s, 6.0, 16.0))),
    // a misfire code could be the coil's or the plug's
    fault("injector-plug", 2, |has, s| {
        Action::Connector(Connector::Injector(which(s, has.cylinders)), false)
    }),
    fault("weak-spark", 2, |has, s| Action::Interrupt(which(s, has.cylinders), size(s, 20.0, 60.0))),
    part("wide-gap", 2, |has, s| {
        fitted(PartKind::Plug(which(s, has.cylinders)), "gap_mm", size(s, 1.8, 2.4))
    }),
    // lean where much is asked for: a MAF sensor that reads low looks the same
    part("weak-pump", 2, |_, s| fitted(PartKind::FuelPump, "wear_pct", size(s, 55.0, 75.0))),
    // cold for long: the sensor could be wrong
    part("open-thermostat", 2, |_, s| fitted(PartKind::Thermostat, "wear_pct", size(s, 70.0, 95.0))),
    // plausible, no code of its own, and everything that follows from it contradicts something else
    fault("coolant-reads-wrong", 3, |_, s| {
        Action::Sensor(Sensor::Coolant, Ill { offset_v: size(s, 0.4, 0.9), ..Ill::default() })
    }),
    // a MAF sensor's flow goes with a high power of its voltage, pressure in proportion
    fault("air-reads-low", 3, |has, s| {
        let gain = if has.air_meter { size(s, 0.94, 0.97) } else { size(s, 0.86, 0.92) };
        Action::Sensor(air(has), Ill { gain, ..Ill::default() })
    }),
    // the sensor sees air that the engine did not get: trims say lean, the gas says rich
    fault("exhaust-leak", 3, |_, s| Action::ExhaustLeak(size(s, 25.0, 60.0))),
    // the bank's mean is right while one cylinder is lean
    part("lean-cylinder", 3, |has, s| {
        fitted(PartKind::Injector(which(s, has.cylinders)), "error_pct", -size(s, 15.0, 30.0))
    }),
    // misfires are counted that never happened
    part("bent-bracket", 3, |_, _| fitted(PartKind::CrankSensor, "bent", 1.0)),
];

impl Surprise {
    /// The act that applies it: the same for the same seed and the same count of earlier ones.
    pub fn action(&self, has: &Has, seed: u64, nth: u32) -> Action {
        (self.draw)(has, &mut Stream::new(seed, &format!("surprise.{}.{nth}", self.id)))
    }
}

/// The faults of a level that can be applied now.
pub fn of_level(level: u8, turning: bool) -> impl Iterator<Item = &'static Surprise> {
    SURPRISES.iter().filter(move |s| s.level == level && !(s.standing && turning))
}

/// Any fault of a level that can be applied now, chosen by the seed and by how many were applied before.
pub fn any_of(level: u8, turning: bool, has: &Has, seed: u64, nth: u32) -> Option<Action> {
    let all: Vec<&Surprise> = of_level(level, turning).collect();
    let most = all.len().saturating_sub(1);
    let mut s = Stream::new(seed, &format!("surprise.level{level}.{nth}"));
    let k = ((s.uniform() * all.len() as f64) as usize).min(most);
    all.get(k).map(|one| one.action(has, seed, nth))
}
