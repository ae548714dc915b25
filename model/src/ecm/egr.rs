//! The exhaust-gas-recirculation valve: where it stands, how far it opens, and the closed end stop that both are counted from.
//!
//! *Inside*: the position sensor's reading, the book of wanted lift, the position loop, the closed stop that is learned at
//! key-on, the flow check, the monitors of motor, sensor and position. *Outside*: what the gas does to air and flame; the spark
//! that is added for it is told to whoever gives it (`mod`).
//!
//! **Learns** where the sensor stands when the motor presses the pintle onto its seat: after key-on, before the engine is
//! started, for a set time, with enough supply for the motor's force and with coolant and inlet air in their windows. Started
//! earlier, or with too little supply, the learn is broken off and the stored value stays. What is learned replaces what was
//! stored, within limits. Once learned, the loop lets the pintle down onto the stored stop and no further, to spare the seat:
//! a stop stored too high leaves the valve open by the difference. Without a learned stop the lowest stop that may be takes its
//! place: the valve shuts for certain and opens too little.
//!
//! **Leaves out** learning at key-off; a correction of the air model for the gas (the car meters its air); excessive flow
//! (P0402), which a check of the pressure's rise cannot tell from a passage with less resistance.
//!
//! **State** ([`State`]): position \[mm\], wanted lift \[mm\], integrator \[-\], the learn, the flow check, counts \[s\].
//!
//! **Equations**
//! 1. `lift = position − stop`.
//! 2. Duty `(k_p e + k_i ∫ e dt + d₀ + d₁ w) U₀/U`, e the wanted lift less the actual; with no lift wanted a little less than
//!    none, and without d₀.
//! 3. Flow, on the overrun with the fuel cut: the rise of manifold pressure with the valve opened so far, from the mean of
//!    before and after, over that of a nominal engine.
//!
//! **Checked by** `tests/module/egr.rs`.

