//! Opening the window: which scenario, what it may read and write, what is said where there is no display.

use super::files::{Disk, room_for, write_all};
use super::run::WhoArgs;
use crate::app::results::Results;
use crate::app::trainee::Trainee;
use crate::app::{Error, Options, Run, listing, load};
use crate::window::panels::{Middle, Save, charts};
use crate::window::{Attempt, Desk, Open, Picture, Start};
use crate::words::say;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Exit code where no window can be.
const NO_DISPLAY: u8 = 3;

#[derive(Args, Default)]
pub(super) struct WindowArgs {
    scenario: Option<String>,
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    #[command(flatten)]
    who: WhoArgs,
    #[arg(long)]
    no_cache: bool,
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    #[arg(long, value_name = "SECONDS", requires = "picture")]
    after: Option<f64>,
    #[arg(long, requires = "picture")]
    open_lid: bool,
    #[arg(long, value_enum, requires = "picture", hide_possible_values = true)]
    show: Option<ShowArg>,
    #[arg(long, requires = "picture")]
    night: bool,
    #[arg(long, value_name = "FILE")]
    screen: Option<PathBuf>,
    #[arg(long, value_name = "N", conflicts_with_all = ["picture", "screen"],
        value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    frames: Option<u32>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ShowArg {
    Engine,
    Traces,
    Wheel,
    Cylinders,
}

/// Opens the window, where the program has one.
pub(super) fn window(args: &WindowArgs, open: Option<Open>) -> Result<u8, Error> {
    let name = args.scenario.as_deref().unwrap_or(listing::first());
    let after_s = args.after.unwrap_or(0.0);
    if !(0.0..=86_400.0).contains(&after_s) {
        return Err(Error::rule(say!("usage-after", given = after_s.to_string())));
    }
    if let Some(file) = &args.picture
        && file.extension().is_none_or(|e| !e.eq_ignore_ascii_case("png"))
    {
        return Err(Error::rule(say!("usage-picture-png", file = file.display().to_string())));
    }
    for file in args.screen.iter().chain(&args.picture) {
        room_for(file)?;
    }
    let start = Start {
        attempt: attempt(name, &args.who.trainee())?,
        options: Options { seed: args.seed, use_cache: !args.no_cache, ..Options::default() },
        desk: Desk { read, write },
        picture: args.picture.clone().map(|file| Picture {
            file,
            after_s,
            lid_open: args.open_lid,
            middle: match args.show {
                None | Some(ShowArg::Engine) => Middle::Engine,
                Some(ShowArg::Traces) => Middle::Readings,
                Some(ShowArg::Wheel) => Middle::Wheel,
                Some(ShowArg::Cylinders) => Middle::Strip,
            },
            night: args.night,
        }),
        screen: args.screen.clone(),
        frames: args.frames,
        size: (1600, 900),
    };
    let open = open.unwrap_or(|_| Err(say("window-not-built")));
    if let Err(why) = open(start) {
        eprintln!("{}", say!("window-cannot-open", why = why, scenario = name));
        return Ok(NO_DISPLAY);
    }
    Ok(0)
}

fn attempt(name: &str, trainee: &Trainee<'_>) -> Result<Attempt, Error> {
    let loaded = load::scenario(&Disk, name, trainee)?;
    Ok(Attempt { scenario: loaded.scenario, text: loaded.text })
}

/// A scenario that somebody chose in the window.
fn read(name: &str) -> Result<Attempt, String> {
    attempt(name, &Trainee::default()).map_err(|e| e.to_string())
}

/// What somebody wanted to keep of an attempt.
fn write(run: &Run, scenario: &str, what: Save, folder: &Path) -> Result<String, String> {
    let results = Results { run, scenario, actions: None };
    let files = match what {
        Save::Trace => vec![results.trace()],
        Save::Logbook => vec![results.logbook()],
        Save::Debrief => results.debrief().into(),
        Save::Picture => Vec::new(),
    };
    // what the attempt before left is not written over
    let files: Vec<(PathBuf, String)> =
        files.into_iter().map(|(name, text)| (charts::free(folder, name), text)).collect();
    let named: Vec<(String, String)> = files
        .iter()
        .map(|(p, text)| (p.file_name().unwrap_or_default().to_string_lossy().into_owned(), text.clone()))
        .collect();
    write_all(folder, &named).map_err(|e| e.to_string())?;
    let all: Vec<String> = files.iter().map(|(p, _)| p.display().to_string()).collect();
    Ok(say!("window-written", files = all.join(", ")))
}
