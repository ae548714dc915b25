//! What was handed in by a class: a table for a terminal, and CSV for a gradebook.
//!
//! *Inside*: one row for each logbook. *Outside*: the verdicts (the caller hands in [`HandedIn`]).

use super::cells::csv_text;
use crate::lesson::Grade;
use serde::Serialize;

/// One logbook with its verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HandedIn {
    /// The file, as it was named.
    pub file: String,
    /// The trainee that it names.
    pub trainee: Option<String>,
    /// The class's seed that it names.
    pub class_seed: Option<u64>,
    /// The scenario that it names, by id.
    pub scenario: Option<String>,
    /// sealed, forged, unsealed, or not checked; a dash for what is no logbook.
    pub seal: &'static str,
    /// consistent, altered, other version, or not judged.
    pub verdict: &'static str,
    /// Why, in one line.
    pub reason: String,
    /// The line where it first differs.
    pub line: Option<usize>,
    /// Another file that holds the same attempt.
    pub same_as: Option<String>,
    /// The lid was open.
    pub lid_open: Option<bool>,
    /// Minutes on the job card.
    pub minutes: Option<f64>,
    /// Money on the job card \[credits\].
    pub money: Option<f64>,
    /// Parts bought.
    pub parts: Option<usize>,
    /// Expectations met.
    pub met: Option<usize>,
    /// Expectations in all.
    pub expectations: Option<usize>,
    /// What it is worth, where the scenario is a lesson.
    pub grade: Option<Grade>,
    /// File of its debrief, if one was asked for.
    pub debrief: Option<String>,
}

/// Columns of the CSV.
const COLUMNS: [&str; 14] = [
    "file",
    "trainee",
    "class_seed",
    "scenario",
    "seal",
    "verdict",
    "reason",
    "line",
    "minutes",
    "money",
    "parts",
    "met",
    "expectations",
    "lid",
];

fn number<T: ToString>(x: Option<T>) -> String {
    x.map_or(String::new(), |x| x.to_string())
}

fn decimal(x: Option<f64>) -> String {
    x.map_or(String::new(), |x| super::fixed(x, 1))
}

/// One row for each logbook, below a row of names.
pub fn handed_in_csv(rows: &[HandedIn]) -> String {
    let names: Vec<&str> = COLUMNS.into_iter().chain(super::grade::GRADED).chain(["debrief"]).collect();
    let row = |r: &HandedIn| {
        let lid = r.lid_open.map_or("", |open| if open { "open" } else { "closed" });
        let own = [
            r.file.clone(),
            r.trainee.clone().unwrap_or_default(),
            number(r.class_seed),
            r.scenario.clone().unwrap_or_default(),
            r.seal.trim_matches('-').into(),
            r.verdict.into(),
            r.reason.clone(),
            number(r.line),
            decimal(r.minutes),
            decimal(r.money),
            number(r.parts),
            number(r.met),
            number(r.expectations),
            lid.into(),
        ];
        let graded = super::grade::cells(r.grade.as_ref());
        own.into_iter().chain(graded).chain([r.debrief.clone().unwrap_or_default()]).collect()
    };
    csv_text(&names, rows.iter().map(row))
}

/// Text made fit for so many columns: without what moves a cursor, its end kept where it is too long.
fn fit(text: &str, wide: usize, keep_end: bool) -> String {
    let clean: Vec<char> = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if clean.len() <= wide {
        return clean.into_iter().collect();
    }
    if keep_end {
        return std::iter::once('…').chain(clean[clean.len() + 1 - wide..].iter().copied()).collect();
    }
    clean[..wide - 1].iter().copied().chain(['…']).collect()
}

/// The rows as a table of 100 columns, reasons below what is not simply consistent, and a line that adds up.
pub fn handed_in_table(rows: &[HandedIn]) -> String {
    let widest = |texts: &mut dyn Iterator<Item = usize>, least: usize, most: usize| {
        texts.max().unwrap_or(0).clamp(least, most)
    };
    let who = |r: &HandedIn| r.trainee.clone().unwrap_or_else(|| "-".into());
    let trainee = widest(&mut rows.iter().map(|r| who(r).chars().count()), 7, 12);
    let file = widest(&mut rows.iter().map(|r| r.file.chars().count()), 7, 30 - trainee);
    let line = |c: [&str; 9]| {
        let text = format!(
            "{:<file$} {:<trainee$} {:<8} {:<11} {:<13} {:>5} {:>6} {:<5} {}",
            c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8]
        );
        text.trim_end().to_owned() + "\n"
    };
    let mut out = line(["logbook", "trainee", "scenario", "seal", "verdict", "min", "money", "met", "grade"]);
    for r in rows {
        let met = match (r.met, r.expectations) {
            (Some(met), Some(all)) => format!("{met}/{all}"),
            _ => String::new(),
        };
        out += &line([
            &fit(&r.file, file, true),
            &fit(&who(r), trainee, false),
            &fit(r.scenario.as_deref().unwrap_or("-"), 8, false),
            r.seal,
            r.verdict,
            &decimal(r.minutes),
            &r.money.map_or(String::new(), |x| super::fixed(x, 0)),
            &met,
            &r.grade.as_ref().map_or(String::new(), super::grade::short_words),
        ]);
        if r.verdict != "consistent" || r.same_as.is_some() || r.lid_open == Some(true) {
            let at = r.line.map_or(String::new(), |n| format!("line {n}: "));
            out += &format!("    {at}{}\n", fit(&r.reason, 400, false));
        }
    }
    out + &sum(rows)
}

/// How many of each.
fn sum(rows: &[HandedIn]) -> String {
    let count = |word: &str| rows.iter().filter(|r| r.verdict == word || r.seal == word).count();
    let said = |words: &[&str]| {
        let all = words.iter().map(|w| (count(w), w)).filter(|(n, _)| *n > 0);
        all.map(|(n, w)| format!("{n} {w}")).collect::<Vec<_>>().join(", ")
    };
    let logbooks = if rows.len() == 1 { "1 file".to_owned() } else { format!("{} files", rows.len()) };
    format!(
        "\n{logbooks}: {}. Seals: {}.\nConsistent says that these acts come to this. It cannot tell who did them.\n",
        said(&["consistent", "altered", "other version", "not judged"]),
        said(&["sealed", "forged", "unsealed", "not checked"])
    )
}
