//! The warm idle of a sound engine, and what loads, a gear and a cut-out cylinder do to it (rows M1 and M21).

use super::hands::{act, ask, both, built, codes, injected_kg, mean, start};
use super::sources::*;
use super::{
    Case, EVERY_CAR, PLOVER, Sheet, System::Catalyst, System::Cooling, System::Engine, System::Fuel,
    System::Idle, Trial, row,
};
use crate::bench::action::{Action, Gear, Load};
use crate::bench::tools::Tool;
use crate::bench::{Bench, Done};
use crate::link::{DiagRequest, Routine};

const ENDLESS: f64 = f64::INFINITY;

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("m1-speed", Idle, &PRACTICE, -10.0, 10.0).in_unit("rpm", 1),
            row("m1-steady", Idle, &PRACTICE, 0.0, 16.0).in_unit("rpm", 1),
            row("m1-map", Idle, &PRACTICE, 26.0, 36.0).in_unit("kPa", 1),
            row("m1-air", Idle, &PRACTICE, 1.8, 3.2).in_unit("g/s", 2).of(PLOVER),
            row("m1-lambda", Fuel, &PRACTICE, 0.99, 1.01).in_unit("", 3),
            row("m1-trims", Fuel, &PRACTICE, -5.0, 5.0).in_unit("%", 1),
            row("m1-codes", super::System::Codes, &PRACTICE, 0.0, 0.0).in_unit("", 0),
            row("imep-cov", Engine, &COV, 2.0, 10.0).in_unit("%", 1),
            row("residual", Engine, &RESIDUAL, 15.0, 30.0).in_unit("%", 1),
            row("sensor-true", Fuel, &PRACTICE, 0.995, 1.005).in_unit("", 4),
            row("coolant-held", Cooling, &PRACTICE, 84.0, 100.0).in_unit("°C", 1),
        ],
        go: warm_idle,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("m21-compressor-dip", Idle, &PRACTICE, -ENDLESS, 120.0).in_unit("rpm", 0),
            row("m21-compressor-back", Idle, &PRACTICE, 0.0, 3.0).in_unit("s", 1),
            row("m21-current-dip", Idle, &PRACTICE, -ENDLESS, 120.0).in_unit("rpm", 0),
            row("m21-current-back", Idle, &PRACTICE, 0.0, 3.0).in_unit("s", 1),
            row("drive-torque", Idle, &PRACTICE, 10.0, 25.0).in_unit("N·m", 1),
            row("drive-speed", Idle, &PRACTICE, -40.0, 40.0).in_unit("rpm", 0),
            row("m21-tip-in-peak", Fuel, &PRACTICE, 1.05, 1.3).in_unit("", 2),
            row("m21-tip-in-time", Fuel, &PRACTICE, 0.0, 1.0).in_unit("s", 2),
        ],
        go: disturbed,
    },
    Trial {
        cars: EVERY_CAR,
        seeds: true,
        rows: &[
            row("cut-out-drop-least", Idle, &PRACTICE, 50.0, 150.0).in_unit("rpm", 0),
            row("cut-out-drop-most", Idle, &PRACTICE, 50.0, 150.0).in_unit("rpm", 0),
            row("cut-out-runs", Idle, &PRACTICE, 100.0, 100.0).in_unit("%", 0),
        ],
        go: cut_out,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[row("idle-fuel", Idle, &IDLE_FUEL, 0.75, 1.25)],
        go: idle_fuel,
    },
    Trial {
        cars: PLOVER,
        seeds: false,
        rows: &[
            row("gas-o2", Catalyst, &ENGINE_OUT, 0.0, 2.0).in_unit("%", 2),
            row("gas-co", Catalyst, &ENGINE_OUT, 0.0, 1.5).in_unit("%", 2),
            row("gas-co2", Catalyst, &ENGINE_OUT, 13.5, 15.6).in_unit("%", 1),
            row("gas-hc", Catalyst, &ENGINE_OUT, 100.0, 600.0).in_unit("ppm", 0),
        ],
        go: engine_out,
    },
];

/// Six minutes of warm idle; the last one is looked at.
fn warm_idle(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(300.0);
    let Some(first) = b.observe().idle else { return };
    let (gas, seen) = gas_and_seen(&mut b, 30.0);
    let o = b.observe();
    let Some(i) = o.idle.clone() else { return };
    let t = b.truth();
    let n = t.cylinders.len() as f64;
    sheet.put("m1-speed", 0.5 * (first.mean_rpm + i.mean_rpm) - i.target_rpm);
    sheet.put("m1-steady", first.sd_rpm.max(i.sd_rpm));
    sheet.put("m1-map", i.map_kpa);
    sheet.put("m1-air", i.air_g_s);
    sheet.put("m1-lambda", i.lambda[0]);
    sheet.put("m1-trims", 100.0 * both(&b));
    sheet.put("m1-codes", codes(&b).len() as f64);
    sheet.put("imep-cov", t.cylinders.iter().map(|c| c.imep_cov_pct).fold(0.0, f64::max));
    sheet.put("residual", t.cylinders.iter().map(|c| c.residual_pct).sum::<f64>() / n);
    sheet.put("sensor-true", seen / gas);
    sheet.put("coolant-held", t.coolant_c);
}

/// Lambda of the gas that bank 1's sensor stands in, and what the sensor makes of it, means of some seconds.
fn gas_and_seen(b: &mut Bench, seconds: f64) -> (f64, f64) {
    let n = (50.0 * seconds) as u32;
    let (mut gas, mut seen) = (0.0, 0.0);
    for _ in 0..n {
        b.advance_by(0.02);
        let at = &b.plant().s.exhaust.banks[0];
        gas += at.lambda / f64::from(n);
        seen += b.plant().params().sensors.seen_lambda(at.lambda, at.raw) / f64::from(n);
    }
    (gas, seen)
}

