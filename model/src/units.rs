//! Quantities people mix up, and the one table of ranges and wording.
//!
//! *Inside*: conversions between what a person reads and the SI values used everywhere else, and
//! [`Range`], which says for one named quantity what may be written in a file and how to call it.
//! *Outside*: arithmetic (see [`crate::num`]); a full dimension library, which would leave holes and
//! hard messages. Inside a function quantities are plain floats with the unit in the name.
//!
//! Conventions: absolute pressure in Pa unless a name ends in `_gauge_pa`; temperature in K unless a
//! name ends in `_c`; angles in degrees of crank unless a name says `_throttle_deg`; time in s.

/// Gas constant of dry air \[J/kg K\]; US Standard Atmosphere 1976 gives 287.053.
pub const R_AIR: f64 = 287.05;
/// Standard sea-level pressure \[Pa\]; US Standard Atmosphere 1976.
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;
/// 0 °C \[K\].
pub const ZERO_C_K: f64 = 273.15;

/// Celsius to kelvin.
pub fn kelvin(celsius: f64) -> f64 {
    celsius + ZERO_C_K
}

/// Kelvin to Celsius.
pub fn celsius(kelvin: f64) -> f64 {
    kelvin - ZERO_C_K
}

/// Revolutions per minute to rad/s.
pub fn rad_s(rpm: f64) -> f64 {
    rpm * (std::f64::consts::PI / 30.0)
}

/// Rad/s to revolutions per minute.
pub fn rpm(rad_s: f64) -> f64 {
    rad_s * (30.0 / std::f64::consts::PI)
}

/// What may be written for one quantity, and how to say it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The key that carries the quantity in files, with its unit as suffix.
    pub key: &'static str,
    /// Plain words for messages.
    pub words: &'static str,
    /// Unit shown to people.
    pub unit: &'static str,
    /// Lowest value accepted.
    pub low: f64,
    /// Highest value accepted.
    pub high: f64,
}

impl Range {
    /// Accepts a finite value inside the range (ends included), else says the rule that was broken.
    pub fn check(&self, value: f64) -> Result<f64, String> {
        if value.is_finite() && value >= self.low && value <= self.high {
            Ok(value)
        } else {
            Err(format!(
                "{} must be from {} to {} {} ({} given)",
                self.words, self.low, self.high, self.unit, value
            ))
        }
    }
}

macro_rules! ranges {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $words:literal, $unit:literal, $low:expr, $high:expr; )+) => {
        $( $(#[$doc])* pub const $name: Range =
            Range { key: $key, words: $words, unit: $unit, low: $low, high: $high }; )+
    };
}

