//! The presentation view for a class: engine or wheel, the tachometer, two traces, and the question being asked.
//!
//! One key leads here and back. Every other key works as it does elsewhere; sheets appear in front as usual.

use super::{
    Middle, Out, PanelState, Shown, guide, job, over, quiet, style, tachometer, traces, wheel, within,
};
use crate::session::teach::Question;
use crate::words::say;
use egui::{CentralPanel, Color32, Panel, RichText, Ui, vec2};

/// Size of letters \[points\]: with 1280 points across a wall two metres wide they are 3.4 cm tall.
const LETTERS: f32 = 30.0;

/// The question put to the class: the one that holds an act back, or the first open one; without either, the
/// scenario's title.
fn question(shown: &Shown<'_>) -> String {
    let view = shown.view;
    match (view.questions.first(), view.open.first()) {
        (Some(Question::Ask(ask)), _) | (None, Some(ask)) => ask.question.clone(),
        (Some(Question::Cause), _) => say("ask-cause"),
        (None, None) => shown.scenario.about.title.clone(),
    }
}

/// Draws the whole view.
pub(super) fn all(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, typing: bool, mut out: Out) -> Out {
    let t = style::Palette::of(ui);
    // traces and cylinders are for reading at a desk
    if !matches!(state.middle, Middle::Engine | Middle::Wheel) {
        state.middle = Middle::Engine;
    }
    Panel::top("question").frame(quiet(t.panel)).show(ui, |ui| {
        ui.horizontal_top(|ui| {
            let right = 430.0;
            ui.vertical(|ui| {
                ui.set_width(ui.available_width() - right - 16.0);
                let words = RichText::new(question(shown)).font(style::bold_font(LETTERS)).color(t.ink);
                ui.add(egui::Label::new(words).wrap());
                ui.horizontal_wrapped(|ui| {
                    job::lamp(ui, shown, 0.8 * LETTERS);
                    ui.add_space(16.0);
                    job::other_lamps(ui, shown, 0.8 * LETTERS);
                    ui.add_space(16.0);
                    if ui.add(egui::Button::new(say("present-back")).small()).clicked() {
                        state.presents = false;
                    }
                });
            });
            tachometer::dial(ui, shown, vec2(right, 120.0));
        });
    });
    Panel::bottom("two traces")
        .frame(quiet(t.bg))
        .exact_size((ui.available_height() * 0.38).clamp(150.0, 260.0))
        .resizable(false)
        .show(ui, |ui| {
            let tall = ui.available_height();
            traces::from_afar(ui, shown, &mut state.readings, tall);
        });
    let is_engine = state.middle == Middle::Engine;
    let fill = if is_engine { Color32::TRANSPARENT } else { t.bg };
    out.engine = CentralPanel::default()
        .frame(quiet(fill))
        .show(ui, |ui| {
            within(ui, |ui| {
                guide::bar(ui, shown, state);
                if !is_engine {
                    wheel::from_afar(ui, shown);
                }
                is_engine.then(|| ui.available_rect_before_wrap())
            })
        })
        .inner;
    over(ui, shown, state, typing, &mut out.wishes);
    out
}
