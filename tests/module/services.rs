//! The diagnostic link: every request with its entry conditions, refusals and results.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{PLOVER as CAR, act, ask, code, key_on, learned, stale, start, stop};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use idlewright::bench::setup::{Faults, Setup};
use idlewright::bench::view::Lamp;
use idlewright::link::{
    DiagRequest, DiagResponse, Failed, FreezeFrame, Gate, Group, LearnedStatus, Refused, Routine,
    RoutineState, Writer,
};
use std::sync::OnceLock;

fn setup(coolant_c: f64) -> Setup {
    Setup::healthy(CAR, 4, coolant_c)
}

fn standing() -> Bench {
    Bench::standing(&setup(88.0)).expect("a bench")
}

/// A healthy engine after a minute of warm idle.
fn warm() -> Bench {
    static WARM: OnceLock<Bench> = OnceLock::new();
    WARM.get_or_init(|| {
        let mut b = standing();
        start(&mut b);
        b.advance_by(60.0);
        assert!(b.observe().live.idling);
        b
    })
    .clone()
}

fn state(b: &mut Bench) -> RoutineState {
    match ask(b, DiagRequest::Progress) {
        DiagResponse::Routine(state) => state,
        other => panic!("no state of a routine: {other:?}"),
    }
}

/// A condition that waits for a routine's end must not be met by what an earlier one ended with.
#[test]
fn bug_an_earlier_end_stood_after_a_refused_start() {
    let mut b = standing();
    key_on(&mut b);
    let reset = Routine::ResetGroup(Group::IdleAir);
    assert_eq!(begin(&mut b, reset), DiagResponse::Ok);
    assert_eq!(state(&mut b), RoutineState::Done { routine: reset });
    refused(&mut b, Routine::LearnIdle, |w| *w == Refused::NotRunning);
    assert_eq!(state(&mut b), RoutineState::None);
    // one that is under way goes on
    assert_eq!(begin(&mut b, Routine::LearnClosedStop), DiagResponse::Ok);
    refused(&mut b, reset, |w| matches!(w, Refused::UnderWay(_)));
    assert!(matches!(state(&mut b), RoutineState::Running { routine: Routine::LearnClosedStop, .. }));
}

fn begin(b: &mut Bench, r: Routine) -> DiagResponse {
    ask(b, DiagRequest::Start(r))
}

/// Refused because the engine is turning.
const TURNING: fn(&Refused) -> bool = |w| matches!(w, Refused::EngineTurning { rpm } if *rpm > 0.0);

#[track_caller]
fn refused(b: &mut Bench, r: Routine, because: fn(&Refused) -> bool) {
    let before = b.observe().learned;
    match begin(b, r) {
        DiagResponse::Refused(why) => assert!(because(&why), "{}: {why:?}", r.name()),
        other => panic!("{}: expected a refusal, got {other:?}", r.name()),
    }
    assert_eq!(values(&before), values(&b.observe().learned), "a refusal writes nothing");
}

fn values(l: &[LearnedStatus]) -> Vec<(String, f64, Writer)> {
    l.iter().map(|v| (v.name.clone(), v.value, v.written_by)).collect()
}

fn frame(b: &mut Bench, number: &str) -> Option<FreezeFrame> {
    match ask(b, DiagRequest::ReadFreezeFrame(number.into())) {
        DiagResponse::FreezeFrame(f) => f,
        other => panic!("no freeze frame answer: {other:?}"),
    }
}

fn progress(b: &mut Bench) -> RoutineState {
    match ask(b, DiagRequest::Progress) {
        DiagResponse::Routine(s) => s,
        other => panic!("no progress: {other:?}"),
    }
}

/// Runs on until the routine has ended.
fn finish(b: &mut Bench, most_s: f64) -> RoutineState {
    let end = b.time_s() + most_s;
    while b.observe().live.routine == "running" && b.time_s() < end {
        b.advance_by(0.5);
    }
    progress(b)
}

