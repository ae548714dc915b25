//! The catalyst of a bank, downstream of its wide-band sensor: heat, oxygen storage and thermal ageing.
//!
//! **Models** the pipe up to the catalyst, which absorbs some of the gas's heat; one lumped brick whose gas leaves at
//! the brick's temperature; oxidation of unburned gas by a light-off curve that shifts with the flow and with the
//! brick's health; oxygen stored when there is an excess and released when there is a lack; the loss of both
//! functions by heat.
//!
//! **Leaves out** gradients along and across the brick (the front of a real brick lights off first, and a misfire
//! melts it locally well before its mean temperature shows it); poisoning; nitrogen oxides; melting and the blockage
//! it causes; the delay of the pipe behind the wide-band sensor; the heat of oxygen storage itself (it is counted
//! when fuel burns with that oxygen). Unburned gas is counted by the air it needs, as in the cylinders; carbon
//! monoxide and hydrogen would release 39 and 19 % more heat for the same oxygen, which the cylinder's own energy
//! balance has then released already.
//!
//! **State** ([`Bank`]): gas waiting in the pipe (unreacted air and fuel, all fuel, mass \[kg\], enthalpy
//! \[J\]); pipe and brick \[K\]; oxygen stored \[kg\]; smoothed flows in and out \[kg/s\]; sums. The brick's health
//! belongs to the part ([`crate::plant::parts::Exhaust`]).
//!
//! **Parameters** ([`Params`]): sizes by assumption for the class; constants beside their sources below.
//!
//! **Equations**
//! 1. From the cylinder: enthalpy `H = U − U_kept − ∫p dV` (computed there). Of the fuel left with enough air, the
//!    share `0.8 y` burns on in the port, y the share burned in the cylinder ([`LATE_BURN`]).
//! 2. Mixing: the share `1 − e^(−dt ṁ/M)` of the gas waiting in the pipe moves on in a tick.
//! 3. Ports, at engine temperature, and then the pipe: `T_out = T_w + (T_g − T_w) e^(−NTU)`,
//!    `NTU = k (ṁ/10 g/s)^0.8/(ṁ c_p)`; from pipe to air `k_a (T_p − T_a) + σ A (T_p⁴ − T_a⁴)`.
//! 4. Light-off: `1/NTU = 1/NTU_k + 1/NTU_m`, `NTU_k = ln 2 · health · ṁ₅₀/ṁ · exp(E/R (1/T₅₀ − 1/T))`,
//!    `NTU_m = 16 ṁ₅₀/ṁ`, `η = 1 − e^(−NTU)`; ṁ₅₀ is the flow at a space velocity of 50 000 brick volumes per hour.
//! 5. `η min(fuel, air/AFR)` burns. Of the excess air, the share `η (1 − e^(−6 x))` gives its oxygen to the store; of
//!    the excess fuel, that share burns with stored oxygen. x is the share of the store that is empty, or full.
//! 6. Brick: `C dT/dt = ṁ (h(T_in) − h(T)) + q ṁ_burned − k_b (T − T_a)`.
//! 7. Ageing: `d ln health/dt = −exp(−R (1/T − 1/T₀))/τ`, counted above 600 °C.
//! 8. What a switching sensor takes for lambda: `λ − h η (1 − x)`, x the share of the store that is full.
//!
//! **Valid** for brick temperatures up to about 1300 °C: above that, a real brick melts.
//!
//! **Checked by** `holds_energy_of_the_exhaust`, `holds_oxygen_of_the_catalyst` in `tests/model/balances.rs`, and
//! `tests/model/catalyst.rs`.

use crate::num;
use crate::plant::cylinder::{Charge, FuelHeat, PRODUCTS};
use crate::plant::parts::Exhaust;
use crate::units::{ParamError, between, kelvin};
use serde::{Deserialize, Serialize};

