//! Facts of an attempt: findings for a row of the rubric, predictions and outcomes of a question, work on the job
//! card, expectations.

use super::{hindrance, sentence};
use crate::bench::not_whole::NotWhole;
use crate::bench::view::PartTruth;
use crate::lesson::facts::{Found, Outcome};
use crate::scenario::Rule;
use crate::session::{Asked, Why, Work};
use crate::words::numbers::{as_written, number, shown_units, signed_measured};
use crate::words::{message_of, name, parts, say};
use serde_json::Value;

/// A finding for a row of the rubric.
pub fn found(what: &Found) -> String {
    match what {
        Found::Check(why) => true_minus(why),
        Found::CauseWas(all) => say!("found-cause-was", causes = all.join("; ")),
        Found::GoodParts(all) if all.is_empty() => say("found-no-good-part"),
        Found::GoodParts(all) => {
            let all: Vec<String> = all.iter().map(|deed| part(deed)).collect();
            say!("found-good-parts", parts = all.join(", "))
        }
        Found::NotWhole(what) => not_whole(what),
        Found::Minutes { spent, par } => {
            say!("found-minutes", spent = number(*spent, 1), par = number(*par, 1))
        }
        Found::Money { spent, par, currency } => {
            // a target that was missed by little must not read as met
            let (spent, par) = (number(*spent, 2), number(*par, 2));
            say!("found-money", spent = spent, par = par, currency = currency.as_str())
        }
        other => sentence("found", other),
    }
}

/// A fault that is left on a car.
pub fn not_whole(what: &NotWhole) -> String {
    let sensor = |id: &str| name("sensor", id);
    match what {
        NotWhole::Part { part: id, key, is } => {
            let one = PartTruth { is: [(key.clone(), *is)].into(), ..PartTruth::default() };
            say!("not-whole-part", part = name("part", id), is = parts::part(&one))
        }
        NotWhole::WrongPart { part: id } => say!("not-whole-wrong-part", part = name("part", id)),
        NotWhole::Sensor { sensor: id } => say!("not-whole-sensor", sensor = sensor(id)),
        NotWhole::Wire { sensor: id } => say!("not-whole-wire", sensor = sensor(id)),
        NotWhole::Unplugged { connector } => {
            say!("not-whole-unplugged", connector = name("connector", connector))
        }
        NotWhole::InletLeak { mm2 } => say!("not-whole-inlet-leak", area = number(*mm2, 1)),
        NotWhole::ExhaustLeak { mm2 } => say!("not-whole-exhaust-leak", area = number(*mm2, 1)),
        NotWhole::Accessory { amps } => say!("not-whole-accessory", amps = number(*amps, 2)),
        NotWhole::Charger => say("not-whole-charger"),
        NotWhole::NotLearned { name: id } => say!("not-whole-not-learned", name = name("learned", id)),
        NotWhole::NotSaved { name: id } => say!("not-whole-not-saved", name = name("learned", id)),
        NotWhole::Learned { name: id, value, needs, unit } => say!(
            "not-whole-learned",
            name = name("learned", id),
            value = signed_measured(*value, unit, 2),
            needs = signed_measured(*needs, unit, 2),
        ),
        other => sentence("not-whole", other),
    }
}

/// The part that a deed `part.coil.3` names.
fn part(deed: &str) -> String {
    match deed.split('.').collect::<Vec<_>>().as_slice() {
        [_, "sensor", which] => say!("part-one-sensor", sensor = name("sensor", which)),
        [_, kind, which] => name("part", &format!("{kind}_{which}")),
        _ => name("part", deed.trim_start_matches("part.")),
    }
}

