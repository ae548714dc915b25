//! Time: traces and marks along a time line, paces, going back, two futures, driving on.

use super::marks::{self, mark_words, round_s, shortly};
use super::{Front, Middle, PanelState, Shown, Wish, logbook, sheet, shelf, style, traces};
use crate::bench::action::{Action, Life};
use crate::bench::pattern::Name;
use crate::link::Notice;
use crate::session::desk::Reach;
use crate::session::live::{Order, Pace};
use crate::words::numbers::{DAY_S, clock, number};
use crate::words::{facts, say};
use egui::{Align2, Context, FontId, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

/// State of the time panel.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeState {
    /// The chosen mark to go back to: going back needs a second press.
    pub back: Option<usize>,
    /// The driving pattern.
    pub pattern: Name,
    /// Driving time \[min\].
    pub minutes: f64,
    /// Hours to leave the car standing \[h\].
    pub hours: f64,
    /// How the car is used from day to day.
    pub life: Life,
    /// A name for the next mark.
    pub name: String,
}

impl Default for TimeState {
    fn default() -> Self {
        Self {
            back: None,
            pattern: Name::Mixed,
            minutes: 20.0,
            hours: 8.0,
            life: Life { pattern: Name::Mixed, minutes: 30.0, trips: 2, days_a_week: 5, days: 28, each: 14 },
            name: String::new(),
        }
    }
}

/// Paces with their keys.
const PACES: [(Pace, &str); 6] = [
    (Pace::Paused, "Space"),
    (Pace::SLOW, "0"),
    (Pace::REAL, "1"),
    (Pace::Times(10.0), "2"),
    (Pace::Times(100.0), "3"),
    (Pace::Flat, "4"),
];

/// The name of a pace.
fn pace_words(pace: Pace) -> String {
    match pace {
        Pace::Paused => say("time-pace-paused"),
        Pace::Flat => say("time-pace-flat"),
        Pace::Times(x) if x < 1.0 => say("time-pace-slow"),
        Pace::Times(x) => say!("time-pace-times", times = number(x, 0)),
    }
}

/// The pace reached, in words, if it falls short of the one asked for by more than 5 %, or if no particular pace was
/// asked for.
pub fn falls_short(pace: Pace, reached: Option<f64>) -> Option<String> {
    let reached = reached?;
    match pace {
        Pace::Times(x) if reached < 0.95 * x && x >= 1.0 => {
            Some(say!("time-reaches", reached = number(reached, 1), wanted = number(x, 0)))
        }
        Pace::Flat => Some(say!("time-runs-at", reached = number(reached, 0))),
        _ => None,
    }
}

/// Most lines of the logbook that are searched for points on the time line.
const MOST_POINTS: usize = 2000;
/// The panel along the bottom.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    if let Some(share) = shown.conditioning {
        ui.label(style::bold(&say("time-earlier-life")));
        ui.add(egui::ProgressBar::new(share as f32).show_percentage().desired_width(420.0));
        style::soft(ui, &say("time-earlier-life-once"));
        return out;
    }
    let sides = [Some(&shown.view.first), shown.view.second.as_ref()];
    if let Some(slow) = sides.into_iter().flatten().find_map(|s| s.seen.slow.as_ref()) {
        ui.horizontal_wrapped(|ui| {
            ui.label(facts::slow(slow));
            ui.add(egui::ProgressBar::new(slow.share as f32).show_percentage().desired_width(220.0));
        });
    }
    out.extend(style::part(ui, "time", |ui| line(ui, shown, state)));
    out
}

