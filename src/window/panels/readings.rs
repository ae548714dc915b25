//! Traces: recorded signals over time, scrolled, zoomed, with a cursor and marks; two futures with their difference.
//!
//! The kind of a line is read from the line: what the module believes or asks for is dashed, what is measured thin
//! and whole, what is true bold. The second of two futures is dotted.

use super::charts::{self, Kept};
use super::settings::{Settings, decimals};
use super::{Front, PanelState, Shown, ink, time};
use crate::bench::trace::{COLUMNS, ROW_S};
use egui::{Align2, Color32, RichText, Ui, WidgetInfo, vec2};
use egui_plot::{GridMark, Line, LineStyle, Plot, PlotPoint, PlotPoints, Span, Text, VLine};

/// A line of a chart: name, points, colour, width, style.
type Drawn = (String, Vec<[f64; 2]>, Color32, f32, LineStyle);

/// Columns in a row of the trace.
pub const WIDE: usize = COLUMNS.len();
/// Most points of a line: what a wide screen can show.
const MOST_POINTS: usize = 900;

/// What traces keep.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingsState {
    /// Which columns, in order.
    pub chosen: Vec<usize>,
    /// How much is shown \[s\]; none for all.
    pub window_s: Option<f64>,
    /// The newest is kept in sight.
    pub follow: bool,
    /// Where the shown stretch ends while it does not follow \[s\].
    pub end_s: f64,
    /// Under the pointer \[s\].
    pub cursor_s: Option<f64>,
    /// Where the cursor was put down \[s\]; it stays there.
    pub held_s: Option<f64>,
}

impl Default for ReadingsState {
    fn default() -> Self {
        Self {
            chosen: vec![1, 2, 3],
            window_s: Some(120.0),
            follow: true,
            end_s: 0.0,
            cursor_s: None,
            held_s: None,
        }
    }
}

