//! The debrief: the grade row by row, predictions beside their outcomes, and files to take away.

use super::{Front, Middle, PanelState, Save, Shown, Wish, logbook, style, without};
use crate::bench::record::{Entry, Kind};
use crate::lesson::Grade;
use crate::scenario::Lid;
use crate::session::Run;
use crate::session::live::Order;
use crate::words::numbers::{clock, number};
use crate::words::{facts, say};
use directories::UserDirs;
use egui::{ScrollArea, Ui, WidgetInfo, WidgetType};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// State of the file-saving controls.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FilesState {
    /// The folder.
    pub folder: String,
    /// A scenario's file to open.
    pub open: String,
}

impl Default for FilesState {
    fn default() -> Self {
        let documents = UserDirs::new().and_then(|d| d.document_dir().map(PathBuf::from));
        let folder =
            documents.map_or_else(|| "idlewright".into(), |d| d.join("idlewright").display().to_string());
        Self { folder, open: String::new() }
    }
}

/// Buttons that save files into the folder; each names the message of its label.
pub fn files(ui: &mut Ui, state: &mut PanelState, all: &[(Save, &str)]) -> Vec<Wish> {
    let mut out = Vec::new();
    ui.horizontal_wrapped(|ui| {
        ui.label(say("debrief-folder"));
        ui.add(egui::TextEdit::singleline(&mut state.files.folder).desired_width(360.0));
        let folder = PathBuf::from(state.files.folder.trim());
        let good = !folder.as_os_str().is_empty();
        for (save, name) in all {
            if ui.add_enabled(good, egui::Button::new(say(name))).clicked() {
                out.push(Wish::Save(*save, folder.clone()));
            }
        }
    });
    out
}

/// The panel.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, run: &Run, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let t = style::Palette::of(ui);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label(style::title(&say("debrief-title")).color(t.ink));
            if let Some(g) = &run.grade {
                let points = say!("debrief-points", points = number(g.points, 0), of = number(g.of, 0));
                ui.label(style::figure(&points, 22.0));
                if g.closed {
                    ui.label(style::bold(&say("debrief-closed")).color(t.ok));
                } else {
                    ui.label(style::bold(&say("debrief-not-closed")).color(t.accent));
                }
            }
            if run.lid_open {
                ui.label(style::bold(&say("debrief-lid-off")).color(t.accent));
            }
        });
        if let Some(g) = &run.grade {
            missing(ui, g);
        }
        ui.horizontal_wrapped(|ui| {
            let locked = shown.scenario.about.lid == Lid::Locked;
            // a car that is whole shows nothing that was wrong
            let whole = run.grade.as_ref().is_some_and(|g| g.closed);
            let words = say(if whole { "debrief-truth-of-whole" } else { "debrief-truth" });
            let truth = egui::Button::new(style::bold(&words));
            if ui.add_enabled(!locked, truth).clicked() {
                out.push(Wish::Order(Order::Lid(true)));
                state.middle = Middle::Engine;
                state.debrief_away = true;
            }
            if ui.button(say("debrief-look")).clicked() {
                state.debrief_away = true;
            }
            if ui.button(say("debrief-again")).clicked() {
                out.push(Wish::Again);
            }
            if ui.button(say("debrief-another")).clicked() {
                state.front = Front::Scenarios;
            }
        });
        ui.add_space(6.0);
        ui.label(shown.scenario.about.teaches.trim());
        ui.add_space(6.0);
        let all = [
            (Save::Debrief, "debrief-save"),
            (Save::Logbook, "debrief-save-logbook"),
            (Save::Trace, "debrief-save-traces"),
        ];
        out.extend(files(ui, state, &all));
        if let Some(told) = shown.told {
            style::soft(ui, told);
        }
        ui.add_space(10.0);
        match &run.grade {
            Some(g) => {
                if let Some(at_s) = grade(ui, g, shown.view.hand_over_s) {
                    to_moment(state, at_s);
                }
            }
            None => {
                style::soft(ui, &say("debrief-no-lesson"));
            }
        }
        ui.add_space(10.0);
        logbook::days(ui, shown);
        job_card(ui, shown, run, state);
    });
    out
}

/// The job card: each step with its moment, its cost, and a press that leaves it out.
fn job_card(ui: &mut Ui, shown: &Shown<'_>, run: &Run, state: &mut PanelState) {
    let t = style::Palette::of(ui);
    ui.label(style::bold(&say("debrief-job")));
    style::soft(ui, &say("debrief-without-says"));
    let done_s = |id: &str| {
        let is = |e: &&Entry| matches!(&e.kind, Kind::Act { id: own, .. } if own == id && !id.is_empty());
        shown.rows.log.iter().find(is).map(|e| e.t_s)
    };
    let small = |words: String| egui::RichText::new(words).size(14.0).color(t.soft);
    egui::Grid::new("debrief job").num_columns(5).spacing(egui::vec2(14.0, 3.0)).show(ui, |ui| {
        ui.label("");
        for id in ["debrief-job-work", "debrief-job-minutes"] {
            ui.label(small(say(id)));
        }
        ui.label(small(run.job.currency.clone()));
        ui.end_row();
        for line in &run.job.lines {
            match done_s(&line.id) {
                Some(at_s) if moment(ui, at_s, shown.view.hand_over_s) => to_moment(state, at_s),
                Some(_) => {}
                None => {
                    ui.label("");
                }
            }
            let work = facts::work(&line.work);
            ui.label(&work);
            ui.label(style::mono(&number(line.minutes, 1)));
            ui.label(style::mono(&number(line.money, 2)));
            if run.can_leave_out(&line.id) {
                let r = ui.small_button(say("debrief-without"));
                let spoken = say!("without-title", step = work.as_str());
                r.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &spoken));
                if r.on_hover_text(&spoken).clicked() {
                    without::begin(state, run, &line.id, work);
                }
            }
            ui.end_row();
        }
    });
    ui.label(say!(
        "debrief-job-sum",
        minutes = number(run.job.minutes, 0),
        money = number(run.job.money, 2),
        currency = run.job.currency.as_str()
    ));
}

