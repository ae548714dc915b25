//! A part's card: what it is, what is known of this one, and *Fit another…*.

use super::{Front, PanelState, Shown, Wish, ink, sheet, shelf};
use crate::bench::action::{Action, Connector, PartKind, Sensor};
use crate::bench::tools::{Look, Tool};
use egui::Context;

/// What a part does, in two sentences.
const WHAT: [(&str, &str); 17] = [
    (
        "throttle_body",
        "A plate that lets air in, turned by a motor. Its own closed stop differs from one to the next, and a film grows behind the plate.",
    ),
    ("air_meter", "Measures the air that goes in. What comes in behind it is not metered."),
    (
        "injector",
        "Lets fuel into one cylinder. Each gives a little more or less than the next; on some cars its difference is printed on it as a code.",
    ),
    ("coil", "Makes the spark of one cylinder."),
    ("plug", "Where the spark jumps. A wide gap needs more than a coil may give."),
    ("valves", "Let gas in and out of one cylinder. Leaking ones lose compression."),
    ("rings", "Keep the gas above the piston. Worn ones lose compression."),
    (
        "flexplate",
        "Carries the reluctor wheel: fifty-eight teeth and a gap of two. No wheel runs quite true, and the module learns how far it is off.",
    ),
    ("crank_sensor", "Sees the teeth go by."),
    ("exhaust", "Pipe and catalyst of one bank."),
    ("sensor", "Turns something that is into volts at a pin."),
    ("purge_valve", "Lets vapour from the tank into the engine, when the module wants it."),
    ("battery", "Feeds everything. The module forgets some of what it learned when it is taken off."),
    ("air_filter", "Keeps dust out. A blocked one costs power."),
    ("alternator", "Feeds the car while the engine turns, at the voltage that the module asks for."),
    ("pulley", "Drives the belt, and takes twisting swings out of the crank."),
    ("module", "Drives the engine and learns its parts. A new one is blank."),
];

/// A part of the engine as it is drawn: what it is on the shelf, and which of several. None for what has no card.
pub fn of(name: &str) -> Option<PartKind> {
    let sensor = match name {
        "sensor_map" => Some(Sensor::ManifoldPressure),
        "oxygen_sensor_1" => Some(Sensor::Oxygen1),
        "oxygen_sensor_2" => Some(Sensor::Oxygen2),
        _ => None,
    };
    if let Some(sensor) = sensor {
        return Some(PartKind::Sensor(sensor));
    }
    let (base, place) = match name.rsplit_once('_') {
        Some((base, k)) if k.parse::<u8>().is_ok() => (base, k.parse().unwrap_or(1)),
        _ => (name, 1),
    };
    PartKind::ALL.into_iter().find(|k| k.name() == base).map(|k| k.at(place))
}

/// What truth calls it.
fn true_name(kind: PartKind) -> String {
    match kind {
        PartKind::Valves(k) | PartKind::Rings(k) => format!("seals_{k}"),
        other => other.which().map_or_else(|| other.name().into(), |k| format!("{}_{k}", other.name())),
    }
}

/// The card.
pub fn card(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState, name: &str) -> Vec<Wish> {
    let Some(kind) = of(name) else {
        state.front = Front::None;
        return Vec::new();
    };
    let base = kind.name();
    let called = shelf::PARTS.iter().find(|p| p.0 == base).map_or("Part", |p| p.1);
    let title =
        kind.which().map_or_else(|| called.to_owned(), |k| format!("{called} {}", k.replace('_', " ")));
    let mut front = state.front.clone();
    let out = sheet(ctx, "part", &title, &mut front, 480.0, |ui, _: &mut Front| {
        let mut out = Vec::new();
        if let Some((_, what)) = WHAT.iter().find(|w| w.0 == base) {
            ui.label(*what);
        }
        ui.add_space(8.0);
        if let Some(truth) = &shown.view.first.truth {
            let t = ink::Ink::of(ui);
            let name = true_name(kind);
            match truth.parts.iter().find(|p| p.name == name) {
                Some(p) => {
                    if !p.serial.is_empty() {
                        ui.label(ink::bold(&format!("Serial {}", p.serial)).color(t.ink));
                    }
                    ui.label(ink::bold(&p.is).color(t.ink));
                }
                // valves and rings are listed where they leak
                None if matches!(kind, PartKind::Valves(_) | PartKind::Rings(_)) => {
                    ui.label(ink::bold("as a good one is").color(t.ink));
                }
                None => {
                    ink::soft(
                        ui,
                        "What is true of it is not told here: set what it shows beside the true traces.",
                    );
                }
            }
        } else {
            ink::soft(ui, "With the lid on, nothing more is known than what it shows.");
        }
        let looks = match base {
            "throttle_body" => Some(Look::ThrottleBody),
            "air_filter" => Some(Look::AirFilter),
            "battery" => Some(Look::Battery),
            "injector" => kind.which().and_then(|k| k.parse().ok()).map(Look::Injector),
            _ => None,
        };
        if let Some(look) = looks {
            let tool = Tool::Inspect(look);
            let seen = shown.view.first.seen.readings.iter().find(|r| r.tool == tool);
            if let Some(r) = seen {
                ui.label(format!(
                    "Looked at {}: {}",
                    ink::clock(r.at_s - shown.view.hand_over_s),
                    crate::words::readings::reading(r)
                ));
            }
            let action = Action::Measure(tool);
            let price = shelf::cost(shown.prices.of(&action));
            if ui.button(format!("Look at it ({price})")).clicked() {
                out.push(state.act(action));
            }
        }
        let plug = match kind {
            PartKind::ThrottleBody => Some(Connector::ThrottleBody),
            PartKind::AirMeter => Some(Connector::AirMeter),
            PartKind::Injector(k) => Some(Connector::Injector(k)),
            PartKind::Coil(k) => Some(Connector::Coil(k)),
            PartKind::CrankSensor => Some(Connector::CrankSensor),
            PartKind::PurgeValve => Some(Connector::PurgeValve),
            PartKind::Battery => Some(Connector::Battery),
            PartKind::Pulley => Some(Connector::Belt),
            PartKind::Sensor(Sensor::ManifoldPressure) => Some(Connector::ManifoldPressure),
            PartKind::Sensor(Sensor::Oxygen1) => Some(Connector::OxygenSensor1),
            PartKind::Sensor(Sensor::Oxygen2) => Some(Connector::OxygenSensor2),
            _ => None,
        };
        if let Some(c) = plug {
            let is_in = !shelf::pulled(shown, state.reach, c);
            let words = match (c, is_in) {
                (Connector::Battery, true) => "Take the clamp off",
                (Connector::Battery, false) => "Put the clamp on",
                (Connector::Belt, true) => "Take the belt off",
                (Connector::Belt, false) => "Put the belt on",
                (_, true) => "Pull its plug",
                (_, false) => "Push its plug in",
            };
            if ui.button(words).clicked() {
                out.push(state.act(Action::Connector(c, !is_in)));
            }
        }
        ui.add_space(10.0);
        ui.label(ink::bold("Fit another…"));
        out.extend(shelf::fit_kind(ui, kind, shown, state));
        if let Some(said) = &shown.view.said {
            ink::warn(ui, said);
        }
        out
    });
    state.front = front;
    out
}
