//! A gradebook: one row for each attempt, as data for programs.
//!
//! *Inside*: its columns and cells. *Outside*: the points of an attempt ([`crate::lesson`]), writing CSV (`cells`).

use super::cells::{csv_text, fixed};
use crate::lesson::{Grade, Scored};
use crate::session::Job;

fn points(x: f64) -> String {
    fixed(x, if (x - x.round()).abs() < 0.05 { 0 } else { 1 })
}

/// The data of an attempt for a gradebook's row.
#[derive(Debug, Clone, Copy)]
pub struct Attempt<'a> {
    /// Trainee, as a pseudonym or a bench's number; none if nobody was named.
    pub trainee: Option<&'a str>,
    /// Scenario.
    pub scenario: &'a str,
    /// Title of the action file.
    pub actions: &'a str,
    /// Seed of the parts.
    pub seed: u64,
    /// Grade.
    pub grade: Option<&'a Grade>,
    /// Job card.
    pub job: &'a Job,
    /// Expectations met, and their total number.
    pub expectations: (usize, usize),
    /// Stopped before its end.
    pub stopped: bool,
}

/// Columns of a gradebook before those of the grade.
pub const GRADEBOOK: &[&str] = &[
    "trainee",
    "scenario",
    "actions",
    "seed",
    "minutes",
    "money",
    "parts",
    "met",
    "expectations",
    "stopped",
];

/// Columns of a grade, in a gradebook and in the table of a class's logbooks.
pub(super) const GRADED: [&str; 9] = [
    "passed",
    "points",
    "of",
    "pct",
    "cause_found",
    "good_parts",
    "predictions_made",
    "rewound",
    "lid_opened",
];

/// The column of a gradebook with the points of each row of the rubric: one, so that gradebooks of different lessons can
/// be put below each other.
const ROWS: &str = "rows";

/// The cells of a gradebook's row, in the order of [`GRADEBOOK`], then of the grade's columns, and
/// the points of the rubric's rows in one.
pub fn gradebook_cells(a: &Attempt<'_>) -> Vec<String> {
    let mut all = vec![
        a.trainee.unwrap_or_default().into(),
        a.scenario.into(),
        a.actions.into(),
        a.seed.to_string(),
        fixed(a.job.minutes, 1),
        fixed(a.job.money, 2),
        a.job.parts_bought.to_string(),
        a.expectations.0.to_string(),
        a.expectations.1.to_string(),
        if a.stopped { "yes" } else { "no" }.into(),
    ];
    all.extend(cells(a.grade));
    let one = |r: &Scored| format!("{}={}/{}", r.id, points(r.points), points(r.of));
    all.push(a.grade.map_or(String::new(), |g| g.rows.iter().map(one).collect::<Vec<_>>().join(" ")));
    all
}

/// A grade's cells for a table of many attempts; empty if there is no grade.
pub(super) fn cells(g: Option<&Grade>) -> Vec<String> {
    let yes = |b: bool| if b { "yes" } else { "no" }.to_string();
    let Some(g) = g else { return vec![String::new(); GRADED.len()] };
    vec![
        yes(g.closed),
        fixed(g.points, 2),
        fixed(g.of, 2),
        fixed(g.pct(), 1),
        g.cause_found.map_or_else(String::new, yes),
        g.good_parts.to_string(),
        g.predictions.iter().filter(|p| p.said.is_some()).count().to_string(),
        g.rewound.to_string(),
        g.lid_opened.to_string(),
    ]
}

/// A gradebook of one attempt: the columns' names and its row.
pub fn gradebook_csv(a: &Attempt<'_>) -> String {
    let names: Vec<&str> = GRADEBOOK.iter().chain(&GRADED).copied().chain([ROWS]).collect();
    csv_text(&names, [gradebook_cells(a)])
}
