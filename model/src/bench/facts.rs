//! What hinders a hand, what the driver tells, what a model notes: facts with their numbers.
//!
//! *Inside*: one variant for each condition. *Outside*: sentences (`words/facts/bench.rs`), when a fact holds.

use crate::bench::pattern;
use crate::link::Refused;
use serde::{Deserialize, Serialize};

/// Why the bench does not let a hand do something now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hindrance {
    /// The key is on.
    KeyOn,
    /// The engine turns.
    EngineTurns,
    /// The car moves.
    Moving,
    /// The car rolls and must be brought to a stand.
    Rolling,
    /// The engine does not run.
    NotRunning,
    /// A drive takes more than no time.
    NoTime,
    /// The battery's clamp is off, and a drive needs it.
    ClampOff,
    /// The battery's clamp is on, and would be taken off first.
    ClampOn,
    /// The car stands on rollers.
    OnRollers,
    /// This car has no air meter.
    NoAirMeter,
    /// The engine has no such cylinder.
    NoCylinder {
        /// Asked for, from 1.
        cylinder: u8,
        /// How many there are.
        of: u8,
    },
    /// The engine has no such bank.
    NoBank {
        /// Asked for, from 1.
        bank: u8,
        /// How many there are.
        of: u8,
    },
    /// The engine has one bank only.
    OneBank,
    /// No code is printed on this injector.
    NoCodePrinted,
    /// The car's file builds no module: the key that is wrong.
    NoModule(String),
    /// More values than can be watched at once.
    TooManyWatched {
        /// How many can.
        most: u8,
    },
    /// The module has no live value of that name.
    NoValue(String),
    /// The instrument is still at work.
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
    /// The key is on, and the throttle plate must have no power.
    ThrottlePowered,
    /// The engine does not turn: there is no exhaust gas.
    NoExhaustGas,
    /// The wire carries edges, not a voltage to read.
    EdgesOnly,
    /// The key is off: sensors have no supply.
    NoSupply,
    /// Pulses are too short for a voltmeter.
    PulsesTooShort,
    /// The engine turns, and a plug must come out.
    PlugMustComeOut,
    /// Coils or injectors are plugged in: the engine would start.
    WouldStart,
    /// Nothing is wired in there.
    NothingWired,
    /// The key is on: loads would falsify the battery's test.
    LoadsFalsify,
    /// A mat holds the battery's acid.
    MatHoldsAcid,
}

/// Something the driver tells.
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
    /// The drive ended: the car did not come to a stand in time.
    NoStand,
    /// The rest is over.
    RestOver,
    /// The rest ended: a hand touched the car.
    RestTouched,
    /// The car cannot go on and stands from here on.
    Stranded {
        /// On which day, from 1.
        day: u32,
        /// Why.
        because: Stranded,
    },
    /// Driving on is over.
    DrivenOn {
        /// How it ended.
        how: LifeEnd,
        /// How long it took \[days\].
        days: f64,
        /// Days on which the car was driven.
        driven: u32,
        /// Days of them at full physics; on the others wear and charging were carried on.
        full: u32,
        /// How long the engine ran \[h\].
        hours: f64,
    },
}

/// What goes on without a hand at the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Alone {
    /// It stands locked.
    #[default]
    Locked,
    /// It stands between two trips.
    Stands,
    /// It could not be started, and stands.
    Stranded,
    /// It is started.
    Started,
    /// It is driven.
    Driven,
    /// A day goes by in one: the battery lives through it, wear is carried on.
    Carried,
}

/// How driving on ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LifeEnd {
    /// It went to its end.
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
    /// A drive ended late: the driver could not bring the car to a stand.
    DriveNoStand,
    /// Conditioning: the engine did not start.
    NotStarted,
    /// Conditioning: pieces are too short to drive a pattern.
    PiecesTooShort {
        /// How long they are \[s\].
        seconds: f64,
    },
    /// Conditioning: a pattern could not be driven.
    NotDriven {
        /// Which.
        pattern: pattern::Name,
        /// Why.
        because: Hindrance,
    },
    /// Conditioning: the engine stalled in a steady hold.
    HoldStalled,
    /// Conditioning: the engine would not idle.
    WouldNotIdle,
    /// Conditioning: learned values still moved after 15 min.
    StillMoving {
        /// By so much within a minute \[g/s\].
        g_s: f64,
    },
}

/// What came of an act that was not simply done, for who sits at the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// The bench would not let the hand do it.
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

/// Place in lists of a cylinder by its number from 1.
pub(super) fn place(cylinders: usize, k: u8) -> Result<usize, Hindrance> {
    usize::from(k)
        .checked_sub(1)
        .filter(|i| *i < cylinders)
        .ok_or(Hindrance::NoCylinder { cylinder: k, of: cylinders as u8 })
}
