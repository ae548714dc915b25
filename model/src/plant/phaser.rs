//! The phaser: turns the inlet camshaft against its sprocket, and with it the inlet valves and the cam sensor's edges.
//!
//! **Models** a vane that oil moves through a control valve: a pump with a relief valve, a rate that follows oil pressure
//! and viscosity, a pin that locks the vane at its rest stop, drag of the camshaft that turns it back; the cam sensor's
//! edges at their own times.
//!
//! **Leaves out** the torque that the vane takes, its swing under the pulsating torque of the cams, the time that the pin
//! takes, a phaser on the exhaust camshaft. Rest is the latest position, so that a phaser only ever advances.
//!
//! **State** ([`State`]): advance from the rest stop \[deg of crank\], pin, oil pressure \[kPa\], level of the cam sensor
//! and a captured edge that no tooth has followed yet.
//!
//! **Parameters** ([`Params`]): sources beside each key in the car's file.
//!
//! **Equations**
//! 1. Oil pressure `min(p_relief, p(n) f(T_oil))`.
//! 2. `dφ/dt = v √(p/300 kPa) g(T_oil) s (d − d₀)/d₀ − v_drag`, d the valve's duty, d₀ the one that holds, s what the part is
//!    worth; without the pin's pressure `−v_back`.
//! 3. The sensor's edges lie at `late − φ` and a turn later \[deg after top dead centre of cylinder 1\].
//!
//! **Valid** for one inlet camshaft; from cranking to the limit of speed.
//!
//! **Checked by** `tests/model/phaser.rs`.

