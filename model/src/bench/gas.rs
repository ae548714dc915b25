//! Composition of the exhaust gas, and what a gas tester computes from it.
//!
//! *Inside*: composition of burned gas by atoms and the water-gas equilibrium, mixing, drying, and the
//! lambda that a tester computes. *Outside*: what burned (plant), a tester's errors (`tools`).
//!
//! At the tailpipe the gas has passed the catalyst; at the port ahead of the catalyst it is the engine's raw
//! exhaust.
//!
//! Leaves out nitrogen oxides and soot. The modelled catalyst burns carbon monoxide, hydrogen and hydrocarbons
//! alike; in a rich gas a real one burns the hydrocarbons first.
//!
//! **Equations**, per carbon atom of a fuel CH_y O_z, `s = 1 + y/4 − z/2`:
//! 1. `λ ≥ 1`: CO2 1, H2O y/2, O2 `(λ − 1) s`, N2 `3.773 λ s`.
//! 2. `λ < 1`: no O2; carbon, hydrogen and oxygen balanced and `K = [CO][H2O]/([CO2][H2])` with `K = 3.5`
//!    (Spindt, SAE 650507; D'Alleva found 3.8; Heywood §4.9; M).
//! 3. Unburned fuel keeps its air. Part of what the flame leaves unburned burns on the way out.
//! 5. Behind a catalyst, the remaining share of CO, H2 and HC is the one that the catalyst's own account gives;
//!    oxygen falls by what this oxidation consumes and by what goes into storage. Atoms are conserved, so that
//!    lambda from the gas stays what it was.
//! 4. Lambda (Brettschneider 1979, as in ISO 3930; M):
//!    `λ = ([CO2] + [CO]/2 + [O2] + (h/4 · K/(K + [CO]/[CO2]) − o/2)([CO2] + [CO]))
//!       / ((1 + h/4 − o/2)([CO2] + [CO] + 6 [HC]))`.
//!
//! **Checked by** `exact_gas…`, `source_gas…` in `tests/bench/tools.rs`.

use crate::plant::catalyst::{LATE_BURN, OXYGEN_IN_AIR};
use crate::plant::{CycleAccount, Plant};

/// Water-gas constant, frozen near 1740 K.
pub const WATER_GAS: f64 = 3.5;
/// Nitrogen with argon to oxygen in air, by volume.
const N2_PER_O2: f64 = 3.773;
/// Air for a mol of oxygen \[g\].
const AIR_G_PER_O2: f64 = (1.0 + N2_PER_O2) * 28.965;

/// A fuel by atoms per carbon atom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Atoms {
    /// Hydrogen per carbon \[-\].
    pub h: f64,
    /// Oxygen per carbon \[-\].
    pub o: f64,
    /// Mass per mol of carbon \[g\].
    pub g: f64,
}

impl Atoms {
    /// Petrol CH1.87 with enough ethanol to give this stoichiometric ratio by mass \[-\].
    pub fn of_ratio(afr: f64) -> Self {
        let a = ((14.60 - afr) / (14.60 - 9.00)).clamp(0.0, 1.0);
        let (petrol, ethanol) = ((1.0 - a) / 13.896, a / 23.035);
        let c = petrol + ethanol;
        Self { h: (1.87 * petrol + 3.0 * ethanol) / c, o: 0.5 * ethanol / c, g: 1.0 / c }
    }
    /// Oxygen needed to burn one carbon with its hydrogen \[mol\].
    fn s(&self) -> f64 {
        1.0 + self.h / 4.0 - self.o / 2.0
    }
}

/// A gas by amount \[mol\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Moles {
    /// Carbon dioxide.
    pub co2: f64,
    /// Carbon monoxide.
    pub co: f64,
    /// Water.
    pub h2o: f64,
    /// Hydrogen.
    pub h2: f64,
    /// Oxygen.
    pub o2: f64,
    /// Nitrogen with argon.
    pub n2: f64,
    /// Hydrocarbons by their carbon.
    pub hc: f64,
}

