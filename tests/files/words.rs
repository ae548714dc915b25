//! The words room: messages of a language, their fallback, the pseudo-language, numbers.

use crate::bay::CARS;
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Key, Load, PartChoice, PartKind};
use idlewright::bench::pattern;
use idlewright::bench::setup::Setup;
use idlewright::bench::tools::{INSTRUMENTS, Lead, Look, Point};
use idlewright::bench::trace::COLUMNS;
use idlewright::catalogue::cautions::Caution;
use idlewright::catalogue::parts::TRUE;
use idlewright::ecm::codes::{CODES, MONITORS};
use idlewright::label::BatteryKind;
use idlewright::lesson::deeds;
use idlewright::link::{Group, LiveValues};
use idlewright::plant::wires::Sensor;
use idlewright::session::Prices;
use idlewright::words::numbers::{UNITS, Units, clock, measured, number, show_in, signed, signed_measured};
use idlewright::words::{Error, Words, message_of, name, say, speak};
use std::sync::Arc;

#[test]
fn holds_every_shipped_message_reads() {
    assert_eq!(Words::english().tag(), "en");
}

/// Its tag has a private part, which no library of plurals reads: the first who asked for it ended the program.
#[test]
fn bug_the_pseudo_language_can_be_spoken() {
    let _speaking = speak(&Words::pseudo());
    let said = idlewright::words::say_with("shelf-plugs-pulled", &[("pulled", 2.into())]);
    assert!(said.starts_with('⟦') && said.contains('2') && !said.contains(" off"), "{said}");
}

#[test]
fn exact_numbers_read_well() {
    assert_eq!(number(-0.0004, 2), "0.00");
    assert_eq!(signed(0.5, 1), "+0.5");
    assert_eq!(signed(-12.0, 0), "\u{2212}12");
    assert_eq!(clock(3725.0), "1:02:05");
    assert_eq!(Units::Us.value(100.0, "°C"), "212 °F");
    // a unit that is the same in both stays with its value: a valve's closed stop stood without one
    for units in UNITS {
        assert_eq!(units.value(0.234, "mm"), "0.23 mm");
        assert_eq!(units.signed_value(0.234, "mm"), "+0.23 mm");
        assert_eq!(units.value(3.0, ""), "3.00");
    }
}

#[test]
fn exact_units_there_and_back() {
    for unit in ["°C", "kPa", "kPa rail", "km/h", "km", "g/s", "N·m", "kg", "L"] {
        let (there, called) = Units::Us.quantity(80.0, unit);
        assert_ne!(called, unit);
        assert!((Units::Us.metric(there, unit) - 80.0).abs() < 1e-9, "{unit}");
        assert_eq!(Units::Metric.metric(80.0, unit), 80.0);
    }
    assert_eq!(Units::Us.unit("rpm"), "rpm");
    assert_eq!(Units::Us.unit("cylinders"), "cylinders");
    let _units = show_in(Units::Us);
    assert_eq!(measured(101.325, "kPa rail", 0), "15 psi");
    assert_eq!(measured(155.0, "N·m", 0), "114.3 lb·ft");
    assert_eq!(signed_measured(0.5, "g/s", 2), "+0.066 lb/min");
    assert_eq!(measured(12.5, "V", 2), "12.50 V");
}

/// A unit that is written into a message stays metric whatever the gauges show: values come with their unit.
#[test]
fn bug_no_message_of_a_fact_or_of_a_page_holds_a_metric_unit() {
    let files = ["module.ftl", "bench.ftl", "bench-tools.ftl", "lesson.ftl", "paper.ftl"];
    for id in Words::english_ids(&files) {
        let text = Words::english().pattern(id);
        for unit in ["°C", "kPa", "km/h", "} km", "g/s", "N·m"] {
            assert!(!text.contains(unit), "{id}: {text}");
        }
    }
}

#[test]
fn holds_what_a_language_lacks_is_said_in_english() {
    let own = "decimal-sign = ,\ngreeting = Guten Tag\n";
    let german = Arc::new(Words::of("de", &[("own.ftl", own)]).unwrap());
    let _speaking = speak(&german);
    assert_eq!(say("greeting"), "Guten Tag");
    assert_eq!(number(1.5, 1), "1,5");
    assert_eq!(say("no-such-message"), "⟨no-such-message⟩");
}

#[test]
fn trips_on_a_file_that_is_no_fluent_and_on_a_message_that_stands_twice() {
    assert!(matches!(Words::of("de", &[("own.ftl", "?? = x")]), Err(Error::Syntax(..))));
    let twice = [("a.ftl", "greeting = a\n"), ("b.ftl", "greeting = b\n")];
    assert!(matches!(Words::of("de", &twice), Err(Error::Twice(..))));
    assert!(matches!(Words::of("?", &[]), Err(Error::Tag(_))));
}

