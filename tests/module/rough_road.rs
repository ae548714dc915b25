//! A rough road as the module sees it: in the speed of the wheels, and what it then leaves alone.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, act, codes, hold, warm};
use idlewright::bench::Bench;
use idlewright::bench::action::Action;
use idlewright::bench::pattern::Name;
use idlewright::ecm::misfire::Off;

/// The same car with a module whose hold-off never acts.
fn deaf(car: &str) -> String {
    let deaf = car.replace("rough = [1.2, 3.0]", "rough = [20.0, 0.0]");
    assert_ne!(deaf, car);
    deaf
}

/// What ten minutes of a drive bring: seconds on rough and on smooth road at more than 20 km/h, how much of each the road
/// was held for rough, firings counted.
#[derive(Debug, Default)]
struct Drive {
    rough_s: [f64; 2],
    smooth_s: [f64; 2],
    counted: u32,
    codes: Vec<String>,
}

fn drive(b: &mut Bench, pattern: Name) -> Drive {
    act(b, Action::Drive { pattern, minutes: 10.0 });
    let mut all = Drive::default();
    let mut since_s = 0.0;
    for _ in 0..6000 {
        b.advance_by(0.1);
        let road = &b.plant().s.road;
        let rough = road.rough_nm >= 5.0;
        since_s = if rough { 0.0 } else { since_s + 0.1 };
        let held = f64::from(u8::from(b.ecm().s.misfire.rough_road()));
        let on = if rough {
            &mut all.rough_s
        } else if since_s > 5.0 && road.rough_nm == 0.0 {
            &mut all.smooth_s
        } else {
            continue;
        };
        if road.speed_m_s * 3.6 > 20.0 {
            on[0] += 0.1;
            on[1] += 0.1 * held;
        }
    }
    all.counted = b.ecm().s.misfire.trip.iter().sum();
    all.codes = codes(b);
    all
}

/// On a rough track a healthy car is held off most of the time (the Whimbrel's wheels turn least unevenly) and sets no code. With
/// a module that does not look at its wheels the same road is counted as misfire: on the Plover and the Dunlin five times as often
/// and more, so that it sets the code, on the Whimbrel twice as often and more.
#[test]
fn holds_a_rough_road_sets_no_misfire_code() {
    for (name, car) in CARS {
        for seed in 1..=3 {
            let held = drive(&mut warm(car, seed, vec![]), Name::Track);
            let blind = drive(&mut warm(&deaf(car), seed, vec![]), Name::Track);
            println!(
                "{name}, seed {seed}: {held:.0?}; without hold-off {} counted, {:?}",
                blind.counted, blind.codes
            );
            assert!(held.rough_s[0] > 300.0 && held.rough_s[1] > 0.75 * held.rough_s[0], "{name}: {held:?}");
            assert!(held.codes.is_empty(), "{name}: {:?}", held.codes);
            let times = if name == "whimbrel" { 2 } else { 5 };
            assert!(blind.counted > 20 && blind.counted > times * held.counted, "{name}: {blind:?}");
            if name != "whimbrel" {
                assert!(blind.codes.contains(&"P0300".to_owned()), "{:?}", blind.codes);
            }
        }
    }
}

/// A motorway is not held for rough.
#[test]
fn holds_a_smooth_road_is_watched() {
    for (name, car) in CARS {
        let m = drive(&mut warm(car, 1, vec![]), Name::Motorway);
        println!("{name}: {m:.1?}");
        assert_eq!(m.rough_s[0], 0.0);
        assert!(m.smooth_s[0] > 300.0 && m.smooth_s[1] < 0.05 * m.smooth_s[0], "{name}: {m:?}");
    }
}

/// One cylinder that misses a fifth of its sparks: named on a smooth road. On the track, which is held off, it is not, until
/// the road is smooth again.
#[test]
fn holds_a_real_misfire_is_found_on_a_smooth_road() {
    for (name, car) in CARS {
        for (pattern, found) in [(Name::Motorway, true), (Name::Track, false)] {
            let mut b = warm(car, 1, vec![]);
            act(&mut b, Action::Drive { pattern, minutes: 10.0 });
            b.advance_by(if found { 20.0 } else { 30.0 });
            act(&mut b, Action::Interrupt(2, 20.0));
            b.advance_by(240.0);
            println!("{name}, {pattern:?}: {:?}, {:?}", b.ecm().s.misfire.trip, codes(&b));
            assert_eq!(
                codes(&b).contains(&"P0302".to_owned()),
                found,
                "{name}, {pattern:?}: {:?}",
                codes(&b)
            );
        }
    }
}

/// Standing on rollers the wheels are still, and nothing is held.
#[test]
fn holds_rollers_are_no_road() {
    let mut b = warm(CARS[0].1, 1, vec![]);
    hold(&mut b, 2200.0, 45.0, 30.0);
    assert_eq!(b.ecm().s.misfire.off, Off::Watching);
    assert!(!b.ecm().s.misfire.rough_road());
}
