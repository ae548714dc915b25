//! Base fuel, oxygen closed loop, learned trims, and the spark's base.
//!
//! **Models** fuel from metered air delayed like the manifold's filling, cranking and after-start fuel,
//! compensation of the wall film by the module's book, overrun cut, short-term PI by bank, long-term
//! cells: an offset that acts in the idle cell only and gains centred at two flows. With direct injection
//! (`[module.fuel.direct]`) the rail's set-point and its monitor, and pulses by the pressure measured.
//!
//! **Leaves out** what differs from cylinder to cylinder (`injectors`, `cylinder_trim`).
//!
//! **State** ([`State`]): air per cylinder \[g\], short-term trims \[-\], films by the module's book \[g\].
//!
//! **Equations**
//! 1. `m = (air + offset) · (1 + gain) · (1 + short)/(AFR λ_target)`, each where it applies; AFR of the fuel as it is
//!    believed to be.
//! 2. Offset in the idle cell: `d(offset)/dt = short · air/τ`; gains: `d(gain)/dt = short · weight/τ`.
//! 3. Film by the book: `m_inj = (m − a film)/(1 − X)`, `a = 1 − exp(−r T_cycle/τ)`, r the pace of evaporation by speed
//!    and manifold pressure. A cylinder without fuel loses its film at that pace; with the first fuel after it, m is larger by
//!    what the air left in the cylinder needs.
//!
//! 4. `t = m/(ṁ₀ √(Δp/Δp₀)) + t_dead(V)`, Δp by the book, or from the rail's sensor with direct injection.
//!
//! 5. Pressure ahead: `p + n t_firing dp/dt`, the rate from the pressure's distance to its own lag.
//!
//! **Valid** for port injection with a MAF sensor, direct injection with or without.
//!
//! **Checked by** `holds_trims…`, `exact_one_injector…` in `tests/module/learning.rs`.

use crate::ecm::injectors::Correction;
use crate::ecm::inputs;
use crate::ecm::memory::{Name, Store};
use crate::ecm::{Gate, memory};
use crate::label;
use crate::link::Gate as GateKind;
use crate::link::Writer;
use crate::num::{self, Table};
use crate::signals::{MAX_BANKS, MAX_CYLINDERS};
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// The `[module.fuel]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Stoichiometric ratio by the module's book.
    pub afr: f64,
    /// Injector static flow by the book \[g/s\] at its drop \[kPa\].
    pub static_g_s: f64,
    /// Drop that belongs to it \[kPa\].
    pub rated_drop_kpa: f64,
    /// Rail over ambient by the book \[kPa\].
    pub rail_kpa: f64,
    /// Dead time \[µs\] over supply \[V\].
    pub dead_us: Table,
    /// Manifold volume \[L\], swept volume \[L\], filling \[-\] by the book.
    pub manifold: [f64; 3],
    /// Air goes by pressure so long after the start \[s\].
    pub start_s: f64,
    /// Air by pressure is taken so many firings ahead, by the pressure's own rate \[-\]: from the last sample of a
    /// smoothed pressure to the closing of the inlet. Nought trusts the last value.
    #[serde(default)]
    pub ahead_firings: f64,
    /// Cranking fuel at 100 kPa \[mg\] over coolant \[°C\].
    pub crank_mg: Table,
    /// Target lambda while warming up, over coolant \[°C\].
    pub warm_up_lambda: Table,
    /// After-start enrichment \[-\] over coolant \[°C\].
    pub after_start: Table,
    /// Its time constant \[s\].
    pub after_start_s: f64,
    /// Share of fuel on the wall by the book, over coolant \[°C\].
    pub film_share: Table,
    /// Its time constant by the book \[s\], over coolant \[°C\].
    pub film_tau_s: Table,
    /// Full-load enrichment: above this pedal \[%\], target lambda.
    pub full_load: [f64; 2],
    /// Closed loop from this coolant \[°C\] and so long after the start \[s\].
    pub closed_loop: [f64; 2],
    /// Short-term gains: proportional \[-\], integral \[1/s\].
    pub short_gains: [f64; 2],
    /// Short-term limit \[-\].
    pub short_limit: f64,
    /// Long-term learning from this coolant \[°C\]; time constant \[s\].
    pub long: [f64; 2],
    /// Centres of part and high cell \[g/s\].
    pub centres_g_s: [f64; 2],
    /// Codes: together beyond \[%\] off idle, beyond \[%\] at idle, for \[s\].
    pub codes: [f64; 3],
    /// Overrun cut above \[rpm\], back below \[rpm\].
    pub overrun_rpm: [f64; 2],
    /// Speed limit \[rpm\].
    pub limit_rpm: f64,
    /// Air per cylinder at full load \[mg\], for load.
    pub full_air_mg: f64,
    /// Spark while cranking \[deg\].
    pub crank_spark_deg: f64,
    /// Spark taken off in the first moment after the start \[deg\], over coolant \[°C\].
    pub start_spark_deg: Table,
    /// Best-torque spark by the book \[deg\] over speed \[rpm\]: nothing is advanced further.
    pub most_spark_deg: Table,
    /// Base spark at idle \[deg\].
    pub idle_spark_deg: f64,
    /// Base spark \[deg\] over speed \[rpm\].
    pub spark_deg: Table,
    /// Spark taken off at full load \[deg\].
    pub spark_load_deg: f64,
    /// Direct injection; without it the injectors sit in the ports.
    #[serde(default)]
    pub direct: Option<Direct>,
}

