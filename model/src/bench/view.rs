//! What can be seen: [`Observation`] (what a technician could know) and [`Truth`] (for grading, and for screens
//! under an open lid). They are different types, returned by different methods of the bench.

use crate::bench::Bench;
use crate::bench::action::Connector;
use crate::bench::facts::Alone;
pub use crate::bench::tester::{Course, Watched};
use crate::bench::tools::Reading;
use crate::ecm::fueling::Terms;
use crate::link::{CodeStatus, Failed, LearnedStatus, LiveValues, MonitorStatus, NoStop, WaitsFor};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The last 30 s of warm closed-pedal running, by the module's own sensors.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct IdleView {
    /// Target \[rpm\].
    pub target_rpm: f64,
    /// Mean of segment speeds \[rpm\].
    pub mean_rpm: f64,
    /// Their standard deviation \[rpm\].
    pub sd_rpm: f64,
    /// Manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Air flow, by the MAF sensor or calculated from manifold pressure \[g/s\].
    pub air_g_s: f64,
    /// Throttle above its stored stop \[deg\].
    pub throttle_deg: f64,
    /// Spark before top \[deg\].
    pub spark_deg: f64,
    /// Lambda by bank.
    pub lambda: Vec<f64>,
}

/// Trims of one bank.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct TrimView {
    /// Bank, from 1.
    pub bank: u8,
    /// Short-term \[%\].
    pub short_pct: f64,
    /// Long-term offset of the idle cell \[g/s\].
    pub long_idle_g_s: f64,
    /// The same over the idle air \[%\].
    pub long_idle_pct: f64,
    /// Long-term gain at part load \[%\].
    pub long_part_pct: f64,
    /// Long-term gain at high flow \[%\].
    pub long_high_pct: f64,
}

/// Live values that a technician reads over the link, and what else the module reports of itself.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct LiveView {
    /// The values.
    #[serde(flatten)]
    pub values: LiveValues,
    /// The engine runs.
    pub running: bool,
    /// How the requested fuel is made up; none while no fuel is requested.
    pub fuel: Option<Terms>,
    /// State of the last routine: none, running, done, failed.
    pub routine: String,
    /// What the routine waits for while it is under way; none where it needs nothing.
    pub routine_waits_for: Option<WaitsFor>,
    /// Why it failed.
    pub routine_because: Option<Failed>,
    /// Whether the engine may be stopped at lights: none (the car has no stop-start), allowed, refused.
    pub stop_start: String,
    /// The first condition that forbids it.
    pub stop_start_because: Option<NoStop>,
}

impl std::ops::Deref for LiveView {
    type Target = LiveValues;
    fn deref(&self) -> &LiveValues {
        &self.values
    }
}

impl std::ops::DerefMut for LiveView {
    fn deref_mut(&mut self) -> &mut LiveValues {
        &mut self.values
    }
}

/// What the module has counted for one cylinder.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct MisfireView {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// Misfires counted in this trip.
    pub count: u32,
}

/// One cylinder's window on the wheel.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct WindowTruth {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// Error of the window, as the sensor sees it \[deg\].
    pub is_deg: f64,
    /// Correction by the wheel table \[deg\].
    pub believed_deg: f64,
}

/// Lamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lamp {
    /// Off.
    #[default]
    Off,
    /// On.
    On,
    /// Blinking.
    Blink,
}

/// The engine warning lamp on the dashboard, as the module drives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DashLamp {
    /// Dark, as always with the key off or a module without supply.
    #[default]
    Off,
    /// Lit from key on until the engine has started, without a fault: a person sees that the lamp works.
    BulbCheck,
    /// Lit for a trouble code.
    On,
    /// Flashing.
    Blink,
}

/// What goes on while nobody touches the car: a rest, or a life.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SlowView {
    /// What it is doing.
    pub doing: Alone,
    /// Present day of a life, from 1, and number of its days.
    pub day: Option<(u32, u32)>,
    /// Share of it that is done \[-\].
    pub share: f64,
}

