//! The bench: couples engine and module, and carries out the actions of the people who work on them.
//!
//! *Inside*: the only place that holds both halves; fixed stepping, actions stamped with simulated time,
//! views, logbook, state hash. *Outside*: scenario files, grading, windows, files on disk.
//!
//! Operations: build ([`Bench::new`]), [`Bench::act`], [`Bench::advance_to`], [`Bench::observe`], [`Bench::truth`],
//! [`Bench::not_whole`]; a clone is a fork. Nothing else changes a bench.

pub mod action;
pub mod car;
mod cautions;
mod compression;
mod crank_scope;
pub mod drive;
pub mod driver;
mod engine_view;
pub mod facts;
pub mod gas;
mod hands;
pub mod has;
mod leak_down;
mod life;
pub mod not_whole;
mod observe;
pub mod pattern;
pub mod record;
pub mod setup;
mod shelf;
pub mod snapshot;
pub mod sound;
pub mod survey;
mod tester;
pub mod tools;
pub mod trace;
pub mod view;
pub mod whole;

use crate::ecm::Ecm;
use crate::ecm::codes::{CODES, MONITORS};
use crate::ecm::memory::Name;
use crate::link::{DiagRequest, DiagResponse, LearnedStatus, Notice, Writer};
use crate::plant::parts::{ThrottleBody, edges_deg, serial_from_seed};
use crate::plant::{self, Plant};
use crate::signals::{SensorFrame, ToothEdge};
use crate::units::{ParamError, kelvin};
use action::{Action, PartKind};
use car::Car;
use facts::{DriverTells, Hindrance, ModelNote};
use record::{Entry, Kind};
use serde::Serialize;
use setup::Setup;
use tester::Tells;
use tools::{Bay, Put, Reading};

/// What can go wrong with a bench.
#[derive(Debug, Clone, PartialEq)]
pub enum Error {
    /// The car's file.
    Car(car::CarError),
    /// A setting that does not fit this car.
    Setup(Unfit),
    /// A part that does not fit this car.
    Part(Hindrance),
    /// Conditioning was stopped before its end.
    Stopped,
}

/// Why a setup does not fit this car.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unfit {
    /// The crank step is neither 2, 1 nor 0.5°.
    Step {
        /// The step given \[deg\].
        given: String,
    },
    /// The module cannot be built.
    Module(ParamError),
    /// The data shipped for the workshop tools cannot be read.
    Tools {
        /// Why.
        says: String,
    },
    /// The bytes do not belong to a bench with this setup.
    Bytes,
}

/// For developers of the program; users read the sentence that the words room makes of it.
impl std::fmt::Display for Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{self:?}")
    }
}

impl std::error::Error for Error {}

/// Outcome of an action.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "hands move seldom; an answer is plain to match on")]
pub enum Done {
    /// Done.
    Yes,
    /// The module's answer.
    Answer(DiagResponse),
    /// What a workshop tool shows.
    Reading(Reading),
    /// A workshop tool is measuring; its reading will be in the logbook and in the observation after this time \[s\].
    Measuring(f64),
    /// Not possible now, and why.
    Hindered(Hindrance),
}

/// Entries of the idle window: 30 s at 10 Hz.
const IDLE_RING: usize = 300;

#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, serde::Deserialize)]
struct IdleSample {
    target_rpm: f64,
    rpm: f64,
    map_kpa: f64,
    air_g_s: f64,
    throttle_deg: f64,
    spark_deg: f64,
    lambda: [f64; 2],
}

/// Engine, module and hands.
#[derive(Debug, Clone)]
pub struct Bench {
    setup: Setup,
    car: Car,
    plant: Plant,
    ecm: Ecm,
    start_s: f64,
    log: Vec<Entry>,
    ring: Vec<IdleSample>,
    ring_next: usize,
    frames: u64,
    cranking_since_s: Option<f64>,
    fitted: u32,
    driver: Option<driver::Driver>,
    foot: Option<drive::Foot>,
    slow: Option<life::Slow>,
    bay: Bay,
    /// No state: it follows the engine and changes nothing.
    ear: sound::Listening,
}

