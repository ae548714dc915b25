//! The job card's ledger: what is priced, what is free, and sums by hand.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::jobs;
use idlewright::bench::action::{Action, Connector, Ill, Key, PartChoice, PartKind, Sensor};
use idlewright::bench::tools::{INSTRUMENTS, Look, Point, Tool};
use idlewright::link::{DiagRequest, Routine};
use idlewright::scenario::parse_actions;
use idlewright::session::{self, Ledger, Options, Prices, Run, Work};
use idlewright::store;
use std::sync::Arc;

fn prices() -> Prices {
    Prices::shipped().expect("the shipped prices are good")
}

/// Nothing that can be done is without a price, and no price is for nothing.
#[test]
fn holds_every_work_has_its_price() {
    let p = prices();
    let tools = [
        Tool::VacuumGauge,
        Tool::FuelPressure,
        Tool::SmokeTest,
        Tool::ExhaustSmoke,
        Tool::GasReading,
        Tool::Voltmeter(Point::BatteryPost),
        Tool::AmpereClamp,
        Tool::Thermometer,
        Tool::Scope(Point::BatteryPost),
        Tool::Inspect(Look::Hoses),
        Tool::BackPressure(1),
        Tool::Compression(1),
        Tool::BatteryTester,
        Tool::Hydrometer,
        Tool::LeakDown(1),
    ];
    let routines = Routine::ALL.iter().map(|r| DiagRequest::Start(r.1));
    let services = routines.chain([
        DiagRequest::ReadCodes,
        DiagRequest::ClearCodes,
        DiagRequest::ReadFreezeFrame("P0171".into()),
        DiagRequest::ReadLearned,
        DiagRequest::ReadLive,
        DiagRequest::ReadValue("lambda".into()),
        DiagRequest::ReadReadiness,
        DiagRequest::WriteInjectorCode { cylinder: 1, code: "DA2-345-678".into() },
        DiagRequest::ReadInjectorCode(1),
        DiagRequest::EnterBatteryRecord { kind: Default::default(), rated_ah: 60.0 },
        DiagRequest::ReadBatteryRecord,
        DiagRequest::Start(Routine::CommandIdle(800)),
        DiagRequest::Start(Routine::CutOut(1)),
        DiagRequest::Progress,
        DiagRequest::Stop,
        DiagRequest::Restart,
    ]);
    let hands = [
        Action::Connector(Connector::Fan, false),
        Action::Connector(Connector::Battery, false),
        Action::CleanThrottle,
        Action::SwapInjectors(1, 2),
        Action::Leak(0.0),
        Action::ExhaustLeak(0.0),
        Action::Sensor(Sensor::Coolant, Ill::default()),
        Action::Refuel(1.0),
        Action::Interrupt(1, 10.0),
        Action::Accessory { amps: 5.0, past_sensor: true },
        Action::Charger { amps: 30.0, past_sensor: true },
        Action::Hold { rpm: 2500.0, nm: 40.0 },
    ];
    let all = tools
        .map(Action::Measure)
        .into_iter()
        .chain(PartKind::ALL.map(|k| Action::Fit(PartChoice::new(k))))
        .chain(services.map(Action::Ask))
        .chain(hands);
    let mut used = Vec::new();
    for action in all {
        let (group, name, _) = Prices::entry(&action).unwrap_or_else(|| panic!("{action:?} is free"));
        let table = match group {
            "tool" => &p.tool,
            "service" => &p.service,
            "part" => &p.part,
            _ => &p.hand,
        };
        assert!(table.contains_key(name), "no price for {group}.{name}");
        used.push((group, name));
    }
    let listed = p.tool.len() + p.service.len() + p.part.len() + p.hand.len();
    assert_eq!(used.len(), listed, "a price that nothing costs");
    assert_eq!(p.tool.len(), INSTRUMENTS.len());
    let pedal = Action::Hold { rpm: 2500.0, nm: 0.0 };
    for free in [Action::Key(Key::On), Action::Pedal(10.0), pedal, Action::Wait, Action::Watch(Vec::new())] {
        assert_eq!(Prices::entry(&free), None);
    }
}

/// By hand at 60 an hour, a credit a minute: fuel gauge 12; smoke 15 + 4; regulator 30 + 45; 20 L are 2 min
/// and 30; the same serial again costs its 30 min alone; 90 s at the car are 1.5.
#[test]
fn exact_sums_by_hand() {
    let mut l = Ledger::new(Arc::new(prices()), 100.0);
    let serial =
        |s: &str| Action::Fit(PartChoice { serial: Some(s.into()), ..PartChoice::new(PartKind::Regulator) });
    l.add("a", &Action::Measure(Tool::FuelPressure));
    l.add("b", &Action::Measure(Tool::SmokeTest));
    l.add("c", &serial("R1"));
    l.add("d", &Action::Refuel(20.0));
    l.add("e", &serial("R1"));
    l.add("f", &Action::Key(Key::On));
    l.stayed(190.0);
    let job = l.job();
    let money: Vec<f64> = job.lines.iter().map(|x| x.money).collect();
    let wanted = [12.0, 19.0, 75.0, 32.0, 30.0, 1.5];
    assert_eq!(money.len(), wanted.len(), "{job:?}");
    assert!(money.iter().zip(wanted).all(|(m, w)| (m - w).abs() < 1e-9), "{money:?}");
    assert!((job.minutes - (12.0 + 15.0 + 30.0 + 2.0 + 30.0 + 1.5)).abs() < 1e-9, "{}", job.minutes);
    assert!((job.money - 169.5).abs() < 1e-9 && job.parts_bought == 1, "{job:?}");
    assert_eq!(job.lines[0].work, Work::Measure("fuel_pressure".into()));
    // the time is looked at from where the card began
    let empty = l.from(190.0).job();
    assert_eq!((empty.minutes.to_bits(), empty.money.to_bits()), (0, 0), "nothing, without a minus");
}

