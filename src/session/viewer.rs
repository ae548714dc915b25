//! Viewers: which parts of a session each may see. It is the only path from a session under way to a viewer.
//!
//! *Inside*: whether a viewer may see truth, and what a scenario hides. *Outside*: how it is shown.
//!
//! A trainee sees truth under an open lid only, and the logbook records that the lid was opened. An instructor always
//! sees truth, and this leaves no trace: the trainee's lid is unchanged.
//!
//! **Checked by** `tests/attempts/view.rs`.

use crate::bench::action::Action;
use crate::bench::record::{Entry, Kind};
use crate::bench::trace::COLUMNS;
use crate::bench::view::{GasTruth, Observation, Truth};
use crate::lesson::Grade;
use crate::link::{DiagResponse, Failed, Notice, Refused, RoutineState};
use crate::scenario::{Expect, Hides, Scenario};
use crate::session::teach::is_injected;
use crate::session::{Asked, Judged, Session, Why};
use serde::Serialize;
use serde_json::Value;

/// The viewer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Viewer {
    /// The trainee: truth under an open lid only.
    #[default]
    Trainee,
    /// The instructor: truth, whatever the trainee's lid.
    Instructor,
}

/// A session as a viewer may see it.
#[derive(Debug, Clone, Copy)]
pub struct Seen<'a> {
    session: &'a Session,
    truth: bool,
}

impl Session {
    /// The parts that a viewer may see.
    pub fn seen_by(&self, viewer: Viewer) -> Seen<'_> {
        Seen { session: self, truth: self.lid_open || viewer == Viewer::Instructor }
    }
}

impl<'a> Seen<'a> {
    /// Whether truth may be seen.
    pub fn sees_truth(self) -> bool {
        self.truth
    }
    /// What can be observed, without what the scenario hides.
    pub fn seen(self) -> Observation {
        let mut seen = self.session.bench.observe();
        if !self.truth {
            kept_back(&mut seen, hides(&self.session.scenario));
        }
        seen
    }
    /// Truth.
    pub fn truth(self) -> Option<Truth> {
        self.truth.then(|| self.session.bench.truth())
    }
    /// The gas in the cylinders.
    pub fn gas(self) -> Option<Vec<GasTruth>> {
        self.truth.then(|| self.session.bench.gas_truth())
    }
    /// The grade so far; only with truth, because points reveal what is right.
    pub fn grade(self) -> Option<Grade> {
        if self.truth { self.session.grade() } else { None }
    }
    /// The logbook.
    pub fn logbook(self) -> Vec<Entry> {
        self.logbook_from(0)
    }
    /// The logbook from a line on, counted from 0.
    pub fn logbook_from(self, line: usize) -> Vec<Entry> {
        let s = self.session;
        let all = s.bench.log();
        visible_from(all, s.own_lines, self.truth, &s.scenario, line, self.truth)
    }
    /// Values of the recorded signals from a row on, counted from 0, row by row as wide as [`COLUMNS`]; truth that
    /// may not be seen is NaN.
    pub fn values_from(self, row: usize) -> impl Iterator<Item = f64> + 'a {
        let told = move |(k, x): (usize, &f64)| if COLUMNS[k].truth && !self.truth { f64::NAN } else { *x };
        self.session.trace.rows_from(row).flat_map(move |row| row.iter().enumerate().map(told))
    }
}

/// What a scenario hides from a trainee besides truth.
pub(super) fn hides(scenario: &Scenario) -> Hides {
    scenario.plan.as_ref().map_or(Hides::default(), |p| p.hides)
}

/// A line of the logbook without the gates that the module reported, or its reason for a refusal or failure.
fn kept_line(e: &Entry, hides: Hides) -> Entry {
    let mut e = e.clone();
    if let (Kind::Answer { answer: DiagResponse::Learned(all), .. }, true) = (&mut e.kind, hides.gates) {
        all.iter_mut().for_each(|l| l.gates.clear());
    }
    match &mut e.kind {
        _ if !hides.refusals => {}
        Kind::Answer { answer: DiagResponse::Refused(because), .. }
        | Kind::Module { what: Notice::Refused { because, .. } } => *because = Refused::Withheld,
        Kind::Answer { answer: DiagResponse::Routine(RoutineState::Failed { because, .. }), .. }
        | Kind::Module { what: Notice::RoutineFailed { because, .. } } => *because = Failed::Withheld,
        _ => {}
    }
    e
}

