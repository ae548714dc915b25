//! Idle speed control, learned idle air, the throttle's closed stop.
//!
//! **Models** how a module controls its throttle: air demand as a sum of base, load feed-forward,
//! learned parts and PI, converted to a plate position through the nominal clean plate and the stored stop;
//! spark as the fast actuator; ordinary learning, the manual sequence and the commanded learn.
//!
//! **Leaves out** cruise control, torque coordination, the fast position loop (it is in the output stage).
//!
//! **State** ([`State`]): mode of the plate, entry timers, integrator \[g/s\], dashpot \[g/s\], means.
//!
//! **Equations**
//! 1. `air = base(T, gear) + load + learned light (+ learned difference) + PI + dashpot + start` \[g/s\].
//! 2. `area = air / (p/√(RT) Ψ)`; plate from the nominal table of area over opening.
//! 3. Integrator: `k_i · error`, at most 0.3 g/s per s; `PI = clamp(k_p · error + integrator)`.
//!
//! **Valid** for closed pedal; with the pedal down the plate follows it and PI is zero.
//!
//! **Checked by** M1 to M7b in `tests/module/learning.rs`.

mod learning;

use crate::ecm::codes::Codes;
use crate::ecm::memory::{Name, Store};
use crate::ecm::{Gate, inputs, memory, sequences};
use crate::link::{Failed, Writer};
use crate::num::{self, FlowFunction, Table};
use crate::units::{ParamError, ParamRule, R_AIR, between, kelvin};
use serde::{Deserialize, Serialize};

/// The `[module.idle]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Target speed \[rpm\] over coolant \[°C\].
    pub target_rpm: Table,
    /// Target added in drive \[rpm\].
    pub drive_rpm: f64,
    /// Base air \[g/s\] over coolant \[°C\].
    pub base_g_s: Table,
    /// Air added in drive \[g/s\].
    pub drive_g_s: f64,
    /// Air for one N·m of load \[g/s\].
    pub per_nm_g_s: f64,
    /// Nominal alternator current \[A\] over speed \[rpm\].
    pub alternator_a: Table,
    /// Nominal alternator efficiency.
    pub alternator_efficiency: f64,
    /// Alternator torque already included in the base air \[N m\].
    pub alternator_base_nm: f64,
    /// Nominal compressor torque \[N m\].
    pub compressor_nm: f64,
    /// Delay from request to clutch engagement, with the air already added; delay from the end of the request to
    /// clutch release, with the air already removed \[s\].
    pub compressor_delay_s: [f64; 2],
    /// Nominal clean plate: area including the discharge coefficient \[mm²\], over opening \[deg\].
    pub plate_mm2: Table,
    /// Proportional gain \[g/s per rpm\].
    pub kp: f64,
    /// Integral gain \[g/s per rpm and s\].
    pub ki: f64,
    /// Maximum slew rate of the integrator \[g/s per s\].
    pub integrator_slew: f64,
    /// PI authority in either direction \[g/s\].
    pub authority_g_s: f64,
    /// Upward PI authority and initial value of the integrator while the window is open \[g/s\].
    pub open_window_g_s: [f64; 2],
    /// Share of the air demand supplied while cranking \[-\], over coolant \[°C\].
    pub crank_air_share: Table,
    /// Air added from cranking onwards \[g/s\], and the time constant of its decay once the engine runs \[s\].
    pub start_g_s: [f64; 2],
    /// Dashpot: air held back from when the pedal is let go \[g/s\], and the time constant of its decay from entry on \[s\].
    pub dashpot: [f64; 2],
    /// Entry: speed above target \[rpm\], and not rising faster than \[rpm/s\] after the pedal was pressed; or pedal closed
    /// for \[s\] and speed falling slower than \[rpm/s\], the same limit.
    pub entry: [f64; 3],
    /// Spark authority about the base: short-term, continuous \[deg\]; duration of the short-term one \[s\].
    pub spark_authority: [f64; 3],
    /// Spark gain \[deg/rpm\].
    pub spark_deg_rpm: f64,
    /// Warm enough to learn, too hot to learn \[°C\].
    pub learn_coolant_c: [f64; 2],
    /// Ordinary learning: speed error \[rpm\], for how long \[s\], integrator \[g/s\].
    pub learn_gate: [f64; 3],
    /// Ordinary learning \[g/s per min\].
    pub learn_g_s_min: f64,
    /// Commanded learn: rate \[g/s per s\], PI \[g/s\], speed error \[rpm\], for \[s\], refused after \[s\].
    pub commanded: [f64; 5],
    /// Electrical load above which the commanded learn refuses \[A\]; least supply \[V\].
    pub commanded_electrical: [f64; 2],
    /// Permitted difference between the stored and the measured stop \[deg\].
    pub stop_tolerance_deg: f64,
    /// Plate \[deg\] over pedal \[%\].
    pub pedal_deg: Table,
    /// Maximum plate opening while the stop is unknown \[deg\].
    pub limited_deg: f64,
    /// Idle codes: above, below target \[rpm\], for \[s\].
    pub codes: [f64; 3],
}

