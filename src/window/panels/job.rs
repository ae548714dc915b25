//! The job card: the complaint, the time and money spent, the lamp, the lid, and the technician's statements.

use super::{Front, PanelState, Shown, Wish, confirm, sheet, style, tachometer};
use crate::bench::action::{Action, Note};
use crate::bench::record::Kind;
use crate::bench::view::DashLamp;
use crate::scenario::Lid;
use crate::session::desk::Reach;
use crate::session::live::Order;
use crate::words::numbers::number;
use crate::words::{facts, say};
use egui::{Align, Context, Layout, RichText, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

/// The wish that records a note.
pub fn note(note: Note) -> Wish {
    Wish::Order(Order::Do(Action::Note(note), Reach::Both))
}

/// True once the logbook records that the cautions were read and accepted.
pub fn cautions_kept(shown: &Shown<'_>) -> bool {
    let is = |k: &Kind| matches!(k, Kind::Act { action: Action::Note(Note::Cautions), .. });
    shown.rows.log.iter().any(|e| is(&e.kind))
}

/// The cause that was named last.
pub fn cause_named<'a>(shown: &Shown<'a>) -> Option<&'a str> {
    shown.rows.log.iter().rev().find_map(|e| match &e.kind {
        Kind::Act { action: Action::Note(Note::Cause(id)), .. } => Some(id.as_str()),
        _ => None,
    })
}

/// The panel along the top.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let t = style::Palette::of(ui);
    let about = &shown.scenario.about;
    // large letters for a projector leave less space: the complaint then has a line of its own
    let narrow = ui.available_width() < 1300.0;
    let card = RichText::new(complaint(shown)).color(t.soft);
    let mut lid_moves = None;
    ui.horizontal(|ui| {
        // the width of the items to the right is known from the previous round
        let kept = ui.id().with("room to the right");
        let right = ui.data(|d| d.get_temp(kept)).unwrap_or(if narrow { 700.0 } else { 830.0 });
        ui.vertical(|ui| {
            ui.set_max_width((ui.available_width() - right).max(200.0));
            let title = say!("job-title", title = about.title.as_str());
            let title = egui::Label::new(style::title(&title).color(t.ink));
            // with the complaint below, there is space for a second line
            ui.add(if narrow { title.wrap() } else { title.truncate() });
            if !narrow {
                // the customer's complaint is read before anything else: all of it, on as many lines as it needs
                ui.add(egui::Label::new(card.clone()).wrap());
            }
        });
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let end = ui.max_rect().right();
            lid_moves = lid(ui, shown, state);
            ui.add_space(12.0);
            lamps(ui, shown);
            ui.add_space(12.0);
            let job = &shown.view.job;
            big(ui, &number(job.money, 0), &say!("job-spent", currency = job.currency.as_str()));
            ui.add_space(12.0);
            big(ui, &number(job.minutes, 0), &say("job-minutes"));
            if shown.conditioning.is_none() {
                ui.add_space(12.0);
                tachometer::dial(ui, shown, tachometer::SMALL);
            }
            let now = (end - ui.min_rect().left() + 24.0).ceil();
            if (now - right).abs() > 0.5 {
                ui.data_mut(|d| d.insert_temp(kept, now));
                ui.ctx().request_repaint();
            }
        });
    });
    if narrow {
        ui.add(egui::Label::new(card).wrap());
    }
    buttons(ui, shown, state, narrow);
    lid_moves.into_iter().collect()
}

/// What the customer says, about which car, and who works on it.
fn complaint(shown: &Shown<'_>) -> String {
    let km = shown.scenario.setup.odometer_km;
    let car = if km > 0.0 {
        say!("job-car", car = shown.plate.title.as_str(), odometer = shown.settings.units.value(km, "km"))
    } else {
        shown.plate.title.clone()
    };
    let complaint = shown.scenario.about.complaint.trim();
    match &shown.scenario.vary.who {
        Some(who) => {
            say!("job-complaint-of-trainee", complaint = complaint, car = car, trainee = facts::trainee(who))
        }
        None => say!("job-complaint", complaint = complaint, car = car),
    }
}

/// What a button of the card opens.
#[derive(Debug, Clone, PartialEq)]
enum Opens {
    Sheet(Front),
    Questions,
    Debrief,
}

