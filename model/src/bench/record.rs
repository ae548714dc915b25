//! Logbook entries and the hash of a bench's state.

use crate::bench::action::Action;
use crate::bench::facts::{DriverTells, Hindrance, ModelNote};
use crate::bench::tester::Course;
use crate::bench::tools::Reading;
use crate::link::{DiagResponse, Notice};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// The recorded hash of a scene that disturbs everything. `same_recorded_hash` in `tests/guards/determinism.rs`
/// proves that this build reproduces it. Two builds with different hashes give different runs.
pub const PHYSICS: &str = include_str!("../../../tests/golden/scene.hash").trim_ascii();

/// One line of the logbook.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Scenario time \[s\]; negative before the car was handed over from conditioning.
    pub t_s: f64,
    /// Kind of entry.
    pub kind: Kind,
}

/// Kinds of entries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// An act was carried out.
    Act {
        /// Id of the act; empty for an act that does not come from a file.
        id: String,
        /// What it did.
        action: Action,
    },
    /// The bench did not allow an act.
    Hindered {
        /// Id of the act.
        id: String,
        /// Why.
        why: Hindrance,
    },
    /// The module answered a request.
    Answer {
        /// Id of the act.
        id: String,
        /// The answer.
        answer: DiagResponse,
    },
    /// A workshop tool was read.
    Reading {
        /// Id of the act that started the tool.
        id: String,
        /// The tool's reading.
        reading: Reading,
    },
    /// The scan tool shows the values of its list: all have been answered, or the list ended before that.
    Shown {
        /// Id of the act that set the list.
        id: String,
        /// What was shown, each value once.
        values: Vec<Course>,
    },
    /// The scan tool's list has ended after all its values were shown.
    Watched {
        /// Id of the act that set the list.
        id: String,
        /// What the values did meanwhile.
        values: Vec<Course>,
    },
    /// The module decided something.
    Module {
        /// What.
        what: Notice,
    },
    /// The driver reported something.
    Drive {
        /// What.
        what: DriverTells,
    },
    /// A model reached its limits.
    Model {
        /// What.
        what: ModelNote,
    },
    /// A condition was not met in time.
    TimedOut {
        /// Id of the act.
        id: String,
        /// Condition.
        condition: String,
    },
}

/// Hash over a serialisation, as lower-case hex.
pub fn hash_of<T: Serialize>(parts: &T) -> String {
    // Serialising plain data into memory cannot fail.
    let bytes = postcard::to_allocvec(parts).unwrap_or_default();
    hex(&Sha256::digest(&bytes))
}

/// Hash of a text, as lower-case hex.
pub fn hash_of_text(text: &str) -> String {
    hash_of_bytes(text.as_bytes())
}

/// Hash of bytes, as lower-case hex.
pub fn hash_of_bytes(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
