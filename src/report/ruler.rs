//! Two pictures of numbers: a learned value between its end stops, and terms that add up.
//!
//! *Inside*: drawing them. *Outside*: which values they show.

use super::svg::{at, path, picture, text};
use crate::words::numbers::{measured, signed_measured};
use crate::words::say;
use maud::{Markup, html};

/// A learned value between its end stops.
pub(super) struct Ruler<'a> {
    pub title: &'a str,
    pub low: f64,
    pub high: f64,
    pub default: f64,
    pub before: f64,
    pub now: f64,
    pub truth: Option<f64>,
    pub number: &'a dyn Fn(f64) -> String,
}

/// The ruler: end stops, notch, dashed bar, pencil marks above, ink mark below.
pub(super) fn ruler(r: &Ruler) -> Markup {
    let all = [Some(r.low), Some(r.high), Some(r.before), Some(r.now), r.truth];
    let all = || all.iter().flatten().copied().filter(|v| v.is_finite());
    let (from, to) = (all().fold(r.low, f64::min), all().fold(r.high, f64::max));
    let x = |v: f64| 58.0 + 304.0 * ((v - from) / (to - from).max(1e-9)).clamp(0.0, 1.0);
    let s = |v: f64| at(x(v));
    let tall = if r.truth.is_some() { 74.0 } else { 52.0 };
    let apart = (x(r.now) - x(r.before)).abs();
    // too close for two labels: one label serves for both
    let word = match apart {
        a if a < 3.0 => "ruler-unchanged",
        a if a < 46.0 && r.now > r.before => "ruler-before-now",
        a if a < 46.0 => "ruler-now-before",
        _ => "ruler-now",
    };
    let middle = if apart < 46.0 { 0.5 * (x(r.now) + x(r.before)) } else { x(r.now) };
    let (a, b, d) = (s(r.low), s(r.high), s(r.default));
    let inside = html! {
        (path("axis", &format!("M{a} 38H{b}")))
        (path("stop", &format!("M{a} 29v18M{b} 29v18")))
        (path("stop", &format!("M{d} 38v-8")))
        (text(50.0, 42.0, "tick end", &(r.number)(r.low)))
        (text(370.0, 42.0, "tick", &(r.number)(r.high)))
        (path("bar", &format!("M{d} 38H{}", s(r.now))))
        @if apart >= 3.0 { (path("was", &format!("M{} 31l-6 -11h12z", s(r.before)))) }
        (path("now", &format!("M{} 33l-6.5 -12h13z", s(r.now))))
        @if apart >= 46.0 { (text(x(r.before), 14.0, "tick mid", &say("ruler-before"))) }
        (text(middle, 14.0, "label mid belief", &say(word)))
        @if let Some(truth) = r.truth {
            (path("ink", &format!("M{} 43l-7 13h14z", s(truth))))
            (text(x(truth), 70.0, "label mid truth", &say!("ruler-parts", value = (r.number)(truth))))
        }
    };
    picture(r.title, (420.0, tall), inside)
}

/// Terms that add up to the airflow asked for, one below the other, and the metered airflow \[g/s\].
pub(super) fn sum(title: &str, terms: &[(String, f64)], metered: f64) -> Markup {
    let mut from = 0.0;
    let mut spans: Vec<(String, f64, f64, &str)> = Vec::new();
    for (words, v) in terms {
        spans.push((words.clone(), from, from + v, if spans.is_empty() { "base" } else { "term" }));
        from += v;
    }
    spans.push((say("air-asked-for"), 0.0, from, "total"));
    spans.push((say("air-metered"), 0.0, metered, "got"));
    let ends = || spans.iter().flat_map(|s| [s.1, s.2]);
    let (low, high) = (ends().fold(0.0, f64::min), ends().fold(0.5, f64::max));
    let x = |v: f64| 130.0 + 480.0 * (v - low) / (high - low);
    let tall = 8.0 + 27.0 * spans.len() as f64;
    let rows = spans.iter().enumerate().map(|(k, (words, a, b, class))| {
        let y = 6.0 + 27.0 * k as f64;
        let (l, r) = (x(a.min(*b)), x(a.max(*b)));
        let value = if *class == "term" { signed_measured } else { measured }(b - a, "g/s", 2);
        html! {
            (text(122.0, y + 14.0, "label end", words))
            rect class=(class) x=(at(l)) y=(y) width=(at((r - l).max(0.8))) height="18" {}
            (text(r + 8.0, y + 14.0, "label", &value))
            @if k + 2 < spans.len() { (path("mark", &format!("M{} {}v9", at(x(*b)), y + 18.0))) }
        }
    });
    let inside = html! {
        defs {
            pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                path class="hatching" d="M0 0V6" {}
            }
        }
        (path("axis", &format!("M{} 2V{tall}", at(x(0.0)))))
        @for row in rows { (row) }
    };
    picture(title, (720.0, tall), inside)
}
