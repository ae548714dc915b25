//! The crank sensor's signal as the module decodes it: P0336 for signals that no sound wheel and wire give, and only
//! for those.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, crank, has_code, seeds};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Gear, Key, PartChoice, PartKind, Sensor};
use idlewright::bench::pattern;
use idlewright::bench::setup::Setup;
use idlewright::plant::wires::{Ill, Wire};

fn started(car: &str, seed: u64, coolant_c: f64, part: Option<PartChoice>) -> Bench {
    let mut setup = Setup::healthy(car, seed, coolant_c);
    setup.parts = part.into_iter().collect();
    let mut b = Bench::standing(&setup).expect("a bench");
    crank(&mut b);
    b.advance_by(5.0);
    b
}
fn wire(b: &mut Bench, wire: Wire) {
    b.act("", Action::Sensor(Sensor::Crank, Ill { wire, ..Ill::default() }));
}

/// A wheel with a tooth displaced by a quarter of its pitch is detected within half a minute of running; a tooth
/// displaced by less than the spread of any cut wheel is not. The threshold by hand: 1.5 · δ/6° = 0.15, δ = 0.6°.
#[test]
fn exact_onset_of_a_hit_tooth() {
    for (name, car) in CARS {
        for (deg, told) in [(0.2, false), (0.4, false), (0.85, true), (1.6, true)] {
            let part =
                PartChoice { hit_tooth: Some(41), hit_deg: Some(deg), ..PartChoice::new(PartKind::Wheel) };
            let mut b = started(car, 1, 88.0, Some(part));
            b.advance_by(30.0);
            println!("{name}, {deg}°: {}", has_code(&b, "P0336"));
            assert_eq!(has_code(&b, "P0336"), told, "{name}, {deg}°");
        }
    }
}

/// A loose wire drops out every few seconds: detected within a minute. After repair the code heals over trips, like
/// any code.
#[test]
fn practice_loose_wire_is_told() {
    for (name, car) in CARS {
        let mut b = started(car, 2, 88.0, None);
        wire(&mut b, Wire::Loose);
        for _ in 0..40 {
            b.advance_by(2.0);
            if !b.observe().live.running {
                b.act("", Action::Key(Key::On));
                // without this pause the module sees one long crank, and lets the starter go after ten seconds
                b.advance_by(0.5);
                b.act("", Action::Key(Key::Crank));
            }
        }
        println!("{name}: {:?}", b.observe().codes.iter().map(|c| c.code.clone()).collect::<Vec<_>>());
        assert!(has_code(&b, "P0336"), "{name}");
    }
}

/// Never set on a healthy engine: cold and warm starts, stalled in gear and by unplugged connectors, restarted,
/// revved, keyed off while turning, driven over a rough road.
#[test]
fn holds_silent_on_healthy_engines() {
    for (name, car) in CARS {
        for seed in seeds(3) {
            let mut b = started(car, seed, -5.0, None);
            b.advance_by(5.0);
            for _ in 0..2 {
                // fuel cut off: the engine stalls with the key on
                for k in 1..=6 {
                    b.act("", Action::Connector(Connector::Injector(k), false));
                }
                b.advance_by(4.0);
                for k in 1..=6 {
                    b.act("", Action::Connector(Connector::Injector(k), true));
                }
                b.act("", Action::Key(Key::On));
                b.act("", Action::Key(Key::Crank));
                b.advance_by(6.0);
                // power lost at speed, then restored
                b.act("", Action::Pedal(20.0));
                b.advance_by(3.0);
                b.act("", Action::Pedal(0.0));
                b.act("", Action::Key(Key::Off));
                b.advance_by(0.5);
                b.act("", Action::Key(Key::On));
                b.advance_by(3.0);
                b.act("", Action::Key(Key::Crank));
                b.advance_by(6.0);
            }
            // held in drive against the brake
            b.act("", Action::Brake(true));
            b.act("", Action::Gear(Gear::Drive));
            b.advance_by(3.0);
            b.act("", Action::Gear(Gear::Neutral));
            b.act("", Action::Brake(false));
            b.advance_by(2.0);
            let town = pattern::Name::ALL.iter().find(|(n, _)| *n == "town").expect("town").1;
            b.act("", Action::Drive { pattern: town, minutes: 7.0 });
            b.advance_by(430.0);
            assert!(!has_code(&b, "P0336"), "{name}, seed {seed}: {:?}", b.observe().codes);
        }
    }
}
