//! The module: what a control unit believes and does with the pins it has.
//!
//! *Inside*: conditioning of pins, idle air, fuel, purge, codes, learned store, manual sequences, service
//! requests. *Outside*: the engine. Nothing in here names the plant; the whole view of the world is the
//! sensor frame, the tooth edges and the diagnostic link.
//!
//! The module owns its *nominal* curves. The parts it drives differ from them, and that difference is
//! what learning is about.
//!
//! **Tasks, in order**
//! * each tooth ([`Ecm::edge`]): decoding; on a segment's first tooth fuel and spark of the next cylinder;
//! * each 10 ms ([`Ecm::sample`]): pins, power and run state, throttle, sequence, short-term trims, outputs;
//! * each 100 ms, inside the same: learning, monitors, codes;
//! * at key-on, at key-off, and at the after-run's end: what the store and the codes need.

pub mod airflow;
pub mod alcohol;
pub mod ambient;
mod calibration;
pub mod catalyst_monitor;
pub mod charging;
pub mod codes;
pub mod crank_learn;
mod crank_tasks;
mod cylinder_tasks;
pub mod cylinder_trim;
pub mod egr;
pub mod fueling;
mod gates;
pub mod injectors;
pub mod inputs;
mod live;
pub mod memory;
pub mod misfire;
pub mod monitors;
pub mod phaser;
mod power;
pub mod purge;
pub mod rear_trim;
mod scan;
pub mod sequences;
pub mod services;
pub mod short_pulse;
pub mod vapour_monitor;

use crate::link::{Failed, Notice, Routine, RoutineState};
use crate::num::FlowFunction;
use crate::signals::{ActuatorFrame, MAX_BANKS, SensorFrame, ToothEdge};
use crate::units::ParamError;
use airflow::Event;
use codes::{Code, Codes};
use memory::{Holds, Profile, Store};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

pub use calibration::{Calibration, Nameplate, RunCal, Sections};
pub use gates::Gate;

/// A start is over this long after the engine runs by itself \[s\].
const START_S: f64 = 0.8;

/// Power and run state.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Power {
    /// No power or asleep.
    Off,
    /// Key on.
    On,
    /// Key off, values being saved; since \[s\].
    AfterRun(f64),
}

/// Something the module decided, for the logbook of who asks over the link.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// Module's time \[s\].
    pub at_s: f64,
    /// What.
    pub what: Notice,
}

/// Everything that changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Power.
    pub power: Power,
    /// Conditioned inputs.
    pub inputs: inputs::State,
    /// Idle air.
    pub air: airflow::State,
    /// Fuel.
    pub fuel: fueling::State,
    /// Injectors one by one.
    pub injectors: injectors::State,
    /// Ambient pressure.
    pub ambient: ambient::State,
    /// Alcohol content.
    pub alcohol: alcohol::State,
    /// Cylinder trim.
    pub cylinder_trim: cylinder_trim::State,
    /// Short-pulse routine.
    pub short_pulse: short_pulse::State,
    /// Catalyst monitor.
    pub catalyst: catalyst_monitor::State,
    /// Trim by the sensor after the catalyst.
    pub rear_trim: rear_trim::State,
    /// Phaser of the inlet camshaft.
    pub phaser: phaser::State,
    /// Exhaust-gas-recirculation valve.
    pub egr: egr::State,
    /// Purge.
    pub purge: purge::State,
    /// Leak test of the EVAP system.
    pub vapour: vapour_monitor::State,
    /// Charging.
    pub charging: charging::State,
    /// Monitors of components.
    pub monitors: monitors::State,
    /// Learning the wheel.
    pub wheel: crank_learn::State,
    /// Misfire.
    pub misfire: misfire::State,
    /// Conditions under which misfire was last seen bad: mean speed \[rpm\], pressure \[kPa\], warm.
    similar: Option<([f64; 2], bool)>,
    /// Cylinder whose injector a routine has cut (from 0), since \[s\].
    cut_out: Option<(u8, f64)>,
    /// What the last cut-out test cost in speed.
    cut_out_speed: crank_tasks::CutOutSpeed,
    /// Codes.
    pub codes: Codes,
    /// Learned values.
    pub store: Store,
    /// Never had power before: its first key-on is still to come.
    fresh: bool,
    /// The engine runs by itself.
    pub running: bool,
    started: bool,
    last_sample_s: f64,
    /// When the key was last turned off; negative where power was lost since \[s\].
    key_off_s: f64,
    slow_count: u8,
    fan: bool,
    starter_since_s: f64,
    /// Routine under way or last.
    pub routine: RoutineState,
    routine_since_s: f64,
    /// Drive commands.
    pub out: ActuatorFrame,
    /// What was decided since it was last taken.
    pub notes: Vec<Note>,
    had_power: bool,
    /// The supply became too low while the module worked, and it has not started up since.
    interrupted: bool,
    /// Module's time since when the supply has been high enough to start up \[s\]; negative while it is not.
    enough_since_s: f64,
}

