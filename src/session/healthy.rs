//! A healthy car for comparison: the same model with parts from another seed, warm, at idle.

use crate::bench::Bench;
use crate::bench::action::{Action, Key};
use crate::bench::setup::Setup;
use crate::bench::view::Observation;
use crate::session::Error;

/// Seed of its parts: any new parts will do.
const SEED: u64 = 1;
/// Warm coolant \[°C\].
const WARM_C: f64 = 88.0;
/// Time until the idle has settled and its window of 30 s is full \[s\].
const SETTLED_S: f64 = 60.0;

/// The observation of a healthy car of this model at warm idle.
pub fn healthy(car_toml: &str) -> Result<Observation, Error> {
    let mut b = Bench::standing(&Setup::healthy(car_toml, SEED, WARM_C)).map_err(Error::Bench)?;
    let _ = b.act("", Action::Key(Key::On));
    b.advance_by(2.0);
    let _ = b.act("", Action::Key(Key::Crank));
    b.advance_by(SETTLED_S);
    Ok(b.observe())
}
