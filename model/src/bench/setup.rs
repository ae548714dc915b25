//! The checked initial state of a bench: what a scenario specifies before the first act.

use crate::bench::action::{Ill, PartChoice, Sensor};
use crate::bench::pattern;
use crate::label::BatteryKind;
use serde::{Deserialize, Serialize};

/// Weather for the whole run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Weather {
    /// Air temperature outside \[°C\].
    pub ambient_c: f64,
    /// Air pressure outside \[kPa, absolute\].
    pub ambient_kpa: f64,
}

impl Default for Weather {
    /// A mild day at sea level.
    fn default() -> Self {
        Self { ambient_c: 20.0, ambient_kpa: 101.325 }
    }
}

/// How a stretch of conditioning is driven.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StretchKind {
    /// Warm idle.
    Idle,
    /// Driven by a pattern.
    Pattern(pattern::Name),
    /// Held at a speed with the pedal, against a torque.
    Hold {
        /// Engine speed \[rpm\].
        rpm: f64,
        /// Torque at the crank besides the engine's own \[N·m\].
        nm: f64,
    },
}

/// One stretch of conditioning: how the car was driven before it came in, at full physics.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// How it is driven.
    pub kind: StretchKind,
    /// Duration \[min\].
    pub minutes: f64,
    /// Factor by which wear is faster than in real life \[-\].
    pub wear_factor: f64,
}

/// Faults of the car that do not belong to a fitted part.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, Default)]
pub struct Faults {
    /// Unmetered leak after the MAF sensor \[mm²\].
    pub unmetered_leak_mm2: f64,
    /// Leak in the exhaust ahead of the oxygen sensor \[mm²\].
    pub exhaust_leak_mm2: f64,
}

/// Fuel in the car, and the filling station's.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FuelSetup {
    /// How full the tank is \[%\].
    pub full_pct: f64,
    /// Alcohol in tank and line, by volume \[%\]; none for the fuel in the car's file.
    pub alcohol_pct: Option<f64>,
    /// Alcohol in what the filling station sells; none for the same as in the tank.
    pub station_pct: Option<f64>,
}

impl Default for FuelSetup {
    /// Half a tank of the car's own fuel.
    fn default() -> Self {
        Self { full_pct: 50.0, alcohol_pct: None, station_pct: None }
    }
}

/// The module's record of the battery when the car comes in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// How its acid is held.
    pub kind: BatteryKind,
    /// Capacity \[Ah\].
    pub rated_ah: f64,
    /// Charge throughput counted so far \[Ah\].
    pub passed_ah: f64,
}

/// The checked, serialisable initial state of a bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Setup {
    /// Text of the car's file; parsed and checked again when the bench is built.
    pub car_toml: String,
    /// Seed of every random stream.
    pub seed: u64,
    /// Crank step \[deg\]: 2, 1 or 0.5.
    pub step_deg: f64,
    /// Weather.
    pub weather: Weather,
    /// Coolant temperature at the start \[°C\]; oil and metal start at the same temperature.
    pub coolant_c: f64,
    /// Battery charge at the start \[%\].
    pub battery_charge_pct: f64,
    /// Distance driven so far \[km\]: displayed only, never used by the physics.
    pub odometer_km: f64,
    /// Parts that are not simply new ones with a serial number from the seed.
    pub parts: Vec<PartChoice>,
    /// Other faults.
    pub faults: Faults,
    /// Sensors and wires with faults.
    pub ills: Vec<(Sensor, Ill)>,
    /// How full the vapour canister is \[%\].
    pub canister_pct: f64,
    /// Fuel.
    pub fuel: FuelSetup,
    /// Memory profile, if it differs from the car's own.
    pub memory_profile: Option<String>,
    /// Battery data entered, and the charge counted since; none for the factory's entry, battery new.
    pub battery_record: Option<Record>,
    /// Conditioning before hand-over.
    pub conditioning: Vec<Stretch>,
}

impl Setup {
    /// A healthy car with parts by its seed on a mild day, at this coolant temperature \[°C\] and the default step.
    pub fn healthy(car_toml: &str, seed: u64, coolant_c: f64) -> Self {
        Self {
            car_toml: car_toml.into(),
            seed,
            step_deg: 2.0,
            weather: Weather::default(),
            coolant_c,
            battery_charge_pct: 90.0,
            odometer_km: 0.0,
            parts: Vec::new(),
            faults: Faults::default(),
            ills: Vec::new(),
            canister_pct: 10.0,
            fuel: FuelSetup::default(),
            memory_profile: None,
            battery_record: None,
            conditioning: Vec::new(),
        }
    }
}
