//! Cylinder trim: which cylinder burns richer or leaner than its bank, out of one sensor behind all of them.
//!
//! **Models** what the module can know. Every cylinder has its turn in the exhaust; by the book of pipe, mixing
//! and sensor the module works out how much of a difference of each would show in the signal now, and a Kalman
//! filter weighs the signal's ripple against that. Where mixing and lag leave nothing of a cylinder, its
//! weight is nought and its uncertainty stays wide: then nothing is learned.
//!
//! **Leaves out** crank acceleration, and what wears the sensor; the bank's mean (short- and long-term trims).
//!
//! **State** ([`State`]): by cylinder: its share of the gas in the mixing volume, along the pipe and at the
//! sensor \[-\]; estimate of its fuel over the bank's mean \[-\] with its covariance.
//!
//! **Equations**
//! 1. Mixing: `dy_c = (u_c − y_c) dm/M`, `u_c` the share of the gas that comes from cylinder c by the crank angle,
//!    `M` the gas in the volume; delay in crank angle; sensor `dz_c = (y_c − z_c) dt/τ`.
//! 2. Signal: `v = 1/λ` less its own mean over about a second; weights `h_c`: `z_c` less its mean, the same way.
//! 3. `x' = x`, `P' = P + q dt`; `K = P h/(hᵀ P h + r)`, `x += K (v − hᵀ x)`, `P −= K hᵀ P`. The mean over a bank
//!    cannot be seen: it is held at nought by a measurement of its own.
//! 4. Learned trim: `d(trim) = −x dt/τ` while every gate is open; the estimate moves along with it.
//!
//! **Valid** for engines that fire evenly, speeds at which a cycle lasts several samples.
//!
//! **Checked by** `tests/cylinder_trim.rs`.

use crate::ecm::memory::{self, Name, Store, Writer};
use crate::ecm::{Gate, GateKind};
use crate::num;
use crate::signals::{MAX_BANKS, MAX_CYLINDERS};
use crate::units::{ParamError, between};
use nalgebra::{SMatrix, SVector};
use serde::{Deserialize, Serialize};

/// The `[module.cylinder_trim]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// A cylinder exhausts from, to, after its firing top dead centre \[deg\].
    pub exhaust_deg: [f64; 2],
    /// Gas in the mixing volume of one bank \[g\].
    pub mixing_g: f64,
    /// Delay to the sensor \[deg of crank\].
    pub delay_deg: f64,
    /// Lag of the sensor \[s\].
    pub lag_s: f64,
    /// What one sample of 1/λ is off by \[-\]: noise, and what differs from cycle to cycle.
    pub noise: f64,
    /// How far a cylinder may wander \[-\] in a second.
    pub wander: f64,
    /// What a cylinder may be off by before anything is known \[-\].
    pub at_first: f64,
    /// Learning: uncertainty no more than \[-\], time constant \[s\].
    pub learn: [f64; 2],
    /// Learning: speed from, to \[rpm\]; coolant from \[°C\].
    pub window: [f64; 3],
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.cylinder_trim";
        between(s, "exhaust_deg[0]", self.exhaust_deg[0], 60.0, 240.0)?;
        between(s, "exhaust_deg[1]", self.exhaust_deg[1], self.exhaust_deg[0] + 60.0, 480.0)?;
        between(s, "mixing_g", self.mixing_g, 0.02, 10.0)?;
        between(s, "delay_deg", self.delay_deg, 0.0, 1500.0)?;
        between(s, "lag_s", self.lag_s, 0.0, 2.0)?;
        between(s, "noise", self.noise, 1e-5, 1.0)?;
        between(s, "wander", self.wander, 1e-7, 0.1)?;
        between(s, "at_first", self.at_first, 1e-3, 0.5)?;
        between(s, "learn[0]", self.learn[0], 1e-4, 0.1)?;
        between(s, "learn[1]", self.learn[1], 1.0, 10_000.0)?;
        between(s, "window[0]", self.window[0], 300.0, 6000.0)?;
        between(s, "window[1]", self.window[1], self.window[0], 6000.0)?;
        between(s, "window[2]", self.window[2], -40.0, 110.0)
    }
}

/// Samples that the pipe holds at most: 10 ms each.
const PIPE: usize = 48;
/// The mean that is taken off signal and weights is over about this \[s\].
const MEAN_TAU_S: f64 = 1.0;
/// A bank's mean is held at nought within this \[-\].
const MEAN_HELD: f64 = 1e-4;

type Vector = SVector<f64, MAX_CYLINDERS>;
type Square = SMatrix<f64, MAX_CYLINDERS, MAX_CYLINDERS>;

/// State of the task.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Crank angle since the wheel was found \[deg\], and at the last sample.
    angle_deg: f64,
    /// Angle and time of the last segment \[deg, s\].
    segment: (f64, f64),
    mixed: [f64; MAX_CYLINDERS],
    pipe: Vec<(f64, [f64; MAX_CYLINDERS])>,
    next: usize,
    seen: [f64; MAX_CYLINDERS],
    seen_mean: [f64; MAX_CYLINDERS],
    signal_mean: [f64; MAX_BANKS],
    settled_s: f64,
    /// Fuel of each cylinder over its bank's mean \[-\].
    pub estimate: [f64; MAX_CYLINDERS],
    covariance: [[f64; MAX_CYLINDERS]; MAX_CYLINDERS],
    /// Gates of learning.
    pub gates: Vec<Gate>,
}

