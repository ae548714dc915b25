//! Learned values, codes and gates, one by one: limits, what survives which event, hand calculations, the exact
//! limits of the manual sequence.
//!
//! Hand calculations are checked on a Plover whose parts have no spread, so that the error under test is the only
//! one.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{
    PLOVER as CAR, act, ask, code, gate, grown, key_on, learned, nominal_plover, stale, start, stop,
};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use idlewright::bench::car::Car;
use idlewright::bench::record::{Entry, Kind};
use idlewright::bench::setup::{Faults, Setup};
use idlewright::bench::view::Lamp;
use idlewright::ecm::codes::{Code, Codes};

use idlewright::ecm::memory::{Item, Name, Store};
use idlewright::ecm::sequences::{self, Inputs, Outcome};
use idlewright::link::{
    DiagRequest, DiagResponse, FreezeFrame, FuelSystem, Gate, Group, LearnedStatus, Notice, Routine, Writer,
};
use std::sync::OnceLock;

fn setup(car: &str, seed: u64) -> Setup {
    Setup::healthy(car, seed, 88.0)
}

fn nominal(parts: Vec<PartChoice>, unmetered_leak_mm2: f64) -> Bench {
    let s = Setup {
        parts,
        faults: Faults { unmetered_leak_mm2, ..Faults::default() },
        ..setup(&nominal_plover(), 1)
    };
    Bench::standing(&s).expect("a bench")
}

fn with_error(kind: PartKind, error_pct: f64) -> PartChoice {
    PartChoice { error_pct: Some(error_pct), ..PartChoice::new(kind) }
}

fn body(deposit_um: Option<f64>, stop_offset_deg: Option<f64>) -> PartChoice {
    PartChoice { deposit_um, stop_offset_deg, ..PartChoice::new(PartKind::ThrottleBody) }
}

/// Short- and long-term correction at idle together, bank 1 \[-\], mean over half a minute.
fn correction(b: &mut Bench) -> f64 {
    let n = 60;
    let mut sum = 0.0;
    for _ in 0..n {
        b.advance_by(0.5);
        let l = b.observe().live;
        assert!(l.idling);
        sum += (1.0 + l.short_pct / 100.0) * (1.0 + l.long_pct / 100.0);
    }
    sum / f64::from(n) - 1.0
}

fn settled(mut b: Bench) -> Bench {
    start(&mut b);
    b.advance_by(700.0);
    assert!(b.observe().live.idling);
    b
}

/// Correction of a car without any error: the module's tables against the physics.
fn base_correction() -> f64 {
    static BASE: OnceLock<f64> = OnceLock::new();
    *BASE.get_or_init(|| correction(&mut settled(nominal(Vec::new(), 0.0))))
}

// ---------------------------------------------------------------------------------------------------
// Sums
// ---------------------------------------------------------------------------------------------------

/// Unmetered air L beside metered air m: fuel must follow m + L, so the correction is L/m.
#[test]
fn exact_unmetered_leak_is_corrected_by_its_share() {
    for leak_mm2 in [0.3, 0.6] {
        let mut b = settled(nominal(Vec::new(), leak_mm2));
        let got = (1.0 + correction(&mut b)) / (1.0 + base_correction()) - 1.0;
        let leak = b.truth().unmetered_leak_g_s;
        let metered = b.observe().idle.expect("an idle").air_g_s;
        let sum = leak / metered;
        println!(
            "leak {leak_mm2} mm²: {leak:.3} of {metered:.3} g/s: {:+.2} %, sum {:+.2} %",
            100.0 * got,
            100.0 * sum
        );
        assert!((got - sum).abs() < 0.015, "{got:+.4} against {sum:+.4}");
        let o = b.observe();
        assert!((o.trims[0].long_idle_pct / 100.0 - got).abs() < 0.03, "the long-term offset carries it");
        assert!(o.live.short_pct.abs() < 3.0, "and the short term is free again: {}", o.live.short_pct);
        assert!((o.idle.unwrap().lambda[0] - 1.0).abs() < 0.01);
    }
}

/// A meter that reads (1 + e) times the true flow is corrected by 1/(1 + e).
#[test]
fn exact_air_meter_error_is_corrected_by_its_inverse() {
    for error_pct in [-10.0, 10.0] {
        let mut b = settled(nominal(vec![with_error(PartKind::AirMeter, error_pct)], 0.0));
        let got = (1.0 + correction(&mut b)) / (1.0 + base_correction()) - 1.0;
        let sum = 1.0 / (1.0 + error_pct / 100.0) - 1.0;
        println!("meter {error_pct:+} %: {:+.2} %, sum {:+.2} %", 100.0 * got, 100.0 * sum);
        assert!((got - sum).abs() < 0.015, "{got:+.4} against {sum:+.4}");
        assert!(
            code(&b, "P0171").is_none() && code(&b, "P0172").is_none(),
            "idle long-term alone is no code"
        );
    }
}

