//! Names and short texts for things on paper: learned values, codes, paths of expectations, readings.
//!
//! *Inside*: which message names a thing, and the decimals of its number. *Outside*: acts by hand and the module's
//! answers (`acts`), layout.

use crate::bench::action::{Connector, PartKind};
use crate::bench::tools::{Point, Tool};
use crate::bench::view::{Lamp, Observation};
use crate::link::{CodeStatus, LearnedStatus, Writer};
use crate::session::{Price, Prices};
use crate::words::numbers::{minutes, number, shown_units, signed};
use crate::words::{Words, facts, message_of, name, say};
use serde_json::Value;

/// A price in words, the cost of the working time included; nothing for what is free.
pub fn cost_words(prices: &Prices, price: Price) -> String {
    let whole = prices.whole(price);
    let (minutes, money, n) = (number(price.minutes, 0), number(whole, 0), whole.round() as u32);
    match (price.minutes > 0.0, whole > 0.0) {
        (true, true) => say!("cost-minutes-and-money", minutes = minutes, money = money, n = n),
        (true, false) => say!("cost-minutes", minutes = minutes),
        (false, true) => say!("cost-money", money = money, n = n),
        (false, false) => String::new(),
    }
}

/// Number of decimals for a unit on paper.
pub(super) fn decimals(unit: &str) -> usize {
    match unit {
        "rpm" | "°C" | "°F" | "km/h" | "mph" => 0,
        "%" | "kPa" | "inHg" | "V" | "µm" | "mm²" => 1,
        "" | "lb/min" => 3,
        _ => 2,
    }
}

/// A number's text, already with the unit's decimals, followed by its unit.
pub(super) fn with_unit(text: &str, unit: &str) -> String {
    if unit.is_empty() { text.into() } else { say!("quantity", value = text, unit = unit) }
}

/// Several things as a list.
pub(super) fn listed(all: &[String]) -> String {
    all.join("; ")
}

/// An id that has no name of its own, made readable.
pub(super) fn id_words(id: &str) -> String {
    id.replace(['_', '-'], " ")
}

/// A learned value's name.
pub fn learned_words(id: &str) -> String {
    name("learned", id)
}

/// A learned value's number in the units shown: with a sign if it can be on either side of a default of zero.
pub(super) fn learned_number(v: &LearnedStatus, x: f64) -> String {
    let (x, unit) = in_shown_units(x, &v.unit);
    if v.default == 0.0 && v.low < 0.0 { signed(x, decimals(unit)) } else { number(x, decimals(unit)) }
}

/// The same with its unit.
pub(super) fn learned_with_unit(v: &LearnedStatus, x: f64) -> String {
    if v.name.starts_with("catalyst_") && !v.learned {
        return say("live-no-result");
    }
    with_unit(&learned_number(v, x), shown_units().unit(&v.unit))
}

/// A metric value and its unit, in the units shown; other units stay.
pub(super) fn in_shown_units(x: f64, unit: &str) -> (f64, &str) {
    let units = shown_units();
    if units.unit(unit) == unit { (x, unit) } else { (units.quantity(x, unit).0, units.unit(unit)) }
}

/// True for values that the module counts up and down while it runs: nobody sets them.
fn is_counted(v: &LearnedStatus) -> bool {
    matches!(v.name.as_str(), "battery_age" | "battery_charge")
}

/// Who wrote a learned value last, and when.
pub fn written(v: &LearnedStatus) -> String {
    match v.written_by {
        _ if is_counted(v) => say("written-counted"),
        Writer::Delivered => facts::writer(Writer::Delivered),
        Writer::Factory => say("written-at-works"),
        by if v.written_s < 0.0 => say!("written-before", who = facts::writer(by)),
        by => say!("written-at", who = facts::writer(by), at = minutes(v.written_s, false)),
    }
}

/// The history of a learned value.
pub(super) fn history(v: &LearnedStatus) -> String {
    let when = if v.written_s < 0.0 {
        say("history-when-before")
    } else {
        say!("history-when-at", at = minutes(v.written_s, false))
    };
    match v.written_by {
        _ if is_counted(v) => say("history-counted"),
        Writer::Delivered => say("history-never"),
        Writer::Factory => say("history-works"),
        Writer::Ordinary => say!("history-ordinary", when = when),
        Writer::Reset => say!("history-reset", when = when),
        Writer::PowerCut => say!("history-power", when = when),
        by => say!("history-other", who = facts::writer(by), when = when),
    }
}

/// The states of a code in words.
pub fn code_states(c: &CodeStatus) -> String {
    let all =
        [("state-pending", c.pending), ("state-confirmed", c.confirmed), ("state-permanent", c.permanent)];
    let on: Vec<String> = all.iter().filter(|s| s.1).map(|s| say(s.0)).collect();
    if on.is_empty() { say("state-healed") } else { on.join(", ") }
}

pub(super) fn lamp_words(lamp: Lamp) -> String {
    say(match lamp {
        Lamp::Off => "lamp-off",
        Lamp::On => "lamp-on",
        Lamp::Blink => "lamp-flashing",
    })
}

