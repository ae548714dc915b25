//! Values on the wire: J1979 against the published formulas, own identifiers against what the module tells.
//!
//! Formulas are those of SAE J1979-DA / ISO 15031-5, annex B, quoted from memory; they are written here a second time, the
//! other way round, so that a slip in one of the two shows.

use crate::bay::{act, ask, learned, stale, start, stop};
use crate::net_support::Bay;
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector};
use idlewright::bench::setup::Setup;
use idlewright::link::{DiagRequest, LIVE, Routine, Scan};
use idlewright::net::catalogue::{self, live_id};
use idlewright::net::pids::{PIDS, count, mask, parameter, two_bytes};
use idlewright::store;
use std::collections::BTreeSet;

const CARS: [&str; 3] = ["plover", "dunlin", "whimbrel"];

fn car(name: &str) -> Bench {
    let text = store::car_text(name, None).expect("a car");
    let mut b = Bench::standing(&Setup::healthy(&text, 4, 88.0)).expect("a bench");
    start(&mut b);
    b.advance_by(60.0);
    b
}

fn word(d: &[u8]) -> f64 {
    f64::from(u16::from_be_bytes([d[0], d[1]]))
}

/// A published formula, its resolution, and the value that the module has.
type Published = (u8, fn(&[u8]) -> f64, f64, fn(&Scan) -> f64);

const FORMULAS: &[Published] = &[
    (0x04, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| s.load_pct),
    (0x05, |d| f64::from(d[0]) - 40.0, 1.0, |s| s.live.coolant_c),
    (0x06, |d| (f64::from(d[0]) - 128.0) * 100.0 / 128.0, 100.0 / 128.0, |s| s.live.short_pct),
    (0x07, |d| (f64::from(d[0]) - 128.0) * 100.0 / 128.0, 100.0 / 128.0, |s| s.live.long_pct),
    (0x08, |d| (f64::from(d[0]) - 128.0) * 100.0 / 128.0, 100.0 / 128.0, |s| s.live.short_bank2_pct),
    (0x09, |d| (f64::from(d[0]) - 128.0) * 100.0 / 128.0, 100.0 / 128.0, |s| s.live.long_bank2_pct),
    (0x0B, |d| f64::from(d[0]), 1.0, |s| s.live.map_kpa),
    (0x0C, |d| word(d) / 4.0, 0.25, |s| s.live.engine_speed_rpm),
    (0x0D, |d| f64::from(d[0]), 1.0, |s| s.live.road_km_h),
    (0x0E, |d| f64::from(d[0]) / 2.0 - 64.0, 0.5, |s| s.live.spark_deg),
    (0x0F, |d| f64::from(d[0]) - 40.0, 1.0, |s| s.live.inlet_air_c),
    (0x10, |d| word(d) / 100.0, 0.01, |s| s.live.air_g_s),
    (0x11, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| s.throttle_pct),
    (0x15, |d| f64::from(d[0]) / 200.0, 0.005, |s| s.live.rear_oxygen_v),
    (0x19, |d| f64::from(d[0]) / 200.0, 0.005, |s| s.live.rear_oxygen_bank2_v),
    (0x1F, word, 1.0, |s| s.run_s),
    (0x23, |d| word(d) * 10.0, 10.0, |s| s.live.rail_kpa),
    (0x24, |d| word(d) * 2.0 / 65_536.0, 2.0 / 65_536.0, |s| s.live.lambda),
    (0x28, |d| word(d) * 2.0 / 65_536.0, 2.0 / 65_536.0, |s| s.live.lambda_bank2),
    (0x2C, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| 100.0 * s.live.egr_wanted_mm / 0.8),
    (
        0x2D,
        |d| (f64::from(d[0]) - 128.0) * 100.0 / 128.0,
        100.0 / 128.0,
        |s| {
            if s.live.egr_wanted_mm > 0.0 {
                100.0 * (s.live.egr_lift_mm / s.live.egr_wanted_mm - 1.0)
            } else {
                0.0
            }
        },
    ),
    (0x2E, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| s.live.purge_pct),
    (0x2F, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| s.live.fuel_level_pct),
    (0x33, |d| f64::from(d[0]), 1.0, |s| s.ambient_kpa),
    (0x42, |d| word(d) / 1000.0, 0.001, |s| s.live.supply_v),
    (0x44, |d| word(d) * 2.0 / 65_536.0, 2.0 / 65_536.0, |s| s.lambda_asked),
    (0x49, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| s.live.pedal_pct),
    (0x52, |d| f64::from(d[0]) * 100.0 / 255.0, 100.0 / 255.0, |s| s.live.alcohol_pct),
];

