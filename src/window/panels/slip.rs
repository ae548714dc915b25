//! Slip in a fault: an instructor's hand, under an open lid only. Whatever an action file can make ill can be made ill here.

use super::{Front, PanelState, Plate, Shown, Wish, ink, sheet, shelf};
use crate::bench::action::{Action, Ill, PartChoice, PartKind, Wire};
use crate::session::live::Order;
use crate::units::{self, Range};
use crate::words::{name, say, upper_first};
use egui::{Context, DragValue, Ui};

/// What the sheet keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct SlipState {
    /// Area of a leak behind the air meter \[mm²\].
    pub leak_mm2: f64,
    /// Area of a leak in the exhaust \[mm²\].
    pub exhaust_mm2: f64,
    /// How a sensor and its wire are to be.
    pub ill: Ill,
    /// Which part is to be fitted, by its name in files.
    pub part: &'static str,
    /// What is said of it; its kind is that of `part`.
    pub choice: PartChoice,
}

impl Default for SlipState {
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

/// What may be said of a part in numbers: key in files, and where a value begins that is to be said.
pub const NUMBERS: [(&str, f64); 19] = [
    ("deposit_um", 50.0),
    ("stop_offset_deg", 0.5),
    ("error_pct", -20.0),
    ("error_high_pct", -20.0),
    ("wear_pct", 50.0),
    ("track_wear_pct", 50.0),
    ("aged_pct", 80.0),
    ("leak_mm2", 2.0),
    ("drip_mg_s", 20.0),
    ("runout_mm", 0.1),
    ("high_deg", 90.0),
    ("hit_tooth", 20.0),
    ("hit_deg", 0.3),
    ("gap_mm", 1.6),
    ("ripple_nm", 40.0),
    ("teeth_late", 1.0),
    ("rated_ah", 60.0),
    ("cold_a", 540.0),
    ("charge_pct", 50.0),
];

fn drag(ui: &mut Ui, x: &mut f64, r: &Range) {
    let speed = (r.high - r.low) / 200.0;
    let digits = if r.high - r.low >= 50.0 { 0 } else { 2 };
    let unit = if r.unit.is_empty() { String::new() } else { format!(" {}", r.unit) };
    ui.add(DragValue::new(x).range(r.low..=r.high).speed(speed).max_decimals(digits).suffix(unit));
}

fn slip(state: &PanelState, action: Action) -> Wish {
    Wish::Order(Order::Slip(action, state.reach))
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
        ink::soft(ui, &say("slip-logbook"));
        ui.add_space(6.0);
        let mut s = state.slip.clone();
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
        ui.label(ink::bold(&say("slip-sensor")));
        let sensor = shelf::any_sensor(ui, shown.plate, &mut state.shelf);
        ill(ui, &mut s.ill);
        if ui.button(say("slip-make-it-so")).clicked() {
            out.push(slip(state, Action::Sensor(sensor, s.ill)));
        }
        ui.separator();
        ui.label(ink::bold(&say("slip-part")));
        ink::soft(ui, &say("slip-part-serial"));
        part(ui, shown.plate, &mut state.shelf, &mut s);
        if ui.button(say("slip-fit")).clicked() {
            out.push(slip(state, Action::Fit(s.choice.clone())));
        }
        state.slip = s;
        out
    });
    state.front = front;
    out
}

/// What is wrong with a sensor.
fn ill(ui: &mut Ui, ill: &mut Ill) {
    ui.horizontal_wrapped(|ui| {
        ink::soft(ui, &name("sensor-ill", "wire"));
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
            ink::soft(ui, &name("sensor-ill", id));
            drag(ui, x, range);
        }
    });
}

/// Which part, and what is said of it.
fn part(ui: &mut Ui, plate: &Plate, on_shelf: &mut shelf::ShelfState, s: &mut SlipState) {
    let all: Vec<(&'static str, String)> =
        shelf::here(plate).map(|k| (k.name(), upper_first(&name("part", k.name())))).collect();
    shelf::chosen(ui, "slip part", &say("shelf-which"), &mut s.part, &all);
    shelf::place(ui, s.part, plate, on_shelf);
    let kind = shelf::kind_of(s.part, on_shelf);
    if kind.name() != s.choice.kind.name() {
        s.choice = PartChoice::new(kind);
    }
    s.choice.kind = kind;
    for key in kind.says() {
        match *key {
            "variant" => {
                ui.checkbox(&mut s.choice.other_variant, name("fault", key));
            }
            "bent" => {
                ui.checkbox(&mut s.choice.bent, name("fault", key));
            }
            "battery_type" => {
                ui.horizontal_wrapped(|ui| {
                    ui.selectable_value(&mut s.choice.battery_type, None, say("slip-battery-as-the-car"));
                    for (id, kind) in crate::label::BatteryKind::ALL {
                        ui.selectable_value(&mut s.choice.battery_type, Some(*kind), name("battery", id));
                    }
                });
            }
            // an error at high flow is said beside one at low flow only
            "error_high_pct" if s.choice.error_pct.is_none() => s.choice.say(key, None),
            key => number(ui, key, kind, &mut s.choice),
        }
    }
}

/// One number that is said, or left to the serial.
fn number(ui: &mut Ui, key: &str, kind: PartKind, choice: &mut PartChoice) {
    let (Some(range), Some((_, begins))) = (kind.range(key), NUMBERS.iter().find(|n| n.0 == key)) else {
        return;
    };
    ui.horizontal_wrapped(|ui| {
        let mut said = choice.said(key).is_some();
        if ui.checkbox(&mut said, name("fault", key)).changed() {
            choice.say(key, said.then_some(*begins));
        }
        if let Some(mut x) = choice.said(key) {
            drag(ui, &mut x, range);
            let whole = matches!(key, "hit_tooth" | "teeth_late");
            choice.say(key, Some(if whole { x.round() } else { x }));
        }
    });
}
