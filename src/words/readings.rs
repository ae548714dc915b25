//! A workshop tool's reading as a sentence; the data that the module stored with a code, as rows.
//!
//! *Inside*: the message of a reading, with its numbers. *Outside*: measuring (bench), storing (the module).
//!
//! **Checked by** `tests/bench/tools.rs`.

use super::numbers::{Units, measured, number, signed_measured};
use super::{name, say};
use crate::bench::tools::{Look, Point, Reading, Tool};
use crate::link::{FreezeFrame, FuelSystem, LIVE};

/// A freeze frame's rows: the name of each value, and the value.
pub fn freeze_frame(f: &FreezeFrame, units: Units) -> Vec<[String; 2]> {
    let rows = [
        ("engine_speed_rpm", f.engine_speed_rpm, "rpm"),
        ("load_pct", f.load_pct, "%"),
        ("coolant_c", f.coolant_c, "°C"),
        ("map_kpa", f.map_kpa, "kPa"),
        ("air_g_s", f.air_g_s, "g/s"),
        ("short_trim_1_pct", f.short_pct, "%"),
        ("long_trim_1_pct", f.long_pct, "%"),
        ("road_km_h", f.road_km_h, "km/h"),
    ];
    let numbers = rows.map(|(signal, x, unit)| {
        // the module calculates load for the freeze frame alone, so no signal has that name
        let what = if signal == "load_pct" { say("mind-load") } else { name("signal", signal) };
        [what, units.value(x, unit)]
    });
    numbers.into_iter().chain([[say("frame-fuel-system"), fuel_system(f.fuel_system)]]).collect()
}

/// A live value with its unit; corrections have a sign. A cold oxygen sensor has no value, nor has a catalyst
/// that was not tested or an alternator that is not asked for anything.
pub fn live(id: &str, x: f64) -> String {
    // misfires are counts, which have no declaration of their own
    let Some(l) = LIVE.iter().find(|l| l.id == id) else { return number(x, 0) };
    match id {
        "lambda" | "lambda_bank2" if x <= 0.0 => say("lambda-cold"),
        // noise at the end of the sensor's curve is no value either
        "lambda" | "lambda_bank2" if x >= 8.0 => say("lambda-air"),
        "charge_set_v" if x <= 0.0 => say("live-not-commanded"),
        // what the test finds of the worst catalyst is more than nothing
        "catalyst_pct" | "catalyst_bank2_pct" if x == 0.0 => say("live-no-result"),
        _ if id.starts_with("short_") || id.starts_with("long_") => signed_measured(x, l.unit, l.decimals),
        _ => measured(x, l.unit, l.decimals),
    }
}

/// What the fuel metering was based on.
pub fn fuel_system(by: FuelSystem) -> String {
    say(match by {
        FuelSystem::OpenCold => "fuel-system-open-cold",
        FuelSystem::Closed => "fuel-system-closed",
        FuelSystem::OpenDriving => "fuel-system-open-driving",
        FuelSystem::OpenFault => "fuel-system-open-fault",
    })
}

