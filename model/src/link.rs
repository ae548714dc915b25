//! The diagnostic link's vocabulary: typed requests to the module and its typed answers.
//!
//! *Inside*: types only. *Outside*: what they mean to the module (`ecm/services.rs`) and how they travel over a
//! network. A person at a panel and a program on a network both use these requests.

mod facts;
mod live;
mod scan;

pub use self::live::{LIVE, Live, LiveValues, Needs};
use crate::label::BatteryKind;
pub use facts::{
    CodeState, Failed, FuelSystem, Gate, GateStatus, Hold, NoStop, Notice, Refused, ThrownAway, WaitsFor,
    Writer,
};
pub use scan::{CodeDetail, MonitorDetail, Scan};
use serde::{Deserialize, Serialize};

/// A group of learned values that are reset and learned together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Idle air, light and loaded difference.
    IdleAir,
    /// The throttle's closed stop.
    ClosedStop,
    /// Long-term fuel trims of all banks.
    LongTrims,
    /// Injector codes: entered, not learned, so no reset erases them.
    InjectorCodes,
    /// Trims of single cylinders.
    CylinderTrims,
    /// Short-pulse trims of the injectors.
    ShortPulse,
    /// The wheel table.
    WheelTable,
    /// The alcohol content of the fuel.
    Alcohol,
}

impl Group {
    /// Every group that can be reset. A network numbers their resets by this order: new ones stand at the end.
    pub const ALL: &'static [Group] = &[
        Group::IdleAir,
        Group::ClosedStop,
        Group::LongTrims,
        Group::CylinderTrims,
        Group::ShortPulse,
        Group::WheelTable,
        Group::Alcohol,
    ];
    /// Name in files and on screens.
    pub fn name(self) -> &'static str {
        match self {
            Group::IdleAir => "idle_air",
            Group::ClosedStop => "closed_stop",
            Group::LongTrims => "long_trims",
            Group::InjectorCodes => "injector_codes",
            Group::CylinderTrims => "cylinder_trims",
            Group::ShortPulse => "short_pulse",
            Group::WheelTable => "wheel_table",
            Group::Alcohol => "alcohol",
        }
    }
}

/// A routine that the module performs on request.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Routine {
    /// Put a group back to its defaults: key on, engine stopped.
    ResetGroup(Group),
    /// Learn idle air at the present idle.
    LearnIdle,
    /// Learn the voltage of the throttle's closed stop: key on, engine stopped.
    LearnClosedStop,
    /// Learn what each injector gives in short pulses, at a warm idle.
    LearnShortPulse,
    /// Test the tank's EVAP system for leaks, at a warm idle.
    TestVapour,
    /// Learn the inlet camshaft's rest position, at a warm idle.
    LearnCamRest,
    /// Learn the closed stop of the exhaust-gas-recirculation valve: key on, engine stopped.
    LearnEgrStop,
    /// Learn the reluctor wheel: hold a speed band, release the pedal, run down with the fuel cut, repeat.
    LearnWheel,
    /// Cut the injector of a cylinder (1 up) until a stop request, or for 12 s; engine idling.
    CutOut(u8),
    /// Command another idle speed \[rpm\], until key-off; 0 restores the module's own.
    CommandIdle(u16),
}

