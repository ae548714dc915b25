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
mod predictions;

pub use predictions::{Prediction, fits, prediction};

use crate::bench::not_whole::{Matter, NotWhole};
use crate::lesson::deeds::Deed;
use crate::lesson::facts::Found;
use crate::scenario::{
    Check, Judge, Mistake, Place, Plan, RowPlan, Rule, ScenarioError, Test, lookup, nearest,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A rubric in force: the rows in their order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rubric {
    rows: Vec<Row>,
    /// Causes and questions that deeds may name; none until the rubric is for a lesson.
    named: Option<Named>,
}

/// Ids of a lesson's causes and questions.
#[derive(Debug, Clone, PartialEq, Default)]
struct Named {
    causes: Vec<String>,
    asks: Vec<String>,
}

impl Named {
    fn of(plan: &Plan) -> Self {
        Self {
            causes: plan.causes.iter().map(|c| c.id.clone()).collect(),
            asks: plan.asks.iter().map(|a| a.id.clone()).collect(),
        }
    }
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

fn deeds_of(placed: &[(String, Place)]) -> Vec<String> {
    placed.iter().map(|(deed, _)| deed.clone()).collect()
}

impl Rubric {
    /// Lays rows over each other: one with an id that stands already changes it, another adds. `file` is named
    /// in errors.
    pub fn over(mut self, rows: &[RowPlan], file: &str) -> Result<Self, ScenarioError> {
        let mut wrong = unknown(of_rows(rows), file, self.named.as_ref());
        for r in rows {
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
                    own.stated_before = deeds_of(&r.stated_before);
                }
                own.checks.extend(r.checks.iter().cloned());
                continue;
            }
            let (Some(says), Some(points)) = (&r.says, r.points) else {
                let keys: Vec<String> = self.rows.iter().map(|own| own.id.clone()).collect();
                let help = nearest(&r.id, &keys);
                wrong.push(ScenarioError::at(file, r.place, Mistake::NewRow { keys }, help));
                continue;
            };
            self.rows.push(Row {
                id: r.id.clone(),
                says: says.clone(),
                points,
                task: r.task.clone(),
                closes: r.closes.unwrap_or(false),
                judge: r.judge.unwrap_or(Judge::Checks),
                stated_before: deeds_of(&r.stated_before),
                checks: r.checks.clone(),
            });
        }
        ScenarioError::all(wrong).map_or(Ok(self), Err)
    }

    /// Lays a scenario's rows over these and gives each of its checks to its row.
    pub fn for_plan(self, plan: &Plan, file: &str) -> Result<Self, ScenarioError> {
        let names = Named::of(plan);
        let mut rubric = Self { named: Some(names.clone()), ..self }.over(&plan.rows, file)?;
        let mut wrong = unknown(of_plan(plan), file, Some(&names));
        for c in &plan.checks {
            let Some(row) = rubric.rows.iter_mut().find(|r| r.id == c.row) else {
                let keys: Vec<String> = rubric.rows.iter().map(|r| r.id.clone()).collect();
                let help = nearest(&c.row, &keys);
                let mistake = Mistake::NoRow { row: c.row.clone(), keys };
                wrong.push(ScenarioError::at(file, c.place, mistake, help));
                continue;
            };
            row.checks.push(c.clone());
        }
        ScenarioError::all(wrong).map_or(Ok(rubric), Err)
    }

    /// The rows.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }
}

/// Every deed that a rubric's rows name can be done, in some lesson.
pub fn rows_can_be_met(rows: &[RowPlan], file: &str) -> Result<(), ScenarioError> {
    ScenarioError::all(unknown(of_rows(rows), file, None)).map_or(Ok(()), Err)
}

/// A deed that a file names, and where.
type Placed<'a> = (&'a str, Place);

fn placed(deeds: &[(String, Place)]) -> impl Iterator<Item = Placed<'_>> {
    deeds.iter().map(|(deed, place)| (deed.as_str(), *place))
}

fn of_rows(rows: &[RowPlan]) -> impl Iterator<Item = Placed<'_>> {
    rows.iter().flat_map(|r| placed(&r.stated_before).chain(of_checks(&r.checks)))
}

fn of_checks(checks: &[Check]) -> impl Iterator<Item = Placed<'_>> {
    checks.iter().flat_map(|c| c.test.deeds().into_iter().map(|deed| (deed.as_str(), c.place)))
}

