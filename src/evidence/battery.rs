//! The battery alone, against its makers' definitions, electrochemistry and practice: each car's own size and kind.

use super::hands::built;
use super::sources::*;
use super::{Case, DUNLIN, EVERY_CAR, Row, Sheet, Source, System::Battery as Of, Trial, row};
use crate::num;
use crate::plant::battery::{Battery, WATER_G_AH};

const fn volts_of(id: &'static str, source: &'static Source, low: f64, high: f64) -> Row {
    row(id, Of, source, low, high).in_unit("V", 3)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: &["plover", "whimbrel"],
        seeds: false,
        rows: &[
            volts_of("rest-100", &BODE, 12.664, 12.666),
            volts_of("rest-75", &BODE, 12.441, 12.443),
            volts_of("rest-50", &BODE, 12.254, 12.256),
            volts_of("rest-25", &BODE, 12.071, 12.073),
            volts_of("rest-0", &BODE, 11.887, 11.889),
            row("gassing-14-4", Of, &SCHIFFER, 129.7, 129.9).in_unit("mA", 1),
            row("gassing-14-8", Of, &SCHIFFER, 2.075, 2.085).in_unit("", 3),
            row("water", Of, &FARADAY, 2.015, 2.017).in_unit("g/Ah", 3),
            row("shelf-month", Of, &PRACTICE, 3.0, 5.0).in_unit("%", 1),
        ],
        go: flooded,
    },
    Trial {
        cars: DUNLIN,
        seeds: false,
        rows: &[
            volts_of("agm-rest-100", &AGM_REST, 12.8, 12.9),
            volts_of("agm-rest-50", &AGM_REST, 12.25, 12.35),
            volts_of("agm-rest-0", &AGM_REST, 11.75, 11.85),
        ],
        go: agm,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("cold-10-s", Of, &EN_50342, 7.5, f64::INFINITY).in_unit("V", 2),
            row("cold-30-s", Of, &SAE_J537, 7.2, f64::INFINITY).in_unit("V", 2),
            row("cold-left-75", Of, &BATTERY_LEFT, 60.0, 85.0).in_unit("%", 0),
            row("cold-left-50", Of, &BATTERY_LEFT, 40.0, 60.0).in_unit("%", 0),
            row("cold-left-25", Of, &BATTERY_LEFT, 20.0, 40.0).in_unit("%", 0),
            row("cold-left-10", Of, &BATTERY_LEFT, 0.0, 20.0).in_unit("%", 0),
            row("resistance", Of, &BATTERY_BOOK, 3.0, 6.0).in_unit("mΩ", 1),
            row("resistance-cold", Of, &BATTERY_BOOK, 1.5, 2.0).in_unit("", 2),
            row("twenty-hours", Of, &EN_50342, 99.0, 101.0).in_unit("%", 1),
            row("reserve", Of, &PRACTICE, 1.6, 2.1).in_unit("min/Ah", 2),
            row("peukert", Of, &PRACTICE, 1.05, 1.3).in_unit("", 3),
            row("acceptance", Of, &EN_50342, 10.0, f64::INFINITY).in_unit("A/100 Ah", 1),
        ],
        go: printed,
    },
];

/// The car's own battery without its maker's spread, new, full, at 25 °C.
fn new(case: &Case) -> Option<Battery> {
    let b = built(&case.setup(20.0))?;
    let p = b.plant().params();
    let fresh = Battery::new(&p.spread, p.electrical.battery, "N".into());
    Some(Battery { capacity_gain: 1.0, resistance_gain: 1.0, ..fresh })
}

fn volts(b: &Battery, amps: f64) -> f64 {
    b.behind_v() + b.resistance_ohm() * amps
}

fn charged(b: &Battery, charge: f64) -> Battery {
    Battery { charge, ..b.clone() }
}

