//! Catalyst monitor, rear trim, leak test of the EVAP system, camshaft phaser, rough road.

use super::hands::{act, built, code, codes, drive, hold, learned, mean, start, stop};
use super::sources::*;
use super::{
    Case, DUNLIN, EVERY_CAR, Row, Sheet, System::Catalyst, System::Codes, System::Engine, System::Fuel,
    System::Misfire, Trial, WHIMBREL, row,
};
use crate::bench::Bench;
use crate::bench::action::{Action, Ill, PartChoice, PartKind, Sensor};
use crate::bench::car::Car;
use crate::bench::pattern::Name;
use crate::bench::setup::Setup;
use crate::plant::exhaust;
use crate::plant::vapour::{Around, Params, State, hole_mm2, pace};

const fn right(id: &'static str, system: super::System, source: &'static Source) -> Row {
    row(id, system, source, 100.0, 100.0).in_unit("%", 0)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: WHIMBREL,
        seeds: true,
        rows: &[
            row("vapour-sound", Codes, &VAPOUR_RULE, 0.0, 0.5).in_unit("mm", 2),
            row("vapour-1-mm-reads", Codes, &VAPOUR_RULE, 0.9, 1.1).in_unit("mm", 2),
            right("vapour-1-mm", Codes, &VAPOUR_RULE),
            right("vapour-half-mm", Codes, &VAPOUR_RULE),
        ],
        go: vapour_holes,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            right("catalyst-tested", Catalyst, &CATALYST_RULE),
            right("catalyst-sound", Catalyst, &CATALYST_RULE),
            right("catalyst-worn", Catalyst, &CATALYST_RULE),
        ],
        go: catalyst_monitor,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("rear-trim", Fuel, &FORMULA, -1.65, -1.35).in_unit("%", 2),
            row("rear-trim-lambda", Fuel, &FORMULA, 0.995, 1.005).in_unit("", 4),
            right("rear-trim-code", Codes, &CODE_NUMBERS),
        ],
        go: rear_trim,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[right("rough-no-code", Misfire, &MISFIRE_RULE)],
        go: rough_road,
    },
    Trial {
        cars: DUNLIN,
        seeds: true,
        rows: &[
            row("phaser-map", Engine, &PRACTICE, 1.0, 12.0).in_unit("kPa", 1),
            row("phaser-residual", Engine, &PRACTICE, 3.0, 15.0).in_unit("%", 1),
        ],
        go: phaser_at_idle,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[row("joint-leak", Catalyst, &FORMULA, 0.0668, 0.0753).in_unit("g/s", 4)],
        go: joint_leak,
    },
    Trial {
        cars: WHIMBREL,
        seeds: false,
        rows: &[
            row("hole-area", Codes, &ORIFICE, 0.47123, 0.47125).in_unit("mm²", 5),
            row("hole-pace", Codes, &FORMULA, 91.2, 92.2).in_unit("Pa/s", 1),
            row("hole-decay", Codes, &FORMULA, -2.0, 2.0).in_unit("Pa", 2),
        ],
        go: vacuum,
    },
];

/// A millimetre at 2 kPa and 30 L by hand: 0.6 · 0.7854 mm² · √(2 · 2000 Pa/1.204 kg/m³) is 27.2 cm³/s and 92 Pa/s; and the
/// closed form of an isothermal volume, whose vacuum falls as the root does in a straight line.
fn vacuum(case: &Case, sheet: &mut Sheet) {
    let Ok(car) = Car::parse(case.text) else { return };
    let Some(own) = car.plant.vapour.clone() else { return };
    sheet.put("hole-area", hole_mm2(1.0));
    sheet.put("hole-pace", pace(hole_mm2(1.0), 30.0, 101_325.0, 293.15) * 2000.0_f64.sqrt());
    let p = Params { evaporates_cm3_s: 0.0, ..own };
    let a = Around {
        ambient_pa: 101_325.0,
        ambient_k: 293.15,
        gas_l: 32.5,
        vent_shut: true,
        hole_mm: [1.0, 0.0],
        cap_on: true,
        running: false,
        purged_kg: 0.0,
    };
    let mut s = State::at_rest(Some(&p), 293.15);
    s.gauge_pa = -2000.0;
    let k = pace(hole_mm2(1.0), a.gas_l + p.free_l, a.ambient_pa, a.ambient_k);
    let mut worst = 0.0_f64;
    for n in 1..=2000 {
        s.tick(&p, &a, 0.01);
        let left = (2000.0_f64.sqrt() - 0.5 * k * 0.01 * f64::from(n)).max(0.0);
        let off = s.gauge_pa + left * left;
        worst = if off.abs() > worst.abs() { off } else { worst };
    }
    sheet.put("hole-decay", worst);
}