/// The `[module.fuel.direct]` section: injection into the cylinders.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Direct {
    /// Start of injection before firing top dead centre \[deg\].
    pub start_btdc_deg: f64,
    /// Rail set-point over ambient \[kPa\] over air of one cylinder \[mg\].
    pub rail_kpa: Table,
    /// Least set-point over ambient \[kPa\] over coolant \[°C\]: cold fuel wants to be broken up finer.
    pub cold_kpa: Table,
    /// Fastest rise and fall of the set-point \[kPa/s\].
    pub rail_slew: f64,
    /// Longest injection \[µs\].
    pub longest_us: f64,
    /// Rail code: under the set-point by \[-\], for \[s\].
    pub low_rail: [f64; 2],
    /// Letter of the injectors' kind that this module is made for.
    pub class: char,
    /// Pulse over which an injector's excess near its closing limit fades to 1/e, by the book \[µs\].
    pub short_us: f64,
}

impl Direct {
    fn check(&self) -> Result<(), ParamError> {
        let s = "module.fuel.direct";
        between(s, "start_btdc_deg", self.start_btdc_deg, 200.0, 360.0)?;
        for p in self.rail_kpa.points() {
            between(s, "rail_kpa", p[1], 1000.0, 30_000.0)?;
        }
        for p in self.cold_kpa.points() {
            between(s, "cold_kpa", p[1], 1000.0, 30_000.0)?;
        }
        between(s, "rail_slew", self.rail_slew, 100.0, 1e6)?;
        between(s, "longest_us", self.longest_us, 1000.0, 50_000.0)?;
        between(s, "low_rail[0]", self.low_rail[0], 0.02, 0.9)?;
        between(s, "low_rail[1]", self.low_rail[1], 0.1, 60.0)?;
        if !label::ALPHABET.contains(self.class) {
            return Err(ParamError::new(
                s,
                "class",
                ParamRule::CodeLetter { letters: label::ALPHABET.to_string() },
            ));
        }
        between(s, "short_us", self.short_us, 10.0, 2000.0)
    }
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.fuel";
        between(s, "afr", self.afr, 6.0, 20.0)?;
        between(s, "static_g_s", self.static_g_s, 0.5, 20.0)?;
        between(s, "rated_drop_kpa", self.rated_drop_kpa, 100.0, 20_000.0)?;
        between(s, "rail_kpa", self.rail_kpa, 100.0, 20_000.0)?;
        between(s, "manifold[0]", self.manifold[0], 0.2, 20.0)?;
        between(s, "manifold[1]", self.manifold[1], 0.2, 10.0)?;
        between(s, "manifold[2]", self.manifold[2], 0.2, 1.2)?;
        between(s, "after_start_s", self.after_start_s, 0.1, 200.0)?;
        for p in self.film_share.points() {
            between(s, "film_share", p[1], 0.0, 0.9)?;
        }
        for p in self.film_tau_s.points() {
            between(s, "film_tau_s", p[1], 0.01, 20.0)?;
        }
        between(s, "short_gains[0]", self.short_gains[0], 0.0, 2.0)?;
        between(s, "short_gains[1]", self.short_gains[1], 0.0, 10.0)?;
        for (key, table, high) in [
            ("dead_us", &self.dead_us, 10_000.0),
            ("crank_mg", &self.crank_mg, 2000.0),
            ("after_start", &self.after_start, 5.0),
        ] {
            for p in table.points() {
                between(s, key, p[1], 0.0, high)?;
            }
        }
        for p in self.warm_up_lambda.points() {
            between(s, "warm_up_lambda", p[1], 0.5, 1.5)?;
        }
        for (key, v, low, high) in [
            ("full_load[0]", self.full_load[0], 0.0, 101.0),
            ("full_load[1]", self.full_load[1], 0.5, 1.5),
            ("closed_loop[0]", self.closed_loop[0], -40.0, 120.0),
            ("closed_loop[1]", self.closed_loop[1], 0.0, 3600.0),
            ("long[0]", self.long[0], -40.0, 120.0),
            ("codes[0]", self.codes[0], 1.0, 100.0),
            ("codes[1]", self.codes[1], 1.0, 100.0),
            ("codes[2]", self.codes[2], 1.0, 3600.0),
            ("start_s", self.start_s, 0.0, 60.0),
            ("ahead_firings", self.ahead_firings, 0.0, 6.0),
            ("crank_spark_deg", self.crank_spark_deg, -30.0, 60.0),
            ("idle_spark_deg", self.idle_spark_deg, -30.0, 60.0),
            ("spark_load_deg", self.spark_load_deg, 0.0, 60.0),
        ] {
            between(s, key, v, low, high)?;
        }
        if let Some(direct) = &self.direct {
            direct.check()?;
        }
        between(s, "short_limit", self.short_limit, 0.02, 0.5)?;
        between(s, "long[1]", self.long[1], 1.0, 10_000.0)?;
        between(s, "centres_g_s[0]", self.centres_g_s[0], 0.5, 500.0)?;
        between(s, "centres_g_s[1]", self.centres_g_s[1], self.centres_g_s[0] + 0.1, 500.0)?;
        between(s, "overrun_rpm[0]", self.overrun_rpm[0], 800.0, 5000.0)?;
        between(s, "overrun_rpm[1]", self.overrun_rpm[1], 700.0, self.overrun_rpm[0])?;
        between(s, "limit_rpm", self.limit_rpm, 2000.0, 9000.0)?;
        between(s, "full_air_mg", self.full_air_mg, 50.0, 2000.0)
    }
}

