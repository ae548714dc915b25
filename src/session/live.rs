//! A desk on a thread of its own: paced by the wall clock, controlled by orders, observed through views.
//!
//! *Inside*: orders, views; in `running` the loop and its pace. *Outside*: what an order does
//! ([`crate::session::desk`]).
//!
//! The bench runs whole steps; the clock decides only how many. An order is carried out at the end of a step and is
//! recorded in the logbook with that time, so that a replay needs no clock. At most some sixty views a second are
//! made, however fast the bench runs; trace rows accumulate until they are taken.

mod running;
mod tube;

pub use self::tube::{MOST as MOST_IN_TUBE, Tube};

use self::running::run_thread;
use crate::bench::action::Action;
use crate::bench::facts::Told;
use crate::bench::record::Entry;
use crate::bench::trace::COLUMNS;
use crate::bench::view::{EngineView, GasTruth, HandsView, Observation, Truth};
use crate::lesson::Grade;
use crate::scenario::{ActionFile, Ask, Lid, Scenario};
use crate::session::desk::{Desk, MarkName, Reach};
use crate::session::teach::{Came, Question};
use crate::session::viewer::{hides, kept_back, visible};
use crate::session::{Error, Job, Options, Run};
use serde::{Deserialize, Serialize};
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

/// The pace of simulated time.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pace {
    /// Paused.
    #[default]
    Paused,
    /// Simulated seconds per second.
    Times(f64),
    /// As fast as possible.
    Flat,
}

impl Pace {
    /// Slow enough to see a piston move.
    pub const SLOW: Pace = Pace::Times(0.02);
    /// Real time.
    pub const REAL: Pace = Pace::Times(1.0);
}

/// How a thread divides its time between the bench and other work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Beat {
    /// Longest sleep between two slices while time runs.
    pub rest: Duration,
    /// Views and rows are made for [`Live::view`] and [`Live::take`]; otherwise observers ask for them
    /// ([`Live::hear`]).
    pub views: bool,
}

impl Beat {
    /// One desk, drawn in every frame.
    pub const SCREEN: Beat = Beat { rest: Duration::from_millis(1), views: true };
    /// One of many desks, each looked at a few times a second.
    pub const MANY: Beat = Beat { rest: Duration::from_millis(80), views: false };
}

/// Earlier orders, each with its simulated time \[s\], and the time reached \[s\]: a desk restored from them is in
/// the same state as the one that carried them out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Past {
    /// Orders in the order in which they were carried out.
    pub orders: Vec<(f64, Order)>,
    /// Time reached after the last of them.
    pub until_s: f64,
}

/// An order to the desk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Order {
    /// Does an act; a mark is set before it. An act that takes the car away for a time (a drive, a rest, months) is
    /// run to its end as fast as possible.
    Do(Action, Reach),
    /// An instructor injects a fault: no question precedes it, and the mark does not say which fault it is.
    InjectFault(Action, Reach),
    /// Skips the questions: the waiting act is done.
    Pass,
    /// Holds time, whatever the pace, until it is released; the release also acknowledges the outcome of a
    /// prediction.
    Hold(bool),
    /// Sets another pace.
    Pace(Pace),
    /// Advances one tooth, then pauses.
    Tooth,
    /// Advances one working cycle, then pauses.
    Cycle,
    /// Runs as fast as possible to a simulated time \[s\], then returns to the previous pace.
    To(f64),
    /// The same, for a duration \[s\].
    On(f64),
    /// Sets a mark.
    Mark(String),
    /// Goes back to a mark.
    Rewind(usize),
    /// Forks into two futures.
    Fork,
    /// Returns to one future.
    Join,
    /// Opens or closes the lid.
    Lid(bool),
    /// Hands the attempt in; the thread ends.
    HandIn,
    /// Discards the attempt; the thread ends.
    Leave,
}

/// The state of one of two futures.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Side {
    /// What can be observed.
    pub seen: Observation,
    /// Positions of the driver's controls.
    pub hands: HandsView,
    /// Positions of the engine's parts.
    pub engine: EngineView,
    /// Truth, under an open lid.
    pub truth: Option<Truth>,
    /// The gas in the cylinders, under an open lid.
    pub gas: Option<Vec<GasTruth>>,
}

/// A mark as shown.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkView {
    /// Its name.
    pub name: MarkName,
    /// When \[s\].
    pub at_s: f64,
    /// Set by the user.
    pub named: bool,
}

