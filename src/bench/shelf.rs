//! The shelf: from a chosen part to the part itself, in its place.
//!
//! *Inside*: what "new", a wear, an error and a serial mean for every kind of part. *Outside*: when a hand
//! may fit it ([`crate::bench::Bench::act`]), what the part then does (plant).

use crate::bench::action::{PartChoice, PartKind};
use crate::bench::view::PartTruth;
use crate::label::{BatteryKind, BatteryLabel};
use crate::plant::battery::Battery;
use crate::plant::parts::{
    AirMeter, Alternator, CamDrive, Coil, CrankSensor, Exhaust, Filter, Injector, Plug, Pulley, Pump,
    PurgeValve, Regulator, Spread, Thermostat, ThrottleBody, Wheel, serial_from_seed,
};
use crate::plant::{self, Hands, Parts};

/// A car's first parts, new, by the seed.
pub(super) fn first_parts(p: &plant::Params, seed: u64) -> Parts {
    let counts = (p.layout.cylinders(), p.layout.bank_count());
    Parts::new(&p.spread, counts, (p.ignition.gap_mm, p.electrical.battery), |what| {
        serial_from_seed(seed, what)
    })
}

/// The place of a cylinder's own part.
fn place(cylinders: usize, k: u8) -> Result<usize, String> {
    usize::from(k)
        .checked_sub(1)
        .filter(|i| *i < cylinders)
        .ok_or_else(|| format!("this engine has {cylinders} cylinders, no cylinder {k}"))
}

/// Puts a chosen part in its place. A module is the bench's own to exchange.
pub(super) fn put(
    parts: &mut Parts,
    hands: &mut Hands,
    (spread, gap_mm): (&Spread, f64),
    choice: &PartChoice,
    serial: impl Fn() -> String,
) -> Result<(), String> {
    let serial = choice.serial.clone().unwrap_or_else(serial);
    let share = |pct: Option<f64>| pct.unwrap_or(0.0) / 100.0;
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
        PartKind::Exhaust(b) => {
            let n = parts.exhausts.len();
            let Some(place) = usize::from(b).checked_sub(1).filter(|i| *i < n) else {
                let banks = if n == 1 { "one bank" } else { "two banks" };
                return Err(format!("this engine has {banks}, no bank {b}"));
            };
            parts.exhausts[place] =
                Exhaust { serial, blocked: share(choice.wear_pct), health: 1.0 - share(choice.aged_pct) };
        }
        PartKind::Thermostat => {
            parts.thermostat = Thermostat { serial, least_open: share(choice.wear_pct) };
        }
        PartKind::Sensor(sensor) => {
            let ill = &mut hands.ills[sensor.index()];
            *ill = ill.with_new_sensor();
        }
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
            parts.cam_drive = CamDrive { serial, teeth_late: teeth.round().clamp(-2.0, 2.0) as i8 };
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
        PartKind::Module => {}
    }
    Ok(())
}

