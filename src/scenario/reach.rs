//! Cylinders, banks, parts, sensors and connectors that a file names but the car does not have.
//!
//! *Inside*: acts, parts of the start, paths and deeds. *Outside*: which act refers to which cylinder or bank
//! ([`Action::reaches`]); what a car has ([`Fitted`]); paths and deeds that are wrong for another reason (`paths`,
//! lesson).
//!
//! The sample observation gives their numbers: it has one line of misfires for each cylinder and one of trims for
//! each bank.

use crate::bench::action::{Action, Connector, PartKind, Sensor};
use crate::bench::car::Car;
use crate::bench::has::Has as Fitted;
use crate::catalogue::parts::Place as Stands;
use crate::scenario::plan::{Plan, Test};
use crate::scenario::{Act, Expect, Mistake, Place, Scenario, ScenarioError, Timing};
use serde_json::Value;

/// Number of cylinders and banks of a car.
struct Has {
    cylinders: usize,
    banks: usize,
}

impl Has {
    fn of(sample: &Value) -> Option<Self> {
        let count = |key: &str| sample.get(key)?.as_array().map(Vec::len).filter(|n| *n > 0);
        Some(Has { cylinders: count("misfires")?, banks: count("trims")? })
    }
    /// The first of these that the car does not have, and how many it has.
    fn lacks(&self, named: &[(Stands, u8)]) -> Option<(&'static str, u8, usize)> {
        named.iter().find_map(|(stands, k)| {
            let (what, has) = match stands {
                Stands::Bank => ("bank", self.banks),
                _ => ("cylinder", self.cylinders),
            };
            (*k == 0 || usize::from(*k) > has).then_some((what, *k, has))
        })
    }
}

/// Cylinders and banks that a path or a deed names by a number at the end of its words.
fn named(words: &str) -> Vec<(Stands, u8)> {
    let after = |word: &str, head: &str| word.strip_prefix(head).and_then(|n| n.parse::<u8>().ok());
    let mut out = Vec::new();
    let mut last = "";
    for word in words.split('.') {
        let (head, number) = word.rsplit_once('_').unwrap_or(("", ""));
        if let Some(k) = after(word, "cylinder") {
            out.push((Stands::Cylinder, k));
        } else if let Some(k) = after(word, "bank") {
            out.push((Stands::Bank, k));
        } else if let Ok(k) = word.parse::<u8>() {
            match last {
                "exhaust" | "back_pressure" | "gas_reading" => out.push((Stands::Bank, k)),
                "injector"
                | "coil"
                | "plug"
                | "valves"
                | "rings"
                | "compression"
                | "leak_down"
                | "spark_interrupter"
                | "cut_out"
                | "write_injector_code"
                | "read_injector_code" => {
                    out.push((Stands::Cylinder, k));
                }
                _ => {}
            }
        } else if let Ok(k) = number.parse::<u8>()
            && ["injector", "misfires", "cylinder_trim"].contains(&head)
        {
            out.push((Stands::Cylinder, k));
        } else if let Some(k) = word.split('_').find_map(|w| after(w, "bank")) {
            out.push((Stands::Bank, k));
        }
        last = word;
    }
    out
}

/// The mistakes in acts and expectations, with their places.
fn of_acts(has: &Has, acts: &[Act], expects: &[Expect]) -> Vec<(Place, Mistake)> {
    let hands = acts.iter().filter_map(|act| {
        let (place, number, has) = has.lacks(&act.hand.reaches())?;
        Some((act.place, Mistake::ActReaches { act: act.id.clone(), place, number, has }))
    });
    let conditions = acts.iter().filter_map(|act| match &act.timing {
        Timing::When { condition, .. } => Some((condition.place, condition.path.as_str())),
        _ => None,
    });
    let paths = conditions.chain(expects.iter().map(|e| (e.place, e.what.as_str())));
    let paths = paths.filter_map(|(place, path)| told(has, place, path));
    hands.chain(paths).collect()
}

fn told(has: &Has, place: Place, words: &str) -> Option<(Place, Mistake)> {
    Some((place, names(format!("\"{words}\""), has.lacks(&named(words))?)))
}