impl Routine {
    /// Every routine that is asked for by its name alone, with that name in files. [`Routine::CutOut`] and
    /// [`Routine::CommandIdle`] take a number, and the catalogue of services declares them.
    pub const ALL: &'static [(&'static str, Routine)] = &[
        ("reset_idle_air", Routine::ResetGroup(Group::IdleAir)),
        ("reset_closed_stop", Routine::ResetGroup(Group::ClosedStop)),
        ("reset_long_trims", Routine::ResetGroup(Group::LongTrims)),
        ("reset_cylinder_trims", Routine::ResetGroup(Group::CylinderTrims)),
        ("reset_short_pulse", Routine::ResetGroup(Group::ShortPulse)),
        ("reset_alcohol", Routine::ResetGroup(Group::Alcohol)),
        ("learn_short_pulse", Routine::LearnShortPulse),
        ("learn_idle", Routine::LearnIdle),
        ("reset_wheel_table", Routine::ResetGroup(Group::WheelTable)),
        ("learn_closed_stop", Routine::LearnClosedStop),
        ("learn_wheel", Routine::LearnWheel),
        ("test_vapour", Routine::TestVapour),
        ("learn_cam_rest", Routine::LearnCamRest),
        ("learn_egr_stop", Routine::LearnEgrStop),
    ];
    /// Beginning of the name of the learned values that a module must hold for this routine; none if every module has
    /// what it takes.
    pub fn is_for(self) -> Option<&'static str> {
        match self {
            Routine::ResetGroup(Group::CylinderTrims) => Some("cylinder_trim"),
            Routine::ResetGroup(Group::ShortPulse) | Routine::LearnShortPulse => Some("short_pulse"),
            Routine::ResetGroup(Group::Alcohol) => Some("alcohol"),
            Routine::TestVapour => Some("vapour_leak"),
            Routine::LearnCamRest => Some("cam_rest"),
            Routine::LearnEgrStop => Some("egr_stop"),
            _ => None,
        }
    }
    /// Whether it changes what the module has learned: a reset or a relearn, not a test or a command.
    pub fn changes_learned(self) -> bool {
        !matches!(self, Routine::TestVapour | Routine::CutOut(_) | Routine::CommandIdle(_))
    }
    /// Name in files and in the logbook.
    pub fn name(self) -> &'static str {
        match self {
            Routine::CommandIdle(_) => return "command_idle",
            Routine::CutOut(_) => return "cut_out",
            _ => {}
        }
        Self::ALL.iter().find(|(_, r)| *r == self).map_or("routine", |(n, _)| n)
    }
}

/// One request to the module.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DiagRequest {
    /// Stored codes with their states.
    ReadCodes,
    /// Clear codes: erases codes, freeze frame, readiness; nothing that was learned.
    ClearCodes,
    /// Freeze frame of a code.
    ReadFreezeFrame(String),
    /// Learned values with their limits and gates.
    ReadLearned,
    /// Live values.
    ReadLive,
    /// One live value by its name, see [`LiveValues::NAMES`].
    ReadValue(String),
    /// Which monitors have completed.
    ReadReadiness,
    /// Write the correction code of the injector in a cylinder: key on, engine stopped.
    WriteInjectorCode {
        /// Cylinder, from 1.
        cylinder: u8,
        /// Code as printed on the body.
        code: String,
    },
    /// The code that is stored for a cylinder, from 1.
    ReadInjectorCode(u8),
    /// Tell the module that another battery was fitted, and which: key on, engine stopped. Its ageing count restarts.
    EnterBatteryRecord {
        /// How its acid is held.
        kind: BatteryKind,
        /// Capacity as printed \[Ah\].
        rated_ah: f64,
    },
    /// The battery that the module counts on.
    ReadBatteryRecord,
    /// Start a routine.
    Start(Routine),
    /// Progress of the routine.
    Progress,
    /// Stop the routine.
    Stop,
    /// Restart the module as if the key were turned off and on, with its values saved in between: engine stopped.
    Restart,
}

impl DiagRequest {
    /// Name in files; for a routine, the routine's name.
    pub fn name(&self) -> &'static str {
        match self {
            DiagRequest::ReadCodes => "read_codes",
            DiagRequest::ClearCodes => "clear_codes",
            DiagRequest::ReadFreezeFrame(_) => "read_freeze_frame",
            DiagRequest::ReadLearned => "read_learned",
            DiagRequest::ReadLive => "read_live",
            DiagRequest::ReadValue(_) => "read_value",
            DiagRequest::ReadReadiness => "read_readiness",
            DiagRequest::WriteInjectorCode { .. } => "write_injector_code",
            DiagRequest::ReadInjectorCode(_) => "read_injector_code",
            DiagRequest::EnterBatteryRecord { .. } => "enter_battery_record",
            DiagRequest::ReadBatteryRecord => "read_battery_record",
            DiagRequest::Start(routine) => routine.name(),
            DiagRequest::Progress => "progress",
            DiagRequest::Stop => "stop",
            DiagRequest::Restart => "restart",
        }
    }
}

