//! Fuel trims: leaks, a MAF sensor that reads low, a weak pump, a weak injector, a cylinder without spark, heights (rows M17 to
//! M20). A healthy car of the same parts says what a fault adds.

use super::hands::{
    act, both, built, codes, driven, has_code, held, hold, learned, mean, nominal, off_by, start, stop, worn,
};
use super::sources::*;
use super::{Case, DUNLIN, EVERY_CAR, PLOVER, Row, Sheet, System::Codes, System::Fuel, Trial, row};
use crate::bench::action::{Action, Connector, Key, PartChoice, PartKind};
use crate::bench::pattern::Name;
use crate::bench::setup::{Faults, Setup, Stretch, StretchKind};
use crate::bench::{Bench, survey};
use crate::num;

const fn trim(id: &'static str, low: f64, high: f64) -> Row {
    row(id, Fuel, &PARTS, low, high).in_unit("%", 1)
}
/// Per cent of trim beside what the sum says.
const fn beside(id: &'static str, allowed: f64) -> Row {
    trim(id, -allowed, allowed)
}

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            trim("m17-idle", 18.0, 29.0),
            beside("m17-idle-sum", 1.5),
            beside("m17-2500-sum", 1.5),
            beside("m17-part-sum", 1.5),
            row("m17-open-loop", Fuel, &PARTS, -0.025, 0.025).in_unit("", 3),
            row("m17-back", Fuel, &PARTS, 0.0, 15.0).in_unit("s", 1),
            trim("m17-left", 0.0, 25.0),
        ],
        go: leak,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            row("m18-idle-air", Fuel, &PARTS, 0.0, 0.0).in_unit("g/s", 3),
            trim("m18-long", 0.0, 0.0),
            row("m18-idle", super::System::Idle, &PARTS, -40.0, 40.0).in_unit("rpm", 0),
            row("m18-readiness", Codes, &PARTS, 100.0, 100.0).in_unit("%", 0),
        ],
        go: battery_off,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            trim("m19a-idle", 12.636, 14.636),
            trim("m19a-part", 12.636, 14.636),
            trim("m19a-high", 12.636, 14.636),
        ],
        go: meter_low,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[beside("m19b-part", 1.5), beside("m19b-high", 1.5), beside("m19b-full", 3.0)],
        go: meter_low_with_flow,
    },
    Trial {
        cars: PLOVER,
        seeds: true,
        rows: &[
            beside("m20-idle", 1.5),
            row("m20-rail", Fuel, &PARTS, 0.0, 90.0).in_unit("%", 0),
            row("m20-lambda", Fuel, &PARTS, 1.1, 1.3).in_unit("", 2),
            row("m20-leaner", Fuel, &PARTS, 0.08, f64::INFINITY).in_unit("", 2),
            row("m20-misfires", Fuel, &PARTS, 0.0, 0.0).in_unit("", 0),
        ],
        go: weak_pump,
    },
    Trial {
        cars: DUNLIN,
        seeds: true,
        rows: &[row("m20-rail-code", Codes, &PARTS, 100.0, 100.0).in_unit("%", 0)],
        go: rail_code,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            trim("injector-low-trim", 1.964, 3.164).in_unit("%", 2),
            row("injector-low-own", Fuel, &FORMULA, 1.0725, 1.0942).in_unit("", 3),
            row("injector-low-others", Fuel, &FORMULA, 0.965, 0.985).in_unit("", 3),
        ],
        go: injector_low,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: false,
        rows: &[
            trim("height-70-idle", -10.0, 10.0),
            trim("height-70-work", -10.0, 10.0),
            trim("height-104-idle", -10.0, 10.0),
            trim("height-104-work", -10.0, 10.0),
            row("height-codes", Codes, &PRACTICE, 0.0, 0.0).in_unit("", 0),
        ],
        go: heights,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("no-spark-trims", Fuel, &PRACTICE, 12.0, f64::INFINITY).in_unit("%", 0),
            row("no-spark-gas", Fuel, &PRACTICE, 0.0, 0.92).in_unit("", 2),
        ],
        go: no_spark,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("no-map-speed", super::System::Idle, &PRACTICE, 550.0, 900.0).in_unit("rpm", 0),
            row("no-map-lambda", Fuel, &PRACTICE, 0.9, 1.1).in_unit("", 3),
        ],
        go: no_pressure_sensor,
    },
];

/// Means over some seconds: air through the meter as it is and through the leak \[g/s\], lambda, both trims.
#[derive(Debug, Clone, Copy)]
struct Means {
    air_g_s: f64,
    leak_g_s: f64,
    lambda: f64,
    both: f64,
    /// Metered over calculated air.
    metered: f64,
    rail_kpa: f64,
}

