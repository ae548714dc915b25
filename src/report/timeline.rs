//! The logbook as a person reads it: rows of words, numbered where a chart marks them.
//!
//! *Inside*: which lines belong together, which say nothing new, which a chart marks. *Outside*: words for a
//! single line (`report.rs`), layout.

use super::html::{escape, minus, sentence, upper_first};
use super::{Sheet, answer_words, clock, entry_id, entry_words};
use crate::bench::action::{Action, Key};
use crate::bench::record::{Entry, Kind};
use crate::link::{DiagResponse, Notice};
use crate::words::facts;
use std::fmt::Write;

macro_rules! put {
    ($out:expr, $($t:tt)*) => {{ let _ = write!($out, $($t)*); }};
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    /// When \[s\].
    pub at_s: f64,
    /// Number that charts share, if they mark it.
    pub number: Option<usize>,
    /// Who did it.
    pub who: &'static str,
    /// What, in words.
    pub what: String,
    /// Words beside the mark on a chart.
    pub flag: Option<String>,
    /// What the module told when it was asked, if that is long.
    pub read: Option<String>,
}

/// The rows of a logbook, in its order. A hand's act and its answer are one row; waiting is none.
pub(super) fn rows(log: &[Entry], lid_open: bool) -> Vec<Row> {
    let mut out: Vec<Row> = Vec::new();
    let mut asked: Option<(usize, &str)> = None;
    let mut turned: Option<(f64, Key)> = None;
    let mut answer_s: Option<(f64, &DiagResponse)> = None;
    for e in log {
        let id = entry_id(e);
        match &e.kind {
            Kind::Act { action: Action::Wait, .. } => continue,
            Kind::Act { action, .. } => {
                asked = Some((out.len(), id));
                if let Action::Key(key) = action {
                    turned = Some((e.t_s, *key));
                }
            }
            Kind::Answer { answer, .. } => {
                answer_s = Some((e.t_s, answer));
                if let Some((k, of)) = asked
                    && of == id
                    && let Some(row) = out.get_mut(k)
                {
                    answered(row, answer);
                    continue;
                }
            }
            Kind::Hindered { why, .. } => {
                if let Some((k, of)) = asked
                    && of == id
                    && let Some(row) = out.get_mut(k)
                {
                    row.what += &format!(" (could not be done: {why})");
                    continue;
                }
            }
            // the module hears the key that the row above turned
            Kind::Module { what: Notice::KeyOn }
                if turned.is_some_and(|t| t.1 == Key::On && (e.t_s - t.0).abs() < 0.1) =>
            {
                continue;
            }
            // an answer that the row above holds already
            Kind::Module { what }
                if answer_s.is_some_and(|(t, a)| (e.t_s - t).abs() < 0.1 && says_the_same(what, a)) =>
            {
                continue;
            }
            _ => {}
        }
        let (who, what) = entry_words(e, lid_open);
        let flag = if let Kind::Module { what } = &e.kind { facts::flag(what) } else { None };
        out.push(Row { at_s: e.t_s, number: None, who, what, flag, read: None });
    }
    let mut next = 0;
    let mut latest_s = f64::NEG_INFINITY;
    for row in &mut out {
        // the module stamps what a hand did with its last sample: no effect stands before its cause
        latest_s = latest_s.max(row.at_s);
        row.at_s = latest_s;
        if row.at_s >= 0.0 && (row.who == "hand" || row.flag.is_some()) {
            next += 1;
            row.number = Some(next);
        }
    }
    out
}

fn answered(row: &mut Row, answer: &DiagResponse) {
    let words = answer_words(answer);
    match answer {
        DiagResponse::Learned(_) | DiagResponse::Live(_) | DiagResponse::FreezeFrame(Some(_)) => {
            row.read = Some(words);
        }
        DiagResponse::Codes(_) | DiagResponse::Readiness(_) | DiagResponse::Routine(_) => {
            let told = words.trim_start_matches("codes: ").trim_start_matches("readiness: ");
            row.what += &format!(": {told}");
            row.read = Some(words);
        }
        _ => row.what += &format!(" ({words})"),
    }
}

/// A note of the module that tells what its answer told.
fn says_the_same(what: &Notice, answer: &DiagResponse) -> bool {
    match (what, answer) {
        (Notice::RoutineStarted { .. }, DiagResponse::Ok) => true,
        (Notice::Refused { because, .. }, DiagResponse::Refused(why)) => because == why,
        _ => false,
    }
}

