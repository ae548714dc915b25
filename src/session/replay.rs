//! Runs again what a logbook records, and says whether it comes to the same.
//!
//! *Inside*: the verdict. *Outside*: reading a logbook's form ([`crate::session::logbook`]), finding the
//! scenario and the car (command line).
//!
//! The car's earlier life and the scenario's own acts come from the scenario; what was done after hand-over
//! comes from the logbook, each act at its recorded time. Everything else that the logbook holds must then
//! come out again, line for line, and at the recorded end the same state. What was done cannot be doubted,
//! only what came of it: an act that was changed shows in the first line that no longer fits, or in the state
//! at the end. A line that a changed act leaves as it was (its name, a wait) shows in the sum of the last line.

use crate::bench::action::{Action, Connector, PartChoice};
use crate::bench::record::{Kind, hash_of_text};
use crate::link::{DiagRequest, Routine};
use crate::scenario::ActionFile;
use crate::scenario::MOST_A_DAY_MIN;
use crate::session::logbook::{Heading, Logbook, Written, end_json, line_of, short};
use crate::session::{Judged, Progress, Run, SAME_S, Session, visible};
use crate::store::SOURCES;
use crate::units;
use serde::Serialize;
use serde_json::Value;

/// An act is due so much before its recorded time, which stands on the end of a step: far less than the
/// shortest step, far more than a rounding \[s\].
pub(super) const SLACK_S: f64 = 5e-7;

/// How a logbook came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Verdict {
    /// Everything came out again.
    #[serde(rename = "consistent")]
    Consistent,
    /// Something did not.
    #[serde(rename = "altered")]
    Altered,
    /// It was written by another version, of which this one can say nothing.
    #[serde(rename = "other version")]
    OtherVersion,
}

/// The verdict with its reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Verdict.
    pub verdict: Verdict,
    /// Why, in one line.
    pub why: String,
    /// Line of the logbook, from 1, where it first differs.
    pub line: Option<usize>,
    /// What the replay came to there.
    pub expected: Option<String>,
    /// What the logbook says there.
    pub found: Option<String>,
}

impl Answer {
    /// Altered at a line, for a reason.
    pub fn altered(line: usize, why: &str) -> Self {
        Self { verdict: Verdict::Altered, why: why.into(), line: Some(line), expected: None, found: None }
    }
    /// What another build made may differ for that reason: nobody is told to have altered it.
    fn of(self, book: &Logbook) -> Self {
        if book.sources == SOURCES || self.verdict != Verdict::Altered {
            return self;
        }
        let why = format!("made by a build from other sources, and here {}", self.why);
        Self { verdict: Verdict::OtherVersion, why, ..self }
    }
    fn differs(line: usize, why: &str, expected: &str, found: &str) -> Self {
        let (expected, found) = (Some(short(expected)), Some(short(found)));
        Self { verdict: Verdict::Altered, why: why.into(), line: Some(line), expected, found }
    }
}

/// What a replay came to.
#[derive(Debug)]
pub enum Outcome {
    /// Everything came out again: the answer, and the run.
    Consistent(Answer, Box<Run>),
    /// It did not.
    Differs(Answer),
    /// Stopped before it was known.
    Stopped,
}

/// How far the lines have been compared.
struct Compare<'a> {
    book: &'a Logbook,
    same: usize,
}

impl Compare<'_> {
    /// Compares what has come out so far.
    fn upto(&mut self, s: &Session) -> Result<(), Answer> {
        let came = visible(s.bench.log(), s.own_lines, s.lid_open, &s.scenario);
        for entry in came.iter().skip(self.same) {
            let line = line_of(entry);
            match self.book.lines.get(self.same) {
                Some(w) if w.text == line => self.same += 1,
                Some(w) => {
                    let why = "this line does not come out; what was changed is this or an act before it";
                    return Err(Answer::differs(w.line, why, &line, &w.text));
                }
                None => {
                    let why = "a line is missing before the end";
                    return Err(Answer::differs(self.book.end_line, why, &line, &self.book.end));
                }
            }
        }
        Ok(())
    }
    /// Everything before this line has come out.
    fn all_before(&self, k: usize) -> Result<(), Answer> {
        match self.book.lines.get(self.same) {
            Some(w) if self.same < k => Err(Answer::differs(
                w.line,
                "this line does not come out; what was changed is this or an act before it",
                "nothing until the next act",
                &w.text,
            )),
            _ => Ok(()),
        }
    }
}

