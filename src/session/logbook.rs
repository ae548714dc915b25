//! The contents of a logbook, written and read back: a first line that says what was run, a line for everything that
//! was done and decided, and a last line that says how the run ended.
//!
//! *Inside*: the format, and distinguishing a logbook of this version from anything else. *Outside*: whether it is
//! consistent ([`crate::session::replay`]), files.
//!
//! Every number is written so that it reads back as the same bits. The last line carries a checksum over all text
//! before it. The checksum is not secret: it detects accidents and clumsy changes; that a changed act has other
//! consequences is detected by running the logbook again.
#![expect(clippy::result_large_err, reason = "told once for a file, never in a loop that counts")]

use crate::bench::record::{self, Entry, Kind};
use crate::bench::setup::Setup;
use crate::scenario::Who;
use crate::session::verdict::{Reason, short};
use crate::session::{Options, Run};
use serde::Deserialize;
use serde_json::{Value, json};

/// Version of a logbook's format.
pub const LOGBOOK_SCHEMA: u64 = 4;

/// The data of a header besides the setup.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heading<'a> {
    /// The scenario's id.
    pub id: &'a str,
    /// Its text.
    pub text: &'a str,
    /// The car's short name.
    pub car: &'a str,
    /// The setup as it was run.
    pub setup: &'a Setup,
    /// The lid was open.
    pub lid_open: bool,
    /// Somebody worked by hand.
    pub live: bool,
    /// When the car was handed over \[s\].
    pub hand_over_s: f64,
    /// The trainee whose variant it was.
    pub who: Option<&'a Who>,
    /// Id and text of the trainee's file.
    pub actions: Option<(&'a str, &'a str)>,
}

impl Heading<'_> {
    /// The first line.
    pub(super) fn json(&self) -> Value {
        let mut header = json!({
            "idlewright": env!("CARGO_PKG_VERSION"),
            "schema": LOGBOOK_SCHEMA,
            "physics": record::PHYSICS,
            "sources": crate::store::SOURCES,
            "scenario": { "id": self.id, "hash": record::hash_of_text(self.text) },
            "car": { "name": self.car, "hash": record::hash_of_text(&self.setup.car_toml) },
            "class_seed": self.who.map(|w| w.class_seed),
            "trainee": self.who.map(|w| w.trainee.as_str()),
            "ticket": self.who.and_then(|w| w.seal.as_deref()).map(|seal| json!({ "seal": seal })),
            "seed": self.setup.seed,
            "step_deg": self.setup.step_deg,
            "lid": if self.lid_open { "open" } else { "closed" },
            "hand_over_s": self.hand_over_s,
        });
        if let Some((id, text)) = self.actions {
            header["actions"] = json!({ "id": id, "hash": record::hash_of_text(text), "text": text });
        }
        if self.live {
            header["live"] = json!(true);
        }
        if self.lid_open {
            header["scenario"]["text"] = json!(self.text);
            header["car"]["text"] = json!(self.setup.car_toml);
        }
        header
    }
}

/// First line of a run's logbook: identifies what was run by hashes; holds the scenario's text only under an open
/// lid.
pub fn logbook_header(run: &Run, scenario_text: &str, actions_text: Option<&str>) -> Value {
    let id = run.actions.as_ref().map_or("", |a| a.about.id.as_str());
    Heading {
        id: &run.scenario.about.id,
        text: scenario_text,
        car: run.bench.car_name().0,
        setup: run.bench.setup(),
        lid_open: run.lid_open,
        live: run.live,
        hand_over_s: run.hand_over_s,
        who: run.scenario.vary.who.as_ref(),
        actions: actions_text.map(|text| (id, text)),
    }
    .json()
}

/// The last line: how a run ended, and a checksum over the lines before it, joined by line feeds, and over itself.
pub(super) fn end_json(run: &Run, lines_before: &str) -> Value {
    let mut end = json!({
        "simulated_s": run.bench.time_s(),
        "state_hash": run.bench.state_hash(),
        "stopped": run.stopped,
    });
    end["sum"] = json!(sum_of(lines_before, &end));
    json!({ "end": end })
}

/// The checksum over a logbook's lines and the other contents of its last line.
fn sum_of(lines_before: &str, end: &Value) -> String {
    record::hash_of_text(&format!("{lines_before}\n{end}"))
}

/// A run's whole logbook.
pub fn logbook_text(run: &Run, scenario_text: &str, actions_text: Option<&str>) -> String {
    let header = logbook_header(run, scenario_text, actions_text);
    let mut before = header.to_string();
    for entry in &run.logbook() {
        before += "\n";
        before += &line_of(entry);
    }
    let end = end_json(run, &before);
    format!("{before}\n{end}\n")
}

