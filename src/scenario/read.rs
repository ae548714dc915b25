//! From tables of the file to checked values: which keys there are, and their rules.
//!
//! *Inside*: the format. *Outside*: TOML, places and wording of single values (`source`).

use crate::bench::action::{
    Action, Connector, Gear, Ill, Key, Life, Load, Note, PartChoice, PartKind, Said, Sensor, Wire,
};
use crate::bench::car::Car;
use crate::bench::pattern;
use crate::bench::setup::{Faults, Record, Setup, Stretch, StretchKind, Weather};
use crate::catalogue::parts::{Fault, Place, Says};
use crate::label::BatteryKind;
use crate::link::{DiagRequest, Routine};
use crate::scenario::measure::{read_tool, read_watch};
use crate::scenario::source::{Checked, Item, MAX_WORD, Tab, is_word, nearest, shown};
use crate::scenario::{
    About, Act, At, Condition, Expect, Lid, MAX_ACTS, MAX_BANK, MAX_CONDITIONING_MIN, MAX_CYLINDER,
    MAX_EXPECTS, MAX_STRETCHES, Op, Rule, SCHEMA, ScenarioError, Timing, Unfilled,
};
use crate::units;
use serde_json::Value;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// Times closer than this are one time: sums of decimal fractions are not exact \[s\].
const TIME_SLACK_S: f64 = 1e-6;

/// The earliest in the file, if there is one.
pub(super) fn first_error(errors: &[Option<&ScenarioError>]) -> Checked<()> {
    let first = errors.iter().flatten().min_by_key(|e| (e.line, e.column));
    first.map_or(Ok(()), |e| Err((*e).clone()))
}

pub(super) fn check_schema(top: &Tab<'_>) -> Checked<()> {
    let item = top.need("schema")?;
    if item.number()? == SCHEMA as f64 {
        return Ok(());
    }
    item.fail(format!("schema must be {SCHEMA}: this program reads no other"))
}

pub(super) fn read_about(tab: &Tab<'_>, whole: bool) -> Checked<About> {
    tab.only(&["id", "title", "level", "complaint", "teaches", "lid", "cautions"])?;
    let prose = |key: &str| match tab.get(key) {
        None if whole => tab.need(key)?.prose(true),
        None => Ok(String::new()),
        Some(item) => item.prose(true),
    };
    let id = tab.need("id")?.word(false)?;
    let title = tab.need("title")?.prose(false)?;
    let level = match tab.get("level") {
        None if !whole => 0,
        _ => tab.need("level")?.count(1, 3)?,
    };
    let (complaint, teaches) = (prose("complaint")?, prose("teaches")?);
    let lids = [("closed", Lid::Closed), ("open", Lid::Open), ("locked", Lid::Locked)];
    let lid = tab.get("lid").map_or(Ok(Lid::default()), |item| item.choice(&lids))?;
    let cautions = match tab.get("cautions") {
        None => Vec::new(),
        Some(item) => item.list()?.iter().map(|line| line.prose(true)).collect::<Checked<_>>()?,
    };
    Ok(About { id, title, level, complaint, teaches, lid, cautions })
}

pub(super) fn read_run_only(top: &Tab<'_>) -> Checked<Option<f64>> {
    let Some(item) = top.get("setup") else { return Ok(None) };
    let tab = item.table("[setup]")?;
    let is_other = |item: &&Item<'_>| item.key != "run_s";
    if let Some(other) = tab.items.iter().find(is_other) {
        return other.refuse(format!("[setup] of an action file takes run_s only, not {}", shown(other.key)));
    }
    tab.range("run_s", &units::TIME_S)
}

pub(super) fn read_setup(
    tab: &Tab<'_>,
    car_text: &mut dyn FnMut(&str) -> Result<String, String>,
) -> Checked<(Setup, Option<f64>)> {
    tab.only(&[
        "car",
        "seed",
        "step_deg",
        "run_s",
        "coolant_c",
        "battery_charge_pct",
        "odometer_km",
        "unmetered_leak_mm2",
        "exhaust_leak_mm2",
        "canister_pct",
        "memory_profile",
        "battery_record",
        "same_parts",
        "weather",
        "part",
        "sensor",
        "conditioning",
    ])?;
    // Tables below [setup] may stand in any order: the earliest error is told.
    let plain = read_setup_plain(tab, car_text);
    let weather = read_weather(tab);
    let parts = read_parts(tab);
    let ills = read_ills(tab);
    let conditioning = read_conditioning(tab);
    first_error(&[
        plain.as_ref().err(),
        weather.as_ref().err(),
        parts.as_ref().err(),
        ills.as_ref().err(),
        conditioning.as_ref().err(),
    ])?;
    let (mut setup, run_s, coolant_c) = plain?;
    setup.weather = weather?;
    setup.coolant_c = coolant_c.unwrap_or(setup.weather.ambient_c);
    setup.parts = parts?;
    setup.ills = ills?;
    setup.conditioning = conditioning?;
    Ok((setup, run_s))
}

