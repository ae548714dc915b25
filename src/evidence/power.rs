//! Power and fuel on rollers and on the road, the compression gauge and the leak-down tester.

use super::hands::{act, built, hold, injected_kg, mean, start};
use super::sources::*;
use super::{Case, EVERY_CAR, PLOVER, Sheet, System::Engine, Trial, row};
use crate::bench::Bench;
use crate::bench::action::{Action, Connector, Gear, Key};
use crate::bench::tools::Tool;
use crate::units::rad_s;

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("torque-3000", Engine, &PRACTICE, 147.0, 163.0).in_unit("N·m", 0).of(PLOVER),
            row("torque-5000", Engine, &PRACTICE, 142.0, 158.0).in_unit("N·m", 0).of(PLOVER),
            row("mep-3000", Engine, &FUEL_MAPS, 10.5, 12.5).in_unit("bar", 2),
            row("mep-5000", Engine, &FUEL_MAPS, 10.0, 12.5).in_unit("bar", 2),
        ],
        go: full_load,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("fuel-part", Engine, &FUEL_MAPS, 360.0, 400.0).in_unit("g/kWh", 0),
            row("fuel-best", Engine, &FUEL_MAPS, 240.0, 255.0).in_unit("g/kWh", 0),
        ],
        go: fuel_map,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            row("sprint", Engine, &PRACTICE, 11.0, 14.0).in_unit("s", 1),
            row("top-speed", Engine, &PRACTICE, 150.0, 190.0).in_unit("km/h", 0),
            row("fuel-100", Engine, &PRACTICE, 5.5, 6.2).in_unit("L/100 km", 1),
        ],
        go: road,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            row("gauge-least", Engine, &PRACTICE, 1000.0, 1400.0).in_unit("kPa", 0),
            row("gauge-most", Engine, &PRACTICE, 1000.0, 1400.0).in_unit("kPa", 0),
            row("gauge-even", Engine, &PRACTICE, 90.0, 100.0).in_unit("%", 0),
        ],
        go: gauge,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[row("leak-down", Engine, &PRACTICE, 5.0, 15.0).in_unit("%", 1)],
        go: leak_down,
    },
];

/// Torque of the rollers that is a mean effective pressure of so much \[bar\] \[N·m\].
fn torque_nm(b: &Bench, bar: f64) -> f64 {
    bar * 1e5 * b.plant().swept_m3() / (4.0 * std::f64::consts::PI)
}

/// The largest torque of the rollers that the engine carries at a speed with the pedal on the floor \[N·m\].
fn most_nm(b: &Bench, rpm: f64) -> f64 {
    let mut at_work = b.clone();
    hold(&mut at_work, rpm, torque_nm(b, 5.0), 15.0);
    let (mut low, mut high) = (torque_nm(b, 5.0), torque_nm(b, 16.0));
    for _ in 0..9 {
        let nm = 0.5 * (low + high);
        let mut x = at_work.clone();
        // foot and rollers come to rest slowly
        hold(&mut x, rpm, nm, 45.0);
        // rollers that have stalled the engine carry nothing, and it may be on its way up again
        let carried = mean(&mut x.clone(), 3.0, |b| b.plant().s.road.rollers_nm) > 0.98 * nm;
        let held = mean(&mut x, 3.0, |b| b.plant().speed_rpm()) > 0.985 * rpm;
        if carried && held { low = nm } else { high = nm }
    }
    low
}

fn full_load(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(30.0);
    for (nm_id, bar_id, rpm) in [("torque-3000", "mep-3000", 3000.0), ("torque-5000", "mep-5000", 5000.0)] {
        let nm = most_nm(&b, rpm);
        sheet.put(nm_id, nm);
        sheet.put(bar_id, nm / torque_nm(&b, 1.0));
    }
}

/// Fuel over work at the rollers \[g/kWh\].
fn specific(b: &mut Bench, rpm: f64, bar: f64) -> f64 {
    hold(b, rpm, torque_nm(b, bar), 40.0);
    let (mut work_j, mut fuel_kg) = (0.0, 0.0);
    for _ in 0..400 {
        fuel_kg += injected_kg(b, 0.05);
        work_j += 0.05 * b.plant().s.road.rollers_nm * rad_s(b.plant().speed_rpm());
    }
    fuel_kg * 1e3 / (work_j / 3.6e6)
}

