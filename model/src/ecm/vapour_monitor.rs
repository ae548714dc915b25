//! The leak test of the tank's EVAP system: a vacuum is drawn, and its decay measured.
//!
//! *Inside*: when the test may run, its phases, the size of the leak, what vent and purge valve show by the way.
//! A tester may ask for the same test at a warm idle, whatever the start and the air were: it tells the size of the leak, and
//! no code, no monitor is touched by it (our own).
//! *Outside*: ordinary purging (`purge`), the life of the codes (`codes`).
//!
//! **Models** a test once in a drive that began with a cold start: the vent valve is shut, the purge valve draws a vacuum
//! and shuts, and the pressure is watched. Then the vent valve opens, the pressure becomes ambient again, the vent valve
//! shuts once more, and what the fuel's vapour alone does is watched. The rule asks for a hole of 1.0 mm (0.040 in) to be
//! found once in a driving cycle, two trips to the lamp, and lets the test wait for a cold start, for air of 4 to 35 °C, for
//! a tank between 15 and 85 % and for less than some 2450 m (13 CCR 1968.2 (e)(4), from memory).
//!
//! **Leaves out** holes of 0.5 mm (0.020 in): what fuel that sloshes and a warm exhaust do to the pressure of a real tank
//! is not modelled, so that a test of them would only look good; open circuits of the vent valve; a pressure sensor that is
//! stuck inside its range, which looks like a gross leak, as does a purge valve that passes nothing.
//!
//! **State** ([`State`]): phase, sums of the two measurements, pressure with its zero \[kPa\], conditions at the start; the
//! last result, which outlives the key but not a clearing of codes.
//!
//! **Equations**
//! 1. Vacuum: `Δp₁ = K ∫√|p| dt + g t₁`; from ambient: `Δp₂ = −K ∫sgn(p)√|p| dt + g t₂`: two equations for the leak's `K`
//!    and for the vapour's `g`.
//! 2. `A = K V/(p₀ √(2/ρ))`, V from the level; the diameter of the round hole with `A = 0.6 π d²/4`.
//! 3. A purge valve that leaks shows as vapour that goes away: `g V/(R T)` below a limit.
//!
//! **Checked by** `tests/module/vapour.rs`.

use crate::ecm::codes::{self, Code};
use crate::ecm::{Ecm, Gate};
use crate::link::Gate as GateKind;
use crate::link::{Failed, LearnedStatus, Refused, Routine, Writer};
use crate::num::{self, Table};
use crate::units::{ParamError, R_AIR, between, kelvin};
use serde::{Deserialize, Serialize};

/// The `[module.vapour]` section of a car's file; without it the module has no such test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Pressure sensor \[V\] over \[kPa\] above ambient.
    pub tank_pressure_v: Table,
    /// Tank; volume that is free of fuel when it is full \[L\].
    pub tank_l: [f64; 2],
    /// Smallest hole that is a fault, smallest that is a gross one \[mm\].
    pub leak_mm: [f64; 2],
    /// Level, from and to \[%\].
    pub level_pct: [f64; 2],
    /// Air at the start, from and to \[°C\].
    pub start_c: [f64; 2],
    /// Coolant over air at the start, at most \[K\].
    pub apart_k: f64,
    /// Least ambient pressure \[kPa\].
    pub ambient_kpa: f64,
    /// From this coolant \[°C\].
    pub coolant_c: f64,
    /// Purge valve while it draws: duty \[-\], how fast it opens and shuts \[1/s\].
    pub draw_duty: [f64; 2],
    /// Vacuum \[kPa\].
    pub draw_kpa: f64,
    /// Longest time for it \[s\].
    pub draw_s: f64,
    /// Longest time of the measurement under vacuum \[s\].
    pub hold_s: f64,
    /// Vent open in between \[s\].
    pub even_s: f64,
    /// Longest time of the measurement from ambient \[s\].
    pub rise_s: f64,
    /// More vapour than this: no verdict \[Pa/s\].
    pub calm_pa_s: f64,
    /// (3) Flow of a shut purge valve that is a fault \[g/s\].
    pub purge_g_s: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.vapour";
        for p in self.tank_pressure_v.points() {
            between(s, "tank_pressure_v", p[1], 0.0, 5.0)?;
        }
        between(s, "tank_l[0]", self.tank_l[0], 10.0, 200.0)?;
        between(s, "tank_l[1]", self.tank_l[1], 1.0, 50.0)?;
        between(s, "leak_mm[0]", self.leak_mm[0], 0.3, 1.0)?;
        between(s, "leak_mm[1]", self.leak_mm[1], 1.0, 10.0)?;
        between(s, "level_pct[0]", self.level_pct[0], 0.0, 50.0)?;
        between(s, "level_pct[1]", self.level_pct[1], self.level_pct[0], 100.0)?;
        between(s, "start_c[0]", self.start_c[0], -20.0, 40.0)?;
        between(s, "start_c[1]", self.start_c[1], self.start_c[0], 50.0)?;
        between(s, "apart_k", self.apart_k, 1.0, 20.0)?;
        between(s, "ambient_kpa", self.ambient_kpa, 50.0, 100.0)?;
        between(s, "coolant_c", self.coolant_c, -10.0, 100.0)?;
        between(s, "draw_duty[0]", self.draw_duty[0], 0.01, 1.0)?;
        between(s, "draw_duty[1]", self.draw_duty[1], 0.01, 10.0)?;
        between(s, "draw_kpa", self.draw_kpa, 0.5, 3.5)?;
        between(s, "draw_s", self.draw_s, 5.0, 120.0)?;
        between(s, "hold_s", self.hold_s, 5.0, 120.0)?;
        between(s, "even_s", self.even_s, 1.0, 60.0)?;
        between(s, "rise_s", self.rise_s, 5.0, 120.0)?;
        between(s, "calm_pa_s", self.calm_pa_s, 1.0, 500.0)?;
        between(s, "purge_g_s", self.purge_g_s, 0.005, 1.0)
    }
    /// Volume over the fuel \[L\].
    fn gas_l(&self, level_pct: f64) -> f64 {
        let [tank_l, free_l] = self.tank_l;
        tank_l * (1.0 - 0.01 * level_pct).clamp(0.0, 1.0) + free_l
    }
}

