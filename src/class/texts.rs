//! The texts of a view: job card, logbook, values, what the module believes, codes, readings, the state of a routine.
//!
//! *Inside*: the sentences of a view, part by part; a part that has not changed is not sent again. *Outside*: the
//! sentences themselves ([`crate::words`], [`crate::report`]), numbers for drawing ([`crate::app::view`]).

use crate::app::view::View;
use crate::bench::action::Action;
use crate::bench::record::{Entry, Kind};
use crate::bench::tools::Reading;
use crate::bench::view::{Observation, Watched};
use crate::catalogue::signals::{RECORDED, Signal};
use crate::link::{
    CodeStatus, DiagRequest, DiagResponse, Failed, FreezeFrame, GateStatus, LIVE, LearnedStatus, LiveValues,
    MonitorStatus, NoStop, WaitsFor,
};
use crate::report;
use crate::scenario::{AskKind, Scenario};
use crate::session::Job;
use crate::words::numbers::{clock, number, shown_units};
use crate::words::{facts, name, readings, say};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// What the scan tool has read so far: nothing else is sent to a page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Asked {
    /// Trouble codes.
    pub codes: bool,
    /// Learned values with their gates.
    pub learned: bool,
    /// Readiness.
    pub readiness: bool,
    /// Freeze frames by their codes; none if the module has none stored.
    frames: BTreeMap<String, Option<FreezeFrame>>,
}

impl Asked {
    /// Reads it from the lines of a logbook.
    pub fn of(lines: &[Entry]) -> Self {
        let mut asked = Self::default();
        let mut last: Option<(&str, &DiagRequest)> = None;
        for e in lines {
            match &e.kind {
                Kind::Act { id, action: Action::Ask(request) } => last = Some((id, request)),
                Kind::Answer { id, answer } => {
                    if let Some((_, request)) = last.filter(|(one, _)| one == id) {
                        asked.answered(request, answer);
                    }
                }
                _ => {}
            }
        }
        asked
    }
    fn answered(&mut self, request: &DiagRequest, answer: &DiagResponse) {
        match (request, answer) {
            (_, DiagResponse::Silent | DiagResponse::Refused(_)) => {}
            (DiagRequest::ReadCodes, _) => self.codes = true,
            // clearing the codes clears their freeze frames
            (DiagRequest::ClearCodes, _) => self.frames.clear(),
            (DiagRequest::ReadLearned, _) => self.learned = true,
            (DiagRequest::ReadReadiness, _) => self.readiness = true,
            (DiagRequest::ReadFreezeFrame(code), DiagResponse::FreezeFrame(frame)) => {
                self.frames.insert(code.clone(), *frame);
            }
            _ => {}
        }
    }
    /// Removes from an observation what has not been read.
    pub fn keep_back(&self, seen: &mut Observation) {
        if !self.codes {
            seen.codes.clear();
        }
        if !self.learned {
            seen.learned.clear();
            seen.wheel_table_deg.clear();
        }
        if !self.readiness {
            seen.readiness.clear();
        }
    }
    /// Makes gaps in recorded rows where a learned value has not been read.
    pub fn keep_back_rows(&self, columns: &[&str], rows: &mut [Vec<f64>]) {
        let hidden = |name: &str| RECORDED.iter().any(|s| s.name == name && !s.seen(false, self.learned));
        for k in (0..columns.len()).filter(|k| hidden(columns[*k])) {
            rows.iter_mut().for_each(|row| row[k] = f64::NAN);
        }
    }
}

/// What the texts depend on besides the view.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// What was read.
    pub asked: &'a Asked,
    /// The scenario hides gates.
    pub gates_hidden: bool,
    /// The act that waits until questions are answered.
    pub waits: Option<&'a Action>,
}

/// Recorded signals by name; truth where it may be seen.
pub fn signals(truth: bool) -> Value {
    let all = RECORDED.iter().filter(|s| truth || !s.truth);
    let one = |s: &Signal| {
        json!({
            "id": s.name, "name": name("signal", s.name), "unit": s.unit, "believed": s.believed, "truth": s.truth,
            "least_span": s.least_span, "none_at_zero": s.none_at_zero,
        })
    };
    json!(all.map(one).collect::<Vec<_>>())
}