impl Bench {
    /// Builds a bench at rest from a checked setup, without driving its conditioning.
    pub fn standing(setup: &Setup) -> Result<Self, Error> {
        let car = Car::parse(&setup.car_toml).map_err(Error::Car)?;
        if ![2.0, 1.0, 0.5].contains(&setup.step_deg) {
            return Err(Error::Setup(Unfit::Step { given: setup.step_deg.to_string() }));
        }
        let spread = &car.plant.spread;
        let seed = setup.seed;
        let start = plant::Start {
            ambient_pa: setup.weather.ambient_kpa * 1e3,
            ambient_k: kelvin(setup.weather.ambient_c),
            coolant_k: kelvin(setup.coolant_c),
            charge: setup.battery_charge_pct / 100.0,
            seed,
            step_deg: setup.step_deg,
        };
        let gap_mm = car.plant.ignition.gap_mm;
        let parts = shelf::first_parts(&car.plant, seed);
        let mut plant = Plant::new(car.plant.clone(), &start, parts);
        // the factory taught the module the reluctor wheel that the engine was built with
        let radius_mm = car.plant.crank.wheel_radius_mm;
        let first_edges = edges_deg(&plant.s.parts.wheel, &plant.s.parts.crank_sensor, radius_mm);
        let mut blank = false;
        for (i, choice) in setup.parts.iter().enumerate() {
            let serial = || serial_from_seed(seed, &format!("setup.{i}"));
            shelf::put(&mut plant.s.parts, &mut plant.s.hands, (spread, gap_mm), choice, serial)
                .map_err(Error::Part)?;
            blank |= choice.kind == PartKind::Module;
        }
        if !setup.parts.iter().any(|c| c.kind == PartKind::Battery && c.charge_pct.is_some()) {
            plant.charge_battery(setup.battery_charge_pct / 100.0);
        }
        plant.parts_fitted();
        plant.s.hands.leak_mm2 = setup.faults.unmetered_leak_mm2;
        plant.s.hands.exhaust_leak_mm2 = setup.faults.exhaust_leak_mm2;
        for (sensor, ill) in &setup.ills {
            plant.s.hands.ills[sensor.index()] = *ill;
        }
        let alcohol_pct = setup.fuel.alcohol_pct.unwrap_or(car.plant.fuel.alcohol_pct);
        plant.s.fuel.fill(&car.plant.fuel, setup.fuel.full_pct, alcohol_pct);
        plant.s.air.canister_kg = 1e-5 * setup.canister_pct * car.plant.air.canister_g;
        plant.look();
        // the factory taught the module the closed-stop position of this car's first throttle body
        let stop = car.ecm.s.inputs.throttle_closed_deg + plant.stop_deg();
        let profile = setup.memory_profile.as_deref();
        let mut ecm = Ecm::new(car.ecm.clone(), (!blank).then_some(stop), profile)
            .map_err(|e| Error::Setup(Unfit::Module(e)))?;
        if !blank {
            ecm.deliver_codes(plant.s.parts.injectors.iter().map(|i| i.code.as_deref()));
            ecm.s.store.deliver_wheel(&first_edges);
            if ecm.s.store.holds().cam_rest {
                // a chain stretches slowly, and ordinary learning has followed it; a tooth it never follows
                let drive = &plant.s.parts.cam_drive;
                let by = if drive.stretch_deg > 0.0 { Writer::Ordinary } else { Writer::Factory };
                ecm.s.store.deliver_cam_rest(drive.stretch_deg + drive.trigger_deg, by);
            }
            if ecm.s.store.holds().egr_stop {
                // soot came slowly, and somebody waited at key-on now and then
                ecm.s.store.deliver(Name::EgrStop, plant.egr_stop_mm(), Writer::Factory);
            }
            // the car stood overnight before this, which told the module the battery's state of charge
            ecm.s.charging.rested(plant.s.parts.battery.charged());
            if let Some(r) = &setup.battery_record {
                ecm.enter_delivered(r.kind, r.rated_ah, r.passed_ah);
            }
        }
        Ok(Self {
            setup: setup.clone(),
            plant,
            ecm,
            car,
            start_s: 0.0,
            log: Vec::new(),
            ring: Vec::with_capacity(IDLE_RING),
            ring_next: 0,
            frames: 0,
            cranking_since_s: None,
            fitted: 0,
            driver: None,
            foot: None,
            slow: None,
            bay: Bay::new(seed).map_err(|says| Error::Setup(Unfit::Tools { says }))?,
            ear: sound::Listening::default(),
        })
    }

