//! A session: a bench with its timeline of acts, its trace and its expectations. The command line, the window and the
//! network all use this one loop.
//!
//! *Inside*: when acts fall due, what is recorded, what is judged; in [`logbook`] the contents of a logbook, in
//! [`replay`] whether a logbook is consistent, in [`twin`] two futures of one session, in [`without`] an attempt by hand
//! once more without a step, in [`ticket`] seals. A clone of a session is a fork: it shares nothing with the original.
//! *Outside*: the contents of a file ([`crate::scenario`]), how results are laid out ([`crate::report`]).
//!
//! Times: zero is where the scenario's own acts begin, after conditioning. The *hand-over* is the time at which the
//! last of the scenario's own acts was done; a trainee's acts and expectations count from there.

pub mod desk;
pub mod healthy;
pub mod hearing;
mod judged;
mod ledger;
pub mod live;
pub mod logbook;
mod object;
pub mod replay;
pub mod solve;
mod speed;
pub mod teach;
pub mod ticket;
pub mod twin;
pub mod verdict;
pub mod viewer;
pub mod without;

pub use self::judged::{Asked, Judged, Why};
pub use self::ledger::{Job, JobLine, Ledger, Price, Prices, Work, work_of};
pub use self::logbook::logbook_header;
pub use self::object::{JSON_SCHEMA, sample};
pub use self::speed::{Speed, idle_speed};
pub use self::viewer::{Seen, Viewer};

use self::desk::Mark;
use self::object::{root, whole};
use self::teach::is_injected;
use self::viewer::{hides, kept_back, told, unread, visible};
use crate::bench::action::Action;
use crate::bench::facts::Alone;
use crate::bench::record::Entry;
use crate::bench::trace::{ROW_S, Trace};
use crate::bench::view::{Observation, Truth};
use crate::bench::{self, Bench, Done};
use crate::lesson::Grade;
use crate::link::DiagResponse;
use crate::scenario::{Act, ActionFile, At, Condition, Expect, Lid, Place, Scenario, ScenarioError, Timing};
use crate::store::{Cache, NotKept};
use serde_json::{Value, json};
use std::sync::Arc;

/// Default time that passes after the last act \[s\].
const TAIL_S: f64 = 30.0;
/// Times this close count as equal: a scenario's time is a difference of two larger ones \[s\].
const SAME_S: f64 = 1e-6;

/// What can go wrong with a session.
#[derive(Debug, Clone, PartialEq)]
pub enum Error {
    /// The bench could not be built.
    Bench(bench::Error),
    /// The price list is invalid.
    Prices(String),
    /// The rubric is invalid.
    Rubric(ScenarioError),
    /// The lid is locked.
    Locked,
    /// A trainee's file asks for truth under a closed lid: where, and for which path.
    AsksForTruth(Place, String),
}

/// For developers: users read the sentence that the words room makes of it.
impl std::fmt::Display for Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{self:?}")
    }
}

impl std::error::Error for Error {}

/// Options with which a run may differ from its scenario.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Options {
    /// Another seed.
    pub seed: Option<u64>,
    /// Another crank step \[deg\].
    pub step_deg: Option<f64>,
    /// The lid was opened by the person who runs it.
    pub lid_open: bool,
    /// Somebody works by hand: the attempt ends when it is handed in, and what the scenario expects of a car that
    /// nobody works on is not judged.
    pub live: bool,
    /// Conditioned cars are taken from and kept in the user's cache.
    pub use_cache: bool,
}

/// The progress of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Progress {
    /// Conditioning; fraction done.
    Conditioning(f64),
    /// Running: simulated time, and the end as far as it is known \[s\].
    Running {
        /// Simulated time \[s\].
        at_s: f64,
        /// End \[s\].
        end_s: f64,
        /// What goes on without anyone at the car, if anything does.
        slow: Option<Alone>,
    },
}

