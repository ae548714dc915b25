//! The traces of a page: which curves are in which figure, and the numbers beside them.
//!
//! *Inside*: choosing and naming curves, the debrief's figures. *Outside*: drawing (`time_chart`), the contents of the twin
//! page (`twin_page`).

use super::names::decimals;
use super::page;
use super::sheet::Sheet;
use super::svg;
use super::time_axis::TimeAxis;
use super::time_chart::{Curve, Flag, Panel, Pen, chart};
use super::timeline::Row;
use crate::bench::trace::COLUMNS;
use crate::words::numbers::{Units, minutes, number, shown_units};
use crate::words::{name, say};
use maud::{Markup, html};

/// Rows in the small tables beside charts.
const TIMES: usize = 8;

/// A column of the trace over time; none if the lid hides it. A gap stands where nothing was measured or commanded.
/// `turning`: leaves gaps where the value is zero or the engine is at rest.
pub(super) fn column(sheet: &Sheet, name: &str, turning: bool) -> Option<Vec<(f64, f64)>> {
    let at = COLUMNS.iter().position(|c| c.name == name)?;
    if COLUMNS[at].truth && !sheet.lid_open {
        return None;
    }
    let speed = COLUMNS.iter().position(|c| c.name == "engine_speed_rpm")?;
    let value = |row: &[f64]| {
        let at_rest = turning && (row[at] <= 0.05 || row[speed] < 50.0 || row[speed].is_nan());
        if at_rest || (row[at] == 0.0 && COLUMNS[at].none_at_zero) { f64::NAN } else { row[at] }
    };
    Some(sheet.trace.rows().map(|row| (row[0], value(row))).collect())
}

/// The key to the lines.
pub(super) fn key_line(lid_open: bool, rest: &str) -> Markup {
    let kinds = [(Pen::Belief, "key-belief"), (Pen::Measured, "key-measured"), (Pen::Truth, "key-truth")];
    html! {
        p."key-line" {
            @for (pen, words) in kinds.iter().filter(|k| k.0 != Pen::Truth || lid_open) {
                span {
                    svg.key viewBox="0 0 44 12" aria-hidden="true" {
                        (svg::path(&format!("line {}", pen.class()), "M1 6h42"))
                    }
                    (say(words))
                }
            }
            span { (rest) }
        }
    }
}

/// Marks of the numbered rows; a text that repeats an earlier one is left out.
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

/// The mark of a time with a text of its own.
pub(super) fn moment(at_s: f64, words: &str) -> Flag {
    Flag { at_s, number: None, words: Some(say(words)) }
}

/// One figure with its numbers; in print the text that leads into it stays on the same page.
pub(super) fn figure(
    lead: Markup,
    caption: &str,
    panels: &[Panel],
    flags: &[Flag],
    time: &TimeAxis,
) -> Markup {
    html! {
        figure {
            div.fig { (lead) figcaption { (caption) } (chart(caption, panels, flags, time)) }
            (numbers_beside(panels))
        }
    }
}

/// No cap on what a panel draws.
pub(super) const WIDE: (f64, f64) = (-1e6, 1e6);
/// Limits at which lambda is cut off.
const LAMBDA: (f64, f64) = (0.6, 1.4);

/// How a panel is drawn: unit, range always in sight, limits at which curves are cut off, height.
type Scale = (&'static str, (f64, f64), (f64, f64), f64);
/// A line of a panel: message of its name, pen, column.
type Line = (&'static str, Pen, &'static str);

/// A panel of a figure: message of its heading, scale, lines.
type PanelOf = (&'static str, Scale, &'static [Line]);

/// A figure of the debrief.
struct Figure {
    /// Message of the caption.
    caption: &'static str,
    /// Beginnings of the names of the values that it shows: a job that judges such values has this figure first.
    of: &'static [&'static str],
    /// It is drawn for every job.
    always: bool,
    /// Panels with heading, scale and lines.
    panels: &'static [PanelOf],
}

