//! Inputs: converts pins to engineering values through the module's nominal curves, and teeth to speed and position.
//!
//! *Inside*: air from pressure, speed and the nominal breathing tables where the car has no MAF sensor; the module's
//! copies of the sensors' curves, substitute values for open wires, gap detection and tooth counting, segment times.
//! *Outside*: what is done with the values.
//!
//! The curves here deliberately duplicate those of the real sensors: the difference between the two is what the
//! module does not know.
//!
//! **State** ([`State`]): conditioned values, tooth counter, segment times.
//!
//! **Valid** for a 60−2 wheel and engines that fire evenly.
//!
//! **Checked by** `exact_decoding…` in `tests/module/learning.rs`, `tests/module/crank_signal.rs`.

use crate::num::{Table, lag_share};
use crate::signals::{MAX_BANKS, SensorFrame, Stages, TICKS_PER_S, ToothEdge};
use crate::units::{ParamError, ParamRule, R_AIR, between, kelvin};
use serde::{Deserialize, Serialize};

/// Teeth on the wheel; two more are missing.
const TEETH: u32 = 58;
/// Pins monitored for open or shorted wires, with the voltage range of a sound wire \[V\].
pub const PINS: [(Pin, f64, f64); 9] = [
    (Pin::AirMeter, 0.2, 4.9),
    (Pin::ManifoldPressure, 0.2, 4.9),
    (Pin::Throttle1, 0.2, 4.85),
    (Pin::Throttle2, 0.15, 4.8),
    (Pin::Pedal, 0.3, 4.8),
    (Pin::Coolant, 0.05, 4.9),
    (Pin::InletAir, 0.05, 4.9),
    (Pin::Oxygen1, 0.2, 4.95),
    (Pin::Oxygen2, 0.2, 4.95),
];

/// A monitored pin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pin {
    /// MAF sensor.
    AirMeter,
    /// Manifold pressure.
    ManifoldPressure,
    /// Throttle, first track.
    Throttle1,
    /// Throttle, second track.
    Throttle2,
    /// Pedal.
    Pedal,
    /// Coolant.
    Coolant,
    /// Inlet air.
    InletAir,
    /// Wide-band sensor of bank 1.
    Oxygen1,
    /// Wide-band sensor of bank 2.
    Oxygen2,
}

/// State of a pin, judged by its voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PinState {
    /// Within the range of a sound wire.
    #[default]
    Sound,
    /// Below the range.
    Low,
    /// Above the range.
    High,
}

/// Tooth period, at 300 rpm, below which the engine is running under its own power \[ticks\]: an irregular tooth is
/// then the signal's fault. Above it, compression or a stop makes teeth irregular.
const TURNS_ITSELF_TICKS: u64 = 33_000;
/// While cranking, crankshaft speed fluctuates from one compression to the next, and a tooth may last twice as long
/// as the one before it. A period then counts as the gap if its square exceeds the product of the periods on both
/// sides of it by this factor: a steady rise or fall of speed cancels out of that product, and the gap gives a factor
/// of 9.
const CRANKING_STANDS_OUT: f64 = 5.0;
/// Where the tooth count says that the gap is due, the gap may be shorter while cranking, down to this ratio to the
/// period before it.
const CRANKING_DUE: f64 = 1.2;
/// Nominally the cam signal changes level at a piston's top dead centre. If after a gap it changes further from there
/// than this number of teeth, the gap was a crankshaft that almost stopped on compression: with a cam drive fitted
/// two of its teeth out, the change is six teeth away.
const CAM_AWAY_TEETH: i32 = 8;
/// Ambient pressure for which the module's nominal tables hold \[kPa\]: the standard atmosphere at sea level
/// (US Standard Atmosphere 1976).
pub const BOOK_AMBIENT_KPA: f64 = 101.325;
/// Engine speed below which the starter is turning the engine \[rpm\].
const CRANKING_RPM: f64 = 350.0;
/// Number of segments after which the manifold has been pumped down, some tens of revolutions.
const EMPTIED: u64 = 60;
/// Ticks without an edge after which the engine counts as stopped.
const STALL_TICKS: u64 = 3_000_000;