ranges! {
    /// Ambient temperature.
    AMBIENT_C = "ambient_c", "the air outside", "°C", -30.0, 50.0;
    /// Ambient pressure.
    AMBIENT_KPA = "ambient_kpa", "the air pressure outside", "kPa", 60.0, 106.0;
    /// Coolant temperature at the start.
    COOLANT_C = "coolant_c", "the coolant at the start", "°C", -30.0, 115.0;
    /// Battery charge at the start.
    CHARGE_PCT = "battery_charge_pct", "the battery's charge", "%", 5.0, 100.0;
    /// Throttle deposit film.
    DEPOSIT_UM = "deposit_um", "the deposit film on the throttle", "µm", 0.0, 120.0;
    /// Closed-stop offset of a throttle body.
    STOP_OFFSET_DEG = "stop_offset_deg", "the closed stop's offset", "°", -1.3, 1.3;
    /// Area of an unmetered leak.
    LEAK_MM2 = "unmetered_leak_mm2", "the leak behind the air meter", "mm²", 0.0, 60.0;
    /// Area of a leak in the exhaust.
    EXHAUST_LEAK_MM2 = "exhaust_leak_mm2", "the leak in the exhaust", "mm²", 0.0, 200.0;
    /// Area that a purge valve leaves open.
    PURGE_LEAK_MM2 = "leak_mm2", "the purge valve's leak", "mm²", 0.0, 10.0;
    /// Fuel that drips from a shut injector.
    DRIP_MG_S = "drip_mg_s", "what drips from the injector", "mg/s", 0.0, 200.0;
    /// Share of sparks that a box in a coil's wire swallows.
    INTERRUPT_PCT = "pct", "the share of sparks swallowed", "%", 0.0, 100.0;
    /// What a practised hand needs.
    PAR_MIN = "minutes", "what a practised hand needs", "min", 0.0, 10000.0;
    /// What a repair may cost.
    PAR_MONEY = "money", "what the repair may cost", "", 0.0, 1000000.0;
    /// What a row of a rubric is worth.
    POINTS = "points", "what the row is worth", "", 0.0, 1000.0;
    /// Runout of the reluctor wheel.
    RUNOUT_MM = "runout_mm", "the wheel's runout", "mm", 0.0, 0.5;
    /// Where the wheel lies furthest out.
    HIGH_DEG = "high_deg", "where the wheel lies furthest out", "°", 0.0, 360.0;
    /// Which tooth of the wheel was hit.
    HIT_TOOTH = "hit_tooth", "the tooth that was hit", "", 1.0, 58.0;
    /// How far the edge of a tooth that was hit is off.
    HIT_DEG = "hit_deg", "how far the tooth's edge is off", "°", -2.0, 2.0;
    /// Gap of a spark plug.
    GAP_MM = "gap_mm", "the plug's gap", "mm", 0.2, 3.0;
    /// Ripple of the crank pulley.
    RIPPLE_NM = "ripple_nm", "the pulley's ripple", "N·m", 0.0, 200.0;
    /// Teeth by which the cam drive was put on late.
    TEETH_LATE = "teeth_late", "how many teeth late the cam drive sits", "", -2.0, 2.0;
    /// Capacity printed on a battery.
    RATED_AH = "rated_ah", "the battery's capacity", "Ah", 20.0, 200.0;
    /// Charge that the module has counted through it.
    PASSED_AH = "passed_ah", "the charge counted through the battery", "Ah", 0.0, 100_000.0;
    /// Cold-cranking current printed on it.
    COLD_A = "cold_a", "the battery's cold-cranking current", "A", 100.0, 1500.0;
    /// Something that is wired in and always on.
    ACCESSORY_A = "accessory_a", "what the accessory draws", "A", 0.0, 30.0;
    /// How long the locked car stands.
    REST_H = "rest_h", "the rest", "h", 0.1, 8760.0;
    /// How long a car is driven on.
    LIFE_DAYS = "days", "how long it is driven on", "d", 1.0, 3653.0;
    /// How seldom at full physics.
    LIFE_EACH = "each", "the days from one that is driven in full to the next", "d", 1.0, 60.0;
    /// How full the vapour canister is.
    CANISTER_PCT = "canister_pct", "the canister's load", "%", 0.0, 100.0;
    /// Fuel filled in.
    REFUEL_L = "refuel_l", "the fuel filled in", "L", 0.0, 120.0;
    /// Wear or blockage of a part.
    WEAR_PCT = "wear_pct", "the wear", "%", 0.0, 98.0;
    /// Error of a pressure regulator.
    REGULATOR_PCT = "regulator_error_pct", "the regulator's error", "%", -60.0, 60.0;
    /// Offset of a sensor.
    SENSOR_OFFSET_V = "offset_v", "the sensor's offset", "V", -5.0, 5.0;
    /// Gain of a sensor.
    SENSOR_GAIN = "gain", "the sensor's gain", "", 0.1, 5.0;
    /// Lag of a sensor.
    SENSOR_LAG_S = "lag_s", "the sensor's lag", "s", 0.0, 30.0;
    /// Noise of a sensor.
    SENSOR_NOISE_V = "noise_v", "the sensor's noise", "V", 0.0, 2.0;
    /// Idle speed asked for over the link; 0 gives the module's own back.
    IDLE_RPM = "idle_rpm", "the idle speed asked for", "rpm", 0.0, 3000.0;
    /// Gain error of the air meter.
    METER_PCT = "air_meter_error_pct", "the air meter's error", "%", -60.0, 60.0;
    /// Flow error of one injector.
    INJECTOR_PCT = "injector_flow_error_pct", "the injector's flow error", "%", -90.0, 60.0;
    /// Pedal travel.
    PEDAL_PCT = "pedal_pct", "the pedal's travel", "%", 0.0, 100.0;
    /// Time in a scenario.
    TIME_S = "at_s", "a time in the scenario", "s", 0.0, 4.0e8;
    /// Length of a conditioning stretch.
    STRETCH_MIN = "minutes", "a conditioning stretch", "min", 0.1, 600.0;
    /// Length of a drive by a pattern.
    DRIVE_MIN = "minutes", "a drive", "min", 1.0, 600.0;
    /// How much faster than in life parts wear in a stretch.
    WEAR_FACTOR = "wear_factor", "the wear factor", "", 0.0, 100_000.0;
    /// Speed of a steady hold.
    HOLD_RPM = "hold_rpm", "the speed to hold", "rpm", 1200.0, 5000.0;
    /// Torque of a steady hold.
    HOLD_NM = "hold_nm", "the torque to hold against", "N·m", 0.0, 300.0;
    /// Odometer.
    ODOMETER_KM = "odometer_km", "the odometer", "km", 0.0, 1_000_000.0;
}

/// A parameter of a car's file that breaks a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ParamError {
    /// Dotted key, for example `engine.bore_mm`.
    pub key: String,
    /// The rule it broke, with the value.
    pub rule: String,
}

impl std::fmt::Display for ParamError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.key, self.rule)
    }
}

impl std::error::Error for ParamError {}

/// Checks a parameter against a range, naming it in the error.
pub fn between(section: &str, key: &str, value: f64, low: f64, high: f64) -> Result<(), ParamError> {
    if value.is_finite() && value >= low && value <= high {
        return Ok(());
    }
    Err(ParamError {
        key: format!("{section}.{key}"),
        rule: format!("must be from {low} to {high} ({value} given)"),
    })
}
