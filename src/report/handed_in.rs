//! Logbooks handed in by a class: a table for a terminal, and CSV for a gradebook.
//!
//! *Inside*: one row for each logbook. *Outside*: the verdicts (the caller supplies [`HandedIn`]).

use super::cells::{csv_text, fixed};
use super::grade::short_words;
use super::gradebook::{GRADED, cells};
use crate::lesson::Grade;
use crate::words::numbers::number;
use crate::words::{name, say};
use serde::{Deserialize, Serialize};

/// One logbook with its verdict.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HandedIn {
    /// The file, as it was given.
    pub file: String,
    /// The trainee that it names.
    pub trainee: Option<String>,
    /// The class's seed that it names.
    pub class_seed: Option<u64>,
    /// The scenario that it names, by id.
    pub scenario: Option<String>,
    /// Title of the action file that was used, as in the attempt's own gradebook.
    #[serde(default)]
    pub actions: Option<String>,
    /// sealed, forged, unsealed, or not checked; a dash for a file that is no logbook.
    pub seal: String,
    /// consistent, altered, other version, or not judged; *not handed in* for a trainee who handed in nothing.
    pub verdict: String,
    /// Why, in one line.
    pub reason: String,
    /// The line where it first differs.
    pub line: Option<usize>,
    /// Another file that holds the same attempt.
    pub same_as: Option<String>,
    /// An earlier file in which somebody else did the same acts, in the same order.
    #[serde(default)]
    pub acts_as: Option<String>,
    /// Its acts are those of the model solution, in the same order.
    #[serde(default)]
    pub as_solution: bool,
    /// It names a trainee who is not on the class's list.
    #[serde(default)]
    pub unlisted: bool,
    /// The lid was open.
    pub lid_open: Option<bool>,
    /// Minutes on the job card.
    pub minutes: Option<f64>,
    /// Money on the job card \[cost units\].
    pub money: Option<f64>,
    /// Parts bought.
    pub parts: Option<usize>,
    /// Expectations met.
    pub met: Option<usize>,
    /// Expectations in all.
    pub expectations: Option<usize>,
    /// The grade, if the scenario is a lesson.
    pub grade: Option<Grade>,
    /// File of its debrief, if one was asked for.
    pub debrief: Option<String>,
}

/// The verdict in the row of a trainee who handed in nothing.
const MISSING: &str = "not handed in";

impl HandedIn {
    /// The row of a trainee on the class's list who handed in nothing.
    pub fn missing(trainee: String) -> Self {
        let (file, seal, verdict) = ("-".into(), "-".into(), MISSING.into());
        Self { file, seal, verdict, trainee: Some(trainee), ..Self::default() }
    }
    /// It stands for a trainee who handed in nothing.
    pub fn is_missing(&self) -> bool {
        self.verdict == MISSING
    }
    /// The instructor should look at it, though it may be consistent.
    fn remarked(&self) -> bool {
        let copied = self.same_as.is_some() || self.acts_as.is_some() || self.as_solution;
        copied || self.lid_open == Some(true) || self.unlisted
    }
}

