//! The rear trim: the oxygen sensor after the catalyst corrects what lambda control aims at.
//!
//! *Inside*: the rear sensor's short correction, the learned trim with its gates, the codes of a trim at its limit, and
//! extra fuel that empties the catalyst's store after a fuel cut.
//! *Outside*: lambda control itself (`fueling`), the store (`memory`), the catalyst monitor, which swings the mixture and
//! finds the rear sensor that does not answer.
//!
//! **Models** the common second loop: ahead of the catalyst a wide-band sensor, fast, but off by some per cent when old and
//! cheated by gas that is not in balance; behind it a switching sensor in gas that has reacted, slow, whose voltage follows
//! the level of the oxygen store: it stands still only where lambda is 1.
//! The learned trim makes good what the front sensor is off by, as far as its bounds reach.
//!
//! Air that was pumped through the engine, cranked or without fuel, has filled the store: the module then makes the mixture rich
//! until the rear sensor shows a half-empty store. Otherwise that sensor would read lean for a minute and longer on a sound car.
//!
//! **Leaves out** a rear sensor that ages; a model of the store's content between fuel cuts.
//!
//! **State** ([`State`]): by bank the short correction \[lambda\], oxygen to be taken out of the store \[mg\], how long the
//! sensor has been steady for, counts for the codes \[s\], gates. The trim itself is a learned value, in per cent of fuel:
//! positive makes the mixture richer.
//!
//! **Equations**
//! 1. Error, from −1 where the sensor says lean to 1 where it says rich: `e = (v − v_m)/|v_1 − v_m|`, v_1 where it counts
//!    in full on that side, bounded.
//! 2. Lambda asked for: `λ = λ_target + k e − T/100`, T the trim.
//! 3. `dT/dt = −e/τ` with all gates open, T within its limits.
//! 4. At a limit with the error still on that side for so long: too lean, or too rich.
//! 5. After air alone: `λ = λ_target − T/100 − x` until the sensor reads the voltage set for it, or until the oxygen that the
//!    store may hold is used up, `dm/dt = −0.2314 ṁ x`.
//!
//! **Checked by** `tests/module/rear_trim.rs`.

use crate::ecm::catalyst_monitor::OXYGEN_IN_AIR;
use crate::ecm::codes::{self, Code};
use crate::ecm::memory::{self, Name, Store};
use crate::ecm::{Ecm, Gate, catalyst_monitor};
use crate::link::Gate as GateKind;
use crate::link::Writer;
use crate::num;
use crate::signals::MAX_BANKS;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.rear_trim]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Voltage of the rear sensor that is aimed at, and where an error counts in full: lean, rich \[V\].
    pub rear_v: [f64; 3],
    /// Emptying the store: so much richer \[lambda\], from this estimated temperature of the catalyst \[°C\], until the
    /// rear sensor shows this \[V\], so much oxygen at most \[mg\].
    pub emptying: [f64; 4],
    /// The wire carries a sensor's signal from, to \[V\].
    pub sound_v: [f64; 2],
    /// Correction by the sensor itself at full error \[lambda\].
    pub gain: f64,
    /// Pace of learning at full error \[%/s\].
    pub learn_pct_s: f64,
    /// From this coolant \[°C\].
    pub coolant_c: f64,
    /// From this estimated temperature of the catalyst \[°C\].
    pub from_c: f64,
    /// Air of a bank, from and to \[g/s\].
    pub air_g_s: [f64; 2],
    /// Flow steady, and no fuel cut, for so long \[s\].
    pub steady_s: f64,
    /// At a limit for so long \[s\].
    pub code_s: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.rear_trim";
        between(s, "rear_v[0]", self.rear_v[0], 0.2, 0.8)?;
        between(s, "rear_v[1]", self.rear_v[1], 0.0, self.rear_v[0] - 0.01)?;
        between(s, "rear_v[2]", self.rear_v[2], self.rear_v[0] + 0.01, 1.2)?;
        between(s, "emptying[0]", self.emptying[0], 0.0, 0.2)?;
        between(s, "emptying[1]", self.emptying[1], 100.0, 800.0)?;
        between(s, "emptying[2]", self.emptying[2], self.rear_v[0], 1.2)?;
        between(s, "emptying[3]", self.emptying[3], 0.0, 5000.0)?;
        between(s, "sound_v[0]", self.sound_v[0], 0.0, 0.1)?;
        between(s, "sound_v[1]", self.sound_v[1], 0.9, 5.0)?;
        between(s, "gain", self.gain, 0.0, 0.02)?;
        between(s, "learn_pct_s", self.learn_pct_s, 1e-4, 1.0)?;
        between(s, "coolant_c", self.coolant_c, 0.0, 110.0)?;
        between(s, "from_c", self.from_c, 200.0, 800.0)?;
        between(s, "air_g_s[0]", self.air_g_s[0], 0.5, 100.0)?;
        between(s, "air_g_s[1]", self.air_g_s[1], self.air_g_s[0], 200.0)?;
        between(s, "steady_s", self.steady_s, 0.0, 120.0)?;
        between(s, "code_s", self.code_s, 1.0, 600.0)
    }
}