fn every_request() -> Vec<DiagRequest> {
    let mut all = vec![
        DiagRequest::ReadCodes,
        DiagRequest::ClearCodes,
        DiagRequest::ReadFreezeFrame("P0507".into()),
        DiagRequest::ReadLearned,
        DiagRequest::ReadLive,
        DiagRequest::Progress,
        DiagRequest::Stop,
        DiagRequest::Restart,
    ];
    all.extend(Routine::ALL.iter().map(|(_, r)| DiagRequest::Start(*r)));
    all
}

// ---------------------------------------------------------------------------------------------------
// Silence, reading, clearing
// ---------------------------------------------------------------------------------------------------

#[test]
fn holds_every_request_is_silent_with_the_key_off() {
    let mut after_run = warm();
    act(&mut after_run, Action::Key(Key::Off));
    after_run.advance_by(1.0);
    let mut asleep = after_run.clone();
    asleep.advance_by(12.0);
    let mut no_battery = standing();
    key_on(&mut no_battery);
    act(&mut no_battery, Action::Connector(Connector::Battery, false));
    no_battery.advance_by(0.5);
    for (what, b) in [
        ("never keyed", standing()),
        ("after-run", after_run),
        ("asleep", asleep),
        ("battery off, key on", no_battery),
    ] {
        let mut b = b;
        let before = b.state_hash();
        for r in every_request() {
            assert_eq!(ask(&mut b, r.clone()), DiagResponse::Silent, "{what}: {r:?}");
        }
        assert_eq!(before, b.state_hash(), "{what}: a question to a sleeping module changes nothing");
    }
    // and no request goes unanswered with the key on
    for mut b in [warm(), {
        let mut b = standing();
        key_on(&mut b);
        b
    }] {
        for r in every_request() {
            assert_ne!(ask(&mut b, r.clone()), DiagResponse::Silent, "{r:?}");
            // after a restart the module sleeps until its next sample
            b.advance_by(0.1);
        }
    }
}

#[test]
fn holds_reading_tells_what_a_technician_sees() {
    let mut b = stale();
    let o = b.observe();
    assert_eq!(ask(&mut b, DiagRequest::ReadCodes), DiagResponse::Codes(o.codes.clone()));
    let DiagResponse::Learned(all) = ask(&mut b, DiagRequest::ReadLearned) else { panic!("no values") };
    assert_eq!(all.len(), o.learned.len());
    for (told, seen) in all.iter().zip(&o.learned) {
        assert_eq!((&told.name, told.value, &told.gates), (&seen.name, seen.value, &seen.gates));
        // by one clock: the window told a value written before its own first minute
        assert_eq!(told.written_s, seen.written_s, "{}", told.name);
        assert!(told.low <= told.default && told.default <= told.high, "{}", told.name);
    }
    let DiagResponse::Live(live) = ask(&mut b, DiagRequest::ReadLive) else { panic!("no live values") };
    assert_eq!(live.engine_speed_rpm, o.live.engine_speed_rpm);
    let before = b.state_hash();
    for r in [DiagRequest::ReadCodes, DiagRequest::ReadLearned, DiagRequest::ReadLive, DiagRequest::Progress]
    {
        ask(&mut b, r);
    }
    assert_eq!(before, b.state_hash(), "reading changes nothing");
}

#[test]
fn holds_freeze_frame_keeps_the_conditions_of_the_fault() {
    let mut b = stale();
    let idle = b.observe().idle.expect("a warm idle");
    let f = frame(&mut b, "P0507").expect("a freeze frame of P0507");
    let within = |what: &str, x: f64, low: f64, high: f64| {
        assert!((low..=high).contains(&x), "{what}: {x} is not from {low} to {high}");
    };
    // P0507: more than 200 rpm over a target of 720
    within("speed", f.engine_speed_rpm, 921.0, 1300.0);
    within(
        "speed against the idle seen later",
        f.engine_speed_rpm,
        idle.mean_rpm - 80.0,
        idle.mean_rpm + 80.0,
    );
    within("coolant", f.coolant_c, 84.0, 98.0);
    within("manifold", f.map_kpa, idle.map_kpa - 6.0, idle.map_kpa + 6.0);
    within("air", f.air_g_s, 0.8 * idle.air_g_s, 1.2 * idle.air_g_s);
    within("load", f.load_pct, 10.0, 45.0);
    within("short trim", f.short_pct, -25.0, 25.0);
    within("road", f.road_km_h, 0.0, 0.0);
    // it stays unchanged while the fault persists
    b.advance_by(60.0);
    // SAE J1979 service 02 reports PID 03 first, from memory: 02 is closed loop
    assert_eq!(f.fuel_system.byte(), 0x02, "{f:?}");
    assert_eq!(frame(&mut b, "P0507"), Some(f));
    assert_eq!(frame(&mut b, "P0171"), None);
    assert_eq!(frame(&mut b, "nonsense"), None);
}

