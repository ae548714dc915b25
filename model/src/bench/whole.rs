//! Whether the car is whole: everything that is still wrong with it, as facts.
//!
//! *Inside*: when a part is sound, what a learned value needs with the fitted parts, whether records and codes match
//! them. *Outside*: what that is worth (marks), sentences (`words/facts/lesson.rs`), when it is asked (session).
//!
//! This is truth: it looks at both halves, as [`Bench::truth`] does. An empty list means that nothing more has to be
//! done to this car, however it got there.
//!
//! **Checked by** `tests/bench/whole.rs`.

use crate::bench::Bench;
use crate::bench::action::{Connector, Ill, PartKind, Sensor};
use crate::ecm::codes::CODES;
use crate::ecm::memory::Name;
use crate::label;
use crate::link::Writer;
use crate::plant::Parts;
use crate::plant::fuel::blend;
use crate::plant::parts::{Spread, edges_deg};
use crate::plant::wires::Wire;
use serde::{Deserialize, Serialize};

/// Something about a car that is not as it should be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NotWhole {
    /// A part is worn, or outside the maker's spread.
    Part {
        /// Its name, for example `injector_2`.
        part: String,
        /// By which of its values, as [`crate::bench::view::PartTruth`] names them.
        key: String,
        /// That value.
        is: f64,
    },
    /// A part of another size or kind than this car has.
    WrongPart {
        /// Its name.
        part: String,
    },
    /// A sensor tells something wrong.
    Sensor {
        /// Its name in files.
        sensor: String,
    },
    /// A sensor's wire is faulty.
    Wire {
        /// The sensor's name in files.
        sensor: String,
    },
    /// A connector is off.
    Unplugged {
        /// Its name in files.
        connector: String,
    },
    /// Air leaks in behind the throttle.
    InletLeak {
        /// Effective area \[mm²\].
        mm2: f64,
    },
    /// The exhaust leaks ahead of the sensor.
    ExhaustLeak {
        /// Effective area \[mm²\].
        mm2: f64,
    },
    /// A test box still swallows sparks.
    Interrupter {
        /// Cylinder, from 1.
        cylinder: u8,
    },
    /// Something draws current for good.
    Accessory {
        /// How much \[A\].
        amps: f64,
    },
    /// The code that the module holds is not the one printed on this cylinder's injector, or it holds none.
    InjectorCode {
        /// Cylinder, from 1.
        cylinder: u8,
    },
    /// Type or capacity in the battery record are not those of the fitted battery.
    BatteryRecord,
    /// The battery record counts the age of another battery.
    BatteryAge,
    /// A learned value was erased, and nothing has been learned since.
    NotLearned {
        /// Its name.
        name: String,
    },
    /// A learned value is not what the fitted parts need.
    Learned {
        /// Its name.
        name: String,
        /// What the module holds.
        value: f64,
        /// What the parts need.
        needs: f64,
        /// Unit of both.
        unit: String,
    },
    /// A learned value is right, but what was last saved is not: it is lost if the power goes now.
    NotSaved {
        /// Its name.
        name: String,
    },
    /// A trouble code is pending, or lights the lamp.
    Code {
        /// Its number.
        code: String,
        /// It lights the lamp.
        lamp: bool,
    },
}

/// What a fact is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matter {
    /// Parts, wires, hoses, and what was entered for a body by hand.
    Car,
    /// What the module has learned, counted or was told to count by.
    Learned,
    /// Trouble codes.
    Codes,
}

