//! Misfire: what a missed push does to the windows, the limits, who is accused, a stale and a bent wheel table.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, DUNLIN, PLOVER, WHIMBREL, has_code, seeds, stop_from_hold, warm};
use idlewright::batch;
use idlewright::bench::action::{Action, Key, PartChoice, PartKind};
use idlewright::bench::setup::Setup;
use idlewright::bench::survey::{self, Shadow};
use idlewright::bench::{Bench, Done};
use idlewright::ecm::Ecm;
use idlewright::ecm::misfire::Off;
use idlewright::link::{DiagRequest, DiagResponse, Group, Routine};
use idlewright::plant::ignition::breakdown_kv;
use idlewright::plant::parts::{CrankSensor, Wheel, edges_deg};
use idlewright::signals::{SensorFrame, ToothEdge};

fn start(b: &mut Bench) {
    b.act("", Action::Key(Key::On));
    b.advance_by(1.0);
    b.act("", Action::Key(Key::Crank));
    b.advance_by(20.0);
    assert!(b.observe().live.running, "it runs");
}
fn hold(b: &mut Bench, rpm: f64, for_s: f64) {
    b.act("", Action::Hold { rpm, nm: 0.0 });
    b.advance_by(for_s);
}
fn counts(b: &Bench) -> Vec<u32> {
    b.observe().misfires.iter().map(|m| m.count).collect()
}

/// A serial of the flexplate under which, on this car, a window of the works' table is off by so much \[deg\].
fn stale_flexplate(car: &str, seed: u64, low: f64, high: f64) -> PartChoice {
    for k in 0..400 {
        let part = PartChoice { serial: Some(format!("FP{k}")), ..PartChoice::new(PartKind::Wheel) };
        let mut setup = Setup::healthy(car, seed, 90.0);
        setup.parts = vec![part.clone()];
        let b = Bench::standing(&setup).expect("a bench");
        if (low..high).contains(&b.truth().wheel_off_deg) {
            return part;
        }
    }
    panic!("no such flexplate");
}

/// Paschen's curve for air, 24.22 x + 6.08 √x kV with x in cm at 1 atm and 293 K (Craggs and Meek, from memory):
/// 1 cm breaks down at about 30 kV, 1 mm at about 4.3 kV; twice the pressure is twice the gap.
#[test]
fn source_paschen() {
    let at = |mm: f64, p: f64| breakdown_kv(mm, p * 101_325.0, 293.0);
    assert!((at(10.0, 1.0) - 30.3).abs() < 0.01 && (at(1.0, 1.0) - 4.345).abs() < 0.01);
    assert!((at(0.9, 2.0) - at(1.8, 1.0)).abs() < 1e-12);
}

/// A missed firing takes its gross work W out of ½Jω²: the index of its window is at least the even share
/// W/(2 J span²), and more since torque comes early: up to 1.6 times for a window from top to top, and a quarter
/// more for one that begins 48° later. Work and inertia are this engine's own.
#[test]
fn exact_missed_index_against_the_energy_balance() {
    let mut b = warm(PLOVER, 1, vec![]);
    survey::learn_wheel(&mut b).expect("learned");
    let edges = b.ecm().s.store.wheel.edges_deg.clone();
    let p = b.plant().params().clone();
    let j = p.crank.inertia_kg_m2 * b.plant().s.parts.shaft.inertia_gain;
    for rpm in [None, Some(2000.0), Some(4000.0)] {
        let mut b = b.clone();
        survey::hold(&mut b, rpm, None, 10.0);
        let mut shadow = [Shadow::new(Some(&edges))];
        // what a missed cycle lacks against a burned one, from the cycles themselves
        let burned: f64 = b.plant().s.accounts.iter().map(|a| a.imep_pa()).sum::<f64>() / 4.0;
        survey::watch(&mut b, 1500.0, &[0.02; 4], &mut shadow);
        let mut dead = b.clone();
        dead.act("", Action::Interrupt(1, 100.0));
        dead.advance_by(0.5);
        let lost_j = (burned - dead.plant().s.accounts[0].last.imep_pa) * p.cylinder.swept_m3();
        let span = std::f64::consts::PI;
        let even = lost_j / (2.0 * j * span * span);
        let seen = shadow[0].score.missed.mean();
        println!(
            "{rpm:?}: lost {lost_j:.0} J, even share {even:.1}, seen {seen:.1} 1/s², ratio {:.2}",
            seen / even
        );
        assert!((1.0..2.0).contains(&(seen / even)), "{seen} against {even}");
    }
}

