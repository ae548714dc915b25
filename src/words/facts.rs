//! Facts to sentences: what the module decides and refuses, what hinders a hand, what the driver tells, what was found.
//!
//! *Inside*: one function for each sort of fact. *Outside*: which facts are shown, and beside what.
//!
//! A fact whose fields need no words of their own is said by [`sentence`]: the variant's id names its message, its fields
//! are the values.

mod bench;
mod lesson;
mod module;

pub use bench::{driver, hindrance, model_note, no_survey, told};
pub use lesson::{found, outcome};
pub use module::{failed, flag, gate, no_stop, notice, refused, routine, routine_state, waits_for, writer};

use crate::words::{Value, message_of, say_with};
use serde::Serialize;
use serde_json::Value as Json;

/// The sentence of a fact: of kind `found` and variant `GoodParts` the message `found-good-parts`, with its fields by their
/// names; what a variant holds without a name is `x`. Numbers stand as a file has them, lists with commas.
pub fn sentence(kind: &str, fact: &impl Serialize) -> String {
    let (id, fields) = match serde_json::to_value(fact) {
        Ok(Json::String(id)) => (id, Json::Null),
        Ok(Json::Object(one)) => one.into_iter().next().unwrap_or_default(),
        _ => Default::default(),
    };
    let values: Vec<(String, Value<'_>)> = match &fields {
        Json::Object(all) => all.iter().map(|(name, x)| (name.clone(), value(x))).collect(),
        x => vec![("x".into(), value(x))],
    };
    let values: Vec<(&str, Value<'_>)> = values.iter().map(|(name, x)| (name.as_str(), x.clone())).collect();
    say_with(&message_of(kind, &id), &values)
}

/// A field as a message takes it: small whole numbers choose between one and several.
fn value(x: &Json) -> Value<'static> {
    fn text(x: &Json) -> String {
        match x {
            Json::String(text) => text.clone(),
            Json::Array(all) => all.iter().map(text).collect::<Vec<_>>().join(", "),
            Json::Number(n) => {
                n.as_f64().filter(|_| n.is_f64()).map_or_else(|| n.to_string(), |x| x.to_string())
            }
            other => other.to_string(),
        }
    }
    match x.as_u64().and_then(|n| u32::try_from(n).ok()) {
        Some(n) => Value::from(n),
        None => Value::from(text(x)),
    }
}
