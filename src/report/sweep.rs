//! A sweep on paper: how the values and expectations of one scenario spread over many runs. A table for a terminal,
//! CSV for programs; in `picture` the charts, in `page` the page that holds them.
//!
//! *Inside*: layout. *Outside*: running, and what percentiles are ([`crate::app`] hands over each [`Swept`]).

mod page;
mod picture;

pub use self::page::sweep_html;

use super::cells::{csv_text, fixed};
use super::names::{decimals, path_words, unit_of};
use crate::bench::trace::COLUMNS;
use crate::words::numbers::{as_written, number};
use crate::words::{name, say};
use serde::{Deserialize, Serialize};

/// The percentiles that are told \[%\].
pub const PERCENTS: [u8; 5] = [5, 25, 50, 75, 95];

/// A number of the scenario that is varied: its path in the file, and the values that it takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Axis {
    /// Dot path.
    pub path: String,
    /// Values, in the order in which they are tried.
    pub values: Vec<f64>,
}

/// What is told of every run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// Whether all expectations were met.
    All,
    /// An expectation: whether it was met, and the number that was found.
    Expectation,
    /// Points of the mark \[%\].
    Points,
    /// A signal at the end of the run.
    Signal,
}

impl Of {
    /// The word in files for programs.
    pub fn word(self) -> &'static str {
        match self {
            Of::All => "all",
            Of::Expectation => "expectation",
            Of::Points => "points",
            Of::Signal => "signal",
        }
    }
}

/// One thing over the runs at one point, which differ in their seeds alone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stat {
    /// The numbers found, in ascending order; a run without one is left out.
    pub values: Vec<f64>,
    /// Percentiles of them by [`PERCENTS`]; none if there is no number.
    pub percentiles: Option<[f64; 5]>,
    /// Runs in which it was judged, and those in which it was met.
    pub judged: (usize, usize),
    /// Runs without a number because the engine did not turn at their end.
    pub stopped: usize,
}

impl Stat {
    /// Share of runs in which it was met \[%\]; none if it was judged in none.
    pub fn met_pct(&self) -> Option<f64> {
        (self.judged.0 > 0).then(|| 100.0 * self.judged.1 as f64 / self.judged.0 as f64)
    }
}

/// One thing with its spread at each point.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Kind.
    pub of: Of,
    /// Path, or column of the trace; with a number if an expectation of the same words stands in the files again.
    pub id: String,
    /// Why it is expected, in the author's words; empty if there are none.
    pub why: String,
    /// By point.
    pub at: Vec<Stat>,
}

impl Item {
    /// Its name for people.
    fn words(&self) -> String {
        match self.of {
            Of::All => say("sweep-all"),
            Of::Points => say("sweep-points"),
            _ if COLUMNS.iter().any(|c| c.name == self.id) => name("signal", &self.id),
            _ => path_words(&self.id),
        }
    }
    fn unit(&self) -> &'static str {
        match (self.of, COLUMNS.iter().find(|c| c.name == self.id)) {
            (Of::Points, _) => "%",
            (_, Some(column)) => column.unit,
            _ => unit_of(&self.id).unwrap_or(""),
        }
    }
    /// Its name with its unit; a path's name holds it already.
    fn with_unit(&self) -> String {
        match COLUMNS.iter().find(|c| c.name == self.id) {
            Some(c) if !c.unit.is_empty() => say!("panel-unit", what = self.words(), unit = c.unit),
            _ => self.words(),
        }
    }
    /// A number with the decimals that its unit calls for, and one more, since a spread may be narrow.
    fn number(&self, x: f64) -> String {
        let unit = self.unit();
        number(x, decimals(unit) + usize::from(!unit.is_empty()))
    }
    /// The number at a percentile, where there is one.
    fn at_percent(&self, point: usize, which: usize) -> String {
        self.at[point].percentiles.map_or_else(String::new, |p| self.number(p[which]))
    }
    /// In how many of the runs it was met, and in how many the engine had stopped.
    fn met(&self, point: usize) -> String {
        let stat = &self.at[point];
        let met = stat
            .met_pct()
            .map(|pct| say!("sweep-met", met = stat.judged.1, of = stat.judged.0, pct = number(pct, 1)));
        let stopped = (stat.stopped > 0).then(|| say!("sweep-stopped", runs = stat.stopped));
        met.into_iter().chain(stopped).collect::<Vec<_>>().join("; ")
    }
}

/// A finished sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Swept<'a> {
    /// Version of the program.
    pub version: &'a str,
    /// The scenario's id.
    pub id: &'a str,
    /// Its title.
    pub title: &'a str,
    /// Id of the action file, if there was one.
    pub actions: Option<&'a str>,
    /// Truth may be shown.
    pub lid_open: bool,
    /// First seed.
    pub seed: u64,
    /// Seeds at each point.
    pub runs: usize,
    /// What was varied besides the seed; the last of them changes fastest from point to point.
    pub over: &'a [Axis],
    /// What was found.
    pub items: Vec<Item>,
}