/// One injector of four delivers a tenth less: the bank gets 3.9/4 of its fuel, so the trim is 4/3.9 − 1 = +2.564 %;
/// that cylinder then has lambda 3.9/4/0.9 = 1.0833, the others 0.975.
#[test]
fn exact_one_injector_low_hides_in_the_mean() {
    let mut b = settled(nominal(vec![with_error(PartKind::Injector(2), -10.0)], 0.0));
    let got = (1.0 + correction(&mut b)) / (1.0 + base_correction()) - 1.0;
    println!("injector 2 −10 %: bank {:+.2} %", 100.0 * got);
    assert!((got - 0.025_64).abs() < 0.006, "bank trim {:+.2} %", 100.0 * got);
    let mut mean = [0.0; 4];
    for _ in 0..20 {
        b.advance_by(5.0);
        for (m, c) in mean.iter_mut().zip(&b.truth().cylinders) {
            *m += c.lambda / 20.0;
        }
    }
    println!("lambdas {mean:?}");
    for (i, m) in mean.iter().enumerate() {
        let want = if i == 1 { 0.975 / 0.9 } else { 0.975 };
        assert!((m / want - 1.0).abs() < 0.01, "cylinder {}: {m:.4} against {want:.4}", i + 1);
    }
}

// ---------------------------------------------------------------------------------------------------
// Limits and memory
// ---------------------------------------------------------------------------------------------------

/// The store itself: no writer can exceed a limit.
#[test]
fn holds_limits_in_the_store() {
    let cal = Car::parse(CAR).expect("the car's file").ecm.s.memory.clone();
    let mut store = Store::new(&cal, 1, Some(7.0));
    assert_eq!(store.names().len(), 8);
    for name in store.names() {
        let [default, low, high] = store.limits(&cal, name);
        for (step, limit) in [(1000.0, high), (-1000.0, low)] {
            store.move_by(&cal, name, step, Writer::Ordinary, 1.0);
            assert_eq!(store.get(name), limit, "{}", name.text());
            let went = store.move_by(&cal, name, step.signum() * 0.1, Writer::Routine, 2.0);
            assert_eq!((went, store.get(name)), (0.0, limit), "{}", name.text());
        }
        for outside in [high + 0.01, low - 0.01, f64::NAN] {
            assert!(store.write(&cal, name, outside, Writer::Routine, 3.0).is_err(), "{}", name.text());
            assert_eq!(store.get(name), low, "a refused write changes nothing");
        }
        assert!(store.write(&cal, name, high, Writer::Routine, 3.0).is_ok());
        match name.group() {
            Some(group) => store.reset(&cal, group, Writer::Reset, 4.0),
            None => store.erase(&cal, &[name.item()], Writer::PowerCut, 4.0),
        }
        assert_eq!((store.get(name), store.entry(name).learned), (default, false), "{}", name.text());
    }
}

/// A deposit of 90 µm needs more than may be learned: the value ends at its limit and not beyond.
#[test]
fn holds_learned_idle_air_at_its_limit_under_too_much_deposit() {
    let mut b = grown(setup(CAR, 2), 90.0);
    let l = learned(&b, "idle_air_light");
    println!("after 90 µm: {:+.3}, needed {:+.3}", l.value, b.truth().idle_air_needed_g_s);
    assert!(b.truth().idle_air_needed_g_s > l.high, "the test needs more than the limit");
    start(&mut b);
    for _ in 0..180 {
        b.advance_by(10.0);
        for l in b.observe().learned {
            assert!(
                l.value >= l.low && l.value <= l.high,
                "{}: {} outside {}..{}",
                l.name,
                l.value,
                l.low,
                l.high
            );
        }
    }
    let l = learned(&b, "idle_air_light");
    assert!(l.value <= 2.4 && l.value > 2.0, "{}", l.value);
}

/// The same after a second trip with the fault: confirmed.
fn confirmed() -> Bench {
    let mut b = stale();
    stop(&mut b);
    start(&mut b);
    b.advance_by(60.0);
    assert_eq!(code(&b, "P0507"), Some((true, true, true)), "{:?}", b.observe().codes);
    assert_eq!(b.observe().lamp, Lamp::On);
    b
}

/// Mixed profile: a power cut erases long-term trims and codes, and keeps idle air and closed stop; no permanent code
/// is lost.
#[test]
fn holds_power_cut_on_the_mixed_profile() {
    let mut b = confirmed();
    // half a minute more, so that the short-term trim too has a value to lose
    b.advance_by(30.0);
    stop(&mut b);
    let before = b.observe().learned;
    let value = |all: &[LearnedStatus], name: &str| all.iter().find(|l| l.name == name).unwrap().value;
    assert!(value(&before, "long_idle_bank1").abs() > 0.005, "a trim to lose");
    act(&mut b, Action::Connector(Connector::Battery, false));
    b.advance_by(5.0);
    act(&mut b, Action::Connector(Connector::Battery, true));
    b.advance_by(1.0);
    key_on(&mut b);
    for (was, is) in before.iter().zip(&b.observe().learned) {
        if is.name.starts_with("long_") {
            assert_eq!((is.value, is.learned), (is.default, false), "{}", is.name);
            assert_eq!(is.written_by, Writer::PowerCut, "{}", is.name);
        } else if is.name == "battery_charge" {
            assert!(!is.learned, "only a rest tells it again");
        } else if is.name == "ambient" {
            assert!((is.value - was.value).abs() < 0.1, "learned anew as the key is turned on");
        } else if is.name == "battery_age" {
            assert!((is.value - was.value).abs() < 0.01, "the record stays, and counts on");
        } else {
            assert_eq!((is.value, is.learned), (was.value, was.learned), "{}", is.name);
        }
    }
    assert_eq!(code(&b, "P0507"), Some((false, false, true)), "only the permanent code outlives the power");
    assert_eq!(b.observe().lamp, Lamp::Off);
    assert_eq!(ask(&mut b, DiagRequest::ReadFreezeFrame("P0507".into())), DiagResponse::FreezeFrame(None));
}