#[test]
fn source_parameters_read_back_by_the_published_formula() {
    for name in CARS {
        let mut bay = Bay::new(car(name));
        let s = bay.bench.scan();
        for (pid, formula, resolution, value) in FORMULAS {
            let Some(bytes) = parameter(&s, *pid) else { continue };
            let answer = bay.told(&[0x01, *pid]);
            assert_eq!(answer[..2], [0x41, *pid], "{name} {pid:02X}");
            assert_eq!(answer[2..], bytes[..], "{name} {pid:02X}");
            let (read, is) = (formula(&answer[2..]), value(&s));
            assert!((read - is).abs() <= 0.5 * resolution + 1e-9, "{name} {pid:02X}: {read} against {is}");
            // the same bytes by the identifier of J1979-2
            let answer = bay.told(&[0x22, 0xF4, *pid]);
            assert_eq!(answer, [&[0x62, 0xF4, *pid], &bytes[..]].concat(), "{name} {pid:02X}");
        }
    }
    // each parameter that is a number has its formula here
    let plain: BTreeSet<u8> = FORMULAS.iter().map(|f| f.0).collect();
    for p in PIDS.iter().filter(|p| !p.unit.is_empty()) {
        assert!(plain.contains(&p.pid), "{:02X} is not held against a formula", p.pid);
    }
}

#[test]
fn source_one_idle_in_bytes() {
    // 750 rpm, 35 kPa, 2.50 g/s, 14.2 V, lambda 1, 10°, 90 °C: worked by hand from the published formulas
    let coded = |value: f64, step: f64, zero: f64, bytes: usize| count(value, step, zero, bytes);
    assert_eq!(coded(750.0, 0.25, 0.0, 2), [0x0B, 0xB8]);
    assert_eq!(coded(35.0, 1.0, 0.0, 1), [0x23]);
    assert_eq!(coded(2.5, 0.01, 0.0, 2), [0x00, 0xFA]);
    assert_eq!(coded(14.2, 0.001, 0.0, 2), [0x37, 0x78]);
    assert_eq!(coded(1.0, 2.0 / 65_536.0, 0.0, 2), [0x80, 0x00]);
    assert_eq!(coded(10.0, 0.5, -64.0, 1), [0x94]);
    assert_eq!(coded(90.0, 1.0, -40.0, 1), [0x82]);
    // held at the ends, not wrapped round
    assert_eq!(coded(-100.0, 1.0, -40.0, 1), [0x00]);
    assert_eq!(coded(1e9, 1.0, -40.0, 1), [0xFF]);
}

#[test]
fn source_codes_in_two_bytes() {
    // SAE J2012: the letter in the top two bits
    for (code, bytes) in [
        ("P0171", [0x01, 0x71]),
        ("C0035", [0x40, 0x35]),
        ("B0001", [0x80, 0x01]),
        ("U0100", [0xC1, 0x00]),
        ("P219C", [0x21, 0x9C]),
    ] {
        assert_eq!(two_bytes(code), bytes, "{code}");
    }
}

#[test]
fn exact_masks_say_what_is_there() {
    assert_eq!(mask(&[0x01, 0x20, 0x21], 0x00), Some([0x80, 0, 0, 0x01]));
    assert_eq!(mask(&[0x01, 0x20, 0x21], 0x20), Some([0x80, 0, 0, 0]));
    assert_eq!(mask(&[0x01], 0x20), None);
    assert_eq!(mask(&[], 0x00), Some([0; 4]));
    for name in CARS {
        let s = car(name).scan();
        // what the masks promise is there, and nothing else
        let (mut promised, mut from) = (BTreeSet::new(), Some(0u8));
        while let Some(base) = from {
            let bits = u32::from_be_bytes(parameter(&s, base).expect("a mask").try_into().expect("four"));
            promised.extend((1..32).filter(|k| bits & (1 << (32 - k)) != 0).map(|k| base + k as u8));
            from = (bits & 1 != 0).then(|| base + 0x20);
        }
        for pid in 1..=0xFFu8 {
            let there = !pid.is_multiple_of(0x20) && parameter(&s, pid).is_some();
            assert_eq!(there, promised.contains(&pid), "{name} {pid:02X}");
        }
        assert_eq!(promised.contains(&0x08), name == "whimbrel");
        assert_eq!(promised.contains(&0x23), s.rail);
        assert_eq!(promised.contains(&0x10), s.metered);
        assert_eq!(promised.contains(&0x52), name == "whimbrel");
    }
}

