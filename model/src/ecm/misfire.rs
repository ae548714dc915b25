//! Misfire: finds which cylinder misfired from the time that its part of the turn took.
//!
//! **Models** the window of each firing, which begins at a fixed angle after top dead centre; its time corrected by
//! the wheel table; an index that hardly depends on speed; limits by speed and load; counts by cylinder in blocks of
//! 200 and 1000 turns; and the conditions under which nothing is counted.
//!
//! **Leaves out** diesel, exhaust pressure, ion current; driveline oscillation.
//!
//! *Why neighbouring windows and not the same part of the wheel a turn before*: such a difference would cancel the
//! wheel's errors without any table, but on a four-cylinder engine each part of the wheel belongs to two cylinders in
//! turn, and a fault in both of them would cancel as well.
//!
//! **State** ([`State`]): window times, differences, counts, blocks, injectors cut.
//!
//! **Equations**
//! 1. `T' = T · span/(span + Δe)`, Δe from the wheel table; without a table T' = T.
//! 2. `l_n = ½ (1/T'_{n−1}² − 1/T'_n²)`, exactly the loss of ½Jω²: if the work W is missing, half of it between the
//!    middles of the two windows, then `l = W/(2 J span²)`, independent of speed, however far speed falls. For a small
//!    loss it is the difference of times over the cube (form of Klenk et al., SAE 930399, from memory). A dead
//!    cylinder at idle under load lets speed fall by a third from one window to the next. Divided by the cube of the
//!    longer window, half of its index would be lost, and the misfires at idle would not be counted.
//!    `d_n = l_n − trend`, trend the median of the last cycle's losses. A steady torque changes ω² by the same from
//!    window to window, at any speed; the times' differences fall with the cube of speed, and their median would lag
//!    behind an engine that is revved without load.
//! 3. A misfire also lengthens the next window: `w_n = d_n − echo · w_{n−1}` after a counted one.
//! 4. A misfire is counted where `w_n` exceeds the limit at the present speed and manifold pressure.
//!    `idlewright calibrate` determines the limits from the healthy engine; they are stored in the car's file.
//! 5. Blocks and cylinders as in 13 CCR 1968.2 (e)(3): above the catalyst share in 200 turns, above the emission
//!    share in 1000 (the first after a start, or four in a trip); over 90 % in one cylinder: only the code of that
//!    cylinder; two or more over 10 % each: the multiple-cylinder code as well (rules read; block sizes from memory).
//!    A block that harms the catalyst counts at once if the engine works harder than in the certification cycle;
//!    within the cycle's speeds and loads three such blocks in a trip are required, unless a misfire code is already
//!    pending (from memory). The lamp blinks from then on, as long as such blocks occur (from memory).
//! 6. The monitor is active above the pressure at which the engine only turns itself, the positive-torque line of the
//!    rule: `p₀(n, p_a) = p₀(n) − s (p_book − p_a)`. Lower ambient pressure lowers the line, since less residual gas
//!    remains and less work goes into pumping. Idle with the car stationary lies on that line by definition.
//!
//! **Checked by** `tests/module/misfire.rs`.