/// The debrief's figures.
const FIGURES: &[Figure] = &[
    Figure {
        caption: "figure-speed",
        of: &["engine_speed", "target_rpm", "mean_rpm"],
        always: true,
        panels: &[(
            "signal-engine-speed-rpm",
            ("rpm", (0.0, 1000.0), WIDE, 170.0),
            &[
                ("line-measured", Pen::Measured, "engine_speed_rpm"),
                ("line-target", Pen::Belief, "target_speed_rpm"),
            ],
        )],
    },
    Figure {
        caption: "figure-idle-air",
        of: &["idle_", "throttle"],
        always: true,
        panels: &[(
            "panel-idle-air",
            ("g/s", (-0.6, 1.0), WIDE, 160.0),
            &[
                ("line-learned", Pen::Belief, "idle_air_learned_g_s"),
                ("air-pi", Pen::Dots, "idle_air_pi_g_s"),
                ("line-parts-need", Pen::Truth, "true_idle_air_needed_g_s"),
            ],
        )],
    },
    Figure {
        caption: "figure-air",
        of: &["map_", "air_", "ambient", "barometer"],
        always: true,
        panels: &[
            (
                "signal-map-kpa",
                ("kPa", (20.0, 60.0), WIDE, 95.0),
                &[("line-measured", Pen::Measured, "map_kpa")],
            ),
            (
                "panel-air",
                ("g/s", (0.0, 4.0), (-1e6, 400.0), 95.0),
                &[("line-by-the-module", Pen::Belief, "air_g_s"), ("line-leak", Pen::Truth, "true_leak_g_s")],
            ),
        ],
    },
    Figure {
        caption: "figure-fuel",
        of: &["short", "long", "lambda", "rear_trim", "fuel"],
        always: true,
        panels: &[
            (
                "panel-trims",
                ("%", (-5.0, 5.0), WIDE, 95.0),
                &[
                    ("line-short-term", Pen::Dots, "short_trim_1_pct"),
                    ("line-long-term", Pen::Belief, "long_trim_1_pct"),
                ],
            ),
            (
                "signal-lambda",
                ("", (0.9, 1.1), LAMBDA, 95.0),
                &[
                    ("line-measured", Pen::Measured, "lambda_1"),
                    ("line-cylinder-1", Pen::Truth, "true_lambda_cylinder_1"),
                ],
            ),
        ],
    },
    Figure {
        caption: "figure-charging",
        of: &["supply", "charge", "battery", "alternator"],
        always: false,
        panels: &[
            (
                "panel-charging",
                ("V", (11.5, 15.0), WIDE, 110.0),
                &[
                    ("line-measured", Pen::Measured, "supply_v"),
                    ("line-commanded", Pen::Belief, "charge_set_v"),
                ],
            ),
            (
                "signal-battery-a",
                ("A", (-10.0, 10.0), WIDE, 95.0),
                &[("line-measured", Pen::Measured, "battery_a")],
            ),
            (
                "panel-charge",
                ("%", (0.0, 100.0), WIDE, 95.0),
                &[
                    ("line-by-the-module", Pen::Belief, "battery_charge_pct"),
                    ("line-true", Pen::Truth, "true_battery_charge_pct"),
                ],
            ),
        ],
    },
];

/// How many of the values that the job judges are among those whose names begin like this.
fn judged(sheet: &Sheet, of: &[&str]) -> usize {
    let is = |path: &str| path.split('.').any(|part| of.iter().any(|begin| part.starts_with(begin)));
    sheet.judges.iter().filter(|path| is(path)).count()
}

/// The figures of this job: those of the values that it judges first.
fn figures(sheet: &Sheet) -> Vec<&'static Figure> {
    // it would tell a learned value that nobody has read
    let hidden = |f: &Figure| f.caption == "figure-idle-air" && sheet.after.learned.is_empty();
    let mut out: Vec<(usize, &Figure)> = FIGURES.iter().map(|f| (judged(sheet, f.of), f)).collect();
    out.retain(|(count, f)| (f.always || *count > 0) && !hidden(f));
    out.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
    out.into_iter().map(|(_, f)| f).collect()
}

/// Whether the job judges more values of charging than of anything else.
pub(super) fn of_charging(sheet: &Sheet) -> bool {
    figures(sheet).first().is_some_and(|f| f.caption == "figure-charging")
}