/// The keys directly in `[setup]`: the start without its tables, the run's length and the coolant.
fn read_setup_plain(
    tab: &Tab<'_>,
    car_text: &mut dyn FnMut(&str) -> Result<String, String>,
) -> Checked<(Setup, Option<f64>, Option<f64>)> {
    let car = tab.need("car")?;
    let name = car.text()?;
    check_car_name(name).or_else(|rule| car.fail(rule))?;
    let car_toml = car_text(name).or_else(|rule| car.refuse(rule))?;
    let seed = tab.need("seed")?.seed()?;
    let step_deg = match tab.get("step_deg") {
        None => 2.0,
        Some(item) => match item.number()? {
            step if [2.0, 1.0, 0.5].contains(&step) => step,
            step => return item.fail(format!("step_deg must be 2, 1 or 0.5 ({step} given)")),
        },
    };
    // what it says is heard where variants are drawn
    tab.get("same_parts").map_or(Ok(false), |item| item.flag())?;
    let memory_profile = tab.get("memory_profile").map(|item| read_profile(&item, &car_toml)).transpose()?;
    let run_s = tab.range("run_s", &units::TIME_S)?;
    let coolant_c = tab.range("coolant_c", &units::COOLANT_C)?;
    let setup = Setup {
        car_toml,
        seed,
        step_deg,
        weather: Weather::default(),
        coolant_c: 0.0,
        battery_charge_pct: tab.range("battery_charge_pct", &units::CHARGE_PCT)?.unwrap_or(90.0),
        odometer_km: tab.range("odometer_km", &units::ODOMETER_KM)?.unwrap_or(0.0),
        parts: Vec::new(),
        faults: Faults {
            unmetered_leak_mm2: tab.range("unmetered_leak_mm2", &units::LEAK_MM2)?.unwrap_or(0.0),
            exhaust_leak_mm2: tab.range("exhaust_leak_mm2", &units::EXHAUST_LEAK_MM2)?.unwrap_or(0.0),
        },
        ills: Vec::new(),
        canister_pct: tab.range("canister_pct", &units::CANISTER_PCT)?.unwrap_or(10.0),
        memory_profile,
        battery_record: tab.get("battery_record").map(|item| read_record(&item)).transpose()?,
        conditioning: Vec::new(),
    };
    Ok((setup, run_s, coolant_c))
}

/// A memory profile that the car has. A car's file that is itself wrong is told of where it is read.
fn read_profile(item: &Item<'_>, car_toml: &str) -> Checked<String> {
    let name = item.word(true)?;
    if let Ok(car) = Car::parse(car_toml) {
        let all = car.memory_profiles();
        if !all.contains(&name.as_str()) {
            let rule = format!("this car has no memory profile {}; it has {}", shown(&name), all.join(", "));
            let error = item.source.error(item.at, rule);
            return Err(ScenarioError { help: nearest(&name, &all), ..error });
        }
    }
    Ok(name)
}

/// A shipped car's name, or a path to a car's file that leads nowhere but beside the scenario.
fn check_car_name(name: &str) -> Result<(), String> {
    if !name.ends_with(".toml") {
        return if is_word(name, true) {
            Ok(())
        } else {
            Err(format!("car must be a shipped car's name or a path ending in .toml ({} given)", shown(name)))
        };
    }
    let plain = |part: &str| !part.is_empty() && part != ".." && !part.contains([':', '\\']);
    if name.split('/').all(plain) && !name.chars().any(char::is_control) {
        return Ok(());
    }
    Err(format!(
        "a car's file must lie beside the scenario or below it, with / between folders ({} given)",
        shown(name)
    ))
}

fn read_weather(tab: &Tab<'_>) -> Checked<Weather> {
    let mut weather = Weather::default();
    if let Some(item) = tab.get("weather") {
        let tab = item.table("[setup.weather]")?;
        tab.only(&["ambient_c", "ambient_kpa"])?;
        weather.ambient_c = tab.range("ambient_c", &units::AMBIENT_C)?.unwrap_or(weather.ambient_c);
        weather.ambient_kpa = tab.range("ambient_kpa", &units::AMBIENT_KPA)?.unwrap_or(weather.ambient_kpa);
    }
    Ok(weather)
}

