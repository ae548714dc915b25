//! The catalyst monitor: how much oxygen the catalyst of a bank takes up and gives back.
//!
//! *Inside*: when it may be measured, the commanded swings of the mixture, the value with its limit. *Outside*: the life of
//! the code ([`crate::ecm::codes`]), how the mixture is metered (`fueling`).
//!
//! **Models** a test once in a trip and bank, at a steady cruise: the mixture is made rich until the switching sensor behind
//! the catalyst says rich, then lean until it says lean, then rich again. Between two switches the excess of oxygen in the
//! gas ahead, by air flow and wide-band sensor, is what the store has taken up, or given back. That a worn catalyst stores
//! less oxygen, and that its storage tells of its conversion, is the common principle of such monitors; the rule asks for a
//! code before the emissions pass 1.75 times the standard, once in a driving cycle, two trips to the lamp
//! (13 CCR 1968.2 (e)(1), from memory).
//!
//! **Leaves out** a correction for temperature and for the lag of the rear sensor: a slow one makes the store look
//! larger. No test is made without a rear sensor that answers, and none counts whose front sensor followed a swing late: what
//! it shows late of a short swing is missing from the sum, so that a new catalyst would look worn.
//!
//! **State** ([`State`]): by bank the phase, oxygen since the last switch \[mg\], finished rounds; the catalyst's estimated
//! temperature \[°C\]; the last results, which outlive the key but not a clearing of codes.
//!
//! **Equations**
//! 1. `m = 0.2314 ∫ air (1 − 1/λ) dt` from switch to switch: what the gas had over, or lacked. λ is what the front sensor
//!    would show without the shift that the rear trim has learned. A sensor that ages shifts in volts, and a wide-band
//!    sensor gives fewer volts for lean gas than for rich: a shift taken off in lambda would leave an error in the swing.
//! 2. A round: `2/(1/m_filled + 1/m_drained)`. What is left of the front sensor's offset, or air that leaks in behind it, b
//!    in all, makes the one `m a/(a − b)` and the other `m a/(a + b)`, a the swing: this mean is free of it.
//! 3. The value: mean of the rounds over that of a new catalyst.
//!
//! **Checked by** `tests/module/catalyst_monitor.rs`.

use crate::ecm::codes::{self, Code, Codes};
use crate::ecm::{Ecm, Gate};
use crate::link::Gate as GateKind;
use crate::num::{self, Table};
use crate::signals::MAX_BANKS;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.catalyst]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Oxygen that a new catalyst takes up from switch to switch, measured on a nominal engine \[mg\].
    pub new_mg: f64,
    /// Least share of it: less is a fault \[%\].
    pub least_pct: f64,
    /// How far the mixture is made lean and rich \[lambda\].
    pub swing: f64,
    /// Rounds of filling and draining that make a test.
    pub rounds: u8,
    /// The front sensor has followed half a swing within \[s\].
    pub front_s: f64,
    /// The rear sensor says lean below, rich above \[V\].
    pub rear_v: [f64; 2],
    /// From this coolant \[°C\].
    pub coolant_c: f64,
    /// From this estimated temperature of the catalyst \[°C\].
    pub from_c: f64,
    /// Temperature that the catalyst goes to \[°C\], over the air of its bank \[g/s\].
    pub goes_to_c: Table,
    /// Its time constant \[s\].
    pub warms_s: f64,
    /// Air of a bank, from and to \[g/s\].
    pub air_g_s: [f64; 2],
    /// Flow steady for so long \[s\].
    pub steady_s: f64,
    /// Mean of the short-term trim within \[%\].
    pub trim_pct: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.catalyst";
        between(s, "new_mg", self.new_mg, 10.0, 5000.0)?;
        between(s, "least_pct", self.least_pct, 1.0, 90.0)?;
        between(s, "swing", self.swing, 0.01, 0.1)?;
        between(s, "rounds", f64::from(self.rounds), 1.0, 20.0)?;
        between(s, "front_s", self.front_s, 0.1, 5.0)?;
        between(s, "rear_v[0]", self.rear_v[0], 0.05, 0.45)?;
        between(s, "rear_v[1]", self.rear_v[1], 0.45, 0.9)?;
        between(s, "coolant_c", self.coolant_c, 0.0, 110.0)?;
        between(s, "from_c", self.from_c, 200.0, 800.0)?;
        for p in self.goes_to_c.points() {
            between(s, "goes_to_c", p[1], 100.0, 1000.0)?;
        }
        between(s, "warms_s", self.warms_s, 1.0, 1000.0)?;
        between(s, "air_g_s[0]", self.air_g_s[0], 1.0, 100.0)?;
        between(s, "air_g_s[1]", self.air_g_s[1], self.air_g_s[0], 200.0)?;
        between(s, "steady_s", self.steady_s, 0.0, 60.0)?;
        between(s, "trim_pct", self.trim_pct, 1.0, 25.0)
    }
}

