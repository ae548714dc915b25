//! A healthy car of the same model beside this one: what both show at idle.

use super::{Front, PanelState, Shown, Wish, ink, mind, service, sheet};
use crate::bench::view::Observation;
use crate::link::DiagRequest;
use crate::report;
use egui::Context;

/// A live value: its words, its unit, and where it stands.
type Live = (&'static str, &'static str, fn(&Observation) -> f64);

/// Live values that are set side by side.
const LIVE: [Live; 11] = [
    ("engine speed", "rpm", |o| o.live.engine_speed_rpm),
    ("target speed", "rpm", |o| o.live.target_rpm),
    ("manifold pressure", "kPa", |o| o.live.map_kpa),
    ("metered air", "g/s", |o| o.live.air_g_s),
    ("throttle", "°", |o| o.live.throttle_deg),
    ("spark", "°", |o| o.live.spark_deg),
    ("lambda", "", |o| o.live.lambda),
    ("short-term trim", "%", |o| o.live.short_pct),
    ("long-term trim", "%", |o| o.live.long_pct),
    ("coolant", "°C", |o| o.live.coolant_c),
    ("supply", "V", |o| o.live.supply_v),
];

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    sheet(ctx, "beside", "A healthy one beside it", &mut state.front, 560.0, |ui, _: &mut Front| {
        let Some(healthy) = shown.healthy else {
            ui.horizontal(|ui| {
                ui.spinner();
                ui.label("A healthy car of this model is started and warmed…");
            });
            return vec![Wish::Healthy];
        };
        ink::soft(ui, "The same model with other parts, warm, at idle, nothing switched on.");
        let own = &shown.view.first.seen;
        let mut rows: Vec<Vec<String>> = LIVE
            .iter()
            .map(|(words, unit, of)| {
                let say = |o| shown.settings.words(of(o), unit);
                vec![(*words).to_owned(), say(own), say(healthy)]
            })
            .collect();
        if shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned) {
            for v in &own.learned {
                let Some(h) = healthy.learned.iter().find(|h| h.name == v.name) else { continue };
                let say = |x: f64| mind::number(shown, v, x);
                rows.push(vec![report::learned_words(&v.name), say(v.value), say(h.value)]);
            }
        }
        ink::table(ui, "beside", &["", "this car", "healthy"], &rows);
        Vec::new()
    })
}
