//! The evidence: each external reference value beside the program's own, measured; as a page, as a record, and
//! compared with an earlier record.

use super::{Error, Files, Sort, VERSION, shown, text_of};
use crate::evidence::{self, Finding, Record, Step, System, Wanted};
use crate::report::{Evidence, evidence_html, evidence_line};
use crate::store::CARS;
use crate::words::{name, say};

/// Maximum number of seeds for a row.
const MOST_SEEDS: u64 = 100;

/// The request: a car, a system, and how many seeds.
pub fn wanted(car: Option<&str>, only: Option<&str>, seeds: u64) -> Result<Wanted, Error> {
    if !(1..=MOST_SEEDS).contains(&seeds) {
        return Err(Error::rule(say!("evidence-rule-seeds", most = MOST_SEEDS as u32)));
    }
    let list = |all: Vec<&str>| all.join(", ");
    if let Some(car) = car.filter(|car| !CARS.iter().any(|c| c.0 == *car)) {
        let all = list(CARS.iter().map(|c| c.0).collect());
        return Err(Error::rule(say!("evidence-rule-car", given = shown(car), all = all)));
    }
    let system = match only {
        None => None,
        Some(only) => {
            let all = || list(System::ALL.iter().map(|s| s.0).collect());
            let unknown = || Error::rule(say!("evidence-rule-system", given = shown(only), all = all()));
            Some(System::named(only).ok_or_else(unknown)?)
        }
    };
    Ok(Wanted { car: car.map(str::to_owned), only: system, seeds })
}

/// Reads a record from its file.
pub fn record(files: &dyn Files, file: &str) -> Result<Record, Error> {
    let text = text_of(files, file, Sort::Text)?;
    Record::read(&text).ok_or_else(|| Error::of(file, say("evidence-rule-record")))
}

/// The measured rows.
#[derive(Debug)]
pub struct Measured {
    wanted: Wanted,
    findings: Vec<Finding>,
    record: Record,
}

/// Measures everything requested; `told` receives the number of measurements done and the total.
pub fn measure(wanted: Wanted, told: &(dyn Fn(usize, usize) + Sync)) -> Measured {
    let findings = evidence::measure(&wanted, told);
    let record = Record::of(&wanted, &findings);
    Measured { wanted, findings, record }
}

impl Measured {
    /// As an HTML page.
    pub fn html(&self) -> String {
        evidence_html(&Evidence { version: VERSION, seeds: self.wanted.seeds, findings: &self.findings })
    }
    /// As data.
    pub fn json(&self) -> String {
        self.record.text()
    }
    /// As text for a terminal: every row that misses its value, and the number of rows.
    pub fn text(&self) -> String {
        let misses = self.findings.iter().filter(|f| !f.passes()).map(evidence_line);
        let (pass, miss) = self.record.counts();
        let sum = say!("evidence-sum", rows = pass + miss, pass = pass, miss = miss);
        misses.chain([sum]).map(|line| line + "\n").collect()
    }
    /// What changed since an earlier record, one line per change; and whether no row got worse.
    pub fn since(&self, earlier: &Record) -> (String, bool) {
        let steps = self.record.since(earlier, &self.wanted);
        let line = |s: &Step| {
            let (message, id, car) = match s {
                Step::Misses(id, car) => ("evidence-now-misses", id, car),
                Step::Gone(id, car) => ("evidence-now-gone", id, car),
                Step::Passes(id, car) => ("evidence-now-passes", id, car),
                Step::New(id, car) => ("evidence-now-new", id, car),
            };
            say!(message, row = id.as_str(), car = name("car", car)) + "\n"
        };
        let good = !steps.iter().any(Step::is_back);
        let end = say(if good { "evidence-not-behind" } else { "evidence-behind" });
        (steps.iter().map(line).chain([end + "\n"]).collect(), good)
    }
}
