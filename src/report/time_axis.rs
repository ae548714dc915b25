//! The time axis of a chart: ticks, and long rests of the car cut short.
//!
//! *Inside*: where a time lies, ticks and their words, the marks of what was cut. *Outside*: panels and curves (`time_chart`), when
//! the car rests (the trace).

use super::svg::{at, path, text, tick_below};
use crate::bench::trace::{COLUMNS, Trace};
use crate::words::numbers::{DAY_S, minutes, number};
use crate::words::say;
use maud::{Markup, html};

/// Left and right ends of every time axis.
pub(super) const LEFT: f64 = 50.0;
pub(super) const RIGHT: f64 = 584.0;
/// A rest is cut short from this length \[s\], and if it takes more than this share of the whole.
const LEAST_REST: (f64, f64) = (1800.0, 0.125);
/// While the car rests, rows of a trace lie at least so far apart \[s\].
const RESTING_ROWS_S: f64 = 30.0;
/// Width of a rest that is cut short, and of all of them together over the whole axis.
const REST_WIDE: (f64, f64) = (46.0, 0.4);
/// Space that a tick's text needs for each character, and between two of them.
const CHARACTER: (f64, f64) = (6.2, 10.0);

/// Time from 0 to an end, with rests that are cut short.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct TimeAxis {
    to_s: f64,
    /// From and to \[s\], in order.
    rests: Vec<(f64, f64)>,
}

impl TimeAxis {
    /// From 0 to an end \[s\], nothing cut.
    pub fn to(to_s: f64) -> Self {
        Self { to_s: to_s.max(1.0), rests: Vec::new() }
    }

    /// The axis of traces that share it: cut where the car rests in all of them.
    pub fn of(traces: &[&Trace], to_s: f64) -> Self {
        let mut all = traces.iter().map(|t| rests(t));
        let first = all.next().unwrap_or_default();
        let rests = all.fold(first, |a, b| common(&a, &b));
        let least_s = LEAST_REST.0.max(LEAST_REST.1 * to_s);
        let rests = rests.into_iter().filter(|r| r.1 - r.0 >= least_s).collect();
        Self { rests, ..Self::to(to_s) }
    }

    /// Width of each rest that is cut short.
    fn rest_wide(&self) -> f64 {
        REST_WIDE.0.min(REST_WIDE.1 * (RIGHT - LEFT) / self.rests.len().max(1) as f64)
    }

    /// Time outside these rests up to a moment \[s\].
    fn up_s(&self, t: f64) -> f64 {
        t - self.rests.iter().map(|(from, to)| t.clamp(*from, *to) - from).sum::<f64>()
    }

    /// Where a moment lies.
    pub fn x(&self, t: f64) -> f64 {
        let t = t.clamp(0.0, self.to_s);
        let rest_wide = self.rest_wide();
        let width = RIGHT - LEFT - rest_wide * self.rests.len() as f64;
        let in_rests: f64 =
            self.rests.iter().map(|(from, to)| rest_wide * (t.clamp(*from, *to) - from) / (to - from)).sum();
        LEFT + in_rests + width * self.up_s(t) / self.up_s(self.to_s).max(1e-6)
    }

    /// Moments that may have a tick, the most important first \[s\]: ends of rests, then round times outside rests.
    fn candidates(&self, step: f64) -> Vec<f64> {
        let round =
            std::iter::successors(Some(0.0), |t| Some(t + step)).take_while(|t| *t <= self.to_s + 1e-6);
        let outside = |t: &f64| !self.rests.iter().any(|(from, to)| from < t && t < to);
        self.rests.iter().map(|r| r.1).chain(round.filter(outside)).collect()
    }

