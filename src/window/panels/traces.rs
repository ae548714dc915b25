//! Traces: recorded signals over time, scrolled and zoomed, with a cursor and marks; two futures with their
//! difference.
//!
//! The style of a line shows its kind: a value that the module believes or asks for is dashed, a measured value thin
//! and solid, a true value bold. The second of two futures is dotted.

use super::charts::{self, Kept};
use super::curves::{self, partition};
pub use super::curves::{WIDE, points, row_at};
use super::marks::{mark_words, round_s, shortly};
use super::{Front, PanelState, Shown, service, style};
use crate::bench::trace::{COLUMNS, ROW_S};
use crate::link::DiagRequest;
use crate::words::numbers::{DAY_S, Units, clock, decimals, number};
use crate::words::{name, say};
use egui::{Align2, Color32, Rangef, RichText, Ui, WidgetInfo};
use egui_plot::{
    AxisHints, GridMark, Line, LineStyle, Plot, PlotPoint, PlotPoints, PlotUi, Span, Text, VLine,
};

/// A line of a chart.
struct Drawn {
    name: String,
    /// Its pieces between gaps.
    pieces: Vec<Vec<[f64; 2]>>,
    colour: Color32,
    width: f32,
    style: LineStyle,
    /// Other lines look like it, so its name is written at its end.
    named: bool,
    /// Smallest span of a chart that shows it, in the displayed units.
    least: f64,
}

/// The range of a chart: its time span \[s\], its lowest and highest value, and the margin above and below.
struct Frame {
    from_s: f64,
    to_s: f64,
    low: f64,
    high: f64,
    air: f64,
}

/// Most points of a line: as many as a wide screen can show.
const MOST_POINTS: usize = 900;

/// State of the traces.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingsState {
    /// The chosen columns, in order.
    pub chosen: Vec<usize>,
    /// Length of the time span shown \[s\]; none for all.
    pub window_s: Option<f64>,
    /// The view follows the newest row.
    pub follow: bool,
    /// End of the time span shown while the view does not follow \[s\].
    pub end_s: f64,
    /// Under the pointer \[s\].
    pub cursor_s: Option<f64>,
    /// Where the cursor was placed \[s\]; it stays there.
    pub held_s: Option<f64>,
    /// The group of signals that is open to choose from.
    pub group: Option<usize>,
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
            group: None,
        }
    }
}

impl ReadingsState {
    /// The state that carries over to another attempt.
    pub fn anew(&self) -> Self {
        Self { chosen: self.chosen.clone(), window_s: self.window_s, ..Self::default() }
    }
    /// The time span that is shown \[s\].
    pub fn stretch(&self, shown: &Shown<'_>) -> (f64, f64) {
        let now = shown.view.time_s;
        let first = shown.rows.first.first().copied().unwrap_or(0.0);
        let end = if self.follow { now } else { self.end_s.clamp(first, now) };
        let from = self.window_s.map_or(first, |w| end - w);
        // nothing was recorded before the first row
        (from.max(first).min(end - 1.0), end)
    }
}

/// The style of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// What the module believes or asks for.
    Pencil,
    /// What is measured.
    Thin,
    /// What is true.
    Ink,
}

/// The line style of a column.
pub fn hand(column: usize) -> Hand {
    let Some(c) = COLUMNS.get(column) else { return Hand::Thin };
    match (c.truth, c.believed) {
        (true, _) => Hand::Ink,
        (false, true) => Hand::Pencil,
        (false, false) => Hand::Thin,
    }
}

/// Columns that may be shown: truth under an open lid, learned values once they were read.
pub fn columns(shown: &Shown<'_>) -> impl Iterator<Item = usize> + use<> {
    let open = shown.view.lid_open;
    let read = open || service::asked(shown, &DiagRequest::ReadLearned);
    (1..WIDE).filter(move |c| COLUMNS[*c].seen(open, read))
}