#[test]
fn holds_clearing_erases_codes_and_frames_and_nothing_learned() {
    let mut b = stale();
    let before = b.observe().learned;
    assert!(before.iter().any(|l| l.name == "idle_air_light" && l.value > 1.5));
    assert_eq!(ask(&mut b, DiagRequest::ClearCodes), DiagResponse::Ok);
    assert_eq!(ask(&mut b, DiagRequest::ReadCodes), DiagResponse::Codes(Vec::new()));
    assert_eq!(frame(&mut b, "P0507"), None);
    assert_eq!(b.observe().lamp, Lamp::Off);
    assert_eq!(values(&before), values(&b.observe().learned), "what was learned stays");
    // nothing was repaired, so it comes back
    b.advance_by(60.0);
    assert!(code(&b, "P0507").is_some_and(|c| c.0), "P0507 comes back");
}

/// Clearing also resets the monitor's own count: the fault must be present for its whole time again.
#[test]
fn holds_a_cleared_code_matures_anew() {
    let mut b = stale();
    assert_eq!(ask(&mut b, DiagRequest::ClearCodes), DiagResponse::Ok);
    // the car's file: an idle code takes 15 s
    b.advance_by(14.0);
    assert_eq!(code(&b, "P0507"), None, "14 s after clearing");
    b.advance_by(3.0);
    assert_eq!(code(&b, "P0507"), Some((true, false, false)), "17 s after clearing");
}

/// 13 CCR 1968.2 (d)(2), from memory: within one trip a code can only become pending, cleared in between or not;
/// confirming it takes another trip.
#[test]
fn source_clearing_and_failing_again_in_one_trip_only_pends() {
    let mut b = stale();
    for _ in 0..2 {
        ask(&mut b, DiagRequest::ClearCodes);
        b.advance_by(40.0);
        assert_eq!(code(&b, "P0507"), Some((true, false, false)));
    }
}

// ---------------------------------------------------------------------------------------------------
// Group resets
// ---------------------------------------------------------------------------------------------------

#[test]
fn holds_resets_are_refused_with_the_engine_turning() {
    let mut b = stale();
    for group in Group::ALL {
        refused(&mut b, Routine::ResetGroup(*group), TURNING);
    }
    // turning is enough; the engine need not run
    let mut b = standing();
    for k in 1..=4 {
        act(&mut b, Action::Connector(Connector::Coil(k), false));
    }
    key_on(&mut b);
    act(&mut b, Action::Key(Key::Crank));
    b.advance_by(2.0);
    assert!(!b.observe().live.running && b.observe().live.engine_speed_rpm > 50.0, "cranking");
    refused(&mut b, Routine::ResetGroup(Group::IdleAir), TURNING);
}