impl Cal {
    /// Base air of a warm engine, at 90 °C \[g/s\].
    pub fn warm_base_g_s(&self) -> f64 {
        self.base_g_s.at(90.0)
    }
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.idle";
        for p in self.target_rpm.points() {
            between(s, "target_rpm", p[1], 400.0, 2500.0)?;
        }
        for p in self.base_g_s.points() {
            between(s, "base_g_s", p[1], 0.5, 30.0)?;
        }
        for w in self.plate_mm2.points().windows(2) {
            if w[1][1] <= w[0][1] {
                return Err(ParamError::new(s, "plate_mm2", ParamRule::Rising));
            }
        }
        between(s, "drive_rpm", self.drive_rpm, -300.0, 300.0)?;
        between(s, "drive_g_s", self.drive_g_s, 0.0, 10.0)?;
        between(s, "per_nm_g_s", self.per_nm_g_s, 0.0, 1.0)?;
        between(s, "alternator_efficiency", self.alternator_efficiency, 0.2, 1.0)?;
        between(s, "alternator_base_nm", self.alternator_base_nm, 0.0, 30.0)?;
        between(s, "compressor_nm", self.compressor_nm, 0.0, 50.0)?;
        between(s, "compressor_delay_s", self.compressor_delay_s[0], 0.0, 5.0)?;
        between(s, "compressor_delay_s", self.compressor_delay_s[1], 0.0, 5.0)?;
        between(s, "kp", self.kp, 0.0, 0.1)?;
        between(s, "ki", self.ki, 0.0, 0.1)?;
        between(s, "integrator_slew", self.integrator_slew, 0.0, 10.0)?;
        between(s, "authority_g_s", self.authority_g_s, 0.0, 10.0)?;
        between(s, "spark_deg_rpm", self.spark_deg_rpm, 0.0, 1.0)?;
        between(s, "spark_authority[0]", self.spark_authority[0], 0.0, 30.0)?;
        between(s, "spark_authority[1]", self.spark_authority[1], 0.0, self.spark_authority[0])?;
        for (key, all, high) in [
            ("start_g_s", &self.start_g_s[..], 60.0),
            ("open_window_g_s", &self.open_window_g_s, 20.0),
            ("dashpot", &self.dashpot, 60.0),
            ("entry", &self.entry, 10_000.0),
            ("learn_gate", &self.learn_gate, 1000.0),
            ("commanded", &self.commanded, 3600.0),
            ("commanded_electrical", &self.commanded_electrical, 500.0),
            ("codes", &self.codes, 5000.0),
        ] {
            for v in all {
                between(s, key, *v, 0.0, high)?;
            }
        }
        for p in self.alternator_a.points() {
            between(s, "alternator_a", p[1], 0.0, 500.0)?;
        }
        between(s, "learn_coolant_c", self.learn_coolant_c[0], -40.0, 150.0)?;
        between(s, "learn_coolant_c", self.learn_coolant_c[1], self.learn_coolant_c[0], 150.0)?;
        between(s, "learn_g_s_min", self.learn_g_s_min, 0.0, 10.0)?;
        between(s, "commanded[4]", self.commanded[4], 1.0, 3600.0)?;
        between(s, "stop_tolerance_deg", self.stop_tolerance_deg, 0.0, 5.0)?;
        between(s, "limited_deg", self.limited_deg, 1.0, 90.0)?;
        between(s, "codes[2]", self.codes[2], 1.0, 600.0)
    }
}

