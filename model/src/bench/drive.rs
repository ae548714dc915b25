//! Driving on the bench: how a driver operates the car, and how the car was driven before it came in (conditioning).
//!
//! An act starts a drive by a pattern. The drive continues while the bench advances; it ends by itself, or when
//! another hand touches pedal, brake, selector or key. Conditioning drives stretches: idle, a steady hold
//! against rollers, or a pattern.
//!
//! A stretch is divided so that no piece adds more than 10 µm of deposit. After each piece the engine idles
//! warm, first without and then with a load, until all values whose gates are open have settled. The learned
//! values at the start of a scenario were therefore really learned, not entered.

use crate::bench::Bench;
use crate::bench::action::{Action, Gear, Key, Load};
use crate::bench::driver::{Driver, LOOK_S, Sensed, Told, Wanted};
use crate::bench::facts::{DriverTells, Hindrance, ModelNote};
use crate::bench::pattern;
use crate::bench::record::Kind;
use crate::bench::setup::{Stretch, StretchKind};
use serde::{Deserialize, Serialize};

/// Largest deposit thickness that one piece of a stretch may add \[µm\].
const PIECE_UM: f64 = 10.0;
/// Longest settling time after a piece \[s\].
const SETTLE_S: f64 = 900.0;
/// A value has settled if it changes by less than this \[g/s\] ...
const STILL_G_S: f64 = 0.02;
/// ... within this time \[s\].
const STILL_FOR_S: f64 = 60.0;

/// Brake pedal position when a hand applies the brake \[%\].
pub(super) const BRAKE_PCT: f64 = 50.0;
/// Rates at which the rollers' brake applies and releases its torque \[N m/s\].
const ROLLERS_NM_S: [f64; 2] = [20.0, 60.0];
/// Road speed above which a drive cannot be started \[m/s\].
const STANDING_M_S: f64 = 0.3;
/// Shortest piece of a stretch driven by a pattern \[s\]: in a shorter one the car would hardly set off.
const PIECE_S: f64 = 120.0;

impl Bench {
    /// Starts a drive at a position in the pattern \[s\] for a duration \[s\], or returns why it cannot start.
    pub(super) fn begin_drive(
        &mut self,
        name: pattern::Name,
        from_s: f64,
        seconds: f64,
        soaks: bool,
    ) -> Result<(), Hindrance> {
        let h = &self.plant.s.hands;
        let p = &h.plugs;
        let why = if !(seconds.is_finite() && seconds > 0.0) {
            Some(Hindrance::NoTime)
        } else if !h.key_on || self.plant.speed_rpm() < 300.0 {
            Some(Hindrance::NotRunning)
        } else if self.plant.s.road.speed_m_s > STANDING_M_S {
            Some(Hindrance::Rolling)
        } else if !p.battery {
            Some(Hindrance::ClampOff)
        } else if self.plant.s.road.rollers_nm != 0.0 {
            Some(Hindrance::OnRollers)
        } else {
            None
        };
        if let Some(why) = why {
            return Err(why);
        }
        self.driver = Some(Driver::new(name, from_s, seconds, soaks));
        Ok(())
    }

    /// Ends the drive: the driver releases all controls; the road is level and smooth again.
    pub(super) fn end_drive(&mut self, what: DriverTells) {
        self.get_out();
        self.note(Kind::Drive { what });
    }

    fn get_out(&mut self) {
        self.driver = None;
        let s = &mut self.plant.s;
        (s.hands.pedal_pct, s.hands.brake_pct) = (0.0, 0.0);
        (s.road.slope_pct, s.road.rough_nm) = (0.0, 0.0);
    }

    /// Holds an engine speed with the pedal against rollers, or returns why this is not possible. If another speed is
    /// already being held, pedal and rollers continue from their present values.
    pub(super) fn begin_hold(&mut self, rpm: f64, nm: f64) -> Result<(), Hindrance> {
        let hindrance = if self.plant.speed_rpm() < 300.0 {
            Some(Hindrance::NotRunning)
        } else if self.plant.s.road.speed_m_s > STANDING_M_S {
            Some(Hindrance::Rolling)
        } else {
            None
        };
        if let Some(why) = hindrance {
            if self.foot.is_some() {
                self.let_go();
            }
            return Err(why);
        }
        self.foot = Some(self.foot.map_or(Foot::new(rpm, nm), |foot| Foot { rpm, nm, ..foot }));
        Ok(())
    }