use crate::ecm::Nameplate;
use crate::ecm::inputs;
use crate::ecm::memory::WheelTable;
use crate::num::Table;
use crate::signals::{MAX_CYLINDERS, TICKS_PER_S};
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// The `[module.misfire]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Angle after its cylinder's top dead centre at which a window begins \[deg\].
    pub window_deg: f64,
    /// Share of a misfire's index that reappears in the next window \[-\].
    pub echo: f64,
    /// Speeds of the limits' rows \[rpm\].
    pub rpm: Vec<f64>,
    /// Manifold pressures of the limits' columns \[kPa\].
    pub map_kpa: Vec<f64>,
    /// Limits \[1/s²\], a row for each speed.
    pub limit: Vec<Vec<f64>>,
    /// Manifold pressure at which the engine only turns itself, with no alternator load, at the ambient pressure of
    /// the nominal tables \[kPa\], over speed \[rpm\].
    pub no_load_kpa: Table,
    /// Decrease of that pressure with falling ambient pressure \[kPa/kPa\].
    pub no_load_ambient: f64,
    /// Highest speed at which misfires are counted; the same without a learned wheel table \[rpm\].
    pub up_to_rpm: [f64; 2],
    /// Fastest change of manifold pressure at which misfires are counted \[kPa/s\].
    pub steady_kpa_s: f64,
    /// Share of firings that harms the catalyst \[%\], over speed \[rpm\]; at least 5.
    pub catalyst_pct: Table,
    /// Highest mean speed \[rpm\] and highest mean manifold pressure \[kPa\] of 200 turns in the certification cycle.
    pub cycle: [f64; 2],
    /// Share of firings that harms emissions \[%\]; at least 1.
    pub emission_pct: f64,
    /// Number of consecutive harmful blocks of 200 turns after which the injector of a single bad cylinder is cut.
    pub cut_blocks: f64,
    /// A confirmed misfire makes the wheel table suspect until it is learned again.
    pub doubts_table: bool,
    /// Rough road: spread of wheel speed \[km/h rms\], hold-off after it \[s\].
    pub rough: [f64; 2],
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.misfire";
        between(s, "window_deg", self.window_deg, 0.0, 90.0)?;
        between(s, "echo", self.echo, 0.0, 1.0)?;
        between(s, "up_to_rpm[0]", self.up_to_rpm[0], 1000.0, 9000.0)?;
        between(s, "up_to_rpm[1]", self.up_to_rpm[1], 0.0, self.up_to_rpm[0])?;
        between(s, "no_load_ambient", self.no_load_ambient, 0.0, 1.0)?;
        between(s, "cycle[0]", self.cycle[0], 1000.0, 9000.0)?;
        between(s, "cycle[1]", self.cycle[1], 20.0, 110.0)?;
        between(s, "steady_kpa_s", self.steady_kpa_s, 1.0, 10_000.0)?;
        between(s, "emission_pct", self.emission_pct, 1.0, 50.0)?;
        between(s, "cut_blocks", self.cut_blocks, 1.0, 1000.0)?;
        between(s, "rough[0]", self.rough[0], 0.0, 20.0)?;
        between(s, "rough[1]", self.rough[1], 0.0, 60.0)?;
        for p in self.catalyst_pct.points() {
            between(s, "catalyst_pct", p[1], 5.0, 100.0)?;
        }
        let rule = |key: &str, rule: ParamRule| Err(ParamError::new(s, key, rule));
        for (key, axis) in [("rpm", &self.rpm), ("map_kpa", &self.map_kpa)] {
            if axis.is_empty() || axis.windows(2).any(|w| w[1] <= w[0]) {
                return rule(key, ParamRule::Rising);
            }
        }
        if self.limit.len() != self.rpm.len() || self.limit.iter().any(|r| r.len() != self.map_kpa.len()) {
            return rule("limit", ParamRule::Table);
        }
        for x in self.limit.iter().flatten() {
            between(s, "limit", *x, 0.1, 10_000.0)?;
        }
        if self.window_deg % 6.0 != 0.0 {
            return rule("window_deg", ParamRule::WholeTeeth);
        }
        Ok(())
    }
    /// (4) The limit at a speed \[rpm\] and a manifold pressure \[kPa\], in 1/s².
    pub fn limit_at(&self, rpm: f64, map_kpa: f64) -> f64 {
        let (i, f) = along(&self.rpm, rpm);
        let (j, g) = along(&self.map_kpa, map_kpa);
        let row = |i: usize| {
            let r = &self.limit[i];
            r[j] + g * (r[(j + 1).min(r.len() - 1)] - r[j])
        };
        row(i) + f * (row((i + 1).min(self.rpm.len() - 1)) - row(i))
    }
}

impl Cal {
    /// (2, 4) Smallest difference between the wheel-table errors of neighbouring windows at which a healthy engine's
    /// index reaches the limit at some monitored speed \[deg\]; `span_deg` is the width of a window.
    pub fn table_error_counted_deg(&self, span_deg: f64) -> f64 {
        let fastest = self.up_to_rpm[0];
        let speeds = self.rpm.iter().copied().filter(|n| *n < fastest).chain([fastest]);
        let cubed = span_deg * span_deg * span_deg;
        // index d of a window whose width is wrong by a share ε: ε / T², with T = span / (6 n)
        let error = |n: f64| self.limit_at(n, self.no_load_kpa.at(n)) * cubed / (36.0 * n * n);
        speeds.map(error).fold(f64::INFINITY, f64::min)
    }
    /// (6) Manifold pressure at which the engine only turns itself \[kPa\].
    pub fn no_load_at(&self, rpm: f64, ambient_kpa: f64) -> f64 {
        self.no_load_kpa.at(rpm) - self.no_load_ambient * (inputs::BOOK_AMBIENT_KPA - ambient_kpa)
    }
}