/// Groups of signals by system: the message that names the group, and the prefixes of its signals' names.
const GROUPS: [(&str, &[&str]); 6] = [
    ("readings-of-idle", &["engine_speed", "target_speed", "idle_air", "spark", "true_idle_air"]),
    ("readings-of-air", &["map", "air", "throttle", "pedal", "true_deposit", "true_leak"]),
    ("readings-of-fuel", &["lambda", "short_trim", "long_trim", "true_lambda"]),
    ("readings-of-charging", &["supply", "battery", "charge", "true_battery"]),
    ("readings-of-heat", &["coolant", "true_catalyst"]),
    ("readings-of-car", &["road"]),
];

/// The group of a column.
fn group_of(column: usize) -> usize {
    let name = COLUMNS[column].name;
    GROUPS
        .iter()
        .position(|(_, starts)| starts.iter().any(|s| name.starts_with(s)))
        .unwrap_or(GROUPS.len() - 1)
}

fn shown_as(points: Vec<[f64; 2]>, units: Units, unit: &str) -> Vec<[f64; 2]> {
    points.into_iter().map(|p| [p[0], units.quantity(p[1], unit).0]).collect()
}

/// Drops points that lie on the line between their neighbours, so that the dashes of a level line come out even.
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

/// Chosen columns grouped into pictures: those with the same unit share one.
fn pictures(state: &ReadingsState, shown: &Shown<'_>) -> Vec<Vec<usize>> {
    let mut out: Vec<Vec<usize>> = Vec::new();
    for c in columns(shown).filter(|c| state.chosen.contains(c)) {
        let same = |p: &Vec<usize>| COLUMNS[p[0]].unit == COLUMNS[c].unit;
        // grouped by unit, but pedal, throttle and spark angle each have a picture of their own
        let apart = |n: &str| matches!(n, "pedal_pct" | "throttle_deg" | "spark_deg");
        match out.iter_mut().find(|p| same(p) && !apart(COLUMNS[c].name) && !apart(COLUMNS[p[0]].name)) {
            Some(p) => p.push(c),
            None => out.push(vec![c]),
        }
    }
    out
}

/// Factor on the step size of a labelled grid line, from a hundredth of a second to years: it marks the line as labelled, and
/// dividing by it gives the step back.
const LARGE: f64 = 1e12;
/// From this step size on a grid line is a labelled one \[s\].
const LABELLED: f64 = 1e9;

/// Grid lines behind a trace, at round times since hand-over: at most this many labelled ones, and four between two
/// of them.
fn lines_behind((from, to): (f64, f64), zero: f64, most: f64) -> Vec<GridMark> {
    let large = round_s(to - from, most);
    let small = large / 5.0;
    let first = ((from - zero) / small).ceil() as i64;
    let last = ((to - zero) / small).floor() as i64;
    (first..=last.min(first + 100))
        .map(|k| GridMark {
            value: zero + small * k as f64,
            step_size: if k % 5 == 0 { large * LARGE } else { small },
        })
        .collect()
}

/// A round time since hand-over, as precise as the spacing of the lines requires.
fn moment(s: f64, step_s: f64) -> String {
    if step_s < 1.0 {
        return say!("readings-seconds", s = number(s, if step_s < 0.1 { 2 } else { 1 }));
    }
    if step_s >= DAY_S {
        return say!("time-days", days = number(s / DAY_S, 0));
    }
    clock(s.round())
}

/// The name of a column.
fn column_words(column: usize) -> String {
    name("signal", COLUMNS[column].name)
}

/// Layout and lettering of a picture.
#[derive(Debug, Clone, Copy)]
struct Look {
    /// Height, including the names above it \[points\].
    tall: f32,
    /// True if the time axis is below it; the pictures above share that axis.
    time: bool,
    /// Size of its letters \[points\].
    letters: f32,
}

/// The message that names a chart, with a title in it.
type Title<'a> = &'a dyn Fn(&str) -> String;

