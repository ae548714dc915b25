//! Which language is spoken: `--lang`, else the variable `IDLEWRIGHT_LANG`, else English.

use crate::app::Error;
use crate::words::{self, Words, say, speak_by_default};
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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

/// A language by its tag, or from a file of messages or a folder of such files.
fn language(asked: &str) -> Result<Arc<Words>, Error> {
    match asked {
        "en" => return Ok(Words::english()),
        "en-x-pseudo" => return Ok(Words::pseudo()),
        _ => {}
    }
    let path = Path::new(asked);
    let tag = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let texts = texts(path)?;
    let files: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    match Words::of(&tag, &files) {
        Ok(words) => Ok(Arc::new(words)),
        Err(words::Error::Tag(tag)) => Err(Error::of(asked, say!("lang-no-tag", tag = tag))),
        Err(words::Error::Syntax(file, line, why)) => {
            Err(Error::of(&format!("{file}:{line}"), say!("lang-syntax", why = why)))
        }
        Err(words::Error::Twice(file, line, id)) => {
            Err(Error::of(&format!("{file}:{line}"), say!("lang-twice", id = id)))
        }
    }
}

/// The files of a language with their texts, by name.
#[expect(clippy::disallowed_methods, reason = "the command line reads the language that a person names")]
fn texts(path: &Path) -> Result<Vec<(String, String)>, Error> {
    let fail = |p: &Path, why: String| {
        Error::File(say!("lang-cannot-read", file = p.display().to_string(), why = why))
    };
    let mut files: Vec<PathBuf> = vec![path.into()];
    if path.is_dir() {
        let entries = std::fs::read_dir(path).map_err(|e| fail(path, e.to_string()))?;
        files = entries.filter_map(|e| Some(e.ok()?.path())).collect();
        files.retain(|p| p.extension().is_some_and(|e| e == "ftl"));
        files.sort();
        if files.is_empty() {
            return Err(fail(path, say("lang-empty-folder")));
        }
    } else if !path.is_file() {
        return Err(Error::rule(say!("lang-unknown", asked = path.display().to_string())));
    }
    let text = |p: &PathBuf| {
        let text = std::fs::read_to_string(p).map_err(|e| fail(p, e.to_string()))?;
        Ok((p.display().to_string(), text))
    };
    files.iter().map(text).collect()
}