/// A sensor's wire is sound between these \[V\]; for so long \[s\].
const SOUND_V: [f64; 2] = [0.2, 4.8];
const WIRE_S: f64 = 0.5;
/// Time constants of the pressure and of its zero, read with the vent open and nothing drawn \[s\].
const SEES_S: f64 = 0.3;
const ZERO_S: f64 = 5.0;
/// Largest zero that is corrected \[kPa\].
const ZERO_KPA: f64 = 0.5;
/// The pressure settles after the purge valve shuts \[s\].
const SETTLES_S: f64 = 1.5;
/// A measurement ends early where so much of the vacuum is gone, or from ambient at so much \[kPa\].
const DECAYED: f64 = 0.6;
const RISEN_KPA: f64 = 1.2;
/// After a test that was broken off the next one waits \[s\].
const PAUSE_S: f64 = 20.0;
/// Level moves by less during a test \[%\].
const LEVEL_PCT: f64 = 3.0;
/// Vacuum that the manifold must have over the tank to draw \[kPa\].
const MANIFOLD_KPA: f64 = 20.0;
/// Vent open, the tank may not have such a vacuum \[kPa\]: at the end of a test, and for how long while it is purged \[s\].
const VENTED_KPA: f64 = 0.6;
const PURGED: [f64; 2] = [1.5, 3.0];
/// Discharge coefficient of a sharp-edged hole (ISO 5167, from memory).
const DISCHARGE: f64 = 0.6;

/// Codes of what the test goes by. Those that the test itself sets are not among them: nothing else could confirm or heal
/// them.
const BLOCK: [Code; 17] = [
    Code::P0443,
    Code::P0452,
    Code::P0453,
    Code::P0107,
    Code::P0108,
    Code::P0112,
    Code::P0113,
    Code::P0116,
    Code::P0117,
    Code::P0118,
    Code::P0171,
    Code::P0172,
    Code::P0174,
    Code::P0175,
    Code::P0300,
    Code::P0335,
    Code::P2135,
];

/// What the test does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Phase {
    /// Nothing: the vent valve is open.
    #[default]
    Waits,
    /// Vent shut, purge valve open.
    Draws,
    /// Both shut.
    Settles,
    /// Both shut: the vacuum is watched.
    Holds,
    /// Vent open, purge valve shut.
    Evens,
    /// Both shut: what vapour does from ambient is watched.
    Rises,
}

/// Sums of one measurement.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
struct Watch {
    from_pa: f64,
    to_pa: f64,
    for_s: f64,
    /// `∫ sgn(p) √|p| dt`.
    root: f64,
}

