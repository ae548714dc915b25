//! The module's mind: codes, what it may learn now and why not, what it believes, how the idle's air adds up, trims.
//!
//! What the service tester has not been told to read is not shown under a closed lid; once it was, it goes on being
//! shown, and the reading stands on the job card.

use super::{Front, PanelState, Shown, Wish, charts, ink, service, shelf};
use crate::bench::Bench;
use crate::bench::action::Action;
use crate::bench::view::{LearnedView, Truth};
use crate::link::{DiagRequest, Writer};
use crate::report;
use crate::words::facts;
use egui::{RichText, ScrollArea, Ui, WidgetInfo, WidgetType};

/// What the fitted parts really are, where truth has it.
pub fn truth_of(name: &str, t: &Truth) -> Option<f64> {
    match name {
        "idle_air_light" => Some(t.idle_air_needed_g_s),
        "closed_stop" => Some(t.closed_stop_deg),
        "battery_charge" => Some(t.battery.charge_pct),
        _ => None,
    }
}

/// The panel to the right: codes first, then what it may learn now and what it believes, then its sums.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_enabled_ui(shown.conditioning.is_none(), |ui| {
            ui.horizontal(|ui| {
                let ask = egui::Button::new(ink::bold("Ask the module…"));
                if ui.add_enabled(may_ask(shown), ask).clicked() {
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
            ink::heading(ui, "Codes", "trouble code", shown.words, &mut state.near_word);
            match read(ui, shown, state, DiagRequest::ReadCodes, "Read codes") {
                Some(wish) => out.extend(wish),
                None => out.extend(codes(ui, shown, state)),
            }
            space(ui);
            let may = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
            // why it may not learn is what a lesson turns on: it stands before rulers, which would push it out of sight
            if may && gates(ui, shown, state) {
                space(ui);
            }
            let mut wanted = false;
            ui.horizontal_wrapped(|ui| {
                let words = "What the module believes";
                ink::heading(ui, words, "learned value", shown.words, &mut state.near_word);
                wanted = may && charts::button(ui, "what the module believes");
            });
            match read(ui, shown, state, DiagRequest::ReadLearned, "Read learned values") {
                Some(wish) => out.extend(wish),
                None => learned(ui, shown, state, wanted),
            }
            space(ui);
            idle_air(ui, shown, state);
            space(ui);
            fuel(ui, shown, state);
            space(ui);
            charging(ui, shown, state);
            space(ui);
            ink::heading(ui, "Fuel trims", "short-term fuel trim", shown.words, &mut state.near_word);
            trims(ui, shown, state);
            space(ui);
            ink::heading(ui, "Readiness", "readiness", shown.words, &mut state.near_word);
            match read(ui, shown, state, DiagRequest::ReadReadiness, "Read readiness") {
                Some(wish) => out.extend(wish),
                None => {
                    for m in &shown.view.first.seen.readiness {
                        let words = if m.complete { "has run" } else { "has not run yet" };
                        ink::verdict(ui, m.complete, &format!("{}: {words}", m.name.replace('_', " ")));
                    }
                }
            }
        });
    });
    out
}

/// The module can still be asked: a car that was handed in is only looked at.
fn may_ask(shown: &Shown<'_>) -> bool {
    shown.run.is_none()
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
    let button = egui::Button::new(format!("{name} ({price})"));
    Some(ui.add_enabled(may_ask(shown), button).clicked().then(|| state.act(action)))
}

/// A learned value's number, in pencil.
pub(super) fn number(shown: &Shown<'_>, v: &LearnedView, x: f64) -> String {
    if v.unit == "°" {
        return format!("{} °", ink::number(x, 2));
    }
    ink::value(shown.settings, x, &v.unit, v.default == 0.0)
}

