//! Everything a person can do to the bench. An action happens at a simulated time and is in the log.

use crate::bench::pattern;
use crate::bench::tools::Tool;
use crate::label::BatteryKind;
use crate::link::DiagRequest;
use crate::plant::wires;
use crate::units::{self, Range};
use serde::{Deserialize, Serialize};

/// A sensor with a wire of its own.
pub type Sensor = wires::Sensor;
/// How a wire is.
pub type Wire = wires::Wire;
/// What is wrong with a sensor and its wire.
pub type Ill = wires::Ill;

/// Position of the ignition key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Key {
    /// Off.
    Off,
    /// On.
    On,
    /// Held at crank until the engine runs (or 10 s), then let back to on.
    Crank,
}

/// Gear selector.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gear {
    /// Park.
    Park,
    /// Neutral.
    Neutral,
    /// Drive.
    Drive,
}

/// A load that a person switches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Load {
    /// Cooling compressor (a request: the module engages it).
    Compressor,
    /// Heated glass.
    HeatedGlass,
    /// Lamps.
    Lamps,
    /// Steering turned at standstill.
    Steering,
    /// Cabin blower: the module has no wire from its switch.
    Blower,
}

impl Load {
    /// Every load with its name in files.
    pub const ALL: &'static [(&'static str, Load)] = &[
        ("compressor", Load::Compressor),
        ("heated_glass", Load::HeatedGlass),
        ("lamps", Load::Lamps),
        ("steering", Load::Steering),
        ("blower", Load::Blower),
    ];
    /// Name in files.
    pub fn name(self) -> &'static str {
        Self::ALL.iter().find(|(_, l)| *l == self).map_or("load", |(n, _)| n)
    }
}

/// A plug that can be pulled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Connector {
    /// Air meter.
    AirMeter,
    /// Manifold pressure sensor.
    ManifoldPressure,
    /// Throttle body (motor and position sensor).
    ThrottleBody,
    /// Coolant temperature sensor.
    CoolantSensor,
    /// Wide-band oxygen sensor of bank 1.
    OxygenSensor1,
    /// Wide-band oxygen sensor of bank 2.
    OxygenSensor2,
    /// Switching oxygen sensor behind the catalyst of bank 1.
    RearOxygenSensor1,
    /// Switching oxygen sensor behind the catalyst of bank 2.
    RearOxygenSensor2,
    /// Crank sensor.
    CrankSensor,
    /// Injector of a cylinder (1 up).
    Injector(u8),
    /// Coil of a cylinder (1 up).
    Coil(u8),
    /// Battery clamp.
    Battery,
    /// Purge valve.
    PurgeValve,
    /// Hose from purge valve to manifold; off, both ends are capped.
    PurgeHose,
    /// Radiator fan.
    Fan,
    /// Pedal.
    Pedal,
    /// The belt on the crank pulley: engine stopped.
    Belt,
}

impl Connector {
    /// Every connector of an engine with so many cylinders, with its name in files.
    pub fn named(cylinders: u8) -> Vec<(String, Connector)> {
        let mut all: Vec<(String, Connector)> = [
            ("air_meter", Connector::AirMeter),
            ("manifold_pressure", Connector::ManifoldPressure),
            ("throttle_body", Connector::ThrottleBody),
            ("coolant_sensor", Connector::CoolantSensor),
            ("oxygen_sensor_1", Connector::OxygenSensor1),
            ("oxygen_sensor_2", Connector::OxygenSensor2),
            ("rear_oxygen_sensor_1", Connector::RearOxygenSensor1),
            ("rear_oxygen_sensor_2", Connector::RearOxygenSensor2),
            ("crank_sensor", Connector::CrankSensor),
            ("battery", Connector::Battery),
            ("purge_valve", Connector::PurgeValve),
            ("purge_hose", Connector::PurgeHose),
            ("fan", Connector::Fan),
            ("pedal", Connector::Pedal),
            ("belt", Connector::Belt),
        ]
        .map(|(name, connector)| (name.to_owned(), connector))
        .into();
        all.extend((1..=cylinders).map(|n| (format!("injector_{n}"), Connector::Injector(n))));
        all.extend((1..=cylinders).map(|n| (format!("coil_{n}"), Connector::Coil(n))));
        all
    }
}