    /// Foot off the pedal, rollers off.
    pub(super) fn let_go(&mut self) {
        self.foot = None;
        self.plant.s.road.rollers_nm = 0.0;
        self.plant.s.hands.pedal_pct = 0.0;
    }

    fn hold_on(&mut self) {
        let rpm = self.plant.speed_rpm();
        let Some(foot) = &mut self.foot else { return };
        // the rollers' brake applies and releases its torque gradually: a sudden load would jolt the engine
        let now = self.plant.s.road.rollers_nm;
        let wanted = if rpm > 0.9 * foot.rpm {
            foot.nm
        } else if rpm < 0.8 * foot.rpm {
            0.0
        } else {
            now
        };
        self.plant.s.road.rollers_nm =
            now + (wanted - now).clamp(-ROLLERS_NM_S[1] * LOOK_S, ROLLERS_NM_S[0] * LOOK_S);
        self.plant.s.hands.pedal_pct = foot.pedal(rpm, LOOK_S);
    }

    /// Called every 100 ms: one look of the foot that holds a speed and of the driver, where there is one.
    pub(super) fn drive_on(&mut self) {
        self.hold_on();
        let Some(driver) = &mut self.driver else { return };
        let sensed = Sensed { speed_m_s: self.plant.s.road.speed_m_s, rpm: self.plant.speed_rpm() };
        let wanted = driver.look(&sensed);
        self.move_hands(&wanted);
        match wanted.told {
            None => {}
            Some(Told::Stalled) => {
                self.note(Kind::Drive { what: DriverTells::Stalled });
            }
            // a life has a thousand drives: their ends are not noted in the logbook
            Some(Told::Over) if self.lives() => self.get_out(),
            Some(Told::Over) => self.end_drive(DriverTells::Over),
            Some(Told::GaveUp) => {
                self.end_drive(DriverTells::NoStart);
                self.model_note(ModelNote::DriveNoStart);
            }
            Some(Told::Late) => {
                self.end_drive(DriverTells::NoStand);
                self.model_note(ModelNote::DriveNoStand);
            }
        }
    }

    fn move_hands(&mut self, w: &Wanted) {
        let s = &mut self.plant.s;
        (s.hands.pedal_pct, s.hands.brake_pct) = (w.pedal_pct, w.brake_pct);
        s.hands.drive = w.gear == Gear::Drive;
        (s.road.slope_pct, s.road.rough_nm) = (w.slope_pct, w.rough_nm);
        let turned = match w.key {
            Key::Off => s.hands.key_on,
            Key::On => !s.hands.key_on,
            Key::Crank => true,
        };
        if turned {
            let _ = self.hand_moves(Action::Key(w.key));
        }
        if let Some(c) = w.soak_c {
            self.set_coolant_c(c);
        }
    }

    /// The driver at work, if there is one.
    pub fn driver(&self) -> Option<&Driver> {
        self.driver.as_ref()
    }
}

/// A foot that holds an engine speed with the pedal against rollers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Foot {
    /// Engine speed to hold \[rpm\].
    rpm: f64,
    /// Torque of the rollers at the crank \[N m\].
    pub(super) nm: f64,
    sum: f64,
}

impl Foot {
    pub(super) fn new(rpm: f64, nm: f64) -> Self {
        Self { rpm, nm, sum: 0.0 }
    }
    fn pedal(&mut self, rpm: f64, dt_s: f64) -> f64 {
        let error = self.rpm - rpm;
        self.sum = (self.sum + 0.004 * error * dt_s).clamp(0.0, 95.0);
        (2.0 + self.sum + 0.004 * error).clamp(1.5, 100.0)
    }
}

