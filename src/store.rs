//! The files that are the program's own: embedded cars and scenarios, and conditioned cars kept in the
//! user's cache folder.
//!
//! *Inside*: what ships, by name; reading a car's file that lies beside a scenario; [`Cache`]. *Outside*:
//! what the files mean (scenario and bench), and where a person writes results (command line, window).

use crate::bench::car::NoCar;
use crate::bench::setup::Setup;
use crate::bench::{self, Bench, record};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// Shipped cars: name and text.
pub const CARS: &[(&str, &str)] = &[
    ("plover", include_str!("../assets/cars/plover.toml")),
    ("whimbrel", include_str!("../assets/cars/whimbrel.toml")),
    ("dunlin", include_str!("../assets/cars/dunlin.toml")),
];

/// What work costs.
pub const PRICES: &str = include_str!("../assets/prices.toml");

/// The rubric that grading begins with.
pub const RUBRIC: &str = include_str!("../assets/rubric.toml");

/// The glossary.
pub const GLOSSARY: &str = include_str!("../assets/words/en/glossary.toml");
/// A scenario to begin one's own with: every key explained, and it runs as it stands.
pub const TEMPLATE: &str = include_str!("../assets/template.toml");

/// A shipped scenario with the action files that belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shipped {
    /// File name.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
    /// Action files: name and text.
    pub actions: &'static [(&'static str, &'static str)],
}

macro_rules! shipped {
    ($( $file:literal [ $($action:literal),* ] ),+ $(,)?) => {
        /// Shipped scenarios, easy to hard.
        pub const SCENARIOS: &[Shipped] = &[ $( Shipped {
            file: $file,
            text: include_str!(concat!("../scenarios/", $file)),
            actions: &[ $( ($action, include_str!(concat!("../scenarios/", $action))) ),* ],
        } ),+ ];
    };
}

