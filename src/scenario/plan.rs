//! The parts that make a scenario a lesson: causes to choose from, questions asked before their outcome, checks for
//! grading, and the rows of a rubric; also the answers that somebody gives to a session without a window.
//!
//! *Inside*: the tables `[lesson]`, the format of a rubric and of an answers file. *Outside*: what was done and how
//! it is graded ([`crate::lesson`]), asking and observing (session).
//!
//! The words for deeds, such as `part.coil.3` or `service.read_codes`, are defined in [`crate::lesson`]; it also
//! checks whether a word exists.

use crate::bench::action::{Note, Said};
use crate::scenario::acts::{read_acts, read_said};
use crate::scenario::read::{check_path_form, check_schema, read_rule};
use crate::scenario::source::{Checked, Item, Source, Tab, shown};
use crate::scenario::{Act, Mistake, Place, Rule, ScenarioError, gather, paths};
use crate::units;
use serde_json::Value;
use std::collections::BTreeMap;

/// Largest number of causes, questions, checks or rows in one file.
const MOST: usize = 200;
/// The id by which answers refer to the question about the cause.
const CAUSE: &str = "cause";

/// The lesson plan of a scenario.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// Possible causes, to choose from.
    pub causes: Vec<Cause>,
    /// Deeds before which the cause must be named, with their places; none for the deeds of the rubric.
    pub stated_before: Vec<(String, Place)>,
    /// Longest time that a practised technician needs \[min\].
    pub minutes: Option<f64>,
    /// Highest cost allowed.
    pub money: Option<f64>,
    /// Parts that the repair needs, as deeds with their places; any other part that is bought replaces a good one.
    pub needed_parts: Vec<(String, Place)>,
    /// Information hidden from a trainee besides truth.
    pub hides: Hides,
    /// Questions.
    pub asks: Vec<Ask>,
    /// Checks.
    pub checks: Vec<Check>,
    /// Rows of the rubric that this scenario changes or adds.
    pub rows: Vec<RowPlan>,
}

/// Information hidden from a trainee under a closed lid, besides truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hides {
    /// Which learning gate is shut, and why.
    pub gates: bool,
    /// Why the module refused.
    pub refusals: bool,
}

/// A possible cause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cause {
    /// Its id.
    pub id: String,
    /// The cause in words.
    pub says: String,
    /// True for an actual cause; there may be more than one.
    pub right: bool,
}

/// A question that is asked before its outcome can be seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// Its id.
    pub id: String,
    /// The deed before which it is asked; none: at hand-over.
    pub before: Option<String>,
    /// The question.
    pub question: String,
    /// The kind of answer required.
    pub kind: AskKind,
    /// Path of the value that shows the outcome.
    pub what: String,
    /// When the outcome is observed, counted from the question \[s\], on a car on which nothing is done except the
    /// deed and `then`; none for the end of the attempt.
    pub after_s: Option<f64>,
    /// Further acts after the deed, as the question announces them.
    pub then: Vec<Act>,
    /// The explanation, for the debrief.
    pub why: String,
    /// Where it stands in the file.
    pub place: Place,
}

/// The kind of answer required.
#[derive(Debug, Clone, PartialEq)]
pub enum AskKind {
    /// A number, right if it is close enough to the outcome.
    Number {
        /// Unit, in words.
        unit: String,
        /// Largest difference that still counts as right.
        within: f64,
    },
    /// Up, down, or unchanged.
    Direction {
        /// Largest change that counts as unchanged.
        same_within: f64,
    },
    /// One of these.
    Choice(Vec<Choice>),
}

/// One answer to choose, and the rule for when it is the right one.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Its id.
    pub id: String,
    /// The answer in words.
    pub says: String,
    /// The rule that the observed value then meets.
    pub rule: Rule,
}

