//! A short tour of a healthy engine: one step at a time, each completed by doing it.

use super::{Middle, PanelState, Shown, service, style};
use crate::bench::action::{Action, Load};
use crate::bench::record::Kind;
use crate::link::DiagRequest;
use crate::session::live::Pace;
use crate::words::say;
use egui::{Frame, Margin, Ui};

/// A step: the message that says what to do, and the test for whether it was done.
type Step = (&'static str, fn(&Shown<'_>, &PanelState) -> bool);

/// The steps.
pub const STEPS: &[Step] = &[
    ("guide-time", |s, _| s.view.pace != Pace::Paused || s.view.runs_to_s.is_some()),
    ("guide-load", |s, _| {
        let on = |k: &Kind| matches!(k, Kind::Act { action: Action::Load(Load::Compressor, true), .. });
        s.rows.log.iter().any(|e| on(&e.kind))
    }),
    ("guide-learned", |s, _| service::asked(s, &DiagRequest::ReadLearned)),
    ("guide-lid", |s, _| s.view.lid_open),
    ("guide-wheel", |_, p| p.middle == Middle::Wheel),
    // only after both futures have been looked at: a trainee who merely presses F has seen nothing of it
    ("guide-fork", |s, p| s.view.second.is_some() && p.middle == Middle::Readings),
    ("guide-end", |_, _| false),
];

/// Advances past the steps that were done, and shows the next one.
pub fn bar(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let Some(mut at) = state.guide else { return };
    while STEPS.get(at).is_some_and(|(_, done)| done(shown, state)) {
        at += 1;
    }
    let Some((id, _)) = STEPS.get(at) else {
        state.guide = None;
        return;
    };
    state.guide = Some(at);
    let t = style::Palette::of(ui);
    let frame = Frame::new()
        .fill(t.panel)
        .stroke((1.0, t.line))
        .corner_radius(5)
        .inner_margin(Margin::symmetric(12, 8));
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(style::bold(&say(id)));
        ui.horizontal_wrapped(|ui| {
            let last = at + 1 == STEPS.len();
            if !last && ui.button(say("guide-next")).clicked() {
                state.guide = Some(at + 1);
            }
            if ui.button(say(if last { "guide-good" } else { "guide-stop" })).clicked() {
                state.guide = None;
            }
            style::soft(ui, &say!("guide-step", at = at + 1, of = STEPS.len()));
        });
    });
}
