//! The rear trim: what it makes good, how far it reaches, what keeps it from learning, and what the catalyst monitor reads
//! beside it.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{
    CARS, DUNLIN, PLOVER, WHIMBREL, act, ask, close_to, code, codes, gate, hold, learned, start, stop,
    stop_from_hold, warm,
};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Ill, PartChoice, PartKind, Sensor, Wire};
use idlewright::bench::not_whole::NotWhole;
use idlewright::bench::pattern::Name;
use idlewright::link::{DiagRequest, Group, LIVE, Needs, Routine};

/// A steady cruise as on rollers.
const CRUISE: (f64, f64) = (2200.0, 45.0);

fn cruise(b: &mut Bench, minutes: f64) {
    hold(b, CRUISE.0, CRUISE.1, 60.0 * minutes);
}

fn trim(b: &Bench, bank: usize) -> f64 {
    learned(b, &format!("rear_trim_bank{bank}")).value
}

fn needed(b: &Bench, bank: usize) -> f64 {
    b.truth().exhausts[bank - 1].rear_trim_needed_pct
}

/// A front sensor of a bank that shows so many volts too much.
fn shifted(b: &mut Bench, bank: usize, offset_v: f64) {
    let sensor = [Sensor::Oxygen1, Sensor::Oxygen2][bank - 1];
    act(b, Action::Sensor(sensor, Ill { offset_v, ..Ill::default() }));
}

fn leaky(bank: u8, mm2: f64) -> PartChoice {
    PartChoice { joint_leak_mm2: Some(mm2), ..PartChoice::new(PartKind::Exhaust(bank)) }
}

/// Mean lambda of the gas ahead of a bank's catalyst, and of that behind it, over a minute.
fn lambdas(b: &mut Bench, bank: usize) -> [f64; 2] {
    let mut sum = [0.0; 2];
    for _ in 0..600 {
        b.advance_by(0.1);
        let s = &b.plant().s;
        sum[0] += s.exhaust.banks[bank - 1].lambda / 600.0;
        sum[1] += s.catalysts.banks[bank - 1].lambda / 600.0;
    }
    sum
}

fn things(b: &Bench) -> Vec<String> {
    b.not_whole().iter().map(NotWhole::thing).collect()
}

/// An aged front sensor, off by up to 1.5 % either way: the trim finds what it is off by, and the gas comes back to lambda 1.
/// By hand: 2.50 V at lambda 1 and 0.14 V for 0.03 beyond, so that 0.047 V are 1 % lean.
#[test]
fn exact_trim_is_what_the_front_sensor_is_off_by() {
    for (name, car) in CARS {
        for (seed, offset_v) in (1..).zip([-0.07, -0.03, 0.0, 0.03, 0.07]) {
            let mut b = warm(car, seed, vec![]);
            shifted(&mut b, 1, offset_v);
            cruise(&mut b, 15.0);
            let [ahead, _] = lambdas(&mut b, 1);
            let (is, needs) = (trim(&b, 1), needed(&b, 1));
            println!("{name}, {offset_v:+.2} V: trim {is:+.2} %, needed {needs:+.2} %, lambda {ahead:.4}");
            if offset_v > 0.0 {
                close_to("by hand", needs, -100.0 * 0.03 * offset_v / 0.14, 0.01);
            }
            close_to(name, is, needs, 0.15);
            close_to(name, ahead, 1.0, 0.004);
            assert!(codes(&b).is_empty(), "{name}: {:?}", codes(&b));
        }
    }
}

