//! Faults by level: every one can be applied to the cars that it suits, is noticed, and is the same by its seed.

use crate::bay::{CARS, warm};
use idlewright::bench::action::Action;
use idlewright::bench::has::Has;
use idlewright::bench::setup::Setup;
use idlewright::bench::{Bench, Done};
use idlewright::scenario::surprise::{SURPRISES, any_of, of_level};
use idlewright::session::replay::allowed;
use std::collections::BTreeSet;

fn has(b: &Bench) -> Has {
    idlewright::bench::car::Car::parse(&b.setup().car_toml).expect("a car").has()
}

/// Each is a fault: with it the car is not whole any more, on every car and for several seeds.
#[test]
fn holds_every_surprise_is_a_fault_that_can_be_applied() {
    for (car, text) in CARS {
        let sound = Bench::standing(&Setup::healthy(text, 1, 88.0)).expect("a bench");
        for seed in [1, 7, 20_261] {
            for one in SURPRISES {
                let mut b = sound.clone();
                let before = b.not_whole().len();
                let action = one.action(&has(&b), seed, 0);
                allowed(&action).unwrap_or_else(|e| panic!("{car} {}: {e:?}", one.id));
                assert_eq!(b.act("", action.clone()), Done::Yes, "{car} {} {action:?}", one.id);
                assert!(b.not_whole().len() > before, "{car} {} {action:?}", one.id);
            }
        }
    }
}

/// What is applied to a running engine shows in what a technician can read, on every car: a code, a trim, the idle, the
/// coolant or the supply.
#[test]
fn holds_every_surprise_on_a_running_engine_is_noticed() {
    for (car, text) in CARS {
        let sound = warm(text, 1, Vec::new());
        let seen = |action: Option<Action>| {
            let mut b = sound.clone();
            if let Some(action) = action {
                assert_eq!(b.act("", action), Done::Yes);
            }
            b.advance_by(240.0);
            let o = b.observe();
            let trim = o
                .trims
                .iter()
                .map(|t| t.short_pct + t.long_idle_pct)
                .fold(0.0, |m: f64, x| if x.abs() > m.abs() { x } else { m });
            let sd = o.idle.as_ref().map_or(0.0, |i| i.sd_rpm);
            (o.codes.len(), trim, sd, o.live.coolant_c, o.live.supply_v, o.live.running)
        };
        let healthy = seen(None);
        for one in SURPRISES.iter().filter(|s| !s.standing) {
            let ill = seen(Some(one.action(&has(&sound), 7, 0)));
            println!(
                "{car} {} (level {}): {} codes, trim {:+.1} ({:+.1}) %, sd {:.0} ({:.0}) rpm, {:.0} °C, {:.1} V, runs: {}",
                one.id, one.level, ill.0, ill.1, healthy.1, ill.2, healthy.2, ill.3, ill.4, ill.5
            );
            let noticed = ill.0 > healthy.0
                || (ill.1 - healthy.1).abs() > 4.0
                || ill.2 > 1.5 * healthy.2
                || (ill.3 - healthy.3).abs() > 8.0
                || (ill.4 - healthy.4).abs() > 0.5
                || !ill.5;
            assert!(noticed, "{car} {}", one.id);
        }
    }
}

#[test]
fn same_surprise_for_the_same_seed_and_another_the_next_time() {
    let has = Has { cylinders: 4, banks: 1, air_meter: true, ..Has::default() };
    for level in 1..=3 {
        assert_eq!(any_of(level, true, &has, 5, 0), any_of(level, true, &has, 5, 0));
        let drawn: BTreeSet<String> =
            (0..40).map(|n| format!("{:?}", any_of(level, false, &has, 5, n))).collect();
        assert!(drawn.len() >= 4, "level {level} has {} faults in 40 draws", drawn.len());
        assert!(of_level(level, true).all(|s| !s.standing));
        assert!(of_level(level, true).count() >= 3, "level {level} has something for a running engine");
    }
    assert_eq!(any_of(4, true, &has, 5, 0), None);
    assert!(SURPRISES.iter().map(|s| s.id).collect::<BTreeSet<_>>().len() == SURPRISES.len());
}
