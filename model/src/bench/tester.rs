//! The scan tool's watch list: values requested over the link, one after the other.
//!
//! *Inside*: which value is requested next, when its answer arrives, and what is told of a list in the logbook: the
//! values once all are there, and first, last, least and greatest when nobody looks any more. *Outside*: what the module
//! answers (`ecm/services.rs`). An answer takes 20 to 60 ms, so with n values each is refreshed every n answers; between
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

/// What a watched value did while the tester showed it, in the unit of its name.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Course {
    /// Name of the value.
    pub name: String,
    /// The first answer.
    pub first: f64,
    /// The last answer.
    pub last: f64,
    /// The least of all answers.
    pub least: f64,
    /// The greatest of all answers.
    pub most: f64,
}

/// What the tester has to tell of its list.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Tells {
    /// Every value has been answered for the first time, or the list ended before that: the values that were shown.
    Shown(Vec<Course>),
    /// The list has ended.
    Over(Vec<Course>),
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Item {
    request: DiagRequest,
    value: Option<f64>,
    at_s: f64,
    first: f64,
    least: f64,
    most: f64,
}

impl Item {
    fn new(name: &str, now_s: f64) -> Self {
        let request = DiagRequest::ReadValue(name.to_owned());
        Self { request, value: None, at_s: now_s, first: 0.0, least: 0.0, most: 0.0 }
    }
    fn take(&mut self, v: f64, at_s: f64) {
        if self.value.is_none() {
            (self.first, self.least, self.most) = (v, v, v);
        }
        (self.least, self.most) = (self.least.min(v), self.most.max(v));
        (self.value, self.at_s) = (Some(v), at_s);
    }
    fn name(&self) -> String {
        if let DiagRequest::ReadValue(name) = &self.request { name.clone() } else { String::new() }
    }
    fn course(&self) -> Option<Course> {
        let last = self.value?;
        let Self { first, least, most, .. } = *self;
        Some(Course { name: self.name(), first, last, least, most })
    }
}

/// State.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Tester {
    link: Link,
    items: Vec<Item>,
    next: usize,
    due_s: f64,
    latency: Stream,
    /// Id of the act that set the list.
    id: String,
    /// What was told of the list.
    told: Told,
}

#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
enum Told {
    #[default]
    Nothing,
    Shown,
    Over,
}

impl Tester {
    pub(super) fn new(link: Link, seed: u64) -> Self {
        let latency = Stream::new(seed, "link.latency");
        Self {
            link,
            items: Vec::new(),
            next: 0,
            due_s: 0.0,
            latency,
            id: String::new(),
            told: Told::default(),
        }
    }
    /// Sets a new list for an act; an empty one ends watching. Returns what is wrong with the list, and otherwise what
    /// is to be told of the one before, with its act.
    pub(super) fn watch(
        &mut self,
        id: &str,
        names: &[String],
        now_s: f64,
    ) -> Result<Option<(String, Tells)>, Hindrance> {
        if names.len() > MOST {
            return Err(Hindrance::TooManyWatched { most: MOST as u8 });
        }
        if let Some(name) = names.iter().find(|n| !LiveValues::NAMES.contains(&n.as_str())) {
            return Err(Hindrance::NoValue(name.clone()));
        }
        let ended = self.end();
        self.items = names.iter().map(|n| Item::new(n, now_s)).collect();
        (self.id, self.told) = (id.to_owned(), Told::Nothing);
        self.next = 0;
        if !names.is_empty() {
            self.due_s = now_s + self.answer_s();
        }
        Ok(ended)
    }
    /// Nobody looks any more: what is to be told of the list, with its act; once for each list. The list stays.
    pub(super) fn end(&mut self) -> Option<(String, Tells)> {
        let all = self.courses();
        let told = std::mem::replace(&mut self.told, Told::Over);
        if all.is_empty() {
            return None;
        }
        let tells = match told {
            Told::Nothing => Tells::Shown(all),
            Told::Shown => Tells::Over(all),
            Told::Over => return None,
        };
        Some((self.id.clone(), tells))
    }
    fn courses(&self) -> Vec<Course> {
        self.items.iter().filter_map(Item::course).collect()
    }
    /// What is to be told of the list as soon as every value of it has been answered, with its act; once for each list.
    pub(super) fn shown_first(&mut self) -> Option<(String, Tells)> {
        if self.told != Told::Nothing || self.items.is_empty() || self.items.iter().any(|i| i.value.is_none())
        {
            return None;
        }
        self.told = Told::Shown;
        Some((self.id.clone(), Tells::Shown(self.courses())))
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
                DiagResponse::Value(v) => item.take(v, self.due_s),
                _ => wait_s = self.link.silent_s,
            }
            self.next = (self.next + 1) % self.items.len();
            self.due_s += wait_s + self.answer_s();
        }
    }
    /// The list as the tester shows it.
    pub(super) fn shown(&self, now_s: f64) -> Vec<Watched> {
        let one = |i: &Item| Watched { name: i.name(), value: i.value, age_s: (now_s - i.at_s).max(0.0) };
        self.items.iter().map(one).collect()
    }
}