/// The rear sensor of a healthy car holds 0.6 to 0.8 V (common practice, from memory): in a cruise, and at idle soon after a
/// coast without fuel, which has filled the store. Without extra fuel after the coast it shows a fuller store.
#[test]
fn practice_rear_sensor_holds_its_voltage() {
    for (name, car) in CARS {
        let mut b = warm(car, 2, vec![]);
        let volts = |b: &mut Bench, s: u32| {
            let mut all = Vec::new();
            for _ in 0..10 * s {
                b.advance_by(0.1);
                all.push(b.observe().live.rear_oxygen_v);
            }
            all
        };
        let mean = |all: &[f64]| all.iter().sum::<f64>() / all.len() as f64;
        cruise(&mut b, 4.0);
        let cruising = mean(&volts(&mut b, 60));
        hold(&mut b, 3500.0, 0.0, 10.0);
        act(&mut b, Action::Pedal(0.0));
        let coasting = volts(&mut b, 60);
        let least = coasting.iter().copied().fold(f64::MAX, f64::min);
        let (soon, idling) = (mean(&coasting[200..]), mean(&volts(&mut b, 60)));
        println!(
            "{name}: cruise {cruising:.2} V, least {least:.2} V, idle {soon:.2} V from 20 s on, then {idling:.2} V"
        );
        assert!((0.6..=0.8).contains(&cruising), "{name}: cruise {cruising}");
        assert!((0.6..=0.8).contains(&soon), "{name}: soon after a coast {soon}");
        assert!((0.6..=0.8).contains(&idling), "{name}: idle {idling}");
        // the store stays as full as the coast left it where nothing empties it
        let bare = car.replace("emptying = [0.05, 290.0, 0.72, 700.0]", "emptying = [0.0, 290.0, 0.72, 0.0]");
        assert_ne!(bare, car);
        let mut bare = warm(&bare, 2, vec![]);
        cruise(&mut bare, 4.0);
        hold(&mut bare, 3500.0, 0.0, 10.0);
        act(&mut bare, Action::Pedal(0.0));
        bare.advance_by(20.0);
        let full = mean(&volts(&mut bare, 40));
        println!("{name}: {full:.2} V from 20 s on without extra fuel");
        assert!(full < soon - 0.05, "{name}: {full} against {soon}");
        assert!(least < 0.2, "{name}: the coast fills the store: {least}");
        assert!(codes(&b).is_empty(), "{name}: {:?}", codes(&b));
    }
}

/// Without the trim the same sensor leaves its whole error in the gas.
#[test]
fn trips_without_a_trim_the_error_stays() {
    let bare = PLOVER
        .replace("learn_pct_s = 0.015", "learn_pct_s = 0.0001")
        .replace("gain = 0.003\n", "gain = 0.0\n");
    let mut b = warm(&bare, 1, vec![]);
    shifted(&mut b, 1, 0.07);
    cruise(&mut b, 15.0);
    let [ahead, behind] = lambdas(&mut b, 1);
    println!("lambda {ahead:.4} ahead, {behind:.4} behind");
    close_to("lambda ahead", ahead, 0.985, 0.004);
    assert!(behind < 0.993, "{behind}");
}

/// Healthy cars in mixed driving: within 0.35 % of nothing, and no code.
#[test]
fn holds_healthy_cars_need_none() {
    for (name, car) in CARS {
        for seed in 1..=3 {
            let mut b = warm(car, seed, vec![]);
            act(&mut b, Action::Drive { pattern: Name::Mixed, minutes: 35.0 });
            let mut most: f64 = 0.0;
            for _ in 0..210 {
                b.advance_by(10.0);
                for bank in 1..=b.banks() {
                    most = most.max(trim(&b, bank).abs());
                }
            }
            println!("{name}, seed {seed}: at most {most:.2} %");
            assert!(most < 0.35, "{name} {seed}: {most}");
            assert!(codes(&b).is_empty(), "{name} {seed}: {:?}", codes(&b));
        }
    }
}

/// A sensor that is 3 % lean or rich: beyond its authority of 2 % the trim stays at its limit and the rear sensor on its side: the code of that bank and
/// side, pending in one trip and confirmed in the next.
#[test]
fn practice_beyond_its_reach_the_code_comes_in_two_trips() {
    let each = CARS.iter().map(|(name, car)| (*name, *car, 1, ["P2096", "P2097"]));
    for (name, car, bank, numbers) in each.chain([("whimbrel", WHIMBREL, 2, ["P2098", "P2099"])]) {
        for (offset_v, number, limit) in [(-0.20, numbers[0], 2.0), (0.13, numbers[1], -2.0)] {
            let mut b = warm(car, 2, vec![]);
            shifted(&mut b, bank, offset_v);
            cruise(&mut b, 12.0);
            assert_eq!(code(&b, number), Some((true, false, false)), "{name} {number}: {:?}", codes(&b));
            assert_eq!(trim(&b, bank), limit, "{name}");
            assert_eq!(codes(&b).len(), 1, "{name}: {:?}", codes(&b));
            stop_from_hold(&mut b, 15.0);
            start(&mut b);
            cruise(&mut b, 5.0);
            assert_eq!(code(&b, number), Some((true, true, true)), "{name} {number}: {:?}", codes(&b));
            // a new sensor: the trim comes back by itself, and three trips put the lamp out
            stop_from_hold(&mut b, 15.0);
            let own = [Sensor::Oxygen1, Sensor::Oxygen2][bank - 1];
            act(&mut b, Action::Fit(PartChoice::new(PartKind::Sensor(own))));
            let astray = format!("learned.rear_trim_bank{bank}");
            assert!(things(&b).contains(&astray), "{name}: {:?}", things(&b));
            for _ in 0..3 {
                start(&mut b);
                cruise(&mut b, 8.0);
                stop_from_hold(&mut b, 15.0);
            }
            start(&mut b);
            assert!(!b.ecm().s.codes.lamp(), "{name}: {:?}", codes(&b));
            assert!(!things(&b).contains(&astray), "{name}: {:?}", things(&b));
        }
    }
}