/// The time line with what moves along it, and bookmarks beside it.
fn line(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let wide = ui.available_width();
    let right = 372.0_f32.min(wide * 0.4);
    ui.horizontal_top(|ui| {
        ui.vertical(|ui| {
            ui.set_width(wide - right - 24.0);
            // where all traces are shown in the middle, the first of them is not shown twice
            if state.middle != Middle::Readings {
                let tall = (ui.available_height() - 56.0).max(60.0);
                traces::strip(ui, shown, state, tall);
            }
            edge(ui, shown, state);
            if state.middle == Middle::Readings {
                out.extend(clockwork(ui, shown, state));
            }
        });
        ui.add_space(12.0);
        ui.vertical(|ui| {
            ui.set_width(right);
            let area = egui::ScrollArea::vertical().id_salt("beside time").auto_shrink(false);
            out.extend(area.show(ui, |ui| beside(ui, shown, state)).inner);
        });
    });
    out
}

/// The time line with its marks.
fn edge(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let t = style::Palette::of(ui);
    let v = shown.view;
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 50.0), Sense::hover());
    let p = ui.painter().clone();
    let (left, right) = (rect.left() + 48.0, rect.right() - 30.0);
    let (from, to) = (v.hand_over_s, v.time_s.max(v.hand_over_s + 30.0));
    let x = |s: f64| left + (right - left) * ((s - from) / (to - from)).clamp(0.0, 1.0) as f32;
    let y = rect.top() + 26.0;
    p.hline(left..=right, y, Stroke::new(2.0, t.ink));
    let step = round_s(to - from, 6.0);
    for k in 0..=((to - from) / step + 1e-6) as u32 {
        let s = from + step * f64::from(k);
        p.vline(x(s), y..=y + 5.0, Stroke::new(1.5, t.ink));
        p.text(
            pos2(x(s), y + 16.0),
            Align2::CENTER_CENTER,
            if step < DAY_S {
                clock(step * f64::from(k))
            } else {
                say!("time-days", days = number((s - from) / DAY_S, 0))
            },
            style::mono_font(14.0),
            t.soft,
        );
    }
    decisions(ui, shown, rect, y, &x);
    let now = pos2(x(v.time_s), y - 2.0);
    p.add(Shape::convex_polygon(
        vec![now, now + vec2(-6.0, -9.0), now + vec2(6.0, -9.0)],
        t.ink,
        Stroke::NONE,
    ));
    if let Some(s) = v.forked_s {
        p.vline(x(s), rect.top()..=y, Stroke::new(2.0, t.meas));
    }
    let mut free = f32::MIN;
    let mut forked = v.forked_s;
    for (k, m) in v.marks.iter().enumerate() {
        let at = pos2(x(m.at_s), y);
        let flag = egui::Rect::from_min_max(at + vec2(-2.0, -16.0), at + vec2(14.0, 0.0));
        let r = ui.interact(flag, ui.id().with(("mark", k)), Sense::click());
        let (name, at_words) = (mark_words(&m.name), clock(m.at_s - from));
        r.widget_info(|| {
            let spoken = say!("time-mark-spoken", mark = name.as_str(), time = at_words.as_str());
            WidgetInfo::labeled(WidgetType::Button, true, spoken)
        });
        let chosen = state.time.back == Some(k);
        let colour = if chosen { t.accent } else { t.edge };
        let s = Stroke::new(if m.named || chosen { 2.2 } else { 1.2 }, colour);
        p.vline(at.x, at.y - 15.0..=at.y, s);
        let cloth = vec![
            at + vec2(0.0, -15.0),
            at + vec2(12.0, -15.0),
            at + vec2(8.0, -11.0),
            at + vec2(12.0, -7.0),
            at + vec2(0.0, -7.0),
        ];
        p.add(Shape::closed_line(cloth, s));
        // the word for the fork is placed in order among the marks' names
        if let Some(s) = forked.filter(|s| *s <= m.at_s + 1e-9) {
            forked = None;
            free = free.max(fork_word(&p, x(s).max(free), rect.top(), t.meas));
        }
        let short = shortly(&name, 18);
        if at.x > free {
            let words = p.layout_no_wrap(short, FontId::proportional(14.0), t.soft);
            // at the end of the line the name goes to the left of its mark, if that is free: other controls are to
            // the right
            let fits = at.x + words.size().x <= rect.right();
            let left = if fits { at.x } else { rect.right() - words.size().x };
            if left > free {
                free = left + words.size().x + 10.0;
                p.galley(pos2(left, rect.top() + 4.0 - words.size().y / 2.0), words, t.soft);
            }
        }
        style::focus_ring(ui, &r);
        let press = say!("time-mark-press", mark = name, time = at_words);
        if r.on_hover_text(press).clicked() {
            state.time.back = if chosen { None } else { Some(k) };
        }
    }
    if let Some(s) = forked {
        fork_word(&p, x(s).max(free), rect.top(), t.meas);
    }
}