#[test]
fn holds_every_declared_thing_has_a_name() {
    let mut all: Vec<(&str, String)> = Vec::new();
    let mut add = |kind, id: &str| all.push((kind, id.to_owned()));
    for kind in PartKind::ALL {
        add("part", kind.name());
        if kind.place_key().is_some_and(|k| k != "sensor") {
            add("part", &format!("{}_2", kind.name()));
        }
        kind.faults().iter().for_each(|f| add("fault", f.key));
    }
    Caution::ALL.iter().for_each(|c| add("caution", c.0));
    Sensor::ALL.iter().for_each(|s| add("sensor", s.1));
    ["offset_v", "gain", "lag_s", "noise_v", "stuck", "wire"].iter().for_each(|ill| add("sensor-ill", ill));
    ["sound", "open", "to_earth", "to_supply", "loose"].iter().for_each(|w| add("wire", w));
    Connector::named(8).iter().for_each(|(c, _)| add("connector", c));
    Load::ALL.iter().for_each(|l| add("load", l.0));
    ["off", "on", "crank"].iter().for_each(|k| add("key", k));
    ["park", "neutral", "drive"].iter().for_each(|g| add("gear", g));
    INSTRUMENTS.iter().for_each(|tool| add("tool", tool));
    [Point::BatteryPost, Point::ModuleSupply, Point::Injector(3)]
        .iter()
        .for_each(|p| add("point", &p.name()));
    Lead::ALL.iter().for_each(|l| add("lead", l.0));
    Look::ALL.iter().for_each(|l| add("look", l.0));
    BatteryKind::ALL.iter().for_each(|k| add("battery", k.0));
    for deed in deeds::known() {
        if let Some(service) = deed.strip_prefix("service.") {
            add("service", service.split('.').next().unwrap_or(service));
        }
    }
    Group::ALL.iter().for_each(|g| add("group", g.name()));
    let prices = Prices::shipped().unwrap();
    prices.hand.keys().for_each(|h| add("hand", h));
    prices.service.keys().for_each(|s| add("service", s));
    pattern::Name::ALL.iter().for_each(|p| add("pattern", p.0));
    COLUMNS.iter().for_each(|c| add("signal", c.name));
    LiveValues::NAMES.iter().for_each(|n| add("signal", n));
    CODES.iter().for_each(|c| add("code", c.1));
    MONITORS.iter().for_each(|m| add("monitor", m.1));
    for (_, text) in CARS {
        let mut b = Bench::standing(&Setup::healthy(text, 1, 88.0)).unwrap();
        add("car", b.car_name().0);
        b.act("", Action::Key(Key::On));
        b.advance_by(1.0);
        for part in b.truth().parts {
            for key in part.is.keys() {
                assert!(TRUE.iter().any(|t| t.key == key), "{}: {key} is not told in words", part.name);
            }
        }
        for value in b.observe().learned {
            add("learned", &value.name);
            value.gates.iter().for_each(|g| add("gate", g.name.name()));
        }
    }
    for t in TRUE {
        assert!(Words::english().has(&message_of("is", t.key)), "no message tells {}", t.key);
    }
    let unnamed: Vec<_> = all.iter().filter(|(kind, id)| name(kind, id).contains('⟨')).collect();
    assert!(unnamed.is_empty(), "no message names {unnamed:?}");
    assert_eq!(name("learned", "long_idle_bank2"), "long-term trim, idle, bank 2");
    assert_eq!(name("connector", "injector_3"), "injector 3");
    assert_eq!(name("connector", "oxygen_sensor_1"), "oxygen sensor, bank 1");
    assert_eq!(name("code", "P0301"), "misfire in cylinder 1");
}

/// Every fault that is declared of a part shows in what is told of it, under a key that has words: on one of the cars, since
/// not every car has every part.
#[test]
fn holds_every_fault_of_a_part_is_told() {
    let told = |car: &str, choice: &PartChoice| {
        let setup = Setup { parts: vec![choice.clone()], ..Setup::healthy(car, 1, 88.0) };
        Some(Bench::standing(&setup).ok()?.truth().parts)
    };
    for kind in PartKind::ALL {
        let mut sound = PartChoice::new(kind);
        sound.serial = Some("same".into());
        for fault in kind.faults() {
            let mut ill = sound.clone();
            for f in kind.faults().iter().filter(|f| f.key == fault.key || Some(f.key) == fault.with) {
                // neither what a new part has nor what its serial brings
                let x = f.range().map_or(f.begins, |r| r.low + 0.75 * (r.high - r.low));
                ill.say(f.key, Some(x));
            }
            // what is told of a tooth needs both its number and its error
            if fault.key.starts_with("hit_") {
                (ill.hit_tooth, ill.hit_deg) = (Some(20), Some(0.3));
            }
            let new = CARS.iter().flat_map(|(_, car)| {
                let sound = told(car, &sound).unwrap_or_default();
                told(car, &ill).unwrap_or_default().into_iter().filter(move |p| !sound.contains(p))
            });
            let new: Vec<_> = new.collect();
            assert!(!new.is_empty(), "{} of {} is not told", fault.key, kind.name());
            for part in new {
                for key in part.is.keys() {
                    assert!(TRUE.iter().any(|t| t.key == key), "{}: {key} is not told in words", part.name);
                }
            }
        }
    }
}
