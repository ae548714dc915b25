//! The only output of the plant: true values to pin volts.
//!
//! **Models** each sensor with its own curve, a lag where it matters, noise per sample, and an open
//! circuit when its plug is pulled.
//!
//! **Leaves out** faults between sensor and pin: see `wires`; fuel that sloshes in the tank.
//!
//! **State** ([`State`]): lagged values, one random stream per sensor.
//!
//! **Parameters** ([`Params`]): curves of the real sensors. The module has its own copies; the two may differ on
//! purpose.
//!
//! **Checked by** `same_pins…` in `tests/guards/determinism.rs`, `tests/model/oxygen_sensor.rs`, every learning test.

use crate::num::{self, Stream, Table};
use crate::plant::fuel::Direct;
use crate::plant::hands::Plugs;
use crate::signals::{MAX_BANKS, REAR_COLD_V, Sensor, SensorFrame};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[sensors]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Air meter \[V\] over flow \[g/s\]; without it the car has none.
    #[serde(default)]
    pub air_meter_v: Option<Table>,
    /// Lag of the air meter \[s\].
    #[serde(default)]
    pub air_meter_lag_s: f64,
    /// Noise of the air meter, relative \[-\].
    #[serde(default)]
    pub air_meter_noise: f64,
    /// Manifold pressure sensor \[V\] over \[kPa\].
    pub map_v: Table,
    /// Its noise \[V\].
    pub map_noise_v: f64,
    /// Throttle sensor at a nominal closed stop \[V\].
    pub throttle_closed_v: f64,
    /// Throttle sensor slope \[V/deg\]; the second track falls by as much from 5 V.
    pub throttle_v_deg: f64,
    /// Error of a worn-out first track at the openings where the plate spends most of its life \[V\].
    pub track_worn_v: f64,
    /// Its noise \[V\].
    pub throttle_noise_v: f64,
    /// Pedal sensor \[V\] over travel \[%\].
    pub pedal_v: Table,
    /// Coolant sensor \[V\] over \[°C\].
    pub coolant_v: Table,
    /// Inlet air sensor \[V\] over \[°C\].
    pub inlet_air_v: Table,
    /// Wide-band amplifier \[V\] over lambda.
    pub lambda_v: Table,
    /// Wide-band lag \[s\].
    pub lambda_lag_s: f64,
    /// Raw fuel that its electrode burns with the oxygen present, over all fuel that the oxygen in the gas's air
    /// could have burned \[-\]. Raw fuel in excess of this passes unburned, and its oxygen reads as lean.
    pub lambda_burns: f64,
    /// Time its heater needs \[s\].
    pub lambda_ready_s: f64,
    /// Its noise \[V\].
    pub lambda_noise_v: f64,
    /// Switching sensor behind the catalyst \[V\] over lambda.
    pub rear_oxygen_v: Table,
    /// Its lag \[s\].
    pub rear_oxygen_lag_s: f64,
    /// Time its heater needs \[s\].
    pub rear_oxygen_ready_s: f64,
    /// Wheel pulses per metre.
    pub wheel_pulses_m: f64,
    /// Battery current sensor: 2.5 V at no current, slope \[V/A\] and noise \[V\].
    pub battery_sense_v_a: f64,
    /// Its noise \[V\].
    pub battery_sense_noise_v: f64,
    /// Temperature sensor at the battery's post \[V\] over \[°C\].
    pub battery_temp_v: Table,
    /// Level sensor in the tank \[V\] over \[%\].
    pub fuel_level_v: Table,
    /// Pressure sensor of the tank's vapour space \[V\] over \[kPa\] above ambient; without it the car has none.
    #[serde(default)]
    pub tank_pressure_v: Option<Table>,
    /// Its noise \[V\].
    #[serde(default)]
    pub tank_pressure_noise_v: f64,
    /// Position sensor of the exhaust-gas-recirculation valve \[V\] over \[mm\]; without it the car has none.
    #[serde(default)]
    pub egr_position_v: Option<Table>,
    /// Its noise \[V\].
    #[serde(default)]
    pub egr_position_noise_v: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "sensors";
        for p in self.air_meter_v.iter().flat_map(Table::points) {
            between(s, "air_meter_v", p[1], 0.0, 5.0)?;
        }
        for p in self.tank_pressure_v.iter().flat_map(Table::points) {
            between(s, "tank_pressure_v", p[1], 0.0, 5.0)?;
        }
        for p in self.egr_position_v.iter().flat_map(Table::points) {
            between(s, "egr_position_v", p[1], 0.0, 5.0)?;
        }
        between(s, "egr_position_noise_v", self.egr_position_noise_v, 0.0, 0.1)?;
        between(s, "tank_pressure_noise_v", self.tank_pressure_noise_v, 0.0, 0.1)?;
        for (key, table) in [
            ("map_v", &self.map_v),
            ("pedal_v", &self.pedal_v),
            ("coolant_v", &self.coolant_v),
            ("inlet_air_v", &self.inlet_air_v),
            ("lambda_v", &self.lambda_v),
            ("rear_oxygen_v", &self.rear_oxygen_v),
            ("battery_temp_v", &self.battery_temp_v),
            ("fuel_level_v", &self.fuel_level_v),
        ] {
            for p in table.points() {
                between(s, key, p[1], 0.0, 5.0)?;
            }
        }
        between(s, "air_meter_lag_s", self.air_meter_lag_s, 0.0, 1.0)?;
        between(s, "air_meter_noise", self.air_meter_noise, 0.0, 0.1)?;
        between(s, "map_noise_v", self.map_noise_v, 0.0, 0.2)?;
        between(s, "throttle_closed_v", self.throttle_closed_v, 0.2, 2.0)?;
        between(s, "throttle_v_deg", self.throttle_v_deg, 0.01, 0.2)?;
        between(s, "track_worn_v", self.track_worn_v, -1.0, 1.0)?;
        between(s, "throttle_noise_v", self.throttle_noise_v, 0.0, 0.05)?;
        between(s, "lambda_lag_s", self.lambda_lag_s, 0.0, 2.0)?;
        between(s, "lambda_burns", self.lambda_burns, 0.0, 1.0)?;
        between(s, "lambda_ready_s", self.lambda_ready_s, 0.0, 120.0)?;
        between(s, "lambda_noise_v", self.lambda_noise_v, 0.0, 0.2)?;
        between(s, "rear_oxygen_lag_s", self.rear_oxygen_lag_s, 0.0, 2.0)?;
        between(s, "rear_oxygen_ready_s", self.rear_oxygen_ready_s, 0.0, 120.0)?;
        between(s, "battery_sense_v_a", self.battery_sense_v_a, 1e-4, 0.1)?;
        between(s, "battery_sense_noise_v", self.battery_sense_noise_v, 0.0, 0.01)?;
        between(s, "wheel_pulses_m", self.wheel_pulses_m, 0.1, 200.0)
    }
    /// Lambda that a wide-band sensor reads in a gas, from the gas's lambda, burned or not, and its raw fuel over the
    /// fuel that its air could burn.
    pub fn seen_lambda(&self, lambda: f64, raw: f64) -> f64 {
        let passes = raw - self.lambda_burns;
        if passes <= 0.0 { lambda } else { 1.0 / (1.0 / lambda - passes).max(0.1) }
    }
    /// Error of a first track with a given wear \[-\] at an opening \[deg\], in V.
    pub fn track_wear_v(&self, wear: f64, opening_deg: f64) -> f64 {
        if wear <= 0.0 { 0.0 } else { self.track_worn_v * wear * num::exp(-opening_deg / WORN_DEG) }
    }
}

