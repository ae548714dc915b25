//! What an attempt is worth: the deeds of a logbook, checks on them and on the end, a rubric, a grade.
//!
//! *Inside*: which deed a line of the logbook is ([`deeds`]), how each row of a rubric is judged. *Outside*: what
//! a file says ([`crate::scenario`]), when a question is put and its outcome observed (session), how a grade looks
//! on paper (report). Nothing here changes a bench, and no plant or module knows of any of it.
//!
//! A rubric is data. The shipped rows come first, then what the scenario changes or adds, then what a rubric file
//! does. A row that a scenario gives nothing to judge by is left out, and the whole counts for less. The job is
//! *closed* when every judged row that closes is met in full.

pub mod deeds;
pub mod facts;

use crate::bench::action::Said;
use crate::lesson::deeds::Deed;
use crate::lesson::facts::{Found, Outcome};
use crate::scenario::{
    Ask, AskKind, Check, Judge, Mistake, Place, Plan, RowPlan, Rule, ScenarioError, Test, Type, lookup,
    nearest,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A rubric in force: the rows in their order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rubric {
    rows: Vec<Row>,
}

/// One row of a rubric in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its id.
    pub id: String,
    /// In words.
    pub says: String,
    /// What it is worth.
    pub points: f64,
    /// Code of a task in somebody's own programme.
    pub task: Option<String>,
    /// The job is closed only when it is met in full.
    pub closes: bool,
    /// How it is judged.
    pub judge: Judge,
    stated_before: Vec<String>,
    checks: Vec<Check>,
}

impl Row {
    /// Deeds before which the cause must be named.
    pub fn stated_before(&self) -> &[String] {
        &self.stated_before
    }
}

impl Rubric {
    /// Lays rows over each other: one with an id that stands already changes it, another adds. `file` is named
    /// in errors.
    pub fn over(mut self, rows: &[RowPlan], file: &str) -> Result<Self, ScenarioError> {
        for r in rows {
            for deed in &r.stated_before {
                known_deed(deed, r.place, file)?;
            }
            check_deeds(&r.checks, file)?;
            if let Some(own) = self.rows.iter_mut().find(|own| own.id == r.id) {
                own.points = r.points.unwrap_or(own.points);
                own.closes = r.closes.unwrap_or(own.closes);
                own.judge = r.judge.unwrap_or(own.judge);
                if let Some(says) = &r.says {
                    own.says.clone_from(says);
                }
                if r.task.is_some() {
                    own.task.clone_from(&r.task);
                }
                if !r.stated_before.is_empty() {
                    own.stated_before.clone_from(&r.stated_before);
                }
                own.checks.extend(r.checks.iter().cloned());
                continue;
            }
            let (Some(says), Some(points)) = (&r.says, r.points) else {
                let keys: Vec<String> = self.rows.iter().map(|own| own.id.clone()).collect();
                let help = nearest(&r.id, &keys);
                return Err(ScenarioError::at(file, r.place, Mistake::NewRow { keys }, help));
            };
            self.rows.push(Row {
                id: r.id.clone(),
                says: says.clone(),
                points,
                task: r.task.clone(),
                closes: r.closes.unwrap_or(false),
                judge: r.judge.unwrap_or(Judge::Checks),
                stated_before: r.stated_before.clone(),
                checks: r.checks.clone(),
            });
        }
        Ok(self)
    }

    /// Lays a scenario's rows over these and gives each of its checks to its row.
    pub fn for_plan(self, plan: &Plan, file: &str) -> Result<Self, ScenarioError> {
        let mut rubric = self.over(&plan.rows, file)?;
        check_deeds(&plan.checks, file)?;
        let nowhere = Place { line: 1, column: 1 };
        for deed in plan.stated_before.iter().chain(&plan.needed_parts) {
            known_deed(deed, nowhere, file)?;
        }
        for a in &plan.asks {
            if let Some(deed) = &a.before {
                known_deed(deed, a.place, file)?;
            }
        }
        for c in &plan.checks {
            let Some(row) = rubric.rows.iter_mut().find(|r| r.id == c.row) else {
                let keys: Vec<String> = rubric.rows.iter().map(|r| r.id.clone()).collect();
                let help = nearest(&c.row, &keys);
                return Err(ScenarioError::at(
                    file,
                    c.place,
                    Mistake::NoRow { row: c.row.clone(), keys },
                    help,
                ));
            };
            row.checks.push(c.clone());
        }
        Ok(rubric)
    }

    /// The rows.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }
}

