//! The reluctor wheel, learned and stale, and what misfire counting makes of it (rows M11 to M15).

use super::hands::{act, ask, built, counted, has_code, hold, start, stop};
use super::sources::*;
use super::{Case, EVERY_CAR, PLOVER, Sheet, System::Misfire, System::Wheel, Trial, WHIMBREL, row};
use crate::bench::Bench;
use crate::bench::action::{Action, Key, PartChoice, PartKind};
use crate::bench::setup::Setup;
use crate::bench::survey::{self, Shadow};
use crate::link::{DiagRequest, Group, Routine};

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: WHIMBREL,
        seeds: false,
        rows: &[
            row("m14-bent", Wheel, &PARTS, 0.02, f64::INFINITY).in_unit("°", 3),
            row("m14-over-healthy", Wheel, &PARTS, 2.0, f64::INFINITY).in_unit("", 1),
            row("m14-learned", Wheel, &PARTS, 0.0, 0.012).in_unit("°", 4),
        ],
        go: bent_by_a_weak_cylinder,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            row("m11-idle-counts", Misfire, &PARTS, 0.0, 0.0).in_unit("", 0),
            row("m11-onset", Wheel, &PARTS, 0.8, 1.2).in_unit("", 2),
            row("m11-pairs", Misfire, &PARTS, 90.0, 100.0).in_unit("%", 0),
            row("m11-code", super::System::Codes, &PARTS, 100.0, 100.0).in_unit("%", 0),
            row("m13-false", Misfire, &PARTS, 0.0, 1.0).in_unit("", 0),
            row("m13-found", Misfire, &PARTS, 20.0, f64::INFINITY).in_unit("", 0),
            row("m13-elsewhere", Misfire, &PARTS, 0.0, 0.0).in_unit("", 0),
        ],
        go: stale_and_learned,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("learned-windows", Wheel, &PARTS, 0.0, 0.01).in_unit("°", 4),
            row("learned-error", Wheel, &PARTS, 0.0, 0.03).in_unit("°", 4),
        ],
        go: learned,
    },
    Trial {
        cars: &["plover", "dunlin"],
        seeds: false,
        rows: &[row("m14-leak", Wheel, &PARTS, 0.0, 0.02).in_unit("°", 4)],
        go: leaking_cylinder,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            row("m15-code", super::System::Codes, &PARTS, 100.0, 100.0).in_unit("%", 0),
            row("m15-blind", Misfire, &PARTS, 0.0, 40.0).in_unit("", 0),
            row("m15-below", Misfire, &PARTS, 30.0, f64::INFINITY).in_unit("", 0),
        ],
        go: without_a_table,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("found-3000", Misfire, &PRACTICE, 98.0, 100.0).in_unit("%", 1),
            row("found-6000", Misfire, &PRACTICE, 98.0, 100.0).in_unit("%", 1),
            row("false-3000", Misfire, &PRACTICE, 0.0, 0.1).in_unit("1/1000", 3),
            row("false-6000", Misfire, &PRACTICE, 0.0, 0.1).in_unit("1/1000", 3),
        ],
        go: detection,
    },
];

/// A flexplate under which a window of the works' table is off by 0.30° to 0.40°.
fn stale_flexplate(case: &Case) -> Option<PartChoice> {
    let off = |part: &PartChoice| {
        let b = Bench::standing(&Setup { parts: vec![part.clone()], ..case.setup(90.0) });
        b.is_ok_and(|b| (0.30..0.40).contains(&b.truth().wheel_off_deg))
    };
    let part = |k: u32| PartChoice { serial: Some(format!("FP{k}")), ..PartChoice::new(PartKind::Wheel) };
    (0..400).map(part).find(off)
}

/// Slowest speed at which the largest false index that wheel and table make together passes the limit \[rpm\].
fn onset_rpm(b: &Bench) -> Option<f64> {
    let cal = b.ecm().calibration().s.misfire.clone();
    let off: Vec<f64> = b.truth().windows.iter().map(|w| w.is_deg - w.believed_deg).collect();
    let false_index = |rpm: f64| {
        let t = 30.0 / rpm;
        (0..4).map(|k| (off[k] - off[(k + 3) % 4]) / 180.0 / (t * t)).fold(0.0, f64::max)
    };
    (700..6200).map(f64::from).find(|rpm| false_index(*rpm) > cal.limit_at(*rpm, cal.no_load_kpa.at(*rpm)))
}

