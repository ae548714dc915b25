//! Whether a scenario left alone is what it should be, whether its model solution closes it, in how many minutes, and
//! whether its traps or fitting every part on the shelf do.

use super::attempt::begin;
use super::load::{self, Hands, Loaded, Origin};
use super::{Error, Files, NotKept, Options, Progress, Run};
use crate::bench::Bench;
use crate::scenario::{Lid, Who};
use crate::session::solve;
use crate::words::facts;

/// Most traps of one scenario.
const MOST_TRAPS: usize = 9;

/// What one way of working at it is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// It closes the job.
    pub closes: bool,
    /// Points.
    pub points: f64,
    /// Of so many.
    pub of: f64,
    /// Good parts that were exchanged.
    pub good_parts: usize,
    /// Money on the job card.
    pub money: f64,
    /// Its unit.
    pub currency: String,
    /// Rows that lack points: what they say, and what was not met.
    pub lost: Vec<(String, Vec<String>)>,
}

/// What came of trying a scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// The scenario's id.
    pub id: String,
    /// Who works: chooses the variant.
    pub trainee: Option<String>,
    /// What the car left alone is not, though the scenario expects it.
    pub missed: Vec<String>,
    /// Of how many expectations the solution meets how many.
    pub met: (usize, usize),
    /// Minutes of the solution.
    pub minutes: f64,
    /// The solution; none where the scenario is no lesson.
    pub solution: Option<Tried>,
    /// Every part fitted.
    pub swapped: Option<Tried>,
    /// The traps, by number.
    pub traps: Vec<(usize, Tried)>,
    /// The first is as expected, the solution closes the job with every point, and nothing else closes it.
    pub good: bool,
    /// Why a conditioned car could not be kept.
    pub cache_trouble: Option<NotKept>,
}

/// Tries the car left alone, the solution, the swap of everything and the traps.
pub fn solve(
    files: &dyn Files,
    name: &str,
    who: Option<&Who>,
    use_cache: bool,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Solved, Error> {
    let origin = Origin::find(files, name)?;
    let loaded = origin.read(who)?;
    let own = load::hands(files, &origin.belonging("solution"), &loaded)?;
    let mut cache_trouble = None;
    let mut attempt =
        |hands: Option<&Hands>| attempt(name, &loaded, hands, use_cache, &mut cache_trouble, told);
    // the fault is there: what the scenario expects of a car that nobody works on
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
    Some(Tried {
        closes: g.closed,
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
    let session = begin(name, loaded, hands, &options, told)?;
    if let Some(why) = session.cache_trouble() {
        *cache_trouble = Some(why.clone());
    }
    let run = session.run(told);
    if run.stopped { Err(Error::Stopped) } else { Ok(run) }
}