/// An observation without what a scenario hides.
pub(super) fn kept_back(seen: &mut Observation, hides: Hides) {
    if hides.gates {
        seen.learned.iter_mut().for_each(|l| l.gates.clear());
    }
    if hides.refusals && seen.live.routine_because.is_some() {
        seen.live.routine_because = Some(Failed::Withheld);
    }
    if hides.gates {
        seen.live.stop_start_because = None;
    }
}

/// The part of a bench's log that may be read: all with an open lid; with a closed lid, without the car's life before
/// it came in and without what the scenario's own acts, the first `own_lines`, reveal about the fault or about what
/// differs from trainee to trainee.
pub(super) fn visible(log: &[Entry], own_lines: usize, lid_open: bool, scenario: &Scenario) -> Vec<Entry> {
    visible_from(log, own_lines, lid_open, scenario, 0, true)
}

/// The same from a line on, counted from 0 among the readable ones; with or without the instructor's injected faults,
/// which the logbook needs to be run again.
fn visible_from(
    log: &[Entry],
    own_lines: usize,
    lid_open: bool,
    scenario: &Scenario,
    first: usize,
    injected: bool,
) -> Vec<Entry> {
    let drawn = |id: &str| scenario.acts.iter().any(|a| a.drawn && a.id == id);
    let hides = hides(scenario);
    let shown = |(k, e): &(usize, &Entry)| {
        let own = *k < own_lines;
        let hidden = match &e.kind {
            Kind::Module { what } => own && wrote(what),
            _ if e.t_s < 0.0 => true,
            Kind::Act { id, .. } | Kind::Hindered { id, .. } if !injected && is_injected(id) => true,
            Kind::Act { id, action } => own && (tells(action) || drawn(id)),
            Kind::Hindered { .. } => own,
            Kind::Answer { id, .. }
            | Kind::Reading { id, .. }
            | Kind::Shown { id, .. }
            | Kind::Watched { id, .. }
            | Kind::TimedOut { id, .. } => own && drawn(id),
            _ => false,
        };
        lid_open || !hidden
    };
    let told = |e: &Entry| if lid_open { e.clone() } else { kept_line(e, hides) };
    log.iter().enumerate().filter(shown).skip(first).map(|(_, e)| told(e)).collect()
}

/// Whether the module tells what was written into it, which an act that is kept back may have done.
fn wrote(what: &Notice) -> bool {
    matches!(what, Notice::InjectorCodeWritten { .. } | Notice::BatteryEntered { .. })
}

/// Whether an act reveals something that should be found by measuring.
pub(super) fn tells(action: &Action) -> bool {
    matches!(
        action,
        Action::Leak(_)
            | Action::ExhaustLeak(_)
            | Action::Sensor(..)
            | Action::Refuel(_)
            | Action::Fit(_)
            | Action::Connector(..)
            | Action::CleanThrottle
            | Action::SwapInjectors(..)
    )
}

/// Takes from an observation the learned values of a lesson's car, unless the module was asked for them: whoever does not
/// look is not told what a tester would have shown.
pub(super) fn unread(seen: &mut Observation, log: &[Entry], scenario: &Scenario) {
    let read = |e: &Entry| matches!(&e.kind, Kind::Answer { answer: DiagResponse::Learned(_), .. });
    if scenario.plan.is_some() && !log.iter().any(read) {
        seen.learned.clear();
        seen.trims.clear();
        seen.wheel_table_deg.clear();
    }
}

/// A judgement as the lid allows it to be shown: for truth, for what differs from trainee to trainee, and for what the
/// author of a lesson expects of the car that is handed over (`kept`), only whether it was met.
pub(super) fn told(
    e: &Expect,
    met: bool,
    measured: Value,
    asked: Asked,
    (lid_open, kept): (bool, bool),
    at_s: f64,
) -> Judged {
    let unfilled = e.unfilled.as_ref().filter(|_| !lid_open);
    let of_truth = e.what.starts_with("truth.") && !lid_open;
    let kept = kept && !lid_open;
    let hidden = unfilled.is_some() || of_truth || kept;
    let (what, why) = match unfilled {
        // which value, and why, may reveal as much as the value itself
        _ if of_truth => ("truth.hidden".into(), Why::Hidden),
        _ if kept => ("hidden".into(), Why::Hidden),
        Some(u) => (u.what.clone(), Why::Author(u.why.clone())),
        None => (e.what.clone(), Why::Author(e.why.clone())),
    };
    Judged {
        what,
        why,
        met,
        measured: if hidden { Value::Null } else { measured },
        asked: if hidden { Asked::Hidden } else { asked },
        at_s,
        hidden,
    }
}
