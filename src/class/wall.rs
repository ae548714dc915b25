//! The instructor's wall: every seat as a tile, the class's answers as a bar chart, a seat viewed with truth while
//! its trainee sees none; the wall's socket and documents.
//!
//! *Inside*: what is shown. *Outside*: orders ([`super::orders`]), marks and documents ([`super::marks`]).
//!
//! Looking leaves no trace at a seat: its lid, its logbook and its time stay as they are.

use super::join::{self, Rate};
use super::orders::{self, Asked};
use super::pages::{Asks, Shared, answer, paper, refuse};
use super::seat::{Attempt, Seat, State as SeatState, own_log};
use super::views::{Frame, Memory, Wish, look};
use super::{Class, copies, marks, now, texts};
use crate::app::Viewer;
use crate::app::view::{Known, view};
use crate::bench::action::{Action, Note, Said};
use crate::bench::record::{Entry, Kind};
use crate::bench::view::DashLamp;
use crate::link::DiagRequest;
use crate::session::live::{Pace, Stands};
use crate::words::numbers::Units;
use crate::words::say;
use axum::Router;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum::routing::get;
use futures_util::future::join_all;
use futures_util::stream::SplitSink;
use futures_util::{SinkExt, StreamExt};
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};
use tokio::sync::oneshot;
use tokio::time::{MissedTickBehavior, interval, timeout};

/// Maximum size of a wall's message \[bytes\].
const LARGEST: usize = 64 << 10;
/// Shortest time between two drawings of an engine.
const BEAT: Duration = Duration::from_millis(100);
/// Beats between two looks at a seat, between two updates of the tiles, and between two checks for copying.
const EACH: [u64; 3] = [5, 10, 100];
/// Beats between two pings to the wall.
const PING: u64 = 200;
/// Longest wait for a seat.
const PATIENCE: Duration = Duration::from_secs(2);
/// Only seats with activity in this time are checked for copying.
const LATELY: Duration = Duration::from_secs(3600);
/// Longest time that a wall may take to accept a message.
const SLOWEST: Duration = Duration::from_secs(10);

/// Routes for the instructor only.
pub(super) fn routes(at: &str) -> Router<Arc<Class>> {
    Router::new()
        .route(&format!("{at}/ws"), get(socket))
        .route(&format!("{at}/debriefs"), get(debriefs))
        .route(&format!("{at}/marks.csv"), get(table))
        .route(&format!("{at}/statements.json"), get(statements))
        .route(&format!("{at}/debrief/{{attempt}}"), get(debrief))
        .route(&format!("{at}/logbooks/{{attempt}}"), get(logbook))
}

async fn debriefs(State(class): Shared, headers: HeaderMap, Query(asks): Query<Asks>) -> Response {
    if !class.is_instructor(&headers) {
        return refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"));
    }
    paper(marks::all_debriefs(&class, asks.units()))
}

async fn table(State(class): Shared, headers: HeaderMap) -> Response {
    if !class.is_instructor(&headers) {
        return refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"));
    }
    answer(StatusCode::OK, "text/csv; charset=utf-8", marks::csv(&class))
}

async fn statements(State(class): Shared, headers: HeaderMap) -> Response {
    if !class.is_instructor(&headers) {
        return refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"));
    }
    answer(StatusCode::OK, "application/json", marks::statements(&class).to_string())
}

/// Seat and number of an attempt, from a path.
fn attempt_of(name: &str, end: &str) -> Option<(u32, u32)> {
    let (seat, number) = name.strip_suffix(end)?.split_once('-')?;
    Some((seat.parse().ok()?, number.parse().ok()?))
}

async fn debrief(
    State(class): Shared,
    headers: HeaderMap,
    Path(name): Path<String>,
    Query(asks): Query<Asks>,
) -> Response {
    if !class.is_instructor(&headers) {
        return refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"));
    }
    let of = attempt_of(&name, "");
    match of.and_then(|(seat, number)| marks::debrief(&class, seat, number, asks.units())) {
        Some(html) => paper(html),
        None => refuse(StatusCode::NOT_FOUND, &say("class-not-there")),
    }
}

