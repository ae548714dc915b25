//! The plant's own laws against closed forms, independent programs and books: no engine runs here but one that is motored.

use super::hands::built;
use super::sources::*;
use super::{
    ALL_RIGHT, Case, EVERY_CAR, PLOVER, Row, Sheet, System::Engine, System::Fuel, System::Misfire, Trial, row,
};
use crate::num::{self, FlowFunction};
use crate::plant::cylinder::{self, AIR, Charge, FUEL_VAPOUR, FuelHeat, Gas, Kinematics, PRODUCTS};
use crate::plant::ignition::breakdown_kv;
use crate::plant::{self, Plant, air, fuel};
use crate::signals::ActuatorFrame;
use crate::units::rad_s;
use std::sync::Arc;

const fn about(id: &'static str, source: &'static Source, value: f64, allowed: f64) -> Row {
    row(id, Engine, source, value - allowed, value + allowed)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            about("critical-ratio", &ORIFICE, 0.52828, 5e-5).in_unit("", 5),
            about("choked-flow", &ORIFICE, 0.68473, 5e-5).in_unit("", 5),
            about("orifice-choked", &ORIFICE, 2.41439, 0.0025).in_unit("g/s", 4),
            about("orifice-below", &ORIFICE, 4.70026, 0.0005).in_unit("g/s", 4),
            about("air-density-0", &ATMOSPHERE, 1.2250, 5e-5).in_unit("kg/m³", 4),
            about("air-density-1600", &ATMOSPHERE, 1.04764, 2e-4).in_unit("kg/m³", 4),
            about("air-density-3000", &ATMOSPHERE, 0.90925, 2e-4).in_unit("kg/m³", 4),
            about("plate-10", &PLATE, 0.007785, 1e-5).in_unit("", 6),
            about("plate-30", &PLATE, 0.127245, 1e-5).in_unit("", 6),
            about("plate-60", &PLATE, 0.494103, 1e-5).in_unit("", 6),
            about("film-area", &PLATE, 1.88, 0.006).in_unit("mm²", 3),
            about("wiebe-half", &WIEBE, 50.0, 0.01).in_unit("%", 2),
            about("wiebe-end", &WIEBE, 99.326, 0.005).in_unit("%", 3),
            about("woschni-motored", &WOSCHNI, 124.603, 0.01).in_unit("W/m²K", 2),
            about("woschni-fired", &WOSCHNI, 1143.2, 0.1).in_unit("W/m²K", 1),
            about("gamma-fresh-300", &GAS, 1.3549, 3e-3).in_unit("", 4),
            about("gamma-fresh-700", &GAS, 1.2927, 3e-3).in_unit("", 4),
            about("gamma-burned-2000", &GAS, 1.2538, 4.5e-3).in_unit("", 4),
            about("gamma-burned-2500", &GAS, 1.2486, 4.5e-3).in_unit("", 4),
            row("half-burned", Engine, &MARKER, 8.0, 10.0).in_unit("°", 1),
            row("peak-angle", Engine, &MARKER, 14.0, 16.0).in_unit("°", 1),
            row("paschen-10", Misfire, &PASCHEN, 29.0, 31.0).in_unit("kV", 2),
            row("paschen-1", Misfire, &PASCHEN, 4.2, 4.5).in_unit("kV", 2),
        ],
        go: forms,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("ratio-petrol", Fuel, &FORMULA, 14.59, 14.61).in_unit("", 2),
            row("ratio-e10", Fuel, &FORMULA, 13.965, 14.015).in_unit("", 2),
            row("ratio-e85", Fuel, &FORMULA, 9.79, 9.81).in_unit("", 2),
            row("ratio-ethanol", Fuel, &FORMULA, 8.99, 9.01).in_unit("", 2),
        ],
        go: blends,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            row("injector-root", Fuel, &FORMULA, 1.0801, 1.08014).in_unit("", 5),
            row("dead-time-8", Fuel, &PRACTICE, 1.8, 2.2).in_unit("ms", 2),
            row("dead-time-14", Fuel, &PRACTICE, 0.8, 1.0).in_unit("ms", 2),
            row("dead-time-slope", Fuel, &PRACTICE, -0.13, -0.06).in_unit("ms/V", 3),
            row("film-share", Fuel, &FILM, 0.1, 0.4).in_unit("", 2),
            row("film-time", Fuel, &FILM, 0.2, 1.0).in_unit("s", 2),
        ],
        go: injection,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("friction-700", Engine, &FRICTION, 0.935, 1.265).in_unit("bar", 2),
            row("friction-3000", Engine, &FRICTION, 1.59, 2.15).in_unit("bar", 2),
            row("friction-6000", Engine, &FRICTION, 3.12, 4.22).in_unit("bar", 2),
        ],
        go: friction,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[Row {
            band: ALL_RIGHT,
            ..row("edges", super::System::Wheel, &FORMULA, 0.0, 0.0).in_unit("%", 0)
        }],
        go: edges,
    },
];

