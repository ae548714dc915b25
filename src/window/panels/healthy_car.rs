//! A healthy car of the same model beside this one: what each of them shows at idle.

use super::{Front, PanelState, Shown, Wish, learned, service, sheet, style};
use crate::bench::view::Observation;
use crate::catalogue::signals::{RECORDED, Signal, Source};
use crate::link::DiagRequest;
use crate::words::numbers::Units;
use crate::words::{name, say};
use egui::Context;

/// Live values that are set side by side.
const LIVE: [&str; 11] = [
    "engine_speed_rpm",
    "target_speed_rpm",
    "map_kpa",
    "air_g_s",
    "throttle_deg",
    "spark_deg",
    "lambda_1",
    "short_trim_1_pct",
    "long_trim_1_pct",
    "coolant_c",
    "supply_v",
];

/// A car's value of a signal that the module reports, with its unit.
fn value(units: Units, signal: &Signal, seen: &Observation) -> String {
    match signal.source {
        Source::Link(get) => units.value(get(&seen.live), signal.unit),
        _ => String::new(),
    }
}

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
        style::soft(ui, &say("beside-says"));
        let own = &shown.view.first.seen;
        let units = shown.settings.units;
        let mut rows: Vec<Vec<String>> = RECORDED
            .iter()
            .filter(|s| LIVE.contains(&s.name))
            .map(|s| vec![name("signal", s.name), value(units, s, own), value(units, s, healthy)])
            .collect();
        if shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned) {
            for v in &own.learned {
                let Some(h) = healthy.learned.iter().find(|h| h.name == v.name) else { continue };
                let value = |x: f64| learned::number(shown, v, x);
                rows.push(vec![name("learned", &v.name), value(v.value), value(h.value)]);
            }
        }
        style::table(ui, "beside", &["", &say("beside-this-car"), &say("beside-healthy")], &rows);
        Vec::new()
    })
}
