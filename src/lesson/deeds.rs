//! Deeds: what a logbook's lines say was done, as words that checks can name.
//!
//! *Inside*: the word for each line, and whether one word covers another. *Outside*: the lines themselves
//! (bench), the points that a deed earns.
//!
//! A deed is a series of words joined by points, from the general to the particular: `part.coil.3`. A name in a check
//! covers everything below it: `part.coil` is any coil, `part` any part. An act that the bench prevented was not
//! done, and one that the module refused is `refused.learn_idle` instead of `service.learn_idle`. A routine that ends
//! is `done.learn_idle` or `failed.learn_idle`; a reset that was accepted is done at once. `change` covers everything
//! that changes something. A live value that was seen is `live.long_pct`, whether all were read at once, it alone, or
//! the scan tool's list showed it: a list counts when all its values are there, and again when it ends.
//! A monitor that the module called complete when its readiness was read is `ready.catalyst`.

use crate::bench::Bench;
use crate::bench::action::{Action, Connector, Gear, Key, Life, Load, Note, PartKind, Sensor};
use crate::bench::pattern;
use crate::bench::record::{Entry, Kind};
use crate::bench::tools::Tool;
use crate::catalogue::services::{Service, services};
use crate::link::{DiagRequest, DiagResponse, LIVE, LiveValues, Notice, Routine};

/// Maximum number of cylinders and banks that deeds may name.
const MOST: u8 = 8;

/// Something that was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Deed {
    /// When \[s\].
    pub t_s: f64,
    /// Name of the deed, in words joined by points.
    pub class: String,
}

/// Covers every deed that changes the car, what its module holds, or what it has stored.
pub const CHANGE: &str = "change";

