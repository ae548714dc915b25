//! The picture of the detection curves: an SVG file of its own, to look at and to print.
//!
//! *Inside*: two panels over engine speed, real misfires found and false counts. *Outside*: counting (the caller
//! hands in points), files. Same points, same bytes.
//!
//! Line kind tells a learned wheel (drawn through) from one not learned (dashed), the mark tells low load (a disc)
//! from high (a square); every line has its words at its end, so that nothing hangs on colour. The picture carries
//! its own style and a light ground, and names nothing outside itself.

use super::{fixed, html::escape};
use std::fmt::Write;

/// One speed and load.
#[derive(Debug, Clone, PartialEq)]
pub struct Detection {
    /// Speed \[rpm\].
    pub rpm: f64,
    /// The lower of two loads.
    pub low: bool,
    /// Real misfires found on the right cylinder \[%\]: wheel learned, not learned.
    pub found_pct: [f64; 2],
    /// False counts in 1000 turns: wheel learned, not learned.
    pub wrong_per_1000: [f64; 2],
}

/// What the picture is of.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves<'a> {
    /// The car.
    pub car: &'a str,
    /// Engines with parts of their own.
    pub engines: usize,
    /// Turns watched for false counts on each and at each point.
    pub turns: f64,
    /// Share of sparks swallowed \[%\].
    pub share_pct: f64,
    /// Points; those where nothing could be held are left out.
    pub points: Vec<Detection>,
}

const WIDTH: f64 = 1230.0;
const TALL: f64 = 470.0;
const TOP: f64 = 92.0;
const BOTTOM: f64 = 372.0;
/// Left ends of the panels, and how wide each is without the words at its lines' ends.
const LEFT: [f64; 2] = [58.0, 680.0];
const WIDE: f64 = 330.0;
/// What a line's own words need.
const WORDS: f64 = 15.0;

const STYLE: &str = "text{font:13px system-ui,sans-serif;fill:#22272D}.t{font-size:17px;font-weight:600;fill:#14181C}\
.s{fill:#565E67}.m{text-anchor:middle}.e{text-anchor:end}.g{stroke:#CFC8B8}.a{stroke:#6C7278}path{fill:none}\
.c{stroke-width:2.2;stroke-linejoin:round}.k{stroke:#14181C}.n{stroke:#A83A14;stroke-dasharray:7 4}\
.h{stroke:#CFC8B8;stroke-width:.8}.dk{fill:#14181C;stroke:#14181C}.dn{fill:#FBF9F4;stroke:#A83A14;stroke-width:1.8}\
.lk{font-weight:600;fill:#14181C}.ln{font-weight:600;fill:#A83A14}";

/// Draws the curves.
pub fn curves_svg(c: &Curves<'_>) -> String {
    let title = escape(&format!("{}: how well misfires are told", c.car));
    let mut o = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {TALL}\" width=\"{WIDTH}\" \
         height=\"{TALL}\" role=\"img\"><title>{title}</title><style>{STYLE}</style>\
         <rect width=\"{WIDTH}\" height=\"{TALL}\" fill=\"#FBF9F4\"/><text class=\"t\" x=\"{l}\" y=\"32\">{title}</text>",
        l = LEFT[0] - 34.0
    );
    let reach = c.points.iter().map(|p| p.rpm).fold(1000.0, f64::max);
    let to_rpm = 1000.0 * (reach / 1000.0).ceil();
    let floor = floor_of(c);
    let top = c.points.iter().flat_map(|p| p.wrong_per_1000).fold(floor, f64::max);
    let mut decades = 1;
    while floor * ten_to(decades) < top * 0.999 {
        decades += 1;
    }
    panel(&mut o, c, 0, to_rpm, &Scale::Share);
    panel(&mut o, c, 1, to_rpm, &Scale::Decades { floor, decades });
    let _ = write!(
        o,
        "<text class=\"s\" x=\"{l}\" y=\"{}\">{} engine{}, each with parts and a wheel of its own; {} turns watched \
         for false counts on each and at each point, a quarter of that for misfires.</text>\
         <text class=\"s\" x=\"{l}\" y=\"{}\">Drawn through: wheel learned. Dashed: not learned. Disc: low load. Square: \
         high load. A simplified model of a made-up car.</text>",
        fixed(TALL - 34.0, 0),
        c.engines,
        if c.engines == 1 { "" } else { "s" },
        fixed(c.turns, 0),
        fixed(TALL - 14.0, 0),
        l = LEFT[0] - 34.0
    );
    o + "</svg>\n"
}

