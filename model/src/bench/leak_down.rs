//! The leak-down tester in a cylinder's plug hole: shop air through an orifice into the cylinder, and what leaks out of it.
//!
//! *Inside*: the pressure that the cylinder settles at, its leaks with their flows, what the loss is called. *Outside*: errors of the
//! two dials and the place in the bay ([`crate::bench::tools`]); the leaks themselves ([`crate::plant::parts::Seals`]).
//!
//! The engine stands and its crankshaft is held with this piston at top dead centre on the compression stroke, both valves shut.
//!
//! **Equations**
//! 1. Into the cylinder `ṁ = C A p_s/√(R T_a) Ψ(p/p_s)`, p_s the regulated pressure, T_a the shop's air, A the orifice.
//! 2. Out of it `ṁ = Σ A_k p/√(R T_m) Ψ(p_a/p)`, past the rings into the crankcase and through the exhaust valve into the pipe, both at
//!    ambient pressure p_a. The air takes the temperature T_m of the metal: it stays for half a second in a film of
//!    air over some 0.01 m², by hand 1 W/K of wall against 0.6 W/K of flow.
//! 3. The cylinder settles where both are equal: the first falls with p, the second grows.
//! 4. `loss = (p_s − p)/(p_s − p_a)`, by what the dials show.
//!
//! **Leaves out** the piston that the air drives off top dead centre, rings that seat better under more pressure or with more oil,
//! leaks of a sound engine's ring gaps, of inlet valves and of a gasket: the plant has none.
//!
//! **Checked by** `tests/bench/leak_down.rs` and here.

use crate::bench::facts::{Hindrance, place};
use crate::num::FlowFunction;
use crate::plant::Plant;
use crate::plant::air::{self, orifice_kg_s};

/// Halvings of the pressure's interval: to less than a pascal.
const HALVINGS: usize = 24;

/// The tester's restriction.
#[derive(Debug, Clone, Copy)]
pub(super) struct Orifice {
    /// Regulated pressure over ambient \[Pa\].
    pub(super) supply_pa: f64,
    /// Effective area \[mm²\].
    pub(super) area_mm2: f64,
}

