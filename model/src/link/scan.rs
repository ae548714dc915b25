//! A scan: what the module reports at one moment to a program on the diagnostic link, in addition to its live values.
//!
//! *Inside*: types only. *Outside*: how the module fills them (`ecm/scan.rs`), the bytes in which a network carries
//! them.
//!
//! Nothing in a scan is truth: all of it is held in the module's memory or derived from its pins.

use super::{FreezeFrame, FuelSystem, LiveValues, RoutineState};

/// A trouble code with everything that the module stores about it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CodeDetail {
    /// Standard number.
    pub code: &'static str,
    /// The fault is present now.
    pub failing: bool,
    /// It was seen in this trip.
    pub failed: bool,
    /// Its monitor reached a verdict in this trip.
    pub tested: bool,
    /// Its monitor has reached a verdict since codes were last cleared.
    pub done: bool,
    /// Seen in this trip or in the last that tested it.
    pub pending: bool,
    /// Seen in two trips.
    pub confirmed: bool,
    /// It lights the lamp.
    pub lamp: bool,
    /// Held until its monitor has passed.
    pub permanent: bool,
    /// Consecutive trips that tested it and found no fault, while its lamp is on.
    pub good_trips: u8,
    /// Warm-ups since its lamp went out.
    pub warm_ups: u8,
    /// When it last matured \[s of the module's time\]; 0 where it did not.
    pub matured_s: f64,
    /// Its monitor, by its name in files.
    pub monitor: &'static str,
    /// Conditions when it first became pending.
    pub frame: Option<FreezeFrame>,
}

impl CodeDetail {
    /// The status byte of ISO 14229-1, annex D.2 (bits from memory): 0 test failed, 1 failed this operation cycle,
    /// 2 pending, 3 confirmed, 4 test not completed since the last clear, 5 failed since the last clear, 6 test not
    /// completed this operation cycle, 7 warning indicator requested.
    pub fn status(&self) -> u8 {
        // a pending or confirmed code has failed since the last clear: a clear erases both states
        let since_clear = self.pending || self.confirmed || self.failed;
        [
            self.failing,
            self.failed,
            self.pending,
            self.confirmed,
            !self.done,
            since_clear,
            !self.tested,
            self.lamp,
        ]
        .iter()
        .enumerate()
        .fold(0, |byte, (bit, set)| byte | (u8::from(*set) << bit))
    }
}

/// A monitor whose readiness is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct MonitorDetail {
    /// Name of the monitor.
    pub name: &'static str,
    /// It has completed since codes were last cleared.
    pub complete: bool,
    /// It has completed in this trip.
    pub this_trip: bool,
}

/// What the module reports at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// The module has power and its key is on: it answers.
    pub awake: bool,
    /// The engine runs by itself.
    pub running: bool,
    /// Cylinders.
    pub cylinders: u8,
    /// Banks with an oxygen sensor each.
    pub banks: u8,
    /// A MAF sensor is fitted.
    pub metered: bool,
    /// The rail's pressure is measured.
    pub rail: bool,
    /// The car takes blends of petrol and alcohol.
    pub blends: bool,
    /// The inlet camshaft has a phaser.
    pub phased: bool,
    /// Live values.
    pub live: LiveValues,
    /// Calculated load: air over the maximum possible \[%\].
    pub load_pct: f64,
    /// Voltage of the throttle's first track over its supply of 5 V \[%\].
    pub throttle_pct: f64,
    /// Ambient pressure in use \[kPa\].
    pub ambient_kpa: f64,
    /// Commanded mixture, as lambda.
    pub lambda_asked: f64,
    /// What the catalyst monitor last found by bank, over a new catalyst \[%\]; none since codes were cleared.
    pub catalyst_pct: [Option<f64>; 2],
    /// Least share that passes \[%\].
    pub catalyst_least_pct: f64,
    /// What the leak test of the EVAP system last found: hole \[mm\], vacuum drawn over the one wanted \[-\]; none since codes
    /// were cleared.
    pub vapour: Option<(f64, f64)>,
    /// Smallest hole that is a fault \[mm\]; none on a car without the test.
    pub vapour_least_mm: Option<f64>,
    /// Rise of pressure in the last flow check of the exhaust-gas-recirculation valve over that of a nominal engine \[-\]; none since
    /// codes were cleared.
    pub egr: Option<f64>,
    /// Least rise that passes \[-\]; none on a car without such a valve.
    pub egr_least: Option<f64>,
    /// Largest lift that is ever wanted \[mm\].
    pub egr_most_mm: f64,
    /// Voltages of the wide-band sensors by the module's curve \[V\]; 0 while they are cold.
    pub oxygen_v: [f64; 2],
    /// Fuel system status, bank 1.
    pub fuel_system: FuelSystem,
    /// Time that the engine has run since its start \[s\].
    pub run_s: f64,
    /// The lamp is lit.
    pub lamp: bool,
    /// State of the routine.
    pub routine: RoutineState,
    /// Every code that this car's module can set.
    pub codes: Vec<CodeDetail>,
    /// Monitors whose readiness is reported.
    pub monitors: Vec<MonitorDetail>,
}