impl NotWhole {
    /// What it is about.
    pub fn matter(&self) -> Matter {
        match self {
            NotWhole::Code { .. } => Matter::Codes,
            NotWhole::BatteryRecord
            | NotWhole::BatteryAge
            | NotWhole::NotLearned { .. }
            | NotWhole::Learned { .. }
            | NotWhole::NotSaved { .. } => Matter::Learned,
            _ => Matter::Car,
        }
    }
    /// Which thing it says something of: the same for two facts that differ in their numbers only.
    pub fn thing(&self) -> String {
        match self {
            NotWhole::Part { part, .. } | NotWhole::WrongPart { part } => format!("part.{part}"),
            NotWhole::Sensor { sensor } => format!("sensor.{sensor}"),
            NotWhole::Wire { sensor } => format!("wire.{sensor}"),
            NotWhole::Unplugged { connector } => format!("plug.{connector}"),
            NotWhole::InletLeak { .. } => "leak.inlet".into(),
            NotWhole::ExhaustLeak { .. } => "leak.exhaust".into(),
            NotWhole::Interrupter { cylinder } => format!("interrupter.{cylinder}"),
            NotWhole::Accessory { .. } => "accessory".into(),
            NotWhole::InjectorCode { cylinder } => format!("injector_code.{cylinder}"),
            NotWhole::BatteryRecord => "battery.record".into(),
            NotWhole::BatteryAge => "battery.age".into(),
            NotWhole::NotLearned { name } | NotWhole::Learned { name, .. } | NotWhole::NotSaved { name } => {
                format!("learned.{name}")
            }
            NotWhole::Code { code, .. } => format!("code.{code}"),
        }
    }
    /// It says that the part which stands in that place is not sound.
    pub fn is_of(&self, kind: PartKind) -> bool {
        let own = kind.which().map_or_else(|| kind.name().to_owned(), |w| format!("{}_{w}", kind.name()));
        match (self, kind) {
            (NotWhole::Sensor { sensor: ill }, PartKind::Sensor(sensor)) => ill == sensor.name(),
            (NotWhole::Part { part, .. } | NotWhole::WrongPart { part }, _) => *part == own,
            _ => false,
        }
    }
}

/// What use takes from a part before it counts as worn; common practice where nothing else is said.
mod sound {
    /// Wear of a throttle's motor or track \[-\].
    pub const THROTTLE_WEAR: f64 = 0.1;
    /// Error that dirt gives an air meter \[-\].
    pub const METER_DIRT: f64 = 0.03;
    /// Flow that deposit takes from an injector \[-\].
    pub const CLOGGED: f64 = 0.03;
    /// What drips from a shut injector \[mg/s\].
    pub const DRIP_MG_S: f64 = 0.02;
    /// What is lost of a pump's or an alternator's output \[-\].
    pub const OUTPUT: f64 = 0.15;
    /// Blocked share of a filter, of an exhaust \[-\].
    pub const BLOCKED: [f64; 2] = [0.4, 0.15];
    /// What a catalyst must have left of a new one's store \[-\]; assumed.
    pub const CATALYST: f64 = 0.35;
    /// Leak of a shut purge valve \[mm²\].
    pub const PURGE_MM2: f64 = 0.05;
    /// Hole in the vapour system \[mm\]: the smallest leak that a rule asks any car to find (0.020 in, 13 CCR 1968.2 (e)(4),
    /// from memory).
    pub const HOLE_MM: f64 = 0.5;
    /// Share that a shut thermostat opens \[-\].
    pub const THERMOSTAT: f64 = 0.02;
    /// Strength that a coil has lost \[-\].
    pub const COIL: f64 = 0.1;
    /// What a plug's gap may be off \[mm\].
    pub const GAP_MM: f64 = 0.35;
    /// Leak of shut valves, past the rings \[mm²\].
    pub const SEALS_MM2: [f64; 2] = [0.1, 0.1];
    /// Runout of a wheel that its table can still make good \[mm\].
    pub const RUNOUT_MM: f64 = 0.4;
    /// Stretch of a timing chain \[deg of crank\]; assumed, half a per cent of its length is some 4°.
    pub const STRETCH_DEG: f64 = 4.0;
    /// Torque that an untrue pulley gives \[N m\].
    pub const RIPPLE_NM: f64 = 1.0;
    /// Capacity that a battery has lost \[-\].
    pub const BATTERY: f64 = 0.4;
    /// What is lost of a phaser's rate \[-\]; assumed.
    pub const PHASER: f64 = 0.4;
    /// Soot on the seat of an exhaust-gas-recirculation valve \[µm\]; assumed: with more it leaks at idle.
    pub const SOOT_UM: f64 = 80.0;
    /// Share of its motor's force that is lost, of its passage that is blocked \[-\]; assumed.
    pub const EGR: [f64; 2] = [0.4, 0.4];
    /// A leak that nothing notices \[mm²\].
    pub const LEAK_MM2: f64 = 0.1;
    /// A current that nothing notices \[A\].
    pub const CURRENT_A: f64 = 0.03;
}

