//! The module's calibration: the `[module]` section of a car's file, a part for each task, and the engine's layout.
//!
//! *Inside*: which sections there are, and what must hold between them. *Outside*: each section's own values (the file of
//! its task).

use crate::ecm::{
    airflow, alcohol, ambient, catalyst_monitor, charging, crank_learn, cylinder_trim, egr, fueling, inputs,
    memory, misfire, monitors, phaser, purge, rear_trim, sequences, vapour_monitor,
};
use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// Layout of the engine by the module's book.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Nameplate {
    /// Firing order by cylinder number.
    pub firing_order: Vec<u8>,
    /// Bank of each cylinder, by cylinder number.
    pub banks: Vec<u8>,
}

impl Nameplate {
    /// Number of banks.
    pub fn bank_count(&self) -> usize {
        self.banks.iter().copied().max().unwrap_or(1) as usize
    }
}

/// The `[module.run]` section: start, charging, fan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunCal {
    /// Model year, by which the rules of diagnosis go.
    pub model_year: u16,
    /// Speed above which the engine runs by itself \[rpm\].
    pub runs_rpm: f64,
    /// Fastest rise of alternator current at idle and otherwise \[A/s\].
    pub charge_rise_a_s: [f64; 2],
    /// Fan on and off \[°C\].
    pub fan_c: [f64; 2],
    /// Least supply at which the module works \[V\].
    pub least_v: f64,
}

/// The module's calibration; the `[module]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sections {
    /// Start, charging, fan.
    pub run: RunCal,
    /// Charging.
    pub charging: charging::Cal,
    /// Inputs.
    pub inputs: inputs::Cal,
    /// Ambient pressure.
    pub ambient: ambient::Cal,
    /// Idle.
    pub idle: airflow::Cal,
    /// Fuel.
    pub fuel: fueling::Cal,
    /// Alcohol in the fuel; without it the car takes no blends.
    #[serde(default)]
    pub alcohol: Option<alcohol::Cal>,
    /// Cylinder trim; without it the module has none.
    #[serde(default)]
    pub cylinder_trim: Option<cylinder_trim::Cal>,
    /// Catalyst monitor.
    pub catalyst: catalyst_monitor::Cal,
    /// Trim by the sensor after the catalyst.
    pub rear_trim: rear_trim::Cal,
    /// Leak test of the EVAP system; without it the module has none.
    #[serde(default)]
    pub vapour: Option<vapour_monitor::Cal>,
    /// Phaser of the inlet camshaft; without it the module moves none.
    #[serde(default)]
    pub phaser: Option<phaser::Cal>,
    /// Exhaust-gas-recirculation valve; without it the module drives none.
    #[serde(default)]
    pub egr: Option<egr::Cal>,
    /// Purge.
    pub purge: purge::Cal,
    /// Monitors of components.
    pub watch: monitors::Cal,
    /// Store.
    pub memory: memory::Cal,
    /// Manual sequence.
    pub sequence: sequences::Cal,
    /// Wheel table and its learn.
    pub wheel: crank_learn::Cal,
    /// Misfire.
    pub misfire: misfire::Cal,
}

/// Calibration with the name plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Layout.
    pub plate: Nameplate,
    /// Sections.
    pub s: Sections,
}

impl Calibration {
    /// Checks every section.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = &self.s;
        between("module.run", "model_year", f64::from(s.run.model_year), 1996.0, 2030.0)?;
        between("module.run", "runs_rpm", s.run.runs_rpm, 200.0, 1000.0)?;
        s.charging.check()?;
        between("module.run", "least_v", s.run.least_v, 4.0, 10.0)?;
        s.inputs.check()?;
        s.ambient.check()?;
        s.idle.check()?;
        s.fuel.check()?;
        if s.fuel.direct.is_some() != s.inputs.rail_v.is_some() {
            return Err(ParamError::new("module.inputs", "rail_v", ParamRule::NeedsDirect));
        }
        if let Some(cal) = &s.cylinder_trim {
            cal.check()?;
        }
        s.catalyst.check()?;
        s.rear_trim.check()?;
        if let Some(cal) = &s.vapour {
            cal.check()?;
        }
        if let Some(cal) = &s.alcohol {
            cal.check()?;
        }
        if let Some(cal) = &s.phaser {
            cal.check()?;
        }
        if let Some(cal) = &s.egr {
            cal.check()?;
        }
        s.purge.check()?;
        s.watch.check()?;
        s.memory.check()?;
        s.sequence.check()?;
        s.wheel.check()?;
        s.misfire.check()?;
        misfire::Windows::new(&s.misfire, &self.plate, s.inputs.first_tooth_btdc_deg)?;
        let span = 720.0 / self.plate.firing_order.len() as f64;
        if span % 6.0 != 0.0 {
            return Err(ParamError::new("engine", "firing_order", ParamRule::WholeTeeth));
        }
        Ok(())
    }
}
