//! Road, driver and driving patterns: hand calculations for the road, how a driver drives, what a healthy car's
//! module learns and reports in hours of driving, and conditioning by patterns.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::jobs::is_mistake;
use crate::bay::{PLOVER as CAR, crank, seeds, start_in};
use idlewright::bench::action::{Action, Connector, Gear, Key, Load};
use idlewright::bench::car::Car;
use idlewright::bench::car::NoCar;
use idlewright::bench::driver::{Driver, LOOK_S, Sensed, Told};
use idlewright::bench::facts::{DriverTells, Hindrance, ModelNote};
use idlewright::bench::pattern::Name;
use idlewright::bench::record::Kind;
use idlewright::bench::setup::{Setup, Stretch, StretchKind};
use idlewright::bench::trace::COLUMNS;
use idlewright::bench::{Bench, Done};
use idlewright::link::Notice;
use idlewright::plant::road;
use idlewright::scenario::{parse_actions, parse_scenario};
use idlewright::session::{Options, Session};
use idlewright::store;

/// Half the density of air as stated in the road model, and gravity.
const HALF_RHO: f64 = 0.6;
const G: f64 = 9.81;
const TICK_S: f64 = 0.01;

fn params() -> road::Params {
    Car::parse(CAR).expect("the car").plant.road.clone()
}

fn running(seed: u64) -> Bench {
    let mut b = Bench::standing(&Setup::healthy(CAR, seed, 88.0)).expect("a bench");
    start_in(&mut b, 20.0);
    b
}

fn drive(pattern: Name, minutes: f64) -> Action {
    Action::Drive { pattern, minutes }
}

fn told(b: &Bench) -> Vec<DriverTells> {
    let what = |k: &Kind| if let Kind::Drive { what } = k { Some(what.clone()) } else { None };
    b.log().iter().filter_map(|e| what(&e.kind)).collect()
}

fn rolling(seed: u64, m_s: f64) -> road::State {
    let mut s = road::State::at_rest(seed);
    s.speed_m_s = m_s;
    s
}

const NEUTRAL: road::Inputs = road::Inputs { drive: false, brake_pct: 0.0, pedal_pct: 0.0, omega: 75.0 };

// --- the road ---------------------------------------------------------------------------------------------

/// In neutral `m dv/dt = −(A + B v²)`, so from v₀ to v₁ it takes `m/√(AB) (atan v₀√(B/A) − atan v₁√(B/A))`.
#[test]
fn exact_coast_down_in_neutral() {
    let p = params();
    let (a, b) = (p.mass_kg * G * p.rolling, HALF_RHO * p.drag_m2);
    let k = (b / a).sqrt();
    let (v0, v1) = (100.0 / 3.6, 20.0 / 3.6);
    let hand_s = p.mass_kg / (a * b).sqrt() * ((v0 * k).atan_of() - (v1 * k).atan_of());
    let mut s = rolling(1, v0);
    let mut t_s = 0.0;
    while s.speed_m_s > v1 {
        s.tick(&p, &NEUTRAL, TICK_S);
        t_s += TICK_S;
    }
    println!("coast-down 100 to 20 km/h: {t_s:.2} s, by hand {hand_s:.2} s");
    assert!((t_s - hand_s).abs() < 0.05);
}

/// A slope adds or subtracts `g sin α` and reduces rolling resistance by its cosine; a brake adds its share of
/// gravity.
#[test]
fn exact_slope_and_brake() {
    let p = params();
    let v = 15.0;
    for (slope_pct, brake_pct) in [(0.0, 0.0), (8.0, 0.0), (-6.0, 0.0), (0.0, 40.0), (5.0, 100.0)] {
        let mut s = rolling(1, v);
        s.slope_pct = slope_pct;
        s.tick(&p, &road::Inputs { brake_pct, ..NEUTRAL }, TICK_S);
        // the angle from its series: a slope of 8 % is 0.07983 rad
        let x = slope_pct / 100.0;
        let cos = 1.0 - x * x / 2.0 + 3.0 * x * x * x * x / 8.0;
        let hand = -G * (x * cos + p.rolling * cos + p.brake_g * brake_pct / 100.0)
            - HALF_RHO * p.drag_m2 * v * v / p.mass_kg;
        let is = (s.speed_m_s - v) / TICK_S;
        assert!((is - hand).abs() < 1e-6, "slope {slope_pct} %, brake {brake_pct} %: {is} by hand {hand}");
    }
    // standing uphill the car stays: the road model has no rolling backwards
    let mut s = rolling(1, 0.0);
    s.slope_pct = 10.0;
    s.tick(&p, &NEUTRAL, TICK_S);
    assert_eq!(s.speed_m_s, 0.0);
    // standing downhill the car rolls off, unless it is braked
    s.slope_pct = -10.0;
    s.tick(&p, &road::Inputs { brake_pct: 30.0, ..NEUTRAL }, TICK_S);
    assert_eq!(s.speed_m_s, 0.0);
    s.tick(&p, &NEUTRAL, TICK_S);
    assert!(s.speed_m_s > 0.0);
}

