//! The files that are the program's own: embedded cars and scenarios, and conditioned cars kept in the
//! user's cache folder.
//!
//! *Inside*: what ships, by name; reading a car's file that lies beside a scenario; [`Cache`]. *Outside*:
//! what the files mean (scenario and bench), and where a person writes results (command line, window).

use crate::bench::car::NoCar;
use crate::bench::setup::Setup;
use crate::bench::{self, Bench, record};
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

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

/// A path through the shipped scenarios, as data.
pub const PATH: &str = include_str!("../assets/path.toml");

/// A scenario to begin one's own with: every key explained, and it runs as it stands.
pub const TEMPLATE: &str = include_str!("../assets/template.toml");

/// A shipped scenario with the action files that belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shipped {
    /// The family that it is listed under.
    pub family: &'static str,
    /// The name that it is run by; its folder in the family's.
    pub id: &'static str,
    /// Its text.
    pub text: &'static str,
    /// Action files: the name that each is run by, as `idles-high/solution`, and its text.
    pub actions: &'static [(&'static str, &'static str)],
}

macro_rules! shipped {
    ($( $family:literal : $( $id:literal [ $($action:literal),* ] ),+ );+ $(;)?) => {
        /// Shipped scenarios, family by family in the order in which they are taught.
        pub const SCENARIOS: &[Shipped] = &[ $( $( Shipped {
            family: $family,
            id: $id,
            text: include_str!(concat!("../scenarios/", $family, "/", $id, "/scenario.toml")),
            actions: &[ $( (
                concat!($id, "/", $action),
                include_str!(concat!("../scenarios/", $family, "/", $id, "/", $action, ".toml")),
            ) ),* ],
        } ),+ ),+ ];
    };
}

// A scenario ships when its folder has a line here.
shipped! {
    "healthy":
        "healthy-idle" [],
        "checked-before-buying" ["solution", "trap-1", "trap-2"],
        "fast-on-cold-mornings" ["solution", "trap-1", "trap-2"],
        "sent-away-from-the-inspection" ["solution", "trap-1", "trap-2"],
        "driven-daily-and-never-ready" ["solution", "trap-1", "trap-2", "trap-3", "trap-4"];
    "idle-air":
        "idles-high" ["solution", "trap-1", "trap-2"],
        "races-and-will-not-pull" ["solution", "trap-1", "trap-2"],
        "learn-will-not-start" ["solution", "trap-1"],
        "still-says-no" ["solution", "trap-1"],
        "idles-a-little-fast" ["solution", "trap-1"],
        "learn-says-failed" ["solution", "trap-1"],
        "dips-at-the-lights" ["solution", "trap-1", "trap-2"],
        "starts-and-dies" ["solution", "trap-1", "trap-2"],
        "dies-when-parking" ["solution", "trap-1", "trap-2"],
        "shakes-since-the-lamp-went-out" ["solution", "trap-1", "trap-2", "trap-3"],
        "new-module-idles-badly" ["solution", "trap-1", "trap-2"],
        "fast-since-a-new-throttle" ["solution", "trap-1", "trap-2"],
        "idles-fast-trims-good" ["solution", "trap-1", "trap-2"],
        "races-after-every-stall" ["solution", "trap-1"];
    "fuel-trims":
        "hesitates" ["solution", "trap-1", "trap-2"],
        "no-power-since-the-air-filter" ["solution", "trap-1", "trap-2"],
        "rich-since-the-repair" ["solution", "trap-1", "trap-2"],
        "jerks-in-the-car-park" ["solution", "trap-1", "trap-2"],
        "corrections-too-high" ["solution", "trap-1", "trap-2"],
        "no-pull-on-the-motorway" ["solution", "trap-1", "trap-2"],
        "smells-at-the-lights" ["solution", "trap-1", "trap-2"],
        "smells-after-filling-up" ["solution", "trap-1", "trap-2"],
        "uses-more-on-the-motorway" ["solution", "trap-1", "trap-2"],
        "no-pull-uphill" ["solution", "trap-1", "trap-2"],
        "lamp-since-the-body-shop" ["solution", "trap-1", "trap-2", "trap-3"];
    "injectors":
        "slightly-rough" ["solution", "trap-1", "trap-2"],
        "rough-since-two-were-renewed" ["solution", "trap-1", "trap-2"],
        "rough-since-a-new-injector" ["solution", "trap-1", "trap-2"],
        "stayed-after-a-swap" ["solution", "trap-1", "trap-2"],
        "shakes-and-uses-oil" ["solution", "trap-1", "trap-2"],
        "shakes-standing-all-day" ["solution", "trap-1", "trap-2"],
        "rough-when-cold" ["solution", "trap-1", "trap-2"],
        "nothing-right-since-the-module" ["solution", "trap-1", "trap-2"];
    "crankshaft":
        "flashes-at-high-revs" ["solution", "trap-1"],
        "flashes-since-the-oil-seal" ["solution", "trap-1", "trap-2"],
        "flashes-since-a-new-sensor" ["solution", "trap-1", "trap-2"],
        "refuses-to-learn" ["solution", "trap-1", "trap-2"],
        "three-days-and-no-learn" ["solution", "trap-1", "trap-2"],
        "lamp-two-days-later" ["solution", "trap-1", "trap-2"],
        "driven-all-afternoon" ["solution", "trap-1", "trap-2"],
        "tried-six-times" ["solution", "trap-1", "trap-2"],
        "lamp-since-the-battery" ["solution", "trap-1"],
        "lifeless-since-the-chain" ["solution", "trap-1", "trap-2"],
        "flat-since-the-rattle-went" ["solution", "trap-1", "trap-2", "trap-3"],
        "misfire-codes-runs-smoothly" ["solution", "trap-1", "trap-2"],
        "flashed-on-the-pass" ["solution", "trap-1", "trap-2"],
        "misfire-not-noticed" ["solution", "trap-1", "trap-2"],
        "lamp-back-before-the-inspection" ["solution", "trap-1", "trap-2", "trap-3"];
    "battery":
        "smells-of-acid" ["solution", "trap-1", "trap-2"],
        "stop-start-hardly-works" ["solution", "trap-1"],
        "engine-runs-on-at-lights" ["solution", "trap-1"],
        "flat-after-a-long-weekend" ["solution", "trap-1", "trap-2"],
        "slow-again-since-the-charge" ["solution", "trap-1", "trap-2"];
}