fn read_parts(tab: &Tab<'_>) -> Checked<Vec<PartChoice>> {
    let mut parts = Vec::new();
    let mut lines = BTreeMap::new();
    for part in tab.tables("part", "[[setup.part]]", MAX_ACTS)? {
        let choice = read_part(&part)?;
        let line = part.source.place(part.at).line;
        if let Some(first) = lines.insert(choice.kind, line) {
            return Err(part
                .source
                .error(part.at, format!("the same part is already given on line {first}")));
        }
        parts.push(choice);
    }
    Ok(parts)
}

fn read_part(tab: &Tab<'_>) -> Checked<PartChoice> {
    let part_keys = [&["part", "cylinder", "bank", "sensor", "serial"], PartChoice::KEYS].concat();
    tab.only(&part_keys)?;
    let part = tab.need("part")?;
    let kind = part.choice(&PartKind::ALL.map(|k| (k.name(), k)))?;
    let place = kind.place_key();
    let kind = match kind.declared().place {
        Place::Engine => kind,
        Place::Cylinder => kind.at(tab.need("cylinder")?.count(1, MAX_CYLINDER)?),
        Place::Bank => kind.at(tab.need("bank")?.count(1, MAX_BANK)?),
        Place::Sensor => PartKind::Sensor(tab.need("sensor")?.choice(&sensors())?),
    };
    let others: Vec<&str> = part_keys
        .into_iter()
        .filter(|k| !["part", "serial", place.unwrap_or("part")].contains(k) && kind.fault(k).is_none())
        .collect();
    tab.refuse(&others, &format!("does not go with part = {}", shown(part.text()?)))?;
    for fault in kind.faults() {
        if let (Some(item), Some(with)) = (tab.get(fault.key), fault.with)
            && tab.get(with).is_none()
        {
            return item.refuse(format!("{} goes with {with} only", fault.key));
        }
    }
    let mut choice = PartChoice::new(kind);
    if let Some(item) = tab.get("serial") {
        let serial = item.prose(false)?;
        if serial.chars().count() > MAX_WORD {
            return item.fail(format!("serial must be no longer than {MAX_WORD} characters"));
        }
        choice.serial = Some(serial);
    }
    // in the order of all keys, so that the first error told is the same for every part
    for fault in PartChoice::KEYS.iter().filter_map(|key| kind.fault(key)) {
        if let Some(item) = tab.get(fault.key) {
            choice.say(fault.key, Some(read_said_of_part(&item, fault)?));
        }
    }
    Ok(choice)
}

/// What is said of a part, as a number.
fn read_said_of_part(item: &Item<'_>, fault: &Fault) -> Checked<f64> {
    match fault.says {
        Says::Number(range) => item.within(range),
        Says::Whole(range) => item.count(range.low as u8, range.high as u8).map(f64::from),
        Says::Flag => item.flag().map(|on| f64::from(u8::from(on))),
        Says::OneOf(words) => {
            let all: Vec<(&str, usize)> = words.iter().enumerate().map(|(k, w)| (*w, k)).collect();
            item.choice(&all).map(|k| k as f64)
        }
    }
}

/// Names of the sensors in files.
fn sensors() -> Vec<(&'static str, Sensor)> {
    Sensor::ALL.iter().map(|(sensor, name)| (*name, *sensor)).collect()
}

/// What is wrong with a sensor and its wire; nothing given is a sound one.
fn read_ill(tab: &Tab<'_>) -> Checked<(Sensor, Ill)> {
    tab.only(&["sensor", "offset_v", "gain", "lag_s", "noise_v", "stuck", "wire"])?;
    let name = tab.need("sensor")?;
    let sensor = name.choice(&sensors())?;
    if sensor == Sensor::Crank {
        tab.refuse(
            &["offset_v", "gain", "lag_s", "noise_v", "stuck"],
            "does not go with sensor = \"crank\": its wire alone can be ill",
        )?;
    }
    let wires = [
        ("sound", Wire::Sound),
        ("open", Wire::Open),
        ("to_earth", Wire::ToEarth),
        ("to_supply", Wire::ToSupply),
        ("loose", Wire::Loose),
    ];
    let ill = Ill {
        offset_v: tab.range("offset_v", &units::SENSOR_OFFSET_V)?.unwrap_or(0.0),
        gain: tab.range("gain", &units::SENSOR_GAIN)?.unwrap_or(1.0),
        lag_s: tab.range("lag_s", &units::SENSOR_LAG_S)?.unwrap_or(0.0),
        noise_v: tab.range("noise_v", &units::SENSOR_NOISE_V)?.unwrap_or(0.0),
        stuck: tab.get("stuck").map_or(Ok(false), |item| item.flag())?,
        wire: tab.get("wire").map_or(Ok(Wire::Sound), |item| item.choice(&wires))?,
    };
    Ok((sensor, ill))
}

