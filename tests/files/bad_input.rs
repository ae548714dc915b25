//! Broken scenario and action files: one clear error with file, line and rule, and never a panic.
//!
//! Every case starts from a file that is accepted (`holds_*` proves it) and breaks one thing, so the
//! error can come from nothing else.

use crate::bay::CARS;
use crate::bay::jobs::is_mistake;
use idlewright::app::Error as Told;
use idlewright::bench::action::{Action, Connector, Life, Load, PartChoice, PartKind};
use idlewright::bench::car::NoCar;
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::{Stretch, StretchKind};
use idlewright::catalogue::parts::{Fault, PARTS, Place, Says};
use idlewright::label::BatteryKind;
use idlewright::link::{DiagRequest, Group, Routine};
use idlewright::scenario::{
    ActionFile, At, Lid, MAX_ACTS, MAX_BYTES, MAX_EXPECTS, MAX_STRETCHES, Mistake, Op, Rule, Scenario,
    ScenarioError, Timing, lookup, parse_actions, parse_actions_bytes, parse_scenario, parse_scenario_bytes,
    paths,
};
use proptest::prelude::*;
use serde_json::{Value, json};

const FILE: &str = "scenarios/own-test.toml";

/// A scenario with some of everything. Line numbers in the cases below count in this text.
const SCENARIO: &str = r#"schema = 1
[about]
id = "own-test"
title = "Idles high"
level = 1
complaint = "It idles high."
teaches = "A stale value."
[setup]
car = "plover"
seed = 7
run_s = 600
coolant_c = 90
[setup.weather]
ambient_c = 12.5
ambient_kpa = 98
[[setup.part]]
part = "throttle_body"
deposit_um = 60
[[setup.part]]
part = "injector"
cylinder = 3
error_pct = -20
[[setup.conditioning]]
drive = "hold"
hold_rpm = 2500
minutes = 30
[[setup.conditioning]]
drive = "idle"
minutes = 20
wear_factor = 100
[[act]]
id = "key_on"
at_s = 1
key = "on"
[[act]]
id = "rest"
after_s = 2
wait_s = 5
[[act]]
id = "glass"
when = "idle.mean_rpm >= 700"
timeout_s = 60
load = "heated_glass"
on = true
[[act]]
id = "swap"
at_s = 100
fit = { part = "throttle_body", serial = "TB-77" }
[[act]]
id = "meter_off"
at_s = 100
unplug = "oxygen_sensor_2"
[[act]]
id = "ask"
after_s = 0
service = "learn_idle"
[[expect]]
at = "end"
what = "idle.mean_rpm"
min = 650
max = 750.5
why = "target held"
[[expect]]
at = 300
what = "codes.P0507.confirmed"
is = false
why = "no code yet"
"#;

/// An action file. Line numbers in the cases below count in this text.
const ACTIONS: &str = r#"schema = 1
[about]
id = "trap"
title = "New throttle body"
[setup]
run_s = 300
[[act]]
id = "off"
at_s = 0
key = "off"
[[expect]]
at = "end"
what = "codes.P0507.pending"
is = true
why = "still there"
"#;

fn scenario(text: &str) -> Result<Scenario, ScenarioError> {
    parse_scenario(text, FILE, &mut |car| match car {
        "plover" => Ok("the plover's file".to_owned()),
        other => Err(NoCar::Unknown { car: other.to_owned(), keys: vec!["plover".to_owned()] }),
    })
}

fn actions(text: &str) -> Result<ActionFile, ScenarioError> {
    parse_actions(text, FILE)
}

/// The text with one passage replaced, which must be there.
fn with(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "the case wants to replace {from:?}, which is not in the file");
    text.replacen(from, to, 1)
}

fn sample() -> Value {
    json!({
        "time_s": 1.0,
        "idle": { "mean_rpm": 700.0, "steady": true, "gate": "open", "note": null },
        "codes": [{ "code": "P0171", "pending": true, "confirmed": false, "permanent": false }],
        "learned": [{ "name": "idle_air_light", "value": 0.4 }, { "name": "closed_stop", "value": 0.5 }],
        "banks": [{ "bank": 1, "long_pct": 2.0 }, { "bank": 2, "long_pct": -3.0 }],
        "cylinders": [{ "cylinder": 1, "air_mg": 200.0 }, { "cylinder": 4, "air_mg": 210.0 }],
        "live": { "lambda": [1.0, 0.98] },
        "empty": [],
    })
}

#[test]
fn holds_the_valid_files_are_accepted() {
    let s = scenario(SCENARIO).unwrap();
    s.check_paths(FILE, &sample(), &["P0171", "P0507"]).unwrap();
    let a = actions(ACTIONS).unwrap();
    a.check_paths(FILE, &sample(), &["P0171", "P0507"]).unwrap();
    assert_eq!(parse_actions_bytes(ACTIONS.as_bytes(), FILE).unwrap(), a);
    let bytes = parse_scenario_bytes(SCENARIO.as_bytes(), FILE, &mut |_| Ok("the plover's file".to_owned()));
    assert_eq!(bytes.unwrap(), s);
}

#[test]
fn exact_a_scenario_says_what_its_text_says() {
    let s = scenario(SCENARIO).unwrap();
    assert_eq!((s.about.id.as_str(), s.about.level, s.about.lid), ("own-test", 1, Lid::Closed));
    assert_eq!((s.setup.car_toml.as_str(), s.setup.seed, s.setup.step_deg), ("the plover's file", 7, 2.0));
    assert_eq!((s.setup.weather.ambient_c, s.setup.weather.ambient_kpa), (12.5, 98.0));
    assert_eq!((s.setup.coolant_c, s.setup.battery_charge_pct, s.run_s), (90.0, 90.0, Some(600.0)));
    let new = PartChoice::new;
    let dirty = PartChoice { deposit_um: Some(60.0), ..new(PartKind::ThrottleBody) };
    let lean = PartChoice { error_pct: Some(-20.0), ..new(PartKind::Injector(3)) };
    assert_eq!(s.setup.parts, [dirty, lean]);
    let hold = Stretch { kind: StretchKind::Hold { rpm: 2500.0, nm: 0.0 }, minutes: 30.0, wear_factor: 1.0 };
    let idle = Stretch { kind: StretchKind::Idle, minutes: 20.0, wear_factor: 100.0 };
    assert_eq!(s.setup.conditioning, [hold, idle]);
    let hands: Vec<_> = s.acts.iter().map(|act| act.hand.clone()).collect();
    let fitted = PartChoice { serial: Some("TB-77".to_owned()), ..new(PartKind::ThrottleBody) };
    assert_eq!(
        hands[1..],
        [
            Action::Wait,
            Action::Load(Load::HeatedGlass, true),
            Action::Fit(fitted),
            Action::Connector(Connector::OxygenSensor2, false),
            Action::Ask(DiagRequest::Start(Routine::LearnIdle)),
        ]
    );
    assert_eq!((s.acts[0].timing.clone(), s.acts[1].timing.clone()), (Timing::At(1.0), Timing::After(2.0)));
    assert_eq!((s.acts[1].wait_s, s.acts[0].wait_s, s.acts[1].place.line), (5.0, 0.0, 35));
    let Timing::When { condition, timeout_s } = &s.acts[2].timing else { panic!("{:?}", s.acts[2]) };
    assert_eq!((condition.path.as_str(), condition.op, *timeout_s), ("idle.mean_rpm", Op::AtLeast, 60.0));
    assert_eq!((condition.value.clone(), condition.place.line, condition.place.column), (json!(700), 41, 9));
    assert_eq!(condition.to_string(), "idle.mean_rpm >= 700");
    assert_eq!(s.expects[0].rule, Rule::Between { min: Some(650.0), max: Some(750.5) });
    assert_eq!((s.expects[0].at, s.expects[1].at), (At::End, At::Time(300.0)));
    assert_eq!(s.expects[1].rule, Rule::Is(json!(false)));
}

#[test]
fn exact_every_hand_can_be_written() {
    let routine = |r| Action::Ask(DiagRequest::Start(r));
    let cases = [
        ("pedal_pct = 12", Action::Pedal(12.0)),
        ("brake = true", Action::Brake(true)),
        ("clean = \"throttle_body\"", Action::CleanThrottle),
        ("leak_mm2 = 3.5", Action::Leak(3.5)),
        ("plug = \"injector_8\"", Action::Connector(Connector::Injector(8), true)),
        ("unplug = \"coil_1\"", Action::Connector(Connector::Coil(1), false)),
        ("unplug = \"battery\"", Action::Connector(Connector::Battery, false)),
        ("service = \"read_codes\"", Action::Ask(DiagRequest::ReadCodes)),
        ("service = \"clear_codes\"", Action::Ask(DiagRequest::ClearCodes)),
        ("service = \"stop\"", Action::Ask(DiagRequest::Stop)),
        ("service = \"reset_idle_air\"", routine(Routine::ResetGroup(Group::IdleAir))),
        ("load = \"steering\"\non = false", Action::Load(Load::Steering, false)),
    ];
    for (line, hand) in cases {
        let file = actions(&with(ACTIONS, "key = \"off\"", line)).unwrap();
        assert_eq!(file.acts[0].hand, hand, "{line}");
    }
}

#[test]
fn exact_what_is_left_out_has_the_written_default() {
    let text = SCENARIO.replace("coolant_c = 90\n", "");
    assert_eq!(scenario(&text).unwrap().setup.coolant_c, 12.5, "coolant starts at the air outside");
    let bare = "schema = 1\n[about]\nid = \"a\"\ntitle = \"t\"\nlevel = 3\ncomplaint = \"c\"\nteaches = \"t\"\n\
                [setup]\ncar = \"plover\"\nseed = 0\n";
    let s = scenario(bare).unwrap();
    assert!(s.acts.is_empty() && s.expects.is_empty() && s.run_s.is_none() && s.setup.parts.is_empty());
    assert_eq!((s.setup.step_deg, s.setup.coolant_c, s.setup.weather.ambient_kpa), (2.0, 20.0, 101.325));
    assert_eq!((s.setup.odometer_km, s.setup.faults.unmetered_leak_mm2), (0.0, 0.0));
}

