//! The diagnostic link's vocabulary: typed requests to the module and its typed answers.
//!
//! *Inside*: words only. *Outside*: what they mean to the module (`ecm/services.rs`) and how they
//! travel over a network. A person at a panel and a program on a network ask through these.

mod facts;

use crate::label::BatteryKind;
pub use facts::{
    CodeState, Failed, Gate, GateStatus, Hold, NoStop, Notice, Refused, ThrownAway, WaitsFor, Writer,
};
use serde::{Deserialize, Serialize};

/// A group of learned values that is reset and learned together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Idle air, light and loaded difference.
    IdleAir,
    /// The throttle's closed stop.
    ClosedStop,
    /// Long-term fuel trims of all banks.
    LongTrims,
    /// Injector codes: entered, not learned, so that no reset takes them.
    InjectorCodes,
    /// Trims of single cylinders.
    CylinderTrims,
    /// Short-pulse trims of the injectors.
    ShortPulse,
    /// The wheel table.
    WheelTable,
}

impl Group {
    /// Every group that can be reset.
    pub const ALL: &'static [Group] = &[
        Group::IdleAir,
        Group::ClosedStop,
        Group::LongTrims,
        Group::WheelTable,
        Group::CylinderTrims,
        Group::ShortPulse,
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
    /// Learn the reluctor wheel: hold a band of speed, let go, run down with the fuel cut, again.
    LearnWheel,
    /// Cut the injector of a cylinder (1 up) until it is asked to stop, or for a minute; engine idling.
    CutOut(u8),
    /// Ask for another idle speed \[rpm\], until key-off; 0 gives the module's own back.
    CommandIdle(u16),
}

impl Routine {
    /// Every routine, with its name in files.
    pub const ALL: &'static [(&'static str, Routine)] = &[
        ("reset_idle_air", Routine::ResetGroup(Group::IdleAir)),
        ("reset_closed_stop", Routine::ResetGroup(Group::ClosedStop)),
        ("reset_long_trims", Routine::ResetGroup(Group::LongTrims)),
        ("reset_cylinder_trims", Routine::ResetGroup(Group::CylinderTrims)),
        ("reset_short_pulse", Routine::ResetGroup(Group::ShortPulse)),
        ("learn_short_pulse", Routine::LearnShortPulse),
        ("learn_idle", Routine::LearnIdle),
        ("reset_wheel_table", Routine::ResetGroup(Group::WheelTable)),
        ("learn_closed_stop", Routine::LearnClosedStop),
        ("learn_wheel", Routine::LearnWheel),
    ];
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

/// One question to the module.
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
    /// Which monitors have run to their end.
    ReadReadiness,
    /// Write the correction code of the injector in a cylinder: key on, engine stopped.
    WriteInjectorCode {
        /// Cylinder, from 1.
        cylinder: u8,
        /// Code as it stands on the body.
        code: String,
    },
    /// The code that is stored for a cylinder, from 1.
    ReadInjectorCode(u8),
    /// Tell the module that another battery was fitted, and which: key on, engine stopped. Its count of age begins anew.
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
    /// How far the routine has come.
    Progress,
    /// Stop the routine.
    Stop,
}

impl DiagRequest {
    /// Name in files; of a routine, the routine's.
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
        }
    }
}

/// How a routine stands.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RoutineState {
    /// None was started since power-up.
    None,
    /// Under way, for so many seconds.
    Running {
        /// Which.
        routine: Routine,
        /// Seconds since it was started.
        for_s: f64,
        /// What it waits for; none where it needs nothing.
        waits_for: Option<WaitsFor>,
    },
    /// Ended well.
    Done {
        /// Which.
        routine: Routine,
    },
    /// Ended without result.
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
    /// It has.
    pub complete: bool,
}

