//! What an ear beside the tailpipe hears: samples of sound pressure, made from the cylinders' own pressure.
//!
//! **Models** the gas that leaves each exhaust port: the blow-down at the moment the valve opens, from the cylinder's
//! pressure over that of its exhaust pipe, and what the piston pushes out after it; manifold, pipe, muffler and the
//! open end that radiates (`pipe`); the starter's pinion in the ring gear while it turns the crank. A cylinder that
//! did not burn opens below the exhaust's pressure: gas flows back into it, and the beat that is missing is heard.
//!
//! **Leaves out** intake noise, valves, injectors, belts, tyres and wind; the hiss of the flow; leaks and blockages
//! of the pipe (a blocked one is heard only by its pressure); the gas's temperature along the pipe; waves that run
//! back into a cylinder; differences in length between the cylinders' pipes. Nothing is drawn at random: what varies
//! from cycle to cycle is the engine's own burn. The level is right by an order of magnitude at best, and loud sound
//! is turned down (5): rhythm, pitch and the shares of the orders follow from the engine, loudness hardly does.
//!
//! **State**: none of the bench's. Nothing here is hashed, kept in a snapshot or cloned with a bench, and a bench that
//! nobody listens to makes no samples.
//!
//! **Parameters**: bore, stroke, rod, valve events and blow-down angle from the car's file; constants below and in
//! `pipe`, all assumed.
//!
//! **Equations** (numbers are repeated in the code)
//! 1. Gas that blows out of a port, as volume at the exhaust's pressure, isentropic: `B = V ((p/p_e)^(1/γ) − 1)` with
//!    cylinder volume `V` and pressure `p` when the valve opens; negative where `p < p_e`.
//! 2. Its flow at the angle `x` after opening: `Q_b = B ω (e^(−x/b) − e^(−x/a))/(b − a)`; `b` is the plant's own
//!    blow-down angle, over which its pressure falls; `a = 0.4 b` the angle in which the valve lifts, assumed.
//! 3. Flow that the piston pushes: `Q_p = −(dV/dθ) ω (1 − e^(−x/a))`, until the exhaust valve closes.
//! 4. The starter: `k T ω (sin Nθ + ½ sin 2Nθ)`, tooth by tooth of the ring gear, as loud as its power.
//! 5. Levelling: `x = p/(1 + p_rms/p₀)`, then `x/√(1 + x²)` of full scale, so that nothing is cut off.
//!
//! **Valid** from standstill to the highest speed.
//!
//! **Checked by** `tests/bench/sound.rs` and here.

mod pipe;

use self::pipe::Pipe;
use super::Bench;
use crate::num;
use crate::plant::Plant;
use crate::plant::cylinder::{self, Phase};

/// Samples a second of the sound \[1/s\].
pub const RATE_HZ: u32 = 48_000;
/// Samples that nobody has taken are kept for this long \[s\]; what is heard after that is lost.
pub const KEPT_S: u32 = 120;

/// Ratio of heat capacities of burned gas; the cylinder's own orifice flow uses the same.
const GAMMA: f64 = 1.33;
/// Angle in which the valve lifts over the angle of the blow-down; assumed: the exponential of the plant would begin
/// at once with its full flow.
const LIFTS_OVER_BLOWDOWN: f64 = 0.4;
/// Teeth of the ring gear; assumed, common for cars (from memory: 110 to 140).
const RING_TEETH: f64 = 130.0;
/// Sound pressure of the starter's gear over its power \[Pa/W\]; assumed: a kilowatt gives some 75 dB at a metre.
const GEAR_PA_W: f64 = 1.2e-4;
/// Time in which the gear's sound follows its power \[s\]; assumed.
const GEAR_LAG_S: f64 = 0.01;
/// Levelling: root mean square of sound pressure over so much time \[s\], and the value at which the sound is turned
/// down to half \[Pa\]; chosen so that a warm idle is turned down little and full load can be borne.
const LEVEL_S: f64 = 0.3;
const LEVEL_PA: f64 = 0.3;
/// Sound pressure of full scale, after levelling \[Pa\].
const FULL_PA: f64 = 1.0;
/// Time over which a sound that begins is faded in \[s\].
const FADE_S: f64 = 0.02;
/// A step longer than this was not lived through: months go by, or somebody listened again after a pause \[s\].
const LONGEST_STEP_S: f64 = 0.05;

