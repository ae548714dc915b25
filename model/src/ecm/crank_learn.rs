//! Crankshaft variation learning: the actual position of each reluctor-wheel edge, from unfired revolutions.
//!
//! **Models** a module that lets the engine run down with its fuel cut, records the times of all edges over whole
//! cycles, removes the effects of a nominal engine (compression as a function of manifold pressure, inertia of the
//! moving masses, the deceleration itself), and solves the remainder for the edge errors by least squares.
//!
//! **Leaves out** torsion; compression differences between cylinders: they repeat every two turns, which is not the
//! period of a wheel error, and mostly cancel.
//!
//! Wheel errors repeat every turn, and a cycle has two turns: companion cylinders share a sector. Everything that
//! repeats every turn is attributed to the wheel, whatever its cause. A ripple of the real engine's inertia beyond
//! the nominal one therefore stays in the table as a bias.
//!
//! **State** ([`State`]): phase, edge times of the current cycle, sums of each run-down that agreed, attempts.
//!
//! **Equations**
//! 1. Nominal run-down: `½ J(θ) ω² = ½ J̄ (ω₀² + κ θ) + p_man w₁(θ) + p_amb w₂(θ)`; ω₀, κ from the durations of
//!    the two turns; `w` the work of all cylinders per unit pressure, with its mean slope removed.
//! 2. Deviation of an edge: `y_k = (t_k − t₀ − τ_k) ω_k`, τ the nominal times scaled to the whole cycle.
//! 3. `y = A e + Q c`: A maps the 58 edges to both turns, plus the first edge once more; Q is a cubic. With
//!    `M = 1 − Q Qᵀ`: `e = (AᵀMA)⁺ AᵀM ȳ`, mean of e zero.
//! 4. Scatter `s² = [Σ yᵀMy − n ȳᵀMȳ] / ((n−1)(117−4))`; standard error of an interval from k to l:
//!    `√(s²/n · (g_kk + g_ll − 2 g_kl))`, `g = (AᵀMA)⁺`.
//!
//! **Valid** for a 60−2 wheel and engines that fire evenly.
//!
//! **Checked by** `source_least_squares…`, `holds_learn_accuracy…`, `holds_standard_error…`, `practice_coast_downs…`,
//! `trips_coast_downs` in `tests/module/crank_learn.rs`.

use crate::ecm::Nameplate;
use crate::ecm::misfire::Windows;
use crate::link::{Failed, ThrownAway};
use crate::num;
use crate::signals::MAX_CYLINDERS;
use crate::units::{ParamError, between};
use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

/// Edges of a turn.
pub const EDGES: usize = 58;
/// Edges of a cycle, including the first of the next one.
const CYCLE_EDGES: usize = 2 * EDGES + 1;
/// Columns of the cubic.
const DRIFT: usize = 4;
/// Pitch of the tables over the cycle \[deg\].
const PITCH_DEG: usize = 2;
/// Maximum number of run-downs kept.
const MOST_RUN_DOWNS: usize = 8;

/// The `[module.wheel]` section of a car's file: the module's data of its nominal engine, and the routine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Bore, stroke, connecting rod \[mm\].
    pub geometry_mm: [f64; 3],
    /// Compression ratio \[-\].
    pub compression_ratio: f64,
    /// Inlet valve closing after, and exhaust valve opening before, bottom dead centre \[deg\].
    pub valves_deg: [f64; 2],
    /// Rotating inertia \[kg m²\], reciprocating mass of one cylinder \[kg\].
    pub moving: [f64; 2],
    /// Polytropic exponent of compression and expansion without fuel \[-\].
    pub polytropic: f64,
    /// Speed band to hold before the pedal is released \[rpm\].
    pub band_rpm: [f64; 2],
    /// Time for which the band must be held \[s\].
    pub hold_s: f64,
    /// Speed down to which a run-down is measured \[rpm\].
    pub down_to_rpm: f64,
    /// Number of run-downs that must agree; maximum number of attempts in one key cycle.
    pub run_downs: [f64; 2],
    /// Largest permitted disagreement between the half-turn differences of two run-downs \[deg\].
    pub agree_deg: f64,
    /// Minimum number of cycles in a run-down.
    pub cycles: f64,
    /// Coolant window \[°C\].
    pub warm_c: [f64; 2],
    /// Largest edge correction that is accepted as plausible \[deg\].
    pub most_deg: f64,
    /// Refinement in steady fired cruise: speed from, to \[rpm\]; maximum manifold pressure \[kPa\]; time constant
    /// \[s\], 0 for no refinement.
    pub refine: [f64; 4],
    /// The road method; absent if the module has none.
    #[serde(default)]
    pub road: Option<Road>,
}

