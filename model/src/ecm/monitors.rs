//! Monitors of components: wires out of range, open circuits at output stages, tracks and values that disagree, a plate
//! that does not follow, a cold engine that stays cold or whose coolant is no colder than the air, one that gets too hot, a slow
//! oxygen sensor.
//!
//! *Inside*: what each looks at, for how long, and its verdict. *Outside*: the life of a code
//! ([`crate::ecm::codes`]), what the module does without the value (its tasks).
//!
//! **State** ([`State`]): one leaky count per pin and test \[s\].
//!
//! **Checked by** `practice_circuit…`, `holds_codes…` in `tests/model/faults.rs`, `tests/module/circuits.rs`.

use crate::ecm::codes::{COIL_OPEN, Code, INJECTOR_OPEN};
use crate::ecm::inputs::{self, PINS, PinState};
use crate::ecm::{Ecm, airflow};
use crate::signals::{MAX_BANKS, MAX_CYLINDERS};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.watch]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// A pin out of range for so long counts \[s\].
    pub circuit_s: f64,
    /// Throttle tracks apart by \[V\] for \[s\].
    pub tracks: [f64; 2],
    /// Plate away from its command by \[deg\] for \[s\].
    pub follows: [f64; 2],
    /// Metered over calculated air off by \[-\] for \[s\], off idle and steady.
    pub air: [f64; 2],
    /// Air that has gone through since the start for each kelvin that was missing \[g/K\]; coolant then reached \[°C\].
    pub warm_up: [f64; 2],
    /// Coolant over \[°C\] for \[s\].
    pub hot: [f64; 2],
    /// From fuel cut to a lean reading takes no longer than \[s\].
    pub lean_s: f64,
    /// A heater needs no longer than \[s\].
    pub heater_s: f64,
    /// System voltage under, over \[V\], for \[s\].
    pub supply: [f64; 3],
    /// Crank and cam: teeth of the wheel that they may lie apart, for so long \[s\].
    pub cam: [f64; 2],
    /// Crank signal: something odd counts for so long, and so much of it is a fault \[s\].
    pub teeth: [f64; 2],
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.watch";
        between(s, "cam[0]", self.cam[0], 0.0, 10.0)?;
        between(s, "cam[1]", self.cam[1], 0.1, 60.0)?;
        between(s, "teeth[0]", self.teeth[0], 0.1, 60.0)?;
        between(s, "teeth[1]", self.teeth[1], 0.1, 120.0)?;
        between(s, "circuit_s", self.circuit_s, 0.05, 60.0)?;
        for (key, v) in [("tracks", &self.tracks[..]), ("follows", &self.follows), ("air", &self.air)] {
            for x in v {
                between(s, key, *x, 0.01, 120.0)?;
            }
        }
        between(s, "warm_up[0]", self.warm_up[0], 1.0, 1000.0)?;
        between(s, "warm_up[1]", self.warm_up[1], 20.0, 110.0)?;
        between(s, "hot[0]", self.hot[0], 100.0, 150.0)?;
        between(s, "hot[1]", self.hot[1], 0.1, 600.0)?;
        between(s, "lean_s", self.lean_s, 0.05, 10.0)?;
        between(s, "heater_s", self.heater_s, 1.0, 600.0)?;
        between(s, "supply[0]", self.supply[0], 6.0, 13.0)?;
        between(s, "supply[1]", self.supply[1], 14.0, 20.0)?;
        between(s, "supply[2]", self.supply[2], 0.5, 120.0)
    }
}

/// A warm-up that begins colder than this is not judged \[°C\]: 20 °F, 13 CCR 1968.2 (e)(10), from memory.
const JUDGED_FROM_C: f64 = -7.0;
/// A warm-up is given the air of at least so many kelvins \[K\]: block and oil of a half warm engine are colder than its
/// coolant, and are warmed too; our own.
const LEAST_RISE_K: f64 = 40.0;
/// From this coolant the film on the walls is gone soon enough after a cut for the sensor to be judged \[°C\].
const SLOW_FROM_C: f64 = 70.0;

/// The line from the alternator's regulator is open over this \[V\]: common practice.
pub(super) const GENERATOR_OPEN_V: f64 = 4.7;
/// A heater that draws less than this is open \[A\]: common practice.
const HEATER_LEAST_A: f64 = 0.25;

/// A count that rises three times as fast as it falls, so that a loose contact adds up.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
struct Leaky {
    bad_s: f64,
    good_s: f64,
}

