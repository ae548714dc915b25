//! A desk as one viewer sees it: a view is made for a viewer and can be sent to a seat on another machine.
//!
//! *Inside*: what a view holds. *Outside*: what a viewer may see ([`Seen`]).
//!
//! Under a closed lid a trainee's view holds no truth; it never holds the right answer to a question.
//!
//! **Checked by** `tests/attempts/view.rs`.

use crate::bench::record::Entry;
use crate::bench::trace::COLUMNS;
use crate::bench::view::{HandsView, Observation, Truth};
use crate::lesson::Grade;
use crate::report;
use crate::scenario::{Ask, AskKind, Scenario};
use crate::session::desk::{Desk, MarkName};
use crate::session::live::Live;
use crate::session::teach::Question;
use crate::session::{Job, Seen, Session, Viewer};
use crate::words::say;
use serde::Serialize;

/// What a viewer already has: earlier rows and lines are not sent again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Known {
    /// The epoch of the viewer's data; if the epoch has changed, everything is sent again.
    pub epoch: u64,
    /// Number of rows.
    pub rows: usize,
    /// Number of logbook lines.
    pub lines: usize,
}

/// A desk as a viewer sees it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// The viewer that it was made for.
    pub viewer: Viewer,
    /// Incremented when rows recorded earlier are no longer valid.
    pub epoch: u64,
    /// Simulated time \[s\].
    pub time_s: f64,
    /// When the car was handed over \[s\].
    pub hand_over_s: f64,
    /// The trainee's lid is open.
    pub lid_open: bool,
    /// Moments to go back to: name and time \[s\].
    pub marks: Vec<(String, f64)>,
    /// The job card.
    pub job: Job,
    /// Questions that must be answered or skipped before the waiting act is done.
    pub questions: Vec<Asked>,
    /// Questions that came up and are still open; an answer may still be given.
    pub open: Vec<Asked>,
    /// The future that will be handed in.
    pub first: Side,
    /// The second future, and the time of the fork \[s\].
    pub second: Option<(Side, f64)>,
    /// The grade so far; only for a viewer who may see truth, because points reveal it.
    pub grade: Option<Grade>,
    /// Number of the first logbook line in this view.
    pub lines_from: usize,
    /// The logbook from that line on.
    pub lines: Vec<Entry>,
    /// Names of the recorded signals that the viewer may see.
    pub columns: Vec<&'static str>,
    /// Number of the first row in this view.
    pub rows_from: usize,
    /// Rows of the first future from that row on, each as wide as the columns.
    pub rows: Vec<Vec<f64>>,
}

/// One of two futures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Side {
    /// What can be observed: live values, learned values, codes, readings, the watched list.
    pub seen: Observation,
    /// Positions of the driver's controls.
    pub hands: HandsView,
    /// Truth, for a viewer who may see it.
    pub truth: Option<Truth>,
}

/// A question as it is put to the trainee, without the right answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Asked {
    /// Its id; `cause` for the question about the fault.
    pub id: String,
    /// Text of the question; none for the cause.
    pub question: Option<String>,
    /// Unit of the requested number.
    pub unit: Option<String>,
    /// Answers to choose from: id and text; none for a number or a direction.
    pub choices: Vec<(String, String)>,
}

impl Asked {
    fn cause(of: &Scenario) -> Self {
        let causes = of.plan.iter().flat_map(|p| &p.causes);
        let choices = causes.map(|c| (c.id.clone(), c.says.clone())).collect();
        Self { id: "cause".into(), question: None, unit: None, choices }
    }
    fn of(ask: &Ask) -> Self {
        let (unit, choices) = match &ask.kind {
            AskKind::Number { unit, .. } => (Some(unit.clone()), Vec::new()),
            AskKind::Direction { .. } => {
                (None, ["up", "down", "same"].map(|d| (d.to_owned(), d.to_owned())).into())
            }
            AskKind::Choice(all) => (None, all.iter().map(|c| (c.id.clone(), c.says.clone())).collect()),
        };
        Self { id: ask.id.clone(), question: Some(ask.question.clone()), unit, choices }
    }
}

/// The view of a desk that runs on its own thread; none before the car is handed over and after the attempt is handed
/// in.
pub fn of_live(live: &Live, viewer: Viewer, known: Known) -> Option<View> {
    live.look(move |stands| view(stands.desk, stands.questions, viewer, known))
}

/// The view of a desk, with the questions that an act waits for.
pub fn view(desk: &Desk, waiting: &[Question], viewer: Viewer, known: Known) -> View {
    let session = desk.session();
    let sight = session.seen_by(viewer);
    let known = if known.epoch == desk.epoch() { known } else { Known::default() };
    let question = |q: &Question| match q {
        Question::Cause => Asked::cause(session.scenario()),
        Question::Ask(ask) => Asked::of(ask),
    };
    let visible = |k: usize| sight.sees_truth() || !COLUMNS[k].truth;
    let values: Vec<f64> = sight.values_from(known.rows).collect();
    let row = |row: &[f64]| row.iter().enumerate().filter(|(k, _)| visible(*k)).map(|(_, x)| *x).collect();
    let lines = sight.logbook_from(known.lines);
    let lines_from = if lines.is_empty() { known.lines.min(sight.logbook().len()) } else { known.lines };
    View {
        viewer,
        epoch: desk.epoch(),
        time_s: desk.time_s(),
        hand_over_s: session.hand_over_s(),
        lid_open: session.lid_open(),
        marks: desk.marks().iter().map(|m| (mark_words(&m.name, sight.sees_truth()), m.at_s)).collect(),
        job: session.job(),
        questions: waiting.iter().map(question).collect(),
        open: session.open_questions().iter().map(Asked::of).collect(),
        first: side(session, sight),
        second: desk.twin().map(|(twin, at_s)| (side(twin, twin.seen_by(viewer)), at_s)),
        grade: sight.grade(),
        lines_from,
        lines,
        columns: (0..COLUMNS.len()).filter(|k| visible(*k)).map(|k| COLUMNS[k].name).collect(),
        rows_from: known.rows.min(session.trace().len()),
        rows: values.chunks(COLUMNS.len()).map(row).collect(),
    }
}

/// A mark's name in words; an act's values are shown only to a viewer who may see truth.
pub fn mark_words(name: &MarkName, sees_truth: bool) -> String {
    match name {
        MarkName::HandOver => say("view-mark-hand-over"),
        MarkName::SlippedIn => say("view-mark-slipped-in"),
        MarkName::Before(action) => report::action_words(action, sees_truth),
        MarkName::Named(name) => name.clone(),
    }
}

fn side(session: &Session, sight: Seen<'_>) -> Side {
    Side { seen: sight.seen(), hands: session.bench().hands(), truth: sight.truth() }
}
