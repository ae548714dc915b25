//! Languages: one by its tag, or one read from a user's message files.
//!
//! *Outside*: messages, and what is shown where one is missing ([`crate::words`]); which language is requested (the
//! front).

use super::Error;
use crate::store::{self, NoMessages};
use crate::words::{self, Words, say};
use std::path::Path;
use std::sync::Arc;

/// The requested language: `en`, `en-x-pseudo`, a file of messages (`de.ftl`), or a folder of them.
pub fn language(asked: &str) -> Result<Arc<Words>, Error> {
    match asked {
        "en" => Ok(Words::english()),
        "en-x-pseudo" => Ok(Words::pseudo()),
        _ => of_files(Path::new(asked)),
    }
}

/// A language from one file of messages, or from all *.ftl of a folder; the file's or folder's name is its tag.
pub fn of_files(path: &Path) -> Result<Arc<Words>, Error> {
    let named = path.display().to_string();
    let tag = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let unread = |file: &Path, why: String| {
        Error::File(say!("lang-cannot-read", file = file.display().to_string(), why = why))
    };
    let texts = store::messages(path).map_err(|e| match e {
        NoMessages::NotThere => Error::rule(say!("lang-unknown", asked = named.as_str())),
        NoMessages::Empty => unread(path, say("lang-empty-folder")),
        NoMessages::TooLarge(file) => unread(&file, say("lang-too-large")),
        NoMessages::Unread(file, why) => unread(&file, why),
    })?;
    let files: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    Words::of(&tag, &files).map(Arc::new).map_err(|e| match e {
        words::Error::Tag(tag) => Error::of(&named, say!("lang-no-tag", tag = tag)),
        words::Error::Syntax(file, line, why) => {
            Error::of(&format!("{file}:{line}"), say!("lang-syntax", why = why))
        }
        words::Error::Twice(file, line, id) => {
            Error::of(&format!("{file}:{line}"), say!("lang-twice", id = id))
        }
    })
}
