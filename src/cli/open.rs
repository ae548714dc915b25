//! Opening the window: which scenario, what it may read and write, what is said where there is no display.

use super::{RESULTS, Trouble, attempt_of, debrief_json, load_scenario, who, with_sheet, write_all};
use crate::report;
use crate::session::{self, Options, Run};
use crate::store;
use crate::window::panels::{Middle, Save, charts};
use crate::window::{Attempt, Desk, Open, Picture, Start};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// The scenario that is open when nothing else is asked for: a healthy car.
const FIRST: usize = 0;
/// Exit code where no window can be.
const NO_DISPLAY: u8 = 3;

#[derive(Args, Default)]
pub(super) struct WindowArgs {
    /// Scenario file, or the name of a shipped one (A0, A1-idles-high ...)
    scenario: Option<String>,
    /// Another seed: other parts of the same kinds
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    #[command(flatten)]
    who: who::WhoArgs,
    /// Drive the car's earlier life anew; neither read nor keep a conditioned car
    #[arg(long)]
    no_cache: bool,
    /// Take a picture of the window and end
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// With --picture: so many simulated seconds after hand-over
    #[arg(long, value_name = "SECONDS", requires = "picture")]
    after: Option<f64>,
    /// With --picture: with the lid off
    #[arg(long, requires = "picture")]
    open_lid: bool,
    /// With --picture: what takes the middle
    #[arg(long, value_enum, requires = "picture")]
    show: Option<ShowArg>,
    /// With --picture: in the night bay
    #[arg(long, requires = "picture")]
    night: bool,
    /// Keep writing into a file what stands on the screen: words, places, the focus, time; for scripts
    #[arg(long, value_name = "FILE")]
    screen: Option<PathBuf>,
    /// Draw so many frames of the idling car as fast as they go, say how fast that was, and end
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
pub(super) fn window(args: &WindowArgs, open: Option<Open>) -> Result<u8, Trouble> {
    let name = args.scenario.as_deref().unwrap_or(store::SCENARIOS[FIRST].file);
    let after_s = args.after.unwrap_or(0.0);
    if !(0.0..=86_400.0).contains(&after_s) {
        return Err(Trouble::Input(format!("--after must be from 0 to 86400 ({after_s} given)")));
    }
    if let Some(file) = &args.picture
        && file.extension().is_none_or(|e| !e.eq_ignore_ascii_case("png"))
    {
        return Err(Trouble::Input(format!("--picture must name a .png file (`{}` given)", file.display())));
    }
    for file in args.screen.iter().chain(&args.picture) {
        room_for(file)?;
    }
    let loaded = load_scenario(name, &args.who)?;
    let start = Start {
        attempt: Attempt { scenario: loaded.scenario, text: loaded.text },
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
    let headless = format!("idlewright run {name}");
    let open = open.unwrap_or(|_| Err("this program was built without one".into()));
    if let Err(why) = open(start) {
        eprintln!(
            "The window cannot be opened: {why}.\nAll of it can be done without one: `{headless}` runs this scenario, \
             `idlewright --help` tells the rest."
        );
        return Ok(NO_DISPLAY);
    }
    Ok(0)
}

/// Sees that a file can be written, before anything is opened.
fn room_for(file: &Path) -> Result<(), Trouble> {
    let dir = file.parent().filter(|d| !d.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    super::probe(dir, &[&name])
}

/// A scenario that somebody chose in the window.
fn read(name: &str) -> Result<Attempt, String> {
    match load_scenario(name, &who::WhoArgs::default()) {
        Ok(l) => Ok(Attempt { scenario: l.scenario, text: l.text }),
        Err(Trouble::Input(why) | Trouble::File(why)) => Err(why),
        Err(Trouble::Stopped) => Err("stopped".into()),
    }
}

/// What somebody wanted to keep of an attempt.
fn write(run: &Run, scenario: &str, what: Save, folder: &Path) -> Result<String, String> {
    let trainee = run.scenario.vary.who.as_ref().map(session::ticket::trainee_words);
    let files = with_sheet(run, |sheet| match what {
        Save::Trace => vec![(RESULTS[0], report::trace_csv(&run.trace, run.lid_open))],
        Save::Logbook => vec![(RESULTS[1], session::logbook::logbook_text(run, scenario, None))],
        Save::Debrief => vec![
            (RESULTS[2], report::debrief_html(sheet)),
            (RESULTS[3], format!("{:#}\n", debrief_json(run))),
            (RESULTS[4], report::gradebook_csv(&attempt_of(run, trainee.as_deref()))),
        ],
        Save::Picture => Vec::new(),
    });
    // what the attempt before left is not written over
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| charts::free(folder, name)).collect();
    let names: Vec<_> = paths.iter().map(|p| p.file_name().unwrap_or_default().to_string_lossy()).collect();
    let files: Vec<_> = names.iter().zip(files).map(|(name, (_, text))| (name.as_ref(), text)).collect();
    match write_all(folder, &files) {
        Ok(()) => {
            let all: Vec<_> = paths.iter().map(|p| p.display().to_string()).collect();
            Ok(format!("Written: {}", all.join(", ")))
        }
        Err(Trouble::Input(why) | Trouble::File(why)) => Err(why),
        Err(Trouble::Stopped) => Err("stopped".into()),
    }
}
