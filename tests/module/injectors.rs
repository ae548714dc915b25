//! Injectors one by one: the code printed on them, the code entered in the module, what follows when they do not
//! match.
//!
//! Rows of behaviour are printed (`cargo test --test module injectors -- --nocapture`); the expected result is
//! computed from the fitted serials by the physics of an injection and by what the module's own store says.
#![allow(missing_docs)] // a test file: names and comments say what each proves

use crate::bay::{DUNLIN as CAR, PLOVER, act, ask, bench, codes, key_on, seeds, stop_for};
use idlewright::bench::action::{Action, Connector, Key, PartChoice, PartKind};
use idlewright::bench::car::Car;
use idlewright::bench::facts::Hindrance;
use idlewright::bench::setup::Setup;
use idlewright::bench::tools::{Look, Tool};
use idlewright::bench::{Bench, Done};
use idlewright::ecm::injectors::Correction;
use idlewright::label::{self, ALPHABET, Label, Unreadable};
use idlewright::link::{DiagRequest, DiagResponse, Refused};
use idlewright::num::Stream;
use idlewright::plant::fuel::injected_kg;
use idlewright::plant::parts::Injector;

fn standing(seed: u64) -> Bench {
    // full, so that charging, which tapers off, does not lengthen the pulses that are compared
    let full = Setup { battery_charge_pct: 100.0, ..Setup::healthy(CAR, seed, 88.0) };
    let mut b = bench(&full);
    key_on(&mut b);
    b
}

fn start(b: &mut Bench) {
    act(b, Action::Key(Key::Crank));
    b.advance_by(5.0);
    assert!(b.observe().live.running, "the engine did not start");
}

fn stop(b: &mut Bench) {
    stop_for(b, 15.0);
    key_on(b);
}

fn write(b: &mut Bench, cylinder: u8, code: &str) -> DiagResponse {
    ask(b, DiagRequest::WriteInjectorCode { cylinder, code: code.into() })
}

fn stored(b: &mut Bench, cylinder: u8) -> Option<String> {
    match ask(b, DiagRequest::ReadInjectorCode(cylinder)) {
        DiagResponse::InjectorCode(code) => code,
        other => panic!("{other:?}"),
    }
}

fn refused(answer: &DiagResponse, because: fn(&Refused) -> bool) {
    match answer {
        DiagResponse::Refused(why) => assert!(because(why), "{why:?}"),
        other => panic!("not refused: {other:?}"),
    }
}

// ---------------------------------------------------------------------------------------------------
// The printed code
// ---------------------------------------------------------------------------------------------------

/// About a hundred codes over the whole range.
fn some_codes() -> Vec<String> {
    let mut out = Vec::new();
    for (i, class) in ALPHABET.chars().enumerate() {
        for k in 0..5 {
            let x = (i * 5 + k) as f64;
            let label = Label {
                class,
                flow_pct: (x * 1.7).rem_euclid(26.0) - 13.0,
                dead_us: (x * 23.9).rem_euclid(260.0) - 130.0,
            };
            out.push(label::write(&label).expect("inside the range"));
        }
    }
    out
}

/// What is written is read back to half a step, over the whole range; outside it nothing is written.
#[test]
fn exact_codes_say_what_was_written() {
    for k in -2640..=2640 {
        let given = Label { class: 'D', flow_pct: 0.005 * f64::from(k), dead_us: -0.05 * f64::from(k) };
        let read = label::read(&label::write(&given).unwrap()).unwrap();
        assert_eq!(read.class, 'D');
        assert!((read.flow_pct - given.flow_pct).abs() <= 0.5 * label::FLOW_STEP_PCT + 1e-9, "{given:?}");
        assert!((read.dead_us - given.dead_us).abs() <= 0.5 * label::DEAD_STEP_US + 1e-9, "{given:?}");
    }
    let outside =
        |class, flow_pct, dead_us| assert_eq!(label::write(&Label { class, flow_pct, dead_us }), None);
    outside('D', 13.3, 0.0);
    outside('D', 0.0, -133.0);
    outside('0', 0.0, 0.0);
    assert_eq!(label::read("D22-22"), Err(Unreadable::Length(5)));
    assert_eq!(label::read("D2O-222-222"), Err(Unreadable::Character('O')));
    // lower-case letters give the same code, and so does a code without hyphens
    let code = &some_codes()[17];
    assert_eq!(label::read(&code.to_lowercase()), label::read(code));
    assert_eq!(label::read(&code.replace('-', "")), label::read(code));
    assert!(some_codes().iter().all(|c| c.split('-').map(str::len).eq([3; 3])), "in threes");
}