/// An entry as written in a logbook.
pub(super) fn line_of(entry: &Entry) -> String {
    json!(entry).to_string()
}

/// Why a text cannot be read as a logbook of this program's version.
#[derive(Debug, Clone, PartialEq)]
pub enum Unfit {
    /// It is not a logbook.
    NotOne(Reason),
    /// Another version of the program wrote it.
    OtherVersion(Reason),
    /// It is a logbook, but no longer intact: line and reason.
    Broken(usize, Reason),
}

/// Identifies the scenario and the car's file.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Named {
    /// Id of a scenario, name of a car.
    #[serde(alias = "name")]
    pub id: String,
    /// Hash of its text.
    pub hash: String,
}

/// The trainee's file as the header carries it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct ActionsText {
    /// Its hash.
    pub hash: String,
    /// Its text.
    pub text: String,
}

#[derive(Deserialize)]
struct Header {
    sources: String,
    scenario: Named,
    car: Named,
    class_seed: Option<u64>,
    trainee: Option<String>,
    ticket: Option<Ticket>,
    seed: u64,
    step_deg: f64,
    lid: String,
    #[serde(default)]
    live: bool,
    actions: Option<ActionsText>,
}

/// The ticket as the header carries it: its other contents are in the header anyway.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Ticket {
    /// Its seal.
    pub seal: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct End {
    simulated_s: f64,
    state_hash: String,
    stopped: bool,
    sum: String,
}

/// One line after the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Number of the line in the file, from 1.
    pub line: usize,
    /// Its text.
    pub text: String,
    /// When \[s\].
    pub t_s: f64,
    /// The entry, if it was caused by a person or the clock and not by the module: a replay does it again.
    pub given: Option<Kind>,
}

/// A logbook as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Logbook {
    /// The sources of the program that wrote it: see [`crate::store::SOURCES`].
    pub sources: String,
    /// The scenario.
    pub scenario: Named,
    /// The car.
    pub car: Named,
    /// The trainee whose variant it was. None for the scenario as written.
    pub who: Option<Who>,
    /// The trainee's file.
    pub actions: Option<ActionsText>,
    /// Seed, step and lid of the run; no seed if a class seed determines it.
    pub options: Options,
    /// Text of the first line.
    pub header: String,
    /// The lines between the first and the last.
    pub lines: Vec<Written>,
    /// Number of the last line.
    pub end_line: usize,
    /// Text of the last line.
    pub end: String,
    /// When the run ended \[s\].
    pub simulated_s: f64,
    /// Hash of the final state.
    pub state_hash: String,
    /// It was stopped before its end.
    pub stopped: bool,
    /// The checksum in the last line is that of the lines before it.
    pub sum_holds: bool,
}