/// Each gear is shifted up once and down once; held at any speed, the gearbox does not hunt.
#[test]
fn holds_gears_do_not_hunt() {
    let p = params();
    for pedal_pct in [0.0, 15.0, 40.0, 70.0, 100.0] {
        let mut s = rolling(1, 0.0);
        let mut changes = 0;
        let mut last = s.gear;
        for n in 0..40_000 {
            // slowly up to 200 km/h and down again, with the variations of a foot and of the road
            let slow = if n < 20_000 { n as f64 } else { 40_000.0 - n as f64 } / 20_000.0;
            let wobble = if (n / 150) % 2 == 0 { 0.7 } else { -0.7 };
            s.speed_m_s = (slow * 200.0 + wobble).max(0.0) / 3.6;
            s.tick(&p, &road::Inputs { pedal_pct, ..NEUTRAL }, TICK_S);
            if s.gear != last {
                changes += 1;
                last = s.gear;
            }
        }
        assert_eq!(changes, 2 * (p.ratios.len() - 1), "pedal {pedal_pct} %");
        assert_eq!(s.gear, 0);
    }
}

/// A gear change takes a moment, and the ratio always stays between the two gears' ratios.
#[test]
fn holds_ratio_changes_smoothly() {
    let p = params();
    let mut s = rolling(1, 5.1);
    s.tick(&p, &NEUTRAL, TICK_S);
    assert_eq!(s.ratio, p.ratios[0]);
    let mut before = s.ratio;
    let mut most: f64 = 0.0;
    for _ in 0..400 {
        s.speed_m_s = 7.0;
        s.tick(&p, &NEUTRAL, TICK_S);
        most = most.max((before - s.ratio).abs());
        assert!(s.ratio <= before && s.ratio >= p.ratios[1]);
        before = s.ratio;
    }
    assert!(most < 0.25, "{most} in a hundredth of a second");
    assert!((s.ratio - p.ratios[1]).abs() < 0.02);
}

/// Rough road: the standard deviation of the torque is as requested, with zero mean; a smooth road adds no torque.
#[test]
fn exact_rough_road() {
    let p = params();
    let mut s = rolling(7, 12.0);
    s.engaged = 1.0;
    let torque = |s: &mut road::State, rough_nm: f64| {
        s.speed_m_s = 12.0;
        s.engaged = 1.0;
        s.rough_nm = rough_nm;
        s.tick(&p, &road::Inputs { drive: true, ..NEUTRAL }, TICK_S);
        s.crank_nm
    };
    for _ in 0..300 {
        torque(&mut s, 0.0);
    }
    let smooth = torque(&mut s, 0.0);
    assert!((torque(&mut s, 0.0) - smooth).abs() < 1e-3);
    let n = 60_000;
    let all: Vec<f64> = (0..n).map(|_| torque(&mut s, 6.0) - smooth).collect();
    let mean = all.iter().sum::<f64>() / n as f64;
    let sd = (all.iter().map(|x| x * x).sum::<f64>() / n as f64).sqrt();
    // 600 s contain some 15 000 independent values: standard errors 0.05 and 0.035
    println!("rough road of 6 N·m: mean {mean:+.3}, deviation {sd:.3} N·m");
    assert!(mean.abs() < 0.2 && (sd - 6.0).abs() < 0.15);
}

/// The torque of a rough road is what the converter makes of the wheels' unevenness: by the difference of its own law with
/// the turbine as fast as the wheels make it and without, but for the square of the unevenness. The car itself goes on evenly,
/// and a smooth road leaves the wheels even.
#[test]
fn exact_rough_road_at_the_wheels() {
    let p = params();
    let mut s = rolling(7, 12.0);
    let tick = |s: &mut road::State, rough_nm: f64| {
        (s.speed_m_s, s.engaged, s.rough_nm) = (12.0, 1.0, rough_nm);
        s.tick(&p, &road::Inputs { drive: true, ..NEUTRAL }, TICK_S);
        s.crank_nm
    };
    // until the last gear is in
    for _ in 0..1000 {
        tick(&mut s, 0.0);
    }
    let smooth = tick(&mut s, 0.0);
    assert_eq!(s.wheels_m_s(), s.speed_m_s);
    let turbine = 12.0 * s.ratio / p.wheel_m;
    let (mut squares, n) = (0.0, 20_000);
    for _ in 0..n {
        let torque = tick(&mut s, 6.0) - smooth;
        let off = s.wheels_m_s() - s.speed_m_s;
        let faster = off * s.ratio / p.wheel_m;
        let law = -p.converter_capacity * ((turbine + faster) * (turbine + faster) - turbine * turbine);
        assert!(
            (torque - law).abs() <= p.converter_capacity * faster * faster + 1e-6,
            "{torque} against {law}"
        );
        squares += off * off;
    }
    let sd = (squares / f64::from(n)).sqrt();
    let by_hand = 6.0 / (2.0 * p.converter_capacity * turbine) * p.wheel_m / s.ratio;
    println!("6 N·m at 12 m/s: {:.2} km/h at the wheels, by hand {:.2}", 3.6 * sd, 3.6 * by_hand);
    assert!((sd / by_hand - 1.0).abs() < 0.05);
}

