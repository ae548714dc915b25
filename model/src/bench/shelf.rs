//! The shelf: from a chosen part to the part itself, in its place.
//!
//! *Inside*: what "new", a wear, an error and a serial mean for every kind of part. *Outside*: when a hand
//! may fit it ([`crate::bench::Bench::act`]), what the part then does (plant).

use crate::bench::action::{PartChoice, PartKind};
use crate::bench::facts::{Hindrance, place};
use crate::bench::has::Has;
use crate::bench::view::PartTruth;
use crate::label::{BatteryKind, BatteryLabel};
use crate::plant::battery::Battery;
use crate::plant::parts::{
    AirMeter, Alternator, CamDrive, Coil, CrankSensor, EgrValve, Exhaust, Filter, Injector, Phaser, Plug,
    Pulley, Pump, PurgeValve, Regulator, Seal, Spread, Thermostat, ThrottleBody, VentValve, Wheel,
    serial_from_seed,
};
use crate::plant::{self, Hands, Parts};

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
        | PartKind::Exhaust(_)
        | PartKind::Thermostat => put_air_and_fuel(parts, nominal, choice, serial),
        _ => put_engine_and_electrics(parts, nominal, choice, serial),
    }
}

/// Air, fuel, exhaust and coolant.
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
        PartKind::FuelFilter => parts.fuel_filter = Filter { serial, blocked: share(choice.wear_pct) },
        PartKind::AirFilter => parts.air_filter = Filter { serial, blocked: share(choice.wear_pct) },
        PartKind::PurgeValve => {
            parts.purge_valve = PurgeValve { serial, leak_mm2: choice.leak_mm2.unwrap_or(0.0) };
        }
        PartKind::FuelCap => parts.fuel_cap = Seal { serial, hole_mm: choice.hole_mm.unwrap_or(0.0) },
        PartKind::VapourLine => parts.vapour_line = Seal { serial, hole_mm: choice.hole_mm.unwrap_or(0.0) },
        PartKind::VentValve => {
            let (stays_open, stays_shut) = (choice.stays_open, choice.stays_shut);
            parts.vent_valve = VentValve { serial, stays_open, stays_shut };
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
            parts.exhausts[place] =
                Exhaust { serial, blocked: share(choice.wear_pct), health: 1.0 - share(choice.aged_pct) };
        }
        PartKind::Thermostat => {
            parts.thermostat = Thermostat { serial, least_open: share(choice.wear_pct) };
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
            parts.coils[place] = Coil { serial, strength: 1.0 - share(choice.wear_pct) };
        }
        PartKind::Plug(k) => {
            let place = place(parts.plugs.len(), k)?;
            parts.plugs[place] = Plug { serial, gap_mm: choice.gap_mm.unwrap_or(gap_mm) };
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
            parts.pulley = Pulley { serial, ripple_nm: choice.ripple_nm.unwrap_or(0.0) };
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
            let by_size_a = rated_ah * if kind == BatteryKind::Mat { 10.3 } else { 9.0 };
            let same = kind == own.kind && rated_ah == own.rated_ah;
            let cold_a = choice.cold_a.unwrap_or(if same { own.cold_a } else { by_size_a });
            let new = Battery::new(spread, BatteryLabel { kind, rated_ah, cold_a }, serial);
            let mut new = new.aged(share(choice.wear_pct));
            // delivered at three quarters and more; common practice
            new.charge = choice.charge_pct.unwrap_or(85.0) / 100.0;
            new.acid_k = parts.battery.acid_k;
            parts.battery = new;
        }
        PartKind::Alternator => {
            parts.alternator = Alternator { serial, share: 1.0 - share(choice.wear_pct) };
        }
        _ => {}
    }
    Ok(())
}

/// A part's own errors and wear, by their keys; what is nothing and seldom anything else is left out.
#[derive(Clone)]
struct Told(PartTruth);

