//! Two futures on one page: numbers, expectations, both futures on the same traces, both logbooks as one.
//!
//! *Inside*: which traces are shown, layout. *Outside*: the compared values (`twin`), drawing (`svg`).

use super::acts::who_words;
use super::cautions::AtFirst;
use super::charts::{both, column, figure, flags, key_line, moment};
use super::expectations::told;
use super::logbook::{self, number_of, row_class};
use super::names::path_words;
use super::page::{self, heavy, mark, note, section};
use super::sheet::Sheet;
use super::time_axis::TimeAxis;
use super::time_chart::{Flag, Panel, Pen, chart_alone};
use super::timeline::{Row, rows};
use super::twin::Pair;
use crate::bench::trace::{COLUMNS, Column};
use crate::session::Judged;
use crate::words::numbers::minutes;
use crate::words::{name, say, upper_first};
use maud::{Markup, html};

/// Both futures on one page.
pub fn twin_html(pair: &Pair<'_>) -> String {
    let sheet = pair.done;
    let merged = merge(&rows(pair.done.log, sheet.lid_open), &rows(pair.without.log, sheet.lid_open));
    let acts = pair.acts("*");
    let lead = match pair.forked_s {
        Some(t) => say!("twin-lead", acts = acts, at = minutes(t, false)),
        None => say!("twin-lead-never", acts = acts),
    };
    let body = html! {
        (page::title_block(sheet, &say("twin-kind")))
        main {
            section.lead { h2 { (say("twin-compared")) } p { (heavy(&lead)) } }
            (page::cautions(sheet))
            (numbers(pair))
            @if !pair.done.lines.is_empty() { (judged(pair)) }
            (traces(pair, &merged))
            (parted(pair, &merged))
            (page::closing())
        }
        (page::foot(sheet, &[
            (say("twin-state-done"), pair.done.state_hash),
            (say("twin-state-left-out"), pair.without.state_hash),
        ]))
    };
    page::page(&say!("twin-title", id = sheet.id, title = sheet.title), body)
}

fn numbers(pair: &Pair<'_>) -> Markup {
    let heads = [
        (String::new(), false),
        page::words("compared-what"),
        page::digits("twin-head-done"),
        page::digits("twin-head-left-out"),
        page::digits("twin-head-difference"),
    ];
    let rows = html! {
        @for d in pair.differences() {
            @let [done, left_out, difference] = d.shown();
            tr class=(if d.differs { "differs" } else { "alike" }) {
                td { (if d.differs { "≠" } else { "=" }) }
                td { (upper_first(&d.what)) }
                td."n wrap" { (done) }
                td."n wrap" { (left_out) }
                td.n { (difference) }
            }
        }
    };
    let judged = pair.done.lines.len() + pair.without.lines.len() > 0;
    let table = page::table(Some("keep"), &heads, rows);
    let says = judged.then(|| note(&say("twin-met-says")));
    section(&say("twin-numbers-heading"), html! { (table) @if let Some(says) = says { (says) } })
}

/// Expectations of both futures; those that only one has come last.
fn judged(pair: &Pair<'_>) -> Markup {
    let same = |l: &Judged, m: &Judged| m.what == l.what && m.asked == l.asked && m.why == l.why;
    let mut used = vec![false; pair.without.lines.len()];
    let mut lines: Vec<(&Judged, Option<&Judged>, Option<&Judged>)> = Vec::new();
    for l in pair.done.lines {
        let twin = pair.without.lines.iter().enumerate().position(|(k, m)| !used[k] && same(l, m));
        if let Some(k) = twin {
            used[k] = true;
        }
        lines.push((l, Some(l), twin.and_then(|k| pair.without.lines.get(k))));
    }
    let alone = pair.without.lines.iter().zip(&used).filter(|u| !u.1);
    lines.extend(alone.map(|(l, _)| (l, None, Some(l))));
    let cell = |s: &Sheet, l: Option<&Judged>| match l {
        None => html! { (say("twin-not-judged")) },
        Some(l) => html! { (mark(l.met)) " " (told(s, l).measured) },
    };
    let heads = ["found-what", "found-wanted", "twin-head-done", "twin-head-left-out"].map(page::words);
    let rows = html! {
        @for (l, done, left_out) in lines {
            @let told = told(pair.done, l);
            tr {
                td { (upper_first(&path_words(&l.what))) small { (told.why) } }
                td { (told.asked) }
                td { (cell(pair.done, done)) }
                td { (cell(pair.without, left_out)) }
            }
        }
    };
    section(&say("twin-judged-heading"), page::table(None, &heads, rows))
}

// ---------------------------------------------------------------------------------------------------
// Both logbooks as one
// ---------------------------------------------------------------------------------------------------

/// A row of either logbook, or of both.
struct Merged {
    done_s: Option<f64>,
    without_s: Option<f64>,
    row: Row,
}

