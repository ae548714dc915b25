//! Parts that can be fitted, and the attributes that may be stated of each.
//!
//! *Inside*: the table of parts and the keys by which files, logbooks and the sheet of faults say what is wrong with
//! one. *Outside*: what a wear or an error does to the part (`bench/shelf.rs`).
//!
//! A new fault of a part is here a line in `each_key`, its range in [`PARTS`], and a row in [`TRUE`] for the key by which
//! `bench/shelf.rs` tells it (`wear_pct` of an injector is told as `clogged_pct`), without which the debrief passes over it.

use super::cautions::{Caution, none};
use crate::units::{self, Range};

/// Where a part is fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// An engine has one.
    Engine,
    /// Every cylinder has one.
    Cylinder,
    /// Every bank has one.
    Bank,
    /// One of the sensors.
    Sensor,
}

impl Place {
    /// The key in files that selects one of several.
    pub fn key(self) -> Option<&'static str> {
        match self {
            Place::Engine => None,
            Place::Cylinder => Some("cylinder"),
            Place::Bank => Some("bank"),
            Place::Sensor => Some("sensor"),
        }
    }
}

/// Type of the value that a key takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Says {
    /// A number in a range.
    Number(Range),
    /// A whole number in a range.
    Whole(Range),
    /// One of these words; its value is the word's index from 0.
    OneOf(&'static [&'static str]),
    /// True or not; true counts as 1.
    Flag,
}

/// An attribute that may be stated of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// Its key in files and logbooks, with the unit.
    pub key: &'static str,
    /// Type of its value.
    pub says: Says,
    /// Initial value when it is set by hand.
    pub begins: f64,
    /// Allowed only together with this other key.
    pub with: Option<&'static str>,
}

impl Fault {
    /// Range of its number; none where it is not a number.
    pub fn range(&self) -> Option<Range> {
        match self.says {
            Says::Number(range) | Says::Whole(range) => Some(range),
            Says::OneOf(_) | Says::Flag => None,
        }
    }
}

const fn number(key: &'static str, unit: &'static str, [low, high]: [f64; 2], begins: f64) -> Fault {
    Fault { key, says: Says::Number(Range { key, unit, low, high }), begins, with: None }
}

const fn whole(key: &'static str, [low, high]: [f64; 2], begins: f64) -> Fault {
    Fault { key, says: Says::Whole(Range { key, unit: "", low, high }), begins, with: None }
}

/// A part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Name in files and prices, without its cylinder or bank.
    pub id: &'static str,
    /// Where it is fitted.
    pub place: Place,
    /// Cautions for the person who fits one.
    pub cautions: &'static [Caution],
    /// Attributes that may be stated besides its serial.
    pub faults: &'static [Fault],
}