impl Leaky {
    fn count(&mut self, bad: bool, for_s: f64, dt_s: f64) -> Option<bool> {
        if bad {
            self.bad_s = (self.bad_s + dt_s).min(1.5 * for_s);
            self.good_s = 0.0;
        } else {
            self.bad_s = (self.bad_s - dt_s / 3.0).max(0.0);
            self.good_s += dt_s;
        }
        if self.bad_s >= for_s - 1e-9 {
            Some(true)
        } else if self.good_s >= 4.0 * for_s {
            Some(false)
        } else {
            None
        }
    }
}

/// State of the monitors.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    pins: [Leaky; PINS.len()],
    tracks: Leaky,
    follows: Leaky,
    air: Leaky,
    hot: Leaky,
    crank: Leaky,
    teeth: Leaky,
    cam: Leaky,
    low_v: Leaky,
    high_v: Leaky,
    start_c: Option<f64>,
    through_g: f64,
    steady_s: f64,
    last_air: f64,
    cut_s: f64,
    /// This cut is not judged any more: lean was seen, or the conditions were not met from its beginning.
    cut_over: [bool; 2],
    heated: [Option<bool>; 2],
    injectors: [Leaky; MAX_CYLINDERS],
    coils: [Leaky; MAX_CYLINDERS],
    purge: Leaky,
    fan: Leaky,
    rear_heaters: [Leaky; MAX_BANKS],
    generator: Leaky,
    /// The car has stood long enough to compare temperatures, which is still to be done.
    cold: bool,
    since_key_on_s: f64,
}

/// What the monitors look at besides the inputs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Around {
    /// The engine runs by itself, since \[s\].
    pub running: bool,
    /// Since the start \[s\].
    pub running_s: f64,
    /// Fuel is cut.
    pub cut: bool,
    /// Idle control in force.
    pub idling: bool,
    /// Voltage wanted of the throttle's sensor; none while the plate is left to its springs.
    pub throttle_v: Option<f64>,
    /// Volts per degree of the plate.
    pub throttle_v_deg: f64,
    /// Starter driven.
    pub starter: bool,
    /// Banks.
    pub banks: usize,
    /// Cylinders.
    pub cylinders: usize,
    /// Heaters of the oxygen sensors driven.
    pub heaters: bool,
    /// Recirculated exhaust gas by the module's book \[g/s\].
    pub gas_g_s: f64,
}

/// Code by pin of [`PINS`]: low, high.
const CIRCUITS: [[Code; 2]; PINS.len()] = [
    [Code::P0102, Code::P0103],
    [Code::P0107, Code::P0108],
    [Code::P0122, Code::P0123],
    [Code::P0222, Code::P0223],
    [Code::P2122, Code::P2123],
    [Code::P0117, Code::P0118],
    [Code::P0112, Code::P0113],
    [Code::P0131, Code::P0132],
    [Code::P0151, Code::P0152],
];

/// Time after which coolant and inlet air have the same temperature \[s\]: eight hours, as common practice has it.
const COLD_AFTER_S: f64 = 8.0 * 3600.0;
/// Difference above which a coolant sensor after such a time counts as wrong, and below which it counts as right \[K\]; our own
/// values.
const APART_K: [f64; 2] = [20.0, 10.0];

