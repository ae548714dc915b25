//! A desk on a thread of its own: paced by the wall clock, reached by orders, looked at through a view.
//!
//! *Inside*: orders, what is handed out; in `running` the loop and its pace. *Outside*: what an order does ([`crate::session::desk`]).
//!
//! The bench is asked for whole steps; how many is all that the clock decides. An order is done at the end of a
//! step and stands in the logbook with that time, so that a replay needs no clock. A view is made some sixty times
//! a second at most, however fast the bench runs; rows of the trace pile up until they are taken.

mod running;

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

/// How fast simulated time goes.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pace {
    /// It stands.
    #[default]
    Paused,
    /// So many simulated seconds in a second.
    Times(f64),
    /// As fast as it goes.
    Flat,
}

impl Pace {
    /// Slow enough to see a piston move.
    pub const SLOW: Pace = Pace::Times(0.02);
    /// As on a car.
    pub const REAL: Pace = Pace::Times(1.0);
}

/// How a thread spends its time beside the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Beat {
    /// Longest rest between two pieces while time runs.
    pub rest: Duration,
    /// Views and rows are made for [`Live::view`] and [`Live::take`]; else who looks asks for them ([`Live::hear`]).
    pub views: bool,
}

impl Beat {
    /// One desk, drawn in every frame.
    pub const SCREEN: Beat = Beat { rest: Duration::from_millis(1), views: true };
    /// One of many desks, each looked at a few times a second.
    pub const MANY: Beat = Beat { rest: Duration::from_millis(40), views: false };
}

/// What was ordered before, each with its simulated time \[s\], and the time that was reached \[s\]: a desk that is made
/// from it stands where the one stood that took the orders.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Past {
    /// Orders in the order in which they were taken.
    pub orders: Vec<(f64, Order)>,
    /// How far time ran after the last of them.
    pub until_s: f64,
}

/// What somebody at the desk wants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Order {
    /// A hand moves; a mark is set before it. What takes the car away for so long (a drive, a rest, months) is run to
    /// its end as fast as it goes.
    Do(Action, Reach),
    /// An instructor makes something ill: nothing is asked before it, and the mark does not say what it was.
    InjectFault(Action, Reach),
    /// What is asked is passed over: the act that waits is done.
    Pass,
    /// Time stands, whatever the pace, until it is let go again. What came of a prediction was looked at with that.
    Hold(bool),
    /// Another pace.
    Pace(Pace),
    /// One tooth, then stand.
    Tooth,
    /// One working cycle, then stand.
    Cycle,
    /// As fast as it goes to a simulated time \[s\], then the pace before.
    To(f64),
    /// The same for so long \[s\].
    On(f64),
    /// Sets a mark.
    Mark(String),
    /// Back to a mark.
    Rewind(usize),
    /// Two futures from here.
    Fork,
    /// One future again.
    Join,
    /// The lid.
    Lid(bool),
    /// The attempt is handed in; the thread ends.
    HandIn,
    /// The attempt is thrown away; the thread ends.
    Leave,
}

/// One of two futures as it stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Side {
    /// What is seen.
    pub seen: Observation,
    /// Where the driver's controls stand.
    pub hands: HandsView,
    /// Where the engine's parts stand.
    pub engine: EngineView,
    /// Truth, under an open lid.
    pub truth: Option<Truth>,
    /// The gas in the cylinders, under an open lid.
    pub gas: Option<Vec<GasTruth>>,
}

/// A mark as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkView {
    /// Its name.
    pub name: MarkName,
    /// When \[s\].
    pub at_s: f64,
    /// Somebody set it.
    pub named: bool,
}

/// What is handed out to be drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct View {
    /// Counts up with every view.
    pub number: u64,
    /// Simulated time \[s\].
    pub time_s: f64,
    /// When the car was handed over \[s\].
    pub hand_over_s: f64,
    /// The pace that was asked for.
    pub pace: Pace,
    /// The pace that is reached, while it runs.
    pub reached: Option<f64>,
    /// Where it runs to as fast as it goes \[s\].
    pub runs_to_s: Option<f64>,
    /// Where that began \[s\].
    pub runs_from_s: f64,
    /// The first future.
    pub first: Side,
    /// The second.
    pub second: Option<Side>,
    /// When they parted \[s\].
    pub forked_s: Option<f64>,
    /// The lid.
    pub lid_open: bool,
    /// Marks.
    pub marks: Vec<MarkView>,
    /// The job card.
    pub job: Job,
    /// What must be answered or passed over before the act that waits is done.
    pub questions: Vec<Question>,
    /// Questions that came up and stand open; an answer may still be given.
    pub open: Vec<Ask>,
    /// What came of the last act that was not simply done: hindered, refused.
    pub said: Option<Told>,
    /// What came of a question that was answered, now that it is known; time stands until it is let go again.
    pub came: Option<Came>,
    /// The driver of one future or the other has pedal and brake.
    pub driving: bool,
    /// Turns of the crank since the bench began.
    pub turns: f64,
    /// What it would be worth now; under an open lid only, since points tell.
    pub grade: Option<Grade>,
}

impl View {
    /// The car as it was handed over, for who looks at it afterwards, with its rows and its logbook; with truth, if that is
    /// wanted and the scenario does not lock it. The attempt is over: nothing of this is kept.
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
    /// Counts up when earlier rows are no longer what happened: take all anew.
    pub epoch: u64,
    /// The first future's, each as long as the columns; truth is no number while the lid is closed.
    pub first: Vec<f64>,
    /// The second's.
    pub second: Vec<f64>,
    /// The logbook, as it may be read.
    pub log: Vec<Entry>,
}