use crate::ecm::codes::Code;
use crate::ecm::memory::Name;
use crate::ecm::{Ecm, Gate};
use crate::link::Gate as GateKind;
use crate::link::{Failed, Refused, Routine, Writer};
use crate::num::{self, Table};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.egr]` section of a car's file; without it the module drives no such valve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Position sensor \[V\] over \[mm\].
    pub position_v: Table,
    /// Wanted lift \[mm\] over engine speed \[rpm\].
    pub book_mm: Table,
    /// Share of it \[-\] over manifold pressure \[kPa\].
    pub share: Table,
    /// Gas through a nominal valve \[g/s\] over its lift \[mm\], at part load.
    pub gas_g_s: Table,
    /// From this coolant \[°C\].
    pub from_c: f64,
    /// Fastest change of the wanted lift \[mm/s\].
    pub slew_mm_s: f64,
    /// Spark added for a lift \[deg/mm\].
    pub spark_deg_mm: f64,
    /// Duty for a millimetre \[1/mm\], for a millimetre and second \[1/mm s\].
    pub gains: [f64; 2],
    /// Duty that holds the spring at no lift \[-\], more for each millimetre \[1/mm\]; at `STATED_V`.
    pub spring: [f64; 2],
    /// With no lift wanted the loop aims so far below the stored stop \[mm\].
    pub under_mm: f64,
    /// Learn: duty \[-\], settles for \[s\], measured for \[s\], position steady within \[mm\].
    pub learn: [f64; 4],
    /// Least supply for it \[V\].
    pub learn_v: f64,
    /// Coolant and inlet air for it, from and to \[°C\].
    pub learn_c: [f64; 2],
    /// Apart by \[mm\] for \[s\].
    pub apart: [f64; 2],
    /// Flow check: lift \[mm\], opens and shuts for \[s\], least rise over that of a nominal engine \[-\].
    pub flow: [f64; 3],
    /// Rise of pressure of a nominal engine \[kPa\] over engine speed \[rpm\].
    pub flow_kpa: Table,
    /// Engine speed for the check, from and to \[rpm\].
    pub flow_rpm: [f64; 2],
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.egr";
        for p in self.position_v.points() {
            between(s, "position_v", p[1], 0.0, 5.0)?;
        }
        for p in self.book_mm.points() {
            between(s, "book_mm", p[1], 0.0, 8.0)?;
        }
        for p in self.share.points() {
            between(s, "share", p[1], 0.0, 1.0)?;
        }
        for p in self.gas_g_s.points() {
            between(s, "gas_g_s", p[1], 0.0, 50.0)?;
        }
        between(s, "from_c", self.from_c, 0.0, 100.0)?;
        between(s, "slew_mm_s", self.slew_mm_s, 0.1, 100.0)?;
        between(s, "spark_deg_mm", self.spark_deg_mm, 0.0, 20.0)?;
        between(s, "gains[0]", self.gains[0], 0.0, 2.0)?;
        between(s, "gains[1]", self.gains[1], 0.0, 20.0)?;
        between(s, "spring[0]", self.spring[0], 0.0, 0.8)?;
        between(s, "spring[1]", self.spring[1], 0.0, 0.5)?;
        between(s, "under_mm", self.under_mm, 0.0, 0.3)?;
        between(s, "learn[0]", self.learn[0], 0.1, 1.0)?;
        between(s, "learn[1]", self.learn[1], 0.1, 20.0)?;
        between(s, "learn[2]", self.learn[2], 0.1, 20.0)?;
        between(s, "learn[3]", self.learn[3], 0.005, 0.5)?;
        between(s, "learn_v", self.learn_v, 9.0, 13.0)?;
        between(s, "learn_c[0]", self.learn_c[0], -30.0, 60.0)?;
        between(s, "learn_c[1]", self.learn_c[1], self.learn_c[0], 130.0)?;
        between(s, "apart[0]", self.apart[0], 0.1, 5.0)?;
        between(s, "apart[1]", self.apart[1], 0.5, 60.0)?;
        between(s, "flow[0]", self.flow[0], 0.2, 8.0)?;
        between(s, "flow[1]", self.flow[1], 0.3, 5.0)?;
        between(s, "flow[2]", self.flow[2], 0.05, 0.95)?;
        for p in self.flow_kpa.points() {
            between(s, "flow_kpa", p[1], 0.1, 60.0)?;
        }
        between(s, "flow_rpm[0]", self.flow_rpm[0], 500.0, 4000.0)?;
        between(s, "flow_rpm[1]", self.flow_rpm[1], self.flow_rpm[0], 6000.0)
    }
    /// Largest lift of the book \[mm\].
    pub fn most_mm(&self) -> f64 {
        self.book_mm.points().iter().map(|p| p[1]).fold(0.0, f64::max)
    }
    /// Key on and engine standing for so long, and the stop is learned \[s\].
    fn learn_s(&self) -> f64 {
        self.learn[1] + self.learn[2]
    }
}

/// Supply at which duties are stated \[V\].
const STATED_V: f64 = 13.5;
/// A sensor's wire is sound between these \[V\]; for so long \[s\].
const SOUND_V: [f64; 2] = [0.2, 4.8];
const WIRE_S: f64 = 0.5;
/// An output stage open for so long \[s\].
const OPEN_S: f64 = 0.5;
/// The integrator's limit \[-\].
const MOST_INTEGRAL: f64 = 0.2;
/// What is this near is right: less is the sensor's noise \[mm\].
const QUIET_MM: f64 = 0.015;
/// A wanted lift under this is none \[mm\].
const NONE_MM: f64 = 0.05;
/// Good at no lift and at some lift for so long each: it follows \[s\].
const FOLLOWED_S: f64 = 2.0;
/// Fuel cut for so long before the flow check \[s\]; pressure is measured for so long at the end of each of its parts \[s\].
const CUT_S: f64 = 0.5;
const MEASURE_S: f64 = 0.25;
/// So many poor checks one after another are a fault.
const POOR: u8 = 2;

/// Codes of what the valve and its learn go by.
const BLOCK: [Code; 4] = [Code::P0403, Code::P0404, Code::P0405, Code::P0406];

/// The learn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Learn {
    /// Not tried since key-on, broken off or complete.
    #[default]
    Rests,
    /// The motor presses the pintle onto its seat.
    Presses,
}

/// Flow check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
enum Check {
    #[default]
    Waits,
    Before,
    Open,
    After,
}

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Position by the sensor \[mm\].
    pub position_mm: f64,
    /// Wanted lift \[mm\].
    pub wanted_mm: f64,
    /// Actual lift by the stored stop \[mm\].
    pub lift_mm: f64,
    about_mm: f64,
    integral: f64,
    /// The learn: what it does, since key-on or the request \[s\], sum, number, lowest and highest of what was measured
    /// \[mm\], who asked.
    pub learn: Learn,
    learn_s: f64,
    sum_mm: f64,
    samples: u32,
    range_mm: [f64; 2],
    asked: bool,
    /// Least supply in the last try \[V\].
    least_v: f64,
    /// Flow check: part, time in it \[s\], sum \[kPa\] and number, means of before and open \[kPa\], fuel cut for so long
    /// \[s\].
    check: Check,
    check_s: f64,
    sum_kpa: (f64, u32),
    means_kpa: [f64; 2],
    cut_s: f64,
    checked: bool,
    poor: u8,
    /// Rise of pressure in the last flow check over that of a nominal engine \[-\]; none since codes were cleared.
    pub flow: Option<f64>,
    told: Option<bool>,
    apart_s: f64,
    wire_s: [f64; 3],
    open: [f64; 2],
    followed_s: [f64; 2],
    /// A fault was seen in this trip: the valve is left to its spring.
    limp: bool,
    /// How the conditions for learning stood in the last try.
    pub gates: Vec<Gate>,
}

impl State {
    /// Key on: a new trip, and a try to learn.
    pub fn key_on(&mut self) {
        *self = Self {
            flow: self.flow,
            poor: self.poor,
            gates: Vec::with_capacity(6),
            learn: Learn::Presses,
            ..Self::default()
        };
    }
    /// Codes were cleared, or the power went: no result of the flow check.
    pub fn forget(&mut self) {
        (self.flow, self.poor, self.checked, self.followed_s) = (None, 0, false, [0.0; 2]);
    }
    /// A tester stops what it asked for.
    pub fn stop(&mut self) {
        if self.asked {
            (self.learn, self.asked) = (Learn::Rests, false);
        }
    }
    fn press(&mut self, asked: bool) {
        (self.learn, self.asked, self.learn_s) = (Learn::Presses, asked, 0.0);
        (self.sum_mm, self.samples) = (0.0, 0);
    }
    fn go(&mut self, check: Check) {
        (self.check, self.check_s, self.sum_kpa) = (check, 0.0, (0.0, 0));
    }
    /// Gas that flows by the book \[g/s\]; none through a valve that counts as shut.
    pub fn gas_g_s(&self, cal: Option<&Cal>) -> f64 {
        cal.filter(|_| self.wanted_mm >= NONE_MM).map_or(0.0, |c| c.gas_g_s.at(self.lift_mm.max(0.0)))
    }
    /// Spark to be added for the gas that flows \[deg\].
    pub fn spark_deg(&self, cal: Option<&Cal>) -> f64 {
        let Some(cal) = cal.filter(|_| self.wanted_mm >= NONE_MM && self.check == Check::Waits) else {
            return 0.0;
        };
        cal.spark_deg_mm * self.lift_mm.clamp(0.0, self.wanted_mm)
    }
}

/// A count up while something is bad, back three times slower: true when it has been for so long \[s\].
fn count(s: &mut f64, bad: bool, for_s: f64, dt_s: f64) -> bool {
    *s = if bad { (*s + dt_s).min(1.5 * for_s) } else { (*s - dt_s / 3.0).max(0.0) };
    *s >= for_s - 1e-9
}

impl Ecm {
    /// Every 10 ms: position, learn, flow check, wanted lift, duty.
    pub(super) fn egr_fast(&mut self, dt_s: f64) {
        let cal = self.cal.clone();
        let Some(c) = &cal.s.egr else { return };
        let s = &mut self.s;
        let position_mm = c.position_v.inverse_at(s.inputs.egr_position_v);
        s.egr.position_mm = position_mm;
        let stop = s.store.entry(Name::EgrStop);
        // (1)
        s.egr.lift_mm = position_mm - stop.value;
        if s.egr.learn == Learn::Presses {
            self.s.out.egr = -c.learn[0];
            self.egr_learn(c, dt_s);
            return;
        }
        self.flow_check(c, dt_s);
        let s = &mut self.s;
        let (i, e) = (&s.inputs, &mut s.egr);
        // without its meter the module takes its air from the pressure, which gas would spoil
        let metered = !i.air_meter_open;
        let free = s.running && !s.air.idling && !s.fuel.cut && !e.limp && metered && i.coolant_c >= c.from_c;
        let book = if free { c.book_mm.at(i.rpm) * c.share.at(i.map_kpa) } else { 0.0 };
        let most = c.slew_mm_s * dt_s;
        if e.check == Check::Open {
            e.wanted_mm = c.flow[0];
        } else if !s.running || s.air.idling || s.fuel.cut || e.limp {
            e.wanted_mm = 0.0;
        } else {
            e.wanted_mm += (book - e.wanted_mm).clamp(-most, most);
        }
        e.about_mm += (e.wanted_mm - e.about_mm) * num::lag_share(dt_s, 0.3);
        if e.limp {
            (e.integral, s.out.egr) = (0.0, 0.0);
            return;
        }
        // (2)
        let opens = e.wanted_mm >= NONE_MM;
        let aim_mm = if opens { e.wanted_mm } else { -c.under_mm };
        let off = aim_mm - e.lift_mm;
        let spring = if opens { c.spring[0] + c.spring[1] * e.wanted_mm } else { 0.0 };
        if off.abs() > QUIET_MM {
            let most = if opens { MOST_INTEGRAL } else { 2.0 * MOST_INTEGRAL };
            e.integral = (e.integral + c.gains[1] * off * dt_s).clamp(-MOST_INTEGRAL, most);
        }
        let at_v = STATED_V / i.supply_v.max(6.0);
        s.out.egr = ((c.gains[0] * off + e.integral + spring) * at_v).clamp(-1.0, 1.0);
    }

    /// The learn while the motor presses.
    fn egr_learn(&mut self, c: &Cal, dt_s: f64) {
        let Self { cal, s, .. } = self;
        let stands = BLOCK.into_iter().find(|k| s.codes.standing(*k).failing);
        let (i, e) = (&s.inputs, &mut s.egr);
        let turns = i.rpm > 0.0 || i.key_crank || s.out.starter;
        let least_v = if e.learn_s <= 0.0 { i.supply_v } else { e.least_v.min(i.supply_v) };
        e.learn_s += dt_s;
        e.least_v = least_v;
        let inside = |x: f64| (c.learn_c[0]..=c.learn_c[1]).contains(&x);
        let mild = inside(i.coolant_c) && inside(i.inlet_c);
        e.gates.clear();
        e.gates.push(Gate::no_code(stands));
        e.gates.push(Gate::switch(GateKind::EngineStands, !turns));
        let warm = if inside(i.coolant_c) { i.inlet_c } else { i.coolant_c };
        let limit = if warm > c.learn_c[1] { c.learn_c[1] } else { c.learn_c[0] };
        e.gates.push(Gate::measured(GateKind::Warm, mild, warm, limit));
        e.gates.push(Gate::measured(GateKind::Supply, least_v >= c.learn_v, least_v, c.learn_v));
        let (now, limit) = (e.learn_s, c.learn_s());
        e.gates.push(Gate::measured(GateKind::KeyOnTime, now >= limit - 1e-6, now, limit));
        let shut = e.gates.iter().any(|g| !g.open && g.kind != GateKind::KeyOnTime);
        let ended = if shut {
            let because = if turns { Failed::EngineTurned } else { Failed::LearnBrokenOff };
            Some(Err(because))
        } else {
            if e.learn_s > c.learn[1] {
                if e.samples == 0 {
                    e.range_mm = [e.position_mm; 2];
                }
                e.range_mm = [e.range_mm[0].min(e.position_mm), e.range_mm[1].max(e.position_mm)];
                e.sum_mm += e.position_mm;
                e.samples += 1;
            }
            (now >= limit - 1e-6).then(|| {
                let stop_mm = e.sum_mm / f64::from(e.samples.max(1));
                if e.range_mm[1] - e.range_mm[0] > c.learn[3] {
                    return Err(Failed::LearnBrokenOff);
                }
                let by = if e.asked { Writer::Routine } else { Writer::Ordinary };
                s.store
                    .write(&cal.s.memory, Name::EgrStop, stop_mm, by, i.time_s)
                    .map_err(|_| Failed::EgrStopOutside)
            })
        };
        let Some(how) = ended else { return };
        e.learn = Learn::Rests;
        e.integral = 0.0;
        if how.is_ok() {
            e.apart_s = 0.0;
        }
        if std::mem::take(&mut e.asked) {
            s.ended(Routine::LearnEgrStop, how.map(|()| None));
        }
        // pressed as hard as it is, a valve that is not shut is stuck
        if how == Err(Failed::EgrStopOutside) {
            self.s.egr.limp = true;
            self.verdict(Code::P0404, Some(true));
        }
    }

    /// (3) The flow check, part by part.
    fn flow_check(&mut self, c: &Cal, dt_s: f64) {
        let s = &mut self.s;
        let measures = s.wheel.measures();
        let (i, e) = (&s.inputs, &mut s.egr);
        let cut = s.running && s.fuel.cut && !s.codes.standing(Code::P0107).failing;
        e.cut_s = if cut { e.cut_s + dt_s } else { 0.0 };
        let in_band = (c.flow_rpm[0]..=c.flow_rpm[1]).contains(&i.rpm);
        let may = cut
            && in_band
            && !e.limp
            && !e.checked
            && !measures
            && i.coolant_c >= c.from_c
            && s.store.entry(Name::EgrStop).learned;
        if !may {
            if e.check != Check::Waits {
                e.go(Check::Waits);
            }
            return;
        }
        e.check_s += dt_s;
        let for_s = if e.check == Check::Before { MEASURE_S } else { c.flow[1] };
        if e.check_s > for_s - MEASURE_S {
            e.sum_kpa = (e.sum_kpa.0 + i.map_kpa, e.sum_kpa.1 + 1);
        }
        let over = e.check_s >= for_s - 1e-9;
        let mean_kpa = e.sum_kpa.0 / f64::from(e.sum_kpa.1.max(1));
        match e.check {
            Check::Waits if e.cut_s >= CUT_S => e.go(Check::Before),
            Check::Before if over => {
                e.means_kpa[0] = mean_kpa;
                e.go(Check::Open);
            }
            Check::Open if over => {
                e.means_kpa[1] = mean_kpa;
                e.go(Check::After);
            }
            Check::After if over => {
                let rise_kpa = e.means_kpa[1] - 0.5 * (e.means_kpa[0] + mean_kpa);
                let flow = rise_kpa / c.flow_kpa.at(i.rpm).max(0.1);
                e.flow = Some(flow);
                e.go(Check::Waits);
                if flow >= c.flow[2] {
                    (e.checked, e.poor, e.told) = (true, 0, Some(false));
                } else {
                    e.poor = (e.poor + 1).min(POOR);
                    e.checked = e.poor >= POOR;
                    e.told = e.checked.then_some(true);
                }
            }
            _ => {}
        }
    }

    /// Every 100 ms: monitors.
    pub(super) fn egr_slow(&mut self, dt_s: f64) {
        let cal = self.cal.clone();
        let Some(c) = &cal.s.egr else { return };
        let starter = self.s.out.starter;
        let s = &mut self.s;
        let (i, e) = (&s.inputs, &mut s.egr);
        let mut told: [(Code, Option<bool>); 5] =
            [Code::P0403, Code::P0405, Code::P0406, Code::P0404, Code::P0401].map(|k| (k, None));
        if i.supply_v >= 9.0 && !starter {
            let open = i.stages.egr_valve_v < 0.5 * i.supply_v;
            e.open[1] = if open { 0.0 } else { e.open[1] + dt_s };
            let bad = count(&mut e.open[0], open, OPEN_S, dt_s);
            told[0].1 = if bad { Some(true) } else { (e.open[1] > 4.0 * OPEN_S).then_some(false) };
        }
        let v = i.egr_position_v;
        let [low_v, high_v] = SOUND_V;
        for (n, bad) in [v < low_v, v > high_v].into_iter().enumerate() {
            told[n + 1].1 = count(&mut e.wire_s[n], bad, WIRE_S, dt_s).then_some(true);
        }
        let sound = (low_v..=high_v).contains(&v);
        e.wire_s[2] = if sound { e.wire_s[2] + dt_s } else { 0.0 };
        if e.wire_s[2] > 4.0 * WIRE_S {
            (told[1].1, told[2].1) = (Some(false), Some(false));
        }
        let drives = e.learn == Learn::Rests && !e.limp && sound && !starter;
        if s.running && drives && s.store.entry(Name::EgrStop).learned {
            let (low, high) = (e.wanted_mm.min(e.about_mm), e.wanted_mm.max(e.about_mm));
            let apart_mm = (low - e.lift_mm).max(e.lift_mm - high);
            if apart_mm < 0.5 * c.apart[0] {
                let at = usize::from(e.wanted_mm >= NONE_MM);
                e.followed_s[at] += dt_s;
            }
            let bad = count(&mut e.apart_s, apart_mm > c.apart[0], c.apart[1], dt_s);
            let good = e.followed_s.iter().all(|x| *x >= FOLLOWED_S) && e.apart_s <= 0.0;
            told[3].1 = if bad { Some(true) } else { good.then_some(false) };
        }
        told[4].1 = e.told.take();
        for (code, seen) in told {
            self.s.egr.limp |= seen == Some(true) && code != Code::P0401;
            self.verdict(code, seen);
        }
    }

    /// Begins the commanded learn, if its entry conditions hold, in the order a technician would check them.
    pub(super) fn begin_egr_learn(&mut self) -> Result<(), Refused> {
        let Some(c) = &self.cal.s.egr else { return Err(Refused::NoEgrValve) };
        let (s, i) = (&self.s, &self.s.inputs);
        if i.rpm > 0.0 {
            return Err(Refused::EngineTurning { rpm: i.rpm });
        }
        if i.supply_v < c.learn_v {
            return Err(Refused::SupplyBelow { is_v: i.supply_v, needs_v: c.learn_v });
        }
        let outside = |x: f64| !(c.learn_c[0]..=c.learn_c[1]).contains(&x);
        if outside(i.coolant_c) {
            return Err(Refused::CoolantOutside { is_c: i.coolant_c, needs_c: c.learn_c });
        }
        if outside(i.inlet_c) {
            return Err(Refused::InletOutside { is_c: i.inlet_c, needs_c: c.learn_c });
        }
        for code in BLOCK {
            if s.codes.standing(code).failing {
                return Err(Refused::CodeStored(code.number().into()));
            }
        }
        self.s.egr.press(true);
        self.begin(Routine::LearnEgrStop);
        Ok(())
    }
}
