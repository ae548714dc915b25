//! Charging: how the module evaluates battery current, temperature and voltage, and what it commands the alternator.
//!
//! *Inside*: charge counting with the sensor on the earth lead, also while asleep; the reference that a long rest
//! gives; the set-point from temperature and from kind and age in the **battery record**; bulk, hold and demand-led
//! charging; whether stopping at lights would be allowed; whether the alternator gives what it is asked for. *Outside*:
//! which battery is fitted. The record is entered by a person; the module cannot detect that it is wrong, and no code is
//! standardised for that.
//!
//! **Set-point**, four terms that add up:
//! 1. base by kind at 25 °C;
//! 2. cold: a slope in volts per kelvin, kept within limits;
//! 3. age: `age_v` times the charge throughput since the record was entered, over that of a worn-out battery;
//! 4. stage: down to the holding voltage when the battery has accepted little current for long enough; with
//!    demand-led charging, down to a voltage that does not charge the battery, or up while the car drives the engine.
//!
//! **State** ([`State`]); the record itself is in `memory`.
//!
//! **Checked by** `tests/module/charging.rs`, the alternator in `circuits.rs` beside it.

use crate::ecm::Gate;
use crate::ecm::memory::BatteryEntry;
use crate::label::BatteryKind;
use crate::link::Gate as GateKind;
use crate::link::Writer;
use crate::num::Table;
use crate::signals::{SensorFrame, TICKS_PER_S};
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// Demand-led charging.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Demand {
    /// State of charge below which the battery is charged, and above which it is not \[-\].
    pub between: [f64; 2],
    /// Set-point while the battery is not charged \[V\]: below its open-circuit voltage.
    pub low_v: f64,
    /// Set-point while the car drives the engine \[V\].
    pub overrun_v: f64,
}

/// When stopping the engine at lights would be allowed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StopStart {
    /// Minimum state of charge by the module's count \[-\].
    pub least_charge: f64,
    /// Battery temperature from and to \[°C\].
    pub battery_c: [f64; 2],
    /// Coolant temperature from \[°C\].
    pub coolant_c: f64,
}