impl Watch {
    fn from(kpa: f64) -> Self {
        Self { from_pa: 1e3 * kpa, to_pa: 1e3 * kpa, for_s: 0.0, root: 0.0 }
    }
    fn step(&mut self, kpa: f64, dt_s: f64) {
        let mean_pa = 0.5 * (self.to_pa + 1e3 * kpa);
        let root = mean_pa.abs().sqrt();
        self.root += dt_s * if mean_pa < 0.0 { -root } else { root };
        self.to_pa = 1e3 * kpa;
        self.for_s += dt_s;
    }
    fn rose_pa(&self) -> f64 {
        self.to_pa - self.from_pa
    }
}

/// (1) The leak's `K` \[√Pa/s\] and the vapour's `g` \[Pa/s\].
fn solved(held: &Watch, rose: &Watch) -> (f64, f64) {
    let share = held.for_s / rose.for_s.max(0.1);
    let drawn = -held.root;
    let k = (held.rose_pa() - share * rose.rose_pa()) / (drawn + share * rose.root).max(1e-6);
    (k, (rose.rose_pa() + k * rose.root) / rose.for_s.max(0.1))
}

/// What a test has found.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// Diameter of the hole \[mm\]; where no vacuum came, the smallest gross one.
    pub hole_mm: f64,
    /// Vacuum that was drawn over the one wanted \[-\].
    pub drawn: f64,
    /// When \[s of the module's time\].
    pub at_s: f64,
    /// A tester had asked for it.
    pub asked: bool,
}

/// State.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// What the test does.
    pub phase: Phase,
    phase_s: f64,
    duty: f64,
    held: Watch,
    rose: Watch,
    /// Pressure as the sensor has it, its zero \[kPa\].
    told_kpa: f64,
    zero_kpa: f64,
    looked: bool,
    /// The wire has been low, high, sound for so long \[s\].
    wire_s: [f64; 3],
    /// Coolant and air when the engine was started \[°C\].
    start_c: Option<[f64; 2]>,
    level_pct: f64,
    pause_s: f64,
    /// A tester has asked for this test; how such a test ended.
    asked: bool,
    ended: Option<bool>,
    purged_s: f64,
    /// Tested in this drive; with so much vapour that nothing could be said \[Pa/s\].
    tested: bool,
    wild_pa_s: f64,
    /// Last result; none since codes were cleared.
    pub found: Option<Found>,
    /// Verdicts that no code has been told of yet.
    news: Vec<(Code, bool)>,
    /// Gates.
    pub gates: Vec<Gate>,
}

/// What the monitor looks at.
struct Look<'a> {
    time_s: f64,
    running: bool,
    volts: f64,
    coolant_c: f64,
    inlet_c: f64,
    ambient_kpa: f64,
    map_kpa: f64,
    level_pct: f64,
    purge_duty: f64,
    steady: bool,
    closed_loop: bool,
    /// No alcohol content is being inferred.
    blend_known: bool,
    /// Idling in park or neutral.
    parked: bool,
    /// No routine works on idle or cylinders.
    free: bool,
    /// The catalyst monitor swings the mixture.
    swings: bool,
    codes: &'a codes::Codes,
}

impl State {
    /// Key on: a new drive; the result stays.
    pub fn key_on(&mut self) {
        *self = Self { found: self.found, gates: Vec::with_capacity(10), ..Self::default() };
    }
    /// Codes were cleared, or the power went: no result, and a test may be made in this drive.
    pub fn forget(&mut self) {
        (self.found, self.tested, self.wild_pa_s) = (None, false, 0.0);
    }
    /// Duty at which the test holds the purge valve \[-\]; none while it leaves the valve alone.
    pub fn holds_purge(&self) -> Option<f64> {
        (self.phase != Phase::Waits).then_some(self.duty)
    }
    /// The vent valve is to be shut.
    pub fn vent_shut(&self) -> bool {
        !matches!(self.phase, Phase::Waits | Phase::Evens)
    }
    /// Pressure in the tank above ambient by its sensor, zero corrected \[kPa\].
    pub fn tank_kpa(&self) -> f64 {
        self.told_kpa - self.zero_kpa
    }
    fn go(&mut self, phase: Phase) {
        (self.phase, self.phase_s) = (phase, 0.0);
    }
    fn break_off(&mut self) {
        self.go(Phase::Waits);
        (self.duty, self.pause_s) = (0.0, PAUSE_S);
        if std::mem::take(&mut self.asked) {
            self.ended = Some(false);
        }
    }
    /// A tester asks for a test.
    fn ask(&mut self, level_pct: f64) {
        (self.level_pct, self.duty, self.asked, self.ended) = (level_pct, 0.0, true, None);
        self.go(Phase::Draws);
    }
    /// A tester stops its test.
    pub fn stop(&mut self) {
        if self.asked {
            self.break_off();
            self.ended = None;
        }
    }