/// One cylinder as it is heard.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Port {
    /// Firing top dead centre in the cycle \[deg\].
    offset_deg: f64,
    /// Its exhaust valve was open.
    open: bool,
    /// Its pressure at the end of the last step \[Pa\].
    p_pa: f64,
    /// Angle in the cycle at which its exhaust valve opened \[deg\].
    opened_deg: f64,
    /// (1) Gas that blows out in this opening \[m³\].
    blown_m3: f64,
}

/// An ear one metre from the tailpipe: it follows the engine step by step and makes samples.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ear {
    ports: Vec<Port>,
    banks: Vec<usize>,
    blowdown_deg: f64,
    lifts_deg: f64,
    cylinder: cylinder::Params,
    piston_m2: f64,
    pipe: Pipe,
    /// End of the last step \[s\], its crank angle \[deg\] and speed \[rad/s\].
    at_s: f64,
    deg: f64,
    omega: f64,
    /// When the present stretch of sound began \[s\], and samples since.
    began_s: f64,
    made: u64,
    /// Power of the starter \[W\], and where it is from one tooth to the next \[deg\].
    gear_w: f64,
    tooth_deg: f64,
    /// Mean square of the sound pressure \[Pa²\].
    level_pa2: f64,
    samples: Vec<i16>,
}

/// (1) Gas that blows out of a cylinder volume \[m³\] at a pressure against that of its exhaust \[Pa\].
fn blown_m3(volume_m3: f64, p_pa: f64, exhaust_pa: f64) -> f64 {
    volume_m3 * (num::pow(p_pa / exhaust_pa, 1.0 / GAMMA) - 1.0)
}

/// Crank angle in the cycle \[deg\].
fn crank_deg(plant: &Plant, step_deg: f64) -> f64 {
    (plant.s.crank.index as f64 + plant.s.crank.share) * step_deg
}

impl Ear {
    /// An ear that begins to listen now.
    fn at(plant: &Plant, step_deg: f64) -> Self {
        let p = plant.params();
        let offsets = p.layout.offsets_deg();
        let port = |offset_deg| Port { offset_deg, ..Port::default() };
        let bore_m = 1e-3 * p.cylinder.bore_mm;
        let mut ear = Self {
            ports: offsets.into_iter().map(port).collect(),
            banks: p.layout.banks.iter().map(|b| usize::from(*b) - 1).collect(),
            blowdown_deg: p.cylinder.blowdown_deg,
            lifts_deg: LIFTS_OVER_BLOWDOWN * p.cylinder.blowdown_deg,
            cylinder: p.cylinder.clone(),
            piston_m2: std::f64::consts::FRAC_PI_4 * bore_m * bore_m,
            pipe: Pipe::new(f64::from(RATE_HZ)),
            at_s: 0.0,
            deg: 0.0,
            omega: 0.0,
            began_s: 0.0,
            made: 0,
            gear_w: 0.0,
            tooth_deg: 0.0,
            level_pa2: 0.0,
            samples: Vec::new(),
        };
        ear.begin(plant, step_deg);
        ear
    }

    /// Begins anew from the present state: what blows out of valves that are open already is not known.
    fn begin(&mut self, plant: &Plant, step_deg: f64) {
        self.look(plant, step_deg);
        (self.began_s, self.made, self.gear_w) = (self.at_s, 0, 0.0);
        for port in &mut self.ports {
            (port.opened_deg, port.blown_m3) = (self.deg, 0.0);
        }
        let flow = self.flow_m3_s(self.deg, self.omega);
        self.pipe.fill(flow);
    }