/// Closed loop and learning wait so long after a fuel cut, until the air it left has passed the sensor and
/// the film on the wall has come back \[s\].
const AFTER_CUT_S: f64 = 1.0;

/// Air that is left in a cylinder after a fuel cut, where burned gas would be otherwise, over that of the next charge \[-\]:
/// a quarter to a third of a charge at overrun pressure is residual gas (common practice, from memory).
const LEFT_AIR: f64 = 0.3;

/// The rate of pressure is taken over about this \[s\].
const AHEAD_TAU_S: f64 = 0.06;

/// State of the task.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Air of one cylinder, delayed like the manifold \[g\].
    pub air_g: f64,
    /// Short-term trim by bank \[-\].
    pub short: [f64; MAX_BANKS],
    integral: [f64; MAX_BANKS],
    /// Long-term trim in force by bank \[-\].
    pub long: [f64; MAX_BANKS],
    /// Closed loop by bank.
    pub closed_loop: [bool; MAX_BANKS],
    /// Target lambda.
    pub target: f64,
    /// What a bank is asked for beside it \[lambda\].
    offset: [f64; MAX_BANKS],
    /// Fuel cut on the overrun or at the speed limit.
    pub cut: bool,
    /// Base spark \[deg\].
    pub spark_deg: f64,
    film_g: [f64; MAX_CYLINDERS],
    /// The cylinder has drawn air without fuel: what is left of it burns with the next charge.
    aired: [bool; MAX_CYLINDERS],
    /// Rail set-point over ambient \[kPa\], direct injection only.
    pub rail_kpa: f64,
    /// Opening of the last pulse by the book \[µs\].
    pub open_us: f64,
    low_rail_s: f64,
    good_rail_s: f64,
    slow_kpa: f64,
    /// Since the engine runs by itself \[s\].
    pub running_s: f64,
    since_cut_s: f64,
    /// Fuel asked for since it was last taken \[g\].
    used_g: f64,
    steady_air: f64,
    steady_s: f64,
    lean_s: [f64; MAX_BANKS],
    rich_s: [f64; MAX_BANKS],
    good_s: [f64; MAX_BANKS],
    /// Gates of long-term learning: idle, part, high.
    pub gates: [Vec<Gate>; 3],
}

