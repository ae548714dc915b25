//! A session as a lesson: questions put before their outcome, answers recorded, outcomes observed, moments at which
//! belief and truth are compared, and the grade at the end.
//!
//! *Inside*: when a question comes up, what is observed and when. *Outside*: the grade of an attempt
//! ([`crate::lesson`]), the contents of a file ([`crate::scenario`]).
//!
//! The outcome of a question that looks ahead by a time is found on a fork, on which nothing is done except what the
//! question says: anything else that is done to the car in the meantime is not a consequence of the deed.
//!
//! A question comes up before the first deed that it names, or at hand-over. A user at a window is asked
//! ([`Session::questions`]); a run without a window takes the answer from its answers file, as a note in the
//! logbook before the deed. A replay asks nobody: the notes are in the logbook.

use crate::bench::action::{Action, Note, Said};
use crate::bench::not_whole::NotWhole;
use crate::bench::record::Kind;
use crate::bench::trace::ROW_S;
use crate::bench::{Bench, Done};
use crate::lesson::{self, Facts, Grade, Prediction, Rubric, deeds};
use crate::link::{DiagRequest, DiagResponse};
use crate::scenario::{
    Answers, Ask, Judge, Mistake, Plan, RowPlan, Scenario, ScenarioError, Timing, lookup, parse_rubric,
};
use crate::session::object::whole;
use crate::session::{Error, Job, Moment, SAME_S, Session};
use crate::store;
use serde_json::Value;
use std::sync::Arc;

/// Maximum number of moments kept besides hand-over and end.
const MOST_MOMENTS: usize = 60;

/// Prefix of the ids of an instructor's acts; no file can have such an id.
pub(super) const INJECTED: &str = "fault:";

/// Whether an id is that of an instructor's act.
pub(super) fn is_injected(id: &str) -> bool {
    id.starts_with(INJECTED)
}

/// The car at the time when a question came up, and what the question says is done to it.
#[derive(Debug)]
struct Fork {
    bench: Bench,
    /// The deed before which the question was put; none at hand-over.
    deed: Option<(String, Action)>,
    job: Job,
}

/// The result of a fork: the requested value, and its course since the question \[s\].
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    value: Value,
    course: Vec<(f64, f64)>,
}

/// Time between two points of a course \[s\].
const COURSE_S: f64 = 1.0;

/// An outcome that is computed while somebody works on the car.
#[derive(Debug, Clone)]
pub(super) struct Outstanding {
    fork: Arc<Fork>,
    which: usize,
    /// When it may be shown \[s\].
    pub due_s: f64,
}

impl Outstanding {
    /// Computes the result of the fork: on a thread of its own, while the car itself goes on.
    pub fn work_out(&self, scenario: &Scenario) -> Option<Found> {
        let ask = scenario.plan.as_ref()?.asks.get(self.which)?;
        Some(comes_of(scenario, &self.fork, ask, self.due_s))
    }
    /// Whether both are the same outcome.
    pub fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.fork, &other.fork)
    }
}

/// The outcome of an answered question, at the moment when it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Came {
    /// The question with answer and outcome.
    pub prediction: Prediction,
    /// Course of a numeric value from the question to its outcome: time since the question \[s\] and value.
    pub course: Vec<(f64, f64)>,
}

/// A question that came up.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    /// Index of the question in the plan.
    which: usize,
    /// When \[s\].
    at_s: f64,
    /// Number of log lines at that time.
    lines: usize,
    /// The value at that time.
    was: Value,
    /// When its outcome is observed \[s\].
    due_s: f64,
    /// The fork on which its outcome is found, with no other acts. None: on the car itself, at the end.
    fork: Option<Arc<Fork>>,
    /// The value found, and when \[s\].
    seen: Option<(Value, f64)>,
}

/// What a session keeps of a lesson.
#[derive(Debug, Clone, Default)]
pub(super) struct Lesson {
    rubric: Rubric,
    answers: Answers,
    asked: Vec<Asked>,
    cause_asked: bool,
    moments: Vec<(String, Moment)>,
    /// The faults at hand-over.
    wrong: Vec<NotWhole>,
    /// The state at hand-over.
    begun: Value,
    /// Sound parts that were replaced, by the names of their deeds.
    sound_parts: Vec<String>,
}

