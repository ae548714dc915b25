//! What can be wrong with a car, as facts.
//!
//! *Inside*: the kinds of facts, what each is about. *Outside*: whether one holds (`bench/whole.rs`, `bench/shelf.rs`),
//! sentences (`words/facts/lesson.rs`).

use crate::bench::action::PartKind;
use serde::{Deserialize, Serialize};

/// Something about a car that is not as it should be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NotWhole {
    /// A part is worn, or outside the maker's spread.
    Part {
        /// Its name, for example `injector_2`.
        part: String,
        /// By which of its values, as [`crate::bench::view::PartTruth`] names them.
        key: String,
        /// That value.
        is: f64,
    },
    /// A part of another size or kind than this car has.
    WrongPart {
        /// Its name.
        part: String,
    },
    /// A sensor tells something wrong.
    Sensor {
        /// Its name in files.
        sensor: String,
    },
    /// A sensor's wire is faulty.
    Wire {
        /// The sensor's name in files.
        sensor: String,
    },
    /// A connector is off.
    Unplugged {
        /// Its name in files.
        connector: String,
    },
    /// Air leaks in behind the throttle.
    InletLeak {
        /// Effective area \[mm²\].
        mm2: f64,
    },
    /// The exhaust leaks ahead of the sensor.
    ExhaustLeak {
        /// Effective area \[mm²\].
        mm2: f64,
    },
    /// A test box still swallows sparks.
    Interrupter {
        /// Cylinder, from 1.
        cylinder: u8,
    },
    /// Something draws current for good.
    Accessory {
        /// How much \[A\].
        amps: f64,
    },
    /// A battery charger is still connected.
    Charger,
    /// The code that the module holds is not the one printed on this cylinder's injector, or it holds none.
    InjectorCode {
        /// Cylinder, from 1.
        cylinder: u8,
    },
    /// Type or capacity in the battery record are not those of the fitted battery.
    BatteryRecord,
    /// The battery record counts the age of another battery.
    BatteryAge,
    /// A learned value was erased, and nothing has been learned since.
    NotLearned {
        /// Its name.
        name: String,
    },
    /// A learned value is not what the fitted parts need.
    Learned {
        /// Its name.
        name: String,
        /// What the module holds.
        value: f64,
        /// What the parts need.
        needs: f64,
        /// Unit of both.
        unit: String,
    },
    /// A learned value is right, but what was last saved is not: it is lost if the power goes now.
    NotSaved {
        /// Its name.
        name: String,
    },
    /// A trouble code is pending, or lights the lamp.
    Code {
        /// Its number.
        code: String,
        /// It lights the lamp.
        lamp: bool,
    },
}

/// What a fact is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matter {
    /// Parts, wires, hoses, and what was entered for a body by hand.
    Car,
    /// What the module has learned, counted or was told to count by.
    Learned,
    /// Trouble codes.
    Codes,
}

impl NotWhole {
    /// What it is about.
    pub fn matter(&self) -> Matter {
        match self {
            NotWhole::Code { .. } => Matter::Codes,
            NotWhole::BatteryRecord
            | NotWhole::BatteryAge
            | NotWhole::NotLearned { .. }
            | NotWhole::Learned { .. }
            | NotWhole::NotSaved { .. } => Matter::Learned,
            _ => Matter::Car,
        }
    }
    /// Which thing it says something of: the same for two facts that differ in their numbers only.
    pub fn thing(&self) -> String {
        match self {
            NotWhole::Part { part, .. } | NotWhole::WrongPart { part } => format!("part.{part}"),
            NotWhole::Sensor { sensor } => format!("sensor.{sensor}"),
            NotWhole::Wire { sensor } => format!("wire.{sensor}"),
            NotWhole::Unplugged { connector } => format!("plug.{connector}"),
            NotWhole::InletLeak { .. } => "leak.inlet".into(),
            NotWhole::ExhaustLeak { .. } => "leak.exhaust".into(),
            NotWhole::Interrupter { cylinder } => format!("interrupter.{cylinder}"),
            NotWhole::Accessory { .. } => "accessory".into(),
            NotWhole::Charger => "charger".into(),
            NotWhole::InjectorCode { cylinder } => format!("injector_code.{cylinder}"),
            NotWhole::BatteryRecord => "battery.record".into(),
            NotWhole::BatteryAge => "battery.age".into(),
            NotWhole::NotLearned { name } | NotWhole::Learned { name, .. } | NotWhole::NotSaved { name } => {
                format!("learned.{name}")
            }
            NotWhole::Code { code, .. } => format!("code.{code}"),
        }
    }
    /// It says that the part which stands in that place is not sound.
    pub fn is_of(&self, kind: PartKind) -> bool {
        let own = kind.which().map_or_else(|| kind.name().to_owned(), |w| format!("{}_{w}", kind.name()));
        match (self, kind) {
            (NotWhole::Sensor { sensor: ill }, PartKind::Sensor(sensor)) => ill == sensor.name(),
            (NotWhole::Part { part, .. } | NotWhole::WrongPart { part }, _) => *part == own,
            _ => false,
        }
    }
}
