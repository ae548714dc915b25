//! The opening sheets: cautions, how to begin, which scenario.

use super::job;
use super::settings::Settings;
use super::{Front, PanelState, Shown, Wish, sheet, style};
use crate::bench::action::Note;
use crate::report::{Told, job_cautions, standing_cautions};
use crate::scenario;
use crate::store;
use crate::words::{name, say};
use egui::{Context, RichText, Ui};
use std::path::PathBuf;
use std::sync::OnceLock;

/// The scenario of the guided tour: a healthy car.
const LOOK_ROUND: &str = "healthy-idle";
/// The scenario to begin with.
const FIRST_JOB: &str = "idles-high";

/// State of the opening sheets.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FirstState {
    /// The level that is listed; 0 for all.
    pub level: u8,
}

/// A scenario to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The family that it is listed under.
    pub family: &'static str,
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its level, 1 to 3.
    pub level: u8,
    /// What the customer says.
    pub complaint: String,
    /// Title of its car.
    pub car: String,
    /// It is a lesson: graded at its end.
    pub lesson: bool,
}

/// The shipped scenarios, family by family.
pub fn items() -> &'static [Item] {
    static ALL: OnceLock<Vec<Item>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut car_text = |name: &str| store::car_text(name, None);
        let read = |s: &store::Shipped| {
            let sc = scenario::parse_scenario(s.text, s.id, &mut car_text).ok()?;
            Some(Item {
                family: s.family,
                id: sc.about.id,
                title: sc.about.title,
                level: sc.about.level,
                complaint: sc.about.complaint.trim().to_owned(),
                car: title_of(&sc.setup.car_toml),
                lesson: sc.plan.is_some(),
            })
        };
        store::SCENARIOS.iter().filter_map(read).collect()
    })
}

/// The title in a car file's text, without checking the whole car.
fn title_of(car: &str) -> String {
    let line = car.lines().find_map(|l| l.strip_prefix("title = \""));
    line.and_then(|l| l.split('"').next()).unwrap_or_default().to_owned()
}

/// The sheet of the first start.
pub fn start(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let kept = |s: &Settings| Wish::Settings(Settings { cautions_read: true, ..*s });
    let mut guide = state.guide;
    let out = sheet(ctx, "first", &say("first-title"), &mut front, 760.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        ui.label(say("first-what"));
        ui.add_space(4.0);
        ui.label(say("first-lines"));
        ui.add_space(8.0);
        ui.label(style::bold(&say("first-workshop")));
        cautions_list(ui, &standing_cautions(), 14.0);
        ui.add_space(10.0);
        ui.label(style::bold(&say("first-begin")));
        ui.horizontal_wrapped(|ui| {
            if ui.button(style::bold(&say("first-look-round"))).clicked() {
                guide = Some(0);
                out.extend([kept(shown.settings), Wish::Scenario(LOOK_ROUND.into())]);
                *front = Front::None;
            }
            if ui.button(style::bold(&say("first-job"))).clicked() {
                guide = None;
                out.extend([kept(shown.settings), Wish::Scenario(FIRST_JOB.into())]);
                *front = Front::None;
            }
            if ui.button(say("first-all")).clicked() {
                out.push(kept(shown.settings));
                *front = Front::Scenarios;
            }
            if ui.button(say("first-stay")).clicked() {
                out.push(kept(shown.settings));
                *front = Front::None;
            }
        });
        out
    });
    (state.front, state.guide) = (front, guide);
    out
}

fn cautions_list(ui: &mut Ui, all: &[Told], size: f32) {
    let t = style::Palette::of(ui);
    for c in all {
        ui.horizontal_top(|ui| {
            ui.label(style::bold("!").size(size).color(t.accent));
            ui.add(egui::Label::new(RichText::new(&c.says).size(size)).wrap());
        });
    }
}

