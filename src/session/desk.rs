//! A desk: one session worked on by hand, with marks to return to and a twin beside it.
//!
//! *Inside*: acts as they come, advancing by time or by crank angle, marks and rewinding, a second future. *Outside*:
//! clocks and threads ([`crate::session::live`]), drawing.
//!
//! A mark is a clone of the session. Going back discards what came after it; the logbook records that this was done,
//! and nothing else of what was discarded. The twin is another future, for observation only: the logbook that is
//! handed in is that of the first future.

use crate::bench::Done;
use crate::bench::action::{Action, Note};
use crate::bench::record::{Entry, Kind};
use crate::scenario::{ActionFile, Lid, Scenario};
use crate::session::teach::{Came, Found, INJECTED, Outstanding, is_injected};
use crate::session::{Error, Job, Options, Progress, Run, Session};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Maximum number of marks; the oldest unnamed ones are dropped first.
pub const MOST_MARKS: usize = 60;
/// Longest time simulated to turn the crank by an angle, if it does not turn \[s\].
const STANDING_S: f64 = 0.02;

/// Much shorter than any step \[s\].
const ALMOST_S: f64 = 1e-9;

/// The name of a mark.
#[derive(Debug, Clone, PartialEq)]
pub enum MarkName {
    /// The car was handed over.
    HandOver,
    /// A name given by the user.
    Named(String),
    /// Set before an act.
    Before(Box<Action>),
    /// Set before an instructor injected a fault: the mark does not say which.
    SlippedIn,
}

/// A moment to go back to.
#[derive(Debug, Clone)]
pub struct Mark {
    /// Its name.
    pub name: MarkName,
    /// When \[s\].
    pub at_s: f64,
    /// Set by the user; the others are set by the desk before each act.
    pub named: bool,
    session: Box<Session>,
}

impl Mark {
    /// The session at that moment.
    pub(super) fn session(&self) -> &Session {
        &self.session
    }
}

/// The futures that an act affects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// Both.
    #[default]
    Both,
    /// The first only: the one that will be handed in.
    First,
    /// The second only.
    Second,
}

/// A session worked on by hand.
#[derive(Debug, Clone)]
pub struct Desk {
    session: Session,
    marks: Vec<Mark>,
    twin: Option<Box<Session>>,
    forked_s: f64,
    /// How much was undone each time \[s\]: kept across rewinds.
    undone_s: Vec<f64>,
    /// Incremented whenever rows recorded earlier are no longer valid.
    epoch: u64,
    hands: u64,
}