/// Oxygen in air by mass \[-\].
pub(super) const OXYGEN_IN_AIR: f64 = 0.2314;
/// A sensor that has not switched after so many times the oxygen of a new catalyst does not answer.
const NO_ANSWER: f64 = 3.0;
/// After a test without a result the next try waits \[s\].
const PAUSE_S: f64 = 60.0;
/// Time constant of the mean short-term trim \[s\].
const TRIM_TAU_S: f64 = 5.0;
/// Temperature that the catalyst goes to while nothing burns \[°C\]; assumed.
const UNFIRED_C: f64 = 200.0;

/// Code by bank.
const CODES: [Code; MAX_BANKS] = [Code::P0420, Code::P0430];

/// Codes of what the test, and the rear trim, go by: air, coolant, oxygen sensors, mixture, misfire.
pub(super) const BLOCK: [Code; 30] = [
    Code::P0300,
    Code::P0171,
    Code::P0172,
    Code::P0174,
    Code::P0175,
    Code::P0131,
    Code::P0132,
    Code::P0133,
    Code::P0135,
    Code::P0151,
    Code::P0152,
    Code::P0153,
    Code::P0155,
    Code::P0141,
    Code::P0161,
    Code::P0101,
    Code::P0102,
    Code::P0103,
    Code::P0107,
    Code::P0108,
    Code::P0112,
    Code::P0113,
    Code::P0116,
    Code::P0117,
    Code::P0118,
    Code::P0016,
    Code::P0087,
    Code::P0335,
    Code::P0336,
    Code::P2135,
];

/// What the mixture of a bank is made to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
enum Phase {
    /// Nothing.
    #[default]
    Waits,
    /// Rich, until the store is empty and a round can begin.
    Begins,
    /// Lean: the store fills.
    Fills,
    /// Rich: the store is drained.
    Drains,
}

/// One bank.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
struct Bank {
    phase: Phase,
    /// How long the front sensor has not followed this phase \[s\], and whether it has.
    late_s: f64,
    followed: bool,
    /// Oxygen over since the last switch, lacking where negative \[mg\].
    over_mg: f64,
    filled_mg: f64,
    rounds: u8,
    sum_mg: f64,
    /// Mean of the short-term trim \[-\].
    trim: f64,
    /// Tested in this trip.
    tested: bool,
    /// The rear sensor did not answer: time until the next try \[s\].
    pause_s: f64,
    /// The rear sensor did not answer when it was last tried.
    silent: bool,
    /// The front sensor followed late when it was last tried.
    late: bool,
    /// Result that no code has been told of yet \[%\].
    news_pct: Option<f64>,
}

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    banks: [Bank; MAX_BANKS],
    /// Estimated temperature of the catalysts \[°C\].
    brick_c: f64,
    steady_s: f64,
    /// Last result by bank, over a new catalyst \[%\]; none since codes were cleared.
    results_pct: [Option<f64>; MAX_BANKS],
    /// When they came \[s of the module's time\].
    at_s: [f64; MAX_BANKS],
    /// Gates, by bank.
    pub gates: [Vec<Gate>; MAX_BANKS],
}

/// What the monitor looks at.
#[derive(Debug, Clone, Copy)]
struct Look<'a> {
    time_s: f64,
    /// The engine runs by itself with its fuel on.
    fired: bool,
    idling: bool,
    coolant_c: f64,
    /// Air of one bank \[g/s\].
    air_g_s: f64,
    /// Recirculated exhaust gas, all of it from the first bank \[g/s\].
    recirculated_g_s: f64,
    /// Lambda by the front sensors without the shift that the rear trim has learned.
    lambda: [f64; MAX_BANKS],
    rear_v: [f64; MAX_BANKS],
    short: [f64; MAX_BANKS],
    closed_loop: [bool; MAX_BANKS],
    steady: bool,
    /// Nothing else works on fuel or cylinders.
    free: bool,
    codes: &'a Codes,
    banks: usize,
}