/// Every single wrong character and every swap of two neighbours, tried one by one; and up to four wrong ones at random.
#[test]
fn exact_every_slip_and_every_swap_is_caught() {
    let (mut slips, mut swaps) = (0, 0);
    let mut stream = Stream::new(1, "slips");
    let mut draw = |below: usize| (stream.uniform() * below as f64) as usize;
    for code in some_codes() {
        let good: Vec<char> = code.chars().filter(|c| *c != '-').collect();
        for _ in 0..200 {
            let mut bad = good.clone();
            for _ in 0..4 {
                bad[draw(good.len())] = ALPHABET.chars().nth(draw(ALPHABET.len())).expect("a character");
            }
            if bad != good {
                assert_eq!(label::read(&bad.iter().collect::<String>()), Err(Unreadable::Check), "{bad:?}");
            }
        }
        assert!(label::read(&code).is_ok());
        for place in 0..good.len() {
            for c in ALPHABET.chars().filter(|c| *c != good[place]) {
                let mut bad = good.clone();
                bad[place] = c;
                assert_eq!(
                    label::read(&bad.iter().collect::<String>()),
                    Err(Unreadable::Check),
                    "{code}: {bad:?}"
                );
                slips += 1;
            }
            if place + 1 < good.len() && good[place] != good[place + 1] {
                let mut bad = good.clone();
                bad.swap(place, place + 1);
                assert_eq!(
                    label::read(&bad.iter().collect::<String>()),
                    Err(Unreadable::Check),
                    "{code}: {bad:?}"
                );
                swaps += 1;
            }
        }
    }
    assert!(slips > 10_000 && swaps > 400, "{slips} slips, {swaps} swaps");
}

/// The code on a body gives the values that belong to its serial.
#[test]
fn exact_bodies_carry_their_own_values() {
    let car = Car::parse(CAR).unwrap();
    for k in 0..200 {
        let body = Injector::new(&car.plant.spread, format!("X{k}"));
        let label = label::read(body.code.as_deref().expect("printed")).unwrap();
        assert!((label.flow_pct - 100.0 * (body.flow_gain - 1.0)).abs() <= 0.0251);
        assert!((label.dead_us - body.dead_offset_us).abs() <= 0.251);
    }
    // another maker's car has no codes
    let plover = Car::parse(PLOVER).unwrap();
    assert_eq!(Injector::new(&plover.plant.spread, "X1".into()).code, None);
}

// ---------------------------------------------------------------------------------------------------
// Entering it
// ---------------------------------------------------------------------------------------------------

/// M10: with one character wrong, nothing is written.
#[test]
fn m10_a_wrong_character_is_refused() {
    let mut b = standing(1);
    let before: Vec<_> = (1..=4).map(|k| stored(&mut b, k).expect("written by the works")).collect();
    let code = b.plant().s.parts.injectors[1].code.clone().unwrap();
    assert_eq!(before[1], code, "the works wrote what stands on the body");
    for place in (0..code.len()).filter(|p| code.as_bytes()[*p] != b'-') {
        let mut bad: Vec<char> = code.chars().collect();
        bad[place] = if bad[place] == '7' { '8' } else { '7' };
        refused(&write(&mut b, 2, &bad.iter().collect::<String>()), |w| {
            *w == Refused::InjectorCode(Unreadable::Check)
        });
    }
    refused(&write(&mut b, 2, "D22"), |w| *w == Refused::InjectorCode(Unreadable::Length(3)));
    refused(&write(&mut b, 2, "D2I-222-222"), |w| *w == Refused::InjectorCode(Unreadable::Character('I')));
    refused(&write(&mut b, 5, &code), |w| *w == Refused::NoCylinder { cylinder: 5, of: 4 });
    refused(&write(&mut b, 0, &code), |w| *w == Refused::NoCylinder { cylinder: 0, of: 4 });
    let after: Vec<_> = (1..=4).map(|k| stored(&mut b, k).expect("still there")).collect();
    assert_eq!(before, after);
    b.advance_by(1.0);
    assert!(codes(&b).is_empty(), "a slip of the hand sets no code");
    start(&mut b);
    refused(&write(&mut b, 2, &code), |w| matches!(w, Refused::EngineTurning { .. }));
}