/// Draws one picture; returns the chart if it is to be kept. The time under the pointer becomes the cursor; a click
/// places it. `chart` is the message that names the chart.
fn picture(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &mut ReadingsState,
    which: &[usize],
    (id, chart): (&str, Option<Title<'_>>),
    look: Look,
) -> Option<Kept> {
    let t = style::Palette::of(ui);
    let (from, to) = state.stretch(shown);
    let (_, unit_words) = shown.settings.units.quantity(0.0, COLUMNS[which[0]].unit);
    let title = style::listed(which.iter().map(|c| column_words(*c)));
    let above = ui.cursor().top();
    let wanted = heading(ui, shown, state, which, (&title, chart), look.letters);
    // the uppermost figure does not touch the names
    ui.add_space((0.3 * (look.letters - 14.0)).max(0.0));
    let tall = (look.tall - (ui.cursor().top() - above)).max(44.0);
    let begun = charts::begin(ui);
    let top = ui.cursor().min;
    let lines = lines(shown, which, &t, (from, to));
    let frame = Frame::of(&lines, (from, to));
    let zero = shown.view.hand_over_s;
    let held = state.held_s.filter(|s| *s >= from && *s <= to);
    let time_tall = if look.time { 1.5 * look.letters } else { 0.0 };
    let inner = tall - time_tall - 8.0;
    let (figures, step) =
        curves::figures((frame.low - frame.air, frame.high + frame.air), inner, look.letters);
    let font = style::mono_font(look.letters);
    let wide = ui.available_width();
    // time figures do not touch each other
    let most = f64::from((wide / (5.5 * look.letters)).clamp(2.0, 9.0));
    let axis = |hints: AxisHints<'static>| {
        hints.label_spacing(Rangef::new(0.0, 1.0)).tick_label_color(t.soft).tick_label_font(font.clone())
    };
    let y = axis(AxisHints::new_y()).min_thickness(4.0 * look.letters);
    let y = y.formatter(move |m, _| curves::figure(m.value, step));
    // a figure at the right edge would stand over the panel beside it
    let (letters, a_second) = (look.letters, (wide - 4.0 * look.letters) / (to - from).max(1e-9) as f32);
    let x = axis(AxisHints::new_x()).formatter(move |m, _| {
        if m.step_size < LABELLED {
            return String::new();
        }
        let figure = moment(m.value - zero, m.step_size / LARGE);
        let half = 0.3 * letters * figure.chars().count() as f32;
        if half <= 8.0 + (to - m.value) as f32 * a_second { figure } else { String::new() }
    });
    let plot = Plot::new(id)
        .height(tall)
        .width(wide)
        .allow_drag([false, false])
        .allow_zoom([false, false])
        .allow_scroll([false, false])
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .show_background(false)
        .show_axes([look.time, true])
        .grid_color(t.line)
        .grid_spacing(Rangef::new(0.0, 1.0))
        .cursor_color(t.edge)
        .custom_y_axes(vec![y])
        .custom_x_axes(vec![x])
        .link_cursor("traces", [true, false])
        .x_grid_spacer(move |g| lines_behind(g.bounds, zero, most))
        .y_grid_spacer(move |_| figures.iter().map(|x| GridMark { value: *x, step_size: 1e12 }).collect())
        .label_formatter(move |_| None);
    let answer = plot.show(ui, |p| {
        p.set_plot_bounds_x(from..=to);
        p.set_plot_bounds_y(frame.low - frame.air..=frame.high + frame.air);
        put_marks(p, shown, &t, &frame, (tall, look.letters));
        if let Some(at) = held {
            p.vline(VLine::new("cursor", at).color(t.accent).width(1.5));
        }
        put_lines(p, lines, &frame, (inner, look.letters));
        p.pointer_coordinate()
    });
    follow_pointer(ui, shown, state, &answer.response, answer.inner);
    // including the figures of both axes
    let end = egui::pos2(answer.response.rect.right(), ui.cursor().min.y);
    let rect = egui::Rect::from_min_max(top, end).expand(4.0);
    wanted.then(|| {
        let (heads, rows) = recorded(shown, which, from, to);
        let full = say!("readings-chart-title", signals = title.as_str(), unit = unit_words);
        let svg = charts::picture(ui, &full, rect, begun, shown.view.lid_open);
        Kept { svg, title, name: "traces", heads, rows }
    })
}

