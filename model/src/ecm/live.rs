//! Live data: what the module reports about its inputs and its own control, now and at the moment a code was set.

use crate::ecm::codes::Code;
use crate::ecm::{Ecm, alcohol, fueling, memory, misfire};
use crate::link::{FreezeFrame, FuelSystem, LiveValues, MonitorStatus};

impl Ecm {
    /// Conditions that are stored with a code.
    pub(super) fn freeze_frame(&self) -> FreezeFrame {
        let i = &self.s.inputs;
        FreezeFrame {
            engine_speed_rpm: i.rpm,
            load_pct: 100.0 * self.s.fuel.air_g * 1e3 / self.cal.s.fuel.full_air_mg,
            coolant_c: i.coolant_c,
            map_kpa: i.map_kpa,
            air_g_s: i.air_g_s,
            short_pct: 100.0 * self.s.fuel.short[0],
            long_pct: 100.0 * self.s.fuel.long[0],
            road_km_h: i.road_km_h,
            fuel_system: self.fuel_system(),
        }
    }

    /// Which monitors have completed since codes were cleared.
    pub fn readiness(&self) -> Vec<MonitorStatus> {
        let plate = &self.cal.plate;
        let year = self.cal.s.run.model_year;
        self.s.codes.readiness(plate.bank_count(), plate.firing_order.len(), year)
    }

    /// Fuel system status of bank 1.
    pub(super) fn fuel_system(&self) -> FuelSystem {
        let (i, f, [warm_c, after_s]) = (&self.s.inputs, &self.s.fuel, self.cal.s.fuel.closed_loop);
        if f.closed_loop[0] {
            FuelSystem::Closed
        } else if [Code::P0131, Code::P0132, Code::P0135].into_iter().any(|c| self.s.codes.active(c)) {
            FuelSystem::OpenFault
        } else if i.coolant_c < warm_c || f.running_s <= after_s || i.lambda[0] <= 0.0 {
            FuelSystem::OpenCold
        } else {
            FuelSystem::OpenDriving
        }
    }

    fn believed_fuel(&self) -> fueling::Fuel {
        let (s, cal) = (&self.s, &self.cal.s);
        alcohol::believed(cal.alcohol.as_ref(), cal.fuel.afr, &s.store, s.inputs.coolant_c)
    }

    /// Terms that make up the requested fuel; `None` while no fuel is requested.
    pub fn fuel_terms(&self) -> Option<fueling::Terms> {
        let (i, f) = (&self.s.inputs, &self.s.fuel);
        (self.s.running && !f.cut)
            .then(|| f.terms(&self.cal.s.fuel, &self.believed_fuel(), i.coolant_c, i.segment_s))
    }

    /// Live values as reported over the link.
    pub fn live(&self) -> LiveValues {
        let (i, a, f) = (&self.s.inputs, &self.s.air, &self.s.fuel);
        let stop = self.s.store.get(memory::Name::ClosedStop);
        // the wires of a bank that a car does not have carry some voltage too
        let bank2 = |x: f64| if self.cal.plate.bank_count() > 1 { x } else { 0.0 };
        LiveValues {
            engine_speed_rpm: i.rpm,
            target_rpm: a.target_rpm,
            coolant_c: i.coolant_c,
            inlet_air_c: i.inlet_c,
            map_kpa: i.map_kpa,
            air_g_s: i.air_g_s,
            air_by_pressure_g_s: i.air_by_pressure_g_s,
            rail_kpa: i.rail_kpa,
            purge_pct: 100.0 * self.s.purge.duty,
            throttle_deg: self.cal.s.inputs.throttle_deg(i.throttle_v) - stop,
            pedal_pct: i.pedal_pct,
            // the advance that the coils get, including what recirculated gas adds
            spark_deg: self.s.out.spark_deg[0].unwrap_or(f.spark_deg + a.spark_add),
            lambda: i.lambda[0],
            lambda_bank2: bank2(i.lambda[1]),
            short_pct: 100.0 * f.short[0],
            short_bank2_pct: bank2(100.0 * f.short[1]),
            long_pct: 100.0 * f.long[0],
            long_bank2_pct: bank2(100.0 * f.long[1]),
            rear_oxygen_v: i.rear_oxygen_v[0],
            rear_oxygen_bank2_v: bank2(i.rear_oxygen_v[1]),
            rear_trim_pct: self.s.store.get(memory::Name::RearTrim(0)),
            rear_trim_bank2_pct: self.s.store.get(memory::Name::RearTrim(1)),
            supply_v: i.supply_v,
            road_km_h: i.road_km_h,
            idling: a.idling,
            idle_base_g_s: a.base,
            idle_load_g_s: a.load,
            idle_learned_g_s: a.learned,
            idle_pi_g_s: a.pi + a.dashpot + a.start,
            misfires: self.s.misfire.trip,
            misfire_pct: self.s.misfire.last_short.pct(),
            misfire_watched: self.s.misfire.off == misfire::Off::Watching,
            charge_set_v: self.s.out.charge_v,
            charge_base_v: self.s.charging.terms_v[0],
            charge_cold_v: self.s.charging.terms_v[1],
            charge_age_v: self.s.charging.terms_v[2],
            charge_stage_v: self.s.charging.terms_v[3],
            battery_a: self.s.charging.battery_a,
            battery_c: self.s.charging.battery_c,
            battery_charge_pct: 100.0 * self.s.charging.charge,
            field_duty_pct: 100.0 * i.field_duty,
            cut_out_drop_rpm: self.s.cut_out_speed.drop_rpm(),
            catalyst_pct: self.s.catalyst.result_pct(0).unwrap_or(0.0),
            catalyst_bank2_pct: self.s.catalyst.result_pct(1).unwrap_or(0.0),
            fuel_level_pct: i.fuel_level_pct,
            alcohol_pct: self.s.store.get(memory::Name::Alcohol),
            tank_kpa: self.cal.s.vapour.as_ref().map_or(0.0, |_| self.s.vapour.tank_kpa()),
            vapour_leak_mm: self.s.vapour.found.map_or(0.0, |f| f.hole_mm),
            cam_wanted_deg: self.s.phaser.wanted_deg,
            cam_advance_deg: self.s.phaser.advance_deg,
            egr_wanted_mm: self.s.egr.wanted_mm,
            egr_lift_mm: self.s.egr.lift_mm,
            egr_position_mm: self.s.egr.position_mm,
        }
    }
}