/// Voltage below which the throttle sensor's wire counts as open \[V\].
const LEAST_SENSOR_V: f64 = 0.2;
/// Field duty from which the alternator gives its full output \[-\].
const FULL_FIELD: f64 = 0.98;
/// Air that idle control takes away, summed over time, until the torque of an alternator that is short is no longer counted on
/// \[g\], and how long until all of it is again \[s\]; our own values.
const SHARE_G: f64 = 6.0;
const SHARE_BACK_S: f64 = 20.0;

/// Moving mean over a fixed number of samples, 100 ms each.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    ring: Vec<f64>,
    next: usize,
    full: bool,
}

impl Mean {
    /// Over `n` entries.
    pub fn new(n: usize) -> Self {
        Self { ring: vec![0.0; n], next: 0, full: false }
    }
    /// Adds a sample.
    pub fn add(&mut self, x: f64) {
        self.ring[self.next] = x;
        self.next += 1;
        if self.next == self.ring.len() {
            self.next = 0;
            self.full = true;
        }
    }
    /// Discards all samples.
    pub fn clear(&mut self) {
        self.next = 0;
        self.full = false;
    }
    /// The mean, once full.
    pub fn get(&self) -> Option<f64> {
        self.full.then(|| self.ring.iter().sum::<f64>() / self.ring.len() as f64)
    }
}

/// What the plate is doing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum PlateMode {
    /// Not driven.
    Released,
    /// Closing at key-on to measure the stop, since \[s\].
    Seeking(f64),
    /// Driven.
    Driven,
    /// Learning the stop on request, since \[s\].
    Learning(f64),
}

/// State of the task.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// What the plate is doing.
    pub plate: PlateMode,
    /// The stop agrees with the stored one.
    pub stop_known: bool,
    /// Idle control is active.
    pub idling: bool,
    /// Time at which idle control became active \[s\].
    pub idle_since_s: f64,
    /// Integrator \[g/s\].
    pub integrator: f64,
    /// PI as used \[g/s\].
    pub pi: f64,
    /// Dashpot \[g/s\].
    pub dashpot: f64,
    /// Air added for the start \[g/s\].
    pub start: f64,
    /// Target \[rpm\].
    pub target_rpm: f64,
    /// Target requested over the link, valid until key-off \[rpm\].
    pub asked_rpm: Option<f64>,
    /// Base \[g/s\].
    pub base: f64,
    /// Load feed-forward \[g/s\].
    pub load: f64,
    /// Current demanded from the alternator \[A\].
    alternator_a: f64,
    /// Share of its torque that is counted on \[-\].
    pub alternator_share: f64,
    /// Learned part in use \[g/s\].
    pub learned: f64,
    /// Spark correction \[deg\].
    pub spark_add: f64,
    /// Compressor clutch to be driven.
    pub compressor: bool,
    /// Means of speed error and integrator over 2 s, of speed error over 5 s.
    error_2s: Mean,
    integrator_2s: Mean,
    error_5s: Mean,
    error_good_s: f64,
    closed_s: f64,
    /// The pedal was pressed since idle control was last in force.
    opened: bool,
    last_rpm: f64,
    falling: f64,
    spark_far_s: f64,
    request_s: f64,
    released_s: f64,
    kept: bool,
    stalled: bool,
    high_s: f64,
    low_s: f64,
    good_s: f64,
    /// The manual sequence.
    pub sequence: sequences::State,
    /// Integrator value when a routine cut out a cylinder \[g/s\]; nothing is learned meanwhile.
    pub cut_out: Option<f64>,
    /// Commanded learn in progress: elapsed time \[s\], time within its limits \[s\].
    pub commanded: Option<(f64, f64)>,
    /// Gates of ordinary learning, by value: light, loaded.
    pub gates: [Vec<Gate>; 2],
    /// Gates that the manual sequence judges.
    pub window_gates: Vec<Gate>,
    seek_sum: (f64, u32),
}