/// The module.
#[derive(Debug, Clone)]
pub struct Ecm {
    cal: Arc<Calibration>,
    profile: Profile,
    flow: FlowFunction,
    book: Arc<crank_learn::Book>,
    windows: Arc<misfire::Windows>,
    begins: Arc<inputs::Begins>,
    /// State; the bench reads it through views.
    pub s: State,
}

impl Ecm {
    /// A module as it left the factory on its car: it knows where that car's throttle stop is; without one it is
    /// blank, as from the shelf. A memory profile of the car's file may be named instead of its own.
    pub fn new(
        cal: Arc<Calibration>,
        closed_stop_deg: Option<f64>,
        profile: Option<&str>,
    ) -> Result<Self, ParamError> {
        let direct = cal.s.fuel.direct.is_some();
        let holds = Holds {
            banks: cal.plate.bank_count(),
            cylinders: cal.plate.firing_order.len(),
            coded: direct,
            trimmed: cal.s.cylinder_trim.is_some(),
            // the routine goes by the cylinder trim's estimate
            short: direct && cal.s.cylinder_trim.is_some(),
            alcohol: cal.s.alcohol.is_some(),
            cam_rest: cal.s.phaser.is_some(),
            egr_stop: cal.s.egr.is_some(),
        };
        let mut store = Store::with(&cal.s.memory, holds, closed_stop_deg);
        store.battery = cal.s.charging.works();
        let first_tooth = cal.s.inputs.first_tooth_btdc_deg;
        let windows = misfire::Windows::new(&cal.s.misfire, &cal.plate, first_tooth)?;
        Ok(Self {
            profile: cal.s.memory.profile(profile)?,
            flow: FlowFunction::new(1.4),
            book: Arc::new(crank_learn::Book::new(&cal.s.wheel, &cal.plate, first_tooth)),
            windows: Arc::new(windows),
            begins: Arc::new(cal.s.inputs.begins(cal.plate.firing_order.len())),
            s: State {
                power: Power::Off,
                inputs: inputs::State::default(),
                air: airflow::State::default(),
                fuel: fueling::State::default(),
                injectors: injectors::State::default(),
                ambient: ambient::State::default(),
                alcohol: alcohol::State::default(),
                cylinder_trim: cylinder_trim::State::default(),
                short_pulse: short_pulse::State::default(),
                catalyst: catalyst_monitor::State::default(),
                rear_trim: rear_trim::State::default(),
                phaser: phaser::State::default(),
                egr: egr::State::default(),
                purge: purge::State::default(),
                vapour: vapour_monitor::State::default(),
                charging: charging::State::default(),
                monitors: monitors::State::default(),
                codes: Codes::of_car(
                    direct,
                    cal.s.vapour.is_some(),
                    cal.s.phaser.is_some(),
                    cal.s.egr.is_some(),
                ),
                wheel: crank_learn::State::default(),
                misfire: misfire::State::default(),
                similar: None,
                cut_out: None,
                cut_out_speed: crank_tasks::CutOutSpeed::default(),
                store,
                fresh: closed_stop_deg.is_none(),
                running: false,
                started: false,
                last_sample_s: 0.0,
                key_off_s: -1.0,
                slow_count: 0,
                fan: false,
                starter_since_s: 0.0,
                routine: RoutineState::None,
                routine_since_s: 0.0,
                out: ActuatorFrame::default(),
                notes: Vec::new(),
                had_power: true,
                interrupted: false,
                enough_since_s: -1.0,
            },
            cal,
        })
    }
    /// The memory profile in force.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }
    /// Where the windows of the misfire monitor lie.
    pub fn windows(&self) -> &misfire::Windows {
        &self.windows
    }
    /// Calibration.
    pub fn calibration(&self) -> &Calibration {
        &self.cal
    }
    /// Drive commands.
    pub fn out(&self) -> &ActuatorFrame {
        &self.s.out
    }
    fn note(&mut self, what: Notice) {
        self.s.note(what);
    }