/// Place of x on an axis: the point at or before it and the share of the way to the next.
fn along(axis: &[f64], x: f64) -> (usize, f64) {
    let last = axis.len() - 1;
    let i = axis.iter().rposition(|a| *a <= x).unwrap_or(0);
    if i == last || x <= axis[0] {
        return (i, 0.0);
    }
    (i, (x - axis[i]) / (axis[i + 1] - axis[i]))
}

/// Margin below the positive-torque line within which an engine still counts as turning itself \[kPa\]: sensors, oil,
/// accessories.
const LINE_KPA: f64 = 2.0;
/// Turns of an emission block, and of the first block, which begins at the start however much of it is monitored.
const LONG_TURNS: f64 = 1000.0;
/// Number of harmful blocks within the certification cycle's speeds and loads that set a code.
const OCCASIONS: u32 = 3;
/// Time over which a change of manifold pressure is judged \[s\].
const STEADY_S: f64 = 0.2;

/// Positions of the windows, computed once.
#[derive(Debug, Clone, PartialEq)]
pub struct Windows {
    /// By tooth and turn: the position in the firing order whose window ends there.
    ends: Vec<[Option<u8>; 2]>,
    /// Tooth at which the window of a position begins, and at which it ends.
    teeth: Vec<(u8, u8)>,
    span_deg: f64,
    cylinders: usize,
}

impl Windows {
    /// For an evenly firing engine; an error if a window would begin in the gap.
    pub fn new(cal: &Cal, plate: &Nameplate, first_tooth_btdc_deg: f64) -> Result<Self, ParamError> {
        let n = plate.firing_order.len();
        let span = 720 / n as i64;
        let start = first_tooth_btdc_deg as i64 + cal.window_deg as i64;
        let mut ends = vec![[None; 2]; 58];
        let mut teeth = Vec::new();
        for j in 0..n as i64 {
            // from the first edge of the turn whose gap lies before cylinder 1's top
            let at = |j: i64| (start + span * j).rem_euclid(720);
            let (from, to) = (at(j), at(j + 1));
            let tooth = |deg: i64| (deg % 360) / 6;
            if tooth(to) > 57 || tooth(from) > 57 {
                return Err(ParamError::new("module.misfire", "window_deg", ParamRule::InGap));
            }
            // the turn that begins before cylinder 1's firing top is the cycle's second by the cam
            let second = to < 360;
            ends[tooth(to) as usize][usize::from(second)] = Some(j as u8);
            teeth.push((tooth(from) as u8, tooth(to) as u8));
        }
        Ok(Self { ends, teeth, span_deg: span as f64, cylinders: n })
    }
    /// Δe of a position from a list of edge errors \[deg\].
    pub fn error_deg(&self, position: usize, edges_deg: &[f64]) -> f64 {
        let (from, to) = self.teeth[position];
        edges_deg[usize::from(to)] - edges_deg[usize::from(from)]
    }
    /// Adds corrections to the edges: `add_deg` is the increase of each window's error, the same for windows
    /// that share a sector of the wheel; between the windows' ends the correction is interpolated.
    pub fn bend(&self, edges_deg: &mut [f64], add_deg: &[f64]) {
        let sectors = self.cylinders / 2;
        let mut at: Vec<(f64, f64)> = Vec::with_capacity(sectors + 2);
        let mut sum = 0.0;
        for (p, add) in add_deg.iter().enumerate().take(sectors) {
            at.push((f64::from(self.teeth[p].0), sum));
            sum += add;
        }
        at.sort_by(|a, b| a.0.total_cmp(&b.0));
        // the turn is closed: the last point precedes the first, the first follows the last
        let (first, last) = (at[0], at[at.len() - 1]);
        at.insert(0, (last.0 - 60.0, last.1));
        at.push((first.0 + 60.0, first.1));
        for (k, e) in edges_deg.iter_mut().enumerate() {
            let x = k as f64;
            let i = at.iter().rposition(|p| p.0 <= x).unwrap_or(0).min(at.len() - 2);
            let (a, b) = (at[i], at[i + 1]);
            *e += a.1 + (x - a.0) / (b.0 - a.0) * (b.1 - a.1);
        }
        let middle = edges_deg.iter().sum::<f64>() / edges_deg.len().max(1) as f64;
        edges_deg.iter_mut().for_each(|e| *e -= middle);
    }
    /// Span of a window \[deg\].
    pub fn span_deg(&self) -> f64 {
        self.span_deg
    }
    /// Positions in the firing order.
    pub fn count(&self) -> usize {
        self.cylinders
    }
}

