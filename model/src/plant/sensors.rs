//! The only output of the plant: true values to pin volts.
//!
//! **Models** each sensor with its own curve, a lag where it matters, noise per sample, and an open
//! circuit when its plug is pulled. Every pin stands once in `Plant::sample`, with the true value that its sensor
//! measures.
//!
//! **Leaves out** faults between sensor and pin: see `wires`; fuel that sloshes in the tank.
//!
//! **State** ([`State`]): lagged values, one random stream per sensor.
//!
//! **Parameters** ([`Params`]): curves of the real sensors. The module has its own copies; the two may differ on
//! purpose.
//!
//! **Checked by** `same_pins…` in `tests/guards/determinism.rs`, `tests/model/oxygen_sensor.rs`, every learning test.

use super::hands::Plugs;
use super::slow::Now;
use super::{Plant, catalyst, exhaust};
use crate::num::{self, Stream, Table};
use crate::signals::{ActuatorFrame, MAX_BANKS, REAR_COLD_V, Sensor, SensorFrame, Stages, TICKS_PER_S};
use crate::units::{ParamError, between, celsius};
use serde::{Deserialize, Serialize};

/// The `[sensors]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// MAF sensor \[V\] over flow \[g/s\]; without it the car has none.
    #[serde(default)]
    pub air_meter_v: Option<Table>,
    /// Lag of the MAF sensor \[s\].
    #[serde(default)]
    pub air_meter_lag_s: f64,
    /// Noise of the MAF sensor, relative \[-\].
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
    /// Switching sensor after the catalyst \[V\] over lambda.
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
        let always_sound =
            [("battery_temp_v", Some(&self.battery_temp_v)), ("fuel_level_v", Some(&self.fuel_level_v))];
        let curves = Sensor::ALL.iter().filter_map(|(sensor, _)| self.curve(*sensor));
        for (key, curve) in curves.chain(always_sound) {
            for p in curve.map_or(&[][..], Table::points) {
                between(s, key, p[1], 0.0, 5.0)?;
            }
        }
        between(s, "egr_position_noise_v", self.egr_position_noise_v, 0.0, 0.1)?;
        between(s, "tank_pressure_noise_v", self.tank_pressure_noise_v, 0.0, 0.1)?;
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
    /// Curve of a sensor by its key; of a sensor that not every car has, none where this one lacks it. The throttle's
    /// tracks answer by a slope and the crank sensor by edges.
    fn curve(&self, sensor: Sensor) -> Option<(&'static str, Option<&Table>)> {
        match sensor {
            Sensor::AirMeter => Some(("air_meter_v", self.air_meter_v.as_ref())),
            Sensor::ManifoldPressure => Some(("map_v", Some(&self.map_v))),
            Sensor::Pedal => Some(("pedal_v", Some(&self.pedal_v))),
            Sensor::Coolant => Some(("coolant_v", Some(&self.coolant_v))),
            Sensor::InletAir => Some(("inlet_air_v", Some(&self.inlet_air_v))),
            Sensor::Oxygen1 | Sensor::Oxygen2 => Some(("lambda_v", Some(&self.lambda_v))),
            Sensor::RearOxygen1 | Sensor::RearOxygen2 => Some(("rear_oxygen_v", Some(&self.rear_oxygen_v))),
            Sensor::TankPressure => Some(("tank_pressure_v", self.tank_pressure_v.as_ref())),
            Sensor::EgrPosition => Some(("egr_position_v", self.egr_position_v.as_ref())),
            Sensor::Throttle1 | Sensor::Throttle2 | Sensor::Crank => None,
        }
    }
    /// Whether a sensor is on the car: the file gives its curve, if it has one.
    pub fn has(&self, sensor: Sensor) -> bool {
        self.curve(sensor).is_none_or(|(_, curve)| curve.is_some())
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
    /// MAF sensor's own reading of flow \[g/s\].
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
    /// Volts of the wide-band sensors in the banks' pipes; 0 until they are hot.
    fn lambda_v(&mut self, p: &Params, banks: &[exhaust::Bank], dt_s: f64) -> [f64; MAX_BANKS] {
        let mut truth = [10.0; MAX_BANKS];
        for (l, b) in truth.iter_mut().zip(banks) {
            *l = p.seen_lambda(b.lambda, b.raw);
        }
        let lag = num::lag_share(dt_s, p.lambda_lag_s);
        let mut lambda = [0.0; MAX_BANKS];
        for ((seen, truth), (noise, v)) in
            self.lambda.iter_mut().zip(truth).zip(self.lambda_noise.iter_mut().zip(&mut lambda))
        {
            *seen += (truth - *seen) * lag;
            let volts = p.lambda_v.at(*seen) + p.lambda_noise_v * noise.jitter();
            *v = if self.heated_s >= p.lambda_ready_s { volts } else { 0.0 };
        }
        lambda
    }
    /// Volts of the switching sensors after the catalysts.
    fn rear_v(&mut self, p: &Params, banks: &[catalyst::Bank], dt_s: f64) -> [f64; MAX_BANKS] {
        let mut truth = [10.0; MAX_BANKS];
        for (l, b) in truth.iter_mut().zip(banks) {
            *l = b.lambda - b.hydrogen;
        }
        let lag = num::lag_share(dt_s, p.rear_oxygen_lag_s);
        let ready = self.heated_s >= p.rear_oxygen_ready_s;
        for (v, truth) in self.rear_v.iter_mut().zip(truth) {
            let settles_v = if ready { p.rear_oxygen_v.at(truth) } else { REAR_COLD_V };
            *v += (settles_v - *v) * lag;
        }
        self.rear_v
    }
    /// Air that the meter tells \[g/s\] of a flow times its gain.
    fn told_g_s(&mut self, p: &Params, air_g_s: f64, dt_s: f64) -> f64 {
        self.air_g_s += (air_g_s.max(0.0) - self.air_g_s) * num::lag_share(dt_s, p.air_meter_lag_s);
        self.air_g_s * (1.0 + p.air_meter_noise * self.air_noise.jitter())
    }
}

