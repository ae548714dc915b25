//! What was found for a row of a rubric, and what was said and seen of a question's outcome, as facts with their values.
//!
//! *Outside*: sentences (`words/facts/lesson.rs`), finding any of it ([`crate::lesson`]).

use crate::bench::whole::NotWhole;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// What was found for a row of a rubric.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// A check, in its author's words.
    Check(String),
    /// A check on truth, under a closed lid.
    CheckOnTruth,
    /// The row counts for a closed job only, and this one is open.
    JobOpen,
    /// Nothing is wrong with the car any more.
    Whole,
    /// Every learned value is what the fitted parts need.
    LearnedRight,
    /// Something is still wrong; under an open lid only.
    NotWhole(NotWhole),
    /// Something is still wrong, under a closed lid.
    NotWholeKept,
    /// Something that was wrong at hand-over still is, so that no repair can be proven.
    NotMended,
    /// The engine was started again after the last change.
    ProofStarted,
    /// It was not.
    ProofNotStarted,
    /// Trouble codes were read after that start.
    ProofCodesRead,
    /// They were not.
    ProofCodesNotRead,
    /// No trouble code is pending and the lamp is off.
    NoCodeLeft,
    /// A trouble code is pending, or lights the lamp.
    CodeLeft {
        /// Its number.
        code: String,
    },
    /// So many causes were named that are none, before anything was repaired.
    CausesTooMany {
        /// How many.
        wrong: usize,
    },
    /// The cause was named before anything was repaired.
    CauseNamed,
    /// The cause was named after something had been repaired.
    CauseNamedLate,
    /// Something else was named as the cause.
    CauseWrong,
    /// No cause was named.
    CauseNotNamed,
    /// What was wrong, in the author's words; under an open lid only.
    CauseWas(Vec<String>),
    /// Questions that were answered before their outcome.
    Predicted {
        /// Answered.
        said: usize,
        /// Asked.
        of: usize,
    },
    /// Good parts that were replaced, by their deeds.
    GoodParts(Vec<String>),
    /// Minutes on the job card.
    Minutes {
        /// Spent \[min\].
        spent: f64,
        /// What a practised hand needs at most \[min\].
        par: f64,
    },
    /// Money on the job card.
    Money {
        /// Spent.
        spent: f64,
        /// What a practised hand needs at most.
        par: f64,
        /// Its unit.
        currency: String,
    },
    /// The cautions were read before anything was touched.
    CautionsRead,
    /// The cautions were read after something had been touched.
    CautionsLate,
    /// The cautions were not read.
    CautionsNotRead,
}

/// What was said of a question's outcome, or what came.
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
    /// A way that the value goes.
    Way {
        /// `up`, `down` or `same`.
        way: String,
        /// From one value to another, of what came.
        values: Option<(f64, f64)>,
    },
    /// One of the answers to choose from.
    Choice {
        /// Its id.
        id: String,
        /// In the author's words.
        says: String,
        /// The value that makes it come true, of what came.
        value: Option<Value>,
    },
    /// None of the answers to choose from, by this value.
    NoChoice(Value),
    /// There is no value to look at.
    NoValue,
}
