//! Gates: the conditions that must hold before a value may be learned, and how they stand.

use crate::ecm::codes::Code;
use serde::{Deserialize, Serialize};

/// A condition that must hold before a value may be learned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum GateKind {
    /// Idle control in force.
    Idling,
    /// Coolant in its window.
    Warm,
    /// Park or neutral.
    Neutral,
    /// Car standing.
    Standing,
    /// Nothing switched on.
    NoLoad,
    /// A load switched on.
    Loaded,
    /// Speed near its target.
    SpeedError,
    /// The integrator away from its limit.
    IntegratorBounded,
    /// The closed stop is known.
    StopKnown,
    /// No code that blocks it.
    NoBlockingCode(Option<Code>),
    /// The engine works in the cell.
    InCell,
    /// Oxygen closed loop.
    ClosedLoop,
    /// Flow steady.
    Steady,
    /// The canister is not being drawn from.
    NoPurge,
    /// What is estimated is known well enough \[%\].
    Certain,
    /// The engine stands with the key on, or its throttle is wide open.
    AtRestOrWide,
    /// The tank was filled, or the alcohol share reset, and the share has not settled since.
    Refuelled,
    /// No alcohol share is being inferred.
    BlendKnown,
    /// The module sleeps.
    Asleep,
    /// Little current at the battery \[A\].
    LittleCurrent,
    /// Rested for long enough \[h\].
    Rested,
    /// A rest has told the battery's charge \[h\].
    Referenced,
    /// The battery is charged far enough \[%\].
    Charged,
    /// The battery is neither too cold nor too hot \[°C\].
    BatteryMild,
    /// The catalyst is hot enough by the module's estimate \[°C\].
    CatalystWarm,
    /// The mean of the short-term trim is small \[%\].
    TrimSettled,
    /// The oxygen sensor behind the catalyst answers.
    RearAnswers,
    /// The voltage of the oxygen sensor behind the catalyst is one that the sensor can give \[V\].
    RearInRange,
    /// Coolant was little warmer than the air when the engine was started \[K\].
    ColdStart,
    /// The air was neither too cold nor too hot at the start \[°C\].
    AirMild,
    /// The tank is neither too full nor too empty \[%\].
    FuelLevel,
    /// Ambient pressure is high enough \[kPa\].
    AmbientPressure,
    /// The fuel gives little vapour \[Pa/s\].
    FuelCalm,
    /// The phaser lies at its rest stop.
    CamAtRest,
    /// What is measured lies near the stored value \[deg\].
    NearStored,
    /// The engine stands.
    EngineStands,
    /// Supply high enough \[V\].
    Supply,
    /// Key on for long enough before the engine was started \[s\].
    KeyOnTime,
}

/// How a gate stands.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gate {
    /// Which condition.
    pub kind: GateKind,
    /// It holds.
    pub open: bool,
    /// The value now, in the condition's unit.
    pub now: f64,
    /// Its limit.
    pub limit: f64,
}

impl Gate {
    /// A condition without a value: it holds or does not.
    pub fn switch(kind: GateKind, open: bool) -> Self {
        Self { kind, open, now: 0.0, limit: 0.0 }
    }
}