/// Largest part of the maker's spread: draws are cut at two standard deviations, and some rounding.
fn spread(sigma: f64) -> f64 {
    2.0 * sigma + 1e-6
}

/// Ambient pressure as learned may be off by so much: with more the module takes wrong air for right at idle; assumed \[kPa\].
const AMBIENT_KPA: f64 = 6.0;
/// How far the alcohol share may be from that at the injectors \[% by volume\]. What meter, injectors and pressure are off by is
/// taken for alcohol where the trims were reset: up to 5 % of fuel, at some 0.5 % of fuel for each per cent.
const ALCOHOL_PCT: f64 = 10.0;
/// How far a long-term gain may be from what the parts need \[%\]: a healthy car holds its trims within 5 %, and beyond
/// 10 % it is looked at; common practice.
const TRIM_PCT: f64 = 8.0;
/// The same of a long-term gain as it was saved, beside the one in use \[-\]: the module goes on moving it, so that it was
/// saved at some moment of its wandering. A technician looks at a saved trim from 10 % on; common practice.
const SAVED_TRIM: f64 = 10.0 / TRIM_PCT;
/// The same of a cylinder trim \[%\]: what a healthy engine's cylinders differ by; assumed.
const CYLINDER_PCT: f64 = 4.5;
/// How far learned idle air may be too little, over how far it may be too much \[-\]; assumed.
const IDLE_SHORT: f64 = 0.6;
/// How far an injector's code may be from its body: half a step of the printed code \[%, µs\].
const CODE: (f64, f64) = (0.3, 3.0);
/// Share of the misfire limit that an error of the wheel table may use up at the highest monitored speed \[-\];
/// assumed. Beyond it the module misses real misfires of one cylinder before it counts healthy firings of another.
const WHEEL_SHARE: f64 = 0.5;
/// How far the count of a battery may be ahead of it, as a share of a life.
const AGE: f64 = 0.1;

/// Facts about parts, as they come.
struct Parted(Vec<NotWhole>);

impl Parted {
    /// A value of a part that must lie between two others.
    fn within(&mut self, part: &str, key: &str, is: f64, low: f64, high: f64) {
        if !(low..=high).contains(&is) && !self.0.iter().any(|x| x.thing() == format!("part.{part}")) {
            self.0.push(NotWhole::Part { part: part.into(), key: key.into(), is });
        }
    }
    /// The same with nothing at the low end.
    fn at_most(&mut self, part: &str, key: &str, is: f64, high: f64) {
        self.within(part, key, is, f64::NEG_INFINITY, high);
    }
    fn wrong(&mut self, part: &str, wrong: bool) {
        if wrong {
            self.0.push(NotWhole::WrongPart { part: part.into() });
        }
    }
}