fn of_plan(plan: &Plan) -> impl Iterator<Item = Placed<'_>> {
    let asks = plan.asks.iter().filter_map(|a| Some((a.before.as_deref()?, a.place)));
    of_checks(&plan.checks).chain(placed(&plan.stated_before)).chain(placed(&plan.needed_parts)).chain(asks)
}

/// What is wrong with deeds that nobody can do; of a lesson's own causes and questions where its names are given.
fn unknown<'a>(
    placed: impl Iterator<Item = Placed<'a>>,
    file: &str,
    named: Option<&Named>,
) -> Vec<ScenarioError> {
    let all = deeds::known();
    let wrong = |(deed, place): Placed<'_>| {
        let fail = |mistake, help| Some(ScenarioError::at(file, place, mistake, help));
        if all.iter().any(|k| deeds::is(k, deed)) {
            return None;
        }
        // what the whole deeds end with may be a cause's or a question's id
        let own = |head: &str| deed.strip_prefix(head).filter(|id| !id.contains('.'));
        let (id, keys, is_cause) = match (own("say.cause."), own("say.answer."), named) {
            (Some(id), _, Some(named)) => (id, &named.causes, true),
            (_, Some(id), Some(named)) => (id, &named.asks, false),
            (None, None, _) => return fail(Mistake::NoDeed { deed: deed.into() }, nearest(deed, &all)),
            _ => return None,
        };
        match keys.iter().any(|k| k == id) {
            true => None,
            false => fail(Mistake::no_own(id, keys, is_cause), nearest(id, keys)),
        }
    };
    placed.filter_map(wrong).collect()
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
    /// What stood at hand-over, truth included.
    pub begun: &'a Value,
    /// What stands at the end, truth included.
    pub end: &'a Value,
    /// What was wrong with the car at hand-over.
    pub wrong_before: &'a [NotWhole],
    /// What is wrong with it at the end.
    pub wrong: &'a [NotWhole],
    /// Sound parts that were replaced, by their deeds.
    pub sound_parts: &'a [String],
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

/// The same, with where among the deeds the first repair is: what must be said and tried before is done before it.
struct Judged<'f> {
    own: &'f Facts<'f>,
    repaired_at: Option<usize>,
}

impl Judged<'_> {
    /// Place after the last change among the deeds; the first where nothing was changed.
    fn changed(&self) -> usize {
        self.deeds.iter().rposition(|d| deeds::is(&d.class, deeds::CHANGE)).map_or(0, |k| k + 1)
    }
}

impl<'f> std::ops::Deref for Judged<'f> {
    type Target = Facts<'f>;
    fn deref(&self) -> &Facts<'f> {
        self.own
    }
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
    /// Questions that were answered and never came up: the step that brings them up was not done, or was refused.
    #[serde(default)]
    pub never_asked: Vec<String>,
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
    let cause_row = rubric.rows.iter().find(|r| r.judge == Judge::Cause);
    let before = cause_row.map_or(Vec::new(), |row| stated_before(Some(row), f.plan));
    let repaired_at = f.deeds.iter().position(|d| before.iter().any(|b| deeds::is(&d.class, b)));
    let f = &Judged { own: f, repaired_at };
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
    // a job that is left undone is quickly and cheaply left, and needs no part
    for (row, scored) in rows
        .iter_mut()
        .filter_map(|r: &mut Scored| rubric.rows.iter().find(|own| own.id == r.id).map(|own| (own, r)))
    {
        if !closed && matches!(row.judge, Judge::Minutes | Judge::Money | Judge::Parts) && closes {
            scored.points = 0.0;
            scored.findings.insert(0, Finding { found: Found::JobOpen, met: false });
        }
    }
    let count = |class: &str| f.deeds.iter().filter(|d| d.class == class).count() as u32;
    Grade {
        closed,
        points: rows.iter().map(|r| r.points).sum::<f64>() + 0.0,
        of: rows.iter().map(|r| r.of).sum::<f64>() + 0.0,
        cause_found: cause_row.and_then(|_| cause(f)).map(|c| c.0 >= 1.0),
        good_parts: good_parts(f).len() as u32,
        stated: stated(f),
        rewound: count("say.rewound"),
        lid_opened: count("say.lid_opened"),
        rows,
        predictions: f.predictions.to_vec(),
        never_asked: never_asked(f),
    }
}

