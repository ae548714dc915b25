//! `idlewright check --solve`: whether a scenario left alone is what it should be, whether its model solution closes it,
//! in how many minutes, and whether its traps or fitting every part on the shelf do.

use crate::bench::Bench;
use crate::cli::Teller;
use crate::cli::{Loaded, Trouble, begin, load_actions, read_origin, say};
use crate::scenario::{ActionFile, Who};
use crate::session::{Options, Run, solve};
use crate::store;
use std::path::Path;

/// Tries the car left alone, the solution, the swap of everything and the traps; gives true if the first is as expected,
/// the solution closes the job with every point, and nothing else closes it.
pub(super) fn solve(name: &str, who: Option<&Who>, no_cache: bool) -> Result<bool, Trouble> {
    let loaded = read_origin(name)?.read(who)?;
    let solution = solution_name(name);
    let (own, _) = load_actions(&solution, &loaded)?;
    let id = match who {
        None => loaded.scenario.about.id.clone(),
        Some(w) => format!("{} of trainee {}", loaded.scenario.about.id, w.trainee),
    };
    // the fault is there: what the scenario expects of a car that nobody works on
    let alone = attempt(name, &loaded, None, no_cache)?;
    let missed: Vec<&str> = alone.judged.iter().filter(|j| !j.met).map(|j| j.what.as_str()).collect();
    if !missed.is_empty() {
        say(&format!("{id}: left alone it is not what it should be: {}\n", missed.join(", ")))?;
    }
    let run = attempt(name, &loaded, Some(&own), no_cache)?;
    let met = run.judged.iter().filter(|j| j.met).count();
    let mut good = run.all_met() && missed.is_empty();
    let Some(grade) = &run.grade else {
        say(&format!(
            "{id}: no lesson: {met} of {} expectations of its solution met, {:.0} min\n",
            run.judged.len(),
            run.job.minutes
        ))?;
        return Ok(good);
    };
    good &= grade.full();
    say(&format!(
        "{id}: the model solution {} it: {:.1} of {:.0} points, {:.0} min, {:.2} {}; {met} of {} expectations met\n",
        if grade.closed { "closes" } else { "does not close" },
        grade.points,
        grade.of,
        run.job.minutes,
        run.job.money,
        run.job.currency,
        run.judged.len()
    ))?;
    for r in grade.rows.iter().filter(|r| !r.full()) {
        let lost: Vec<&str> = r.findings.iter().filter(|f| !f.met).map(|f| f.says.as_str()).collect();
        say(&format!("{id}:   {}: {}\n", r.says, lost.join("; ")))?;
    }
    let bench =
        Bench::standing(&loaded.scenario.setup).map_err(|e| Trouble::Input(format!("{name}: {e}")))?;
    let all = solve::swap_everything(bench.cylinders() as u8, bench.banks() as u8);
    let swapped = attempt(name, &loaded, Some(&all), no_cache)?;
    if let Some(g) = &swapped.grade {
        say(&format!(
            "{id}: fitting every part {} it: {:.1} of {:.0} points, {} good parts, {:.0} {}\n",
            if g.closed { "closes" } else { "does not close" },
            g.points,
            g.of,
            g.good_parts,
            swapped.job.money,
            swapped.job.currency
        ))?;
        good &= !g.closed;
    }
    for n in 1..=9 {
        let trap = solution.replace(".solution.toml", &format!(".trap-{n}.toml"));
        if !Path::new(&trap).is_file() && store::shipped_actions(&trap).is_none() {
            break;
        }
        let (hands, _) = load_actions(&trap, &loaded)?;
        let trapped = attempt(name, &loaded, Some(&hands), no_cache)?;
        let Some(g) = &trapped.grade else { continue };
        say(&format!(
            "{id}: trap {n} {} it: {:.1} of {:.0} points\n",
            if g.closed { "closes" } else { "does not close" },
            g.points,
            g.of
        ))?;
        good &= !g.closed;
    }
    Ok(good)
}

/// The solution's file: beside the scenario's, or the shipped one.
fn solution_name(name: &str) -> String {
    match store::shipped(name) {
        Some(s) if !Path::new(name).is_file() => s.file.replace(".toml", ".solution.toml"),
        _ => format!("{}.solution.toml", name.strip_suffix(".toml").unwrap_or(name)),
    }
}

fn attempt(name: &str, loaded: &Loaded, hands: Option<&ActionFile>, no_cache: bool) -> Result<Run, Trouble> {
    let options = Options {
        lid_open: loaded.scenario.about.lid != crate::scenario::Lid::Locked,
        use_cache: !no_cache,
        ..Options::default()
    };
    let mut teller = Teller::new();
    let session = begin(name, loaded, hands, &options, &mut teller)?;
    let run = session.run(&mut |p| teller.hear(p));
    teller.end();
    if run.stopped { Err(Trouble::Stopped) } else { Ok(run) }
}
