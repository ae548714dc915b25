//! The numbers of a workshop tool's reading, by name.
//!
//! *Inside*: names with their units. *Outside*: measuring ([`super`]), sentences (`words/readings.rs`).
//!
//! **Checked by** `tests/bench/tools.rs`, `tests/bench/gauges.rs`.

use super::{CRANK, Look, Point, Seen, Tool};

/// Numbers of a reading.
pub(super) fn told(tool: Tool, seen: &Seen, lambda: f64) -> Vec<(String, f64)> {
    let v = &seen.values;
    let pairs: &[(&str, f64)] = match tool {
        Tool::VacuumGauge => &[("kpa", v[0]), ("swing_kpa", v[1])],
        Tool::FuelPressure | Tool::BackPressure(_) => &[("kpa", v[0])],
        Tool::GasReading | Tool::GasAhead(_) => {
            &[("o2_pct", v[0]), ("co_pct", v[1]), ("co2_pct", v[2]), ("hc_ppm", v[3]), ("lambda", lambda)]
        }
        Tool::Voltmeter(_) => &[("v", v[0])],
        Tool::AmpereClamp | Tool::ClampOn(_) => &[("a", v[0])],
        Tool::BatteryTester => &[("v", v[0]), ("mohm", v[1]), ("health_pct", v[2]), ("charge_pct", v[3])],
        Tool::Hydrometer => &[("kg_l", v[0]), ("least_kg_l", seen.low), ("most_kg_l", seen.high)],
        Tool::Inspect(Look::Battery) => &[("rated_ah", v[0]), ("cold_a", v[1])],
        Tool::Thermometer => &[("c", v[0])],
        Tool::Compression(_) => &[("kpa", v[0]), ("strokes", v[1])],
        Tool::LeakDown(_) => &[("supply_kpa", v[0]), ("kpa", v[1]), ("loss_pct", v[2])],
        Tool::Scope(CRANK) => &[("most_pct", v[0]), ("tooth", v[1]), ("turns", v[2])],
        Tool::Scope(p) => {
            let [low, high, mean] = match p {
                Point::Injector(_) => ["min_us", "max_us", "mean_us"],
                _ => ["min_v", "max_v", "mean_v"],
            };
            &[(low, seen.low), (high, seen.high), (mean, (1000.0 * v[0]).round() / 1000.0)]
        }
        Tool::SmokeTest | Tool::ExhaustSmoke | Tool::Inspect(_) => &[],
    };
    pairs.iter().map(|(name, x)| ((*name).to_owned(), *x)).collect()
}