impl Default for State {
    fn default() -> Self {
        Self {
            angle_deg: 0.0,
            segment: (0.0, 0.0),
            mixed: [0.0; MAX_CYLINDERS],
            pipe: vec![(0.0, [0.0; MAX_CYLINDERS]); PIPE],
            next: 0,
            seen: [0.0; MAX_CYLINDERS],
            seen_mean: [0.0; MAX_CYLINDERS],
            signal_mean: [0.0; MAX_BANKS],
            settled_s: 0.0,
            estimate: [0.0; MAX_CYLINDERS],
            covariance: [[0.0; MAX_CYLINDERS]; MAX_CYLINDERS],
            gates: Vec::with_capacity(8),
        }
    }
}

/// What the task looks at.
#[derive(Debug, Clone, Copy)]
pub struct Look<'a> {
    /// Module's time \[s\].
    pub time_s: f64,
    /// Length of the last segment \[s\].
    pub segment_s: f64,
    /// Engine speed \[rpm\].
    pub rpm: f64,
    /// Air \[g/s\].
    pub air_g_s: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Lambda by bank; zero while the sensor isn't ready.
    pub lambda: [f64; MAX_BANKS],
    /// Closed loop everywhere, engine running, fuel not cut.
    pub closed_loop: bool,
    /// Air steady.
    pub steady: bool,
    /// Firing order by cylinder number.
    pub order: &'a [u8],
    /// Bank by cylinder number.
    pub banks: &'a [u8],
}

impl State {
    /// A segment begins: that of the cylinder at `place` in the firing order, `btdc_deg` before its top dead
    /// centre.
    pub fn segment(&mut self, place: u8, cylinders: usize, btdc_deg: f64, at_s: f64) {
        let span = 720.0 / cylinders as f64;
        // the angle goes on without end, so that the pipe can be read back by it
        let in_cycle = (f64::from(place) * span - btdc_deg).rem_euclid(720.0);
        let turns = ((self.segment.0 + span - in_cycle) / 720.0).round();
        self.segment = (in_cycle + 720.0 * turns, at_s);
    }

    /// Lost the wheel or the engine stopped: what is known of the cylinders is kept, what is in the pipe not.
    pub fn stopped(&mut self) {
        if self.angle_deg == 0.0 {
            return;
        }
        let kept = (self.estimate, self.covariance);
        *self = Self { estimate: kept.0, covariance: kept.1, ..Self::default() };
    }

    /// Each sample, every 10 ms.
    pub fn fast(&mut self, cal: &Cal, l: &Look<'_>, dt_s: f64) {
        let n = l.order.len();
        let span = 720.0 / n as f64;
        if l.segment_s <= 0.0 || dt_s <= 0.0 {
            return;
        }
        let along = ((l.time_s - self.segment.1) / l.segment_s).clamp(0.0, 1.5);
        let before = self.angle_deg;
        self.angle_deg = self.segment.0 + along * span;
        let turned = self.angle_deg - before;
        if !(0.0..=720.0).contains(&turned) {
            self.settled_s = 0.0;
            return;
        }
        // (1)
        let [from, to] = cal.exhaust_deg;
        let cylinder_g = l.air_g_s * l.segment_s * (1.0 + 1.0 / 14.6);
        let mut out = [0.0; MAX_CYLINDERS];
        for (place, cylinder) in l.order.iter().enumerate() {
            let own = before - place as f64 * span;
            // what of its exhaust stroke lies in this sample, in this cycle or the one before
            let start = own.rem_euclid(720.0);
            let overlap = |shift: f64| (to.min(start + turned - shift) - from.max(start - shift)).max(0.0);
            out[usize::from(*cylinder) - 1] = cylinder_g * (overlap(0.0) + overlap(720.0)) / (to - from);
        }
        for bank in 1..=MAX_BANKS as u8 {
            let all: f64 = (0..n).filter(|c| l.banks[*c] == bank).map(|c| out[c]).sum();
            let kept = num::exp(-all / cal.mixing_g);
            for c in (0..n).filter(|c| l.banks[*c] == bank) {
                let share = if all > 0.0 { out[c] / all } else { 0.0 };
                self.mixed[c] = share + (self.mixed[c] - share) * kept;
            }
        }
        self.pipe[self.next] = (self.angle_deg, self.mixed);
        self.next = (self.next + 1) % PIPE;
        let arrived = self.arrived(self.angle_deg - cal.delay_deg);
        let lag = num::lag_share(dt_s, cal.lag_s);
        let slow = num::lag_share(dt_s, MEAN_TAU_S);
        let mut weights = Vector::zeros();
        for c in 0..n {
            self.seen[c] += (arrived[c] - self.seen[c]) * lag;
            self.seen_mean[c] += (self.seen[c] - self.seen_mean[c]) * slow;
            weights[c] = self.seen[c] - self.seen_mean[c];
        }
        // where a cycle lasts too few samples, the weights are no longer those of the signal
        let seen = (cal.window[0]..=cal.window[1]).contains(&l.rpm);
        self.settled_s = if l.closed_loop && l.steady && seen { self.settled_s + dt_s } else { 0.0 };
        let mut x = Vector::from(self.estimate);
        let mut p = Square::from(self.covariance);
        // (3)
        let at_first = cal.at_first * cal.at_first;
        for c in 0..n {
            if p[(c, c)] <= 0.0 {
                p[(c, c)] = at_first;
            }
            p[(c, c)] = (p[(c, c)] + cal.wander * cal.wander * dt_s).min(at_first);
        }
        for bank in 1..=MAX_BANKS as u8 {
            let b = usize::from(bank) - 1;
            let here = |c: usize| c < n && l.banks[c] == bank;
            if l.lambda[b] <= 0.0 || !(0..n).any(here) {
                continue;
            }
            let signal = 1.0 / l.lambda[b];
            self.signal_mean[b] += (signal - self.signal_mean[b]) * slow;
            if self.settled_s < 3.0 * MEAN_TAU_S {
                continue;
            }
            let h = Vector::from_fn(|c, _| if here(c) { weights[c] } else { 0.0 });
            update(&mut x, &mut p, &h, signal - self.signal_mean[b], cal.noise);
            let mean = Vector::from_fn(|c, _| if here(c) { 1.0 } else { 0.0 });
            update(&mut x, &mut p, &mean, 0.0, MEAN_HELD);
        }
        self.estimate = x.into();
        self.covariance = p.into();
    }

