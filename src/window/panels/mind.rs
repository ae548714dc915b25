//! The module's mind: what it believes, what it may learn now and why not, how the idle's air adds up, trims, codes.
//!
//! What the service tester has not been told to read is not shown under a closed lid; once it was, it goes on being
//! shown, and the reading stands on the job card.

use super::{Front, PanelState, Shown, Wish, ink, service, shelf};
use crate::bench::Bench;
use crate::bench::action::Action;
use crate::bench::view::{LearnedView, Truth};
use crate::link::DiagRequest;
use crate::report;
use egui::{
    Align2, FontId, Rect, RichText, ScrollArea, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

/// What the fitted parts really are, where truth has it.
pub fn truth_of(name: &str, t: &Truth) -> Option<f64> {
    match name {
        "idle_air_light" => Some(t.idle_air_needed_g_s),
        "closed_stop" => Some(t.closed_stop_deg),
        "battery_charge" => Some(t.battery.charge_pct),
        _ => None,
    }
}

/// The panel to the right.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_enabled_ui(shown.conditioning.is_none(), |ui| {
            ui.horizontal(|ui| {
                if ui.button(ink::bold("Ask the module…")).clicked() {
                    state.front = Front::Service;
                }
                ink::cap(ui, "M");
            });
            if let Some((_, words)) = service::standing(shown) {
                if words.contains("failed") {
                    ink::warn(ui, &words);
                } else {
                    ui.label(words);
                }
            }
            ui.add_space(6.0);
            ink::heading(ui, "What the module believes", "learned value", shown.words, &mut state.near_word);
            match read(ui, shown, state, DiagRequest::ReadLearned, "Read learned values") {
                Some(wish) => out.extend(wish),
                None => learned(ui, shown, state),
            }
            space(ui);
            ink::heading(ui, "Codes", "trouble code", shown.words, &mut state.near_word);
            match read(ui, shown, state, DiagRequest::ReadCodes, "Read codes") {
                Some(wish) => out.extend(wish),
                None => out.extend(codes(ui, shown, state)),
            }
            space(ui);
            ink::heading(ui, "Idle air adds up", "idle air", shown.words, &mut state.near_word);
            idle_air(ui, shown);
            space(ui);
            ink::heading(ui, "Fuel trims", "short-term fuel trim", shown.words, &mut state.near_word);
            trims(ui, shown);
            space(ui);
            ink::heading(ui, "Readiness", "readiness", shown.words, &mut state.near_word);
            match read(ui, shown, state, DiagRequest::ReadReadiness, "Read readiness") {
                Some(wish) => out.extend(wish),
                None => {
                    for m in &shown.view.first.seen.readiness {
                        let words = if m.complete { "has run" } else { "has not run yet" };
                        ink::gate(ui, m.complete, &format!("{}: {words}", m.name.replace('_', " ")));
                    }
                }
            }
        });
    });
    out
}

fn space(ui: &mut Ui) {
    ui.add_space(10.0);
}

/// A button to read something where it was not read yet; none where it may be shown.
fn read(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &PanelState,
    request: DiagRequest,
    name: &str,
) -> Option<Option<Wish>> {
    if shown.view.lid_open || service::asked(shown, &request) {
        return None;
    }
    let action = Action::Ask(request);
    let price = shelf::cost(shown.prices.of(&action));
    ink::soft(ui, "not read yet");
    Some(ui.button(format!("{name} ({price})")).clicked().then(|| state.act(action)))
}

/// A learned value's number, in pencil.
fn number(shown: &Shown<'_>, v: &LearnedView, x: f64) -> String {
    if v.unit == "°" {
        return format!("{} °", ink::number(x, 2));
    }
    ink::value(shown.settings, x, &v.unit, v.default == 0.0)
}