impl Bank {
    /// Every 10 ms with all gates open: the next phase, and a result where the last round has ended.
    fn step(&mut self, cal: &Cal, air_g_s: f64, lambda: f64, rear_v: f64, dt_s: f64) {
        let [lean_v, rich_v] = cal.rear_v;
        if self.front_is_late(cal, lambda, dt_s) {
            (self.late, self.pause_s) = (true, PAUSE_S);
            (self.rounds, self.sum_mg) = (0, 0.0);
            self.rest();
            return;
        }
        // (1)
        self.over_mg += 1e3 * OXYGEN_IN_AIR * air_g_s * (1.0 - 1.0 / lambda.max(0.5)) * dt_s;
        let switched = match self.phase {
            Phase::Waits => true,
            Phase::Fills => rear_v < lean_v,
            Phase::Begins | Phase::Drains => rear_v > rich_v,
        };
        if !switched {
            if self.over_mg.abs() > NO_ANSWER * cal.new_mg {
                (self.silent, self.pause_s) = (true, PAUSE_S);
                self.rest();
            }
            return;
        }
        let went_mg = self.over_mg;
        self.over_mg = 0.0;
        (self.late_s, self.followed) = (0.0, false);
        self.phase = match self.phase {
            Phase::Waits => Phase::Begins,
            Phase::Begins => Phase::Fills,
            Phase::Fills => {
                self.filled_mg = went_mg.max(1.0);
                Phase::Drains
            }
            Phase::Drains => {
                // (2)
                self.sum_mg += 2.0 / (1.0 / self.filled_mg + 1.0 / (-went_mg).max(1.0));
                self.rounds += 1;
                (self.silent, self.late) = (false, false);
                Phase::Fills
            }
        };
        if self.rounds >= cal.rounds {
            // (3)
            self.news_pct = Some(100.0 * self.sum_mg / f64::from(self.rounds) / cal.new_mg);
            self.tested = true;
            self.rest();
        }
    }
    /// Whether the front sensor takes too long for half the swing of this phase. The first phase is not judged: the mixture
    /// may have been on its side before.
    fn front_is_late(&mut self, cal: &Cal, lambda: f64, dt_s: f64) -> bool {
        let side = match self.phase {
            Phase::Waits | Phase::Begins => return false,
            Phase::Fills => 1.0,
            Phase::Drains => -1.0,
        };
        self.followed |= side * (lambda - 1.0) >= 0.5 * cal.swing;
        if !self.followed {
            self.late_s += dt_s;
        }
        self.late_s > cal.front_s
    }
    /// The mixture is left alone; what was finished of a test is kept.
    fn rest(&mut self) {
        (self.phase, self.over_mg) = (Phase::Waits, 0.0);
    }
    fn open(gates: &[Gate]) -> bool {
        // a sensor that did not answer, or too late, is tried again after a pause
        let tried_again = |g: &Gate| matches!(g.kind, GateKind::RearAnswers | GateKind::FrontFollows);
        !gates.is_empty() && gates.iter().all(|g| g.open || tried_again(g))
    }
}

/// Mass of air to fuel in the recirculated exhaust gas \[-\]: petrol's, near enough for every blend.
const AFR: f64 = 14.6;

impl State {
    /// Offset of a bank's target \[lambda\].
    pub fn offset(&self, cal: &Cal, bank: usize) -> f64 {
        match self.banks[bank].phase {
            Phase::Waits => 0.0,
            Phase::Begins | Phase::Drains => -cal.swing,
            Phase::Fills => cal.swing,
        }
    }
    /// Some bank's mixture is being swung.
    pub fn swings(&self) -> bool {
        self.banks.iter().any(|b| b.phase != Phase::Waits)
    }
    /// The last result of a bank over a new catalyst \[%\]; none since codes were cleared.
    pub fn result_pct(&self, bank: usize) -> Option<f64> {
        self.results_pct[bank]
    }
    /// Estimated temperature of the catalysts \[°C\].
    pub fn brick_c(&self) -> f64 {
        self.brick_c
    }
    /// When it came \[s of the module's time\].
    pub fn result_s(&self, bank: usize) -> f64 {
        self.at_s[bank]
    }
    /// Key on: a new trip; results stay.
    pub fn key_on(&mut self, coolant_c: f64) {
        *self = Self {
            results_pct: self.results_pct,
            at_s: self.at_s,
            brick_c: coolant_c,
            gates: [Vec::with_capacity(8), Vec::with_capacity(8)],
            ..Self::default()
        };
    }
    /// Codes were cleared, or the power went: no results, and a test may be made in this trip.
    pub fn forget(&mut self) {
        self.banks = Default::default();
        (self.results_pct, self.at_s) = Default::default();
    }

    fn fast(&mut self, cal: &Cal, l: &Look<'_>, dt_s: f64) {
        for b in 0..l.banks {
            let bank = &mut self.banks[b];
            bank.trim += (l.short[b] - bank.trim) * num::lag_share(dt_s, TRIM_TAU_S);
            bank.pause_s = (bank.pause_s - dt_s).max(0.0);
            if bank.tested
                || bank.pause_s > 0.0
                || !l.closed_loop[b]
                || !l.free
                || !Bank::open(&self.gates[b])
            {
                bank.rest();
                continue;
            }
            // recirculated exhaust gas does not pass the first bank's catalyst
            let air_g_s = if b == 0 { l.air_g_s - l.recirculated_g_s / (1.0 + 1.0 / AFR) } else { l.air_g_s };
            bank.step(cal, air_g_s, l.lambda[b], l.rear_v[b], dt_s);
            if let Some(pct) = bank.news_pct {
                (self.results_pct[b], self.at_s[b]) = (Some(pct), l.time_s);
            }
        }
    }

