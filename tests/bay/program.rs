//! The program, run as somebody runs it, in folders of its own; and its logbooks, altered.
#![expect(clippy::disallowed_methods, reason = "files are written and read")]

use idlewright::bench::record;
use serde_json::Value;
use std::panic::Location;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Where the program lies.
pub fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_idlewright-headless"))
}

/// A folder that is not there yet, named after the test file that asks.
#[track_caller]
pub fn no_folder(name: &str) -> PathBuf {
    let asks = Path::new(Location::caller().file()).file_stem().expect("a file").to_string_lossy();
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{asks}-{name}"));
    let _ = std::fs::remove_dir_all(&dir);
    dir
}

/// An empty folder, named after the test file that asks.
#[track_caller]
pub fn folder(name: &str) -> PathBuf {
    let dir = no_folder(name);
    std::fs::create_dir_all(&dir).expect("a folder");
    dir
}

/// The program in a folder, with a cache that tests share and nobody else sees.
pub fn command(dir: &Path, args: &[&str]) -> Command {
    let mut c = Command::new(program());
    c.current_dir(dir).args(args).env("IDLEWRIGHT_CACHE", concat!(env!("CARGO_TARGET_TMPDIR"), "/cache"));
    c
}

/// Runs the program in a folder.
pub fn go(dir: &Path, args: &[&str]) -> Output {
    command(dir, args).output().expect("the program runs")
}

/// What it printed.
pub fn out(o: &Output) -> String {
    String::from_utf8(o.stdout.clone()).expect("UTF-8 output")
}

/// What it said of errors and progress.
pub fn err(o: &Output) -> String {
    String::from_utf8(o.stderr.clone()).expect("UTF-8 errors")
}

/// Fails unless it ended with this code; gives what it printed.
#[track_caller]
pub fn ends(o: &Output, code: i32) -> String {
    assert_eq!(o.status.code(), Some(code), "\nstdout:\n{}\nstderr:\n{}", out(o), err(o));
    out(o)
}

/// The one JSON object that it printed.
#[track_caller]
pub fn json(o: &Output) -> Value {
    let text = out(o);
    assert_eq!(text.lines().count(), 1, "one object on one line:\n{text}");
    serde_json::from_str(&text).expect("a JSON object")
}

/// Writes a file into a folder.
#[track_caller]
pub fn write(dir: &Path, name: &str, text: &str) {
    std::fs::write(dir.join(name), text).expect("writing a file");
}

/// A file of a folder.
#[track_caller]
pub fn text(dir: &Path, name: &str) -> String {
    std::fs::read_to_string(dir.join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// A text with one passage replaced, which must be there.
#[track_caller]
pub fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "no {from}");
    text.replacen(from, to, 1)
}

/// A logbook with the sum in its last line made right, as somebody would who knows how.
pub fn with_sum(book: &str) -> String {
    let lines: Vec<&str> = book.lines().collect();
    let (last, before) = lines.split_last().expect("lines");
    let mut end: Value = serde_json::from_str(last).expect("an end");
    end["end"].as_object_mut().expect("an object").remove("sum");
    let sum = record::hash_of_text(&format!("{}\n{}", before.join("\n"), end["end"]));
    end["end"]["sum"] = Value::from(sum);
    before.join("\n") + "\n" + &end.to_string() + "\n"
}