fn means(b: &mut Bench, seconds: f64) -> Means {
    let from = (b.plant().s.totals, b.time_s());
    let n = (10.0 * seconds) as u32;
    let mut m = Means { air_g_s: 0.0, leak_g_s: 0.0, lambda: 0.0, both: 0.0, metered: 0.0, rail_kpa: 0.0 };
    for _ in 0..n {
        b.advance_by(0.1);
        let l = b.observe().live;
        m.lambda += l.lambda / f64::from(n);
        m.both += both(b) / f64::from(n);
        m.metered += l.air_g_s / l.air_by_pressure_g_s / f64::from(n);
        m.rail_kpa += 1e-3 * b.plant().s.fuel.rail_pa / f64::from(n);
    }
    let (to, for_s) = (b.plant().s.totals, b.time_s() - from.1);
    m.air_g_s = 1e3 * (to.metered_kg - from.0.metered_kg) / for_s;
    m.leak_g_s = 1e3 * (to.leak_kg - from.0.leak_kg) / for_s;
    m
}

/// A steady hold, then its means, then idle again.
fn at_work(b: &mut Bench, (rpm, nm): (f64, f64), settle_s: f64) -> Means {
    hold(b, rpm, nm, settle_s);
    let m = means(b, 20.0);
    act(b, Action::Pedal(0.0));
    b.advance_by(12.0);
    m
}

/// By how much one's trims are above the other's \[%\].
fn over(x: &Means, y: &Means) -> f64 {
    100.0 * ((1.0 + x.both) / (1.0 + y.both) - 1.0)
}

/// The holds that draw about 10 g/s, and about 30 g/s.
const PART: (f64, f64) = (2000.0, 30.0);
const HIGH: (f64, f64) = (3000.0, 95.0);

fn leak(case: &Case, sheet: &mut Sheet) {
    let life = vec![driven(Name::Mixed, 12.0), held(2000.0, 30.0, 6.0)];
    let healthy = Setup { conditioning: life, ..case.setup(88.0) };
    let leaky = Setup { faults: Faults { unmetered_leak_mm2: 1.8, ..Faults::default() }, ..healthy.clone() };
    let (Some(mut h), Some(mut b)) = (built(&healthy), built(&leaky)) else { return };
    for x in [&mut h, &mut b] {
        start(x, 94.0);
    }
    let (idle_h, idle_b) = (means(&mut h, 30.0), means(&mut b, 30.0));
    let share = |m: &Means| 100.0 * m.leak_g_s / m.air_g_s;
    sheet.put("m17-idle", 100.0 * idle_b.both);
    sheet.put("m17-idle-sum", over(&idle_b, &idle_h) - share(&idle_b));
    for (id, at) in [("m17-2500-sum", (2500.0, 0.0)), ("m17-part-sum", PART)] {
        let (y, x) = (at_work(&mut h, at, 20.0), at_work(&mut b, at, 20.0));
        sheet.put(id, over(&x, &y) - share(&x));
    }
    // mended: open loop at the start, then the short term against the stale long term
    stop(&mut h);
    stop(&mut b);
    act(&mut b, Action::Leak(0.0));
    let long = learned(&b, "long_idle_bank1");
    for x in [&mut h, &mut b] {
        start(x, 11.0);
    }
    let (open_h, open_b) = (means(&mut h, 3.0), means(&mut b, 3.0));
    // by the flow at that moment: hot from the loaded hold, the fan may run
    let m_over = open_b.air_g_s / (open_b.air_g_s + idle_b.leak_g_s);
    sheet.put("m17-open-loop", open_b.lambda / open_h.lambda - m_over);
    b.advance_by(6.0);
    let from_s = b.time_s();
    while (b.observe().live.lambda - 1.0).abs() >= 0.02 && b.time_s() < from_s + 30.0 {
        b.advance_by(0.1);
    }
    sheet.put("m17-back", b.time_s() - from_s);
    b.advance_by(300.0);
    let left = learned(&b, "long_idle_bank1") - learned(&h, "long_idle_bank1");
    sheet.put("m17-left", 100.0 * (left / long).abs());
}

