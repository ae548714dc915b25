//! A sweep: one scenario run over many seeds, and over ranges of its own numbers, and how what comes of it spreads.
//!
//! *Inside*: what is varied and what is told of each run ([`Plan`]), running on all cores, the percentiles; in `part`
//! the file in which runs are kept and from which shares are put together. *Outside*: putting a number into a file
//! ([`crate::scenario::Over`]), running ([`super::attempt`]), layout ([`crate::report`]), files.
//!
//! The lid: of a run no more is kept than the person who runs it may see under the same lid. A value of the scenario
//! may be varied with an open lid only, since what it does shows what the scenario hides.
//!
//! Runs are numbered from 0: all seeds of the first point, then those of the next. Each depends on its number alone, so
//! that any number of threads, and any number of shares, gives the same bytes. What is kept grows with the number of
//! runs by a row each, and `MOST_CELLS` bounds it.
//!
//! **Checked by** `tests/attempts/sweep.rs`.

mod part;

use super::attempt::{Attempt, Request, begin, prepare};
use super::load::Origin;
use super::results;
use super::verify::Share;
use super::{Error, Files, Options, Progress, Run, VERSION, Wrong, shown};
use crate::bench::record::hash_of_text;
use crate::bench::trace::COLUMNS;
use crate::report::{self, Axis, Item, Of, Stat, Swept, SweptRun};
use crate::scenario::{self, Over, Scenario};
use crate::session::{Judged, Why};
use crate::words::{self, say};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Most seeds at a point.
pub const MOST_SEEDS: u32 = 100_000;
/// Most points, each a combination of the numbers varied.
const MOST_POINTS: usize = 1000;
/// Most numbers varied at once.
const MOST_AXES: usize = 4;
/// Most values of one number.
const MOST_VALUES: usize = 1000;
/// Most numbers kept: runs by expectations and signals.
const MOST_CELLS: usize = 1_000_000;
/// Decimals to which a value between the ends of a range is rounded, so that its text is short.
const PLACES: usize = 9;
/// Files of a finished sweep; the first is also that of a share, and of a sweep that was stopped.
pub const FILES: [&str; 4] = ["sweep.json", "sweep.csv", "runs.csv", "sweep.html"];

/// What is to be swept, as a person says it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Ask<'a> {
    /// The scenario's file, or the name of a shipped one.
    pub scenario: &'a str,
    /// What a trainee does after hand-over.
    pub actions: Option<&'a str>,
    /// First seed; the scenario's own if there is none.
    pub seed: Option<u64>,
    /// Seeds at each point.
    pub runs: u32,
    /// Numbers varied: `PATH=FROM:TO:COUNT` or `PATH=A,B,C`.
    pub over: &'a [String],
    /// Signals told of: columns of the trace, or paths as in expectations.
    pub signals: &'a [String],
    /// The lid was opened by the person who asks.
    pub lid_open: bool,
}

/// What a sweep's runs depend on; two sweeps with the same are the same.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Recipe {
    scenario: String,
    title: String,
    hash: String,
    car_hash: String,
    actions: Option<String>,
    actions_hash: Option<String>,
    lid_open: bool,
    seed: u64,
    runs: usize,
    over: Vec<Axis>,
    signals: Vec<String>,
}

impl Recipe {
    fn points(&self) -> usize {
        self.over.iter().map(|a| a.values.len()).product()
    }
    fn all(&self) -> usize {
        self.points() * self.runs
    }
}

/// A sweep that is ready to start: everything is read and nothing is simulated.
#[derive(Debug)]
pub struct Plan {
    recipe: Recipe,
    attempt: Attempt,
    file: String,
    /// By point.
    points: Vec<Scenario>,
    lid_open: bool,
}

/// An expectation by its words; `nth` counts those with the same words, from 0.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
struct Head {
    what: String,
    why: String,
    nth: usize,
}

/// What is kept of one run.
#[derive(Debug, Clone, PartialEq, Default)]
struct Row {
    /// By signal.
    values: Vec<Option<f64>>,
    /// Expectations in the order in which they were judged: whether it was met, the number found.
    judged: Vec<(Head, bool, Option<f64>)>,
    /// Every expectation was met, and every act was done.
    all_met: bool,
    points_pct: Option<f64>,
    /// The engine did not turn at the end.
    stopped: bool,
}

