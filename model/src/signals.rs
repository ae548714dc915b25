//! The wiring harness: everything that passes between engine and module, and nothing else.
//!
//! Test for a newcomer: could one point at a wire or a connector pin? If not, it does not belong here.
//! Pins carry volts and switch states; the crank sensor's wire carries edge times. No truth.

use serde::{Deserialize, Serialize};

/// Most cylinders any car may have; arrays on the harness have this length.
pub const MAX_CYLINDERS: usize = 8;
/// Most banks any car may have.
pub const MAX_BANKS: usize = 2;
/// Capture timer ticks per second: 0.1 µs a tick.
pub const TICKS_PER_S: f64 = 1.0e7;

/// Feedback of the module's output stages: each measures the voltage at its pin while it is switched off, as such
/// stages do to detect open circuits. A connected load pulls the pin up to the supply; an open circuit leaves it at
/// the stage's own bias.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Stages {
    /// Injectors \[V\].
    pub injector_v: [f64; MAX_CYLINDERS],
    /// Primary windings of the coils \[V\].
    pub coil_v: [f64; MAX_CYLINDERS],
    /// Purge valve \[V\].
    pub purge_v: f64,
    /// Radiator fan \[V\].
    pub fan_v: f64,
    /// Current through the heater of the oxygen sensor after the catalyst, by bank \[A\].
    pub rear_heater_a: [f64; MAX_BANKS],
    /// Oil control valve of the camshaft phaser \[V\].
    pub cam_valve_v: f64,
    /// Motor of the exhaust-gas-recirculation valve \[V\].
    pub egr_valve_v: f64,
    /// Line from the alternator's regulator; the module pulls it up to 5 V, a connected regulator holds it lower
    /// \[V\].
    pub generator_v: f64,
}

/// What the module's pins carry, sampled together.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SensorFrame {
    /// Time of the sample \[timer ticks\].
    pub tick: u64,
    /// Supply at the module's own terminal \[V\]; zero when the battery is off.
    pub supply_v: f64,
    /// Ignition switch in the on or crank position.
    pub key_on: bool,
    /// Ignition switch in the crank position.
    pub key_crank: bool,
    /// MAF sensor \[V\].
    pub air_meter_v: f64,
    /// Manifold pressure sensor \[V\].
    pub map_v: f64,
    /// Throttle plate position sensor, first track \[V\].
    pub throttle_v: f64,
    /// Throttle plate position sensor, second track, falling with opening \[V\].
    pub throttle2_v: f64,
    /// Pedal position sensor \[V\].
    pub pedal_v: f64,
    /// Coolant temperature sensor on its pull-up \[V\].
    pub coolant_v: f64,
    /// Inlet air temperature sensor on its pull-up \[V\].
    pub inlet_air_v: f64,
    /// Wide-band oxygen sensors' amplifiers, by bank \[V\]; below 0.2 V while cold.
    pub lambda_v: [f64; MAX_BANKS],
    /// Switching oxygen sensors after the catalysts, by bank \[V\]; held at 0.45 V by the module while cold.
    pub rear_oxygen_v: [f64; MAX_BANKS],
    /// Brake switch closed.
    pub brake: bool,
    /// Compressor requested.
    pub compressor_request: bool,
    /// Heated glass switched on (a sense wire from its relay).
    pub heated_glass: bool,
    /// Lamps switched on.
    pub lamps: bool,
    /// Park or neutral.
    pub neutral: bool,
    /// Wheel speed, pulses per second.
    pub wheel_hz: f64,
    /// Alternator field duty, reported by its regulator, 0 to 1.
    pub field_duty: f64,
    /// Rail pressure sensor of direct injection \[V\]; zero where there is none.
    pub rail_v: f64,
    /// Current sensor at the battery's earth lead \[V\]: 2.5 at no current, more on charge. It also works while the
    /// module sleeps.
    pub battery_sense_v: f64,
    /// Temperature sensor beside the current sensor \[V\].
    pub battery_temp_v: f64,
    /// Level sensor in the fuel tank \[V\].
    pub fuel_level_v: f64,
    /// Pressure sensor of the tank's vapour space \[V\]; zero where there is none.
    pub tank_pressure_v: f64,
    /// Position sensor of the exhaust-gas-recirculation valve \[V\]; zero where there is none.
    pub egr_position_v: f64,
    /// Feedback of the output stages.
    pub stages: Stages,
}