#[test]
fn holds_reset_idle_air_writes_defaults_and_opens_the_window_across_key_cycles() {
    let mut b = stale();
    stop(&mut b);
    key_on(&mut b);
    let stop_before = learned(&b, "closed_stop");
    let trims_before = learned(&b, "long_idle_bank1").value;
    assert_eq!(begin(&mut b, Routine::ResetGroup(Group::IdleAir)), DiagResponse::Ok);
    assert_eq!(progress(&mut b), RoutineState::Done { routine: Routine::ResetGroup(Group::IdleAir) });
    let (light, loaded) = (learned(&b, "idle_air_light"), learned(&b, "idle_air_loaded"));
    assert_eq!((light.value, light.learned), (light.default, false));
    assert_eq!((loaded.value, loaded.learned), (0.0, false));
    assert_eq!(light.written_by, Writer::Reset);
    assert_eq!(learned(&b, "closed_stop").value, stop_before.value, "the closed stop is another group");
    assert_eq!(learned(&b, "long_idle_bank1").value, trims_before, "trims are another group");
    assert!(b.ecm().s.store.idle_window_open);
    for cycle in 1..=3 {
        stop(&mut b);
        key_on(&mut b);
        assert!(b.ecm().s.store.idle_window_open, "key cycle {cycle}");
        assert_eq!(learned(&b, "idle_air_light").value, light.default, "key cycle {cycle}");
    }
    // while it is open, the speed error has no limit; a successful learn shuts it permanently
    act(&mut b, Action::Key(Key::Crank));
    b.advance_by(10.0);
    let gates = learned(&b, "idle_air_light").gates;
    assert!(gates.iter().any(|g| g.name == Gate::SpeedError && g.open));
    assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
    assert_eq!(finish(&mut b, 190.0), RoutineState::Done { routine: Routine::LearnIdle });
    assert!(!b.ecm().s.store.idle_window_open);
    stop(&mut b);
    key_on(&mut b);
    assert!(!b.ecm().s.store.idle_window_open);
}

#[test]
fn holds_other_resets_write_their_own_group_only() {
    let mut b = stale();
    stop(&mut b);
    key_on(&mut b);
    for (group, own) in [
        (Group::LongTrims, &["long_idle_bank1", "long_part_bank1", "long_high_bank1", "rear_trim_bank1"][..]),
        (Group::ClosedStop, &["closed_stop"][..]),
    ] {
        let before = b.observe().learned;
        assert_eq!(begin(&mut b, Routine::ResetGroup(group)), DiagResponse::Ok);
        for (was, is) in before.iter().zip(&b.observe().learned) {
            if own.contains(&is.name.as_str()) {
                assert_eq!((is.value, is.learned), (is.default, false), "{}", is.name);
            } else {
                assert_eq!((is.value, is.learned), (was.value, was.learned), "{}", is.name);
            }
        }
    }
}

// ---------------------------------------------------------------------------------------------------
// Learn idle
// ---------------------------------------------------------------------------------------------------

/// With a leak so large that the fuel trims are at their limit, the engine may still idle on target: what is learned
/// then is the air of a lean engine.
#[test]
fn bug_idle_is_not_learned_on_a_lean_mixture() {
    for leak_mm2 in [7.0, 8.0] {
        let faults = Faults { unmetered_leak_mm2: leak_mm2, ..Faults::default() };
        let mut b = Bench::standing(&Setup { faults, ..setup(88.0) }).expect("a bench");
        start(&mut b);
        b.advance_by(60.0);
        assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
        let end = finish(&mut b, 190.0);
        println!("{leak_mm2} mm²: lambda {:.2}, {end:?}", b.observe().live.lambda);
        assert!(
            matches!(end, RoutineState::Failed { routine: Routine::LearnIdle, .. }),
            "{leak_mm2} mm²: {end:?}"
        );
    }
}

