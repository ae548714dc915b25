//! The logbook as the lid allows it: acts by hand, tool readings, what the module said and decided, line by line.

use super::{Front, Shown, sheet, style};
use crate::bench::record::{Entry, Kind};
use crate::bench::trace::COLUMNS;
use crate::link::{DiagRequest, Notice};
use crate::report;
use crate::words::numbers::clock;
use crate::words::say;
use egui::{Context, ScrollArea, Ui};

/// A decision that the module made by itself: each has a point on the time line.
pub fn decided(e: &Entry) -> Option<&Notice> {
    match &e.kind {
        Kind::Module { what } => Some(what),
        _ => None,
    }
}

/// One line for each day that the car was driven on or stood; nothing where there was none.
pub fn days(ui: &mut Ui, shown: &Shown<'_>) {
    // a value that the lid hides is no number in these rows
    let read = super::service::asked(shown, &DiagRequest::ReadLearned);
    let rows = shown.rows.first.chunks_exact(COLUMNS.len());
    let all = report::days(rows, &shown.rows.log, shown.view.lid_open, read);
    if all.is_empty() {
        return;
    }
    style::fold(ui, "days", &say("days-heading"), true, |ui| {
        let heads = report::DAY_HEADS.map(say);
        let rows: Vec<Vec<String>> = all.iter().map(|d| report::day_cells(d).into()).collect();
        let most = ui.ctx().content_rect().height() * 0.4;
        ScrollArea::vertical().id_salt("days").max_height(most).auto_shrink([false, true]).show(ui, |ui| {
            style::wide_table(ui, "days", &heads.each_ref().map(String::as_str), &rows);
        });
        style::soft(ui, &say("days-note"));
    });
    ui.add_space(8.0);
}

/// The sheet: the latest first.
pub fn modal(ctx: &Context, shown: &Shown<'_>, front: &mut Front) {
    sheet(ctx, "logbook", &say("logbook-title"), front, 900.0, |ui: &mut Ui, _: &mut Front| {
        days(ui, shown);
        let all: Vec<&Entry> = shown.rows.log.iter().rev().collect();
        if all.is_empty() {
            ui.label(say("logbook-empty"));
        }
        let tall = ui.text_style_height(&egui::TextStyle::Body);
        let most = ui.ctx().content_rect().height() * 0.7;
        ScrollArea::vertical().max_height(most).auto_shrink([false, true]).show_rows(
            ui,
            tall,
            all.len(),
            |ui, rows| {
                for e in &all[rows] {
                    let (who, what) = report::entry_words(e, shown.view.lid_open);
                    let at = clock(e.t_s - shown.view.hand_over_s);
                    // one line each: a longer entry is shown in full under the pointer
                    let line = format!("{at:>8}  {:<9}  {what}", report::who_words(who));
                    ui.add(egui::Label::new(style::mono(&line).size(15.0)).truncate());
                }
            },
        );
    });
}