    /// Pressure with its zero, and the sensor's wire.
    fn see(&mut self, cal: &Cal, l: &Look<'_>, dt_s: f64) {
        let [low_v, high_v] = SOUND_V;
        let is = [l.volts < low_v, l.volts > high_v, (low_v..=high_v).contains(&l.volts)];
        for (s, is) in self.wire_s.iter_mut().zip(is) {
            *s = if is { *s + dt_s } else { 0.0 };
        }
        let [low_s, high_s, sound_s] = self.wire_s;
        if low_s >= WIRE_S {
            self.news.push((Code::P0452, true));
        } else if high_s >= WIRE_S {
            self.news.push((Code::P0453, true));
        } else if sound_s >= 4.0 * WIRE_S {
            self.news.extend([(Code::P0452, false), (Code::P0453, false)]);
        }
        let told_kpa = cal.tank_pressure_v.inverse_at(l.volts);
        let share = if self.looked { num::lag_share(dt_s, SEES_S) } else { 1.0 };
        self.told_kpa += (told_kpa - self.told_kpa) * share;
        self.looked = true;
        if self.phase == Phase::Waits && l.purge_duty <= 0.0 && self.told_kpa.abs() < ZERO_KPA {
            self.zero_kpa += (self.told_kpa - self.zero_kpa) * num::lag_share(dt_s, ZERO_S);
        }
        // a vent that lets no air in shows by ordinary purging too
        let [vacuum_kpa, for_s] = PURGED;
        let starved = self.phase == Phase::Waits && l.purge_duty > 0.0 && self.tank_kpa() < -vacuum_kpa;
        self.purged_s = if starved { self.purged_s + dt_s } else { 0.0 };
        if self.purged_s >= for_s && sound_s > 0.0 {
            self.news.push((Code::P0446, true));
        }
    }

    fn judge_gates(&mut self, cal: &Cal, l: &Look<'_>) {
        let gates = &mut self.gates;
        gates.clear();
        let by_cylinder = codes::BY_CYLINDER.iter().chain(&codes::INJECTOR_OPEN);
        let stands = by_cylinder.chain(&BLOCK).copied().find(|c| l.codes.active(*c));
        gates.push(Gate::no_code(stands));
        let window = |kind, now: f64, [low, high]: [f64; 2]| {
            Gate::measured(kind, (low..=high).contains(&now), now, if now < low { low } else { high })
        };
        let least = |kind, now: f64, limit: f64| Gate::measured(kind, now >= limit, now, limit);
        let most = |kind, now: f64, limit: f64| Gate::measured(kind, now <= limit, now, limit);
        let [coolant_c, air_c] = self.start_c.unwrap_or([l.coolant_c, l.inlet_c]);
        gates.push(most(GateKind::ColdStart, coolant_c - air_c, cal.apart_k));
        gates.push(window(GateKind::AirMild, air_c, cal.start_c));
        gates.push(window(GateKind::FuelLevel, l.level_pct, cal.level_pct));
        gates.push(least(GateKind::AmbientPressure, l.ambient_kpa, cal.ambient_kpa));
        gates.push(Gate::switch(GateKind::BlendKnown, l.blend_known));
        gates.push(least(GateKind::Warm, l.coolant_c, cal.coolant_c));
        gates.push(Gate::switch(GateKind::ClosedLoop, l.closed_loop));
        gates.push(Gate::switch(GateKind::Steady, l.steady && l.map_kpa < l.ambient_kpa - MANIFOLD_KPA));
        gates.push(most(GateKind::FuelCalm, self.wild_pa_s, cal.calm_pa_s));
    }

