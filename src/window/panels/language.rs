//! The languages in which the program can show its text: English, and those whose files are in the folder `languages`
//! beside the settings.
//!
//! *Inside*: finding the languages (`languages/de.ftl`, or all files of `languages/de/`), selecting one. *Outside*:
//! reading one ([`crate::app::language`]), messages ([`crate::words`]).

use super::settings::{Settings, Tag};
use crate::app::language::of_files;
use crate::words::{Words, is_chosen, say, speak_by_default};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Most languages that are offered.
const MOST: usize = 40;
/// The environment variable that offers the pseudo-language in a release build too.
const PSEUDO: &str = "IDLEWRIGHT_PSEUDO";

/// A language that is offered.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its tag; none for English.
    pub tag: Option<Tag>,
    /// Its messages, or a sentence that says why its files cannot be read.
    pub words: Result<Arc<Words>, String>,
}

impl Offer {
    /// The language's own name for itself; its tag if it gives none.
    pub fn name(&self) -> String {
        match (&self.words, self.tag) {
            (Ok(words), _) if words.has("language-name") => words.say("language-name", &[]),
            (_, Some(tag)) => tag.to_string(),
            (..) => Words::english().tag().to_owned(),
        }
    }
}

/// All languages offered, English first.
pub fn offers() -> Vec<Offer> {
    offers_in(folder().as_deref())
}

/// The same, with the languages of a folder.
pub fn offers_in(folder: Option<&Path>) -> Vec<Offer> {
    let mut out = vec![Offer { tag: None, words: Ok(Words::english()) }];
    let pseudo = Words::pseudo();
    if cfg!(debug_assertions) || std::env::var_os(PSEUDO).is_some() {
        out.push(Offer { tag: Tag::new(pseudo.tag()), words: Ok(pseudo) });
    }
    let Some(folder) = folder else { return out };
    let mut tags: Vec<Tag> =
        entries(folder).iter().filter_map(|p| Tag::new(p.file_stem()?.to_str()?)).collect();
    tags.sort_by_key(ToString::to_string);
    tags.dedup();
    tags.retain(|tag| out.iter().all(|o| o.tag != Some(*tag)) && tag.to_string() != Words::english().tag());
    out.extend(tags.into_iter().take(MOST).map(|tag| Offer { tag: Some(tag), words: read(folder, tag) }));
    out
}

/// Switches to a language; falls back to English if its files are gone or cannot be read, and returns a sentence that
/// says so.
pub fn speak(tag: Option<Tag>) -> Result<(), String> {
    let found = match tag {
        None => Ok(Words::english()),
        Some(tag) if tag.to_string() == Words::pseudo().tag() => Ok(Words::pseudo()),
        Some(tag) => folder().ok_or_else(|| say("settings-no-folder")).and_then(|folder| read(&folder, tag)),
    };
    speak_by_default(found.as_ref().unwrap_or(&Words::english()));
    found.map(|_| ())
}

/// Switches to the language in the settings, unless the command line has chosen another one for this run.
pub fn speak_as_kept(settings: &Settings) -> Result<(), String> {
    if is_chosen() || settings.language.is_none() { Ok(()) } else { speak(settings.language) }
}

/// Folder in which files of other languages are looked for.
pub fn folder() -> Option<PathBuf> {
    Some(Settings::path()?.parent()?.join("languages"))
}

/// The entries of a folder that may hold messages, by name.
#[expect(clippy::disallowed_methods, reason = "the window reads languages beside its settings")]
fn entries(folder: &Path) -> Vec<PathBuf> {
    let all = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path());
    let mut all: Vec<PathBuf> =
        all.filter(|p| p.is_dir() || p.extension().is_some_and(|e| e == "ftl")).collect();
    all.sort();
    all
}

/// One of a folder's languages: `de.ftl`, or all files of `de/`.
fn read(folder: &Path, tag: Tag) -> Result<Arc<Words>, String> {
    let one = folder.join(format!("{tag}.ftl"));
    let path = if one.is_file() { one } else { folder.join(tag.to_string()) };
    of_files(&path)
        .map_err(|why| say!("settings-language-unread", tag = tag.to_string(), why = why.to_string()))
}
