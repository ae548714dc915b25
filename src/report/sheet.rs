//! The data of a run for paper, as supplied by the caller.
//!
//! *Inside*: the sheet, moments at which belief and truth are compared. *Outside*: words, layout.

use crate::bench::facts::ModelNote;
use crate::bench::record::Entry;
use crate::bench::trace::Trace;
use crate::bench::view::{Observation, Truth};
use crate::lesson::Grade;
use crate::scenario::OwnCaution;
use crate::session::{Job, Judged};

/// All data of a run that go on paper.
#[derive(Debug, Clone)]
pub struct Sheet<'a> {
    /// Version of the program.
    pub version: &'a str,
    /// The scenario's id.
    pub id: &'a str,
    /// The scenario's title.
    pub title: &'a str,
    /// The trainee whose variant it was, and whether the variant is sealed.
    pub trainee: Option<&'a str>,
    /// Id and title of the trainee's file, if there was one.
    pub actions: Option<(&'a str, &'a str)>,
    /// What the customer says.
    pub complaint: &'a str,
    /// What the scenario teaches.
    pub teaches: &'a str,
    /// The scenario's own cautions.
    pub cautions: &'a [OwnCaution],
    /// The car.
    pub car_title: &'a str,
    /// Its odometer \[km\].
    pub odometer_km: f64,
    /// Seed.
    pub seed: u64,
    /// Crank step \[deg\].
    pub step_deg: f64,
    /// The lid was open.
    pub lid_open: bool,
    /// When the car was handed over \[s\].
    pub hand_over_s: f64,
    /// Number of lines in the logbook from before hand-over.
    pub own_lines: usize,
    /// When the run ended \[s\].
    pub end_s: f64,
    /// Stopped before its end.
    pub stopped: bool,
    /// Hash of the bench's state at the end.
    pub state_hash: &'a str,
    /// The recorded signals.
    pub trace: &'a Trace,
    /// The logbook, as far as the lid allows.
    pub log: &'a [Entry],
    /// The observation at hand-over.
    pub before: &'a Observation,
    /// The observation at the end.
    pub after: &'a Observation,
    /// The truth at hand-over and at the end; under an open lid only.
    pub truth: Option<(&'a Truth, &'a Truth)>,
    /// Paths of the values that the scenario and its lesson judge.
    pub judges: &'a [&'a str],
    /// The judged expectations.
    pub lines: &'a [Judged],
    /// The job card.
    pub job: &'a Job,
    /// The grade of the attempt, if the scenario is a lesson.
    pub grade: Option<&'a Grade>,
    /// Moments just before each repair and each learning act; under an open lid only.
    pub moments: &'a [Beside<'a>],
    /// The job card of the model solution, if there is one.
    pub path: Option<&'a Job>,
    /// The scenario hides the learning gates, and the lid is closed.
    pub gates_hidden: bool,
    /// Where the model reached its limits.
    pub model_notes: &'a [ModelNote],
}

impl Sheet<'_> {
    /// Truth before and after, if the lid allows it.
    pub(super) fn shown_truth(&self) -> Option<(&Truth, &Truth)> {
        if self.lid_open { self.truth } else { None }
    }
    /// Expectations that were met.
    pub(super) fn met(&self) -> usize {
        self.lines.iter().filter(|l| l.met).count()
    }
}

/// A moment at which belief and truth are compared.
#[derive(Debug, Clone, Copy)]
pub struct Beside<'a> {
    /// The act.
    pub what: &'a str,
    /// When \[s\].
    pub at_s: f64,
    /// What was seen.
    pub seen: &'a Observation,
    /// What was true.
    pub truth: &'a Truth,
}
