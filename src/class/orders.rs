//! The instructor's orders from the wall: for all seats or for some.
//!
//! *Inside*: reading an order, carrying it out, reporting the result. *Outside*: the socket and the view
//! ([`super::wall`]).

use super::keep::{Allowed, no_random};
use super::seat::{Out, Seat, pace_of};
use super::{Class, join, now, now_ms, texts};
use crate::app::{Error, trainee::Trainee};
use crate::bench::action::{Action, Ill, PartChoice, PartKind, Sensor, Wire};
use crate::bench::trace::COLUMNS;
use crate::catalogue::parts::{Place, Says};
use crate::report;
use crate::scenario::surprise::{SURPRISES, Surprise};
use crate::session::desk::Reach;
use crate::session::live::Order;
use crate::session::replay;
use crate::units;
use crate::words::{facts, name, say, upper_first};
use futures_util::future::join_all;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;
use tokio::sync::mpsc::UnboundedSender;

/// Maximum length of a note to seats.
const MOST_NOTE: usize = 1000;
/// Maximum length of a reason for changed marks.
const MOST_REASON: usize = 400;

/// A request to the wall's own sending side.
#[derive(Debug, Clone)]
pub enum Asked {
    /// Send a message.
    Say(Value),
    /// Look at a seat with truth; whether its engine is drawn.
    Look(Option<u32>, bool),
    /// Put a seat on the projector.
    Project(Option<u32>),
    /// Compare seats side by side, on these traces.
    Compare(Vec<u32>, Vec<String>),
    /// Show the answers to a question when all have answered, after this many seconds, or at once; none for no
    /// question.
    Bars(Option<String>, f64, bool),
}

/// The seats that an order is for.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(untagged)]
enum To {
    Some(Vec<u32>),
    All(Every),
}

/// The word for all seats.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Every {
    All,
}

impl To {
    fn seats(&self, class: &Class) -> Result<Vec<Arc<Seat>>, Error> {
        match self {
            To::All(Every::All) => Ok(class.seats()),
            To::Some(ids) => ids.iter().map(|id| seat_of(class, *id)).collect(),
        }
    }
}

/// Refuses a question that no seat's lesson has.
fn asked_here(class: &Class, id: &str) -> Result<(), Error> {
    let has = |s: Arc<Seat>| s.attempt().is_some_and(|a| texts::question(&a.loaded.scenario, id).is_some());
    if class.seats().into_iter().any(has) {
        Ok(())
    } else {
        Err(Error::rule(say!("class-no-question", ask = id)))
    }
}