/// A part that can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartKind {
    /// Throttle body.
    ThrottleBody,
    /// Air meter.
    AirMeter,
    /// Injector of a cylinder (1 up).
    Injector(u8),
    /// Fuel pump.
    FuelPump,
    /// Fuel pressure regulator.
    Regulator,
    /// Fuel filter.
    FuelFilter,
    /// Air filter.
    AirFilter,
    /// Purge valve.
    PurgeValve,
    /// Thermostat.
    Thermostat,
    /// Exhaust of a bank (1 up) with its catalyst.
    Exhaust(u8),
    /// A sensor; its wire stays as it is.
    Sensor(Sensor),
    /// Flexplate with the reluctor wheel on it.
    Wheel,
    /// Crank sensor with its bracket.
    CrankSensor,
    /// Coil of a cylinder (1 up).
    Coil(u8),
    /// Spark plug of a cylinder (1 up).
    Plug(u8),
    /// Valves of a cylinder (1 up).
    Valves(u8),
    /// Piston rings of a cylinder (1 up).
    Rings(u8),
    /// Crank pulley with its belt.
    Pulley,
    /// Cam drive, as it was put on.
    CamDrive,
    /// Battery.
    Battery,
    /// Alternator with its regulator.
    Alternator,
    /// The module: blank, as it comes from the shelf.
    Module,
}