impl Default for State {
    fn default() -> Self {
        Self {
            plate: PlateMode::Released,
            stop_known: false,
            idling: false,
            idle_since_s: 0.0,
            integrator: 0.0,
            pi: 0.0,
            dashpot: 0.0,
            start: 0.0,
            target_rpm: 0.0,
            asked_rpm: None,
            base: 0.0,
            load: 0.0,
            alternator_a: 0.0,
            alternator_share: 1.0,
            learned: 0.0,
            spark_add: 0.0,
            compressor: false,
            error_2s: Mean::new(20),
            integrator_2s: Mean::new(20),
            error_5s: Mean::new(50),
            error_good_s: 0.0,
            closed_s: 0.0,
            opened: false,
            last_rpm: 0.0,
            falling: 0.0,
            spark_far_s: 0.0,
            request_s: 0.0,
            released_s: 0.0,
            kept: false,
            stalled: false,
            high_s: 0.0,
            low_s: 0.0,
            good_s: 0.0,
            sequence: sequences::State::default(),
            cut_out: None,
            commanded: None,
            gates: [Vec::with_capacity(12), Vec::with_capacity(12)],
            window_gates: Vec::with_capacity(12),
            seek_sum: (0.0, 0),
        }
    }
}

/// Time in which the manifold's air of an open throttle has gone into the cylinders \[s\]: some three filling times at idle.
const EMPTIES_S: f64 = 0.3;

/// (2) Air through a square millimetre of the nominal plate \[g/s\] at a ratio of manifold to ambient pressure.
pub fn per_mm2(i: &inputs::State, flow: &FlowFunction, ratio: f64) -> f64 {
    let ambient_pa = i.ambient_kpa.max(50.0) * 1e3;
    1e-6 * ambient_pa / (R_AIR * kelvin(i.inlet_c)).sqrt() * flow.at(ratio) * 1e3
}

/// Events that this task reports to the rest of the module.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// The manual sequence was aborted at this step, and nothing was written.
    SequenceAborted(u8),
    /// The manual sequence was completed.
    SequenceDone,
    /// The running routine ended: completed, or failed for a reason.
    RoutineEnded(Result<(), Failed>),
    /// Idle control became active.
    IdleEntered,
}

/// Inputs and stores that the task works with.
pub struct Context<'a> {
    /// Inputs.
    pub inputs: &'a inputs::State,
    /// Their calibration.
    pub inputs_cal: &'a inputs::Cal,
    /// Learned values.
    pub store: &'a mut Store,
    /// Their calibration.
    pub memory_cal: &'a memory::Cal,
    /// Codes.
    pub codes: &'a Codes,
    /// Nominal flow function.
    pub flow: &'a FlowFunction,
    /// The engine runs under its own power and its start is complete.
    pub running: bool,
    /// The alternator gives all it can, and less than it is asked for.
    pub alternator_gives_all: bool,
}

impl State {
    /// Key turned on.
    pub fn key_on(&mut self, now_s: f64) {
        let kept = std::mem::take(&mut self.sequence);
        *self = Self { sequence: kept, ..Self::default() };
        self.sequence = sequences::State::default();
        self.plate = PlateMode::Seeking(now_s);
    }
    /// Key turned off.
    pub fn key_off(&mut self) {
        *self = Self::default();
    }
    /// The engine stalled with the key on.
    pub fn stalled(&mut self) {
        self.idling = false;
        self.pi = 0.0;
        self.kept = true;
        self.stalled = true;
        self.closed_s = 0.0;
        self.spark_add = 0.0;
        self.commanded = None;
    }

    /// Mean speed at idle over the last two seconds \[rpm\].
    pub fn mean_rpm(&self) -> f64 {
        self.target_rpm - self.error_2s.get().unwrap_or(0.0)
    }

    /// A routine cuts out a cylinder. Idle control stays active, so that a sound engine does not stall on the others.
    pub fn cylinder_out(&mut self) {
        self.cut_out = Some(self.integrator);
    }
    /// The cylinder fires again: the air added to compensate for it is removed, or engine speed would flare.
    pub fn cylinder_back(&mut self) {
        if let Some(before) = self.cut_out.take() {
            self.integrator = before;
        }
    }

    /// Whether any switched load is on.
    pub fn switched_load(&self, i: &inputs::State) -> bool {
        i.compressor_request || i.heated_glass || i.lamps || !i.neutral
    }