/// A leak at the catalyst's flange: the front loop is as without it, the rear sensor reads lean, the trim goes rich by the
/// share of air that comes in; the engine runs rich by that. The bench says what part it is.
#[test]
fn holds_a_leak_behind_the_front_sensor_makes_the_engine_rich() {
    for (name, car) in CARS {
        let mut sound = warm(car, 3, vec![]);
        cruise(&mut sound, 12.0);
        let mut b = warm(car, 3, vec![leaky(1, 15.0)]);
        b.advance_by(20.0);
        let at_idle = b.observe().live.rear_oxygen_v;
        let idle_pct = 0.1 * b.truth().exhausts[0].joint_leak_g_s / b.truth().exhausts[0].flow_g_s * 1e3;
        cruise(&mut b, 12.0);
        let e = &b.truth().exhausts[0];
        let share_pct = 100.0 * e.joint_leak_g_s / e.flow_g_s;
        let [ahead, behind] = lambdas(&mut b, 1);
        let is = trim(&b, 1);
        println!(
            "{name}: idle {idle_pct:.1} % air, rear {at_idle:.2} V; cruise {share_pct:.2} % air, trim {is:+.2} %, \
             lambda {ahead:.4} ahead, {behind:.4} behind"
        );
        assert!(at_idle < 0.2, "{name}: {at_idle}");
        assert!(idle_pct > 2.0 * share_pct, "{name}: the share falls with flow");
        close_to(name, is, share_pct, 0.25);
        close_to(name, ahead, 1.0 - 0.01 * share_pct, 0.005);
        close_to(name, behind, 1.0, 0.004);
        let both = |b: &Bench| b.ecm().live().short_pct + b.ecm().live().long_pct;
        // the front loop gives what the trim asks for, from the same air
        close_to("front trims", both(&b), both(&sound), 1.5);
        assert!(things(&b).contains(&"part.exhaust_1".to_owned()), "{name}: {:?}", things(&b));
        if b.banks() > 1 {
            close_to("the other bank", trim(&b, 2), 0.0, 0.1);
        }
    }
}

/// A large leak runs the trim to its rich limit: too lean after the catalyst, and no code of the front loop.
#[test]
fn practice_large_leak_sets_the_code_of_its_bank() {
    let each = CARS.iter().map(|(name, car)| (*name, *car, 1, "P2096"));
    for (name, car, bank, number) in each.chain([("whimbrel", WHIMBREL, 2, "P2098")]) {
        for seed in 1..=3 {
            let mut b = warm(car, seed, vec![leaky(bank, 45.0)]);
            act(&mut b, Action::Drive { pattern: Name::Mixed, minutes: 25.0 });
            b.advance_by(1500.0);
            println!("{name}, bank {bank}, seed {seed}: {:+.2} %, {:?}", trim(&b, bank.into()), codes(&b));
            assert_eq!(codes(&b), [number], "{name} {seed}");
        }
    }
}

/// The catalyst's store is measured right with a leak and with a trimmed front sensor: the swing lies around where the trim
/// has the mixture, and what is left cancels. By share of the store that is left, within 8 % of a new catalyst's.
#[test]
fn holds_catalyst_value_beside_leak_and_trim() {
    for (name, car) in CARS {
        for aged_pct in [0.0, 50.0, 85.0] {
            let value = |mm2: f64, offset_v: f64| {
                let part = PartChoice { aged_pct: Some(aged_pct), ..leaky(1, mm2) };
                let mut b = warm(car, 1, vec![part]);
                shifted(&mut b, 1, offset_v);
                // the second trip, with what the first has learned
                cruise(&mut b, 10.0);
                stop_from_hold(&mut b, 15.0);
                ask(&mut b, DiagRequest::ClearCodes);
                start(&mut b);
                cruise(&mut b, 5.0);
                b.ecm().s.catalyst.result_pct(0).expect("a result")
            };
            let sound = value(0.0, 0.0);
            for (mm2, offset_v) in [(15.0, 0.0), (30.0, 0.0), (0.0, 0.07), (0.0, -0.07)] {
                let pct = value(mm2, offset_v);
                println!(
                    "{name}, {aged_pct} % aged, {mm2} mm², {offset_v:+.2} V: {pct:.1} %, sound {sound:.1} %"
                );
                close_to(name, pct, sound, 8.0);
                assert_eq!(pct < 30.0, sound < 30.0, "{name}");
            }
        }
    }
}