/// A question that must be answered or skipped before a deed.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "one stands at a time")]
pub enum Question {
    /// What is wrong with the car? The answer is one of the plan's causes.
    Cause,
    /// A question of the plan.
    Ask(Ask),
}

/// The rubric for a scenario: the shipped one, with the rows of the scenario and of a file.
pub fn rubric(
    scenario: &Scenario,
    file: &str,
    more: Option<(&[RowPlan], &str)>,
) -> Result<Rubric, ScenarioError> {
    let shipped = parse_rubric(store::RUBRIC, "rubric.toml")?;
    let mut rubric = Rubric::default().over(&shipped, "rubric.toml")?;
    if let Some(plan) = &scenario.plan {
        rubric = rubric.for_plan(plan, file)?;
    }
    match more {
        None => Ok(rubric),
        Some((rows, name)) => rubric.over(rows, name),
    }
}

/// Checks a note against a plan: the question or cause that it names exists, its answer has the right form.
pub fn check_note(scenario: &Scenario, note: &Note) -> Result<(), Mistake> {
    let none = Plan::default();
    let plan = scenario.plan.as_ref().unwrap_or(&none);
    match note {
        Note::Cause(id) => known_cause(plan, id),
        Note::Answer { ask, says } => known_answer(plan, ask, says),
        _ => Ok(()),
    }
}

fn known_cause(plan: &Plan, id: &str) -> Result<(), Mistake> {
    if plan.causes.iter().any(|c| c.id == id) {
        return Ok(());
    }
    let keys: Vec<String> = plan.causes.iter().map(|c| c.id.clone()).collect();
    Err(Mistake::no_own(id, &keys, true))
}

fn known_answer(plan: &Plan, id: &str, says: &Said) -> Result<(), Mistake> {
    let Some(ask) = plan.asks.iter().find(|a| a.id == id) else {
        let keys: Vec<String> = plan.asks.iter().map(|a| a.id.clone()).collect();
        return Err(Mistake::no_own(id, &keys, false));
    };
    lesson::fits(ask, says)
}

impl Session {
    /// The same session with answers for its questions.
    pub fn with_answers(mut self, answers: Answers) -> Self {
        self.lesson.answers = answers;
        self
    }

    /// The same session, graded by a rubric; see [`rubric`].
    pub fn by_rubric(mut self, rubric: Rubric) -> Self {
        self.lesson.rubric = rubric;
        self
    }

    pub(super) fn begin_lesson(scenario: &Scenario) -> Result<Lesson, Error> {
        let rubric = rubric(scenario, &scenario.about.id, None).map_err(Error::Rubric)?;
        Ok(Lesson { rubric, ..Lesson::default() })
    }

    /// The questions to be answered before this act; none before hand-over.
    pub fn questions(&self, action: &Action) -> Vec<Question> {
        if !self.trainee {
            return Vec::new();
        }
        let mut out: Vec<Question> = Vec::new();
        if self.asks_cause(action) {
            out.push(Question::Cause);
        }
        let Some(plan) = &self.scenario.plan else { return out };
        let due = self.asks_before(action);
        out.extend(due.into_iter().filter_map(|k| plan.asks.get(k)).cloned().map(Question::Ask));
        out
    }

    /// Questions of the plan that came up, have no answer yet, and whose outcome has not been observed.
    pub fn open_questions(&self) -> Vec<Ask> {
        let Some(plan) = &self.scenario.plan else { return Vec::new() };
        let now = self.bench.time_s();
        let open = |a: &&Asked| a.due_s > now && a.seen.is_none() && self.said(plan, a).is_none();
        self.lesson.asked.iter().filter(open).filter_map(|a| plan.asks.get(a.which)).cloned().collect()
    }