/// One thing broken: what, the passage, what stands there instead, the line and the rule expected.
type Case = (&'static str, &'static str, &'static str, usize, &'static str);

const BROKEN_SCENARIOS: &[Case] = &[
    ("other schema", "schema = 1", "schema = 2", 1, "Schema { schema: 1 }"),
    ("no schema", "schema = 1", "# none", 1, r#"MissingKey { table: "", key: "schema" }"#),
    ("unknown table", "[setup]", "[setpu]", 8, r#"UnknownKey { table: "", key: "\"setpu\"""#),
    ("no about", "[about]\n", "[setup.about]\n", 2, r#"{ table: "[setup]", key: "\"about\"""#),
    ("unknown key, near", "title =", "titel =", 4, r#"UnknownKey { table: "[about]", key: "\"titel\"""#),
    ("unknown key, far", "title =", "xyzzy =", 4, r#"keys: ["id", "title", "level""#),
    ("missing key", "title = \"Idles high\"\n", "", 2, r#"MissingKey { table: "[about]", key: "title""#),
    ("key twice", "level = 1", "level = 1\nlevel = 2", 6, "duplicate key"),
    ("table twice", "[[act]]", "[about]", 31, "duplicate key"),
    (
        "single bracket",
        "[[setup.part]]\npart = \"throttle_body\"\ndeposit_um = 60\n[[setup.part]]",
        "[setup.part]",
        16,
        r#"WrittenAsList { key: "part", table: "[[setup.part]]" }"#,
    ),
    ("double bracket", "[about]", "[[about]]", 2, r#"WrittenAsTable { key: "about", table: "[about]" }"#),
    ("id alphabet", "\"own-test\"", "\"own test\"", 3, r#"NotAWord { key: "id""#),
    ("empty text", "\"Idles high\"", "\" \"", 4, r#"Empty { key: "title" }"#),
    ("control character", "\"Idles high\"", "\"Idles\\u001b[2J\"", 4, r#"LineBreaks { key: "title" }"#),
    ("level", "level = 1", "level = 4", 5, r#"NotWhole { key: "level", low: 1.0, high: 3.0, given: 4.0 }"#),
    (
        "half level",
        "level = 1",
        "level = 1.5",
        5,
        r#"NotWhole { key: "level", low: 1.0, high: 3.0, given: 1.5 }"#,
    ),
    (
        "number as text",
        "level = 1",
        "level = \"1\"",
        5,
        r#"WrongType { key: "level", wanted: Number, given: Text }"#,
    ),
    (
        "text as number",
        "\"It idles high.\"",
        "5",
        6,
        r#"WrongType { key: "complaint", wanted: Text, given: Number }"#,
    ),
    (
        "lid",
        "level = 1",
        "level = 1\nlid = \"ajar\"",
        6,
        r#"NotOneOf { key: "lid", one_of: ["closed", "open", "locked""#,
    ),
    (
        "cautions not a list",
        "level = 1",
        "level = 1\ncautions = \"hot\"",
        6,
        r#"WrongType { key: "cautions", wanted: List"#,
    ),
    (
        "empty caution",
        "level = 1",
        "level = 1\ncautions = [\"hot_parts\",\n\"\"]",
        7,
        r#"Empty { key: "cautions" }"#,
    ),
    ("unquoted text", "\"plover\"", "plover", 9, r#"NotToml { says: "string values must be quoted"#),
    ("open quote", "\"plover\"", "\"plover", 9, r#"NotToml { says: "invalid basic string"#),
    ("unknown car", "\"plover\"", "\"gannet\"", 9, r#"NoCar(Unknown { car: "gannet""#),
    ("car's form", "\"plover\"", "\"my car\"", 9, "CarName"),
    ("car elsewhere", "\"plover\"", "\"../up.toml\"", 9, "CarFile"),
    ("no car", "car = \"plover\"\n", "", 8, r#"MissingKey { table: "[setup]", key: "car""#),
    ("negative seed", "seed = 7", "seed = -7", 10, r#"Seed { key: "seed""#),
    ("broken seed", "seed = 7", "seed = 7.0", 10, r#"WrongType { key: "seed", wanted: Whole"#),
    (
        "step",
        "seed = 7",
        "seed = 7\nstep_deg = 4",
        11,
        r#"NotOneOf { key: "step_deg", one_of: ["2", "1", "0.5"], given: "4" }"#,
    ),
    ("no number", "run_s = 600", "run_s = nan", 11, r#"NotFinite { key: "run_s" }"#),
    ("huge number", "run_s = 600", "run_s = 1e999", 11, r#"NotFinite { key: "run_s" }"#),
    ("decimal comma", "run_s = 600", "run_s = 600,5", 11, r#"NotToml { says: "unexpected key or value"#),
    ("leading zero", "run_s = 600", "run_s = 060", 11, r#"NotToml { says: "unexpected leading zero"#),
    ("unit in value", "run_s = 600", "run_s = 600 s", 11, r#"NotToml { says: "string values must be quoted"#),
    (
        "coolant",
        "coolant_c = 90",
        "coolant_c = 200",
        12,
        r#"OutOfRange { key: "coolant_c", low: -30.0, high: 115.0, unit: "°C""#,
    ),
    (
        "ambient",
        "ambient_c = 12.5",
        "ambient_c = 51",
        14,
        r#"OutOfRange { key: "ambient_c", low: -30.0, high: 50.0, unit: "°C", given: 51.0 }"#,
    ),
    (
        "weather key",
        "ambient_kpa",
        "ambient_hpa",
        15,
        r#"UnknownKey { table: "[setup.weather]", key: "\"ambient_hpa\"""#,
    ),
    (
        "weather not a table",
        "[setup.weather]\nambient_c = 12.5\nambient_kpa = 98",
        "weather = 5",
        13,
        r#"WrongType { key: "weather", wanted: Table, given: Number }"#,
    ),
    (
        "part's name",
        "\"throttle_body\"",
        "\"throttle\"",
        17,
        r#"NotOneOf { key: "part", one_of: ["throttle_body", "air_meter", "injector""#,
    ),
    ("deposit", "deposit_um = 60", "deposit_um = -1", 18, r#"OutOfRange { key: "deposit_um", low: 0.0"#),
    (
        "key of another part",
        "deposit_um = 60",
        "error_pct = 5",
        18,
        r#"GoesNotWith { key: "error_pct", with: "part = \"throttle"#,
    ),
    ("no cylinder", "cylinder = 3\n", "", 19, r#"MissingKey { table: "[[setup.part]]", key: "cylinder""#),
    (
        "cylinder 0",
        "cylinder = 3",
        "cylinder = 0",
        21,
        r#"NotWhole { key: "cylinder", low: 1.0, high: 8.0, given: 0.0 }"#,
    ),
    (
        "same part twice",
        "part = \"injector\"\ncylinder = 3\nerror_pct = -20",
        "part = \"throttle_body\"",
        19,
        "PartTwice { line: 16 }",
    ),
    (
        "injector error",
        "error_pct = -20",
        "error_pct = 61",
        22,
        r#"OutOfRange { key: "error_pct", low: -90.0, high: 60.0"#,
    ),
    (
        "hold without speed",
        "hold_rpm = 2500\n",
        "",
        23,
        r#"MissingKey { table: "[[setup.conditioning]]", key: "hold_rpm""#,
    ),
    (
        "hold speed",
        "hold_rpm = 2500",
        "hold_rpm = 800",
        25,
        r#"OutOfRange { key: "hold_rpm", low: 1200.0, high: 5000.0, unit: "rpm""#,
    ),
    (
        "stretch",
        "minutes = 30",
        "minutes = 601",
        26,
        r#"OutOfRange { key: "minutes", low: 0.1, high: 600.0, unit: "min""#,
    ),
    (
        "speed of an idle",
        "minutes = 20",
        "minutes = 20\nhold_rpm = 2000",
        30,
        r#"GoesWith { key: "hold_rpm", one_of: ["drive = \"hold\""] }"#,
    ),
    (
        "wear",
        "wear_factor = 100",
        "wear_factor = -1",
        30,
        r#"OutOfRange { key: "wear_factor", low: 0.0, high: 100000.0, unit: "", given: -1.0 }"#,
    ),
    ("act without id", "id = \"key_on\"\n", "", 31, r#"MissingKey { table: "[[act]]", key: "id""#),
    (
        "id twice",
        "id = \"rest\"",
        "id = \"key_on\"",
        36,
        r#"TwiceSince { what: "[[act]]", given: "\"key_on\"", line: 31 }"#,
    ),
    (
        "no time",
        "at_s = 1\n",
        "",
        31,
        r#"NeedsOneOf { table: "[[act]]", one_of: ["at_s", "after_s", "when"] }"#,
    ),
    (
        "two times",
        "at_s = 1\n",
        "at_s = 1\nafter_s = 2\n",
        34,
        r#"NotBoth { table: "[[act]]", first: "at_s", second: "after_s" }"#,
    ),
    (
        "negative time",
        "at_s = 1\n",
        "at_s = -1\n",
        33,
        r#"OutOfRange { key: "at_s", low: 0.0, high: 400000000.0, unit: "s""#,
    ),
    ("time falls", "at_s = 100\nunplug", "at_s = 99.5\nunplug", 51, "TimeFalls"),
    (
        "time before a wait ends",
        "when = \"idle.mean_rpm >= 700\"\ntimeout_s = 60",
        "at_s = 7.5",
        41,
        "TimeFalls { earliest: 8.0, given: 7.5 }",
    ),
    ("no hand", "key = \"on\"\n", "", 31, r#"NeedsOneOf { table: "[[act]]", one_of: ["key", "pedal_pct""#),
    (
        "two hands",
        "key = \"on\"\n",
        "key = \"on\"\nbrake = true\n",
        35,
        r#"NotBoth { table: "[[act]]", first: "key", second: "brake" }"#,
    ),
    (
        "key's place",
        "key = \"on\"",
        "key = \"onn\"",
        34,
        r#"NotOneOf { key: "key", one_of: ["off", "on", "crank"], given: "\"onn\"" }"#,
    ),
    (
        "key as switch",
        "key = \"on\"",
        "key = true",
        34,
        r#"WrongType { key: "key", wanted: Text, given: Flag }"#,
    ),
    (
        "pedal",
        "key = \"on\"",
        "pedal_pct = 120",
        34,
        r#"OutOfRange { key: "pedal_pct", low: 0.0, high: 100.0, unit: "%", given: 120.0 }"#,
    ),
    ("quoted switch", "key = \"on\"", "brake = \"true\"", 34, r#"WrongType { key: "brake", wanted: Flag"#),
    ("capital True", "key = \"on\"", "brake = True", 34, "NotToml"),
    (
        "cleaned part",
        "key = \"on\"",
        "clean = \"air_meter\"",
        34,
        r#"NotOneOf { key: "clean", one_of: ["throttle_body""#,
    ),
    (
        "leak",
        "key = \"on\"",
        "leak_mm2 = 61",
        34,
        r#"OutOfRange { key: "leak_mm2", low: 0.0, high: 60.0, unit: "mm²""#,
    ),
    (
        "wait",
        "wait_s = 5",
        "wait_s = 500000000",
        38,
        r#"OutOfRange { key: "wait_s", low: 0.0, high: 400000000.0, unit: "s""#,
    ),
    (
        "timeout alone",
        "after_s = 2\n",
        "after_s = 2\ntimeout_s = 3\n",
        38,
        r#"GoesWith { key: "timeout_s", one_of: ["when"] }"#,
    ),
    (
        "when without timeout",
        "timeout_s = 60\n",
        "",
        39,
        r#"MissingKey { table: "[[act]]", key: "timeout_s""#,
    ),
    ("timeout 0", "timeout_s = 60", "timeout_s = 0", 42, r#"NotPositive { key: "timeout_s", given: 0.0 }"#),
    ("when without comparison", "mean_rpm >= 700", "mean_rpm", 41, "Condition"),
    ("when with one =", "mean_rpm >= 700", "mean_rpm = 700", 41, "Comparison"),
    ("when without value", "mean_rpm >= 700", "mean_rpm >=", 41, "Condition"),
    (
        "when ranks a word",
        "mean_rpm >= 700",
        "mean_rpm >= high",
        41,
        r#"RanksNumbers { sign: ">=", given: "\"high\"" }"#,
    ),
    ("when without end", "mean_rpm >= 700", "mean_rpm >= inf", 41, r#"NotANumber { given: "\"inf\"" }"#),
    (
        "when with a unit",
        "mean_rpm >= 700",
        "mean_rpm >= 700rpm",
        41,
        r#"NotANumber { given: "\"700rpm\"" }"#,
    ),
    ("when's path", "idle.mean_rpm >= 700", "idle..mean_rpm >= 700", 41, "Path { given: "),
    (
        "load",
        "\"heated_glass\"",
        "\"heated_glas\"",
        43,
        r#"NotOneOf { key: "load", one_of: ["compressor", "heated_glass""#,
    ),
    ("load without on", "on = true\n", "", 39, r#"MissingKey { table: "[[act]]", key: "on""#),
    (
        "on without load",
        "key = \"on\"",
        "key = \"on\"\non = true",
        35,
        r#"GoesWith { key: "on", one_of: ["load"] }"#,
    ),
    (
        "fit's key",
        "serial = \"TB-77\"",
        "error_pct = 3",
        48,
        r#"GoesNotWith { key: "error_pct", with: "part = \"throttle_body\""#,
    ),
    (
        "fit not a table",
        "{ part = \"throttle_body\", serial = \"TB-77\" }",
        "\"x\"",
        48,
        r#"WrongType { key: "fit", wanted: Table, given: Text }"#,
    ),
    (
        "fit without comma",
        "\"throttle_body\", serial",
        "\"throttle_body\" serial",
        48,
        r#"NotToml { says: "missing comma between key-value pairs"#,
    ),
    ("connector", "\"oxygen_sensor_2\"", "\"oxygen_sensor_3\"", 52, r#""injector_1", "injector_2""#),
    (
        "service",
        "\"learn_idle\"",
        "\"learn_idel\"",
        56,
        r#"NotOneOf { key: "service", one_of: ["reset_idle_air""#,
    ),
    ("expectation's time", "at = \"end\"", "at = \"ned\"", 58, "ExpectAt"),
    (
        "expectation without path",
        "what = \"idle.mean_rpm\"\n",
        "",
        57,
        r#"MissingKey { table: "[[expect]]", key: "what""#,
    ),
    ("expectation's path", "\"idle.mean_rpm\"\nmin", "\"idle.\"\nmin", 59, "Path { given: "),
    ("min over max", "min = 650", "min = 751", 60, "MinAboveMax { min: 751.0, max: 750.5 }"),
    ("limit and is", "min = 650", "is = 5", 61, r#"LimitsOrIs { key: "max" }"#),
    (
        "no limit",
        "min = 650\nmax = 750.5\n",
        "",
        57,
        r#"NeedsOneOf { table: "[[expect]]", one_of: ["min", "max", "is"] }"#,
    ),
    (
        "limit as text",
        "min = 650",
        "min = \"650\"",
        60,
        r#"WrongType { key: "min", wanted: Number, given: Text }"#,
    ),
    (
        "is a list",
        "is = false",
        "is = [false]",
        66,
        r#"WrongType { key: "is", wanted: NumberFlagOrText, given: List }"#,
    ),
    ("no why", "why = \"target held\"\n", "", 57, r#"MissingKey { table: "[[expect]]", key: "why""#),
    ("empty why", "\"target held\"", "\"\"", 62, r#"Empty { key: "why" }"#),
    ("date", "min = 650", "min = 2026-01-01", 60, r#"WrongType { key: "min", wanted: Number, given: Date }"#),
    ("open heading", "[[expect]]", "[[expect]", 57, "unclosed array table"),
    ("two on a line", "[[expect]]", "[[expect]] at = 1", 57, r#"NotToml { says: "unexpected key or value"#),
    ("no equals sign", "is = false", "is false", 66, "key with no value, expected `=`"),
    (
        "deep nesting",
        "is = false",
        "is.a.a.a = false",
        66,
        r#"WrongType { key: "is", wanted: NumberFlagOrText, given: Table }"#,
    ),
];

const BROKEN_ACTIONS: &[Case] = &[
    ("a scenario's setup", "run_s = 300", "seed = 3", 6, r#"ActionsStart { given: "\"seed\"" }"#),
    (
        "weather",
        "run_s = 300",
        "[setup.weather]\nambient_c = 3",
        6,
        r#"ActionsStart { given: "\"weather\"" }"#,
    ),
    (
        "run",
        "run_s = 300",
        "run_s = -1",
        6,
        r#"OutOfRange { key: "run_s", low: 0.0, high: 400000000.0, unit: "s""#,
    ),
    ("no title", "title = \"New throttle body\"\n", "", 2, r#"MissingKey { table: "[about]", key: "title""#),
    (
        "no about",
        "[about]\nid = \"trap\"\ntitle = \"New throttle body\"\n",
        "",
        1,
        r#"MissingTable { table: "[about]" }"#,
    ),
    (
        "level",
        "id = \"trap\"",
        "id = \"trap\"\nlevel = 0",
        4,
        r#"NotWhole { key: "level", low: 1.0, high: 3.0"#,
    ),
    ("acts not a list", "[[act]]", "[act]", 7, r#"WrittenAsList { key: "act", table: "[[act]]" }"#),
    ("time", "at_s = 0", "at_s = \"0\"", 9, r#"WrongType { key: "at_s", wanted: Number, given: Text }"#),
    ("no schema", "schema = 1\n", "", 1, r#"MissingKey { table: "", key: "schema""#),
    ("unknown key", "why =", "reason =", 15, r#"{ table: "[[expect]]", key: "\"reason\"""#),
];

/// Keys of parts, sensors, leaks and services: one thing broken each.
const BROKEN_FAULTS: &[Case] = &[
    (
        "exhaust leak",
        "run_s = 600",
        "exhaust_leak_mm2 = 201",
        11,
        r#"OutOfRange { key: "exhaust_leak_mm2", low: 0.0, high: 200.0, unit: "mm²""#,
    ),
    (
        "exhaust leak as text",
        "run_s = 600",
        "exhaust_leak_mm2 = \"much\"",
        11,
        r#"WrongType { key: "exhaust_leak_mm2", wanted: Number, given: Text }"#,
    ),
    (
        "canister",
        "run_s = 600",
        "canister_pct = 100.5",
        11,
        r#"OutOfRange { key: "canister_pct", low: 0.0, high: 100.0, unit: "%""#,
    ),
    (
        "profile's form",
        "run_s = 600",
        "memory_profile = \"very mixed\"",
        11,
        r#"NotAWord { key: "memory_profile", most: 64"#,
    ),
    (
        "profile as number",
        "run_s = 600",
        "memory_profile = 3",
        11,
        r#"WrongType { key: "memory_profile", wanted: Text"#,
    ),
    ("sensor not a list", "run_s = 600", "sensor = 3", 11, r#"WrongType { key: "sensor", wanted: List"#),
    (
        "single bracket of a sensor",
        "[setup.weather]",
        "[setup.sensor]\nsensor = \"pedal\"\n[setup.weather]",
        13,
        r#"WrittenAsList { key: "sensor", table: "[[setup.sensor]]" }"#,
    ),
    (
        "sensor without a name",
        "[setup.weather]",
        "[[setup.sensor]]\ngain = 1.1\n[setup.weather]",
        13,
        r#"MissingKey { table: "[[setup.sensor]]", key: "sensor""#,
    ),
    (
        "sensor's name",
        "[setup.weather]",
        "[[setup.sensor]]\nsensor = \"throttle\"\n[setup.weather]",
        14,
        r#"NotOneOf { key: "sensor", one_of: ["air_meter", "manifold_pressure""#,
    ),
    (
        "sensor's key",
        "[setup.weather]",
        "[[setup.sensor]]\nsensor = \"pedal\"\noffset = 1\n[setup.weather]",
        15,
        r#"UnknownKey { table: "[[setup.sensor]]", key: "\"offset\"""#,
    ),
    (
        "sensor's gain",
        "[setup.weather]",
        "[[setup.sensor]]\nsensor = \"pedal\"\ngain = 0\n[setup.weather]",
        15,
        r#"OutOfRange { key: "gain", low: 0.1, high: 5.0"#,
    ),
    (
        "sensor's wire",
        "[setup.weather]",
        "[[setup.sensor]]\nsensor = \"pedal\"\nwire = \"cut\"\n[setup.weather]",
        15,
        r#"NotOneOf { key: "wire", one_of: ["sound", "open", "to_earth", "to_supply", "loose"], given: "\"cut\"" }"#,
    ),
    (
        "crank sensor's gain",
        "[setup.weather]",
        "[[setup.sensor]]\nsensor = \"crank\"\ngain = 1.1\n[setup.weather]",
        15,
        r#"GoesNotWith { key: "gain", with: "sensor = \"crank\""#,
    ),
    (
        "sensor twice",
        "[setup.weather]",
        "[[setup.sensor]]\nsensor = \"pedal\"\n[[setup.sensor]]\nsensor = \"pedal\"\n[setup.weather]",
        15,
        r#"Twice { what: "[[setup.sensor]]", given: "\"pedal\"" }"#,
    ),
    (
        "hand's exhaust leak",
        "key = \"on\"",
        "exhaust_leak_mm2 = -1",
        34,
        r#"OutOfRange { key: "exhaust_leak_mm2", low: 0.0"#,
    ),
    (
        "hand's sensor",
        "key = \"on\"",
        "sensor = \"pedal\"",
        34,
        r#"WrongType { key: "sensor", wanted: Table, given: Text }"#,
    ),
    (
        "hand's sensor's name",
        "key = \"on\"",
        "sensor = { wire = \"open\" }",
        34,
        r#"MissingKey { table: "sensor", key: "sensor""#,
    ),
    (
        "hand's sensor's lag",
        "key = \"on\"",
        "sensor = { sensor = \"pedal\", lag_s = 31 }",
        34,
        r#"OutOfRange { key: "lag_s", low: 0.0, high: 30.0, unit: "s""#,
    ),
    (
        "too much fuel",
        "key = \"on\"",
        "refuel_l = 121",
        34,
        r#"OutOfRange { key: "refuel_l", low: 0.0, high: 120.0, unit: "L""#,
    ),
    (
        "held speed",
        "key = \"on\"",
        "hold_rpm = 6000",
        34,
        r#"OutOfRange { key: "hold_rpm", low: 1200.0, high: 5000.0, unit: "rpm""#,
    ),
    ("held torque", "key = \"on\"", "hold_rpm = 2000\nhold_nm = 301", 35, r#"OutOfRange { key: "hold_nm""#),
    (
        "torque alone",
        "key = \"on\"",
        "key = \"on\"\nhold_nm = 20",
        35,
        r#"GoesWith { key: "hold_nm", one_of: ["hold_rpm"] }"#,
    ),
    (
        "code alone",
        "key = \"on\"",
        "key = \"on\"\ncode = \"P0171\"",
        35,
        r#"GoesWith { key: "code", one_of: ["service"] }"#,
    ),
    (
        "freeze frame of nothing",
        "\"learn_idle\"",
        "\"read_freeze_frame\"",
        53,
        r#"MissingKey { table: "[[act]]", key: "code""#,
    ),
    (
        "code of another service",
        "\"learn_idle\"",
        "\"read_codes\"\ncode = \"P0171\"",
        57,
        r#"GoesWith { key: "code", one_of: ["service = \"read_freeze_frame\"", "service = \"write_injector_code\""] }"#,
    ),
    (
        "idle without speed",
        "\"learn_idle\"",
        "\"command_idle\"",
        53,
        r#"MissingKey { table: "[[act]]", key: "idle_rpm""#,
    ),
    (
        "idle speed",
        "\"learn_idle\"",
        "\"command_idle\"\nidle_rpm = 3001",
        57,
        r#"OutOfRange { key: "idle_rpm", low: 0.0, high: 3000.0, unit: "rpm""#,
    ),
    (
        "idle speed of another service",
        "\"learn_idle\"",
        "\"learn_idle\"\nidle_rpm = 900",
        57,
        r#"GoesWith { key: "idle_rpm", one_of: ["service = \"command_idle\""] }"#,
    ),
];

/// Keys of the battery, its record, what is wired to it, of rests and of being driven on: one thing broken each, in
/// place of a hand.
const BROKEN_BATTERY: &[(&str, &str)] = &[
    (
        "fit = { part = \"battery\", battery_type = \"gel\" }",
        r#"NotOneOf { key: "battery_type", one_of: ["flooded", "agm""#,
    ),
    (
        "fit = { part = \"battery\", rated_ah = 201 }",
        r#"OutOfRange { key: "rated_ah", low: 20.0, high: 200.0, unit: "Ah""#,
    ),
    (
        "fit = { part = \"battery\", cold_a = 99 }",
        r#"OutOfRange { key: "cold_a", low: 100.0, high: 1500.0, unit: "A""#,
    ),
    (
        "fit = { part = \"battery\", charge_pct = 101 }",
        r#"OutOfRange { key: "charge_pct", low: 5.0, high: 100.0, unit: "%""#,
    ),
    (
        "fit = { part = \"battery\", wear_pct = 99 }",
        r#"OutOfRange { key: "wear_pct", low: 0.0, high: 98.0, unit: "%""#,
    ),
    (
        "service = \"enter_battery_record\"",
        r#"MissingChoice { table: "[[act]]", key: "battery_type", one_of: ["flooded", "agm"] }"#,
    ),
    (
        "service = \"enter_battery_record\"\nbattery_type = \"agm\"",
        r#"MissingKey { table: "[[act]]", key: "rated_ah" }"#,
    ),
    (
        "service = \"enter_battery_record\"\nbattery_type = \"glass\"\nrated_ah = 70",
        r#"NotOneOf { key: "battery_type", one_of: ["flooded", "agm""#,
    ),
    (
        "service = \"enter_battery_record\"\nbattery_type = \"agm\"\nrated_ah = 10",
        r#"OutOfRange { key: "rated_ah", low: 20.0, high: 200.0, unit: "Ah", given: 10.0 }"#,
    ),
    (
        "service = \"read_battery_record\"\nrated_ah = 70",
        r#"GoesWith { key: "rated_ah", one_of: ["service = \"enter_battery_record\""] }"#,
    ),
    ("key = \"on\"\nbattery_type = \"agm\"", r#"GoesWith { key: "battery_type", one_of: ["service"] }"#),
    ("accessory_a = -1", r#"OutOfRange { key: "accessory_a", low: 0.0, high: 30.0, unit: "A""#),
    ("accessory_a = 31", r#"OutOfRange { key: "accessory_a", low: 0.0, high: 30.0, unit: "A""#),
    ("accessory_a = 5\npast_sensor = \"yes\"", r#"WrongType { key: "past_sensor", wanted: Flag"#),
    (
        "key = \"on\"\npast_sensor = true",
        r#"GoesWith { key: "past_sensor", one_of: ["accessory_a", "charger_a"] }"#,
    ),
    ("charger_a = 51", r#"OutOfRange { key: "charger_a", low: 0.0, high: 50.0, unit: "A""#),
    ("rest_h = 0", r#"OutOfRange { key: "rest_h", low: 0.1, high: 8760.0, unit: "h""#),
    ("rest_h = \"long\"", r#"WrongType { key: "rest_h", wanted: Number"#),
    ("rest_h = 8\ndays = 2", r#"GoesWith { key: "days", one_of: ["drive_on"] }"#),
    ("drive_on = \"moon\"\nminutes = 20\ntrips = 2\ndays = 30", r#"NotOneOf { key: "drive_on""#),
    ("drive_on = \"town\"\ntrips = 2\ndays = 30", r#"MissingKey { table: "[[act]]", key: "minutes" }"#),
    ("drive_on = \"town\"\nminutes = 20\ndays = 30", r#"MissingKey { table: "[[act]]", key: "trips" }"#),
    ("drive_on = \"town\"\nminutes = 20\ntrips = 2", r#"MissingKey { table: "[[act]]", key: "days" }"#),
    (
        "drive_on = \"town\"\nminutes = 20\ntrips = 9\ndays = 30",
        r#"NotWhole { key: "trips", low: 1.0, high: 8.0"#,
    ),
    (
        "drive_on = \"town\"\nminutes = 20\ntrips = 2\ndays_a_week = 0\ndays = 30",
        r#"NotWhole { key: "days_a_week", low: 1.0, high: 7.0"#,
    ),
    (
        "drive_on = \"town\"\nminutes = 20\ntrips = 2\ndays = 0",
        r#"NotWhole { key: "days", low: 1.0, high: 3653.0, given: 0.0 }"#,
    ),
    (
        "drive_on = \"town\"\nminutes = 20\ntrips = 2\ndays = 1.5",
        r#"NotWhole { key: "days", low: 1.0, high: 3653.0, given: 1.5 }"#,
    ),
    (
        "drive_on = \"town\"\nminutes = 20\ntrips = 2\ndays = 30\neach = 61",
        r#"NotWhole { key: "each", low: 1.0, high: 60.0, given: 61.0 }"#,
    ),
    (
        "drive_on = \"town\"\nminutes = 20\ntrips = 2\ndays = 30\neach = 2.5",
        r#"NotWhole { key: "each", low: 1.0, high: 60.0, given: 2.5 }"#,
    ),
    ("drive_on = \"town\"\nminutes = 120\ntrips = 8\ndays = 30", "DayTooLong { most: 720.0 }"),
    ("drive = \"town\"\nminutes = 20\ntrips = 2", r#"GoesWith { key: "trips", one_of: ["drive_on"] }"#),
    ("key = \"on\"\nminutes = 5", r#"GoesWith { key: "minutes", one_of: ["drive", "drive_on"] }"#),
    ("key = \"on\"\neach = 5", r#"GoesWith { key: "each", one_of: ["drive_on"] }"#),
];

#[test]
fn trips_every_rule_of_the_battery() {
    for (line, rule) in BROKEN_BATTERY {
        let error = actions(&with(ACTIONS, "key = \"off\"", line)).expect_err(line);
        is_mistake(line, &error.mistake, rule);
    }
}

#[test]
fn trips_every_rule_of_faults() {
    for (name, from, to, line, rule) in BROKEN_FAULTS {
        let error = scenario(&with(SCENARIO, from, to)).expect_err(name);
        assert_error(name, &error, *line, rule);
    }
}

/// A value that a key takes, as it is written.
fn said(fault: &Fault) -> String {
    match fault.says {
        Says::Number(_) | Says::Whole(_) => fault.begins.to_string(),
        Says::OneOf(words) => format!("\"{}\"", words[fault.begins as usize]),
        Says::Flag => "true".into(),
    }
}

/// Every part that is declared takes every key that is declared for it, and no other of the catalogue's.
#[test]
fn trips_keys_that_do_not_go_with_a_part() {
    let every: Vec<&Fault> = PARTS.iter().flat_map(|p| p.faults).collect();
    for key in PartChoice::KEYS {
        assert!(every.iter().any(|f| f.key == *key), "no part takes {key}");
    }
    for part in &PARTS {
        let kind = part.id;
        let place = match part.place {
            Place::Engine => "",
            Place::Cylinder => "cylinder = 2",
            Place::Bank => "bank = 1",
            Place::Sensor => "sensor = \"pedal\"",
        };
        let lines = |more: &str| format!("part = \"{kind}\"\n{place}\n{more}\n");
        let at_setup =
            |more: &str| with(SCENARIO, "part = \"throttle_body\"\ndeposit_um = 60\n", &lines(more));
        scenario(&at_setup("")).unwrap_or_else(|e| panic!("{kind} without a key: {e}"));
        for fault in part.faults {
            let other = fault.with.and_then(|w| part.faults.iter().find(|f| f.key == w));
            let other = other.map_or(String::new(), |f| format!("{} = {}\n", f.key, said(f)));
            let key = format!("{other}{} = {}", fault.key, said(fault));
            scenario(&at_setup(&key)).unwrap_or_else(|e| panic!("{kind} with {key}: {e}"));
        }
        let places = ["cylinder = 1", "bank = 1", "sensor = \"pedal\""];
        let own = part.place.key().unwrap_or_default();
        let strange = every.iter().filter(|f| part.faults.iter().all(|own| own.key != f.key));
        let strange = strange.map(|f| format!("{} = {}", f.key, said(f)));
        let elsewhere = places.iter().filter(|p| !p.starts_with(own) || own.is_empty());
        for key in strange.chain(elsewhere.map(|p| (*p).to_owned())) {
            let name = key.split(' ').next().unwrap_or_default();
            let with_part = format!("part = \"{kind}\"");
            let rule = format!("{:?}", Mistake::GoesNotWith { key: name.to_owned(), with: with_part });
            assert_error(kind, &scenario(&at_setup(&key)).expect_err(&key), 19, &rule);
            // the same in a hand
            let comma = if place.is_empty() { String::new() } else { format!("{place}, ") };
            let fit = format!("fit = {{ part = \"{kind}\", {comma}{key} }}");
            let text = with(SCENARIO, "fit = { part = \"throttle_body\", serial = \"TB-77\" }", &fit);
            assert_error(kind, &scenario(&text).expect_err(&key), 48, &rule);
        }
    }
}

/// A valve cannot stay open and shut, and a part without a fault is written without its key.
#[test]
fn bug_a_valve_stayed_open_and_shut() {
    let vent = |more: &str| {
        let part = format!("part = \"vent_valve\"\n{more}\n");
        scenario(&with(SCENARIO, "part = \"throttle_body\"\ndeposit_um = 60\n", &part))
    };
    let both = vent("stays_open = true\nstays_shut = true").expect_err("both");
    assert_error("both", &both, 19, r#"GoesNotWith { key: "stays_shut", with: "stays_open" }"#);
    let none = vent("stays_open = false").expect_err("false");
    assert_error("false", &none, 18, r#"NotOneOf { key: "stays_open", one_of: ["true"], given: "false" }"#);
    vent("stays_open = true").expect("one of them");
}

/// A profile that the car has not is told of where it stands, with those that it has.
#[test]
fn trips_a_memory_profile_that_the_car_has_not() {
    let read = |name: &str| {
        let text = with(SCENARIO, "run_s = 600", &format!("memory_profile = \"{name}\""));
        let car = crate::bay::PLOVER;
        parse_scenario(&text, FILE, &mut |_| Ok(car.to_owned()))
    };
    for name in ["mixed", "lasting", "volatile"] {
        assert_eq!(read(name).unwrap().setup.memory_profile.as_deref(), Some(name));
    }
    let error = read("lastin").unwrap_err();
    assert_error(
        "profile",
        &error,
        11,
        r#"NoProfile { given: "\"lastin\"", keys: ["lasting", "mixed", "volatile"] }"#,
    );
    assert_eq!((error.column, error.help.as_deref()), (18, Some("lasting")));
}

#[test]
fn exact_faults_and_their_hands_can_be_written() {
    use idlewright::bench::action::{Ill, Sensor, Wire};
    let ill = Ill { gain: 1.1, wire: Wire::Loose, ..Ill::default() };
    let text = "[[setup.sensor]]\nsensor = \"pedal\"\ngain = 1.1\nwire = \"loose\"\n[setup.weather]";
    assert_eq!(
        scenario(&with(SCENARIO, "[setup.weather]", text)).unwrap().setup.ills,
        [(Sensor::Pedal, ill)]
    );
    let text = with(SCENARIO, "run_s = 600", "exhaust_leak_mm2 = 20\ncanister_pct = 70");
    let s = scenario(&text).unwrap().setup;
    assert_eq!((s.faults.exhaust_leak_mm2, s.canister_pct), (20.0, 70.0));
    let cases = [
        ("exhaust_leak_mm2 = 3", Action::ExhaustLeak(3.0)),
        ("refuel_l = 40", Action::Refuel(40.0)),
        ("hold_rpm = 2000\nhold_nm = 30", Action::Hold { rpm: 2000.0, nm: 30.0 }),
        ("sensor = { sensor = \"pedal\", gain = 1.1, wire = \"loose\" }", Action::Sensor(Sensor::Pedal, ill)),
        ("sensor = { sensor = \"crank\" }", Action::Sensor(Sensor::Crank, Ill::default())),
        (
            "service = \"read_freeze_frame\"\ncode = \"P0171\"",
            Action::Ask(DiagRequest::ReadFreezeFrame("P0171".into())),
        ),
        (
            "service = \"command_idle\"\nidle_rpm = 900",
            Action::Ask(DiagRequest::Start(Routine::CommandIdle(900))),
        ),
        ("swap_injectors = [2, 3]", Action::SwapInjectors(2, 3)),
        (
            "service = \"write_injector_code\"\ncylinder = 2\ncode = \"DA2-345-678\"",
            Action::Ask(DiagRequest::WriteInjectorCode { cylinder: 2, code: "DA2-345-678".into() }),
        ),
        (
            "service = \"write_injector_code\"\ncylinder = 2\noff_body = 3",
            Action::CopyInjectorCode { cylinder: 2, body: 3 },
        ),
        ("service = \"read_injector_code\"\ncylinder = 4", Action::Ask(DiagRequest::ReadInjectorCode(4))),
        ("fit = { part = \"module\" }", Action::Fit(PartChoice::new(PartKind::Module))),
        (
            "fit = { part = \"battery\", battery_type = \"agm\", rated_ah = 70, cold_a = 720, charge_pct = 60 }",
            Action::Fit(PartChoice {
                battery_type: Some(BatteryKind::Agm),
                rated_ah: Some(70.0),
                cold_a: Some(720.0),
                charge_pct: Some(60.0),
                ..PartChoice::new(PartKind::Battery)
            }),
        ),
        (
            "service = \"enter_battery_record\"\nbattery_type = \"flooded\"\nrated_ah = 60",
            Action::Ask(DiagRequest::EnterBatteryRecord { kind: BatteryKind::Flooded, rated_ah: 60.0 }),
        ),
        ("service = \"read_battery_record\"", Action::Ask(DiagRequest::ReadBatteryRecord)),
        ("accessory_a = 4.5", Action::Accessory { amps: 4.5, past_sensor: false }),
        ("accessory_a = 4.5\npast_sensor = true", Action::Accessory { amps: 4.5, past_sensor: true }),
        ("charger_a = 30", Action::Charger { amps: 30.0, past_sensor: false }),
        ("charger_a = 30\npast_sensor = true", Action::Charger { amps: 30.0, past_sensor: true }),
        ("rest_h = 8", Action::Rest(8.0)),
        (
            "drive_on = \"town\"\nminutes = 20\ntrips = 2\ndays = 30",
            Action::DriveOn(Life {
                pattern: Name::Town,
                minutes: 20.0,
                trips: 2,
                days_a_week: 7,
                days: 30,
                each: 14,
            }),
        ),
        (
            "fit = { part = \"sensor\", sensor = \"oxygen_1\" }",
            Action::Fit(PartChoice::new(PartKind::Sensor(Sensor::Oxygen1))),
        ),
    ];
    for (line, hand) in cases {
        let file = actions(&with(ACTIONS, "key = \"off\"", line)).unwrap();
        assert_eq!(file.acts[0].hand, hand, "{line}");
    }
}

fn assert_error(name: &str, error: &ScenarioError, line: usize, rule: &str) {
    assert_eq!(error.file, FILE, "{name}");
    assert_eq!(error.line, line, "{name}: {error}");
    is_mistake(name, &error.mistake, rule);
    let told = Told::from(error.clone()).to_string();
    assert!(!told.contains('\n'), "{name}: more than one line: {told}");
}

#[test]
fn trips_every_rule_of_a_scenario() {
    for (name, from, to, line, rule) in BROKEN_SCENARIOS {
        let error = scenario(&with(SCENARIO, from, to)).expect_err(name);
        assert_error(name, &error, *line, rule);
    }
}

/// A word, or a name of `[[vary]]`, without its quotes got words of TOML's own that said nothing of quotes.
#[test]
fn bug_missing_quotes_were_not_named() {
    let help = |from: &str, to: &str| {
        let error = scenario(&with(SCENARIO, from, to)).expect_err(to);
        assert!(matches!(*error.mistake, Mistake::NotToml { .. }), "{to}: {error:?}");
        (error.help.clone(), Told::from(error).to_string())
    };
    for (to, word) in
        [("car = plover", "plover"), ("car = {which}", "{which}"), ("car = plover # ours", "plover")]
    {
        let (help, line) = help("car = \"plover\"", to);
        assert_eq!(help.as_deref(), Some(word), "{to}");
        assert!(line.ends_with(&format!("did you mean \"{word}\"?")), "{line}");
    }
    // what quotes would not mend
    for to in ["car = True", "car = 600 s", "car = \"plover", "car = {which = 1"] {
        assert_eq!(help("car = \"plover\"", to).0, None, "{to}");
    }
}

/// A decimal comma got words of TOML's own, and a file without a schema was not told which one.
#[test]
fn bug_a_decimal_comma_and_a_missing_schema_were_not_told_what_was_meant() {
    let help = |from: &str, to: &str| {
        let error = scenario(&with(SCENARIO, from, to)).expect_err(to);
        (error.help.clone(), Told::from(error).to_string())
    };
    for (comma, point) in [("12,5", "12.5"), ("-7,25", "-7.25"), ("12,5 # cool", "12.5")] {
        let (help, line) = help("ambient_c = 12.5", &format!("ambient_c = {comma}"));
        assert_eq!(help.as_deref(), Some(point), "{line}");
    }
    for no in ["ambient_c = 12,", "ambient_c = ,5", "ambient_c = 1,2,3", "ambient_c = a,5"] {
        assert_eq!(help("ambient_c = 12.5", no).0, None, "{no}");
    }
    assert_eq!(help("schema = 1", "").0.as_deref(), Some("schema = 1"));
    let (curly, line) = help("car = \"plover\"", "car = “plover”");
    assert_eq!(curly.as_deref(), Some("\"plover\""), "{line}");
    // half of the letters alike is no likeness
    assert_eq!(help("key = \"on\"", "routine = \"on\"").0, None);
}

/// Words of the trade that files call otherwise led nowhere, and a tool that needs a point did not say which points there are.
#[test]
fn bug_words_of_the_trade_were_not_told_as_what_files_call_them() {
    let told = |line: &str| {
        let error = actions(&with(ACTIONS, "key = \"off\"", line)).expect_err(line);
        (error.help.clone(), Told::from(error).to_string())
    };
    for (line, meant) in [
        ("replace = { part = \"battery\" }", "fit"),
        ("disconnect = \"battery\"", "unplug"),
        ("key = \"start\"", "crank"),
        ("service = \"erase_codes\"", "clear_codes"),
        ("measure = \"multimeter\"", "voltmeter"),
        ("measure = \"gas_analyser\"", "gas_reading"),
    ] {
        assert_eq!(told(line).0.as_deref(), Some(meant), "{line}");
    }
    let (_, line) = told("measure = \"voltmeter\"");
    assert!(line.contains("needs point = …, which is") && line.contains("battery_post"), "{line}");
}

/// A key of more parts than the reader of TOML takes is shown where it stands.
#[test]
fn bug_more_than_80_levels_pointed_at_the_first_line() {
    let parts = "a.".repeat(90);
    for deep in [
        format!("{parts}a = false"),
        format!("[{parts}a]"),
        format!("[[{parts}a]]"),
        format!("is = {{ {parts}a = false }}"),
        format!("is = {}1{}", "[".repeat(90), "]".repeat(90)),
        format!("is = {}1{}", "{ a = ".repeat(90), " }".repeat(90)),
    ] {
        let short: String = deep.chars().take(20).collect();
        let error = scenario(&with(SCENARIO, "is = false", &deep)).expect_err(&short);
        assert!(matches!(*error.mistake, Mistake::NotToml { .. }), "{short}: {error:?}");
        assert_eq!(error.line, 66, "{short}: {error:?}");
    }
    // on the last line, with and without an end of line
    for end in ["", "\n"] {
        let text = format!("{SCENARIO}\n{parts}a = 1{end}");
        let error = scenario(&text).expect_err("too deep");
        assert_eq!(error.line, text.lines().count(), "{error:?}");
    }
}

#[test]
fn trips_every_rule_of_an_action_file() {
    for (name, from, to, line, rule) in BROKEN_ACTIONS {
        let error = actions(&with(ACTIONS, from, to)).expect_err(name);
        assert_error(name, &error, *line, rule);
    }
}

/// Who writes a file sees the mistakes of all its tables at once, in the order of their lines; a long list is cut short.
#[test]
fn exact_every_table_tells_its_first_mistake() {
    let broken = format!("{ACTIONS}{}", "[[act]]\nid = \"one\"\nat = 1\n[[expect]]\nat = \"ende\"\n");
    let error = actions(&broken).expect_err("two mistakes");
    let told = Told::from(error.clone()).to_string();
    assert_eq!(error.more.len(), 1, "{told}");
    assert!(error.line < error.more[0].line, "{told}");
    assert_eq!(told.lines().count(), 2, "{told}");
    assert!(told.lines().all(|l| l.starts_with(&error.file)), "{told}");
    let many: String = (0..30).map(|k| format!("[[act]]\nid = \"x{k}\"\nat = 1\n")).collect();
    let told = Told::from(actions(&format!("{ACTIONS}{many}")).expect_err("thirty")).to_string();
    assert_eq!(told.lines().count(), 21, "{told}");
    assert!(told.ends_with("and 10 more mistakes"), "{told}");
    // paths as well
    let path =
        |k: u8| format!("[[expect]]\nat = \"end\"\nwhat = \"live.nothing_{k}\"\nmin = 1\nwhy = \"w\"\n");
    let file = actions(&format!("{ACTIONS}{}{}", path(1), path(2))).expect("it reads");
    let error = file.check_paths(FILE, &sample(), &["P0507"]).expect_err("no such values");
    assert_eq!(error.more.len(), 1, "{error}");
}

#[test]
fn exact_errors_read_as_one_line_with_place_and_nearest_word() {
    let told = |from, to| Told::from(scenario(&with(SCENARIO, from, to)).unwrap_err()).to_string();
    assert_eq!(
        told("title =", "titel ="),
        "scenarios/own-test.toml:4:1: [about] has no key \"titel\"; did you mean \"title\"?"
    );
    let caution = told("level = 1", "level = 1\ncautions = [\"hot_part\"]");
    assert!(
        caution.starts_with("scenarios/own-test.toml:6:13: cautions must be carbon_monoxide, "),
        "{caution}"
    );
    assert!(caution.ends_with("(\"hot_part\" given); did you mean \"hot_parts\"?"), "{caution}");
    assert_eq!(
        told("\"oxygen_sensor_2\"", "\"oxigen_sensor_2\""),
        "scenarios/own-test.toml:52:10: unplug must be air_meter, manifold_pressure, \
         throttle_body, coolant_sensor, oxygen_sensor_1 … oxygen_sensor_2, \
         rear_oxygen_sensor_1 … rear_oxygen_sensor_2, crank_sensor, battery, purge_valve, purge_hose, fuel_cap, cam_valve, egr_valve, fan, alternator, pedal, belt, \
         injector_1 … injector_8 or coil_1 … coil_8 \
         (\"oxigen_sensor_2\" given); did you mean \"oxygen_sensor_2\"?"
    );
    assert_eq!(
        told("mean_rpm >= 700", "mean_rpm = 700"),
        "scenarios/own-test.toml:41:23: a comparison must be one of <, <=, >, >=, == and !=; \
         did you mean \"==\"?"
    );
    // Columns count characters, not bytes.
    let keys = [&["part", "cylinder", "bank", "sensor", "serial"], PartChoice::KEYS].concat().join(", ");
    assert_eq!(
        told(
            "fit = { part = \"throttle_body\", serial",
            "fit = { part = \"throttle_body\", \"°µ\" = 1, serial"
        ),
        format!("scenarios/own-test.toml:48:33: fit has no key \"°µ\"; its keys are {keys}")
    );
}

/// The unit of a reading spelt out is farther off in letters than another word; its unit is what is meant.
#[test]
fn bug_a_unit_spelt_out_led_to_a_time() {
    let known =
        ["readings.voltmeter_coolant.at_s", "readings.voltmeter_coolant.v", "readings.voltmeter_pedal.v"];
    let near = |word: &str| idlewright::scenario::nearest(word, &known);
    assert_eq!(near("readings.voltmeter_coolant.volts").as_deref(), Some(known[1]));
    assert_eq!(near("readings.voltmeter_coolnt.v").as_deref(), Some(known[1]));
    assert_eq!(near("readings.voltmeter_coolant.at").as_deref(), Some(known[0]));
}

#[test]
fn exact_the_earliest_of_several_errors_is_told() {
    let text = with(&with(SCENARIO, "is = false", "is = []"), "ambient_c = 12.5", "ambient_c = 99");
    assert_eq!(scenario(&text).unwrap_err().line, 14);
    let text = with(&with(SCENARIO, "seed = 7", "seed = -7"), "minutes = 20", "minutes = 0");
    assert_eq!(scenario(&text).unwrap_err().line, 10);
}

#[test]
fn trips_limits_of_size() {
    let long = format!("{SCENARIO}#{}", "x".repeat(MAX_BYTES));
    assert_error("too large", &scenario(&long).unwrap_err(), 1, "TooLarge { most: 1048576");
    let error = parse_actions_bytes(long.as_bytes(), FILE).unwrap_err();
    assert_error("too large", &error, 1, "TooLarge { most: 1048576");

    let act = |n| format!("[[act]]\nid = \"a{n}\"\nat_s = 500\nkey = \"on\"\n");
    let most: String = (0..MAX_ACTS - 1).map(act).collect();
    actions(&format!("{ACTIONS}{most}")).unwrap();
    let error = actions(&format!("{ACTIONS}{most}{}", act(MAX_ACTS))).unwrap_err();
    assert_error(
        "acts",
        &error,
        16 + 4 * (MAX_ACTS - 1),
        r#"TooMany { what: "[[act]]", most: 2000, given: 2001 }"#,
    );

    let expect = "[[expect]]\nat = 1\nwhat = \"a\"\nis = 1\nwhy = \"w\"\n";
    let most = expect.repeat(MAX_EXPECTS - 1);
    actions(&format!("{ACTIONS}{most}")).unwrap();
    let error = actions(&format!("{ACTIONS}{most}{expect}")).unwrap_err();
    assert_error(
        "expectations",
        &error,
        16 + 5 * (MAX_EXPECTS - 1),
        r#"TooMany { what: "[[expect]]", most: 2000"#,
    );

    let lines = SCENARIO.lines().count();
    let stretch = "[[setup.conditioning]]\ndrive = \"idle\"\nminutes = 119\n";
    let most = stretch.repeat(MAX_STRETCHES - 2);
    scenario(&format!("{SCENARIO}{most}")).unwrap();
    let error = scenario(&format!("{SCENARIO}{most}{stretch}")).unwrap_err();
    assert_error(
        "stretches",
        &error,
        lines + 3 * (MAX_STRETCHES - 2) + 1,
        r#"TooMany { what: "[[setup.conditioning]]", most: 50"#,
    );
    // 30 and 20 minutes stand in the file already; nine stretches of 600 make 5450, the tenth 6050.
    let long = stretch.replace("119", "600");
    scenario(&format!("{SCENARIO}{}", long.repeat(9))).unwrap();
    let error = scenario(&format!("{SCENARIO}{}", long.repeat(10))).unwrap_err();
    assert_error("total", &error, lines + 30, "ConditioningTooLong { most: 6000.0, given: 6050.0 }");
}

#[test]
fn trips_anything_but_utf8() {
    let mut bytes = SCENARIO.as_bytes().to_vec();
    let at = SCENARIO.find("high").unwrap();
    bytes[at] = 0xe9; // é in an older encoding
    let error = parse_scenario_bytes(&bytes, FILE, &mut |_| Ok(String::new())).unwrap_err();
    assert_eq!((error.line, error.column), (4, 16));
    assert_error("encoding", &error, 4, "NotUtf8");
    assert_error("two bytes", &parse_actions_bytes(&[0xff, 0xfe, b's', 0], FILE).unwrap_err(), 1, "NotUtf8");
}

#[test]
fn holds_windows_line_ends_and_a_byte_order_mark() {
    let text = format!("\u{feff}{}", SCENARIO.replace('\n', "\r\n"));
    scenario(&text).unwrap();
    let error = scenario(&with(&text, "seed = 7", "seed = -7")).unwrap_err();
    assert_eq!((error.line, error.column), (10, 8));
    let error = scenario(&with(&text, "schema = 1", "schema = 3")).unwrap_err();
    assert_eq!((error.line, error.column), (1, 10));
}

#[test]
fn trips_paths_that_lead_nowhere() {
    let check = |from: &str, to: &str| {
        scenario(&with(SCENARIO, from, to)).unwrap().check_paths(FILE, &sample(), &["P0171", "P0507"])
    };
    let expect = "what = \"idle.mean_rpm\"\nmin = 650\nmax = 750.5";
    let cases = [
        (
            "idle.mean_rpm >=",
            "idle.mean_rpn >=",
            41,
            r#"NoPath { given: "\"idle.mean_rpn\"" }"#,
            Some("idle.mean_rpm"),
        ),
        (
            "idle.mean_rpm >=",
            "idle.steady >=",
            41,
            r#"PathType { given: "\"idle.steady\"", is: Flag, wanted: Number }"#,
            None,
        ),
        ("idle.mean_rpm >= 700", "idle.gate == true", 41, "is: Word, wanted: Flag }", None),
        (
            "idle.mean_rpm >= 700",
            "learned.closed_stop >= 1",
            41,
            "PathToGroup",
            Some("learned.closed_stop.name"),
        ),
        (expect, "what = \"idle.gate\"\nmax = 3", 59, "is: Word, wanted: Number }", None),
        (expect, "what = \"banks.bank3.long_pct\"\nmax = 3", 59, "NoPath", Some("banks.bank1.long_pct")),
        (expect, "what = \"idle.note.deep\"\nmax = 3", 59, "NoPath", Some("idle.note")),
        (expect, "what = \"live.lambda.2\"\nmax = 3", 59, "NoPath", Some("live.lambda.0")),
        ("P0507.confirmed", "P0570.confirmed", 65, "NoPath", Some("codes.P0507.confirmed")),
        ("P0507.confirmed", "P0507.stored", 65, "NoPath", Some("codes.P0507.confirmed")),
        ("is = false", "is = \"no\"", 65, "is: Flag, wanted: Word }", None),
    ];
    for (from, to, line, rule, help) in cases {
        let error = check(from, to).expect_err(to);
        assert_error(to, &error, line, rule);
        assert_eq!(error.help.as_deref(), help, "{to}: {error}");
    }
    check(expect, "what = \"idle.note\"\nmax = 3").expect("null stands for a value of unknown kind");
    check(expect, "what = \"cylinders.cylinder4.air_mg\"\nmin = 3").unwrap();
    let error = actions(ACTIONS).unwrap().check_paths(FILE, &json!({}), &[]).unwrap_err();
    assert_error("no code known", &error, 13, r#"NoPath { given: "\"codes.P0507.pending\"" }"#);
}

/// Acts, parts of the start, conditions and expectations name only cylinders and banks that the car has.
#[test]
fn trips_on_a_cylinder_or_bank_that_the_car_has_not() {
    let of = |cylinders: usize, banks: usize| {
        let mut sample = sample();
        sample["misfires"] = json!(vec![0; cylinders]);
        sample["trims"] = json!(vec![0; banks]);
        sample
    };
    let check = |from: &str, to: &str, has: (usize, usize)| {
        let read = scenario(&with(SCENARIO, from, to)).unwrap();
        read.check_paths(FILE, &of(has.0, has.1), &["P0171", "P0507"])
    };
    check("high", "high", (4, 2)).expect("the car has all of it");
    let rule = |from: &str, to: &str, has, line: usize, rule: &str| {
        assert_error(to, &check(from, to, has).expect_err(to), line, rule);
    };
    let part = "part = \"injector\"\ncylinder = 3";
    rule(
        part,
        "part = \"injector\"\ncylinder = 7",
        (4, 2),
        19,
        r#"Names { what: "[[setup.part]]", place: "cylinder", number: 7, has: 4 }"#,
    );
    let plug = "unplug = \"oxygen_sensor_2\"";
    rule(plug, plug, (4, 1), 49, r#"ActReaches { act: "meter_off", place: "bank", number: 2, has: 1 }"#);
    for to in [
        "unplug = \"coil_7\"",
        "swap_injectors = [1, 7]",
        "interrupt_pct = 50\ncylinder = 7",
        "service = \"cut_out\"\ncylinder = 7",
        "measure = \"compression\"\ncylinder = 7",
        "measure = \"leak_down\"\ncylinder = 7",
        "measure = \"scope\"\npoint = \"injector_7\"",
        "fit = { part = \"plug\", cylinder = 7 }",
        "watch = [\"misfires_7\"]",
    ] {
        rule(
            plug,
            to,
            (4, 1),
            49,
            r#"ActReaches { act: "meter_off", place: "cylinder", number: 7, has: 4 }"#,
        );
    }
}

/// A start names only parts and sensors that the car has: nobody could put right what is not there.
#[test]
fn trips_on_a_part_or_sensor_that_the_car_has_not() {
    let own = |car: &str, table: &str| {
        format!(
            "schema = 1\n[about]\nid = \"own\"\ntitle = \"t\"\nlevel = 1\ncomplaint = \"c\"\nteaches = \"t\"\n\
             [setup]\ncar = \"{car}\"\nseed = 3\nrun_s = 5\n{table}\n"
        )
    };
    let check = |car: &str, table: &str| {
        let text = own(car, table);
        let file = CARS.iter().find(|(name, _)| *name == car).expect("a car that ships").1;
        let read = parse_scenario(&text, FILE, &mut |_| Ok(file.to_owned())).expect(table);
        read.check_paths(FILE, &sample(), &[])
    };
    let soot = "[[setup.part]]\npart = \"egr_valve\"\nsoot_um = 300";
    let phaser = "[[setup.part]]\npart = \"cam_phaser\"";
    let position = "[[setup.sensor]]\nsensor = \"egr_position\"\nwire = \"open\"";
    let meter = "[[setup.sensor]]\nsensor = \"air_meter\"\nwire = \"open\"";
    for (car, table, given) in [
        ("plover", soot, "egr_valve"),
        ("whimbrel", phaser, "cam_phaser"),
        ("plover", position, "egr_position"),
        ("dunlin", meter, "air_meter"),
    ] {
        let at = &table[2..table.find("]]").expect("a table")];
        let rule = format!("NotOnCar {{ table: \"[[{at}]]\", given: \"{given}\" }}");
        assert_error(table, &check(car, table).expect_err(table), 12, &rule);
    }
    for (car, table) in [("whimbrel", soot), ("dunlin", phaser), ("whimbrel", position), ("plover", meter)] {
        check(car, table).expect(table);
    }
    // nor can a lesson ask for a deed with it
    let lesson = |deed: &str| format!("[[lesson.check]]\nrow = \"proof\"\ndid = \"{deed}\"\nwhy = \"w\"");
    for (car, deed, given) in [
        ("plover", "part.egr_valve", "egr_valve"),
        ("plover", "unplug.egr_valve", "egr_valve"),
        ("dunlin", "hand.sensor_wiring.air_meter", "air_meter"),
        ("whimbrel", "part.cam_phaser", "cam_phaser"),
    ] {
        let rule = format!("NotOnCar {{ table: \"\\\"{deed}\\\"\", given: \"{given}\" }}");
        assert_error(deed, &check(car, &lesson(deed)).expect_err(deed), 14, &rule);
    }
    for (car, deed) in
        [("whimbrel", "part.egr_valve"), ("plover", "hand.sensor_wiring.air_meter"), ("plover", "part")]
    {
        check(car, &lesson(deed)).expect(deed);
    }
}

#[test]
fn exact_paths_name_list_elements_and_lead_back() {
    let sample = sample();
    let all = paths(&sample);
    for path in [
        "time_s",
        "idle.note",
        "codes.P0171.pending",
        "learned.idle_air_light.value",
        "banks.bank2.long_pct",
        "cylinders.cylinder4.air_mg",
        "live.lambda.1",
    ] {
        assert!(all.iter().any(|p| p == path), "{path} is missing from {all:?}");
    }
    assert!(all.iter().all(|path| lookup(&sample, path).is_some()));
    assert_eq!(lookup(&sample, "banks.bank2.long_pct"), Some(json!(-3.0)));
    assert_eq!(lookup(&sample, "cylinders.cylinder4.air_mg"), Some(json!(210.0)));
    assert_eq!(lookup(&sample, "learned.closed_stop.value"), Some(json!(0.5)));
    assert_eq!(lookup(&sample, "live.lambda.1"), Some(json!(0.98)));
    assert_eq!(lookup(&sample, "codes.P0171.pending"), Some(json!(true)));
    assert_eq!(lookup(&sample, "codes.P0300.pending"), Some(json!(false)), "a code that is not stored");
    for path in ["codes.P0300.stored", "codes.P0300", "banks.0.long_pct", "live.lambda.01", "idle.", ""] {
        assert_eq!(lookup(&sample, path), None, "{path}");
    }
    assert_eq!(lookup(&json!({}), "codes.P0300.pending"), None, "no list of codes at all");
}

#[test]
fn exact_conditions_compare() {
    let holds = |text: &str| {
        let file = with(ACTIONS, "at_s = 0", &format!("when = \"{text}\"\ntimeout_s = 1"));
        let Timing::When { condition, .. } = actions(&file).unwrap().acts[0].timing.clone() else {
            panic!("not a condition: {text}")
        };
        condition.holds(&sample())
    };
    let yes = [
        "idle.mean_rpm > 699.9",
        "idle.mean_rpm>=700",
        "idle.mean_rpm <= 700.0000001",
        "idle.mean_rpm == 700.0000001",
        "idle.mean_rpm != 700.1",
        "banks.bank2.long_pct < -2.5",
        "idle.steady == true",
        "idle.gate == open",
        "idle.gate != shut",
        "codes.P0300.confirmed == false",
    ];
    let no = [
        "idle.mean_rpm > 700",
        "idle.mean_rpm < 700.0000001",
        "idle.mean_rpm != 700",
        "idle.steady == false",
        "idle.nowhere == 1",
        "idle.nowhere != 1",
        "idle.note != 1",
        "idle.gate > 1",
    ];
    for text in yes {
        assert!(holds(text), "{text} must hold");
    }
    for text in no {
        assert!(!holds(text), "{text} must not hold");
    }
}

#[test]
fn exact_expectations_are_judged_with_the_value_found() {
    let judge = |form: &str| {
        let file = with(ACTIONS, "what = \"codes.P0507.pending\"\nis = true", form);
        actions(&file).unwrap().expects[0].judge(&sample())
    };
    assert_eq!(judge("what = \"idle.mean_rpm\"\nmin = 700\nmax = 700"), (true, json!(700.0)));
    assert_eq!(judge("what = \"idle.mean_rpm\"\nmin = 701"), (false, json!(700.0)));
    assert_eq!(judge("what = \"idle.mean_rpm\"\nmax = 699"), (false, json!(700.0)));
    assert_eq!(judge("what = \"idle.mean_rpm\"\nis = 700"), (true, json!(700.0)));
    assert_eq!(judge("what = \"idle.gate\"\nis = \"open\""), (true, json!("open")));
    assert_eq!(judge("what = \"codes.P0507.pending\"\nis = true"), (false, json!(false)));
    assert_eq!(judge("what = \"idle.nowhere\"\nis = true"), (false, Value::Null));
    assert_eq!(judge("what = \"idle.gate\"\nmin = 1"), (false, json!("open")));
}

/// Whatever comes in: no panic, and each error is one line about a place in the file.
fn survives(bytes: &[u8]) {
    let results = [
        parse_scenario_bytes(bytes, FILE, &mut |_| Ok(String::new())).err(),
        parse_actions_bytes(bytes, FILE).err(),
    ];
    let lines = bytes.iter().filter(|b| **b == b'\n').count() + 1;
    for error in results.into_iter().flatten() {
        let all: Vec<&ScenarioError> = std::iter::once(&error).chain(&error.more).collect();
        for e in &all {
            assert!((1..=lines).contains(&e.line) && e.column >= 1, "{error:?}");
        }
        assert!(all.is_sorted_by_key(|e| (e.line, e.column)), "{error:?}");
        let told = Told::from(error.clone()).to_string();
        assert_eq!(told.lines().count(), all.len().min(21), "{told:?}");
        assert!(!told.lines().any(|l| l.chars().any(char::is_control)), "{told:?}");
    }
    if let Ok(file) = parse_actions_bytes(bytes, FILE) {
        let _ = file.check_paths(FILE, &sample(), &["P0171"]);
    }
    if let Ok(file) = parse_scenario_bytes(bytes, FILE, &mut |_| Ok(String::new())) {
        let _ = file.check_paths(FILE, &sample(), &["P0171"]);
    }
}

/// Bytes that mean something to the format.
const SPICE: &[u8] = b"[]{}=\"'\\#.,\n\r\t -+_0eE\xc3\x00aSs<>!";

/// Applies one change after another: kind, two places, a byte.
fn mutate(text: &str, changes: &[(u8, usize, usize, u8)]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for (kind, a, b, byte) in changes {
        if bytes.is_empty() {
            break;
        }
        let (i, j) = (a % bytes.len(), b % bytes.len());
        let mut lines: Vec<Vec<u8>> = bytes.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect();
        let (k, l) = (a % lines.len(), b % lines.len());
        match kind % 9 {
            0 => drop(bytes.remove(i)),
            1 => bytes[i] = *byte,
            2 => bytes[i] = SPICE[usize::from(*byte) % SPICE.len()],
            3 => bytes.insert(i, SPICE[usize::from(*byte) % SPICE.len()]),
            4 => bytes.swap(i, j),
            5 => bytes.truncate(i),
            6 => drop(lines.remove(k)),
            7 => lines.insert(l, lines[k].clone()),
            _ => lines.swap(k, l),
        }
        if kind % 9 >= 6 {
            bytes = lines.join(&b'\n');
        }
    }
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn holds_any_bytes_without_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        survives(&bytes);
    }

    #[test]
    fn holds_any_text_of_signs_without_panic(picks in proptest::collection::vec(any::<u8>(), 0..200)) {
        let bytes: Vec<u8> = picks.iter().map(|p| SPICE[usize::from(*p) % SPICE.len()]).collect();
        survives(&bytes);
    }

    #[test]
    fn holds_mutated_files_without_panic(
        changes in proptest::collection::vec((any::<u8>(), any::<usize>(), any::<usize>(), any::<u8>()), 1..6),
    ) {
        survives(&mutate(SCENARIO, &changes));
        survives(&mutate(ACTIONS, &changes));
    }

    #[test]
    fn holds_swapped_values_without_panic(
        picks in proptest::collection::vec((any::<usize>(), any::<usize>()), 1..4),
    ) {
        // Values stay valid TOML, so that the rules behind the parser are reached.
        let mut lines: Vec<String> = SCENARIO.lines().map(str::to_owned).collect();
        for (a, b) in picks {
            let (from, to) = (a % lines.len(), b % lines.len());
            let value = lines[from].split_once(" = ").map(|(_, value)| value.to_owned());
            let key = lines[to].split_once(" = ").map(|(key, _)| key.to_owned());
            if let (Some(key), Some(value)) = (key, value) {
                lines[to] = format!("{key} = {value}");
            }
        }
        survives(lines.join("\n").as_bytes());
    }
}

/// The hands of coded injectors: what they must be given, and what goes with nothing else.
#[test]
fn exact_mistakes_with_injector_codes_are_told() {
    for (line, rule) in [
        ("swap_injectors = [2]", "SwapTwo"),
        ("swap_injectors = [2, 2]", "SwapSame { cylinder: 2 }"),
        ("swap_injectors = [0, 2]", "low: 1.0, high: 8.0, given: 0.0 }"),
        (
            "service = \"write_injector_code\"\ncylinder = 2",
            r#"MissingKey { table: "[[act]]", key: "code" }"#,
        ),
        (
            "service = \"write_injector_code\"\ncode = \"DA2-345-678\"",
            r#"MissingKey { table: "[[act]]", key: "cylinder" }"#,
        ),
        (
            "service = \"write_injector_code\"\ncylinder = 2\ncode = \"DA2-345-678\"\noff_body = 2",
            r#"GoesNotWith { key: "code", with: "off_body" }"#,
        ),
        (
            "service = \"read_codes\"\noff_body = 2",
            r#"GoesWith { key: "off_body", one_of: ["service = \"write_injector_code\""] }"#,
        ),
        ("service = \"read_codes\"\ncylinder = 2", r#""service = \"read_injector_code\""] }"#),
        ("pedal_pct = 3\noff_body = 2", r#"GoesWith { key: "off_body", one_of: ["service"] }"#),
    ] {
        let error = actions(&with(ACTIONS, "key = \"off\"", line)).expect_err(line);
        is_mistake(line, &error.mistake, rule);
    }
}