/// What keeps the trim from learning: a cold catalyst, purging, a code of the front loop, a rear sensor off, shorted or without
/// its plug. What it holds stays.
#[test]
fn holds_gates() {
    let mut b = warm(PLOVER, 1, vec![]);
    shifted(&mut b, 1, 0.07);
    b.advance_by(300.0);
    assert!(!gate(&b, "rear_trim_bank1", "catalyst_warm"));
    assert_eq!(trim(&b, 1), 0.0, "the module takes an idling catalyst for cold");
    cruise(&mut b, 8.0);
    let before = trim(&b, 1);
    assert!(before < -0.8, "{before}");
    for wire in [Wire::ToEarth, Wire::ToSupply] {
        let mut b = b.clone();
        act(&mut b, Action::Sensor(Sensor::RearOxygen1, Ill { wire, ..Ill::default() }));
        b.advance_by(300.0);
        assert!(!gate(&b, "rear_trim_bank1", "rear_in_range"), "{wire:?}");
        close_to("stays", trim(&b, 1), before, 0.01);
        assert!(!codes(&b).iter().any(|c| c.starts_with("P209")), "{:?}", codes(&b));
    }
    let mut off = b.clone();
    act(&mut off, Action::Connector(Connector::RearOxygenSensor1, false));
    off.advance_by(300.0);
    assert!(!gate(&off, "rear_trim_bank1", "no_blocking_code"), "{:?}", codes(&off));
    close_to("stays", trim(&off, 1), before, 0.02);
    let mut coil = b.clone();
    act(&mut coil, Action::Interrupt(2, 30.0));
    coil.advance_by(300.0);
    assert!(!gate(&coil, "rear_trim_bank1", "no_blocking_code"), "{:?}", codes(&coil));
    let mut purged = b.clone();
    let mut seen = false;
    for _ in 0..300 {
        purged.advance_by(1.0);
        let purging = purged.ecm().s.purge.duty > 0.0;
        seen |= purging;
        assert_eq!(!gate(&purged, "rear_trim_bank1", "no_purge"), purging);
    }
    assert!(seen, "it purged");
}

/// It is reset with the long-term trims, goes with the power where the car's profile erases those, and is saved in the
/// after-run.
#[test]
fn holds_memory() {
    for (car, survives) in [(PLOVER, false), (DUNLIN, true)] {
        let mut b = warm(car, 1, vec![]);
        shifted(&mut b, 1, 0.07);
        cruise(&mut b, 10.0);
        assert!(trim(&b, 1) < -1.0, "{}", trim(&b, 1));
        stop_from_hold(&mut b, 15.0);
        let held = trim(&b, 1);
        act(&mut b, Action::Connector(Connector::Battery, false));
        b.advance_by(5.0);
        act(&mut b, Action::Connector(Connector::Battery, true));
        assert_eq!(trim(&b, 1), if survives { held } else { 0.0 });
        start(&mut b);
        cruise(&mut b, 10.0);
        stop(&mut b);
        crate::bay::key_on(&mut b);
        ask(&mut b, DiagRequest::Start(Routine::ResetGroup(Group::LongTrims)));
        assert_eq!((trim(&b, 1), learned(&b, "rear_trim_bank1").learned), (0.0, false));
    }
}

/// A car with one bank tells nothing of a second one: its live values said lambda 10 and 0.04 V there, which reads like two
/// dead sensors.
#[test]
fn bug_live_values_told_of_a_bank_that_is_not_there() {
    for (name, car) in CARS {
        let b = warm(car, 1, vec![]);
        let live = b.ecm().live();
        let of_bank_2: Vec<(&str, f64)> =
            LIVE.iter().filter(|l| l.needs == Needs::Bank2).map(|l| (l.id, (l.get)(&live))).collect();
        assert!(of_bank_2.len() > 4);
        match b.banks() {
            1 => assert!(of_bank_2.iter().all(|l| l.1 == 0.0), "{name}: {of_bank_2:?}"),
            _ => assert!(of_bank_2.iter().any(|l| l.1 != 0.0), "{name}: {of_bank_2:?}"),
        }
    }
}
