//! The path from a request's bytes to the module: the same typed requests that the tester in the window sends.
//!
//! *Inside*: the interface to a module that the network services need, and its implementation for a desk on its own
//! thread. *Outside*: what an order does ([`crate::session::live`]), what a request means to the module
//! (`ecm/services.rs`).
//!
//! A request that changes something, and a first reading, is an act in the logbook. A program that reads the same
//! data repeatedly does not fill the logbook: a reading is entered again only after something else was done or
//! decided, or after a minute. Live values and the progress of a routine are read as the window reads them, without a
//! logbook line.

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

/// Time after which the same reading is entered in the logbook again \[s\].
const AGAIN_S: f64 = 60.0;
/// A desk that does not answer for this long is gone: a running one answers between two steps.
const GONE: Duration = Duration::from_secs(30);

/// A module that can be queried.
pub trait Module {
    /// The identity of the module.
    fn identity(&self) -> &Identity;
    /// The data that it reports now; none once the desk is gone.
    fn scan(&mut self) -> Option<Scan>;
    /// Learned values without what a scenario hides, and the wheel table if it is learned.
    fn learned(&mut self) -> Option<(Vec<LearnedStatus>, Vec<f64>)>;
    /// Sends a request; it is entered in the logbook.
    fn ask(&mut self, request: &DiagRequest) -> Option<DiagResponse>;
    /// Whether the scenario hides the reasons for refusals.
    fn keeps_reasons(&self) -> bool;
    /// Sends a reading request and returns the answer; it is entered in the logbook if it is new.
    fn ask_quietly(&mut self, request: &DiagRequest) -> Option<DiagResponse>;
    /// Records a reading; it is entered in the logbook if it is new.
    fn read(&mut self, request: &DiagRequest);
}

/// Called on the desk's thread with the state after an order, and the time at which it was done \[s\].
pub type Then = Box<dyn FnOnce(&Stands<'_>, f64) + Send>;

/// The owner of a desk that runs on its own thread.
pub trait Seat: Send + Sync {
    /// The desk.
    fn live(&self) -> &Live;
    /// Gives an order; false if the desk is gone. An owner with a journal writes the order to it before `then` is
    /// called.
    fn order_then(&self, order: Order, then: Then) -> bool {
        self.live().order_then(order, then)
    }
    /// Whether a tester at that address may connect.
    fn admits(&self, _tester: IpAddr) -> bool {
        true
    }
    /// Whether a trainee is present who answers the questions that a lesson asks before an act.
    fn is_manned(&self) -> bool {
        false
    }
}

impl Seat for Live {
    fn live(&self) -> &Live {
        self
    }
}

/// The module of a desk on its own thread.
pub struct AtDesk {
    seat: Arc<dyn Seat>,
    identity: Identity,
    keeps: bool,
}

impl AtDesk {
    /// The module of a desk whose car was handed over; none if there is no desk.
    pub fn new(seat: Arc<dyn Seat>, number: u32) -> Option<Self> {
        let (identity, keeps) = seat.live().look(move |stands| {
            let session = stands.desk.session();
            let hides = session.scenario().plan.as_ref().is_some_and(|p| p.hides.refusals);
            let (car, _) = session.bench().car_name();
            (Identity::of(car, &session.bench().setup().car_toml, number), hides)
        })?;
        Some(Self { seat, identity, keeps })
    }

    /// Gives an order and returns its result.
    fn order(&self, order: Order, action: Action) -> Option<Came> {
        let (give, get) = sync_channel(1);
        let then = move |stands: &Stands<'_>, _: f64| {
            let _ = give.try_send(came(stands, &action));
        };
        if self.seat.order_then(order, Box::new(then)) { wait(&get) } else { None }
    }
}

/// The result of an act.
#[expect(clippy::large_enum_variant, reason = "one at a time, on its way to a frame")]
enum Came {
    /// The module's answer; none if the bench prevented the request.
    Answer(Option<DiagResponse>),
    /// A question of the lesson must be answered first.
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

/// The module's answer to the last act in a logbook.
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

/// The answer in a logbook to the last request of this kind.
fn answer_to(log: &[Entry], request: &DiagRequest) -> Option<DiagResponse> {
    let asked = |e: &Entry| matches!(&e.kind, Kind::Act { action: Action::Ask(r), .. } if r == request);
    let at = log.iter().rposition(asked)?;
    log[at..].iter().find_map(|e| match &e.kind {
        Kind::Answer { answer, .. } => Some(answer.clone()),
        _ => None,
    })
}

/// Whether a request only reads.
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

/// Whether a reading adds something that the logbook does not hold yet.
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
            // a second request by hand skips the question; a program that retries does not mean that
            let same = action.clone();
            if self.seat.live().look(move |stands| stands.waits == Some(&same))? {
                return None;
            }
        }
        match self.order(Order::Do(action.clone(), Reach::Both), action.clone())? {
            Came::Answer(answer) => answer,
            // the question is answered at the seat, and then the act is done
            Came::Waits if self.seat.is_manned() => None,
            // nobody is present to answer: the question stays open, and counts as skipped
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

/// The module of a bench that the caller steps: for tests without a network and without a clock.
#[derive(Debug)]
pub struct OnBench<'a> {
    /// The bench.
    pub bench: &'a mut Bench,
    /// The identity of the module.
    pub identity: Identity,
    /// Readings are entered in the logbook too.
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