/// What the fuel that is asked for adds up from \[g/s\], all cylinders, with the trims of bank 1.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Terms {
    /// By the air alone, at lambda 1.
    pub by_air_g_s: f64,
    /// For another target than lambda 1.
    pub target_g_s: f64,
    /// Long-term correction.
    pub long_g_s: f64,
    /// Short-term correction.
    pub short_g_s: f64,
    /// After the start.
    pub after_start_g_s: f64,
}

impl Default for State {
    fn default() -> Self {
        Self {
            air_g: 0.0,
            short: [0.0; MAX_BANKS],
            integral: [0.0; MAX_BANKS],
            long: [0.0; MAX_BANKS],
            closed_loop: [false; MAX_BANKS],
            target: 1.0,
            offset: [0.0; MAX_BANKS],
            cut: false,
            spark_deg: 10.0,
            film_g: [0.0; MAX_CYLINDERS],
            aired: [false; MAX_CYLINDERS],
            rail_kpa: 0.0,
            open_us: 0.0,
            low_rail_s: 0.0,
            good_rail_s: 0.0,
            slow_kpa: 0.0,
            running_s: 0.0,
            since_cut_s: AFTER_CUT_S,
            used_g: 0.0,
            steady_air: 0.0,
            steady_s: 0.0,
            lean_s: [0.0; MAX_BANKS],
            rich_s: [0.0; MAX_BANKS],
            good_s: [0.0; MAX_BANKS],
            gates: [Vec::with_capacity(8), Vec::with_capacity(8), Vec::with_capacity(8)],
        }
    }
}

/// Fuel as the module believes it to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fuel {
    /// Stoichiometric ratio \[-\].
    pub afr: f64,
    /// Flow of an injector over its flow of petrol \[-\].
    pub flows: f64,
    /// It wets the walls as petrol does that is so much colder \[K\].
    pub colder_k: f64,
    /// Cranking and after-start fuel over petrol's \[-\].
    pub start: f64,
    /// Density \[g/L\].
    pub g_l: f64,
}

