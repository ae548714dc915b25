//! Quantities people mix up, and the one table of ranges and wording.
//!
//! *Inside*: conversions between what a person reads and the SI values used everywhere else, and
//! [`Range`], which says for one named quantity which values a file may give and how the quantity is named.
//! *Outside*: arithmetic (see [`crate::num`]); a full dimension library, which would leave holes and
//! hard messages. Inside a function quantities are plain floats with the unit in the name.
//!
//! Conventions: absolute pressure in Pa unless a name ends in `_gauge_pa`; temperature in K unless a
//! name ends in `_c`; angles in degrees of crank unless a name says `_throttle_deg`; time in s.

use serde::Serialize;

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

/// Range of values accepted for one quantity, with its key and unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The key that carries the quantity in files, with its unit as suffix.
    pub key: &'static str,
    /// Unit shown to people.
    pub unit: &'static str,
    /// Lowest value accepted.
    pub low: f64,
    /// Highest value accepted.
    pub high: f64,
}

impl Range {
    /// Whether a value is finite and inside the range, its ends included.
    pub fn holds(&self, value: f64) -> bool {
        value.is_finite() && value >= self.low && value <= self.high
    }
}

macro_rules! ranges {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $unit:literal, $low:expr, $high:expr; )+) => {
        $( $(#[$doc])* pub const $name: Range =
            Range { key: $key, unit: $unit, low: $low, high: $high }; )+
    };
}

ranges! {
    /// Ambient temperature.
    AMBIENT_C = "ambient_c", "°C", -30.0, 50.0;
    /// Ambient pressure.
    AMBIENT_KPA = "ambient_kpa", "kPa", 60.0, 106.0;
    /// Coolant temperature at the start.
    COOLANT_C = "coolant_c", "°C", -30.0, 115.0;
    /// Battery charge at the start.
    CHARGE_PCT = "battery_charge_pct", "%", 5.0, 100.0;
    /// Area of an unmetered leak.
    LEAK_MM2 = "unmetered_leak_mm2", "mm²", 0.0, 60.0;
    /// Area of a leak in the exhaust.
    EXHAUST_LEAK_MM2 = "exhaust_leak_mm2", "mm²", 0.0, 200.0;
    /// Share of sparks that an interrupter box in a coil's wire suppresses.
    INTERRUPT_PCT = "pct", "%", 0.0, 100.0;
    /// Time that a practised technician needs.
    PAR_MIN = "minutes", "min", 0.0, 10000.0;
    /// What a repair may cost.
    PAR_MONEY = "money", "", 0.0, 1000000.0;
    /// What a row of a rubric is worth.
    POINTS = "points", "", 0.0, 1000.0;
    /// Capacity printed on a battery.
    RATED_AH = "rated_ah", "Ah", 20.0, 200.0;
    /// Charge throughput that the module has counted.
    PASSED_AH = "passed_ah", "Ah", 0.0, 100_000.0;
    /// Current of an accessory that is always on.
    ACCESSORY_A = "accessory_a", "A", 0.0, 30.0;
    /// Highest current of a battery charger.
    CHARGER_A = "charger_a", "A", 0.0, 50.0;
    /// Time that the locked car is parked.
    REST_H = "rest_h", "h", 0.1, 8760.0;
    /// Number of days that a car is driven on.
    LIFE_DAYS = "days", "d", 1.0, 3653.0;
    /// Interval between the days simulated at full physics.
    LIFE_EACH = "each", "d", 1.0, 60.0;
    /// How full the vapour canister is.
    CANISTER_PCT = "canister_pct", "%", 0.0, 100.0;
    /// How full the tank is.
    FUEL_PCT = "fuel_pct", "%", 5.0, 100.0;
    /// Alcohol in a fuel, by volume.
    ALCOHOL_PCT = "alcohol_pct", "%", 0.0, 85.0;
    /// Fuel filled into the tank.
    REFUEL_L = "refuel_l", "L", 0.0, 120.0;
    /// Offset of a sensor.
    SENSOR_OFFSET_V = "offset_v", "V", -5.0, 5.0;
    /// Gain of a sensor.
    SENSOR_GAIN = "gain", "", 0.1, 5.0;
    /// Lag of a sensor.
    SENSOR_LAG_S = "lag_s", "s", 0.0, 30.0;
    /// Noise of a sensor.
    SENSOR_NOISE_V = "noise_v", "V", 0.0, 2.0;
    /// Idle speed commanded over the link; 0 restores the module's own.
    IDLE_RPM = "idle_rpm", "rpm", 0.0, 3000.0;
    /// Pedal travel.
    PEDAL_PCT = "pedal_pct", "%", 0.0, 100.0;
    /// Time in a scenario.
    TIME_S = "at_s", "s", 0.0, 4.0e8;
    /// Length of a conditioning stretch.
    STRETCH_MIN = "minutes", "min", 0.1, 600.0;
    /// Length of a drive by a pattern.
    DRIVE_MIN = "minutes", "min", 1.0, 600.0;
    /// How much faster than in life parts wear in a stretch.
    WEAR_FACTOR = "wear_factor", "", 0.0, 100_000.0;
    /// Speed of a steady hold.
    HOLD_RPM = "hold_rpm", "rpm", 1200.0, 5000.0;
    /// Torque of a steady hold.
    HOLD_NM = "hold_nm", "N·m", 0.0, 300.0;
    /// Odometer.
    ODOMETER_KM = "odometer_km", "km", 0.0, 1_000_000.0;
}

/// A parameter of a car's file that breaks a rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ParamError {
    /// Dotted key, for example `engine.bore_mm`.
    pub key: String,
    /// The rule it broke.
    pub rule: ParamRule,
}

/// Rule for a parameter of a car's file; `given` is its actual value.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "the message of the same name in files.ftl says what each variant means")]
pub enum ParamRule {
    OutOfRange { low: f64, high: f64, given: f64 },
    NotOneOf { one_of: Vec<String>, given: String },
    CodeLetter { letters: String },
    Rising,
    LowUnderHigh,
    Table,
    WholeTeeth,
    InGap,
    Even,
    FiringOrder { most: usize },
    EachOnce { most: usize },
    BankEach { cylinders: usize },
    BankCount { most: usize },
    NeedsDirect,
    ZeroWithDirect,
    OneFewer,
    Steps { least: usize, most: usize },
    StepsAlike,
    OneJudge,
}

impl ParamError {
    /// An error for a key in a section.
    pub fn new(section: &str, key: &str, rule: ParamRule) -> Self {
        Self { key: format!("{section}.{key}"), rule }
    }
}

/// For developers: users read the sentence that the words module makes from it.
impl std::fmt::Display for ParamError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {:?}", self.key, self.rule)
    }
}

impl std::error::Error for ParamError {}

/// Checks a parameter against a range, naming it in the error.
pub fn between(section: &str, key: &str, value: f64, low: f64, high: f64) -> Result<(), ParamError> {
    if value.is_finite() && value >= low && value <= high {
        return Ok(());
    }
    Err(ParamError::new(section, key, ParamRule::OutOfRange { low, high, given: value }))
}
