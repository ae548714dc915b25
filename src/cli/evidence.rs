//! `evidence`: each external reference value beside the program's own.

use super::files::{Disk, print, print_data, probe, room_for, write_all, write_one};
use crate::app::evidence::{measure, record, wanted};
use crate::app::{Error, terminal};
use crate::words::say;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `evidence`.
#[derive(Args)]
pub(super) struct EvidenceArgs {
    #[arg(long)]
    out: Option<PathBuf>,
    #[arg(long)]
    car: Option<String>,
    #[arg(long, value_name = "SYSTEM")]
    only: Option<String>,
    #[arg(long, default_value_t = 3)]
    seeds: u64,
    #[arg(long, value_name = "FILE")]
    against: Option<String>,
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    #[arg(long)]
    json: bool,
}

/// Measures, prints the misses, writes page and record, and reports what got worse since an earlier record.
pub(super) fn evidence(args: &EvidenceArgs) -> Result<u8, Error> {
    let wanted = wanted(args.car.as_deref(), args.only.as_deref(), args.seeds)?;
    let earlier = args.against.as_deref().map(|file| record(&Disk, file)).transpose()?;
    if let Some(dir) = &args.out {
        probe(dir, &["evidence.html", "evidence.json"])?;
    }
    if let Some(file) = &args.record {
        room_for(file)?;
    }
    let told =
        |done: usize, all: usize| terminal::progress(&say!("evidence-progress", done = done, all = all));
    let found = measure(wanted, &told);
    terminal::progress("");
    if let Some(dir) = &args.out {
        write_all(dir, &[("evidence.html", found.html()), ("evidence.json", found.json())])?;
    }
    if let Some(file) = &args.record {
        write_one(file, found.json())?;
    }
    if args.json {
        print_data(&found.json())?;
    } else {
        print(&found.text())?;
    }
    let Some(earlier) = earlier else { return Ok(0) };
    let (says, good) = found.since(&earlier);
    terminal::tell(says.trim_end());
    Ok(u8::from(!good))
}
