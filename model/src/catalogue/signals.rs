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
    /// Truth, by its index in `Bench::quick_truth`: visible only with the lid open.
    Truth(usize),
}

/// A column of the trace.
#[derive(Debug, Clone, Copy)]
pub struct Signal {
    /// Name with its unit.
    pub name: &'static str,
    /// Unit for charts.
    pub unit: &'static str,
    /// It holds truth.
    pub truth: bool,
    /// The module estimates or commands it; a value that it merely measures does not count as believed.
    pub believed: bool,
    /// Least span of its chart, in its unit: a smaller change is the noise of a healthy engine, which must not fill a
    /// chart.
    pub least_span: f64,
    /// Zero means not measured or not commanded: a cold oxygen sensor, an alternator that is off, no idle control.
    pub none_at_zero: bool,
    /// Where it comes from.
    pub source: Source,
}

impl Signal {
    /// Whether it may be shown to somebody who sees truth or does not, and has read the learned values or has not.
    pub fn seen(&self, truth: bool, read: bool) -> bool {
        match self.source {
            Source::Truth(_) => truth,
            Source::Learned(_) => truth || read,
            Source::Time | Source::Link(_) => true,
        }
    }
}

const fn signal(name: &'static str, unit: &'static str, least_span: f64, source: Source) -> Signal {
    Signal { name, unit, truth: false, believed: false, least_span, none_at_zero: false, source }
}
const fn link(
    name: &'static str,
    unit: &'static str,
    least_span: f64,
    get: fn(&LiveValues) -> f64,
) -> Signal {
    signal(name, unit, least_span, Source::Link(get))
}
const fn belief(
    name: &'static str,
    unit: &'static str,
    least_span: f64,
    get: fn(&LiveValues) -> f64,
) -> Signal {
    believed(link(name, unit, least_span, get))
}
const fn truth(name: &'static str, unit: &'static str, least_span: f64, place: usize) -> Signal {
    Signal { truth: true, ..signal(name, unit, least_span, Source::Truth(place)) }
}
const fn believed(signal: Signal) -> Signal {
    Signal { believed: true, ..signal }
}
const fn none_at_zero(signal: Signal) -> Signal {
    Signal { none_at_zero: true, ..signal }
}

/// Columns of the trace.
pub const RECORDED: &[Signal] = &[
    signal("time_s", "s", 1.0, Source::Time),
    link("engine_speed_rpm", "rpm", 200.0, |l| l.engine_speed_rpm),
    none_at_zero(belief("target_speed_rpm", "rpm", 200.0, |l| l.target_rpm)),
    link("map_kpa", "kPa", 20.0, |l| l.map_kpa),
    link("air_g_s", "g/s", 2.0, |l| l.air_g_s),
    link("throttle_deg", "°", 3.0, |l| l.throttle_deg),
    link("pedal_pct", "%", 20.0, |l| l.pedal_pct),
    belief("spark_deg", "°", 20.0, |l| l.spark_deg),
    none_at_zero(link("lambda_1", "", 0.2, |l| l.lambda)),
    belief("short_trim_1_pct", "%", 20.0, |l| l.short_pct),
    belief("long_trim_1_pct", "%", 20.0, |l| l.long_pct),
    belief("rear_trim_1_pct", "%", 2.0, |l| l.rear_trim_pct),
    link("coolant_c", "°C", 20.0, |l| l.coolant_c),
    link("supply_v", "V", 1.0, |l| l.supply_v),
    link("road_km_h", "km/h", 20.0, |l| l.road_km_h),
    belief("idle_air_base_g_s", "g/s", 1.0, |l| l.idle_base_g_s),
    belief("idle_air_load_g_s", "g/s", 1.0, |l| l.idle_load_g_s),
    believed(signal("idle_air_learned_g_s", "g/s", 1.0, Source::Learned("idle_air_light"))),
    belief("idle_air_pi_g_s", "g/s", 1.0, |l| l.idle_pi_g_s),
    link("battery_a", "A", 20.0, |l| l.battery_a),
    none_at_zero(belief("charge_set_v", "V", 1.0, |l| l.charge_set_v)),
    belief("battery_charge_pct", "%", 10.0, |l| l.battery_charge_pct),
    truth("true_deposit_um", "µm", 20.0, 0),
    truth("true_idle_air_needed_g_s", "g/s", 1.0, 1),
    truth("true_leak_g_s", "g/s", 1.0, 2),
    truth("true_lambda_cylinder_1", "", 0.2, 3),
    truth("true_catalyst_c", "°C", 100.0, 4),
    truth("true_battery_charge_pct", "%", 10.0, 5),
    truth("true_battery_left_pct", "%", 10.0, 6),
    truth("true_battery_water_g", "g", 5.0, 7),
];
