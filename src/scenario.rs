//! Scenario files and action files: TOML text in, something that cannot be wrong out.
//!
//! *Inside*: the format (schema 1), its checks, the conditions and expectations a file may state, and
//! the paths by which they point into an observation. A file is read twice: first into TOML's own tree
//! with the place of every word, then into [`Scenario`] or [`ActionFile`], which hold checked values
//! only. Whatever is wrong comes back as one [`ScenarioError`] with file, line, column and the rule.
//! *Outside*: opening files (text and bytes are arguments), what a car's file says (the caller gives
//! its text, the bench checks it), running acts, and grading beyond one expectation.
//!
//! Which error comes first: TOML's own; then the schema; then those of variants; then the earliest in the
//! file. Within one table an unknown key comes before a missing one, because it is mostly the same mistake.

mod acts;
mod measure;
mod mistake;
mod over;
mod parts;
mod paths;
mod plan;
mod reach;
mod read;
mod source;
pub mod surprise;
mod vary;

pub use crate::scenario::mistake::{Mistake, Type};
pub use crate::scenario::over::Over;
pub use crate::scenario::paths::{lookup, paths};
pub use crate::scenario::plan::{
    Answers, Ask, AskKind, Cause, Check, Choice, Hides, Judge, Plan, RowPlan, Test, parse_answers,
    parse_rubric,
};
pub(crate) use crate::scenario::source::is_word;
pub use crate::scenario::source::nearest;
pub use crate::scenario::vary::{Filled, MAX_VARY, Vary, Who};

use crate::bench::action::Action;
use crate::bench::car::NoCar;
use crate::bench::setup::Setup;
use crate::catalogue::cautions::Caution;
pub(crate) use crate::scenario::acts::MOST_A_DAY_MIN;
use crate::scenario::acts::read_acts;
use crate::scenario::paths::find;
use crate::scenario::read::{check_schema, no_error, read_about, read_expects, read_run_only, read_setup};
use crate::scenario::source::{Source, Tab, utf8};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fmt;

/// The only schema there is.
pub const SCHEMA: u64 = 1;
/// Largest file that is read \[bytes\].
pub const MAX_BYTES: usize = 1024 * 1024;
/// Most acts in one file.
pub const MAX_ACTS: usize = 2000;
/// Most expectations in one file.
pub const MAX_EXPECTS: usize = 2000;
/// Most stretches of conditioning.
pub const MAX_STRETCHES: usize = 50;
/// Longest conditioning, all stretches together \[min\].
pub const MAX_CONDITIONING_MIN: f64 = 6000.0;
/// Highest cylinder number a file may name.
pub const MAX_CYLINDER: u8 = 8;
/// Most banks that any car may have.
pub const MAX_BANK: u8 = 2;

/// What is wrong with a file: its first mistake, with the others that were found.
#[derive(Debug, Clone, PartialEq)]
pub struct ScenarioError {
    /// The file, as the caller named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The rule that was broken.
    pub mistake: Box<Mistake>,
    /// The nearest valid word, if one is near.
    pub help: Option<String>,
    /// Mistakes further down, in the order of their places: one of each table at most.
    pub more: Vec<ScenarioError>,
}

impl ScenarioError {
    /// A mistake at a place.
    pub fn at(file: &str, place: Place, mistake: Mistake, help: Option<String>) -> Self {
        Self {
            file: file.to_owned(),
            line: place.line,
            column: place.column,
            mistake: Box::new(mistake),
            help,
            more: Vec::new(),
        }
    }
    /// Several as one, in the order of their places; none of none.
    pub(crate) fn all(errors: impl IntoIterator<Item = Self>) -> Option<Self> {
        let mut all: Vec<Self> = Vec::new();
        for mut e in errors {
            let more = std::mem::take(&mut e.more);
            all.extend([e].into_iter().chain(more));
        }
        all.sort_by_key(|e| (e.line, e.column));
        all.dedup();
        let mut all = all.into_iter();
        let first = all.next()?;
        Some(Self { more: all.collect(), ..first })
    }
}