/// A button of the card: its label, its key, what it opens.
type Button = (String, &'static str, Opens);

/// Buttons that belong to this job.
fn of_job(shown: &Shown<'_>, state: &PanelState) -> Vec<Button> {
    let mut out = Vec::new();
    if shown.run.is_none() {
        if !shown.scenario.about.cautions.is_empty() && !cautions_kept(shown) {
            out.push((say("job-cautions"), "", Opens::Sheet(Front::Cautions)));
        }
        if shown.scenario.plan.as_ref().is_some_and(|p| !p.causes.is_empty()) {
            let named = cause_named(shown).is_some();
            let words = say(if named { "job-name-another-cause" } else { "job-say-what-is-wrong" });
            out.push((words, "Y", Opens::Sheet(Front::Cause)));
        }
        out.push((say("job-hand-over"), "F9", Opens::Sheet(Front::HandIn)));
        out.push((say("job-healthy"), "F7", Opens::Sheet(Front::HealthyCar)));
    } else if state.debrief_away {
        out.push((say("job-show-debrief"), "", Opens::Debrief));
    }
    out.push((say("job-scenarios"), "F6", Opens::Sheet(Front::Scenarios)));
    out
}

/// The button for open questions, last in its row: it comes and goes, and must not move what a person is about to
/// press.
fn of_questions(shown: &Shown<'_>) -> Option<Button> {
    let open = shown.view.open.len();
    let asks = shown.run.is_none() && open > 0;
    asks.then(|| (say!("job-questions-open", n = open), "", Opens::Questions))
}

/// Buttons that belong to no particular job.
fn of_window(shown: &Shown<'_>) -> Vec<Button> {
    let mut out = vec![
        (say("job-keys"), "?", Opens::Sheet(Front::Keys)),
        (say("job-words"), "F1", Opens::Sheet(Front::Words(String::new()))),
        (say("job-settings"), "F10", Opens::Sheet(Front::Settings)),
    ];
    if shown.view.lid_open && shown.run.is_none() {
        out.push((say("job-slip"), "", Opens::Sheet(Front::InjectFault)));
    }
    out
}

/// The row of buttons, and the result of the last order.
fn buttons(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, narrow: bool) {
    let t = style::Palette::of(ui);
    let (job, window, asks) = (of_job(shown, state), of_window(shown), of_questions(shown));
    let wide: f32 =
        job.iter().chain(&window).chain(&asks).map(|(words, key, _)| wide_of(ui, words, key)).sum();
    // the result of an order has space of its own behind the buttons
    let wraps = narrow || wide + 40.0 > ui.available_width();
    let said = shown.view.said.as_ref().map(|said| (facts::told(said), true));
    let said = said.or_else(|| shown.told.map(|told| (told.to_owned(), false)));
    let said = said.map(|(whole, urgent)| {
        if urgent { style::bold(&whole).color(t.accent) } else { RichText::new(&whole).color(t.soft) }
    });
    // beside the buttons, if it does not run into those to the right; otherwise on lines of its own
    let long = said.as_ref().map_or(0.0, |s| {
        ui.painter().layout_no_wrap(s.text().into(), style::bold_font(16.0), t.text).size().x
    });
    let beside = !wraps && wide + long + 48.0 <= ui.available_width();
    let inside = |ui: &mut Ui| {
        if shown.run.is_none() && !shown.scenario.about.cautions.is_empty() && cautions_kept(shown) {
            style::soft(ui, &say("job-cautions-read"));
        }
        for b in &job {
            button(ui, b, state, true);
        }
        if let Some(b) = asks.as_ref().filter(|_| !wraps) {
            button(ui, b, state, true);
        }
        if let Some(said) = said.clone().filter(|_| beside) {
            ui.add_space(12.0);
            ui.label(said);
        }
        if wraps {
            // where there is no space for its key cap, a button names its key in a tooltip
            window.iter().chain(&asks).for_each(|b| button(ui, b, state, !narrow));
        } else {
            style::part(ui, "of the window", |ui| {
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    window.iter().for_each(|b| button(ui, b, state, true));
                });
            });
        }
    };
    if wraps {
        ui.horizontal_wrapped(inside)
    } else {
        ui.horizontal(inside)
    };
    if let Some(said) = said.filter(|_| !beside) {
        ui.add(egui::Label::new(said).wrap());
    }
}

