//! What a class stores in its folder: the database of seats, attempts and marks; a journal for each attempt, to which
//! every order is written before it is acknowledged; logbooks and debriefs of handed-in attempts; the class's own
//! lessons.
//!
//! ```text
//! class.db    seats, attempts, marks, hashes of secrets (SQLite, write-ahead log)
//! key         seals the class's variants; `verify --key` takes it
//! journals/   SEAT-NUMBER.jsonl  what was ordered, by simulated time: what a seat is made from again after a crash
//! logbooks/   SEAT-NUMBER.jsonl  what was handed in, as `verify` and `replay` take it
//! debriefs/   SEAT-NUMBER.html, in US units SEAT-NUMBER-us.html
//! lessons/    scenarios of one's own
//! ```
//!
//! Of people it stores only pseudonyms. *Outside*: what an order does ([`crate::session::live`]), who may request
//! what ([`super::server`]).
#![expect(clippy::disallowed_methods, reason = "this file keeps the class's folder")]

use super::join;
use crate::app::load::SCENARIO;
use crate::app::{Error, Files, Sort, Unread};
use crate::session::live::{Order, Past};
use crate::words::numbers::{UNITS, Units};
use crate::words::say;
use rusqlite::{Connection, OptionalExtension, params};
use serde::{Deserialize, Serialize};
use std::fs::{self, File, OpenOptions};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Version of the folder's format.
const FORM: &str = "1";

const TABLES: &str = "
CREATE TABLE IF NOT EXISTS class(key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS seat(
    id INTEGER PRIMARY KEY AUTOINCREMENT, word TEXT NOT NULL UNIQUE COLLATE NOCASE, token TEXT NOT NULL, code TEXT);
CREATE TABLE IF NOT EXISTS attempt(
    seat INTEGER NOT NULL, number INTEGER NOT NULL, lesson TEXT NOT NULL, variants INTEGER NOT NULL,
    exam INTEGER NOT NULL, handed_in INTEGER NOT NULL DEFAULT 0, released INTEGER NOT NULL DEFAULT 0,
    ended_ms INTEGER, points REAL, most REAL, closed INTEGER, minutes REAL, money REAL, state_hash TEXT,
    given REAL, reason TEXT, PRIMARY KEY(seat, number));
CREATE TABLE IF NOT EXISTS wall(token TEXT PRIMARY KEY);
";

/// A seat as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeatRow {
    /// Its number.
    pub id: u32,
    /// Its pseudonym.
    pub word: String,
    /// Hash of its cookie's secret.
    pub token: String,
}

/// An attempt as it is stored.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct AttemptRow {
    /// Number of the seat.
    pub seat: u32,
    /// Number of the attempt at that seat, from 1.
    pub number: u32,
    /// The scenario.
    pub lesson: String,
    /// It uses the seat's own variant.
    pub variants: bool,
    /// It is an exam.
    pub exam: bool,
    /// It was handed in.
    pub handed_in: bool,
    /// The trainee may see its marks and its debrief.
    pub released: bool,
    /// When it was handed in \[ms since 1970\].
    pub ended_ms: Option<i64>,
    /// Points achieved.
    pub points: Option<f64>,
    /// Maximum points.
    pub most: Option<f64>,
    /// The job is closed.
    pub closed: Option<bool>,
    /// Minutes on the job card.
    pub minutes: Option<f64>,
    /// Money on the job card.
    pub money: Option<f64>,
    /// Hash of the final state.
    pub state_hash: Option<String>,
    /// Points that the instructor gave instead.
    pub given: Option<f64>,
    /// The reason for them.
    pub reason: Option<String>,
}

/// What a seat may do besides work at the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Allowed {
    /// Set its own pace.
    pub pace: bool,
    /// Go back to a mark.
    pub rewind: bool,
    /// Try two futures.
    pub fork: bool,
    /// Open the lid, if the scenario allows it.
    pub lid: bool,
}

impl Default for Allowed {
    fn default() -> Self {
        Self { pace: true, rewind: true, fork: true, lid: true }
    }
}

impl Allowed {
    /// The permissions in an exam.
    pub const EXAM: Allowed = Allowed { pace: true, rewind: false, fork: false, lid: false };
}

