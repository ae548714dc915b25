//! Surveys of a car: the limits of its misfire monitor, how well the monitor detects, how fast the car is simulated.

use super::Error;
use crate::batch::{self, CURVE_SHARES, Curve};
use crate::bench::car::Car;
use crate::bench::setup::Setup;
use crate::bench::survey::NoSurvey;
use crate::report::{self, Curves, Detection};
use crate::scenario::Mistake;
use crate::session::{self, Speed};
use crate::store;
use crate::words::facts;
use serde_json::{Value, json};

/// Index of the share that a chart shows.
const DRAWN: usize = 1;

/// A car's text: a shipped one's, or that of a car file.
fn car_text(name: &str) -> Result<String, Error> {
    store::named_car_text(name).map_err(|why| Error::mistake("", Mistake::NoCar(why)))
}

fn no_survey(why: NoSurvey) -> Error {
    Error::rule(facts::no_survey(&why))
}

/// The misfire monitor's limits, from a healthy engine with parts drawn from a seed, observed for `turns` crankshaft
/// turns at each operating point.
pub fn limits(car: &str, seed: u64, turns: f64) -> Result<batch::Limits, Error> {
    batch::limits(&car_text(car)?, seed, turns).map_err(no_survey)
}

/// Speeds and pressures at which limits are set \[rpm\], \[kPa\].
pub const LIMIT_AXES: (&[f64], &[f64]) = (&batch::LIMIT_RPM, &batch::LIMIT_KPA);

/// How many misfires are detected on the right cylinder, and how many false detections there are.
#[derive(Debug, Clone)]
pub struct Survey {
    /// The car's title.
    pub title: String,
    /// One curve for each speed and load.
    pub points: Vec<Curve>,
    /// Number of engines surveyed.
    pub wheels: usize,
    /// Crankshaft turns observed on each.
    pub turns: f64,
    /// Number of cylinders.
    pub cylinders: usize,
    name: String,
}

/// Observes `wheels` engines, each with its own parts and wheel; `told` is called after each engine.
pub fn curves(car: &str, wheels: usize, turns: f64, told: &(dyn Fn(usize) + Sync)) -> Result<Survey, Error> {
    let text = car_text(car)?;
    let car = Car::parse(&text).map_err(|e| Error::rule(facts::car(&e)))?;
    let points = batch::curves(&text, wheels, turns, &batch::CURVE_RPM, &told).map_err(no_survey)?;
    let cylinders = car.plant.layout.cylinders();
    Ok(Survey { title: car.title, points, wheels, turns, cylinders, name: car.name })
}

impl Survey {
    /// A chart of detected misfires and false counts.
    pub fn picture(&self) -> String {
        let held = self.points.iter().filter(|c| c.lost < self.wheels as u64);
        let points = held
            .map(|c| Detection {
                rpm: c.rpm,
                low: c.low,
                found_pct: [c.found_pct(DRAWN, 0), c.found_pct(DRAWN, 1)],
                wrong_per_1000: [c.wrong_per_1000(self.cylinders, 0), c.wrong_per_1000(self.cylinders, 1)],
            })
            .collect();
        let share_pct = 100.0 * CURVE_SHARES[DRAWN];
        report::curves_svg(&Curves {
            car: &self.title,
            engines: self.wheels,
            turns: self.turns,
            share_pct,
            points,
        })
    }
    /// As data.
    pub fn json(&self) -> Value {
        let n = self.cylinders;
        let row = |c: &Curve| {
            json!({
                "rpm": c.rpm, "load": if c.low { "low" } else { "high" }, "map_kpa": c.map_kpa, "not_held": c.lost,
                "found_pct_learned": (0..4).map(|s| c.found_pct(s, 0)).collect::<Vec<_>>(),
                "found_pct_not_learned": (0..4).map(|s| c.found_pct(s, 1)).collect::<Vec<_>>(),
                "false_per_1000_learned": c.wrong_per_1000(n, 0),
                "false_per_1000_not_learned": c.wrong_per_1000(n, 1),
            })
        };
        let rows: Vec<Value> = self.points.iter().map(row).collect();
        json!({ "car": self.name, "wheels": self.wheels, "turns": self.turns, "shares": CURVE_SHARES, "points": rows })
    }
}

/// How fast a warm idle and mixed driving of the first car are simulated on this machine, at a crank step \[deg\] and
/// over a simulated time \[s\].
pub fn speed(step_deg: f64, seconds: f64) -> Result<Speed, Error> {
    let setup = Setup { step_deg, ..Setup::healthy(store::CARS[0].1, 1, 90.0) };
    session::idle_speed(&setup, seconds).map_err(|e| Error::rule(facts::session(&e)))
}
