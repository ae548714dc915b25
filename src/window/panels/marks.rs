//! Marks and round times: what the time line and the traces write along their axes.

use crate::app::view;
use crate::session::desk::MarkName;
use crate::words::numbers::DAY_S;
use crate::words::say;

/// Name of a mark that was given none.
pub const UNNAMED: &str = "mark";

/// A mark's name in words that give away no value: marks are visible under a closed lid too.
pub fn mark_words(name: &MarkName) -> String {
    if *name == MarkName::Named(UNNAMED.into()) {
        return say("time-mark-unnamed");
    }
    view::mark_words(name, false)
}

/// As many whole words as fit into this many letters.
pub fn shortly(words: &str, most: usize) -> String {
    if words.chars().count() <= most {
        return words.into();
    }
    // a space right after the last letter that fits ends a whole word
    let cut: String = words.chars().take(most + 1).collect();
    let whole: String = match cut.rsplit_once(' ') {
        Some((before, _)) => before.into(),
        None => cut.chars().take(most).collect(),
    };
    format!("{}…", whole.trim_end_matches([':', ',']))
}

/// Round intervals between figures on the time line, and between grid lines behind traces \[s\].
const ROUND_S: [f64; 24] = [
    0.2,
    0.5,
    1.0,
    2.0,
    5.0,
    10.0,
    15.0,
    30.0,
    60.0,
    120.0,
    300.0,
    600.0,
    900.0,
    1800.0,
    3600.0,
    7200.0,
    21_600.0,
    DAY_S,
    2.0 * DAY_S,
    7.0 * DAY_S,
    14.0 * DAY_S,
    30.0 * DAY_S,
    60.0 * DAY_S,
    180.0 * DAY_S,
];

/// The finest round interval that divides a span of this length into at most this many parts \[s\].
pub fn round_s(long_s: f64, most: f64) -> f64 {
    ROUND_S.iter().copied().find(|s| long_s / s <= most).unwrap_or(365.0 * DAY_S)
}