/// A battery as the module counts on it: entered by somebody, not found out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BatteryRecord {
    /// How its acid is held.
    pub kind: BatteryKind,
    /// Capacity \[Ah\].
    pub rated_ah: f64,
    /// Charge counted through it since it was entered \[Ah\].
    pub passed_ah: f64,
    /// Charge at which it counts as worn out \[Ah\].
    pub worn_out_ah: f64,
    /// When it was entered \[s of the module's time\].
    pub entered_s: f64,
}

/// Conditions stored with a code.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct FreezeFrame {
    /// Engine speed \[rpm\].
    pub engine_speed_rpm: f64,
    /// Calculated air over the most that would fit \[%\].
    pub load_pct: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Metered air \[g/s\].
    pub air_g_s: f64,
    /// Short-term trim, bank 1 \[%\].
    pub short_pct: f64,
    /// Long-term trim in force, bank 1 \[%\].
    pub long_pct: f64,
    /// Road speed \[km/h\].
    pub road_km_h: f64,
}

/// A learned value as the module tells it.
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
    /// Whether it was ever learned since it was last reset.
    pub learned: bool,
    /// Who wrote it last.
    pub written_by: Writer,
    /// When \[s of simulated time\].
    pub written_s: f64,
    /// The gates that must be open for it to move.
    pub gates: Vec<GateStatus>,
}

/// Values as the module computes them.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct LiveValues {
    /// Engine speed \[rpm\].
    pub engine_speed_rpm: f64,
    /// Idle speed wanted \[rpm\].
    pub target_rpm: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Inlet air \[°C\].
    pub inlet_air_c: f64,
    /// Manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Metered air \[g/s\].
    pub air_g_s: f64,
    /// Air by pressure and speed, by the module's book \[g/s\].
    pub air_by_pressure_g_s: f64,
    /// Fuel rail by its sensor, over ambient \[kPa\]; zero where there is none.
    pub rail_kpa: f64,
    /// Purge valve duty \[%\].
    pub purge_pct: f64,
    /// Throttle plate above its stored closed stop \[°\].
    pub throttle_deg: f64,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Spark before top dead centre \[°\].
    pub spark_deg: f64,
    /// Measured lambda by bank; 0 while the sensor is cold.
    pub lambda: [f64; 2],
    /// Short-term trim by bank \[%\].
    pub short_pct: [f64; 2],
    /// Long-term trim in force by bank \[%\].
    pub long_pct: [f64; 2],
    /// Oxygen sensors behind the catalysts by bank \[V\].
    pub rear_oxygen_v: [f64; 2],
    /// Supply \[V\].
    pub supply_v: f64,
    /// Road speed \[km/h\].
    pub road_km_h: f64,
    /// Idle controller in force.
    pub idling: bool,
    /// Idle air: base for temperature and gear \[g/s\].
    pub idle_base_g_s: f64,
    /// Idle air: feed-forward of loads \[g/s\].
    pub idle_load_g_s: f64,
    /// Idle air: learned part in force \[g/s\].
    pub idle_learned_g_s: f64,
    /// Idle air: proportional and integral part with dashpot \[g/s\].
    pub idle_pi_g_s: f64,
    /// Misfires counted in this trip by cylinder.
    pub misfires: [u32; 8],
    /// Share of firings counted in the last 200 turns \[%\].
    pub misfire_pct: f64,
    /// Misfires are being watched for.
    pub misfire_watched: bool,
    /// Charging set-point asked of the alternator, 0 for none \[V\].
    pub charge_set_v: f64,
    /// Its base by the kind of battery that was entered, at 25 °C \[V\].
    pub charge_base_v: f64,
    /// What temperature adds to it \[V\].
    pub charge_cold_v: f64,
    /// What the age counted by the battery record adds \[V\].
    pub charge_age_v: f64,
    /// What holding, sparing or overrun make of it \[V\].
    pub charge_stage_v: f64,
    /// Battery current by the sensor at the earth lead, positive charges \[A\].
    pub battery_a: f64,
    /// Battery temperature by its sensor \[°C\].
    pub battery_c: f64,
    /// Charge by the module's count \[%\].
    pub battery_charge_pct: f64,
    /// Field duty of the alternator as its regulator reports it \[%\].
    pub field_duty_pct: f64,
}

