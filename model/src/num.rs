//! Arithmetic that gives the same bytes on every machine.
//!
//! *Inside*: the mathematical functions of a pure-Rust library, tables with an edge rule, first-order
//! lags, and seeded random streams named by their consumer. *Outside*: physics.
//!
//! Rule: nothing else in the program calls the platform's `sin`, `exp`, `powf` and kin. They may differ
//! in the last bit from one machine to the next, and a replayed run would drift apart.
//!
//! Normal draws are made here (Box and Muller 1958) and not with a sampler crate: such samplers take
//! their logarithms from whatever another crate in the same build has switched on.

use crate::units;
use rand_core::{Rng, SeedableRng, TryRng};
use rand_pcg::Pcg64Mcg;
use serde::{Deserialize, Serialize};
use std::cell::Cell;
use std::sync::LazyLock;

/// e to the x.
#[inline]
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}
/// Natural logarithm.
#[inline]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}
/// x to the y, for x > 0.
#[inline]
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}
/// Sine of degrees.
pub fn sin_deg(deg: f64) -> f64 {
    libm::sin(deg.to_radians())
}
/// Cosine of degrees.
pub fn cos_deg(deg: f64) -> f64 {
    libm::cos(deg.to_radians())
}
/// Arcsine in radians.
pub fn asin(x: f64) -> f64 {
    libm::asin(x)
}
/// A piecewise linear table. Edge rule: the end values hold beyond the ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<[f64; 2]>", into = "Vec<[f64; 2]>")]
pub struct Table {
    points: Vec<[f64; 2]>,
    /// Slope from each point to the next, and one over it: a product is quicker than a division.
    slopes: Vec<[f64; 2]>,
}

impl TryFrom<Vec<[f64; 2]>> for Table {
    type Error = String;
    fn try_from(points: Vec<[f64; 2]>) -> Result<Self, String> {
        if points.is_empty() {
            return Err("a table needs at least one [x, y] pair".into());
        }
        if points.iter().flatten().any(|v| !v.is_finite()) {
            return Err("a table's numbers must be finite".into());
        }
        if points.windows(2).any(|w| w[1][0] <= w[0][0]) {
            return Err("a table's x values must rise from pair to pair".into());
        }
        let slope = |w: &[[f64; 2]]| {
            let (dx, dy) = (w[1][0] - w[0][0], w[1][1] - w[0][1]);
            [dy / dx, dx / dy]
        };
        let slopes = points.windows(2).map(slope).collect();
        Ok(Self { points, slopes })
    }
}

impl From<Table> for Vec<[f64; 2]> {
    fn from(table: Table) -> Self {
        table.points
    }
}

impl Table {
    /// Value at `x`, linear between points, constant beyond the ends.
    #[inline]
    pub fn at(&self, x: f64) -> f64 {
        let (first, rest) = self.ends();
        if x <= first[0] {
            return first[1];
        }
        let mut from = first;
        for (to, [slope, _]) in rest.iter().zip(&self.slopes) {
            if x < to[0] {
                return from[1] + (x - from[0]) * slope;
            }
            from = to;
        }
        from[1]
    }
    /// The pairs, in rising x.
    pub fn points(&self) -> &[[f64; 2]] {
        &self.points
    }
    /// Inverse of a table whose y values rise or fall strictly; the end x values hold beyond the ends.
    pub fn inverse_at(&self, y: f64) -> f64 {
        let p = &self.points;
        // two loops, so that the direction is not tested at every pair
        if p[p.len() - 1][1] >= p[0][1] {
            self.inverse(y, |a, b| a < b)
        } else {
            self.inverse(y, |a, b| a > b)
        }
    }
    #[inline]
    fn inverse(&self, y: f64, before: impl Fn(f64, f64) -> bool) -> f64 {
        let (first, rest) = self.ends();
        if !before(first[1], y) {
            return first[0];
        }
        let mut from = first;
        for (to, [_, per_slope]) in rest.iter().zip(&self.slopes) {
            if before(y, to[1]) {
                return from[0] + (y - from[1]) * per_slope;
            }
            from = to;
        }
        from[0]
    }
    /// The first pair and the others.
    #[inline]
    fn ends(&self) -> (&[f64; 2], &[[f64; 2]]) {
        self.points.split_first().expect("a table has a pair")
    }
}

