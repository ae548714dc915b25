//! The page of evidence: every value from an outside source beside the program's own, by system, misses as openly as
//! hits.
//!
//! *Inside*: layout, the bar of each band. *Outside*: what is measured ([`crate::evidence`]).

use super::page::{self, digits, note, section, words};
use super::svg::{at, path, picture};
use crate::evidence::{Finding, Row, Seen, System};
use crate::words::numbers::{number, signed};
use crate::words::{name, say, upper_first};
use maud::{Markup, html};

/// The contents of a page of evidence.
#[derive(Debug)]
pub struct Evidence<'a> {
    /// Version of the program.
    pub version: &'a str,
    /// Number of seeds for each row that is run over several seeds.
    pub seeds: u64,
    /// Rows, by system.
    pub findings: &'a [Finding],
}

/// The whole page.
pub fn evidence_html(e: &Evidence<'_>) -> String {
    let [pass, miss] = counted(e.findings);
    let systems = System::ALL.iter().map(|s| s.1).filter(|s| e.findings.iter().any(|f| f.row.system == *s));
    let body = html! {
        header {
            p.lede { (say("evidence-kind-of-page")) }
            h1 { (say("evidence-title")) }
            p { (say("evidence-lead")) }
            dl.facts {
                div { dt { (say("evidence-rows")) } dd { ((pass + miss).to_string()) } }
                div { dt { (say("evidence-passed")) } dd { (pass.to_string()) } }
                div { dt { (say("evidence-missed")) } dd { (miss.to_string()) } }
                div { dt { (say("evidence-seeds")) } dd { (e.seeds.to_string()) } }
            }
        }
        main."evidence" {
            (overview(e.findings))
            @for system in systems { (of_system(system, e.findings)) }
            (section(&say("evidence-curves-heading"), html! { p { (say("evidence-curves")) } }))
        }
        footer { (say!("evidence-foot", version = e.version)) }
    };
    page::page(&say("evidence-title"), body)
}

/// How many pass, and how many miss.
fn counted<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> [usize; 2] {
    findings.into_iter().fold([0, 0], |n, f| if f.passes() { [n[0] + 1, n[1]] } else { [n[0], n[1] + 1] })
}

fn overview(findings: &[Finding]) -> Markup {
    let heads = [words("evidence-head-system"), digits("evidence-passed"), digits("evidence-missed")];
    let rows = html! {
        @for (id, system) in System::ALL {
            @let [pass, miss] = counted(findings.iter().filter(|f| f.row.system == *system));
            @if pass + miss > 0 {
                tr { td { (upper_first(&name("evidence-system", id))) } td.n { (pass.to_string()) } td.n { (miss.to_string()) } }
            }
        }
    };
    section(
        &say("evidence-overview"),
        html! { (page::table(Some("keep"), &heads, rows)) (note(&say("evidence-note"))) },
    )
}

fn of_system(system: System, findings: &[Finding]) -> Markup {
    let heads = [
        words("evidence-head-what"),
        words("evidence-head-car"),
        digits("evidence-head-wanted"),
        digits("evidence-head-is"),
        digits("evidence-head-off"),
        words("evidence-head-bar"),
        words("evidence-head-verdict"),
    ];
    let mut told = "";
    let rows = html! {
        @for f in findings.iter().filter(|f| f.row.system == system) {
            @let first = std::mem::replace(&mut told, f.row.id) != f.row.id;
            tr {
                td { @if first { (title(&f.row)) small { (source(&f.row)) } } }
                td { (name("car", f.car)) }
                @if let Some(s) = f.worst() {
                    td."n was" { (band(&f.row, s)) }
                    td.n { (measured(&f.row, f)) }
                    td.n { (off(s)) }
                    td { (bar(&f.row, s)) }
                }
                td { (verdict(f.passes())) }
            }
        }
    };
    section(&upper_first(&name("evidence-system", system.name())), page::table(None, &heads, rows))
}

/// A row for one car in one line, for a terminal.
pub fn evidence_line(f: &Finding) -> String {
    let worst = f.worst();
    say!(
        "evidence-line",
        row = f.row.id,
        car = name("car", f.car),
        title = title(&f.row),
        is = measured(&f.row, f),
        wanted = worst.map_or_else(String::new, |s| band(&f.row, s)),
        off = worst.map_or_else(String::new, off),
    )
}

/// What a row is called.
fn title(row: &Row) -> String {
    name("evidence-row", row.id)
}

