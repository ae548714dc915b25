//! The shelf: from a chosen part to the part itself, in its place.
//!
//! *Inside*: what "new", a wear, an error and a serial mean for every kind of part; every part's true values, and from
//! when each counts as a fault. *Outside*: when a hand may fit it ([`crate::bench::Bench::act`]), what the part then does
//! (plant), what a fault is worth (lesson).

use crate::bench::action::{PartChoice, PartKind};
use crate::bench::facts::{Hindrance, place};
use crate::bench::not_whole::NotWhole;
use crate::bench::view::PartTruth;
use crate::label::{BatteryKind, BatteryLabel};
use crate::plant::battery::Battery;
use crate::plant::parts::{
    AirMeter, Alternator, CamDrive, Coil, CrankSensor, EgrValve, Exhaust, Filter, Injector, Phaser, Plug,
    Pulley, Pump, PurgeValve, Regulator, Seal, Spread, Thermostat, ThrottleBody, VentValve, Wheel,
    serial_from_seed,
};
use crate::plant::{self, Hands, Parts};
use std::ops::RangeInclusive;

/// A car's first parts, new, by the seed.
pub(super) fn first_parts(p: &plant::Params, seed: u64) -> Parts {
    let counts = (p.layout.cylinders(), p.layout.bank_count());
    Parts::new(&p.spread, counts, (p.ignition.gap_mm, p.electrical.battery), |what| {
        serial_from_seed(seed, what)
    })
}

/// What is common to all parts of a car: the maker's spread, and the gap of a good plug \[mm\].
type Nominal<'a> = (&'a Spread, f64);

fn share(pct: Option<f64>) -> f64 {
    pct.unwrap_or(0.0) / 100.0
}

/// Puts a chosen part in its place. A module is the bench's own to exchange.
pub(super) fn put(
    parts: &mut Parts,
    hands: &mut Hands,
    nominal: Nominal<'_>,
    choice: &PartChoice,
    serial: impl Fn() -> String,
) -> Result<(), Hindrance> {
    let serial = choice.serial.clone().unwrap_or_else(serial);
    match choice.kind {
        PartKind::Module => Ok(()),
        PartKind::Sensor(sensor) => {
            let ill = &mut hands.ills[sensor.index()];
            *ill = ill.with_new_sensor();
            Ok(())
        }
        PartKind::ThrottleBody
        | PartKind::AirMeter
        | PartKind::Injector(_)
        | PartKind::FuelPump
        | PartKind::Regulator
        | PartKind::FuelFilter
        | PartKind::AirFilter
        | PartKind::PurgeValve
        | PartKind::FuelCap
        | PartKind::VapourLine
        | PartKind::VentValve
        | PartKind::EgrValve
        | PartKind::Exhaust(_) => put_air_and_fuel(parts, nominal, choice, serial),
        _ => put_engine_and_electrics(parts, nominal, choice, serial),
    }
}

