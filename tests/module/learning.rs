//! How each learned value behaves: how it converges, its limits, which events clear it, which events it survives.
//!
//! The M rows are behaviours that must result from engine and module running together; each
//! test prints its row (`cargo test --test module learning -- --nocapture`).
#![allow(missing_docs)] // a test file: names and comments say what each proves

use crate::bay::{self, PLOVER as CAR, ask, gate, key_on, seeds, start, stop_for};
use idlewright::bench::action::{Action, Key, Load, PartChoice, PartKind};
use idlewright::bench::setup::{Setup, Stretch};
use idlewright::bench::view::{IdleView, Observation};
use idlewright::bench::{Bench, Done};
use idlewright::link::{DiagRequest, DiagResponse, Group, Routine};
use idlewright::plant::parts::ThrottleBody;

fn setup(seed: u64, conditioning: Vec<Stretch>) -> Setup {
    Setup { odometer_km: 60_000.0, conditioning, ..Setup::healthy(CAR, seed, 88.0) }
}

/// A car whose throttle has built up this much deposit while the car idled and learned.
fn grown(seed: u64, deposit_um: f64) -> Bench {
    bay::grown(setup(seed, Vec::new()), deposit_um)
}

fn key(b: &mut Bench, k: Key) {
    assert_eq!(b.act("", Action::Key(k)), Done::Yes);
}

fn idle(b: &Bench) -> IdleView {
    b.observe().idle.expect("a warm idle")
}

fn learned(o: &Observation, name: &str) -> f64 {
    o.learned.iter().find(|l| l.name == name).unwrap().value
}

fn light(b: &Bench) -> f64 {
    learned(&b.observe(), "idle_air_light")
}

fn code(b: &Bench, number: &str) -> Option<(bool, bool)> {
    b.observe().codes.iter().find(|c| c.code == number).map(|c| (c.pending, c.confirmed))
}

/// Fits a new throttle body with the engine stopped and returns how stale the learned idle air is with it \[g/s\]:
/// calculated from the two bodies and the learned value only.
fn fit_new(b: &mut Bench) -> f64 {
    let old = b.plant().s.parts.throttle.clone();
    let was = b.idle_air_needed(&old);
    let choice = PartChoice::new(PartKind::ThrottleBody);
    assert_eq!(b.act("", Action::Fit(choice)), Done::Yes);
    let new: ThrottleBody = b.plant().s.parts.throttle.clone();
    was - b.idle_air_needed(&new)
}

/// The Plover's manual sequence, performed perfectly at a warm idle. `slip` shortens the second hold.
fn manual_sequence(b: &mut Bench, slip: bool) {
    let brake = |b: &mut Bench, on| drop(b.act("", Action::Brake(on)));
    let glass = |b: &mut Bench, on| drop(b.act("", Action::Load(Load::HeatedGlass, on)));
    brake(b, true);
    b.advance_by(12.0);
    brake(b, false);
    b.advance_by(1.5);
    glass(b, true);
    b.advance_by(if slip { 7.0 } else { 10.0 });
    glass(b, false);
    b.advance_by(22.0);
    brake(b, true);
    b.advance_by(3.0);
    brake(b, false);
    b.advance_by(2.0);
}

#[test]
fn m1_healthy_idle_is_an_equilibrium() {
    for seed in seeds(3) {
        let mut b = Bench::new(&setup(seed, Vec::new()), &mut |_| true).unwrap();
        start(&mut b);
        b.advance_by(300.0);
        // over 60 s: two windows of 30 s
        let first = idle(&b);
        b.advance_by(30.0);
        let i = idle(&b);
        let mean = 0.5 * (first.mean_rpm + i.mean_rpm);
        let o = b.observe();
        let t = &o.trims[0];
        let cov = b.truth().cylinders.iter().map(|c| c.imep_cov_pct).fold(0.0, f64::max);
        println!(
            "M1 seed {seed}: mean {mean:.1} sd {:.1} rpm, map {:.1} kPa, air {:.2} g/s, lambda {:.4}, short {:+.2} %, long {:+.2} %, cov {cov:.1} %",
            i.sd_rpm, i.map_kpa, i.air_g_s, i.lambda[0], t.short_pct, t.long_idle_pct
        );
        assert!((mean - i.target_rpm).abs() <= 10.0);
        assert!(i.sd_rpm <= 16.0 && first.sd_rpm <= 16.0);
        assert!((26.0..=36.0).contains(&i.map_kpa));
        assert!((1.8..=3.2).contains(&i.air_g_s));
        assert!((i.lambda[0] - 1.0).abs() <= 0.01);
        assert!((t.short_pct + t.long_idle_pct).abs() <= 5.0);
        assert!(o.codes.is_empty(), "{:?}", o.codes);
    }
}