/// How far the speed dips under its target \[rpm\] and when it is back for good \[s\] after an act.
fn dip(b: &mut Bench, a: Action) -> (f64, f64) {
    act(b, a);
    let (t0, target) = (b.time_s(), b.observe().live.target_rpm);
    let (mut low, mut back_s) = (f64::INFINITY, 0.0);
    while b.time_s() < t0 + 8.0 {
        b.advance_by(0.05);
        let rpm = b.ecm().s.inputs.rpm;
        low = low.min(rpm);
        if (rpm - target).abs() > 40.0 {
            back_s = b.time_s() - t0;
        }
    }
    (target - low, back_s)
}

fn disturbed(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(70.0);
    let (low, back_s) = dip(&mut b, Action::Load(Load::Compressor, true));
    sheet.put("m21-compressor-dip", low);
    sheet.put("m21-compressor-back", back_s);
    act(&mut b, Action::Load(Load::Compressor, false));
    b.advance_by(20.0);
    // some 30 A together
    act(&mut b, Action::Load(Load::HeatedGlass, true));
    let (low, back_s) = dip(&mut b, Action::Load(Load::Blower, true));
    sheet.put("m21-current-dip", low);
    sheet.put("m21-current-back", back_s);
    for load in [Load::HeatedGlass, Load::Blower] {
        act(&mut b, Action::Load(load, false));
    }
    b.advance_by(20.0);
    let mut in_gear = b.clone();
    act(&mut in_gear, Action::Brake(true));
    act(&mut in_gear, Action::Gear(Gear::Drive));
    in_gear.advance_by(10.0);
    sheet.put("drive-torque", mean(&mut in_gear, 5.0, |b| b.plant().s.road.crank_nm));
    let target = in_gear.observe().live.target_rpm;
    sheet.put("drive-speed", mean(&mut in_gear, 10.0, |b| b.plant().speed_rpm()) - target);
    // foot down in one go against rollers
    act(&mut b, Action::Hold { rpm: 2000.0, nm: 20.0 });
    b.advance_by(20.0);
    let pedal = b.observe().live.pedal_pct;
    act(&mut b, Action::Pedal(pedal + 15.0));
    let (mut peak, mut lean_s) = (0.0f64, 0.0);
    for _ in 0..300 {
        b.advance_by(0.01);
        let lambda = b.plant().s.exhaust.banks[0].lambda;
        peak = peak.max(lambda);
        lean_s += if lambda > 1.05 { 0.01 } else { 0.0 };
    }
    sheet.put("m21-tip-in-peak", peak);
    sheet.put("m21-tip-in-time", lean_s);
}

/// The module's routine cuts one cylinder after the other, at a charge that differs from seed to seed.
fn cut_out(case: &Case, sheet: &mut Sheet) {
    let mut setup = case.in_air(90.0, 20.0);
    setup.battery_charge_pct = [98.0, 90.0, 60.0][(case.seed % 3) as usize];
    let Some(mut b) = built(&setup) else { return };
    if !start(&mut b, 45.0) {
        return;
    }
    let (mut least, mut most, mut runs) = (f64::INFINITY, f64::NEG_INFINITY, 0);
    let n = b.cylinders();
    for k in 1..=n {
        let before = mean(&mut b, 3.0, |b| b.plant().speed_rpm());
        ask(&mut b, DiagRequest::Start(Routine::CutOut(k as u8)));
        let drop = before - mean(&mut b, 6.0, |b| b.plant().speed_rpm());
        (least, most) = (least.min(drop), most.max(drop));
        b.advance_by(20.0);
        runs += usize::from(b.observe().live.running);
    }
    sheet.put("cut-out-drop-least", least);
    sheet.put("cut-out-drop-most", most);
    sheet.put_share("cut-out-runs", runs, n);
}

/// Idle fuel without belts, current and loads, over what the report tells of a 2.0 L engine by displacement \[-\]; petrol
/// of 745 g/L.
fn idle_fuel(case: &Case, sheet: &mut Sheet) {
    let mut s = case.setup(90.0);
    for (was, now) in [
        ("key_on_a = 2.5", "key_on_a = 0.0"),
        ("running_a = 7.5", "running_a = 0.0"),
        ("belt_nm = 0.3", "belt_nm = 0.0"),
    ] {
        if !s.car_toml.contains(was) {
            return;
        }
        s.car_toml = s.car_toml.replacen(was, now, 1);
    }
    s.battery_charge_pct = 100.0;
    let Some(mut b) = built(&s) else { return };
    if !start(&mut b, 120.0) {
        return;
    }
    let l_h = injected_kg(&mut b, 60.0) * 60.0 / 0.745;
    sheet.put("idle-fuel", l_h / (0.606 * b.plant().swept_m3() * 1e3 / 2.0));
}

fn engine_out(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = case.warm() else { return };
    b.advance_by(40.0);
    let tool = Tool::GasReading;
    if let Done::Measuring(s) = b.act("", Action::Measure(tool)) {
        b.advance_by(s + 0.02);
    }
    let Some(r) = b.observe().readings.into_iter().find(|r| r.tool == tool) else { return };
    for (id, name) in
        [("gas-o2", "o2_pct"), ("gas-co", "co_pct"), ("gas-co2", "co2_pct"), ("gas-hc", "hc_ppm")]
    {
        sheet.put(id, r.number(name).unwrap_or(f64::NAN));
    }
}