/// The state at a moment, for comparing before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// When \[s\].
    pub at_s: f64,
    /// What was seen.
    pub seen: Observation,
    /// What was true.
    pub truth: Truth,
}

/// A finished (or stopped) run.
#[derive(Debug, Clone)]
pub struct Run {
    /// The scenario.
    pub scenario: Scenario,
    /// The trainee's file, if there was one.
    pub actions: Option<ActionFile>,
    /// The bench in its final state.
    pub bench: Bench,
    /// Lid open.
    pub lid_open: bool,
    /// Somebody worked by hand.
    pub live: bool,
    /// Hand-over \[s\].
    pub hand_over_s: f64,
    /// Number of lines of the bench's log from before hand-over.
    pub own_lines: usize,
    /// Trace.
    pub trace: Trace,
    /// Judged expectations, in the order of the files.
    pub judged: Vec<Judged>,
    /// The job card for what was done after hand-over.
    pub job: Job,
    /// What the scenario's own acts would have cost: shown under an open lid only, and not added to any total.
    pub job_before: Job,
    /// At hand-over.
    pub before: Moment,
    /// At the end.
    pub after: Moment,
    /// Just before each of the trainee's repairs and relearns, by the act's id.
    pub moments: Vec<(String, Moment)>,
    /// The grade; none if the scenario is not a lesson or nobody worked on it.
    pub grade: Option<Grade>,
    /// Stopped before its end.
    pub stopped: bool,
    /// CPU time \[s\], conditioning included.
    pub cpu_s: f64,
    /// Marks of work by hand, from which it can be run again ([`without`]).
    pub marks: Arc<Vec<Mark>>,
    /// Samples of the stretch that was heard ([`hearing`]); empty if none was asked for or reached.
    pub heard: Vec<i16>,
}

impl Run {
    /// A lesson's car under a closed lid that nobody worked on: there is nothing to debrief, and its answers stay untold.
    pub fn untouched(&self) -> bool {
        !self.lid_open && !self.live && self.actions.is_none() && self.scenario.plan.is_some()
    }
    /// Whether every expectation was met and the run came to its end.
    pub fn all_met(&self) -> bool {
        !self.stopped && self.judged.iter().all(|j| j.met)
    }
    /// The object that `--json` prints. It holds truth under an open lid only.
    pub fn json(&self) -> Value {
        let mut root = root(&self.scenario, &self.bench, &self.after.seen, &self.job, self.cpu_s);
        root["expectations"] = json!(self.judged);
        root["grade"] = json!(self.grade);
        if self.lid_open {
            root["truth"] = json!(self.after.truth);
            root["job"]["before"] = json!(self.job_before);
        }
        root
    }
    /// The logbook as the person who runs it may read it: with a closed lid, without what the scenario's own acts
    /// reveal about the fault.
    pub fn logbook(&self) -> Vec<Entry> {
        visible(self.bench.log(), self.own_lines, self.lid_open, &self.scenario)
    }
    /// Number of logbook lines from before hand-over.
    pub fn own_logbook_lines(&self) -> usize {
        let log = self.bench.log();
        let own = log.get(..self.own_lines).unwrap_or(log);
        visible(own, self.own_lines, self.lid_open, &self.scenario).len()
    }
}

/// Whether a run is allowed with these options, and whether its lid is open: checked before anything is simulated or
/// written.
pub fn admit(scenario: &Scenario, actions: Option<&ActionFile>, options: &Options) -> Result<bool, Error> {
    if options.lid_open && scenario.about.lid == Lid::Locked {
        return Err(Error::Locked);
    }
    let lid_open = options.lid_open || scenario.about.lid == Lid::Open;
    if let (Some(a), false) = (actions, lid_open) {
        // whether it is met would reveal the value
        let whens = a.acts.iter().filter_map(|act| match &act.timing {
            Timing::When { condition, .. } => Some((&condition.path, condition.place)),
            _ => None,
        });
        let asked = a.expects.iter().map(|e| (&e.what, e.place)).chain(whens);
        if let Some((path, place)) = asked.into_iter().find(|(p, _)| *p == "truth" || p.starts_with("truth."))
        {
            return Err(Error::AsksForTruth(place, path.clone()));
        }
    }
    Ok(lid_open)
}

