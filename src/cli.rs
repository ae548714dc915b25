//! The command line: arguments, files read and written, exit codes.
//!
//! *Inside*: arguments and their help, the disk (`files`), progress (`tell`), which language is spoken (`lang`), one
//! file for each group of commands. *Outside*: what a command does ([`crate::app`]), every sentence
//! ([`crate::words`]).
//!
//! Exit codes: 0 expectations hold, 1 they don't, 2 bad input, 3 no display for the window, 4 file trouble, 5 a
//! logbook that was altered or written by another version, 130 stopped.

mod check;
mod class;
mod evidence;
mod files;
mod help;
mod lang;
mod listing;
mod open;
mod replay;
mod run;
mod seal;
mod serve;
mod survey;
mod sweep;
mod tell;
mod twin;
mod verify;

use crate::app::{Error, terminal};
#[cfg(feature = "panels")]
use crate::window::Open;
use crate::words::say;
use clap::{FromArgMatches, Parser, Subcommand};
use std::path::PathBuf;

#[derive(Parser)]
#[command(name = "idlewright", version)]
struct Cli {
    #[arg(long, global = true, value_name = "LANG")]
    /// Looked for before all other arguments ([`lang`]): their help is in that language.
    lang: Option<String>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    Window(open::WindowArgs),
    Run(run::RunArgs),
    Replay(replay::ReplayArgs),
    Twin(twin::TwinArgs),
    Verify(verify::VerifyArgs),
    Seal(seal::SealArgs),
    New {
        file: PathBuf,
        #[arg(long, value_name = "SCENARIO")]
        from: Option<String>,
    },
    Check(check::CheckArgs),
    Class(class::ClassArgs),
    Serve(serve::ServeArgs),
    Identifiers(serve::IdentifiersArgs),
    Scenarios(listing::ScenariosArgs),
    Job(listing::JobArgs),
    Words {
        word: Vec<String>,
    },
    Calibrate(survey::CalibrateArgs),
    Curves(survey::CurvesArgs),
    Sweep(sweep::SweepArgs),
    Evidence(evidence::EvidenceArgs),
    Speed(survey::SpeedArgs),
}

/// What opens the window, where there can be one.
#[cfg(feature = "panels")]
type Opens = Option<Open>;
#[cfg(not(feature = "panels"))]
type Opens = Option<std::convert::Infallible>;

/// Runs the program without a window on its arguments; gives the exit code.
pub fn run(args: impl IntoIterator<Item = std::ffi::OsString>) -> u8 {
    run_on(args, None)
}

/// The same with a window.
#[cfg(feature = "panels")]
pub fn run_with(args: impl IntoIterator<Item = std::ffi::OsString>, open: Open) -> u8 {
    run_on(args, Some(open))
}

/// The command line with its help in the language that is spoken, for whoever writes it down.
pub fn command() -> clap::Command {
    help::command::<Cli>()
}

fn run_on(args: impl IntoIterator<Item = std::ffi::OsString>, open: Opens) -> u8 {
    let args: Vec<_> = args.into_iter().collect();
    let done = lang::choose(&args).and_then(|()| {
        match command().try_get_matches_from(&args).and_then(|m| Cli::from_arg_matches(&m)) {
            Ok(cli) => act(cli.command, open),
            // help and version are no errors; a full pipe is nobody's either
            Err(e) => Ok(help::tell(&e)),
        }
    });
    done.unwrap_or_else(|e| {
        terminal::tell(&e.to_string());
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

fn act(command: Option<Command>, open: Opens) -> Result<u8, Error> {
    match command {
        None if open.is_some() => open::window(&open::WindowArgs::default(), open),
        Some(Command::Window(args)) => open::window(&args, open),
        None => {
            // a program without a window is handed none
            debug_assert!(open.is_none());
            terminal::tell(&format!("{}\n", say("window-not-there")));
            run::run(&run::RunArgs::of(crate::app::listing::first()))
        }
        Some(Command::Run(args)) => run::run(&args),
        Some(Command::Replay(args)) => replay::replay(&args),
        Some(Command::Twin(args)) => twin::twin(&args),
        Some(Command::Verify(args)) => verify::verify(&args),
        Some(Command::Seal(args)) => seal::seal(&args),
        Some(Command::New { file, from }) => listing::new(&file, from.as_deref()),
        Some(Command::Check(args)) => check::check(&args),
        Some(Command::Class(args)) => class::class(&args),
        Some(Command::Serve(args)) => serve::serve(&args),
        Some(Command::Identifiers(args)) => serve::identifiers(&args),
        Some(Command::Scenarios(args)) => listing::scenarios(&args),
        Some(Command::Job(args)) => listing::job(&args),
        Some(Command::Words { word }) => listing::words(&word.join(" ")),
        Some(Command::Calibrate(args)) => survey::calibrate(&args),
        Some(Command::Curves(args)) => survey::curves(&args),
        Some(Command::Sweep(args)) => sweep::sweep(&args),
        Some(Command::Evidence(args)) => evidence::evidence(&args),
        Some(Command::Speed(args)) => survey::speed(&args),
    }
}
