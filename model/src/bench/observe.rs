//! What the bench tells: an observation, and the world's own values.
//!
//! *Inside*: filling the views. *Outside*: the views themselves (`view`), what instruments show (`tools`).

use crate::bench::view::{
    BankTruth, CylinderTruth, DashLamp, IdleView, Lamp, LiveView, MisfireView, Observation, TrimView, Truth,
    WindowTruth,
};
use crate::bench::{Bench, IdleSample, life, shelf};
use crate::ecm::memory::Name;
use crate::link::{RoutineState, Scan};
use crate::plant::parts::edges_deg;
use crate::units::celsius;

/// Lambda of a charge without fuel has no bound: this much is shown, as much as a sensor in air tells.
const MOST_LAMBDA: f64 = 10.0;

impl Bench {
    fn idle_view(&self) -> Option<IdleView> {
        let n = self.ring.len();
        // less than five seconds say nothing about an idle
        if n < 50 {
            return None;
        }
        let mean = |f: fn(&IdleSample) -> f64| self.ring.iter().map(f).sum::<f64>() / n as f64;
        let mean_rpm = mean(|s| s.rpm);
        let var = self.ring.iter().map(|s| (s.rpm - mean_rpm) * (s.rpm - mean_rpm)).sum::<f64>() / n as f64;
        let banks = self.car.plant.layout.bank_count();
        // a cold sensor tells zero: only what a ready one told counts
        let lambda: Vec<f64> = (0..banks)
            .map(|b| {
                let told = || self.ring.iter().map(|s| s.lambda[b]).filter(|l| *l > 0.0);
                told().sum::<f64>() / (told().count().max(1) as f64)
            })
            .collect();
        Some(IdleView {
            target_rpm: mean(|s| s.target_rpm),
            mean_rpm,
            sd_rpm: var.sqrt(),
            map_kpa: mean(|s| s.map_kpa),
            air_g_s: mean(|s| s.air_g_s),
            throttle_deg: mean(|s| s.throttle_deg),
            spark_deg: mean(|s| s.spark_deg),
            lambda,
        })
    }

    fn dash_lamp(&self) -> DashLamp {
        let out = &self.ecm.s.out;
        match (out.lamp, out.lamp_blinks) {
            (false, _) => DashLamp::Off,
            (true, true) => DashLamp::Blink,
            (true, false) if self.ecm.s.codes.lamp() => DashLamp::On,
            (true, false) => DashLamp::BulbCheck,
        }
    }

    /// What a technician could know.
    pub fn observe(&self) -> Observation {
        let live = self.ecm.live();
        let idle = self.idle_view();
        // of a stopped engine that of a warm idle
        let nominal =
            if self.ecm.s.running { live.idle_base_g_s } else { self.car.ecm.s.idle.warm_base_g_s() };
        let idle_air = idle.as_ref().map_or(nominal.max(1.0), |i| i.air_g_s.max(0.3));
        let store = &self.ecm.s.store;
        let trims = (0..self.car.plant.layout.bank_count() as u8)
            .map(|b| {
                let offset = store.get(Name::LongIdle(b));
                TrimView {
                    bank: b + 1,
                    short_pct: [live.short_pct, live.short_bank2_pct][usize::from(b)],
                    long_idle_g_s: offset,
                    long_idle_pct: 100.0 * offset / idle_air,
                    long_part_pct: store.get(Name::LongPart(b)),
                    long_high_pct: store.get(Name::LongHigh(b)),
                }
            })
            .collect();
        let (routine, routine_waits_for, routine_because) = match self.ecm.s.routine {
            RoutineState::None => ("none", None, None),
            RoutineState::Running { waits_for, .. } => ("running", waits_for, None),
            RoutineState::Done { .. } => ("done", None, None),
            RoutineState::Failed { because, .. } => ("failed", None, Some(because)),
        };
        let stop_start = self.ecm.stop_start();
        Observation {
            answers: self.ecm.answers(),
            live: LiveView {
                values: live,
                running: self.ecm.s.running,
                fuel: self.ecm.fuel_terms(),
                routine: routine.into(),
                routine_waits_for,
                routine_because,
                stop_start: stop_start.0.into(),
                stop_start_because: stop_start.1,
            },
            idle,
            slow: self.slow_view(),
            trims,
            learned: self.by_own_clock(self.ecm.learned()),
            codes: self.ecm.s.codes.stored(),
            lamp: if self.ecm.s.misfire.blink {
                Lamp::Blink
            } else if self.ecm.s.codes.lamp() {
                Lamp::On
            } else {
                Lamp::Off
            },
            dash_lamp: self.dash_lamp(),
            charge_lamp: self.ecm.s.out.charge_lamp,
            hot_lamp: self.ecm.s.out.hot_lamp,
            misfires: (0..self.cylinders())
                .map(|c| MisfireView { cylinder: c as u8 + 1, count: live.misfires[c] })
                .collect(),
            readiness: self.ecm.readiness(),
            watched: self.bay.s.tester.shown(self.plant.s.time_s),
            readings: self.bay.last().to_vec(),
            wheel_table_deg: if store.wheel.learned { store.wheel.edges_deg.clone() } else { Vec::new() },
        }
    }