/// The road method (our own): the car pulls steadily in one gear, then the pedal is released and the car coasts in
/// that gear with the fuel cut. Several coast-downs are needed in a key cycle, each long enough and undisturbed. The
/// module watches for them while it has no usable table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Road {
    /// Speed band of the pull \[rpm\].
    pub band_rpm: [f64; 2],
    /// Minimum duration of the pull \[s\].
    pub hold_s: f64,
    /// Number of whole coasting cycles required for a coast-down.
    pub cycles: f64,
    /// Number of coast-downs that must agree.
    pub coast_downs: f64,
    /// Waiting time for the torque converter to change from drive to overrun \[s\].
    pub settle_s: f64,
    /// Relative change of engine speed over road speed that counts as a gear change \[-\].
    pub gear: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.wheel";
        between(s, "geometry_mm[0]", self.geometry_mm[0], 50.0, 130.0)?;
        between(s, "geometry_mm[1]", self.geometry_mm[1], 40.0, 140.0)?;
        between(s, "geometry_mm[2]", self.geometry_mm[2], 0.9 * self.geometry_mm[1], 600.0)?;
        between(s, "compression_ratio", self.compression_ratio, 6.0, 16.0)?;
        between(s, "valves_deg[0]", self.valves_deg[0], 0.0, 90.0)?;
        between(s, "valves_deg[1]", self.valves_deg[1], 0.0, 90.0)?;
        between(s, "moving[0]", self.moving[0], 0.02, 1.0)?;
        between(s, "moving[1]", self.moving[1], 0.0, 3.0)?;
        between(s, "polytropic", self.polytropic, 1.0, 1.5)?;
        between(s, "down_to_rpm", self.down_to_rpm, 800.0, 4000.0)?;
        between(s, "band_rpm[0]", self.band_rpm[0], self.down_to_rpm + 500.0, 6000.0)?;
        between(s, "band_rpm[1]", self.band_rpm[1], self.band_rpm[0] + 100.0, 6500.0)?;
        between(s, "hold_s", self.hold_s, 0.5, 30.0)?;
        between(s, "run_downs[0]", self.run_downs[0], 1.0, MOST_RUN_DOWNS as f64)?;
        between(s, "run_downs[1]", self.run_downs[1], self.run_downs[0], 50.0)?;
        between(s, "agree_deg", self.agree_deg, 0.0, 1.0)?;
        between(s, "cycles", self.cycles, 2.0, 100.0)?;
        between(s, "warm_c[0]", self.warm_c[0], -40.0, 130.0)?;
        between(s, "warm_c[1]", self.warm_c[1], self.warm_c[0], 130.0)?;
        between(s, "refine[0]", self.refine[0], 0.0, 6000.0)?;
        between(s, "refine[1]", self.refine[1], self.refine[0], 6000.0)?;
        between(s, "refine[2]", self.refine[2], 0.0, 110.0)?;
        between(s, "refine[3]", self.refine[3], 0.0, 1e6)?;
        if let Some(r) = &self.road {
            let s = "module.wheel.road";
            between(s, "band_rpm[0]", r.band_rpm[0], 1000.0, 6000.0)?;
            between(s, "band_rpm[1]", r.band_rpm[1], r.band_rpm[0] + 100.0, 6500.0)?;
            between(s, "hold_s", r.hold_s, 0.5, 30.0)?;
            between(s, "cycles", r.cycles, self.cycles, 1000.0)?;
            between(s, "coast_downs", r.coast_downs, 1.0, MOST_RUN_DOWNS as f64)?;
            between(s, "settle_s", r.settle_s, 0.0, 10.0)?;
            between(s, "gear", r.gear, 0.005, 0.5)?;
        }
        between(s, "most_deg", self.most_deg, 0.05, 3.0)
    }
}