/// Counts of one block.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Block {
    /// Windows monitored.
    pub windows: u32,
    /// Counted misfires by cylinder, from 0.
    pub counts: [u32; MAX_CYLINDERS],
    /// Sums of speed and pressure, for the mean conditions.
    sums: [f64; 2],
}

impl Block {
    /// Total number of counted misfires.
    pub fn total(&self) -> u32 {
        self.counts.iter().sum()
    }
    /// Share of firings \[%\].
    pub fn pct(&self) -> f64 {
        100.0 * f64::from(self.total()) / f64::from(self.windows.max(1))
    }
    /// Mean speed \[rpm\] and manifold pressure \[kPa\].
    pub fn conditions(&self) -> [f64; 2] {
        self.sums.map(|s| s / f64::from(self.windows.max(1)))
    }
    /// Cylinders (bit 0 for the first) that a code should name, and whether the multiple code is due.
    pub fn accused(&self) -> (u8, bool) {
        let total = f64::from(self.total()).max(1.0);
        let over = |share: f64| {
            (0..MAX_CYLINDERS)
                .filter(|c| f64::from(self.counts[*c]) > share * total)
                .fold(0_u8, |mask, c| mask | 1 << c)
        };
        match over(0.9) {
            0 => (over(0.1), true),
            alone => (alone, false),
        }
    }
}

/// Verdict at the end of a block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// Over a limit: the cylinders to name, the multiple code, in the first 1000 turns after a start.
    Bad {
        /// Cylinders, bit 0 for the first.
        cylinders: u8,
        /// More than one.
        multiple: bool,
        /// In the first 1000 turns after a start.
        early: bool,
    },
    /// A block of 1000 turns under the limits; its mean speed \[rpm\] and pressure \[kPa\].
    Good([f64; 2]),
    /// These injectors are cut for the rest of the trip (bit 0 for the first).
    Cut(u8),
}

/// Conditions, every 10 ms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Time for which the engine has run under its own power \[s\].
    pub running_s: f64,
    /// Fuel cut.
    pub cut: bool,
    /// Speed \[rpm\].
    pub rpm: f64,
    /// Manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Ambient pressure as known to the module \[kPa\].
    pub ambient_kpa: f64,
    /// Idle control is active and the car is stationary: the engine only turns itself, whatever the pressure.
    pub at_idle: bool,
    /// Wheel speed \[km/h\].
    pub road_km_h: f64,
    /// The wheel table is learned.
    pub learned: bool,
    /// A running routine itself disturbs engine speed.
    pub busy: bool,
}

/// Why nothing is counted at present.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Off {
    /// Misfires are counted.
    #[default]
    Watching,
    /// Not running long enough.
    Starting,
    /// Fuel cut, or the engine is driven by the car.
    Overrun,
    /// Manifold pressure changes fast.
    Unsteady,
    /// Rough road.
    RoughRoad,
    /// Speed too high to detect misfires, with the wheel table or without.
    TooFast,
}

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Why nothing is counted, if so.
    pub off: Off,
    last_tick: u64,
    last_position: u8,
    /// Corrected time of the last window \[s\], and the losses of the last cycle \[1/s²\].
    last_s: f64,
    lost: [f64; MAX_CYLINDERS],
    known: u32,
    /// Corrected time of the last window \[s\].
    pub window_s: f64,
    /// The index of the last window \[1/s²\].
    pub index: f64,
    /// The index before the echo of a misfire was subtracted \[1/s²\].
    pub raw: f64,
    /// Position of the last window.
    pub position: u8,
    /// Windows with an index so far.
    pub windows: u64,
    /// The last window was counted.
    pub counted: bool,
    echo: f64,
    /// Current block of 200 turns.
    pub short: Block,
    /// Last complete block of 200 turns.
    pub last_short: Block,
    /// Current block of 1000 turns.
    pub long: Block,
    /// Turns since the start, monitored or not.
    pub turns: f64,
    /// The block of the first 1000 turns is over.
    first_over: bool,
    bad_long: u32,
    bad_short: u32,
    /// Harmful blocks in this trip, within the certification cycle's speeds and loads.
    occasions: u32,
    /// A verdict of misfire was given in this trip.
    told: bool,
    /// Misfires counted in this trip, by cylinder.
    pub trip: [u32; MAX_CYLINDERS],
    /// Harmful to the catalyst: the lamp blinks.
    pub blink: bool,
    /// Injectors cut for the rest of the trip.
    pub cut: [bool; MAX_CYLINDERS],
    map_kpa: f64,
    road_mean: f64,
    road_spread: f64,
    rough_s: f64,
    ready: bool,
    long_ready: bool,
}

