//! Cylinder trim and short pulses: what one sensor behind four cylinders and the crank reveal, and when they reveal
//! nothing.
#![allow(missing_docs)] // a test file: names and comments say what each proves

use crate::bay::{DUNLIN as CAR, act, ask, bench, key_on, seeds, start};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use idlewright::bench::setup::Setup;
use idlewright::ecm::memory::Name;
use idlewright::link::{DiagRequest, DiagResponse, Gate, GateStatus, Group, Refused, Routine};
use idlewright::signals::{SensorFrame, ToothEdge};

/// The same car with a module that does not listen to the crank.
fn without_crank(car: &str) -> String {
    let from = car.find("[module.cylinder_trim.crank]").expect("the section");
    let to = from + car[from..].find("[module.catalyst]").expect("the section after it");
    format!("{}{}", &car[..from], &car[to..])
}

/// The same car with so little weight on the oxygen sensor that the module estimates from the crank alone.
fn crank_alone(car: &str) -> String {
    let deaf = car.replace("\nnoise = 0.005\n", "\nnoise = 1.0\n");
    assert_ne!(deaf, car);
    deaf
}

/// A warm engine with one cylinder's injector delivering this much more \[%\] than its code says.
fn uneven(setup: &Setup, cylinder: u8, more_pct: f64) -> Bench {
    let mut b = bench(setup);
    // exactly the same body except for its flow
    let own = b.plant().s.parts.injectors[usize::from(cylinder) - 1].clone();
    let error_pct = Some(100.0 * (own.flow_gain - 1.0) + more_pct);
    let serial = Some(own.serial);
    act(
        &mut b,
        Action::Fit(PartChoice { error_pct, serial, ..PartChoice::new(PartKind::Injector(cylinder)) }),
    );
    start(&mut b);
    b
}

fn learned(b: &Bench, name: &str) -> Vec<f64> {
    b.observe().learned.iter().filter(|l| l.name.starts_with(name)).map(|l| l.value).collect()
}

/// True fuel of each cylinder relative to the mean \[%\], averaged over some seconds.
fn fuel(b: &mut Bench, seconds: u32) -> Vec<f64> {
    let mut sum = vec![0.0; b.cylinders()];
    for _ in 0..10 * seconds {
        b.advance_by(0.1);
        for (s, a) in sum.iter_mut().zip(&b.plant().s.accounts) {
            *s += 1.0 / a.lambda;
        }
    }
    let mean = sum.iter().sum::<f64>() / sum.len() as f64;
    sum.iter().map(|s| 100.0 * (s / mean - 1.0)).collect()
}

fn worst(all: &[f64]) -> f64 {
    all.iter().map(|x| x.abs()).fold(0.0, f64::max)
}

fn said(all: &[f64]) -> String {
    all.iter().map(|x| format!("{x:+.2}")).collect::<Vec<_>>().join(" ")
}

fn gate(b: &Bench, name: Gate) -> GateStatus {
    let o = b.observe();
    let l = o.learned.iter().find(|l| l.name == "cylinder_trim_1").unwrap();
    l.gates.iter().find(|g| g.name == name).unwrap().clone()
}

/// End of M8: left alone at idle, the trim finds the cylinder and masks the fault, and is itself the evidence.
#[test]
fn m8_the_trim_hides_it_and_is_the_evidence() {
    for seed in seeds(2) {
        let mut even = bench(&Setup::healthy(CAR, seed, 88.0));
        start(&mut even);
        even.advance_by(30.0);
        let even = fuel(&mut even, 15);
        for more in [-6.0, 5.0] {
            let mut b = uneven(&Setup::healthy(CAR, seed, 88.0), 3, more);
            b.advance_by(30.0);
            let before = fuel(&mut b, 15);
            b.advance_by(300.0);
            let after = fuel(&mut b, 20);
            let trim = learned(&b, "cylinder_trim");
            println!(
                "M8 seed {seed} {more:+} %: fuel {} %, after {} %, trim {} %",
                said(&before),
                said(&after),
                said(&trim)
            );
            let moved = before[2] - even[2];
            assert!((moved - 0.75 * more).abs() < 0.5, "seed {seed}: not yet hidden: {moved:+.2}");
            assert!(worst(&after) < 0.6, "seed {seed}: hidden: {after:?}");
            for (was, now) in before.iter().zip(&trim) {
                assert!((was + now).abs() < 0.8, "seed {seed}: trims answer what was: {before:?} {trim:?}");
            }
            assert!(b.observe().codes.is_empty());
        }
    }
}

