//! Cylinder trim: finds which cylinder differs from its bank, from the one oxygen sensor behind all of them and, at
//! warm idle, from the push that each firing gives the crankshaft.
//!
//! **Models** what the module can know. The exhaust of each cylinder reaches the sensor in turn. From its nominal
//! model of pipe, mixing and sensor the module computes how strongly a difference in each cylinder would show in the
//! signal at present, and a Kalman filter weighs the signal's ripple against that. Where mixing and lag leave no
//! trace of a cylinder, its weight is zero and its uncertainty stays wide: then nothing is learned. If the car's file
//! enables it, the time of every firing's window, corrected by the wheel table, is a second measurement in the same
//! filter.
//!
//! **What the crankshaft shows, and what it does not.** A push depends on air, fuel, combustion and compression. The
//! filter models only fuel, so it attributes every weak push to lack of fuel: *it cannot tell a lean cylinder from
//! one with low compression*. The crankshaft also becomes less sensitive as the mixture gets richer: on the lean side
//! of stoichiometric a push follows its fuel, on the rich side no air is left to burn more of it. The nominal gain is
//! the middle of the two, so that the estimate comes out too large on the lean side and too small on the rich side;
//! the trim loop still ends at the correct value, since at zero both signals agree. With low compression they do not
//! agree: the oxygen sensor sees the enriched cylinder and pulls the trim back, the crankshaft keeps pushing it up,
//! and the trim settles where the two balance according to their weights, or at its limit. Mixing smears a pattern
//! that alternates from firing to firing far more than one that repeats once per cycle, so the crankshaft prevails
//! first in the alternating pattern: the companion of a weak cylinder is enriched with it, the two cylinders between
//! are leaned.
//!
//! **How the two are weighed.** Each has the noise value with which the uncertainty that the filter reports from this
//! signal alone is no smaller than its measured error on healthy engines (ten engines, ten minutes of idle, steady
//! offset and scatter together): wide band 0.06 % against 0.31 % reported, crankshaft 0.45 % against 0.44 %. The
//! error of the crankshaft is offset, not scatter: residual wheel errors (0.02° of a window are up to 0.3 % of a push
//! at 720 rpm) and differences between the cylinders' pushes that are not due to fuel. It does not average out, hence
//! a noise value three times the variation of one push (3.2 %). Above idle the crankshaft is not used: the effect of
//! a wheel error relative to the index grows with the square of speed, and a moving car disturbs the crankshaft
//! itself. Without a wheel table, or with a suspect one, it is not used either: one edge off by 0.1° would look like
//! one cylinder off by 1.5 % and its neighbour off in the opposite direction.
//!
//! **Leaves out** sensor wear; the bank's mean (short- and long-term trims); causes of a weak push other than fuel.
//! With several banks the crankshaft shows only differences among all cylinders: its use is meant for one bank.
//!
//! **State** ([`State`]): by cylinder: its share of the gas in the mixing volume, along the pipe and at the
//! sensor \[-\]; the last windows; estimate of its fuel over the bank's mean \[-\] with its covariance.
//!
//! **Equations**
//! 1. Mixing: `dy_c = (u_c − y_c) dm/M`, `u_c` the share of the gas that comes from cylinder c by the crank angle,
//!    `M` the gas in the volume; delay in crank angle; sensor `dz_c = (y_c − z_c) dt/τ`.
//! 2. Signal: `v = 1/λ` less its own mean over about a second; weights `h_c`: `z_c` less its mean, the same way.
//! 3. `x' = x`, `P' = P + q dt`; `K = P h/(hᵀ P h + r)`, `x += K (v − hᵀ x)`, `P −= K hᵀ P`. The mean over a bank
//!    is not observable: a separate measurement holds it at zero.
//! 4. Learned trim: `d(trim) = −x dt/τ` while every gate is open; the estimate moves along with it.
//! 5. Push over the mean of all: `w = −(T_n − T_{n−1} − (T_n − T_{n−N})/N)/T_n³ / (i m)`, T the window
//!    times of N cylinders, `i m` the index of a push that is missing altogether, proportional to the air m in a
//!    cylinder (½Jω², see [`crate::ecm::misfire`]). The mean change over N windows is subtracted: the
//!    acceleration of the whole engine.
//! 6. The same filter (3) with `v = w`, `h = g` for the window's cylinder and `g e` for the one before it, whose push
//!    extends into this window by the share e.
//!
//! **Valid** for engines that fire evenly and speeds at which a cycle lasts several samples.
//!
//! **Checked by** `tests/module/cylinder_trim.rs`.