/// Names of a picture's lines, each with its value at the cursor or now; for two futures both values and their
/// difference. True if the chart is to be kept.
fn heading(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &ReadingsState,
    which: &[usize],
    (title, chart): (&str, Option<Title<'_>>),
    letters: f32,
) -> bool {
    let t = style::Palette::of(ui);
    let units = shown.settings.units;
    let at = cursor_at(shown, state);
    let first = row_at(&shown.rows.first, at);
    let second = shown.view.second.as_ref().and_then(|_| row_at(&shown.rows.second, at));
    let size = letters + 2.0;
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        for c in which {
            let unit = COLUMNS[*c].unit;
            let of = |row: Option<&[f64]>| row.map_or(f64::NAN, |r| curves::told(r, *c));
            let (a, b) = (of(first), of(second));
            let figure = |words: String, colour| style::figure(&words, size).color(colour);
            // an item that does not fit on a line begins the next one
            let whole = |ui: &mut Ui, words: RichText| ui.add(egui::Label::new(words).extend());
            let soft =
                |ui: &mut Ui, words: String| whole(ui, RichText::new(words).size(letters).color(t.soft));
            whole(
                ui,
                RichText::new(column_words(*c)).font(style::bold_font(size)).color(colour(&t, hand(*c))),
            );
            whole(ui, figure(curves::value(units, a, unit), colour(&t, hand(*c))));
            if second.is_some() {
                soft(ui, say("readings-second"));
                whole(ui, figure(curves::value(units, b, unit), t.accent));
                soft(ui, say("readings-by"));
                whole(ui, figure(curves::difference(units, (a, b), unit), t.text));
            }
            ui.add_space(10.0);
        }
        if let Some(chart) = chart {
            wanted = charts::button(ui, &chart(title));
        }
    });
    wanted
}

/// The time at which values are shown: under the pointer, where the cursor was placed, or now \[s\].
fn cursor_at(shown: &Shown<'_>, state: &ReadingsState) -> f64 {
    let now = shown.view.time_s;
    state.cursor_s.or(state.held_s).unwrap_or(now).min(now)
}

/// The lines of some columns over a time span, for both futures if there are two.
fn lines(shown: &Shown<'_>, which: &[usize], t: &style::Palette, (from, to): (f64, f64)) -> Vec<Drawn> {
    let mut out = Vec::new();
    for c in which {
        let (style, width) = match hand(*c) {
            Hand::Pencil => (LineStyle::Dashed { length: 7.0 }, 1.8),
            Hand::Thin => (LineStyle::Solid, 1.5),
            Hand::Ink => (LineStyle::Solid, 3.2),
        };
        let (units, unit) = (shown.settings.units, COLUMNS[*c].unit);
        let pieces = |rows: &[f64], from: f64| {
            curves::pieces(shown_as(points(rows, *c, from, to, MOST_POINTS), units, unit))
        };
        let least = units.quantity(COLUMNS[*c].least_span, unit).0 - units.quantity(0.0, unit).0;
        let colour = colour(t, hand(*c));
        let named = which.iter().filter(|o| hand(**o) == hand(*c)).count() > 1;
        let name = column_words(*c);
        let second = say!("readings-second-future", signal = name.as_str());
        out.push(Drawn { name, pieces: pieces(&shown.rows.first, from), colour, width, style, named, least });
        if shown.view.second.is_some() {
            // a line of its own: dotted, in the second future's colour, its width by kind; before the fork both
            // futures are one car
            let parted = shown.view.forked_s.map_or(from, |s| s.clamp(from, to));
            let pieces = pieces(&shown.rows.second, parted);
            let style = LineStyle::Dotted { spacing: 5.0 };
            let width = if hand(*c) == Hand::Ink { 3.2 } else { 2.2 };
            out.push(Drawn { name: second, pieces, colour: t.accent, width, style, named: false, least });
        }
    }
    out
}

impl Frame {
    fn of(lines: &[Drawn], (from_s, to_s): (f64, f64)) -> Self {
        let all = lines.iter().flat_map(|l| l.pieces.iter().flatten());
        let (low, high) =
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p[1]), high.max(p[1])));
        let least = lines.iter().map(|l| l.least).fold(0.0, f64::max);
        let (low, high) = curves::opened((low, high), least);
        Self { from_s, to_s, low, high, air: 0.06 * (high - low) }
    }
}

