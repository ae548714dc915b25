//! The wide-band sensor and the fuel that its electrode does not burn: a cylinder without spark reads lean.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, PLOVER, close_to, hold, warm, within};
use idlewright::bench::Bench;
use idlewright::bench::action::Action;

/// Mean of a value of the bench over some seconds.
fn mean(b: &mut Bench, seconds: f64, what: impl Fn(&Bench) -> f64) -> f64 {
    let n = (seconds * 50.0) as usize;
    let mut sum = 0.0;
    for _ in 0..n {
        b.advance_by(0.02);
        sum += what(b);
    }
    sum / n as f64
}

/// Lambda of the gas at a bank's sensor, and the lambda that the sensor reads.
fn gas_and_seen(b: &Bench, bank: usize) -> (f64, f64) {
    let at = &b.plant().s.exhaust.banks[bank];
    (at.lambda, b.plant().params().sensors.seen_lambda(at.lambda, at.raw))
}

/// Short-term and long-term trim of a bank combined, as in force.
fn both(b: &Bench, bank: usize) -> f64 {
    let f = &b.ecm().s.fuel;
    (1.0 + f.short[bank]) * (1.0 + f.long[bank]) - 1.0
}

/// By hand: one cylinder of four without spark at lambda 1 leaves a quarter of the fuel unburned. For the fuel that
/// the electrode does not burn, the sensor sees the oxygen: 1/(1 − (0.25 − 0.03)) = 1.282. The residue of normal
/// combustion does not show.
#[test]
fn exact_raw_fuel_reads_lean_beyond_what_the_electrode_burns() {
    let car = idlewright::bench::car::Car::parse(PLOVER).expect("car");
    let sensors = &car.plant.sensors;
    close_to("burns", sensors.lambda_burns, 0.03, 1e-12);
    close_to("one of four", sensors.seen_lambda(1.0, 0.25), 1.0 / 0.78, 1e-9);
    close_to("a good flame", sensors.seen_lambda(0.95, 0.02), 0.95, 1e-12);
    close_to("air", sensors.seen_lambda(10.0, 0.1), 10.0, 1e-9);
}

/// Warm engines with every cylinder firing: the gas contains so little raw fuel that the sensor reads true within
/// half a per cent, at idle and under load.
#[test]
fn practice_a_wide_band_sensor_is_true_on_a_sound_engine() {
    for (name, car) in CARS {
        let mut b = warm(car, 3, vec![]);
        for (what, rpm, nm) in [("idle", 0.0, 0.0), ("light", 2000.0, 20.0), ("loaded", 3000.0, 70.0)] {
            if rpm > 0.0 {
                hold(&mut b, rpm, nm, 20.0);
            }
            // both at the same moment: the mixture keeps swinging
            let ratio = |b: &Bench| {
                let (gas, seen) = gas_and_seen(b, 0);
                seen / gas
            };
            let over = mean(&mut b, 10.0, ratio);
            let row = format!("{name}, {what}");
            println!("{row}: seen over gas {over:.4}");
            within(&row, "seen over gas", over, 0.995, 1.005);
        }
    }
}

/// A cylinder without spark sends its air and its fuel to the sensor; the oxygen reads as lean, so the trims rise and
/// the firing cylinders run rich. Common practice: misfire first, then a code for a lean mixture. The other bank of
/// the V6 is not affected.
#[test]
fn practice_a_dead_cylinder_reads_lean_and_trims_go_up() {
    for (name, car) in CARS {
        let mut b = warm(&car.replace("cut_blocks = 2.0", "cut_blocks = 1000.0"), 2, vec![]);
        // the Dunlin does not keep idling on three cylinders
        hold(&mut b, 2000.0, 20.0, 30.0);
        let before = mean(&mut b, 5.0, |b| both(b, 0));
        b.act("", Action::Interrupt(2, 100.0));
        let bank = usize::from(b.plant().params().layout.banks[1]) - 1;
        b.advance_by(4.0);
        let after = mean(&mut b, 4.0, |b| both(b, bank));
        let gas = mean(&mut b, 5.0, |b| gas_and_seen(b, bank).0);
        println!("{name}, bank {bank}: trims {before:+.3} to {after:+.3}, gas {gas:.3}");
        assert!(after > before + 0.12, "{name}: {before} to {after}");
        assert!(gas < 0.92, "{name}: the gas in truth {gas}");
        if b.plant().s.exhaust.banks.len() > 1 {
            let other = mean(&mut b, 4.0, |b| both(b, 1 - bank));
            within(name, "the other bank", other, -0.05, 0.05);
        }
    }
}

/// Where the module cuts the fuel of the bad cylinder, that bank's sensor sees its air: trims are held, and the
/// firing cylinders are fuelled in open loop.
#[test]
fn holds_a_cut_injector_opens_its_banks_loop() {
    for (name, car) in CARS {
        let mut b = warm(car, 2, vec![]);
        b.act("", Action::Interrupt(2, 100.0));
        hold(&mut b, 3000.0, 30.0, 60.0);
        let bank = usize::from(b.plant().params().layout.banks[1]) - 1;
        assert!(b.ecm().s.misfire.cut[1], "{name}: the injector is cut");
        assert!(b.ecm().s.fuel.short[bank] == 0.0 && !b.ecm().s.fuel.closed_loop[bank], "{name}");
        let all = b.truth().cylinders;
        let firing = all.iter().enumerate().filter(|(c, _)| *c != 1).map(|(_, c)| c.lambda);
        let mean = firing.sum::<f64>() / (all.len() - 1) as f64;
        println!("{name}: cylinders that fire at {mean:.3}");
        within(name, "cylinders that fire", mean, 0.85, 1.06);
    }
}