/// A seat's settings that are independent of its attempts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Standing {
    /// What it may do.
    pub allowed: Allowed,
    /// The instructor has paused it.
    pub paused: bool,
}

/// The key of a seat's settings in the settings table.
fn standing_of(seat: u32) -> String {
    format!("seat-{seat}")
}

/// The folder.
#[derive(Debug)]
pub struct Keep {
    folder: PathBuf,
    db: Mutex<Connection>,
}

fn trouble(e: &rusqlite::Error) -> Error {
    Error::File(say!("class-database", why = e.to_string()))
}

impl From<rusqlite::Error> for Error {
    fn from(e: rusqlite::Error) -> Self {
        trouble(&e)
    }
}

impl Keep {
    /// Opens a class's folder, or creates one; true if it is new.
    pub fn open(folder: &Path) -> Result<(Self, bool), Error> {
        let fail = |why: std::io::Error| {
            Error::File(say!("class-folder", folder = folder.display().to_string(), why = why.to_string()))
        };
        for below in ["journals", "logbooks", "debriefs", "lessons"] {
            fs::create_dir_all(folder.join(below)).map_err(fail)?;
        }
        let db = Self::database(folder).map_err(|e| match e.sqlite_error_code() {
            Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked) => {
                Error::File(say!("class-in-use", folder = folder.display().to_string()))
            }
            _ => trouble(&e),
        })?;
        let keep = Self { folder: folder.into(), db: Mutex::new(db) };
        let new = match keep.get("form")? {
            None => {
                keep.set("form", FORM)?;
                keep.set("seed", &join::seed().map_err(|_| no_random())?.to_string())?;
                true
            }
            Some(form) if form == FORM => false,
            Some(form) => return Err(Error::rule(say!("class-form", form = form, ours = FORM))),
        };
        keep.make_key().map_err(fail)?;
        Ok((keep, new))
    }

    /// Opens the database for one process only, because a second process would run the same seats.
    fn database(folder: &Path) -> rusqlite::Result<Connection> {
        let db = Connection::open(folder.join("class.db"))?;
        db.busy_timeout(std::time::Duration::from_millis(200))?;
        db.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        db.pragma_update(None, "synchronous", "FULL")?;
        // a deleted pseudonym is erased from the file too
        db.pragma_update(None, "secure_delete", "ON")?;
        db.execute_batch(TABLES)?;
        Ok(db)
    }

    fn db(&self) -> MutexGuard<'_, Connection> {
        self.db.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Creates the class's key: once, readable by its owner alone.
    fn make_key(&self) -> std::io::Result<()> {
        let mut open = OpenOptions::new();
        open.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
        match open.open(self.folder.join("key")) {
            Ok(mut file) => {
                let secret = join::secret().map_err(|_| std::io::Error::other(say("class-no-random")))?;
                file.write_all(secret.as_bytes()).and_then(|()| file.sync_all())
            }
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
            Err(e) => Err(e),
        }
    }

    /// Reads a setting.
    pub fn get(&self, key: &str) -> Result<Option<String>, Error> {
        let db = self.db();
        Ok(db.query_row("SELECT value FROM class WHERE key = ?1", [key], |r| r.get(0)).optional()?)
    }
    /// Stores a setting.
    pub fn set(&self, key: &str, value: &str) -> Result<(), Error> {
        self.db().execute("INSERT OR REPLACE INTO class(key, value) VALUES(?1, ?2)", [key, value])?;
        Ok(())
    }

    /// A seat's settings as stored.
    pub fn standing(&self, seat: u32) -> Result<Option<Standing>, Error> {
        Ok(self.get(&standing_of(seat))?.and_then(|text| serde_json::from_str(&text).ok()))
    }
    /// Stores a seat's settings.
    pub fn set_standing(&self, seat: u32, standing: &Standing) -> Result<(), Error> {
        self.set(&standing_of(seat), &serde_json::json!(standing).to_string())
    }

    /// Every seat.
    pub fn seats(&self) -> Result<Vec<SeatRow>, Error> {
        let db = self.db();
        let mut all = db.prepare("SELECT id, word, token FROM seat ORDER BY id")?;
        let row = |r: &rusqlite::Row<'_>| Ok(SeatRow { id: r.get(0)?, word: r.get(1)?, token: r.get(2)? });
        Ok(all.query_map([], row)?.collect::<Result<_, _>>()?)
    }
    /// Adds a seat; none if the pseudonym is taken.
    pub fn add_seat(&self, word: &str, token: &str) -> Result<Option<u32>, Error> {
        let db = self.db();
        // an insertion that fails uses up a number all the same, and with it a tester's port
        let added = db.execute(
            "INSERT INTO seat(word, token) SELECT ?1, ?2 WHERE NOT EXISTS(SELECT 1 FROM seat WHERE word = ?1 COLLATE NOCASE)",
            [word, token],
        )?;
        Ok((added == 1).then(|| u32::try_from(db.last_insert_rowid()).unwrap_or(u32::MAX)))
    }
    /// Replaces a seat's secret: the previous one is no longer accepted.
    pub fn set_token(&self, seat: u32, token: &str) -> Result<(), Error> {
        self.db().execute("UPDATE seat SET token = ?2, code = NULL WHERE id = ?1", params![seat, token])?;
        Ok(())
    }
    /// Stores the hash of a code that lets a seat's trainee in again, once.
    pub fn set_code(&self, seat: u32, code: &str) -> Result<(), Error> {
        self.db().execute("UPDATE seat SET code = ?2 WHERE id = ?1", params![seat, code])?;
        Ok(())
    }
    /// The seat with this pseudonym and this code's hash.
    pub fn by_code(&self, word: &str, code: &str) -> Result<Option<u32>, Error> {
        let db = self.db();
        let found =
            db.query_row("SELECT id FROM seat WHERE word = ?1 AND code = ?2", [word, code], |r| r.get(0));
        Ok(found.optional()?)
    }
    /// Deletes a seat with everything stored about it.
    pub fn delete_seat(&self, seat: u32) -> Result<(), Error> {
        let numbers: Vec<u32> =
            self.attempts()?.iter().filter(|a| a.seat == seat).map(|a| a.number).collect();
        {
            let mut db = self.db();
            let all = db.transaction()?;
            all.execute("DELETE FROM attempt WHERE seat = ?1", [seat])?;
            all.execute("DELETE FROM seat WHERE id = ?1", [seat])?;
            all.execute("DELETE FROM class WHERE key = ?1", [standing_of(seat)])?;
            all.commit()?;
        }
        for number in numbers {
            let debriefs = UNITS.map(|units| self.debrief(seat, number, units));
            for path in [self.journal(seat, number), self.logbook(seat, number)].into_iter().chain(debriefs) {
                let _ = fs::remove_file(path);
            }
        }
        Ok(())
    }

    /// Every attempt.
    pub fn attempts(&self) -> Result<Vec<AttemptRow>, Error> {
        let db = self.db();
        let mut all = db.prepare(
            "SELECT seat, number, lesson, variants, exam, handed_in, released, ended_ms, points, most, closed, minutes,
             money, state_hash, given, reason FROM attempt ORDER BY seat, number",
        )?;
        let row = |r: &rusqlite::Row<'_>| {
            Ok(AttemptRow {
                seat: r.get(0)?,
                number: r.get(1)?,
                lesson: r.get(2)?,
                variants: r.get(3)?,
                exam: r.get(4)?,
                handed_in: r.get(5)?,
                released: r.get(6)?,
                ended_ms: r.get(7)?,
                points: r.get(8)?,
                most: r.get(9)?,
                closed: r.get(10)?,
                minutes: r.get(11)?,
                money: r.get(12)?,
                state_hash: r.get(13)?,
                given: r.get(14)?,
                reason: r.get(15)?,
            })
        };
        Ok(all.query_map([], row)?.collect::<Result<_, _>>()?)
    }
    /// Stores an attempt in its present state.
    pub fn put_attempt(&self, a: &AttemptRow) -> Result<(), Error> {
        self.db().execute(
            "INSERT OR REPLACE INTO attempt(seat, number, lesson, variants, exam, handed_in, released, ended_ms, points,
             most, closed, minutes, money, state_hash, given, reason)
             VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
            params![
                a.seat,
                a.number,
                a.lesson,
                a.variants,
                a.exam,
                a.handed_in,
                a.released,
                a.ended_ms,
                a.points,
                a.most,
                a.closed,
                a.minutes,
                a.money,
                a.state_hash,
                a.given,
                a.reason
            ],
        )?;
        Ok(())
    }

    /// Adds the hash of an instructor's cookie.
    pub fn add_wall(&self, token: &str) -> Result<(), Error> {
        self.db().execute("INSERT OR REPLACE INTO wall(token) VALUES(?1)", [token])?;
        Ok(())
    }
    /// Whether this hash is one of them.
    pub fn is_wall(&self, token: &str) -> Result<bool, Error> {
        let db = self.db();
        let found = db.query_row("SELECT 1 FROM wall WHERE token = ?1", [token], |_| Ok(()));
        Ok(found.optional()?.is_some())
    }
    /// Deletes them all: the old cookies are no longer accepted.
    pub fn forget_walls(&self) -> Result<(), Error> {
        self.db().execute("DELETE FROM wall", [])?;
        Ok(())
    }

    /// Path of an attempt's journal.
    pub fn journal(&self, seat: u32, number: u32) -> PathBuf {
        self.folder.join("journals").join(format!("{seat}-{number}.jsonl"))
    }
    /// Path of its logbook once it was handed in.
    pub fn logbook(&self, seat: u32, number: u32) -> PathBuf {
        self.folder.join("logbooks").join(format!("{seat}-{number}.jsonl"))
    }
    /// Path of its debrief in these units: it is written in either when the car is handed over, since the run itself
    /// is not kept.
    pub fn debrief(&self, seat: u32, number: u32, units: Units) -> PathBuf {
        let end = if units == Units::Us { "-us" } else { "" };
        self.folder.join("debriefs").join(format!("{seat}-{number}{end}.html"))
    }
    /// A file's text; none if there is no file.
    pub fn text(&self, path: &Path) -> Option<String> {
        fs::read_to_string(path).ok()
    }
    /// Writes a file next to its destination and moves it into place when it is complete and on disk.
    pub fn write(&self, path: &Path, text: &str) -> Result<(), Error> {
        let part = path.with_extension("part");
        let written = File::create(&part)
            .and_then(|mut f| f.write_all(text.as_bytes()).and_then(|()| f.sync_all()))
            .and_then(|()| fs::rename(&part, path));
        written.map_err(|e| {
            Error::File(say!("class-folder", folder = path.display().to_string(), why = e.to_string()))
        })
    }
}