/// Tables over the cycle and the solver's matrices, computed once from the nominal engine's data.
#[derive(Debug, Clone, PartialEq)]
pub struct Book {
    /// Nominal inertia over its mean, at each [`PITCH_DEG`] from the first edge on.
    inertia: Vec<f64>,
    mean_inertia: f64,
    /// Work of all cylinders per unit manifold pressure and per unit ambient pressure \[m³\], mean slope removed.
    work: [Vec<f64>; 2],
    /// The cubic's orthonormal columns.
    drift: Vec<[f64; DRIFT]>,
    /// `(AᵀMA)⁺` and `(AᵀMA)⁺AᵀM`.
    inverse: DMatrix<f64>,
    solver: DMatrix<f64>,
    /// Tooth pitches in a firing interval.
    firing: usize,
}

/// Angle from the first edge of the cycle to edge `k` \[deg\].
fn edge_deg(k: usize) -> usize {
    if k == 2 * EDGES { 720 } else { 360 * (k / EDGES) + 6 * (k % EDGES) }
}

/// Index on the wheel of edge `k` of the cycle.
fn tooth(k: usize) -> usize {
    k % EDGES
}

impl Book {
    /// Computes the book from checked parts of the module's calibration.
    pub fn new(cal: &Cal, plate: &Nameplate, first_tooth_btdc_deg: f64) -> Self {
        let n = plate.firing_order.len();
        let [bore, stroke, rod] = cal.geometry_mm.map(|mm| mm * 1e-3);
        let r = 0.5 * stroke;
        let area = std::f64::consts::FRAC_PI_4 * bore * bore;
        let clearance = area * stroke / (cal.compression_ratio - 1.0);
        let volume = |deg: f64| {
            let (s, c) = (num::sin_deg(deg), num::cos_deg(deg));
            clearance + area * (r + rod - r * c - (rod * rod - r * r * s * s).sqrt())
        };
        let travel = |deg: f64| {
            let (s, c) = (num::sin_deg(deg), num::cos_deg(deg));
            r * s + r * r * s * c / (rod * rod - r * r * s * s).sqrt()
        };
        let span = 720.0 / n as f64;
        let steps = 720 / PITCH_DEG;
        let pitch = PITCH_DEG as f64;
        // one cylinder, from its firing top dead centre on: work per unit manifold and per unit ambient pressure
        let [ivc, evo] = [540.0 + cal.valves_deg[0], 180.0 - cal.valves_deg[1]];
        let v_ivc = volume(ivc);
        let per_step = |deg: f64| {
            let dv = volume(deg + 0.5 * pitch) - volume(deg - 0.5 * pitch);
            let shape = if deg < evo || deg >= ivc {
                num::pow(v_ivc / volume(deg), cal.polytropic)
            } else if deg < 360.0 {
                return [0.0, 0.0];
            } else {
                1.0
            };
            [shape * dv, -dv]
        };
        let own = |from_first: f64, j: usize| {
            (from_first - first_tooth_btdc_deg - span * j as f64).rem_euclid(720.0)
        };
        let mut work = [vec![0.0; steps + 1], vec![0.0; steps + 1]];
        for i in 0..steps {
            let deg = (i as f64 + 0.5) * pitch;
            let mut sum = [0.0; 2];
            for j in 0..n {
                let w = per_step(own(deg, j));
                sum = [sum[0] + w[0], sum[1] + w[1]];
            }
            for (w, s) in work.iter_mut().zip(sum) {
                w[i + 1] = w[i] + s;
            }
        }
        for w in &mut work {
            let slope = w[steps] / steps as f64;
            for (i, x) in w.iter_mut().enumerate() {
                *x -= slope * i as f64;
            }
        }
        let mut inertia: Vec<f64> = (0..=steps)
            .map(|i| {
                let moving: f64 = (0..n).map(|j| travel(own(i as f64 * pitch, j))).map(|v| v * v).sum();
                cal.moving[0] + cal.moving[1] * moving
            })
            .collect();
        let mean_inertia = inertia[..steps].iter().sum::<f64>() / steps as f64;
        inertia.iter_mut().for_each(|j| *j /= mean_inertia);
        let drift = cubic();
        let (inverse, solver) = solver(&drift);
        Self { inertia, mean_inertia, work, drift, inverse, solver, firing: (span / 6.0).round() as usize }
    }