/// Both logbooks in one order: the rows that both have, and those that only one has. The numbering starts anew.
fn merge(done: &[Row], without: &[Row]) -> Vec<Merged> {
    let same = |a: &Row, b: &Row| a.who == b.who && a.what == b.what;
    // longest common subsequence, from the ends
    let (n, m) = (done.len(), without.len());
    let mut best = vec![0_u32; (n + 1) * (m + 1)];
    let at = |i: usize, j: usize| i * (m + 1) + j;
    for i in (0..n).rev() {
        for j in (0..m).rev() {
            best[at(i, j)] = if same(&done[i], &without[j]) {
                best[at(i + 1, j + 1)] + 1
            } else {
                best[at(i + 1, j)].max(best[at(i, j + 1)])
            };
        }
    }
    let mut out = Vec::new();
    let (mut i, mut j) = (0, 0);
    while i < n || j < m {
        let both = i < n && j < m && same(&done[i], &without[j]);
        if both {
            out.push(Merged {
                done_s: Some(done[i].at_s),
                without_s: Some(without[j].at_s),
                row: done[i].clone(),
            });
            (i, j) = (i + 1, j + 1);
        } else if j >= m || (i < n && best[at(i + 1, j)] >= best[at(i, j + 1)]) {
            out.push(Merged { done_s: Some(done[i].at_s), without_s: None, row: done[i].clone() });
            i += 1;
        } else {
            out.push(Merged { done_s: None, without_s: Some(without[j].at_s), row: without[j].clone() });
            j += 1;
        }
    }
    let when = |m: &Merged| m.done_s.or(m.without_s).unwrap_or(0.0);
    out.sort_by(|a, b| when(a).total_cmp(&when(b)));
    let mut next = 0;
    for m in &mut out {
        if m.done_s.is_none() {
            m.row.flag = m.row.flag.take().map(|w| say!("twin-flag-left-out", flag = w));
        }
        if m.row.number.is_some() {
            next += 1;
            m.row.number = Some(next);
        }
    }
    out
}

fn parted(pair: &Pair<'_>, merged: &[Merged]) -> Markup {
    let heads = [
        page::digits("logged-mark"),
        page::digits("twin-head-done"),
        page::digits("twin-head-left-out"),
        page::words("logged-who"),
        page::words("logged-what"),
    ];
    let time = |t: Option<f64>| t.map_or("—".to_string(), |t| minutes(t, true));
    let alone = |m: &Merged| m.done_s.is_none() || m.without_s.is_none();
    let shown: Vec<&Merged> = merged.iter().filter(|m| m.row.at_s >= 0.0).collect();
    let parts = |m: &&Merged| alone(m) || pair.forked_s.is_some_and(|t| m.row.at_s > t + 1e-3);
    let first = shown.iter().position(parts);
    let mut minded = AtFirst::default();
    let rows = html! {
        @for (k, m) in shown.iter().enumerate() {
            @if first == Some(k) { tr.part { td {} td colspan="4" { (say("twin-here-they-part")) } } }
            tr class={ (row_class(&m.row)) @if alone(m) { " alone" } } {
                (number_of(&m.row))
                td.n { (time(m.done_s)) }
                td.n { (time(m.without_s)) }
                td { (who_words(m.row.who)) }
                td { (logbook::told(&m.row, &mut minded)) }
            }
        }
    };
    let table = page::table(Some("timeline"), &heads, rows);
    section(&say("logged-heading"), html! { (table) (note(&say("twin-logged-note"))) })
}

// ---------------------------------------------------------------------------------------------------
// Traces
// ---------------------------------------------------------------------------------------------------

