//! A seat: its trainee, its attempts, the one under way; the messages of its page and those sent to it.
//!
//! *Inside*: a page's orders checked, journalled and acknowledged; views as they are sent. *Outside*: sockets
//! ([`super::server`]), what an order does ([`crate::session::live`]), what may be seen ([`crate::app::view`]).
//!
//! An order is carried out on the seat's own thread at the end of a step, written with that time to the journal, and
//! then acknowledged. If the program is killed before the write, the order was never acknowledged and the page sends
//! it again; if it is killed after the write, the order is repeated from the journal, and the page's repetition is
//! acknowledged without being carried out twice.

use super::copies::Lately;
use super::keep::{Allowed, AttemptRow, Journal, Keep, Kept, Standing};
use super::offers::{Offers, refused};
use super::texts::signals;
use crate::app::load::{self, Loaded};
use crate::app::results::Results;
use crate::app::terminal::tell;
use crate::app::trainee::{self, Trainee};
use crate::app::view::Known;
use crate::app::{Error, Options, Run};
use crate::bench::action::{Action, Note, Said};
use crate::bench::car::Car;
use crate::bench::record::{Entry, Kind};
use crate::report;
use crate::scenario::{Lid, Who, surprise};
use crate::session::desk::Reach;
use crate::session::live::{Beat, Live, Order, Pace, Stands};
use crate::session::{Prices, teach};
use crate::words::numbers::{UNITS, show_in};
use crate::words::{facts, say};
use serde::Deserialize;
use serde_json::{Value, json};
use std::net::IpAddr;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Instant;
use tokio::sync::mpsc::UnboundedSender;
use tokio::sync::{Notify, oneshot};

/// Fastest pace that can be set as a number.
const FASTEST: f64 = 1000.0;
/// Longest time that one press can run ahead \[s\].
const FURTHEST_S: f64 = 7200.0;
/// Maximum length of a mark's name.
const MARK: usize = 40;
/// How far a message's number may be ahead of the last one.
const MOST_AHEAD: u64 = 1_000_000;

/// What is sent to a page, or asked of its sending side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Out {
    /// A message.
    Text(String),
    /// An order is on disk: its number, and its result if it was not simply done.
    Done(u64, Option<String>),
    /// What the page wants drawn: the engine; and whether the page is hidden.
    Look(Option<bool>, Option<bool>),
    /// What the page already has of an attempt.
    Resume(u32, Known),
    /// The seat has another attempt.
    Anew,
    /// The last message, with the reason.
    Bye(&'static str),
}

/// A page that is connected.
#[derive(Debug, Clone)]
pub struct Page {
    /// Counts the seat's pages.
    pub number: u64,
    /// The address that it connected from.
    pub from: IpAddr,
    /// Channel to its sending side.
    pub to: UnboundedSender<Out>,
}

/// A page's message that has a number.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Asks {
    Act {
        act: Box<Action>,
        #[serde(default)]
        reach: Reach,
    },
    Answer {
        ask: String,
        says: Said,
    },
    Pass,
    Pace {
        #[serde(default)]
        pace: Option<f64>,
        #[serde(default)]
        step: Option<Step>,
    },
    On {
        seconds: f64,
    },
    Mark {
        name: String,
    },
    Rewind {
        mark: usize,
    },
    Fork,
    Join,
    Lid {
        open: bool,
    },
    HandIn,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Step {
    Tooth,
    Cycle,
}

/// An attempt under way.
#[derive(Debug)]
pub struct Attempt {
    /// Its row in the database.
    pub row: AttemptRow,
    /// The scenario.
    pub loaded: Loaded,
    car: Car,
    /// Its desk.
    pub live: Live,
    journal: Arc<Journal>,
    taken: Mutex<u64>,
    /// Notifies those who wait for its end.
    pub ended: Arc<Notify>,
}

impl Attempt {
    /// Begins an attempt, or continues one from its journal.
    pub fn begin(keep: &Keep, word: &str, row: AttemptRow) -> Result<Self, Error> {
        let who = if row.variants { Some(who(keep, word, &row.lesson)?) } else { None };
        let origin = load::Origin::find(keep, &row.lesson)?;
        let loaded = origin.read(who.as_ref())?;
        let (journal, Kept { past, last_n, handed_in }) = Journal::open(&keep.journal(row.seat, row.number))?;
        let car = Car::parse(&loaded.scenario.setup.car_toml).map_err(|e| Error::rule(e.to_string()))?;
        let ended = Arc::new(Notify::new());
        let wake = Arc::clone(&ended);
        let options = Options { use_cache: true, ..Options::default() };
        let live =
            Live::resume(loaded.scenario.clone(), options, past, Beat::MANY, move || wake.notify_one());
        // time is held until a page is connected and the instructor lets it run
        live.order(Order::Hold(true));
        if handed_in {
            // it was handed in, but its results were not stored yet
            live.order(Order::HandIn);
        }
        Ok(Self { row, loaded, car, live, journal: Arc::new(journal), taken: Mutex::new(last_n), ended })
    }

