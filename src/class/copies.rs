//! Copies seen: two seats that do the same within seconds of each other, again and again. It is shown to the instructor and
//! judged by nobody: neighbours who work on the same car may well do the same.

use serde_json::{Value, json};
use std::collections::VecDeque;
use std::time::{Duration, Instant};

/// This close is at the same time.
const CLOSE: Duration = Duration::from_secs(8);
/// So many acts that are the same are told of.
const ENOUGH: usize = 5;
/// Most acts that are remembered of a seat.
const MOST: usize = 60;

/// What was done at a seat lately: when, and what.
#[derive(Debug, Clone, Default)]
pub struct Lately(VecDeque<(Instant, String)>);

impl Lately {
    /// Something was done. What everybody does all the time is no sign of anything.
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
    /// How many of its acts were done at another seat at the same time, and the longest time between two of them.
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

/// Pairs of seats that did the same within seconds.
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
