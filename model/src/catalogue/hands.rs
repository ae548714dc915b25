//! What a hand can do in an act of a file, with the keys that go with it, and other work that has a price.

/// One way to say what is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hand {
    /// Its key in an act.
    pub key: &'static str,
    /// Keys that may stand beside it.
    pub with: &'static [&'static str],
}

const fn hand(key: &'static str) -> Hand {
    Hand { key, with: &[] }
}

/// Every hand, in the order in which messages list them.
pub const HANDS: &[Hand] = &[
    hand("key"),
    hand("pedal_pct"),
    hand("brake"),
    hand("gear"),
    Hand { key: "load", with: &["on"] },
    hand("fit"),
    hand("unplug"),
    hand("plug"),
    hand("clean"),
    hand("leak_mm2"),
    hand("exhaust_leak_mm2"),
    hand("sensor"),
    hand("refuel_l"),
    hand("swap_injectors"),
    Hand { key: "interrupt_pct", with: &["cylinder"] },
    Hand { key: "service", with: &["cylinder", "off_body", "code", "idle_rpm", "battery_type", "rated_ah"] },
    Hand { key: "measure", with: &["cylinder", "point", "part", "bank"] },
    hand("watch"),
    hand("wait_s"),
    Hand { key: "drive", with: &["minutes"] },
    Hand { key: "drive_on", with: &["minutes", "trips", "days_a_week", "days", "each"] },
    hand("rest_h"),
    Hand { key: "accessory_a", with: &["past_sensor"] },
    Hand { key: "hold_rpm", with: &["hold_nm"] },
    hand("cautions"),
    hand("cause"),
    Hand { key: "predict", with: &["answer"] },
    hand("note"),
];

/// Every key of an act that says what is done, each once: a hand's own, and those beside it.
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
    "inlet_leak",
    "exhaust_leak",
    "rollers",
    "spark_interrupter",
    "sensor_wiring",
    "refuel",
];
