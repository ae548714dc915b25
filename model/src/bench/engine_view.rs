//! What can be seen of an engine: the present positions of its parts, for a drawing.
//!
//! *Inside*: angles, strokes and switches as plain numbers, in two views: what the eye, a workshop drawing and a
//! scope on the wires would show ([`EngineView`]), and the true state of the gas in the cylinders ([`GasTruth`]).
//! *Outside*: drawing.
//!
//! The model knows when valves open and close, but not their lift: lift is drawn as a half sine over crank angle
//! between opening and closing. In the model, inlet valves open and exhaust valves close at the top dead centre of
//! the overlap, so this is what is shown.

use super::Bench;
use super::view::{CylinderView, EngineShape, EngineView, GasTruth, Stroke};
use crate::bench::action::Connector;
use crate::num::{self, FlowFunction};
use crate::plant::{INJECT_DEG, air, cylinder};
use crate::units::{celsius, kelvin};

/// Crank angle over which a spark is drawn \[deg\]: it burns for about 1 ms, some 5° at idle; longer, to be visible.
const SPARK_SHOWN_DEG: f64 = 12.0;

/// Temperature at which any material begins to glow, a dull red: 798 K (Draper, 1847, M) \[°C\].
pub const GLOWS_FROM_C: f64 = 525.0;
/// Temperature of the brightest glow that is drawn, a light orange \[°C\]; assumed.
const BRIGHT_C: f64 = 1000.0;

/// Brightness of the glow at a temperature \[°C\], 0 to 1, in steps that the eye can tell apart.
fn glow(at_c: f64) -> f64 {
    (20.0 * ((at_c - GLOWS_FROM_C) / (BRIGHT_C - GLOWS_FROM_C)).clamp(0.0, 1.0)).round() / 20.0
}

/// Angle within the cycle, from 0 to below 720 \[deg\].
fn in_cycle(deg: f64) -> f64 {
    deg.rem_euclid(720.0)
}

/// Valve lift as a share of its maximum, at an angle in the cycle, between opening and closing angles \[deg\].
fn lift(at: f64, opens: f64, shuts: f64) -> f64 {
    if at <= opens || at >= shuts { 0.0 } else { num::sin_deg(180.0 * (at - opens) / (shuts - opens)) }
}

impl EngineShape {
    /// Crank angle past firing top of a cylinder (from 0), from the angle past firing top of cylinder 1 \[deg\].
    fn own_deg(&self, crank_deg: f64, c: usize) -> f64 {
        in_cycle(crank_deg - self.offsets_deg.get(c).copied().unwrap_or(0.0))
    }
    /// Lift of inlet and exhaust valves as a share of the maximum, at an angle past firing top \[deg\].
    pub fn lifts(&self, deg: f64) -> (f64, f64) {
        let at = in_cycle(deg);
        (lift(at, 360.0, self.inlet_shuts_deg), lift(at, self.exhaust_opens_deg, 360.0))
    }
    /// Distance of the piston pin below its position at top dead centre \[mm\], at an angle past it \[deg\].
    pub fn drop_mm(&self, deg: f64) -> f64 {
        let (r, l) = (0.5 * self.stroke_mm, self.rod_mm);
        let (s, c) = (num::sin_deg(deg), num::cos_deg(deg));
        r + l - (r * c + (l * l - r * r * s * s).max(0.0).sqrt())
    }
    /// Mean width of the gap around a clean plate at an opening above its stop \[deg\], in µm: open area over the
    /// circumference of the bore.
    pub fn throttle_gap_um(&self, opening_deg: f64) -> f64 {
        let open = air::clean_area_mm2(
            self.throttle_bore_mm,
            self.throttle_closed_deg,
            self.throttle_shaft_ratio,
            self.throttle_seal_mm2,
            opening_deg,
        );
        1e3 * open / (std::f64::consts::PI * self.throttle_bore_mm)
    }
    /// Thickness of a film around the bore that reduces the air flow at idle, where the flow is choked, by this much
    /// \[g/s\], in µm; negative for an increase. Air ahead of the plate: pressure \[kPa\], temperature \[°C\].
    pub fn film_for_um(&self, air_g_s: f64, before_kpa: f64, before_c: f64) -> f64 {
        let flow = FlowFunction::new(air::GAMMA);
        let kg_s_mm2 =
            air::orifice_kg_s(&flow, self.throttle_discharge, 1e3 * before_kpa, kelvin(before_c), 0.0);
        air_g_s / kg_s_mm2 / air::film_area_mm2(self.throttle_bore_mm, 1e3)
    }
}

