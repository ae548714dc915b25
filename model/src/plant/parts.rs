//! Part identity: kind, serial, maker's spread, wear; fitting one.
//!
//! **Models** what differs between two parts of the same kind: draws by serial (cut at two standard
//! deviations) and wear that grows with use. The module is not informed of either.
//!
//! **Leaves out** what a part does: models take effective values and never ask for a serial.
//!
//! **Parameters** ([`Spread`]): standard deviations. The same serial is the same part in every run and
//! under every seed.
//!
//! **Checked by** `same_serial_same_part` in `tests/guards/determinism.rs`.

use crate::label;
use crate::num::Stream;
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// Teeth present on the reluctor wheel; two more are missing.
pub const TEETH: usize = 58;

/// Maker's spread; the `[spread]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spread {
    /// Closed stop of the throttle \[deg\].
    pub stop_sigma_deg: f64,
    /// Throttle bore \[mm\].
    pub bore_sigma_mm: f64,
    /// MAF sensor gain \[-\].
    pub air_meter_sigma: f64,
    /// Injector static flow \[-\].
    pub injector_flow_sigma: f64,
    /// Injector dead time \[µs\].
    pub injector_dead_sigma_us: f64,
    /// Excess delivery of an injector in the shortest pulses \[-\], direct injection only.
    #[serde(default)]
    pub injector_short_sigma: f64,
    /// Letter of the injector type in the printed correction code; without it no code is printed.
    #[serde(default)]
    pub injector_class: Option<char>,
    /// Position of one tooth edge \[deg\].
    pub tooth_sigma_deg: f64,
    /// Eccentricity of the wheel: least and most \[mm\].
    pub runout_mm: [f64; 2],
    /// How far a crank sensor's switching point moves with its gap, least and most \[deg/mm\].
    pub sees_deg_mm: [f64; 2],
    /// The same on a bent bracket \[deg/mm\].
    pub bent_deg_mm: [f64; 2],
    /// Inertia and reciprocating mass of the real crank drive \[-\].
    pub shaft_sigma: f64,
    /// Trigger wheel of the cam sensor on its camshaft \[deg of crank\].
    #[serde(default)]
    pub cam_trigger_sigma_deg: f64,
    /// Where the position sensor of an exhaust-gas-recirculation valve sees its metal seat \[mm\].
    #[serde(default)]
    pub egr_stop_sigma_mm: f64,
    /// Level sensor in the tank \[% of the tank\].
    pub level_sigma_pct: f64,
    /// Capacity of the fuel pump \[-\].
    pub pump_sigma: f64,
    /// Pressure that the fuel regulator holds \[-\].
    pub regulator_sigma: f64,
    /// Capacity and resistance of a battery \[-\].
    pub battery_sigma: f64,
}

impl Spread {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "spread";
        between(s, "stop_sigma_deg", self.stop_sigma_deg, 0.0, 0.3)?;
        between(s, "bore_sigma_mm", self.bore_sigma_mm, 0.0, 0.3)?;
        between(s, "air_meter_sigma", self.air_meter_sigma, 0.0, 0.1)?;
        between(s, "injector_flow_sigma", self.injector_flow_sigma, 0.0, 0.2)?;
        between(s, "injector_dead_sigma_us", self.injector_dead_sigma_us, 0.0, 200.0)?;
        between(s, "injector_short_sigma", self.injector_short_sigma, 0.0, 0.3)?;
        if let Some(class) = self.injector_class
            && !label::ALPHABET.contains(class)
        {
            return Err(ParamError::new(
                s,
                "injector_class",
                ParamRule::CodeLetter { letters: label::ALPHABET.to_string() },
            ));
        }
        between(s, "tooth_sigma_deg", self.tooth_sigma_deg, 0.0, 0.3)?;
        between(s, "cam_trigger_sigma_deg", self.cam_trigger_sigma_deg, 0.0, 2.0)?;
        between(s, "egr_stop_sigma_mm", self.egr_stop_sigma_mm, 0.0, 0.15)?;
        between(s, "level_sigma_pct", self.level_sigma_pct, 0.0, 5.0)?;
        between(s, "pump_sigma", self.pump_sigma, 0.0, 0.2)?;
        between(s, "regulator_sigma", self.regulator_sigma, 0.0, 0.1)?;
        between(s, "battery_sigma", self.battery_sigma, 0.0, 0.1)?;
        between(s, "runout_mm", self.runout_mm[0], 0.0, 0.5)?;
        between(s, "runout_mm", self.runout_mm[1], self.runout_mm[0], 0.5)?;
        between(s, "sees_deg_mm", self.sees_deg_mm[0], 0.0, 5.0)?;
        between(s, "sees_deg_mm", self.sees_deg_mm[1], self.sees_deg_mm[0], 5.0)?;
        between(s, "bent_deg_mm", self.bent_deg_mm[0], 0.0, 5.0)?;
        between(s, "bent_deg_mm", self.bent_deg_mm[1], self.bent_deg_mm[0], 5.0)?;
        between(s, "shaft_sigma", self.shaft_sigma, 0.0, 0.1)
    }
}

