//! The camshaft's rest position: learned by the works, by command and slowly; what a chain job makes of it; what is a fault.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{
    CARS, DUNLIN, act, ask, bench, code, codes, gate, has_code, hold, key_on, learned, start, stop,
    stop_from_hold, warm, within,
};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Load, PartChoice, PartKind};
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::{Setup, Weather};
use idlewright::link::{DiagRequest, DiagResponse, Failed, Refused, Routine, RoutineState, Writer};

fn chain(stretch_deg: f64) -> PartChoice {
    // one trigger wheel for all, so that the chain's length is the whole difference
    let serial = Some("same".to_owned());
    PartChoice { serial, stretch_deg: Some(stretch_deg), ..PartChoice::new(PartKind::CamDrive) }
}
fn tooth(teeth: f64) -> PartChoice {
    PartChoice { teeth_late: Some(teeth), ..PartChoice::new(PartKind::CamDrive) }
}
fn stuck(deg: f64) -> PartChoice {
    PartChoice { stuck_deg: Some(deg), ..PartChoice::new(PartKind::CamPhaser) }
}
fn rest(b: &Bench) -> f64 {
    learned(b, "cam_rest").value
}
fn seen(b: &Bench) -> f64 {
    b.observe().live.cam_advance_deg
}
fn learn(b: &mut Bench) -> DiagResponse {
    ask(b, DiagRequest::Start(Routine::LearnCamRest))
}
fn town(b: &mut Bench, minutes: f64) {
    act(b, Action::Drive { pattern: Name::Town, minutes });
    b.advance_by(60.0 * minutes + 20.0);
}
/// Stops the engine, fits a part, and starts again.
fn fitted(b: &mut Bench, part: PartChoice) {
    stop(b);
    act(b, Action::Fit(part));
    start(b);
}
fn things(b: &Bench) -> Vec<String> {
    b.not_whole().iter().map(|n| n.thing()).collect()
}

/// The rest of a chain that has stretched was not taught at the factory: ordinary learning followed it on the road.
#[test]
fn bug_a_stretched_chains_rest_was_learned_on_the_road() {
    let by = |parts: Vec<PartChoice>| {
        let b = bench(&Setup { parts, ..Setup::healthy(DUNLIN, 1, 90.0) });
        let v = learned(&b, "cam_rest");
        (v.written_by, v.written_s < 0.0)
    };
    assert_eq!(by(Vec::new()), (Writer::Factory, false));
    assert_eq!(by(vec![chain(0.0)]), (Writer::Factory, false));
    assert_eq!(by(vec![chain(6.0)]), (Writer::Ordinary, true));
}

/// A new car's module knows its rest; by command it finds the same again, within the wheel's own errors and the noise: two
/// tenths of a degree, over seeds and in heat and frost.
#[test]
fn holds_learned_rest_is_the_true_one() {
    for seed in 1..=6 {
        for ambient_c in [-15.0, 20.0, 38.0] {
            let weather = Weather { ambient_c, ambient_kpa: 101.3 };
            let mut b = bench(&Setup { weather, ..Setup::healthy(DUNLIN, seed, 90.0) });
            start(&mut b);
            b.advance_by(30.0);
            let delivered = rest(&b) - b.truth().cam_rest_deg;
            assert_eq!(learn(&mut b), DiagResponse::Ok, "seed {seed}");
            b.advance_by(12.0);
            assert_eq!(b.ecm().s.routine, RoutineState::Done { routine: Routine::LearnCamRest });
            let off = rest(&b) - b.truth().cam_rest_deg;
            println!("seed {seed}, {ambient_c} °C: {:+.2}°, off by {off:+.3}°", rest(&b));
            assert!(off.abs() < 0.2 && delivered.abs() < 0.2, "{off} {delivered}");
            assert_eq!(learned(&b, "cam_rest").written_by, Writer::Routine);
        }
    }
}

