//! The charts of a sweep: bands of percentiles over a number that was varied, and the share of runs at or below each
//! value where only the seed differs.
//!
//! *Inside*: scales and lines. *Outside*: drawing them (`svg`), which things are drawn (`page`).
//!
//! Bands are told apart by their place and their edges' names, so that nothing depends on colour.

use super::{Axis, Item, PERCENTS, Stat};
use crate::report::svg::{at, disc, level, line, path, picture, round_step, spread, text, tick_below};
use crate::words::numbers::{as_written, number};
use crate::words::say;
use maud::{Markup, html};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 600.0;
const TOP: f64 = 24.0;
const BOTTOM: f64 = 214.0;
const TALL: f64 = 262.0;
/// Most numbers below a chart.
const TICKS: usize = 9;
/// Height of a line of words.
const WORDS: f64 = 14.0;

/// A scale from a low to a high number with round steps.
struct Scale {
    low: f64,
    high: f64,
    step: f64,
}

impl Scale {
    /// Around these numbers; one number alone gets room above and below.
    fn around(all: impl Iterator<Item = f64> + Clone) -> Self {
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
        let least = (0.001 * low.abs().max(high.abs())).max(0.005);
        let (low, high) = if high - low < least { (low - least, high + least) } else { (low, high) };
        let step = round_step(high - low, 5.0);
        let (low, high) = ((low / step + 1e-6).floor() * step, (high / step - 1e-6).ceil() * step);
        Self { low, high, step }
    }
    fn share(&self, x: f64) -> f64 {
        ((x - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }
    fn levels(&self) -> Vec<f64> {
        (0..=((self.high - self.low) / self.step).round() as u32)
            .map(|k| self.low + f64::from(k) * self.step)
            .collect()
    }
    fn words(&self, x: f64) -> String {
        let places = [1.0, 0.1, 0.01, 0.001].iter().position(|s| self.step >= s * 0.999).unwrap_or(4);
        number(x, places)
    }
}

/// Bands of percentiles over a number that was varied; `stats` has one for each of its values.
pub(super) fn bands(title: &str, item: &Item, axis: &Axis, stats: &[&Stat]) -> Markup {
    let mut points: Vec<(f64, [f64; 5])> =
        axis.values.iter().zip(stats).filter_map(|(x, s)| Some((*x, s.percentiles?))).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let scale = Scale::around(points.iter().flat_map(|p| p.1));
    let ends =
        axis.values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
    let x = |v: f64| LEFT + (RIGHT - LEFT) * ((v - ends.0) / (ends.1 - ends.0).max(1e-12)).clamp(0.0, 1.0);
    let y = |v: f64| BOTTOM - (BOTTOM - TOP) * scale.share(v);
    let curve = |k: usize| points.iter().map(move |p| (x(p.0), y(p.1[k])));
    let area = |low: usize, high: usize| {
        let there = curve(low).chain(curve(high).collect::<Vec<_>>().into_iter().rev());
        let all: Vec<String> = there.map(|(x, y)| format!("{} {}", at(x), at(y))).collect();
        format!("M{}Z", all.join("L"))
    };
    // where the bands end in one line, five names beside it would say nothing
    let end = points.last().filter(|p| y(p.1[0]) - y(p.1[4]) > 2.0 * WORDS);
    let mut labels: Vec<(f64, usize)> =
        end.map(|p| (0..5).rev().map(|k| (y(p.1[k]), k)).collect()).unwrap_or_default();
    spread(labels.iter_mut().map(|l| &mut l.0), (TOP, BOTTOM), WORDS);
    let every = axis.values.len().div_ceil(TICKS);
    let inside = html! {
        @for v in scale.levels() { (level((LEFT, RIGHT), y(v), v == scale.low, &scale.words(v))) }
        (text(LEFT + 4.0, TOP - 8.0, "panel", &item.with_unit()))
        (path("far", &area(0, 4)))
        (path("near", &area(1, 3)))
        (line("line median", curve(2)))
        @for (x, y) in curve(2) { (disc("knot", x, y, 2.6)) }
        @for (height, k) in &labels {
            (text(RIGHT + 8.0, height + 4.0, "tick", &say!("sweep-percent", p = PERCENTS[*k])))
        }
        @for v in axis.values.iter().step_by(every) { (tick_below(x(*v), BOTTOM, &as_written(*v))) }
        (text(0.5 * (LEFT + RIGHT), BOTTOM + 40.0, "tick mid", &axis.path))
    };
    picture(title, (WIDTH, TALL), inside)
}

/// The share of runs at or below each value.
pub(super) fn shares(title: &str, item: &Item, stat: &Stat) -> Markup {
    let scale = Scale::around(stat.values.iter().copied());
    let x = |v: f64| LEFT + (RIGHT - LEFT) * scale.share(v);
    let y = |pct: f64| BOTTOM - (BOTTOM - TOP) * pct / 100.0;
    let n = stat.values.len() as f64;
    let mut steps = vec![(LEFT, y(0.0))];
    for (k, v) in stat.values.iter().enumerate() {
        // runs with the same value rise in one step
        if stat.values.get(k + 1) != Some(v) {
            let before = steps.last().map_or(BOTTOM, |p| p.1);
            steps.extend([(x(*v), before), (x(*v), y(100.0 * (k + 1) as f64 / n))]);
        }
    }
    steps.push((RIGHT, y(100.0)));
    let inside = html! {
        @for pct in [0, 25, 50, 75, 100] {
            (level((LEFT, RIGHT), y(f64::from(pct)), pct == 0, &say!("sweep-percent", p = pct)))
        }
        (text(LEFT + 4.0, TOP - 8.0, "panel", &say("sweep-share")))
        @if let Some(p) = stat.percentiles {
            (path("far", &block(x(p[0]), x(p[4]))))
            (path("near", &block(x(p[1]), x(p[3]))))
            (path("mark", &format!("M{} {TOP}V{BOTTOM}", at(x(p[2])))))
        }
        (line("line median", steps))
        @for v in scale.levels() { (tick_below(x(v), BOTTOM, &scale.words(v))) }
        (text(0.5 * (LEFT + RIGHT), BOTTOM + 40.0, "tick mid", &item.with_unit()))
    };
    picture(title, (WIDTH, TALL), inside)
}

/// The whole height between two places.
fn block(from: f64, to: f64) -> String {
    format!("M{} {TOP}H{}V{BOTTOM}H{}Z", at(from), at(to), at(from))
}