use crate::ecm::Gate;
use crate::ecm::memory::{self, Name, Store};
use crate::link::Gate as GateKind;
use crate::link::Writer;
use crate::num;
use crate::signals::{MAX_BANKS, MAX_CYLINDERS};
use crate::units::{ParamError, between};
use nalgebra::{SMatrix, SVector};
use serde::{Deserialize, Serialize};

/// The `[module.cylinder_trim]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Start and end of a cylinder's exhaust flow after its firing top dead centre \[deg\].
    pub exhaust_deg: [f64; 2],
    /// Gas in the mixing volume of one bank \[g\].
    pub mixing_g: f64,
    /// Delay to the sensor \[deg of crank\].
    pub delay_deg: f64,
    /// Lag of the sensor \[s\].
    pub lag_s: f64,
    /// Error of one sample of 1/λ \[-\]: noise and cycle-to-cycle variation.
    pub noise: f64,
    /// How far a cylinder may drift in one second \[-\].
    pub wander: f64,
    /// Initial uncertainty of a cylinder \[-\].
    pub at_first: f64,
    /// Learning: maximum uncertainty \[-\], time constant \[s\].
    pub learn: [f64; 2],
    /// Learning: speed from, to \[rpm\]; coolant from \[°C\].
    pub window: [f64; 3],
    /// Use of the crankshaft signal; without it the module uses the wide-band signal alone.
    #[serde(default)]
    pub crank: Option<Crank>,
}

/// The `[module.cylinder_trim.crank]` section: use of the crankshaft's acceleration.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crank {
    /// Index of a complete misfire per mg of air in the cylinder \[1/(s² mg)\].
    pub index_mg: f64,
    /// Relative change of push over relative change of fuel \[-\].
    pub gain: f64,
    /// Share of a weak push's index that the next window shows \[-\].
    pub next: f64,
    /// Error of one firing's push \[-\]: cycle-to-cycle variation, and what persists beyond one cycle.
    pub noise: f64,
    /// Speed range in which it is used, from, to \[rpm\], with the pedal released.
    pub rpm: [f64; 2],
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
        between(s, "window[2]", self.window[2], -40.0, 110.0)?;
        let Some(crank) = &self.crank else { return Ok(()) };
        let s = "module.cylinder_trim.crank";
        between(s, "index_mg", crank.index_mg, 0.01, 10.0)?;
        between(s, "gain", crank.gain, 0.05, 2.0)?;
        between(s, "next", crank.next, 0.0, 1.0)?;
        between(s, "noise", crank.noise, 1e-3, 10.0)?;
        between(s, "rpm[0]", crank.rpm[0], 300.0, 3000.0)?;
        between(s, "rpm[1]", crank.rpm[1], crank.rpm[0], 3000.0)
    }
}

/// Maximum number of samples in the pipe, 10 ms each.
const PIPE: usize = 48;
/// Time constant of the mean that is subtracted from signal and weights \[s\].
const MEAN_TAU_S: f64 = 1.0;
/// Tolerance within which a bank's mean is held at zero \[-\].
const MEAN_HELD: f64 = 1e-4;

type Vector = SVector<f64, MAX_CYLINDERS>;
type Square = SMatrix<f64, MAX_CYLINDERS, MAX_CYLINDERS>;

/// State of the task.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Crank angle at the last sample, since the wheel was found \[deg\].
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
    /// Times of the last firings' windows \[s\], oldest first, and how many of them are consecutive.
    windows_s: [f64; MAX_CYLINDERS + 1],
    in_a_row: u32,
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
            windows_s: [0.0; MAX_CYLINDERS + 1],
            in_a_row: 0,
            estimate: [0.0; MAX_CYLINDERS],
            covariance: [[0.0; MAX_CYLINDERS]; MAX_CYLINDERS],
            gates: Vec::with_capacity(8),
        }
    }
}

/// Inputs of the task.
#[derive(Debug, Clone, Copy)]
pub struct Inputs<'a> {
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
    /// Closed loop in every bank, engine running, fuel not cut.
    pub closed_loop: bool,
    /// Air steady.
    pub steady: bool,
    /// Firing order by cylinder number.
    pub order: &'a [u8],
    /// Bank by cylinder number.
    pub banks: &'a [u8],
}

/// A firing's window, as timed by the misfire monitor.
#[derive(Debug, Clone, Copy)]
pub struct Push<'a> {
    /// Its position in the firing order.
    pub position: u8,
    /// Its time, corrected by the wheel table \[s\].
    pub window_s: f64,
    /// Counted as a misfire.
    pub counted: bool,
    /// The wheel table is learned and not suspect, and the pedal is released.
    pub trusted: bool,
    /// Engine speed \[rpm\].
    pub rpm: f64,
    /// Air in a cylinder \[mg\].
    pub air_mg: f64,
    /// Firing order by cylinder number.
    pub order: &'a [u8],
}

