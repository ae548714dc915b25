//! The program behind an icon: it opens the window where no terminal shows the program's messages.
//!
//! *Inside*: starting the program that lies beside this one; if no window opened, showing the program's messages in
//! the system's text viewer. *Outside*: the window and every sentence (the program `idlewright`).
//!
//! On Windows this program has no console and starts the other one without a console, so that a double click shows
//! the window alone. On macOS the bundle starts `idlewright` itself: a program between the two would appear in the
//! Dock.
#![cfg_attr(windows, windows_subsystem = "windows")]
#![expect(clippy::disallowed_methods, reason = "what was said is put into a file that a viewer can open")]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

/// A process without a console (`CREATE_NO_WINDOW` of the Windows interface).
#[cfg(windows)]
const NO_CONSOLE: u32 = 0x0800_0000;

fn main() -> ExitCode {
    let program = std::env::current_exe().unwrap_or_default();
    let program = program.with_file_name(format!("idlewright{}", std::env::consts::EXE_SUFFIX));
    let mut start = Command::new(&program);
    start.arg("window").args(std::env::args_os().skip(1));
    start.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
    #[cfg(windows)]
    std::os::windows::process::CommandExt::creation_flags(&mut start, NO_CONSOLE);
    let (said, code) = match start.output() {
        Ok(ended) if ended.status.success() => return ExitCode::SUCCESS,
        Ok(ended) => {
            (ended.stderr, ended.status.code().and_then(|c| u8::try_from(c).ok()).unwrap_or(u8::MAX))
        }
        Err(e) => (format!("{}: {e}\n", program.display()).into_bytes(), 4),
    };
    // somebody who did start it in a terminal reads the messages there
    let _ = std::io::stderr().write_all(&said);
    if let Some(file) = written(&said) {
        let _ = viewer(&file).stdin(Stdio::null()).status();
    }
    ExitCode::from(code)
}

/// Writes the messages to a new file of their own; none if there are no messages, or if the file cannot be written.
fn written(said: &[u8]) -> Option<PathBuf> {
    if said.trim_ascii().is_empty() {
        return None;
    }
    let path = std::env::temp_dir().join(format!("idlewright-window-{}.txt", std::process::id()));
    let mut file = std::fs::OpenOptions::new().write(true).create_new(true).open(&path).ok()?;
    file.write_all(said).ok().map(|()| path)
}

/// The command that shows a text file on this system.
fn viewer(file: &Path) -> Command {
    let name = if cfg!(windows) { "notepad" } else { "xdg-open" };
    let mut show = Command::new(name);
    show.arg(file);
    show
}
