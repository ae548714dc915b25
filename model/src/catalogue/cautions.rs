//! Hazards to the person who does a job, and what else needs attention with it in a real workshop bay.
//!
//! *Inside*: the keys. Every hand, part, service, tool and connector names the cautions that go with it, so that a
//! new one cannot be declared without. *Outside*: their sentences (`assets/words/en/cautions.ftl`), one per key;
//! which act has which cautions (`bench/cautions.rs`).

use serde::{Deserialize, Serialize};

macro_rules! cautions {
    ($($(#[$doc:meta])* $key:ident = $id:literal,)+) => {
        /// A hazard, and what is done about it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum Caution {
            $($(#[$doc])* #[serde(rename = $id)] $key,)+
        }

        impl Caution {
            /// Every caution, with its name in files.
            pub const ALL: &'static [(&'static str, Caution)] = &[$(($id, Caution::$key),)+];
            /// Name in files.
            pub fn id(self) -> &'static str {
                match self {
                    $(Caution::$key => $id,)+
                }
            }
        }
    };
}

cautions! {
    /// Exhaust gas in a closed room.
    CarbonMonoxide = "carbon_monoxide",
    /// Belts, fans and pulleys.
    MovingParts = "moving_parts",
    /// Exhaust, catalyst and engine, also after the engine has stopped.
    HotParts = "hot_parts",
    /// The cooling system while it is hot.
    HotCoolant = "hot_coolant",
    /// Oil of an engine that has run.
    HotOil = "hot_oil",
    /// Fuel lines and rails, also after the engine has stopped.
    FuelPressure = "fuel_pressure",
    /// Vapour of fuel, from a filler, a canister or its hoses.
    FuelVapour = "fuel_vapour",
    /// Coils, leads and plugs.
    IgnitionVoltage = "ignition_voltage",
    /// Acid in and on a battery.
    BatteryAcid = "battery_acid",
    /// Gas that a battery gives off.
    BatteryHydrogen = "battery_hydrogen",
    /// The order in which a battery's leads come off and go on.
    BatteryLeads = "battery_leads",
    /// A charger at the battery.
    Charger = "charger",
    /// A battery that boils, is swollen or cracked.
    DamagedBattery = "damaged_battery",
    /// A throttle plate that a motor moves.
    ThrottlePlate = "throttle_plate",
    /// Connectors of the harness, and the module's own.
    Connectors = "connectors",
    /// The belt that drives alternator and compressor, and its pulleys.
    DriveBelt = "drive_belt",
    /// An opened cam drive.
    CamDrive = "cam_drive",
    /// Cranking with the plugs out.
    Cranking = "cranking",
    /// Compressed air in a cylinder, which turns the crankshaft.
    AirTurnsEngine = "air_turns_engine",
    /// Work under a car.
    LiftedCar = "lifted_car",
    /// A running car with its selector in drive.
    CarInGear = "car_in_gear",
    /// A car that idles so high that it moves by itself in gear.
    CreepsInGear = "creeps_in_gear",
    /// A raised engine speed on a stationary car.
    HighRevs = "high_revs",
    /// A car on rollers.
    Rollers = "rollers",
    /// Tests on a public road.
    RoadWork = "road_work",
    /// An engine that stalls while the car rolls.
    StallsOnTheRoad = "stalls_on_the_road",
    /// Cylinders without spark or fuel, and the catalyst behind them.
    MisfireHeat = "misfire_heat",
    /// A lamp that flashes.
    LampFlashes = "lamp_flashes",
    /// Steady supply voltage while a module is programmed.
    SteadySupply = "steady_supply",
    /// Whose instructions are binding: the vehicle maker's, the law's, the workplace's, the instructor's.
    WhoDecides = "who_decides",
    /// What a simulated car can show of a person's skill.
    ShownOnACar = "shown_on_a_car",
}

impl Caution {
    /// Cautions that apply to every car in every bay: shown with every job.
    pub const STANDING: &'static [Caution] = &[
        Caution::CarbonMonoxide,
        Caution::MovingParts,
        Caution::HotParts,
        Caution::ThrottlePlate,
        Caution::FuelPressure,
        Caution::IgnitionVoltage,
        Caution::BatteryAcid,
        Caution::BatteryHydrogen,
        Caution::CarInGear,
        Caution::HighRevs,
        Caution::RoadWork,
        Caution::WhoDecides,
        Caution::ShownOnACar,
    ];
}

/// No caution; the entry says why.
pub(crate) const fn none(_why: &'static str) -> &'static [Caution] {
    &[]
}
