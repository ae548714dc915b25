//! The phaser of the inlet camshaft: what oil does to it, where the cam sensor's edges come, what advance does to the gas.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{DUNLIN, PLOVER, act, crank, warm};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key, PartChoice, PartKind};
use idlewright::bench::car::Car;
use idlewright::bench::setup::Setup;
use idlewright::num::Stream;
use idlewright::plant::cylinder::Kinematics;
use idlewright::plant::parts::Phaser;
use idlewright::plant::phaser::{Params, State, Turning, overlap_factor};
use idlewright::signals::TICKS_PER_S;
use idlewright::units::rad_s;

fn stuck(deg: f64) -> PartChoice {
    PartChoice { stuck_deg: Some(deg), ..PartChoice::new(PartKind::CamPhaser) }
}

fn params() -> Params {
    Car::parse(DUNLIN).expect("car").plant.phaser.clone().expect("a phaser")
}

/// A camshaft turns half as fast as the crank: a tooth of its sprocket with N teeth is 360°/N of cam and 720°/N of crank.
/// The Dunlin's has 40. Edges at a constant speed come at the angle at rest less the advance.
#[test]
fn exact_a_tooth_is_720_over_n_degrees_of_crank() {
    let car = Car::parse(DUNLIN).expect("car");
    assert!((car.plant.crank.cam_tooth_deg - 720.0 / 40.0).abs() < 1e-12);
    let p = Params { jitter_deg: 0.0, ..params() };
    let (omega, step_deg) = (rad_s(1500.0), 2.0);
    let dt_s = f64::to_radians(step_deg) / omega;
    for teeth in -2..=2 {
        for advance_deg in [0.0, 7.3, 31.0] {
            let late_deg = f64::from(teeth) * 18.0;
            let mut s = State::at_rest(1);
            s.advance_deg = advance_deg;
            let mut seen = vec![];
            for k in 0..720 {
                let (from_deg, at_s) = (f64::from(k % 360) * step_deg, f64::from(k) * dt_s);
                let turning = Turning { from_deg, step_deg, time_s: (at_s, dt_s), omega: (omega, omega) };
                let end = ((at_s + dt_s) * TICKS_PER_S).round() as u64;
                let tooth = s.sense(&p, late_deg, &turning, Some(end));
                if let Some(tick) = tooth.and_then(|t| t.cam_tick).filter(|_| k > 360) {
                    let deg = (tick as f64 / TICKS_PER_S / dt_s * step_deg).rem_euclid(360.0);
                    seen.push((deg + 180.0).rem_euclid(360.0) - 180.0);
                }
            }
            assert_eq!(seen.len(), 2, "one rising and one falling edge in a cycle");
            for deg in seen {
                assert!((deg - (late_deg - advance_deg)).abs() < 2e-3, "{teeth} {advance_deg}: {deg}");
            }
        }
    }
}

/// An edge of the cam sensor that lies so close to a tooth of the wheel that jitter puts it before or behind: the tooth that finds
/// the level changed also carries the edge's time. Without the time the module judged the edge as that of a sensor that it
/// does not time, took the camshaft's advance for a wrong tooth, and after twenty such edges set P0016 on a sound car.
#[test]
fn bug_an_edge_beside_a_tooth_had_no_time() {
    let p = Params { jitter_deg: 0.05, ..params() };
    let (omega, step_deg) = (rad_s(2000.0), 2.0);
    let dt_s = f64::to_radians(step_deg) / omega;
    let mut changes = 0;
    for beside_deg in [-0.04, -0.01, -0.001, 0.001, 0.01, 0.04] {
        let mut s = State::at_rest(3);
        let mut before = false;
        for k in 0..360 * 200 {
            let (from_deg, at_s) = (f64::from(k % 360) * step_deg, f64::from(k) * dt_s);
            let turning = Turning { from_deg, step_deg, time_s: (at_s, dt_s), omega: (omega, omega) };
            // a tooth every 6°, at the beginning of its step
            let tooth = (k % 3 == 0).then_some(((at_s + 1e-3 * dt_s) * TICKS_PER_S).round() as u64);
            let Some(t) = s.sense(&p, 12.0 + beside_deg, &turning, tooth) else { continue };
            let changed = std::mem::replace(&mut before, t.cam_high) != t.cam_high;
            assert_eq!(changed, t.cam_tick.is_some(), "{beside_deg}°, step {k}");
            changes += u32::from(changed);
        }
    }
    assert!(changes > 6 * 390, "{changes} edges");
}

