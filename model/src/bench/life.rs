//! Resting and being driven from day to day: hours and months in a few steps.
//!
//! *Inside*: the locked car at rest, in long steps while its module sleeps; a life of days that are driven at full
//! physics and of days between them. *Outside*: which acts are possible at all (`mod.rs`), how a driver drives
//! (`drive.rs`).
//!
//! **A rest** needs the key off and the engine stopped. Until the module has saved its values and sleeps, time
//! advances in ordinary steps; after that in steps of ten seconds, in which only slow quantities change: battery,
//! heat, catalysts, drips.
//!
//! **A life** lasts a number of days of 24 hours. A week begins with its driven days; on the other days the car
//! stands, which is a rest. A driven day at full physics (a full day) has its trips between about 7:30 and 17:00.
//! Each trip has a start, a driver, a standstill and key off, with a rest before the next trip. The pattern continues
//! where the previous trip stopped, learned values settle as they will, and the day's electrical data are recorded.
//! Of the driven days up to the next full day, only the electrical system is simulated (such a day is carried
//! forward): the full models of battery and charging, in steps of one second (one minute while the module sleeps),
//! with the module's sensor counting charge and its charging rule in control. All other wear is repeated as it was on
//! the full day. The last driven day of a life is a full day, so that the learned values have adapted to the wear; so
//! is the next driven day after the battery was found flat.
//!
//! Left out on the days carried forward: the module's codes and monitors do not count trips, nothing is learned, and
//! gas, heat and fuel stay as the full day left them. Where trips are too short for the engine to idle warm, values
//! are therefore learned later than in real life: such a car needs every driven day to be a full day.
//!
//! A car that cannot be started is left standing until the life is over.
//!
//! A hand that touches the car ends a rest or a life at the present moment. If a day is being carried forward then,
//! it has affected the battery up to that moment and nothing else; the car stands with the key off.
//!
//! **Checked by** `tests/bench/life.rs`.

mod day;

use crate::bench::Bench;
use crate::bench::action::{Action, Key, Life};
use crate::bench::facts::{Alone, DriverTells, Hindrance, LifeEnd, Stranded};
use crate::bench::record::Kind;
use crate::bench::view::{BatteryTruth, SlowView};
use crate::ecm::Power;
use crate::plant::battery::Battery;
use crate::plant::thermal;
use crate::plant::wear::Worn;
use crate::units::celsius;
use day::{DAY_S, Day, Module};
use serde::{Deserialize, Serialize};

/// Longest step of a rest \[s\].
const STEP_S: f64 = 10.0;
/// Time between two rows of the trace \[s\]: while the car rests; while it is driven in a life; while it stands in a
/// life or a day is carried forward.
const ROWS_S: [f64; 3] = [60.0, 60.0, 21_600.0];
/// Start times of the first and the last trip of a day \[s of the day\].
const TRIPS_S: [f64; 2] = [27_000.0, 61_200.0];
/// Shortest stop between two trips \[s\].
const BETWEEN_S: f64 = 60.0;
/// Time with the key on before cranking \[s\].
const KEY_ON_S: f64 = 2.0;
/// Time after which a start can count as successful, and time after which it has failed \[s\].
const CRANK_S: [f64; 2] = [2.5, 12.0];
/// Above this speed the engine is heard to run \[rpm\].
const HEARD_RPM: f64 = 500.0;
/// Failed starts after which the car is left standing.
const TRIES: u8 = 3;
/// Time carried forward in one step \[s\].
const CARRY_S: f64 = 59.5;
/// Below this supply voltage (module asleep) \[V\] or charge \[-\], only a full day tells whether the engine starts.
const FLAT_V: f64 = 10.5;
const FLAT: f64 = 0.25;
/// A rest or a life that ends this close to its planned end counts as complete \[s\].
const WHOLE_S: f64 = 0.02;

/// What is in progress while no hand touches the car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Slow {
    /// The car stands locked, from and until these times \[s of the plant\].
    Rest(f64, f64),
    /// The car is driven from day to day.
    Life(Box<Living>),
}

/// Present activity in a life.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Doing {
    /// The car stands until this time \[s of the day\].
    Stands(f64),
    /// Key on since this time \[s of the plant\], after this number of failed starts.
    KeyOn(f64, u8),
    /// Cranking since this time \[s of the plant\], after this number of failed starts.
    Cranks(f64, u8),
    /// The driver is at work.
    Drives,
    /// A day is carried forward; index of the present moment of the recorded day.
    Carries(usize),
}