/// Half of one false count among all turns that were watched at a point, rounded down to a decade: what is less was
/// never seen, and stands on the floor of the scale; one that was seen stands clear of it.
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
    /// Decades above a floor that stands for nothing seen.
    Decades { floor: f64, decades: i32 },
}

impl Scale {
    /// Share of the panel's height, from below.
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
    /// Lines of the grid with their words.
    fn ticks(&self) -> Vec<(f64, String)> {
        match self {
            Scale::Share => (0..=5).map(|k| f64::from(20 * k)).map(|v| (v, fixed(v, 0))).collect(),
            Scale::Decades { floor, decades } => (0..=*decades)
                .map(|k| {
                    let v = floor * ten_to(k);
                    let places = (0..9).find(|n| v * ten_to(*n) > 0.999).unwrap_or(9);
                    let words = if k == 0 { "none seen".into() } else { fixed(v, places as usize) };
                    (v, words)
                })
                .collect(),
        }
    }
}

/// log10 of 1 to 10, by squaring: twenty binary places.
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

fn panel(o: &mut String, c: &Curves<'_>, which: usize, to_rpm: f64, scale: &Scale) {
    let left = LEFT[which];
    let x = |rpm: f64| left + WIDE * (rpm / to_rpm).clamp(0.0, 1.0);
    let y = |v: f64| BOTTOM - (BOTTOM - TOP) * scale.up(v);
    let words = match scale {
        Scale::Share => format!("Real misfires found, % (one spark in {} swallowed)", per(c.share_pct)),
        Scale::Decades { .. } => "False counts in 1000 turns of a healthy engine".into(),
    };
    let _ = write!(
        o,
        "<text class=\"lk\" x=\"{}\" y=\"{}\">{words}</text>",
        fixed(left - 34.0, 0),
        fixed(TOP - 22.0, 0)
    );
    for (v, words) in scale.ticks() {
        let at = fixed(y(v), 1);
        let class = if scale.up(v) == 0.0 { "a" } else { "g" };
        let _ = write!(
            o,
            "<path class=\"{class}\" d=\"M{left} {at}h{WIDE}\"/><text class=\"s e\" x=\"{}\" y=\"{}\">{words}</text>",
            fixed(left - 7.0, 1),
            fixed(y(v) + 4.5, 1)
        );
    }
    let mut rpm = 0.0;
    while rpm <= to_rpm + 1.0 {
        let at = fixed(x(rpm), 1);
        let _ = write!(
            o,
            "<path class=\"a\" d=\"M{at} {b}v5\"/><text class=\"s m\" x=\"{at}\" y=\"{}\">{}</text>",
            fixed(BOTTOM + 20.0, 0),
            fixed(rpm, 0),
            b = fixed(BOTTOM, 0)
        );
        rpm += if to_rpm > 4000.0 { 2000.0 } else { 1000.0 };
    }
    let _ = write!(
        o,
        "<text class=\"s m\" x=\"{}\" y=\"{}\">engine speed, rpm</text>",
        fixed(left + 0.5 * WIDE, 0),
        fixed(BOTTOM + 40.0, 0)
    );
    let mut ends: Vec<(f64, f64, f64, usize, bool)> = Vec::new();
    // what is not learned below, so that the learned lines can be read over it
    for (learned, low) in [(1, true), (1, false), (0, true), (0, false)] {
        let points: Vec<(f64, f64)> = c
            .points
            .iter()
            .filter(|p| p.low == low)
            .map(|p| (x(p.rpm), y(scale.value(p, learned))))
            .collect();
        let Some(last) = points.last() else { continue };
        let d: Vec<String> =
            points.iter().map(|(x, y)| format!("{} {}", fixed(*x, 1), fixed(*y, 1))).collect();
        let _ = write!(o, "<path class=\"c {}\" d=\"M{}\"/>", ["k", "n"][learned], d.join("L"));
        for (x, y) in &points {
            dot(o, *x, *y, learned, low);
        }
        ends.push((last.1, last.0, last.1, learned, low));
    }
    // words beside the ends, pushed apart where lines meet
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut free = TOP - 8.0;
    for e in &mut ends {
        e.0 = e.0.max(free);
        free = e.0 + WORDS;
    }
    let mut room = BOTTOM;
    for e in ends.iter_mut().rev() {
        e.0 = e.0.min(room);
        room = e.0 - WORDS;
    }
    for (at, from_x, from_y, learned, low) in ends {
        let to = left + WIDE + 16.0;
        let _ = write!(
            o,
            "<path class=\"h\" d=\"M{} {}L{} {}\"/>",
            fixed(from_x + 6.0, 1),
            fixed(from_y, 1),
            fixed(to, 1),
            fixed(at, 1)
        );
        dot(o, to + 6.0, at, learned, low);
        let _ = write!(
            o,
            "<text class=\"{}\" x=\"{}\" y=\"{}\">{}, {} load</text>",
            ["lk", "ln"][learned],
            fixed(to + 16.0, 1),
            fixed(at + 4.5, 1),
            ["learned", "not learned"][learned],
            if low { "low" } else { "high" }
        );
    }
}

