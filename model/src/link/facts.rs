//! What the module decides, refuses and reports, as facts with their numbers.
//!
//! *Inside*: one variant for each condition, shared by everything that checks for it. *Outside*: sentences
//! (`words/facts.rs`), when a fact holds (module).
//!
//! Names in files are the variants' in snake case. A scenario that withholds reasons uses [`Refused::Withheld`] and
//! [`Failed::Withheld`] in their place.

use crate::label::{BatteryKind, Unreadable};
use crate::link::{DiagRequest, Group, Routine};
use serde::{Deserialize, Serialize};

/// Why a request was refused: the condition, and the value that broke it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Refused {
    /// There is no live value of that name.
    NoValue(String),
    /// The engine is turning; the key must be on and the engine stopped.
    EngineTurning {
        /// Engine speed \[rpm\].
        rpm: f64,
    },
    /// The module accepts no battery of that capacity.
    BatteryCapacity {
        /// Asked for \[Ah\].
        is_ah: f64,
        /// Least and most \[Ah\].
        takes_ah: [f64; 2],
    },
    /// The module works without injector codes.
    NoInjectorCodes,
    /// The engine has no such cylinder.
    NoCylinder {
        /// Asked for, from 1.
        cylinder: u8,
        /// How many there are.
        of: u8,
    },
    /// The injector's code cannot be read.
    InjectorCode(Unreadable),
    /// The code belongs to another kind of injector.
    OtherKind {
        /// The code's kind.
        is: char,
        /// The kind that the module takes.
        takes: char,
    },
    /// Another routine is under way.
    UnderWay(Routine),
    /// The module holds no such group.
    NoGroup(Group),
    /// Supply is too low.
    SupplyBelow {
        /// Now \[V\].
        is_v: f64,
        /// Least \[V\].
        needs_v: f64,
    },
    /// The throttle is not driven yet, a moment after key-on.
    ThrottleNotReady,
    /// The engine does not run.
    NotRunning,
    /// That idle speed may not be commanded.
    IdleSpeed {
        /// Asked for \[rpm\].
        asked_rpm: u16,
        /// Least and most \[rpm\].
        takes_rpm: [u16; 2],
    },
    /// The engine does not idle.
    NotIdling,
    /// The car moves or a gear is in.
    NotParked,
    /// The module has no short-pulse trim.
    NoShortPulse,
    /// An injector's code was never written.
    InjectorCodesMissing,
    /// The module moves no camshaft.
    NoPhaser,
    /// The camshaft's rest position is too far from nominal to be learned: something is mounted wrong.
    CamTooFar {
        /// Edges come late by \[deg of crank\].
        is_deg: f64,
        /// Most either way \[deg of crank\].
        most_deg: f64,
    },
    /// The module drives no exhaust-gas-recirculation valve.
    NoEgrValve,
    /// Inlet air is too cold or too hot.
    InletOutside {
        /// Now \[°C\].
        is_c: f64,
        /// Least and most \[°C\].
        needs_c: [f64; 2],
    },
    /// Idle control is not in force.
    IdleControlOff {
        /// Engine speed \[rpm\].
        rpm: f64,
    },
    /// Coolant is too cold.
    CoolantBelow {
        /// Now \[°C\].
        is_c: f64,
        /// Least \[°C\].
        needs_c: f64,
    },
    /// Coolant is too cold or too hot.
    CoolantOutside {
        /// Now \[°C\].
        is_c: f64,
        /// Least and most \[°C\].
        needs_c: [f64; 2],
    },
    /// A gear is in.
    InGear,
    /// A load is switched on.
    LoadOn,
    /// Fuel control is in open loop.
    OpenLoop,
    /// The car moves.
    Moving {
        /// Road speed \[km/h\].
        km_h: f64,
    },
    /// A code is stored that forbids it.
    CodeStored(String),
    /// The attempts of this key cycle are used up.
    AttemptsUsedUp {
        /// How many there were.
        of: u32,
    },
    /// The throttle's closed stop is not learned.
    StopUnknown,
    /// Electrical loads draw too much current.
    ElectricalLoad {
        /// Now \[A\].
        is_a: f64,
        /// Most \[A\].
        most_a: f64,
    },
    /// Vapour is being purged from the canister.
    PurgeFlowing {
        /// The purge valve's duty \[%\].
        duty_pct: f64,
    },
    /// The module has no leak test of an EVAP system.
    NoVapourTest,
    /// The tank is too full or too empty.
    FuelLevelOutside {
        /// Now \[%\].
        is_pct: f64,
        /// Least and most \[%\].
        needs_pct: [f64; 2],
    },
    /// A code has matured since the group was last reset.
    CodeMatured(String),
    /// The scenario keeps the reason back.
    Withheld,
}

