//! A class: seats in browsers and the instructor's wall; truth stays on this machine.
//!
//! One process serves one class with one folder. A seat receives pictures and readings of a desk that runs here on a
//! thread of its own; what it may see is decided in the same place as for every other front
//! ([`crate::session::viewer`]).
//!
//! *Inside*: [`open`] addresses and how to reach the class · [`server`] routes, the seat's socket · [`pages`] files
//! and headers · [`listen`] connections · [`join`] secrets and limits · [`seat`] a seat and its attempts · [`offers`]
//! what a trainee can select · [`texts`] the texts of a view · [`wall`] what the instructor sees · [`orders`] the
//! instructor's orders · [`marks`] marks and documents · [`copies`] acts that are alike · [`testers`] a seat's module
//! on the network · [`rehearse`] a class played by the program · [`keep`] database, journals, folder. *Outside*:
//! arguments (the command line), pages (`assets/class/`), sentences ([`crate::words`]). `docs/class-protocol.md`
//! documents the messages on the sockets.
//!
//! **Checked by** `tests/class/`.

pub mod copies;
pub mod join;
pub mod keep;
pub mod listen;
pub mod marks;
pub mod offers;
pub mod open;
pub mod orders;
pub mod pages;
pub mod rehearse;
pub mod seat;
pub mod server;
pub mod testers;
pub mod texts;
pub mod views;
pub mod wall;

use self::join::Door;
use self::keep::{Allowed, AttemptRow, Keep, no_random};
use self::seat::{Attempt, Seat};
use self::testers::Testers;
use crate::app::load;
use crate::app::terminal::tell;
use crate::app::trainee::Trainee;
use crate::app::{Error, Files, NoFiles, listing};
use crate::bench::car::Car;
use crate::words::say;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::collections::BTreeMap;
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, RwLock};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// A seat without a page for this long is paused.
const AWAY: Duration = Duration::from_secs(15);

/// The configuration of a class.
#[derive(Debug, Clone)]
pub struct Config {
    /// Its folder.
    pub folder: PathBuf,
    /// Where it listens: address and port; if none is given, the default port on this machine, or on the network with
    /// `lan`.
    pub listen: Option<String>,
    /// The network may reach it.
    pub lan: bool,
    /// The word with which seats join; if none is given, one is made for a new class.
    pub word: Option<String>,
    /// Certificate and key, each a file in PEM.
    pub certificate: Option<(PathBuf, PathBuf)>,
    /// Prefix of every path, behind a proxy: empty, or like `/a`.
    pub base: String,
    /// Makes a new link for the instructor; the previous one is no longer accepted.
    pub new_link: bool,
    /// The lesson for a new seat.
    pub lesson: Option<String>,
    /// Maximum number of seats.
    pub seats: usize,
    /// The port at which the first seat's module answers diagnostic testers; the next seats have the ports after it.
    pub testers: Option<u16>,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            folder: PathBuf::new(),
            listen: None,
            lan: false,
            word: None,
            certificate: None,
            base: String::new(),
            new_link: false,
            lesson: None,
            seats: 240,
            testers: None,
        }
    }
}

/// The settings of a class, stored in its database.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// What a seat may do besides work at the car.
    pub allowed: Allowed,
    /// The lesson for a new seat: the one last assigned to all, before that the one of the command line.
    pub lesson: Option<String>,
    /// The lesson of the command line at the last start: named again at the next one, it does not undo what was assigned since.
    #[serde(default)]
    pub begun_with: Option<String>,
    /// Each seat gets a variant of its own.
    pub variants: bool,
    /// An exam is under way.
    pub exam: bool,
    /// When the exam ends \[ms since 1970\].
    pub exam_ends_ms: Option<i64>,
}

/// A class.
#[derive(Debug)]
pub struct Class {
    /// Its folder.
    pub keep: Keep,
    /// The word with which seats join.
    pub word: String,
    /// Prefix of every path.
    pub base: String,
    /// This process encrypts the connections.
    pub secure: bool,
    /// Ports at which the seats' modules answer testers.
    pub testers: Option<Testers>,
    most_seats: usize,
    seats: RwLock<BTreeMap<u32, Arc<Seat>>>,
    door: Mutex<Door>,
    settings: Mutex<Settings>,
    /// Limits how many attempts start at the same time: one per processor core.
    beginning: Arc<tokio::sync::Semaphore>,
}

fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The wall-clock time.
#[expect(clippy::disallowed_methods, reason = "people's time: limits, idleness, how long somebody is stuck")]
pub fn now() -> Instant {
    Instant::now()
}

/// Time since 1970 \[ms\].
#[expect(clippy::disallowed_methods, reason = "when something was handed in, and when an exam ends")]
pub fn now_ms() -> i64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |d| i64::try_from(d.as_millis()).unwrap_or(i64::MAX))
}