/// Air, fuel and exhaust.
fn put_air_and_fuel(
    parts: &mut Parts,
    (spread, _): Nominal<'_>,
    choice: &PartChoice,
    serial: String,
) -> Result<(), Hindrance> {
    match choice.kind {
        PartKind::ThrottleBody => {
            let mut body = ThrottleBody::new(spread, serial);
            body.deposit_um = choice.deposit_um.unwrap_or(0.0);
            if let Some(deg) = choice.stop_offset_deg {
                body.stop_offset_deg = deg;
            }
            body.motor_wear = share(choice.wear_pct);
            body.track_wear = share(choice.track_wear_pct);
            body.other_variant = choice.other_variant;
            parts.throttle = body;
        }
        PartKind::AirMeter => {
            let mut meter = AirMeter::new(spread, serial);
            match (choice.error_pct, choice.error_high_pct) {
                (None, None) => {}
                (low, None) => meter.gain = 1.0 + share(low),
                (low, high) => {
                    meter.gain = 1.0;
                    (meter.error_at_3, meter.error_at_60) = (share(low), share(high));
                }
            }
            parts.air_meter = meter;
        }
        PartKind::Injector(k) => {
            let place = place(parts.injectors.len(), k)?;
            let mut injector = Injector::new(spread, serial);
            if let Some(pct) = choice.error_pct {
                injector.flow_gain = 1.0 + pct / 100.0;
            }
            injector.clogged = share(choice.wear_pct);
            injector.drip_mg_s = choice.drip_mg_s.unwrap_or(0.0);
            parts.injectors[place] = injector;
        }
        PartKind::FuelPump => {
            let mut pump = Pump::new(spread, serial);
            if let Some(pct) = choice.wear_pct {
                pump.share = 1.0 - pct / 100.0;
            }
            parts.pump = pump;
        }
        PartKind::Regulator => {
            let mut regulator = Regulator::new(spread, serial);
            if let Some(pct) = choice.error_pct {
                regulator.gain = 1.0 + pct / 100.0;
            }
            parts.regulator = regulator;
        }
        PartKind::FuelFilter => {
            parts.fuel_filter = Filter { blocked: share(choice.wear_pct), ..Filter::new(serial) }
        }
        PartKind::AirFilter => {
            parts.air_filter = Filter { blocked: share(choice.wear_pct), ..Filter::new(serial) }
        }
        PartKind::PurgeValve => {
            parts.purge_valve =
                PurgeValve { leak_mm2: choice.leak_mm2.unwrap_or(0.0), ..PurgeValve::new(serial) };
        }
        PartKind::FuelCap => {
            parts.fuel_cap = Seal { hole_mm: choice.hole_mm.unwrap_or(0.0), ..Seal::new(serial) }
        }
        PartKind::VapourLine => {
            parts.vapour_line = Seal { hole_mm: choice.hole_mm.unwrap_or(0.0), ..Seal::new(serial) }
        }
        PartKind::VentValve => {
            let (stays_open, stays_shut) = (choice.stays_open, choice.stays_shut);
            parts.vent_valve = VentValve { stays_open, stays_shut, ..VentValve::new(serial) };
        }
        PartKind::EgrValve => {
            let mut valve = EgrValve::new(spread, serial);
            valve.stop_mm = choice.stop_offset_mm.unwrap_or(valve.stop_mm);
            valve.soot_um = choice.soot_um.unwrap_or(0.0);
            valve.motor = 1.0 - share(choice.wear_pct);
            valve.blocked = share(choice.blocked_pct);
            valve.stuck_mm = choice.stuck_mm;
            parts.egr_valve = valve;
        }
        PartKind::Exhaust(b) => {
            let n = parts.exhausts.len();
            let Some(place) = usize::from(b).checked_sub(1).filter(|i| *i < n) else {
                return Err(Hindrance::NoBank { bank: b, of: n as u8 });
            };
            parts.exhausts[place] = Exhaust {
                blocked: share(choice.wear_pct),
                health: 1.0 - share(choice.aged_pct),
                joint_leak_mm2: choice.joint_leak_mm2.unwrap_or(0.0),
                ..Exhaust::new(serial)
            };
        }
        _ => {}
    }
    Ok(())
}