/// Why a routine ended without result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Failed {
    /// Idle air and speed did not settle in time, or a load was switched on.
    NotAtRest,
    /// Idle air is at its limit: the value needed lies beyond it.
    AtLimit,
    /// The closed stop is outside the range that may be learned.
    StopOutside,
    /// The engine left idle.
    LeftIdle,
    /// The engine left its warm idle.
    LeftWarmIdle,
    /// The cylinder values did not settle in time.
    CylindersNotAtRest,
    /// The camshaft's rest position is too far from nominal to be learned.
    CamTooFar,
    /// The engine was started before the learn was complete.
    EngineTurned,
    /// Supply or temperature left its window, or the position did not settle.
    LearnBrokenOff,
    /// The closed stop of the exhaust-gas-recirculation valve is outside the range that may be learned.
    EgrStopOutside,
    /// It was stopped by request.
    Stopped,
    /// The car moves or a gear is in.
    NotParked,
    /// The engine stopped.
    EngineStopped,
    /// The conditions of the leak test did not last, or too much fuel vapour came for a verdict.
    NoVerdict,
    /// The attempts of this key cycle are used up.
    AttemptsUsedUp {
        /// How many there were.
        of: u32,
    },
    /// The scenario keeps the reason back.
    Withheld,
}

/// A speed to be held for the wheel's learn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Hold {
    /// Lowest speed \[rpm\].
    pub low_rpm: f64,
    /// Highest speed \[rpm\].
    pub high_rpm: f64,
    /// Time to hold it \[s\].
    pub for_s: f64,
}

/// What a routine under way waits for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WaitsFor {
    /// A speed to be held.
    Hold(Hold),
    /// The pedal to be released.
    LetGo,
    /// The speed to be held once more, since the last run-down was thrown away.
    HoldAgain {
        /// Why it was thrown away.
        thrown: ThrownAway,
        /// The speed.
        hold: Hold,
    },
}

/// Why a run-down or a coast-down was thrown away.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThrownAway {
    /// The pedal was touched on the way down.
    Pedal,
    /// Pedal released too late: the speed left the band upwards or downwards with the pedal down, or the time ran
    /// out.
    LiftedLate,
    /// A load was switched.
    Load,
    /// Synchronisation with the wheel was lost, or too few complete cycles came.
    FewCycles {
        /// Number of cycles that came.
        cycles: u32,
    },
    /// The result disagrees with those before.
    Disagrees {
        /// By so much \[deg\].
        deg: f64,
    },
    /// An edge would need too large a correction.
    TooFar {
        /// By so much \[deg\].
        deg: f64,
    },
    /// The car moves, or a gear is in.
    Moving,
    /// The brake was touched.
    Brake,
    /// The road shakes the wheels.
    RoughRoad,
    /// The gear changed.
    GearChange,
}

/// Who wrote a learned value. Names in files are those that scenarios compare with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Writer {
    /// Never written: as delivered.
    #[default]
    #[serde(rename = "nobody yet")]
    Delivered,
    /// Written when the car was built.
    #[serde(rename = "works")]
    Factory,
    /// Ordinary learning.
    #[serde(rename = "ordinary learning")]
    Ordinary,
    /// The manual sequence.
    #[serde(rename = "manual sequence")]
    Sequence,
    /// A routine over the link.
    #[serde(rename = "service routine")]
    Routine,
    /// The road method: coast-downs.
    #[serde(rename = "coast-downs")]
    CoastDowns,
    /// Refined while driving.
    #[serde(rename = "fired refinement")]
    Refinement,
    /// A group reset.
    #[serde(rename = "group reset")]
    Reset,
    /// A power cut.
    #[serde(rename = "power cut")]
    PowerCut,
    /// A code clear, on a car whose profile says so.
    #[serde(rename = "code clear")]
    CodeClear,
    /// Entered over the link.
    #[serde(rename = "code entered")]
    Entered,
}

