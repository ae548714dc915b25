//! Alcohol in the fuel: no sensor tells it, so that this module infers it from what lambda control must add.
//!
//! *Inside*: when the tank was filled, the window in which lambda control's deviation counts as alcohol, what the believed
//! share makes of the books of fuel. *Outside*: lambda control and the trims (`fueling`), the store that keeps share, level
//! and window.
//!
//! **Infers** after the level in the tank has risen while the car stood, or after a reset of the group. Until the fuel
//! that was in the line has been used, and the share has then settled, the mean short-term trim of all banks moves the
//! share instead of the long-term trims, which stand still and stay in force, right or wrong; nothing is purged, and the
//! monitor of the fuel system waits. A deviation that has another cause is taken for alcohol as well. Outside of the window
//! the share stands.
//!
//! After the power was lost, where the profile erases it, the share is its default and the level is not known: the next
//! level is taken without question, and nothing is inferred until the tank is filled or the group is reset.
//!
//! **State** ([`State`]): seconds since key-on, gates.
//!
//! **Equations**
//! 1. Fuel by the book: `AFR = (1 − a) AFR₀ + a AFR₁`, `a` the mass share; flow of an injector times `√(ρ/ρ₀)`.
//! 2. `ds/dt = short/(τ d ln n/ds)`, `n = 1/(AFR √ρ)` the drive time needed for a charge, `s` the share by volume.
//!
//! **Valid** for blends of petrol and ethanol.
//!
//! **Checked by** `tests/module/alcohol.rs`.

