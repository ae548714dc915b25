//! From the file's tables to checked values: the keys that exist, and their rules.
//!
//! *Inside*: the format. *Outside*: TOML, places, and wording for single values (`source`).

use crate::bench::car::{Car, NoCar};
use crate::bench::pattern;
use crate::bench::setup::{Faults, FuelSetup, Record, Setup, Stretch, StretchKind, Weather};
use crate::catalogue::cautions::Caution;
use crate::label::BatteryKind;
use crate::scenario::parts::{read_ills, read_parts};
use crate::scenario::source::{Checked, Item, Tab, is_word, nearest, owned, shown};
use crate::scenario::{
    About, At, Condition, Expect, Lid, MAX_CONDITIONING_MIN, MAX_EXPECTS, MAX_STRETCHES, Mistake, Op,
    OwnCaution, Rule, SCHEMA, ScenarioError, SetupPlaces, Type, Unfilled, gather,
};
use crate::units;
use serde_json::Value;
use toml::de::DeValue;

/// All errors of the parts of a file as one, if there are any; beside a table that the file does not have only the first
/// of them, since the others may follow from its name.
pub(super) fn no_error(unknown: &Checked<()>, errors: &[Option<&ScenarioError>]) -> Checked<()> {
    let all = errors.iter().copied().flatten().chain(unknown.as_ref().err()).cloned();
    match ScenarioError::all(all) {
        None => Ok(()),
        Some(first) if unknown.is_err() => Err(ScenarioError { more: Vec::new(), ..first }),
        Some(all) => Err(all),
    }
}

pub(super) fn check_schema(top: &Tab<'_>) -> Checked<()> {
    let told = |e| ScenarioError { help: Some(format!("schema = {SCHEMA}")), ..e };
    let item = top.need("schema").map_err(told)?;
    if item.number()? == SCHEMA as f64 {
        return Ok(());
    }
    item.fail(Mistake::Schema { schema: SCHEMA })
}

pub(super) fn read_about(tab: &Tab<'_>, whole: bool) -> Checked<About> {
    tab.only(&["id", "title", "level", "complaint", "teaches", "lid", "cautions"])?;
    let prose = |key: &str| match tab.get(key) {
        None if whole => tab.need(key)?.prose(true),
        None => Ok(String::new()),
        Some(item) => item.prose(true),
    };
    let id = tab.need("id")?;
    let id = if whole { id.word(false)? } else { id.id()? };
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
        Some(item) => item.list()?.iter().map(own_caution).collect::<Checked<_>>()?,
    };
    Ok(About { id, title, level, complaint, teaches, lid, cautions })
}

/// A single word is a key of the catalogue; several words are the author's own sentence.
fn own_caution(item: &Item<'_>) -> Checked<OwnCaution> {
    let words = item.prose(true)?;
    if is_word(&words, true) {
        return item.choice(Caution::ALL).map(OwnCaution::Key);
    }
    Ok(OwnCaution::Words(words))
}

pub(super) fn read_run_only(top: &Tab<'_>) -> Checked<Option<f64>> {
    let Some(item) = top.get("setup") else { return Ok(None) };
    let tab = item.table("[setup]")?;
    let is_other = |item: &&Item<'_>| item.key != "run_s";
    if let Some(other) = tab.items.iter().find(is_other) {
        return other.refuse(Mistake::ActionsStart { given: shown(other.key) });
    }
    tab.range("run_s", &units::TIME_S)
}

/// The contents of `[setup]`: the start, the run's length \[s\], and the place of each part in the file.
pub(super) type Start = (Setup, Option<f64>, SetupPlaces);

pub(super) fn read_setup(
    tab: &Tab<'_>,
    car_text: &mut dyn FnMut(&str) -> Result<String, NoCar>,
) -> Checked<Start> {
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
        "fuel_pct",
        "alcohol_pct",
        "station_alcohol_pct",
        "memory_profile",
        "battery_record",
        "same_parts",
        "weather",
        "part",
        "sensor",
        "conditioning",
    ])?;
    // Tables below [setup] may come in any order
    let plain = read_setup_plain(tab, car_text);
    let weather = read_weather(tab);
    let parts = read_parts(tab);
    let ills = read_ills(tab);
    let conditioning = read_conditioning(tab);
    no_error(
        &Ok(()),
        &[
            plain.as_ref().err(),
            weather.as_ref().err(),
            parts.as_ref().err(),
            ills.as_ref().err(),
            conditioning.as_ref().err(),
        ],
    )?;
    let (mut setup, run_s, coolant_c) = plain?;
    setup.weather = weather?;
    setup.coolant_c = coolant_c.unwrap_or(setup.weather.ambient_c);
    let mut places = SetupPlaces::default();
    (places.parts, setup.parts) = parts?.into_iter().unzip();
    (places.sensors, setup.ills) = ills?.into_iter().unzip();
    setup.conditioning = conditioning?;
    Ok((setup, run_s, places))
}