    /// The cause is asked for once, before the first repair, unless it was named before.
    fn asks_cause(&self, action: &Action) -> bool {
        let Some(plan) = &self.scenario.plan else { return false };
        if plan.causes.is_empty() || self.lesson.cause_asked || !self.repairs(plan, action) {
            return false;
        }
        let own = self.bench.log().iter().skip(self.own_lines);
        !own.into_iter().any(|e| matches!(&e.kind, Kind::Act { action: Action::Note(Note::Cause(_)), .. }))
    }

    /// Whether the cause must be named before this deed; one that starts a routine counts as the routine's end.
    fn repairs(&self, plan: &Plan, action: &Action) -> bool {
        let deed = deeds::of(action);
        let ends = match action {
            Action::Ask(DiagRequest::Start(routine)) if routine.changes_learned() => {
                Some(format!("done.{}", routine.name()))
            }
            _ => None,
        };
        let cause = self.lesson.rubric.rows().iter().find(|r| r.judge == Judge::Cause);
        let before = lesson::stated_before(cause, plan);
        before.iter().any(|b| deeds::is(&deed, b) || ends.as_ref().is_some_and(|e| deeds::is(e, b)))
    }

    /// Questions of the plan that this deed brings up.
    fn asks_before(&self, action: &Action) -> Vec<usize> {
        let Some(plan) = &self.scenario.plan else { return Vec::new() };
        let deed = deeds::of(action);
        if deeds::is(&deed, "say") {
            return Vec::new();
        }
        let up = |a: &Ask| a.before.as_ref().is_some_and(|b| deeds::is(&deed, b));
        let new = |k: usize| self.lesson.asked.iter().all(|a| a.which != k);
        let all = plan.asks.iter().enumerate().filter(|(k, a)| up(a) && new(*k)).map(|(k, _)| k);
        let mut all: Vec<usize> = all.collect();
        if !all.is_empty() && self.is_in_vain(action) {
            all.clear();
        }
        all
    }

    /// Whether the bench or the module would refuse this act now: it then changes nothing that a question could be
    /// about, and the question waits for the act that is carried out.
    fn is_in_vain(&self, action: &Action) -> bool {
        let done = self.bench.clone().act("", action.clone());
        matches!(done, Done::Hindered(_) | Done::Answer(DiagResponse::Refused(_) | DiagResponse::Silent))
    }

    /// At hand-over: cautions, and questions that name no deed.
    pub(super) fn teach_hand_over(&mut self) {
        if self.lesson.answers.cautions {
            let _ = self.bench.act("answer-cautions", Action::Note(Note::Cautions));
        }
        let Some(plan) = self.scenario.plan.clone() else { return };
        self.lesson.wrong = self.bench.not_whole();
        self.lesson.begun = self.all();
        for (k, a) in plan.asks.iter().enumerate() {
            if a.before.is_none() {
                self.put(k, a, None);
            }
        }
    }

    /// The sound part that an act is about to replace, by the name of the deed; none if it replaces none.
    pub(super) fn replaces_sound(&self, action: &Action) -> Option<String> {
        let Action::Fit(choice) = action else { return None };
        if !self.trainee || self.scenario.plan.is_none() {
            return None;
        }
        let sound = !self.bench.not_whole().iter().any(|x| x.is_of(choice.kind));
        sound.then(|| deeds::of(action))
    }

    /// Records that a sound part was replaced.
    pub(super) fn sound_part_out(&mut self, deed: String) {
        self.lesson.sound_parts.push(deed);
    }

    /// Before a deed of the trainee's.
    pub(super) fn teach_deed(&mut self, id: &str, action: &Action) {
        let Some(plan) = self.scenario.plan.clone() else { return };
        if self.repairs(&plan, action) && self.lesson.moments.len() < MOST_MOMENTS {
            self.lesson.moments.push((id.to_owned(), self.moment()));
        }
        if self.asks_cause(action) {
            self.lesson.cause_asked = true;
            for c in self.lesson.answers.causes.clone() {
                let _ = self.bench.act("answer-cause", Action::Note(Note::Cause(c)));
            }
        }
        for k in self.asks_before(action) {
            if let Some(a) = plan.asks.get(k) {
                self.put(k, a, Some((id, action)));
            }
        }
    }

