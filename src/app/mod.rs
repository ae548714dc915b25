//! The application room: what all fronts have in common, implemented once. A front (command line, window, or another)
//! reads a person's request, calls a function of this room, and shows the result.
//!
//! *Inside*: loading scenarios, tickets, action files ([`load`], [`trainee`]); checking, solving ([`check`],
//! [`solve`]); running, twins ([`attempt`]); opening a desk and making a viewer's view of it ([`view`]); results
//! ([`results`]), and what was heard ([`sound`]); replaying logbooks, one or a class's ([`replay`], [`verify`]); tickets
//! ([`seal`]); lists and surveys ([`listing`], [`survey`]); a scenario over many seeds and values ([`sweep`]); the
//! evidence ([`evidence`]); messages on a terminal ([`terminal`]); the program's version ([`version`]). *Outside*:
//! arguments, exit codes, windows; the disk: a front passes in its
//! [`Files`].
//!
//! It is the only room that names session, lesson, report and store together. It re-exports what fronts hold of them,
//! so that a front names this room alone.

pub mod attempt;
pub mod check;
pub mod evidence;
pub mod language;
pub mod listing;
pub mod load;
pub mod replay;
pub mod results;
pub mod seal;
pub mod solve;
pub mod sound;
pub mod survey;
pub mod sweep;
pub mod terminal;
pub mod trainee;
pub mod verify;
pub mod version;
pub mod view;

pub use crate::scenario::Who;
pub use crate::session::hearing::Stretch;
pub use crate::session::verdict::Verdict;
pub use crate::session::{Options, Progress, Run, Viewer};
pub use crate::store::NotKept;

use crate::scenario::{Mistake, Place, ScenarioError};
use crate::words::{facts, say};
use serde::Serialize;
use std::path::PathBuf;

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Why a function of this room ended early.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Error {
    /// The input cannot be used.
    Input(Wrong),
    /// A file cannot be read or written: the operation, and the system's reason.
    File(String),
    /// The user stopped it.
    Stopped,
}

/// What is wrong with an input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wrong {
    /// The file, as it was named; empty if the input came from no file.
    pub file: String,
    /// Line and column, from 1, where they are known.
    pub place: Option<(usize, usize)>,
    /// The rule that was broken, for a file that a person writes.
    pub mistake: Option<Box<Mistake>>,
    /// The same rule in the reader's language.
    pub rule: String,
    /// The nearest valid word, if one is near.
    pub help: Option<String>,
    /// What else is wrong with that file.
    pub more: Box<[Wrong]>,
}

/// Most mistakes of a file that are told at a time.
const MOST_TOLD: usize = 20;

impl Wrong {
    fn of(file: &str, rule: impl Into<String>) -> Self {
        let rule = rule.into();
        Self { file: file.into(), place: None, mistake: None, rule, help: None, more: Box::default() }
    }
}

impl From<ScenarioError> for Wrong {
    fn from(e: ScenarioError) -> Self {
        let place = Some((e.line, e.column));
        let (rule, mistake) = (facts::mistake(&e.mistake), Some(e.mistake));
        let more = e.more.into_iter().map(Wrong::from).collect();
        Self { file: e.file, place, mistake, rule, help: e.help, more }
    }
}

impl std::fmt::Display for Wrong {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.file.as_str(), self.place) {
            ("", _) => {}
            (file, Some((line, column))) => write!(f, "{file}:{line}:{column}: ")?,
            (file, None) => write!(f, "{file}: ")?,
        }
        f.write_str(&self.rule)?;
        if let Some(word) = &self.help {
            f.write_str(&say!("app-did-you-mean", word = word.as_str()))?;
        }
        self.more.iter().take(MOST_TOLD - 1).try_for_each(|also| write!(f, "\n{also}"))?;
        match self.more.len().saturating_sub(MOST_TOLD - 1) {
            0 => Ok(()),
            left => write!(f, "\n{}", say!("app-more-mistakes", left = left as u32)),
        }
    }
}

