//! The command line: arguments, files read and written, exit codes.
//!
//! *Inside*: arguments and their help, the disk ([`files`]), progress ([`tell`]), which language is spoken ([`lang`]), one
//! file for each group of commands. *Outside*: what a command does ([`crate::app`]), every sentence
//! ([`crate::words`]).
//!
//! Exit codes: 0 expectations hold, 1 they don't, 2 bad input, 3 no display for the window, 4 file trouble, 5 a
//! logbook that was altered or written by another version, 130 stopped.

mod check;
mod files;
mod help;
mod lang;
mod listing;
#[cfg(feature = "window")]
mod open;
mod replay;
mod run;
mod seal;
mod survey;
mod tell;
mod twin;
mod verify;

use crate::app::Error;
use clap::{FromArgMatches, Parser, Subcommand};
use std::path::PathBuf;

#[derive(Parser)]
#[command(name = "idlewright", version)]
struct Cli {
    #[arg(long, global = true, value_name = "LANG")]
    #[expect(
        dead_code,
        reason = "it is looked for before all other arguments: their help is in that language"
    )]
    lang: Option<String>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    #[cfg(feature = "window")]
    Window(open::WindowArgs),
    Run(run::RunArgs),
    Replay(replay::ReplayArgs),
    Twin(twin::TwinArgs),
    Verify(verify::VerifyArgs),
    Seal(seal::SealArgs),
    New {
        file: PathBuf,
    },
    Check(check::CheckArgs),
    Scenarios,
    Words {
        word: Option<String>,
    },
    Calibrate(survey::CalibrateArgs),
    Curves(survey::CurvesArgs),
    Speed(survey::SpeedArgs),
}

/// Runs the program on its arguments; gives the exit code.
pub fn run(args: impl IntoIterator<Item = std::ffi::OsString>) -> u8 {
    let args: Vec<_> = args.into_iter().collect();
    let done = lang::choose(&args).and_then(|()| {
        match help::command::<Cli>().try_get_matches_from(&args).and_then(|m| Cli::from_arg_matches(&m)) {
            Ok(cli) => act(cli.command),
            // help and version are no errors; a full pipe is nobody's either
            Err(e) => Ok(help::tell(&e)),
        }
    });
    done.unwrap_or_else(|e| {
        eprintln!("{e}");
        exit_code(&e)
    })
}

/// The exit code of what ended a command early.
fn exit_code(e: &Error) -> u8 {
    match e {
        Error::Input(_) => 2,
        Error::File(_) => 4,
        Error::Stopped => 130,
    }
}

fn act(command: Option<Command>) -> Result<u8, Error> {
    match command {
        #[cfg(feature = "window")]
        None => open::window(&open::WindowArgs::default()),
        #[cfg(feature = "window")]
        Some(Command::Window(args)) => open::window(&args),
        #[cfg(not(feature = "window"))]
        None => {
            eprintln!("{}\n", crate::words::say("window-not-built"));
            run::run(&run::RunArgs::of(crate::app::listing::first()))
        }
        Some(Command::Run(args)) => run::run(&args),
        Some(Command::Replay(args)) => replay::replay(&args),
        Some(Command::Twin(args)) => twin::twin(&args),
        Some(Command::Verify(args)) => verify::verify(&args),
        Some(Command::Seal(args)) => seal::seal(&args),
        Some(Command::New { file }) => listing::new(&file),
        Some(Command::Check(args)) => check::check(&args),
        Some(Command::Scenarios) => listing::scenarios(),
        Some(Command::Words { word }) => listing::words(word.as_deref()),
        Some(Command::Calibrate(args)) => survey::calibrate(&args),
        Some(Command::Curves(args)) => survey::curves(&args),
        Some(Command::Speed(args)) => survey::speed(&args),
    }
}