/// A throttle body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ThrottleBody {
    /// Serial.
    pub serial: String,
    /// Offset of the closed stop from nominal \[deg\], as its sensor sees it.
    pub stop_offset_deg: f64,
    /// Deviation of the bore from nominal \[mm\].
    pub bore_offset_mm: f64,
    /// Deposit film around the bore \[µm\].
    pub deposit_um: f64,
    /// Wear of the plate's motor and gears \[0 to 1\]: the plate moves slower and sticks.
    pub motor_wear: f64,
    /// Wear of the first track of its position sensor \[0 to 1\], at the openings where the plate spends most of its
    /// life.
    pub track_wear: f64,
    /// The maker's other size of body.
    pub other_variant: bool,
}

/// A MAF sensor. Its reading deviates by its gain and by an error that is linear in the logarithm of flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AirMeter {
    /// Serial.
    pub serial: String,
    /// Reading over true flow when new \[-\].
    pub gain: f64,
    /// Error from dirt on its element, at 3 g/s \[-\].
    pub error_at_3: f64,
    /// The same at 60 g/s \[-\].
    pub error_at_60: f64,
}

/// A fuel pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pump {
    /// Serial.
    pub serial: String,
    /// Delivery over that of a good pump \[-\].
    pub share: f64,
}

/// The level sensor in the fuel tank: a float on an arm over a resistor track.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LevelSensor {
    /// Serial.
    pub serial: String,
    /// How much more it shows than there is, between the stops of its arm \[% of the tank\].
    pub offset_pct: f64,
}

/// A pressure regulator.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Regulator {
    /// Serial.
    pub serial: String,
    /// Pressure it holds over nominal \[-\].
    pub gain: f64,
}

/// A filter that can become blocked: fuel filter, air filter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Filter {
    /// Serial.
    pub serial: String,
    /// Share of its area that is blocked \[-\].
    pub blocked: f64,
}

impl Filter {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, blocked: 0.0 }
    }
    /// Loss over that of a clean one \[-\].
    pub fn loss_factor(&self) -> f64 {
        loss_factor(self.blocked)
    }
}

/// Loss over that of something clean \[-\]: a square law in the flow through what is left open.
fn loss_factor(blocked: f64) -> f64 {
    let open = (1.0 - blocked).max(0.02);
    1.0 / (open * open)
}

/// A bank's exhaust with its catalyst.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Exhaust {
    /// Serial.
    pub serial: String,
    /// Share of its area that is blocked \[-\].
    pub blocked: f64,
    /// Oxygen storage and activity of the catalyst over those of a new one \[-\].
    pub health: f64,
    /// Effective area of the leak at its flange, between the front oxygen sensor and the catalyst \[mm²\].
    pub joint_leak_mm2: f64,
}

impl Exhaust {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, blocked: 0.0, health: 1.0, joint_leak_mm2: 0.0 }
    }
    /// Loss over that of a free one \[-\].
    pub fn loss_factor(&self) -> f64 {
        loss_factor(self.blocked)
    }
}

/// The valve between vapour canister and manifold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PurgeValve {
    /// Serial.
    pub serial: String,
    /// Effective area that stays open \[mm²\].
    pub leak_mm2: f64,
}

impl PurgeValve {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, leak_mm2: 0.0 }
    }
}

/// A part of the tank's EVAP system that keeps vapour in: filler cap, vapour line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Seal {
    /// Serial.
    pub serial: String,
    /// Diameter of the round, sharp-edged hole that leaks as much \[mm\].
    pub hole_mm: f64,
}

