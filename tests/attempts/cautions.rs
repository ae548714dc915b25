//! Cautions: every scenario carries those of all that is done in its files, and every front shows them.
#![expect(clippy::disallowed_methods, reason = "files are written and read")]

use crate::bay::program::{ends, err, folder, go};
use idlewright::bench::action::{Action, Connector, Gear, Key, PartChoice, PartKind};
use idlewright::bench::pattern;
use idlewright::bench::tools::Tool;
use idlewright::catalogue::cautions::Caution;
use idlewright::catalogue::hands::HANDS;
use idlewright::link::{DiagRequest, Routine};
use idlewright::report::{action_words, caution_words};
use idlewright::scenario::{parse_actions_for, parse_scenario};
use idlewright::store;
use idlewright::words::upper_first;
use serde_json::Value;

/// Whoever adds a solution or a trap names what must be minded with it, or this fails and says what is lacking.
#[test]
fn practice_every_scenario_carries_the_cautions_of_its_acts() {
    let mut lacks = Vec::new();
    for s in store::SCENARIOS {
        let scenario = parse_scenario(s.text, s.id, &mut |car| store::car_text(car, None)).expect(s.id);
        for (file, text) in s.actions {
            let actions = parse_actions_for(text.as_bytes(), file, &scenario.vary).expect(file);
            let missing = scenario.about.lacks(&actions.acts);
            lacks.extend((!missing.is_empty()).then(|| format!("{file} needs {}", missing.join(" "))));
        }
    }
    assert!(lacks.is_empty(), "{}", lacks.join("\n"));
}

/// Steps that can hurt, by what must stand beside them.
#[test]
fn exact_what_can_hurt_says_so() {
    let fit = |kind| Action::Fit(PartChoice::new(kind));
    let start = |routine| Action::Ask(DiagRequest::Start(routine));
    let pull = |connector| Action::Connector(connector, false);
    let drive = Action::Drive { pattern: pattern::Name::ALL[0].1, minutes: 1.0 };
    for (action, caution) in [
        (Action::Key(Key::Crank), Caution::CarbonMonoxide),
        (Action::Gear(Gear::Drive), Caution::CarInGear),
        (pull(Connector::Battery), Caution::BatteryLeads),
        (pull(Connector::Battery), Caution::BatteryHydrogen),
        (pull(Connector::Belt), Caution::DriveBelt),
        (pull(Connector::AirMeter), Caution::Connectors),
        (Action::SwapInjectors(1, 2), Caution::FuelPressure),
        (Action::Refuel(10.0), Caution::FuelVapour),
        (Action::Interrupt(1, 50.0), Caution::IgnitionVoltage),
        (Action::Interrupt(1, 50.0), Caution::MisfireHeat),
        (Action::Hold { rpm: 2000.0, nm: 0.0 }, Caution::HighRevs),
        (Action::Hold { rpm: 2000.0, nm: 50.0 }, Caution::Rollers),
        (drive, Caution::RoadWork),
        (start(Routine::LearnClosedStop), Caution::ThrottlePlate),
        (start(Routine::LearnWheel), Caution::HighRevs),
        (start(Routine::CutOut(1)), Caution::MisfireHeat),
        (fit(PartKind::Coil(1)), Caution::IgnitionVoltage),
        (fit(PartKind::Plug(1)), Caution::IgnitionVoltage),
        (fit(PartKind::Thermostat), Caution::HotCoolant),
        (fit(PartKind::PurgeValve), Caution::FuelVapour),
        (fit(PartKind::FuelCap), Caution::FuelVapour),
        (fit(PartKind::VapourLine), Caution::FuelVapour),
        (fit(PartKind::VentValve), Caution::FuelVapour),
        (pull(Connector::FuelCap), Caution::FuelVapour),
        (start(Routine::TestVapour), Caution::CarbonMonoxide),
        (fit(PartKind::Pulley), Caution::DriveBelt),
        (fit(PartKind::Alternator), Caution::DriveBelt),
        (fit(PartKind::Battery), Caution::BatteryAcid),
        (Action::Measure(Tool::Compression(1)), Caution::Cranking),
        (Action::Measure(Tool::LeakDown(1)), Caution::AirTurnsEngine),
    ] {
        assert!(action.cautions().contains(&caution), "{action:?} lacks {caution:?}");
    }
    assert!(HANDS.iter().filter(|h| !h.cautions.is_empty()).count() >= 12);
}

/// Fitting a battery on the command line: what always holds, what this job asks for, and what the act asks for.
#[test]
fn holds_every_front_of_the_command_line_shows_them() {
    let dir = folder("fronts");
    std::fs::write(dir.join("a.toml"), ACTIONS).expect("a file");
    let standing: Vec<String> = Caution::STANDING.iter().map(|c| caution_words(*c)).collect();
    let o = go(&dir, &["run", "healthy-idle", "--actions", "a.toml", "--out", "x"]);
    ends(&o, 0);
    let told = err(&o);
    let leads = caution_words(Caution::BatteryLeads);
    assert!(standing.iter().all(|c| told.matches(c.as_str()).count() >= 1), "{told}");
    assert_eq!(told.matches(leads.as_str()).count(), 1, "once a run: {told}");
    let clamp_off = action_words(&Action::Connector(Connector::Battery, false), false);
    assert!(told.contains(&format!("{}: {leads}", upper_first(&clamp_off))), "{told}");
    let page = std::fs::read_to_string(dir.join("x/debrief.html")).expect("a page");
    assert!(standing.iter().all(|c| page.contains(c.as_str())));
    assert_eq!(page.matches(leads.as_str()).count(), 1, "beside the first act that needs it");
    let book = dir.join("x/logbook.jsonl");
    let book = book.to_str().expect("a path");
    for args in [
        &["run", "healthy-idle", "--actions", "a.toml", "--json"][..],
        &["replay", book, "--json"],
        &["twin", "healthy-idle", "--actions", "a.toml", "--without", "clamp-off", "--json"],
    ] {
        let o = go(&dir, args);
        let v: Value = serde_json::from_str(&ends(&o, 0)).expect("an object");
        let v = if args[0] == "twin" { &v["done"] } else { &v };
        let has = |key: &str, id: &str, words: &str| {
            v[key].as_array().is_some_and(|all| all.iter().any(|c| c["id"] == id && c["says"] == words))
        };
        assert!(has("at_acts", "battery_leads", &leads), "{args:?}: {v:#}");
        let who = caution_words(Caution::WhoDecides);
        assert!(has("always", "who_decides", &who), "{args:?}");
        assert!(standing.iter().all(|c| err(&o).contains(c.as_str())), "{args:?}");
    }
    let o =
        go(&dir, &["twin", "healthy-idle", "--actions", "a.toml", "--without", "clamp-off", "--out", "t"]);
    ends(&o, 0);
    let page = std::fs::read_to_string(dir.join("t/twin.html")).expect("a page");
    assert!(page.contains(&leads));
}

const ACTIONS: &str = r#"schema = 1
[about]
id = "clamp"
title = "Battery off and on"
[setup]
run_s = 320
[[act]]
id = "key-off"
at_s = 1
key = "off"
[[act]]
id = "clamp-off"
after_s = 2
unplug = "battery"
[[act]]
id = "clamp-on"
after_s = 2
plug = "battery"
"#;
