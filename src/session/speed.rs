//! How fast a car is simulated: CPU time over a warm idle and a mixed drive.

use crate::bench::action::Action;
use crate::bench::{self, Bench};
use crate::session::Error;
use serde::Serialize;

/// The data that `speed --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Speed {
    /// Car.
    pub car: String,
    /// Cylinders.
    pub cylinders: usize,
    /// Crank step \[deg\].
    pub step_deg: f64,
    /// Simulated time over CPU time at warm idle.
    pub idle_times_real_time: f64,
    /// The same in mixed driving; none if the car could not be driven.
    pub mixed_times_real_time: Option<f64>,
    /// CPU time per cylinder and step \[ns\].
    pub ns_per_cylinder_step: f64,
}

/// Measures speed: simulated seconds per second of CPU time over a warm idle and over a mixed drive of `simulated_s`
/// each (the drive at least ten minutes, or it would hardly be mixed), and nanoseconds per cylinder and step at idle.
pub fn idle_speed(setup: &bench::setup::Setup, simulated_s: f64) -> Result<Speed, Error> {
    let mut b = Bench::standing(setup).map_err(Error::Bench)?;
    let _ = b.act("", Action::Key(bench::action::Key::On));
    b.advance_by(2.0);
    let _ = b.act("", Action::Key(bench::action::Key::Crank));
    b.advance_by(30.0);
    let turns_before = b.turns();
    let clock = cpu_time::ThreadTime::now();
    b.advance_by(simulated_s);
    let spent = clock.elapsed().as_secs_f64();
    let steps = (b.turns() - turns_before) * 360.0 / setup.step_deg;
    let drive =
        Action::Drive { pattern: bench::pattern::Name::Mixed, minutes: (simulated_s / 60.0).max(10.0) };
    let from_s = b.time_s();
    let clock = cpu_time::ThreadTime::now();
    let _ = b.act("", drive);
    while b.driver().is_some() {
        b.advance_by(1.0);
    }
    let driven_s = b.time_s() - from_s;
    let mixed = (driven_s > 0.0).then(|| driven_s / clock.elapsed().as_secs_f64());
    Ok(Speed {
        car: b.car_name().0.into(),
        cylinders: b.cylinders(),
        step_deg: setup.step_deg,
        idle_times_real_time: simulated_s / spent,
        mixed_times_real_time: mixed,
        ns_per_cylinder_step: 1e9 * spent / (steps * b.cylinders() as f64),
    })
}