/// The warning lamps besides the MIL, by the messages that name them, and whether each is lit for a fault.
pub(super) fn other_lamps(o: &Observation) -> [(&'static str, bool); 2] {
    [("seen-charge-lamp", o.charge_fault()), ("seen-hot-lamp", o.hot_lamp)]
}

pub(super) fn lid_words(open: bool) -> String {
    say(if open { "lid-open" } else { "lid-closed" })
}

/// The deviation of idle speed from its target.
pub(super) fn against(mean_rpm: f64, target_rpm: f64) -> String {
    let off = (mean_rpm - target_rpm).round();
    let target = number(target_rpm, 0);
    match off {
        o if o >= 5.0 => say!("idle-over-target", off = number(o, 0), target = target),
        o if o <= -5.0 => say!("idle-under-target", off = number(-o, 0), target = target),
        _ => say!("idle-on-target", target = target),
    }
}

/// Lambda by bank.
pub(super) fn lambda_words(all: &[f64]) -> String {
    let one = |l: &f64| if *l > 0.0 { number(*l, 3) } else { say("lambda-cold") };
    match all {
        [a, b] => say!("lambda-two", a = one(a), b = one(b)),
        all => all.iter().map(one).collect::<Vec<_>>().join(", "),
    }
}

/// The name of a part, with its cylinder or bank if there are several, or which sensor it is.
pub(super) fn part_words(kind: PartKind) -> String {
    match (kind, kind.which()) {
        (PartKind::Sensor(sensor), _) => say!("part-one-sensor", sensor = name("sensor", sensor.name())),
        (_, Some(n)) => name("part", &format!("{}_{n}", kind.name())),
        _ => name("part", kind.name()),
    }
}

/// A connector.
pub fn connector_words(c: Connector) -> String {
    let all = Connector::named(u8::MAX);
    all.iter().find(|(_, of)| *of == c).map_or_else(String::new, |(id, _)| name("connector", id))
}

/// A workshop tool, and its test point or the thing looked at.
pub(super) fn tool_words(tool: Tool) -> String {
    let instrument = tool.instrument();
    match tool {
        Tool::Voltmeter(p) | Tool::Scope(p) => {
            let at = match p {
                Point::Pin(sensor) => name("sensor", sensor.name()),
                p => name("point", &p.name()),
            };
            say!("measured-at", tool = name("tool", instrument), at = at)
        }
        Tool::Inspect(l) => say!("measured-looked", at = name("look", l.name())),
        Tool::ClampOn(lead) => {
            say!("measured-round", tool = name("tool", instrument), at = name("lead", lead.name()))
        }
        Tool::Compression(k) | Tool::LeakDown(k) => {
            say!("measured-cylinder", tool = name("tool", instrument), n = k)
        }
        _ => name("tool", instrument),
    }
}

// ---------------------------------------------------------------------------------------------------
// Expectations
// ---------------------------------------------------------------------------------------------------

/// Suffixes of keys, and their units.
const UNITS: &[(&str, &str)] = &[
    ("_rpm", "rpm"),
    ("_g_s", "g/s"),
    ("_kpa", "kPa"),
    ("_deg", "°"),
    ("_pct", "%"),
    ("_um", "µm"),
    ("_mm2", "mm²"),
    ("_km_h", "km/h"),
    ("_c", "°C"),
    ("_v", "V"),
    ("_s", "s"),
];

/// The path of an expectation, in words.
pub(super) fn path_words(path: &str) -> String {
    let seg: Vec<&str> = path.split('.').collect();
    match seg.as_slice() {
        ["learned", id, "value"] => learned_words(id),
        ["learned", id, "gates", gate, "open"] => {
            say!("path-gate-open", of = learned_words(id), gate = name("gate", gate))
        }
        ["learned", id, rest @ ..] => say!("path-of", of = learned_words(id), what = keys_words(rest)),
        ["codes", code, rest @ ..] => say!("path-code", code = *code, what = keys_words(rest)),
        ["live" | "job", rest @ ..] => keys_words(rest),
        [first, rest @ ..] if !rest.is_empty() => {
            say!("path-of", of = key_words(first), what = keys_words(rest))
        }
        _ => keys_words(&seg),
    }
}

fn keys_words(keys: &[&str]) -> String {
    keys.iter().map(|k| key_words(k)).collect::<Vec<_>>().join(", ")
}

/// A key of a path: its own message, otherwise the id with its unit split off.
fn key_words(key: &str) -> String {
    let named = |id: &str| {
        let base = id.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('_');
        let known = |id: &str| Words::english().has(&message_of("key-of", id));
        if known(id) || known(&format!("{base}_n")) { name("key-of", id) } else { id_words(id) }
    };
    match UNITS.iter().find_map(|(tail, unit)| Some((key.strip_suffix(tail)?, *unit))) {
        // an expectation's limits are the author's, so its value is told in the author's unit
        Some((base, unit)) => say!("path-unit", what = named(base), unit = unit),
        None => named(key),
    }
}

/// The unit of a path's value, by its last key.
pub(super) fn unit_of(path: &str) -> Option<&'static str> {
    UNITS.iter().find(|(tail, _)| path.ends_with(tail)).map(|u| u.1)
}

/// The measured value; a number has one digit more than its unit normally has, so that a value at the edge of a rule
/// can be judged.
pub(super) fn measured_words(path: &str, measured: &Value) -> String {
    match (measured.as_f64(), unit_of(path)) {
        (Some(x), Some(unit)) => number(x, decimals(unit) + 1),
        (Some(x), None) => tidy(&format!("{x:.3}")),
        (None, _) => facts::value(measured),
    }
}

/// Shortens a number that is too long to read, and gives any number a true minus sign; other text is unchanged.
pub(super) fn tidy(text: &str) -> String {
    match text.parse::<f64>() {
        Ok(x) if x.is_finite() && text.len() > 7 => number(x, if x.abs() >= 100.0 { 1 } else { 3 }),
        Ok(x) if x.is_finite() => number(x, text.split_once('.').map_or(0, |(_, decimals)| decimals.len())),
        _ => text.into(),
    }
}
