//! Manual sequences recognised from pins and time.
//!
//! *Inside*: a recogniser for a list of steps, each a pattern of brake and load switch with a minimum and
//! maximum time. A mistake aborts the sequence and the stored value is kept; nothing in the car shows it. *Outside*: what
//! a finished sequence does (the idle air task), and the wording of the steps.
//!
//! **Checked by** `holds_slip…`, `exact_sequence…` in `tests/module/learning.rs`.

use crate::units::{ParamError, ParamRule, between};
use serde::{Deserialize, Serialize};

/// Difference within which two times count as equal \[s\]: a hold time is the difference of two larger times.
const SAME_S: f64 = 1e-6;

/// Whoever drives off presses the brake no longer than this before a gear goes in or the pedal goes down \[s\];
/// assumed.
const DRIVES_OFF_S: f64 = 5.0;

/// One step: the positions of the two switches, and for how long.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Brake pressed.
    pub brake: bool,
    /// Heated glass on.
    pub heated_glass: bool,
    /// Minimum duration \[s\].
    pub min_s: f64,
    /// Maximum duration \[s\].
    pub max_s: f64,
    /// The window is judged when this step reaches its minimum duration.
    #[serde(default)]
    pub judge: bool,
}

/// The `[module.sequence]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Steps in order; the sequence is complete when the last one ends.
    pub steps: Vec<Step>,
    /// Largest mean speed error accepted when the window is judged \[rpm\].
    pub window_rpm: f64,
    /// Largest change of the light value by one sequence \[g/s\].
    pub largest_move_g_s: f64,
    /// Minimum coolant temperature \[°C\].
    pub warm_c: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.sequence";
        if self.steps.len() < 2 || self.steps.len() > 12 {
            return Err(ParamError::new(s, "steps", ParamRule::Steps { least: 2, most: 12 }));
        }
        for w in self.steps.windows(2) {
            if (w[0].brake, w[0].heated_glass) == (w[1].brake, w[1].heated_glass) {
                return Err(ParamError::new(s, "steps", ParamRule::StepsAlike));
            }
        }
        for step in &self.steps {
            between(s, "steps.min_s", step.min_s, 0.0, 600.0)?;
            between(s, "steps.max_s", step.max_s, step.min_s, 600.0)?;
        }
        if self.steps.iter().filter(|x| x.judge).count() != 1 {
            return Err(ParamError::new(s, "steps", ParamRule::OneJudge));
        }
        between(s, "window_rpm", self.window_rpm, 10.0, 1000.0)?;
        between(s, "largest_move_g_s", self.largest_move_g_s, 0.0, 5.0)?;
        between(s, "warm_c", self.warm_c, -40.0, 110.0)
    }
}

/// State of the recogniser.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Current step, counted from 1; 0 while waiting for the first.
    pub step: u8,
    since_s: f64,
    judged: bool,
    /// Switches must be released before another attempt.
    spent: bool,
}

/// Result of one evaluation of the pins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing, or in progress.
    None,
    /// Aborted at this step; the car shows nothing of it.
    Aborted(u8),
    /// Complete.
    Complete,
}

/// The pins and conditions that a sequence evaluates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Brake pressed.
    pub brake: bool,
    /// Heated glass on.
    pub heated_glass: bool,
    /// Car stationary, engine warm and idling, in neutral, no other load switched on.
    pub may_run: bool,
    /// No attempt any more: idle control is out of force, as with the pedal pressed, a gear is in, or the car moves.
    pub leaves: bool,
    /// The window would be judged good now.
    pub window: bool,
}

impl State {
    /// Every 10 ms.
    pub fn look(&mut self, cal: &Cal, l: &Inputs, now_s: f64) -> Outcome {
        let pins = (l.brake, l.heated_glass);
        if self.step == 0 {
            if pins == (false, false) {
                self.spent = false;
            }
            let first = cal.steps[0];
            if !self.spent && l.may_run && pins == (first.brake, first.heated_glass) && pins != (false, false)
            {
                *self = Self { step: 1, since_s: now_s, judged: false, spent: false };
            } else if pins != (false, false) {
                self.spent = true;
            }
            return Outcome::None;
        }
        let at = usize::from(self.step) - 1;
        let step = cal.steps[at];
        let held = now_s - self.since_s;
        if self.step == 1 && l.leaves && held < DRIVES_OFF_S {
            // whoever presses the brake to put a gear in begins no sequence
            *self = Self { spent: true, ..Self::default() };
            return Outcome::None;
        }
        if !l.may_run || held > step.max_s + SAME_S {
            return self.abort();
        }
        if pins == (step.brake, step.heated_glass) {
            if step.judge && !self.judged && held + SAME_S >= step.min_s {
                self.judged = true;
                if !l.window {
                    return self.abort();
                }
            }
            return Outcome::None;
        }
        if held + SAME_S < step.min_s {
            return self.abort();
        }
        match cal.steps.get(at + 1) {
            None if pins == (false, false) => {
                *self = Self::default();
                Outcome::Complete
            }
            Some(next) if pins == (next.brake, next.heated_glass) => {
                *self = Self { step: self.step + 1, since_s: now_s, judged: false, spent: false };
                Outcome::None
            }
            _ => self.abort(),
        }
    }
    fn abort(&mut self) -> Outcome {
        let at = self.step;
        *self = Self { spent: true, ..Self::default() };
        Outcome::Aborted(at)
    }
}