/// What was read of several places, or all that is wrong there.
pub(crate) fn gather<T>(
    read: impl IntoIterator<Item = Result<T, ScenarioError>>,
) -> Result<Vec<T>, ScenarioError> {
    let (mut good, mut wrong) = (Vec::new(), Vec::new());
    for one in read {
        match one {
            Ok(one) => good.push(one),
            Err(why) => wrong.push(why),
        }
    }
    ScenarioError::all(wrong).map_or(Ok(good), Err)
}

/// For who works on the program: a person reads the sentence that the words room makes of the mistake.
impl fmt::Display for ScenarioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ScenarioError { file, line, column, mistake, help, more } = self;
        write!(f, "{file}:{line}:{column}: {mistake:?}, {help:?}")?;
        more.iter().try_for_each(|e| write!(f, "; {e}"))
    }
}

impl std::error::Error for ScenarioError {}

/// A place in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// Whether truth may be seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lid {
    /// Closed; may be opened, which is logged.
    #[default]
    Closed,
    /// Open from the start.
    Open,
    /// Closed, and may not be opened.
    Locked,
}

/// What a file says about itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct About {
    /// Letters, digits and `-`.
    pub id: String,
    /// One line.
    pub title: String,
    /// From 1 to 3; 0 in an action file that does not say.
    pub level: u8,
    /// What the customer says; empty in an action file that does not say.
    pub complaint: String,
    /// What it teaches; empty in an action file that does not say.
    pub teaches: String,
    /// Whether truth may be seen.
    pub lid: Lid,
    /// Cautions of this job, shown before those that are always shown.
    pub cautions: Vec<OwnCaution>,
}

impl About {
    /// The keys of cautions that these acts have and that are not named, each once, in the catalogue's order.
    pub fn lacks(&self, acts: &[Act]) -> Vec<&'static str> {
        let named = |c: &Caution| self.cautions.contains(&OwnCaution::Key(*c));
        let lacking: BTreeSet<Caution> =
            acts.iter().flat_map(|a| a.hand.cautions()).copied().filter(|c| !named(c)).collect();
        lacking.into_iter().map(Caution::id).collect()
    }
}

/// A caution of a scenario.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum OwnCaution {
    /// One of the catalogue.
    Key(Caution),
    /// What no key says, in the author's words.
    Words(String),
}

/// Where the parts and sensors of the start stand in the file, in its order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SetupPlaces {
    /// `[[setup.part]]`.
    pub parts: Vec<Place>,
    /// `[[setup.sensor]]`.
    pub sensors: Vec<Place>,
}

/// A checked scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// What it says about itself.
    pub about: About,
    /// Start of the bench.
    pub setup: Setup,
    /// Where its parts and sensors stand in the file.
    pub places: SetupPlaces,
    /// Length of the run \[s\], where the file says one.
    pub run_s: Option<f64>,
    /// What is done, in the file's order.
    pub acts: Vec<Act>,
    /// What is expected, in the file's order.
    pub expects: Vec<Expect>,
    /// What makes it a lesson, where the file says so.
    pub plan: Option<Plan>,
    /// The names that were filled in, and for whom.
    pub vary: Vary,
}

/// A checked action file: a trainee's hands, a solution or a trap. Its times count from hand-over.
#[derive(Debug, Clone, PartialEq)]
pub struct ActionFile {
    /// What it says about itself.
    pub about: About,
    /// Length of the run \[s\], where the file says one.
    pub run_s: Option<f64>,
    /// What is done, in the file's order.
    pub acts: Vec<Act>,
    /// What is expected, in the file's order.
    pub expects: Vec<Expect>,
    /// The first string with a name of the scenario's variants in it, as it was written.
    pub names: Option<(Place, String)>,
}

