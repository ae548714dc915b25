//! A driver who follows a pattern: operates pedal, brake, selector and key like a person who looks a little ahead.
//!
//! *Inside*: preview of the coming speed, a feel for how much pedal an acceleration needs, correction by what is
//! felt and by the speedometer, smooth pedal movements; holding the car on the brake, neutral at long stops,
//! restarting after a stall. *Outside*: the car (what is seen and felt comes in as [`Sensed`], what the hands do
//! goes out as [`Wanted`]).
//!
//! A driver is part of the bench's state: it is copied, hashed and replayed with it.
//!
//! **Checked by** `holds_driver…`, `practice_stalled…` in `tests/model/driving.rs`.

use crate::bench::action::{Gear, Key};
use crate::bench::pattern::{Name, Pattern};
use serde::{Deserialize, Serialize};

/// Time between two looks \[s\].
pub const LOOK_S: f64 = 0.1;
/// The pedal is set for this far ahead of now: foot, engine and converter take about as long to respond \[s\].
const AHEAD_S: f64 = 0.5;
/// Span over which the coming acceleration is judged \[s\].
const PREVIEW_S: f64 = 1.4;
/// Correction of speed: acceleration per speed error \[1/s\].
const SPEED_GAIN: f64 = 0.4;
/// Correction of acceleration: pedal per acceleration error and second \[%/s per m/s²\].
const PULL_GAIN: f64 = 9.0;
/// Highest pedal rates, pressing and releasing \[%/s\].
const FOOT_PCT_S: [f64; 2] = [30.0, 90.0];
/// Highest brake pedal rate \[%/s\].
const BRAKE_PCT_S: f64 = 60.0;
/// How fast the foot presses harder while the car should be stationary and is not \[%/s\].
const STOP_PCT_S: f64 = 12.0;
/// Brake pedal position while the car is stationary \[%\].
const STAND_PCT: f64 = 30.0;
/// Deceleration per brake pedal position, as the driver expects it \[m/s² per %\].
const BRAKE_FEEL: f64 = 0.07;
/// Deceleration towards the end of the drive \[m/s²\].
const END_M_S2: f64 = 1.1;
/// How long the car stands before the drive is over \[s\].
const END_STAND_S: f64 = 15.0;
/// A drive may exceed its planned time by at most this \[s\].
const OVERTIME_S: f64 = 90.0;
/// Time with the key on before cranking \[s\]; meanwhile the module looks for the throttle's closed stop.
const KEY_ON_S: f64 = 1.5;
/// Cranking is given up after this time \[s\].
const CRANK_S: f64 = 12.0;
/// Above this speed the engine is heard to run \[rpm\].
const HEARD_RPM: f64 = 500.0;
/// Below this speed the engine is heard to have stopped \[rpm\].
const SILENT_RPM: f64 = 150.0;
/// Failed starts after which the drive is given up.
const TRIES: u8 = 3;

/// What the driver sees, feels and hears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensed {
    /// Road speed \[m/s\].
    pub speed_m_s: f64,
    /// Engine speed by ear \[rpm\].
    pub rpm: f64,
}

/// What hands, feet and the road do until the next look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Brake pedal \[%\].
    pub brake_pct: f64,
    /// Selector.
    pub gear: Gear,
    /// Key position; `Crank` is given once, when cranking begins.
    pub key: Key,
    /// Slope of the road \[%\].
    pub slope_pct: f64,
    /// Roughness of the road \[N m\].
    pub rough_nm: f64,
    /// Temperature to which the coolant is set \[°C\], in conditioning only.
    pub soak_c: Option<f64>,
    /// Event to enter in the logbook, if there is one.
    pub told: Option<Told>,
}

/// What a driver reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// The engine stalled; it is being started again.
    Stalled,
    /// The drive is over.
    Over,
    /// The engine would not start again; the drive is over.
    GaveUp,
    /// The car could not be stopped in time; the drive is over.
    Late,
}

/// What the driver is doing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Phase {
    /// Following the pattern.
    Follow,
    /// Standing with the key off.
    KeyOff,
    /// Key on for this long \[s\].
    KeyOn(f64),
    /// Cranking for this long \[s\].
    Crank(f64),
}