async fn logbook(State(class): Shared, headers: HeaderMap, Path(name): Path<String>) -> Response {
    if !class.is_instructor(&headers) {
        return refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"));
    }
    let path = attempt_of(&name, ".jsonl").map(|(seat, number)| class.keep.logbook(seat, number));
    match path.and_then(|p| class.keep.text(&p)) {
        Some(text) => answer(StatusCode::OK, "application/jsonl", text),
        None => refuse(StatusCode::NOT_FOUND, &say("class-not-there")),
    }
}

/// A trainee's progress.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Nothing has been measured yet.
    #[default]
    Looks,
    /// Something was measured, or the module was asked.
    Measures,
    /// A cause was named.
    Names,
    /// Something was repaired.
    Repairs,
    /// Something was relearned.
    Learns,
}

impl Stage {
    fn of(action: &Action) -> Self {
        match action {
            Action::Note(Note::Cause(_)) => Stage::Names,
            Action::Measure(_) => Stage::Measures,
            Action::Ask(DiagRequest::Start(routine)) if routine.changes_learned() => Stage::Learns,
            Action::Ask(_) => Stage::Measures,
            Action::Fit(_)
            | Action::CleanThrottle
            | Action::SwapInjectors(..)
            | Action::CopyInjectorCode { .. }
            | Action::Leak(_)
            | Action::ExhaustLeak(_)
            | Action::Sensor(..) => Stage::Repairs,
            _ => Stage::Looks,
        }
    }
    fn id(self) -> &'static str {
        match self {
            Stage::Looks => "looks",
            Stage::Measures => "measures",
            Stage::Names => "names",
            Stage::Repairs => "repairs",
            Stage::Learns => "learns",
        }
    }
}

/// What the tile of a desk shows.
#[derive(Debug, Clone, Default)]
struct Glance {
    stage: Stage,
    cause: Option<(String, bool)>,
    rpm: f64,
    lamp: DashLamp,
    turning: bool,
    minutes: f64,
    money: f64,
    time_s: f64,
    pace: Option<f64>,
    asks: bool,
    /// The latest answer to each question.
    answers: BTreeMap<String, Said>,
}

fn acts(log: &[Entry]) -> impl DoubleEndedIterator<Item = &Action> {
    log.iter().filter_map(|e| match &e.kind {
        Kind::Act { action, .. } => Some(action),
        _ => None,
    })
}

impl Glance {
    fn of(stands: &Stands<'_>) -> Self {
        let session = stands.desk.session();
        let bench = session.bench();
        let seen = bench.observe();
        let job = session.job();
        let log = own_log(stands);
        let mut answers = BTreeMap::new();
        let mut held = None;
        for action in acts(log) {
            match action {
                Action::Note(Note::Cause(id)) => held = Some(id.as_str()),
                Action::Note(Note::Answer { ask, says }) => {
                    answers.insert(ask.clone(), says.clone());
                }
                _ => {}
            }
        }
        if let Some(id) = held {
            answers.insert("cause".into(), Said::Word(id.into()));
        }
        let causes = session.scenario().plan.iter().flat_map(|p| &p.causes);
        let cause =
            held.and_then(|id| causes.clone().find(|c| c.id == id)).map(|c| (c.says.clone(), c.right));
        Self {
            stage: acts(log).map(Stage::of).max().unwrap_or_default(),
            cause,
            rpm: seen.live.engine_speed_rpm.round(),
            lamp: seen.dash_lamp,
            turning: bench.turning(),
            minutes: (10.0 * job.minutes).round() / 10.0,
            money: job.money.round(),
            time_s: (stands.desk.time_s() - session.hand_over_s()).round(),
            pace: match stands.pace {
                Pace::Paused => Some(0.0),
                Pace::Times(x) => Some(x),
                Pace::Flat => None,
            },
            asks: !stands.questions.is_empty(),
            answers,
        }
    }
}

