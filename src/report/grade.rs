//! The graded part of an account: points by row, predictions beside outcomes, the cause that was named, belief beside
//! truth at the moments that matter, and another way to the same result.
//!
//! *Inside*: words and layout. *Outside*: the points of an attempt ([`crate::lesson`]), a gradebook's row.

use super::card::{lines_words, sum_words as card_words};
use super::charts;
use super::names::{id_words, learned_number, learned_words, listed};
use super::page::{self, good_or_bad, mark, note, section};
use super::sheet::{Beside, Sheet};
use crate::bench::view::{Observation, WindowTruth};
use crate::lesson::{Grade, Prediction, Scored};
use crate::link::LearnedStatus;
use crate::words::numbers::{minutes, number, shown_units, signed};
use crate::words::{facts, say, upper_first};
use maud::{Markup, html};

fn points(x: f64) -> String {
    number(x, if (x - x.round()).abs() < 0.05 { 0 } else { 1 })
}

/// The result in one line: closed or not, points, share.
pub fn sum_words(g: &Grade) -> String {
    say!(
        if g.closed { "grade-closed" } else { "grade-open" },
        points = points(g.points),
        of = points(g.of),
        pct = number(g.pct(), 0),
    )
}

/// The same in short form.
pub(super) fn short_words(g: &Grade) -> String {
    say!(if g.closed { "grade-short-closed" } else { "grade-short-open" }, pct = number(g.pct(), 0))
}

/// Label and text of each row, for the account on a terminal.
pub(super) fn lines(g: &Grade) -> Vec<(String, String)> {
    let mut out = vec![(say("account-grade"), sum_words(g))];
    for r in &g.rows {
        let lost: Vec<String> =
            r.findings.iter().filter(|f| !f.met).map(|f| facts::found(&f.found)).collect();
        let of = say!(
            "grade-row",
            points = format!("{:>4}", points(r.points)),
            of = format!("{:<3}", points(r.of)),
            says = r.says.as_str(),
        );
        let row = if lost.is_empty() { of } else { say!("grade-row-lost", row = of, lost = listed(&lost)) };
        out.push((String::new(), row));
    }
    for p in &g.predictions {
        let words = say!(
            "grade-predicted",
            question = p.question.as_str(),
            said = p.said.as_ref().map_or_else(|| say("grade-said-nothing"), facts::outcome),
            came = p.came.as_ref().map_or_else(|| say("grade-not-seen"), facts::outcome),
        );
        out.push((String::new(), words));
    }
    out.extend(g.never_asked.iter().map(|q| (String::new(), never_asked(q))));
    out
}

fn never_asked(question: &str) -> String {
    say!("grade-never-asked", question = question)
}

/// The graded part of the debrief.
pub(super) fn graded(sheet: &Sheet, g: &Grade) -> Markup {
    let tasks = g.rows.iter().any(|r| r.task.is_some());
    let mut heads = vec![page::digits("grade-points")];
    heads.extend(tasks.then(|| page::words("grade-task")));
    heads.push(page::words("grade-what"));
    let (sign, class) = if g.closed { ("✓", "good") } else { ("✗", "bad") };
    html! {
        (section(&say("grade-heading"), html! {
            (page::verdict(sign, class, &say!("grade-verdict", sum = sum_words(g))))
            @if g.rewound > 0 { p { (say!("grade-rewound", times = g.rewound)) } }
            @if g.lid_opened > 0 { p { (say("grade-lid-opened")) } }
            (page::table(None, &heads, html! { @for r in &g.rows { (row(r, tasks)) } }))
            @if !g.rows.iter().any(|r| r.closes) { (note(&say("grade-nothing-closes"))) }
        }))
        (stated(g))
        (predictions(g))
        @if sheet.lid_open { (moments(sheet)) (path(sheet)) }
    }
}

fn row(r: &Scored, tasks: bool) -> Markup {
    html! {
        tr {
            td class={ "n " (good_or_bad(r.full())) } {
                (say!("grade-points-of", points = points(r.points), of = points(r.of)))
            }
            @if tasks { td { (r.task.as_deref().unwrap_or("")) } }
            td {
                (r.says)
                @if r.closes { " " small { (say("grade-closes")) } }
                ul.found { @for f in &r.findings { li { (mark(f.met)) " " (facts::found(&f.found)) } } }
            }
        }
    }
}

fn stated(g: &Grade) -> Markup {
    if g.stated.is_empty() {
        return html! {};
    }
    let one = |at_s: f64, says: &str| say!("tools-reading", at = minutes(at_s, false), words = says);
    section(&say("stated-heading"), html! { ul { @for (t, says) in &g.stated { li { (one(*t, says)) } } } })
}

fn predictions(g: &Grade) -> Markup {
    if g.predictions.is_empty() && g.never_asked.is_empty() {
        return html! {};
    }
    let heads = ["question", "said", "came", "result"].map(|h| page::words(&format!("predicted-{h}")));
    let rows = html! { @for p in &g.predictions { (prediction(p)) } };
    let table = html! {
        @if !g.predictions.is_empty() { (page::table(None, &heads, rows)) }
        @for q in &g.never_asked { (note(&never_asked(q))) }
    };
    section(&say("predicted-heading"), table)
}

