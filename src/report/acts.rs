//! Lines of the logbook in words: what was done by hand, what the module was asked and what it answered.
//!
//! *Inside*: one message for each kind of act and answer. *Outside*: decisions that the module makes by itself
//! ([`crate::words::facts`]), names of things (`names`).

use super::names::{
    code_states, connector_words, decimals, id_words, learned_with_unit, learned_words, listed, part_words,
    tidy, tool_words, with_unit,
};
use crate::bench::action::{Action, Connector, Gear, Ill, Key, Load, Note, PartChoice, PartKind, Said, Wire};
use crate::bench::record::{Entry, Kind};
use crate::bench::view::Course;
use crate::catalogue::parts::Says;
use crate::link::{
    CodeStatus, DiagRequest, DiagResponse, LIVE, LearnedStatus, Live, LiveValues, Needs, Routine,
};
use crate::words::numbers::{measured, number, signed};
use crate::words::{facts, name, readings, say};

/// The speaker of a line in the logbook, as an id (messages `who-…` name them), and the line's content in words.
pub fn entry_words(e: &Entry, lid_open: bool) -> (&'static str, String) {
    match &e.kind {
        Kind::Act { action: Action::Note(note), .. } => ("says", note_words(note)),
        Kind::Act { action: action @ (Action::Ask(_) | Action::Watch(_)), .. } => {
            ("asks", action_words(action, lid_open))
        }
        Kind::Act { action, .. } => ("hand", action_words(action, lid_open)),
        Kind::Hindered { why, .. } => ("bench", say!("entry-hindered", why = facts::hindrance(why))),
        Kind::Answer { answer, .. } => ("module", answer_words(answer)),
        Kind::Reading { reading, .. } => ("tool", readings::reading(reading)),
        Kind::Shown { values, .. } => ("tool", say!("entry-shown", values = listed(&shown_words(values)))),
        Kind::Watched { values, .. } => {
            ("tool", say!("entry-watched", values = listed(&watched_words(values))))
        }
        Kind::Module { what } => ("module", facts::notice(what)),
        Kind::Drive { what } => ("driver", facts::driver(what)),
        Kind::Model { what } => ("bench", say!("entry-model", what = facts::model_note(what))),
        Kind::TimedOut { condition, .. } => {
            ("bench", say!("entry-timed-out", condition = condition.as_str()))
        }
    }
}

/// The name of the speaker of a line in the logbook.
pub fn who_words(who: &str) -> String {
    name("who", who)
}

/// The id of the act that a line of the logbook belongs to.
pub(super) fn entry_id(e: &Entry) -> &str {
    match &e.kind {
        Kind::Act { id, .. }
        | Kind::Hindered { id, .. }
        | Kind::Answer { id, .. }
        | Kind::Reading { id, .. }
        | Kind::Shown { id, .. }
        | Kind::Watched { id, .. }
        | Kind::TimedOut { id, .. } => id,
        Kind::Module { .. } | Kind::Model { .. } | Kind::Drive { .. } => "",
    }
}

/// Values that the scan tool shows, each with its name.
fn shown_words(values: &[Course]) -> Vec<String> {
    let one =
        |c: &Course| say!("ill-one", what = name("signal", &c.name), value = readings::live(&c.name, c.last));
    values.iter().map(one).collect()
}

/// What watched values did: a value that stood still is told once.
fn watched_words(values: &[Course]) -> Vec<String> {
    let one = |c: &Course| {
        let [first, last, least, most] =
            [c.first, c.last, c.least, c.most].map(|x| readings::live(&c.name, x));
        let what = name("signal", &c.name);
        if least == most {
            return say!("ill-one", what = what, value = last);
        }
        let id = if c.least <= 0.0 && c.name == "charge_set_v" { "watched-most" } else { "watched-one" };
        say!(id, what = what, first = first, last = last, least = least, most = most)
    };
    values.iter().map(one).collect()
}