    /// Puts a question; its answer, if there is one, goes into the logbook.
    fn put(&mut self, which: usize, ask: &Ask, deed: Option<(&str, &Action)>) {
        let now = self.bench.time_s();
        let was = lookup(&self.all(), &ask.what).unwrap_or(Value::Null);
        if let Some(says) = self.lesson.answers.answers.get(&ask.id).cloned() {
            let note = Note::Answer { ask: ask.id.clone(), says };
            let _ = self.bench.act(&format!("answer-{}", ask.id), Action::Note(note));
        }
        let lines = self.bench.log().len();
        let due_s = ask.after_s.map_or(f64::INFINITY, |s| now + s);
        let fork = ask.after_s.map(|_| {
            let deed = deed.map(|(id, action)| (id.to_owned(), action.clone()));
            Arc::new(Fork { bench: self.bench.clone(), deed, job: self.ledger.job() })
        });
        self.lesson.asked.push(Asked { which, at_s: now, lines, was, due_s, fork, seen: None });
    }

    /// Observes the outcomes of questions: on a fork with no acts other than the question's, or on the car itself.
    fn look(&mut self, all: &Value, now: f64) {
        let Some(plan) = &self.scenario.plan else { return };
        let mut asked = std::mem::take(&mut self.lesson.asked);
        for a in asked.iter_mut().filter(|a| a.seen.is_none()) {
            let Some(ask) = plan.asks.get(a.which) else { continue };
            a.seen = Some(match &a.fork {
                Some(fork) => (comes_of(&self.scenario, fork, ask, a.due_s).value, a.due_s),
                None => (lookup(all, &ask.what).unwrap_or(Value::Null), now),
            });
        }
        self.lesson.asked = asked;
    }

    /// Outcomes that are computed on a fork and are not known yet.
    pub(super) fn outstanding(&self) -> Vec<Outstanding> {
        let open = self.lesson.asked.iter().filter(|a| a.seen.is_none());
        let one = |a: &Asked| {
            Some(Outstanding { fork: Arc::clone(a.fork.as_ref()?), which: a.which, due_s: a.due_s })
        };
        open.filter_map(one).collect()
    }

    /// An outcome is known. Returns the comparison, if the question was answered.
    pub(super) fn outcome(&mut self, of: &Outstanding, found: Found) -> Option<Came> {
        let is = |a: &&mut Asked| a.fork.as_ref().is_some_and(|f| Arc::ptr_eq(f, &of.fork));
        let asked = self.lesson.asked.iter_mut().find(is)?;
        asked.seen = Some((found.value, asked.due_s));
        let asked = asked.clone();
        let plan = self.scenario.plan.as_ref()?;
        let said = self.said(plan, &asked)?;
        let came = asked.seen.as_ref().map(|(v, t)| (v, *t));
        let prediction =
            lesson::prediction(plan.asks.get(asked.which)?, Some(said), &asked.was, asked.at_s, came);
        Some(Came { prediction, course: found.course })
    }