/// The `[module.inputs]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// MAF sensor \[V\] over \[g/s\]; without it the module knows that there is none and computes air from pressure,
    /// speed and its nominal breathing tables (speed-density).
    #[serde(default)]
    pub air_meter_v: Option<Table>,
    /// Rail pressure sensor \[V\] over \[kPa\], direct injection only.
    #[serde(default)]
    pub rail_v: Option<Table>,
    /// Manifold pressure sensor \[V\] over \[kPa\].
    pub map_v: Table,
    /// Throttle sensor voltage at the nominal closed stop \[V\].
    pub throttle_closed_v: f64,
    /// Angle assigned to the nominal closed stop \[deg\].
    pub throttle_closed_deg: f64,
    /// Throttle sensor slope \[V/deg\].
    pub throttle_v_deg: f64,
    /// Pedal sensor \[V\] over travel \[%\].
    pub pedal_v: Table,
    /// Coolant sensor \[V\] over \[°C\].
    pub coolant_v: Table,
    /// Inlet air sensor \[V\] over \[°C\].
    pub inlet_air_v: Table,
    /// Wide-band amplifier \[V\] over lambda.
    pub lambda_v: Table,
    /// Angle of the first tooth after the gap before firing top dead centre of cylinder 1 \[deg\].
    pub first_tooth_btdc_deg: f64,
    /// Angle of the segment boundary before firing top dead centre \[deg\].
    pub segment_btdc_deg: f64,
    /// Level sensor in the tank \[V\] over \[%\].
    pub fuel_level_v: Table,
    /// Substitute coolant temperature while its sensor is open or shorted \[°C\].
    pub coolant_substitute_c: f64,
    /// Relative deviation of a tooth's period from its neighbours' mean, turn after turn, that is implausible \[-\].
    pub tooth_off: f64,
    /// Wheel pulses per metre.
    pub wheel_pulses_m: f64,
    /// Nominal air of one cylinder against pressure: slope \[mg/kPa\] over speed \[rpm\], at 25 °C inlet air.
    pub breathing_mg_kpa: Table,
    /// Nominal pressure at which no fresh air would be drawn at [`BOOK_AMBIENT_KPA`] \[kPa\], over speed \[rpm\].
    pub breathing_kpa: Table,
    /// What advance of the inlet camshaft makes of both; none on a car without a phaser.
    #[serde(default)]
    pub breathing_cam: Option<CamBook>,
}

/// What advance of the inlet camshaft makes of the air that a nominal engine draws.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CamBook {
    /// Growth of the slope for a degree \[1/deg\], over engine speed \[rpm\].
    pub slope_per_deg: Table,
    /// Angle of the overlap at rest \[deg\]: what flows back grows with the square of the overlap's.
    pub overlap_deg: f64,
    /// Pressure without fresh air for each time that the overlap at rest is added to itself \[kPa\], over engine speed
    /// \[rpm\].
    pub kpa: Table,
}