/// What flows back in the overlap has the area under two straight flanks that cross: it grows with the square of the angle.
/// Inlet closing moves by the advance, degree for degree, and the gas that is trapped with it on and between steps.
#[test]
fn exact_valve_events_follow_the_advance() {
    assert!((overlap_factor(20.0, 20.0) - 4.0).abs() < 1e-12);
    assert!((overlap_factor(20.0, 0.0) - 1.0).abs() < 1e-15);
    let car = Car::parse(DUNLIN).expect("car");
    let p = &car.plant.cylinder;
    for step_deg in [2.0, 1.0, 0.5] {
        let rest = Kinematics::new(p, step_deg);
        for advance_deg in [0.0, 0.7, 3.0, 16.0, 40.0] {
            let mut k = Kinematics::new(p, step_deg);
            k.turn_inlet(p, 0.0, advance_deg, 1.0);
            let closes = 180.0 + p.inlet_closes_abdc_deg - advance_deg;
            assert!((k.inlet_shut_m3() - p.volume_m3(closes)).abs() < 1e-12, "{step_deg} {advance_deg}");
            let moved = (rest.events().2 as f64 - k.inlet_shut_step() as f64) * step_deg;
            assert!((moved - advance_deg).abs() <= 0.5 * step_deg + 1e-9, "{moved} for {advance_deg}");
        }
    }
}

/// Locked at rest without pressure; with it and the valve open to its end, as much as the car's file says at 300 kPa; back
/// with the valve shut off; the drag takes it back without oil.
#[test]
fn exact_rates_and_pin() {
    let p = params();
    let part = Phaser::new("x".into());
    let run = |s: &mut State, part: &Phaser, duty: f64, around: (f64, f64), n: usize| {
        for _ in 0..n {
            s.tick(&p, part, duty, around, 0.01);
        }
        s.advance_deg
    };
    let mut s = State::at_rest(1);
    assert_eq!(run(&mut s, &part, 1.0, (200.0, 90.0), 100), 0.0, "the pin holds while cranking");
    assert!(s.locked);
    let (rpm, oil_c) = (2000.0, 90.0);
    let rate = p.moves_deg_s * (p.oil_kpa(rpm, oil_c) / 300.0).sqrt() - p.drag_deg_s[0];
    assert!((run(&mut s, &part, 1.0, (rpm, oil_c), 10) - 0.1 * rate).abs() < 1e-9);
    assert!(!s.locked);
    assert_eq!(run(&mut s, &part, 1.0, (rpm, oil_c), 100), p.most_deg, "its other stop");
    assert_eq!(run(&mut s, &part, 0.0, (rpm, oil_c), 100), 0.0, "back");
    assert!(s.locked);
    let cold = run(&mut s, &part, 1.0, (rpm, -10.0), 10);
    assert!(cold < 0.3 * 0.1 * rate, "cold oil: {cold:.2}°");
    run(&mut s, &part, 1.0, (rpm, oil_c), 100);
    let fell = p.most_deg - run(&mut s, &part, 1.0, (0.5, oil_c), 10);
    assert!((fell - 0.1 * p.drag_deg_s[1]).abs() < 1e-9, "without oil the drag turns it back: {fell}");
    let fast = Phaser { stuck_deg: Some(12.0), ..part };
    assert_eq!(run(&mut s, &fast, 0.0, (rpm, oil_c), 100), 12.0);
}

/// Mean over so many seconds of a warm idle: manifold pressure \[kPa\], residual \[%\], spread of mean pressure \[%\].
fn idle(b: &mut Bench, for_s: usize) -> (f64, f64, f64) {
    let mut sum = (0.0, 0.0, 0.0);
    for _ in 0..for_s {
        b.advance_by(1.0);
        let t = b.truth();
        sum.0 += b.ecm().live().map_kpa;
        sum.1 += t.cylinders.iter().map(|c| c.residual_pct).sum::<f64>() / 4.0;
        sum.2 += t.cylinders.iter().map(|c| c.imep_cov_pct).sum::<f64>() / 4.0;
    }
    let n = for_s as f64;
    (sum.0 / n, sum.1 / n, sum.2 / n)
}

/// Overlap at idle: exhaust gas flows back into the inlet, residual rises by several per cent of the charge for ten degrees,
/// the flame slows and spreads from cycle to cycle, and the throttle must let the manifold fill further for the same torque
/// (Heywood §6.4 and §9.4, from memory, for the signs; the size by common practice: some 5 kPa and 5 to 10 % for 10°).
#[test]
fn practice_advance_at_idle_fills_cylinder_and_manifold_with_residual() {
    for seed in 1..=3 {
        let by: Vec<_> = [0.0, 5.0, 10.0]
            .into_iter()
            .map(|deg| {
                let mut b = warm(DUNLIN, seed, vec![stuck(deg)]);
                b.advance_by(40.0);
                idle(&mut b, 20)
            })
            .collect();
        println!("seed {seed}, at 0, 5 and 10°: {by:.2?}");
        assert!(by.windows(2).all(|w| w[1].0 > w[0].0 + 0.3), "pressure: {by:?}");
        assert!(by.windows(2).all(|w| w[1].1 > w[0].1 + 1.0), "residual: {by:?}");
        assert!(by[2].2 > by[0].2, "rougher: {by:?}");
        assert!((1.0..12.0).contains(&(by[2].0 - by[0].0)), "{by:?}");
        assert!((3.0..15.0).contains(&(by[2].1 - by[0].1)), "{by:?}");
    }
}