    /// Every 100 ms.
    fn slow(&mut self, cal: &Cal, l: &Look<'_>, dt_s: f64) {
        self.see(cal, l, dt_s);
        if l.running && self.start_c.is_none() {
            self.start_c = Some([l.coolant_c, l.inlet_c]);
        }
        self.judge_gates(cal, l);
        self.pause_s = (self.pause_s - dt_s).max(0.0);
        self.phase_s += dt_s;
        let sound = self.wire_s[2] > 0.0;
        let goes_on = l.running && l.free && sound;
        let asked = |kind| {
            use GateKind::{AirMild, AmbientPressure, ColdStart, FuelCalm};
            self.asked && matches!(kind, ColdStart | AirMild | AmbientPressure | FuelCalm)
        };
        let drawing = self.phase == Phase::Draws;
        let may = |g: &Gate| g.open || (drawing && g.kind == GateKind::Steady) || asked(g.kind);
        let may = goes_on && self.gates.iter().all(may);
        if self.phase == Phase::Waits {
            if may && !l.swings && !self.tested && self.pause_s <= 0.0 {
                (self.level_pct, self.duty) = (l.level_pct, 0.0);
                self.go(Phase::Draws);
            }
            return;
        }
        let stays = (l.level_pct - self.level_pct).abs() < LEVEL_PCT;
        let drawn_on = l.map_kpa < l.ambient_kpa - MANIFOLD_KPA;
        if !goes_on || !stays || (self.asked && !l.parked) || (drawing && !(may && drawn_on)) {
            self.break_off();
            return;
        }
        let [duty, per_s] = cal.draw_duty;
        let wanted = if drawing { duty } else { 0.0 };
        self.duty += (wanted - self.duty).clamp(-per_s * dt_s, per_s * dt_s);
        let kpa = self.tank_kpa();
        match self.phase {
            Phase::Waits => {}
            Phase::Draws => {
                if kpa <= -cal.draw_kpa {
                    self.go(Phase::Settles);
                } else if self.phase_s >= cal.draw_s {
                    self.end(cal, l, None);
                }
            }
            Phase::Settles => {
                if self.duty <= 0.0 && self.phase_s >= SETTLES_S {
                    self.held = Watch::from(kpa);
                    self.go(Phase::Holds);
                }
            }
            Phase::Holds => {
                self.held.step(kpa, dt_s);
                let decayed = 1e3 * kpa > self.held.from_pa * (1.0 - DECAYED);
                if decayed || self.phase_s >= cal.hold_s {
                    self.go(Phase::Evens);
                }
            }
            Phase::Evens => {
                if self.phase_s >= cal.even_s {
                    let vented = kpa > -VENTED_KPA;
                    if !self.asked {
                        self.news.push((Code::P0446, !vented));
                    }
                    if vented {
                        self.rose = Watch::from(kpa);
                        self.go(Phase::Rises);
                    } else {
                        self.tested |= !self.asked;
                        self.break_off();
                    }
                }
            }
            Phase::Rises => {
                self.rose.step(kpa, dt_s);
                let moved = kpa.abs() > RISEN_KPA && self.phase_s > 2.0;
                if moved || self.phase_s >= cal.rise_s {
                    let (k, g) = solved(&self.held, &self.rose);
                    self.end(cal, l, Some((k, g)));
                }
            }
        }
    }

    /// The test has ended: with the leak's and the vapour's pace, or without a vacuum.
    fn end(&mut self, cal: &Cal, l: &Look<'_>, paces: Option<(f64, f64)>) {
        let drawn = (-self.tank_kpa() / cal.draw_kpa).clamp(0.0, 2.0);
        let asked = self.asked;
        self.tested |= !asked;
        self.break_off();
        let [least_mm, gross_mm] = cal.leak_mm;
        let (hole_mm, drawn) = match paces {
            None => (gross_mm, drawn),
            Some((k, g)) => {
                let (gas_m3, gas_k) = (1e-3 * cal.gas_l(l.level_pct), kelvin(l.inlet_c));
                // (3)
                let comes_g_s = 1e3 * g * gas_m3 / (R_AIR * gas_k);
                let purge_leaks = comes_g_s < -cal.purge_g_s;
                if !asked {
                    self.news.push((Code::P0496, purge_leaks));
                }
                self.wild_pa_s = g.max(0.0);
                if g > cal.calm_pa_s || purge_leaks {
                    return;
                }
                // (2)
                let pa = 1e3 * l.ambient_kpa;
                let area_m2 = k.max(0.0) * gas_m3 / (pa * (2.0 * R_AIR * gas_k / pa).sqrt());
                let hole_m = (4.0 * area_m2 / (std::f64::consts::PI * DISCHARGE)).sqrt();
                (1e3 * hole_m, 1.0)
            }
        };
        self.found = Some(Found { hole_mm, drawn, at_s: l.time_s, asked });
        if asked {
            self.ended = Some(true);
            return;
        }
        self.news.push((Code::P0455, hole_mm >= gross_mm));
        self.news.push((Code::P0442, (least_mm..gross_mm).contains(&hole_mm)));
    }
}