/// The error if the system provides no random bits.
pub fn no_random() -> Error {
    Error::File(say("class-no-random"))
}

/// Refuses a folder that holds no class.
pub fn is_class(folder: &Path) -> Result<(), Error> {
    if folder.join("class.db").is_file() {
        return Ok(());
    }
    Err(Error::rule(say!("class-is-none", folder = folder.display().to_string())))
}

/// Deletes a class with everything stored about its people. Other files in the folder are kept.
pub fn delete_class(folder: &Path) -> Result<(), Error> {
    let fail = |e: std::io::Error| {
        Error::File(say!("class-folder", folder = folder.display().to_string(), why = e.to_string()))
    };
    is_class(folder)?;
    // opening it shows whether another process is running it
    drop(Keep::open(folder)?);
    for below in ["journals", "logbooks", "debriefs"] {
        fs::remove_dir_all(folder.join(below)).map_err(fail)?;
    }
    for file in ["class.db", "class.db-wal", "class.db-shm", "key"] {
        match fs::remove_file(folder.join(file)) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => return Err(fail(e)),
            _ => {}
        }
    }
    Ok(())
}

/// The class's own lessons are in its folder; no other file on the disk can be named.
impl Files for Keep {
    fn has(&self, name: &str) -> bool {
        self.lesson(name).is_some_and(|p| p.is_file())
    }
    fn read(&self, name: &str, sort: Sort) -> Result<Vec<u8>, Unread> {
        let path = match (name, self.lesson(name)) {
            ("key", _) => self.folder.join("key"),
            (_, Some(path)) => path,
            _ => return Err(Unread::NoFile),
        };
        let fail = |e: std::io::Error| Unread::System(e.to_string());
        let file = File::open(path).map_err(fail)?;
        if file.metadata().map_err(fail)?.len() > sort.most() {
            return Err(Unread::TooLarge);
        }
        let mut bytes = Vec::new();
        file.take(sort.most()).read_to_end(&mut bytes).map_err(fail)?;
        Ok(bytes)
    }
    fn beside(&self, name: &str) -> Option<PathBuf> {
        self.lesson(name)?.parent().map(Path::to_path_buf)
    }
}