impl PartKind {
    /// Name in files and in prices, without its cylinder or bank.
    pub fn name(self) -> &'static str {
        match self {
            PartKind::ThrottleBody => "throttle_body",
            PartKind::AirMeter => "air_meter",
            PartKind::Injector(_) => "injector",
            PartKind::FuelPump => "fuel_pump",
            PartKind::Regulator => "regulator",
            PartKind::FuelFilter => "fuel_filter",
            PartKind::AirFilter => "air_filter",
            PartKind::PurgeValve => "purge_valve",
            PartKind::Thermostat => "thermostat",
            PartKind::Exhaust(_) => "exhaust",
            PartKind::Sensor(_) => "sensor",
            PartKind::Battery => "battery",
            PartKind::Alternator => "alternator",
            PartKind::Module => "module",
            PartKind::Wheel => "flexplate",
            PartKind::CrankSensor => "crank_sensor",
            PartKind::Coil(_) => "coil",
            PartKind::Plug(_) => "plug",
            PartKind::Valves(_) => "valves",
            PartKind::Rings(_) => "rings",
            PartKind::Pulley => "pulley",
            PartKind::CamDrive => "cam_drive",
        }
    }
    /// Which of several: its cylinder, its bank, its sensor's name.
    pub fn which(self) -> Option<String> {
        match self {
            PartKind::Injector(k)
            | PartKind::Exhaust(k)
            | PartKind::Coil(k)
            | PartKind::Plug(k)
            | PartKind::Valves(k)
            | PartKind::Rings(k) => Some(k.to_string()),
            PartKind::Sensor(sensor) => Some(sensor.name().into()),
            _ => None,
        }
    }
    /// Every kind; of several, the first.
    pub const ALL: [PartKind; 22] = [
        PartKind::ThrottleBody,
        PartKind::AirMeter,
        PartKind::Injector(1),
        PartKind::FuelPump,
        PartKind::Regulator,
        PartKind::FuelFilter,
        PartKind::AirFilter,
        PartKind::PurgeValve,
        PartKind::Thermostat,
        PartKind::Battery,
        PartKind::Alternator,
        PartKind::Exhaust(1),
        PartKind::Sensor(Sensor::Coolant),
        PartKind::Module,
        PartKind::Wheel,
        PartKind::CrankSensor,
        PartKind::Coil(1),
        PartKind::Plug(1),
        PartKind::Valves(1),
        PartKind::Rings(1),
        PartKind::Pulley,
        PartKind::CamDrive,
    ];
    /// The same kind in that cylinder or bank, where there are several.
    pub fn at(self, place: u8) -> Self {
        match self {
            PartKind::Injector(_) => PartKind::Injector(place),
            PartKind::Coil(_) => PartKind::Coil(place),
            PartKind::Plug(_) => PartKind::Plug(place),
            PartKind::Valves(_) => PartKind::Valves(place),
            PartKind::Rings(_) => PartKind::Rings(place),
            PartKind::Exhaust(_) => PartKind::Exhaust(place),
            one => one,
        }
    }
    /// The key that says which of several in files.
    pub fn place_key(self) -> Option<&'static str> {
        match self {
            PartKind::Exhaust(_) => Some("bank"),
            PartKind::Sensor(_) => Some("sensor"),
            _ => self.which().map(|_| "cylinder"),
        }
    }
    /// What can hurt whoever fits one.
    pub fn caution(self) -> Option<&'static str> {
        match self {
            PartKind::ThrottleBody => Some("A powered throttle plate can close on a finger: key off."),
            PartKind::Injector(_) | PartKind::FuelPump | PartKind::Regulator | PartKind::FuelFilter => Some(
                "Fuel stays under pressure after the engine has stopped: let it down first, eye protection, no sparks.",
            ),
            PartKind::Exhaust(_) => Some("Exhaust and catalyst stay hot after the engine has stopped."),
            PartKind::Battery => Some(
                "Hydrogen and acid: no sparks, eye protection. Key off; the earth lead comes off first and goes on last.",
            ),
            _ => None,
        }
    }
    /// What may be said of such a part besides its serial, by its keys in files.
    pub fn says(self) -> &'static [&'static str] {
        match self {
            PartKind::ThrottleBody => {
                &["deposit_um", "stop_offset_deg", "wear_pct", "track_wear_pct", "variant"]
            }
            PartKind::AirMeter => &["error_pct", "error_high_pct"],
            PartKind::Injector(_) => &["error_pct", "wear_pct", "drip_mg_s"],
            PartKind::Plug(_) => &["gap_mm"],
            PartKind::Valves(_) | PartKind::Rings(_) | PartKind::PurgeValve => &["leak_mm2"],
            PartKind::Wheel => &["runout_mm", "high_deg", "hit_tooth", "hit_deg"],
            PartKind::CrankSensor => &["bent"],
            PartKind::Pulley => &["ripple_nm"],
            PartKind::CamDrive => &["teeth_late"],
            PartKind::Exhaust(_) => &["wear_pct", "aged_pct"],
            PartKind::Regulator => &["error_pct"],
            PartKind::FuelPump
            | PartKind::FuelFilter
            | PartKind::AirFilter
            | PartKind::Thermostat
            | PartKind::Alternator
            | PartKind::Coil(_) => &["wear_pct"],
            PartKind::Battery => &["battery_type", "rated_ah", "cold_a", "charge_pct", "wear_pct"],
            PartKind::Sensor(_) | PartKind::Module => &[],
        }
    }
    /// Where a number that is said of such a part must lie; none for a key that is no number.
    pub fn range(self, key: &str) -> Option<&'static Range> {
        Some(match (key, self) {
            ("deposit_um", _) => &units::DEPOSIT_UM,
            ("stop_offset_deg", _) => &units::STOP_OFFSET_DEG,
            ("error_pct", PartKind::Injector(_)) => &units::INJECTOR_PCT,
            ("error_pct", PartKind::Regulator) => &units::REGULATOR_PCT,
            ("error_pct" | "error_high_pct", _) => &units::METER_PCT,
            ("wear_pct" | "track_wear_pct" | "aged_pct", _) => &units::WEAR_PCT,
            ("leak_mm2", _) => &units::PURGE_LEAK_MM2,
            ("drip_mg_s", _) => &units::DRIP_MG_S,
            ("runout_mm", _) => &units::RUNOUT_MM,
            ("high_deg", _) => &units::HIGH_DEG,
            ("hit_tooth", _) => &units::HIT_TOOTH,
            ("hit_deg", _) => &units::HIT_DEG,
            ("gap_mm", _) => &units::GAP_MM,
            ("ripple_nm", _) => &units::RIPPLE_NM,
            ("teeth_late", _) => &units::TEETH_LATE,
            ("rated_ah", _) => &units::RATED_AH,
            ("cold_a", _) => &units::COLD_A,
            ("charge_pct", _) => &units::CHARGE_PCT,
            _ => return None,
        })
    }
}