fn names(what: String, (place, number, has): (&'static str, u8, usize)) -> Mistake {
    Mistake::Names { what, place, number, has }
}

/// The deeds that a lesson names, with their places.
fn deeds_of(plan: &Plan) -> Vec<(Place, &String)> {
    let own = plan.rows.iter().flat_map(|r| &r.checks);
    let checks = plan.checks.iter().chain(own);
    let checks = checks.flat_map(|check| check.test.deeds().into_iter().map(|d| (check.place, d)));
    let rows = plan.rows.iter().flat_map(|r| &r.stated_before);
    let lists = plan.needed_parts.iter().chain(&plan.stated_before).chain(rows);
    let asks = plan.asks.iter().flat_map(|ask| ask.before.iter().map(|d| (ask.place, d)));
    checks.chain(lists.map(|(deed, place)| (*place, deed))).chain(asks).collect()
}

/// Cylinders and banks that a lesson's questions, checks and lists name but the car does not have.
fn of_plan(has: &Has, plan: &Plan) -> Vec<(Place, Mistake)> {
    let then = plan.asks.iter().flat_map(|ask| of_acts(has, &ask.then, &[]));
    let asks = plan.asks.iter().map(|ask| (ask.place, &ask.what));
    let own = plan.rows.iter().flat_map(|r| &r.checks);
    let states = plan.checks.iter().chain(own).filter_map(|check| match &check.test {
        Test::State { what, .. } => Some((check.place, what)),
        _ => None,
    });
    let all = asks.chain(states).chain(deeds_of(plan));
    all.filter_map(|(place, words)| told(has, place, words)).chain(then).collect()
}

/// The part, connector or sensor that a deed names, if this car does not have it.
fn absent<'d>(deed: &'d str, has: &Fitted) -> Option<&'d str> {
    let mut words = deed.split('.');
    let (kind, name) = match (words.next()?, words.next()?) {
        ("hand", "sensor_wiring") => ("sensor", words.next()?),
        two => two,
    };
    let sensor = || Sensor::ALL.iter().find(|(s, _)| s.name() == name).map(|(s, _)| has.sensor(*s));
    let there = match kind {
        "part" => {
            let which = words.next();
            let all = PartKind::every(has.cylinders, has.banks);
            let named =
                all.filter(|k| k.name() == name && (which.is_none() || k.which().as_deref() == which));
            named.map(|k| has.part(k).is_ok()).reduce(|a, b| a || b)
        }
        "plug" | "unplug" => {
            let all = Connector::named(has.cylinders);
            all.into_iter().find(|(id, _)| id == name).map(|(_, c)| has.connector(c).is_ok())
        }
        "sensor" => sensor(),
        _ => None,
    };
    (there == Some(false)).then_some(name)
}

fn first(file: &str, faults: Vec<(Place, Mistake)>) -> Result<(), ScenarioError> {
    let first = faults.into_iter().min_by_key(|(place, _)| *place);
    first.map_or(Ok(()), |(place, mistake)| Err(ScenarioError::at(file, place, mistake, None)))
}

/// Acts and expectations of an action file.
pub(super) fn check_acts(
    acts: &[Act],
    expects: &[Expect],
    file: &str,
    sample: &Value,
) -> Result<(), ScenarioError> {
    Has::of(sample).map_or(Ok(()), |has| first(file, of_acts(&has, acts, expects)))
}

/// Parts and sensors at the start, and in deeds, that this car does not have.
fn not_on_car(s: &Scenario, has: &Fitted) -> Vec<(Place, Mistake)> {
    let lacks =
        |table: &str, given: &str| Mistake::NotOnCar { table: table.to_owned(), given: given.to_owned() };
    let parts = s.setup.parts.iter().zip(&s.places.parts).filter(|(part, _)| has.part(part.kind).is_err());
    let sensors = s.setup.ills.iter().zip(&s.places.sensors).filter(|((sensor, _), _)| !has.sensor(*sensor));
    let parts = parts.map(|(part, place)| (*place, lacks("[[setup.part]]", part.kind.name())));
    let sensors = sensors.map(|((s, _), place)| (*place, lacks("[[setup.sensor]]", s.name())));
    let deeds = s.plan.iter().flat_map(deeds_of);
    let deeds = deeds.filter_map(|(place, deed)| {
        let given = absent(deed, has)?;
        Some((place, Mistake::NotOnCar { table: format!("\"{deed}\""), given: given.to_owned() }))
    });
    parts.chain(sensors).chain(deeds).collect()
}

/// Everything that a scenario names.
pub(super) fn check_scenario(s: &Scenario, file: &str, sample: &Value) -> Result<(), ScenarioError> {
    let mut faults = Car::parse(&s.setup.car_toml).map_or(Vec::new(), |car| not_on_car(s, &car.has()));
    if let Some(has) = Has::of(sample) {
        faults.extend(of_acts(&has, &s.acts, &s.expects));
        for (part, place) in s.setup.parts.iter().zip(&s.places.parts) {
            let reaches = Action::Fit(part.clone()).reaches();
            faults.extend(has.lacks(&reaches).map(|l| (*place, names("[[setup.part]]".to_owned(), l))));
        }
        faults.extend(s.plan.iter().flat_map(|plan| of_plan(&has, plan)));
    }
    first(file, faults)
}
