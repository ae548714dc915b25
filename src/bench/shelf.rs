//! The shelf: from a chosen part to the part itself, in its place.
//!
//! *Inside*: what "new", a wear, an error and a serial mean for every kind of part. *Outside*: when a hand
//! may fit it ([`crate::bench::Bench::act`]), what the part then does (plant).

use crate::bench::action::{PartChoice, PartKind};
use crate::bench::view::PartTruth;
use crate::plant::parts::{
    AirMeter, Filter, Injector, Pump, PurgeValve, Regulator, Spread, Thermostat, ThrottleBody,
    serial_from_seed,
};
use crate::plant::{Hands, Parts};

/// A car's first parts, new, by the seed.
pub(super) fn first_parts(spread: &Spread, cylinders: usize, wheel_radius_mm: f64, seed: u64) -> Parts {
    Parts::new(spread, cylinders, wheel_radius_mm, |what| serial_from_seed(seed, what))
}

/// Puts a chosen part in its place. A module is the bench's own to exchange.
pub(super) fn put(
    parts: &mut Parts,
    hands: &mut Hands,
    spread: &Spread,
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
            let n = parts.injectors.len();
            let Some(place) = usize::from(k).checked_sub(1).filter(|i| *i < n) else {
                return Err(format!("this engine has {n} cylinders, no cylinder {k}"));
            };
            let mut injector = Injector::new(spread, serial);
            if let Some(pct) = choice.error_pct {
                injector.flow_gain = 1.0 + pct / 100.0;
            }
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
        PartKind::Thermostat => {
            parts.thermostat = Thermostat { serial, least_open: share(choice.wear_pct) };
        }
        PartKind::Sensor(sensor) => {
            let ill = &mut hands.ills[sensor.index()];
            *ill = ill.with_new_sensor();
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
        add(format!("injector_{}", c + 1), &i.serial, is);
    }
    add("wheel".into(), &parts.wheel.serial, "edges each with their own error".into());
    add("fuel_pump".into(), &parts.pump.serial, format!("moves {:+.1} %", pct(parts.pump.share - 1.0)));
    let held = format!("pressure {:+.2} %", pct(parts.regulator.gain - 1.0));
    add("regulator".into(), &parts.regulator.serial, held);
    for (name, filter) in [("fuel_filter", &parts.fuel_filter), ("air_filter", &parts.air_filter)] {
        add(name.into(), &filter.serial, format!("{:.0} % blocked", pct(filter.blocked)));
    }
    let leaks = format!("leaks {:.2} mm²", parts.purge_valve.leak_mm2);
    add("purge_valve".into(), &parts.purge_valve.serial, leaks);
    let open = format!("opens {:.0} % at least", pct(parts.thermostat.least_open));
    add("thermostat".into(), &parts.thermostat.serial, open);
    out
}