/// A life in progress.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Living {
    life: Life,
    /// Start of the life \[s of the plant\].
    began_s: f64,
    /// Present day, counted from 0.
    day: u32,
    doing: Doing,
    /// Whether the present day is driven at full physics; number of its trips driven so far.
    full: bool,
    trips: u8,
    /// Position at which the pattern continues \[s\].
    place_s: f64,
    /// Driven days begun; full days among them; days carried forward since the last full day.
    driven: u32,
    in_full: u32,
    since_full: u32,
    /// The battery was found flat.
    flat: bool,
    /// The engine runs, on a day that is carried forward.
    runs: bool,
    /// The car could not be started or driven: it stands until the life is over.
    stranded: bool,
    /// The last full day: electrical data, wear at its start and during it, running time, thermal state at its end.
    record: Day,
    before: Worn,
    took: Worn,
    ran_from_s: f64,
    ran_s: f64,
    heat: Option<thermal::State>,
    /// Total running time of the engine \[s\].
    all_ran_s: f64,
}

impl Living {
    fn day_began_s(&self) -> f64 {
        self.began_s + DAY_S * f64::from(self.day)
    }
    fn ends_s(&self) -> f64 {
        self.began_s + DAY_S * f64::from(self.life.days)
    }
    fn drives_on(&self, day: u32) -> bool {
        day % 7 < u32::from(self.life.days_a_week)
    }
    fn is_last_driven(&self) -> bool {
        !(self.day + 1..self.life.days).any(|d| self.drives_on(d))
    }
    /// Start time of a trip \[s of the day\].
    fn trip_s(&self, trip: u8) -> f64 {
        let [first, last] = TRIPS_S;
        let gaps = f64::from(self.life.trips.saturating_sub(1)).max(1.0);
        first + (last - first) * f64::from(trip) / gaps
    }
    fn alone(&self) -> Alone {
        match self.doing {
            Doing::Carries(_) => Alone::Carried,
            Doing::Stands(_) if self.stranded => Alone::Stranded,
            Doing::Stands(_) => Alone::Stands,
            Doing::KeyOn(..) | Doing::Cranks(..) => Alone::Started,
            Doing::Drives => Alone::Driven,
        }
    }
}