/// A condition that must hold before a value may be learned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gate {
    /// Idle control in force.
    Idling,
    /// Coolant in its window \[°C\].
    Warm,
    /// Park or neutral.
    Neutral,
    /// Car stationary \[km/h\].
    Standing,
    /// No load switched on.
    NoLoad,
    /// A load switched on.
    Loaded,
    /// Speed near its target, under it positive \[rpm\].
    SpeedError,
    /// The integrator away from its limit \[g/s\].
    IntegratorBounded,
    /// The closed stop is known.
    StopKnown,
    /// No code that blocks it.
    NoBlockingCode,
    /// The engine operates in the cell.
    InCell,
    /// Oxygen closed loop.
    ClosedLoop,
    /// Flow steady.
    Steady,
    /// The canister is not being purged.
    NoPurge,
    /// The estimate is certain enough \[%\].
    Certain,
    /// The engine is stopped with the key on, or its throttle is wide open.
    AtRestOrWide,
    /// The tank was filled, or the alcohol content reset, and the share has not settled since.
    Refuelled,
    /// No alcohol content is being inferred.
    BlendKnown,
    /// The module sleeps.
    Asleep,
    /// Battery current is low \[A\].
    LittleCurrent,
    /// Rested for long enough \[h\].
    Rested,
    /// A rest has given a reference for the battery's charge \[h\].
    Referenced,
    /// The battery is charged far enough \[%\].
    Charged,
    /// The battery is neither too cold nor too hot \[°C\].
    BatteryMild,
    /// The catalyst is hot enough by the module's estimate \[°C\].
    CatalystWarm,
    /// The mean of the short-term trim is small \[%\].
    TrimSettled,
    /// The oxygen sensor after the catalyst answers.
    RearAnswers,
    /// The oxygen sensor ahead of the catalyst follows a commanded change of mixture in time.
    FrontFollows,
    /// The voltage of the oxygen sensor after the catalyst is one that the sensor can give \[V\].
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

/// Fuel system status, bank 1: the cases of SAE J1979, PID 03 (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FuelSystem {
    /// Open loop: the conditions for closed loop are not met yet.
    #[default]
    OpenCold,
    /// Closed loop by the oxygen sensor.
    Closed,
    /// Open loop because of how the car is driven: full load, fuel cut.
    OpenDriving,
    /// Open loop because of a fault.
    OpenFault,
}

impl FuelSystem {
    /// The byte of PID 03.
    pub fn byte(self) -> u8 {
        match self {
            FuelSystem::OpenCold => 0x01,
            FuelSystem::Closed => 0x02,
            FuelSystem::OpenDriving => 0x04,
            FuelSystem::OpenFault => 0x08,
        }
    }
}

impl Gate {
    /// Name in files, stable across runs.
    pub fn name(self) -> &'static str {
        match self {
            Gate::Idling => "idling",
            Gate::Warm => "warm",
            Gate::Neutral => "neutral",
            Gate::Standing => "standing",
            Gate::NoLoad => "no_load",
            Gate::Loaded => "loaded",
            Gate::SpeedError => "speed_error",
            Gate::IntegratorBounded => "integrator_bounded",
            Gate::StopKnown => "stop_known",
            Gate::NoBlockingCode => "no_blocking_code",
            Gate::InCell => "in_cell",
            Gate::ClosedLoop => "closed_loop",
            Gate::Steady => "steady",
            Gate::NoPurge => "no_purge",
            Gate::Certain => "certain",
            Gate::AtRestOrWide => "at_rest_or_wide",
            Gate::Refuelled => "refuelled",
            Gate::BlendKnown => "blend_known",
            Gate::Asleep => "asleep",
            Gate::LittleCurrent => "little_current",
            Gate::Rested => "rested",
            Gate::Referenced => "referenced",
            Gate::Charged => "charged",
            Gate::BatteryMild => "battery_mild",
            Gate::CatalystWarm => "catalyst_warm",
            Gate::TrimSettled => "trim_settled",
            Gate::RearAnswers => "rear_answers",
            Gate::FrontFollows => "front_follows",
            Gate::RearInRange => "rear_in_range",
            Gate::ColdStart => "cold_start",
            Gate::AirMild => "air_mild",
            Gate::FuelLevel => "fuel_level",
            Gate::AmbientPressure => "ambient_pressure",
            Gate::FuelCalm => "fuel_calm",
            Gate::CamAtRest => "cam_at_rest",
            Gate::NearStored => "near_stored",
            Gate::EngineStands => "engine_stands",
            Gate::Supply => "supply",
            Gate::KeyOnTime => "key_on_time",
        }
    }
}