/// Every key of every part, as fields of a part chosen from the shelf: numbers, whole numbers, flags, words.
macro_rules! each_key {
    ($then:ident) => {
        $then! {
            /// Deposit film \[µm\].
            deposit_um: Option<f64> = "deposit_um",
            /// Offset of the closed stop from nominal \[deg\] instead of the serial's own.
            stop_offset_deg: Option<f64> = "stop_offset_deg",
            /// Gain, flow or pressure error \[%\] instead of the serial's own.
            error_pct: Option<f64> = "error_pct",
            /// MAF sensor: the error at 60 g/s \[%\]; `error_pct` is then the one at 3 g/s, linear in the logarithm of flow.
            error_high_pct: Option<f64> = "error_high_pct",
            /// Wear or blockage \[%\]: throttle motor, pump (flow lost), filters and exhaust (area blocked), thermostat
            /// (stays open), injector (flow lost), phaser (rate lost), exhaust-gas-recirculation valve (its motor's force lost), coil (strength lost), battery (capacity lost), alternator
            /// (current lost).
            wear_pct: Option<f64> = "wear_pct",
            /// Wear of the throttle's first sensor track \[%\].
            track_wear_pct: Option<f64> = "track_wear_pct",
            /// Exhaust: loss of its catalyst's oxygen storage and activity \[%\].
            aged_pct: Option<f64> = "aged_pct",
            /// Exhaust: leak at the flange between the front oxygen sensor and the catalyst \[mm²\].
            joint_leak_mm2: Option<f64> = "joint_leak_mm2",
            /// The maker's other size of throttle body.
            other_variant: bool = "variant",
            /// Leakage area of a purge valve, or of the valves or the rings of a cylinder \[mm²\].
            leak_mm2: Option<f64> = "leak_mm2",
            /// Filler cap, vapour line: diameter of the round hole that leaks as much \[mm\].
            hole_mm: Option<f64> = "hole_mm",
            /// Vent valve: it no longer shuts.
            stays_open: bool = "stays_open",
            /// Vent valve: it no longer opens.
            stays_shut: bool = "stays_shut",
            /// Fuel that drips from an injector when it is shut \[mg/s\] at its rated drop.
            drip_mg_s: Option<f64> = "drip_mg_s",
            /// Wheel: offset of its centre from the crank's axis \[mm\], instead of the serial's own.
            runout_mm: Option<f64> = "runout_mm",
            /// Wheel: angle of its high point from its first tooth \[deg\], instead of the serial's own.
            high_deg: Option<f64> = "high_deg",
            /// Wheel: number of a damaged tooth, 1 to 58.
            hit_tooth: Option<u8> = "hit_tooth",
            /// Wheel: error of that tooth's edge \[deg\].
            hit_deg: Option<f64> = "hit_deg",
            /// Crank sensor: its bracket is bent.
            bent: bool = "bent",
            /// Spark plug: gap \[mm\].
            gap_mm: Option<f64> = "gap_mm",
            /// Pulley: amplitude of its once-per-turn torque \[N m\].
            ripple_nm: Option<f64> = "ripple_nm",
            /// Cam drive: teeth by which it is retarded (advanced where negative).
            teeth_late: Option<f64> = "teeth_late",
            /// Cam drive: what its stretched chain retards the camshaft by \[deg of crank\].
            stretch_deg: Option<f64> = "stretch_deg",
            /// Phaser: it is stuck at this advance \[deg of crank\].
            stuck_deg: Option<f64> = "stuck_deg",
            /// Exhaust-gas-recirculation valve: what its sensor shows on the metal seat \[mm\], instead of the serial's own.
            stop_offset_mm: Option<f64> = "stop_offset_mm",
            /// Exhaust-gas-recirculation valve: soot on its seat \[µm\].
            soot_um: Option<f64> = "soot_um",
            /// Exhaust-gas-recirculation valve: share of its passage that is blocked \[%\].
            blocked_pct: Option<f64> = "blocked_pct",
            /// Exhaust-gas-recirculation valve: it is stuck at this lift \[mm\].
            stuck_mm: Option<f64> = "stuck_mm",
            /// Battery: how its acid is held, instead of the car's own kind.
            battery_type: Option<BatteryKind> = "battery_type",
            /// Battery: capacity printed on it \[Ah\].
            rated_ah: Option<f64> = "rated_ah",
            /// Battery: cold-cranking current printed on it \[A\].
            cold_a: Option<f64> = "cold_a",
            /// Battery: state of charge \[%\].
            charge_pct: Option<f64> = "charge_pct",
        }
    };
}
pub(crate) use each_key;

const WEAR: Fault = number("wear_pct", "%", [0.0, 98.0], 50.0);
const LEAK: Fault = number("leak_mm2", "mm²", [0.0, 10.0], 2.0);
const WORN: &[Fault] = &[WEAR];
const LEAKS: &[Fault] = &[LEAK];
const HOLED: &[Fault] = &[number("hole_mm", "mm", [0.0, 12.0], 1.5)];
const VENT: &[Fault] = &[
    Fault { key: "stays_open", says: Says::Flag, begins: 1.0, with: None },
    Fault { key: "stays_shut", says: Says::Flag, begins: 1.0, with: None },
];

