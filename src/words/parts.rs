//! What is true of a part, as a list of facts.
//!
//! *Inside*: each fact's message, number and order. *Outside*: finding out (`bench/shelf.rs`).

use super::numbers::{number, signed};
use super::{message_of, name, say};
use crate::bench::view::PartTruth;
use crate::catalogue::parts::TRUE;

/// The facts, one after the other.
pub fn part(p: &PartTruth) -> String {
    let kind = p.marks.get("battery_type").map(|kind| name("battery", kind));
    let numbers = TRUE.iter().filter_map(|t| {
        let x = *p.is.get(t.key)?;
        let x = if t.signed { signed(x, t.decimals) } else { number(x, t.decimals) };
        Some(say!(&message_of("is", t.key), x = x))
    });
    let code = p.marks.get("code").map(|code| say!("is-code", x = code.as_str()));
    kind.into_iter().chain(numbers).chain(code).collect::<Vec<_>>().join(", ")
}
