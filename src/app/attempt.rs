//! An attempt from files: everything is read and admitted before anything is simulated; then it is run to its end or
//! as a twin.
//!
//! *Inside*: the order in which things are read, and what the lid forbids. *Outside*: what a run is
//! ([`crate::session`]), how its results are presented ([`super::results`]).

use super::load::{self, Hands, Loaded, Rows};
use super::results::Results;
use super::trainee::Trainee;
use super::{Error, Files, NotKept, Options, Progress, Run, Stretch, VERSION, Wrong, shown};
use crate::lesson::Rubric;
use crate::report;
use crate::scenario::{Answers, Scenario, nearest};
use crate::session::twin::{Named, NoAct, Twin, named};
use crate::session::{self, Session};
use crate::store;
use crate::words::{facts, say};
use serde_json::json;

/// What is to be run, by file names.
#[derive(Debug, Clone, Copy, Default)]
pub struct Request<'a> {
    /// The scenario's file, or the name of a shipped one.
    pub scenario: &'a str,
    /// Who is working; this chooses the variant.
    pub trainee: Trainee<'a>,
    /// What a trainee does after hand-over.
    pub actions: Option<&'a str>,
    /// What a trainee answers when the session asks.
    pub answers: Option<&'a str>,
    /// Rows that override the rubric.
    pub rubric: Option<&'a str>,
    /// Seed, crank step, lid, cache.
    pub options: Options,
    /// The stretch of which the sound is wanted.
    pub hear: Option<Stretch>,
}

/// An attempt that is ready to start.
#[derive(Debug, Clone)]
pub struct Attempt {
    /// The scenario.
    pub loaded: Loaded,
    file: String,
    pub(super) hands: Option<Hands>,
    answers: Option<Answers>,
    rubric: Option<Rubric>,
    options: Options,
    hear: Option<Stretch>,
    pub(super) lid_open: bool,
}

/// A run and its inputs.
#[derive(Debug, Clone)]
pub struct Done {
    /// The run; it may have been stopped.
    pub run: Run,
    /// Why the conditioned car could not be cached, if it should have been.
    pub cache_trouble: Option<NotKept>,
    scenario: String,
    actions: Option<String>,
}

impl Done {
    /// The results, as text and as data.
    pub fn results(&self) -> Results<'_> {
        Results { run: &self.run, scenario: &self.scenario, actions: self.actions.as_deref() }
    }
}

/// Reads everything and refuses what the lid forbids; nothing is simulated.
pub fn prepare(files: &dyn Files, of: &Request<'_>) -> Result<Attempt, Error> {
    let loaded = load::scenario(files, of.scenario, &of.trainee)?;
    let hands =
        of.actions.map(|a| load::hands(files, a, &loaded).map_err(|e| near(files, of, a, &loaded, e)));
    let hands = hands.transpose()?;
    let lid_open = admit(of.scenario, &loaded, hands.as_ref(), &of.options)?;
    let answers = of.answers.map(|a| load::answers(files, a, &loaded)).transpose()?;
    let rubric = of.rubric.map(|r| Rows::read(files, r)?.over(&loaded, lid_open)).transpose()?;
    let (file, options) = (of.scenario.to_owned(), of.options);
    Ok(Attempt { loaded, file, hands, answers, rubric, options, hear: of.hear, lid_open })
}

/// The error for an action file that was not found, with the scenario's own file of that name if there is one: who
/// types `solution` means the one that belongs to this job.
fn near(files: &dyn Files, of: &Request<'_>, name: &str, loaded: &Loaded, error: Error) -> Error {
    let Error::Input(Wrong { help, place: None, mistake: None, .. }) = &error else { return error };
    let own = [
        load::Origin::find(files, of.scenario).map(|o| o.belonging(name)),
        Ok(format!("{}/{name}", loaded.scenario.about.id)),
    ];
    let own = own.into_iter().flatten().find(|own| load::has_actions(files, own));
    match (own, error.clone()) {
        (Some(own), Error::Input(wrong)) if help.as_ref() != Some(&own) => {
            Error::Input(Wrong { help: Some(own), ..wrong })
        }
        _ => error,
    }
}

impl Attempt {
    /// Runs to the end, or until `told` returns false.
    pub fn run(self, told: &mut dyn FnMut(Progress) -> bool) -> Result<Done, Error> {
        let session = self.begin(told)?;
        let cache_trouble = session.cache_trouble().cloned();
        let run = session.run(told);
        Ok(Done { run, cache_trouble, scenario: self.loaded.text, actions: self.hands.map(|h| h.text) })
    }

    /// The cautions of the job and of each act that is about to be done, for a terminal.
    pub fn cautions(&self) -> String {
        let acts = self.hands.iter().flat_map(|h| &h.actions.acts).map(|a| (a.id.as_str(), &a.hand));
        let about = &self.loaded.scenario.about;
        report::cautions_text(&about.cautions, &report::act_cautions(acts))
    }

    /// The acts that these words name, each of them once.
    pub fn acts(&self, words: &[&str]) -> Result<Vec<Named>, Error> {
        let mut all: Vec<Named> = Vec::new();
        for word in words {
            let hands = self.hands.as_ref().map(|h| &h.actions);
            let act = named(word, &self.loaded.scenario, hands, self.lid_open).map_err(|why| {
                let help = match &why {
                    NoAct::InBoth { .. } => None,
                    NoAct::Unknown { of_actions, of_scenario, .. }
                    | NoAct::NotUnderLid { of_actions, of_scenario, .. } => {
                        nearest(word, &[of_actions.as_slice(), of_scenario].concat())
                    }
                };
                Error::Input(Wrong { help, ..Wrong::of(&self.file, facts::no_act(&why)) })
            })?;
            if !all.contains(&act) {
                all.push(act);
            }
        }
        Ok(all)
    }