/// Every deed that checks name can be done.
fn check_deeds(checks: &[Check], file: &str) -> Result<(), ScenarioError> {
    for c in checks {
        let named: Vec<&String> = match &c.test {
            Test::Did { did, after, before, .. } => did.iter().chain(after).chain(before).collect(),
            Test::Order(all) => all.iter().collect(),
            Test::State { needs, .. } => needs.iter().collect(),
        };
        for deed in named {
            known_deed(deed, c.place, file)?;
        }
    }
    Ok(())
}

fn known_deed(deed: &str, place: Place, file: &str) -> Result<(), ScenarioError> {
    let all = deeds::known();
    if all.iter().any(|k| deeds::is(k, deed)) {
        return Ok(());
    }
    // what the whole deeds end with may be a cause's or a question's id
    if ["say.cause.", "say.answer."].iter().any(|p| deed.strip_prefix(p).is_some_and(|id| !id.contains('.')))
    {
        return Ok(());
    }
    Err(ScenarioError::at(file, place, Mistake::NoDeed { deed: deed.into() }, nearest(deed, &all)))
}

/// A question with what was said to it and what came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    /// The question's id.
    pub id: String,
    /// The question.
    pub question: String,
    /// What was said before the outcome; none where nothing was.
    pub said: Option<Outcome>,
    /// What came; none where the run ended before.
    pub came: Option<Outcome>,
    /// They agree; none where one of them is missing.
    pub right: Option<bool>,
    /// When it was put \[s\].
    pub asked_s: f64,
    /// When the outcome was looked at \[s\].
    pub looked_s: Option<f64>,
    /// What explains it.
    pub why: String,
}

/// An answer of the right sort for a question, or why it is none.
pub fn fits(ask: &Ask, says: &Said) -> Result<(), Mistake> {
    let wrong = |wanted: Type| Err(Mistake::Answer { ask: ask.id.clone(), wanted });
    match (&ask.kind, says) {
        (AskKind::Number { .. }, Said::Number(x)) if x.is_finite() => Ok(()),
        (AskKind::Number { .. }, _) => wrong(Type::Number),
        (AskKind::Direction { .. }, Said::Word(w)) if ["up", "down", "same"].contains(&w.as_str()) => Ok(()),
        (AskKind::Direction { .. }, _) => wrong(Type::Direction),
        (AskKind::Choice(all), Said::Word(w)) if all.iter().any(|c| c.id == *w) => Ok(()),
        (AskKind::Choice(all), _) => {
            let one_of = all.iter().map(|c| c.id.clone()).collect();
            Err(Mistake::AnswerOneOf { ask: ask.id.clone(), one_of })
        }
    }
}

/// Sets an answer beside its outcome. `was` is the value when the question was put, `came` the one observed.
pub fn prediction(
    ask: &Ask,
    said: Option<&Said>,
    was: &Value,
    asked_s: f64,
    came: Option<(&Value, f64)>,
) -> Prediction {
    let outcome = came.map(|(value, _)| outcome(ask, was, value));
    let right = match (said, &outcome) {
        (Some(said), Some((_, Some(true_answer)))) => Some(match (said, true_answer) {
            (Said::Number(a), Said::Number(b)) => {
                matches!(ask.kind, AskKind::Number { within, .. } if (a - b).abs() <= within)
            }
            (a, b) => a == b,
        }),
        (Some(_), Some((_, None))) => Some(false),
        _ => None,
    };
    Prediction {
        id: ask.id.clone(),
        question: ask.question.clone(),
        said: said.map(|s| answer(ask, s)),
        came: outcome.map(|o| o.0),
        right,
        asked_s,
        looked_s: came.map(|c| c.1),
        why: ask.why.clone(),
    }
}

/// An answer as it is told of.
fn answer(ask: &Ask, said: &Said) -> Outcome {
    match (said, &ask.kind) {
        (Said::Number(x), AskKind::Number { unit, .. }) => Outcome::Number { x: *x, unit: unit.clone() },
        (Said::Number(x), _) => Outcome::Number { x: *x, unit: String::new() },
        (Said::Word(w), AskKind::Choice(all)) => {
            let says = all.iter().find(|c| c.id == *w).map_or_else(|| w.clone(), |c| c.says.clone());
            Outcome::Choice { id: w.clone(), says, value: None }
        }
        (Said::Word(w), _) => Outcome::Way { way: w.clone(), values: None },
    }
}