/// What a run has to tell of each thing: the number found, and whether it was met.
type Cells = Vec<(Option<f64>, Option<bool>)>;

/// The runs of a sweep, or those of a share, or as many as were finished before it was stopped.
#[derive(Debug)]
pub struct Sweep {
    recipe: Recipe,
    share: Share,
    rows: BTreeMap<usize, Row>,
    /// Runs simulated now: not read from an earlier file.
    pub fresh: usize,
    /// The person stopped it.
    pub stopped: bool,
}

/// Callbacks for progress, and the flag that stops the work; used from many threads.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Receives the number of runs done and the total.
    pub told: &'a (dyn Fn(usize, usize) + Sync),
    /// Stops the work once it is true.
    pub stop: &'a AtomicBool,
}

impl std::fmt::Debug for Watch<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Watch(..)")
    }
}

/// Reads everything and refuses what the lid forbids, what leads nowhere, and what is too much.
pub fn plan(files: &dyn Files, ask: &Ask<'_>) -> Result<Plan, Error> {
    let options = Options { lid_open: ask.lid_open, ..Options::default() };
    let request = Request { scenario: ask.scenario, actions: ask.actions, options, ..Request::default() };
    let attempt = prepare(files, &request)?;
    let origin = Origin::find(files, ask.scenario)?;
    let over = ask.over.iter().map(|text| axis(text)).collect::<Result<Vec<_>, _>>()?;
    may_vary(&over, attempt.lid_open)?;
    for name in ask.signals {
        may_tell(name, &attempt.loaded.sample, attempt.lid_open)?;
    }
    let scenario = &attempt.loaded.scenario;
    let hands = attempt.hands.as_ref();
    let recipe = Recipe {
        scenario: scenario.about.id.clone(),
        title: scenario.about.title.clone(),
        hash: hash_of_text(&attempt.loaded.text),
        car_hash: hash_of_text(&scenario.setup.car_toml),
        actions: hands.map(|h| h.actions.about.id.clone()),
        actions_hash: hands.map(|h| hash_of_text(&h.text)),
        lid_open: attempt.lid_open,
        seed: ask.seed.unwrap_or(scenario.setup.seed),
        runs: ask.runs as usize,
        over,
        signals: ask.signals.to_vec(),
    };
    let expects = scenario.expects.len() + hands.map_or(0, |h| h.actions.expects.len());
    may_hold(&recipe, expects)?;
    let points = (0..recipe.points()).map(|point| at_point(&origin, &recipe.over, point));
    let points = points.collect::<Result<_, Error>>()?;
    Ok(Plan { recipe, file: ask.scenario.to_owned(), points, lid_open: ask.lid_open, attempt })
}

/// `PATH=FROM:TO:COUNT` or `PATH=A,B,C`.
fn axis(text: &str) -> Result<Axis, Error> {
    let wrong = || Error::rule(say!("sweep-over", given = shown(text), most = MOST_VALUES));
    let number = |word: &str| word.trim().parse::<f64>().ok().filter(|x| x.is_finite()).ok_or_else(wrong);
    let (path, values) = text.split_once('=').ok_or_else(wrong)?;
    let range: Vec<&str> = values.split(':').collect();
    let values = match range.as_slice() {
        [list] => list.split(',').map(number).collect::<Result<Vec<f64>, _>>()?,
        [from, to, count] => {
            let (from, to) = (number(from)?, number(to)?);
            let count =
                count.trim().parse().ok().filter(|n| (2..=MOST_VALUES).contains(n)).ok_or_else(wrong)?;
            (0..count).map(|k| between(from, to, k, count)).collect()
        }
        _ => return Err(wrong()),
    };
    let apart: BTreeSet<u64> = values.iter().map(|x| x.to_bits()).collect();
    if apart.len() < values.len() || values.len() > MOST_VALUES {
        return Err(wrong());
    }
    Ok(Axis { path: path.trim().to_owned(), values })
}

/// The k-th of `count` values from one end to the other.
fn between(from: f64, to: f64, k: usize, count: usize) -> f64 {
    if k + 1 == count {
        return to;
    }
    let x = from + (to - from) * k as f64 / (count - 1) as f64;
    // no negative zero: its text would differ
    format!("{x:.PLACES$}").parse().unwrap_or(x) + 0.0
}