/// What is missing to pass: for each required row, the first finding that was not met.
fn missing(ui: &mut Ui, g: &Grade) {
    let open: Vec<_> = g.rows.iter().filter(|r| r.closes && !r.full()).collect();
    if open.is_empty() {
        if g.closed {
            style::verdict(ui, true, &say("debrief-nothing-missing"));
        }
        return;
    }
    ui.label(style::bold(&say("debrief-missing")));
    // a finding that keeps two rows from full points is shown once
    let mut told = BTreeSet::new();
    for row in open {
        let missing = row.findings.iter().find(|f| !f.met);
        let words = missing.map_or_else(|| row.says.clone(), |f| facts::found(&f.found));
        if told.insert(words.clone()) {
            style::finding(ui, false, &words);
        }
    }
}

/// Closes the debrief and shows the traces at a moment \[s\].
fn to_moment(state: &mut PanelState, at_s: f64) {
    state.debrief_away = true;
    state.middle = Middle::Readings;
    let r = &mut state.readings;
    let window_s = r.window_s.unwrap_or(MOMENT_S);
    (r.follow, r.held_s, r.window_s, r.end_s) = (false, Some(at_s), Some(window_s), at_s + 0.75 * window_s);
}

/// Time span shown around a moment when the whole run was shown before \[s\].
const MOMENT_S: f64 = 300.0;

/// A moment as a link; true when it was pressed.
fn moment(ui: &mut Ui, at_s: f64, zero_s: f64) -> bool {
    let at = clock(at_s - zero_s);
    // underlined, so that it is recognised as a link
    let r = ui.link(egui::RichText::new(&at).underline());
    let spoken = say!("debrief-to-moment", time = at);
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Link, true, &spoken));
    r.on_hover_text(&spoken).clicked()
}

/// The grade, row by row. Returns the moment that somebody wants to go to \[s\].
pub fn grade(ui: &mut Ui, g: &Grade, zero_s: f64) -> Option<f64> {
    let plain = egui::Layout::top_down(egui::Align::Min);
    ui.columns(2, |c| {
        c[0].with_layout(plain, |ui| rows(ui, g));
        c[1].with_layout(plain, |ui| predictions(ui, g, zero_s)).inner
    })
}

fn rows(ui: &mut Ui, g: &Grade) {
    let t = style::Palette::of(ui);
    for row in &g.rows {
        ui.horizontal_wrapped(|ui| {
            let colour = if row.full() { t.ok } else { t.accent };
            let points = format!("{:>4} / {}", number(row.points, 1), number(row.of, 0));
            ui.label(style::figure(&points, 16.0).color(colour));
            ui.label(style::bold(&row.says));
            if row.closes {
                style::soft(ui, &say("debrief-needed"));
            }
            if let Some(task) = &row.task {
                style::soft(ui, task);
            }
        });
        ui.indent(&row.id, |ui| {
            for f in &row.findings {
                style::finding(ui, f.met, &facts::found(&f.found));
            }
        });
        ui.add_space(4.0);
    }
}

fn predictions(ui: &mut Ui, g: &Grade, zero_s: f64) -> Option<f64> {
    let t = style::Palette::of(ui);
    let mut to_s = None;
    ui.label(style::bold(&say("debrief-predicted")));
    if g.predictions.is_empty() {
        style::soft(ui, &say("debrief-no-question"));
    }
    for p in &g.predictions {
        ui.add_space(6.0);
        ui.label(style::bold(&p.question));
        ui.horizontal_wrapped(|ui| {
            if moment(ui, p.asked_s, zero_s) {
                to_s = Some(p.asked_s);
            }
            ui.label(match &p.said {
                Some(said) => say!("debrief-said", said = facts::outcome(said)),
                None => say("debrief-said-nothing"),
            });
        });
        let came = match &p.came {
            Some(came) => say!("debrief-came", came = facts::outcome(came)),
            None => say("debrief-came-unseen"),
        };
        ui.label(egui::RichText::new(came).color(t.meas));
        match p.right {
            Some(true) => style::verdict(ui, true, &say("debrief-right")),
            Some(false) => style::verdict(ui, false, &say("debrief-wrong")),
            None => {}
        }
        style::soft(ui, p.why.trim());
    }
    if !g.stated.is_empty() {
        ui.add_space(10.0);
        ui.label(style::bold(&say("debrief-causes")));
        for (at, what) in &g.stated {
            ui.horizontal_wrapped(|ui| {
                if moment(ui, *at, zero_s) {
                    to_s = Some(*at);
                }
                ui.label(what);
            });
        }
    }
    if g.good_parts > 0 {
        ui.label(style::bold(&say!("debrief-good-parts", parts = g.good_parts)).color(t.accent));
    }
    if g.rewound + g.lid_opened > 0 {
        style::soft(ui, &say!("debrief-back-and-lid", back = g.rewound, lid = g.lid_opened));
    }
    to_s
}
