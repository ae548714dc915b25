//! Evidence: every value from outside that the model is held against, beside what the program gives.
//!
//! *Inside*: the table of rows, each declared once with its source, band and cars; how each is measured on a bench or on
//! the plant's own laws; all of it in parallel; the record of an earlier run and what fell behind it. *Outside*: titles and
//! sources in words (`assets/words/en/evidence.ftl`), the page ([`crate::report`]), files.
//!
//! Rows that one bench can tell are measured together: a `Trial` has the rows it fills. Misses stand among the rows as the
//! hits do. The same cars and seeds give the same results on any number of threads.
//!
//! **Checked by** `tests/bench/evidence.rs`.

mod battery;
mod charging;
mod cooling;
mod egr;
mod emissions;
mod hands;
mod idle;
mod injectors;
mod laws;
mod learning;
mod misfire;
mod monitors;
mod power;
mod record;
mod sources;
mod start;
mod trims;
mod wheel;

pub use record::{Record, Step};
pub use sources::{Kind, Source};

use crate::store::CARS;
use rayon::prelude::*;

/// What a row belongs to on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum System {
    /// Air, combustion, friction, power.
    Engine,
    /// From the key to a running engine.
    Start,
    /// Idle speed and what disturbs it.
    Idle,
    /// Mixture, injectors and trims.
    Fuel,
    /// Misfire and its monitor.
    Misfire,
    /// The reluctor wheel and what is learned of it.
    Wheel,
    /// Battery and charging.
    Battery,
    /// Coolant and heat.
    Cooling,
    /// Catalyst and exhaust gas.
    Catalyst,
    /// Codes, lamp, readiness.
    Codes,
}

impl System {
    /// All, in the order of the page, with the names that files and arguments have.
    pub const ALL: &'static [(&'static str, System)] = &[
        ("engine", System::Engine),
        ("start", System::Start),
        ("idle", System::Idle),
        ("fuel", System::Fuel),
        ("misfire", System::Misfire),
        ("wheel", System::Wheel),
        ("battery", System::Battery),
        ("cooling", System::Cooling),
        ("catalyst", System::Catalyst),
        ("codes", System::Codes),
    ];
    /// Its name in files and arguments.
    pub fn name(self) -> &'static str {
        Self::ALL.iter().find(|s| s.1 == self).map_or("", |s| s.0)
    }
    /// By its name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|s| s.0 == name).map(|s| s.1)
    }
}

/// A value from outside the program.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// Its name; its title is the message `evidence-row-ID`.
    pub id: &'static str,
    /// What it belongs to.
    pub system: System,
    /// Unit as it is written; none for a plain number.
    pub unit: &'static str,
    /// Decimals that are shown.
    pub decimals: usize,
    /// Who says so.
    pub source: &'static Source,
    /// Lowest and highest value; an end that is not finite is open. What a trial works out from a car's parts takes its place.
    pub band: [f64; 2],
    /// Cars that it tells of, where those are not all that its trial is made on.
    of: Option<&'static [&'static str]>,
}

impl Row {
    /// Of these cars alone.
    const fn of(self, cars: &'static [&'static str]) -> Self {
        Row { of: Some(cars), ..self }
    }
    fn tells_of(&self, car: &str) -> bool {
        self.of.is_none_or(|cars| cars.contains(&car))
    }
    /// With another unit than none, and so many decimals.
    const fn in_unit(self, unit: &'static str, decimals: usize) -> Self {
        Row { unit, decimals, ..self }
    }
}

/// A row of a system between two values, both included; without a unit and with two decimals unless it says more.
const fn row(id: &'static str, system: System, source: &'static Source, low: f64, high: f64) -> Row {
    Row { id, system, unit: "", decimals: 2, source, band: [low, high], of: None }
}

/// Everything, so many of so many: a row that tells how many of a list are right.
const ALL_RIGHT: [f64; 2] = [100.0, 100.0];

