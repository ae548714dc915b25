//! A plain battery, the alternator, the loads.
//!
//! **Models** open-circuit voltage over charge, series resistance and one polarisation state; an
//! alternator whose regulator holds a set-point within what its speed allows and lets its current rise no
//! faster than it is told; its torque from power and efficiency.
//!
//! **Leaves out** ageing, gassing, temperature of the battery, ground resistance (their own work is to come).
//!
//! **State** ([`State`]): charge \[-\], polarisation \[V\], alternator current \[A\], supply \[V\].
//!
//! **Equations**
//! 1. `V = OCV(q) + v_p + R (I_alt − I_load)`; `v_p' = (R_p(q) I − v_p)/τ_p`.
//! 2. `M = V I/(η ω)`.
//!
//! **Valid** for 9 to 16 V, a battery in fair charge.
//!
//! **Checked by** `holds_charge…` in `tests/balances.rs`.

use crate::num::{self, Table};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[electrical]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Capacity \[Ah\].
    pub capacity_ah: f64,
    /// Open-circuit voltage \[V\] over charge \[-\].
    pub open_circuit_v: Table,
    /// Series resistance \[mΩ\].
    pub resistance_mohm: f64,
    /// Time constant of polarisation \[s\].
    pub polarisation_s: f64,
    /// Alternator current \[A\] over engine speed \[rpm\].
    pub alternator_a: Table,
    /// Efficiency of alternator and belt \[-\].
    pub alternator_efficiency: f64,
    /// Drawn with the key on: module, sensors \[A\].
    pub key_on_a: f64,
    /// Drawn besides with the engine running: ignition, pump, injectors \[A\].
    pub running_a: f64,
    /// Lamps \[A\].
    pub lamps_a: f64,
    /// Heated glass \[A\].
    pub heated_glass_a: f64,
    /// Cabin blower \[A\].
    pub blower_a: f64,
    /// Radiator fan \[A\].
    pub fan_a: f64,
    /// Compressor clutch \[A\].
    pub clutch_a: f64,
    /// Compressor torque at the crank \[N m\].
    pub compressor_nm: f64,
    /// Steering pump torque at the crank, wheel turned at standstill \[N m\].
    pub steering_nm: f64,
    /// Water pump and belts over the friction correlation \[N m\].
    pub belt_nm: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "electrical";
        between(s, "capacity_ah", self.capacity_ah, 20.0, 200.0)?;
        between(s, "resistance_mohm", self.resistance_mohm, 1.0, 50.0)?;
        for p in self.open_circuit_v.points() {
            between(s, "open_circuit_v", p[1], 5.0, 20.0)?;
        }
        for p in self.alternator_a.points() {
            between(s, "alternator_a", p[1], 0.0, 500.0)?;
        }
        between(s, "polarisation_s", self.polarisation_s, 1.0, 3600.0)?;
        between(s, "alternator_efficiency", self.alternator_efficiency, 0.3, 0.9)?;
        for (key, v) in [
            ("key_on_a", self.key_on_a),
            ("running_a", self.running_a),
            ("lamps_a", self.lamps_a),
            ("heated_glass_a", self.heated_glass_a),
            ("blower_a", self.blower_a),
            ("fan_a", self.fan_a),
            ("clutch_a", self.clutch_a),
        ] {
            between(s, key, v, 0.0, 60.0)?;
        }
        between(s, "compressor_nm", self.compressor_nm, 0.0, 30.0)?;
        between(s, "steering_nm", self.steering_nm, 0.0, 30.0)?;
        between(s, "belt_nm", self.belt_nm, 0.0, 10.0)
    }
}

/// What is switched on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Switched {
    /// Clamp on the battery.
    pub clamp: bool,
    /// Key on.
    pub key_on: bool,
    /// Pump relay closed (stands for the running loads).
    pub running: bool,
    /// Lamps.
    pub lamps: bool,
    /// Heated glass.
    pub heated_glass: bool,
    /// Cabin blower.
    pub blower: bool,
    /// Fan.
    pub fan: bool,
    /// Compressor clutch.
    pub clutch: bool,
    /// Starter engaged.
    pub starter: bool,
}

