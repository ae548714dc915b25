//! Workshop tools by name: the tools, the points where a probe can touch, the objects that the eye can inspect.

use super::Lead;
use crate::plant::wires::Sensor;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// A place where a probe can touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Point {
    /// The battery's posts.
    BatteryPost,
    /// The module's supply terminal.
    ModuleSupply,
    /// A sensor's signal pin at the module; that of the crank sensor for the scope only.
    Pin(Sensor),
    /// Drive signal of an injector (1 up), scope only.
    Injector(u8),
}

impl Point {
    /// Name in files.
    pub fn name(self) -> String {
        match self {
            Point::BatteryPost => "battery_post".into(),
            Point::ModuleSupply => "module_supply".into(),
            Point::Pin(sensor) => sensor.name().into(),
            Point::Injector(k) => format!("injector_{k}"),
        }
    }
    /// Points that carry a voltage; the crank sensor's wire carries edges only.
    pub fn volts() -> Vec<Point> {
        let pins = Sensor::ALL.iter().map(|s| s.0).filter(|s| *s != Sensor::Crank).map(Point::Pin);
        [Point::BatteryPost, Point::ModuleSupply].into_iter().chain(pins).collect()
    }
}

/// The crank sensor's wire.
pub(super) const CRANK: Point = Point::Pin(Sensor::Crank);

/// An object that the eye can inspect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Look {
    /// Behind the throttle plate.
    ThrottleBody,
    /// The air filter.
    AirFilter,
    /// Hoses round the manifold.
    Hoses,
    /// The body of an injector (cylinder 1 up), for what is printed on it.
    Injector(u8),
    /// The battery's label.
    Battery,
}

impl Look {
    /// Everything that can be looked at, with its name in files.
    pub const ALL: &'static [(&'static str, Look)] = &[
        ("throttle_body", Look::ThrottleBody),
        ("air_filter", Look::AirFilter),
        ("hoses", Look::Hoses),
        ("injector_1", Look::Injector(1)),
        ("injector_2", Look::Injector(2)),
        ("injector_3", Look::Injector(3)),
        ("injector_4", Look::Injector(4)),
        ("injector_5", Look::Injector(5)),
        ("injector_6", Look::Injector(6)),
        ("injector_7", Look::Injector(7)),
        ("injector_8", Look::Injector(8)),
        ("battery", Look::Battery),
    ];
    /// Name in files.
    pub fn name(self) -> &'static str {
        Self::ALL.iter().find(|(_, l)| *l == self).map_or("", |(n, _)| n)
    }
}

/// A workshop tool, set to the quantity or place that it measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tool {
    /// Manifold pressure below ambient, and how the needle swings.
    VacuumGauge,
    /// Fuel rail pressure above ambient.
    FuelPressure,
    /// Smoke into the closed inlet.
    SmokeTest,
    /// Smoke into the exhaust.
    ExhaustSmoke,
    /// Gas at the tailpipe.
    GasReading,
    /// Gas of a bank (1 up) from the port ahead of its catalyst.
    GasAhead(u8),
    /// Volts at a point.
    Voltmeter(Point),
    /// Current in the battery lead.
    AmpereClamp,
    /// The same clamp on another lead.
    ClampOn(Lead),
    /// Short pulses of load on the battery.
    BatteryTester,
    /// Density of the battery's acid.
    Hydrometer,
    /// Temperature of the coolant hose.
    Thermometer,
    /// A two-second record at a point.
    Scope(Point),
    /// The eye.
    Inspect(Look),
    /// Exhaust pressure of a bank (1 up) ahead of its catalyst, above ambient.
    BackPressure(u8),
    /// Highest pressure of a cylinder (1 up) while the engine is cranked, above ambient.
    Compression(u8),
    /// Share of a regulated air pressure that a cylinder (1 up) does not hold, engine standing.
    LeakDown(u8),
}

/// Instruments, by name.
pub const INSTRUMENTS: [&str; 15] = [
    "vacuum_gauge",
    "fuel_pressure",
    "smoke_test",
    "exhaust_smoke",
    "gas_reading",
    "voltmeter",
    "ampere_clamp",
    "thermometer",
    "scope",
    "inspect",
    "back_pressure",
    "compression",
    "battery_tester",
    "hydrometer",
    "leak_down",
];