    /// Whether this lesson's lid is open from the start.
    pub fn always_open(loaded: &Loaded) -> bool {
        loaded.scenario.about.lid == Lid::Open
    }

    /// The number of the last order accepted.
    pub fn last_n(&self) -> u64 {
        *self.taken.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// An instructor's order: it is written to the journal, and nobody receives an answer.
    pub fn order(&self, order: Order) -> bool {
        self.order_then(order, |_, _| ())
    }

    /// An order that does not come from a page; `then` receives the result once the order is in the journal.
    pub fn order_then(&self, order: Order, then: impl FnOnce(&Stands<'_>, f64) + Send + 'static) -> bool {
        let (journal, kept) = (Arc::clone(&self.journal), order.clone());
        self.live.order_then(order, move |stands, at_s| match journal.order(None, at_s, kept) {
            Ok(()) => then(stands, at_s),
            Err(e) => tell(&say!("class-journal", why = e.to_string())),
        })
    }

    /// The act of a fault of this level: the one that is named, or any that can be applied now, by the seat's own
    /// seed; none before hand-over.
    pub async fn surprise(&self, level: u8, fault: Option<&str>) -> Option<Action> {
        let (give, get) = oneshot::channel();
        self.live.hear(move |stands| {
            let session = stands.desk.session();
            let _ = give.send((session.bench().turning(), session.faults_applied()));
        });
        let (turning, before) = get.await.ok()?;
        let has = self.car.has();
        let seed = self.loaded.scenario.setup.seed;
        match fault {
            None => surprise::any_of(level, turning, &has, seed, before),
            Some(id) => {
                let one = surprise::of_level(level, turning).find(|s| s.id == id)?;
                Some(one.action(&has, seed, before))
            }
        }
    }

    /// Writes the time reached to the journal.
    pub fn note_time(&self) {
        let journal = Arc::clone(&self.journal);
        self.live.hear(move |stands| {
            // a failure here loses time, not work: the next line repeats it
            let _ = journal.time(stands.desk.time_s());
        });
    }

    /// Converts a page's request to an order, or says why it is refused.
    fn order_of(&self, asks: Asks, allowed: Allowed) -> Result<Order, String> {
        let may = |may: bool, order: Order| if may { Ok(order) } else { Err(say("class-not-allowed")) };
        match asks {
            Asks::Act { act, reach } => match refused(&act, &self.car) {
                Some(why) => Err(why),
                None => Ok(Order::Do(*act, reach)),
            },
            Asks::Answer { ask, says } => {
                let note = match (ask.as_str(), says) {
                    ("cause", Said::Word(id)) => Note::Cause(id),
                    (_, says) => Note::Answer { ask, says },
                };
                match teach::check_note(&self.loaded.scenario, &note) {
                    Ok(()) => Ok(Order::Do(Action::Note(note), Reach::Both)),
                    Err(_) => Err(say("class-no-such-answer")),
                }
            }
            Asks::Pass => Ok(Order::Pass),
            Asks::Pace { step: Some(Step::Tooth), .. } => may(allowed.pace, Order::Tooth),
            Asks::Pace { step: Some(Step::Cycle), .. } => may(allowed.pace, Order::Cycle),
            Asks::Pace { pace, .. } => may(allowed.pace, Order::Pace(pace_of(pace)?)),
            Asks::On { seconds } if (0.0..=FURTHEST_S).contains(&seconds) => {
                may(allowed.pace, Order::On(seconds))
            }
            Asks::On { .. } => Err(say("class-out-of-range")),
            Asks::Mark { name } => {
                let name: String = name.chars().filter(|c| !c.is_control()).take(MARK).collect();
                Ok(Order::Mark(name))
            }
            Asks::Rewind { mark } => may(allowed.rewind, Order::Rewind(mark)),
            Asks::Fork => may(allowed.fork, Order::Fork),
            Asks::Join => Ok(Order::Join),
            Asks::Lid { open } => may(allowed.lid || !open, Order::Lid(open)),
            Asks::HandIn => Ok(Order::HandIn),
        }
    }

    /// Handles a numbered message from a page; the result is sent to the page.
    fn take(&self, n: u64, message: Value, allowed: Allowed, to: &UnboundedSender<Out>) {
        let ack = move |to: &UnboundedSender<Out>, told| {
            let _ = to.send(Out::Done(n, told));
        };
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        if n <= *taken {
            // this waits for the order that is being carried out; after that, it is on disk
            let to = to.clone();
            self.live.hear(move |_| ack(&to, None));
            return;
        }
        // a number far ahead would make every later message look like one that was taken already
        if n - *taken > MOST_AHEAD {
            refuse(to, n, &say("class-not-understood"));
            return;
        }
        let order = serde_json::from_value::<Asks>(message)
            .map_err(|_| say("class-not-understood"))
            .and_then(|asks| self.order_of(asks, allowed));
        *taken = n;
        let order = match order {
            Ok(order) => order,
            Err(why) => {
                refuse(to, n, &why);
                return;
            }
        };
        let (journal, kept, to) = (Arc::clone(&self.journal), order.clone(), to.clone());
        let may_tell = matches!(order, Order::Do(..) | Order::Pass | Order::Rewind(_) | Order::Lid(_));
        self.live.order_then(order, move |stands, at_s| match journal.order(Some(n), at_s, kept) {
            Ok(()) => ack(&to, stands.said.filter(|_| may_tell).map(facts::told)),
            Err(e) => {
                let why = say!("class-journal", why = e.to_string());
                let _ = to.send(Out::Text(json!({ "kind": "told", "n": n, "text": why }).to_string()));
            }
        });
    }

    /// The lesson's public part for `hello`, once the car is handed over; before that, without the offers.
    pub async fn lesson(&self) -> Value {
        let about = &self.loaded.scenario.about;
        let [own, always] = report::job_cautions(&about.cautions)
            .map(|all| all.into_iter().map(|c| c.says).collect::<Vec<_>>());
        let mut lesson = json!({
            "id": about.id,
            "title": about.title,
            "complaint": about.complaint,
            "cautions": own,
            "always": always,
            "causes": self.loaded.scenario.plan.iter().flat_map(|p| &p.causes).map(|c| (&c.id, &c.says)).collect::<Vec<_>>(),
            "car": {
                "title": self.car.title,
                "odometer_km": self.loaded.scenario.setup.odometer_km,
                "cylinders": self.car.cylinders(),
                "banks": self.car.banks(),
                "air_meter": self.car.has().air_meter,
                "phaser": self.car.has().phaser,
                "egr": self.car.has().egr,
                "firing_order": self.car.firing_order(),
            },
        });
        let (give, get) = oneshot::channel();
        self.live.hear(move |stands| {
            let bench = stands.desk.session().bench();
            let learned: Vec<String> = bench.observe().learned.into_iter().map(|l| l.name).collect();
            let kept = own_log(stands)
                .iter()
                .any(|e| matches!(e.kind, Kind::Act { action: Action::Note(Note::Cautions), .. }));
            let _ = give.send((json!(bench.engine_shape()), learned, kept));
        });
        if let Ok((shape, learned, kept)) = get.await
            && let Ok(prices) = Prices::shipped()
        {
            let offers = Offers::new(&self.car, &prices, &learned);
            lesson["shape"] = shape;
            lesson["cautions_kept"] = json!(kept);
            lesson["hands"] = offers.hands();
            lesson["groups"] = offers.groups();
            lesson["signals"] = signals(false);
        }
        lesson
    }
}

/// Answers a numbered message that is not carried out.
fn refuse(to: &UnboundedSender<Out>, n: u64, why: &str) {
    let _ = to.send(Out::Text(json!({ "kind": "ack", "n": n, "refused": why }).to_string()));
}

/// The trainee whose variant a seat gets, sealed with the class's key.
fn who(keep: &Keep, word: &str, lesson: &str) -> Result<Who, Error> {
    let seed = keep.get("seed")?.and_then(|s| s.parse().ok()).unwrap_or(0);
    let plain = trainee::named(Some(seed), Some(word))?.ok_or_else(|| Error::rule(word))?;
    let loaded = load::scenario(keep, lesson, &Trainee::default())?;
    let key = trainee::key(keep, "key")?;
    let hash = crate::bench::record::hash_of_text(&loaded.text);
    let seal = key.seal(&loaded.scenario.about.id, &hash, &plain);
    Ok(Who { seal: Some(seal), ..plain })
}

/// A pace from a number; without one, as fast as possible.
pub fn pace_of(pace: Option<f64>) -> Result<Pace, String> {
    match pace {
        None => Ok(Pace::Flat),
        Some(0.0) => Ok(Pace::Paused),
        Some(x) if x > 0.0 && x <= FASTEST => Ok(Pace::Times(x)),
        Some(_) => Err(say("class-out-of-range")),
    }
}

/// The logbook from hand-over on, as recorded by the bench.
pub fn own_log<'a>(stands: &Stands<'a>) -> &'a [Entry] {
    let session = stands.desk.session();
    let log = session.bench().log();
    let from = log.partition_point(|e| e.t_s < session.hand_over_s());
    &log[from..]
}