fn never_asked(f: &Facts<'_>) -> Vec<String> {
    let answered = |id: &str| f.deeds.iter().any(|d| d.class == format!("say.answer.{id}"));
    let asked = |id: &str| f.predictions.iter().any(|p| p.id == id);
    let all = f.plan.asks.iter().filter(|a| answered(&a.id) && !asked(&a.id));
    all.map(|a| a.question.clone()).collect()
}

/// The share that a row is met, and why; none where there is nothing to judge by.
fn judge(row: &Row, f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
    let looked = looks(row, f);
    let (share, mut findings) = match row.judge {
        Judge::Checks | Judge::Tests => return share_of(looked, f),
        Judge::Proof => return proof(looked, f),
        Judge::Repaired | Judge::Learned => match mended(row.judge, f) {
            None => return share_of(looked, f),
            Some(own) => own,
        },
        Judge::Cause => cause(f)?,
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
    let earns = looked.iter().any(|l| l.earns);
    let unmet = looked.iter().any(|l| !l.finding.met);
    match share_of(looked, f) {
        None => Some((share, findings)),
        Some((more, found)) => {
            findings.extend(found);
            // what already held at hand-over is nobody's merit, but may be spoilt
            let share = match (earns, unmet) {
                (true, _) => 0.5 * (share + more),
                (false, true) => 0.5 * share,
                (false, false) => share,
            };
            Some((share, findings))
        }
    }
}

/// What was found by a check.
struct Looked {
    finding: Finding,
    /// It is somebody's merit: what was right at hand-over is not.
    earns: bool,
}

impl Looked {
    fn did(found: Found, met: bool) -> Self {
        Self { finding: Finding { found, met }, earns: true }
    }
}

fn looks(row: &Row, f: &Judged<'_>) -> Vec<Looked> {
    row.checks.iter().map(|c| look(c, row, f)).collect()
}

/// The share of checks that are met; of what held at hand-over only what no longer holds counts, and takes away.
fn share_of(all: Vec<Looked>, f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
    if all.is_empty() {
        return None;
    }
    let count = |which: &dyn Fn(&Looked) -> bool| all.iter().filter(|l| which(l)).count() as f64;
    let (earn, met) = (count(&|l| l.earns), count(&|l| l.earns && l.finding.met));
    let spoilt = count(&|l| !l.earns && !l.finding.met);
    let share = match earn {
        0.0 => f64::from(u8::from(spoilt == 0.0 && put_right(f))),
        _ => ((met - spoilt) / earn).max(0.0),
    };
    // checks that say the same are one line
    let mut told: Vec<Finding> = Vec::new();
    for l in all {
        if !told.contains(&l.finding) {
            told.push(l.finding);
        }
    }
    Some((share, told))
}

fn look(c: &Check, row: &Row, f: &Judged<'_>) -> Looked {
    match &c.test {
        Test::State { what, rule, needs } => {
            let value = |of: &Value| lookup(of, what).unwrap_or(Value::Null);
            let hidden = !f.lid_open && what.split('.').next() == Some("truth");
            let found = if hidden { Found::CheckOnTruth } else { told(c, f) };
            let done = needs.as_ref().is_none_or(|n| f.deeds.iter().any(|d| deeds::is(&d.class, n)));
            let finding = Finding { found, met: done && meets(rule, &value(f.end)) };
            Looked { finding, earns: needs.is_some() || !meets(rule, &value(f.begun)) }
        }
        Test::Order(all) => {
            let mut left = f.deeds.iter();
            let met = all.iter().all(|o| left.any(|d| deeds::is(&d.class, o)));
            Looked::did(told(c, f), met)
        }
        Test::Did { did, after, before, times, most } => {
            let first_after = match after.as_deref() {
                None => Some(0),
                Some(deeds::CHANGE) => Some(f.changed()),
                Some(a) => f.deeds.iter().rposition(|d| deeds::is(&d.class, a)).map(|k| k + 1),
            };
            let first = |b: &String| f.deeds.iter().position(|d| deeds::is(&d.class, b));
            let end = match before {
                Some(b) => first(b),
                None if row.judge == Judge::Tests => f.repaired_at,
                None => None,
            };
            let end = end.unwrap_or(f.deeds.len());
            let one = |d: &&Deed| did.iter().any(|w| deeds::is(&d.class, w));
            let count = first_after.map_or(0, |from| f.deeds.iter().take(end).skip(from).filter(one).count());
            let least = usize::from(*times);
            let met = match most {
                Some(most) => (least..=usize::from(*most)).contains(&count),
                None if least == 0 => count == 0,
                None => count >= least,
            };
            Looked::did(told(c, f), met)
        }
    }
}

/// What was wrong at hand-over with parts or learned values: codes follow from it, and what only waits to be saved is no
/// fault.
fn was_wrong<'f>(f: &Judged<'f>) -> Vec<&'f NotWhole> {
    let counts = |x: &&NotWhole| x.matter() != Matter::Codes && !matches!(x, NotWhole::NotSaved { .. });
    f.wrong_before.iter().filter(counts).collect()
}