/// The rest.
fn put_engine_and_electrics(
    parts: &mut Parts,
    (spread, gap_mm): Nominal<'_>,
    choice: &PartChoice,
    serial: String,
) -> Result<(), Hindrance> {
    match choice.kind {
        PartKind::Wheel => {
            let mut wheel = Wheel::new(spread, serial);
            wheel.runout_mm = choice.runout_mm.unwrap_or(wheel.runout_mm);
            wheel.high_deg = choice.high_deg.unwrap_or(wheel.high_deg);
            if let Some(tooth) = choice.hit_tooth {
                wheel.hit = (tooth.saturating_sub(1), choice.hit_deg.unwrap_or(0.5));
            }
            parts.wheel = wheel;
        }
        PartKind::CrankSensor => {
            parts.crank_sensor = CrankSensor::on_bracket(spread, serial, choice.bent);
        }
        PartKind::Coil(k) => {
            let place = place(parts.coils.len(), k)?;
            parts.coils[place] = Coil { strength: 1.0 - share(choice.wear_pct), ..Coil::new(serial) };
        }
        PartKind::Plug(k) => {
            let place = place(parts.plugs.len(), k)?;
            parts.plugs[place] = Plug::new(serial, choice.gap_mm.unwrap_or(gap_mm));
        }
        PartKind::Valves(k) => {
            let place = place(parts.seals.len(), k)?;
            parts.seals[place].valves_mm2 = choice.leak_mm2.unwrap_or(0.0);
        }
        PartKind::Rings(k) => {
            let place = place(parts.seals.len(), k)?;
            parts.seals[place].rings_mm2 = choice.leak_mm2.unwrap_or(0.0);
        }
        PartKind::Pulley => {
            parts.pulley = Pulley { ripple_nm: choice.ripple_nm.unwrap_or(0.0), ..Pulley::new(serial) };
        }
        PartKind::CamDrive => {
            let teeth = choice.teeth_late.unwrap_or(0.0);
            parts.cam_drive = CamDrive {
                teeth_late: teeth.round().clamp(-2.0, 2.0) as i8,
                stretch_deg: choice.stretch_deg.unwrap_or(0.0),
                ..CamDrive::new(spread, serial)
            };
        }
        PartKind::CamPhaser => {
            let share = 1.0 - share(choice.wear_pct);
            parts.phaser = Phaser { share, stuck_deg: choice.stuck_deg, ..Phaser::new(serial) };
        }
        PartKind::Battery => {
            let own = parts.battery.label;
            let kind = choice.battery_type.unwrap_or(own.kind);
            let rated_ah = choice.rated_ah.unwrap_or(own.rated_ah);
            // what is common for its size and kind
            let by_size_a = rated_ah * if kind == BatteryKind::Agm { 10.3 } else { 9.0 };
            let same = kind == own.kind && rated_ah == own.rated_ah;
            let cold_a = choice.cold_a.unwrap_or(if same { own.cold_a } else { by_size_a });
            let new = Battery::new(spread, BatteryLabel { kind, rated_ah, cold_a }, serial);
            let mut new = new.aged(share(choice.wear_pct));
            // delivered at three quarters and more; common practice
            new.charge = choice.charge_pct.unwrap_or(85.0) / 100.0;
            new.acid_k = parts.battery.acid_k;
            parts.battery = new;
        }
        PartKind::Thermostat => {
            parts.thermostat = Thermostat { least_open: share(choice.wear_pct), ..Thermostat::new(serial) };
        }
        PartKind::Alternator => {
            parts.alternator = Alternator { share: 1.0 - share(choice.wear_pct), ..Alternator::new(serial) };
        }
        _ => {}
    }
    Ok(())
}

/// What use may take from a part before the part counts as worn; common practice where nothing else is said.
mod sound {
    /// Wear of a throttle's motor or track \[-\].
    pub const THROTTLE_WEAR: f64 = 0.1;
    /// Error that dirt gives a MAF sensor \[-\].
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
    /// A leak at a catalyst's flange that nothing notices \[mm²\].
    pub const JOINT_MM2: f64 = 0.1;
    /// Leak of a shut purge valve \[mm²\].
    pub const PURGE_MM2: f64 = 0.05;
    /// Hole in the EVAP system \[mm\]: the smallest leak that a rule asks any car to find (0.020 in, 13 CCR 1968.2 (e)(4),
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
    /// How far a battery's printed capacity may be from the car's own \[-\].
    pub const BATTERY_SIZE: f64 = 0.15;
    /// What is lost of a phaser's rate \[-\]; assumed.
    pub const PHASER: f64 = 0.4;
    /// Soot on the seat of an exhaust-gas-recirculation valve \[µm\]; assumed: with more it leaks at idle.
    pub const SOOT_UM: f64 = 80.0;
    /// Share of its motor's force that is lost, of its passage that is blocked \[-\]; assumed.
    pub const EGR: [f64; 2] = [0.4, 0.4];
}

/// A range that ends on neither side.
const ANY: RangeInclusive<f64> = f64::NEG_INFINITY..=f64::INFINITY;

fn at_most(high: f64) -> RangeInclusive<f64> {
    f64::NEG_INFINITY..=high
}
fn at_least(low: f64) -> RangeInclusive<f64> {
    low..=f64::INFINITY
}
fn within(off: f64) -> RangeInclusive<f64> {
    -off..=off
}
/// The maker's spread: draws are cut at two standard deviations, and some rounding.
fn spread(sigma: f64) -> f64 {
    2.0 * sigma + 1e-6
}
fn pct(share: f64) -> f64 {
    100.0 * share
}
fn flag(is: bool) -> f64 {
    f64::from(u8::from(is))
}

