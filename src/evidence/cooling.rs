//! Coolant over minutes and half-hours, and how hot the catalyst gets.

use super::hands::{act, built, crank, drive, hold, start, stop, worn};
use super::sources::*;
use super::{Case, EVERY_CAR, PLOVER, Row, Sheet, System::Catalyst, System::Cooling, Trial, row};
use crate::bench::action::{Action, Connector, Load, PartKind};
use crate::bench::pattern::Name;
use crate::bench::setup::Setup;
use crate::bench::{Bench, gas, survey};
use crate::units::kelvin;

const fn warmth(id: &'static str, low: f64, high: f64) -> Row {
    row(id, Cooling, &PRACTICE, low, high).in_unit("°C", 0)
}
const fn minutes(id: &'static str, low: f64, high: f64) -> Row {
    row(id, Cooling, &PRACTICE, low, high).in_unit("min", 1)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial { cars: EVERY_CAR, seeds: false, rows: &[minutes("warm-up-idle", 15.0, 20.0)], go: warm_up_idling },
    Trial { cars: EVERY_CAR, seeds: false, rows: &[minutes("warm-up-town", 8.0, 10.0)], go: warm_up_in_town },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[warmth("fan-unplugged", 110.0, f64::INFINITY)],
        go: without_fan,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[warmth("stuck-open-town", 45.0, 60.0), warmth("stuck-open-motorway", 45.0, 60.0)],
        go: stuck_open,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("heat-share", Cooling, &BALANCE, 25.0, 35.0).in_unit("%", 1),
            row("hot-soak", Cooling, &PRACTICE, 5.0, 15.0).in_unit("K", 1),
        ],
        go: heat,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("catalyst-idle", Catalyst, &PRACTICE, 200.0, 450.0).in_unit("°C", 0),
            row("catalyst-2500", Catalyst, &PRACTICE, 400.0, 500.0).in_unit("°C", 0),
            row("catalyst-3000", Catalyst, &PRACTICE, 600.0, 750.0).in_unit("°C", 0),
            row("catalyst-kept", Catalyst, &PRACTICE, 99.9, 100.0).in_unit("%", 2),
            row("catalyst-hc", Catalyst, &CONVERSION, 0.0, 20.0).in_unit("%", 1),
        ],
        go: catalyst,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("half-new", Catalyst, &CONVERSION, 250.0, 300.0).in_unit("°C", 0),
            row("at-400", Catalyst, &CONVERSION, 95.0, 100.0).in_unit("%", 1),
            row("half-aged", Catalyst, &PRACTICE, 40.0, 100.0).in_unit("K", 0),
            row("lights-off", Catalyst, &PRACTICE, 30.0, 120.0).in_unit("s", 0),
        ],
        go: light_off,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            row("misfire-heat", Catalyst, &PARTS, 250.0, 550.0).in_unit("K", 0),
            row("misfire-heat-share", Catalyst, &MISFIRE_HEAT, 10.0, 15.0).in_unit("K/%", 1),
        ],
        go: misfire_heat,
    },
];

fn warm_up_idling(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.in_air(20.0, 20.0)) else { return };
    crank(&mut b);
    let from_s = b.time_s();
    while b.truth().coolant_c < 80.0 && b.time_s() < from_s + 3000.0 {
        b.advance_by(5.0);
    }
    sheet.put("warm-up-idle", (b.time_s() - from_s) / 60.0);
}

fn warm_up_in_town(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.in_air(20.0, 20.0)) else { return };
    if !start(&mut b, 10.0) {
        return;
    }
    let from_s = b.time_s() - 10.0;
    drive(&mut b, Name::Town, 40.0, |b| b.truth().coolant_c >= 80.0);
    sheet.put("warm-up-town", (b.time_s() - from_s) / 60.0);
}

/// Half an hour of idling in hot air with the compressor on and the fan's plug off.
fn without_fan(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.in_air(90.0, 35.0)) else { return };
    act(&mut b, Action::Connector(Connector::Fan, false));
    if !start(&mut b, 10.0) {
        return;
    }
    act(&mut b, Action::Load(Load::Compressor, true));
    b.advance_by(1790.0);
    sheet.put("fan-unplugged", b.truth().coolant_c);
}

/// A thermostat that stays nine tenths open, at 5 °C.
fn stuck_open(case: &Case, sheet: &mut Sheet) {
    for (id, pattern) in [("stuck-open-town", Name::Town), ("stuck-open-motorway", Name::Motorway)] {
        let parts = vec![worn(PartKind::Thermostat, 90.0)];
        let Some(mut b) = built(&Setup { parts, ..case.in_air(55.0, 5.0) }) else { return };
        if !start(&mut b, 10.0) {
            return;
        }
        drive(&mut b, pattern, 14.0, |_| false);
        let (mut sum, mut n) = (0.0, 0.0);
        drive(&mut b, pattern, 6.0, |b| {
            // the last minutes are told
            (sum, n) = (sum + b.truth().coolant_c, n + 1.0);
            false
        });
        sheet.put(id, sum / n);
    }
}

