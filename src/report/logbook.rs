//! The logbook on paper: tables of the timeline's rows, and the data read from the module.

use super::acts::who_words;
use super::cautions::{AtFirst, beside};
use super::page::{self, note, section};
use super::sheet::Sheet;
use super::timeline::Row;
use crate::words::numbers::{minutes, number};
use crate::words::{say, upper_first};
use maud::{Markup, html};

/// A row's number as charts show it.
pub(super) fn number_of(r: &Row) -> Markup {
    html! { td.n { @if let Some(n) = r.number { span.no { (n) } } } }
}

/// The style of a row: acts of the module differ from those of others.
pub(super) fn row_class(r: &Row) -> &'static str {
    if r.who == "module" { "mind" } else { "hand" }
}

/// What was done, and below it the cautions that no row above has shown.
pub(super) fn told(r: &Row, first: &mut AtFirst) -> Markup {
    let cautions = beside(&first.of(r.cautions));
    html! { (upper_first(&r.what)) @if !cautions.is_empty() { small.careful { (cautions) } } }
}

/// The timeline: what was done and decided, in three periods.
pub(super) fn timeline(sheet: &Sheet, rows: &[Row]) -> Markup {
    let earlier: Vec<&Row> = rows.iter().filter(|r| r.at_s < 0.0).collect();
    // an act at the very moment of hand-over belongs to the person who takes the car over
    let theirs = |r: &&Row| r.line >= sheet.own_lines;
    let own: Vec<&Row> = rows.iter().filter(|r| r.at_s >= 0.0 && !theirs(r)).collect();
    let worked: Vec<&Row> = rows.iter().filter(theirs).collect();
    let at = |r: &Row| minutes(r.at_s, true);
    section(
        &say("logged-heading"),
        html! {
            @if let (Some(first), Some(last)) = (earlier.first(), earlier.last()) {
                details.life {
                    summary {
                        (say!(
                            "logged-earlier",
                            lines = earlier.len() as u32,
                            from = span(-first.at_s),
                            to = span(-last.at_s),
                        ))
                    }
                    (table(&earlier, &|r| say!("logged-before", span = span(-r.at_s))))
                }
            }
            @if !own.is_empty() {
                h3 { (say!("logged-up-to", at = minutes(sheet.hand_over_s, false))) }
                (table(&own, &at))
            }
            @if !worked.is_empty() { h3 { (say("logged-after")) } (table(&worked, &at)) }
            @if own.is_empty() && worked.is_empty() { p { (say("logged-nothing")) } }
            (note(&say("logged-note")))
        },
    )
}

/// A length of time in words.
fn span(s: f64) -> String {
    match s.abs() {
        s if s < 90.0 => say!("span-seconds", n = number(s, 0)),
        s if s < 5400.0 => say!("span-minutes", n = number(s / 60.0, 0)),
        s => {
            let tenths = (s / 360.0).round();
            say!("span-hours", n = number(tenths / 10.0, if tenths % 10.0 == 0.0 { 0 } else { 1 }))
        }
    }
}

fn table(rows: &[&Row], at: &dyn Fn(&Row) -> String) -> Markup {
    let heads = [
        page::digits("logged-mark"),
        page::digits("logged-when"),
        page::words("logged-who"),
        page::words("logged-what"),
    ];
    let mut first = AtFirst::default();
    let rows = html! {
        @for r in rows {
            tr class=(row_class(r)) {
                (number_of(r))
                td.n { (at(r)) }
                td.nb { (who_words(r.who)) }
                td { (told(r, &mut first)) }
            }
        }
    };
    page::table(Some("timeline"), &heads, rows)
}

/// The module's answers to requests.
pub(super) fn read(rows: &[Row]) -> Markup {
    let told = || rows.iter().filter_map(|r| Some((r, r.read.as_ref()?)));
    if told().next().is_none() {
        return html! {};
    }
    let heads = [page::digits("logged-mark"), page::digits("logged-when"), page::words("logged-told")];
    let rows = html! {
        @for (r, told) in told() {
            tr {
                (number_of(r))
                td.n { (minutes(r.at_s, true)) }
                td {
                    @match &told.head {
                        None => @for item in &told.items { (upper_first(item)) },
                        Some(head) => {
                            b { (upper_first(head)) } " "
                            span.items {
                                @for (k, item) in told.items.iter().enumerate() {
                                    @if k > 0 { " " }
                                    span.item { (item) }
                                }
                            }
                        }
                    }
                }
            }
        }
    };
    section(&say("logged-read-heading"), page::table(None, &heads, rows))
}