/// A part as it is: its own errors and wear, each beside the range in which it is sound.
#[derive(Clone)]
struct Told {
    truth: PartTruth,
    off: Option<NotWhole>,
}

impl Told {
    fn of(name: impl Into<String>, serial: &str) -> Self {
        let truth = PartTruth { name: name.into(), serial: serial.into(), ..Default::default() };
        Told { truth, off: None }
    }
    /// Its kind or size is not this car's.
    fn wrong_if(mut self, wrong: bool) -> Self {
        if wrong {
            self.off = Some(NotWhole::WrongPart { part: self.truth.name.clone() });
        }
        self
    }
    /// A value, and the range in which the part counts as sound; the first that is out of it is the one named.
    fn is(mut self, key: &str, x: f64, sound: RangeInclusive<f64>) -> Self {
        if !sound.contains(&x) && self.off.is_none() {
            self.off = Some(NotWhole::Part { part: self.truth.name.clone(), key: key.into(), is: x });
        }
        self.truth.is.insert(key.into(), x);
        self
    }
    /// The same for a value that is seldom anything but 0, and then not worth a word.
    fn if_any(self, key: &str, x: f64, sound: RangeInclusive<f64>) -> Self {
        if x == 0.0 { self } else { self.is(key, x, sound) }
    }
    fn word(mut self, key: &str, word: &str) -> Self {
        self.truth.marks.insert(key.into(), word.into());
        self
    }
}

/// Every part of a car as it is; what the car has not is not told.
pub(super) fn tell(parts: &Parts, p: &plant::Params) -> Vec<PartTruth> {
    let has = |told: &Told| match told.truth.name.as_str() {
        "air_meter" => p.sensors.air_meter_v.is_some(),
        "cam_phaser" => p.phaser.is_some(),
        "egr_valve" => p.egr.is_some(),
        _ => true,
    };
    every(parts, p).into_iter().filter(has).map(|told| told.truth).collect()
}

/// Every part that is not sound, by the first of its values that says so.
pub(super) fn not_sound(parts: &Parts, p: &plant::Params) -> Vec<NotWhole> {
    every(parts, p).into_iter().filter_map(|told| told.off).collect()
}

fn every(parts: &Parts, p: &plant::Params) -> Vec<Told> {
    let mut out = air_and_fuel(parts, &p.spread);
    out.extend(engine(parts, p.ignition.gap_mm));
    out.extend([phaser(parts), egr_valve(parts, &p.spread)]);
    out.extend(electrics(parts, p));
    out
}

fn phaser(parts: &Parts) -> Told {
    let phaser = &parts.phaser;
    let told = Told::of("cam_phaser", &phaser.serial);
    let told = match phaser.stuck_deg {
        // one that moves is stuck nowhere
        Some(deg) => told.is("stuck_deg", deg, at_most(-0.5)),
        None => told,
    };
    told.is("rate_pct", pct(phaser.share - 1.0), at_least(-pct(sound::PHASER)))
}

fn egr_valve(parts: &Parts, s: &Spread) -> Told {
    let valve = &parts.egr_valve;
    let told = Told::of("egr_valve", &valve.serial);
    let told = match valve.stuck_mm {
        Some(mm) => told.is("stuck_mm", mm, at_most(-0.5)),
        None => told,
    };
    let [motor, passage] = sound::EGR.map(pct);
    told.is("soot_um", valve.soot_um, at_most(sound::SOOT_UM))
        .is("stop_offset_mm", valve.stop_mm, within(spread(s.egr_stop_sigma_mm)))
        .is("motor_pct", pct(valve.motor - 1.0), at_least(-motor))
        .if_any("passage_blocked_pct", pct(valve.blocked), at_most(passage))
}