fn read_ills(tab: &Tab<'_>) -> Checked<Vec<(Sensor, Ill)>> {
    let mut ills: Vec<(Sensor, Ill)> = Vec::new();
    for tab in tab.tables("sensor", "[[setup.sensor]]", MAX_ACTS)? {
        let (sensor, ill) = read_ill(&tab)?;
        if ills.iter().any(|(other, _)| *other == sensor) {
            return tab.fail(format!("the sensor {} is already given", shown(sensor.name())));
        }
        ills.push((sensor, ill));
    }
    Ok(ills)
}

/// What the module counts on as its battery when the car comes in.
fn read_record(item: &Item<'_>) -> Checked<Record> {
    let tab = item.table("battery_record")?;
    tab.only(&["battery_type", "rated_ah", "passed_ah"])?;
    Ok(Record {
        kind: tab.need("battery_type")?.choice(BatteryKind::ALL)?,
        rated_ah: tab.need("rated_ah")?.within(&units::RATED_AH)?,
        passed_ah: tab.need("passed_ah")?.within(&units::PASSED_AH)?,
    })
}

fn read_conditioning(tab: &Tab<'_>) -> Checked<Vec<Stretch>> {
    let mut stretches = Vec::new();
    let mut total_min = 0.0;
    for tab in tab.tables("conditioning", "[[setup.conditioning]]", MAX_STRETCHES)? {
        tab.only(&["drive", "minutes", "wear_factor", "hold_rpm", "hold_nm"])?;
        let mut kinds = vec![("idle", Some(StretchKind::Idle)), ("hold", None)];
        kinds.extend(pattern::Name::ALL.iter().map(|(word, n)| (*word, Some(StretchKind::Pattern(*n)))));
        let kind = tab.need("drive")?.choice(&kinds)?;
        let minutes = tab.need("minutes")?;
        let kind = if let Some(kind) = kind {
            tab.refuse(&["hold_rpm", "hold_nm"], "goes with drive = \"hold\" only")?;
            kind
        } else {
            let rpm = tab.need("hold_rpm")?.within(&units::HOLD_RPM)?;
            StretchKind::Hold { rpm, nm: tab.range("hold_nm", &units::HOLD_NM)?.unwrap_or(0.0) }
        };
        let stretch = Stretch {
            kind,
            minutes: minutes.within(&units::STRETCH_MIN)?,
            wear_factor: tab.range("wear_factor", &units::WEAR_FACTOR)?.unwrap_or(1.0),
        };
        total_min += stretch.minutes;
        if total_min > MAX_CONDITIONING_MIN {
            return minutes.fail(format!(
                "all stretches together must be no longer than {MAX_CONDITIONING_MIN} min \
                 ({total_min} up to here)"
            ));
        }
        stretches.push(stretch);
    }
    Ok(stretches)
}

pub(super) fn read_acts(top: &Tab<'_>) -> Checked<Vec<Act>> {
    let mut acts = Vec::new();
    let mut lines: BTreeMap<String, usize> = BTreeMap::new();
    // The earliest moment at which the next act can come, as far as the file alone tells.
    let mut earliest_s = 0.0;
    for tab in top.tables("act", "[[act]]", MAX_ACTS)? {
        tab.only(ACT_KEYS)?;
        let id = tab.need("id")?;
        let name = id.word(true)?;
        let place = tab.source.place(tab.at);
        if let Some(line) = lines.insert(name.clone(), place.line) {
            return id.fail(format!("the id {} is already used by the act on line {line}", shown(&name)));
        }
        let time = tab.one_of(&["at_s", "after_s", "when"], "one time for its hand")?;
        if time.key != "when" {
            tab.refuse(&["timeout_s"], "goes with when only")?;
        }
        let timing = match time.key {
            "when" => {
                let condition = read_condition(&time)?;
                let limit = tab.need("timeout_s")?;
                let timeout_s = limit.within(&units::TIME_S)?;
                if timeout_s <= 0.0 {
                    return limit.fail("timeout_s must be more than 0 s".to_owned());
                }
                Timing::When { condition, timeout_s }
            }
            "after_s" => {
                let after_s = time.within(&units::TIME_S)?;
                earliest_s += after_s;
                Timing::After(after_s)
            }
            _ => {
                let at_s = time.within(&units::TIME_S)?;
                if at_s < earliest_s - TIME_SLACK_S {
                    return time.fail(format!(
                        "at_s must not fall: the acts before it end at {earliest_s} s or later ({at_s} given)"
                    ));
                }
                earliest_s = at_s;
                Timing::At(at_s)
            }
        };
        let (hand, wait_s) = read_hand(&tab)?;
        // other hands may do their part while the car is driven
        if hand == Action::Wait {
            earliest_s += wait_s;
        }
        acts.push(Act { id: name, timing, hand, wait_s, place, drawn: tab.drawn() });
    }
    Ok(acts)
}

