//! The leak test of the EVAP system: what it measures, when it runs, what it makes of it.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{PLOVER, WHIMBREL, act, ask, bench, code, codes, gate, learned, start, stop, warm};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Gear, Ill, Key, PartChoice, PartKind, Sensor, Wire};
use idlewright::bench::not_whole::NotWhole;
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::{FuelSetup, Setup, Weather};
use idlewright::link::{DiagRequest, DiagResponse, Failed, Refused, Routine, RoutineState, Writer};

fn holed(kind: PartKind, mm: f64) -> PartChoice {
    PartChoice { hole_mm: Some(mm), ..PartChoice::new(kind) }
}

/// A car that has stood overnight: level \[%\], air \[°C\] and its pressure \[kPa\].
fn overnight(
    seed: u64,
    full_pct: f64,
    (ambient_c, ambient_kpa): (f64, f64),
    parts: Vec<PartChoice>,
) -> Bench {
    let weather = Weather { ambient_c, ambient_kpa };
    let fuel = FuelSetup { full_pct, ..FuelSetup::default() };
    let canister_pct = 15.0 * (seed % 6) as f64;
    bench(&Setup { weather, fuel, canister_pct, parts, ..Setup::healthy(WHIMBREL, seed, ambient_c) })
}

const MILD: (f64, f64) = (20.0, 101.3);

/// Starts, idles or drives, until the test has ended or for so long \[s\]; the hole that it found \[mm\].
fn tested(b: &mut Bench, drives: bool, most_s: f64) -> Option<f64> {
    start(b);
    let before_s = b.ecm().s.vapour.found.map(|f| f.at_s);
    if drives {
        act(b, Action::Drive { pattern: Name::Motorway, minutes: most_s / 60.0 });
    }
    for _ in 0..most_s as usize {
        b.advance_by(1.0);
        if let Some(found) = b.ecm().s.vapour.found.filter(|f| Some(f.at_s) != before_s) {
            b.advance_by(1.0);
            return Some(found.hole_mm);
        }
    }
    None
}

/// Standing, key off, and a night.
fn night(b: &mut Bench) {
    // whoever drives stops first
    for _ in 0..300 {
        if b.observe().live.road_km_h < 0.5 && b.driver().is_none() {
            break;
        }
        b.advance_by(5.0);
    }
    stop(b);
    act(b, Action::Rest(10.0));
    b.advance_by(10.0 * 3600.0 + 1.0);
}

fn ready(b: &Bench) -> bool {
    b.observe().readiness.iter().find(|m| m.name == "evaporative_system").expect("it is told").complete
}

/// What is found over seeds, levels, weather, idling and driving: a sound car passes far from the limit of 0.8 mm, a hole of
/// 1 mm never comes near it from above, and 2.5 mm is a gross leak.
#[test]
fn holds_sound_and_holed_lie_apart() {
    let weathers = [MILD, (6.0, 101.3), (34.0, 101.3), (20.0, 78.0), (12.0, 90.0), (30.0, 101.3)];
    let (mut sound_mm, mut least_mm) = (0.0_f64, f64::INFINITY);
    for (seed, weather) in (1..=6).zip(weathers) {
        for full_pct in [20.0, 40.0, 60.0, 80.0] {
            let drives = (seed + full_pct as u64 / 20).is_multiple_of(2);
            let row = format!("seed {seed}, {full_pct} %, {weather:?}, drives {drives}");
            let mut b = overnight(seed, full_pct, weather, vec![]);
            let mm =
                tested(&mut b, drives, 1500.0).unwrap_or_else(|| panic!("{row}: {:?}", b.ecm().s.vapour));
            assert!(codes(&b).is_empty() && ready(&b), "{row}: {:?}", codes(&b));
            sound_mm = sound_mm.max(mm);
            let at = if seed.is_multiple_of(2) { PartKind::FuelCap } else { PartKind::VapourLine };
            let mut b = overnight(seed, full_pct, weather, vec![holed(at, 1.0)]);
            let mm =
                tested(&mut b, drives, 1500.0).unwrap_or_else(|| panic!("{row}: {:?}", b.ecm().s.vapour));
            assert_eq!(codes(&b), ["P0442"], "{row}: {mm}");
            least_mm = least_mm.min(mm);
            let mut b = overnight(seed, full_pct, weather, vec![holed(at, 2.5)]);
            assert!(tested(&mut b, drives, 1500.0).is_some(), "{row}");
            assert_eq!(codes(&b), ["P0455"], "{row}");
        }
    }
    println!("limit 0.80 mm; sound up to {sound_mm:.3} mm, a hole of 1 mm from {least_mm:.3} mm");
    assert!(sound_mm < 0.4 && least_mm > 0.9, "{sound_mm} {least_mm}");
}

