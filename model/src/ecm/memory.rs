//! Every learned value, in one typed store: value, default, limits, who wrote it, what survives what.
//!
//! *Inside*: the store, what is saved in the after-run, the memory profiles that say which event erases
//! what. *Outside*: when a value may move (its task's gates) and how it is used.
//!
//! Rules that no profile changes: a group reset erases its group; a blank module has nothing; values not yet
//! saved by the after-run are lost when the key comes back too early or the power goes, and what was last
//! saved stands in their place before the profile's erasures; permanent codes outlive everything but the
//! module; ambient pressure stays in memory that needs the battery.
//!
//! **State** ([`Store`]): per value the one in use and the one last saved.
//!
//! **Checked by** `holds_limits…`, `holds_reset…`, `holds_power_cut…` in `tests/module/learning.rs`.

use crate::ecm::inputs;
use crate::label::BatteryKind;
use crate::link::{Group, Writer};
use crate::signals::MAX_BANKS;
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// A learned value's name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Name {
    /// Learned idle air without load \[g/s\].
    IdleAirLight,
    /// What idle air needs besides under load \[g/s\].
    IdleAirLoaded,
    /// Where the throttle's sensor stands at the closed stop \[deg\].
    ClosedStop,
    /// Offset of air in the idle cell \[g/s\], by bank from 0.
    LongIdle(u8),
    /// Gain at part load \[%\].
    LongPart(u8),
    /// Gain at high flow \[%\].
    LongHigh(u8),
    /// Static flow of an injector over nominal \[%\], by its code; by cylinder from 0.
    InjectorFlow(u8),
    /// Dead time of an injector over nominal \[µs\], by its code.
    InjectorDead(u8),
    /// Trim of one cylinder's fuel \[%\].
    CylinderTrim(u8),
    /// Excess of what an injector gives where it hardly opens \[%\].
    ShortPulse(u8),
    /// Ambient pressure \[kPa\].
    Ambient,
    /// Alcohol in the fuel by volume \[%\].
    Alcohol,
    /// How late the cam sensor's edges come with the phaser at rest \[deg of crank\].
    CamRest,
    /// Trim of fuel by the oxygen sensor after the catalyst \[%\], positive richer; by bank from 0.
    RearTrim(u8),
    /// Where the sensor of the exhaust-gas-recirculation valve stands with the valve shut \[mm\].
    EgrStop,
}

/// Which values a car's module holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Holds {
    /// Banks.
    pub banks: usize,
    /// Cylinders.
    pub cylinders: usize,
    /// Injector codes.
    pub coded: bool,
    /// Cylinder trims.
    pub trimmed: bool,
    /// Short-pulse trims.
    pub short: bool,
    /// Alcohol content of the fuel.
    pub alcohol: bool,
    /// Rest position of the inlet camshaft.
    pub cam_rest: bool,
    /// Closed stop of the exhaust-gas-recirculation valve.
    pub egr_stop: bool,
}

