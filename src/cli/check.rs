//! `idlewright check`: reads files and reports mistakes; with `--solve` it also runs scenarios.

use super::files::{Disk, files_of, print};
use super::tell::{Teller, cache_trouble};
use crate::app::check::{Kind, check as check_file, scenario_among};
use crate::app::solve::{Solved, Tried, solve};
use crate::app::trainee::named;
use crate::app::{Error, Who, terminal};
use crate::words::numbers::number;
use crate::words::say;
use clap::Args;

#[derive(Args)]
pub(super) struct CheckArgs {
    #[arg(required = true)]
    files: Vec<String>,
    #[arg(long, value_name = "N")]
    class_seed: Option<u64>,
    #[arg(long, value_name = "WORD", requires = "class_seed", conflicts_with = "variants")]
    trainee: Option<String>,
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    variants: Option<u32>,
    #[arg(long)]
    solve: bool,
    #[arg(long, value_name = "FILE", requires = "solve")]
    actions: Option<String>,
    #[arg(long, requires = "solve")]
    no_cache: bool,
}

/// Checks the files, then runs what can be solved; exit code 1 if a scenario is not solved, or can be without
/// thinking.
pub(super) fn check(args: &CheckArgs) -> Result<u8, Error> {
    let mut worst: Option<u8> = None;
    let mut scenarios = Vec::new();
    let names: Vec<String> = args.files.iter().flat_map(|name| files_of(name)).collect();
    let given = scenario_among(&Disk, &names);
    for name in &names {
        match check_all(name, given, args) {
            Ok((kind, what)) => {
                for what in what {
                    print(&format!("{name}: {what}\n"))?;
                }
                if kind == Kind::Scenario {
                    scenarios.push(name.clone());
                }
            }
            Err(e) => {
                terminal::tell(&e.to_string());
                let code = super::exit_code(&e);
                worst = Some(worst.map_or(code, |w| w.min(code)));
            }
        }
    }
    if let Some(code) = worst {
        return Ok(code);
    }
    let mut good = true;
    if args.solve {
        for name in &scenarios {
            for who in asked_for(args)? {
                good &= try_it(name, who.as_ref(), args)?;
            }
        }
    }
    Ok(u8::from(!good))
}

/// The class's seed, or the default if none is given.
fn class_seed(args: &CheckArgs) -> u64 {
    args.class_seed.unwrap_or(1)
}

/// The variants to check: the scenario as written, and those of the requested trainees.
fn asked_for(args: &CheckArgs) -> Result<Vec<Option<Who>>, Error> {
    let Some(n) = args.variants else {
        return Ok(vec![named(args.class_seed, args.trainee.as_deref())?]);
    };
    let one = |trainee: u32| named(Some(class_seed(args)), Some(&trainee.to_string()));
    std::iter::once(Ok(None)).chain((1..=n).map(one)).collect()
}

/// Checks a file in every requested variant; gives the lines to print.
fn check_all(name: &str, given: Option<&str>, args: &CheckArgs) -> Result<(Kind, Vec<String>), Error> {
    if args.class_seed.is_some() && args.trainee.is_none() && args.variants.is_none() {
        return Err(Error::rule(say("usage-class-seed-alone")));
    }
    let seed = class_seed(args).to_string();
    let (mut kind, mut said, mut cautions) = (Kind::Scenario, String::new(), String::new());
    for who in asked_for(args)? {
        let checked = check_file(&Disk, name, who.as_ref(), given).map_err(|e| match (e, &who) {
            (Error::Input(w), Some(who)) if args.variants.is_some() => {
                let (why, trainee) = (w.to_string(), who.trainee.as_str());
                Error::rule(say!("check-of-trainee", why = why, trainee = trainee, seed = seed.as_str()))
            }
            (other, _) => other,
        })?;
        if said.is_empty() {
            let stands_alone = matches!(checked.kind, Kind::Scenario | Kind::Car);
            let how = if stands_alone || checked.against.is_some() { "" } else { "-alone" };
            said = say!(
                &format!("check-{}{how}", checked.kind.id()),
                id = checked.id.as_str(),
                scenario = checked.against.as_deref().unwrap_or_default(),
                acts = checked.acts,
                expectations = checked.expectations
            );
            cautions = checked.not_named.join(", ");
            kind = checked.kind;
        }
    }
    if let Some(n) = args.variants {
        said = say!("check-trainees", checked = said, trainees = n, seed = seed);
    }
    let mut all = vec![said];
    if !cautions.is_empty() {
        all.push(say!("check-cautions-not-named", cautions = cautions));
    }
    Ok((kind, all))
}

/// Tries the car left alone, the solution, fitting every part, and the traps, and reports the result.
fn try_it(name: &str, who: Option<&Who>, args: &CheckArgs) -> Result<bool, Error> {
    let mut teller = Teller::new();
    let solved = solve(&Disk, name, args.actions.as_deref(), who, !args.no_cache, &mut |p| teller.hear(p));
    teller.end();
    let solved = solved?;
    cache_trouble(&solved.cache_trouble);
    let of = match &solved.trainee {
        None => solved.id.clone(),
        Some(w) => say!("solve-of-trainee", scenario = solved.id.as_str(), trainee = w.as_str()),
    };
    let way = args.actions.clone().unwrap_or_else(|| say("solve-model"));
    for line in lines(&solved, &way) {
        print(&format!("{of}: {line}\n"))?;
    }
    Ok(solved.good)
}

/// What trying a scenario gave, line by line; `way` names the solution.
fn lines(s: &Solved, way: &str) -> Vec<String> {
    let mut all = vec![match s.missed.is_empty() {
        true => say("solve-alone-met"),
        false => say!("solve-alone", missed = s.missed.join(", ")),
    }];
    let ((met, of), minutes) = (s.met, number(s.minutes, 0));
    let Some(solution) = &s.solution else {
        all.push(say!("solve-no-lesson", way = way, met = met, of = of, minutes = minutes));
        return all;
    };
    let closes = |t: &Tried| if t.closes { "yes" } else { "no" };
    let points = |t: &Tried| say!("solve-points", points = number(t.points, 1), of = number(t.of, 0));
    all.push(say!(
        "solve-solution",
        way = way,
        closes = closes(solution),
        points = points(solution),
        minutes = minutes,
        money = number(solution.money, 2),
        currency = solution.currency.as_str(),
        met = met,
        of = of,
    ));
    all.extend(solution.lost.iter().map(|(row, lost)| format!("  {row}: {}", lost.join("; "))));
    let mistaken = |(question, said, came): &(String, String, String)| {
        say!("solve-mistaken", question = question.as_str(), said = said.as_str(), came = came.as_str())
    };
    all.extend(solution.mistaken.iter().map(|m| format!("  {}", mistaken(m))));
    if let Some(t) = &s.swapped {
        all.push(say!(
            "solve-swapped",
            closes = closes(t),
            points = points(t),
            parts = t.good_parts,
            money = number(t.money, 0),
            currency = t.currency.as_str(),
        ));
    }
    for (n, t) in &s.traps {
        all.push(say!("solve-trap", number = *n, closes = closes(t), points = points(t)));
    }
    all
}
