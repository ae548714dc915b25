//! The job card: the complaint, what was spent, the lamp, the lid, and what a technician says.

use super::{Front, PanelState, Shown, Wish, ink, leave, sheet};
use crate::bench::action::{Action, Note};
use crate::bench::record::Kind;
use crate::bench::view::Lamp;
use crate::scenario::Lid;
use crate::session::desk::Reach;
use crate::session::live::Order;
use crate::session::ticket::trainee_words;
use crate::words::facts;
use egui::{Align, Context, Layout, RichText, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

/// A note that somebody says.
pub fn say(note: Note) -> Wish {
    Wish::Order(Order::Do(Action::Note(note), Reach::Both))
}

/// The cautions were read and are kept.
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
    let mut out = Vec::new();
    let t = ink::Ink::of(ui);
    let about = &shown.scenario.about;
    let over = shown.run.is_some();
    // a projector's letters leave less room: the complaint then has a line of its own
    let narrow = ui.available_width() < 1300.0;
    let s = &shown.scenario.setup;
    let car = if s.odometer_km > 0.0 {
        format!("{}, {}", shown.plate.title, shown.settings.words(s.odometer_km, "km"))
    } else {
        shown.plate.title.clone()
    };
    let mut words = format!("“{}” {car}", about.complaint.trim());
    if let Some(who) = &shown.scenario.vary.who {
        words = format!("{words} · {}", trainee_words(who));
    }
    let card = RichText::new(&words).color(t.soft);
    ui.horizontal(|ui| {
        ui.vertical(|ui| {
            ui.set_max_width((ui.available_width() - if narrow { 490.0 } else { 620.0 }).max(300.0));
            ui.add(
                egui::Label::new(ink::title(&format!("{} {}", about.id, about.title)).color(t.ink))
                    .truncate(),
            );
            if !narrow {
                // what the customer says is read before anything else: all of it, on as many lines as it takes
                ui.add(egui::Label::new(card.clone()).wrap());
            }
        });
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if let Some(w) = lid(ui, shown, state) {
                out.push(w);
            }
            ui.add_space(12.0);
            lamp(ui, shown);
            ui.add_space(12.0);
            let job = &shown.view.job;
            big(ui, &ink::number(job.money, 0), &format!("{} spent", job.currency));
            ui.add_space(12.0);
            big(ui, &ink::number(job.minutes, 0), "minutes");
        });
    });
    if narrow {
        ui.add(egui::Label::new(card).wrap());
    }
    let row = |ui: &mut Ui, inside: &mut dyn FnMut(&mut Ui)| {
        if narrow {
            ui.horizontal_wrapped(inside)
        } else {
            ui.horizontal(inside)
        };
    };
    row(ui, &mut |ui| {
        if !over {
            let kept = cautions_kept(shown);
            if !about.cautions.is_empty() {
                if kept {
                    ink::soft(ui, "cautions read");
                } else if ui.button(ink::bold("Cautions…").color(t.accent)).clicked() {
                    state.front = Front::Cautions;
                }
            }
            if shown.scenario.plan.as_ref().is_some_and(|p| !p.causes.is_empty()) {
                let words = match cause_named(shown) {
                    Some(_) => "Name another cause…",
                    None => "Say what is wrong…",
                };
                if ink::quiet_button(ui, words, "Y").clicked() {
                    state.front = Front::Cause;
                }
            }
            let open = shown.view.open.len();
            if open > 0
                && ui.button(format!("{open} question{} open…", if open == 1 { "" } else { "s" })).clicked()
            {
                state.ask.open_wanted = true;
            }
            if ink::quiet_button(ui, "Hand the car over…", "F9").clicked() {
                state.front = Front::HandIn;
            }
        } else if state.debrief_away && ui.button("Show the debrief").clicked() {
            state.debrief_away = false;
        }
        if !over && ink::quiet_button(ui, "A healthy one…", "F7").clicked() {
            state.front = Front::Beside;
        }
        if ink::quiet_button(ui, "Scenarios…", "F6").clicked() {
            state.front = Front::Scenarios;
        }
        if let Some(said) = &shown.view.said {
            let said = facts::told(said);
            ui.add_space(12.0);
            let words = ink::bold(&said).color(t.accent);
            ui.add(egui::Label::new(words).truncate()).on_hover_text(said);
        } else if let Some(told) = shown.told {
            ui.add_space(12.0);
            ui.add(egui::Label::new(RichText::new(told).color(t.soft)).truncate()).on_hover_text(told);
        }
        if narrow {
            general(ui, shown, state, true);
        } else {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| general(ui, shown, state, false));
        }
    });
    out
}

/// What belongs to no job.
fn general(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, narrow: bool) {
    // where there is no room for its key's cap, a button tells its key under the pointer
    let all = [
        ("Keys", "?", Front::Keys),
        ("Words", "F1", Front::Words(String::new())),
        ("Settings…", "F10", Front::Settings),
    ];
    for (words, key, front) in all {
        let r = ink::quiet_button(ui, words, if narrow { "" } else { key });
        if r.on_hover_text(format!("key {key}")).clicked() {
            state.front = front;
        }
    }
    if shown.view.lid_open && shown.run.is_none() && ui.button("Slip in a fault…").clicked() {
        state.front = Front::Slip;
    }
}

