//! What was expected, in words, as the lid allows it.

use super::names::{measured_words, said, true_minus};
use super::sheet::{Line, Sheet};
use crate::words::say;

/// A judged expectation in words.
pub(super) struct Told<'l> {
    /// What was found.
    pub measured: String,
    /// What was wanted.
    pub rule: String,
    /// Why, in the author's words.
    pub why: &'l str,
}

/// Measured, rule and why of a line; of truth under a closed lid neither.
pub(super) fn told<'l>(sheet: &Sheet, line: &'l Line, hidden: &'l str) -> Told<'l> {
    if line.what.starts_with("truth.") && !sheet.lid_open {
        return Told { measured: say("line-hidden"), rule: say("line-hidden"), why: hidden };
    }
    let rule = line.rule.strip_prefix("is ").unwrap_or(&line.rule).trim_matches('"');
    Told {
        measured: true_minus(&measured_words(&line.what, &line.measured)),
        rule: true_minus(&said(rule)),
        why: &line.why,
    }
}

/// What stands in place of the author's reason while the lid hides it.
pub(super) fn hidden_why() -> String {
    say("line-hidden-why")
}

/// How many were met.
pub(super) fn verdict(sheet: &Sheet) -> String {
    let (met, all) = (sheet.met() as u32, sheet.lines.len() as u32);
    let id = match all {
        0 => "verdict-none",
        _ if met == all => "verdict-all",
        _ => "verdict-some",
    };
    let verdict = say!(id, met = met, all = all);
    if sheet.stopped { say!("verdict-stopped", verdict = verdict) } else { verdict }
}
