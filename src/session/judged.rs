//! The results of expectations and acts, as facts.
//!
//! *Outside*: judging ([`crate::session`]), sentences (`words/facts/lesson.rs`).

use crate::bench::facts::Hindrance;
use crate::scenario::Rule;
use serde::Serialize;
use serde_json::Value;

/// Why something was judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// The reason given by the author, in the author's words.
    Author(String),
    /// Shown under an open lid only.
    Hidden,
    /// An act of the scenario's own could not be done.
    NotDone {
        /// Its id.
        act: String,
        /// What prevented it; none if that may not be shown.
        because: Option<Hindrance>,
    },
    /// An act waited in vain for its condition.
    InVain {
        /// Its id.
        act: String,
        /// The condition; none if it may not be shown.
        condition: Option<String>,
    },
}

/// What was required of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// The rule of an expectation.
    Rule(Rule),
    /// The same, for a run that was stopped before it was judged.
    NotReached(Rule),
    /// A condition, and the time within which it must hold \[s\].
    Condition(String, f64),
    /// An act must be done.
    Done,
    /// Shown under an open lid only.
    Hidden,
}

/// The result of an expectation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// Path.
    pub what: String,
    /// Why it was judged.
    #[serde(rename = "because")]
    pub why: Why,
    /// It was met.
    pub met: bool,
    /// The value found; null if it is truth and the lid is closed.
    pub measured: Value,
    /// What was required of it.
    #[serde(skip)]
    pub asked: Asked,
    /// When it was judged \[s\].
    #[serde(skip)]
    pub at_s: f64,
    /// The lid hides value and rule.
    #[serde(skip)]
    pub hidden: bool,
}
