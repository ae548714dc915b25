//! The job card on paper.

use super::page::{self, section};
use crate::session::{Job, Work};
use crate::words::numbers::number;
use crate::words::{facts, say};
use maud::{Markup, html};

/// The sum in words.
pub(super) fn sum_words(job: &Job) -> String {
    say!(
        "card-sum",
        minutes = number(job.minutes, 0),
        money = number(job.money, 2),
        currency = job.currency.as_str(),
        parts = job.parts_bought,
    )
}

/// The card's lines in words, with repeated work combined.
pub(super) fn lines_words(job: &Job) -> String {
    let mut all: Vec<(&Work, u32, f64)> = Vec::new();
    for l in &job.lines {
        match all.iter_mut().find(|a| *a.0 == l.work) {
            Some(a) => (a.1, a.2) = (a.1 + 1, a.2 + l.minutes),
            None => all.push((&l.work, 1, l.minutes)),
        }
    }
    let one = |(what, times, minutes): &(&Work, u32, f64)| {
        say!("card-line", times = *times, what = facts::work(what), minutes = number(*minutes, 1))
    };
    super::names::listed(&all.iter().map(one).collect::<Vec<_>>())
}

/// The card as a section of the debrief.
pub(super) fn card(job: &Job) -> Markup {
    let heads = [
        page::words("card-act"),
        page::words("card-work"),
        page::digits("card-minutes"),
        (job.currency.clone(), true),
    ];
    let rows = html! {
        @for l in &job.lines {
            tr {
                td { (l.id) }
                td { (facts::work(&l.work)) }
                td.n { (number(l.minutes, 1)) }
                td.n { (number(l.money, 2)) }
            }
        }
    };
    section(&say("card-heading"), html! { p { (sum_words(job)) "." } (page::table(None, &heads, rows)) })
}
