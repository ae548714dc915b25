//! The program: passes the arguments and the function that opens the window to the command line's room, and returns
//! the result as the exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    let args = std::env::args_os();
    #[cfg(feature = "window")]
    let code = idlewright::cli::run_with(args, idlewright_window::open);
    #[cfg(not(feature = "window"))]
    let code = idlewright::cli::run(args);
    ExitCode::from(code)
}