/// After a power cut with the key on, the values last saved return.
#[test]
fn holds_power_cut_with_the_key_on_falls_back_first() {
    let mut b = grown(setup(CAR, 4), 10.0);
    act(&mut b, Action::CleanThrottle);
    let saved = learned(&b, "idle_air_light").value;
    start(&mut b);
    b.advance_by(300.0);
    let now = learned(&b, "idle_air_light").value;
    assert!((now - saved).abs() > 0.05, "something was learned: {saved} to {now}");
    // without its crank sensor the engine stops with the key on; while it runs, the alternator would supply the
    // module
    act(&mut b, Action::Connector(Connector::CrankSensor, false));
    b.advance_by(5.0);
    act(&mut b, Action::Connector(Connector::Battery, false));
    b.advance_by(3.0);
    act(&mut b, Action::Connector(Connector::Battery, true));
    b.advance_by(3.0);
    assert_eq!(learned(&b, "idle_air_light").value, saved);
    assert_eq!(learned(&b, "long_idle_bank1").value, 0.0);
}

#[test]
fn holds_key_off_without_the_whole_after_run_loses_what_was_learned() {
    let mut b = nominal(vec![with_error(PartKind::AirMeter, -8.0)], 0.0);
    start(&mut b);
    b.advance_by(60.0);
    stop(&mut b);
    let saved = learned(&b, "long_idle_bank1").value;
    start(&mut b);
    b.advance_by(120.0);
    let now = learned(&b, "long_idle_bank1").value;
    assert!(now > saved + 0.02, "something was learned: {saved} to {now}");
    // the car's file: after-run of 6 s
    for (off_s, kept) in [(1.0, false), (5.8, false), (6.3, true), (30.0, true)] {
        let mut b = b.clone();
        act(&mut b, Action::Key(Key::Off));
        let at_off = learned(&b, "long_idle_bank1").value;
        b.advance_by(off_s);
        act(&mut b, Action::Key(Key::On));
        b.advance_by(0.1);
        let want = if kept { at_off } else { saved };
        assert_eq!(learned(&b, "long_idle_bank1").value, want, "key off for {off_s} s");
    }
}

// ---------------------------------------------------------------------------------------------------
// Codes
// ---------------------------------------------------------------------------------------------------

/// Cruises on the road with the pedal until the code is set or the time is over; returns the speed held.
fn cruise(b: &mut Bench, number: &str, most_s: f64) -> f64 {
    act(b, Action::Gear(Gear::Drive));
    act(b, Action::Pedal(16.0));
    let end = b.time_s() + most_s;
    let before = code(b, number);
    while b.time_s() < end && code(b, number) == before {
        b.advance_by(1.0);
    }
    b.advance_by(2.0);
    b.observe().live.road_km_h
}

fn halt(b: &mut Bench) {
    act(b, Action::Pedal(0.0));
    act(b, Action::Brake(true));
    let end = b.time_s() + 60.0;
    while b.observe().live.road_km_h > 0.5 && b.time_s() < end {
        b.advance_by(1.0);
    }
    act(b, Action::Gear(Gear::Park));
    act(b, Action::Brake(false));
    stop(b);
}

/// A meter that reads 30 % low needs 1/0.7 = +43 %, beyond the 20 % limit off idle: P0171 is pending in the first
/// trip, confirmed with the lamp in the second, and keeps the first trip's conditions.
#[test]
fn holds_lean_at_a_cruise_pends_then_confirms() {
    let mut b = nominal(vec![with_error(PartKind::AirMeter, -30.0)], 0.0);
    start(&mut b);
    b.advance_by(3.0);
    let km_h = cruise(&mut b, "P0171", 300.0);
    assert_eq!(code(&b, "P0171"), Some((true, false, false)), "first trip at {km_h:.0} km/h");
    assert_eq!(b.observe().lamp, Lamp::Off);
    let frame = |b: &mut Bench| match ask(b, DiagRequest::ReadFreezeFrame("P0171".into())) {
        DiagResponse::FreezeFrame(f) => f.expect("a freeze frame"),
        other => panic!("{other:?}"),
    };
    let f = frame(&mut b);
    println!("freeze frame {f:?}");
    assert!(f.road_km_h > 10.0 && f.engine_speed_rpm > 900.0, "off idle: {f:?}");
    assert!((f.road_km_h - km_h).abs() < 15.0);
    let both = (1.0 + f.short_pct / 100.0) * (1.0 + f.long_pct / 100.0) - 1.0;
    assert!(both > 0.20, "{both}");
    assert!((80.0..105.0).contains(&f.coolant_c));
    halt(&mut b);

    start(&mut b);
    b.advance_by(3.0);
    assert_eq!(code(&b, "P0171"), Some((true, false, false)), "not tested yet in the second trip");
    cruise(&mut b, "P0171", 300.0);
    assert_eq!(code(&b, "P0171"), Some((true, true, true)), "second trip");
    assert_eq!(b.observe().lamp, Lamp::On);
    assert_eq!(frame(&mut b), f, "the freeze frame is the first trip's");
    assert!(code(&b, "P0172").is_none() && code(&b, "P0174").is_none());
}