/// Largest car file, and largest file of messages, that is read \[bytes\].
const LARGEST: u64 = 1 << 20;

/// Text of a car's file: a shipped name, or a path beside the scenario. A scenario comes from somebody else: no link leads
/// it elsewhere.
pub fn car_text(name: &str, beside: Option<&Path>) -> Result<String, NoCar> {
    if let Some(text) = shipped_car(name)? {
        return Ok(text);
    }
    let Some(beside) = beside else {
        return Err(NoCar::NoFolder { car: name.into() });
    };
    let mut path = beside.to_path_buf();
    for part in Path::new(name).components() {
        path.push(part);
        if std::fs::symlink_metadata(&path).is_ok_and(|m| m.is_symlink()) {
            return Err(NoCar::NotOrdinary { car: name.into() });
        }
    }
    car_file(name, &path)
}

/// The same of a car that a person names, whose file may lie anywhere.
pub fn named_car_text(name: &str) -> Result<String, NoCar> {
    shipped_car(name)?.map_or_else(|| car_file(name, Path::new(name)), Ok)
}

/// Text of a car that ships; none for a file's name.
fn shipped_car(name: &str) -> Result<Option<String>, NoCar> {
    match CARS.iter().find(|(n, _)| *n == name) {
        Some((_, text)) => Ok(Some((*text).into())),
        None if name.ends_with(".toml") => Ok(None),
        None => {
            let keys = CARS.iter().map(|c| c.0.to_owned()).collect();
            Err(NoCar::Unknown { car: name.into(), keys })
        }
    }
}

