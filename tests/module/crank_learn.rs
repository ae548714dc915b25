//! Learning the reluctor wheel: accuracy, standard error, what is refused and discarded, what is saved.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, PLOVER, key_on, seeds, stop_from_hold, warm};
use idlewright::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use idlewright::bench::record::Kind;
use idlewright::bench::setup::Setup;
use idlewright::bench::survey;
use idlewright::bench::{Bench, Done};
use idlewright::ecm::crank_learn::{Book, EDGES, Sums};
use idlewright::link::{
    DiagRequest, DiagResponse, Failed, Group, Notice, Refused, Routine, RoutineState, ThrownAway, WaitsFor,
    Writer,
};
use idlewright::plant::parts::edges_deg;
use nalgebra::{DMatrix, DVector};

/// Warm and idling, with a flexplate other than the one learned at the factory.
fn replaced(car: &str, seed: u64) -> Bench {
    warm(car, seed, vec![PartChoice::new(PartKind::Wheel)])
}
fn true_edges(b: &Bench) -> Vec<f64> {
    let p = &b.plant().s.parts;
    let e = edges_deg(&p.wheel, &p.crank_sensor, b.plant().params().crank.wheel_radius_mm);
    let mean = e.iter().sum::<f64>() / EDGES as f64;
    e.iter().map(|x| x - mean).collect()
}
fn book(b: &Bench) -> Book {
    let cal = b.ecm().calibration();
    Book::new(&cal.s.wheel, &cal.plate, cal.s.inputs.first_tooth_btdc_deg)
}
fn refused(b: &mut Bench) -> Refused {
    match b.act("", Action::Ask(DiagRequest::Start(Routine::LearnWheel))) {
        Done::Answer(DiagResponse::Refused(r)) => r,
        other => panic!("not refused: {other:?}"),
    }
}
fn begin(b: &mut Bench) {
    let done = b.act("", Action::Ask(DiagRequest::Start(Routine::LearnWheel)));
    assert_eq!(done, Done::Answer(DiagResponse::Ok));
}
/// Holds the speed band until the module asks for the pedal to be released.
fn until_let_go(b: &mut Bench) {
    b.act("", Action::Hold { rpm: 3550.0, nm: 0.0 });
    for _ in 0..300 {
        b.advance_by(0.1);
        if b.observe().live.routine_waits_for == Some(WaitsFor::LetGo) {
            return;
        }
    }
    panic!("never asked to let go: {:?}", b.observe().live);
}
/// Whether one of the last log entries says that a run-down was discarded for that reason.
fn thrown(b: &Bench, why: ThrownAway) -> bool {
    b.log().iter().rev().take(6).any(|e| {
        matches!(&e.kind, Kind::Module { what: Notice::RunDownThrownAway { because, .. } } if *because == why)
    })
}
fn last_notes(b: &Bench) -> String {
    b.log().iter().rev().take(6).map(|e| format!("{:?}", e.kind)).collect::<Vec<_>>().join("; ")
}

/// The closed solution against a general one: singular values of the whole design, cubic and edges side by side,
/// with the edges' mean as one more equation (`nalgebra` 0.35 `SVD::solve`).
#[test]
fn source_least_squares_against_an_independent_solver() {
    let b = Bench::standing(&Setup::healthy(PLOVER, 1, 90.0)).expect("a bench");
    let book = book(&b);
    let rows = 2 * EDGES + 1;
    let deg = |k: usize| if k == 2 * EDGES { 720 } else { 360 * (k / EDGES) + 6 * (k % EDGES) } as f64;
    let design = DMatrix::from_fn(rows + 1, EDGES + 4, |k, i| {
        if k == rows {
            f64::from(u8::from(i < EDGES))
        } else if i < EDGES {
            f64::from(u8::from(k % EDGES == i))
        } else {
            (deg(k) / 360.0 - 1.0).powi_of(i - EDGES)
        }
    });
    for seed in 0..5_u64 {
        let mut s = idlewright::num::Stream::new(seed, "y");
        let y: Vec<f64> = (0..rows).map(|k| s.normal() + 0.01 * deg(k)).collect();
        let mut with_mean = y.clone();
        with_mean.push(0.0);
        let x = design.clone().svd(true, true).solve(&DVector::from_vec(with_mean), 1e-12).expect("solved");
        for (a, b) in book.solve(&y).iter().zip(x.iter()) {
            assert!((a - b).abs() < 1e-9, "{a} against {b}");
        }
    }
}

trait Powi {
    fn powi_of(self, n: usize) -> f64;
}
impl Powi for f64 {
    fn powi_of(self, n: usize) -> f64 {
        (0..n).fold(1.0, |p, _| p * self)
    }
}