    /// Each tooth.
    #[inline]
    pub fn edge(&mut self, e: &ToothEdge) {
        if self.s.power != Power::On {
            return;
        }
        let n = self.cal.plate.firing_order.len();
        let segment = self.s.inputs.edge(&self.cal.s.inputs, (n, &self.begins), e) == inputs::Edge::Segment;
        self.cam_edge(e);
        if self.s.inputs.in_step() {
            let Self { cal, s, book, windows, .. } = self;
            let at = s.inputs.tooth();
            if s.misfire.off == misfire::Off::Watching {
                let now = (s.inputs.segment_rpm, s.inputs.map_kpa);
                let table = &s.store.wheel;
                let end = s.misfire.edge(
                    (&cal.s.misfire, windows),
                    table,
                    at,
                    e.tick,
                    now,
                    &cal.plate.firing_order,
                );
                if let Some(told) = end {
                    s.cylinders_push(cal, told);
                    if told && s.store.wheel.learned && s.inputs.pedal_pct > 1.0 {
                        self.refine_wheel();
                    }
                }
            } else if (s.wheel.coasting || s.wheel.phase == crank_learn::Phase::Down) && s.fuel.cut {
                s.wheel.edge(book, at.0, !at.1, e.tick as f64 / crate::signals::TICKS_PER_S);
            }
        }
        if segment {
            self.segment(n, e.tick);
        }
    }

    /// Each segment: fuel for the cylinder whose inlet opens next, spark for all.
    fn segment(&mut self, n: usize, tick: u64) {
        let Self { cal, s, .. } = self;
        let (shut, cut_out) = (s.misfire.cut, s.cut_out);
        let silenced = |c: usize| shut[c] || cut_out.is_some_and(|(k, _)| usize::from(k) == c);
        let hold = cut_out.is_some() || shut.contains(&true);
        if !s.inputs.in_step() || s.inputs.segments < 1 {
            return;
        }
        let rpm = s.inputs.rpm;
        if !s.running && rpm > cal.s.run.runs_rpm {
            s.running = true;
            s.charging.starts();
            if !s.started {
                s.started = true;
                s.codes.trip_begins(s.inputs.coolant_c);
            }
        }
        if cal.s.cylinder_trim.is_some() {
            let at_s = tick as f64 / crate::signals::TICKS_PER_S;
            let btdc_deg = cal.s.inputs.segment_btdc_deg;
            s.cylinder_trim.segment(s.inputs.segment, n, btdc_deg, at_s);
        }
        let span = 720.0 / n as f64;
        // the cylinder that comes next to where its injector fires: 300° after its firing top dead centre, or
        // in its intake stroke with direct injection
        let start_atdc = cal.s.fuel.direct.as_ref().map_or(300.0, |d| 720.0 - d.start_btdc_deg);
        let later = ((720.0 - cal.s.inputs.segment_btdc_deg - start_atdc) / span).ceil() as usize;
        let place = (usize::from(s.inputs.segment) + later) % n;
        let cylinder = usize::from(cal.plate.firing_order[place]) - 1;
        let bank = usize::from(cal.plate.banks[cylinder]) - 1;
        let running = s.running;
        let (fuel, ctx) = Self::fuel_context(cal, s, hold);
        s.out.inject_us[cylinder] = fuel.segment(&cal.s.fuel, &ctx, (cylinder, bank), silenced(cylinder));
        let asked = s.fuel.spark_deg
            + if running { s.air.spark_add + s.egr.spark_deg(cal.s.egr.as_ref()) } else { 0.0 };
        // beyond best torque more advance would take torque away, the more so the slower it turns
        let spark = asked.min(cal.s.fuel.most_spark_deg.at(s.inputs.segment_rpm));
        for c in 0..n {
            s.out.spark_deg[c] = Some(spark);
        }
    }