    /// Ticks along the bottom, and the rests from top to bottom; a scale over more than a day is labelled in days.
    pub fn draw(&self, top: f64, bottom: f64) -> Markup {
        let shown_s = self.up_s(self.to_s);
        // times of the clock with their days would touch each other
        let days = shown_s > DAY_S;
        let steps =
            [1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0];
        let step = steps
            .iter()
            .copied()
            .find(|s| shown_s / s <= 9.0)
            .unwrap_or((shown_s / 8.0 / 3600.0).ceil() * 3600.0);
        let day_steps = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 90.0, 180.0, 365.0];
        let day_step = day_steps.iter().copied().find(|s| shown_s / DAY_S / s <= 9.0).unwrap_or(1000.0);
        let step = if days { day_step * DAY_S } else { step };
        let words = |t: f64| {
            if days { number(t / DAY_S, if day_step < 1.0 { 1 } else { 0 }) } else { minutes(t, false) }
        };
        let mut taken: Vec<(f64, f64)> = Vec::new();
        let mut ticks: Vec<(f64, String)> = Vec::new();
        for t in self.candidates(step) {
            let (x, words) = (self.x(t), words(t));
            let half = 0.5 * (CHARACTER.0 * words.chars().count() as f64 + CHARACTER.1);
            // without rests the steps are wide enough for their words
            if self.rests.is_empty() || taken.iter().all(|(from, to)| x + half <= *from || x - half >= *to) {
                taken.push((x - half, x + half));
                ticks.push((x, words));
            }
        }
        let unit = say(if days { "scale-days" } else { "scale-minutes" });
        html! {
            @for rest in &self.rests { (self.draw_rest(*rest, top, bottom)) }
            @for (x, words) in &ticks { (tick_below(*x, bottom, words)) }
            (text(RIGHT + 22.0, bottom + 19.0, "tick", &unit))
        }
    }

    /// A band over a rest that was cut short, and two strokes through the axis.
    fn draw_rest(&self, (from, to): (f64, f64), top: f64, bottom: f64) -> Markup {
        let (left, right) = (self.x(from), self.x(to));
        let middle = 0.5 * (left + right);
        let stroke = |x: f64| format!("M{} {}l4 -10", at(x), at(bottom + 5.0));
        let title = say!("axis-rest", time = minutes(to - from, false));
        html! {
            rect class="rest" x=(at(left)) y=(at(top)) width=(at(right - left)) height=(at(bottom - top)) {
                title { (title) }
            }
            (path("axis", &stroke(middle - 5.0)))
            (path("axis", &stroke(middle + 1.0)))
        }
    }
}

/// When the car rests with its key off: rows lie far apart, and the engine stands still.
fn rests(trace: &Trace) -> Vec<(f64, f64)> {
    let Some(speed) = COLUMNS.iter().position(|c| c.name == "engine_speed_rpm") else { return Vec::new() };
    let still = |row: &[f64]| row[speed].is_nan() || row[speed] < 1.0;
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (a, b) in trace.rows().zip(trace.rows().skip(1)) {
        if b[0] - a[0] < RESTING_ROWS_S || !still(a) || !still(b) {
            continue;
        }
        match out.last_mut() {
            Some(last) if last.1 == a[0] => last.1 = b[0],
            _ => out.push((a[0], b[0])),
        }
    }
    out
}

/// What lies in a stretch of both.
fn common(a: &[(f64, f64)], b: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let both = |x: &(f64, f64)| b.iter().map(|y| (x.0.max(y.0), x.1.min(y.1))).collect::<Vec<_>>();
    a.iter().flat_map(both).filter(|(from, to)| from < to).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A weekend between two short drives leaves both of them room: without the cut each would be two pixels wide.
    #[test]
    fn exact_a_long_rest_takes_little_of_the_axis() {
        let axis = TimeAxis { to_s: 260_000.0, rests: vec![(600.0, 259_000.0)] };
        assert!((axis.x(259_000.0) - axis.x(600.0) - REST_WIDE.0).abs() < 1e-9);
        assert!((axis.x(0.0) - LEFT).abs() < 1e-9 && (axis.x(260_000.0) - RIGHT).abs() < 1e-9);
        assert!(axis.x(600.0) - axis.x(0.0) > 150.0);
        let xs: Vec<f64> = (0..=2600).map(|k| axis.x(100.0 * f64::from(k))).collect();
        assert!(xs.windows(2).all(|w| w[0] < w[1]), "time runs to the right");
        let drawn = axis.draw(0.0, 100.0).into_string();
        assert_eq!(drawn.matches("class=\"rest\"").count(), 1);
        assert!(drawn.contains(&minutes(259_000.0, false)), "the end of the rest has its time: {drawn}");
        assert!(!TimeAxis::to(260_000.0).draw(0.0, 100.0).into_string().contains("rest"));
    }

    /// Of many rests each is narrower, and what lies between them keeps more than half of the axis.
    #[test]
    fn exact_many_rests_leave_room() {
        let rests: Vec<(f64, f64)> =
            (0..20).map(|k| (86_400.0 * f64::from(k) + 1200.0, 86_400.0 * f64::from(k + 1))).collect();
        let axis = TimeAxis { to_s: 20.0 * 86_400.0, rests };
        let rest = axis.x(86_400.0) - axis.x(1200.0);
        let between = axis.x(1200.0) - axis.x(0.0);
        assert!(
            rest < between && (20.0 * (rest + between) - (RIGHT - LEFT)).abs() < 1e-6,
            "{rest} {between}"
        );
    }

    /// Two traces that share an axis are cut only where both rest.
    #[test]
    fn exact_common_rests() {
        assert_eq!(common(&[(0.0, 10.0), (20.0, 30.0)], &[(5.0, 25.0)]), [(5.0, 10.0), (20.0, 25.0)]);
        assert!(common(&[(0.0, 10.0)], &[]).is_empty());
    }
}