async fn glance(attempt: &Attempt) -> Option<Glance> {
    let (give, get) = oneshot::channel();
    attempt.live.hear(move |stands| {
        let _ = give.send(Glance::of(stands));
    });
    timeout(PATIENCE, get).await.ok()?.ok()
}

/// A seat's tile, and the answers given at it.
async fn tile(seat: Arc<Seat>) -> (Value, BTreeMap<String, Said>) {
    let attempt = seat.attempt();
    let glance = match &attempt {
        Some(attempt) => glance(attempt).await,
        None => None,
    };
    let standing = seat.standing();
    let state = seat.state();
    let last = state.rows.last();
    let g = glance.clone().unwrap_or_default();
    let tile = json!({
        "seat": seat.id,
        "word": seat.word,
        "present": state.page.is_some(),
        "lesson": last.map(|r| r.lesson.as_str()),
        "attempt": last.map(|r| r.number),
        "of": state.rows.len(),
        "state": standing["attempt"]["state"],
        "exam": last.is_some_and(|r| r.exam),
        "stage": g.stage,
        "stage_text": say(&format!("class-stage-{}", g.stage.id())),
        "cause": g.cause.as_ref().map(|c| &c.0),
        "cause_right": g.cause.as_ref().map(|c| c.1),
        "rpm": g.rpm,
        "lamp": g.lamp,
        "turning": g.turning,
        "minutes": last.and_then(|r| r.minutes).unwrap_or(g.minutes),
        "money": last.and_then(|r| r.money).unwrap_or(g.money),
        "stuck_s": stuck_s(&state),
        "time_s": g.time_s,
        "pace": g.pace,
        "asks": g.asks,
        "paused": state.paused,
        "handed_in": last.is_some_and(|r| r.handed_in),
        "mark": last.map(|r| json!({
            "points": r.points, "of": r.most, "closed": r.closed,
            "override": r.given, "reason": r.reason, "released": r.released,
        })),
        "allowed": state.allowed,
    });
    (tile, g.answers)
}

/// Time without activity, in steps of five seconds.
fn stuck_s(state: &SeatState) -> u64 {
    now().duration_since(state.last_act).as_secs() / 5 * 5
}

async fn socket(
    State(class): Shared,
    headers: HeaderMap,
    Query(asks): Query<Asks>,
    upgrade: WebSocketUpgrade,
) -> Response {
    if !join::own_origin(&headers, true) {
        return refuse(StatusCode::FORBIDDEN, &say("class-foreign"));
    }
    if !class.is_instructor(&headers) {
        return refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"));
    }
    upgrade
        .max_message_size(LARGEST)
        .max_frame_size(LARGEST)
        .on_upgrade(move |socket| hung(class, asks.units(), socket))
}

/// What a wall shows.
#[derive(Debug, Default)]
struct Looks {
    /// The seat viewed with truth, and the one on the projector.
    seat: Option<(u32, Memory)>,
    projected: Option<(u32, Memory)>,
    /// The engine of the viewed seat is drawn.
    engine: bool,
    compared: Option<Compare>,
    bars: Option<Bars>,
    /// Tiles as last sent.
    tiles: BTreeMap<u32, String>,
    copies: Option<Value>,
    beat: u64,
}

#[derive(Debug)]
struct Compare {
    seats: Vec<u32>,
    columns: Vec<String>,
    known: Vec<Known>,
}

#[derive(Debug)]
struct Bars {
    ask: String,
    until: Instant,
    sent: String,
}

async fn hung(class: Arc<Class>, units: Units, socket: WebSocket) {
    let (sink, mut stream) = socket.split();
    let (to, mut inbox) = unbounded_channel::<Asked>();
    let reading = {
        let (class, to) = (Arc::clone(&class), to.clone());
        async move {
            let mut rate = Rate::new(40.0, 20.0, now());
            while let Some(Ok(message)) = stream.next().await {
                let Message::Text(text) = message else { continue };
                if !rate.passes(now()) {
                    tokio::time::sleep(Duration::from_millis(250)).await;
                }
                let Ok(message) = serde_json::from_str::<Value>(&text) else { return };
                orders::take(&class, message, &to).await;
            }
        }
    };
    let mut wall = Hung { class, sink, units, looks: Looks::default() };
    tokio::select! {
        () = reading => {}
        _ = wall.run(&mut inbox, to) => {}
    }
    let _ = timeout(Duration::from_secs(1), wall.sink.close()).await;
}

