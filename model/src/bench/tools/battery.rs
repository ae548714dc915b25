//! What the bay has for a battery and its leads: tester, hydrometer, and the leads that a clamp goes round.
//!
//! *Inside*: what each sees and makes of it. *Outside*: errors of reading ([`super`]), the battery itself
//! ([`crate::plant::battery`]).
//!
//! The **tester** draws short pulses and divides the fall of voltage by their current. What it calls health is the current
//! that such a resistance would let the battery give in the cold, over what is printed on it; what it calls charge is the
//! voltage without load by the book of a battery that has rested. Both mislead: a battery that was charged an hour ago
//! still shows surface charge, a low one has a higher resistance and passes for worn, one that has lost water shows more.
//! So little charge goes with the pulses that the battery is taken to keep it.
//!
//! The **hydrometer** draws acid from each of six cells, which are alike here, and brings what it reads to 25 °C. A mat
//! holds its acid.
//!
//! **Checked by** `tests/bench/tools.rs`.

use super::{Channel, Tool};
use crate::bench::facts::Hindrance;
use crate::label::BatteryLabel;
use crate::num::Table;
use crate::plant::Plant;
use serde::{Deserialize, Serialize};

/// A lead that the clamp goes round, besides the battery's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lead {
    /// From the alternator.
    Alternator,
    /// To what somebody has wired in.
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
    /// What flows in it \[A\].
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
    /// Time of a test \[s\].
    pub takes_s: f64,
    /// Current of a pulse \[A\].
    pub pulse_a: f64,
    /// Length of a pulse \[s\].
    pub pulse_s: f64,
    /// What its maker takes for resistance at 25 °C times cold-cranking current of a good battery \[V\].
    pub good_v: f64,
    /// How much it takes off its reading for each kelvin that the case is under 25 °C \[%\].
    pub cold_pct_k: f64,
    /// Its books of charge \[%\] over voltage at rest \[V\], flooded and with a mat: it is told which is printed on the battery.
    pub charge_pct: [Table; 2],
    /// Under this voltage the charge is too low to judge the battery \[V\].
    pub judges_from_v: f64,
    /// Under this share of the printed current the battery fails \[%\].
    pub passes_from_pct: f64,
    /// Volts.
    pub v: Channel,
    /// Resistance \[mΩ\].
    pub mohm: Channel,
}

impl BatteryTester {
    /// Voltage, resistance, health and charge of what was read \[V, mΩ\] with a case so warm \[°C\], and the verdict.
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

/// Whether it may be used now.
pub(super) fn may(plant: &Plant, tool: Tool) -> Result<(), Hindrance> {
    let h = &plant.s.hands;
    match tool {
        Tool::ClampOn(Lead::Accessory) if h.past_sensor_a + h.accessory_a <= 0.0 => {
            Err(Hindrance::NothingWired)
        }
        Tool::BatteryTester | Tool::Hydrometer if plant.turning() => Err(Hindrance::EngineTurns),
        Tool::BatteryTester if h.key_on => Err(Hindrance::LoadsFalsify),
        Tool::Hydrometer if plant.s.parts.battery.label.kind == crate::label::BatteryKind::Mat => {
            Err(Hindrance::MatHoldsAcid)
        }
        _ => Ok(()),
    }
}

/// A sample of the tester: sum of volts, resistance \[mΩ\] by the first sample's pulse, case \[°C\].
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