/// A part taken from the shelf. What is not said follows from the serial (maker's spread) and "new".
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PartChoice {
    /// Which part.
    pub kind: PartKind,
    /// Serial; the maker's spread follows from it. None draws one from the seed.
    pub serial: Option<String>,
    /// Deposit film \[µm\], throttle body only.
    pub deposit_um: Option<f64>,
    /// Closed stop away from nominal \[deg\] instead of the serial's own, throttle body only.
    pub stop_offset_deg: Option<f64>,
    /// Gain, flow or pressure error \[%\] instead of the serial's own: air meter, injector, regulator.
    pub error_pct: Option<f64>,
    /// Air meter: the error at 60 g/s \[%\]; `error_pct` is then the one at 3 g/s, linear in the logarithm of flow.
    pub error_high_pct: Option<f64>,
    /// Wear or blockage \[%\]: throttle motor, pump (flow lost), filters and exhaust (area blocked), thermostat
    /// (stays open), injector (flow lost), coil (strength lost), battery (capacity lost), alternator
    /// (current lost).
    pub wear_pct: Option<f64>,
    /// Wear of the throttle's first sensor track \[%\].
    pub track_wear_pct: Option<f64>,
    /// Exhaust: what its catalyst has lost of store and activity \[%\].
    pub aged_pct: Option<f64>,
    /// The maker's other size of throttle body.
    pub other_variant: bool,
    /// Area that a purge valve, the valves or the rings of a cylinder leave open \[mm²\].
    pub leak_mm2: Option<f64>,
    /// Fuel that drips from an injector when it is shut \[mg/s\] at its rated drop.
    pub drip_mg_s: Option<f64>,
    /// Wheel: how far its middle lies off the crank's axis \[mm\], instead of the serial's own.
    pub runout_mm: Option<f64>,
    /// Wheel: where it lies furthest out, from its first tooth \[deg\], instead of the serial's own.
    pub high_deg: Option<f64>,
    /// Wheel: a tooth that was hit, 1 to 58.
    pub hit_tooth: Option<u8>,
    /// Wheel: how far that tooth's edge is off \[deg\].
    pub hit_deg: Option<f64>,
    /// Crank sensor: its bracket is bent.
    pub bent: bool,
    /// Spark plug: gap \[mm\].
    pub gap_mm: Option<f64>,
    /// Pulley: torque that comes and goes once a turn \[N m\].
    pub ripple_nm: Option<f64>,
    /// Cam drive: teeth by which it was put on late (early where negative).
    pub teeth_late: Option<f64>,
    /// Battery: how its acid is held, instead of the car's own kind.
    pub battery_type: Option<BatteryKind>,
    /// Battery: what is printed on it as its capacity \[Ah\].
    pub rated_ah: Option<f64>,
    /// Battery: cold-cranking current printed on it \[A\].
    pub cold_a: Option<f64>,
    /// Battery: how far it is charged \[%\].
    pub charge_pct: Option<f64>,
}