/// Width of a button with its key cap, including the gap to the next one.
fn wide_of(ui: &Ui, words: &str, key: &str) -> f32 {
    let laid =
        |words: &str, font| ui.painter().layout_no_wrap(words.to_owned(), font, egui::Color32::PLACEHOLDER);
    let between = ui.spacing().item_spacing.x;
    let cap = if key.is_empty() {
        0.0
    } else {
        laid(&style::key_words(key), style::mono_font(14.0)).size().x + 10.0 + between
    };
    laid(words, style::bold_font(16.0)).size().x + 2.0 * ui.spacing().button_padding.x + between + cap
}

fn button(ui: &mut Ui, (words, key, opens): &Button, state: &mut PanelState, cap: bool) {
    let t = style::Palette::of(ui);
    let r = if *opens == Opens::Sheet(Front::Cautions) {
        ui.button(style::bold(words).color(t.accent))
    } else {
        style::quiet_button(ui, words, if cap { key } else { "" })
    };
    let r = if key.is_empty() { r } else { r.on_hover_text(say!("window-key", key = style::key_words(key))) };
    if r.clicked() {
        match opens {
            Opens::Sheet(front) => state.front = front.clone(),
            Opens::Questions => state.ask.open_wanted = true,
            Opens::Debrief => state.debrief_away = false,
        }
    }
}

fn big(ui: &mut Ui, number: &str, under: &str) {
    let t = style::Palette::of(ui);
    let wide = ui.painter().layout_no_wrap(under.into(), egui::FontId::proportional(14.0), t.soft).size().x;
    ui.allocate_ui_with_layout(vec2(wide.max(84.0), 50.0), Layout::top_down(Align::Center), |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.label(style::figure(number, 25.0).color(t.ink));
        ui.label(RichText::new(under).size(14.0).color(t.soft));
    });
}

/// What the lamp says.
fn lamp_words(lamp: DashLamp) -> String {
    say(match lamp {
        DashLamp::Off => "job-lamp-off",
        DashLamp::BulbCheck => "job-lamp-bulb-check",
        DashLamp::On => "job-lamp-on",
        DashLamp::Blink => "job-lamp-flashes",
    })
}

/// The warning lamps: the engine's alone, or below it the others that are lit, since there is no space beside it.
fn lamps(ui: &mut Ui, shown: &Shown<'_>) {
    let seen = &shown.view.first.seen;
    if !seen.charge_lamp && !seen.hot_lamp {
        lamp(ui, shown, 16.0);
        return;
    }
    ui.allocate_ui_with_layout(vec2(200.0, 50.0), Layout::top_down(Align::Max), |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.horizontal(|ui| lamp(ui, shown, 14.0));
        ui.horizontal_wrapped(|ui| other_lamps(ui, shown, 12.0));
    });
}

/// The other warning lamps that are lit, each in words with a dot, at this letter size \[points\].
pub(super) fn other_lamps(ui: &mut Ui, shown: &Shown<'_>, letters: f32) {
    let t = style::Palette::of(ui);
    let seen = &shown.view.first.seen;
    let lit = [
        // lit with the key on and the engine standing on every car
        (seen.charge_lamp, "job-lamp-charge", seen.charge_fault()),
        (seen.hot_lamp, "job-lamp-hot", true),
    ];
    for (_, words, fault) in lit.into_iter().filter(|l| l.0) {
        let words = say(words);
        let words = if fault { style::bold(&words) } else { RichText::new(words) };
        let font = if fault { style::bold_font(letters) } else { egui::FontId::proportional(letters) };
        ui.label(words.font(font).color(if fault { t.accent } else { t.soft }));
        let (rect, _) = ui.allocate_exact_size(vec2(16.0, 24.0) * (letters / 16.0), Sense::hover());
        ui.painter().circle_filled(rect.center(), 6.0 * letters / 16.0, t.accent);
    }
}

