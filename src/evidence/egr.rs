//! Recirculated exhaust gas at part load: how much flows, and what it does to burn, manifold pressure, fuel and trims.
//!
//! Each engine is held at one speed and torque twice: with its valve at work, and with one that is stuck on its seat. The module
//! detects no fault there. It adds spark by the lift that the sensor shows, here none.

use super::hands::{act, both, built, hold, injected_kg, mean};
use super::sources::*;
use super::{Case, Sheet, System::Engine, System::Fuel, Trial, WHIMBREL, row};
use crate::bench::Bench;
use crate::bench::action::{Action, Key, PartChoice, PartKind};
use crate::bench::setup::Setup;
use crate::units::rad_s;

pub(super) const TRIALS: &[Trial] = &[
    Trial {
        cars: WHIMBREL,
        seeds: true,
        rows: &[
            row("egr-share-least", Engine, &EGR, 5.0, 25.0).in_unit("%", 1),
            row("egr-share-most", Engine, &EGR, 5.0, 25.0).in_unit("%", 1),
            row("egr-cov", Engine, &COV, 0.0, 10.0).in_unit("%", 1),
        ],
        go: shares,
    },
    Trial {
        cars: WHIMBREL,
        seeds: true,
        rows: &[
            row("egr-burn", Engine, &EGR, 1.05, 1.35).in_unit("", 2),
            row("egr-map", Engine, &FORMULA, 0.95, 1.05).in_unit("", 3),
            row("egr-fuel", Engine, &EGR, -6.0, 0.0).in_unit("%", 1),
            row("egr-trims", Fuel, &PRACTICE, -2.0, 2.0).in_unit("%", 1),
        ],
        go: with_and_without,
    },
];

/// A warm engine that has had the time to learn its valve's stop at key-on.
fn idling(case: &Case, parts: Vec<PartChoice>) -> Option<Bench> {
    let mut b = built(&Setup { parts, ..case.setup(90.0) })?;
    act(&mut b, Action::Key(Key::On));
    b.advance_by(6.0);
    act(&mut b, Action::Key(Key::Crank));
    b.advance_by(30.0);
    b.observe().live.running.then_some(b)
}

/// Light and medium load at 1500 to 3000 rpm; the cylinder that varies most.
fn shares(case: &Case, sheet: &mut Sheet) {
    let Some(mut b) = idling(case, Vec::new()) else { return };
    let mut all: Vec<f64> = Vec::new();
    let mut cov = 0.0_f64;
    for (rpm, nm) in [(1500.0, 50.0), (2000.0, 50.0), (2000.0, 90.0), (2500.0, 70.0), (3000.0, 80.0)] {
        hold(&mut b, rpm, nm, 40.0);
        all.push(mean(&mut b, 5.0, |b| b.truth().egr_pct));
        cov = b.truth().cylinders.iter().map(|c| c.imep_cov_pct).fold(cov, f64::max);
    }
    sheet.put("egr-share-least", all.iter().copied().fold(f64::MAX, f64::min));
    sheet.put("egr-share-most", all.iter().copied().fold(0.0, f64::max));
    sheet.put("egr-cov", cov);
}

/// What an engine does at a steady part load, means of a minute.
struct Held {
    /// Burn of a cylinder \[deg\].
    burn_deg: f64,
    /// Manifold pressure \[kPa\].
    map_kpa: f64,
    /// Air, and recirculated gas \[kg/s\].
    air_kg_s: f64,
    gas_kg_s: f64,
    /// Fuel over work at the rollers \[kg/J\].
    kg_j: f64,
    /// Trims together \[-\].
    trims: f64,
}

fn held(b: &mut Bench) -> Held {
    hold(b, 2000.0, 50.0, 60.0);
    let n = 60.0 * 20.0;
    let mut h = Held { burn_deg: 0.0, map_kpa: 0.0, air_kg_s: 0.0, gas_kg_s: 0.0, kg_j: 0.0, trims: 0.0 };
    let (mut kg, mut work_j) = (0.0, 0.0);
    for _ in 0..n as u32 {
        kg += injected_kg(b, 0.05);
        let s = &b.plant().s;
        work_j += 0.05 * s.road.rollers_nm * rad_s(b.plant().speed_rpm());
        let burns: f64 = s.accounts.iter().map(|a| a.last.burn_deg).sum();
        h.burn_deg += burns / s.accounts.len() as f64 / n;
        h.map_kpa += 1e-3 * s.air.manifold_pa / n;
        h.air_kg_s += s.air.metered_kg_s() / n;
        h.gas_kg_s += s.egr.gas_kg_s / n;
        h.trims += both(b) / n;
    }
    h.kg_j = kg / work_j;
    h
}

fn with_and_without(case: &Case, sheet: &mut Sheet) {
    let on_its_seat = PartChoice { stuck_mm: Some(0.0), ..PartChoice::new(PartKind::EgrValve) };
    let [with, without] = [Vec::new(), vec![on_its_seat]].map(|parts| idling(case, parts));
    let (Some(mut with), Some(mut without)) = (with, without) else { return };
    let (with, without) = (held(&mut with), held(&mut without));
    sheet.put("egr-burn", with.burn_deg / without.burn_deg);
    // at one speed the cylinders draw a volume: pressure goes as what flows in, air and gas together
    let drawn = (with.air_kg_s + with.gas_kg_s) / without.air_kg_s;
    sheet.put("egr-map", with.map_kpa / without.map_kpa / drawn);
    sheet.put("egr-fuel", 100.0 * (with.kg_j / without.kg_j - 1.0));
    sheet.put("egr-trims", 100.0 * (with.trims - without.trims));
}
