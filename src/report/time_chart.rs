//! Charts over time: panels one above the other with curves, levels, flags and one time axis.
//!
//! *Inside*: the scale of a panel, texts at lines' ends, flags above. *Outside*: which curves there are (`charts`), the time
//! axis (`time_axis`), lines and words (`svg`).

use super::cells::fixed;
use super::svg::{alone, at, disc, level, line, path, picture, round_step, spread, text};
use super::time_axis::{LEFT, RIGHT, TimeAxis};
use crate::words::numbers::number;
use crate::words::say;
use maud::{Markup, html};

/// The pen of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pen {
    /// What the module believes.
    Belief,
    /// The same, a second one in a panel.
    Dots,
    /// What is measured.
    Measured,
    /// What is true.
    Truth,
}

impl Pen {
    pub(super) fn class(self) -> &'static str {
        match self {
            Pen::Belief => "belief",
            Pen::Dots => "belief dots",
            Pen::Measured => "meas",
            Pen::Truth => "truth",
        }
    }
}

/// One line of a chart. A point that is not finite leaves a gap.
pub(super) struct Curve {
    pub words: String,
    pub pen: Pen,
    /// It belongs to the other of two futures, and is drawn with rings.
    pub other: bool,
    pub points: Vec<(f64, f64)>,
}

impl Curve {
    fn class(&self) -> String {
        format!("{}{}", self.pen.class(), if self.other { " other" } else { "" })
    }
}

/// One scale of a chart with its lines.
pub(super) struct Panel {
    /// What is drawn.
    pub words: String,
    /// A remark on how it is drawn.
    pub how: Option<String>,
    pub unit: &'static str,
    /// Range that is always in sight.
    pub keep: (f64, f64),
    /// Limits beyond which nothing is drawn in full.
    pub cap: (f64, f64),
    pub high: f64,
    pub curves: Vec<Curve>,
}

impl Panel {
    fn heading(&self) -> String {
        match (&self.how, self.unit) {
            (Some(how), _) => say!("panel-how", what = self.words.as_str(), how = how.as_str()),
            (None, "") => self.words.clone(),
            (None, unit) => say!("panel-unit", what = self.words.as_str(), unit = unit),
        }
    }
}

/// A moment marked on a chart: by a number that the logbook explains, or by words.
pub(super) struct Flag {
    pub at_s: f64,
    pub number: Option<usize>,
    pub words: Option<String>,
}

/// At most this many points; the highest and the lowest of each piece are kept in their order.
pub(super) fn thin(points: &[(f64, f64)], most: usize) -> Vec<(f64, f64)> {
    if points.len() <= most || most < 2 {
        return points.to_vec();
    }
    let stretches = most / 2;
    let mut out = Vec::with_capacity(most);
    for k in 0..stretches {
        let part = &points[k * points.len() / stretches..(k + 1) * points.len() / stretches];
        let finite = || part.iter().enumerate().filter(|p| p.1.1.is_finite());
        let low = finite().min_by(|a, b| a.1.1.total_cmp(&b.1.1));
        let high = finite().max_by(|a, b| a.1.1.total_cmp(&b.1.1));
        match (low, high) {
            (Some(l), Some(h)) if l.0 == h.0 => out.push(*l.1),
            (Some(l), Some(h)) if l.0 < h.0 => out.extend([*l.1, *h.1]),
            (Some(l), Some(h)) => out.extend([*h.1, *l.1]),
            _ => out.push(part[0]),
        }
    }
    out
}

const WIDTH: f64 = 720.0;
const TOP: f64 = 66.0;
const BETWEEN: f64 = 30.0;

/// A chart of one panel or several over the same time.
pub(super) fn chart(title: &str, panels: &[Panel], flags: &[Flag], time: &TimeAxis) -> Markup {
    let (inside, tall) = drawn(panels, flags, time);
    picture(title, (WIDTH, tall), inside)
}

/// The same chart as a file of its own, with a line of words under it.
pub(super) fn chart_alone(title: &str, panels: &[Panel], time: &TimeAxis, words: &str) -> String {
    let (inside, tall) = drawn(panels, &[], time);
    alone(title, (WIDTH, tall), inside, &[words.to_owned()])
}

/// A chart's panels, flags and time scale, and their total height.
fn drawn(panels: &[Panel], flags: &[Flag], time: &TimeAxis) -> (Markup, f64) {
    let x = |t: f64| time.x(t);
    let words = place(flags, &x);
    let down = 14.0 * words.iter().map(|w| w.lane).max().unwrap_or(0).saturating_sub(1) as f64;
    let mut tops = vec![TOP + down];
    tops.extend(panels.iter().scan(TOP + down, |top, p| {
        *top += p.high + BETWEEN;
        Some(*top)
    }));
    let bottom = tops.last().map_or(TOP, |t| t - BETWEEN);
    let inside = html! {
        (time.draw(TOP + down, bottom))
        (draw_flags(flags, &words, &x, (down, bottom)))
        @for (p, top) in panels.iter().zip(&tops) { (draw_panel(p, *top, &x)) }
    };
    (inside, bottom + 24.0)
}

/// A text beside a mark, and the place that was found for it.
struct Placed<'a> {
    words: &'a str,
    at: f64,
    from: f64,
    lane: usize,
}

