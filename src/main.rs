//! The program without a window: arguments to the command line's room, result to the exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(idlewright::cli::run(std::env::args_os()))
}