/// One check for grading.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Row of the rubric that it counts in.
    pub row: String,
    /// What is looked at.
    pub test: Test,
    /// The reason, in the author's words.
    pub why: String,
    /// Text shown under a closed lid, if a value that differs from trainee to trainee was filled in.
    pub unfilled: Option<String>,
    /// Where it stands in the file.
    pub place: Place,
}

/// The subject of a check.
#[derive(Debug, Clone, PartialEq)]
pub enum Test {
    /// A value at the end.
    State {
        /// Its path.
        what: String,
        /// The requirement on the value.
        rule: Rule,
        /// The deed without which the check does not count: what was right at hand-over is nobody's merit.
        needs: Option<String>,
    },
    /// These deeds in this order, with anything in between.
    Order(Vec<String>),
    /// Something that was done after hand-over.
    Did {
        /// The deed; if there are several, any one of them.
        did: Vec<String>,
        /// The deed counts only after the last of these.
        after: Option<String>,
        /// The deed counts only before the first of these, if there is one.
        before: Option<String>,
        /// Least number of times; 0 means that it must not be done.
        times: u8,
        /// Greatest number of times.
        most: Option<u8>,
    },
}

impl Test {
    /// The deeds that it names.
    pub fn deeds(&self) -> Vec<&String> {
        match self {
            Test::State { needs, .. } => needs.iter().collect(),
            Test::Order(all) => all.iter().collect(),
            Test::Did { did, after, before, .. } => did.iter().chain(after).chain(before).collect(),
        }
    }
}

/// How a row is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judge {
    /// The share of its checks that are met.
    Checks,
    /// The same, counting only deeds before the first repair: after it, the causes can no longer be told apart.
    Tests,
    /// Nothing is wrong with the car any more, according to truth.
    Repaired,
    /// Every learned value matches the fitted parts, according to truth.
    Learned,
    /// Evidence gathered after the last change, by any method.
    Proof,
    /// The right cause named before anything is repaired.
    Cause,
    /// Predictions made before their outcome.
    Predictions,
    /// No good part replaced.
    Parts,
    /// Minutes against the time of a practised technician.
    Minutes,
    /// Money against the allowed cost.
    Money,
    /// Cautions read before anything is touched.
    Cautions,
}

impl Judge {
    const ALL: &'static [(&'static str, Judge)] = &[
        ("checks", Judge::Checks),
        ("tests", Judge::Tests),
        ("repaired", Judge::Repaired),
        ("learned", Judge::Learned),
        ("proof", Judge::Proof),
        ("cause", Judge::Cause),
        ("predictions", Judge::Predictions),
        ("parts", Judge::Parts),
        ("minutes", Judge::Minutes),
        ("money", Judge::Money),
        ("cautions", Judge::Cautions),
    ];
}

/// A row of a rubric, or a change to one.
#[derive(Debug, Clone, PartialEq)]
pub struct RowPlan {
    /// Its id.
    pub id: String,
    /// The row in words; none leaves it unchanged.
    pub says: Option<String>,
    /// Its points; none leaves them unchanged. 0 leaves the row out.
    pub points: Option<f64>,
    /// Code of a task in a training programme of the user's own.
    pub task: Option<String>,
    /// The job is closed only when this row has full points.
    pub closes: Option<bool>,
    /// How it is judged; by its checks if nothing is given.
    pub judge: Option<Judge>,
    /// Deeds before which the cause must be named, with their places; with [`Judge::Cause`] only.
    pub stated_before: Vec<(String, Place)>,
    /// Its checks.
    pub checks: Vec<Check>,
    /// Where it stands in the file.
    pub place: Place,
}

/// Answers to a session without a window.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answers {
    /// The cautions were read.
    pub cautions: bool,
    /// The named causes, for when the session asks.
    pub causes: Vec<String>,
    /// Answers by question.
    pub answers: BTreeMap<String, Said>,
}

/// A named cause or an answer in a file, and where it stands there.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// The cause or the answer.
    pub note: Note,
    /// Where the cause or the question is named.
    pub place: Place,
    /// Where the answer itself stands.
    pub says_place: Place,
}