/// The current state of a seat.
#[derive(Debug)]
pub struct State {
    /// Hash of its cookie's secret.
    pub token: String,
    /// What it may do.
    pub allowed: Allowed,
    /// The instructor has paused it.
    pub paused: bool,
    /// The attempt under way.
    pub attempt: Option<Arc<Attempt>>,
    /// Attempts that have ended, and the one under way as it began.
    pub rows: Vec<AttemptRow>,
    /// The page that is connected.
    pub page: Option<Page>,
    /// When its last page disconnected; none if there was none since the program started.
    pub left: Option<Instant>,
    /// When something was last done at it.
    pub last_act: Instant,
    /// The recent acts.
    pub lately: Lately,
    /// When the exam ends \[ms since 1970\].
    pub exam_ends_ms: Option<i64>,
    /// Port at which its module answers testers.
    pub tester_port: Option<u16>,
    held: bool,
    pages: u64,
}

/// A seat.
#[derive(Debug)]
pub struct Seat {
    /// Its number.
    pub id: u32,
    /// Its pseudonym.
    pub word: String,
    /// It was deleted.
    pub gone: AtomicBool,
    state: Mutex<State>,
}

impl Seat {
    /// A seat from its stored data.
    pub fn new(
        id: u32,
        word: String,
        token: String,
        allowed: Allowed,
        rows: Vec<AttemptRow>,
        now: Instant,
    ) -> Self {
        let state = State {
            token,
            allowed,
            paused: false,
            attempt: None,
            rows,
            page: None,
            left: None,
            last_act: now,
            lately: Lately::default(),
            exam_ends_ms: None,
            tester_port: None,
            held: false,
            pages: 0,
        };
        Self { id, word, gone: AtomicBool::new(false), state: Mutex::new(state) }
    }

