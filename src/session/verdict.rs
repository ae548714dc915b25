//! The verdict on a logbook, and its reasons as facts.
//!
//! *Outside*: coming to it ([`crate::session::replay`], [`crate::session::logbook`]), sentences (`words/facts/files.rs`).

use crate::scenario::Mistake;
use crate::store::SOURCES;
use serde::Serialize;

/// How a logbook came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Verdict {
    /// Everything came out again.
    #[serde(rename = "consistent")]
    Consistent,
    /// Something did not.
    #[serde(rename = "altered")]
    Altered,
    /// It was written by another version, of which this one can say nothing.
    #[serde(rename = "other version")]
    OtherVersion,
}

/// Why a logbook is no logbook, was written by another version, does not come out, or does.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "the message of the same name in files.ftl says what each variant means")]
pub enum Reason {
    ComesOut { lines: usize },

    // no logbook
    Empty,
    NoJson,
    NoProgram,

    // another version
    OtherForm { theirs: String, ours: u64 },
    OtherProgram { theirs: String, ours: &'static str },
    OtherPhysics { theirs: String, ours: String },

    // one that is whole no longer
    Header { says: String },
    HeaderLid,
    HeaderStep,
    HeaderTrainee(Mistake),
    HeaderHalf,
    HeaderActions,
    CutOff,
    End { says: String },
    NoLine,
    UnknownAct,

    // one that does not come out
    TooLong,
    TimeFalls,
    Act(Mistake),
    LineDiffers,
    LineTooMany,
    LineMissing,
    HeaderDiffers { key: String },
    StateDiffers,
    SumDiffers,
    EndDiffers,
    LastLineDiffers,
    NoSuchLid,
    NoSuchActions,

    // what it was made from is not here
    OtherCar,
    GiveScenario,
    OtherScenario { file: String },
    OtherScenarios,

    // the same, of one that was made by a build from other sources, or whose sum does not hold
    OtherSources(Box<Reason>),
    ChangedText(Box<Reason>),
}

/// The verdict with its reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Verdict.
    pub verdict: Verdict,
    /// Why.
    pub reason: Reason,
    /// Line of the logbook, from 1, where it first differs.
    pub line: Option<usize>,
    /// What the replay came to there.
    pub expected: Option<String>,
    /// What the logbook says there.
    pub found: Option<String>,
}

impl Answer {
    /// A verdict at a line, or on the whole.
    pub fn new(verdict: Verdict, line: Option<usize>, reason: Reason) -> Self {
        Self { verdict, reason, line, expected: None, found: None }
    }
    /// Altered at a line, for a reason.
    pub fn altered(line: usize, reason: Reason) -> Self {
        Self::new(Verdict::Altered, Some(line), reason)
    }
    /// The same, with what the replay came to and what the logbook says.
    pub(super) fn differs(line: usize, reason: Reason, expected: Option<&str>, found: Option<&str>) -> Self {
        let (expected, found) = (expected.map(short), found.map(short));
        Self { expected, found, ..Self::altered(line, reason) }
    }
    /// What another build made may differ for that reason: nobody is told to have altered it.
    pub(super) fn of(self, sources: &str) -> Self {
        if sources == SOURCES || self.verdict != Verdict::Altered {
            return self;
        }
        let reason = Reason::OtherSources(Box::new(self.reason));
        Self { verdict: Verdict::OtherVersion, reason, ..self }
    }
}

/// Foreign text made fit for one line of an answer.
pub(super) fn short(text: &str) -> String {
    const MOST: usize = 240;
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if clean.chars().count() <= MOST {
        return clean;
    }
    clean.chars().take(MOST).collect::<String>() + " …"
}
