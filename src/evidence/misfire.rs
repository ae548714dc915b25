//! The misfire monitor against the rule that it is built to, and sparks that fail.

use super::hands::{act, built, code, counted, has_code, hold, start, worn};
use super::sources::*;
use super::{Case, EVERY_CAR, PLOVER, Row, Sheet, System::Codes, System::Misfire, Trial, row};
use crate::bench::Bench;
use crate::bench::action::{Action, PartChoice, PartKind};
use crate::bench::survey;
use crate::bench::view::Lamp;

const fn right(id: &'static str, system: super::System) -> Row {
    row(id, system, &MISFIRE_RULE, 100.0, 100.0).in_unit("%", 0)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            right("idle-watched", Misfire),
            row("idle-counted", Misfire, &MISFIRE_RULE, 0.0, 0.0).in_unit("", 0),
        ],
        go: watched,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("first-turns", Misfire, &MISFIRE_RULE, 0.0, 1050.0).in_unit("", 0),
            right("first-named", Codes),
            row("later-named", Misfire, &MISFIRE_RULE, 0.0, 5050.0).in_unit("", 0),
        ],
        go: dead_cylinder,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            row("three-blocks", Misfire, &MISFIRE_RULE, 400.0, 850.0).in_unit("", 0),
            right("lamp-after-code", Codes),
        ],
        go: three_blocks,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[right("blinks", Codes), right("own-code", Codes), right("injector-cut", Misfire)],
        go: harmful,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            row("weak-coil-idle", Misfire, &PRACTICE, 0.0, 3.0).in_unit("", 0),
            row("weak-coil-load", Misfire, &PRACTICE, 100.0, f64::INFINITY).in_unit("", 0),
            row("wide-gap-idle", Misfire, &PRACTICE, 0.0, 3.0).in_unit("", 0),
            row("wide-gap-load", Misfire, &PRACTICE, 100.0, f64::INFINITY).in_unit("", 0),
        ],
        go: weak_spark,
    },
];

fn at_height(case: &Case, kpa: f64, charge_pct: f64) -> crate::bench::setup::Setup {
    let mut s = case.setup(90.0);
    s.weather.ambient_kpa = kpa;
    s.battery_charge_pct = charge_pct;
    s
}

/// A healthy idle at four heights, the alternator at rest and at work.
fn watched(case: &Case, sheet: &mut Sheet) {
    let (mut seen, mut all, mut came) = (0, 0, 0);
    for kpa in [70.0, 84.0, 101.325, 104.0] {
        for charge_pct in [98.0, 55.0] {
            let Ok(mut b) = survey::warm(&at_height(case, kpa, charge_pct)) else { return };
            for _ in 0..20 {
                b.advance_by(1.0);
                seen += usize::from(b.observe().live.misfire_watched);
                all += 1;
            }
            came += counted(&b).iter().sum::<u32>();
        }
    }
    sheet.put_share("idle-watched", seen, all);
    sheet.put("idle-counted", f64::from(came));
}

/// Turns until a code stands, looked for every second and for so many seconds.
fn turns_until(b: &mut Bench, number: &str, most_s: u32) -> f64 {
    let begins = b.plant().s.totals.turns;
    for _ in 0..most_s {
        b.advance_by(1.0);
        if has_code(b, number) {
            return b.plant().s.totals.turns - begins;
        }
    }
    f64::INFINITY
}

fn dead_cylinder(case: &Case, sheet: &mut Sheet) {
    let (mut first, mut later, mut named, heights) = (0.0f64, 0.0f64, 0, [75.0, 101.325]);
    for kpa in heights {
        let Some(mut b) = built(&at_height(case, kpa, 90.0)) else { return };
        act(&mut b, Action::Interrupt(2, 100.0));
        start(&mut b, 5.0);
        first = first.max(turns_until(&mut b, "P0316", 120));
        named += usize::from(has_code(&b, "P0302"));
        let Ok(mut b) = survey::warm(&at_height(case, kpa, 90.0)) else { return };
        b.advance_by(100.0);
        act(&mut b, Action::Interrupt(2, 100.0));
        later = later.max(turns_until(&mut b, "P0302", 480));
    }
    sheet.put("first-turns", first);
    sheet.put_share("first-named", named, heights.len());
    sheet.put("later-named", later);
}

/// Past the first 1000 turns, which have a rule of their own.
fn three_blocks(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(90.0);
    act(&mut b, Action::Interrupt(3, 100.0));
    let begins = b.plant().s.totals.turns;
    let mut early = false;
    for _ in 0..150 {
        b.advance_by(1.0);
        if has_code(&b, "P0303") {
            sheet.put("three-blocks", b.plant().s.totals.turns - begins);
            break;
        }
        early |= b.observe().lamp == Lamp::Blink;
    }
    sheet.put_share("lamp-after-code", usize::from(!early), 1);
}

fn harmful(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    act(&mut b, Action::Interrupt(3, 70.0));
    hold(&mut b, 3000.0, 0.0, 4.0);
    let mut blinked = false;
    for _ in 0..150 {
        b.advance_by(0.1);
        blinked |= b.observe().lamp == Lamp::Blink;
    }
    sheet.put_share("blinks", usize::from(blinked), 1);
    let own = code(&b, "P0303").is_some() && code(&b, "P0300").is_none();
    sheet.put_share("own-code", usize::from(own), 1);
    b.advance_by(30.0);
    sheet.put_share("injector-cut", usize::from(b.ecm().s.misfire.cut[2]), 1);
}

fn weak_spark(case: &Case, sheet: &mut Sheet) {
    let gap = PartChoice { gap_mm: Some(2.9), ..PartChoice::new(PartKind::Plug(3)) };
    for (idle, load, part) in [
        ("weak-coil-idle", "weak-coil-load", worn(PartKind::Coil(3), 66.0)),
        ("wide-gap-idle", "wide-gap-load", gap),
    ] {
        let Some(mut b) = case.warm_with(vec![part]) else { return };
        b.advance_by(60.0);
        let missed = |b: &Bench| b.truth().cylinders[2].misfires as f64;
        let at_idle = missed(&b);
        survey::hold(&mut b, Some(3000.0), Some(85.0), 60.0);
        sheet.put(idle, at_idle);
        sheet.put(load, missed(&b) - at_idle);
    }
}
