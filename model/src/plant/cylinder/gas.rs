//! The gas in a cylinder: its energy over temperature, a charge by mass, the fuel's heat.
//!
//! **Models** air, fuel vapour and products as ideal gases of frozen composition, each with a polynomial of internal energy.
//!
//! **Leaves out** dissociation; products of a rich mixture (unburned gas stays as air and fuel).
//!
//! **Valid** from 250 to 3000 K.
//!
//! **Checked by** `source_gamma…` in `tests/model/physics.rs`.

use serde::{Deserialize, Serialize};

/// Number of coefficients of an internal-energy polynomial.
pub(super) const N_COEF: usize = 7;

/// A gas lump: frozen composition, ideal gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Gas constant \[J/kg K\].
    pub r: f64,
    /// Sensible internal energy above 298.15 K \[J/kg\]: `Σ cₖ (T/1000 K)^k`.
    pub u: [f64; N_COEF],
}

/// Dry air. Least-squares fit over 280–3000 K to NASA polynomials as carried by `cantera` 3.2.0
/// (`nasa_gas.yaml`, O2 0.2095, N2 0.7905); energy within 600 J/kg, heat capacity within 1.4 %.
pub const AIR: Gas = Gas {
    r: 288.209_784,
    u: [-209_011.392, 696_466.802, -25_071.316_3, 161_699.5, -95_187.049_1, 24_052.172, -2_304.568_97],
};
/// Iso-octane vapour, used for petrol vapour; same source, energy within 650 J/kg.
pub const FUEL_VAPOUR: Gas = Gas {
    r: 72.785_757_2,
    u: [-188_110.337, -450_350.327, 4_177_874.24, -2_038_193.96, 672_013.318, -127_912.769, 10_330.774_1],
};
/// Complete products of stoichiometric CH1.87 and air; same source, energy within 430 J/kg.
pub const PRODUCTS: Gas = Gas {
    r: 287.663_699,
    u: [-219_123.433, 704_363.396, 74_934.420_9, 113_567.335, -75_658.978_7, 19_321.489_1, -1_838.921_67],
};

impl Gas {
    /// Sensible internal energy above 298.15 K \[J/kg\] at a temperature \[K\], 250 to 3000.
    pub fn energy(&self, t_k: f64) -> f64 {
        poly(&self.u, t_k * 1e-3).0
    }
    /// Heat capacity at constant volume \[J/kg K\] at a temperature \[K\].
    pub fn cv(&self, t_k: f64) -> f64 {
        poly(&self.u, t_k * 1e-3).1 * 1e-3
    }
}

/// Value and slope of a polynomial.
#[inline(always)]
pub(super) fn poly(c: &[f64; N_COEF], t: f64) -> (f64, f64) {
    // by pairs of terms: term by term each step would wait for the one before
    let &[c0, c1, c2, c3, c4, c5, c6] = c;
    let t2 = t * t;
    let t4 = t2 * t2;
    let value = ((c0 + c1 * t) + (c2 + c3 * t) * t2) + ((c4 + c5 * t) + c6 * t2) * t4;
    let slope = ((c1 + 2.0 * c2 * t) + (3.0 * c3 + 4.0 * c4 * t) * t2) + (5.0 * c5 + 6.0 * c6 * t) * t4;
    (value, slope)
}

/// A charge by the masses of its constituents.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Charge {
    /// Air not yet used \[kg\].
    pub air: f64,
    /// Fuel not yet burned \[kg\].
    pub fuel: f64,
    /// Products \[kg\].
    pub products: f64,
}

impl Charge {
    /// Mass \[kg\].
    pub fn mass(&self) -> f64 {
        self.air + self.fuel + self.products
    }
    /// The same mixture, scaled by a factor.
    pub fn times(&self, k: f64) -> Self {
        Self { air: k * self.air, fuel: k * self.fuel, products: k * self.products }
    }
    /// The sum of both charges.
    pub fn plus(&self, o: &Charge) -> Self {
        Self { air: self.air + o.air, fuel: self.fuel + o.fuel, products: self.products + o.products }
    }
    /// Gas constant times mass \[J/K\].
    pub fn mr(&self) -> f64 {
        self.air * AIR.r + self.fuel * FUEL_VAPOUR.r + self.products * PRODUCTS.r
    }
    /// Air that went in, burned or not \[kg\], for a stoichiometric ratio.
    pub fn air_in(&self, afr: f64) -> f64 {
        self.air + self.products * afr / (1.0 + afr)
    }
    /// Fuel that went in, burned or not \[kg\].
    pub fn fuel_in(&self, afr: f64) -> f64 {
        self.fuel + self.products / (1.0 + afr)
    }
    /// Coefficients of internal energy \[J\].
    pub(super) fn energy(&self) -> [f64; N_COEF] {
        std::array::from_fn(|k| {
            self.air * AIR.u[k] + self.fuel * FUEL_VAPOUR.u[k] + self.products * PRODUCTS.u[k]
        })
    }
    /// Sensible internal energy above 298.15 K \[J\].
    pub fn energy_j(&self, t_k: f64) -> f64 {
        poly(&self.energy(), t_k * 1e-3).0
    }
}

/// Combustion properties of a fuel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FuelHeat {
    /// Stoichiometric air to fuel ratio by mass \[-\].
    pub afr: f64,
    /// Heat released per kg burned at 298.15 K \[J/kg\].
    pub heat_j_kg: f64,
}