impl Seal {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, hole_mm: 0.0 }
    }
}

/// The solenoid valve that vents the vapour canister; open without current.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct VentValve {
    /// Serial.
    pub serial: String,
    /// It no longer shuts.
    pub stays_open: bool,
    /// It no longer opens.
    pub stays_shut: bool,
}

impl VentValve {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, stays_open: false, stays_shut: false }
    }
}

/// The alternator with its regulator.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alternator {
    /// Serial.
    pub serial: String,
    /// Output over that of a good alternator \[-\].
    pub share: f64,
}

impl Alternator {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, share: 1.0 }
    }
}

/// The thermostat.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Thermostat {
    /// Serial.
    pub serial: String,
    /// Least opening \[-\]: above zero the thermostat no longer closes fully.
    pub least_open: f64,
}

impl Thermostat {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, least_open: 0.0 }
    }
}

/// A coil.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Coil {
    /// Serial.
    pub serial: String,
    /// Voltage it reaches over that of a good coil \[-\].
    pub strength: f64,
}

impl Coil {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, strength: 1.0 }
    }
}

/// A spark plug.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plug {
    /// Serial.
    pub serial: String,
    /// Gap \[mm\].
    pub gap_mm: f64,
}

impl Plug {
    /// New, from the shelf, with the gap \[mm\] that this engine's plugs are set to.
    pub fn new(serial: String, gap_mm: f64) -> Self {
        Self { serial, gap_mm }
    }
}

/// Leakage areas of one cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Seals {
    /// Effective leakage area of a closed exhaust valve \[mm²\].
    pub valves_mm2: f64,
    /// Effective leakage area past the rings, beyond that of a sound engine \[mm²\].
    pub rings_mm2: f64,
}

impl Seals {
    /// Whether anything leaks.
    #[inline]
    pub fn leak(&self) -> bool {
        self.valves_mm2 + self.rings_mm2 > 0.0
    }
}

/// An injector.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Injector {
    /// Serial.
    pub serial: String,
    /// Static flow over nominal \[-\].
    pub flow_gain: f64,
    /// Dead time over nominal \[µs\].
    pub dead_offset_us: f64,
    /// Excess delivery in the shortest pulses \[-\]; fades with pulse length.
    pub short_gain: f64,
    /// Correction code printed on its body when it was made; none on bodies without one.
    pub code: Option<String>,
    /// Share of its flow lost to deposits \[-\].
    pub clogged: f64,
    /// Leakage when closed \[mg/s\] at the rated pressure drop.
    pub drip_mg_s: f64,
}

/// A reluctor wheel with its own errors, on its flange.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wheel {
    /// Serial.
    pub serial: String,
    /// Error of each edge on the wheel itself \[deg\].
    pub tooth_deg: Vec<f64>,
    /// Eccentricity: offset of its centre from the crank's axis \[mm\].
    pub runout_mm: f64,
    /// Angle of its high point from its first tooth \[deg\]; another mounting changes it.
    pub high_deg: f64,
    /// A damaged tooth, counted from 0, and the error of its edge; 0 where none is damaged \[deg\].
    pub hit: (u8, f64),
}

/// A crank sensor on its bracket. Its switching point moves with the air gap to the tooth, so each sensor sees a
/// wheel's runout differently.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CrankSensor {
    /// Serial.
    pub serial: String,
    /// How far its switching point moves with the gap \[deg/mm\].
    pub sees_deg_mm: f64,
    /// The bracket is bent: the sensor is tilted and further from the wheel.
    pub bent: bool,
}

/// The crank drive: shaft, flywheel, rods, pistons.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shaft {
    /// Serial.
    pub serial: String,
    /// Rotating inertia over nominal \[-\].
    pub inertia_gain: f64,
    /// Reciprocating mass over nominal \[-\].
    pub reciprocating_gain: f64,
}

/// The pulley at the crank's other end, with the belt it drives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pulley {
    /// Serial.
    pub serial: String,
    /// Amplitude of the once-per-turn torque where the pulley runs out of true \[N m\].
    pub ripple_nm: f64,
}

impl Pulley {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, ripple_nm: 0.0 }
    }
}