impl Swept<'_> {
    /// Number of points: combinations of the values that were varied.
    fn points(&self) -> usize {
        self.over.iter().map(|a| a.values.len()).product()
    }
    /// The values at a point, in the order of the axes.
    pub fn values_at(over: &[Axis], point: usize) -> Vec<f64> {
        let mut rest = point;
        let mut all: Vec<f64> = Vec::new();
        for axis in over.iter().rev() {
            all.push(axis.values[rest % axis.values.len()]);
            rest /= axis.values.len();
        }
        all.reverse();
        all
    }
    /// A point for people.
    fn point_words(&self, point: usize) -> String {
        let values = Self::values_at(self.over, point);
        let one =
            |(axis, x): (&Axis, f64)| say!("sweep-at", path = axis.path.as_str(), value = as_written(x));
        self.over.iter().zip(values).map(one).collect::<Vec<_>>().join(", ")
    }
    /// Runs in all, and their seeds, in a sentence.
    fn sum_words(&self) -> String {
        let last = self.seed + self.runs.saturating_sub(1) as u64;
        say!(
            "sweep-sum",
            runs = self.points() * self.runs,
            points = self.points(),
            seed = self.seed.to_string(),
            last = last.to_string(),
        )
    }
}

/// The spread for a terminal: for each point a line for each thing.
pub fn sweep_table(s: &Swept<'_>) -> String {
    let names: Vec<String> = s.items.iter().map(Item::with_unit).collect();
    let wide = names.iter().map(|n| n.chars().count()).max().unwrap_or(0).clamp(8, 48);
    let line = |name: &str, cells: [String; 5], met: &str| {
        let name: String = name.chars().take(wide).collect();
        let cells = cells.map(|c| format!("{c:>9}")).join(" ");
        format!("{name:<wide$} {cells}  {met}").trim_end().to_owned() + "\n"
    };
    let mut out = format!("{}\n", say!("sweep-title", id = s.id, title = s.title));
    out += &format!("{}\n", s.sum_words());
    for point in 0..s.points() {
        out.push('\n');
        if !s.over.is_empty() {
            out += &format!("{}\n", s.point_words(point));
        }
        out += &line("", PERCENTS.map(|p| say!("sweep-percent", p = p)), &say("sweep-head-met"));
        for (item, name) in s.items.iter().zip(&names) {
            let cells = [0, 1, 2, 3, 4].map(|which| item.at_percent(point, which));
            out += &line(name, cells, &item.met(point));
        }
    }
    out
}

/// Decimals of numbers for programs.
const PLACES: usize = 6;

/// The spread as CSV: a row for each thing at each point.
pub fn sweep_csv(s: &Swept<'_>) -> String {
    let percents = PERCENTS.map(|p| format!("p{p}"));
    let names: Vec<&str> = s
        .over
        .iter()
        .map(|a| a.path.as_str())
        .chain(["of", "what", "why", "numbers"])
        .chain(percents.iter().map(String::as_str))
        .chain(["judged", "met", "met_pct", "engine_stopped"])
        .collect();
    let row = |point: usize, item: &Item| {
        let stat = &item.at[point];
        let mut row: Vec<String> =
            Swept::values_at(s.over, point).into_iter().map(|x| x.to_string()).collect();
        row.extend([item.of.word().into(), item.id.clone(), item.why.clone()]);
        row.push(stat.values.len().to_string());
        row.extend((0..5).map(|k| stat.percentiles.map_or_else(String::new, |p| fixed(p[k], PLACES))));
        row.extend(match stat.met_pct() {
            Some(pct) => [stat.judged.0.to_string(), stat.judged.1.to_string(), fixed(pct, 2)],
            None => Default::default(),
        });
        row.push(stat.stopped.to_string());
        row
    };
    let points = 0..s.points();
    csv_text(&names, points.flat_map(|point| s.items.iter().map(move |item| row(point, item))))
}

/// One run for the table of all runs.
#[derive(Debug, Clone)]
pub struct SweptRun {
    /// Its number, from 0.
    pub run: usize,
    /// For each thing in turn: the number found, and whether it was met.
    pub cells: Vec<(Option<f64>, Option<bool>)>,
}

/// All runs as CSV: a row for each, a column for each number and each judgement.
pub fn sweep_runs_csv(s: &Swept<'_>, runs: impl Iterator<Item = SweptRun>) -> String {
    let has_number: Vec<bool> = s.items.iter().map(|i| i.at.iter().any(|a| !a.values.is_empty())).collect();
    let is_judged: Vec<bool> = s.items.iter().map(|i| i.at.iter().any(|a| a.judged.0 > 0)).collect();
    let mut names: Vec<String> = ["run", "seed"].map(str::to_owned).to_vec();
    names.extend(s.over.iter().map(|a| a.path.clone()));
    for (k, item) in s.items.iter().enumerate() {
        if has_number[k] {
            names.push(item.id.clone());
        }
        if is_judged[k] {
            names.push(format!("{} met", item.id));
        }
    }
    let row = |r: SweptRun| {
        let seed = s.seed + (r.run % s.runs) as u64;
        let mut row = vec![r.run.to_string(), seed.to_string()];
        row.extend(Swept::values_at(s.over, r.run / s.runs).into_iter().map(|x| x.to_string()));
        for (k, (number, met)) in r.cells.iter().enumerate() {
            if has_number[k] {
                row.push(number.map_or_else(String::new, |x| fixed(x, PLACES)));
            }
            if is_judged[k] {
                row.push(met.map_or("", |m| if m { "yes" } else { "no" }).to_owned());
            }
        }
        row
    };
    csv_text(&names, runs.map(row))
}