/// The `[module.charging]` section of a car's file. Pairs are for flooded cells and for AGM (absorbent glass mat).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Battery entered at the factory.
    pub kind: BatteryKind,
    /// Its capacity \[Ah\].
    pub rated_ah: f64,
    /// Set-point at 25 °C \[V\].
    pub set_v: [f64; 2],
    /// Its change with temperature \[V/K\].
    pub per_k: [f64; 2],
    /// Lower and upper limit of the temperature-corrected set-point \[V\].
    pub limits_v: [f64; 2],
    /// Voltage added for a battery that counts as worn out \[V\].
    pub age_v: f64,
    /// Charge throughput at which a battery counts as worn out, over its capacity.
    pub worn_out: [f64; 2],
    /// Current over capacity below which a battery counts as accepting little \[1/h\].
    pub little: f64,
    /// Time for which it must accept little before it is only held \[s\]; up to twice as long as it ages.
    pub little_s: f64,
    /// Holding set-point at 25 °C \[V\].
    pub hold_v: f64,
    /// Charge stored over charge supplied \[-\].
    pub efficiency: f64,
    /// Rest: asleep, with a current of at most \[A\] ...
    pub rest_a: f64,
    /// ... for at least \[s\]; the voltage then gives the state of charge ...
    pub rest_s: f64,
    /// ... through these tables: state of charge \[-\] over voltage \[V\], for flooded cells and for AGM.
    pub rest_book: [Table; 2],
    /// Battery current sensor: zero current at 2.5 V; slope \[V/A\].
    pub sense_v_a: f64,
    /// Battery temperature sensor \[V\] over \[°C\].
    pub battery_c_v: Table,
    /// Demand-led charging; without it the battery is kept full.
    #[serde(default)]
    pub demand: Option<Demand>,
    /// Stopping the engine at lights; absent if the car does not have it.
    #[serde(default)]
    pub stop_start: Option<StopStart>,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.charging";
        between(s, "rated_ah", self.rated_ah, 20.0, 200.0)?;
        for k in 0..2 {
            between(s, "set_v", self.set_v[k], 13.0, 15.5)?;
            between(s, "per_k", self.per_k[k], -0.05, 0.0)?;
            between(s, "worn_out", self.worn_out[k], 10.0, 2000.0)?;
            between(s, "limits_v", self.limits_v[k], 13.0, 16.0)?;
        }
        between(s, "limits_v", self.limits_v[1], self.limits_v[0], 16.0)?;
        between(s, "age_v", self.age_v, 0.0, 0.4)?;
        between(s, "little", self.little, 0.001, 0.2)?;
        between(s, "little_s", self.little_s, 1.0, 36_000.0)?;
        between(s, "hold_v", self.hold_v, 12.5, 15.0)?;
        between(s, "efficiency", self.efficiency, 0.5, 1.0)?;
        between(s, "rest_a", self.rest_a, 0.01, 5.0)?;
        between(s, "rest_s", self.rest_s, 60.0, 86_400.0)?;
        between(s, "sense_v_a", self.sense_v_a, 1e-4, 0.1)?;
        if let Some(d) = &self.demand {
            between(s, "demand.between", d.between[0], 0.3, 1.0)?;
            between(s, "demand.between", d.between[1], d.between[0], 1.0)?;
            between(s, "demand.low_v", d.low_v, 11.5, 13.5)?;
            between(s, "demand.overrun_v", d.overrun_v, 13.0, 15.5)?;
        }
        if let Some(x) = &self.stop_start {
            between(s, "stop_start.least_charge", x.least_charge, 0.2, 1.0)?;
            between(s, "stop_start.battery_c", x.battery_c[0], -40.0, 40.0)?;
            between(s, "stop_start.battery_c", x.battery_c[1], x.battery_c[0], 90.0)?;
            between(s, "stop_start.coolant_c", x.coolant_c, -40.0, 100.0)?;
        }
        Ok(())
    }
    /// The battery record entered at the factory.
    pub fn works(&self) -> BatteryEntry {
        BatteryEntry {
            kind: self.kind,
            rated_ah: self.rated_ah,
            passed_ah: 0.0,
            entered_s: 0.0,
            by: Writer::Factory,
        }
    }
    /// Charge throughput at which a battery counts as worn out \[Ah\].
    pub fn worn_out_ah(&self, record: &BatteryEntry) -> f64 {
        self.worn_out[record.kind as usize] * record.rated_ah
    }
}

/// Charging stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Stage {
    /// Charged at the full set-point.
    #[default]
    Charge,
    /// Full, judged by its current: held.
    Hold,
    /// Not charged: carries the loads, or the part that the alternator does not supply.
    Spare,
    /// Charged on overrun, by the car's own motion.
    Overrun,
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// State of charge by the module's count \[-\].
    pub charge: f64,
    /// A rest has given the count a reference since the battery was entered or power was lost.
    pub referenced: bool,
    /// Current from the sensor, positive when charging \[A\].
    pub battery_a: f64,
    /// Battery temperature from its sensor \[°C\].
    pub battery_c: f64,
    /// Time asleep with little current so far \[s\].
    pub rested_s: f64,
    /// Base, cold, age and stage of the set-point \[V\].
    pub terms_v: [f64; 4],
    /// Stage.
    pub stage: Stage,
    /// Time for which the battery has accepted little so far \[s\].
    little_s: f64,
    /// Under demand-led charging, the battery carries the loads.
    spares: bool,
    /// Field duty, mean over about a second \[-\].
    field: f64,
    /// Time for which the alternator has given all it can, and for which the charging lamp has had a reason \[s\].
    short_s: [f64; 2],
    counted_s: f64,
    awake: bool,
    /// Whether stopping at lights would be allowed, condition by condition.
    pub stop_start: Vec<Gate>,
}

impl Default for State {
    fn default() -> Self {
        Self {
            charge: 0.8,
            referenced: false,
            battery_a: 0.0,
            battery_c: 25.0,
            rested_s: 0.0,
            terms_v: [0.0; 4],
            stage: Stage::Charge,
            little_s: 0.0,
            spares: false,
            field: 0.0,
            short_s: [0.0; 2],
            counted_s: 0.0,
            awake: false,
            stop_start: Vec::with_capacity(4),
        }
    }
}