/// The cautions of this job, to be read before anything is touched.
pub fn cautions(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "cautions", &say("cautions-title"), &mut front, 640.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        let [own, always] = job_cautions(&shown.scenario.about.cautions);
        // the button below stays in sight, however long the list is
        let tall = (ui.ctx().content_rect().height() - 250.0).max(120.0);
        egui::ScrollArea::vertical().id_salt("list").max_height(tall).show(ui, |ui| {
            cautions_list(ui, &own, 16.0);
            ui.add_space(6.0);
            style::soft(ui, &say("cautions-always"));
            cautions_list(ui, &always, 14.0);
        });
        ui.add_space(12.0);
        if job::cautions_kept(shown) {
            style::soft(ui, &say("cautions-were-read"));
        } else if ui.button(style::bold(&say("cautions-read"))).clicked() {
            out.push(job::note(Note::Cautions));
            *front = Front::None;
        }
        out
    });
    state.front = front;
    out
}

/// The difficulty of a scenario in words.
fn level(level: u8) -> String {
    say(match level {
        1 => "scenarios-easy",
        2 => "scenarios-medium",
        _ => "scenarios-hard",
    })
}

/// The lesson to do next: the first one not yet passed, in the order of topics, easier ones first.
pub fn next(shown: &Shown<'_>) -> Option<&'static Item> {
    let open = |i: &&Item| i.lesson && !shown.settings.passed.has(&i.id) && i.id != shown.scenario.about.id;
    // among equally easy lessons the first
    items().iter().filter(open).min_by_key(|i| i.level)
}

/// The sheet on which a scenario is chosen.
pub fn scenarios(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "scenarios", &say("scenarios-title"), &mut front, 860.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        let t = style::Palette::of(ui);
        ui.horizontal_wrapped(|ui| {
            ui.selectable_value(&mut state.first.level, 0, say("scenarios-all"));
            for k in 1..=3 {
                ui.selectable_value(&mut state.first.level, k, level(k));
            }
        });
        style::soft(ui, &say("scenarios-ends-this"));
        if let Some(next) = next(shown) {
            let words = say!("scenarios-next", title = next.title.as_str());
            if ui.button(style::bold(&words)).on_hover_text(&next.complaint).clicked() {
                out.push(Wish::Scenario(next.id.clone()));
                *front = Front::None;
            }
        }
        let mut family = "";
        for item in items().iter().filter(|i| state.first.level == 0 || i.level == state.first.level) {
            if item.family != family {
                family = item.family;
                ui.add_space(8.0);
                ui.label(style::title(&name("family", family)));
            }
            let now = item.id == shown.scenario.about.id;
            ui.add_space(4.0);
            ui.horizontal_wrapped(|ui| {
                let words = style::bold(&item.title);
                let r = ui.add(egui::Button::new(words).frame(false));
                style::focus_ring(ui, &r);
                if r.on_hover_text(&item.complaint).clicked() {
                    out.push(Wish::Scenario(item.id.clone()));
                    *front = Front::None;
                }
                let (level, car) = (level(item.level), item.car.as_str());
                let words = if item.lesson {
                    say!("scenarios-graded", level = level, car = car)
                } else {
                    say!("scenarios-ungraded", level = level, car = car)
                };
                ui.label(RichText::new(words).size(14.0).color(t.soft));
                if shown.settings.passed.has(&item.id) {
                    ui.label(RichText::new(say("scenarios-passed")).size(14.0).color(t.ok));
                }
                if now {
                    ui.label(RichText::new(say("scenarios-this")).size(14.0).color(t.accent));
                }
            });
        }
        ui.separator();
        ui.horizontal_wrapped(|ui| {
            ui.label(say("scenarios-from-file"));
            ui.add(
                egui::TextEdit::singleline(&mut state.files.open)
                    .desired_width(420.0)
                    .hint_text(say("scenarios-path")),
            );
            let path = PathBuf::from(state.files.open.trim());
            let good = !path.as_os_str().is_empty();
            if ui.add_enabled(good, egui::Button::new(say("scenarios-open"))).clicked() {
                out.push(Wish::Open(path));
                *front = Front::None;
            }
        });
        out
    });
    state.front = front;
    out
}
