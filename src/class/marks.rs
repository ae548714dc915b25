//! Marks and documents of a class: a gradebook table, debriefs as one page, statements for a learning record store.
//!
//! *Outside*: how an attempt is graded ([`crate::lesson`]), what a debrief looks like ([`crate::report`]).

use super::Class;
use super::keep::AttemptRow;
use super::seat::Seat;
use crate::bench::record::hash_of_text;
use crate::report::{csv_text, fixed};
use crate::words::numbers::{Units, number};
use crate::words::say;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Columns of the table; those shared with the gradebook of `verify` have the same name and format.
const COLUMNS: [&str; 16] = [
    "seat",
    "trainee",
    "scenario",
    "attempt",
    "attempts",
    "exam",
    "points",
    "of",
    "given",
    "reason",
    "counts",
    "closed",
    "minutes",
    "money",
    "handed_in",
    "state_hash",
];

/// The points that count for an attempt: those that the instructor gave, else those achieved.
fn counted(row: &AttemptRow) -> Option<f64> {
    row.given.or(row.points)
}

fn rows(class: &Class) -> Vec<(String, AttemptRow)> {
    let own = |s: &std::sync::Arc<Seat>| {
        let rows: Vec<AttemptRow> = s.state().rows.iter().filter(|r| r.handed_in).cloned().collect();
        rows.into_iter().map(|r| (s.word.clone(), r)).collect::<Vec<_>>()
    };
    class.seats().iter().flat_map(own).collect()
}

/// Whether an attempt is the best or the last of its seat at that lesson, one word for each.
fn counts(row: &AttemptRow, all: &[(String, AttemptRow)]) -> String {
    let same = || all.iter().map(|(_, r)| r).filter(|r| r.seat == row.seat && r.lesson == row.lesson);
    let best = same().filter_map(counted).reduce(f64::max);
    let last = same().map(|r| r.number).max() == Some(row.number);
    let best = counted(row).is_some() && counted(row) == best;
    let words = [(best, "best"), (last, "last")];
    words.iter().filter(|(is, _)| *is).map(|(_, w)| *w).collect::<Vec<_>>().join(" ")
}

/// One row for each attempt that was handed in.
pub fn csv(class: &Class) -> String {
    let all = rows(class);
    let number = |x: Option<f64>, decimals| x.map_or(String::new(), |x| fixed(x, decimals));
    let yes = |x: bool| if x { "yes" } else { "no" }.to_owned();
    let row = |(word, r): &(String, AttemptRow)| {
        let attempts = all.iter().filter(|(_, o)| o.seat == r.seat && o.lesson == r.lesson).count();
        vec![
            r.seat.to_string(),
            word.clone(),
            r.lesson.clone(),
            r.number.to_string(),
            attempts.to_string(),
            yes(r.exam),
            number(r.points, 1),
            number(r.most, 1),
            number(r.given, 1),
            r.reason.clone().unwrap_or_default(),
            counts(r, &all),
            r.closed.map_or(String::new(), yes),
            number(r.minutes, 1),
            number(r.money, 2),
            r.ended_ms.map_or(String::new(), stamp),
            r.state_hash.clone().unwrap_or_default(),
        ]
    };
    csv_text(&COLUMNS, all.iter().map(row))
}

/// A debrief for printing, with the marks that the instructor gave instead, and the reason.
pub fn debrief(class: &Class, seat: u32, number: u32, units: Units) -> Option<String> {
    let seat = class.seat(seat)?;
    let row = seat.state().rows.iter().find(|r| r.number == number && r.handed_in).cloned()?;
    let kept = |units| class.keep.text(&class.keep.debrief(row.seat, row.number, units));
    // an attempt that an earlier version kept has metric units only
    let html = kept(units).or_else(|| kept(Units::Metric))?;
    let Some(words) = marked(&row) else { return Some(html) };
    let (head, body) = html.split_once("<body>")?;
    Some(format!(
        "{head}<body><p class=\"given\"><strong>{}</strong></p>{body}",
        maud::html! { (words) }.into_string()
    ))
}

/// The instructor's marks, in words.
fn marked(row: &AttemptRow) -> Option<String> {
    let (points, reason) = (row.given?, row.reason.clone().unwrap_or_default());
    let of = number(row.most.unwrap_or(0.0), 1);
    Some(say!("class-given", points = number(points, 1), of = of, reason = reason))
}

