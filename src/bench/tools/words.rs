//! What a bay tool's reading says, in numbers by name and in words.
//!
//! *Inside*: names, units, wording. *Outside*: measuring ([`super`]).
//!
//! **Checked by** `tests/bench/tools.rs`, `tests/bench/gauges.rs`.

use super::{CRANK, Look, Point, Seen, Tool};

/// Numbers and words of a reading.
pub(super) fn told(tool: Tool, seen: &Seen, lambda: f64) -> (Vec<(String, f64)>, String) {
    let n = |pairs: &[(&str, f64)]| pairs.iter().map(|(k, x)| ((*k).to_string(), *x)).collect();
    let v = &seen.values;
    match tool {
        Tool::VacuumGauge => (
            n(&[("kpa", v[0]), ("swing_kpa", v[1])]),
            format!("manifold {:.1} kPa under ambient, needle swings by {:.1} kPa", v[0], v[1]),
        ),
        Tool::FuelPressure => (n(&[("kpa", v[0])]), format!("fuel rail {:.0} kPa over ambient", v[0])),
        Tool::GasReading | Tool::GasAhead(_) => (
            n(&[("o2_pct", v[0]), ("co_pct", v[1]), ("co2_pct", v[2]), ("hc_ppm", v[3]), ("lambda", lambda)]),
            format!(
                "{}: O2 {:.2} %, CO {:.2} %, CO2 {:.1} %, HC {:.0} ppm, lambda {lambda:.3}",
                match tool {
                    Tool::GasAhead(b) => format!("bank {b} ahead of its catalyst"),
                    _ => "tailpipe".into(),
                },
                v[0],
                v[1],
                v[2],
                v[3]
            ),
        ),
        Tool::Voltmeter(p) => (n(&[("v", v[0])]), format!("{} {:.2} V", p.name().replace('_', " "), v[0])),
        Tool::AmpereClamp => (
            n(&[("a", v[0])]),
            format!("battery {:.1} A, {}", v[0].abs(), if v[0] < 0.0 { "discharging" } else { "charging" }),
        ),
        Tool::ClampOn(lead) => {
            (n(&[("a", v[0])]), format!("{} {:.1} A", lead.name().replace('_', " "), v[0]))
        }
        Tool::BatteryTester => (
            n(&[("v", v[0]), ("mohm", v[1]), ("health_pct", v[2]), ("charge_pct", v[3])]),
            format!(
                "battery {:.2} V without load, {:.2} mΩ by its pulse, so {:.0} % of the current on its label; \
                 {:.0} % charged by its voltage",
                v[0], v[1], v[2], v[3]
            ),
        ),
        Tool::Hydrometer => (
            n(&[("kg_l", v[0]), ("least_kg_l", seen.low), ("most_kg_l", seen.high)]),
            format!(
                "acid {:.3} kg/L at 25 °C in the mean of six cells, {:.3} to {:.3}",
                v[0], seen.low, seen.high
            ),
        ),
        Tool::Inspect(Look::Battery) => {
            (n(&[("rated_ah", v[0]), ("cold_a", v[1])]), format!(", {:.0} Ah, {:.0} A", v[0], v[1]))
        }
        Tool::BackPressure(b) => {
            (n(&[("kpa", v[0])]), format!("exhaust of bank {b}: {:.0} kPa over ambient", v[0]))
        }
        Tool::Thermometer => (n(&[("c", v[0])]), format!("coolant hose {:.1} °C", v[0])),
        Tool::Compression(k) => (
            n(&[("kpa", v[0]), ("strokes", v[1])]),
            format!("compression of cylinder {k}: {:.0} kPa over ambient, {:.0} strokes", v[0], v[1]),
        ),
        Tool::Scope(CRANK) => (
            n(&[("most_pct", v[0]), ("tooth", v[1]), ("turns", v[2])]),
            format!(
                "crank: tooth {:.0} stands out most, a period there {:.1} % {} than its neighbours",
                v[1],
                v[0].abs(),
                if v[0] < 0.0 { "shorter" } else { "longer" }
            ),
        ),
        Tool::Scope(p) => {
            let (unit, keys) = match p {
                Point::Injector(_) => ("µs", ["min_us", "max_us", "mean_us"]),
                _ => ("V", ["min_v", "max_v", "mean_v"]),
            };
            let mean = (1000.0 * v[0]).round() / 1000.0;
            (
                n(&[(keys[0], seen.low), (keys[1], seen.high), (keys[2], mean)]),
                format!(
                    "{}: {:.2} to {:.2} {unit}, mean {mean:.2} {unit}",
                    p.name().replace('_', " "),
                    seen.low,
                    seen.high
                ),
            )
        }
        Tool::SmokeTest | Tool::ExhaustSmoke | Tool::Inspect(_) => (Vec::new(), String::new()),
    }
}

/// Words of what is seen and not read.
pub(super) fn said(tool: Tool, marks: &[(String, String)]) -> Option<String> {
    let of = |name: &str| marks.iter().find(|(n, _)| n == name).map_or("", |(_, w)| w.as_str());
    Some(match (tool, of("grade"), of("state")) {
        (Tool::SmokeTest, "none", _) => "no smoke to be seen at the inlet".into(),
        (Tool::ExhaustSmoke, "none", _) => "no smoke to be seen at the exhaust".into(),
        (Tool::SmokeTest | Tool::ExhaustSmoke, grade, _) => format!("{grade} leak: {}", of("place")),
        (Tool::Inspect(Look::ThrottleBody), _, "clean") => "throttle bore clean".into(),
        (Tool::Inspect(Look::ThrottleBody), _, state) => format!("{state} deposit behind the throttle plate"),
        (Tool::Inspect(Look::AirFilter), _, state) => format!("air filter {state}"),
        (Tool::Inspect(Look::Hoses), _, "off") => "a hose is off or split".into(),
        (Tool::Inspect(Look::Hoses), ..) => "hoses look good".into(),
        (Tool::Inspect(Look::Injector(_)), _, "no_code") => "no code printed on the injector".into(),
        (Tool::Inspect(Look::Injector(k)), _, code) => format!("injector of cylinder {k} reads {code}"),
        (Tool::Inspect(Look::Battery), _, "mat") => "battery's label: absorbent mat".into(),
        (Tool::Inspect(Look::Battery), ..) => "battery's label: flooded".into(),
        (Tool::Scope(CRANK), _, "no_turn") => "crank: no whole turn of teeth on the wire".into(),
        (Tool::Compression(_), _, "not_cranked") => "compression: the engine was not cranked".into(),
        (Tool::Compression(_), _, "engine_ran") => "the engine ran: that was no compression test".into(),
        _ => return None,
    })
}