impl Name {
    /// Name in files and on screens.
    pub fn text(self) -> String {
        match self {
            Name::IdleAirLight => "idle_air_light".into(),
            Name::IdleAirLoaded => "idle_air_loaded".into(),
            Name::ClosedStop => "closed_stop".into(),
            Name::LongIdle(b) => format!("long_idle_bank{}", b + 1),
            Name::LongPart(b) => format!("long_part_bank{}", b + 1),
            Name::LongHigh(b) => format!("long_high_bank{}", b + 1),
            Name::RearTrim(b) => format!("rear_trim_bank{}", b + 1),
            Name::InjectorFlow(c) => format!("injector_flow_{}", c + 1),
            Name::InjectorDead(c) => format!("injector_dead_{}", c + 1),
            Name::CylinderTrim(c) => format!("cylinder_trim_{}", c + 1),
            Name::ShortPulse(c) => format!("short_pulse_{}", c + 1),
            Name::Ambient => "ambient".into(),
            Name::Alcohol => "alcohol".into(),
            Name::CamRest => "cam_rest".into(),
            Name::EgrStop => "egr_stop".into(),
        }
    }
    /// Unit.
    pub fn unit(self) -> &'static str {
        match self {
            Name::IdleAirLight | Name::IdleAirLoaded | Name::LongIdle(_) => "g/s",
            Name::ClosedStop | Name::CamRest => "°",
            Name::InjectorDead(_) => "µs",
            Name::EgrStop => "mm",
            Name::Ambient => "kPa",
            _ => "%",
        }
    }
    /// Group that it is reset with; none for what every key-on measures anew, and for what is only learned over.
    pub fn group(self) -> Option<Group> {
        Some(match self {
            Name::IdleAirLight | Name::IdleAirLoaded => Group::IdleAir,
            Name::ClosedStop => Group::ClosedStop,
            Name::LongIdle(_) | Name::LongPart(_) | Name::LongHigh(_) | Name::RearTrim(_) => Group::LongTrims,
            Name::InjectorFlow(_) | Name::InjectorDead(_) => Group::InjectorCodes,
            Name::CylinderTrim(_) => Group::CylinderTrims,
            Name::ShortPulse(_) => Group::ShortPulse,
            Name::Alcohol => Group::Alcohol,
            Name::Ambient | Name::CamRest | Name::EgrStop => return None,
        })
    }
    /// What a profile calls it.
    pub fn item(self) -> Item {
        match self {
            Name::IdleAirLight => Item::IdleAirLight,
            Name::IdleAirLoaded => Item::IdleAirLoaded,
            Name::ClosedStop => Item::ClosedStop,
            Name::LongIdle(_) | Name::LongPart(_) | Name::LongHigh(_) | Name::RearTrim(_) => Item::LongTrims,
            Name::InjectorFlow(_) | Name::InjectorDead(_) => Item::InjectorCodes,
            Name::CylinderTrim(_) => Item::CylinderTrims,
            Name::ShortPulse(_) => Item::ShortPulse,
            Name::Ambient => Item::Ambient,
            Name::Alcohol => Item::Alcohol,
            Name::CamRest => Item::CamRest,
            Name::EgrStop => Item::EgrStop,
        }
    }
    fn index(self) -> usize {
        match self {
            Name::IdleAirLight => 0,
            Name::IdleAirLoaded => 1,
            Name::ClosedStop => 2,
            Name::Ambient => 3,
            Name::Alcohol => 4,
            Name::CamRest => 5,
            Name::EgrStop => 6,
            Name::LongIdle(b) => BY_BANK + 4 * usize::from(b),
            Name::LongPart(b) => BY_BANK + 1 + 4 * usize::from(b),
            Name::LongHigh(b) => BY_BANK + 2 + 4 * usize::from(b),
            Name::RearTrim(b) => BY_BANK + 3 + 4 * usize::from(b),
            Name::InjectorFlow(c) => BY_CYLINDER + 4 * usize::from(c),
            Name::InjectorDead(c) => BY_CYLINDER + 1 + 4 * usize::from(c),
            Name::CylinderTrim(c) => BY_CYLINDER + 2 + 4 * usize::from(c),
            Name::ShortPulse(c) => BY_CYLINDER + 3 + 4 * usize::from(c),
        }
    }
}

/// Where values by bank begin, and those by cylinder.
const BY_BANK: usize = 7;
const BY_CYLINDER: usize = BY_BANK + 4 * MAX_BANKS;
/// Default, low and high of what a code can say: flow \[%\], dead time \[µs\].
const CODE_FLOW_PCT: [f64; 3] = [0.0, -13.2, 13.2];
const CODE_DEAD_US: [f64; 3] = [0.0, -132.0, 132.0];
/// The same of the cylinder trim and of the short-pulse trim \[%\].
const CYLINDER_TRIM_PCT: [f64; 3] = [0.0, -10.0, 10.0];
/// The same of ambient pressure \[kPa\]: sea level (US Standard Atmosphere 1976) until it is learned; the range of weather
/// and roads.
const AMBIENT_KPA: [f64; 3] = [inputs::BOOK_AMBIENT_KPA, 55.0, 108.0];
const SHORT_PULSE_PCT: [f64; 3] = [0.0, -40.0, 40.0];
/// The same of the alcohol content \[%\]: petrol until it is inferred. Filling stations sell up to 85 %; what the sensors
/// and injectors are off by may be taken for a little more.
const ALCOHOL_PCT: [f64; 3] = [0.0, 0.0, 95.0];
/// The same of the camshaft's rest position \[deg of crank\]; half a tooth of a sprocket is some 9°.
const CAM_REST_DEG: [f64; 3] = [0.0, -10.0, 10.0];
/// The same of the rear trim \[%\]: bounded to what front sensors age by, common practice.
const REAR_TRIM_PCT: [f64; 3] = [0.0, -2.0, 2.0];
/// The same of the closed stop \[mm\]: the default lies below every seat, so that the valve shuts for certain; a seat with soot
/// stands higher.
const EGR_STOP_MM: [f64; 3] = [-0.2, -0.3, 0.6];