shipped! {
    "A0-healthy.toml" [],
    "A1-idles-high.toml" ["A1-idles-high.solution.toml", "A1-idles-high.trap-1.toml", "A1-idles-high.trap-2.toml"],
    "A2-a-stop-never-learned.toml" ["A2-a-stop-never-learned.solution.toml", "A2-a-stop-never-learned.trap-1.toml", "A2-a-stop-never-learned.trap-2.toml"],
    "A3-refused-by-a-load.toml" ["A3-refused-by-a-load.solution.toml", "A3-refused-by-a-load.trap-1.toml"],
    "A3b-refused-cold.toml" ["A3b-refused-cold.solution.toml", "A3b-refused-cold.trap-1.toml"],
    "A3c-refused-by-vapour.toml" ["A3c-refused-by-vapour.solution.toml", "A3c-refused-by-vapour.trap-1.toml"],
    "A4-never-comes-to-rest.toml" ["A4-never-comes-to-rest.solution.toml", "A4-never-comes-to-rest.trap-1.toml"],
    "A5-dips-since-the-leak-was-mended.toml" ["A5-dips-since-the-leak-was-mended.solution.toml", "A5-dips-since-the-leak-was-mended.trap-1.toml", "A5-dips-since-the-leak-was-mended.trap-2.toml"],
    "A6-stalls-since-the-battery.toml" ["A6-stalls-since-the-battery.solution.toml", "A6-stalls-since-the-battery.trap-1.toml", "A6-stalls-since-the-battery.trap-2.toml"],
    "A7-at-its-limit.toml" ["A7-at-its-limit.solution.toml", "A7-at-its-limit.trap-1.toml", "A7-at-its-limit.trap-2.toml"],
    "A8-blocked-mid-learn.toml" ["A8-blocked-mid-learn.solution.toml", "A8-blocked-mid-learn.trap-1.toml", "A8-blocked-mid-learn.trap-2.toml"],
    "A9-by-the-stopwatch.toml" ["A9-by-the-stopwatch.solution.toml", "A9-by-the-stopwatch.trap-1.toml", "A9-by-the-stopwatch.trap-2.toml"],
    "A10-high-after-each-stall.toml" ["A10-high-after-each-stall.solution.toml", "A10-high-after-each-stall.trap-1.toml"],
    "B1-hesitates.toml" ["B1-hesitates.solution.toml", "B1-hesitates.trap-1.toml", "B1-hesitates.trap-2.toml"],
    "B2-rich-after-repair.toml" ["B2-rich-after-repair.solution.toml", "B2-rich-after-repair.trap-1.toml", "B2-rich-after-repair.trap-2.toml"],
    "B3-nothing-found.toml" ["B3-nothing-found.solution.toml", "B3-nothing-found.trap-1.toml", "B3-nothing-found.trap-2.toml"],
    "B4-corrections-high.toml" ["B4-corrections-high.solution.toml", "B4-corrections-high.trap-1.toml", "B4-corrections-high.trap-2.toml"],
    "B5-no-pull.toml" ["B5-no-pull.solution.toml", "B5-no-pull.trap-1.toml", "B5-no-pull.trap-2.toml"],
    "B6-smells-at-the-lights.toml" ["B6-smells-at-the-lights.solution.toml", "B6-smells-at-the-lights.trap-1.toml", "B6-smells-at-the-lights.trap-2.toml"],
    "B7-after-filling-up.toml" ["B7-after-filling-up.solution.toml", "B7-after-filling-up.trap-1.toml", "B7-after-filling-up.trap-2.toml"],
    "B8-two-banks-apart.toml" ["B8-two-banks-apart.solution.toml", "B8-two-banks-apart.trap-1.toml", "B8-two-banks-apart.trap-2.toml"],
    "C1-trims-are-fine.toml" ["C1-trims-are-fine.solution.toml", "C1-trims-are-fine.trap-1.toml", "C1-trims-are-fine.trap-2.toml"],
    "C2-two-new-ones.toml" ["C2-two-new-ones.solution.toml", "C2-two-new-ones.trap-1.toml", "C2-two-new-ones.trap-2.toml"],
    "C3-as-the-list-says.toml" ["C3-as-the-list-says.solution.toml", "C3-as-the-list-says.trap-1.toml", "C3-as-the-list-says.trap-2.toml"],
    "C4-it-stayed-when-swapped.toml" ["C4-it-stayed-when-swapped.solution.toml", "C4-it-stayed-when-swapped.trap-1.toml", "C4-it-stayed-when-swapped.trap-2.toml"],
    "C5-the-weak-one.toml" ["C5-the-weak-one.solution.toml", "C5-the-weak-one.trap-1.toml", "C5-the-weak-one.trap-2.toml"],
    "C6-three-of-them.toml" ["C6-three-of-them.solution.toml", "C6-three-of-them.trap-1.toml", "C6-three-of-them.trap-2.toml"],
    "C7-coded-and-still-rough.toml" ["C7-coded-and-still-rough.solution.toml", "C7-coded-and-still-rough.trap-1.toml", "C7-coded-and-still-rough.trap-2.toml"],
    "D1-flashes-at-high-revs.toml" ["D1-flashes-at-high-revs.solution.toml", "D1-flashes-at-high-revs.trap-1.toml"],
    "D2-nothing-was-replaced.toml" ["D2-nothing-was-replaced.solution.toml", "D2-nothing-was-replaced.trap-1.toml", "D2-nothing-was-replaced.trap-2.toml"],
    "D3-refuses-to-learn.toml" ["D3-refuses-to-learn.solution.toml", "D3-refuses-to-learn.trap-1.toml", "D3-refuses-to-learn.trap-2.toml"],
    "D4-will-not-learn.toml" ["D4-will-not-learn.solution.toml", "D4-will-not-learn.trap-1.toml", "D4-will-not-learn.trap-2.toml"],
    "D5-it-said-complete.toml" ["D5-it-said-complete.solution.toml", "D5-it-said-complete.trap-1.toml", "D5-it-said-complete.trap-2.toml"],
    "D6-rolled-and-braked.toml" ["D6-rolled-and-braked.solution.toml", "D6-rolled-and-braked.trap-1.toml", "D6-rolled-and-braked.trap-2.toml"],
    "D6b-six-times.toml" ["D6b-six-times.solution.toml", "D6b-six-times.trap-1.toml", "D6b-six-times.trap-2.toml"],
    "D7-only-that-one-code.toml" ["D7-only-that-one-code.solution.toml", "D7-only-that-one-code.trap-1.toml"],
    "D8-after-the-chain.toml" ["D8-after-the-chain.solution.toml", "D8-after-the-chain.trap-1.toml", "D8-after-the-chain.trap-2.toml"],
    "D9-misfires-that-are-none.toml" ["D9-misfires-that-are-none.solution.toml", "D9-misfires-that-are-none.trap-1.toml", "D9-misfires-that-are-none.trap-2.toml"],
    "D10-flashed-on-the-pass.toml" ["D10-flashed-on-the-pass.solution.toml", "D10-flashed-on-the-pass.trap-1.toml", "D10-flashed-on-the-pass.trap-2.toml"],
    "D11-deaf-to-one.toml" ["D11-deaf-to-one.solution.toml", "D11-deaf-to-one.trap-1.toml", "D11-deaf-to-one.trap-2.toml"],
    "G1-it-smells-of-acid.toml" ["G1-it-smells-of-acid.solution.toml", "G1-it-smells-of-acid.trap-1.toml", "G1-it-smells-of-acid.trap-2.toml"],
    "G2-entered-means-done.toml" ["G2-entered-means-done.solution.toml", "G2-entered-means-done.trap-1.toml"],
    "G3-no-longer-stops.toml" ["G3-no-longer-stops.solution.toml", "G3-no-longer-stops.trap-1.toml"],
    "G4-twelve-volts-and-flat.toml" ["G4-twelve-volts-and-flat.solution.toml", "G4-twelve-volts-and-flat.trap-1.toml", "G4-twelve-volts-and-flat.trap-2.toml"],
}