/// What a cylinder does with the tester's air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Settled {
    /// Its pressure over ambient \[Pa\].
    pub(super) held_pa: f64,
    /// Air that leaves past the rings, heard at the oil filler, and through the exhaust valve, heard at the tailpipe \[g/s\].
    pub(super) leaves_g_s: [(f64, &'static str); 2],
}

/// Refuses the tester on an engine that turns or could be cranked, and for a cylinder that does not exist.
pub(super) fn may(plant: &Plant, cylinder: u8) -> Result<(), Hindrance> {
    place(plant.params().layout.cylinders(), cylinder)?;
    if plant.turning() {
        return Err(Hindrance::PlugMustComeOut);
    }
    if plant.s.hands.key_on {
        return Err(Hindrance::KeyOn);
    }
    Ok(())
}

/// Air on both sides of a cylinder under test.
#[derive(Debug, Clone, Copy)]
struct Air {
    /// Ambient pressure \[Pa\].
    ambient_pa: f64,
    /// The shop's air \[K\].
    shop_k: f64,
    /// The engine's metal \[K\].
    metal_k: f64,
}

impl Air {
    /// (2) Air through a leak of a cylinder at an absolute pressure \[kg/s\].
    fn leaves_kg_s(&self, flow: &FlowFunction, mm2: f64, pa: f64) -> f64 {
        orifice_kg_s(flow, mm2, pa, self.metal_k, self.ambient_pa)
    }
}

/// (3) Absolute pressure at which a cylinder with so large a leak settles \[Pa\].
fn settles_pa(flow: &FlowFunction, air: &Air, tester: &Orifice, leak_mm2: f64) -> f64 {
    let supply_pa = air.ambient_pa + tester.supply_pa;
    if leak_mm2 <= 0.0 {
        return supply_pa;
    }
    let (mut low, mut high) = (air.ambient_pa, supply_pa);
    for _ in 0..HALVINGS {
        let mid = 0.5 * (low + high);
        // (1)
        let enters = orifice_kg_s(flow, tester.area_mm2, supply_pa, air.shop_k, mid);
        if enters > air.leaves_kg_s(flow, leak_mm2, mid) {
            low = mid;
        } else {
            high = mid;
        }
    }
    0.5 * (low + high)
}

/// Where a cylinder, counted from 1, settles.
pub(super) fn settle(plant: &Plant, cylinder: u8, tester: &Orifice) -> Settled {
    let flow = FlowFunction::new(air::GAMMA);
    let (ambient_pa, shop_k) = plant.ambient();
    let air = Air { ambient_pa, shop_k, metal_k: plant.s.thermal.metal_k };
    let seals = plant.s.parts.seals.get(usize::from(cylinder).saturating_sub(1)).copied().unwrap_or_default();
    let pa = settles_pa(&flow, &air, tester, seals.rings_mm2 + seals.valves_mm2);
    let g_s = |mm2: f64| 1e3 * air.leaves_kg_s(&flow, mm2, pa);
    Settled {
        held_pa: pa - ambient_pa,
        leaves_g_s: [(g_s(seals.rings_mm2), "oil_filler"), (g_s(seals.valves_mm2), "tailpipe")],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num;

    /// Flow of an ideal gas through a nozzle over `A p₀/√(R T₀)` as textbooks of fluid mechanics give it (White, chapter 9, from
    /// memory), for γ 1.4: `√(7 (r^(2/1.4) − r^(2.4/1.4)))` above r 0.5283, 0.6847 below.
    fn by_the_book(r: f64) -> f64 {
        if r < 0.5283 { 0.684_73 } else { (7.0 * (num::pow(r, 2.0 / 1.4) - num::pow(r, 2.4 / 1.4))).sqrt() }
    }

    /// Two nozzles in series, the other way round: from the pressure between them to the second's area that gives it. By hand for a
    /// tenth of the absolute pressure lost, 651.3 to 586.2 kPa: first ψ(0.9) 0.4226, second choked, so that at one temperature
    /// A₂/A₁ = 0.4226/(0.6847 · 0.9) = 0.6857. For 150 kPa between them both ends change their law: first choked, second ψ(0.6755) 0.6510,
    /// A₂/A₁ = 0.6847 · 651.3/(150 · 0.6510) = 4.567.
    #[test]
    fn exact_two_orifices_in_series() {
        let flow = FlowFunction::new(air::GAMMA);
        let tester = Orifice { supply_pa: 550e3, area_mm2: 0.7 };
        let supply_pa = 651_325.0;
        for (shop_k, metal_k) in [(293.0, 293.0), (293.0, 363.0), (263.0, 258.0)] {
            let air = Air { ambient_pa: 101_325.0, shop_k, metal_k };
            for held_kpa in [640.0, 620.0, 586.19, 500.0, 400.0, 300.0, 200.0, 150.0, 120.0] {
                let pa = 1e3 * held_kpa;
                let (into, out) = (by_the_book(pa / supply_pa), by_the_book(101_325.0 / pa));
                let wanted_mm2 = 0.7 * into * supply_pa / (pa * out) * (metal_k / shop_k).sqrt();
                let is = settles_pa(&flow, &air, &tester, wanted_mm2);
                assert!((is - pa).abs() < 1e-4 * pa, "{held_kpa} kPa, {wanted_mm2} mm²: {is} Pa");
                if shop_k == metal_k && [586.19, 150.0].contains(&held_kpa) {
                    let by_hand = if held_kpa > 200.0 { 0.6857 } else { 4.567 };
                    assert!((wanted_mm2 / 0.7 / by_hand - 1.0).abs() < 1e-3, "{held_kpa}: {wanted_mm2}");
                }
            }
            assert_eq!(settles_pa(&flow, &air, &tester, 0.0), supply_pa);
        }
    }
}