/// The source of a value, the kind of source, and whether it is quoted from memory.
fn source(row: &Row) -> String {
    let s = row.source;
    let said = name("evidence-source", s.id);
    let kind = name("evidence-kind", s.kind.name());
    let id = if s.from_memory { "evidence-source-from-memory" } else { "evidence-source-at-hand" };
    say!(id, source = said, kind = kind)
}

fn verdict(passes: bool) -> Markup {
    let says = say(if passes { "evidence-pass" } else { "evidence-miss" });
    html! { span class=(page::good_or_bad(passes)) { (says) } }
}

fn with_unit(row: &Row, text: String) -> String {
    if row.unit.is_empty() { text } else { say!("quantity", value = text, unit = row.unit) }
}

/// Lowest and highest accepted value.
fn band(row: &Row, s: &Seen) -> String {
    // the limits of a narrow band need more digits than the measured value
    let narrow = s.band[1] - s.band[0] < 2.0 * unit_of(row.decimals);
    let decimals = row.decimals + usize::from(narrow && s.band[0] != s.band[1]);
    let n = |x: f64| number(x, decimals);
    let text = match s.band {
        [low, high] if low == high => n(low),
        [low, high] if !low.is_finite() && !high.is_finite() => say("evidence-any"),
        [low, high] if !high.is_finite() => say!("evidence-at-least", value = n(low)),
        [low, high] if !low.is_finite() => say!("evidence-at-most", value = n(high)),
        [low, high] => say!("evidence-from-to", low = n(low), high = n(high)),
    };
    with_unit(row, text)
}

/// The unit of the last decimal shown.
fn unit_of(decimals: usize) -> f64 {
    (0..decimals).fold(1.0, |x, _| x / 10.0)
}

/// The result of the seed that is furthest outside the band, with the range of all seeds if there are several.
fn measured(row: &Row, f: &Finding) -> String {
    let Some(s) = f.worst() else { return String::new() };
    if s.value.is_nan() {
        return say("evidence-not-measured");
    }
    let n = |x: f64| if x.is_finite() { number(x, row.decimals) } else { say("evidence-never") };
    let one = with_unit(row, n(s.value));
    let all = || f.seen.iter().map(|s| s.value).filter(|v| v.is_finite());
    let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    if f.seen.len() > 1 && n(low) != n(high) {
        say!("evidence-measured-range", value = one, low = n(low), high = n(high))
    } else {
        one
    }
}

/// The distance of the value from its band.
fn off(s: &Seen) -> String {
    let pct = s.deviation_pct();
    if s.passes() {
        say("evidence-inside")
    } else if pct.is_finite() {
        say!("quantity", value = signed(pct, if pct.abs() < 10.0 { 1 } else { 0 }), unit = "%")
    } else {
        "–".to_owned()
    }
}

/// The band as a thick line with the value as a stroke across it. An open end runs to the edge of the picture, and a
/// value beyond it is drawn at the edge.
fn bar(row: &Row, s: &Seen) -> Markup {
    let [low, high] = s.band;
    if !s.value.is_finite() || (!low.is_finite() && !high.is_finite()) {
        return html! {};
    }
    // a band with an open end is drawn as wide as the value's distance from its other end, a single value as a
    // fiftieth of itself
    let least = (0.02 * s.value.abs()).max(unit_of(row.decimals));
    let (from, to) = match (low.is_finite(), high.is_finite()) {
        (true, true) => (low, high),
        (true, false) => (low, low + 1.5 * (s.value - low).abs().max(least)),
        (_, _) => (high - 1.5 * (s.value - high).abs().max(least), high),
    };
    let wide = (to - from).max(least);
    let (left, right) = (from - 0.75 * wide, to + 0.75 * wide);
    let x = |v: f64| 2.0 + 120.0 * ((v - left) / (right - left)).clamp(0.0, 1.0);
    let allowed = format!(
        "M{} 9H{}",
        at(if low.is_finite() { x(low) } else { 0.0 }),
        at(if high.is_finite() { x(high).max(x(from) + 1.5) } else { 124.0 })
    );
    let class = if s.passes() { "is" } else { "out" };
    let drawn = html! {
        (path("axis", "M0 9H124"))
        (path("allowed", &allowed))
        (path(class, &format!("M{} 1V17", at(x(s.value)))))
    };
    let says = say!("evidence-bar", value = number(s.value, row.decimals), band = band(row, s));
    html! { span.band { (picture(&says, (124.0, 18.0), drawn)) } }
}