/// Shows where the futures part, and the marks with their names.
fn put_marks(
    p: &mut PlotUi<'_>,
    shown: &Shown<'_>,
    t: &style::Palette,
    f: &Frame,
    (tall, letters): (f32, f32),
) {
    if let Some(s) = shown.view.forked_s {
        p.span(Span::new("", s..=f.to_s.max(s)).fill(t.meas.gamma_multiply(0.06)));
        // at the bottom, where no mark has its name
        let text = RichText::new(say("readings-two-futures")).size(letters).color(t.meas);
        let at = PlotPoint::new(s.max(f.from_s), f.low - f.air);
        p.text(Text::new("", at, text).anchor(Align2::LEFT_BOTTOM));
    }
    let mut free = f64::NEG_INFINITY;
    for m in shown.view.marks.iter().filter(|m| m.at_s >= f.from_s && m.at_s <= f.to_s) {
        let dotted = LineStyle::Dotted { spacing: 5.0 };
        p.vline(VLine::new("mark", m.at_s).color(t.edge).width(1.0).style(dotted));
        // only if it does not overlap the previous name
        if m.at_s >= free && tall >= 110.0 {
            let short = shortly(&mark_words(&m.name), 16);
            let each = 0.011 * f64::from(letters / 14.0);
            free = m.at_s + (f.to_s - f.from_s) * (0.02 + each * short.chars().count() as f64);
            let text = RichText::new(format!(" {short}")).size(letters).color(t.soft);
            let at = PlotPoint::new(m.at_s, f.high + f.air);
            p.text(Text::new("mark", at, text).anchor(Align2::LEFT_TOP));
        }
    }
}

/// Draws the lines. Lines of one kind look alike, so each has its name at its end, unless names would overlap.
fn put_lines(p: &mut PlotUi<'_>, lines: Vec<Drawn>, f: &Frame, (tall, letters): (f32, f32)) {
    let mut ends: Vec<f64> = Vec::new();
    let line_high = f64::from(1.2 * letters) * (f.high - f.low + 2.0 * f.air) / f64::from(tall.max(1.0));
    for Drawn { name, pieces, colour, width, style, named, .. } in lines {
        let end = pieces.last().and_then(|piece| piece.last());
        let end = end.filter(|e| named && ends.iter().all(|y| (y - e[1]).abs() > line_high));
        if let Some(end) = end {
            ends.push(end[1]);
            let text = RichText::new(&name).size(letters).color(colour);
            let at = PlotPoint::new(end[0].min(f.to_s), end[1]);
            p.text(Text::new("", at, text).anchor(Align2::RIGHT_BOTTOM));
        }
        let dashed = matches!(style, LineStyle::Dashed { .. });
        for points in pieces {
            let points = if dashed { straightened(points, 0.002 * (f.high - f.low)) } else { points };
            p.line(
                Line::new(name.as_str(), PlotPoints::from(points)).color(colour).width(width).style(style),
            );
        }
    }
}

/// Pointer actions on a picture: reading values, panning, zooming and placing the cursor.
fn follow_pointer(
    ui: &Ui,
    shown: &Shown<'_>,
    state: &mut ReadingsState,
    r: &egui::Response,
    at: Option<PlotPoint>,
) {
    let (from, to) = state.stretch(shown);
    let span = to - from;
    if r.hovered() {
        if let Some(at) = at {
            state.cursor_s = Some(at.x);
        }
        let (scroll, zoom) = ui.input(|i| (i.smooth_scroll_delta, i.zoom_delta()));
        if (zoom - 1.0).abs() > 1e-4 {
            state.window_s = Some((span / f64::from(zoom)).clamp(2.0, 100_000.0));
        } else if scroll.y != 0.0 {
            state.window_s = Some((span * (1.0 - 0.003 * f64::from(scroll.y))).clamp(2.0, 100_000.0));
        }
        if scroll.x != 0.0 {
            shift(state, shown, -span * f64::from(scroll.x) / 600.0);
        }
    }
    if r.clicked() {
        state.held_s = at.map(|p| p.x.clamp(from, to));
    }
    if r.dragged() {
        let across = f64::from(r.drag_delta().x / r.rect.width().max(1.0));
        shift(state, shown, -across * span);
    }
}