impl Told {
    fn of(name: impl Into<String>, serial: &str) -> Self {
        Told(PartTruth { name: name.into(), serial: serial.into(), ..Default::default() })
    }
    fn is(mut self, key: &str, x: f64) -> Self {
        self.0.is.insert(key.into(), x);
        self
    }
    fn if_any(self, key: &str, x: f64) -> Self {
        if x == 0.0 { self } else { self.is(key, x) }
    }
    fn word(mut self, key: &str, word: &str) -> Self {
        self.0.marks.insert(key.into(), word.into());
        self
    }
}

/// Every part as it is.
pub(super) fn tell(parts: &Parts, has: Has) -> Vec<PartTruth> {
    let mut out = tell_air_and_fuel(parts);
    out.extend(tell_engine(parts));
    if has.phaser {
        let p = &parts.phaser;
        let told = Told::of("cam_phaser", &p.serial).is("rate_pct", pct(p.share - 1.0));
        out.push(p.stuck_deg.map_or_else(|| told.clone(), |deg| told.clone().is("stuck_deg", deg)));
    }
    if has.egr {
        let v = &parts.egr_valve;
        let told = Told::of("egr_valve", &v.serial)
            .is("stop_offset_mm", v.stop_mm)
            .is("soot_um", v.soot_um)
            .is("motor_pct", pct(v.motor - 1.0))
            .if_any("passage_blocked_pct", pct(v.blocked));
        out.push(v.stuck_mm.map_or_else(|| told.clone(), |mm| told.clone().is("stuck_mm", mm)));
    }
    out.extend(tell_electrics(parts));
    out.into_iter().map(|told| told.0).collect()
}

fn pct(share: f64) -> f64 {
    100.0 * share
}

fn tell_air_and_fuel(parts: &Parts) -> Vec<Told> {
    let t = &parts.throttle;
    let worn = t.motor_wear > 0.0 || t.track_wear > 0.0;
    let mut throttle = Told::of("throttle_body", &t.serial)
        .is("deposit_um", t.deposit_um)
        .is("stop_offset_deg", t.stop_offset_deg)
        .is("bore_mm", t.bore_offset_mm);
    if worn {
        throttle = throttle.is("motor_wear_pct", pct(t.motor_wear)).is("track_wear_pct", pct(t.track_wear));
    }
    let m = &parts.air_meter;
    let mut meter = Told::of("air_meter", &m.serial).is("gain_pct", pct(m.gain - 1.0));
    if m.error_at_3 != 0.0 || m.error_at_60 != 0.0 {
        meter = meter.is("at_3_g_s_pct", pct(m.error_at_3)).is("at_60_g_s_pct", pct(m.error_at_60));
    }
    let mut out = vec![throttle.if_any("variant", f64::from(u8::from(t.other_variant))), meter];
    for (c, i) in parts.injectors.iter().enumerate() {
        let injector = Told::of(format!("injector_{}", c + 1), &i.serial)
            .is("flow_pct", pct(i.flow_gain - 1.0))
            .is("dead_us", i.dead_offset_us)
            .if_any("short_pct", pct(i.short_gain))
            .if_any("clogged_pct", pct(i.clogged))
            .if_any("drip_mg_s", i.drip_mg_s);
        out.push(match &i.code {
            Some(code) => injector.word("code", code),
            None => injector,
        });
    }
    out
}