fn stale_and_learned(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = stale_flexplate(case).and_then(|part| case.warm_with(vec![part])) else { return };
    b.advance_by(100.0);
    sheet.put("m11-idle-counts", f64::from(counted(&b).iter().sum::<u32>()));
    let Some(onset) = onset_rpm(&b) else { return };
    let mut found = f64::NAN;
    // far below the computed onset nothing is looked for
    let mut rpm = 100.0 * (0.6 * onset / 100.0).floor().max(14.0);
    while rpm < 6000.0 {
        let mut x = b.clone();
        hold(&mut x, rpm, 0.0, 12.0);
        let before: u32 = counted(&x).iter().sum();
        x.advance_by(10.0);
        let c = counted(&x);
        let now = c.iter().sum::<u32>() - before;
        if f64::from(now) > 0.5 * rpm / 6.0 {
            found = rpm;
            let pairs = [c[0] + c[3], c[1] + c[2]].map(f64::from);
            sheet.put("m11-pairs", 100.0 * pairs[0].max(pairs[1]) / (pairs[0] + pairs[1]));
            break;
        }
        rpm += 100.0;
    }
    sheet.put("m11-onset", found / onset);
    let mut x = b.clone();
    hold(&mut x, found + 500.0, 0.0, 60.0);
    sheet.put_share("m11-code", usize::from(has_code(&x, "P0300")), 1);
    if survey::learn_wheel(&mut b).is_err() {
        return;
    }
    for rpm in [3000.0, 4500.0, 5800.0] {
        hold(&mut b, rpm, 0.0, 40.0);
    }
    let came = counted(&b);
    sheet.put("m13-false", f64::from(came.iter().sum::<u32>()));
    act(&mut b, Action::Interrupt(2, 2.0));
    hold(&mut b, 3000.0, 0.0, 60.0);
    let c: Vec<u32> = counted(&b).iter().zip(&came).map(|(a, b)| a - b).collect();
    sheet.put("m13-found", f64::from(c[1]));
    sheet.put("m13-elsewhere", f64::from(c[0] + c[2] + c[3]));
}

fn learned(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm_with(vec![PartChoice::new(PartKind::Wheel)]) else { return };
    if survey::learn_wheel(&mut b).is_ok() {
        sheet.put("learned-windows", b.truth().wheel_off_deg);
        sheet.put("learned-error", b.ecm().s.store.wheel.error_deg);
    }
}

fn bent_by_a_weak_cylinder(case: &Case, sheet: &mut Sheet) {
    let injector = |pct: f64| super::hands::off_by(PartKind::Injector(2), pct);
    let bend = |parts: Vec<PartChoice>| {
        let mut b = case.warm_with(parts)?;
        hold(&mut b, 2500.0, 70.0, 2400.0);
        Some(b)
    };
    let (Some(healthy), Some(mut b)) = (bend(Vec::new()), bend(vec![injector(-20.0)])) else { return };
    let bent = b.truth().wheel_off_deg;
    sheet.put("m14-bent", bent);
    sheet.put("m14-over-healthy", bent / healthy.truth().wheel_off_deg);
    stop(&mut b);
    act(&mut b, Action::Fit(injector(0.0)));
    start(&mut b, 20.0);
    if survey::learn_wheel(&mut b).is_ok() {
        sheet.put("m14-learned", b.truth().wheel_off_deg);
    }
}

/// Learned in fuel cut with a cylinder that leaks.
fn leaking_cylinder(case: &Case, sheet: &mut Sheet) {
    let leaky = PartChoice { leak_mm2: Some(0.6), ..PartChoice::new(PartKind::Rings(2)) };
    let Some(mut b) = case.warm_with(vec![leaky]) else { return };
    if survey::learn_wheel(&mut b).is_ok() {
        sheet.put("m14-leak", b.truth().wheel_off_deg);
    }
}

fn without_a_table(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.setup(90.0)) else { return };
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    ask(&mut b, DiagRequest::Start(Routine::ResetGroup(Group::WheelTable)));
    act(&mut b, Action::Key(Key::Crank));
    b.advance_by(30.0);
    sheet.put_share("m15-code", usize::from(has_code(&b, "P0315")), 1);
    act(&mut b, Action::Interrupt(2, 8.0));
    hold(&mut b, 3500.0, 0.0, 60.0);
    let above = counted(&b);
    sheet.put("m15-blind", f64::from(above.iter().sum::<u32>()));
    hold(&mut b, 1800.0, 0.0, 60.0);
    sheet.put("m15-below", f64::from(counted(&b)[1] - above[1]));
}

/// A learned wheel at light load: one firing in fifty of cylinder 1 missed, and none.
fn detection(case: &Case, sheet: &mut Sheet) {
    let Some(mut warm) = case.warm() else { return };
    if survey::learn_wheel(&mut warm).is_err() {
        return;
    }
    let edges = warm.ecm().s.store.wheel.edges_deg.clone();
    let n = warm.cylinders();
    for (found, wrong, rpm) in [("found-3000", "false-3000", 3000.0), ("found-6000", "false-6000", 6000.0)] {
        let mut b = warm.clone();
        let kpa = b.ecm().calibration().s.misfire.no_load_kpa.at(rpm) + 13.0;
        survey::hold(&mut b, Some(rpm), Some(kpa), 40.0);
        let watched = |turns: f64, share: f64| {
            let mut swallowed = vec![0.0; n];
            swallowed[0] = share;
            let mut shadow = [Shadow::new(Some(&edges))];
            survey::watch(&mut b.clone(), turns, &swallowed, &mut shadow);
            shadow[0].score
        };
        sheet.put(found, watched(3000.0, 0.02).found_pct());
        sheet.put(wrong, watched(3000.0, 0.0).wrong_per_1000(n));
    }
}