fn gamma(parts: &[(f64, Gas)], t_k: f64) -> f64 {
    let r: f64 = parts.iter().map(|(m, g)| m * g.r).sum();
    let cv: f64 = parts.iter().map(|(m, g)| m * g.cv(t_k)).sum();
    1.0 + r / cv
}

fn forms(case: &Case, sheet: &mut Sheet) {
    let f = FlowFunction::new(1.4);
    sheet.put("critical-ratio", f.critical_ratio());
    sheet.put("choked-flow", f.at(0.2));
    sheet.put("orifice-choked", 1e3 * air::orifice_kg_s(&f, 10.0, 101_325.0, 288.15, 35e3));
    sheet.put("orifice-below", 1e3 * air::orifice_kg_s(&f, 20.0, 101_325.0, 298.15, 60e3));
    // the standard's formula takes geopotential height
    let at = |h_m: f64| num::standard_density(6_356_766.0 * h_m / (6_356_766.0 + h_m));
    sheet.put("air-density-0", at(0.0));
    sheet.put("air-density-1600", at(1600.0));
    sheet.put("air-density-3000", at(3000.0));
    for (id, deg) in [("plate-10", 10.0), ("plate-30", 30.0), ("plate-60", 60.0)] {
        sheet.put(id, air::open_fraction(deg, 7.0, 0.15));
    }
    sheet.put("film-area", air::film_area_mm2(60.0, 10.0));
    sheet.put("wiebe-half", 100.0 * cylinder::wiebe(0.51755));
    sheet.put("wiebe-end", 100.0 * cylinder::wiebe(1.0));
    let w = cylinder::woschni_velocity(2.2933, 5e-4, 600.0, 800.0, 5e-4, 0.0);
    sheet.put("woschni-motored", cylinder::woschni(0.086, 800.0, 600.0, w));
    let v_d = 5e-4;
    let w = cylinder::woschni_velocity(8.6, v_d, 350.0, 100.0, v_d * 10.0 / 9.0, 4000.0 - 1800.0);
    sheet.put("woschni-fired", cylinder::woschni(0.086, 4000.0, 2300.0, w));
    let fresh = [(15.0683, AIR), (1.0, FUEL_VAPOUR)];
    sheet.put("gamma-fresh-300", gamma(&fresh, 300.0));
    sheet.put("gamma-fresh-700", gamma(&fresh, 700.0));
    sheet.put("gamma-burned-2000", gamma(&[(1.0, PRODUCTS)], 2000.0));
    sheet.put("gamma-burned-2500", gamma(&[(1.0, PRODUCTS)], 2500.0));
    sheet.put("paschen-10", breakdown_kv(10.0, 101_325.0, 293.0));
    sheet.put("paschen-1", breakdown_kv(1.0, 101_325.0, 293.0));
    let Some(b) = built(&case.setup(20.0)) else { return };
    let mut p = b.plant().params().cylinder.clone();
    (p.bore_mm, p.stroke_mm, p.rod_mm, p.compression_ratio) = (81.0, 87.0, 141.0, 10.0);
    (p.inlet_closes_abdc_deg, p.exhaust_opens_bbdc_deg) = (50.0, 50.0);
    let starts = (0..80).map(|n| 5.0 + 0.5 * f64::from(n));
    let best = starts.map(|s| (s, closed_cycle(&p, s))).reduce(|a, b| if b.1.0 > a.1.0 { b } else { a });
    if let Some((start, (_, peak_deg))) = best {
        sheet.put("half-burned", 0.51755 * FULL_BURN_DEG - start);
        sheet.put("peak-angle", peak_deg);
    }
}

/// Length of the burn at full load and 3000 rpm, from its start to its end \[deg\].
const FULL_BURN_DEG: f64 = 50.0;