/// Why admission is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// Too many wrong tries.
    Wait,
    /// The class's word or the seat's code is wrong.
    Wrong,
    /// The pseudonym is invalid.
    Pseudonym,
    /// The pseudonym is taken.
    Taken,
    /// The class is full.
    Full,
    /// The folder cannot be read or written.
    Trouble,
}

impl Class {
    /// Opens a class in its folder; also returns the instructor's secret if a new one was made.
    pub fn open(config: &Config) -> Result<(Arc<Self>, Option<String>), Error> {
        let (keep, new) = Keep::open(&config.folder)?;
        if let Some(word) = &config.word {
            keep.set("word", &join::pseudonym(word).ok_or_else(|| Error::rule(say("class-word-form")))?)?;
        } else if keep.get("word")?.is_none() {
            keep.set("word", &join::class_word().map_err(|_| no_random())?)?;
        }
        let word = keep.get("word")?.unwrap_or_default();
        let mut secret = None;
        if new || config.new_link || keep.get("wall")?.is_none() {
            let made = join::secret().map_err(|_| no_random())?;
            keep.set("wall", &join::kept(&made))?;
            keep.forget_walls()?;
            secret = Some(made);
        }
        let mut settings: Settings = match keep.get("settings")? {
            Some(text) => serde_json::from_str(&text).unwrap_or_default(),
            None => Settings { variants: true, ..Settings::default() },
        };
        if let Some(lesson) = &config.lesson {
            load::scenario(&keep, lesson, &Trainee::default())?;
            if settings.begun_with.as_ref() != Some(lesson) {
                settings.lesson = Some(lesson.clone());
            }
            settings.begun_with = Some(lesson.clone());
        }
        let class = Arc::new(Self {
            word,
            base: config.base.clone(),
            secure: config.certificate.is_some(),
            testers: config
                .testers
                .zip(open::listens(config).ok())
                .map(|(port, at)| Testers::new(std::net::SocketAddr::new(at.ip(), port))),
            most_seats: config.seats,
            seats: RwLock::default(),
            door: Mutex::default(),
            settings: Mutex::new(settings),
            beginning: Arc::new(tokio::sync::Semaphore::new(
                2 * std::thread::available_parallelism().map_or(2, |n| n.get()),
            )),
            keep,
        });
        class.change(|_| ())?;
        class.read_seats()?;
        Ok((class, secret))
    }

    fn read_seats(&self) -> Result<(), Error> {
        let rows = self.keep.attempts()?;
        let settings = self.settings();
        let mut seats = self.seats.write().unwrap_or_else(PoisonError::into_inner);
        for row in self.keep.seats()? {
            let own = rows.iter().filter(|a| a.seat == row.id).cloned().collect();
            let seat = Seat::new(row.id, row.word, row.token, settings.allowed, own, now());
            let kept = self.keep.standing(row.id)?;
            {
                let mut state = seat.state();
                state.exam_ends_ms = settings.exam_ends_ms;
                if let Some(kept) = kept {
                    (state.allowed, state.paused) = (kept.allowed, kept.paused);
                }
            }
            seats.insert(row.id, Arc::new(seat));
        }
        Ok(())
    }

    /// The settings of the class.
    pub fn settings(&self) -> Settings {
        lock(&self.settings).clone()
    }
    /// Changes the settings of the class and stores them.
    pub fn change(&self, change: impl FnOnce(&mut Settings)) -> Result<(), Error> {
        let mut settings = lock(&self.settings);
        change(&mut settings);
        self.keep.set("settings", &json!(*settings).to_string())
    }

    /// Every seat.
    pub fn seats(&self) -> Vec<Arc<Seat>> {
        self.seats.read().unwrap_or_else(PoisonError::into_inner).values().cloned().collect()
    }
    /// A seat by its number.
    pub fn seat(&self, id: u32) -> Option<Arc<Seat>> {
        self.seats.read().unwrap_or_else(PoisonError::into_inner).get(&id).cloned()
    }
    /// The seat with this cookie.
    pub fn seat_of(&self, secret: &str) -> Option<Arc<Seat>> {
        let hash = join::kept(secret);
        self.seats().into_iter().find(|s| s.state().token == hash)
    }
    /// Whether this is an instructor's cookie.
    pub fn is_wall(&self, secret: &str) -> bool {
        self.keep.is_wall(&join::kept(secret)).unwrap_or(false)
    }

    /// Whether the request carries an instructor's cookie.
    pub fn is_instructor(&self, headers: &axum::http::HeaderMap) -> bool {
        join::cookie(headers, "wall").is_some_and(|c| self.is_wall(c))
    }