    /// Remembers the state at the end of a step.
    fn look(&mut self, plant: &Plant, step_deg: f64) {
        (self.at_s, self.omega) = (plant.s.time_s, plant.s.crank.omega);
        self.deg = crank_deg(plant, step_deg);
        for (port, cylinder) in self.ports.iter_mut().zip(&plant.s.cylinders) {
            (port.p_pa, port.open) = (cylinder.p_pa, cylinder.phase == Phase::Exhaust);
        }
    }

    /// Hears the step that the plant has just made; `starter` tells whether the starter was driven.
    pub(super) fn hear(&mut self, plant: &Plant, step_deg: f64, starter: bool) {
        let s = &plant.s;
        let dt_s = s.time_s - self.at_s;
        if dt_s > LONGEST_STEP_S {
            self.begin(plant, step_deg);
            return;
        }
        // valves move at the start of a step
        for (c, port) in self.ports.iter_mut().enumerate() {
            let open = s.cylinders[c].phase == Phase::Exhaust;
            if open && !port.open {
                let exhaust_pa = s.exhaust.banks[self.banks[c]].pressure_pa;
                let volume_m3 = self.cylinder.volume_m3(self.deg - port.offset_deg);
                port.blown_m3 = blown_m3(volume_m3, port.p_pa, exhaust_pa);
                port.opened_deg = self.deg;
            }
            port.open = open;
        }
        let deg = crank_deg(plant, step_deg);
        let turned = (deg - self.deg).rem_euclid(720.0);
        // a crank that is fast enough for steps of angle begins them at a whole one, a little back
        let turned = if turned > 360.0 { 0.0 } else { turned };
        let gear_w = if starter && s.hands.plugs.battery {
            s.crank.omega * plant.params().crank.starter_torque_nm(s.crank.omega, s.electrical.starter_v)
        } else {
            0.0
        };
        loop {
            let t = self.began_s + self.made as f64 / f64::from(RATE_HZ);
            if t >= s.time_s || dt_s <= 0.0 {
                break;
            }
            let share = (t - self.at_s) / dt_s;
            self.gear_w += (gear_w - self.gear_w) / (GEAR_LAG_S * f64::from(RATE_HZ));
            let omega = self.omega + share * (s.crank.omega - self.omega);
            self.sample(self.deg + share * turned, omega);
        }
        self.look(plant, step_deg);
    }

    /// Makes one sample at a crank angle \[deg\] and a speed \[rad/s\].
    fn sample(&mut self, deg: f64, omega: f64) {
        let rate_hz = f64::from(RATE_HZ);
        let flow = self.flow_m3_s(deg, omega);
        let mut sound_pa = self.pipe.sound_pa(flow);
        if self.gear_w > 0.1 {
            // (4)
            let deg = self.tooth_deg;
            sound_pa += GEAR_PA_W * self.gear_w * (num::sin_deg(deg) + 0.5 * num::sin_deg(2.0 * deg));
            self.tooth_deg = (deg + RING_TEETH * omega.to_degrees() / rate_hz) % 360.0;
        }
        // (5)
        self.level_pa2 += (sound_pa * sound_pa - self.level_pa2) / (LEVEL_S * rate_hz);
        let faded = (self.made as f64 / (FADE_S * rate_hz)).min(1.0);
        let x = faded * sound_pa / (1.0 + self.level_pa2.sqrt() / LEVEL_PA) / FULL_PA;
        self.made += 1;
        if self.samples.len() < (KEPT_S * RATE_HZ) as usize {
            self.samples.push((f64::from(i16::MAX) * x / (1.0 + x * x).sqrt()).round() as i16);
        }
    }

    /// Flow out of all ports \[m³/s\], as volume at the exhaust's pressure.
    fn flow_m3_s(&self, deg: f64, omega: f64) -> f64 {
        let mut flow = 0.0;
        for port in self.ports.iter().filter(|p| p.open) {
            let x = (deg - port.opened_deg).rem_euclid(720.0);
            let shut = num::exp(-x / self.lifts_deg);
            // (2)
            let falls = num::exp(-x / self.blowdown_deg) - shut;
            flow += port.blown_m3 * omega.to_degrees() * falls / (self.blowdown_deg - self.lifts_deg);
            // (3)
            let pushed = self.piston_m2 * self.cylinder.travel_m_rad(deg - port.offset_deg) * omega;
            flow -= pushed * (1.0 - shut);
        }
        flow
    }
}