/// Whether a word covers a deed.
pub fn is(deed: &str, word: &str) -> bool {
    if word == CHANGE {
        return changes(deed);
    }
    deed.strip_prefix(word).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// A test leaves the car as it was, but a connector that is unplugged for one and plugged in again counts as a
/// change.
fn changes(deed: &str) -> bool {
    const TRIED: [&str; 2] = ["done.cut_out", "done.command_idle"];
    const CHANGES: [&str; 8] = [
        "part",
        "hand",
        "plug",
        "unplug",
        "done",
        "service.write_injector_code",
        "service.enter_battery_record",
        "service.clear_codes",
    ];
    CHANGES.iter().any(|c| is(deed, c)) && !TRIED.iter().any(|t| is(deed, t))
}

/// The word for an action.
pub fn of(action: &Action) -> String {
    let onoff = |on: bool| if on { "on" } else { "off" };
    match action {
        Action::Key(Key::Off) => "key.off".into(),
        Action::Key(Key::On) => "key.on".into(),
        Action::Key(Key::Crank) => "key.crank".into(),
        Action::Pedal(_) => "pedal".into(),
        Action::Brake(on) => format!("brake.{}", onoff(*on)),
        Action::Gear(Gear::Park) => "gear.park".into(),
        Action::Gear(Gear::Neutral) => "gear.neutral".into(),
        Action::Gear(Gear::Drive) => "gear.drive".into(),
        Action::Load(load, on) => format!("load.{}.{}", load.name(), onoff(*on)),
        Action::Connector(c, on) => connector(*c, *on),
        Action::Fit(choice) => part(choice.kind),
        Action::CleanThrottle => "hand.clean_throttle_body".into(),
        Action::Leak(_) => "hand.inlet_leak".into(),
        Action::ExhaustLeak(_) => "hand.exhaust_leak".into(),
        Action::Sensor(sensor, _) => format!("hand.sensor_wiring.{}", sensor.name()),
        Action::Interrupt(k, pct) if *pct > 0.0 => format!("hand.spark_interrupter.{k}"),
        Action::Interrupt(..) => "hand.spark_interrupter_out".into(),
        Action::Refuel(_) => "hand.refuel".into(),
        Action::Accessory { amps, .. } if *amps <= 0.0 => "hand.accessory_out".into(),
        Action::Accessory { past_sensor: true, .. } => "hand.accessory.past_sensor".into(),
        Action::Accessory { .. } => "hand.accessory.behind_sensor".into(),
        Action::Charger { amps, .. } if *amps <= 0.0 => "hand.charger_off".into(),
        Action::Charger { past_sensor: true, .. } => "hand.charger.past_sensor".into(),
        Action::Charger { .. } => "hand.charger.behind_sensor".into(),
        Action::Rest(_) => "rest".into(),
        Action::DriveOn(life) => format!("drive_on.{}", life.pattern.word()),
        Action::SwapInjectors(..) => "hand.swap_injectors".into(),
        Action::CopyInjectorCode { cylinder, .. } => format!("service.write_injector_code.{cylinder}"),
        Action::Ask(request) => service(request),
        Action::Drive { pattern, .. } => format!("drive.{}", pattern.word()),
        Action::Hold { nm, .. } if *nm > 0.0 => "hold.loaded".into(),
        Action::Hold { .. } => "hold.light".into(),
        Action::Measure(tool) => measured(*tool),
        Action::Watch(_) => "watch".into(),
        Action::Note(Note::Cautions) => "say.cautions".into(),
        Action::Note(Note::Cause(id)) => format!("say.cause.{id}"),
        Action::Note(Note::Answer { ask, .. }) => format!("say.answer.{ask}"),
        Action::Note(Note::Words(_)) => "say.words".into(),
        Action::Note(Note::Rewound(_)) => "say.rewound".into(),
        Action::Note(Note::Lid(true)) => "say.lid_opened".into(),
        Action::Note(Note::Lid(false)) => "say.lid_closed".into(),
        Action::Note(Note::Forked) => "say.forked".into(),
        Action::Wait => "wait".into(),
    }
}

fn part(kind: PartKind) -> String {
    kind.which().map_or_else(|| format!("part.{}", kind.name()), |w| format!("part.{}.{w}", kind.name()))
}

fn connector(c: Connector, on: bool) -> String {
    let verb = if on { "plug" } else { "unplug" };
    match c {
        Connector::Injector(k) => format!("{verb}.injector.{k}"),
        Connector::Coil(k) => format!("{verb}.coil.{k}"),
        c => {
            let all = Connector::named(0);
            let name = all.iter().find(|(_, one)| *one == c).map_or("connector", |(n, _)| n);
            format!("{verb}.{name}")
        }
    }
}

fn service(request: &DiagRequest) -> String {
    let name = request.name();
    match request {
        DiagRequest::WriteInjectorCode { cylinder: k, .. }
        | DiagRequest::ReadInjectorCode(k)
        | DiagRequest::Start(Routine::CutOut(k)) => format!("service.{name}.{k}"),
        _ => format!("service.{name}"),
    }
}

fn measured(tool: Tool) -> String {
    let (instrument, name) = (tool.instrument(), tool.name());
    match name.strip_prefix(instrument).and_then(|rest| rest.strip_prefix('_')) {
        Some(at) => format!("tool.{instrument}.{at}"),
        None => format!("tool.{instrument}"),
    }
}

/// A live value was seen.
fn live(name: &str) -> String {
    format!("live.{name}")
}

/// The deeds in a logbook's lines, in order.
pub fn deeds(log: &[Entry]) -> Vec<Deed> {
    let mut out: Vec<Deed> = Vec::new();
    // the act whose answer, if it has one, is in the following lines
    let mut asked: Option<(usize, &str, &Action)> = None;
    for e in log {
        let mut done = |class: String| out.push(Deed { t_s: e.t_s, class });
        match &e.kind {
            Kind::Act { id, action } => {
                done(of(action));
                asked = Some((out.len() - 1, id, action));
            }
            Kind::Hindered { id, .. } => {
                if let Some((k, of, _)) = asked.take()
                    && of == id
                {
                    out.remove(k);
                }
            }
            Kind::Answer { id, answer } => {
                if let Some((k, of, action)) = asked.take()
                    && of == id
                {
                    answered(&mut out, k, answer, e.t_s);
                    if let (Action::Ask(DiagRequest::ReadValue(name)), DiagResponse::Value(_)) =
                        (action, answer)
                    {
                        out.push(Deed { t_s: e.t_s, class: live(name) });
                    }
                }
            }
            Kind::Shown { values, .. } | Kind::Watched { values, .. } => {
                values.iter().for_each(|v| done(live(&v.name)));
            }
            Kind::Module { what: Notice::RoutineDone { routine, .. } } => {
                done(format!("done.{}", routine.name()));
            }
            Kind::Module { what: Notice::RoutineFailed { routine, .. } } => {
                done(format!("failed.{}", routine.name()));
            }
            Kind::Module { what: Notice::SequenceComplete { .. } } => done("done.manual_sequence".into()),
            Kind::Module { what: Notice::SequenceAborted { .. } } => done("failed.manual_sequence".into()),
            _ => {}
        }
    }
    out
}

fn answered(out: &mut Vec<Deed>, k: usize, answer: &DiagResponse, t_s: f64) {
    let Some(deed) = out.get_mut(k) else { return };
    let Some(asked) = deed.class.strip_prefix("service.").map(str::to_owned) else { return };
    match answer {
        DiagResponse::Refused(_) | DiagResponse::Silent => deed.class = format!("refused.{asked}"),
        DiagResponse::Live(_) => {
            out.extend(LIVE.iter().map(|l| Deed { t_s, class: live(l.id) }));
        }
        DiagResponse::Readiness(all) => {
            let ready = all.iter().filter(|m| m.complete);
            out.extend(ready.map(|m| Deed { t_s, class: format!("ready.{}", m.name) }));
        }
        DiagResponse::Ok if asked.starts_with("reset_") => {
            out.push(Deed { t_s, class: format!("done.{asked}") });
        }
        _ => {}
    }
}

/// Every possible deed, except those with a scenario's own ids in them.
pub fn known() -> Vec<String> {
    let mut all: Vec<Action> = vec![
        Action::Key(Key::Off),
        Action::Key(Key::On),
        Action::Key(Key::Crank),
        Action::Pedal(0.0),
        Action::Brake(true),
        Action::Brake(false),
        Action::Gear(Gear::Park),
        Action::Gear(Gear::Neutral),
        Action::Gear(Gear::Drive),
        Action::CleanThrottle,
        Action::Leak(0.0),
        Action::ExhaustLeak(0.0),
        Action::Interrupt(1, 0.0),
        Action::Refuel(1.0),
        Action::Accessory { amps: 0.0, past_sensor: false },
        Action::Accessory { amps: 1.0, past_sensor: false },
        Action::Accessory { amps: 1.0, past_sensor: true },
        Action::Charger { amps: 0.0, past_sensor: false },
        Action::Charger { amps: 1.0, past_sensor: false },
        Action::Charger { amps: 1.0, past_sensor: true },
        Action::Rest(1.0),
        Action::SwapInjectors(1, 2),
        Action::Hold { rpm: 0.0, nm: 0.0 },
        Action::Hold { rpm: 0.0, nm: 1.0 },
        Action::Watch(Vec::new()),
        Action::Note(Note::Cautions),
        Action::Note(Note::Words(String::new())),
        Action::Note(Note::Rewound(0.0)),
        Action::Note(Note::Lid(true)),
        Action::Note(Note::Lid(false)),
        Action::Note(Note::Forked),
        Action::Wait,
    ];
    all.extend(Load::ALL.iter().flat_map(|(_, l)| [true, false].map(|on| Action::Load(*l, on))));
    all.extend(
        Connector::named(MOST).iter().flat_map(|(_, c)| [true, false].map(|b| Action::Connector(*c, b))),
    );
    all.extend(Sensor::ALL.iter().map(|(s, _)| Action::Sensor(*s, Default::default())));
    all.extend((1..=MOST).map(|k| Action::Interrupt(k, 1.0)));
    all.extend(pattern::Name::ALL.iter().map(|(_, p)| Action::Drive { pattern: *p, minutes: 1.0 }));
    all.extend(pattern::Name::ALL.iter().map(|(_, p)| {
        Action::DriveOn(Life { pattern: *p, minutes: 1.0, trips: 1, days_a_week: 7, days: 1, each: 1 })
    }));
    all.extend(Tool::all(usize::from(MOST), 2).into_iter().map(Action::Measure));
    for Service { ask, .. } in services() {
        match ask {
            DiagRequest::WriteInjectorCode { .. } => all.extend(
                (1..=MOST)
                    .map(|k| DiagRequest::WriteInjectorCode { cylinder: k, code: String::new() })
                    .map(Action::Ask),
            ),
            DiagRequest::ReadInjectorCode(_) => {
                all.extend((1..=MOST).map(DiagRequest::ReadInjectorCode).map(Action::Ask));
            }
            DiagRequest::Start(Routine::CutOut(_)) => {
                all.extend((1..=MOST).map(|k| Action::Ask(DiagRequest::Start(Routine::CutOut(k)))));
            }
            one => all.push(Action::Ask(one)),
        }
    }
    let mut out: Vec<String> = all.iter().map(of).collect();
    for (name, _) in Routine::ALL {
        out.extend(["refused", "done", "failed"].map(|verb| format!("{verb}.{name}")));
    }
    out.extend(PartKind::every(MOST, 2).map(part));
    out.extend(LiveValues::NAMES.iter().map(|n| live(n)));
    out.extend(Bench::known_monitors().iter().map(|name| format!("ready.{name}")));
    out.extend(
        ["done.manual_sequence", "failed.manual_sequence", "say.cause", "say.answer", "refused", CHANGE]
            .map(String::from),
    );
    out.extend(
        ["write_injector_code", "read_injector_code", "enter_battery_record", "cut_out", "command_idle"]
            .map(|name| format!("refused.{name}")),
    );
    out
}

/// Parts that an engine has only one of.
pub fn single_parts() -> impl Iterator<Item = PartKind> {
    PartKind::ALL.into_iter().filter(|k| k.place_key().is_none())
}