/// A meter that reads a fifth low needs +25 %: beyond the 20 % limit off idle, below the 30 % limit at idle.
#[test]
fn holds_lean_limits_differ_at_idle_and_off_it() {
    let mut b = nominal(vec![with_error(PartKind::AirMeter, -20.0)], 0.0);
    start(&mut b);
    b.advance_by(240.0);
    assert_eq!(code(&b, "P0171"), None, "at idle: {:?}", b.observe().live);
    cruise(&mut b, "P0171", 300.0);
    assert_eq!(code(&b, "P0171"), Some((true, false, false)), "off idle: {:?}", b.observe().live);
}

/// Repairs the car with the stale value: reset and learn.
fn mend(b: &mut Bench) {
    stop(b);
    key_on(b);
    assert_eq!(ask(b, DiagRequest::Start(Routine::ResetGroup(Group::IdleAir))), DiagResponse::Ok);
    act(b, Action::Key(Key::Crank));
    b.advance_by(10.0);
    assert_eq!(ask(b, DiagRequest::Start(Routine::LearnIdle)), DiagResponse::Ok);
    let end = b.time_s() + 185.0;
    while b.observe().live.routine == "running" && b.time_s() < end {
        b.advance_by(1.0);
    }
    assert_eq!(b.observe().live.routine, "done");
}

/// A trip that tests the idle: the monitor passes after 30 s without a fault.
fn good_trip(b: &mut Bench) {
    start(b);
    b.advance_by(45.0);
    stop(b);
}

/// 13 CCR 1968.2 (d)(2), from memory: a pending code goes when its monitor has run a whole trip and seen no fault.
#[test]
fn source_pending_is_cleared_by_a_trip_that_tested_and_passed() {
    let mut b = stale();
    mend(&mut b);
    b.advance_by(5.0);
    // this trip has not run the monitor yet
    stop(&mut b);
    key_on(&mut b);
    let after_untested = code(&b, "P0507");
    act(&mut b, Action::Key(Key::Off));
    b.advance_by(12.0);
    assert_eq!(after_untested, Some((true, false, false)), "a trip that did not test heals nothing");
    good_trip(&mut b);
    key_on(&mut b);
    assert_eq!(code(&b, "P0507"), None, "a trip that tested and passed");
}

/// 13 CCR 1968.2 (d)(2), from memory: three trips in a row in which its monitor ran and saw no fault.
#[test]
fn source_three_good_trips_put_the_lamp_out() {
    let mut b = confirmed();
    mend(&mut b);
    b.advance_by(3.0);
    stop(&mut b);
    for good in 1..=3 {
        good_trip(&mut b);
        key_on(&mut b);
        let lamp = if good < 3 { Lamp::On } else { Lamp::Off };
        assert_eq!(b.observe().lamp, lamp, "after {good} good trips");
        assert!(code(&b, "P0507").is_some_and(|c| !c.0 && c.1), "confirmed, not pending, after {good}");
        stop(&mut b);
    }
}

/// 13 CCR 1968.2 (d)(2), from memory: a permanent code survives clearing; a pass of its own monitor erases it.
#[test]
fn source_permanent_code_outlives_clearing_until_a_later_trip_passed() {
    let mut b = confirmed();
    assert_eq!(ask(&mut b, DiagRequest::ClearCodes), DiagResponse::Ok);
    assert_eq!(code(&b, "P0507"), Some((false, false, true)));
    assert_eq!(b.observe().lamp, Lamp::Off);
    mend(&mut b);
    ask(&mut b, DiagRequest::ClearCodes);
    b.advance_by(5.0);
    stop(&mut b);
    // key on without a start is no trip
    for _ in 0..3 {
        key_on(&mut b);
        assert_eq!(code(&b, "P0507"), Some((false, false, true)), "key on, no start");
        ask(&mut b, DiagRequest::ClearCodes);
        assert_eq!(code(&b, "P0507"), Some((false, false, true)), "clearing never erases it");
        stop(&mut b);
    }
    start(&mut b);
    b.advance_by(10.0);
    assert_eq!(code(&b, "P0507"), Some((false, false, true)), "the monitor has not passed yet");
    b.advance_by(35.0);
    stop(&mut b);
    key_on(&mut b);
    assert_eq!(code(&b, "P0507"), None, "a later trip tested and passed");
}

const FRAME: FreezeFrame = FreezeFrame {
    engine_speed_rpm: 1000.0,
    load_pct: 20.0,
    coolant_c: 90.0,
    map_kpa: 30.0,
    air_g_s: 3.0,
    short_pct: 0.0,
    long_pct: 0.0,
    road_km_h: 0.0,
    fuel_system: FuelSystem::Closed,
};