/// The wall's sending side.
struct Hung {
    class: Arc<Class>,
    sink: SplitSink<WebSocket, Message>,
    /// Units of the wall.
    units: Units,
    looks: Looks,
}

/// The wall is disconnected.
struct Gone;

impl Hung {
    async fn send(&mut self, message: &Value) -> Result<(), Gone> {
        self.text(message.to_string()).await
    }
    async fn text(&mut self, text: String) -> Result<(), Gone> {
        self.put(Message::Text(text.into())).await
    }
    async fn put(&mut self, message: Message) -> Result<(), Gone> {
        match timeout(SLOWEST, self.sink.send(message)).await {
            Ok(Ok(())) => Ok(()),
            _ => Err(Gone),
        }
    }

    async fn run(
        &mut self,
        inbox: &mut tokio::sync::mpsc::UnboundedReceiver<Asked>,
        _open: UnboundedSender<Asked>,
    ) -> Result<(), Gone> {
        let settings = self.class.settings();
        let hello = json!({
            "kind": "hello", "protocol": 1,
            "class": { "word": self.class.word, "base": self.class.base },
            "lessons": self.class.lessons(),
            "settings": settings,
            "faults": orders::faults(),
            "surprises": orders::surprises(),
            "signals": texts::signals(true),
        });
        self.send(&hello).await?;
        let mut beat = interval(BEAT);
        beat.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            tokio::select! {
                asked = inbox.recv() => match asked {
                    None => return Ok(()),
                    Some(Asked::Say(message)) => self.send(&message).await?,
                    Some(Asked::Look(seat, engine)) => {
                        self.looks.engine = engine;
                        self.looks.seat = seat.map(|s| (s, self.memory()));
                        self.seat_hello(seat, true).await?;
                    }
                    Some(Asked::Project(seat)) => {
                        self.looks.projected = seat.map(|s| (s, self.memory()));
                        self.seat_hello(seat, false).await?;
                    }
                    Some(Asked::Compare(seats, columns)) => {
                        let known = vec![Known::default(); seats.len()];
                        self.looks.compared = (!seats.is_empty()).then_some(Compare { seats, columns, known });
                    }
                    Some(Asked::Bars(ask, seconds, show)) => {
                        let seconds = if show { 0.0 } else { seconds.clamp(0.0, 3600.0) };
                        let until = now() + Duration::from_secs_f64(seconds);
                        self.looks.bars = ask.map(|ask| Bars { ask, until, sent: String::new() });
                    }
                },
                _ = beat.tick() => {
                    self.looks.beat += 1;
                    let [seats, tiles, copies] = EACH.map(|n| self.looks.beat % n == 1);
                    if tiles {
                        self.tiles().await?;
                    }
                    if copies {
                        self.copies().await?;
                    }
                    if seats {
                        self.seats().await?;
                        self.compare().await?;
                    }
                    self.engines().await?;
                    // a wall that only watches answers this, so that it is not taken for disconnected
                    if self.looks.beat % PING == 1 {
                        self.put(Message::Ping(Vec::new().into())).await?;
                    }
                }
            }
        }
    }

    /// Sends the tiles that have changed; all of them if a seat was removed.
    async fn tiles(&mut self) -> Result<(), Gone> {
        let seats = self.class.seats();
        let answers = join_all(seats.iter().cloned().map(tile)).await;
        let whole = self.looks.tiles.is_empty()
            || self.looks.tiles.keys().any(|id| !seats.iter().any(|s| s.id == *id));
        if whole {
            self.looks.tiles.clear();
        }
        let mut changed = Vec::new();
        let mut given = Vec::new();
        for (seat, (tile, answers)) in seats.iter().zip(answers) {
            let text = tile.to_string();
            if self.looks.tiles.get(&seat.id) != Some(&text) {
                self.looks.tiles.insert(seat.id, text);
                changed.push(tile);
            }
            given.push((Arc::clone(seat), answers));
        }
        if whole || !changed.is_empty() {
            self.send(&json!({ "kind": "tiles", "whole": whole, "tiles": changed })).await?;
        }
        self.bars(&given).await
    }

    /// The class's answers to a question: how many have answered; and the answers, once all have or time is up.
    async fn bars(&mut self, given: &[(Arc<Seat>, BTreeMap<String, Said>)]) -> Result<(), Gone> {
        let Some(bars) = &mut self.looks.bars else { return Ok(()) };
        let working: Vec<_> = given.iter().filter_map(|(s, a)| Some((s.attempt()?, a))).collect();
        let said: Vec<&Said> = working.iter().filter_map(|(_, a)| a.get(&bars.ask)).collect();
        let shown = now() >= bars.until || (said.len() == working.len() && !said.is_empty());
        let scenario =
            working.iter().map(|(a, _)| &a.loaded.scenario).find(|s| texts::question(s, &bars.ask).is_some());
        let (asked, choices) = scenario.and_then(|s| texts::question(s, &bars.ask)).unwrap_or_default();
        let mut counted: BTreeMap<String, usize> = choices.iter().map(|(id, _)| (id.clone(), 0)).collect();
        for s in &said {
            let key = match s {
                Said::Word(w) => w.clone(),
                Said::Number(x) => x.to_string(),
            };
            *counted.entry(key).or_default() += 1;
        }
        let text = |id: &str| choices.iter().find(|(c, _)| c == id).map_or(id.to_owned(), |(_, t)| t.clone());
        let all: Vec<Value> =
            counted.iter().map(|(id, n)| json!({ "says": id, "text": text(id), "seats": n })).collect();
        let message = json!({
            "kind": "bars",
            "ask": bars.ask,
            "question": asked,
            "answered": said.len(),
            "of": working.len(),
            "left_s": bars.until.saturating_duration_since(now()).as_secs(),
            "shown": shown,
            "bars": if shown { all } else { Vec::new() },
        });
        let text = message.to_string();
        if bars.sent == text {
            return Ok(());
        }
        bars.sent.clone_from(&text);
        self.text(text).await
    }

    async fn copies(&mut self) -> Result<(), Gone> {
        let recent = |s: &Arc<Seat>| {
            let state = s.state();
            (now().duration_since(state.last_act) < LATELY).then(|| (s.id, state.lately.clone()))
        };
        let lately: Vec<_> = self.class.seats().iter().filter_map(recent).collect();
        let found = copies::found(&lately);
        if self.looks.copies.as_ref() == Some(&found) {
            return Ok(());
        }
        self.looks.copies = Some(found.clone());
        self.send(&json!({ "kind": "copies", "pairs": found })).await
    }

    /// How a seat's engine is built, and which signals there are; sent once when a seat is selected.
    async fn seat_hello(&mut self, seat: Option<u32>, truth: bool) -> Result<(), Gone> {
        let Some(id) = seat else { return Ok(()) };
        let Some(attempt) = self.class.seat(id).and_then(|s| s.attempt()) else { return Ok(()) };
        let Ok(mut lesson) = timeout(PATIENCE, attempt.lesson()).await else { return Ok(()) };
        for part in ["hands", "groups"] {
            lesson[part] = Value::Null;
        }
        lesson["signals"] = texts::signals(truth);
        self.send(&json!({ "kind": "seat_hello", "seat": id, "lesson": lesson })).await
    }

    /// The engines of the viewed seats.
    async fn engines(&mut self) -> Result<(), Gone> {
        let looked =
            self.looks.seat.as_ref().filter(|_| self.looks.engine).map(|(id, _)| (*id, Viewer::Instructor));
        let projected = self.looks.projected.as_ref().map(|(id, _)| (*id, Viewer::Trainee));
        for (id, viewer) in looked.into_iter().chain(projected) {
            let Some(attempt) = self.class.seat(id).and_then(|s| s.attempt()) else { continue };
            let heads = (json!({ "seat": id }), Value::Null);
            let frame = timeout(PATIENCE, look(&attempt, viewer, heads, Wish::Engine)).await;
            if let Ok(Ok(Frame { engine: Some(text), .. })) = frame {
                self.text(text).await?;
            }
        }
        Ok(())
    }

    /// The viewed seat, and the one on the projector.
    async fn seats(&mut self) -> Result<(), Gone> {
        let looked = std::mem::take(&mut self.looks.seat);
        self.looks.seat = match looked {
            Some((id, memory)) => {
                let word = self.class.seat(id).map(|s| s.word.clone());
                let head = json!({ "kind": "look", "seat": id, "word": word });
                Some((id, self.one(id, Viewer::Instructor, head, memory).await?))
            }
            None => None,
        };
        let projected = std::mem::take(&mut self.looks.projected);
        self.looks.projected = match projected {
            // without a name, and as its trainee sees it
            Some((id, memory)) => {
                Some((id, self.one(id, Viewer::Trainee, json!({ "kind": "project" }), memory).await?))
            }
            None => None,
        };
        Ok(())
    }

    /// Nothing was sent yet, to a wall that shows these units.
    fn memory(&self) -> Memory {
        Memory::of(self.units, Known::default())
    }

    async fn one(&mut self, id: u32, viewer: Viewer, head: Value, memory: Memory) -> Result<Memory, Gone> {
        let Some(attempt) = self.class.seat(id).and_then(|s| s.attempt()) else { return Ok(memory) };
        let wish = Wish::View(memory);
        let Ok(Ok(frame)) = timeout(PATIENCE, look(&attempt, viewer, (Value::Null, head), wish)).await else {
            return Ok(self.memory());
        };
        if let Some(text) = frame.view {
            self.text(text).await?;
        }
        Ok(frame.memory.unwrap_or_else(|| self.memory()))
    }

    /// Two seats side by side, on the same traces.
    async fn compare(&mut self) -> Result<(), Gone> {
        let Some(compare) = &mut self.looks.compared else { return Ok(()) };
        let (mut rows, mut from, mut words) = (Vec::new(), Vec::new(), Vec::new());
        for (id, known) in compare.seats.iter().zip(&mut compare.known) {
            let Some(seat) = self.class.seat(*id) else { continue };
            let Some(attempt) = seat.attempt() else { continue };
            let (give, get) = oneshot::channel();
            let (wanted, had) = (compare.columns.clone(), *known);
            attempt.live.hear(move |stands| {
                let _ = give.send(chosen(stands, &wanted, had));
            });
            let Ok(Ok((own, first, now_known))) = timeout(PATIENCE, get).await else { continue };
            *known = now_known;
            words.push(seat.word.clone());
            rows.push(own);
            from.push(first);
        }
        if rows.iter().all(Vec::is_empty) {
            return Ok(());
        }
        let message = json!({
            "kind": "compare", "seats": compare.seats, "columns": compare.columns,
            "rows": rows, "from": from, "words": words,
        });
        self.send(&message).await
    }
}

/// New rows of the requested columns, with the time since hand-over in front; and the number of the first row.
fn chosen(stands: &Stands<'_>, wanted: &[String], known: Known) -> (Vec<Vec<f64>>, usize, Known) {
    let v = view(stands.desk, &[], Viewer::Instructor, known);
    let places: Vec<usize> = std::iter::once("time_s")
        .chain(wanted.iter().map(String::as_str))
        .filter_map(|w| v.columns.iter().position(|c| *c == w))
        .collect();
    let own = |row: &Vec<f64>| {
        let value = |(k, p): (usize, &usize)| {
            let x = row.get(*p).copied().unwrap_or(f64::NAN);
            if k == 0 { x - v.hand_over_s } else { x }
        };
        places.iter().enumerate().map(value).collect()
    };
    let known =
        Known { epoch: v.epoch, rows: v.rows_from + v.rows.len(), lines: v.lines_from + v.lines.len() };
    (v.rows.iter().map(own).collect(), v.rows_from, known)
}
