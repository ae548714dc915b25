//! A short look round a healthy engine: one step at a time, each done by doing it.

use super::{Middle, PanelState, Shown, ink, service};
use crate::bench::action::{Action, Load};
use crate::bench::record::Kind;
use crate::link::DiagRequest;
use crate::session::live::Pace;
use egui::{Frame, Margin, Ui};

/// A step: what to do, and how it is told that it was done.
type Step = (&'static str, fn(&Shown<'_>, &PanelState) -> bool);

/// The steps.
pub const STEPS: &[Step] = &[
    (
        "Let time run: press Space, or choose a pace at the bottom right. 0 is slow enough to see a piston.",
        |s, _| s.view.pace != Pace::Paused || s.view.runs_to_s.is_some(),
    ),
    (
        "Switch the compressor on: C, or its switch to the left. To the right, see which term of the idle's air answers.",
        |s, _| {
            let on = |k: &Kind| matches!(k, Kind::Act { action: Action::Load(Load::Compressor, true), .. });
            s.rows.log.iter().any(|e| on(&e.kind))
        },
    ),
    (
        "Read learned values, to the right. Each is a ruler: its limits are the ends, its default a notch, pencil what was \
         learned. Below stands what may be learned now, and why not.",
        |s, _| service::asked(s, &DiagRequest::ReadLearned),
    ),
    ("Take the lid off: V. What the parts really are is drawn in ink, under the pencil.", |s, _| {
        s.view.lid_open
    }),
    (
        "Look at the wheel: F4. Pencil is what the module believes of its teeth, ink is how they are.",
        |_, p| p.middle == Middle::Wheel,
    ),
    (
        "Fork: F. Switch something in the second future only; Traces, F3, show both, and by how much they differ.",
        |s, _| s.view.second.is_some(),
    ),
    (
        "That was all of it. The first job is A1, under Scenarios, F6; a healthy car stays at hand under F7.",
        |_, _| false,
    ),
];

/// Goes on as far as it was done, and shows the step that comes next.
pub fn bar(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let Some(mut at) = state.guide else { return };
    while STEPS.get(at).is_some_and(|(_, done)| done(shown, state)) {
        at += 1;
    }
    let Some((words, _)) = STEPS.get(at) else {
        state.guide = None;
        return;
    };
    state.guide = Some(at);
    let t = ink::Ink::of(ui);
    let frame = Frame::new()
        .fill(t.panel)
        .stroke((1.0, t.line))
        .corner_radius(5)
        .inner_margin(Margin::symmetric(12, 8));
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(ink::bold(words));
        ui.horizontal(|ui| {
            let last = at + 1 == STEPS.len();
            if !last && ui.button("Next step").clicked() {
                state.guide = Some(at + 1);
            }
            if ui.button(if last { "Good" } else { "End the look round" }).clicked() {
                state.guide = None;
            }
            ink::soft(ui, &format!("look round, {} of {}", at + 1, STEPS.len()));
        });
    });
}