/// The glossary's word for a learned value.
pub fn word_of(name: &str) -> &'static str {
    let all = [
        ("idle_air_loaded", "loaded difference"),
        ("idle_air", "idle air"),
        ("closed_stop", "closed stop"),
        ("long_", "long-term fuel trim"),
        ("cylinder_trim", "cylinder trim"),
        ("injector_dead", "dead time"),
        ("injector", "injector code"),
        ("short_pulse", "short-pulse trim"),
        ("wheel", "wheel table"),
    ];
    all.iter().find(|(start, _)| name.starts_with(start)).map_or("learned value", |(_, word)| word)
}

/// A value has nothing to tell: it stands where a reset puts it, nobody has written it since the car was built, and no
/// truth is set against it.
fn at_rest(shown: &Shown<'_>, v: &LearnedView) -> bool {
    let truth = shown.view.first.truth.as_ref().and_then(|t| truth_of(&v.name, t));
    v.value == v.default && truth.is_none() && matches!(v.written_by, Writer::Delivered | Writer::Factory)
}

fn learned(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, wanted: bool) {
    let (from, top) = (charts::begin(ui), ui.cursor().min);
    let all = &shown.view.first.seen.learned;
    let (rest, told): (Vec<_>, Vec<_>) = all.iter().partition(|v| at_rest(shown, v));
    for v in &told {
        ruler(ui, shown, state, v);
    }
    // a chart that is kept has all of them
    if wanted {
        rest.iter().for_each(|v| ruler(ui, shown, state, v));
    } else if !rest.is_empty() {
        let words = match (told.is_empty(), rest.len()) {
            (false, 1) => "1 more at its default".to_owned(),
            (false, n) => format!("{n} more at their default"),
            (true, 1) => "1 at its default".to_owned(),
            (true, n) => format!("all {n} at their default"),
        };
        ink::fold(ui, "at their default", &words, told.is_empty(), |ui| {
            rest.iter().for_each(|v| ruler(ui, shown, state, v));
        });
    }
    if all.is_empty() {
        ink::soft(ui, "nothing: it has no power");
    }
    if wanted {
        let end = egui::pos2(ui.max_rect().right(), ui.cursor().min.y);
        let rect = egui::Rect::from_min_max(top, end).expand(6.0);
        let (heads, rows) = numbers(shown);
        let title = "What the module believes";
        let svg = charts::picture(ui, title, rect, from, shown.view.lid_open);
        state.charts.kept = Some(charts::Kept { title: title.into(), name: "learned", svg, heads, rows });
        state.front = Front::Keep;
    }
    table(ui, shown);
}

/// One learned value: its name, its number, its ruler.
fn ruler(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, v: &LearnedView) {
    let t = ink::Ink::of(ui);
    let name = report::learned_words(&v.name);
    let now = number(shown, v, v.value);
    let r = ink::pair(ui, &name, ink::figure(&now, 16.0).color(t.pencil));
    ink::help(r, word_of(&v.name), shown.words, &mut state.near_word);
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
    spoken += &format!("; last written: {}", report::written(v));
    ink::ruler(ui, &ruler, &spoken).on_hover_ui(|ui| {
        ui.set_max_width(320.0);
        ui.label(&spoken);
    });
}