/// The module fed with a recorded trace of its pins, and no engine at all, counts the same.
#[test]
fn same_counts_from_a_recorded_pin_trace() {
    let mut b = Bench::standing(&Setup::healthy(PLOVER, 3, 90.0)).expect("a bench");
    let mut alone = b.ecm().clone();
    b.act("", Action::Interrupt(3, 6.0));
    let mut trace: Vec<(Option<ToothEdge>, Option<SensorFrame>)> = Vec::new();
    let mut keep = |e: Option<&ToothEdge>, f: Option<&SensorFrame>| trace.push((e.copied(), f.cloned()));
    for (act, seconds) in [
        (Action::Key(Key::On), 1.0),
        (Action::Key(Key::Crank), 15.0),
        (Action::Hold { rpm: 2500.0, nm: 0.0 }, 30.0),
        (Action::Pedal(0.0), 20.0),
    ] {
        b.act("", act);
        b.advance_watched(seconds, &mut keep);
    }
    let n = feed(&mut alone, &trace);
    assert!(n > 10_000, "{n} edges");
    let told = counts(&b);
    println!("counted {told:?}");
    assert!(told[2] > 5, "{told:?}");
    assert_eq!(alone.s.misfire, b.ecm().s.misfire);
}

fn feed(ecm: &mut Ecm, trace: &[(Option<ToothEdge>, Option<SensorFrame>)]) -> usize {
    let mut n = 0;
    for (edge, frame) in trace {
        if let Some(e) = edge {
            ecm.edge(e);
            n += 1;
        }
        if let Some(f) = frame {
            ecm.sample(f);
        }
    }
    n
}

/// M11: a flexplate replaced, the table stale. No counts at idle; false counts from about the speed at which the
/// largest false index that wheel and table make together passes the limit there, in companion pairs; a code in
/// a drive. M13: learned, no counts up to the top, and a real 2 % misfire is found on the right cylinder.
#[test]
fn m11_m13_stale_table_and_learned() {
    for seed in seeds(2) {
        let part = stale_flexplate(PLOVER, seed, 0.30, 0.40);
        let mut b = warm(PLOVER, seed, vec![part]);
        b.advance_by(120.0);
        assert_eq!(counts(&b).iter().sum::<u32>(), 0, "seed {seed}: counts at idle");
        let cal = b.ecm().calibration().s.misfire.clone();
        let off: Vec<f64> = {
            let t = b.truth();
            t.windows.iter().map(|w| w.is_deg - w.believed_deg).collect()
        };
        // d = (T_n − T_{n−1})/T³ for windows of span + off: the largest of the firing order
        let false_index = |rpm: f64| {
            let t = 30.0 / rpm;
            (0..4).map(|k| (off[k] - off[(k + 3) % 4]) / 180.0 / (t * t)).fold(0.0, f64::max)
        };
        let onset = (700..6200)
            .map(f64::from)
            .find(|rpm| false_index(*rpm) > cal.limit_at(*rpm, cal.no_load_kpa.at(*rpm)))
            .expect("an onset");
        // found: the slowest speed at which at least a tenth of the suspect windows count
        let mut found = None;
        let mut rpm = 1400.0;
        while rpm < 6000.0 {
            let mut x = b.clone();
            hold(&mut x, rpm, 12.0);
            let before = counts(&x).iter().sum::<u32>();
            x.advance_by(10.0);
            let windows = rpm / 60.0 * 10.0;
            let now = counts(&x).iter().sum::<u32>() - before;
            if f64::from(now) > 0.5 * windows {
                found = Some(rpm);
                let c = counts(&x);
                let (a, b) = (c[0] + c[3], c[1] + c[2]);
                assert!(a.max(b) > 9 * a.min(b), "seed {seed}: companion pairs: {c:?}");
                break;
            }
            rpm += 100.0;
        }
        let found = found.unwrap_or(f64::MAX);
        println!(
            "seed {seed}: windows off {:.3}°, onset computed {onset:.0}, found {found:.0} rpm",
            b.truth().wheel_off_deg
        );
        assert!((found / onset - 1.0).abs() < 0.2, "seed {seed}: found {found}, computed {onset}");
        // a code in a drive at such speed
        let mut x = b.clone();
        hold(&mut x, found + 500.0, 60.0);
        assert!(has_code(&x, "P0300"), "seed {seed}: {:?}", x.observe().codes);
        // learned
        survey::learn_wheel(&mut b).unwrap_or_else(|why| panic!("seed {seed}: {why:?}"));
        for rpm in [3000.0, 4500.0, 5800.0] {
            hold(&mut b, rpm, 40.0);
        }
        // some 9000 turns with the ways up between them: one may come
        let came = counts(&b);
        assert!(came.iter().sum::<u32>() <= 1, "seed {seed}: {came:?}");
        b.act("", Action::Interrupt(2, 2.0));
        hold(&mut b, 3000.0, 60.0);
        let c: Vec<u32> = counts(&b).iter().zip(&came).map(|(a, b)| a - b).collect();
        println!("seed {seed}: learned, 2 % in cylinder 2 at 3000: {c:?}");
        assert!(c[1] >= 20 && c[0] + c[2] + c[3] == 0, "seed {seed}: {c:?}");
    }
}