/// A part of the texts as last sent, with what it was made of: it is made again only when that has changed, since
/// most parts change seldom and a view is made many times a second.
#[derive(Debug)]
struct Part<I>(Option<(I, Value)>);

impl<I> Default for Part<I> {
    fn default() -> Self {
        Self(None)
    }
}

impl<I: PartialEq + Clone> Part<I> {
    /// The part if it differs from the one last sent.
    fn anew(&mut self, of: &I, make: impl FnOnce(&I) -> Value) -> Option<Value> {
        if self.0.as_ref().is_some_and(|(last, _)| last == of) {
            return None;
        }
        let now = make(of);
        let same = self.0.as_ref().is_some_and(|(_, last)| *last == now);
        self.0 = Some((of.clone(), now.clone()));
        (!same).then_some(now)
    }
}

/// Freeze frames by their codes; none if the module has none stored.
type Frames = BTreeMap<String, Option<FreezeFrame>>;
type Routine = (String, Option<WaitsFor>, Option<Failed>);

/// The texts as last sent.
#[derive(Debug, Default)]
pub struct Sent {
    /// Live values with their figures.
    values: Vec<(f64, String)>,
    learned: Vec<Part<LearnedStatus>>,
    /// Their gates were sent as hidden.
    gates_hidden: bool,
    job: Part<Job>,
    watched: Part<Vec<Watched>>,
    codes: Part<(Vec<CodeStatus>, Frames)>,
    readiness: Part<Vec<MonitorStatus>>,
    readings: Part<Vec<Reading>>,
    routine: Part<Routine>,
    stop_start: Part<(String, Option<NoStop>)>,
    waits: Part<(Option<Action>, bool)>,
}

impl Sent {
    /// Live values whose figures have changed.
    fn values(&mut self, live: &LiveValues) -> Vec<Value> {
        self.values.resize(LIVE.len(), (f64::NAN, String::new()));
        let mut all = Vec::new();
        for (l, (last, figures)) in LIVE.iter().zip(&mut self.values) {
            let x = (l.get)(live);
            if x.to_bits() == last.to_bits() && !figures.is_empty() {
                continue;
            }
            *last = x;
            let now = number(x, l.decimals);
            if now != *figures {
                *figures = now;
                all.push(value(l.id, x));
            }
        }
        all
    }
    /// The learned values, if one of them has changed.
    fn learned(&mut self, all: &[LearnedStatus], told: Told<'_>, hand_over_s: f64) -> Option<Value> {
        if std::mem::replace(&mut self.gates_hidden, told.gates_hidden) != told.gates_hidden {
            self.learned.clear();
        }
        let mut changed = self.learned.len() != all.len();
        self.learned.resize_with(all.len(), Part::default);
        for (v, part) in all.iter().zip(&mut self.learned) {
            changed |= part.anew(v, |v| learned(v, told.gates_hidden, hand_over_s)).is_some();
        }
        changed.then(|| self.learned.iter().filter_map(|p| Some(p.0.as_ref()?.1.clone())).collect())
    }
}