fn fuel_map(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(60.0);
    sheet.put("fuel-part", specific(&mut b, 2000.0, 2.0));
    let loads = [6.0, 7.0, 8.0, 9.0];
    sheet.put(
        "fuel-best",
        loads.map(|bar| specific(&mut b.clone(), 2500.0, bar)).into_iter().fold(f64::MAX, f64::min),
    );
}

fn km_h(b: &Bench) -> f64 {
    3.6 * b.plant().s.road.speed_m_s
}

fn road(case: &Case, sheet: &mut Sheet) {
    let Some(b) = case.warm() else { return };
    let mut fast = b.clone();
    act(&mut fast, Action::Gear(Gear::Drive));
    act(&mut fast, Action::Pedal(100.0));
    let from_s = fast.time_s();
    while km_h(&fast) < 100.0 && fast.time_s() < from_s + 60.0 {
        fast.advance_by(0.02);
    }
    sheet.put("sprint", fast.time_s() - from_s);
    fast.advance_by(130.0);
    sheet.put("top-speed", km_h(&fast));
    // a foot that holds 100 km/h on the level
    let mut steady = b;
    act(&mut steady, Action::Gear(Gear::Drive));
    let mut pedal = 30.0;
    let mut foot = |b: &mut Bench, seconds: f64| {
        let (from_kg, from_m) = (b.plant().s.totals.injected_kg, b.plant().s.road.distance_m);
        for _ in 0..(10.0 * seconds) as u32 {
            let off = 100.0 - km_h(b);
            pedal = f64::clamp(pedal + 0.03 * off.clamp(-10.0, 10.0), 5.0, 80.0);
            act(b, Action::Pedal((pedal + 2.0 * off).clamp(0.0, 90.0)));
            b.advance_by(0.1);
        }
        let litres = (b.plant().s.totals.injected_kg - from_kg) / 0.745;
        1e5 * litres / (b.plant().s.road.distance_m - from_m)
    };
    foot(&mut steady, 180.0);
    let l_100 = foot(&mut steady, 60.0);
    if (km_h(&steady) - 100.0).abs() < 2.0 {
        sheet.put("fuel-100", l_100);
    }
}

/// Gauge in place of each plug in turn, coils and injectors off, pedal on the floor, five seconds of the starter.
fn gauge(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.in_air(88.0, 20.0)) else { return };
    for k in 1..=b.cylinders() as u8 {
        act(&mut b, Action::Connector(Connector::Coil(k), false));
        act(&mut b, Action::Connector(Connector::Injector(k), false));
    }
    let mut all: Vec<f64> = Vec::new();
    for k in 1..=b.cylinders() as u8 {
        let tool = Tool::Compression(k);
        act(&mut b, Action::Measure(tool));
        act(&mut b, Action::Pedal(100.0));
        start(&mut b, 5.0);
        act(&mut b, Action::Key(Key::Off));
        b.advance_by(6.0);
        let shown = b.observe().readings.into_iter().find(|r| r.tool == tool);
        all.extend(shown.and_then(|r| r.number("kpa")));
    }
    if all.len() != b.cylinders() {
        return;
    }
    let (least, most) = all.iter().fold((f64::MAX, 0.0f64), |(a, b), x| (a.min(*x), b.max(*x)));
    sheet.put("gauge-least", least);
    sheet.put("gauge-most", most);
    sheet.put("gauge-even", 100.0 * least / most);
}

/// The tester at each cylinder of a sound warm engine in turn.
fn leak_down(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&case.in_air(88.0, 20.0)) else { return };
    let n = b.cylinders() as u8;
    (1..=n).for_each(|k| act(&mut b, Action::Measure(Tool::LeakDown(k))));
    let readings = b.observe().readings;
    let lost: Vec<f64> = readings.iter().filter_map(|r| r.number("loss_pct")).collect();
    if lost.len() == usize::from(n) {
        sheet.put("leak-down", lost.iter().sum::<f64>() / f64::from(n));
    }
}
