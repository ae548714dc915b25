//! Heat: the metal around the gas, coolant, oil, radiator, heater, inlet air.
//!
//! **Models** three lumps with exchange: the metal that the gas and the rings heat, the coolant with the rest of the
//! block, the oil; a pump whose flow follows the engine's speed; a wax thermostat opening over a few kelvin; a radiator
//! by its flows of coolant and of air, this from road speed, fan and draught; a cabin heater; losses to ambient.
//! After the engine has stopped the pump is at rest, heat from the metal still flows into the coolant and none of it
//! is removed: hot soak.
//!
//! **Leaves out** gradients within a lump, the lag of the thermostat's wax, boiling and what it costs, wind. The pump
//! is driven by the cam drive, not by the accessory belt (assumed).
//!
//! **State** ([`State`]): metal, coolant and oil \[K\].
//!
//! **Equations**
//! 1. Metal `C dT/dt = (1 − w) Q_wall + (1 − f) Q_friction − J (T − T_c)`, `J = J₃ √(Ċ_c/Ċ_c,3000)`; the rest of both
//!    heat flows goes to the oil.
//! 2. Coolant `C dT/dt = J (T_m − T) − G_r (T − T_air) − heater − loss − G_o (T − T_oil)`.
//! 3. Radiator: cross-flow, air in strips that do not mix, coolant mixed across (Kays and London, Compact Heat
//!    Exchangers, M): `G_r = Ċ_c (1 − exp(−(Ċ_a/Ċ_c)(1 − e^(−U/Ċ_a))))`, `U = U₅ √(v/5 m/s)` for laminar fins,
//!    `v² = (r v_road)² + v_fan² + v_draught²`, `Ċ_c` the part of the pump's flow that the thermostat lets through.
//! 4. Heater: the output of its core, limited to what warms the fresh air to cabin temperature.
//!
//! **Checked by** `tests/model/cooling.rs`.

use crate::num::{self, Table};
use crate::units::{ParamError, between, celsius, kelvin};
use serde::{Deserialize, Serialize};

/// Natural circulation of the coolant with the pump at rest, as a heat capacity rate \[W/K\]; assumed.
const STILL_W_K: f64 = 10.0;
/// Least heat exchange between metal and coolant, by free convection, over that at 3000 rpm \[-\]; assumed.
const STILL_JACKET: f64 = 0.35;
/// Speed at which [`Params::jacket_w_k`] holds \[rpm\].
const JACKET_RPM: f64 = 3000.0;
/// Speed of air at which [`Params::core_w_k`] holds \[m/s\].
const CORE_M_S: f64 = 5.0;
/// Heat exchange between oil and coolant with the engine stopped, over that with it turning \[-\]; assumed.
const STILL_OIL: f64 = 0.3;
/// Loss of the sump as a share of the loss that no thermostat stops \[-\]; assumed.
const SUMP: f64 = 0.3;
/// Cabin temperature \[°C\] and heat capacity rate of its fresh air \[W/K\]; assumed.
const CABIN: (f64, f64) = (22.0, 90.0);

/// The `[thermal]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Heat capacity of the metal next to the gas: head, liners, pistons \[kJ/K\].
    pub metal_kj_k: f64,
    /// Heat capacity of coolant and the rest of the block \[kJ/K\].
    pub coolant_kj_k: f64,
    /// Heat capacity of the oil and its metal \[kJ/K\].
    pub oil_kj_k: f64,
    /// Metal to coolant at 3000 rpm \[W/K\].
    pub jacket_w_k: f64,
    /// Exchange between coolant and oil \[W/K\].
    pub exchange_w_k: f64,
    /// Shares of wall heat and of friction that the oil takes up at once \[-\].
    pub to_oil: [f64; 2],
    /// Loss to ambient that no thermostat stops: standing \[W/K\], and more with road speed \[W/K per m/s\].
    pub loss_w_k: [f64; 2],
    /// Share of the pump's flow that the thermostat lets through the radiator \[-\], over coolant \[°C\].
    pub thermostat: Table,
    /// Heat capacity rate through an open thermostat \[W/K per rpm\].
    pub pump_w_k_rpm: f64,
    /// Radiator from coolant to air at 5 m/s through its core \[W/K\].
    pub core_w_k: f64,
    /// Heat capacity rate of the air \[W/K per m/s\].
    pub air_w_k_m_s: f64,
    /// Air through the core: share of the road speed \[-\], by the fan, by draught alone \[m/s\].
    pub air_m_s: [f64; 3],
    /// Air behind the condenser while the compressor works, over ambient \[K\].
    pub condenser_k: f64,
    /// Heater with its blower on \[W/K\].
    pub heater_w_k: f64,
    /// Inlet air over ambient, standing engine warm \[K\].
    pub inlet_over_ambient_k: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "thermal";
        between(s, "metal_kj_k", self.metal_kj_k, 2.0, 200.0)?;
        between(s, "coolant_kj_k", self.coolant_kj_k, 5.0, 300.0)?;
        between(s, "oil_kj_k", self.oil_kj_k, 2.0, 100.0)?;
        between(s, "jacket_w_k", self.jacket_w_k, 20.0, 5000.0)?;
        between(s, "exchange_w_k", self.exchange_w_k, 0.0, 2000.0)?;
        between(s, "to_oil[0]", self.to_oil[0], 0.0, 1.0)?;
        between(s, "to_oil[1]", self.to_oil[1], 0.0, 1.0)?;
        between(s, "loss_w_k[0]", self.loss_w_k[0], 0.0, 200.0)?;
        between(s, "loss_w_k[1]", self.loss_w_k[1], 0.0, 20.0)?;
        for p in self.thermostat.points() {
            between(s, "thermostat", p[1], 0.0, 1.0)?;
        }
        between(s, "pump_w_k_rpm", self.pump_w_k_rpm, 0.01, 10.0)?;
        between(s, "core_w_k", self.core_w_k, 0.0, 20_000.0)?;
        between(s, "air_w_k_m_s", self.air_w_k_m_s, 1.0, 5000.0)?;
        between(s, "air_m_s[0]", self.air_m_s[0], 0.0, 1.0)?;
        between(s, "air_m_s[1]", self.air_m_s[1], 0.0, 20.0)?;
        between(s, "air_m_s[2]", self.air_m_s[2], 0.001, 2.0)?;
        between(s, "condenser_k", self.condenser_k, 0.0, 40.0)?;
        between(s, "heater_w_k", self.heater_w_k, 0.0, 1000.0)?;
        between(s, "inlet_over_ambient_k", self.inlet_over_ambient_k, 0.0, 60.0)
    }
    /// Heat capacity rate of the pump's flow at an engine speed \[W/K\].
    fn pump_w_k(&self, rpm: f64) -> f64 {
        STILL_W_K + self.pump_w_k_rpm * rpm
    }
    /// (3) The radiator \[W/K\] at a flow of coolant \[W/K\] and a speed of air through its core \[m/s\].
    pub fn radiator_w_k(&self, coolant_w_k: f64, air_m_s: f64) -> f64 {
        if coolant_w_k <= 0.0 || air_m_s <= 0.0 {
            return 0.0;
        }
        let air_w_k = self.air_w_k_m_s * air_m_s;
        let core_w_k = self.core_w_k * (air_m_s / CORE_M_S).sqrt();
        let taken_w_k = air_w_k * (1.0 - num::decay(core_w_k / air_w_k));
        coolant_w_k * (1.0 - num::decay(taken_w_k / coolant_w_k))
    }
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Metal next to the gas \[K\].
    pub metal_k: f64,
    /// Coolant \[K\].
    pub coolant_k: f64,
    /// Oil \[K\].
    pub oil_k: f64,
}

