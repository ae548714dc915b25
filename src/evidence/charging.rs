//! Charging by the module's set-point, and a new battery behind an old record (row M16).

use super::hands::{built, codes, start};
use super::sources::*;
use super::{Case, EVERY_CAR, PLOVER, Sheet, System::Battery, Trial, row};
use crate::bench::setup::Record;
use crate::label::BatteryKind;

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("charge-set", Battery, &PRACTICE, 13.5, 14.8).in_unit("V", 2),
            row("charge-cold", Battery, &PRACTICE, -30.0, -18.0).in_unit("mV/K", 1),
        ],
        go: set_point,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            row("m16-rise", Battery, &PARTS, 0.38, 0.42).in_unit("V", 2),
            row("m16-gassing", Battery, &PARTS, 1.4, 2.5).in_unit("", 2),
            row("m16-codes", Battery, &PARTS, 0.0, 0.0).in_unit("", 0),
        ],
        go: old_record,
    },
];

fn set_point(case: &Case, sheet: &mut Sheet) {
    let at = |ambient_c: f64, charge_pct: f64| {
        let mut setup = case.in_air(88.0, ambient_c);
        setup.battery_charge_pct = charge_pct;
        let mut b = built(&setup)?;
        start(&mut b, 120.0).then(|| b.observe().live)
    };
    let (Some(warm), Some(cool)) = (at(25.0, 70.0), at(15.0, 70.0)) else { return };
    sheet.put("charge-set", warm.charge_set_v);
    let slope = (warm.charge_cold_v - cool.charge_cold_v) / (warm.battery_c - cool.battery_c);
    sheet.put("charge-cold", 1e3 * slope);
}

fn old_record(case: &Case, sheet: &mut Sheet) {
    let mut told = Vec::new();
    let mut stored = 0;
    for aged in [0.0, 1.0] {
        let mut setup = case.in_air(88.0, 25.0);
        setup.battery_charge_pct = 100.0;
        let (kind, rated_ah) = (BatteryKind::Flooded, 60.0);
        setup.battery_record = Some(Record { kind, rated_ah, passed_ah: aged * 100.0 * rated_ah });
        let Some(mut b) = built(&setup) else { return };
        if !start(&mut b, 312.0) {
            return;
        }
        told.push((b.observe().live.charge_set_v, b.truth().battery.gassing_a));
        stored += codes(&b).len();
    }
    sheet.put("m16-rise", told[1].0 - told[0].0);
    sheet.put("m16-gassing", told[1].1 / told[0].1);
    sheet.put("m16-codes", stored as f64);
}
