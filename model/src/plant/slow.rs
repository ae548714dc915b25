//! The slow part of a step, every 10 ms: the inputs that each of its stages passes to its model.
//!
//! *Inside*: one function for each stage but the last. *Outside*: their order ([`super::Plant`]), what a model does with
//! its inputs (its own file), the last stage: the samples of the sensors ([`super::sensors`]). A stage reads the results of the stages before it; values that must be the same for all
//! stages are computed before the first ([`Now`]).

use super::wires::{Sensor, Wire};
use super::{
    Derived, Params, Plant, State, air, catalyst, egr, electrical, fuel, phaser, road, thermal, vapour,
};
use crate::signals::{ActuatorFrame, ToothEdge};
use crate::units::{R_AIR, celsius, rpm};

/// Longest step of the catalyst model \[s\].
const FINE_S: f64 = 0.1;

/// Values common to all stages of one sample.
pub(super) struct Now {
    /// Crank \[rad/s\].
    omega: f64,
    /// The electrics have power.
    pub(super) powered: bool,
    /// The engine runs.
    running: bool,
    /// The radiator's fan turns.
    fan: bool,
    /// Coolant \[°C\].
    pub(super) coolant_c: f64,
    /// Air at the meter \[K\].
    pub(super) inlet_k: f64,
    /// Mean of the metered air since the last sample \[kg/s\].
    pub(super) metered_kg_s: f64,
    /// Offset of the fitted body's closed stop from nominal \[deg\].
    pub(super) stop_deg: f64,
    /// Error of the throttle's first track from wear \[V\].
    pub(super) worn_v: f64,
}

impl Plant {
    /// Computes the values common to all stages of this sample.
    pub(super) fn now(&mut self, drive: &ActuatorFrame) -> Now {
        let Self { p, s, .. } = self;
        let omega = s.crank.omega;
        let plugs = &s.hands.plugs;
        // the meter's element and the filter respond to the mean of a pulsating flow
        let (metered_kg, since_s) = std::mem::replace(&mut s.tick_metered, (s.totals.metered_kg, s.time_s));
        let warm_share = ((s.thermal.coolant_k - s.ambient_k) / 70.0).clamp(0.0, 1.0);
        Now {
            omega,
            powered: plugs.battery || s.electrical.supply_v > 1.0,
            running: drive.pump && omega > 30.0,
            fan: drive.fan && plugs.fan,
            coolant_c: celsius(s.thermal.coolant_k),
            inlet_k: s.ambient_k + p.thermal.inlet_over_ambient_k * warm_share,
            metered_kg_s: (s.totals.metered_kg - metered_kg) / (s.time_s - since_s).max(1e-4),
            stop_deg: p.air.stop_of_deg(&s.parts.throttle),
            worn_v: p.sensors.track_wear_v(s.parts.throttle.track_wear, s.air.opening_deg),
        }
    }

    /// Opening at which the position loop comes to rest \[deg\]; none while nothing drives the plate. The loop moves the
    /// plate until its own track shows the wanted voltage, right or wrong.
    fn wanted_deg(&self, drive: &ActuatorFrame, now: &Now) -> Option<f64> {
        let (p, h) = (&self.p, &self.s.hands);
        let track = if drive.by_throttle2 { Sensor::Throttle2 } else { Sensor::Throttle1 };
        let ill = h.ills[track.index()];
        let works = h.plugs.throttle && ill.wire == Wire::Sound && !ill.stuck;
        drive.throttle_v.filter(|_| works && now.powered).map(|v| {
            let element_v = (v - ill.offset_v) / ill.gain;
            let rise_v = if drive.by_throttle2 {
                5.0 - p.sensors.throttle_closed_v - element_v
            } else {
                element_v - now.worn_v - p.sensors.throttle_closed_v
            };
            rise_v / p.sensors.throttle_v_deg - now.stop_deg
        })
    }