/// The keys directly in `[setup]`: the start without its tables, the run's length and the coolant.
fn read_setup_plain(
    tab: &Tab<'_>,
    car_text: &mut dyn FnMut(&str) -> Result<String, NoCar>,
) -> Checked<(Setup, Option<f64>, Option<f64>)> {
    let car = tab.need("car")?;
    let name = car.text()?;
    check_car_name(&car, name)?;
    let car_toml = car_text(name).or_else(|why| car.refuse(Mistake::NoCar(why)))?;
    let seed = tab.need("seed")?.seed()?;
    let step_deg = match tab.get("step_deg") {
        None => 2.0,
        Some(item) => match item.number()? {
            step if [2.0, 1.0, 0.5].contains(&step) => step,
            step => {
                let (key, one_of) = (item.name(), owned(&["2", "1", "0.5"]));
                return item.fail(Mistake::NotOneOf { key, one_of, given: step.to_string() });
            }
        },
    };
    // only checked here; the value is used where variants are drawn
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
        fuel: FuelSetup {
            full_pct: tab.range("fuel_pct", &units::FUEL_PCT)?.unwrap_or(FuelSetup::default().full_pct),
            alcohol_pct: tab.range("alcohol_pct", &units::ALCOHOL_PCT)?,
            station_pct: tab.range("station_alcohol_pct", &units::ALCOHOL_PCT)?,
        },
        memory_profile,
        battery_record: tab.get("battery_record").map(|item| read_record(&item)).transpose()?,
        conditioning: Vec::new(),
    };
    Ok((setup, run_s, coolant_c))
}

/// A memory profile that the car has. A mistake in the car's own file is reported where that file is read.
fn read_profile(item: &Item<'_>, car_toml: &str) -> Checked<String> {
    let name = item.word(true)?;
    if let Ok(car) = Car::parse(car_toml) {
        let all = car.memory_profiles();
        if !all.contains(&name.as_str()) {
            let mistake = Mistake::NoProfile { given: shown(&name), keys: owned(&all) };
            return Err(item.source.near(item.at, mistake, nearest(&name, &all)));
        }
    }
    Ok(name)
}