/// The data for drawing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct View {
    /// Incremented with every view.
    pub number: u64,
    /// Simulated time \[s\].
    pub time_s: f64,
    /// When the car was handed over \[s\].
    pub hand_over_s: f64,
    /// The requested pace.
    pub pace: Pace,
    /// The pace reached, while time runs.
    pub reached: Option<f64>,
    /// Target time of a run as fast as possible \[s\].
    pub runs_to_s: Option<f64>,
    /// Start time of that run \[s\].
    pub runs_from_s: f64,
    /// The first future.
    pub first: Side,
    /// The second.
    pub second: Option<Side>,
    /// Time of the fork \[s\].
    pub forked_s: Option<f64>,
    /// The lid is open.
    pub lid_open: bool,
    /// Marks.
    pub marks: Vec<MarkView>,
    /// The job card.
    pub job: Job,
    /// Questions that must be answered or skipped before the waiting act is done.
    pub questions: Vec<Question>,
    /// Questions that came up and are still open; an answer may still be given.
    pub open: Vec<Ask>,
    /// Result of the last act if it was not simply done: prevented, refused.
    pub said: Option<Told>,
    /// Outcome of an answered question, once it is known; time is held until it is released.
    pub came: Option<Came>,
    /// The driver has pedal and brake in at least one of the futures.
    pub driving: bool,
    /// Turns of the crank since the bench began.
    pub turns: f64,
    /// The grade so far; under an open lid only, because points reveal truth.
    pub grade: Option<Grade>,
}

impl View {
    /// The car after the attempt was handed in, for viewing, with its rows and its logbook; with truth if that is
    /// requested and the scenario does not lock the lid. The attempt is over: nothing of this is stored.
    pub fn look_back(&mut self, rows: &mut Rows, run: &Run, truth: bool) {
        let open = truth && run.scenario.about.lid != Lid::Locked;
        let bench = &run.bench;
        let mut seen = bench.observe();
        if !open {
            kept_back(&mut seen, hides(&run.scenario));
        }
        self.first = Side {
            seen,
            hands: bench.hands(),
            engine: bench.engine_view(),
            truth: open.then(|| bench.truth()),
            gas: open.then(|| bench.gas_truth()),
        };
        (self.second, self.forked_s, self.came) = (None, None, None);
        (self.pace, self.reached, self.runs_to_s) = (Pace::Paused, None, None);
        (self.questions, self.open) = (Vec::new(), Vec::new());
        (self.time_s, self.lid_open, self.driving) = (bench.time_s(), open, false);
        self.job = run.job.clone();
        let told = move |(k, x): (usize, &f64)| if COLUMNS[k].truth && !open { f64::NAN } else { *x };
        let first = run.trace.rows().flat_map(move |row| row.iter().enumerate().map(told)).collect();
        let log = visible(bench.log(), run.own_lines, open, &run.scenario);
        *rows = Rows { epoch: rows.epoch + 1, first, second: Vec::new(), log };
    }
}

/// Rows of the trace since the epoch began.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rows {
    /// Incremented when earlier rows are no longer valid: take all of them again.
    pub epoch: u64,
    /// Rows of the first future, each as long as the columns; truth is NaN while the lid is closed.
    pub first: Vec<f64>,
    /// Rows of the second future.
    pub second: Vec<f64>,
    /// The readable part of the logbook.
    pub log: Vec<Entry>,
}

/// A desk between two steps, and the state of the work at it.
#[derive(Debug, Clone, Copy)]
pub struct Stands<'a> {
    /// The desk.
    pub desk: &'a Desk,
    /// Questions that must be answered or skipped before the waiting act is done.
    pub questions: &'a [Question],
    /// Result of the last act if it was not simply done.
    pub said: Option<&'a Told>,
    /// The requested pace.
    pub pace: Pace,
    /// The pace reached, while time runs.
    pub reached: Option<f64>,
    /// Target time of a run as fast as possible \[s\].
    pub runs_to_s: Option<f64>,
    /// Start time of that run \[s\].
    pub runs_from_s: f64,
    /// The act that waits for answers to questions.
    pub waits: Option<&'a Action>,
    /// Time is held.
    pub held: bool,
}