/// Share of the fuel left by a good flame that burns on in cylinder and port: about 9 % escapes the flame, about 2 %
/// leaves the port (Cheng et al., SAE 932708, M). After a misfire the gas is cold and none burns.
pub const LATE_BURN: f64 = 0.8;
/// Oxygen in air by mass \[-\].
pub const OXYGEN_IN_AIR: f64 = 0.2314;
/// Activation temperature of the oxidation \[K\]: 104 kJ/mol for carbon monoxide on platinum (Voltz et al., 1973, M).
const ACTIVATION_K: f64 = 12_500.0;
/// Number of transfer units by diffusion to the wall at 50 000 brick volumes per hour: 400 cells per square inch,
/// laminar flow, Sherwood number 3; calculated by hand.
const DIFFUSION_NTU: f64 = 16.0;
/// Density of air at which the space velocity is counted, 0 °C \[kg/m³\].
const COUNTED_KG_M3: f64 = 1.293;
/// By how much a switching sensor behind an active brick with an empty store takes lambda for richer than it is \[-\]: the
/// brick's ceria, once reduced, makes hydrogen from steam, for which such a sensor is most sensitive, so that its voltage
/// follows the store's level while lambda stays at 1. The effect is known; its size is assumed, so that a half-full store
/// shows 0.65 V, since cars hold 0.6 to 0.8 V behind a good catalyst (common practice, from memory).
const HYDROGEN_LAMBDA: f64 = 0.0048;
/// Sharpness of the limits of the oxygen store, full and empty \[-\]; assumed.
const STORE_SHARPNESS: f64 = 6.0;
/// Thermal reactivity of spark-ignition catalysts \[K\]: 40 CFR 86.1823-08(d)(3) (M).
const RUIN_K: f64 = 17_500.0;
/// Time in which a brick's health falls to 1/e at [`RUIN_AT_C`] \[s\]: four hours at 1050 °C are usual for oven
/// ageing, and cost more than half of the oxygen storage and active surface (common practice, M). With the
/// regulation's constant, losing half takes about 60 hours at 800 °C and about 2500 hours at 600 °C: a car's life.
const RUIN_S: f64 = 4.0 * 3600.0;
/// Temperature of that ageing \[°C\].
const RUIN_AT_C: f64 = 1050.0;
/// Temperature below which no ageing is counted \[K\].
const RUIN_FROM_K: f64 = 873.15;
/// Stefan–Boltzmann constant \[W/m² K⁴\].
const SIGMA: f64 = 5.670_374e-8;
/// Flow below which the gas stays in the pipe \[kg/s\].
const LEAST_KG_S: f64 = 1e-7;
/// Time constant of the smoothed flows in and out, for reports \[s\].
const SMOOTH_S: f64 = 1.0;

