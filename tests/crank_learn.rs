//! Learning the reluctor wheel: accuracy, standard error, what is refused and thrown away, what is saved.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use idlewright::bench::action::{Action, Key, PartChoice, PartKind};
use idlewright::bench::setup::Setup;
use idlewright::bench::{Bench, Done};
use idlewright::link::{DiagRequest, Routine, RoutineState};
use idlewright::plant::parts::edges_deg;

const CAR: &str = include_str!("../assets/cars/plover.toml");

fn seeds() -> u64 {
    std::env::var("IDLEWRIGHT_SEEDS").ok().and_then(|n| n.parse().ok()).unwrap_or(2)
}

/// Warm and idling.
fn idling(car: &str, seed: u64) -> Bench {
    let mut b = Bench::new(&Setup::healthy(car, seed, 90.0), &mut |_| true).expect("a bench");
    b.act("", Action::Key(Key::On));
    b.advance_by(1.0);
    b.act("", Action::Key(Key::Crank));
    b.advance_by(20.0);
    b
}

/// Holds the band and lets go until the routine ends.
fn follow_routine(b: &mut Bench) -> RoutineState {
    assert_eq!(
        b.act("", Action::Ask(DiagRequest::Start(Routine::LearnWheel))),
        Done::Answer(idlewright::link::DiagResponse::Ok)
    );
    for _ in 0..8 {
        b.act("", Action::Hold { rpm: 3550.0, nm: 0.0 });
        for _ in 0..200 {
            b.advance_by(0.1);
            let says = b.observe().live.routine_says;
            if says.contains("let the pedal go") || b.observe().live.routine != "running" {
                break;
            }
        }
        b.act("", Action::Pedal(0.0));
        b.advance_by(4.0);
        if b.observe().live.routine != "running" {
            break;
        }
    }
    b.ecm().s.routine.clone()
}

fn true_edges(b: &Bench) -> Vec<f64> {
    let p = &b.plant().s.parts;
    let e = edges_deg(&p.wheel, &p.crank_sensor, b.plant().params().crank.wheel_radius_mm);
    let mean = e.iter().sum::<f64>() / 58.0;
    e.iter().map(|x| x - mean).collect()
}

#[test]
fn holds_learn_accuracy() {
    for seed in 1..=seeds() {
        let mut b = idling(CAR, seed);
        b.act("", Action::Key(Key::Off));
        b.advance_by(10.0);
        assert_eq!(b.act("", Action::Fit(PartChoice::new(PartKind::Wheel))), Done::Yes);
        b.act("", Action::Key(Key::On));
        b.advance_by(1.0);
        b.act("", Action::Key(Key::Crank));
        b.advance_by(20.0);
        let off = b.truth().wheel_off_deg;
        let state = follow_routine(&mut b);
        for e in b.log().iter().rev().take(12).collect::<Vec<_>>().iter().rev() {
            println!("{:.2} {:?}", e.t_s, e.kind);
        }
        assert!(matches!(state, RoutineState::Done { .. }), "seed {seed}: {state:?}");
        let is = true_edges(&b);
        let believed = &b.ecm().s.store.wheel;
        let rms =
            (is.iter().zip(&believed.edges_deg).map(|(a, b)| (a - b) * (a - b)).sum::<f64>() / 58.0).sqrt();
        println!(
            "seed {seed}: windows off {off:.3}° before, {:.4}° after; teeth {rms:.4}° rms; standard error {:.4}°",
            b.truth().wheel_off_deg,
            believed.error_deg
        );
    }
}