/// A desk between two steps, and how it is worked on.
#[derive(Debug, Clone, Copy)]
pub struct Stands<'a> {
    /// The desk.
    pub desk: &'a Desk,
    /// What must be answered or passed over before the act that waits is done.
    pub questions: &'a [Question],
    /// What came of the last act that was not simply done.
    pub said: Option<&'a Told>,
    /// The pace that was asked for.
    pub pace: Pace,
    /// The pace that is reached, while it runs.
    pub reached: Option<f64>,
    /// Where it runs to as fast as it goes \[s\].
    pub runs_to_s: Option<f64>,
    /// Where that began \[s\].
    pub runs_from_s: f64,
    /// The act that waits until questions are answered.
    pub waits: Option<&'a Action>,
    /// It was told to stand.
    pub held: bool,
}

/// A look at a desk between two steps.
type Look = Box<dyn FnOnce(&Stands<'_>) + Send>;
/// Hears of an order that was taken, with the simulated time at which it was \[s\].
type Then = Box<dyn FnOnce(&Stands<'_>, f64) + Send>;

/// What the thread hears.
#[expect(clippy::large_enum_variant, reason = "orders come seldom; a part's choice is plain to match on")]
enum Heard {
    Order(Order, Option<Then>),
    Look(Look),
}

#[derive(Debug, Default)]
struct Shared {
    view: View,
    /// What was not taken yet.
    rows: Rows,
    /// All that was taken before is no longer what happened.
    anew: bool,
    run: Option<Box<Run>>,
    trouble: Option<Trouble>,
    conditioning: Option<f64>,
}

/// What ended a desk's thread early.
#[derive(Debug, Clone, PartialEq)]
pub enum Trouble {
    /// The system gave none.
    NoThread,
    /// There is no session of what was asked for.
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
    // what is shared is put in whole, so a thread that died left nothing half-written
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Live {
    /// Starts: conditioning and the scenario's own acts first, then the car is handed over, paused. `wake` is
    /// called after each new view.
    pub fn start(scenario: Scenario, options: Options, wake: impl Fn() + Send + 'static) -> Self {
        Self::resume(scenario, options, Past::default(), Beat::SCREEN, wake)
    }

    /// Starts, does again what was ordered before, and goes on from there.
    pub fn resume(
        scenario: Scenario,
        options: Options,
        past: Past,
        beat: Beat,
        wake: impl Fn() + Send + 'static,
    ) -> Self {
        Self::on_thread((scenario, None), options, past, beat, wake)
    }

    /// Starts, with an action file's acts at their own times after hand-over beside whatever is ordered.
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
    /// The same; `then` is called on the thread once the order was taken, before anything else is heard.
    pub fn order_then(&self, order: Order, then: impl FnOnce(&Stands<'_>, f64) + Send + 'static) -> bool {
        self.orders.send(Heard::Order(order, Some(Box::new(then)))).is_ok()
    }
    /// Looks at the desk as it stands between two steps; none before the car is handed over and after the thread has
    /// ended.
    pub fn look<T: Send + 'static>(&self, look: impl FnOnce(&Stands<'_>) -> T + Send + 'static) -> Option<T> {
        let (give, get) = channel();
        let heard = self.hear(move |stands| {
            // who asked may have gone
            let _ = give.send(look(stands));
        });
        if heard { get.recv().ok() } else { None }
    }
    /// The same without waiting: `look` is called on the thread; it is dropped where [`Live::look`] gives none.
    pub fn hear(&self, look: impl FnOnce(&Stands<'_>) + Send + 'static) -> bool {
        self.orders.send(Heard::Look(Box::new(look))).is_ok()
    }
    /// The latest view.
    pub fn view(&self) -> View {
        lock(&self.shared).view.clone()
    }
    /// Puts the rows behind those that were taken before, or in their place where the epoch has changed; the logbook as it
    /// is now. What is taken is kept here no longer: one taker has it all.
    pub fn take(&self, known: &mut Rows) {
        let mut shared = lock(&self.shared);
        if std::mem::take(&mut shared.anew) {
            *known = Rows { log: shared.rows.log.clone(), ..Rows::default() };
        }
        let new = &mut shared.rows;
        known.epoch = new.epoch;
        for (known, new) in [(&mut known.first, &mut new.first), (&mut known.second, &mut new.second)] {
            if known.capacity() - known.len() < new.len() {
                // by an eighth: a vector of two hours is large, and would double
                known.reserve_exact(new.len() + known.len() / 8);
            }
            known.append(new);
        }
        if known.log.len() != new.log.len() {
            known.log.clone_from(&new.log);
        }
    }
    /// How far the car's earlier life is driven; none once it is handed over.
    pub fn conditioning(&self) -> Option<f64> {
        lock(&self.shared).conditioning
    }
    /// What ended the thread early.
    pub fn trouble(&self) -> Option<Trouble> {
        lock(&self.shared).trouble.clone()
    }
    /// The attempt, once it was handed in and its thread has ended; at most once.
    pub fn handed_in(&self) -> Option<Run> {
        lock(&self.shared).run.take().map(|r| *r)
    }
    /// Waits for the thread's end.
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
