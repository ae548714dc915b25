//! What is done again and again at a car in the bay: start it, hold it, ask its module, read its codes.
//!
//! `jobs` runs scenarios, `program` the program itself as somebody runs it. A test program takes all of it by
//! `#[path = "../bay/mod.rs"] mod bay;` and uses what it needs.
#![allow(dead_code, reason = "no test program needs all of it")]

pub mod jobs;
pub mod program;

use idlewright::bench::action::{Action, Key, PartChoice};
use idlewright::bench::setup::{Setup, Stretch, StretchKind};
use idlewright::bench::{Bench, Done};
use idlewright::link::{DiagRequest, DiagResponse, LearnedStatus};
use std::ops::RangeInclusive;
use std::sync::OnceLock;

/// The Plover's file.
pub const PLOVER: &str = include_str!("../../assets/cars/plover.toml");
/// The Dunlin's file.
pub const DUNLIN: &str = include_str!("../../assets/cars/dunlin.toml");
/// The Whimbrel's file.
pub const WHIMBREL: &str = include_str!("../../assets/cars/whimbrel.toml");
/// Each car's name and file.
pub const CARS: [(&str, &str); 3] = [("plover", PLOVER), ("dunlin", DUNLIN), ("whimbrel", WHIMBREL)];

// ---------------------------------------------------------------------------------------------------
// How much is tried, and how close it must be
// ---------------------------------------------------------------------------------------------------

/// A whole number from the environment, if it is there.
pub fn number_from(variable: &str) -> Option<u64> {
    std::env::var(variable).ok()?.parse().ok()
}

/// Seeds to try: the first few, or as many as `IDLEWRIGHT_SEEDS` says.
pub fn seeds(few: u64) -> RangeInclusive<u64> {
    1..=number_from("IDLEWRIGHT_SEEDS").unwrap_or(few)
}

/// Fails unless a number of a row lies in a band, its ends included.
#[track_caller]
pub fn within(row: &str, what: &str, is: f64, low: f64, high: f64) {
    assert!((low..=high).contains(&is), "{row}: {what} {is:.4}, wanted {low} to {high}");
}

/// Fails unless a number lies within an absolute tolerance of another.
#[track_caller]
pub fn close_to(what: &str, is: f64, wanted: f64, absolute: f64) {
    let off = is - wanted;
    assert!(
        off.abs() <= absolute,
        "{what}: {is} against {wanted}, off by {off:+.2e}, allowed {absolute:.1e}"
    );
}

// ---------------------------------------------------------------------------------------------------
// Cars
// ---------------------------------------------------------------------------------------------------

/// A car as its setup says, conditioned if that asks for it.
pub fn bench(setup: &Setup) -> Bench {
    Bench::new(setup, &mut |_| true).expect("a bench")
}

/// A car as its setup says, not conditioned.
pub fn standing(setup: &Setup) -> Bench {
    Bench::standing(setup).expect("a bench")
}

/// The Plover's file with parts that are all exactly nominal.
pub fn nominal_plover() -> String {
    let mut changed = 0;
    let lines: Vec<String> = PLOVER
        .lines()
        .map(|line| {
            let key = line.split(" = ").next().unwrap_or("");
            let value = match key {
                "runout_mm" => "[0.0, 0.0]",
                k if k.contains("_sigma") => "0.0",
                _ => return line.to_owned(),
            };
            changed += 1;
            format!("{key} = {value}")
        })
        .collect();
    assert_eq!(changed, 12, "every spread is taken away");
    lines.join("\n")
}

/// A car whose throttle has grown so much deposit while it idled and learned for ten minutes \[µm\].
pub fn grown(setup: Setup, deposit_um: f64) -> Bench {
    // the car's file: 0.04 µm an hour in ordinary use
    let wear_factor = deposit_um * 60.0 / (0.04 * 10.0);
    let idled = Stretch { kind: StretchKind::Idle, minutes: 10.0, wear_factor };
    bench(&Setup { conditioning: vec![idled], ..setup })
}

/// Warm and idling, with such parts.
pub fn warm(car: &str, seed: u64, parts: Vec<PartChoice>) -> Bench {
    let setup = Setup { parts, ..Setup::healthy(car, seed, 90.0) };
    idlewright::bench::survey::warm(&setup).expect("it starts")
}

/// A car with a stale value, codes and trims: 50 µm learned round, then cleaned; it idles high, P0507 is pending.
pub fn stale() -> Bench {
    static STALE: OnceLock<Bench> = OnceLock::new();
    STALE
        .get_or_init(|| {
            let mut b = grown(Setup::healthy(PLOVER, 4, 88.0), 50.0);
            act(&mut b, Action::CleanThrottle);
            start(&mut b);
            b.advance_by(60.0);
            assert_eq!(code(&b, "P0507"), Some((true, false, false)), "{:?}", b.observe().codes);
            b
        })
        .clone()
}

