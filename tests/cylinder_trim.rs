//! Cylinder trim and short pulses: what one sensor behind four cylinders tells, and when it tells nothing.
#![allow(missing_docs)] // a test file: names and comments say what each proves

use idlewright::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use idlewright::bench::setup::Setup;
use idlewright::bench::{Bench, Done};
use idlewright::link::{DiagRequest, DiagResponse, Group, Routine};

const CAR: &str = include_str!("../assets/cars/dunlin.toml");

fn seeds() -> std::ops::RangeInclusive<u64> {
    let many = std::env::var("IDLEWRIGHT_SEEDS").ok().and_then(|n| n.parse().ok()).unwrap_or(2);
    1..=many
}

fn act(b: &mut Bench, action: Action) {
    assert_eq!(b.act("", action), Done::Yes);
}

fn ask(b: &mut Bench, r: DiagRequest) -> DiagResponse {
    match b.act("", Action::Ask(r)) {
        Done::Answer(a) => a,
        other => panic!("no answer: {other:?}"),
    }
}

fn standing(setup: &Setup) -> Bench {
    Bench::new(setup, &mut |_| true).unwrap()
}

fn start(b: &mut Bench) {
    act(b, Action::Key(Key::On));
    b.advance_by(2.0);
    act(b, Action::Key(Key::Crank));
    b.advance_by(5.0);
    assert!(b.observe().live.running, "the engine did not start");
}

/// A warm engine whose injector of one cylinder gives so much more \[%\] than its code says.
fn uneven(setup: &Setup, cylinder: u8, more_pct: f64) -> Bench {
    let mut b = standing(setup);
    // the very same body, but for its flow
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

/// True fuel of each cylinder over the mean \[%\], over some seconds.
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

fn gate(b: &Bench, name: &str) -> (bool, String) {
    let o = b.observe();
    let l = o.learned.iter().find(|l| l.name == "cylinder_trim_1").unwrap();
    let g = l.gates.iter().find(|g| g.name == name).unwrap();
    (g.open, g.why.clone())
}

/// M8's end: left alone at idle, the trim finds the cylinder and hides it, and is itself the evidence.
#[test]
fn m8_the_trim_hides_it_and_is_the_evidence() {
    for seed in seeds() {
        let mut even = standing(&Setup::healthy(CAR, seed, 88.0));
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

/// Its limits: a body that gives a quarter less is not made good.
#[test]
fn holds_the_trim_within_its_limits() {
    let mut b = uneven(&Setup::healthy(CAR, 1, 88.0), 2, -25.0);
    b.advance_by(500.0);
    let trim = learned(&b, "cylinder_trim");
    assert!((trim[1] - 10.0).abs() < 1e-9, "{trim:?}");
    assert!(trim.iter().all(|x| x.abs() <= 10.0 + 1e-9), "{trim:?}");
}

/// Above its window a cycle lasts too few samples: nothing is estimated, nothing learned.
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
    assert!(!gate(&b, "in_cell").0 && !gate(&b, "certain").0);
}

/// A big mixing volume, known as such to the module, hides the cylinders: the gate of certainty stays shut.
#[test]
fn holds_the_trim_where_mixing_hides_the_cylinders() {
    let car = CAR.replace("mixing_g = 0.30", "mixing_g = 9.0");
    assert_eq!(car.matches("mixing_g = 9.0").count(), 2, "plant and module");
    let mut b = uneven(&Setup::healthy(&car, 1, 88.0), 3, 6.0);
    b.advance_by(400.0);
    let (open, why) = gate(&b, "certain");
    println!("mixing hides: {why}, trims {}", said(&learned(&b, "cylinder_trim")));
    assert!(!open, "{why}");
    assert_eq!(learned(&b, "cylinder_trim"), [0.0; 4]);
}

/// What each profile leaves of codes and trims when the power goes, and what resets take.
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
        act(&mut b, Action::Key(Key::On));
        b.advance_by(2.0);
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

fn refused(answer: &DiagResponse, because: &str) {
    match answer {
        DiagResponse::Refused(r) => assert!(r.why.contains(because), "{:?}, expected {because}", r.why),
        other => panic!("not refused: {other:?}"),
    }
}

/// The routine: before it the cylinders differ at a cold idle, whose pulses are short; after it they do not.
#[test]
fn practice_short_pulse_routine_evens_a_cold_idle() {
    for seed in seeds() {
        let mut frosty = Setup::healthy(CAR, seed, 88.0);
        frosty.weather.ambient_c = -10.0;
        // left to stand for some hours, until the coolant is near 25 °C
        let cold = |b: &mut Bench| {
            act(b, Action::Key(Key::Off));
            b.advance_by(8500.0);
            start(b);
            b.advance_by(10.0);
            assert!(b.observe().live.coolant_c < 35.0, "{}", b.observe().live.coolant_c);
            fuel(b, 15)
        };
        let mut b = standing(&frosty);
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
    let mut b = standing(&Setup::healthy(CAR, 1, 88.0));
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    refused(&learn_short(&mut b), "not running");
    start(&mut b);
    refused(&learn_short(&mut b), "open loop");
    b.advance_by(20.0);
    act(&mut b, Action::Load(Load::Lamps, true));
    b.advance_by(1.0);
    refused(&learn_short(&mut b), "load");
    act(&mut b, Action::Load(Load::Lamps, false));
    act(&mut b, Action::Gear(Gear::Drive));
    b.advance_by(1.0);
    refused(&learn_short(&mut b), "in gear");
    act(&mut b, Action::Gear(Gear::Park));
    b.advance_by(3.0);
    assert_eq!(learn_short(&mut b), DiagResponse::Ok);
    b.advance_by(3.0);
    // a foot on the pedal ends it
    act(&mut b, Action::Pedal(10.0));
    b.advance_by(2.0);
    assert_eq!(b.observe().live.routine, "failed");
    assert_eq!(learned(&b, "short_pulse"), [0.0; 4]);
    let mut cold = standing(&Setup::healthy(CAR, 1, 30.0));
    start(&mut cold);
    cold.advance_by(10.0);
    refused(&learn_short(&mut cold), "coolant");
}