/// The `[catalyst]` section of a car's file: one bank's pipe and brick.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Volume of the brick \[l\].
    pub brick_l: f64,
    /// Oxygen storage capacity of a new brick \[g\].
    pub oxygen_g: f64,
    /// Light-off temperature of a new brick: half of the unburned gas burns at 50 000 brick volumes per hour \[°C\].
    pub light_off_c: f64,
    /// Heat capacity of the brick \[kJ/K\].
    pub brick_kj_k: f64,
    /// Heat loss of the brick through mat and can \[W/K\].
    pub brick_loss_w_k: f64,
    /// Heat transfer from gas to the cooled ports at 10 g/s \[W/K\].
    pub port_w_k: f64,
    /// Heat capacity of manifold and pipe up to the brick \[kJ/K\].
    pub pipe_kj_k: f64,
    /// Heat transfer from gas to pipe at 10 g/s \[W/K\].
    pub pipe_inside_w_k: f64,
    /// Heat transfer from pipe to air \[W/K\].
    pub pipe_loss_w_k: f64,
    /// Radiating area of the pipe times its emissivity \[m²\].
    pub pipe_radiates_m2: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "catalyst";
        between(s, "brick_l", self.brick_l, 0.2, 5.0)?;
        between(s, "oxygen_g", self.oxygen_g, 0.01, 10.0)?;
        between(s, "light_off_c", self.light_off_c, 120.0, 500.0)?;
        between(s, "brick_kj_k", self.brick_kj_k, 0.2, 10.0)?;
        between(s, "brick_loss_w_k", self.brick_loss_w_k, 0.0, 20.0)?;
        between(s, "port_w_k", self.port_w_k, 0.0, 100.0)?;
        between(s, "pipe_kj_k", self.pipe_kj_k, 0.2, 20.0)?;
        between(s, "pipe_inside_w_k", self.pipe_inside_w_k, 0.0, 200.0)?;
        between(s, "pipe_loss_w_k", self.pipe_loss_w_k, 0.0, 50.0)?;
        between(s, "pipe_radiates_m2", self.pipe_radiates_m2, 0.0, 2.0)
    }
    /// Flow at a space velocity of 50 000 brick volumes per hour \[kg/s\].
    fn counted_kg_s(&self) -> f64 {
        self.brick_l * 1e-3 * 50_000.0 / 3600.0 * COUNTED_KG_M3
    }
    /// (4) Conversion: share of the combustible gas that burns, at a brick temperature \[K\] and a flow \[kg/s\].
    pub fn converts(&self, health: f64, brick_k: f64, flow_kg_s: f64) -> f64 {
        let half_k = kelvin(self.light_off_c);
        let bricks = self.counted_kg_s() / flow_kg_s.max(1e-5);
        let kinetic = std::f64::consts::LN_2
            * health
            * bricks
            * num::exp((ACTIVATION_K * (1.0 / half_k - 1.0 / brick_k)).clamp(-50.0, 50.0));
        let diffusion = DIFFUSION_NTU * bricks;
        1.0 - num::decay(kinetic * diffusion / (kinetic + diffusion))
    }
}

/// (7) Share of its health that a brick keeps after a time \[s\] at a temperature \[K\].
pub fn kept_health(brick_k: f64, for_s: f64) -> f64 {
    if brick_k < RUIN_FROM_K {
        return 1.0;
    }
    num::exp(-for_s / RUIN_S * num::exp(-RUIN_K * (1.0 / brick_k - 1.0 / kelvin(RUIN_AT_C))))
}

/// Enthalpy above 298.15 K \[J/kg\] and its slope \[J/kg K\] of exhaust gas, taken as products. Energy and enthalpy
/// have the same zero as the cylinder's energy.
fn enthalpy(t_k: f64) -> (f64, f64) {
    (PRODUCTS.energy(t_k) + PRODUCTS.r * t_k, PRODUCTS.cv(t_k) + PRODUCTS.r)
}

/// The temperature \[K\] at an enthalpy \[J/kg\], from a guess: Newton. A last step of less than 4 K leaves some 0.002 K.
fn temperature(h: f64, guess_k: f64) -> f64 {
    let mut t = guess_k.clamp(250.0, 2000.0);
    for _ in 0..4 {
        let (at, slope) = enthalpy(t);
        let under_k = (h - at) / slope;
        t = (t + under_k).clamp(250.0, 2500.0);
        if under_k.abs() < 4.0 {
            break;
        }
    }
    t
}

/// (1) Of the fuel that a cycle leaves: the mass that burns on in the port, and the mass that leaves it as raw fuel
/// although there was air for it \[kg\]. Fuel in excess of the air has burned in part and leaves as carbon monoxide
/// and hydrogen.
pub fn late_kg(gone: &Charge, afr: f64) -> (f64, f64) {
    let could = gone.fuel.min(gone.air / afr).max(0.0);
    let did = gone.products / (1.0 + afr);
    let late = if did > 0.0 { LATE_BURN * did / (did + could) * could } else { 0.0 };
    (late, could - late)
}