fn learned(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let t = ink::Ink::of(ui);
    let all = &shown.view.first.seen.learned;
    for v in all {
        let name = report::learned_words(&v.name);
        let now = number(shown, v, v.value);
        ui.horizontal(|ui| {
            let r = ui.label(&name);
            let word = if v.name.starts_with("long_") { "long-term fuel trim" } else { name.as_str() };
            ink::help(r, word, shown.words, &mut state.near_word);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                ui.label(ink::figure(&now, 16.0).color(t.pencil));
            });
        });
        let truth = shown.view.first.truth.as_ref().and_then(|t| truth_of(&v.name, t));
        let ruler = ink::Ruler { low: v.low, high: v.high, default: v.default, value: v.value, truth };
        let mut spoken = format!(
            "{name}: stored {now}, default {}, limits {} to {}",
            number(shown, v, v.default),
            number(shown, v, v.low),
            number(shown, v, v.high)
        );
        if let Some(x) = truth {
            spoken += &format!(", the parts {}", number(shown, v, x));
        }
        let written = report::written(v);
        ink::ruler(ui, &ruler, &spoken).on_hover_ui(|ui| {
            ui.set_max_width(320.0);
            ui.label(&spoken);
            ui.label(format!("last written: {written}"));
        });
    }
    if all.is_empty() {
        ink::soft(ui, "nothing: it has no power");
    }
    gates(ui, shown, state);
    table(ui, shown);
}

/// Gates of values, those of one value under its name; the same gates are told once.
fn gates(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let all = &shown.view.first.seen.learned;
    let hidden = shown.scenario.plan.as_ref().is_some_and(|p| p.hides.gates) && !shown.view.lid_open;
    space(ui);
    ink::heading(ui, "May it learn now?", "gate", shown.words, &mut state.near_word);
    if hidden {
        ink::soft(ui, "This scenario leaves it to you to find out.");
        return;
    }
    let mut told: Vec<(&LearnedView, Vec<String>)> = Vec::new();
    for v in all.iter().filter(|v| !v.gates.is_empty()) {
        match told.iter_mut().find(|(o, _)| o.gates == v.gates) {
            Some((_, names)) => names.push(report::learned_words(&v.name)),
            None => told.push((v, vec![report::learned_words(&v.name)])),
        }
    }
    for (v, names) in told {
        let open = v.gates.iter().all(|g| g.open);
        let shut = v.gates.iter().filter(|g| !g.open).count();
        let verdict = if open { "may learn".to_owned() } else { format!("{shut} shut") };
        let title = format!("{}: {verdict}", names.join(", "));
        egui::CollapsingHeader::new(RichText::new(title).size(15.0))
            .id_salt(("gates", &v.name))
            .default_open(v.name == "idle_air_light")
            .show(ui, |ui| {
                // what is shut first
                for g in v.gates.iter().filter(|g| !g.open).chain(v.gates.iter().filter(|g| g.open)) {
                    ink::gate(ui, g.open, &g.why);
                }
            });
    }
}

fn table(ui: &mut Ui, shown: &Shown<'_>) {
    egui::CollapsingHeader::new(RichText::new("As a table").size(14.0)).id_salt("learned table").show(
        ui,
        |ui| {
            let lid = shown.view.first.truth.as_ref();
            let rows: Vec<Vec<String>> = shown
                .view
                .first
                .seen
                .learned
                .iter()
                .map(|v| {
                    let mut row = vec![
                        report::learned_words(&v.name),
                        number(shown, v, v.value),
                        number(shown, v, v.default),
                        number(shown, v, v.low),
                        number(shown, v, v.high),
                    ];
                    if let Some(t) = lid {
                        row.push(truth_of(&v.name, t).map_or(String::new(), |x| number(shown, v, x)));
                    }
                    row
                })
                .collect();
            let heads: &[&str] = if lid.is_some() {
                &["value", "stored", "default", "low", "high", "true"]
            } else {
                &["value", "stored", "default", "low", "high"]
            };
            egui::ScrollArea::horizontal().show(ui, |ui| ink::table(ui, "learned", heads, &rows));
        },
    );
}

fn codes(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let t = ink::Ink::of(ui);
    let all = &shown.view.first.seen.codes;
    if all.is_empty() {
        ui.label("no code stored");
    }
    for c in all {
        ui.horizontal(|ui| {
            ui.label(ink::figure(&c.code, 18.0).color(t.accent));
            let r = ui.label(RichText::new(report::code_states(c)).color(t.accent));
            let word = if c.confirmed { "confirmed" } else { "pending" };
            ink::help(r, word, shown.words, &mut state.near_word);
        });
        ink::soft(ui, Bench::code_words(&c.code));
        match service::frame_of(shown, &c.code) {
            None => {
                let action = Action::Ask(DiagRequest::ReadFreezeFrame(c.code.clone()));
                let price = shelf::cost(shown.prices.of(&action));
                if ui.button(format!("Freeze frame of {} ({price})", c.code)).clicked() {
                    out.push(state.act(action));
                }
            }
            Some(None) => {
                ink::soft(ui, "no freeze frame stored with it");
            }
            Some(Some(f)) => {
                let s = shown.settings;
                let rows = [
                    ("engine speed", s.words(f.engine_speed_rpm, "rpm")),
                    ("load", s.words(f.load_pct, "%")),
                    ("coolant", s.words(f.coolant_c, "°C")),
                    ("manifold pressure", s.words(f.map_kpa, "kPa")),
                    ("metered air", s.words(f.air_g_s, "g/s")),
                    ("short-term trim", s.words(f.short_pct, "%")),
                    ("long-term trim", s.words(f.long_pct, "%")),
                    ("road speed", s.words(f.road_km_h, "km/h")),
                ]
                .map(|(n, x)| vec![n.to_owned(), x]);
                ink::table(ui, &c.code, &["freeze frame", ""], &rows);
            }
        }
    }
    out
}