/// What the task works with.
pub struct Context<'a> {
    /// Inputs.
    pub inputs: &'a inputs::State,
    /// Their calibration.
    pub inputs_cal: &'a inputs::Cal,
    /// Learned values.
    pub store: &'a mut Store,
    /// Their calibration.
    pub memory_cal: &'a memory::Cal,
    /// The canister is being drawn from.
    pub purging: bool,
    /// Idle control in force.
    pub idling: bool,
    /// Load signals off and codes that stop learning absent.
    pub may_learn: bool,
    /// The engine runs by itself.
    pub running: bool,
    /// Short-term trims stand still: a cylinder is without fuel, or a routine is under way.
    pub hold: bool,
    /// A cylinder of the bank gets no fuel for the rest of the trip: its sensor sees that cylinder's air.
    pub unfed: [bool; MAX_BANKS],
    /// Wanted beside the target in closed loop, by bank \[lambda\].
    pub offset: [f64; MAX_BANKS],
    /// The alcohol content is being inferred; none where the car takes no blends.
    pub inferring: Option<bool>,
    /// Fuel as it is believed to be.
    pub fuel: Fuel,
    /// Number of banks.
    pub banks: usize,
    /// Number of cylinders.
    pub cylinders: usize,
}

impl State {
    /// Weight of part and high cell at a flow \[g/s\].
    fn weights(cal: &Cal, air_g_s: f64) -> (f64, f64) {
        let [a, b] = cal.centres_g_s;
        let high = ((air_g_s - a) / (b - a)).clamp(0.0, 1.0);
        (1.0 - high, high)
    }

    /// Lambda asked of a bank.
    pub fn asked(&self, bank: usize) -> f64 {
        self.target + self.offset[bank]
    }

    /// Long-term correction in force \[-\].
    fn long_now(&self, cal: &Cal, store: &Store, bank: u8, idling: bool, air_g_s: f64) -> f64 {
        if idling {
            return store.get(Name::LongIdle(bank)) / air_g_s.max(0.3);
        }
        let (part, high) = Self::weights(cal, air_g_s);
        0.01 * (part * store.get(Name::LongPart(bank)) + high * store.get(Name::LongHigh(bank)))
    }

    /// Each segment: injection of the cylinder whose turn it is \[µs\]; none for one that is to get no fuel.
    pub fn segment(
        &mut self,
        cal: &Cal,
        c: &Context<'_>,
        (cylinder, bank): (usize, usize),
        silenced: bool,
    ) -> f64 {
        let i = c.inputs;
        let [volume, swept, filling] = cal.manifold;
        // (5)
        let ahead_kpa = if c.running && cal.ahead_firings > 0.0 {
            let rate = (i.map_kpa - self.slow_kpa) / AHEAD_TAU_S;
            (i.map_kpa + cal.ahead_firings * i.segment_s * rate).clamp(10.0, i.ambient_kpa.max(50.0))
        } else {
            i.map_kpa
        };
        let by_pressure_g =
            c.inputs_cal.breathing_g((ahead_kpa, i.ambient_kpa), (i.rpm, i.cam_deg), i.inlet_c);
        let own = Correction::of(c.store, cylinder);
        if !c.running {
            // cranking: by pressure and coolant
            let ratio = cal.afr / c.fuel.afr;
            let mg = cal.crank_mg.at(i.coolant_c) * i.map_kpa / 100.0 * ratio * c.fuel.start;
            self.air_g = by_pressure_g;
            self.film_g[cylinder] = 0.25e-3 * mg;
            if silenced {
                return 0.0;
            }
            return self.pulse_us(cal, i, &own, c.fuel.flows, mg * 1e-3);
        }
        if i.air_meter_open || self.running_s < cal.start_s {
            // without a meter, and while the manifold empties after the start
            self.air_g = by_pressure_g;
        } else {
            let tau = 120.0 * volume / (filling * i.rpm.max(300.0) * swept);
            self.air_g += (i.air_g_s * i.segment_s - self.air_g) * num::lag_share(i.segment_s, tau);
        }
        // (3)
        let film_c = i.coolant_c - c.fuel.colder_k;
        let cycle_s = i.segment_s * c.cylinders as f64;
        let off = num::lag_share(num::film_pace(i.rpm, i.map_kpa) * cycle_s, cal.film_tau_s.at(film_c));
        if self.cut || silenced {
            self.film_g[cylinder] *= 1.0 - off;
            self.aired[cylinder] = true;
            return 0.0;
        }
        let air_g_s = (self.air_g / i.segment_s.max(1e-4)).max(0.05);
        let long = self.long_now(cal, c.store, bank as u8, c.idling, air_g_s);
        self.long[bank] = long;
        let enrich = 1.0
            + c.fuel.start * cal.after_start.at(i.coolant_c) * num::exp(-self.running_s / cal.after_start_s);
        // (1)
        let wanted =
            self.air_g / (c.fuel.afr * self.asked(bank)) * (1.0 + long) * (1.0 + self.short[bank]) * enrich;
        let first = std::mem::take(&mut self.aired[cylinder]);
        let wanted = if first { (1.0 + LEFT_AIR) * wanted } else { wanted };
        let share = cal.film_share.at(film_c);
        let film = &mut self.film_g[cylinder];
        let inject = ((wanted - off * *film) / (1.0 - share)).max(0.0);
        *film += share * inject - off * *film;
        self.pulse_us(cal, i, &own, c.fuel.flows, inject)
    }