/// Gas that waits in the pipe.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
struct Waiting {
    mass_kg: f64,
    /// Air not used.
    air_kg: f64,
    /// Fuel not burned.
    fuel_kg: f64,
    /// Fuel in all, burned or not.
    all_fuel_kg: f64,
    heat_j: f64,
}

/// Sums since the plant was built, for balances.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Totals {
    /// Enthalpy out of the valves \[J\].
    pub valves_j: f64,
    /// Fuel burned on the way \[kg\]: in the port, in the brick.
    pub burned_kg: [f64; 2],
    /// Heat lost by the gas in the ports, by the pipe, by the brick \[J\].
    pub lost_j: [f64; 3],
    /// Enthalpy out of the brick \[J\].
    pub tail_j: f64,
    /// Gas into the pipe, out of the brick \[kg\].
    pub gas_kg: [f64; 2],
    /// Unreacted air: out of the valves plus air drawn in through a leak, out of the brick \[kg\].
    pub air_kg: [f64; 2],
    /// Unreacted fuel: out of the valves, out of the brick \[kg\].
    pub fuel_kg: [f64; 2],
}

/// One bank.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bank {
    waiting: Waiting,
    gas_k: f64,
    /// Pipe \[K\].
    pub pipe_k: f64,
    /// Brick \[K\].
    pub brick_k: f64,
    /// Oxygen stored \[kg\].
    pub oxygen_kg: f64,
    /// Lambda behind the brick.
    pub lambda: f64,
    /// By how much richer a switching sensor behind the brick takes that gas for \[lambda\].
    pub hydrogen: f64,
    /// Smoothed: fuel not burned in and out, oxygen stored (released where negative), gas \[kg/s\].
    smooth: [f64; 4],
    /// Sums.
    pub totals: Totals,
}

impl Bank {
    /// Share of the incoming unburned gas that leaves unburned, over about the last second \[-\].
    pub fn leaves_unburned(&self) -> f64 {
        let [came, left, ..] = self.smooth;
        if came > 1e-12 { (left / came).clamp(0.0, 1.0) } else { 1.0 }
    }
    /// Oxygen stored per mass of gas, over about the last second \[-\].
    pub fn stores(&self) -> f64 {
        let [.., stored, gas] = self.smooth;
        if gas > 1e-9 { stored / gas } else { 0.0 }
    }
    /// Adds air drawn in through a leak \[kg\] to the waiting gas.
    fn draw_in(&mut self, drawn_kg: f64, ambient_k: f64) {
        let heat_j = drawn_kg * enthalpy(ambient_k).0;
        self.waiting.mass_kg += drawn_kg;
        self.waiting.air_kg += drawn_kg;
        self.waiting.heat_j += heat_j;
        self.totals.valves_j += heat_j;
        self.totals.gas_kg[0] += drawn_kg;
        self.totals.air_kg[0] += drawn_kg;
    }
    /// Sensible enthalpy of the gas that waits \[J\].
    pub fn waiting_j(&self) -> f64 {
        self.waiting.heat_j
    }
    /// Waiting gas: total mass, unreacted air, unreacted fuel \[kg\].
    pub fn waiting_kg(&self) -> [f64; 3] {
        [self.waiting.mass_kg, self.waiting.air_kg, self.waiting.fuel_kg]
    }
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Banks.
    pub banks: Vec<Bank>,
}

/// Inputs of a bank for one tick, besides the gas from its cylinders.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Flow of gas, smoothed \[kg/s\].
    pub flow_kg_s: f64,
    /// Air that leaks ahead of it drew in, on either side of the wide-band sensor \[kg/s\].
    pub leak_kg_s: f64,
    /// Gas in the mixing volume \[kg\].
    pub mixing_kg: f64,
    /// Ambient \[K\].
    pub ambient_k: f64,
    /// Walls of the ports \[K\].
    pub port_k: f64,
    /// Combustion properties of the fuel.
    pub fuel: FuelHeat,
}