impl Session {
    /// On to a time, with nothing in the queue; false if told to stop.
    fn run_to(
        &mut self,
        to_s: f64,
        end_s: f64,
        told: &mut dyn FnMut(Progress) -> bool,
        compare: &mut Compare<'_>,
    ) -> Result<bool, Answer> {
        while self.bench.time_s() + SAME_S < to_s {
            if !told(Progress::Running { at_s: self.bench.time_s(), end_s, slow: self.bench.slow_word() }) {
                return Ok(false);
            }
            let lines = self.bench.log().len();
            self.step(to_s);
            if self.bench.log().len() != lines {
                compare.upto(self)?;
            }
        }
        Ok(true)
    }

    /// Runs a logbook again. The session is a fresh one of the logbook's scenario and options, without
    /// actions; `actions` is the trainee's file from the header, for its expectations and its title.
    pub fn replay(
        self,
        book: &Logbook,
        scenario_text: &str,
        actions: Option<&ActionFile>,
        told: &mut dyn FnMut(Progress) -> bool,
    ) -> Outcome {
        match self.replayed(book, scenario_text, actions, told) {
            Ok(Some((answer, run))) => Outcome::Consistent(answer, Box::new(run)),
            Ok(None) => Outcome::Stopped,
            Err(answer) => Outcome::Differs(answer.of(book)),
        }
    }