impl Desk {
    /// Builds the bench, drives its conditioning and does the scenario's own acts; then the car is handed over.
    pub fn new(
        scenario: &Scenario,
        options: &Options,
        told: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<Self, Error> {
        Self::with_hands(scenario, None, options, told)
    }

    /// The same; an action file's acts are also done at their own times after hand-over.
    pub fn with_hands(
        scenario: &Scenario,
        actions: Option<&ActionFile>,
        options: &Options,
        told: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<Self, Error> {
        let options = Options { live: true, ..*options };
        let mut session = Session::new(scenario, actions, &options, told)?;
        let stopped = || Error::Bench(crate::bench::Error::Stopped);
        while !session.queue.acts.is_empty() {
            let end_s = session.end_s();
            if !told(Progress::Running { at_s: session.bench.time_s(), end_s, slow: session.bench.alone() }) {
                return Err(stopped());
            }
            session.step(end_s);
        }
        session.hand_over();
        let mut desk = Self {
            session,
            marks: Vec::new(),
            twin: None,
            forked_s: 0.0,
            undone_s: Vec::new(),
            epoch: 0,
            hands: 0,
        };
        desk.put_mark(MarkName::HandOver, true);
        Ok(desk)
    }

    /// The session.
    pub fn session(&self) -> &Session {
        &self.session
    }
    /// The second future, and the time of the fork \[s\].
    pub fn twin(&self) -> Option<(&Session, f64)> {
        self.twin.as_deref().map(|t| (t, self.forked_s))
    }
    /// Moments to return to.
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }
    /// Incremented whenever what was recorded earlier is gone.
    pub fn epoch(&self) -> u64 {
        self.epoch
    }
    /// Simulated time \[s\].
    pub fn time_s(&self) -> f64 {
        self.session.bench.time_s()
    }

    /// An instructor injects a fault: the mark set before it does not say which.
    pub fn inject_fault(&mut self, action: &Action, reach: Reach) -> Done {
        if reach != Reach::Second || self.twin.is_none() {
            self.mark_quietly(MarkName::SlippedIn);
        }
        self.act(&format!("{INJECTED}{}", self.hands + 1), action, reach)
    }

    /// Does an act, in one future or both; returns its result in the first one affected.
    pub fn act(&mut self, id: &str, action: &Action, reach: Reach) -> Done {
        self.hands += 1;
        let id = if id.is_empty() { format!("hand-{}", self.hands) } else { id.to_owned() };
        let first =
            (reach != Reach::Second || self.twin.is_none()).then(|| self.session.act_now(&id, action));
        let second = match (&mut self.twin, reach) {
            (Some(twin), Reach::Both | Reach::Second) => Some(twin.act_now(&id, action)),
            _ => None,
        };
        first.or(second).unwrap_or(Done::Yes)
    }

    /// Advances both futures by a time \[s\].
    pub fn advance(&mut self, seconds: f64) {
        let to_s = self.time_s() + seconds.max(0.0);
        self.session.on_to(to_s);
        if let Some(twin) = &mut self.twin {
            twin.on_to(to_s);
        }
    }

    /// Begins or ends to listen to the first future.
    pub fn listen(&mut self, listens: bool) {
        self.session.bench.listen(listens);
    }
    /// Moves what was heard of it since the last call to the end of `to`.
    pub fn take_sound(&mut self, to: &mut Vec<i16>) {
        self.session.bench.take_sound(to);
    }

    /// Advances until the crank has turned by an angle \[deg\]; only for a moment if it does not turn.
    pub fn turn(&mut self, deg: f64) {
        let until = self.session.bench.turns() + deg / 360.0 - 1e-9;
        let end_s = self.time_s() + STANDING_S;
        loop {
            let now = self.time_s();
            let turning = self.session.bench.turning();
            if self.session.bench.turns() >= until || (!turning && now >= end_s) {
                break;
            }
            // much less than a step: one step at a time
            self.advance(1e-7);
        }
    }

    /// Sets a mark here.
    pub fn mark(&mut self, name: &str) {
        self.put_mark(MarkName::Named(name.into()), true);
    }

    /// Sets a mark; others are dropped if there are too many.
    pub fn mark_quietly(&mut self, name: MarkName) {
        self.put_mark(name, false);
    }

    fn put_mark(&mut self, name: MarkName, named: bool) {
        let at_s = self.time_s();
        if self.marks.len() >= MOST_MARKS {
            let gone = self.marks.iter().position(|m| !m.named).unwrap_or(1).min(self.marks.len() - 1);
            self.marks.remove(gone);
        }
        self.marks.push(Mark { name, at_s, named, session: Box::new(self.session.clone()) });
    }

    /// Goes back to a mark, counted from 0; false if there is none. The twin is dropped.
    pub fn rewind(&mut self, which: usize) -> bool {
        let Some(mark) = self.marks.get(which) else { return false };
        self.undone_s.push(self.time_s() - mark.at_s);
        let lid_was_open = self.session.lid_was_open;
        self.session = (*mark.session).clone();
        self.session.lid_was_open |= lid_was_open;
        self.marks.truncate(which + 1);
        self.twin = None;
        self.epoch += 1;
        // an earlier rewind may itself have been undone: all of them stay recorded
        let told = self.session.rewinds();
        for by_s in self.undone_s.iter().skip(told) {
            let _ = self.session.act_now("rewound", &Action::Note(Note::Rewound(*by_s)));
        }
        // going back to this mark again must keep the line that records it
        if let Some(mark) = self.marks.get_mut(which) {
            *mark.session = self.session.clone();
        }
        true
    }

    /// Forks into two futures here. The logbook records it, because the outcome of a deed can be observed in the
    /// second future before it is predicted in the first.
    pub fn fork(&mut self) {
        let _ = self.session.act_now("fork", &Action::Note(Note::Forked));
        self.forked_s = self.time_s();
        self.twin = Some(Box::new(self.session.clone()));
        self.epoch += 1;
    }

    /// Continues with the first future alone.
    pub fn join(&mut self) {
        self.twin = None;
        self.epoch += 1;
    }

    /// Opens or closes the lid, if the scenario allows it; the logbook records it.
    pub fn lid(&mut self, open: bool) -> Result<(), Error> {
        if open && self.session.scenario.about.lid == Lid::Locked {
            return Err(Error::Locked);
        }
        let note = Action::Note(Note::Lid(open));
        for s in [Some(&mut self.session), self.twin.as_deref_mut()].into_iter().flatten() {
            if s.lid_open != open {
                let _ = s.act_now("lid", &note);
                s.lid_open = open;
                s.lid_was_open |= open;
            }
        }
        // more or less of the logbook may be read now
        self.epoch += 1;
        Ok(())
    }

    /// Outcomes that are computed beside the car; see [`crate::session::teach`].
    pub(super) fn outstanding(&self) -> Vec<Outstanding> {
        self.session.outstanding()
    }
    /// An outcome is known. Returns the comparison, if the question was answered.
    pub(super) fn outcome(&mut self, of: &Outstanding, found: Found) -> Option<Came> {
        self.session.outcome(of, found)
    }

    /// The attempt as it is handed in.
    pub fn hand_in(self) -> Run {
        let mut session = self.session;
        // a trainee who has seen truth hands in under an open lid
        session.lid_open |= session.lid_was_open;
        let mut run = session.finish(false, 0.0);
        run.marks = Arc::new(self.marks);
        run
    }
}

impl Session {
    /// Does an act now, after hand-over.
    pub(super) fn act_now(&mut self, id: &str, action: &Action) -> Done {
        self.hand(id, action, 0.0).0
    }

    /// Advances to a time \[s\], with nothing in the queue.
    pub(super) fn on_to(&mut self, to_s: f64) {
        while self.bench.time_s() + ALMOST_S < to_s {
            self.step(to_s);
        }
    }

    /// How many rewinds the log records.
    fn rewinds(&self) -> usize {
        let is = |e: &&Entry| matches!(&e.kind, Kind::Act { action: Action::Note(Note::Rewound(_)), .. });
        self.bench.log().iter().filter(is).count()
    }

    /// How many faults were applied by an instructor since hand-over.
    pub fn faults_applied(&self) -> u32 {
        let is = |e: &&Entry| matches!(&e.kind, Kind::Act { id, .. } if is_injected(id));
        self.bench.log().iter().filter(is).count() as u32
    }

    /// The scenario.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }
    /// Whether truth may be seen.
    pub fn lid_open(&self) -> bool {
        self.lid_open
    }
    /// When the car was handed over \[s\].
    pub fn hand_over_s(&self) -> f64 {
        self.hand_over_s
    }
    /// The recorded signals, truth among them.
    pub fn trace(&self) -> &crate::bench::trace::Trace {
        &self.trace
    }
    /// The job card in its present state.
    pub fn job(&self) -> Job {
        self.ledger.job()
    }
}
