//! Seen: what of a session somebody may see. It is the only way from a session under way to whoever looks at it.
//!
//! *Inside*: whether truth, and what a scenario keeps back, may be seen by a viewer. *Outside*: how it is shown.
//!
//! A trainee sees truth under an open lid only, and opening the lid stands in the logbook. An instructor sees it
//! always, and that leaves no trace: the trainee's lid stays as it is.
//!
//! **Checked by** `tests/attempts/view.rs`.

use crate::bench::record::Entry;
use crate::bench::trace::COLUMNS;
use crate::bench::view::{GasTruth, Observation, Truth};
use crate::lesson::Grade;
use crate::session::{Session, hides, kept_back, visible_from};
use serde::Serialize;

/// Who looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Viewer {
    /// Who works: truth under an open lid only.
    #[default]
    Trainee,
    /// Who teaches: truth, whatever the trainee's lid.
    Instructor,
}

/// A session as a viewer may see it.
#[derive(Debug, Clone, Copy)]
pub struct Seen<'a> {
    session: &'a Session,
    truth: bool,
}

impl Session {
    /// What a viewer may see of it.
    pub fn seen_by(&self, viewer: Viewer) -> Seen<'_> {
        Seen { session: self, truth: self.lid_open || viewer == Viewer::Instructor }
    }
}

impl<'a> Seen<'a> {
    /// Truth may be seen.
    pub fn sees_truth(self) -> bool {
        self.truth
    }
    /// What is seen, without what the scenario keeps back.
    pub fn seen(self) -> Observation {
        let mut seen = self.session.bench.observe();
        if !self.truth {
            kept_back(&mut seen, hides(&self.session.scenario));
        }
        seen
    }
    /// Truth.
    pub fn truth(self) -> Option<Truth> {
        self.truth.then(|| self.session.bench.truth())
    }
    /// The gas in the cylinders.
    pub fn gas(self) -> Option<Vec<GasTruth>> {
        self.truth.then(|| self.session.bench.gas_truth())
    }
    /// What it would be worth now: points tell what is right.
    pub fn grade(self) -> Option<Grade> {
        if self.truth { self.session.grade() } else { None }
    }
    /// The logbook.
    pub fn logbook(self) -> Vec<Entry> {
        self.logbook_from(0)
    }
    /// The logbook from a line on, counted from 0.
    pub fn logbook_from(self, line: usize) -> Vec<Entry> {
        let s = self.session;
        visible_from(s.bench.log(), s.own_lines, self.truth, &s.scenario, line)
    }
    /// Values of the recorded signals from a row on, counted from 0, row by row as wide as [`COLUMNS`]; truth that may
    /// not be seen is no number.
    pub fn values_from(self, row: usize) -> impl Iterator<Item = f64> + 'a {
        let told = move |(k, x): (usize, &f64)| if COLUMNS[k].truth && !self.truth { f64::NAN } else { *x };
        self.session.trace.rows_from(row).flat_map(move |row| row.iter().enumerate().map(told))
    }
}