/// Most lanes of text above a chart.
const LANES: usize = 4;

/// Places the texts in lanes, so that a code close to hand-over finds space; texts without a number come first.
fn place<'a>(flags: &'a [Flag], x: &dyn Fn(f64) -> f64) -> Vec<Placed<'a>> {
    let mut taken: [Vec<(f64, f64)>; LANES] = Default::default();
    let mut out = Vec::new();
    let first = flags.iter().filter(|f| f.number.is_none());
    for f in first.chain(flags.iter().filter(|f| f.number.is_some())) {
        let Some(words) = &f.words else { continue };
        let at = x(f.at_s);
        let wide = 6.4 * words.chars().count() as f64 + 6.0;
        let from = at.min(WIDTH - wide);
        let free = |lane: &Vec<(f64, f64)>| lane.iter().all(|t| from + wide <= t.0 || from >= t.1);
        if let Some(lane) = taken.iter().position(free) {
            taken[lane].push((from, from + wide));
            out.push(Placed { words, at, from, lane });
        }
    }
    out
}

fn draw_flags(
    flags: &[Flag],
    words: &[Placed<'_>],
    x: &dyn Fn(f64) -> f64,
    (down, bottom): (f64, f64),
) -> Markup {
    // numbers that are too close to each other share a flag
    let numbered: Vec<(f64, usize)> = flags.iter().filter_map(|f| Some((x(f.at_s), f.number?))).collect();
    let mut shared: Vec<(f64, String)> = Vec::new();
    let mut k = 0;
    while k < numbered.len() {
        let (at, first) = numbered[k];
        let mut text = first.to_string();
        // space for the flag, its own text and a gap
        while k + 1 < numbered.len() && numbered[k + 1].0 - at < 14.0 + 6.8 * text.chars().count() as f64 {
            k += 1;
            text = format!("{first}–{}", numbered[k].1);
        }
        k += 1;
        shared.push((at, text));
    }
    html! {
        @for w in words {
            (path("mark", &format!("M{} {}V{}", at(w.at), at(14.0 * w.lane as f64 + 14.0), at(bottom))))
            (text(w.from, 14.0 * w.lane as f64 + 11.0, "note", w.words))
        }
        @for (from, words) in &shared {
            (path("flag", &format!("M{} {}v-16h7l-2 3.5l2 3.5h-7", at(*from), fixed(50.0 + down, 0))))
            (text(from + 9.0, 43.0 + down, "tick", words))
        }
    }
}

fn draw_panel(p: &Panel, top: f64, x: &dyn Fn(f64) -> f64) -> Markup {
    let seen = p.curves.iter().flat_map(|c| c.points.iter().map(|q| q.1)).filter(|v| v.is_finite());
    let (mut low, mut high) = seen.fold(p.keep, |(a, b), v| (a.min(v), b.max(v)));
    (low, high) = (low.max(p.cap.0), high.min(p.cap.1));
    let step = round_step(high - low, 5.0);
    low = (low / step + 1e-6).floor() * step;
    high = (high / step - 1e-6).ceil() * step;
    let y = |v: f64| top + p.high * (1.0 - (v.clamp(low, high) - low) / (high - low));
    let places = [(1.0, 0), (0.1, 1), (0.01, 2)].iter().find(|s| step >= s.0 * 0.999).map_or(3, |s| s.1);
    let levels = (0..=((high - low) / step).round() as u32).map(|k| low + f64::from(k) * step);
    // truth is drawn first, so that a thin line over it can be read
    let mut order: Vec<&Curve> = p.curves.iter().collect();
    order.sort_by_key(|c| c.pen != Pen::Truth);
    let last = |c: &Curve| c.points.iter().rev().find(|q| q.1.is_finite()).map_or(low, |q| q.1);
    let mut labels: Vec<(f64, &Curve)> = p.curves.iter().map(|c| (y(last(c)), c)).collect();
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    spread(labels.iter_mut().map(|l| &mut l.0), (top, top + p.high), 15.0);
    html! {
        @for v in levels { (level((LEFT, RIGHT), y(v), v.abs() < step * 1e-6, &number(v, places))) }
        (text(LEFT + 4.0, top - 5.0, "panel", &p.heading()))
        @for c in order {
            (line(&format!("line {}", c.class()), thin(&c.points, 700).iter().map(|(t, v)| {
                (x(*t), if v.is_finite() { y(*v) } else { f64::NAN })
            })))
            @if c.other { (rings(c, x, &y)) }
        }
        @for (at, c) in labels {
            (line(&format!("line {}", c.class()), [(RIGHT + 5.0, at), (RIGHT + 23.0, at)]))
            @if c.other { (disc("ring", RIGHT + 14.0, at, 3.0)) }
            (text(RIGHT + 27.0, at + 4.0, &format!("label {}", c.class()), &c.words))
        }
    }
}

/// Rings along a curve, so that two lines of the same style can be told apart without colour.
fn rings(c: &Curve, x: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) -> Markup {
    let mut next = LEFT + 20.0;
    let shown = c.points.iter().filter(|q| q.1.is_finite()).filter(|(t, _)| {
        let here = x(*t) >= next;
        next += if here { 44.0 } else { 0.0 };
        here
    });
    html! { @for (t, v) in shown { (disc("ring", x(*t), y(*v), 3.0)) } }
}