fn trip(c: &mut Codes, seen: Option<bool>) {
    c.trip_begins(20.0);
    c.watch_warm_up(90.0);
    match seen {
        Some(true) => {
            // a monitor repeats its verdict continually
            for at in 0..5 {
                c.fail(Code::P0171, f64::from(at), FRAME);
            }
        }
        Some(false) => {
            for _ in 0..5 {
                c.pass(Code::P0171);
            }
        }
        None => {}
    }
    // what is kept for the output follows the codes
    assert_eq!(c.drive_lamp(), c.lamp());
    c.trip_ends();
    assert_eq!(c.drive_lamp(), c.lamp());
}

/// The life cycle of a single code, trip by trip: fault seen (true), passed (false) or not tested; then pending,
/// confirmed, lamp.
#[test]
fn exact_two_trip_life() {
    let (bad, good, none) = (Some(true), Some(false), None);
    let rows: [(&[Option<bool>], [bool; 3]); 14] = [
        (&[none, none], [false, false, false]),
        (&[good], [false, false, false]),
        (&[bad], [true, false, false]),
        (&[bad, none, none, none], [true, false, false]),
        (&[bad, good], [false, false, false]),
        (&[bad, good, bad], [true, false, false]),
        (&[bad, bad], [true, true, true]),
        (&[bad, none, bad], [true, true, true]),
        (&[bad, bad, good], [false, true, true]),
        (&[bad, bad, good, good], [false, true, true]),
        (&[bad, bad, good, good, good], [false, true, false]),
        (&[bad, bad, good, good, none, good], [false, true, false]),
        (&[bad, bad, good, good, bad, good, good], [false, true, true]),
        (&[bad, bad, good, good, bad, good, good, good], [false, true, false]),
    ];
    for (trips, want) in rows {
        let mut c = Codes::default();
        for seen in trips {
            trip(&mut c, *seen);
        }
        let s = c.standing(Code::P0171);
        assert_eq!([s.pending, s.confirmed, s.lamp], want, "{trips:?}");
        assert_eq!(
            s.frame.is_some(),
            s.pending || s.confirmed,
            "{trips:?}: a freeze frame goes with its code"
        );
        assert_eq!(c.lamp(), s.lamp);
    }
}

/// Items that clearing codes erases, by the diagnostic standards.
const CLEARED: [Item; 4] = [Item::Pending, Item::Confirmed, Item::FreezeFrame, Item::Readiness];

/// Forty warm-up cycles without the fault, after the lamp went out, erase a confirmed code.
#[test]
fn exact_forty_warm_ups_erase() {
    let mut c = Codes::default();
    for seen in [true, true, false, false, false] {
        trip(&mut c, Some(seen));
    }
    let mut warm_ups = 0;
    while c.standing(Code::P0171).confirmed && warm_ups < 100 {
        trip(&mut c, Some(false));
        warm_ups += 1;
    }
    // the trip that put the lamp out may count as the first
    assert!((39..=40).contains(&warm_ups), "{warm_ups}");
    assert!(c.stored().is_empty());
    assert_eq!(c.standing(Code::P0171).frame, None);
}

/// 13 CCR 1968.2 (d)(2), from memory: one pass in the same trip in which codes were cleared is not enough: the
/// permanent code needs a separate trip.
#[test]
fn source_permanent_waits_for_a_trip_of_its_own() {
    let mut c = Codes::default();
    trip(&mut c, Some(true));
    c.trip_begins(90.0);
    c.fail(Code::P0171, 1.0, FRAME);
    assert!(c.standing(Code::P0171).permanent);
    c.erase(&CLEARED);
    c.pass(Code::P0171);
    assert!(c.standing(Code::P0171).permanent, "in the trip of the clearing");
    c.trip_ends();
    trip(&mut c, None);
    assert!(c.standing(Code::P0171).permanent, "after a trip that did not test");
    trip(&mut c, Some(false));
    assert!(!c.standing(Code::P0171).permanent, "after a trip that passed");
    // a trip that fails again keeps it
    for seen in [true, true] {
        trip(&mut c, Some(seen));
    }
    c.erase(&CLEARED);
    trip(&mut c, Some(true));
    assert!(c.standing(Code::P0171).permanent);
}

// ---------------------------------------------------------------------------------------------------
// Manual sequence
// ---------------------------------------------------------------------------------------------------

/// A healthy engine after a minute and a half of warm idle.
fn warm() -> Bench {
    static WARM: OnceLock<Bench> = OnceLock::new();
    WARM.get_or_init(|| {
        let mut b = Bench::standing(&setup(CAR, 1)).expect("a bench");
        start(&mut b);
        b.advance_by(90.0);
        b
    })
    .clone()
}

fn brake(on: bool) -> Action {
    Action::Brake(on)
}

fn glass(on: bool) -> Action {
    Action::Load(Load::HeatedGlass, on)
}

