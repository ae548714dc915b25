//! Electrical data of a day, recorded while it is driven at full physics and used again on the days carried forward.
//!
//! *Inside*: means over about a second while the module is awake, over a minute while it sleeps. *Outside*: battery
//! and module, which are simulated anew with these data each day.

use crate::plant::electrical::Round;
use serde::{Deserialize, Serialize};

/// Length of a day \[s\].
pub const DAY_S: f64 = 86_400.0;
/// Length of a moment while the module is awake, and while it sleeps \[s\].
const MOMENT_S: [f64; 2] = [1.0, 60.0];

/// What the module is doing.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Module {
    /// The module has not gone to sleep.
    pub awake: bool,
    /// The key is on.
    pub on: bool,
    /// The engine runs by itself.
    pub running: bool,
    /// The module requests a voltage from the alternator.
    pub asks: bool,
    /// The car drives the engine.
    pub overrun: bool,
    /// Coolant temperature by the sensor \[°C\].
    pub coolant_c: f64,
}

/// A moment of the day.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Moment {
    /// End of the moment \[s of the day\].
    pub end_s: f64,
    /// Mean electrical conditions around the battery.
    pub round: Round,
    /// What the module was doing at its end.
    pub module: Module,
}

/// The day.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Day {
    /// Its moments.
    pub moments: Vec<Moment>,
    /// Time up to which samples have been added \[s of the day\].
    at_s: f64,
    /// Sums over the unfinished moment, and its length so far \[s\].
    sums: Round,
    for_s: f64,
    module: Module,
}

impl Day {
    /// Begins an empty day, with room for this time awake \[s\].
    pub fn begin(&mut self, awake_s: f64) {
        self.moments.clear();
        self.moments.reserve((awake_s / MOMENT_S[0] + DAY_S / MOMENT_S[1]) as usize);
        (self.at_s, self.for_s) = (0.0, 0.0);
        self.sums = Round::default();
    }
    /// Adds a sample at a time \[s of the day\].
    pub fn add(&mut self, at_s: f64, round: &Round, module: Module) {
        if self.for_s > 0.0 && self.module.awake != module.awake {
            self.close();
        }
        let dt = at_s - self.at_s;
        self.at_s = at_s;
        self.sums.add(round, dt);
        self.for_s += dt;
        self.module = module;
        // samples are some hundredths of a second apart
        if self.for_s >= MOMENT_S[usize::from(!module.awake)] - 0.005 {
            self.close();
        }
    }
    fn close(&mut self) {
        if self.for_s > 0.0 {
            let round = self.sums.over(self.for_s);
            self.moments.push(Moment { end_s: self.at_s, round, module: self.module });
        }
        self.for_s = 0.0;
        self.sums = Round::default();
    }
    /// Ends the day.
    pub fn end(&mut self) {
        self.close();
        if let Some(last) = self.moments.last_mut() {
            last.end_s = DAY_S;
        }
    }
}