/// Full pedal. By hand: energy at the wheels minus drag becomes ½ m v²; at top speed drag takes all of it; the crank
/// delivers this plus the losses of gears and slipping converter. Common practice for 1290 kg with some 80 kW at the
/// crank and four gears behind a converter: 11 to 14 s to 100 km/h, 150 to 190 km/h.
#[test]
fn practice_top_speed_and_sprint() {
    let p = params();
    let mut b = running(1);
    b.act("", Action::Gear(Gear::Drive));
    b.act("", Action::Pedal(100.0));
    let from_s = b.time_s();
    let mut sprint_s = None;
    let mut gained_j = 0.0;
    while b.time_s() < from_s + 150.0 {
        b.advance_by(TICK_S);
        let s = &b.plant().s;
        if sprint_s.is_none() {
            let v = s.road.speed_m_s;
            let slip = v * s.road.ratio / p.wheel_m / s.crank.omega;
            let more = (p.converter_ratio - (p.converter_ratio - 1.0) * slip / 0.85).max(1.0);
            let force = 0.92 * s.road.crank_nm * more * s.road.ratio / p.wheel_m;
            gained_j += (force - p.mass_kg * G * p.rolling - HALF_RHO * p.drag_m2 * v * v) * v * TICK_S;
        }
        if sprint_s.is_none() && b.plant().s.road.speed_m_s > 100.0 / 3.6 {
            sprint_s = Some(b.time_s() - from_s);
        }
    }
    let sprint_s = sprint_s.expect("100 km/h was passed");
    let r = &b.plant().s.road;
    let (v, gear) = (r.speed_m_s, r.gear);
    let mut sum_w = 0.0;
    for _ in 0..100 {
        b.advance_by(0.1);
        let s = &b.plant().s;
        sum_w += s.road.crank_nm * s.crank.omega / 100.0;
    }
    let s = &b.plant().s;
    let slip = s.road.speed_m_s * s.road.ratio / p.wheel_m / s.crank.omega;
    let by_hand_w = (p.mass_kg * G * p.rolling + HALF_RHO * p.drag_m2 * v * v) * v;
    let wheels_w = 0.92 * slip * sum_w;
    println!(
        "0-100 km/h {sprint_s:.1} s, top {:.0} km/h in gear {} at {:.0} rpm, crank {:.1} kW, wheels {:.1}, by hand {:.1} kW",
        3.6 * v,
        gear + 1,
        b.plant().speed_rpm(),
        sum_w * 1e-3,
        wheels_w * 1e-3,
        by_hand_w * 1e-3
    );
    assert!((wheels_w - by_hand_w).abs() < 0.02 * by_hand_w);
    let kinetic_j = 0.5 * p.mass_kg * (100.0 / 3.6_f64) * (100.0 / 3.6);
    println!(
        "to 100 km/h {:.1} kJ gained at the wheels, by hand {:.1} kJ",
        gained_j * 1e-3,
        kinetic_j * 1e-3
    );
    assert!((gained_j - kinetic_j).abs() < 0.02 * kinetic_j);
    assert!((11.0..=14.0).contains(&sprint_s), "0 to 100 km/h in {sprint_s:.1} s");
    assert!((150.0..=190.0).contains(&(3.6 * v)), "top speed {:.0} km/h", 3.6 * v);
}