    fn replayed(
        mut self,
        book: &Logbook,
        scenario_text: &str,
        actions: Option<&ActionFile>,
        told: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<Option<(Answer, Run)>, Answer> {
        let cpu = cpu_time::ThreadTime::now();
        let ends_s = book.simulated_s;
        // hands are at work for two days at most, besides what the car stood or was driven on
        let alone_s: f64 = book.lines.iter().filter_map(|l| l.given.as_ref()).map(alone_s).sum();
        let own_s: f64 = self.scenario.acts.iter().map(|a| a.hand.alone_s()).sum();
        if !(0.0..=HANDS_S + alone_s + own_s).contains(&ends_s) {
            return Err(Answer::altered(book.end_line, "no run is that long"));
        }
        let mut compare = Compare { book, same: 0 };
        // the scenario's own part
        let mut cut_short = false;
        loop {
            if self.queue.acts.is_empty() {
                self.hand_over();
                break;
            }
            if self.bench.time_s() + SAME_S >= ends_s {
                cut_short = true;
                break;
            }
            let end_s = self.end_s();
            if !told(Progress::Running {
                at_s: self.bench.time_s(),
                end_s: end_s.max(ends_s),
                slow: self.bench.slow_word(),
            }) {
                return Ok(None);
            }
            self.step(end_s);
        }
        compare_header(&self, book, scenario_text, actions)?;
        compare.upto(&self)?;
        if !cut_short {
            if let Some(a) = actions {
                self.expect_of(a);
            }
            let from = compare.same;
            for (k, w) in book.lines.iter().enumerate().skip(from) {
                let Some(kind) = &w.given else { continue };
                self.check_time(w, ends_s)?;
                if !self.run_to(w.t_s - SLACK_S, ends_s, told, &mut compare)? {
                    return Ok(None);
                }
                compare.upto(&self)?;
                compare.all_before(k)?;
                self.do_again(kind, w, actions)?;
                compare.upto(&self)?;
            }
            if !self.run_to(ends_s - SLACK_S, ends_s, told, &mut compare)? {
                return Ok(None);
            }
        }
        let stopped = book.stopped;
        let mut run = self.finish(stopped, cpu.elapsed().as_secs_f64());
        run.actions = actions.cloned();
        compare.all_before(book.lines.len())?;
        compare_end(&run, book)?;
        let answer = Answer {
            verdict: Verdict::Consistent,
            why: format!("{} lines and the state at the end come out again", book.lines.len() + 2),
            line: None,
            expected: None,
            found: None,
        };
        Ok(Some((answer, run)))
    }

    /// An act of the logbook lies between the one before and the end.
    fn check_time(&self, w: &Written, ends_s: f64) -> Result<(), Answer> {
        let t = w.t_s;
        if t.is_finite() && t + SAME_S >= self.bench.time_s() && t <= ends_s + SAME_S {
            return Ok(());
        }
        Err(Answer::altered(w.line, "its time lies before the line above it or after the end"))
    }

    fn do_again(&mut self, kind: &Kind, w: &Written, actions: Option<&ActionFile>) -> Result<(), Answer> {
        match kind {
            Kind::Act { id, action } => {
                allowed(action).map_err(|why| Answer::altered(w.line, &why))?;
                let _ = self.hand(id, action, waits_s(id, action, actions));
            }
            Kind::TimedOut { id, condition } => {
                self.bench.timed_out(id, condition);
                let now = self.bench.time_s();
                self.card().stayed(now);
                let judged = actions.and_then(|a| self.vain(a, id, now));
                self.timeouts.extend(judged);
            }
            _ => {}
        }
        Ok(())
    }

    /// The judgement that a run makes of an act that waited in vain.
    fn vain(&self, actions: &ActionFile, id: &str, now: f64) -> Option<Judged> {
        let act = actions.acts.iter().find(|a| a.id == id)?;
        self.waited_in_vain(act, now)
    }
}

/// How long an act lets time pass \[s\]: the logbook leaves that to the trainee's file. It changes no state, only
/// the minutes on the job card.
fn waits_s(id: &str, action: &Action, actions: Option<&ActionFile>) -> f64 {
    let own = actions.and_then(|a| a.acts.iter().find(|a| a.id == id && a.hand == *action));
    own.map_or(0.0, |a| a.wait_s)
}

/// Longest that hands are at work on one car \[s\].
const HANDS_S: f64 = 2.0 * 86_400.0;

/// How long what was done leaves the car alone \[s\].
fn alone_s(kind: &Kind) -> f64 {
    if let Kind::Act { action, .. } = kind { action.alone_s() } else { 0.0 }
}

/// What no file and no hand could ask for is not done.
pub fn allowed(action: &Action) -> Result<(), String> {
    let range = |r: &units::Range, x: f64| r.check(x).map(|_| ());
    match action {
        Action::Pedal(pct) => range(&units::PEDAL_PCT, *pct),
        Action::Leak(mm2) => range(&units::LEAK_MM2, *mm2),
        Action::Connector(Connector::Injector(0) | Connector::Coil(0), _) => {
            Err("there is no cylinder 0".into())
        }
        Action::SwapInjectors(0, _)
        | Action::SwapInjectors(_, 0)
        | Action::CopyInjectorCode { cylinder: 0, .. }
        | Action::CopyInjectorCode { body: 0, .. }
        | Action::Ask(
            DiagRequest::WriteInjectorCode { cylinder: 0, .. } | DiagRequest::ReadInjectorCode(0),
        ) => Err("there is no cylinder 0".into()),
        Action::ExhaustLeak(mm2) => range(&units::EXHAUST_LEAK_MM2, *mm2),
        Action::Hold { rpm, nm, .. } => {
            range(&units::HOLD_RPM, *rpm)?;
            range(&units::HOLD_NM, *nm)
        }
        Action::Interrupt(_, pct) => range(&units::INTERRUPT_PCT, *pct),
        Action::Refuel(l) => range(&units::REFUEL_L, *l),
        Action::Accessory { amps, .. } => range(&units::ACCESSORY_A, *amps),
        Action::Rest(hours) => range(&units::REST_H, *hours),
        Action::DriveOn(life) => {
            range(&units::DRIVE_MIN, life.minutes)?;
            range(&units::LIFE_DAYS, f64::from(life.days))?;
            range(&units::LIFE_EACH, f64::from(life.each))?;
            let a_day = life.minutes * f64::from(life.trips);
            if !(1..=8).contains(&life.trips)
                || !(1..=7).contains(&life.days_a_week)
                || a_day > MOST_A_DAY_MIN
            {
                return Err("a day has 1 to 8 trips of 12 hours at most, a week 1 to 7 days".into());
            }
            Ok(())
        }
        Action::Ask(DiagRequest::EnterBatteryRecord { rated_ah, .. }) => range(&units::RATED_AH, *rated_ah),
        Action::Drive { minutes, .. } => range(&units::DRIVE_MIN, *minutes),
        Action::Ask(DiagRequest::Start(Routine::CommandIdle(rpm))) => {
            range(&units::IDLE_RPM, f64::from(*rpm))
        }
        Action::Sensor(_, ill) => {
            range(&units::SENSOR_OFFSET_V, ill.offset_v)?;
            range(&units::SENSOR_GAIN, ill.gain)?;
            range(&units::SENSOR_LAG_S, ill.lag_s)?;
            range(&units::SENSOR_NOISE_V, ill.noise_v)
        }
        Action::Fit(c) => {
            for key in PartChoice::KEYS {
                if let (Some(r), Some(x)) = (c.kind.range(key), c.said(key)) {
                    range(r, x)?;
                }
            }
            Ok(())
        }
        _ => Ok(()),
    }
}

/// The first line as a run of this scenario writes it.
fn compare_header(
    s: &Session,
    book: &Logbook,
    scenario_text: &str,
    actions: Option<&ActionFile>,
) -> Result<(), Answer> {
    let id = actions.map_or("", |a| a.about.id.as_str());
    let mut ours = Heading {
        id: &s.scenario.about.id,
        text: scenario_text,
        car: s.bench.car_name().0,
        setup: s.bench.setup(),
        lid_open: s.lid_open,
        live: s.live,
        hand_over_s: s.hand_over_s,
        who: s.scenario.vary.who.as_ref(),
        actions: book.actions.as_ref().map(|a| (id, a.text.as_str())),
    }
    .json();
    // other sources may well come to the same
    ours["sources"] = Value::from(book.sources.as_str());
    let text = ours.to_string();
    if text == book.header {
        return Ok(());
    }
    let theirs: Value = serde_json::from_str(&book.header).unwrap_or_default();
    let (key, expected, found) = first_difference(&ours, &theirs);
    Err(Answer::differs(1, &format!("the header's `{key}` does not come out"), &expected, &found))
}

fn compare_end(run: &Run, book: &Logbook) -> Result<(), Answer> {
    let mut before = book.header.clone();
    for l in &book.lines {
        before += "\n";
        before += &l.text;
    }
    let ours = end_json(run, &before);
    let text = ours.to_string();
    if text == book.end {
        return Ok(());
    }
    let theirs: Value = serde_json::from_str(&book.end).unwrap_or_default();
    let (key, expected, found) = first_difference(&ours["end"], &theirs["end"]);
    let why = match key.as_str() {
        "state_hash" => "the state at the end does not come out: what was done was not this",
        "sum" => {
            "what can be run comes out, but the text was changed: a name, the last line, or lines without trace"
        }
        "simulated_s" | "stopped" => "the end does not come out",
        _ => "the last line is not as one is written",
    };
    Err(Answer::differs(book.end_line, why, &format!("{key} {expected}"), &format!("{key} {found}")))
}

/// The first key that differs, with both values.
fn first_difference(ours: &Value, theirs: &Value) -> (String, String, String) {
    let said = |v: Option<&Value>| v.map_or("nothing".into(), Value::to_string);
    let keys = |v: &Value| v.as_object().map_or(Vec::new(), |o| o.keys().cloned().collect());
    let mut all: Vec<String> = keys(ours);
    all.extend(keys(theirs));
    for key in all {
        if ours.get(&key) != theirs.get(&key) {
            return (key.clone(), said(ours.get(&key)), said(theirs.get(&key)));
        }
    }
    ("form".into(), "as it is written".into(), "the same, written otherwise".into())
}

impl Logbook {
    /// The trainee's file as the header has it, if its hash is right.
    pub fn actions_text(&self) -> Result<Option<&str>, Answer> {
        match &self.actions {
            None => Ok(None),
            Some(a) if hash_of_text(&a.text) == a.hash => Ok(Some(&a.text)),
            Some(_) => Err(Answer::altered(1, "the header's `actions` text is not the one of its hash")),
        }
    }
}