/// The ear at a bench, if somebody listens. A clone of a bench is a fork that nobody listens to yet.
#[derive(Debug, Default)]
pub(super) struct Listening(pub(super) Option<Box<Ear>>);

impl Clone for Listening {
    fn clone(&self) -> Self {
        Self(None)
    }
}

impl Bench {
    /// Begins or ends to listen. The engine does the same in both cases; a bench that is cloned is not listened to.
    pub fn listen(&mut self, listens: bool) {
        if listens != self.listened_to() {
            self.ear.0 = listens.then(|| Box::new(Ear::at(&self.plant, self.setup.step_deg)));
        }
    }
    /// Whether somebody listens.
    pub fn listened_to(&self) -> bool {
        self.ear.0.is_some()
    }
    /// Moves the samples since the last call to the end of `to`: [`RATE_HZ`] a second, one channel. At most
    /// [`KEPT_S`] seconds are kept between two calls. Of what goes on without anybody at the car, nothing is heard.
    pub fn take_sound(&mut self, to: &mut Vec<i16>) {
        if let Some(ear) = &mut self.ear.0 {
            to.append(&mut ear.samples);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::setup::Setup;

    /// Over a whole opening at an even speed the flow of one port adds up to what blows out, by (1), and to the
    /// volume that the piston sweeps meanwhile, less the little that passes before the valve has lifted.
    #[test]
    fn exact_a_port_gives_what_blows_out_and_what_is_pushed() {
        let car = include_str!("../../../assets/cars/plover.toml");
        let b = Bench::standing(&Setup::healthy(car, 1, 88.0)).expect("a bench");
        let mut ear = Ear::at(&b.plant, 2.0);
        let opens_deg = 180.0 - ear.cylinder.exhaust_opens_bbdc_deg;
        let given = |ear: &Ear| {
            let (omega, parts) = (80.0, 100_000);
            let step_deg = (360.0 - opens_deg) / f64::from(parts);
            let at = |k: i32| opens_deg + step_deg * (f64::from(k) + 0.5);
            (0..parts).map(|k| ear.flow_m3_s(at(k), omega)).sum::<f64>() * step_deg.to_radians() / omega
        };
        for port in &mut ear.ports {
            port.open = port.offset_deg == 0.0;
            (port.opened_deg, port.blown_m3) = (opens_deg, 0.0);
        }
        let pushed = given(&ear);
        let blown_m3 = 1.5e-4;
        ear.ports.iter_mut().for_each(|p| p.blown_m3 = blown_m3);
        let blown = given(&ear) - pushed;
        // what is left of the exponential after 230° of 18°: 3e-6
        assert!((blown / blown_m3 - 1.0).abs() < 1e-5, "{blown}");
        let swept = ear.cylinder.volume_m3(opens_deg) - ear.cylinder.volume_m3(360.0);
        // before the valve has lifted the piston still goes down: a volume of about (dV/dθ) a is missing from what
        // would flow back, so a little more comes out than is swept
        let missed = ear.piston_m2 * ear.cylinder.travel_m_rad(opens_deg) * ear.lifts_deg.to_radians();
        assert!((pushed / (swept + missed) - 1.0).abs() < 0.01, "{pushed} for {swept} + {missed}");
    }

    /// By hand: a cylinder of 0.4 L at 1.5 times the exhaust's pressure blows out 0.4 · (1.5^(1/1.33) − 1) = 0.1426 L;
    /// at 0.4 times it takes in 0.4 · (1 − 0.4^(1/1.33)) = 0.1992 L.
    #[test]
    fn exact_blow_out_by_hand() {
        for (p_pa, litres) in [(1.5e5, 0.1426), (0.4e5, -0.1992), (1e5, 0.0)] {
            let is = 1e3 * blown_m3(0.4e-3, p_pa, 1e5);
            assert!((is - litres).abs() < 1e-4, "{is} for {litres}");
        }
    }
}
