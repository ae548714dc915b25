//! What the bench hands out for a drawing of the engine: it stands where the model stands, tells what an eye or a
//! scope on a wire would, and nothing that a lid hides.

use crate::bay::{CARS, start_in};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, PartChoice, PartKind};
use idlewright::bench::setup::Setup;
use idlewright::bench::view::Stroke;
use idlewright::scenario;
use idlewright::session::desk::{Desk, Reach};
use idlewright::session::{Options, Viewer};
use idlewright::store;

fn running(car: usize) -> Bench {
    let mut b = Bench::standing(&Setup::healthy(store::CARS[car].1, 1, 90.0)).expect("a car that ships");
    start_in(&mut b, 15.0);
    b
}

/// On by about one step of the crank.
fn step(b: &mut Bench) {
    b.advance_by(1e-7);
}

#[test]
fn exact_pistons_stand_where_the_volume_says() {
    for (_, car) in store::CARS {
        let b = Bench::standing(&Setup::healthy(car, 1, 90.0)).expect("a car that ships");
        let shape = b.engine_shape();
        let p = &b.plant().params().cylinder;
        let area = std::f64::consts::FRAC_PI_4 * p.bore_mm * p.bore_mm;
        for deg in (0..720).step_by(10) {
            let deg = f64::from(deg);
            let by_volume = (p.volume_m3(deg) - p.clearance_m3()) * 1e9 / area;
            assert!((shape.drop_mm(deg) - by_volume).abs() < 1e-6, "{deg}");
        }
    }
}

#[test]
fn holds_every_cylinder_goes_through_its_strokes_in_order() {
    for car in 0..store::CARS.len() {
        let mut b = running(car);
        let n = b.cylinders();
        let order = b.engine_shape().firing_order;
        let mut strokes: Vec<Vec<Stroke>> = vec![Vec::new(); n];
        let mut fired: Vec<u8> = Vec::new();
        let (mut sparked, mut injected) = (vec![0; n], vec![0; n]);
        let mut before = b.engine_view();
        let until = b.turns() + 6.0;
        while b.turns() < until {
            step(&mut b);
            let v = b.engine_view();
            for (c, now) in v.cylinders.iter().enumerate() {
                let was = &before.cylinders[c];
                if strokes[c].last() != Some(&now.stroke) {
                    strokes[c].push(now.stroke);
                    if now.stroke == Stroke::Power {
                        fired.push(now.cylinder);
                    }
                }
                sparked[c] += u32::from(now.sparks && !was.sparks);
                injected[c] += u32::from(now.injects && !was.injects);
                let shut = matches!(now.stroke, Stroke::Power);
                assert!(
                    !shut || (now.inlet_lift, now.exhaust_lift) == (0.0, 0.0),
                    "a valve open while it burns"
                );
                assert!((0.0..=1.0).contains(&now.inlet_lift) && (0.0..=1.0).contains(&now.exhaust_lift));
            }
            before = v;
        }
        let next = [Stroke::Power, Stroke::Exhaust, Stroke::Intake, Stroke::Compression];
        for all in &strokes {
            for pair in all.windows(2) {
                let k = next.iter().position(|s| *s == pair[0]).expect("one of four");
                assert_eq!(pair[1], next[(k + 1) % 4]);
            }
        }
        // six turns are three cycles; a cylinder in mid-spark at either end makes it one more or less
        assert!(sparked.iter().all(|k| (2..=4).contains(k)), "{sparked:?}");
        assert!(injected.iter().all(|k| (2..=4).contains(k)), "{injected:?}");
        // what is in its power stroke at the start was met first
        for pair in fired.windows(2).skip(1) {
            let k = order.iter().position(|c| *c == pair[0]).expect("in the order");
            assert_eq!(pair[1], order[(k + 1) % n], "{fired:?}");
        }
    }
}

#[test]
fn holds_a_plug_that_is_off_is_seen_and_carries_nothing() {
    let mut b = running(0);
    assert!(b.engine_view().pulled.is_empty());
    for c in [Connector::Injector(2), Connector::Coil(3)] {
        b.act("", Action::Connector(c, false));
    }
    let v = b.engine_view();
    assert_eq!(v.pulled, [Connector::Injector(2), Connector::Coil(3)]);
    let until = b.turns() + 4.0;
    while b.turns() < until {
        step(&mut b);
        let v = b.engine_view();
        assert!(!v.cylinders[1].injects && !v.cylinders[2].sparks);
    }
}

/// Draper's point, 798 K: what is hotter glows (Draper, 1847, M).
const GLOWS_FROM_C: f64 = 525.0;