impl CamBook {
    fn check(&self, s: &'static str) -> Result<(), ParamError> {
        for p in self.slope_per_deg.points() {
            between(s, "breathing_cam.slope_per_deg", p[1], -0.05, 0.05)?;
        }
        between(s, "breathing_cam.overlap_deg", self.overlap_deg, 5.0, 60.0)?;
        for p in self.kpa.points() {
            between(s, "breathing_cam.kpa", p[1], -20.0, 20.0)?;
        }
        Ok(())
    }
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.inputs";
        between(s, "throttle_closed_v", self.throttle_closed_v, 0.2, 2.0)?;
        between(s, "throttle_closed_deg", self.throttle_closed_deg, 0.0, 20.0)?;
        between(s, "throttle_v_deg", self.throttle_v_deg, 0.01, 0.2)?;
        between(s, "first_tooth_btdc_deg", self.first_tooth_btdc_deg, 0.0, 354.0)?;
        between(s, "segment_btdc_deg", self.segment_btdc_deg, 0.0, 120.0)?;
        for (key, v) in
            [("first_tooth_btdc_deg", self.first_tooth_btdc_deg), ("segment_btdc_deg", self.segment_btdc_deg)]
        {
            if v % 6.0 != 0.0 {
                return Err(ParamError::new(s, key, ParamRule::WholeTeeth));
            }
        }
        between(s, "coolant_substitute_c", self.coolant_substitute_c, -40.0, 120.0)?;
        between(s, "tooth_off", self.tooth_off, 0.02, 1.0)?;
        between(s, "wheel_pulses_m", self.wheel_pulses_m, 0.1, 200.0)?;
        for p in self.breathing_mg_kpa.points() {
            between(s, "breathing_mg_kpa", p[1], 0.5, 100.0)?;
        }
        for p in self.breathing_kpa.points() {
            between(s, "breathing_kpa", p[1], -50.0, 90.0)?;
        }
        self.breathing_cam.as_ref().map_or(Ok(()), |book| book.check(s))
    }
    /// Pressure at which no fresh air would be drawn \[kPa\]. Residual gas fills the cylinder first, at the pressure
    /// of the exhaust, which is proportional to ambient pressure.
    fn no_air_kpa(&self, rpm: f64, cam_deg: f64, ambient_kpa: f64) -> f64 {
        let more_kpa = self.breathing_cam.as_ref().filter(|_| cam_deg > 0.0).map_or(0.0, |book| {
            let grown = 1.0 + cam_deg / book.overlap_deg;
            book.kpa.at(rpm) * (grown * grown - 1.0)
        });
        (self.breathing_kpa.at(rpm) + more_kpa) * ambient_kpa / BOOK_AMBIENT_KPA
    }
    fn slope_mg_kpa(&self, rpm: f64, cam_deg: f64) -> f64 {
        let book = self.breathing_cam.as_ref().filter(|_| cam_deg > 0.0);
        let more = book.map_or(0.0, |book| book.slope_per_deg.at(rpm) * cam_deg);
        self.breathing_mg_kpa.at(rpm) * (1.0 + more)
    }
    /// Nominal air of one cylinder from pressure, speed, advance of the inlet camshaft and inlet temperature \[g\].
    pub fn breathing_g(
        &self,
        (map_kpa, ambient_kpa): (f64, f64),
        (rpm, cam_deg): (f64, f64),
        inlet_c: f64,
    ) -> f64 {
        let warm = 298.15 / (inlet_c + 273.15).max(200.0);
        let over_kpa = (map_kpa - self.no_air_kpa(rpm, cam_deg, ambient_kpa)).max(1.0);
        1e-3 * self.slope_mg_kpa(rpm, cam_deg) * over_kpa * warm
    }
    /// The inverse: manifold pressure that draws a given mass of air \[kPa\].
    fn pressure_kpa(&self, mg: f64, (rpm, cam_deg): (f64, f64), ambient_kpa: f64) -> f64 {
        mg / self.slope_mg_kpa(rpm, cam_deg) + self.no_air_kpa(rpm, cam_deg, ambient_kpa)
    }
    /// The segments that begin at each tooth of an engine with so many cylinders.
    pub fn begins(&self, cylinders: usize) -> Begins {
        let segment = |tooth: usize, second_turn: bool| {
            // angle after firing top dead centre of cylinder 1, in the cycle
            let from_top = 6 * tooth as i64 - self.first_tooth_btdc_deg as i64;
            let deg = (from_top + if second_turn { 720 } else { 360 }).rem_euclid(720);
            let span = 720 / cylinders as i64;
            let along = (deg + self.segment_btdc_deg as i64).rem_euclid(720);
            (along % span == 0).then_some((along / span) as u8)
        };
        std::array::from_fn(|tooth| [segment(tooth, false), segment(tooth, true)])
    }
    /// Sensor volts at a plate position \[deg\].
    pub fn throttle_volts(&self, deg: f64) -> f64 {
        self.throttle_closed_v + (deg - self.throttle_closed_deg) * self.throttle_v_deg
    }
    /// Plate position \[deg\] at sensor volts.
    pub fn throttle_deg(&self, volts: f64) -> f64 {
        self.throttle_closed_deg + (volts - self.throttle_closed_v) / self.throttle_v_deg
    }
}

/// The segment that begins at a tooth, by tooth and by whether it is in the second turn of the cycle.
pub type Begins = [[Option<u8>; 2]; TEETH as usize];