/// A book of a modest advance: followed within two degrees at steady speeds, none at idle, and no trim worth a look.
#[test]
fn practice_advance_follows_the_book() {
    for seed in 1..=3 {
        let mut b = warm(DUNLIN, seed, vec![]);
        b.advance_by(20.0);
        assert_eq!(b.ecm().out().cam_valve, 0.0);
        for (rpm, nm, wanted) in
            [(2000.0, 50.0, 16.0), (3000.0, 60.0, 16.0), (1300.0, 30.0, 0.0), (4600.0, 60.0, 0.0)]
        {
            hold(&mut b, rpm, nm, 40.0);
            let (l, t) = (b.observe().live, b.truth());
            println!(
                "seed {seed} {rpm} {nm}: {:.1} of {:.1}, {:.1} kPa, lambda {:.3}, short {:+.1} long {:+.1} %",
                t.cam_advance_deg, l.cam_wanted_deg, l.map_kpa, l.lambda, l.short_pct, l.long_pct
            );
            within("book", "wanted", l.cam_wanted_deg, wanted - 0.5, wanted + 0.5);
            assert!((t.cam_advance_deg - l.cam_wanted_deg).abs() < 2.0, "{}", t.cam_advance_deg);
            assert!((l.short_pct + l.long_pct).abs() < 6.0, "{} {}", l.short_pct, l.long_pct);
        }
    }
}

/// Healthy cars in several weathers, in town and on the motorway: no code, and the monitor has come to its end.
#[test]
fn practice_healthy_cars_get_no_code() {
    let weathers = [(20.0, 101.3), (-15.0, 101.3), (36.0, 101.3), (15.0, 78.0), (0.0, 95.0)];
    for (seed, (ambient_c, ambient_kpa)) in (1..=5).zip(weathers) {
        let weather = Weather { ambient_c, ambient_kpa };
        let mut b = bench(&Setup { weather, ..Setup::healthy(DUNLIN, seed, ambient_c.max(-10.0)) });
        for pattern in [Name::Town, Name::Motorway] {
            start(&mut b);
            act(&mut b, Action::Drive { pattern, minutes: 14.0 });
            b.advance_by(900.0);
            stop(&mut b);
        }
        start(&mut b);
        act(&mut b, Action::Drive { pattern: Name::Town, minutes: 8.0 });
        b.advance_by(520.0);
        println!("seed {seed}, {ambient_c} °C, {ambient_kpa} kPa: rest {:+.2}, {:?}", rest(&b), codes(&b));
        assert!(codes(&b).is_empty(), "{:?}", codes(&b));
        use idlewright::ecm::codes::Code;
        for c in [Code::P0010, Code::P0011, Code::P0016] {
            assert!(b.ecm().s.codes.standing(c).tested, "seed {seed} {c:?}");
        }
        assert!((rest(&b) - b.truth().cam_rest_deg).abs() < 0.2);
    }
}

/// A chain job: actual advance reads off by what the rest has moved, at idle while the camshaft lies still, and the true
/// advance on the road lacks it. Ordinary learning does not reach so far. Beyond the monitor's limit P0011 comes in two
/// trips; a learn mends it, and it stays mended.
#[test]
fn holds_a_new_chain_is_read_by_the_old_rest() {
    for (seed, old_deg) in (1..=5).zip([3.4, 6.4, 7.5, 8.0, 7.0]) {
        let mut b = warm(DUNLIN, seed, vec![chain(old_deg)]);
        b.advance_by(10.0);
        let before = b.truth().cam_rest_deg;
        let held = rest(&b);
        assert!((held - before).abs() < 0.2);
        fitted(&mut b, chain(0.0));
        b.advance_by(60.0);
        let moved = before - b.truth().cam_rest_deg;
        println!("seed {seed}: {before:+.2} to {:+.2}, reads {:+.2}", b.truth().cam_rest_deg, seen(&b));
        assert!((seen(&b) - moved).abs() < 0.3, "{} for {moved}", seen(&b));
        assert_eq!(b.truth().cam_advance_deg, 0.0);
        assert!(!gate(&b, "cam_rest", "near_stored"));
        assert_eq!(rest(&b), held, "not followed");
        if moved < 4.0 {
            hold(&mut b, 2200.0, 50.0, 20.0);
            let t = b.truth().cam_advance_deg;
            assert!((t - (16.0 - moved)).abs() < 1.5, "true advance {t:.1} lacks {moved:.1}");
            assert!(!has_code(&b, "P0011"));
            stop_from_hold(&mut b, 15.0);
            start(&mut b);
        } else {
            assert_eq!(code(&b, "P0011"), Some((true, false, false)), "{:?}", codes(&b));
            stop(&mut b);
            start(&mut b);
            b.advance_by(40.0);
            assert_eq!(code(&b, "P0011"), Some((true, true, true)), "{:?}", codes(&b));
            assert!(b.ecm().s.codes.lamp());
            let frame = ask(&mut b, DiagRequest::ReadFreezeFrame("P0011".into()));
            assert!(matches!(frame, DiagResponse::FreezeFrame(Some(f)) if f.engine_speed_rpm > 500.0));
        }
        assert!(things(&b).contains(&"learned.cam_rest".to_owned()), "{:?}", things(&b));
        assert!(!has_code(&b, "P0016"));
        b.advance_by(30.0);
        assert_eq!(learn(&mut b), DiagResponse::Ok);
        b.advance_by(12.0);
        assert!((rest(&b) - b.truth().cam_rest_deg).abs() < 0.2, "{}", rest(&b));
        assert!(seen(&b).abs() < 0.5);
        stop(&mut b);
        key_on(&mut b);
        ask(&mut b, DiagRequest::ClearCodes);
        stop(&mut b);
        for _ in 0..2 {
            start(&mut b);
            town(&mut b, 6.0);
            stop(&mut b);
        }
        assert_eq!(code(&b, "P0011"), None, "{:?}", codes(&b));
        assert!(!things(&b).contains(&"learned.cam_rest".to_owned()), "{:?}", things(&b));
    }
}

