//! The way from a request's bytes to the module: the same typed requests that a tester in the window puts.
//!
//! *Inside*: what the services of the network need of a module, and a desk on its own thread as such a module. *Outside*:
//! what an order does ([`crate::session::live`]), what a request means to the module (`ecm/services.rs`).
//!
//! What changes something, and what is read for the first time, is an act in the logbook. A program that reads the same
//! again and again does not fill it: a reading stands there again once something else was done or decided since, or a
//! minute later. Live values, and how far a routine has come, are looked at as the window looks at them, without a line.

use super::identity::Identity;
use crate::bench::Bench;
use crate::bench::action::Action;
use crate::bench::record::{Entry, Kind};
use crate::link::{DiagRequest, DiagResponse, LearnedStatus, Scan};
use crate::session::desk::Reach;
use crate::session::live::{Live, Order, Stands};
use std::net::IpAddr;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, sync_channel};
use std::time::Duration;

/// The same reading stands in the logbook again after \[s\].
const AGAIN_S: f64 = 60.0;
/// A desk that gives no answer for so long is gone: one that is alive answers between two steps.
const GONE: Duration = Duration::from_secs(30);

/// A module that can be asked.
pub trait Module {
    /// Who it is.
    fn identity(&self) -> &Identity;
    /// What it tells now; none once the desk is gone.
    fn scan(&mut self) -> Option<Scan>;
    /// Learned values with what a scenario keeps back left out, and the wheel table where it is learned.
    fn learned(&mut self) -> Option<(Vec<LearnedStatus>, Vec<f64>)>;
    /// Puts a request; it stands in the logbook.
    fn ask(&mut self, request: &DiagRequest) -> Option<DiagResponse>;
    /// The scenario keeps back why something is refused.
    fn keeps_reasons(&self) -> bool;
    /// A reading whose answer is wanted: it stands in the logbook where it is news.
    fn ask_quietly(&mut self, request: &DiagRequest) -> Option<DiagResponse>;
    /// A reading: it stands in the logbook where it is news.
    fn read(&mut self, request: &DiagRequest);
}

/// Hears on the desk's thread what came of an order, and when that was \[s\].
pub type Then = Box<dyn FnOnce(&Stands<'_>, f64) + Send>;

/// Has a desk that runs on its own thread.
pub trait Seat: Send + Sync {
    /// The desk.
    fn live(&self) -> &Live;
    /// Puts an order; false where the desk is gone. Who keeps a journal writes the order down before `then` hears of it.
    fn order_then(&self, order: Order, then: Then) -> bool {
        self.live().order_then(order, then)
    }
    /// Whether a tester at that address may connect.
    fn admits(&self, _tester: IpAddr) -> bool {
        true
    }
    /// Whether somebody sits there who answers what a lesson asks before an act.
    fn is_manned(&self) -> bool {
        false
    }
}

impl Seat for Live {
    fn live(&self) -> &Live {
        self
    }
}

/// A module on a desk of its own thread.
pub struct AtDesk {
    seat: Arc<dyn Seat>,
    identity: Identity,
    keeps: bool,
}

impl AtDesk {
    /// The module of a desk whose car was handed over; none where there is no desk.
    pub fn new(seat: Arc<dyn Seat>, number: u32) -> Option<Self> {
        let (identity, keeps) = seat.live().look(move |stands| {
            let session = stands.desk.session();
            let hides = session.scenario().plan.as_ref().is_some_and(|p| p.hides.refusals);
            let (car, _) = session.bench().car_name();
            (Identity::of(car, &session.bench().setup().car_toml, number), hides)
        })?;
        Some(Self { seat, identity, keeps })
    }

    /// Puts an order and looks at what came of it.
    fn order(&self, order: Order, action: Action) -> Option<Came> {
        let (give, get) = sync_channel(1);
        let then = move |stands: &Stands<'_>, _: f64| {
            let _ = give.try_send(came(stands, &action));
        };
        if self.seat.order_then(order, Box::new(then)) { wait(&get) } else { None }
    }
}

/// What came of an act.
#[expect(clippy::large_enum_variant, reason = "one at a time, on its way to a frame")]
enum Came {
    /// The module's answer; none where the bench let nothing be asked.
    Answer(Option<DiagResponse>),
    /// A question of the lesson stands before it.
    Waits,
}

fn wait<T>(get: &Receiver<T>) -> Option<T> {
    get.recv_timeout(GONE).ok()
}

fn came(stands: &Stands<'_>, action: &Action) -> Came {
    if stands.waits == Some(action) {
        return Came::Waits;
    }
    Came::Answer(answer_in(stands.desk.session().bench().log()))
}

/// The module's answer to the last act of a logbook.
fn answer_in(log: &[Entry]) -> Option<DiagResponse> {
    for entry in log.iter().rev() {
        match &entry.kind {
            Kind::Answer { answer, .. } => return Some(answer.clone()),
            Kind::Act { .. } | Kind::Hindered { .. } => return None,
            _ => {}
        }
    }
    None
}