/// What the module asks of the alternator's regulator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alternator {
    /// Set-point \[V\].
    pub set_v: f64,
    /// Fastest rise of current \[A/s\].
    pub rise_a_s: f64,
}

/// State of the electrical system.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Charge over capacity \[-\].
    pub charge: f64,
    /// Polarisation \[V\].
    pub polarisation_v: f64,
    /// Alternator current \[A\].
    pub alternator_a: f64,
    /// Supply \[V\].
    pub supply_v: f64,
    /// Field duty \[-\].
    pub duty: f64,
    /// Battery current, positive charges \[A\].
    pub battery_a: f64,
    /// Torque of the alternator \[N m\].
    pub torque_nm: f64,
}

impl State {
    /// At rest, so much charged \[-\].
    pub fn at_rest(p: &Params, charge: f64) -> Self {
        Self {
            charge,
            polarisation_v: 0.0,
            alternator_a: 0.0,
            supply_v: p.open_circuit_v.at(charge),
            duty: 0.0,
            battery_a: 0.0,
            torque_nm: 0.0,
        }
    }
    /// Every 10 ms: (1), (2). `omega` \[rad/s\], starter current \[A\].
    pub fn tick(
        &mut self,
        p: &Params,
        on: &Switched,
        omega: f64,
        starter_a: f64,
        asked: &Alternator,
        dt_s: f64,
    ) {
        let mut load = 0.0;
        for (is_on, amps) in [
            (on.key_on, p.key_on_a),
            (on.running, p.running_a),
            (on.lamps, p.lamps_a),
            (on.heated_glass, p.heated_glass_a),
            (on.blower, p.blower_a),
            (on.fan, p.fan_a),
            (on.clutch, p.clutch_a),
            (on.starter, starter_a),
        ] {
            if is_on {
                load += amps;
            }
        }
        let most = if asked.set_v > 0.0 { p.alternator_a.at(crate::units::rpm(omega)) } else { 0.0 };
        if !on.clamp {
            // a turning alternator whose field is up carries the loads by itself while it can; without it
            // nothing holds the supply
            self.battery_a = 0.0;
            if self.alternator_a > 0.0 && load > 0.0 && load <= most {
                self.alternator_a = load;
                self.supply_v = asked.set_v;
                self.duty = load / most;
                self.torque_nm =
                    if omega > 10.0 { self.supply_v * load / (p.alternator_efficiency * omega) } else { 0.0 };
            } else {
                (self.alternator_a, self.duty, self.torque_nm, self.supply_v) = (0.0, 0.0, 0.0, 0.0);
            }
            return;
        }
        let r = p.resistance_mohm * 1e-3;
        let behind_v = p.open_circuit_v.at(self.charge) + self.polarisation_v;
        let wanted = (load + (asked.set_v - behind_v) / r).clamp(0.0, most.max(0.0));
        self.alternator_a = if wanted > self.alternator_a {
            wanted.min(self.alternator_a + asked.rise_a_s * dt_s)
        } else {
            wanted
        };
        self.battery_a = self.alternator_a - load;
        self.supply_v = behind_v + r * self.battery_a;
        self.duty = if most > 0.0 { self.alternator_a / most } else { 0.0 };
        self.torque_nm = if omega > 10.0 {
            self.supply_v * self.alternator_a / (p.alternator_efficiency * omega)
        } else {
            0.0
        };
        // charging gets harder as the plates fill; discharge sees a few milliohms
        let r_p = if self.battery_a > 0.0 { 0.05 / (1.02 - self.charge) } else { 0.004 };
        self.polarisation_v +=
            (r_p * self.battery_a - self.polarisation_v) * num::lag_share(dt_s, p.polarisation_s);
        self.charge = (self.charge + self.battery_a * dt_s / (3600.0 * p.capacity_ah)).clamp(0.0, 1.0);
    }
}