impl Keep {
    /// Path of one of the class's own lessons: a file, or the scenario in a folder.
    fn lesson(&self, name: &str) -> Option<PathBuf> {
        let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
        let word = |w: &str| !w.is_empty() && !w.starts_with('.') && w.chars().all(plain);
        let fits = match name.split_once('/') {
            None => word(name) && name.ends_with(".toml"),
            Some((folder, file)) => word(folder) && file == SCENARIO,
        };
        fits.then(|| self.folder.join("lessons").join(name))
    }
    /// The class's own scenarios by name: files, and folders that hold one.
    pub fn own_lessons(&self) -> Vec<String> {
        let Ok(all) = fs::read_dir(self.folder.join("lessons")) else { return Vec::new() };
        let name = |e: fs::DirEntry| e.file_name().into_string().ok();
        let is_one = |n: &String| self.has(n) || self.has(&format!("{n}/{SCENARIO}"));
        let mut all: Vec<String> = all.flatten().filter_map(name).filter(is_one).collect();
        all.sort();
        all
    }
}

/// A line of a journal: an order that was accepted, or the time reached.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Line {
    /// The order's number, assigned by the page; none for the instructor's orders.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    n: Option<u64>,
    at_s: f64,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    order: Option<Order>,
}

/// The journal of an attempt under way.
#[derive(Debug)]
pub struct Journal(Mutex<Written>);