/// Limits of the trim: a body that delivers a quarter less is not fully corrected.
#[test]
fn holds_the_trim_within_its_limits() {
    let mut b = uneven(&Setup::healthy(CAR, 1, 88.0), 2, -25.0);
    b.advance_by(500.0);
    let trim = learned(&b, "cylinder_trim");
    assert!((trim[1] - 10.0).abs() < 1e-9, "{trim:?}");
    assert!(trim.iter().all(|x| x.abs() <= 10.0 + 1e-9), "{trim:?}");
}

/// Above the trim's speed window a cycle has too few samples: nothing is estimated, nothing learned.
#[test]
fn holds_the_trim_where_it_cannot_see() {
    let mut b = uneven(&Setup::healthy(CAR, 1, 88.0), 3, 6.0);
    act(&mut b, Action::Hold { rpm: 4000.0, nm: 50.0 });
    b.advance_by(20.0);
    let trim = &b.ecm().s.cylinder_trim;
    let (was, sure) = (trim.estimate, trim.uncertainty(2));
    b.advance_by(200.0);
    let trim = &b.ecm().s.cylinder_trim;
    assert_eq!(trim.estimate, was);
    assert!(trim.uncertainty(2) >= sure && trim.uncertainty(2) > 0.01, "stays wide: {}", trim.uncertainty(2));
    assert_eq!(learned(&b, "cylinder_trim"), [0.0; 4]);
    assert!(!gate(&b, Gate::InCell).open && !gate(&b, Gate::Certain).open);
}

/// A large mixing volume, known to the module, hides the cylinders from the wide-band signal: without the crank
/// signal the certainty gate stays shut.
#[test]
fn holds_the_trim_where_mixing_hides_the_cylinders() {
    let car = without_crank(CAR).replace("mixing_g = 0.30", "mixing_g = 9.0");
    assert_eq!(car.matches("mixing_g = 9.0").count(), 2, "plant and module");
    let mut b = uneven(&Setup::healthy(&car, 1, 88.0), 3, 6.0);
    b.advance_by(400.0);
    let certain = gate(&b, Gate::Certain);
    println!("mixing hides: {certain:?}, trims {}", said(&learned(&b, "cylinder_trim")));
    assert!(!certain.open, "{certain:?}");
    assert_eq!(learned(&b, "cylinder_trim"), [0.0; 4]);
}

/// A warm engine, key off, with piston rings of cylinder 3 that leak through this area \[mm²\].
fn leaking(car: &str, seed: u64, leak_mm2: f64) -> Bench {
    let mut setup = Setup::healthy(car, seed, 88.0);
    setup.parts = vec![PartChoice { leak_mm2: Some(leak_mm2), ..PartChoice::new(PartKind::Rings(3)) }];
    bench(&setup)
}

/// The crank alone also finds a lean injector: the cylinder's push is weak in proportion to the missing fuel.
#[test]
fn practice_the_crank_alone_finds_a_lean_injector() {
    for seed in seeds(2) {
        // the crank alone is not certain enough for this car's gate
        let car = crank_alone(CAR).replace("learn = [0.0045,", "learn = [0.0060,");
        let mut b = uneven(&Setup::healthy(&car, seed, 88.0), 3, -8.0);
        b.advance_by(15.0);
        let before = fuel(&mut b, 15);
        b.advance_by(400.0);
        let after = fuel(&mut b, 20);
        let trim = learned(&b, "cylinder_trim");
        println!(
            "crank alone seed {seed}: fuel {} %, after {} %, trim {} %",
            said(&before),
            said(&after),
            said(&trim)
        );
        // 8 % less than its own body delivers, whose spread is 2.5 %, relative to the mean of all four
        assert!(before[2] < -4.0, "{before:?}");
        // what is seen no better than to half a per cent is corrected no better than to about three times that
        assert!(worst(&after) < 1.5 && worst(&after) < 0.3 * worst(&before), "{before:?} {after:?}");
    }
}

