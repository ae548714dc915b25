//! Driveline and road: a converter, a gearbox, a car's weight and drag, slope and roughness of the road;
//! rollers for steady holds.
//!
//! **Models** a torque converter by its capacity and torque ratio, gears chosen by road speed and pedal
//! with hysteresis between upshift and downshift, changed in a fraction of a second; rolling and air drag, gravity on
//! a slope, a brake whose force follows its pedal, and a rough surface that makes the driven wheels turn unevenly, and
//! through the converter the crank. Rollers put a chosen torque on the crank for a steady hold.
//!
//! **Leaves out** a lock-up clutch, slip of tyres, rolling backwards, inertia of wheels and gears, torsion; differences
//! between the wheels on a rough road.
//!
//! **State** ([`State`]): road speed and what a rough road adds to the wheels' \[m/s\], gear, over-all ratio in force \[-\],
//! engagement of the clutch \[-\].
//!
//! **Equations**
//! 1. Pump torque `K ω² (1 − s²)`, s turbine over pump speed, not below zero; turbine torque times
//!    `r₀ − (r₀ − 1) s/0.85` up to s 0.85, then 1. Overrun: the same capacity in the other direction, at most 60 N·m.
//! 2. `m dv/dt = F_wheel − m g (f_r cos α + sin α) − ½ρc_dA v² − F_brake`.
//! 3. Gear: up above `u(1 + (k − 1) x)`, down below that times [`DOWN_SHARE`]; u upshift speed, k kick-down
//!    factor, x how far the pedal is past its first fifth. The ratio follows with [`CHANGE_S`].
//! 4. Rough road: torque on the crank, normal draws every 10 ms through a lag of 20 ms, so that most of it lies at a
//!    few hertz, the range of wheel hop.
//! 5. The wheels' unevenness that gives this torque: by (1) a turbine that turns δω_t faster takes `2 K ω_t δω_t` less from
//!    the crank, so that `δv = −δT (r/i)/(2 K ω_t)` at the tread, `ω_t = v i/r`, i the over-all ratio, r the wheel's radius.
//!    At most `MOST_UNEVEN` of the road speed.
//!
//! **Valid** from standstill to top speed, slopes to ±20 %.
//!
//! **Checked by** `practice_in_drive…` in `tests/model/physics.rs`; `exact_coast_down…`, `exact_slope…`,
//! `practice_top_speed…`, `holds_gears…`, `exact_rough_road…` in `tests/model/driving.rs`.

use crate::num::{Stream, lag_share};
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// Acceleration of gravity \[m/s²\].
const G: f64 = 9.81;
/// Half the density of air \[kg/m³\].
const HALF_RHO: f64 = 0.6;
/// Downshift speed of a gear, as a share of the speed at which it was entered \[-\]; assumed.
pub const DOWN_SHARE: f64 = 0.75;
/// Least time between two changes of gear \[s\]; assumed.
const SHIFT_EVERY_S: f64 = 1.2;
/// Time constant of a change of ratio \[s\]; assumed.
pub const CHANGE_S: f64 = 0.25;
/// Pedal up to which gears change as in gentle driving \[%\]; assumed.
const GENTLE_PCT: f64 = 20.0;
/// Largest torque with which the wheels drive the engine \[N m\].
const OVERRUN_NM: f64 = 60.0;

/// Largest unevenness of the wheels on a rough road, over the road speed \[-\]: a tyre hops and rolls on; assumed.
const MOST_UNEVEN: f64 = 0.2;

/// Time constant with which the forward clutch engages or releases \[s\]; assumed.
const CLUTCH_S: f64 = 0.4;