/// The timeline: what was done and decided, in three stretches of time.
pub(super) fn timeline(o: &mut String, sheet: &Sheet, rows: &[Row]) {
    o.push_str("<section><h2>What was done, and what the module decided</h2>");
    let earlier: Vec<&Row> = rows.iter().filter(|r| r.at_s < 0.0).collect();
    if let (Some(first), Some(last)) = (earlier.first(), earlier.last()) {
        put!(
            o,
            "<details class=\"life\"><summary>Before the car came in: {} {} of the logbook, from {} to {} before</summary>",
            earlier.len(),
            if earlier.len() == 1 { "line" } else { "lines" },
            span(-first.at_s),
            span(-last.at_s)
        );
        table(o, &earlier, &|r| format!("{} before", span(-r.at_s)));
        o.push_str("</details>");
    }
    // what is said at hand-over is said by who takes the car over
    let theirs = |r: &&Row| r.at_s > sheet.hand_over_s || (r.who == "says" && r.at_s >= sheet.hand_over_s);
    let own: Vec<&Row> = rows.iter().filter(|r| r.at_s >= 0.0 && !theirs(r)).collect();
    let worked: Vec<&Row> = rows.iter().filter(theirs).collect();
    let at = |r: &Row| minus(&clock(r.at_s, true));
    if !own.is_empty() {
        put!(o, "<h3>Up to hand-over at {}</h3>", clock(sheet.hand_over_s, false));
        table(o, &own, &at);
    }
    if !worked.is_empty() {
        o.push_str("<h3>After hand-over</h3>");
        table(o, &worked, &at);
    }
    if own.is_empty() && worked.is_empty() {
        o.push_str("<p>Nothing was done, and the module decided nothing.</p>");
    }
    o.push_str(
        "<p class=\"note-line\">Times in minutes and seconds from where the job begins. The numbers are those of the marks on the \
         traces.</p></section>\n",
    );
}

/// A stretch of time in words.
pub(super) fn span(s: f64) -> String {
    match s.abs() {
        s if s < 90.0 => format!("{} s", s.round()),
        s if s < 5400.0 => format!("{} min", (s / 60.0).round()),
        s => format!("{} h", (s / 3600.0 * 10.0).round() / 10.0),
    }
}

fn table(o: &mut String, rows: &[&Row], at: &dyn Fn(&Row) -> String) {
    o.push_str(
        "<div class=\"scroll\"><table class=\"timeline\"><thead><tr><th class=\"n\">Mark</th><th class=\"n\">When</th><th>Who</th>\
         <th>What</th></tr></thead><tbody>",
    );
    for r in rows {
        let class = if r.who == "module" { "mind" } else { "hand" };
        put!(
            o,
            "<tr class=\"{class}\"><td class=\"n\">{}</td><td class=\"n\">{}</td><td>{}</td><td>{}</td></tr>",
            r.number.map_or(String::new(), |n| format!("<span class=\"no\">{n}</span>")),
            at(r),
            r.who,
            sentence(&upper_first(&r.what))
        );
    }
    o.push_str("</tbody></table></div>");
}

/// What the module told when it was asked.
pub(super) fn read(o: &mut String, rows: &[Row]) {
    let told: Vec<&Row> = rows.iter().filter(|r| r.read.is_some()).collect();
    if told.is_empty() {
        return;
    }
    o.push_str(
        "<section><h2>What was read from the module</h2><div class=\"scroll\"><table><thead><tr><th class=\"n\">Mark</th>\
         <th class=\"n\">When</th><th>What it told</th></tr></thead><tbody>",
    );
    for r in told {
        let words = r.read.as_deref().unwrap_or_default();
        let (head, list) = words.split_once(": ").unwrap_or(("", words));
        put!(
            o,
            "<tr><td class=\"n\">{}</td><td class=\"n\">{}</td><td>",
            r.number.map_or(String::new(), |n| format!("<span class=\"no\">{n}</span>")),
            minus(&clock(r.at_s, true))
        );
        if head.is_empty() {
            put!(o, "{}</td></tr>", sentence(&upper_first(list)));
            continue;
        }
        let items: Vec<String> =
            list.split("; ").map(|i| format!("<span class=\"item\">{}</span>", sentence(i))).collect();
        put!(
            o,
            "<b>{}</b> <span class=\"items\">{}</span></td></tr>",
            escape(&upper_first(head)),
            items.join(" ")
        );
    }
    o.push_str("</tbody></table></div></section>\n");
}