/// Voltage at which the module's own divider holds the pin of a switching oxygen sensor that is cold or disconnected
/// \[V\]; common practice.
pub const REAR_COLD_V: f64 = 0.45;

/// One row per sensor: its name in files; the voltage at its pin with the wire open \[V\], by the module's own pull-up or
/// divider; its pin; the bank it is mounted in, where a car with fewer banks has none.
macro_rules! sensors {
    ($(
        $(#[$doc:meta])*
        $sensor:ident: $name:literal, open_v $open_v:expr, pin $pin:expr $(, bank $bank:literal)?;
    )+) => {
        /// A sensor that can be at fault itself or in its wire, is measured at its pin and can be renewed. Those of rail
        /// pressure, fuel level, road speed and the battery have pins in [`SensorFrame`] too, but are always sound and so
        /// are not among these.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Sensor {
            $($(#[$doc])* $sensor,)+
        }

        /// How many sensors there are.
        pub const SENSORS: usize = [$($name),+].len();

        impl Sensor {
            /// Every sensor with its name in files.
            pub const ALL: [(Sensor, &'static str); SENSORS] = [$((Sensor::$sensor, $name)),+];
            /// Voltage at its pin with the wire open \[V\].
            pub fn open_v(self) -> f64 {
                match self {
                    $(Sensor::$sensor => $open_v,)+
                }
            }
            /// The bank it is mounted in, for sensors that a car with fewer banks lacks.
            pub fn bank(self) -> Option<u8> {
                match self {
                    $($(Sensor::$sensor => Some($bank),)?)+
                    _ => None,
                }
            }
        }

        impl SensorFrame {
            /// Volts at a sensor's pin; the crank sensor's carries edges.
            pub fn pin_v(&self, sensor: Sensor) -> f64 {
                let pin: fn(&SensorFrame) -> f64 = match sensor {
                    $(Sensor::$sensor => $pin,)+
                };
                pin(self)
            }
        }
    };
}

// pull-ups raise the temperature sensors' pins, and the module biases the rear oxygen sensors'
sensors! {
    /// MAF sensor.
    AirMeter: "air_meter", open_v 0.0, pin |f| f.air_meter_v;
    /// Manifold pressure.
    ManifoldPressure: "manifold_pressure", open_v 0.0, pin |f| f.map_v;
    /// First track of the throttle position sensor.
    Throttle1: "throttle_1", open_v 0.0, pin |f| f.throttle_v;
    /// Second track of the throttle position sensor.
    Throttle2: "throttle_2", open_v 0.0, pin |f| f.throttle2_v;
    /// Pedal.
    Pedal: "pedal", open_v 0.0, pin |f| f.pedal_v;
    /// Coolant temperature.
    Coolant: "coolant", open_v 5.0, pin |f| f.coolant_v;
    /// Inlet air temperature.
    InletAir: "inlet_air", open_v 5.0, pin |f| f.inlet_air_v;
    /// Wide-band oxygen sensor of bank 1.
    Oxygen1: "oxygen_1", open_v 0.0, pin |f| f.lambda_v[0];
    /// Wide-band oxygen sensor of bank 2.
    Oxygen2: "oxygen_2", open_v 0.0, pin |f| f.lambda_v[1], bank 2;
    /// Crank sensor: only its wire can be faulty.
    Crank: "crank", open_v 0.0, pin |_| 0.0;
    /// Switching oxygen sensor after the catalyst of bank 1.
    RearOxygen1: "rear_oxygen_1", open_v REAR_COLD_V, pin |f| f.rear_oxygen_v[0];
    /// Switching oxygen sensor after the catalyst of bank 2.
    RearOxygen2: "rear_oxygen_2", open_v REAR_COLD_V, pin |f| f.rear_oxygen_v[1], bank 2;
    /// Pressure in the tank's vapour space.
    TankPressure: "tank_pressure", open_v 0.0, pin |f| f.tank_pressure_v;
    /// Position of the exhaust-gas-recirculation valve.
    EgrPosition: "egr_position", open_v 0.0, pin |f| f.egr_position_v;
}

impl Sensor {
    /// Index in arrays.
    pub fn index(self) -> usize {
        self as usize
    }
    /// Name in files.
    pub fn name(self) -> &'static str {
        Self::ALL[self.index()].1
    }
}

/// One falling edge of the crank sensor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ToothEdge {
    /// Captured time \[timer ticks\].
    pub tick: u64,
    /// Level of the cam sensor at that moment.
    pub cam_high: bool,
    /// Captured time of the cam sensor's own edge since the tooth before, where that is timed \[timer ticks\].
    pub cam_tick: Option<u64>,
}

/// What the module drives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ActuatorFrame {
    /// Wanted voltage of the throttle position sensor; none leaves the plate to its springs. The fast
    /// position loop is part of the output stage and lives with the motor.
    pub throttle_v: Option<f64>,
    /// The position loop uses the second track; the wanted voltage is then that track's.
    pub by_throttle2: bool,
    /// Purge valve duty, 0 to 1.
    pub purge: f64,
    /// The vent valve at the canister, open without current, is shut.
    pub vent_shut: bool,
    /// Duty of the phaser's oil control valve, 0 to 1; 0 turns the camshaft to its rest stop.
    pub cam_valve: f64,
    /// Duty of the exhaust-gas-recirculation valve's motor, −1 (shut) to 1 (open); 0 leaves it to its spring.
    pub egr: f64,
    /// Injector drive time per cylinder and cycle \[µs\]; zero is no injection.
    pub inject_us: [f64; MAX_CYLINDERS],
    /// Spark before firing top dead centre \[deg\] per cylinder; none is no spark.
    pub spark_deg: [Option<f64>; MAX_CYLINDERS],
    /// Fuel pump relay.
    pub pump: bool,
    /// Starter relay.
    pub starter: bool,
    /// Compressor clutch relay.
    pub compressor: bool,
    /// Radiator fan relay.
    pub fan: bool,
    /// Alternator set-point \[V\].
    pub charge_v: f64,
    /// Fastest rise of alternator current asked of its regulator \[A/s\].
    pub charge_rise_a_s: f64,
    /// Heater of the oxygen sensors.
    pub lambda_heater: bool,
    /// Engine warning lamp.
    pub lamp: bool,
    /// Wanted voltage of the rail pressure sensor (direct injection): the loop that fills the high-pressure
    /// pump is part of the output stage. None leaves the pump empty.
    pub rail_v: Option<f64>,
    /// The engine warning lamp blinks, once a second.
    pub lamp_blinks: bool,
    /// Charging lamp.
    pub charge_lamp: bool,
    /// Coolant temperature warning lamp.
    pub hot_lamp: bool,
}

impl Default for ActuatorFrame {
    /// A module without power: nothing driven.
    fn default() -> Self {
        Self {
            throttle_v: None,
            by_throttle2: false,
            purge: 0.0,
            vent_shut: false,
            cam_valve: 0.0,
            egr: 0.0,
            inject_us: [0.0; MAX_CYLINDERS],
            spark_deg: [None; MAX_CYLINDERS],
            pump: false,
            starter: false,
            compressor: false,
            fan: false,
            charge_v: 0.0,
            charge_rise_a_s: 0.0,
            lambda_heater: false,
            lamp: false,
            rail_v: None,
            lamp_blinks: false,
            charge_lamp: false,
            hot_lamp: false,
        }
    }
}