/// Columns of the CSV.
const COLUMNS: [&str; 15] = [
    "file",
    "trainee",
    "class_seed",
    "scenario",
    "actions",
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

fn whole<T: ToString>(x: Option<T>) -> String {
    x.map_or(String::new(), |x| x.to_string())
}

fn decimal(x: Option<f64>) -> String {
    x.map_or(String::new(), |x| fixed(x, 1))
}

/// The rows of the rubrics by which these were marked, each once.
fn rubric_rows(rows: &[HandedIn]) -> Vec<&str> {
    let mut ids: Vec<&str> = Vec::new();
    for r in rows.iter().filter_map(|r| r.grade.as_ref()).flat_map(|g| &g.rows) {
        if !ids.contains(&r.id.as_str()) {
            ids.push(&r.id);
        }
    }
    ids
}

/// One row for each logbook, below a header row; two columns for each row of a rubric, its points and of how many.
pub fn handed_in_csv(rows: &[HandedIn]) -> String {
    let ids = rubric_rows(rows);
    let by_row = ids.iter().flat_map(|id| [format!("points_{id}"), format!("of_{id}")]);
    let fixed_names = COLUMNS.into_iter().chain(GRADED).map(str::to_owned);
    let names: Vec<String> = fixed_names.chain(by_row).chain(["debrief".to_owned()]).collect();
    let marks = |grade: Option<&Grade>, id: &str| {
        let of_row = grade.and_then(|g| g.rows.iter().find(|r| r.id == id));
        of_row.map_or([String::new(), String::new()], |r| [fixed(r.points, 2), fixed(r.of, 2)])
    };
    let row = |r: &HandedIn| {
        let lid = r.lid_open.map_or("", |open| if open { "open" } else { "closed" });
        let own = [
            r.file.clone(),
            r.trainee.clone().unwrap_or_default(),
            whole(r.class_seed),
            r.scenario.clone().unwrap_or_default(),
            r.actions.clone().unwrap_or_default(),
            r.seal.trim_matches('-').into(),
            r.verdict.clone(),
            r.reason.clone(),
            whole(r.line),
            decimal(r.minutes),
            decimal(r.money),
            whole(r.parts),
            whole(r.met),
            whole(r.expectations),
            lid.into(),
        ];
        let graded = cells(r.grade.as_ref());
        let by_row = ids.iter().flat_map(|id| marks(r.grade.as_ref(), id));
        own.into_iter().chain(graded).chain(by_row).chain([r.debrief.clone().unwrap_or_default()]).collect()
    };
    csv_text(&names, rows.iter().map(row))
}

/// Fits a text into this many columns: removes characters that move the cursor, and shortens a long text at its start
/// or its end.
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

/// The rows as a table of 100 columns, with the reasons below any row that is not simply consistent, and a line of
/// totals.
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
    let heads = ["logbook", "trainee", "scenario", "seal", "verdict", "minutes", "money", "met", "grade"]
        .map(|h| say(&format!("handed-in-{h}")));
    let mut out = line(heads.each_ref().map(String::as_str));
    for r in rows {
        let met = match (r.met, r.expectations) {
            // nothing is expected of work done by hand
            (_, Some(0)) => "–".into(),
            (Some(met), Some(all)) => format!("{met}/{all}"),
            _ => String::new(),
        };
        out += &line([
            &fit(&r.file, file, true),
            &fit(&who(r), trainee, false),
            &fit(r.scenario.as_deref().unwrap_or("-"), 8, false),
            &seal_words(&r.seal),
            &verdict_words(&r.verdict),
            &r.minutes.map_or(String::new(), |x| number(x, 1)),
            &r.money.map_or(String::new(), |x| number(x, 0)),
            &met,
            &r.grade.as_ref().map_or(String::new(), short_words),
        ]);
        if !r.is_missing() && (r.verdict != "consistent" || r.remarked()) {
            let reason = fit(&r.reason, 400, false);
            let words = match r.line {
                Some(n) => say!("handed-in-line", n = n as u32, reason = reason),
                None => reason,
            };
            out += &format!("    {words}\n");
        }
    }
    out + &sum(rows)
}

/// The word for a seal, as it is shown to people.
fn seal_words(seal: &str) -> String {
    said("seal", seal)
}

/// The word for a verdict, as it is shown to people.
fn verdict_words(verdict: &str) -> String {
    said("verdict", verdict)
}

fn said(kind: &str, word: &str) -> String {
    if word == "-" { word.into() } else { name(kind, &word.replace(' ', "_")) }
}

/// The number of each verdict, and of trainees who handed in nothing.
fn sum(rows: &[HandedIn]) -> String {
    let missing = rows.iter().filter(|r| r.is_missing()).count();
    let told = if missing > 0 {
        format!("\n{}", say!("handed-in-missing", n = missing as u32))
    } else {
        String::new()
    };
    let named = |r: &HandedIn| ["sealed", "forged", "unsealed", "not checked"].contains(&r.seal.as_str());
    if !rows.iter().any(named) {
        return format!("\n{}{told}\n", say("handed-in-none"));
    }
    let count = |word: &str| rows.iter().filter(|r| r.verdict == word || r.seal == word).count();
    let counts = |kind: &str, words: &[&str]| {
        let all = words.iter().map(|w| (count(w) as u32, w)).filter(|(n, _)| *n > 0);
        all.map(|(n, w)| say!("handed-in-count", n = n, what = said(kind, w))).collect::<Vec<_>>().join(", ")
    };
    let sum = say!(
        "handed-in-sum",
        files = (rows.len() - missing) as u32,
        verdicts = counts("verdict", &["consistent", "altered", "other version", "not judged"]),
        seals = counts("seal", &["sealed", "forged", "unsealed", "not checked"]),
    );
    format!("\n{sum}{told}\n{}\n", say("handed-in-cannot-tell"))
}