impl crate::ecm::State {
    /// Duty at which something else than purging holds the purge valve \[-\].
    pub(super) fn purge_held(&self) -> Option<f64> {
        let shut = self.air.commanded.is_some() || self.store.tank.inferring.is_some();
        self.vapour.holds_purge().or(shut.then_some(0.0))
    }
}

impl Ecm {
    /// Every 100 ms; on a car without such a test nothing.
    pub(super) fn vapour_slow(&mut self, dt: f64) {
        let Some(cal) = &self.cal.s.vapour else { return };
        let mut state = std::mem::take(&mut self.s.vapour);
        let s = &self.s;
        let i = &s.inputs;
        let look = Look {
            time_s: i.time_s,
            running: s.running,
            volts: i.tank_pressure_v,
            coolant_c: i.coolant_c,
            inlet_c: i.inlet_c,
            ambient_kpa: i.ambient_kpa,
            map_kpa: i.map_kpa,
            level_pct: i.fuel_level_pct,
            purge_duty: s.purge.duty,
            steady: s.air.idling || s.fuel.steady(),
            closed_loop: s.fuel.closed_loop[..self.cal.plate.bank_count()].iter().all(|x| *x),
            blend_known: s.store.tank.inferring.is_none(),
            parked: s.air.idling && i.neutral && i.road_km_h < 1.0,
            free: !self.holds_trims() && s.air.commanded.is_none(),
            swings: s.catalyst.swings(),
            codes: &s.codes,
        };
        state.slow(cal, &look, dt);
        let news = std::mem::take(&mut state.news);
        if let Some(well) = state.ended.take() {
            let how = if well { Ok(None) } else { Err(Failed::NoVerdict) };
            self.s.ended(Routine::TestVapour, how);
        }
        self.s.out.vent_shut = state.vent_shut();
        self.s.vapour = state;
        for (code, seen) in news {
            self.verdict(code, Some(seen));
        }
    }

    /// Starts the leak test for a tester, or says why not.
    pub(super) fn begin_vapour_test(&mut self) -> Result<(), Refused> {
        let (s, i) = (&self.s, &self.s.inputs);
        let Some(cal) = &self.cal.s.vapour else { return Err(Refused::NoVapourTest) };
        if !s.running {
            return Err(Refused::NotRunning);
        }
        if !s.air.idling {
            return Err(Refused::NotIdling);
        }
        if !i.neutral || i.road_km_h >= 1.0 {
            return Err(Refused::NotParked);
        }
        if i.coolant_c < cal.coolant_c {
            return Err(Refused::CoolantBelow { is_c: i.coolant_c, needs_c: cal.coolant_c });
        }
        if !(cal.level_pct[0]..=cal.level_pct[1]).contains(&i.fuel_level_pct) {
            return Err(Refused::FuelLevelOutside { is_pct: i.fuel_level_pct, needs_pct: cal.level_pct });
        }
        if let Some(code) = BLOCK.into_iter().find(|c| s.codes.active(*c)) {
            return Err(Refused::CodeStored(code.number().into()));
        }
        if !s.fuel.closed_loop.iter().take(self.cal.plate.bank_count()).all(|x| *x) {
            return Err(Refused::OpenLoop);
        }
        let level_pct = i.fuel_level_pct;
        self.s.vapour.ask(level_pct);
        self.begin(Routine::TestVapour);
        Ok(())
    }

    /// What the leak test last found; its limit is the high one.
    pub(super) fn vapour_status(&self) -> Option<LearnedStatus> {
        let cal = self.cal.s.vapour.as_ref()?;
        let v = &self.s.vapour;
        Some(LearnedStatus {
            name: "vapour_leak".into(),
            unit: "mm".into(),
            value: v.found.map_or(0.0, |f| f.hole_mm),
            default: 0.0,
            low: 0.0,
            high: cal.leak_mm[0],
            learned: v.found.is_some(),
            written_by: v
                .found
                .map_or(Writer::Delivered, |f| if f.asked { Writer::Routine } else { Writer::Ordinary }),
            written_s: v.found.map_or(0.0, |f| f.at_s),
            gates: v.gates.iter().map(Gate::status).collect(),
        })
    }
}
