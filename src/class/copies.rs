//! Detection of copying: two seats that do the same acts within seconds of each other, repeatedly. It is shown to the
//! instructor and never judged: neighbours who work on the same car may well do the same.

use serde_json::{Value, json};
use std::collections::VecDeque;
use std::time::{Duration, Instant};

/// Acts this close together count as simultaneous.
const CLOSE: Duration = Duration::from_secs(8);
/// Minimum number of equal acts to be reported.
const ENOUGH: usize = 5;
/// Maximum number of acts remembered per seat.
const MOST: usize = 60;

/// The recent acts at a seat: when, and what.
#[derive(Debug, Clone, Default)]
pub struct Lately(VecDeque<(Instant, String)>);

impl Lately {
    /// Adds an act. Acts that everybody does all the time are ignored.
    pub fn add(&mut self, at: Instant, act: &Value) {
        let tells = ["measure", "ask", "fit", "connector", "swap_injectors", "clean_throttle", "drive"];
        let counts = tells.iter().any(|key| act.get(key).is_some() || act == *key);
        if counts {
            if self.0.len() >= MOST {
                self.0.pop_front();
            }
            self.0.push_back((at, act.to_string()));
        }
    }
    /// How many of these acts were done at the other seat at the same time, and the longest time between two of them.
    fn like(&self, other: &Lately) -> (usize, Duration) {
        let apart = |a: Instant, b: Instant| a.max(b).duration_since(a.min(b));
        let near = |(at, act): &(Instant, String)| {
            other
                .0
                .iter()
                .filter(|(_, o)| o == act)
                .map(|(b, _)| apart(*at, *b))
                .min()
                .filter(|d| *d <= CLOSE)
        };
        let all: Vec<Duration> = self.0.iter().filter_map(near).collect();
        (all.len(), all.into_iter().max().unwrap_or_default())
    }
}

/// Pairs of seats that did the same acts within seconds.
pub fn found(seats: &[(u32, Lately)]) -> Value {
    let mut pairs = Vec::new();
    for (k, (a, first)) in seats.iter().enumerate() {
        for (b, second) in &seats[k + 1..] {
            let (same, within) = first.like(second);
            if same >= ENOUGH {
                pairs.push(json!({ "seats": [a, b], "acts": same, "within_s": within.as_secs() }));
            }
        }
    }
    Value::Array(pairs)
}