/// The seat with this number; an order for one that does not exist is refused as a whole.
fn seat_of(class: &Class, id: u32) -> Result<Arc<Seat>, Error> {
    class.seat(id).ok_or_else(|| Error::rule(say!("class-no-seat", seat = id)))
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Orders {
    Start {
        to: To,
    },
    Pause {
        to: To,
    },
    Pace {
        to: To,
        pace: Option<f64>,
    },
    Allow {
        to: To,
        rewind: Option<bool>,
        lid: Option<bool>,
        fork: Option<bool>,
        pace: Option<bool>,
    },
    Slip {
        to: To,
        act: Box<Action>,
    },
    Surprise {
        to: To,
        level: u8,
        #[serde(default)]
        fault: Option<String>,
    },
    Note {
        to: To,
        text: String,
    },
    Look {
        seat: Option<u32>,
        #[serde(default)]
        engine: bool,
    },
    Project {
        seat: Option<u32>,
    },
    Compare {
        seats: Vec<u32>,
        columns: Vec<String>,
    },
    Bars {
        ask: Option<String>,
        #[serde(default)]
        seconds: Option<f64>,
        #[serde(default)]
        show: bool,
    },
    Assign {
        to: To,
        lesson: String,
        #[serde(default = "yes")]
        variants: bool,
    },
    Override {
        seat: u32,
        attempt: u32,
        points: Option<f64>,
        #[serde(default)]
        reason: String,
    },
    Release {
        to: To,
    },
    Exam {
        #[serde(default)]
        end: bool,
        minutes: Option<f64>,
        lesson: Option<String>,
        #[serde(default = "yes")]
        variants: bool,
    },
    Admit {
        seat: u32,
    },
    Delete {
        seat: u32,
    },
}

fn yes() -> bool {
    true
}

/// Handles a message from the wall.
pub(super) async fn take(class: &Arc<Class>, message: Value, to: &UnboundedSender<Asked>) {
    let n = message.get("n").cloned().unwrap_or(Value::Null);
    let done = match serde_json::from_value::<Orders>(message) {
        Ok(order) => obey(class, order, to).await,
        Err(_) => Err(Error::rule(say("class-not-understood"))),
    };
    let mut answer = match done {
        Ok(answer) => answer,
        Err(why) => json!({ "refused": why.to_string() }),
    };
    answer["kind"] = json!("done");
    answer["n"] = n;
    let _ = to.send(Asked::Say(answer));
}

async fn obey(class: &Arc<Class>, order: Orders, to: &UnboundedSender<Asked>) -> Result<Value, Error> {
    let done = || Ok(json!({ "text": say("class-done") }));
    match order {
        Orders::Start { to } => each(class, &to, |s| s.state().paused = false),
        Orders::Pause { to } => each(class, &to, |s| s.state().paused = true),
        Orders::Pace { to, pace } => {
            let pace = pace_of(pace).map_err(Error::rule)?;
            each(class, &to, |s| order_at(s, Order::Pace(pace)))
        }
        Orders::Allow { to, rewind, lid, fork, pace } => {
            let change = |a: Allowed| Allowed {
                pace: pace.unwrap_or(a.pace),
                rewind: rewind.unwrap_or(a.rewind),
                fork: fork.unwrap_or(a.fork),
                lid: lid.unwrap_or(a.lid),
            };
            if matches!(to, To::All(Every::All)) {
                class.change(|s| s.allowed = change(s.allowed))?;
            }
            each(class, &to, |s| {
                let mut state = s.state();
                state.allowed = change(state.allowed);
            })
        }
        Orders::Slip { to, act } => {
            replay::allowed(&act).map_err(|why| Error::rule(facts::mistake(&why)))?;
            if matches!(*act, Action::Note(_)) {
                return Err(Error::rule(say("class-not-offered")));
            }
            each(class, &to, |s| order_at(s, Order::InjectFault((*act).clone(), Reach::Both)))
        }
        Orders::Surprise { to, level, fault } => surprise_seats(class, &to, level, fault.as_deref()).await,
        Orders::Note { to, text } => {
            let text: String =
                text.chars().filter(|c| !c.is_control() || *c == '\n').take(MOST_NOTE).collect();
            each(class, &to, |s| s.tell(&json!({ "kind": "note", "text": text })))
        }
        Orders::Look { seat, engine } => {
            seat.map(|id| seat_of(class, id)).transpose()?;
            ask(to, Asked::Look(seat, engine))
        }
        Orders::Project { seat } => {
            seat.map(|id| seat_of(class, id)).transpose()?;
            ask(to, Asked::Project(seat))
        }
        Orders::Compare { seats, columns } => {
            seats.iter().try_for_each(|id| seat_of(class, *id).map(drop))?;
            if !columns.iter().all(|name| COLUMNS.iter().any(|c| c.name == *name)) {
                return Err(Error::rule(say("class-out-of-range")));
            }
            ask(to, Asked::Compare(seats, columns))
        }
        Orders::Bars { ask: question, seconds, show } => {
            question.as_deref().map_or(Ok(()), |id| asked_here(class, id))?;
            ask(to, Asked::Bars(question, seconds.unwrap_or(3600.0), show))
        }
        Orders::Assign { to, lesson, variants } => {
            // a lesson that cannot be read is reported once, not per seat, and a refused order changes nothing
            crate::app::load::scenario(&class.keep, &lesson, &Trainee::default())?;
            let seats = to.seats(class)?;
            class.change(|s| {
                if matches!(to, To::All(Every::All)) {
                    s.lesson = Some(lesson.clone());
                    s.variants = variants;
                }
            })?;
            assign(class, seats, &lesson, variants).await
        }
        Orders::Override { seat, attempt, points, reason } => {
            give_marks(class, seat, attempt, points, &reason)?;
            done()
        }
        Orders::Release { to } => {
            to.seats(class)?.iter().try_for_each(|s| release(class, s))?;
            done()
        }
        Orders::Exam { end: true, .. } => {
            end_exam(class)?;
            done()
        }
        Orders::Exam { minutes, lesson, variants, .. } => {
            let lesson = lesson.ok_or_else(|| Error::rule(say("class-exam-lesson")))?;
            begin_exam(class, &lesson, variants, minutes).await
        }
        Orders::Admit { seat } => {
            seat_of(class, seat)?;
            let code = join::code().map_err(|_| no_random())?;
            class.keep.set_code(seat, &join::kept(&code))?;
            Ok(json!({ "text": say!("class-code", code = code.as_str()), "code": code }))
        }
        Orders::Delete { seat } => {
            seat_of(class, seat)?;
            class.delete_seat(seat)?;
            done()
        }
    }
}

/// Applies a fault of a level at each seat: the one that is named, or any that the seat's own seed draws.
async fn surprise_seats(class: &Arc<Class>, to: &To, level: u8, fault: Option<&str>) -> Result<Value, Error> {
    let known = |id: &str| SURPRISES.iter().any(|s| s.level == level && s.id == id);
    if !(1..=3).contains(&level) || fault.is_some_and(|id| !known(id)) {
        return Err(Error::rule(say("class-out-of-range")));
    }
    let seats = to.seats(class)?;
    for seat in &seats {
        if let Some(attempt) = seat.attempt()
            && let Some(action) = attempt.surprise(level, fault).await
        {
            attempt.order(Order::InjectFault(action, Reach::Both));
        }
        told(seat);
    }
    Ok(json!({ "text": say("class-done"), "seats": seats.len() }))
}

fn ask(to: &UnboundedSender<Asked>, what: Asked) -> Result<Value, Error> {
    let _ = to.send(what);
    Ok(json!({ "text": say("class-done") }))
}

/// Applies a change to each seat, and sends the new state to its page.
fn each(class: &Class, to: &To, change: impl Fn(&Seat)) -> Result<Value, Error> {
    let seats = to.seats(class)?;
    for seat in &seats {
        change(seat);
        let standing = seat.stands();
        class.keep.set_standing(seat.id, &standing)?;
        seat.hold(seat.is_away(now()));
        told(seat);
    }
    Ok(json!({ "text": say("class-done"), "seats": seats.len() }))
}

fn told(seat: &Seat) {
    let mut state = seat.standing();
    state["kind"] = json!("state");
    seat.tell(&state);
}

fn order_at(seat: &Seat, order: Order) {
    if let Some(attempt) = seat.attempt() {
        attempt.order(order);
    }
}

async fn assign(
    class: &Arc<Class>,
    seats: Vec<Arc<Seat>>,
    lesson: &str,
    variants: bool,
) -> Result<Value, Error> {
    let all = seats.iter().map(|seat| class.assign(seat, lesson, variants));
    let begun: Vec<Result<(), Error>> = join_all(all).await;
    let count = begun.iter().filter(|r| r.is_ok()).count();
    begun.into_iter().find(Result::is_err).unwrap_or(Ok(()))?;
    Ok(json!({ "text": say("class-done"), "seats": count }))
}

fn give_marks(class: &Class, seat: u32, number: u32, points: Option<f64>, reason: &str) -> Result<(), Error> {
    let none = || Error::rule(say("class-no-attempt"));
    let seat = class.seat(seat).ok_or_else(none)?;
    let mut state = seat.state();
    let row = state.rows.iter_mut().find(|r| r.number == number && r.handed_in).ok_or_else(none)?;
    let reason: String = reason.chars().filter(|c| !c.is_control()).take(MOST_REASON).collect();
    if points.is_some_and(|p| !(0.0..=row.most.unwrap_or(1000.0)).contains(&p)) {
        return Err(Error::rule(say("class-out-of-range")));
    }
    if points.is_some() && reason.trim().is_empty() {
        return Err(Error::rule(say("class-needs-reason")));
    }
    row.given = points;
    row.reason = points.map(|_| reason.trim().to_owned());
    class.keep.put_attempt(row)
}

fn release(class: &Class, seat: &Seat) -> Result<(), Error> {
    let mut any = false;
    for row in seat.state().rows.iter_mut().filter(|r| r.handed_in && !r.released) {
        row.released = true;
        any = true;
        class.keep.put_attempt(row)?;
    }
    if any {
        told(seat);
        seat.tell(&json!({ "kind": "debrief", "released": true }));
    }
    Ok(())
}

/// Begins an exam: one attempt at one lesson at every seat, lid locked, no rewinding, marks withheld until released.
async fn begin_exam(
    class: &Arc<Class>,
    lesson: &str,
    variants: bool,
    minutes: Option<f64>,
) -> Result<Value, Error> {
    let loaded = crate::app::load::scenario(&class.keep, lesson, &Trainee::default())?;
    if super::seat::Attempt::always_open(&loaded) {
        return Err(Error::rule(say("class-exam-open-lid")));
    }
    if loaded.scenario.plan.is_none() {
        return Err(Error::rule(say("class-exam-unmarked")));
    }
    if minutes.is_some_and(|m| !(1.0..=600.0).contains(&m)) {
        return Err(Error::rule(say("class-out-of-range")));
    }
    class.change(|s| {
        s.exam = true;
        s.exam_ends_ms = minutes.map(|m| now_ms() + (60_000.0 * m) as i64);
        s.lesson = Some(lesson.to_owned());
        s.variants = variants;
        s.allowed = Allowed::EXAM;
    })?;
    let seats = class.seats();
    for seat in &seats {
        {
            let mut state = seat.state();
            state.allowed = Allowed::EXAM;
            state.exam_ends_ms = class.settings().exam_ends_ms;
        }
        class.keep.set_standing(seat.id, &seat.stands())?;
    }
    assign(class, seats, lesson, variants).await
}

/// Ends the exam: attempts under way are handed in as they are.
pub(super) fn end_exam(class: &Class) -> Result<(), Error> {
    class.change(|s| {
        s.exam = false;
        s.exam_ends_ms = None;
        s.allowed = Allowed::default();
    })?;
    for seat in class.seats() {
        if let Some(attempt) = seat.attempt().filter(|a| a.row.exam) {
            attempt.order(Order::HandIn);
        }
        let page = {
            let mut state = seat.state();
            state.allowed = Allowed::default();
            state.exam_ends_ms = None;
            state.page.clone()
        };
        class.keep.set_standing(seat.id, &seat.stands())?;
        if let Some(page) = page {
            let _ = page
                .to
                .send(Out::Text(json!({ "kind": "note", "text": say("class-exam-over") }).to_string()));
        }
        told(&seat);
    }
    Ok(())
}

/// Faults by level, each with its name.
pub fn surprises() -> Value {
    let one =
        |s: &Surprise| json!({ "id": s.id, "level": s.level, "name": upper_first(&name("surprise", s.id)) });
    SURPRISES.iter().map(one).collect()
}

/// Faults that can be injected, in the form of the offers of a seat: leaks, wires, connectors, and of parts that an engine has
/// one of what takes a number. The window's sheet offers every fault of every part.
pub fn faults() -> Value {
    let number = |range: &units::Range, start: f64| {
        json!([{ "key": "$x", "name": "", "number":
            { "low": range.low, "high": range.high, "start": start, "unit": range.unit } }])
    };
    let one = |id: &str, called: String, act: Value, fields: Value| json!({ "id": id, "name": upper_first(&called), "act": act, "fields": fields });
    let mut all = vec![
        one("leak", say("slip-leak"), json!({ "leak": "$x" }), number(&units::LEAK_MM2, 8.0)),
        one(
            "exhaust_leak",
            say("slip-exhaust-leak"),
            json!({ "exhaust_leak": "$x" }),
            number(&units::EXHAUST_LEAK_MM2, 8.0),
        ),
    ];
    let wires = [
        ("sound", Wire::Sound),
        ("open", Wire::Open),
        ("to_earth", Wire::ToEarth),
        ("to_supply", Wire::ToSupply),
        ("loose", Wire::Loose),
    ];
    for (sensor, id) in Sensor::ALL {
        let ill = |wire| json!(Action::Sensor(sensor, Ill { wire, ..Ill::default() }));
        let of: Vec<Value> = wires.iter().skip(1).map(|(id, w)| json!([ill(*w), name("wire", id)])).collect();
        let fields = json!([{ "key": "$act", "name": name("sensor-ill", "wire"), "of": of }]);
        all.push(one(id, name("sensor", id), json!("$act"), fields));
    }
    let engine = PartKind::ALL.into_iter().filter(|k| k.declared().place == Place::Engine);
    for kind in engine {
        for fault in kind.faults() {
            let Says::Number(range) = fault.says else { continue };
            let mut choice = PartChoice::new(kind);
            choice.say(fault.key, Some(fault.begins));
            let mut act = json!(Action::Fit(choice));
            let key = if fault.key == "variant" { "other_variant" } else { fault.key };
            act["fit"][key] = json!("$x");
            let called = format!("{}: {}", name("part", kind.name()), name("fault", fault.key));
            all.push(one(
                &format!("{}-{}", kind.name(), fault.key),
                called,
                act,
                number(&range, fault.begins),
            ));
        }
    }
    let plugs = crate::bench::action::Connector::named(4);
    for (id, c) in plugs {
        let act = json!(Action::Connector(c, false));
        let called = say!("class-plug-off", plug = report::connector_words(c));
        all.push(one(&format!("unplug-{id}"), called, act, json!([])));
    }
    Value::Array(all)
}
