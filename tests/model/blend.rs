//! Blends of petrol and ethanol: what they are, what is in the tank, and when it comes to the injectors.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::{CARS, WHIMBREL, act, close_to, hold, standing, start, within};
use idlewright::bench::action::{Action, Key};
use idlewright::bench::car::Car;
use idlewright::bench::setup::{FuelSetup, Setup};
use idlewright::num;
use idlewright::plant::fuel;
use idlewright::plant::parts::LevelSensor;

/// Density of ethanol 789 kg/m³ (CRC Handbook, 20 °C) and of petrol 720 to 775 kg/m³ (EN 228, 15 °C). E85 is told as 780
/// to 790 kg/m³ at 15 °C (common in the trade's data sheets; from memory).
#[test]
fn source_density_of_blends() {
    close_to("ethanol", fuel::density_kg_m3(100.0), 789.0, 1.0);
    within("E0", "density", fuel::density_kg_m3(0.0), 720.0, 775.0);
    within("E85", "density", fuel::density_kg_m3(85.0), 778.0, 790.0);
}

/// Lower heating value: ethanol 26.8 to 26.9 MJ/kg, petrol 42.4 to 44 MJ/kg (Heywood 1988, table D.4, from memory). By volume E85 has
/// 71 to 75 % of petrol's energy (US DOE, Alternative Fuels Data Center: 27 % less in E85, less with less ethanol;
/// from memory). The heat of a stoichiometric charge is nearly the same for both.
#[test]
fn source_heat_of_blends() {
    within("ethanol", "heat", 1e-6 * fuel::blend(100.0).heat_j_kg, 26.7, 27.0);
    within("petrol", "heat", 1e-6 * fuel::blend(0.0).heat_j_kg, 42.4, 44.0);
    let by_litre = |pct: f64| fuel::blend(pct).heat_j_kg * fuel::density_kg_m3(pct);
    within("E85", "energy by volume over petrol's", by_litre(85.0) / by_litre(0.0), 0.71, 0.75);
    let by_air = |pct: f64| fuel::blend(pct).heat_j_kg / fuel::blend(pct).afr;
    within("E100", "heat of a charge over petrol's", by_air(100.0) / by_air(0.0), 0.99, 1.03);
}

/// Latent heat: ethanol 840 kJ/kg, petrol 350 kJ/kg (Heywood 1988, table D.4, from memory; others have up to 920 for ethanol at
/// 25 °C). For a stoichiometric charge ethanol takes about four times petrol's.
#[test]
fn source_latent_heat_of_blends() {
    within("ethanol", "latent", 1e-3 * fuel::latent_j_kg(100.0), 840.0, 920.0);
    within("petrol", "latent", 1e-3 * fuel::latent_j_kg(0.0), 305.0, 380.0);
    let by_air = |pct: f64| fuel::latent_j_kg(pct) / fuel::blend(pct).afr;
    within("E100", "latent heat of a charge over petrol's", by_air(100.0) / by_air(0.0), 3.6, 4.4);
    assert_eq!(fuel::film_colder_k(0.0), 0.0);
}

/// Bernoulli: through one hole at one pressure drop mass goes with the root of density.
#[test]
fn exact_injector_flow_goes_with_the_root_of_density() {
    assert_eq!(fuel::flows(0.0), 1.0);
    close_to("E85", fuel::flows(85.0), (782.4f64 / 745.0).sqrt(), 1e-9);
}

/// 20 L of E85 to 10 L of petrol: 56.7 %. No more than the tank holds goes in.
#[test]
fn exact_tank_mixes_by_volume_and_does_not_overflow() {
    for (name, car) in CARS {
        let mut setup = Setup::healthy(car, 1, 20.0);
        let tank_l = standing(&setup).plant().params().fuel.tank_l;
        setup.fuel = FuelSetup { full_pct: 1000.0 / tank_l, alcohol_pct: Some(0.0), station_pct: Some(85.0) };
        let mut b = standing(&setup);
        act(&mut b, Action::Refuel(20.0));
        let t = b.truth();
        close_to(name, t.tank_l, 30.0, 1e-9);
        close_to(name, t.tank_alcohol_pct, 85.0 * 20.0 / 30.0, 1e-9);
        assert_eq!(t.fuel_alcohol_pct, 0.0, "{name}: it is not at the injectors yet");
        act(&mut b, Action::Refuel(100.0));
        close_to(name, b.truth().tank_l, tank_l, 1e-9);
    }
}