/// Foot off the pedal at 100 km/h in gear: the fuel is cut above 1800 rpm, returns at 1350, and the engine never
/// falls below its idle; the car slows down more than in neutral.
#[test]
fn practice_coast_down_cuts_fuel() {
    let mut b = running(1);
    b.act("", Action::Gear(Gear::Drive));
    b.act("", Action::Pedal(60.0));
    while b.plant().s.road.speed_m_s < 100.0 / 3.6 {
        b.advance_by(0.1);
    }
    b.act("", Action::Pedal(0.0));
    b.advance_by(1.0);
    assert!(b.ecm().s.fuel.cut, "at {:.0} rpm", b.plant().speed_rpm());
    let (mut back_rpm, mut lowest, mut worst_short) = (None, f64::MAX, 0.0_f64);
    let v0 = b.plant().s.road.speed_m_s;
    let t0 = b.time_s();
    while b.plant().s.road.speed_m_s > 40.0 / 3.6 {
        b.advance_by(0.1);
        let e = &b.ecm().s;
        if !e.fuel.cut && back_rpm.is_none() {
            back_rpm = Some(e.inputs.rpm);
        }
        lowest = lowest.min(e.inputs.rpm);
        worst_short = worst_short.max(e.fuel.short[0].abs());
    }
    let took_s = b.time_s() - t0;
    let p = params();
    let (a, d) = (p.mass_kg * G * p.rolling, HALF_RHO * p.drag_m2);
    let k = (d / a).sqrt();
    let neutral_s = p.mass_kg / (a * d).sqrt() * ((v0 * k).atan_of() - (40.0 / 3.6 * k).atan_of());
    let back_rpm = back_rpm.expect("the fuel came back");
    println!(
        "coast-down in gear {:.0} to 40 km/h: {took_s:.1} s (neutral {neutral_s:.1} s), fuel back at {back_rpm:.0} rpm, lowest {lowest:.0} rpm, short-term at most {:.1} %",
        v0 * 3.6,
        100.0 * worst_short
    );
    assert!((1250.0..=1420.0).contains(&back_rpm), "{back_rpm}");
    assert!(took_s < 0.9 * neutral_s);
    assert!(lowest > 600.0);
    assert!(worst_short < 0.04, "the air that the cut left was taken for a lean mixture");
}

/// Arctangent of a value below 4 by the test's own series, with halving.
trait AtanOf {
    fn atan_of(self) -> f64;
}
impl AtanOf for f64 {
    fn atan_of(self) -> f64 {
        // atan x = 2 atan(x/(1 + √(1 + x²))), three times, then the series
        let mut x = self;
        for _ in 0..4 {
            x /= 1.0 + (1.0 + x * x).sqrt();
        }
        let x2 = x * x;
        16.0 * x * (1.0 - x2 / 3.0 + x2 * x2 / 5.0 - x2 * x2 * x2 / 7.0)
    }
}

// --- patterns and driver ----------------------------------------------------------------------------------

/// A person could drive every pattern: it begins and ends at standstill, asks for no more than 1.4 m/s² of
/// acceleration and 1.6 of deceleration, stands whenever the selector is in neutral or the key is off, has a moment
/// in gear before it sets off, and no slope where it stands in neutral.
#[test]
fn holds_patterns_can_be_driven() {
    for (word, name) in Name::ALL {
        let p = name.pattern();
        assert_eq!(name.word(), *word);
        let points = p.speed.points();
        assert_eq!(points[0], [0.0, 0.0], "{word}");
        assert_eq!(points[points.len() - 1][1], 0.0, "{word}");
        for w in points.windows(2) {
            let a = (w[1][1] - w[0][1]) / 3.6 / (w[1][0] - w[0][0]);
            assert!((-1.6..=1.4).contains(&a), "{word}: {a:.2} m/s² at {} s", w[0][0]);
        }
        for s in p.neutral.iter().chain(&p.key_off) {
            assert!(s[0] < s[1] && s[1] <= p.length_s() + 0.2, "{word}: {s:?}");
            let mut t = s[0];
            while t <= s[1] {
                assert!(p.speed_m_s(t.min(p.length_s() - 1e-6)) < 1e-9, "{word}: rolling at {t} s");
                assert!(p.slope.at(t).abs() < 0.5, "{word}: slope at {t} s");
                t += 0.5;
            }
            let after = s[1] + 2.0;
            assert!(
                after >= p.length_s() || p.speed_m_s(after) < 2.0,
                "{word}: no moment in gear at {after} s"
            );
        }
        for s in &p.key_off {
            let neutral = |t: f64| p.within(&p.neutral, t);
            assert!(neutral(s[0]) && neutral(s[1]), "{word}: key off in gear");
        }
    }
    let mixed = Name::Mixed.pattern().length_s();
    let parts: f64 =
        [Name::Town, Name::Motorway, Name::Town, Name::Hill].iter().map(|n| n.pattern().length_s()).sum();
    assert!((mixed - parts - 4.0 * 45.0).abs() < 0.2, "{mixed} {parts}");
}