    /// What stood at the pipe's mouth at a crank angle \[deg\].
    fn arrived(&self, at_deg: f64) -> [f64; MAX_CYLINDERS] {
        let mut later = self.pipe[(self.next + PIPE - 1) % PIPE];
        for k in 2..=PIPE {
            let earlier = self.pipe[(self.next + PIPE - k) % PIPE];
            if earlier.0 <= at_deg || earlier.0 >= later.0 {
                let f = ((at_deg - earlier.0) / (later.0 - earlier.0).max(1e-9)).clamp(0.0, 1.0);
                let mut out = earlier.1;
                for (o, l) in out.iter_mut().zip(later.1) {
                    *o += f * (l - *o);
                }
                return out;
            }
            later = earlier;
        }
        later.1
    }

    /// Conditions have changed: each cylinder may be off by so much again \[-\].
    pub fn forget(&mut self, by: f64) {
        for c in 0..MAX_CYLINDERS {
            self.covariance[c][c] += by * by;
        }
    }

    /// Uncertainty of a cylinder's estimate \[-\], from 0.
    pub fn uncertainty(&self, cylinder: usize) -> f64 {
        self.covariance[cylinder][cylinder].max(0.0).sqrt()
    }

    /// Learning and its gates, every 100 ms.
    /// `held`: a routine has the trims in its own hands.
    pub fn slow(
        &mut self,
        cal: &Cal,
        memory_cal: &memory::Cal,
        store: &mut Store,
        l: &Look<'_>,
        held: bool,
        dt_s: f64,
    ) {
        let n = l.order.len();
        let worst = (0..n).map(|c| self.uncertainty(c)).fold(0.0, f64::max);
        let [low, high, warm_c] = cal.window;
        let [certain, tau_s] = cal.learn;
        self.gates.clear();
        self.gates.push(Gate {
            kind: GateKind::InCell,
            open: (low..=high).contains(&l.rpm),
            now: l.rpm,
            limit: high,
        });
        self.gates.push(Gate { kind: GateKind::ClosedLoop, open: l.closed_loop, now: 0.0, limit: 0.0 });
        self.gates.push(Gate {
            kind: GateKind::Warm,
            open: l.coolant_c >= warm_c,
            now: l.coolant_c,
            limit: warm_c,
        });
        self.gates.push(Gate { kind: GateKind::Steady, open: l.steady, now: 0.0, limit: 0.0 });
        self.gates.push(Gate {
            kind: GateKind::Certain,
            open: worst > 0.0 && worst <= certain,
            now: 100.0 * worst,
            limit: 100.0 * certain,
        });
        if held || !self.gates.iter().all(|g| g.open) {
            return;
        }
        // (4)
        for c in 0..n {
            let step = -100.0 * self.estimate[c] * dt_s / tau_s;
            let name = Name::CylinderTrim(c as u8);
            let went = store.move_by(memory_cal, name, step, Writer::Ordinary, l.time_s);
            self.estimate[c] += 0.01 * went;
        }
    }
}

/// One scalar measurement `v = h x` with a standard deviation.
fn update(x: &mut Vector, p: &mut Square, h: &Vector, v: f64, sigma: f64) {
    let ph = *p * h;
    let s = h.dot(&ph) + sigma * sigma;
    let k = ph / s;
    *x += k * (v - h.dot(x));
    *p -= k * ph.transpose();
    // rounding must not bend it
    *p = (*p + p.transpose()) * 0.5;
}