    /// Each sample of the pins, every 10 ms.
    pub fn sample(&mut self, f: &SensorFrame) {
        let now_s = f.tick as f64 / crate::signals::TICKS_PER_S;
        if f.supply_v < self.cal.s.run.least_v {
            self.lose_power(now_s, f.supply_v);
            return;
        }
        self.s.interrupted &= f.key_on;
        if self.s.power == Power::Off && f.key_on && !self.starts_up(now_s, f.supply_v) {
            return;
        }
        self.s.had_power = true;
        let awake = self.s.power != Power::Off || f.key_on;
        self.s.charging.count(&self.cal.s.charging, &mut self.s.store.battery, f, awake);
        match (self.s.power, f.key_on) {
            (Power::Off, false) => return,
            (Power::Off, true) => self.wake(now_s, f),
            (Power::AfterRun(_), true) => {
                // back on before the values were saved: they are lost
                self.s.store.fall_back();
                self.note(Notice::KeyOnUnsaved);
                self.wake(now_s, f);
            }
            (Power::On, false) => self.begin_after_run(now_s),
            _ => {}
        }
        let dt = (now_s - self.s.last_sample_s).clamp(0.0, 0.1);
        self.s.last_sample_s = now_s;
        let plate = [self.past_plate_g_s(), self.cal.s.fuel.manifold[0]];
        self.take_in(f, plate);
        if let Power::AfterRun(since) = self.s.power {
            if now_s - since >= self.cal.s.memory.after_run_s {
                self.s.store.save();
                self.s.power = Power::Off;
                self.s.out = ActuatorFrame::default();
                self.note(Notice::Saved);
            }
            return;
        }
        self.run_state();
        self.fast(dt);
        self.s.slow_count += 1;
        if self.s.slow_count >= 10 {
            self.s.slow_count = 0;
            self.slow(0.1);
        }
        self.outputs();
    }

    /// Air that goes past the plate by its sensor, the nominal plate and what idle air has learned of this one \[g/s\].
    fn past_plate_g_s(&self) -> f64 {
        let (cal, s) = (&self.cal.s, &self.s);
        let opening = cal.inputs.throttle_deg(s.inputs.throttle_v) - s.store.get(memory::Name::ClosedStop);
        let per_mm2 =
            airflow::per_mm2(&s.inputs, &self.flow, s.inputs.map_kpa / s.inputs.ambient_kpa.max(50.0));
        cal.idle.plate_mm2.at(opening.max(0.0)) * per_mm2 - s.store.get(memory::Name::IdleAirLight)
    }

    fn run_state(&mut self) {
        let s = &mut self.s;
        let rpm = s.inputs.rpm;
        if s.running && rpm < 50.0 {
            s.running = false;
            s.air.stalled();
            s.note(Notice::EngineStopped);
        }
    }