    /// What the module tells to a program on its diagnostic link: no truth, nothing that a tool measures.
    pub fn scan(&self) -> Scan {
        self.ecm.scan()
    }

    /// The world's own values: for grading, and for screens under an open lid.
    pub fn truth(&self) -> Truth {
        let s = &self.plant.s;
        let cylinders = s
            .accounts
            .iter()
            .enumerate()
            .map(|(c, a)| CylinderTruth {
                cylinder: c as u8 + 1,
                lambda: a.lambda,
                imep_kpa: a.imep_pa() * 1e-3,
                imep_cov_pct: 100.0 * a.imep_cov(),
                residual_pct: 100.0 * a.last.residual,
                misfires: a.misfires,
            })
            .collect();
        let t = &s.parts.throttle;
        let seen = edges_deg(&s.parts.wheel, &s.parts.crank_sensor, self.car.plant.crank.wheel_radius_mm);
        let is = self.ecm.window_errors_deg(&seen);
        let windows: Vec<WindowTruth> = is
            .iter()
            .zip(self.ecm.window_corrections_deg())
            .zip(&self.car.plant.layout.firing_order)
            .map(|((is_deg, believed_deg), c)| WindowTruth { cylinder: *c, is_deg: *is_deg, believed_deg })
            .collect();
        let parts = shelf::tell(&s.parts, &self.car.plant);
        let middle = seen.iter().sum::<f64>() / seen.len() as f64;
        Truth {
            wheel_deg: seen.iter().map(|e| e - middle).collect(),
            cylinders,
            deposit_um: t.deposit_um,
            closed_stop_deg: self.car.ecm.s.inputs.throttle_closed_deg + self.plant.stop_deg(),
            unmetered_leak_mm2: s.hands.leak_mm2,
            unmetered_leak_g_s: s.air.leak_kg_s() * 1e3,
            exhaust_leak_mm2: s.hands.exhaust_leak_mm2,
            exhausts: s
                .exhaust
                .banks
                .iter()
                .enumerate()
                .map(|(b, bank)| BankTruth {
                    bank: b as u8 + 1,
                    back_kpa: (bank.pressure_pa - self.plant.ambient().0) * 1e-3,
                    flow_g_s: bank.flow_kg_s * 1e3,
                    catalyst_c: celsius(s.catalysts.banks[b].brick_k),
                    catalyst_health: s.parts.exhausts[b].health,
                    catalyst_oxygen_pct: 1e5 * s.catalysts.banks[b].oxygen_kg
                        / (self.car.plant.catalyst.oxygen_g * s.parts.exhausts[b].health).max(1e-9),
                    joint_leak_g_s: bank.joint_kg_s * 1e3,
                    rear_trim_needed_pct: self.rear_trim_needed_pct(b as u8),
                })
                .collect(),
            air_meter_gain: s.parts.air_meter.tells(s.air.metered_kg_s() * 1e3),
            rail_kpa: s.fuel.rail_pa * 1e-3,
            high_rail_kpa: s.fuel.high_pa * 1e-3,
            canister_pct: 1e5 * s.air.canister_kg / self.car.plant.air.canister_g,
            tank_kpa: s.vapour.gauge_pa * 1e-3,
            tank_c: celsius(s.vapour.fuel_k),
            tank_l: s.fuel.tank_l,
            tank_alcohol_pct: s.fuel.tank_pct,
            fuel_alcohol_pct: s.fuel.alcohol_pct(),
            cam_rest_deg: if self.car.plant.phaser.is_some() { self.plant.cam_rest_deg() } else { 0.0 },
            cam_advance_deg: s.phaser.advance_deg,
            egr_stop_mm: self.plant.egr_stop_mm(),
            egr_lift_mm: s.egr.lift_mm,
            egr_pct: 100.0 * s.egr.gas_kg_s / (s.egr.gas_kg_s + s.air.metered_kg_s().max(0.0)).max(1e-9),
            purge_g_s: s.air.purge_kg_s() * 1e3,
            coolant_c: celsius(s.thermal.coolant_k),
            battery: life::battery_truth(&s.parts.battery),
            idle_air_needed_g_s: self.idle_air_needed(t),
            wheel_off_deg: windows.iter().map(|w| (w.is_deg - w.believed_deg).abs()).fold(0.0, f64::max),
            windows,
            parts,
        }
    }

    /// A few true values for the trace: deposit \[µm\], idle air the parts need \[g/s\], leak \[g/s\], lambda
    /// of cylinder 1, catalyst of bank 1 \[°C\], battery: charge \[%\], capacity left \[%\], water lost \[g\].
    pub fn quick_truth(&self) -> [f64; 8] {
        let s = &self.plant.s;
        [
            s.parts.throttle.deposit_um,
            self.idle_air_needed(&s.parts.throttle),
            s.air.leak_kg_s() * 1e3,
            s.accounts.first().map_or(0.0, |a| a.last.lambda.min(MOST_LAMBDA)),
            s.catalysts.banks.first().map_or(0.0, |b| celsius(b.brick_k)),
            100.0 * s.parts.battery.charged(),
            100.0 * s.parts.battery.health(),
            s.parts.battery.water_lost_g,
        ]
    }
}
