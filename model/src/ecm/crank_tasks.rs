//! Tasks that follow from crankshaft segment times: misfire codes, learning crankshaft variation, the cylinder cut-out test.
//!
//! *Inside*: which codes, notices, stored values and routine states follow from a verdict or an event. *Outside*: counting
//! misfires ([`crate::ecm::misfire`]) and solving for the wheel ([`crate::ecm::crank_learn`]).

use crate::ecm::codes::{self, Code};
use crate::ecm::{Ecm, crank_learn, misfire};
use crate::link::{Failed, Hold, Notice, Routine, RoutineState, WaitsFor, Writer};
use serde::{Deserialize, Serialize};

/// Maximum time for which a cylinder is cut out \[s\].
const CUT_OUT_S: f64 = 12.0;
/// Time over which the speed drop is averaged \[s\].
const DROP_S: f64 = 6.0;

/// Drop in engine speed caused by cutting out a cylinder.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub(super) struct CutOutSpeed {
    before_rpm: f64,
    turned: f64,
    for_s: f64,
}

impl CutOutSpeed {
    /// Begins a test, from the mean speed before it \[rpm\].
    pub fn from(before_rpm: f64) -> Self {
        Self { before_rpm, ..Self::default() }
    }
    fn add(&mut self, rpm: f64, dt_s: f64) {
        if self.for_s < DROP_S {
            self.turned += rpm * dt_s;
            self.for_s += dt_s;
        }
    }
    /// Drop in mean speed so far \[rpm\]; 0 without a test.
    pub fn drop_rpm(&self) -> f64 {
        if self.for_s > 0.0 { self.before_rpm - self.turned / self.for_s } else { 0.0 }
    }
}

impl Ecm {
    /// A cylinder's fuel is cut by command: the trims are frozen.
    pub(super) fn holds_trims(&self) -> bool {
        self.s.cut_out.is_some() || self.s.misfire.cut.contains(&true)
    }

    pub(super) fn judge_misfire(&mut self) {
        if !self.s.misfire.block_full() {
            return;
        }
        let n = self.cal.plate.firing_order.len();
        let standing = |c: &Code| *self.s.codes.standing(*c);
        let seen_before = codes::BY_CYLINDER
            .iter()
            .chain([&Code::P0300])
            .any(|c| standing(c).pending || standing(c).confirmed);
        let told = self.s.misfire.verdicts(&self.cal.s.misfire, seen_before, n);
        let named = |mask: u8| (0..8).filter(move |c| mask & (1 << c) != 0);
        let warm = self.s.inputs.coolant_c >= 70.0;
        for v in told.into_iter().flatten() {
            match v {
                misfire::Verdict::Bad { cylinders, multiple, early } => {
                    self.s.similar = Some((self.s.misfire.last_short.conditions(), warm));
                    if multiple {
                        self.verdict(Code::P0300, Some(true));
                    }
                    for c in named(cylinders) {
                        self.verdict(codes::BY_CYLINDER[c], Some(true));
                    }
                    if early {
                        self.verdict(Code::P0316, Some(true));
                    }
                    let confirmed = |c: &Code| self.s.codes.standing(*c).confirmed;
                    let any = codes::BY_CYLINDER.iter().chain([&Code::P0300]).any(confirmed);
                    if self.cal.s.misfire.doubts_table && any && !self.s.store.wheel.suspect {
                        self.s.store.wheel.suspect = true;
                        self.note(Notice::WheelSuspect);
                    }
                }
                misfire::Verdict::Good([rpm, map_kpa]) => {
                    // a pending code passes only under conditions similar to those in which it was seen: within
                    // 375 rpm, within a fifth of the load, and in the same warm-up state
                    let like = self.s.similar.is_none_or(|([r, m], w)| {
                        (rpm - r).abs() <= 375.0 && (map_kpa - m).abs() <= 0.2 * m && warm == w
                    });
                    if like {
                        self.s.similar = None;
                        let cylinders = codes::BY_CYLINDER.into_iter().take(n);
                        for code in cylinders.chain([Code::P0300, Code::P0316]) {
                            self.verdict(code, Some(false));
                        }
                    }
                }
                misfire::Verdict::Cut(cylinders) => {
                    for c in named(cylinders) {
                        self.note(Notice::InjectorCut { cylinder: c as u8 + 1 });
                    }
                }
            }
        }
    }

    /// Called when a window has ended in steady cruise: runs the fired refinement, if this module has one.
    pub(super) fn refine_wheel(&mut self) {
        let Self { cal, s, windows, .. } = self;
        if s.misfire.counted || s.fuel.cut {
            return;
        }
        let window = (usize::from(s.misfire.position), s.misfire.window_s);
        let now = (s.inputs.segment_rpm, s.inputs.map_kpa);
        if let Some(add) = s.wheel.fired(&cal.s.wheel, windows, window, now) {
            let at_s = s.inputs.time_s;
            let table = &mut s.store.wheel;
            windows.bend(&mut table.edges_deg, &add);
            (table.by, table.at_s) = (Writer::Refinement, at_s);
        }
    }

    /// Averages speed over the first seconds of a cut-out test; later, idle control has compensated for the cylinder.
    pub(super) fn cut_out_speed(&mut self, dt: f64) {
        if self.s.cut_out.is_some() {
            self.s.cut_out_speed.add(self.s.inputs.rpm, dt);
        }
    }