/// An act in words; under a closed lid, details that only an open lid shows are left out.
pub fn action_words(action: &Action, lid_open: bool) -> String {
    let on = |id: &str, on: bool| say(&format!("act-{id}-{}", if on { "on" } else { "off" }));
    match action {
        Action::Key(Key::Off) => say("act-key-off"),
        Action::Key(Key::On) => say("act-key-on"),
        Action::Key(Key::Crank) => say("act-key-crank"),
        Action::Pedal(pct) => say!("act-pedal", pct = number(*pct, 0)),
        Action::Brake(pressed) => on("brake", *pressed),
        Action::Gear(gear) => {
            let id = match gear {
                Gear::Park => "park",
                Gear::Neutral => "neutral",
                Gear::Drive => "drive",
            };
            say!("act-gear", gear = name("gear", id))
        }
        Action::Load(Load::Steering, turned) => on("steering", *turned),
        Action::Load(load, b) => {
            let load = name("load", load.name());
            if *b { say!("act-load-on", load = load) } else { say!("act-load-off", load = load) }
        }
        Action::Connector(Connector::Battery, b) => on("battery-clamp", *b),
        Action::Connector(Connector::Belt, b) => on("belt", *b),
        Action::Connector(Connector::FuelCap, b) => on("fuel-cap", *b),
        Action::Connector(c, true) => say!("act-plugged-in", connector = connector_words(*c)),
        Action::Connector(c, false) => say!("act-unplugged", connector = connector_words(*c)),
        Action::Fit(choice) => fit_words(choice, lid_open),
        Action::CleanThrottle => say("act-throttle-cleaned"),
        Action::Leak(mm2) if *mm2 <= 0.0 => say("act-leak-tight"),
        Action::Leak(mm2) if lid_open => say!("act-leak-opened", area = number(*mm2, 1)),
        Action::Leak(_) => say("act-leak-something"),
        Action::ExhaustLeak(mm2) if *mm2 <= 0.0 => say("act-exhaust-tight"),
        Action::ExhaustLeak(mm2) if lid_open => say!("act-exhaust-opened", area = number(*mm2, 1)),
        Action::ExhaustLeak(_) => say("act-exhaust-something"),
        Action::Sensor(sensor, ill) => {
            let sensor = name("sensor", sensor.name());
            match (ill.sound(), lid_open) {
                (true, _) => say!("act-sensor-right", sensor = sensor),
                (false, true) => say!("act-sensor-ill", sensor = sensor, ill = ill_words(ill)),
                (false, false) => say("act-sensor-something"),
            }
        }
        Action::SwapInjectors(a, b) => say!("act-injectors-swapped", a = *a, b = *b),
        Action::CopyInjectorCode { cylinder, body } if cylinder == body => {
            say!("act-code-copied", body = *body)
        }
        Action::CopyInjectorCode { cylinder, body } => {
            say!("act-code-copied-wrong", body = *body, cylinder = *cylinder)
        }
        Action::Interrupt(k, pct) if *pct > 0.0 => {
            say!("act-interrupter-in", n = *k, pct = number(*pct, 1))
        }
        Action::Interrupt(k, _) => say!("act-interrupter-out", n = *k),
        Action::Refuel(l) => say!("act-refuelled", fuel = measured(*l, "L", 0)),
        Action::Accessory { amps, .. } if *amps <= 0.0 => say("act-accessory-out"),
        Action::Accessory { amps, past_sensor: true } => {
            say!("act-accessory-posts", amps = number(*amps, 2))
        }
        Action::Accessory { amps, .. } => say!("act-accessory-behind", amps = number(*amps, 2)),
        Action::Charger { amps, .. } if *amps <= 0.0 => say("act-charger-off"),
        Action::Charger { amps, past_sensor: true } => {
            say!("act-charger-posts", amps = number(*amps, 1))
        }
        Action::Charger { amps, .. } => say!("act-charger-earth", amps = number(*amps, 1)),
        Action::Rest(hours) => say!("act-rested", hours = number(*hours, 1)),
        Action::DriveOn(life) => say!(
            "act-driven-on",
            days = life.days,
            trips = life.trips,
            minutes = number(life.minutes, 0),
            pattern = name("pattern", life.pattern.word()),
            week = life.days_a_week,
        ),
        Action::Ask(request) => ask_words(request),
        Action::Hold { rpm, nm } => say!("act-held", rpm = number(*rpm, 0), torque = measured(*nm, "N·m", 0)),
        Action::Drive { pattern, minutes } => {
            say!("act-driven", pattern = name("pattern", pattern.word()), minutes = number(*minutes, 1))
        }
        Action::Measure(tool) => tool_words(*tool),
        Action::Watch(names) if names.is_empty() => say("act-watch-nothing"),
        Action::Watch(names) => {
            let all: Vec<String> = names.iter().map(|n| name("signal", n)).collect();
            say!("act-watch", names = all.join(", "))
        }
        Action::Note(note) => note_words(note),
        Action::Wait => say("act-waited"),
    }
}