fn air_and_fuel(out: &mut Parted, parts: &Parts, s: &Spread) {
    let pct = |share: f64| 100.0 * share;
    let t = &parts.throttle;
    out.wrong("throttle_body", t.other_variant);
    let stop = spread(s.stop_sigma_deg);
    out.within("throttle_body", "stop_offset_deg", t.stop_offset_deg, -stop, stop);
    out.at_most("throttle_body", "motor_wear_pct", pct(t.motor_wear), pct(sound::THROTTLE_WEAR));
    out.at_most("throttle_body", "track_wear_pct", pct(t.track_wear), pct(sound::THROTTLE_WEAR));
    let m = &parts.air_meter;
    let gain = pct(spread(s.air_meter_sigma));
    out.within("air_meter", "gain_pct", pct(m.gain - 1.0), -gain, gain);
    for (key, error) in [("at_3_g_s_pct", m.error_at_3), ("at_60_g_s_pct", m.error_at_60)] {
        out.within("air_meter", key, pct(error), -pct(sound::METER_DIRT), pct(sound::METER_DIRT));
    }
    for (c, i) in parts.injectors.iter().enumerate() {
        let name = format!("injector_{}", c + 1);
        let (flow, dead) = (pct(spread(s.injector_flow_sigma)), spread(s.injector_dead_sigma_us));
        out.at_most(&name, "clogged_pct", pct(i.clogged), pct(sound::CLOGGED));
        out.at_most(&name, "drip_mg_s", i.drip_mg_s, sound::DRIP_MG_S);
        out.within(&name, "flow_pct", pct(i.flow_gain - 1.0), -flow, flow);
        out.within(&name, "dead_us", i.dead_offset_us, -dead, dead);
    }
    let pump = pct(parts.pump.share - 1.0);
    out.within("fuel_pump", "moves_pct", pump, -pct(sound::OUTPUT), f64::INFINITY);
    let reg = pct(spread(s.regulator_sigma));
    out.within("regulator", "pressure_pct", pct(parts.regulator.gain - 1.0), -reg, reg);
    let [filter, exhaust] = sound::BLOCKED;
    out.at_most("fuel_filter", "blocked_pct", pct(parts.fuel_filter.blocked), pct(filter));
    out.at_most("air_filter", "blocked_pct", pct(parts.air_filter.blocked), pct(filter));
    out.at_most("purge_valve", "leak_mm2", parts.purge_valve.leak_mm2, sound::PURGE_MM2);
    for (name, seal) in [("fuel_cap", &parts.fuel_cap), ("vapour_line", &parts.vapour_line)] {
        out.at_most(name, "hole_mm", seal.hole_mm, sound::HOLE_MM);
    }
    let vent = &parts.vent_valve;
    out.at_most("vent_valve", "stays_open", f64::from(u8::from(vent.stays_open)), 0.5);
    out.at_most("vent_valve", "stays_shut", f64::from(u8::from(vent.stays_shut)), 0.5);
    let valve = &parts.egr_valve;
    let [motor, passage] = sound::EGR;
    out.at_most("egr_valve", "stuck_mm", valve.stuck_mm.unwrap_or(-1.0), -0.5);
    out.at_most("egr_valve", "soot_um", valve.soot_um, sound::SOOT_UM);
    let stop = spread(s.egr_stop_sigma_mm);
    out.within("egr_valve", "stop_offset_mm", valve.stop_mm, -stop, stop);
    out.within("egr_valve", "motor_pct", pct(valve.motor - 1.0), -pct(motor), f64::INFINITY);
    out.at_most("egr_valve", "passage_blocked_pct", pct(valve.blocked), pct(passage));
    for (b, pipe) in parts.exhausts.iter().enumerate() {
        let name = format!("exhaust_{}", b + 1);
        out.at_most(&name, "blocked_pct", pct(pipe.blocked), pct(exhaust));
        out.within(&name, "catalyst_pct", pct(pipe.health), pct(sound::CATALYST), f64::INFINITY);
    }
    let opens = pct(parts.thermostat.least_open);
    out.at_most("thermostat", "opens_pct", opens, pct(sound::THERMOSTAT));
}

fn engine(out: &mut Parted, parts: &Parts, gap_mm: f64) {
    let pct = |share: f64| 100.0 * share;
    for (c, coil) in parts.coils.iter().enumerate() {
        let (name, least) = (format!("coil_{}", c + 1), pct(1.0 - sound::COIL));
        out.within(&name, "strength_pct", pct(coil.strength), least, f64::INFINITY);
    }
    for (c, plug) in parts.plugs.iter().enumerate() {
        let (name, off) = (format!("plug_{}", c + 1), sound::GAP_MM);
        out.within(&name, "gap_mm", plug.gap_mm, gap_mm - off, gap_mm + off);
    }
    for (c, seals) in parts.seals.iter().enumerate() {
        let [valves, rings] = sound::SEALS_MM2;
        out.at_most(&format!("valves_{}", c + 1), "valves_mm2", seals.valves_mm2, valves);
        out.at_most(&format!("rings_{}", c + 1), "rings_mm2", seals.rings_mm2, rings);
    }
    out.within("flexplate", "hit_deg", parts.wheel.hit.1, -0.05, 0.05);
    out.at_most("flexplate", "runout_mm", parts.wheel.runout_mm, sound::RUNOUT_MM);
    out.at_most("crank_sensor", "bent", f64::from(u8::from(parts.crank_sensor.bent)), 0.5);
    out.at_most("pulley", "ripple_nm", parts.pulley.ripple_nm, sound::RIPPLE_NM);
    out.within("cam_drive", "teeth_late", f64::from(parts.cam_drive.teeth_late), -0.5, 0.5);
    out.at_most("cam_drive", "stretch_deg", parts.cam_drive.stretch_deg, sound::STRETCH_DEG);
    // one that moves stands fast nowhere
    out.at_most("cam_phaser", "stuck_deg", parts.phaser.stuck_deg.unwrap_or(-1.0), -0.5);
    let least = -pct(sound::PHASER);
    out.within("cam_phaser", "rate_pct", pct(parts.phaser.share - 1.0), least, f64::INFINITY);
}

