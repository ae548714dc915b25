//! Canister purge: when the purge valve opens and how far.
//!
//! **Models** a module that opens the valve a little from time to time, detects vapour from the short-term trim,
//! and if there is any purges as much as the trim can compensate, with pauses in which long-term trims may learn.
//!
//! **Leaves out** a feed-forward of the vapour's fuel; the leak test is a task of its own (`vapour_monitor`).
//!
//! **State** ([`State`]): duty \[-\], phase, the short-term trim without purge \[-\], whether vapour was found.
//!
//! **Checked by** `holds_purge…` in `tests/model/faults.rs`.

use crate::num::lag_share;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[module.purge]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cal {
    /// Minimum coolant temperature \[°C\] and time in closed loop \[s\].
    pub from: [f64; 2],
    /// Check for vapour: duty at idle, duty off idle \[-\], duration \[s\].
    pub look: [f64; 3],
    /// Pause after a check that found no vapour: at idle, off idle \[s\].
    pub pause_s: [f64; 2],
    /// Drop of the short-term trim that indicates vapour \[-\].
    pub found: f64,
    /// While there is vapour: maximum duty at idle, off idle \[-\].
    pub most: [f64; 2],
    /// While there is vapour: purge for, pause for \[s\].
    pub cycle_s: [f64; 2],
    /// Lowest short-term trim that purging may cause \[-\].
    pub lowest: f64,
    /// Maximum opening rate \[1/s\].
    pub ramp: f64,
}

impl Cal {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "module.purge";
        between(s, "from[0]", self.from[0], -40.0, 120.0)?;
        between(s, "from[1]", self.from[1], 0.0, 3600.0)?;
        for (key, v, high) in [
            ("look", self.look[0], 1.0),
            ("look", self.look[1], 1.0),
            ("look", self.look[2], 600.0),
            ("pause_s", self.pause_s[0], 36_000.0),
            ("pause_s", self.pause_s[1], 36_000.0),
            ("found", self.found, 0.5),
            ("most", self.most[0], 1.0),
            ("most", self.most[1], 1.0),
            ("cycle_s", self.cycle_s[0], 3600.0),
            ("cycle_s", self.cycle_s[1], 3600.0),
            ("ramp", self.ramp, 100.0),
        ] {
            between(s, key, v, 0.0, high)?;
        }
        between(s, "lowest", self.lowest, -0.25, 0.0)
    }
}

/// State of the task.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct State {
    /// Duty \[-\].
    pub duty: f64,
    /// Vapour was found at the last check.
    pub vapour: bool,
    without: f64,
    closed_loop_s: f64,
    phase_s: f64,
    looked: bool,
    /// Vapour is arriving during the current opening of the valve.
    comes: bool,
}

/// Inputs of the task.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    /// Coolant \[°C\].
    pub coolant_c: f64,
    /// Closed loop in every bank.
    pub closed_loop: bool,
    /// Idle control is active.
    pub idling: bool,
    /// Short-term trim of the first bank \[-\].
    pub short: f64,
    /// Duty at which something else holds the valve \[-\]: shut during a commanded learn, a leak test's own.
    pub held: Option<f64>,
}

impl State {
    /// Key turned on: whether vapour was found is remembered.
    pub fn key_on(&mut self) {
        *self = Self { vapour: self.vapour, ..Self::default() };
    }

    /// Every 100 ms.
    pub fn slow(&mut self, cal: &Cal, l: &Inputs, dt_s: f64) {
        self.closed_loop_s = if l.closed_loop { self.closed_loop_s + dt_s } else { 0.0 };
        let early = !l.closed_loop || l.coolant_c < cal.from[0] || self.closed_loop_s < cal.from[1];
        if early || l.held.is_some() {
            self.duty = l.held.unwrap_or(0.0);
            self.phase_s = 0.0;
            self.looked = false;
            return;
        }
        let at = usize::from(!l.idling);
        self.phase_s += dt_s;
        if self.duty <= 0.0 {
            self.without += (l.short - self.without) * lag_share(dt_s, 2.0);
            let pause_s = if self.vapour { cal.cycle_s[1] } else { cal.pause_s[at] };
            if self.phase_s >= pause_s || !self.looked {
                self.phase_s = 0.0;
                self.duty = cal.ramp * dt_s;
                self.comes = false;
            }
            return;
        }
        let fell = l.short - self.without;
        // vapour at an earlier opening says nothing about now: an empty canister gives air, which leans the mixture
        if fell < -cal.found {
            (self.comes, self.vapour) = (true, true);
        } else if fell > -0.5 * cal.found {
            self.comes = false;
        }
        let most = if self.comes { cal.most[at] } else { cal.look[at] };
        let step = cal.ramp * dt_s;
        // no further than the trim can compensate, and closed as gradually as opened
        let closing = self.phase_s >= if self.vapour { cal.cycle_s[0] } else { cal.look[2] };
        let wanted = if closing {
            0.0
        } else if l.short < cal.lowest {
            self.duty - 2.0 * step
        } else {
            most
        };
        // towards the end, no faster than idle control can replace the air that the purge valve no longer supplies
        let down = if closing { step } else { 4.0 * step };
        self.duty += (wanted - self.duty).clamp(-down, step);
        if closing && self.duty <= 0.5 * step {
            self.looked = true;
            self.vapour = self.comes;
            self.duty = 0.0;
            self.phase_s = 0.0;
            return;
        }
        self.duty = self.duty.max(0.5 * step);
    }
}