/// The crank noise given in the car's file: over ten healthy engines the error of the estimate from the crank alone,
/// steady offset and scatter together, is about the error that the filter reports.
#[test]
fn holds_what_the_crank_tells_of_its_own_error() {
    // learning gate shut, so that the estimate acts alone
    let car = crank_alone(CAR).replace("learn = [0.0045,", "learn = [0.0001,");
    let (mut squares, mut n, mut told) = (0.0_f64, 0.0, 0.0);
    for seed in 1..=10 {
        let mut b = bench(&Setup::healthy(&car, seed, 88.0));
        start(&mut b);
        b.advance_by(150.0);
        let mut mean = [0.0; 4];
        let pieces = 12;
        let mut seen = Vec::new();
        let mut truth = [0.0; 4];
        for _ in 0..pieces {
            let f = fuel(&mut b, 20);
            for c in 0..4 {
                truth[c] += f[c] / f64::from(pieces);
                mean[c] += 100.0 * b.ecm().s.cylinder_trim.estimate[c] / f64::from(pieces);
            }
            seen.push(b.ecm().s.cylinder_trim.estimate);
        }
        for (c, truth) in truth.iter().enumerate() {
            for s in &seen {
                let off = 100.0 * s[c] - truth;
                squares += off * off;
                n += 1.0;
            }
        }
        assert_eq!(learned(&b, "cylinder_trim"), [0.0; 4]);
        told = 100.0 * b.ecm().s.cylinder_trim.uncertainty(2);
        println!("crank alone seed {seed}: estimate {} %, truth {} %", said(&mean), said(&truth));
    }
    let error = (squares / n).sqrt();
    println!("crank alone: error {error:.2} %, told {told:.2} %");
    assert!((0.6..1.5).contains(&(error / told)), "error {error:.3} %, told {told:.3} %");
}

/// The basis of shakes-and-uses-oil: the rings of one cylinder leak. Its mixture is right and its push is weak. A
/// module that listens to the crank takes the cylinder for lean and makes it rich, up to the limit, and its
/// neighbours lean; a module that does not listen to the crank leaves it alone.
#[test]
fn practice_a_leaking_cylinder_is_propped_up() {
    for seed in seeds(2) {
        let mut deaf = leaking(&without_crank(CAR), seed, 1.5);
        start(&mut deaf);
        deaf.advance_by(600.0);
        let even = learned(&deaf, "cylinder_trim");
        let mut b = leaking(CAR, seed, 1.5);
        start(&mut b);
        b.advance_by(600.0);
        let trim = learned(&b, "cylinder_trim");
        let mixture = fuel(&mut b, 20);
        println!(
            "leak seed {seed}: trim {} %, fuel {} %; without the crank {} %",
            said(&trim),
            said(&mixture),
            said(&even)
        );
        assert!(worst(&even) < 3.0, "seed {seed}: {even:?}");
        // the trim approaches its limit like a first-order lag: of ten engines the slowest has 0.6 % left to go
        assert!(trim[2] > 9.0, "seed {seed}: to its limit: {trim:?}");
        assert!(trim.iter().all(|x| x.abs() <= 10.0 + 1e-9), "{trim:?}");
        assert!(mixture[2] > 6.0, "seed {seed}: rich, where it was right: {mixture:?}");
        assert!(b.observe().codes.is_empty(), "{:?}", b.observe().codes);
        // the oxygen sensor sees a once-per-cycle pattern well: driven, with the crank ignored, the trims go back
        act(&mut b, Action::Hold { rpm: 1800.0, nm: 30.0 });
        b.advance_by(400.0);
        let back = learned(&b, "cylinder_trim");
        println!("leak seed {seed}: after seven minutes of cruise {} %", said(&back));
        assert!((back[2] - even[2]).abs() < 0.5 * (trim[2] - even[2]).abs(), "{back:?}");
    }
}

/// No drift: ten healthy engines end with even cylinders, and a quarter of an hour later their trims are unchanged.
#[test]
fn holds_the_trims_of_a_healthy_engine_where_they_are() {
    let mut moved = 0.0_f64;
    for seed in 1..=10 {
        // battery full, so that charging does not end meanwhile: trims follow the load a little, as injectors differ
        // in dead time
        let full = Setup { battery_charge_pct: 100.0, ..Setup::healthy(CAR, seed, 88.0) };
        let mut b = bench(&full);
        start(&mut b);
        b.advance_by(400.0);
        let then = learned(&b, "cylinder_trim");
        b.advance_by(900.0);
        let now = learned(&b, "cylinder_trim");
        let apart = fuel(&mut b, 20);
        for (a, b) in then.iter().zip(&now) {
            moved = moved.max((a - b).abs());
        }
        println!(
            "healthy seed {seed}: trims {} %, later {} %, fuel {} %",
            said(&then),
            said(&now),
            said(&apart)
        );
        assert!(worst(&apart) < 0.6, "seed {seed}: {apart:?}");
        assert!(b.observe().codes.is_empty());
    }
    assert!(moved < 0.5, "{moved:.2}");
}