fn note_words(note: &Note) -> String {
    match note {
        Note::Cautions => say("note-cautions"),
        Note::Cause(id) => say!("note-cause", cause = id_words(id)),
        Note::Answer { ask, says } => {
            let says = match says {
                Said::Number(x) => tidy(&x.to_string()),
                Said::Word(w) => id_words(w),
            };
            say!("note-predicts", question = id_words(ask), answer = says)
        }
        Note::Words(words) => say!("note-words", words = words.as_str()),
        Note::Lid(true) => say("note-lid-opened"),
        Note::Lid(false) => say("note-lid-closed"),
        Note::Forked => say("note-forked"),
        Note::Rewound(by_s) => say!("note-rewound", seconds = number(*by_s, 1)),
    }
}

fn ill_words(ill: &Ill) -> String {
    let sound = Ill::default();
    let mut out = Vec::new();
    let mut add = |id: &str, differs: bool, value: String| {
        if differs {
            out.push(say!("ill-one", what = name("sensor-ill", id), value = value));
        }
    };
    add("offset_v", ill.offset_v != sound.offset_v, with_unit(&signed(ill.offset_v, 2), "V"));
    add("gain", ill.gain != sound.gain, number(ill.gain, 2));
    add("lag_s", ill.lag_s != sound.lag_s, with_unit(&number(ill.lag_s, 1), "s"));
    add("noise_v", ill.noise_v != sound.noise_v, with_unit(&number(ill.noise_v, 3), "V"));
    if ill.stuck {
        out.push(name("sensor-ill", "stuck"));
    }
    let wire = match ill.wire {
        Wire::Sound => None,
        Wire::Open => Some("open"),
        Wire::ToEarth => Some("to_earth"),
        Wire::ToSupply => Some("to_supply"),
        Wire::Loose => Some("loose"),
    };
    out.extend(wire.map(|w| say!("ill-one", what = name("sensor-ill", "wire"), value = name("wire", w))));
    out.join(", ")
}

/// Properties printed on a part, which anybody can read.
const PRINTED: [&str; 3] = ["battery_type", "rated_ah", "cold_a"];

fn fit_words(choice: &PartChoice, lid_open: bool) -> String {
    let mut out = vec![match choice.kind {
        PartKind::Module => say("act-fit-module"),
        PartKind::CamDrive => say("act-fit-cam-drive"),
        kind @ (PartKind::Valves(_) | PartKind::Rings(_)) => say!("act-fit-done", part = part_words(kind)),
        kind => say!("act-fit", part = part_words(kind)),
    }];
    out.extend(choice.serial.as_deref().map(|s| say!("act-fit-serial", serial = s)));
    for fault in choice.kind.faults().iter().filter(|f| lid_open || PRINTED.contains(&f.key)) {
        let Some(x) = choice.said(fault.key) else { continue };
        let what = name("fault", fault.key);
        let value = match fault.says {
            Says::Flag | Says::OneOf(["own", "other"]) => {
                out.push(what);
                continue;
            }
            Says::OneOf(words) => name("battery", words.get(x as usize).unwrap_or(&"")),
            Says::Whole(_) => number(x, 0),
            Says::Number(range) => with_unit(&number(x, decimals(range.unit)), range.unit),
        };
        out.push(say!("ill-one", what = what, value = value));
    }
    out.join(", ")
}

/// What reading the live values showed, each value with its name.
fn live_words(l: &LiveValues) -> Vec<String> {
    let nothing = |v: &Live| (v.get)(l) == 0.0;
    // what a car lacks stands at 0 altogether
    let lacks = |v: &Live| match v.needs {
        Needs::Nothing => false,
        Needs::SensorOrTest => nothing(v),
        system => LIVE.iter().filter(|v| v.needs == system).all(nothing),
    };
    let told = LIVE.iter().filter(|v| !lacks(v));
    let one =
        |v: &Live| say!("ill-one", what = name("signal", v.id), value = readings::live(v.id, (v.get)(l)));
    told.map(one).collect()
}