/// The acts that wait for their time.
#[derive(Debug, Clone)]
struct Queue {
    acts: std::collections::VecDeque<Act>,
    /// Origin of the acts' absolute times.
    zero_s: f64,
    /// End of the previous act.
    last_s: f64,
    /// When the first act in the queue began to wait, if it waits for a condition.
    waiting_since_s: Option<f64>,
    next_look_s: f64,
}

impl Queue {
    fn new(acts: &[Act], zero_s: f64) -> Self {
        Self {
            acts: acts.iter().cloned().collect(),
            zero_s,
            last_s: zero_s,
            waiting_since_s: None,
            next_look_s: zero_s,
        }
    }
    /// When the first act in the queue must be checked \[s\].
    fn due_s(&self) -> Option<f64> {
        self.acts.front().map(|a| match &a.timing {
            Timing::At(t) => self.zero_s + t,
            Timing::After(t) => self.last_s + t,
            Timing::When { .. } => self.next_look_s.max(self.last_s),
        })
    }
    /// The latest time at which the queue can end, as far as it is known \[s\].
    fn horizon_s(&self) -> f64 {
        let mut t = self.last_s;
        for a in &self.acts {
            t = match &a.timing {
                Timing::At(at) => t.max(self.zero_s + at),
                Timing::After(after) => t + after,
                Timing::When { timeout_s, .. } => t + timeout_s,
            } + a.wait_s;
        }
        t
    }
}

/// A run under way. A clone is a fork.
#[derive(Debug, Clone)]
pub struct Session {
    scenario: Scenario,
    actions: Option<ActionFile>,
    bench: Bench,
    cache_trouble: Option<NotKept>,
    lid_open: bool,
    lid_was_open: bool,
    /// Who reads the results: an instructor may see truth even if the trainee could not.
    reader: Viewer,
    live: bool,
    queue: Queue,
    trainee: bool,
    hand_over_s: f64,
    /// Number of log lines from before hand-over; all of them until then.
    own_lines: usize,
    before: Option<Moment>,
    trace: Trace,
    next_row_s: f64,
    /// Acts before which a twin pauses to fork, or which it leaves out.
    marked: Vec<twin::Named>,
    /// What happens at a marked act.
    at_mark: twin::AtMark,
    expects: Vec<(Expect, f64)>,
    timeouts: Vec<Judged>,
    judged: Vec<(usize, Judged)>,
    ledger: Ledger,
    ledger_before: Ledger,
    lesson: teach::Lesson,
    /// A stretch that somebody wants to hear.
    hearing: Option<hearing::Hearing>,
}