/// One thing to do, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    /// Name, unique in its file.
    pub id: String,
    /// When.
    pub timing: Timing,
    /// What.
    pub hand: Action,
    /// How long time is let pass \[s\]; 0 unless the hand is [`Action::Wait`] or [`Action::Drive`].
    pub wait_s: f64,
    /// Where the act stands in the file.
    pub place: Place,
    /// Where its hand stands.
    pub hand_place: Place,
    /// Where the answer to a question stands; of any other hand the hand itself.
    pub says_place: Place,
    /// It holds a value that differs from trainee to trainee: under a closed lid not to be told.
    pub drawn: bool,
}

impl Act {
    /// An act that stands in no file.
    pub(crate) fn of_no_file(id: String, timing: Timing, hand: Action, wait_s: f64) -> Self {
        let place = Place { line: 0, column: 0 };
        Self { id, timing, hand, wait_s, place, hand_place: place, says_place: place, drawn: false }
    }
}

/// When an act happens.
#[derive(Debug, Clone, PartialEq)]
pub enum Timing {
    /// At this time \[s\].
    At(f64),
    /// So long after the act before it \[s\].
    After(f64),
    /// As soon as a condition holds.
    When {
        /// The condition.
        condition: Condition,
        /// Given up after so long \[s\].
        timeout_s: f64,
    },
}

/// How a condition compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Op {
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `==`
    Equal,
    /// `!=`
    Unequal,
}

impl Op {
    /// Every comparison with its sign, longer signs first.
    pub const ALL: &'static [(&'static str, Op)] = &[
        ("<=", Op::AtMost),
        (">=", Op::AtLeast),
        ("==", Op::Equal),
        ("!=", Op::Unequal),
        ("<", Op::Less),
        (">", Op::More),
    ];
    /// The sign in files.
    pub fn sign(self) -> &'static str {
        Self::ALL.iter().find(|(_, op)| *op == self).map_or("==", |(sign, _)| sign)
    }
    /// Whether it ranks, and so compares numbers only.
    fn ranks(self) -> bool {
        !matches!(self, Op::Equal | Op::Unequal)
    }
}

/// `<path> <op> <value>`.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// Path of the value watched.
    pub path: String,
    /// How it is compared.
    pub op: Op,
    /// With what: a number, true or false, or a word.
    pub value: Value,
    /// Where the condition stands in the file.
    pub place: Place,
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} ", self.path, self.op.sign())?;
        match &self.value {
            Value::String(word) => f.write_str(word),
            other => write!(f, "{other}"),
        }
    }
}

impl Condition {
    /// Whether the condition holds. What is missing or null makes none hold, `!=` included.
    pub fn holds(&self, root: &Value) -> bool {
        let Some(measured) = find(root, &self.path) else { return false };
        if measured.is_null() {
            return false;
        }
        match self.op {
            Op::Equal => same(&measured, &self.value),
            Op::Unequal => !same(&measured, &self.value),
            _ => match (measured.as_f64(), self.value.as_f64()) {
                (Some(a), Some(b)) => match self.op {
                    Op::Less => a < b && !near(a, b),
                    Op::AtMost => a < b || near(a, b),
                    Op::More => a > b && !near(a, b),
                    _ => a > b || near(a, b),
                },
                _ => false,
            },
        }
    }
}

/// When an expectation is judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum At {
    /// At this time \[s\].
    Time(f64),
    /// At the end of the run.
    End,
}

/// What is expected of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Rule {
    /// A number inside limits, ends included; at least one is given.
    Between {
        /// Lower limit.
        min: Option<f64>,
        /// Upper limit.
        max: Option<f64>,
    },
    /// Exactly this: true or false, a number, or text.
    Is(Value),
}

/// One expectation.
#[derive(Debug, Clone, PartialEq)]
pub struct Expect {
    /// When it is judged.
    pub at: At,
    /// Path of the value.
    pub what: String,
    /// What is expected.
    pub rule: Rule,
    /// Why, in the author's words.
    pub why: String,
    /// Where the path stands in the file.
    pub place: Place,
    /// What is told under a closed lid, if a value that differs from trainee to trainee was filled in.
    pub unfilled: Option<Unfilled>,
}

