//! Facts as sentences: the module's decisions and refusals, what prevents an act, what the driver reports, findings.
//!
//! *Inside*: one function for each kind of fact. *Outside*: which facts are shown, and beside what.
//!
//! A fact whose fields need no words of their own is put into words by [`sentence`]: the variant's id names its
//! message, its fields are the message's values.

mod bench;
mod files;
mod lesson;
mod module;

pub use bench::{alone, driver, hindrance, model_note, no_survey, slow, told};
pub use files::{bench, car, mistake, no_act, reason, session, trainee, trainee_checked, trouble};
pub use lesson::{asked, found, not_whole, outcome, value, why, work};
pub use module::{
    failed, flag, gate, gate_in, no_stop, notice, refused, routine, routine_state, waits_for, writer,
};

use crate::words::{Value, message_of, say, say_with};
use serde::Serialize;
use serde_json::Value as Json;

/// The sentence of a fact: kind `found` and variant `GoodParts` give the message `found-good-parts`, with its fields
/// under their names; an unnamed field of a variant is `x`. Numbers are written as in a file, lists with commas and,
/// as `one_of`, with an "or" before the last.
pub fn sentence(kind: &str, fact: &impl Serialize) -> String {
    let (id, fields) = match serde_json::to_value(fact) {
        Ok(Json::String(id)) => (id, Json::Null),
        Ok(Json::Object(one)) => one.into_iter().next().unwrap_or_default(),
        _ => Default::default(),
    };
    let named: Vec<(&str, &Json)> = match &fields {
        Json::Object(all) => all.iter().map(|(name, x)| (name.as_str(), x)).collect(),
        x => vec![("x", x)],
    };
    let values: Vec<(&str, Value<'_>)> = named.into_iter().map(|(name, x)| (name, field(name, x))).collect();
    say_with(&message_of(kind, &id), &values)
}

/// A field as a message takes it: a whole number may select singular or plural.
fn field(name: &str, x: &Json) -> Value<'static> {
    match x {
        Json::Array(all) if name == "one_of" => one_of(all).into(),
        Json::String(table) if name == "table" && table.is_empty() => say("the-file").into(),
        Json::Array(all) => all.iter().map(text).collect::<Vec<_>>().join(", ").into(),
        x => match x.as_u64().and_then(|n| u32::try_from(n).ok()) {
            Some(n) => n.into(),
            None => text(x).into(),
        },
    }
}

fn text(x: &Json) -> String {
    match x {
        Json::String(text) => text.clone(),
        // as written in a file: 30, not 30.0
        x => x.as_f64().filter(|_| x.is_f64()).map_or_else(|| x.to_string(), |x| x.to_string()),
    }
}

/// A list of alternatives, with an "or" before the last; a series of numbered names as `coil_1 … coil_8`.
fn one_of(all: &[Json]) -> String {
    let mut rows: Vec<(String, String, String)> = Vec::new();
    for word in all.iter().map(text) {
        let stem = word.trim_end_matches(|c: char| c.is_ascii_digit());
        match rows.last_mut() {
            Some((of, _, last)) if of == stem && stem != word => *last = word,
            _ => rows.push((stem.to_owned(), word.clone(), word)),
        }
    }
    let row = |(_, first, last): (String, String, String)| {
        if first == last { first } else { format!("{first} … {last}") }
    };
    let mut rows: Vec<String> = rows.into_iter().map(row).collect();
    match rows.pop() {
        Some(last) if !rows.is_empty() => say!("list-or", all = rows.join(", "), last = last),
        last => last.unwrap_or_default(),
    }
}