/// What a technician could know.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Observation {
    /// The module answers on the link. While it does not, live values are those of its last answer, not new
    /// measurements.
    #[serde(skip)]
    pub answers: bool,
    /// Live values.
    pub live: LiveView,
    /// Idle over the last 30 s, if there was one.
    pub idle: Option<IdleView>,
    /// What goes on while nobody touches the car, if anything does.
    pub slow: Option<SlowView>,
    /// Trims by bank.
    pub trims: Vec<TrimView>,
    /// Learned values.
    pub learned: Vec<LearnedStatus>,
    /// Codes that are stored.
    pub codes: Vec<CodeStatus>,
    /// What trouble codes and counted misfires require of the engine warning lamp, whether the key is on or off.
    pub lamp: Lamp,
    /// What the engine warning lamp on the dashboard shows now.
    pub dash_lamp: DashLamp,
    /// The charging lamp is lit, as with the key on and the engine standing.
    pub charge_lamp: bool,
    /// The coolant temperature warning lamp is lit.
    pub hot_lamp: bool,
    /// Misfires counted in this trip.
    pub misfires: Vec<MisfireView>,
    /// Which monitors have run to their end since codes were last cleared.
    pub readiness: Vec<MonitorStatus>,
    /// What the scan tool shows of the values it watches.
    pub watched: Vec<Watched>,
    /// The last reading of every workshop tool that was used.
    pub readings: Vec<Reading>,
    /// The wheel table, edge by edge from tooth 1 \[deg\]; empty where none was learned.
    pub wheel_table_deg: Vec<f64>,
}

/// Positions of the driver's controls, as the person in the car sees them.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct HandsView {
    /// Key on.
    pub key_on: bool,
    /// Key held at crank.
    pub cranking: bool,
    /// Pedal \[%\].
    pub pedal_pct: f64,
    /// A foot on the brake.
    pub brake: bool,
    /// Selector in drive.
    pub drive: bool,
    /// Compressor wanted.
    pub compressor: bool,
    /// Heated glass.
    pub heated_glass: bool,
    /// Lamps.
    pub lamps: bool,
    /// Steering turned.
    pub steering: bool,
    /// Cabin blower.
    pub blower: bool,
    /// Battery clamp on.
    pub battery: bool,
    /// Display of a battery charger, if one is connected.
    pub charger: Option<ChargerView>,
}

/// What a battery charger shows.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct ChargerView {
    /// Voltage at its clamps \[V\].
    pub v: f64,
    /// Current \[A\].
    pub a: f64,
}

impl Bench {
    /// Positions of the driver's controls.
    pub fn hands(&self) -> HandsView {
        let (h, e) = (&self.plant().s.hands, &self.plant().s.electrical);
        let charger = ChargerView { v: e.posts_v(h.plugs.battery), a: e.charger_a };
        HandsView {
            key_on: h.key_on,
            cranking: h.key_crank,
            pedal_pct: h.pedal_pct,
            brake: h.brake_pct > 0.0,
            drive: h.drive,
            compressor: h.compressor,
            heated_glass: h.heated_glass,
            lamps: h.lamps,
            steering: h.steering,
            blower: h.blower,
            battery: h.plugs.battery,
            charger: (h.charger.most_a > 0.0).then_some(charger),
        }
    }
}

/// True state of one cylinder.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct CylinderTruth {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// Lambda of its charge, mean of about 50 cycles.
    pub lambda: f64,
    /// Net mean effective pressure \[kPa\].
    pub imep_kpa: f64,
    /// Its coefficient of variation \[%\].
    pub imep_cov_pct: f64,
    /// Residual share of the last cycle \[%\].
    pub residual_pct: f64,
    /// Misfires since the start of the run.
    pub misfires: u64,
}

/// True state of the battery.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct BatteryTruth {
    /// How its acid is held.
    pub kind: String,
    /// Capacity printed on it \[Ah\].
    pub rated_ah: f64,
    /// What it can hold now \[Ah\].
    pub capacity_ah: f64,
    /// State of charge, relative to what it can hold now \[%\].
    pub charge_pct: f64,
    /// Voltage at rest \[V\].
    pub open_circuit_v: f64,
    /// Resistance \[mΩ\].
    pub resistance_mohm: f64,
    /// Gassing current \[A\].
    pub gassing_a: f64,
    /// Water lost as gas since it was new \[g\].
    pub water_lost_g: f64,
    /// Acid \[°C\].
    pub acid_c: f64,
    /// Capacity lost to corroded grids, to cycling, to sulphate and to dry plates \[%\].
    pub lost_pct: [f64; 4],
}

/// True state of the exhaust of one bank.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct BankTruth {
    /// Bank, from 1.
    pub bank: u8,
    /// Back pressure at its ports over ambient \[kPa\].
    pub back_kpa: f64,
    /// Gas through its pipe \[g/s\].
    pub flow_g_s: f64,
    /// Temperature of its catalyst's brick \[°C\].
    pub catalyst_c: f64,
    /// What remains of the catalyst's storage and activity, relative to a new one \[-\].
    pub catalyst_health: f64,
    /// How full its oxygen store is \[%\].
    pub catalyst_oxygen_pct: f64,
    /// Air that a leak at the catalyst's flange draws in \[g/s\].
    pub joint_leak_g_s: f64,
    /// Rear trim that makes good what its front oxygen sensor is off by \[%\].
    pub rear_trim_needed_pct: f64,
}