/// Something that an event can erase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Item {
    /// Learned idle air without load.
    IdleAirLight,
    /// Its loaded difference.
    IdleAirLoaded,
    /// Closed stop of the throttle.
    ClosedStop,
    /// Long-term trims, the rear trim among them.
    LongTrims,
    /// Injector codes.
    InjectorCodes,
    /// Cylinder trims.
    CylinderTrims,
    /// Short-pulse trims.
    ShortPulse,
    /// Ambient pressure; gone with the power whatever a profile says.
    Ambient,
    /// Alcohol content, with the level of the tank and the window in which it is inferred.
    Alcohol,
    /// Rest position of the inlet camshaft.
    CamRest,
    /// Closed stop of the exhaust-gas-recirculation valve.
    EgrStop,
    /// Wheel table.
    WheelTable,
    /// Misfire counts.
    MisfireCounts,
    /// Readiness.
    Readiness,
    /// Freeze frames.
    FreezeFrame,
    /// Pending codes.
    Pending,
    /// Confirmed codes, and the lamp with them.
    Confirmed,
}

/// Which event erases what, beside the rules that hold for all: data of a car.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// Clearing codes over the link.
    pub clear_codes: Vec<Item>,
    /// The power goes.
    pub power_cut: Vec<Item>,
}

/// Calibration of the store; the `[module.memory]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Default, low and high of learned idle air \[g/s\].
    pub idle_air_g_s: [f64; 3],
    /// Default, low and high of the loaded difference \[g/s\].
    pub idle_loaded_g_s: [f64; 3],
    /// Default, low and high of the closed stop \[deg\].
    pub closed_stop_deg: [f64; 3],
    /// Default, low and high of the idle cell's offset \[g/s\].
    pub long_idle_g_s: [f64; 3],
    /// Default, low and high of the gains \[%\].
    pub long_gain_pct: [f64; 3],
    /// The car's own profile, one of `profiles`.
    pub profile: String,
    /// Profiles by name.
    pub profiles: std::collections::BTreeMap<String, Profile>,
    /// Length of the after-run, at whose end values are saved \[s\].
    pub after_run_s: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.memory";
        for (key, v) in [
            ("idle_air_g_s", &self.idle_air_g_s),
            ("idle_loaded_g_s", &self.idle_loaded_g_s),
            ("closed_stop_deg", &self.closed_stop_deg),
            ("long_idle_g_s", &self.long_idle_g_s),
            ("long_gain_pct", &self.long_gain_pct),
        ] {
            between(s, key, v[1], -60.0, v[0])?;
            between(s, key, v[2], v[0], 60.0)?;
            if v[1] >= v[2] {
                return Err(ParamError::new(s, key, ParamRule::LowUnderHigh));
            }
        }
        if !self.profiles.contains_key(&self.profile) {
            return Err(self.no_profile(&self.profile));
        }
        between(s, "after_run_s", self.after_run_s, 0.5, 60.0)
    }
    /// The profile of that name, or the car's own.
    pub fn profile(&self, name: Option<&str>) -> Result<Profile, ParamError> {
        let name = name.unwrap_or(&self.profile);
        self.profiles.get(name).cloned().ok_or_else(|| self.no_profile(name))
    }
    fn no_profile(&self, given: &str) -> ParamError {
        let one_of = self.profiles.keys().cloned().collect();
        ParamError::new("module.memory", "profile", ParamRule::NotOneOf { one_of, given: given.to_owned() })
    }
    fn limits(&self, name: Name) -> [f64; 3] {
        match name {
            Name::IdleAirLight => self.idle_air_g_s,
            Name::IdleAirLoaded => self.idle_loaded_g_s,
            Name::ClosedStop => self.closed_stop_deg,
            Name::LongIdle(_) => self.long_idle_g_s,
            Name::LongPart(_) | Name::LongHigh(_) => self.long_gain_pct,
            Name::InjectorFlow(_) => CODE_FLOW_PCT,
            Name::InjectorDead(_) => CODE_DEAD_US,
            Name::CylinderTrim(_) => CYLINDER_TRIM_PCT,
            Name::ShortPulse(_) => SHORT_PULSE_PCT,
            Name::Ambient => AMBIENT_KPA,
            Name::Alcohol => ALCOHOL_PCT,
            Name::CamRest => CAM_REST_DEG,
            Name::RearTrim(_) => REAR_TRIM_PCT,
            Name::EgrStop => EGR_STOP_MM,
        }
    }
}

