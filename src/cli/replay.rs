//! `idlewright replay`: runs one logbook again and prints the verdict.
//!
//! Exit codes: 0 consistent; 5 altered or other version; 2 no logbook, or its scenario is not available; 4 a
//! file that cannot be read or written.

use super::files::{Disk, print, print_data, probe, write_all};
use super::run::LidArg;
use super::tell::{Teller, cache_trouble, cautions};
use crate::app::replay::{Came, How, differing, json, judge, text};
use crate::app::{Error, Run, Verdict, results, verify};
use crate::words::numbers::number;
use crate::words::{facts, say};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `replay`.
#[derive(Args)]
pub(super) struct ReplayArgs {
    file: String,
    #[arg(long, value_name = "FILE")]
    scenario: Option<String>,
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[arg(long, value_enum, hide_possible_values = true)]
    lid: Option<LidArg>,
    #[arg(long, value_name = "FILE")]
    rubric: Option<String>,
    #[arg(long)]
    json: bool,
    #[arg(long)]
    no_cache: bool,
}

/// Runs the command; returns the exit code.
pub(super) fn replay(args: &ReplayArgs) -> Result<u8, Error> {
    let book = text(&Disk, &args.file)?;
    let given: Vec<&str> = args.scenario.iter().map(String::as_str).collect();
    let how = How {
        open: args.lid == Some(LidArg::Open),
        use_cache: !args.no_cache,
        ..How::read(&Disk, &given, args.rubric.as_deref())?
    };
    let before = || args.out.as_ref().map_or(Ok(()), |dir| probe(dir, &results::FILES));
    let mut teller = Teller::new();
    let came = judge(&args.file, &book, &how, false, &before, &mut |p| teller.hear(p));
    teller.end();
    let (answer, out) = match came? {
        Came::Out(out) => (out.answer.clone(), Some(out)),
        Came::Verdict(answer) => (answer, None),
        Came::NoLogbook(why) => {
            return Err(Error::of(&args.file, say!("app-no-logbook", why = facts::reason(&why))));
        }
        Came::NotAtHand(id, why) => {
            return Err(Error::rule(say!("replay-not-at-hand", scenario = id, why = facts::reason(&why))));
        }
    };
    cache_trouble(out.iter().filter_map(|o| o.cache_trouble.as_ref()));
    let written = match (&args.out, &out) {
        (Some(dir), Some(out)) => write_all(dir, &out.results().all()),
        _ => Ok(()),
    };
    let run = out.as_ref().map(|o| &o.run);
    cautions(&run.map(results::cautions_text).unwrap_or_default());
    let id = verify::word(answer.verdict);
    if args.json {
        print_data(&format!("{}\n", json(&answer, run)))?;
    } else {
        let verdict = say(&format!("verdict-{}", id.replace(' ', "-")));
        let why = facts::reason(&answer.reason);
        let why = match answer.line {
            Some(line) => say!("replay-line", line = line, why = why),
            None => why,
        };
        let mut lines = vec![format!("{}: {verdict}: {why}", args.file)];
        for (id, text) in ["replay-expected", "replay-found"].into_iter().zip(differing(&answer)) {
            lines.extend(text.map(|text| format!("  {:<9} {text}", say(id))));
        }
        match run {
            Some(run) => lines.extend(of_run(run).map(|line| format!("  {line}"))),
            None if args.out.is_some() => lines.push(format!("  {}", say("replay-nothing-written"))),
            None => {}
        }
        print(&format!("{}\n", lines.join("\n")))?;
    }
    written?;
    Ok(if answer.verdict == Verdict::Consistent { 0 } else { 5 })
}

/// The messages about a run that was reproduced.
fn of_run(run: &Run) -> impl Iterator<Item = String> {
    let scenario = run.scenario.about.id.as_str();
    let seed = run.bench.setup().seed.to_string();
    let lid = if run.lid_open { "open" } else { "closed" };
    let simulated = number(run.bench.time_s(), 0);
    let met = run.judged.iter().filter(|j| j.met).count();
    let all = run.judged.len();
    let about = match &run.actions {
        None => say!(
            "replay-run",
            scenario = scenario,
            seed = seed,
            lid = lid,
            simulated = simulated,
            met = met,
            all = all
        ),
        Some(a) => say!(
            "replay-run-worked",
            scenario = scenario,
            actions = a.about.id.as_str(),
            seed = seed,
            lid = lid,
            simulated = simulated,
            met = met,
            all = all
        ),
    };
    let grade = run.grade.as_ref().map(results::grade_words);
    [Some(about), grade, Some(say("replay-cannot-tell-who"))].into_iter().flatten()
}
