//! Metal, coolant, oil, radiator: how an engine warms up, stays cool, and overheats.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, PLOVER, act, close_to, hold, standing, start, stop_for, within};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Load, PartChoice, PartKind};
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::Setup;

/// A car that has just been started, at this ambient and coolant temperature.
fn started(car: &str, ambient_c: f64, coolant_c: f64, stuck_open_pct: Option<f64>) -> Bench {
    let mut setup = Setup::healthy(car, 1, coolant_c);
    setup.weather.ambient_c = ambient_c;
    if let Some(pct) = stuck_open_pct {
        setup.parts = vec![PartChoice { wear_pct: Some(pct), ..PartChoice::new(PartKind::Thermostat) }];
    }
    let mut b = standing(&setup);
    start(&mut b);
    b
}

/// Time until the coolant reaches a temperature \[min\].
fn minutes_to(b: &mut Bench, coolant_c: f64) -> f64 {
    let from_s = b.time_s();
    while b.truth().coolant_c < coolant_c && b.time_s() < from_s + 3600.0 {
        b.advance_by(5.0);
    }
    (b.time_s() - from_s) / 60.0
}

/// Kays and London, Compact Heat Exchangers (M): cross-flow, one fluid mixed. Limits of the law: with a large coolant
/// flow only the air side counts; with a large heat transfer the smaller flow is heated completely.
#[test]
fn exact_radiator_ends() {
    let mut p = idlewright::bench::car::Car::parse(PLOVER).expect("car").plant.thermal.clone();
    let air = 3.0 * p.air_w_k_m_s;
    let core = p.core_w_k * (3.0_f64 / 5.0).sqrt();
    let alone = air * (1.0 - idlewright::num::exp(-core / air));
    close_to("much coolant", p.radiator_w_k(1e9, 3.0) / alone, 1.0, 1e-6);
    close_to("little coolant", p.radiator_w_k(1.0, 3.0), 1.0, 1e-6);
    p.core_w_k = 1e9;
    close_to("all of the air", p.radiator_w_k(1e9, 3.0) / air, 1.0, 1e-6);
    // equal flows, large transfer: 1 − 1/e
    close_to("equal flows", p.radiator_w_k(air, 3.0) / air, 1.0 - idlewright::num::exp(-1.0), 1e-9);
    close_to("no air", p.radiator_w_k(1000.0, 0.0), 0.0, 1e-12);
}

/// From 20 to 80 °C at 20 °C ambient: some 15 to 20 minutes at idle, 8 to 10 in town (common practice for small
/// engines; a quarter either way is allowed for differences between cars). The thermostat then holds 84 to 100 °C.
#[test]
fn practice_warm_up() {
    for (name, car) in CARS {
        let mut idle = started(car, 20.0, 20.0, None);
        let idle_min = minutes_to(&mut idle, 80.0);
        idle.advance_by(1200.0);
        let held_c = idle.truth().coolant_c;
        let mut town = started(car, 20.0, 20.0, None);
        act(&mut town, Action::Drive { pattern: Name::Town, minutes: 30.0 });
        let town_min = minutes_to(&mut town, 80.0);
        println!(
            "{name}: to 80 °C {idle_min:.1} min at idle, {town_min:.1} min in town; held at {held_c:.1} °C"
        );
        within(name, "minutes at idle", idle_min, 11.0, 25.0);
        within(name, "minutes in town", town_min, 6.0, 12.5);
        within(name, "held at", held_c, 84.0, 100.0);
    }
}

/// About 30 % of the fuel's energy goes to coolant and oil at part load (Heywood §12.1, M: 17 to 26 % to the coolant
/// at full load, more at part load; oil and radiation 3 to 8 %). At idle nothing leaves as work, and the share is far
/// larger.
#[test]
fn source_share_of_heat_to_coolant_and_oil() {
    for (name, car) in CARS {
        let mut b = started(car, 20.0, 92.0, None);
        let share = |b: &mut Bench, row: &str, low: f64, high: f64| {
            let heat = |b: &Bench| {
                let s = &b.plant().s;
                let ports: f64 = s.catalysts.banks.iter().map(|c| c.totals.lost_j[0]).sum();
                s.totals.wall_j + s.totals.open_wall_j + ports + s.totals.friction_j
            };
            let from = (heat(b), b.plant().s.totals.injected_kg);
            b.advance_by(60.0);
            let fuel_j = (b.plant().s.totals.injected_kg - from.1) * b.plant().fuel_heat().heat_j_kg;
            let pct = 100.0 * (heat(b) - from.0) / fuel_j;
            println!("{name}, {row}: {pct:.1} % of {:.1} kW", fuel_j / 60e3);
            within(name, row, pct, low, high);
        };
        b.advance_by(60.0);
        share(&mut b, "idle", 40.0, 70.0);
        // equivalent to the 1.8 with 40 and 80 N m
        let per_nm = b.plant().swept_m3() / 1.793e-3;
        hold(&mut b, 2500.0, 40.0 * per_nm, 60.0);
        share(&mut b, "2500 rpm, light", 25.0, 40.0);
        hold(&mut b, 3000.0, 80.0 * per_nm, 60.0);
        share(&mut b, "3000 rpm, loaded", 20.0, 36.0);
    }
}