impl Bench {
    /// Everything that is not whole about the car; empty where nothing more has to be done to it. Truth.
    pub fn not_whole(&self) -> Vec<NotWhole> {
        let mut out = self.parts_not_sound();
        out.extend(self.hands_left());
        out.extend(self.records_astray());
        out.extend(self.learned_astray());
        for (code, number, _) in CODES {
            let c = self.ecm.s.codes.standing(*code);
            if c.pending || c.lamp {
                out.push(NotWhole::Code { code: (*number).into(), lamp: c.lamp });
            }
        }
        out
    }

    fn parts_not_sound(&self) -> Vec<NotWhole> {
        let (parts, p) = (&self.plant.s.parts, &self.car.plant);
        let mut out = Parted(Vec::new());
        air_and_fuel(&mut out, parts, &p.spread);
        engine(&mut out, parts, p.ignition.gap_mm);
        let (battery, own) = (&parts.battery, p.electrical.battery);
        let off = (battery.label.rated_ah / own.rated_ah - 1.0).abs();
        out.wrong("battery", battery.label.kind != own.kind || off > 0.15);
        let lost = 100.0 * (1.0 - battery.health());
        if lost > 100.0 * sound::BATTERY {
            out.within("battery", "holds_ah", battery.capacity_ah(), own.rated_ah, f64::INFINITY);
        }
        let gives = 100.0 * parts.alternator.share;
        out.within("alternator", "gives_pct", gives, 100.0 * (1.0 - sound::OUTPUT), f64::INFINITY);
        out.0
    }

    /// Wires, hoses, plugs, and what somebody fitted besides.
    fn hands_left(&self) -> Vec<NotWhole> {
        let h = &self.plant.s.hands;
        let mut out = Vec::new();
        for (sensor, name) in Sensor::ALL {
            let ill = h.ills[sensor.index()];
            let sensor = name.to_owned();
            if ill.wire != Wire::Sound {
                out.push(NotWhole::Wire { sensor: sensor.clone() });
            }
            if !(Ill { wire: Wire::Sound, ..ill }).sound() {
                out.push(NotWhole::Sensor { sensor });
            }
        }
        if h.leak_mm2 > sound::LEAK_MM2 {
            out.push(NotWhole::InletLeak { mm2: h.leak_mm2 });
        }
        if h.exhaust_leak_mm2 > sound::LEAK_MM2 {
            out.push(NotWhole::ExhaustLeak { mm2: h.exhaust_leak_mm2 });
        }
        let boxes = h.interrupted.iter().zip(1..).filter(|(share, _)| **share > 0.0);
        out.extend(boxes.map(|(_, cylinder)| NotWhole::Interrupter { cylinder }));
        let amps = h.past_sensor_a + h.accessory_a;
        if amps > sound::CURRENT_A {
            out.push(NotWhole::Accessory { amps });
        }
        let named = Connector::named(self.cylinders() as u8);
        let pulled = self.pulled();
        let off = named.into_iter().filter(|(_, c)| pulled.contains(c));
        out.extend(off.map(|(connector, _)| NotWhole::Unplugged { connector }));
        out
    }