/// M11, the sensor: a good new one changes windows by about a hundredth of a degree and nothing is counted; on
/// a bent bracket many change by 0.15° and more.
#[test]
fn m11_crank_sensor_good_and_bent() {
    let car = idlewright::bench::car::Car::parse(PLOVER).expect("the car");
    let spread = &car.plant.spread;
    let (mut most_good, mut bent_over) = (0.0_f64, 0);
    for k in 0..60 {
        let wheel = Wheel::new(spread, format!("W{k}"));
        let old = CrankSensor::new(spread, format!("A{k}"));
        let window = |s: &CrankSensor| {
            let e = edges_deg(&wheel, s, 75.0);
            e[57] - e[27]
        };
        let good = CrankSensor::new(spread, format!("B{k}"));
        let bent = CrankSensor::on_bracket(spread, format!("C{k}"), true);
        most_good = most_good.max((window(&good) - window(&old)).abs());
        bent_over += u32::from((window(&bent) - window(&old)).abs() >= 0.15);
    }
    println!(
        "good sensors change a window by {most_good:.3}° at most; {bent_over} of 60 bent ones by 0.15° or more"
    );
    assert!(most_good < 0.035 && bent_over > 25);
    let good = PartChoice { serial: Some("GOOD1".into()), ..PartChoice::new(PartKind::CrankSensor) };
    let mut b = warm(PLOVER, 1, vec![good]);
    for rpm in [3000.0, 4500.0, 5800.0] {
        hold(&mut b, rpm, 30.0);
    }
    assert_eq!(counts(&b).iter().sum::<u32>(), 0, "{:?}", counts(&b));
}

/// M12: with the stale table a real misfire is masked in part, or another cylinder is accused beside it.
#[test]
fn m12_stale_table_hides_and_accuses() {
    let part = stale_flexplate(PLOVER, 1, 0.30, 0.40);
    let mut b = warm(PLOVER, 1, vec![part]);
    b.act("", Action::Interrupt(1, 5.0));
    b.act("", Action::Interrupt(2, 5.0));
    hold(&mut b, 4500.0, 20.0);
    let before: Vec<u64> = b.truth().cylinders.iter().map(|c| c.misfires).collect();
    let counted = counts(&b);
    b.advance_by(60.0);
    let real: Vec<u64> = b.truth().cylinders.iter().zip(&before).map(|(c, b)| c.misfires - b).collect();
    let told: Vec<u32> = counts(&b).iter().zip(&counted).map(|(a, b)| a - b).collect();
    println!("real {real:?}, counted {told:?}");
    let masked = (0..2).any(|c| f64::from(told[c]) < 0.8 * real[c] as f64);
    let wrong = (0..4).any(|c| f64::from(told[c]) > 1.5 * real[c] as f64 + 10.0);
    assert!(masked || wrong, "real {real:?}, counted {told:?}");
}

/// M15: without a learned table nothing is counted above the limit, and the standard's code matures; below it a
/// real misfire is still found. The Dunlin's table is suspect after a confirmed misfire, mended or not.
#[test]
fn m15_blind_without_a_table() {
    let mut b = warm(PLOVER, 2, vec![]);
    stop_from_hold(&mut b, 12.0);
    b.act("", Action::Key(Key::On));
    b.advance_by(2.0);
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::WheelTable)));
    assert_eq!(b.act("", reset), Done::Answer(DiagResponse::Ok));
    b.act("", Action::Key(Key::Crank));
    b.advance_by(30.0);
    assert!(has_code(&b, "P0315"));
    b.act("", Action::Interrupt(2, 8.0));
    hold(&mut b, 3500.0, 60.0);
    assert_eq!(b.ecm().s.misfire.off, Off::TooFast);
    assert!(counts(&b).iter().sum::<u32>() < 40, "only on the way up: {:?}", counts(&b));
    let before = counts(&b);
    hold(&mut b, 1800.0, 60.0);
    assert!(counts(&b)[1] > before[1] + 30, "{:?}", counts(&b));

    let mut d = warm(DUNLIN, 2, vec![]);
    for _ in 0..2 {
        d.act("", Action::Interrupt(3, 12.0));
        hold(&mut d, 2500.0, 90.0);
        d.act("", Action::Interrupt(3, 0.0));
        stop_from_hold(&mut d, 12.0);
        start(&mut d);
    }
    assert!(d.ecm().s.store.wheel.suspect, "{:?}", d.observe().codes);
    hold(&mut d, 3500.0, 20.0);
    assert_eq!(d.ecm().s.misfire.off, Off::TooFast, "mended or not");
}