/// What came, and the answer that would have been right; none where no answer was.
fn outcome(ask: &Ask, was: &Value, value: &Value) -> (Outcome, Option<Said>) {
    let nothing = (Outcome::NoValue, None);
    match &ask.kind {
        AskKind::Number { unit, .. } => match value.as_f64() {
            Some(x) => (Outcome::Number { x, unit: unit.clone() }, Some(Said::Number(x))),
            None => nothing,
        },
        AskKind::Direction { same_within } => match (was.as_f64(), value.as_f64()) {
            (Some(a), Some(b)) => {
                let way = match b - a {
                    d if d > *same_within => "up",
                    d if d < -same_within => "down",
                    _ => "same",
                };
                let came = Outcome::Way { way: way.into(), values: Some((a, b)) };
                (came, Some(Said::Word(way.into())))
            }
            _ => nothing,
        },
        AskKind::Choice(all) => match all.iter().find(|c| meets(&c.rule, value)) {
            Some(c) => {
                let (id, says, value) = (c.id.clone(), c.says.clone(), Some(value.clone()));
                (Outcome::Choice { id, says, value }, Some(Said::Word(c.id.clone())))
            }
            None => (Outcome::NoChoice(value.clone()), None),
        },
    }
}

/// Whether a value is what a rule wants. What is missing is not.
fn meets(rule: &Rule, value: &Value) -> bool {
    rule.meets(value)
}

/// What grading goes by.
#[derive(Debug, Clone, Copy)]
pub struct Facts<'a> {
    /// The scenario's plan.
    pub plan: &'a Plan,
    /// What was done after hand-over, in its order.
    pub deeds: &'a [Deed],
    /// What stands at the end, truth included.
    pub end: &'a Value,
    /// Minutes on the job card \[min\].
    pub minutes: f64,
    /// Money on the job card.
    pub money: f64,
    /// Its unit.
    pub currency: &'a str,
    /// Questions that came up.
    pub predictions: &'a [Prediction],
    /// There are cautions of the scenario's own.
    pub cautions: bool,
    /// Truth may be told: without it nothing that a check on truth found is said, nor what the right cause is.
    pub lid_open: bool,
}

/// One thing that was found for a row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// What.
    pub found: Found,
    /// It is as it should be.
    pub met: bool,
}

/// A row with what it came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Scored {
    /// The row's id.
    pub id: String,
    /// In words.
    pub says: String,
    /// Code of a task in somebody's own programme.
    pub task: Option<String>,
    /// Points that it came to.
    pub points: f64,
    /// Points that it is worth.
    pub of: f64,
    /// It must be met for the job to be closed.
    pub closes: bool,
    /// What was found.
    pub findings: Vec<Finding>,
}

impl Scored {
    /// Met in full.
    pub fn full(&self) -> bool {
        self.points >= self.of - 1e-9
    }
}

/// What an attempt is worth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Grade {
    /// The job is closed: repaired, learned again and proven.
    pub closed: bool,
    /// Points.
    pub points: f64,
    /// Points that could be had.
    pub of: f64,
    /// The right cause was named before anything was repaired; none where the scenario asks for none.
    pub cause_found: Option<bool>,
    /// Good parts that were replaced.
    pub good_parts: u32,
    /// Causes as they were named, with their times \[s\], in words.
    pub stated: Vec<(f64, String)>,
    /// Times that the bench was set back to a mark.
    pub rewound: u32,
    /// Times that the lid was opened over truth while somebody worked.
    pub lid_opened: u32,
    /// The rows that were judged.
    pub rows: Vec<Scored>,
    /// The questions that came up.
    pub predictions: Vec<Prediction>,
}

impl Grade {
    /// Share of the points \[%\].
    pub fn pct(&self) -> f64 {
        if self.of > 0.0 { 100.0 * self.points / self.of } else { 0.0 }
    }
    /// Every point.
    pub fn full(&self) -> bool {
        self.closed && self.points >= self.of - 1e-9
    }
}

