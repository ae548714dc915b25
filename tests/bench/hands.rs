//! A driver who does one thing after another.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, act, hold, warm};
use idlewright::bench::action::{Action, Connector, Key, Sensor};
use idlewright::bench::{Bench, Done};

/// Lowest and highest speed over the next seconds \[rpm\].
fn speeds(b: &mut Bench, seconds: u32) -> (f64, f64) {
    (0..10 * seconds).fold((f64::INFINITY, 0.0), |(least, most), _| {
        b.advance_by(0.1);
        let rpm = b.plant().speed_rpm();
        (rpm.min(least), rpm.max(most))
    })
}

/// A driver who holds one speed and is asked for another moves the pedal from its present position: the engine does not
/// fall to idle in between. Common practice.
#[test]
fn practice_next_speed_is_held_from_where_the_pedal_stands() {
    for (name, car) in CARS {
        let mut b = warm(car, 1, vec![]);
        hold(&mut b, 3800.0, 0.0, 40.0);
        act(&mut b, Action::Hold { rpm: 3550.0, nm: 0.0 });
        let (least, _) = speeds(&mut b, 15);
        println!("{name}: {least:.0} rpm at least");
        assert!(least > 3300.0, "{name} fell to {least:.0} rpm on its way from 3800 to 3550");
        assert!(
            (b.plant().speed_rpm() - 3550.0).abs() < 60.0,
            "{name} is held at {:.0} rpm",
            b.plant().speed_rpm()
        );
    }
}

/// More load at the same speed: load and pedal go on from where they stand, so the speed hardly moves.
#[test]
fn holds_speed_while_the_load_changes() {
    for (name, car) in CARS {
        let mut b = warm(car, 1, vec![]);
        hold(&mut b, 2500.0, 30.0, 40.0);
        act(&mut b, Action::Hold { rpm: 2500.0, nm: 50.0 });
        let (least, most) = speeds(&mut b, 10);
        println!("{name}: {least:.0} to {most:.0} rpm");
        assert!(least > 2100.0 && most < 2900.0, "{name}: {least:.0} to {most:.0} rpm");
    }
}

/// A hold that is refused leaves no foot on the pedal.
#[test]
fn holds_refused_hold_lets_go() {
    let mut b = warm(CARS[0].1, 1, vec![]);
    hold(&mut b, 2500.0, 0.0, 20.0);
    // without its crankshaft sensor the engine dies, and the driver does not know yet
    act(&mut b, Action::Connector(Connector::CrankSensor, false));
    b.advance_by(5.0);
    assert_ne!(b.act("", Action::Hold { rpm: 2500.0, nm: 0.0 }), Done::Yes);
    assert_eq!(b.hands().pedal_pct, 0.0);
}

/// Which sensors a car has comes from the curves in its file; a pin to which nothing is wired carries nothing.
#[test]
fn holds_a_car_has_the_sensors_whose_pins_carry_volts() {
    use idlewright::bench::setup::Setup;
    for (car, text) in CARS {
        let mut b = Bench::standing(&Setup::healthy(text, 1, 20.0)).expect("a bench");
        act(&mut b, Action::Key(Key::On));
        b.advance_by(1.0);
        let has = idlewright::bench::car::Car::parse(text).expect("a car").has();
        for (sensor, name) in Sensor::ALL {
            let there = match sensor {
                // edges, not volts
                Sensor::Crank => true,
                // cold ones carry nothing, or what the module holds their pins at
                Sensor::Oxygen1 | Sensor::RearOxygen1 => true,
                Sensor::Oxygen2 | Sensor::RearOxygen2 => has.banks > 1,
                _ => b.plant().frame().pin_v(sensor) > 0.1,
            };
            assert_eq!(has.sensor(sensor), there, "{car}: {name}");
        }
    }
}

/// What a car lacks is refused with its reason, whichever car it is; on a car with one bank, connectors of a second one
/// could be pulled, and the window showed the rear sensor of that bank.
#[test]
fn bug_what_a_car_lacks_is_refused() {
    use idlewright::bench::action::{PartChoice, PartKind};
    use idlewright::bench::setup::Setup;
    for (car, text) in CARS {
        let mut b = Bench::standing(&Setup::healthy(text, 1, 20.0)).expect("a bench");
        let has = idlewright::bench::car::Car::parse(text).expect("a car").has();
        for (id, c) in Connector::named(has.cylinders) {
            let done = b.act("", Action::Connector(c, false));
            assert_eq!(!matches!(done, Done::Hindered(_)), has.connector(c).is_ok(), "{car}: {id}");
            let _ = b.act("", Action::Connector(c, true));
        }
        let two = has.banks > 1;
        for c in [Connector::OxygenSensor2, Connector::RearOxygenSensor2] {
            assert_eq!(has.connector(c).is_ok(), two, "{car}: {c:?}");
        }
        for kind in [
            PartKind::AirMeter,
            PartKind::CamPhaser,
            PartKind::EgrValve,
            PartKind::FuelCap,
            PartKind::VentValve,
        ] {
            let done = b.act("", Action::Fit(PartChoice::new(kind)));
            assert_eq!(!matches!(done, Done::Hindered(_)), has.part(kind).is_ok(), "{car}: {kind:?}");
        }
    }
}

/// Parts were fitted, injectors swapped and the throttle cleaned with the key on. Under voltage a coil, a pump or a plate can
/// start by itself: key off first (common practice).
#[test]
fn bug_parts_were_fitted_with_the_key_on() {
    use idlewright::bench::action::{PartChoice, PartKind};
    use idlewright::bench::facts::Hindrance;
    for (name, car) in CARS {
        let mut b = warm(car, 1, vec![]);
        let fit = |kind| Action::Fit(PartChoice::new(kind));
        let each = || {
            [
                (fit(PartKind::Coil(1)), Hindrance::KeyOn),
                (fit(PartKind::ThrottleBody), Hindrance::KeyOn),
                (fit(PartKind::Module), Hindrance::KeyOn),
                (Action::SwapInjectors(1, 2), Hindrance::KeyOn),
                (Action::CleanThrottle, Hindrance::ThrottlePowered),
            ]
        };
        let accessory = (Action::Accessory { amps: 0.5, past_sensor: false }, Hindrance::EngineTurns);
        for (action, _) in each().into_iter().chain([accessory]) {
            let done = b.act("", action.clone());
            assert_eq!(done, Done::Hindered(Hindrance::EngineTurns), "{name}, engine running: {action:?}");
        }
        act(&mut b, Action::Key(Key::Off));
        b.advance_by(20.0);
        act(&mut b, Action::Key(Key::On));
        b.advance_by(2.0);
        let parts = b.plant().s.parts.clone();
        for (action, why) in each() {
            assert_eq!(b.act("", action.clone()), Done::Hindered(why), "{name}, key on: {action:?}");
        }
        assert_eq!(b.plant().s.parts, parts, "{name}");
        act(&mut b, Action::Key(Key::Off));
        for (action, _) in each() {
            assert_eq!(b.act("", action.clone()), Done::Yes, "{name}, key off: {action:?}");
        }
    }
}
