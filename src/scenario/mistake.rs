//! Mistakes in a file that a person writes: a scenario, actions, a rubric, answers, a ticket.
//!
//! *Outside*: the place in the file ([`super::ScenarioError`]), sentences (`assets/words/en/files.ftl`, through
//! `words/facts/files.rs`).

use crate::bench::car::NoCar;
use serde::Serialize;

/// A rule that a file breaks, with the values for the sentence about it. `key` and `table` are words of the file's
/// format (an empty table is the file itself); `given` is the file's value, in quotes if it is text; `one_of` and
/// `keys` are the values allowed instead.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "the message of the same name in files.ftl says what each variant means")]
pub enum Mistake {
    // the file as a whole
    TooLarge { most: usize, given: usize },
    NotUtf8,
    NotToml { says: String },
    Schema { schema: u64 },

    // tables and keys
    MissingTable { table: String },
    MissingKey { table: String, key: String },
    MissingChoice { table: String, key: String, one_of: Vec<String> },
    UnknownKey { table: String, key: String },
    UnknownKeyOf { table: String, key: String, keys: Vec<String> },
    GoesWith { key: String, one_of: Vec<String> },
    GoesNotWith { key: String, with: String },
    NotBoth { table: String, first: String, second: String },
    NeedsOneOf { table: String, one_of: Vec<String> },
    WrittenAsList { key: String, table: String },
    WrittenAsTable { key: String, table: String },
    TooMany { what: String, most: usize, given: usize },
    TooFew { what: String, least: usize },
    Twice { what: String, given: String },
    TwiceSince { what: String, given: String, line: usize },

    // values
    WrongType { key: String, wanted: Type, given: Type },
    Empty { key: String },
    ControlCharacters { key: String },
    LineBreaks { key: String },
    NotAWord { key: String, most: usize, underscore: bool, given: String },
    NotOneOf { key: String, one_of: Vec<String>, given: String },
    NotFinite { key: String },
    NotPositive { key: String, given: f64 },
    OutOfRange { key: String, low: f64, high: f64, unit: String, given: f64 },
    NotWhole { key: String, low: f64, high: f64, given: f64 },
    Seed { key: String, most: String },
    TooLong { key: String, most: usize },

    // the start
    CarName { given: String },
    CarFile { given: String },
    NoCar(NoCar),
    NoProfile { given: String, keys: Vec<String> },
    ActionsStart { given: String },
    ConditioningTooLong { most: f64, given: f64 },
    PartTwice { line: usize },

    // conditions, expectations and their paths
    Condition,
    Comparison,
    Path { given: String },
    NotANumber { given: String },
    Compared { given: String },
    RanksNumbers { sign: String, given: String },
    ExpectAt,
    LimitsOrIs { key: String },
    MinAboveMax { min: f64, max: f64 },
    NoPath { given: String },
    PathToGroup { given: String },
    PathType { given: String, is: Type, wanted: Type },

    // acts
    TimeFalls { earliest: f64, given: f64 },
    SwapTwo,
    SwapSame { cylinder: u8 },
    DayTooLong { most: f64 },
    ActReaches { act: String, place: &'static str, number: u8, has: usize },
    Names { what: String, place: &'static str, number: u8, has: usize },
    NotOnCar { table: String, given: String },

    // lessons, rubrics and answers
    NoRightCause,
    Deed { given: String },
    NoDeed { deed: String },
    OutcomeIsTruth,
    ToldBefore { key: String },
    NeverMet,
    Reserved { key: String, given: String },
    ChoicesOverlap { id: String, other: String },
    NewRow { keys: Vec<String> },
    TruthInRubric,
    NoRow { row: String, keys: Vec<String> },
    NoCauses,
    NoCause { cause: String, keys: Vec<String> },
    NoQuestions,
    NoQuestion { ask: String, keys: Vec<String> },
    Answer { ask: String, wanted: Type },
    AnswerOneOf { ask: String, one_of: Vec<String> },

    // values that differ from trainee to trainee
    MapOf { given: String },
    MapOfNoChoice { given: String },
    MapHas { given: String, name: String, keys: Vec<String> },
    MapLacks { name: String, value: String },
    NameUnused { name: String },
    NameNotClosed,
    NoName { given: String },
    DefaultNotChosen { given: String },
    Decimals { given: f64, decimals: usize },
    Uniform { given: usize },
    UniformOrder { low: f64, high: f64 },
    MeanOutside { low: f64, high: f64, mean: f64 },
    Narrow { low: f64, high: f64, sd: f64 },
    TraineeLength { most: usize, given: usize },
    TraineeControlCharacters,
    TraineeSpaces,

    // tickets
    NoTicket { says: String },
    TicketForm { given: u64, reads: u64 },
    TicketOfOther { scenario: String },
    ShortKey { least: usize, given: usize },
}

impl Mistake {
    /// A lesson has no such cause or question.
    pub(crate) fn no_own(id: &str, keys: &[String], is_cause: bool) -> Self {
        match (is_cause, keys.is_empty()) {
            (true, true) => Self::NoCauses,
            (true, false) => Self::NoCause { cause: id.into(), keys: keys.to_vec() },
            (false, true) => Self::NoQuestions,
            (false, false) => Self::NoQuestion { ask: id.into(), keys: keys.to_vec() },
        }
    }
}

/// The type of a value in a file, or the type required there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "the message of the same name in files.ftl says what each variant means")]
pub enum Type {
    Text,
    Word,
    Number,
    Whole,
    Flag,
    Date,
    List,
    Table,
    Direction,
    NumberOrText,
    NumberFlagOrText,
}