/// A driver at work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Driver {
    pattern: Name,
    /// Position in the pattern \[s\].
    clock_s: f64,
    /// Time until the drive is to end \[s\].
    left_s: f64,
    /// Conditioning: soaks set the coolant temperature.
    soaks: bool,
    phase: Phase,
    failed: u8,
    pedal_pct: f64,
    brake_pct: f64,
    correction_pct: f64,
    braking: bool,
    felt_m_s2: f64,
    last_m_s: f64,
    /// Standing in neutral for this long \[s\].
    neutral_s: f64,
}

impl Driver {
    /// Begins at a position in the pattern \[s\] and drives for this long \[s\].
    pub fn new(pattern: Name, from_s: f64, seconds: f64, soaks: bool) -> Self {
        Self {
            pattern,
            clock_s: from_s,
            left_s: seconds,
            soaks,
            phase: Phase::Follow,
            failed: 0,
            pedal_pct: 0.0,
            brake_pct: 0.0,
            correction_pct: 0.0,
            braking: false,
            felt_m_s2: 0.0,
            last_m_s: 0.0,
            neutral_s: 0.0,
        }
    }
    /// Which pattern.
    pub fn pattern(&self) -> Name {
        self.pattern
    }
    /// Position in the pattern \[s\].
    pub fn clock_s(&self) -> f64 {
        self.clock_s
    }
    /// Speed that the pattern asks for now \[m/s\].
    pub fn asked_m_s(&self) -> f64 {
        self.speed(self.pattern.pattern(), 0.0)
    }

    /// Speed asked for this many seconds ahead \[m/s\], including the stop at the end of the drive.
    fn speed(&self, p: &Pattern, in_s: f64) -> f64 {
        let to_stop_s = self.left_s - END_STAND_S - in_s;
        p.speed_m_s(self.clock_s + in_s).min(END_M_S2 * to_stop_s.max(0.0))
    }

    /// Takes one look; called every 100 ms.
    pub fn look(&mut self, s: &Sensed) -> Wanted {
        let p = self.pattern.pattern();
        self.left_s -= LOOK_S;
        self.felt_m_s2 += ((s.speed_m_s - self.last_m_s) / LOOK_S - self.felt_m_s2) * 0.4;
        self.last_m_s = s.speed_m_s;
        let mut told = None;
        let mut soak_c = None;
        let stands = s.speed_m_s < 0.3;
        match self.phase {
            Phase::Follow => {
                if s.rpm < SILENT_RPM {
                    told = Some(Told::Stalled);
                    self.phase = Phase::KeyOn(0.0);
                } else {
                    self.clock_s += LOOK_S;
                    // do not begin a key-off stop that could not be finished
                    if p.within(&p.key_off, self.clock_s) && stands && self.left_s > 60.0 {
                        self.phase = Phase::KeyOff;
                    }
                }
            }
            Phase::KeyOff => {
                self.clock_s += LOOK_S;
                if !p.within(&p.key_off, self.clock_s) || self.left_s < 45.0 {
                    self.phase = Phase::KeyOn(0.0);
                    soak_c = p.soak_to_c.filter(|_| self.soaks);
                }
            }
            Phase::KeyOn(since_s) => {
                self.phase =
                    if since_s < KEY_ON_S { Phase::KeyOn(since_s + LOOK_S) } else { Phase::Crank(0.0) };
            }
            Phase::Crank(since_s) => {
                self.phase = Phase::Crank(since_s + LOOK_S);
                if s.rpm > HEARD_RPM && since_s > 0.5 {
                    // wait a moment to hear that the engine keeps running
                    if since_s > 2.0 {
                        self.failed = 0;
                        self.phase = Phase::Follow;
                    }
                } else if since_s > CRANK_S {
                    self.failed += 1;
                    self.phase = Phase::KeyOn(0.0);
                    if self.failed >= TRIES {
                        told = Some(Told::GaveUp);
                    }
                }
            }
        }
        if self.left_s <= 0.0 && told.is_none() {
            if stands && self.phase == Phase::Follow {
                told = Some(Told::Over);
            } else if self.left_s < -OVERTIME_S {
                told = Some(Told::Late);
            }
        }
        let gear = self.feet(p, s, told);
        let key = match self.phase {
            Phase::KeyOff => Key::Off,
            Phase::Crank(since_s) if since_s <= LOOK_S => Key::Crank,
            _ => Key::On,
        };
        let at_s = p.wrapped(self.clock_s);
        let over = matches!(told, Some(Told::Over | Told::GaveUp | Told::Late));
        Wanted {
            pedal_pct: self.pedal_pct,
            brake_pct: self.brake_pct,
            gear,
            key,
            slope_pct: if over { 0.0 } else { p.slope.at(at_s) },
            rough_nm: if over { 0.0 } else { p.rough.at(at_s) },
            soak_c,
            told,
        }
    }