/// One in how many, for a share \[%\].
fn per(share_pct: f64) -> String {
    fixed(100.0 / share_pct.max(1e-6), 0)
}

fn dot(o: &mut String, x: f64, y: f64, learned: usize, low: bool) {
    let class = ["dk", "dn"][learned];
    let _ = if low {
        write!(o, "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"4\"/>", fixed(x, 1), fixed(y, 1))
    } else {
        write!(
            o,
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"7.6\" height=\"7.6\"/>",
            fixed(x - 3.8, 1),
            fixed(y - 3.8, 1)
        )
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Well-formed as far as this picture goes: every tag that opens is closed in its turn, attributes are quoted,
    /// and text holds no sign that would have to be escaped.
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
        assert_eq!(svg.matches("<path class=\"c ").count(), 8);
        assert_eq!(svg.matches("learned, low load").count(), 4);
        assert_eq!(svg.matches("not learned, high load").count(), 2);
    }

    /// The reader of this test is not blind itself.
    #[test]
    fn trips_what_is_not_well_formed() {
        assert_eq!(well_formed("<a b=\"1\"><c/>x &amp; y</a>"), Ok(3));
        for bad in ["<a>", "<a></b>", "<a b=1\"></a>", "<a/><b/>", "<a>x & y</a>", "<a>></a>", "<a"] {
            assert!(well_formed(bad).is_err(), "{bad}");
        }
    }

    /// By hand: 20 engines of 10 000 turns see one count in 200 000: 0.005 in 1000, half of it 0.0025, floor 0.001.
    /// A value of 0.1 is two decades up, the square root of ten times that two and a half.
    #[test]
    fn exact_decades() {
        assert!((floor_of(&made_up("x")) - 1e-3).abs() < 1e-12);
        let s = Scale::Decades { floor: 1e-3, decades: 5 };
        for (v, up) in [(0.0, 0.0), (1e-3, 0.0), (0.1, 0.4), (0.316_227_77, 0.5), (100.0, 1.0), (1e4, 1.0)] {
            assert!((s.up(v) - up).abs() < 1e-5, "{v}: {}", s.up(v));
        }
    }

    /// Points that could not be held are not there; a picture of none is still one.
    #[test]
    fn holds_without_points() {
        let none = Curves { points: Vec::new(), ..made_up("x") };
        assert!(well_formed(&curves_svg(&none)).is_ok());
    }
}