impl Moles {
    /// Air with this much oxygen \[mol\].
    fn air(o2: f64) -> Self {
        Self { o2, n2: N2_PER_O2 * o2, ..Self::default() }
    }
    /// Adds another gas, multiplied by a factor.
    fn add(&mut self, o: &Moles, k: f64) {
        self.co2 += k * o.co2;
        self.co += k * o.co;
        self.h2o += k * o.h2o;
        self.h2 += k * o.h2;
        self.o2 += k * o.o2;
        self.n2 += k * o.n2;
        self.hc += k * o.hc;
    }
    /// Dried, in the order of [`Dry`]'s fields.
    pub fn dry(&self) -> Dry {
        let all = self.co2 + self.co + self.h2 + self.o2 + self.n2 + self.hc / 6.0;
        if all <= 0.0 {
            return Moles::air(1.0).dry();
        }
        let pct = |x: f64| 100.0 * x / all;
        Dry {
            o2_pct: pct(self.o2),
            co_pct: pct(self.co),
            co2_pct: pct(self.co2),
            hc_ppm: 1e4 * pct(self.hc / 6.0),
        }
    }
}

/// What a gas tester measures, in dry gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dry {
    /// Oxygen \[% by volume\].
    pub o2_pct: f64,
    /// Carbon monoxide \[% by volume\].
    pub co_pct: f64,
    /// Carbon dioxide \[% by volume\].
    pub co2_pct: f64,
    /// Hydrocarbons as hexane \[ppm by volume\].
    pub hc_ppm: f64,
}

/// (1), (2) Gas of one burned mol of carbon at a lambda.
pub fn burned(fuel: &Atoms, lambda: f64, water_gas: f64) -> Moles {
    let (s, half_h) = (fuel.s(), fuel.h / 2.0);
    let o2_in = lambda.max(0.0) * s;
    let n2 = N2_PER_O2 * o2_in;
    if lambda >= 1.0 {
        return Moles { co2: 1.0, h2o: half_h, o2: o2_in - s, n2, ..Moles::default() };
    }
    // oxygen atoms left to distribute beyond two for every carbon
    let left = 2.0 * o2_in + fuel.o - 2.0;
    let (mut low, mut high) = ((-left).max(0.0), (half_h - left).min(1.0));
    for _ in 0..60 {
        let co = 0.5 * (low + high);
        let h2o = left + co;
        if water_gas * (1.0 - co) * (half_h - h2o) > co * h2o { low = co } else { high = co }
    }
    let co = 0.5 * (low + high);
    let h2o = (left + co).clamp(0.0, half_h);
    Moles { co2: 1.0 - co, co, h2o, h2: half_h - h2o, n2, ..Moles::default() }
}

/// (3) Gas of one mol of carbon of which a share \[-\] did not burn.
fn with_unburned(fuel: &Atoms, lambda: f64, unburned: f64) -> Moles {
    let mut m = Moles::default();
    m.add(&burned(fuel, lambda, WATER_GAS), 1.0 - unburned);
    m.add(&Moles::air(lambda * fuel.s()), unburned);
    m.hc += unburned;
    m
}

/// (3) Share of a cycle's fuel that leaves as hydrocarbons \[-\].
fn leaves_unburned(lambda: f64, burned: f64) -> f64 {
    let share = (burned / lambda.clamp(1e-6, 1.0)).clamp(0.0, 1.0);
    (1.0 - share) * (1.0 - LATE_BURN * share)
}

/// Mixed gas of cylinders with these accounts, diluted by leak air over gas by mass \[-\]; also its mass \[g\].
fn mixed<'a>(
    fuel: &Atoms,
    accounts: impl Iterator<Item = &'a CycleAccount>,
    leak_share: f64,
) -> (Moles, f64) {
    let mut m = Moles::default();
    let mut mass_g = 0.0;
    for a in accounts {
        let (air_g, lambda) = (1e3 * a.last.air_kg, a.last.lambda);
        mass_g += air_g;
        if lambda > 0.0 {
            // air_g is λ s mols of oxygen for every carbon
            let carbon = air_g / (AIR_G_PER_O2 * lambda * fuel.s());
            mass_g += carbon * fuel.g;
            m.add(&with_unburned(fuel, lambda, leaves_unburned(lambda, a.last.burned)), carbon);
        } else {
            m.add(&Moles::air(air_g / AIR_G_PER_O2), 1.0);
        }
    }
    m.add(&Moles::air(mass_g * leak_share / AIR_G_PER_O2), 1.0);
    (m, mass_g * (1.0 + leak_share))
}