/// All debriefs in sequence, each on a page of its own.
pub fn all_debriefs(class: &Class, units: Units) -> String {
    let mut out = String::new();
    let mut end = String::new();
    for (_, row) in rows(class) {
        let Some(html) = debrief(class, row.seat, row.number, units) else { continue };
        let Some((head, rest)) = html.split_once("<body>") else { continue };
        let Some((body, tail)) = rest.rsplit_once("</body>") else { continue };
        if out.is_empty() {
            out = format!("{head}<body>");
            end = format!("</body>{tail}");
            out += &format!("<section>{body}</section>");
        } else {
            out += &format!("<section style=\"break-before: page\">{body}</section>");
        }
    }
    if out.is_empty() {
        return maud::html! { p { (say("class-no-debriefs")) } }.into_string();
    }
    out + &end
}

/// Statements of the Experience API (IEEE 9274.1.1): one for each attempt that was handed in.
pub fn statements(class: &Class) -> Value {
    let all = rows(class).into_iter().map(|(word, r)| {
        let id = hash_of_text(&json!([class.word, r.seat, r.number, r.state_hash]).to_string());
        // a version 8 identifier (RFC 9562): these bits are free for the application
        let id =
            format!("{}-{}-8{}-8{}-{}", &id[..8], &id[8..12], &id[13..16], &id[17..20], &id[20..32]);
        let verb = match r.closed {
            Some(true) => "passed",
            Some(false) => "failed",
            None => "completed",
        };
        let mut result = json!({ "completion": true });
        if let (Some(raw), Some(most)) = (counted(&r), r.most.filter(|m| *m > 0.0)) {
            result["score"] = json!({ "raw": raw, "min": 0, "max": most, "scaled": raw / most });
        }
        if let Some(closed) = r.closed {
            result["success"] = json!(closed);
        }
        if let Some(minutes) = r.minutes {
            result["duration"] = json!(format!("PT{:.0}S", 60.0 * minutes));
        }
        let names: BTreeMap<&str, &str> = [("en", verb)].into();
        json!({
            "id": id,
            "actor": { "objectType": "Agent",
                "account": { "homePage": "https://idlewright.invalid/class", "name": format!("{}/{word}", class.word) } },
            "verb": { "id": format!("http://adlnet.gov/expapi/verbs/{verb}"), "display": names },
            "object": { "objectType": "Activity", "id": format!("https://idlewright.invalid/lesson/{}", r.lesson),
                "definition": { "type": "http://adlnet.gov/expapi/activities/simulation" } },
            "result": result,
            "context": { "extensions": { "https://idlewright.invalid/attempt": r.number,
                "https://idlewright.invalid/exam": r.exam } },
            "timestamp": r.ended_ms.map(stamp),
        })
    });
    Value::Array(all.collect())
}

/// A timestamp in RFC 3339 format, from milliseconds since 1970. Conversion of days to a date: Howard Hinnant,
/// chrono-compatible low-level date algorithms, `civil_from_days`.
fn stamp(ms: i64) -> String {
    let (days, ms) = (ms.div_euclid(86_400_000), ms.rem_euclid(86_400_000));
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let doe = z.rem_euclid(146_097);
    let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
    let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    let mp = (5 * doy + 2) / 153;
    let (d, m) = (doy - (153 * mp + 2) / 5 + 1, if mp < 10 { mp + 3 } else { mp - 9 });
    let y = yoe + era * 400 + i64::from(m <= 2);
    let s = ms / 1000;
    format!("{y:04}-{m:02}-{d:02}T{:02}:{:02}:{:02}.{:03}Z", s / 3600, s / 60 % 60, s % 60, ms % 1000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_moments_are_written_as_dates() {
        assert_eq!(stamp(0), "1970-01-01T00:00:00.000Z");
        assert_eq!(stamp(951_782_400_000), "2000-02-29T00:00:00.000Z");
        assert_eq!(stamp(1_798_761_599_999), "2026-12-31T23:59:59.999Z");
        assert_eq!(stamp(-1), "1969-12-31T23:59:59.999Z");
    }
}