impl State {
    /// Key turned on, so long after it was turned off \[s\].
    pub fn key_on(stood_s: f64) -> Self {
        Self { cold: stood_s >= COLD_AFTER_S, ..Self::default() }
    }
    /// Every 100 ms: verdicts, as far as the monitors have come to one.
    pub fn slow(
        &mut self,
        cal: &Cal,
        i: &inputs::State,
        a: &Around,
        dt_s: f64,
        verdict: &mut dyn FnMut(Code, Option<bool>),
    ) {
        for (k, codes) in CIRCUITS.into_iter().enumerate() {
            let bank = k.checked_sub(inputs::Pin::Oxygen1 as usize);
            if bank.is_some_and(|b| b >= a.banks) {
                continue;
            }
            let look = i.looks[k];
            // a sensor that is still cold shows no voltage
            let waits = bank.is_some() && look != PinState::High && a.running_s < cal.heater_s;
            if waits || i.supply_v < 9.0 {
                continue;
            }
            match (self.pins[k].count(look != PinState::Sound, cal.circuit_s, dt_s), look) {
                (Some(true), PinState::Low) => verdict(codes[0], Some(true)),
                (Some(true), PinState::High) => verdict(codes[1], Some(true)),
                (Some(false), _) => codes.into_iter().for_each(|c| verdict(c, Some(false))),
                _ => {}
            }
        }
        verdict(Code::P2135, self.tracks.count(i.tracks_apart_v.abs() > cal.tracks[0], cal.tracks[1], dt_s));
        if let Some(v) = a.throttle_v {
            let off_deg = (v - i.throttle_v).abs() / a.throttle_v_deg;
            verdict(Code::P2119, self.follows.count(off_deg > cal.follows[0], cal.follows[1], dt_s));
        }
        let [low, high, for_s] = cal.supply;
        if a.running {
            verdict(Code::P0562, self.low_v.count(i.supply_v < low, for_s, dt_s));
        }
        let [hot_c, hot_s] = cal.hot;
        if a.running && i.looks[inputs::Pin::Coolant as usize] == PinState::Sound {
            verdict(Code::P0217, self.hot.count(i.coolant_c > hot_c, hot_s, dt_s));
        }
        verdict(Code::P0563, self.high_v.count(i.supply_v > high, for_s, dt_s));
        // a starter without the voltage to turn the engine says nothing of the sensor
        if a.starter && i.supply_v >= 9.0 {
            verdict(Code::P0335, self.crank.count(i.silent(), 2.5, dt_s));
        } else if a.running {
            verdict(Code::P0335, Some(false));
        }
        let odd = i.odd_at_s > 0.0 && i.time_s - i.odd_at_s < cal.teeth[0];
        if odd || a.running {
            verdict(Code::P0336, self.teeth.count(odd, cal.teeth[1], dt_s));
        }
        if let Some(off) = i.cam_off_teeth.filter(|_| a.running) {
            verdict(Code::P0016, self.cam.count(off.abs() > cal.cam[0] as i32, cal.cam[1], dt_s));
        }
        self.compare_cold(i, dt_s, verdict);
        self.stages(cal, i, a, dt_s, verdict);
        self.air(cal, i, a, dt_s, verdict);
        self.warm_up(cal, i, a, dt_s, verdict);
        self.oxygen(cal, i, a, dt_s, verdict);
    }

    /// Circuits that the output stages find open.
    fn stages(
        &mut self,
        cal: &Cal,
        i: &inputs::State,
        a: &Around,
        dt_s: f64,
        verdict: &mut dyn FnMut(Code, Option<bool>),
    ) {
        // under the starter the supply gives way
        if i.supply_v < 9.0 || a.starter {
            return;
        }
        let s = &i.stages;
        let open = |pin_v: f64| pin_v < 0.5 * i.supply_v;
        let mut look = |count: &mut Leaky, bad: bool, code: Code| {
            verdict(code, count.count(bad, cal.circuit_s, dt_s));
        };
        for c in 0..a.cylinders {
            look(&mut self.injectors[c], open(s.injector_v[c]), INJECTOR_OPEN[c]);
            look(&mut self.coils[c], open(s.coil_v[c]), COIL_OPEN[c]);
        }
        look(&mut self.purge, open(s.purge_v), Code::P0443);
        look(&mut self.fan, open(s.fan_v), Code::P0480);
        look(&mut self.generator, s.generator_v > GENERATOR_OPEN_V, Code::P0622);
        if a.heaters {
            for (b, code) in [Code::P0141, Code::P0161].into_iter().enumerate().take(a.banks) {
                look(&mut self.rear_heaters[b], s.rear_heater_a[b] < HEATER_LEAST_A, code);
            }
        }
    }

    fn air(
        &mut self,
        cal: &Cal,
        i: &inputs::State,
        a: &Around,
        dt_s: f64,
        verdict: &mut dyn FnMut(Code, Option<bool>),
    ) {
        let steady = (i.air_g_s - self.last_air).abs() < 0.05 * self.last_air.max(1.0);
        self.last_air += (i.air_g_s - self.last_air) * crate::num::lag_share(dt_s, 1.0);
        self.steady_s = if steady { self.steady_s + dt_s } else { 0.0 };
        let sound = i.looks[inputs::Pin::AirMeter as usize] == PinState::Sound
            && i.looks[inputs::Pin::ManifoldPressure as usize] == PinState::Sound;
        if !a.running || a.idling || a.cut || !sound || self.steady_s < 2.0 || a.running_s < 30.0 {
            return;
        }
        // pressure tells of all that the engine draws
        let ratio = (i.air_g_s + a.gas_g_s) / i.air_by_pressure_g_s.max(0.1);
        let off = ratio > 1.0 + cal.air[0] || ratio < 1.0 / (1.0 + cal.air[0]);
        verdict(Code::P0101, self.air.count(off, cal.air[1], dt_s));
    }