/// The `[road]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Mass \[kg\].
    pub mass_kg: f64,
    /// Converter capacity \[N m per (rad/s)²\].
    pub converter_capacity: f64,
    /// Converter torque ratio at stall \[-\].
    pub converter_ratio: f64,
    /// Over-all ratios, engine turns per wheel turn.
    pub ratios: Vec<f64>,
    /// Upshift speeds at a gentle pedal \[km/h\], one fewer than ratios.
    pub upshift_km_h: Vec<f64>,
    /// Upshift speeds at full pedal over those at a gentle one \[-\].
    pub kick_down: f64,
    /// Deceleration with the brake fully applied, over gravity \[-\].
    pub brake_g: f64,
    /// Wheel radius \[m\].
    pub wheel_m: f64,
    /// Rolling resistance \[-\].
    pub rolling: f64,
    /// Drag area \[m²\].
    pub drag_m2: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "road";
        between(s, "mass_kg", self.mass_kg, 500.0, 4000.0)?;
        between(s, "converter_capacity", self.converter_capacity, 1e-4, 0.05)?;
        between(s, "converter_ratio", self.converter_ratio, 1.0, 3.5)?;
        between(s, "wheel_m", self.wheel_m, 0.2, 0.5)?;
        between(s, "rolling", self.rolling, 0.002, 0.05)?;
        between(s, "drag_m2", self.drag_m2, 0.2, 2.0)?;
        between(s, "kick_down", self.kick_down, 1.0, 4.0)?;
        between(s, "brake_g", self.brake_g, 0.2, 1.2)?;
        if self.ratios.is_empty() || self.upshift_km_h.len() + 1 != self.ratios.len() {
            return Err(ParamError::new("road", "upshift_km_h", ParamRule::OneFewer));
        }
        for r in &self.ratios {
            between(s, "ratios", *r, 1.0, 25.0)?;
        }
        for u in &self.upshift_km_h {
            between(s, "upshift_km_h", *u, 1.0, 250.0)?;
        }
        Ok(())
    }
}

/// Driver inputs and crank speed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Inputs {
    /// The selector is in drive.
    pub drive: bool,
    /// Brake pedal \[%\].
    pub brake_pct: f64,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Crank speed \[rad/s\].
    pub omega: f64,
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Road speed \[m/s\].
    pub speed_m_s: f64,
    /// Torque of rollers or other brakes on the crank, set by hand \[N m\].
    pub rollers_nm: f64,
    /// Slope, uphill positive \[%\].
    pub slope_pct: f64,
    /// Roughness: standard deviation of the torque that it puts on the crank at 10 m/s and above \[N m\].
    pub rough_nm: f64,
    /// Torque that the driveline takes from the crank \[N m\].
    pub crank_nm: f64,
    /// Engagement of the forward clutch \[-\].
    pub engaged: f64,
    /// Gear, from 0.
    pub gear: usize,
    /// Over-all ratio in force \[-\]; zero before the first tick.
    pub ratio: f64,
    /// Distance \[m\].
    pub distance_m: f64,
    since_shift_s: f64,
    shake_nm: f64,
    /// What a rough road adds to the speed of the driven wheels \[m/s\].
    uneven_m_s: f64,
    shake: Stream,
}

impl State {
    /// At rest on a level, smooth road.
    pub fn at_rest(seed: u64) -> Self {
        Self {
            speed_m_s: 0.0,
            rollers_nm: 0.0,
            slope_pct: 0.0,
            rough_nm: 0.0,
            crank_nm: 0.0,
            engaged: 0.0,
            gear: 0,
            ratio: 0.0,
            distance_m: 0.0,
            since_shift_s: 0.0,
            shake_nm: 0.0,
            uneven_m_s: 0.0,
            shake: Stream::new(seed, "road.rough"),
        }
    }

