//! Loading scenarios, action files, answers and rubrics, from files or from what ships, and checking them against
//! each other.
//!
//! *Inside*: which text a name refers to; checks that need the car and the scenario. *Outside*: the form of the files
//! ([`crate::scenario`]).

use super::trainee::Trainee;
use super::{Error, Files, Sort, Unread, Wrong, bytes_of, shown, text_of};
use crate::bench::Bench;
use crate::bench::action::{Action, Note, Said};
use crate::bench::car::{Car, NoCar};
use crate::lesson::{self, Rubric};
use crate::scenario::{
    self, Act, ActionFile, Answers, At, Expect, Mistake, Over, Place, RowPlan, Scenario, ScenarioError,
    Timing, Who, nearest,
};
use crate::session;
use crate::store;
use crate::words::{facts, say};
use std::borrow::Cow;
use std::path::{Path, PathBuf};

/// The name of a scenario's file in a folder of its own.
pub const SCENARIO: &str = "scenario.toml";

/// A file as stored. Which variant of a scenario is read is decided later.
#[derive(Debug, Clone)]
pub struct Origin {
    /// Its name.
    pub file: String,
    /// Its contents.
    pub bytes: Vec<u8>,
    /// The folder in which its car's file may lie.
    pub beside: Option<PathBuf>,
}

impl Origin {
    /// Finds a scenario: by file, by the folder that holds it, or a shipped one by its id.
    pub fn find(files: &dyn Files, name: &str) -> Result<Self, Error> {
        let in_folder = format!("{}/{SCENARIO}", name.trim_end_matches(['/', '\\']));
        if let Some(file) = [name, &in_folder].into_iter().find(|f| files.has(f)) {
            return Self::at(files, file);
        }
        match store::shipped(name) {
            Some(s) => Ok(Self { file: s.id.into(), bytes: s.text.into(), beside: None }),
            None => Err(missing(files, name, &ids())),
        }
    }
    fn at(files: &dyn Files, file: &str) -> Result<Self, Error> {
        let bytes = bytes_of(files, file, Sort::Text)?;
        Ok(Self { file: file.into(), bytes, beside: files.beside(file) })
    }
    /// The name of an action file that belongs to it: in the same folder, or shipped with it.
    pub fn belonging(&self, stem: &str) -> String {
        match self.beside {
            Some(_) => Path::new(&self.file).with_file_name(format!("{stem}.toml")).display().to_string(),
            None => format!("{}/{stem}", self.file),
        }
    }
    /// Reads the variant of a trainee; without a trainee, the scenario as written.
    pub fn read(&self, who: Option<&Who>) -> Result<Loaded, Error> {
        read_scenario(&self.file, &self.bytes, self.beside.as_deref(), who, &[])
    }
    /// Reads the scenario as written but for these numbers.
    pub(super) fn read_over(&self, over: &[Over]) -> Result<Loaded, Error> {
        read_scenario(&self.file, &self.bytes, self.beside.as_deref(), None, over)
    }
    /// Its text.
    pub fn text(&self) -> Cow<'_, str> {
        String::from_utf8_lossy(&self.bytes)
    }
}

/// A scenario that was read without error; other files are checked against it.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// Its contents.
    pub scenario: Scenario,
    /// Its text; the logbook carries its hash.
    pub text: String,
    pub(super) sample: serde_json::Value,
}

/// An action file that fits its scenario.
#[derive(Debug, Clone)]
pub struct Hands {
    /// Its name.
    pub file: String,
    /// Its contents.
    pub actions: ActionFile,
    /// Its text; the logbook carries it.
    pub text: String,
}

/// The scenario in the variant of the named trainee.
pub fn scenario(files: &dyn Files, name: &str, trainee: &Trainee<'_>) -> Result<Loaded, Error> {
    let origin = Origin::find(files, name)?;
    let who = trainee.who(files, &origin.text())?;
    origin.read(who.as_ref())
}

/// An action file, or a shipped one, checked against a scenario.
pub fn hands(files: &dyn Files, name: &str, of: &Loaded) -> Result<Hands, Error> {
    let Origin { file, bytes, .. } = actions(files, name)?;
    hands_of(&file, &bytes, of)
}