/// The cam drive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CamDrive {
    /// Serial.
    pub serial: String,
    /// Teeth by which the cam wheel is mistimed: retarded where positive.
    pub teeth_late: i8,
    /// What its stretched chain retards the camshaft by \[deg of crank\].
    pub stretch_deg: f64,
    /// How late the cam sensor's edges come by its trigger wheel alone: the valves do not move with it \[deg of crank\].
    pub trigger_deg: f64,
}

impl CamDrive {
    /// New, put on as it should be.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let trigger_deg = by_serial("cam_drive", &serial).cut_normal(spread.cam_trigger_sigma_deg);
        Self { serial, teeth_late: 0, stretch_deg: 0.0, trigger_deg }
    }
    /// What the camshaft is retarded by \[deg of crank\], for a tooth of so many \[deg of crank\].
    pub fn late_deg(&self, tooth_deg: f64) -> f64 {
        f64::from(self.teeth_late) * tooth_deg + self.stretch_deg
    }
}

/// The phaser with its oil control valve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Phaser {
    /// Serial.
    pub serial: String,
    /// Rate over that of a good one \[-\].
    pub share: f64,
    /// It is stuck at this advance \[deg of crank\].
    pub stuck_deg: Option<f64>,
}

impl Phaser {
    /// New, from the shelf.
    pub fn new(serial: String) -> Self {
        Self { serial, share: 1.0, stuck_deg: None }
    }
}

/// The exhaust-gas-recirculation valve with its motor and its position sensor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EgrValve {
    /// Serial.
    pub serial: String,
    /// What its sensor shows with the pintle on the metal seat \[mm\].
    pub stop_mm: f64,
    /// Soot on the seat \[µm\].
    pub soot_um: f64,
    /// Force of its motor over that of a good one \[-\].
    pub motor: f64,
    /// Share of its passage that soot blocks \[-\].
    pub blocked: f64,
    /// It is stuck at this lift \[mm\].
    pub stuck_mm: Option<f64>,
}

impl EgrValve {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        // a car without one draws no random number for it
        let sigma = spread.egr_stop_sigma_mm;
        let stop_mm = if sigma > 0.0 { by_serial("egr_valve", &serial).cut_normal(sigma) } else { 0.0 };
        Self { serial, stop_mm, soot_um: 0.0, motor: 1.0, blocked: 0.0, stuck_mm: None }
    }
}

/// A serial drawn for `what` (for example `throttle_body` or `injector.cyl2`) from a run's seed.
pub fn serial_from_seed(seed: u64, what: &str) -> String {
    const ALPHABET: &[u8] = b"23456789ACDEFHJKMNPRTUWXY";
    let mut stream = Stream::new(seed, &format!("serial.{what}"));
    (0..6).map(|_| ALPHABET[(stream.uniform() * ALPHABET.len() as f64) as usize] as char).collect()
}

fn by_serial(kind: &str, serial: &str) -> Stream {
    Stream::new(0x1d1e_4a7e, &format!("part.{kind}.{serial}"))
}

impl ThrottleBody {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("throttle_body", &serial);
        let stop_offset_deg = s.cut_normal(spread.stop_sigma_deg);
        let bore_offset_mm = s.cut_normal(spread.bore_sigma_mm);
        Self {
            serial,
            stop_offset_deg,
            bore_offset_mm,
            deposit_um: 0.0,
            motor_wear: 0.0,
            track_wear: 0.0,
            other_variant: false,
        }
    }
}

impl LevelSensor {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        Self { offset_pct: by_serial("level_sensor", &serial).cut_normal(spread.level_sigma_pct), serial }
    }
}

impl Pump {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("fuel_pump", &serial);
        Self { share: 1.0 + s.cut_normal(spread.pump_sigma), serial }
    }
}

impl Regulator {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("regulator", &serial);
        Self { gain: 1.0 + s.cut_normal(spread.regulator_sigma), serial }
    }
}

impl AirMeter {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("air_meter", &serial);
        Self { gain: 1.0 + s.cut_normal(spread.air_meter_sigma), error_at_3: 0.0, error_at_60: 0.0, serial }
    }
    /// Reading over true flow \[-\], at a flow \[g/s\]; outside 0.3 to 200 g/s the end values hold.
    pub fn tells(&self, air_g_s: f64) -> f64 {
        if self.error_at_3 == self.error_at_60 {
            return self.gain * (1.0 + self.error_at_3);
        }
        let along = crate::num::ln(air_g_s.clamp(0.3, 200.0) / 3.0) / crate::num::ln(20.0);
        self.gain * (1.0 + self.error_at_3 + (self.error_at_60 - self.error_at_3) * along).max(0.05)
    }
}

