//! Acts in a file: when something is done, and what.
//!
//! *Inside*: their keys, which follow from the catalogue. *Outside*: measuring (`measure`), parts (`parts`), single
//! values (`source`).

use crate::bench::action::{Action, Connector, Gear, Key, Life, Load, Note, Said};
use crate::bench::pattern;
use crate::catalogue::hands::{HANDS, keys};
use crate::catalogue::services::{Service, services};
use crate::label::BatteryKind;
use crate::link::{DiagRequest, Routine};
use crate::scenario::measure::{read_tool, read_watch};
use crate::scenario::parts::{read_ill, read_part};
use crate::scenario::read::read_condition;
use crate::scenario::source::{Checked, Item, Tab, shown};
use crate::scenario::{Act, MAX_ACTS, MAX_CYLINDER, Mistake, Timing, Type, gather};
use crate::units;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// Times closer together than this count as equal: sums of decimal fractions are not exact \[s\].
const TIME_SLACK_S: f64 = 1e-6;

pub(super) fn read_acts(top: &Tab<'_>) -> Checked<Vec<Act>> {
    let mut lines: BTreeMap<String, usize> = BTreeMap::new();
    // The earliest time at which the next act can take place, as far as the file alone shows.
    let mut earliest_s = 0.0;
    let tables = top.tables("act", "[[act]]", MAX_ACTS)?;
    gather(tables.iter().map(|tab| read_act(tab, &mut lines, &mut earliest_s)))
}

fn read_act(tab: &Tab<'_>, lines: &mut BTreeMap<String, usize>, earliest_s: &mut f64) -> Checked<Act> {
    tab.only(&[&["id", "at_s", "after_s", "when", "timeout_s"], keys().as_slice()].concat())?;
    let id = tab.need("id")?;
    let name = id.word(true)?;
    let place = tab.source.place(tab.at);
    if let Some(line) = lines.insert(name.clone(), place.line) {
        return id.fail(Mistake::TwiceSince { what: "[[act]]".to_owned(), given: shown(&name), line });
    }
    let time = tab.one_of(&["at_s", "after_s", "when"])?;
    if time.key != "when" {
        tab.go_with(&["timeout_s"], &["when"])?;
    }
    let timing = match time.key {
        "when" => {
            let condition = read_condition(&time)?;
            let limit = tab.need("timeout_s")?;
            let timeout_s = limit.within(&units::TIME_S)?;
            if timeout_s <= 0.0 {
                return limit.fail(Mistake::NotPositive { key: limit.name(), given: timeout_s });
            }
            Timing::When { condition, timeout_s }
        }
        "after_s" => {
            let after_s = time.within(&units::TIME_S)?;
            *earliest_s += after_s;
            Timing::After(after_s)
        }
        _ => {
            let at_s = time.within(&units::TIME_S)?;
            if at_s < *earliest_s - TIME_SLACK_S {
                return time.fail(Mistake::TimeFalls { earliest: *earliest_s, given: at_s });
            }
            *earliest_s = at_s;
            Timing::At(at_s)
        }
    };
    let (hand, wait_s) = read_hand(tab)?;
    let stands = |key: &str| tab.get(key).map(|item| tab.source.place(item.at));
    let hand_place = HANDS.iter().find_map(|h| stands(h.key)).unwrap_or(place);
    let says_place = stands("answer").unwrap_or(hand_place);
    // other acts may take place while the car is driven
    if hand == Action::Wait {
        *earliest_s += wait_s;
    }
    Ok(Act { id: name, timing, hand, wait_s, place, hand_place, says_place, drawn: tab.drawn() })
}

/// Months of use.
fn read_life(tab: &Tab<'_>, hand: &Item<'_>) -> Checked<Life> {
    let life = Life {
        pattern: hand.choice(pattern::Name::ALL)?,
        minutes: tab.need("minutes")?.within(&units::DRIVE_MIN)?,
        trips: tab.need("trips")?.count(1, 8)?,
        days_a_week: tab.get("days_a_week").map_or(Ok(7), |item| item.count(1, 7))?,
        days: tab.need("days")?.whole(&units::LIFE_DAYS)?,
        each: tab.get("each").map_or(Ok(14), |item| item.whole(&units::LIFE_EACH))?,
    };
    if life.minutes * f64::from(life.trips) > MOST_A_DAY_MIN {
        return hand.fail(Mistake::DayTooLong { most: MOST_A_DAY_MIN });
    }
    Ok(life)
}

