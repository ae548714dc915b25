//! The phaser of the inlet camshaft: where it stands, where it should, and the rest position that both are counted from.
//!
//! *Inside*: the camshaft's position by its sensor's edges, the book of wanted advance, the control of the oil valve, the
//! learned rest position with its ordinary and its commanded learn, three monitors. *Outside*: capture of the edges and
//! the angle of the crank (`inputs`), what the advance does to the air that the engine draws (`inputs`, its books).
//!
//! **Learns** by how much the cam sensor's edges come late of nominal while the phaser lies at its rest stop: chain,
//! sprockets, trigger wheel and sensor together. Actual advance is that, less what is measured. Ordinary learning follows
//! slowly, and only near the stored value: a chain that stretches is followed, one that was renewed is not. A rest never
//! learned is taken from the first warm idle, and until then the camshaft stays at rest. The commanded learn takes what is
//! measured, but nothing as large as a tooth.
//!
//! **Leaves out** oil pressure and temperature, which have no sensor: coolant stands for both. No edge at all is left to the
//! monitors of crank and cam signal.
//!
//! **State** ([`State`]): position of the last edge and its mean at rest \[deg\], wanted advance \[deg\], integrator \[-\],
//! counts of the monitors \[s\], gates.
//!
//! **Equations**
//! 1. `φ = rest − late`, both \[deg of crank after top dead centre\].
//! 2. Duty `d₀ + k_p e + k_i ∫ e dt`, `e` wanted less actual; at a wanted rest the valve is shut off.
//! 3. Apart: `max(min(w, w̄) − φ, φ − max(w, w̄))`, `w̄` the wanted advance half a second late.
//!
//! **Checked by** `tests/module/phaser.rs`.

