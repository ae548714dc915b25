//! Tries a scenario: whether the car left alone behaves as expected, whether the model solution closes the job and in
//! how many minutes, and whether a trap or fitting every part on the shelf closes it too.

use super::attempt::begin;
use super::load::{self, Hands, Loaded, Origin};
use super::{Error, Files, NotKept, Options, Progress, Run};
use crate::bench::Bench;
use crate::lesson::Prediction;
use crate::scenario::{Lid, Who};
use crate::session::solve;
use crate::words::{facts, say};

/// Maximum number of traps in one scenario.
const MOST_TRAPS: usize = 9;

/// The result of one way of working on the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// It closes the job.
    pub closes: bool,
    /// Answers to questions that did not come true: the question's id, what was said, and the outcome.
    pub mistaken: Vec<(String, String, String)>,
    /// Points.
    pub points: f64,
    /// Maximum points.
    pub of: f64,
    /// Number of good parts that were replaced.
    pub good_parts: usize,
    /// Money on the job card.
    pub money: f64,
    /// Unit of money.
    pub currency: String,
    /// Rows that lost points: their text, and what was not met.
    pub lost: Vec<(String, Vec<String>)>,
}

/// The result of trying a scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// The scenario's id.
    pub id: String,
    /// Who is working; this chooses the variant.
    pub trainee: Option<String>,
    /// Expectations that the car left alone does not meet.
    pub missed: Vec<String>,
    /// Expectations of the solution: how many are met, and how many there are.
    pub met: (usize, usize),
    /// Minutes on the solution's job card.
    pub minutes: f64,
    /// The solution; none if the scenario is not a lesson.
    pub solution: Option<Tried>,
    /// The attempt that fits every part.
    pub swapped: Option<Tried>,
    /// The traps, by number.
    pub traps: Vec<(usize, Tried)>,
    /// The car left alone is as expected, the solution closes the job with full points, and nothing else closes it.
    pub good: bool,
    /// Why a conditioned car could not be cached.
    pub cache_trouble: Option<NotKept>,
}

/// Tries the car left alone, the solution, fitting every part, and the traps. The solution is the file that is named,
/// otherwise the one that belongs to the scenario.
///
/// # Errors
/// There is no solution, or a file cannot be read or run.
pub fn solve(
    files: &dyn Files,
    name: &str,
    solution: Option<&str>,
    who: Option<&Who>,
    use_cache: bool,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Solved, Error> {
    let origin = Origin::find(files, name)?;
    let loaded = origin.read(who)?;
    let belongs = origin.belonging("solution");
    if solution.is_none() && !load::has_actions(files, &belongs) {
        return Err(Error::File(say!("solve-no-solution", scenario = name, file = belongs)));
    }
    let own = load::hands(files, solution.unwrap_or(&belongs), &loaded)?;
    let mut cache_trouble = None;
    let mut attempt =
        |hands: Option<&Hands>| attempt(name, &loaded, hands, use_cache, &mut cache_trouble, told);
    // the fault is present: what the scenario expects of a car that nobody works on
    let alone = attempt(None)?;
    let missed: Vec<String> = alone.judged.iter().filter(|j| !j.met).map(|j| j.what.clone()).collect();
    let run = attempt(Some(&own))?;
    let full = run.grade.as_ref().is_none_or(|g| g.full());
    let good = run.all_met() && missed.is_empty() && full;
    let mut solved = Solved {
        id: loaded.scenario.about.id.clone(),
        trainee: who.map(|w| w.trainee.clone()),
        missed,
        met: (run.judged.iter().filter(|j| j.met).count(), run.judged.len()),
        minutes: run.job.minutes,
        solution: tried(&run),
        swapped: None,
        traps: Vec::new(),
        good,
        cache_trouble: None,
    };
    if solved.solution.is_some() {
        let bench = Bench::standing(&loaded.scenario.setup).map_err(|e| Error::of(name, facts::bench(&e)))?;
        let actions = solve::swap_everything(bench.cylinders() as u8, bench.banks() as u8);
        solved.swapped = tried(&attempt(Some(&Hands { file: String::new(), actions, text: String::new() }))?);
        for n in 1..=MOST_TRAPS {
            let trap = origin.belonging(&format!("trap-{n}"));
            if !load::has_actions(files, &trap) {
                break;
            }
            let hands = load::hands(files, &trap, &loaded)?;
            solved.traps.extend(tried(&attempt(Some(&hands))?).map(|t| (n, t)));
        }
        solved.good &= !solved.swapped.iter().chain(solved.traps.iter().map(|t| &t.1)).any(|t| t.closes);
    }
    solved.cache_trouble = cache_trouble;
    Ok(solved)
}

fn tried(run: &Run) -> Option<Tried> {
    let g = run.grade.as_ref()?;
    let row = |r: &crate::lesson::Scored| {
        (r.says.clone(), r.findings.iter().filter(|f| !f.met).map(|f| facts::found(&f.found)).collect())
    };
    let mistaken = |p: &Prediction| {
        let (said, came) = (p.said.as_ref()?, p.came.as_ref()?);
        (p.right == Some(false)).then(|| (p.id.clone(), facts::outcome(said), facts::outcome(came)))
    };
    Some(Tried {
        closes: g.closed,
        mistaken: g.predictions.iter().filter_map(mistaken).collect(),
        points: g.points,
        of: g.of,
        good_parts: g.good_parts as usize,
        money: run.job.money,
        currency: run.job.currency.clone(),
        lost: g.rows.iter().filter(|r| !r.full()).map(row).collect(),
    })
}

fn attempt(
    name: &str,
    loaded: &Loaded,
    hands: Option<&Hands>,
    use_cache: bool,
    cache_trouble: &mut Option<NotKept>,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Run, Error> {
    let lid_open = loaded.scenario.about.lid != Lid::Locked;
    let options = Options { lid_open, use_cache, ..Options::default() };
    let session = begin(name, &loaded.scenario, hands, &options, told)?;
    if let Some(why) = session.cache_trouble() {
        *cache_trouble = Some(why.clone());
    }
    let run = session.run(told);
    if run.stopped { Err(Error::Stopped) } else { Ok(run) }
}
