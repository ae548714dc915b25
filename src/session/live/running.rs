//! The loop of a desk on its own thread: takes orders between two slices of time, keeps the pace, publishes views.

use super::{
    Beat, Heard, MarkView, Order, Pace, Past, Rows, Shared, Side, Stands, Then, Trouble, Tube, View, lock,
};
use crate::bench::Done;
use crate::bench::action::{Action, Note};
use crate::bench::facts::Told;
use crate::bench::trace::COLUMNS;
use crate::link::{DiagResponse, Refused};
use crate::scenario::{ActionFile, Scenario};
use crate::session::desk::{Desk, MarkName, Reach};
use crate::session::replay::SLACK_S;
use crate::session::teach::{Came, Found, Outstanding, Question};
use crate::session::{Options, Progress, Session, Viewer};
use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Longest time that the bench runs before messages are handled \[s of wall clock\].
const SLICE: Duration = Duration::from_millis(8);
/// Shortest time between two views \[s of wall clock\].
const VIEW_EVERY: Duration = Duration::from_millis(15);
/// A pause longer than this is not made up for: the computer was asleep.
const LONGEST: Duration = Duration::from_millis(250);
/// Simulated time between two looks at the clock \[s\].
const PIECE_S: f64 = 0.02;
/// Simulated time that is repeated between two checks for messages \[s\].
const AGAIN_S: f64 = 5.0;
/// Averaging time of the reached pace.
const PACE_OVER: Duration = Duration::from_millis(500);

/// Conditions a car, hands it over, repeats the earlier orders, and continues from there.
pub(super) fn run_thread(
    (scenario, actions): &(Scenario, Option<ActionFile>),
    options: Options,
    (past, beat): (Past, Beat),
    heard: &Receiver<Heard>,
    shared: &Arc<Mutex<Shared>>,
    wake: &dyn Fn(),
) {
    let mut last: Option<u32> = None;
    // orders given before hand-over are carried out after it
    let mut early = Vec::new();
    let mut told = |p: Progress| {
        let share = match p {
            Progress::Conditioning(share) => 0.9 * share,
            Progress::Running { at_s, end_s, .. } => 0.9 + 0.1 * (at_s / end_s.max(1e-6)).clamp(0.0, 1.0),
        };
        let whole = (share * 1000.0) as u32;
        if last != Some(whole) {
            last = Some(whole);
            lock(shared).conditioning = Some(share);
            wake();
        }
        loop {
            match heard.try_recv() {
                Ok(Heard::Order(Order::Leave, _)) | Err(TryRecvError::Disconnected) => return false,
                Ok(Heard::Order(order, then)) => early.push((order, then)),
                // there is nothing to look at yet
                Ok(Heard::Look(_)) => {}
                Err(TryRecvError::Empty) => return true,
            }
        }
    };
    match Desk::with_hands(scenario, actions.as_ref(), &options, &mut told) {
        Ok(desk) => {
            let mut all = Loop::new(desk, beat, shared, wake);
            if !all.again(past, &mut told) {
                return;
            }
            lock(shared).conditioning = None;
            all.run(early, heard);
        }
        Err(e) => {
            let mut s = lock(shared);
            s.conditioning = None;
            s.trouble = Some(Trouble::Session(e));
            drop(s);
            wake();
        }
    }
}

/// The loop's own state.
struct Loop<'a> {
    desk: Desk,
    beat: Beat,
    held: bool,
    shared: &'a Arc<Mutex<Shared>>,
    wake: &'a dyn Fn(),
    pace: Pace,
    to_s: Option<f64>,
    from_s: f64,
    /// Simulated time that is due by the clock and that the bench has not run yet \[s\].
    owed_s: f64,
    clock: Instant,
    viewed: Instant,
    measured: (Instant, f64),
    reached: Option<f64>,
    waiting: Option<(Action, Reach)>,
    questions: Vec<Question>,
    said: Option<Told>,
    /// Outcomes being computed, each on a thread of its own.
    outstanding: Vec<(Outstanding, Option<JoinHandle<Option<Found>>>)>,
    /// Outcomes waiting to be acknowledged, the first at the front.
    came: VecDeque<Came>,
    number: u64,
    sent: (u64, usize, usize, usize),
    /// Samples on their way to the tube.
    heard: Vec<i16>,
}