    /// Fast task, every 10 ms: commanded plate position (sensor volts), or none.
    pub fn fast(
        &mut self,
        cal: &Cal,
        c: &mut Context<'_>,
        dt_s: f64,
        events: &mut Vec<Event>,
    ) -> Option<f64> {
        let i = c.inputs;
        let own_rpm = cal.target_rpm.at(i.coolant_c) + if i.neutral { 0.0 } else { cal.drive_rpm };
        self.target_rpm = self.asked_rpm.unwrap_or(own_rpm);
        match self.plate {
            PlateMode::Released => return None,
            PlateMode::Seeking(since) => {
                if i.rpm > 0.0 {
                    // started at once: the stop could not be measured, so the stored verdict is kept
                    self.stop_known = c.store.entry(Name::ClosedStop).learned;
                    self.plate = PlateMode::Driven;
                } else if self.seek(i.throttle_v, i.time_s - since, 0.4, 0.6) {
                    let seen = c.inputs_cal.throttle_deg(self.seek_sum.0 / f64::from(self.seek_sum.1.max(1)));
                    let entry = c.store.entry(Name::ClosedStop);
                    self.stop_known = entry.learned && (seen - entry.value).abs() <= cal.stop_tolerance_deg;
                    self.plate = PlateMode::Driven;
                    self.seek_sum = (0.0, 0);
                } else {
                    return Some(0.0);
                }
            }
            PlateMode::Learning(since) => {
                if self.seek(i.throttle_v, i.time_s - since, 1.0, 1.5) {
                    let seen = c.inputs_cal.throttle_deg(self.seek_sum.0 / f64::from(self.seek_sum.1.max(1)));
                    self.seek_sum = (0.0, 0);
                    self.plate = PlateMode::Driven;
                    let written =
                        c.store.write(c.memory_cal, Name::ClosedStop, seen, Writer::Routine, i.time_s);
                    self.stop_known |= written.is_ok();
                    events.push(Event::RoutineEnded(written.map_err(|_| Failed::StopOutside)));
                } else {
                    return Some(0.0);
                }
            }
            PlateMode::Driven => {}
        }
        if i.throttle_v < LEAST_SENSOR_V {
            // plate position unknown: the plate is left to its springs until the next key-on finds the stop again
            self.stop_known = false;
            self.idling = false;
            self.spark_add = 0.0;
            return None;
        }
        let closed = i.pedal_pct < 1.0;
        if !self.stop_known {
            self.idling = false;
            self.spark_add = 0.0;
            // with the stop unknown, the springs hold the idle opening and the pedal has limited authority
            if i.pedal_pct < 5.0 {
                return None;
            }
            let deg = cal.pedal_deg.at(i.pedal_pct).min(cal.limited_deg);
            return Some(c.inputs_cal.throttle_volts(c.inputs_cal.throttle_closed_deg + deg));
        }
        self.entry(cal, c, closed, dt_s, events);
        let error = self.target_rpm - i.rpm;
        if self.idling {
            let [lo, hi] = self.authority(cal, c.store);
            let step = (cal.ki * error).clamp(-cal.integrator_slew, cal.integrator_slew) * dt_s;
            // rolling in gear, the wheels keep engine speed up: that says nothing about the air, and a wound-up
            // integrator would let engine speed dip when the car stops
            let held_up = !i.neutral && i.road_km_h >= 1.0 && error < 0.0;
            let step = if held_up { 0.0 } else { step };
            let p = cal.kp * error;
            // its own clamp keeps it from winding up
            self.integrator = (self.integrator + step).clamp(lo, hi);
            self.pi = (p + self.integrator).clamp(lo, hi);
            self.dashpot -= self.dashpot * num::lag_share(dt_s, cal.dashpot[1]);
        } else {
            self.pi = 0.0;
            // it catches an engine that comes back from higher speed: the manifold has to be full enough in time
            self.dashpot = if closed && self.opened { cal.dashpot[0] } else { 0.0 };
        }
        self.start = if c.running {
            self.start - self.start * num::lag_share(dt_s, cal.start_g_s[1])
        } else {
            cal.start_g_s[0]
        };
        self.spark(cal, i, dt_s);
        self.loads(cal, i, c.alternator_gives_all, dt_s);
        // (1)
        self.base = cal.base_g_s.at(i.coolant_c) + if i.neutral { 0.0 } else { cal.drive_g_s };
        self.learned = c.store.get(Name::IdleAirLight)
            + if self.switched_load(i) { c.store.get(Name::IdleAirLoaded) } else { 0.0 };
        let air_g_s = (self.base + self.load + self.learned + self.pi + self.dashpot + self.start).max(0.1);
        // less air until the engine runs: the manifold already holds enough, and a full one makes the start flare
        let air_g_s =
            if c.running || i.rpm > 600.0 { air_g_s } else { air_g_s * cal.crank_air_share.at(i.coolant_c) };
        // (2)
        // while cranking, the manifold must be pumped down: flow is computed as if already choked
        let ratio = if c.running { (i.map_kpa / i.ambient_kpa.max(50.0)).min(0.95) } else { 0.5 };
        let per_mm2 = per_mm2(i, c.flow, ratio);
        let opening = cal.plate_mm2.inverse_at(air_g_s / per_mm2)
            + if closed { 0.0 } else { cal.pedal_deg.at(i.pedal_pct) };
        // no further than the plate's nominal travel, or the plate would count as not following its command
        let widest_deg = cal.plate_mm2.points().last().map_or(90.0, |p| p[0]);
        let opening = opening.min(widest_deg);
        Some(c.inputs_cal.throttle_volts(c.store.get(Name::ClosedStop) + opening))
    }