/// Gates of values, those of one value under its name; the same gates are told once. False where there are none.
fn gates(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> bool {
    let all = &shown.view.first.seen.learned;
    if all.iter().all(|v| v.gates.is_empty()) {
        return false;
    }
    let hidden = shown.scenario.plan.as_ref().is_some_and(|p| p.hides.gates) && !shown.view.lid_open;
    ink::heading(ui, "May it learn now?", "gate", shown.words, &mut state.near_word);
    if hidden {
        ink::soft(ui, "This scenario leaves it to you to find out.");
        return true;
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
        // what it may or may not learn stands beside why
        let now = if names.len() == 1 { format!(" {}", number(shown, v, v.value)) } else { String::new() };
        let title = format!("{}{now}: {verdict}", names.join(", "));
        ink::fold(ui, ("gates", &v.name), &title, v.name == "idle_air_light", |ui| {
            // one list, seen at once
            ui.spacing_mut().item_spacing.y = 2.0;
            // what is shut first
            for g in v.gates.iter().filter(|g| !g.open).chain(v.gates.iter().filter(|g| g.open)) {
                ink::gate(ui, g.open, &facts::gate(g));
            }
        });
    }
    true
}

/// The numbers of all rulers.
fn numbers(shown: &Shown<'_>) -> charts::Numbers {
    let lid = shown.view.first.truth.as_ref();
    let rows = shown.view.first.seen.learned.iter().map(|v| {
        let mut row = vec![
            report::learned_words(&v.name),
            number(shown, v, v.value),
            number(shown, v, v.default),
            number(shown, v, v.low),
            number(shown, v, v.high),
            report::written(v),
        ];
        if let Some(t) = lid {
            row.push(truth_of(&v.name, t).map_or(String::new(), |x| number(shown, v, x)));
        }
        row
    });
    let heads = ["value", "stored", "default", "low", "high", "last written", "true"];
    let heads = heads.into_iter().take(if lid.is_some() { 7 } else { 6 }).map(str::to_owned);
    (heads.collect(), rows.collect())
}

fn table(ui: &mut Ui, shown: &Shown<'_>) {
    ink::fold(ui, "learned table", "As a table", false, |ui| {
        let (heads, rows) = numbers(shown);
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        ink::wide_table(ui, "learned", &heads, &rows);
    });
}

fn codes(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let t = ink::Ink::of(ui);
    let all = &shown.view.first.seen.codes;
    if all.is_empty() {
        ui.label("no code stored");
    }
    for c in all {
        let frame = service::frame_of(shown, &c.code);
        ui.horizontal_wrapped(|ui| {
            ui.label(ink::figure(&c.code, 18.0).color(t.accent));
            let r = ui.label(RichText::new(report::code_states(c)).color(t.accent));
            let word = if c.confirmed { "confirmed" } else { "pending" };
            ink::help(r, word, shown.words, &mut state.near_word);
            if frame.is_none() {
                let action = Action::Ask(DiagRequest::ReadFreezeFrame(c.code.clone()));
                let price = shelf::cost(shown.prices.of(&action));
                let button = egui::Button::new(format!("Freeze frame ({price})"));
                let r = ui.add_enabled(may_ask(shown), button);
                // there may be one for each of several codes
                let spoken = format!("Freeze frame of {} ({price})", c.code);
                r.widget_info(|| WidgetInfo::labeled(WidgetType::Button, may_ask(shown), &spoken));
                if r.clicked() {
                    out.push(state.act(action));
                }
            }
        });
        ink::soft(ui, Bench::code_words(&c.code));
        match frame {
            None => {}
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
fn idle_air(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let l = &shown.view.first.seen.live;
    let terms = [
        ("base", l.idle_base_g_s, false),
        ("loads", l.idle_load_g_s, false),
        ("learned", l.idle_learned_g_s, true),
        ("PI", l.idle_pi_g_s, false),
    ];
    if !l.idling {
        ink::heading(ui, "Idle air adds up", "idle air", shown.words, &mut state.near_word);
        ink::soft(ui, "idle control is not in force");
        return;
    }
    sum(ui, shown, state, ("Idle air adds up", "idle air", "idle-air"), &terms);
}

/// The sum of the fuel: what the air asks for, and what corrects it.
fn fuel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let Some(f) = shown.view.first.seen.live.fuel else {
        ink::heading(ui, "Fuel adds up", "fuel sum", shown.words, &mut state.near_word);
        ink::soft(ui, "no fuel is asked for");
        return;
    };
    let terms = [
        ("by the air", f.by_air_g_s, false),
        ("target", f.target_g_s, false),
        ("long-term", f.long_g_s, true),
        ("short-term", f.short_g_s, false),
        ("after start", f.after_start_g_s, false),
    ];
    sum(ui, shown, state, ("Fuel adds up", "fuel sum", "fuel"), &terms);
}

/// The sum of the charging set-point, the battery as the module counts it, and whether it may stop at lights.
fn charging(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let l = &shown.view.first.seen.live;
    if l.charge_set_v > 0.0 {
        let terms = [
            ("base by kind", l.charge_base_v, false),
            ("temperature", l.charge_cold_v, false),
            ("age by record", l.charge_age_v, true),
            ("stage", l.charge_stage_v, false),
        ];
        sum(ui, shown, state, ("Charging adds up", "battery record", "charging"), &terms);
    } else {
        ink::heading(ui, "Charging adds up", "battery record", shown.words, &mut state.near_word);
        ink::soft(ui, "nothing is asked of the alternator");
    }
    ui.label(format!(
        "battery by the sensor {}, {}; by count {} % charged",
        ink::value(shown.settings, l.battery_a, "A", true),
        shown.settings.words(l.battery_c, "°C"),
        ink::number(l.battery_charge_pct, 0)
    ));
    match l.stop_start.as_str() {
        "allowed" => ink::verdict(ui, true, "stopping at lights is allowed"),
        "refused" => match &l.stop_start_because {
            None => ink::verdict(ui, false, "stopping at lights is refused"),
            Some(why) => {
                let why = facts::no_stop(why);
                ink::verdict(ui, false, &format!("stopping at lights is refused: {why}"));
            }
        },
        _ => {}
    }
}

fn sum(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &mut PanelState,
    (title, word, name): (&str, &str, &'static str),
    terms: &[(&str, f64, bool)],
) {
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        ink::heading(ui, title, word, shown.words, &mut state.near_word);
        wanted = charts::button(ui, &title.to_lowercase());
    });
    let from = charts::begin(ui);
    // fuel is small beside air: one digit more
    let say = |x: f64| {
        if name == "charging" {
            return format!("{} V", ink::signed(x, 2));
        }
        let (x, unit) = shown.settings.quantity(x, "g/s");
        format!("{} {unit}", ink::signed(x, if unit == "g/s" { 2 + usize::from(name == "fuel") } else { 3 }))
    };
    let rect = ink::sum(ui, terms, &say).expand(6.0);
    if wanted {
        let heads = vec!["term".to_owned(), "asked for".to_owned()];
        let whole: f64 = terms.iter().map(|t| t.1).sum();
        let all = terms.iter().map(|t| (t.0, t.1)).chain([("asks for", whole)]);
        let rows = all.map(|(n, x)| vec![n.to_owned(), say(x)]).collect();
        let svg = charts::picture(ui, title, rect, from, shown.view.lid_open);
        state.charts.kept = Some(charts::Kept { title: title.into(), name, svg, heads, rows });
        state.front = Front::Keep;
    }
}

/// Trims by bank, cell by cell.
fn trims(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let t = ink::Ink::of(ui);
    let all = &shown.view.first.seen.trims;
    for trim in all {
        if all.len() > 1 {
            ink::soft(ui, &format!("bank {}", trim.bank));
        }
        let pct = |x: f64| format!("{} %", ink::signed(x, 1));
        let rows = [
            ("short-term", pct(trim.short_pct), "short-term fuel trim"),
            (
                "long-term, idle",
                ink::value(shown.settings, trim.long_idle_g_s, "g/s", true),
                "long-term fuel trim",
            ),
            ("long-term, part load", pct(trim.long_part_pct), "long-term fuel trim"),
            ("long-term, high flow", pct(trim.long_high_pct), "long-term fuel trim"),
        ];
        for (name, number, word) in rows {
            let r = ink::pair(ui, name, ink::mono(&number).size(15.0).color(t.pencil));
            ink::help(r, word, shown.words, &mut state.near_word);
        }
    }
}