/// (5) Gas behind a catalyst: `left` is the share of the combustibles that remains \[-\]; `stored_o2` is the oxygen
/// that goes into storage (comes out where negative) \[mol\].
pub fn behind_catalyst(fuel: &Atoms, gas: &Moles, left: f64, stored_o2: f64) -> Moles {
    let needs = 0.5 * (gas.co + gas.h2) + fuel.s() * gas.hc;
    let there = (gas.o2 - stored_o2).max(0.0);
    let burns = (1.0 - left).clamp(0.0, 1.0).min(if needs > 0.0 { there / needs } else { 0.0 });
    Moles {
        co2: gas.co2 + burns * (gas.co + gas.hc),
        co: (1.0 - burns) * gas.co,
        h2o: gas.h2o + burns * (gas.h2 + 0.5 * fuel.h * gas.hc),
        h2: (1.0 - burns) * gas.h2,
        o2: there - burns * needs,
        n2: gas.n2,
        hc: (1.0 - burns) * gas.hc,
    }
}

/// Gas of a bank (from 0) at the port ahead of its catalyst: every cylinder's own, and the air that a leak ahead of the
/// oxygen sensor let in.
fn of_bank(plant: &Plant, fuel: &Atoms, bank: usize) -> (Moles, f64) {
    let e = &plant.s.exhaust;
    let own = plant.params().layout.banks.iter().map(move |b| usize::from(*b) == bank + 1);
    let accounts = plant.s.accounts.iter().zip(own).filter(|(_, own)| *own).map(|(a, _)| a);
    let flow = e.banks.get(bank).map_or(0.0, |b| b.flow_kg_s);
    let leak_share = if bank == 0 && flow > 0.0 { e.leak_kg_s / flow } else { 0.0 };
    mixed(fuel, accounts, leak_share)
}

/// Whether less than a gram has flowed in ten seconds: the pipe then holds air.
fn still(plant: &Plant) -> bool {
    !plant.turning() || plant.s.exhaust.flow_kg_s < 1e-4
}

/// Dry gas of a bank (from 0) at the port ahead of its catalyst.
pub fn ahead(plant: &Plant, bank: usize) -> Dry {
    if still(plant) {
        return Moles::air(1.0).dry();
    }
    of_bank(plant, &Atoms::of_ratio(plant.fuel_heat().afr), bank).0.dry()
}

/// Dry gas at the tailpipe, where all banks meet.
pub fn tailpipe(plant: &Plant) -> Dry {
    if still(plant) {
        return Moles::air(1.0).dry();
    }
    let fuel = Atoms::of_ratio(plant.fuel_heat().afr);
    let mut all = Moles::default();
    for (bank, catalyst) in plant.s.catalysts.banks.iter().enumerate() {
        let (gas, mass_g) = of_bank(plant, &fuel, bank);
        let mut gas = gas;
        let e = &plant.s.exhaust.banks[bank];
        let joint_share = if e.flow_kg_s > 0.0 { e.joint_kg_s / e.flow_kg_s } else { 0.0 };
        gas.add(&Moles::air(mass_g * joint_share / AIR_G_PER_O2), 1.0);
        let stored_o2 = catalyst.stores() * mass_g * (1.0 + joint_share) / (OXYGEN_IN_AIR * AIR_G_PER_O2);
        all.add(&behind_catalyst(&fuel, &gas, catalyst.leaves_unburned(), stored_o2), 1.0);
    }
    all.dry()
}

/// (4) Lambda from a dry gas, for a fuel with this much hydrogen and oxygen per carbon.
pub fn lambda(dry: &Dry, hydrogen: f64, oxygen: f64) -> f64 {
    let carbon = dry.co2_pct + dry.co_pct;
    let all_carbon = carbon + 6.0 * dry.hc_ppm * 1e-4;
    if all_carbon < 0.5 {
        // air, or nearly: no tester shows more than this
        return 9.99;
    }
    let water = hydrogen / 4.0 * WATER_GAS / (WATER_GAS + dry.co_pct / dry.co2_pct.max(1e-3));
    let up = dry.co2_pct + dry.co_pct / 2.0 + dry.o2_pct + (water - oxygen / 2.0) * carbon;
    (up / ((1.0 + hydrogen / 4.0 - oxygen / 2.0) * all_carbon)).min(9.99)
}