#[test]
fn holds_learn_idle_is_refused_for_each_condition_alone() {
    // without a fault it is accepted
    assert_eq!(begin(&mut warm(), Routine::LearnIdle), DiagResponse::Ok);

    let mut b = standing();
    key_on(&mut b);
    refused(&mut b, Routine::LearnIdle, |w| *w == Refused::NotRunning);

    // detected by its switch, or by the current that it draws
    type Because = fn(&Refused) -> bool;
    const LOAD: Because = |w| matches!(w, Refused::LoadOn | Refused::ElectricalLoad { .. });
    let broken: [(&str, &[Action], Because); 5] = [
        ("pedal", &[Action::Pedal(8.0)], |w| matches!(w, Refused::IdleControlOff { .. })),
        ("drive", &[Action::Brake(true), Action::Gear(Gear::Drive)], |w| *w == Refused::InGear),
        ("lamps", &[Action::Load(Load::Lamps, true)], LOAD),
        ("compressor", &[Action::Load(Load::Compressor, true)], LOAD),
        ("glass", &[Action::Load(Load::HeatedGlass, true)], LOAD),
    ];
    for (what, hands, because) in broken {
        let mut b = warm();
        for a in hands {
            act(&mut b, a.clone());
        }
        b.advance_by(6.0);
        assert!(b.observe().live.running, "{what}");
        refused(&mut b, Routine::LearnIdle, because);
    }

    // rolling, back in neutral
    let mut b = warm();
    act(&mut b, Action::Gear(Gear::Drive));
    b.advance_by(15.0);
    act(&mut b, Action::Gear(Gear::Neutral));
    b.advance_by(4.0);
    assert!(b.observe().live.road_km_h > 1.0 && b.observe().live.idling);
    refused(&mut b, Routine::LearnIdle, |w| matches!(w, Refused::Moving { km_h } if *km_h > 1.0));

    // cold
    let mut b = Bench::standing(&setup(40.0)).expect("a bench");
    start(&mut b);
    b.advance_by(20.0);
    assert!(b.observe().live.idling);
    refused(
        &mut b,
        Routine::LearnIdle,
        |w| matches!(w, Refused::CoolantOutside { is_c, needs_c } if is_c < &needs_c[0]),
    );

    // P0507 matured since the last reset
    refused(&mut stale(), Routine::LearnIdle, |w| *w == Refused::CodeMatured("P0507".into()));
}

/// P0507 blocks the commanded learn only if it matured after the last reset of the group.
#[test]
fn holds_learn_idle_is_accepted_once_the_group_was_reset() {
    let mut b = stale();
    stop(&mut b);
    key_on(&mut b);
    assert_eq!(begin(&mut b, Routine::ResetGroup(Group::IdleAir)), DiagResponse::Ok);
    act(&mut b, Action::Key(Key::Crank));
    b.advance_by(10.0);
    assert!(code(&b, "P0507").is_some_and(|c| c.0), "still pending");
    assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
}

/// Refusal is the most common outcome; the reason given must be the one that has to be resolved.
#[test]
fn holds_learn_idle_names_the_unknown_stop() {
    let mut b = standing();
    fit_body(&mut b, 0.6);
    start(&mut b);
    b.advance_by(20.0);
    refused(&mut b, Routine::LearnIdle, |w| *w == Refused::StopUnknown);
}

#[test]
fn holds_learn_idle_runs_tells_progress_and_ends_well() {
    let mut b = warm();
    assert_eq!(progress(&mut b), RoutineState::None);
    assert_eq!(ask(&mut b, DiagRequest::Stop), DiagResponse::Ok, "stopping nothing is no error");
    assert_eq!(progress(&mut b), RoutineState::None);
    assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
    b.advance_by(5.0);
    match progress(&mut b) {
        RoutineState::Running { routine: Routine::LearnIdle, for_s, .. } => {
            assert!((for_s - 5.0).abs() < 0.2, "{for_s}");
        }
        other => panic!("{other:?}"),
    }
    refused(&mut b, Routine::LearnIdle, |w| *w == Refused::UnderWay(Routine::LearnIdle));
    refused(&mut b, Routine::ResetGroup(Group::IdleAir), |w| *w == Refused::UnderWay(Routine::LearnIdle));
    let began = b.time_s();
    assert_eq!(finish(&mut b, 190.0), RoutineState::Done { routine: Routine::LearnIdle });
    assert!(b.time_s() - began < 180.0);
    let o = b.observe();
    assert!((o.live.engine_speed_rpm - o.live.target_rpm).abs() < 30.0);
    assert!(o.live.idle_pi_g_s.abs() < 0.08, "{}", o.live.idle_pi_g_s);
    assert_eq!(learned(&b, "idle_air_light").written_by, Writer::Routine);
}

