//! Facts with their numbers: what hinders an act, what the driver reports, what a model notes.
//!
//! *Inside*: one variant for each condition. *Outside*: sentences (`words/facts/bench.rs`), when a fact holds.

use crate::bench::pattern;
use crate::link::Refused;
use serde::{Deserialize, Serialize};

/// Why the bench does not allow an act now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hindrance {
    /// The key is on.
    KeyOn,
    /// The engine turns.
    EngineTurns,
    /// The car moves.
    Moving,
    /// The car is rolling and must be stopped first.
    Rolling,
    /// The engine does not run.
    NotRunning,
    /// The duration of a drive must be greater than zero.
    NoTime,
    /// The battery's clamp is off, and a drive needs it.
    ClampOff,
    /// The battery's clamp is on and must be taken off first.
    ClampOn,
    /// The car stands on rollers.
    OnRollers,
    /// This car has no MAF sensor.
    NoAirMeter,
    /// This car's module does not test its EVAP system, and the system is not modelled.
    NoVapourSystem,
    /// This car's camshaft has no phaser.
    NoPhaser,
    /// This car has no exhaust-gas-recirculation valve.
    NoEgrValve,
    /// The engine has no such cylinder.
    NoCylinder {
        /// Number asked for, counted from 1.
        cylinder: u8,
        /// How many there are.
        of: u8,
    },
    /// The engine has no such bank.
    NoBank {
        /// Number asked for, counted from 1.
        bank: u8,
        /// How many there are.
        of: u8,
    },
    /// The engine has only one bank.
    OneBank,
    /// No code is printed on this injector.
    NoCodePrinted,
    /// No module can be built from the car's file: the key that is wrong.
    NoModule(String),
    /// More values were requested than can be watched at once.
    TooManyWatched {
        /// How many can be watched.
        most: u8,
    },
    /// The module has no live value of that name.
    NoValue(String),
    /// The instrument is still measuring.
    AtWork {
        /// Its name in files.
        instrument: String,
    },
    /// The fuel gauge is not on its port, and the engine turns.
    GaugeNotFitted,
    /// The back pressure gauge is not on this bank's port, and the engine turns.
    GaugeElsewhere,
    /// The gas probe is not on this bank's port, and the engine turns.
    ProbeElsewhere,
    /// The key is on, but the throttle must have no power.
    ThrottlePowered,
    /// The engine does not turn: there is no exhaust gas.
    NoExhaustGas,
    /// The wire carries edges, not a voltage to read.
    EdgesOnly,
    /// The key is off: sensors have no supply.
    NoSupply,
    /// Pulses are too short for a voltmeter.
    PulsesTooShort,
    /// The engine is turning, but a spark plug must come out.
    PlugMustComeOut,
    /// Coils or injectors are plugged in: the engine would start.
    WouldStart,
    /// No accessory is wired in there.
    NothingWired,
    /// A battery charger is connected.
    ChargerConnected,
    /// The key is on: electrical loads would falsify the battery test.
    LoadsFalsify,
    /// An AGM battery: no acid can be drawn.
    AgmHoldsAcid,
}

/// What the driver reports.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DriverTells {
    /// The drive is over: standing, in neutral, engine running.
    Over,
    /// The drive ended: another hand took over.
    AnotherHand,
    /// The engine stalled; it is started again.
    Stalled,
    /// The drive ended: the engine would not start.
    NoStart,
    /// The drive ended: the car did not come to a standstill in time.
    NoStand,
    /// The rest is over.
    RestOver,
    /// The rest ended: a hand touched the car.
    RestTouched,
    /// The car cannot be driven any further and is left standing.
    Stranded {
        /// On which day, from 1.
        day: u32,
        /// Why.
        because: Stranded,
    },
    /// Day-to-day driving is over.
    DrivenOn {
        /// How it ended.
        how: LifeEnd,
        /// How long it took \[days\].
        days: f64,
        /// Days on which the car was driven.
        driven: u32,
        /// Driven days at full physics; on the other driven days wear and charging were carried forward.
        full: u32,
        /// How long the engine ran \[h\].
        hours: f64,
    },
}

/// What the car is doing while no hand touches it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Alone {
    /// The car stands locked.
    #[default]
    Locked,
    /// The car stands between two trips.
    Stands,
    /// The car could not be started and is left standing.
    Stranded,
    /// The car is being started.
    Started,
    /// The car is being driven.
    Driven,
    /// A whole day is carried forward: the battery is simulated through it, wear is added.
    Carried,
}

/// How day-to-day driving ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LifeEnd {
    /// It lasted as long as planned.
    Whole,
    /// The car had to be left standing.
    Stranded,
    /// A hand touched the car.
    Touched,
}

/// Why a car that is driven from day to day is left standing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stranded {
    /// The engine would not start.
    NoStart,
    /// The drive had to be given up.
    GivenUp,
    /// The drive could not begin.
    NoDrive(Hindrance),
}

/// A model has reached its limits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ModelNote {
    /// A drive ended early: the engine stalled and three starts failed.
    DriveNoStart,
    /// A drive ended late: the driver could not stop the car.
    DriveNoStand,
    /// Conditioning: the engine did not start.
    NotStarted,
    /// Conditioning: pieces are too short to drive a pattern.
    PiecesTooShort {
        /// Length of the pieces \[s\].
        seconds: f64,
    },
    /// Conditioning: a pattern could not be driven.
    NotDriven {
        /// Which pattern.
        pattern: pattern::Name,
        /// Why.
        because: Hindrance,
    },
    /// Conditioning: the engine stalled in a steady hold.
    HoldStalled,
    /// Conditioning: the engine would not idle.
    WouldNotIdle,
    /// Conditioning: learned values were still changing after 15 min.
    StillMoving {
        /// Change within one minute \[g/s\].
        g_s: f64,
    },
}

/// Outcome of an act that was not simply carried out, as reported to the person at the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// The bench did not allow the act.
    Hindered(Hindrance),
    /// The module refused.
    Refused(Refused),
    /// The module does not answer: asleep or without power.
    Silent,
    /// There is no such mark to go back to.
    NoMark,
    /// The scenario keeps true values hidden.
    Locked,
}

/// Index of a cylinder in lists, from its number counted from 1.
pub(super) fn place(cylinders: usize, k: u8) -> Result<usize, Hindrance> {
    usize::from(k)
        .checked_sub(1)
        .filter(|i| *i < cylinders)
        .ok_or(Hindrance::NoCylinder { cylinder: k, of: cylinders as u8 })
}
