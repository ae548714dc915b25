//! Driving on the bench: the driver's hands on the car, and the life of the car before it came in.
//!
//! A drive by a pattern is begun by an act, goes on while the bench advances, and ends by itself, or when
//! another hand touches pedal, brake, selector or key. Conditioning drives stretches: idle, a steady hold
//! against rollers, or a pattern.
//!
//! A stretch is cut so that no piece adds more than 10 µm of deposit; after each piece the engine idles
//! warm, first without and then with a load, until what may be learned has stopped moving. So learned
//! values at the start of a scenario were learned, not typed in.

use crate::bench::Bench;
use crate::bench::action::{Action, Gear, Key, Load};
use crate::bench::driver::{Driver, LOOK_S, Sensed, Told, Wanted};
use crate::bench::facts::{DriverTells, Hindrance, ModelNote};
use crate::bench::pattern;
use crate::bench::record::Kind;
use crate::bench::setup::{Stretch, StretchKind};
use serde::{Deserialize, Serialize};

/// Most deposit that one piece of a stretch may add \[µm\].
const PIECE_UM: f64 = 10.0;
/// Longest settling after a piece \[s\].
const SETTLE_S: f64 = 900.0;
/// A value that moves less than this \[g/s\] ...
const STILL_G_S: f64 = 0.02;
/// ... in so long \[s\] has settled.
const STILL_FOR_S: f64 = 60.0;

/// Brake pedal of a hand that presses the brake \[%\].
pub(super) const BRAKE_PCT: f64 = 50.0;
/// How fast the rollers' brake takes hold and lets go \[N m/s\].
const ROLLERS_NM_S: [f64; 2] = [20.0, 60.0];
/// Faster than this a drive is not begun \[m/s\].
const STANDING_M_S: f64 = 0.3;
/// Least length of a piece of a stretch driven by a pattern \[s\]: shorter ones would hardly set off.
const PIECE_S: f64 = 120.0;

impl Bench {
    /// A driver gets in, at a place in the pattern \[s\], for so long \[s\]; or why not.
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

    /// The driver takes feet and hands off; the road is level and smooth again.
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

    /// A foot on the pedal holds an engine speed against rollers; or why not. A foot that holds another speed already
    /// goes on from where the pedal and the rollers stand.
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
        // the rollers' brake takes hold and lets go by and by: an engine loaded at a stroke would be shaken
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

    /// Every 100 ms: one look of the driver, or of who holds a speed, if there is one.
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
            // a life has a thousand of them
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

/// Drives all stretches; `told` hears the share done and may stop by returning false.
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
        // a pattern goes on where the piece before left it
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

/// Looks of a driver or a foot between two words on how far it is.
const LOOKS_TOLD: u32 = 64;

/// Drives one piece; `told` hears the share of it done and may stop it by returning false. It sees nothing of the
/// bench, so that who listens changes nothing.
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

/// Warm idle, light and loaded, until every value whose gates are open stands still.
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