pub(super) fn read_plan(tab: &Tab<'_>) -> Checked<Plan> {
    tab.only(&["minutes", "money", "needed_parts", "stated_before", "hide", "cause", "ask", "check", "row"])?;
    let causes = tab.tables("cause", "[[lesson.cause]]", MOST)?;
    distinct(&causes, "[[lesson.cause]]")?;
    let causes = gather(causes.iter().map(|t| {
        t.only(&["id", "says", "right"])?;
        Ok(Cause {
            id: t.need("id")?.word(true)?,
            says: shown_before(&t.need("says")?, false)?,
            right: t.get("right").map_or(Ok(false), |i| i.flag())?,
        })
    }))?;
    if !causes.is_empty() && !causes.iter().any(|c| c.right) {
        return tab.fail(Mistake::NoRightCause);
    }
    let asks = tab.tables("ask", "[[lesson.ask]]", MOST)?;
    distinct(&asks, "[[lesson.ask]]")?;
    let asks = gather(asks.iter().map(read_ask))?;
    let checks = tab.tables("check", "[[lesson.check]]", MOST)?;
    let checks = gather(checks.iter().map(|t| read_check(t, None)))?;
    let rows = read_rows(tab, "[[lesson.row]]")?;
    let mut hides = Hides::default();
    for item in tab.get("hide").map_or(Ok(Vec::new()), |i| i.list())? {
        match item.choice(&[("gates", true), ("refusals", false)])? {
            true => hides.gates = true,
            false => hides.refusals = true,
        }
    }
    Ok(Plan {
        causes,
        stated_before: words(tab, "stated_before")?,
        minutes: tab.range("minutes", &units::PAR_MIN)?,
        money: tab.range("money", &units::PAR_MONEY)?,
        needed_parts: words(tab, "needed_parts")?,
        hides,
        asks,
        checks,
        rows,
    })
}