    /// Feet and selector.
    fn feet(&mut self, p: &Pattern, s: &Sensed, told: Option<Told>) -> Gear {
        let over = matches!(told, Some(Told::Over | Told::GaveUp | Told::Late));
        if self.phase != Phase::Follow || over {
            self.rest();
            // rolling without an engine: brake to a standstill
            self.brake_pct = if s.speed_m_s > 0.3 && !over { STAND_PCT } else { 0.0 };
            return Gear::Neutral;
        }
        let ending = self.left_s < END_STAND_S;
        let (now, soon) = (self.speed(p, AHEAD_S), self.speed(p, AHEAD_S + PREVIEW_S));
        if now < 0.2 && s.speed_m_s < 0.5 {
            // an engine with a high idle pushes the car: press harder until it holds
            let more = if s.speed_m_s > 0.05 { STOP_PCT_S * LOOK_S } else { 0.0 };
            let holding = (self.brake_pct + more).clamp(STAND_PCT, 90.0);
            self.rest();
            let neutral = ending || p.within(&p.neutral, self.clock_s);
            // on a slope the car would roll in neutral
            let level = p.slope.at(p.wrapped(self.clock_s)).abs() < 0.5;
            // the foot stays on the brake until the gear is out
            self.neutral_s = if neutral { self.neutral_s + LOOK_S } else { 0.0 };
            self.brake_pct = if self.neutral_s > 1.5 && level { 0.0 } else { holding };
            return if neutral { Gear::Neutral } else { Gear::Drive };
        }
        self.neutral_s = 0.0;
        let mut need = (soon - now) / PREVIEW_S + SPEED_GAIN * (now - s.speed_m_s);
        need = need.clamp(-3.5, 2.5);
        let v = s.speed_m_s;
        // road load: rolling, air, slope; plus what a closed pedal adds, or creep at walking pace
        let road = 0.11 + 0.0003 * v * v + 0.0981 * p.slope.at(p.wrapped(self.clock_s));
        let coast = -road - if v > 4.0 { 0.25 } else { -0.5 };
        if p.within(&p.coast, self.clock_s) && v > 3.0 {
            self.rest();
            return Gear::Drive;
        }
        // a cold engine idles fast and the car creeps: press harder until the car stands
        let stopping = now < 0.2 && soon < 0.2;
        if stopping || need < coast - if self.braking { 0.05 } else { 0.35 } {
            self.braking = true;
            self.pedal_pct = 0.0;
            self.correction_pct = 0.0;
            let wanted = (coast - need) / BRAKE_FEEL + 4.0 * (self.felt_m_s2 - need).clamp(-1.0, 1.0);
            let wanted = if stopping { wanted.max(self.brake_pct + STOP_PCT_S * LOOK_S) } else { wanted };
            let most = BRAKE_PCT_S * LOOK_S;
            self.brake_pct = (self.brake_pct + (wanted - self.brake_pct).clamp(-most, most)).clamp(1.0, 90.0);
        } else {
            self.braking = false;
            self.brake_pct = 0.0;
            let pull = need + road;
            let off = need - self.felt_m_s2;
            // in a low gear the same pedal gives more pull
            let gain = PULL_GAIN * (0.35 + v / 20.0).min(1.0);
            self.correction_pct = (self.correction_pct + gain * off * LOOK_S).clamp(-30.0, 60.0);
            let wanted = if pull <= 0.0 { 0.0 } else { 5.0 + (7.0 + 0.55 * v) * pull + self.correction_pct };
            let [down, up] = FOOT_PCT_S.map(|r| r * LOOK_S);
            self.pedal_pct = (self.pedal_pct + (wanted - self.pedal_pct).clamp(-up, down)).clamp(0.0, 100.0);
            // the foot either rests on the pedal or is off it
            if self.pedal_pct < 1.5 && wanted < 1.5 {
                self.pedal_pct = 0.0;
                self.correction_pct = self.correction_pct.max(-5.0);
            }
        }
        Gear::Drive
    }

    fn rest(&mut self) {
        self.pedal_pct = 0.0;
        self.brake_pct = 0.0;
        self.correction_pct = 0.0;
        self.braking = false;
    }
}