/// Heat input over a tick, and cooling conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Heat from the gas of all cylinders, valves shut and open, and from their exhaust ports \[J\].
    pub wall_j: f64,
    /// Friction \[J\].
    pub friction_j: f64,
    /// Least thermostat opening \[-\].
    pub least_open: f64,
    /// Engine speed \[rpm\].
    pub rpm: f64,
    /// Fan running.
    pub fan: bool,
    /// Compressor working.
    pub compressor: bool,
    /// Heater's blower on.
    pub blower: bool,
    /// Road speed \[m/s\].
    pub road_m_s: f64,
    /// Ambient \[K\].
    pub ambient_k: f64,
}

impl State {
    /// All at one temperature \[K\].
    pub fn at(k: f64) -> Self {
        Self { metal_k: k, coolant_k: k, oil_k: k }
    }
    /// Every 10 ms.
    pub fn tick(&mut self, p: &Params, i: &Inputs, dt_s: f64) {
        let pump_w_k = p.pump_w_k(i.rpm);
        let over_k = self.coolant_k - i.ambient_k;
        // (3)
        let open = p.thermostat.at(celsius(self.coolant_k)).max(i.least_open);
        let mut radiator_w = 0.0;
        if open > 0.0 {
            let [ram, fan, draught] = p.air_m_s;
            let (ram, fan) = (ram * i.road_m_s, if i.fan { fan } else { 0.0 });
            let air_m_s = (ram * ram + fan * fan + draught * draught).sqrt();
            let warmer_k = if i.compressor { p.condenser_k } else { 0.0 };
            radiator_w = p.radiator_w_k(open * pump_w_k, air_m_s) * (over_k - warmer_k);
        }
        // (4)
        let heater_w = if i.blower {
            let (cabin_c, fresh_w_k) = CABIN;
            (p.heater_w_k * over_k).min(fresh_w_k * (kelvin(cabin_c) - i.ambient_k)).max(0.0)
        } else {
            0.0
        };
        let [standing, driven] = p.loss_w_k;
        let loss_w_k = standing + driven * i.road_m_s;
        let oil_w_k = p.exchange_w_k * if i.rpm > 0.0 { 1.0 } else { STILL_OIL };
        let to_oil_w = oil_w_k * (self.coolant_k - self.oil_k);
        // (1)
        let jacket_w_k = p.jacket_w_k * (pump_w_k / p.pump_w_k(JACKET_RPM)).sqrt().max(STILL_JACKET);
        let jacket_w = jacket_w_k * (self.metal_k - self.coolant_k);
        let [wall, friction] = p.to_oil;
        self.metal_k += ((1.0 - wall) * i.wall_j + (1.0 - friction) * i.friction_j - jacket_w * dt_s)
            / (p.metal_kj_k * 1e3);
        // (2)
        self.coolant_k +=
            (jacket_w - radiator_w - heater_w - loss_w_k * over_k - to_oil_w) * dt_s / (p.coolant_kj_k * 1e3);
        let sump_w = SUMP * loss_w_k * (self.oil_k - i.ambient_k);
        self.oil_k +=
            (wall * i.wall_j + friction * i.friction_j + (to_oil_w - sump_w) * dt_s) / (p.oil_kj_k * 1e3);
    }
}
