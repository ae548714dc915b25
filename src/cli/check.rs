//! `idlewright check`: reads files and reports mistakes; with `--solve` it also runs scenarios.

use super::files::{Disk, files_of, print};
use super::tell::{Teller, cache_trouble};
use crate::app::check::{Kind, check as check_file};
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
    #[arg(long, requires = "solve")]
    no_cache: bool,
}

/// Checks the files, then runs what can be solved; exit code 1 if a scenario is not solved, or can be without
/// thinking.
pub(super) fn check(args: &CheckArgs) -> Result<u8, Error> {
    let mut worst: Option<u8> = None;
    let mut scenarios = Vec::new();
    for name in args.files.iter().flat_map(|name| files_of(name)) {
        match check_all(&name, args) {
            Ok((kind, what)) => {
                print(&format!("{name}: {what}\n"))?;
                if kind == Kind::Scenario {
                    scenarios.push(name);
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
                good &= try_it(name, who.as_ref(), args.no_cache)?;
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

/// Checks a file in every requested variant.
fn check_all(name: &str, args: &CheckArgs) -> Result<(Kind, String), Error> {
    if args.class_seed.is_some() && args.trainee.is_none() && args.variants.is_none() {
        return Err(Error::rule(say("usage-class-seed-alone")));
    }
    let seed = class_seed(args).to_string();
    let (mut kind, mut said) = (Kind::Scenario, String::new());
    for who in asked_for(args)? {
        let checked = check_file(&Disk, name, who.as_ref()).map_err(|e| match (e, &who) {
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
            if !checked.not_named.is_empty() {
                let cautions = checked.not_named.join(", ");
                said = say!("check-cautions-not-named", checked = said, cautions = cautions);
            }
            kind = checked.kind;
        }
    }
    if let Some(n) = args.variants {
        said = say!("check-trainees", checked = said, trainees = n, seed = seed);
    }
    Ok((kind, said))
}

/// Tries the car left alone, the solution, fitting every part, and the traps, and reports the result.
fn try_it(name: &str, who: Option<&Who>, no_cache: bool) -> Result<bool, Error> {
    let mut teller = Teller::new();
    let solved = solve(&Disk, name, who, !no_cache, &mut |p| teller.hear(p));
    teller.end();
    let solved = solved?;
    cache_trouble(&solved.cache_trouble);
    let of = match &solved.trainee {
        None => solved.id.clone(),
        Some(w) => say!("solve-of-trainee", scenario = solved.id.as_str(), trainee = w.as_str()),
    };
    for line in lines(&solved) {
        print(&format!("{of}: {line}\n"))?;
    }
    Ok(solved.good)
}

fn lines(s: &Solved) -> Vec<String> {
    let mut all = Vec::new();
    if !s.missed.is_empty() {
        all.push(say!("solve-alone", missed = s.missed.join(", ")));
    }
    let ((met, of), minutes) = (s.met, number(s.minutes, 0));
    let Some(solution) = &s.solution else {
        all.push(say!("solve-no-lesson", met = met, of = of, minutes = minutes));
        return all;
    };
    let closes = |t: &Tried| if t.closes { "yes" } else { "no" };
    let points = |t: &Tried| say!("solve-points", points = number(t.points, 1), of = number(t.of, 0));
    all.push(say!(
        "solve-solution",
        closes = closes(solution),
        points = points(solution),
        minutes = minutes,
        money = number(solution.money, 2),
        currency = solution.currency.as_str(),
        met = met,
        of = of,
    ));
    all.extend(solution.lost.iter().map(|(row, lost)| format!("  {row}: {}", lost.join("; "))));
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