    /// (1), (2) Deviations of a cycle's edges \[deg\], computed from their times \[s\] and from manifold and ambient
    /// pressure \[kPa\].
    pub fn deviations(&self, times: &[f64], map_kpa: f64, ambient_kpa: f64) -> Vec<f64> {
        let tau = std::f64::consts::TAU;
        let steps = self.inertia.len() - 1;
        let whole = times[CYCLE_EDGES - 1] - times[0];
        let (w1, w2) = (tau / (times[EDGES] - times[0]), tau / (times[CYCLE_EDGES - 1] - times[EDGES]));
        let kappa = (w2 * w2 - w1 * w1) / tau;
        let start = w1 * w1 - 0.5 * tau * kappa;
        let step_rad = (PITCH_DEG as f64).to_radians();
        let (p1, p2) = (2e3 * map_kpa / self.mean_inertia, 2e3 * ambient_kpa / self.mean_inertia);
        let speed = |i: usize| {
            let squared = start + kappa * step_rad * i as f64 + p1 * self.work[0][i] + p2 * self.work[1][i];
            (squared.max(1.0) / self.inertia[i]).sqrt()
        };
        let mut nominal = vec![0.0; steps + 1];
        let mut speeds = vec![speed(0); steps + 1];
        for i in 1..=steps {
            speeds[i] = speed(i);
            nominal[i] = nominal[i - 1] + 2.0 * step_rad / (speeds[i - 1] + speeds[i]);
        }
        let scale = whole / nominal[steps];
        (0..CYCLE_EDGES)
            .map(|k| {
                let i = edge_deg(k) / PITCH_DEG;
                let late_s = times[k] - times[0] - nominal[i] * scale;
                (late_s * speeds[i] / scale).to_degrees()
            })
            .collect()
    }

    /// (3) Errors of the wheel's edges \[deg\], mean zero, from mean deviations.
    pub fn solve(&self, mean: &[f64]) -> Vec<f64> {
        let e = &self.solver * DVector::from_column_slice(mean);
        let middle = e.mean();
        e.iter().map(|x| x - middle).collect()
    }

    /// yᵀMy: sum of squares of the deviations after the cubic is removed.
    fn rest(&self, y: &[f64]) -> f64 {
        let mut along = [0.0; DRIFT];
        for (q, y) in self.drift.iter().zip(y) {
            for (a, q) in along.iter_mut().zip(q) {
                *a += q * y;
            }
        }
        (y.iter().map(|y| y * y).sum::<f64>() - along.iter().map(|a| a * a).sum::<f64>()).max(0.0)
    }

    /// (4) Variance of the interval between two edges for unit scatter and one cycle.
    fn variance(&self, k: usize, l: usize) -> f64 {
        let g = &self.inverse;
        (g[(k, k)] + g[(l, l)] - 2.0 * g[(k, l)]).max(0.0)
    }

    /// Differences over every firing interval whose two end edges exist \[deg\].
    fn firing_differences<'a>(&self, edges: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        let n = self.firing;
        (0..EDGES.saturating_sub(n)).map(move |k| edges[k + n] - edges[k])
    }
}

/// Orthonormal columns of a cubic over the edges of a cycle.
fn cubic() -> Vec<[f64; DRIFT]> {
    let mut q = vec![[0.0; DRIFT]; CYCLE_EDGES];
    for c in 0..DRIFT {
        for (k, row) in q.iter_mut().enumerate() {
            let x = edge_deg(k) as f64 / 360.0 - 1.0;
            row[c] = (0..c).fold(1.0, |p, _| p * x);
        }
        for _ in 0..2 {
            for before in 0..c {
                let along: f64 = q.iter().map(|r| r[c] * r[before]).sum();
                q.iter_mut().for_each(|r| r[c] -= along * r[before]);
            }
        }
        let length = q.iter().map(|r| r[c] * r[c]).sum::<f64>().sqrt();
        q.iter_mut().for_each(|r| r[c] /= length);
    }
    q
}