impl ReadingsState {
    /// What is left of it for another attempt.
    pub fn anew(&self) -> Self {
        Self { chosen: self.chosen.clone(), window_s: self.window_s, ..Self::default() }
    }
    /// The stretch that is shown \[s\].
    pub fn stretch(&self, shown: &Shown<'_>) -> (f64, f64) {
        let now = shown.view.time_s;
        let first = shown.rows.first.first().copied().unwrap_or(0.0);
        let end = if self.follow { now } else { self.end_s.clamp(first, now) };
        let from = self.window_s.map_or(first, |w| end - w);
        // nothing was recorded before the first row
        (from.max(first).min(end - 1.0), end)
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// What the module believes or asks for.
    Pencil,
    /// What is measured.
    Thin,
    /// What is true.
    Ink,
}

/// How a column is drawn.
pub fn hand(column: usize) -> Hand {
    let Some(c) = COLUMNS.get(column) else { return Hand::Thin };
    let thought = [
        "target_speed_rpm",
        "spark_deg",
        "short_trim_1_pct",
        "long_trim_1_pct",
        "charge_set_v",
        "battery_charge_pct",
    ];
    match c.truth {
        true => Hand::Ink,
        false if thought.contains(&c.name) || c.name.starts_with("idle_air_") => Hand::Pencil,
        false => Hand::Thin,
    }
}

/// Columns that may be shown.
pub fn columns(lid_open: bool) -> impl Iterator<Item = usize> {
    (1..WIDE).filter(move |c| lid_open || !COLUMNS[*c].truth)
}

/// The row at a time, or the last before it; none before the first.
pub fn row_at(rows: &[f64], at_s: f64) -> Option<&[f64]> {
    let n = rows.len() / WIDE;
    let k = partition(rows, n, at_s + 0.5 * ROW_S);
    (k > 0).then(|| &rows[(k - 1) * WIDE..k * WIDE])
}

/// How many rows are from before a time.
fn partition(rows: &[f64], n: usize, at_s: f64) -> usize {
    let (mut low, mut high) = (0, n);
    while low < high {
        let mid = low.midpoint(high);
        if rows[mid * WIDE] < at_s { low = mid + 1 } else { high = mid }
    }
    low
}

/// Points of one column in a stretch, lowest and highest of each piece, so that no spike is lost.
pub fn points(rows: &[f64], column: usize, from_s: f64, to_s: f64, most: usize) -> Vec<[f64; 2]> {
    let n = rows.len() / WIDE;
    let a = partition(rows, n, from_s).saturating_sub(1);
    let b = (partition(rows, n, to_s) + 1).min(n);
    let count = b.saturating_sub(a);
    let at = |k: usize| [rows[k * WIDE], rows[k * WIDE + column]];
    if count <= most {
        return (a..b).map(at).collect();
    }
    let piece = count.div_ceil(most / 2);
    let mut out = Vec::with_capacity(most + 2);
    let mut k = a;
    while k < b {
        let end = (k + piece).min(b);
        let (mut low, mut high) = (k, k);
        for i in k..end {
            if at(i)[1] < at(low)[1] {
                low = i;
            }
            if at(i)[1] > at(high)[1] {
                high = i;
            }
        }
        out.push(at(low.min(high)));
        if low != high {
            out.push(at(low.max(high)));
        }
        k = end;
    }
    out
}

fn shown_as(points: Vec<[f64; 2]>, settings: &Settings, unit: &str) -> Vec<[f64; 2]> {
    points.into_iter().filter(|p| p[1].is_finite()).map(|p| [p[0], settings.quantity(p[1], unit).0]).collect()
}

/// Without the points that lie on the line between their neighbours: dashes of a level line come out even.
fn straightened(points: Vec<[f64; 2]>, off: f64) -> Vec<[f64; 2]> {
    let mut out: Vec<[f64; 2]> = Vec::with_capacity(points.len());
    for p in points {
        if let [.., a, b] = out[..] {
            let between = a[1] + (p[1] - a[1]) * (b[0] - a[0]) / (p[0] - a[0]).max(1e-9);
            if (b[1] - between).abs() <= off {
                out.pop();
            }
        }
        out.push(p);
    }
    out
}

/// Columns that are drawn into one picture: what has the same unit and is chosen stands together.
fn pictures(state: &ReadingsState, lid_open: bool) -> Vec<Vec<usize>> {
    let mut out: Vec<Vec<usize>> = Vec::new();
    for c in columns(lid_open).filter(|c| state.chosen.contains(c)) {
        let same = |p: &Vec<usize>| COLUMNS[p[0]].unit == COLUMNS[c].unit;
        // by unit, but a pedal and a trim have nothing to do with each other
        let apart = |n: &str| matches!(n, "pedal_pct" | "throttle_deg" | "spark_deg");
        match out.iter_mut().find(|p| same(p) && !apart(COLUMNS[c].name) && !apart(COLUMNS[p[0]].name)) {
            Some(p) => p.push(c),
            None => out.push(vec![c]),
        }
    }
    out
}

/// Lines behind a trace, at round times since hand-over: those with a figure, and four between two of them.
fn lines_behind((from, to): (f64, f64), zero: f64) -> Vec<GridMark> {
    let large = time::round_s(to - from, 8.0);
    let small = large / 5.0;
    let first = ((from - zero) / small).ceil() as i64;
    let last = ((to - zero) / small).floor() as i64;
    (first..=last.min(first + 100))
        .map(|k| GridMark {
            value: zero + small * k as f64,
            step_size: if k % 5 == 0 { large } else { small },
        })
        .collect()
}

/// A round time since hand-over, as exact as the lines are close.
fn moment(s: f64, step_s: f64) -> String {
    if step_s < 1.0 {
        return format!("{} s", ink::number(s, if step_s < 0.1 { 2 } else { 1 }));
    }
    ink::clock(s.round())
}

/// One picture, and what is to be kept of it. What the pointer is on is kept as the cursor; a click puts it down.
fn picture(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &mut ReadingsState,
    which: &[usize],
    id: &str,
    tall: f32,
) -> Option<Kept> {
    let t = ink::Ink::of(ui);
    let zero = shown.view.hand_over_s;
    let (from, to) = state.stretch(shown);
    let unit = COLUMNS[which[0]].unit;
    let (_, unit_words) = shown.settings.quantity(0.0, unit);
    let names: Vec<&str> = which.iter().map(|c| COLUMNS[*c].words).collect();
    let title = names.join(", ");
    let mut wanted = false;
    ui.horizontal(|ui| {
        for c in which {
            ui.label(ink::bold(COLUMNS[*c].words).color(colour(&t, hand(*c))));
        }
        ink::soft(ui, unit_words);
        wanted = charts::button(ui, &format!("{id}: {title}"));
    });
    let begun = charts::begin(ui);
    let top = ui.cursor().min;
    let mut lines: Vec<Drawn> = Vec::new();
    for c in which {
        let name = COLUMNS[*c].words;
        let most = MOST_POINTS;
        let (style, width) = match hand(*c) {
            Hand::Pencil => (LineStyle::Dashed { length: 7.0 }, 1.8),
            Hand::Thin => (LineStyle::Solid, 1.5),
            Hand::Ink => (LineStyle::Solid, 3.2),
        };
        let of = |rows: &[f64]| shown_as(points(rows, *c, from, to, most), shown.settings, unit);
        let ink = colour(&t, hand(*c));
        lines.push((name.into(), of(&shown.rows.first), ink, width, style));
        if shown.view.second.is_some() {
            let style = LineStyle::Dotted { spacing: 5.0 };
            lines.push((format!("{name}, second future"), of(&shown.rows.second), ink, 2.0, style));
        }
    }
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for p in lines.iter().flat_map(|l| &l.1) {
        (low, high) = (low.min(p[1]), high.max(p[1]));
    }
    if !low.is_finite() {
        (low, high) = (0.0, 1.0);
    }
    let air = (0.08 * (high - low)).max(0.02 * high.abs()).max(0.01);
    let marks: Vec<(f64, String)> = shown
        .view
        .marks
        .iter()
        .filter(|m| m.at_s >= from && m.at_s <= to)
        .map(|m| (m.at_s, time::mark_words(&m.name)))
        .collect();
    let held = state.held_s.filter(|s| *s >= from && *s <= to);
    let forked = shown.view.forked_s;
    let plot = Plot::new(id)
        .height(tall)
        .width(ui.available_width())
        .allow_drag([false, false])
        .allow_zoom([false, false])
        .allow_scroll([false, false])
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .show_background(false)
        .grid_color(t.line)
        .cursor_color(t.edge)
        .y_axis_min_width(44.0)
        .link_cursor("traces", [true, false])
        .x_grid_spacer(move |g| lines_behind(g.bounds, zero))
        .x_axis_formatter(move |m, _| moment(m.value - zero, m.step_size))
        .label_formatter(move |_| None);
    let kind = |c: usize| which.iter().filter(|o| hand(**o) == hand(c)).count();
    let alike: Vec<&str> = which.iter().filter(|c| kind(**c) > 1).map(|c| COLUMNS[*c].words).collect();
    let answer = plot.show(ui, |p| {
        p.set_plot_bounds_x(from..=to);
        p.set_plot_bounds_y(low - air..=high + air);
        if let Some(s) = forked {
            p.span(Span::new("", s..=to.max(s)).fill(t.meas.gamma_multiply(0.06)));
            // below, where no mark has its words
            let text = RichText::new(" two futures").size(14.0).color(t.meas);
            let at = PlotPoint::new(s.max(from), low - air);
            p.text(Text::new("", at, text).anchor(Align2::LEFT_BOTTOM));
        }
        let mut free = f64::NEG_INFINITY;
        for (at, words) in marks {
            p.vline(
                VLine::new("mark", at).color(t.edge).width(1.0).style(LineStyle::Dotted { spacing: 5.0 }),
            );
            // as far as words do not lie on each other
            if at >= free && tall >= 110.0 {
                let short = time::shortly(&words, 16);
                free = at + (to - from) * (0.02 + 0.011 * short.chars().count() as f64);
                let text = RichText::new(format!(" {short}")).size(14.0).color(t.soft);
                let top = high + air;
                p.text(Text::new("mark", PlotPoint::new(at, top), text).anchor(Align2::LEFT_TOP));
            }
        }
        if let Some(at) = held {
            p.vline(VLine::new("cursor", at).color(t.accent).width(1.5));
        }
        // lines of one kind look alike: each has its name at its end, as far as names do not lie on each other
        let mut named: Vec<f64> = Vec::new();
        let line_high = 16.0 * (high - low + 2.0 * air) / f64::from(tall.max(1.0));
        for (name, points, ink, width, style) in lines {
            let end = points.last().filter(|_| alike.contains(&name.as_str()));
            if let Some(end) = end.filter(|e| named.iter().all(|y| (y - e[1]).abs() > line_high)) {
                named.push(end[1]);
                let text = RichText::new(&name).size(13.0).color(ink);
                let at = PlotPoint::new(end[0].min(to), end[1]);
                p.text(Text::new("", at, text).anchor(Align2::RIGHT_BOTTOM));
            }
            let dashed = matches!(style, LineStyle::Dashed { .. });
            let points = if dashed { straightened(points, 0.002 * (high - low)) } else { points };
            p.line(Line::new(name, PlotPoints::from(points)).color(ink).width(width).style(style));
        }
        p.pointer_coordinate()
    });
    let at: Option<PlotPoint> = answer.inner;
    if answer.response.hovered() {
        if let Some(at) = at {
            state.cursor_s = Some(at.x);
        }
        let (scroll, zoom) = ui.input(|i| (i.smooth_scroll_delta, i.zoom_delta()));
        let span = to - from;
        if (zoom - 1.0).abs() > 1e-4 {
            state.window_s = Some((span / f64::from(zoom)).clamp(2.0, 100_000.0));
        } else if scroll.y != 0.0 {
            state.window_s = Some((span * (1.0 - 0.003 * f64::from(scroll.y))).clamp(2.0, 100_000.0));
        }
        if scroll.x != 0.0 {
            shift(state, shown, -span * f64::from(scroll.x) / 600.0);
        }
    }
    if answer.response.clicked() {
        state.held_s = at.map(|p| p.x.clamp(from, to));
    }
    if answer.response.dragged() {
        let across = f64::from(answer.response.drag_delta().x / answer.response.rect.width().max(1.0));
        shift(state, shown, -across * (to - from));
    }
    // with the figures of both axes
    let end = egui::pos2(answer.response.rect.right(), ui.cursor().min.y);
    let rect = egui::Rect::from_min_max(top, end).expand(4.0);
    wanted.then(|| {
        let (heads, rows) = recorded(shown, which, from, to);
        Kept {
            svg: charts::picture(ui, &format!("{title}, {unit_words}"), rect, begun, shown.view.lid_open),
            title,
            name: "traces",
            heads,
            rows,
        }
    })
}

/// What was recorded of some columns in a stretch, row by row, in the units that are shown.
fn recorded(shown: &Shown<'_>, which: &[usize], from_s: f64, to_s: f64) -> charts::Numbers {
    let both = shown.view.second.is_some();
    let mut heads = vec!["s since hand-over".to_owned()];
    for future in ["", ", second future"].iter().take(if both { 2 } else { 1 }) {
        heads.extend(which.iter().map(|c| {
            let unit = shown.settings.quantity(0.0, COLUMNS[*c].unit).1;
            format!("{}{future} {unit}", COLUMNS[*c].words).trim_end().to_owned()
        }));
    }
    let cell = |row: Option<&[f64]>, c: usize| {
        row.map(|r| r[c]).filter(|x| x.is_finite()).map_or(String::new(), |x| {
            let (x, unit) = shown.settings.quantity(x, COLUMNS[c].unit);
            ink::number(x, decimals(unit) + 1)
        })
    };
    let all = &shown.rows.first;
    let n = all.len() / WIDE;
    let (a, b) = (partition(all, n, from_s), partition(all, n, to_s + 0.5 * ROW_S));
    let rows = (a..b.max(a)).map(|k| {
        let row = &all[k * WIDE..(k + 1) * WIDE];
        let second = both.then(|| row_at(&shown.rows.second, row[0])).flatten();
        let mut out = vec![ink::number(row[0] - shown.view.hand_over_s, 1)];
        out.extend(which.iter().map(|c| cell(Some(row), *c)));
        if both {
            out.extend(which.iter().map(|c| cell(second, *c)));
        }
        out
    });
    (heads, rows.collect())
}

/// Puts a chart that is to be kept in front.
fn keep(state: &mut PanelState, kept: Option<Kept>) {
    if kept.is_some() {
        state.charts.kept = kept;
        state.front = Front::Keep;
    }
}

/// Moves the stretch; at the newest it follows again.
pub fn shift(state: &mut ReadingsState, shown: &Shown<'_>, by_s: f64) {
    let (from, to) = state.stretch(shown);
    state.window_s = Some(to - from);
    state.end_s = to + by_s;
    state.follow = state.end_s >= shown.view.time_s - 0.05;
}

fn colour(t: &ink::Ink, hand: Hand) -> Color32 {
    match hand {
        Hand::Pencil => t.pencil,
        Hand::Thin => t.meas,
        Hand::Ink => t.ink,
    }
}

/// The first picture alone, for the bottom edge.
pub fn strip(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, tall: f32) {
    state.readings.cursor_s = None;
    let all = pictures(&state.readings, shown.view.lid_open);
    let tall = tall - 26.0;
    match all.first() {
        Some(p) => {
            let kept = picture(ui, shown, &mut state.readings, p, "strip", tall);
            keep(state, kept);
        }
        None => {
            ink::soft(ui, "no trace is chosen");
            ui.add_space(tall);
        }
    }
}

/// All pictures, with the choice of signals and the numbers beside them.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let r = &mut state.readings;
    ui.horizontal_wrapped(|ui| {
        for (name, window) in [
            ("10 s", Some(10.0)),
            ("1 min", Some(60.0)),
            ("5 min", Some(300.0)),
            ("30 min", Some(1800.0)),
            ("all", None),
        ] {
            if ui.selectable_label(r.window_s == window, name).clicked() {
                r.window_s = window;
                r.follow |= window.is_none();
            }
        }
        ui.checkbox(&mut r.follow, "keep the newest in sight");
        if ui.button("earlier").clicked() {
            let (from, to) = r.stretch(shown);
            shift(r, shown, -0.5 * (to - from));
        }
        if ui.button("later").clicked() {
            let (from, to) = r.stretch(shown);
            shift(r, shown, 0.5 * (to - from));
        }
    });
    ui.horizontal_wrapped(|ui| {
        for c in columns(shown.view.lid_open) {
            let mut on = r.chosen.contains(&c);
            if ui.toggle_value(&mut on, COLUMNS[c].words).changed() {
                if on { r.chosen.push(c) } else { r.chosen.retain(|x| *x != c) }
            }
        }
    });
    cursor(ui, shown, r);
    let all = pictures(r, shown.view.lid_open);
    let mut kept = None;
    let wide = ui.available_width();
    let tall = ui.available_height();
    ui.horizontal_top(|ui| {
        let share = if shown.view.second.is_some() { 0.5 } else { 0.62 };
        ui.allocate_ui_with_layout(
            vec2(wide * share, tall),
            egui::Layout::top_down(egui::Align::Min),
            |ui| {
                let each = ((tall - 6.0) / all.len().max(1) as f32 - 36.0).clamp(70.0, 260.0);
                egui::ScrollArea::vertical().id_salt("pictures").auto_shrink(false).show(ui, |ui| {
                    for (k, p) in all.iter().enumerate() {
                        kept = picture(ui, shown, r, p, &format!("picture {k}"), each).or(kept.take());
                    }
                });
            },
        );
        ui.vertical(|ui| numbers(ui, shown, r));
    });
    keep(state, kept);
}