/// Conditioned values.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Module's time \[s\].
    pub time_s: f64,
    /// Supply \[V\].
    pub supply_v: f64,
    /// Key on.
    pub key_on: bool,
    /// Key at crank.
    pub key_crank: bool,
    /// Metered air, mean over about a segment \[g/s\].
    pub air_g_s: f64,
    /// There is no usable MAF sensor: its wire is open, or the car has none.
    pub air_meter_open: bool,
    /// Rail pressure over ambient \[kPa\], direct injection only.
    pub rail_kpa: f64,
    /// Nominal air from pressure and speed \[g/s\].
    pub air_by_pressure_g_s: f64,
    /// State of each pin of [`PINS`].
    pub looks: [PinState; PINS.len()],
    /// The first throttle track is out of range and the second is used.
    pub by_throttle2: bool,
    /// How far the two throttle tracks disagree \[V\].
    pub tracks_apart_v: f64,
    /// Manifold pressure, smoothed over firings \[kPa\].
    pub map_kpa: f64,
    /// Ambient pressure as it was last learned \[kPa\].
    pub ambient_kpa: f64,
    /// Throttle sensor \[V\], smoothed.
    pub throttle_v: f64,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Inlet air \[°C\].
    pub inlet_c: f64,
    /// Lambda by bank; zero while the sensor isn't ready.
    pub lambda: [f64; MAX_BANKS],
    /// Oxygen sensors after the catalysts by bank \[V\].
    pub rear_oxygen_v: [f64; MAX_BANKS],
    /// What the output stages see.
    pub stages: Stages,
    /// Brake.
    pub brake: bool,
    /// Compressor requested.
    pub compressor_request: bool,
    /// Heated glass.
    pub heated_glass: bool,
    /// Lamps.
    pub lamps: bool,
    /// Park or neutral.
    pub neutral: bool,
    /// Road speed \[km/h\].
    pub road_km_h: f64,
    /// Advance of the inlet camshaft by the module's own measure \[deg of crank\]; 0 at rest.
    pub cam_deg: f64,
    /// Alternator field duty \[-\].
    pub field_duty: f64,
    /// How full the tank is \[%\].
    pub fuel_level_pct: f64,
    /// Pressure sensor of the tank \[V\].
    pub tank_pressure_v: f64,
    /// Position sensor of the exhaust-gas-recirculation valve \[V\].
    pub egr_position_v: f64,
    /// Engine speed over the last segment \[rpm\].
    pub segment_rpm: f64,
    /// Engine speed over the last cycle \[rpm\].
    pub rpm: f64,
    /// Length of the last segment \[s\].
    pub segment_s: f64,
    /// Segments since the wheel was found.
    pub segments: u64,
    /// Position in the firing order of the cylinder whose segment has begun.
    pub segment: u8,
    last_edge: u64,
    last_period: u64,
    tooth: u32,
    found: bool,
    /// Edges since the cam signal last changed level; `None` until it has.
    since_cam: Option<u32>,
    second_turn: bool,
    /// Teeth by which the cam signal changes later than nominal; `None` while not seen.
    pub cam_off_teeth: Option<i32>,
    cam_high: bool,
    /// Time at which the signal last differed from that of a sound wheel and wire \[s\]; zero for never.
    pub odd_at_s: f64,
    /// Period before the last; the irregular tooth and the number of its turn; turns of the wheel.
    period_before: u64,
    odd: (u32, u32),
    turns: u32,
    last_boundary: u64,
    recent_s: [f64; 8],
    sampled: bool,
}

/// Result of an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// A tooth only.
    Tooth,
    /// A new segment has begun.
    Segment,
}

impl State {
    /// The module has found the wheel and is counting its teeth.
    pub fn in_step(&self) -> bool {
        self.found
    }

    /// No tooth has come for a while.
    pub fn silent(&self) -> bool {
        self.time_s * TICKS_PER_S > (self.last_edge + STALL_TICKS) as f64
    }

    /// Tooth of the last edge, and whether it is in the turn before cylinder 1's firing top dead centre.
    pub fn tooth(&self) -> (usize, bool) {
        (self.tooth as usize, self.second_turn)
    }

    /// Crank angle after the nearest top dead centre of cylinder 1 \[deg\] at a captured time between the last two teeth;
    /// none while the wheel is not found.
    pub fn deg_at(&self, cal: &Cal, tick: u64) -> Option<f64> {
        let back = self.last_edge.checked_sub(tick).filter(|b| self.found && *b <= self.last_period)?;
        let pitch_deg = if self.tooth == 0 { 18.0 } else { 6.0 };
        let from_deg = 6.0 * f64::from(self.tooth) - cal.first_tooth_btdc_deg;
        let deg = from_deg - pitch_deg * back as f64 / self.last_period.max(1) as f64;
        Some((deg + 180.0).rem_euclid(360.0) - 180.0)
    }