/// Keys of an act that say what is done.
const HANDS: &[&str] = &[
    "key",
    "pedal_pct",
    "brake",
    "gear",
    "load",
    "fit",
    "unplug",
    "plug",
    "clean",
    "leak_mm2",
    "exhaust_leak_mm2",
    "sensor",
    "refuel_l",
    "swap_injectors",
    "interrupt_pct",
    "service",
    "measure",
    "watch",
    "wait_s",
    "drive",
    "drive_on",
    "rest_h",
    "accessory_a",
    "hold_rpm",
    "cautions",
    "cause",
    "predict",
    "note",
];

/// All keys of an act.
const ACT_KEYS: &[&str] = &[
    "id",
    "at_s",
    "after_s",
    "when",
    "timeout_s",
    "key",
    "pedal_pct",
    "brake",
    "gear",
    "load",
    "on",
    "fit",
    "unplug",
    "plug",
    "clean",
    "leak_mm2",
    "exhaust_leak_mm2",
    "sensor",
    "refuel_l",
    "swap_injectors",
    "interrupt_pct",
    "cylinder",
    "service",
    "off_body",
    "code",
    "idle_rpm",
    "measure",
    "point",
    "part",
    "bank",
    "watch",
    "wait_s",
    "drive",
    "minutes",
    "drive_on",
    "trips",
    "days_a_week",
    "days",
    "each",
    "rest_h",
    "accessory_a",
    "past_sensor",
    "battery_type",
    "rated_ah",
    "hold_rpm",
    "hold_nm",
    "cautions",
    "cause",
    "predict",
    "answer",
    "note",
];