impl State {
    /// At engine temperature, oxygen store half full.
    pub fn at_rest(p: &Params, banks: usize, engine_k: f64) -> Self {
        let bank = Bank {
            waiting: Waiting::default(),
            gas_k: engine_k,
            pipe_k: engine_k,
            brick_k: engine_k,
            oxygen_kg: 0.5e-3 * p.oxygen_g,
            lambda: 10.0,
            hydrogen: 0.0,
            smooth: [0.0; 4],
            totals: Totals::default(),
        };
        Self { banks: vec![bank; banks] }
    }

    /// (1) Adds the gas of one cycle of a cylinder with its enthalpy \[J\]; the second charge leaked past its valves.
    pub fn take(&mut self, bank: usize, gone: &Charge, slipped: &Charge, heat_j: f64, fuel: &FuelHeat) {
        let b = &mut self.banks[bank];
        let both = gone.plus(slipped);
        let mass_kg = both.mass();
        if mass_kg <= 0.0 {
            return;
        }
        let late_kg = late_kg(gone, fuel.afr).0;
        // the leaked gas was as hot as the rest
        let valves_j = heat_j * mass_kg / gone.mass().max(1e-12);
        let w = &mut b.waiting;
        w.mass_kg += mass_kg;
        w.air_kg += both.air - fuel.afr * late_kg;
        w.fuel_kg += both.fuel - late_kg;
        w.all_fuel_kg += both.fuel_in(fuel.afr);
        w.heat_j += valves_j + late_kg * fuel.heat_j_kg;
        let t = &mut b.totals;
        t.valves_j += valves_j;
        t.burned_kg[0] += late_kg;
        t.gas_kg[0] += mass_kg;
        t.air_kg[0] += both.air;
        t.fuel_kg[0] += both.fuel;
    }