/// M14: the Whimbrel's fired refinement takes a weak cylinder for the wheel: driven for long with cylinder 2 some
/// 15 % weak its table is bent by hundredths of a degree; without it, hardly. Plover and Dunlin learn in fuel cut
/// only, where the same weak cylinder bends the table by less than 0.02°.
#[test]
fn m14_fired_refinement_bends_the_table() {
    let weak = || PartChoice { error_pct: Some(-20.0), ..PartChoice::new(PartKind::Injector(2)) };
    let bend = |parts: Vec<PartChoice>| {
        let mut b = warm(WHIMBREL, 1, parts);
        let before = b.truth().wheel_off_deg;
        b.act("", Action::Hold { rpm: 2500.0, nm: 70.0 });
        b.advance_by(2400.0);
        (before, b.truth().wheel_off_deg, b)
    };
    let (_, healthy, _) = bend(vec![]);
    let (before, bent, mut b) = bend(vec![weak()]);
    println!("Whimbrel: off by {before:.3}° before, {bent:.3}° with a weak cylinder, {healthy:.3}° without");
    assert!(bent > 0.02 && bent > 2.0 * healthy, "{bent} against {healthy}");
    // mended and learned: clean
    stop_from_hold(&mut b, 12.0);
    b.act("", Action::Fit(PartChoice { error_pct: Some(0.0), ..PartChoice::new(PartKind::Injector(2)) }));
    start(&mut b);
    survey::learn_wheel(&mut b).expect("learned");
    assert!(b.truth().wheel_off_deg < 0.012, "{}", b.truth().wheel_off_deg);
    for car in [PLOVER, DUNLIN] {
        let leaky = PartChoice { leak_mm2: Some(0.6), ..PartChoice::new(PartKind::Rings(2)) };
        let mut b = warm(car, 1, vec![leaky]);
        survey::learn_wheel(&mut b).expect("learned");
        println!("leaking cylinder, learned in fuel cut: off by {:.4}°", b.truth().wheel_off_deg);
        assert!(b.truth().wheel_off_deg < 0.02);
    }
}

/// One chain tooth out: the module sees its cam late and says so; on the book's tooth it says nothing.
#[test]
fn practice_cam_a_tooth_out() {
    for late in [0.0, 1.0, -1.0] {
        let part = PartChoice { teeth_late: Some(late), ..PartChoice::new(PartKind::CamDrive) };
        let mut b = warm(PLOVER, 1, vec![part]);
        b.advance_by(30.0);
        let o = b.observe();
        println!(
            "{late} teeth late: idle {:?} rpm, {:.1} kPa, codes {:?}",
            o.idle.map(|i| i.mean_rpm),
            o.live.map_kpa,
            o.codes
        );
        assert_eq!(has_code(&b, "P0016"), late != 0.0);
    }
}

/// A weak coil fails under load first: nothing at idle, misfires at high manifold pressure. A wide gap does too.
#[test]
fn practice_weak_spark_fails_under_load_first() {
    let weak = PartChoice { wear_pct: Some(66.0), ..PartChoice::new(PartKind::Coil(3)) };
    let wide = PartChoice { gap_mm: Some(2.9), ..PartChoice::new(PartKind::Plug(3)) };
    for part in [weak, wide] {
        let mut b = warm(PLOVER, 1, vec![part]);
        b.advance_by(60.0);
        let at_idle = b.truth().cylinders[2].misfires;
        survey::hold(&mut b, Some(3000.0), Some(85.0), 60.0);
        let loaded = b.truth().cylinders[2].misfires - at_idle;
        println!("idle {at_idle}, loaded {loaded}");
        assert!(at_idle <= 3 && loaded > 100, "idle {at_idle}, loaded {loaded}");
    }
}

