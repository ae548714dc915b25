//! Fuel from tank to port or cylinder: blend, tank and line, pumps and regulator, injectors, wall film.
//!
//! **Models** a blend of petrol and ethanol, a tank in which what is filled in mixes at once with what is left, the line
//! to the injectors, which the fuel passes in its order, a pump whose pressure falls with flow, and its filter, a regulator that
//! holds the rail pressure over ambient while the pump can, pressure build-up and slow decay, injectors with static
//! flow, dead time over supply voltage and the square root of the pressure drop, and a wall film with two parameters
//! that depend on coolant temperature. With direct injection (`[fuel.direct]`) there is no film: injectors open into
//! the cylinder during its intake stroke, from a rail that a mechanical pump fills out of the low-pressure rail.
//!
//! **Leaves out** pressure waves in the rail, evaporation of light ends in the tank, a tank that runs dry (its last litres
//! are not used up), the change of volume when petrol and ethanol mix (below 0.5 %), ethanol's weak vapour pressure in the
//! cold, its knock resistance, its faster flame, air displaced and charge cooled by its vapour; fuel in the ports counts
//! as the fuel at the injectors; with direct injection fuel on piston and liner, and the charge cooled by what evaporates.
//!
//! **State** ([`State`]): rail pressure \[Pa gauge\], that of the high-pressure rail; by cylinder: film and
//! vapour waiting in the port \[kg\]; fuel in the tank \[L\], alcohol in the tank and along the line \[% by volume\].
//!
//! **Equations**
//! 0. A roller-cell pump delivers `n Q_free` less a slip proportional to pressure, up to its relief valve:
//!    `p = min(p_relief, (n Q_free − Q)/s) − k Q²`, n its remaining displacement (wear) times the supply over 13.5 V.
//!    Rail pressure is the lower of that and the regulator's pressure; the two meet at the knee.
//! 1. `m = (t − t_dead(V)) ṁ₀ √(Δp/Δp₀)`, not below zero.
//! 2. `ṁ_film = X m_inj − r m_film/τ` (Aquino, SAE 810494), solved exactly over each cycle; r the pace of evaporation
//!    by speed and manifold pressure ([`num::film_pace`]).
//! 4. High-pressure rail: `dp/dt = K/(ρ V) (Q_pump − Q_inj)`; the output stage controls the pump's fill so that the
//!    rail approaches its target pressure with one time constant, at most `m₀ n f` per second: `m₀` per turn, `n`
//!    turns per second, `f` the fill that the low pressure allows: below one pressure only vapour enters, above
//!    another the pump fills completely.
//! 5. Short pulses: the mass of (1) times `1 + g exp(−t_open/τ)`, `g` by serial: near its closing limit a needle has
//!    not come to rest, and some injectors deliver more, some less.
//! 3. Blend by mass share `a` of ethanol: ratio, heat and latent heat are the mass-weighted means; density is the mean
//!    by volume.
//! 6. Through the same hole and pressure drop mass goes with the square root of density (Bernoulli):
//!    `ṁ₀ ∝ √(ρ/ρ_petrol)`.
//! 7. The line is a row of cells of equal volume; what is injected moves that much fuel from each cell to the next.
//! 8. Film of a blend: as that of petrol at a coolant colder by `κ (L/AFR − L₀/AFR₀)/c_p`, what evaporating the fuel of a
//!    stoichiometric charge takes beyond petrol's, as far as it comes from the film and the air beside it (`κ`).
//!
//! **Valid** for supply 7 to 16 V, alcohol 0 to 100 %; the film of a blend only above about 0 °C.
//!
//! **Checked by** `tests/model/blend.rs`; `exact_pump…` in `tests/model/faults.rs`, `exact_injector…`, `source_blend…` in
//! `tests/model/physics.rs`; `holds_fuel…` in `tests/model/balances.rs`.

