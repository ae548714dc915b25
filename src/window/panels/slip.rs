//! Slip in a fault: an instructor's hand, under an open lid only. Whatever an action file can make ill can be made ill here.

use super::{Front, PanelState, Plate, Shown, Wish, ink, sheet, shelf};
use crate::bench::action::{Action, Ill, PartChoice, PartKind, Wire};
use crate::session::live::Order;
use crate::units::{self, Range};
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

/// What may be said of a part in numbers: key in files, words, and where a value begins that is to be said.
pub const NUMBERS: [(&str, &str, f64); 19] = [
    ("deposit_um", "deposit film", 50.0),
    ("stop_offset_deg", "closed stop off by", 0.5),
    ("error_pct", "error", -20.0),
    ("error_high_pct", "error at 60 g/s", -20.0),
    ("wear_pct", "worn or blocked by", 50.0),
    ("track_wear_pct", "first track worn by", 50.0),
    ("aged_pct", "catalyst aged by", 80.0),
    ("leak_mm2", "lets by", 2.0),
    ("drip_mg_s", "drips", 20.0),
    ("runout_mm", "off its middle by", 0.1),
    ("high_deg", "furthest out at", 90.0),
    ("hit_tooth", "tooth that was hit", 20.0),
    ("hit_deg", "its edge off by", 0.3),
    ("gap_mm", "gap", 1.6),
    ("ripple_nm", "ripple", 40.0),
    ("teeth_late", "teeth late", 1.0),
    ("rated_ah", "capacity on its label", 60.0),
    ("cold_a", "cold current on its label", 540.0),
    ("charge_pct", "charged to", 50.0),
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
    let out = sheet(ctx, "slip", "Slip in a fault", &mut front, 620.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        if !shown.view.lid_open {
            *front = Front::None;
            return out;
        }
        ink::soft(
            ui,
            "It stands in the logbook like any other act, in words that tell no value under a closed lid.",
        );
        ui.add_space(6.0);
        let mut s = state.slip.clone();
        ui.horizontal(|ui| {
            drag(ui, &mut s.leak_mm2, &units::LEAK_MM2);
            if ui.button("Leak behind the air meter").clicked() {
                out.push(slip(state, Action::Leak(s.leak_mm2)));
            }
        });
        ui.horizontal(|ui| {
            drag(ui, &mut s.exhaust_mm2, &units::EXHAUST_LEAK_MM2);
            if ui.button("Leak in the exhaust").clicked() {
                out.push(slip(state, Action::ExhaustLeak(s.exhaust_mm2)));
            }
        });
        ui.separator();
        ui.label(ink::bold("A sensor and its wire"));
        let sensor = shelf::any_sensor(ui, shown.plate, &mut state.shelf);
        ill(ui, &mut s.ill);
        if ui.button("Make it so").clicked() {
            out.push(slip(state, Action::Sensor(sensor, s.ill)));
        }
        ui.separator();
        ui.label(ink::bold("A part"));
        ink::soft(ui, "What is not said follows from its serial. The engine must be stopped.");
        part(ui, shown.plate, &mut state.shelf, &mut s);
        if ui.button("Fit it").clicked() {
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
        ink::soft(ui, "wire");
        let wires = [
            (Wire::Sound, "sound"),
            (Wire::Open, "open"),
            (Wire::ToEarth, "to earth"),
            (Wire::ToSupply, "to supply"),
            (Wire::Loose, "loose"),
        ];
        for (wire, name) in wires {
            ui.selectable_value(&mut ill.wire, wire, name);
        }
        ui.checkbox(&mut ill.stuck, "stuck");
    });
    ui.horizontal_wrapped(|ui| {
        for (name, x, range) in [
            ("off by", &mut ill.offset_v, &units::SENSOR_OFFSET_V),
            ("times", &mut ill.gain, &units::SENSOR_GAIN),
            ("lag", &mut ill.lag_s, &units::SENSOR_LAG_S),
            ("noise", &mut ill.noise_v, &units::SENSOR_NOISE_V),
        ] {
            ink::soft(ui, name);
            drag(ui, x, range);
        }
    });
}

/// Which part, and what is said of it.
fn part(ui: &mut Ui, plate: &Plate, on_shelf: &mut shelf::ShelfState, s: &mut SlipState) {
    let all: Vec<(&'static str, String)> =
        shelf::here(plate).map(|(name, called)| (name, called.to_owned())).collect();
    shelf::chosen(ui, "slip part", "which", &mut s.part, &all);
    shelf::place(ui, s.part, plate, on_shelf);
    let kind = shelf::kind_of(s.part, on_shelf);
    if kind.name() != s.choice.kind.name() {
        s.choice = PartChoice::new(kind);
    }
    s.choice.kind = kind;
    for fault in kind.faults() {
        match fault.key {
            "variant" => {
                ui.checkbox(&mut s.choice.other_variant, "the maker's other size");
            }
            "bent" => {
                ui.checkbox(&mut s.choice.bent, "its bracket is bent");
            }
            "battery_type" => {
                ui.horizontal(|ui| {
                    ui.selectable_value(&mut s.choice.battery_type, None, "as the car's");
                    for (name, kind) in crate::label::BatteryKind::ALL {
                        ui.selectable_value(&mut s.choice.battery_type, Some(*kind), *name);
                    }
                });
            }
            // an error at high flow is said beside one at low flow only
            "error_high_pct" if s.choice.error_pct.is_none() => s.choice.say("error_high_pct", None),
            key => number(ui, key, kind, &mut s.choice),
        }
    }
}

/// One number that is said, or left to the serial.
fn number(ui: &mut Ui, key: &str, kind: PartKind, choice: &mut PartChoice) {
    let (Some(range), Some((_, words, begins))) = (kind.range(key), NUMBERS.iter().find(|n| n.0 == key))
    else {
        return;
    };
    ui.horizontal(|ui| {
        let mut said = choice.said(key).is_some();
        if ui.checkbox(&mut said, *words).changed() {
            choice.say(key, said.then_some(*begins));
        }
        if let Some(mut x) = choice.said(key) {
            drag(ui, &mut x, range);
            let whole = matches!(key, "hit_tooth" | "teeth_late");
            choice.say(key, Some(if whole { x.round() } else { x }));
        }
    });
}