/// Heat that coolant and oil have taken up: from the gas, valves shut and open, from the ports, and of friction \[J\].
fn taken_up_j(b: &Bench) -> f64 {
    let s = &b.plant().s;
    let ports_j: f64 = s.catalysts.banks.iter().map(|c| c.totals.lost_j[0]).sum();
    s.totals.wall_j + s.totals.open_wall_j + ports_j + s.totals.friction_j
}

/// That heat over the fuel's, at a steady 2500 rpm; how much warmer the coolant gets after the key is off.
fn heat(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    hold(&mut b, 2500.0, 40.0, 120.0);
    let from = (taken_up_j(&b), b.plant().s.totals.injected_kg);
    b.advance_by(60.0);
    let fuel_j = (b.plant().s.totals.injected_kg - from.1) * b.plant().fuel_heat().heat_j_kg;
    sheet.put("heat-share", 100.0 * (taken_up_j(&b) - from.0) / fuel_j);
    hold(&mut b, 3000.0, 60.0, 240.0);
    let was = b.truth().coolant_c;
    stop(&mut b);
    let mut most = was;
    for _ in 0..60 {
        b.advance_by(15.0);
        most = most.max(b.truth().coolant_c);
    }
    sheet.put("hot-soak", most - was);
}

fn catalyst_c(b: &Bench) -> f64 {
    b.truth().exhausts[0].catalyst_c
}

fn catalyst(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(300.0);
    sheet.put("catalyst-idle", catalyst_c(&b));
    let mut left = 0.0f64;
    for _ in 0..30 {
        b.advance_by(1.0);
        let (front, rear) = (gas::ahead(b.plant(), 0), gas::tailpipe(b.plant()));
        left = left.max(rear.hc_ppm / front.hc_ppm);
    }
    sheet.put("catalyst-hc", 100.0 * left);
    let mut without_load = b.clone();
    hold(&mut without_load, 2500.0, 0.0, 240.0);
    sheet.put("catalyst-2500", catalyst_c(&without_load));
    hold(&mut b, 3000.0, 40.0, 240.0);
    sheet.put("catalyst-3000", catalyst_c(&b));
    sheet.put("catalyst-kept", 100.0 * b.truth().exhausts[0].catalyst_health);
}

fn light_off(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.in_air(20.0, 20.0)) else { return };
    let p = b.plant().params().catalyst.clone();
    // a space velocity of 50 000 an hour
    let flow = p.brick_l * 1e-3 * 50_000.0 / 3600.0 * 1.293;
    let half = |health: f64| {
        let lit = |c: &f64| p.converts(health, kelvin(*c), flow) >= 0.5;
        (100..600).map(f64::from).find(lit).unwrap_or(f64::NAN)
    };
    sheet.put("half-new", half(1.0));
    sheet.put("at-400", 100.0 * p.converts(1.0, kelvin(400.0), flow));
    sheet.put("half-aged", half(0.1) - half(1.0));
    crank(&mut b);
    let from_s = b.time_s();
    while b.time_s() < from_s + 300.0 {
        b.advance_by(1.0);
        let flow = b.plant().s.exhaust.banks[0].flow_kg_s;
        if p.converts(1.0, kelvin(catalyst_c(&b)), flow) > 0.5 {
            sheet.put("lights-off", b.time_s() - from_s);
            return;
        }
    }
}

/// Cylinder 2 misses a share of its firings at 2500 rpm and 30 N·m, and the module takes no fuel from it.
fn misfire_heat(case: &Case, sheet: &mut Sheet) {
    let mut setup = case.setup(90.0);
    setup.car_toml = case.text.replace("cut_blocks = 2.0", "cut_blocks = 1000.0");
    let hot = |pct: f64| {
        let mut b = survey::warm(&setup).ok()?;
        hold(&mut b, 2500.0, 30.0, 150.0);
        act(&mut b, Action::Interrupt(2, pct));
        b.advance_by(150.0);
        Some(catalyst_c(&b))
    };
    let (Some(none), Some(few), Some(all)) = (hot(0.0), hot(20.0), hot(100.0)) else { return };
    sheet.put("misfire-heat", all - none);
    // a fifth of one cylinder in four: 5 % of all firings
    sheet.put("misfire-heat-share", (few - none) / 5.0);
}
