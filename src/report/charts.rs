//! The traces of a page: which curves stand in which figure, and the numbers beside them.
//!
//! *Inside*: choosing and naming curves, the debrief's figures. *Outside*: drawing (`svg`), what the twin
//! page shows (`twin`).

use super::html::minus;
use super::svg::{self, Curve, Flag, Panel, Pen};
use super::timeline::Row;
use super::{Sheet, clock, decimals, fixed};
use crate::bench::trace::COLUMNS;
use std::fmt::Write;

/// Rows of the small tables beside charts.
const TIMES: usize = 8;

macro_rules! put {
    ($out:expr, $($t:tt)*) => {{ let _ = write!($out, $($t)*); }};
}

/// A column of the trace over time; none if the lid hides it. `turning`: gaps where it reads nothing or the
/// engine stands.
pub(super) fn column(sheet: &Sheet, name: &str, turning: bool) -> Option<Vec<(f64, f64)>> {
    let at = COLUMNS.iter().position(|c| c.name == name)?;
    if COLUMNS[at].truth && !sheet.lid_open {
        return None;
    }
    let speed = COLUMNS.iter().position(|c| c.name == "engine_speed_rpm")?;
    let value =
        |row: &[f64]| if turning && (row[at] <= 0.05 || row[speed] < 50.0) { f64::NAN } else { row[at] };
    Some(sheet.trace.rows().map(|row| (row[0], value(row))).collect())
}

/// What the lines mean.
pub(super) fn key_line(o: &mut String, lid_open: bool, rest: &str) {
    o.push_str("<p class=\"key-line\">");
    let kinds = [
        (Pen::Belief, "pencil: what the module believes or wants"),
        (Pen::Measured, "thin line: measured"),
        (Pen::Truth, "ink: true"),
    ];
    for (pen, words) in kinds.iter().filter(|k| k.0 != Pen::Truth || lid_open) {
        put!(
            o,
            "<span><svg class=\"key\" viewBox=\"0 0 44 12\" aria-hidden=\"true\"><path class=\"line {}\" d=\"M1 6h42\"/></svg>{words}\
             </span>",
            pen.class()
        );
    }
    put!(o, "<span>{rest}</span></p>");
}

/// Marks of the rows that have a number; words that come again are not said again.
pub(super) fn flags(rows: &[Row]) -> Vec<Flag> {
    let mut said: Vec<&str> = Vec::new();
    let mut out = Vec::new();
    for r in rows.iter().filter(|r| r.number.is_some()) {
        let words = r.flag.as_deref().filter(|w| !said.contains(w));
        said.extend(words);
        out.push(Flag { at_s: r.at_s, number: r.number, words: words.map(str::to_string) });
    }
    out
}

/// One figure with its numbers; on paper what leads into it stays with it.
pub(super) fn figure(o: &mut String, lead: &str, caption: &str, panels: &[Panel], flags: &[Flag], to_s: f64) {
    put!(
        o,
        "<figure><div class=\"fig\">{lead}<figcaption>{caption}</figcaption>{}</div>",
        svg::chart(caption, panels, flags, to_s)
    );
    numbers_beside(o, panels);
    o.push_str("</figure>\n");
}

/// No cap on what a panel draws.
const WIDE: (f64, f64) = (-1e6, 1e6);