fn battery_off(case: &Case, sheet: &mut Sheet) {
    let grow = Stretch { kind: StretchKind::Idle, minutes: 10.0, wear_factor: 7500.0 };
    let Some(mut b) = built(&Setup { conditioning: vec![grow], ..case.setup(88.0) }) else { return };
    act(&mut b, Action::CleanThrottle);
    start(&mut b, 64.0);
    let idle_rpm = |b: &Bench| b.observe().idle.map_or(f64::NAN, |i| i.mean_rpm);
    let high = idle_rpm(&b);
    stop(&mut b);
    let light = learned(&b, "idle_air_light");
    for on in [false, true] {
        act(&mut b, Action::Connector(Connector::Battery, on));
        b.advance_by(30.0);
    }
    act(&mut b, Action::Key(Key::On));
    b.advance_by(1.0);
    sheet.put("m18-idle-air", learned(&b, "idle_air_light") - light);
    let long = ["long_idle_bank1", "long_part_bank1", "long_high_bank1"].map(|n| learned(&b, n).abs());
    sheet.put("m18-long", long.into_iter().fold(0.0, f64::max));
    let gone = !b.observe().readiness.iter().all(|m| m.complete);
    sheet.put_share("m18-readiness", usize::from(gone), 1);
    start(&mut b, 64.0);
    sheet.put("m18-idle", idle_rpm(&b) - high);
}

/// Nominal parts but for one, both cells driven more than once, since each learns from the other's flow too; 90 s of idle.
fn learned_with(case: &Case, parts: Vec<PartChoice>) -> Option<Bench> {
    let round = [held(2000.0, 30.0, 6.0), held(3000.0, 95.0, 6.0)];
    let conditioning = [&round[..], &round[..], &round[..]].concat();
    let mut b = built(&Setup { parts, conditioning, ..Setup::healthy(&nominal(case.text), 1, 88.0) })?;
    start(&mut b, 94.0).then_some(b)
}

fn meter_low(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = learned_with(case, vec![off_by(PartKind::AirMeter, -12.0)]) else { return };
    sheet.put("m19a-idle", 100.0 * means(&mut b, 30.0).both);
    sheet.put("m19a-part", learned(&b, "long_part_bank1"));
    sheet.put("m19a-high", learned(&b, "long_high_bank1"));
}

fn meter_low_with_flow(case: &Case, sheet: &mut Sheet) {
    let low = PartChoice { error_high_pct: Some(-15.0), ..off_by(PartKind::AirMeter, -4.0) };
    let (Some(mut b), Some(mut h)) = (learned_with(case, vec![low]), learned_with(case, vec![])) else {
        return;
    };
    let error = |g_s: f64| -0.04 - 0.11 * num::ln(g_s / 3.0) / num::ln(20.0);
    for (id, at) in [("m19b-part", PART), ("m19b-high", HIGH)] {
        let (x, y) = (at_work(&mut b, at, 60.0), at_work(&mut h, at, 60.0));
        sheet.put(id, over(&x, &y) - 100.0 * (1.0 / (1.0 + error(x.air_g_s)) - 1.0));
    }
    // full load: the mixture is rich on purpose and no trim acts
    hold(&mut b, 4500.0, 120.0, 15.0);
    let x = means(&mut b, 5.0);
    sheet.put("m19b-full", 100.0 * (x.metered - 1.0 - error(x.air_g_s)));
}

fn weak_pump(case: &Case, sheet: &mut Sheet) {
    let weak = Setup { parts: vec![worn(PartKind::FuelPump, 74.0)], ..case.setup(88.0) };
    let (Some(mut b), Some(mut h)) = (built(&weak), built(&case.setup(88.0))) else { return };
    for x in [&mut b, &mut h] {
        start(x, 64.0);
    }
    let (i, j) = (means(&mut b, 20.0), means(&mut h, 20.0));
    sheet.put("m20-idle", over(&i, &j));
    let misfires = |b: &Bench| b.truth().cylinders.iter().map(|c| c.misfires).sum::<u64>() as f64;
    at_work(&mut b, (2500.0, 70.0), 40.0);
    sheet.put("m20-misfires", misfires(&b));
    // against rollers that take the pedal to the floor
    let full = |b: &mut Bench| {
        hold(b, 5000.0, 160.0, 40.0);
        means(b, 5.0)
    };
    let (x, y) = (full(&mut b), full(&mut h));
    sheet.put("m20-rail", 100.0 * x.rail_kpa / y.rail_kpa);
    sheet.put("m20-lambda", x.lambda);
    sheet.put("m20-leaner", x.lambda - y.lambda);
}

