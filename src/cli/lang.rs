//! Which language is spoken: `--lang`, else the variable `IDLEWRIGHT_LANG`, else English.

use crate::app::Error;
use crate::app::language::language;
use crate::words::speak_by_default;
use std::ffi::OsString;

/// The variable that names a language where no argument does.
const VARIABLE: &str = "IDLEWRIGHT_LANG";

/// Speaks the language that is asked for, before anything is said: the arguments' own help is in it too.
pub(super) fn choose(args: &[OsString]) -> Result<(), Error> {
    let asked = named(args).or_else(|| std::env::var(VARIABLE).ok()).filter(|l| !l.is_empty());
    if let Some(asked) = asked {
        speak_by_default(&language(&asked)?);
    }
    Ok(())
}

/// What stands behind `--lang`, however it is written.
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