/// An action file as stored, named with or without its extension, or a shipped one.
pub(super) fn actions(files: &dyn Files, name: &str) -> Result<Origin, Error> {
    if let Some(file) = action_file(files, name) {
        return Origin::at(files, &file);
    }
    match store::shipped_actions(name) {
        Some((own, text)) => Ok(Origin { file: (*own).into(), bytes: (*text).into(), beside: None }),
        None => {
            let ship = store::SCENARIOS.iter().flat_map(|s| s.actions).map(|a| a.0);
            Err(missing(files, name, &ship.collect::<Vec<_>>()))
        }
    }
}

/// Whether such an action file exists, or one ships.
pub(super) fn has_actions(files: &dyn Files, name: &str) -> bool {
    action_file(files, name).is_some() || store::shipped_actions(name).is_some()
}

fn action_file(files: &dyn Files, name: &str) -> Option<String> {
    [name.to_owned(), format!("{name}.toml")].into_iter().find(|f| files.has(f))
}

/// Ids of the shipped scenarios.
pub(super) fn ids() -> Vec<&'static str> {
    store::SCENARIOS.iter().map(|s| s.id).collect()
}

/// The error for a name that was not found: why the file cannot be read, or the nearest shipped name.
pub(super) fn missing(files: &dyn Files, name: &str, ship: &[&str]) -> Error {
    // a missing file, and a folder without a scenario, are file errors
    let named = name.ends_with(".toml") || matches!(files.read(name, Sort::Text), Err(Unread::NoFile));
    if let (true, Err(e)) = (named, bytes_of(files, name, Sort::Text)) {
        return e;
    }
    // the name may have been typed with the family in front
    let without_family = name.split_once('/').map_or(name, |(_, rest)| rest);
    let help = ship.iter().find(|s| **s == without_family).map(|s| (*s).to_owned());
    let help = help.or_else(|| scenario::nearest(name, ship));
    Error::Input(Wrong { help, ..Wrong::of("", say!("app-nothing-ships", name = shown(name))) })
}

/// An action file from its bytes, checked against a scenario.
pub fn hands_of(file: &str, bytes: &[u8], of: &Loaded) -> Result<Hands, Error> {
    let actions = scenario::parse_actions_for(bytes, file, &of.scenario.vary)?;
    let paths = actions.check_paths(file, &of.sample, &Bench::known_codes());
    let notes = check_notes(file, &actions.acts, &of.scenario);
    ScenarioError::all([paths.err(), notes.err()].into_iter().flatten()).map_or(Ok(()), Err)?;
    check_end(file, actions.run_s, &actions.acts, &actions.expects)?;
    Ok(Hands { file: file.into(), actions, text: String::from_utf8_lossy(bytes).into_owned() })
}

/// A trainee's answers, checked against the scenario.
pub fn answers(files: &dyn Files, name: &str, of: &Loaded) -> Result<Answers, Error> {
    parse_answers(&text_of(files, name, Sort::Text)?, name, Some(of))
}

/// A trainee's answers, checked against the scenario if there is one.
pub(super) fn parse_answers(text: &str, file: &str, of: Option<&Loaded>) -> Result<Answers, Error> {
    let (answers, told) = scenario::parse_answers(text, file)?;
    if let Some(of) = of {
        check_told(file, told.iter().map(|t| (&t.note, t.place, t.says_place)), &of.scenario)?;
    }
    Ok(answers)
}

/// Rows that override the rubric, and the file that they come from.
#[derive(Debug, Clone)]
pub struct Rows {
    rows: Vec<RowPlan>,
    file: String,
}

impl Rows {
    /// A rubric file's rows.
    pub fn read(files: &dyn Files, name: &str) -> Result<Self, Error> {
        Self::parse(&text_of(files, name, Sort::Text)?, name)
    }
    pub(super) fn parse(text: &str, file: &str) -> Result<Self, Error> {
        let rows = scenario::parse_rubric(text, file)?;
        lesson::rows_can_be_met(&rows, file)?;
        Ok(Self { rows, file: file.into() })
    }
    /// The scenario's rubric with these rows applied; rows that check truth are included only for a reader who may
    /// see it.
    pub fn over(&self, of: &Loaded, sees_truth: bool) -> Result<Rubric, Error> {
        for row in &self.rows {
            row.check_paths(&self.file, &of.sample, &Bench::known_codes(), sees_truth)?;
        }
        let more = Some((self.rows.as_slice(), self.file.as_str()));
        Ok(session::teach::rubric(&of.scenario, &of.scenario.about.id, more)?)
    }
}