#[test]
fn holds_own_identifiers_are_what_the_module_tells() {
    for name in CARS {
        let mut bay = Bay::new(car(name));
        let live = bay.bench.scan().live;
        for (k, l) in LIVE.iter().enumerate() {
            let id = live_id(k).to_be_bytes();
            let Some(answer) = bay.ask(&[0x22, id[0], id[1]]) else { panic!("{name} {}", l.id) };
            if answer[0] == 0x7F {
                assert!(
                    l.id.contains("bank2")
                        || ["rail_kpa", "alcohol_pct"].contains(&l.id)
                        || ["cam_", "egr_"].iter().any(|system| l.id.starts_with(system)),
                    "{name} {}: {answer:02X?}",
                    l.id
                );
                continue;
            }
            let read = f64::from(i32::from_be_bytes(answer[3..].try_into().expect("four bytes"))) / 1000.0;
            assert!((read - (l.get)(&live)).abs() < 0.000_51, "{name} {}: {read}", l.id);
        }
        let all = bay.bench.observe().learned;
        let mut seen = BTreeSet::new();
        for l in &all {
            let id = catalogue::learned_id(&l.name).unwrap_or_else(|| panic!("{} has no number", l.name));
            assert!(seen.insert(id), "{id:04X} twice");
            let [a, b] = id.to_be_bytes();
            let answer = bay.told(&[0x22, a, b]);
            assert_eq!(answer.len(), 3 + 18, "{name} {}: {answer:02X?}", l.name);
            let number = |at: usize| {
                f64::from(i32::from_be_bytes(answer[at..at + 4].try_into().expect("four bytes"))) / 1000.0
            };
            for (at, is) in [(3, l.value), (7, l.default), (11, l.low), (15, l.high)] {
                assert!((number(at) - is).abs() < 0.000_51, "{name} {}", l.name);
            }
            assert_eq!(answer[19], u8::from(l.learned));
        }
    }
}

#[test]
fn holds_identity_is_made_up_and_well_formed() {
    for name in CARS {
        let mut bay = Bay::new(car(name));
        let answer = bay.told(&[0x22, 0xF1, 0x90]);
        let vin = std::str::from_utf8(&answer[3..]).expect("text");
        assert_eq!(vin.len(), 17);
        assert!(vin.starts_with("0DW") && !vin.contains(['I', 'O', 'Q']), "{vin}");
        assert_eq!(bay.told(&[0x09, 0x02])[..], [&[0x49, 0x02, 0x01], vin.as_bytes()].concat());
        assert_eq!(bay.told(&[0x22, 0xF8, 0x02])[3..], *vin.as_bytes());
        assert_eq!(bay.told(&[0x09, 0x04]).len(), 3 + 16);
        assert_eq!(bay.told(&[0x09, 0x06]).len(), 3 + 4);
        assert_eq!(bay.told(&[0x09, 0x0A]).len(), 3 + 20);
        assert_eq!(bay.told(&[0x09, 0x00]), [0x49, 0x00, 0x54, 0x40, 0x00, 0x00]);
    }
}