impl Bench {
    /// Whether the car can be left alone now, or why not.
    fn left_alone(&self) -> Result<(), Hindrance> {
        if self.plant.s.hands.key_on {
            return Err(Hindrance::KeyOn);
        }
        if self.plant.turning() {
            return Err(Hindrance::EngineTurns);
        }
        if self.plant.s.road.speed_m_s > 0.0 {
            return Err(Hindrance::Rolling);
        }
        Ok(())
    }
    /// Locks the car and leaves it for a number of hours, or returns why this is not possible.
    pub(super) fn begin_rest(&mut self, hours: f64) -> Result<(), Hindrance> {
        self.left_alone()?;
        let now_s = self.plant.s.time_s;
        self.slow = Some(Slow::Rest(now_s, now_s + 3600.0 * hours));
        Ok(())
    }
    /// Starts a life of day-to-day driving, or returns why this is not possible.
    pub(super) fn begin_life(&mut self, life: Life) -> Result<(), Hindrance> {
        self.left_alone()?;
        let s = &mut self.plant.s;
        if !s.hands.plugs.battery {
            return Err(Hindrance::ClampOff);
        }
        if s.road.rollers_nm != 0.0 {
            return Err(Hindrance::OnRollers);
        }
        (s.hands.pedal_pct, s.hands.brake_pct, s.hands.drive) = (0.0, 0.0, false);
        self.slow = Some(Slow::Life(Box::new(Living {
            life,
            began_s: s.time_s,
            day: 0,
            doing: Doing::Stands(0.0),
            full: false,
            trips: 0,
            place_s: 0.0,
            driven: 0,
            in_full: 0,
            since_full: 0,
            flat: false,
            runs: false,
            stranded: false,
            record: Day::default(),
            before: Worn::default(),
            took: Worn::default(),
            ran_from_s: 0.0,
            ran_s: 0.0,
            heat: None,
            all_ran_s: 0.0,
        })));
        self.begin_day();
        Ok(())
    }
    /// A hand touches the car: a rest or a life in progress ends.
    pub(super) fn touched(&mut self, action: &Action) {
        if matches!(action, Action::Note(_) | Action::Wait) {
            return;
        }
        let (now_s, key_off) = (self.plant.s.time_s, !self.plant.s.hands.key_on);
        match &self.slow {
            None => {}
            Some(Slow::Rest(_, until_s)) => {
                let whole = until_s - now_s <= WHOLE_S;
                self.slow = None;
                self.rested(whole);
            }
            Some(Slow::Life(l)) => {
                let whole = key_off && l.ends_s() - now_s <= WHOLE_S;
                self.end_life(!whole);
            }
        }
    }
    fn rested(&mut self, whole: bool) {
        let what = if whole { DriverTells::RestOver } else { DriverTells::RestTouched };
        self.note(Kind::Drive { what });
    }
    /// Ends the life, as planned or early because a hand touched the car, and reports what was driven.
    fn end_life(&mut self, touched: bool) {
        let Some(Slow::Life(l)) = self.slow.take() else { return };
        let s = &mut self.plant.s;
        let mut ran_s = l.all_ran_s;
        if l.full {
            ran_s += s.totals.running_s - l.ran_from_s;
        }
        let days = (s.time_s - l.began_s) / DAY_S;
        let how = match (touched, l.stranded) {
            (true, _) => LifeEnd::Touched,
            (false, true) => LifeEnd::Stranded,
            (false, false) => LifeEnd::Whole,
        };
        let (driven, full, hours) = (l.driven, l.in_full, ran_s / 3600.0);
        self.note(Kind::Drive { what: DriverTells::DrivenOn { how, days, driven, full, hours } });
    }
    /// Present time between two rows of the trace \[s\], where it is longer than usual.
    pub fn slow_row_s(&self) -> Option<f64> {
        Some(match self.slow.as_ref()? {
            Slow::Rest(..) => ROWS_S[0],
            Slow::Life(l) => {
                ROWS_S[if matches!(l.doing, Doing::Stands(_) | Doing::Carries(_)) { 2 } else { 1 }]
            }
        })
    }
    /// End of the rest or life in progress \[s of the scenario\].
    pub fn slow_until_s(&self) -> Option<f64> {
        let ends_s = match self.slow.as_ref()? {
            Slow::Rest(_, until_s) => *until_s,
            Slow::Life(l) => l.ends_s(),
        };
        Some(ends_s - self.start_s)
    }
    /// Latest end of the present activity, so that the trace has a row there \[s of the scenario\].
    pub fn slow_turn_s(&self) -> Option<f64> {
        let turns_s = match self.slow.as_ref()? {
            Slow::Rest(_, until_s) => *until_s,
            Slow::Life(l) => match l.doing {
                Doing::Stands(until_s) => l.day_began_s() + until_s,
                Doing::Carries(_) => l.day_began_s() + DAY_S,
                _ => return None,
            },
        };
        Some(turns_s - self.start_s)
    }
    /// What is in progress while no hand touches the car, and the share done.
    pub fn slow_view(&self) -> Option<SlowView> {
        let now_s = self.plant.s.time_s;
        let (began_s, ends_s, day) = match self.slow.as_ref()? {
            Slow::Rest(began_s, until_s) => (*began_s, *until_s, None),
            Slow::Life(l) => (l.began_s, l.ends_s(), Some((l.day + 1, l.life.days))),
        };
        let share = ((now_s - began_s) / (ends_s - began_s).max(1e-9)).clamp(0.0, 1.0);
        Some(SlowView { doing: self.alone()?, day, share })
    }
    /// What the car is doing while no hand touches it, if a rest or a life is in progress.
    pub fn alone(&self) -> Option<Alone> {
        Some(match self.slow.as_ref()? {
            Slow::Rest(..) => Alone::Locked,
            Slow::Life(l) => l.alone(),
        })
    }
    /// Whether a life is in progress.
    pub(super) fn lives(&self) -> bool {
        matches!(self.slow, Some(Slow::Life(_)))
    }