/// A scenario from its bytes, with the folder that may hold its car's file.
pub(super) fn read_scenario(
    file: &str,
    bytes: &[u8],
    beside: Option<&Path>,
    who: Option<&Who>,
    over: &[Over],
) -> Result<Loaded, Error> {
    let mut car = |name: &str| {
        let text = store::car_text(name, beside)?;
        Car::parse(&text).map_err(|why| NoCar::Wrong { car: name.into(), why })?;
        Ok(text)
    };
    let scenario = scenario::parse_scenario_over(bytes, file, &mut car, who, over)?;
    let sample = session::sample(&scenario).map_err(|e| Error::of(file, facts::session(&e)))?;
    scenario.check_paths(file, &sample, &Bench::known_codes())?;
    check_end(file, scenario.run_s, &scenario.acts, &scenario.expects)?;
    session::teach::rubric(&scenario, file, None)?;
    let then = scenario.plan.iter().flat_map(|plan| &plan.asks).flat_map(|ask| &ask.then);
    check_notes(file, scenario.acts.iter().chain(then), &scenario)?;
    let text = String::from_utf8_lossy(bytes).into_owned();
    Ok(Loaded { scenario, text, sample })
}

/// Nothing may be scheduled after the end: timed acts and expectations must lie before `run_s`.
pub(super) fn check_end(
    file: &str,
    run_s: Option<f64>,
    acts: &[Act],
    expects: &[Expect],
) -> Result<(), Error> {
    let Some(end_s) = run_s else { return Ok(()) };
    let late = |place: Place, what: String| {
        Err(Error::at(file, place, say!("app-after-the-end", what = what, end = end_s.to_string())))
    };
    for a in acts {
        if let Timing::At(t) = a.timing
            && t > end_s
        {
            return late(a.place, say!("app-act-at", act = a.id.as_str(), at = t.to_string()));
        }
    }
    for e in expects {
        if let At::Time(t) = e.at
            && t > end_s
        {
            return late(e.place, say!("app-expectation-at", at = t.to_string()));
        }
    }
    Ok(())
}

/// Answers in acts may name only questions and causes that the scenario has.
fn check_notes<'a>(
    file: &str,
    acts: impl IntoIterator<Item = &'a Act>,
    scenario: &Scenario,
) -> Result<(), ScenarioError> {
    let told = acts.into_iter().filter_map(|act| match &act.hand {
        Action::Note(note) => Some((note, act.hand_place, act.says_place)),
        _ => None,
    });
    check_told(file, told, scenario)
}

/// The same of answers that stand at these places: what names a cause or a question, and the answer itself.
fn check_told<'a>(
    file: &str,
    told: impl IntoIterator<Item = (&'a Note, Place, Place)>,
    scenario: &Scenario,
) -> Result<(), ScenarioError> {
    let wrong = told.into_iter().filter_map(|(note, place, says_place)| {
        let mistake = session::teach::check_note(scenario, note).err()?;
        let (place, help) = match (&mistake, note) {
            (Mistake::NoCause { keys, .. }, Note::Cause(id))
            | (Mistake::NoQuestion { keys, .. }, Note::Answer { ask: id, .. }) => (place, nearest(id, keys)),
            (Mistake::AnswerOneOf { one_of, .. }, Note::Answer { says: Said::Word(w), .. }) => {
                (says_place, nearest(w, one_of))
            }
            (Mistake::Answer { .. } | Mistake::AnswerOneOf { .. }, _) => (says_place, None),
            _ => (place, None),
        };
        Some(ScenarioError::at(file, place, mistake, help))
    });
    ScenarioError::all(wrong).map_or(Ok(()), Err)
}