/// True state of one part.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct PartTruth {
    /// Which, for example `throttle_body` or `injector_2`.
    pub name: String,
    /// Serial.
    pub serial: String,
    /// Its own errors and wear, by their keys.
    pub is: BTreeMap<String, f64>,
    /// What is printed on it, by its key.
    pub marks: BTreeMap<String, String>,
}

/// The true values of the simulated car.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Truth {
    /// Cylinders.
    pub cylinders: Vec<CylinderTruth>,
    /// Deposit film on the fitted throttle body \[µm\].
    pub deposit_um: f64,
    /// Closed stop of the fitted throttle body as its sensor sees it \[deg\].
    pub closed_stop_deg: f64,
    /// Unmetered leak \[mm²\].
    pub unmetered_leak_mm2: f64,
    /// Flow through it \[g/s\].
    pub unmetered_leak_g_s: f64,
    /// Leak in the exhaust ahead of the sensor \[mm²\].
    pub exhaust_leak_mm2: f64,
    /// Exhausts by bank.
    pub exhausts: Vec<BankTruth>,
    /// MAF sensor gain at the present flow \[-\].
    pub air_meter_gain: f64,
    /// Fuel rail over ambient \[kPa\]; with direct injection the low-pressure one.
    pub rail_kpa: f64,
    /// High-pressure rail over ambient \[kPa\]; zero on port injection.
    pub high_rail_kpa: f64,
    /// How full the vapour canister is \[%\].
    pub canister_pct: f64,
    /// Pressure over the fuel in the tank, above ambient \[kPa\].
    pub tank_kpa: f64,
    /// Fuel in the tank \[°C\].
    pub tank_c: f64,
    /// Fuel in the tank \[L\].
    pub tank_l: f64,
    /// Alcohol in the tank, by volume \[%\].
    pub tank_alcohol_pct: f64,
    /// Alcohol in the fuel at the injectors, by volume \[%\].
    pub fuel_alcohol_pct: f64,
    /// How late the cam sensor's edges come with the phaser at rest \[deg of crank\]; 0 where there is none.
    pub cam_rest_deg: f64,
    /// Where the sensor of the exhaust-gas-recirculation valve stands with the valve pressed shut \[mm\]; 0 where there is none.
    pub egr_stop_mm: f64,
    /// Lift of its pintle over the metal seat \[mm\].
    pub egr_lift_mm: f64,
    /// Recirculated exhaust gas, of all gas that flows into the manifold \[%\].
    pub egr_pct: f64,
    /// Advance of the inlet camshaft from its rest \[deg of crank\].
    pub cam_advance_deg: f64,
    /// Flow through the purge valve, air and vapour \[g/s\].
    pub purge_g_s: f64,
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Battery.
    pub battery: BatteryTruth,
    /// Learned idle air that the fitted parts would need at the module's base \[g/s\].
    pub idle_air_needed_g_s: f64,
    /// The wheel's windows, by cylinder.
    pub windows: Vec<WindowTruth>,
    /// Each edge away from where it should be, as the sensor sees it, from tooth 1, mean zero \[deg\].
    pub wheel_deg: Vec<f64>,
    /// Largest difference between a window's error and what the table corrects \[deg\].
    pub wheel_off_deg: f64,
    /// Parts.
    pub parts: Vec<PartTruth>,
}

impl Truth {
    /// What the fitted parts need of a learned value, by its name and in its unit; none where the world has no such value.
    pub fn of_learned(&self, name: &str) -> Option<f64> {
        match name {
            "idle_air_light" => Some(self.idle_air_needed_g_s),
            "closed_stop" => Some(self.closed_stop_deg),
            "battery_charge" => Some(self.battery.charge_pct),
            "alcohol" => Some(self.fuel_alcohol_pct),
            "cam_rest" => Some(self.cam_rest_deg),
            "egr_stop" => Some(self.egr_stop_mm),
            _ => {
                let bank: usize = name.strip_prefix("rear_trim_bank")?.parse().ok()?;
                self.exhausts.get(bank.checked_sub(1)?).map(|e| e.rear_trim_needed_pct)
            }
        }
    }
}

impl Observation {
    /// Whether the charging lamp tells of a fault: with the engine standing it is lit on every car.
    pub fn charge_fault(&self) -> bool {
        self.live.running && self.charge_lamp
    }
}