/// All of it is put right.
fn put_right(f: &Judged<'_>) -> bool {
    let was = was_wrong(f);
    !was.is_empty() && !was.iter().any(|x| f.wrong.iter().any(|w| w.thing() == x.thing()))
}

/// How much of what was wrong is put right, less what is wrong since; none where nothing of that sort was wrong.
/// A car of which only learned values were wrong is repaired when they are right.
fn mended(judge: Judge, f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
    let parts_too = judge == Judge::Repaired;
    let was = was_wrong(f);
    let parts_were = was.iter().any(|x| x.matter() == Matter::Car);
    let learned_too = !parts_too || !parts_were;
    let of = |x: &&NotWhole| match x.matter() {
        Matter::Car => parts_too,
        Matter::Learned => learned_too,
        Matter::Codes => false,
    };
    let before: Vec<&NotWhole> = was.into_iter().filter(of).collect();
    let now: Vec<&NotWhole> = f.wrong.iter().filter(of).collect();
    if before.is_empty() && now.is_empty() {
        return None;
    }
    let holds = |all: &[&NotWhole], x: &NotWhole| all.iter().any(|y| y.thing() == x.thing());
    let right = before.iter().filter(|x| !holds(&now, x)).count() as f64;
    let known: Vec<&NotWhole> = f.wrong_before.iter().collect();
    let new = now.iter().filter(|x| !holds(&known, x)).count() as f64;
    let share = ((right - new) / before.len().max(1) as f64).max(0.0);
    let mut findings: Vec<Finding> = match f.lid_open {
        true => now.into_iter().map(|x| Finding { found: Found::NotWhole(x.clone()), met: false }).collect(),
        false if now.is_empty() => Vec::new(),
        false if parts_too => vec![Finding { found: Found::NotWholeKept, met: false }],
        false => vec![Finding { found: Found::LearnedWrongKept, met: false }],
    };
    if findings.is_empty() {
        let found = if parts_too { Found::Whole } else { Found::LearnedRight };
        findings.push(Finding { found, met: true });
    }
    Some((share, findings))
}

/// Evidence after the last change: started again, codes read after that, and none left; and what the scenario asks for
/// besides. Whether what was learned outlives a key cycle is seen by what was saved.
fn proof(mut looked: Vec<Looked>, f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
    if was_wrong(f).is_empty() {
        return share_of(looked, f);
    }
    if !put_right(f) {
        return Some((0.0, vec![Finding { found: Found::NotMended, met: false }]));
    }
    let after = |from: Option<usize>, word: &str| {
        let here = |d: &Deed| deeds::is(&d.class, word);
        from.and_then(|k| f.deeds.iter().skip(k).position(here).map(|n| k + n + 1))
    };
    let started = after(Some(f.changed()), "key.crank");
    let read = after(started, "service.read_codes");
    let told = |met: bool, yes: Found, no: Found| Looked::did(if met { yes } else { no }, met);
    looked.push(told(started.is_some(), Found::ProofStarted, Found::ProofNotStarted));
    looked.push(told(read.is_some(), Found::ProofCodesRead, Found::ProofCodesNotRead));
    let left: Vec<Looked> = f
        .wrong
        .iter()
        .filter_map(|x| match x {
            NotWhole::Code { code, .. } => Some(Found::CodeLeft { code: code.clone() }),
            _ => None,
        })
        .map(|found| Looked { finding: Finding { found, met: false }, earns: false })
        .collect();
    match left.is_empty() {
        true => {
            looked.push(Looked { finding: Finding { found: Found::NoCodeLeft, met: true }, earns: false })
        }
        false => looked.extend(left),
    }
    share_of(looked, f)
}