fn air_and_fuel(parts: &Parts, s: &Spread) -> Vec<Told> {
    let t = &parts.throttle;
    let worn = t.motor_wear > 0.0 || t.track_wear > 0.0;
    let mut throttle = Told::of("throttle_body", &t.serial)
        .wrong_if(t.other_variant)
        .if_any("variant", flag(t.other_variant), ANY)
        .is("deposit_um", t.deposit_um, ANY)
        .is("stop_offset_deg", t.stop_offset_deg, within(spread(s.stop_sigma_deg)))
        .is("bore_mm", t.bore_offset_mm, ANY);
    if worn {
        let most = || at_most(pct(sound::THROTTLE_WEAR));
        throttle = throttle.is("motor_wear_pct", pct(t.motor_wear), most()).is(
            "track_wear_pct",
            pct(t.track_wear),
            most(),
        );
    }
    let m = &parts.air_meter;
    let gain = pct(spread(s.air_meter_sigma));
    let mut meter = Told::of("air_meter", &m.serial).is("gain_pct", pct(m.gain - 1.0), within(gain));
    if m.error_at_3 != 0.0 || m.error_at_60 != 0.0 {
        let dirt = pct(sound::METER_DIRT);
        meter = meter.is("at_3_g_s_pct", pct(m.error_at_3), within(dirt)).is(
            "at_60_g_s_pct",
            pct(m.error_at_60),
            within(dirt),
        );
    }
    let mut out = vec![throttle, meter];
    let (flow, dead) = (pct(spread(s.injector_flow_sigma)), spread(s.injector_dead_sigma_us));
    for (c, i) in parts.injectors.iter().enumerate() {
        let injector = Told::of(format!("injector_{}", c + 1), &i.serial)
            .if_any("clogged_pct", pct(i.clogged), at_most(pct(sound::CLOGGED)))
            .if_any("drip_mg_s", i.drip_mg_s, at_most(sound::DRIP_MG_S))
            .is("flow_pct", pct(i.flow_gain - 1.0), within(flow))
            .is("dead_us", i.dead_offset_us, within(dead))
            .if_any("short_pct", pct(i.short_gain), ANY);
        out.push(match &i.code {
            Some(code) => injector.word("code", code),
            None => injector,
        });
    }
    out
}

fn engine(parts: &Parts, gap_mm: f64) -> Vec<Told> {
    let mut out = Vec::new();
    for (c, coil) in parts.coils.iter().enumerate() {
        let told = Told::of(format!("coil_{}", c + 1), &coil.serial);
        out.push(told.is("strength_pct", pct(coil.strength), at_least(pct(1.0 - sound::COIL))));
    }
    for (c, plug) in parts.plugs.iter().enumerate() {
        let sound = gap_mm - sound::GAP_MM..=gap_mm + sound::GAP_MM;
        out.push(Told::of(format!("plug_{}", c + 1), &plug.serial).is("gap_mm", plug.gap_mm, sound));
    }
    let [valves, rings] = sound::SEALS_MM2;
    for (c, seals) in parts.seals.iter().enumerate() {
        if *seals != Default::default() {
            let told = |what: &str| Told::of(format!("{what}_{}", c + 1), "");
            out.push(told("valves").is("valves_mm2", seals.valves_mm2, at_most(valves)));
            out.push(told("rings").is("rings_mm2", seals.rings_mm2, at_most(rings)));
        }
    }
    let w = &parts.wheel;
    let mut wheel = Told::of("flexplate", &w.serial);
    let (tooth, deg) = w.hit;
    if deg != 0.0 {
        wheel = wheel.is("hit_deg", deg, within(0.05)).is("hit_tooth", f64::from(tooth) + 1.0, ANY);
    }
    let wheel = wheel.is("runout_mm", w.runout_mm, at_most(sound::RUNOUT_MM)).is("high_deg", w.high_deg, ANY);
    let c = &parts.crank_sensor;
    let (s, cam) = (&parts.shaft, &parts.cam_drive);
    let ripple = at_most(sound::RIPPLE_NM);
    out.extend([
        wheel,
        Told::of("crank_sensor", &c.serial).is("sees_deg_mm", c.sees_deg_mm, ANY).if_any(
            "bent",
            flag(c.bent),
            at_most(0.5),
        ),
        Told::of("shaft", &s.serial).is("inertia_pct", pct(s.inertia_gain - 1.0), ANY).is(
            "masses_pct",
            pct(s.reciprocating_gain - 1.0),
            ANY,
        ),
        Told::of("pulley", &parts.pulley.serial).is("ripple_nm", parts.pulley.ripple_nm, ripple),
        Told::of("cam_drive", &cam.serial)
            .is("teeth_late", f64::from(cam.teeth_late), within(0.5))
            .if_any("stretch_deg", cam.stretch_deg, at_most(sound::STRETCH_DEG))
            .if_any("trigger_deg", cam.trigger_deg, ANY),
    ]);
    out
}