fn may_vary(over: &[Axis], lid_open: bool) -> Result<(), Error> {
    let refuse = |id: &str, axis: &Axis| Err(Error::rule(say!(id, path = shown(&axis.path))));
    if over.len() > MOST_AXES {
        return Err(Error::rule(say!("sweep-axes", most = MOST_AXES)));
    }
    for (k, axis) in over.iter().enumerate() {
        if axis.path == "setup.seed" {
            return refuse("sweep-seed", axis);
        }
        if over[..k].iter().any(|other| other.path == axis.path) {
            return refuse("sweep-over-twice", axis);
        }
    }
    match over.first() {
        Some(axis) if !lid_open => refuse("sweep-over-lid", axis),
        _ => Ok(()),
    }
}

/// Whether a signal is one: a column of the trace, or a path to a number or a flag that the lid does not hide.
fn may_tell(name: &str, sample: &Value, lid_open: bool) -> Result<(), Error> {
    let shows = |truth: bool| lid_open || !truth;
    let of_truth = |path: &str| path.starts_with("truth.");
    if let Some(column) = COLUMNS.iter().find(|c| c.name == name) {
        return if shows(column.truth) { Ok(()) } else { hidden(name) };
    }
    // what it cost to simulate is no result
    let is_told = |path: &str| {
        let value = || scenario::lookup(sample, path);
        path != "cpu_s" && matches!(value(), Some(Value::Number(_) | Value::Bool(_)))
    };
    if is_told(name) {
        return if shows(of_truth(name)) { Ok(()) } else { hidden(name) };
    }
    let columns = COLUMNS.iter().filter(|c| shows(c.truth)).map(|c| c.name.to_owned());
    let paths = scenario::paths(sample).into_iter().filter(|p| shows(of_truth(p)) && is_told(p));
    let known: Vec<String> = columns.chain(paths).collect();
    let help = scenario::nearest(name, &known);
    Err(Error::Input(Wrong { help, ..Wrong::of("", say!("sweep-no-signal", name = shown(name))) }))
}

fn hidden(name: &str) -> Result<(), Error> {
    Err(Error::rule(say!("sweep-signal-lid", name = shown(name))))
}

/// Bounds on points, seeds, and what is kept of all runs together.
fn may_hold(recipe: &Recipe, expects: usize) -> Result<(), Error> {
    if recipe.points() > MOST_POINTS {
        return Err(Error::rule(say!("sweep-points-most", points = recipe.points(), most = MOST_POINTS)));
    }
    if recipe.runs == 0 || recipe.seed.checked_add(recipe.runs as u64).is_none() {
        return Err(Error::rule(say!("sweep-runs", most = MOST_SEEDS)));
    }
    let cells = recipe.all().saturating_mul(2 + expects + recipe.signals.len());
    if cells > MOST_CELLS {
        return Err(Error::rule(say!("sweep-cells", runs = recipe.all(), cells = cells, most = MOST_CELLS)));
    }
    Ok(())
}

/// The scenario at a point. The file was read without mistake before: whatever is wrong now is wrong with the numbers.
fn at_point(origin: &Origin, over: &[Axis], point: usize) -> Result<Scenario, Error> {
    let values = Swept::values_at(over, point);
    let all: Vec<Over> = over.iter().zip(&values).map(|(axis, x)| Over::new(&axis.path, *x)).collect();
    match origin.read_over(&all) {
        Ok(loaded) => Ok(loaded.scenario),
        Err(Error::Input(wrong)) if !all.is_empty() => {
            let one = |(axis, x): (&Axis, &f64)| format!("{}={x}", shown(&axis.path));
            let given = over.iter().zip(&values).map(one).collect::<Vec<_>>().join(" ");
            let why = wrong.rule.clone();
            Err(Error::Input(Wrong {
                file: String::new(),
                place: None,
                rule: say!("sweep-over-wrong", given = given, why = why),
                ..wrong
            }))
        }
        Err(other) => Err(other),
    }
}

impl Plan {
    /// The cautions of the job and of each act, for a terminal.
    pub fn cautions(&self) -> String {
        self.attempt.cautions()
    }