/// What one drive looked like from outside.
#[derive(Default)]
struct Seen {
    worst_km_h: f64,
    square: f64,
    looks: f64,
    travel_pct: f64,
    turns_a_minute: f64,
    lowest_rpm: f64,
    stalls: usize,
}

/// Drives and records: deviation from the speed asked for, movement of the foot, lowest engine speed.
fn watch(b: &mut Bench, pattern: Name, minutes: f64) -> Seen {
    assert_eq!(b.act("", drive(pattern, minutes)), Done::Yes);
    let from_s = b.time_s();
    let mut seen = Seen { lowest_rpm: f64::MAX, ..Seen::default() };
    let (mut foot, mut way) = (0.0, 0.0);
    while let Some(driver) = b.driver() {
        let asked = driver.asked_m_s();
        let coasting = pattern.pattern().within(&pattern.pattern().coast, driver.clock_s());
        b.advance_by(0.1);
        let s = &b.plant().s;
        if !coasting {
            let off = 3.6 * (s.road.speed_m_s - asked);
            seen.worst_km_h = seen.worst_km_h.max(off.abs());
            seen.square += off * off;
            seen.looks += 1.0;
        }
        let moved: f64 = s.hands.pedal_pct - foot;
        foot = s.hands.pedal_pct;
        seen.travel_pct += moved.abs();
        // a reversal of the foot by more than half a per cent could be felt
        if moved.abs() > 0.5 {
            if moved * way < 0.0 {
                seen.turns_a_minute += 1.0;
            }
            way = moved;
        }
        let e = &b.ecm().s;
        if e.running && e.fuel.running_s > 3.0 {
            seen.lowest_rpm = seen.lowest_rpm.min(e.inputs.segment_rpm);
        }
    }
    let min = (b.time_s() - from_s) / 60.0;
    seen.travel_pct /= min;
    seen.turns_a_minute /= min;
    seen.stalls = told(b).iter().filter(|t| **t == DriverTells::Stalled).count();
    seen
}

/// The driver follows every pattern within 6 km/h, 1.5 km/h on average (except when coasting), without sawing at the
/// pedal, does not stall the engine, and ends in time: standing, in neutral, idling, feet off.
#[test]
fn holds_driver_keeps_to_every_pattern() {
    for (word, name) in Name::ALL {
        let mut b = running(1);
        let from_s = b.time_s();
        let seen = watch(&mut b, *name, 12.0);
        let rms = (seen.square / seen.looks).sqrt();
        println!(
            "{word:<12} off by at most {:.1}, rms {rms:.2} km/h; pedal {:.0} %/min, {:.1} turns/min; engine at least {:.0} rpm",
            seen.worst_km_h, seen.travel_pct, seen.turns_a_minute, seen.lowest_rpm
        );
        assert!(seen.worst_km_h < 6.0 && rms < 1.5, "{word}: {:.1}, {rms:.2}", seen.worst_km_h);
        assert!(seen.turns_a_minute < 6.0, "{word}: {:.1} turns a minute", seen.turns_a_minute);
        assert!(seen.lowest_rpm > 550.0, "{word}: {:.0} rpm", seen.lowest_rpm);
        assert_eq!(seen.stalls, 0, "{word}");
        assert!(
            (b.time_s() - from_s - 720.0).abs() < 1.0,
            "{word}: ended after {:.1} s",
            b.time_s() - from_s
        );
        let h = &b.plant().s.hands;
        assert!(!h.drive && h.pedal_pct == 0.0 && h.brake_pct == 0.0 && h.key_on);
        assert_eq!(b.plant().s.road.slope_pct, 0.0);
        b.advance_by(10.0);
        assert!(b.plant().s.road.speed_m_s < 1e-9);
        assert!(b.observe().live.running && b.observe().live.idling);
        assert_eq!(told(&b), [DriverTells::Over]);
        assert!(b.model_notes().is_empty(), "{:?}", b.model_notes());
    }
}

/// A drive needs a running engine and a standing car, and says what is missing.
#[test]
fn trips_a_drive_that_cannot_begin() {
    let hindered = |b: &mut Bench, wanted: Hindrance| match b.act("d", drive(Name::Town, 5.0)) {
        Done::Hindered(why) => assert_eq!(why, wanted),
        other => panic!("{other:?}"),
    };
    let mut b = Bench::standing(&Setup::healthy(CAR, 1, 88.0)).expect("a bench");
    hindered(&mut b, Hindrance::NotRunning);
    let mut b = running(1);
    b.act("", Action::Gear(Gear::Drive));
    b.act("", Action::Pedal(20.0));
    b.advance_by(5.0);
    hindered(&mut b, Hindrance::Rolling);
    let mut b = running(1);
    b.act("", Action::Connector(Connector::Battery, false));
    hindered(&mut b, Hindrance::ClampOff);
}