/// 13 CCR 1968.2 (e)(3), from memory: misfire that would overheat the catalyst makes the lamp blink while it lasts. The
/// injector's cut is the module's own; the code stands.
#[test]
fn source_harmful_misfire_blinks_and_cuts() {
    let mut b = warm(PLOVER, 1, vec![]);
    b.act("", Action::Interrupt(3, 70.0));
    hold(&mut b, 3000.0, 4.0);
    let mut blinked = false;
    for _ in 0..150 {
        b.advance_by(0.1);
        blinked |= b.observe().lamp == idlewright::bench::view::Lamp::Blink;
    }
    assert!(blinked);
    assert!(
        has_code(&b, "P0303") && has_code(&b, "P0316") && !has_code(&b, "P0300"),
        "{:?}",
        b.observe().codes
    );
    b.advance_by(30.0);
    assert!(b.ecm().s.misfire.cut[2] && b.ecm().out().inject_us[2] == 0.0);
    stop_from_hold(&mut b, 12.0);
    b.act("", Action::Interrupt(3, 0.0));
    start(&mut b);
    assert!(!b.ecm().s.misfire.cut[2], "a new trip feeds it again");
}

/// Who clears the codes of counted misfires gets the cylinder back that was cut because of them: a relearn that follows
/// has all cylinders.
#[test]
fn bug_cleared_codes_leave_no_injector_cut() {
    for (name, car) in CARS {
        let mut b = warm(car, 1, vec![]);
        b.act("", Action::Interrupt(3, 70.0));
        hold(&mut b, 3000.0, 4.0);
        b.advance_by(60.0);
        assert!(b.ecm().s.misfire.cut[2], "{name}");
        b.act("", Action::Interrupt(3, 0.0));
        b.act("", Action::Ask(DiagRequest::ClearCodes));
        b.advance_by(1.0);
        assert!(!b.ecm().s.misfire.cut[2] && b.ecm().out().inject_us[2] > 0.0, "{name}");
    }
}

/// A healthy engine that is revved to its limiter in neutral has no misfires: a median of differences of time lagged behind
/// an engine that gains 10 000 rpm in a second, and four such revs set the codes of all cylinders.
#[test]
fn bug_revving_without_load_counted_misfires() {
    for (name, car) in CARS {
        for seed in 1..=3 {
            let mut b = warm(car, seed, vec![]);
            for (pct, for_s) in [(100.0, 1.5), (100.0, 1.5), (100.0, 5.0), (40.0, 0.5), (60.0, 0.8)] {
                b.act("", Action::Pedal(pct));
                b.advance_by(for_s);
                b.act("", Action::Pedal(0.0));
                b.advance_by(5.0);
            }
            assert_eq!(counts(&b).iter().sum::<u32>(), 0, "{name}, seed {seed}: {:?}", counts(&b));
            assert!(b.observe().codes.is_empty(), "{name}, seed {seed}: {:?}", b.observe().codes);
        }
    }
}

/// Fuel that comes again after an overrun burns at once: what is left in the cylinders is air, and the first charge after the cut
/// was too lean for it. Truth: firings that were lost.
#[test]
fn bug_the_first_charge_after_an_overrun_was_lost() {
    for (name, car) in CARS {
        for seed in 1..=3 {
            let mut b = warm(car, seed, vec![]);
            let lost = |b: &Bench| b.truth().cylinders.iter().map(|c| c.misfires).sum::<u64>();
            let before = lost(&b);
            for _ in 0..6 {
                hold(&mut b, 3550.0, 6.0);
                b.act("", Action::Pedal(0.0));
                b.advance_by(4.0);
            }
            assert!(lost(&b) - before <= 1, "{name}, seed {seed}: {} in six overruns", lost(&b) - before);
        }
    }
}

/// Twenty engines with wheels of their own: with a learned table at least 98 % of real misfires are found on the
/// right cylinder and at most one in 10 000 turns is counted that was none.
#[test]
fn holds_detection_over_wheels() {
    let all = batch::curves(PLOVER, 20, 500.0, &[3000.0, 6000.0], &|_| ()).expect("curves");
    for c in &all {
        println!(
            "{:.0} rpm {:.0} kPa: found {:.1} / {:.1} / {:.1} / {:.1} %, false in 1000 turns {:.3}, not learned {:.1}; lost {}",
            c.rpm,
            c.map_kpa,
            c.found_pct(0, 0),
            c.found_pct(1, 0),
            c.found_pct(2, 0),
            c.found_pct(3, 0),
            c.wrong_per_1000(4, 0),
            c.wrong_per_1000(4, 1),
            c.lost
        );
        for share in 0..4 {
            assert!(c.found_pct(share, 0) >= 98.0, "{c:?}");
        }
        assert!(c.wrong_per_1000(4, 0) <= 0.1, "{c:?}");
    }
    assert!(all[2].wrong_per_1000(4, 1) > 1.0, "without a table the low load at 6000 rpm is past telling");
}
