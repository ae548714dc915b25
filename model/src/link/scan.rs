//! A scan: what the module tells at one moment to a program on the diagnostic link, beside its live values.
//!
//! *Inside*: words only. *Outside*: how the module comes to them (`ecm/scan.rs`), the bytes in which a network carries them.
//!
//! Nothing in a scan is truth: all of it stands in the module's memory or follows from its pins.

use super::{FreezeFrame, FuelSystem, LiveValues, RoutineState};

/// A trouble code with all that the module keeps of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CodeDetail {
    /// Standard number.
    pub code: &'static str,
    /// The fault is seen now.
    pub failing: bool,
    /// It was seen in this trip.
    pub failed: bool,
    /// Its monitor came to a verdict in this trip.
    pub tested: bool,
    /// Its monitor came to a verdict since codes were last cleared.
    pub done: bool,
    /// Seen in this trip or in the last that tested it.
    pub pending: bool,
    /// Seen in two trips.
    pub confirmed: bool,
    /// It lights the lamp.
    pub lamp: bool,
    /// Held until its monitor has passed.
    pub permanent: bool,
    /// Trips in a row that tested it and saw nothing, while its lamp is on.
    pub good_trips: u8,
    /// Warm-ups since its lamp went out.
    pub warm_ups: u8,
    /// When it last matured \[s of the module's time\]; 0 where it did not.
    pub matured_s: f64,
    /// Its monitor, by its name in files.
    pub monitor: &'static str,
    /// Conditions when it first pended.
    pub frame: Option<FreezeFrame>,
}

impl CodeDetail {
    /// The status byte of ISO 14229-1, annex D.2 (bits from memory): 0 test failed, 1 failed this operation cycle,
    /// 2 pending, 3 confirmed, 4 test not completed since the last clear, 5 failed since the last clear, 6 test not
    /// completed this operation cycle, 7 warning indicator requested.
    pub fn status(&self) -> u8 {
        // what pends or is confirmed has failed since the last clear: a clear takes both away
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

/// A monitor whose readiness is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct MonitorDetail {
    /// Name of the monitor.
    pub name: &'static str,
    /// It has run to its end since codes were last cleared.
    pub complete: bool,
    /// It has run to its end in this trip.
    pub this_trip: bool,
}

/// What the module tells at one moment.
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
    /// An air meter is fitted.
    pub metered: bool,
    /// The rail's pressure is measured.
    pub rail: bool,
    /// Live values.
    pub live: LiveValues,
    /// Calculated air over the most that would fit \[%\].
    pub load_pct: f64,
    /// Voltage of the throttle's first track over its supply of 5 V \[%\].
    pub throttle_pct: f64,
    /// Ambient pressure in use \[kPa\].
    pub ambient_kpa: f64,
    /// Mixture asked for, as lambda.
    pub lambda_asked: f64,
    /// Voltages of the wide-band sensors by the module's curve \[V\]; 0 while they are cold.
    pub oxygen_v: [f64; 2],
    /// What the fuel is metered by, bank 1.
    pub fuel_system: FuelSystem,
    /// The engine has run for so long since its start \[s\].
    pub run_s: f64,
    /// The lamp burns.
    pub lamp: bool,
    /// State of the routine.
    pub routine: RoutineState,
    /// Every code that this car's module can set.
    pub codes: Vec<CodeDetail>,
    /// Monitors whose readiness is told.
    pub monitors: Vec<MonitorDetail>,
}
