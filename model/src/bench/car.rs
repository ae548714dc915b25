//! A car's file: from text to checked parameters of engine and module.

use super::has::Has;
use crate::ecm::{self, Calibration, Nameplate};
use crate::plant;
use crate::signals::Sensor;
use crate::units::ParamError;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Schema of car files that this version reads.
pub const SCHEMA: u64 = 1;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    schema: u64,
    name: String,
    title: String,
    engine: plant::Layout,
    cylinder: plant::cylinder::Params,
    crank: plant::crank::Params,
    #[serde(default)]
    phaser: Option<plant::phaser::Params>,
    #[serde(default)]
    egr: Option<plant::egr::Params>,
    ignition: plant::ignition::Params,
    air: plant::air::Params,
    fuel: plant::fuel::Params,
    #[serde(default)]
    vapour: Option<plant::vapour::Params>,
    exhaust: plant::exhaust::Params,
    catalyst: plant::catalyst::Params,
    electrical: plant::electrical::Params,
    thermal: plant::thermal::Params,
    road: plant::road::Params,
    sensors: plant::sensors::Params,
    wear: plant::wear::Params,
    spread: plant::parts::Spread,
    module: ecm::Sections,
}

/// A checked car.
#[derive(Debug, Clone)]
pub struct Car {
    /// Short name, as used in scenario files.
    pub name: String,
    /// Title for display.
    pub title: String,
    /// Engine.
    pub plant: Arc<plant::Params>,
    /// Module.
    pub ecm: Arc<Calibration>,
}

/// Why no car can be loaded for the name that a file gives.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoCar {
    /// No car of that name ships with the program.
    Unknown {
        /// The name.
        car: String,
        /// Names of the cars that ship.
        keys: Vec<String>,
    },
    /// A shipped scenario has no folder in which a car's file could lie.
    NoFolder {
        /// The file's name.
        car: String,
    },
    /// The file cannot be read.
    Unread {
        /// The file's name.
        car: String,
        /// The system's reason.
        says: String,
    },
    /// The path is not an ordinary file: it is a folder, a pipe or a device, or it leads through a link.
    NotOrdinary {
        /// The name given.
        car: String,
    },
    /// The file is too large.
    TooLarge {
        /// The file's name.
        car: String,
        /// Size of the largest file that is read \[bytes\].
        most: u64,
    },
    /// The file does not describe a car.
    Wrong {
        /// The car's name.
        car: String,
        /// What is wrong.
        why: CarError,
    },
}

/// What is wrong with a car's file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarError {
    /// Line, if the text itself is at fault.
    pub line: Option<usize>,
    /// The rule broken.
    pub rule: CarRule,
}

/// A rule that a car's file breaks.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CarRule {
    /// The text is not valid TOML, lacks a key, or has an unknown key.
    NotRead {
        /// The parser's message.
        says: String,
    },
    /// The file's schema is not the one that this version reads.
    Schema {
        /// Schema that is read.
        schema: u64,
        /// The one given.
        given: u64,
    },
    /// A number is not finite or is absurdly large.
    Wild {
        /// Its dotted key.
        key: String,
        /// Largest magnitude.
        most: f64,
        /// The one given.
        given: String,
    },
    /// A parameter breaks a rule of its own.
    Param(ParamError),
}

/// Text for developers: users read the sentence that `words` makes from the error.
impl std::fmt::Display for CarError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?}, {:?}", self.line, self.rule)
    }
}

impl std::error::Error for CarError {}

impl From<ParamError> for CarError {
    fn from(e: ParamError) -> Self {
        Self { line: None, rule: CarRule::Param(e) }
    }
}

impl Car {
    /// Reads and checks the text of a car's file.
    pub fn parse(text: &str) -> Result<Self, CarError> {
        let raw: Raw = toml::from_str(text).map_err(|e| CarError {
            line: e.span().map(|s| text[..s.start.min(text.len())].matches('\n').count() + 1),
            rule: CarRule::NotRead { says: e.message().replace('\n', " ") },
        })?;
        if raw.schema != SCHEMA {
            return Err(CarError { line: None, rule: CarRule::Schema { schema: SCHEMA, given: raw.schema } });
        }
        if let Some(rule) =
            text.parse::<toml::Table>().ok().and_then(|t| wild_number("", &toml::Value::Table(t)))
        {
            return Err(CarError { line: None, rule });
        }
        let plate =
            Nameplate { firing_order: raw.engine.firing_order.clone(), banks: raw.engine.banks.clone() };
        let plant = plant::Params {
            layout: raw.engine,
            cylinder: raw.cylinder,
            crank: raw.crank,
            phaser: raw.phaser,
            ignition: raw.ignition,
            air: raw.air,
            fuel: raw.fuel,
            vapour: raw.vapour,
            egr: raw.egr,
            exhaust: raw.exhaust,
            catalyst: raw.catalyst,
            electrical: raw.electrical,
            thermal: raw.thermal,
            road: raw.road,
            sensors: raw.sensors,
            wear: raw.wear,
            spread: raw.spread,
        };
        plant.check()?;
        let ecm = Calibration { plate, s: raw.module };
        ecm.check()?;
        Ok(Self { name: raw.name, title: raw.title, plant: Arc::new(plant), ecm: Arc::new(ecm) })
    }
    /// Number of cylinders.
    pub fn cylinders(&self) -> u8 {
        self.plant.layout.cylinders() as u8
    }
    /// Number of banks.
    pub fn banks(&self) -> u8 {
        self.plant.layout.bank_count() as u8
    }
    /// Cylinders in the order in which they fire.
    pub fn firing_order(&self) -> &[u8] {
        &self.plant.layout.firing_order
    }
    /// What it has that another car may lack.
    pub fn has(&self) -> Has {
        Has {
            cylinders: self.cylinders(),
            banks: self.banks(),
            air_meter: self.plant.sensors.air_meter_v.is_some(),
            phaser: self.plant.phaser.is_some(),
            vapour: self.plant.vapour.is_some(),
            egr: self.plant.egr.is_some(),
            sensors: Sensor::ALL
                .map(|(s, _)| self.plant.sensors.has(s) && s.bank().is_none_or(|bank| bank <= self.banks())),
        }
    }
    /// Names of the memory profiles available for its module.
    pub fn memory_profiles(&self) -> Vec<&str> {
        self.ecm.s.memory.profiles.keys().map(String::as_str).collect()
    }
}

/// Largest magnitude that any number in a car's file may have.
const WILD: f64 = 1.0e7;

/// Finds the first number that is not finite or is absurdly large; `key` is the dotted key of `value`.
fn wild_number(key: &str, value: &toml::Value) -> Option<CarRule> {
    let bad = |x: f64| {
        let wild = || CarRule::Wild { key: key.to_owned(), most: WILD, given: format!("{x:.3e}") };
        (!x.is_finite() || x.abs() > WILD).then(wild)
    };
    match value {
        toml::Value::Float(x) => bad(*x),
        toml::Value::Integer(n) => bad(*n as f64),
        toml::Value::Array(all) => all.iter().find_map(|v| wild_number(key, v)),
        toml::Value::Table(t) => t.iter().find_map(|(k, v)| {
            let path = if key.is_empty() { k.clone() } else { format!("{key}.{k}") };
            wild_number(&path, v)
        }),
        _ => None,
    }
}