/// Rows that one measurement fills.
struct Trial {
    /// Cars that it is made on.
    cars: &'static [&'static str],
    /// It is made on every seed that is asked for, not on the first alone.
    seeds: bool,
    /// What it fills.
    rows: &'static [Row],
    /// Does it. What it leaves out counts as missed.
    go: fn(&Case, &mut Sheet),
}

const EVERY_CAR: &[&str] = &["plover", "dunlin", "whimbrel"];
const PLOVER: &[&str] = &["plover"];
const DUNLIN: &[&str] = &["dunlin"];
const WHIMBREL: &[&str] = &["whimbrel"];

/// Trials by the length that they take, longest first, so that no thread is left with a long one at the end.
const TRIALS: &[&[Trial]] = &[
    learning::TRIALS,
    trims::TRIALS,
    wheel::TRIALS,
    cooling::TRIALS,
    egr::TRIALS,
    emissions::TRIALS,
    misfire::TRIALS,
    power::TRIALS,
    idle::TRIALS,
    monitors::TRIALS,
    injectors::TRIALS,
    charging::TRIALS,
    start::TRIALS,
    battery::TRIALS,
    laws::TRIALS,
];

/// What a trial is made on.
struct Case {
    car: &'static str,
    text: &'static str,
    seed: u64,
}

/// What a trial fills in.
#[derive(Default)]
struct Sheet(Vec<(&'static str, f64, Option<[f64; 2]>)>);

impl Sheet {
    /// A value of a row.
    fn put(&mut self, id: &'static str, value: f64) {
        self.0.push((id, value, None));
    }
    /// A value of a row, with the band that this car's parts give it.
    fn put_within(&mut self, id: &'static str, value: f64, low: f64, high: f64) {
        self.0.push((id, value, Some([low, high])));
    }
    /// How many of a list are right \[%\].
    fn put_share(&mut self, id: &'static str, right: usize, of: usize) {
        self.put(id, 100.0 * right as f64 / of.max(1) as f64);
    }
}

/// What one seed gave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Seed of the car's parts.
    pub seed: u64,
    /// What was measured; not a number where nothing could be.
    pub value: f64,
    /// Lowest and highest value.
    pub band: [f64; 2],
}

impl Seen {
    /// It lies in its band.
    pub fn passes(&self) -> bool {
        self.value >= self.band[0] && self.value <= self.band[1]
    }
    /// How far outside the band it lies, over the end that it passed, or over the band's width where that end is nothing
    /// \[%\]; nothing inside.
    pub fn deviation_pct(&self) -> f64 {
        let [low, high] = self.band;
        let over = |end: f64| if end == 0.0 { (high - low).abs() } else { end.abs() };
        match self.value {
            v if v.is_nan() => f64::NAN,
            v if v < low => 100.0 * (v - low) / over(low),
            v if v > high => 100.0 * (v - high) / over(high),
            _ => 0.0,
        }
    }
}

/// A row on one car.
#[derive(Debug, Clone)]
pub struct Finding {
    /// The row.
    pub row: Row,
    /// The car.
    pub car: &'static str,
    /// One for each seed.
    pub seen: Vec<Seen>,
}

impl Finding {
    /// Every seed passes.
    pub fn passes(&self) -> bool {
        self.seen.iter().all(Seen::passes)
    }
    /// The seed that lies farthest outside; the first where none does.
    pub fn worst(&self) -> Option<&Seen> {
        // what could not be measured is worse than any number
        let off = |s: &Seen| if s.value.is_nan() { f64::INFINITY } else { s.deviation_pct().abs() };
        self.seen.iter().reduce(|worst, s| if off(s) > off(worst) { s } else { worst })
    }
}

/// What is asked for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    /// One car alone.
    pub car: Option<String>,
    /// One system alone.
    pub only: Option<System>,
    /// Seeds of each trial that goes over seeds.
    pub seeds: u64,
}

