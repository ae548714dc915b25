//! `scenarios`, `words` and `new`: what ships, the glossary, a scenario to begin one's own with.

use super::files::{print, write_new};
use crate::app::{Error, listing, shown};
use crate::words::say;
use std::path::Path;

/// Lists the shipped scenarios with their action files.
pub(super) fn scenarios() -> Result<u8, Error> {
    let mut text = format!("{}\n\n", say("list-scenarios"));
    for s in listing::scenarios() {
        text += &format!("  {:<24} {}  {}\n", s.name, say!("list-level", level = s.level), s.title);
        for (name, title) in s.actions {
            text += &format!("      --actions {name:<36} {title}\n");
        }
    }
    print(&text)?;
    Ok(0)
}

/// Prints an entry of the glossary, those that have a word inside, or all words.
pub(super) fn words(asked: Option<&str>) -> Result<u8, Error> {
    let all = listing::glossary()?;
    let Some(asked) = asked else {
        let terms: Vec<&str> = all.iter().map(|w| w.term.as_str()).collect();
        print(&format!("{}\n\n{}\n", terms.join(", "), say("list-words")))?;
        return Ok(0);
    };
    let hits = listing::entries(&all, asked).map_err(|near| {
        let near = near.map_or(String::new(), |n| say!("app-did-you-mean", word = n));
        Error::rule(format!("{}{near}", say!("list-no-word", word = shown(asked))))
    })?;
    for w in hits {
        let also = match w.also.as_slice() {
            [] => String::new(),
            also => format!(" ({})", say!("list-also", words = also.join(", "))),
        };
        let see = match w.see.as_slice() {
            [] => String::new(),
            see => format!(" {}", say!("list-see", words = see.join(", "))),
        };
        print(&format!("{}{also}: {}{see}\n", w.term, w.says))?;
    }
    Ok(0)
}

/// Writes the template where nothing is yet.
pub(super) fn new(path: &Path) -> Result<u8, Error> {
    write_new(path, listing::TEMPLATE, false)?;
    print(&format!("{}\n", say!("new-done", file = path.display().to_string())))?;
    Ok(0)
}