#[test]
fn trips_on_bad_prices() {
    for (from, to, rule) in [
        ("schema = 1", "schema = 2", "schema"),
        ("hour_money = 60.0", "hour_money = -1", "hour_money"),
        ("{ minutes = 5 }", "{ minutes = -5 }", "vacuum_gauge"),
        ("{ minutes = 5 }", "{ minuts = 5 }", "minuts"),
        ("[hand]", "[hands]", "hands"),
    ] {
        let e = Prices::parse(&store::PRICES.replacen(from, to, 1)).expect_err(from);
        assert!(e.contains(rule) && !e.contains('\n'), "{from} to {to}: {e}");
    }
}

const SCENARIO: &str = r#"
schema = 1
[about]
id = "X"
title = "t"
level = 1
complaint = "c"
teaches = "t"
[setup]
car = "plover"
seed = 1
coolant_c = 88
exhaust_leak_mm2 = 0
[[act]]
id = "own-part"
at_s = 0.1
fit = { part = "fuel_pump" }
[[act]]
id = "own-look"
after_s = 0.1
measure = "inspect"
part = "hoses"
"#;

const ACTIONS: &str = r#"
schema = 1
[about]
id = "T"
title = "t"
[setup]
run_s = 300
[[act]]
id = "gauge"
at_s = 1
measure = "fuel_pressure"
[[act]]
id = "asleep"
at_s = 8
service = "read_codes"
[[act]]
id = "key"
at_s = 10
key = "on"
[[act]]
id = "volts"
at_s = 20
measure = "voltmeter"
point = "coolant"
[[act]]
id = "no-smoke"
at_s = 30
measure = "smoke_test"
[[act]]
id = "codes"
when = "readings.voltmeter_coolant.v > 0"
timeout_s = 20
service = "read_codes"
[[act]]
id = "wait"
at_s = 60
wait_s = 60
[[expect]]
at = "end"
what = "readings.voltmeter_coolant.v"
min = 0.2
max = 2.0
why = "warm coolant pulls its pin down"
[[expect]]
at = 25
what = "readings.fuel_pressure.kpa"
min = 100
max = 300
why = "what pressure was kept"
[[expect]]
at = "end"
what = "readings.inspect_hoses.state"
is = "good"
why = "nothing is off"
[[expect]]
at = "end"
what = "job.parts_bought"
is = 0
why = "the scenario's own part is not on the card"
[[expect]]
at = "end"
what = "job.minutes"
min = 18.99
max = 19.01
why = "12 + 3 + 2 and two minutes with the car; the smoke test could not be done, and a module asleep gave no answer"
"#;

fn run(lid_open: bool) -> Run {
    let s = jobs::read(SCENARIO, "x.toml");
    let a = parse_actions(ACTIONS, "t.toml").expect("actions");
    let sample = session::sample(&s).expect("a sample");
    a.check_paths("t.toml", &sample, &[]).expect("every path leads somewhere");
    let options = Options { lid_open, ..Options::default() };
    jobs::run(&s, Some(&a), &options)
}

/// What a person did after hand-over is on the card; the scenario's own acts, and what was hindered, are not.
#[test]
fn exact_card_of_a_session() {
    let r = run(false);
    let unmet: Vec<_> = r.judged.iter().filter(|j| !j.met).collect();
    assert!(unmet.is_empty(), "{unmet:#?}");
    let ids: Vec<&str> = r.job.lines.iter().map(|l| l.id.as_str()).collect();
    assert_eq!(ids, ["gauge", "volts", "codes", ""]);
    assert!((r.job.money - 19.0).abs() < 0.01, "{:?}", r.job);
    let v = r.json();
    assert_eq!(v["job"]["lines"].as_array().map(Vec::len), Some(4));
    assert!(v["job"].get("before").is_none(), "what was done before hand-over is under the lid");
    assert!(!v.to_string().contains("fuel pump"), "{v}");
    let open = run(true).json();
    assert_eq!(open["job"]["before"]["parts_bought"], 1);
    assert_eq!(open["job"]["money"], v["job"]["money"], "it is in no sum");
}

/// Readings are a technician's own: there under a closed lid, by name, with nothing that the tool did not show.
#[test]
fn holds_readings_under_a_closed_lid() {
    let v = run(false).json();
    let all = v["readings"].as_array().expect("readings");
    let names: Vec<&str> = all.iter().filter_map(|r| r["name"].as_str()).collect();
    assert_eq!(names, ["inspect_hoses", "fuel_pressure", "voltmeter_coolant"]);
    let keys: Vec<&String> = all[1].as_object().expect("an object").keys().collect();
    assert_eq!(keys, ["name", "at_s", "kpa"]);
    assert!(v.get("truth").is_none());
}