    /// (3) Chooses the gear, at most one change at a time.
    fn choose_gear(&mut self, p: &Params, pedal_pct: f64, dt_s: f64) {
        self.since_shift_s += dt_s;
        let past = ((pedal_pct - GENTLE_PCT) / (100.0 - GENTLE_PCT)).clamp(0.0, 1.0);
        let factor = 1.0 + (p.kick_down - 1.0) * past;
        let km_h = self.speed_m_s * 3.6;
        let up = p.upshift_km_h.get(self.gear).is_some_and(|u| km_h > u * factor);
        let down = self.gear > 0 && km_h < DOWN_SHARE * p.upshift_km_h[self.gear - 1] * factor;
        if (up || down) && self.since_shift_s >= SHIFT_EVERY_S {
            self.gear = if up { self.gear + 1 } else { self.gear - 1 };
            self.since_shift_s = 0.0;
        }
        let wanted = p.ratios[self.gear];
        self.ratio = if self.ratio <= 0.0 {
            wanted
        } else {
            self.ratio + (wanted - self.ratio) * lag_share(dt_s, CHANGE_S)
        };
    }

    /// Speed of the driven wheels at the tread \[m/s\].
    pub fn wheels_m_s(&self) -> f64 {
        self.speed_m_s + self.uneven_m_s
    }

    /// (4), (5) Torque of the rough road on the crank, and the wheels' unevenness that gives it.
    fn shaken(&mut self, p: &Params, dt_s: f64) -> f64 {
        if self.rough_nm <= 0.0 {
            (self.shake_nm, self.uneven_m_s) = (0.0, 0.0);
            return 0.0;
        }
        let share = lag_share(dt_s, 0.02);
        // a lag reduces variance: s/(2 − s) of that of white noise is left
        let white = self.rough_nm * ((2.0 - share) / share).sqrt() * self.shake.jitter();
        self.shake_nm += (white - self.shake_nm) * share;
        let torque_nm = self.shake_nm * (self.speed_m_s / 10.0).min(1.0);
        let per_m_s = self.ratio / p.wheel_m;
        let turbine = self.speed_m_s * per_m_s;
        let most = MOST_UNEVEN * self.speed_m_s;
        self.uneven_m_s = if turbine > 1.0 {
            (-torque_nm / (2.0 * p.converter_capacity * turbine * per_m_s)).clamp(-most, most)
        } else {
            0.0
        };
        torque_nm * self.engaged
    }

    /// Every 10 ms.
    pub fn tick(&mut self, p: &Params, i: &Inputs, dt_s: f64) {
        let omega = i.omega;
        self.choose_gear(p, i.pedal_pct, dt_s);
        let per_m_s = self.ratio / p.wheel_m;
        let mut force = 0.0;
        let mut taken = 0.0;
        self.engaged += (f64::from(u8::from(i.drive)) - self.engaged) * lag_share(dt_s, CLUTCH_S);
        if self.engaged > 0.01 && omega > 10.0 {
            // (1)
            let s = self.speed_m_s * per_m_s / omega;
            if s < 1.0 {
                taken = self.engaged * p.converter_capacity * omega * omega * (1.0 - s * s);
                let ratio = (p.converter_ratio - (p.converter_ratio - 1.0) * s / 0.85).max(1.0);
                force = 0.92 * taken * ratio * per_m_s;
            } else {
                // overrun: the wheels turn the engine
                let back =
                    self.engaged * (p.converter_capacity * omega * omega * (s * s - 1.0)).min(OVERRUN_NM);
                taken = -back;
                force = -back * per_m_s;
            }
        }
        let shaken = self.shaken(p, dt_s);
        self.crank_nm = if omega > 10.0 { taken + shaken + self.rollers_nm } else { 0.0 };
        // (2)
        let slope = 0.01 * self.slope_pct;
        let cos = 1.0 / (1.0 + slope * slope).sqrt();
        let weight = p.mass_kg * G;
        let along = force - weight * slope * cos;
        let v = self.speed_m_s;
        let against =
            weight * p.rolling * cos + HALF_RHO * p.drag_m2 * v * v + 0.01 * i.brake_pct * p.brake_g * weight;
        if v > 0.0 || along > against {
            self.speed_m_s = (v + (along - against) / p.mass_kg * dt_s).max(0.0);
        }
        self.distance_m += self.speed_m_s * dt_s;
    }
}