    /// Averages the sensor while the plate closes against the stop; true when the mean is complete.
    fn seek(&mut self, volts: f64, held_s: f64, from_s: f64, to_s: f64) -> bool {
        if held_s < from_s {
            self.seek_sum = (0.0, 0);
            return false;
        }
        if held_s < to_s {
            self.seek_sum = (self.seek_sum.0 + volts, self.seek_sum.1 + 1);
            return false;
        }
        self.seek_sum.1 > 0
    }

    /// Authority of PI \[g/s\].
    pub fn authority(&self, cal: &Cal, store: &Store) -> [f64; 2] {
        let high = if store.idle_window_open { cal.open_window_g_s[0] } else { cal.authority_g_s };
        [-cal.authority_g_s, high]
    }

    fn entry(&mut self, cal: &Cal, c: &mut Context<'_>, closed: bool, dt_s: f64, events: &mut Vec<Event>) {
        let i = c.inputs;
        if dt_s > 0.0 {
            let fall = (self.last_rpm - i.rpm) / dt_s;
            self.falling += (fall - self.falling) * num::lag_share(dt_s, 0.3);
        }
        self.last_rpm = i.rpm;
        if !closed || !c.running {
            self.closed_s = 0.0;
            self.opened = !closed && c.running;
            if self.idling {
                self.idling = false;
                self.commanded = None;
            }
            return;
        }
        self.closed_s += dt_s;
        if self.idling {
            return;
        }
        // after a short touch of the pedal the air in the manifold still speeds the engine up: idle control would take
        // air and spark away until it comes back, and it would dip
        let speeds_up = self.opened && (self.closed_s < EMPTIES_S || -self.falling > cal.entry[2]);
        let near = i.rpm < self.target_rpm + cal.entry[0] && !speeds_up;
        let settled = self.closed_s >= cal.entry[1] && self.falling < cal.entry[2];
        if near || settled {
            self.idling = true;
            self.idle_since_s = i.time_s;
            if !self.kept {
                self.integrator = if c.store.idle_window_open { cal.open_window_g_s[1] } else { 0.0 };
            }
            self.kept = false;
            self.dashpot = cal.dashpot[0];
            self.error_good_s = 0.0;
            self.error_2s.clear();
            self.integrator_2s.clear();
            self.error_5s.clear();
            events.push(Event::IdleEntered);
        }
    }