/// Performs the sequence with these times for its five steps, with `disturb` in the middle of a step; returns how
/// each attempt ended: complete, or aborted in which step.
fn perform(b: &mut Bench, times: [f64; 5], disturb: Option<(usize, &Action)>) -> Vec<Result<(), u8>> {
    let from = b.log().len();
    let begins: [Option<Action>; 5] =
        [Some(brake(true)), Some(brake(false)), Some(glass(true)), Some(glass(false)), Some(brake(true))];
    for (i, (begin, s)) in begins.iter().zip(times).enumerate() {
        if let Some(a) = begin {
            act(b, a.clone());
        }
        let at = b.time_s();
        if let Some((step, what)) = disturb
            && step == i
        {
            b.advance_to(at + 0.5 * s);
            act(b, what.clone());
        }
        b.advance_to(at + s);
    }
    act(b, brake(false));
    act(b, glass(false));
    b.advance_by(1.0);
    let ended = |e: &Entry| match &e.kind {
        Kind::Module { what: Notice::SequenceComplete { .. } } => Some(Ok(())),
        Kind::Module { what: Notice::SequenceAborted { step } } => Some(Err(*step)),
        _ => None,
    };
    b.log()[from..].iter().filter_map(ended).collect()
}

const GOOD: [f64; 5] = [12.0, 1.5, 10.0, 22.0, 3.0];

/// Each of the five steps just inside and just outside its window, the others in mid-window; pins are sampled every
/// 10 ms, so 50 ms is clear of the limit.
#[test]
fn exact_sequence_windows_on_the_bench() {
    let steps = warm().ecm().calibration().s.sequence.steps.clone();
    assert_eq!(steps.len(), 5);
    assert_eq!(perform(&mut warm(), GOOD, None).first(), Some(&Ok(())));
    for (i, step) in steps.iter().enumerate() {
        let edges = [(step.min_s, -1.0), (step.min_s, 1.0), (step.max_s, -1.0), (step.max_s, 1.0)];
        for (which, (edge, side)) in edges.into_iter().enumerate() {
            let held = edge + 0.05 * side;
            if held <= 0.0 {
                continue;
            }
            let inside = which == 1 || which == 2;
            let mut times = GOOD;
            times[i] = held;
            let ended = perform(&mut warm(), times, None);
            let wanted = if inside { Ok(()) } else { Err(i as u8 + 1) };
            assert_eq!(ended.first(), Some(&wanted), "step {} held {held:.2} s: {ended:?}", i + 1);
        }
    }
}

/// Any load, the pedal or a gear aborts the sequence silently, in any step; nothing is written.
#[test]
fn holds_slip_by_any_load_pedal_or_gear_aborts() {
    let slips = [
        Action::Load(Load::Compressor, true),
        Action::Load(Load::Lamps, true),
        Action::Pedal(5.0),
        Action::Gear(Gear::Drive),
    ];
    for slip in &slips {
        for step in [0, 2, 3, 4] {
            let mut b = warm();
            let ended = perform(&mut b, GOOD, Some((step, slip)));
            assert_eq!(ended.first(), Some(&Err(step as u8 + 1)), "{slip:?}: {ended:?}");
            assert!(!ended.contains(&Ok(())), "{slip:?}: {ended:?}");
            assert_ne!(learned(&b, "idle_air_light").written_by, Writer::Sequence, "{slip:?}");
        }
    }
    // the sequence's own switches at the wrong moment
    for (slip, step) in [(glass(true), 0), (brake(true), 2), (brake(true), 3), (glass(true), 4)] {
        let ended = perform(&mut warm(), GOOD, Some((step, &slip)));
        assert_eq!(ended.first(), Some(&Err(step as u8 + 1)), "{slip:?}: {ended:?}");
    }
    // after a slip: release everything and repeat, and it succeeds
    let mut b = warm();
    perform(&mut b, [8.0, 1.5, 10.0, 22.0, 3.0], None);
    b.advance_by(1.0);
    assert_eq!(perform(&mut b, GOOD, None).first(), Some(&Ok(())));
}

/// A cold car ignores the sequence.
#[test]
fn holds_sequence_is_not_begun_cold_or_in_gear() {
    let mut cold = setup(CAR, 1);
    cold.coolant_c = 45.0;
    let mut b = Bench::standing(&cold).expect("a bench");
    start(&mut b);
    b.advance_by(10.0);
    assert_eq!(perform(&mut b, GOOD, None), []);
    let mut b = warm();
    act(&mut b, brake(true));
    act(&mut b, Action::Gear(Gear::Drive));
    b.advance_by(3.0);
    act(&mut b, brake(false));
    act(&mut b, brake(true));
    assert_eq!(perform(&mut b, GOOD, None), []);
}

/// Driving off from a red light is no attempt at a sequence: brake, gear, away. In a log it would read as one that failed.
#[test]
fn bug_driving_off_was_told_as_a_sequence_that_failed() {
    for leaving in [Action::Gear(Gear::Drive), Action::Pedal(8.0)] {
        let mut b = warm();
        let from = b.log().len();
        act(&mut b, brake(true));
        b.advance_by(2.0);
        act(&mut b, leaving.clone());
        b.advance_by(2.0);
        act(&mut b, brake(false));
        b.advance_by(2.0);
        let told = |e: &Entry| matches!(e.kind, Kind::Module { what: Notice::SequenceAborted { .. } });
        assert!(!b.log()[from..].iter().any(told), "{leaving:?}");
    }
}

