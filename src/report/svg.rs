//! Pictures in pencil and ink: belief dashed, measurement thin, truth bold. Coordinates are the picture's
//! own; colours and line kinds come from the page's style by class.

use super::{clock, fixed, html::escape};
use std::fmt::Write;

/// What draws a line.
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

/// One line of a chart. What is not finite is a gap.
pub(super) struct Curve {
    pub words: &'static str,
    pub pen: Pen,
    /// It is of the other of two futures: drawn with rings.
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
    pub words: &'static str,
    pub unit: &'static str,
    /// Always in sight.
    pub keep: (f64, f64),
    /// Nothing beyond is drawn in full.
    pub cap: (f64, f64),
    pub high: f64,
    pub curves: Vec<Curve>,
}

/// A moment marked on a chart: a number that the logbook explains, or words.
pub(super) struct Flag {
    pub at_s: f64,
    pub number: Option<usize>,
    pub words: Option<String>,
}

/// At most so many points, the highest and lowest of each stretch kept in their order.
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

/// A round step that divides a span into at most so many parts.
fn round_step(span: f64, parts: f64) -> f64 {
    let mut step = 0.001;
    for grow in [2.0, 2.5, 2.0].iter().cycle().take(40) {
        if span / step <= parts {
            break;
        }
        step *= grow;
    }
    step
}

/// A day \[s\].
const DAY_S: f64 = 86_400.0;
const WIDTH: f64 = 720.0;
const LEFT: f64 = 50.0;
const RIGHT: f64 = 584.0;
const TOP: f64 = 66.0;
const BETWEEN: f64 = 30.0;

/// A chart of one panel or several over the same time.
pub(super) fn chart(title: &str, panels: &[Panel], flags: &[Flag], to_s: f64) -> String {
    let to_s = to_s.max(1.0);
    let x = |t: f64| LEFT + (RIGHT - LEFT) * (t / to_s).clamp(0.0, 1.0);
    let words = place(flags, &x);
    let down = 14.0 * words.iter().map(|w| w.lane).max().unwrap_or(0).saturating_sub(1) as f64;
    let top = TOP + down;
    let bottom = top + panels.iter().map(|p| p.high + BETWEEN).sum::<f64>() - BETWEEN;
    let title = escape(title);
    let mut o = format!(
        "<svg viewBox=\"0 0 {WIDTH} {}\" role=\"img\" aria-label=\"{title}\"><title>{title}</title>",
        fixed(bottom + 24.0, 0)
    );
    // months are told by the day
    let days = to_s > 2.0 * DAY_S;
    let unit = if days { DAY_S } else { 1.0 };
    let steps = [1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0];
    let step =
        steps.iter().copied().find(|s| to_s / s <= 9.0).unwrap_or((to_s / 8.0 / 3600.0).ceil() * 3600.0);
    let day_steps = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 90.0, 180.0, 365.0];
    let day_step = day_steps.iter().copied().find(|s| to_s / DAY_S / s <= 9.0).unwrap_or(1000.0);
    let step = if days { day_step * DAY_S } else { step };
    let mut t = 0.0;
    while t <= to_s + 1e-6 {
        let at = fixed(x(t), 1);
        let _ = write!(
            o,
            "<path class=\"axis\" d=\"M{at} {}v5\"/><text x=\"{at}\" y=\"{}\" class=\"tick mid\">{}</text>",
            fixed(bottom, 1),
            fixed(bottom + 19.0, 1),
            if days { fixed(t / unit, if day_step < 1.0 { 1 } else { 0 }) } else { clock(t, false) }
        );
        t += step;
    }
    let _ = write!(
        o,
        "<text x=\"{}\" y=\"{}\" class=\"tick\">{}</text>",
        RIGHT + 22.0,
        fixed(bottom + 19.0, 1),
        if days { "days" } else { "min:s" }
    );
    draw_flags(&mut o, flags, &words, &x, (down, bottom));
    let mut top = top;
    for p in panels {
        draw_panel(&mut o, p, top, &x);
        top += p.high + BETWEEN;
    }
    o + "</svg>"
}

/// Words beside a mark, and where they found room.
struct Placed<'a> {
    words: &'a str,
    at: f64,
    from: f64,
    lane: usize,
}

/// Most lanes of words above a chart.
const LANES: usize = 4;

