//! From the ports to the ear: manifold, pipe, muffler, open end.
//!
//! **Models** one way for all cylinders, linear and the same at every load: a manifold that evens out the flow, a
//! pipe whose waves are thrown back at its far end, a muffler, an open end that radiates into the open.
//!
//! **Leaves out** what the gas's temperature does to the speed of sound, branches, the catalyst, the ground.
//!
//! **Parameters**: none from a car's file; every constant here is assumed, for a made-up pipe that is neither
//! quiet nor sporting.
//!
//! **Equations**
//! 1. Manifold: `dq/dt = (Q − q)/τ`.
//! 2. Pipe of length `L`, closed at the engine, thrown back with a share `R` and dulled at the far end:
//!    `y(t) = q(t) − R f(y(t − 2L/c))`: louder at `c/4L`, `3c/4L` and so on.
//! 3. Muffler, two poles: `z'' = ω₀² (y − z) − 2 D ω₀ z'`.
//! 4. Sound pressure of a small opening at a distance `r`, in the open: `p = ρ/(4π r) dz/dt`.
//!
//! **Checked by** `exact_…` here.

use crate::num;

/// Corner of the manifold \[Hz\].
const MANIFOLD_HZ: f64 = 700.0;
/// Length of the pipe \[m\], and speed of sound in gas of some 350 °C \[m/s\].
const PIPE_M: f64 = 1.6;
const SOUND_M_S: f64 = 500.0;
/// Share of a wave that is thrown back.
const THROWN_BACK: f64 = 0.45;
/// Corner of what is thrown back \[Hz\].
const DULL_HZ: f64 = 900.0;
/// Muffler: own frequency \[Hz\], damping \[-\].
const MUFFLER_HZ: f64 = 320.0;
const MUFFLER_DAMPING: f64 = 0.7;
/// Density of air around the ear \[kg/m³\], and its distance from the open end \[m\].
const AIR_KG_M3: f64 = 1.2;
const EAR_M: f64 = 1.0;

/// Share of the way that a first-order low pass with this corner goes in a sample.
fn share(hz: f64, rate_hz: f64) -> f64 {
    1.0 - num::exp(-std::f64::consts::TAU * hz / rate_hz)
}

/// The way from the ports to the ear.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pipe {
    rate_hz: f64,
    manifold_share: f64,
    dull_share: f64,
    muffler_step: f64,
    manifold: f64,
    dull: f64,
    /// Flow in the pipe, one round trip long.
    line: Vec<f64>,
    head: usize,
    /// Flow out of the muffler \[m³/s\], and its change in a sample.
    out: f64,
    change: f64,
}

impl Pipe {
    /// Without any flow.
    pub(super) fn new(rate_hz: f64) -> Self {
        let round_trip = (2.0 * PIPE_M / SOUND_M_S * rate_hz).round() as usize;
        Self {
            rate_hz,
            manifold_share: share(MANIFOLD_HZ, rate_hz),
            dull_share: share(DULL_HZ, rate_hz),
            muffler_step: std::f64::consts::TAU * MUFFLER_HZ / rate_hz,
            manifold: 0.0,
            dull: 0.0,
            line: vec![0.0; round_trip],
            head: 0,
            out: 0.0,
            change: 0.0,
        }
    }

    /// As if this flow \[m³/s\] had lasted for long: nothing is heard of it.
    pub(super) fn fill(&mut self, flow_m3_s: f64) {
        let even = flow_m3_s / (1.0 + THROWN_BACK);
        self.line.fill(even);
        (self.manifold, self.dull, self.out, self.change) = (flow_m3_s, even, even, 0.0);
    }