/// A trace that is always shown: column, pen, range always in sight, height.
type Always = (&'static str, Pen, (f64, f64), f64);

/// Figures that are always shown: message of the caption, its columns.
const ALWAYS: &[(&str, &[Always])] = &[
    ("twin-figure-speed", &[("engine_speed_rpm", Pen::Measured, (0.0, 1000.0), 190.0)]),
    ("twin-figure-idle-air", &[("idle_air_learned_g_s", Pen::Belief, (-0.6, 1.0), 130.0)]),
    (
        "figure-fuel",
        &[
            ("short_trim_1_pct", Pen::Dots, (-5.0, 5.0), 90.0),
            ("long_trim_1_pct", Pen::Belief, (-5.0, 5.0), 90.0),
            ("lambda_1", Pen::Measured, (0.9, 1.1), 90.0),
        ],
    ),
];

/// Most traces that are added because they differ.
const MOST_ADDED: usize = 4;

/// The size of a clear difference in a unit.
fn scale(unit: &str) -> f64 {
    match unit {
        "rpm" => 20.0,
        "kPa" => 2.0,
        "°" | "%" => 0.5,
        "g/s" => 0.1,
        "V" => 0.1,
        "" => 0.01,
        _ => 2.0,
    }
}

/// Mean distance of a column between both futures after they part, in units of a clear difference.
fn distance(pair: &Pair<'_>, name: &str, unit: &str) -> f64 {
    let (Some(a), Some(b), Some(t)) =
        (column(pair.done, name, false), column(pair.without, name, false), pair.forked_s)
    else {
        return 0.0;
    };
    let apart = a.iter().zip(&b).filter(|(p, q)| p.0 >= t && p.1.is_finite() && q.1.is_finite());
    let (sum, n) = apart.fold((0.0, 0.0), |(s, n), (p, q)| (s + (p.1 - q.1).abs(), n + 1.0));
    if n > 0.0 { sum / n / scale(unit) } else { 0.0 }
}

/// When the longer of both futures ends \[s\].
fn end_s(pair: &Pair<'_>) -> f64 {
    let of = |s: &Sheet| s.trace.rows().last().map_or(1.0, |r| r[0]);
    of(pair.done).max(of(pair.without))
}

/// The time axis of both futures.
fn time_axis(pair: &Pair<'_>) -> TimeAxis {
    TimeAxis::of(&[pair.done.trace, pair.without.trace], end_s(pair))
}

/// A panel of a column around the value that both futures start with.
fn panel_of(pair: &Pair<'_>, c: &Column, high: f64) -> Option<Panel> {
    let values = column(pair.done, c.name, false).unwrap_or_default();
    let first = values.iter().map(|q| q.1).find(|v| v.is_finite()).unwrap_or(0.0);
    both(pair.done, pair.without, c.name, pen_of(c), (c.unit, (first, first + scale(c.unit)), high))
}

/// The recorded columns with these names, or a message about the first one that cannot be drawn.
pub fn twin_traces(names: &[String], lid_open: bool) -> Result<Vec<&'static Column>, String> {
    let column = |name: &String| {
        let Some(c) = COLUMNS.iter().find(|c| c.name == *name && c.name != "time_s") else {
            let all: Vec<&str> = COLUMNS.iter().map(|c| c.name).filter(|n| *n != "time_s").collect();
            return Err(say!("twin-no-trace", name = name.as_str(), all = all.join(", ")));
        };
        if c.truth && !lid_open {
            return Err(say!("twin-trace-is-truth", name = name.as_str()));
        }
        Ok(c)
    };
    names.iter().map(column).collect()
}

/// Both futures on chosen traces, as a picture of its own; columns that the lid hides are refused.
pub fn twin_svg(pair: &Pair<'_>, names: &[String]) -> Result<String, String> {
    let mut panels = Vec::new();
    for c in twin_traces(names, pair.done.lid_open)? {
        panels.extend(panel_of(pair, c, 120.0));
    }
    let title = say!("twin-picture", id = pair.done.id, title = pair.done.title, acts = pair.acts("`"));
    Ok(chart_alone(&title, &panels, &time_axis(pair), &say("twin-picture-key")))
}

/// The pen of a column.
fn pen_of(c: &Column) -> Pen {
    match c.name {
        _ if c.truth => Pen::Truth,
        n if n.starts_with("idle_air")
            || n.starts_with("target")
            || n.contains("trim")
            || n.starts_with("charge_set")
            || n.starts_with("battery_charge") =>
        {
            Pen::Belief
        }
        _ => Pen::Measured,
    }
}

/// The traces that differ most, apart from those that are always shown.
fn most_different(pair: &Pair<'_>) -> Vec<&'static Column> {
    let always = |c: &&Column| ALWAYS.iter().flat_map(|a| a.1).any(|a| a.0 == c.name);
    let mut more: Vec<(f64, &Column)> = COLUMNS
        .iter()
        .filter(|c| c.name != "time_s" && !always(c))
        .map(|c| (distance(pair, c.name, c.unit), c))
        .filter(|d| d.0 >= 1.0)
        .collect();
    more.sort_by(|a, b| b.0.total_cmp(&a.0));
    more.into_iter().take(MOST_ADDED).map(|d| d.1).collect()
}

fn traces(pair: &Pair<'_>, merged: &[Merged]) -> Markup {
    let time = time_axis(pair);
    let shown: Vec<Row> = merged.iter().map(|m| m.row.clone()).collect();
    let mut flags: Vec<Flag> = flags(&shown);
    flags.extend(pair.forked_s.map(|t| moment(t, "flag-they-part")));
    flags.push(moment(pair.done.hand_over_s, "flag-hand-over"));
    flags.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    let lead = html! {
        h2 { (say("twin-traces-heading")) }
        (key_line(pair.done.lid_open, &say("twin-key-rings")))
    };
    let mut lead = Some(lead);
    let unit_of = |name: &str| COLUMNS.iter().find(|c| c.name == name).map_or("", |c| c.unit);
    let caption = |id: &str, columns: &[Always]| {
        let alike = columns.iter().all(|(name, ..)| distance(pair, name, unit_of(name)) < 0.05);
        if alike { say!("twin-figure-alike", figure = say(id)) } else { say(id) }
    };
    html! {
        section {
            @for (id, columns) in ALWAYS {
                @let panels: Vec<Panel> = columns.iter().filter_map(|(name, pen, keep, high)| {
                    both(pair.done, pair.without, name, *pen, (unit_of(name), *keep, *high))
                }).collect();
                (figure(lead.take().unwrap_or_default(), &caption(id, columns), &panels, &flags, &time))
            }
            @for c in most_different(pair) {
                @let panels: Vec<Panel> = panel_of(pair, c, 110.0).into_iter().collect();
                (figure(html! {}, &upper_first(&name("signal", c.name)), &panels, &flags, &time))
            }
        }
    }
}