/// A chain that grows by little from stretch to stretch is followed, at half a degree in a minute of warm idle.
#[test]
fn holds_a_stretching_chain_is_followed() {
    let mut b = warm(DUNLIN, 4, vec![]);
    for k in 1..=4 {
        fitted(&mut b, chain(1.2 * f64::from(k)));
        b.advance_by(300.0);
        let off = rest(&b) - b.truth().cam_rest_deg;
        println!("{:.1}° long: {:+.2}, off by {off:+.3}", 1.2 * f64::from(k), rest(&b));
        assert!(off.abs() < 0.3, "{off}");
        assert!(codes(&b).is_empty(), "{:?}", codes(&b));
    }
    assert_eq!(learned(&b, "cam_rest").written_by, Writer::Ordinary);
}

/// A tooth out: P0016 in two trips, and the learn refuses with the number; mended, it is as before. A learn never takes a
/// tooth away. A code of the chain does not stand in the way of the learn after the repair.
#[test]
fn holds_a_tooth_out_is_a_fault_and_never_learned() {
    for (seed, teeth) in [(1, 1.0), (2, -1.0), (3, 1.0)] {
        let mut b = warm(DUNLIN, seed, vec![]);
        let works = rest(&b);
        fitted(&mut b, tooth(teeth));
        b.advance_by(60.0);
        assert_eq!(code(&b, "P0016"), Some((true, false, false)), "{teeth}: {:?}", codes(&b));
        let DiagResponse::Refused(Refused::CamTooFar { is_deg, most_deg }) = learn(&mut b) else {
            panic!("not refused")
        };
        assert!((is_deg - 18.0 * teeth).abs() < 1.5 && most_deg < 18.0, "{is_deg} {most_deg}");
        stop(&mut b);
        start(&mut b);
        b.advance_by(40.0);
        assert_eq!(code(&b, "P0016"), Some((true, true, true)), "{teeth}: {:?}", codes(&b));
        assert_eq!(rest(&b), works, "what is stored stands");
        fitted(&mut b, tooth(0.0));
        b.advance_by(40.0);
        assert_eq!(learn(&mut b), DiagResponse::Ok, "P0016 is still stored");
        b.advance_by(12.0);
        assert!((rest(&b) - b.truth().cam_rest_deg).abs() < 0.2);
    }
}

/// One that does not move, one that does not come back, one that is slow beyond use: P0011 in two trips of ordinary
/// driving. One that hangs far out is no rest position either.
#[test]
fn practice_a_sticking_phaser_is_told() {
    let slow = PartChoice { wear_pct: Some(98.0), ..PartChoice::new(PartKind::CamPhaser) };
    for (what, part) in
        [("at rest", stuck(0.0)), ("out", stuck(7.0)), ("far out", stuck(10.2)), ("slow", slow)]
    {
        let mut b = warm(DUNLIN, 3, vec![part]);
        town(&mut b, 8.0);
        println!("{what}: reads {:+.1} at idle, {:?}", seen(&b), codes(&b));
        assert_eq!(code(&b, "P0011").map(|c| c.0), Some(true), "{what}: {:?}", codes(&b));
        stop(&mut b);
        start(&mut b);
        town(&mut b, 8.0);
        assert_eq!(code(&b, "P0011").map(|c| c.1), Some(true), "{what}: {:?}", codes(&b));
        assert!(things(&b).contains(&"part.cam_phaser".to_owned()), "{what}: {:?}", things(&b));
        if what == "far out" {
            assert!(matches!(learn(&mut b), DiagResponse::Refused(Refused::CamTooFar { .. })));
        }
    }
}