/// Text of an ordinary file: a pipe would never end, a device neither.
#[expect(clippy::disallowed_methods, reason = "this room reads the files that scenarios name")]
fn car_file(name: &str, path: &Path) -> Result<String, NoCar> {
    let unread = |e: std::io::Error| NoCar::Unread { car: name.into(), says: e.to_string() };
    let what = std::fs::metadata(path).map_err(unread)?;
    if !what.is_file() {
        return Err(NoCar::NotOrdinary { car: name.into() });
    }
    if what.len() > LARGEST {
        return Err(NoCar::TooLarge { car: name.into(), most: LARGEST });
    }
    let mut text = String::new();
    std::fs::File::open(path).and_then(|f| f.take(LARGEST).read_to_string(&mut text)).map_err(unread)?;
    Ok(text)
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

/// A shipped scenario by its id.
pub fn shipped(id: &str) -> Option<&'static Shipped> {
    SCENARIOS.iter().find(|s| s.id == id)
}

/// A shipped action file by its name, as `idles-high/solution`.
pub fn shipped_actions(name: &str) -> Option<&'static (&'static str, &'static str)> {
    SCENARIOS.iter().flat_map(|s| s.actions).find(|(own, _)| *own == name)
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

/// A folder that nobody else may look into, where the system has it so: what lies in it tells the truth about sealed cars.
#[expect(clippy::disallowed_methods, reason = "this room keeps the program's own files")]
fn make_own(dir: &Path) -> std::io::Result<()> {
    if let Some(above) = dir.parent() {
        std::fs::create_dir_all(above)?;
    }
    let mut make = std::fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut make, 0o700);
    make.create(dir).or_else(|e| if dir.is_dir() { Ok(()) } else { Err(e) })
}

/// A file of that kind, which was not there before.
#[expect(clippy::disallowed_methods, reason = "this room keeps the program's own files")]
fn write_own(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    // what an interrupted write of the same name left
    let _ = std::fs::remove_file(path);
    let mut open = std::fs::OpenOptions::new();
    open.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    open.open(path)?.write_all(bytes)
}

/// The snapshots that threads of this program are driving at present, and the share that is driven.
static UNDER_WAY: Mutex<BTreeMap<PathBuf, f64>> = Mutex::new(BTreeMap::new());
static DRIVEN: Condvar = Condvar::new();

/// A thread that drives a car's earlier life: the others that need the same one wait for its snapshot, since a class that
/// begins a lesson would else drive it at every seat.
struct Drives(PathBuf);

impl Drives {
    /// The first to ask drives; for the others this waits until the first has ended, or until `told` stops the wait.
    fn begin(path: PathBuf, told: &mut dyn FnMut(f64) -> bool) -> Option<Self> {
        let mut all = UNDER_WAY.lock().unwrap_or_else(PoisonError::into_inner);
        if !all.contains_key(&path) {
            all.insert(path.clone(), 0.0);
            return Some(Self(path));
        }
        while let Some(share) = all.get(&path).copied() {
            drop(all);
            if !told(share) {
                return None;
            }
            all = UNDER_WAY.lock().unwrap_or_else(PoisonError::into_inner);
            if all.contains_key(&path) {
                let waited = DRIVEN.wait_timeout(all, Duration::from_millis(200));
                all = waited.unwrap_or_else(PoisonError::into_inner).0;
            }
        }
        None
    }
    fn tell(&self, share: f64) {
        UNDER_WAY.lock().unwrap_or_else(PoisonError::into_inner).insert(self.0.clone(), share);
    }
}

impl Drop for Drives {
    fn drop(&mut self) {
        UNDER_WAY.lock().unwrap_or_else(PoisonError::into_inner).remove(&self.0);
        DRIVEN.notify_all();
    }
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
        let path = self.path(setup);
        let drives = path.and_then(|path| Drives::begin(path, told));
        // another thread has driven it meanwhile
        if let Some(bench) = self.read(setup) {
            return Ok(Conditioned { bench, kept: true, trouble: None });
        }
        let bench = Bench::new(setup, &mut |share| {
            if let Some(drives) = &drives {
                drives.tell(share);
            }
            told(share)
        })?;
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
        let written = make_own(dir)
            .and_then(|()| write_own(&part, &whole))
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