#[test]
fn m2_m3_m4_m5_m6_fifty_micrometres() {
    for seed in seeds(3) {
        let mut b = grown(seed, 50.0);
        let clean_deg = {
            let mut h = Bench::new(&setup(seed, Vec::new()), &mut |_| true).unwrap();
            start(&mut h);
            h.advance_by(400.0);
            idle(&h)
        };
        // M2
        start(&mut b);
        b.advance_by(60.0);
        let i = idle(&b);
        let needed = b.truth().idle_air_needed_g_s;
        let opened = i.throttle_deg - clean_deg.throttle_deg;
        println!(
            "M2 seed {seed}: deposit {:.1} um, learned {:+.2}, computed {needed:+.2} g/s, mean {:.1} rpm, throttle {opened:+.2} deg, notes {:?}",
            b.truth().deposit_um,
            light(&b),
            i.mean_rpm,
            b.model_notes()
        );
        assert!((light(&b) - needed).abs() <= 0.15);
        assert!((i.mean_rpm - i.target_rpm).abs() <= 10.0);
        assert!((1.0..=1.6).contains(&opened));
        stop_for(&mut b, 15.0);

        // M3
        let before = light(&b);
        let x = fit_new(&mut b);
        start(&mut b);
        b.advance_by(60.0);
        let i = idle(&b);
        let high = i.mean_rpm - i.target_rpm;
        let per = i.target_rpm / clean_deg.air_g_s;
        let (lo, hi) = (0.85 * (x - 0.6) * per - 20.0, 1.05 * (x - 0.6) * per);
        println!(
            "M3 seed {seed}: X {x:.2} g/s, {high:+.0} rpm after 60 s, band {lo:.0} to {hi:.0}, P0507 {:?}",
            code(&b, "P0507")
        );
        if x <= 1.6 {
            stop_for(&mut b, 15.0);
            continue;
        }
        assert!((lo..=hi).contains(&high));
        if lo > 200.0 {
            assert_eq!(code(&b, "P0507"), Some((true, false)));
        }
        assert!(!gate(&b, "idle_air_light", "speed_error"));
        b.advance_by(1800.0);
        let still = idle(&b).mean_rpm - i.target_rpm;
        println!(
            "M3 seed {seed}: {still:+.0} rpm after 30 min, learned {:+.3} (was {before:+.3})",
            light(&b)
        );
        assert!((still - high).abs() < 30.0);
        assert_eq!(light(&b), before);

        // M4, M5: the window is shut, so nothing changes, with or without a slip
        for slip in [false, true, false] {
            manual_sequence(&mut b, slip);
            assert_eq!(light(&b), before, "M4");
        }

        // M6
        stop_for(&mut b, 15.0);
        key_on(&mut b);
        assert_eq!(ask(&mut b, DiagRequest::Start(Routine::ResetGroup(Group::IdleAir))), DiagResponse::Ok);
        assert_eq!(light(&b), 0.0);
        key(&mut b, Key::Crank);
        b.advance_by(10.0);
        let began = b.time_s();
        assert_eq!(ask(&mut b, DiagRequest::Start(Routine::LearnIdle)), DiagResponse::Ok, "M6");
        while b.observe().live.routine == "running" && b.time_s() < began + 200.0 {
            b.advance_by(1.0);
        }
        let took = b.time_s() - began;
        assert_eq!(b.observe().live.routine, "done");
        b.advance_by(40.0);
        let i = idle(&b);
        println!("M6 seed {seed}: learned {:+.2} in {took:.0} s, mean {:.1} rpm", light(&b), i.mean_rpm);
        assert!(took <= 180.0 && (i.mean_rpm - i.target_rpm).abs() <= 20.0);
        // the code heals over trips: this trip failed before the repair was learned, the next three pass
        stop_for(&mut b, 15.0);
        for _ in 0..3 {
            start(&mut b);
            b.advance_by(60.0);
            stop_for(&mut b, 15.0);
        }
        start(&mut b);
        assert!(code(&b, "P0507").is_none_or(|c| !c.0), "P0507 did not heal");
        assert_eq!(b.observe().lamp, idlewright::bench::view::Lamp::Off);
    }
}