/// On every car, with up to 3 % of spread in real inertia and reciprocating mass: windows within 0.01°, teeth
/// within 0.03° rms.
#[test]
fn holds_learn_accuracy() {
    for (name, car) in CARS {
        for seed in seeds(2) {
            let mut b = replaced(car, seed);
            let off = b.truth().wheel_off_deg;
            survey::learn_wheel(&mut b).unwrap_or_else(|why| panic!("{name} {seed}: {why:?}"));
            let is = true_edges(&b);
            let t = &b.ecm().s.store.wheel;
            let squares: f64 = is.iter().zip(&t.edges_deg).map(|(a, b)| (a - b) * (a - b)).sum();
            let rms = (squares / EDGES as f64).sqrt();
            let s = &b.plant().s.parts.shaft;
            println!(
                "{name} {seed}: windows off {off:.3}° before, {:.4}° after; teeth {rms:.4}° rms; standard error {:.4}°; \
                 inertia {:+.1} %, moving masses {:+.1} %",
                b.truth().wheel_off_deg,
                t.error_deg,
                100.0 * (s.inertia_gain - 1.0),
                100.0 * (s.reciprocating_gain - 1.0)
            );
            assert!(b.truth().wheel_off_deg < 0.01, "{name} {seed}: windows");
            assert!(rms < 0.03, "{name} {seed}: teeth");
        }
    }
}

/// One wheel learned fifty times: the spread of the results is within 1.5 times the standard error reported; the bias
/// is printed separately.
#[test]
fn holds_standard_error() {
    for (name, car) in CARS {
        let b = replaced(car, 3);
        let firing = 120 / b.cylinders();
        let differences =
            |e: &[f64]| -> Vec<f64> { (0..EDGES - firing).map(|k| e[k + firing] - e[k]).collect() };
        let truth = differences(&true_edges(&b));
        let n = 50;
        let mut all: Vec<Vec<f64>> = Vec::new();
        let mut told = 0.0;
        let mut x = b.clone();
        for k in 0..n {
            // each time at a later moment of the same engine's life; six attempts are allowed per key cycle
            if k > 0 && k % 6 == 0 {
                stop_from_hold(&mut x, 10.0);
                x.act("", Action::Key(Key::On));
                x.advance_by(1.0);
                x.act("", Action::Key(Key::Crank));
                x.advance_by(15.0);
            }
            x.forget_attempts();
            survey::learn_wheel(&mut x).unwrap_or_else(|why| panic!("{name} {k}: {why:?}"));
            let t = &x.ecm().s.store.wheel;
            told += t.error_deg / f64::from(n);
            all.push(differences(&t.edges_deg));
        }
        let mean: Vec<f64> =
            (0..truth.len()).map(|i| all.iter().map(|d| d[i]).sum::<f64>() / f64::from(n)).collect();
        let sd = |i: usize| {
            let squares: f64 = all.iter().map(|d| (d[i] - mean[i]) * (d[i] - mean[i])).sum();
            (squares / f64::from(n - 1)).sqrt()
        };
        let spread = (0..truth.len()).map(sd).sum::<f64>() / truth.len() as f64;
        let bias = (0..truth.len()).map(|i| (mean[i] - truth[i]).abs()).fold(0.0, f64::max);
        println!(
            "{name}: told {told:.5}°, spread of 50 {spread:.5}°, ratio {:.2}; largest bias {bias:.4}°",
            told / spread
        );
        assert!((1.0 / 1.5..1.5).contains(&(told / spread)), "{name}: told {told}, seen {spread}");
    }
}

/// The solution from sums equals the solution from single cycles: one more identical cycle changes nothing.
#[test]
fn holds_sums_of_like_cycles() {
    let b = Bench::standing(&Setup::healthy(PLOVER, 1, 90.0)).expect("a bench");
    let book = book(&b);
    let mut stream = idlewright::num::Stream::new(1, "y");
    let y: Vec<f64> = (0..2 * EDGES + 1).map(|_| stream.normal()).collect();
    let mut sums = Sums::default();
    for _ in 0..3 {
        sums.add(&book, &y);
    }
    let s = sums.solve(&book);
    assert!(s.error_deg < 1e-6);
    for (a, b) in s.edges_deg.iter().zip(book.solve(&y)) {
        assert!((a - b).abs() < 1e-9);
    }
}

