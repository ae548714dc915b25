//! `idlewright words`: the glossary.

use crate::cli::{Trouble, say};
use crate::store;
use crate::words::glossary::{found, glossary};

/// Prints an entry, those that have a word inside, or all words.
pub(super) fn words(asked: Option<&str>) -> Result<u8, Trouble> {
    let all = glossary(store::GLOSSARY).map_err(Trouble::Input)?;
    let Some(asked) = asked else {
        let terms: Vec<&str> = all.iter().map(|w| w.term.as_str()).collect();
        say(&format!("{}\n\n`idlewright words WORD` tells what one means.\n", terms.join(", ")))?;
        return Ok(0);
    };
    let hits = found(&all, asked);
    if hits.is_empty() {
        let names: Vec<&String> = all.iter().flat_map(|w| std::iter::once(&w.term).chain(&w.also)).collect();
        let near = crate::scenario::nearest(asked, &names);
        let help = near.map_or(String::new(), |n| format!("; did you mean \"{n}\"?"));
        let shown: String = asked.chars().filter(|c| !c.is_control()).take(60).collect();
        return Err(Trouble::Input(format!("the glossary has no `{shown}`{help}")));
    }
    for w in hits {
        let also = if w.also.is_empty() { String::new() } else { format!(" (also: {})", w.also.join(", ")) };
        let see = if w.see.is_empty() { String::new() } else { format!(" See {}.", w.see.join(", ")) };
        say(&format!("{}{also}: {}{see}\n", w.term, w.says))?;
    }
    Ok(0)
}