/// A code of another type is refused, and the module says whose data decided. A matching code resolves it.
#[test]
fn practice_another_kind_sets_the_cylinders_code() {
    let mut b = standing(1);
    let other = label::write(&Label { class: 'H', flow_pct: 1.0, dead_us: 3.0 }).unwrap();
    refused(&write(&mut b, 3, &other), |w| matches!(w, Refused::OtherKind { is: 'H', .. }));
    b.advance_by(1.0);
    assert_eq!(codes(&b), ["P268E"]);
    let own = b.plant().s.parts.injectors[2].code.clone().unwrap();
    assert_eq!(write(&mut b, 3, &own), DiagResponse::Ok);
    start(&mut b);
    b.advance_by(20.0);
    stop(&mut b);
    // a trip that tested it and passed
    start(&mut b);
    b.advance_by(20.0);
    stop(&mut b);
    assert!(codes(&b).is_empty(), "{:?}", codes(&b));
}

/// A blank module has no codes and reports this until every cylinder has one; entered codes persist.
#[test]
fn practice_a_blank_module_asks_for_codes() {
    let mut b = standing(2);
    act(&mut b, Action::Key(Key::Off));
    b.advance_by(15.0);
    act(&mut b, Action::Fit(PartChoice::new(PartKind::Module)));
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    assert!(codes(&b).contains(&"P268A".to_string()), "{:?}", codes(&b));
    for k in 1..=4 {
        assert_eq!(stored(&mut b, k), None);
        let copied = b.act("", Action::CopyInjectorCode { cylinder: k, body: k });
        assert_eq!(copied, Done::Answer(DiagResponse::Ok));
        b.advance_by(0.5);
    }
    assert!(!b.ecm().s.codes.standing(idlewright::ecm::codes::Code::P268A).failing);
    // written at once: neither an early key-on nor a power cut erases it
    let bodies: Vec<_> = b.plant().s.parts.injectors.iter().map(|i| i.code.clone()).collect();
    act(&mut b, Action::Connector(Connector::Battery, false));
    b.advance_by(5.0);
    act(&mut b, Action::Connector(Connector::Battery, true));
    b.advance_by(2.0);
    for k in 1..=4 {
        assert_eq!(stored(&mut b, k), bodies[usize::from(k) - 1]);
    }
}

/// Swapping two injectors swaps the codes on the bodies, not the codes in the module; the eye reads the bodies.
#[test]
fn practice_a_swap_leaves_the_codes_behind() {
    let mut b = standing(3);
    let before: Vec<_> = (1..=4).map(|k| stored(&mut b, k)).collect();
    key_off_for(&mut b, Action::SwapInjectors(2, 3));
    let read = |b: &mut Bench, k: u8| match b.act("", Action::Measure(Tool::Inspect(Look::Injector(k)))) {
        Done::Reading(r) => r.mark("state").map(String::from),
        other => panic!("{other:?}"),
    };
    for (k, was) in [(1, 0), (2, 2), (3, 1), (4, 3)] {
        assert_eq!(read(&mut b, k), before[was], "body in cylinder {k}");
        assert_eq!(stored(&mut b, k), before[usize::from(k) - 1], "stored for cylinder {k}");
    }
    act(&mut b, Action::Key(Key::Off));
    let no_cylinder = Hindrance::NoCylinder { cylinder: 5, of: 4 };
    assert_eq!(b.act("", Action::SwapInjectors(2, 5)), Done::Hindered(no_cylinder));
    start(&mut b);
    assert!(matches!(b.act("", Action::SwapInjectors(2, 3)), Done::Hindered(_)));
}

// ---------------------------------------------------------------------------------------------------
// What follows at idle
// ---------------------------------------------------------------------------------------------------

/// Fuel of each cylinder when all should deliver the same, from the fitted bodies and the stored codes and trims, at
/// a nominal opening time \[µs\].
fn gives(b: &Bench, open_us: f64) -> Vec<f64> {
    let car = Car::parse(CAR).unwrap();
    let p = &car.plant.fuel;
    let (supply_v, drop) = (b.plant().s.electrical.supply_v, b.plant().s.fuel.high_pa + 70e3);
    let bodies = &b.plant().s.parts.injectors;
    let pulse =
        |c: usize| Correction::of(&b.ecm().s.store, c).pulse_us(open_us, p.dead_us.at(supply_v), 250.0);
    (0..bodies.len()).map(|c| injected_kg(p, &bodies[c], pulse(c), supply_v, drop)).collect()
}