/// Drives all stretches; `told` receives the share done and may stop the conditioning by returning false.
pub fn condition(b: &mut Bench, stretches: &[Stretch], told: &mut dyn FnMut(f64) -> bool) -> bool {
    let all_min: f64 = stretches.iter().map(|s| s.minutes).sum();
    if all_min <= 0.0 {
        return true;
    }
    let mut done_min = 0.0;
    b.set_coolant_c(88.0);
    if !start(b) {
        b.model_note(ModelNote::NotStarted);
        return true;
    }
    for s in stretches {
        let adds_um = b.deposit_rate_um_h() * s.wear_factor * s.minutes / 60.0;
        let pieces = (adds_um / PIECE_UM).ceil().max(1.0);
        let seconds = 60.0 * s.minutes / pieces;
        if matches!(s.kind, StretchKind::Pattern(_)) && seconds < PIECE_S {
            b.model_note(ModelNote::PiecesTooShort { seconds });
        }
        // a pattern continues where the previous piece stopped
        let mut place_s = 0.0;
        for _ in 0..pieces as usize {
            b.set_wear_factor(s.wear_factor);
            let here_min = s.minutes / pieces;
            let mut so_far = |share: f64| told((done_min + share * here_min) / all_min);
            if !drive(b, s.kind, seconds, &mut place_s, &mut so_far) {
                return false;
            }
            b.set_wear_factor(1.0);
            settle(b);
            done_min += here_min;
            if !told(done_min / all_min) {
                return false;
            }
        }
    }
    let _ = b.act("", Action::Key(Key::Off));
    b.advance_by(12.0);
    true
}

fn start(b: &mut Bench) -> bool {
    let _ = b.act("", Action::Key(Key::On));
    b.advance_by(2.0);
    for _ in 0..3 {
        let _ = b.act("", Action::Key(Key::Crank));
        b.advance_by(12.0);
        if b.observe().live.running {
            return true;
        }
    }
    false
}

/// Number of looks of a driver or a foot between two progress reports.
const LOOKS_TOLD: u32 = 64;

/// Drives one piece; `told` receives the share of the piece done and may stop it by returning false. `told` has no
/// access to the bench, so a listener changes nothing.
fn drive(
    b: &mut Bench,
    kind: StretchKind,
    seconds: f64,
    place_s: &mut f64,
    told: &mut dyn FnMut(f64) -> bool,
) -> bool {
    let from_s = b.time_s();
    let mut looks = 0;
    let mut stopped = |b: &Bench| {
        looks += 1;
        looks % LOOKS_TOLD == 0 && !told(((b.time_s() - from_s) / seconds).min(1.0))
    };
    match kind {
        StretchKind::Pattern(name) => {
            if let Err(because) = b.begin_drive(name, *place_s, seconds, true) {
                b.model_note(ModelNote::NotDriven { pattern: name, because });
                return true;
            }
            while let Some(driver) = &b.driver {
                *place_s = driver.clock_s();
                b.advance_by(LOOK_S);
                if stopped(b) {
                    return false;
                }
            }
        }
        StretchKind::Idle => b.advance_by(seconds),
        StretchKind::Hold { rpm, nm } => {
            b.foot = Some(Foot::new(rpm, nm));
            let end = b.time_s() + seconds;
            while b.time_s() < end {
                if b.speed_by_ear_rpm() < 300.0 {
                    b.let_go();
                    if !start(b) {
                        b.model_note(ModelNote::HoldStalled);
                        break;
                    }
                    b.foot = Some(Foot::new(rpm, nm));
                }
                b.advance_by(LOOK_S);
                if stopped(b) {
                    return false;
                }
            }
            b.let_go();
            b.advance_by(10.0);
        }
    }
    true
}

/// Idles warm, first unloaded and then loaded, until every value whose gates are open has settled.
fn settle(b: &mut Bench) {
    if b.speed_by_ear_rpm() < 300.0 && !start(b) {
        b.model_note(ModelNote::WouldNotIdle);
        return;
    }
    let end = b.time_s() + SETTLE_S;
    for loaded in [false, true] {
        let _ = b.act_quietly(Action::Load(Load::Compressor, loaded));
        b.advance_by(10.0);
        loop {
            let before = open_values(b);
            b.advance_by(STILL_FOR_S);
            let after = open_values(b);
            let moved = before
                .iter()
                .zip(&after)
                .filter(|(x, y)| x.1 && y.1)
                .map(|(x, y)| (y.0 - x.0).abs())
                .fold(0.0, f64::max);
            if moved < STILL_G_S {
                break;
            }
            if b.time_s() >= end {
                b.model_note(ModelNote::StillMoving { g_s: moved });
                break;
            }
        }
    }
    let _ = b.act_quietly(Action::Load(Load::Compressor, false));
    b.advance_by(5.0);
}

/// Values in g/s, and whether all their gates are open.
fn open_values(b: &Bench) -> Vec<(f64, bool)> {
    b.observe()
        .learned
        .iter()
        .filter(|l| l.unit == "g/s")
        .map(|l| (l.value, l.gates.iter().all(|g| g.open)))
        .collect()
}
