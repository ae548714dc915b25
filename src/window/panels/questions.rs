//! Questions that hold an act back until they are answered or skipped, and the naming of a cause.

use super::job;
use super::{Front, PanelState, Shown, Wish, sheet, style};
use crate::bench::action::{Action, Note, Said};
use crate::report;
use crate::scenario::{Ask, AskKind};
use crate::session::desk::Reach;
use crate::session::live::Order;
use crate::session::teach::Question;
use crate::words::numbers::shown_units;
use crate::words::say;
use egui::{Context, Frame, Margin, Ui};
use std::collections::BTreeMap;

/// State of the questions.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AskState {
    /// The typed answers, by question.
    pub numbers: BTreeMap<String, String>,
    /// The chosen answers, by question.
    pub words: BTreeMap<String, String>,
    /// The selected cause.
    pub cause: Option<String>,
    /// Open questions were called up although no act is waiting.
    pub open_wanted: bool,
}

/// The questions in front of everything, while an act waits for them.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let held = !shown.view.questions.is_empty();
    let wanted = state.ask.open_wanted && !shown.view.open.is_empty();
    if !held && !wanted {
        state.ask.open_wanted = false;
        return Vec::new();
    }
    let t = style::Palette::of_ctx(ctx);
    let mut out = Vec::new();
    let answer = egui::Modal::new(egui::Id::new("questions"))
        .backdrop_color(t.veil)
        .frame(Frame::new().fill(t.panel).inner_margin(Margin::same(24)).stroke((1.0, t.line)))
        .show(ctx, |ui| {
            ui.set_width(620.0_f32.min(ctx.content_rect().width() - 80.0));
            ui.label(style::title(&say(if held { "ask-before" } else { "ask-expect" })));
            if let (true, Some((action, _))) = (held, &state.last) {
                let act = report::action_words(action, shown.view.lid_open);
                style::soft(ui, &say!("ask-waits", act = act));
            }
            let tall = ctx.content_rect().height() - 220.0;
            egui::ScrollArea::vertical().max_height(tall).min_scrolled_height(tall).show(ui, |ui| {
                if held {
                    for q in &shown.view.questions {
                        ui.add_space(8.0);
                        match q {
                            Question::Cause => out.extend(causes(ui, shown, &mut state.ask)),
                            Question::Ask(a) => out.extend(question(ui, a, &mut state.ask)),
                        }
                    }
                } else {
                    for a in &shown.view.open {
                        ui.add_space(8.0);
                        out.extend(question(ui, a, &mut state.ask));
                    }
                }
            });
            ui.add_space(12.0);
            ui.separator();
            ui.horizontal_wrapped(|ui| {
                if !held {
                    if ui.button(say("ask-put-away")).clicked() {
                        state.ask.open_wanted = false;
                    }
                    return;
                }
                if let Some((action, reach)) = state.last.clone()
                    && ui.button(say("ask-do-it")).clicked()
                {
                    out.push(Wish::Order(Order::Do(action, reach)));
                }
                if ui.button(say("ask-do-not")).clicked() {
                    out.push(Wish::Order(Order::Do(Action::Wait, Reach::Both)));
                }
            });
        });
    if !held && answer.should_close() {
        state.ask.open_wanted = false;
    }
    out
}

/// One question with its answer.
fn question(ui: &mut Ui, ask: &Ask, kept: &mut AskState) -> Option<Wish> {
    ui.label(style::bold(&ask.question));
    let mut said = None;
    match &ask.kind {
        AskKind::Number { unit, .. } => {
            let typed = kept.numbers.entry(ask.id.clone()).or_default();
            ui.horizontal_wrapped(|ui| {
                let r = ui.add(
                    egui::TextEdit::singleline(typed).desired_width(110.0).hint_text(say("ask-a-number")),
                );
                // as on the gauges; the logbook holds the author's unit
                let units = shown_units();
                ui.label(units.unit(unit));
                let number = typed.trim().replace(',', ".").replace('\u{2212}', "-").parse::<f64>();
                let good = number.ok().filter(|x| x.is_finite());
                let enter = r.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
                let pressed = ui.add_enabled(good.is_some(), egui::Button::new(say("ask-say-it"))).clicked();
                if pressed || enter {
                    let given = |x: f64| if units.unit(unit) == unit { x } else { units.metric(x, unit) };
                    said = good.map(|x| Said::Number(given(x)));
                }
            });
        }
        AskKind::Direction { .. } => {
            let all = [("up", say("ask-rises")), ("same", say("ask-same")), ("down", say("ask-falls"))];
            said = choose(ui, &ask.id, &all.each_ref().map(|(id, says)| (*id, says.as_str())), kept);
        }
        AskKind::Choice(choices) => {
            let all: Vec<(&str, &str)> = choices.iter().map(|c| (c.id.as_str(), c.says.as_str())).collect();
            said = choose(ui, &ask.id, &all, kept);
        }
    }
    said.map(|says| job::note(Note::Answer { ask: ask.id.clone(), says }))
}

fn choose(ui: &mut Ui, id: &str, all: &[(&str, &str)], kept: &mut AskState) -> Option<Said> {
    let mut now = kept.words.get(id).cloned().unwrap_or_default();
    for (word, says) in all {
        ui.radio_value(&mut now, (*word).to_owned(), *says);
    }
    let good = all.iter().any(|(w, _)| *w == now);
    let pressed = ui.add_enabled(good, egui::Button::new(say("ask-say-it"))).clicked();
    kept.words.insert(id.to_owned(), now.clone());
    pressed.then_some(Said::Word(now))
}

fn causes(ui: &mut Ui, shown: &Shown<'_>, kept: &mut AskState) -> Option<Wish> {
    let plan = shown.scenario.plan.as_ref()?;
    ui.label(style::bold(&say("ask-cause")));
    let mut now =
        kept.cause.clone().or_else(|| job::cause_named(shown).map(str::to_owned)).unwrap_or_default();
    for c in &plan.causes {
        ui.radio_value(&mut now, c.id.clone(), &c.says);
    }
    let good = plan.causes.iter().any(|c| c.id == now);
    let pressed = ui.add_enabled(good, egui::Button::new(say("ask-say-it"))).clicked();
    kept.cause = (!now.is_empty()).then(|| now.clone());
    pressed.then(|| job::note(Note::Cause(now)))
}

/// Naming a cause, at any time.
pub fn cause(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "cause", &say("ask-cause"), &mut front, 620.0, |ui, front: &mut Front| {
        style::soft(ui, &say("ask-cause-counts"));
        let said = causes(ui, shown, &mut state.ask);
        if said.is_some() {
            *front = Front::None;
        }
        said.into_iter().collect::<Vec<_>>()
    });
    state.front = front;
    out
}
