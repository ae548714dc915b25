//! The picture of the detection curves: an SVG file of its own, to look at and to print.
//!
//! *Inside*: two panels over engine speed, real misfires found and false counts. *Outside*: counting (the caller
//! supplies the points), drawing lines, ticks and words (`svg`), files. The same points give the same bytes.
//!
//! The line style tells a learned wheel (solid) from an unlearned one (dashed), the marker tells low load (a disc)
//! from high load (a square); every line has its description at its end, so that nothing depends on colour. The
//! picture carries its own style and a light background, and refers to nothing outside itself.

use super::svg::{alone, at, disc, level, line, path, spread, text, tick_below};
use crate::words::numbers::number;
use crate::words::say;
use maud::{Markup, html};

/// One operating point: speed and load.
#[derive(Debug, Clone, PartialEq)]
pub struct Detection {
    /// Speed \[rpm\].
    pub rpm: f64,
    /// The lower of two loads.
    pub low: bool,
    /// Real misfires found on the right cylinder \[%\]: wheel learned, wheel not learned.
    pub found_pct: [f64; 2],
    /// False counts in 1000 revolutions: wheel learned, wheel not learned.
    pub wrong_per_1000: [f64; 2],
}

/// The data of the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves<'a> {
    /// The car.
    pub car: &'a str,
    /// Number of engines, each with parts of its own.
    pub engines: usize,
    /// Revolutions watched for false counts, per engine and point.
    pub turns: f64,
    /// Share of sparks suppressed \[%\].
    pub share_pct: f64,
    /// Points; those that could not be held are left out.
    pub points: Vec<Detection>,
}

const WIDTH: f64 = 1202.0;
const TALL: f64 = 396.0;
const TOP: f64 = 58.0;
const BOTTOM: f64 = 338.0;
/// Left edges of the panels, and the width of each without the text at its lines' ends.
const LEFT: [f64; 2] = [44.0, 666.0];
const WIDE: f64 = 330.0;
/// Width that a line's text needs.
const WORDS: f64 = 15.0;

/// Draws the curves.
pub fn curves_svg(c: &Curves<'_>) -> String {
    let reach = c.points.iter().map(|p| p.rpm).fold(1000.0, f64::max);
    let to_rpm = 1000.0 * (reach / 1000.0).ceil();
    let floor = floor_of(c);
    let top = c.points.iter().flat_map(|p| p.wrong_per_1000).fold(floor, f64::max);
    let mut decades = 1;
    while floor * ten_to(decades) < top * 0.999 {
        decades += 1;
    }
    let inside = html! {
        (panel(c, LEFT[0], to_rpm, &Scale::Share))
        (panel(c, LEFT[1], to_rpm, &Scale::Decades { floor, decades }))
    };
    let watched = say!("curves-watched", engines = c.engines as u32, turns = number(c.turns, 0));
    let title = say!("curves-heading", car = c.car);
    alone(&title, (WIDTH, TALL), inside, &[watched, say("curves-key")])
}

/// Half of one false count among all revolutions watched at a point, rounded down to a decade. Anything below was
/// never observed, and is drawn at the bottom of the scale; a single observed count is clearly above it.
fn floor_of(c: &Curves<'_>) -> f64 {
    let one = 1000.0 / (c.turns * c.engines.max(1) as f64).max(1.0);
    let mut floor = 1.0;
    while floor > 0.5 * one && floor > 1e-9 {
        floor /= 10.0;
    }
    floor
}

fn ten_to(n: i32) -> f64 {
    (0..n).fold(1.0, |x, _| x * 10.0)
}

enum Scale {
    /// 0 to 100 %.
    Share,
    /// Decades above a floor that means: none observed.
    Decades { floor: f64, decades: i32 },
}

impl Scale {
    /// Height within the panel as a share, from the bottom.
    fn up(&self, v: f64) -> f64 {
        match self {
            Scale::Share => (v / 100.0).clamp(0.0, 1.0),
            Scale::Decades { floor, decades } => {
                if v <= *floor {
                    return 0.0;
                }
                let (mut n, mut x) = (0, v / floor);
                while x >= 10.0 {
                    x /= 10.0;
                    n += 1;
                }
                (f64::from(n) + log10_of(x)).min(f64::from(*decades)) / f64::from(*decades)
            }
        }
    }
    fn value(&self, p: &Detection, which: usize) -> f64 {
        match self {
            Scale::Share => p.found_pct[which],
            Scale::Decades { .. } => p.wrong_per_1000[which],
        }
    }
    /// The panel's heading.
    fn heading(&self, c: &Curves<'_>) -> String {
        match self {
            // one spark in this many
            Scale::Share => say!("curves-found", one_in = number(100.0 / c.share_pct.max(1e-6), 0)),
            Scale::Decades { .. } => say("curves-wrong"),
        }
    }
    /// Lines of the grid with their words.
    fn ticks(&self) -> Vec<(f64, String)> {
        match self {
            Scale::Share => (0..=5).map(|k| f64::from(20 * k)).map(|v| (v, number(v, 0))).collect(),
            Scale::Decades { floor, decades } => (0..=*decades)
                .map(|k| {
                    let v = floor * ten_to(k);
                    let places = (0..9).find(|n| v * ten_to(*n) > 0.999).unwrap_or(9);
                    let words = if k == 0 { say("curves-none-seen") } else { number(v, places as usize) };
                    (v, words)
                })
                .collect(),
        }
    }
}