/// Errors that the model's sound parts do not have: a pressure sensor 10 % off in gain or 0.3 kPa in zero, a fuel that is
/// more volatile. Sound cars still pass, and a hole of 1 mm is still found.
#[test]
fn holds_margins_with_a_sensor_that_is_off() {
    let ills = [
        Ill { gain: 0.9, offset_v: 0.25, ..Ill::default() },
        Ill { gain: 1.1, offset_v: -0.25, ..Ill::default() },
        Ill { offset_v: 0.15, ..Ill::default() },
        Ill { offset_v: -0.15, ..Ill::default() },
    ];
    let winter = WHIMBREL.replace("volatile_kpa = 60.0", "volatile_kpa = 90.0");
    assert_ne!(winter, WHIMBREL);
    for (row, (ill, car)) in
        ills.iter().map(|i| (*i, WHIMBREL)).chain([(Ill::default(), winter.as_str())]).enumerate()
    {
        for full_pct in [20.0, 80.0] {
            let found = [None, Some(holed(PartKind::FuelCap, 1.0))].map(|part| {
                let weather = Weather { ambient_c: 25.0, ..Weather::default() };
                let fuel = FuelSetup { full_pct, ..FuelSetup::default() };
                let ills = if ill.sound() { vec![] } else { vec![(Sensor::TankPressure, ill)] };
                let parts = part.into_iter().collect();
                let mut b = bench(&Setup { weather, fuel, ills, parts, ..Setup::healthy(car, 2, 25.0) });
                (tested(&mut b, false, 1500.0).expect("a result"), codes(&b))
            });
            println!("row {row}, {full_pct} %: sound {:.3} mm, 1 mm reads {:.3} mm", found[0].0, found[1].0);
            assert!(found[0].1.is_empty(), "{row}: {found:?}");
            assert_eq!(found[1].1, ["P0442"], "{row}: {found:?}");
        }
    }
}

/// Two drives with a night between: pending, then confirmed with lamp and freeze frame; the part is told of. A new cap and
/// three good drives put the lamp out.
#[test]
fn practice_small_leak_lights_the_lamp_in_two_trips() {
    let mut b = overnight(3, 50.0, MILD, vec![holed(PartKind::FuelCap, 1.0)]);
    assert!(tested(&mut b, false, 900.0).is_some());
    assert_eq!(code(&b, "P0442"), Some((true, false, false)), "{:?}", codes(&b));
    night(&mut b);
    assert!(tested(&mut b, false, 900.0).is_some());
    assert_eq!(code(&b, "P0442"), Some((true, true, true)), "{:?}", codes(&b));
    assert!(b.ecm().s.codes.lamp() && ready(&b));
    let frame = ask(&mut b, DiagRequest::ReadFreezeFrame("P0442".into()));
    assert!(matches!(frame, DiagResponse::FreezeFrame(Some(f)) if f.coolant_c > 50.0), "{frame:?}");
    let told = |n: &NotWhole| matches!(n, NotWhole::Part { part, .. } if part == "fuel_cap");
    assert!(b.not_whole().iter().any(told), "{:?}", b.not_whole());
    stop(&mut b);
    act(&mut b, Action::Fit(PartChoice::new(PartKind::FuelCap)));
    night(&mut b);
    for trip in 1..=3 {
        assert!(b.ecm().s.codes.lamp(), "trip {trip}");
        assert!(tested(&mut b, false, 900.0).expect("a result") < 0.3);
        night(&mut b);
    }
    start(&mut b);
    assert!(!b.ecm().s.codes.lamp());
    assert!(!b.not_whole().iter().any(told), "{:?}", b.not_whole());
}