    /// Phaser of the inlet camshaft, where there is one.
    pub(super) fn camshaft(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p, s, .. } = self;
        let Some(cal) = &p.phaser else { return };
        let was_deg = s.phaser.advance_deg;
        let duty = if s.hands.plugs.cam_valve && now.powered { drive.cam_valve } else { 0.0 };
        let around = (rpm(now.omega), celsius(s.thermal.oil_k));
        s.phaser.tick(cal, &s.parts.phaser, duty, around, dt);
        if s.phaser.advance_deg != was_deg {
            self.inlet_turned();
        }
    }

    /// Turns the inlet valves to where the phaser stands.
    pub(super) fn inlet_turned(&mut self) {
        let Some(cal) = &self.p.phaser else { return };
        let late_deg = self.s.parts.cam_drive.late_deg(self.p.crank.cam_tooth_deg);
        let advance_deg = self.s.phaser.advance_deg;
        let overlap = phaser::overlap_factor(cal.overlap_deg, advance_deg);
        let d = std::sync::Arc::make_mut(&mut self.d);
        d.gas.turn_inlet(&self.p.cylinder, late_deg, advance_deg, overlap);
    }

    /// How late the cam sensor's edges come with the phaser at its rest stop \[deg of crank after top dead centre\].
    pub fn cam_rest_deg(&self) -> f64 {
        self.s.cam_rest_deg(&self.p)
    }

    /// Where the sensor of the exhaust-gas-recirculation valve stands with the valve pressed shut by its motor on a good
    /// battery \[mm\]; 0 on a car without one.
    pub fn egr_stop_mm(&self) -> f64 {
        /// Duty and supply of a firm push shut \[-, V\].
        const FIRM: (f64, f64) = (0.6, 12.6);
        let part = &self.s.parts.egr_valve;
        self.p.egr.as_ref().map_or(0.0, |p| {
            let soot_mm = 1e-3 * part.soot_um;
            let rests_mm = p.rests_mm(soot_mm, p.closing_n(part, FIRM.0, FIRM.1));
            part.stop_mm + part.stuck_mm.unwrap_or(rests_mm)
        })
    }

    /// Throttle plate, air filter and unmetered flow.
    pub(super) fn plate_and_filter(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let wanted_deg = self.wanted_deg(drive, now);
        let vent_shut = self.vent_shut(drive, now);
        let Self { p, d, s } = self;
        let h = &s.hands;
        let purge_mm2 = if h.plugs.purge_hose {
            let duty = if h.plugs.purge_valve && now.powered { drive.purge.clamp(0.0, 1.0) } else { 0.0 };
            (p.air.purge_mm2 * duty + s.parts.purge_valve.leak_mm2).max(0.0)
        } else {
            0.0
        };
        // with the vent shut the valve draws on the tank's own pressure
        let purge_mm2 = if vent_shut && purge_mm2 > 0.0 {
            let tank_pa = s.ambient_pa + s.vapour.gauge_pa;
            purge_mm2 * vapour::from_tank(&d.flow, s.air.manifold_pa, s.air.before_throttle_pa, tank_pa)
        } else {
            purge_mm2
        };
        let around = air::Surroundings {
            ambient_pa: s.ambient_pa,
            inlet_k: now.inlet_k,
            coolant_k: s.thermal.coolant_k,
            body: &s.parts.throttle,
            leak_mm2: h.leak_mm2,
            purge_mm2,
            filter_loss: s.parts.air_filter.loss_factor(),
            wanted_deg,
            metered_kg_s: now.metered_kg_s,
            supply_v: s.electrical.supply_v,
        };
        s.air.tick(&p.air, &around, dt);
    }

    /// Recirculated exhaust gas into the manifold, where there is a valve for it.
    pub(super) fn recirculate_gas(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p, d, s } = self;
        let Some(params) = &p.egr else { return };
        let bank = &s.exhaust.banks[0];
        // what the pipe carries, and what was led off before it
        let ports_kg_s = bank.flow_kg_s / (1.0 - s.egr.share).max(0.1);
        let around = egr::Around {
            exhaust_pa: bank.pressure_pa,
            pipe_k: s.catalysts.banks[0].pipe_k,
            coolant_k: s.thermal.coolant_k,
            manifold_pa: s.air.manifold_pa,
            ports_kg_s,
            supply_v: s.electrical.supply_v,
        };
        let duty = if s.hands.plugs.egr_valve && now.powered { drive.egr } else { 0.0 };
        s.egr.tick(params, &s.parts.egr_valve, &d.flow, duty, &around, dt);
        let (kg_s, afr) = (s.egr.gas_kg_s, s.fuel.heat.afr);
        s.air.recirculate(kg_s, s.egr.gas_k, s.exhaust.made_of(0, afr));
        if kg_s > 0.0 {
            s.exhaust.lead_off(0, kg_s * dt);
            s.parts.egr_valve.soot_um += params.soot_um_h * s.hands.wear_factor * dt / 3600.0;
        }
    }

    /// Whether the vent valve at the canister is shut, by its drive or its fault; never on a car without `[vapour]`.
    fn vent_shut(&self, drive: &ActuatorFrame, now: &Now) -> bool {
        let valve = &self.s.parts.vent_valve;
        self.p.vapour.is_some() && (valve.stays_shut || (drive.vent_shut && now.powered && !valve.stays_open))
    }

    /// Pressure over the fuel in the tank.
    pub(super) fn tank_vapour(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let vent_shut = self.vent_shut(drive, now);
        let Self { p, s, .. } = self;
        let Some(params) = &p.vapour else { return };
        let around = vapour::Around {
            ambient_pa: s.ambient_pa,
            ambient_k: s.ambient_k,
            gas_l: p.fuel.tank_l - s.fuel.tank_l,
            vent_shut,
            hole_mm: [s.parts.fuel_cap.hole_mm, s.parts.vapour_line.hole_mm],
            cap_on: s.hands.plugs.fuel_cap,
            running: now.running,
            purged_kg: s.totals.purge_kg,
        };
        s.vapour.tick(params, &around, dt);
    }

    /// Pump, filter, regulator, rails.
    pub(super) fn fuel_pressure(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p, s, .. } = self;
        // the output stage fills the high-pressure pump until the rail's own sensor shows the wanted voltage
        let wanted_pa = match (&p.fuel.direct, drive.rail_v) {
            (Some(direct), Some(v)) if now.powered => Some(1e3 * direct.rail_v.inverse_at(v)),
            _ => None,
        };
        let supply = fuel::Supply {
            pump: &s.parts.pump,
            filter: &s.parts.fuel_filter,
            regulator: &s.parts.regulator,
            wanted_pa,
            turns_per_s: now.omega / std::f64::consts::TAU,
        };
        let pumping = drive.pump && now.powered;
        s.fuel.tick(&p.fuel, &supply, pumping, s.electrical.supply_v, now.coolant_c, dt);
    }

    /// Pressure in the pipes, then the catalysts.
    pub(super) fn exhaust_and_catalysts(&mut self, dt: f64) {
        let Self { p, s, .. } = self;
        let around = (s.ambient_pa, s.ambient_k);
        s.exhaust.tick(&p.exhaust, &s.parts.exhausts, s.hands.exhaust_leak_mm2, around, dt);
        for (b, part) in s.parts.exhausts.iter_mut().enumerate() {
            let through = catalyst::Inputs {
                flow_kg_s: s.exhaust.banks[b].flow_kg_s,
                leak_kg_s: s.exhaust.banks[b].joint_kg_s + if b == 0 { s.exhaust.leak_kg_s } else { 0.0 },
                mixing_kg: p.exhaust.mixing_g * 1e-3,
                ambient_k: s.ambient_k,
                port_k: s.wall_k,
                fuel: s.fuel.heat,
            };
            // hot parts cool fast: a long step is split
            let parts = (dt / FINE_S).ceil().max(1.0);
            let ports_j = s.catalysts.banks[b].totals.lost_j[0];
            for _ in 0..parts as usize {
                s.catalysts.tick(&p.catalyst, b, part, &through, dt / parts);
            }
            // heat that the gas loses in the cooled ports warms the coolant
            s.tick_wall_j += s.catalysts.banks[b].totals.lost_j[0] - ports_j;
        }
    }

    /// Battery, alternator, starter, loads.
    pub(super) fn electrics(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p, s, .. } = self;
        let h = &s.hands;
        let starter =
            electrical::Starter { held_a: p.crank.starter_a, back_v: p.crank.starter_back_v(now.omega) };
        let switched = electrical::Switched {
            posts: h.at_posts(),
            key_on: h.key_on,
            running: now.running,
            lamps: h.lamps,
            heated_glass: h.heated_glass && h.key_on,
            blower: h.blower && h.key_on,
            fan: now.fan,
            clutch: drive.compressor,
            starter: drive.starter,
            accessory_a: h.accessory_a,
        };
        let around_k = s.ambient_k + p.electrical.bonnet_share * (s.thermal.coolant_k - s.ambient_k);
        let alternator = electrical::Alternator {
            // without its plug the field gets no current
            set_v: if h.plugs.alternator { drive.charge_v } else { 0.0 },
            rise_a_s: drive.charge_rise_a_s,
            share: s.parts.alternator.share,
        };
        let turning = if h.plugs.belt { now.omega } else { 0.0 };
        let battery = &mut s.parts.battery;
        let driven = (turning, starter);
        s.electrical.tick(&p.electrical, battery, &switched, driven, &alternator, around_k, dt);
    }

    /// Metal, coolant and oil.
    pub(super) fn heat(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p, s, .. } = self;
        let into = thermal::Inputs {
            wall_j: s.tick_wall_j,
            friction_j: s.tick_friction_j,
            least_open: s.parts.thermostat.least_open,
            rpm: rpm(now.omega),
            fan: now.fan,
            compressor: drive.compressor && now.running,
            blower: s.hands.blower && s.hands.key_on,
            road_m_s: s.road.speed_m_s,
            ambient_k: s.ambient_k,
        };
        s.thermal.tick(&p.thermal, &into, dt);
        (s.tick_wall_j, s.tick_friction_j) = (0.0, 0.0);
    }

    /// Driveline and road; then the loads on the crank and the gas temperatures until the next sample.
    pub(super) fn road_and_loads(&mut self, drive: &ActuatorFrame, now: &Now, dt: f64) {
        let Self { p, s, .. } = self;
        let (h, omega) = (&s.hands, now.omega);
        let on_road = road::Inputs { drive: h.drive, brake_pct: h.brake_pct, pedal_pct: h.pedal_pct, omega };
        s.road.tick(&p.road, &on_road, dt);
        let belts = if omega > 10.0 && h.plugs.belt {
            p.electrical.belt_nm
                + s.electrical.torque_nm
                + if drive.compressor { p.electrical.compressor_nm } else { 0.0 }
                + if h.steering { p.electrical.steering_nm } else { 0.0 }
        } else {
            0.0
        };
        s.external_nm = belts + s.road.crank_nm;
        s.friction_factor = p.crank.friction_oil.at(celsius(s.thermal.oil_k));
        let heating = p.cylinder.port_heating.at(rpm(omega));
        s.charge_k = s.air.manifold_k + heating * (s.thermal.coolant_k - s.air.manifold_k);
        s.per_rt = 1.0 / (R_AIR * s.charge_k);
        s.wall_k = s.thermal.coolant_k + if omega > 30.0 { p.cylinder.wall_over_coolant_k } else { 0.0 };
    }

    /// Wear from running.
    pub(super) fn wear(&mut self, now: &Now, dt: f64) {
        let Self { p, s, .. } = self;
        if now.running {
            s.totals.running_s += dt;
            let hours = s.hands.wear_factor * dt / 3600.0;
            s.parts.throttle.deposit_um += p.air.deposit_um_h * hours;
            p.wear.runs(&mut s.parts, hours);
        }
    }
}