/// The texts of a view, without the parts that are as last sent; of the live values, those that have changed.
pub fn texts(view: &View, told: Told<'_>, sent: &mut Sent) -> Value {
    let seen = &view.first.seen;
    let asked = told.asked;
    let live = &seen.live;
    let mut all = Map::new();
    let mut put = |key: &str, part: Option<Value>| {
        if let Some(part) = part {
            all.insert(key.into(), part);
        }
    };
    put("job", sent.job.anew(&view.job, job));
    put("values", Some(sent.values(live)).filter(|v| !v.is_empty()).map(Value::Array));
    put("watched", sent.watched.anew(&seen.watched, |all| watched(all)));
    put("learned", sent.learned(&seen.learned, told, view.hand_over_s));
    let both = (seen.codes.clone(), asked.frames.clone());
    put("codes", sent.codes.anew(&both, |(all, frames)| codes(all, frames)));
    put("readiness", sent.readiness.anew(&seen.readiness, |all| readiness(all)));
    put("readings", sent.readings.anew(&seen.readings, |all| shown(all, view.hand_over_s)));
    let state = (live.routine.as_str().to_owned(), live.routine_waits_for, live.routine_because);
    put("routine", sent.routine.anew(&state, |state| json!(routine(state))));
    let state = (live.stop_start.as_str().to_owned(), live.stop_start_because.clone());
    put("stop_start", sent.stop_start.anew(&state, |state| json!(stop_start(state))));
    let waits =
        |(act, open): &(Option<Action>, bool)| json!(act.as_ref().map(|a| report::action_words(a, *open)));
    put("waits", sent.waits.anew(&(told.waits.cloned(), view.lid_open), waits));
    put(
        "asked",
        Some(json!({ "codes": asked.codes, "learned": asked.learned, "readiness": asked.readiness })),
    );
    put("log_from", Some(json!(view.lines_from)));
    put("log", Some(json!(log(view))));
    Value::Object(all)
}

/// The logbook's new lines as sentences.
fn log(view: &View) -> Vec<Value> {
    let line = |e: &Entry| {
        let (who, text) = report::entry_words(e, view.lid_open || view.first.truth.is_some());
        json!({
            "at": clock(e.t_s - view.hand_over_s),
            "who": who,
            "who_text": report::who_words(who),
            "text": text,
        })
    };
    view.lines.iter().map(line).collect()
}

fn job(job: &Job) -> Value {
    let line = |what: &str, minutes: f64, money: f64| {
        say!("class-job-line", what = what, minutes = number(minutes, 1), money = number(money, 1))
    };
    json!({
        "minutes": say!("cost-minutes", minutes = number(job.minutes, 0)),
        "money": say!("class-money", money = number(job.money, 0), currency = job.currency.as_str()),
        "parts": job.parts_bought,
        "lines": job.lines.iter().map(|l| line(&facts::work(&l.work), l.minutes, l.money)).collect::<Vec<_>>(),
    })
}

fn value(id: &str, x: f64) -> Value {
    let text = readings::live(id, x);
    json!({ "id": id, "name": name("signal", id), "text": text })
}

fn watched(all: &[Watched]) -> Value {
    let one = |w: &Watched| match w.value {
        Some(x) => value(&w.name, x),
        None => json!({ "id": w.name, "name": name("signal", &w.name), "text": say("class-no-answer-yet") }),
    };
    json!(all.iter().map(one).collect::<Vec<_>>())
}

/// A learned value; times count from hand-over.
fn learned(v: &LearnedStatus, gates_hidden: bool, hand_over_s: f64) -> Value {
    let v = &LearnedStatus { written_s: v.written_s - hand_over_s, ..v.clone() };
    let text = |x: f64| {
        let units = shown_units();
        if v.default == 0.0 { units.signed_value(x, &v.unit) } else { units.value(x, &v.unit) }
    };
    let gate = |g: &GateStatus| json!({ "open": g.open, "text": facts::gate(g) });
    json!({
        "id": v.name,
        "name": report::learned_words(&v.name),
        "text": text(v.value),
        "default": text(v.default),
        "low": text(v.low),
        "high": text(v.high),
        "by": report::written(v),
        "gates": if gates_hidden { json!("hidden") } else { json!(v.gates.iter().map(gate).collect::<Vec<_>>()) },
    })
}

fn codes(all: &[CodeStatus], frames: &BTreeMap<String, Option<FreezeFrame>>) -> Value {
    let one = |c: &CodeStatus| {
        let mut code =
            json!({ "code": c.code, "name": name("code", &c.code), "status": report::code_states(c) });
        if let Some(frame) = frames.get(&c.code) {
            let rows = frame.as_ref().map(|f| readings::freeze_frame(f, shown_units()));
            code["frame"] = json!(rows.unwrap_or_default());
        }
        code
    };
    json!(all.iter().map(one).collect::<Vec<_>>())
}