/// A smooth function tabulated once at equal intervals from zero, linear in between: for values that the innermost
/// loop needs thousands of times a cycle. The caller states the error that the interval leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// Each value, and the next one less it.
    values: Vec<[f64; 2]>,
    per_x: f64,
    /// Index of the last interval.
    last: i32,
}

impl Sampled {
    /// `f` from 0 to `to` in `parts` equal parts.
    pub fn new(to: f64, parts: usize, f: impl Fn(f64) -> f64) -> Self {
        let per_x = parts as f64 / to;
        let at = |i: usize| f(i as f64 / per_x);
        let values = (0..=parts).map(|i| [at(i), at(i + 1) - at(i)]).collect();
        Self { values, per_x, last: parts as i32 }
    }
    /// The value at `x`; extrapolated along the last interval beyond the end, along the first below zero.
    #[inline]
    pub fn at(&self, x: f64) -> f64 {
        let along = x * self.per_x;
        // through a 32-bit integer: processors convert those to and from floats faster
        let i = (along as i32).min(self.last).max(0);
        let [value, rise] = self.values[i as usize];
        value + (along - f64::from(i)) * rise
    }
}

/// A smooth function tabulated once as a cubic in each of equal intervals, by its values and slopes at their ends:
/// `h⁴/384` of the fourth derivative off at most. For powers that are needed in every crank step.
#[derive(Debug, Clone, PartialEq)]
pub struct Cubic {
    /// Coefficients over the share of the interval that is covered.
    parts: Vec<[f64; 4]>,
    from: f64,
    per_x: f64,
    last: i32,
}

impl Cubic {
    /// `f`, which gives value and slope, over `from` to `to` in `parts` equal parts.
    pub fn new((from, to): (f64, f64), parts: usize, f: impl Fn(f64) -> (f64, f64)) -> Self {
        let h = (to - from) / parts as f64;
        let of = |i: usize| {
            let ((a, da), (b, db)) = (f(from + h * i as f64), f(from + h * (i + 1) as f64));
            let (da, db, rise) = (h * da, h * db, b - a);
            [a, da, 3.0 * rise - 2.0 * da - db, da + db - 2.0 * rise]
        };
        Self { parts: (0..parts).map(of).collect(), from, per_x: 1.0 / h, last: parts as i32 - 1 }
    }
    /// The value at `x`, which is meant to lie between the ends; beyond them the outermost cubics go on.
    #[inline]
    pub fn at(&self, x: f64) -> f64 {
        let along = (x - self.from) * self.per_x;
        let i = (along as i32).min(self.last).max(0);
        let [a, b, c, d] = self.parts[i as usize];
        let t = along - f64::from(i);
        a + t * (b + t * (c + t * d))
    }
}

/// `x.rem_euclid(whole)`, to the last bit, for a positive whole.
#[inline]
pub fn wrapped(x: f64, whole: f64) -> f64 {
    // an angle is seldom more than one turn off, and a remainder is slow to compute
    if (0.0..whole).contains(&x) {
        x
    } else if (whole..2.0 * whole).contains(&x) {
        x - whole
    } else {
        x.rem_euclid(whole)
    }
}

/// The nearest whole number, halves upwards; 0 for what is less, or not a number. Meant for ticks of a timer.
#[inline]
pub fn whole(x: f64) -> u64 {
    // what `round` does to a positive number, without a call into the system's library
    let below = x.max(0.0) as i64;
    (below + i64::from(x - below as f64 >= 0.5)) as u64
}