impl LiveValues {
    /// Names by which single values are asked for, with their units.
    pub const NAMES: &'static [&'static str] = &[
        "engine_speed_rpm",
        "target_rpm",
        "coolant_c",
        "inlet_air_c",
        "map_kpa",
        "air_g_s",
        "air_by_pressure_g_s",
        "rail_kpa",
        "purge_pct",
        "throttle_deg",
        "pedal_pct",
        "spark_deg",
        "lambda",
        "lambda_bank2",
        "short_pct",
        "short_bank2_pct",
        "long_pct",
        "long_bank2_pct",
        "rear_oxygen_v",
        "rear_oxygen_bank2_v",
        "supply_v",
        "road_km_h",
        "idle_base_g_s",
        "idle_load_g_s",
        "idle_learned_g_s",
        "idle_pi_g_s",
        "misfire_pct",
        "charge_set_v",
        "charge_base_v",
        "charge_cold_v",
        "charge_age_v",
        "charge_stage_v",
        "battery_a",
        "battery_c",
        "battery_charge_pct",
        "field_duty_pct",
        "misfires_1",
        "misfires_2",
        "misfires_3",
        "misfires_4",
        "misfires_5",
        "misfires_6",
        "misfires_7",
        "misfires_8",
    ];
    /// The value of that name.
    pub fn named(&self, name: &str) -> Option<f64> {
        Some(match name {
            "engine_speed_rpm" => self.engine_speed_rpm,
            "target_rpm" => self.target_rpm,
            "coolant_c" => self.coolant_c,
            "inlet_air_c" => self.inlet_air_c,
            "map_kpa" => self.map_kpa,
            "air_g_s" => self.air_g_s,
            "air_by_pressure_g_s" => self.air_by_pressure_g_s,
            "rail_kpa" => self.rail_kpa,
            "purge_pct" => self.purge_pct,
            "throttle_deg" => self.throttle_deg,
            "pedal_pct" => self.pedal_pct,
            "spark_deg" => self.spark_deg,
            "lambda" => self.lambda[0],
            "lambda_bank2" => self.lambda[1],
            "short_pct" => self.short_pct[0],
            "short_bank2_pct" => self.short_pct[1],
            "long_pct" => self.long_pct[0],
            "long_bank2_pct" => self.long_pct[1],
            "rear_oxygen_v" => self.rear_oxygen_v[0],
            "rear_oxygen_bank2_v" => self.rear_oxygen_v[1],
            "supply_v" => self.supply_v,
            "road_km_h" => self.road_km_h,
            "idle_base_g_s" => self.idle_base_g_s,
            "idle_load_g_s" => self.idle_load_g_s,
            "idle_learned_g_s" => self.idle_learned_g_s,
            "idle_pi_g_s" => self.idle_pi_g_s,
            "misfire_pct" => self.misfire_pct,
            "charge_set_v" => self.charge_set_v,
            "charge_base_v" => self.charge_base_v,
            "charge_cold_v" => self.charge_cold_v,
            "charge_age_v" => self.charge_age_v,
            "charge_stage_v" => self.charge_stage_v,
            "battery_a" => self.battery_a,
            "battery_c" => self.battery_c,
            "battery_charge_pct" => self.battery_charge_pct,
            "field_duty_pct" => self.field_duty_pct,
            _ => {
                let k: usize = name.strip_prefix("misfires_")?.parse().ok()?;
                f64::from(*self.misfires.get(k.checked_sub(1)?)?)
            }
        })
    }
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
    /// Code stored for a cylinder; none was written.
    InjectorCode(Option<String>),
    /// The battery that the module counts on.
    BatteryRecord(BatteryRecord),
}