    fn air_context<'a>(
        cal: &'a Calibration,
        flow: &'a FlowFunction,
        s: &'a mut State,
    ) -> (&'a mut airflow::State, airflow::Context<'a>) {
        (
            &mut s.air,
            airflow::Context {
                inputs: &s.inputs,
                inputs_cal: &cal.s.inputs,
                store: &mut s.store,
                memory_cal: &cal.s.memory,
                codes: &s.codes,
                flow,
                running: s.running && s.fuel.running_s > START_S,
                alternator_gives_all: s.charging.alternator_gives_all(),
            },
        )
    }

    /// `hold`: short-term trims are frozen.
    fn fuel_context<'a>(
        cal: &'a Calibration,
        s: &'a mut State,
        hold: bool,
    ) -> (&'a mut fueling::State, fueling::Context<'a>) {
        let mut unfed = [false; MAX_BANKS];
        for (bank, cut) in cal.plate.banks.iter().zip(s.misfire.cut) {
            unfed[usize::from(*bank) - 1] |= cut;
        }
        let rear = &cal.s.rear_trim;
        let offset = std::array::from_fn(|b| {
            s.catalyst.offset(&cal.s.catalyst, b) + s.rear_trim.offset(rear, &s.store, b)
        });
        let inferring = s.store.tank.inferring.is_some();
        let believed =
            alcohol::believed(cal.s.alcohol.as_ref(), cal.s.fuel.afr, &s.store, s.inputs.coolant_c);
        (
            &mut s.fuel,
            fueling::Context {
                inputs: &s.inputs,
                inputs_cal: &cal.s.inputs,
                store: &mut s.store,
                memory_cal: &cal.s.memory,
                purging: s.purge.duty > 0.0,
                idling: s.air.idling,
                may_learn: s.running && !hold && !s.catalyst.swings(),
                offset,
                running: s.running,
                hold,
                unfed,
                inferring: cal.s.alcohol.is_some().then_some(inferring),
                fuel: believed,
                banks: cal.plate.bank_count(),
                cylinders: cal.plate.firing_order.len(),
            },
        )
    }

    fn fast(&mut self, dt: f64) {
        let mut events = Vec::new();
        let hold = self.holds_trims();
        self.learn_ambient(dt);
        self.phaser_fast(dt);
        self.egr_fast(dt);
        self.learn_wheel(dt);
        let cal = &*self.cal;
        let (air, mut ctx) = Self::air_context(cal, &self.flow, &mut self.s);
        let throttle_v = air.fast(&cal.s.idle, &mut ctx, dt, &mut events);
        air.watch_sequence(&cal.s.sequence, &mut ctx, &mut events);
        let s = &mut self.s;
        // a track that disagrees with the other says nothing: springs
        let lost = s.codes.standing(Code::P2135).failing;
        s.out.by_throttle2 = s.inputs.by_throttle2;
        s.out.throttle_v =
            throttle_v.filter(|_| !lost).map(|v| if s.inputs.by_throttle2 { 5.0 - v } else { v });
        let (fuel, ctx) = Self::fuel_context(cal, s, hold);
        fuel.fast(&cal.s.fuel, &ctx, dt);
        let rail_kpa = s.fuel.rail(&cal.s.fuel, s.inputs.coolant_c, s.short_pulse.rail_kpa(), dt);
        s.cylinders_fast(cal, dt);
        s.out.rail_v = rail_kpa.and_then(|kpa| Some(cal.s.inputs.rail_v.as_ref()?.at(kpa)));
        let look = misfire::Inputs {
            running_s: if s.running { s.fuel.running_s } else { 0.0 },
            cut: s.fuel.cut,
            rpm: s.inputs.rpm,
            map_kpa: s.inputs.map_kpa,
            ambient_kpa: s.inputs.ambient_kpa,
            at_idle: s.air.idling && s.inputs.road_km_h < 1.0,
            road_km_h: s.inputs.road_km_h,
            learned: s.store.wheel.learned && !s.store.wheel.suspect,
            busy: s.cut_out.is_some() || s.wheel.phase != crank_learn::Phase::Off,
        };
        s.misfire.fast(&cal.s.misfire, &look, dt);
        self.catalyst_fast(dt);
        for e in events {
            self.air_event(e);
        }
    }

    fn air_event(&mut self, e: Event) {
        match e {
            Event::SequenceAborted(step) => self.note(Notice::SequenceAborted { step }),
            Event::SequenceDone => {
                let idle_air_light_g_s = self.s.store.get(memory::Name::IdleAirLight);
                self.note(Notice::SequenceComplete { idle_air_light_g_s });
            }
            Event::IdleEntered => {}
            Event::RoutineEnded(how) => {
                if let RoutineState::Running { routine, .. } = self.s.routine {
                    self.s.ended(routine, how.map(|()| None));
                }
            }
        }
    }

    fn slow(&mut self, dt: f64) {
        let mut events = Vec::new();
        let hold = self.holds_trims();
        self.judge_misfire();
        self.cut_out_speed(dt);
        self.end_cut_out();
        let cal = &*self.cal;
        let (air, mut ctx) = Self::air_context(cal, &self.flow, &mut self.s);
        air.slow(&cal.s.idle, &cal.s.sequence, &mut ctx, dt, &mut events);
        let s = &mut self.s;
        let idle = s.air.monitor(&cal.s.idle, &s.inputs, dt);
        let closed_loop = s.running && s.fuel.closed_loop[..cal.plate.bank_count()].iter().all(|x| *x);
        s.purge.slow(
            &cal.s.purge,
            &purge::Inputs {
                coolant_c: s.inputs.coolant_c,
                closed_loop,
                idling: s.air.idling,
                short: s.fuel.short[0],
                held: s.purge_held(),
            },
            dt,
        );
        let (fuel, mut ctx) = Self::fuel_context(cal, s, hold);
        fuel.slow(&cal.s.fuel, &mut ctx, dt);
        let fuel = fuel.monitor(&cal.s.fuel, &ctx, dt);
        self.infer_alcohol(hold, dt);
        let (cal, s) = (&*self.cal, &mut self.s);
        let driven = s.fuel.cut && s.inputs.road_km_h > 5.0;
        s.charging.slow(&cal.s.charging, &s.store.battery, driven, s.inputs.coolant_c, dt);
        if s.running {
            let i = &s.inputs;
            let loaded = i.compressor_request || i.heated_glass || i.lamps;
            s.charging.watch_alternator(i.field_duty, i.supply_v, (s.air.alternator_share, loaded), dt);
        }
        s.cylinders_slow(cal, dt);
        let rail = s.fuel.rail_monitor(&cal.s.fuel, &s.inputs, s.running, dt);
        s.codes.watch_warm_up(s.inputs.coolant_c);
        self.verdict(Code::P0087, rail);
        self.code_verdicts();
        self.verdict(Code::P0506, idle[0]);
        self.verdict(Code::P0507, idle[1]);
        const BY_BANK: [[Code; 2]; MAX_BANKS] = [[Code::P0171, Code::P0172], [Code::P0174, Code::P0175]];
        for (b, told) in fuel.iter().enumerate().take(self.cal.plate.bank_count()) {
            for (k, seen) in told.iter().enumerate() {
                self.verdict(BY_BANK[b][k], *seen);
            }
        }
        if self.s.air.plate == airflow::PlateMode::Driven {
            self.verdict(Code::P2176, Some(!self.s.air.stop_known));
        }
        self.monitor(dt);
        self.catalyst_slow(dt);
        self.rear_trim_slow(dt);
        self.vapour_slow(dt);
        self.phaser_slow(dt);
        self.egr_slow(dt);
        if self.s.running && self.s.fuel.running_s > 10.0 {
            let wheel = &self.s.store.wheel;
            self.verdict(Code::P0315, Some(!wheel.learned || wheel.suspect));
        }
        if let RoutineState::Running { routine, for_s, .. } = &mut self.s.routine {
            let routine = *routine;
            *for_s = self.s.inputs.time_s - self.s.routine_since_s;
            if routine == Routine::LearnIdle && self.s.air.commanded.is_none() && events.is_empty() {
                self.s.ended(routine, Err(Failed::LeftIdle));
            }
        }
        for e in events {
            self.air_event(e);
        }
    }

    fn verdict(&mut self, code: Code, seen: Option<bool>) {
        match seen {
            Some(true) => {
                let frame = self.freeze_frame();
                let at = self.s.inputs.time_s;
                if let Some(state) = self.s.codes.fail(code, at, frame) {
                    self.note(Notice::CodeBecame { code: code.number().into(), state });
                }
            }
            Some(false) => self.s.codes.pass(code),
            None => {}
        }
    }

    fn outputs(&mut self) {
        let Self { cal, s, .. } = self;
        let i = &s.inputs;
        let run = &cal.s.run;
        // the starter is let go when the engine runs, or after ten seconds
        if i.key_crank {
            if s.starter_since_s == 0.0 {
                s.starter_since_s = i.time_s;
            }
        } else {
            s.starter_since_s = 0.0;
        }
        s.out.starter = i.key_crank && !s.running && i.neutral && i.time_s - s.starter_since_s < 10.0;
        let prime = i.time_s - s.last_key_on_s() < 2.0;
        s.out.pump = i.rpm > 0.0 || s.out.starter || prime;
        s.out.compressor = s.air.compressor;
        s.out.purge = s.purge.duty;
        let [on, off] = run.fan_c;
        // a fan that came or went while a run-down is measured would spoil it
        if !s.wheel.measures() {
            s.fan = if s.fan { i.coolant_c > off } else { i.coolant_c > on };
        }
        s.out.fan = s.fan && s.running;
        s.out.charge_v = if s.running && s.fuel.running_s > 1.0 { s.charging.set_v() } else { 0.0 };
        s.out.charge_rise_a_s = run.charge_rise_a_s[usize::from(!s.air.idling)];
        s.out.lambda_heater = s.running;
        s.out.lamp = s.codes.drive_lamp() || s.misfire.blink || !s.started;
        s.out.lamp_blinks = s.misfire.blink;
        // lit with the key on and the engine standing, as on any car
        let open = i.stages.generator_v > monitors::GENERATOR_OPEN_V;
        s.out.charge_lamp = !s.running || open || s.charging.lamp();
        let sound = i.looks[inputs::Pin::Coolant as usize] == inputs::PinState::Sound;
        s.out.hot_lamp = sound && i.coolant_c > cal.s.watch.hot[0];
        if !i.in_step() || i.rpm <= 0.0 {
            s.out.inject_us = [0.0; crate::signals::MAX_CYLINDERS];
            s.out.spark_deg = [None; crate::signals::MAX_CYLINDERS];
        }
    }
}

impl State {
    /// How many codes and learned values there are, and which: the same at any time on a car.
    pub fn lengths(&self) -> (usize, (memory::Holds, [usize; 2])) {
        (self.codes.length(), self.store.lengths())
    }

    fn note(&mut self, what: Notice) {
        self.notes.push(Note { at_s: self.inputs.time_s, what });
    }

    /// A routine has ended: with the standard error of what it learned, if it tells one, or for a reason.
    fn ended(&mut self, routine: Routine, how: Result<Option<f64>, Failed>) {
        match how {
            Ok(error_deg) => {
                self.routine = RoutineState::Done { routine };
                self.note(Notice::RoutineDone { routine, error_deg });
            }
            Err(because) => {
                self.routine = RoutineState::Failed { routine, because };
                self.note(Notice::RoutineFailed { routine, because });
            }
        }
    }

    fn last_key_on_s(&self) -> f64 {
        match self.air.plate {
            airflow::PlateMode::Seeking(since) | airflow::PlateMode::Learning(since) => since,
            _ => f64::MIN,
        }
    }
}