/// One value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Value {
    /// In use.
    pub value: f64,
    /// Learned since it was last reset.
    pub learned: bool,
    /// Who wrote it last.
    pub by: Writer,
    /// When \[s of the module's time\].
    pub at_s: f64,
}

/// What the module believes of the reluctor wheel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WheelTable {
    /// Each edge away from where it should be \[deg\], mean zero; zeros where nothing was learned.
    pub edges_deg: Vec<f64>,
    /// Largest standard error of a firing interval when it was learned \[deg\].
    pub error_deg: f64,
    /// Learned.
    pub learned: bool,
    /// A misfire was confirmed since it was learned, and this module cannot tell a sick cylinder from a bent
    /// table: it goes on using it, but not at speed.
    pub suspect: bool,
    /// Who wrote it last.
    pub by: Writer,
    /// When \[s of the module's time\].
    pub at_s: f64,
}

impl WheelTable {
    fn none(by: Writer, at_s: f64) -> Self {
        Self { edges_deg: vec![0.0; 58], error_deg: 0.0, learned: false, suspect: false, by, at_s }
    }
}

/// The battery as somebody entered it, and what the module has counted since.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BatteryEntry {
    /// How its acid is held.
    pub kind: BatteryKind,
    /// Capacity \[Ah\].
    pub rated_ah: f64,
    /// Charge counted out of it since \[Ah\].
    pub passed_ah: f64,
    /// When it was entered \[s of the module's time\].
    pub entered_s: f64,
    /// Who entered it.
    pub by: Writer,
}

/// Fuel used since the tank was filled or the share was reset, while the alcohol content is inferred.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Inferring {
    /// Share when it began \[%\].
    pub from_pct: f64,
    /// Fuel used since \[L\].
    pub used_l: f64,
    /// Fuel used with all gates open \[L\].
    pub learned_l: f64,
    /// Share around which it has stayed \[%\], for so much of that fuel \[L\].
    pub settled: (f64, f64),
}

/// What the module remembers of the tank.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Tank {
    /// Level when it last looked \[%\]; none if it does not know.
    pub level_pct: Option<f64>,
    /// The window in which the alcohol content is inferred; none while it is shut.
    pub inferring: Option<Inferring>,
}

/// Moving a value hit its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AtLimit;

/// The store.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Store {
    holds: Holds,
    values: Vec<Value>,
    saved: Vec<Value>,
    /// Wheel table.
    pub wheel: WheelTable,
    saved_wheel: WheelTable,
    /// Battery; written for good at once, and no power cut takes it.
    pub battery: BatteryEntry,
    /// The idle air group was reset and no learn has ended well since.
    pub idle_window_open: bool,
    saved_window_open: bool,
    /// Tank.
    pub tank: Tank,
    saved_tank: Tank,
    /// Module's time of the last reset of the idle air group, or of a blank module's first power-up \[s\].
    pub idle_reset_s: f64,
}

