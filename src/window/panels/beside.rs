//! A healthy car of the same model beside this one: what both show at idle.

use super::{Front, PanelState, Shown, Wish, ink, mind, service, sheet};
use crate::bench::view::Observation;
use crate::link::DiagRequest;
use crate::words::{name, say};
use egui::Context;

/// A live value: its signal, its unit, and where it stands.
type Live = (&'static str, &'static str, fn(&Observation) -> f64);

/// Live values that are set side by side.
const LIVE: [Live; 11] = [
    ("engine_speed_rpm", "rpm", |o| o.live.engine_speed_rpm),
    ("target_speed_rpm", "rpm", |o| o.live.target_rpm),
    ("map_kpa", "kPa", |o| o.live.map_kpa),
    ("air_g_s", "g/s", |o| o.live.air_g_s),
    ("throttle_deg", "°", |o| o.live.throttle_deg),
    ("spark_deg", "°", |o| o.live.spark_deg),
    ("lambda_1", "", |o| o.live.lambda),
    ("short_trim_1_pct", "%", |o| o.live.short_pct),
    ("long_trim_1_pct", "%", |o| o.live.long_pct),
    ("coolant_c", "°C", |o| o.live.coolant_c),
    ("supply_v", "V", |o| o.live.supply_v),
];

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    sheet(ctx, "beside", &say("beside-title"), &mut state.front, 560.0, |ui, _: &mut Front| {
        let Some(healthy) = shown.healthy else {
            ui.horizontal_wrapped(|ui| {
                ui.spinner();
                ui.label(say("beside-wait"));
            });
            return vec![Wish::Healthy];
        };
        ink::soft(ui, &say("beside-says"));
        let own = &shown.view.first.seen;
        let mut rows: Vec<Vec<String>> = LIVE
            .iter()
            .map(|(signal, unit, of)| {
                let value = |o| shown.settings.units.value(of(o), unit);
                vec![name("signal", signal), value(own), value(healthy)]
            })
            .collect();
        if shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned) {
            for v in &own.learned {
                let Some(h) = healthy.learned.iter().find(|h| h.name == v.name) else { continue };
                let value = |x: f64| mind::number(shown, v, x);
                rows.push(vec![name("learned", &v.name), value(v.value), value(h.value)]);
            }
        }
        ink::table(ui, "beside", &["", &say("beside-this-car"), &say("beside-healthy")], &rows);
        Vec::new()
    })
}