    /// Runs everything, or a share of it. `earlier` are runs of the same sweep that need not be run again. Once it is
    /// stopped, what was finished is kept.
    pub fn run(&self, share: Share, earlier: Option<Sweep>, watch: &Watch<'_>) -> Result<Sweep, Error> {
        let mut rows = earlier.map(|e| e.rows).unwrap_or_default();
        rows.retain(|k, _| share.has(*k));
        let due: Vec<usize> =
            (0..self.recipe.all()).filter(|k| share.has(*k) && !rows.contains_key(k)).collect();
        let done = AtomicUsize::new(0);
        let spoken = words::spoken();
        let found: Vec<(usize, Option<Row>)> = due
            .par_iter()
            .map(|k| {
                let _speaking = words::speak(&spoken);
                match self.one(*k, watch.stop) {
                    Ok(row) => {
                        (watch.told)(done.fetch_add(1, Ordering::Relaxed) + 1, due.len());
                        Ok((*k, Some(row)))
                    }
                    Err(Error::Stopped) => Ok((*k, None)),
                    Err(e) => Err(e),
                }
            })
            .collect::<Result<_, Error>>()?;
        let stopped = found.iter().any(|(_, row)| row.is_none());
        let fresh = found.iter().filter(|(_, row)| row.is_some()).count();
        rows.extend(found.into_iter().filter_map(|(k, row)| Some((k, row?))));
        Ok(Sweep { recipe: self.recipe.clone(), share, rows, fresh, stopped })
    }

    /// One run by its number.
    fn one(&self, k: usize, stop: &AtomicBool) -> Result<Row, Error> {
        if stop.load(Ordering::Relaxed) {
            return Err(Error::Stopped);
        }
        let (point, nth) = (k / self.recipe.runs, k % self.recipe.runs);
        // the cache of conditioned cars would be filled with cars that nobody needs twice
        let options = Options {
            seed: Some(self.recipe.seed + nth as u64),
            lid_open: self.lid_open,
            ..Options::default()
        };
        let mut told = |_: Progress| !stop.load(Ordering::Relaxed);
        let hands = self.attempt.hands.as_ref();
        let run = begin(&self.file, &self.points[point], hands, &options, &mut told)?.run(&mut told);
        if run.stopped { Err(Error::Stopped) } else { Ok(row(&run, &self.recipe.signals)) }
    }

    /// The runs that an earlier sweep left in a file, if it is the same sweep.
    pub fn earlier(&self, files: &dyn Files, file: &str, share: Share) -> Result<Option<Sweep>, Error> {
        if !files.has(file) {
            return Ok(None);
        }
        match part::read(files, file) {
            Ok(sweep) if sweep.recipe == self.recipe && sweep.share == share => Ok(Some(sweep)),
            _ => Err(Error::File(say!("sweep-earlier", file = file))),
        }
    }
}

/// A correction in force exists only while the engine turns; what is stored for a range stays.
fn needs_turning(path: &str) -> bool {
    let last = path.rsplit('.').next().unwrap_or(path);
    let stored = path.starts_with("trims.") && last != "long_idle_pct";
    last.starts_with("short_") || (last.starts_with("long_") && !stored)
}

/// What is kept of a run.
fn row(run: &Run, signals: &[String]) -> Row {
    let stopped = run.after.seen.live.engine_speed_rpm <= 0.0;
    let last = run.trace.rows().last();
    let needs_paths = signals.iter().any(|s| !COLUMNS.iter().any(|c| c.name == s));
    let told = needs_paths.then(|| results::json(run));
    let value = |name: &String| match COLUMNS.iter().position(|c| c.name == name) {
        Some(k) => last.map(|row| row[k]),
        None => scenario::lookup(told.as_ref()?, name).as_ref().and_then(number),
    };
    let finite = |x: Option<f64>| x.filter(|x| x.is_finite());
    let mut judged: Vec<(Head, bool, Option<f64>)> = Vec::new();
    for j in run.judged.iter().filter(|j| is_expectation(j)) {
        let why = if let Why::Author(why) = &j.why { why.clone() } else { String::new() };
        let nth = judged.iter().filter(|(h, ..)| h.what == j.what && h.why == why).count();
        let gap = stopped && j.at_s >= run.after.at_s && needs_turning(&j.what);
        let number = if let (Value::Number(n), false) = (&j.measured, gap) { n.as_f64() } else { None };
        judged.push((Head { what: j.what.clone(), why, nth }, j.met, number));
    }
    Row {
        values: signals.iter().map(|s| finite(value(s)).filter(|_| !(stopped && needs_turning(s)))).collect(),
        judged,
        all_met: run.all_met(),
        points_pct: run.grade.as_ref().map(|g| g.pct()),
        stopped,
    }
}

