//! The texts of a view: job card, logbook, values, what the module believes, codes, readings, the state of a routine.
//!
//! *Inside*: the sentences of a view, part by part; a part that has not changed is not sent again. *Outside*: the
//! sentences themselves ([`crate::words`], [`crate::report`]), numbers for drawing ([`crate::app::view`]).

use crate::app::view::View;
use crate::bench::action::Action;
use crate::bench::record::{Entry, Kind};
use crate::bench::view::Observation;
use crate::catalogue::signals::{RECORDED, Signal};
use crate::link::LIVE;
use crate::link::{DiagRequest, DiagResponse, Failed, FreezeFrame, GateStatus, LearnedStatus};
use crate::report;
use crate::words::numbers::{Units, clock, number};
use crate::words::{facts, name, readings, say};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// What the service tester has read so far: nothing else is sent to a page.
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

/// The parts as last sent.
pub type Sent = BTreeMap<&'static str, String>;

/// The texts of a view, without the parts that equal those in `sent`.
pub fn texts(view: &View, told: Told<'_>, sent: &mut Sent) -> Value {
    let seen = &view.first.seen;
    let asked = told.asked;
    let waits = told.waits.map(|act| report::action_words(act, view.lid_open));
    // times count from hand-over
    let learned = |v: &LearnedStatus| {
        learned(&LearnedStatus { written_s: v.written_s - view.hand_over_s, ..v.clone() }, told.gates_hidden)
    };
    let parts: [(&'static str, Value); 10] = [
        ("job", job(view)),
        ("values", json!(LIVE.iter().map(|l| value(l.id, (l.get)(&seen.live))).collect::<Vec<_>>())),
        ("watched", watched(seen)),
        ("learned", json!(seen.learned.iter().map(&learned).collect::<Vec<_>>())),
        ("codes", codes(seen, asked)),
        ("readiness", readiness(seen)),
        ("readings", shown(view)),
        ("routine", json!(routine(seen))),
        ("stop_start", json!(stop_start(seen))),
        ("waits", json!(waits)),
    ];
    let mut all = Map::new();
    for (key, part) in parts {
        let text = part.to_string();
        if sent.get(key) != Some(&text) {
            sent.insert(key, text);
            all.insert(key.into(), part);
        }
    }
    all.insert(
        "asked".into(),
        json!({ "codes": asked.codes, "learned": asked.learned, "readiness": asked.readiness }),
    );
    all.insert("log_from".into(), json!(view.lines_from));
    all.insert("log".into(), json!(log(view)));
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

fn job(view: &View) -> Value {
    let job = &view.job;
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
    let text = LIVE.iter().find(|l| l.id == id).map_or_else(
        || number(x, 0),
        |l| {
            let n = number(x, l.decimals);
            if l.unit.is_empty() { n } else { say!("quantity", value = n, unit = l.unit) }
        },
    );
    json!({ "id": id, "name": name("signal", id), "text": text })
}

fn watched(seen: &Observation) -> Value {
    let one = |w: &crate::bench::view::Watched| match w.value {
        Some(x) => value(&w.name, x),
        None => json!({ "id": w.name, "name": name("signal", &w.name), "text": say("class-no-answer-yet") }),
    };
    json!(seen.watched.iter().map(one).collect::<Vec<_>>())
}

fn learned(v: &LearnedStatus, gates_hidden: bool) -> Value {
    let text = |x: f64| {
        if v.default == 0.0 {
            Units::Metric.signed_value(x, &v.unit)
        } else {
            Units::Metric.value(x, &v.unit)
        }
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

fn codes(seen: &Observation, asked: &Asked) -> Value {
    let one = |c: &crate::link::CodeStatus| {
        let mut code =
            json!({ "code": c.code, "name": name("code", &c.code), "status": report::code_states(c) });
        if let Some(frame) = asked.frames.get(&c.code) {
            let rows = frame.as_ref().map(|f| readings::freeze_frame(f, Units::Metric));
            code["frame"] = json!(rows.unwrap_or_default());
        }
        code
    };
    json!(seen.codes.iter().map(one).collect::<Vec<_>>())
}

/// Whether stop-start would stop the engine at traffic lights; none if the car has no such system.
fn stop_start(seen: &Observation) -> Option<Value> {
    let (open, text) = match (seen.live.stop_start.as_str(), &seen.live.stop_start_because) {
        ("allowed", _) => (true, say("mind-stop-allowed")),
        ("refused", None) => (false, say("mind-stop-refused")),
        ("refused", Some(why)) => {
            (false, say!("mind-stop-refused-why", why = facts::no_stop(Units::Metric, why)))
        }
        _ => return None,
    };
    Some(json!({ "open": open, "text": text }))
}

fn readiness(seen: &Observation) -> Value {
    let one = |m: &crate::link::MonitorStatus| {
        let monitor = name("monitor", &m.name);
        let text = if m.complete {
            say!("mind-monitor-has-run", monitor = monitor)
        } else {
            say!("mind-monitor-has-not-run", monitor = monitor)
        };
        json!({ "complete": m.complete, "text": text })
    };
    json!(seen.readiness.iter().map(one).collect::<Vec<_>>())
}

/// What tools have shown, the most recent first.
fn shown(view: &View) -> Value {
    let mut all: Vec<_> = view.first.seen.readings.iter().collect();
    all.sort_by(|a, b| b.at_s.total_cmp(&a.at_s));
    let one = |r: &&crate::bench::tools::Reading| {
        json!({ "at": clock(r.at_s - view.hand_over_s), "tool": name("tool", r.tool.instrument()),
            "text": readings::reading(r) })
    };
    json!(all.iter().map(one).collect::<Vec<_>>())
}

/// The state of the routine; none if none was started.
fn routine(seen: &Observation) -> Option<String> {
    let live = &seen.live;
    Some(match (live.routine.as_str(), &live.routine_waits_for, live.routine_because) {
        ("running", None, _) => say("asking-runs"),
        ("running", Some(w), _) => say!("asking-runs-says", says = facts::waits_for(w)),
        ("done", ..) => say("asking-done"),
        ("failed", _, None | Some(Failed::Withheld)) => say("asking-failed"),
        ("failed", _, Some(why)) => say!("asking-failed-says", says = facts::failed(why)),
        _ => return None,
    })
}