    /// After a night coolant and inlet air are as cold as each other.
    fn compare_cold(&mut self, i: &inputs::State, dt_s: f64, verdict: &mut dyn FnMut(Code, Option<bool>)) {
        self.since_key_on_s += dt_s;
        if !self.cold || self.since_key_on_s < 2.0 {
            return;
        }
        self.cold = false;
        let sound = |pin: inputs::Pin| i.looks[pin as usize] == PinState::Sound;
        if !sound(inputs::Pin::Coolant) || !sound(inputs::Pin::InletAir) {
            return;
        }
        let apart_k = (i.coolant_c - i.inlet_c).abs();
        if apart_k > APART_K[0] {
            verdict(Code::P0116, Some(true));
        } else if apart_k < APART_K[1] {
            verdict(Code::P0116, Some(false));
        }
    }

    fn warm_up(
        &mut self,
        cal: &Cal,
        i: &inputs::State,
        a: &Around,
        dt_s: f64,
        verdict: &mut dyn FnMut(Code, Option<bool>),
    ) {
        if !a.running {
            return;
        }
        let start_c = *self.start_c.get_or_insert(i.coolant_c);
        self.through_g += i.air_g_s * dt_s;
        let [per_k, reached_c] = cal.warm_up;
        if i.coolant_c >= reached_c {
            verdict(Code::P0128, Some(false));
        } else if (JUDGED_FROM_C..reached_c - 15.0).contains(&start_c)
            && self.through_g > per_k * (reached_c - start_c).max(LEAST_RISE_K)
        {
            verdict(Code::P0128, Some(true));
        }
    }

    fn oxygen(
        &mut self,
        cal: &Cal,
        i: &inputs::State,
        a: &Around,
        dt_s: f64,
        verdict: &mut dyn FnMut(Code, Option<bool>),
    ) {
        const SLOW: [Code; 2] = [Code::P0133, Code::P0153];
        const HEATER: [Code; 2] = [Code::P0135, Code::P0155];
        self.cut_s = if a.cut { self.cut_s + dt_s } else { 0.0 };
        for b in 0..a.banks {
            let told = i.lambda[b] > 0.0;
            if a.running && a.running_s > cal.heater_s && self.heated[b].is_none() {
                self.heated[b] = Some(told);
            }
            if let Some(warm) = self.heated[b] {
                verdict(HEATER[b], Some(!warm));
            }
            if !a.cut {
                self.cut_over[b] = false;
            } else if !told || i.coolant_c < SLOW_FROM_C {
                // the time since the cut says nothing of a sensor that was not ready when it began
                self.cut_over[b] = true;
            } else if !self.cut_over[b] && i.lambda[b] > 1.6 {
                self.cut_over[b] = true;
                verdict(SLOW[b], Some(self.cut_s > cal.lean_s));
            } else if !self.cut_over[b] && self.cut_s > 2.0 * cal.lean_s {
                verdict(SLOW[b], Some(true));
            }
        }
    }

    /// Codes were cleared: counts start anew.
    pub fn forget(&mut self) {
        let kept = (self.start_c, self.through_g);
        *self = Self { start_c: kept.0, through_g: kept.1, ..Self::default() };
    }
}

impl Ecm {
    /// Every 100 ms.
    pub(super) fn monitor(&mut self, dt: f64) {
        let mut told: Vec<(Code, bool)> = Vec::new();
        let cal = &self.cal.s;
        let s = &mut self.s;
        let around = Around {
            running: s.running,
            running_s: s.fuel.running_s,
            cut: s.fuel.cut,
            idling: s.air.idling,
            // pressed against its stop to be seen, the plate cannot follow
            throttle_v: s
                .out
                .throttle_v
                .filter(|_| !matches!(s.air.plate, airflow::PlateMode::Learning(_)))
                .map(|v| if s.out.by_throttle2 { 5.0 - v } else { v }),
            throttle_v_deg: cal.inputs.throttle_v_deg,
            starter: s.out.starter,
            banks: self.cal.plate.bank_count(),
            cylinders: self.cal.plate.firing_order.len(),
            heaters: s.out.lambda_heater,
            gas_g_s: s.egr.gas_g_s(cal.egr.as_ref()),
        };
        s.monitors.slow(&cal.watch, &s.inputs, &around, dt, &mut |code, seen| {
            if let Some(bad) = seen
                && (bad || s.codes.standing(code).failing || !s.codes.standing(code).tested)
            {
                told.push((code, bad));
            }
        });
        for (code, bad) in told {
            self.verdict(code, Some(bad));
        }
    }
}
