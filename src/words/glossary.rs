//! The glossary: words of the trade and of this program, in plain language, as data.
//!
//! *Inside*: reading it and finding a word. *Outside*: the origin of its text (store).

use serde::Deserialize;
use std::collections::BTreeSet;

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Word {
    /// The word.
    pub term: String,
    /// Other names and short forms.
    #[serde(default)]
    pub also: Vec<String>,
    /// What it means.
    pub says: String,
    /// Related entries.
    #[serde(default)]
    pub see: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    schema: u64,
    word: Vec<Word>,
}

/// Reads a glossary: no word may occur twice, every related entry must exist.
pub fn glossary(text: &str) -> Result<Vec<Word>, String> {
    let file: File = toml::from_str(text).map_err(|e| format!("glossary: {}", e.message()))?;
    if file.schema != 1 {
        return Err(format!("glossary: schema must be 1 ({} given)", file.schema));
    }
    let mut names = BTreeSet::new();
    for w in &file.word {
        for name in std::iter::once(&w.term).chain(&w.also) {
            if !names.insert(name.to_lowercase()) {
                return Err(format!("glossary: `{name}` stands twice"));
            }
        }
        if w.says.trim().is_empty() {
            return Err(format!("glossary: `{}` says nothing", w.term));
        }
    }
    for w in &file.word {
        if let Some(s) = w.see.iter().find(|s| !file.word.iter().any(|o| o.term == **s)) {
            return Err(format!("glossary: `{}` sends to `{s}`, which is no entry", w.term));
        }
    }
    Ok(file.word)
}

/// Entries with this word or other name, otherwise those that contain it. Panels ask in every frame, and nearly always for a
/// word as it is written: nothing is copied for that.
pub fn found<'w>(words: &'w [Word], asked: &str) -> Vec<&'w Word> {
    let whole: Vec<&Word> = words.iter().filter(|w| names(w).any(|n| same(n, asked))).collect();
    if !whole.is_empty() {
        return whole;
    }
    let asked = asked.to_lowercase();
    words.iter().filter(|w| names(w).any(|n| n.to_lowercase().contains(&asked))).collect()
}

fn names(word: &Word) -> impl Iterator<Item = &str> {
    std::iter::once(&word.term).chain(&word.also).map(String::as_str)
}

/// The same letters, capital or not.
fn same(a: &str, b: &str) -> bool {
    a.eq_ignore_ascii_case(b) || (!a.is_ascii() && a.to_lowercase() == b.to_lowercase())
}
