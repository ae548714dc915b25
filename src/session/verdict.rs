//! The verdict on a logbook, and its reasons as facts.
//!
//! *Outside*: reaching it ([`crate::session::replay`], [`crate::session::logbook`]), sentences
//! (`words/facts/files.rs`).

use crate::scenario::Mistake;
use crate::store::SOURCES;
use serde::Serialize;

/// The verdict on a logbook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Verdict {
    /// Everything was reproduced.
    #[serde(rename = "consistent")]
    Consistent,
    /// Something was not reproduced.
    #[serde(rename = "altered")]
    Altered,
    /// It was written by another version, which this one cannot judge.
    #[serde(rename = "other version")]
    OtherVersion,
}

/// The reason: why it is no logbook, was written by another version, is not reproduced, or is.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "the message of the same name in files.ftl says what each variant means")]
pub enum Reason {
    ComesOut { lines: usize },

    // not a logbook
    Empty,
    NoJson,
    NoProgram,

    // written by another version
    OtherForm { theirs: String, ours: u64 },
    OtherProgram { theirs: String, ours: &'static str },
    OtherPhysics { theirs: String, ours: String },

    // no longer intact
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

    // not reproduced
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

    // what the run needs is not available
    OtherCar,
    GiveScenario,
    OtherScenario { file: String },
    OtherScenarios,

    // the same, for one written by a build from other sources, or with a wrong checksum
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
    /// The result of the replay at that line.
    pub expected: Option<String>,
    /// The contents of the logbook at that line.
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
    /// The same, with the result of the replay and the contents of the logbook.
    pub(super) fn differs(line: usize, reason: Reason, expected: Option<&str>, found: Option<&str>) -> Self {
        let (expected, found) = (expected.map(short), found.map(short));
        Self { expected, found, ..Self::altered(line, reason) }
    }
    /// A logbook from another build may differ for that reason: nobody is said to have altered it.
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