/// Mean field duty from which the alternator is taken to give all it can \[-\]: a regulator that is short of voltage still
/// moves its field.
const SHORT_FIELD: f64 = 0.9;
/// Current from the battery that an alternator at full field leaves to it when it gives less than it should \[A\]: without
/// a load that the module knows of, and with one; our own values. A sound one with every load on at idle leaves 10 to 25 A.
const SHORT_A: [f64; 2] = [1.0, 30.0];
/// How far below the commanded voltage the supply is where the regulator cannot hold it \[V\], and current into the battery
/// \[A\] below which the alternator then gives less than it should, without and with a load that the module knows of; our
/// own values. A sound one charges a battery at half charge with 18 to 35 A, and leaves 10 to 13 A to it with every load on.
const HELD_V: f64 = 0.3;
const LITTLE_A: [f64; 2] = [10.0, -15.0];
/// How long until idle control counts on less torque, and until the charging lamp is lit \[s\]; our own values.
const SHORT_S: [f64; 2] = [2.0, 10.0];
/// The lamp is lit below this voltage \[V\], or when less than this share of the alternator's torque is felt \[-\]; our own
/// values.
const LAMP_V: f64 = 12.0;
const LAMP_SHARE: f64 = 0.5;

/// Longest interval between two counts that is trusted \[s\]: during a longer one the power was off.
const LONGEST_COUNT_S: f64 = 120.0;

