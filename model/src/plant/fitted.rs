//! The parts that are fitted to this engine.
//!
//! *Inside*: the list of parts, and a set of new ones. *Outside*: what distinguishes two parts of a kind
//! ([`super::parts`], [`super::battery`]), what each does (its model).

use super::battery::Battery;
use super::parts::{
    AirMeter, Alternator, CamDrive, Coil, CrankSensor, EgrValve, Exhaust, Filter, Injector, LevelSensor,
    Phaser, Plug, Pulley, Pump, PurgeValve, Regulator, Seal, Seals, Shaft, Spread, Thermostat, ThrottleBody,
    VentValve, Wheel,
};
use crate::label::BatteryLabel;
use serde::{Deserialize, Serialize};

/// Parts fitted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Parts {
    /// Throttle body.
    pub throttle: ThrottleBody,
    /// MAF sensor.
    pub air_meter: AirMeter,
    /// Injectors by cylinder.
    pub injectors: Vec<Injector>,
    /// Coils by cylinder.
    pub coils: Vec<Coil>,
    /// Spark plugs by cylinder.
    pub plugs: Vec<Plug>,
    /// Leakage areas, by cylinder.
    pub seals: Vec<Seals>,
    /// Reluctor wheel.
    pub wheel: Wheel,
    /// Crank sensor.
    pub crank_sensor: CrankSensor,
    /// Crank drive.
    pub shaft: Shaft,
    /// Crank pulley.
    pub pulley: Pulley,
    /// Cam drive.
    pub cam_drive: CamDrive,
    /// Phaser of the inlet camshaft; on a car without one it does nothing.
    pub phaser: Phaser,
    /// Level sensor in the tank.
    pub level_sensor: LevelSensor,
    /// Fuel pump.
    pub pump: Pump,
    /// Fuel pressure regulator.
    pub regulator: Regulator,
    /// Fuel filter.
    pub fuel_filter: Filter,
    /// Air filter.
    pub air_filter: Filter,
    /// Purge valve.
    pub purge_valve: PurgeValve,
    /// Filler cap.
    pub fuel_cap: Seal,
    /// Line from the tank to canister and purge valve.
    pub vapour_line: Seal,
    /// Vent valve of the canister.
    pub vent_valve: VentValve,
    /// Exhaust-gas-recirculation valve; on a car without one it does nothing.
    pub egr_valve: EgrValve,
    /// Exhausts with their catalysts, by bank.
    pub exhausts: Vec<Exhaust>,
    /// Thermostat.
    pub thermostat: Thermostat,
    /// Battery.
    pub battery: Battery,
    /// Alternator.
    pub alternator: Alternator,
}

impl Parts {
    /// How many of each part there are: the same at any time on a car.
    pub fn lengths(&self) -> [usize; 5] {
        let Self { injectors, coils, plugs, seals, exhausts, .. } = self;
        [injectors.len(), coils.len(), plugs.len(), seals.len(), exhausts.len()]
    }

    /// All new; `serial` gives each part its serial by the part's name, for example `injector.cyl2`.
    pub fn new(
        spread: &Spread,
        (cylinders, banks): (usize, usize),
        (gap_mm, battery): (f64, BatteryLabel),
        serial: impl Fn(&str) -> String,
    ) -> Self {
        let each = |what: &str, c: usize| serial(&format!("{what}.cyl{c}"));
        Self {
            throttle: ThrottleBody::new(spread, serial("throttle_body")),
            air_meter: AirMeter::new(spread, serial("air_meter")),
            injectors: (1..=cylinders).map(|c| Injector::new(spread, each("injector", c))).collect(),
            coils: (1..=cylinders).map(|c| Coil::new(each("coil", c))).collect(),
            plugs: (1..=cylinders).map(|c| Plug::new(each("plug", c), gap_mm)).collect(),
            seals: vec![Seals::default(); cylinders],
            wheel: Wheel::new(spread, serial("wheel")),
            crank_sensor: CrankSensor::new(spread, serial("crank_sensor")),
            shaft: Shaft::new(spread, serial("shaft")),
            pulley: Pulley::new(serial("pulley")),
            cam_drive: CamDrive::new(spread, serial("cam_drive")),
            phaser: Phaser::new(serial("cam_phaser")),
            level_sensor: LevelSensor::new(spread, serial("level_sensor")),
            pump: Pump::new(spread, serial("fuel_pump")),
            regulator: Regulator::new(spread, serial("regulator")),
            fuel_filter: Filter::new(serial("fuel_filter")),
            air_filter: Filter::new(serial("air_filter")),
            purge_valve: PurgeValve::new(serial("purge_valve")),
            fuel_cap: Seal::new(serial("fuel_cap")),
            vapour_line: Seal::new(serial("vapour_line")),
            vent_valve: VentValve::new(serial("vent_valve")),
            egr_valve: EgrValve::new(spread, serial("egr_valve")),
            exhausts: (1..=banks).map(|b| Exhaust::new(serial(&format!("exhaust.bank{b}")))).collect(),
            thermostat: Thermostat::new(serial("thermostat")),
            battery: Battery::new(spread, battery, serial("battery")),
            alternator: Alternator::new(serial("alternator")),
        }
    }
}