impl Logbook {
    /// Reads a logbook; a text that cannot be one of this version is distinguished from one that was changed.
    pub fn read(text: &str) -> Result<Self, Unfit> {
        let all: Vec<(usize, &str)> = text
            .split('\n')
            .map(|l| l.strip_suffix('\r').unwrap_or(l))
            .enumerate()
            .map(|(k, l)| (k + 1, l))
            .collect();
        // a final line feed ends a line and begins none
        let mut all = all.as_slice();
        while let [rest @ .., (_, "")] = all {
            all = rest;
        }
        let [(first_line, first), rest @ ..] = all else {
            return Err(Unfit::NotOne(Reason::Empty));
        };
        let header: Value = serde_json::from_str(first).map_err(|_| Unfit::NotOne(Reason::NoJson))?;
        let Some(version) = header.get("idlewright").and_then(Value::as_str) else {
            return Err(Unfit::NotOne(Reason::NoProgram));
        };
        let schema = header.get("schema").map_or("-".into(), Value::to_string);
        if schema != LOGBOOK_SCHEMA.to_string() {
            let (theirs, ours) = (short(&schema), LOGBOOK_SCHEMA);
            return Err(Unfit::OtherVersion(Reason::OtherForm { theirs, ours }));
        }
        if version != env!("CARGO_PKG_VERSION") {
            let (theirs, ours) = (short(version), env!("CARGO_PKG_VERSION"));
            return Err(Unfit::OtherVersion(Reason::OtherProgram { theirs, ours }));
        }
        let physics = header.get("physics").and_then(Value::as_str).unwrap_or("-");
        if physics != record::PHYSICS {
            let [theirs, ours] = [physics, record::PHYSICS].map(|t| t.chars().take(12).collect::<String>());
            return Err(Unfit::OtherVersion(Reason::OtherPhysics { theirs, ours }));
        }
        let head: Header = serde_json::from_value(header)
            .map_err(|e| Unfit::Broken(*first_line, Reason::Header { says: e.to_string() }))?;
        let lid_open = match head.lid.as_str() {
            "open" => true,
            "closed" => false,
            _ => return Err(Unfit::Broken(1, Reason::HeaderLid)),
        };
        if ![2.0, 1.0, 0.5].contains(&head.step_deg) {
            return Err(Unfit::Broken(1, Reason::HeaderStep));
        }
        let who = match (head.class_seed, &head.trainee) {
            (None, None) if head.ticket.is_none() => None,
            (Some(class_seed), Some(trainee)) => {
                let who = Who::new(class_seed, trainee, head.ticket.map(|t| t.seal));
                Some(who.map_err(|why| Unfit::Broken(1, Reason::HeaderTrainee(why)))?)
            }
            _ => return Err(Unfit::Broken(1, Reason::HeaderHalf)),
        };
        let cut = |line: usize| Unfit::Broken(line, Reason::CutOff);
        let Some(((end_line, end_text), rest)) = rest.split_last() else { return Err(cut(1)) };
        let end: Value = serde_json::from_str(end_text).map_err(|_| cut(*end_line))?;
        let end = end.get("end").ok_or_else(|| cut(*end_line))?;
        let end: End = serde_json::from_value(end.clone())
            .map_err(|e| Unfit::Broken(*end_line, Reason::End { says: e.to_string() }))?;
        let lines = rest.iter().map(|(k, l)| written(*k, l)).collect::<Result<Vec<_>, _>>()?;
        let mut before = (*first).to_string();
        for l in &lines {
            before += "\n";
            before += &l.text;
        }
        let said = json!({
            "simulated_s": end.simulated_s, "state_hash": end.state_hash, "stopped": end.stopped
        });
        let sum = sum_of(&before, &said);
        Ok(Self {
            sources: head.sources,
            scenario: head.scenario,
            car: head.car,
            actions: head.actions,
            options: Options {
                seed: if who.is_none() { Some(head.seed) } else { None },
                step_deg: Some(head.step_deg),
                lid_open,
                live: head.live,
                ..Options::default()
            },
            who,
            header: (*first).into(),
            lines,
            end_line: *end_line,
            end: (*end_text).into(),
            simulated_s: end.simulated_s,
            state_hash: end.state_hash,
            stopped: end.stopped,
            sum_holds: end.sum == sum,
        })
    }
}

/// What a first line claims about who did what, as far as it can be read; none of it is checked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Claims {
    /// The scenario.
    pub scenario: Option<Named>,
    /// The class's seed.
    pub class_seed: Option<u64>,
    /// The trainee.
    pub trainee: Option<String>,
    /// The ticket's seal.
    pub ticket: Option<Ticket>,
}

impl Claims {
    /// Reads the first line of a text.
    pub fn of(text: &str) -> Self {
        let first = text.split('\n').next().unwrap_or_default();
        let Ok(header) = serde_json::from_str::<Value>(first) else { return Self::default() };
        // an invalid part does not invalidate the others
        fn part<T: for<'d> Deserialize<'d>>(header: &Value, key: &str) -> Option<T> {
            header.get(key).and_then(|v| T::deserialize(v).ok())
        }
        Self {
            scenario: part(&header, "scenario"),
            class_seed: part(&header, "class_seed"),
            trainee: part(&header, "trainee"),
            ticket: part(&header, "ticket"),
        }
    }
    /// The claimed trainee, if the claim is valid.
    pub fn who(&self) -> Option<Who> {
        let seal = self.ticket.as_ref().map(|t| t.seal.clone());
        Who::new(self.class_seed?, self.trainee.as_deref()?, seal).ok()
    }
}

/// Reads one line between the first and the last.
fn written(line: usize, text: &str) -> Result<Written, Unfit> {
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Raw {
        t_s: f64,
        kind: Value,
    }
    let bad = |why: Reason| Unfit::Broken(line, why);
    let raw: Raw = serde_json::from_str(text).map_err(|_| bad(Reason::NoLine))?;
    if raw.kind.get("end").is_some() {
        return Err(bad(Reason::NoLine));
    }
    let given = ["act", "timed_out"].iter().any(|k| raw.kind.get(k).is_some());
    let given = if given {
        let kind: Kind = serde_json::from_value(raw.kind).map_err(|_| bad(Reason::UnknownAct))?;
        Some(kind)
    } else {
        None
    };
    Ok(Written { line, text: text.into(), t_s: raw.t_s, given })
}
