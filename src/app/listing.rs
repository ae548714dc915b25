//! What ships, as lists: scenarios with their action files, the glossary, the template.

use super::Error;
use crate::scenario;
use crate::store;
use crate::words::glossary::{self, Word};

/// A scenario to begin one's own with, every key explained.
pub const TEMPLATE: &str = store::TEMPLATE;

/// A shipped scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The name that it is run by.
    pub name: &'static str,
    /// Its level, from easy to hard.
    pub level: u8,
    /// Its title.
    pub title: String,
    /// Action files that ship with it: name and title.
    pub actions: Vec<(&'static str, String)>,
}

/// The scenario that is open, or run, when nothing else is asked for: a healthy car.
pub fn first() -> &'static str {
    store::SCENARIOS[0].file
}

/// All that ship, in their order.
pub fn scenarios() -> Vec<Listed> {
    let mut car = |name: &str| store::car_text(name, None);
    let mut all = Vec::new();
    for s in store::SCENARIOS {
        let Ok(read) = scenario::parse_scenario(s.text, s.file, &mut car) else { continue };
        let title = |file: &str, text: &str| {
            scenario::parse_actions_for(text.as_bytes(), file, &read.vary).ok().map(|a| a.about.title)
        };
        let actions = s.actions.iter();
        let actions =
            actions.filter_map(|(f, text)| Some((f.trim_end_matches(".toml"), title(f, text)?))).collect();
        let name = s.file.trim_end_matches(".toml");
        all.push(Listed { name, level: read.about.level, title: read.about.title, actions });
    }
    all
}

/// The glossary.
pub fn glossary() -> Result<Vec<Word>, Error> {
    glossary::glossary(store::GLOSSARY).map_err(Error::rule)
}

/// Its entries that a word finds; else the nearest word that it has, if one is near.
pub fn entries<'w>(all: &'w [Word], asked: &str) -> Result<Vec<&'w Word>, Option<String>> {
    let hits = glossary::found(all, asked);
    if !hits.is_empty() {
        return Ok(hits);
    }
    let names: Vec<&String> = all.iter().flat_map(|w| std::iter::once(&w.term).chain(&w.also)).collect();
    Err(scenario::nearest(asked, &names))
}
