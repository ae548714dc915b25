//! A scan of the module: everything that a program on the diagnostic link reads from it at one moment.
//!
//! *Inside*: filling in the scan. *Outside*: its data type ([`crate::link::Scan`]). A scan changes nothing.
//!
//! **Checked by** `source_scan…` in `tests/module/services.rs`.

use crate::ecm::codes::CODES;
use crate::ecm::{Ecm, Power, egr};
use crate::link::{MonitorDetail, Scan};

/// Supply of the throttle's tracks \[V\].
const REFERENCE_V: f64 = 5.0;

impl Ecm {
    /// What the module reports at this moment.
    pub fn scan(&self) -> Scan {
        let (s, i, plate) = (&self.s, &self.s.inputs, &self.cal.plate);
        let (banks, cylinders) = (plate.bank_count(), plate.firing_order.len());
        let inputs = &self.cal.s.inputs;
        // a sensor that is not hot yet gives no reading
        let oxygen_v =
            i.lambda.map(|lambda| if lambda > 0.0 { inputs.lambda_v.inverse_at(lambda) } else { 0.0 });
        let codes = CODES.iter().filter(|c| s.codes.can_set(c.0, banks, cylinders));
        Scan {
            awake: s.power == Power::On,
            running: s.running,
            cylinders: cylinders as u8,
            banks: banks as u8,
            metered: inputs.air_meter_v.is_some(),
            rail: inputs.rail_v.is_some(),
            blends: s.store.holds().alcohol,
            phased: s.store.holds().cam_rest,
            live: self.live(),
            load_pct: self.freeze_frame().load_pct,
            throttle_pct: 100.0 * i.throttle_v / REFERENCE_V,
            ambient_kpa: i.ambient_kpa,
            lambda_asked: s.fuel.asked(0),
            catalyst_pct: [0, 1].map(|b| s.catalyst.result_pct(b)),
            catalyst_least_pct: self.cal.s.catalyst.least_pct,
            vapour: s.vapour.found.map(|f| (f.hole_mm, f.drawn)),
            vapour_least_mm: self.cal.s.vapour.as_ref().map(|c| c.leak_mm[0]),
            egr: s.egr.flow,
            egr_least: self.cal.s.egr.as_ref().map(|c| c.flow[2]),
            egr_most_mm: self.cal.s.egr.as_ref().map_or(0.0, egr::Cal::most_mm),
            oxygen_v,
            fuel_system: self.fuel_system(),
            run_s: if s.running { s.fuel.running_s } else { 0.0 },
            lamp: s.codes.lamp(),
            routine: s.routine,
            codes: codes.map(|c| s.codes.detail(c.0)).collect(),
            monitors: self
                .readiness()
                .iter()
                .zip(s.codes.this_trip(banks, cylinders))
                .map(|(m, (name, this_trip))| MonitorDetail { name, complete: m.complete, this_trip })
                .collect(),
        }
    }
}