/// The answer that a logbook holds to the last such request.
fn answer_to(log: &[Entry], request: &DiagRequest) -> Option<DiagResponse> {
    let asked = |e: &Entry| matches!(&e.kind, Kind::Act { action: Action::Ask(r), .. } if r == request);
    let at = log.iter().rposition(asked)?;
    log[at..].iter().find_map(|e| match &e.kind {
        Kind::Answer { answer, .. } => Some(answer.clone()),
        _ => None,
    })
}

/// A request that only reads.
fn reads(request: &DiagRequest) -> bool {
    matches!(
        request,
        DiagRequest::ReadCodes
            | DiagRequest::ReadFreezeFrame(_)
            | DiagRequest::ReadLearned
            | DiagRequest::ReadLive
            | DiagRequest::ReadValue(_)
            | DiagRequest::ReadReadiness
            | DiagRequest::ReadInjectorCode(_)
            | DiagRequest::ReadBatteryRecord
            | DiagRequest::Progress
    )
}

/// Whether a reading says something that the logbook does not hold yet.
pub fn is_news(log: &[Entry], request: &DiagRequest, now_s: f64) -> bool {
    for entry in log.iter().rev() {
        if now_s - entry.t_s >= AGAIN_S {
            return true;
        }
        match &entry.kind {
            Kind::Act { action: Action::Ask(other), .. } if other == request => return false,
            Kind::Act { action: Action::Ask(other), .. } if reads(other) => {}
            Kind::Act {
                action: Action::Pedal(_) | Action::Watch(_) | Action::Wait | Action::Note(_),
                ..
            } => {}
            Kind::Act { .. } | Kind::Module { .. } => return true,
            _ => {}
        }
    }
    true
}

impl Module for AtDesk {
    fn identity(&self) -> &Identity {
        &self.identity
    }
    fn scan(&mut self) -> Option<Scan> {
        self.seat.live().look(|stands| stands.desk.session().bench().scan())
    }
    fn learned(&mut self) -> Option<(Vec<LearnedStatus>, Vec<f64>)> {
        self.seat.live().look(|stands| {
            let seen = stands.desk.session().seen_by(crate::session::Viewer::Trainee).seen();
            (seen.learned, seen.wheel_table_deg)
        })
    }
    fn ask(&mut self, request: &DiagRequest) -> Option<DiagResponse> {
        let action = Action::Ask(request.clone());
        if self.seat.is_manned() {
            // asked twice is passed over where a hand does it; a program that tries again means nothing by it
            let same = action.clone();
            if self.seat.live().look(move |stands| stands.waits == Some(&same))? {
                return None;
            }
        }
        match self.order(Order::Do(action.clone(), Reach::Both), action.clone())? {
            Came::Answer(answer) => answer,
            // the question is answered at the seat, and the act done then
            Came::Waits if self.seat.is_manned() => None,
            // nobody sits there to be asked: it stands open, and counts as passed over
            Came::Waits => match self.order(Order::Pass, action)? {
                Came::Answer(answer) => answer,
                Came::Waits => None,
            },
        }
    }
    fn keeps_reasons(&self) -> bool {
        self.keeps
    }
    fn ask_quietly(&mut self, request: &DiagRequest) -> Option<DiagResponse> {
        let asked = request.clone();
        let known = self.seat.live().look(move |stands| {
            let log = stands.desk.session().bench().log();
            let news = is_news(log, &asked, stands.desk.time_s());
            if news { None } else { answer_to(log, &asked) }
        });
        known?.or_else(|| self.ask(request))
    }
    fn read(&mut self, request: &DiagRequest) {
        let asked = request.clone();
        let news = self
            .seat
            .live()
            .look(move |stands| is_news(stands.desk.session().bench().log(), &asked, stands.desk.time_s()));
        if news == Some(true) {
            self.ask(request);
        }
    }
}

/// A module of a bench that somebody else steps: for trials without a network and without a clock.
#[derive(Debug)]
pub struct OnBench<'a> {
    /// The bench.
    pub bench: &'a mut Bench,
    /// Who it is.
    pub identity: Identity,
    /// Readings stand in the logbook too.
    pub notes_reads: bool,
}

impl<'a> OnBench<'a> {
    /// The module of a bench.
    pub fn new(bench: &'a mut Bench) -> Self {
        let identity = Identity::of(bench.car_name().0, &bench.setup().car_toml, 1);
        Self { bench, identity, notes_reads: false }
    }
}

impl Module for OnBench<'_> {
    fn identity(&self) -> &Identity {
        &self.identity
    }
    fn scan(&mut self) -> Option<Scan> {
        Some(self.bench.scan())
    }
    fn learned(&mut self) -> Option<(Vec<LearnedStatus>, Vec<f64>)> {
        let seen = self.bench.observe();
        Some((seen.learned, seen.wheel_table_deg))
    }
    fn ask(&mut self, request: &DiagRequest) -> Option<DiagResponse> {
        match self.bench.act("", Action::Ask(request.clone())) {
            crate::bench::Done::Answer(answer) => Some(answer),
            _ => None,
        }
    }
    fn keeps_reasons(&self) -> bool {
        false
    }
    fn ask_quietly(&mut self, request: &DiagRequest) -> Option<DiagResponse> {
        self.ask(request)
    }
    fn read(&mut self, request: &DiagRequest) {
        if self.notes_reads && is_news(self.bench.log(), request, self.bench.time_s()) {
            self.ask(request);
        }
    }
}