/// New fuel comes to the injectors when the line is used up. Eight cells in a row give, after `x` volumes of the line, the
/// share `1 − e^(−8x) Σ (8x)^k/k!`, k from 0 to 7 (mixed vessels in series).
#[test]
fn exact_new_fuel_comes_after_the_volume_of_the_line() {
    let mut setup = Setup::healthy(WHIMBREL, 1, 88.0);
    setup.fuel = FuelSetup { full_pct: 10.0, alcohol_pct: Some(0.0), station_pct: Some(85.0) };
    let mut b = standing(&setup);
    act(&mut b, Action::Refuel(50.0));
    let new_pct = b.truth().tank_alcohol_pct;
    let (line_l, before_l) = (b.plant().params().fuel.line_l, b.truth().tank_l);
    start(&mut b);
    let mut seen = 0;
    for _ in 0..60 {
        hold(&mut b, 2000.0, 60.0, 5.0);
        let t = b.truth();
        let y = 8.0 * (before_l - t.tank_l) / line_l;
        let (mut term, mut sum) = (1.0, 1.0);
        for k in 1..8 {
            term *= y / f64::from(k);
            sum += term;
        }
        let share = 1.0 - num::exp(-y) * sum;
        close_to(&format!("after {:.3} L", before_l - t.tank_l), t.fuel_alcohol_pct / new_pct, share, 0.01);
        seen += u32::from((0.1..0.9).contains(&share));
    }
    assert!(seen >= 3, "the front passed too fast to be watched: {seen}");
    assert!(b.truth().fuel_alcohol_pct > 0.98 * new_pct, "{}", b.truth().fuel_alcohol_pct);
}

/// Level sensors of many serials: within the maker's 3 % of the tank, none the same, centred, and as wide as a normal spread of 1.5 % that
/// is cut at two of them (by its closed form 0.880 · 1.5 = 1.32 %; of 400 draws 5 % off at most). On every car the module reads the
/// level by its nominal curve and so is off by its own sensor's share, the same serial alike; a full tank is as full as the arm's stop.
#[test]
fn exact_level_sensor_is_off_by_its_makers_spread() {
    let spread = Car::parse(WHIMBREL).expect("a car").plant.spread.clone();
    let off: Vec<f64> = (0..400).map(|n| LevelSensor::new(&spread, format!("S{n}")).offset_pct).collect();
    let mean = off.iter().sum::<f64>() / 400.0;
    let sd = (off.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 400.0).sqrt();
    println!("level sensors: mean {mean:+.2} %, standard deviation {sd:.2} %");
    assert!(off.iter().all(|x| x.abs() <= 3.0) && off.iter().any(|x| x.abs() > 2.5));
    within("400 serials", "mean", mean, -0.2, 0.2);
    within("400 serials", "standard deviation", sd, 1.25, 1.39);
    assert_eq!(off[7], LevelSensor::new(&spread, "S7".into()).offset_pct);
    for (name, car) in CARS {
        for seed in 1..=4 {
            for full_pct in [50.0, 100.0] {
                let mut setup = Setup::healthy(car, seed, 20.0);
                setup.fuel.full_pct = full_pct;
                let mut b = standing(&setup);
                act(&mut b, Action::Key(Key::On));
                b.advance_by(12.0);
                let is = b.plant().s.parts.level_sensor.offset_pct;
                let seen = b.observe().live.fuel_level_pct;
                let in_it_pct = 100.0 * b.truth().tank_l / b.plant().params().fuel.tank_l;
                let wanted = (in_it_pct + is).clamp(0.0, 100.0);
                close_to(
                    &format!("{name}, seed {seed}, {full_pct} % full, off by {is:+.2}"),
                    seen,
                    wanted,
                    0.02,
                );
                let told =
                    b.truth().parts.into_iter().find(|p| p.name == "level_sensor").expect("it is told of");
                assert_eq!(told.is["level_off_pct"], is);
            }
        }
    }
}
