//! Live values: what the module computes and reports while it runs, each declared once.
//!
//! *Inside*: name, unit, decimals, standard identifier, what it needs of the car, and the value itself. *Outside*: how
//! the module computes them (`ecm`), what is recorded (`catalogue/signals.rs`).
//!
//! A new value goes to the end: the module's own numbers on a network follow the order.

use serde::{Deserialize, Serialize};

/// Declaration of a live value.
#[derive(Debug, Clone, Copy)]
pub struct Live {
    /// Name by which it is requested, with its unit.
    pub id: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// Decimals with which it is shown.
    pub decimals: usize,
    /// Its parameter identifier in SAE J1979, where the standard has one with that meaning.
    pub pid: Option<u8>,
    /// What it needs, without which it stands at 0.
    pub needs: Needs,
    /// The value.
    pub get: fn(&LiveValues) -> f64,
}

/// What a live value needs to be more than a 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Nothing: every car has it.
    Nothing,
    /// A sensor of its own that not every car has, or a test that writes it: its 0 alone tells that there is none.
    SensorOrTest,
    /// A second bank.
    Bank2,
    /// A sensor in the high-pressure rail.
    Rail,
    /// Fuel that may hold alcohol, and a module that learns how much.
    Blends,
    /// A phaser of the inlet camshaft.
    Phaser,
    /// An exhaust-gas-recirculation valve.
    Egr,
}