/// Every part as it is, in words with numbers.
pub(super) fn tell(parts: &Parts) -> Vec<PartTruth> {
    let pct = |share: f64| 100.0 * share;
    let mut out = Vec::new();
    let mut add =
        |name: String, serial: &str, is: String| out.push(PartTruth { name, serial: serial.into(), is });
    let t = &parts.throttle;
    let mut is = format!(
        "deposit {:.1} µm, closed stop {:+.3}°, bore {:+.3} mm",
        t.deposit_um, t.stop_offset_deg, t.bore_offset_mm
    );
    if t.motor_wear > 0.0 || t.track_wear > 0.0 {
        is += &format!(", motor worn {:.0} %, track worn {:.0} %", pct(t.motor_wear), pct(t.track_wear));
    }
    if t.other_variant {
        is += ", the maker's other variant";
    }
    add("throttle_body".into(), &t.serial, is);
    let m = &parts.air_meter;
    let mut is = format!("gain {:+.2} %", pct(m.gain - 1.0));
    if m.error_at_3 != 0.0 || m.error_at_60 != 0.0 {
        is += &format!(
            ", besides {:+.1} % at 3 g/s and {:+.1} % at 60 g/s",
            pct(m.error_at_3),
            pct(m.error_at_60)
        );
    }
    add("air_meter".into(), &m.serial, is);
    for (c, i) in parts.injectors.iter().enumerate() {
        let mut is = format!("flow {:+.2} %, dead time {:+.0} µs", pct(i.flow_gain - 1.0), i.dead_offset_us);
        if i.short_gain != 0.0 {
            is += &format!(", short pulses {:+.1} %", pct(i.short_gain));
        }
        if let Some(code) = &i.code {
            is += &format!(", code {code}");
        }
        if i.clogged > 0.0 {
            is += &format!(", {:.0} % clogged", pct(i.clogged));
        }
        if i.drip_mg_s > 0.0 {
            is += &format!(", drips {:.1} mg/s", i.drip_mg_s);
        }
        add(format!("injector_{}", c + 1), &i.serial, is);
    }
    for (c, coil) in parts.coils.iter().enumerate() {
        add(format!("coil_{}", c + 1), &coil.serial, format!("{:.0} % of a good one", pct(coil.strength)));
    }
    for (c, plug) in parts.plugs.iter().enumerate() {
        add(format!("plug_{}", c + 1), &plug.serial, format!("gap {:.2} mm", plug.gap_mm));
    }
    for (c, seals) in parts.seals.iter().enumerate() {
        if *seals != Default::default() {
            let is = format!("valves leak {:.2} mm², rings {:.2} mm²", seals.valves_mm2, seals.rings_mm2);
            add(format!("seals_{}", c + 1), "", is);
        }
    }
    let w = &parts.wheel;
    let mut is = format!("{:.3} mm out of true, furthest at {:.0}°", w.runout_mm, w.high_deg);
    let (tooth, deg) = w.hit;
    if deg != 0.0 {
        is += &format!(", tooth {} off by {deg:+.2}°", tooth + 1);
    }
    add("flexplate".into(), &w.serial, is);
    let c = &parts.crank_sensor;
    let bracket = if c.bent { ", bracket bent" } else { "" };
    add("crank_sensor".into(), &c.serial, format!("sees {:.2}° a mm of gap{bracket}", c.sees_deg_mm));
    let s = &parts.shaft;
    let is = format!(
        "inertia {:+.1} %, moving masses {:+.1} %",
        pct(s.inertia_gain - 1.0),
        pct(s.reciprocating_gain - 1.0)
    );
    add("shaft".into(), &s.serial, is);
    add("pulley".into(), &parts.pulley.serial, format!("ripple {:.1} N·m", parts.pulley.ripple_nm));
    let late = format!("{} teeth late", parts.cam_drive.teeth_late);
    add("cam_drive".into(), &parts.cam_drive.serial, late);
    add("fuel_pump".into(), &parts.pump.serial, format!("moves {:+.1} %", pct(parts.pump.share - 1.0)));
    let held = format!("pressure {:+.2} %", pct(parts.regulator.gain - 1.0));
    add("regulator".into(), &parts.regulator.serial, held);
    for (name, filter) in [("fuel_filter", &parts.fuel_filter), ("air_filter", &parts.air_filter)] {
        add(name.into(), &filter.serial, format!("{:.0} % blocked", pct(filter.blocked)));
    }
    let leaks = format!("leaks {:.2} mm²", parts.purge_valve.leak_mm2);
    add("purge_valve".into(), &parts.purge_valve.serial, leaks);
    for (b, pipe) in parts.exhausts.iter().enumerate() {
        let name = format!("exhaust_{}", b + 1);
        let mut is = format!("{:.0} % blocked", pct(pipe.blocked));
        if pipe.health < 0.995 {
            is += &format!(", catalyst {:.0} % of a new one", pct(pipe.health));
        }
        add(name, &pipe.serial, is);
    }
    let b = &parts.battery;
    let is = format!(
        "{} {:.0} Ah {:.0} A, holds {:.1} Ah now, {:.1} mΩ, charged {:.0} %, {:.0} g of water gone",
        b.label.kind.name(),
        b.label.rated_ah,
        b.label.cold_a,
        b.capacity_ah(),
        1e3 * b.resistance_ohm(),
        pct(b.charged()),
        b.water_lost_g
    );
    add("battery".into(), &b.serial, is);
    let gives = format!("gives {:.0} % of a good one", pct(parts.alternator.share));
    add("alternator".into(), &parts.alternator.serial, gives);
    let open = format!("opens {:.0} % at least", pct(parts.thermostat.least_open));
    add("thermostat".into(), &parts.thermostat.serial, open);
    out
}
