//! Individual injectors: the correction codes that were entered, and the pulse that follows from them.
//!
//! *Inside*: accepting a code, reading it back, the monitors of missing and incompatible data, the correction of one
//! cylinder's pulse. *Outside*: the format of a code ([`crate::label`]), what is learned in addition
//! ([`crate::ecm::cylinder_trim`]).
//!
//! **Equations**
//! 1. `t_open = m (1 + trim)/(ṁ₀ (1 + flow) √(Δp/Δp₀))`, `t = t_open + t_dead(V) + dead`.
//! 2. Short pulses: `t_open (1 + g exp(−t_open/τ)) =` the right side of (1), by three iterations.
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
    /// A code of another kind of injector was offered for this cylinder, and no matching one since.
    pub other_kind: [bool; MAX_CYLINDERS],
}

/// Corrections to the pulse of one cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Correction {
    /// Static flow above nominal, relative \[-\].
    pub flow: f64,
    /// Dead time above nominal \[µs\].
    pub dead_us: f64,
    /// Fuel above that of the bank, relative \[-\].
    pub trim: f64,
    /// Excess flow where the needle hardly lifts \[-\].
    pub short: f64,
}

impl Correction {
    /// Corrections stored for a cylinder, counted from 0.
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
    /// (1), (2) Pulse \[µs\] where a nominal injector would need an opening time of `open_us` plus `dead_us`.
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
    /// Accepts a code for a cylinder, counted from 1; or refuses it with the reason, and writes nothing.
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

    /// The code stored for a cylinder, counted from 0.
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