fn prediction(p: &Prediction) -> Markup {
    let (class, word) = match p.right {
        Some(true) => ("good", say("predicted-right")),
        Some(false) => ("bad", say("predicted-wrong")),
        None => ("nb", "–".into()),
    };
    // the reason would reveal the outcome to a trainee who has not seen it
    let why = if p.came.is_some() { p.why.as_str() } else { "" };
    html! {
        tr {
            td { (p.question) small { (say!("predicted-put", at = minutes(p.asked_s, false), why = why)) } }
            td { (p.said.as_ref().map_or_else(|| say("predicted-no-answer"), facts::outcome)) }
            td {
                (p.came.as_ref().map_or_else(|| say("predicted-ended-before"), facts::outcome))
                @if let Some(s) = p.alone_s {
                    small { (say!("predicted-alone", after = minutes(s, false))) }
                } @else if let Some(t) = p.looked_s { small { (say!("predicted-looked", at = minutes(t, false))) } }
            }
            td class=(class) { (word) }
        }
    }
}

/// Learned values that the table of moments follows, where the car holds them; in a charging job the charge that the
/// module counts besides, which is hardly ever right altogether.
const FOLLOWED: [&str; 5] = ["idle_air_light", "closed_stop", "cam_rest", "egr_stop", "alcohol"];

/// Belief and truth of a learned value at a moment.
fn learned_at(m: &Beside<'_>, name: &str) -> Option<(String, String)> {
    let v = value(m.seen, name)?;
    Some((learned_number(v, v.value), learned_number(v, m.truth.of_learned(name)?)))
}

/// Belief and truth of the crankshaft variation at a moment: in the sector with the largest correction, or without any
/// correction in the one with the largest error; of two equal ones the first, as in the learned value.
fn wheel_at(m: &Beside<'_>) -> Option<(String, String)> {
    let most = |f: fn(&WindowTruth) -> f64| {
        let larger = |a: &'_ WindowTruth, b: &'_ WindowTruth| f(b).abs() > f(a).abs();
        m.truth.windows.iter().reduce(|a, b| if larger(a, b) { b } else { a })
    };
    let by_belief = most(|w| w.believed_deg)?;
    let one = if by_belief.believed_deg == 0.0 { most(|w| w.is_deg)? } else { by_belief };
    Some((signed(one.believed_deg, 2), signed(one.is_deg, 2)))
}

fn value<'o>(seen: &'o Observation, name: &str) -> Option<&'o LearnedStatus> {
    seen.learned.iter().find(|v| v.name == name)
}

fn moments(sheet: &Sheet) -> Markup {
    let Some((before, after)) = sheet.shown_truth() else { return html! {} };
    let (begun, ended) = (say("moments-hand-over"), say("moments-end"));
    let first = Beside { what: &begun, at_s: sheet.hand_over_s, seen: sheet.before, truth: before };
    let last = Beside { what: &ended, at_s: sheet.end_s, seen: sheet.after, truth: after };
    let all: Vec<&Beside<'_>> =
        std::iter::once(&first).chain(sheet.moments).chain(std::iter::once(&last)).collect();
    let charge = charts::of_charging(sheet).then_some(&"battery_charge");
    let learned = FOLLOWED.iter().chain(charge).filter_map(|name| value(sheet.after, name)).map(|v| {
        let name = upper_first(&learned_words(&v.name));
        let head = say!("moments-learned", name = name, unit = shown_units().unit(&v.unit));
        (head, all.iter().map(|m| learned_at(m, &v.name)).collect::<Vec<_>>())
    });
    let wheel = (say("moments-wheel"), all.iter().map(|m| wheel_at(m)).collect());
    // a value that was right from beginning to end would only widen the table
    let tells = |both: &Option<(String, String)>, first: &Option<(String, String)>| {
        both != first || both.as_ref().is_some_and(|(belief, truth)| belief != truth)
    };
    let columns: Vec<(String, Vec<_>)> =
        learned.chain([wheel]).filter(|(_, cells)| cells.iter().any(|c| tells(c, &cells[0]))).collect();
    let mut heads = vec![page::words("moments-before"), page::digits("moments-at")];
    heads.extend(columns.iter().map(|(head, _)| (head.clone(), true)));
    heads.push(page::digits("moments-engine"));
    let rows = html! {
        @for (k, m) in all.iter().enumerate() {
            tr {
                td { (upper_first(&id_words(m.what))) }
                td.n { (minutes(m.at_s, false)) }
                @for (_, cells) in &columns {
                    td.n {
                        @match &cells[k] {
                            Some((belief, truth)) => { span.belief { (belief) } " " b { (truth) } }
                            None => "–",
                        }
                    }
                }
                td.n { (number(m.seen.live.engine_speed_rpm, 0)) }
            }
        }
    };
    let body = html! { (note(&say("moments-note"))) (page::table(None, &heads, rows)) };
    section(&say("moments-heading"), body)
}

/// Another way to the same result: the model solution's work.
fn path(sheet: &Sheet) -> Markup {
    let Some(job) = sheet.path else { return html! {} };
    let body = html! {
        p { (say!("path-to-end", work = card_words(job))) }
        p { (lines_words(job)) "." }
    };
    section(&say("path-heading"), body)
}