#[test]
fn holds_codes_are_the_same_by_every_service() {
    let mut bay = Bay::new(stale());
    assert_eq!(bay.told(&[0x07]), [0x47, 1, 0x05, 0x07], "pending");
    assert_eq!(bay.told(&[0x03]), [0x43, 0], "not confirmed");
    assert_eq!(bay.told(&[0x0A]), [0x4A, 0], "nor permanent");
    let answer = bay.told(&[0x19, 0x02, 0x04]);
    assert_eq!(answer[..3], [0x59, 0x02, 0xFF]);
    assert_eq!(answer[3..6], [0x05, 0x07, 0x00]);
    // failed now and in this trip, pending, failed since the clear; tested, so that neither 4 nor 6 is set
    assert_eq!(answer[6], 0b0010_0111);
    assert_eq!(bay.told(&[0x19, 0x01, 0x04]), [0x59, 0x01, 0xFF, 0x00, 0x00, 0x01]);
    // the freeze frame: at the published scalings
    let frame = bay.told(&[0x02, 0x0C, 0x00, 0x02, 0x00]);
    assert_eq!(frame[..3], [0x42, 0x0C, 0x00]);
    assert!(word(&frame[3..]) / 4.0 > 920.0, "idled too fast: {frame:02X?}");
    assert_eq!(frame[5..], [0x02, 0x00, 0x05, 0x07]);
    let snapshot = bay.told(&[0x19, 0x04, 0x05, 0x07, 0x00, 0xFF]);
    assert_eq!(snapshot[..8], [0x59, 0x04, 0x05, 0x07, 0x00, 0x27, 0x01, 10]);
    let at = snapshot.windows(2).position(|w| w == [0xF4, 0x0C]).expect("engine speed");
    assert_eq!(snapshot[at + 2..at + 4], frame[3..5]);
    assert_eq!(bay.told(&[0x19, 0x06, 0x05, 0x07, 0x00, 0xFF]), [0x59, 0x06, 5, 7, 0, 0x27, 1, 0, 2, 0]);
    assert_eq!(bay.told(&[0x19, 0x03]), [0x59, 0x03, 0x05, 0x07, 0x00, 0x01]);
    // all that can be set: none of another car's
    let all = bay.told(&[0x19, 0x0A]);
    assert_eq!((all.len() - 3) % 4, 0);
    let numbers: BTreeSet<[u8; 2]> = all[3..].chunks(4).map(|c| [c[0], c[1]]).collect();
    assert!(numbers.contains(&[0x05, 0x07]) && !numbers.contains(&[0x01, 0x74]));
    // cleared by either service, learned values stay
    let before = learned(&bay.bench, "idle_air_light").value;
    assert_eq!(bay.told(&[0x14, 0xFF, 0xFF, 0xFF]), [0x54]);
    assert_eq!(bay.told(&[0x07]), [0x47, 0]);
    assert_eq!(bay.told(&[0x02, 0x02, 0x00]), [0x42, 0x02, 0x00, 0x00, 0x00]);
    assert!((learned(&bay.bench, "idle_air_light").value - before).abs() < 1e-12);
}

#[test]
fn holds_the_catalyst_result_is_told_with_its_limit() {
    for (name, banks) in [("plover", 1), ("whimbrel", 2)] {
        let mut bay = Bay::new(car(name));
        let mask = bay.told(&[0x06, 0x20]);
        assert_eq!(mask[..3], [0x46, 0x20, if banks > 1 { 0xC0 } else { 0x80 }], "{name}: {mask:02X?}");
        assert_eq!(bay.told(&[0x06, 0x21]), [0x46, 0x21, 0x80, 0x20, 0, 0, 0, 0, 0, 0], "no test yet");
        act(&mut bay.bench, Action::Hold { rpm: 2200.0, nm: 45.0 });
        bay.bench.advance_by(200.0);
        let answer = bay.told(&[0x06, 0x21]);
        let is_pct = bay.bench.ecm().live().catalyst_pct;
        assert!((word(&answer[4..]) / 2.56 - is_pct).abs() < 0.3, "{answer:02X?} {is_pct}");
        assert!((word(&answer[6..]) / 2.56 - 30.0).abs() < 0.3, "{answer:02X?}");
        assert_eq!(bay.told(&[0x22, 0xF6, 0x21])[3..], answer[2..]);
        if banks == 1 {
            assert_eq!(bay.refused(&[0x06, 0x22]), 0x12);
        }
    }
}