/// Without a wheel table, or with a suspect one, the crank does not affect the trims: they converge to the same
/// values as without the crank.
#[test]
fn holds_the_crank_out_where_the_wheel_is_not_known() {
    // a table lost
    let reset = |car: &str| {
        let mut b = leaking(car, 1, 1.5);
        key_on(&mut b);
        let reset = DiagRequest::Start(Routine::ResetGroup(Group::WheelTable));
        assert_eq!(ask(&mut b, reset), DiagResponse::Ok);
        act(&mut b, Action::Key(Key::Crank));
        b.advance_by(305.0);
        assert!(!b.ecm().s.store.wheel.learned && b.ecm().s.running);
        learned(&b, "cylinder_trim")
    };
    assert_eq!(reset(CAR), reset(&without_crank(CAR)));
    // a table that is suspect since a misfire was confirmed
    let suspect = |car: &str| {
        let mut b = leaking(car, 1, 1.5);
        start(&mut b);
        for _ in 0..2 {
            act(&mut b, Action::Interrupt(2, 12.0));
            act(&mut b, Action::Hold { rpm: 2500.0, nm: 0.0 });
            b.advance_by(90.0);
            act(&mut b, Action::Interrupt(2, 0.0));
            act(&mut b, Action::Pedal(0.0));
            b.advance_by(4.0);
            act(&mut b, Action::Key(Key::Off));
            b.advance_by(12.0);
            start(&mut b);
        }
        assert!(b.ecm().s.store.wheel.suspect, "{:?}", b.observe().codes);
        let reset = DiagRequest::Start(Routine::ResetGroup(Group::CylinderTrims));
        act(&mut b, Action::Key(Key::Off));
        b.advance_by(12.0);
        key_on(&mut b);
        assert_eq!(ask(&mut b, reset), DiagResponse::Ok);
        act(&mut b, Action::Key(Key::Crank));
        b.advance_by(300.0);
        learned(&b, "cylinder_trim")
    };
    let (with, without) = (suspect(CAR), suspect(&without_crank(CAR)));
    println!("suspect table: trims {} %, without the crank {} %", said(&with), said(&without));
    for (a, b) in with.iter().zip(&without) {
        assert!((a - b).abs() < 0.7, "{with:?} {without:?}");
    }
}

/// The pins are the only input: a module fed with recorded edges and samples only arrives at the same trims.
#[test]
fn same_pins_same_trims() {
    let b = leaking(CAR, 1, 1.5);
    let (mut plant, mut ecm, mut twin) = (b.plant().clone(), b.ecm().clone(), b.ecm().clone());
    let mut pins: Vec<Result<ToothEdge, SensorFrame>> = Vec::new();
    while plant.s.time_s < 120.0 {
        let t = plant.s.time_s;
        plant.s.hands.key_on = t > 1.0;
        plant.s.hands.key_crank = t > 3.0 && t < 4.2;
        let stepped = plant.step(ecm.out());
        if let Some(e) = stepped.edge {
            ecm.edge(&e);
            pins.push(Ok(e));
        }
        if stepped.sampled {
            ecm.sample(plant.frame());
            pins.push(Err(plant.frame().clone()));
        }
    }
    for p in &pins {
        match p {
            Ok(e) => twin.edge(e),
            Err(f) => twin.sample(f),
        }
    }
    assert_eq!(twin.s.cylinder_trim, ecm.s.cylinder_trim);
    assert_eq!(twin.s, ecm.s);
    let trim = ecm.s.store.get(Name::CylinderTrim(2));
    assert!(trim > 3.0, "it had come to something: {trim:.2}");
}

/// Which codes and trims each profile keeps when the power is cut, and which ones resets erase.
#[test]
fn holds_codes_through_power_cuts_and_trims_by_profile() {
    for (profile, kept) in [("mixed", false), ("lasting", true), ("volatile", false)] {
        let setup = Setup { memory_profile: Some(profile.into()), ..Setup::healthy(CAR, 1, 88.0) };
        let mut b = uneven(&setup, 3, -6.0);
        b.advance_by(250.0);
        act(&mut b, Action::Key(Key::Off));
        b.advance_by(15.0);
        let (trim, flow) = (learned(&b, "cylinder_trim"), learned(&b, "injector_flow"));
        assert!(trim[2] > 3.0, "{trim:?}");
        act(&mut b, Action::Connector(Connector::Battery, false));
        b.advance_by(5.0);
        act(&mut b, Action::Connector(Connector::Battery, true));
        key_on(&mut b);
        assert_eq!(learned(&b, "injector_flow"), flow, "{profile}");
        assert_eq!(learned(&b, "cylinder_trim"), if kept { trim } else { vec![0.0; 4] }, "{profile}");
        let reset = DiagRequest::Start(Routine::ResetGroup(Group::CylinderTrims));
        assert_eq!(ask(&mut b, reset), DiagResponse::Ok);
        assert_eq!(learned(&b, "cylinder_trim"), [0.0; 4]);
        assert_eq!(learned(&b, "injector_flow"), flow);
    }
}

