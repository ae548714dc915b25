//! An engine's lay-out and all of its parameters: what does not change during a run.
//!
//! *Inside*: firing order and banks, the sections of a car's file that the plant reads, and their check. *Outside*: what each
//! section means (its model's own file), what changes ([`super::State`]), which parts are fitted ([`super::parts`]).

use super::parts::Spread;
use super::{
    air, catalyst, crank, cylinder, egr, electrical, exhaust, fuel, ignition, phaser, road, sensors, thermal,
    vapour, wear,
};
use crate::signals::{MAX_BANKS, MAX_CYLINDERS};
use crate::units::{ParamError, ParamRule};
use serde::{Deserialize, Serialize};

/// Lay-out of an engine; the `[engine]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// Firing order by cylinder number.
    pub firing_order: Vec<u8>,
    /// Bank of each cylinder, by cylinder number.
    pub banks: Vec<u8>,
}

impl Layout {
    /// Checks that every cylinder fires once and that banks count from 1.
    pub fn check(&self) -> Result<(), ParamError> {
        let n = self.firing_order.len();
        let fail = |key: &str, rule: ParamRule| Err(ParamError::new("engine", key, rule));
        if n == 0 || n > MAX_CYLINDERS || 720 % n != 0 || !(720 / n).is_multiple_of(2) {
            return fail("firing_order", ParamRule::FiringOrder { most: MAX_CYLINDERS });
        }
        let mut sorted = self.firing_order.clone();
        sorted.sort_unstable();
        if sorted != (1..=n as u8).collect::<Vec<_>>() {
            return fail("firing_order", ParamRule::EachOnce { most: n });
        }
        if self.banks.len() != n {
            return fail("banks", ParamRule::BankEach { cylinders: n });
        }
        let most = self.banks.iter().copied().max().unwrap_or(0) as usize;
        if self.banks.contains(&0) || most > MAX_BANKS || !(1..=most as u8).all(|b| self.banks.contains(&b)) {
            return fail("banks", ParamRule::BankCount { most: MAX_BANKS });
        }
        Ok(())
    }
    /// Number of cylinders.
    pub fn cylinders(&self) -> usize {
        self.firing_order.len()
    }
    /// Number of banks.
    pub fn bank_count(&self) -> usize {
        self.banks.iter().copied().max().unwrap_or(1) as usize
    }
    /// Firing top dead centre of each cylinder in the cycle \[deg\], cylinder 1 first.
    pub fn offsets_deg(&self) -> Vec<f64> {
        let n = self.cylinders();
        (1..=n as u8)
            .map(|c| {
                let place = self.firing_order.iter().position(|f| *f == c).unwrap_or(0);
                place as f64 * 720.0 / n as f64
            })
            .collect()
    }
    /// Each cylinder's place in the cycle of an engine that advances by steps \[deg\], cylinder 1 first.
    pub(super) fn lanes(&self, step_deg: f64) -> Vec<Lane> {
        let per_cycle = 2 * (360.0 / step_deg).round() as usize;
        let lane = |(o, bank): (f64, &u8)| {
            let after = (o / step_deg).round() as usize;
            Lane { after, ahead: per_cycle - after, bank: usize::from(*bank) - 1 }
        };
        self.offsets_deg().into_iter().zip(&self.banks).map(lane).collect()
    }
}

/// Where a cylinder stands among the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lane {
    /// Steps from the engine's top dead centre to its own, and from there to the end of the engine's cycle.
    pub after: usize,
    ahead: usize,
    /// Its bank, from 0.
    pub bank: usize,
}

impl Lane {
    /// Its own step of the cycle at a step of the engine's.
    #[inline]
    pub fn own(&self, index: usize) -> usize {
        if index >= self.after { index - self.after } else { index + self.ahead }
    }
}

/// Everything about a car's engine that does not change during a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Params {
    /// Lay-out.
    pub layout: Layout,
    /// Cylinders.
    pub cylinder: cylinder::Params,
    /// Spark.
    pub ignition: ignition::Params,
    /// Crank and wheel.
    pub crank: crank::Params,
    /// Phaser of the inlet camshaft, where there is one.
    pub phaser: Option<phaser::Params>,
    /// Air.
    pub air: air::Params,
    /// Fuel.
    pub fuel: fuel::Params,
    /// Vapour over the fuel in the tank; without it the car's tank is not modelled beyond its fuel.
    pub vapour: Option<vapour::Params>,
    /// Recirculated exhaust gas; without it none is.
    pub egr: Option<egr::Params>,
    /// Exhaust.
    pub exhaust: exhaust::Params,
    /// Catalyst of a bank.
    pub catalyst: catalyst::Params,
    /// Electrics.
    pub electrical: electrical::Params,
    /// Heat.
    pub thermal: thermal::Params,
    /// Driveline and road.
    pub road: road::Params,
    /// Sensors.
    pub sensors: sensors::Params,
    /// Wear with use.
    pub wear: wear::Params,
    /// Maker's spread.
    pub spread: Spread,
}

impl Params {
    /// Checks every section.
    pub fn check(&self) -> Result<(), ParamError> {
        self.layout.check()?;
        self.cylinder.check()?;
        self.crank.check()?;
        if let Some(p) = &self.phaser {
            p.check()?;
        }
        self.ignition.check()?;
        self.air.check()?;
        self.fuel.check()?;
        self.vapour.as_ref().map_or(Ok(()), vapour::Params::check)?;
        self.egr.as_ref().map_or(Ok(()), egr::Params::check)?;
        self.exhaust.check()?;
        self.catalyst.check()?;
        self.electrical.check()?;
        self.thermal.check()?;
        self.road.check()?;
        self.sensors.check()?;
        self.wear.check()?;
        self.spread.check()
    }
}
