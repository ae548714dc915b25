//! The results of a run: as a table, as pages and as data, for the front that stores or shows them.
//!
//! *Outside*: how they are laid out ([`crate::report`]), where they are stored (the front).

use super::Run;
use crate::bench::action::Action;
use crate::bench::record::Kind;
use crate::lesson::Grade;
use crate::report::{self, Attempt, Beside, Sheet};
use crate::scenario::{self, ActionFile, Scenario};
use crate::session::{self, Job, Judged, Moment};
use crate::store;
use crate::words::{facts, upper_first};
use serde_json::{Value, json};

/// Names of the files that hold a run's results.
pub const FILES: [&str; 5] = ["trace.csv", "logbook.jsonl", "debrief.html", "debrief.json", "gradebook.csv"];

/// The one of them that is handed in, and that nothing else can bring back.
pub const LOGBOOK: &str = FILES[1];

/// A file to store: its name and its text.
pub type Kept = (&'static str, String);

/// A run with the texts of its inputs.
#[derive(Debug, Clone, Copy)]
pub struct Results<'r> {
    /// The run.
    pub run: &'r Run,
    /// The scenario's text.
    pub scenario: &'r str,
    /// The trainee's file, if there was one.
    pub actions: Option<&'r str>,
}

impl Results<'_> {
    /// The account of the run as a table for a terminal.
    pub fn table(&self) -> String {
        with_sheet(self.run, report::table)
    }
    /// The recorded signals.
    pub fn trace(&self) -> Kept {
        // of an unread value nothing is left in what was seen at the end
        let read = !self.run.after.seen.learned.is_empty();
        (FILES[0], report::trace_csv(&self.run.trace, self.run.lid_open, read))
    }
    /// The logbook, to be handed in.
    pub fn logbook(&self) -> Kept {
        (FILES[1], session::logbook::logbook_text(self.run, self.scenario, self.actions))
    }
    /// The debrief: a page, data, and a row for a gradebook.
    pub fn debrief(&self) -> [Kept; 3] {
        // the word alone, as in the table of a class's logbooks: a gradebook is put together by it
        let trainee = self.run.scenario.vary.who.as_ref().map(|who| who.trainee.as_str());
        [
            (FILES[2], page(self.run)),
            (FILES[3], format!("{:#}\n", debrief_json(self.run))),
            (FILES[4], report::gradebook_csv(&attempt_of(self.run, trainee))),
        ]
    }
    /// All result files.
    pub fn all(&self) -> Vec<Kept> {
        [self.trace(), self.logbook()].into_iter().chain(self.debrief()).collect()
    }
}

/// An attempt's grade, in one line.
pub fn grade_words(grade: &Grade) -> String {
    report::grade_words(grade)
}

/// A run as data.
pub fn json(run: &Run) -> Value {
    let mut v = run.json();
    v["expectations"] = judged_json(&run.judged);
    v["grade"] = grade_json(run.grade.as_ref());
    add_cautions(&mut v, run);
    v
}

/// Judged expectations as data: beside each fact the sentence that a person reads.
pub(super) fn judged_json(judged: &[Judged]) -> Value {
    let one = |j: &Judged| {
        let mut v = json!(j);
        v["why"] = json!(facts::why(&j.why));
        v
    };
    judged.iter().map(one).collect()
}

/// A grade as data: beside each fact the sentence that a person reads.
pub(super) fn grade_json(grade: Option<&Grade>) -> Value {
    let mut v = json!(grade);
    for (r, row) in grade.iter().flat_map(|g| g.rows.iter().enumerate()) {
        for (k, f) in row.findings.iter().enumerate() {
            v["rows"][r]["findings"][k]["says"] = json!(facts::found(&f.found));
        }
    }
    for (k, p) in grade.iter().flat_map(|g| g.predictions.iter().enumerate()) {
        let [said, came] = [&p.said, &p.came].map(|o| o.as_ref().map(facts::outcome));
        v["predictions"][k]["says"] = json!({ "said": said, "came": came });
    }
    v
}

