//! Trouble codes: mature, pend, confirm, heal; lamp, freeze frame, permanent codes.
//!
//! *Inside*: the two-trip life of a code. *Outside*: each monitor's own test; it reports here whether it
//! ran and what it saw.
//!
//! Numbers and meaning as SAE J2012 / ISO 15031-6; life of codes as 13 CCR 1968.2 (d)(2) has it, from
//! memory: fault in one trip pends; in the next trip that tests it, confirms and lights the lamp; three
//! trips in a row that tested and passed put the lamp out; forty warm-ups without it erase the code; a
//! permanent code stays until the monitor itself has passed, clearing or not.
//!
//! **Checked by** `source_two_trips…`, `source_permanent…` in `tests/learning.rs`.

use crate::link::{CodeStatus, FreezeFrame};
use serde::{Deserialize, Serialize};

/// A code the module can set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Code {
    /// System too lean, bank 1.
    P0171,
    /// System too rich, bank 1.
    P0172,
    /// System too lean, bank 2.
    P0174,
    /// System too rich, bank 2.
    P0175,
    /// Idle speed lower than expected.
    P0506,
    /// Idle speed higher than expected.
    P0507,
    /// Throttle idle position not learned.
    P2176,
}

/// Every code with its standard number and what it says, in our own words.
pub const CODES: &[(Code, &str, &str)] = &[
    (Code::P0171, "P0171", "mixture too lean, bank 1"),
    (Code::P0172, "P0172", "mixture too rich, bank 1"),
    (Code::P0174, "P0174", "mixture too lean, bank 2"),
    (Code::P0175, "P0175", "mixture too rich, bank 2"),
    (Code::P0506, "P0506", "idle speed lower than expected"),
    (Code::P0507, "P0507", "idle speed higher than expected"),
    (Code::P2176, "P2176", "throttle idle position not learned"),
];

impl Code {
    /// Standard number.
    pub fn number(self) -> &'static str {
        CODES.iter().find(|c| c.0 == self).map_or("", |c| c.1)
    }
    /// What it says.
    pub fn words(self) -> &'static str {
        CODES.iter().find(|c| c.0 == self).map_or("", |c| c.2)
    }
    fn index(self) -> usize {
        CODES.iter().position(|c| c.0 == self).unwrap_or(0)
    }
}

/// How a code stands.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Standing {
    /// Seen in this trip or the last that tested it.
    pub pending: bool,
    /// Seen in two.
    pub confirmed: bool,
    /// Lights the lamp.
    pub lamp: bool,
    /// Held until the monitor has passed.
    pub permanent: bool,
    /// Tested in this trip.
    pub tested: bool,
    /// Failed in this trip.
    pub failed: bool,
    /// Failing at present.
    pub failing: bool,
    /// Cleared in this trip: what the trip has seen says nothing for a permanent code.
    cleared: bool,
    good_trips: u8,
    warm_ups: u8,
    /// Module's time when it last matured \[s\].
    pub matured_s: f64,
    /// Conditions when it first pended.
    pub frame: Option<FreezeFrame>,
}

/// All codes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Codes {
    all: Vec<Standing>,
    start_c: f64,
    warmed: bool,
    ran: bool,
}

impl Default for Codes {
    fn default() -> Self {
        Self { all: vec![Standing::default(); CODES.len()], start_c: 0.0, warmed: false, ran: false }
    }
}

impl Codes {
    /// How one code stands.
    pub fn standing(&self, code: Code) -> &Standing {
        &self.all[code.index()]
    }
    /// Seen and not healed: pending or confirmed with its lamp on.
    pub fn active(&self, code: Code) -> bool {
        let c = self.standing(code);
        c.pending || c.lamp
    }
    /// A monitor saw its fault for long enough. True when that is news in this trip.
    pub fn fail(&mut self, code: Code, at_s: f64, frame: FreezeFrame) -> bool {
        let c = &mut self.all[code.index()];
        c.tested = true;
        c.failing = true;
        let news = !c.failed;
        c.failed = true;
        c.matured_s = at_s;
        c.good_trips = 0;
        c.warm_ups = 0;
        if news {
            if c.frame.is_none() {
                c.frame = Some(frame);
            }
            if c.pending {
                c.confirmed = true;
                c.lamp = true;
                c.permanent = true;
            }
            c.pending = true;
        }
        news
    }
    /// A monitor ran to its end and saw no fault.
    pub fn pass(&mut self, code: Code) {
        let c = &mut self.all[code.index()];
        c.tested = true;
        c.failing = false;
    }
    /// A trip begins with the first start after key-on; what was seen between key-on and start belongs to it.
    pub fn trip_begins(&mut self, coolant_c: f64) {
        self.ran = true;
        self.warmed = false;
        self.start_c = coolant_c;
        for c in &mut self.all {
            c.cleared = false;
        }
    }
    /// Warm-up cycle by SAE J1979: up by 22 K and at least 71 °C.
    pub fn watch_warm_up(&mut self, coolant_c: f64) {
        if self.ran && coolant_c >= self.start_c + 22.0 && coolant_c >= 70.0 {
            self.warmed = true;
        }
    }
    /// The trip is over, at key-off.
    pub fn trip_ends(&mut self) {
        if !self.ran {
            return;
        }
        self.ran = false;
        for c in &mut self.all {
            if c.tested && !c.failed {
                c.pending = false;
                if !c.confirmed && !c.cleared {
                    c.permanent = false;
                }
                if c.lamp {
                    c.good_trips += 1;
                    if c.good_trips >= 3 {
                        c.lamp = false;
                        c.permanent = false;
                    }
                }
            }
            if self.warmed && c.confirmed && !c.lamp {
                c.warm_ups += 1;
                if c.warm_ups >= 40 {
                    c.confirmed = false;
                    c.frame = None;
                }
            }
            if !c.pending && !c.confirmed {
                c.frame = None;
            }
            (c.tested, c.failed, c.failing) = (false, false, false);
        }
        self.warmed = false;
    }
    /// Clear codes: everything but permanent codes.
    pub fn clear(&mut self) {
        for c in &mut self.all {
            *c = Standing { permanent: c.permanent, cleared: true, ..Standing::default() };
        }
    }
    /// The lamp should burn.
    pub fn lamp(&self) -> bool {
        self.all.iter().any(|c| c.lamp)
    }
    /// Codes with something to say.
    pub fn stored(&self) -> Vec<CodeStatus> {
        CODES
            .iter()
            .zip(&self.all)
            .filter(|(_, s)| s.pending || s.confirmed || s.permanent)
            .map(|((_, number, _), s)| CodeStatus {
                code: (*number).into(),
                pending: s.pending,
                confirmed: s.confirmed,
                permanent: s.permanent,
            })
            .collect()
    }
}