/// An expectation's words before names were filled in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfilled {
    /// The path.
    pub what: String,
    /// Why.
    pub why: String,
}

impl Rule {
    /// Whether a value is what the rule wants; what is missing or null is not.
    pub fn meets(&self, measured: &Value) -> bool {
        match self {
            Rule::Is(wanted) => same(measured, wanted),
            Rule::Between { min, max } => measured.as_f64().is_some_and(|x| {
                min.is_none_or(|low| x > low || near(x, low))
                    && max.is_none_or(|high| x < high || near(x, high))
            }),
        }
    }
}

impl Expect {
    /// Whether it is met, and the value found: null where the path leads nowhere.
    pub fn judge(&self, root: &Value) -> (bool, Value) {
        let Some(measured) = lookup(root, &self.what) else { return (false, Value::Null) };
        let met = self.rule.meets(&measured);
        (met, measured)
    }
}

/// Equal within a relative 1e-9.
fn near(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

fn same(a: &Value, b: &Value) -> bool {
    match (a.as_f64(), b.as_f64()) {
        (Some(a), Some(b)) => near(a, b),
        _ => a == b,
    }
}

/// Reads a scenario from a file's bytes; anything but UTF-8 is refused.
pub fn parse_scenario_bytes(
    bytes: &[u8],
    file: &str,
    car_text: &mut dyn FnMut(&str) -> Result<String, NoCar>,
) -> Result<Scenario, ScenarioError> {
    parse_scenario(utf8(bytes, file)?, file, car_text)
}

/// Reads an action file from its bytes; anything but UTF-8 is refused.
pub fn parse_actions_bytes(bytes: &[u8], file: &str) -> Result<ActionFile, ScenarioError> {
    parse_actions(utf8(bytes, file)?, file)
}

/// Reads a scenario as it stands. `car_text` gives the text of the car's file for the word after `car`, or why it
/// cannot. Paths are checked later, by [`Scenario::check_paths`].
pub fn parse_scenario(
    text: &str,
    file: &str,
    car_text: &mut dyn FnMut(&str) -> Result<String, NoCar>,
) -> Result<Scenario, ScenarioError> {
    parse_scenario_for(text.as_bytes(), file, car_text, None)
}

/// Reads the variant of a scenario that somebody gets; the scenario as it stands for nobody.
pub fn parse_scenario_for(
    bytes: &[u8],
    file: &str,
    car_text: &mut dyn FnMut(&str) -> Result<String, NoCar>,
    who: Option<&Who>,
) -> Result<Scenario, ScenarioError> {
    parse_scenario_over(bytes, file, car_text, who, &[])
}

/// The same with some of its numbers replaced. A path that leads nowhere has no place in the file: line and column
/// are 1.
pub fn parse_scenario_over(
    bytes: &[u8],
    file: &str,
    car_text: &mut dyn FnMut(&str) -> Result<String, NoCar>,
    who: Option<&Who>,
    over: &[Over],
) -> Result<Scenario, ScenarioError> {
    let mut source = Source::new(utf8(bytes, file)?, file)?;
    let vary = {
        let tree = source.tree()?;
        let top = Tab::top(&source, &tree);
        check_schema(&top)?;
        Vary::read(&top, who)?
    };
    let mut tree = source.tree()?;
    let mut raws = vary.fill(&mut tree, &source, true)?;
    for one in over {
        over::put(&mut tree, one, &mut raws).map_err(|(mistake, help)| {
            ScenarioError::at(file, Place { line: 1, column: 1 }, *mistake, help)
        })?;
    }
    source.raws = raws;
    let top = Tab::top(&source, &tree);
    let unknown = top.only(&["schema", "about", "setup", "vary", "act", "expect", "lesson"]);
    let about = top.get("about").map(|item| read_about(&item.table("[about]")?, true));
    let setup = top.get("setup").map(|item| read_setup(&item.table("[setup]")?, car_text));
    let acts = read_acts(&top);
    let expects = read_expects(&top);
    let plan = top.get("lesson").map(|item| plan::read_plan(&item.table("[lesson]")?)).transpose();
    no_error(
        &unknown,
        &[
            about.as_ref().and_then(|r| r.as_ref().err()),
            setup.as_ref().and_then(|r| r.as_ref().err()),
            acts.as_ref().err(),
            expects.as_ref().err(),
            plan.as_ref().err(),
        ],
    )?;
    let about = about.ok_or_else(|| source.missing("[about]"))??;
    let (mut setup, run_s, places) = setup.ok_or_else(|| source.missing("[setup]"))??;
    setup.seed = vary.seed().unwrap_or(setup.seed);
    let (acts, expects, plan) = (acts?, expects?, plan?);
    Ok(Scenario { about, setup, places, run_s, acts, expects, vary: vary.clone(), plan })
}

/// Reads an action file for a scenario without variants. Paths are checked later, by
/// [`ActionFile::check_paths`].
pub fn parse_actions(text: &str, file: &str) -> Result<ActionFile, ScenarioError> {
    parse_actions_for(text.as_bytes(), file, &Vary::default())
}

/// Reads an action file with the names of its scenario's variant filled in.
pub fn parse_actions_for(bytes: &[u8], file: &str, vary: &Vary) -> Result<ActionFile, ScenarioError> {
    let mut source = Source::new(utf8(bytes, file)?, file)?;
    let mut tree = source.tree()?;
    check_schema(&Tab::top(&source, &tree))?;
    source.raws = vary.fill(&mut tree, &source, false)?;
    let top = Tab::top(&source, &tree);
    let unknown = top.only(&["schema", "about", "setup", "act", "expect"]);
    let about = top.get("about").map(|item| read_about(&item.table("[about]")?, false));
    let run_s = read_run_only(&top);
    let acts = read_acts(&top);
    let expects = read_expects(&top);
    no_error(
        &unknown,
        &[
            about.as_ref().and_then(|r| r.as_ref().err()),
            run_s.as_ref().err(),
            acts.as_ref().err(),
            expects.as_ref().err(),
        ],
    )?;
    let about = about.ok_or_else(|| source.missing("[about]"))??;
    let names = source.raws.first_key_value().map(|(at, raw)| (source.place(*at), raw.clone()));
    Ok(ActionFile { about, run_s: run_s?, acts: acts?, expects: expects?, names })
}

impl Scenario {
    /// Checks every path against a filled sample of what the bench tells, and against the codes that
    /// the module knows; and every cylinder and bank against those that the sample's car has.
    pub fn check_paths(&self, file: &str, sample: &Value, codes: &[&str]) -> Result<(), ScenarioError> {
        paths::check_paths(&self.acts, &self.expects, file, sample, codes)?;
        if let Some(plan) = &self.plan {
            plan.check_paths(file, sample, codes)?;
        }
        reach::check_scenario(self, file, sample)
    }
    /// Paths of the values that are judged: by expectations, by questions and by checks.
    pub fn judges(&self) -> Vec<&str> {
        let lesson = self.plan.iter().flat_map(Plan::judges);
        self.expects.iter().map(|e| e.what.as_str()).chain(lesson).collect()
    }
}

impl ActionFile {
    /// Checks every path against a filled sample of what the bench tells, and against the codes that
    /// the module knows; and every cylinder and bank against those that the sample's car has.
    pub fn check_paths(&self, file: &str, sample: &Value, codes: &[&str]) -> Result<(), ScenarioError> {
        paths::check_paths(&self.acts, &self.expects, file, sample, codes)?;
        reach::check_acts(&self.acts, &self.expects, file, sample)
    }
}
