//! Everything a person can do to the bench. Each action happens at a simulated time and is logged.

use crate::bench::pattern;
use crate::bench::tools::{Look, Point, Tool};
use crate::catalogue::parts::{Fault, PARTS, Part, Place, each_key};
use crate::label::BatteryKind;
use crate::link::{DiagRequest, Routine};
use crate::plant::wires;
use crate::units::Range;
use serde::{Deserialize, Serialize};

/// A sensor with a wire of its own.
pub type Sensor = wires::Sensor;
/// Condition of a wire.
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
    /// Held at crank until the engine runs (or 10 s), then released to on.
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
    /// Cabin blower: its switch has no wire to the module.
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
    /// MAF sensor.
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
    /// Switching oxygen sensor after the catalyst of bank 1.
    RearOxygenSensor1,
    /// Switching oxygen sensor after the catalyst of bank 2.
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
    /// Hose from purge valve to manifold; when it is off, both ends are capped.
    PurgeHose,
    /// Filler cap: off, or not turned tight.
    FuelCap,
    /// Oil control valve of the camshaft phaser.
    CamValve,
    /// Exhaust-gas-recirculation valve: motor and position sensor.
    EgrValve,
    /// Radiator fan.
    Fan,
    /// Plug of the alternator's regulator.
    Alternator,
    /// Pedal.
    Pedal,
    /// The belt on the crank pulley: engine stopped.
    Belt,
}

impl Connector {
    /// Every connector of an engine with this number of cylinders, with its name in files.
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
            ("fuel_cap", Connector::FuelCap),
            ("cam_valve", Connector::CamValve),
            ("egr_valve", Connector::EgrValve),
            ("fan", Connector::Fan),
            ("alternator", Connector::Alternator),
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
    /// MAF sensor.
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
    /// Filler cap.
    FuelCap,
    /// Line from the tank to canister and purge valve.
    VapourLine,
    /// Vent valve of the canister.
    VentValve,
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
    /// Phaser of the inlet camshaft, with its oil control valve.
    CamPhaser,
    /// Exhaust-gas-recirculation valve.
    EgrValve,
    /// Battery.
    Battery,
    /// Alternator with its regulator.
    Alternator,
    /// The module: blank, as it comes from the shelf.
    Module,
}