/// Points on the time line where the module decided something by itself: codes, learning, routines. The pointer shows
/// what each one is; the logbook has them all.
fn decisions(ui: &Ui, shown: &Shown<'_>, rect: egui::Rect, y: f32, x: &dyn Fn(f64) -> f32) {
    let t = style::Palette::of(ui);
    let p = ui.painter();
    let from = shown.view.hand_over_s;
    let all = shown.rows.log.iter().rev().filter(|e| e.t_s >= from).take(MOST_POINTS);
    let all: Vec<(f32, f64, &Notice)> =
        all.filter_map(|e| logbook::decided(e).map(|what| (x(e.t_s), e.t_s, what))).collect();
    let mut last = f32::MAX;
    for (at, ..) in &all {
        if last - at >= 4.0 {
            last = *at;
            p.circle_filled(pos2(*at, y), 3.0, t.pencil);
        }
    }
    let band = egui::Rect::from_x_y_ranges(rect.x_range(), y - 6.0..=y + 8.0);
    let Some(pointer) = ui.input(|i| i.pointer.hover_pos()).filter(|p| band.contains(*p)) else { return };
    let near: Vec<_> = all.iter().filter(|(at, ..)| (at - pointer.x).abs() <= 5.0).take(8).collect();
    if !near.is_empty() {
        let r = ui.interact(band, ui.id().with("decisions"), Sense::hover());
        r.on_hover_ui_at_pointer(|ui| {
            ui.set_max_width(420.0);
            for (_, at_s, what) in near.into_iter().rev() {
                ui.label(say!("window-at", time = clock(at_s - from), what = facts::notice(what)));
            }
        });
    }
}

/// The word where the futures part; returns where the word ends.
fn fork_word(p: &egui::Painter, x: f32, top: f32, colour: egui::Color32) -> f32 {
    let font = FontId::proportional(14.0);
    p.text(pos2(x + 4.0, top + 4.0), Align2::LEFT_CENTER, say("time-forked"), font, colour).right() + 10.0
}

/// The controls to the right of the time line.
fn beside(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    if shown.run.is_some() {
        ui.disable();
    }
    // where all traces are shown in the middle, there is space for it under the time line
    if state.middle != Middle::Readings {
        out.extend(clockwork(ui, shown, state));
    }
    out.extend(futures(ui, shown, state));
    ui.horizontal_wrapped(|ui| {
        ui.add(
            egui::TextEdit::singleline(&mut state.time.name)
                .hint_text(say("time-mark-name"))
                .desired_width(120.0)
                .char_limit(60),
        );
        if style::quiet_button(ui, &say("time-set-mark"), "G").clicked() {
            out.push(set_mark(state));
        }
    });
    out.extend(back(ui, shown, state));
    out
}

