//! Selects the language: `--lang`, else the variable `IDLEWRIGHT_LANG`, else English.

use crate::app::Error;
use crate::app::language::language;
use crate::words::speak_by_default;
use std::ffi::OsString;

/// The variable that selects a language if no argument does.
const VARIABLE: &str = "IDLEWRIGHT_LANG";

/// Selects the requested language before anything is printed, because the arguments' own help is translated too.
pub(super) fn choose(args: &[OsString]) -> Result<(), Error> {
    let asked = named(args).or_else(|| std::env::var(VARIABLE).ok()).filter(|l| !l.is_empty());
    if let Some(asked) = asked {
        speak_by_default(&language(&asked)?);
    }
    Ok(())
}

/// The value of `--lang`, in either notation.
fn named(args: &[OsString]) -> Option<String> {
    let mut args = args.iter().filter_map(|a| a.to_str()).take_while(|a| *a != "--");
    while let Some(arg) = args.next() {
        match arg.strip_prefix("--lang") {
            Some("") => return args.next().map(str::to_owned),
            Some(rest) if rest.starts_with('=') => return Some(rest[1..].to_owned()),
            _ => {}
        }
    }
    None
}