impl State {
    /// Key on: a new trip.
    pub fn key_on(&mut self) {
        *self = Self::default();
    }
    /// The road shakes the wheels, or did a moment ago.
    pub fn rough_road(&self) -> bool {
        self.rough_s > 0.0
    }
    /// Codes were cleared, and the counts with them; an injector that was cut because of the counts is fed again.
    pub fn forget(&mut self) {
        self.cut = [false; MAX_CYLINDERS];
        (self.short, self.last_short, self.long) = Default::default();
        (self.bad_long, self.bad_short, self.occasions) = (0, 0, 0);
        (self.told, self.blink) = (false, false);
        self.trip = [0; MAX_CYLINDERS];
    }

    /// Every 10 ms: whether anything is counted.
    pub fn fast(&mut self, cal: &Cal, l: &Inputs, dt_s: f64) {
        self.count_turns(l, dt_s);
        // against its mean over some tenths of a second: sampled between firings, it fluctuates by itself
        let change = (l.map_kpa - self.map_kpa) / STEADY_S;
        self.map_kpa += (l.map_kpa - self.map_kpa) * (dt_s / STEADY_S).min(1.0);
        // rough road: spread of wheel speed about its own mean over a second
        let share = dt_s.min(1.0);
        self.road_mean += (l.road_km_h - self.road_mean) * (4.0 * share).min(1.0);
        let off = l.road_km_h - self.road_mean;
        self.road_spread += (off * off - self.road_spread) * (2.0 * share).min(1.0);
        self.rough_s = if self.road_spread.sqrt() > cal.rough[0] {
            cal.rough[1]
        } else {
            (self.rough_s - dt_s).max(0.0)
        };
        let fastest = cal.up_to_rpm[usize::from(!l.learned)];
        self.off = if l.running_s < 2.0 {
            Off::Starting
        } else if l.cut || l.busy || !l.at_idle && l.map_kpa < cal.no_load_at(l.rpm, l.ambient_kpa) - LINE_KPA
        {
            Off::Overrun
        } else if l.rpm > fastest {
            Off::TooFast
        } else if change.abs() > cal.steady_kpa_s {
            Off::Unsteady
        } else if self.rough_s > 0.0 {
            Off::RoughRoad
        } else {
            Off::Watching
        };
        if self.off != Off::Watching {
            self.known = 0;
            self.last_tick = 0;
        }
    }

    /// Turns since the start: a new start begins a new first block.
    fn count_turns(&mut self, l: &Inputs, dt_s: f64) {
        if l.running_s > 0.0 {
            self.turns += l.rpm / 60.0 * dt_s;
        } else if self.turns > 0.0 {
            self.turns = 0.0;
            self.first_over = false;
            (self.short, self.long) = Default::default();
        }
    }

    /// Called at each edge. `Some` when the window of [`State::position`] has ended; true if it has an index.
    #[inline]
    pub fn edge(
        &mut self,
        (cal, w): (&Cal, &Windows),
        table: &WheelTable,
        (tooth, second): (usize, bool),
        tick: u64,
        (rpm, map_kpa): (f64, f64),
        cylinder_of: &[u8],
    ) -> Option<bool> {
        let position = w.ends[tooth][usize::from(second)]?;
        let before = std::mem::replace(&mut self.last_tick, tick);
        let follows = (usize::from(self.last_position) + 1) % w.cylinders == usize::from(position);
        self.last_position = position;
        self.position = position;
        self.counted = false;
        if before == 0 || !follows || tick <= before {
            self.known = 0;
            return Some(false);
        }
        let mut t = (tick - before) as f64 / TICKS_PER_S;
        if table.learned {
            t *= w.span_deg / (w.span_deg + w.error_deg(usize::from(position), &table.edges_deg));
        }
        self.window_s = t;
        let n = w.cylinders;
        let d = t - std::mem::replace(&mut self.last_s, t);
        if self.known == 0 {
            self.known = 1;
            return Some(false);
        }
        // (2), (3)
        let before_s = t - d;
        let lost = d * (t + before_s) / (2.0 * t * t * before_s * before_s);
        let trend = median(&self.lost[..n]);
        self.lost.copy_within(1..n, 0);
        self.lost[n - 1] = lost;
        if (self.known as usize) <= n {
            self.known += 1;
            self.echo = 0.0;
            return Some(false);
        }
        self.raw = lost - trend;
        self.index = self.raw - self.echo;
        self.windows += 1;
        let cylinder = usize::from(cylinder_of[usize::from(position)]) - 1;
        self.counted = self.index > cal.limit_at(rpm, map_kpa);
        self.echo = if self.counted { cal.echo * self.index } else { 0.0 };
        if self.cut[cylinder] {
            self.counted = false;
        }
        for block in [&mut self.short, &mut self.long] {
            block.windows += 1;
            block.counts[cylinder] += u32::from(self.counted);
            block.sums[0] += rpm;
            block.sums[1] += map_kpa;
        }
        self.trip[cylinder] += u32::from(self.counted);
        let per_turn = n as u32 / 2;
        self.ready |= self.short.windows >= 200 * per_turn;
        self.long_ready |= self.long.windows >= LONG_TURNS as u32 * per_turn;
        Some(true)
    }