/// A cold brick is dark; one that is pulled hard on glows, with the lid on or off.
#[test]
fn holds_a_hot_catalyst_is_seen_to_glow() {
    for car in [0, 2] {
        let mut b = running(car);
        let banks = usize::from(*b.engine_shape().banks.iter().max().expect("a bank"));
        let dark = b.engine_view().glow;
        let c = |b: &Bench| b.truth().exhausts.iter().map(|x| x.catalyst_c).collect::<Vec<_>>();
        assert_eq!(dark.len(), banks);
        for (g, at_c) in dark.iter().zip(c(&b)) {
            assert_eq!(*g > 0.0, at_c > GLOWS_FROM_C + 12.0, "{g} at {at_c:.0} °C");
        }
        // a cylinder without spark is soon without fuel: a steady pull heats it as well, from cold
        b.act("", Action::Hold { rpm: 3000.0, nm: 60.0 });
        b.advance_by(300.0);
        let (lit, at_c) = (b.engine_view().glow[0], c(&b)[0]);
        println!("car {car}: {:.0} °C glows {lit}", at_c);
        assert!(at_c > 700.0 && lit > 0.0, "{lit} at {at_c:.0} °C");
        assert!(lit < 1.0 || at_c > 980.0, "{lit} at {at_c:.0} °C");
    }
}

#[test]
fn holds_looking_changes_nothing() {
    let mut b = running(2);
    let mut twin = b.clone();
    for _ in 0..200 {
        b.advance_by(0.003);
        let _ = (b.engine_view(), b.gas_truth());
    }
    twin.advance_to(b.time_s());
    assert_eq!(b.state_hash(), twin.state_hash());
}

#[test]
fn holds_the_gas_is_kept_back_by_the_lid() {
    let s = store::shipped("healthy-idle").expect("shipped");
    let mut car = |n: &str| store::car_text(n, None);
    let scenario = scenario::parse_scenario(s.text, s.id, &mut car).expect("reads");
    let mut desk = Desk::new(&scenario, &Options::default(), &mut |_| true).expect("a desk");
    assert!(desk.session().seen_by(Viewer::Trainee).gas().is_none());
    desk.lid(true).expect("it lets it");
    desk.act("", &Action::Wait, Reach::Both);
    let gas = desk.session().seen_by(Viewer::Trainee).gas().expect("under an open lid");
    assert_eq!(gas.len(), desk.session().bench().cylinders());
    assert!(gas.iter().all(|g| g.p_kpa > 10.0 && g.t_k > 250.0));
    desk.lid(false).expect("closed again");
    assert!(desk.session().seen_by(Viewer::Trainee).gas().is_none());
}

/// The film that the learned idle air stands for, by choked flow through the drawn gap, is the film on the bore; and a
/// clean body needs none. Within the margin that idle learning leaves by itself.
#[test]
fn holds_learned_idle_air_drawn_as_a_film_is_the_film_on_the_bore() {
    for film in [0.0, 20.0, 40.0] {
        let body = PartChoice { deposit_um: Some(film), ..PartChoice::new(PartKind::ThrottleBody) };
        for (name, car) in CARS {
            let setup = Setup { parts: vec![body.clone()], ..Setup::healthy(car, 1, 90.0) };
            let b = Bench::standing(&setup).expect("a car that ships");
            let needed = b.truth().idle_air_needed_g_s;
            let drawn = b.engine_shape().film_for_um(needed, 101.3, 25.0);
            println!("{name}: {film} µm on the bore, {needed:+.2} g/s drawn as {drawn:.1} µm");
            assert!((drawn - film).abs() < 5.0 + 0.1 * film, "{name}: {drawn:.1} µm for {film} µm");
        }
    }
}

/// A gap opens with the plate, and a clean plate on its stop leaves what seals it badly.
#[test]
fn exact_gap_round_a_clean_plate() {
    for (_, car) in CARS {
        let b = Bench::standing(&Setup::healthy(car, 1, 90.0)).expect("a car that ships");
        let (shape, air) = (b.engine_shape(), &b.plant().params().air);
        let shut = 1e3 * air.seal_leak_mm2 / (std::f64::consts::PI * air.bore_mm);
        assert!((shape.throttle_gap_um(0.0) - shut).abs() < 1e-9);
        let clean = b.plant().s.parts.throttle.clone();
        for opening in [0.5, 1.0, 2.0, 4.0] {
            let area = idlewright::plant::air::open_area_mm2(air, &clean, opening);
            let film = idlewright::plant::air::film_area_mm2(air.bore_of_mm(&clean), clean.deposit_um);
            let drawn = shape.throttle_gap_um(opening) * 1e-3 * std::f64::consts::PI * air.bore_mm;
            assert!((drawn / (area + film) - 1.0).abs() < 0.02, "{drawn} mm² drawn, {area} mm² open");
        }
    }
}