/// Geometry of an engine, as far as it is drawn.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct EngineShape {
    /// Bore \[mm\].
    pub bore_mm: f64,
    /// Stroke \[mm\].
    pub stroke_mm: f64,
    /// Connecting rod between its pins \[mm\].
    pub rod_mm: f64,
    /// Compression ratio \[-\].
    pub compression_ratio: f64,
    /// Firing order by cylinder number.
    pub firing_order: Vec<u8>,
    /// Bank of each cylinder, from 1.
    pub banks: Vec<u8>,
    /// Firing top dead centre of each cylinder in the cycle \[deg\].
    pub offsets_deg: Vec<f64>,
    /// The injectors are mounted in the cylinders.
    pub direct: bool,
    /// There is a MAF sensor.
    pub metered: bool,
    /// There is a valve that recirculates exhaust gas.
    pub egr: bool,
    /// Exhaust valve opens, after firing top dead centre \[deg\].
    pub exhaust_opens_deg: f64,
    /// Inlet valve closes, after firing top dead centre \[deg\].
    pub inlet_shuts_deg: f64,
    /// Injection begins, after firing top dead centre \[deg\].
    pub inject_deg: f64,
    /// Bore of the throttle body \[mm\].
    pub throttle_bore_mm: f64,
    /// Angle of its plate on the stop, from the plane across the bore \[deg\].
    pub throttle_closed_deg: f64,
    /// Diameter of its shaft over the bore \[-\].
    pub throttle_shaft_ratio: f64,
    /// Area that stays open around a clean plate on its stop \[mm²\].
    pub throttle_seal_mm2: f64,
    /// Discharge coefficient of the gap \[-\].
    pub throttle_discharge: f64,
    /// First tooth after the gap, before cylinder 1's top dead centre \[deg\].
    pub first_tooth_btdc_deg: f64,
    /// Radius of the reluctor wheel \[mm\].
    pub wheel_radius_mm: f64,
}

/// Stroke of a cylinder in its cycle, by its crank angle alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stroke {
    /// From firing top dead centre to exhaust valve opening.
    Power,
    /// Exhaust valve open.
    Exhaust,
    /// Inlet valve open.
    Intake,
    /// Inlet valve closed, up to firing top dead centre.
    #[default]
    Compression,
}

impl Stroke {
    /// The stroke at an angle after firing top dead centre \[deg\].
    pub fn at(deg: f64, exhaust_opens_deg: f64) -> Self {
        match deg {
            d if d < exhaust_opens_deg => Stroke::Power,
            d if d < 360.0 => Stroke::Exhaust,
            d if d < 540.0 => Stroke::Intake,
            _ => Stroke::Compression,
        }
    }
}

/// Present state of one cylinder.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct CylinderView {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// Bank, from 1.
    pub bank: u8,
    /// Crank angle after its firing top dead centre, 0 up to 720 \[deg\].
    pub deg: f64,
    /// Distance of the piston below its top position \[mm\].
    pub drop_mm: f64,
    /// Lift of the exhaust valves, as a share of the maximum lift.
    pub exhaust_lift: f64,
    /// Lift of the inlet valves, as a share of the maximum lift.
    pub inlet_lift: f64,
    /// Stroke.
    pub stroke: Stroke,
    /// The module fires the coil, and its connector is plugged in; whether a spark jumps cannot be seen.
    pub sparks: bool,
    /// The module drives the injector, and its connector is plugged in.
    pub injects: bool,
    /// When its coil is fired, before its firing top dead centre \[deg\]; none where it is not fired.
    pub spark_btdc: Option<f64>,
    /// Duration of injection as a crank angle \[deg\]; zero where there is none.
    pub inject_for_deg: f64,
}

/// The engine as an eye, a factory drawing and a scope on the wires would show it: no truth that a lid hides.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct EngineView {
    /// Its geometry.
    #[serde(skip)]
    pub shape: EngineShape,
    /// Crank angle after cylinder 1's firing top dead centre, 0 up to 720 \[deg\].
    pub crank_deg: f64,
    /// The engine is turning.
    pub turning: bool,
    /// Cylinders.
    pub cylinders: Vec<CylinderView>,
    /// Angle of the throttle plate from the plane across the bore, as near as the eye can tell \[deg\].
    pub plate_deg: f64,
    /// Connectors that are pulled off.
    pub pulled: Vec<Connector>,
    /// Glow of the catalysts, by bank: 0 none, 1 bright, as near as the eye can tell.
    pub glow: Vec<f64>,
}

/// True state of the gas in one cylinder.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct GasTruth {
    /// Cylinder, from 1.
    pub cylinder: u8,
    /// Temperature \[K\].
    pub t_k: f64,
    /// Pressure \[kPa\].
    pub p_kpa: f64,
    /// Burned share of its fuel \[-\].
    pub burned: f64,
    /// Combustion products over all gas by mass \[-\].
    pub products: f64,
    /// Combustion is under way.
    pub burns: bool,
    /// How much later the valves move than in the factory drawing \[deg\].
    pub valves_late_deg: f64,
}
