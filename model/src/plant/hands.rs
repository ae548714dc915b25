//! Positions of controls and plugs: what a person did to the car, kept as state.
//!
//! *Inside*: switches, pedals, plugs, leaks opened by hand, sensor faults. *Outside*: their effects (plant).

use crate::plant::{electrical, wires};
use crate::signals::{MAX_BANKS, MAX_CYLINDERS};
use serde::{Deserialize, Serialize};

/// Positions of controls and plugs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hands {
    /// Key on.
    pub key_on: bool,
    /// Key at crank.
    pub key_crank: bool,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Brake pedal \[%\]; its switch closes as soon as it is touched.
    pub brake_pct: f64,
    /// Selector in drive.
    pub drive: bool,
    /// Compressor wanted.
    pub compressor: bool,
    /// Heated glass.
    pub heated_glass: bool,
    /// Lamps.
    pub lamps: bool,
    /// Steering turned.
    pub steering: bool,
    /// Cabin blower on.
    pub blower: bool,
    /// Plugs that are connected.
    pub plugs: Plugs,
    /// Unmetered leak \[mm²\].
    pub leak_mm2: f64,
    /// Leak in the exhaust of the first bank, ahead of its sensor \[mm²\].
    pub exhaust_leak_mm2: f64,
    /// What is wrong with sensors and their wires, by [`wires::Sensor::index`].
    pub ills: [wires::Ill; wires::SENSORS],
    /// Share of a coil's sparks that an interrupter box in its wire suppresses \[-\], by cylinder.
    pub interrupted: [f64; MAX_CYLINDERS],
    /// Factor by which wear is faster than in life.
    pub wear_factor: f64,
    /// Current of an accessory wired straight to the battery's posts \[A\], always on.
    pub past_sensor_a: f64,
    /// Current of an accessory wired in behind the battery's current sensor \[A\], always on.
    pub accessory_a: f64,
    /// A battery charger; none connected while its current is 0.
    pub charger: electrical::Charger,
}

impl Hands {
    /// Nobody touches the car: key off, plugs connected, nothing leaks.
    pub(super) fn away() -> Self {
        Self {
            key_on: false,
            key_crank: false,
            pedal_pct: 0.0,
            brake_pct: 0.0,
            drive: false,
            compressor: false,
            heated_glass: false,
            lamps: false,
            steering: false,
            blower: false,
            plugs: Plugs::default(),
            leak_mm2: 0.0,
            exhaust_leak_mm2: 0.0,
            ills: [wires::Ill::default(); wires::SENSORS],
            interrupted: [0.0; MAX_CYLINDERS],
            wear_factor: 1.0,
            past_sensor_a: 0.0,
            accessory_a: 0.0,
            charger: electrical::Charger::default(),
        }
    }
    /// What is connected to the battery's posts.
    pub(super) fn at_posts(&self) -> electrical::AtPosts {
        electrical::AtPosts {
            clamp: self.plugs.battery,
            past_sensor_a: self.past_sensor_a,
            charger: self.charger,
        }
    }
}

/// Which plugs are in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plugs {
    /// MAF sensor.
    pub air_meter: bool,
    /// Manifold pressure sensor.
    pub map: bool,
    /// Throttle body.
    pub throttle: bool,
    /// Coolant sensor.
    pub coolant: bool,
    /// Wide-band sensors.
    pub lambda: [bool; MAX_BANKS],
    /// Switching oxygen sensors after the catalysts.
    pub rear: [bool; MAX_BANKS],
    /// Crank sensor.
    pub crank: bool,
    /// Injectors.
    pub injectors: [bool; MAX_CYLINDERS],
    /// Coils.
    pub coils: [bool; MAX_CYLINDERS],
    /// Battery clamp.
    pub battery: bool,
    /// Purge valve's plug.
    pub purge_valve: bool,
    /// Plug of the phaser's oil control valve.
    pub cam_valve: bool,
    /// Plug of the exhaust-gas-recirculation valve: motor and position sensor.
    pub egr_valve: bool,
    /// Hose between purge valve and manifold, open; pulled off and closed with a cap it carries nothing.
    pub purge_hose: bool,
    /// Filler cap, on and tight.
    pub fuel_cap: bool,
    /// Radiator fan.
    pub fan: bool,
    /// Plug of the alternator's regulator; its charging lead stays on.
    pub alternator: bool,
    /// Pedal.
    pub pedal: bool,
    /// Belt on the crank pulley.
    pub belt: bool,
}

impl Default for Plugs {
    /// All in.
    fn default() -> Self {
        Self {
            air_meter: true,
            map: true,
            throttle: true,
            coolant: true,
            lambda: [true; MAX_BANKS],
            rear: [true; MAX_BANKS],
            crank: true,
            injectors: [true; MAX_CYLINDERS],
            coils: [true; MAX_CYLINDERS],
            battery: true,
            purge_valve: true,
            cam_valve: true,
            egr_valve: true,
            purge_hose: true,
            fuel_cap: true,
            fan: true,
            alternator: true,
            pedal: true,
            belt: true,
        }
    }
}
