//! `idlewright serve` and `idlewright identifiers`: arguments, lines of hands, results. *Outside*: serving (the room `net`).

#[cfg(feature = "net")]
use super::files::{Disk, probe, write_all};
use super::files::{print, print_data};
use super::run::VariantArgs;
#[cfg(feature = "net")]
use super::tell::{Teller, cautions};
use crate::app::Error;
#[cfg(feature = "net")]
use crate::app::{Options, load, results, terminal};
use crate::net::catalogue;
#[cfg(feature = "net")]
use crate::net::serve::{self, Serves};
#[cfg(feature = "net")]
use crate::words::numbers::number;
use crate::words::say;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Args)]
pub(super) struct ServeArgs {
    scenario: String,
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<String>,
    #[arg(long)]
    lan: bool,
    #[arg(long, value_name = "X", default_value = "1")]
    pace: f64,
    #[arg(long, value_name = "FILE")]
    actions: Option<String>,
    #[command(flatten)]
    variant: VariantArgs,
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[arg(long)]
    no_cache: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FormatArg {
    Markdown,
    Json,
}

#[derive(Args)]
pub(super) struct IdentifiersArgs {
    #[arg(long, value_enum, default_value = "markdown", hide_possible_values = true)]
    format: FormatArg,
}

/// Prints the table of identifiers.
pub(super) fn identifiers(args: &IdentifiersArgs) -> Result<u8, Error> {
    match args.format {
        FormatArg::Markdown => print(&catalogue::markdown())?,
        FormatArg::Json => print_data(&format!("{:#}\n", catalogue::json()))?,
    }
    Ok(0)
}

/// Reports that this build cannot serve on a network.
#[cfg(not(feature = "net"))]
pub(super) fn serve(args: &ServeArgs) -> Result<u8, Error> {
    let ServeArgs { scenario: _, listen: _, lan: _, pace: _, actions: _, variant: _, out: _, no_cache: _ } =
        args;
    Err(Error::rule(say("net-not-built")))
}

/// Serves a scenario until Ctrl-C; returns the exit code.
#[cfg(feature = "net")]
pub(super) fn serve(args: &ServeArgs) -> Result<u8, Error> {
    let pace = serve::pace(args.pace)?;
    let at = serve::listens(args.listen.as_deref(), args.lan)?;
    let loaded = load::scenario(&Disk, &args.scenario, &args.variant.who.trainee())?;
    let hands = args.actions.as_ref().map(|a| load::hands(&Disk, a, &loaded)).transpose()?;
    if let Some(dir) = &args.out {
        probe(dir, &results::FILES)?;
    }
    let bound = serve::bind(at)?;
    cautions(&results::job_cautions_text(&loaded.scenario));
    let options = Options { seed: args.variant.seed, use_cache: !args.no_cache, ..Options::default() };
    let teller = Teller::new();
    let (text, actions) = (loaded.text.clone(), hands.as_ref().map(|h| h.text.clone()));
    let served =
        serve::serve(Serves { loaded, hands, options, pace, bound }, &teller.stop, &lines(), &mut |text| {
            terminal::tell(text)
        })?;
    let results = results::Results { run: &served.run, scenario: &text, actions: actions.as_deref() };
    let written = args.out.as_ref().map_or(Ok(()), |dir| write_all(dir, &results.all()));
    print(&results.table())?;
    if let Some(reached) = served.pace {
        let requests = i64::try_from(served.requests).unwrap_or(i64::MAX);
        terminal::tell(&say!("net-served", requests = requests, pace = number(reached, 3)));
    }
    written.map(|()| 0)
}

/// Lines from standard input, as they arrive.
#[cfg(feature = "net")]
fn lines() -> std::sync::mpsc::Receiver<String> {
    let (give, get) = std::sync::mpsc::sync_channel(16);
    // the thread ends with the program: nothing else can wake one that waits for a line
    let read = move || {
        for line in std::io::stdin().lines() {
            let Ok(line) = line else { return };
            if give.send(line).is_err() {
                return;
            }
        }
    };
    let _ = std::thread::Builder::new().name("hands".into()).spawn(read);
    get
}