/// The recorded rows of some columns over a time span, in the displayed units.
fn recorded(shown: &Shown<'_>, which: &[usize], from_s: f64, to_s: f64) -> charts::Numbers {
    let both = shown.view.second.is_some();
    let units = shown.settings.units;
    let mut heads = vec![say("readings-head-time")];
    for id in ["readings-head", "readings-head-second"].into_iter().take(if both { 2 } else { 1 }) {
        heads.extend(which.iter().map(|c| {
            let unit = units.quantity(0.0, COLUMNS[*c].unit).1;
            say!(id, signal = column_words(*c), unit = unit).trim_end().to_owned()
        }));
    }
    let cell = |row: Option<&[f64]>, c: usize| {
        row.map(|r| r[c]).filter(|x| x.is_finite()).map_or(String::new(), |x| {
            let (x, unit) = units.quantity(x, COLUMNS[c].unit);
            number(x, decimals(unit) + 1)
        })
    };
    let all = &shown.rows.first;
    let n = all.len() / WIDE;
    let (a, b) = (partition(all, n, from_s), partition(all, n, to_s + 0.5 * ROW_S));
    let rows = (a..b.max(a)).map(|k| {
        let row = &all[k * WIDE..(k + 1) * WIDE];
        let second = both.then(|| row_at(&shown.rows.second, row[0])).flatten();
        let mut out = vec![number(row[0] - shown.view.hand_over_s, 1)];
        out.extend(which.iter().map(|c| cell(Some(row), *c)));
        if both {
            out.extend(which.iter().map(|c| cell(second, *c)));
        }
        out
    });
    (heads, rows.collect())
}

/// Opens the sheet for a chart that is to be kept.
fn keep(state: &mut PanelState, kept: Option<Kept>) {
    if kept.is_some() {
        state.charts.kept = kept;
        state.front = Front::Keep;
    }
}

/// Moves the time span; once it reaches the newest row, it follows again.
pub fn shift(state: &mut ReadingsState, shown: &Shown<'_>, by_s: f64) {
    let (from, to) = state.stretch(shown);
    state.window_s = Some(to - from);
    state.end_s = to + by_s;
    state.follow = state.end_s >= shown.view.time_s - 0.05;
}

fn colour(t: &style::Palette, hand: Hand) -> Color32 {
    match hand {
        Hand::Pencil => t.pencil,
        Hand::Thin => t.meas,
        Hand::Ink => t.ink,
    }
}

/// The first picture alone, for the bottom panel.
pub fn strip(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, tall: f32) {
    state.readings.cursor_s = None;
    let all = pictures(&state.readings, shown);
    match all.first() {
        Some(p) => {
            let chart = |signals: &str| say!("readings-strip-chart", signals = signals);
            let look = Look { tall, time: true, letters: 14.0 };
            let kept = picture(ui, shown, &mut state.readings, p, ("strip", Some(&chart)), look);
            keep(state, kept);
        }
        None => {
            style::soft(ui, &say("readings-none-chosen"));
            ui.add_space(tall - 26.0);
        }
    }
}

/// Two pictures side by side, to be read from afar.
pub fn from_afar(ui: &mut Ui, shown: &Shown<'_>, state: &mut ReadingsState, tall: f32) {
    state.cursor_s = None;
    let all = pictures(state, shown);
    ui.columns(2, |c| {
        for (k, p) in all.iter().take(2).enumerate() {
            let look = Look { tall, time: true, letters: 24.0 };
            picture(&mut c[k], shown, state, p, (&format!("afar {k}"), None), look);
        }
    });
}