    /// One edge: gap, counter, segments.
    #[inline]
    pub fn edge(&mut self, cal: &Cal, (cylinders, begins): (usize, &Begins), e: &ToothEdge) -> Edge {
        let period = e.tick.saturating_sub(self.last_edge);
        let before = self.last_period;
        let earlier = std::mem::replace(&mut self.period_before, before);
        self.last_edge = e.tick;
        self.last_period = period;
        let cam_changes = std::mem::replace(&mut self.cam_high, e.cam_high) != e.cam_high;
        self.since_cam = if cam_changes { Some(0) } else { self.since_cam.map(|n| n.saturating_add(1)) };
        let counted = if before < TURNS_ITSELF_TICKS {
            self.count_running(cal, [earlier, before, period], e)
        } else {
            self.count_cranking(cal, [earlier, before, period], e)
        };
        if !counted {
            return Edge::Tooth;
        }
        if cam_changes {
            // nominally it changes with the piston of cylinder 1 at top dead centre
            let off = self.tooth as i32 - (cal.first_tooth_btdc_deg / 6.0) as i32;
            if before >= TURNS_ITSELF_TICKS && off.abs() > CAM_AWAY_TEETH {
                self.lose();
                return Edge::Tooth;
            }
            // a cam sensor that is timed by its own edges is judged by them
            self.cam_off_teeth = e.cam_tick.is_none().then_some(off);
        }
        let Some(segment) = begins[self.tooth as usize][usize::from(self.second_turn)] else {
            return Edge::Tooth;
        };
        self.segment = segment;
        if self.last_boundary > 0 {
            let ticks = e.tick - self.last_boundary;
            self.segment_s = ticks as f64 / TICKS_PER_S;
            let turns_per_s = 2.0 / (cylinders as f64 * self.segment_s);
            self.segment_rpm = 60.0 * turns_per_s;
            let n = cylinders.min(8);
            self.recent_s[(self.segments % n as u64) as usize] = self.segment_s;
            self.segments += 1;
            let known = (self.segments as usize).min(n);
            let sum: f64 = self.recent_s[..known].iter().sum();
            self.rpm = 60.0 * known as f64 * 2.0 / (cylinders as f64 * sum);
        }
        self.last_boundary = e.tick;
        Edge::Segment
    }

    /// Counts an edge of an engine that runs under its own power, from the periods up to the edge: speed hardly
    /// changes from tooth to tooth. False while the wheel is not found.
    #[inline]
    fn count_running(&mut self, cal: &Cal, [earlier, before, period]: [u64; 3], e: &ToothEdge) -> bool {
        // The gap is three pitches long. An edge after the gap is compared with the pitch before it.
        let gap = before > 0 && period * 10 > before * 21 && period * 10 < before * 45;
        if gap {
            if self.found && self.tooth != TEETH - 1 {
                self.lose_by_signal(before, e.tick);
                return false;
            }
            self.begin_turn(0, e.cam_high);
        } else if self.found {
            self.tooth += 1;
            if self.tooth >= TEETH {
                self.lose_by_signal(before, e.tick);
                return false;
            }
            if self.tooth >= 3 {
                self.weigh_tooth(cal, earlier, before, period, e.tick);
            }
        }
        self.found
    }

    /// The same while cranking: a gap is recognised from the periods on both sides of it, one tooth late, and, once
    /// the cam signal has changed, from the number of teeth since then; a crankshaft that almost stops on compression
    /// gives the same periods elsewhere. From one gap to the next the teeth are counted.
    fn count_cranking(&mut self, cal: &Cal, [earlier, before, period]: [u64; 3], e: &ToothEdge) -> bool {
        let (gap, beside) = (before as f64, earlier as f64 * period as f64);
        let stands_out = beside > 0.0 && gap * gap > CRANKING_STANDS_OUT * beside;
        // number of teeth from the one at which the cam nominally changes to the second one after the gap
        let due = TEETH as i32 + 1 - (cal.first_tooth_btdc_deg / 6.0) as i32;
        let by_cam = self.since_cam.is_none_or(|n| (n as i32 - due).abs() <= CAM_AWAY_TEETH);
        if stands_out && by_cam && (!self.found || self.tooth != 0) {
            if self.found {
                // the gap found before was not one
                self.lose();
            }
            self.begin_turn(1, e.cam_high);
        } else if self.found && self.tooth == TEETH - 1 {
            if (period as f64) < CRANKING_DUE * before as f64 {
                self.lose();
                return false;
            }
            self.begin_turn(0, e.cam_high);
        } else if self.found {
            self.tooth += 1;
        }
        self.found
    }