/// State of a routine.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RoutineState {
    /// No routine was started since power-up, or the last start was refused after one was done.
    None,
    /// Running.
    Running {
        /// Which.
        routine: Routine,
        /// Seconds since it was started.
        for_s: f64,
        /// What it waits for; none where it waits for nothing.
        waits_for: Option<WaitsFor>,
    },
    /// Completed.
    Done {
        /// Which.
        routine: Routine,
    },
    /// Ended without a result.
    Failed {
        /// Which.
        routine: Routine,
        /// Why.
        because: Failed,
    },
}

/// A code with its states, as read over the link.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CodeStatus {
    /// Standard number.
    pub code: String,
    /// Fault seen in this or the last trip.
    pub pending: bool,
    /// Seen in two trips; the lamp is on or was.
    pub confirmed: bool,
    /// Held until the monitor itself has passed.
    pub permanent: bool,
}

/// Whether a monitor has run to its end since codes were last cleared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MonitorStatus {
    /// Name of the monitor.
    pub name: String,
    /// Whether it has.
    pub complete: bool,
}

/// The battery that the module assumes: entered by a person, not identified.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BatteryRecord {
    /// How its acid is held.
    pub kind: BatteryKind,
    /// Capacity \[Ah\].
    pub rated_ah: f64,
    /// Charge counted through it since it was entered \[Ah\].
    pub passed_ah: f64,
    /// Charge throughput at which it counts as worn out \[Ah\].
    pub worn_out_ah: f64,
    /// When it was entered \[s of the module's time\].
    pub entered_s: f64,
}

/// Conditions stored with a code.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct FreezeFrame {
    /// Engine speed \[rpm\].
    pub engine_speed_rpm: f64,
    /// Calculated load: air over the maximum possible \[%\].
    pub load_pct: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Air flow, by the MAF sensor or calculated from manifold pressure \[g/s\].
    pub air_g_s: f64,
    /// Short-term trim, bank 1 \[%\].
    pub short_pct: f64,
    /// Long-term trim in force, bank 1 \[%\].
    pub long_pct: f64,
    /// Road speed \[km/h\].
    pub road_km_h: f64,
    /// Fuel system status.
    pub fuel_system: FuelSystem,
}

/// A learned value as the module reports it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LearnedStatus {
    /// Name, for example `idle_air_light`.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// Value in use.
    pub value: f64,
    /// Value after a reset.
    pub default: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Whether it has been learned since its last reset.
    pub learned: bool,
    /// Who wrote it last.
    pub written_by: Writer,
    /// When \[s of simulated time\].
    pub written_s: f64,
    /// The gates that must be open for it to move.
    pub gates: Vec<GateStatus>,
}

/// The module's answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(clippy::large_enum_variant, reason = "requests come seldom; live values are plain to match on")]
pub enum DiagResponse {
    /// Done or under way.
    Ok,
    /// Not done.
    Refused(Refused),
    /// No module answers (no power, or key off and after-run over).
    Silent,
    /// Stored codes.
    Codes(Vec<CodeStatus>),
    /// A freeze frame, if one is stored for that code.
    FreezeFrame(Option<FreezeFrame>),
    /// Learned values.
    Learned(Vec<LearnedStatus>),
    /// Live values.
    Live(LiveValues),
    /// One live value, in the unit of its name.
    Value(f64),
    /// State of the routine.
    Routine(RoutineState),
    /// Readiness.
    Readiness(Vec<MonitorStatus>),
    /// Code stored for a cylinder; none if none was written.
    InjectorCode(Option<String>),
    /// The battery that the module counts on.
    BatteryRecord(BatteryRecord),
}