/// Angle over which track wear fades from the idle position, where most wear occurs \[deg\]; assumed.
const WORN_DEG: f64 = 8.0;
/// Noise of a worn-out track where it is worn \[V\]; assumed.
const WORN_NOISE_V: f64 = 0.02;

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Air meter's own reading of flow \[g/s\].
    air_g_s: f64,
    lambda: [f64; MAX_BANKS],
    rear_v: [f64; MAX_BANKS],
    heated_s: f64,
    air_noise: Stream,
    map_noise: Stream,
    throttle_noise: Stream,
    throttle2_noise: Stream,
    lambda_noise: [Stream; MAX_BANKS],
    rail_noise: Stream,
    battery_noise: Stream,
    tank_noise: Stream,
    egr_noise: Stream,
}

/// True values at the sensors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// Flow through the meter times the meter's gain \[g/s\].
    pub air_g_s: f64,
    /// High-pressure rail over ambient \[kPa\].
    pub rail_kpa: f64,
    /// How full the tank is, with the sensor's own offset \[%\]; the ends of the curve are the stops of its arm.
    pub tank_pct: f64,
    /// Pressure over the fuel in the tank, above ambient \[kPa\].
    pub tank_kpa: f64,
    /// Manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Pintle of the exhaust-gas-recirculation valve with the sensor's own offset \[mm\].
    pub egr_mm: f64,
    /// Plate above its stop with the stop's own offset \[deg\].
    pub plate_deg: f64,
    /// Error of the first throttle track from wear at this opening \[V\].
    pub worn_v: f64,
    /// Wear of the first throttle track \[-\].
    pub track_wear: f64,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Inlet air \[°C\].
    pub inlet_c: f64,
    /// Lambda that the wide-band sensors read in the gas.
    pub lambda: [f64; MAX_BANKS],
    /// Lambda behind the catalysts.
    pub rear_lambda: [f64; MAX_BANKS],
    /// Heater of the oxygen sensors driven.
    pub heater: bool,
    /// Speed of the driven wheels at the tread \[m/s\].
    pub road_m_s: f64,
    /// Current in the battery's earth lead \[A\].
    pub battery_a: f64,
    /// Battery \[°C\].
    pub battery_c: f64,
}