/// Error beyond which a trim at its limit asks for more \[-\].
const ASKS_MORE: f64 = 0.5;
/// A trim passes when it is this far from its limits \[%\].
const CLEAR_PCT: f64 = 0.1;
/// Time constant of the error that the codes go by \[s\].
const ERROR_TAU_S: f64 = 5.0;

/// Codes by bank: the gas after the catalyst stays too lean, too rich.
const CODES: [[Code; 2]; MAX_BANKS] = [[Code::P2096, Code::P2097], [Code::P2098, Code::P2099]];

/// One bank.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
struct Bank {
    /// Short correction \[lambda\].
    short: f64,
    /// Oxygen that the store may still hold from air alone \[mg\], and whether it is being emptied.
    aired_mg: f64,
    empties: bool,
    /// Smoothed error \[-\].
    error: f64,
    /// At its rich limit, at its lean limit, and more is asked for \[s\].
    at_s: [f64; 2],
    /// In closed loop and away from its limits \[s\].
    clear_s: f64,
}

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    banks: [Bank; MAX_BANKS],
    steady_s: f64,
    /// Gates, by bank.
    pub gates: [Vec<Gate>; MAX_BANKS],
}

/// What the task looks at.
struct Look<'a> {
    time_s: f64,
    coolant_c: f64,
    catalyst_c: f64,
    /// Air of one bank \[g/s\].
    air_g_s: f64,
    rear_v: [f64; MAX_BANKS],
    closed_loop: [bool; MAX_BANKS],
    /// Flow steady, fuel on, and the catalyst monitor leaves the mixture alone.
    steady: bool,
    purging: bool,
    /// Air alone goes through the engine.
    aired: bool,
    /// Lambda control aims at 1, and nothing else works on fuel or cylinders.
    free: bool,
    codes: &'a codes::Codes,
    banks: usize,
}

impl Bank {
    /// (5) What the store holds after air alone, and whether it is being emptied.
    fn empty(&mut self, cal: &Cal, l: &Look<'_>, rear_v: f64, may: bool, dt_s: f64) {
        let [richer, from_c, to_v, most_mg] = cal.emptying;
        if l.aired {
            self.aired_mg = most_mg;
        } else if rear_v >= to_v {
            // of gas this rich a little comes through before the store is where it is aimed at
            self.aired_mg = 0.0;
        } else if self.empties {
            self.aired_mg -= 1e3 * OXYGEN_IN_AIR * l.air_g_s * richer * dt_s;
        }
        self.empties = may && !l.aired && l.catalyst_c >= from_c && self.aired_mg > 0.0;
    }
}

impl State {
    /// Key on: a new trip.
    pub fn key_on(&mut self) {
        *self = Self { gates: std::array::from_fn(|_| Vec::with_capacity(8)), ..Self::default() };
    }
    /// Codes were cleared: counts start anew.
    pub fn forget(&mut self) {
        for bank in &mut self.banks {
            (bank.at_s, bank.clear_s) = Default::default();
        }
    }
    /// (2) What a bank is asked for beside its target \[lambda\].
    pub fn offset(&self, cal: &Cal, store: &Store, bank: usize) -> f64 {
        let b = &self.banks[bank];
        // (5)
        let emptying = if b.empties { -cal.emptying[0] } else { 0.0 };
        b.short + emptying + store.rear_lambda(bank)
    }

    fn judge_gates(&mut self, cal: &Cal, l: &Look<'_>) {
        let by_cylinder = codes::BY_CYLINDER.iter().chain(&codes::INJECTOR_OPEN).chain(&codes::COIL_OPEN);
        let mut block = by_cylinder.chain(&catalyst_monitor::BLOCK).copied();
        let stands = block.find(|c| l.codes.active(*c));
        let least = |kind, now: f64, limit: f64| Gate::measured(kind, now >= limit, now, limit);
        for b in 0..l.banks {
            let ([low, high], [from_v, to_v]) = (cal.air_g_s, cal.sound_v);
            let gates = &mut self.gates[b];
            gates.clear();
            gates.push(Gate::no_code(stands));
            gates.push(least(GateKind::Warm, l.coolant_c, cal.coolant_c));
            gates.push(least(GateKind::CatalystWarm, l.catalyst_c, cal.from_c));
            gates.push(Gate::measured(GateKind::InCell, (low..=high).contains(&l.air_g_s), l.air_g_s, low));
            gates.push(Gate::switch(GateKind::ClosedLoop, l.closed_loop[b] && l.free));
            gates.push(Gate::measured(
                GateKind::RearInRange,
                (from_v..=to_v).contains(&l.rear_v[b]),
                l.rear_v[b],
                if l.rear_v[b] < from_v { from_v } else { to_v },
            ));
            gates.push(least(GateKind::Steady, self.steady_s, cal.steady_s));
            gates.push(Gate::switch(GateKind::NoPurge, !l.purging));
        }
    }