    fn spark(&mut self, cal: &Cal, i: &inputs::State, dt_s: f64) {
        if !self.idling {
            self.spark_add = 0.0;
            return;
        }
        let wanted = cal.spark_deg_rpm * (self.target_rpm - i.segment_rpm);
        let [far, steady, hold_s] = cal.spark_authority;
        // only a lasting one-sided error is left to the air; an oscillating speed is damped with full spark authority
        if wanted.abs() <= steady {
            self.spark_far_s -= self.spark_far_s.clamp(-dt_s, dt_s);
        } else if wanted * self.spark_far_s < 0.0 {
            self.spark_far_s = 0.0;
        } else {
            self.spark_far_s = (self.spark_far_s + dt_s.copysign(wanted)).clamp(-hold_s - 1.0, hold_s + 1.0);
        }
        let limit = if self.spark_far_s.abs() < hold_s { far } else { steady };
        self.spark_add = wanted.clamp(-limit, limit);
    }

    fn loads(&mut self, cal: &Cal, i: &inputs::State, alternator_gives_all: bool, dt_s: f64) {
        // a dip in speed does not change the current demanded from the alternator, although it changes the field: if
        // the current were computed with the field at another speed, the air would vary with every dip. At full field
        // the alternator gives less than demanded, so the last known current is kept
        let amps = i.field_duty * cal.alternator_a.at(i.rpm);
        self.alternator_a = if i.field_duty < FULL_FIELD { amps } else { amps.max(self.alternator_a) };
        let amps = self.alternator_a;
        let omega = self.target_rpm.max(400.0) * std::f64::consts::PI / 30.0;
        let alternator_nm = i.supply_v * amps / (cal.alternator_efficiency * omega);
        // one that gives less than its curve takes less torque, too. Only at full field can that be told from air that comes
        // in elsewhere: what is added for it is withdrawn as far as idle control has to take air away, which would otherwise
        // run into its limit, and be learned
        let held_up = !i.neutral && i.road_km_h >= 1.0;
        let trend = match alternator_gives_all {
            true if self.idling && !held_up => self.integrator / SHARE_G,
            true => 0.0,
            false => 1.0 / SHARE_BACK_S,
        };
        self.alternator_share = (self.alternator_share + trend * dt_s).clamp(0.0, 1.0);
        let mut nm = self.alternator_share * alternator_nm - cal.alternator_base_nm;
        // air first, clutch a moment later
        self.request_s = if i.compressor_request && i.rpm > 300.0 { self.request_s + dt_s } else { 0.0 };
        if self.request_s > 0.0 {
            nm += cal.compressor_nm;
        }
        let [on_s, off_s] = cal.compressor_delay_s;
        self.released_s = if self.request_s > 0.0 { 0.0 } else { self.released_s + dt_s };
        self.compressor =
            self.request_s > on_s || (self.compressor && self.released_s < off_s && i.rpm > 300.0);
        let wanted = cal.per_nm_g_s * nm;
        self.load += (wanted - self.load) * num::lag_share(dt_s, 0.08);
    }

    /// Codes were cleared: the monitor's timers restart.
    pub fn forget_monitor(&mut self) {
        (self.high_s, self.low_s, self.good_s) = (0.0, 0.0, 0.0);
    }

    /// Idle monitor, every 100 ms: its verdicts, if it has reached any.
    pub fn monitor(&mut self, cal: &Cal, i: &inputs::State, dt_s: f64) -> [Option<bool>; 2] {
        let [high, low, for_s] = cal.codes;
        // rolling in gear, the wheels drive the engine
        if !self.idling
            || i.road_km_h >= 1.0
            || i.coolant_c < cal.learn_coolant_c[0]
            || self.commanded.is_some()
        {
            (self.high_s, self.low_s, self.good_s) = (0.0, 0.0, 0.0);
            return [None, None];
        }
        let over = self.error_2s.get().map_or(0.0, |e| -e);
        let count = |s: f64, on: bool| if on { s + dt_s } else { 0.0 };
        self.high_s = count(self.high_s, over > high);
        self.low_s = count(self.low_s, over < -low);
        self.good_s = count(self.good_s, over <= high && over >= -low);
        let verdict = |bad_s: f64, good_s: f64| {
            if bad_s >= for_s {
                Some(true)
            } else if good_s >= 2.0 * for_s {
                Some(false)
            } else {
                None
            }
        };
        [verdict(self.low_s, self.good_s), verdict(self.high_s, self.good_s)]
    }
}