/// e to the −x from 0 to 32, in steps of a sixteenth.
static DECAY: LazyLock<Cubic> = LazyLock::new(|| Cubic::new((0.0, 32.0), 512, |x| (exp(-x), -exp(-x))));

/// e to the −x for x ≥ 0, within 1e-7 of itself up to 32 and 0 from there: for laws that are worked out in every sample,
/// where `exp` would take most of the time.
#[inline]
pub fn decay(x: f64) -> f64 {
    if x < 32.0 { DECAY.at(x) } else { 0.0 }
}

thread_local! {
    /// Shares as they were last worked out, with their step and time constant \[s\] bit by bit.
    static SHARES: [Cell<(u64, u64, f64)>; 256] = const { [const { Cell::new((0, 0, 0.0)) }; 256] };
}

/// Share of the way that a first-order lag covers in `dt_s` with time constant `tau_s`; exact for a constant input, 1
/// for a vanishing time constant. Kept from call to call, since steps and time constants nearly always are the same; a
/// kept share equals a computed one bit for bit, since the two numbers alone decide it.
#[inline]
pub fn lag_share(dt_s: f64, tau_s: f64) -> f64 {
    if tau_s <= 0.0 {
        return 1.0;
    }
    let (dt, tau) = (dt_s.to_bits(), tau_s.to_bits());
    // the upper bits of the product depend on all bits of both
    let place = (dt.rotate_left(7) ^ tau).wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 56;
    SHARES.with(|all| {
        let kept = &all[place as usize];
        let (of_dt, of_tau, mut share) = kept.get();
        if (of_dt, of_tau) != (dt, tau) {
            share = 1.0 - exp(-dt_s / tau_s);
            kept.set((dt, tau, share));
        }
        share
    })
}

/// A random stream owned by one consumer. Adding a consumer does not shift the others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stream {
    rng: Pcg64Mcg,
    spare: Option<f64>,
}

impl Stream {
    /// The stream of consumer `name` (for example `burn.cyl3`) under `seed`.
    pub fn new(seed: u64, name: &str) -> Self {
        // FNV-1a over the name, then the generator's own seed mixing.
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in name.bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        let mut rng = Pcg64Mcg::seed_from_u64(seed.rotate_left(29) ^ hash);
        rng.next_u64();
        Self { rng, spare: None }
    }
    /// Uniform in \[0, 1).
    pub fn uniform(&mut self) -> f64 {
        (self.rng.next_u64() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }
    /// Standard normal, by the polar-free form of Box and Muller: two uniforms make two normals.
    pub fn normal(&mut self) -> f64 {
        if let Some(z) = self.spare.take() {
            return z;
        }
        let u = 1.0 - self.uniform();
        let v = self.uniform();
        let r = (-2.0 * ln(u)).sqrt();
        let angle_deg = 360.0 * v;
        self.spare = Some(r * sin_deg(angle_deg));
        r * cos_deg(angle_deg)
    }
    /// Normal with standard deviation `sigma`, cut at two standard deviations by drawing again.
    pub fn cut_normal(&mut self, sigma: f64) -> f64 {
        loop {
            let z = self.normal();
            if z.abs() <= 2.0 {
                return z * sigma;
            }
        }
    }
    /// Nearly normal, zero mean, unit variance: four 16-bit uniforms summed. For small jitter drawn
    /// thousands of times a second, where the tails beyond 3.4 do not matter.
    #[inline]
    pub fn jitter(&mut self) -> f64 {
        let bits = self.rng.next_u64();
        let sum = (bits & 0xffff) + ((bits >> 16) & 0xffff) + ((bits >> 32) & 0xffff) + (bits >> 48);
        // variance of one 16-bit uniform is 65536²/12 (less a part in 4e9); four of them a third of 65536².
        (sum as f64 - 131_070.0) * (1.732_050_807_568_877_2 / 65_536.0)
    }
}

/// For samplers of other crates. Do not use those that take logarithms or powers: see above.
impl TryRng for Stream {
    type Error = std::convert::Infallible;
    fn try_next_u32(&mut self) -> Result<u32, Self::Error> {
        Ok((self.rng.next_u64() >> 32) as u32)
    }
    fn try_next_u64(&mut self) -> Result<u64, Self::Error> {
        Ok(self.rng.next_u64())
    }
    fn try_fill_bytes(&mut self, dst: &mut [u8]) -> Result<(), Self::Error> {
        self.rng.fill_bytes(dst);
        Ok(())
    }
}

/// Isentropic flow through an orifice per effective area and upstream √(R T)/p: the dimensionless
/// flow function, choked below the critical pressure ratio. `gamma` is the ratio of heat capacities.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowFunction {
    gamma: f64,
    /// ratio^(1/γ) from the critical ratio to 1, within 1e-12.
    root: Cubic,
    critical: f64,
    choked: f64,
    /// Slope of the straight last thousandth.
    near: f64,
}