/// Whether stop-start would stop the engine at traffic lights; none if the car has no such system.
fn stop_start((state, because): &(String, Option<NoStop>)) -> Option<Value> {
    let (open, text) = match (state.as_str(), because) {
        ("allowed", _) => (true, say("mind-stop-allowed")),
        ("refused", None) => (false, say("mind-stop-refused")),
        ("refused", Some(why)) => {
            (false, say!("mind-stop-refused-why", why = facts::no_stop(shown_units(), why)))
        }
        _ => return None,
    };
    Some(json!({ "open": open, "text": text }))
}

fn readiness(all: &[MonitorStatus]) -> Value {
    let one = |m: &MonitorStatus| {
        let monitor = name("monitor", &m.name);
        let text = if m.complete {
            say!("mind-monitor-has-run", monitor = monitor)
        } else {
            say!("mind-monitor-has-not-run", monitor = monitor)
        };
        json!({ "complete": m.complete, "text": text })
    };
    json!(all.iter().map(one).collect::<Vec<_>>())
}

/// What tools have shown, the most recent first.
fn shown(taken: &[Reading], hand_over_s: f64) -> Value {
    let mut all: Vec<_> = taken.iter().collect();
    all.sort_by(|a, b| b.at_s.total_cmp(&a.at_s));
    let one = |r: &&Reading| {
        json!({ "at": clock(r.at_s - hand_over_s), "tool": name("tool", r.tool.instrument()),
            "text": readings::reading(r) })
    };
    json!(all.iter().map(one).collect::<Vec<_>>())
}

/// The state of the routine; none if none was started.
fn routine((state, waits_for, because): &Routine) -> Option<String> {
    Some(match (state.as_str(), waits_for, *because) {
        ("running", None, _) => say("asking-runs"),
        ("running", Some(w), _) => say!("asking-runs-says", says = facts::waits_for(w)),
        ("done", ..) => say("asking-done"),
        ("failed", _, None | Some(Failed::Withheld)) => say("asking-failed"),
        ("failed", _, Some(why)) => say!("asking-failed-says", says = facts::failed(why)),
        _ => return None,
    })
}

/// A question of a lesson: its text and its choices.
pub fn question(of: &Scenario, ask: &str) -> Option<(String, Vec<(String, String)>)> {
    let plan = of.plan.as_ref()?;
    if ask == "cause" {
        let causes = plan.causes.iter().map(|c| (c.id.clone(), c.says.clone())).collect();
        return Some((say("ask-cause"), causes));
    }
    let ask = plan.asks.iter().find(|a| a.id == ask)?;
    let choices = match &ask.kind {
        AskKind::Number { .. } => Vec::new(),
        AskKind::Direction { .. } => [("up", "ask-rises"), ("same", "ask-same"), ("down", "ask-falls")]
            .map(|(id, text)| (id.to_owned(), say(text)))
            .into(),
        AskKind::Choice(all) => all.iter().map(|c| (c.id.clone(), c.says.clone())).collect(),
    };
    Some((ask.question.clone(), choices))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Bench;
    use crate::bench::setup::Setup;

    /// Gates that were hidden are sent as soon as they may be seen, though no learned value has changed.
    #[test]
    fn bug_gates_are_sent_when_they_are_no_longer_hidden() {
        let setup = Setup::healthy(include_str!("../../assets/cars/plover.toml"), 1, 88.0);
        let learned = Bench::standing(&setup).expect("a bench").observe().learned;
        let (asked, mut sent) = (Asked::default(), Sent::default());
        let mut gates = |gates_hidden: bool| {
            let told = Told { asked: &asked, gates_hidden, waits: None };
            sent.learned(&learned, told, 0.0).map(|all| all[0]["gates"].is_array())
        };
        assert_eq!([gates(true), gates(true), gates(false)], [Some(false), None, Some(true)]);
    }
}