    /// Records a try at a secret; wrong tries are counted.
    fn tries(&self, who: IpAddr, right: bool) -> Result<(), Refusal> {
        let mut door = lock(&self.door);
        if !door.may_try(who, now()) {
            return Err(Refusal::Wait);
        }
        if right {
            return Ok(());
        }
        door.was_wrong(who, now());
        Err(Refusal::Wrong)
    }

    /// Admits an instructor who opened the link; returns a secret for the cookie.
    pub fn admit_instructor(&self, key: &str, who: IpAddr) -> Result<String, Refusal> {
        let kept = self.keep.get("wall").map_err(|_| Refusal::Trouble)?;
        self.tries(who, kept.as_deref() == Some(join::kept(key).as_str()))?;
        lock(&self.door).was_right(who);
        let secret = join::secret().map_err(|_| Refusal::Trouble)?;
        self.keep.add_wall(&join::kept(&secret)).map_err(|_| Refusal::Trouble)?;
        Ok(secret)
    }

    /// Admits a trainee with the class's word and a pseudonym; with a code, the trainee takes over an existing seat.
    pub fn join(
        &self,
        word: &str,
        pseudonym: &str,
        code: Option<&str>,
        who: IpAddr,
    ) -> Result<(Arc<Seat>, String), Refusal> {
        let same = |a: &str, b: &str| a.trim().to_lowercase() == b.to_lowercase();
        self.tries(who, same(word, &self.word))?;
        let pseudonym = join::pseudonym(pseudonym).ok_or(Refusal::Pseudonym)?;
        let secret = join::secret().map_err(|_| Refusal::Trouble)?;
        let hash = join::kept(&secret);
        if let Some(code) = code {
            let found = self.keep.by_code(&pseudonym, &join::kept(code)).map_err(|_| Refusal::Trouble)?;
            let seat = found.and_then(|id| self.seat(id));
            self.tries(who, seat.is_some())?;
            let seat = seat.ok_or(Refusal::Wrong)?;
            // the class's word alone, which everybody knows, must not reset the count of tries at a code
            lock(&self.door).was_right(who);
            self.keep.set_token(seat.id, &hash).map_err(|_| Refusal::Trouble)?;
            let page = {
                let mut state = seat.state();
                state.token = hash;
                state.page.take()
            };
            if let Some(page) = page {
                let _ = page.to.send(seat::Out::Bye("elsewhere"));
            }
            return Ok((seat, secret));
        }
        let mut seats = self.seats.write().unwrap_or_else(PoisonError::into_inner);
        if seats.len() >= self.most_seats {
            return Err(Refusal::Full);
        }
        let id =
            self.keep.add_seat(&pseudonym, &hash).map_err(|_| Refusal::Trouble)?.ok_or(Refusal::Taken)?;
        lock(&self.door).was_right(who);
        let settings = self.settings();
        let seat = Arc::new(Seat::new(id, pseudonym, hash, settings.allowed, Vec::new(), now()));
        seat.state().exam_ends_ms = settings.exam_ends_ms;
        seats.insert(id, Arc::clone(&seat));
        Ok((seat, secret))
    }

    /// Deletes a seat with everything stored about it.
    pub fn delete_seat(&self, id: u32) -> Result<(), Error> {
        let seat = self.seats.write().unwrap_or_else(PoisonError::into_inner).remove(&id);
        if let Some(seat) = seat {
            seat.remove();
        }
        self.keep.delete_seat(id)
    }

    /// Assigns a lesson to a seat as a new numbered attempt; an attempt under way that was not handed in ends.
    pub async fn assign(
        self: &Arc<Self>,
        seat: &Arc<Seat>,
        lesson: &str,
        variants: bool,
    ) -> Result<(), Error> {
        let exam = self.settings().exam;
        let row = seat.next_row(|number| AttemptRow {
            seat: seat.id,
            number,
            lesson: lesson.into(),
            variants,
            exam,
            ..AttemptRow::default()
        });
        self.keep.put_attempt(&row)?;
        self.begin(seat, row).await
    }

    /// Begins an attempt, or continues one that was under way.
    pub async fn begin(self: &Arc<Self>, seat: &Arc<Seat>, row: AttemptRow) -> Result<(), Error> {
        let _place = self.beginning.clone().acquire_owned().await;
        let (class, word) = (Arc::clone(self), seat.word.clone());
        let begun = tokio::task::spawn_blocking(move || Attempt::begin(&class.keep, &word, row));
        let attempt = begun.await.map_err(|e| Error::File(e.to_string()))??;
        if seat.gone.load(std::sync::atomic::Ordering::Relaxed) {
            return self.keep.delete_seat(seat.id);
        }
        let attempt = seat.give(attempt);
        seat.hold(seat.is_away(now()));
        if attempt.row.exam && !self.settings().exam {
            // the exam ended while this attempt was being prepared, or while the program was not running
            attempt.live.order(crate::session::live::Order::HandIn);
        }
        if let Some(page) = &seat.state().page {
            let _ = page.to.send(seat::Out::Anew);
        }
        tokio::spawn(Arc::clone(self).watch(Arc::clone(seat), attempt));
        Ok(())
    }