use crate::num::{self, Stream, Table};
use crate::plant::parts::Phaser;
use crate::signals::{TICKS_PER_S, ToothEdge};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[phaser]` section of a car's file; without it the camshaft turns with its sprocket.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Most advance from the rest stop \[deg of crank\].
    pub most_deg: f64,
    /// Angle for which both valves are open at rest \[deg of crank\].
    pub overlap_deg: f64,
    /// Rate with the valve wide open, warm oil at 300 kPa \[deg of crank per s\].
    pub moves_deg_s: f64,
    /// Rate at which leakage lets the camshaft's drag turn it back \[deg/s\], with oil pressure and without.
    pub drag_deg_s: [f64; 2],
    /// Duty of the valve that holds the vane \[-\].
    pub hold_duty: f64,
    /// Pressure of warm oil \[kPa\] over engine speed \[rpm\].
    pub oil_kpa: Table,
    /// The same over its warm value, by oil temperature \[°C\].
    pub oil_thick: Table,
    /// Relief valve \[kPa\].
    pub relief_kpa: f64,
    /// Rate over that with warm oil, by oil temperature \[°C\].
    pub oil_quick: Table,
    /// Oil pressure that draws the pin \[kPa\].
    pub unlock_kpa: f64,
    /// Capture jitter of the cam sensor as crank angle, rms \[deg\].
    pub jitter_deg: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "phaser";
        between(s, "most_deg", self.most_deg, 5.0, 50.0)?;
        between(s, "overlap_deg", self.overlap_deg, 5.0, 60.0)?;
        between(s, "moves_deg_s", self.moves_deg_s, 20.0, 500.0)?;
        between(s, "drag_deg_s[0]", self.drag_deg_s[0], 0.0, 40.0)?;
        between(s, "drag_deg_s[1]", self.drag_deg_s[1], 5.0, 500.0)?;
        between(s, "hold_duty", self.hold_duty, 0.2, 0.8)?;
        for p in self.oil_kpa.points() {
            between(s, "oil_kpa", p[1], 0.0, 1000.0)?;
        }
        for p in self.oil_thick.points() {
            between(s, "oil_thick", p[1], 0.1, 10.0)?;
        }
        between(s, "relief_kpa", self.relief_kpa, 100.0, 1000.0)?;
        for p in self.oil_quick.points() {
            between(s, "oil_quick", p[1], 0.01, 2.0)?;
        }
        between(s, "unlock_kpa", self.unlock_kpa, 10.0, 400.0)?;
        between(s, "jitter_deg", self.jitter_deg, 0.0, 1.0)
    }
    /// (1) Oil pressure \[kPa\].
    pub fn oil_kpa(&self, rpm: f64, oil_c: f64) -> f64 {
        (self.oil_kpa.at(rpm) * self.oil_thick.at(oil_c)).min(self.relief_kpa)
    }
}

/// Pressure at which the rate is stated \[kPa\].
const STATED_KPA: f64 = 300.0;

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Advance from the rest stop \[deg of crank\].
    pub advance_deg: f64,
    /// The pin holds it at rest.
    pub locked: bool,
    /// Oil pressure at the phaser \[kPa\].
    pub oil_kpa: f64,
    high: bool,
    /// Captured time of an edge that no tooth has followed yet; 0 for none.
    waiting: u64,
    jitter: Stream,
}

/// Where and how the crank turns during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turning {
    /// Angle in the cycle at the start of the step \[deg\].
    pub from_deg: f64,
    /// Step \[deg\].
    pub step_deg: f64,
    /// Time at its start, and its length \[s\].
    pub time_s: (f64, f64),
    /// Crank speed at both ends \[rad/s\].
    pub omega: (f64, f64),
}

impl State {
    /// At rest, locked.
    pub fn at_rest(seed: u64) -> Self {
        Self {
            advance_deg: 0.0,
            locked: true,
            oil_kpa: 0.0,
            high: false,
            waiting: 0,
            jitter: Stream::new(seed, "cam.jitter"),
        }
    }

    /// Every 10 ms: what the oil does to the vane.
    pub fn tick(&mut self, p: &Params, part: &Phaser, duty: f64, (rpm, oil_c): (f64, f64), dt_s: f64) {
        self.oil_kpa = p.oil_kpa(rpm, oil_c);
        if let Some(deg) = part.stuck_deg {
            (self.advance_deg, self.locked) = (deg.clamp(0.0, p.most_deg), false);
            return;
        }
        let pressed = self.oil_kpa >= p.unlock_kpa;
        self.locked =
            self.advance_deg <= 0.0 && (self.locked || !pressed) && !(pressed && duty > p.hold_duty);
        if self.locked || rpm <= 0.0 {
            return;
        }
        // (2)
        let rate = if pressed {
            let open = (duty.clamp(0.0, 1.0) - p.hold_duty) / p.hold_duty;
            let quick = p.oil_quick.at(oil_c) * (self.oil_kpa / STATED_KPA).sqrt() * part.share;
            p.moves_deg_s * quick * open.min(1.0) - p.drag_deg_s[0]
        } else {
            -p.drag_deg_s[1]
        };
        self.advance_deg = (self.advance_deg + rate * dt_s).clamp(0.0, p.most_deg);
        self.locked = self.advance_deg <= 0.0 && duty < p.hold_duty;
    }

    /// Level of the cam sensor at the end of a crank step, for an edge at rest so late after top dead centre \[deg\].
    #[inline]
    fn level(&self, late_deg: f64, (from_deg, step_deg): (f64, f64)) -> bool {
        num::wrapped(from_deg + step_deg - (late_deg - self.advance_deg), 720.0) < 360.0
    }

    /// Whether the cam sensor's own edge falls in a crank step: from an angle \[deg\], and how far \[deg\].
    #[inline]
    pub fn changes(&self, late_deg: f64, step: (f64, f64)) -> bool {
        self.level(late_deg, step) != self.high
    }

    /// (3) The cam sensor during a crank step: the tooth's edge captured in it \[timer ticks\], if there was one, with the
    /// level that it finds and the time of the cam's own edge since the tooth before. `late_deg`: edge at rest, after top
    /// dead centre.
    #[inline(never)]
    pub fn sense(&mut self, p: &Params, late_deg: f64, t: &Turning, tooth: Option<u64>) -> Option<ToothEdge> {
        let edge_deg = late_deg - self.advance_deg;
        let high = self.level(late_deg, (t.from_deg, t.step_deg));
        let before = std::mem::replace(&mut self.high, high);
        if high != before {
            let ahead = (edge_deg - t.from_deg + 180.0).rem_euclid(360.0) - 180.0;
            let f = (ahead / t.step_deg).clamp(0.0, 1.0);
            let ((start_s, dt_s), (w0, w1)) = (t.time_s, t.omega);
            let wf = (w0 * w0 + f * (w1 * w1 - w0 * w0)).max(0.0).sqrt();
            let whole = if w0 + wf > 0.0 { f * (w0 + w1) / (w0 + wf) } else { f };
            let jitter_s = p.jitter_deg * self.jitter.jitter() / t.step_deg * dt_s;
            self.waiting = num::whole((start_s + whole * dt_s + jitter_s) * TICKS_PER_S).max(1);
        }
        let tick = tooth?;
        let passed = self.waiting > 0 && self.waiting <= tick;
        // an edge that jitter puts behind the tooth is not there yet, even if its crank step is over
        let cam_high = high != (self.waiting > tick);
        Some(ToothEdge { tick, cam_high, cam_tick: passed.then(|| std::mem::take(&mut self.waiting)) })
    }
}

/// Overlap as area times angle over that at rest \[-\]: with straight flanks it grows with the square of its angle.
pub fn overlap_factor(overlap_deg: f64, advance_deg: f64) -> f64 {
    let grown = (overlap_deg + advance_deg).max(0.0) / overlap_deg;
    num::pow(grown, 2.0)
}
