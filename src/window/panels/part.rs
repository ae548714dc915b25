//! A part's card: what kind of part it is, what is known about this one, and *Fit another…*.

use super::{Front, PanelState, Shown, Wish, sheet, shelf, style};
use crate::bench::action::{Action, Connector, PartKind, Sensor};
use crate::bench::tools::{Look, Tool};
use crate::report;
use crate::words::facts;
use crate::words::numbers::clock;
use crate::words::{name, say, upper_first};
use egui::{Context, Ui};

/// The kind and place on the shelf of a part as it is drawn. None for a drawn part that has no card.
pub fn of(drawn: &str) -> Option<PartKind> {
    let sensor = match drawn {
        "sensor_map" => Some(Sensor::ManifoldPressure),
        "oxygen_sensor_1" => Some(Sensor::Oxygen1),
        "oxygen_sensor_2" => Some(Sensor::Oxygen2),
        _ => None,
    };
    if let Some(sensor) = sensor {
        return Some(PartKind::Sensor(sensor));
    }
    let (base, place) = match drawn.rsplit_once('_') {
        Some((base, k)) if k.parse::<u8>().is_ok() => (base, k.parse().unwrap_or(1)),
        _ => (drawn, 1),
    };
    PartKind::ALL.into_iter().find(|k| k.name() == base).map(|k| k.at(place))
}

/// The name of the part in the truth record.
fn true_name(kind: PartKind) -> String {
    kind.which().map_or_else(|| kind.name().into(), |k| format!("{}_{k}", kind.name()))
}

/// A part and its place, as the title of its card.
fn title(kind: PartKind) -> String {
    let called = upper_first(&name("part", kind.name()));
    match (kind, kind.which()) {
        (PartKind::Sensor(sensor), _) => {
            say!("card-of-sensor", part = called, sensor = name("sensor", sensor.name()))
        }
        (_, Some(k)) => say!("card-of-several", part = called, k = k),
        _ => called,
    }
}

/// The card.
pub fn card(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState, drawn: &str) -> Vec<Wish> {
    let Some(kind) = of(drawn) else {
        state.front = Front::None;
        return Vec::new();
    };
    let mut front = state.front.clone();
    let out = sheet(ctx, "part", &title(kind), &mut front, 480.0, |ui, _: &mut Front| {
        let mut out = Vec::new();
        ui.label(name("about", kind.name()));
        ui.add_space(8.0);
        known(ui, shown, kind);
        out.extend(look_at(ui, shown, state, kind));
        out.extend(plug(ui, shown, state, kind));
        ui.add_space(10.0);
        ui.label(style::bold(&say("card-fit")));
        out.extend(shelf::fit_kind(ui, kind, shown, state));
        if let Some(said) = &shown.view.said {
            style::warn(ui, &facts::told(said));
        }
        out
    });
    state.front = front;
    out
}

/// The truth about the part, under an open lid.
fn known(ui: &mut Ui, shown: &Shown<'_>, kind: PartKind) {
    let Some(truth) = &shown.view.first.truth else {
        style::soft(ui, &say("card-lid-on"));
        return;
    };
    let t = style::Palette::of(ui);
    let called = true_name(kind);
    match truth.parts.iter().find(|p| p.name == called) {
        Some(p) => {
            if !p.serial.is_empty() {
                let serial = say!("card-serial", serial = p.serial.as_str());
                ui.label(style::bold(&serial).color(t.ink));
            }
            ui.label(style::bold(&crate::words::parts::part(p)).color(t.ink));
        }
        // valves and rings are listed where they leak
        None if matches!(kind, PartKind::Valves(_) | PartKind::Rings(_)) => {
            ui.label(style::bold(&say("card-is-good")).color(t.ink));
        }
        None => {
            style::soft(ui, &say("card-not-told"));
        }
    }
}

/// A visual inspection of the part, and what the last one showed.
fn look_at(ui: &mut Ui, shown: &Shown<'_>, state: &PanelState, kind: PartKind) -> Option<Wish> {
    let look = match kind {
        PartKind::ThrottleBody => Look::ThrottleBody,
        PartKind::AirFilter => Look::AirFilter,
        PartKind::Battery => Look::Battery,
        PartKind::Injector(k) => Look::Injector(k),
        _ => return None,
    };
    let tool = Tool::Inspect(look);
    if let Some(r) = shown.view.first.seen.readings.iter().find(|r| r.tool == tool) {
        let at = clock(r.at_s - shown.view.hand_over_s);
        ui.label(say!("card-looked", at = at, seen = crate::words::readings::reading(r)));
    }
    let action = Action::Measure(tool);
    let price = report::cost_words(shown.prices, shown.prices.of(&action));
    ui.button(say!("card-look", price = price)).clicked().then(|| state.act(action))
}

/// The part's connector, clamp or belt.
fn plug(ui: &mut Ui, shown: &Shown<'_>, state: &PanelState, kind: PartKind) -> Option<Wish> {
    let c = match kind {
        PartKind::ThrottleBody => Connector::ThrottleBody,
        PartKind::AirMeter => Connector::AirMeter,
        PartKind::Injector(k) => Connector::Injector(k),
        PartKind::Coil(k) => Connector::Coil(k),
        PartKind::CrankSensor => Connector::CrankSensor,
        PartKind::PurgeValve => Connector::PurgeValve,
        PartKind::FuelCap => Connector::FuelCap,
        PartKind::Battery => Connector::Battery,
        PartKind::Pulley => Connector::Belt,
        PartKind::Sensor(Sensor::ManifoldPressure) => Connector::ManifoldPressure,
        PartKind::Sensor(Sensor::Oxygen1) => Connector::OxygenSensor1,
        PartKind::Sensor(Sensor::Oxygen2) => Connector::OxygenSensor2,
        _ => return None,
    };
    let is_in = !shelf::pulled(shown, state.reach, c);
    let words = say(match (c, is_in) {
        (Connector::Battery, true) => "card-clamp-off",
        (Connector::Battery, false) => "card-clamp-on",
        (Connector::Belt, true) => "card-belt-off",
        (Connector::Belt, false) => "card-belt-on",
        (_, true) => "card-pull-plug",
        (_, false) => "card-push-plug",
    });
    ui.button(words).clicked().then(|| state.act(Action::Connector(c, !is_in)))
}
