//! A part's card: what it is, what is known of this one, and *Fit another…*.

use super::{Front, PanelState, Shown, Wish, ink, sheet, shelf};
use crate::bench::action::{Action, Connector};
use crate::bench::tools::{Look, Tool};
use egui::Context;

/// What a part does, in two sentences.
const WHAT: [(&str, &str); 16] = [
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
    ("alternator", "Feeds the car while the engine turns, at the voltage that the module asks for."),
    ("pulley", "Drives the belt, and takes twisting swings out of the crank."),
    ("module", "Drives the engine and learns its parts. A new one is blank."),
];

/// A part's name split into what it is and which of several: `injector_2` is the second injector.
pub fn split(name: &str) -> (&'static str, Option<u8>) {
    let (base, which) = match name.rsplit_once('_') {
        Some((base, k)) if k.parse::<u8>().is_ok() => (base, k.parse().ok()),
        _ => (name, None),
    };
    let base = match base {
        "spark_plug" => "plug",
        "oxygen_sensor" | "oxygen" | "coolant" | "manifold_pressure" | "pedal" => "sensor",
        "wheel" | "reluctor_wheel" => "flexplate",
        "catalyst" => "exhaust",
        other => other,
    };
    let mut known = shelf::PARTS.iter().map(|p| p.0);
    (known.find(|k| *k == base).unwrap_or("throttle_body"), which)
}

/// The card.
pub fn card(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState, name: &str) -> Vec<Wish> {
    let (base, which) = split(name);
    let called = shelf::PARTS.iter().find(|p| p.0 == base).map_or("Part", |p| p.1);
    let title = which.map_or_else(|| called.to_owned(), |k| format!("{called} {k}"));
    if let Some(k) = which {
        state.shelf.place = k;
    }
    let mut front = state.front.clone();
    let out = sheet(ctx, "part", &title, &mut front, 480.0, |ui, _: &mut Front| {
        let mut out = Vec::new();
        if let Some((_, what)) = WHAT.iter().find(|w| w.0 == base) {
            ui.label(*what);
        }
        ui.add_space(8.0);
        if let Some(truth) = &shown.view.first.truth {
            let t = ink::Ink::of(ui);
            if let Some(p) = truth.parts.iter().find(|p| p.name == name || p.name == base) {
                ui.label(ink::bold(&format!("Serial {}", p.serial)).color(t.ink));
                ui.label(ink::bold(&p.is).color(t.ink));
            }
        } else {
            ink::soft(ui, "With the lid on, nothing more is known than what it shows.");
        }
        let looks = match base {
            "throttle_body" => Some(Look::ThrottleBody),
            "air_filter" => Some(Look::AirFilter),
            "battery" => Some(Look::Battery),
            "injector" => Some(Look::Injector(state.shelf.place)),
            _ => None,
        };
        if let Some(look) = looks {
            let tool = Tool::Inspect(look);
            let seen = shown.view.first.seen.readings.iter().find(|r| r.tool == tool);
            if let Some(r) = seen {
                ui.label(format!("Looked at {}: {}", ink::clock(r.at_s - shown.view.hand_over_s), r.words));
            }
            let action = Action::Measure(tool);
            let price = shelf::cost(shown.prices.of(&action));
            if ui.button(format!("Look at it ({price})")).clicked() {
                out.push(state.act(action));
            }
        }
        let k = state.shelf.place;
        let plug = match base {
            "throttle_body" => Some(Connector::ThrottleBody),
            "air_meter" => Some(Connector::AirMeter),
            "injector" => Some(Connector::Injector(k)),
            "coil" => Some(Connector::Coil(k)),
            "crank_sensor" => Some(Connector::CrankSensor),
            "purge_valve" => Some(Connector::PurgeValve),
            "battery" => Some(Connector::Battery),
            "pulley" => Some(Connector::Belt),
            _ => None,
        };
        if let Some(c) = plug {
            let is_in = !shelf::pulled(shown, c);
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
        out.extend(shelf::fit(ui, base, shown, state));
        out
    });
    state.front = front;
    out
}