fn solver(drift: &[[f64; DRIFT]]) -> (DMatrix<f64>, DMatrix<f64>) {
    let a = DMatrix::from_fn(CYCLE_EDGES, EDGES, |k, i| f64::from(u8::from(tooth(k) == i)));
    let q = DMatrix::from_fn(CYCLE_EDGES, DRIFT, |k, c| drift[k][c]);
    let ma = &a - &q * (q.transpose() * &a);
    let normal = a.transpose() * &ma;
    // one direction, a common shift of all edges, belongs to the drift: it has no inverse and needs none
    let eigen = normal.symmetric_eigen();
    let most = eigen.eigenvalues.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    let inverse_values = eigen.eigenvalues.map(|x| if x.abs() > 1e-9 * most { 1.0 / x } else { 0.0 });
    let inverse =
        &eigen.eigenvectors * DMatrix::from_diagonal(&inverse_values) * eigen.eigenvectors.transpose();
    let solver = &inverse * ma.transpose();
    (inverse, solver)
}

/// Sums over cycles.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Sums {
    cycles: u32,
    y: Vec<f64>,
    rest: f64,
}

impl Sums {
    /// One more cycle's deviations \[deg\].
    pub fn add(&mut self, book: &Book, y: &[f64]) {
        self.y.resize(CYCLE_EDGES, 0.0);
        self.cycles += 1;
        self.rest += book.rest(y);
        for (sum, y) in self.y.iter_mut().zip(y) {
            *sum += y;
        }
    }
    /// Number of cycles summed.
    pub fn cycles(&self) -> u32 {
        self.cycles
    }
    fn merge(&mut self, other: &Self) {
        self.y.resize(CYCLE_EDGES, 0.0);
        self.cycles += other.cycles;
        self.rest += other.rest;
        for (sum, y) in self.y.iter_mut().zip(&other.y) {
            *sum += y;
        }
    }
    /// (3), (4) Edges and the largest standard error of a firing interval, from at least two cycles.
    pub fn solve(&self, book: &Book) -> Solution {
        let n = f64::from(self.cycles.max(1));
        let mean: Vec<f64> = self.y.iter().map(|y| y / n).collect();
        let edges_deg = book.solve(&mean);
        let scatter =
            (self.rest - n * book.rest(&mean)).max(0.0) / ((n - 1.0).max(1.0) * (CYCLE_EDGES - DRIFT) as f64);
        let widest = (0..EDGES - book.firing).map(|k| book.variance(k, k + book.firing)).fold(0.0, f64::max);
        Solution { edges_deg, error_deg: (scatter / n * widest).sqrt() }
    }
}

/// Result of a learn.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Deviation of each edge from its nominal position \[deg\], mean zero.
    pub edges_deg: Vec<f64>,
    /// Largest standard error of a firing interval \[deg\].
    pub error_deg: f64,
}

/// Phase of the routine.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub enum Phase {
    /// Not running.
    #[default]
    Off,
    /// The speed band is to be held; time held so far \[s\].
    Hold(f64),
    /// Held long enough: the pedal is to be released; time since then \[s\].
    LetGo(f64),
    /// Running down.
    Down,
}

impl State {
    /// A run-down of the routine is being measured, or is about to be.
    pub fn measures(&self) -> bool {
        matches!(self.phase, Phase::LetGo(_) | Phase::Down)
    }
}

/// Event of the learn.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The band has been held: release the pedal.
    LetGo,
    /// Hold the band (again).
    Hold,
    /// A run-down counts: its number, and the number required.
    Taken(usize, usize),
    /// A run-down does not count.
    Thrown(ThrownAway),
    /// Learned.
    Done(Solution),
    /// Given up.
    Failed(Failed),
}