/// What is done, and how long time is let pass \[s\].
fn read_hand(tab: &Tab<'_>) -> Checked<(Action, f64)> {
    let hand = tab.one_of(HANDS, "one hand")?;
    if hand.key != "load" {
        tab.refuse(&["on"], "goes with load only")?;
    }
    if hand.key != "service" {
        tab.refuse(&["code", "idle_rpm", "off_body", "battery_type", "rated_ah"], "goes with service only")?;
    }
    if !["interrupt_pct", "service", "measure"].contains(&hand.key) {
        tab.refuse(&["cylinder"], "goes with interrupt_pct, service and measure only")?;
    }
    if !["drive", "drive_on"].contains(&hand.key) {
        tab.refuse(&["minutes"], "goes with drive and drive_on only")?;
    }
    if hand.key != "drive_on" {
        tab.refuse(&["trips", "days_a_week", "days", "each"], "goes with drive_on only")?;
    }
    if hand.key != "accessory_a" {
        tab.refuse(&["past_sensor"], "goes with accessory_a only")?;
    }
    if hand.key != "hold_rpm" {
        tab.refuse(&["hold_nm"], "goes with hold_rpm only")?;
    }
    if hand.key != "predict" {
        tab.refuse(&["answer"], "goes with predict only")?;
    }
    if hand.key != "measure" {
        tab.refuse(&["point", "part", "bank"], "goes with measure only")?;
    }
    let action = match hand.key {
        "key" => Action::Key(hand.choice(&[("off", Key::Off), ("on", Key::On), ("crank", Key::Crank)])?),
        "pedal_pct" => Action::Pedal(hand.within(&units::PEDAL_PCT)?),
        "brake" => Action::Brake(hand.flag()?),
        "gear" => {
            let gears = [("park", Gear::Park), ("neutral", Gear::Neutral), ("drive", Gear::Drive)];
            Action::Gear(hand.choice(&gears)?)
        }
        "load" => Action::Load(hand.choice(Load::ALL)?, tab.need("on")?.flag()?),
        "fit" => Action::Fit(read_part(&hand.table("fit")?)?),
        "unplug" | "plug" => {
            Action::Connector(hand.choice(&Connector::named(MAX_CYLINDER))?, hand.key == "plug")
        }
        "clean" => {
            hand.choice(&[("throttle_body", ())])?;
            Action::CleanThrottle
        }
        "leak_mm2" => Action::Leak(hand.within(&units::LEAK_MM2)?),
        "exhaust_leak_mm2" => Action::ExhaustLeak(hand.within(&units::EXHAUST_LEAK_MM2)?),
        "sensor" => {
            let (sensor, ill) = read_ill(&hand.table("sensor")?)?;
            Action::Sensor(sensor, ill)
        }
        "refuel_l" => Action::Refuel(hand.within(&units::REFUEL_L)?),
        "swap_injectors" => {
            let list = hand.list()?;
            let [a, b] = list.as_slice() else {
                return hand.fail("swap_injectors must name two cylinders, for example [2, 3]".to_owned());
            };
            let (a, second) = (a.count(1, MAX_CYLINDER)?, b);
            let b = second.count(1, MAX_CYLINDER)?;
            if a == b {
                return second
                    .fail(format!("swap_injectors must name two different cylinders ({a} given twice)"));
            }
            Action::SwapInjectors(a, b)
        }
        "service" => read_service(tab, &hand)?,
        "interrupt_pct" => Action::Interrupt(
            tab.need("cylinder")?.count(1, MAX_CYLINDER)?,
            hand.within(&units::INTERRUPT_PCT)?,
        ),
        "hold_rpm" => Action::Hold {
            rpm: hand.within(&units::HOLD_RPM)?,
            nm: tab.range("hold_nm", &units::HOLD_NM)?.unwrap_or(0.0),
        },
        "drive" => {
            let pattern = hand.choice(pattern::Name::ALL)?;
            let minutes = tab.need("minutes")?.within(&units::DRIVE_MIN)?;
            return Ok((Action::Drive { pattern, minutes }, 60.0 * minutes));
        }
        "drive_on" => {
            let life = Life {
                pattern: hand.choice(pattern::Name::ALL)?,
                minutes: tab.need("minutes")?.within(&units::DRIVE_MIN)?,
                trips: tab.need("trips")?.count(1, 8)?,
                days_a_week: tab.get("days_a_week").map_or(Ok(7), |item| item.count(1, 7))?,
                days: tab.need("days")?.whole(&units::LIFE_DAYS)?,
                each: tab.get("each").map_or(Ok(14), |item| item.whole(&units::LIFE_EACH))?,
            };
            if life.minutes * f64::from(life.trips) > MOST_A_DAY_MIN {
                return hand.fail(format!("a day's trips must come to at most {MOST_A_DAY_MIN:.0} minutes"));
            }
            return Ok((Action::DriveOn(life), 86_400.0 * f64::from(life.days)));
        }
        "rest_h" => {
            let hours = hand.within(&units::REST_H)?;
            return Ok((Action::Rest(hours), 3600.0 * hours));
        }
        "accessory_a" => Action::Accessory {
            amps: hand.within(&units::ACCESSORY_A)?,
            past_sensor: tab.get("past_sensor").map_or(Ok(false), |item| item.flag())?,
        },
        "measure" => Action::Measure(read_tool(tab, &hand)?),
        "watch" => Action::Watch(read_watch(&hand)?),
        "cautions" => Action::Note(hand.choice(&[("read", Note::Cautions)])?),
        "cause" => Action::Note(Note::Cause(hand.word(true)?)),
        "predict" => {
            Action::Note(Note::Answer { ask: hand.word(true)?, says: read_said(&tab.need("answer")?)? })
        }
        "note" => {
            let words = hand.prose(false)?;
            if words.chars().count() > MOST_WORDS {
                return hand.fail(format!("note must be no longer than {MOST_WORDS} characters"));
            }
            Action::Note(Note::Words(words))
        }
        _ => return Ok((Action::Wait, hand.within(&units::TIME_S)?)),
    };
    Ok((action, 0.0))
}

/// Most that a car is driven on a day \[min\].
pub(crate) const MOST_A_DAY_MIN: f64 = 720.0;
/// Longest note \[characters\].
const MOST_WORDS: usize = 500;

/// An answer: a number or a word.
pub(super) fn read_said(item: &Item<'_>) -> Checked<Said> {
    match item.value {
        DeValue::String(_) => Ok(Said::Word(item.word(true)?)),
        _ => Ok(Said::Number(item.number_or("a number or a word")?)),
    }
}

