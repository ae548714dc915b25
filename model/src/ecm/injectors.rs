//! Injectors one by one: correction codes that were entered, and the pulse that follows from them.
//!
//! *Inside*: taking a code, giving it back, the monitors of missing and wrong data, the correction of one
//! cylinder's pulse. *Outside*: how a code is written ([`crate::label`]), what is learned besides
//! ([`crate::ecm::cylinder_trim`]).
//!
//! **Equations**
//! 1. `t_open = m (1 + trim)/(ṁ₀ (1 + flow) √(Δp/Δp₀))`, `t = t_open + t_dead(V) + dead`.
//! 2. Short pulses: `t_open (1 + g exp(−t_open/τ)) =` the right side of (1), by three rounds.
//!
//! **State** ([`State`]): cylinders for which a code of another kind was offered.
//!
//! **Checked by** `tests/module/injectors.rs`.

use crate::ecm::codes::Code;
use crate::ecm::memory::{Name, Store};
use crate::label::{self, Label};
use crate::link::{Refused, Writer};
use crate::num;
use crate::signals::MAX_CYLINDERS;
use serde::{Deserialize, Serialize};

/// Monitors of incompatible data, by cylinder.
pub const INCOMPATIBLE: [Code; 4] = [Code::P268C, Code::P268D, Code::P268E, Code::P268F];

/// State of the task.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// A code of another kind of injector was offered for this cylinder, and no fitting one since.
    pub other_kind: [bool; MAX_CYLINDERS],
}

/// What differs from cylinder to cylinder in its pulse.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Correction {
    /// Static flow over nominal \\[-\\].
    pub flow: f64,
    /// Dead time over nominal \\[µs\\].
    pub dead_us: f64,
    /// Fuel over what the bank gets \\[-\\].
    pub trim: f64,
    /// Excess where it hardly opens \\[-\\].
    pub short: f64,
}

impl Correction {
    /// As the store has it for a cylinder, from 0.
    pub fn of(store: &Store, cylinder: usize) -> Self {
        let (holds, c) = (store.holds(), cylinder as u8);
        let mut out = Self::default();
        if holds.coded {
            out.flow = 0.01 * store.get(Name::InjectorFlow(c));
            out.dead_us = store.get(Name::InjectorDead(c));
        }
        if holds.trimmed {
            out.trim = 0.01 * store.get(Name::CylinderTrim(c));
        }
        if holds.short {
            out.short = 0.01 * store.get(Name::ShortPulse(c));
        }
        out
    }
    /// (1), (2) Pulse \\[µs\\] where a nominal injector would be open for `open_us` and need `dead_us` besides.
    pub fn pulse_us(&self, open_us: f64, dead_us: f64, short_us: f64) -> f64 {
        let whole = open_us * (1.0 + self.trim) / (1.0 + self.flow);
        let mut open = whole;
        if self.short != 0.0 {
            for _ in 0..3 {
                open = whole / (1.0 + self.short * num::exp(-open / short_us));
            }
        }
        open + dead_us + self.dead_us
    }
}

impl State {
    /// Takes a code for a cylinder, from 1; says why not, and then nothing is written.
    pub fn write(
        &mut self,
        store: &mut Store,
        class: char,
        cylinder: u8,
        code: &str,
        at_s: f64,
    ) -> Result<Label, Refused> {
        let n = store.holds().cylinders;
        let Some(c) = usize::from(cylinder).checked_sub(1).filter(|c| *c < n) else {
            return Err(Refused::NoCylinder { cylinder, of: n as u8 });
        };
        let label = label::read(code).map_err(Refused::InjectorCode)?;
        if label.class != class {
            self.other_kind[c] = true;
            return Err(Refused::OtherKind { is: label.class, takes: class });
        }
        self.other_kind[c] = false;
        store.enter(c as u8, label.flow_pct, label.dead_us, Writer::Entered, at_s);
        Ok(label)
    }

    /// The code stored for a cylinder, from 0.
    pub fn stored(store: &Store, class: char, cylinder: u8) -> Option<String> {
        let flow = store.entry(Name::InjectorFlow(cylinder));
        if !flow.learned {
            return None;
        }
        let dead_us = store.get(Name::InjectorDead(cylinder));
        label::write(&Label { class, flow_pct: flow.value, dead_us })
    }

    /// Whether any cylinder has no data.
    pub fn missing(store: &Store) -> bool {
        (0..store.holds().cylinders as u8).any(|c| !store.entry(Name::InjectorFlow(c)).learned)
    }
}