    pub(super) fn end_cut_out(&mut self) {
        let Some((c, since)) = self.s.cut_out else { return };
        let i = &self.s.inputs;
        if i.time_s - since < CUT_OUT_S && self.s.running && self.s.air.idling {
            return;
        }
        let idling = self.s.running && self.s.air.idling;
        self.s.cut_out = None;
        self.s.air.cylinder_back();
        let routine = Routine::CutOut(c + 1);
        self.s.routine = if idling {
            RoutineState::Done { routine }
        } else {
            RoutineState::Failed { routine, because: Failed::LeftIdle }
        };
        self.note(Notice::InjectorWorks { cylinder: c + 1 });
    }

    /// Crankshaft variation learning, every 10 ms.
    pub(super) fn learn_wheel(&mut self, dt: f64) {
        let Self { cal, s, book, .. } = self;
        let routine = s.wheel.phase != crank_learn::Phase::Off;
        // the road method is active while there is no usable table
        let needed = cal.s.wheel.road.is_some() && (!s.store.wheel.learned || s.store.wheel.suspect);
        if !routine && !needed {
            return;
        }
        let i = &s.inputs;
        let [cool, hot] = cal.s.wheel.warm_c;
        // nobody supervises a coast-down, so nothing is learned on the road from a faulty signal
        let against = codes::BY_CYLINDER.iter().chain([&Code::P0300, &Code::P0335, &Code::P0336]);
        let bit = |on: bool, k: u8| u8::from(on) << k;
        let look = crank_learn::Inputs {
            rpm: i.rpm,
            pedal_pct: i.pedal_pct,
            cut: s.fuel.cut,
            standing: i.road_km_h < 1.0 && i.neutral,
            loads: bit(s.air.compressor, 0)
                | bit(i.heated_glass, 1)
                | bit(i.lamps, 2)
                | bit(s.out.fan, 3)
                | bit(i.compressor_request, 4),
            map_kpa: i.map_kpa,
            ambient_kpa: i.ambient_kpa,
            road_may: needed
                && s.running
                && !i.neutral
                && (cool..=hot).contains(&i.coolant_c)
                && !against.into_iter().any(|c| s.codes.active(*c)),
            road_km_h: i.road_km_h,
            brake: i.brake,
            rough: s.misfire.rough_road(),
        };
        if !routine {
            self.coast_down(&look, dt);
            return;
        }
        let Some(event) = s.wheel.fast(&cal.s.wheel, book, &look, dt) else { return };
        let routine = Routine::LearnWheel;
        let at_s = s.inputs.time_s;
        let [low, high] = cal.s.wheel.band_rpm;
        let hold = Hold { low_rpm: low, high_rpm: high, for_s: cal.s.wheel.hold_s };
        // after the last attempt there is no band left to hold
        let over = s.wheel.phase == crank_learn::Phase::Off;
        let next = (!over).then_some(hold);
        let (notice, waits_for) = match event {
            crank_learn::Event::LetGo => (Notice::WaitsFor(WaitsFor::LetGo), WaitsFor::LetGo),
            crank_learn::Event::Hold => (Notice::WaitsFor(WaitsFor::Hold(hold)), WaitsFor::Hold(hold)),
            crank_learn::Event::Taken(number, of) => {
                let (number, of) = (number as u32, of as u32);
                (Notice::RunDownCounts { number, of, hold: next }, WaitsFor::Hold(hold))
            }
            crank_learn::Event::Thrown(because) => (
                Notice::RunDownThrownAway { because, hold: next },
                WaitsFor::HoldAgain { thrown: because, hold },
            ),
            crank_learn::Event::Done(solution) => {
                let error_deg = solution.error_deg;
                s.store.write_wheel(solution.edges_deg, error_deg, Writer::Routine, at_s);
                s.ended(routine, Ok(Some(error_deg)));
                return;
            }
            crank_learn::Event::Failed(because) => {
                s.ended(routine, Err(because));
                return;
            }
        };
        s.note(notice);
        if over {
            s.ended(routine, Err(Failed::AttemptsUsedUp { of: cal.s.wheel.run_downs[1] as u32 }));
        } else if let RoutineState::Running { waits_for: now, .. } = &mut s.routine {
            *now = Some(waits_for);
        }
    }

    /// The road method's coast-downs, every 10 ms while no routine runs.
    fn coast_down(&mut self, look: &crank_learn::Inputs, dt: f64) {
        let Self { cal, s, book, .. } = self;
        let Some(event) = s.wheel.coast(&cal.s.wheel, book, look, dt) else { return };
        let notice = match event {
            crank_learn::Event::Taken(number, of) => {
                Notice::CoastDownCounts { number: number as u32, of: of as u32 }
            }
            crank_learn::Event::Thrown(because) => Notice::CoastDownThrownAway { because },
            crank_learn::Event::Done(solution) => {
                let (error_deg, at_s) = (solution.error_deg, s.inputs.time_s);
                s.store.write_wheel(solution.edges_deg, error_deg, Writer::CoastDowns, at_s);
                Notice::WheelLearned { error_deg }
            }
            crank_learn::Event::LetGo | crank_learn::Event::Hold | crank_learn::Event::Failed(_) => return,
        };
        s.note(notice);
    }
}