fn electrics(parts: &Parts, p: &plant::Params) -> Vec<Told> {
    let output = || at_least(-pct(sound::OUTPUT));
    let pressure = within(pct(spread(p.spread.regulator_sigma)));
    let [filter, exhaust] = sound::BLOCKED.map(pct);
    let (fuel, air) = (&parts.fuel_filter, &parts.air_filter);
    let (regulator, purge) = (&parts.regulator, &parts.purge_valve);
    let mut out = vec![
        Told::of("level_sensor", &parts.level_sensor.serial).is(
            "level_off_pct",
            parts.level_sensor.offset_pct,
            within(spread(p.spread.level_sigma_pct)),
        ),
        Told::of("fuel_pump", &parts.pump.serial).is("moves_pct", pct(parts.pump.share - 1.0), output()),
        Told::of("regulator", &regulator.serial).is("pressure_pct", pct(regulator.gain - 1.0), pressure),
        Told::of("fuel_filter", &fuel.serial).is("blocked_pct", pct(fuel.blocked), at_most(filter)),
        Told::of("air_filter", &air.serial).is("blocked_pct", pct(air.blocked), at_most(filter)),
        Told::of("purge_valve", &purge.serial).is("leak_mm2", purge.leak_mm2, at_most(sound::PURGE_MM2)),
    ];
    let (cap, line, vent) = (&parts.fuel_cap, &parts.vapour_line, &parts.vent_valve);
    for (name, seal) in [("fuel_cap", cap), ("vapour_line", line)] {
        if seal.hole_mm > 0.0 {
            out.push(Told::of(name, &seal.serial).is("hole_mm", seal.hole_mm, at_most(sound::HOLE_MM)));
        }
    }
    if vent.stays_open || vent.stays_shut {
        let told = Told::of("vent_valve", &vent.serial);
        let told = told.if_any("stays_open", flag(vent.stays_open), at_most(0.5));
        out.push(told.if_any("stays_shut", flag(vent.stays_shut), at_most(0.5)));
    }
    for (b, pipe) in parts.exhausts.iter().enumerate() {
        let told = Told::of(format!("exhaust_{}", b + 1), &pipe.serial);
        let told = told.is("blocked_pct", pct(pipe.blocked), at_most(exhaust));
        let told = told.if_any("joint_leak_mm2", pipe.joint_leak_mm2, at_most(sound::JOINT_MM2));
        let left = at_least(pct(sound::CATALYST));
        out.push(if pipe.health < 0.995 { told.is("catalyst_pct", pct(pipe.health), left) } else { told });
    }
    let (b, own) = (&parts.battery, p.electrical.battery);
    let size = (b.label.rated_ah / own.rated_ah - 1.0).abs();
    // what is left of its own capacity counts, not what a smaller one holds when new
    let worn = pct(1.0 - b.health()) > pct(sound::BATTERY);
    let holds = if worn { at_least(own.rated_ah) } else { ANY };
    let gives = at_least(pct(1.0 - sound::OUTPUT));
    out.extend([
        Told::of("battery", &b.serial)
            .wrong_if(b.label.kind != own.kind || size > sound::BATTERY_SIZE)
            .word("battery_type", b.label.kind.name())
            .is("rated_ah", b.label.rated_ah, ANY)
            .is("cold_a", b.label.cold_a, ANY)
            .is("holds_ah", b.capacity_ah(), holds)
            .is("resistance_mohm", 1e3 * b.resistance_ohm(), ANY)
            .is("charge_pct", pct(b.charged()), ANY)
            .is("water_lost_g", b.water_lost_g, ANY),
        Told::of("alternator", &parts.alternator.serial).is("gives_pct", pct(parts.alternator.share), gives),
        Told::of("thermostat", &parts.thermostat.serial).is(
            "opens_pct",
            pct(parts.thermostat.least_open),
            at_most(pct(sound::THERMOSTAT)),
        ),
    ]);
    out
}
