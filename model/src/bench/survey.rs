//! Surveys: an engine held at one operating point, its monitored firings compared with what really happened.
//!
//! *Inside*: holding speed and manifold pressure on rollers, matching every window of the misfire monitor with its
//! firing, what the healthy engine and a missed firing look like. *Outside*: which points, how many engines, tables
//! and plots of the results (`batch`).
//!
//! Meanwhile the module's own monitor is kept from reaching a verdict, so that no injector is cut; shadow monitors,
//! each with its own wheel table, run beside it on the same edges.

use crate::bench::Bench;
use crate::bench::action::{Action, Key};
use crate::bench::drive::Foot;
use crate::bench::setup::Setup;
use crate::ecm::memory::WheelTable;
use crate::ecm::misfire;
use crate::link::{DiagRequest, DiagResponse, Failed, Refused, Routine, RoutineState, Writer};
use crate::num::lag_share;

/// Running means of a number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// Number of values.
    pub n: u64,
    sum: f64,
    squares: f64,
    /// Largest.
    pub most: f64,
    /// Smallest.
    pub least: f64,
}

impl Spread {
    /// Adds one value.
    pub fn add(&mut self, x: f64) {
        self.most = if self.n == 0 { x } else { self.most.max(x) };
        self.least = if self.n == 0 { x } else { self.least.min(x) };
        self.n += 1;
        self.sum += x;
        self.squares += x * x;
    }
    /// Mean.
    pub fn mean(&self) -> f64 {
        self.sum / self.n.max(1) as f64
    }
    /// Standard deviation.
    pub fn sd(&self) -> f64 {
        let m = self.mean();
        (self.squares / self.n.max(1) as f64 - m * m).max(0.0).sqrt()
    }
}

/// A monitor that runs beside the module's own.
#[derive(Debug, Clone)]
pub struct Shadow {
    state: misfire::State,
    table: WheelTable,
    /// Its results.
    pub score: Score,
}

impl Shadow {
    /// With corrections of every edge \[deg\], or none.
    pub fn new(edges_deg: Option<&[f64]>) -> Self {
        let table = WheelTable {
            edges_deg: edges_deg.map_or_else(|| vec![0.0; 58], <[f64]>::to_vec),
            error_deg: 0.0,
            learned: edges_deg.is_some(),
            suspect: false,
            by: Writer::Routine,
            at_s: 0.0,
        };
        Self { state: misfire::State::default(), table, score: Score::default() }
    }
}

/// Results of a monitor over the windows it saw.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Score {
    /// Windows.
    pub windows: u64,
    /// Real misfires among them.
    pub real: u64,
    /// Real misfires that were counted.
    pub found: u64,
    /// Counted misfires that were not real.
    pub wrong: u64,
    /// Indices of healthy windows that follow no missed one.
    pub healthy: Spread,
    /// Indices of missed firings.
    pub missed: Spread,
    /// Index of the window after a single missed firing, before the echo is subtracted.
    pub after: Spread,
    since_missed: u32,
}

impl Score {
    fn add(&mut self, s: &misfire::State, missed: bool) {
        self.windows += 1;
        self.real += u64::from(missed);
        self.found += u64::from(missed && s.counted);
        self.wrong += u64::from(!missed && s.counted);
        if missed {
            self.missed.add(s.index);
        } else if self.since_missed == 0 && self.windows > 1 {
            self.after.add(s.raw);
        } else if self.since_missed > 8 {
            self.healthy.add(s.index);
        }
        self.since_missed = if missed { 0 } else { self.since_missed.saturating_add(1) };
    }
    /// Share of the real misfires that were found \[%\].
    pub fn found_pct(&self) -> f64 {
        100.0 * self.found as f64 / self.real.max(1) as f64
    }
    /// Counted healthy firings in 1000 turns.
    pub fn wrong_per_1000(&self, cylinders: usize) -> f64 {
        1000.0 * self.wrong as f64 / (2.0 * self.windows.max(1) as f64 / cylinders as f64)
    }
}

impl Bench {
    /// Allows the wheel to be learned again in the same key cycle: for surveys that repeat the routine.
    pub fn forget_attempts(&mut self) {
        self.ecm.s.wheel.attempts = 0;
    }
    /// Moves the car to another altitude, its engine running or not \[kPa\]: for surveys over ambient pressure.
    pub fn carry_to(&mut self, ambient_kpa: f64) {
        self.plant.carry_to(ambient_kpa * 1e3);
    }
}

/// Why there is nothing to survey.
#[derive(Debug, Clone, PartialEq)]
pub enum NoSurvey {
    /// The bench cannot be built.
    Bench(crate::bench::Error),
    /// The engine did not start.
    NotStarted,
    /// The module refused to learn the wheel.
    Refused(Refused),
    /// The routine that learns the wheel failed.
    Failed(Failed),
    /// That routine did not finish.
    NoEnd,
    /// Nothing could be held at a speed \[rpm\].
    NotHeld(f64),
}

/// A warm, idling engine, built from a setup; an error if it did not start.
pub fn warm(setup: &Setup) -> Result<Bench, NoSurvey> {
    let mut b = Bench::new(setup, &mut |_| true).map_err(NoSurvey::Bench)?;
    b.act_quietly(Action::Key(Key::On));
    b.advance_by(1.0);
    b.act_quietly(Action::Key(Key::Crank));
    b.advance_by(20.0);
    if b.plant.speed_rpm() < 300.0 {
        return Err(NoSurvey::NotStarted);
    }
    Ok(b)
}

