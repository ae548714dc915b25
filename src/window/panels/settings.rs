//! Settings, stored in the platform's own folder.
//!
//! *Inside*: reading that survives a damaged file, writing that leaves either the old file or the new one. *Outside*:
//! the sheet on which settings are changed ([`super::settings_sheet`]), their effect on the look ([`super::style`]),
//! on the window's scale and on the language ([`super::language`]).

use crate::store;
use crate::words::numbers::Units;
use crate::words::say;
use directories::ProjectDirs;
use std::path::PathBuf;

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// The drawing board, light.
    #[default]
    Board,
    /// The night bay, dark.
    Night,
}

/// Longest language tag that is stored \[letters\].
const LONGEST_TAG: usize = 32;

/// The tag of a language, such as `de` or `pt-BR`.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Tag {
    letters: [u8; LONGEST_TAG],
    len: usize,
}

impl Tag {
    /// Checks a tag: letters, digits and hyphens, beginning with a letter. None if it is empty, too long or has other
    /// characters.
    pub fn new(tag: &str) -> Option<Tag> {
        let good = tag.starts_with(|c: char| c.is_ascii_alphabetic())
            && tag.bytes().all(|c| c.is_ascii_alphanumeric() || c == b'-');
        let mut letters = [0; LONGEST_TAG];
        letters.get_mut(..tag.len()).filter(|_| good)?.copy_from_slice(tag.as_bytes());
        Some(Tag { letters, len: tag.len() })
    }
}

impl std::fmt::Display for Tag {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&String::from_utf8_lossy(&self.letters[..self.len]))
    }
}

impl std::fmt::Debug for Tag {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Tag({self})")
    }
}

/// A volume in percent, in steps of ten; half of it unless another was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Volume(pub u8);

impl Default for Volume {
    fn default() -> Self {
        Self(50)
    }
}

/// What a person has chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Settings {
    /// Light or dark.
    pub theme: Theme,
    /// Everything is drawn half as large again.
    pub projector: bool,
    /// Units.
    pub units: Units,
    /// The language of the words; none for English.
    pub language: Option<Tag>,
    /// Reduced motion: only what must move does.
    pub reduced_motion: bool,
    /// The engine is heard, where the program can play sound.
    pub sound: bool,
    /// How loud.
    pub volume: Volume,
    /// The cautions at the first start were read.
    pub cautions_read: bool,
    /// The shipped scenarios that were passed.
    pub passed: Passed,
}

/// The shipped scenarios that were passed: one bit each, in shipping order; in the file they are listed by id.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Passed(u64);

impl Passed {
    fn place(id: &str) -> Option<usize> {
        store::SCENARIOS.iter().position(|s| s.id == id).filter(|k| *k < 64)
    }
    /// True when this one was passed.
    pub fn has(self, id: &str) -> bool {
        Self::place(id).is_some_and(|k| self.0 & (1 << k) != 0)
    }
    /// The same, with this one passed.
    #[must_use]
    pub fn with(self, id: &str) -> Self {
        Self(Self::place(id).map_or(self.0, |k| self.0 | (1 << k)))
    }
    fn text(self) -> String {
        let all: Vec<&str> = store::SCENARIOS.iter().map(|s| s.id).filter(|id| self.has(id)).collect();
        all.join(" ")
    }
}

/// Largest file that is read \[bytes\].
const LARGEST: u64 = 64 * 1024;

impl Settings {
    /// Magnification of everything that is drawn.
    pub fn scale(&self) -> f32 {
        if self.projector { 1.5 } else { 1.0 }
    }

    /// Reads a file's text. A damaged, unknown or missing setting keeps its default.
    pub fn parse(text: &str) -> Self {
        let mut s = Self::default();
        // line by line, so that one damaged line costs only itself
        for line in text.lines() {
            let Some((key, value)) = line.split_once('=') else { continue };
            let value = value.trim().trim_matches('"');
            let yes = value == "true";
            match key.trim() {
                "theme" => s.theme = if value == "night" { Theme::Night } else { Theme::Board },
                "units" => s.units = if value == "us" { Units::Us } else { Units::Metric },
                "language" => s.language = Tag::new(value),
                "projector" => s.projector = yes,
                "reduced_motion" => s.reduced_motion = yes,
                "sound" => s.sound = yes,
                "volume_pct" => {
                    let read = value.parse().ok().filter(|v| *v <= 100 && v % 10 == 0);
                    s.volume = read.map_or_else(Volume::default, Volume);
                }
                "cautions_read" => s.cautions_read = yes,
                "passed" => s.passed = value.split_whitespace().fold(Passed::default(), Passed::with),
                _ => {}
            }
        }
        s
    }
    /// Writes them as a file's text.
    pub fn text(&self) -> String {
        let theme = if self.theme == Theme::Night { "night" } else { "board" };
        let units = if self.units == Units::Us { "us" } else { "metric" };
        let language = self.language.map_or_else(String::new, |tag| format!("language = \"{tag}\"\n"));
        format!(
            "theme = \"{theme}\"\nunits = \"{units}\"\n{language}projector = {}\nreduced_motion = {}\nsound = {}\nvolume_pct = {}\ncautions_read = {}\npassed = \"{}\"\n",
            self.projector,
            self.reduced_motion,
            self.sound,
            self.volume.0,
            self.cautions_read,
            self.passed.text()
        )
    }

    /// Where the settings are stored: `IDLEWRIGHT_SETTINGS` names another folder than the platform's own.
    pub fn path() -> Option<PathBuf> {
        let own = std::env::var_os("IDLEWRIGHT_SETTINGS").filter(|v| !v.is_empty()).map(PathBuf::from);
        let dir =
            own.or_else(|| ProjectDirs::from("", "", "idlewright").map(|d| d.config_dir().to_path_buf()))?;
        Some(dir.join("settings.toml"))
    }
    /// Loads the stored settings; the defaults if there are none, or none that can be read.
    #[expect(clippy::disallowed_methods, reason = "the window keeps its own settings")]
    pub fn read() -> Self {
        let Some(path) = Self::path() else { return Self::default() };
        let fits = std::fs::metadata(&path).is_ok_and(|m| m.is_file() && m.len() <= LARGEST);
        let bytes = if fits { std::fs::read(&path).unwrap_or_default() } else { Vec::new() };
        Self::parse(&String::from_utf8_lossy(&bytes))
    }
    /// Stores the settings: written to a temporary file that is then renamed, so that no half-written file is left.
    #[expect(clippy::disallowed_methods, reason = "the window keeps its own settings")]
    pub fn keep(&self) -> Result<(), String> {
        let path = Self::path().ok_or_else(|| say("settings-no-folder"))?;
        let dir = path.parent().ok_or_else(|| say("settings-no-folder"))?;
        let part = dir.join(format!(".settings.{}.part", std::process::id()));
        std::fs::create_dir_all(dir)
            .and_then(|()| std::fs::write(&part, self.text()))
            .and_then(|()| std::fs::rename(&part, &path))
            .map_err(|e| {
                let _ = std::fs::remove_file(&part);
                say!("settings-not-kept", folder = dir.display().to_string(), why = e.to_string())
            })
    }
}