/// A request to the module.
pub fn ask_words(request: &DiagRequest) -> String {
    match request {
        DiagRequest::ReadCodes => say("ask-codes"),
        DiagRequest::ClearCodes => say("ask-clear-codes"),
        DiagRequest::ReadFreezeFrame(code) => say!("ask-freeze-frame", code = code.as_str()),
        DiagRequest::ReadLearned => say("ask-learned"),
        DiagRequest::ReadLive => say("ask-live"),
        DiagRequest::ReadValue(name) => say!("ask-value", name = id_words(name)),
        DiagRequest::ReadReadiness => say("ask-readiness"),
        DiagRequest::WriteInjectorCode { cylinder, code } => {
            say!("ask-write-code", code = code.as_str(), cylinder = *cylinder)
        }
        DiagRequest::ReadInjectorCode(k) => say!("ask-injector-code", cylinder = *k),
        DiagRequest::EnterBatteryRecord { kind, rated_ah } => {
            say!("ask-enter-battery", kind = name("battery", kind.name()), rated = number(*rated_ah, 0))
        }
        DiagRequest::ReadBatteryRecord => say("ask-battery-record"),
        DiagRequest::Start(Routine::CommandIdle(0)) => say("ask-own-idle"),
        DiagRequest::Start(Routine::CommandIdle(rpm)) => say!("ask-idle", rpm = *rpm),
        DiagRequest::Start(r) => say!("ask-start", routine = facts::routine(*r)),
        DiagRequest::Progress => say("ask-progress"),
        DiagRequest::Stop => say("ask-stop"),
        DiagRequest::Restart => say("ask-restart"),
    }
}

/// The module's answer, with a heading if it is a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// The heading; none if a single sentence says it all.
    pub head: Option<String>,
    /// The list, one thing per item.
    pub items: Vec<String>,
}

/// The module's answer in words.
pub(super) fn answer_words(answer: &DiagResponse) -> String {
    let Answered { head, items } = answered(answer);
    match head {
        Some(head) => say!("answer-list", head = head, items = listed(&items)),
        None => listed(&items),
    }
}

/// The same, with heading and items separate.
pub fn answered(answer: &DiagResponse) -> Answered {
    let one = |words: String| Answered { head: None, items: vec![words] };
    let under = |head: &str, items: Vec<String>| Answered { head: Some(say(head)), items };
    match answer {
        DiagResponse::Ok => one(say("answer-ok")),
        DiagResponse::Refused(r) => one(say!("answer-refused", because = facts::refused(r))),
        DiagResponse::Silent => one(say("answer-silent")),
        DiagResponse::Codes(codes) if codes.is_empty() => one(say("answer-no-code")),
        DiagResponse::Codes(codes) => {
            let state = |c: &CodeStatus| say!("answer-code", code = c.code.as_str(), state = code_states(c));
            under("answer-codes", codes.iter().map(state).collect())
        }
        DiagResponse::FreezeFrame(None) => one(say("answer-no-freeze-frame")),
        DiagResponse::FreezeFrame(Some(f)) => {
            let frame = say!(
                "answer-freeze-frame-is",
                rpm = number(f.engine_speed_rpm, 0),
                coolant = measured(f.coolant_c, "°C", 0),
                map = measured(f.map_kpa, "kPa", 1),
                air = measured(f.air_g_s, "g/s", 2),
                short = signed(f.short_pct, 1),
                long = signed(f.long_pct, 1),
                fuel = crate::words::readings::fuel_system(f.fuel_system),
            );
            under("answer-freeze-frame", vec![frame])
        }
        DiagResponse::Learned(all) => {
            let value = |v: &LearnedStatus| {
                let is = learned_with_unit(v, v.value);
                say!("ill-one", what = learned_words(&v.name), value = is)
            };
            under("answer-learned", all.iter().map(value).collect())
        }
        DiagResponse::Live(l) => under("answer-live", live_words(l)),
        DiagResponse::InjectorCode(None) => one(say("answer-no-injector-code")),
        DiagResponse::InjectorCode(Some(code)) => one(say!("answer-injector-code", code = code.as_str())),
        DiagResponse::BatteryRecord(r) => one(say!(
            "answer-battery",
            kind = name("battery", r.kind.name()),
            rated = number(r.rated_ah, 0),
            passed = number(r.passed_ah, 0),
            worn = number(r.worn_out_ah, 0),
        )),
        DiagResponse::Value(x) => one(say!("answer-value", x = number(*x, 3))),
        DiagResponse::Readiness(all) => {
            let open: Vec<String> =
                all.iter().filter(|m| !m.complete).map(|m| name("monitor", &m.name)).collect();
            let told = if open.is_empty() {
                say("answer-all-complete")
            } else {
                say!("answer-not-complete", monitors = open.join(", "))
            };
            under("answer-readiness", vec![told])
        }
        DiagResponse::Routine(state) => one(facts::routine_state(state)),
    }
}