impl<'a> Loop<'a> {
    #[expect(
        clippy::disallowed_methods,
        reason = "the pace is the wall clock's; the bench is asked for whole steps"
    )]
    fn new(desk: Desk, beat: Beat, shared: &'a Arc<Mutex<Shared>>, wake: &'a dyn Fn()) -> Self {
        let now = Instant::now();
        let at_s = desk.time_s();
        Self {
            desk,
            beat,
            held: false,
            shared,
            wake,
            pace: Pace::Paused,
            to_s: None,
            from_s: at_s,
            owed_s: 0.0,
            clock: now,
            viewed: now,
            measured: (now, at_s),
            reached: None,
            waiting: None,
            questions: Vec::new(),
            said: None,
            outstanding: Vec::new(),
            came: VecDeque::new(),
            number: 0,
            sent: (u64::MAX, 0, 0, 0),
            heard: Vec::new(),
        }
    }

    /// Repeats the earlier orders, each at its own time, as a replay does the acts of a logbook. False
    /// if it was told to stop in the meantime.
    fn again(&mut self, past: Past, told: &mut dyn FnMut(Progress) -> bool) -> bool {
        let end_s = past.until_s.max(past.orders.last().map_or(0.0, |(at_s, _)| *at_s));
        for (at_s, order) in past.orders {
            if !self.catch_up(at_s, end_s, told) {
                return false;
            }
            self.take(order);
        }
        self.catch_up(past.until_s, end_s, told)
    }

    fn catch_up(&mut self, to_s: f64, end_s: f64, told: &mut dyn FnMut(Progress) -> bool) -> bool {
        let to_s = to_s - SLACK_S;
        loop {
            let left_s = to_s - self.desk.time_s();
            self.desk.advance(left_s.min(AGAIN_S));
            let at_s = self.desk.time_s();
            if !told(Progress::Running { at_s, end_s, slow: None }) {
                return false;
            }
            if left_s <= AGAIN_S {
                break;
            }
        }
        self.to_s = self.to_s.filter(|t| self.desk.time_s() + 1e-9 < *t);
        true
    }

    fn stands(&self) -> Stands<'_> {
        Stands {
            desk: &self.desk,
            questions: &self.questions,
            said: self.said.as_ref(),
            pace: self.pace,
            reached: self.reached,
            runs_to_s: self.to_s,
            runs_from_s: self.from_s,
            waits: self.waiting.as_ref().map(|(action, _)| action),
            held: self.held,
        }
    }

    /// Carries out an order and reports it; true if the order hands the attempt in.
    fn heard(&mut self, order: Order, then: Option<Then>) -> bool {
        let at_s = self.desk.time_s();
        let ends = order == Order::HandIn;
        self.take(order);
        if let Some(then) = then {
            then(&self.stands(), at_s);
        }
        ends
    }

    #[expect(
        clippy::disallowed_methods,
        reason = "the pace is the wall clock's; the bench is asked for whole steps"
    )]
    fn run(mut self, early: Vec<(Order, Option<Then>)>, heard: &Receiver<Heard>) {
        for (order, then) in early {
            if self.heard(order, then) {
                return self.hand_in();
            }
        }
        self.publish();
        // the bench has run on since the last view
        let mut behind = false;
        loop {
            let runs = self.runs();
            let wait = if runs || self.due() { self.beat.rest } else { Duration::from_millis(200) };
            let first = if runs && self.owes() {
                heard.try_recv().map_err(|_| RecvTimeoutError::Timeout)
            } else {
                heard.recv_timeout(wait)
            };
            let mut asked = self.outcomes();
            let mut next = first.ok();
            while let Some(heard_now) = next {
                match heard_now {
                    Heard::Look(look) => look(&self.stands()),
                    Heard::Order(Order::Leave, _) => return,
                    Heard::Order(order, then) => {
                        asked = true;
                        if self.heard(order, then) {
                            return self.hand_in();
                        }
                    }
                }
                next = heard.try_recv().ok();
            }
            let now = Instant::now();
            let past = now.duration_since(self.clock).min(LONGEST);
            self.clock = now;
            if let Pace::Times(x) = self.pace
                && self.to_s.is_none()
                && !self.stopped()
            {
                self.owed_s += x * past.as_secs_f64();
            }
            let tube = self.tube();
            self.desk.listen(tube.is_some());
            let end = now + SLICE;
            while self.owes() && Instant::now() < end {
                self.piece();
                behind = true;
            }
            if let Some(tube) = tube {
                self.desk.take_sound(&mut self.heard);
                tube.put(&self.heard);
                self.heard.clear();
            }
            // time that cannot be made up is dropped, and the reached pace shows it
            if let Pace::Times(x) = self.pace {
                self.owed_s = self.owed_s.min(x * LONGEST.as_secs_f64());
            }
            self.measure();
            let rests = !self.runs();
            if asked || (behind && (rests || self.viewed.elapsed() >= VIEW_EVERY)) {
                self.publish();
                behind = false;
            }
        }
    }

    /// Where sound goes now: nowhere at another pace than the real one.
    fn tube(&self) -> Option<Arc<Tube>> {
        let real = self.pace == Pace::REAL && self.to_s.is_none();
        if real { lock(self.shared).tube.clone() } else { None }
    }

    /// Time is held until questions are answered or skipped, and until the outcome of a prediction is acknowledged:
    /// reading costs no time.
    fn stopped(&self) -> bool {
        self.held || !self.questions.is_empty() || !self.came.is_empty() || self.due()
    }

    /// Whether an outcome is due that has not been computed yet.
    fn due(&self) -> bool {
        let now_s = self.desk.time_s();
        self.outstanding.iter().any(|(o, thread)| thread.is_some() && o.due_s <= now_s + SLACK_S)
    }

    /// Computes the outcomes of the questions that were answered, and takes over those that are known by now; true if
    /// there is a new one. Only for a desk that is drawn: at others, outcomes are shown in the debrief.
    fn outcomes(&mut self) -> bool {
        if !self.beat.views {
            return false;
        }
        let open = self.desk.outstanding();
        self.outstanding.retain(|(o, _)| open.iter().any(|other| other.is(o)));
        for o in open {
            if self.outstanding.iter().all(|(known, _)| !known.is(&o)) {
                let (theirs, scenario) = (o.clone(), self.desk.session().scenario().clone());
                let thread = std::thread::Builder::new().name("outcome".into());
                // without a thread the outcome is shown in the debrief only
                let thread = thread.spawn(move || theirs.work_out(&scenario)).ok();
                self.outstanding.push((o, thread));
            }
        }
        let now_s = self.desk.time_s();
        let mut new = false;
        for (o, thread) in &mut self.outstanding {
            let known = thread.as_ref().is_some_and(|t| t.is_finished());
            if o.due_s > now_s + SLACK_S || !known {
                continue;
            }
            if let Some(Ok(Some(found))) = thread.take().map(JoinHandle::join)
                && let Some(came) = self.desk.outcome(o, found)
            {
                self.came.push_back(came);
                new = true;
            }
        }
        new
    }

    /// Whether time runs, at a pace or to a target time.
    fn runs(&self) -> bool {
        !self.stopped() && (self.pace != Pace::Paused || self.to_s.is_some())
    }

    /// Whether simulated time is due.
    fn owes(&self) -> bool {
        !self.stopped() && (self.to_s.is_some() || self.pace == Pace::Flat || self.owed_s > 0.0)
    }

    /// Runs to a time as fast as possible.
    fn run_to(&mut self, to_s: f64) {
        self.from_s = self.desk.time_s();
        self.to_s = Some(to_s).filter(|t| t.is_finite() && *t > self.from_s);
    }

    fn piece(&mut self) {
        if let Some(to_s) = self.to_s {
            let left = to_s - self.desk.time_s();
            self.desk.advance(left.clamp(0.0, PIECE_S));
            if self.desk.time_s() + 1e-9 >= to_s {
                self.to_s = None;
                self.owed_s = 0.0;
            }
            return;
        }
        let before = self.desk.time_s();
        let piece = if self.pace == Pace::Flat { PIECE_S } else { self.owed_s.min(PIECE_S) };
        self.desk.advance(piece);
        self.owed_s -= self.desk.time_s() - before;
    }

    fn measure(&mut self) {
        let past = self.measured.0.elapsed();
        if past >= PACE_OVER {
            let now_s = self.desk.time_s();
            let runs = self.runs();
            self.reached = runs.then(|| (now_s - self.measured.1) / past.as_secs_f64());
            self.measure_anew();
        }
    }

    #[expect(clippy::disallowed_methods, reason = "the reached pace is told by the wall clock")]
    fn measure_anew(&mut self) {
        self.measured = (Instant::now(), self.desk.time_s());
    }

    fn take(&mut self, order: Order) {
        if matches!(order, Order::Do(..) | Order::Pass | Order::Rewind(_) | Order::Lid(_)) {
            // the message about the previous order does not apply to this one
            self.said = None;
        }
        match order {
            Order::Do(action, reach) => self.hand(action, reach),
            Order::InjectFault(action, reach) => {
                let done = self.desk.inject_fault(&action, reach);
                self.came(&action, done);
            }
            Order::Pace(pace) => {
                self.pace = pace;
                self.to_s = None;
                self.owed_s = 0.0;
                self.reached = None;
                self.measure_anew();
            }
            Order::Pass => {
                self.questions.clear();
                if let Some((action, reach)) = self.waiting.take() {
                    self.do_it(&action, reach);
                }
            }
            Order::Hold(held) => {
                self.held = held;
                if !held {
                    self.came.pop_front();
                }
                self.reached = None;
                self.measure_anew();
            }
            Order::Tooth => self.turn(6.0),
            Order::Cycle => self.turn(720.0),
            Order::To(to_s) => self.run_to(to_s),
            Order::On(s) => self.run_to(self.desk.time_s() + s),
            Order::Mark(name) => self.desk.mark(&name),
            Order::Rewind(k) => {
                self.waiting = None;
                self.questions.clear();
                self.came.clear();
                self.to_s = None;
                self.owed_s = 0.0;
                self.pace = Pace::Paused;
                if !self.desk.rewind(k) {
                    self.said = Some(Told::NoMark);
                }
            }
            Order::Fork => self.desk.fork(),
            Order::Join => self.desk.join(),
            Order::Lid(open) => {
                // only a locked lid can prevent this
                if self.desk.lid(open).is_err() {
                    self.said = Some(Told::Locked);
                }
            }
            Order::HandIn | Order::Leave => {}
        }
    }

    fn turn(&mut self, deg: f64) {
        self.pace = Pace::Paused;
        self.to_s = None;
        self.owed_s = 0.0;
        self.desk.turn(deg);
    }

    /// Does an act, unless there are questions first: then it waits until all are answered, or until the same act is
    /// requested again.
    fn hand(&mut self, action: Action, reach: Reach) {
        if let Action::Note(note) = &action {
            let _ = self.desk.act("", &action, Reach::Both);
            self.answered(note);
            if self.questions.is_empty()
                && let Some((action, reach)) = self.waiting.take()
            {
                self.do_it(&action, reach);
            }
            return;
        }
        let again = self.waiting.as_ref().is_some_and(|(a, _)| *a == action);
        if !again {
            self.questions = self.desk.session().questions(&action);
            if !self.questions.is_empty() {
                self.waiting = Some((action, reach));
                return;
            }
        }
        self.waiting = None;
        self.questions.clear();
        self.do_it(&action, reach);
    }

    fn answered(&mut self, note: &Note) {
        self.questions.retain(|q| match (q, note) {
            (Question::Cause, Note::Cause(_)) => false,
            (Question::Ask(a), Note::Answer { ask, .. }) => a.id != *ask,
            _ => true,
        });
    }

    fn do_it(&mut self, action: &Action, reach: Reach) {
        if matches!(action, Action::Pedal(_) | Action::Wait | Action::Watch(_)) {
            return self.act(action, reach);
        }
        // a mark belongs to the first future: an act in the second alone sets none
        if reach != Reach::Second || self.desk.twin().is_none() {
            self.desk.mark_quietly(MarkName::Before(Box::new(action.clone())));
        }
        self.act(action, reach);
    }

    fn act(&mut self, action: &Action, reach: Reach) {
        let done = self.desk.act("", action, reach);
        self.came(action, done);
    }

    /// Handles the result of an act: the time that it takes, the message about it.
    fn came(&mut self, action: &Action, done: Done) {
        let away_s = match action {
            Action::Drive { minutes, .. } => 60.0 * minutes,
            other => other.alone_s(),
        };
        if done == Done::Yes && away_s > 0.0 {
            self.run_to(self.desk.time_s() + away_s);
        }
        self.said = match done {
            Done::Hindered(why) => Some(Told::Hindered(why)),
            Done::Answer(DiagResponse::Refused(r)) => {
                let keeps = self.desk.session().scenario().plan.as_ref().is_some_and(|p| p.hides.refusals);
                let kept = keeps && !self.desk.session().lid_open();
                Some(Told::Refused(if kept { Refused::Withheld } else { r }))
            }
            Done::Answer(DiagResponse::Silent) => Some(Told::Silent),
            _ => None,
        };
    }

    #[expect(clippy::disallowed_methods, reason = "views are handed out by the wall clock")]
    fn publish(&mut self) {
        self.viewed = Instant::now();
        if !self.beat.views {
            return (self.wake)();
        }
        self.number += 1;
        let s = self.desk.session();
        // the trainee at this desk sees this view; an instructor uses `Live::look`
        let side = |s: &Session| Side {
            seen: s.seen_by(Viewer::Trainee).seen(),
            hands: s.bench().hands(),
            engine: s.bench().engine_view(),
            truth: s.seen_by(Viewer::Trainee).truth(),
            gas: s.seen_by(Viewer::Trainee).gas(),
        };
        let twin = self.desk.twin();
        let view = View {
            number: self.number,
            time_s: self.desk.time_s(),
            hand_over_s: s.hand_over_s(),
            pace: self.pace,
            reached: self.reached,
            runs_to_s: self.to_s,
            runs_from_s: self.from_s,
            first: side(s),
            second: twin.map(|(t, _)| side(t)),
            forked_s: twin.map(|(_, at_s)| at_s),
            lid_open: s.lid_open(),
            marks: self
                .desk
                .marks()
                .iter()
                .map(|m| MarkView { name: m.name.clone(), at_s: m.at_s, named: m.named })
                .collect(),
            job: s.job(),
            questions: self.questions.clone(),
            open: s.open_questions(),
            said: self.said.clone(),
            came: self.came.front().cloned(),
            driving: s.bench().driver().is_some() || twin.is_some_and(|(t, _)| t.bench().driver().is_some()),
            turns: s.bench().turns(),
            grade: s.seen_by(Viewer::Trainee).grade(),
        };
        let (epoch, rows, second, lines) = self.sent;
        let fresh = epoch != self.desk.epoch();
        let (from, from_second) = if fresh { (0, 0) } else { (rows, second) };
        let wide = COLUMNS.len();
        let more = |s: &Session, from: usize| -> Vec<f64> {
            s.seen_by(Viewer::Trainee).values_from(from / wide).collect()
        };
        let new_first = more(s, from);
        let new_second = twin.map_or_else(Vec::new, |(t, _)| more(t, from_second));
        let lines_now = s.bench().log().len();
        let new_log = (fresh || lines_now != lines).then(|| s.seen_by(Viewer::Trainee).logbook());
        let mut shared = lock(self.shared);
        if fresh {
            shared.rows = Rows { epoch: self.desk.epoch(), ..Rows::default() };
            shared.anew = true;
        }
        let now = (from + new_first.len(), from_second + new_second.len());
        shared.rows.first.extend(new_first);
        shared.rows.second.extend(new_second);
        if let Some(log) = new_log {
            shared.rows.log = log;
        }
        self.sent = (self.desk.epoch(), now.0, now.1, lines_now);
        shared.view = view;
        drop(shared);
        (self.wake)();
    }

    fn hand_in(self) {
        let run = self.desk.hand_in();
        lock(self.shared).run = Some(Box::new(run));
        (self.wake)();
    }
}
