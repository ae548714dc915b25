//! Acts that measure: a workshop tool with its point or part, and the scan tool's list.
//!
//! *Inside*: their keys. *Outside*: other acts (`read`), when a tool may be used ([`crate::bench::tools`]).

use crate::bench::action::Sensor;
use crate::bench::tools::battery::Lead;
use crate::bench::tools::{Look, MOST_WATCHED, Point, Tool};
use crate::link::LiveValues;
use crate::scenario::source::{Checked, Item, Tab, shown};
use crate::scenario::{MAX_BANK, MAX_CYLINDER, Mistake};

/// Names of the test points, including those at injectors and crank sensor for the scope.
fn points(injectors: bool) -> Vec<(String, Point)> {
    let pulses = (1..=MAX_CYLINDER).filter(|_| injectors).map(Point::Injector);
    let crank = injectors.then_some(Point::Pin(Sensor::Crank));
    Point::volts().into_iter().chain(pulses).chain(crank).map(|p| (p.name(), p)).collect()
}

/// Leads that the current clamp goes round; the battery's if none is given.
fn leads() -> Vec<(&'static str, Tool)> {
    let others = Lead::ALL.iter().map(|(name, lead)| (*name, Tool::ClampOn(*lead)));
    std::iter::once(("battery_lead", Tool::AmpereClamp)).chain(others).collect()
}

/// A tool and the values that it needs besides its name.
pub(super) fn read_tool(tab: &Tab<'_>, hand: &Item<'_>) -> Checked<Tool> {
    let tool = hand.choice(Tool::each())?;
    let only = |keys: &[&str], with: &[&str]| {
        let with: Vec<String> = with.iter().map(|tool| format!("measure = \"{tool}\"")).collect();
        tab.go_with(keys, &with)
    };
    if !matches!(tool, Tool::Voltmeter(_) | Tool::Scope(_) | Tool::AmpereClamp) {
        only(&["point"], &["voltmeter", "scope", "ampere_clamp"])?;
    }
    if !matches!(tool, Tool::Inspect(_)) {
        only(&["part"], &["inspect"])?;
    }
    if !matches!(tool, Tool::BackPressure(_) | Tool::GasReading) {
        only(&["bank"], &["back_pressure", "gas_reading"])?;
    }
    if tool.place_key() != Some("cylinder") {
        let at_one = Tool::each().iter().filter(|(_, t)| t.place_key() == Some("cylinder"));
        only(&["cylinder"], &at_one.map(|(name, _)| *name).collect::<Vec<_>>())?;
    }
    Ok(match tool {
        Tool::Voltmeter(_) => Tool::Voltmeter(tab.need_choice("point", &points(false))?),
        Tool::Scope(_) => Tool::Scope(tab.need_choice("point", &points(true))?),
        Tool::AmpereClamp => match tab.get("point") {
            Some(item) => item.choice(&leads())?,
            None => Tool::AmpereClamp,
        },
        Tool::Inspect(_) => Tool::Inspect(tab.need_choice("part", Look::ALL)?),
        Tool::GasReading => match tab.get("bank") {
            Some(item) => Tool::GasAhead(item.count(1, MAX_BANK)?),
            None => Tool::GasReading,
        },
        other => match other.place_key() {
            Some(key) => {
                let most = if key == "bank" { MAX_BANK } else { MAX_CYLINDER };
                other.at(tab.need(key)?.count(1, most)?)
            }
            None => other,
        },
    })
}

/// The scan tool's list.
pub(super) fn read_watch(hand: &Item<'_>) -> Checked<Vec<String>> {
    let names: Vec<(&str, &str)> = LiveValues::NAMES.iter().map(|n| (*n, *n)).collect();
    let list = hand.list()?;
    if let Some(beyond) = list.get(MOST_WATCHED) {
        return beyond.fail(Mistake::TooMany { what: hand.name(), most: MOST_WATCHED, given: list.len() });
    }
    let mut out: Vec<String> = Vec::new();
    for item in list {
        let name = item.choice(&names)?;
        if out.iter().any(|n| n == name) {
            return item.fail(Mistake::Twice { what: hand.name(), given: shown(name) });
        }
        out.push(name.to_owned());
    }
    Ok(out)
}