/// A run's debrief as a page.
pub fn page(run: &Run) -> String {
    with_sheet(run, report::debrief_html)
}

/// The same, for an attempt whose seal was checked; `sealed` is true if it was found valid.
pub(super) fn page_checked(run: &Run, sealed: bool) -> String {
    let trainee = run.scenario.vary.who.as_ref().map(|who| facts::trainee_checked(who, sealed));
    with_sheet(run, |sheet| report::debrief_html(&Sheet { trainee: trainee.as_deref(), ..sheet.clone() }))
}

/// Converts a run into the form that reports are made from.
pub(super) fn with_sheet<T>(run: &Run, then: impl FnOnce(&Sheet<'_>) -> T) -> T {
    let log = run.logbook();
    let notes = run.bench.model_notes();
    let hash = run.bench.state_hash();
    let about = &run.scenario.about;
    let setup = run.bench.setup();
    let moments: Vec<Beside<'_>> = run
        .moments
        .iter()
        .map(|(what, m)| Beside { what, at_s: m.at_s, seen: &m.seen, truth: &m.truth })
        .collect();
    let path = run.lid_open.then(|| solution_work(&run.scenario)).flatten();
    let hides = run.scenario.plan.as_ref().map(|p| p.hides).unwrap_or_default();
    let trainee = run.scenario.vary.who.as_ref().map(facts::trainee);
    then(&Sheet {
        version: super::VERSION,
        id: &about.id,
        title: &about.title,
        trainee: trainee.as_deref(),
        actions: run.actions.as_ref().map(|a| (a.about.id.as_str(), a.about.title.as_str())),
        complaint: &about.complaint,
        teaches: if run.untouched() { "" } else { &about.teaches },
        cautions: &about.cautions,
        car_title: run.bench.car_name().1,
        odometer_km: setup.odometer_km,
        seed: setup.seed,
        step_deg: setup.step_deg,
        lid_open: run.lid_open,
        hand_over_s: run.hand_over_s,
        own_lines: run.own_logbook_lines(),
        end_s: run.after.at_s,
        stopped: run.stopped,
        state_hash: &hash,
        trace: &run.trace,
        log: &log,
        before: &run.before.seen,
        after: &run.after.seen,
        truth: run.lid_open.then_some((&run.before.truth, &run.after.truth)),
        judges: &run.scenario.judges(),
        lines: &run.judged,
        job: &run.job,
        grade: run.grade.as_ref(),
        moments: if run.lid_open { &moments } else { &[] },
        path: path.as_ref(),
        gates_hidden: hides.gates && !run.lid_open,
        model_notes: &notes,
    })
}

/// An attempt and the same without one of its steps, as a person reads them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Without {
    /// What would have differed, in plain lines.
    pub lines: Vec<String>,
    /// Compared values that differ: what, with the step, without it, the difference.
    pub differs: Vec<[String; 4]>,
    /// Compared values that are the same.
    pub same: Vec<[String; 4]>,
}

/// Compares an attempt with the same attempt without a step. `truth`: the reader may see what is left wrong.
pub fn without(done: &Run, without: &Run, truth: bool) -> Without {
    let wrong = [done, without].map(|run| if truth { run.left_wrong() } else { None });
    let wrong = match &wrong {
        [Some(x), Some(y)] => Some([x.as_slice(), y.as_slice()]),
        _ => None,
    };
    with_sheet(done, |done| {
        with_sheet(without, |without| {
            let pair = report::Pair { done, without, left_out: &[], forked_s: None };
            let row = |d: &report::Difference| {
                let [with_it, without_it, by] = d.shown();
                [upper_first(&d.what), with_it, without_it, by]
            };
            let (differs, same): (Vec<_>, Vec<_>) = pair.differences().into_iter().partition(|d| d.differs);
            Without {
                lines: report::twin_lines(&pair, wrong),
                differs: differs.iter().map(row).collect(),
                same: same.iter().map(row).collect(),
            }
        })
    })
}