const THROTTLE: &[Fault] = &[
    number("deposit_um", "µm", [0.0, 120.0], 50.0),
    number("stop_offset_deg", "°", [-1.3, 1.3], 0.5),
    WEAR,
    number("track_wear_pct", "%", [0.0, 98.0], 50.0),
    Fault { key: "variant", says: Says::OneOf(&["own", "other"]), begins: 1.0, with: None },
];
const AIR_METER: &[Fault] = &[
    number("error_pct", "%", [-60.0, 60.0], -20.0),
    Fault { with: Some("error_pct"), ..number("error_high_pct", "%", [-60.0, 60.0], -20.0) },
];
const INJECTOR: &[Fault] =
    &[number("error_pct", "%", [-90.0, 60.0], -20.0), WEAR, number("drip_mg_s", "mg/s", [0.0, 200.0], 20.0)];
const EGR_VALVE: &[Fault] = &[
    number("stop_offset_mm", "mm", [-0.3, 0.3], 0.2),
    number("soot_um", "µm", [0.0, 400.0], 150.0),
    number("blocked_pct", "%", [0.0, 98.0], 80.0),
    number("stuck_mm", "mm", [0.0, 4.0], 1.0),
    WEAR,
];
const EXHAUST: &[Fault] =
    &[WEAR, number("aged_pct", "%", [0.0, 98.0], 80.0), number("joint_leak_mm2", "mm²", [0.0, 100.0], 15.0)];
const FLEXPLATE: &[Fault] = &[
    number("runout_mm", "mm", [0.0, 0.5], 0.1),
    number("high_deg", "°", [0.0, 360.0], 90.0),
    whole("hit_tooth", [1.0, 58.0], 20.0),
    number("hit_deg", "°", [-2.0, 2.0], 0.3),
];
const BATTERY: &[Fault] = &[
    Fault { key: "battery_type", says: Says::OneOf(&["flooded", "agm"]), begins: 1.0, with: None },
    Fault { key: "rated_ah", says: Says::Number(units::RATED_AH), begins: 60.0, with: None },
    number("cold_a", "A", [100.0, 1500.0], 540.0),
    Fault { key: "charge_pct", says: Says::Number(units::CHARGE_PCT), begins: 50.0, with: None },
    WEAR,
];

const fn part(
    id: &'static str,
    place: Place,
    cautions: &'static [Caution],
    faults: &'static [Fault],
) -> Part {
    Part { id, place, cautions, faults }
}

const FUEL: &[Caution] = &[Caution::FuelPressure];
const BELT: &[Caution] = &[Caution::DriveBelt];
const OPENED: &[Caution] = &[Caution::HotCoolant, Caution::FuelPressure, Caution::CamDrive];

/// Every part, in the order of `PartKind::ALL`.
pub const PARTS: [Part; 27] = [
    part("throttle_body", Place::Engine, &[Caution::ThrottlePlate], THROTTLE),
    part("air_meter", Place::Engine, &[Caution::Connectors], AIR_METER),
    part("injector", Place::Cylinder, FUEL, INJECTOR),
    part("fuel_pump", Place::Engine, FUEL, WORN),
    part("regulator", Place::Engine, FUEL, &[number("error_pct", "%", [-60.0, 60.0], -20.0)]),
    part("fuel_filter", Place::Engine, FUEL, WORN),
    part("air_filter", Place::Engine, none("its box is neither hot nor live"), WORN),
    part("purge_valve", Place::Engine, &[Caution::FuelVapour], LEAKS),
    part("fuel_cap", Place::Engine, &[Caution::FuelVapour], HOLED),
    part("vapour_line", Place::Engine, &[Caution::FuelVapour, Caution::LiftedCar], HOLED),
    part("vent_valve", Place::Engine, &[Caution::FuelVapour, Caution::LiftedCar], VENT),
    part("thermostat", Place::Engine, &[Caution::HotCoolant], WORN),
    part(
        "battery",
        Place::Engine,
        &[Caution::BatteryLeads, Caution::BatteryAcid, Caution::BatteryHydrogen],
        BATTERY,
    ),
    part("alternator", Place::Engine, &[Caution::BatteryLeads, Caution::DriveBelt], WORN),
    part("exhaust", Place::Bank, &[Caution::HotParts, Caution::LiftedCar], EXHAUST),
    part("sensor", Place::Sensor, &[Caution::Connectors, Caution::HotParts], &[]),
    part("module", Place::Engine, &[Caution::Connectors], &[]),
    part("flexplate", Place::Engine, &[Caution::LiftedCar, Caution::BatteryLeads], FLEXPLATE),
    part(
        "crank_sensor",
        Place::Engine,
        &[Caution::Connectors, Caution::LiftedCar],
        &[Fault { key: "bent", says: Says::Flag, begins: 1.0, with: None }],
    ),
    part("coil", Place::Cylinder, &[Caution::IgnitionVoltage], WORN),
    part(
        "plug",
        Place::Cylinder,
        &[Caution::IgnitionVoltage, Caution::HotParts],
        &[number("gap_mm", "mm", [0.2, 3.0], 1.6)],
    ),
    part("valves", Place::Cylinder, OPENED, LEAKS),
    part("rings", Place::Cylinder, OPENED, LEAKS),
    part("pulley", Place::Engine, BELT, &[number("ripple_nm", "N·m", [0.0, 200.0], 40.0)]),
    part(
        "cam_drive",
        Place::Engine,
        &[Caution::CamDrive, Caution::HotOil],
        &[whole("teeth_late", [-2.0, 2.0], 1.0), number("stretch_deg", "°", [0.0, 12.0], 6.0)],
    ),
    part(
        "cam_phaser",
        Place::Engine,
        &[Caution::CamDrive, Caution::HotOil],
        &[number("stuck_deg", "°", [0.0, 40.0], 0.0), WEAR],
    ),
    part("egr_valve", Place::Engine, &[Caution::HotParts, Caution::Connectors], EGR_VALVE),
];