use crate::num::{self, Table};
use crate::plant::cylinder::FuelHeat;
use crate::plant::parts::{Filter, Injector, Pump, Regulator};
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// The `[fuel]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Alcohol by volume \[%\].
    pub alcohol_pct: f64,
    /// Volume of the tank \[L\].
    pub tank_l: f64,
    /// Volume between tank and injectors: filter, line, rail \[L\].
    pub line_l: f64,
    /// Rail pressure over ambient \[kPa\].
    pub rail_kpa: f64,
    /// Pressure drop at which static flow is stated \[kPa\].
    pub rated_drop_kpa: f64,
    /// Static flow of one injector at its rated drop \[g/s\].
    pub static_g_s: f64,
    /// Dead time \[µs\] over supply \[V\].
    pub dead_us: Table,
    /// Pump delivery without back pressure at 13.5 V \[g/s\].
    pub pump_free_g_s: f64,
    /// Slip of the pump \[g/s per 100 kPa\].
    pub pump_slip_g_s: f64,
    /// Its relief valve \[kPa\].
    pub pump_relief_kpa: f64,
    /// Loss of a clean filter at 10 g/s \[kPa\].
    pub filter_kpa_at_10: f64,
    /// Time for the rail to build up \[s\].
    pub build_up_s: f64,
    /// Share of injected fuel that lands on the wall \[-\], over coolant \[°C\].
    pub film_share: Table,
    /// Time constant of the film's evaporation while cranking and at idle \[s\], over coolant \[°C\].
    pub film_tau_s: Table,
    /// Injection into the cylinders; without it the injectors sit in the ports.
    #[serde(default)]
    pub direct: Option<Direct>,
}

/// The `[fuel.direct]` section: injectors in the cylinders and what feeds them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Direct {
    /// Start of injection before firing top dead centre \[deg\].
    pub start_btdc_deg: f64,
    /// Delivery of the completely filled pump per turn of the crank \[g\].
    pub pump_g_turn: f64,
    /// Low pressure over ambient at which only vapour enters the pump, and at which the pump fills completely
    /// \[kPa\].
    pub fills_kpa: [f64; 2],
    /// Volume of the rail \[cm³\].
    pub rail_cm3: f64,
    /// Time constant of the rail pressure loop \[s\].
    pub rail_tau_s: f64,
    /// Its relief valve \[kPa\].
    pub relief_kpa: f64,
    /// Pulse length over which an injector's excess near its closing limit fades to 1/e \[µs\].
    pub short_us: f64,
    /// Rail pressure sensor \[V\] over \[kPa\].
    pub rail_v: Table,
    /// Noise of it \[V\].
    pub rail_noise_v: f64,
}

impl Direct {
    fn check(&self) -> Result<(), ParamError> {
        let s = "fuel.direct";
        // between inlet opening and the closing of the inlet valve
        between(s, "start_btdc_deg", self.start_btdc_deg, 200.0, 360.0)?;
        between(s, "pump_g_turn", self.pump_g_turn, 0.01, 2.0)?;
        between(s, "fills_kpa[0]", self.fills_kpa[0], 0.0, 600.0)?;
        between(s, "fills_kpa[1]", self.fills_kpa[1], self.fills_kpa[0] + 1.0, 700.0)?;
        between(s, "rail_cm3", self.rail_cm3, 5.0, 500.0)?;
        between(s, "rail_tau_s", self.rail_tau_s, 0.01, 2.0)?;
        between(s, "relief_kpa", self.relief_kpa, 2000.0, 40_000.0)?;
        between(s, "short_us", self.short_us, 10.0, 2000.0)?;
        between(s, "rail_noise_v", self.rail_noise_v, 0.0, 0.1)?;
        for p in self.rail_v.points() {
            between(s, "rail_v", p[1], 0.0, 5.0)?;
        }
        Ok(())
    }
}

