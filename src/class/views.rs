//! An attempt as messages to its viewers: views, and the positions of the engine's parts.
//!
//! *Inside*: what a page is sent, without what it already has. *Outside*: when it is sent ([`super::server`],
//! [`super::wall`]), the texts in it ([`super::texts`]), what may be seen ([`crate::app::view`]).

use super::seat::{Attempt, own_log};
use super::texts::{Asked, Sent, Told, texts};
use crate::app::Viewer;
use crate::app::view::{Known, View, view};
use crate::bench::view::{EngineView, GasTruth};
use crate::session::live::{Pace, Stands};
use crate::words::numbers::{Units, show_in};
use serde::Serialize;
use serde_json::Value;
use tokio::sync::oneshot;

/// Most trace rows sent to a page at once: five minutes. Earlier rows stay on the server.
const MOST_ROWS: usize = 3000;

/// What has been sent to a page.
#[derive(Debug, Default)]
pub struct Memory {
    /// Numbers of rows and lines.
    pub known: Known,
    sent: Sent,
    key: Option<Key>,
    units: Units,
}

impl Memory {
    /// Of a page that shows these units, and has so many rows and lines.
    pub fn of(units: Units, known: Known) -> Self {
        Self { known, units, ..Self::default() }
    }
}

/// What a page is to be sent.
#[derive(Debug)]
pub enum Wish {
    /// The positions of the engine's parts.
    Engine,
    /// A view, with what was sent before.
    View(Memory),
    /// Both.
    Both(Memory),
}

/// What a page is sent.
#[derive(Debug, Default)]
pub struct Frame {
    /// The positions of the engine's parts, if they were asked for.
    pub engine: Option<String>,
    /// The view, if it was asked for and something has changed since the last one.
    pub view: Option<String>,
    /// What has been sent by now.
    pub memory: Option<Memory>,
}

/// An attempt as messages; `heads` are merged into engine and view. The attempt is observed between two steps, on its
/// own thread: `get` returns nothing if it has ended or is not yet handed over.
pub fn look(
    attempt: &Attempt,
    viewer: Viewer,
    (engine_head, view_head): (Value, Value),
    wish: Wish,
) -> oneshot::Receiver<Frame> {
    let (give, get) = oneshot::channel();
    attempt.live.hear(move |stands| {
        let (draws, memory) = match wish {
            Wish::Engine => (true, None),
            Wish::View(memory) => (false, Some(memory)),
            Wish::Both(memory) => (true, Some(memory)),
        };
        let mut frame = Frame { memory, ..Frame::default() };
        frame.engine = draws.then(|| engine(stands, viewer, engine_head));
        frame.view = frame.memory.as_mut().and_then(|m| message(stands, viewer, view_head, m));
        let _ = give.send(frame);
    });
    get
}

/// What tells one view from the next: nothing else changes while all of this stays.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    epoch: u64,
    time_s: f64,
    lines: usize,
    marks: usize,
    questions: usize,
    lid_open: bool,
    now: Now,
    said: Option<crate::bench::facts::Told>,
}

fn message(stands: &Stands<'_>, viewer: Viewer, head: Value, memory: &mut Memory) -> Option<String> {
    let session = stands.desk.session();
    let now = Now::of(stands);
    let key = Key {
        epoch: stands.desk.epoch(),
        time_s: stands.desk.time_s(),
        lines: session.bench().log().len(),
        marks: stands.desk.marks().len(),
        questions: stands.questions.len(),
        lid_open: session.lid_open(),
        now: now.clone(),
        said: stands.said.cloned(),
    };
    if memory.key.as_ref() == Some(&key) {
        return None;
    }
    memory.key = Some(key);
    if memory.known.epoch != stands.desk.epoch() || memory.known == Known::default() {
        let rows = session.trace().len().saturating_sub(MOST_ROWS);
        memory.known = Known { epoch: stands.desk.epoch(), rows, lines: 0 };
    }
    let mut seen: View = view(stands.desk, stands.questions, viewer, memory.known);
    let asked = Asked::of(own_log(stands));
    if viewer == Viewer::Trainee && !seen.lid_open {
        asked.keep_back(&mut seen.first.seen);
        asked.keep_back_rows(&seen.columns, &mut seen.rows);
        if let Some((second, _)) = &mut seen.second {
            asked.keep_back(&mut second.seen);
        }
    }
    memory.known.rows = seen.rows_from + seen.rows.len();
    memory.known.lines = seen.lines_from + seen.lines.len();
    let hides = session.scenario().plan.as_ref().is_some_and(|p| p.hides.gates);
    let told = Told {
        asked: &asked,
        gates_hidden: hides && !session.seen_by(viewer).sees_truth(),
        waits: stands.waits,
    };
    let _units = show_in(memory.units);
    let texts = texts(&seen, told, &mut memory.sent);
    #[derive(Serialize)]
    struct Message<'a> {
        #[serde(flatten)]
        head: Value,
        view: &'a View,
        live: Now,
        texts: Value,
    }
    serde_json::to_string(&Message { head, view: &seen, live: now, texts }).ok()
}

/// The state of simulated time: pace, pause, progress.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Now {
    /// Multiple of real time; none: as fast as possible.
    pace: Option<f64>,
    reached: Option<f64>,
    runs_to_s: Option<f64>,
    runs_from_s: f64,
    driving: bool,
    held: bool,
}

impl Now {
    fn of(stands: &Stands<'_>) -> Self {
        let driving = |s: &crate::session::Session| s.bench().driver().is_some();
        let twin = stands.desk.twin().is_some_and(|(t, _)| driving(t));
        Self {
            pace: match stands.pace {
                Pace::Paused => Some(0.0),
                Pace::Times(x) => Some(x),
                Pace::Flat => None,
            },
            reached: stands.reached.map(|x| (10.0 * x).round() / 10.0),
            runs_to_s: stands.runs_to_s,
            runs_from_s: stands.runs_from_s,
            driving: driving(stands.desk.session()) || twin,
            held: stands.held,
        }
    }
}

/// The positions of the engine's parts, with the gas in its cylinders for a viewer who may see it.
fn engine(stands: &Stands<'_>, viewer: Viewer, head: Value) -> String {
    #[derive(Serialize)]
    struct Message {
        #[serde(flatten)]
        head: Value,
        kind: &'static str,
        time_s: f64,
        turns: f64,
        first: EngineView,
        #[serde(skip_serializing_if = "Option::is_none")]
        gas: Option<Vec<GasTruth>>,
    }
    let session = stands.desk.session();
    let bench = session.bench();
    let message = Message {
        head,
        kind: "engine",
        time_s: bench.time_s(),
        turns: bench.turns(),
        first: bench.engine_view(),
        gas: session.seen_by(viewer).gas(),
    };
    serde_json::to_string(&message).unwrap_or_default()
}