impl Injector {
    /// New, from the shelf.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("injector", &serial);
        let flow_gain = 1.0 + s.cut_normal(spread.injector_flow_sigma);
        let dead_offset_us = s.cut_normal(spread.injector_dead_sigma_us);
        // an injector type without the effect draws no random number for it
        let sigma = spread.injector_short_sigma;
        let short_gain = if sigma > 0.0 { s.cut_normal(sigma) } else { 0.0 };
        let code = spread.injector_class.and_then(|class| {
            label::write(&label::Label {
                class,
                flow_pct: 100.0 * (flow_gain - 1.0),
                dead_us: dead_offset_us,
            })
        });
        Self { serial, flow_gain, dead_offset_us, short_gain, code, clogged: 0.0, drip_mg_s: 0.0 }
    }
    /// Time for which its needle is open \[µs\], driven for so long, with a nominal body's dead time \[µs\]; negative where
    /// it does not open.
    pub fn open_us(&self, drive_us: f64, dead_us: f64) -> f64 {
        drive_us - dead_us - self.dead_offset_us
    }
    /// What it delivers where a nominal body delivers `nominal`, its needle wide open; same unit.
    pub fn delivers(&self, nominal: f64) -> f64 {
        nominal * self.flow_gain * (1.0 - self.clogged)
    }
    /// What the needle's bounce makes of a delivery, by how long it was open over the time in which the bounce dies away
    /// \[-\].
    pub fn bounces(&self, long: f64, open: f64) -> f64 {
        long * (1.0 + self.short_gain * crate::num::exp(-open))
    }
    /// What drips from it when it is shut, over a time \[s\] \[mg at its rated drop\].
    pub fn drips_mg(&self, since_s: f64) -> f64 {
        self.drip_mg_s * since_s
    }
}

impl Wheel {
    /// New, mounted as it came.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("wheel", &serial);
        let runout_mm = spread.runout_mm[0] + (spread.runout_mm[1] - spread.runout_mm[0]) * s.uniform();
        let high_deg = 360.0 * s.uniform();
        let tooth_deg = (0..TEETH).map(|_| s.cut_normal(spread.tooth_sigma_deg)).collect();
        Self { serial, tooth_deg, runout_mm, high_deg, hit: (0, 0.0) }
    }
}

impl CrankSensor {
    /// New, on a straight bracket.
    pub fn new(spread: &Spread, serial: String) -> Self {
        Self::on_bracket(spread, serial, false)
    }
    /// New, on a straight or a bent bracket.
    pub fn on_bracket(spread: &Spread, serial: String, bent: bool) -> Self {
        let share = by_serial("crank_sensor", &serial).uniform();
        let [low, high] = if bent { spread.bent_deg_mm } else { spread.sees_deg_mm };
        Self { sees_deg_mm: low + (high - low) * share, bent, serial }
    }
}

/// Errors of a wheel's edges as a sensor sees them \[deg\], at a wheel radius \[mm\]. An eccentricity e shifts every
/// edge by e/r sin and changes its gap by e cos: the two are a quarter turn apart.
pub fn edges_deg(wheel: &Wheel, sensor: &CrankSensor, radius_mm: f64) -> [f64; TEETH] {
    let turned = (wheel.runout_mm / radius_mm).to_degrees();
    let seen = wheel.runout_mm * sensor.sees_deg_mm;
    std::array::from_fn(|i| {
        let from_high = 6.0 * i as f64 - wheel.high_deg;
        let hit = if usize::from(wheel.hit.0) == i { wheel.hit.1 } else { 0.0 };
        wheel.tooth_deg[i] + hit + turned * crate::num::sin_deg(from_high)
            - seen * crate::num::cos_deg(from_high)
    })
}

impl Shaft {
    /// As built.
    pub fn new(spread: &Spread, serial: String) -> Self {
        let mut s = by_serial("shaft", &serial);
        let inertia_gain = 1.0 + s.cut_normal(spread.shaft_sigma);
        let reciprocating_gain = 1.0 + s.cut_normal(spread.shaft_sigma);
        Self { serial, inertia_gain, reciprocating_gain }
    }
}