    /// Takes one long step if the car sleeps or a day is carried forward; false where ordinary steps are needed.
    pub(super) fn slow_step(&mut self) -> bool {
        let now_s = self.plant.s.time_s;
        let until_s = match &self.slow {
            None => return false,
            Some(Slow::Rest(_, until_s)) => *until_s,
            Some(Slow::Life(l)) => match l.doing {
                Doing::Carries(at) => {
                    self.carry(at);
                    return true;
                }
                Doing::Stands(until_s) => l.day_began_s() + until_s,
                _ => return false,
            },
        };
        let left_s = until_s - now_s;
        if left_s > 0.0 {
            if self.ecm.s.power != Power::Off || self.plant.turning() {
                return false;
            }
            self.plant.rest(self.ecm.out(), left_s.min(STEP_S));
            self.sampled();
        }
        // at once, so that an act at that time finds it over
        if until_s - self.plant.s.time_s <= 1e-9 {
            self.stood();
        }
        true
    }
    /// The car has stood for as long as planned.
    fn stood(&mut self) {
        match &self.slow {
            Some(Slow::Rest(..)) => {
                self.slow = None;
                self.rested(true);
            }
            Some(Slow::Life(l)) if l.stranded => self.end_life(false),
            Some(Slow::Life(l)) if l.full && l.trips < l.life.trips => self.turn_key_on(0),
            Some(Slow::Life(_)) => self.end_day(),
            None => {}
        }
    }
    fn does(&mut self, doing: Doing) {
        if let Some(Slow::Life(l)) = &mut self.slow {
            l.doing = doing;
        }
    }
    fn turn_key_on(&mut self, failed: u8) {
        let now_s = self.plant.s.time_s;
        let _ = self.hand_moves(Action::Key(Key::On));
        self.does(Doing::KeyOn(now_s, failed));
    }

    /// The car cannot go on: it is left standing until the life is over, and nothing is driven until then.
    fn strand(&mut self, because: Stranded) {
        let _ = self.hand_moves(Action::Key(Key::Off));
        let Some(Slow::Life(l)) = &mut self.slow else { return };
        l.all_ran_s += self.plant.s.totals.running_s - l.ran_from_s;
        (l.full, l.stranded) = (false, true);
        l.doing = Doing::Stands(DAY_S * f64::from(l.life.days - l.day));
        let day = l.day + 1;
        self.note(Kind::Drive { what: DriverTells::Stranded { day, because } });
    }
    /// Begins a day, or ends the life.
    fn begin_day(&mut self) {
        let Some(Slow::Life(l)) = &mut self.slow else { return };
        if l.day >= l.life.days {
            self.end_life(false);
            return;
        }
        (l.full, l.trips) = (false, 0);
        if !l.drives_on(l.day) {
            l.doing = Doing::Stands(DAY_S);
            return;
        }
        l.driven += 1;
        l.full = l.in_full == 0 || l.flat || l.since_full + 1 >= l.life.each || l.is_last_driven();
        if !l.full {
            l.since_full += 1;
            l.doing = Doing::Carries(0);
            return;
        }
        (l.since_full, l.flat) = (0, false);
        l.in_full += 1;
        l.record.begin(60.0 * l.life.minutes * f64::from(l.life.trips));
        l.before = Worn::of(&self.plant.s.parts);
        l.ran_from_s = self.plant.s.totals.running_s;
        l.doing = Doing::Stands(l.trip_s(0));
    }
    /// Ends a day.
    fn end_day(&mut self) {
        let Some(Slow::Life(l)) = &mut self.slow else { return };
        let s = &mut self.plant.s;
        if l.full {
            l.record.end();
            l.took = l.before.until(&Worn::of(&s.parts));
            l.ran_s = s.totals.running_s - l.ran_from_s;
            l.all_ran_s += l.ran_s;
            l.heat = Some(s.thermal.clone());
            l.full = false;
        } else if matches!(l.doing, Doing::Carries(_)) {
            l.took.again(&mut s.parts);
            l.all_ran_s += l.ran_s;
            // as the full day left it
            if let Some(heat) = &l.heat {
                s.thermal = heat.clone();
            }
        }
        l.day += 1;
        self.begin_day();
    }