/// A shipped car's name, or a path to a car's file; the path must stay in the scenario's folder.
fn check_car_name(item: &Item<'_>, name: &str) -> Checked<()> {
    let given = shown(name);
    if !name.ends_with(".toml") {
        return if is_word(name, true) { Ok(()) } else { item.fail(Mistake::CarName { given }) };
    }
    let plain = |part: &str| !part.is_empty() && part != ".." && !part.contains([':', '\\']);
    if name.split('/').all(plain) && !name.chars().any(char::is_control) {
        return Ok(());
    }
    item.fail(Mistake::CarFile { given })
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

/// The battery entered in the module's record when the car comes in.
fn read_record(item: &Item<'_>) -> Checked<Record> {
    let tab = item.table("battery_record")?;
    tab.only(&["battery_type", "rated_ah", "passed_ah"])?;
    Ok(Record {
        kind: tab.need_choice("battery_type", BatteryKind::ALL)?,
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
        let kind = tab.need_choice("drive", &kinds)?;
        let minutes = tab.need("minutes")?;
        let kind = if let Some(kind) = kind {
            tab.go_with(&["hold_rpm", "hold_nm"], &["drive = \"hold\""])?;
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
            let (most, given) = (MAX_CONDITIONING_MIN, total_min);
            return minutes.fail(Mistake::ConditioningTooLong { most, given });
        }
        stretches.push(stretch);
    }
    Ok(stretches)
}
pub(super) fn read_condition(item: &Item<'_>) -> Checked<Condition> {
    let text = item.text()?;
    let Some(split) = text.find(['<', '>', '=', '!']) else { return item.fail(Mistake::Condition) };
    let (path, rest) = text.split_at(split);
    let Some((sign, op)) = Op::ALL.iter().find(|(sign, _)| rest.starts_with(sign)) else {
        let help = if rest.starts_with('=') { "==" } else { "!=" };
        return Err(item.source.near(item.inside(split), Mistake::Comparison, Some(help.to_owned())));
    };
    let value_text = rest[sign.len()..].trim();
    let value_at = item.inside(text.len() - rest[sign.len()..].trim_start().len());
    let fault = |mistake: Mistake| Err(item.source.error(value_at, mistake));
    check_path_form(item, path.trim())?;
    let value = match value_text {
        "true" => Value::Bool(true),
        "false" => Value::Bool(false),
        "" => return fault(Mistake::Condition),
        number if number.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {
            match number.parse::<f64>() {
                Ok(n) if n.is_finite() => json_number(n),
                _ => return fault(Mistake::NotANumber { given: shown(number) }),
            }
        }
        word if ["nan", "inf", "infinity"].contains(&word.to_lowercase().as_str()) => {
            return fault(Mistake::NotANumber { given: shown(word) });
        }
        word if is_word(word, true) => Value::String(word.to_owned()),
        other => return fault(Mistake::Compared { given: shown(other) }),
    };
    if op.ranks() && !value.is_number() {
        return fault(Mistake::RanksNumbers { sign: (*sign).to_owned(), given: shown(value_text) });
    }
    Ok(Condition { path: path.trim().to_owned(), op: *op, value, place: item.source.place(item.inside(0)) })
}

pub(super) fn read_expects(top: &Tab<'_>) -> Checked<Vec<Expect>> {
    gather(top.tables("expect", "[[expect]]", MAX_EXPECTS)?.iter().map(read_expect))
}

fn read_expect(tab: &Tab<'_>) -> Checked<Expect> {
    tab.only(&["at", "what", "min", "max", "is", "why"])?;
    let at = tab.need("at")?;
    let at = match at.value {
        DeValue::Integer(_) | DeValue::Float(_) => At::Time(at.within(&units::TIME_S)?),
        DeValue::String(text) if text == "end" => At::End,
        _ => return at.fail(Mistake::ExpectAt),
    };
    let what = tab.need("what")?;
    let path = what.text()?;
    check_path_form(&what, path)?;
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

/// The requirement on a value: `is`, or `min` and `max`.
pub(super) fn read_rule(tab: &Tab<'_>) -> Checked<Rule> {
    Ok(match (tab.get("is"), tab.get("min"), tab.get("max")) {
        (Some(is), None, None) => Rule::Is(match is.value {
            DeValue::Boolean(flag) => Value::Bool(*flag),
            DeValue::String(_) => Value::String(is.prose(false)?),
            _ => json_number(is.number_or(Type::NumberFlagOrText)?),
        }),
        (Some(_), Some(other), _) | (Some(_), None, Some(other)) => {
            return other.refuse(Mistake::LimitsOrIs { key: other.name() });
        }
        (None, None, None) => {
            let (table, one_of) = (tab.name.to_owned(), owned(&["min", "max", "is"]));
            return tab.fail(Mistake::NeedsOneOf { table, one_of });
        }
        (None, min, max) => {
            let low = min.map(|item| item.number()).transpose()?;
            let high = max.map(|item| item.number()).transpose()?;
            if let (Some(item), Some(min), Some(max)) = (min, low, high)
                && min > max
            {
                return item.fail(Mistake::MinAboveMax { min, max });
            }
            Rule::Between { min: low, max: high }
        }
    })
}

/// A finite number as JSON, whole numbers without a fraction, so that they read as they were written.
fn json_number(n: f64) -> Value {
    if n.fract() == 0.0 && n.abs() < 9.0e15 { Value::from(n as i64) } else { Value::from(n) }
}

pub(super) fn check_path_form(item: &Item<'_>, path: &str) -> Checked<()> {
    let good = |segment: &str| {
        !segment.is_empty() && segment.trim() == segment && !segment.chars().any(char::is_control)
    };
    if path.split('.').all(good) {
        return Ok(());
    }
    item.fail(Mistake::Path { given: shown(path) })
}