impl PartChoice {
    /// A new one with what its serial brings, drawn from the seed.
    pub fn new(kind: PartKind) -> Self {
        Self {
            kind,
            serial: None,
            deposit_um: None,
            stop_offset_deg: None,
            error_pct: None,
            error_high_pct: None,
            wear_pct: None,
            track_wear_pct: None,
            aged_pct: None,
            other_variant: false,
            leak_mm2: None,
            drip_mg_s: None,
            runout_mm: None,
            high_deg: None,
            hit_tooth: None,
            hit_deg: None,
            bent: false,
            gap_mm: None,
            ripple_nm: None,
            teeth_late: None,
            battery_type: None,
            rated_ah: None,
            cold_a: None,
            charge_pct: None,
        }
    }
    /// The keys of all numbers that may be said of some part.
    pub const NUMBERS: [&'static str; 19] = [
        "deposit_um",
        "stop_offset_deg",
        "error_pct",
        "error_high_pct",
        "wear_pct",
        "track_wear_pct",
        "aged_pct",
        "leak_mm2",
        "drip_mg_s",
        "runout_mm",
        "high_deg",
        "hit_tooth",
        "hit_deg",
        "gap_mm",
        "ripple_nm",
        "teeth_late",
        "rated_ah",
        "cold_a",
        "charge_pct",
    ];
    fn field(&mut self, key: &str) -> Option<&mut Option<f64>> {
        Some(match key {
            "deposit_um" => &mut self.deposit_um,
            "stop_offset_deg" => &mut self.stop_offset_deg,
            "error_pct" => &mut self.error_pct,
            "error_high_pct" => &mut self.error_high_pct,
            "wear_pct" => &mut self.wear_pct,
            "track_wear_pct" => &mut self.track_wear_pct,
            "aged_pct" => &mut self.aged_pct,
            "leak_mm2" => &mut self.leak_mm2,
            "drip_mg_s" => &mut self.drip_mg_s,
            "runout_mm" => &mut self.runout_mm,
            "high_deg" => &mut self.high_deg,
            "hit_deg" => &mut self.hit_deg,
            "gap_mm" => &mut self.gap_mm,
            "ripple_nm" => &mut self.ripple_nm,
            "teeth_late" => &mut self.teeth_late,
            "rated_ah" => &mut self.rated_ah,
            "cold_a" => &mut self.cold_a,
            "charge_pct" => &mut self.charge_pct,
            _ => return None,
        })
    }
    /// Says a number of it, or takes it back; a tooth is counted in whole ones. A key that is no number is passed over.
    pub fn say(&mut self, key: &str, number: Option<f64>) {
        if key == "hit_tooth" {
            self.hit_tooth = number.map(|n| n.round().clamp(0.0, 255.0) as u8);
        } else if let Some(field) = self.field(key) {
            *field = number;
        }
    }
    /// A number that is said of it.
    pub fn said(&self, key: &str) -> Option<f64> {
        match key {
            "hit_tooth" => self.hit_tooth.map(f64::from),
            _ => self.clone().field(key).and_then(|x| *x),
        }
    }
}

/// What is given as an answer to a question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Said {
    /// A number, in the question's unit.
    Number(f64),
    /// A choice by its id, or up, down or same.
    Word(String),
}

/// What somebody says while working. It changes nothing of engine, module or tools; it is in the logbook, so that
/// what was thought stands there before what came of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Note {
    /// The cautions were read and are kept.
    Cautions,
    /// What is held to be wrong: a cause of the scenario, by its id.
    Cause(String),
    /// A prediction, before its outcome.
    Answer {
        /// The question, by its id.
        ask: String,
        /// What was said.
        says: Said,
    },
    /// Words of one's own.
    Words(String),
    /// The bench went back to a mark: so many seconds of work were undone \[s\].
    Rewound(f64),
    /// The lid was opened over truth, or closed.
    Lid(bool),
    /// From here on a second future could be tried beside this one.
    Forked,
}