    /// Fuel asked for since this was last called \[g\].
    pub fn take_used_g(&mut self) -> f64 {
        std::mem::take(&mut self.used_g)
    }

    /// So much of the short-term trims of all banks has gone into another value \[-\].
    pub fn hand_over(&mut self, went: f64) {
        for integral in &mut self.integral {
            *integral -= went;
        }
    }

    /// What equation (1) is made of, as flows. `segment_s` is the time of a segment \[s\].
    pub fn terms(&self, cal: &Cal, fuel: &Fuel, coolant_c: f64, segment_s: f64) -> Terms {
        let by_air = self.air_g / segment_s.max(1e-4) / fuel.afr;
        let wanted = by_air / self.asked(0);
        let with_long = wanted * (1.0 + self.long[0]);
        let with_short = with_long * (1.0 + self.short[0]);
        let start =
            fuel.start * cal.after_start.at(coolant_c) * num::exp(-self.running_s / cal.after_start_s);
        Terms {
            by_air_g_s: by_air,
            target_g_s: wanted - by_air,
            long_g_s: with_long - wanted,
            short_g_s: with_short - with_long,
            after_start_g_s: with_short * start,
        }
    }

    /// (4)
    fn pulse_us(&mut self, cal: &Cal, i: &inputs::State, own: &Correction, flows: f64, fuel_g: f64) -> f64 {
        if fuel_g <= 0.0 {
            return 0.0;
        }
        self.used_g += fuel_g;
        let rail_kpa = if cal.direct.is_some() { i.rail_kpa } else { cal.rail_kpa };
        let drop = (rail_kpa + i.ambient_kpa - i.map_kpa).max(50.0) / cal.rated_drop_kpa;
        let open_us = fuel_g / (flows * cal.static_g_s * drop.sqrt()) * 1e6;
        self.open_us = open_us;
        let short_us = cal.direct.as_ref().map_or(1.0, |d| d.short_us);
        let us = own.pulse_us(open_us, cal.dead_us.at(i.supply_v), short_us);
        cal.direct.as_ref().map_or(us, |d| us.min(d.longest_us))
    }

    /// The rail's set-point, every 10 ms; none on port injection.
    pub fn rail(&mut self, cal: &Cal, coolant_c: f64, asked_kpa: Option<f64>, dt_s: f64) -> Option<f64> {
        let direct = cal.direct.as_ref()?;
        let own = direct.rail_kpa.at(1e3 * self.air_g).max(direct.cold_kpa.at(coolant_c));
        let wanted = asked_kpa.unwrap_or(own);
        let most = direct.rail_slew * dt_s;
        self.rail_kpa += (wanted - self.rail_kpa).clamp(-most, most);
        Some(self.rail_kpa)
    }