fn flooded(case: &Case, sheet: &mut Sheet) {
    let Some(b) = new(case) else { return };
    for (id, charge) in
        [("rest-100", 1.0), ("rest-75", 0.75), ("rest-50", 0.5), ("rest-25", 0.25), ("rest-0", 0.0)]
    {
        sheet.put(id, charged(&b, charge).open_circuit_v());
    }
    let gas_a = |at_v: f64| {
        let mut x = b.clone();
        x.acid_k = 298.0;
        x.polarisation_v = at_v - x.open_circuit_v();
        x.gassing_a()
    };
    sheet.put("gassing-14-4", 1e3 * gas_a(14.4) * 100.0 / b.label.rated_ah);
    sheet.put("gassing-14-8", gas_a(14.8) / gas_a(14.4));
    sheet.put("water", WATER_G_AH);
    let mut shelf = b;
    (0..30 * 24 * 6).for_each(|_| shelf.tick(0.0, 298.15, 600.0));
    sheet.put("shelf-month", 100.0 * (1.0 - shelf.charge));
}

fn agm(case: &Case, sheet: &mut Sheet) {
    let Some(b) = new(case) else { return };
    for (id, charge) in [("agm-rest-100", 1.0), ("agm-rest-50", 0.5), ("agm-rest-0", 0.0)] {
        sheet.put(id, charged(&b, charge).open_circuit_v());
    }
}

/// Current that leaves 7.2 V after 30 s at −18 °C, over what is printed \[%\].
fn cold_left(b: &Battery, charge: f64) -> f64 {
    let (mut low, mut high) = (0.0, 2.0 * b.label.cold_a);
    for _ in 0..20 {
        let amps = 0.5 * (low + high);
        let mut x = Battery { charge, acid_k: 255.15, ..b.clone() };
        (0..300).for_each(|_| x.tick(-amps, 255.15, 0.1));
        if volts(&x, -amps) > 7.2 { low = amps } else { high = amps }
    }
    100.0 * low / b.label.cold_a
}

/// Hours at such a current until 10.5 V.
fn hours(b: &Battery, amps: f64, tick_s: f64) -> f64 {
    let (mut x, mut s) = (b.clone(), 0.0);
    while volts(&x, -amps) > 10.5 && s < 200_000.0 {
        x.tick(-amps, 298.15, tick_s);
        s += tick_s;
    }
    s / 3600.0
}

fn printed(case: &Case, sheet: &mut Sheet) {
    let Some(b) = new(case) else { return };
    let (ah, cold_a) = (b.label.rated_ah, b.label.cold_a);
    let mut x = Battery { acid_k: 255.15, ..b.clone() };
    for tick in 1..=300 {
        x.tick(-cold_a, 255.15, 0.1);
        if tick == 100 {
            sheet.put("cold-10-s", volts(&x, -cold_a));
        }
    }
    sheet.put("cold-30-s", volts(&x, -cold_a));
    for (id, charge) in
        [("cold-left-75", 0.75), ("cold-left-50", 0.5), ("cold-left-25", 0.25), ("cold-left-10", 0.1)]
    {
        sheet.put(id, cold_left(&b, charge));
    }
    let warm = b.resistance_ohm();
    sheet.put("resistance", 1e3 * warm);
    sheet.put("resistance-cold", Battery { acid_k: 255.15, ..b.clone() }.resistance_ohm() / warm);
    sheet.put("twenty-hours", 100.0 * hours(&b, ah / 20.0, 10.0) / 20.0);
    let reserve_h = hours(&b, 25.0, 1.0);
    sheet.put("reserve", 60.0 * reserve_h / ah);
    sheet.put("peukert", num::ln(20.0 / reserve_h) / num::ln(25.0 * 20.0 / ah));
    let mut cold = Battery { charge: 0.5, acid_k: 273.15, ..b };
    let mut amps = 0.0;
    for _ in 0..600 {
        amps = ((14.4 - cold.behind_v()) / cold.resistance_ohm()).min(90.0);
        cold.tick(amps, 273.15, 1.0);
    }
    sheet.put("acceptance", 100.0 * amps / ah);
}
