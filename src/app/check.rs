//! Checking scenario and action files without running them.

use super::load::{Origin, check_end, hands_of, read};
use super::{Error, Files};
use crate::scenario::{self, Who};
use crate::store;
use crate::words::say;
use std::path::Path;

/// A file that was found good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// Its id.
    pub id: String,
    /// It is a scenario; the others are actions.
    pub scenario: bool,
    /// Of actions the scenario that they were read against; none if none was found, which leaves paths, cylinders and
    /// names unjudged.
    pub against: Option<String>,
    /// Acts.
    pub acts: usize,
    /// Expectations.
    pub expectations: usize,
}

/// Checks one file, or a shipped one, as somebody gets it.
pub fn check(files: &dyn Files, name: &str, who: Option<&Who>) -> Result<Checked, Error> {
    let shipped = store::shipped(name).map(|s| (s.file, s.text)).or_else(|| store::shipped_actions(name));
    let (file, bytes, _) = read(files, name, shipped)?;
    let of = scenario_of(files, &file);
    if !is_action_file(&bytes, of.is_some()) {
        let s = Origin::find(files, name)?.read(who)?.scenario;
        let (acts, expectations) = (s.acts.len(), s.expects.len());
        return Ok(Checked { id: s.about.id, scenario: true, against: None, acts, expectations });
    }
    let (against, actions) = match of {
        Some(of) => {
            let of = Origin::find(files, &of)?.read(who)?;
            let hands = hands_of(&file, &bytes, &of)?;
            (Some(of.scenario.about.id), hands.actions)
        }
        None => {
            // paths, cylinders, causes and names drawn are the scenario's: without one they cannot be judged
            let actions = scenario::parse_actions_bytes(&bytes, &file).map_err(|e| alone(e.into()))?;
            check_end(&file, actions.run_s, &actions.acts, &actions.expects)?;
            (None, actions)
        }
    };
    let (acts, expectations) = (actions.acts.len(), actions.expects.len());
    Ok(Checked { id: actions.about.id, scenario: false, against, acts, expectations })
}

/// The same error, with that no scenario was there.
fn alone(e: Error) -> Error {
    match e {
        Error::Input(w) => Error::rule(say!("app-alone", why = w.to_string())),
        other => other,
    }
}

/// An action file's scenario: the file beside it whose name goes up to the first dot, or the shipped one of that name.
fn scenario_of(files: &dyn Files, file: &str) -> Option<String> {
    let file = Path::new(file);
    let own = format!("{}.toml", file.file_name()?.to_str()?.split('.').next()?);
    let beside = file.with_file_name(&own);
    if beside == file {
        return None;
    }
    if files.has(beside.to_str()?) {
        return beside.to_str().map(str::to_owned);
    }
    store::shipped(&own).map(|s| s.file.to_owned())
}

/// An action file names no car. Where no scenario is found for it, it must have acts, and no more of a start than an
/// action file may have: else it may be a scenario half written.
fn is_action_file(bytes: &[u8], known: bool) -> bool {
    let Some(t) = std::str::from_utf8(bytes).ok().and_then(|t| t.parse::<toml::Table>().ok()) else {
        return false;
    };
    let keys = |section: &str| t.get(section).and_then(|s| s.as_table()).into_iter().flat_map(|s| s.keys());
    let names_car = keys("setup").any(|k| k == "car") || keys("about").any(|k| k == "complaint");
    !names_car && (known || (t.contains_key("act") && keys("setup").all(|k| k == "run_s")))
}