/// Of all codes of the direct injection's weak supply the rail's comes first.
fn rail_code(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = built(&Setup { parts: vec![worn(PartKind::FuelPump, 83.0)], ..case.setup(88.0) })
    else {
        return;
    };
    start(&mut b, 120.0);
    let mut first = Vec::new();
    for (rpm, nm) in [(1500.0, 20.0), (2000.0, 35.0), (2500.0, 60.0), (3500.0, 72.0), (4500.0, 80.0)] {
        act(&mut b, Action::Hold { rpm, nm });
        for _ in 0..70 {
            b.advance_by(0.5);
            // counting misfires has rows of its own
            first = codes(&b).into_iter().filter(|c| !c.starts_with("P03")).collect();
            if !first.is_empty() {
                break;
            }
        }
        if !first.is_empty() {
            break;
        }
    }
    sheet.put_share("m20-rail-code", usize::from(first == ["P0087"]), 1);
}

/// One of four a tenth low, on nominal parts: by hand the bank gets 3.9/4 of its fuel.
fn injector_low(case: &Case, sheet: &mut Sheet) {
    let settled = |parts: Vec<PartChoice>| {
        let mut b = built(&Setup { parts, ..Setup::healthy(&nominal(case.text), 1, 88.0) })?;
        start(&mut b, 705.0).then_some(b)
    };
    let (Some(mut b), Some(mut h)) =
        (settled(vec![off_by(PartKind::Injector(2), -10.0)]), settled(Vec::new()))
    else {
        return;
    };
    let (x, y) = (means(&mut b, 30.0), means(&mut h, 30.0));
    sheet.put("injector-low-trim", over(&x, &y));
    let mut lambda = [0.0; 2];
    for _ in 0..20 {
        b.advance_by(5.0);
        let c = b.truth().cylinders;
        lambda[0] += c[1].lambda / 20.0;
        lambda[1] += (c[0].lambda + c[2].lambda + c[3].lambda) / 60.0;
    }
    sheet.put("injector-low-own", lambda[0]);
    sheet.put("injector-low-others", lambda[1]);
}

fn heights(case: &Case, sheet: &mut Sheet) {
    let mut stored = 0;
    for (kpa, idle, work) in
        [(70.0, "height-70-idle", "height-70-work"), (104.0, "height-104-idle", "height-104-work")]
    {
        let mut setup = case.setup(90.0);
        setup.weather.ambient_kpa = kpa;
        let Ok(mut b) = survey::warm(&setup) else { return };
        // the canister's vapour comes and goes in its own time
        act(&mut b, Action::Connector(Connector::PurgeHose, false));
        b.advance_by(60.0);
        sheet.put(idle, 100.0 * mean(&mut b, 20.0, both));
        hold(&mut b, 2200.0, 30.0, 30.0);
        sheet.put(work, 100.0 * mean(&mut b, 10.0, both));
        stored += codes(&b).iter().filter(|c| c.starts_with("P017")).count();
    }
    sheet.put("height-codes", stored as f64);
}

/// Cylinder 2 without spark at 2000 rpm: its oxygen reads lean and trims go up, while the gas in truth is rich.
fn no_spark(case: &Case, sheet: &mut Sheet) {
    let mut setup = case.setup(90.0);
    setup.car_toml = case.text.replace("cut_blocks = 2.0", "cut_blocks = 1000.0");
    let Ok(mut b) = survey::warm(&setup) else { return };
    hold(&mut b, 2000.0, 20.0, 30.0);
    let bank = usize::from(b.plant().params().layout.banks[1]) - 1;
    let trims = move |b: &Bench| {
        let f = &b.ecm().s.fuel;
        (1.0 + f.short[bank]) * (1.0 + f.long[bank]) - 1.0
    };
    let before = mean(&mut b, 5.0, trims);
    act(&mut b, Action::Interrupt(2, 100.0));
    b.advance_by(4.0);
    sheet.put("no-spark-trims", 100.0 * (mean(&mut b, 4.0, trims) - before));
    sheet.put("no-spark-gas", mean(&mut b, 5.0, |b| b.plant().s.exhaust.banks[bank].lambda));
}

fn no_pressure_sensor(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    act(&mut b, Action::Connector(Connector::ManifoldPressure, false));
    let mut worst = b.plant().speed_rpm();
    for _ in 0..400 {
        b.advance_by(0.1);
        let rpm = b.observe().live.engine_speed_rpm;
        if (rpm - 725.0).abs() > (worst - 725.0f64).abs() {
            worst = rpm;
        }
    }
    sheet.put("no-map-speed", worst);
    hold(&mut b, 2500.0, 40.0, 20.0);
    if has_code(&b, "P0107") {
        sheet.put("no-map-lambda", b.observe().live.lambda);
    }
}