/// What an attempt is worth by a rubric that was laid over its plan.
pub fn grade(rubric: &Rubric, f: &Facts<'_>) -> Grade {
    let mut rows = Vec::new();
    let mut closed = true;
    let mut closes = false;
    for r in &rubric.rows {
        if r.points <= 0.0 && !r.closes {
            continue;
        }
        let Some((share, findings)) = judge(r, f) else { continue };
        let scored = Scored {
            id: r.id.clone(),
            says: r.says.clone(),
            task: r.task.clone(),
            points: share * r.points,
            of: r.points,
            closes: r.closes,
            findings,
        };
        // a row of no points closes all the same
        closed &= !r.closes || share >= 1.0 - 1e-9;
        closes |= r.closes;
        rows.push(scored);
    }
    let closed = closed && closes;
    // a job that is left undone is quickly and cheaply left
    for (row, scored) in rows
        .iter_mut()
        .filter_map(|r: &mut Scored| rubric.rows.iter().find(|own| own.id == r.id).map(|own| (own, r)))
    {
        if !closed && matches!(row.judge, Judge::Minutes | Judge::Money) && closes {
            scored.points = 0.0;
            scored.findings.insert(0, Finding { found: Found::JobOpen, met: false });
        }
    }
    let count = |class: &str| f.deeds.iter().filter(|d| d.class == class).count() as u32;
    let cause_row = rubric.rows.iter().find(|r| r.judge == Judge::Cause);
    Grade {
        closed,
        points: rows.iter().map(|r| r.points).sum::<f64>() + 0.0,
        of: rows.iter().map(|r| r.of).sum::<f64>() + 0.0,
        cause_found: cause_row.and_then(|r| cause(r, f)).map(|c| c.0 >= 1.0),
        good_parts: good_parts(f).len() as u32,
        stated: stated(f),
        rewound: count("say.rewound"),
        lid_opened: count("say.lid_opened"),
        rows,
        predictions: f.predictions.to_vec(),
    }
}

/// The share that a row is met, and why; none where there is nothing to judge by.
fn judge(row: &Row, f: &Facts<'_>) -> Option<(f64, Vec<Finding>)> {
    let (share, mut findings) = match row.judge {
        Judge::Checks => return checks(row, f),
        Judge::Cause => cause(row, f)?,
        Judge::Predictions => predictions(f)?,
        Judge::Parts => parts(f),
        Judge::Minutes => budget(f.minutes, f.plan.minutes?, |spent, par| Found::Minutes { spent, par }),
        Judge::Money => budget(f.money, f.plan.money?, |spent, par| Found::Money {
            spent,
            par,
            currency: f.currency.to_owned(),
        }),
        Judge::Cautions => cautions(f)?,
    };
    // checks that somebody added to such a row share it
    match checks(row, f) {
        None => Some((share, findings)),
        Some((more, found)) => {
            findings.extend(found);
            Some((0.5 * (share + more), findings))
        }
    }
}

fn checks(row: &Row, f: &Facts<'_>) -> Option<(f64, Vec<Finding>)> {
    if row.checks.is_empty() {
        return None;
    }
    let found: Vec<Finding> = row.checks.iter().map(|c| check(c, f)).collect();
    let met = found.iter().filter(|x| x.met).count();
    let share = met as f64 / found.len() as f64;
    // checks that say the same are one line
    let mut told: Vec<Finding> = Vec::new();
    for x in found {
        if !told.contains(&x) {
            told.push(x);
        }
    }
    Some((share, told))
}

fn check(c: &Check, f: &Facts<'_>) -> Finding {
    match &c.test {
        Test::State { what, rule, needs } => {
            let value = lookup(f.end, what).unwrap_or(Value::Null);
            let hidden = !f.lid_open && what.split('.').next() == Some("truth");
            let found = if hidden { Found::CheckOnTruth } else { told(c, f) };
            let done = needs.as_ref().is_none_or(|n| f.deeds.iter().any(|d| deeds::is(&d.class, n)));
            Finding { found, met: done && meets(rule, &value) }
        }
        Test::Order(all) => {
            let mut left = f.deeds.iter();
            let met = all.iter().all(|o| left.any(|d| deeds::is(&d.class, o)));
            Finding { found: told(c, f), met }
        }
        Test::Did { did, after, before, times, most } => {
            let first_after = match after {
                None => Some(0),
                Some(a) => f.deeds.iter().rposition(|d| deeds::is(&d.class, a)).map(|k| k + 1),
            };
            let first = |b: &String| f.deeds.iter().position(|d| deeds::is(&d.class, b));
            let end = before.as_ref().and_then(first).unwrap_or(f.deeds.len());
            let one = |d: &&Deed| did.iter().any(|w| deeds::is(&d.class, w));
            let count = first_after.map_or(0, |from| f.deeds.iter().take(end).skip(from).filter(one).count());
            let least = usize::from(*times);
            let met = match most {
                Some(most) => (least..=usize::from(*most)).contains(&count),
                None if least == 0 => count == 0,
                None => count >= least,
            };
            Finding { found: told(c, f), met }
        }
    }
}

