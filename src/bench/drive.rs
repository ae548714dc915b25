//! The life of the car before it came in: conditioning stretches, and the driver who drives them.
//!
//! A stretch is cut so that no piece adds more than 10 µm of deposit; after each piece the engine idles
//! warm, first without and then with a load, until what may be learned has stopped moving. So learned
//! values at the start of a scenario were learned, not typed in.

use crate::bench::action::{Action, Key, Load};
use crate::bench::setup::{Stretch, StretchKind};
use crate::bench::{Bench, record};

/// Most deposit that one piece of a stretch may add \[µm\].
const PIECE_UM: f64 = 10.0;
/// Longest settling after a piece \[s\].
const SETTLE_S: f64 = 900.0;
/// A value that moves less than this \[g/s\] ...
const STILL_G_S: f64 = 0.02;
/// ... in so long \[s\] has settled.
const STILL_FOR_S: f64 = 60.0;

/// A driver who holds a speed with the pedal.
#[derive(Debug, Clone, Copy, Default)]
struct Driver {
    sum: f64,
}

impl Driver {
    fn pedal(&mut self, wanted_rpm: f64, rpm: f64, dt_s: f64) -> f64 {
        let error = wanted_rpm - rpm;
        self.sum = (self.sum + 0.004 * error * dt_s).clamp(0.0, 60.0);
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
        b.model_note("conditioning: the engine did not start".into());
        return true;
    }
    for s in stretches {
        let adds_um = b.deposit_rate_um_h() * s.wear_factor * s.minutes / 60.0;
        let pieces = (adds_um / PIECE_UM).ceil().max(1.0);
        for _ in 0..pieces as usize {
            let seconds = 60.0 * s.minutes / pieces;
            b.set_wear_factor(s.wear_factor);
            drive(b, s.kind, seconds);
            b.set_wear_factor(1.0);
            settle(b);
            done_min += s.minutes / pieces;
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

fn drive(b: &mut Bench, kind: StretchKind, seconds: f64) {
    match kind {
        StretchKind::Idle => b.advance_by(seconds),
        StretchKind::Hold { rpm, nm } => {
            let mut driver = Driver::default();
            let end = b.time_s() + seconds;
            while b.time_s() < end {
                let now = b.speed_by_ear_rpm();
                if now < 300.0 && !start(b) {
                    b.model_note("conditioning: the engine stalled in a steady hold".into());
                    break;
                }
                b.set_rollers_nm(if now > 0.8 * rpm { nm } else { 0.0 });
                let pedal = driver.pedal(rpm, now, 0.1);
                b.set_pedal_quietly(pedal);
                b.advance_by(0.1);
            }
            b.set_rollers_nm(0.0);
            b.set_pedal_quietly(0.0);
            b.advance_by(10.0);
        }
    }
}

/// Warm idle, light and loaded, until every value whose gates are open stands still.
fn settle(b: &mut Bench) {
    if b.speed_by_ear_rpm() < 300.0 && !start(b) {
        b.model_note("conditioning: the engine would not idle".into());
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
                b.note(record::Kind::Model {
                    what: format!(
                        "conditioning: learned values still moved {moved:.3} g/s a minute after 15 min"
                    ),
                });
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