/// The engine warning lamp with its words, at this letter size \[points\].
pub(super) fn lamp(ui: &mut Ui, shown: &Shown<'_>, letters: f32) {
    let t = style::Palette::of(ui);
    let lamp = shown.view.first.seen.dash_lamp;
    // a fault stands out; a lamp that is only checked is lit, in plain letters
    let fault = matches!(lamp, DashLamp::On | DashLamp::Blink);
    let colour = if fault { t.accent } else { t.soft };
    let words = lamp_words(lamp);
    let words = if fault { style::bold(&words) } else { RichText::new(words) };
    let k = letters / 16.0;
    let font = if fault { style::bold_font(letters) } else { egui::FontId::proportional(letters) };
    ui.label(words.font(font).color(colour));
    let (rect, _) = ui.allocate_exact_size(vec2(24.0, 24.0) * k, Sense::hover());
    let p = ui.painter();
    let middle = rect.center();
    let dark =
        lamp == DashLamp::Blink && !shown.settings.reduced_motion && ui.input(|i| i.time * 2.0 % 2.0 > 1.0);
    match lamp {
        DashLamp::Off => {
            p.circle_stroke(middle, 9.0 * k, Stroke::new(1.5, t.edge));
        }
        _ if dark => {
            p.circle_stroke(middle, 9.0 * k, Stroke::new(2.5, t.accent));
        }
        _ => {
            p.circle_filled(middle, 10.0 * k, t.accent);
        }
    }
    if lamp == DashLamp::Blink {
        p.circle_stroke(middle, 12.0 * k, Stroke::new(1.5, t.accent));
        ui.ctx().request_repaint_after(std::time::Duration::from_millis(250));
    }
}

fn lid(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let t = style::Palette::of(ui);
    let open = shown.view.lid_open;
    let locked = shown.scenario.about.lid == Lid::Locked;
    let words = say(match (open, locked) {
        (true, _) => "job-lid-off",
        (false, true) => "job-lid-locked",
        (false, false) => "job-lid-on",
    });
    style::cap(ui, "V");
    let galley = ui.painter().layout_no_wrap(words.clone(), egui::FontId::proportional(16.0), t.text);
    let (rect, r) = ui.allocate_exact_size(vec2(64.0 + galley.size().x, 40.0), Sense::click());
    r.widget_info(|| WidgetInfo::selected(WidgetType::Button, !locked, open, &words));
    let p = ui.painter();
    let s = Stroke::new(1.6, if open { t.ink } else { t.edge });
    let (left, bottom) = (rect.left() + 4.0, rect.center().y + 10.0);
    p.rect_stroke(
        egui::Rect::from_min_max(pos2(left, bottom - 11.0), pos2(left + 46.0, bottom)),
        1.0,
        s,
        egui::StrokeKind::Inside,
    );
    let hinge = pos2(left, bottom - 13.0);
    let end = if open { pos2(left + 44.0, bottom - 27.0) } else { pos2(left + 48.0, bottom - 14.0) };
    p.line_segment([hinge, end], Stroke::new(2.0, s.color));
    let at = pos2(left + 56.0, rect.center().y - galley.size().y / 2.0);
    let colour = if open { t.ink } else { t.soft };
    p.galley_with_override_text_color(at, galley, colour);
    style::focus_ring(ui, &r);
    let why = say(match (open, locked) {
        (_, true) => "job-lid-why-locked",
        (true, _) => "job-lid-why-off",
        (false, _) => "job-lid-why-on",
    });
    if r.on_hover_text(why).clicked() { confirm::move_lid(shown, state) } else { None }
}

/// Hand the car over?
pub fn hand_in(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    sheet(ctx, "hand in", &say("job-hand-over-title"), &mut state.front, 520.0, |ui, front| {
        let mut out = Vec::new();
        let job = &shown.view.job;
        let (minutes, money) = (number(job.minutes, 0), number(job.money, 0));
        ui.label(say!(
            "job-hand-over-says",
            minutes = minutes,
            money = money,
            currency = job.currency.as_str()
        ));
        egui::CollapsingHeader::new(say("job-lines")).show(ui, |ui| {
            let rows: Vec<Vec<String>> = job
                .lines
                .iter()
                .map(|l| vec![facts::work(&l.work), number(l.minutes, 1), number(l.money, 2)])
                .collect();
            let heads = [&say("job-line-work"), &say("job-line-min"), job.currency.as_str()];
            style::table(ui, "job lines", &heads, &rows);
        });
        let plan = shown.scenario.plan.as_ref();
        if plan.is_some_and(|p| !p.causes.is_empty()) && cause_named(shown).is_none() {
            style::warn(ui, &say("job-no-cause-yet"));
            if ui.button(say("job-say-what-is-wrong")).clicked() {
                *front = Front::Cause;
            }
        }
        ui.add_space(12.0);
        ui.horizontal_wrapped(|ui| {
            if ui.button(style::bold(&say("job-hand-over-now"))).clicked() {
                out.push(Wish::Order(Order::HandIn));
                *front = Front::None;
            }
            if ui.button(say("job-go-on")).clicked() {
                *front = Front::None;
            }
        });
        out
    })
}
