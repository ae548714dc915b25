//! Pictures in pencil and ink: belief dashed, measurement thin, truth bold. Coordinates are the picture's own;
//! colours and line styles come from the page's style sheet by class.
//!
//! *Inside*: the one way to draw lines, scales, ticks and text at lines' ends; a picture as a file of its own.
//! *Outside*: charts over time (`time_chart`), the curves of a chart.

use super::cells::fixed;
use super::page::printable;
use maud::{Markup, PreEscaped, html};
use std::fmt::Write;

/// A coordinate.
pub(super) fn at(x: f64) -> String {
    fixed(x, 1)
}

/// A path.
pub(super) fn path(class: &str, d: &str) -> Markup {
    html! { path class=(class) d=(d) {} }
}

/// Words.
pub(super) fn text(x: f64, y: f64, class: &str, words: &str) -> Markup {
    html! { text x=(at(x)) y=(at(y)) class=(class) { (words) } }
}

/// A line through points; a point that is not finite leaves a gap.
pub(super) fn line(class: &str, points: impl IntoIterator<Item = (f64, f64)>) -> Markup {
    let mut d = String::new();
    let mut down = false;
    for (x, y) in points {
        if y.is_finite() {
            let _ = write!(d, "{}{} {}", if down { 'L' } else { 'M' }, at(x), at(y));
        }
        down = y.is_finite();
    }
    path(class, &d)
}

/// A grid line with its number to the left.
pub(super) fn level((left, right): (f64, f64), y: f64, floor: bool, words: &str) -> Markup {
    html! {
        (path(if floor { "axis" } else { "grid" }, &format!("M{left} {}H{right}", at(y))))
        (text(left - 6.0, y + 4.0, "tick end", words))
    }
}

/// A tick below a panel with its number.
pub(super) fn tick_below(x: f64, bottom: f64, words: &str) -> Markup {
    html! { (path("axis", &format!("M{} {}v5", at(x), at(bottom)))) (text(x, bottom + 19.0, "tick mid", words)) }
}

/// A ring or a disc.
pub(super) fn disc(class: &str, x: f64, y: f64, r: f64) -> Markup {
    html! { circle class=(class) cx=(at(x)) cy=(at(y)) r=(r) {} }
}

/// A text escaped for use in markup that is assembled elsewhere.
pub fn escaped(text: &str) -> String {
    html! { (text) }.into_string()
}

/// Heights of the texts at lines' ends, pushed apart where lines meet; sorted from the top.
pub(super) fn spread<'h>(
    heights: impl DoubleEndedIterator<Item = &'h mut f64> + ExactSizeIterator,
    (top, bottom): (f64, f64),
    apart: f64,
) {
    let mut all: Vec<&mut f64> = heights.collect();
    let mut free = top;
    for h in &mut all {
        **h = h.max(free);
        free = **h + apart;
    }
    let mut room = bottom;
    for h in all.iter_mut().rev() {
        **h = h.min(room);
        room = **h - apart;
    }
}

/// A round step that divides a span into at most this many parts.
pub(super) fn round_step(span: f64, parts: f64) -> f64 {
    let mut step = 0.001;
    for grow in [2.0, 2.5, 2.0].iter().cycle().take(40) {
        if span / step <= parts {
            break;
        }
        step *= grow;
    }
    step
}

/// A picture inside a page.
pub(super) fn picture(title: &str, (wide, tall): (f64, f64), inside: Markup) -> Markup {
    html! {
        svg viewBox={ "0 0 " (wide) " " (fixed(tall, 0)) } role="img" aria-label=(title) { title { (title) } (inside) }
    }
}

/// Style of a stand-alone picture, on a light background.
const STYLE: &str = "text{font:12px system-ui,sans-serif;fill:#22272D}.tick{fill:#565E67;font-size:11.5px}.panel{fill:#565E67}\
.mid{text-anchor:middle}.end{text-anchor:end}.label{font-weight:600}path{fill:none}.grid{stroke:#CFC8B8}.axis{stroke:#6C7278}\
rect.rest{fill:#CFC8B8;opacity:.45}.mark{stroke:#6C7278;stroke-dasharray:1 3}.flag{stroke:#565E67}.line{stroke-linejoin:round}\
path.belief{stroke:#3F5278;stroke-width:1.8;stroke-dasharray:7 4}path.dots{stroke-dasharray:2 3}\
path.meas{stroke:#1F6B66;stroke-width:1.2}path.truth{stroke:#14181C;stroke-width:2.6}path.other{stroke:#A83A14}\
text.belief{fill:#3F5278}text.meas{fill:#1F6B66}text.truth{fill:#14181C}text.other{fill:#A83A14}\
.ring{fill:#FBF9F4;stroke:#A83A14;stroke-width:1.4}.head{font-size:16px;font-weight:600}.lead{stroke:#CFC8B8;stroke-width:.8}\
path.known{stroke:#14181C;stroke-width:2.2}path.unknown{stroke:#A83A14;stroke-width:2.2;stroke-dasharray:7 4}\
text.unknown{fill:#A83A14}.dot{stroke-width:1.8}.dot.known{fill:#14181C;stroke:#14181C}.dot.unknown{fill:#FBF9F4;stroke:#A83A14}";

/// A picture as a file of its own on a light background: its heading above, lines of text below.
pub(super) fn alone(title: &str, (wide, tall): (f64, f64), inside: Markup, below: &[String]) -> String {
    let (w, h) = (wide + 28.0, tall + 48.0 + 18.0 * below.len() as f64);
    printable(html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "-14 -34 " (w) " " (fixed(h, 0)) } width=(w) height=(fixed(h, 0))
            role="img" {
            title { (title) }
            style { (PreEscaped(STYLE)) }
            rect x="-14" y="-34" width=(w) height=(fixed(h, 0)) fill="#FBF9F4" {}
            (text(0.0, -12.0, "head", title))
            (inside)
            @for (k, words) in below.iter().enumerate() { (text(0.0, tall + 20.0 + 18.0 * k as f64, "tick", words)) }
        }
    }) + "\n"
}