#[test]
fn holds_stop_ends_a_routine_and_it_writes_no_more() {
    let mut b = warm();
    assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
    b.advance_by(1.0);
    assert_eq!(ask(&mut b, DiagRequest::Stop), DiagResponse::Ok);
    match progress(&mut b) {
        RoutineState::Failed { routine: Routine::LearnIdle, because: Failed::Stopped } => {}
        other => panic!("{other:?}"),
    }
    let at = b.time_s();
    b.advance_by(30.0);
    let l = learned(&b, "idle_air_light");
    assert!(l.written_by != Writer::Routine || l.written_s <= at, "{l:?}");
    assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok, "and it can be begun again");

    let mut b = standing();
    key_on(&mut b);
    let was = learned(&b, "closed_stop");
    assert_eq!(begin(&mut b, Routine::LearnClosedStop), DiagResponse::Ok);
    b.advance_by(0.5);
    assert_eq!(ask(&mut b, DiagRequest::Stop), DiagResponse::Ok);
    b.advance_by(5.0);
    assert!(matches!(progress(&mut b), RoutineState::Failed { routine: Routine::LearnClosedStop, .. }));
    assert_eq!(learned(&b, "closed_stop"), was);
}

#[test]
fn holds_learn_idle_fails_when_its_conditions_are_left() {
    let left: [(&str, &[Action]); 5] = [
        ("pedal", &[Action::Pedal(10.0)]),
        ("lamps", &[Action::Load(Load::Lamps, true)]),
        ("compressor", &[Action::Load(Load::Compressor, true)]),
        ("gear", &[Action::Brake(true), Action::Gear(Gear::Drive)]),
        (
            "stall",
            &[
                Action::Connector(Connector::Coil(1), false),
                Action::Connector(Connector::Coil(2), false),
                Action::Connector(Connector::Coil(3), false),
                Action::Connector(Connector::Coil(4), false),
            ],
        ),
    ];
    for (what, hands) in left {
        let mut b = warm();
        assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
        b.advance_by(3.0);
        for a in hands {
            act(&mut b, a.clone());
        }
        b.advance_by(4.0);
        match progress(&mut b) {
            RoutineState::Failed { routine: Routine::LearnIdle, because } => {
                assert_ne!(because, Failed::Stopped)
            }
            other => panic!("{what}: {other:?}"),
        }
    }
    // key off: no routine is active any more, and nothing was changed
    let mut b = warm();
    assert_eq!(begin(&mut b, Routine::LearnIdle), DiagResponse::Ok);
    b.advance_by(3.0);
    stop(&mut b);
    key_on(&mut b);
    assert_eq!(progress(&mut b), RoutineState::None);
}

// ---------------------------------------------------------------------------------------------------
// Closed stop
// ---------------------------------------------------------------------------------------------------

/// Fits a new body whose closed stop is this far from the stored one \[deg\].
fn fit_body(b: &mut Bench, away_deg: f64) {
    let stored = learned(b, "closed_stop");
    let stop_offset_deg = Some(stored.value - stored.default + away_deg);
    act(b, Action::Fit(PartChoice { stop_offset_deg, ..PartChoice::new(PartKind::ThrottleBody) }));
}

/// Opening of the plate above its real stop \[deg\].
fn plate(b: &Bench) -> f64 {
    b.plant().s.air.opening_deg
}

fn press(b: &mut Bench, pct: f64) -> f64 {
    act(b, Action::Pedal(pct));
    b.advance_by(1.5);
    let deg = plate(b);
    act(b, Action::Pedal(0.0));
    b.advance_by(1.5);
    deg
}

