//! Actions that a person can take in an act of a file, with their keys and cautions, and other work that has a price.

use super::cautions::{Caution, none};

/// One action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hand {
    /// Its key in an act.
    pub key: &'static str,
    /// Further keys allowed beside it.
    pub with: &'static [&'static str],
    /// Cautions for the person who does it.
    pub cautions: &'static [Caution],
}

const fn hand(key: &'static str, cautions: &'static [Caution]) -> Hand {
    Hand { key, with: &[], cautions }
}

const OF_THE_THING: &[Caution] = none("the part, connector, service or tool that it names has its own");
const WORDS: &[Caution] = none("words touch nothing");

/// Every hand, in the order in which messages list them.
pub const HANDS: &[Hand] = &[
    hand("key", &[Caution::CarbonMonoxide, Caution::MovingParts]),
    hand("pedal_pct", &[Caution::HighRevs]),
    hand("brake", none("it holds the car")),
    hand("gear", &[Caution::CarInGear]),
    Hand { with: &["on"], ..hand("load", &[Caution::MovingParts]) },
    hand("fit", OF_THE_THING),
    hand("unplug", OF_THE_THING),
    hand("plug", OF_THE_THING),
    hand("clean", &[Caution::ThrottlePlate]),
    hand("leak_mm2", &[Caution::MovingParts]),
    hand("exhaust_leak_mm2", &[Caution::HotParts, Caution::CarbonMonoxide]),
    hand("sensor", &[Caution::Connectors]),
    hand("refuel_l", &[Caution::FuelVapour]),
    hand("swap_injectors", &[Caution::FuelPressure]),
    Hand { with: &["cylinder"], ..hand("interrupt_pct", &[Caution::IgnitionVoltage, Caution::MisfireHeat]) },
    Hand {
        with: &["cylinder", "off_body", "code", "idle_rpm", "battery_type", "rated_ah"],
        ..hand("service", OF_THE_THING)
    },
    Hand { with: &["cylinder", "point", "part", "bank"], ..hand("measure", OF_THE_THING) },
    hand("watch", none("the tester shows what the module sends anyway")),
    hand("wait_s", none("nobody does anything")),
    Hand { with: &["minutes"], ..hand("drive", &[Caution::RoadWork]) },
    Hand {
        with: &["minutes", "trips", "days_a_week", "days", "each"],
        ..hand("drive_on", &[Caution::RoadWork])
    },
    hand("rest_h", none("the car stands locked")),
    Hand {
        with: &["past_sensor"],
        ..hand("accessory_a", &[Caution::BatteryLeads, Caution::BatteryHydrogen])
    },
    Hand {
        with: &["past_sensor"],
        ..hand("charger_a", &[Caution::Charger, Caution::BatteryHydrogen, Caution::BatteryAcid])
    },
    Hand { with: &["hold_nm"], ..hand("hold_rpm", &[Caution::HighRevs, Caution::Rollers]) },
    hand("cautions", WORDS),
    hand("cause", WORDS),
    Hand { with: &["answer"], ..hand("predict", WORDS) },
    hand("note", WORDS),
];

/// Cautions for the action with that key.
pub fn cautions(key: &str) -> &'static [Caution] {
    let of = HANDS.iter().find(|h| h.key == key);
    debug_assert!(of.is_some(), "no hand is called {key}: it would be without a caution");
    of.map_or(&[], |h| h.cautions)
}

/// Every key that describes an action in an act, each once: an action's own key, and those beside it.
pub fn keys() -> Vec<&'static str> {
    let mut all: Vec<&str> = Vec::new();
    for key in HANDS.iter().flat_map(|h| std::iter::once(&h.key).chain(h.with)) {
        if !all.contains(key) {
            all.push(key);
        }
    }
    all
}

/// Other work that the price list may name.
pub const WORK: &[&str] = &[
    "connector",
    "battery_clamp",
    "swap_injectors",
    "clean_throttle_body",
    "accessory",
    "charger",
    "inlet_leak",
    "exhaust_leak",
    "rollers",
    "spark_interrupter",
    "sensor_wiring",
    "refuel",
];
