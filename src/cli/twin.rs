//! `idlewright twin`: one session forked at an act, with both futures reported side by side.

use super::files::{Disk, print, print_data, probe, room_for, write_all, write_one};
use super::run::{LidArg, VariantArgs};
use super::tell::{Teller, cache_trouble, cautions};
use crate::app::attempt::{Request, prepare};
use crate::app::{Error, Options};
use clap::Args;
use std::path::PathBuf;

/// Name of the file that a twin writes.
const PAGE: &str = "twin.html";

/// Arguments of `twin`.
#[derive(Args)]
pub(super) struct TwinArgs {
    file: String,
    #[arg(long, value_name = "ACT")]
    without: String,
    #[arg(long, value_name = "ACT")]
    also: Vec<String>,
    #[arg(long, value_name = "FILE")]
    actions: Option<String>,
    #[command(flatten)]
    variant: VariantArgs,
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[arg(long, value_name = "FILE", requires = "trace")]
    picture: Option<PathBuf>,
    #[arg(long, value_name = "COLUMN", requires = "picture")]
    trace: Vec<String>,
    #[arg(long)]
    json: bool,
    #[arg(long)]
    no_cache: bool,
    #[arg(long, value_enum, hide_possible_values = true)]
    lid: Option<LidArg>,
}

/// Runs the command; returns the exit code.
pub(super) fn twin(args: &TwinArgs) -> Result<u8, Error> {
    let request = Request {
        scenario: &args.file,
        trainee: args.variant.who.trainee(),
        actions: args.actions.as_deref(),
        options: Options {
            seed: args.variant.seed,
            lid_open: args.lid == Some(LidArg::Open),
            use_cache: !args.no_cache,
            ..Options::default()
        },
        ..Request::default()
    };
    let attempt = prepare(&Disk, &request)?;
    let named: Vec<&str> = std::iter::once(&args.without).chain(&args.also).map(String::as_str).collect();
    let left_out = attempt.acts(&named)?;
    attempt.may_draw(&args.trace)?;
    if let Some(file) = &args.picture {
        room_for(file)?;
    }
    if let Some(dir) = &args.out {
        probe(dir, &[PAGE])?;
    }
    cautions(&attempt.cautions());
    let mut teller = Teller::new();
    let twin = attempt.twin(&left_out, &mut |p| teller.hear(p));
    teller.end();
    let twin = twin?;
    cache_trouble(&twin.cache_trouble);
    if let Some(file) = &args.picture {
        write_one(file, twin.picture(&args.trace)?)?;
    }
    let written = args.out.as_ref().map_or(Ok(()), |dir| write_all(dir, &[(PAGE, twin.page())]));
    if args.json {
        print_data(&format!("{}\n", twin.json()))?;
    } else {
        print(&twin.table())?;
    }
    written?;
    Ok(0)
}
