//! Runs a logbook again, and says whether the result is the same.
//!
//! *Inside*: the verdict. *Outside*: reading a logbook's format ([`crate::session::logbook`]), finding the scenario
//! and the car (command line).
//!
//! The car's earlier life and the scenario's own acts come from the scenario; what was done after hand-over comes
//! from the logbook, each act at its recorded time. The replay must then reproduce everything else in the logbook,
//! line for line, and at the recorded end the same state. The acts themselves cannot be checked, only their
//! consequences: a changed act shows in the first line that no longer matches, or in the final state. A change
//! without consequences (an act's name, a wait) shows in the checksum of the last line.
#![expect(clippy::result_large_err, reason = "told once for a file, never in a loop that counts")]

use crate::bench::action::{Action, Connector, PartChoice};
use crate::bench::record::{Kind, hash_of_text};
use crate::link::{DiagRequest, Routine};
use crate::scenario::{ActionFile, MAX_CYLINDER, MOST_A_DAY_MIN, Mistake};
use crate::session::logbook::{Heading, Logbook, Written, end_json, line_of};
use crate::session::verdict::{Answer, Reason, Verdict};
use crate::session::viewer::visible;
use crate::session::{Judged, Progress, Run, SAME_S, Session};
use crate::units;
use serde_json::Value;

/// An act is due this much before its recorded time, which is the end of a step: much less than the shortest step,
/// much more than a rounding error \[s\].
pub(super) const SLACK_S: f64 = 5e-7;

/// The result of a replay.
#[derive(Debug)]
pub enum Outcome {
    /// Everything was reproduced: the answer, and the run.
    Consistent(Answer, Box<Run>),
    /// Something was not reproduced.
    Differs(Answer),
    /// Stopped before the result was known.
    Stopped,
}

/// How far the lines have been compared.
struct Compare<'a> {
    book: &'a Logbook,
    same: usize,
}

impl Compare<'_> {
    /// Compares the lines produced so far.
    fn upto(&mut self, s: &Session) -> Result<(), Answer> {
        let came = visible(s.bench.log(), s.own_lines, s.lid_open, &s.scenario);
        for entry in came.iter().skip(self.same) {
            let line = line_of(entry);
            match self.book.lines.get(self.same) {
                Some(w) if w.text == line => self.same += 1,
                Some(w) => {
                    return Err(Answer::differs(w.line, Reason::LineDiffers, Some(&line), Some(&w.text)));
                }
                None => {
                    let (at, end) = (self.book.end_line, &self.book.end);
                    return Err(Answer::differs(at, Reason::LineMissing, Some(&line), Some(end)));
                }
            }
        }
        Ok(())
    }
    /// Checks that every line before this one was reproduced.
    fn all_before(&self, k: usize) -> Result<(), Answer> {
        match self.book.lines.get(self.same) {
            Some(w) if self.same < k => {
                Err(Answer::differs(w.line, Reason::LineTooMany, None, Some(&w.text)))
            }
            _ => Ok(()),
        }
    }
}

