//! Lists of what ships: scenarios with their action files, the glossary, the template.

use super::load::{SCENARIO, ids, missing};
use super::{Error, NoFiles};
use crate::scenario;
use crate::store;
use crate::words::glossary::{self, Word};
use serde::Deserialize;

/// A template for a new scenario, with every key explained; its id is derived from the folder's name.
pub fn template(folder: Option<&str>) -> String {
    let id = folder.filter(|f| scenario::is_word(f, false)).unwrap_or("my-scenario");
    store::TEMPLATE.replacen("my-scenario", id, 1)
}

/// The files of a shipped scenario as the basis of a new one: names and texts. The copy's id is derived from the
/// folder's name, so that it is not mistaken for the shipped scenario.
pub fn copied(from: &str, folder: Option<&str>) -> Result<Vec<(String, String)>, Error> {
    let shipped = store::shipped(from).ok_or_else(|| missing(&NoFiles, from, &ids()))?;
    let own = folder.filter(|f| scenario::is_word(f, false)).unwrap_or("my-scenario");
    let id = |id: &str| format!("\nid = \"{id}\"\n");
    let mut all = vec![(SCENARIO.to_owned(), shipped.text.replacen(&id(shipped.id), &id(own), 1))];
    let file = |name: &str| format!("{}.toml", name.rsplit('/').next().unwrap_or(name));
    all.extend(shipped.actions.iter().map(|(name, text)| (file(name), (*text).to_owned())));
    Ok(all)
}

/// A shipped scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The name under which it is run.
    pub name: &'static str,
    /// Its level, from easy to hard.
    pub level: u8,
    /// Its title.
    pub title: String,
    /// Its family.
    pub family: &'static str,
    /// Names of the action files that ship with it; their contents would give the fault away.
    pub actions: Vec<&'static str>,
}

/// The default scenario, opened or run when no other is named: a healthy car.
pub fn first() -> &'static str {
    store::SCENARIOS[0].id
}

/// All shipped scenarios, in their order.
pub fn scenarios() -> Vec<Listed> {
    let mut car = |name: &str| store::car_text(name, None);
    let mut listed = |s: &store::Shipped| {
        let about = scenario::parse_scenario(s.text, s.id, &mut car).ok()?.about;
        let actions = s.actions.iter().map(|a| a.0).collect();
        Some(Listed { name: s.id, level: about.level, title: about.title, family: s.family, actions })
    };
    store::SCENARIOS.iter().filter_map(&mut listed).collect()
}

/// A stage of the path through the shipped scenarios.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    /// Its subject.
    pub title: String,
    /// Its scenarios, in the recommended order.
    pub job: Vec<OnPath>,
}

/// A scenario on the path.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnPath {
    /// The name under which it is run.
    pub id: String,
    /// Names of the scenarios that it builds on; each of them comes earlier on the path.
    #[serde(default)]
    pub after: Vec<String>,
}

/// The path through the shipped scenarios: what to do first, and what builds on what.
///
/// # Errors
/// Its file cannot be read.
pub fn path() -> Result<Vec<Stage>, Error> {
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct File {
        stage: Vec<Stage>,
    }
    let file: File = toml::from_str(store::PATH).map_err(|e| Error::rule(e.message().to_owned()))?;
    Ok(file.stage)
}

/// The glossary.
pub fn glossary() -> Result<Vec<Word>, Error> {
    glossary::glossary(store::GLOSSARY).map_err(Error::rule)
}

/// The glossary entries that match a word; if none does, the nearest term, if one is near.
pub fn entries<'w>(all: &'w [Word], asked: &str) -> Result<Vec<&'w Word>, Option<String>> {
    let hits = glossary::found(all, asked);
    if !hits.is_empty() {
        return Ok(hits);
    }
    let names: Vec<&String> = all.iter().flat_map(|w| std::iter::once(&w.term).chain(&w.also)).collect();
    Err(scenario::nearest(asked, &names))
}