/// The cursor without a pointer: a slider over the stretch that is shown.
fn cursor(ui: &mut Ui, shown: &Shown<'_>, r: &mut ReadingsState) {
    let (from, to) = r.stretch(shown);
    let zero = shown.view.hand_over_s;
    ui.horizontal(|ui| {
        ink::soft(ui, "cursor");
        let mut at = r.held_s.unwrap_or(to).clamp(from, to);
        ui.spacing_mut().slider_width = 260.0;
        let slider = egui::Slider::new(&mut at, from..=to).show_value(false);
        let s = ui.add(slider).on_hover_text("A click into a trace puts it down too");
        s.widget_info(|| WidgetInfo::slider(true, at - zero, "cursor"));
        if s.changed() {
            r.held_s = Some(at);
        }
        match r.held_s {
            Some(_) => {
                ui.label(ink::mono(&ink::clock(at - zero)));
                if ui.button("Let it go").clicked() {
                    r.held_s = None;
                }
            }
            None => {
                ink::soft(ui, "at the pointer, or now");
            }
        }
    });
}

/// The numbers at the cursor, or now; of two futures, and by how much they differ.
fn numbers(ui: &mut Ui, shown: &Shown<'_>, state: &ReadingsState) {
    let now = shown.view.time_s;
    let at = state.cursor_s.or(state.held_s).unwrap_or(now).min(now);
    ui.label(ink::bold(&format!("at {}", ink::clock(at - shown.view.hand_over_s))));
    let first = row_at(&shown.rows.first, at);
    let second = shown.view.second.as_ref().and_then(|_| row_at(&shown.rows.second, at));
    let rows: Vec<Vec<String>> = columns(shown.view.lid_open)
        .filter(|c| state.chosen.contains(c))
        .map(|c| {
            let unit = COLUMNS[c].unit;
            let words = |row: Option<&[f64]>| {
                row.map(|r| r[c])
                    .filter(|x| x.is_finite())
                    .map_or(String::new(), |x| shown.settings.words(x, unit))
            };
            let mut row = vec![COLUMNS[c].words.to_owned(), words(first)];
            if let (Some(a), Some(b)) = (first, second) {
                row.push(words(second));
                // a difference of temperatures has no zero to move
                let by = shown.settings.quantity(b[c], unit).0 - shown.settings.quantity(a[c], unit).0;
                row.push(ink::signed(by, 2));
            }
            row
        })
        .collect();
    let heads: &[&str] = if second.is_some() { &["", "first", "second", "by"] } else { &["", "is"] };
    ink::wide_table(ui, "numbers", heads, &rows);
    if first.is_none() {
        ink::soft(ui, "nothing was recorded yet");
    }
}

/// What was recorded, as comma-separated rows; truth under an open lid only.
pub fn csv(rows: &[f64], lid_open: bool) -> String {
    crate::report::rows_csv(rows.chunks_exact(WIDE), lid_open)
}