/// A true value of a part, as shown with the lid open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct True {
    /// Its key.
    pub key: &'static str,
    /// Decimals with which it is shown.
    pub decimals: usize,
    /// It is shown with its sign.
    pub signed: bool,
}

const fn plain(key: &'static str, decimals: usize) -> True {
    True { key, decimals, signed: false }
}
const fn signed(key: &'static str, decimals: usize) -> True {
    True { key, decimals, signed: true }
}

/// True values of parts, in the order in which they are shown.
pub const TRUE: &[True] = &[
    plain("deposit_um", 1),
    signed("stop_offset_deg", 3),
    signed("bore_mm", 3),
    plain("motor_wear_pct", 0),
    plain("track_wear_pct", 0),
    plain("variant", 0),
    signed("gain_pct", 2),
    signed("at_3_g_s_pct", 1),
    signed("at_60_g_s_pct", 1),
    signed("flow_pct", 2),
    signed("dead_us", 0),
    signed("short_pct", 1),
    plain("clogged_pct", 0),
    plain("drip_mg_s", 1),
    plain("strength_pct", 0),
    plain("gap_mm", 2),
    plain("valves_mm2", 2),
    plain("rings_mm2", 2),
    plain("runout_mm", 3),
    plain("high_deg", 0),
    plain("hit_tooth", 0),
    signed("hit_deg", 2),
    plain("sees_deg_mm", 2),
    plain("bent", 0),
    signed("inertia_pct", 1),
    signed("masses_pct", 1),
    plain("ripple_nm", 1),
    plain("teeth_late", 0),
    plain("stretch_deg", 1),
    signed("trigger_deg", 2),
    plain("stuck_deg", 0),
    signed("rate_pct", 0),
    signed("stop_offset_mm", 3),
    plain("soot_um", 0),
    signed("motor_pct", 0),
    plain("passage_blocked_pct", 0),
    plain("stuck_mm", 1),
    signed("level_off_pct", 1),
    signed("moves_pct", 1),
    signed("pressure_pct", 2),
    plain("leak_mm2", 2),
    plain("hole_mm", 2),
    plain("stays_open", 0),
    plain("stays_shut", 0),
    plain("blocked_pct", 0),
    plain("catalyst_pct", 0),
    plain("joint_leak_mm2", 1),
    plain("rated_ah", 0),
    plain("cold_a", 0),
    plain("holds_ah", 1),
    plain("resistance_mohm", 1),
    plain("charge_pct", 0),
    plain("water_lost_g", 0),
    plain("gives_pct", 0),
    plain("opens_pct", 0),
];