    /// Every 100 ms: estimated temperature and gates.
    fn slow(&mut self, cal: &Cal, l: &Look<'_>, dt_s: f64) {
        let goes_to_c = if l.fired { cal.goes_to_c.at(l.air_g_s) } else { UNFIRED_C.min(self.brick_c) };
        self.brick_c += (goes_to_c - self.brick_c) * num::lag_share(dt_s, cal.warms_s);
        self.steady_s = if l.steady { self.steady_s + dt_s } else { 0.0 };
        let [low, high] = cal.air_g_s;
        let by_cylinder = codes::BY_CYLINDER.iter().chain(&codes::INJECTOR_OPEN).chain(&codes::COIL_OPEN);
        let stands = by_cylinder.chain(&BLOCK).copied().find(|c| l.codes.active(*c));
        for b in 0..l.banks {
            let (bank, gates) = (&self.banks[b], &mut self.gates[b]);
            gates.clear();
            let least = |kind, now: f64, limit: f64| Gate::measured(kind, now >= limit, now, limit);
            gates.push(Gate::no_code(stands));
            gates.push(least(GateKind::Warm, l.coolant_c, cal.coolant_c));
            gates.push(least(GateKind::CatalystWarm, self.brick_c, cal.from_c));
            gates.push(Gate::measured(
                GateKind::InCell,
                !l.idling && (low..=high).contains(&l.air_g_s),
                l.air_g_s,
                low,
            ));
            gates.push(Gate::switch(GateKind::ClosedLoop, l.closed_loop[b]));
            gates.push(least(GateKind::Steady, self.steady_s, cal.steady_s));
            let trim_pct = 100.0 * bank.trim;
            gates.push(Gate::measured(
                GateKind::TrimSettled,
                trim_pct.abs() <= cal.trim_pct,
                trim_pct,
                cal.trim_pct,
            ));
            gates.push(Gate::switch(GateKind::RearAnswers, !bank.silent));
            gates.push(Gate::switch(GateKind::FrontFollows, !bank.late));
        }
    }
}

/// Lambda by a front sensor whose signal is shifted: that of its voltage less the shift. `shown` is what it shows, `shift` how
/// much more than 1 it shows in gas of lambda 1.
fn without_shift(lambda_v: &Table, shown: f64, shift: f64) -> f64 {
    lambda_v.inverse_at(lambda_v.at(shown) - lambda_v.at(1.0 + shift) + lambda_v.at(1.0))
}

impl Ecm {
    /// The monitor with its calibration, and what it looks at.
    fn catalyst_look(&mut self) -> (&Cal, &mut State, Look<'_>) {
        let (free, banks) = (!self.holds_trims(), self.cal.plate.bank_count());
        let (cal, s) = (&self.cal.s, &mut self.s);
        let i = &s.inputs;
        let look = Look {
            time_s: i.time_s,
            fired: s.running && !s.fuel.cut,
            idling: s.air.idling,
            coolant_c: i.coolant_c,
            air_g_s: i.air_g_s / banks as f64,
            recirculated_g_s: s.egr.gas_g_s(cal.egr.as_ref()),
            lambda: std::array::from_fn(|b| {
                without_shift(&cal.inputs.lambda_v, i.lambda[b], s.store.rear_lambda(b))
            }),
            rear_v: i.rear_oxygen_v,
            short: s.fuel.short,
            closed_loop: s.fuel.closed_loop,
            steady: s.fuel.steady(),
            free: s.running && free && s.store.tank.inferring.is_none(),
            codes: &s.codes,
            banks,
        };
        (&cal.catalyst, &mut s.catalyst, look)
    }

    /// Every 10 ms.
    pub(super) fn catalyst_fast(&mut self, dt: f64) {
        let (cal, state, look) = self.catalyst_look();
        state.fast(cal, &look, dt);
    }

    /// Every 100 ms: gates, and what a test that has ended says.
    pub(super) fn catalyst_slow(&mut self, dt: f64) {
        let (cal, state, look) = self.catalyst_look();
        state.slow(cal, &look, dt);
        let least_pct = cal.least_pct;
        let news = state.banks.each_mut().map(|bank| bank.news_pct.take());
        for (pct, code) in news.into_iter().zip(CODES) {
            if let Some(pct) = pct {
                self.verdict(code, Some(pct < least_pct));
            }
        }
    }
}