impl Bench {
    /// Dimensions and layout of this engine, as far as drawn; the same for every engine of its kind.
    pub fn engine_shape(&self) -> EngineShape {
        let p = self.plant.params();
        let c = &p.cylinder;
        EngineShape {
            bore_mm: c.bore_mm,
            stroke_mm: c.stroke_mm,
            rod_mm: c.rod_mm,
            compression_ratio: c.compression_ratio,
            firing_order: p.layout.firing_order.clone(),
            banks: p.layout.banks.clone(),
            offsets_deg: p.layout.offsets_deg(),
            direct: p.fuel.direct.is_some(),
            metered: p.sensors.air_meter_v.is_some(),
            egr: p.egr.is_some(),
            exhaust_opens_deg: 180.0 - c.exhaust_opens_bbdc_deg,
            inlet_shuts_deg: 540.0 + c.inlet_closes_abdc_deg,
            inject_deg: p.fuel.direct.as_ref().map_or(INJECT_DEG, |d| 720.0 - d.start_btdc_deg),
            throttle_bore_mm: p.air.bore_mm,
            throttle_closed_deg: p.air.closed_deg,
            throttle_shaft_ratio: p.air.shaft_ratio,
            throttle_seal_mm2: p.air.seal_leak_mm2,
            throttle_discharge: p.air.discharge,
            first_tooth_btdc_deg: p.crank.first_tooth_btdc_deg,
            wheel_radius_mm: p.crank.wheel_radius_mm,
        }
    }

    /// Present positions, as the eye or a scope on the wires would show them.
    pub fn engine_view(&self) -> EngineView {
        let shape = self.engine_shape();
        let s = &self.plant.s;
        let step_deg = self.setup.step_deg;
        let crank_deg = in_cycle((s.crank.index as f64 + s.crank.share) * step_deg);
        let drive = self.ecm.out();
        let deg_per_us = s.crank.omega.to_degrees() * 1e-6;
        let cylinders = (0..self.cylinders())
            .map(|c| {
                let at = shape.own_deg(crank_deg, c);
                let since = |start: f64| in_cycle(at - start);
                let (inlet_lift, exhaust_lift) = shape.lifts(at);
                let for_deg = drive.inject_us[c] * deg_per_us;
                let fires = s.hands.plugs.coils[c] && self.plant.turning();
                let spark_btdc = drive.spark_deg[c].filter(|_| fires);
                let inject_for_deg = if s.hands.plugs.injectors[c] { for_deg } else { 0.0 };
                CylinderView {
                    cylinder: c as u8 + 1,
                    bank: shape.banks[c],
                    deg: at,
                    drop_mm: shape.drop_mm(at),
                    exhaust_lift,
                    inlet_lift,
                    stroke: Stroke::at(at, shape.exhaust_opens_deg),
                    sparks: spark_btdc.is_some_and(|b| since(-b) < SPARK_SHOWN_DEG),
                    injects: since(shape.inject_deg) < inject_for_deg,
                    spark_btdc,
                    inject_for_deg,
                }
            })
            .collect();
        EngineView {
            crank_deg,
            turning: self.plant.turning(),
            cylinders,
            plate_deg: (10.0 * (shape.throttle_closed_deg + s.air.opening_deg)).round() / 10.0,
            pulled: self.pulled(),
            glow: s.catalysts.banks.iter().map(|b| glow(celsius(b.brick_k))).collect(),
            shape,
        }
    }

    /// Connectors that are unplugged, as the eye sees them.
    pub(super) fn pulled(&self) -> Vec<Connector> {
        let p = &self.plant.s.hands.plugs;
        Connector::named(self.cylinders() as u8)
            .into_iter()
            .map(|(_, c)| c)
            .filter(|c| !match c {
                Connector::AirMeter => p.air_meter,
                Connector::ManifoldPressure => p.map,
                Connector::ThrottleBody => p.throttle,
                Connector::CoolantSensor => p.coolant,
                Connector::OxygenSensor1 => p.lambda[0],
                Connector::OxygenSensor2 => p.lambda[1],
                Connector::RearOxygenSensor1 => p.rear[0],
                Connector::RearOxygenSensor2 => p.rear[1],
                Connector::CrankSensor => p.crank,
                Connector::Injector(k) => p.injectors[usize::from(*k) - 1],
                Connector::Coil(k) => p.coils[usize::from(*k) - 1],
                Connector::Battery => p.battery,
                Connector::PurgeValve => p.purge_valve,
                Connector::PurgeHose => p.purge_hose,
                Connector::FuelCap => p.fuel_cap,
                Connector::CamValve => p.cam_valve,
                Connector::EgrValve => p.egr_valve,
                Connector::Fan => p.fan,
                Connector::Alternator => p.alternator,
                Connector::Pedal => p.pedal,
                Connector::Belt => p.belt,
            })
            .collect()
    }

    /// True state of the gas in each cylinder: for screens under an open lid.
    pub fn gas_truth(&self) -> Vec<GasTruth> {
        let p = self.plant.params();
        let late_deg = self.plant.s.parts.cam_drive.late_deg(p.crank.cam_tooth_deg);
        let gas = |(c, s): (usize, &cylinder::State)| {
            let all = s.charge.mass().max(1e-12);
            GasTruth {
                cylinder: c as u8 + 1,
                t_k: s.t_k,
                p_kpa: s.p_pa * 1e-3,
                burned: s.burned,
                products: (s.charge.products / all).clamp(0.0, 1.0),
                burns: s.phase == cylinder::Phase::Closed && s.burned > 0.001 && s.burned < 0.995,
                valves_late_deg: late_deg,
            }
        };
        self.plant.s.cylinders.iter().enumerate().map(gas).collect()
    }
}