impl Session {
    /// Builds the bench and drives its conditioning; `told` may stop it by returning false.
    pub fn new(
        scenario: &Scenario,
        actions: Option<&ActionFile>,
        options: &Options,
        told: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<Self, Error> {
        let mut scenario = scenario.clone();
        if let Some(seed) = options.seed {
            scenario.setup.seed = seed;
        }
        if let Some(step) = options.step_deg {
            scenario.setup.step_deg = step;
        }
        admit(&scenario, actions, options)?;
        let cache = if options.use_cache { Cache::of_user() } else { Cache::none() };
        let conditioned = cache
            .conditioned(&scenario.setup, &mut |share| told(Progress::Conditioning(share)))
            .map_err(Error::Bench)?;
        let mut session = Self::on(conditioned.bench, &scenario, actions, options)?;
        session.cache_trouble = conditioned.trouble;
        Ok(session)
    }

    /// Begins on a bench that has been through this scenario's conditioning; seed and step are those of the bench.
    pub fn on(
        bench: Bench,
        scenario: &Scenario,
        actions: Option<&ActionFile>,
        options: &Options,
    ) -> Result<Self, Error> {
        let scenario = Scenario { setup: bench.setup().clone(), ..scenario.clone() };
        let lid_open = admit(&scenario, actions, options)?;
        let prices = Arc::new(Prices::shipped().map_err(Error::Prices)?);
        let queue = Queue::new(&scenario.acts, 0.0);
        let ledger = Ledger::new(prices, 0.0);
        let expects = scenario
            .expects
            .iter()
            .map(|e| {
                let t = if let At::Time(t) = e.at { t } else { f64::INFINITY };
                (e.clone(), t)
            })
            .collect();
        Ok(Self {
            actions: actions.cloned(),
            bench,
            cache_trouble: None,
            lid_open,
            lid_was_open: lid_open,
            reader: Viewer::Trainee,
            live: options.live,
            queue,
            trainee: false,
            hand_over_s: 0.0,
            own_lines: usize::MAX,
            before: None,
            trace: Trace::default(),
            next_row_s: 0.0,
            marked: Vec::new(),
            at_mark: twin::AtMark::Do,
            expects,
            timeouts: Vec::new(),
            judged: Vec::new(),
            ledger_before: ledger.clone(),
            ledger,
            lesson: Self::begin_lesson(&scenario)?,
            hearing: None,
            scenario,
        })
    }

    /// The same session for a reader who may see truth: its results are reported as under an open lid. What was
    /// done, and what its logbook may hold, is unchanged.
    pub fn for_reader(mut self) -> Self {
        self.reader = Viewer::Instructor;
        self
    }
    /// Whether truth may be shown.
    fn open(&self) -> bool {
        self.seen_by(self.reader).sees_truth()
    }

    /// Why the conditioned car could not be cached, if it should have been.
    pub fn cache_trouble(&self) -> Option<&NotKept> {
        self.cache_trouble.as_ref()
    }

    /// The bench.
    pub fn bench(&self) -> &Bench {
        &self.bench
    }

    /// End of the run as far as it is known \[s\].
    pub fn end_s(&self) -> f64 {
        let own =
            |last: f64, run_s: Option<f64>, zero: f64| run_s.map_or(last + TAIL_S, |r| (zero + r).max(last));
        match (&self.actions, self.trainee) {
            (None, _) => own(self.queue.horizon_s(), self.scenario.run_s, 0.0),
            (Some(a), true) => own(self.queue.horizon_s(), a.run_s, self.hand_over_s),
            (Some(_), false) => self.queue.horizon_s() + TAIL_S,
        }
    }

    /// Runs to the end; `told` receives the progress and stops the run by returning false.
    pub fn run(mut self, told: &mut dyn FnMut(Progress) -> bool) -> Run {
        let cpu = cpu_time::ThreadTime::now();
        let mut stopped = false;
        while let Some(end_s) = self.next_end_s() {
            if !told(Progress::Running { at_s: self.bench.time_s(), end_s, slow: self.bench.alone() }) {
                stopped = true;
                break;
            }
            self.step(end_s);
        }
        self.finish(stopped, cpu.elapsed().as_secs_f64())
    }

    /// Advances to a time \[s\] or to the end, whichever is first, at most one row beyond; true once it is at its
    /// end.
    pub fn advance(&mut self, to_s: f64) -> bool {
        while let Some(end_s) = self.next_end_s() {
            if self.bench.time_s() + SAME_S >= to_s {
                return false;
            }
            self.step(end_s.min(to_s));
        }
        true
    }

    /// Hands over when it is time; returns the end as far as it is known \[s\], none once it is reached.
    fn next_end_s(&mut self) -> Option<f64> {
        if self.queue.acts.is_empty() && !self.trainee {
            self.hand_over();
        }
        let end_s = self.end_s();
        let over = self.queue.acts.is_empty() && self.bench.time_s() + SAME_S >= end_s;
        (!over).then_some(end_s)
    }

    /// Advances to the next event: act, expectation, row, end.
    fn step(&mut self, end_s: f64) {
        let mut to_s = self.next_row_s;
        if let Some(due) = self.queue.due_s() {
            to_s = to_s.min(due);
        } else {
            to_s = to_s.min(end_s);
        }
        if let Some(next) = self.expects.iter().map(|e| e.1).filter(|t| t.is_finite()).reduce(f64::min) {
            to_s = to_s.min(next);
        }
        self.bench_to(to_s);
        let now = self.bench.time_s();
        if now + SAME_S >= self.next_row_s {
            self.trace.add(&self.bench, &self.bench.observe());
            let row_s = self.bench.slow_row_s().unwrap_or(ROW_S);
            self.next_row_s = row_s * (((now + SAME_S) / row_s).floor() + 1.0);
            // a row is recorded where a drive begins, and at its end
            if let Some(turns_s) = self.bench.slow_turn_s() {
                self.next_row_s = self.next_row_s.min(turns_s.max(now + ROW_S));
            }
        }
        self.judge_due(now);
        while self.queue.due_s().is_some_and(|due| due <= now + SAME_S) {
            if !self.act(now) {
                break;
            }
        }
    }

    /// Does the first act in the queue, or keeps waiting. True if it was done or given up.
    fn act(&mut self, now: f64) -> bool {
        let Some(front) = self.queue.acts.front() else { return false };
        if let Timing::When { condition, timeout_s } = &front.timing {
            let since = *self.queue.waiting_since_s.get_or_insert(now);
            if !self.holds(condition) {
                if now - since < *timeout_s {
                    self.queue.next_look_s = now + ROW_S;
                    return false;
                }
                let text = condition.to_string();
                let id = front.id.clone();
                let judged = self.waited_in_vain(front, now);
                self.bench.timed_out(&id, &text);
                self.timeouts.extend(judged);
                self.queue.acts.pop_front();
                self.queue.waiting_since_s = None;
                self.queue.last_s = now;
                self.card().stayed(now);
                return true;
            }
        }
        let marked = self.is_marked();
        if marked && matches!(self.at_mark, twin::AtMark::Pause | twin::AtMark::Paused) {
            self.at_mark = twin::AtMark::Paused;
            return false;
        }
        let Some(act) = self.queue.acts.pop_front() else { return false };
        if marked && self.at_mark == twin::AtMark::LeaveOut {
            // the act is left out; time goes on as if it had been done
            self.queue.waiting_since_s = None;
            self.queue.last_s = self.queue.last_s.max(now + act.wait_s);
            self.card().stayed(now + act.wait_s);
            return true;
        }
        let (done, wait_s) = self.hand(&act.id, &act.hand, act.wait_s);
        if let Done::Hindered(why) = done
            && !self.trainee
        {
            // a scenario with an act of its own that was prevented is not the one that was meant
            let kept = act.drawn && !self.open();
            self.timeouts.push(Judged {
                what: format!("act.{}", act.id),
                why: Why::NotDone { act: act.id.clone(), because: (!kept).then_some(why) },
                met: false,
                measured: Value::Null,
                asked: Asked::Done,
                at_s: now,
                hidden: false,
            });
        }
        self.queue.waiting_since_s = None;
        // an act with a time of its own may fall into a drive; the next one that follows it waits for the drive's end
        self.queue.last_s = self.queue.last_s.max(now + wait_s);
        true
    }

    /// Does an act and charges for it; returns its result and the time that is allowed to pass \[s\].
    fn hand(&mut self, id: &str, action: &Action, wait_s: f64) -> (Done, f64) {
        let now = self.bench.time_s();
        // a fault injected by an instructor is not the trainee's work: no question precedes it, and nobody pays for
        // it
        let injected = is_injected(id);
        if self.trainee && !injected {
            self.teach_deed(id, action);
        }
        let slow_until_s = self.bench.slow_until_s();
        let sound = self.replaces_sound(action).filter(|_| !injected);
        let done = self.bench.act(id, action.clone());
        if let Some(until_s) = slow_until_s
            && self.bench.slow_until_s() != slow_until_s
        {
            // whatever went on unattended ended early: nothing waits for its end any more
            self.next_row_s = now;
            self.queue.last_s = now;
            self.card().back(now, (until_s - now).max(0.0));
        }
        let hindered = matches!(done, Done::Hindered(_));
        if let (Some(deed), false) = (sound, hindered) {
            self.sound_part_out(deed);
        }
        let wait_s = if hindered { 0.0 } else { wait_s };
        let away_s = if hindered { 0.0 } else { action.alone_s() };
        let card = self.card();
        if !injected {
            card.stayed(now + if away_s > 0.0 { 0.0 } else { wait_s });
        }
        card.away(away_s);
        // a module that is asleep, or that refuses, has done no work
        let unanswered = matches!(done, Done::Answer(DiagResponse::Silent | DiagResponse::Refused(_)));
        if !hindered && !unanswered && !injected {
            card.add(id, action);
        }
        (done, wait_s)
    }

    /// The judgement of an act whose condition was not met in time; none for an act without a condition.
    fn waited_in_vain(&self, act: &Act, now: f64) -> Option<Judged> {
        let Timing::When { condition, timeout_s } = &act.timing else { return None };
        if act.drawn && !self.open() {
            return Some(Judged {
                what: format!("act.{}", act.id),
                why: Why::InVain { act: act.id.clone(), condition: None },
                met: false,
                measured: Value::Null,
                asked: Asked::Hidden,
                at_s: now,
                hidden: true,
            });
        }
        Some(Judged {
            what: condition.path.clone(),
            why: Why::InVain { act: act.id.clone(), condition: Some(condition.to_string()) },
            met: false,
            measured: self.shown(&condition.path),
            asked: Asked::Condition(condition.to_string(), *timeout_s),
            at_s: now,
            hidden: condition.path.starts_with("truth.") && !self.open(),
        })
    }

    /// The job card that is charged now.
    fn card(&mut self) -> &mut Ledger {
        if self.trainee { &mut self.ledger } else { &mut self.ledger_before }
    }

    fn holds(&self, c: &Condition) -> bool {
        c.holds(&self.all())
    }

    /// The present object for conditions and expectations.
    fn all(&self) -> Value {
        whole(&self.scenario, &self.bench, &self.bench.observe(), &self.ledger.job())
    }

    /// A value as the person who runs it may see it.
    fn shown(&self, path: &str) -> Value {
        if path.starts_with("truth.") && !self.open() {
            return Value::Null;
        }
        crate::scenario::lookup(&self.all(), path).unwrap_or(Value::Null)
    }

    fn hand_over(&mut self) {
        if self.before.is_none() {
            // a wait at the end of the scenario's own acts belongs to what happened before
            let until = self.queue.last_s;
            if self.bench.time_s() + SAME_S < until {
                self.step_quietly(until);
            }
            self.hand_over_s = self.bench.time_s();
            self.own_lines = self.bench.log().len();
            self.before = Some(self.moment());
            self.ledger = self.ledger.from(self.hand_over_s);
        }
        if !std::mem::replace(&mut self.trainee, true) {
            self.teach_hand_over();
            if self.live {
                let hand_over = self.hand_over_s;
                self.expects.retain(|(_, t)| *t <= hand_over);
            }
        }
        if let Some(a) = self.actions.clone() {
            self.expect_of(&a);
            self.queue = Queue::new(&a.acts, self.hand_over_s);
        }
    }

    /// From hand-over on, the trainee's file sets the expectations.
    fn expect_of(&mut self, a: &ActionFile) {
        // the scenario's own later expectations apply to a car that nobody works on
        let hand_over = self.hand_over_s;
        self.expects.retain(|(_, t)| *t <= hand_over);
        self.expects.extend(a.expects.iter().map(|e| {
            let t = if let At::Time(t) = e.at { hand_over + t } else { f64::INFINITY };
            (e.clone(), t)
        }));
    }

    fn step_quietly(&mut self, until: f64) {
        while self.bench.time_s() + SAME_S < until {
            self.step(until);
        }
    }

    fn moment(&self) -> Moment {
        Moment { at_s: self.bench.time_s(), seen: self.bench.observe(), truth: self.bench.truth() }
    }

    fn judge_due(&mut self, now: f64) {
        if !self.expects.iter().any(|(_, t)| *t <= now + SAME_S) {
            return;
        }
        let (due, rest): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.expects).into_iter().partition(|(_, t)| *t <= now + SAME_S);
        self.expects = rest;
        self.judge(due.into_iter().map(|d| d.0).collect(), now);
    }