impl PartKind {
    /// Every kind, in the order of the catalogue; of several, the first.
    pub const ALL: [PartKind; PARTS.len()] = [
        PartKind::ThrottleBody,
        PartKind::AirMeter,
        PartKind::Injector(1),
        PartKind::FuelPump,
        PartKind::Regulator,
        PartKind::FuelFilter,
        PartKind::AirFilter,
        PartKind::PurgeValve,
        PartKind::FuelCap,
        PartKind::VapourLine,
        PartKind::VentValve,
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
        PartKind::CamPhaser,
        PartKind::EgrValve,
    ];
    /// Every part of an engine with so many cylinders and banks.
    pub fn every(cylinders: u8, banks: u8) -> impl Iterator<Item = PartKind> {
        PartKind::ALL.into_iter().flat_map(move |kind| match kind.declared().place {
            Place::Engine => vec![kind],
            Place::Cylinder => (1..=cylinders).map(|k| kind.at(k)).collect(),
            Place::Bank => (1..=banks).map(|k| kind.at(k)).collect(),
            Place::Sensor => Sensor::ALL.iter().map(|s| PartKind::Sensor(s.0)).collect(),
        })
    }
    /// The part of that name; of several, the first.
    pub fn named(name: &str) -> Option<PartKind> {
        PARTS.iter().position(|p| p.id == name).map(|row| PartKind::ALL[row])
    }
    /// It belongs to the tank's EVAP system, which only a car with its leak test has.
    pub fn of_vapour_system(self) -> bool {
        use PartKind::{FuelCap, VapourLine, VentValve};
        matches!(self, FuelCap | VapourLine | VentValve | PartKind::Sensor(Sensor::TankPressure))
    }
    /// Its declaration.
    pub fn declared(self) -> &'static Part {
        let same = |k: &PartKind| std::mem::discriminant(k) == std::mem::discriminant(&self);
        &PARTS[PartKind::ALL.iter().position(same).unwrap_or_default()]
    }
    /// Name in files and in prices, without its cylinder or bank.
    pub fn name(self) -> &'static str {
        self.declared().id
    }
    /// Which cylinder or bank.
    fn number(&mut self) -> Option<&mut u8> {
        match self {
            PartKind::Injector(k)
            | PartKind::Exhaust(k)
            | PartKind::Coil(k)
            | PartKind::Plug(k)
            | PartKind::Valves(k)
            | PartKind::Rings(k) => Some(k),
            _ => None,
        }
    }
    /// Which of several: its cylinder, its bank, its sensor's name.
    pub fn which(mut self) -> Option<String> {
        match self {
            PartKind::Sensor(sensor) => Some(sensor.name().into()),
            _ => self.number().map(|k| k.to_string()),
        }
    }
    /// The same kind in that cylinder or bank, where there are several.
    pub fn at(mut self, place: u8) -> Self {
        if let Some(k) = self.number() {
            *k = place;
        }
        self
    }
    /// The key that says which of several in files.
    pub fn place_key(self) -> Option<&'static str> {
        self.declared().place.key()
    }
    /// What may be said of such a part besides its serial.
    pub fn faults(self) -> &'static [Fault] {
        self.declared().faults
    }
    /// The same by its key.
    pub fn fault(self, key: &str) -> Option<&'static Fault> {
        self.faults().iter().find(|f| f.key == key)
    }
    /// Where a number that is said of such a part must lie; none for a key that is no number.
    pub fn range(self, key: &str) -> Option<Range> {
        self.fault(key)?.range()
    }
}

/// A value that may be said of a part, as a number.
trait Own {
    fn said(&self) -> Option<f64>;
    fn say(&mut self, number: Option<f64>);
}

impl Own for Option<f64> {
    fn said(&self) -> Option<f64> {
        *self
    }
    fn say(&mut self, number: Option<f64>) {
        *self = number;
    }
}

impl Own for Option<u8> {
    fn said(&self) -> Option<f64> {
        self.map(f64::from)
    }
    fn say(&mut self, number: Option<f64>) {
        *self = number.map(|n| n.round().clamp(0.0, 255.0) as u8);
    }
}

impl Own for bool {
    fn said(&self) -> Option<f64> {
        self.then_some(1.0)
    }
    fn say(&mut self, number: Option<f64>) {
        *self = number.is_some_and(|n| n != 0.0);
    }
}

impl Own for Option<BatteryKind> {
    fn said(&self) -> Option<f64> {
        self.and_then(|kind| BatteryKind::ALL.iter().position(|k| k.1 == kind)).map(|row| row as f64)
    }
    fn say(&mut self, number: Option<f64>) {
        *self = number.and_then(|n| BatteryKind::ALL.get(n as usize)).map(|k| k.1);
    }
}