/// Bulk modulus of petrol \[Pa\]; about 1 GPa, from memory of handbooks.
const BULK_PA: f64 = 1.0e9;
/// Density of petrol in the rail \[kg/m³\].
const DENSITY: f64 = 745.0;
/// Density of ethanol at 15 °C \[kg/m³\]: 789 at 20 °C in the handbooks, some 793 at 15; the lower is taken, as for a blend
/// that is a little warmer.
const ALCOHOL_DENSITY: f64 = 789.0;
/// Stoichiometric ratio of petrol CH1.87 and of ethanol C2H6O, from their formulae \[-\].
const AFR: [f64; 2] = [14.60, 9.00];
/// Lower heating value of petrol and ethanol \[J/kg\]; Heywood 1988, table D.4 (M): 43–44 and 26.9 MJ/kg.
const HEAT_J_KG: [f64; 2] = [43.0e6, 26.8e6];
/// Latent heat of petrol and ethanol \[J/kg\]; Heywood 1988, table D.4 (M): about 350 and 840 kJ/kg.
const LATENT_J_KG: [f64; 2] = [0.35e6, 0.84e6];
/// (8) Share of the latent heat that film and air give, the rest the metal \[-\]; assumed: most of the fuel evaporates off
/// ports and valves, which the coolant keeps warm.
const FILM_COOLS: f64 = 0.35;
/// Heat capacity of air \[J/kg K\].
const AIR_CP: f64 = 1005.0;
/// Cells of the line.
const CELLS: usize = 8;
/// Least fuel that stays in a tank \[L\].
const LAST_L: f64 = 3.0;

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "fuel";
        between(s, "alcohol_pct", self.alcohol_pct, 0.0, 100.0)?;
        between(s, "tank_l", self.tank_l, 10.0, 200.0)?;
        between(s, "line_l", self.line_l, 0.01, 2.0)?;
        between(s, "rail_kpa", self.rail_kpa, 150.0, 700.0)?;
        let most_kpa = if self.direct.is_some() { 20_000.0 } else { 700.0 };
        between(s, "rated_drop_kpa", self.rated_drop_kpa, 100.0, most_kpa)?;
        if let Some(direct) = &self.direct {
            direct.check()?;
            if self.film_share.points().iter().any(|p| p[1] != 0.0) {
                return Err(ParamError::new(s, "film_share", ParamRule::ZeroWithDirect));
            }
        }
        between(s, "static_g_s", self.static_g_s, 0.5, 20.0)?;
        for p in self.dead_us.points() {
            between(s, "dead_us", p[1], 0.0, 6000.0)?;
        }
        between(s, "pump_free_g_s", self.pump_free_g_s, 1.0, 300.0)?;
        between(s, "pump_slip_g_s", self.pump_slip_g_s, 0.05, 50.0)?;
        between(s, "pump_relief_kpa", self.pump_relief_kpa, self.rail_kpa, 2000.0)?;
        between(s, "filter_kpa_at_10", self.filter_kpa_at_10, 0.0, 200.0)?;
        between(s, "build_up_s", self.build_up_s, 0.01, 5.0)?;
        for p in self.film_share.points() {
            between(s, "film_share", p[1], 0.0, 0.9)?;
        }
        for p in self.film_tau_s.points() {
            between(s, "film_tau_s", p[1], 0.01, 20.0)?;
        }
        Ok(())
    }
}

/// Mass share of ethanol in a blend with that much by volume \[%\].
fn by_mass(alcohol_pct: f64) -> f64 {
    let v = alcohol_pct / 100.0;
    v * ALCOHOL_DENSITY / (v * ALCOHOL_DENSITY + (1.0 - v) * DENSITY)
}

/// (3) Blend of petrol (CH1.87, 14.60; 43.0 MJ/kg) with a share of ethanol (9.00; 26.8 MJ/kg) by volume \[%\].
pub fn blend(alcohol_pct: f64) -> FuelHeat {
    let a = by_mass(alcohol_pct);
    FuelHeat { afr: (1.0 - a) * AFR[0] + a * AFR[1], heat_j_kg: (1.0 - a) * HEAT_J_KG[0] + a * HEAT_J_KG[1] }
}

/// (3) Density of a blend \[kg/m³\].
pub fn density_kg_m3(alcohol_pct: f64) -> f64 {
    let v = alcohol_pct / 100.0;
    v * ALCOHOL_DENSITY + (1.0 - v) * DENSITY
}