/// The debrief's traces.
pub(super) fn traces(o: &mut String, sheet: &Sheet, rows: &[Row]) {
    o.push_str("<section>");
    let mut lead = "<h2>Traces</h2>".to_string();
    let Some(to_s) = sheet.trace.rows().last().map(|r| r[0]) else {
        o.push_str(&lead);
        o.push_str("<p>Nothing was recorded.</p></section>\n");
        return;
    };
    key_line(&mut lead, sheet.lid_open, "marks with numbers: what was done and decided, above");
    let mut flags = flags(rows);
    flags.push(Flag { at_s: sheet.hand_over_s, number: None, words: Some("hand-over".into()) });
    flags.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    let curve = |words, pen, name, gap| {
        column(sheet, name, gap).map(|points| Curve { words, pen, other: false, points })
    };
    let panel = |words, unit, keep, cap, high, curves: [Option<Curve>; 3]| Panel {
        words,
        unit,
        keep,
        cap,
        high,
        curves: curves.into_iter().flatten().collect(),
    };
    use Pen::{Belief, Dots, Measured, Truth};
    let figures = [
        (
            "Engine speed: what the module wants, and what it measures",
            vec![panel(
                "engine speed",
                "rpm",
                (0.0, 1000.0),
                WIDE,
                170.0,
                [
                    curve("measured", Measured, "engine_speed_rpm", false),
                    curve("target", Belief, "target_speed_rpm", false),
                    None,
                ],
            )],
        ),
        (
            "Idle air: what was learned, and what the controller adds",
            vec![panel(
                "idle air",
                "g/s",
                (-0.6, 1.0),
                WIDE,
                160.0,
                [
                    curve("learned", Belief, "idle_air_learned_g_s", false),
                    curve("PI", Dots, "idle_air_pi_g_s", false),
                    curve("parts need", Truth, "true_idle_air_needed_g_s", false),
                ],
            )],
        ),
        (
            "Manifold pressure and air",
            vec![
                panel(
                    "manifold pressure",
                    "kPa",
                    (20.0, 60.0),
                    WIDE,
                    95.0,
                    [curve("measured", Measured, "map_kpa", false), None, None],
                ),
                panel(
                    "air",
                    "g/s",
                    (0.0, 4.0),
                    (-1e6, 400.0),
                    95.0,
                    [
                        curve("metered", Measured, "air_g_s", false),
                        curve("leak", Truth, "true_leak_g_s", false),
                        None,
                    ],
                ),
            ],
        ),
        (
            "Fuel trims and lambda, bank 1",
            vec![
                panel(
                    "fuel trims",
                    "%",
                    (-5.0, 5.0),
                    WIDE,
                    95.0,
                    [
                        curve("short-term", Dots, "short_trim_1_pct", false),
                        curve("long-term", Belief, "long_trim_1_pct", false),
                        None,
                    ],
                ),
                panel(
                    "lambda, cut at 0.6 and 1.4",
                    "",
                    (0.9, 1.1),
                    (0.6, 1.4),
                    95.0,
                    [
                        curve("measured", Measured, "lambda_1", true),
                        curve("cylinder 1", Truth, "true_lambda_cylinder_1", true),
                        None,
                    ],
                ),
            ],
        ),
    ];
    for (caption, panels) in figures {
        figure(o, &std::mem::take(&mut lead), caption, &panels, &flags, to_s);
    }
    o.push_str("</section>\n");
}

/// A few rows of a chart's numbers.
fn numbers_beside(o: &mut String, panels: &[Panel]) {
    let curves = || panels.iter().flat_map(|p| p.curves.iter().map(move |c| (p, c)));
    let longest = curves().max_by_key(|c| c.1.points.len());
    let Some(longest) = longest.map(|c| &c.1.points) else { return };
    o.push_str(
        "<details class=\"numbers\"><summary>The numbers, at a few moments</summary><div class=\"scroll\"><table><thead><tr>\
         <th class=\"n\">min:s</th>",
    );
    for (p, c) in curves() {
        let unit = if p.unit.is_empty() { String::new() } else { format!(" ({})", p.unit) };
        let panel = p.words.split(',').next().unwrap_or(p.words);
        put!(o, "<th class=\"n\">{panel}, {}{unit}</th>", c.words);
    }
    o.push_str("</tr></thead><tbody>");
    let mut shown: Vec<usize> =
        (0..TIMES).map(|k| k * longest.len().saturating_sub(1) / (TIMES - 1)).collect();
    shown.dedup();
    for k in shown {
        put!(o, "<tr><td class=\"n\">{}</td>", clock(longest[k].0, false));
        for (p, c) in curves() {
            let text = match c.points.get(k) {
                Some(q) if q.1.is_finite() => minus(&fixed(q.1, decimals(p.unit))),
                Some(_) => "no reading".into(),
                None => "over".into(),
            };
            put!(o, "<td class=\"n\">{text}</td>");
        }
        o.push_str("</tr>");
    }
    o.push_str("</tbody></table></div></details>");
}

/// A panel of one column in both of two futures.
pub(super) fn both(
    done: &Sheet,
    without: &Sheet,
    name: &str,
    pen: Pen,
    (words, unit, keep, high): (&'static str, &'static str, (f64, f64), f64),
) -> Option<Panel> {
    let gap = name.contains("lambda");
    let of = |sheet, words, other| column(sheet, name, gap).map(|points| Curve { words, pen, other, points });
    let curves: Vec<Curve> =
        [of(done, "done", false), of(without, "left out", true)].into_iter().flatten().collect();
    let cap = if gap { (0.6, 1.4) } else { WIDE };
    (!curves.is_empty()).then_some(Panel { words, unit, keep, cap, high, curves })
}