fn learn_short(b: &mut Bench) -> DiagResponse {
    ask(b, DiagRequest::Start(Routine::LearnShortPulse))
}

fn refused(answer: &DiagResponse, because: fn(&Refused) -> bool) {
    match answer {
        DiagResponse::Refused(why) => assert!(because(why), "{why:?}"),
        other => panic!("not refused: {other:?}"),
    }
}

/// The routine: before it the cylinders differ at a cold idle, whose pulses are short; after it they do not.
#[test]
fn practice_short_pulse_routine_evens_a_cold_idle() {
    for seed in seeds(2) {
        let mut frosty = Setup::healthy(CAR, seed, 88.0);
        frosty.weather.ambient_c = -10.0;
        // battery full, so that the alternator is not loaded and pulses are short
        frosty.battery_charge_pct = 100.0;
        // left standing for some hours, until the coolant is near 25 °C
        let cold = |b: &mut Bench| {
            act(b, Action::Key(Key::Off));
            b.advance_by(8500.0);
            start(b);
            b.advance_by(10.0);
            assert!(b.observe().live.coolant_c < 35.0, "{}", b.observe().live.coolant_c);
            fuel(b, 15)
        };
        let mut b = bench(&frosty);
        start(&mut b);
        b.advance_by(30.0);
        let before = cold(&mut b.clone());
        assert_eq!(learn_short(&mut b), DiagResponse::Ok);
        let from_s = b.time_s();
        while b.observe().live.routine == "running" {
            b.advance_by(1.0);
        }
        let took_s = b.time_s() - from_s;
        assert_eq!(b.observe().live.routine, "done", "{:?}", b.ecm().s.routine);
        let after = cold(&mut b);
        let truth: Vec<f64> = b.plant().s.parts.injectors.iter().map(|i| 100.0 * i.short_gain).collect();
        println!(
            "short pulses seed {seed}: fuel cold {} %, after {} %; learned {} %, bodies {} %; {took_s:.0} s",
            said(&before),
            said(&after),
            said(&learned(&b, "short_pulse")),
            said(&truth)
        );
        assert!(worst(&after) < 0.9 && worst(&after) < 0.6 * worst(&before), "{before:?} {after:?}");
    }
}

#[test]
fn holds_short_pulse_entry_conditions() {
    let mut b = bench(&Setup::healthy(CAR, 1, 88.0));
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    refused(&learn_short(&mut b), |w| *w == Refused::NotRunning);
    start(&mut b);
    refused(&learn_short(&mut b), |w| *w == Refused::OpenLoop);
    b.advance_by(20.0);
    act(&mut b, Action::Load(Load::Lamps, true));
    b.advance_by(1.0);
    refused(&learn_short(&mut b), |w| *w == Refused::LoadOn);
    act(&mut b, Action::Load(Load::Lamps, false));
    act(&mut b, Action::Gear(Gear::Drive));
    b.advance_by(1.0);
    refused(&learn_short(&mut b), |w| *w == Refused::InGear);
    act(&mut b, Action::Gear(Gear::Park));
    b.advance_by(3.0);
    assert_eq!(learn_short(&mut b), DiagResponse::Ok);
    b.advance_by(3.0);
    // a foot on the pedal ends it
    act(&mut b, Action::Pedal(10.0));
    b.advance_by(2.0);
    assert_eq!(b.observe().live.routine, "failed");
    assert_eq!(learned(&b, "short_pulse"), [0.0; 4]);
    let mut cold = bench(&Setup::healthy(CAR, 1, 30.0));
    start(&mut cold);
    cold.advance_by(10.0);
    refused(
        &learn_short(&mut cold),
        |w| matches!(w, Refused::CoolantBelow { is_c, needs_c } if is_c < needs_c),
    );
}