/// What the work of the model solution costs, for a scenario that ships with one.
fn solution_work(of: &Scenario) -> Option<Job> {
    session::work_of(&model_solution(of)?).ok()
}

/// The model solution that ships with a scenario, with the values drawn for this trainee.
fn model_solution(of: &Scenario) -> Option<ActionFile> {
    let shipped = store::shipped(&of.about.id)?;
    let (file, text) = shipped.actions.iter().find(|(name, _)| name.ends_with("/solution"))?;
    scenario::parse_actions_for(text.as_bytes(), file, &of.vary).ok()
}

/// Whether an attempt consists of the acts of the model solution, in its order, whatever their times and notes; a solution
/// of fewer acts than `least` is not told apart from work of one's own.
pub(super) fn acts_as_solution(run: &Run, least: usize) -> bool {
    let works = |a: &&Action| !matches!(a, Action::Note(_));
    let done = run.bench.log().iter().skip(run.own_lines).filter_map(|e| match &e.kind {
        Kind::Act { action, .. } => Some(action),
        _ => None,
    });
    let Some(solution) = model_solution(&run.scenario) else { return false };
    let acts: Vec<&Action> = solution.acts.iter().map(|a| &a.hand).filter(works).collect();
    acts.len() >= least && acts.into_iter().eq(done.filter(works))
}

/// The row of a gradebook for a run.
fn attempt_of<'r>(run: &'r Run, trainee: Option<&'r str>) -> Attempt<'r> {
    Attempt {
        trainee,
        scenario: &run.scenario.about.id,
        actions: run.actions.as_ref().map_or("", |a| a.about.title.as_str()),
        seed: run.bench.setup().seed,
        grade: run.grade.as_ref(),
        job: &run.job,
        expectations: (run.judged.iter().filter(|j| j.met).count(), run.judged.len()),
        stopped: run.stopped,
    }
}

/// The cautions of a run, by key and sentence: those of the job, those that always apply, and those of the acts after
/// hand-over.
pub(super) fn add_cautions(v: &mut Value, run: &Run) {
    let [own, always] = report::job_cautions(&run.scenario.about.cautions);
    v["cautions"] = json!(own);
    v["always"] = json!(always);
    v["at_acts"] = json!(at_acts(run));
}

/// The cautions of what was done at the car, without the scenario's own acts.
fn at_acts(run: &Run) -> Vec<report::AtAct> {
    let own = run.bench.log().get(run.own_lines..).unwrap_or_default();
    let hindered = |k: usize| matches!(own.get(k + 1).map(|e| &e.kind), Some(Kind::Hindered { .. }));
    report::act_cautions(own.iter().enumerate().filter_map(|(k, e)| match &e.kind {
        Kind::Act { id, action } if !hindered(k) => Some((id.as_str(), action)),
        _ => None,
    }))
}

/// A job as a trainee gets it, for a terminal.
pub fn job(of: &Scenario) -> String {
    report::job_text(of)
}

/// The cautions of a replayed run, for a terminal.
pub fn cautions_text(run: &Run) -> String {
    report::cautions_text(&run.scenario.about.cautions, &at_acts(run))
}

/// The cautions of a job before anything is done, for a terminal.
pub fn job_cautions_text(of: &Scenario) -> String {
    report::cautions_text(&of.about.cautions, &[])
}

/// The debrief as data: the run's own object with the timeline and the moments.
fn debrief_json(run: &Run) -> Value {
    let mut v = json(run);
    v["title"] = json!(run.scenario.about.title);
    v["complaint"] = json!(run.scenario.about.complaint);
    v["hand_over_s"] = json!(run.hand_over_s);
    v["timeline"] = json!(run.logbook());
    let moment = |(what, m): &(String, Moment)| {
        let mut o = json!({ "before": what, "at_s": m.at_s, "seen": m.seen });
        if run.lid_open {
            o["truth"] = json!(m.truth);
        }
        o
    };
    v["moments"] = json!(run.moments.iter().map(moment).collect::<Vec<_>>());
    v
}