/// A number, or a flag as 1 or 0.
fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Bool(flag) => Some(f64::from(u8::from(*flag))),
        other => other.as_f64(),
    }
}

/// Acts that waited in vain or could not be done are judged too; they count in [`Row::all_met`] alone.
fn is_expectation(j: &Judged) -> bool {
    matches!(j.why, Why::Author(_) | Why::Hidden)
}

/// A percentile of numbers in ascending order: the number at place (n − 1)·p/100, counted from 0, linear between
/// neighbours (definition 7 of Hyndman and Fan, *Sample Quantiles in Statistical Packages*, 1996; numbered from memory).
fn percentile(sorted: &[f64], percent: f64) -> f64 {
    let place = (sorted.len() - 1) as f64 * percent / 100.0;
    let below = place.floor();
    let (k, share) = (below as usize, place - below);
    let low = sorted[k];
    let high = sorted.get(k + 1).copied().unwrap_or(low);
    low + share * (high - low)
}

/// The spread of what was found in the runs at a point.
fn stat(all: impl Iterator<Item = (Option<f64>, Option<bool>)>) -> Stat {
    let (mut values, mut judged) = (Vec::new(), (0, 0));
    for (number, met) in all {
        values.extend(number);
        judged.0 += usize::from(met.is_some());
        judged.1 += usize::from(met == Some(true));
    }
    values.sort_by(f64::total_cmp);
    let percentiles =
        (!values.is_empty()).then(|| report::PERCENTS.map(|p| percentile(&values, f64::from(p))));
    Stat { values, percentiles, judged, stopped: 0 }
}

impl Sweep {
    /// Whether every run of the whole sweep is there.
    pub fn is_whole(&self) -> bool {
        self.rows.len() == self.recipe.all()
    }
    /// Number of runs that are there, and of those that this share has.
    pub fn done(&self) -> (usize, usize) {
        (self.rows.len(), (0..self.recipe.all()).filter(|k| self.share.has(*k)).count())
    }
    /// Expectations, in the order in which they first appear.
    fn heads(&self) -> Vec<&Head> {
        let mut all: Vec<&Head> = Vec::new();
        let mut known = BTreeSet::new();
        for (head, ..) in self.rows.values().flat_map(|r| &r.judged) {
            if known.insert(head) {
                all.push(head);
            }
        }
        all
    }
    /// What a run has to tell of each thing, in the order of [`Self::items`].
    fn cells(&self, row: &Row, heads: &[&Head]) -> Cells {
        let of = |head: &&Head| row.judged.iter().find(|(h, ..)| h == *head);
        let expectation = |head: &&Head| of(head).map_or((None, None), |(_, met, x)| (*x, Some(*met)));
        // without expectations there is nothing to praise, but an act may have waited in vain
        let judged = !heads.is_empty() || !row.all_met;
        std::iter::once((None, judged.then_some(row.all_met)))
            .chain(heads.iter().map(expectation))
            .chain(self.has_points().then_some((row.points_pct, None)))
            .chain(row.values.iter().map(|x| (*x, None)))
            .collect()
    }
    fn has_points(&self) -> bool {
        self.rows.values().any(|r| r.points_pct.is_some())
    }
    /// The spread of everything; only a whole sweep has one.
    fn swept(&self) -> Swept<'_> {
        let heads = self.heads();
        let id = |h: &&Head| if h.nth == 0 { h.what.clone() } else { format!("{} {}", h.what, h.nth + 1) };
        let item = |of: Of, id: String, why: &str| Item { of, id, why: why.to_owned(), at: Vec::new() };
        let mut items = vec![item(Of::All, "all".into(), "")];
        items.extend(heads.iter().map(|h| item(Of::Expectation, id(h), &h.why)));
        items.extend(self.has_points().then(|| item(Of::Points, "points_pct".into(), "")));
        items.extend(self.recipe.signals.iter().map(|s| item(Of::Signal, s.clone(), "")));
        for point in 0..self.recipe.points() {
            let runs = point * self.recipe.runs..(point + 1) * self.recipe.runs;
            let rows: Vec<&Row> = self.rows.range(runs).map(|(_, row)| row).collect();
            let cells: Vec<_> = rows.iter().map(|row| self.cells(row, &heads)).collect();
            for (k, item) in items.iter_mut().enumerate() {
                let path = k.checked_sub(1).and_then(|k| heads.get(k)).map_or(item.id.as_str(), |h| &h.what);
                let gap =
                    |(row, cell): &(&&Row, &Cells)| row.stopped && cell[k].0.is_none() && needs_turning(path);
                let stopped = rows.iter().zip(&cells).filter(gap).count();
                item.at.push(Stat { stopped, ..stat(cells.iter().map(|c| c[k])) });
            }
        }
        Swept {
            version: VERSION,
            id: &self.recipe.scenario,
            title: &self.recipe.title,
            actions: self.recipe.actions.as_deref(),
            lid_open: self.recipe.lid_open,
            seed: self.recipe.seed,
            runs: self.recipe.runs,
            over: &self.recipe.over,
            items,
        }
    }
    /// The files to store: all of a whole sweep, otherwise the runs that are there.
    pub fn files(&self) -> Vec<(&'static str, String)> {
        let mut all = vec![(FILES[0], part::text(self))];
        if self.is_whole() {
            let swept = self.swept();
            let heads = self.heads();
            let runs = self.rows.iter().map(|(k, row)| SweptRun { run: *k, cells: self.cells(row, &heads) });
            all.push((FILES[1], report::sweep_csv(&swept)));
            all.push((FILES[2], report::sweep_runs_csv(&swept, runs)));
            all.push((FILES[3], report::sweep_html(&swept)));
        }
        all
    }
    /// The spread for a terminal; of a part, how much of it is there.
    pub fn table(&self) -> String {
        if self.is_whole() {
            return report::sweep_table(&self.swept());
        }
        let (done, of) = self.done();
        let (share, shares) = (self.share.k, self.share.of);
        say!("sweep-part", done = done, of = of, share = share, shares = shares, all = self.recipe.all())
            + "\n"
    }
    /// As data, on one line.
    pub fn json(&self) -> String {
        part::text(self)
    }
    /// Puts the parts of a sweep together, from their files or the folders that hold them; the result is that of a
    /// single run.
    pub fn merged(files: &dyn Files, names: &[String]) -> Result<Self, Error> {
        part::merged(files, names)
    }
}