#[test]
fn holds_learn_closed_stop_cures_a_body_whose_stop_is_elsewhere() {
    let spring_deg = 3.4; // the car's file: [air] spring_default_deg
    let limited_deg = 12.0; // the car's file: [module.idle] limited_deg
    for away in [0.6, -0.6] {
        let mut b = standing();
        key_on(&mut b);
        assert!(press(&mut b, 100.0) > 70.0, "a known stop: the whole pedal");
        stop(&mut b);
        let stored = learned(&b, "closed_stop").value;
        fit_body(&mut b, away);
        key_on(&mut b);
        assert_eq!(code(&b, "P2176"), Some((true, false, false)), "{away}: {:?}", b.observe().codes);
        assert!((plate(&b) - spring_deg).abs() < 0.1, "{away}: plate at {:.2}", plate(&b));
        let pressed = press(&mut b, 100.0);
        assert!((pressed - limited_deg).abs() < 1.0, "{away}: a limited pedal, {pressed:.1}");
        assert!((plate(&b) - spring_deg).abs() < 0.1, "{away}: back on its springs at {:.2}", plate(&b));
        assert_eq!(learned(&b, "closed_stop").value, stored, "nobody has learned yet");

        assert_eq!(begin(&mut b, Routine::LearnClosedStop), DiagResponse::Ok);
        assert!(matches!(progress(&mut b), RoutineState::Running { .. }));
        assert_eq!(finish(&mut b, 10.0), RoutineState::Done { routine: Routine::LearnClosedStop });
        let l = learned(&b, "closed_stop");
        assert!((l.value - stored - away).abs() < 0.02, "{away}: {} after {stored}", l.value);
        assert_eq!((l.learned, l.written_by), (true, Writer::Routine));
        assert!(press(&mut b, 100.0) > 70.0, "{away}: the whole pedal again");

        // the module controls the idle again, and the code heals with the next trip that tests it
        act(&mut b, Action::Key(Key::Crank));
        b.advance_by(30.0);
        assert!(b.observe().live.idling);
        stop(&mut b);
        start(&mut b);
        b.advance_by(5.0);
        stop(&mut b);
        key_on(&mut b);
        assert!(code(&b, "P2176").is_none_or(|c| !c.0), "{away}: {:?}", b.observe().codes);
        assert_eq!(b.observe().lamp, Lamp::Off, "{away}");
    }
}

#[test]
fn holds_learn_closed_stop_is_refused_when_it_cannot_be_seen() {
    refused(&mut warm(), Routine::LearnClosedStop, TURNING);
    let mut b = standing();
    act(&mut b, Action::Key(Key::On));
    b.advance_by(0.2);
    refused(&mut b, Routine::LearnClosedStop, |w| *w == Refused::ThrottleNotReady);
}

/// A closed stop that no sound body has is not learned; the stored value stays.
#[test]
fn holds_learn_closed_stop_fails_outside_its_limits() {
    for away in [2.0, -2.0] {
        let mut b = standing();
        let stored = learned(&b, "closed_stop").value;
        fit_body(&mut b, away);
        key_on(&mut b);
        assert_eq!(begin(&mut b, Routine::LearnClosedStop), DiagResponse::Ok);
        match finish(&mut b, 10.0) {
            RoutineState::Failed { routine: Routine::LearnClosedStop, because } => {
                assert_eq!(because, Failed::StopOutside);
            }
            other => panic!("{away}: {other:?}"),
        }
        assert_eq!(learned(&b, "closed_stop").value, stored);
        b.advance_by(1.0);
        // 12° above a nominal stop, which this body does not have
        assert!(press(&mut b, 100.0) < 12.5 - away, "{away}: still limited");
    }
}

/// The limit of 0.4°: inside, the stored value is kept and no code is set; outside, P2176.
#[test]
fn exact_closed_stop_tolerance() {
    for (away, known) in [(0.39, true), (-0.39, true), (0.41, false), (-0.41, false), (0.0, true)] {
        let mut b = standing();
        let stored = learned(&b, "closed_stop");
        fit_body(&mut b, away);
        key_on(&mut b);
        let expected = if known { None } else { Some((true, false, false)) };
        assert_eq!(code(&b, "P2176"), expected, "{away}");
        assert_eq!(learned(&b, "closed_stop").value, stored.value, "{away}: the stored value is kept");
        assert_eq!(b.ecm().s.air.stop_known, known, "{away}");
        act(&mut b, Action::Key(Key::Crank));
        b.advance_by(15.0);
        assert_eq!(b.observe().live.idling, known, "{away}: idle control");
        assert_eq!(learned(&b, "closed_stop").value, stored.value, "{away}: kept while running");
    }
}