    /// Waits for an attempt's end and stores its result.
    async fn watch(self: Arc<Self>, seat: Arc<Seat>, attempt: Arc<Attempt>) {
        let run = loop {
            if let Some(run) = attempt.live.handed_in() {
                break run;
            }
            if seat.gone.load(std::sync::atomic::Ordering::Relaxed) {
                return;
            }
            // the notification also signals progress; a discarded attempt signals no more
            let bell = tokio::time::timeout(Duration::from_secs(30), attempt.ended.notified()).await;
            let thrown_away = || !seat.attempt().is_some_and(|a| Arc::ptr_eq(&a, &attempt));
            if bell.is_err() && thrown_away() && attempt.live.conditioning().is_none() {
                return;
            }
        };
        let class = Arc::clone(&self);
        let of = Arc::clone(&seat);
        let kept =
            tokio::task::spawn_blocking(move || of.keep_result(&class.keep, &attempt, &run, now_ms())).await;
        if let Ok(Err(e)) = kept {
            tell(&e.to_string());
        }
        if seat.gone.load(std::sync::atomic::Ordering::Relaxed) {
            // the seat was deleted while its result was being stored
            let _ = self.keep.delete_seat(seat.id);
            return;
        }
        let mut state = seat.standing();
        state["kind"] = "state".into();
        seat.tell(&state);
    }

    /// Continues every attempt that was under way, several at a time.
    pub fn resume(self: &Arc<Self>) {
        for seat in self.seats() {
            let last = seat.state().rows.last().filter(|r| !r.handed_in).cloned();
            let Some(row) = last else { continue };
            let class = Arc::clone(self);
            tokio::spawn(async move {
                if let Err(e) = class.begin(&seat, row).await {
                    tell(&format!("{}: {e}", seat.word));
                }
            });
        }
    }

    /// Opens and closes the testers' ports to match the attempts under way; waits for threads that end.
    pub fn keep_testers(&self) {
        let Some(testers) = &self.testers else { return };
        for seat in testers.follow(&self.seats()) {
            let mut state = seat.standing();
            state["kind"] = "state".into();
            seat.tell(&state);
        }
    }

    /// Work done once a second for each seat: without a page it is paused, and the time reached is written to its journal.
    /// `which`: the seats whose turn it is.
    pub fn tick(&self, which: impl Fn(&Seat) -> bool) {
        let now = now();
        if self.settings().exam_ends_ms.is_some_and(|ends| now_ms() >= ends)
            && let Err(e) = orders::end_exam(self)
        {
            tell(&e.to_string());
        }
        for seat in self.seats().into_iter().filter(|s| which(s)) {
            seat.hold(seat.is_away(now));
            if let Some(attempt) = seat.attempt() {
                attempt.note_time();
            }
        }
    }

    /// The lessons that can be assigned, with their questions: those in the class's folder, then the shipped ones
    /// that are not replaced by one of the same name.
    pub fn lessons(&self) -> serde_json::Value {
        static SHIPPED: OnceLock<Vec<serde_json::Value>> = OnceLock::new();
        let shipped = SHIPPED.get_or_init(|| {
            listing::scenarios().iter().filter_map(|s| lesson(&NoFiles, s.name, false)).collect()
        });
        let names = self.keep.own_lessons();
        let own = names.iter().filter_map(|name| lesson(&self.keep, name, true));
        let rest = shipped.iter().filter(|s| !names.iter().any(|own| s["id"] == own.as_str())).cloned();
        own.chain(rest).collect()
    }
}

/// A lesson as the wall lists it; none if it cannot be read.
fn lesson(files: &dyn Files, name: &str, own: bool) -> Option<serde_json::Value> {
    let loaded = load::scenario(files, name, &Trainee::default()).ok()?;
    let about = &loaded.scenario.about;
    let plan = loaded.scenario.plan.as_ref();
    let causes = plan.is_some_and(|p| !p.causes.is_empty());
    let cause = causes.then(|| ("cause".to_owned(), say("ask-cause")));
    let asks: Vec<(String, String)> = cause
        .into_iter()
        .chain(plan.iter().flat_map(|p| &p.asks).map(|a| (a.id.clone(), a.question.clone())))
        .collect();
    let car = Car::parse(&loaded.scenario.setup.car_toml).map(|c| c.title).ok();
    Some(json!({ "id": name, "title": about.title, "level": about.level, "car": car, "asks": asks,
            "own": own, "marked": plan.is_some() }))
}
