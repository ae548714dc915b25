//! Accuracy and measuring time of each instrument: `assets/tools.toml`.
//!
//! *Inside*: format and check of that file. *Outside*: measuring ([`super`]).
//!
//! **Checked by** `trips_on_bad_data`, `holds_every_instrument…` in [`super`].

use super::battery::{BatteryTester, Hydrometer};
use super::{INSTRUMENTS, Tool};
use crate::bench::leak_down::{Orifice, Settled};
use crate::bench::tester::Link;
use serde::{Deserialize, Serialize};

/// Errors of one quantity of an instrument.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Channel {
    /// Largest slope error \[% of reading\].
    pub gain_pct: f64,
    /// Largest zero error, in the quantity's unit.
    pub offset: f64,
    /// Standard deviation of the noise of one reading, truncated at two standard deviations.
    pub noise: f64,
    /// Last digit.
    pub resolution: f64,
}

impl Channel {
    /// Largest possible error of a reading at a true value.
    pub fn class(&self, truth: f64) -> f64 {
        self.gain_pct / 100.0 * truth.abs() + self.offset + 2.0 * self.noise + 0.5 * self.resolution
    }
    pub(super) fn rounded(&self, x: f64) -> f64 {
        // through whole numbers, so that 0.1 stays 0.1
        let digits = (x / self.resolution).round();
        let per_unit = (1.0 / self.resolution).round();
        let out = if self.resolution < 1.0 { digits / per_unit } else { digits * self.resolution };
        out + 0.0
    }
}

/// The vacuum gauge's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VacuumGauge {
    /// Observation time \[s\].
    pub takes_s: f64,
    /// Lag of the needle \[s\].
    pub lag_s: f64,
    /// Pressure below ambient \[kPa\].
    pub kpa: Channel,
}

/// The exhaust gauge's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BackGauge {
    /// Observation time \[s\].
    pub takes_s: f64,
    /// Lag of the needle behind its snubber \[s\].
    pub lag_s: f64,
    /// Full scale of its dial \[kPa\].
    pub most_kpa: f64,
    /// Pressure above ambient \[kPa\].
    pub kpa: Channel,
}

/// The compression gauge's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CompressionGauge {
    /// Time after which it is taken out if nobody has cranked, or cranking does not end \[s\].
    pub takes_s: f64,
    /// Volume behind its check valve, of hose and dial \[cm³\].
    pub hose_cm3: f64,
    /// Volume before its check valve that a spark plug does not leave open \[cm³\].
    pub adapter_cm3: f64,
    /// Pressure above ambient \[kPa\].
    pub kpa: Channel,
}

/// The leak-down tester's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeakDown {
    /// Regulated pressure above ambient \[kPa\].
    pub supply_kpa: f64,
    /// Diameter of its orifice \[mm\].
    pub orifice_mm: f64,
    /// Discharge coefficient of that \[-\].
    pub discharge: f64,
    /// Air that is heard where it leaves, from so much on \[g/s\].
    pub heard_g_s: f64,
    /// Losses from which they are called raised and high \[%\].
    pub called_pct: [f64; 2],
    /// Pressure above ambient on each of its two dials \[kPa\].
    pub kpa: Channel,
}

impl LeakDown {
    pub(super) fn orifice(&self) -> Orifice {
        let bore_mm2 = std::f64::consts::FRAC_PI_4 * self.orifice_mm * self.orifice_mm;
        Orifice { supply_pa: 1e3 * self.supply_kpa, area_mm2: self.discharge * bore_mm2 }
    }
    /// What a loss \[%\] is called.
    pub(super) fn called(&self, loss_pct: f64) -> &'static str {
        let [raised, high] = self.called_pct;
        ["low", "raised", "high"][usize::from(loss_pct >= raised) + usize::from(loss_pct >= high)]
    }
    /// Where air is heard.
    pub(super) fn heard(&self, settled: &Settled) -> String {
        let loud = settled.leaves_g_s.iter().filter(|(g_s, _)| *g_s >= self.heard_g_s);
        let places: Vec<&str> = loud.map(|(_, place)| *place).collect();
        if places.is_empty() { "nowhere".into() } else { places.join("+") }
    }
}

/// The fuel pressure gauge's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FuelGauge {
    /// Observation time \[s\].
    pub takes_s: f64,
    /// Pressure above ambient \[kPa\].
    pub kpa: Channel,
}

/// The smoke test's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Smoke {
    /// Holes up to this area are never seen \[mm²\].
    pub blind_mm2: f64,
    /// Holes of at least this area are always seen \[mm²\].
    pub sure_mm2: f64,
    /// Holes of at least this total area are called large \[mm²\].
    pub large_mm2: f64,
}

impl Smoke {
    /// Probability that a hole is seen \[-\]: 0 below `blind_mm2`, 1 above `sure_mm2`, linear between them.
    pub fn chance(&self, mm2: f64) -> f64 {
        ((mm2 - self.blind_mm2) / (self.sure_mm2 - self.blind_mm2)).clamp(0.0, 1.0)
    }
}

/// The gas tester's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GasTester {
    /// Time until it is read \[s\].
    pub takes_s: f64,
    /// Time that new gas takes to come through its hose \[s\].
    pub line_s: f64,
    /// Lag of its cells \[s\].
    pub lag_s: f64,
    /// Oxygen \[%\].
    pub o2_pct: Channel,
    /// Carbon monoxide \[%\].
    pub co_pct: Channel,
    /// Carbon dioxide \[%\].
    pub co2_pct: Channel,
    /// Hydrocarbons \[ppm\].
    pub hc_ppm: Channel,
    /// Its fuel's hydrogen per carbon \[-\].
    pub hydrogen_per_carbon: f64,
    /// Its fuel's oxygen per carbon \[-\].
    pub oxygen_per_carbon: f64,
}

