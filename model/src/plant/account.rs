//! Accounts kept while the engine turns: each cylinder's cycles, and sums for balances.
//!
//! *Inside*: running means and blocks of cycles, totals of mass and energy. *Outside*: where they come from.

use crate::plant::cylinder;
use serde::{Deserialize, Serialize};

/// Cycles in one block of a cylinder's account.
const BLOCK: u32 = 200;

/// Running account of one cylinder's cycles.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct CycleAccount {
    /// Cycles seen since the engine was built.
    pub cycles: u64,
    /// Cycles with injection in which less than half of the fuel that could burn did.
    pub misfires: u64,
    /// Mean lambda of about the last 50 cycles with injection.
    pub lambda: f64,
    /// The last cycle.
    pub last: cylinder::CycleReport,
    /// Net mean effective pressure of the block under way: cycles, sum, sum of squares.
    block: (u32, f64, f64),
    /// Mean and variance of the last whole block \[Pa, Pa²\].
    whole: Option<(f64, f64)>,
}

impl CycleAccount {
    /// `fed`: fuel was injected for this cycle. Without injection, the little fuel from the wall film does not make a
    /// mixture.
    pub(super) fn add(&mut self, r: &cylinder::CycleReport, fed: bool) {
        self.cycles += 1;
        self.misfires += u64::from(r.misfired && fed);
        let (n, sum, squares) = &mut self.block;
        *n += 1;
        *sum += r.imep_pa;
        *squares += r.imep_pa * r.imep_pa;
        if *n == BLOCK {
            self.whole = Some(self.of_block());
            self.block = (0, 0.0, 0.0);
        }
        if r.lambda > 0.0 && fed {
            self.lambda += (r.lambda - self.lambda) / (self.cycles.min(50) as f64);
        }
        self.last = *r;
    }
    fn of_block(&self) -> (f64, f64) {
        let (n, sum, squares) = self.block;
        if n == 0 {
            return (0.0, 0.0);
        }
        let mean = sum / f64::from(n);
        (mean, (squares / f64::from(n) - mean * mean).max(0.0))
    }
    /// Net mean effective pressure, mean of the last complete block of 200 cycles \[Pa\].
    pub fn imep_pa(&self) -> f64 {
        self.whole.unwrap_or_else(|| self.of_block()).0
    }
    /// Coefficient of variation of net mean effective pressure over the same cycles \[-\].
    pub fn imep_cov(&self) -> f64 {
        let (mean, var) = self.whole.unwrap_or_else(|| self.of_block());
        var.sqrt() / mean.abs().max(1.0)
    }
}

/// Sums since the plant was built, for balances.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Totals {
    /// Air through the meter \[kg\].
    pub metered_kg: f64,
    /// Air through the leak \[kg\].
    pub leak_kg: f64,
    /// Air through the purge valve \[kg\].
    pub purge_kg: f64,
    /// Fuel vapour through the purge valve \[kg\].
    pub vapour_kg: f64,
    /// Recirculated exhaust gas into the manifold \[kg\].
    pub egr_kg: f64,
    /// Air drawn from the manifold, with the exhaust gas in it \[kg\].
    pub drawn_kg: f64,
    /// Fuel injected \[kg\].
    pub injected_kg: f64,
    /// Air that left, burned or not \[kg\].
    pub exhaust_air_kg: f64,
    /// Fuel that left, burned or not \[kg\].
    pub exhaust_fuel_kg: f64,
    /// Air that leaked past worn rings, burned or not \[kg\].
    pub rings_air_kg: f64,
    /// Fuel that leaked past worn rings \[kg\].
    pub rings_fuel_kg: f64,
    /// Fuel that left unburned \[kg\].
    pub unburned_kg: f64,
    /// Work of the gas \[J\].
    pub gas_work_j: f64,
    /// Wall loss \[J\].
    pub wall_j: f64,
    /// Heat to the walls while exhaust valves are open \[J\].
    pub open_wall_j: f64,
    /// Friction \[J\].
    pub friction_j: f64,
    /// Loads and driveline \[J\].
    pub load_j: f64,
    /// Starter \[J\].
    pub starter_j: f64,
    /// Turns of the crank.
    pub turns: f64,
    /// Time running \[s\].
    pub running_s: f64,
}
