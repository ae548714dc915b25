//! The service tester's watch list: values requested over the link, one after the other.
//!
//! *Inside*: which value is requested next and when its answer arrives. *Outside*: what the module answers
//! (`ecm/services.rs`). An answer takes 20 to 60 ms, so with n values each is refreshed every n answers; between
//! refreshes the value shown is old, and its age says how old. Pins are not read here.

use crate::bench::facts::Hindrance;
use crate::link::{DiagRequest, DiagResponse, LiveValues};
use crate::num::Stream;
use serde::{Deserialize, Serialize};

/// Largest number of values in a list.
pub const MOST: usize = 24;

/// One watched value.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Watched {
    /// Name of the value.
    pub name: String,
    /// The last answer, in the unit of its name; none before the first answer.
    pub value: Option<f64>,
    /// Age of that answer, or how long the value has been requested in vain \[s\].
    pub age_s: f64,
}

/// The `[link]` section of the tools' data.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Link {
    /// Shortest and longest time for an answer \[s\].
    answer_s: [f64; 2],
    /// Time after which a silent module is given up \[s\].
    silent_s: f64,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Item {
    request: DiagRequest,
    value: Option<f64>,
    at_s: f64,
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Tester {
    link: Link,
    items: Vec<Item>,
    next: usize,
    due_s: f64,
    latency: Stream,
}

impl Tester {
    pub(super) fn new(link: Link, seed: u64) -> Self {
        Self { link, items: Vec::new(), next: 0, due_s: 0.0, latency: Stream::new(seed, "link.latency") }
    }
    /// Sets a new list; an empty one ends watching. Returns what is wrong with the list.
    pub(super) fn watch(&mut self, names: &[String], now_s: f64) -> Result<(), Hindrance> {
        if names.len() > MOST {
            return Err(Hindrance::TooManyWatched { most: MOST as u8 });
        }
        if let Some(name) = names.iter().find(|n| !LiveValues::NAMES.contains(&n.as_str())) {
            return Err(Hindrance::NoValue(name.clone()));
        }
        self.items = names
            .iter()
            .map(|n| Item { request: DiagRequest::ReadValue(n.clone()), value: None, at_s: now_s })
            .collect();
        self.next = 0;
        if !names.is_empty() {
            self.due_s = now_s + self.answer_s();
        }
        Ok(())
    }
    fn answer_s(&mut self) -> f64 {
        let [low, high] = self.link.answer_s;
        low + (high - low) * self.latency.uniform()
    }
    /// Takes the answers that have arrived by now. Allocates nothing.
    pub(super) fn poll(&mut self, now_s: f64, mut ask: impl FnMut(&DiagRequest) -> DiagResponse) {
        while !self.items.is_empty() && self.due_s <= now_s {
            let item = &mut self.items[self.next];
            let mut wait_s = 0.0;
            match ask(&item.request) {
                DiagResponse::Value(v) => (item.value, item.at_s) = (Some(v), self.due_s),
                _ => wait_s = self.link.silent_s,
            }
            self.next = (self.next + 1) % self.items.len();
            self.due_s += wait_s + self.answer_s();
        }
    }
    /// The list as the tester shows it.
    pub(super) fn shown(&self, now_s: f64) -> Vec<Watched> {
        let one = |i: &Item| Watched {
            name: if let DiagRequest::ReadValue(name) = &i.request { name.clone() } else { String::new() },
            value: i.value,
            age_s: (now_s - i.at_s).max(0.0),
        };
        self.items.iter().map(one).collect()
    }
}
