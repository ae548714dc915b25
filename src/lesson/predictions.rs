//! Questions that are put before their outcome is known: whether an answer has the right form, and whether it matches
//! the outcome.
//!
//! *Outside*: when a question is put and where its outcome is found (session), the points for answering ([`super`]).

use crate::bench::action::Said;
use crate::lesson::facts::Outcome;
use crate::scenario::{Ask, AskKind, Mistake, Type};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A question with the answer given and the outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    /// The question's id.
    pub id: String,
    /// The question.
    pub question: String,
    /// The answer given before the outcome; none if none was given.
    pub said: Option<Outcome>,
    /// The outcome; none if the run ended before it.
    pub came: Option<Outcome>,
    /// Whether the two agree; none if one of them is missing.
    pub right: Option<bool>,
    /// When it was put \[s\].
    pub asked_s: f64,
    /// When the outcome was observed \[s\].
    pub looked_s: Option<f64>,
    /// The outcome is what follows this long after the question if nothing is done except what the question says
    /// \[s\]; none if it was observed on the car itself.
    #[serde(default)]
    pub alone_s: Option<f64>,
    /// The explanation.
    pub why: String,
}

/// Checks that an answer has the right form for a question; otherwise says why not.
pub fn fits(ask: &Ask, says: &Said) -> Result<(), Mistake> {
    let wrong = |wanted: Type| Err(Mistake::Answer { ask: ask.id.clone(), wanted });
    match (&ask.kind, says) {
        (AskKind::Number { .. }, Said::Number(x)) if x.is_finite() => Ok(()),
        (AskKind::Number { .. }, _) => wrong(Type::Number),
        (AskKind::Direction { .. }, Said::Word(w)) if ["up", "down", "same"].contains(&w.as_str()) => Ok(()),
        (AskKind::Direction { .. }, _) => wrong(Type::Direction),
        (AskKind::Choice(all), Said::Word(w)) if all.iter().any(|c| c.id == *w) => Ok(()),
        (AskKind::Choice(all), _) => {
            let one_of = all.iter().map(|c| c.id.clone()).collect();
            Err(Mistake::AnswerOneOf { ask: ask.id.clone(), one_of })
        }
    }
}

/// Compares an answer with its outcome. `was` is the value when the question was put, `came` the one observed.
pub fn prediction(
    ask: &Ask,
    said: Option<&Said>,
    was: &Value,
    asked_s: f64,
    came: Option<(&Value, f64)>,
) -> Prediction {
    let outcome = came.map(|(value, _)| outcome(ask, was, value));
    let right = match (said, &outcome) {
        (Some(said), Some((_, Some(true_answer)))) => Some(match (said, true_answer) {
            (Said::Number(a), Said::Number(b)) => {
                matches!(ask.kind, AskKind::Number { within, .. } if (a - b).abs() <= within)
            }
            (a, b) => a == b,
        }),
        (Some(_), Some((_, None))) => Some(false),
        _ => None,
    };
    Prediction {
        id: ask.id.clone(),
        question: ask.question.clone(),
        said: said.map(|s| answer(ask, s)),
        came: outcome.map(|o| o.0),
        right,
        asked_s,
        looked_s: came.map(|c| c.1),
        alone_s: ask.after_s,
        why: ask.why.clone(),
    }
}

/// An answer as it is reported.
fn answer(ask: &Ask, said: &Said) -> Outcome {
    match (said, &ask.kind) {
        (Said::Number(x), AskKind::Number { unit, .. }) => Outcome::Number { x: *x, unit: unit.clone() },
        (Said::Number(x), _) => Outcome::Number { x: *x, unit: String::new() },
        (Said::Word(w), AskKind::Choice(all)) => {
            let says = all.iter().find(|c| c.id == *w).map_or_else(|| w.clone(), |c| c.says.clone());
            Outcome::Choice { id: w.clone(), says, value: None }
        }
        (Said::Word(w), _) => Outcome::Way { way: w.clone(), values: None },
    }
}

/// The outcome, and the answer that would have been right; none if no answer was.
fn outcome(ask: &Ask, was: &Value, value: &Value) -> (Outcome, Option<Said>) {
    let nothing = (Outcome::NoValue, None);
    match &ask.kind {
        AskKind::Number { unit, .. } => match value.as_f64() {
            Some(x) => (Outcome::Number { x, unit: unit.clone() }, Some(Said::Number(x))),
            None => nothing,
        },
        AskKind::Direction { same_within } => match (was.as_f64(), value.as_f64()) {
            (Some(a), Some(b)) => {
                let way = match b - a {
                    d if d > *same_within => "up",
                    d if d < -same_within => "down",
                    _ => "same",
                };
                let came = Outcome::Way { way: way.into(), values: Some((a, b)) };
                (came, Some(Said::Word(way.into())))
            }
            _ => nothing,
        },
        AskKind::Choice(all) => match all.iter().find(|c| c.rule.meets(value)) {
            Some(c) => {
                let (id, says, value) = (c.id.clone(), c.says.clone(), Some(value.clone()));
                (Outcome::Choice { id, says, value }, Some(Said::Word(c.id.clone())))
            }
            None => (Outcome::NoChoice(value.clone()), None),
        },
    }
}
