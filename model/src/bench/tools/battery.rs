//! The bay's tools for a battery and its leads: tester, hydrometer, and the leads that a clamp can be put around.
//!
//! *Inside*: what each tool measures and what it calculates from that. *Outside*: reading errors ([`super`]), the
//! battery itself ([`crate::plant::battery`]).
//!
//! The **tester** draws short current pulses and divides the voltage drop by their current. Its health value is the
//! cold-cranking current that this resistance would allow, over the current printed on the battery. Its charge value
//! is the voltage without load, looked up in a table for a rested battery. Both mislead: a battery that was charged
//! an hour ago still shows surface charge; a battery low on charge has a higher resistance and passes for worn; one
//! that has lost water shows more. The pulses draw so little charge that the battery's charge is taken as unchanged.
//!
//! The **hydrometer** draws acid from each of six cells, which are alike here, and corrects its reading to 25 °C. The
//! acid of an AGM battery cannot be drawn.
//!
//! **Checked by** `tests/bench/tools.rs`.

use super::{Channel, Tool};
use crate::bench::facts::Hindrance;
use crate::label::BatteryLabel;
use crate::num::Table;
use crate::plant::Plant;
use serde::{Deserialize, Serialize};

/// A lead other than the battery's that the clamp can be put around.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lead {
    /// From the alternator.
    Alternator,
    /// To an accessory that somebody has wired in.
    Accessory,
}

impl Lead {
    /// Every lead with its name in files.
    pub const ALL: &'static [(&'static str, Lead)] =
        &[("alternator_lead", Lead::Alternator), ("accessory_lead", Lead::Accessory)];
    /// Name in files.
    pub fn name(self) -> &'static str {
        Self::ALL[self as usize].0
    }
    /// Current in the lead \[A\].
    pub(super) fn amps(self, plant: &Plant) -> f64 {
        let h = &plant.s.hands;
        match self {
            Lead::Alternator => plant.s.electrical.alternator_a,
            Lead::Accessory => plant.s.electrical.accessory_a(h.past_sensor_a, h.accessory_a),
        }
    }
}

/// The battery tester's data.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BatteryTester {
    /// Duration of a test \[s\].
    pub takes_s: f64,
    /// Current of a pulse \[A\].
    pub pulse_a: f64,
    /// Length of a pulse \[s\].
    pub pulse_s: f64,
    /// Resistance at 25 °C times cold-cranking current of a good battery, as its maker assumes it \[V\].
    pub good_v: f64,
    /// Correction that lowers the resistance reading for each kelvin that the case is below 25 °C \[%\].
    pub cold_pct_k: f64,
    /// Its tables of charge \[%\] over rest voltage \[V\], flooded and AGM: it is set to the type on the label.
    pub charge_pct: [Table; 2],
    /// Below this voltage the charge is too low to judge the battery \[V\].
    pub judges_from_v: f64,
    /// Below this share of the printed current the battery fails \[%\].
    pub passes_from_pct: f64,
    /// Volts.
    pub v: Channel,
    /// Resistance \[mΩ\].
    pub mohm: Channel,
}

impl BatteryTester {
    /// Voltage, resistance, health and charge from values read \[V, mΩ\] and case temperature \[°C\], and verdict.
    pub(super) fn made_of(
        &self,
        [v, mohm]: [f64; 2],
        case_c: f64,
        label: &BatteryLabel,
    ) -> ([f64; 4], &'static str) {
        let warm = 1.0 + self.cold_pct_k / 100.0 * (25.0 - case_c).max(0.0);
        let cold_a = 1e3 * self.good_v / (mohm / warm).max(0.1);
        let health = (100.0 * cold_a / label.cold_a).clamp(0.0, 120.0).round();
        let charge = self.charge_pct[label.kind as usize].at(v).round();
        let verdict = if v < self.judges_from_v {
            "charge_too_low"
        } else if health < self.passes_from_pct {
            "fails"
        } else {
            "passes"
        };
        ([v, mohm, health, charge], verdict)
    }
}

/// The hydrometer's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hydrometer {
    /// Density \[kg/L\].
    pub kg_l: Channel,
}

impl Hydrometer {
    /// Mean of the cells, in thousandths.
    pub(super) fn mean(&self, cells: &[f64]) -> f64 {
        (1000.0 * cells.iter().sum::<f64>() / cells.len() as f64).round() / 1000.0
    }
}

/// Whether the tool may be used now.
pub(super) fn may(plant: &Plant, tool: Tool) -> Result<(), Hindrance> {
    let h = &plant.s.hands;
    match tool {
        Tool::ClampOn(Lead::Accessory) if h.past_sensor_a + h.accessory_a <= 0.0 => {
            Err(Hindrance::NothingWired)
        }
        Tool::BatteryTester | Tool::Hydrometer if plant.turning() => Err(Hindrance::EngineTurns),
        Tool::BatteryTester if h.charger.most_a > 0.0 => Err(Hindrance::ChargerConnected),
        Tool::BatteryTester if h.key_on => Err(Hindrance::LoadsFalsify),
        Tool::Hydrometer if plant.s.parts.battery.label.kind == crate::label::BatteryKind::Agm => {
            Err(Hindrance::AgmHoldsAcid)
        }
        _ => Ok(()),
    }
}

/// Takes a sample of the tester: sum of voltages, resistance \[mΩ\] by the first sample's pulse, case \[°C\].
pub(super) fn look(plant: &Plant, t: &BatteryTester, count: u32, held: &mut [f64; 4]) {
    let s = &plant.s;
    let own_a = s.electrical.battery_a;
    let battery = &s.parts.battery;
    held[0] += battery.behind_v() + battery.resistance_ohm() * own_a;
    if count == 0 {
        let mut pulsed = battery.clone();
        let (k, dt) = (10, t.pulse_s / 10.0);
        let before_v = pulsed.behind_v() + pulsed.resistance_ohm() * own_a;
        for _ in 0..k {
            pulsed.tick(own_a - t.pulse_a, pulsed.acid_k, dt);
        }
        let under_v = pulsed.behind_v() + pulsed.resistance_ohm() * (own_a - t.pulse_a);
        held[1] = 1e3 * (before_v - under_v) / t.pulse_a;
        held[2] = crate::units::celsius(battery.acid_k);
    }
}