/// Words in lanes, so that a code beside the hand-over finds room; what has no number comes first.
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
    o: &mut String,
    flags: &[Flag],
    words: &[Placed<'_>],
    x: &dyn Fn(f64) -> f64,
    (down, bottom): (f64, f64),
) {
    for w in words {
        let _ = write!(
            o,
            "<path class=\"mark\" d=\"M{} {}V{}\"/><text x=\"{}\" y=\"{}\" class=\"note\">{}</text>",
            fixed(w.at, 1),
            fixed(14.0 * w.lane as f64 + 14.0, 1),
            fixed(bottom, 1),
            fixed(w.from, 1),
            fixed(14.0 * w.lane as f64 + 11.0, 1),
            escape(w.words)
        );
    }
    // numbers that stand too close share a flag
    let numbered: Vec<(f64, usize)> = flags.iter().filter_map(|f| Some((x(f.at_s), f.number?))).collect();
    let mut k = 0;
    while k < numbered.len() {
        let (at, first) = numbered[k];
        let mut text = first.to_string();
        // room for the flag, its own words and a gap
        while k + 1 < numbered.len() && numbered[k + 1].0 - at < 14.0 + 6.8 * text.chars().count() as f64 {
            k += 1;
            text = format!("{first}–{}", numbered[k].1);
        }
        k += 1;
        let _ = write!(
            o,
            "<path class=\"flag\" d=\"M{a} {}v-16h7l-2 3.5l2 3.5h-7\"/><text x=\"{}\" y=\"{}\" class=\"tick\">{text}</text>",
            fixed(50.0 + down, 0),
            fixed(at + 9.0, 1),
            fixed(43.0 + down, 0),
            a = fixed(at, 1)
        );
    }
}

fn draw_panel(o: &mut String, p: &Panel, top: f64, x: &dyn Fn(f64) -> f64) {
    let seen = p.curves.iter().flat_map(|c| c.points.iter().map(|q| q.1)).filter(|v| v.is_finite());
    let (mut low, mut high) = seen.fold(p.keep, |(a, b), v| (a.min(v), b.max(v)));
    (low, high) = (low.max(p.cap.0), high.min(p.cap.1));
    let step = round_step(high - low, 5.0);
    low = (low / step + 1e-6).floor() * step;
    high = (high / step - 1e-6).ceil() * step;
    let y = |v: f64| top + p.high * (1.0 - (v.clamp(low, high) - low) / (high - low));
    let places = [(1.0, 0), (0.1, 1), (0.01, 2)].iter().find(|s| step >= s.0 * 0.999).map_or(3, |s| s.1);
    for k in 0..=((high - low) / step).round() as u32 {
        let v = low + f64::from(k) * step;
        let at = y(v);
        let class = if v.abs() < step * 1e-6 { "axis" } else { "grid" };
        let _ = write!(
            o,
            "<path class=\"{class}\" d=\"M{LEFT} {}H{RIGHT}\"/><text x=\"{}\" y=\"{}\" class=\"tick end\">{}</text>",
            fixed(at, 1),
            LEFT - 6.0,
            fixed(at + 4.0, 1),
            fixed(v, places).replace('-', "−")
        );
    }
    let unit = if p.unit.is_empty() { String::new() } else { format!(", {}", p.unit) };
    let _ = write!(
        o,
        "<text x=\"{}\" y=\"{}\" class=\"panel\">{}{unit}</text>",
        LEFT + 4.0,
        fixed(top - 5.0, 1),
        p.words
    );
    // truth below, so that the thin line over it can be read
    let mut order: Vec<&Curve> = p.curves.iter().collect();
    order.sort_by_key(|c| c.pen != Pen::Truth);
    for c in order {
        let mut d = String::new();
        let mut down = false;
        for (t, v) in thin(&c.points, 700) {
            if v.is_finite() {
                let _ = write!(d, "{}{} {}", if down { 'L' } else { 'M' }, fixed(x(t), 1), fixed(y(v), 1));
            }
            down = v.is_finite();
        }
        let _ = write!(o, "<path class=\"line {}\" d=\"{d}\"/>", c.class());
        if c.other {
            rings(o, c, x, &y);
        }
    }
    let last = |c: &Curve| c.points.iter().rev().find(|q| q.1.is_finite()).map_or(low, |q| q.1);
    let mut labels: Vec<(f64, &Curve)> = p.curves.iter().map(|c| (y(last(c)), c)).collect();
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut free = top;
    for l in &mut labels {
        l.0 = l.0.max(free);
        free = l.0 + 15.0;
    }
    let over = (free - 15.0 - (top + p.high)).max(0.0);
    for (at, c) in labels {
        let at = at - over;
        let ring = if c.other {
            format!("<circle class=\"ring\" cx=\"{}\" cy=\"{}\" r=\"3\"/>", RIGHT + 14.0, fixed(at, 1))
        } else {
            String::new()
        };
        let _ = write!(
            o,
            "<path class=\"line {class}\" d=\"M{} {a}h18\"/>{ring}<text x=\"{}\" y=\"{}\" class=\"label {class}\">{}</text>",
            RIGHT + 5.0,
            RIGHT + 27.0,
            fixed(at + 4.0, 1),
            c.words,
            class = c.class(),
            a = fixed(at, 1)
        );
    }
}