    /// What was entered for a body by hand, against what is printed on the body.
    fn records_astray(&self) -> Vec<NotWhole> {
        let (parts, store) = (&self.plant.s.parts, &self.ecm.s.store);
        let mut out = Vec::new();
        if store.holds().coded {
            for (c, body) in (0_u8..).zip(&parts.injectors) {
                let (flow, dead) = (store.entry(Name::InjectorFlow(c)), store.entry(Name::InjectorDead(c)));
                let printed = body.code.as_deref().and_then(|code| label::read(code).ok());
                let same = flow.learned
                    && printed.is_some_and(|l| {
                        (l.flow_pct - flow.value).abs() <= CODE.0 && (l.dead_us - dead.value).abs() <= CODE.1
                    });
                if !same {
                    out.push(NotWhole::InjectorCode { cylinder: c + 1 });
                }
            }
        }
        let (record, battery) = (self.ecm.battery_record(), &parts.battery);
        let off = (record.rated_ah / battery.label.rated_ah - 1.0).abs();
        if record.kind != battery.label.kind || off > 0.1 {
            out.push(NotWhole::BatteryRecord);
        } else if record.passed_ah > battery.given_ah + AGE * record.worn_out_ah {
            out.push(NotWhole::BatteryAge);
        }
        out
    }

    /// What the fitted parts need a learned value to be, and how far it may be below and above; none where any value will
    /// do. Codes count as they are printed: where another is stored, that is a fact of its own.
    fn needs(&self, name: Name) -> Option<(f64, [f64; 2])> {
        let (parts, cal) = (&self.plant.s.parts, &self.car.ecm.s);
        let even = |needs: f64, off: f64| Some((needs, [off, off]));
        match name {
            // too much is held and learned away as far as ordinary learning reaches; with too little the engine dips
            Name::IdleAirLight => {
                let above = cal.idle.learn_gate[2];
                Some((self.idle_air_needed(&parts.throttle), [IDLE_SHORT * above, above]))
            }
            // learned anew at the next key-on: what matters is that the module's books lead to the right air
            Name::Ambient => even(1e-3 * self.plant.ambient().0, AMBIENT_KPA),
            Name::Alcohol => even(self.plant.s.fuel.alcohol_pct(), ALCOHOL_PCT),
            // as far as ordinary learning reaches
            Name::CamRest => {
                let reach = cal.phaser.as_ref().map_or(0.0, |c| c.ordinary[0]);
                even(self.plant.cam_rest_deg(), reach)
            }
            // too low a stop costs gas, too high a one leaves the valve open at idle
            Name::EgrStop => Some((self.plant.egr_stop_mm(), [0.12, 0.06])),
            Name::ClosedStop => {
                let is = cal.inputs.throttle_closed_deg + self.plant.stop_deg();
                even(is, cal.idle.stop_tolerance_deg)
            }
            Name::LongPart(b) | Name::LongHigh(b) => even(self.trim_needed_pct(b), TRIM_PCT),
            Name::LongIdle(b) => {
                // the idle cell holds air of its bank, not a share of it
                let air = cal.idle.base_g_s.at(90.0) / self.banks() as f64;
                even(0.01 * air * self.trim_needed_pct(b), 0.01 * air * TRIM_PCT)
            }
            Name::CylinderTrim(c) => {
                let all: Vec<f64> = (0..self.cylinders() as u8).map(|k| self.given(k)).collect();
                let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
                even(100.0 * (mean / all[usize::from(c)] - 1.0), CYLINDER_PCT)
            }
            Name::IdleAirLoaded | Name::InjectorFlow(_) | Name::InjectorDead(_) | Name::ShortPulse(_) => None,
        }
    }

    /// Fuel that a cylinder's injector gives over what its own code says \[-\].
    fn given(&self, cylinder: u8) -> f64 {
        let Some(i) = self.plant.s.parts.injectors.get(usize::from(cylinder)) else { return 1.0 };
        let printed = i.code.as_deref().filter(|_| self.ecm.s.store.holds().coded);
        let said = printed.and_then(|code| label::read(code).ok()).map_or(0.0, |l| 0.01 * l.flow_pct);
        i.flow_gain * (1.0 - i.clogged) / (1.0 + said)
    }