impl State {
    /// A segment begins: that of the cylinder at `place` in the firing order, `btdc_deg` before its top dead
    /// centre.
    pub fn segment(&mut self, place: u8, cylinders: usize, btdc_deg: f64, at_s: f64) {
        let span = 720.0 / cylinders as f64;
        // the angle keeps increasing, so that the pipe can be looked up by it
        let in_cycle = (f64::from(place) * span - btdc_deg).rem_euclid(720.0);
        let turns = ((self.segment.0 + span - in_cycle) / 720.0).round();
        self.segment = (in_cycle + 720.0 * turns, at_s);
    }

    /// The wheel was lost or the engine stopped: the cylinder estimates are kept, the contents of the pipe are not.
    pub fn stopped(&mut self) {
        if self.angle_deg == 0.0 {
            return;
        }
        let kept = (self.estimate, self.covariance);
        *self = Self { estimate: kept.0, covariance: kept.1, ..Self::default() };
    }

    /// Each sample, every 10 ms.
    pub fn fast(&mut self, cal: &Cal, l: &Inputs<'_>, dt_s: f64) {
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
            // part of its exhaust stroke that lies in this sample, in this cycle or the previous one
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
        // where a cycle lasts too few samples, the weights no longer match the signal
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

    /// Called when a firing's window has ended. The window is not used unless the windows are consecutive.
    pub fn push(&mut self, cal: &Cal, p: &Push<'_>) {
        let Some(crank) = &cal.crank else { return };
        let n = p.order.len();
        if !p.trusted || self.settled_s < 3.0 * MEAN_TAU_S || !(crank.rpm[0]..=crank.rpm[1]).contains(&p.rpm)
        {
            self.in_a_row = 0;
            return;
        }
        self.windows_s.copy_within(1..=n, 0);
        self.windows_s[n] = p.window_s;
        self.in_a_row = (self.in_a_row + 1).min(n as u32 + 1);
        // a misfire says nothing about the mixture
        if p.counted || (self.in_a_row as usize) <= n || p.air_mg <= 0.0 {
            return;
        }
        // (5)
        let [first, .., before, last] = self.windows_s[..=n] else { return };
        let index = (last - before - (last - first) / n as f64) / (last * last * last);
        let share = -index / (crank.index_mg * p.air_mg);
        // (6)
        let cylinder = |back: usize| usize::from(p.order[(usize::from(p.position) + n - back) % n]) - 1;
        let mut h = Vector::zeros();
        h[cylinder(0)] = crank.gain;
        h[cylinder(1)] = crank.gain * crank.next;
        let mut x = Vector::from(self.estimate);
        let mut covariance = Square::from(self.covariance);
        update(&mut x, &mut covariance, &h, share, crank.noise);
        self.estimate = x.into();
        self.covariance = covariance.into();
    }

    /// Shares of the cylinders at the inlet of the pipe at a crank angle \[deg\].
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

    /// Conditions have changed: adds the uncertainty `by` to each cylinder \[-\].
    pub fn forget(&mut self, by: f64) {
        for c in 0..MAX_CYLINDERS {
            self.covariance[c][c] += by * by;
        }
    }

    /// Uncertainty of a cylinder's estimate \[-\]; cylinders are counted from 0.
    pub fn uncertainty(&self, cylinder: usize) -> f64 {
        self.covariance[cylinder][cylinder].max(0.0).sqrt()
    }

    /// Learning and its gates, every 100 ms.
    /// `held`: a routine is controlling the trims.
    pub fn slow(
        &mut self,
        cal: &Cal,
        memory_cal: &memory::Cal,
        store: &mut Store,
        l: &Inputs<'_>,
        held: bool,
        dt_s: f64,
    ) {
        let n = l.order.len();
        let worst = (0..n).map(|c| self.uncertainty(c)).fold(0.0, f64::max);
        let [low, high, warm_c] = cal.window;
        let [certain, tau_s] = cal.learn;
        self.gates.clear();
        self.gates.push(Gate::measured(GateKind::InCell, (low..=high).contains(&l.rpm), l.rpm, high));
        self.gates.push(Gate::switch(GateKind::ClosedLoop, l.closed_loop));
        self.gates.push(Gate::measured(GateKind::Warm, l.coolant_c >= warm_c, l.coolant_c, warm_c));
        self.gates.push(Gate::switch(GateKind::Steady, l.steady));
        self.gates.push(Gate::measured(
            GateKind::Certain,
            worst > 0.0 && worst <= certain,
            100.0 * worst,
            100.0 * certain,
        ));
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
    // rounding must not make it asymmetric
    *p = (*p + p.transpose()) * 0.5;
}