#[test]
fn m7_twenty_five_micrometres() {
    // seeds whose bodies give 0.8 < X < 0.95, selected from the parts alone
    let wanted = *seeds(3).end() as usize;
    let mut found = 0;
    for seed in 1..60 {
        if found == wanted {
            break;
        }
        let mut probe = Bench::standing(&setup(seed, Vec::new())).unwrap();
        let old = ThrottleBody { deposit_um: 25.0, ..probe.plant().s.parts.throttle.clone() };
        let was = probe.idle_air_needed(&old);
        fit_new(&mut probe);
        let x = was - probe.idle_air_needed(&probe.plant().s.parts.throttle);
        if !(0.8..0.95).contains(&x) {
            continue;
        }
        found += 1;
        let mut b = grown(seed, 25.0);
        // the integrator holds the remainder that the old body needs and that was not learned
        start(&mut b);
        b.advance_by(80.0);
        let mut rest = 0.0;
        for _ in 0..100 {
            b.advance_by(0.1);
            rest += 0.01 * b.ecm().s.air.integrator;
        }
        stop_for(&mut b, 12.0);
        let x = fit_new(&mut b) - rest;
        start(&mut b);
        b.advance_by(90.0);
        let i = idle(&b);
        let high = i.mean_rpm - i.target_rpm;
        let air = i.air_g_s * i.target_rpm / i.mean_rpm;
        let per = i.target_rpm / air;
        let (lo, hi) = (0.85 * (x - 0.6) * per - 20.0, 1.05 * (x - 0.6) * per);
        println!(
            "M7 seed {seed}: X {x:.2} (rest {rest:+.3}), {high:+.0} rpm, band {lo:.0} to {hi:.0}, integrator {:+.3}",
            b.ecm().s.air.integrator
        );
        assert!((lo..=hi).contains(&high));
        assert!(!gate(&b, "idle_air_light", "integrator_bounded"));
        let before = light(&b);
        manual_sequence(&mut b, true);
        assert_eq!(light(&b), before, "a slip writes nothing");
        manual_sequence(&mut b, false);
        println!("M7 seed {seed}: learned {before:+.2} -> {:+.2}", light(&b));
        assert!((before - light(&b) - 0.4).abs() < 0.02);
        b.advance_by(60.0);
        let i = idle(&b);
        assert!((i.mean_rpm - i.target_rpm).abs() <= 20.0, "cured");
        assert!(gate(&b, "idle_air_light", "integrator_bounded"));
    }
    assert_eq!(found, wanted);
}

#[test]
fn m7b_ten_micrometres_learn_themselves_out() {
    for seed in seeds(3) {
        let mut b = grown(seed, 10.0);
        let x = fit_new(&mut b);
        start(&mut b);
        b.advance_by(60.0);
        let i = idle(&b);
        println!("M7b seed {seed}: X {x:.2}, mean {:.1} rpm", i.mean_rpm);
        assert!((i.mean_rpm - i.target_rpm).abs() <= 20.0);
        b.advance_by(9.0 * 60.0);
        let left = b.observe().live.idle_pi_g_s;
        println!("M7b seed {seed}: PI {left:+.3} g/s after 10 min, codes {:?}", b.observe().codes);
        assert!(left.abs() < 0.15);
        assert!(b.observe().codes.is_empty());
    }
}