/// State of a gate of a learned value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GateStatus {
    /// The condition.
    pub name: Gate,
    /// Whether it holds.
    pub open: bool,
    /// The value now, in the condition's unit; 0 where it has none.
    pub now: f64,
    /// Its limit, in the same unit; 0 where it has none.
    pub limit: f64,
    /// The code that blocks learning, where one does.
    pub code: Option<String>,
}

/// Why the engine is not stopped at traffic lights.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NoStop {
    /// A gate is shut.
    Gate(GateStatus),
    /// The engine does not run.
    NotRunning,
}

/// State that a trouble code has reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CodeState {
    /// Seen in one trip.
    Pending,
    /// Seen in two.
    Confirmed,
}

/// Something the module decided.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Notice {
    /// Key on.
    KeyOn,
    /// Key on again before the after-run had saved.
    KeyOnUnsaved,
    /// The supply is back after it was lost or too low with the key on; the module has started up again.
    SupplyBack,
    /// Key off; the after-run begins.
    KeyOff,
    /// Values saved; the module sleeps.
    Saved,
    /// The engine stopped with the key on.
    EngineStopped,
    /// The manual sequence was aborted in a step, from 1; nothing was written.
    SequenceAborted {
        /// The step.
        step: u8,
    },
    /// The manual sequence was completed.
    SequenceComplete {
        /// Learned idle air, light, from now on \[g/s\].
        idle_air_light_g_s: f64,
    },
    /// A routine was started.
    RoutineStarted {
        /// Which.
        routine: Routine,
    },
    /// A routine ended well.
    RoutineDone {
        /// Which.
        routine: Routine,
        /// Standard error of what it learned, where it reports one \[deg\].
        error_deg: Option<f64>,
    },
    /// A routine ended without result.
    RoutineFailed {
        /// Which.
        routine: Routine,
        /// Why.
        because: Failed,
    },
    /// A routine waits for this from now on.
    WaitsFor(WaitsFor),
    /// A request was refused.
    Refused {
        /// What was asked.
        request: DiagRequest,
        /// Why it was refused.
        because: Refused,
    },
    /// A trouble code has matured.
    CodeBecame {
        /// Standard number.
        code: String,
        /// Its state.
        state: CodeState,
    },
    /// Codes were cleared.
    CodesCleared,
    /// A group of learned values was reset.
    GroupReset {
        /// Which.
        group: Group,
    },
    /// Another idle speed was commanded.
    IdleSpeedAsked {
        /// \[rpm\].
        rpm: u16,
    },
    /// The module's own idle speed is in force again.
    OwnIdleSpeed,
    /// A battery was entered.
    BatteryEntered {
        /// How its acid is held.
        kind: BatteryKind,
        /// Capacity \[Ah\].
        rated_ah: f64,
    },
    /// An injector's code was written.
    InjectorCodeWritten {
        /// Cylinder, from 1.
        cylinder: u8,
        /// Flow over nominal \[%\].
        flow_pct: f64,
        /// Dead time over nominal \[µs\].
        dead_us: f64,
    },
    /// The wheel table is suspect until it is learned again.
    WheelSuspect,
    /// An injector is cut until key-off, for misfire that harms the catalyst.
    InjectorCut {
        /// Cylinder, from 1.
        cylinder: u8,
    },
    /// An injector that a routine had cut works again.
    InjectorWorks {
        /// Cylinder, from 1.
        cylinder: u8,
    },
    /// A run-down counts.
    RunDownCounts {
        /// So many now.
        number: u32,
        /// Of so many.
        of: u32,
        /// What is to be held next; none when no attempt is left.
        hold: Option<Hold>,
    },
    /// A run-down was thrown away.
    RunDownThrownAway {
        /// Why.
        because: ThrownAway,
        /// What is to be held next; none when no attempt is left.
        hold: Option<Hold>,
    },
    /// A coast-down counts.
    CoastDownCounts {
        /// So many now.
        number: u32,
        /// Of so many.
        of: u32,
    },
    /// A coast-down was thrown away.
    CoastDownThrownAway {
        /// Why.
        because: ThrownAway,
    },
    /// The level in the tank has risen: the alcohol content is inferred from now on.
    TankFilled {
        /// Level now \[%\].
        level_pct: f64,
    },
    /// The alcohol content has been inferred.
    AlcoholInferred {
        /// By volume \[%\].
        alcohol_pct: f64,
    },
    /// The wheel table was learned from coast-downs.
    WheelLearned {
        /// Its standard error \[deg\].
        error_deg: f64,
    },
}