/// The debrief's traces.
pub(super) fn traces(sheet: &Sheet, rows: &[Row]) -> Markup {
    let heading = html! { h2 { (say("traces-heading")) } };
    let Some(to_s) = sheet.trace.rows().last().map(|r| r[0]) else {
        return html! { section { (heading) p { (say("traces-none")) } } };
    };
    let time = TimeAxis::of(&[sheet.trace], to_s);
    let mut lead = Some(html! { (heading) (key_line(sheet.lid_open, &say("key-marks"))) });
    let mut flags = flags(rows);
    flags.push(moment(sheet.hand_over_s, "flag-hand-over"));
    flags.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    let curve = |(words, pen, name): &Line| {
        let points = column(sheet, name, name.contains("lambda"))?;
        Some(Curve { words: say(words), pen: *pen, other: false, points })
    };
    html! {
        section {
            @for figure_of in figures(sheet) {
                @let panels: Vec<Panel> = figure_of.panels.iter().map(|(heading, (unit, keep, cap, high), lines)| {
                    let curves = lines.iter().filter_map(curve).collect();
                    let how = (*cap == LAMBDA).then(|| say("panel-cut"));
                    let (keep, cap, high) = (*keep, *cap, *high);
                    in_units(Panel { words: say(heading), how, unit, keep, cap, high, curves })
                }).collect();
                (figure(lead.take().unwrap_or_default(), &say(figure_of.caption), &panels, &flags, &time))
            }
        }
    }
}

/// A panel in the units shown.
fn in_units(mut panel: Panel) -> Panel {
    let units = shown_units();
    if units == Units::Metric || units.unit(panel.unit) == panel.unit {
        return panel;
    }
    let unit = panel.unit;
    let of = |x: f64| units.quantity(x, unit).0;
    panel.unit = units.quantity(0.0, unit).1;
    for ends in [&mut panel.keep, &mut panel.cap] {
        *ends = (of(ends.0), of(ends.1));
    }
    for curve in &mut panel.curves {
        curve.points.iter_mut().for_each(|p| p.1 = of(p.1));
    }
    panel
}

/// A few rows of a chart's numbers.
fn numbers_beside(panels: &[Panel]) -> Markup {
    let curves = || panels.iter().flat_map(|p| p.curves.iter().map(move |c| (p, c)));
    let longest = curves().max_by_key(|c| c.1.points.len());
    let Some(longest) = longest.map(|c| &c.1.points) else { return html! {} };
    let head = |(p, c): (&Panel, &Curve)| {
        let (of, line) = (p.words.as_str(), c.words.as_str());
        let words = match p.unit {
            "" => say!("numbers-of", of = of, line = line),
            unit => say!("numbers-of-unit", of = of, line = line, unit = unit),
        };
        (words, true)
    };
    let heads: Vec<page::Head> =
        std::iter::once(page::digits("scale-minutes")).chain(curves().map(head)).collect();
    // a rest of days has hardly anything to read
    let told = |k: &usize| curves().any(|(_, c)| c.points.get(*k).is_some_and(|q| q.1.is_finite()));
    let of: Vec<usize> = (0..longest.len()).filter(told).collect();
    let Some(last) = of.len().checked_sub(1) else { return html! {} };
    let mut shown: Vec<usize> = (0..TIMES).map(|k| of[k * last / (TIMES - 1)]).collect();
    shown.dedup();
    let value = |k: usize, p: &Panel, c: &Curve| match c.points.get(k) {
        Some(q) if q.1.is_finite() => number(q.1, decimals(p.unit)),
        Some(_) => say("numbers-no-reading"),
        None => say("numbers-over"),
    };
    let rows = html! {
        @for k in shown {
            tr {
                td.n { (minutes(longest[k].0, false)) }
                @for (p, c) in curves() { td.n { (value(k, p, c)) } }
            }
        }
    };
    html! { details.numbers { summary { (say("numbers-heading")) } (page::table(None, &heads, rows)) } }
}

/// A panel of one column for both of two futures.
pub(super) fn both(
    done: &Sheet,
    without: &Sheet,
    column_name: &str,
    pen: Pen,
    (unit, keep, high): (&'static str, (f64, f64), f64),
) -> Option<Panel> {
    let gap = column_name.contains("lambda");
    let of = |sheet, words, other| {
        column(sheet, column_name, gap).map(|points| Curve { words: say(words), pen, other, points })
    };
    let curves: Vec<Curve> =
        [of(done, "twin-done", false), of(without, "twin-left-out", true)].into_iter().flatten().collect();
    let (cap, how) = if gap { (LAMBDA, Some(say("panel-cut"))) } else { (WIDE, None) };
    let words = name("signal", column_name);
    (!curves.is_empty()).then(|| in_units(Panel { words, how, unit, keep, cap, high, curves }))
}