/// State of the learn.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Current phase.
    pub phase: Phase,
    /// Run-downs begun since key-on.
    pub attempts: u32,
    /// Run-downs that agree.
    pub agreed: Vec<Sums>,
    times: Vec<f64>,
    now: Sums,
    held_map: f64,
    held_ambient: f64,
    loads: u8,
    /// Fired refinement: the last cycle's window times \[s\] by position, how many in a row, and each window's
    /// mean deviation so far \[deg\].
    fired_s: [f64; MAX_CYLINDERS],
    /// Road method: duration of the steady pull \[s\]; coasting down; engine speed over road speed, smoothed.
    pulled_s: f64,
    /// A coast-down is being measured.
    pub coasting: bool,
    coasted_s: f64,
    gear: f64,
    fired: u8,
    fired_deg: [f64; MAX_CYLINDERS],
    fired_for_s: f64,
}

/// Inputs of the learn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Engine speed \[rpm\].
    pub rpm: f64,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// Fuel is cut.
    pub cut: bool,
    /// Car stationary, in park or neutral.
    pub standing: bool,
    /// Which loads are on, as bits.
    pub loads: u8,
    /// Manifold, ambient pressure \[kPa\].
    pub map_kpa: f64,
    /// Ambient pressure \[kPa\].
    pub ambient_kpa: f64,
    /// The road method may run: no usable table, engine warm, no blocking code.
    pub road_may: bool,
    /// Road speed \[km/h\].
    pub road_km_h: f64,
    /// Brake.
    pub brake: bool,
    /// The road is rough.
    pub rough: bool,
}

/// Time constant with which the ratio of engine speed to road speed is smoothed \[s\].
const GEAR_S: f64 = 0.5;

impl State {
    /// Key on.
    pub fn key_on(&mut self) {
        *self = Self::default();
    }
    /// Begins; run-downs that agreed before are discarded.
    pub fn begin(&mut self) {
        self.agreed.clear();
        self.phase = Phase::Hold(0.0);
    }
    /// Ends without a result.
    pub fn stop(&mut self) {
        self.phase = Phase::Off;
        self.agreed.clear();
        self.times.clear();
    }

    /// Called at each edge while running down without fuel: `tooth` on the wheel, `second` turn of the cycle.
    pub fn edge(&mut self, book: &Book, tooth: usize, second: bool, at_s: f64) {
        let due = self.times.len();
        let k = tooth + if second { EDGES } else { 0 };
        if due == CYCLE_EDGES - 1 && k == 0 {
            self.times.push(at_s);
            let y = book.deviations(&self.times, self.held_map, self.held_ambient);
            self.now.add(book, &y);
            self.times.clear();
            self.times.push(at_s);
        } else if due > 0 && k == due {
            self.times.push(at_s);
        } else {
            self.times.clear();
            if k == 0 {
                self.times.push(at_s);
            }
        }
    }

    /// Every 10 ms.
    pub fn fast(&mut self, cal: &Cal, book: &Book, l: &Inputs, dt_s: f64) -> Option<Event> {
        let [low, high] = cal.band_rpm;
        match self.phase {
            Phase::Off => None,
            Phase::Hold(held) => {
                if !l.standing {
                    return self.give_up(Failed::NotParked);
                }
                if l.rpm < 300.0 {
                    return self.give_up(Failed::EngineStopped);
                }
                let inside = (low..=high).contains(&l.rpm) && l.pedal_pct > 1.0;
                self.phase = Phase::Hold(if inside { held + dt_s } else { 0.0 });
                if held + dt_s >= cal.hold_s && inside {
                    self.phase = Phase::LetGo(0.0);
                    self.loads = l.loads;
                    return Some(Event::LetGo);
                }
                None
            }
            Phase::LetGo(since) => {
                self.phase = Phase::LetGo(since + dt_s);
                if l.cut && l.pedal_pct < 1.0 {
                    self.attempts += 1;
                    self.phase = Phase::Down;
                    self.now = Sums::default();
                    self.times.clear();
                    self.held_map = l.map_kpa;
                    self.held_ambient = l.ambient_kpa;
                    return None;
                }
                if since > 3.0 || l.rpm > high + 300.0 {
                    self.attempts += 1;
                    return self.throw(cal, ThrownAway::LiftedLate);
                }
                None
            }
            Phase::Down => {
                self.held_map = l.map_kpa;
                self.held_ambient = l.ambient_kpa;
                if l.pedal_pct >= 1.0 {
                    return self.throw(cal, ThrownAway::Pedal);
                }
                if l.loads != self.loads {
                    return self.throw(cal, ThrownAway::Load);
                }
                if !l.standing {
                    return self.throw(cal, ThrownAway::Moving);
                }
                if l.rpm > cal.down_to_rpm && l.cut {
                    return None;
                }
                self.end_run_down(cal, book)
            }
        }
    }