    /// Sound pressure at the ear \[Pa\] with this flow out of the ports \[m³/s\]; one sample.
    pub(super) fn sound_pa(&mut self, flow_m3_s: f64) -> f64 {
        // 1
        self.manifold += (flow_m3_s - self.manifold) * self.manifold_share;
        // 2
        self.dull += (self.line[self.head] - self.dull) * self.dull_share;
        let here = self.manifold - THROWN_BACK * self.dull;
        self.line[self.head] = here;
        self.head = if self.head + 1 == self.line.len() { 0 } else { self.head + 1 };
        // 3, by half-implicit steps: stable, since a sample is much shorter than a period
        let w = self.muffler_step;
        self.change += w * w * (here - self.out) - 2.0 * MUFFLER_DAMPING * w * self.change;
        self.out += self.change;
        // 4
        AIR_KG_M3 / (4.0 * std::f64::consts::PI * EAR_M) * self.change * self.rate_hz
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: f64 = 48_000.0;

    /// Loudness of a flow that swings by 1 m³/s at a frequency \[Hz\]: amplitude of the sound pressure \[Pa\].
    fn heard_pa(hz: f64) -> f64 {
        let mut pipe = Pipe::new(RATE_HZ);
        let flow = |n: usize| num::sin_deg(360.0 * hz * n as f64 / RATE_HZ);
        let (mut sin, mut cos) = (0.0, 0.0);
        // a second to settle, then a second to measure: whole periods at whole hertz
        for n in 0..2 * RATE_HZ as usize {
            let p = pipe.sound_pa(flow(n));
            if n >= RATE_HZ as usize {
                let deg = 360.0 * hz * n as f64 / RATE_HZ;
                sin += p * num::sin_deg(deg);
                cos += p * num::cos_deg(deg);
            }
        }
        2.0 / RATE_HZ * (sin * sin + cos * cos).sqrt()
    }

    /// By hand, with z = e^(jωT): manifold `s/(1 − (1 − s)/z)`, pipe `1/(1 + R d z^−N/(1 − (1 − d)/z))`, muffler
    /// `w²/(1 − 1/z)` over `1 − (1 − 2Dw)/z + w²/(1 − 1/z)`, all times `ρ/(4πr) · rate · (1 − 1/z)`.
    #[test]
    fn exact_response_of_the_whole_way() {
        type Complex = (f64, f64);
        let times = |a: Complex, b: Complex| (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0);
        let over = |a: Complex, b: Complex| {
            let n = b.0 * b.0 + b.1 * b.1;
            ((a.0 * b.0 + a.1 * b.1) / n, (a.1 * b.0 - a.0 * b.1) / n)
        };
        for hz in [6.0, 24.0, 78.0, 156.0, 234.0, 500.0, 1000.0] {
            let turn_deg = 360.0 * hz / RATE_HZ;
            let back = |n: f64| (num::cos_deg(n * turn_deg), -num::sin_deg(n * turn_deg));
            let less = |k: f64| (1.0 - k * back(1.0).0, -k * back(1.0).1);
            let (s, d) = (share(MANIFOLD_HZ, RATE_HZ), share(DULL_HZ, RATE_HZ));
            let manifold = over((s, 0.0), less(1.0 - s));
            let trip = back((2.0 * PIPE_M / SOUND_M_S * RATE_HZ).round());
            let thrown = times((THROWN_BACK, 0.0), over(times((d, 0.0), trip), less(1.0 - d)));
            let pipe = over((1.0, 0.0), (1.0 + thrown.0, thrown.1));
            let w = std::f64::consts::TAU * MUFFLER_HZ / RATE_HZ;
            let drive = over((w * w, 0.0), less(1.0));
            let own = less(1.0 - 2.0 * MUFFLER_DAMPING * w);
            // the flow out of the muffler of the last sample acts in this one
            let held = times(drive, back(1.0));
            let muffler = over(drive, (own.0 + held.0, own.1 + held.1));
            let air = AIR_KG_M3 / (4.0 * std::f64::consts::PI * EAR_M) * RATE_HZ;
            let all = times(times(manifold, pipe), times(muffler, times(less(1.0), (air, 0.0))));
            let by_hand = (all.0 * all.0 + all.1 * all.1).sqrt();
            let is = heard_pa(hz);
            assert!((is / by_hand - 1.0).abs() < 1e-3, "{hz} Hz: {is} for {by_hand}");
        }
    }

    /// A pipe closed at one end is loudest at a quarter of a wave: 500/(4 · 1.6) = 78 Hz, quietest at twice that.
    #[test]
    fn exact_pipe_resonates_at_a_quarter_wave() {
        let gain = |hz: f64| heard_pa(hz) / hz;
        assert!(gain(78.0) > 1.5 * gain(156.0), "{} {}", gain(78.0), gain(156.0));
    }

    /// A pipe that was filled with an even flow is silent as long as that lasts.
    #[test]
    fn exact_even_flow_is_silent() {
        let mut pipe = Pipe::new(RATE_HZ);
        pipe.fill(0.01);
        let loudest = (0..48_000).map(|_| pipe.sound_pa(0.01).abs()).fold(0.0, f64::max);
        assert!(loudest < 1e-9, "{loudest}");
    }
}