/// One row per value: its name; unit, decimals, standard identifier, [`Needs`].
macro_rules! live_values {
    ($($(#[$doc:meta])* $id:ident: $unit:literal, $decimals:literal, $pid:expr, $needs:ident;)+) => {
        /// Values as the module computes them.
        #[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
        pub struct LiveValues {
            $($(#[$doc])* pub $id: f64,)+
            /// Idle controller in force.
            pub idling: bool,
            /// Misfire monitoring is active.
            pub misfire_watched: bool,
            /// Misfires counted in this trip by cylinder.
            #[serde(skip_serializing, default)]
            pub misfires: [u32; 8],
        }

        /// Every live value except the counts by cylinder.
        pub const LIVE: &[Live] = &[
            $(Live {
                id: stringify!($id),
                unit: $unit,
                decimals: $decimals,
                pid: $pid,
                needs: Needs::$needs,
                get: |l| l.$id,
            },)+
        ];

        impl LiveValues {
            /// Names by which single values are requested, with their units.
            pub const NAMES: &'static [&'static str] = &[
                $(stringify!($id),)+
                "misfires_1",
                "misfires_2",
                "misfires_3",
                "misfires_4",
                "misfires_5",
                "misfires_6",
                "misfires_7",
                "misfires_8",
            ];
        }
    };
}

live_values! {
    /// Engine speed \[rpm\].
    engine_speed_rpm: "rpm", 0, Some(0x0C), Nothing;
    /// Target idle speed \[rpm\].
    target_rpm: "rpm", 0, None, Nothing;
    /// Coolant \[°C\].
    coolant_c: "°C", 0, Some(0x05), Nothing;
    /// Inlet air \[°C\].
    inlet_air_c: "°C", 0, Some(0x0F), Nothing;
    /// Manifold pressure \[kPa\].
    map_kpa: "kPa", 1, Some(0x0B), Nothing;
    /// Air flow into the engine, by the MAF sensor or calculated from manifold pressure \[g/s\].
    air_g_s: "g/s", 2, Some(0x10), Nothing;
    /// Air calculated by the module from pressure and speed \[g/s\].
    air_by_pressure_g_s: "g/s", 2, None, Nothing;
    /// Fuel rail pressure by its sensor, over ambient \[kPa\]; zero where there is none.
    rail_kpa: "kPa", 0, Some(0x23), Rail;
    /// Purge valve duty \[%\].
    purge_pct: "%", 1, Some(0x2E), Nothing;
    /// Throttle plate above its stored closed stop \[°\].
    throttle_deg: "°", 2, None, Nothing;
    /// Pedal \[%\].
    pedal_pct: "%", 1, Some(0x49), Nothing;
    /// Spark before top dead centre \[°\].
    spark_deg: "°", 1, Some(0x0E), Nothing;
    /// Measured lambda, bank 1; 0 while the sensor is cold.
    lambda: "", 3, Some(0x24), Nothing;
    /// Measured lambda, bank 2; 0 while the sensor is cold, or where there is no second bank.
    lambda_bank2: "", 3, Some(0x28), Bank2;
    /// Short-term trim, bank 1 \[%\].
    short_pct: "%", 1, Some(0x06), Nothing;
    /// Short-term trim, bank 2 \[%\].
    short_bank2_pct: "%", 1, Some(0x08), Bank2;
    /// Long-term trim in force, bank 1 \[%\].
    long_pct: "%", 1, Some(0x07), Nothing;
    /// Long-term trim in force, bank 2 \[%\].
    long_bank2_pct: "%", 1, Some(0x09), Bank2;
    /// Oxygen sensor after the catalyst of bank 1 \[V\].
    rear_oxygen_v: "V", 3, Some(0x15), Nothing;
    /// The same of bank 2 \[V\].
    rear_oxygen_bank2_v: "V", 3, Some(0x19), Bank2;
    /// Supply \[V\].
    supply_v: "V", 1, Some(0x42), Nothing;
    /// Road speed \[km/h\].
    road_km_h: "km/h", 0, Some(0x0D), Nothing;
    /// Idle air: base for temperature and gear \[g/s\].
    idle_base_g_s: "g/s", 2, None, Nothing;
    /// Idle air: feed-forward of loads \[g/s\].
    idle_load_g_s: "g/s", 2, None, Nothing;
    /// Idle air: learned part in force \[g/s\].
    idle_learned_g_s: "g/s", 2, None, Nothing;
    /// Idle air: proportional and integral part with dashpot \[g/s\].
    idle_pi_g_s: "g/s", 2, None, Nothing;
    /// Share of firings counted in the last 200 turns \[%\].
    misfire_pct: "%", 1, None, Nothing;
    /// Charging set-point commanded of the alternator, 0 for none \[V\].
    charge_set_v: "V", 2, None, Nothing;
    /// Its base value for the kind of battery that was entered, at 25 °C \[V\].
    charge_base_v: "V", 2, None, Nothing;
    /// What temperature adds to it \[V\].
    charge_cold_v: "V", 2, None, Nothing;
    /// What the age counted by the battery record adds \[V\].
    charge_age_v: "V", 2, None, Nothing;
    /// What holding, sparing or overrun make of it \[V\].
    charge_stage_v: "V", 2, None, Nothing;
    /// Battery current by the sensor at the earth lead, positive charges \[A\].
    battery_a: "A", 1, None, Nothing;
    /// Battery temperature by its sensor \[°C\].
    battery_c: "°C", 0, None, Nothing;
    /// Charge by the module's count \[%\].
    battery_charge_pct: "%", 1, None, Nothing;
    /// Field duty of the alternator as its regulator reports it \[%\].
    field_duty_pct: "%", 1, None, Nothing;
    /// Fall of the mean speed over the first six seconds of the last cylinder cut-out test \[rpm\].
    cut_out_drop_rpm: "rpm", 0, None, SensorOrTest;
    /// Oxygen that the catalyst of bank 1 stored in its last test, over that of a new one \[%\]; 0 without a test since
    /// codes were cleared.
    catalyst_pct: "%", 0, None, SensorOrTest;
    /// The same of bank 2 \[%\].
    catalyst_bank2_pct: "%", 0, None, Bank2;
    /// How full the tank is by its level sensor \[%\].
    fuel_level_pct: "%", 0, Some(0x2F), Nothing;
    /// Alcohol in the fuel by volume as the module believes it \[%\]; 0 where the car takes no blends.
    alcohol_pct: "%", 0, Some(0x52), Blends;
    /// Pressure in the tank above ambient by its sensor \[kPa\]; 0 where there is none.
    tank_kpa: "kPa", 2, None, SensorOrTest;
    /// Hole that the last leak test of the EVAP system found, as its diameter \[mm\]; 0 without a test since codes were cleared.
    vapour_leak_mm: "mm", 2, None, SensorOrTest;
    /// Advance wanted of the inlet camshaft from its rest position \[° of crank\]; 0 where there is no phaser.
    cam_wanted_deg: "°", 1, None, Phaser;
    /// Its actual advance by the learned rest position \[° of crank\].
    cam_advance_deg: "°", 1, None, Phaser;
    /// Learned rear trim of bank 1 \[%\], positive richer.
    rear_trim_pct: "%", 2, None, Nothing;
    /// The same of bank 2.
    rear_trim_bank2_pct: "%", 2, None, Bank2;
    /// Lift wanted of the exhaust-gas-recirculation valve \[mm\]; 0 where there is none.
    egr_wanted_mm: "mm", 2, None, Egr;
    /// Its actual lift by the learned closed stop \[mm\].
    egr_lift_mm: "mm", 2, None, Egr;
    /// Its position by the sensor alone \[mm\].
    egr_position_mm: "mm", 2, None, Egr;
}

impl LiveValues {
    /// The value of that name.
    pub fn named(&self, name: &str) -> Option<f64> {
        if let Some(live) = LIVE.iter().find(|l| l.id == name) {
            return Some((live.get)(self));
        }
        let k: usize = name.strip_prefix("misfires_")?.parse().ok()?;
        Some(f64::from(*self.misfires.get(k.checked_sub(1)?)?))
    }
}