    /// The road method, every 10 ms while no routine runs.
    pub fn coast(&mut self, cal: &Cal, book: &Book, l: &Inputs, dt_s: f64) -> Option<Event> {
        let road = cal.road.as_ref()?;
        if !l.road_may || self.phase != Phase::Off {
            (self.pulled_s, self.coasting) = (0.0, false);
            return None;
        }
        let gear = l.rpm / l.road_km_h.max(1.0);
        if !self.coasting {
            self.gear += (gear - self.gear) * (dt_s / GEAR_S).min(1.0);
            let [low, high] = road.band_rpm;
            if l.pedal_pct >= 1.0 && l.road_km_h > 20.0 && (low..=high).contains(&l.rpm) {
                self.pulled_s += dt_s;
                return None;
            }
            let pulled_s = std::mem::replace(&mut self.pulled_s, 0.0);
            if pulled_s >= road.hold_s && l.cut && l.pedal_pct < 1.0 {
                (self.coasting, self.coasted_s, self.loads) = (true, 0.0, l.loads);
                self.now = Sums::default();
                self.times.clear();
                (self.held_map, self.held_ambient) = (l.map_kpa, l.ambient_kpa);
            } else if l.pedal_pct < 1.0 && l.rpm > low {
                // pedal released, the fuel cut is about to follow
                self.pulled_s = pulled_s;
            }
            return None;
        }
        (self.held_map, self.held_ambient) = (l.map_kpa, l.ambient_kpa);
        self.coasted_s += dt_s;
        if self.coasted_s < road.settle_s {
            self.gear = gear;
            self.now = Sums::default();
            self.times.clear();
        }
        let spoiled = if l.brake {
            Some(ThrownAway::Brake)
        } else if l.pedal_pct >= 1.0 {
            Some(ThrownAway::Pedal)
        } else if l.loads != self.loads {
            Some(ThrownAway::Load)
        } else if l.rough {
            Some(ThrownAway::RoughRoad)
        } else if (gear / self.gear - 1.0).abs() > road.gear {
            Some(ThrownAway::GearChange)
        } else if !l.cut {
            Some(ThrownAway::FewCycles { cycles: self.now.cycles() })
        } else {
            None
        };
        self.gear += (gear - self.gear) * (dt_s / GEAR_S).min(1.0);
        if spoiled.is_none() && f64::from(self.now.cycles()) < road.cycles {
            return None;
        }
        self.coasting = false;
        self.times.clear();
        let judged = spoiled.map_or_else(|| self.judge(cal, book), Err);
        let wanted = road.coast_downs as usize;
        Some(match judged {
            Err(why) => Event::Thrown(why),
            Ok(n) if n >= wanted => Event::Done(self.all(book)),
            Ok(n) => Event::Taken(n, wanted),
        })
    }

    fn end_run_down(&mut self, cal: &Cal, book: &Book) -> Option<Event> {
        let wanted = cal.run_downs[0] as usize;
        match self.judge(cal, book) {
            Err(why) => self.throw(cal, why),
            Ok(n) if n >= wanted => {
                self.phase = Phase::Off;
                Some(Event::Done(self.all(book)))
            }
            Ok(n) => self.again(cal, Event::Taken(n, wanted)),
        }
    }

    /// Solves all run-downs that agree together, and clears them.
    fn all(&mut self, book: &Book) -> Solution {
        let mut all = Sums::default();
        for s in std::mem::take(&mut self.agreed) {
            all.merge(&s);
        }
        all.solve(book)
    }