/// Each entry condition alone causes a refusal, which names the condition.
#[test]
fn trips_entry_conditions() {
    let mut cold = Bench::new(&Setup::healthy(PLOVER, 1, 40.0), &mut |_| true).expect("a bench");
    key_on(&mut cold);
    assert_eq!(refused(&mut cold), Refused::NotRunning);
    cold.act("", Action::Key(Key::Crank));
    cold.advance_by(10.0);
    let why = refused(&mut cold);
    assert!(matches!(why, Refused::CoolantOutside { is_c, .. } if (39.5..49.5).contains(&is_c)), "{why:?}");
    let warm = survey::warm(&Setup::healthy(PLOVER, 1, 90.0)).expect("it starts");
    let mut b = warm.clone();
    b.act("", Action::Brake(true));
    b.act("", Action::Gear(Gear::Drive));
    b.advance_by(2.0);
    assert_eq!(refused(&mut b), Refused::InGear);
    let mut b = warm.clone();
    b.act("", Action::Load(Load::HeatedGlass, true));
    b.advance_by(2.0);
    assert_eq!(refused(&mut b), Refused::LoadOn);
    let mut b = warm.clone();
    b.act("", Action::Interrupt(2, 60.0));
    b.advance_by(120.0);
    b.act("", Action::Interrupt(2, 0.0));
    assert_eq!(refused(&mut b), Refused::CodeStored("P0302".into()));
}

/// Run-downs are discarded, each with its reason, and a key cycle allows no more than six attempts.
#[test]
fn trips_run_downs() {
    let mut b = replaced(PLOVER, 1);
    begin(&mut b);
    // pedal touched on the way down
    until_let_go(&mut b);
    b.act("", Action::Pedal(0.0));
    b.advance_by(0.4);
    b.act("", Action::Pedal(6.0));
    b.advance_by(0.1);
    assert!(thrown(&b, ThrownAway::Pedal), "{}", last_notes(&b));
    // a load switched on the way down
    until_let_go(&mut b);
    b.act("", Action::Pedal(0.0));
    b.advance_by(0.4);
    b.act("", Action::Load(Load::Lamps, true));
    b.advance_by(0.2);
    assert!(thrown(&b, ThrownAway::Load), "{}", last_notes(&b));
    b.act("", Action::Load(Load::Lamps, false));
    // released too late
    until_let_go(&mut b);
    b.advance_by(4.0);
    assert!(thrown(&b, ThrownAway::LiftedLate), "{}", last_notes(&b));
    for _ in 0..3 {
        until_let_go(&mut b);
        b.advance_by(4.0);
    }
    let because = Failed::AttemptsUsedUp { of: 6 };
    assert_eq!(b.ecm().s.routine, RoutineState::Failed { routine: Routine::LearnWheel, because });
    assert!(!b.ecm().s.store.wheel.edges_deg.iter().all(|e| *e == 0.0), "the works' table is still there");
    assert_eq!(b.ecm().s.store.wheel.by, Writer::Factory);
    b.act("", Action::Pedal(0.0));
    b.advance_by(10.0);
    assert_eq!(refused(&mut b), Refused::AttemptsUsedUp { of: 6 });
    // another key cycle allows new attempts
    stop_from_hold(&mut b, 10.0);
    b.act("", Action::Key(Key::On));
    b.advance_by(1.0);
    b.act("", Action::Key(Key::Crank));
    b.advance_by(15.0);
    begin(&mut b);
}

/// Learned values are saved when the after-run ends, not before; and which events erase them, by profile.
#[test]
fn holds_what_erases_the_table() {
    let mut b = replaced(PLOVER, 2);
    let works = b.ecm().s.store.wheel.edges_deg.clone();
    survey::learn_wheel(&mut b).expect("learned");
    let learned = b.ecm().s.store.wheel.edges_deg.clone();
    assert_ne!(works, learned);
    // key on again before the after-run has saved
    let mut early = b.clone();
    stop_from_hold(&mut early, 2.0);
    early.act("", Action::Key(Key::On));
    early.advance_by(1.0);
    assert_eq!(early.ecm().s.store.wheel.edges_deg, works);
    stop_from_hold(&mut b, 10.0);
    b.act("", Action::Key(Key::On));
    b.advance_by(1.0);
    assert_eq!(b.ecm().s.store.wheel.edges_deg, learned);
    let mut clear = b.clone();
    clear.act("", Action::Ask(DiagRequest::ClearCodes));
    assert_eq!(clear.ecm().s.store.wheel.edges_deg, learned, "a code clear is no relearn");
    let mut reset = b.clone();
    reset.act("", Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::WheelTable))));
    assert!(!reset.ecm().s.store.wheel.learned);
    let mut blank = b.clone();
    stop_from_hold(&mut blank, 10.0);
    blank.act("", Action::Fit(PartChoice::new(PartKind::Module)));
    assert!(!blank.ecm().s.store.wheel.learned);
    for (profile, kept) in [("mixed", true), ("lasting", true), ("volatile", false)] {
        let mut setup = Setup::healthy(PLOVER, 2, 90.0);
        setup.memory_profile = Some(profile.into());
        let mut b = Bench::standing(&setup).expect("a bench");
        b.advance_by(1.0);
        b.act("", Action::Connector(Connector::Battery, false));
        b.advance_by(5.0);
        b.act("", Action::Connector(Connector::Battery, true));
        b.advance_by(1.0);
        assert_eq!(b.ecm().s.store.wheel.learned, kept, "{profile}");
    }
}

