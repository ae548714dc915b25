//! The truth about a part, and the specified properties of a fitted one, as lists of facts.
//!
//! *Inside*: each fact's message, number and order. *Outside*: determining the facts (`bench/shelf.rs`).

use super::numbers::{measured, number, signed};
use super::{message_of, name, say};
use crate::bench::action::PartChoice;
use crate::bench::view::PartTruth;
use crate::catalogue::parts::{Fault, Says, TRUE};

/// Properties whose 0 would read as a fault.
const AT_ZERO: [&str; 3] = ["opens_pct", "rate_pct", "motor_pct"];

/// The facts as a list.
pub fn part(p: &PartTruth) -> String {
    let kind = p.marks.get("battery_type").map(|kind| name("battery", kind));
    let numbers = TRUE.iter().filter_map(|t| {
        let x = *p.is.get(t.key)?;
        // nothing off such a part has words of its own
        if x == 0.0 && AT_ZERO.contains(&t.key) {
            return Some(say(&format!("{}-zero", message_of("is", t.key))));
        }
        let x = match t.key {
            "ripple_nm" => measured(x, "N·m", t.decimals),
            _ if t.signed => signed(x, t.decimals),
            _ => number(x, t.decimals),
        };
        Some(say!(&message_of("is", t.key), x = x))
    });
    let code = p.marks.get("code").map(|code| say!("is-code", x = code.as_str()));
    kind.into_iter().chain(numbers).chain(code).collect::<Vec<_>>().join(", ")
}

/// The specified properties of a part besides its serial, one fact each: those printed on it, and those that a closed
/// lid hides.
pub fn said(choice: &PartChoice, lid_open: bool) -> Vec<String> {
    const PRINTED: [&str; 3] = ["battery_type", "rated_ah", "cold_a"];
    let faults = PartChoice::KEYS.iter().filter_map(|key| choice.kind.fault(key));
    let seen = faults.filter(|f| lid_open || PRINTED.contains(&f.key));
    seen.filter_map(|f| Some(fact(f, choice.said(f.key)?))).collect()
}

fn fact(fault: &Fault, x: f64) -> String {
    let what = name("fault", fault.key);
    let decimals = |whole: bool, wide: f64| if whole { 0 } else { 1 + usize::from(wide < 10.0) };
    match fault.says {
        Says::OneOf(words) if fault.key == "battery_type" => {
            name("battery", words.get(x as usize).unwrap_or(&""))
        }
        Says::OneOf(_) | Says::Flag => what,
        Says::Number(r) | Says::Whole(r) => {
            let whole = matches!(fault.says, Says::Whole(_));
            let places = decimals(whole, r.high - r.low);
            let value = number(x, places);
            match r.unit {
                "N·m" => say!("said-number", what = what, x = measured(x, "N·m", places)),
                "" => say!("said-number", what = what, x = value),
                unit => say!("said-with-unit", what = what, x = value, unit = unit),
            }
        }
    }
}
