//! A finished attempt once more without one of its steps: what would have differed, and both ends side by side.
//!
//! It runs on a thread of its own ([`Rerun`]) and ends when the sheet is put away.

use super::{Front, PanelState, Shown, Wish, sheet, style};
use crate::app::results;
use crate::session::Run;
use crate::session::without::Rerun;
use crate::words::numbers::number;
use crate::words::say;
use egui::{Context, ProgressBar, Ui};
use std::sync::Arc;
use std::time::Duration;

/// Time between two looks at the thread \[ms\].
const LOOK_MS: u64 = 100;

/// The step that is left out.
#[derive(Debug, Clone, Default)]
pub struct WithoutState {
    /// Its name.
    step: String,
    /// The attempt without it; none if it could not be started.
    rerun: Option<Arc<Rerun>>,
}

/// Begins to run an attempt without this step, and puts the sheet in front.
pub fn begin(state: &mut PanelState, run: &Run, id: &str, step: String) {
    state.without = WithoutState { step, rerun: Rerun::start(run, id).map(Arc::new) };
    state.front = Front::Without;
}

/// The sheet.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let title = say!("without-title", step = state.without.step.as_str());
    sheet(ctx, "without", &title, &mut front, 900.0, |ui, front: &mut Front| {
        let (Some(run), Some(rerun)) = (shown.run, &state.without.rerun) else {
            ui.label(say("without-no-thread"));
            return;
        };
        match rerun.run() {
            Some(other) => result(ui, &results::without(run, other, run.lid_open || shown.view.lid_open)),
            None => {
                let share = rerun.share();
                ui.label(say("without-runs"));
                ui.add(ProgressBar::new(share as f32).text(format!("{} %", number(100.0 * share, 0))));
                if ui.button(say("without-stop")).clicked() {
                    *front = Front::None;
                }
                ctx.request_repaint_after(Duration::from_millis(LOOK_MS));
            }
        }
    });
    if front != Front::Without {
        // the thread ends with the last who holds it
        state.without = WithoutState::default();
    }
    state.front = front;
    Vec::new()
}

/// Plain lines first, then the numbers.
fn result(ui: &mut Ui, both: &results::Without) {
    for line in &both.lines {
        ui.label(egui::RichText::new(line).size(18.0));
    }
    ui.add_space(10.0);
    let heads = ["twin-at-the-end", "without-done", "without-left-out", "twin-difference"].map(say);
    let heads = heads.each_ref().map(String::as_str);
    let rows = |all: &[[String; 4]]| all.iter().map(|r| r.to_vec()).collect::<Vec<_>>();
    style::wide_table(ui, "without differs", &heads, &rows(&both.differs));
    ui.add_space(8.0);
    style::fold(ui, "without same", &say!("without-alike", n = both.same.len() as u32), false, |ui| {
        style::wide_table(ui, "without alike", &heads, &rows(&both.same));
    });
    style::soft(ui, &say("without-note"));
}
