//! What the targets share: files that hold one text, and laws that every refusal and every act obeys.

use idlewright::app::{Files, Sort, Unread};
use idlewright::bench::action::Action;
use idlewright::bench::car::NoCar;
use idlewright::scenario::{Act, ScenarioError};
use idlewright::store;
use idlewright::words::facts;
use std::path::PathBuf;

/// The name under which a text is read.
pub const FILE: &str = "fuzzed";

/// The text of a shipped car.
pub fn car_text(name: &str) -> Result<String, NoCar> {
    store::car_text(name, None)
}

/// A refusal says what is wrong, and where in the file: never past its end.
pub fn refused(bytes: &[u8], e: &ScenarioError) {
    assert!(!facts::mistake(&e.mistake).is_empty(), "{e}");
    let lines = 1 + bytes.iter().filter(|b| **b == b'\n').count();
    assert!((1..=lines).contains(&e.line), "line of {lines}: {e}");
    let line = bytes.split(|b| *b == b'\n').nth(e.line - 1).unwrap_or_default();
    let most = 1 + String::from_utf8_lossy(line).chars().count();
    assert!((1..=most).contains(&e.column), "column of {most}: {e}");
}

/// What a logbook writes of an act reads back as the same.
pub fn same_when_written(acts: &[Act]) {
    for act in acts {
        let text = serde_json::to_string(&act.hand).expect("an act is written");
        let read: Action = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
        assert_eq!(read, act.hand, "{text}");
    }
}

/// One text under [`FILE`], and nothing else but what ships.
#[derive(Debug)]
pub struct One<'a>(pub &'a [u8]);

impl Files for One<'_> {
    fn has(&self, name: &str) -> bool {
        name == FILE
    }
    fn read(&self, name: &str, sort: Sort) -> Result<Vec<u8>, Unread> {
        match () {
            () if name != FILE => Err(Unread::System("no such file".to_owned())),
            () if self.0.len() as u64 > sort.most() => Err(Unread::TooLarge),
            () => Ok(self.0.to_vec()),
        }
    }
    fn beside(&self, _: &str) -> Option<PathBuf> {
        None
    }
}