/// 35 °C ambient, compressor on, the fan's connector off: over 110 °C after half an hour of idling, and the module
/// reports it. With its fan the same car stays below 105 °C. At 40 °C the fan cycles. Common practice.
#[test]
fn practice_a_dead_fan_overheats_at_idle() {
    for (name, car) in CARS {
        let hot = |fan: bool| {
            let mut b = started(car, 35.0, 90.0, None);
            act(&mut b, Action::Connector(Connector::Fan, fan));
            act(&mut b, Action::Load(Load::Compressor, true));
            b.advance_by(1800.0);
            b
        };
        let (dead, sound) = (hot(false), hot(true));
        let codes = |b: &Bench| b.observe().codes.iter().map(|c| c.code.clone()).collect::<Vec<_>>();
        println!(
            "{name}: half an hour at 35 °C, no fan {:.0} °C {:?}, with fan {:.0} °C",
            dead.truth().coolant_c,
            codes(&dead),
            sound.truth().coolant_c
        );
        within(name, "no fan", dead.truth().coolant_c, 110.0, 130.0);
        within(name, "with fan", sound.truth().coolant_c, 84.0, 105.0);
        let mut b = started(car, 40.0, 90.0, None);
        let (mut turned, mut was) = (0, false);
        for _ in 0..1800 {
            b.advance_by(1.0);
            let is = b.ecm().out().fan;
            turned += i32::from(is && !was);
            was = is;
        }
        println!("{name}: at 40 °C the fan came on {turned} times in half an hour of idling");
        assert!((2..60).contains(&turned), "{name}: {turned}");
    }
}

/// A thermostat stuck nearly open, at 5 °C: while driven, the engine stays well below the thermostat's temperature,
/// but far from cold. Common practice: 45 to 60 °C.
#[test]
fn practice_a_thermostat_stuck_open_in_the_cold() {
    for (name, car) in CARS {
        for (pattern, what) in [(Name::Town, "town"), (Name::Motorway, "motorway")] {
            let mut b = started(car, 5.0, 5.0, Some(90.0));
            act(&mut b, Action::Drive { pattern, minutes: 45.0 });
            b.advance_by(2300.0);
            let (mut low, mut high) = (f64::MAX, 0.0_f64);
            for _ in 0..40 {
                b.advance_by(10.0);
                (low, high) = (low.min(b.truth().coolant_c), high.max(b.truth().coolant_c));
            }
            println!("{name}, {what}: {low:.0} to {high:.0} °C");
            within(name, what, high, 35.0, 65.0);
        }
    }
}

/// After a hot engine is shut off, the coolant temperature rises by 5 to 15 K within some ten minutes, then falls
/// (common practice).
#[test]
fn practice_hot_soak() {
    for (name, car) in CARS {
        let mut b = started(car, 20.0, 90.0, None);
        hold(&mut b, 3000.0, 50.0, 400.0);
        act(&mut b, Action::Pedal(0.0));
        b.advance_by(3.0);
        let off_c = b.truth().coolant_c;
        stop_for(&mut b, 1.0);
        let (mut peak_c, mut peak_s) = (off_c, 0.0);
        let from_s = b.time_s();
        while b.time_s() < from_s + 3600.0 {
            b.advance_by(10.0);
            if b.truth().coolant_c > peak_c {
                (peak_c, peak_s) = (b.truth().coolant_c, b.time_s() - from_s);
            }
        }
        println!(
            "{name}: off at {off_c:.1} °C, peak {peak_c:.1} after {peak_s:.0} s, {:.1} °C an hour later",
            b.truth().coolant_c
        );
        within(name, "soak", peak_c - off_c, 4.0, 16.0);
        within(name, "peak after", peak_s, 60.0, 1500.0);
        assert!(b.truth().coolant_c < peak_c - 5.0, "{name}");
    }
}

/// Long steps of a resting car give the same result as short ones.
#[test]
fn same_cooling_in_long_steps() {
    use idlewright::plant::thermal::{Inputs, State};
    let p = idlewright::bench::car::Car::parse(PLOVER).expect("car").plant.thermal.clone();
    let i = Inputs {
        wall_j: 0.0,
        friction_j: 0.0,
        least_open: 0.0,
        rpm: 0.0,
        fan: false,
        compressor: false,
        blower: false,
        road_m_s: 0.0,
        ambient_k: 293.15,
    };
    let after = |dt_s: f64, seconds: f64| {
        let mut s = State { metal_k: 400.0, coolant_k: 370.0, oil_k: 380.0 };
        for _ in 0..(seconds / dt_s) as usize {
            s.tick(&p, &i, dt_s);
        }
        s.coolant_k
    };
    for seconds in [60.0, 600.0, 3600.0, 36_000.0] {
        close_to("coolant", after(10.0, seconds), after(0.01, seconds), 0.4);
    }
}