/// Volts of every analogue sensor.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Volts {
    /// Air meter.
    pub air_meter: f64,
    /// Manifold pressure.
    pub map: f64,
    /// Rail pressure, direct injection only.
    pub rail: f64,
    /// Throttle.
    pub throttle: f64,
    /// Throttle, second track.
    pub throttle2: f64,
    /// Pedal.
    pub pedal: f64,
    /// Coolant.
    pub coolant: f64,
    /// Inlet air.
    pub inlet_air: f64,
    /// Wide-band.
    pub lambda: [f64; MAX_BANKS],
    /// Behind the catalysts.
    pub rear_oxygen: [f64; MAX_BANKS],
    /// Wheel pulses per second.
    pub wheel_hz: f64,
    /// Current at the battery's earth lead.
    pub battery_sense: f64,
    /// Temperature at the battery's post.
    pub battery_temp: f64,
    /// Level in the tank.
    pub fuel_level: f64,
    /// Pressure in the tank.
    pub tank_pressure: f64,
    /// Position of the exhaust-gas-recirculation valve.
    pub egr_position: f64,
}

impl Volts {
    /// Puts the volts onto the harness: a wire that can be faulty carries what `pin` returns for the sensor, whether
    /// its plug is in, and its volts.
    #[inline]
    pub fn onto(
        &self,
        f: &mut SensorFrame,
        plugs: &Plugs,
        metered: bool,
        mut pin: impl FnMut(Sensor, bool, f64) -> f64,
    ) {
        f.air_meter_v = pin(Sensor::AirMeter, metered, self.air_meter);
        f.map_v = pin(Sensor::ManifoldPressure, plugs.map, self.map);
        f.throttle_v = pin(Sensor::Throttle1, plugs.throttle, self.throttle);
        f.throttle2_v = pin(Sensor::Throttle2, plugs.throttle, self.throttle2);
        f.pedal_v = pin(Sensor::Pedal, plugs.pedal, self.pedal);
        f.coolant_v = pin(Sensor::Coolant, plugs.coolant, self.coolant);
        f.inlet_air_v = pin(Sensor::InletAir, plugs.air_meter, self.inlet_air);
        for (b, out) in f.lambda_v.iter_mut().enumerate() {
            *out = pin([Sensor::Oxygen1, Sensor::Oxygen2][b], plugs.lambda[b], self.lambda[b]);
        }
        for (b, out) in f.rear_oxygen_v.iter_mut().enumerate() {
            *out = pin([Sensor::RearOxygen1, Sensor::RearOxygen2][b], plugs.rear[b], self.rear_oxygen[b]);
        }
        (f.wheel_hz, f.rail_v) = (self.wheel_hz, self.rail);
        (f.battery_sense_v, f.battery_temp_v) = (self.battery_sense, self.battery_temp);
        f.fuel_level_v = self.fuel_level;
        f.tank_pressure_v = pin(Sensor::TankPressure, true, self.tank_pressure);
        f.egr_position_v = pin(Sensor::EgrPosition, plugs.egr_valve, self.egr_position);
    }
}