/// The time, its paces and the buttons that make it run.
fn clockwork(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let t = style::Palette::of(ui);
    let v = shown.view;
    if shown.run.is_some() {
        ui.disable();
    }
    // on a wide line the progress of a run is shown beside the time
    let wide = ui.available_width() > 640.0;
    ui.horizontal_wrapped(|ui| {
        ui.label(style::figure(&clock(v.time_s - v.hand_over_s), 20.0).color(t.ink));
        style::soft_whole(ui, &say("time-since-came-in"));
        if wide {
            out.extend(under_way(ui, shown));
        }
    });
    out.extend(paces(ui, shown));
    ui.horizontal_wrapped(|ui| {
        if style::quiet_button(ui, &say("time-one-tooth"), ".").clicked() {
            out.push(Wish::Order(Order::Tooth));
        }
        if style::quiet_button(ui, &say("time-one-cycle"), ",").clicked() {
            out.push(Wish::Order(Order::Cycle));
        }
        if style::quiet_button(ui, &say("time-drive-on"), "O").clicked() {
            state.front = Front::DriveOn;
        }
        if style::quiet_button(ui, &say("time-logbook"), "F8").clicked() {
            state.front = Front::Logbook;
        }
    });
    // an empty line would still take up space
    if !wide && (v.runs_to_s.is_some() || falls_short(v.pace, v.reached).is_some()) {
        out.extend(ui.horizontal_wrapped(|ui| under_way(ui, shown)).inner);
    }
    out
}

/// Progress of a run towards its end, and the pace that it reaches.
fn under_way(ui: &mut Ui, shown: &Shown<'_>) -> Option<Wish> {
    let mut out = None;
    let v = shown.view;
    if let Some(to) = v.runs_to_s {
        let share = ((v.time_s - v.runs_from_s) / (to - v.runs_from_s).max(1e-6)).clamp(0.0, 1.0);
        ui.add(egui::ProgressBar::new(share as f32).desired_width(200.0).show_percentage());
        if ui.button(say("time-stop-here")).clicked() {
            out = Some(Wish::Order(Order::Pace(Pace::Paused)));
        }
    }
    if let Some(words) = falls_short(v.pace, v.reached) {
        style::soft_whole(ui, &words);
    }
    out
}

/// How fast time runs.
fn paces(ui: &mut Ui, shown: &Shown<'_>) -> Option<Wish> {
    let t = style::Palette::of(ui);
    let v = shown.view;
    let mut out = None;
    ui.horizontal_wrapped(|ui| {
        for (pace, key) in PACES {
            let on = v.pace == pace && v.runs_to_s.is_none();
            let name = pace_words(pace);
            let words = if on { style::bold(&name).color(t.panel) } else { egui::RichText::new(&name) };
            let mut b = egui::Button::new(words).min_size(vec2(44.0, 28.0));
            if on {
                b = b.fill(t.ink);
            }
            let r = ui.add(b).on_hover_text(say!("window-key", key = style::key_words(key)));
            let spoken = say!("time-pace-spoken", pace = name);
            r.widget_info(|| WidgetInfo::selected(WidgetType::RadioButton, true, on, &spoken));
            if r.clicked() {
                out = Some(Wish::Order(Order::Pace(pace)));
            }
        }
    });
    out
}

/// Splits one future into two or returns to one, and chooses which one the controls act on.
fn futures(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let Some(s) = shown.view.forked_s else {
        let fork =
            ui.horizontal_wrapped(|ui| style::quiet_button(ui, &say("time-fork"), "F").clicked()).inner;
        if fork {
            state.reach = Reach::Second;
        }
        return fork.then_some(Wish::Order(Order::Fork));
    };
    let at = clock(s - shown.view.hand_over_s);
    ui.horizontal_wrapped(|ui| {
        ui.label(say!("time-two-futures", time = at));
        for (reach, name) in [
            (Reach::Both, "time-reach-both"),
            (Reach::First, "time-reach-first"),
            (Reach::Second, "time-reach-second"),
        ] {
            ui.selectable_value(&mut state.reach, reach, say(name));
        }
    });
    let join = ui.horizontal_wrapped(|ui| style::quiet_button(ui, &say("time-join"), "J").clicked()).inner;
    if join {
        state.reach = Reach::Both;
    }
    join.then_some(Wish::Order(Order::Join))
}

