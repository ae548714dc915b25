//! The object that `--json` prints, and in which conditions and expectations look up values.
//!
//! *Inside*: its keys. *Outside*: paths into it ([`crate::scenario`]), which part of it may be shown (`viewer`).

use crate::bench::Bench;
use crate::bench::tools::{Reading, Tool};
use crate::bench::view::{Lamp, Observation, Watched};
use crate::link::{Gate, GateStatus, LiveValues};
use crate::scenario::Scenario;
use crate::session::{Error, Job, ticket};
use serde_json::{Value, json};

/// Version of the object that `--json` prints.
pub const JSON_SCHEMA: u64 = 2;

pub(super) fn root(scenario: &Scenario, b: &Bench, o: &Observation, job: &Job, cpu_s: f64) -> Value {
    json!({
        "schema": JSON_SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "scenario": scenario.about.id,
        "car": b.car_name().0,
        "seed": b.setup().seed,
        "class_seed": scenario.vary.who.as_ref().map(|w| w.class_seed),
        "trainee": scenario.vary.who.as_ref().map(|w| w.trainee.as_str()),
        "seal": ticket::word(scenario.vary.who.as_ref()),
        "simulated_s": b.time_s(),
        "cpu_s": cpu_s,
        "state_hash": b.state_hash(),
        "live": live(o),
        "idle": o.idle,
        "trims": o.trims,
        "learned": o.learned,
        "codes": o.codes,
        "lamp": o.lamp,
        "charge_lamp": o.charge_lamp,
        "hot_lamp": o.hot_lamp,
        "misfires": o.misfires,
        "readiness": o.readiness,
        "watched": o.watched,
        "readings": o.readings.iter().map(reading_json).collect::<Vec<_>>(),
        "job": job,
        "model_notes": b.model_notes(),
    })
}

/// Live values by name. While the module does not answer nobody can read a number, so that numbers are null, and nothing
/// that it does is under way, so that flags are false.
fn live(o: &Observation) -> Value {
    let mut v = json!(o.live);
    if let (false, Some(values)) = (o.answers, v.as_object_mut()) {
        for x in values.values_mut() {
            match x {
                Value::Number(_) => *x = Value::Null,
                Value::Bool(_) => *x = false.into(),
                _ => {}
            }
        }
    }
    v
}

/// A reading with its numbers and words by their names.
fn reading_json(r: &Reading) -> Value {
    let mut v = json!({ "name": r.tool.name(), "at_s": r.at_s });
    for (name, x) in &r.numbers {
        v[name.as_str()] = json!(x);
    }
    for (name, word) in &r.marks {
        v[name.as_str()] = json!(word);
    }
    if !r.samples.is_empty() {
        v["samples"] = json!(r.samples);
    }
    v
}

/// The object for conditions and expectations: everything, truth included.
pub(super) fn whole(scenario: &Scenario, b: &Bench, o: &Observation, job: &Job) -> Value {
    let mut v = root(scenario, b, o, job, 0.0);
    v["truth"] = json!(b.truth());
    v
}

/// An object with every key, for checking paths before a run.
pub fn sample(scenario: &Scenario) -> Result<Value, Error> {
    let b = Bench::standing(&scenario.setup).map_err(Error::Bench)?;
    let mut o = b.observe();
    let banks = o.trims.len();
    o.answers = true;
    o.idle = Some(crate::bench::view::IdleView { lambda: vec![1.0; banks], ..Default::default() });
    o.lamp = Lamp::Off;
    o.readings = Tool::all(b.cylinders(), b.banks()).into_iter().map(Reading::sample).collect();
    let watched = |n: &&str| Watched { name: (*n).to_owned(), value: Some(0.0), age_s: 0.0 };
    o.watched = LiveValues::NAMES.iter().map(watched).collect();
    for l in &mut o.learned {
        if l.gates.is_empty() {
            let all: &[Gate] = match l.name.as_str() {
                "idle_air_light" => &[
                    Gate::Idling,
                    Gate::Warm,
                    Gate::Neutral,
                    Gate::Standing,
                    Gate::NoLoad,
                    Gate::SpeedError,
                    Gate::IntegratorBounded,
                    Gate::StopKnown,
                    Gate::NoBlockingCode,
                ],
                "idle_air_loaded" => &[
                    Gate::Idling,
                    Gate::Warm,
                    Gate::Neutral,
                    Gate::Standing,
                    Gate::Loaded,
                    Gate::SpeedError,
                    Gate::IntegratorBounded,
                    Gate::StopKnown,
                    Gate::NoBlockingCode,
                ],
                "closed_stop" | "battery_age" => &[],
                "ambient" => &[Gate::AtRestOrWide, Gate::Steady],
                "cam_rest" => {
                    &[Gate::NoBlockingCode, Gate::Idling, Gate::Warm, Gate::CamAtRest, Gate::NearStored]
                }
                name if name.starts_with("rear_trim_bank") => &[
                    Gate::NoBlockingCode,
                    Gate::Warm,
                    Gate::CatalystWarm,
                    Gate::InCell,
                    Gate::ClosedLoop,
                    Gate::RearInRange,
                    Gate::Steady,
                    Gate::NoPurge,
                ],
                "egr_stop" => {
                    &[Gate::NoBlockingCode, Gate::EngineStands, Gate::Warm, Gate::Supply, Gate::KeyOnTime]
                }
                "alcohol" => &[Gate::Refuelled, Gate::ClosedLoop, Gate::Warm, Gate::NoPurge, Gate::Steady],
                _ => &[Gate::InCell, Gate::ClosedLoop, Gate::Warm, Gate::NoPurge, Gate::Steady],
            };
            l.gates = all
                .iter()
                .map(|g| GateStatus { name: *g, open: false, now: 0.0, limit: 0.0, code: None })
                .collect();
        }
    }
    Ok(whole(scenario, &b, &o, &Job::default()))
}