    /// Carries forward about one minute of the recorded day's electrical data, starting at this moment of the day.
    fn carry(&mut self, from: usize) {
        let Self { slow, plant, ecm, .. } = self;
        let Some(Slow::Life(l)) = slow else { return };
        let (day_s, began_s) = (l.day_began_s(), plant.s.time_s);
        let mut at = from;
        while let Some(m) = l.record.moments.get(at) {
            at += 1;
            let set_v = if m.module.asks { ecm.s.charging.set_v() } else { 0.0 };
            plant.carry_on(day_s + m.end_s, &m.round, set_v);
            let module = &m.module;
            let (awake, on) = (module.awake, module.on);
            let ran = std::mem::replace(&mut l.runs, module.running);
            let starts = module.running && !ran;
            ecm.carry_on(plant.frame(), (awake, on), starts, module.overrun, module.coolant_c);
            let flat = plant.s.parts.battery.charge < FLAT || plant.s.electrical.supply_v < FLAT_V;
            l.flat |= !awake && flat;
            if plant.s.time_s - began_s >= CARRY_S {
                break;
            }
        }
        l.doing = Doing::Carries(at);
        if at >= l.record.moments.len() {
            self.end_day();
        }
    }

    /// Records the electrical data of a full day; called for each sample.
    pub(super) fn slow_sample(&mut self) {
        let Some(Slow::Life(l)) = &mut self.slow else { return };
        if !l.full {
            return;
        }
        let m = &self.ecm.s;
        let module = Module {
            awake: m.power != Power::Off || self.plant.s.hands.key_on,
            on: m.power == Power::On,
            running: m.running,
            asks: m.out.charge_v > 0.0,
            overrun: m.fuel.cut && m.inputs.road_km_h > 5.0,
            coolant_c: m.inputs.coolant_c,
        };
        let at_s = self.plant.s.time_s - l.day_began_s();
        l.record.add(at_s, &self.plant.s.electrical.round, module);
    }
    /// Operates the car in a life; called every 100 ms.
    pub(super) fn slow_look(&mut self) {
        let Some(Slow::Life(l)) = &mut self.slow else { return };
        let now_s = self.plant.s.time_s;
        let heard = self.plant.speed_rpm() > HEARD_RPM;
        match l.doing {
            Doing::Stands(_) | Doing::Carries(_) => {}
            Doing::KeyOn(since_s, failed) if now_s - since_s >= KEY_ON_S => {
                l.doing = Doing::Cranks(now_s, failed);
                let _ = self.hand_moves(Action::Key(Key::Crank));
            }
            Doing::KeyOn(..) => {}
            Doing::Cranks(since_s, failed) => {
                let for_s = now_s - since_s;
                if heard && for_s >= CRANK_S[0] {
                    let (pattern, place_s) = (l.life.pattern, l.place_s);
                    let seconds = 60.0 * l.life.minutes;
                    match self.begin_drive(pattern, place_s, seconds, false) {
                        Ok(()) => self.does(Doing::Drives),
                        Err(why) => self.strand(Stranded::NoDrive(why)),
                    }
                } else if for_s >= CRANK_S[1] && failed + 1 >= TRIES {
                    self.strand(Stranded::NoStart);
                } else if for_s >= CRANK_S[1] {
                    self.turn_key_on(failed + 1);
                }
            }
            Doing::Drives => {
                if let Some(driver) = &self.driver {
                    l.place_s = driver.clock_s();
                } else if !heard || self.plant.s.road.speed_m_s > 0.3 {
                    self.strand(Stranded::GivenUp);
                } else {
                    l.trips += 1;
                    let earliest_s = now_s - l.day_began_s() + BETWEEN_S;
                    let until_s =
                        if l.trips < l.life.trips { l.trip_s(l.trips).max(earliest_s) } else { DAY_S };
                    l.doing = Doing::Stands(until_s);
                    let _ = self.hand_moves(Action::Key(Key::Off));
                }
            }
        }
    }
}

/// True state of the battery.
pub(super) fn battery_truth(b: &Battery) -> BatteryTruth {
    BatteryTruth {
        kind: b.label.kind.name().into(),
        rated_ah: b.label.rated_ah,
        capacity_ah: b.capacity_ah(),
        charge_pct: 100.0 * b.charged(),
        open_circuit_v: b.open_circuit_v(),
        resistance_mohm: 1e3 * b.resistance_ohm(),
        gassing_a: b.gassing_a(),
        water_lost_g: b.water_lost_g,
        acid_c: celsius(b.acid_k),
        lost_pct: b.lost().map(|x| 100.0 * x),
    }
}
