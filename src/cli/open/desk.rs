//! What the window receives: an attempt to start with, and the functions that read scenarios and save files.

use super::{ShowArg, WindowArgs};
use crate::app::results::Results;
use crate::app::trainee::Trainee;
use crate::app::{Error, Options, Run, load};
use crate::cli::files::{Disk, write_all};
use crate::window::panels::settings::Settings;
use crate::window::panels::{Middle, Save, charts};
use crate::window::{Attempt, Desk, Open, Picture, Start};
use crate::words::numbers::show_in;
use crate::words::say;
use std::path::{Path, PathBuf};

/// Opens the window; the inner result holds the reason if there can be none.
pub(super) fn opened(args: &WindowArgs, name: &str, open: Option<Open>) -> Result<Result<(), String>, Error> {
    let start = Start {
        attempt: attempt(name, &args.variant.who.trainee())?,
        options: Options { seed: args.variant.seed, use_cache: !args.no_cache, ..Options::default() },
        desk: Desk { read, write },
        picture: args.picture.clone().map(|file| Picture {
            file,
            after_s: args.after.unwrap_or(0.0),
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
    Ok(open.unwrap_or(|_| Err(say("window-not-built")))(start))
}

fn attempt(name: &str, trainee: &Trainee<'_>) -> Result<Attempt, Error> {
    let loaded = load::scenario(&Disk, name, trainee)?;
    Ok(Attempt { scenario: loaded.scenario, text: loaded.text })
}

/// Reads a scenario chosen in the window.
fn read(name: &str) -> Result<Attempt, String> {
    attempt(name, &Trainee::default()).map_err(|e| e.to_string())
}

/// Saves the part of an attempt that the user chose.
fn write(run: &Run, scenario: &str, what: Save, folder: &Path) -> Result<String, String> {
    // on paper as on the gauges
    let _units = show_in(Settings::read().units);
    let results = Results { run, scenario, actions: None };
    let files = match what {
        Save::Trace => vec![results.trace()],
        Save::Logbook => vec![results.logbook()],
        Save::Debrief => results.debrief().into(),
        Save::Picture => Vec::new(),
    };
    // files saved from an earlier attempt are not overwritten
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