impl State {
    /// Cold and at rest.
    pub fn at_rest(seed: u64) -> Self {
        Self {
            air_g_s: 0.0,
            lambda: [10.0; MAX_BANKS],
            rear_v: [REAR_COLD_V; MAX_BANKS],
            heated_s: 0.0,
            air_noise: Stream::new(seed, "sensor.air_meter"),
            map_noise: Stream::new(seed, "sensor.map"),
            throttle_noise: Stream::new(seed, "sensor.throttle"),
            throttle2_noise: Stream::new(seed, "sensor.throttle2"),
            lambda_noise: [Stream::new(seed, "sensor.lambda1"), Stream::new(seed, "sensor.lambda2")],
            rail_noise: Stream::new(seed, "sensor.rail"),
            battery_noise: Stream::new(seed, "sensor.battery"),
            tank_noise: Stream::new(seed, "sensor.tank_pressure"),
            egr_noise: Stream::new(seed, "sensor.egr_position"),
        }
    }
    /// One sample, every 10 ms.
    pub fn sample(&mut self, p: &Params, direct: Option<&Direct>, t: &Truth, dt_s: f64) -> Volts {
        self.air_g_s += (t.air_g_s.max(0.0) - self.air_g_s) * num::kept_lag_share(dt_s, p.air_meter_lag_s);
        let told = self.air_g_s * (1.0 + p.air_meter_noise * self.air_noise.jitter());
        self.heated_s =
            if t.heater { (self.heated_s + dt_s).min(1e4) } else { (self.heated_s - dt_s).max(0.0) };
        let lag = num::kept_lag_share(dt_s, p.lambda_lag_s);
        let mut lambda = [0.0; MAX_BANKS];
        for ((seen, truth), (noise, v)) in
            self.lambda.iter_mut().zip(t.lambda).zip(self.lambda_noise.iter_mut().zip(&mut lambda))
        {
            *seen += (truth - *seen) * lag;
            let volts = p.lambda_v.at(*seen) + p.lambda_noise_v * noise.jitter();
            *v = if self.heated_s >= p.lambda_ready_s { volts } else { 0.0 };
        }
        let rear_lag = num::kept_lag_share(dt_s, p.rear_oxygen_lag_s);
        let rear_ready = self.heated_s >= p.rear_oxygen_ready_s;
        for (v, truth) in self.rear_v.iter_mut().zip(t.rear_lambda) {
            let settles_v = if rear_ready { p.rear_oxygen_v.at(truth) } else { REAR_COLD_V };
            *v += (settles_v - *v) * rear_lag;
        }
        Volts {
            air_meter: p.air_meter_v.as_ref().map_or(0.0, |curve| curve.at(told)),
            rail: direct.map_or(0.0, |d| d.rail_v.at(t.rail_kpa) + d.rail_noise_v * self.rail_noise.jitter()),
            map: p.map_v.at(t.map_kpa) + p.map_noise_v * self.map_noise.jitter(),
            throttle: p.throttle_closed_v
                + p.throttle_v_deg * t.plate_deg
                + t.worn_v
                + (p.throttle_noise_v + WORN_NOISE_V * t.track_wear) * self.throttle_noise.jitter(),
            throttle2: 5.0
                - p.throttle_closed_v
                - p.throttle_v_deg * t.plate_deg
                - p.throttle_noise_v * self.throttle2_noise.jitter(),
            pedal: p.pedal_v.at(t.pedal_pct),
            coolant: p.coolant_v.at(t.coolant_c),
            inlet_air: p.inlet_air_v.at(t.inlet_c),
            lambda,
            rear_oxygen: self.rear_v,
            wheel_hz: p.wheel_pulses_m * t.road_m_s,
            battery_sense: 2.5
                + p.battery_sense_v_a * t.battery_a
                + p.battery_sense_noise_v * self.battery_noise.jitter(),
            battery_temp: p.battery_temp_v.at(t.battery_c),
            fuel_level: p.fuel_level_v.at(t.tank_pct),
            tank_pressure: p.tank_pressure_v.as_ref().map_or(0.0, |curve| {
                curve.at(t.tank_kpa) + p.tank_pressure_noise_v * self.tank_noise.jitter()
            }),
            egr_position: p
                .egr_position_v
                .as_ref()
                .map_or(0.0, |curve| curve.at(t.egr_mm) + p.egr_position_noise_v * self.egr_noise.jitter()),
        }
    }
}
