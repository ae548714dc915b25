//! A replaced injector and its code (rows M8 to M10).

use super::hands::{act, ask, built, codes, off_by, start, stop};
use super::sources::*;
use super::{Case, DUNLIN, Row, Sheet, System::Codes, System::Fuel, Trial, row};
use crate::bench::Bench;
use crate::bench::action::{Action, Key, PartChoice, PartKind};
use crate::bench::setup::Setup;
use crate::link::{DiagRequest, DiagResponse, Refused};

const fn points(id: &'static str, allowed: f64) -> Row {
    row(id, Fuel, &PARTS, -allowed, allowed).in_unit("%", 2)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: DUNLIN,
        seeds: true,
        rows: &[
            points("m8-own", 1.5),
            points("m8-others", 1.0),
            points("m8-trim", 1.0),
            row("m8-codes", Codes, &PARTS, 0.0, 0.0).in_unit("", 0),
            points("m8-hidden", 0.6),
        ],
        go: replaced,
    },
    Trial {
        cars: DUNLIN,
        seeds: false,
        rows: &[row("m10-refused", Codes, &PARTS, 100.0, 100.0).in_unit("%", 0)],
        go: wrong_character,
    },
];

/// Fuel of each cylinder over their mean \[%\], both trims \[%\], means of so many seconds.
fn fuel(b: &mut Bench, seconds: u32) -> (Vec<f64>, f64) {
    let n = b.cylinders();
    let mut sum = vec![0.0; n];
    let mut trims = 0.0;
    for _ in 0..10 * seconds {
        b.advance_by(0.1);
        trims += 100.0 * super::hands::both(b) / f64::from(10 * seconds);
        for (s, a) in sum.iter_mut().zip(&b.plant().s.accounts) {
            *s += 1.0 / a.lambda;
        }
    }
    let mean = sum.iter().sum::<f64>() / n as f64;
    (sum.iter().map(|s| 100.0 * (s / mean - 1.0)).collect(), trims)
}

/// Cylinder 3's body is changed for one that gives 5 % more or less than the one whose code the module holds.
fn replaced(case: &Case, sheet: &mut Sheet) {
    let full = Setup { battery_charge_pct: 100.0, ..case.setup(88.0) };
    let Some(mut b) = built(&full) else { return };
    if !start(&mut b, 27.0) {
        return;
    }
    let (before, trims_before) = fuel(&mut b, 10);
    let own = b.plant().s.parts.injectors[2].clone();
    stop(&mut b);
    let more = if own.flow_gain > 1.0 { -5.0 } else { 5.0 };
    // the very same body but for its flow
    let error_pct = 100.0 * (own.flow_gain - 1.0) + more;
    let body = PartChoice { serial: Some(own.serial), ..off_by(PartKind::Injector(3), error_pct) };
    act(&mut b, Action::Fit(body));
    start(&mut b, 27.0);
    let (after, trims) = fuel(&mut b, 10);
    sheet.put("m8-own", after[2] - before[2] - 0.75 * more);
    let others = [0, 1, 3].map(|k| after[k] - before[k] + 0.25 * more);
    sheet.put("m8-others", others.into_iter().fold(0.0, |w: f64, x| if x.abs() > w.abs() { x } else { w }));
    sheet.put("m8-trim", trims - trims_before + 0.25 * more);
    sheet.put("m8-codes", codes(&b).len() as f64);
    // left alone the cylinder trim hides it
    b.advance_by(300.0);
    let (hidden, _) = fuel(&mut b, 20);
    sheet.put("m8-hidden", hidden.into_iter().fold(0.0, |w: f64, x| if x.abs() > w.abs() { x } else { w }));
}

/// Each character of a code wrong in turn.
fn wrong_character(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.setup(88.0)) else { return };
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    let Some(good) = b.plant().s.parts.injectors[1].code.clone() else { return };
    let stored = |b: &mut Bench| ask(b, DiagRequest::ReadInjectorCode(2));
    let before = stored(&mut b);
    let places: Vec<usize> = (0..good.len()).filter(|p| good.as_bytes()[*p] != b'-').collect();
    let mut refused = 0;
    for place in &places {
        let mut bad: Vec<char> = good.chars().collect();
        bad[*place] = if bad[*place] == '7' { '8' } else { '7' };
        let code = bad.iter().collect();
        let answer = ask(&mut b, DiagRequest::WriteInjectorCode { cylinder: 2, code });
        let as_such = matches!(answer, Some(DiagResponse::Refused(Refused::InjectorCode(_))));
        refused += usize::from(as_such && stored(&mut b) == before);
    }
    sheet.put_share("m10-refused", refused, places.len());
}