/// Lambda of each cylinder when closed loop has matched their mean fuel to the air.
fn lambdas(m: &[f64]) -> Vec<f64> {
    let mean = m.iter().sum::<f64>() / m.len() as f64;
    m.iter().map(|x| mean / x).collect()
}

/// Means over a time: true lambda by cylinder, both trims, nominal opening time.
struct Seen {
    lambda: Vec<f64>,
    trims: f64,
    open_us: f64,
}

fn look(b: &mut Bench, seconds: f64) -> Seen {
    let n = b.cylinders();
    let (mut fuel, mut k) = (vec![0.0; n], 0.0);
    let (mut trims, mut open_us) = (0.0, 0.0);
    while k < 10.0 * seconds {
        b.advance_by(0.1);
        let l = b.observe().live;
        trims += (1.0 + 0.01 * l.short_pct) * (1.0 + 0.01 * l.long_pct) - 1.0;
        let out = b.ecm().out().inject_us;
        // what remains of a pulse when the codes' corrections are removed again
        for (c, us) in out.iter().take(n).enumerate() {
            let own = Correction::of(&b.ecm().s.store, c);
            let supply = b.plant().s.electrical.supply_v;
            open_us += (us - b.ecm().calibration().s.fuel.dead_us.at(supply) - own.dead_us)
                * (1.0 + own.flow)
                / (1.0 + own.trim)
                / n as f64;
        }
        for (sum, a) in fuel.iter_mut().zip(&b.plant().s.accounts) {
            *sum += 1.0 / a.lambda;
        }
        k += 1.0;
    }
    Seen { lambda: fuel.iter().map(|f| k / f).collect(), trims: trims / k, open_us: open_us / k }
}

/// A serial whose body delivers this much \[-\] more than the one it replaces, within 1 %, at idle.
fn serial(b: &Bench, cylinder: usize, more: f64, open_us: f64) -> String {
    let car = Car::parse(CAR).unwrap();
    let old = gives(b, open_us)[cylinder];
    for k in 0..5000 {
        let mut other = b.clone();
        let name = format!("M{k}");
        let mut choice = PartChoice::new(PartKind::Injector(cylinder as u8 + 1));
        let body = Injector::new(&car.plant.spread, name.clone());
        // a quick look before the whole sum
        if ((body.flow_gain - b.plant().s.parts.injectors[cylinder].flow_gain) - more).abs() > 0.04 {
            continue;
        }
        choice.serial = Some(name.clone());
        key_off_for(&mut other, Action::Fit(choice));
        if (gives(&other, open_us)[cylinder] / old - 1.0 - more).abs() < 0.01 {
            return name;
        }
    }
    panic!("no serial gives {more} more");
}

/// Done with the key off; it is on again before the module has seen it off.
fn key_off_for(b: &mut Bench, action: Action) {
    let on = b.plant().s.hands.key_on;
    act(b, Action::Key(Key::Off));
    act(b, action);
    if on {
        act(b, Action::Key(Key::On));
    }
}

fn fit(b: &mut Bench, cylinder: u8, serial: &str) {
    let choice = PartChoice { serial: Some(serial.into()), ..PartChoice::new(PartKind::Injector(cylinder)) };
    key_off_for(b, Action::Fit(choice));
}

/// Idle time after a start \[s\]: closed loop has settled, and no cylinder trim has had time to move.
const SETTLED_S: f64 = 22.0;

fn print(row: &str, seen: &Seen, expected: &[f64]) {
    let pct =
        |v: &[f64]| v.iter().map(|x| format!("{:+.2}", 100.0 * (x - 1.0))).collect::<Vec<_>>().join(" ");
    println!(
        "{row}: lambda {} %, computed {} %, trims {:+.2} %",
        pct(&seen.lambda),
        pct(expected),
        100.0 * seen.trims
    );
}