/// A service with what it needs besides its name.
fn read_service(tab: &Tab<'_>, hand: &Item<'_>) -> Checked<Action> {
    let request = hand.choice(&services())?;
    let name = hand.text()?;
    let writes = name == "write_injector_code";
    if name != "read_freeze_frame" && !writes {
        tab.refuse(&["code"], "goes with service = \"read_freeze_frame\" or \"write_injector_code\" only")?;
    }
    if !writes {
        tab.refuse(&["off_body"], "goes with service = \"write_injector_code\" only")?;
    }
    if !writes && name != "read_injector_code" && name != "cut_out" {
        let rule = "goes with service = \"cut_out\", \"write_injector_code\" or \"read_injector_code\" only";
        tab.refuse(&["cylinder"], rule)?;
    }
    if name != "enter_battery_record" {
        tab.refuse(&["battery_type", "rated_ah"], "goes with service = \"enter_battery_record\" only")?;
    }
    if name != "command_idle" {
        tab.refuse(&["idle_rpm"], "goes with service = \"command_idle\" only")?;
    }
    let cylinder = || tab.need("cylinder")?.count(1, MAX_CYLINDER);
    Ok(Action::Ask(match request {
        DiagRequest::WriteInjectorCode { .. } => {
            let cylinder = cylinder()?;
            if let Some(body) = tab.get("off_body") {
                tab.refuse(&["code"], "does not go with off_body: it is read off that body")?;
                return Ok(Action::CopyInjectorCode { cylinder, body: body.count(1, MAX_CYLINDER)? });
            }
            DiagRequest::WriteInjectorCode { cylinder, code: tab.need("code")?.word(false)? }
        }
        DiagRequest::ReadInjectorCode(_) => DiagRequest::ReadInjectorCode(cylinder()?),
        DiagRequest::EnterBatteryRecord { .. } => DiagRequest::EnterBatteryRecord {
            kind: tab.need("battery_type")?.choice(BatteryKind::ALL)?,
            rated_ah: tab.need("rated_ah")?.within(&units::RATED_AH)?,
        },
        DiagRequest::ReadFreezeFrame(_) => DiagRequest::ReadFreezeFrame(tab.need("code")?.word(false)?),
        DiagRequest::Start(Routine::CommandIdle(_)) => {
            DiagRequest::Start(Routine::CommandIdle(tab.need("idle_rpm")?.within(&units::IDLE_RPM)? as u16))
        }
        DiagRequest::Start(Routine::CutOut(_)) => {
            DiagRequest::Start(Routine::CutOut(tab.need("cylinder")?.count(1, MAX_CYLINDER)?))
        }
        other => other,
    }))
}

/// Names of what the module can be asked, in files.
fn services() -> Vec<(&'static str, DiagRequest)> {
    let routines = Routine::ALL.iter().map(|(name, routine)| (*name, DiagRequest::Start(*routine)));
    let others = [
        ("read_codes", DiagRequest::ReadCodes),
        ("clear_codes", DiagRequest::ClearCodes),
        ("read_learned", DiagRequest::ReadLearned),
        ("read_live", DiagRequest::ReadLive),
        ("read_readiness", DiagRequest::ReadReadiness),
        ("read_freeze_frame", DiagRequest::ReadFreezeFrame(String::new())),
        ("write_injector_code", DiagRequest::WriteInjectorCode { cylinder: 1, code: String::new() }),
        ("read_injector_code", DiagRequest::ReadInjectorCode(1)),
        (
            "enter_battery_record",
            DiagRequest::EnterBatteryRecord { kind: BatteryKind::Flooded, rated_ah: 0.0 },
        ),
        ("read_battery_record", DiagRequest::ReadBatteryRecord),
        ("command_idle", DiagRequest::Start(Routine::CommandIdle(0))),
        ("cut_out", DiagRequest::Start(Routine::CutOut(0))),
        ("progress", DiagRequest::Progress),
        ("stop", DiagRequest::Stop),
    ];
    routines.chain(others).collect()
}