fn big(ui: &mut Ui, number: &str, under: &str) {
    let t = ink::Ink::of(ui);
    ui.allocate_ui_with_layout(vec2(84.0, 50.0), Layout::top_down(Align::Center), |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.label(ink::figure(number, 25.0).color(t.ink));
        ui.label(RichText::new(under).size(14.0).color(t.soft));
    });
}

/// What the lamp says.
pub fn lamp_words(lamp: Lamp) -> &'static str {
    match lamp {
        Lamp::Off => "engine lamp off",
        Lamp::On => "engine lamp on",
        Lamp::Blink => "engine lamp flashes: ease off",
    }
}

fn lamp(ui: &mut Ui, shown: &Shown<'_>) {
    let t = ink::Ink::of(ui);
    let lamp = shown.view.first.seen.lamp;
    let colour = if lamp == Lamp::Off { t.soft } else { t.accent };
    let words = if lamp == Lamp::Off { RichText::new(lamp_words(lamp)) } else { ink::bold(lamp_words(lamp)) };
    ui.label(words.color(colour));
    let (rect, _) = ui.allocate_exact_size(vec2(24.0, 24.0), Sense::hover());
    let p = ui.painter();
    let middle = rect.center();
    let dark =
        lamp == Lamp::Blink && !shown.settings.reduced_motion && ui.input(|i| i.time * 2.0 % 2.0 > 1.0);
    match lamp {
        Lamp::Off => {
            p.circle_stroke(middle, 9.0, Stroke::new(1.5, t.edge));
        }
        _ if dark => {
            p.circle_stroke(middle, 9.0, Stroke::new(2.5, t.accent));
        }
        _ => {
            p.circle_filled(middle, 10.0, t.accent);
        }
    }
    if lamp == Lamp::Blink {
        p.circle_stroke(middle, 12.0, Stroke::new(1.5, t.accent));
        ui.ctx().request_repaint_after(std::time::Duration::from_millis(250));
    }
}

/// The order that moves the lid, where the scenario lets it.
pub fn move_lid(shown: &Shown<'_>) -> Option<Wish> {
    let open = shown.view.lid_open;
    (open || shown.scenario.about.lid != Lid::Locked).then_some(Wish::Order(Order::Lid(!open)))
}

fn lid(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let t = ink::Ink::of(ui);
    let open = shown.view.lid_open;
    let locked = shown.scenario.about.lid == Lid::Locked;
    let words = match (open, locked) {
        (true, _) => "lid off",
        (false, true) => "lid locked",
        (false, false) => "lid on",
    };
    ink::cap(ui, "V");
    let galley = ui.painter().layout_no_wrap(words.into(), egui::FontId::proportional(16.0), t.text);
    let (rect, r) = ui.allocate_exact_size(vec2(64.0 + galley.size().x, 40.0), Sense::click());
    r.widget_info(|| WidgetInfo::selected(WidgetType::Button, !locked, open, format!("{words}: truth")));
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
    ink::focus_ring(ui, &r);
    let why = match (open, locked) {
        (_, true) => "This scenario keeps its lid closed.",
        (true, _) => "Truth is shown in ink. Put the lid on.",
        (false, _) => "Take the lid off: truth is shown in ink. It stands in the logbook.",
    };
    if r.on_hover_text(why).clicked() { leave::move_lid(shown, state) } else { None }
}

/// Hand the car over?
pub fn hand_in(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    sheet(ctx, "hand in", "Hand the car over?", &mut state.front, 520.0, |ui, front| {
        let mut out = Vec::new();
        let job = &shown.view.job;
        ui.label(format!(
            "{} minutes and {} {} stand on the job card. The attempt ends here; the debrief follows.",
            ink::number(job.minutes, 0),
            ink::number(job.money, 0),
            job.currency
        ));
        egui::CollapsingHeader::new("Job card, line by line").show(ui, |ui| {
            let rows: Vec<Vec<String>> = job
                .lines
                .iter()
                .map(|l| vec![l.what.clone(), ink::number(l.minutes, 1), ink::number(l.money, 2)])
                .collect();
            ink::table(ui, "job lines", &["work", "min", &job.currency], &rows);
        });
        let plan = shown.scenario.plan.as_ref();
        if plan.is_some_and(|p| !p.causes.is_empty()) && cause_named(shown).is_none() {
            ink::warn(ui, "You have not said what is wrong.");
            if ui.button("Say what is wrong…").clicked() {
                *front = Front::Cause;
            }
        }
        ui.add_space(12.0);
        ui.horizontal(|ui| {
            if ui.button(ink::bold("Hand the car over")).clicked() {
                out.push(Wish::Order(Order::HandIn));
                *front = Front::None;
            }
            if ui.button("Go on working").clicked() {
                *front = Front::None;
            }
        });
        out
    })
}
