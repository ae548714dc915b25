//! Signals that are recorded: columns of the trace.
//!
//! *Inside*: name, unit and where the value comes from. *Outside*: recording (`bench/trace.rs`), live values
//! themselves (`link/live.rs`).

use crate::link::LiveValues;

/// Where a recorded value comes from, and with that who may see it.
#[derive(Debug, Clone, Copy)]
pub enum Source {
    /// The scenario's time.
    Time,
    /// The module, over the link.
    Link(fn(&LiveValues) -> f64),
    /// A learned value by its name, over the link.
    Learned(&'static str),
    /// Truth, by its place in `Bench::quick_truth`: under an open lid only.
    Truth(usize),
}

/// A column of the trace.
#[derive(Debug, Clone, Copy)]
pub struct Signal {
    /// Name with its unit.
    pub name: &'static str,
    /// Words for charts.
    pub words: &'static str,
    /// Unit for charts.
    pub unit: &'static str,
    /// It holds truth.
    pub truth: bool,
    /// The module believes it or asks for it; what it merely measures is no belief.
    pub believed: bool,
    /// Where it comes from.
    pub source: Source,
}

const fn link(
    name: &'static str,
    words: &'static str,
    unit: &'static str,
    get: fn(&LiveValues) -> f64,
) -> Signal {
    Signal { name, words, unit, truth: false, believed: false, source: Source::Link(get) }
}
const fn belief(
    name: &'static str,
    words: &'static str,
    unit: &'static str,
    get: fn(&LiveValues) -> f64,
) -> Signal {
    Signal { believed: true, ..link(name, words, unit, get) }
}
const fn truth(name: &'static str, words: &'static str, unit: &'static str, place: usize) -> Signal {
    Signal { name, words, unit, truth: true, believed: false, source: Source::Truth(place) }
}

/// Columns of the trace.
pub const RECORDED: &[Signal] = &[
    Signal { name: "time_s", words: "time", unit: "s", truth: false, believed: false, source: Source::Time },
    link("engine_speed_rpm", "engine speed", "rpm", |l| l.engine_speed_rpm),
    belief("target_speed_rpm", "target speed", "rpm", |l| l.target_rpm),
    link("map_kpa", "manifold pressure", "kPa", |l| l.map_kpa),
    link("air_g_s", "metered air", "g/s", |l| l.air_g_s),
    link("throttle_deg", "throttle", "°", |l| l.throttle_deg),
    link("pedal_pct", "pedal", "%", |l| l.pedal_pct),
    belief("spark_deg", "spark", "°", |l| l.spark_deg),
    link("lambda_1", "lambda", "", |l| l.lambda),
    belief("short_trim_1_pct", "short-term trim", "%", |l| l.short_pct),
    belief("long_trim_1_pct", "long-term trim", "%", |l| l.long_pct),
    link("coolant_c", "coolant", "°C", |l| l.coolant_c),
    link("supply_v", "supply", "V", |l| l.supply_v),
    link("road_km_h", "road speed", "km/h", |l| l.road_km_h),
    belief("idle_air_base_g_s", "idle air: base", "g/s", |l| l.idle_base_g_s),
    belief("idle_air_load_g_s", "idle air: loads", "g/s", |l| l.idle_load_g_s),
    Signal {
        name: "idle_air_learned_g_s",
        words: "idle air: learned",
        unit: "g/s",
        truth: false,
        believed: true,
        source: Source::Learned("idle_air_light"),
    },
    belief("idle_air_pi_g_s", "idle air: PI", "g/s", |l| l.idle_pi_g_s),
    link("battery_a", "battery current", "A", |l| l.battery_a),
    belief("charge_set_v", "charging set-point", "V", |l| l.charge_set_v),
    belief("battery_charge_pct", "battery charge by the module", "%", |l| l.battery_charge_pct),
    truth("true_deposit_um", "deposit", "µm", 0),
    truth("true_idle_air_needed_g_s", "idle air the parts need", "g/s", 1),
    truth("true_leak_g_s", "unmetered leak", "g/s", 2),
    truth("true_lambda_cylinder_1", "lambda of cylinder 1", "", 3),
    truth("true_catalyst_c", "catalyst, bank 1", "°C", 4),
    truth("true_battery_charge_pct", "battery charge", "%", 5),
    truth("true_battery_left_pct", "battery capacity left", "%", 6),
    truth("true_battery_water_g", "water lost by the battery", "g", 7),
];