/// A check's reason, without what was drawn for this trainee under a closed lid.
fn told(c: &Check, f: &Facts<'_>) -> Found {
    let raw = c.unfilled.as_ref().filter(|_| !f.lid_open);
    Found::Check(raw.unwrap_or(&c.why).clone())
}

/// Causes as they were named.
fn stated(f: &Facts<'_>) -> Vec<(f64, String)> {
    let words = |id: &str| {
        f.plan.causes.iter().find(|c| c.id == id).map_or_else(|| id.to_owned(), |c| c.says.clone())
    };
    f.deeds.iter().filter_map(|d| d.class.strip_prefix("say.cause.").map(|id| (d.t_s, words(id)))).collect()
}

fn cause(row: &Row, f: &Facts<'_>) -> Option<(f64, Vec<Finding>)> {
    let right: Vec<&str> = f.plan.causes.iter().filter(|c| c.right).map(|c| c.id.as_str()).collect();
    if right.is_empty() {
        return None;
    }
    let before = if f.plan.stated_before.is_empty() { &row.stated_before } else { &f.plan.stated_before };
    let repaired = f.deeds.iter().position(|d| before.iter().any(|b| deeds::is(&d.class, b)));
    // as many as are right, the last that were named; naming everything is no answer
    let standing = |upto: usize| {
        let named: Vec<&str> =
            f.deeds.iter().take(upto).filter_map(|d| d.class.strip_prefix("say.cause.")).collect();
        let last = &named[named.len().saturating_sub(right.len())..];
        right.iter().all(|r| last.contains(r))
    };
    let named = f.deeds.iter().any(|d| deeds::is(&d.class, "say.cause"));
    let (share, found) = if standing(repaired.unwrap_or(f.deeds.len())) {
        (1.0, Found::CauseNamed)
    } else if standing(f.deeds.len()) {
        (0.5, Found::CauseNamedLate)
    } else if named {
        (0.0, Found::CauseWrong)
    } else {
        (0.0, Found::CauseNotNamed)
    };
    let mut findings = vec![Finding { found, met: share >= 1.0 }];
    if f.lid_open {
        let all = f.plan.causes.iter().filter(|c| c.right).map(|c| c.says.clone()).collect();
        findings.push(Finding { found: Found::CauseWas(all), met: share >= 1.0 });
    }
    Some((share, findings))
}

fn predictions(f: &Facts<'_>) -> Option<(f64, Vec<Finding>)> {
    if f.predictions.is_empty() {
        return None;
    }
    let said = f.predictions.iter().filter(|p| p.said.is_some()).count();
    let share = said as f64 / f.predictions.len() as f64;
    let found = Found::Predicted { said, of: f.predictions.len() };
    Some((share, vec![Finding { found, met: said == f.predictions.len() }]))
}

/// Parts that were bought and not needed, by their deeds.
fn good_parts<'f>(f: &Facts<'f>) -> Vec<&'f str> {
    f.deeds
        .iter()
        .filter(|d| deeds::is(&d.class, "part"))
        .filter(|d| !f.plan.needed_parts.iter().any(|n| deeds::is(&d.class, n)))
        .map(|d| d.class.as_str())
        .collect()
}

fn parts(f: &Facts<'_>) -> (f64, Vec<Finding>) {
    let good = good_parts(f);
    let found = Found::GoodParts(good.iter().map(|d| (*d).to_owned()).collect());
    let share = match good.len() {
        0 => 1.0,
        1 => 0.5,
        _ => 0.0,
    };
    (share, vec![Finding { found, met: good.is_empty() }])
}

/// Whole up to the par, nothing from twice the par on.
fn budget(spent: f64, par: f64, found: impl Fn(f64, f64) -> Found) -> (f64, Vec<Finding>) {
    let share = if spent <= par { 1.0 } else { ((2.0 * par - spent) / par.max(1e-9)).max(0.0) };
    (share, vec![Finding { found: found(spent, par), met: spent <= par }])
}

fn cautions(f: &Facts<'_>) -> Option<(f64, Vec<Finding>)> {
    if !f.cautions {
        return None;
    }
    let first = f.deeds.iter().find(|d| d.class == "say.cautions" || !deeds::is(&d.class, "say"));
    let met = first.is_some_and(|d| d.class == "say.cautions");
    let found = if met {
        Found::CautionsRead
    } else if f.deeds.iter().any(|d| d.class == "say.cautions") {
        Found::CautionsLate
    } else {
        Found::CautionsNotRead
    };
    Some((f64::from(u8::from(met)), vec![Finding { found, met }]))
}