    /// Every 100 ms. What the codes are told, by bank: too lean, too rich.
    fn slow(
        &mut self,
        cal: &Cal,
        l: &Look<'_>,
        (store, limits): (&mut Store, &memory::Cal),
        dt_s: f64,
    ) -> [[Option<bool>; 2]; MAX_BANKS] {
        self.steady_s = if l.steady { self.steady_s + dt_s } else { 0.0 };
        self.judge_gates(cal, l);
        let mut told = [[None; 2]; MAX_BANKS];
        for (b, told) in told.iter_mut().enumerate().take(l.banks) {
            let (bank, gates) = (&mut self.banks[b], &self.gates[b]);
            // steadiness and purge matter to learning alone
            let learning_only = |g: &Gate| matches!(g.kind, GateKind::Steady | GateKind::NoPurge);
            let works = gates.iter().all(|g| g.open || learning_only(g));
            // an idling catalyst stores oxygen too
            let may_empty = gates.iter().all(|g| {
                g.open || learning_only(g) || matches!(g.kind, GateKind::CatalystWarm | GateKind::InCell)
            });
            bank.empty(cal, l, l.rear_v[b], may_empty, dt_s);
            let [_, low, high] = store.limits(limits, Name::RearTrim(b as u8));
            // a trim away from its limits is sound whatever the gates say
            let clear = l.closed_loop[b]
                && (low + CLEAR_PCT..=high - CLEAR_PCT).contains(&store.get(Name::RearTrim(b as u8)));
            bank.clear_s = if clear { bank.clear_s + dt_s } else { 0.0 };
            let good = (bank.clear_s >= cal.code_s).then_some(false);
            if !works || bank.empties {
                (bank.short, bank.error, bank.at_s) = (0.0, 0.0, [0.0; 2]);
                *told = [good; 2];
                continue;
            }
            // (1), (2)
            let [aim_v, lean_v, rich_v] = cal.rear_v;
            let off_v = l.rear_v[b] - aim_v;
            let full_v = if off_v < 0.0 { aim_v - lean_v } else { rich_v - aim_v };
            let error = (off_v / full_v).clamp(-1.0, 1.0);
            bank.short = cal.gain * error;
            bank.error += (error - bank.error) * num::lag_share(dt_s, ERROR_TAU_S);
            // (3)
            let name = Name::RearTrim(b as u8);
            if gates.iter().all(|g| g.open) {
                store.move_by(limits, name, -error * cal.learn_pct_s * dt_s, Writer::Ordinary, l.time_s);
            }
            // (4)
            let pct = store.get(name);
            let is = [pct >= high && bank.error < -ASKS_MORE, pct <= low && bank.error > ASKS_MORE];
            for (s, is) in bank.at_s.iter_mut().zip(is) {
                *s = if is { *s + dt_s } else { 0.0 };
            }
            *told = bank.at_s.map(|s| if s >= cal.code_s { Some(true) } else { good });
        }
        told
    }
}

impl Ecm {
    /// Every 100 ms.
    pub(super) fn rear_trim_slow(&mut self, dt: f64) {
        let cal = self.cal.clone();
        let banks = cal.plate.bank_count();
        let swings = self.s.catalyst.swings();
        let free = !self.holds_trims() && !swings && self.s.fuel.target == 1.0;
        let s = &mut self.s;
        let look = Look {
            time_s: s.inputs.time_s,
            coolant_c: s.inputs.coolant_c,
            catalyst_c: s.catalyst.brick_c(),
            air_g_s: s.inputs.air_g_s / banks as f64,
            rear_v: s.inputs.rear_oxygen_v,
            closed_loop: s.fuel.closed_loop,
            steady: s.running && s.fuel.steady() && !s.fuel.cut && !swings,
            purging: s.purge.duty > 0.0,
            aired: !s.running || s.fuel.cut,
            free,
            codes: &s.codes,
            banks,
        };
        let store = (&mut s.store, &cal.s.memory);
        let told = s.rear_trim.slow(&cal.s.rear_trim, &look, store, dt);
        for (codes, told) in CODES.into_iter().zip(told).take(banks) {
            for (code, seen) in codes.into_iter().zip(told) {
                self.verdict(code, seen);
            }
        }
    }
}
