//! Everything a person can do to the bench. An action happens at a simulated time and is in the log.

use crate::bench::pattern;
use crate::link::DiagRequest;
use serde::{Deserialize, Serialize};

/// Position of the ignition key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Key {
    /// Off.
    Off,
    /// On.
    On,
    /// Held at crank until the engine runs (or 10 s), then let back to on.
    Crank,
}

/// Gear selector.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gear {
    /// Park.
    Park,
    /// Neutral.
    Neutral,
    /// Drive.
    Drive,
}

/// A load that a person switches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Load {
    /// Cooling compressor (a request: the module engages it).
    Compressor,
    /// Heated glass.
    HeatedGlass,
    /// Lamps.
    Lamps,
    /// Steering turned at standstill.
    Steering,
}

/// A plug that can be pulled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Connector {
    /// Air meter.
    AirMeter,
    /// Manifold pressure sensor.
    ManifoldPressure,
    /// Throttle body (motor and position sensor).
    ThrottleBody,
    /// Coolant temperature sensor.
    CoolantSensor,
    /// Wide-band oxygen sensor of bank 1.
    OxygenSensor1,
    /// Wide-band oxygen sensor of bank 2.
    OxygenSensor2,
    /// Crank sensor.
    CrankSensor,
    /// Injector of a cylinder (1 up).
    Injector(u8),
    /// Coil of a cylinder (1 up).
    Coil(u8),
    /// Battery clamp.
    Battery,
}

/// A part that can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartKind {
    /// Throttle body.
    ThrottleBody,
    /// Air meter.
    AirMeter,
    /// Injector of a cylinder (1 up).
    Injector(u8),
}

/// A part taken from the shelf. What is not said follows from the serial (maker's spread) and "new".
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PartChoice {
    /// Which part.
    pub kind: PartKind,
    /// Serial; the maker's spread follows from it. None draws one from the seed.
    pub serial: Option<String>,
    /// Deposit film \[µm\], throttle body only.
    pub deposit_um: Option<f64>,
    /// Closed stop away from nominal \[deg\] instead of the serial's own, throttle body only.
    pub stop_offset_deg: Option<f64>,
    /// Gain or flow error \[%\] instead of the serial's own: air meter and injector.
    pub error_pct: Option<f64>,
}

/// One thing done by a hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// Turn the key.
    Key(Key),
    /// Press the pedal to so many per cent.
    Pedal(f64),
    /// Brake pressed or released.
    Brake(bool),
    /// Select a gear.
    Gear(Gear),
    /// Switch a load on or off.
    Load(Load, bool),
    /// Pull (false) or push in (true) a connector.
    Connector(Connector, bool),
    /// Fit a part: engine stopped.
    Fit(PartChoice),
    /// Clean the throttle body in place: engine stopped, key off.
    CleanThrottle,
    /// Close or open an unmetered leak \[mm²\]: something done to hoses and gaskets.
    Leak(f64),
    /// Ask the module over the diagnostic link.
    Ask(DiagRequest),
    /// Drive by a pattern for so long: a driver takes pedal, brake, selector and key. Ends standing, in
    /// neutral, idling; ends early when a hand touches one of the four. Needs a running engine, standing.
    Drive {
        /// Which pattern.
        pattern: pattern::Name,
        /// For so long \[min\].
        minutes: f64,
    },
    /// Nothing: lets time pass.
    Wait,
}
