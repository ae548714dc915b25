//! What one car has and another lacks: cylinders, banks, and systems that not every car carries.
//!
//! *Inside*: whether a part, a connector or a sensor is on the car, and the hindrance where it is not. *Outside*: what
//! the parts are (catalogue), doing something to them (`hands`).

use super::action::{Connector, PartKind, Sensor};
use super::facts::Hindrance;
use crate::signals::SENSORS;

/// What a car has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Has {
    /// Cylinders.
    pub cylinders: u8,
    /// Banks.
    pub banks: u8,
    /// It measures air; other cars calculate it from manifold pressure.
    pub air_meter: bool,
    /// Its inlet camshaft has a phaser.
    pub phaser: bool,
    /// Its tank's EVAP system is modelled, and tested by its module.
    pub vapour: bool,
    /// It recirculates exhaust gas through a valve.
    pub egr: bool,
    /// Whether a sensor is on it, by [`Sensor::index`].
    pub sensors: [bool; SENSORS],
}

impl Has {
    /// Refuses a part of a system that the car lacks; its place (cylinder, bank) is not looked at.
    pub fn part(&self, kind: PartKind) -> Result<(), Hindrance> {
        match kind {
            PartKind::AirMeter => self.system(self.air_meter, Hindrance::NoAirMeter),
            PartKind::CamPhaser => self.system(self.phaser, Hindrance::NoPhaser),
            PartKind::EgrValve | PartKind::Sensor(Sensor::EgrPosition) => {
                self.system(self.egr, Hindrance::NoEgrValve)
            }
            kind if kind.of_vapour_system() => self.system(self.vapour, Hindrance::NoVapourSystem),
            _ => Ok(()),
        }
    }
    /// Refuses a connector of a system or a bank that the car lacks.
    pub fn connector(&self, connector: Connector) -> Result<(), Hindrance> {
        match connector {
            Connector::AirMeter => self.part(PartKind::AirMeter),
            Connector::CamValve => self.part(PartKind::CamPhaser),
            Connector::FuelCap => self.part(PartKind::FuelCap),
            Connector::EgrValve => self.part(PartKind::EgrValve),
            Connector::OxygenSensor2 | Connector::RearOxygenSensor2 => {
                self.system(self.banks > 1, Hindrance::NoBank { bank: 2, of: self.banks })
            }
            _ => Ok(()),
        }
    }
    /// Whether a sensor is on the car.
    pub fn sensor(&self, sensor: Sensor) -> bool {
        self.sensors[sensor.index()]
    }
    fn system(&self, there: bool, without: Hindrance) -> Result<(), Hindrance> {
        if there { Ok(()) } else { Err(without) }
    }
}
