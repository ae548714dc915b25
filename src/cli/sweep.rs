//! `idlewright sweep`: runs a scenario over seeds and ranges of its own numbers, and tells how the results spread.
//!
//! *Inside*: arguments, files. *Outside*: running and adding up ([`crate::app::sweep`]).
//!
//! Exit codes: 0 every run came to its end, whatever was expected of it; 2 or 4 errors of the command itself; 130
//! stopped: what was finished is kept, and the same command goes on from there.

use super::files::{Disk, print, print_data, probe, write_all};
use super::run::LidArg;
use super::tell::{Teller, cautions};
use crate::app::sweep::{Ask, FILES, MOST_SEEDS, Sweep, Watch, plan};
use crate::app::verify::Share;
use crate::app::{Error, terminal};
use crate::words::numbers::number;
use crate::words::say;
use clap::Args;
use std::path::PathBuf;
use std::time::Instant;

/// Arguments of `sweep`.
#[derive(Args)]
pub(super) struct SweepArgs {
    #[arg(required_unless_present = "merge")]
    file: Option<String>,
    #[arg(long, value_name = "FILE")]
    actions: Option<String>,
    #[arg(long, value_name = "N", default_value_t = 20,
          value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_SEEDS)))]
    runs: u32,
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    #[arg(long, value_name = "VALUES")]
    over: Vec<String>,
    #[arg(long, value_name = "NAME")]
    signal: Vec<String>,
    #[arg(long, value_enum, hide_possible_values = true)]
    lid: Option<LidArg>,
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[arg(long)]
    json: bool,
    #[arg(long, value_name = "K/N", requires = "out")]
    shard: Option<String>,
    #[arg(long, value_name = "DIR", num_args = 1..,
          conflicts_with_all = ["file", "actions", "runs", "seed", "over", "signal", "lid", "shard"])]
    merge: Vec<PathBuf>,
}

/// Runs the command; returns the exit code.
#[expect(
    clippy::disallowed_methods,
    reason = "how long it took is told by the wall clock; no result sees it"
)]
pub(super) fn sweep(args: &SweepArgs) -> Result<u8, Error> {
    if !args.merge.is_empty() {
        let names: Vec<String> = args.merge.iter().map(|f| f.display().to_string()).collect();
        let whole = Sweep::merged(&Disk, &names)?;
        if let Some(dir) = &args.out {
            probe(dir, &FILES)?;
        }
        return tell(args, &whole);
    }
    let share = args.shard.as_deref().map_or(Ok(Share::WHOLE), Share::read)?;
    let ask = Ask {
        scenario: args.file.as_deref().unwrap_or_default(),
        actions: args.actions.as_deref(),
        seed: args.seed,
        runs: args.runs,
        over: &args.over,
        signals: &args.signal,
        lid_open: args.lid == Some(LidArg::Open),
    };
    let plan = plan(&Disk, &ask)?;
    let mut earlier = None;
    if let Some(dir) = &args.out {
        earlier = plan.earlier(&Disk, &dir.join(FILES[0]).display().to_string(), share)?;
        probe(dir, &FILES)?;
    }
    cautions(&plan.cautions());
    let began = Instant::now();
    let teller = Teller::new();
    let watch = Watch { told: &tell_progress, stop: &teller.stop };
    let found = plan.run(share, earlier, &watch)?;
    terminal::progress("");
    terminal::tell(&say!(
        "sweep-spent",
        runs = found.fresh,
        wall = number(began.elapsed().as_secs_f64(), 1),
        threads = rayon::current_num_threads(),
    ));
    tell(args, &found)
}

/// Writes and prints what was found; returns the exit code.
fn tell(args: &SweepArgs, found: &Sweep) -> Result<u8, Error> {
    // the result is printed even if it cannot be written
    let written = args.out.as_ref().map_or(Ok(()), |dir| write_all(dir, &found.files()));
    if args.json {
        print_data(&found.json())?;
    } else {
        print(&found.table())?;
    }
    written?;
    if found.stopped {
        return Err(Error::Stopped);
    }
    Ok(0)
}

/// Shows progress, if the error stream is a terminal.
fn tell_progress(done: usize, all: usize) {
    let line = if done < all { say!("sweep-progress", done = done, all = all) } else { String::new() };
    terminal::progress(&line);
}