fn coast(car: &str, seed: u64, minutes: f64, pattern: &str, edit: impl Fn(&mut Bench)) -> Bench {
    let mut b = replaced(car, seed);
    b.act("", Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::WheelTable))));
    stop_from_hold(&mut b, 12.0);
    b.act("", Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::WheelTable))));
    b.act("", Action::Key(Key::On));
    b.advance_by(1.0);
    b.act("", Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::WheelTable))));
    b.act("", Action::Key(Key::Crank));
    b.advance_by(15.0);
    assert!(!b.ecm().s.store.wheel.learned);
    let name = idlewright::bench::pattern::Name::ALL.iter().find(|(n, _)| *n == pattern).expect("pattern").1;
    b.act("", Action::Drive { pattern: name, minutes });
    for _ in 0..(minutes * 60.0) as usize + 20 {
        b.advance_by(1.0);
        edit(&mut b);
    }
    b
}

/// The road method on the Whimbrel: clean coast-downs teach the wheel; the windows are learned nearly as well as by
/// the run-downs of the stationary routine. Cars without the method learn nothing from coast-downs.
#[test]
fn practice_coast_downs_teach_the_wheel() {
    for seed in seeds(2) {
        let b = coast(CARS[2].1, seed, 10.0, "coast_downs", |_| ());
        let w = &b.ecm().s.store.wheel;
        println!(
            "seed {seed}: learned {} by {:?}, off {:.4}°; {}",
            w.learned,
            w.by,
            b.truth().wheel_off_deg,
            last_notes(&b)
        );
        assert!(w.learned && w.by == Writer::CoastDowns);
        assert!(b.truth().wheel_off_deg < 0.03, "{}", b.truth().wheel_off_deg);
    }
    let b = coast(PLOVER, 1, 10.0, "coast_downs", |_| ());
    assert!(!b.ecm().s.store.wheel.learned);
}

/// A disturbed coast-down is discarded with its reason: brake, pedal, a load, a rough road, another gear, fuel that
/// comes back too early. A pull that is too short does not start the method, nor does any pull while the method may
/// not run.
#[test]
fn trips_coast_downs() {
    use idlewright::ecm::crank_learn::{Event, Inputs, State};
    let b = Bench::standing(&Setup::healthy(CARS[2].1, 1, 90.0)).expect("a bench");
    let (cal, book) = (b.ecm().calibration().s.wheel.clone(), book(&b));
    let pull = Inputs {
        rpm: 2300.0,
        pedal_pct: 29.0,
        cut: false,
        standing: false,
        loads: 0,
        map_kpa: 60.0,
        ambient_kpa: 101.0,
        road_may: true,
        road_km_h: 95.0,
        brake: false,
        rough: false,
    };
    let roll = Inputs { rpm: 1740.0, pedal_pct: 0.0, cut: true, map_kpa: 25.0, ..pull };
    // 3.5 s of pull, 2.5 s of coasting, then the disturbance
    let run = |pulled: usize, last: Inputs| {
        let mut s = State::default();
        for _ in 0..pulled {
            assert_eq!(s.coast(&cal, &book, &pull, 0.01), None);
        }
        for _ in 0..250 {
            assert_eq!(s.coast(&cal, &book, &Inputs { road_may: last.road_may, ..roll }, 0.01), None);
        }
        s.coast(&cal, &book, &last, 0.01)
    };
    let thrown = [
        (Inputs { brake: true, ..roll }, ThrownAway::Brake),
        (Inputs { pedal_pct: 5.0, ..roll }, ThrownAway::Pedal),
        (Inputs { loads: 4, ..roll }, ThrownAway::Load),
        (Inputs { rough: true, ..roll }, ThrownAway::RoughRoad),
        (Inputs { rpm: 2400.0, ..roll }, ThrownAway::GearChange),
        (Inputs { cut: false, ..roll }, ThrownAway::FewCycles { cycles: 0 }),
    ];
    for (last, why) in thrown {
        assert_eq!(run(350, last), Some(Event::Thrown(why)));
        assert_eq!(run(200, last), None, "too short a pull");
        assert_eq!(run(350, Inputs { road_may: false, ..last }), None, "it may not run");
    }
    assert_eq!(run(350, roll), None, "undisturbed it goes on");
}