/// Largest car file, and largest file of messages, that is read \[bytes\].
const LARGEST: u64 = 1 << 20;

/// Text of a car's file: a shipped name, or a path beside the scenario.
#[expect(clippy::disallowed_methods, reason = "this room reads the files that scenarios name")]
pub fn car_text(name: &str, beside: Option<&Path>) -> Result<String, NoCar> {
    if let Some((_, text)) = CARS.iter().find(|(n, _)| *n == name) {
        return Ok((*text).into());
    }
    if !name.ends_with(".toml") {
        let keys = CARS.iter().map(|c| c.0.to_owned()).collect();
        return Err(NoCar::Unknown { car: name.into(), keys });
    }
    let Some(beside) = beside else {
        return Err(NoCar::NoFolder { car: name.into() });
    };
    let path = beside.join(name);
    let unread = |e: std::io::Error| NoCar::Unread { car: name.into(), says: e.to_string() };
    if std::fs::metadata(&path).map_err(unread)?.len() > LARGEST {
        return Err(NoCar::TooLarge { car: name.into(), most: LARGEST });
    }
    std::fs::read_to_string(&path).map_err(unread)
}

/// Why there are no messages of a language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoMessages {
    /// There is neither a file nor a folder of that name.
    NotThere,
    /// The folder holds no *.ftl.
    Empty,
    /// A file is larger than 1 MiB.
    TooLarge(PathBuf),
    /// A file or folder cannot be read, and the system's reason.
    Unread(PathBuf, String),
}

/// The messages of a language, file by file with their names: one file, or all *.ftl of a folder.
#[expect(clippy::disallowed_methods, reason = "this room reads the files of languages")]
pub fn messages(path: &Path) -> Result<Vec<(String, String)>, NoMessages> {
    let unread = |p: &Path, e: std::io::Error| NoMessages::Unread(p.into(), e.to_string());
    let mut files: Vec<PathBuf> = vec![path.into()];
    if path.is_dir() {
        let entries = std::fs::read_dir(path).map_err(|e| unread(path, e))?;
        files = entries.filter_map(|e| Some(e.ok()?.path())).collect();
        files.retain(|p| p.extension().is_some_and(|e| e == "ftl"));
        files.sort();
    } else if !path.is_file() {
        return Err(NoMessages::NotThere);
    }
    if files.is_empty() {
        return Err(NoMessages::Empty);
    }
    let text = |p: &PathBuf| {
        if std::fs::metadata(p).map_err(|e| unread(p, e))?.len() > LARGEST {
            return Err(NoMessages::TooLarge(p.clone()));
        }
        let text = std::fs::read_to_string(p).map_err(|e| unread(p, e))?;
        Ok((p.display().to_string(), text))
    };
    files.iter().map(text).collect()
}

