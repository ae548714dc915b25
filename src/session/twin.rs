//! Twin runs: one session forked at a moment, and both futures run to their ends.
//!
//! *Inside*: which acts may be left out, where the session forks, running both futures. *Outside*: what a session
//! is, how the two are compared ([`crate::report`]).
//!
//! An act that is left out is not done, but its time passes as if it had been, and everything after
//! it is done as the files say. With nothing left out both futures are identical, byte for byte.

use crate::scenario::{ActionFile, Scenario};
use crate::session::viewer::tells;
use crate::session::{Progress, Run, Session};
use serde::Serialize;

/// An act, by the file that holds it and its id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// It is in the trainee's file, not in the scenario.
    pub trainee: bool,
    /// Its id.
    pub id: String,
}

/// What a session does at a marked act.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AtMark {
    /// Does it as usual.
    Do,
    /// Pauses before it.
    Pause,
    /// Is paused before it.
    Paused,
    /// Leaves it out.
    LeaveOut,
}

/// Two futures of one session.
#[derive(Debug, Clone)]
pub struct Twin {
    /// The acts that one of them leaves out.
    pub left_out: Vec<Named>,
    /// Time of the fork \[s\]; none if no such act ever fell due.
    pub forked_s: Option<f64>,
    /// With the acts.
    pub done: Run,
    /// Without them.
    pub without: Run,
}

impl Twin {
    /// Whether both ended in the same state.
    pub fn same(&self) -> bool {
        self.done.bench.state_hash() == self.without.bench.state_hash()
    }
}

/// Why a word does not name an act.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoAct {
    /// Both files have an act with this id.
    InBoth {
        /// Its id.
        act: String,
    },
    /// There is no such act.
    Unknown {
        /// The word.
        act: String,
        /// The acts of the action file, in words that name them.
        of_actions: Vec<String>,
        /// Those of the scenario.
        of_scenario: Vec<String>,
    },
    /// No such act may be left out under a closed lid.
    NotUnderLid {
        /// The word.
        act: String,
        /// The acts of the action file, in words that name them.
        of_actions: Vec<String>,
        /// Those of the scenario that may be left out.
        of_scenario: Vec<String>,
    },
}

/// Finds the act that a word names: an id, or `scenario:id` or `actions:id` if both files have it. Under
/// a closed lid, acts that reveal the fault cannot be named.
pub fn named(
    word: &str,
    scenario: &Scenario,
    actions: Option<&ActionFile>,
    lid_open: bool,
) -> Result<Named, NoAct> {
    let own: Vec<&str> = scenario
        .acts
        .iter()
        .filter(|a| lid_open || !(tells(&a.hand) || a.drawn))
        .map(|a| a.id.as_str())
        .collect();
    let hers: Vec<&str> = actions.map_or(Vec::new(), |a| a.acts.iter().map(|a| a.id.as_str()).collect());
    let (in_own, in_hers, id) = match word.split_once(':') {
        Some(("scenario", id)) => (own.contains(&id), false, id),
        Some(("actions", id)) => (false, hers.contains(&id), id),
        _ => (own.contains(&word), hers.contains(&word), word),
    };
    match (in_own, in_hers) {
        (true, false) => Ok(Named { trainee: false, id: id.into() }),
        (false, true) => Ok(Named { trainee: true, id: id.into() }),
        (true, true) => Err(NoAct::InBoth { act: id.into() }),
        (false, false) => {
            let list = |file: &str, ids: &[&str], others: &[&str]| -> Vec<String> {
                let word =
                    |id: &&str| if others.contains(id) { format!("{file}:{id}") } else { (*id).into() };
                ids.iter().map(word).collect()
            };
            let (of_actions, of_scenario) = (list("actions", &hers, &own), list("scenario", &own, &hers));
            let act = word.chars().filter(|c| !c.is_control()).take(64).collect();
            Err(match lid_open {
                true => NoAct::Unknown { act, of_actions, of_scenario },
                false => NoAct::NotUnderLid { act, of_actions, of_scenario },
            })
        }
    }
}

impl Session {
    /// Whether the first act in the queue is a marked one.
    pub(super) fn is_marked(&self) -> bool {
        self.queue
            .acts
            .front()
            .is_some_and(|a| self.marked.iter().any(|m| m.trainee == self.trainee && m.id == a.id))
    }

    /// Runs to the first of these acts; true if it came to one, none if told to stop.
    pub(super) fn run_to_fork(
        &mut self,
        left_out: &[Named],
        told: &mut dyn FnMut(Progress) -> bool,
    ) -> Option<bool> {
        self.marked = left_out.to_vec();
        self.at_mark = AtMark::Pause;
        while let Some(end_s) = self.next_end_s() {
            if !told(Progress::Running { at_s: self.bench.time_s(), end_s, slow: self.bench.alone() }) {
                return None;
            }
            self.step(end_s);
            if self.at_mark == AtMark::Paused {
                return Some(true);
            }
        }
        Some(false)
    }

    /// Runs to the first of these acts, forks, and runs both futures to their ends; none if told to stop.
    pub fn twin(mut self, left_out: &[Named], told: &mut dyn FnMut(Progress) -> bool) -> Option<Twin> {
        let forked_s = self.run_to_fork(left_out, told)?.then(|| self.bench.time_s());
        let mut without = self.clone();
        self.at_mark = AtMark::Do;
        without.at_mark = AtMark::LeaveOut;
        let done = self.run(told);
        if done.stopped {
            return None;
        }
        let without = without.run(told);
        (!without.stopped).then(|| Twin { left_out: left_out.to_vec(), forked_s, done, without })
    }
}