/// Volts of a sensor that not every car has: its curve at the true value, and noise \[V\] from its stream.
fn noisy_v(curve: Option<&Table>, truth: f64, (noise_v, stream): (f64, &mut Stream)) -> f64 {
    curve.map_or(0.0, |curve| curve.at(truth) + noise_v * stream.jitter())
}

impl Plant {
    /// The last stage of the slow part and the plant's only output: what every pin carries.
    pub(super) fn sample(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p: params, s, .. } = self;
        let (p, h, own) = (&params.sensors, &s.hands, &mut s.sensors);
        let (plugs, ills, wires) = (&h.plugs, &h.ills, &mut s.wires);
        // what a wire that can be faulty makes of its sensor's volts
        let mut pin = |sensor: Sensor, is_in: bool, volts: f64| {
            wires.pass(sensor, &ills[sensor.index()], is_in, volts, dt)
        };
        let heater = drive.lambda_heater && now.powered;
        own.heated_s = if heater { (own.heated_s + dt).min(1e4) } else { (own.heated_s - dt).max(0.0) };
        let lambda_v = own.lambda_v(p, &s.exhaust.banks, dt);
        let rear_v = own.rear_v(p, &s.catalysts.banks, dt);
        let air_g_s = now.metered_kg_s * 1e3;
        let told_g_s = own.told_g_s(p, air_g_s * s.parts.air_meter.tells(air_g_s), dt);
        // without a meter nothing is wired to its pin
        let metered = plugs.air_meter && p.air_meter_v.is_some();
        let plate_deg = s.air.opening_deg + now.stop_deg;
        let field_duty = if plugs.alternator { s.electrical.duty } else { 0.0 };
        s.frame = SensorFrame {
            tick: num::whole(s.time_s * TICKS_PER_S),
            supply_v: s.electrical.supply_v,
            key_on: h.key_on && now.powered,
            key_crank: h.key_crank && now.powered,
            air_meter_v: {
                let volts = p.air_meter_v.as_ref().map_or(0.0, |curve| curve.at(told_g_s));
                pin(Sensor::AirMeter, metered, volts)
            },
            map_v: {
                let volts = p.map_v.at(s.air.manifold_pa * 1e-3) + p.map_noise_v * own.map_noise.jitter();
                pin(Sensor::ManifoldPressure, plugs.map, volts)
            },
            throttle_v: {
                let noise_v = p.throttle_noise_v + WORN_NOISE_V * s.parts.throttle.track_wear;
                let volts = p.throttle_closed_v
                    + p.throttle_v_deg * plate_deg
                    + now.worn_v
                    + noise_v * own.throttle_noise.jitter();
                pin(Sensor::Throttle1, plugs.throttle, volts)
            },
            throttle2_v: {
                let volts = 5.0
                    - p.throttle_closed_v
                    - p.throttle_v_deg * plate_deg
                    - p.throttle_noise_v * own.throttle2_noise.jitter();
                pin(Sensor::Throttle2, plugs.throttle, volts)
            },
            pedal_v: pin(Sensor::Pedal, plugs.pedal, p.pedal_v.at(h.pedal_pct)),
            coolant_v: pin(Sensor::Coolant, plugs.coolant, p.coolant_v.at(now.coolant_c)),
            inlet_air_v: pin(Sensor::InletAir, plugs.air_meter, p.inlet_air_v.at(celsius(now.inlet_k))),
            lambda_v: std::array::from_fn(|b| {
                pin([Sensor::Oxygen1, Sensor::Oxygen2][b], plugs.lambda[b], lambda_v[b])
            }),
            rear_oxygen_v: std::array::from_fn(|b| {
                pin([Sensor::RearOxygen1, Sensor::RearOxygen2][b], plugs.rear[b], rear_v[b])
            }),
            brake: h.brake_pct > 0.0,
            compressor_request: h.compressor,
            heated_glass: h.heated_glass && h.key_on,
            lamps: h.lamps,
            neutral: !h.drive,
            wheel_hz: p.wheel_pulses_m * s.road.wheels_m_s(),
            field_duty,
            rail_v: params.fuel.direct.as_ref().map_or(0.0, |d| {
                d.rail_v.at(s.fuel.high_pa * 1e-3) + d.rail_noise_v * own.rail_noise.jitter()
            }),
            battery_sense_v: 2.5
                + p.battery_sense_v_a * s.electrical.sensed_a
                + p.battery_sense_noise_v * own.battery_noise.jitter(),
            battery_temp_v: p.battery_temp_v.at(celsius(s.parts.battery.acid_k)),
            fuel_level_v: p.fuel_level_v.at(s.fuel.full_pct(&params.fuel) + s.parts.level_sensor.offset_pct),
            tank_pressure_v: {
                let noise = (p.tank_pressure_noise_v, &mut own.tank_noise);
                let volts = noisy_v(p.tank_pressure_v.as_ref(), s.vapour.gauge_pa * 1e-3, noise);
                pin(Sensor::TankPressure, true, volts)
            },
            egr_position_v: {
                let noise = (p.egr_position_noise_v, &mut own.egr_noise);
                let mm = s.egr.lift_mm + s.parts.egr_valve.stop_mm;
                pin(Sensor::EgrPosition, plugs.egr_valve, noisy_v(p.egr_position_v.as_ref(), mm, noise))
            },
            stages: stages(plugs, s.electrical.supply_v, drive.lambda_heater, field_duty),
        };
        s.crank_wire_broken = s.wires.broken(Sensor::Crank, &ills[Sensor::Crank.index()], dt);
    }
}

/// What the module's output stages see at their pins. Values of heaters and of the regulator's line by common
/// practice.
fn stages(plugs: &Plugs, supply_v: f64, heater: bool, field_duty: f64) -> Stages {
    /// Voltage at the pin of a stage with nothing connected \[V\].
    const BIAS_V: f64 = 2.5;
    /// Heater of an oxygen sensor, hot \[Ω\].
    const HEATER_OHM: f64 = 12.0;
    let pin = |is_in: bool| if is_in { supply_v } else { BIAS_V.min(supply_v) };
    Stages {
        injector_v: plugs.injectors.map(pin),
        coil_v: plugs.coils.map(pin),
        purge_v: pin(plugs.purge_valve),
        cam_valve_v: pin(plugs.cam_valve),
        egr_valve_v: pin(plugs.egr_valve),
        fan_v: pin(plugs.fan),
        rear_heater_a: plugs.rear.map(|is_in| if is_in && heater { supply_v / HEATER_OHM } else { 0.0 }),
        // the regulator pulls it down for as long as the field has current, and a little at rest
        generator_v: if plugs.alternator { 4.0 - 3.0 * field_duty.clamp(0.0, 1.0) } else { 5.0 },
    }
}