    /// The last answer that was given before the question's outcome could be known: before the deed for which it was
    /// put or, at hand-over and at a window, before the outcome was observed and before the next deed.
    fn said<'s>(&'s self, plan: &Plan, asked: &Asked) -> Option<&'s Said> {
        let ask = plan.asks.get(asked.which)?;
        let log = self.bench.log();
        let of = |e: &'s crate::bench::record::Entry| match &e.kind {
            Kind::Act { action: Action::Note(Note::Answer { ask: id, says }), .. } if *id == ask.id => {
                Some(says)
            }
            _ => None,
        };
        let before = log.iter().take(asked.lines).skip(self.own_lines).rev().find_map(of);
        if before.is_some() || ask.before.is_some() {
            return before;
        }
        // put at hand-over: an answer counts until something is done
        let after = log.iter().skip(asked.lines);
        let quiet = after.take_while(|e| match &e.kind {
            Kind::Act { action: Action::Note(_) | Action::Wait, .. } => e.t_s <= asked.due_s,
            Kind::Act { .. } => false,
            _ => true,
        });
        quiet.filter_map(of).last()
    }

    /// Every question that came up, with answer and outcome as far as it is known.
    fn predictions(&self) -> Vec<Prediction> {
        let Some(plan) = &self.scenario.plan else { return Vec::new() };
        let one = |a: &Asked| {
            let ask = plan.asks.get(a.which)?;
            let came = a.seen.as_ref().map(|(v, t)| (v, *t));
            Some(lesson::prediction(ask, self.said(plan, a), &a.was, a.at_s, came))
        };
        self.lesson.asked.iter().filter_map(one).collect()
    }

    /// The grade of the attempt in its present state; none if the scenario is not a lesson or nobody worked on it.
    pub fn grade(&self) -> Option<Grade> {
        self.grade_of(&self.all())
    }

    fn grade_of(&self, all: &Value) -> Option<Grade> {
        let plan = self.scenario.plan.as_ref().filter(|_| self.trainee)?;
        let log = self.bench.log();
        // a fault injected by an instructor is not the trainee's deed
        let mut own = log.get(self.own_lines..).unwrap_or_default().to_vec();
        own.retain(|e| !matches!(&e.kind, Kind::Act { id, .. } if is_injected(id)));
        let own = deeds::deeds(&own);
        let wrong = self.bench.not_whole();
        let job = self.ledger.job();
        Some(lesson::grade(
            &self.lesson.rubric,
            &Facts {
                plan,
                deeds: &own,
                begun: &self.lesson.begun,
                end: all,
                wrong_before: &self.lesson.wrong,
                wrong: &wrong,
                sound_parts: &self.lesson.sound_parts,
                minutes: job.minutes,
                money: job.money,
                currency: &job.currency,
                predictions: &self.predictions(),
                cautions: !self.scenario.about.cautions.is_empty(),
                lid_open: self.open(),
            },
        ))
    }

    /// The end of a lesson: outcomes that wait for it, the grade, the moments. A run that was stopped is not
    /// handed in, so it closes nothing.
    pub(super) fn end_lesson(&mut self, stopped: bool) -> (Option<Grade>, Vec<(String, Moment)>) {
        if self.scenario.plan.is_none() {
            return (None, Vec::new());
        }
        let now = self.bench.time_s();
        let all = self.all();
        self.look(&all, now);
        let mut grade = self.grade_of(&all);
        if let (Some(g), true) = (&mut grade, stopped) {
            g.closed = false;
        }
        (grade, std::mem::take(&mut self.lesson.moments))
    }
}

/// The result of a fork at a time \[s\], with the deed done and everything else that the question says is done.
fn comes_of(scenario: &Scenario, fork: &Fork, ask: &Ask, due_s: f64) -> Found {
    let mut bench = fork.bench.clone();
    let all = |b: &Bench| whole(scenario, b, &b.observe(), &fork.job);
    if let Some((id, action)) = &fork.deed {
        let _ = bench.act(id, action.clone());
    }
    let begun_s = bench.time_s();
    let mut course = Vec::new();
    let mut on_to = |bench: &mut Bench, to_s: f64| {
        while bench.time_s() + SAME_S < to_s {
            bench.advance_to((bench.time_s() + COURSE_S).min(to_s));
            if let Some(x) = lookup(&all(bench), &ask.what).as_ref().and_then(Value::as_f64) {
                course.push((bench.time_s() - begun_s, x));
            }
        }
    };
    let mut last_s = begun_s;
    for act in &ask.then {
        match &act.timing {
            Timing::At(s) => on_to(&mut bench, (begun_s + s).min(due_s)),
            Timing::After(s) => on_to(&mut bench, (last_s + s).min(due_s)),
            Timing::When { condition, timeout_s } => {
                let until_s = (last_s + timeout_s).min(due_s);
                while bench.time_s() + SAME_S < until_s && !condition.holds(&all(&bench)) {
                    bench.advance_by(ROW_S);
                }
            }
        }
        if bench.time_s() + SAME_S >= due_s {
            break;
        }
        let _ = bench.act(&act.id, act.hand.clone());
        last_s = bench.time_s() + act.wait_s;
    }
    on_to(&mut bench, due_s);
    let value = lookup(&all(&bench), &ask.what).unwrap_or(Value::Null);
    Found { value, course }
}