/// All pictures, one below the other with one time axis, and the choice of signals by system.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let r = &mut state.readings;
    stretches(ui, shown, r);
    choice(ui, shown, r);
    cursor(ui, shown, r);
    r.cursor_s = r.cursor_s.filter(|_| ui.rect_contains_pointer(ui.available_rect_before_wrap()));
    let all = pictures(r, shown);
    let mut kept = None;
    let tall = ui.available_height();
    let n = all.len().max(1) as f32;
    let each = ((tall - 30.0) / n - 6.0).clamp(96.0, 300.0);
    egui::ScrollArea::vertical().id_salt("pictures").auto_shrink(false).show(ui, |ui| {
        for (k, p) in all.iter().enumerate() {
            let chart = |signals: &str| say!("readings-picture-chart", n = k, signals = signals);
            let id = format!("picture {k}");
            let time = k + 1 == all.len();
            let look = Look { tall: if time { each + 22.0 } else { each }, time, letters: 14.0 };
            kept = picture(ui, shown, r, p, (&id, Some(&chart)), look).or(kept.take());
        }
        if all.is_empty() {
            style::soft(ui, &say("readings-none-chosen"));
        }
    });
    keep(state, kept);
}

/// Controls for the length and the end of the time span.
fn stretches(ui: &mut Ui, shown: &Shown<'_>, r: &mut ReadingsState) {
    ui.horizontal_wrapped(|ui| {
        for (name, window) in [
            ("readings-10-s", Some(10.0)),
            ("readings-1-min", Some(60.0)),
            ("readings-5-min", Some(300.0)),
            ("readings-30-min", Some(1800.0)),
            ("readings-all", None),
        ] {
            if ui.selectable_label(r.window_s == window, say(name)).clicked() {
                r.window_s = window;
                r.follow |= window.is_none();
            }
        }
        ui.checkbox(&mut r.follow, say("readings-follow"));
        if ui.button(say("readings-earlier")).clicked() {
            let (from, to) = r.stretch(shown);
            shift(r, shown, -0.5 * (to - from));
        }
        if ui.button(say("readings-later")).clicked() {
            let (from, to) = r.stretch(shown);
            shift(r, shown, 0.5 * (to - from));
        }
    });
}

/// The choice of signals by system: one system at a time is open.
fn choice(ui: &mut Ui, shown: &Shown<'_>, r: &mut ReadingsState) {
    let all: Vec<usize> = columns(shown).collect();
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, &say("readings-choose"));
        for (k, (id, _)) in GROUPS.iter().enumerate() {
            let chosen = all.iter().filter(|c| group_of(**c) == k && r.chosen.contains(c)).count();
            let words = match chosen {
                0 => say(id),
                n => say!("readings-group-chosen", group = say(id), n = n),
            };
            if ui.selectable_label(r.group == Some(k), words).clicked() {
                r.group = if r.group == Some(k) { None } else { Some(k) };
            }
        }
    });
    let Some(group) = r.group else { return };
    ui.horizontal_wrapped(|ui| {
        for c in all.into_iter().filter(|c| group_of(*c) == group) {
            let mut on = r.chosen.contains(&c);
            if ui.checkbox(&mut on, column_words(c)).changed() {
                if on { r.chosen.push(c) } else { r.chosen.retain(|x| *x != c) }
            }
        }
    });
}

/// The cursor without a pointer: a slider over the time span shown.
fn cursor(ui: &mut Ui, shown: &Shown<'_>, r: &mut ReadingsState) {
    let (from, to) = r.stretch(shown);
    let zero = shown.view.hand_over_s;
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, &say("readings-cursor"));
        let mut at = r.held_s.unwrap_or(to).clamp(from, to);
        ui.spacing_mut().slider_width = 260.0;
        let slider = egui::Slider::new(&mut at, from..=to).show_value(false);
        let s = ui.add(slider).on_hover_text(say("readings-cursor-click"));
        s.widget_info(|| WidgetInfo::slider(true, at - zero, say("readings-cursor")));
        if s.changed() {
            r.held_s = Some(at);
        }
        match r.held_s {
            Some(_) => {
                ui.label(style::mono(&say!("readings-at", time = clock(at - zero))));
                if ui.button(say("readings-let-go")).clicked() {
                    r.held_s = None;
                }
            }
            None => {
                style::soft(ui, &say("readings-at-pointer"));
            }
        }
    });
}
