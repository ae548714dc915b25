//! Expectations in words, as far as the lid allows.

use super::names::measured_words;
use super::sheet::Sheet;
use crate::session::Judged;
use crate::words::{facts, say};

/// A judged expectation in words.
pub(super) struct Told {
    /// What was found.
    pub measured: String,
    /// What was wanted.
    pub asked: String,
    /// Why.
    pub why: String,
}

/// The measured value, the requirement and the reason of a judged expectation; for truth under a closed lid none of
/// them.
pub(super) fn told(sheet: &Sheet, judged: &Judged) -> Told {
    if judged.what.starts_with("truth.") && !sheet.lid_open {
        return Told { measured: say("line-hidden"), asked: say("line-hidden"), why: say("line-hidden-why") };
    }
    let hidden = judged.hidden && judged.measured.is_null();
    Told {
        measured: if hidden { say("line-hidden") } else { measured_words(&judged.what, &judged.measured) },
        asked: facts::asked(&judged.asked),
        why: facts::why(&judged.why),
    }
}

/// Met, and a lesson's own: under a closed lid neither what it is nor why is told.
pub(super) fn is_kept(judged: &Judged) -> bool {
    judged.met && judged.what == "hidden"
}

/// Whose expectations they are: an action file's own are judged in place of the scenario's.
pub(super) fn whose_words(sheet: &Sheet) -> String {
    say(if sheet.actions.is_some() { "expectations-acts" } else { "expectations-scenario" })
}

/// The number of expectations met.
pub(super) fn verdict(sheet: &Sheet) -> String {
    let (met, all) = (sheet.met() as u32, sheet.lines.len() as u32);
    let id = match all {
        0 => "verdict-none",
        _ if met == all && sheet.actions.is_some() => "verdict-all-acts",
        _ if met == all => "verdict-all",
        _ => "verdict-some",
    };
    let verdict = say!(id, met = met, all = all);
    if sheet.stopped { say!("verdict-stopped", verdict = verdict) } else { verdict }
}