/// M8: one injector is replaced, its code not written. Its cylinder is off by three quarters of what the injector
/// delivers beyond the stored code, the others are off by one quarter the other way, and the bank's trim takes up
/// that quarter.
#[test]
fn m8_a_replaced_injector_without_its_code() {
    for seed in seeds(2) {
        let row = format!("M8 seed {seed}");
        let mut b = standing(seed);
        start(&mut b);
        b.advance_by(SETTLED_S);
        let before = look(&mut b, 10.0);
        let m_before = gives(&b, before.open_us);
        print(&format!("{row} before"), &before, &lambdas(&m_before));
        stop(&mut b);
        // on the other side of nominal from the old one, so that such a serial lies within the maker's spread
        let more = if b.plant().s.parts.injectors[2].flow_gain > 1.0 { -0.05 } else { 0.05 };
        let name = serial(&b, 2, more, before.open_us);
        fit(&mut b, 3, &name);
        start(&mut b);
        b.advance_by(SETTLED_S);
        let seen = look(&mut b, 10.0);
        let m = gives(&b, before.open_us);
        let expected = lambdas(&m);
        print(&row, &seen, &expected);
        for (c, (got, want)) in seen.lambda.iter().zip(&expected).enumerate() {
            assert!(
                (got - want).abs() < 0.01,
                "{row}: cylinder {} lambda {got:.4}, computed {want:.4}",
                c + 1
            );
        }
        let moved = seen.lambda[2] - before.lambda[2];
        assert!((moved + 0.75 * more).abs() < 0.015, "{row}: three quarters of {more}: {moved:.4}");
        let mean = |m: &[f64]| m.iter().sum::<f64>();
        let trim = mean(&m_before) / mean(&m) - 1.0;
        let got = seen.trims - before.trims;
        assert!((got - trim).abs() < 0.01, "{row}: trims moved by {got:.4}, computed {trim:.4}");
        assert!(codes(&b).is_empty(), "{row}: no code names the cylinder: {:?}", codes(&b));
        // with the code written, all is as before
        stop(&mut b);
        assert_eq!(
            b.act("", Action::CopyInjectorCode { cylinder: 3, body: 3 }),
            Done::Answer(DiagResponse::Ok)
        );
        assert_eq!(stored(&mut b, 3), b.plant().s.parts.injectors[2].code);
        start(&mut b);
        b.advance_by(SETTLED_S);
        let mended = look(&mut b, 10.0);
        print(&format!("{row} coded"), &mended, &lambdas(&gives(&b, before.open_us)));
        assert!((mended.lambda[2] - 1.0).abs() < 0.02, "{row}: {:.4}", mended.lambda[2]);
    }
}

/// M9: its code is written for the wrong cylinder: two cylinders are off in opposite directions, since the new body
/// delivers more than either of the two it is compared with.
#[test]
fn m9_the_code_written_for_the_wrong_cylinder() {
    for seed in seeds(2) {
        let row = format!("M9 seed {seed}");
        let mut b = standing(seed);
        start(&mut b);
        b.advance_by(SETTLED_S);
        let before = look(&mut b, 5.0);
        stop(&mut b);
        // a body that delivers more, or less, than either of the two it is compared with, by calculation
        let name = (0..500)
            .map(|k| format!("N{k}"))
            .find(|name| {
                let mut other = b.clone();
                fit(&mut other, 3, name);
                let _ = other.act("", Action::CopyInjectorCode { cylinder: 2, body: 3 });
                let off = lambdas(&gives(&other, before.open_us));
                (off[1] - 1.0) * (off[2] - 1.0) < 0.0 && off[1..3].iter().all(|x| (x - 1.0).abs() > 0.015)
            })
            .expect("such a serial");
        fit(&mut b, 3, &name);
        let copied = b.act("", Action::CopyInjectorCode { cylinder: 2, body: 3 });
        assert_eq!(copied, Done::Answer(DiagResponse::Ok));
        start(&mut b);
        b.advance_by(SETTLED_S);
        let seen = look(&mut b, 10.0);
        let expected = lambdas(&gives(&b, before.open_us));
        print(&row, &seen, &expected);
        for (c, (got, want)) in seen.lambda.iter().zip(&expected).enumerate() {
            assert!(
                (got - want).abs() < 0.01,
                "{row}: cylinder {} lambda {got:.4}, computed {want:.4}",
                c + 1
            );
        }
        let (two, three) = (seen.lambda[1] - 1.0, seen.lambda[2] - 1.0);
        assert!(
            two * three < 0.0 && two.abs() > 0.01 && three.abs() > 0.01,
            "{row}: opposite ways {two:+.4} {three:+.4}"
        );
    }
}