/// A hand on pedal, brake, selector or key ends the drive at once; other hands do not.
#[test]
fn trips_another_hand_ends_the_drive() {
    for action in
        [Action::Pedal(5.0), Action::Brake(true), Action::Gear(Gear::Neutral), Action::Key(Key::Off)]
    {
        let mut b = running(1);
        b.act("", drive(Name::Town, 5.0));
        b.advance_by(30.0);
        b.act("", Action::Load(Load::Lamps, true));
        b.act("", Action::Leak(0.3));
        assert!(b.driver().is_some(), "lamps and hoses are not the driver's");
        let slope = Name::Town.pattern().slope.at(30.0);
        assert_eq!(b.plant().s.road.slope_pct, slope);
        b.act("", action.clone());
        assert!(b.driver().is_none(), "{action:?}");
        let h = &b.plant().s.hands;
        let pedal = if let Action::Pedal(pct) = action { pct } else { 0.0 };
        assert_eq!((h.pedal_pct, h.brake_pct > 0.0), (pedal, action == Action::Brake(true)));
        assert_eq!(told(&b), [DriverTells::AnotherHand]);
    }
}

/// An engine that idles far too high (its throttle was cleaned, the learned value is stale) pushes against the brake:
/// the car still stands where it should.
#[test]
fn holds_driver_stops_a_car_that_idles_high() {
    let stretch = Stretch { kind: StretchKind::Idle, minutes: 10.0, wear_factor: 7500.0 };
    let setup = Setup { conditioning: vec![stretch], ..Setup::healthy(CAR, 1, 88.0) };
    let mut b = Bench::new(&setup, &mut |_| true).expect("a bench");
    assert_eq!(b.act("", Action::CleanThrottle), Done::Yes);
    crank(&mut b);
    b.advance_by(20.0);
    let idle_rpm = b.plant().speed_rpm();
    let seen = watch(&mut b, Name::Town, 6.0);
    println!("idle {idle_rpm:.0} rpm: off by at most {:.1} km/h, {:?}", seen.worst_km_h, told(&b));
    assert!(idle_rpm > 1000.0, "{idle_rpm:.0}");
    assert_eq!(told(&b)[0], DriverTells::Over);
    assert!(seen.worst_km_h < 9.0, "{:.1}", seen.worst_km_h);
}

/// An engine that stalls on the road is restarted, and the drive continues to its end.
#[test]
fn practice_stalled_engine_is_started_again() {
    let mut b = running(1);
    b.act("", drive(Name::Town, 4.0));
    b.advance_by(24.0);
    b.act("", Action::Connector(Connector::CrankSensor, false));
    // the wheels keep turning the engine for a while
    let gives_up_s = b.time_s() + 40.0;
    while told(&b).is_empty() && b.time_s() < gives_up_s {
        b.advance_by(0.1);
    }
    b.act("", Action::Connector(Connector::CrankSensor, true));
    b.advance_by(25.0);
    assert!(b.observe().live.running, "{:?}", told(&b));
    assert_eq!(told(&b), [DriverTells::Stalled]);
    b.advance_by(200.0);
    assert!(b.driver().is_none());
    assert_eq!(told(&b)[1], DriverTells::Over);
    assert!(b.model_notes().is_empty());
}

/// An engine that does not restart ends the drive after three tries, with a model note.
#[test]
fn trips_three_failed_starts() {
    let mut b = running(1);
    b.act("", drive(Name::Town, 6.0));
    b.advance_by(24.0);
    b.act("", Action::Connector(Connector::CrankSensor, false));
    b.advance_by(90.0);
    assert!(b.driver().is_none());
    assert_eq!(told(&b), [DriverTells::Stalled, DriverTells::NoStart]);
    assert_eq!(b.model_notes(), [ModelNote::DriveNoStart]);
    assert!(b.plant().s.road.speed_m_s < 1e-9, "it was braked to a stand");
}

/// The driver alone, on a car that does not respond: full pedal, then the drive is given up as late.
#[test]
fn trips_a_car_that_does_not_stop() {
    let mut d = Driver::new(Name::Town, 0.0, 30.0, false);
    let mut last = None;
    let mut looks = 0;
    while last.is_none() && looks < 5000 {
        last = d.look(&Sensed { speed_m_s: 20.0, rpm: 2000.0 }).told;
        looks += 1;
    }
    assert_eq!(last, Some(Told::Late));
    assert!((f64::from(looks) * LOOK_S - 120.0).abs() < 1.0, "{looks}");
}