    /// Advances one bank; called every 10 ms.
    pub fn tick(&mut self, p: &Params, bank: usize, part: &mut Exhaust, i: &Inputs, dt_s: f64) {
        let b = &mut self.banks[bank];
        if i.leak_kg_s > 0.0 {
            b.draw_in(i.leak_kg_s * dt_s, i.ambient_k);
        }
        // (2)
        let w = &mut b.waiting;
        let mut share = num::lag_share(dt_s, i.mixing_kg / i.flow_kg_s.max(1e-6));
        if share * w.mass_kg < LEAST_KG_S * dt_s {
            share = 0.0;
        }
        let mass_kg = share * w.mass_kg;
        let (mut air_kg, mut fuel_kg) = (share * w.air_kg, share * w.fuel_kg);
        let (all_fuel_kg, heat_j) = (share * w.all_fuel_kg, share * w.heat_j);
        w.mass_kg -= mass_kg;
        w.air_kg -= air_kg;
        w.fuel_kg -= fuel_kg;
        w.all_fuel_kg -= all_fuel_kg;
        w.heat_j -= heat_j;
        let flow = mass_kg / dt_s;
        let over_k = b.pipe_k - i.ambient_k;
        let squares = b.pipe_k * b.pipe_k + i.ambient_k * i.ambient_k;
        let radiated = SIGMA * p.pipe_radiates_m2 * squares * (b.pipe_k + i.ambient_k) * over_k;
        let mut lost_j = [
            0.0,
            (p.pipe_loss_w_k * over_k + radiated) * dt_s,
            p.brick_loss_w_k * (b.brick_k - i.ambient_k) * dt_s,
        ];
        let (mut to_pipe_j, mut to_brick_j, mut burned_kg) = (0.0, 0.0, 0.0);
        let came_kg = fuel_kg;
        let mut stored_kg = 0.0;
        if share > 0.0 {
            // (3)
            b.gas_k = temperature(heat_j / mass_kg, b.gas_k);
            let per_w_k = num::pow(flow / 0.01, 0.8) / (flow * enthalpy(b.gas_k).1);
            let behind =
                |wall_k: f64, gas_k: f64, w_k: f64| wall_k + (gas_k - wall_k) * num::decay(w_k * per_w_k);
            let port_out_k = behind(i.port_k, b.gas_k, p.port_w_k);
            let port_j = mass_kg * enthalpy(port_out_k).0;
            lost_j[0] = heat_j - port_j;
            let in_k = behind(b.pipe_k, port_out_k, p.pipe_inside_w_k);
            let in_j = mass_kg * enthalpy(in_k).0;
            to_pipe_j = port_j - in_j;
            // (4), (5)
            let eta = p.converts(part.health, b.brick_k, i.flow_kg_s.max(flow));
            burned_kg = eta * fuel_kg.min(air_kg / i.fuel.afr).max(0.0);
            air_kg -= i.fuel.afr * burned_kg;
            fuel_kg -= burned_kg;
            let capacity_kg = 1e-3 * p.oxygen_g * part.health;
            let full = (b.oxygen_kg / capacity_kg.max(1e-9)).clamp(0.0, 1.0);
            let over_kg = air_kg - i.fuel.afr * fuel_kg;
            if over_kg > 0.0 {
                let room = (capacity_kg - b.oxygen_kg).max(0.0) / OXYGEN_IN_AIR;
                let kg = (over_kg * eta * (1.0 - num::decay(STORE_SHARPNESS * (1.0 - full)))).min(room);
                air_kg -= kg;
                stored_kg = kg * OXYGEN_IN_AIR;
            } else {
                let wanted = -over_kg / i.fuel.afr * eta * (1.0 - num::decay(STORE_SHARPNESS * full));
                let kg = wanted.min(b.oxygen_kg / OXYGEN_IN_AIR / i.fuel.afr);
                fuel_kg -= kg;
                burned_kg += kg;
                stored_kg = -kg * i.fuel.afr * OXYGEN_IN_AIR;
            }
            b.oxygen_kg += stored_kg;
            let out_j = mass_kg * enthalpy(b.brick_k).0;
            to_brick_j = in_j - out_j + burned_kg * i.fuel.heat_j_kg;
            b.totals.tail_j += out_j;
            let over_kg = air_kg - i.fuel.afr * fuel_kg;
            b.lambda = if all_fuel_kg > 1e-4 * mass_kg {
                (1.0 + over_kg / (i.fuel.afr * all_fuel_kg)).clamp(0.1, 10.0)
            } else {
                10.0
            };
            // (8)
            let full = (b.oxygen_kg / capacity_kg.max(1e-9)).clamp(0.0, 1.0);
            b.hydrogen = HYDROGEN_LAMBDA * eta * (1.0 - full);
        }
        let smooth = num::lag_share(dt_s, SMOOTH_S);
        for (s, now) in b.smooth.iter_mut().zip([came_kg, fuel_kg, stored_kg, mass_kg]) {
            *s += (now / dt_s - *s) * smooth;
        }
        // (6)
        b.pipe_k += (to_pipe_j - lost_j[1]) / (1e3 * p.pipe_kj_k);
        b.brick_k += (to_brick_j - lost_j[2]) / (1e3 * p.brick_kj_k);
        // (7)
        if b.brick_k > RUIN_FROM_K {
            part.health *= kept_health(b.brick_k, dt_s);
            // oxygen that no longer fits leaves unreacted
            let most_kg = 1e-3 * p.oxygen_g * part.health;
            if b.oxygen_kg > most_kg {
                air_kg += (b.oxygen_kg - most_kg) / OXYGEN_IN_AIR;
                b.oxygen_kg = most_kg;
            }
        }
        let t = &mut b.totals;
        t.burned_kg[1] += burned_kg;
        for (sum, j) in t.lost_j.iter_mut().zip(lost_j) {
            *sum += j;
        }
        t.gas_kg[1] += mass_kg;
        t.air_kg[1] += air_kg;
        t.fuel_kg[1] += fuel_kg;
    }
}