    /// A block is full, or the first 1000 turns are over: its verdicts are due.
    pub fn block_full(&self) -> bool {
        self.ready || self.long_ready || !self.first_over && self.turns >= LONG_TURNS
    }

    /// (5) At the end of a block. `seen_before`: a misfire code is pending or confirmed. `cylinders`: their number.
    pub fn verdicts(&mut self, cal: &Cal, seen_before: bool, cylinders: usize) -> [Option<Verdict>; 3] {
        let mut told = [None; 3];
        if std::mem::take(&mut self.ready) {
            self.short_over(cal, seen_before, &mut told);
        }
        let first = !self.first_over && self.turns >= LONG_TURNS;
        if std::mem::take(&mut self.long_ready) || first {
            let early = !self.first_over;
            self.first_over |= first;
            told[2] = self.long_over(cal, early, cylinders);
        }
        self.told |= told.iter().any(|v| matches!(v, Some(Verdict::Bad { .. })));
        told
    }

    fn short_over(&mut self, cal: &Cal, seen_before: bool, told: &mut [Option<Verdict>; 3]) {
        self.last_short = std::mem::take(&mut self.short);
        let s = self.last_short;
        let [rpm, map_kpa] = s.conditions();
        let harmful = s.pct() > cal.catalyst_pct.at(rpm).max(5.0);
        self.bad_short = if harmful { self.bad_short + 1 } else { 0 };
        let within = rpm <= cal.cycle[0] && map_kpa <= cal.cycle[1];
        self.occasions += u32::from(harmful && within);
        let counts = self.told || seen_before || !within || self.occasions >= OCCASIONS;
        self.blink = harmful && counts;
        if !self.blink {
            return;
        }
        let (cylinders, multiple) = s.accused();
        if !multiple && f64::from(self.bad_short) >= cal.cut_blocks {
            for (c, cut) in self.cut.iter_mut().enumerate() {
                *cut |= cylinders & (1 << c) != 0;
            }
            told[0] = Some(Verdict::Cut(cylinders));
        }
        told[1] = Some(Verdict::Bad { cylinders, multiple, early: !self.first_over });
    }

    /// The first block may be monitored only in part: a fifth of it is enough for a bad verdict, a good one needs
    /// nearly all of it.
    fn long_over(&mut self, cal: &Cal, early: bool, cylinders: usize) -> Option<Verdict> {
        let l = std::mem::take(&mut self.long);
        let watched = 2.0 * f64::from(l.windows) / cylinders as f64 / LONG_TURNS;
        if watched < 0.2 {
            return None;
        }
        if l.pct() > cal.emission_pct {
            self.bad_long += 1;
            if !early && self.bad_long < 4 {
                return None;
            }
            let (cylinders, multiple) = l.accused();
            return Some(Verdict::Bad { cylinders, multiple, early });
        }
        (watched >= 0.8 && self.bad_short == 0).then(|| Verdict::Good(l.conditions()))
    }
}

/// Median of up to [`MAX_CYLINDERS`] numbers.
fn median(x: &[f64]) -> f64 {
    let mut s = [0.0; MAX_CYLINDERS];
    let n = x.len();
    s[..n].copy_from_slice(x);
    // an insertion sort: a handful of numbers, no allocation
    for i in 1..n {
        let mut j = i;
        while j > 0 && s[j - 1] > s[j] {
            s.swap(j - 1, j);
            j -= 1;
        }
    }
    0.5 * (s[(n - 1) / 2] + s[n / 2])
}