/// What a sound system and holes of 1.0 mm (0.040 in) and 0.5 mm (0.020 in) read in the first drive of a day, and whether
/// a code pends after it.
fn vapour_holes(case: &Case, sheet: &mut Sheet) {
    let reads = |hole_mm: f64| {
        let part = PartChoice { hole_mm: Some(hole_mm), ..PartChoice::new(PartKind::VapourLine) };
        let mut b = built(&Setup { parts: vec![part], ..case.in_air(20.0, 20.0) })?;
        start(&mut b, 5.0);
        for _ in 0..1500 {
            b.advance_by(1.0);
            if let Some(found) = b.ecm().s.vapour.found {
                b.advance_by(1.0);
                return Some((found.hole_mm, codes(&b)));
            }
        }
        None
    };
    let told = |codes: &[String]| {
        usize::from(codes.iter().any(|c| ["P0442", "P0455", "P0456"].contains(&c.as_str())))
    };
    if let Some((mm, _)) = reads(0.0) {
        sheet.put("vapour-sound", mm);
    }
    if let Some((mm, codes)) = reads(1.0) {
        sheet.put("vapour-1-mm-reads", mm);
        sheet.put_share("vapour-1-mm", told(&codes), 1);
    }
    if let Some((_, codes)) = reads(0.5) {
        sheet.put_share("vapour-half-mm", told(&codes), 1);
    }
}

fn exhaust_part(bank: u8, aged_pct: f64) -> PartChoice {
    PartChoice { aged_pct: Some(aged_pct), ..PartChoice::new(PartKind::Exhaust(bank)) }
}

/// A drive on the motorway tests a sound catalyst and lets it pass; one of which 15 % is left pends in one trip and lights
/// the lamp in the next.
fn catalyst_monitor(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    drive(&mut b, Name::Motorway, 9.0, |_| false);
    let ready = b.observe().readiness.iter().any(|m| m.name == "catalyst" && m.complete);
    sheet.put_share("catalyst-tested", usize::from(ready), 1);
    sheet.put_share("catalyst-sound", usize::from(code(&b, "P0420").is_none()), 1);
    let Some(mut b) = case.warm_with(vec![exhaust_part(1, 85.0)]) else { return };
    hold(&mut b, 2200.0, 45.0, 200.0);
    let pends = code(&b, "P0420") == Some((true, false, false));
    stop(&mut b);
    start(&mut b, 8.0);
    hold(&mut b, 2200.0, 45.0, 200.0);
    let lit = code(&b, "P0420") == Some((true, true, true));
    sheet.put_share("catalyst-worn", usize::from(pends && lit), 1);
}

/// A front sensor that shows 70 mV too much is 1.5 % lean by its curve (140 mV for 0.03 of lambda): the rear trim takes out
/// that fuel, and the gas ahead of the catalyst comes back to lambda 1. One that is some 3 % off is beyond its reach.
fn rear_trim(case: &Case, sheet: &mut Sheet) {
    let shifted = |offset_v: f64, minutes: f64| {
        let mut b = case.warm()?;
        act(&mut b, Action::Sensor(Sensor::Oxygen1, Ill { offset_v, ..Ill::default() }));
        hold(&mut b, 2200.0, 45.0, 60.0 * minutes);
        Some(b)
    };
    let Some(mut b) = shifted(0.07, 15.0) else { return };
    sheet.put("rear-trim", learned(&b, "rear_trim_bank1"));
    let lambda = |b: &Bench| b.plant().s.exhaust.banks[0].lambda;
    sheet.put("rear-trim-lambda", mean(&mut b, 60.0, lambda));
    let numbers = [(-0.20, "P2096"), (0.13, "P2097")];
    let told = |(offset_v, number): &&(f64, &str)| {
        shifted(*offset_v, 12.0).is_some_and(|b| codes(&b) == [(*number).to_owned()])
    };
    sheet.put_share("rear-trim-code", numbers.iter().filter(told).count(), numbers.len());
}

/// At small flow, where the mean pressure is nothing, by hand: ∫ of √sin over half a period is 2.396, so the mean is
/// 0.3814 √(2 ρ a): 4 g/s and half of the amplitude there, a = 400 Pa, back pressure neglected: 10 mm² draw in 0.0711 g/s; the
/// program's mid-points are allowed 6 %.
fn joint_leak(case: &Case, sheet: &mut Sheet) {
    let Ok(car) = Car::parse(case.text) else { return };
    let drawn = exhaust::drawn_in_at_joint_kg_s(&car.plant.exhaust, 10.0, 4e-3, 101_325.0, 293.15);
    sheet.put("joint-leak", 1e3 * drawn);
}

/// Ten minutes of a rough track in a healthy car: no misfire code comes.
fn rough_road(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    drive(&mut b, Name::Track, 10.0, |_| false);
    let misfire = codes(&b).iter().any(|c| c.starts_with("P03"));
    sheet.put_share("rough-no-code", usize::from(!misfire), 1);
}

/// A phaser that stands 10° advanced at a warm idle, over one at rest: manifold pressure and residual gas.
fn phaser_at_idle(case: &Case, sheet: &mut Sheet) {
    let at = |deg: f64| {
        let part = PartChoice { stuck_deg: Some(deg), ..PartChoice::new(PartKind::CamPhaser) };
        let mut b = case.warm_with(vec![part])?;
        b.advance_by(40.0);
        let (mut kpa, mut residual) = (0.0, 0.0);
        for _ in 0..20 {
            b.advance_by(1.0);
            let all = b.truth().cylinders;
            kpa += b.ecm().live().map_kpa / 20.0;
            residual += all.iter().map(|c| c.residual_pct).sum::<f64>() / all.len() as f64 / 20.0;
        }
        Some((kpa, residual))
    };
    let (Some(rest), Some(advanced)) = (at(0.0), at(10.0)) else { return };
    sheet.put("phaser-map", advanced.0 - rest.0);
    sheet.put("phaser-residual", advanced.1 - rest.1);
}
