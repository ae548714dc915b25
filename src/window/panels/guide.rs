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
        "Let time run: press Space, or choose a pace at the bottom right. At “slow” you can watch a piston move.",
        |s, _| s.view.pace != Pace::Paused || s.view.runs_to_s.is_some(),
    ),
    (
        "Switch the compressor on: press C, or its switch to the left. It takes power, so the idle needs more air: see to \
         the right which bar of “Idle air adds up” grows.",
        |s, _| {
            let on = |k: &Kind| matches!(k, Kind::Act { action: Action::Load(Load::Compressor, true), .. });
            s.rows.log.iter().any(|e| on(&e.kind))
        },
    ),
    (
        "Press “Read learned values”, to the right. Each value stands on a ruler: its ends are the limits, the notch is the \
         default, the dashed bar is what was learned since. Above stands whether the module may learn now, and if not, why.",
        |s, _| service::asked(s, &DiagRequest::ReadLearned),
    ),
    (
        "Take the lid off: press V. Now the rulers also show, in ink, what the parts really are. In a job this stands in \
         your logbook.",
        |s, _| s.view.lid_open,
    ),
    (
        "Look at the wheel on the crank: press F4. Pencil is where the module believes its teeth are, ink is where they are.",
        |_, p| p.middle == Middle::Wheel,
    ),
    (
        "Try two things at once: press F, and from here on there are two futures of the same car. Switch something on in the \
         second, then press F3: the traces show both, and how far they differ.",
        |s, _| s.view.second.is_some(),
    ),
    (
        "That was the look round. The first job is A1: press F6 and choose it. F7 shows a healthy car of the same model \
         beside yours at any time.",
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