/// A fork made in the middle of a drive continues exactly like the original.
#[test]
fn same_drive_after_a_fork() {
    let mut a = running(3);
    a.act("", drive(Name::Hill, 3.0));
    a.advance_by(70.0);
    let mut b = a.clone();
    a.advance_by(120.0);
    for _ in 0..1200 {
        b.advance_by(0.1);
    }
    assert_eq!(a.driver(), b.driver());
    // the same steps, however they are requested, up to the step that passes the time
    let to_s = a.time_s().max(b.time_s()) + 0.05;
    a.advance_to(to_s);
    b.advance_to(to_s);
    assert_eq!(a.state_hash(), b.state_hash());
}

// --- files ------------------------------------------------------------------------------------------------

const HEAD: &str = r#"schema = 1
[about]
id = "T1"
title = "Drives"
level = 1
complaint = "None."
teaches = "Driving."
lid = "open"
[setup]
car = "plover"
seed = 1
coolant_c = 88.0
[[act]]
id = "key"
at_s = 1.0
key = "on"
[[act]]
id = "start"
after_s = 2.0
key = "crank"
[[act]]
id = "round"
after_s = 10.0
drive = "town"
minutes = 3
[[act]]
id = "lamps"
at_s = 60.0
load = "lamps"
on = true
[[act]]
id = "after"
after_s = 5.0
load = "lamps"
on = false
"#;

fn cars(name: &str) -> Result<String, NoCar> {
    store::car_text(name, None)
}

/// In a file: time passes as with a wait, other hands may act meanwhile, and the next act follows the end of the
/// drive.
#[test]
fn exact_a_drive_in_a_file() {
    let s = parse_scenario(HEAD, "t.toml", &mut cars).expect("a good file");
    let round = &s.acts[2];
    assert_eq!((round.hand.clone(), round.wait_s), (drive(Name::Town, 3.0), 180.0));
    let run =
        Session::new(&s, None, &Options::default(), &mut |_| true).expect("a session").run(&mut |_| true);
    assert!(run.all_met());
    let at = |id: &str| {
        let is = |k: &Kind| matches!(k, Kind::Act { id: i, .. } if i == id);
        run.bench.log().iter().find(|e| is(&e.kind)).map_or(f64::NAN, |e| e.t_s)
    };
    assert!((at("lamps") - 60.0).abs() < 0.05, "{}", at("lamps"));
    assert!((at("after") - (at("round") + 180.0 + 5.0)).abs() < 0.1, "{}", at("after"));
    let road = COLUMNS.iter().position(|c| c.name == "road_km_h").expect("recorded");
    assert!(run.trace.rows().any(|r| r[road] > 45.0), "it was on the road");
    assert_eq!(told(&run.bench), [DriverTells::Over]);
}

