//! Confirmations: before the lid comes off for the first time, and before the window is closed on work that was not
//! handed in.

use super::{Front, PanelState, Shown, Wish, sheet, style};
use crate::bench::action::{Action, Note};
use crate::bench::record::Kind;
use crate::scenario::Lid;
use crate::session::Run;
use crate::session::live::{Order, Rows, View};
use crate::words::say;
use egui::Context;

/// True when a person has done something to this car and has not handed it in.
pub fn work_is_lost(view: &View, rows: &Rows, run: Option<&Run>) -> bool {
    // acts of the scenario keep its own ids; acts by hand are numbered
    let by_hand = |k: &Kind| matches!(k, Kind::Act { id, action } if id.starts_with("hand-") && !matches!(action, Action::Note(_)));
    run.is_none() && rows.log.iter().any(|e| e.t_s >= view.hand_over_s && by_hand(&e.kind))
}

/// The order that moves the lid, if the scenario allows it.
fn order_of_lid(shown: &Shown<'_>) -> Option<Wish> {
    let open = shown.view.lid_open;
    (open || shown.scenario.about.lid != Lid::Locked).then_some(Wish::Order(Order::Lid(!open)))
}

/// Moves the lid. Before the first removal in a lesson the window asks for confirmation, because the removal stays on
/// record. Once the car is handed in, nothing is at stake and it does not ask.
pub fn move_lid(shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let wish = order_of_lid(shown)?;
    if shown.run.is_some() {
        return Some(wish);
    }
    let off = |k: &Kind| matches!(k, Kind::Act { action: Action::Note(Note::Lid(true)), .. });
    let first = wish == Wish::Order(Order::Lid(true))
        && shown.scenario.plan.is_some()
        && !shown.rows.log.iter().any(|e| off(&e.kind));
    if first {
        state.front = Front::Lid;
        return None;
    }
    Some(wish)
}

/// Confirmation before the lid is taken off for the first time in a lesson.
pub fn lid(ctx: &Context, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    sheet(ctx, "lid", &say("leave-lid"), &mut state.front, 520.0, |ui, front: &mut Front| {
        ui.label(say("leave-lid-why"));
        ui.add_space(8.0);
        ui.horizontal_wrapped(|ui| {
            if ui.button(style::bold(&say("leave-lid-off"))).clicked() {
                out.push(Wish::Order(Order::Lid(true)));
                *front = Front::None;
            }
            if ui.button(say("leave-lid-on")).clicked() {
                *front = Front::None;
            }
        });
    });
    out
}

/// Confirmation before the window is closed on work that was not handed in.
pub fn close(ctx: &Context, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    sheet(ctx, "close", &say("leave-close"), &mut state.front, 520.0, |ui, front: &mut Front| {
        ui.label(say("leave-close-why"));
        ui.add_space(8.0);
        ui.horizontal_wrapped(|ui| {
            if ui.button(style::bold(&say("leave-close-hand-over"))).clicked() {
                *front = Front::HandIn;
            }
            if ui.button(say("leave-close-and-lose")).clicked() {
                out.push(Wish::Close);
                *front = Front::None;
            }
            if ui.button(say("leave-close-stay")).clicked() {
                *front = Front::None;
            }
        });
    });
    out
}
