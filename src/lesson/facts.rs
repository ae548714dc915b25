//! Findings for a row of a rubric, and answers and outcomes of questions, as facts with their values.
//!
//! *Outside*: sentences (`words/facts/lesson.rs`), how they are found ([`crate::lesson`]).

use crate::bench::not_whole::NotWhole;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A finding for a row of a rubric.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// A check, in its author's words.
    Check(String),
    /// A check on truth, under a closed lid.
    CheckOnTruth,
    /// The row counts only if the job is closed, and this job is still open.
    JobOpen,
    /// The car has no fault any more.
    Whole,
    /// Every learned value matches the fitted parts.
    LearnedRight,
    /// The car still has a fault; under an open lid only.
    NotWhole(NotWhole),
    /// The car still has a fault, under a closed lid.
    NotWholeKept,
    /// A learned value still does not match the fitted parts, under a closed lid.
    LearnedWrongKept,
    /// A fault that was present at hand-over still is, so that no repair can be proven.
    NotMended,
    /// The engine was started again after the last change.
    ProofStarted,
    /// The engine was not started again after the last change.
    ProofNotStarted,
    /// Trouble codes were read after that start.
    ProofCodesRead,
    /// Trouble codes were not read after that start.
    ProofCodesNotRead,
    /// No trouble code is pending and the lamp is off.
    NoCodeLeft,
    /// A trouble code is pending, or lights the lamp.
    CodeLeft {
        /// Its number.
        code: String,
    },
    /// Too many wrong causes were named before anything was repaired.
    CausesTooMany {
        /// Number of wrong causes.
        wrong: usize,
    },
    /// The cause was named before anything was repaired.
    CauseNamed,
    /// The cause was named after something had been repaired.
    CauseNamedLate,
    /// A wrong cause was named.
    CauseWrong,
    /// No cause was named.
    CauseNotNamed,
    /// The actual fault, in the author's words; under an open lid only.
    CauseWas(Vec<String>),
    /// Questions that were answered before their outcome was known.
    Predicted {
        /// Number answered.
        said: usize,
        /// Number asked.
        of: usize,
    },
    /// Good parts that were replaced, by the names of their deeds.
    GoodParts(Vec<String>),
    /// Minutes on the job card.
    Minutes {
        /// Spent \[min\].
        spent: f64,
        /// Maximum that a practised technician needs \[min\].
        par: f64,
    },
    /// Money on the job card.
    Money {
        /// Spent.
        spent: f64,
        /// Maximum that a practised technician needs.
        par: f64,
        /// Unit of money.
        currency: String,
    },
    /// The cautions were read before anything was touched.
    CautionsRead,
    /// The cautions were read after something had been touched.
    CautionsLate,
    /// The cautions were not read.
    CautionsNotRead,
}

/// A trainee's answer to a question, or its outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// A number.
    Number {
        /// The number.
        x: f64,
        /// Its unit, in the author's words.
        unit: String,
    },
    /// The direction in which a value changes.
    Way {
        /// `up`, `down` or `same`.
        way: String,
        /// For an outcome: the value before and after.
        values: Option<(f64, f64)>,
    },
    /// One of the answers to choose from.
    Choice {
        /// Its id.
        id: String,
        /// Text of the choice, in the author's words.
        says: String,
        /// For an outcome: the value that makes this choice right.
        value: Option<Value>,
    },
    /// The value matches none of the choices.
    NoChoice(Value),
    /// There is no value to evaluate.
    NoValue,
}