impl Store {
    /// A store with defaults; a delivered car knows its closed stop, a blank module nothing.
    pub fn new(cal: &Cal, banks: usize, closed_stop_deg: Option<f64>) -> Self {
        let holds = Holds { banks, ..Holds::default() };
        Self::with(cal, holds, closed_stop_deg)
    }
    /// The same with values by cylinder, as far as the car's module holds any.
    pub fn with(cal: &Cal, holds: Holds, closed_stop_deg: Option<f64>) -> Self {
        let n = BY_CYLINDER + 4 * holds.cylinders;
        let mut store = Self {
            holds,
            values: vec![Value { value: 0.0, learned: false, by: Writer::Delivered, at_s: 0.0 }; n],
            saved: Vec::new(),
            wheel: WheelTable::none(Writer::Delivered, 0.0),
            saved_wheel: WheelTable::none(Writer::Delivered, 0.0),
            battery: BatteryEntry {
                kind: BatteryKind::Flooded,
                rated_ah: 60.0,
                passed_ah: 0.0,
                entered_s: 0.0,
                by: Writer::Delivered,
            },
            idle_window_open: false,
            saved_window_open: false,
            tank: Tank::default(),
            saved_tank: Tank::default(),
            idle_reset_s: 0.0,
        };
        for name in store.names() {
            store.values[name.index()].value = cal.limits(name)[0];
        }
        if let Some(deg) = closed_stop_deg {
            store.values[Name::ClosedStop.index()] =
                Value { value: deg, learned: true, by: Writer::Factory, at_s: 0.0 };
        }
        store.saved = store.values.clone();
        store
    }
    /// Which values there are, and how many of them are held and saved: the same at any time in a car.
    pub fn lengths(&self) -> (Holds, [usize; 2]) {
        (self.holds, [self.values.len(), self.saved.len()])
    }
    /// Which values there are.
    pub fn holds(&self) -> Holds {
        self.holds
    }
    /// Writes what a code says, at once and for good: no after-run is waited for.
    pub fn enter(&mut self, cylinder: u8, flow_pct: f64, dead_us: f64, by: Writer, at_s: f64) {
        for (name, value) in
            [(Name::InjectorFlow(cylinder), flow_pct), (Name::InjectorDead(cylinder), dead_us)]
        {
            self.values[name.index()] = Value { value, learned: true, by, at_s };
            self.saved[name.index()] = self.values[name.index()];
        }
    }
    /// The works learned the wheel that the engine was built with: each edge away from where it should be \[deg\].
    pub fn deliver_wheel(&mut self, edges_deg: &[f64]) {
        let middle = edges_deg.iter().sum::<f64>() / edges_deg.len().max(1) as f64;
        let edges_deg = edges_deg.iter().map(|x| x - middle).collect();
        self.wheel = WheelTable {
            edges_deg,
            error_deg: 0.0,
            learned: true,
            suspect: false,
            by: Writer::Factory,
            at_s: 0.0,
        };
        self.saved_wheel = self.wheel.clone();
    }
    /// The car comes in knowing where its camshaft rests \[deg of crank\]: from the factory, or learned on the road before
    /// the bench began.
    pub fn deliver_cam_rest(&mut self, deg: f64, by: Writer) {
        self.deliver(Name::CamRest, deg, by);
    }
    /// The car comes in knowing a value.
    pub fn deliver(&mut self, name: Name, value: f64, by: Writer) {
        let k = name.index();
        let at_s = if by == Writer::Factory { 0.0 } else { -1.0 };
        self.values[k] = Value { value, learned: true, by, at_s };
        self.saved[k] = self.values[k];
    }
    /// A learn ended well.
    pub fn write_wheel(&mut self, edges_deg: Vec<f64>, error_deg: f64, by: Writer, at_s: f64) {
        self.wheel = WheelTable { edges_deg, error_deg, learned: true, suspect: false, by, at_s };
    }
    /// Every name this store holds.
    pub fn names(&self) -> Vec<Name> {
        let mut all = vec![Name::IdleAirLight, Name::IdleAirLoaded, Name::ClosedStop, Name::Ambient];
        if self.holds.alcohol {
            all.push(Name::Alcohol);
        }
        if self.holds.cam_rest {
            all.push(Name::CamRest);
        }
        if self.holds.egr_stop {
            all.push(Name::EgrStop);
        }
        for b in 0..self.holds.banks.min(MAX_BANKS) as u8 {
            all.extend([Name::LongIdle(b), Name::LongPart(b), Name::LongHigh(b), Name::RearTrim(b)]);
        }
        let by_cylinder = [
            (self.holds.coded, Name::InjectorFlow as fn(u8) -> Name),
            (self.holds.coded, Name::InjectorDead),
            (self.holds.trimmed, Name::CylinderTrim),
            (self.holds.short, Name::ShortPulse),
        ];
        for (_, name) in by_cylinder.iter().filter(|(held, _)| *held) {
            all.extend((0..self.holds.cylinders as u8).map(name));
        }
        all
    }
    /// The value in use.
    #[inline]
    pub fn get(&self, name: Name) -> f64 {
        self.values[name.index()].value
    }
    /// What the rear trim of a bank moves the target of lambda control by \[lambda\].
    pub fn rear_lambda(&self, bank: usize) -> f64 {
        -0.01 * self.get(Name::RearTrim(bank as u8))
    }
    /// The whole entry.
    pub fn entry(&self, name: Name) -> Value {
        self.values[name.index()]
    }
    /// The entry as it was last saved: what stands in its place when the power goes.
    pub fn saved(&self, name: Name) -> Value {
        self.saved[name.index()]
    }
    /// The wheel table as it was last saved.
    pub fn saved_wheel(&self) -> &WheelTable {
        &self.saved_wheel
    }
    /// Default, low, high.
    pub fn limits(&self, cal: &Cal, name: Name) -> [f64; 3] {
        cal.limits(name)
    }
    /// Moves a value by a step; says how far it really went.
    pub fn move_by(&mut self, cal: &Cal, name: Name, step: f64, by: Writer, at_s: f64) -> f64 {
        let [_, low, high] = cal.limits(name);
        let v = &mut self.values[name.index()];
        let before = v.value;
        v.value = (before + step).clamp(low, high);
        (v.learned, v.by, v.at_s) = (true, by, at_s);
        v.value - before
    }
    /// Writes a value; refused outside the limits, and then nothing changes.
    pub fn write(&mut self, cal: &Cal, name: Name, value: f64, by: Writer, at_s: f64) -> Result<(), AtLimit> {
        let [_, low, high] = cal.limits(name);
        if !(low..=high).contains(&value) {
            return Err(AtLimit);
        }
        self.values[name.index()] = Value { value, learned: true, by, at_s };
        Ok(())
    }
    /// Puts a group back to its defaults.
    pub fn reset(&mut self, cal: &Cal, group: Group, by: Writer, at_s: f64) {
        for name in self.names() {
            // what was entered by hand is not learned, and no reset takes it
            if name.group() == Some(group) && group != Group::InjectorCodes {
                self.values[name.index()] = Value { value: cal.limits(name)[0], learned: false, by, at_s };
            }
        }
        if group == Group::WheelTable {
            self.wheel = WheelTable::none(by, at_s);
        }
        if group == Group::IdleAir {
            self.idle_window_open = true;
            self.idle_reset_s = at_s;
        }
        if group == Group::Alcohol {
            self.infer_alcohol();
        }
    }
    /// Opens the window in which the alcohol content is inferred.
    pub fn infer_alcohol(&mut self) {
        let pct = self.get(Name::Alcohol);
        let begun = Inferring { from_pct: pct, used_l: 0.0, learned_l: 0.0, settled: (pct, 0.0) };
        self.tank.inferring = Some(begun);
    }
    /// End of the after-run.
    pub fn save(&mut self) {
        self.saved.clone_from(&self.values);
        self.saved_wheel.clone_from(&self.wheel);
        self.saved_window_open = self.idle_window_open;
        self.saved_tank = self.tank;
    }
    /// Power lost: back to what was saved, then the profile's erasures.
    pub fn power_cut(&mut self, cal: &Cal, profile: &Profile, at_s: f64) {
        self.fall_back();
        self.erase(cal, &profile.power_cut, Writer::PowerCut, at_s);
        self.erase(cal, &[Item::Ambient], Writer::PowerCut, at_s);
        self.save();
    }
    /// Puts these back to their defaults.
    pub fn erase(&mut self, cal: &Cal, items: &[Item], by: Writer, at_s: f64) {
        if items.contains(&Item::WheelTable) {
            self.wheel = WheelTable::none(by, at_s);
        }
        if items.contains(&Item::Alcohol) {
            self.tank = Tank::default();
        }
        for name in self.names() {
            if items.contains(&name.item()) {
                self.values[name.index()] = Value { value: cal.limits(name)[0], learned: false, by, at_s };
            }
        }
    }
    /// Key turned off and on again before the after-run had saved: back to what was saved.
    pub fn fall_back(&mut self) {
        self.values.clone_from(&self.saved);
        self.wheel.clone_from(&self.saved_wheel);
        self.idle_window_open = self.saved_window_open;
        self.tank = self.saved_tank;
    }
}