    /// The current state.
    pub fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
    /// The attempt under way.
    pub fn attempt(&self) -> Option<Arc<Attempt>> {
        self.state().attempt.clone()
    }

    /// Its settings that are independent of its attempts.
    pub fn stands(&self) -> Standing {
        let state = self.state();
        Standing { allowed: state.allowed, paused: state.paused }
    }

    /// Another page takes over the seat; the previous one is notified.
    pub fn connect(&self, to: UnboundedSender<Out>, from: IpAddr) -> u64 {
        let mut state = self.state();
        if let Some(before) = state.page.take() {
            let _ = before.to.send(Out::Bye("elsewhere"));
        }
        state.pages += 1;
        let number = state.pages;
        state.page = Some(Page { number, from, to });
        number
    }
    /// A page has disconnected.
    pub fn disconnect(&self, page: u64, now: Instant) {
        let mut state = self.state();
        if state.page.as_ref().is_some_and(|p| p.number == page) {
            state.page = None;
            state.left = Some(now);
        }
    }
    /// Records activity at the seat, of whatever kind.
    pub fn was_at_work(&self) {
        self.state().last_act = super::now();
    }
    /// Sends a message to the page, if one is connected.
    pub fn tell(&self, message: &Value) {
        if let Some(page) = &self.state().page {
            let _ = page.to.send(Out::Text(message.to_string()));
        }
    }

    /// Whether no page has been connected for a while.
    pub fn is_away(&self, now: Instant) -> bool {
        let state = self.state();
        state.page.is_none() && state.left.is_none_or(|left| now.duration_since(left) > super::AWAY)
    }

    /// Holds time while the instructor has paused the seat, and while nobody is there.
    pub fn hold(&self, away: bool) {
        let mut state = self.state();
        let wanted = state.paused || away;
        if state.held != wanted
            && let Some(attempt) = &state.attempt
        {
            attempt.live.order(Order::Hold(wanted));
            state.held = wanted;
        }
    }