fn read_condition(item: &Item<'_>) -> Checked<Condition> {
    let text = item.text()?;
    let form = "when must read \"<path> <comparison> <value>\", for example \"idle.mean_rpm > 500\"";
    let Some(split) = text.find(['<', '>', '=', '!']) else { return item.fail(form.to_owned()) };
    let (path, rest) = text.split_at(split);
    let Some((sign, op)) = Op::ALL.iter().find(|(sign, _)| rest.starts_with(sign)) else {
        let help = if rest.starts_with('=') { "==" } else { "!=" };
        let rule = "a comparison must be one of <, <=, >, >=, == and !=";
        let error = item.source.error(item.inside(split), rule);
        return Err(ScenarioError { help: Some(help.to_owned()), ..error });
    };
    let value_text = rest[sign.len()..].trim();
    let value_at = item.inside(text.len() - rest[sign.len()..].trim_start().len());
    let fault = |rule: String| Err(item.source.error(value_at, rule));
    check_path_form(path.trim()).or_else(|rule| item.fail(format!("{form}: {rule}")))?;
    let value = match value_text {
        "true" => Value::Bool(true),
        "false" => Value::Bool(false),
        "" => return fault(form.to_owned()),
        number if number.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {
            match number.parse::<f64>() {
                Ok(n) if n.is_finite() => json_number(n),
                _ => return fault(format!("{} is not a number", shown(number))),
            }
        }
        word if ["nan", "inf", "infinity"].contains(&word.to_lowercase().as_str()) => {
            return fault(format!("a number must be finite ({} given)", shown(word)));
        }
        word if is_word(word, true) => Value::String(word.to_owned()),
        other => {
            return fault(format!(
                "the value must be a number, true, false or one word ({} given)",
                shown(other)
            ));
        }
    };
    if op.ranks() && !value.is_number() {
        return fault(format!("{sign} compares numbers only ({} given)", shown(value_text)));
    }
    Ok(Condition { path: path.trim().to_owned(), op: *op, value, place: item.source.place(item.inside(0)) })
}

pub(super) fn read_expects(top: &Tab<'_>) -> Checked<Vec<Expect>> {
    top.tables("expect", "[[expect]]", MAX_EXPECTS)?.iter().map(read_expect).collect()
}

fn read_expect(tab: &Tab<'_>) -> Checked<Expect> {
    tab.only(&["at", "what", "min", "max", "is", "why"])?;
    let at = tab.need("at")?;
    let at = match at.value {
        DeValue::Integer(_) | DeValue::Float(_) => At::Time(at.within(&units::TIME_S)?),
        DeValue::String(text) if text == "end" => At::End,
        _ => return at.fail("at must be a number of seconds, or \"end\"".to_owned()),
    };
    let what = tab.need("what")?;
    let path = what.text()?;
    check_path_form(path).or_else(|rule| what.fail(rule))?;
    let rule = read_rule(tab)?;
    let because = tab.need("why")?;
    let why = because.prose(true)?;
    let place = tab.source.place(what.inside(0));
    let written = tab.drawn().then(|| Unfilled {
        what: what.raw().unwrap_or(path).to_owned(),
        why: because.raw().unwrap_or(&why).to_owned(),
    });
    Ok(Expect { at, what: path.to_owned(), rule, why, place, unfilled: written })
}

/// What is wanted of a value: `is`, or `min` and `max`.
pub(super) fn read_rule(tab: &Tab<'_>) -> Checked<Rule> {
    Ok(match (tab.get("is"), tab.get("min"), tab.get("max")) {
        (Some(is), None, None) => Rule::Is(match is.value {
            DeValue::Boolean(flag) => Value::Bool(*flag),
            DeValue::String(_) => Value::String(is.prose(false)?),
            _ => json_number(is.number_or("a number, true, false or text")?),
        }),
        (Some(_), Some(other), _) | (Some(_), None, Some(other)) => {
            return other.refuse(format!("{} does not go with is: give min and max, or is", other.key));
        }
        (None, None, None) => return tab.fail(format!("{} needs min or max or both, or is", tab.name)),
        (None, min, max) => {
            let low = min.map(|item| item.number()).transpose()?;
            let high = max.map(|item| item.number()).transpose()?;
            if let (Some(min), Some(low), Some(high)) = (min, low, high)
                && low > high
            {
                return min.fail(format!("min must not be more than max ({low} and {high} given)"));
            }
            Rule::Between { min: low, max: high }
        }
    })
}

/// A finite number as JSON, whole ones without a fraction so that they read as written.
fn json_number(n: f64) -> Value {
    if n.fract() == 0.0 && n.abs() < 9.0e15 { Value::from(n as i64) } else { Value::from(n) }
}

pub(super) fn check_path_form(path: &str) -> Result<(), String> {
    let good = |segment: &str| {
        !segment.is_empty() && segment.trim() == segment && !segment.chars().any(char::is_control)
    };
    if path.split('.').all(good) {
        return Ok(());
    }
    Err(format!("a path is names joined by dots, like \"idle.mean_rpm\" ({} given)", shown(path)))
}
