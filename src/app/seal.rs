//! Sealed tickets for a class.

use super::load::Origin;
use super::{Error, Files, Sort, text_of, trainee};
use crate::bench::record::hash_of_text;
use crate::scenario::{Place, ScenarioError, Who};
use crate::session::ticket::Ticket;
use crate::words::say;
use std::collections::BTreeMap;

/// Maximum number of trainees in one list.
const MOST_TRAINEES: usize = 2000;

/// The request for sealed tickets.
#[derive(Debug, Clone, Copy)]
pub struct Request<'a> {
    /// The scenario's file, or a shipped one's name.
    pub scenario: &'a str,
    /// The class's seed.
    pub class_seed: u64,
    /// File of trainees, one a line.
    pub trainees: &'a str,
    /// File with the instructor's key.
    pub key: &'a str,
}

/// One ticket for each trainee: a file's name and its text.
pub fn tickets(files: &dyn Files, of: &Request<'_>) -> Result<Vec<(String, String)>, Error> {
    let origin = Origin::find(files, of.scenario)?;
    let key = trainee::key(files, of.key)?;
    let all = trainees(&text_of(files, of.trainees, Sort::Trainees)?, of.trainees, of.class_seed)?;
    let width = all.len().to_string().len();
    let mut tickets = Vec::new();
    for (nth, who) in all.iter().enumerate() {
        // a variant that cannot be read must not first be discovered by a trainee
        let loaded = origin.read(Some(who))?;
        let ticket = Ticket::new(&loaded.scenario.about.id, &loaded.text, who, &key);
        let name = format!("{:0width$}-{}.ticket", nth + 1, file_word(&who.trainee));
        tickets.push((name, ticket.text()));
    }
    Ok(tickets)
}

/// The names on a class's list, one trainee per line.
pub fn class_list(files: &dyn Files, list: &str) -> Result<Vec<String>, Error> {
    let all = trainees(&text_of(files, list, Sort::Trainees)?, list, 0)?;
    Ok(all.into_iter().map(|who| who.trainee).collect())
}

/// The trainees of a list; each may appear only once.
fn trainees(text: &str, file: &str, class_seed: u64) -> Result<Vec<Who>, Error> {
    let mut all = Vec::new();
    let mut lines: BTreeMap<&str, usize> = BTreeMap::new();
    for (k, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let (word, line) = (line.trim(), k + 1);
        if word.is_empty() {
            continue;
        }
        let place = Place { line, column: 1 };
        let wrong = |why: String| Error::at(file, place, why);
        // the name would stand in tables and on tickets
        if word.len() >= 32 && word.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(wrong(say("app-trainee-is-a-key")));
        }
        if let Some(first) = lines.insert(word, line) {
            return Err(wrong(say!("app-trainee-twice", line = first)));
        }
        if all.len() == MOST_TRAINEES {
            return Err(wrong(say!("app-too-many-trainees", most = MOST_TRAINEES)));
        }
        let who = Who::new(class_seed, word, None);
        all.push(who.map_err(|mistake| ScenarioError::at(file, place, mistake, None))?);
    }
    if all.is_empty() {
        return Err(Error::of(file, say("app-no-trainee")));
    }
    Ok(all)
}

/// A word made fit for a file name on every system.
fn file_word(word: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
    let out: String = word.chars().take(40).map(plain).collect();
    if out.chars().all(|c| c == '-') { hash_of_text(word).chars().take(8).collect() } else { out }
}
