//! Injects a fault while the engine runs: for the instructor, and only while truth is shown. It can inject every
//! fault that an action file can.

use super::{Front, Nameplate, PanelState, Shown, Wish, sheet, shelf, style};
use crate::bench::action::{Action, Ill, PartChoice, PartKind, Wire};
use crate::catalogue::parts::{Fault, Says};
use crate::scenario::surprise;
use crate::session::desk::MarkName;
use crate::session::live::Order;
use crate::units::{self, Range};
use crate::words::{name, say, upper_first};
use egui::{Context, Ui};

/// State of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct InjectFaultState {
    /// Area of a leak downstream of the MAF sensor \[mm²\].
    pub leak_mm2: f64,
    /// Area of a leak in the exhaust \[mm²\].
    pub exhaust_mm2: f64,
    /// State of a sensor and its wiring.
    pub ill: Ill,
    /// The part to fit, by its name in files.
    pub part: &'static str,
    /// What is specified about that part; its kind is the kind of `part`.
    pub choice: PartChoice,
}

impl Default for InjectFaultState {
    fn default() -> Self {
        Self {
            leak_mm2: 10.0,
            exhaust_mm2: 30.0,
            ill: Ill { wire: Wire::Open, ..Ill::default() },
            part: "throttle_body",
            choice: PartChoice::new(PartKind::ThrottleBody),
        }
    }
}

fn drag(ui: &mut Ui, x: &mut f64, r: &Range) {
    let speed = (r.high - r.low) / 200.0;
    let digits = if r.high - r.low >= 50.0 { 0 } else { 2 };
    shelf::typed(ui, x, (r.low, r.high), r.unit, |drag| drag.speed(speed).max_decimals(digits));
}

fn slip(state: &PanelState, action: Action) -> Wish {
    Wish::Order(Order::InjectFault(action, state.reach))
}

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "slip", &say("slip-title"), &mut front, 620.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        if !shown.view.lid_open {
            *front = Front::None;
            return out;
        }
        style::soft(ui, &say("slip-logbook"));
        ui.add_space(6.0);
        out.extend(by_level(ui, shown, state));
        ui.separator();
        ui.label(style::bold(&say("slip-by-hand")));
        let mut s = state.inject_fault.clone();
        ui.horizontal_wrapped(|ui| {
            drag(ui, &mut s.leak_mm2, &units::LEAK_MM2);
            if ui.button(say("slip-leak")).clicked() {
                out.push(slip(state, Action::Leak(s.leak_mm2)));
            }
        });
        ui.horizontal_wrapped(|ui| {
            drag(ui, &mut s.exhaust_mm2, &units::EXHAUST_LEAK_MM2);
            if ui.button(say("slip-exhaust-leak")).clicked() {
                out.push(slip(state, Action::ExhaustLeak(s.exhaust_mm2)));
            }
        });
        ui.separator();
        ui.label(style::bold(&say("slip-sensor")));
        let sensor = shelf::any_sensor(ui, shown.plate, &mut state.shelf);
        ill(ui, &mut s.ill);
        if ui.button(say("slip-make-it-so")).clicked() {
            out.push(slip(state, Action::Sensor(sensor, s.ill)));
        }
        ui.separator();
        ui.label(style::bold(&say("slip-part")));
        style::soft(ui, &say("slip-part-serial"));
        part(ui, shown.plate, &mut state.shelf, &mut s);
        if ui.button(say("slip-fit")).clicked() {
            out.push(slip(state, Action::Fit(s.choice.clone())));
        }
        state.inject_fault = s;
        out
    });
    state.front = front;
    out
}

