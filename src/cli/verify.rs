//! `idlewright verify`: replays the logbooks that a class handed in.
//!
//! *Inside*: which files. *Outside*: their verdicts ([`crate::app::verify`]).
//!
//! Exit codes: 0 all are consistent and no seal is forged; 5 otherwise; 4 or 2 errors of the command itself; 130
//! stopped.

use super::files::{Disk, not_there, print, print_data, probe, room_for, write_all, write_one};
use super::run::LidArg;
use super::tell::{Teller, cache_trouble};
use crate::app::replay::How;
use crate::app::seal::class_list;
use crate::app::verify::{Found, Share, Verdicts, Verifier, Watch, verify as verify_all};
use crate::app::{Error, terminal};
use crate::words::numbers::number;
use crate::words::say;
use clap::Args;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Maximum depth to which folders are searched.
const DEEPEST: usize = 16;

/// Arguments of `verify`.
#[derive(Args)]
pub(super) struct VerifyArgs {
    #[arg(required = true)]
    files: Vec<PathBuf>,
    #[arg(long, value_name = "FILE")]
    scenario: Vec<String>,
    #[arg(long, value_name = "FILE")]
    key: Option<String>,
    #[arg(long, value_name = "FILE")]
    rubric: Option<String>,
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[arg(long, value_enum, hide_possible_values = true)]
    lid: Option<LidArg>,
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    #[arg(long)]
    force: bool,
    #[arg(long)]
    json: bool,
    #[arg(long)]
    no_cache: bool,
    #[arg(long, value_name = "FILE", conflicts_with = "shard")]
    trainees: Option<String>,
    #[arg(long, value_name = "K/N")]
    shard: Option<String>,
    #[arg(long, conflicts_with_all = ["shard", "scenario", "key", "rubric", "out", "lid"])]
    merge: bool,
}

/// Runs the command; returns the exit code.
#[expect(
    clippy::disallowed_methods,
    reason = "how long it took is told by the wall clock; no verdict sees it"
)]
pub(super) fn verify(args: &VerifyArgs) -> Result<u8, Error> {
    // a list that cannot be read must not be found out after all the work
    let class = args.trainees.as_deref().map(|list| class_list(&Disk, list)).transpose()?;
    if let Some(csv) = &args.csv {
        // an instructor may have written into the marks of an earlier round
        not_there(csv, args.force)?;
    }
    if args.merge {
        let names: Vec<String> = args.files.iter().map(|f| f.display().to_string()).collect();
        return tell(args, Verdicts::merged(&Disk, &names)?, class, 0.0, true);
    }
    let share = args.shard.as_deref().map_or(Ok(Share::WHOLE), Share::read)?;
    let given: Vec<&str> = args.scenario.iter().map(String::as_str).collect();
    let how = How {
        open: args.lid == Some(LidArg::Open),
        use_cache: !args.no_cache,
        ..How::read(&Disk, &given, args.rubric.as_deref())?
    };
    let verifier = Verifier::new(&Disk, how, args.key.as_deref())?;
    if let Some(csv) = &args.csv {
        room_for(csv)?;
    }
    if let Some(dir) = &args.out {
        probe(dir, &[])?;
    }
    let began = Instant::now();
    let teller = Teller::new();
    let keep = |name: &str, page: String| match &args.out {
        Some(dir) => write_all(dir, &[(name, page)]),
        None => Ok(()),
    };
    let watch = Watch {
        told: &tell_progress,
        keep: if args.out.is_some() { Some(&keep) } else { None },
        stop: &teller.stop,
    };
    let found = find(&args.files);
    let all = verify_all(&Disk, &found, &verifier, share, &watch)?;
    let wall_s = began.elapsed().as_secs_f64();
    cache_trouble(&all.cache_troubles);
    terminal::tell(&say!(
        "verify-spent",
        logbooks = all.run as u32,
        wall = number(wall_s, 1),
        threads = rayon::current_num_threads(),
        rebuild = number(all.spent_s.0, 1),
        rest = number(all.spent_s.1, 1),
    ));
    tell(args, all, class, wall_s, found.iter().any(|f| f.missing.is_none()))
}

/// Prints and saves the verdicts; returns the exit code. Where no file was `found`, a table of marks would only be in the way
/// of the next.
fn tell(
    args: &VerifyArgs,
    mut all: Verdicts,
    class: Option<Vec<String>>,
    wall_s: f64,
    found: bool,
) -> Result<u8, Error> {
    if let Some(class) = class {
        all.compare(&class);
    }
    let written = args.csv.as_ref().filter(|_| found).map_or(Ok(()), |csv| write_one(csv, all.csv()));
    if args.json {
        print_data(&format!("{}\n", all.json(wall_s)))?;
    } else {
        print(&all.table())?;
    }
    written?;
    if all.fits_no_seal() {
        terminal::tell(&say("verify-no-seal-fits"));
    }
    Ok(if all.good() { 0 } else { 5 })
}

/// Shows progress, if the error stream is a terminal.
fn tell_progress(done: usize, all: usize) {
    let line = if done < all { say!("verify-progress", done = done, all = all) } else { String::new() };
    terminal::progress(&line);
}

/// The files named by the arguments, in that order, those of a folder sorted by name; each once.
fn find(args: &[PathBuf]) -> Vec<Found> {
    let mut all: Vec<Found> = Vec::new();
    let mut known: BTreeMap<PathBuf, usize> = BTreeMap::new();
    let mut add = |path: PathBuf, missing: Option<String>, named: bool| {
        // two names for the same file count once
        let one = path.canonicalize().unwrap_or_else(|_| path.clone());
        if let Some(k) = known.get(&one) {
            all[*k].twice |= named;
            return;
        }
        known.insert(one, all.len());
        all.push(Found { name: path.display().to_string(), missing, twice: false });
    };
    for path in args {
        if !path.is_dir() {
            let missing = (!path.exists()).then(|| say("verify-no-such-file"));
            add(path.clone(), missing, true);
            continue;
        }
        let (mut below, mut too_deep) = (Vec::new(), Vec::new());
        let missing = match walk(path, 0, &mut below, &mut too_deep) {
            Err(why) => Some(say!("verify-cannot-read-folder", why = why.to_string())),
            Ok(()) => (below.is_empty() && too_deep.is_empty()).then(|| say("verify-empty-folder")),
        };
        if missing.is_some() {
            add(path.clone(), missing, true);
        }
        below.sort();
        for file in below {
            add(file, None, false);
        }
        too_deep.sort();
        for folder in too_deep {
            add(folder, Some(say!("verify-too-deep", most = DEEPEST)), false);
        }
    }
    all
}

/// All *.jsonl in and below a folder, and the folders that are too deep to be searched. Links to folders are not
/// followed: they may form a loop.
#[expect(clippy::disallowed_methods, reason = "the command line reads the folders that a person names")]
fn walk(
    dir: &Path,
    depth: usize,
    out: &mut Vec<PathBuf>,
    too_deep: &mut Vec<PathBuf>,
) -> Result<(), std::io::Error> {
    for entry in std::fs::read_dir(dir)? {
        let entry = entry?;
        let path = entry.path();
        if entry.file_type()?.is_dir() {
            if depth < DEEPEST {
                walk(&path, depth + 1, out, too_deep)?;
            } else {
                too_deep.push(path);
            }
        } else if path.extension().is_some_and(|e| e == "jsonl") {
            out.push(path);
        }
    }
    Ok(())
}