/// Rings along a curve, so that two lines of one kind are told apart without colour.
fn rings(o: &mut String, c: &Curve, x: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) {
    let mut next = LEFT + 20.0;
    for (t, v) in c.points.iter().filter(|q| q.1.is_finite()) {
        let at = x(*t);
        if at >= next {
            let (at, y) = (fixed(at, 1), fixed(y(*v), 1));
            let _ = write!(o, "<circle class=\"ring\" cx=\"{at}\" cy=\"{y}\" r=\"3\"/>");
            next += 44.0;
        }
    }
}

/// Style of a picture that stands by itself, on a light ground.
const ALONE: &str = "text{font:12px system-ui,sans-serif;fill:#22272D}.tick{fill:#565E67;font-size:11.5px}.panel{fill:#565E67}\
.mid{text-anchor:middle}.end{text-anchor:end}.label{font-weight:600}path{fill:none}.grid{stroke:#CFC8B8}.axis{stroke:#6C7278}\
.mark{stroke:#6C7278;stroke-dasharray:1 3}.flag{stroke:#565E67}.line{stroke-linejoin:round}\
path.belief{stroke:#3F5278;stroke-width:1.8;stroke-dasharray:7 4}path.dots{stroke-dasharray:2 3}\
path.meas{stroke:#1F6B66;stroke-width:1.2}path.truth{stroke:#14181C;stroke-width:2.6}path.other{stroke:#A83A14}\
text.belief{fill:#3F5278}text.meas{fill:#1F6B66}text.truth{fill:#14181C}text.other{fill:#A83A14}\
.ring{fill:#FBF9F4;stroke:#A83A14;stroke-width:1.4}";