fn sequence_cal() -> sequences::Cal {
    Car::parse(CAR).expect("the car's file").ecm.s.sequence.clone()
}

/// Feeds pins to the recogniser every 10 ms from a start time on; returns its outcome and when.
fn recognise(times: [f64; 5], from_s: f64, disturb: impl Fn(f64, &mut Inputs)) -> (Outcome, f64) {
    let cal = sequence_cal();
    let mut state = sequences::State::default();
    let ticks: Vec<i64> = times.iter().map(|s| (s * 100.0).round() as i64).collect();
    let total: i64 = ticks.iter().sum();
    for k in -10..=total + 200 {
        let mut look =
            Inputs { brake: false, heated_glass: false, may_run: true, leaves: false, window: true };
        let mut left = k;
        for (step, n) in cal.steps.iter().zip(&ticks) {
            if (0..*n).contains(&left) {
                (look.brake, look.heated_glass) = (step.brake, step.heated_glass);
                break;
            }
            left -= n;
        }
        let along = k as f64 / 100.0;
        disturb(along, &mut look);
        match state.look(&cal, &look, from_s + along) {
            Outcome::None => {}
            end => return (end, along),
        }
    }
    (Outcome::None, 0.0)
}

/// The exact limits, which count as inside, whatever the clock showed at the start.
#[test]
fn exact_sequence_edges_are_inside() {
    let cal = sequence_cal();
    for from_s in [0.0, 0.1, 17.37, 60.01, 123.45, 3599.99, 86_399.3] {
        assert_eq!(recognise(GOOD, from_s, |_, _| {}).0, Outcome::Complete, "from {from_s}");
        for (i, step) in cal.steps.iter().enumerate() {
            for (held, inside) in [
                (step.min_s - 0.01, false),
                (step.min_s, true),
                (step.max_s, true),
                (step.max_s + 0.01, false),
            ] {
                if held <= 0.0 {
                    continue;
                }
                let mut times = GOOD;
                times[i] = held;
                let wanted = if inside { Outcome::Complete } else { Outcome::Aborted(i as u8 + 1) };
                let (got, _) = recognise(times, from_s, |_, _| {});
                assert_eq!(got, wanted, "step {} held {held:.2} s from {from_s} s", i + 1);
            }
        }
    }
}

/// The window is judged once, at the shortest time of the step that judges: 20 s after the glass went off.
#[test]
fn exact_sequence_judges_once() {
    let judged_at = GOOD[0] + GOOD[1] + GOOD[2] + 20.0;
    let bad_at = |from: f64, to: f64| {
        recognise(GOOD, 10.0, move |t, l| l.window = !(t > from - 1e-6 && t < to + 1e-6))
    };
    let (out, at) = bad_at(judged_at - 0.005, judged_at + 0.005);
    assert_eq!(out, Outcome::Aborted(4));
    assert!((at - judged_at).abs() < 0.015, "{at}");
    assert_eq!(bad_at(0.0, judged_at - 0.02).0, Outcome::Complete, "bad before the judging does not matter");
    assert_eq!(bad_at(judged_at + 0.02, 100.0).0, Outcome::Complete, "nor after it");
    // a condition that must hold throughout aborts the sequence at once, in every step
    for (step, at) in [(1, 6.0), (2, 12.7), (3, 18.0), (4, 30.0), (5, 47.0)] {
        let (out, when) = recognise(GOOD, 10.0, |t, l| l.may_run = (t - at).abs() > 0.005);
        assert_eq!(out, Outcome::Aborted(step));
        assert!((when - at).abs() < 0.015);
    }
}

/// After an abort the switches must be released before another attempt counts.
#[test]
fn holds_sequence_waits_for_hands_off_after_an_abort() {
    let cal = sequence_cal();
    let mut s = sequences::State::default();
    let look = |brake| Inputs { brake, heated_glass: false, may_run: true, leaves: false, window: true };
    s.look(&cal, &look(true), 0.0);
    assert_eq!(s.step, 1);
    assert_eq!(s.look(&cal, &look(true), 14.1), Outcome::Aborted(1));
    for k in 0..300 {
        assert_eq!(s.look(&cal, &look(true), 14.2 + 0.1 * f64::from(k)), Outcome::None);
        assert_eq!(s.step, 0, "still held");
    }
    s.look(&cal, &look(false), 50.0);
    s.look(&cal, &look(true), 50.1);
    assert_eq!(s.step, 1, "let go and pressed again");
}

// ---------------------------------------------------------------------------------------------------
// Gates
// ---------------------------------------------------------------------------------------------------

/// The gate is shut and says why, and nothing changes while it is shut.
#[track_caller]
fn shut(mut b: Bench, value: &str, name: &str) {
    assert!(!gate(&b, value, name), "{value}: {name} is open");
    let l = learned(&b, value);
    let told = l.gates.iter().find(|g| g.name.name() == name).unwrap();
    for _ in 0..15 {
        b.advance_by(2.0);
        if gate(&b, value, name) {
            // the gate may open by itself; changes after that are not checked here
            return;
        }
        assert_eq!(learned(&b, value).value, l.value, "{value} moved behind a shut {name}: {told:?}");
    }
}