impl State {
    /// Set-point \[V\].
    pub fn set_v(&self) -> f64 {
        self.terms_v.iter().sum()
    }
    /// Time of the last count \[s\].
    pub fn counted_s(&self) -> f64 {
        self.counted_s
    }
    /// Called at each sample, also while asleep: the sensor counts by itself.
    pub fn count(&mut self, cal: &Cal, record: &mut BatteryEntry, f: &SensorFrame, awake: bool) {
        let now_s = f.tick as f64 / TICKS_PER_S;
        let dt = now_s - self.counted_s;
        self.counted_s = now_s;
        if dt > 0.0 && dt <= LONGEST_COUNT_S {
            self.count_for(cal, record, (f.battery_sense_v, f.battery_temp_v, f.supply_v), awake, dt);
        }
    }
    /// Counts an interval `dt` \[s\] with the given current, temperature and supply voltages at its pins \[V\].
    pub fn count_for(
        &mut self,
        cal: &Cal,
        record: &mut BatteryEntry,
        (sense_v, temp_v, supply_v): (f64, f64, f64),
        awake: bool,
        dt: f64,
    ) {
        self.battery_a = (sense_v - 2.5) / cal.sense_v_a;
        self.battery_c = cal.battery_c_v.inverse_at(temp_v);
        self.awake = awake;
        let ah = self.battery_a * dt / 3600.0;
        if ah < 0.0 {
            record.passed_ah -= ah;
        }
        let stored = if ah > 0.0 { cal.efficiency * ah } else { ah };
        self.charge = (self.charge + stored / record.rated_ah).clamp(0.0, 1.0);
        let rests = !awake && self.battery_a.abs() <= cal.rest_a;
        self.rested_s = if rests { self.rested_s + dt } else { 0.0 };
        if self.rested_s >= cal.rest_s {
            self.charge = cal.rest_book[record.kind as usize].at(supply_v);
            self.referenced = true;
        }
    }
    /// Power was lost: the count can no longer be trusted.
    pub fn power_cut(&mut self) {
        self.referenced = false;
        self.rested_s = 0.0;
    }
    /// A rest before counting began gave the state of charge \[-\].
    pub fn rested(&mut self, charge: f64) {
        (self.charge, self.referenced) = (charge, true);
    }
    /// Another battery was entered: only a rest will show its state of charge.
    pub fn entered(&mut self) {
        (self.charge, self.referenced, self.rested_s) = (0.8, false, 0.0);
    }
    /// The engine starts: charging starts over.
    pub fn starts(&mut self) {
        (self.stage, self.little_s, self.short_s) = (Stage::Charge, 0.0, [0.0; 2]);
    }
    /// At full field the alternator does not hold the commanded voltage and charges little, or leaves it to the battery to
    /// carry loads: it gives all it can, and less than it should.
    pub fn alternator_gives_all(&self) -> bool {
        self.short_s[0] >= SHORT_S[0]
    }
    /// The charging lamp is lit with the engine running.
    pub fn lamp(&self) -> bool {
        self.short_s[1] >= SHORT_S[1]
    }
    /// Every 100 ms with the engine running: whether the alternator gives what it is asked for. `felt` is the share of its
    /// torque that idle control counts on; `loaded`: a load is switched on that the module knows of.
    pub fn watch_alternator(&mut self, field_duty: f64, supply_v: f64, (felt, loaded): (f64, bool), dt: f64) {
        self.field += (field_duty - self.field) * crate::num::lag_share(dt, 1.0);
        let full = self.field >= SHORT_FIELD;
        let short = full && self.battery_a < -SHORT_A[usize::from(loaded)];
        let little = self.battery_a < LITTLE_A[usize::from(loaded)];
        let all = short || full && little && supply_v < self.set_v() - HELD_V;
        // a regulator whose alternator gives nothing at all reports no field
        let dead = field_duty <= 0.0 && supply_v < self.set_v() - 0.5;
        // one that still charges the battery, if little, is no reason
        let weak = all && felt < LAMP_SHARE && self.battery_a < -SHORT_A[0];
        let reason = dead || weak || short && supply_v < LAMP_V;
        for (k, on) in [all, reason].into_iter().enumerate() {
            let s = self.short_s[k] + if on { dt } else { -dt };
            self.short_s[k] = s.clamp(0.0, 2.0 * SHORT_S[k]);
        }
    }
    /// Every 100 ms with the engine running; `overrun`: the car drives the engine.
    pub fn slow(&mut self, cal: &Cal, record: &BatteryEntry, overrun: bool, coolant_c: f64, dt: f64) {
        let k = record.kind as usize;
        let age = (record.passed_ah / cal.worn_out_ah(record)).clamp(0.0, 1.0);
        let base = cal.set_v[k];
        let off_k = cal.per_k[k] * (self.battery_c - 25.0);
        let cold = off_k.clamp(cal.limits_v[0] - base, cal.limits_v[1] - base);
        let aged = cal.age_v * age;
        let little = self.battery_a >= 0.0 && self.battery_a <= cal.little * record.rated_ah;
        if self.stage == Stage::Charge {
            self.little_s = if little { self.little_s + dt } else { 0.0 };
        }
        self.stage = match &cal.demand {
            Some(_) if overrun => Stage::Overrun,
            // without a reference the battery is charged, to be on the safe side
            Some(d) if self.referenced => {
                let [low, high] = d.between;
                self.spares = if self.spares { self.charge > low } else { self.charge >= high };
                if self.spares { Stage::Spare } else { Stage::Charge }
            }
            Some(_) => Stage::Charge,
            None if self.little_s >= cal.little_s * (1.0 + age) => Stage::Hold,
            None => self.stage,
        };
        let wanted = match (&cal.demand, self.stage) {
            (Some(d), Stage::Spare) => d.low_v,
            (Some(d), Stage::Overrun) => d.overrun_v.max(base + cold + aged),
            (_, Stage::Hold) => cal.hold_v + cold,
            _ => base + cold + aged,
        };
        self.terms_v = [base, cold, aged, wanted - base - cold - aged];
        self.stop_start.clear();
        if let Some(x) = &cal.stop_start {
            let [from, to] = x.battery_c;
            let mild = (from..=to).contains(&self.battery_c);
            let least = if self.battery_c > to { to } else { from };
            self.stop_start.extend([
                Gate::measured(GateKind::Referenced, self.referenced, 0.0, cal.rest_s / 3600.0),
                Gate::measured(
                    GateKind::Charged,
                    self.charge >= x.least_charge,
                    100.0 * self.charge,
                    100.0 * x.least_charge,
                ),
                Gate::measured(GateKind::BatteryMild, mild, self.battery_c, least),
                Gate::measured(GateKind::Warm, coolant_c >= x.coolant_c, coolant_c, x.coolant_c),
            ]);
        }
    }
    /// Conditions that a reference waits for.
    pub fn gates(&self, cal: &Cal) -> [Gate; 3] {
        [
            Gate::switch(GateKind::Asleep, !self.awake),
            Gate::measured(
                GateKind::LittleCurrent,
                self.battery_a.abs() <= cal.rest_a,
                self.battery_a.abs(),
                cal.rest_a,
            ),
            Gate::measured(
                GateKind::Rested,
                self.rested_s >= cal.rest_s,
                self.rested_s / 3600.0,
                cal.rest_s / 3600.0,
            ),
        ]
    }
}