/// The voltmeter's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Voltmeter {
    /// Averaging time \[s\].
    pub takes_s: f64,
    /// Volts.
    pub v: Channel,
}

/// The ampere clamp's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clamp {
    /// Averaging time \[s\].
    pub takes_s: f64,
    /// Current \[A\].
    pub a: Channel,
}

/// The thermometer's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thermometer {
    /// Temperature \[°C\].
    pub c: Channel,
    /// Share of the temperature difference between coolant and air that the hose's surface shows \[-\].
    pub hose_share: f64,
}

/// The scope's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scope {
    /// Length of a record \[s\].
    pub takes_s: f64,
    /// Volts.
    pub v: Channel,
    /// Pulse width \[µs\].
    pub us: Channel,
    /// Deviation of a tooth's period from its neighbours' \[%\].
    pub pct: Channel,
}

/// The eye's data.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Eye {
    /// Largest error of its scale \[%\].
    pub eye_pct: f64,
    /// Deposit thicknesses from which the deposit on a throttle is called light and heavy \[µm\].
    pub throttle_um: [f64; 2],
    /// Blockages from which a filter is called dusty and blocked \[%\].
    pub air_filter_pct: [f64; 2],
    /// Area of the hole from which a hose is seen to be off or split \[mm²\].
    pub hose_mm2: f64,
}

/// Class values of every instrument.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Data {
    schema: u64,
    /// Vacuum gauge.
    pub vacuum_gauge: VacuumGauge,
    /// Fuel pressure gauge.
    pub fuel_pressure: FuelGauge,
    /// Smoke in the inlet.
    pub smoke_test: Smoke,
    /// Smoke in the exhaust.
    pub exhaust_smoke: Smoke,
    /// Gas tester.
    pub gas_reading: GasTester,
    /// Voltmeter.
    pub voltmeter: Voltmeter,
    /// Ampere clamp.
    pub ampere_clamp: Clamp,
    /// Thermometer.
    pub thermometer: Thermometer,
    /// Scope.
    pub scope: Scope,
    /// The eye.
    pub inspect: Eye,
    /// Exhaust gauge.
    pub back_pressure: BackGauge,
    /// Compression gauge.
    pub compression: CompressionGauge,
    /// Leak-down tester.
    pub leak_down: LeakDown,
    /// Battery tester.
    pub battery_tester: BatteryTester,
    /// Hydrometer.
    pub hydrometer: Hydrometer,
    pub(super) link: Link,
}

impl Data {
    /// The shipped instruments.
    pub fn shipped() -> Result<Self, String> {
        Self::parse(include_str!("../../../../assets/tools.toml"))
    }
    pub(super) fn parse(text: &str) -> Result<Self, String> {
        let data: Self = toml::from_str(text).map_err(|e| format!("the tools' data: {}", e.message()))?;
        let mut channels = (0..INSTRUMENTS.len()).flat_map(|i| data.channels(i));
        let good = |c: Channel| {
            c.gain_pct >= 0.0
                && c.offset >= 0.0
                && c.noise >= 0.0
                && c.resolution > 0.0
                && c.class(1.0).is_finite()
        };
        if data.schema != 1 || !channels.all(good) {
            return Err("the tools' data: errors must not be negative and last digits more than zero".into());
        }
        Ok(data)
    }
    /// Channels of an instrument, in the order of its values.
    pub(super) fn channels(&self, instrument: usize) -> Vec<Channel> {
        let g = &self.gas_reading;
        match instrument {
            0 => vec![self.vacuum_gauge.kpa],
            1 => vec![self.fuel_pressure.kpa],
            4 => vec![g.o2_pct, g.co_pct, g.co2_pct, g.hc_ppm],
            5 => vec![self.voltmeter.v],
            6 => vec![self.ampere_clamp.a],
            7 => vec![self.thermometer.c],
            8 => vec![self.scope.v, self.scope.us, self.scope.pct],
            11 => vec![self.compression.kpa],
            12 => vec![self.battery_tester.v, self.battery_tester.mohm],
            13 => vec![self.hydrometer.kg_l],
            14 => vec![self.leak_down.kpa, self.leak_down.kpa],
            10 => vec![self.back_pressure.kpa],
            9 => vec![Channel { gain_pct: self.inspect.eye_pct, offset: 0.0, noise: 0.0, resolution: 1e-3 }],
            _ => Vec::new(),
        }
    }
    /// Measuring time of a tool \[s\]; 0 for a tool that shows its reading at once.
    pub fn takes_s(&self, tool: Tool) -> f64 {
        match tool {
            Tool::VacuumGauge => self.vacuum_gauge.takes_s,
            Tool::FuelPressure => self.fuel_pressure.takes_s,
            Tool::GasReading | Tool::GasAhead(_) => self.gas_reading.takes_s,
            Tool::Voltmeter(_) => self.voltmeter.takes_s,
            Tool::AmpereClamp | Tool::ClampOn(_) => self.ampere_clamp.takes_s,
            Tool::BatteryTester => self.battery_tester.takes_s,
            Tool::Scope(_) => self.scope.takes_s,
            Tool::BackPressure(_) => self.back_pressure.takes_s,
            Tool::Compression(_) => self.compression.takes_s,
            _ => 0.0,
        }
    }
}
