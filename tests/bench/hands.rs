//! Hands and feet that do one thing after another.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{act, hold, start_in};
use idlewright::bench::action::{Action, Connector};
use idlewright::bench::setup::Setup;
use idlewright::bench::{Bench, Done};
use idlewright::store;

fn running(car: &str) -> Bench {
    let mut b = Bench::standing(&Setup::healthy(car, 1, 90.0)).expect("a car that ships");
    start_in(&mut b, 15.0);
    b
}

/// Whoever holds one speed and is asked for another moves the pedal from where it stands: the engine does not fall to
/// idle between the two. Common practice.
#[test]
fn practice_next_speed_is_held_from_where_the_pedal_stands() {
    for (name, car) in store::CARS {
        let mut b = running(car);
        hold(&mut b, 3800.0, 0.0, 40.0);
        act(&mut b, Action::Hold { rpm: 3550.0, nm: 0.0 });
        let mut least = f64::INFINITY;
        for _ in 0..150 {
            b.advance_by(0.1);
            least = least.min(b.plant().speed_rpm());
        }
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
    for (name, car) in store::CARS {
        let mut b = running(car);
        hold(&mut b, 2500.0, 30.0, 40.0);
        act(&mut b, Action::Hold { rpm: 2500.0, nm: 50.0 });
        let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
        for _ in 0..100 {
            b.advance_by(0.1);
            (least, most) = (least.min(b.plant().speed_rpm()), most.max(b.plant().speed_rpm()));
        }
        println!("{name}: {least:.0} to {most:.0} rpm");
        assert!(least > 2100.0 && most < 2900.0, "{name}: {least:.0} to {most:.0} rpm");
    }
}

/// A hold that is refused leaves no foot on the pedal.
#[test]
fn holds_refused_hold_lets_go() {
    let mut b = running(store::CARS[0].1);
    hold(&mut b, 2500.0, 0.0, 20.0);
    // without its crankshaft sensor the engine dies, and whoever holds the speed does not know yet
    act(&mut b, Action::Connector(Connector::CrankSensor, false));
    b.advance_by(5.0);
    assert_ne!(b.act("", Action::Hold { rpm: 2500.0, nm: 0.0 }), Done::Yes);
    assert_eq!(b.hands().pedal_pct, 0.0);
}