    /// Rail monitor, every 100 ms: under its set-point; some if it came to a verdict.
    pub fn rail_monitor(&mut self, cal: &Cal, i: &inputs::State, running: bool, dt_s: f64) -> Option<bool> {
        let [share, for_s] = cal.direct.as_ref()?.low_rail;
        if !running || self.running_s < 3.0 {
            (self.low_rail_s, self.good_rail_s) = (0.0, 0.0);
            return None;
        }
        let low = i.rail_kpa < (1.0 - share) * self.rail_kpa;
        self.low_rail_s = if low { self.low_rail_s + dt_s } else { (self.low_rail_s - dt_s / 3.0).max(0.0) };
        self.good_rail_s = if low { 0.0 } else { self.good_rail_s + dt_s };
        if self.low_rail_s >= for_s {
            self.low_rail_s = for_s;
            Some(true)
        } else if self.good_rail_s >= 10.0 * for_s {
            Some(false)
        } else {
            None
        }
    }

    /// Every 10 ms: target, cut, spark, short-term trims.
    pub fn fast(&mut self, cal: &Cal, c: &Context<'_>, dt_s: f64) {
        let i = c.inputs;
        self.slow_kpa += (i.map_kpa - self.slow_kpa) * num::lag_share(dt_s, AHEAD_TAU_S);
        if !c.running {
            self.running_s = 0.0;
            self.short = [0.0; MAX_BANKS];
            self.integral = [0.0; MAX_BANKS];
            self.closed_loop = [false; MAX_BANKS];
            self.cut = false;
            self.spark_deg = cal.crank_spark_deg;
            return;
        }
        self.running_s += dt_s;
        let closed = i.pedal_pct < 1.0;
        let [cut, back] = cal.overrun_rpm;
        let overrun = closed && self.running_s > 5.0 && if self.cut { i.rpm > back } else { i.rpm > cut };
        self.cut = overrun || i.rpm > cal.limit_rpm;
        self.since_cut_s = if self.cut { 0.0 } else { self.since_cut_s + dt_s };
        self.target = cal.warm_up_lambda.at(i.coolant_c);
        let rich = i.pedal_pct > cal.full_load[0];
        if rich {
            self.target = self.target.min(cal.full_load[1]);
        }
        // a start flares: spark takes the edge off it
        let start_flare = if self.running_s < 0.8 { cal.start_spark_deg.at(i.coolant_c) } else { 0.0 };
        let load = (self.air_g * 1e3 / cal.full_air_mg).min(1.2);
        self.spark_deg = if c.idling {
            cal.idle_spark_deg
        } else {
            cal.spark_deg.at(i.rpm) - cal.spark_load_deg * (load - 0.4).max(0.0) / 0.6 - start_flare
        };
        self.offset = [0.0; MAX_BANKS];
        for b in 0..c.banks {
            let ready = i.lambda[b] > 0.0
                && i.coolant_c >= cal.closed_loop[0]
                && self.running_s > cal.closed_loop[1]
                && self.since_cut_s >= AFTER_CUT_S
                && !c.unfed[b]
                && !rich;
            self.closed_loop[b] = ready && !c.hold;
            if ready && c.hold {
                continue;
            }
            if !ready {
                self.short[b] = 0.0;
                self.integral[b] = 0.0;
                continue;
            }
            self.offset[b] = c.offset[b];
            let error = (i.lambda[b] - self.asked(b)).clamp(-0.2, 0.2);
            // the loop's delay is counted in firings: faster engine, faster loop
            let pace = (i.rpm / 800.0).clamp(0.6, 3.0);
            let l = cal.short_limit;
            self.integral[b] = (self.integral[b] + cal.short_gains[1] * pace * error * dt_s).clamp(-l, l);
            self.short[b] = (self.integral[b] + cal.short_gains[0] * error).clamp(-l, l);
        }
    }