/// Back to a mark.
fn back(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let v = shown.view;
    let chosen = state.time.back.filter(|k| *k < v.marks.len());
    let mut out = None;
    ui.horizontal_wrapped(|ui| {
        let words = chosen.map_or_else(|| say("time-to-a-mark"), |k| mark_words(&v.marks[k].name));
        egui::ComboBox::from_id_salt("back").selected_text(words).width(150.0).show_ui(ui, |ui| {
            for (k, m) in v.marks.iter().enumerate().rev() {
                let time = clock(m.at_s - v.hand_over_s);
                let words = say!("window-at", time = time, what = mark_words(&m.name));
                ui.selectable_value(&mut state.time.back, Some(k), words);
            }
        });
        let Some(k) = chosen else {
            style::soft(ui, &say("time-go-back"));
            return;
        };
        let undone = say!("time-go-back-undone", time = clock(v.time_s - v.marks[k].at_s));
        if ui.button(style::bold(&undone)).clicked() {
            out = Some(Wish::Order(Order::Rewind(k)));
            state.time.back = None;
        }
    });
    out
}

/// The order that sets a mark, with the typed name.
pub fn set_mark(state: &mut PanelState) -> Wish {
    let name = state.time.name.trim().to_owned();
    state.time.name.clear();
    Wish::Order(Order::Mark(if name.is_empty() { marks::UNNAMED.into() } else { name }))
}

/// Drive, park or wait.
pub fn drive_on(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut front = state.front.clone();
    let out = sheet(ctx, "drive on", &say("time-drive-title"), &mut front, 520.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        let s = &mut state.time;
        ui.label(say("time-drive-says"));
        for (_, name) in Name::ALL {
            ui.radio_value(&mut s.pattern, *name, &name.pattern().title);
        }
        ui.horizontal_wrapped(|ui| {
            ui.label(say("time-for"));
            ui.add(
                egui::DragValue::new(&mut s.minutes)
                    .range(1.0..=600.0)
                    .speed(1.0)
                    .suffix(say("time-min-suffix")),
            );
        });
        style::soft(ui, &say("time-as-fast"));
        ui.add_space(8.0);
        let (pattern, minutes) = (s.pattern, s.minutes);
        shelf::cautions(ui, &Action::Drive { pattern, minutes });
        ui.horizontal_wrapped(|ui| {
            if ui.button(style::bold(&say("time-drive"))).clicked() {
                out.push(state.act(Action::Drive { pattern, minutes }));
                *front = Front::None;
            }
            if ui.button(say("time-stand")).clicked() {
                out.push(Wish::Order(Order::To(shown.view.time_s + 60.0 * minutes)));
                *front = Front::None;
            }
        });
        style::soft(ui, &say("time-drive-needs"));
        ui.add_space(8.0);
        ui.label(style::bold(&say("time-months")));
        let s = &mut state.time;
        ui.horizontal_wrapped(|ui| {
            ui.label(say("time-leave-for"));
            ui.add(
                egui::DragValue::new(&mut s.hours)
                    .range(0.1..=8760.0)
                    .speed(0.5)
                    .suffix(say("time-hours-suffix")),
            );
        });
        let rest = Action::Rest(s.hours);
        if ui.button(say("time-leave")).clicked() {
            out.push(state.act(rest));
            *front = Front::None;
        }
        let s = &mut state.time;
        ui.label(say("time-daily-for"));
        ui.horizontal_wrapped(|ui| {
            ui.add(egui::DragValue::new(&mut s.life.days).range(1..=3653).suffix(say("time-days-suffix")));
            ui.add(egui::DragValue::new(&mut s.life.trips).range(1..=8).suffix(say("time-trips-suffix")));
            ui.add(
                egui::DragValue::new(&mut s.life.minutes)
                    .range(1.0..=90.0)
                    .suffix(say("time-min-each-suffix")),
            );
            ui.add(
                egui::DragValue::new(&mut s.life.days_a_week)
                    .range(1..=7)
                    .suffix(say("time-days-a-week-suffix")),
            );
        });
        let life = Action::DriveOn(Life { pattern: s.pattern, ..s.life });
        shelf::cautions(ui, &life);
        if ui.button(say("time-daily")).clicked() {
            out.push(state.act(life));
            *front = Front::None;
        }
        style::soft(ui, &say("time-daily-says"));
        out
    });
    state.front = front;
    out
}
