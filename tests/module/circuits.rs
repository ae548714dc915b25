//! Open circuits at the module's output stages: which code each connector sets, how it is confirmed and how it heals.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, PLOVER, WHIMBREL, act, ask, code, codes, start, stop};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector};
use idlewright::bench::setup::Setup;
use idlewright::link::DiagRequest;

fn running(car: &str) -> Bench {
    let mut b = Bench::standing(&Setup::healthy(car, 1, 90.0)).expect("a bench");
    start(&mut b);
    b.advance_by(20.0);
    b
}

/// The SAE J2012 code for each connector of an output stage, on a car with this number of cylinders and banks.
fn stages(cylinders: u8, banks: u8) -> Vec<(Connector, String)> {
    let mut all = vec![
        (Connector::PurgeValve, "P0443".to_owned()),
        (Connector::Fan, "P0480".to_owned()),
        (Connector::Alternator, "P0622".to_owned()),
        (Connector::RearOxygenSensor1, "P0141".to_owned()),
    ];
    if banks > 1 {
        all.push((Connector::RearOxygenSensor2, "P0161".to_owned()));
    }
    all.extend((1..=cylinders).map(|k| (Connector::Injector(k), format!("P020{k}"))));
    all.extend((1..=cylinders).map(|k| (Connector::Coil(k), format!("P035{k}"))));
    all
}

/// Unplugging a connector sets the code of its own circuit within seconds, and of no other circuit.
#[test]
fn source_each_open_circuit_has_its_code() {
    for (name, car) in CARS {
        let (cylinders, banks) = if name == "whimbrel" { (6, 2) } else { (4, 1) };
        let all = stages(cylinders, banks);
        let healthy = running(car);
        assert!(codes(&healthy).is_empty(), "{name}");
        for (connector, number) in &all {
            let mut b = healthy.clone();
            act(&mut b, Action::Connector(*connector, false));
            b.advance_by(3.0);
            let told = codes(&b);
            assert!(told.contains(number), "{name}, {connector:?}: {told:?}");
            let other = all.iter().any(|(_, n)| n != number && told.contains(n));
            assert!(!other, "{name}, {connector:?}: {told:?}");
        }
    }
}

/// Pending in the first trip, confirmed with the lamp in the second, lamp off after three good trips: as for any
/// component.
#[test]
fn practice_open_circuit_takes_two_trips() {
    for (car, connector, number) in [
        (PLOVER, Connector::PurgeValve, "P0443"),
        (PLOVER, Connector::Fan, "P0480"),
        (WHIMBREL, Connector::RearOxygenSensor2, "P0161"),
        (PLOVER, Connector::Alternator, "P0622"),
    ] {
        let mut b = running(car);
        act(&mut b, Action::Connector(connector, false));
        b.advance_by(3.0);
        assert_eq!(code(&b, number), Some((true, false, false)), "{number}");
        stop(&mut b);
        start(&mut b);
        b.advance_by(5.0);
        assert_eq!(code(&b, number), Some((true, true, true)), "{number}");
        act(&mut b, Action::Connector(connector, true));
        for _ in 0..4 {
            stop(&mut b);
            start(&mut b);
            b.advance_by(8.0);
        }
        assert_eq!(code(&b, number), Some((false, true, false)), "{number}");
        ask(&mut b, DiagRequest::ClearCodes);
        assert_eq!(code(&b, number), None, "{number}");
    }
}

/// With its plug off, an alternator delivers nothing: the battery supplies the car.
#[test]
fn practice_unplugged_alternator_charges_nothing() {
    for (name, car) in CARS {
        let mut b = running(car);
        let charged_v = b.observe().live.supply_v;
        act(&mut b, Action::Connector(Connector::Alternator, false));
        b.advance_by(30.0);
        let v = b.observe().live.supply_v;
        println!("{name}: {charged_v:.2} V, unplugged {v:.2} V");
        assert!(charged_v > 13.0 && v < 13.4 && b.plant().s.electrical.alternator_a == 0.0, "{name}: {v}");
    }
}