/// Learns the wheel by the module's own routine, as a practised hand would.
pub fn learn_wheel(b: &mut Bench) -> Result<(), NoSurvey> {
    let ask = Action::Ask(DiagRequest::Start(Routine::LearnWheel));
    if let crate::bench::Done::Answer(DiagResponse::Refused(r)) = b.act_quietly(ask) {
        return Err(NoSurvey::Refused(r));
    }
    let [low, high] = b.car.ecm.s.wheel.band_rpm;
    let running = |b: &Bench| matches!(b.ecm.s.routine, RoutineState::Running { .. });
    for _ in 0..12 {
        b.act_quietly(Action::Hold { rpm: 0.5 * (low + high), nm: 0.0 });
        for _ in 0..300 {
            // a cooled test stand: a fan that switched on would spoil a run-down
            b.plant.set_coolant_c(90.0);
            b.advance_by(0.1);
            let let_go = matches!(b.ecm.s.wheel.phase, crate::ecm::crank_learn::Phase::LetGo(_));
            if let_go || !running(b) {
                break;
            }
        }
        b.act_quietly(Action::Pedal(0.0));
        b.advance_by(4.0);
        if !running(b) {
            break;
        }
    }
    match &b.ecm.s.routine {
        RoutineState::Done { .. } => Ok(()),
        RoutineState::Failed { because, .. } => Err(NoSurvey::Failed(*because)),
        _ => Err(NoSurvey::NoEnd),
    }
}

/// Holds a speed \[rpm\] and a manifold pressure \[kPa\]; without a speed the engine idles, without a pressure it
/// carries no load. Returns the pressure reached \[kPa\].
pub fn hold(b: &mut Bench, rpm: Option<f64>, map_kpa: Option<f64>, settle_s: f64) -> f64 {
    b.foot = rpm.map(|rpm| Foot::new(rpm, 0.0));
    let pieces = (settle_s / 0.1) as usize;
    let mut mean = b.ecm.s.inputs.map_kpa;
    for i in 0..pieces {
        b.plant.set_coolant_c(90.0);
        b.advance_by(0.1);
        let now = b.ecm.s.inputs.map_kpa;
        mean += (now - mean) * lag_share(0.1, 1.0);
        if let (Some(want), Some(foot)) = (map_kpa, &mut b.foot)
            && i > 20
        {
            // slowly, and only as much as it takes to approach the pressure: an engine that the rollers pull down
            // would stall
            foot.nm = (foot.nm + 0.06 * (want - now).clamp(-8.0, 8.0)).clamp(0.0, 250.0);
        }
    }
    mean
}

/// Watches this many turns; each cylinder's misfires are sparks suppressed by this share \[-\].
pub fn watch(b: &mut Bench, turns: f64, swallowed: &[f64], shadows: &mut [Shadow]) {
    for (c, share) in swallowed.iter().enumerate() {
        b.plant.s.hands.interrupted[c] = *share;
    }
    let car = b.car.clone();
    let cal = &car.ecm.s.misfire;
    let order = &car.ecm.plate.firing_order;
    let n = order.len();
    let until = b.plant.s.totals.turns + turns;
    // do not wait for an engine that stops
    let give_up_s = b.plant.s.time_s + turns * 0.3 + 5.0;
    let mut misfires: Vec<u64> = b.plant.s.accounts.iter().map(|a| a.misfires).collect();
    let mut missed = vec![false; n];
    let mut next_kept_cool = 0.0;
    while b.plant.s.totals.turns < until && b.plant.s.time_s < give_up_s {
        if b.plant.s.time_s > next_kept_cool {
            b.plant.set_coolant_c(90.0);
            next_kept_cool = b.plant.s.time_s + 5.0;
        }
        // no verdict meanwhile
        if b.ecm.s.misfire.short.windows > 50 * n as u32 {
            b.ecm.s.misfire.forget();
        }
        let stepped = b.plant.step(b.ecm.out());
        for ((before, a), missed) in misfires.iter_mut().zip(&b.plant.s.accounts).zip(&mut missed) {
            if a.misfires != *before {
                (*before, *missed) = (a.misfires, true);
            }
        }
        if let Some(e) = &stepped.edge {
            b.ecm.edge(e);
            let i = &b.ecm.s.inputs;
            if i.in_step() && b.ecm.s.misfire.off == misfire::Off::Watching {
                let (at, now) = (i.tooth(), (i.segment_rpm, i.map_kpa));
                let mut ended = None;
                for s in shadows.iter_mut() {
                    let windows = b.ecm.windows();
                    let end = s.state.edge((cal, windows), &s.table, at, e.tick, now, order);
                    if let Some(told) = end {
                        let c = usize::from(order[usize::from(s.state.position)]) - 1;
                        if told {
                            s.score.add(&s.state, missed[c]);
                        }
                        ended = Some(c);
                    }
                }
                if let Some(c) = ended {
                    missed[c] = false;
                }
            } else {
                missed.iter_mut().for_each(|m| *m = false);
                for s in shadows.iter_mut() {
                    s.state = misfire::State::default();
                }
            }
        }
        if stepped.sampled {
            b.sampled();
        }
    }
    b.plant.s.hands.interrupted = Default::default();
    b.take_notes();
    b.log.clear();
}