    fn begin_turn(&mut self, tooth: u32, cam_high: bool) {
        self.tooth = tooth;
        self.turns = self.turns.wrapping_add(1);
        self.found = true;
        self.second_turn = !cam_high;
    }

    /// Compares the period before the last with the mean of its neighbours, none of them the gap: a tooth out of
    /// position shows in every turn, at the same place.
    #[inline]
    fn weigh_tooth(&mut self, cal: &Cal, earlier: u64, middle: u64, later: u64, tick: u64) {
        // signed, since processors convert signed integers to floats faster
        let off = (2 * middle).abs_diff(earlier + later) as i64 as f64;
        if off <= 2.0 * cal.tooth_off * middle as f64 {
            return;
        }
        let (tooth, turn) = self.odd;
        if self.turns == turn {
            return;
        }
        if self.turns == turn.wrapping_add(1) && tooth.abs_diff(self.tooth) <= 1 {
            self.odd_at_s = tick as f64 / TICKS_PER_S;
        }
        self.odd = (self.tooth, self.turns);
    }

    /// The tooth count did not match: the signal's fault if the engine was running under its own power.
    fn lose_by_signal(&mut self, period: u64, tick: u64) {
        if period < TURNS_ITSELF_TICKS {
            self.odd_at_s = tick as f64 / TICKS_PER_S;
        }
        self.lose();
    }

    fn lose(&mut self) {
        self.found = false;
        self.cam_off_teeth = None;
        self.tooth = 0;
        self.last_boundary = 0;
        self.segments = 0;
    }

    /// Manifold pressure estimated from throttle and speed \[kPa\]: the nominal flow past the plate fills the
    /// manifold, the nominal air that the engine draws empties it.
    fn filling_kpa(&self, cal: &Cal, [in_g_s, manifold_l]: [f64; 2], dt_s: f64) -> f64 {
        let out_g_s =
            cal.breathing_g((self.map_kpa, self.ambient_kpa), (self.rpm, self.cam_deg), self.inlet_c)
                / self.segment_s;
        // p V = m R T, with g and L
        let kpa_g = 1e-3 * R_AIR * kelvin(self.inlet_c) / manifold_l;
        (self.map_kpa + (in_g_s - out_g_s) * kpa_g * dt_s).clamp(15.0, self.ambient_kpa.max(15.0))
    }

    /// Judges the monitored pins by their volts.
    fn judge_pins(&mut self, cal: &Cal, f: &SensorFrame) {
        let volts = [
            f.air_meter_v,
            f.map_v,
            f.throttle_v,
            f.throttle2_v,
            f.pedal_v,
            f.coolant_v,
            f.inlet_air_v,
            f.lambda_v[0],
            f.lambda_v[1],
        ];
        for ((look, v), (_, low, high)) in self.looks.iter_mut().zip(volts).zip(PINS) {
            *look = if v < low {
                PinState::Low
            } else if v > high {
                PinState::High
            } else {
                PinState::Sound
            };
        }
        if cal.air_meter_v.is_none() {
            // nothing is wired to that pin, and nothing can be wrong with it
            self.looks[Pin::AirMeter as usize] = PinState::Sound;
        }
    }

