//! `idlewright twin`: one session forked at an act, both futures told beside each other.

use crate::cli::who::WhoArgs;
use crate::cli::{
    LidArg, Teller, Trouble, admit, begin, load_actions, load_scenario, probe, say, with_sheet, write_all,
};
use crate::report;
use crate::report::Pair;
use crate::session;
use crate::session::Options;
use crate::session::twin::{Named, Twin, named};
use clap::Args;
use serde_json::json;
use std::path::PathBuf;

/// Name of the file that a twin writes.
const PAGE: &str = "twin.html";

/// Arguments of `twin`.
#[derive(Args)]
pub(super) struct TwinArgs {
    /// Scenario file, or the name of a shipped one (A0, A1-idles-high ...)
    file: String,
    /// Id of the act that one of the two leaves out; scenario:ID or actions:ID where both files have it
    #[arg(long, value_name = "ACT")]
    without: String,
    /// Another act to leave out with it
    #[arg(long, value_name = "ACT")]
    also: Vec<String>,
    /// What a trainee does after hand-over: an action file, or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    actions: Option<String>,
    /// Another seed: other parts of the same kinds
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    #[command(flatten)]
    who: WhoArgs,
    /// Folder for twin.html
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// SVG file for a picture of both on the traces that --trace names
    #[arg(long, value_name = "FILE", requires = "trace")]
    picture: Option<PathBuf>,
    /// A trace for the picture, as trace.csv calls it; may be given again
    #[arg(long, value_name = "COLUMN", requires = "picture")]
    trace: Vec<String>,
    /// Print one JSON object instead of the table
    #[arg(long)]
    json: bool,
    /// Drive the car's earlier life anew, without the kept one
    #[arg(long)]
    no_cache: bool,
    /// Lift the lid: show truth beside belief
    #[arg(long, value_enum)]
    lid: Option<LidArg>,
}

/// Runs the command; gives the exit code.
pub(super) fn twin(args: &TwinArgs) -> Result<u8, Trouble> {
    let loaded = load_scenario(&args.file, &args.who)?;
    let actions = args.actions.as_deref().map(|a| load_actions(a, &loaded)).transpose()?;
    let hands = actions.as_ref().map(|a| &a.0);
    let options = Options {
        seed: args.seed,
        step_deg: None,
        lid_open: args.lid == Some(LidArg::Open),
        use_cache: !args.no_cache,
        ..Options::default()
    };
    admit(&args.file, args.actions.as_deref(), &loaded, actions.as_ref(), &options)?;
    let lid_open = session::admit(&loaded.scenario, hands, &options).unwrap_or(false);
    let mut left_out: Vec<Named> = Vec::new();
    for word in std::iter::once(&args.without).chain(&args.also) {
        let act = named(word, &loaded.scenario, hands, lid_open)
            .map_err(|why| Trouble::Input(format!("{}: {why}", args.file)))?;
        if !left_out.contains(&act) {
            left_out.push(act);
        }
    }
    if let Some(dir) = &args.out {
        probe(dir, &[PAGE])?;
    }
    let mut teller = Teller::new();
    let session = begin(&args.file, &loaded, hands, &options, &mut teller)?;
    let twin = session.twin(&left_out, &mut |p| teller.hear(p));
    teller.end();
    let Some(twin) = twin else { return Err(Trouble::Stopped) };
    let ids: Vec<String> = twin.left_out.iter().map(|a| a.id.clone()).collect();
    with_sheet(&twin.done, |done| {
        with_sheet(&twin.without, |without| {
            let pair = Pair { done, without, left_out: &ids, forked_s: twin.forked_s };
            if let Some(file) = &args.picture {
                let svg = report::twin_svg(&pair, &args.trace).map_err(Trouble::Input)?;
                let name = file.file_name().and_then(|n| n.to_str()).unwrap_or("twin.svg");
                let folder = file.parent().filter(|p| !p.as_os_str().is_empty());
                write_all(folder.unwrap_or_else(|| std::path::Path::new(".")), &[(name, svg)])?;
            }
            let written = match &args.out {
                Some(dir) => write_all(dir, &[(PAGE, report::twin_html(&pair))]),
                None => Ok(()),
            };
            if args.json {
                say(&format!("{}\n", object(&twin, &pair)))?;
            } else {
                say(&report::twin_table(&pair))?;
            }
            written
        })
    })?;
    Ok(0)
}

fn object(twin: &Twin, pair: &Pair<'_>) -> serde_json::Value {
    json!({
        "schema": session::JSON_SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "scenario": pair.done.id,
        "seed": pair.done.seed,
        "left_out": pair.left_out,
        "forked_s": pair.forked_s,
        "same": twin.same(),
        "differences": pair.differences(),
        "done": twin.done.json(),
        "without": twin.without.json(),
    })
}