    /// Every 100 ms: long-term learning and its gates.
    pub fn slow(&mut self, cal: &Cal, c: &mut Context<'_>, dt_s: f64) {
        let i = c.inputs;
        // steady: flow within a fifth of its own slow mean
        let air = i.air_g_s;
        self.steady_air += (air - self.steady_air) * num::lag_share(dt_s, 1.5);
        let steady = (air - self.steady_air).abs() < 0.2 * self.steady_air.max(0.5);
        self.steady_s = if steady { self.steady_s + dt_s } else { 0.0 };
        let closed_loop = self.closed_loop[..c.banks].iter().all(|x| *x);
        let in_cell = [c.idling, !c.idling && c.running, !c.idling && c.running];
        for (which, gates) in self.gates.iter_mut().enumerate() {
            gates.clear();
            gates.push(Gate::measured(GateKind::InCell, in_cell[which], air, 0.0));
            gates.push(Gate::switch(GateKind::ClosedLoop, closed_loop));
            gates.push(Gate::measured(GateKind::Warm, i.coolant_c >= cal.long[0], i.coolant_c, cal.long[0]));
            gates.push(Gate::switch(GateKind::NoPurge, !c.purging));
            gates.push(Gate::measured(GateKind::Steady, self.steady_s >= 1.0, self.steady_s, 1.0));
            if let Some(inferring) = c.inferring {
                gates.push(Gate::switch(GateKind::BlendKnown, !inferring));
            }
        }
        if !c.may_learn {
            return;
        }
        let pace = dt_s / cal.long[1];
        for b in 0..c.banks {
            let short = self.short[b];
            // (2)
            if self.gates[0].iter().all(|g| g.open) {
                let went = c.store.move_by(
                    c.memory_cal,
                    Name::LongIdle(b as u8),
                    short * air * pace,
                    Writer::Ordinary,
                    i.time_s,
                );
                self.integral[b] -= went / air.max(0.3);
            } else if self.gates[1].iter().all(|g| g.open) {
                let (part, high) = Self::weights(cal, air);
                let step = 100.0 * short * pace;
                let w = part * part + high * high;
                for (name, weight) in [(Name::LongPart(b as u8), part), (Name::LongHigh(b as u8), high)] {
                    if weight > 0.05 {
                        let went = c.store.move_by(
                            c.memory_cal,
                            name,
                            step * weight / w,
                            Writer::Ordinary,
                            i.time_s,
                        );
                        self.integral[b] -= 0.01 * went * weight;
                    }
                }
            }
        }
    }

    /// Air has been steady for a while.
    pub fn steady(&self) -> bool {
        self.steady_s >= 1.0
    }

    /// Codes were cleared: the monitor's own count starts anew.
    pub fn forget_monitor(&mut self) {
        self.lean_s = [0.0; MAX_BANKS];
        self.rich_s = [0.0; MAX_BANKS];
        self.good_s = [0.0; MAX_BANKS];
    }

    /// Fuel monitor, every 100 ms: lean, rich by bank; some if it came to a verdict.
    pub fn monitor(&mut self, cal: &Cal, c: &Context<'_>, dt_s: f64) -> [[Option<bool>; 2]; MAX_BANKS] {
        let mut out = [[None; 2]; MAX_BANKS];
        let [off_idle, at_idle, for_s] = cal.codes;
        for (b, told) in out.iter_mut().enumerate().take(c.banks) {
            // what is being taken for alcohol may be as far out as it likes
            if !self.closed_loop[b] || c.inputs.coolant_c < cal.long[0] || c.inferring == Some(true) {
                (self.lean_s[b], self.rich_s[b], self.good_s[b]) = (0.0, 0.0, 0.0);
                continue;
            }
            let both = 100.0 * ((1.0 + self.short[b]) * (1.0 + self.long[b]) - 1.0);
            let limit = if c.idling { at_idle } else { off_idle };
            let count = |s: f64, on: bool| if on { s + dt_s } else { 0.0 };
            self.lean_s[b] = count(self.lean_s[b], both > limit);
            self.rich_s[b] = count(self.rich_s[b], both < -limit);
            self.good_s[b] = count(self.good_s[b], both.abs() <= limit);
            let verdict = |bad: f64| {
                if bad >= for_s {
                    Some(true)
                } else if self.good_s[b] >= for_s {
                    Some(false)
                } else {
                    None
                }
            };
            *told = [verdict(self.lean_s[b]), verdict(self.rich_s[b])];
        }
        out
    }
}