use crate::ecm::codes::Code;
use crate::ecm::memory::Name;
use crate::ecm::{Ecm, Gate};
use crate::link::Gate as GateKind;
use crate::link::{Failed, Refused, Routine, RoutineState, Writer};
use crate::num::{self, Table};
use crate::signals::{TICKS_PER_S, ToothEdge};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.phaser]` section of a car's file; without it the module moves no camshaft.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Wanted advance \[deg of crank\] over engine speed \[rpm\].
    pub book_deg: Table,
    /// Share of it \[-\] over manifold pressure \[kPa\].
    pub share: Table,
    /// From this coolant \[°C\].
    pub from_c: f64,
    /// Fastest rise of the wanted advance \[deg/s\].
    pub slew_deg_s: f64,
    /// Duty that holds the vane \[-\].
    pub hold_duty: f64,
    /// Duty for a degree \[1/deg\], and for a degree and second \[1/deg s\].
    pub gains: [f64; 2],
    /// Apart by \[deg\] for \[s\].
    pub apart: [f64; 2],
    /// Edges at rest away from nominal by \[deg\] for \[s\]: crank and cam do not agree.
    pub correlation: [f64; 2],
    /// At rest for so long before the position counts \[s\].
    pub settle_s: f64,
    /// Learned from this coolant up to that \[°C\].
    pub learn_c: [f64; 2],
    /// Ordinary learning reaches so far from the stored value \[deg\], at so much in a minute \[deg/min\].
    pub ordinary: [f64; 2],
    /// Commanded learn: measured for \[s\], least supply \[V\].
    pub commanded: [f64; 2],
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.phaser";
        for p in self.book_deg.points() {
            between(s, "book_deg", p[1], 0.0, 45.0)?;
        }
        for p in self.share.points() {
            between(s, "share", p[1], 0.0, 1.0)?;
        }
        between(s, "from_c", self.from_c, 0.0, 100.0)?;
        between(s, "slew_deg_s", self.slew_deg_s, 5.0, 500.0)?;
        between(s, "hold_duty", self.hold_duty, 0.2, 0.8)?;
        between(s, "gains[0]", self.gains[0], 0.0, 0.2)?;
        between(s, "gains[1]", self.gains[1], 0.0, 1.0)?;
        between(s, "apart[0]", self.apart[0], 2.0, 20.0)?;
        between(s, "apart[1]", self.apart[1], 0.5, 60.0)?;
        between(s, "correlation[0]", self.correlation[0], 4.0, 30.0)?;
        between(s, "correlation[1]", self.correlation[1], 0.5, 60.0)?;
        between(s, "settle_s", self.settle_s, 0.5, 30.0)?;
        between(s, "learn_c[0]", self.learn_c[0], 20.0, 100.0)?;
        between(s, "learn_c[1]", self.learn_c[1], self.learn_c[0], 130.0)?;
        between(s, "ordinary[0]", self.ordinary[0], 0.1, 10.0)?;
        between(s, "ordinary[1]", self.ordinary[1], 0.01, 10.0)?;
        between(s, "commanded[0]", self.commanded[0], 0.5, 60.0)?;
        between(s, "commanded[1]", self.commanded[1], 8.0, 14.0)
    }
}

/// A wanted advance under this is none: the phaser is left at its stop \[deg\].
const NONE_DEG: f64 = 1.0;
/// An edge older than this says nothing \[s\].
const OLD_S: f64 = 0.5;
/// Lag of the wanted advance for the monitor, and of the mean at rest \[s\].
const LAGS_S: [f64; 2] = [0.5, 1.0];
/// A look of the monitor begins so long after the start \[s\].
const AFTER_START_S: f64 = 5.0;
/// Good in this much advance and at rest for so long each: it follows \[deg, s\].
const FOLLOWED: (f64, f64) = (8.0, 2.0);
/// What is this near is right already: less is the noise of edges and the wheel's own errors \[deg\].
const QUIET_DEG: f64 = 0.25;
/// An output stage open for so long \[s\].
const OPEN_S: f64 = 0.5;
/// The integrator's limit \[-\].
const MOST_INTEGRAL: f64 = 0.2;

/// Codes of what the learn goes by.
const BLOCK: [Code; 5] = [Code::P0010, Code::P0011, Code::P0016, Code::P0335, Code::P0336];

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// How late the last edge of the cam sensor came \[deg after top dead centre\], and when \[s\].
    late_deg: f64,
    edge_s: f64,
    /// The position is known.
    known: bool,
    /// Wanted advance \[deg\].
    pub wanted_deg: f64,
    /// Actual advance as the module sees it \[deg\].
    pub advance_deg: f64,
    about_deg: f64,
    integral: f64,
    /// Left at rest for so long \[s\].
    rest_s: f64,
    mean_deg: f64,
    apart_s: f64,
    away: [f64; 2],
    open: [f64; 2],
    /// Good for so long at rest and advanced \[s\].
    followed_s: [f64; 2],
    /// A fault was seen in this trip: the camshaft stays at rest.
    limp: bool,
    /// Commanded learn: sum \[deg\] and number of samples; none taken while none is under way.
    sum_deg: f64,
    samples: u32,
    /// How the conditions for learning stand.
    pub gates: Vec<Gate>,
}

impl State {
    /// Key on: a new trip.
    pub fn key_on(&mut self) {
        *self = Self { gates: Vec::with_capacity(6), ..Self::default() };
    }
    /// Another rest position: what was counted against the old one says nothing.
    fn learned(&mut self) {
        (self.limp, self.apart_s, self.followed_s, self.samples) = (false, 0.0, [0.0; 2], 0);
    }
    /// At rest for long enough, and where \[deg late\].
    fn at_rest(&self, cal: &Cal) -> Option<f64> {
        (self.known && self.rest_s >= cal.settle_s).then_some(self.mean_deg)
    }
}

/// A count up while something is bad, back three times slower: the time \[s\] for which it has been.
fn count(s: &mut f64, bad: bool, for_s: f64, dt_s: f64) -> bool {
    *s = if bad { (*s + dt_s).min(1.5 * for_s) } else { (*s - dt_s / 3.0).max(0.0) };
    *s >= for_s - 1e-9
}

impl Ecm {
    /// Each tooth: an edge of the cam sensor that came before it.
    #[inline]
    pub(super) fn cam_edge(&mut self, e: &ToothEdge) {
        let Some(tick) = e.cam_tick else { return };
        if let Some(deg) = self.s.inputs.deg_at(&self.cal.s.inputs, tick) {
            let p = &mut self.s.phaser;
            (p.late_deg, p.edge_s) = (deg, tick as f64 / TICKS_PER_S);
        }
    }

    /// Every 10 ms: position, wanted advance, duty of the valve.
    pub(super) fn phaser_fast(&mut self, dt_s: f64) {
        let Self { cal, s, .. } = self;
        let Some(c) = &cal.s.phaser else { return };
        let (i, rest) = (&s.inputs, s.store.entry(Name::CamRest));
        let p = &mut s.phaser;
        p.known = i.in_step() && i.rpm > 0.0 && p.edge_s > 0.0 && i.time_s - p.edge_s < OLD_S;
        // (1)
        p.advance_deg = if p.known { rest.value - p.late_deg } else { 0.0 };
        let free = s.running && rest.learned && p.known && !p.limp && i.coolant_c >= c.from_c;
        let asked = if free && !s.air.idling { c.book_deg.at(i.rpm) * c.share.at(i.map_kpa) } else { 0.0 };
        let most = c.slew_deg_s * dt_s;
        p.wanted_deg =
            if asked < NONE_DEG { 0.0 } else { p.wanted_deg + (asked - p.wanted_deg).clamp(-most, most) };
        p.about_deg += (p.wanted_deg - p.about_deg) * num::lag_share(dt_s, LAGS_S[0]);
        let duty = if p.wanted_deg < NONE_DEG {
            p.integral = 0.0;
            0.0
        } else {
            // (2)
            let e = p.wanted_deg - p.advance_deg;
            p.integral = (p.integral + c.gains[1] * e * dt_s).clamp(-MOST_INTEGRAL, MOST_INTEGRAL);
            (c.hold_duty + c.gains[0] * e + p.integral).clamp(0.0, 1.0)
        };
        let left = s.running && duty <= 0.0;
        let first = p.rest_s < c.settle_s;
        p.rest_s = if left { p.rest_s + dt_s } else { 0.0 };
        let share = if first { 1.0 } else { num::lag_share(dt_s, LAGS_S[1]) };
        p.mean_deg += (p.late_deg - p.mean_deg) * share;
        s.out.cam_valve = duty;
        // for the books of air: a sensor's noise at rest is no advance, what lies beyond the monitor's limit is not
        // believed, and nothing once a fault was seen
        let moved = p.wanted_deg >= NONE_DEG || p.advance_deg >= 2.0 * NONE_DEG;
        let most_deg = p.wanted_deg + c.apart[0];
        s.inputs.cam_deg = if moved && !p.limp { p.advance_deg.clamp(0.0, most_deg) } else { 0.0 };
    }

    /// Every 100 ms: learning, monitors.
    pub(super) fn phaser_slow(&mut self, dt_s: f64) {
        let cal = self.cal.clone();
        let Some(c) = &cal.s.phaser else { return };
        self.learn_cam_rest(c, dt_s);
        self.cam_commanded(c);
        let starter = self.s.out.starter;
        let running_s = self.s.fuel.running_s;
        let s = &mut self.s;
        let (i, p) = (&s.inputs, &mut s.phaser);
        let mut told = [(Code::P0010, None), (Code::P0016, None), (Code::P0011, None)];
        if i.supply_v >= 9.0 && !starter {
            let open = i.stages.cam_valve_v < 0.5 * i.supply_v;
            p.open[1] = if open { 0.0 } else { p.open[1] + dt_s };
            told[0].1 = if count(&mut p.open[0], open, OPEN_S, dt_s) {
                Some(true)
            } else {
                (p.open[1] > 4.0 * OPEN_S).then_some(false)
            };
        }
        if s.running && running_s > AFTER_START_S && p.known {
            if let Some(mean_deg) = p.at_rest(c) {
                let away = mean_deg.abs() > c.correlation[0];
                p.away[1] = if away { 0.0 } else { p.away[1] + dt_s };
                let bad = count(&mut p.away[0], away, c.correlation[1], dt_s);
                told[1].1 =
                    if bad { Some(true) } else { (p.away[1] > 2.0 * c.correlation[1]).then_some(false) };
            }
            if s.store.entry(Name::CamRest).learned && i.coolant_c >= c.from_c {
                // (3)
                let (low, high) = (p.wanted_deg.min(p.about_deg), p.wanted_deg.max(p.about_deg));
                let apart_deg = (low - p.advance_deg).max(p.advance_deg - high);
                if apart_deg < 0.5 * c.apart[0] {
                    let (rest, advanced) = (p.wanted_deg <= 0.0, p.wanted_deg >= FOLLOWED.0);
                    p.followed_s[0] += if rest { dt_s } else { 0.0 };
                    p.followed_s[1] += if advanced { dt_s } else { 0.0 };
                }
                let bad = count(&mut p.apart_s, apart_deg > c.apart[0], c.apart[1], dt_s);
                let good = p.followed_s.iter().all(|x| *x >= FOLLOWED.1) && p.apart_s <= 0.0;
                told[2].1 = if bad { Some(true) } else { good.then_some(false) };
            }
        }
        for (code, seen) in told {
            self.s.phaser.limp |= seen == Some(true);
            self.verdict(code, seen);
        }
    }

    /// Ordinary learning, and its gates.
    fn learn_cam_rest(&mut self, c: &Cal, dt_s: f64) {
        let Self { cal, s, .. } = self;
        let stored = s.store.entry(Name::CamRest);
        let (i, p) = (&s.inputs, &mut s.phaser);
        let mean = p.at_rest(c).filter(|_| s.running);
        let stands = BLOCK.into_iter().find(|k| s.codes.active(*k));
        let limit = if stored.learned { c.ordinary[0] } else { c.correlation[0] };
        // what was never learned is compared with a nominal engine
        let off_deg = mean.map_or(0.0, |m| m - if stored.learned { stored.value } else { 0.0 });
        let (now, low) = (i.coolant_c, c.learn_c[0]);
        p.gates.clear();
        p.gates.push(Gate::no_code(stands));
        p.gates.push(Gate::switch(GateKind::Idling, s.running && s.air.idling));
        p.gates.push(Gate::measured(GateKind::Warm, (low..=c.learn_c[1]).contains(&now), now, low));
        p.gates.push(Gate::switch(GateKind::CamAtRest, mean.is_some()));
        p.gates.push(Gate::measured(GateKind::NearStored, off_deg.abs() <= limit, off_deg, limit));
        let under_way = matches!(s.routine, RoutineState::Running { routine: Routine::LearnCamRest, .. });
        let Some(mean_deg) = mean.filter(|_| !under_way && p.gates.iter().all(|g| g.open)) else { return };
        if stored.learned {
            if off_deg.abs() < QUIET_DEG {
                return;
            }
            let most = c.ordinary[1] / 60.0 * dt_s;
            let step = off_deg.clamp(-most, most);
            s.store.move_by(&cal.s.memory, Name::CamRest, step, Writer::Ordinary, i.time_s);
        } else if s.store.write(&cal.s.memory, Name::CamRest, mean_deg, Writer::Ordinary, i.time_s).is_ok() {
            p.learned();
        }
    }

    /// The commanded learn, while it is under way.
    fn cam_commanded(&mut self, c: &Cal) {
        let routine = Routine::LearnCamRest;
        if !matches!(self.s.routine, RoutineState::Running { routine: Routine::LearnCamRest, .. }) {
            return;
        }
        let Self { cal, s, .. } = self;
        let (i, p) = (&s.inputs, &mut s.phaser);
        if !s.running || !s.air.idling || s.air.switched_load(i) {
            s.ended(routine, Err(Failed::LeftIdle));
            return;
        }
        let Some(mean_deg) = p.at_rest(c) else { return };
        p.sum_deg += mean_deg;
        p.samples += 1;
        if f64::from(p.samples) < 10.0 * c.commanded[0] {
            return;
        }
        let deg = p.sum_deg / f64::from(p.samples);
        let done = if deg.abs() <= c.correlation[0]
            && s.store.write(&cal.s.memory, Name::CamRest, deg, Writer::Routine, i.time_s).is_ok()
        {
            p.learned();
            Ok(None)
        } else {
            Err(Failed::CamTooFar)
        };
        s.ended(routine, done);
    }

    /// Begins the commanded learn, if its entry conditions hold, in the order a technician would check them.
    pub(super) fn cam_entry(&mut self) -> Result<(), Refused> {
        let Some(c) = &self.cal.s.phaser else { return Err(Refused::NoPhaser) };
        let (s, i) = (&self.s, &self.s.inputs);
        if !s.running {
            return Err(Refused::NotRunning);
        }
        if !s.air.idling {
            return Err(Refused::IdleControlOff { rpm: i.rpm });
        }
        self.warm_and_standing(c.learn_c)?;
        if i.supply_v < c.commanded[1] {
            return Err(Refused::SupplyBelow { is_v: i.supply_v, needs_v: c.commanded[1] });
        }
        if s.air.switched_load(i) {
            return Err(Refused::LoadOn);
        }
        for code in [Code::P0010, Code::P0335, Code::P0336] {
            if s.codes.standing(code).failing {
                return Err(Refused::CodeStored(code.number().into()));
            }
        }
        if let Some(is_deg) = s.phaser.at_rest(c).filter(|deg| deg.abs() > c.correlation[0]) {
            return Err(Refused::CamTooFar { is_deg, most_deg: c.correlation[0] });
        }
        (self.s.phaser.sum_deg, self.s.phaser.samples) = (0.0, 0);
        Ok(())
    }
}