    /// Gives the seat an attempt: a previous one that was not handed in is discarded.
    pub fn give(&self, attempt: Attempt) -> Arc<Attempt> {
        let attempt = Arc::new(attempt);
        let mut state = self.state();
        state.held = true;
        let row = attempt.row.clone();
        match state.rows.iter_mut().find(|r| r.number == row.number) {
            Some(own) => *own = row,
            None => state.rows.push(row),
        }
        // a later attempt may have been ready sooner
        if state.rows.iter().all(|r| r.number <= attempt.row.number) {
            state.attempt = Some(Arc::clone(&attempt));
        }
        attempt
    }

    /// The row of a further attempt, with its number; it is added to the list at once, so that no other gets the
    /// number.
    pub fn next_row(&self, make: impl FnOnce(u32) -> AttemptRow) -> AttemptRow {
        let mut state = self.state();
        let row = make(state.rows.iter().map(|r| r.number).max().unwrap_or(0) + 1);
        state.rows.push(row.clone());
        row
    }

    /// Handles a numbered message from a page.
    pub fn take(&self, n: u64, message: Value, to: &UnboundedSender<Out>, now: Instant) {
        let (attempt, allowed) = {
            let mut state = self.state();
            state.last_act = now;
            if let Some(act) = message.get("act") {
                state.lately.add(now, act);
            }
            // while the instructor has paused the seat, stepping the crank is not allowed either
            let pace = state.allowed.pace && !state.paused;
            (state.attempt.clone(), Allowed { pace, ..state.allowed })
        };
        // before hand-over nothing can be done: the page sends the message again after `hello`
        match attempt {
            Some(attempt) if attempt.live.conditioning().is_none() => attempt.take(n, message, allowed, to),
            Some(_) => {}
            None => refuse(to, n, &say("class-nothing-under-way")),
        }
    }

    /// The state of its attempt, for `hello` and `state`.
    pub fn standing(&self) -> Value {
        let state = self.state();
        let last = state.rows.last();
        let word = match (&state.attempt, last) {
            (Some(a), _) if a.live.conditioning().is_some() => "preparing",
            (Some(_), _) => "under_way",
            (None, Some(row)) if row.handed_in => "handed_in",
            _ => "none",
        };
        json!({
            "attempt": {
                "number": last.map_or(0, |r| r.number),
                "state": word,
                "last_n": state.attempt.as_ref().map_or(0, |a| a.last_n()),
                "exam": last.is_some_and(|r| r.exam),
                "released": last.is_some_and(|r| r.released),
                "clock_left_s": state.exam_ends_ms.map(|ms| (ms - super::now_ms()).max(0) / 1000),
            },
            "allowed": state.allowed,
            "held_by_instructor": state.paused,
            "tester_port": state.tester_port,
        })
    }

    /// Stores the results of an attempt that was handed in: logbook, debrief and marks.
    pub fn keep_result(&self, keep: &Keep, attempt: &Attempt, run: &Run, ended_ms: i64) -> Result<(), Error> {
        let results = Results { run, scenario: &attempt.loaded.text, actions: None };
        let (seat, number) = (attempt.row.seat, attempt.row.number);
        keep.write(&keep.logbook(seat, number), &results.logbook().1)?;
        for units in UNITS {
            let _units = show_in(units);
            keep.write(&keep.debrief(seat, number, units), &crate::app::results::page(run))?;
        }
        let grade = run.grade.as_ref();
        let row = AttemptRow {
            handed_in: true,
            ended_ms: Some(ended_ms),
            points: grade.map(|g| g.points),
            most: grade.map(|g| g.of),
            closed: grade.map(|g| g.closed),
            minutes: Some(run.job.minutes),
            money: Some(run.job.money),
            state_hash: Some(run.bench.state_hash()),
            ..attempt.row.clone()
        };
        keep.put_attempt(&row)?;
        let mut state = self.state();
        match state.rows.iter_mut().find(|r| r.number == number) {
            Some(own) => *own = row,
            None => state.rows.push(row),
        }
        if state.attempt.as_ref().is_some_and(|a| a.row.number == number) {
            state.attempt = None;
        }
        Ok(())
    }

    /// The seat was deleted: its page is notified, and nothing more is stored.
    pub fn remove(&self) {
        self.gone.store(true, Ordering::Relaxed);
        let mut state = self.state();
        if let Some(page) = state.page.take() {
            let _ = page.to.send(Out::Bye("removed"));
        }
        state.attempt = None;
    }
}