/// A code that only this test can set does not keep it from running: two trips confirm the code, and with a good part three
/// drives put the lamp out (two trips and three, 13 CCR 1968.2 (d)(2)).
#[test]
fn bug_codes_of_the_test_kept_it_from_running() {
    let purge = PartChoice { leak_mm2: Some(1.0), ..PartChoice::new(PartKind::PurgeValve) };
    let vent = PartChoice { stays_shut: true, ..PartChoice::new(PartKind::VentValve) };
    for (number, bad) in [("P0496", purge), ("P0446", vent)] {
        let kind = bad.kind;
        let mut b = overnight(3, 50.0, MILD, vec![bad]);
        tested(&mut b, false, 900.0);
        assert_eq!(code(&b, number), Some((true, false, false)), "{number}: {:?}", codes(&b));
        night(&mut b);
        tested(&mut b, false, 900.0);
        assert_eq!(code(&b, number), Some((true, true, true)), "{number}: {:?}", codes(&b));
        assert!(b.ecm().s.codes.lamp(), "{number}");
        stop(&mut b);
        act(&mut b, Action::Fit(PartChoice::new(kind)));
        night(&mut b);
        for trip in 1..=3 {
            assert!(b.ecm().s.codes.lamp(), "{number}, trip {trip}");
            assert!(tested(&mut b, false, 900.0).is_some(), "{number}, trip {trip}");
            night(&mut b);
        }
        start(&mut b);
        assert!(!b.ecm().s.codes.lamp() && ready(&b), "{number}: {:?}", codes(&b));
    }
}

/// A cap that was not turned tight, or is off, is a gross leak, whatever the level that every level sensor within its maker's 3 %
/// shows inside the window of 15 to 85 %; tightened it is none.
#[test]
fn practice_cap_off_is_a_gross_leak() {
    for (seed, full_pct) in (1..=5).zip([20.0, 30.0, 50.0, 70.0, 80.0]) {
        let mut b = overnight(seed, full_pct, MILD, vec![]);
        act(&mut b, Action::Connector(Connector::FuelCap, false));
        assert!(tested(&mut b, seed.is_multiple_of(2), 1200.0).is_some());
        assert_eq!(code(&b, "P0455"), Some((true, false, false)), "{:?}", codes(&b));
        assert_eq!(code(&b, "P0442"), None);
        assert!(b.not_whole().contains(&NotWhole::Unplugged { connector: "fuel_cap".into() }));
        night(&mut b);
        act(&mut b, Action::Connector(Connector::FuelCap, true));
        assert!(tested(&mut b, false, 900.0).expect("a result") < 0.3);
    }
}

/// Why the test waits: too full, too empty, a warm restart, frost, heat, a mountain. No result, not ready, and the gate says
/// it.
#[test]
fn holds_gates() {
    let never = |name: &str, mut b: Bench, which: &str| {
        assert_eq!(tested(&mut b, true, 1200.0), None, "{name}");
        assert!(!gate(&b, "vapour_leak", which), "{name}: {:?}", learned(&b, "vapour_leak").gates);
        assert!(!ready(&b) && codes(&b).is_empty(), "{name}: {:?}", codes(&b));
    };
    never("full", overnight(1, 95.0, MILD, vec![]), "fuel_level");
    never("90 %", overnight(2, 92.0, MILD, vec![holed(PartKind::FuelCap, 1.0)]), "fuel_level");
    never("nearly empty", overnight(1, 12.0, MILD, vec![]), "fuel_level");
    // the window is the module's, by what it sees: a sensor that shows less keeps its car from testing where others would test
    let b = overnight(1, 17.0, MILD, vec![]);
    assert!(b.plant().s.parts.level_sensor.offset_pct < -2.5);
    never("17 % that its sensor shows as 14", b, "fuel_level");
    never("frost", overnight(1, 50.0, (-2.0, 101.3), vec![]), "air_mild");
    never("heat", overnight(1, 50.0, (38.0, 101.3), vec![]), "air_mild");
    never("mountain", overnight(1, 50.0, (15.0, 72.0), vec![]), "ambient_pressure");
    let warm = bench(&Setup::healthy(WHIMBREL, 1, 80.0));
    never("warm", warm, "cold_start");
}

/// A code on something that the test goes by stands in its way.
#[test]
fn holds_blocked_by_codes() {
    let mut b = overnight(1, 50.0, MILD, vec![holed(PartKind::FuelCap, 1.0)]);
    act(&mut b, Action::Connector(Connector::PurgeValve, false));
    assert_eq!(tested(&mut b, false, 900.0), None);
    assert!(!gate(&b, "vapour_leak", "no_blocking_code") && !ready(&b));
    assert_eq!(codes(&b), ["P0443"]);
}

/// The pressure sensor's wire: open or to earth is low, to the supply is high, and there is no test.
#[test]
fn practice_pressure_sensor_circuit() {
    for (wire, number) in [(Wire::Open, "P0452"), (Wire::ToEarth, "P0452"), (Wire::ToSupply, "P0453")] {
        let mut b = overnight(1, 50.0, MILD, vec![]);
        act(&mut b, Action::Sensor(Sensor::TankPressure, Ill { wire, ..Ill::default() }));
        assert_eq!(tested(&mut b, false, 700.0), None, "{wire:?}");
        assert_eq!(codes(&b), [number], "{wire:?}");
    }
}