/// The EVAP system's leak test: identifiers of J1979-DA (39 cap off, 3B 0.040 in; from memory), readiness in bit 2 of C and D;
/// on a car without the test neither.
#[test]
fn holds_the_leak_test_is_told_with_its_limits() {
    let mut bay = Bay::new(car("whimbrel"));
    let mask = bay.told(&[0x06, 0x20]);
    assert!(mask[5] & 0b1000_0000 != 0, "39: {mask:02X?}");
    assert!(mask[5] & 0b0010_0000 != 0, "3B: {mask:02X?}");
    assert_eq!(bay.told(&[0x06, 0x3B]), [0x46, 0x3B, 0x82, 0x20, 0, 0, 0, 0, 0, 0], "no test yet");
    let bits = bay.told(&[0x01, 0x01]);
    assert_eq!((bits[4] & 0x04, bits[5] & 0x04), (0x04, 0x04), "there, not complete");
    ask(&mut bay.bench, DiagRequest::Start(Routine::TestVapour));
    bay.bench.advance_by(120.0);
    let answer = bay.told(&[0x06, 0x3B]);
    assert_eq!(word(&answer[8..]), 256.0, "{answer:02X?}");
    assert!(word(&answer[4..]) < 64.0, "a sound system: {answer:02X?}");
    let answer = bay.told(&[0x06, 0x39]);
    assert_eq!(answer[..4], [0x46, 0x39, 0x81, 0x20]);
    assert_eq!((word(&answer[4..]), word(&answer[6..])), (256.0, 256.0), "{answer:02X?}");
    let mut other = Bay::new(car("plover"));
    assert_eq!(other.refused(&[0x06, 0x3B]), 0x12);
    let bits = other.told(&[0x01, 0x01]);
    assert_eq!((bits[4] & 0x04, bits[5] & 0x04), (0, 0));
}

#[test]
fn holds_misfires_are_told_by_cylinder() {
    let mut b = car("plover");
    act(&mut b, Action::Connector(Connector::Coil(3), false));
    b.advance_by(20.0);
    let counts = b.scan().live.misfires;
    assert!(counts[2] > 20, "{counts:?}");
    let mut bay = Bay::new(b);
    assert_eq!(bay.told(&[0x06, 0xA0]), [0x46, 0xA0, 0x78, 0, 0, 0], "four cylinders from A2 on");
    assert_eq!(bay.refused(&[0x06, 0xA6]), 0x12);
    let answer = bay.told(&[0x06, 0xA4]);
    assert_eq!(answer[..4], [0x46, 0xA4, 0x0C, 0x24]);
    assert_eq!(word(&answer[4..]), f64::from(counts[2]));
    assert_eq!(bay.told(&[0x22, 0xF6, 0xA4])[3..], answer[2..]);
    let own = bay.told(&[0x22, 0x25, 0x03]);
    assert_eq!(u32::from_be_bytes(own[3..].try_into().expect("four bytes")), counts[2]);
}

#[test]
fn holds_readiness_is_what_the_module_tells() {
    let mut b = car("plover");
    let mut bay = Bay::new(b.clone());
    bay.told(&[0x04]);
    let answer = bay.told(&[0x01, 0x01]);
    assert_eq!(answer[2], 0, "no code, no lamp");
    for m in bay.bench.observe().readiness {
        let bit = |byte: usize, bit: u8| answer[2 + byte] & (1 << bit) != 0;
        let (there, open) = match m.name.as_str() {
            "misfire" => (bit(1, 0), bit(1, 4)),
            "fuel_system" => (bit(1, 1), bit(1, 5)),
            "components" => (bit(1, 2), bit(1, 6)),
            "oxygen_sensor" => (bit(2, 5), bit(3, 5)),
            "oxygen_sensor_heater" => (bit(2, 6), bit(3, 6)),
            "catalyst" => (bit(2, 0), bit(3, 0)),
            other => panic!("{other} has no place"),
        };
        assert!(there && open != m.complete, "{}: {answer:02X?}", m.name);
    }
    // asleep, nobody answers
    stop(&mut b);
    assert_eq!(Bay::new(b).ask(&[0x01, 0x0C]), None);
}

#[test]
fn holds_numbers_are_given_once_and_lie_where_a_maker_may_put_them() {
    let mut seen = BTreeSet::new();
    for r in catalogue::rows() {
        assert!(seen.insert((r.part == "routine", r.id.clone())), "{} twice", r.id);
        assert!(!r.says.is_empty() && !r.may.is_empty(), "{r:?}");
        let number = |text: &str| u16::from_str_radix(text, 16).expect("hexadecimal");
        match r.part {
            "live" | "learned" | "own" => {
                assert!((0x0100..=0xA5FF).contains(&number(&r.id[..4])), "{}", r.id)
            }
            "routine" => assert!((0x0200..=0xDFFF).contains(&number(&r.id)), "{}", r.id),
            _ => {}
        }
    }
}