    /// Gain of fuel at which a bank runs at lambda 1 by what its parts are \[%\].
    fn trim_needed_pct(&self, bank: u8) -> f64 {
        let (parts, layout) = (&self.plant.s.parts, &self.car.plant.layout);
        let own: Vec<f64> = (0..self.cylinders() as u8)
            .filter(|c| layout.banks.get(usize::from(*c)).is_none_or(|b| *b == bank + 1))
            .map(|c| self.given(c))
            .collect();
        let gives = own.iter().sum::<f64>() / own.len().max(1) as f64;
        let metered = self.car.plant.sensors.air_meter_v.is_some();
        let meter = &parts.air_meter;
        let tells = if metered { meter.gain * (1.0 + meter.error_at_3) } else { 1.0 };
        // with direct injection the rail's own sensor makes good what the regulator is off by
        let direct = self.car.plant.fuel.direct.is_some();
        let presses = if direct { 1.0 } else { parts.regulator.gain.sqrt() };
        // a module that infers no share takes every fuel for petrol
        let fuel = &self.plant.s.fuel;
        let blended = self.ecm.s.store.holds().alcohol;
        let petrol = if blended { 1.0 } else { blend(0.0).afr / (fuel.heat.afr * fuel.flows) };
        100.0 * (petrol / (tells * gives * presses).max(0.1) - 1.0)
    }

    fn learned_astray(&self) -> Vec<NotWhole> {
        let store = &self.ecm.s.store;
        let mut out = Vec::new();
        for name in store.names() {
            let Some((needs, [below, above])) = self.needs(name) else { continue };
            let fits = |value: f64| (needs - below..=needs + above).contains(&value);
            let moves = matches!(name, Name::LongIdle(_) | Name::LongPart(_) | Name::LongHigh(_));
            let wide = if moves { SAVED_TRIM } else { 1.0 };
            let fits_saved = |value: f64| (needs - wide * below..=needs + wide * above).contains(&value);
            let (used, saved) = (store.entry(name), store.saved(name));
            // a driven car finds its trims by itself, from zero as from anywhere
            let erased = matches!(used.by, Writer::Reset | Writer::PowerCut | Writer::CodeClear);
            let must = match name {
                Name::ClosedStop | Name::CamRest | Name::EgrStop => true,
                Name::IdleAirLight => erased,
                _ => false,
            };
            let named = name.text();
            if must && !used.learned {
                out.push(NotWhole::NotLearned { name: named });
            } else if !fits(used.value) {
                let unit = name.unit().to_owned();
                out.push(NotWhole::Learned { name: named, value: used.value, needs, unit });
            } else if !fits_saved(saved.value) || (must && !saved.learned) {
                out.push(NotWhole::NotSaved { name: named });
            }
        }
        out.extend(self.wheel_astray());
        out
    }

    fn wheel_astray(&self) -> Option<NotWhole> {
        let (parts, store) = (&self.plant.s.parts, &self.ecm.s.store);
        let name = || "wheel_table".to_owned();
        let seen = edges_deg(&parts.wheel, &parts.crank_sensor, self.car.plant.crank.wheel_radius_mm);
        let is = self.ecm.window_errors_deg(&seen);
        let most_deg = WHEEL_SHARE * self.ecm.table_error_counted_deg();
        // stored and true error of the window that is furthest off, if two neighbouring windows differ by too much
        let off = |edges: &[f64]| -> Option<(f64, f64)> {
            let held = self.ecm.window_errors_deg(edges);
            let errors: Vec<f64> = held.iter().zip(&is).map(|(held, is)| held - is).collect();
            let before = errors.iter().skip(errors.len() - 1).chain(&errors);
            let over = errors.iter().zip(before).any(|(e, before)| (e - before).abs() > most_deg);
            let furthest = (0..errors.len()).max_by(|a, b| errors[*a].abs().total_cmp(&errors[*b].abs()))?;
            over.then_some((held[furthest], is[furthest]))
        };
        if !store.wheel.learned || store.wheel.suspect {
            return Some(NotWhole::NotLearned { name: name() });
        }
        if let Some((value, needs)) = off(&store.wheel.edges_deg) {
            return Some(NotWhole::Learned { name: name(), value, needs, unit: "°".into() });
        }
        let saved = store.saved_wheel();
        (!saved.learned || off(&saved.edges_deg).is_some()).then(|| NotWhole::NotSaved { name: name() })
    }
}