/// The vent: stuck shut is P0446, by the test or by ordinary purging; stuck open no vacuum comes, which the module cannot tell
/// from a gross leak.
#[test]
fn practice_vent_valve() {
    let vent = |stays_shut| PartChoice {
        stays_shut,
        stays_open: !stays_shut,
        ..PartChoice::new(PartKind::VentValve)
    };
    let mut b = overnight(1, 50.0, MILD, vec![vent(true)]);
    tested(&mut b, false, 900.0);
    assert_eq!(codes(&b), ["P0446"]);
    let lowest_kpa = b.truth().tank_kpa;
    // in a warm car there is no test, but it is purged
    let setup = Setup { parts: vec![vent(true)], canister_pct: 80.0, ..Setup::healthy(WHIMBREL, 1, 85.0) };
    let mut b = bench(&setup);
    tested(&mut b, true, 600.0);
    println!("after the test {lowest_kpa:.2} kPa, after purging {:.2} kPa", b.truth().tank_kpa);
    assert!(codes(&b).contains(&"P0446".to_owned()), "{:?}", codes(&b));
    let mut b = overnight(1, 50.0, MILD, vec![vent(false)]);
    tested(&mut b, false, 900.0);
    assert_eq!(codes(&b), ["P0455"]);
    assert!(b.not_whole().iter().any(|n| n.is_of(PartKind::VentValve)));
}

/// A purge valve that does not shut draws the tank down while both valves should be shut, and no leak is told of.
#[test]
fn practice_purge_valve_that_leaks() {
    for full_pct in [25.0, 75.0] {
        let leaks = PartChoice { leak_mm2: Some(0.3), ..PartChoice::new(PartKind::PurgeValve) };
        let mut b = overnight(4, full_pct, MILD, vec![leaks]);
        tested(&mut b, false, 900.0);
        assert!(codes(&b).contains(&"P0496".to_owned()), "{full_pct}: {:?}", codes(&b));
        assert_eq!(code(&b, "P0442"), None);
        assert_eq!(code(&b, "P0455"), None);
    }
}

/// Once in a drive; idle and mixture hardly notice.
#[test]
fn holds_once_in_a_drive() {
    let mut b = overnight(2, 50.0, MILD, vec![]);
    start(&mut b);
    let (mut shut_s, mut off_rpm, mut off_pct) = (0.0, 0.0_f64, 0.0_f64);
    for _ in 0..12_000 {
        b.advance_by(0.1);
        if b.ecm().s.out.vent_shut {
            shut_s += 0.1;
            let l = b.ecm().live();
            off_rpm = off_rpm.max((l.engine_speed_rpm - l.target_rpm).abs());
            off_pct = off_pct.max((100.0 * (l.lambda - 1.0)).abs());
        }
    }
    println!(
        "shut for {shut_s:.1} s of twenty minutes; speed within {off_rpm:.0} rpm, lambda within {off_pct:.1} %"
    );
    assert!((20.0..90.0).contains(&shut_s), "{shut_s}");
    assert!(off_rpm < 90.0 && off_pct < 6.0, "{off_rpm} {off_pct}");
    assert!(codes(&b).is_empty());
}

/// Clearing codes takes result and readiness, and the same drive may test again; the key takes neither, a power cut both.
#[test]
fn holds_cleared_is_not_ready() {
    let mut b = overnight(1, 50.0, MILD, vec![]);
    assert!(tested(&mut b, false, 900.0).is_some());
    assert!(ready(&b) && learned(&b, "vapour_leak").learned);
    ask(&mut b, DiagRequest::ClearCodes);
    assert!(!ready(&b) && !learned(&b, "vapour_leak").learned);
    b.advance_by(150.0);
    assert!(ready(&b) && learned(&b, "vapour_leak").learned, "again in the same drive");
    stop(&mut b);
    start(&mut b);
    assert!(ready(&b) && learned(&b, "vapour_leak").learned, "it outlives the key");
    stop(&mut b);
    act(&mut b, Action::Connector(Connector::Battery, false));
    b.advance_by(5.0);
    act(&mut b, Action::Connector(Connector::Battery, true));
    start(&mut b);
    assert!(!ready(&b) && !learned(&b, "vapour_leak").learned);
}