/// The same chart as a file of its own, with a line of words under it.
pub(super) fn alone(title: &str, panels: &[Panel], flags: &[Flag], to_s: f64, words: &str) -> String {
    let inner = chart(title, panels, flags, to_s);
    let high = TOP + panels.iter().map(|p| p.high + BETWEEN).sum::<f64>() + 60.0;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-14 -34 {w} {h}\" width=\"{w}\" height=\"{h}\"><style>{ALONE}</style>\
         <rect x=\"-14\" y=\"-34\" width=\"{w}\" height=\"{h}\" fill=\"#FBF9F4\"/>\
         <text x=\"0\" y=\"-12\" style=\"font-size:16px;font-weight:600\">{}</text>{}\
         <text class=\"tick\" x=\"0\" y=\"{}\">{}</text></svg>\n",
        escape(title),
        inner.replacen("<svg ", &format!("<svg x=\"0\" y=\"0\" width=\"{WIDTH}\" "), 1),
        fixed(high - 48.0, 0),
        escape(words),
        w = WIDTH + 28.0,
        h = fixed(high, 0),
    )
}

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
pub(super) fn ruler(r: &Ruler) -> String {
    let title = escape(r.title);
    let all = [Some(r.low), Some(r.high), Some(r.before), Some(r.now), r.truth];
    let all = || all.iter().flatten().copied().filter(|v| v.is_finite());
    let (from, to) = (all().fold(r.low, f64::min), all().fold(r.high, f64::max));
    let x = |v: f64| 58.0 + 304.0 * ((v - from) / (to - from).max(1e-9)).clamp(0.0, 1.0);
    let s = |v: f64| fixed(x(v), 1);
    let tall = if r.truth.is_some() { 74 } else { 52 };
    let mut o = format!(
        "<svg viewBox=\"0 0 420 {tall}\" role=\"img\" aria-label=\"{title}\"><title>{title}</title>\
         <path class=\"axis\" d=\"M{a} 38H{b}\"/><path class=\"stop\" d=\"M{a} 29v18M{b} 29v18\"/>\
         <path class=\"stop\" d=\"M{d} 38v-8\"/>\
         <text x=\"50\" y=\"42\" class=\"tick end\">{low}</text><text x=\"370\" y=\"42\" class=\"tick\">{high}</text>\
         <path class=\"bar\" d=\"M{d} 38H{n}\"/>",
        a = s(r.low),
        b = s(r.high),
        d = s(r.default),
        n = s(r.now),
        low = (r.number)(r.low),
        high = (r.number)(r.high)
    );
    let apart = (x(r.now) - x(r.before)).abs();
    if apart >= 3.0 {
        let _ = write!(o, "<path class=\"was\" d=\"M{} 31l-6 -11h12z\"/>", s(r.before));
    }
    let _ = write!(o, "<path class=\"now\" d=\"M{} 33l-6.5 -12h13z\"/>", s(r.now));
    if apart >= 46.0 {
        let _ = write!(o, "<text x=\"{}\" y=\"14\" class=\"tick mid\">before</text>", s(r.before));
    }
    // too close for two words: one that stands for both
    let word = match apart {
        a if a < 3.0 => "unchanged",
        a if a < 46.0 && r.now > r.before => "before, now",
        a if a < 46.0 => "now, before",
        _ => "now",
    };
    let middle = if apart < 46.0 { 0.5 * (x(r.now) + x(r.before)) } else { x(r.now) };
    let _ = write!(o, "<text x=\"{}\" y=\"14\" class=\"label mid belief\">{word}</text>", fixed(middle, 1));
    if let Some(truth) = r.truth {
        let _ = write!(
            o,
            "<path class=\"ink\" d=\"M{t} 43l-7 13h14z\"/>\
             <text x=\"{t}\" y=\"70\" class=\"label mid truth\">the parts: {}</text>",
            (r.number)(truth),
            t = s(truth)
        );
    }
    o + "</svg>"
}

/// Terms that add to what is asked for, one below the other, and what was metered.
pub(super) fn sum(title: &str, terms: &[(&str, f64)], measured: (&str, f64)) -> String {
    let mut at = 0.0;
    let mut spans: Vec<(&str, f64, f64, &str)> = Vec::new();
    for (words, v) in terms {
        spans.push((words, at, at + v, if spans.is_empty() { "base" } else { "term" }));
        at += v;
    }
    spans.push(("asks for", 0.0, at, "total"));
    spans.push((measured.0, 0.0, measured.1, "got"));
    let ends = || spans.iter().flat_map(|s| [s.1, s.2]);
    let (from, to) = (ends().fold(0.0, f64::min), ends().fold(0.5, f64::max));
    let x = |v: f64| 130.0 + 480.0 * (v - from) / (to - from);
    let title = escape(title);
    let tall = 8 + 27 * spans.len();
    let mut o = format!(
        "<svg viewBox=\"0 0 {WIDTH} {tall}\" role=\"img\" aria-label=\"{title}\"><title>{title}</title>\
         <defs><pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><path class=\"hatching\" d=\"M0 0V6\"/></pattern></defs>\
         <path class=\"axis\" d=\"M{z} 2V{tall}\"/>",
        z = fixed(x(0.0), 1)
    );
    for (k, (words, a, b, class)) in spans.iter().enumerate() {
        let y = 6 + 27 * k;
        let (l, r) = (x(a.min(*b)), x(a.max(*b)));
        let value = if matches!(*class, "term") { super::signed(b - a, 2) } else { fixed(b - a, 2) };
        let _ = write!(
            o,
            "<text x=\"122\" y=\"{}\" class=\"label end\">{words}</text>\
             <rect class=\"{class}\" x=\"{}\" y=\"{y}\" width=\"{}\" height=\"18\"/>\
             <text x=\"{}\" y=\"{}\" class=\"label\">{} g/s</text>",
            y + 14,
            fixed(l, 1),
            fixed((r - l).max(0.8), 1),
            fixed(r + 8.0, 1),
            y + 14,
            value.replace('-', "−")
        );
        if k + 1 < spans.len() - 1 {
            let _ = write!(o, "<path class=\"mark\" d=\"M{} {}v9\"/>", fixed(x(*b), 1), y + 18);
        }
    }
    o + "</svg>"
}
