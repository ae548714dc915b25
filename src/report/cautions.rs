//! Cautions in words: a job's own, those that hold for every job, and those of each act.
//!
//! *Outside*: which act has which ([`Action::cautions`]), and where they are shown.

use super::acts::action_words;
use crate::bench::action::Action;
use crate::catalogue::cautions::Caution;
use crate::scenario::OwnCaution;
use crate::words::{name, upper_first};
use serde::Serialize;
use std::collections::BTreeSet;

/// A caution as it is shown: its key, where it has one, and its sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Told {
    /// Its key.
    pub id: Option<&'static str>,
    /// Its sentence.
    pub says: String,
}

/// The sentence of a caution.
pub fn caution_words(caution: Caution) -> String {
    name("caution", caution.id())
}

fn told(caution: Caution) -> Told {
    Told { id: Some(caution.id()), says: caution_words(caution) }
}

/// The cautions that hold for every car in every bay.
pub fn standing_cautions() -> Vec<Told> {
    Caution::STANDING.iter().map(|c| told(*c)).collect()
}

/// A job's own cautions, and the general ones that they do not repeat.
pub fn job_cautions(own: &[OwnCaution]) -> [Vec<Told>; 2] {
    let of_job: Vec<Told> = own
        .iter()
        .map(|c| match c {
            OwnCaution::Key(key) => told(*key),
            OwnCaution::Words(words) => Told { id: None, says: words.clone() },
        })
        .collect();
    let mut rest = standing_cautions();
    rest.retain(|c| !of_job.contains(c));
    [of_job, rest]
}

/// Shows each caution once in a sequence of acts, at the first act that has it.
#[derive(Debug, Default)]
pub struct AtFirst {
    told: BTreeSet<Caution>,
}

impl AtFirst {
    /// The cautions of the next act that have not been shown yet.
    pub fn of(&mut self, cautions: &[Caution]) -> Vec<Caution> {
        cautions.iter().filter(|c| self.told.insert(**c)).copied().collect()
    }
}

/// A caution at an act.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AtAct {
    /// The act's id.
    pub act: String,
    /// The act in words; it tells no more than a closed lid allows.
    pub does: String,
    /// The caution to observe.
    #[serde(flatten)]
    pub caution: Told,
}

/// The cautions of these acts, each at the first act that has it.
pub fn act_cautions<'a>(acts: impl IntoIterator<Item = (&'a str, &'a Action)>) -> Vec<AtAct> {
    let mut first = AtFirst::default();
    let at = |(id, action): (&'a str, &'a Action)| {
        let does = upper_first(&action_words(action, false));
        let at = move |c| AtAct { act: id.to_owned(), does: does.clone(), caution: told(c) };
        first.of(action.cautions()).into_iter().map(at)
    };
    acts.into_iter().flat_map(at).collect::<Vec<_>>()
}

/// The cautions of an act in one line, to go beside it.
pub(super) fn beside(cautions: &[Caution]) -> String {
    cautions.iter().map(|c| upper_first(&caution_words(*c))).collect::<Vec<_>>().join(" ")
}