#[derive(Debug)]
struct Written {
    file: File,
    /// The last time written \[s\].
    at_s: f64,
}

/// The contents of a journal.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Kept {
    /// The orders.
    pub past: Past,
    /// The last number that a page assigned.
    pub last_n: u64,
    /// The last order hands the attempt in.
    pub handed_in: bool,
}

impl Journal {
    /// Opens an attempt's journal and reads it. An incomplete line at its end, as a crash leaves it, was never
    /// acknowledged: it is cut off.
    pub fn open(path: &Path) -> Result<(Self, Kept), Error> {
        let fail = |e: std::io::Error| {
            Error::File(say!("class-folder", folder = path.display().to_string(), why = e.to_string()))
        };
        let mut file = OpenOptions::new().read(true).append(true).create(true).open(path).map_err(fail)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(fail)?;
        let (mut kept, mut whole) = (Kept::default(), 0);
        for line in bytes.split_inclusive(|b| *b == b'\n') {
            let Some(text) = line.strip_suffix(b"\n") else { break };
            // a complete line was acknowledged: one that cannot be read is an error, and is never cut off
            let line_read = serde_json::from_slice::<Line>(text).map_err(|e| fail(e.into()))?;
            whole += line.len();
            kept.last_n = kept.last_n.max(line_read.n.unwrap_or(0));
            kept.past.until_s = line_read.at_s;
            if let Some(order) = line_read.order {
                kept.handed_in = order == Order::HandIn;
                kept.past.orders.push((line_read.at_s, order));
            }
        }
        file.set_len(whole as u64).map_err(fail)?;
        let at_s = kept.past.until_s;
        Ok((Self(Mutex::new(Written { file, at_s })), kept))
    }

    fn put(&self, line: &Line, sync: bool) -> std::io::Result<()> {
        let mut text = serde_json::to_vec(line)?;
        text.push(b'\n');
        let mut written = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if line.order.is_none() && line.at_s == written.at_s {
            return Ok(());
        }
        let whole = written.file.metadata()?.len();
        if let Err(e) = written.file.write_all(&text) {
            // the next line must not follow an incomplete one
            let _ = written.file.set_len(whole);
            return Err(e);
        }
        written.at_s = line.at_s;
        if sync { written.file.sync_data() } else { Ok(()) }
    }

    /// Writes an order; it is on disk when this returns.
    pub fn order(&self, n: Option<u64>, at_s: f64, order: Order) -> std::io::Result<()> {
        self.put(&Line { n, at_s, order: Some(order) }, true)
    }

    /// Writes the time reached, without waiting for the disk: it survives a crash of the program, not of the machine.
    pub fn time(&self, at_s: f64) -> std::io::Result<()> {
        self.put(&Line { n: None, at_s, order: None }, false)
    }
}
