//! Findings as a file, and what fell behind such a file.

use super::{Finding, System, Wanted};
use serde::{Deserialize, Serialize};

/// What the file is written as.
const SCHEMA: u32 = 1;

/// Findings that were recorded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    schema: u32,
    /// Seeds of each row that goes over seeds.
    seeds: u64,
    rows: Vec<Line>,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    id: String,
    car: String,
    system: String,
    unit: String,
    /// Kind of the source, its name, and whether it is quoted from memory.
    kind: String,
    source: String,
    from_memory: bool,
    passes: bool,
    /// Of the seed that lies farthest outside.
    deviation_pct: Option<f64>,
    seen: Vec<One>,
}

/// What a seed gave; an end of the band that is open is none, and so is what could not be measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct One {
    seed: u64,
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

/// How a row stands beside its record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// It passed and misses now: row, car.
    Misses(String, String),
    /// It is no longer measured.
    Gone(String, String),
    /// It missed and passes now.
    Passes(String, String),
    /// It stands in no record yet.
    New(String, String),
}

impl Step {
    /// It is a step back.
    pub fn is_back(&self) -> bool {
        matches!(self, Step::Misses(..) | Step::Gone(..))
    }
}

/// With four digits behind those that are shown: enough for any reader, and no noise in differences.
fn rounded(x: f64, decimals: usize) -> Option<f64> {
    x.is_finite().then(|| format!("{x:.*}", decimals + 2).parse().unwrap_or(x))
}

impl Record {
    /// Of findings.
    pub fn of(wanted: &Wanted, findings: &[Finding]) -> Self {
        let rows = findings.iter().map(|f| {
            let one = |s: &super::Seen| One {
                seed: s.seed,
                value: rounded(s.value, f.row.decimals),
                low: rounded(s.band[0], f.row.decimals + 2),
                high: rounded(s.band[1], f.row.decimals + 2),
            };
            Line {
                id: f.row.id.into(),
                car: f.car.into(),
                system: f.row.system.name().into(),
                unit: f.row.unit.into(),
                kind: f.row.source.kind.name().into(),
                source: f.row.source.id.into(),
                from_memory: f.row.source.from_memory,
                passes: f.passes(),
                deviation_pct: f.worst().and_then(|s| rounded(s.deviation_pct(), 0)),
                seen: f.seen.iter().map(one).collect(),
            }
        });
        Record { schema: SCHEMA, seeds: wanted.seeds, rows: rows.collect() }
    }
    /// From a file's text; none if it is no such record.
    pub fn read(text: &str) -> Option<Self> {
        serde_json::from_str(text).ok().filter(|r: &Record| r.schema == SCHEMA)
    }
    /// As a file, a row a line.
    pub fn text(&self) -> String {
        let line = |l: &Line| serde_json::to_string(l).unwrap_or_default();
        let rows: Vec<String> = self.rows.iter().map(line).collect();
        format!(
            "{{\"schema\":{},\"seeds\":{},\"rows\":[\n{}\n]}}\n",
            self.schema,
            self.seeds,
            rows.join(",\n")
        )
    }
    /// What changed since an earlier one, of the rows that were asked for.
    pub fn since(&self, earlier: &Record, wanted: &Wanted) -> Vec<Step> {
        let same = |a: &&Line, b: &Line| a.id == b.id && a.car == b.car;
        let name = |l: &Line| (l.id.clone(), l.car.clone());
        let mut out = Vec::new();
        for was in &earlier.rows {
            if !System::named(&was.system).is_none_or(|s| wanted.covers(s, &was.car)) {
                continue;
            }
            let (id, car) = name(was);
            match self.rows.iter().find(|l| same(l, was)) {
                None => out.push(Step::Gone(id, car)),
                Some(is) if was.passes && !is.passes => out.push(Step::Misses(id, car)),
                Some(is) if !was.passes && is.passes => out.push(Step::Passes(id, car)),
                Some(_) => {}
            }
        }
        for is in self.rows.iter().filter(|is| !earlier.rows.iter().any(|w| same(&w, is))) {
            let (id, car) = name(is);
            out.push(Step::New(id, car));
        }
        out
    }
    /// How many rows pass, and how many miss.
    pub fn counts(&self) -> (usize, usize) {
        let pass = self.rows.iter().filter(|l| l.passes).count();
        (pass, self.rows.len() - pass)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(rows: &[(&str, bool)]) -> Record {
        let line = |(id, passes): &(&str, bool)| Line {
            id: (*id).into(),
            car: "plover".into(),
            system: "engine".into(),
            unit: String::new(),
            kind: "practice".into(),
            source: "practice".into(),
            from_memory: false,
            passes: *passes,
            deviation_pct: Some(0.0),
            seen: vec![One { seed: 1, value: Some(1.0), low: None, high: Some(2.0) }],
        };
        Record { schema: SCHEMA, seeds: 1, rows: rows.iter().map(line).collect() }
    }

    #[test]
    fn exact_steps_back_are_told_apart_from_steps_ahead() {
        let was = record(&[("a", true), ("b", true), ("c", false), ("d", false)]);
        let is = record(&[("a", false), ("c", true), ("d", false), ("e", false)]);
        let p = || "plover".to_owned();
        let steps = is.since(&was, &Wanted::default());
        let wanted = [
            Step::Misses("a".into(), p()),
            Step::Gone("b".into(), p()),
            Step::Passes("c".into(), p()),
            Step::New("e".into(), p()),
        ];
        assert_eq!(steps, wanted);
        assert_eq!(steps.iter().filter(|s| s.is_back()).count(), 2);
        // rows that were not asked for are not missed
        let other = Wanted { only: Some(System::Battery), ..Wanted::default() };
        assert!(!record(&[]).since(&was, &other).iter().any(Step::is_back));
    }

    #[test]
    fn same_record_after_reading() {
        let r = record(&[("a", true), ("b", false)]);
        assert_eq!(Record::read(&r.text()), Some(r.clone()));
        assert_eq!(r.counts(), (1, 1));
        assert_eq!(Record::read("{}"), None);
    }
}