impl Tool {
    pub(super) fn index(self) -> usize {
        match self {
            Tool::VacuumGauge => 0,
            Tool::FuelPressure => 1,
            Tool::SmokeTest => 2,
            Tool::ExhaustSmoke => 3,
            Tool::GasReading | Tool::GasAhead(_) => 4,
            Tool::Voltmeter(_) => 5,
            Tool::AmpereClamp | Tool::ClampOn(_) => 6,
            Tool::Thermometer => 7,
            Tool::Scope(_) => 8,
            Tool::Inspect(_) => 9,
            Tool::BackPressure(_) => 10,
            Tool::Compression(_) => 11,
            Tool::BatteryTester => 12,
            Tool::Hydrometer => 13,
            Tool::LeakDown(_) => 14,
        }
    }
    /// The instrument's name in files and prices.
    pub fn instrument(self) -> &'static str {
        INSTRUMENTS[self.index()]
    }
    /// Name of its reading: the instrument and, where there is one, the point or the part.
    pub fn name(self) -> String {
        match self {
            Tool::Voltmeter(p) | Tool::Scope(p) => format!("{}_{}", self.instrument(), p.name()),
            Tool::Inspect(l) => format!("inspect_{}", l.name()),
            Tool::ClampOn(lead) => format!("{}_{}", self.instrument(), lead.name()),
            Tool::GasAhead(k) | Tool::BackPressure(k) | Tool::Compression(k) | Tool::LeakDown(k) => {
                format!("{}_{k}", self.instrument())
            }
            _ => self.instrument().into(),
        }
    }
    /// One of each instrument, in the order of [`INSTRUMENTS`], with its name; where it is put is arbitrary.
    pub fn each() -> &'static [(&'static str, Tool)] {
        static EACH: OnceLock<Vec<(&'static str, Tool)>> = OnceLock::new();
        EACH.get_or_init(|| {
            let mut all = Tool::all(1, 1);
            all.sort_by_key(|t| t.index());
            all.dedup_by_key(|t| t.index());
            all.into_iter().map(|t| (t.instrument(), t)).collect()
        })
    }
    /// What the place of a tool is counted by, `cylinder` or `bank`; none for a tool that is put elsewhere.
    pub fn place_key(self) -> Option<&'static str> {
        match self {
            Tool::Compression(_) | Tool::LeakDown(_) => Some("cylinder"),
            Tool::BackPressure(_) | Tool::GasAhead(_) => Some("bank"),
            _ => None,
        }
    }
    /// The same tool at another cylinder or bank, counted from 1; a tool without such a place is unchanged.
    pub fn at(self, place: u8) -> Tool {
        match self {
            Tool::Compression(_) => Tool::Compression(place),
            Tool::LeakDown(_) => Tool::LeakDown(place),
            Tool::BackPressure(_) => Tool::BackPressure(place),
            Tool::GasAhead(_) => Tool::GasAhead(place),
            other => other,
        }
    }
    /// Every setting of every tool on an engine with this number of cylinders and banks.
    pub fn all(cylinders: usize, banks: usize) -> Vec<Tool> {
        let mut out = vec![
            Tool::VacuumGauge,
            Tool::FuelPressure,
            Tool::SmokeTest,
            Tool::ExhaustSmoke,
            Tool::GasReading,
            Tool::AmpereClamp,
            Tool::Thermometer,
            Tool::BatteryTester,
            Tool::Hydrometer,
        ];
        out.extend(Lead::ALL.iter().map(|l| Tool::ClampOn(l.1)));
        out.extend(Point::volts().into_iter().flat_map(|p| [Tool::Voltmeter(p), Tool::Scope(p)]));
        out.extend((1..=cylinders as u8).map(|k| Tool::Scope(Point::Injector(k))));
        out.push(Tool::Scope(CRANK));
        out.extend((1..=cylinders as u8).flat_map(|k| [Tool::Compression(k), Tool::LeakDown(k)]));
        out.extend((1..=banks as u8).flat_map(|b| [Tool::BackPressure(b), Tool::GasAhead(b)]));
        let here = |l: &Look| !matches!(l, Look::Injector(k) if usize::from(*k) > cylinders);
        out.extend(Look::ALL.iter().filter(|l| here(&l.1)).map(|l| Tool::Inspect(l.1)));
        out
    }
}
