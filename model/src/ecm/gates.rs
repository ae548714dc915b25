//! Gates: the conditions that must hold before a value may be learned, and how they stand.

use crate::ecm::codes::Code;
use crate::link::Gate as GateKind;
use serde::{Deserialize, Serialize};

/// How a gate stands.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gate {
    /// Which condition.
    pub kind: GateKind,
    /// The code that blocks it, if it is one.
    pub code: Option<Code>,
    /// It holds.
    pub open: bool,
    /// The value now, in the condition's unit.
    pub now: f64,
    /// Its limit.
    pub limit: f64,
}

impl Gate {
    /// A condition without a value: it holds or does not.
    pub fn switch(kind: GateKind, open: bool) -> Self {
        Self::measured(kind, open, 0.0, 0.0)
    }

    /// A condition on a value that lies inside or outside its limit.
    pub fn measured(kind: GateKind, open: bool, now: f64, limit: f64) -> Self {
        Self { kind, code: None, open, now, limit }
    }

    /// No code that blocks learning may be stored: the one that does, if there is one.
    pub fn no_code(stands: Option<Code>) -> Self {
        Self { code: stands, ..Self::switch(GateKind::NoBlockingCode, stands.is_none()) }
    }
}