impl FlowFunction {
    /// For a gas with ratio of heat capacities `gamma` (> 1).
    pub fn new(gamma: f64) -> Self {
        let critical = pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0));
        let choked = gamma.sqrt() * pow(2.0 / (gamma + 1.0), (gamma + 1.0) / (2.0 * (gamma - 1.0)));
        let root = Cubic::new((critical, 1.0), 128, |ratio| {
            let root = pow(ratio, 1.0 / gamma);
            (root, root / (gamma * ratio))
        });
        let mut f = Self { gamma, root, critical, choked, near: 0.0 };
        f.near = 1000.0 * f.unchoked(0.999);
        f
    }
    /// Critical ratio of downstream to upstream pressure.
    pub fn critical_ratio(&self) -> f64 {
        self.critical
    }
    /// Flow function at the ratio of downstream to upstream pressure. Above 0.999 the slope would be
    /// infinite; the last thousandth is linear so that nearly equal pressures do not chatter.
    #[inline]
    pub fn at(&self, ratio: f64) -> f64 {
        if ratio <= self.critical {
            return self.choked;
        }
        if ratio >= 0.999 {
            return if ratio >= 1.0 { 0.0 } else { self.near * (1.0 - ratio) };
        }
        self.unchoked(ratio)
    }
    /// Slope of the straight last thousandth: flow function over one less the ratio.
    pub fn near_slope(&self) -> f64 {
        self.near
    }
    fn unchoked(&self, ratio: f64) -> f64 {
        let g = self.gamma;
        let r = self.root.at(ratio);
        // pr^(2/g) − pr^((g+1)/g), the second as ratio · pr^(1/g)
        ((2.0 * g / (g - 1.0)) * (r * r - ratio * r)).max(0.0).sqrt()
    }
}

/// Highest speed \[rpm\] and manifold pressure \[kPa\] of a cold idle: up to these a film evaporates as its table says.
const FILM_RPM: f64 = 1250.0;
const FILM_KPA: f64 = 40.0;

/// How many times faster than at idle the fuel film in a port evaporates \[-\], at an engine speed \[rpm\] and a manifold
/// pressure \[kPa\]. Mass transfer to a turbulent stream goes with its mass flow to the power of 0.8 (Gilliland and
/// Sherwood 1934 measured 0.83; from memory), and the share of vapour in the stream with 1/p; mass flow goes with speed and
/// pressure. Never below 1: the tables of time constants are those of cranking and idle.
pub fn film_pace(rpm: f64, kpa: f64) -> f64 {
    (pow(rpm / FILM_RPM, 0.8) * pow(FILM_KPA / kpa.max(1.0), 0.2)).max(1.0)
}

/// Density of the standard atmosphere's troposphere \[kg/m³\] at a height \[m\] from 0 to 11 000.
pub fn standard_density(height_m: f64) -> f64 {
    let t = 288.15 - 0.0065 * height_m;
    let p = units::STANDARD_PRESSURE_PA * pow(t / 288.15, 9.806_65 / (287.053 * 0.0065));
    p / (287.053 * t)
}