use crate::ecm::fueling::{self, Fuel};
use crate::ecm::memory::{self, Name, Store};
use crate::ecm::{Ecm, Gate, inputs};
use crate::link::Gate as GateKind;
use crate::link::{Notice, Writer};
use crate::num::Table;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.alcohol]` section of a car's file; without it the car takes petrol with up to 10 % of alcohol, and the
/// module takes it for petrol.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Stoichiometric ratio of the alcohol.
    pub afr: f64,
    /// Density of petrol and of the alcohol \[kg/m³\].
    pub density: [f64; 2],
    /// Pure alcohol wets the walls as petrol does that is so much colder \[K\].
    pub colder_k: f64,
    /// Cranking and after-start fuel for pure alcohol, over what its ratio asks for \[-\], over coolant \[°C\].
    pub start: Table,
    /// The tank was filled where its level has risen by so much \[%\].
    pub rise_pct: f64,
    /// Inferred from this coolant \[°C\]; time constant \[s\].
    pub infer: [f64; 2],
    /// Fuel that must have been used since, for the line to hold what the tank holds \[L\].
    pub line_l: f64,
    /// It has settled within so much \[%\] over so much fuel \[L\].
    pub settled: [f64; 2],
    /// The window shuts after so much fuel, settled or not \[L\].
    pub most_l: f64,
    /// A smaller change than this is left to the trims \[%\].
    pub least_pct: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.alcohol";
        between(s, "afr", self.afr, 5.0, 14.0)?;
        between(s, "density[0]", self.density[0], 650.0, 850.0)?;
        between(s, "density[1]", self.density[1], 700.0, 900.0)?;
        between(s, "colder_k", self.colder_k, 0.0, 60.0)?;
        for p in self.start.points() {
            between(s, "start", p[1], 1.0, 4.0)?;
        }
        between(s, "rise_pct", self.rise_pct, 2.0, 50.0)?;
        between(s, "infer[0]", self.infer[0], -40.0, 120.0)?;
        between(s, "infer[1]", self.infer[1], 1.0, 1000.0)?;
        between(s, "line_l", self.line_l, 0.01, 5.0)?;
        between(s, "settled[0]", self.settled[0], 0.2, 20.0)?;
        between(s, "settled[1]", self.settled[1], 0.01, 5.0)?;
        between(s, "most_l", self.most_l, self.line_l, 50.0)?;
        between(s, "least_pct", self.least_pct, 0.0, 20.0)
    }
    fn denser(&self, pct: f64) -> f64 {
        let v = 0.01 * pct;
        ((1.0 - v) * self.density[0] + v * self.density[1]) / self.density[0]
    }
    /// (1) Stoichiometric ratio of a share \[%\], from petrol's.
    fn ratio(&self, petrol: f64, pct: f64) -> f64 {
        let v = 0.01 * pct;
        let a = v * self.density[1] / ((1.0 - v) * self.density[0] + v * self.density[1]);
        (1.0 - a) * petrol + a * self.afr
    }
    /// (2) How much more drive time a charge needs for each per cent of alcohol, over what it needs now \[1/%\].
    fn per_pct(&self, petrol: f64, pct: f64) -> f64 {
        let needs = |pct: f64| 1.0 / (self.ratio(petrol, pct) * self.denser(pct).sqrt());
        needs(pct + 1.0) / needs(pct) - 1.0
    }
}

/// The fuel by the believed share; petrol where the car takes no blends.
pub fn believed(cal: Option<&Cal>, petrol: f64, store: &Store, coolant_c: f64) -> Fuel {
    let Some(cal) = cal else {
        return Fuel { afr: petrol, flows: 1.0, colder_k: 0.0, start: 1.0, g_l: 745.0 };
    };
    let pct = store.get(Name::Alcohol);
    let (v, denser) = (0.01 * pct, cal.denser(pct));
    Fuel {
        afr: cal.ratio(petrol, pct),
        flows: denser.sqrt(),
        colder_k: v * cal.colder_k,
        start: 1.0 + v * (cal.start.at(coolant_c) - 1.0),
        g_l: denser * cal.density[0],
    }
}

/// The level at key-on is looked at after so long \[s\].
const LOOK_S: f64 = 0.3;

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    on_s: f64,
    looked: bool,
    /// How the conditions stand.
    pub gates: Vec<Gate>,
}

impl Default for State {
    fn default() -> Self {
        Self { on_s: 0.0, looked: false, gates: Vec::with_capacity(6) }
    }
}

/// What the task works with.
struct Context<'a> {
    inputs: &'a inputs::State,
    fuel: &'a mut fueling::State,
    store: &'a mut Store,
    memory_cal: &'a memory::Cal,
    petrol: f64,
    g_l: f64,
    banks: usize,
    purging: bool,
    may_learn: bool,
}

impl State {
    /// Compares the level with the one last seen. The tank was filled if it stands higher, by more than driving could
    /// make it.
    fn look(&mut self, cal: &Cal, i: &inputs::State, store: &mut Store, dt_s: f64) -> bool {
        self.on_s += dt_s;
        let level = i.fuel_level_pct;
        let Some(was) = store.tank.level_pct else {
            store.tank.level_pct = Some(level);
            return false;
        };
        let stands = i.road_km_h < 1.0 && (i.rpm <= 0.0 || !self.looked);
        if !stands || self.on_s < LOOK_S {
            if self.looked {
                store.tank.level_pct = Some(level);
            }
            return false;
        }
        self.looked = true;
        if level < was + cal.rise_pct {
            return false;
        }
        store.tank.level_pct = Some(level);
        // it is still being filled: one window is enough
        let begun = store.tank.inferring.is_some_and(|w| w.used_l <= 0.0);
        if !begun {
            store.infer_alcohol();
        }
        !begun
    }

    /// (2) Moves the share while the window is open; the share at which it has shut.
    fn infer(&mut self, cal: &Cal, c: &mut Context<'_>, dt_s: f64) -> Option<f64> {
        let i = c.inputs;
        let used_l = c.fuel.take_used_g() / c.g_l;
        let closed_loop = c.fuel.closed_loop[..c.banks].iter().all(|x| *x);
        self.gates.clear();
        self.gates.push(Gate::switch(GateKind::Refuelled, c.store.tank.inferring.is_some()));
        self.gates.push(Gate::switch(GateKind::ClosedLoop, closed_loop));
        let (now, limit) = (i.coolant_c, cal.infer[0]);
        self.gates.push(Gate::measured(GateKind::Warm, now >= limit, now, limit));
        self.gates.push(Gate::switch(GateKind::NoPurge, !c.purging));
        self.gates.push(Gate::switch(GateKind::Steady, c.fuel.steady()));
        let mut w = c.store.tank.inferring?;
        w.used_l += used_l;
        if c.may_learn && self.gates.iter().all(|g| g.open) {
            let pct = c.store.get(Name::Alcohol);
            let short = c.fuel.short[..c.banks].iter().sum::<f64>() / c.banks as f64;
            let per_pct = cal.per_pct(c.petrol, pct);
            let step = short * dt_s / cal.infer[1] / per_pct;
            let went = c.store.move_by(c.memory_cal, Name::Alcohol, step, Writer::Ordinary, i.time_s);
            c.fuel.hand_over(went * per_pct);
            w.learned_l += used_l;
            let (around, for_l) = w.settled;
            let within = (pct + went - around).abs() <= cal.settled[0];
            w.settled = if within { (around, for_l + used_l) } else { (pct + went, 0.0) };
        }
        let settled = w.settled.1 >= cal.settled[1] || w.learned_l >= cal.most_l;
        c.store.tank.inferring = Some(w);
        if w.used_l < cal.line_l || !settled {
            return None;
        }
        c.store.tank.inferring = None;
        let found = c.store.get(Name::Alcohol);
        if (found - w.from_pct).abs() < cal.least_pct {
            c.store.move_by(c.memory_cal, Name::Alcohol, w.from_pct - found, Writer::Ordinary, i.time_s);
        }
        Some(c.store.get(Name::Alcohol))
    }
}

impl Ecm {
    /// Alcohol content, every 100 ms; on a car that takes no blends nothing.
    pub(super) fn infer_alcohol(&mut self, hold: bool, dt_s: f64) {
        let Self { cal, s, .. } = self;
        let Some(alcohol) = &cal.s.alcohol else { return };
        let filled = s.alcohol.look(alcohol, &s.inputs, &mut s.store, dt_s);
        let petrol = cal.s.fuel.afr;
        let believed = believed(Some(alcohol), petrol, &s.store, s.inputs.coolant_c);
        let mut ctx = Context {
            inputs: &s.inputs,
            fuel: &mut s.fuel,
            store: &mut s.store,
            memory_cal: &cal.s.memory,
            petrol,
            g_l: believed.g_l,
            banks: cal.plate.bank_count(),
            purging: s.purge.duty > 0.0,
            may_learn: s.running && !hold,
        };
        let found = s.alcohol.infer(alcohol, &mut ctx, dt_s);
        if filled {
            let level_pct = s.inputs.fuel_level_pct;
            s.note(Notice::TankFilled { level_pct });
        }
        if let Some(alcohol_pct) = found {
            s.note(Notice::AlcoholInferred { alcohol_pct });
        }
    }
}