/// The sum of the idle's air: bars that add up to what is asked for.
fn idle_air(ui: &mut Ui, shown: &Shown<'_>) {
    let t = ink::Ink::of(ui);
    let l = &shown.view.first.seen.live;
    if !l.idling {
        ink::soft(ui, "idle control is not in force");
        return;
    }
    let terms = [
        ("base", l.idle_base_g_s),
        ("loads", l.idle_load_g_s),
        ("learned", l.idle_learned_g_s),
        ("PI", l.idle_pi_g_s),
    ];
    let sum: f64 = terms.iter().map(|x| x.1).sum();
    // as far as the bars ever reach
    let mut at = 0.0_f64;
    let (mut low, mut high) = (0.0_f64, 0.1_f64);
    for (_, x) in terms {
        at += x;
        low = low.min(at);
        high = high.max(at);
    }
    let say = |x: f64| ink::value(shown.settings, x, "g/s", true);
    let spoken =
        terms.map(|(n, x)| format!("{n} {}", say(x))).join(", ") + &format!("; asks for {}", say(sum));
    let row = 22.0;
    let (rect, r) = ui.allocate_exact_size(vec2(ui.available_width(), row * 5.0), Sense::hover());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &spoken));
    let p = ui.painter();
    let (left, right) = (rect.left() + 62.0, rect.right() - 86.0);
    let x = |v: f64| left + (right - left) * ((v - low) / (high - low)) as f32;
    let mut from = 0.0;
    let font = FontId::proportional(14.0);
    for (k, (name, term)) in terms.into_iter().enumerate() {
        let y = rect.top() + row * k as f32 + row / 2.0;
        let to = from + term;
        let (a, b) = (x(from).min(x(to)), x(from).max(x(to)));
        let bar = Rect::from_min_max(pos2(a, y - 7.0), pos2(b.max(a + 1.5), y + 7.0));
        let s = Stroke::new(1.4, t.pencil);
        if name == "learned" {
            ink::hatch(p, bar, Stroke::new(1.0, t.pencil));
            ink::dashed_rect(p, bar, s);
        } else {
            p.rect(bar, 0.0, t.bg, s, egui::StrokeKind::Inside);
        }
        p.text(pos2(rect.left(), y), Align2::LEFT_CENTER, name, font.clone(), t.soft);
        p.text(pos2(rect.right(), y), Align2::RIGHT_CENTER, say(term), ink::mono_font(14.0), t.pencil);
        from = to;
    }
    let y = rect.top() + row * 4.5;
    p.vline(x(sum), rect.top()..=y + 7.0, Stroke::new(1.0, t.line));
    p.text(pos2(rect.left(), y), Align2::LEFT_CENTER, "asks for", ink::bold_font(14.0), t.text);
    p.text(pos2(rect.right(), y), Align2::RIGHT_CENTER, say(sum), ink::mono_font(14.0), t.text);
}

/// Trims by bank, and of single cylinders where the module has them.
fn trims(ui: &mut Ui, shown: &Shown<'_>) {
    let s = shown.settings;
    let rows: Vec<Vec<String>> = shown
        .view
        .first
        .seen
        .trims
        .iter()
        .map(|t| {
            let pct = |x: f64| ink::signed(x, 1);
            vec![
                format!("bank {}", t.bank),
                pct(t.short_pct),
                ink::value(s, t.long_idle_g_s, "g/s", true),
                pct(t.long_part_pct),
                pct(t.long_high_pct),
            ]
        })
        .collect();
    let heads = ["", "short %", "idle", "part %", "high %"];
    ink::table(ui, "trims", &heads, &rows);
}
