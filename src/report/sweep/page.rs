//! The page of a sweep: what was varied, the spread of every value in a chart and in numbers, and in how many of the
//! runs each expectation was met.
//!
//! *Inside*: order and layout. *Outside*: drawing the charts (`picture`).

use super::{Axis, Item, Of, PERCENTS, Swept, picture};
use crate::report::page::{self, digits, note, page as whole_page, section, words};
use crate::words::numbers::as_written;
use crate::words::{say, upper_first};
use maud::{Markup, html};

/// Most charts on a page.
const MOST_CHARTS: usize = 60;
/// Most rows in a table of the page.
const MOST_ROWS: usize = 200;

/// The whole page.
pub fn sweep_html(s: &Swept<'_>) -> String {
    let body = html! {
        header {
            p.lede { (say("sweep-kind-of-page")) }
            h1 { (s.id) " " (s.title) }
            @if let Some(id) = s.actions { p { (say("page-worked-by")) " " b { (id) } } }
            p { (s.sum_words()) }
            @if !s.over.is_empty() {
                dl.facts { @for axis in s.over { div { dt { (axis.path) } dd { (values_words(axis)) } } } }
            }
        }
        main {
            (note(&say(if s.over.is_empty() { "sweep-note-shares" } else { "sweep-note-bands" })))
            (note(&say("sweep-note-percentiles")))
            @if s.over.is_empty() { (overview(s)) }
            (items(s))
        }
        footer {
            (say!("sweep-foot", version = s.version)) " "
            (say(if s.lid_open { "sweep-foot-open" } else { "page-foot-closed" })) " "
            (say("account-made-up"))
        }
    };
    whole_page(&say!("sweep-title", id = s.id, title = s.title), body)
}

/// The values of an axis: all of them if they are few, otherwise the ends and how many.
fn values_words(axis: &Axis) -> String {
    match axis.values.as_slice() {
        [first, .., last] if axis.values.len() > 6 => {
            say!("sweep-range", from = as_written(*first), to = as_written(*last), n = axis.values.len(),)
        }
        few => few.iter().map(|x| as_written(*x)).collect::<Vec<_>>().join(", "),
    }
}

fn percent_heads() -> impl Iterator<Item = page::Head> {
    let percent = |p| (say!("sweep-percent", p = p), true);
    std::iter::once(digits("sweep-head-numbers"))
        .chain(PERCENTS.map(percent))
        .chain([digits("sweep-head-met")])
}

/// The cells of a thing at a point.
fn cells(item: &Item, point: usize) -> Markup {
    html! {
        td.n { (item.at[point].values.len().to_string()) }
        @for which in 0..PERCENTS.len() { td.n { (item.at_percent(point, which)) } }
        td.n { (item.met(point)) }
    }
}

/// Where only the seed differs: everything in one table.
fn overview(s: &Swept<'_>) -> Markup {
    let heads: Vec<page::Head> = std::iter::once(words("sweep-head-what")).chain(percent_heads()).collect();
    let rows = html! {
        @for item in &s.items {
            tr {
                td { (upper_first(&item.with_unit())) @if !item.why.is_empty() { small { (item.why) } } }
                (cells(item, 0))
            }
        }
    };
    section(&say("sweep-overview"), page::table(None, &heads, rows))
}

/// Each thing with its charts, and a table where something was varied.
fn items(s: &Swept<'_>) -> Markup {
    let mut room = MOST_CHARTS;
    let mut drawn = |item: &Item| {
        let charts = if item.of == Of::All { Vec::new() } else { charts(s, item, room) };
        room -= charts.len();
        charts
    };
    html! {
        @for item in &s.items {
            @let charts = drawn(item);
            @if !charts.is_empty() || !s.over.is_empty() {
                section {
                    h2 { (upper_first(&item.with_unit())) }
                    @if !item.why.is_empty() { p { (item.why) } }
                    @for chart in charts { figure { div.fig { (chart) } } }
                    @if !s.over.is_empty() { (by_point(s, item)) }
                }
            }
        }
    }
}

/// The charts of a thing, at most so many.
fn charts(s: &Swept<'_>, item: &Item, most: usize) -> Vec<Markup> {
    let differs = |k: usize| item.at[k].values.first() != item.at[k].values.last();
    let Some((axis, others)) = s.over.split_first() else {
        let there = most > 0 && differs(0);
        return there.then(|| picture::shares(&item.with_unit(), item, &item.at[0])).into_iter().collect();
    };
    // the first number varied runs along the chart, every combination of the others has a chart of its own
    let apart: usize = others.iter().map(|a| a.values.len()).product();
    let numbers =
        |k: usize| (0..axis.values.len()).filter(move |i| item.at[i * apart + k].percentiles.is_some());
    let there = |k: &usize| axis.values.len() > 1 && numbers(*k).count() > 1;
    let one = |k: usize| {
        let stats: Vec<_> = (0..axis.values.len()).map(|i| &item.at[i * apart + k]).collect();
        let at = Swept::values_at(others, k);
        let at = others
            .iter()
            .zip(at)
            .map(|(axis, x)| say!("sweep-at", path = axis.path.as_str(), value = as_written(x)));
        let at = at.collect::<Vec<_>>().join(", ");
        html! {
            @if !at.is_empty() { figcaption { (at) } }
            (picture::bands(&item.with_unit(), item, axis, &stats))
        }
    };
    (0..apart).filter(there).take(most).map(one).collect()
}

fn by_point(s: &Swept<'_>, item: &Item) -> Markup {
    let heads: Vec<page::Head> =
        s.over.iter().map(|a| (a.path.clone(), true)).chain(percent_heads()).collect();
    let rows = html! {
        @for point in 0..s.points().min(MOST_ROWS) {
            tr {
                @for x in Swept::values_at(s.over, point) { td.n { (as_written(x)) } }
                (cells(item, point))
            }
        }
    };
    html! {
        (page::table(None, &heads, rows))
        @if s.points() > MOST_ROWS { (note(&say!("sweep-more-rows", rows = MOST_ROWS, points = s.points()))) }
    }
}