macro_rules! part_choice {
    ($($(#[$doc:meta])* $field:ident: $type:ty = $key:literal,)+) => {
        /// A part taken from the shelf. What is not said follows from the serial (maker's spread) and "new".
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        pub struct PartChoice {
            /// Which part.
            pub kind: PartKind,
            /// Serial; the maker's spread follows from it. None draws one from the seed.
            pub serial: Option<String>,
            $($(#[$doc])* pub $field: $type,)+
        }

        impl PartChoice {
            /// The keys of all that may be said of some part.
            pub const KEYS: &[&'static str] = &[$($key),+];
            /// A new one with what its serial brings, drawn from the seed.
            pub fn new(kind: PartKind) -> Self {
                Self { kind, serial: None, $($field: Default::default(),)+ }
            }
            /// Says something of it, or takes it back; whole numbers are rounded, of words the place in their list counts.
            /// An unknown key is passed over.
            pub fn say(&mut self, key: &str, number: Option<f64>) {
                match key {
                    $($key => Own::say(&mut self.$field, number),)+
                    _ => {}
                }
            }
            /// What is said of it, as a number.
            pub fn said(&self, key: &str) -> Option<f64> {
                match key {
                    $($key => Own::said(&self.$field),)+
                    _ => None,
                }
            }
        }
    };
}
each_key!(part_choice);

/// What is given as an answer to a question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Said {
    /// A number, in the question's unit.
    Number(f64),
    /// A choice by its id, or up, down or same.
    Word(String),
}

/// A remark made while working. It changes nothing in engine, module or tools; it is in the logbook, so that what
/// was thought is on record before the outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Note {
    /// The cautions were read and are observed.
    Cautions,
    /// The suspected fault: a cause of the scenario, by its id.
    Cause(String),
    /// A prediction, before its outcome.
    Answer {
        /// The question, by its id.
        ask: String,
        /// What was said.
        says: Said,
    },
    /// Free text.
    Words(String),
    /// The bench went back to a mark: this much work was undone \[s\].
    Rewound(f64),
    /// The lid over the true values was opened or closed.
    Lid(bool),
    /// From here on a second future could be tried beside this one.
    Forked,
}

/// The bank that a sensor needs.
fn bank_of(sensor: Sensor) -> Option<(Place, u8)> {
    sensor.bank().map(|bank| (Place::Bank, bank))
}

impl Action {
    /// The cylinders and banks that the action concerns, by number.
    pub fn reaches(&self) -> Vec<(Place, u8)> {
        let cylinder = |k: &u8| vec![(Place::Cylinder, *k)];
        match self {
            Action::Connector(Connector::Injector(k) | Connector::Coil(k), _)
            | Action::Interrupt(k, _)
            | Action::Ask(
                DiagRequest::WriteInjectorCode { cylinder: k, .. }
                | DiagRequest::ReadInjectorCode(k)
                | DiagRequest::Start(Routine::CutOut(k)),
            ) => cylinder(k),
            Action::Connector(Connector::OxygenSensor2 | Connector::RearOxygenSensor2, _) => {
                vec![(Place::Bank, 2)]
            }
            Action::Fit(choice) => match choice.kind {
                PartKind::Sensor(sensor) => bank_of(sensor).into_iter().collect(),
                mut kind => {
                    kind.number().map(|k| *k).map(|k| (kind.declared().place, k)).into_iter().collect()
                }
            },
            Action::Sensor(sensor, _) => bank_of(*sensor).into_iter().collect(),
            Action::SwapInjectors(a, b) | Action::CopyInjectorCode { cylinder: a, body: b } => {
                vec![(Place::Cylinder, *a), (Place::Cylinder, *b)]
            }
            Action::Measure(tool) => match tool {
                Tool::Voltmeter(Point::Injector(k))
                | Tool::Scope(Point::Injector(k))
                | Tool::Inspect(Look::Injector(k))
                | Tool::Compression(k)
                | Tool::LeakDown(k) => cylinder(k),
                Tool::Voltmeter(Point::Pin(sensor)) | Tool::Scope(Point::Pin(sensor)) => {
                    bank_of(*sensor).into_iter().collect()
                }
                Tool::BackPressure(b) | Tool::GasAhead(b) => vec![(Place::Bank, *b)],
                _ => Vec::new(),
            },
            Action::Watch(names) => {
                let misfires = names.iter().filter_map(|n| n.strip_prefix("misfires_")?.parse().ok());
                let banks = names.iter().filter(|n| n.contains("_bank2")).map(|_| (Place::Bank, 2));
                misfires.map(|k| (Place::Cylinder, k)).chain(banks).collect()
            }
            _ => Vec::new(),
        }
    }
    /// How long the action leaves the car alone, parked or with its owner \[s\].
    pub fn alone_s(&self) -> f64 {
        match self {
            Action::Rest(hours) => 3600.0 * hours,
            Action::DriveOn(life) => 86_400.0 * f64::from(life.days),
            _ => 0.0,
        }
    }
}

/// How a car is used from day to day. Some days are driven at full physics; on the driven days between them only the
/// electrics are simulated, and other wear is carried forward at the rate of the full days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Life {
    /// Road of each trip.
    pub pattern: pattern::Name,
    /// Length of a trip \[min\].
    pub minutes: f64,
    /// Trips on a day that is driven.
    pub trips: u8,
    /// Days of a week on which the car is driven; on the others it stands.
    pub days_a_week: u8,
    /// Days in all.
    pub days: u32,
    /// Days from one full-physics day to the next; 1 for every day.
    pub each: u32,
}

/// One thing done by a hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(clippy::large_enum_variant, reason = "hands move seldom; a part's choice is plain to match on")]
pub enum Action {
    /// Turn the key.
    Key(Key),
    /// Press the pedal to this position \[%\].
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
    /// Make a sensor or its wire faulty, or sound again.
    Sensor(Sensor, Ill),
    /// Fit a box into a coil's wire (cylinder from 1) that suppresses this share of its sparks at random \[%\]; 0
    /// removes it.
    Interrupt(u8, f64),
    /// Wire in a load that is always on: its current, and whether it is connected behind the battery's current
    /// sensor or straight to the posts, past the sensor. 0 removes it.
    Accessory {
        /// Current \[A\].
        amps: f64,
        /// Straight to the battery's posts.
        past_sensor: bool,
    },
    /// Connect a battery charger: its highest current, and whether its negative clamp is on the battery's post, past the
    /// current sensor, or on the engine's earth. 0 removes it. It holds [`Charger::HOLDS_V`] and does not time out.
    ///
    /// [`Charger::HOLDS_V`]: crate::plant::electrical::Charger::HOLDS_V
    Charger {
        /// Current \[A\].
        amps: f64,
        /// Negative clamp on the post.
        past_sensor: bool,
    },
    /// Months of use in a few steps: see [`Life`]. A hand that touches the car ends it.
    DriveOn(Life),
    /// Leave the car locked for this many hours: key off, engine stopped. A hand that touches it ends that.
    Rest(f64),
    /// Fill this many litres into the tank: engine stopped.
    Refuel(f64),
    /// Swap the injectors of two cylinders (1 up): engine stopped. The codes printed on them move with them.
    SwapInjectors(u8, u8),
    /// Write the code that is printed on one cylinder's injector (`body`) to the module for a cylinder, over the
    /// diagnostic link.
    CopyInjectorCode {
        /// Cylinder for which it is written, from 1.
        cylinder: u8,
        /// Cylinder on whose injector it is printed, from 1.
        body: u8,
    },
    /// Ask the module over the diagnostic link.
    Ask(DiagRequest),
    /// Drive a pattern: a driver takes over pedal, brake, selector and key. Ends at a standstill, in neutral,
    /// idling; ends early when a hand touches one of the four. Needs a running engine and a stationary car.
    Drive {
        /// Which pattern.
        pattern: pattern::Name,
        /// How long \[min\].
        minutes: f64,
    },
    /// Hold an engine speed with the pedal against a roller torque at the crank, until a hand touches pedal, brake,
    /// selector or key. Needs a running engine and a stationary car.
    Hold {
        /// Engine speed \[rpm\].
        rpm: f64,
        /// Torque at the crank in addition to the engine's own \[N m\].
        nm: f64,
    },
    /// Measure with a workshop tool.
    Measure(Tool),
    /// Let the scan tool show these values, one after the other; an empty list ends it.
    Watch(Vec<String>),
    /// Make a remark.
    Note(Note),
    /// Nothing: lets time pass.
    Wait,
}
