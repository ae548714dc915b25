//! From the key to a running engine, warm, cool and cold (row M21).

use super::hands::{built, codes, crank};
use super::sources::*;
use super::{Case, EVERY_CAR, Row, Sheet, System::Start, Trial, row};
use crate::bench::Bench;

const fn rpm(id: &'static str, low: f64, high: f64) -> Row {
    row(id, Start, &PRACTICE, low, high).in_unit("rpm", 0)
}
const fn seconds(id: &'static str, low: f64, high: f64) -> Row {
    row(id, Start, &PRACTICE, low, high).in_unit("s", 2)
}
const fn share(id: &'static str, pct: f64) -> Row {
    row(id, Start, &PRACTICE, pct, pct).in_unit("%", 0)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            rpm("warm-cranks", 180.0, 250.0),
            seconds("warm-fires", 0.5, 1.5),
            rpm("warm-flares", 1100.0, 1500.0),
            rpm("cool-cranks", 180.0, 250.0),
            seconds("cool-fires", 0.5, 1.5),
            rpm("cool-flares", 1100.0, 1500.0),
        ],
        go: ordinary,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            rpm("frost-cranks", 60.0, 90.0),
            share("frost-25-runs", 100.0),
            share("frost-18-runs", 100.0),
            share("frost-10-runs", 100.0),
            row("frost-codes", Start, &PRACTICE, 0.0, 0.0).in_unit("", 0),
            share("flat-runs", 0.0),
        ],
        go: frost,
    },
];

/// What a start shows.
struct Seen {
    /// Mean speed under the starter \[rpm\]; its first turn out of rest is left out.
    cranks_rpm: f64,
    /// First fuel that burned, after the key \[s\].
    fires_s: f64,
    /// Highest speed of the first six seconds \[rpm\].
    flares_rpm: f64,
}

fn watched(b: &mut Bench) -> Seen {
    crank(b);
    let t0 = b.time_s();
    let mut s = Seen { cranks_rpm: f64::NAN, fires_s: f64::NAN, flares_rpm: 0.0 };
    let mut from = None;
    while b.time_s() < t0 + 6.0 {
        b.advance_by(0.005);
        let (t, p) = (b.time_s() - t0, b.plant());
        if s.fires_s.is_nan() {
            if t >= 0.15 && from.is_none() {
                from = Some((p.s.totals.turns, t));
            }
            if let Some((turns, since)) = from.filter(|f| t > f.1) {
                s.cranks_rpm = 60.0 * (p.s.totals.turns - turns) / (t - since);
            }
            if p.s.cylinders.iter().any(|c| c.burned > 0.0) {
                s.fires_s = t;
            }
        }
        s.flares_rpm = s.flares_rpm.max(p.speed_rpm());
    }
    s
}

fn ordinary(case: &Case, sheet: &mut Sheet) {
    let names = [
        (90.0, ["warm-cranks", "warm-fires", "warm-flares"]),
        (20.0, ["cool-cranks", "cool-fires", "cool-flares"]),
    ];
    for (coolant_c, [cranks, fires, flares]) in names {
        let Some(mut b) = built(&case.setup(coolant_c)) else { return };
        let s = watched(&mut b);
        sheet.put(cranks, s.cranks_rpm);
        sheet.put(fires, s.fires_s);
        sheet.put(flares, s.flares_rpm);
    }
}

fn frost(case: &Case, sheet: &mut Sheet) {
    let mut all = 0;
    for (id, cold_c, charge_pct) in [
        ("frost-25-runs", -25.0, 90.0),
        ("frost-18-runs", -18.0, 90.0),
        ("frost-10-runs", -10.0, 70.0),
        ("flat-runs", -10.0, 8.0),
    ] {
        let mut setup = case.in_air(cold_c, cold_c);
        setup.battery_charge_pct = charge_pct;
        let Some(mut b) = built(&setup) else { return };
        let s = watched(&mut b);
        b.advance_by(6.0);
        if id == "frost-25-runs" {
            sheet.put("frost-cranks", s.cranks_rpm);
        }
        sheet.put_share(id, usize::from(b.observe().live.running), 1);
        if id != "flat-runs" {
            all += codes(&b).len();
        }
    }
    sheet.put("frost-codes", all as f64);
}