    /// Builds a bench and drives its conditioning; `told` receives the share done and stops it by returning false.
    pub fn new(setup: &Setup, told: &mut dyn FnMut(f64) -> bool) -> Result<Self, Error> {
        let mut b = Self::standing(setup)?;
        let stretches = setup.conditioning.clone();
        if !drive::condition(&mut b, &stretches, told) {
            return Err(Error::Stopped);
        }
        if !stretches.is_empty() {
            b.set_coolant_c(setup.coolant_c);
            b.plant.charge_battery(setup.battery_charge_pct / 100.0);
            b.ecm.s.charging.rested(setup.battery_charge_pct / 100.0);
        }
        b.start_s = b.plant.s.time_s;
        for e in &mut b.log {
            e.t_s -= b.start_s;
        }
        b.ring.clear();
        b.ring_next = 0;
        Ok(b)
    }

    /// The checked setup that the bench was built from.
    pub fn setup(&self) -> &Setup {
        &self.setup
    }
    /// The car's short name and title.
    pub fn car_name(&self) -> (&str, &str) {
        (&self.car.name, &self.car.title)
    }
    /// Number of cylinders.
    pub fn cylinders(&self) -> usize {
        self.car.plant.layout.cylinders()
    }
    /// Number of banks.
    pub fn banks(&self) -> usize {
        self.car.plant.layout.bank_count()
    }
    /// Whether the crankshaft is turning.
    pub fn turning(&self) -> bool {
        self.plant.turning()
    }
    /// Scenario time \[s\].
    pub fn time_s(&self) -> f64 {
        self.plant.s.time_s - self.start_s
    }
    /// The logbook so far.
    pub fn log(&self) -> &[Entry] {
        &self.log
    }
    /// Model notes so far.
    pub fn model_notes(&self) -> Vec<ModelNote> {
        let note = |e: &Entry| if let Kind::Model { what } = &e.kind { Some(what.clone()) } else { None };
        self.log.iter().filter_map(note).collect()
    }
    /// Codes that this car's module can set.
    pub fn known_codes() -> Vec<&'static str> {
        CODES.iter().map(|c| c.1).collect()
    }
    /// Names of the monitors of which a module may tell the readiness.
    pub fn known_monitors() -> Vec<&'static str> {
        MONITORS.iter().map(|m| m.1).collect()
    }
    /// Hash of everything that changes, as hex.
    pub fn state_hash(&self) -> String {
        record::hash_of(&(
            &self.plant.s,
            &self.ecm.s,
            &self.ring,
            self.ring_next as u64,
            self.frames,
            &self.driver,
            &self.foot,
            &self.slow,
            &self.bay.s,
            self.cranking_since_s,
            self.fitted,
        ))
    }

    fn note(&mut self, kind: Kind) {
        // what the module decided earlier is logged first
        self.take_notes();
        self.log.push(Entry { t_s: self.time_s(), kind });
    }
    fn model_note(&mut self, what: ModelNote) {
        self.note(Kind::Model { what });
    }

    /// Carries out an action; the logbook records it with its time.
    pub fn act(&mut self, id: &str, action: Action) -> Done {
        self.note(Kind::Act { id: id.into(), action: action.clone() });
        self.touched(&action);
        let done = match action {
            Action::Measure(tool) => self.measure(id, tool),
            Action::Watch(names) => self.watch(id, &names),
            other => match self.act_quietly(other) {
                // the module's clock began with the car's earlier life, the logbook's with the bench
                Done::Answer(DiagResponse::Learned(all)) => {
                    Done::Answer(DiagResponse::Learned(self.by_own_clock(all)))
                }
                done => done,
            },
        };
        match &done {
            Done::Yes | Done::Measuring(_) => {}
            Done::Reading(r) => self.note(Kind::Reading { id: id.into(), reading: r.clone() }),
            Done::Hindered(why) => self.note(Kind::Hindered { id: id.into(), why: why.clone() }),
            Done::Answer(answer) => self.note(Kind::Answer { id: id.into(), answer: answer.clone() }),
        }
        self.take_notes();
        done
    }

    /// Learned values with the times of their writing by the bench's clock.
    pub(super) fn by_own_clock(&self, all: Vec<LearnedStatus>) -> Vec<LearnedStatus> {
        all.into_iter().map(|l| LearnedStatus { written_s: l.written_s - self.start_s, ..l }).collect()
    }

    /// Logs for a session that a condition was not met in time.
    pub fn timed_out(&mut self, id: &str, condition: &str) {
        self.note(Kind::TimedOut { id: id.into(), condition: condition.into() });
    }

    fn act_quietly(&mut self, action: Action) -> Done {
        let takes_over = matches!(
            action,
            Action::Key(_)
                | Action::Pedal(_)
                | Action::Brake(_)
                | Action::Gear(_)
                | Action::Drive { .. }
                | Action::Hold { .. }
        );
        if self.driver.is_some() && takes_over {
            self.end_drive(DriverTells::AnotherHand);
        }
        // a foot that is asked to hold another speed stays where it is
        if self.foot.is_some() && takes_over && !matches!(action, Action::Hold { .. }) {
            self.let_go();
        }
        self.hand_moves(action)
    }

    fn measure(&mut self, id: &str, tool: tools::Tool) -> Done {
        match self.bay.put(&self.plant, id, tool, self.time_s()) {
            Put::Shown(reading) => Done::Reading(reading),
            Put::Working(for_s) => Done::Measuring(for_s),
            Put::Hindered(why) => Done::Hindered(why),
        }
    }

    fn watch(&mut self, id: &str, names: &[String]) -> Done {
        match self.bay.s.tester.watch(id, names, self.plant.s.time_s) {
            Ok(ended) => {
                self.tester_tells(ended);
                Done::Yes
            }
            Err(why) => Done::Hindered(why),
        }
    }

    /// Nobody looks at the scan tool any more: the logbook gets what its list showed. The list stays as it is.
    pub fn end_watch(&mut self) {
        let ended = self.bay.s.tester.end();
        self.tester_tells(ended);
    }

    fn tester_tells(&mut self, told: Option<(String, Tells)>) {
        match told {
            Some((id, Tells::Shown(values))) => self.note(Kind::Shown { id, values }),
            Some((id, Tells::Over(values))) => self.note(Kind::Watched { id, values }),
            None => {}
        }
    }

    /// Active tools take this sample, and the scan tool collects its answers.
    fn bay_sample(&mut self) {
        let Self { bay, ecm, plant, .. } = self;
        bay.s.tester.poll(plant.s.time_s, |request| ecm.ask(request));
        let shown = bay.s.tester.shown_first();
        self.tester_tells(shown);
        let bay = &self.bay;
        if bay.idle() {
            return;
        }
        let t_s = self.time_s();
        for (id, reading) in self.bay.sample(&self.plant, self.ecm.out(), self.start_s) {
            self.log.push(Entry { t_s, kind: Kind::Reading { id, reading } });
        }
    }

    fn ask(&mut self, request: &DiagRequest) -> DiagResponse {
        self.ecm.ask(request)
    }

    /// Runs the simulation in whole steps until a scenario time \[s\] is reached.
    pub fn advance_to(&mut self, to_s: f64) {
        self.run_until(to_s + self.start_s, |_, _| ());
    }

    /// Runs the simulation for this long \[s\] and hands out everything that reaches the module's pins meanwhile.
    pub fn advance_watched(
        &mut self,
        seconds: f64,
        pins: &mut dyn FnMut(Option<&ToothEdge>, Option<&SensorFrame>),
    ) {
        self.run_until(self.plant.s.time_s + seconds, pins);
    }

    #[inline]
    fn run_until(&mut self, until_s: f64, mut pins: impl FnMut(Option<&ToothEdge>, Option<&SensorFrame>)) {
        while self.plant.s.time_s < until_s {
            if self.slow.is_some() && self.slow_step() {
                continue;
            }
            let stepped = self.plant.step(self.ecm.out());
            if let Some(ear) = &mut self.ear.0 {
                ear.hear(&self.plant, self.setup.step_deg, self.ecm.out().starter);
            }
            if let Some(e) = &stepped.edge {
                pins(Some(e), None);
                self.ecm.edge(e);
                self.bay.edge(e);
            }
            if stepped.sampled {
                pins(None, Some(self.plant.frame()));
                self.sampled();
            }
        }
        self.take_notes();
    }

    /// Runs the simulation for this long \[s\].
    pub fn advance_by(&mut self, seconds: f64) {
        self.advance_to(self.time_s() + seconds);
    }

    fn sampled(&mut self) {
        self.ecm.sample(self.plant.frame());
        // log them at once, so that the time of the entry does not depend on how far the bench is asked to run
        if !self.ecm.s.notes.is_empty() {
            self.take_notes();
        }
        self.frames += 1;
        self.slow_sample();
        self.bay_sample();
        if let Some(since) = self.cranking_since_s {
            // the key is released when the engine is heard to run, or after ten seconds
            if self.plant.speed_rpm() > 550.0 || self.plant.s.time_s - since > 10.0 {
                self.plant.s.hands.key_crank = false;
                self.cranking_since_s = None;
            }
        }
        if self.frames.is_multiple_of(10) {
            self.drive_on();
            self.slow_look();
            self.idle_sample();
        }
    }

    fn take_notes(&mut self) {
        let (start_s, now_s) = (self.start_s, self.time_s());
        let driven = self.driver.is_some();
        for n in self.ecm.s.notes.drain(..) {
            // a driver's foot on the brake at a red light begins no sequence
            if driven && matches!(n.what, Notice::SequenceAborted { step: 1 }) {
                continue;
            }
            // the module's clock shows the time of its last sample, rounded to a tick: the entry must be neither
            // earlier than the last one in the log nor later than now
            let last_s = self.log.last().map_or(f64::MIN, |e| e.t_s);
            let t_s = (n.at_s - start_s).min(now_s).max(last_s);
            self.log.push(Entry { t_s, kind: Kind::Module { what: n.what } });
        }
    }

    fn idle_sample(&mut self) {
        let live = self.ecm.live();
        // neither a start with the first seconds after it counts as idle, nor an engine that is stopped or runs down
        let warm = live.coolant_c >= 70.0 && live.pedal_pct < 1.0 && self.ecm.s.fuel.running_s > 5.0;
        if !warm || !self.ecm.s.running {
            self.ring.clear();
            self.ring_next = 0;
            return;
        }
        let sample = IdleSample {
            target_rpm: live.target_rpm,
            rpm: self.ecm.s.inputs.segment_rpm,
            map_kpa: live.map_kpa,
            air_g_s: live.air_g_s,
            throttle_deg: live.throttle_deg,
            spark_deg: live.spark_deg,
            lambda: [live.lambda, live.lambda_bank2],
        };
        if self.ring.len() < IDLE_RING {
            self.ring.push(sample);
        } else {
            self.ring[self.ring_next] = sample;
        }
        self.ring_next = (self.ring_next + 1) % IDLE_RING;
    }

    /// Crankshaft revolutions since the bench was built.
    pub fn turns(&self) -> f64 {
        self.plant.s.totals.turns
    }

    /// Learned idle air at which the module, by its nominal model, would open this throttle body just as far as its
    /// base air requires \[g/s\]; the module's stored stop is used as it is.
    pub fn idle_air_needed(&self, body: &ThrottleBody) -> f64 {
        let idle = &self.car.ecm.s.idle;
        let base = idle.warm_base_g_s();
        let book = |mm2: f64| mm2 * 1e-6 * 101_325.0 / (287.05 * 298.15_f64).sqrt() * 0.684_73 * 1e3;
        let wanted_mm2 = base / book(1.0);
        let p = &self.car.plant.air;
        let offset = self.ecm.s.store.get(Name::ClosedStop)
            - self.car.ecm.s.inputs.throttle_closed_deg
            - p.stop_of_deg(body);
        // find by bisection the opening at which the real body passes the wanted area
        let (mut low, mut high) = (0.0, 20.0);
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if p.discharge * plant::air::open_area_mm2(p, body, mid) < wanted_mm2 {
                low = mid;
            } else {
                high = mid;
            }
        }
        book(idle.plate_mm2.at(0.5 * (low + high) - offset)) - base
    }

    // What conditioning needs besides acts: no hand does it, so it is not in the logbook.
    fn deposit_rate_um_h(&self) -> f64 {
        self.car.plant.air.deposit_um_h
    }
    fn set_wear_factor(&mut self, k: f64) {
        self.plant.s.hands.wear_factor = k;
    }
    fn set_coolant_c(&mut self, c: f64) {
        self.plant.set_coolant_c(c);
    }
    fn speed_by_ear_rpm(&self) -> f64 {
        self.plant.speed_rpm()
    }

    /// The engine, for checks of its physics.
    pub fn plant(&self) -> &Plant {
        &self.plant
    }
    /// The module, for checks of its decisions.
    pub fn ecm(&self) -> &Ecm {
        &self.ecm
    }
}