    fn judge(&mut self, due: Vec<Expect>, now: f64) {
        if due.is_empty() {
            return;
        }
        let all = self.all();
        for e in due {
            let (met, measured) = e.judge(&all);
            let judged = told(&e, met, measured, Asked::Rule(e.rule.clone()), self.shows(&e), now);
            self.judged.push((e.place.line, judged));
        }
    }

    /// Whether the lid is open, and whether an expectation is the lesson's own, which would give its fault away.
    fn shows(&self, e: &Expect) -> (bool, bool) {
        (self.open(), self.scenario.plan.is_some() && self.scenario.expects.contains(e))
    }

    fn finish(mut self, stopped: bool, cpu_s: f64) -> Run {
        let now = self.bench.time_s();
        self.bench.end_watch();
        let left: Vec<Expect> = std::mem::take(&mut self.expects).into_iter().map(|e| e.0).collect();
        if stopped {
            for e in left {
                let asked = Asked::NotReached(e.rule.clone());
                let judged = told(&e, false, Value::Null, asked, self.shows(&e), now);
                self.judged.push((e.place.line, judged));
            }
        } else {
            self.judge(left, now);
        }
        self.trace.add(&self.bench, &self.bench.observe());
        self.judged.sort_by(|a, b| a.1.at_s.total_cmp(&b.1.at_s).then(a.0.cmp(&b.0)));
        let (grade, mut moments) = self.end_lesson(stopped);
        let lid_open = self.open();
        let mut judged: Vec<Judged> = self.timeouts;
        judged.extend(self.judged.into_iter().map(|j| j.1));
        let mut after = Moment { at_s: now, seen: self.bench.observe(), truth: self.bench.truth() };
        let mut before = self.before.unwrap_or_else(|| after.clone());
        if !lid_open {
            let hides = hides(&self.scenario);
            let log = visible(self.bench.log(), self.own_lines, lid_open, &self.scenario);
            for m in moments.iter_mut().map(|(_, m)| m).chain([&mut before, &mut after]) {
                kept_back(&mut m.seen, hides);
                unread(&mut m.seen, &log, &self.scenario);
            }
        }
        let run = Run {
            hand_over_s: self.hand_over_s,
            own_lines: self.own_lines,
            job: self.ledger.job(),
            job_before: self.ledger_before.job(),
            before,
            moments,
            grade,
            scenario: self.scenario,
            actions: self.actions,
            bench: self.bench,
            lid_open,
            live: self.live,
            trace: self.trace,
            judged,
            after,
            stopped,
            cpu_s,
            marks: Arc::default(),
            heard: self.hearing.map(hearing::Hearing::heard).unwrap_or_default(),
        };
        Run { grade: run.grade.clone().filter(|_| !run.untouched()), ..run }
    }
}