/// (3) Latent heat of a blend \[J/kg\].
pub fn latent_j_kg(alcohol_pct: f64) -> f64 {
    let a = by_mass(alcohol_pct);
    (1.0 - a) * LATENT_J_KG[0] + a * LATENT_J_KG[1]
}

/// (6) Static flow of an injector over its flow of petrol \[-\].
pub fn flows(alcohol_pct: f64) -> f64 {
    (density_kg_m3(alcohol_pct) / DENSITY).sqrt()
}

/// (8) How much colder the film of a blend is than petrol's \[K\].
pub fn film_colder_k(alcohol_pct: f64) -> f64 {
    let cools = |pct: f64| latent_j_kg(pct) / blend(pct).afr;
    FILM_COOLS * (cools(alcohol_pct) - cools(0.0)) / AIR_CP
}

/// (0) Pressure that the pump can hold downstream of its filter \[kPa\], at a flow \[g/s\] and a supply \[V\].
pub fn pump_kpa(p: &Params, pump: &Pump, filter: &Filter, flow_g_s: f64, supply_v: f64) -> f64 {
    let n = pump.share * supply_v / 13.5;
    let through = flow_g_s / 10.0;
    (100.0 * (n * p.pump_free_g_s - flow_g_s) / p.pump_slip_g_s).min(p.pump_relief_kpa)
        - p.filter_kpa_at_10 * filter.loss_factor() * through * through
}

/// (1) Mass of one injection \[kg\].
pub fn injected_kg(p: &Params, body: &Injector, drive_us: f64, supply_v: f64, drop_pa: f64) -> f64 {
    let open_us = body.open_us(drive_us, p.dead_us.at(supply_v));
    if open_us <= 0.0 || drop_pa <= 0.0 {
        return 0.0;
    }
    let long =
        body.delivers(open_us * 1e-6 * p.static_g_s * 1e-3) * (drop_pa / (p.rated_drop_kpa * 1e3)).sqrt();
    match &p.direct {
        // (5)
        Some(direct) => body.bounces(long, open_us / direct.short_us),
        None => long,
    }
}

/// Mass that drips from a closed injector over a time \[kg\].
pub fn dripped_kg(p: &Params, body: &Injector, since_s: f64, drop_pa: f64) -> f64 {
    if body.drip_mg_s <= 0.0 || drop_pa <= 0.0 {
        return 0.0;
    }
    1e-6 * body.drips_mg(since_s) * (drop_pa / (p.rated_drop_kpa * 1e3)).sqrt()
}

/// The parts that supply the rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply<'a> {
    /// Pump.
    pub pump: &'a Pump,
    /// Filter.
    pub filter: &'a Filter,
    /// Regulator.
    pub regulator: &'a Regulator,
    /// Target pressure of the output stage for the high-pressure rail \[Pa\].
    pub wanted_pa: Option<f64>,
    /// Turns of the crank per second, which drive the high-pressure pump.
    pub turns_per_s: f64,
}

/// Fuel of one cylinder's port.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Port {
    /// On the wall \[kg\].
    pub film_kg: f64,
    /// Waiting as vapour or droplets to be drawn in \[kg\].
    pub ready_kg: f64,
}

/// State of the fuel system.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Rail over ambient \[Pa\].
    pub rail_pa: f64,
    /// Ports by cylinder.
    pub ports: Vec<Port>,
    /// High-pressure rail over ambient \[Pa\]; zero on port injection.
    pub high_pa: f64,
    /// Flow out of the rail, smoothed \[kg/s\].
    pub flow_kg_s: f64,
    /// Fuel in the tank \[L\].
    pub tank_l: f64,
    /// Alcohol in it by volume \[%\].
    pub tank_pct: f64,
    line_pct: [f64; CELLS],
    /// Combustion properties of the fuel at the injectors.
    pub heat: FuelHeat,
    /// (6) Flow of an injector over its flow of petrol \[-\].
    pub flows: f64,
    colder_k: f64,
    injected_kg: f64,
    film_share: f64,
    film_tau_s: f64,
}

