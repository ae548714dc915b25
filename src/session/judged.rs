//! How expectations and acts came out, as facts.
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
    /// The author says so, in the author's words.
    Author(String),
    /// Told under an open lid only.
    Hidden,
    /// An act of the scenario's own could not be done.
    NotDone {
        /// Its id.
        act: String,
        /// What hindered it; none where that may not be told.
        because: Option<Hindrance>,
    },
    /// An act waited in vain.
    InVain {
        /// Its id.
        act: String,
        /// For what; none where that may not be told.
        condition: Option<String>,
    },
}

/// What was asked of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// The rule of an expectation.
    Rule(Rule),
    /// The same, of a run that was stopped before it was judged.
    NotReached(Rule),
    /// A condition, and within which time \[s\].
    Condition(String, f64),
    /// An act is done.
    Done,
    /// Told under an open lid only.
    Hidden,
}

/// How an expectation came out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// Path.
    pub what: String,
    /// Why it was judged.
    #[serde(rename = "because")]
    pub why: Why,
    /// It was met.
    pub met: bool,
    /// What was found; null where it is truth and the lid is closed.
    pub measured: Value,
    /// What was asked of it.
    #[serde(skip)]
    pub asked: Asked,
    /// When it was judged \[s\].
    #[serde(skip)]
    pub at_s: f64,
    /// The lid hides value and rule.
    #[serde(skip)]
    pub hidden: bool,
}