fn after(mut b: Bench, hands: &[Action], seconds: f64) -> Bench {
    for a in hands {
        act(&mut b, a.clone());
    }
    b.advance_by(seconds);
    assert!(b.observe().live.running);
    b
}

#[test]
fn trips_each_gate_of_idle_air() {
    let light = "idle_air_light";
    // all open at a healthy warm idle
    let b = warm();
    for g in learned(&b, light).gates {
        assert!(g.open, "{g:?}");
    }
    // cold
    let mut cold = setup(CAR, 1);
    cold.coolant_c = 40.0;
    let mut b = Bench::standing(&cold).expect("a bench");
    start(&mut b);
    b.advance_by(20.0);
    assert!(gate(&b, light, "idling"));
    shut(b, light, "warm");
    // one action each
    let drive = [brake(true), Action::Gear(Gear::Drive)];
    shut(after(warm(), &drive, 3.0), light, "neutral");
    shut(after(warm(), &[Action::Pedal(8.0)], 3.0), light, "idling");
    for load in [Load::Lamps, Load::Compressor, Load::HeatedGlass] {
        let b = after(warm(), &[Action::Load(load, true)], 3.0);
        assert!(gate(&b, "idle_air_loaded", "loaded"), "{load:?}");
        shut(b, light, "no_load");
    }
    shut(warm(), "idle_air_loaded", "loaded");
    let rolling =
        after(after(warm(), &[Action::Gear(Gear::Drive)], 15.0), &[Action::Gear(Gear::Neutral)], 3.0);
    shut(rolling, light, "standing");
    // unknown closed stop
    let stored = learned(&warm(), "closed_stop").value;
    let mut b = warm();
    stop(&mut b);
    act(&mut b, Action::Fit(body(None, Some(stored - 7.0 + 0.6))));
    start(&mut b);
    b.advance_by(10.0);
    shut(b, light, "stop_known");
    // speed far off target, integrator at its limit, code: the car with the stale value has all three
    for name in ["speed_error", "integrator_bounded", "no_blocking_code"] {
        shut(stale(), light, name);
    }
    let shut = learned(&stale(), light).gates.into_iter().find(|g| g.name == Gate::NoBlockingCode).unwrap();
    assert_eq!(shut.code.as_deref(), Some("P0507"));
}

/// The integrator's gate alone: a deposit just beyond the controller's authority, speed still near the target.
#[test]
fn trips_the_integrator_gate_before_the_speed_gate() {
    let mut seen = false;
    for deposit_um in [16.0, 18.0, 20.0, 22.0, 24.0] {
        let mut b = nominal(vec![body(Some(deposit_um), None)], 0.0);
        start(&mut b);
        b.advance_by(40.0);
        let (bounded, near) =
            (gate(&b, "idle_air_light", "integrator_bounded"), gate(&b, "idle_air_light", "speed_error"));
        println!(
            "{deposit_um} µm: integrator bounded {bounded}, speed near {near}, {:?}",
            b.observe().live.idle_pi_g_s
        );
        if !bounded && near {
            seen = true;
            shut(b, "idle_air_light", "integrator_bounded");
        }
    }
    assert!(seen, "no deposit shut the integrator's gate with the speed still near");
}

/// The gates of the long-term trims, each shut once.
#[test]
fn trips_each_gate_of_long_trims() {
    let b = warm();
    for g in learned(&b, "long_idle_bank1").gates {
        assert!(g.open, "{g:?}");
    }
    assert!(!gate(&b, "long_part_bank1", "in_cell"));
    let off_idle = after(warm(), &[Action::Pedal(8.0)], 3.0);
    assert!(!gate(&off_idle, "long_idle_bank1", "in_cell"));
    assert!(gate(&off_idle, "long_part_bank1", "in_cell"));
    shut(
        after(warm(), &[Action::Connector(Connector::OxygenSensor1, false)], 1.0),
        "long_idle_bank1",
        "closed_loop",
    );
    let mut cold = setup(CAR, 1);
    cold.coolant_c = 50.0;
    let mut b = Bench::standing(&cold).expect("a bench");
    start(&mut b);
    b.advance_by(30.0);
    assert!(gate(&b, "long_idle_bank1", "closed_loop"), "closed loop is earlier than learning");
    shut(b, "long_idle_bank1", "warm");
    let jab = after(warm(), &[Action::Pedal(25.0)], 0.4);
    assert!(!gate(&jab, "long_part_bank1", "steady"));
}

/// Names of values are the names in files.
#[test]
fn same_names_of_values() {
    let b = Bench::standing(&setup(CAR, 1)).expect("a bench");
    let names: Vec<String> = b.observe().learned.iter().map(|l| l.name.clone()).collect();
    assert_eq!(
        names,
        [
            "idle_air_light",
            "idle_air_loaded",
            "closed_stop",
            "ambient",
            "long_idle_bank1",
            "long_part_bank1",
            "long_high_bank1",
            "rear_trim_bank1",
            "wheel_table",
            "battery_age",
            "battery_charge",
            "catalyst_bank1"
        ]
    );
    assert_eq!(Name::LongHigh(1).text(), "long_high_bank2");
}