    /// Refuses traces that do not exist, and true values under a closed lid.
    pub fn may_draw(&self, traces: &[String]) -> Result<(), Error> {
        report::twin_traces(traces, self.lid_open).map(drop).map_err(Error::rule)
    }

    /// Runs to the first of these acts and from there in two futures, one with the acts and one without them.
    pub fn twin(self, left_out: &[Named], told: &mut dyn FnMut(Progress) -> bool) -> Result<TwinDone, Error> {
        let session = self.begin(told)?;
        let cache_trouble = session.cache_trouble().cloned();
        let twin = session.twin(left_out, told).ok_or(Error::Stopped)?;
        Ok(TwinDone { twin, cache_trouble })
    }

    /// A session at its start, after the car's earlier life was driven.
    fn begin(&self, told: &mut dyn FnMut(Progress) -> bool) -> Result<Session, Error> {
        let hands = self.hands.as_ref();
        let mut session = begin(&self.file, &self.loaded.scenario, hands, &self.options, told)?;
        if let Some(answers) = &self.answers {
            session = session.with_answers(answers.clone());
        }
        if let Some(rubric) = &self.rubric {
            session = session.by_rubric(rubric.clone());
        }
        if let Some(stretch) = self.hear {
            session = session.hearing(stretch);
        }
        Ok(session)
    }
}

/// A session at its start, after the car's earlier life was driven.
pub(super) fn begin(
    file: &str,
    scenario: &Scenario,
    hands: Option<&Hands>,
    options: &Options,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Session, Error> {
    match Session::new(scenario, hands.map(|h| &h.actions), options, told) {
        Ok(s) => Ok(s),
        Err(session::Error::Bench(crate::bench::Error::Stopped)) => Err(Error::Stopped),
        Err(e) => Err(Error::of(file, facts::session(&e))),
    }
}

/// Refuses what the lid forbids, with the place in the file that asked for it; returns whether the lid is open.
fn admit(file: &str, loaded: &Loaded, hands: Option<&Hands>, options: &Options) -> Result<bool, Error> {
    match session::admit(&loaded.scenario, hands.map(|h| &h.actions), options) {
        Ok(lid_open) => may_name(loaded, hands, lid_open).map(|()| lid_open),
        Err(e) => Err(match (&e, hands) {
            (session::Error::AsksForTruth(place, _), Some(h)) => {
                Error::at(&h.file, *place, facts::session(&e))
            }
            _ => Error::of(file, facts::session(&e)),
        }),
    }
}

/// While the lid is closed, an action file may not name what differs from trainee to trainee: the name of the act
/// would give it away. Shipped files may, with the scenario as it ships, because everybody can read them.
pub(super) fn may_name(loaded: &Loaded, hands: Option<&Hands>, lid_open: bool) -> Result<(), Error> {
    let Some((hands, (place, raw))) = hands.and_then(|h| h.actions.names.as_ref().map(|n| (h, n))) else {
        return Ok(());
    };
    let ships = || store::SCENARIOS.iter().flat_map(|s| s.actions).any(|(_, text)| *text == hands.text);
    if lid_open || (loaded.scenario.vary.who.is_none() && ships()) {
        return Ok(());
    }
    Err(Error::at(&hands.file, *place, say!("app-names-what-differs", name = shown(raw))))
}

/// Two futures of one attempt, run to their ends.
#[derive(Debug, Clone)]
pub struct TwinDone {
    /// Both runs.
    pub twin: Twin,
    /// Why the conditioned car could not be cached, if it should have been.
    pub cache_trouble: Option<NotKept>,
}

impl TwinDone {
    fn pair<T>(&self, then: impl FnOnce(&report::Pair<'_>) -> T) -> T {
        let ids: Vec<String> = self.twin.left_out.iter().map(|a| a.id.clone()).collect();
        super::results::with_sheet(&self.twin.done, |done| {
            super::results::with_sheet(&self.twin.without, |without| {
                then(&report::Pair { done, without, left_out: &ids, forked_s: self.twin.forked_s })
            })
        })
    }
    /// Both runs as a table for a terminal.
    pub fn table(&self) -> String {
        self.pair(report::twin_table)
    }
    /// Both runs as an HTML page.
    pub fn page(&self) -> String {
        self.pair(report::twin_html)
    }
    /// A chart of both runs with the named traces; the names are those in `trace.csv`.
    pub fn picture(&self, traces: &[String]) -> Result<String, Error> {
        self.pair(|p| report::twin_svg(p, traces)).map_err(Error::rule)
    }
    /// Both runs as data.
    pub fn json(&self) -> serde_json::Value {
        self.pair(|pair| {
            json!({
                "schema": session::JSON_SCHEMA,
                "version": VERSION,
                "scenario": pair.done.id,
                "seed": pair.done.seed,
                "left_out": pair.left_out,
                "forked_s": pair.forked_s,
                "same": self.twin.same(),
                "differences": pair.differences(),
                "done": super::results::json(&self.twin.done),
                "without": super::results::json(&self.twin.without),
            })
        })
    }
}

/// The message for a conditioned car that could not be cached.
pub fn not_kept(why: &NotKept) -> String {
    say!("app-not-kept", folder = why.folder.as_str(), why = why.says.as_str())
}