/// 13 CCR 1968.2 (d)(2), from memory: two trips confirm. Seeing the fault before and after the start of the same trip is
/// one trip.
#[test]
fn source_p2176_pends_in_its_first_trip() {
    let mut b = standing();
    fit_body(&mut b, 0.6);
    start(&mut b);
    b.advance_by(30.0);
    assert_eq!(code(&b, "P2176"), Some((true, false, false)), "first trip");
    assert_eq!(b.observe().lamp, Lamp::Off, "first trip");
    stop(&mut b);
    start(&mut b);
    b.advance_by(30.0);
    assert_eq!(code(&b, "P2176"), Some((true, true, true)), "second trip");
    assert_eq!(b.observe().lamp, Lamp::On, "second trip");
}

#[test]
fn same_routine_names_there_and_back() {
    for (name, r) in Routine::ALL {
        assert_eq!(r.name(), *name);
    }
    let mut names: Vec<&str> = Routine::ALL.iter().map(|r| r.0).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), Routine::ALL.len());
}

// ---------------------------------------------------------------------------------------------------
// A restart, and a scan
// ---------------------------------------------------------------------------------------------------

#[test]
fn holds_a_restart_saves_and_wakes_again() {
    let mut b = warm();
    assert!(matches!(ask(&mut b, DiagRequest::Restart), DiagResponse::Refused(why) if TURNING(&why)));
    stop(&mut b);
    key_on(&mut b);
    assert_eq!(begin(&mut b, Routine::LearnClosedStop), DiagResponse::Ok);
    assert!(matches!(finish(&mut b, 30.0), RoutineState::Done { .. }));
    let stop_deg = learned(&b, "closed_stop");
    assert_eq!(ask(&mut b, DiagRequest::Restart), DiagResponse::Ok);
    assert_eq!(ask(&mut b, DiagRequest::ReadCodes), DiagResponse::Silent, "asleep until its next sample");
    b.advance_by(0.1);
    assert!(matches!(ask(&mut b, DiagRequest::ReadCodes), DiagResponse::Codes(_)));
    assert_eq!(progress(&mut b), RoutineState::None, "awake anew");
    let kept = learned(&b, "closed_stop");
    assert_eq!((kept.value, kept.written_by), (stop_deg.value, stop_deg.written_by), "it was saved");
    assert!(matches!(ask(&mut b, DiagRequest::Restart), DiagResponse::Ok), "and again");
}

/// The status byte of ISO 14229-1, annex D.2, from memory.
#[test]
fn source_scan_tells_how_each_code_stands() {
    let b = stale();
    let scan = b.scan();
    assert!(scan.awake && scan.running && scan.metered && !scan.rail);
    let high = scan.codes.iter().find(|c| c.code == "P0507").expect("it can be set");
    assert_eq!(
        high.status(),
        0b0010_0111,
        "failing, failed in this trip, pending, failed since the last clear"
    );
    let other = scan.codes.iter().find(|c| c.code == "P0016").expect("it can be set");
    assert!(!other.pending && other.status() & 0b1010_1111 == 0, "{other:?}");
    // the same as the codes returned by reading codes
    let stored: Vec<&str> = scan.codes.iter().filter(|c| c.pending || c.confirmed).map(|c| c.code).collect();
    assert_eq!(stored, b.observe().codes.iter().map(|c| c.code.as_str()).collect::<Vec<_>>());
    // one bank and port injection: no codes of other cars
    assert!(scan.codes.iter().all(|c| !["P0174", "P268A", "P0305"].contains(&c.code)));
    let ready: Vec<(&str, bool)> = scan.monitors.iter().map(|m| (m.name, m.complete)).collect();
    let told = b.observe().readiness;
    assert_eq!(ready, told.iter().map(|m| (m.name.as_str(), m.complete)).collect::<Vec<_>>());
}