fn tell_engine(parts: &Parts) -> Vec<Told> {
    let mut out = Vec::new();
    for (c, coil) in parts.coils.iter().enumerate() {
        out.push(Told::of(format!("coil_{}", c + 1), &coil.serial).is("strength_pct", pct(coil.strength)));
    }
    for (c, plug) in parts.plugs.iter().enumerate() {
        out.push(Told::of(format!("plug_{}", c + 1), &plug.serial).is("gap_mm", plug.gap_mm));
    }
    for (c, seals) in parts.seals.iter().enumerate() {
        if *seals != Default::default() {
            let told = Told::of(format!("seals_{}", c + 1), "");
            out.push(told.is("valves_mm2", seals.valves_mm2).is("rings_mm2", seals.rings_mm2));
        }
    }
    let w = &parts.wheel;
    let mut wheel = Told::of("flexplate", &w.serial).is("runout_mm", w.runout_mm).is("high_deg", w.high_deg);
    let (tooth, deg) = w.hit;
    if deg != 0.0 {
        wheel = wheel.is("hit_tooth", f64::from(tooth) + 1.0).is("hit_deg", deg);
    }
    let c = &parts.crank_sensor;
    let sensor = Told::of("crank_sensor", &c.serial).is("sees_deg_mm", c.sees_deg_mm);
    let s = &parts.shaft;
    out.extend([
        wheel,
        sensor.if_any("bent", f64::from(u8::from(c.bent))),
        Told::of("shaft", &s.serial)
            .is("inertia_pct", pct(s.inertia_gain - 1.0))
            .is("masses_pct", pct(s.reciprocating_gain - 1.0)),
        Told::of("pulley", &parts.pulley.serial).is("ripple_nm", parts.pulley.ripple_nm),
        Told::of("cam_drive", &parts.cam_drive.serial)
            .is("teeth_late", f64::from(parts.cam_drive.teeth_late))
            .if_any("stretch_deg", parts.cam_drive.stretch_deg)
            .if_any("trigger_deg", parts.cam_drive.trigger_deg),
    ]);
    out
}

fn tell_electrics(parts: &Parts) -> Vec<Told> {
    let mut out = vec![
        Told::of("fuel_pump", &parts.pump.serial).is("moves_pct", pct(parts.pump.share - 1.0)),
        Told::of("regulator", &parts.regulator.serial).is("pressure_pct", pct(parts.regulator.gain - 1.0)),
        Told::of("fuel_filter", &parts.fuel_filter.serial).is("blocked_pct", pct(parts.fuel_filter.blocked)),
        Told::of("air_filter", &parts.air_filter.serial).is("blocked_pct", pct(parts.air_filter.blocked)),
        Told::of("purge_valve", &parts.purge_valve.serial).is("leak_mm2", parts.purge_valve.leak_mm2),
    ];
    let (cap, line, vent) = (&parts.fuel_cap, &parts.vapour_line, &parts.vent_valve);
    for (name, seal) in [("fuel_cap", cap), ("vapour_line", line)] {
        if seal.hole_mm > 0.0 {
            out.push(Told::of(name, &seal.serial).is("hole_mm", seal.hole_mm));
        }
    }
    if vent.stays_open || vent.stays_shut {
        let told = Told::of("vent_valve", &vent.serial);
        let told = told.if_any("stays_open", f64::from(u8::from(vent.stays_open)));
        out.push(told.if_any("stays_shut", f64::from(u8::from(vent.stays_shut))));
    }
    for (b, pipe) in parts.exhausts.iter().enumerate() {
        let told = Told::of(format!("exhaust_{}", b + 1), &pipe.serial).is("blocked_pct", pct(pipe.blocked));
        out.push(if pipe.health < 0.995 { told.is("catalyst_pct", pct(pipe.health)) } else { told });
    }
    let b = &parts.battery;
    out.extend([
        Told::of("battery", &b.serial)
            .word("battery_type", b.label.kind.name())
            .is("rated_ah", b.label.rated_ah)
            .is("cold_a", b.label.cold_a)
            .is("holds_ah", b.capacity_ah())
            .is("resistance_mohm", 1e3 * b.resistance_ohm())
            .is("charge_pct", pct(b.charged()))
            .is("water_lost_g", b.water_lost_g),
        Told::of("alternator", &parts.alternator.serial).is("gives_pct", pct(parts.alternator.share)),
        Told::of("thermostat", &parts.thermostat.serial).is("opens_pct", pct(parts.thermostat.least_open)),
    ]);
    out
}