/// A callback that looks at a desk between two steps.
type Look = Box<dyn FnOnce(&Stands<'_>) + Send>;
/// A callback after an order was carried out, with the simulated time at which it was \[s\].
type Then = Box<dyn FnOnce(&Stands<'_>, f64) + Send>;

/// A message to the thread.
#[expect(clippy::large_enum_variant, reason = "orders come seldom; a part's choice is plain to match on")]
enum Heard {
    Order(Order, Option<Then>),
    Look(Look),
}

#[derive(Debug, Default)]
struct Shared {
    view: View,
    /// Rows not taken yet.
    rows: Rows,
    /// All rows taken earlier are no longer valid.
    anew: bool,
    run: Option<Box<Run>>,
    trouble: Option<Trouble>,
    conditioning: Option<f64>,
    /// Where sound goes, if somebody listens.
    tube: Option<Arc<Tube>>,
}

/// Why a desk's thread ended early.
#[derive(Debug, Clone, PartialEq)]
pub enum Trouble {
    /// The system could not create a thread.
    NoThread,
    /// The session could not be created.
    Session(Error),
}

/// A desk on its own thread.
#[derive(Debug)]
pub struct Live {
    orders: Sender<Heard>,
    shared: Arc<Mutex<Shared>>,
    thread: Option<JoinHandle<()>>,
}

fn lock(shared: &Mutex<Shared>) -> MutexGuard<'_, Shared> {
    // shared data is replaced as a whole, so a thread that died left nothing half-written
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Live {
    /// Starts: conditioning and the scenario's own acts first, then the car is handed over, paused. `wake` is
    /// called after each new view.
    pub fn start(scenario: Scenario, options: Options, wake: impl Fn() + Send + 'static) -> Self {
        Self::resume(scenario, options, Past::default(), Beat::SCREEN, wake)
    }

    /// Starts, repeats the earlier orders, and continues from there.
    pub fn resume(
        scenario: Scenario,
        options: Options,
        past: Past,
        beat: Beat,
        wake: impl Fn() + Send + 'static,
    ) -> Self {
        Self::on_thread((scenario, None), options, past, beat, wake)
    }

    /// Starts; an action file's acts are done at their own times after hand-over, besides the orders.
    pub fn with_hands(
        scenario: Scenario,
        actions: Option<ActionFile>,
        options: Options,
        beat: Beat,
        wake: impl Fn() + Send + 'static,
    ) -> Self {
        Self::on_thread((scenario, actions), options, Past::default(), beat, wake)
    }

    fn on_thread(
        of: (Scenario, Option<ActionFile>),
        options: Options,
        past: Past,
        beat: Beat,
        wake: impl Fn() + Send + 'static,
    ) -> Self {
        let (orders, heard) = channel();
        let shared = Arc::new(Mutex::new(Shared { conditioning: Some(0.0), ..Shared::default() }));
        let theirs = Arc::clone(&shared);
        let thread = std::thread::Builder::new()
            .name("bench".into())
            .spawn(move || run_thread(&of, options, (past, beat), &heard, &theirs, &wake))
            .ok();
        if thread.is_none() {
            lock(&shared).trouble = Some(Trouble::NoThread);
        }
        Self { orders, shared, thread }
    }

    /// Gives an order; false once the thread has ended.
    pub fn order(&self, order: Order) -> bool {
        self.orders.send(Heard::Order(order, None)).is_ok()
    }
    /// The same; `then` is called on the thread once the order was carried out, before the next message is handled.
    pub fn order_then(&self, order: Order, then: impl FnOnce(&Stands<'_>, f64) + Send + 'static) -> bool {
        self.orders.send(Heard::Order(order, Some(Box::new(then)))).is_ok()
    }
    /// Looks at the desk between two steps; none before the car is handed over and after the thread has ended.
    pub fn look<T: Send + 'static>(&self, look: impl FnOnce(&Stands<'_>) -> T + Send + 'static) -> Option<T> {
        let (give, get) = channel();
        let heard = self.hear(move |stands| {
            // the caller may be gone
            let _ = give.send(look(stands));
        });
        if heard { get.recv().ok() } else { None }
    }
    /// The same without waiting: `look` is called on the thread; it is dropped where [`Live::look`] would return
    /// none.
    pub fn hear(&self, look: impl FnOnce(&Stands<'_>) + Send + 'static) -> bool {
        self.orders.send(Heard::Look(Box::new(look))).is_ok()
    }
    /// The latest view.
    pub fn view(&self) -> View {
        lock(&self.shared).view.clone()
    }
    /// Appends the new rows to those taken earlier, or replaces them if the epoch has changed; also takes the present
    /// logbook. Rows that were taken are not kept here: there can be only one taker.
    pub fn take(&self, known: &mut Rows) {
        let mut shared = lock(&self.shared);
        if std::mem::take(&mut shared.anew) {
            *known = Rows { log: shared.rows.log.clone(), ..Rows::default() };
        }
        let new = &mut shared.rows;
        known.epoch = new.epoch;
        for (known, new) in [(&mut known.first, &mut new.first), (&mut known.second, &mut new.second)] {
            if known.capacity() - known.len() < new.len() {
                // grow by an eighth: a vector of two hours is large, and would double otherwise
                known.reserve_exact(new.len() + known.len() / 8);
            }
            known.append(new);
        }
        if known.log.len() != new.log.len() {
            known.log.clone_from(&new.log);
        }
    }
    /// Begins or ends to listen: what is heard of the first future goes into this tube, at real pace alone. Nothing
    /// is played faster or slower than it is: it would sound like another engine.
    pub fn sound_into(&self, tube: Option<&Arc<Tube>>) {
        lock(&self.shared).tube = tube.cloned();
    }
    /// Progress of driving the car's earlier life; none once the car is handed over.
    pub fn conditioning(&self) -> Option<f64> {
        lock(&self.shared).conditioning
    }
    /// Why the thread ended early.
    pub fn trouble(&self) -> Option<Trouble> {
        lock(&self.shared).trouble.clone()
    }
    /// The attempt, once it was handed in and its thread has ended; returned at most once.
    pub fn handed_in(&self) -> Option<Run> {
        lock(&self.shared).run.take().map(|r| *r)
    }
    /// Waits until the thread ends.
    pub fn wait(&mut self) {
        if let Some(t) = self.thread.take() {
            let _ = t.join();
        }
    }
}

impl Drop for Live {
    fn drop(&mut self) {
        let _ = self.orders.send(Heard::Order(Order::Leave, None));
        self.wait();
    }
}
