//! Recorded rows as curves: the points that are drawn, with gaps where nothing was measured, and the scales beside
//! them.
//!
//! *Inside*: thinning that loses no spike, gaps, round figures along a scale. *Outside*: the smallest span of each
//! signal (the catalogue), drawing ([`super::traces`]).

use crate::bench::trace::{COLUMNS, ROW_S};
use crate::words::numbers::{Units, decimals, number};

/// Columns in a row of the trace.
pub const WIDE: usize = COLUMNS.len();

/// A recorded value; NaN where nothing was measured.
pub fn told(row: &[f64], column: usize) -> f64 {
    let x = row[column];
    if x == 0.0 && COLUMNS[column].none_at_zero { f64::NAN } else { x }
}

/// The row at a time, or the last one before it; none before the first.
pub fn row_at(rows: &[f64], at_s: f64) -> Option<&[f64]> {
    let n = rows.len() / WIDE;
    let k = partition(rows, n, at_s + 0.5 * ROW_S);
    (k > 0).then(|| &rows[(k - 1) * WIDE..k * WIDE])
}

/// Number of rows recorded before a time.
pub(super) fn partition(rows: &[f64], n: usize, at_s: f64) -> usize {
    let (mut low, mut high) = (0, n);
    while low < high {
        let mid = low.midpoint(high);
        if rows[mid * WIDE] < at_s { low = mid + 1 } else { high = mid }
    }
    low
}

/// Points of one column within a time span, the lowest and the highest of each piece, so that no spike is lost; where
/// nothing was measured, the point is NaN.
pub fn points(rows: &[f64], column: usize, from_s: f64, to_s: f64, most: usize) -> Vec<[f64; 2]> {
    let n = rows.len() / WIDE;
    let a = partition(rows, n, from_s).saturating_sub(1);
    let b = (partition(rows, n, to_s) + 1).min(n);
    let count = b.saturating_sub(a);
    let value = |k: usize| told(&rows[k * WIDE..(k + 1) * WIDE], column);
    let at = |k: usize| [rows[k * WIDE], value(k)];
    if count <= most {
        return (a..b).map(at).collect();
    }
    let piece = count.div_ceil(most / 2);
    let mut out = Vec::with_capacity(most + 2);
    let mut k = a;
    while k < b {
        let end = (k + piece).min(b);
        // the first of the lowest, the last of the highest, the last gap
        let (mut low, mut high, mut gap): (Option<usize>, Option<usize>, Option<usize>) = (None, None, None);
        let (mut least, mut largest) = (f64::INFINITY, f64::NEG_INFINITY);
        for i in k..end {
            let x = value(i);
            if !x.is_finite() {
                gap = Some(i);
                continue;
            }
            if low.is_none() || x < least {
                (low, least) = (Some(i), x);
            }
            if high.is_none() || x >= largest {
                (high, largest) = (Some(i), x);
            }
        }
        if let (Some(low), Some(high)) = (low, high) {
            out.push(at(low.min(high)));
            if low != high {
                out.push(at(low.max(high)));
            }
        }
        if let Some(gap) = gap {
            out.push([at(gap)[0].max(out.last().map_or(f64::NEG_INFINITY, |p| p[0])), f64::NAN]);
        }
        k = end;
    }
    out
}

/// The pieces of a curve between its gaps.
pub fn pieces(points: Vec<[f64; 2]>) -> Vec<Vec<[f64; 2]>> {
    let mut out: Vec<Vec<[f64; 2]>> = vec![Vec::new()];
    for p in points {
        match out.last_mut() {
            Some(piece) if p[1].is_finite() => piece.push(p),
            Some(piece) if piece.is_empty() => {}
            _ => out.push(Vec::new()),
        }
    }
    out.retain(|piece| !piece.is_empty());
    out
}

/// Ends of a scale that holds these values, with at least the least span between them.
pub fn opened((low, high): (f64, f64), least: f64) -> (f64, f64) {
    if !(low.is_finite() && high.is_finite()) {
        return (0.0, least.max(1e-9));
    }
    let more = 0.5 * (least - (high - low)).max(0.0);
    // a quantity that is never negative gets no space below zero
    let down = if low >= 0.0 { more.min(low) } else { more };
    (low - down, high + 2.0 * more - down)
}

/// Figures along a scale of this height \[points\]: round, at least two, and as many as fit without touching each
/// other.
pub fn figures((low, high): (f64, f64), tall: f32, letters: f32) -> (Vec<f64>, f64) {
    let span = (high - low).max(1e-12);
    let most = f64::from((tall / (2.2 * letters)).clamp(2.0, 6.0).floor());
    let all = |step: f64| -> Vec<f64> {
        let first = (low / step - 1e-9).ceil() as i64;
        let last = (high / step + 1e-9).floor() as i64;
        (first..=last.min(first + 20)).map(|k| k as f64 * step).collect()
    };
    // 1, 2, 5, 10, … from fine to coarse
    let mut best = None;
    let mut decade = 1e-6;
    while decade * 1000.0 <= span {
        decade *= 10.0;
    }
    for _ in 0..6 {
        for step in [1.0, 2.0, 5.0].map(|k| k * decade) {
            let these = all(step);
            if these.len() < 2 {
                continue;
            }
            best = Some((these.clone(), step));
            if these.len() as f64 <= most {
                return (these, step);
            }
        }
        decade *= 10.0;
    }
    best.unwrap_or_else(|| (vec![low, high], span))
}

/// A figure on a scale, with as many decimals as its step has.
pub fn figure(x: f64, step: f64) -> String {
    let decimals = (0..6_usize).find(|d| {
        let scaled = step * [1.0, 10.0, 100.0, 1e3, 1e4, 1e5][*d];
        (scaled - scaled.round()).abs() < 1e-6 * scaled.max(1.0)
    });
    number(x, decimals.unwrap_or(6))
}

/// A value at the cursor as a person reads it, with its unit.
pub fn value(units: Units, x: f64, unit: &str) -> String {
    if x.is_finite() { units.value(x, unit) } else { String::new() }
}

/// The difference between two values as a person reads it, with its unit; a temperature difference has no zero
/// offset.
pub fn difference(units: Units, (a, b): (f64, f64), unit: &str) -> String {
    let (x, called) = units.quantity(b, unit);
    let by = x - units.quantity(a, unit).0;
    if !by.is_finite() {
        return String::new();
    }
    let words = crate::words::numbers::signed(by, decimals(called).max(1));
    if called.is_empty() { words } else { format!("{words} {called}") }
}