    /// One sample of the pins, every 10 ms. `plate`: nominal air flow past the plate \[g/s\] and volume of the
    /// manifold \[L\], used when no sensor measures air.
    pub fn sample(&mut self, cal: &Cal, f: &SensorFrame, plate: [f64; 2]) {
        let first = !self.sampled;
        self.sampled = true;
        let dt = (f.tick as f64 / TICKS_PER_S - self.time_s).clamp(0.0, 0.1);
        self.time_s = f.tick as f64 / TICKS_PER_S;
        if f.tick > self.last_edge + STALL_TICKS && (self.rpm > 0.0 || self.found) {
            // no engine stops from one tooth to the next
            self.lose_by_signal(self.last_period, f.tick);
            self.rpm = 0.0;
            self.segment_rpm = 0.0;
            self.last_period = 0;
            self.since_cam = None;
        }
        let follow = |old: f64, new: f64, share: f64| if first { new } else { old + (new - old) * share };
        self.supply_v = f.supply_v;
        self.rear_oxygen_v = f.rear_oxygen_v;
        (self.tank_pressure_v, self.egr_position_v) = (f.tank_pressure_v, f.egr_position_v);
        self.stages = f.stages;
        self.key_on = f.key_on;
        self.key_crank = f.key_crank;
        self.judge_pins(cal, f);
        let sound = |pin: Pin| self.looks[pin as usize] == PinState::Sound;
        let meter = cal.air_meter_v.as_ref().filter(|_| sound(Pin::AirMeter));
        self.air_meter_open = meter.is_none();
        self.by_throttle2 = !sound(Pin::Throttle1) && sound(Pin::Throttle2);
        let both = sound(Pin::Throttle1) && sound(Pin::Throttle2);
        self.tracks_apart_v = if both { f.throttle_v + f.throttle2_v - 5.0 } else { 0.0 };
        let (map_sound, pedal_sound) = (sound(Pin::ManifoldPressure), sound(Pin::Pedal));
        let air = meter.map_or(0.0, |curve| curve.inverse_at(f.air_meter_v));
        self.air_g_s = follow(self.air_g_s, air, lag_share(dt, 0.02));
        if let Some(curve) = &cal.rail_v {
            self.rail_kpa = follow(self.rail_kpa, curve.inverse_at(f.rail_v), lag_share(dt, 0.03));
        }
        // smoothed over about one firing, so that the firing ripple does not reach the throttle
        let firing = if self.segment_s > 0.0 { self.segment_s.clamp(0.005, 0.1) } else { 0.05 };
        // while cranking, a MAF sensor reads too low to be usable; while the manifold is pumped down after that, it
        // reads low by the air that comes out of the manifold
        let unmetered = self.air_meter_open || self.rpm < CRANKING_RPM || self.segments < EMPTIED;
        let map_kpa = if map_sound {
            cal.map_v.inverse_at(f.map_v)
        } else if unmetered && self.segment_s > 0.0 && self.rpm > 0.0 {
            self.filling_kpa(cal, plate, dt)
        } else if self.segment_s > 0.0 && self.rpm > 0.0 {
            // the nominal tables inverted: the pressure that would draw the metered air
            let mg = 1e3 * self.air_g_s * self.segment_s;
            cal.pressure_kpa(mg, (self.rpm, self.cam_deg), self.ambient_kpa).clamp(15.0, 100.0)
        } else {
            self.ambient_kpa
        };
        // a pressure computed step by step already has its own lag
        let worked_out = !map_sound && unmetered;
        let share = if worked_out { 1.0 } else { lag_share(dt, firing) };
        self.map_kpa = follow(self.map_kpa, map_kpa, share);
        self.air_by_pressure_g_s = if self.segment_s > 0.0 && self.rpm > 0.0 {
            cal.breathing_g((self.map_kpa, self.ambient_kpa), (self.rpm, self.cam_deg), self.inlet_c)
                / self.segment_s
        } else {
            0.0
        };
        if cal.air_meter_v.is_none() {
            self.air_g_s = self.air_by_pressure_g_s;
        }
        let throttle_v = if self.by_throttle2 { 5.0 - f.throttle2_v } else { f.throttle_v };
        self.throttle_v = follow(self.throttle_v, throttle_v, 0.5);
        self.pedal_pct = if pedal_sound { cal.pedal_v.inverse_at(f.pedal_v) } else { 0.0 };
        let sane = f.coolant_v > 0.05 && f.coolant_v < 4.9;
        let coolant = if sane { cal.coolant_v.inverse_at(f.coolant_v) } else { cal.coolant_substitute_c };
        self.coolant_c = follow(self.coolant_c, coolant, 0.05);
        let sane = f.inlet_air_v > 0.05 && f.inlet_air_v < 4.9;
        let inlet = if sane { cal.inlet_air_v.inverse_at(f.inlet_air_v) } else { 25.0 };
        self.inlet_c = follow(self.inlet_c, inlet, 0.05);
        for (l, v) in self.lambda.iter_mut().zip(f.lambda_v) {
            *l = if v > 0.2 && v <= 4.95 { cal.lambda_v.inverse_at(v) } else { 0.0 };
        }
        self.brake = f.brake;
        self.compressor_request = f.compressor_request;
        self.heated_glass = f.heated_glass;
        self.lamps = f.lamps;
        self.neutral = f.neutral;
        self.road_km_h = f.wheel_hz / cal.wheel_pulses_m * 3.6;
        self.field_duty = f.field_duty;
        let level = cal.fuel_level_v.inverse_at(f.fuel_level_v);
        self.fuel_level_pct = follow(self.fuel_level_pct, level, lag_share(dt, 1.0));
    }
}