/// Faults by level: any of a level, or a named one; place and size come from the seed.
fn by_level(ui: &mut Ui, shown: &Shown<'_>, state: &PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let plate = shown.plate;
    let has = plate.has;
    let (seed, turning) = (shown.scenario.setup.seed, shown.view.first.seen.live.engine_speed_rpm > 0.0);
    let before = shown.view.marks.iter().filter(|m| m.name == MarkName::SlippedIn).count() as u32;
    ui.label(style::bold(&say("slip-by-level")));
    style::soft(ui, &say("slip-by-level-says"));
    for level in 1..=3 {
        ui.horizontal_wrapped(|ui| {
            if ui.button(style::bold(&say!("slip-any", level = level))).clicked() {
                let any = surprise::any_of(level, turning, &has, seed, before);
                out.extend(any.map(|action| slip(state, action)));
            }
            for one in surprise::of_level(level, turning) {
                if ui.button(upper_first(&name("surprise", one.id))).clicked() {
                    out.push(slip(state, one.action(&has, seed, before)));
                }
            }
        });
    }
    out
}

/// The fault of a sensor.
fn ill(ui: &mut Ui, ill: &mut Ill) {
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, &name("sensor-ill", "wire"));
        let wires = [
            (Wire::Sound, "sound"),
            (Wire::Open, "open"),
            (Wire::ToEarth, "to_earth"),
            (Wire::ToSupply, "to_supply"),
            (Wire::Loose, "loose"),
        ];
        for (wire, id) in wires {
            ui.selectable_value(&mut ill.wire, wire, name("wire", id));
        }
        ui.checkbox(&mut ill.stuck, name("sensor-ill", "stuck"));
    });
    ui.horizontal_wrapped(|ui| {
        for (id, x, range) in [
            ("offset_v", &mut ill.offset_v, &units::SENSOR_OFFSET_V),
            ("gain", &mut ill.gain, &units::SENSOR_GAIN),
            ("lag_s", &mut ill.lag_s, &units::SENSOR_LAG_S),
            ("noise_v", &mut ill.noise_v, &units::SENSOR_NOISE_V),
        ] {
            style::soft(ui, &name("sensor-ill", id));
            drag(ui, x, range);
        }
    });
}

/// The part to fit, and what is specified about it.
fn part(ui: &mut Ui, plate: &Nameplate, on_shelf: &mut shelf::ShelfState, s: &mut InjectFaultState) {
    let all: Vec<(&'static str, String)> =
        shelf::here(plate).map(|k| (k.name(), upper_first(&name("part", k.name())))).collect();
    shelf::chosen(ui, "slip part", &say("shelf-which"), &mut s.part, &all);
    shelf::place(ui, s.part, plate, on_shelf);
    let kind = shelf::kind_of(s.part, on_shelf);
    if kind.name() != s.choice.kind.name() {
        s.choice = PartChoice::new(kind);
    }
    s.choice.kind = kind;
    for fault in kind.faults() {
        // an error at high flow can be specified only together with one at low flow
        if fault.with.is_some_and(|with| s.choice.said(with).is_none()) {
            s.choice.say(fault.key, None);
            continue;
        }
        said(ui, fault, &mut s.choice);
    }
}

/// A property that is either specified or left to the serial.
fn said(ui: &mut Ui, fault: &Fault, choice: &mut PartChoice) {
    let key = fault.key;
    ui.horizontal_wrapped(|ui| {
        let mut now = choice.said(key);
        match fault.says {
            // a property with a single word is either on or off
            Says::OneOf(words) if key == "battery_type" => {
                ui.selectable_value(&mut now, None, say("slip-battery-as-the-car"));
                for (k, id) in words.iter().enumerate() {
                    ui.selectable_value(&mut now, Some(k as f64), name("battery", id));
                }
            }
            _ => {
                let mut on = now.is_some();
                if ui.checkbox(&mut on, name("fault", key)).changed() {
                    now = on.then_some(fault.begins);
                }
            }
        }
        if let (Some(x), Some(range)) = (&mut now, fault.range()) {
            drag(ui, x, &range);
        }
        choice.say(key, now.map(|x| if matches!(fault.says, Says::Whole(_)) { x.round() } else { x }));
    });
}