/// Work \[J\] and angle of the highest pressure \[deg\] of a closed charge of full load at 3000 rpm, burning from so long
/// before top \[deg\]. Tables whose inlet closes one step before keep the first step from trapping a new charge.
fn closed_cycle(p: &cylinder::Params, start_btdc: f64) -> (f64, f64) {
    let step_deg = 1.0;
    let k = Kinematics::new(p, step_deg);
    let mut early = p.clone();
    early.inlet_closes_abdc_deg -= 2.0;
    let first = Kinematics::new(&early, step_deg);
    let omega = rad_s(3000.0);
    let fuel = FuelHeat { afr: 14.60, heat_j_kg: 43.0e6 };
    let charge = Charge { air: 480e-6, fuel: 480e-6 / 14.60, products: 22e-6 };
    let around = cylinder::Surroundings {
        dt_s: step_deg.to_radians() / omega,
        omega,
        manifold_pa: 1e5,
        charge_k: 360.0,
        exhaust_pa: 1e5,
        wall_k: 420.0,
        spark_deg: None,
        own: cylinder::Own::default(),
        fuel,
    };
    let (evo, _, ivc) = k.events();
    let burn = (-start_btdc, FULL_BURN_DEG, 0.95);
    let mut s = cylinder::State::closed_for_check(&k, charge, 360.0, fuel, omega, (420.0, 1.0), burn);
    let mut port = Charge::default();
    let (mut work, mut peak) = (0.0, (0.0, 0.0));
    for n in ivc..k.per_cycle() + evo {
        let tables = if n == ivc { &first } else { &k };
        let (out, _) = s.step(p, tables, n % k.per_cycle(), &around, &mut port);
        work += out.work_j;
        if s.p_pa > peak.0 {
            peak = (s.p_pa, (n + 1) as f64 * step_deg - 720.0);
        }
    }
    (work, peak.1)
}

fn blends(_: &Case, sheet: &mut Sheet) {
    for (id, pct) in
        [("ratio-petrol", 0.0), ("ratio-e10", 10.0), ("ratio-e85", 85.0), ("ratio-ethanol", 100.0)]
    {
        sheet.put(id, fuel::blend(pct).afr);
    }
}

fn injection(case: &Case, sheet: &mut Sheet) {
    let Some(b) = built(&case.setup(20.0)) else { return };
    let p = &b.plant().params().fuel;
    let body = &b.plant().s.parts.injectors[0];
    let kg = |kpa: f64| fuel::injected_kg(p, body, 3000.0, 14.0, kpa * 1e3);
    sheet.put("injector-root", kg(350.0) / kg(300.0));
    sheet.put("dead-time-8", 1e-3 * p.dead_us.at(8.0));
    sheet.put("dead-time-14", 1e-3 * p.dead_us.at(14.0));
    sheet.put("dead-time-slope", 0.5e-3 * (p.dead_us.at(15.0) - p.dead_us.at(13.0)));
    sheet.put("film-share", p.film_share.at(90.0));
    sheet.put("film-time", p.film_tau_s.at(90.0));
}

/// Motored warm with the throttle wide open at imposed speed, without fuel: friction and gas exchange together.
fn friction(case: &Case, sheet: &mut Sheet) {
    let Some(b) = built(&case.setup(90.0)) else { return };
    for (id, rpm) in [("friction-700", 700.0), ("friction-3000", 3000.0), ("friction-6000", 6000.0)] {
        let mut p = b.plant().params().clone();
        p.crank.inertia_kg_m2 = 1e5;
        let wide = p.sensors.throttle_closed_v + p.sensors.throttle_v_deg * p.air.widest_deg;
        let start = plant::Start {
            ambient_pa: 101_325.0,
            ambient_k: 293.15,
            coolant_k: 363.15,
            charge: 0.9,
            seed: case.seed,
            step_deg: 2.0,
        };
        let mut engine = Plant::new(Arc::new(p), &start, b.plant().s.parts.clone());
        engine.s.crank.omega = rad_s(rpm);
        let drive = ActuatorFrame { throttle_v: Some(wide), ..ActuatorFrame::default() };
        let settled = rpm / 60.0 * 2.0;
        let turn_to = |engine: &mut Plant, turns: f64| {
            while engine.s.totals.turns < turns {
                engine.step(&drive);
            }
            engine.s.totals
        };
        let from = turn_to(&mut engine, settled);
        let to = turn_to(&mut engine, settled + 40.0);
        let lost_j = to.friction_j - from.friction_j - (to.gas_work_j - from.gas_work_j);
        sheet.put(id, 1e-5 * lost_j / (engine.swept_m3() * (to.turns - from.turns) / 2.0));
    }
}

/// 58 teeth 6° apart and 18° across the gap.
fn edges(case: &Case, sheet: &mut Sheet) {
    let Some(b) = built(&case.setup(20.0)) else { return };
    let p = b.plant().params();
    let t = plant::crank::Tables::new(
        &p.crank,
        &p.cylinder,
        &b.plant().s.parts.shaft,
        &p.layout.offsets_deg(),
        2.0,
    );
    let n = plant::parts::TEETH;
    let at: Vec<f64> = (0..n).map(|i| t.edge_deg(i, 0.0)).collect();
    let apart = |i: usize| (at[(i + 1) % n] - at[i] + 720.0) % 360.0;
    let right = |i: &usize| (apart(*i) - if *i == n - 1 { 18.0 } else { 6.0 }).abs() < 1e-9;
    sheet.put_share("edges", (0..n).filter(right).count() * usize::from(n == 58), n);
}
