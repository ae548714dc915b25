//! Replaying one logbook: its scenario and files are found, it is run again, and the verdict is given.
//! [`super::verify`] does this for many.
#![expect(clippy::result_large_err, reason = "told once for a file, never in a loop that counts")]

use super::attempt::{begin, may_name};
use super::load::{Hands, Loaded, Origin, Rows, hands_of, read_scenario};
use super::results::{Results, grade_json, judged_json};
use super::{Error, Files, NotKept, Options, Progress, Run, Sort, VERSION, bytes_of, shown};
use crate::bench::record::{Entry, hash_of_text};
use crate::report::{entry_words, who_words};
use crate::scenario::{Lid, Who};
use crate::session::logbook::{Logbook, Unfit};
use crate::session::replay::Outcome;
use crate::session::verdict::{Answer, Reason, Verdict};
use crate::session::{self, JSON_SCHEMA};
use crate::store;
use crate::store::SOURCES;
use crate::words::numbers::minutes;
use crate::words::{facts, say};
use serde_json::{Value, json};

/// Options for replaying logbooks.
#[derive(Debug, Clone, Default)]
pub struct How {
    /// Scenarios that do not ship with the program.
    pub scenarios: Vec<Origin>,
    /// Rows that override the rubric.
    pub rubric: Option<Rows>,
    /// The debrief's reader may see truth.
    pub open: bool,
    /// Take conditioned cars from the user's cache.
    pub use_cache: bool,
}

impl How {
    /// Reads the named files.
    pub fn read(files: &dyn Files, scenarios: &[&str], rubric: Option<&str>) -> Result<Self, Error> {
        let scenarios = scenarios.iter().map(|s| Origin::find(files, s)).collect::<Result<_, _>>()?;
        let rubric = rubric.map(|r| Rows::read(files, r)).transpose()?;
        Ok(Self { scenarios, rubric, ..Self::default() })
    }
}

/// The result of replaying a logbook.
#[derive(Debug)]
pub enum Came {
    /// It was run again and is consistent.
    Out(Box<Out>),
    /// A verdict without a run.
    Verdict(Answer),
    /// It is not a logbook, and why.
    NoLogbook(Reason),
    /// The scenario or a file that it needs is not available: the scenario's id, and why.
    NotAtHand(String, Reason),
}

/// A consistent logbook's run.
#[derive(Debug)]
pub struct Out {
    /// The verdict.
    pub answer: Answer,
    /// The run.
    pub run: Run,
    /// The trainee's lid was open.
    pub lid_open: bool,
    /// Why the conditioned car could not be cached.
    pub cache_trouble: Option<NotKept>,
    scenario: String,
    actions: Option<String>,
}

impl Out {
    /// The results, as text and as data.
    pub fn results(&self) -> Results<'_> {
        Results { run: &self.run, scenario: &self.scenario, actions: self.actions.as_deref() }
    }
}

/// The verdict as data, with the run's data if there is a run.
pub fn json(answer: &Answer, run: Option<&Run>) -> Value {
    let mut v = json!(answer);
    v["why"] = json!(facts::reason(&answer.reason));
    if let Some(run) = run {
        v["scenario"] = json!(run.scenario.about.id);
        v["actions"] = json!(run.actions.as_ref().map(|a| a.about.id.as_str()));
        v["simulated_s"] = json!(run.bench.time_s());
        v["state_hash"] = json!(run.bench.state_hash());
        v["expectations"] = judged_json(&run.judged);
        v["grade"] = grade_json(run.grade.as_ref());
        super::results::add_cautions(&mut v, run);
    }
    let mut object = json!({ "schema": JSON_SCHEMA, "version": VERSION });
    if let (Value::Object(all), Value::Object(more)) = (&mut object, v) {
        all.extend(more);
    }
    object
}

/// Why a replay ended early: an error, or an outcome reached without a run.
enum Early {
    Trouble(Error),
    Came(Came),
}

impl From<Error> for Early {
    fn from(e: Error) -> Self {
        Early::Trouble(e)
    }
}

impl From<Answer> for Early {
    fn from(a: Answer) -> Self {
        Early::Came(Came::Verdict(a))
    }
}

/// A logbook's text.
pub fn text(files: &dyn Files, name: &str) -> Result<String, Error> {
    String::from_utf8(bytes_of(files, name, Sort::Logbook)?)
        .map_err(|_| Error::of(name, say!("app-no-logbook", why = say("app-not-utf8"))))
}