// ---------------------------------------------------------------------------------------------------
// Hands
// ---------------------------------------------------------------------------------------------------

/// Does something that nothing may hinder.
#[track_caller]
pub fn act(b: &mut Bench, a: Action) {
    let done = b.act("", a.clone());
    assert_eq!(done, Done::Yes, "{a:?}");
}

/// Key on, and two seconds.
pub fn key_on(b: &mut Bench) {
    act(b, Action::Key(Key::On));
    b.advance_by(2.0);
}

/// Key on, two seconds, and on to the starter.
pub fn crank(b: &mut Bench) {
    key_on(b);
    act(b, Action::Key(Key::Crank));
}

/// Starts the engine: it runs when so much time has gone by with the starter \[s\].
#[track_caller]
pub fn start_in(b: &mut Bench, seconds: f64) {
    crank(b);
    b.advance_by(seconds);
    assert!(b.observe().live.running, "the engine did not start");
}

/// Starts the engine.
#[track_caller]
pub fn start(b: &mut Bench) {
    start_in(b, 5.0);
}

/// Key off, and so much time; an after-run takes 12 \[s\].
pub fn stop_for(b: &mut Bench, seconds: f64) {
    act(b, Action::Key(Key::Off));
    b.advance_by(seconds);
}

/// Key off and the whole after-run.
pub fn stop(b: &mut Bench) {
    stop_for(b, 12.0);
}

/// Pedal up, and key off when it idles again.
pub fn stop_from_hold(b: &mut Bench, seconds: f64) {
    act(b, Action::Pedal(0.0));
    b.advance_by(4.0);
    stop_for(b, seconds);
}

/// Holds a speed against rollers for a time.
pub fn hold(b: &mut Bench, rpm: f64, nm: f64, for_s: f64) {
    act(b, Action::Hold { rpm, nm });
    b.advance_by(for_s);
}

/// What a start shows.
pub struct Start {
    /// Mean speed under the starter.
    pub crank_rpm: f64,
    /// Time until it fires.
    pub fires_s: f64,
    /// Highest speed of the first six seconds.
    pub flare_rpm: f64,
}

/// Starts an engine and watches it for six seconds.
pub fn watched_start(b: &mut Bench) -> Start {
    crank(b);
    let t0 = b.time_s();
    let (mut crank, mut n, mut fires_s, mut flare) = (0.0, 0.0, f64::INFINITY, 0.0f64);
    while b.time_s() < t0 + 6.0 {
        b.advance_by(0.01);
        let (rpm, t) = (b.plant().speed_rpm(), b.time_s() - t0);
        if fires_s.is_infinite() {
            if rpm > 420.0 {
                fires_s = t;
            } else if t > 0.15 {
                crank += rpm;
                n += 1.0;
            }
        }
        flare = flare.max(rpm);
    }
    Start { crank_rpm: crank / n, fires_s, flare_rpm: flare }
}

// ---------------------------------------------------------------------------------------------------
// The module
// ---------------------------------------------------------------------------------------------------

/// Asks the module; it answers.
#[track_caller]
pub fn ask(b: &mut Bench, r: DiagRequest) -> DiagResponse {
    match b.act("", Action::Ask(r)) {
        Done::Answer(a) => a,
        other => panic!("no answer: {other:?}"),
    }
}

/// Codes that are stored, in whatever state.
pub fn codes(b: &Bench) -> Vec<String> {
    b.observe().codes.into_iter().map(|c| c.code).collect()
}

/// A code is stored, in whatever state.
pub fn has_code(b: &Bench, code: &str) -> bool {
    codes(b).iter().any(|c| c == code)
}

/// Pending, confirmed, permanent; none if nothing is stored.
pub fn code(b: &Bench, number: &str) -> Option<(bool, bool, bool)> {
    let o = b.observe();
    o.codes.iter().find(|c| c.code == number).map(|c| (c.pending, c.confirmed, c.permanent))
}

/// A learned value as a tester shows it.
#[track_caller]
pub fn learned(b: &Bench, name: &str) -> LearnedStatus {
    b.observe().learned.into_iter().find(|l| l.name == name).expect("a learned value")
}

/// A gate of a learned value is open.
#[track_caller]
pub fn gate(b: &Bench, value: &str, name: &str) -> bool {
    let l = learned(b, value);
    l.gates
        .iter()
        .find(|g| g.name.name() == name)
        .unwrap_or_else(|| panic!("{value} has no gate {name}"))
        .open
}