/// A reading as a sentence.
pub fn reading(r: &Reading) -> String {
    let x = |name: &str| r.number(name).unwrap_or(0.0);
    let n = |name: &str, decimals: usize| number(x(name), decimals);
    // pressures above the air's are read on another gauge than vacuum
    let gauge = |name: &str| measured(x(name), "kPa rail", 0);
    let state = r.mark("state").unwrap_or_default();
    let by_state = |kind: &str| format!("reading-{kind}-{}", state.replace('_', "-"));
    match r.tool {
        Tool::VacuumGauge => {
            let [vacuum, swing] = ["kpa", "swing_kpa"].map(|name| measured(x(name), "kPa", 1));
            say!("reading-vacuum-gauge", vacuum = vacuum, swing = swing)
        }
        Tool::FuelPressure => say!("reading-fuel-pressure", pressure = gauge("kpa")),
        Tool::GasReading | Tool::GasAhead(_) => {
            let (id, bank) = match r.tool {
                Tool::GasAhead(bank) => ("reading-gas-ahead", bank),
                _ => ("reading-gas-tailpipe", 0),
            };
            let [o2, co, co2] = [n("o2_pct", 2), n("co_pct", 2), n("co2_pct", 1)];
            let [hc, lambda] = [n("hc_ppm", 0), n("lambda", 3)];
            say!(id, bank = bank, o2 = o2, co = co, co2 = co2, hc = hc, lambda = lambda)
        }
        Tool::Voltmeter(p) => say!("reading-voltmeter", point = point(p), v = n("v", 2)),
        Tool::AmpereClamp => {
            let way = if x("a") < 0.0 { "reading-clamp-discharging" } else { "reading-clamp-charging" };
            say!(way, a = number(x("a").abs(), 1))
        }
        Tool::ClampOn(lead) => say!("reading-clamp-lead", lead = name("lead", lead.name()), a = n("a", 1)),
        Tool::BatteryTester => say!(
            &by_state("battery"),
            v = n("v", 2),
            mohm = n("mohm", 2),
            health = n("health_pct", 0),
            charge = n("charge_pct", 0)
        ),
        Tool::Hydrometer => say!(
            "reading-hydrometer",
            at = measured(25.0, "°C", 0),
            mean = n("kg_l", 3),
            least = n("least_kg_l", 3),
            most = n("most_kg_l", 3)
        ),
        Tool::Thermometer => say!("reading-thermometer", is = measured(x("c"), "°C", 1)),
        Tool::BackPressure(bank) => say!("reading-back-pressure", bank = bank, pressure = gauge("kpa")),
        Tool::Compression(_) if ["not_cranked", "engine_ran"].contains(&state) => {
            say(&by_state("compression"))
        }
        Tool::Compression(k) => {
            say!("reading-compression", cylinder = k, pressure = gauge("kpa"), strokes = n("strokes", 0))
        }
        Tool::LeakDown(k) => {
            let heard = match r.mark("place").unwrap_or_default() {
                "nowhere" => say("reading-leak-down-quiet"),
                places => say!("reading-leak-down-heard", place = place(places)),
            };
            let [supply, held] = ["supply_kpa", "kpa"].map(gauge);
            let loss = n("loss_pct", 0);
            say!(
                &by_state("leak-down"),
                cylinder = k,
                supply = supply,
                held = held,
                loss = loss,
                heard = heard
            )
        }
        Tool::Scope(p) => scope(r, p),
        Tool::SmokeTest | Tool::ExhaustSmoke => smoke(r),
        Tool::Inspect(at) => match at {
            Look::ThrottleBody => say(&by_state("throttle")),
            Look::AirFilter => say(&by_state("air-filter")),
            Look::Hoses => say(&by_state("hoses")),
            Look::Injector(_) if state == "no_code" => say("reading-injector-no-code"),
            Look::Injector(k) => say!("reading-injector-code", cylinder = k, code = state),
            Look::Battery => say!(&by_state("label"), ah = n("rated_ah", 0), a = n("cold_a", 0)),
        },
    }
}

/// The test point of a probe.
fn point(p: Point) -> String {
    match p {
        Point::Pin(sensor) => name("sensor", sensor.name()),
        other => name("point", &other.name()),
    }
}

fn scope(r: &Reading, p: Point) -> String {
    let n = |name: &str| number(r.number(name).unwrap_or(0.0), 2);
    if let Some(most_pct) = r.number("most_pct") {
        let id = if most_pct < 0.0 { "reading-scope-crank-shorter" } else { "reading-scope-crank-longer" };
        let tooth = number(r.number("tooth").unwrap_or(0.0), 0);
        return say!(id, tooth = tooth, pct = number(most_pct.abs(), 1));
    }
    if r.mark("state") == Some("no_turn") {
        return say("reading-scope-crank-no-turn");
    }
    let (id, [low, high, mean]) = match p {
        Point::Injector(_) => ("reading-scope-pulses", ["min_us", "max_us", "mean_us"]),
        _ => ("reading-scope-volts", ["min_v", "max_v", "mean_v"]),
    };
    say!(id, point = point(p), low = n(low), high = n(high), mean = n(mean))
}

fn smoke(r: &Reading) -> String {
    let places = r.mark("place").unwrap_or_default();
    match r.mark("grade").unwrap_or_default() {
        "none" if r.tool == Tool::ExhaustSmoke => say("reading-exhaust-smoke-none"),
        "none" => say("reading-smoke-none"),
        grade => {
            say!(&format!("reading-smoke-{grade}"), place = place(places))
        }
    }
}

/// One place where air or smoke comes out, or two.
fn place(places: &str) -> String {
    let named = |id: &str| name("leak", id);
    match places.split_once('+') {
        Some((a, b)) => say!("reading-two-places", first = named(a), second = named(b)),
        None => named(places),
    }
}