impl State {
    /// Rail at rest with its residual pressure, ports dry, the tank half full of the car's own fuel.
    pub fn at_rest(p: &Params, cylinders: usize) -> Self {
        let mut s = Self::empty(p, cylinders);
        s.fill(p, 50.0, p.alcohol_pct);
        s
    }
    fn empty(p: &Params, cylinders: usize) -> Self {
        Self {
            tank_l: LAST_L,
            tank_pct: p.alcohol_pct,
            line_pct: [p.alcohol_pct; CELLS],
            heat: blend(p.alcohol_pct),
            flows: 1.0,
            colder_k: 0.0,
            rail_pa: 0.6 * p.rail_kpa * 1e3,
            // residual pressure of a cooled-down engine
            high_pa: if p.direct.is_some() { 0.6 * p.rail_kpa * 1e3 } else { 0.0 },
            ports: vec![Port::default(); cylinders],
            flow_kg_s: 0.0,
            injected_kg: 0.0,
            film_share: 0.0,
            film_tau_s: 1.0,
        }
    }
    /// Fills tank and line with a blend before a run: so full \[%\], so much alcohol \[% by volume\].
    pub fn fill(&mut self, p: &Params, full_pct: f64, alcohol_pct: f64) {
        self.tank_l = (0.01 * full_pct * p.tank_l).max(LAST_L);
        (self.tank_pct, self.line_pct) = (alcohol_pct, [alcohol_pct; CELLS]);
        self.at_injectors();
    }
    /// Fills in so many litres with so much alcohol \[% by volume\], as far as there is room.
    pub fn refuel(&mut self, p: &Params, litres: f64, alcohol_pct: f64) {
        let litres = litres.min(p.tank_l - self.tank_l).max(0.0);
        let all_l = self.tank_l + litres;
        self.tank_pct = (self.tank_pct * self.tank_l + alcohol_pct * litres) / all_l;
        self.tank_l = all_l;
    }
    /// How full the tank is \[%\].
    pub fn full_pct(&self, p: &Params) -> f64 {
        100.0 * self.tank_l / p.tank_l
    }
    /// Alcohol in the fuel at the injectors by volume \[%\].
    pub fn alcohol_pct(&self) -> f64 {
        self.line_pct[CELLS - 1]
    }
    fn at_injectors(&mut self) {
        let pct = self.alcohol_pct();
        (self.heat, self.flows, self.colder_k) = (blend(pct), flows(pct), film_colder_k(pct));
    }
    /// (7) So much fuel leaves tank and line \[kg\].
    fn flow_on(&mut self, p: &Params, out_kg: f64) {
        if out_kg <= 0.0 {
            return;
        }
        let litres = 1e3 * out_kg / density_kg_m3(self.alcohol_pct());
        self.tank_l = (self.tank_l - litres).max(LAST_L);
        let share = (litres * CELLS as f64 / p.line_l).min(1.0);
        let mut ahead = self.tank_pct;
        for cell in &mut self.line_pct {
            ahead = std::mem::replace(cell, *cell + (ahead - *cell) * share);
        }
        self.at_injectors();
    }
    /// The slow part: tank and line, rail pressure and film constants. Every 10 ms.
    pub fn tick(
        &mut self,
        p: &Params,
        parts: &Supply<'_>,
        pump: bool,
        supply_v: f64,
        coolant_c: f64,
        dt_s: f64,
    ) {
        let out_kg = std::mem::take(&mut self.injected_kg);
        self.flow_on(p, out_kg);
        let drawn_kg = match &p.direct {
            // (4)
            Some(direct) => self.high(direct, out_kg, parts.wanted_pa, parts.turns_per_s, dt_s),
            None => out_kg,
        };
        self.flow_kg_s += (drawn_kg / dt_s - self.flow_kg_s) * num::lag_share(dt_s, 0.15);
        let (goal, tau) = if pump && supply_v > 6.0 {
            // (0)
            let can_kpa = pump_kpa(p, parts.pump, parts.filter, self.flow_kg_s * 1e3, supply_v);
            ((p.rail_kpa * parts.regulator.gain).min(can_kpa).max(0.0) * 1e3, p.build_up_s)
        } else {
            (0.0, 1800.0)
        };
        self.rail_pa += (goal - self.rail_pa) * num::lag_share(dt_s, tau);
        // (8)
        let film_c = coolant_c - self.colder_k;
        self.film_share = p.film_share.at(film_c);
        self.film_tau_s = p.film_tau_s.at(film_c);
    }
    /// (4) Advances the high-pressure rail by one tick; returns the mass that its pump drew \[kg\].
    fn high(&mut self, d: &Direct, out_kg: f64, wanted_pa: Option<f64>, turns_per_s: f64, dt_s: f64) -> f64 {
        let pa_per_kg = BULK_PA / (DENSITY * d.rail_cm3 * 1e-6);
        let [empty, full] = d.fills_kpa;
        let filled = ((self.rail_pa * 1e-3 - empty) / (full - empty)).clamp(0.0, 1.0);
        let most_kg = d.pump_g_turn * 1e-3 * turns_per_s * filled * dt_s;
        let missing_pa = wanted_pa.map_or(0.0, |w| w - self.high_pa);
        let wanted_kg = if wanted_pa.is_some() {
            out_kg + missing_pa / pa_per_kg * num::lag_share(dt_s, d.rail_tau_s)
        } else {
            0.0
        };
        let in_kg = wanted_kg.clamp(0.0, most_kg);
        // a rail at rest loses its pressure slowly, through the injectors' seats and by cooling
        let kept = self.high_pa * (1.0 - num::lag_share(dt_s, 1800.0));
        let next_pa = kept + (in_kg - out_kg) * pa_per_kg;
        // an empty rail fills from the low-pressure one through the pump
        self.high_pa = next_pa.max(self.rail_pa).min(d.relief_kpa * 1e3);
        in_kg + ((self.rail_pa - next_pa) / pa_per_kg).max(0.0)
    }
    /// Supply pressure of the injectors, over ambient \[Pa\].
    pub fn behind_injectors_pa(&self, p: &Params) -> f64 {
        if p.direct.is_some() { self.high_pa } else { self.rail_pa }
    }
    /// (1) Mass of one injection of this fuel \[kg\]; `ambient_pa`, `manifold_pa`: what the pressure of the rail is over, and
    /// what the injector gives into.
    pub fn given_kg(
        &self,
        p: &Params,
        body: &Injector,
        (drive_us, supply_v): (f64, f64),
        (ambient_pa, manifold_pa): (f64, f64),
    ) -> f64 {
        let drop_pa = self.behind_injectors_pa(p) + ambient_pa - manifold_pa;
        self.flows * injected_kg(p, body, drive_us, supply_v, drop_pa)
    }
    /// One injection into a port.
    pub fn inject(&mut self, cylinder: usize, mass_kg: f64) {
        self.injected_kg += mass_kg;
        let port = &mut self.ports[cylinder];
        port.film_kg += self.film_share * mass_kg;
        port.ready_kg += (1.0 - self.film_share) * mass_kg;
    }
    /// (2) What a cylinder draws in at inlet closing, `since_s` after it last did, out of a manifold pressure \[Pa\] \[kg\].
    pub fn draw(&mut self, cylinder: usize, since_s: f64, manifold_pa: f64) -> f64 {
        let port = &mut self.ports[cylinder];
        // no film, as with direct injection: nothing to work out
        let off = if port.film_kg > 0.0 {
            let pace = num::film_pace(120.0 / since_s.max(1e-3), 1e-3 * manifold_pa);
            port.film_kg * num::lag_share(pace * since_s, self.film_tau_s)
        } else {
            0.0
        };
        port.film_kg -= off;
        let drawn = port.ready_kg + off;
        port.ready_kg = 0.0;
        drawn
    }
}