/// Reads a logbook's text, runs it again, and returns the outcome. A locked lid is opened for the reader only if the
/// instructor's key `unlocks` it. `before` is called just before anything is simulated.
pub fn judge(
    name: &str,
    text: &str,
    how: &How,
    unlocks: bool,
    before: &dyn Fn() -> Result<(), Error>,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Came, Error> {
    let book = match Logbook::read(text) {
        Ok(book) => book,
        Err(Unfit::NotOne(why)) => return Ok(Came::NoLogbook(why)),
        Err(Unfit::OtherVersion(why)) => {
            return Ok(Came::Verdict(Answer::new(Verdict::OtherVersion, None, why)));
        }
        Err(Unfit::Broken(line, why)) => return Ok(Came::Verdict(Answer::altered(line, why))),
    };
    match run_again(name, &book, how, unlocks, before, told) {
        Ok(out) => Ok(Came::Out(Box::new(out))),
        Err(Early::Came(came)) => Ok(came),
        Err(Early::Trouble(t)) => Err(t),
    }
}

fn run_again(
    name: &str,
    book: &Logbook,
    how: &How,
    unlocks: bool,
    before: &dyn Fn() -> Result<(), Error>,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Out, Early> {
    let loaded = find_scenario(book, &how.scenarios)?;
    if hash_of_text(&loaded.scenario.setup.car_toml) != book.car.hash {
        if book.sources != SOURCES {
            let why = Reason::OtherSources(Box::new(Reason::OtherCar));
            return Err(Answer::new(Verdict::OtherVersion, Some(1), why).into());
        }
        return Err(not_at_hand(book, Reason::OtherCar));
    }
    let hands = hands(book, &loaded)?;
    let actions = hands.as_ref().map(|h| &h.actions);
    let lid_open = session::admit(&loaded.scenario, actions, &book.options);
    if !lid_open.is_ok_and(|open| may_name(&loaded, hands.as_ref(), open).is_ok()) {
        return Err(Answer::altered(1, Reason::NoSuchLid).into());
    }
    before()?;
    let options = Options { use_cache: how.use_cache, ..book.options };
    if how.open && !unlocks && loaded.scenario.about.lid == Lid::Locked {
        return Err(Error::of(name, facts::session(&session::Error::Locked)).into());
    }
    let rubric =
        how.rubric.as_ref().map(|rows| rows.over(&loaded, how.open || book.options.lid_open)).transpose()?;
    let mut session = begin(name, &loaded.scenario, None, &options, told)?;
    let cache_trouble = session.cache_trouble().cloned();
    if let Some(rubric) = rubric {
        session = session.by_rubric(rubric);
    }
    if how.open {
        session = session.for_reader();
    }
    match session.replay(book, &loaded.text, actions, told) {
        Outcome::Consistent(answer, run) => {
            let (lid_open, scenario) = (book.options.lid_open, loaded.text);
            let actions = hands.map(|h| h.text);
            Ok(Out { answer, run: *run, lid_open, cache_trouble, scenario, actions })
        }
        Outcome::Differs(answer) => Err(answer.into()),
        Outcome::Stopped => Err(Error::Stopped.into()),
    }
}

/// The scenario with this hash, among those given and those that ship; none if it is among neither.
pub(super) fn of_hash(hash: &str, given: &[Origin], who: Option<&Who>) -> Result<Option<Loaded>, Error> {
    if let Some(origin) = given.iter().find(|o| hash_of_text(&o.text()) == hash) {
        return origin.read(who).map(Some);
    }
    let shipped = store::SCENARIOS.iter().find(|s| hash_of_text(s.text) == hash);
    shipped.map(|s| read_scenario(s.id, s.text.as_bytes(), None, who, &[])).transpose()
}

/// The scenario with the hash in the logbook.
fn find_scenario(book: &Logbook, given: &[Origin]) -> Result<Loaded, Early> {
    if let Some(loaded) = of_hash(&book.scenario.hash, given, book.who.as_ref())? {
        return Ok(loaded);
    }
    let why = match given {
        [] => Reason::GiveScenario,
        [one] => Reason::OtherScenario { file: one.file.clone() },
        _ => Reason::OtherScenarios,
    };
    Err(not_at_hand(book, why))
}

/// The run's inputs are not available. If the logbook's own checksum does not hold, that is reported instead.
fn not_at_hand(book: &Logbook, why: Reason) -> Early {
    if book.sum_holds {
        return Early::Came(Came::NotAtHand(shown(&book.scenario.id), why));
    }
    Answer::altered(1, Reason::ChangedText(Box::new(why))).into()
}

/// The trainee's file from the header, for its expectations.
fn hands(book: &Logbook, loaded: &Loaded) -> Result<Option<Hands>, Early> {
    let Some(text) = book.actions_text()? else { return Ok(None) };
    match hands_of("actions", text.as_bytes(), loaded) {
        Ok(hands) => Ok(Some(hands)),
        Err(_) => Err(Answer::altered(1, Reason::NoSuchActions).into()),
    }
}

/// The line that the replay gives and the logbook's own, in words; as they stand where they are no entries, or where their
/// words are the same.
pub fn differing(answer: &Answer) -> [Option<String>; 2] {
    let lines = [&answer.expected, &answer.found];
    let words = lines.map(|line| line.as_ref().map(|text| in_words(text).unwrap_or_else(|| text.clone())));
    if words[0] == words[1] { lines.map(Clone::clone) } else { words }
}

fn in_words(line: &str) -> Option<String> {
    let entry: Entry = serde_json::from_str(line).ok()?;
    let (who, what) = entry_words(&entry, false);
    let (at, who) = (minutes(entry.t_s, true), who_words(who));
    Some(say!("replay-entry", at = at, who = who, what = what))
}