/// Invalid input is rejected, with its place and the nearest valid word.
#[test]
fn trips_a_drive_in_a_bad_file() {
    for (from, to, rule) in [
        ("drive = \"town\"", "drive = \"twon\"", r#"NotOneOf { key: "drive""#),
        ("minutes = 3", "minutes = 0", r#"OutOfRange { key: "minutes", low: 1.0, high: 600.0"#),
        ("minutes = 3\n", "", r#"MissingKey { table: "[[act]]", key: "minutes" }"#),
        (
            "drive = \"town\"\nminutes = 3",
            "pedal_pct = 3\nminutes = 3",
            r#"GoesWith { key: "minutes", one_of: ["drive", "drive_on"] }"#,
        ),
    ] {
        assert!(HEAD.contains(from));
        let e = parse_scenario(&HEAD.replacen(from, to, 1), "t.toml", &mut cars).expect_err(to);
        is_mistake(to, &e.mistake, rule);
    }
    let twon = parse_scenario(&HEAD.replacen("\"town\"", "\"twon\"", 1), "t.toml", &mut cars).unwrap_err();
    assert_eq!(twon.help.as_deref(), Some("town"));
    let actions = "schema = 1\n[about]\nid = \"a\"\ntitle = \"b\"\n[[act]]\nid = \"d\"\nat_s = 1\ndrive = \"hill\"\nminutes = 2.5\n";
    assert_eq!(parse_actions(actions, "a.toml").expect("good").acts[0].hand, drive(Name::Hill, 2.5));
}

// --- conditioning and a healthy car -----------------------------------------------------------------------

/// Conditioning by a pattern: wear follows running time and wear factor, in pieces of at most 10 µm; at the end the
/// car stands with the engine off, and the learned idle air follows the deposit.
#[test]
fn exact_conditioning_by_a_pattern() {
    let (minutes, wear_factor) = (12.0, 2500.0);
    let stretch = Stretch { kind: StretchKind::Pattern(Name::Town), minutes, wear_factor };
    let setup = Setup { conditioning: vec![stretch], ..Setup::healthy(CAR, 2, 88.0) };
    let b = Bench::new(&setup, &mut |_| true).expect("a bench");
    // 0.04 µm per hour while the engine runs; settling and the rest at the normal rate add less than 0.05 µm
    let by_hand_um = 0.04 * wear_factor * minutes / 60.0;
    let t = b.truth();
    println!("deposit {:.2} µm, by hand {by_hand_um:.2}", t.deposit_um);
    assert!((t.deposit_um - by_hand_um).abs() < 0.1);
    let drives = told(&b).len();
    assert_eq!(drives, 2, "two pieces of 10 µm");
    assert!(b.model_notes().is_empty(), "{:?}", b.model_notes());
    let h = &b.plant().s.hands;
    assert!(!h.key_on && !b.plant().turning() && b.plant().s.road.speed_m_s < 1e-9);
    let light = b.observe().learned.iter().find(|l| l.name == "idle_air_light").map_or(0.0, |l| l.value);
    println!("learned {light:+.2} g/s, needed {:+.2}", t.idle_air_needed_g_s);
    assert!((light - t.idle_air_needed_g_s).abs() < 0.25 && light > 0.3);
}

/// Cold starts in conditioning are cold: the coolant temperature is reset in each stop; in a drive by hand it is not.
#[test]
fn exact_soak_in_conditioning_only() {
    let coolant = |soaks: bool| {
        let mut d = Driver::new(Name::ColdStarts, 168.0, 300.0, soaks);
        let mut soaked = None;
        for n in 0..400 {
            let rpm = if n > 365 { 800.0 } else { 0.0 };
            let w = d.look(&Sensed { speed_m_s: 0.0, rpm: if n < 45 { 720.0 } else { rpm } });
            soaked = soaked.or(w.soak_c);
        }
        soaked
    };
    assert_eq!(coolant(true), Some(15.0));
    assert_eq!(coolant(false), None);
    let stretch = Stretch { kind: StretchKind::Pattern(Name::ColdStarts), minutes: 12.0, wear_factor: 1.0 };
    let setup = Setup { conditioning: vec![stretch], ..Setup::healthy(CAR, 1, 88.0) };
    let b = Bench::new(&setup, &mut |_| true).expect("a bench");
    let starts = b.log().iter().filter(|e| matches!(&e.kind, Kind::Module { what: Notice::KeyOn })).count();
    assert!(starts >= 4, "{starts}");
    assert!(b.model_notes().is_empty(), "{:?}", b.model_notes());
    assert!(!told(&b).contains(&DriverTells::Stalled));
}

/// M1, on the road: two hours of mixed driving on a healthy car set no code, pending or confirmed; trims stay
/// within ±5 %, nothing stalls, and the idle afterwards is right.
#[test]
fn m1_healthy_mixed_driving() {
    for seed in seeds(2) {
        let mut b = running(seed);
        let seen = watch(&mut b, Name::Mixed, 120.0);
        b.advance_by(60.0);
        let o = b.observe();
        let i = o.idle.clone().expect("an idle");
        let t = &o.trims[0];
        println!(
            "M1 mixed, seed {seed}: trims idle {:+.2} part {:+.2} high {:+.2} %, idle {:+.1} rpm of target, σ {:.1}, lowest {:.0} rpm, {:.0} km, codes {:?}",
            t.long_idle_pct,
            t.long_part_pct,
            t.long_high_pct,
            i.mean_rpm - i.target_rpm,
            i.sd_rpm,
            seen.lowest_rpm,
            b.plant().s.road.distance_m * 1e-3,
            o.codes
        );
        assert!(o.codes.is_empty(), "{:?}", o.codes);
        assert!(!b.log().iter().any(|e| matches!(&e.kind, Kind::Module { what: Notice::CodeBecame { .. } })));
        for trim in [t.long_idle_pct, t.long_part_pct, t.long_high_pct] {
            assert!(trim.abs() <= 5.0, "{trim}");
        }
        assert!((i.mean_rpm - i.target_rpm).abs() <= 10.0);
        assert_eq!(seen.stalls, 0);
        assert!(seen.lowest_rpm > 550.0, "{:.0}", seen.lowest_rpm);
        let misfires: u64 = b.truth().cylinders.iter().map(|c| c.misfires).sum();
        println!(
            "M1 mixed, seed {seed}: {misfires} misfires in all, lambda {:.3}",
            b.truth().cylinders[0].lambda
        );
        assert_eq!(misfires, 0);
        assert!((b.truth().cylinders[0].lambda - 1.0).abs() < 0.08);
    }
}
