//! Vapour over the fuel: pressure against closed forms, what the fuel gives off, and what stays as it was.

use crate::bay::{WHIMBREL, act, bench, close_to, start, warm};
use idlewright::bench::action::{Action, Connector, PartChoice, PartKind};
use idlewright::bench::car::Car;
use idlewright::bench::setup::Setup;
use idlewright::num;
use idlewright::plant::vapour::{Around, Params, State, hole_mm2, pace, saturated_pa};

fn params() -> Params {
    Car::parse(WHIMBREL).expect("a car").plant.vapour.clone().expect("it has the system")
}

fn sealed() -> Around {
    Around {
        ambient_pa: 101_325.0,
        ambient_k: 293.15,
        gas_l: 32.5,
        vent_shut: true,
        hole_mm: [0.0, 0.0],
        cap_on: true,
        running: false,
        purged_kg: 0.0,
    }
}

/// Without vapour the vacuum over a hole decays as `√|p| = √|p₀| − k t/2` until it is gone: the closed form of the orifice
/// law on an isothermal volume. Every hole, volume and place of it; the method's own error at 10 ms is below a thousandth of
/// the vacuum.
#[test]
fn exact_vacuum_decays_with_its_root() {
    let p = Params { evaporates_cm3_s: 0.0, ..params() };
    for gas_l in [9.0, 32.5, 55.0] {
        for hole in [0.5, 1.0, 2.0] {
            for at in [0, 1] {
                let mut hole_mm = [0.0; 2];
                hole_mm[at] = hole;
                let a = Around { gas_l, hole_mm, ..sealed() };
                let mut s = State::at_rest(Some(&p), 293.15);
                s.gauge_pa = -2000.0;
                let k = pace(hole_mm2(hole), gas_l + p.free_l, a.ambient_pa, a.ambient_k);
                let gone_s = 2.0 * 2000.0_f64.sqrt() / k;
                for n in 1..=2000 {
                    s.tick(&p, &a, 0.01);
                    let left = (2000.0_f64.sqrt() - 0.5 * k * 0.01 * f64::from(n)).max(0.0);
                    close_to(&format!("{gas_l} L, {hole} mm, {n}"), s.gauge_pa, -left * left, 2.0);
                }
                println!("{gas_l} L, {hole} mm: gone after {gone_s:.1} s");
            }
        }
    }
}

/// A millimetre at 2 kPa and 30 L by hand: 0.6 · 0.7854 mm² · √(2 · 2000 Pa/1.204 kg/m³) = 27.2 cm³/s, 92 Pa/s.
#[test]
fn exact_millimetre_by_hand() {
    close_to("effective area [mm²]", hole_mm2(1.0), 0.471_24, 1e-5);
    let k = pace(hole_mm2(1.0), 30.0, 101_325.0, 293.15);
    close_to("[Pa/s]", k * 2000.0_f64.sqrt(), 91.7, 0.5);
}

/// What the purge valve takes from a shut tank lowers its pressure by `R T m/V`.
#[test]
fn exact_drawn_mass_lowers_the_pressure() {
    let p = Params { evaporates_cm3_s: 0.0, ..params() };
    let mut s = State::at_rest(Some(&p), 293.15);
    let gas_m3 = 1e-3 * (32.5 + p.free_l);
    for n in 1..=100 {
        let drawn_kg = 5e-6 * f64::from(n);
        s.tick(&p, &Around { purged_kg: drawn_kg, ..sealed() }, 0.01);
        close_to("gauge [Pa]", s.gauge_pa, -287.05 * 293.15 * drawn_kg / gas_m3, 0.01);
    }
}

/// Vapour pressure of petrol: as stated at 37.8 °C, and over the temperature what EPA AP-42, table 7.1-2, has for a petrol
/// of 10 psi at 100 °F: 3.4 at 40 °F, 4.2 at 50, 7.4 at 80, 8.8 at 90 (from memory); 60 and 70 °F fitted the law.
#[test]
fn source_vapour_pressure_over_temperature() {
    let p = params();
    close_to("at 37.8 °C [Pa]", saturated_pa(&p, 310.95), 60_000.0, 1.0);
    for (fahrenheit, psi) in [(40.0, 3.4), (50.0, 4.2), (80.0, 7.4), (90.0, 8.8)] {
        let share = saturated_pa(&p, 273.15 + (fahrenheit - 32.0) / 1.8) / 60_000.0;
        println!("{fahrenheit} °F: {share:.3} of the pressure at 100 °F, {:.3} published", 0.1 * psi);
        close_to("share", share, 0.1 * psi, 0.03);
    }
}

