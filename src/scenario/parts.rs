//! Parts and sensors in a file: which ones are fitted, and what is wrong with them.
//!
//! *Inside*: their keys, which follow from the catalogue. *Outside*: other tables (`read`), single values (`source`).

use crate::bench::action::{Ill, PartChoice, PartKind, Sensor, Wire};
use crate::catalogue::parts::{Fault, Place as Stands, Says};
use crate::scenario::source::{Checked, Item, MAX_WORD, Tab, shown};
use crate::scenario::{MAX_ACTS, MAX_BANK, MAX_CYLINDER, Mistake, Place, gather};
use crate::units;
use std::collections::BTreeMap;

/// The parts that are not simply new, each with its place in the file.
pub(super) fn read_parts(tab: &Tab<'_>) -> Checked<Vec<(Place, PartChoice)>> {
    let mut lines = BTreeMap::new();
    gather(tab.tables("part", "[[setup.part]]", MAX_ACTS)?.into_iter().map(|part| {
        let choice = read_part(&part)?;
        let place = part.source.place(part.at);
        match lines.insert(choice.kind, place.line) {
            Some(line) => part.fail(Mistake::PartTwice { line }),
            None => Ok((place, choice)),
        }
    }))
}

/// A part as it is to be fitted.
pub(super) fn read_part(tab: &Tab<'_>) -> Checked<PartChoice> {
    let part_keys = [&["part", "cylinder", "bank", "sensor", "serial"], PartChoice::KEYS].concat();
    tab.only(&part_keys)?;
    let part = tab.need("part")?;
    let kind = part.choice(&PartKind::ALL.map(|k| (k.name(), k)))?;
    let place = kind.place_key();
    let kind = match kind.declared().place {
        Stands::Engine => kind,
        Stands::Cylinder => kind.at(tab.need("cylinder")?.count(1, MAX_CYLINDER)?),
        Stands::Bank => kind.at(tab.need("bank")?.count(1, MAX_BANK)?),
        Stands::Sensor => PartKind::Sensor(tab.need_choice("sensor", &sensors())?),
    };
    let others: Vec<&str> = part_keys
        .into_iter()
        .filter(|k| !["part", "serial", place.unwrap_or("part")].contains(k) && kind.fault(k).is_none())
        .collect();
    tab.go_not_with(&others, &format!("part = {}", shown(part.text()?)))?;
    for fault in kind.faults() {
        if let (Some(item), Some(with)) = (tab.get(fault.key), fault.with)
            && tab.get(with).is_none()
        {
            return item.refuse(Mistake::GoesWith { key: item.name(), one_of: vec![with.to_owned()] });
        }
    }
    // one part cannot be stuck in two ways
    let flags = kind.faults().iter().filter(|f| matches!(f.says, Says::Flag));
    let mut flags = flags.filter_map(|f| tab.get(f.key));
    if let (Some(first), Some(second)) = (flags.next(), flags.next()) {
        return second.refuse(Mistake::GoesNotWith { key: second.name(), with: first.name() });
    }
    let mut choice = PartChoice::new(kind);
    if let Some(item) = tab.get("serial") {
        let serial = item.prose(false)?;
        if serial.chars().count() > MAX_WORD {
            return item.fail(Mistake::TooLong { key: item.name(), most: MAX_WORD });
        }
        choice.serial = Some(serial);
    }
    // in the order of all keys, so that the first error reported is the same for every part
    for fault in PartChoice::KEYS.iter().filter_map(|key| kind.fault(key)) {
        if let Some(item) = tab.get(fault.key) {
            choice.say(fault.key, Some(read_said_of_part(&item, fault)?));
        }
    }
    Ok(choice)
}

/// A specified property of a part, as a number.
fn read_said_of_part(item: &Item<'_>, fault: &Fault) -> Checked<f64> {
    match fault.says {
        Says::Number(range) => item.within(&range),
        Says::Whole(range) => item.whole_number(range.low, range.high),
        Says::Flag => match item.flag()? {
            true => Ok(1.0),
            // a part without this fault is written without its key
            false => item.fail(Mistake::NotOneOf {
                key: item.name(),
                one_of: vec!["true".to_owned()],
                given: "false".to_owned(),
            }),
        },
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

/// The fault of a sensor and its wiring; if nothing is given, they are sound.
pub(super) fn read_ill(tab: &Tab<'_>) -> Checked<(Sensor, Ill)> {
    tab.only(&["sensor", "offset_v", "gain", "lag_s", "noise_v", "stuck", "wire"])?;
    let name = tab.need("sensor")?;
    let sensor = name.choice(&sensors())?;
    if sensor == Sensor::Crank {
        tab.go_not_with(&["offset_v", "gain", "lag_s", "noise_v", "stuck"], "sensor = \"crank\"")?;
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

/// The sensors that are not as they should be.
pub(super) fn read_ills(tab: &Tab<'_>) -> Checked<Vec<(Place, (Sensor, Ill))>> {
    let mut known: Vec<Sensor> = Vec::new();
    gather(tab.tables("sensor", "[[setup.sensor]]", MAX_ACTS)?.into_iter().map(|tab| {
        let (sensor, ill) = read_ill(&tab)?;
        if known.contains(&sensor) {
            let what = "[[setup.sensor]]".to_owned();
            return tab.fail(Mistake::Twice { what, given: shown(sensor.name()) });
        }
        known.push(sensor);
        Ok((tab.source.place(tab.at), (sensor, ill)))
    }))
}
