//! Heat: coolant with the metal round it, oil, inlet air.
//!
//! **Models** two lumps with exchange, a wax thermostat opening over a few kelvin, a radiator with and
//! without fan, losses to ambient.
//!
//! **Leaves out** gradients in the metal, cabin heating, wind.
//!
//! **State** ([`State`]): coolant and oil \[K\].
//!
//! **Equations** `C dT/dt = Q_wall + Q_friction − UA(T) (T − T_ambient) − G (T − T_oil)`.
//!
//! **Checked by** `practice_warm_up…` in `tests/model/physics.rs`.

use crate::num::Table;
use crate::units::{ParamError, between, celsius};
use serde::{Deserialize, Serialize};

/// The `[thermal]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Heat capacity of coolant and metal \[kJ/K\].
    pub coolant_kj_k: f64,
    /// Heat capacity of the oil and its metal \[kJ/K\].
    pub oil_kj_k: f64,
    /// Exchange between them \[W/K\].
    pub exchange_w_k: f64,
    /// Loss to ambient that no thermostat stops \[W/K\].
    pub loss_w_k: f64,
    /// Share of the radiator that the thermostat opens \[-\], over coolant \[°C\].
    pub thermostat: Table,
    /// Radiator at standstill without and with fan \[W/K\].
    pub radiator_w_k: [f64; 2],
    /// Radiator gain with road speed \[W/K per m/s\].
    pub radiator_per_m_s: f64,
    /// Share of the cylinders' wall loss that reaches the coolant \[-\].
    pub wall_share: f64,
    /// Inlet air over ambient, standing engine warm \[K\].
    pub inlet_over_ambient_k: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "thermal";
        between(s, "coolant_kj_k", self.coolant_kj_k, 5.0, 300.0)?;
        between(s, "oil_kj_k", self.oil_kj_k, 2.0, 100.0)?;
        between(s, "exchange_w_k", self.exchange_w_k, 0.0, 2000.0)?;
        between(s, "loss_w_k", self.loss_w_k, 0.0, 200.0)?;
        for p in self.thermostat.points() {
            between(s, "thermostat", p[1], 0.0, 1.0)?;
        }
        between(s, "radiator_w_k", self.radiator_w_k[0], 0.0, 5000.0)?;
        between(s, "radiator_w_k", self.radiator_w_k[1], self.radiator_w_k[0], 5000.0)?;
        between(s, "radiator_per_m_s", self.radiator_per_m_s, 0.0, 500.0)?;
        between(s, "wall_share", self.wall_share, 0.0, 1.0)?;
        between(s, "inlet_over_ambient_k", self.inlet_over_ambient_k, 0.0, 60.0)
    }
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Coolant \[K\].
    pub coolant_k: f64,
    /// Oil \[K\].
    pub oil_k: f64,
}

/// Heat that came in over a tick, and what cools.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Wall loss of all cylinders \[J\].
    pub wall_j: f64,
    /// Friction \[J\].
    pub friction_j: f64,
    /// Least share that the thermostat opens \[-\].
    pub least_open: f64,
    /// Fan running.
    pub fan: bool,
    /// Road speed \[m/s\].
    pub road_m_s: f64,
    /// Ambient \[K\].
    pub ambient_k: f64,
}

impl State {
    /// Every 10 ms.
    pub fn tick(&mut self, p: &Params, i: &Inputs, dt_s: f64) {
        let open = p.thermostat.at(celsius(self.coolant_k)).max(i.least_open);
        let radiator = p.radiator_w_k[usize::from(i.fan)] + p.radiator_per_m_s * i.road_m_s;
        let over = self.coolant_k - i.ambient_k;
        let to_oil = p.exchange_w_k * (self.coolant_k - self.oil_k);
        self.coolant_k +=
            (p.wall_share * i.wall_j - (open * radiator + p.loss_w_k) * over * dt_s - to_oil * dt_s)
                / (p.coolant_kj_k * 1e3);
        let oil_loss = 0.3 * p.loss_w_k * (self.oil_k - i.ambient_k);
        self.oil_k += (i.friction_j + (to_oil - oil_loss) * dt_s) / (p.oil_kj_k * 1e3);
    }
}
