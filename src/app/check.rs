//! Checking files without running them: scenarios and the files in their folders.

use super::load::{self, Loaded, Origin, Rows, SCENARIO, check_end, hands_of};
use super::{Error, Files};
use crate::bench::car::Car;
use crate::scenario::{self, Who};
use crate::store;
use crate::words::{facts, say};
use std::path::Path;

/// The kind of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A scenario.
    Scenario,
    /// Acts.
    Actions,
    /// Answers to a scenario's questions.
    Answers,
    /// Rows that override a rubric.
    Rubric,
    /// A car.
    Car,
}

impl Kind {
    /// Its id, for the message that names it.
    pub fn id(self) -> &'static str {
        match self {
            Kind::Scenario => "scenario",
            Kind::Actions => "actions",
            Kind::Answers => "answers",
            Kind::Rubric => "rubric",
            Kind::Car => "car",
        }
    }
}

/// A file that passed the check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// Its kind.
    pub kind: Kind,
    /// Its id; empty for answers and a rubric, which have none.
    pub id: String,
    /// The scenario that it was checked against. Without one, whatever only a scenario can decide remains unchecked:
    /// paths, cylinders, questions, causes.
    pub against: Option<String>,
    /// Number of acts.
    pub acts: usize,
    /// Number of expectations.
    pub expectations: usize,
    /// For an action file in its scenario's folder: the cautions of its acts, by key, that the scenario does not name.
    pub not_named: Vec<&'static str>,
}

/// Checks one file, or a shipped one, in the variant that this trainee gets. A file with no scenario in its folder is
/// checked against the scenario `given`.
pub fn check(
    files: &dyn Files,
    name: &str,
    who: Option<&Who>,
    given: Option<&str>,
) -> Result<Checked, Error> {
    let origin = Origin::find(files, name).or_else(|e| load::actions(files, name).map_err(|_| e))?;
    let own = scenario_of(files, &origin.file);
    // who works on somebody else's scenario cannot add cautions to it
    let authors = own.is_some();
    let of = own.or(given.filter(|g| *g != name).map(str::to_owned));
    let kind = kind_of(&origin.bytes, of.is_some());
    if kind == Kind::Scenario {
        let s = origin.read(who)?.scenario;
        let (acts, expectations) = (s.acts.len(), s.expects.len());
        return Ok(Checked {
            kind,
            id: s.about.id,
            against: None,
            acts,
            expectations,
            not_named: Vec::new(),
        });
    }
    let of = match of {
        Some(of) if kind != Kind::Car => Some(Origin::find(files, &of)?.read(who)?),
        _ => None,
    };
    let (mut id, mut acts, mut expectations) = (String::new(), 0, 0);
    let mut not_named = Vec::new();
    match kind {
        Kind::Answers => load::parse_answers(&origin.text(), &origin.file, of.as_ref()).map(|_| ())?,
        Kind::Rubric => {
            let rows = Rows::parse(&origin.text(), &origin.file)?;
            of.as_ref().map(|of| rows.over(of, true)).transpose()?;
        }
        Kind::Car => {
            id = Car::parse(&origin.text()).map_err(|e| Error::of(&origin.file, facts::car(&e)))?.name
        }
        _ => {
            let actions = actions(&origin, of.as_ref())?;
            (acts, expectations) = (actions.acts.len(), actions.expects.len());
            let of = of.as_ref().filter(|_| authors);
            not_named = of.map(|of| of.scenario.about.lacks(&actions.acts)).unwrap_or_default();
            id = actions.about.id;
        }
    }
    Ok(Checked { kind, id, against: of.map(|of| of.scenario.about.id), acts, expectations, not_named })
}

/// The scenario among these files, for those that have none in their folder; none if there are several.
pub fn scenario_among<'a>(files: &dyn Files, names: &'a [String]) -> Option<&'a str> {
    let is_one =
        |name: &&String| Origin::find(files, name).is_ok_and(|o| kind_of(&o.bytes, false) == Kind::Scenario);
    let mut all = names.iter().filter(is_one);
    let first = all.next()?;
    all.next().is_none().then_some(first)
}

/// Reads an action file against its scenario, or without one for its form alone: paths, cylinders, causes and the
/// names of drawn values belong to the scenario.
fn actions(origin: &Origin, of: Option<&Loaded>) -> Result<scenario::ActionFile, Error> {
    let Origin { file, bytes, .. } = origin;
    if let Some(of) = of {
        return Ok(hands_of(file, bytes, of)?.actions);
    }
    let actions = scenario::parse_actions_bytes(bytes, file).map_err(|e| alone(e.into()))?;
    check_end(file, actions.run_s, &actions.acts, &actions.expects)?;
    Ok(actions)
}

/// The same error, with the note that there was no scenario.
fn alone(e: Error) -> Error {
    match e {
        Error::Input(w) => Error::rule(say!("app-alone", why = w.to_string())),
        other => other,
    }
}

/// The scenario of a file in a folder: the one beside it, or the shipped one that has the folder's name.
fn scenario_of(files: &dyn Files, file: &str) -> Option<String> {
    let file = Path::new(file);
    let beside = file.with_file_name(SCENARIO);
    if beside == file {
        return None;
    }
    if files.has(beside.to_str()?) {
        return beside.to_str().map(str::to_owned);
    }
    let folder = file.parent()?.file_name()?.to_str()?;
    store::shipped(folder).map(|s| s.id.to_owned())
}

/// The kind of a file, by its tables. An action file names no car. If no scenario is found for it, it must have acts,
/// and its start may hold no more than an action file's may; otherwise it may be a half-written scenario.
fn kind_of(bytes: &[u8], known: bool) -> Kind {
    let Some(t) = std::str::from_utf8(bytes).ok().and_then(|t| t.parse::<toml::Table>().ok()) else {
        return Kind::Scenario;
    };
    let has = |key: &str| t.contains_key(key);
    let keys = |section: &str| t.get(section).and_then(|s| s.as_table()).into_iter().flat_map(|s| s.keys());
    let names_car = keys("setup").any(|k| k == "car") || keys("about").any(|k| k == "complaint");
    let alike = !names_car && (known || (has("act") && keys("setup").all(|k| k == "run_s")));
    match () {
        () if has("about") && alike => Kind::Actions,
        () if has("about") || has("setup") || has("act") => Kind::Scenario,
        () if has("row") => Kind::Rubric,
        () if has("answer") || has("cause") || has("cautions") => Kind::Answers,
        () if has("engine") => Kind::Car,
        () => Kind::Scenario,
    }
}