/// At rest nothing of the gas knows of a phaser: a car whose file has none idles the same, bit for bit, until the module
/// wants advance.
#[test]
fn exact_at_rest_the_gas_knows_nothing_of_a_phaser() {
    let text: String = DUNLIN.split("[phaser]").next().expect("before").to_owned()
        + &DUNLIN[DUNLIN.find("[ignition]").expect("after")..];
    let without = {
        let at = text.find("[module.phaser]").expect("module");
        let end = text.find("[module.purge]").expect("purge");
        text[..at].to_owned() + &text[end..]
    };
    let drive = |car: &str| {
        let mut b = Bench::standing(&Setup::healthy(car, 5, 60.0)).expect("bench");
        crank(&mut b);
        b.advance_by(120.0);
        let s = &b.plant().s;
        (s.crank.omega, s.air.manifold_pa, s.totals, s.cylinders[0].p_pa)
    };
    assert_eq!(drive(DUNLIN), drive(&without));
}

/// The result does not depend on the step: air drawn at a held speed with an advance that falls between steps.
#[test]
fn holds_air_at_any_advance_is_free_of_the_step() {
    let air = |step_deg: f64| {
        let setup = Setup { step_deg, parts: vec![stuck(9.3)], ..Setup::healthy(DUNLIN, 2, 90.0) };
        let mut b = idlewright::bench::survey::warm(&setup).expect("it starts");
        act(&mut b, Action::Hold { rpm: 2000.0, nm: 50.0 });
        b.advance_by(20.0);
        let (kg, turns) = (b.plant().s.totals.drawn_kg, b.plant().s.totals.turns);
        let mut kpa = 0.0;
        for _ in 0..100 {
            b.advance_by(0.1);
            kpa += 0.01 * b.plant().s.air.manifold_pa * 1e-3;
        }
        let s = &b.plant().s.totals;
        1e6 * (s.drawn_kg - kg) / (s.turns - turns) / kpa
    };
    let by = [2.0, 1.0, 0.5].map(air);
    println!("air over pressure at steps of 2, 1 and 0.5°: {by:.3?}");
    assert!(by.iter().all(|x| (x / by[2] - 1.0).abs() < 0.006), "{by:?}");
}

/// A chain that is stretched retards the valves on any car, and a stopped engine takes its phaser back by the next start.
#[test]
fn holds_a_long_chain_retards_every_car() {
    for car in [PLOVER, DUNLIN] {
        let part = |deg| PartChoice { stretch_deg: Some(deg), ..PartChoice::new(PartKind::CamDrive) };
        let kpa = [0.0, 8.0].map(|deg| {
            let mut b = warm(car, 2, vec![part(deg)]);
            b.advance_by(30.0);
            idle(&mut b, 10).0
        });
        println!("idle at 0 and 8° late: {kpa:.1?} kPa");
        assert!(kpa[1] > kpa[0] + 0.5, "{kpa:?}");
    }
    let mut b = warm(DUNLIN, 2, vec![]);
    act(&mut b, Action::Hold { rpm: 2500.0, nm: 50.0 });
    b.advance_by(25.0);
    assert!(b.truth().cam_advance_deg > 10.0, "{}", b.truth().cam_advance_deg);
    act(&mut b, Action::Key(Key::Off));
    b.advance_by(10.0);
    assert_eq!(b.truth().cam_advance_deg, 0.0, "the engine ran down with its valve shut off");
}

/// The spread of a trigger wheel is cut at two standard deviations, and a serial is always the same part.
#[test]
fn holds_every_drive_rests_within_its_spread() {
    let car = Car::parse(DUNLIN).expect("car");
    let spread = &car.plant.spread;
    let mut s = Stream::new(1, "serials");
    for _ in 0..200 {
        let serial = format!("{:.6}", s.uniform());
        let new = || idlewright::plant::parts::CamDrive::new(spread, serial.clone());
        assert!(new().trigger_deg.abs() <= 2.0 * spread.cam_trigger_sigma_deg + 1e-12);
        assert_eq!(new(), new());
    }
}