impl std::fmt::Display for Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Error::Input(wrong) => wrong.fmt(f),
            Error::File(why) => f.write_str(why),
            Error::Stopped => f.write_str(&say("app-stopped")),
        }
    }
}

impl std::error::Error for Error {}

impl Error {
    /// A rule broken by an input that came from no file.
    pub fn rule(rule: impl Into<String>) -> Self {
        Self::of("", rule)
    }
    /// A rule broken by a file.
    pub fn of(file: &str, rule: impl Into<String>) -> Self {
        Self::Input(Wrong::of(file, rule))
    }
    /// The same, as a fact.
    pub fn mistake(file: &str, mistake: Mistake) -> Self {
        let rule = facts::mistake(&mistake);
        Self::Input(Wrong { mistake: Some(Box::new(mistake)), ..Wrong::of(file, rule) })
    }
    /// The same, with the position in the file.
    pub fn at(file: &str, place: Place, rule: impl Into<String>) -> Self {
        let place = Some((place.line, place.column));
        Self::Input(Wrong { place, ..Wrong::of(file, rule) })
    }
}

impl From<ScenarioError> for Error {
    fn from(e: ScenarioError) -> Self {
        Self::Input(e.into())
    }
}

/// The expected sort of a file: it decides the maximum size, and the message if it cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A scenario, actions, answers, a rubric.
    Text,
    /// A sealed ticket.
    Ticket,
    /// An instructor's key.
    Key,
    /// A list of trainees.
    Trainees,
    /// A logbook.
    Logbook,
}

impl Sort {
    /// Maximum size that is read \[bytes\].
    pub fn most(self) -> u64 {
        match self {
            Sort::Logbook => 64 << 20,
            _ => 1 << 20,
        }
    }
    fn id(self) -> &'static str {
        match self {
            Sort::Text => "text",
            Sort::Ticket => "ticket",
            Sort::Key => "key",
            Sort::Trainees => "trainees",
            Sort::Logbook => "logbook",
        }
    }
}

/// Why a file could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unread {
    /// The system's reason.
    System(String),
    /// It is a folder, or something else that is not a regular file.
    NoFile,
    /// Larger than [`Sort::most`].
    TooLarge,
}

/// Where files come from: the disk for a command line, the uploaded files for a server.
pub trait Files: Sync {
    /// Whether there is a file of that name.
    fn has(&self, name: &str) -> bool;
    /// Its bytes.
    fn read(&self, name: &str, sort: Sort) -> Result<Vec<u8>, Unread>;
    /// The folder that may hold the car's file named in this one.
    fn beside(&self, name: &str) -> Option<PathBuf>;
}

/// No files: only shipped ones can be named.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoFiles;

impl Files for NoFiles {
    fn has(&self, _: &str) -> bool {
        false
    }
    fn read(&self, _: &str, _: Sort) -> Result<Vec<u8>, Unread> {
        Err(Unread::System(say("app-no-such-file")))
    }
    fn beside(&self, _: &str) -> Option<PathBuf> {
        None
    }
}

/// A file's bytes, or the error to report.
pub(crate) fn bytes_of(files: &dyn Files, name: &str, sort: Sort) -> Result<Vec<u8>, Error> {
    let sort_of = sort.id();
    files.read(name, sort).map_err(|e| match e {
        Unread::System(why) => Error::File(say!("app-cannot-read", sort = sort_of, file = name, why = why)),
        Unread::NoFile => {
            let why = say("app-not-a-file");
            Error::File(say!("app-cannot-read", sort = sort_of, file = name, why = why))
        }
        Unread::TooLarge => Error::of(name, say!("app-too-large", sort = sort_of)),
    })
}

/// A file's text, or the error to report.
pub(crate) fn text_of(files: &dyn Files, name: &str, sort: Sort) -> Result<String, Error> {
    String::from_utf8(bytes_of(files, name, sort)?)
        .map_err(|_| Error::of(name, say!("app-not-text", sort = sort.id())))
}

/// A user's input made fit for display: no control characters, limited length.
pub(crate) fn shown(word: &str) -> String {
    word.chars().filter(|c| !c.is_control()).take(64).collect()
}