/// log10 of 1 to 10, by repeated squaring: twenty binary places.
fn log10_of(x: f64) -> f64 {
    let (mut x, mut out, mut bit) = (x, 0.0, 0.5);
    for _ in 0..20 {
        x *= x;
        if x >= 10.0 {
            x /= 10.0;
            out += bit;
        }
        bit *= 0.5;
    }
    out
}

/// A line of a panel: wheel learned or not, load, its points in picture coordinates.
struct Drawn {
    learned: bool,
    low: bool,
    points: Vec<(f64, f64)>,
}

impl Drawn {
    fn class(&self) -> &'static str {
        if self.learned { "known" } else { "unknown" }
    }
    fn words(&self) -> String {
        say(match (self.learned, self.low) {
            (true, true) => "curves-learned-low",
            (true, false) => "curves-learned-high",
            (false, true) => "curves-not-learned-low",
            (false, false) => "curves-not-learned-high",
        })
    }
    fn mark(&self, x: f64, y: f64) -> Markup {
        let class = format!("dot {}", self.class());
        if self.low {
            return disc(&class, x, y, 4.0);
        }
        html! { rect class=(class) x=(at(x - 3.8)) y=(at(y - 3.8)) width="7.6" height="7.6" {} }
    }
}

fn panel(c: &Curves<'_>, left: f64, to_rpm: f64, scale: &Scale) -> Markup {
    let x = |rpm: f64| left + WIDE * (rpm / to_rpm).clamp(0.0, 1.0);
    let y = |v: f64| BOTTOM - (BOTTOM - TOP) * scale.up(v);
    let every = if to_rpm > 4000.0 { 2000.0 } else { 1000.0 };
    let ticks = std::iter::successors(Some(0.0), |r| Some(r + every)).take_while(|r| *r <= to_rpm + 1.0);
    // unlearned lines are drawn first, so that the learned lines remain readable over them
    let drawn = [(false, true), (false, false), (true, true), (true, false)].map(|(learned, low)| {
        let value = |p: &Detection| scale.value(p, usize::from(!learned));
        let points = c.points.iter().filter(|p| p.low == low).map(|p| (x(p.rpm), y(value(p)))).collect();
        Drawn { learned, low, points }
    });
    // text beside the ends, pushed apart where lines meet
    let mut ends: Vec<(f64, (f64, f64), &Drawn)> =
        drawn.iter().filter_map(|d| d.points.last().map(|p| (p.1, *p, d))).collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    spread(ends.iter_mut().map(|e| &mut e.0), (TOP - 8.0, BOTTOM), WORDS);
    let to = left + WIDE + 16.0;
    html! {
        (text(left - 34.0, TOP - 22.0, "label", &scale.heading(c)))
        @for (v, words) in scale.ticks() {
            (level((left, left + WIDE), y(v), scale.up(v) == 0.0, &words))
        }
        @for rpm in ticks { (tick_below(x(rpm), BOTTOM, &number(rpm, 0))) }
        (text(left + 0.5 * WIDE, BOTTOM + 40.0, "tick mid", &say("curves-speed")))
        @for d in drawn.iter().filter(|d| !d.points.is_empty()) {
            (line(&format!("line {}", d.class()), d.points.iter().copied()))
            @for (x, y) in &d.points { (d.mark(*x, *y)) }
        }
        @for (height, (x, y), d) in &ends {
            (path("lead", &format!("M{} {}L{} {}", at(x + 6.0), at(*y), at(to), at(*height))))
            (d.mark(to + 6.0, *height))
            (text(to + 16.0, height + 4.5, &format!("label {}", d.class()), &d.words()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Well-formed as far as this picture goes: every tag that opens is closed in the right order, attributes are
    /// quoted, and text holds no character that would have to be escaped.
    fn well_formed(xml: &str) -> Result<usize, String> {
        let (mut open, mut rest, mut tags) = (Vec::new(), xml.trim_end(), 0);
        while let Some(from) = rest.find('<') {
            let text = &rest[..from];
            if text.contains('>') || text.split('&').skip(1).any(|t| !t.contains(';')) {
                return Err(format!("text `{text}`"));
            }
            if open.is_empty() && !text.trim().is_empty() {
                return Err(format!("text outside: `{text}`"));
            }
            let to = rest[from..].find('>').ok_or("a tag without an end")? + from;
            let tag = &rest[from + 1..to];
            tags += 1;
            if let Some(name) = tag.strip_prefix('/') {
                if open.pop() != Some(name) {
                    return Err(format!("`{name}` closes what is not open"));
                }
            } else {
                let body = tag.strip_suffix('/').unwrap_or(tag);
                let name = body.split(' ').next().unwrap_or("");
                let quoted: Vec<&str> = body.split('"').collect();
                if quoted.len().is_multiple_of(2)
                    || quoted.iter().skip(2).step_by(2).any(|s| !s.is_empty() && !s.starts_with(' '))
                {
                    return Err(format!("quotes in `{body}`"));
                }
                if name.is_empty() || tags > 1 && open.is_empty() {
                    return Err(format!("`{body}` stands wrong"));
                }
                if !tag.ends_with('/') {
                    open.push(name);
                }
            }
            rest = &rest[to + 1..];
        }
        if open.is_empty() && rest.is_empty() {
            Ok(tags)
        } else {
            Err(format!("left open: {open:?} `{rest}`"))
        }
    }

    fn made_up(car: &str) -> Curves<'_> {
        let points = [(720.0, 99.0, 99.5), (2000.0, 98.0, 97.0), (3000.0, 97.0, 80.0), (6000.0, 70.0, 20.0)];
        let both = |low: bool| {
            points.iter().map(move |(rpm, a, b)| Detection {
                rpm: *rpm,
                low,
                found_pct: if low { [*a, *b] } else { [a + 0.5, b + 5.0] },
                wrong_per_1000: [
                    if *rpm > 5000.0 { 0.4 } else { 0.0 },
                    (rpm - 720.0) / if low { 20.0 } else { 90.0 },
                ],
            })
        };
        let points = both(true).chain(both(false)).collect();
        Curves { car, engines: 20, turns: 10_000.0, share_pct: 2.0, points }
    }

    #[test]
    fn holds_the_picture_is_whole() {
        let svg = curves_svg(&made_up("Plover & <Sons>"));
        let tags = well_formed(&svg).expect("well-formed");
        assert!(tags > 60, "{tags} tags");
        assert_eq!(svg, curves_svg(&made_up("Plover & <Sons>")), "same points, same bytes");
        let named = svg.replacen("xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
        for bad in ["http", "url(", "href", "src=", "@import", "<script", "<image", "<!", "<?", "NaN", "inf"]
        {
            assert!(!named.contains(bad), "{bad}");
        }
        assert!(svg.contains("Plover &amp; &lt;Sons&gt;") && svg.contains("20 engines"), "the caption");
        // every line: eight drawn, eight with their words
        assert_eq!(svg.matches("<path class=\"line ").count(), 8);
        assert_eq!(svg.matches("learned, low load").count(), 4);
        assert_eq!(svg.matches("not learned, high load").count(), 2);
    }

    /// The checker of this test does detect faults.
    #[test]
    fn trips_what_is_not_well_formed() {
        assert_eq!(well_formed("<a b=\"1\"><c/>x &amp; y</a>"), Ok(3));
        for bad in ["<a>", "<a></b>", "<a b=1\"></a>", "<a/><b/>", "<a>x & y</a>", "<a>></a>", "<a"] {
            assert!(well_formed(bad).is_err(), "{bad}");
        }
    }

    /// By hand: one count by 20 engines in 10 000 revolutions each is one in 200 000, or 0.005 in 1000; half of it is
    /// 0.0025, so the floor is 0.001. A value of 0.1 is two decades above the floor, the square root of ten times
    /// that value two and a half.
    #[test]
    fn exact_decades() {
        assert!((floor_of(&made_up("x")) - 1e-3).abs() < 1e-12);
        let s = Scale::Decades { floor: 1e-3, decades: 5 };
        for (v, up) in [(0.0, 0.0), (1e-3, 0.0), (0.1, 0.4), (0.316_227_77, 0.5), (100.0, 1.0), (1e4, 1.0)] {
            assert!((s.up(v) - up).abs() < 1e-5, "{v}: {}", s.up(v));
        }
    }

    /// Points that could not be held are left out; a picture without points is still valid.
    #[test]
    fn holds_without_points() {
        let none = Curves { points: Vec::new(), ..made_up("x") };
        assert!(well_formed(&curves_svg(&none)).is_ok());
    }
}