impl Wanted {
    fn wants(&self, row: &Row, car: &str) -> bool {
        self.covers(row.system, car) && row.tells_of(car)
    }
    /// A row of such a system on such a car was asked for.
    fn covers(&self, system: System, car: &str) -> bool {
        self.only.is_none_or(|s| s == system) && self.car.as_deref().is_none_or(|c| c == car)
    }
}

/// Measures every row that is wanted; `told` hears after each trial how many of how many are done.
pub fn measure(wanted: &Wanted, told: &(dyn Fn(usize, usize) + Sync)) -> Vec<Finding> {
    let mut jobs: Vec<(&Trial, Case)> = Vec::new();
    for trial in TRIALS.iter().copied().flatten() {
        for (car, text) in CARS.iter().filter(|c| trial.cars.contains(&c.0)) {
            if trial.rows.iter().any(|r| wanted.wants(r, car)) {
                let seeds = if trial.seeds { 1..=wanted.seeds } else { 1..=1 };
                jobs.extend(seeds.map(|seed| (trial, Case { car, text, seed })));
            }
        }
    }
    let done = std::sync::atomic::AtomicUsize::new(0);
    let made = |(trial, case): &(&Trial, Case)| {
        let mut sheet = Sheet::default();
        (trial.go)(case, &mut sheet);
        told(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1, jobs.len());
        sheet
    };
    let sheets: Vec<Sheet> = jobs.par_iter().with_max_len(1).map(made).collect();
    let mut all: Vec<Finding> = Vec::new();
    for ((trial, case), sheet) in jobs.iter().zip(&sheets) {
        for row in trial.rows.iter().filter(|r| wanted.wants(r, case.car)) {
            let put = sheet.0.iter().find(|p| p.0 == row.id);
            let (value, band) = put.map_or((f64::NAN, None), |p| (p.1, p.2));
            let seen = Seen { seed: case.seed, value, band: band.unwrap_or(row.band) };
            match all.iter_mut().find(|f| f.row.id == row.id && f.car == case.car) {
                Some(f) => f.seen.push(seen),
                None => all.push(Finding { row: *row, car: case.car, seen: vec![seen] }),
            }
        }
    }
    let place = |car: &str| CARS.iter().position(|c| c.0 == car);
    let rows: Vec<&Row> = rows().collect();
    let at = |id: &str| rows.iter().position(|r| r.id == id);
    all.sort_by_key(|f| (f.row.system, at(f.row.id), place(f.car)));
    all
}

/// Every row that is declared.
pub fn rows() -> impl Iterator<Item = &'static Row> {
    TRIALS.iter().copied().flatten().flat_map(|t| t.rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_deviation_counts_from_the_end_that_was_passed() {
        let seen =
            |value: f64, low: f64, high: f64| Seen { seed: 1, value, band: [low, high] }.deviation_pct();
        assert_eq!(seen(110.0, 50.0, 100.0), 10.0);
        assert_eq!(seen(45.0, 50.0, 100.0), -10.0);
        assert_eq!(seen(50.0, 50.0, 100.0), 0.0);
        assert_eq!(seen(-6.0, -5.0, 5.0), -20.0);
        assert_eq!(seen(3.0, -2.0, 0.0), 150.0);
        assert!(seen(f64::NAN, 0.0, 1.0).is_nan());
        assert!(!Seen { seed: 1, value: f64::NAN, band: [f64::NEG_INFINITY, f64::INFINITY] }.passes());
    }

    #[test]
    fn holds_every_row_is_declared_once_on_cars_that_ship() {
        let mut ids: Vec<&str> = rows().map(|r| r.id).collect();
        let n = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert!(n == ids.len() && n >= 50, "{n} rows, {} names", ids.len());
        for trial in TRIALS.iter().copied().flatten() {
            assert!(trial.cars.iter().all(|c| CARS.iter().any(|s| s.0 == *c)));
            assert!(trial.rows.iter().all(|r| r.band[0] <= r.band[1]));
        }
    }
}