/// Refuses two tables with the same id, at the second.
fn distinct(tables: &[Tab<'_>], name: &str) -> Checked<()> {
    let mut seen = BTreeMap::new();
    for tab in tables {
        let id = tab.need("id")?;
        let line = tab.source.place(tab.at).line;
        if let Some(line) = seen.insert(id.word(true)?, line) {
            return id.fail(Mistake::TwiceSince {
                what: name.to_owned(),
                given: shown(&id.word(true)?),
                line,
            });
        }
    }
    Ok(())
}

/// Refuses choices of which two would be right for the same outcome, at the second.
fn choose_apart(tables: &[Tab<'_>], choices: &[Choice]) -> Checked<()> {
    for (k, (tab, choice)) in tables.iter().zip(choices).enumerate() {
        if let Some(other) = choices.iter().take(k).find(|other| overlap(&other.rule, &choice.rule)) {
            let (id, other) = (shown(&choice.id), shown(&other.id));
            return tab.fail(Mistake::ChoicesOverlap { id, other });
        }
    }
    Ok(())
}

/// Whether both rules hold for some value. Two ranges may touch: the first choice is right for the value that they share.
fn overlap(a: &Rule, b: &Rule) -> bool {
    match (a, b) {
        (Rule::Is(a), Rule::Is(b)) => a == b,
        (Rule::Between { min: low_a, max: high_a }, Rule::Between { min: low_b, max: high_b }) => {
            let low = |x: &Option<f64>| x.unwrap_or(f64::NEG_INFINITY);
            let high = |x: &Option<f64>| x.unwrap_or(f64::INFINITY);
            low(low_a).max(low(low_b)) < high(high_a).min(high(high_b))
        }
        _ => false,
    }
}

/// A list of deeds with their places; empty if the key is left out.
fn words(tab: &Tab<'_>, key: &str) -> Checked<Vec<(String, Place)>> {
    let Some(item) = tab.get(key) else { return Ok(Vec::new()) };
    item.list()?.iter().map(|i| Ok((deed(i)?, tab.source.place(i.inside(0))))).collect()
}

/// A deed: words joined by points.
fn deed(item: &Item<'_>) -> Checked<String> {
    let text = item.text()?;
    let good =
        |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    if text.len() <= 100 && text.split('.').all(good) {
        return Ok(text.to_owned());
    }
    item.fail(Mistake::Deed { given: shown(text) })
}

fn path(item: &Item<'_>) -> Checked<String> {
    let text = item.text()?;
    check_path_form(item, text)?;
    Ok(text.to_owned())
}

fn read_ask(tab: &Tab<'_>) -> Checked<Ask> {
    tab.only(&[
        "id",
        "before",
        "question",
        "kind",
        "unit",
        "within",
        "same_within",
        "choice",
        "what",
        "after_s",
        "act",
        "why",
    ])?;
    let own = tab.need("id")?;
    let id = own.word(true)?;
    if id == CAUSE {
        return own.fail(Mistake::Reserved { key: own.name(), given: shown(&id) });
    }
    let before = tab.get("before").map(|i| deed(&i)).transpose()?;
    let kind = tab.need("kind")?;
    let kind = match kind.choice(&[("number", 0), ("direction", 1), ("choice", 2)])? {
        0 => {
            tab.go_not_with(&["same_within", "choice"], "kind = \"number\"")?;
            let within = tab.need("within")?;
            AskKind::Number {
                unit: tab.get("unit").map_or(Ok(String::new()), |i| i.prose(false))?,
                within: positive(&within)?,
            }
        }
        1 => {
            tab.go_not_with(&["unit", "within", "choice"], "kind = \"direction\"")?;
            AskKind::Direction { same_within: positive(&tab.need("same_within")?)? }
        }
        _ => {
            tab.go_not_with(&["unit", "within", "same_within"], "kind = \"choice\"")?;
            let choices = tab.tables("choice", "[[lesson.ask.choice]]", 9)?;
            if choices.len() < 2 {
                return tab.fail(Mistake::TooFew { what: "[[lesson.ask.choice]]".to_owned(), least: 2 });
            }
            distinct(&choices, "[[lesson.ask.choice]]")?;
            let tables = choices;
            let choices = tables
                .iter()
                .map(|t| {
                    t.only(&["id", "says", "min", "max", "is"])?;
                    Ok(Choice {
                        id: t.need("id")?.word(true)?,
                        says: shown_before(&t.need("says")?, false)?,
                        rule: read_rule(t)?,
                    })
                })
                .collect::<Checked<Vec<_>>>()?;
            choose_apart(&tables, &choices)?;
            AskKind::Choice(choices)
        }
    };
    let what = tab.need("what")?;
    if what.text()?.split('.').next() == Some("truth") {
        return what.fail(Mistake::OutcomeIsTruth);
    }
    Ok(Ask {
        id,
        before,
        question: shown_before(&tab.need("question")?, true)?,
        kind,
        what: path(&what)?,
        after_s: tab.range("after_s", &units::TIME_S)?,
        then: {
            if tab.get("after_s").is_none() {
                tab.go_with(&["act"], &["after_s"])?;
            }
            read_acts(tab)?
        },
        why: tab.need("why")?.prose(true)?,
        place: tab.source.place(what.inside(0)),
    })
}

/// Text shown before the outcome: it must not contain a drawn value.
fn shown_before(item: &Item<'_>, lines: bool) -> Checked<String> {
    if item.raw().is_some() {
        return item.fail(Mistake::ToldBefore { key: item.name() });
    }
    item.prose(lines)
}

fn positive(item: &Item<'_>) -> Checked<f64> {
    let x = item.number()?;
    if x > 0.0 {
        return Ok(x);
    }
    item.fail(Mistake::NotPositive { key: item.name(), given: x })
}

fn read_check(tab: &Tab<'_>, row: Option<&str>) -> Checked<Check> {
    let mut keys =
        vec!["what", "min", "max", "is", "needs", "order", "did", "after", "before", "times", "most", "why"];
    if row.is_none() {
        keys.push("row");
    }
    tab.only(&keys)?;
    let row = match row {
        Some(row) => row.to_owned(),
        None => tab.need("row")?.word(true)?,
    };
    let looks = tab.one_of(&["what", "did", "order"])?;
    if looks.key != "what" {
        tab.go_with(&["min", "max", "is", "needs"], &["what"])?;
    }
    if looks.key != "did" {
        tab.go_with(&["after", "before", "times", "most"], &["did"])?;
    }
    let side = |key: &str| tab.get(key).map(|i| deed(&i)).transpose();
    let place = tab.source.place(looks.inside(0));
    let test = match looks.key {
        "what" => Test::State { what: path(&looks)?, rule: read_rule(tab)?, needs: side("needs")? },
        "order" => {
            let all = looks.list()?;
            if all.len() < 2 {
                return looks.fail(Mistake::TooFew { what: looks.name(), least: 2 });
            }
            Test::Order(all.iter().map(deed).collect::<Checked<_>>()?)
        }
        _ => {
            let did = match looks.text() {
                Ok(_) => vec![deed(&looks)?],
                Err(_) => looks.list()?.iter().map(deed).collect::<Checked<_>>()?,
            };
            let most = tab.get("most").map(|i| i.count(1, 99)).transpose()?;
            let least = if most.is_some() { 0 } else { 1 };
            let times = tab.get("times").map_or(Ok(least), |i| i.count(0, 99))?;
            if did.is_empty() || most.is_some_and(|m| m < times) {
                return looks.fail(Mistake::NeverMet);
            }
            Test::Did { did, after: side("after")?, before: side("before")?, times, most }
        }
    };
    let because = tab.need("why")?;
    let why = because.prose(true)?;
    let unfilled = tab.drawn().then(|| because.raw().unwrap_or(&why).to_owned());
    Ok(Check { row, test, why, unfilled, place })
}

fn read_rows(tab: &Tab<'_>, name: &'static str) -> Checked<Vec<RowPlan>> {
    let rows = tab.tables("row", name, MOST)?;
    distinct(&rows, name)?;
    gather(rows.iter().map(read_row))
}

fn read_row(tab: &Tab<'_>) -> Checked<RowPlan> {
    tab.only(&["id", "says", "points", "task", "closes", "judge", "stated_before", "check"])?;
    let id = tab.need("id")?.word(true)?;
    let checks = tab.tables("check", "[[row.check]]", MOST)?;
    let checks = gather(checks.iter().map(|t| read_check(t, Some(&id))))?;
    Ok(RowPlan {
        says: tab.get("says").map(|i| i.prose(false)).transpose()?,
        points: tab.range("points", &units::POINTS)?,
        task: tab.get("task").map(|i| i.prose(false)).transpose()?,
        closes: tab.get("closes").map(|i| i.flag()).transpose()?,
        judge: tab.get("judge").map(|i| i.choice(Judge::ALL)).transpose()?,
        stated_before: words(tab, "stated_before")?,
        checks,
        place: tab.source.place(tab.at),
        id,
    })
}

/// Reads a rubric: rows that reweight, change or add to the rows before them.
pub fn parse_rubric(text: &str, file: &str) -> Result<Vec<RowPlan>, ScenarioError> {
    let source = Source::new(text, file)?;
    let tree = source.tree()?;
    let top = Tab::top(&source, &tree);
    check_schema(&top)?;
    top.only(&["schema", "row"])?;
    read_rows(&top, "[[row]]")
}

/// Reads somebody's answers.
pub fn parse_answers(text: &str, file: &str) -> Result<(Answers, Vec<Told>), ScenarioError> {
    let source = Source::new(text, file)?;
    let tree = source.tree()?;
    let top = Tab::top(&source, &tree);
    check_schema(&top)?;
    top.only(&["schema", "cautions", "cause", "answer"])?;
    let cautions = top.get("cautions").map_or(Ok(false), |i| i.choice(&[("read", true)]))?;
    let named = match top.get("cause") {
        None => Vec::new(),
        Some(item) if item.text().is_ok() => vec![item],
        Some(item) => item.list()?,
    };
    let place = |item: &Item<'_>| source.place(item.at);
    let mut told = gather(named.iter().map(|item| {
        Ok(Told { note: Note::Cause(item.word(true)?), place: place(item), says_place: place(item) })
    }))?;
    let causes = named.iter().filter_map(|item| item.text().ok()).map(str::to_owned).collect();
    let mut answers = BTreeMap::new();
    let tables = top.tables("answer", "[[answer]]", MOST)?;
    told.extend(gather(tables.iter().map(|tab| {
        tab.only(&["ask", "answer"])?;
        let (ask, answer) = (tab.need("ask")?, tab.need("answer")?);
        let (id, says) = (ask.word(true)?, read_said(&answer)?);
        if answers.insert(id.clone(), says.clone()).is_some() {
            return ask.fail(Mistake::Twice { what: "[[answer]]".to_owned(), given: shown(ask.text()?) });
        }
        let note = Note::Answer { ask: id, says };
        Ok(Told { note, place: place(&ask), says_place: place(&answer) })
    }))?);
    Ok((Answers { cautions, causes, answers }, told))
}

impl Plan {
    /// Paths of the values that questions and checks judge.
    pub(super) fn judges(&self) -> impl Iterator<Item = &str> {
        let checks = self.checks.iter().filter_map(|c| match &c.test {
            Test::State { what, .. } => Some(what.as_str()),
            _ => None,
        });
        self.asks.iter().map(|a| a.what.as_str()).chain(checks)
    }
    /// Checks every path of the plan.
    pub(super) fn check_paths(
        &self,
        file: &str,
        sample: &Value,
        codes: &[&str],
    ) -> Result<(), ScenarioError> {
        let mut rules: Vec<(Place, &str, Option<&Rule>)> = Vec::new();
        for a in &self.asks {
            match &a.kind {
                AskKind::Choice(all) => {
                    rules.extend(all.iter().map(|c| (a.place, a.what.as_str(), Some(&c.rule))));
                }
                _ => rules.push((a.place, a.what.as_str(), None)),
            }
        }
        rules.extend(self.checks.iter().filter_map(Check::compares));
        rules.extend(self.rows.iter().flat_map(RowPlan::compares));
        paths::check_rules(&rules, file, sample, codes)
    }
}

impl Check {
    /// The path that it compares, with its rule; none if it looks at deeds.
    fn compares(&self) -> Option<(Place, &str, Option<&Rule>)> {
        match &self.test {
            Test::State { what, rule, .. } => Some((self.place, what, Some(rule))),
            Test::Did { .. } | Test::Order(_) => None,
        }
    }
}

impl RowPlan {
    fn compares(&self) -> impl Iterator<Item = (Place, &str, Option<&Rule>)> {
        self.checks.iter().filter_map(Check::compares)
    }
    /// Checks every path of its checks, and that none leads to truth where truth must stay hidden: whether a check is
    /// met would answer any question about a value.
    pub fn check_paths(
        &self,
        file: &str,
        sample: &Value,
        codes: &[&str],
        sees_truth: bool,
    ) -> Result<(), ScenarioError> {
        let rules: Vec<_> = self.compares().collect();
        paths::check_rules(&rules, file, sample, codes)?;
        match rules.iter().find(|(_, what, _)| !sees_truth && paths::is_truth(what)) {
            Some((place, ..)) => Err(ScenarioError::at(file, *place, Mistake::TruthInRubric, None)),
            None => Ok(()),
        }
    }
}