/// The prediction or the outcome of a question.
pub fn outcome(what: &Outcome) -> String {
    match what {
        Outcome::Number { x, unit } => {
            let units = shown_units();
            let x = if units.unit(unit) == unit { *x } else { units.quantity(*x, unit).0 };
            format!("{} {}", rounded(x), units.unit(unit)).trim_end().to_owned()
        }
        Outcome::Way { way, values } => {
            let way = say(&message_of("way", way));
            match values {
                Some((from, to)) => say!("outcome-way", way = way, from = rounded(*from), to = rounded(*to)),
                None => way,
            }
        }
        Outcome::Choice { says, value: Some(x), .. } => {
            say!("outcome-choice", says = says.as_str(), value = value(x))
        }
        Outcome::Choice { says, value: None, .. } => says.clone(),
        Outcome::NoChoice(x) => say!("outcome-no-choice", value = value(x)),
        Outcome::NoValue => say("said-none"),
    }
}

/// A number with decimals that suit its size.
fn rounded(x: f64) -> String {
    let decimals = match x.abs() {
        a if a >= 100.0 || a == 0.0 || x.fract() == 0.0 => 0,
        a if a >= 10.0 => 1,
        _ => 2,
    };
    number(x, decimals)
}

/// A value that was observed.
pub fn value(x: &Value) -> String {
    match x {
        Value::Null => say("said-none"),
        Value::Bool(true) => say("said-yes"),
        Value::Bool(false) => say("said-no"),
        Value::String(word) => word.clone(),
        x => x.as_f64().map_or_else(|| x.to_string(), rounded),
    }
}

/// An author's words with a true minus sign before their numbers; hyphens inside words stay.
fn true_minus(text: &str) -> String {
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    std::iter::from_fn(|| {
        let c = rest.next()?;
        let number = c == '-' && before == ' ' && rest.peek().is_some_and(char::is_ascii_digit);
        before = c;
        Some(if number { '\u{2212}' } else { c })
    })
    .collect()
}

/// The work that a line of the job card is for.
pub fn work(what: &Work) -> String {
    match what {
        Work::Time => say("work-time"),
        Work::Measure(tool) => say!("work-measure", what = name("tool", tool)),
        Work::Service(service) => say!("work-service", what = name("service", service)),
        Work::Fit(of) => say!("work-fit", what = name("part", of)),
        Work::Hand(hand) => name("hand", hand),
    }
}

/// Why something was judged.
pub fn why(what: &Why) -> String {
    match what {
        Why::Author(why) => why.clone(),
        Why::Hidden => say("line-hidden-why"),
        Why::NotDone { act, because } => match because {
            Some(why) => say!("why-not-done-because", act = act.as_str(), because = hindrance(why)),
            None => say!("why-not-done", act = act.as_str()),
        },
        Why::InVain { act, condition: Some(condition) } => {
            say!("why-waited-for", act = act.as_str(), condition = condition.as_str())
        }
        Why::InVain { act, condition: None } => say!("why-in-vain", act = act.as_str()),
    }
}

/// The requirement on a value.
pub fn asked(what: &Asked) -> String {
    match what {
        Asked::Rule(rule) => of_rule(rule),
        Asked::NotReached(rule) => say!("asked-not-reached", asked = of_rule(rule)),
        Asked::Condition(condition, s) => {
            say!("asked-condition", condition = condition.as_str(), within = as_written(*s))
        }
        Asked::Done => say("asked-done"),
        Asked::Hidden => say("line-hidden"),
    }
}

fn of_rule(rule: &Rule) -> String {
    match rule {
        Rule::Is(Value::Number(x)) => x.as_f64().map_or_else(|| x.to_string(), as_written),
        Rule::Is(x) => value(x),
        Rule::Between { min: Some(a), max: Some(b) } => {
            say!("asked-between", min = as_written(*a), max = as_written(*b))
        }
        Rule::Between { min: Some(a), max: None } => say!("asked-at-least", min = as_written(*a)),
        Rule::Between { min: None, max: Some(b) } => say!("asked-at-most", max = as_written(*b)),
        Rule::Between { min: None, max: None } => say("asked-anything"),
    }
}