impl Action {
    /// How long it leaves the car alone, standing or with its owner \[s\].
    pub fn alone_s(&self) -> f64 {
        match self {
            Action::Rest(hours) => 3600.0 * hours,
            Action::DriveOn(life) => 86_400.0 * f64::from(life.days),
            _ => 0.0,
        }
    }
}

/// How a car is used from day to day. Some days are driven at full physics; of those between them only the electrics
/// are, and what else wears is carried on at the rate of the days that were driven.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Life {
    /// Road of each trip.
    pub pattern: pattern::Name,
    /// Length of a trip \[min\].
    pub minutes: f64,
    /// Trips on a day that is driven.
    pub trips: u8,
    /// Days of a week that are driven, the others it stands.
    pub days_a_week: u8,
    /// Days in all.
    pub days: u32,
    /// Days from one that is driven at full physics to the next, 1 for every one.
    pub each: u32,
}

/// One thing done by a hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(clippy::large_enum_variant, reason = "hands move seldom; a part's choice is plain to match on")]
pub enum Action {
    /// Turn the key.
    Key(Key),
    /// Press the pedal to so many per cent.
    Pedal(f64),
    /// Brake pressed or released.
    Brake(bool),
    /// Select a gear.
    Gear(Gear),
    /// Switch a load on or off.
    Load(Load, bool),
    /// Pull (false) or push in (true) a connector.
    Connector(Connector, bool),
    /// Fit a part: engine stopped.
    Fit(PartChoice),
    /// Clean the throttle body in place: engine stopped, key off.
    CleanThrottle,
    /// Close or open an unmetered leak \[mm²\]: something done to hoses and gaskets.
    Leak(f64),
    /// Close or open a leak in the exhaust ahead of the oxygen sensor \[mm²\].
    ExhaustLeak(f64),
    /// Make a sensor or its wire ill, or well again.
    Sensor(Sensor, Ill),
    /// Set a box in a coil's wire (cylinder from 1) that swallows so many of its sparks at random \[%\]; 0 takes
    /// it out.
    Interrupt(u8, f64),
    /// Wire something in that is always on: so many amperes, behind the battery's current sensor or straight to the
    /// posts, past it. 0 takes it out again.
    Accessory {
        /// Current \[A\].
        amps: f64,
        /// Straight to the battery's posts.
        past_sensor: bool,
    },
    /// Months in a few steps: see [`Life`]. A hand that touches the car ends it.
    DriveOn(Life),
    /// Let the locked car stand for so many hours: key off, engine stopped. A hand that touches it ends that.
    Rest(f64),
    /// Fill so many litres into the tank: engine stopped.
    Refuel(f64),
    /// Swap the injectors of two cylinders (1 up): engine stopped. What is printed on them goes along.
    SwapInjectors(u8, u8),
    /// Write the code that is printed on the injector in one cylinder (`body`) as that of a cylinder, over the
    /// diagnostic link.
    CopyInjectorCode {
        /// Cylinder for which it is written, from 1.
        cylinder: u8,
        /// Cylinder on whose injector it is printed, from 1.
        body: u8,
    },
    /// Ask the module over the diagnostic link.
    Ask(DiagRequest),
    /// Drive by a pattern for so long: a driver takes pedal, brake, selector and key. Ends standing, in
    /// neutral, idling; ends early when a hand touches one of the four. Needs a running engine, standing.
    Drive {
        /// Which pattern.
        pattern: pattern::Name,
        /// For so long \[min\].
        minutes: f64,
    },
    /// Hold an engine speed with the pedal against a torque of rollers at the crank, until a hand touches
    /// pedal, brake, selector or key. Needs a running engine, standing.
    Hold {
        /// Engine speed \[rpm\].
        rpm: f64,
        /// Torque at the crank besides the engine's own \[N m\].
        nm: f64,
    },
    /// Measure with a bay tool.
    Measure(Tool),
    /// Let the service tester show these values, one after the other; none ends it.
    Watch(Vec<String>),
    /// Say something.
    Note(Note),
    /// Nothing: lets time pass.
    Wait,
}