    /// Judges the run-down just measured: the number of run-downs that now agree, this one included, or the reason
    /// why it does not count.
    fn judge(&mut self, cal: &Cal, book: &Book) -> Result<usize, ThrownAway> {
        let n = self.now.cycles();
        if f64::from(n) < cal.cycles {
            return Err(ThrownAway::FewCycles { cycles: n });
        }
        let this = self.now.solve(book);
        let furthest = this.edges_deg.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        if furthest > cal.most_deg {
            return Err(ThrownAway::TooFar { deg: furthest });
        }
        let mut apart = 0.0_f64;
        for other in &self.agreed {
            let other = other.solve(book);
            for (a, b) in
                book.firing_differences(&this.edges_deg).zip(book.firing_differences(&other.edges_deg))
            {
                apart = apart.max((a - b).abs());
            }
        }
        if apart > cal.agree_deg {
            self.agreed.clear();
            return Err(ThrownAway::Disagrees { deg: apart });
        }
        self.agreed.push(std::mem::take(&mut self.now));
        Ok(self.agreed.len())
    }

    fn throw(&mut self, cal: &Cal, why: ThrownAway) -> Option<Event> {
        self.again(cal, Event::Thrown(why))
    }

    fn again(&mut self, cal: &Cal, event: Event) -> Option<Event> {
        self.times.clear();
        self.phase = if f64::from(self.attempts) >= cal.run_downs[1] { Phase::Off } else { Phase::Hold(0.0) };
        Some(event)
    }

    /// Called with each corrected window in steady fired cruise. At the end of a cycle the windows' deviations from
    /// even spacing go into slow means. When the means are old enough, they are returned as corrections of the table
    /// and averaging starts again. The effect of a weak cylinder on its window is attributed to the wheel: half of
    /// it, since its companion shares the sector.
    pub fn fired(
        &mut self,
        cal: &Cal,
        w: &Windows,
        (position, window_s): (usize, f64),
        (rpm, map_kpa): (f64, f64),
    ) -> Option<[f64; MAX_CYLINDERS]> {
        let [low, high, most_kpa, tau_s] = cal.refine;
        let n = w.count();
        if tau_s <= 0.0 || rpm < low || rpm > high || map_kpa > most_kpa {
            self.fired = 0;
            return None;
        }
        if position != usize::from(self.fired) % n {
            self.fired = 0;
            if position != 0 {
                return None;
            }
        }
        self.fired_s[position] = window_s;
        self.fired += 1;
        if usize::from(self.fired) < n {
            return None;
        }
        self.fired = 0;
        let cycle_s: f64 = self.fired_s[..n].iter().sum();
        let mean_s = cycle_s / n as f64;
        // a plain mean at first, and a running mean from a tenth of the time constant on
        self.fired_for_s += cycle_s;
        let share = cycle_s / self.fired_for_s.min(0.1 * tau_s).max(cycle_s);
        let slope = (self.fired_s[n - 1] - self.fired_s[0]) / (n as f64 - 1.0);
        for (k, t) in self.fired_s[..n].iter().enumerate() {
            let even = mean_s + slope * (k as f64 - 0.5 * (n as f64 - 1.0));
            let deg = w.span_deg() * (t / even - 1.0);
            self.fired_deg[k] += (deg - self.fired_deg[k]) * share;
        }
        if self.fired_for_s < 0.1 * tau_s {
            return None;
        }
        // a tenth of the time constant has passed: a tenth of the measured deviation goes into the table
        let mut add = [0.0; MAX_CYLINDERS];
        for (k, a) in add.iter_mut().enumerate().take(n) {
            *a = 0.1 * 0.5 * (self.fired_deg[k] + self.fired_deg[(k + n / 2) % n]);
        }
        let middle = add[..n].iter().sum::<f64>() / n as f64;
        add[..n].iter_mut().for_each(|a| *a -= middle);
        self.fired_deg = [0.0; MAX_CYLINDERS];
        self.fired_for_s = 0.0;
        Some(add)
    }

    fn give_up(&mut self, because: Failed) -> Option<Event> {
        self.stop();
        Some(Event::Failed(because))
    }
}