/// Fuel that was filled in is first asked for its alcohol; the test waits for that, and is made in the same drive.
#[test]
fn holds_waits_for_the_blend() {
    let mut b = overnight(1, 30.0, MILD, vec![]);
    start(&mut b);
    stop(&mut b);
    act(&mut b, Action::Refuel(20.0));
    night(&mut b);
    start(&mut b);
    b.advance_by(30.0);
    assert!(!gate(&b, "vapour_leak", "blend_known"));
    act(&mut b, Action::Drive { pattern: Name::Motorway, minutes: 25.0 });
    b.advance_by(1600.0);
    assert!(learned(&b, "vapour_leak").learned, "{:?}", learned(&b, "vapour_leak").gates);
    assert!(codes(&b).is_empty(), "{:?}", codes(&b));
}

/// A tester's test at a warm idle needs no cold start; it tells the size, and touches no code and no readiness. What stands
/// in its way is said.
#[test]
fn practice_asked_for_by_a_tester() {
    let test = |b: &mut Bench| ask(b, DiagRequest::Start(Routine::TestVapour));
    for hole in [0.0, 1.0, 3.0] {
        let parts = vec![holed(PartKind::FuelCap, hole)];
        let mut b = bench(&Setup { parts, ..Setup::healthy(WHIMBREL, 2, 85.0) });
        start(&mut b);
        b.advance_by(60.0);
        assert_eq!(test(&mut b), DiagResponse::Ok, "{hole}");
        b.advance_by(100.0);
        let done = DiagResponse::Routine(RoutineState::Done { routine: Routine::TestVapour });
        assert_eq!(ask(&mut b, DiagRequest::Progress), done, "{hole}");
        let l = learned(&b, "vapour_leak");
        println!("{hole} mm reads {:.3} mm", l.value);
        assert!(l.learned && l.written_by == Writer::Routine);
        assert!((l.value - hole).abs() < 0.2 || (hole > 2.3 && l.value >= 2.3), "{}", l.value);
        assert!(codes(&b).is_empty() && !ready(&b), "{:?}", codes(&b));
    }
    let refused = |mut b: Bench, which: fn(&Refused) -> bool| {
        let answer = test(&mut b);
        assert!(matches!(&answer, DiagResponse::Refused(why) if which(why)), "{answer:?}");
    };
    refused(warm(PLOVER, 1, vec![]), |w| *w == Refused::NoVapourTest);
    let mut cold = overnight(1, 50.0, MILD, vec![]);
    start(&mut cold);
    refused(cold, |w| matches!(w, Refused::CoolantBelow { is_c, needs_c } if is_c < needs_c));
    let fuel = FuelSetup { full_pct: 95.0, ..FuelSetup::default() };
    let mut full = bench(&Setup { fuel, ..Setup::healthy(WHIMBREL, 1, 85.0) });
    start(&mut full);
    full.advance_by(60.0);
    refused(full, |w| matches!(w, Refused::FuelLevelOutside { is_pct, needs_pct } if *is_pct > needs_pct[1]));
    let mut b = warm(WHIMBREL, 1, vec![]);
    act(&mut b, Action::Gear(Gear::Drive));
    b.advance_by(1.0);
    refused(b, |w| *w == Refused::NotParked);
    let mut b = warm(WHIMBREL, 1, vec![]);
    stop(&mut b);
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    refused(b, |w| *w == Refused::NotRunning);
}

/// It is given up when the car is driven off or the tester stops it, and the purge valve is free again.
#[test]
fn holds_asked_test_is_given_up() {
    for stops in [true, false] {
        let mut b = warm(WHIMBREL, 1, vec![]);
        b.advance_by(60.0);
        assert_eq!(ask(&mut b, DiagRequest::Start(Routine::TestVapour)), DiagResponse::Ok);
        b.advance_by(10.0);
        assert!(b.ecm().s.out.vent_shut);
        let because = if stops {
            ask(&mut b, DiagRequest::Stop);
            Failed::Stopped
        } else {
            act(&mut b, Action::Gear(Gear::Drive));
            Failed::NoVerdict
        };
        b.advance_by(1.0);
        let ended = RoutineState::Failed { routine: Routine::TestVapour, because };
        assert_eq!(ask(&mut b, DiagRequest::Progress), DiagResponse::Routine(ended));
        assert!(!b.ecm().s.out.vent_shut);
        b.advance_by(30.0);
        assert!(b.truth().tank_kpa.abs() < 0.3 && !learned(&b, "vapour_leak").learned);
    }
}