/// The act, and the time that it lets pass \[s\].
fn read_hand(tab: &Tab<'_>) -> Checked<(Action, f64)> {
    let all: Vec<&str> = HANDS.iter().map(|h| h.key).collect();
    let hand = tab.one_of(&all)?;
    let own = HANDS.iter().find(|h| h.key == hand.key).map_or(&[][..], |h| h.with);
    let goes_with =
        |key: &str| HANDS.iter().filter(|h| h.with.contains(&key)).map(|h| h.key.to_owned()).collect();
    refuse_beside(tab, own, &goes_with)?;
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
                return hand.fail(Mistake::SwapTwo);
            };
            let (a, second) = (a.count(1, MAX_CYLINDER)?, b);
            let b = second.count(1, MAX_CYLINDER)?;
            if a == b {
                return second.fail(Mistake::SwapSame { cylinder: a });
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
            let life = read_life(tab, &hand)?;
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
        "charger_a" => Action::Charger {
            amps: hand.within(&units::CHARGER_A)?,
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
                return hand.fail(Mistake::TooLong { key: hand.name(), most: MOST_WORDS });
            }
            Action::Note(Note::Words(words))
        }
        _ => return Ok((Action::Wait, hand.within(&units::TIME_S)?)),
    };
    Ok((action, 0.0))
}

/// Longest driving time per day \[min\].
pub(crate) const MOST_A_DAY_MIN: f64 = 720.0;
/// Longest note \[characters\].
const MOST_WORDS: usize = 500;

/// An answer: a number or a word. Which word it may be, the question says.
pub(super) fn read_said(item: &Item<'_>) -> Checked<Said> {
    match item.value {
        DeValue::String(_) => Ok(Said::Word(item.prose(false)?)),
        _ => Ok(Said::Number(item.number_or(Type::NumberOrText)?)),
    }
}

/// Refuses a key that belongs to another kind of act.
fn refuse_beside(tab: &Tab<'_>, own: &[&str], with: &dyn Fn(&str) -> Vec<String>) -> Checked<()> {
    let beside = |key: &&str| !with(key).is_empty() && !own.contains(key);
    match tab.items.iter().find(|item| beside(&item.key)) {
        Some(item) => item.refuse(Mistake::GoesWith { key: item.name(), one_of: with(item.key) }),
        None => Ok(()),
    }
}

/// A service and the values that it needs besides its name.
fn read_service(tab: &Tab<'_>, hand: &Item<'_>) -> Checked<Action> {
    let all: Vec<(&str, Service)> = services().map(|s| (s.id(), s)).collect();
    let service = hand.choice(&all)?;
    let goes_with = |key: &str| {
        let takes = all.iter().filter(|s| s.1.takes.contains(&key));
        takes.map(|s| format!("service = \"{}\"", s.0)).collect()
    };
    refuse_beside(tab, service.takes, &goes_with)?;
    let cylinder = || tab.need("cylinder")?.count(1, MAX_CYLINDER);
    Ok(Action::Ask(match service.ask {
        DiagRequest::WriteInjectorCode { .. } => {
            let cylinder = cylinder()?;
            if let Some(body) = tab.get("off_body") {
                tab.go_not_with(&["code"], "off_body")?;
                return Ok(Action::CopyInjectorCode { cylinder, body: body.count(1, MAX_CYLINDER)? });
            }
            DiagRequest::WriteInjectorCode { cylinder, code: tab.need("code")?.word(false)? }
        }
        DiagRequest::ReadInjectorCode(_) => DiagRequest::ReadInjectorCode(cylinder()?),
        DiagRequest::EnterBatteryRecord { .. } => DiagRequest::EnterBatteryRecord {
            kind: tab.need_choice("battery_type", BatteryKind::ALL)?,
            rated_ah: tab.need("rated_ah")?.within(&units::RATED_AH)?,
        },
        DiagRequest::ReadFreezeFrame(_) => DiagRequest::ReadFreezeFrame(tab.need("code")?.word(false)?),
        DiagRequest::Start(Routine::CommandIdle(_)) => {
            DiagRequest::Start(Routine::CommandIdle(tab.need("idle_rpm")?.within(&units::IDLE_RPM)? as u16))
        }
        DiagRequest::Start(Routine::CutOut(_)) => DiagRequest::Start(Routine::CutOut(cylinder()?)),
        other => other,
    }))
}