/// A check's reason, without what was drawn for this trainee under a closed lid.
fn told(c: &Check, f: &Judged<'_>) -> Found {
    let raw = c.unfilled.as_ref().filter(|_| !f.lid_open);
    Found::Check(raw.unwrap_or(&c.why).clone())
}

/// Causes as they were named.
fn stated(f: &Judged<'_>) -> Vec<(f64, String)> {
    let words = |id: &str| {
        f.plan.causes.iter().find(|c| c.id == id).map_or_else(|| id.to_owned(), |c| c.says.clone())
    };
    f.deeds.iter().filter_map(|d| d.class.strip_prefix("say.cause.").map(|id| (d.t_s, words(id)))).collect()
}

/// Deeds before which the cause must be named: the plan's, or those of the row that judges the cause.
pub fn stated_before<'f>(row: Option<&'f Row>, plan: &'f Plan) -> Vec<&'f str> {
    match row {
        Some(row) if plan.stated_before.is_empty() => row.stated_before.iter().map(String::as_str).collect(),
        _ => plan.stated_before.iter().map(|(deed, _)| deed.as_str()).collect(),
    }
}

/// As many causes as are right, the last that were named; each other one that was named takes half a right one's share.
fn cause(f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
    let right: Vec<&str> = f.plan.causes.iter().filter(|c| c.right).map(|c| c.id.as_str()).collect();
    if right.is_empty() {
        return None;
    }
    let named = |upto: usize| -> Vec<&str> {
        f.deeds.iter().take(upto).filter_map(|d| d.class.strip_prefix("say.cause.")).collect()
    };
    let standing = |named: &[&str]| {
        let last = &named[named.len().saturating_sub(right.len())..];
        right.iter().all(|r| last.contains(r))
    };
    let before = named(f.repaired_at.unwrap_or(f.deeds.len()));
    let all = named(f.deeds.len());
    let mut wrong: Vec<&str> = all.iter().filter(|n| !right.contains(n)).copied().collect();
    wrong.sort_unstable();
    wrong.dedup();
    let (worth, found) = if standing(&before) {
        (1.0, Found::CauseNamed)
    } else if standing(&all) {
        (0.5, Found::CauseNamedLate)
    } else if all.is_empty() {
        (0.0, Found::CauseNotNamed)
    } else {
        (0.0, Found::CauseWrong)
    };
    let share = worth * (1.0 - 0.5 * wrong.len() as f64 / right.len() as f64).max(0.0);
    let mut findings = vec![Finding { found, met: worth >= 1.0 }];
    if worth > 0.0 && !wrong.is_empty() {
        findings.push(Finding { found: Found::CausesTooMany { wrong: wrong.len() }, met: false });
    }
    if f.lid_open {
        let all = f.plan.causes.iter().filter(|c| c.right).map(|c| c.says.clone()).collect();
        findings.push(Finding { found: Found::CauseWas(all), met: share >= 1.0 });
    }
    Some((share, findings))
}

fn predictions(f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
    if f.predictions.is_empty() {
        return None;
    }
    let said = f.predictions.iter().filter(|p| p.said.is_some()).count();
    let share = said as f64 / f.predictions.len() as f64;
    let found = Found::Predicted { said, of: f.predictions.len() };
    Some((share, vec![Finding { found, met: said == f.predictions.len() }]))
}

/// Parts that were sound when they were replaced, by their deeds, less those that the scenario lets one try.
fn good_parts<'f>(f: &Judged<'f>) -> Vec<&'f str> {
    let tried = |deed: &str| f.plan.needed_parts.iter().any(|(n, _)| deeds::is(deed, n));
    f.sound_parts.iter().map(String::as_str).filter(|deed| !tried(deed)).collect()
}

fn parts(f: &Judged<'_>) -> (f64, Vec<Finding>) {
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

fn cautions(f: &Judged<'_>) -> Option<(f64, Vec<Finding>)> {
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
