//! The parts that every page has: its head, the block of facts at its top, cautions, its closing and foot; and the
//! building blocks of its tables.
//!
//! *Inside*: markup. The pages are self-contained HTML files; maud escapes every text as it goes in. *Outside*: a
//! page's contents.

use super::cautions::{Told, job_cautions};
use super::names::{in_shown_units, lamp_words, lid_words};
use super::sheet::Sheet;
use crate::words::numbers::{grouped, minutes, number, shown_units};
use crate::words::{say, spoken};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A whole page. Characters that are not allowed in a text become a replacement character.
pub(super) fn page(title: &str, body: Markup) -> String {
    let whole = html! {
        (DOCTYPE)
        html lang=(spoken().tag()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width,initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(include_str!("style.css"))) }
            }
            body { (body) }
        }
    };
    printable(whole) + "\n"
}

/// Markup as a file, without characters that are not allowed in a text.
pub(super) fn printable(markup: Markup) -> String {
    let bad = |c: char| c.is_control() && c != '\n' && c != '\t';
    markup.into_string().chars().map(|c| if bad(c) { '\u{FFFD}' } else { c }).collect()
}

/// A sentence in which the parts between `*` signs are bold.
pub(super) fn heavy(sentence: &str) -> Markup {
    html! {
        @for (k, part) in sentence.split('*').enumerate() {
            @if k % 2 == 1 { b { (part) } } @else { (part) }
        }
    }
}

/// A section under its heading.
pub(super) fn section(heading: &str, inside: Markup) -> Markup {
    html! { section { h2 { (heading) } (inside) } }
}

/// A column of a table: its heading, and whether it holds numbers.
pub(super) type Head = (String, bool);

/// A column of words.
pub(super) fn words(id: &str) -> Head {
    (say(id), false)
}

/// A column of numbers.
pub(super) fn digits(id: &str) -> Head {
    (say(id), true)
}

/// A table that scrolls if it does not fit.
pub(super) fn table(class: Option<&str>, heads: &[Head], rows: Markup) -> Markup {
    html! {
        div.scroll {
            table class=[class] {
                thead { tr {
                    @for (words, digits) in heads { th class=[digits.then_some("n")] { (words) } }
                } }
                tbody { (rows) }
            }
        }
    }
}

/// A note in secondary type below the thing it explains.
pub(super) fn note(words: &str) -> Markup {
    html! { p."note-line" { (words) } }
}

/// A tick or a cross for a judged item.
pub(super) fn mark(good: bool) -> Markup {
    html! { span class=(good_or_bad(good)) { (mark_words(good)) } }
}

pub(super) fn mark_words(good: bool) -> String {
    say(if good { "mark-met" } else { "mark-not-met" })
}

pub(super) fn good_or_bad(good: bool) -> &'static str {
    if good { "good" } else { "bad" }
}

/// A verdict with its sign.
pub(super) fn verdict(sign: &str, class: &str, words: &str) -> Markup {
    html! { p.verdict { span class=(class) aria-hidden="true" { (sign) } " " (words) } }
}

/// The block at the top: who worked, and on what.
pub(super) fn title_block(sheet: &Sheet, kind: &str) -> Markup {
    let time = |s: f64| minutes(s, false);
    let facts = [
        ("fact-car", sheet.car_title.to_owned()),
        (
            "fact-odometer",
            say!(
                "fact-km",
                km = grouped(in_shown_units(sheet.odometer_km, "km").0),
                unit = shown_units().unit("km")
            ),
        ),
        ("fact-handed-over", time(sheet.hand_over_s)),
        (if sheet.stopped { "fact-stopped" } else { "fact-ended" }, time(sheet.end_s)),
        ("fact-lamp", lamp_words(sheet.after.lamp)),
        ("fact-lid", lid_words(sheet.lid_open)),
    ];
    html! {
        header {
            p.lede { (kind) }
            h1 { (sheet.id) " " (sheet.title) }
            @if let Some(trainee) = sheet.trainee { p { (say("page-trainee")) " " b { (trainee) } } }
            @if let Some((id, title)) = sheet.actions { p { (say("page-worked-by")) " " b { (id) } ": " (title) } }
            @if !sheet.complaint.is_empty() { blockquote { "“" (sheet.complaint) "”" } }
            dl.facts { @for (term, text) in &facts { div { dt { (say(term)) } dd { (text) } } } }
        }
    }
}

/// Cautions: the job's own, and the general ones.
pub(super) fn cautions(sheet: &Sheet) -> Markup {
    let list = |all: &[Told]| html! { ul { @for c in all { li { (c.says) } } } };
    let [own, always] = job_cautions(sheet.cautions);
    html! {
        section.caution {
            h2 { (say("cautions-heading")) }
            @if !own.is_empty() { (list(&own)) h3 { (say("cautions-always")) } }
            (list(&always))
        }
    }
}

/// The last part of a page before its foot.
pub(super) fn closing() -> Markup {
    html! { section.closing { h2 { (say("page-closing")) } p { (say("page-closing-says")) } } }
}

/// The foot: how to produce the same page again. `states` are the heading and hash of each final state.
pub(super) fn foot(sheet: &Sheet, states: &[(String, &str)]) -> Markup {
    let about = say!(
        "page-foot",
        version = sheet.version,
        scenario = sheet.id,
        seed = sheet.seed.to_string(),
        step = number_as_written(sheet.step_deg),
    );
    html! {
        footer {
            (about) " " (say(if sheet.lid_open { "page-foot-open" } else { "page-foot-closed" })) " "
            @for (words, hash) in states { (words) " " code { (hash) } ". " }
            (say("page-foot-same"))
        }
    }
}

/// A setting with as many decimals as it was given.
pub(super) fn number_as_written(x: f64) -> String {
    let text = x.to_string();
    number(x, text.split_once('.').map_or(0, |(_, decimals)| decimals.len()))
}