impl State {
    fn cam_rest_deg(&self, p: &Params) -> f64 {
        let drive = &self.parts.cam_drive;
        drive.late_deg(p.crank.cam_tooth_deg) + drive.trigger_deg
    }

    /// A tooth's edge, captured at a time \[timer ticks\], with the cam sensor's level, and with what that sensor's own
    /// edges during the crank step do to it on a car that times them.
    #[inline]
    pub(super) fn sensed_edge(
        &mut self,
        p: &Params,
        d: &Derived,
        time_s: (f64, f64),
        omega: (f64, f64),
        tooth: Option<u64>,
    ) -> Option<ToothEdge> {
        let Some(cal) = &p.phaser else {
            let tick = tooth?;
            return Some(ToothEdge { tick, cam_high: d.cam_high(self.crank.index), cam_tick: None });
        };
        let step_deg = d.gas.step_deg;
        let from_deg = f64::from(self.crank.index as u32) * step_deg;
        let late_deg = self.cam_rest_deg(p);
        // most steps have neither edge
        if tooth.is_some() || self.phaser.changes(late_deg, (from_deg, step_deg)) {
            let turning = phaser::Turning { from_deg, step_deg, time_s, omega };
            // handed on part by part: a copy of the whole would wait for the stores of the parts
            let ToothEdge { tick, cam_high, cam_tick } = self.phaser.sense(cal, late_deg, &turning, tooth)?;
            return Some(ToothEdge { tick, cam_high, cam_tick });
        }
        None
    }
}