impl Session {
    /// Advances to a time, with nothing in the queue; false if told to stop.
    fn run_to(
        &mut self,
        to_s: f64,
        end_s: f64,
        told: &mut dyn FnMut(Progress) -> bool,
        compare: &mut Compare<'_>,
    ) -> Result<bool, Answer> {
        while self.bench.time_s() + SAME_S < to_s {
            if !told(Progress::Running { at_s: self.bench.time_s(), end_s, slow: self.bench.alone() }) {
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
            Err(answer) => Outcome::Differs(answer.of(&book.sources)),
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
        // people work for two days at most, besides the time in which the car was parked or driven by its owner; acts
        // that nobody could ask for do not extend this limit
        let mut alone_s = 0.0;
        for w in &book.lines {
            if let Some(Kind::Act { action, .. }) = &w.given
                && action.alone_s() != 0.0
            {
                allowed(action).map_err(|why| Answer::altered(w.line, Reason::Act(why)))?;
                alone_s += action.alone_s();
            }
        }
        let own_s: f64 = self.scenario.acts.iter().map(|a| a.hand.alone_s()).sum();
        if !(0.0..=HANDS_S + alone_s + own_s).contains(&ends_s) {
            return Err(Answer::altered(book.end_line, Reason::TooLong));
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
                slow: self.bench.alone(),
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
        self.bench.end_watch();
        compare.upto(&self)?;
        let stopped = book.stopped;
        self.actions = actions.cloned();
        let run = self.finish(stopped, cpu.elapsed().as_secs_f64());
        compare.all_before(book.lines.len())?;
        compare_end(&run, book)?;
        let reason = Reason::ComesOut { lines: book.lines.len() + 2 };
        Ok(Some((Answer::new(Verdict::Consistent, None, reason), run)))
    }

    /// Checks that an act of the logbook lies between the previous one and the end.
    fn check_time(&self, w: &Written, ends_s: f64) -> Result<(), Answer> {
        let t = w.t_s;
        if t.is_finite() && t + SAME_S >= self.bench.time_s() && t <= ends_s + SAME_S {
            return Ok(());
        }
        Err(Answer::altered(w.line, Reason::TimeFalls))
    }

    fn do_again(&mut self, kind: &Kind, w: &Written, actions: Option<&ActionFile>) -> Result<(), Answer> {
        match kind {
            Kind::Act { id, action } => {
                allowed(action).map_err(|why| Answer::altered(w.line, Reason::Act(why)))?;
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

    /// The judgement of an act that waited in vain, as a run makes it.
    fn vain(&self, actions: &ActionFile, id: &str, now: f64) -> Option<Judged> {
        let act = actions.acts.iter().find(|a| a.id == id)?;
        self.waited_in_vain(act, now)
    }
}

/// How much time an act lets pass \[s\]: the logbook leaves that to the trainee's file. It affects no state, only
/// the minutes on the job card.
fn waits_s(id: &str, action: &Action, actions: Option<&ActionFile>) -> f64 {
    let own = actions.and_then(|a| a.acts.iter().find(|a| a.id == id && a.hand == *action));
    own.map_or(0.0, |a| a.wait_s)
}

/// Longest time that people work on one car \[s\].
const HANDS_S: f64 = 2.0 * 86_400.0;

/// Refuses an act that no file and no person could ask for.
pub fn allowed(action: &Action) -> Result<(), Mistake> {
    let range = |r: &units::Range, given: f64| {
        let (key, units::Range { low, high, .. }) = (r.key.to_owned(), *r);
        let wrong = || Mistake::OutOfRange { key, low, high, unit: r.unit.to_owned(), given };
        if r.holds(given) { Ok(()) } else { Err(wrong()) }
    };
    let whole = |key: &str, low: u8, high: u8, given: u8| {
        let (key, [low, high, given]) = (key.to_owned(), [low, high, given].map(f64::from));
        if (low..=high).contains(&given) { Ok(()) } else { Err(Mistake::NotWhole { key, low, high, given }) }
    };
    match action {
        Action::Pedal(pct) => range(&units::PEDAL_PCT, *pct),
        Action::Leak(mm2) => range(&units::LEAK_MM2, *mm2),
        Action::Connector(Connector::Injector(0) | Connector::Coil(0), _)
        | Action::SwapInjectors(0, _)
        | Action::SwapInjectors(_, 0)
        | Action::CopyInjectorCode { cylinder: 0, .. }
        | Action::CopyInjectorCode { body: 0, .. }
        | Action::Ask(
            DiagRequest::WriteInjectorCode { cylinder: 0, .. } | DiagRequest::ReadInjectorCode(0),
        ) => whole("cylinder", 1, MAX_CYLINDER, 0),
        Action::ExhaustLeak(mm2) => range(&units::EXHAUST_LEAK_MM2, *mm2),
        Action::Hold { rpm, nm, .. } => {
            range(&units::HOLD_RPM, *rpm)?;
            range(&units::HOLD_NM, *nm)
        }
        Action::Interrupt(_, pct) => range(&units::INTERRUPT_PCT, *pct),
        Action::Refuel(l) => range(&units::REFUEL_L, *l),
        Action::Accessory { amps, .. } => range(&units::ACCESSORY_A, *amps),
        Action::Charger { amps, .. } => range(&units::CHARGER_A, *amps),
        Action::Rest(hours) => range(&units::REST_H, *hours),
        Action::DriveOn(life) => {
            range(&units::DRIVE_MIN, life.minutes)?;
            range(&units::LIFE_DAYS, f64::from(life.days))?;
            range(&units::LIFE_EACH, f64::from(life.each))?;
            whole("trips", 1, 8, life.trips)?;
            whole("days_a_week", 1, 7, life.days_a_week)?;
            if life.minutes * f64::from(life.trips) > MOST_A_DAY_MIN {
                return Err(Mistake::DayTooLong { most: MOST_A_DAY_MIN });
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
                    range(&r, x)?;
                }
            }
            Ok(())
        }
        _ => Ok(()),
    }
}

/// Compares the first line with the one that a run of this scenario writes.
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
    // a program built from other sources may well give the same result
    ours["sources"] = Value::from(book.sources.as_str());
    let text = ours.to_string();
    if text == book.header {
        return Ok(());
    }
    let theirs: Value = serde_json::from_str(&book.header).unwrap_or_default();
    let (key, expected, found) = first_difference(&ours, &theirs);
    Err(Answer::differs(1, Reason::HeaderDiffers { key }, expected.as_deref(), found.as_deref()))
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
    let reason = match key.as_str() {
        "state_hash" => Reason::StateDiffers,
        "sum" => Reason::SumDiffers,
        "simulated_s" | "stopped" => Reason::EndDiffers,
        _ => Reason::LastLineDiffers,
    };
    let [expected, found] = [expected, found].map(|v| v.map(|v| format!("{key} {v}")));
    Err(Answer::differs(book.end_line, reason, expected.as_deref(), found.as_deref()))
}

/// The first key that differs, with both values; the format if only the notation differs.
fn first_difference(ours: &Value, theirs: &Value) -> (String, Option<String>, Option<String>) {
    let said = |v: Option<&Value>| v.map(Value::to_string);
    let keys = |v: &Value| v.as_object().map_or(Vec::new(), |o| o.keys().cloned().collect());
    let mut all: Vec<String> = keys(ours);
    all.extend(keys(theirs));
    for key in all {
        if ours.get(&key) != theirs.get(&key) {
            return (key.clone(), said(ours.get(&key)), said(theirs.get(&key)));
        }
    }
    ("form".into(), None, None)
}

impl Logbook {
    /// The trainee's file as the header has it, if its hash is right.
    pub fn actions_text(&self) -> Result<Option<&str>, Answer> {
        match &self.actions {
            None => Ok(None),
            Some(a) if hash_of_text(&a.text) == a.hash => Ok(Some(&a.text)),
            Some(_) => Err(Answer::altered(1, Reason::HeaderActions)),
        }
    }
}
