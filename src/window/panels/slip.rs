//! Slip in a fault: an instructor's hand, under an open lid only.

use super::{Front, PanelState, Shown, Wish, ink, sheet, shelf};
use crate::bench::action::{Action, Ill, PartChoice, PartKind, Sensor, Wire};
use egui::Context;

/// What the sheet keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct SlipState {
    /// Area of a leak behind the air meter \[mm²\].
    pub leak_mm2: f64,
    /// Area of a leak in the exhaust \[mm²\].
    pub exhaust_mm2: f64,
    /// How a wire is.
    pub wire: Wire,
    /// Added to a sensor's volts \[V\].
    pub offset_v: f64,
    /// A sensor's lag \[s\].
    pub lag_s: f64,
    /// Deposit of a throttle body \[µm\].
    pub deposit_um: f64,
    /// Error of an injector \[%\].
    pub error_pct: f64,
    /// Wear of a coil \[%\].
    pub wear_pct: f64,
}

impl Default for SlipState {
    fn default() -> Self {
        Self {
            leak_mm2: 10.0,
            exhaust_mm2: 30.0,
            wire: Wire::Open,
            offset_v: 0.0,
            lag_s: 0.0,
            deposit_um: 50.0,
            error_pct: -20.0,
            wear_pct: 90.0,
        }
    }
}

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "slip", "Slip in a fault", &mut front, 540.0, |ui, front: &mut Front| {
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
        let s = state.slip.clone();
        let mut row = |ui: &mut egui::Ui, action: Action, words: &str| {
            if ui.button(words).clicked() {
                out.push(state.act(action));
            }
        };
        let mut s = s;
        let drag = |ui: &mut egui::Ui, x: &mut f64, r: std::ops::RangeInclusive<f64>, unit: &str| {
            ui.add(egui::DragValue::new(x).range(r).speed(0.5).suffix(format!(" {unit}")));
        };
        ui.horizontal(|ui| {
            drag(ui, &mut s.leak_mm2, 0.0..=60.0, "mm²");
            row(ui, Action::Leak(s.leak_mm2), "Leak behind the air meter");
        });
        ui.horizontal(|ui| {
            drag(ui, &mut s.exhaust_mm2, 0.0..=200.0, "mm²");
            row(ui, Action::ExhaustLeak(s.exhaust_mm2), "Leak in the exhaust");
        });
        ui.separator();
        let mut shelf = state.shelf.clone();
        ui.horizontal(|ui| {
            shelf::place(ui, "sensor", shown.plate, &mut shelf);
            let wires = [
                (Wire::Sound, "sound"),
                (Wire::Open, "open"),
                (Wire::ToEarth, "to earth"),
                (Wire::ToSupply, "to supply"),
                (Wire::Loose, "loose"),
            ];
            for (wire, name) in wires {
                ui.selectable_value(&mut s.wire, wire, name);
            }
        });
        ui.horizontal(|ui| {
            drag(ui, &mut s.offset_v, -5.0..=5.0, "V");
            drag(ui, &mut s.lag_s, 0.0..=30.0, "s lag");
            let ill = Ill { wire: s.wire, offset_v: s.offset_v, lag_s: s.lag_s, ..Ill::default() };
            let sensor: Sensor = shelf.sensor;
            row(ui, Action::Sensor(sensor, ill), "Make the sensor or its wire ill");
        });
        ui.separator();
        ink::soft(ui, "Parts need the engine stopped.");
        ui.horizontal(|ui| {
            drag(ui, &mut s.deposit_um, 0.0..=120.0, "µm");
            let mut c = PartChoice::new(PartKind::ThrottleBody);
            c.deposit_um = Some(s.deposit_um);
            row(ui, Action::Fit(c), "Throttle body with a deposit");
        });
        shelf::place(ui, "injector", shown.plate, &mut shelf);
        ui.horizontal(|ui| {
            drag(ui, &mut s.error_pct, -90.0..=60.0, "%");
            let mut c = PartChoice::new(PartKind::Injector(shelf.place));
            c.error_pct = Some(s.error_pct);
            row(ui, Action::Fit(c), "Injector that gives too much or too little");
        });
        ui.horizontal(|ui| {
            drag(ui, &mut s.wear_pct, 0.0..=98.0, "%");
            let mut c = PartChoice::new(PartKind::Coil(shelf.place));
            c.wear_pct = Some(s.wear_pct);
            row(ui, Action::Fit(c), "Coil that is worn");
        });
        state.slip = s;
        state.shelf = shelf;
        out
    });
    state.front = front;
    out
}