#[cfg(test)]
mod tests {
    use super::{axis, between, percentile};

    /// Made by `numpy.percentile(x, [5, 25, 50, 75, 95])` of numpy 2.4.6, whose default interpolates linearly.
    #[test]
    fn source_percentiles() {
        let cases: [(&[f64], [f64; 5]); 4] = [
            (&[1.0, 2.0, 3.0, 4.0], [1.15, 1.75, 2.5, 3.25, 3.85]),
            (&[7.5], [7.5; 5]),
            (&[-3.0, 0.0, 0.25, 8.0, 9.5], [-2.4, 0.0, 0.25, 8.0, 9.2]),
            (&[2.0, 3.5, 3.5, 4.0, 6.25, 7.0, 9.0, 11.0, 12.0, 20.0], [2.675, 3.625, 6.625, 10.5, 16.4]),
        ];
        for (all, wanted) in cases {
            for (percent, wanted) in [5.0, 25.0, 50.0, 75.0, 95.0].into_iter().zip(wanted) {
                let is = percentile(all, percent);
                assert!((is - wanted).abs() < 1e-12, "{percent} % of {all:?}: {is}, not {wanted}");
            }
        }
    }

    #[test]
    fn exact_ranges() {
        let of = |text: &str| axis(text).map(|a| a.values);
        assert_eq!(of("setup.x=0:8:9"), Ok((0..9).map(f64::from).collect()));
        assert_eq!(of("setup.x=0.1:0.5:5"), Ok(vec![0.1, 0.2, 0.3, 0.4, 0.5]), "short texts");
        assert_eq!(of("setup.x=20,-10, 5"), Ok(vec![20.0, -10.0, 5.0]));
        assert_eq!(between(1.0, -1.0, 1, 3).to_string(), "0");
        for bad in [
            "setup.x",
            "setup.x=",
            "setup.x=1:2",
            "setup.x=1:2:1",
            "setup.x=1:2:1001",
            "setup.x=1,1",
            "x=nan",
            "x=1:1:2",
        ] {
            assert!(of(bad).is_err(), "{bad}");
        }
    }
}