/// The valve's plug off: the circuit is told, the camshaft stays at rest, and the car drives on.
#[test]
fn practice_an_open_oil_valve_is_told() {
    let mut b = warm(DUNLIN, 2, vec![]);
    act(&mut b, Action::Connector(Connector::CamValve, false));
    b.advance_by(5.0);
    assert_eq!(code(&b, "P0010").map(|c| c.0), Some(true), "{:?}", codes(&b));
    hold(&mut b, 2200.0, 45.0, 20.0);
    assert_eq!(b.truth().cam_advance_deg, 0.0);
    assert_eq!(b.observe().live.cam_wanted_deg, 0.0, "nothing is wanted of it");
    assert!(!has_code(&b, "P0011"), "{:?}", codes(&b));
    assert!(things(&b).contains(&"plug.cam_valve".to_owned()));
}

/// When the learn may not begin, and what ends it. What it wrote before the after-run is lost with the key.
#[test]
fn holds_entry_conditions_of_the_learn() {
    let refused = |b: &mut Bench| match learn(b) {
        DiagResponse::Refused(why) => why,
        other => panic!("{other:?}"),
    };
    let mut b = bench(&Setup::healthy(DUNLIN, 2, 40.0));
    key_on(&mut b);
    assert_eq!(refused(&mut b), Refused::NotRunning);
    act(&mut b, Action::Key(idlewright::bench::action::Key::Off));
    b.advance_by(1.0);
    start(&mut b);
    b.advance_by(10.0);
    assert!(matches!(refused(&mut b), Refused::CoolantOutside { .. }));
    let mut b = warm(DUNLIN, 2, vec![]);
    b.advance_by(10.0);
    act(&mut b, Action::Load(Load::Lamps, true));
    b.advance_by(1.0);
    assert_eq!(refused(&mut b), Refused::LoadOn);
    act(&mut b, Action::Load(Load::Lamps, false));
    b.advance_by(5.0);
    assert_eq!(learn(&mut b), DiagResponse::Ok);
    b.advance_by(1.0);
    act(&mut b, Action::Pedal(20.0));
    b.advance_by(2.0);
    let ended = RoutineState::Failed { routine: Routine::LearnCamRest, because: Failed::LeftIdle };
    assert_eq!(b.ecm().s.routine, ended);
    assert_eq!(learned(&b, "cam_rest").written_by, Writer::Factory);
    for (name, car) in CARS {
        if name != "dunlin" {
            let mut b = warm(car, 1, vec![]);
            assert_eq!(refused(&mut b), Refused::NoPhaser, "{name}");
        }
    }
}

/// Without power: a lasting memory keeps the rest, a volatile one loses it, and then, as with a blank module, the camshaft
/// stays at rest until the first warm idle has told it.
#[test]
fn holds_the_memory_profile_says_what_a_power_cut_takes() {
    for (profile, kept) in [("lasting", true), ("mixed", true), ("volatile", false)] {
        let setup = Setup { memory_profile: Some(profile.into()), ..Setup::healthy(DUNLIN, 3, 90.0) };
        let mut b = bench(&setup);
        start(&mut b);
        b.advance_by(10.0);
        let was = rest(&b);
        stop(&mut b);
        act(&mut b, Action::Connector(Connector::Battery, false));
        b.advance_by(60.0);
        act(&mut b, Action::Connector(Connector::Battery, true));
        key_on(&mut b);
        let l = learned(&b, "cam_rest");
        assert_eq!((l.learned, l.value == was), (kept, kept || was == 0.0), "{profile}: {l:?}");
        if !kept {
            assert!(things(&b).contains(&"learned.cam_rest".to_owned()));
        }
    }
    let mut b = warm(DUNLIN, 3, vec![]);
    stop(&mut b);
    act(&mut b, Action::Fit(PartChoice::new(PartKind::Module)));
    key_on(&mut b);
    assert!(!learned(&b, "cam_rest").learned);
    ask(&mut b, DiagRequest::Start(Routine::LearnClosedStop));
    b.advance_by(15.0);
    start(&mut b);
    hold(&mut b, 2200.0, 40.0, 10.0);
    assert_eq!(b.truth().cam_advance_deg, 0.0, "not before it knows where rest is");
    act(&mut b, Action::Pedal(0.0));
    b.advance_by(40.0);
    let l = learned(&b, "cam_rest");
    assert_eq!((l.learned, l.written_by), (true, Writer::Ordinary), "{l:?}");
    assert!((l.value - b.truth().cam_rest_deg).abs() < 0.2);
}