/// A shipped scenario by file name, its stem, or its id (the part before the first dash).
pub fn shipped(name: &str) -> Option<&'static Shipped> {
    SCENARIOS.iter().find(|s| {
        let stem = s.file.trim_end_matches(".toml");
        name == s.file
            || name == stem
            || stem.split('-').next().is_some_and(|id| id.eq_ignore_ascii_case(name))
    })
}

/// A shipped action file by name or stem.
pub fn shipped_actions(name: &str) -> Option<(&'static str, &'static str)> {
    SCENARIOS
        .iter()
        .flat_map(|s| s.actions)
        .find(|(file, _)| name == *file || name == file.trim_end_matches(".toml"))
        .copied()
}

/// What this build computes, as one word: a hash over sources, data, dependencies and compiler, worked out
/// when the program is built. It is in the name of every snapshot, so a changed build reads none of another's.
const BUILD: &str = env!("IDLEWRIGHT_BUILD");

/// A hash over the sources of everything that computes, the same on every system. Builds that differ in it may give
/// different runs, though the scene of [`PHYSICS`](crate::bench::record::PHYSICS) comes out alike.
pub const SOURCES: &str = env!("IDLEWRIGHT_SOURCES");
/// First bytes of a snapshot's file.
const MAGIC: &[u8] = b"idlewright conditioned car\n";
/// How the names of snapshots end.
const ENDING: &str = ".snapshot";
/// Most snapshots that are kept; the oldest go first. Each is some 20 kB, and a class of thirty has one for each
/// trainee and scenario.
const MOST_KEPT: usize = 1024;
/// Largest file that is taken for a snapshot \[bytes\].
const LARGEST_SNAPSHOT: u64 = 1 << 28;
/// Length of a hash in a file \[characters\].
const HASH_LEN: usize = 64;

/// Conditioned cars in a folder of the user's: what a scenario's earlier life left, so that it need not be
/// driven again. Deleting any of it, at any time, costs nothing but time.
///
/// A file's name is the hash of the whole setup (car's text, seed, parts, faults, weather, conditioning), the
/// program's version and the build; inside stand that hash again, a checksum and the bench's bytes. It is
/// written beside its place and moved there when whole, so two programs at once do no harm. A file that is
/// damaged, cut short or somebody else's is passed over, and made anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cache {
    dir: Option<PathBuf>,
}

/// A conditioned car could not be kept for the next time.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct NotKept {
    /// In this folder.
    pub folder: String,
    /// The system's reason.
    pub says: String,
}

/// A conditioned bench, and where it came from.
#[derive(Debug, Clone)]
pub struct Conditioned {
    /// The bench.
    pub bench: Bench,
    /// It came from a snapshot.
    pub kept: bool,
    /// Why it could not be kept for the next time.
    pub trouble: Option<NotKept>,
}

impl Cache {
    /// The user's folder: `IDLEWRIGHT_CACHE` if it is set, else the system's place for caches; none where
    /// neither is known.
    pub fn of_user() -> Self {
        let var = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let system = if cfg!(windows) {
            var("LOCALAPPDATA")
        } else if cfg!(target_os = "macos") {
            var("HOME").map(|h| h.join("Library/Caches"))
        } else {
            var("XDG_CACHE_HOME").or_else(|| var("HOME").map(|h| h.join(".cache")))
        };
        Self { dir: var("IDLEWRIGHT_CACHE").or_else(|| system.map(|s| s.join("idlewright"))) }
    }
    /// A folder of one's own.
    pub fn at(dir: &Path) -> Self {
        Self { dir: Some(dir.into()) }
    }
    /// No folder: nothing is read, nothing kept.
    pub fn none() -> Self {
        Self { dir: None }
    }