/// Vapour drawn off comes back as a first-order lag: `p_v = p_sat − Δ exp(−t/τ)`, and a sealed tank's pressure with it.
#[test]
fn exact_vapour_comes_back() {
    let p = params();
    let gas_cm3 = 1e3 * (32.5 + p.free_l);
    let tau_s = gas_cm3 / p.evaporates_cm3_s;
    let mut s = State::at_rest(Some(&p), 293.15);
    let full_pa = s.vapour_pa;
    s.vapour_pa -= 1000.0;
    for n in 1..=60_000 {
        s.tick(&p, &sealed(), 0.01);
        let back = 1.0 - num::exp(-0.01 * f64::from(n) / tau_s);
        if n % 6000 == 0 {
            close_to("vapour [Pa]", s.vapour_pa, full_pa - 1000.0 * (1.0 - back), 0.5);
            close_to("gauge [Pa]", s.gauge_pa, 1000.0 * back, 0.5);
        }
    }
}

/// A short step and a long one of a car at rest come to the same, vent open and shut.
#[test]
fn holds_step_does_not_matter() {
    let p = params();
    for vent_shut in [false, true] {
        let a = Around { vent_shut, ambient_k: 303.15, ..sealed() };
        let [short, long] = [0.01, 10.0].map(|dt| {
            let mut s = State::at_rest(Some(&p), 293.15);
            for _ in 0..(1800.0 / dt) as usize {
                s.tick(&p, &a, dt);
            }
            s
        });
        println!("vent shut {vent_shut}: {short:?}, {long:?}");
        close_to("gauge [Pa]", long.gauge_pa, short.gauge_pa, 30.0);
        close_to("fuel [K]", long.fuel_k, short.fuel_k, 0.01);
        close_to("vapour [Pa]", long.vapour_pa, short.vapour_pa, 30.0);
    }
}

/// The cap's own valves bound the pressure of a sealed tank: a night in the heat, and a valve that goes on drawing.
#[test]
fn holds_cap_bounds_the_pressure() {
    let p = params();
    let mut s = State::at_rest(Some(&p), 283.15);
    for _ in 0..8640 {
        s.tick(&p, &Around { ambient_k: 318.15, ..sealed() }, 10.0);
    }
    println!("a day at 45 °C, filled at 10: {:.0} Pa", s.gauge_pa);
    assert!((11_000.0..12_600.0).contains(&s.gauge_pa), "{s:?}");
    let mut s = State::at_rest(Some(&p), 293.15);
    let mut purged_kg = 0.0;
    let mut lowest_pa = 0.0_f64;
    for _ in 0..60_000 {
        purged_kg += 1e-6 * 5.0;
        s.tick(&p, &Around { purged_kg, ..sealed() }, 0.01);
        lowest_pa = lowest_pa.min(s.gauge_pa);
    }
    println!("drawn at 0.5 g/s for ten minutes: {lowest_pa:.0} Pa");
    assert!((-7000.0..-6000.0).contains(&lowest_pa), "{lowest_pa}");
}

/// With the vent open the engine takes no notice of holes, cap and level: pins and gas to the last bit, but for the tank's
/// own sensor. Ordinary purging pulls a few tenths of a kilopascal at most.
#[test]
fn holds_open_vent_changes_nothing() {
    let drive = |hole_mm: Option<f64>| {
        let parts = hole_mm.map(|mm| PartChoice { hole_mm: Some(mm), ..PartChoice::new(PartKind::FuelCap) });
        let setup = Setup { canister_pct: 60.0, ..Setup::healthy(WHIMBREL, 3, 85.0) };
        let mut b = bench(&Setup { parts: parts.into_iter().collect(), ..setup });
        start(&mut b);
        act(&mut b, Action::Hold { rpm: 2000.0, nm: 40.0 });
        let mut lowest_kpa = 0.0_f64;
        for _ in 0..200 {
            b.advance_by(1.0);
            lowest_kpa = lowest_kpa.min(b.truth().tank_kpa);
        }
        let l = b.ecm().live();
        (
            lowest_kpa,
            b.plant().s.air.manifold_pa,
            b.plant().s.totals.purge_kg,
            l.short_pct,
            l.engine_speed_rpm,
        )
    };
    let (sound, holed) = (drive(None), drive(Some(1.0)));
    println!("lowest {:.3} kPa, purged {:.1} g", sound.0, 1e3 * sound.2);
    assert!(sound.2 > 1e-3, "it was purged");
    assert!((-0.3..-0.01).contains(&sound.0), "{}", sound.0);
    assert_eq!((sound.1, sound.2, sound.3, sound.4), (holed.1, holed.2, holed.3, holed.4));
}

/// A car without the system has no cap to take off, no such part and no sensor.
#[test]
fn holds_other_cars_have_none() {
    use idlewright::bench::Done;
    use idlewright::bench::facts::Hindrance;
    let mut b = warm(crate::bay::PLOVER, 1, vec![]);
    let cap = b.act("", Action::Connector(Connector::FuelCap, false));
    assert_eq!(cap, Done::Hindered(Hindrance::NoVapourSystem));
    crate::bay::stop(&mut b);
    for kind in [PartKind::FuelCap, PartKind::VapourLine, PartKind::VentValve] {
        let done = b.act("", Action::Fit(PartChoice::new(kind)));
        assert_eq!(done, Done::Hindered(Hindrance::NoVapourSystem), "{kind:?}");
    }
    assert_eq!(b.ecm().live().tank_kpa, 0.0);
}