    /// The hash that stands for a setup under this build, as 64 hexadecimal digits.
    pub fn key(setup: &Setup) -> String {
        record::hash_of(&(setup, env!("CARGO_PKG_VERSION"), BUILD))
    }
    /// Where the snapshot of a setup lies, if there is a folder.
    pub fn path(&self, setup: &Setup) -> Option<PathBuf> {
        self.dir.as_ref().map(|d| d.join(Self::key(setup) + ENDING))
    }

    /// The conditioned bench of a setup: from its snapshot, or driven now and then kept. `told` hears the
    /// share driven and stops it with false; a bench that was stopped is not kept.
    pub fn conditioned(
        &self,
        setup: &Setup,
        told: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Conditioned, bench::Error> {
        if setup.conditioning.is_empty() {
            return Ok(Conditioned { bench: Bench::new(setup, told)?, kept: false, trouble: None });
        }
        if let Some(bench) = self.read(setup) {
            return Ok(Conditioned { bench, kept: true, trouble: None });
        }
        let bench = Bench::new(setup, told)?;
        let trouble = self.keep(setup, &bench).err();
        Ok(Conditioned { bench, kept: false, trouble })
    }

    #[expect(clippy::disallowed_methods, reason = "this room keeps the program's own files")]
    fn read(&self, setup: &Setup) -> Option<Bench> {
        let path = self.path(setup)?;
        let meta = std::fs::metadata(&path).ok()?;
        if !meta.is_file() || meta.len() > LARGEST_SNAPSHOT {
            return None;
        }
        let bytes = std::fs::read(&path).ok()?;
        let rest = bytes.strip_prefix(MAGIC)?;
        let (sum, rest) = rest.split_at_checked(HASH_LEN)?;
        if record::hash_of_bytes(rest).as_bytes() != sum {
            return None;
        }
        let (key, body) = rest.split_at_checked(HASH_LEN)?;
        if key != Self::key(setup).as_bytes() {
            return None;
        }
        Bench::from_bytes(setup, body).ok()
    }

    #[expect(clippy::disallowed_methods, reason = "this room keeps the program's own files")]
    fn keep(&self, setup: &Setup, bench: &Bench) -> Result<(), NotKept> {
        let (Some(dir), Some(path)) = (&self.dir, self.path(setup)) else { return Ok(()) };
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let mut rest = Self::key(setup).into_bytes();
        rest.extend(bench.to_bytes());
        let mut whole = MAGIC.to_vec();
        whole.extend(record::hash_of_bytes(&rest).into_bytes());
        whole.extend(rest);
        let nth = COUNT.fetch_add(1, Ordering::Relaxed);
        let part = dir.join(format!(".{}.{nth}.part", std::process::id()));
        let written = std::fs::create_dir_all(dir)
            .and_then(|()| std::fs::write(&part, whole))
            .and_then(|()| std::fs::rename(&part, &path));
        if let Err(e) = written {
            let _ = std::fs::remove_file(&part);
            return Err(NotKept { folder: dir.display().to_string(), says: e.to_string() });
        }
        Self::tidy(dir);
        Ok(())
    }

    /// The oldest snapshots go when there are too many, and with them what an interrupted write left.
    #[expect(clippy::disallowed_methods, reason = "this room keeps the program's own files")]
    fn tidy(dir: &Path) {
        let Ok(all) = std::fs::read_dir(dir) else { return };
        let mut own: Vec<_> = all
            .flatten()
            .filter(|e| {
                let name = e.file_name();
                let name = name.to_string_lossy();
                name.ends_with(ENDING) || (name.starts_with('.') && name.ends_with(".part"))
            })
            .filter_map(|e| Some((e.metadata().ok()?.modified().ok()?, e.path())))
            .collect();
        own.sort();
        let surplus = own.len().saturating_sub(MOST_KEPT);
        for (_, path) in own.into_iter().take(surplus) {
            let _ = std::fs::remove_file(path);
        }
    }
}
