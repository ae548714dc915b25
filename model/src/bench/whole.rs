//! Whether the car is whole: everything that is still wrong with it, as facts.
//!
//! *Inside*: what a learned value needs with the fitted parts, whether records and codes match them. *Outside*: when a part
//! is sound (`bench/shelf.rs`), what that is worth (marks), sentences (`words/facts/lesson.rs`), when it is asked (session).
//!
//! This is truth: it looks at both halves, as [`Bench::truth`] does. An empty list means that nothing more has to be
//! done to this car, however it got there.
//!
//! **Checked by** `tests/bench/whole.rs`.

use crate::bench::Bench;
use crate::bench::action::{Connector, Ill, Sensor};
use crate::bench::not_whole::NotWhole;
use crate::bench::shelf;
use crate::ecm::codes::CODES;
use crate::ecm::memory::Name;
use crate::label;
use crate::link::Writer;
use crate::plant::fuel::blend;
use crate::plant::parts::edges_deg;
use crate::plant::wires::Wire;

/// A leak that nothing notices \[mm²\].
const LEAK_MM2: f64 = 0.1;
/// A current that nothing notices \[A\].
const CURRENT_A: f64 = 0.03;
/// Ambient pressure as learned may be off by so much: with more the module takes wrong air for right at idle; assumed \[kPa\].
const AMBIENT_KPA: f64 = 6.0;
/// How far the alcohol content may be from that at the injectors \[% by volume\]. What meter, injectors and pressure are off by is
/// taken for alcohol where the trims were reset: up to 5 % of fuel, at some 0.5 % of fuel for each per cent.
const ALCOHOL_PCT: f64 = 10.0;
/// How far a long-term gain may be from what the parts need \[%\]: a healthy car holds its trims within 5 %, and beyond
/// 10 % it is looked at; common practice.
const TRIM_PCT: f64 = 8.0;
/// The same of a long-term gain as it was saved, beside the one in use \[-\]: the module goes on moving it, so that it was
/// saved at some moment of its wandering. A technician looks at a saved trim from 10 % on; common practice.
const SAVED_TRIM: f64 = 10.0 / TRIM_PCT;
/// How far from zero the parts may need a long-term gain for one that was never driven to be right, over [`TRIM_PCT`]
/// \[-\]: 10 %, from where on a technician looks at a trim; common practice. Sound parts at the ends of the maker's spread need
/// some 9 %.
const UNLEARNED: f64 = 10.0 / TRIM_PCT;
/// How far such a trim may lie beyond zero, or beyond what the parts need, over [`TRIM_PCT`] \[-\]: an engine that passes
/// through its range moves it a little to either side; 1 %, assumed.
const PASSING: f64 = 1.0 / TRIM_PCT;
/// The same of the rear trim \[%\]: half of its authority; assumed.
const REAR_PCT: f64 = 1.0;
/// The same of a cylinder trim \[%\]: what a healthy engine's cylinders differ by; assumed.
const CYLINDER_PCT: f64 = 4.5;
/// How far learned idle air may be too little, over how far it may be too much \[-\]; assumed.
const IDLE_SHORT: f64 = 0.6;
/// How far an injector's code may be from its body: half a step of the printed code \[%, µs\].
const CODE: (f64, f64) = (0.3, 3.0);
/// Share of the misfire limit that an error of the wheel table may use up at the highest monitored speed \[-\];
/// assumed. Beyond it the module misses real misfires of one cylinder before it counts healthy firings of another.
const WHEEL_SHARE: f64 = 0.5;
/// How far the count of a battery may be ahead of it, as a share of a life.
const AGE: f64 = 0.1;
/// How far the counted charge may be from the battery's own \[%\]; between two rests a healthy count errs by some 5; assumed.
const COUNT_PCT: f64 = 20.0;

impl Bench {
    /// Everything that is not whole about the car; empty where nothing more has to be done to it. Truth.
    pub fn not_whole(&self) -> Vec<NotWhole> {
        let mut out = shelf::not_sound(&self.plant.s.parts, &self.car.plant);
        out.extend(self.hands_left());
        out.extend(self.records_astray());
        out.extend(self.learned_astray());
        for (code, number, _) in CODES {
            let c = self.ecm.s.codes.standing(*code);
            if c.pending || c.lamp {
                out.push(NotWhole::Code { code: (*number).into(), lamp: c.lamp });
            }
        }
        out
    }

    /// Wires, hoses, plugs, and what somebody fitted besides.
    fn hands_left(&self) -> Vec<NotWhole> {
        let h = &self.plant.s.hands;
        let mut out = Vec::new();
        for (sensor, name) in Sensor::ALL {
            let ill = h.ills[sensor.index()];
            let sensor = name.to_owned();
            if ill.wire != Wire::Sound {
                out.push(NotWhole::Wire { sensor: sensor.clone() });
            }
            if !(Ill { wire: Wire::Sound, ..ill }).sound() {
                out.push(NotWhole::Sensor { sensor });
            }
        }
        if h.leak_mm2 > LEAK_MM2 {
            out.push(NotWhole::InletLeak { mm2: h.leak_mm2 });
        }
        if h.exhaust_leak_mm2 > LEAK_MM2 {
            out.push(NotWhole::ExhaustLeak { mm2: h.exhaust_leak_mm2 });
        }
        let boxes = h.interrupted.iter().zip(1..).filter(|(share, _)| **share > 0.0);
        out.extend(boxes.map(|(_, cylinder)| NotWhole::Interrupter { cylinder }));
        let amps = h.past_sensor_a + h.accessory_a;
        if amps > CURRENT_A {
            out.push(NotWhole::Accessory { amps });
        }
        if h.charger.most_a > 0.0 {
            out.push(NotWhole::Charger);
        }
        let named = Connector::named(self.cylinders() as u8);
        let pulled = self.pulled();
        let off = named.into_iter().filter(|(_, c)| pulled.contains(c));
        out.extend(off.map(|(connector, _)| NotWhole::Unplugged { connector }));
        out
    }

    /// What was entered for a body by hand, against what is printed on the body.
    fn records_astray(&self) -> Vec<NotWhole> {
        let (parts, store) = (&self.plant.s.parts, &self.ecm.s.store);
        let mut out = Vec::new();
        if store.holds().coded {
            for (c, body) in (0_u8..).zip(&parts.injectors) {
                let (flow, dead) = (store.entry(Name::InjectorFlow(c)), store.entry(Name::InjectorDead(c)));
                let printed = body.code.as_deref().and_then(|code| label::read(code).ok());
                let same = flow.learned
                    && printed.is_some_and(|l| {
                        (l.flow_pct - flow.value).abs() <= CODE.0 && (l.dead_us - dead.value).abs() <= CODE.1
                    });
                if !same {
                    out.push(NotWhole::InjectorCode { cylinder: c + 1 });
                }
            }
        }
        let (record, battery) = (self.ecm.battery_record(), &parts.battery);
        let off = (record.rated_ah / battery.label.rated_ah - 1.0).abs();
        if record.kind != battery.label.kind || off > 0.1 {
            out.push(NotWhole::BatteryRecord);
        } else if record.passed_ah > battery.given_ah + AGE * record.worn_out_ah {
            out.push(NotWhole::BatteryAge);
        }
        out
    }

    /// What the fitted parts need a learned value to be, and how far it may be below and above; none where any value will
    /// do. Codes count as they are printed: where another is stored, that is a fact of its own.
    fn needs(&self, name: Name) -> Option<(f64, [f64; 2])> {
        let (parts, cal) = (&self.plant.s.parts, &self.car.ecm.s);
        let even = |needs: f64, off: f64| Some((needs, [off, off]));
        match name {
            // too much is held and learned away as far as ordinary learning reaches; with too little the engine dips
            Name::IdleAirLight => {
                let above = cal.idle.learn_gate[2];
                Some((self.idle_air_needed(&parts.throttle), [IDLE_SHORT * above, above]))
            }
            // learned anew at the next key-on: what matters is that the module's books lead to the right air
            Name::Ambient => even(1e-3 * self.plant.ambient().0, AMBIENT_KPA),
            Name::Alcohol => even(self.plant.s.fuel.alcohol_pct(), ALCOHOL_PCT),
            // as far as ordinary learning reaches
            Name::CamRest => {
                let reach = cal.phaser.as_ref().map_or(0.0, |c| c.ordinary[0]);
                even(self.plant.cam_rest_deg(), reach)
            }
            // too low a stop costs gas, too high a one leaves the valve open at idle
            Name::EgrStop => Some((self.plant.egr_stop_mm(), [0.12, 0.06])),
            Name::ClosedStop => {
                let is = cal.inputs.throttle_closed_deg + self.plant.stop_deg();
                even(is, cal.idle.stop_tolerance_deg)
            }
            Name::LongPart(b) | Name::LongHigh(b) => even(self.trim_needed_pct(b), TRIM_PCT),
            Name::LongIdle(b) => {
                // the idle cell holds air, and its share of all the air that the engine draws corrects its bank
                let air = cal.idle.warm_base_g_s();
                even(0.01 * air * self.trim_needed_pct(b), 0.01 * air * TRIM_PCT)
            }
            Name::CylinderTrim(c) => {
                let all: Vec<f64> = (0..self.cylinders() as u8).map(|k| self.given(k)).collect();
                let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
                even(100.0 * (mean / all[usize::from(c)] - 1.0), CYLINDER_PCT)
            }
            Name::RearTrim(b) => {
                let [_, low, high] = self.ecm.s.store.limits(&cal.memory, name);
                even(self.rear_trim_needed_pct(b).clamp(low, high), REAR_PCT)
            }
            Name::IdleAirLoaded | Name::InjectorFlow(_) | Name::InjectorDead(_) | Name::ShortPulse(_) => None,
        }
    }

    /// Fuel that a cylinder's injector gives over what its own code says \[-\].
    fn given(&self, cylinder: u8) -> f64 {
        let Some(i) = self.plant.s.parts.injectors.get(usize::from(cylinder)) else { return 1.0 };
        let printed = i.code.as_deref().filter(|_| self.ecm.s.store.holds().coded);
        let said = printed.and_then(|code| label::read(code).ok()).map_or(0.0, |l| 0.01 * l.flow_pct);
        i.flow_gain * (1.0 - i.clogged) / (1.0 + said)
    }

    /// Trim of fuel at which a bank runs at lambda 1 by what its front oxygen sensor shows there \[%\]; zero where no signal
    /// comes from it.
    pub(super) fn rear_trim_needed_pct(&self, bank: u8) -> f64 {
        let sensor = [Sensor::Oxygen1, Sensor::Oxygen2][usize::from(bank).min(1)];
        let ill = self.plant.s.hands.ills[sensor.index()];
        if ill.stuck || ill.wire != Wire::Sound {
            return 0.0;
        }
        let told_v = self.car.plant.sensors.lambda_v.at(1.0) * ill.gain + ill.offset_v;
        100.0 * (1.0 - self.car.ecm.s.inputs.lambda_v.inverse_at(told_v))
    }

    /// Gain of fuel at which a bank runs at lambda 1 by what its parts are \[%\].
    fn trim_needed_pct(&self, bank: u8) -> f64 {
        let (parts, layout) = (&self.plant.s.parts, &self.car.plant.layout);
        let own: Vec<f64> = (0..self.cylinders() as u8)
            .filter(|c| layout.banks.get(usize::from(*c)).is_none_or(|b| *b == bank + 1))
            .map(|c| self.given(c))
            .collect();
        let gives = own.iter().sum::<f64>() / own.len().max(1) as f64;
        let metered = self.car.plant.sensors.air_meter_v.is_some();
        let meter = &parts.air_meter;
        let tells = if metered { meter.gain * (1.0 + meter.error_at_3) } else { 1.0 };
        // with direct injection the rail's own sensor makes good what the regulator is off by
        let direct = self.car.plant.fuel.direct.is_some();
        let presses = if direct { 1.0 } else { parts.regulator.gain.sqrt() };
        // a module that infers no share takes every fuel for petrol
        let fuel = &self.plant.s.fuel;
        let blended = self.ecm.s.store.holds().alcohol;
        let petrol = if blended { 1.0 } else { blend(0.0).afr / (fuel.heat.afr * fuel.flows) };
        100.0 * (petrol / (tells * gives * presses).max(0.1) - 1.0)
    }

    fn learned_astray(&self) -> Vec<NotWhole> {
        let store = &self.ecm.s.store;
        let mut out = Vec::new();
        for name in store.names() {
            let Some((needs, [below, above])) = self.needs(name) else { continue };
            let moves = matches!(name, Name::LongIdle(_) | Name::LongPart(_) | Name::LongHigh(_));
            // a trim that has not been driven for yet is on its way, if it has no further to go than a healthy car's may
            let on_its_way = |value: f64| {
                let [low, high] = [needs.min(0.0) - PASSING * below, needs.max(0.0) + PASSING * above];
                moves && needs.abs() <= UNLEARNED * above && (low..=high).contains(&value)
            };
            let fits = |value: f64| (needs - below..=needs + above).contains(&value) || on_its_way(value);
            let wide = if moves { SAVED_TRIM } else { 1.0 };
            // ambient pressure is learned at every key-on: nobody has to save it
            let fits_saved = |value: f64| {
                name == Name::Ambient
                    || (needs - wide * below..=needs + wide * above).contains(&value)
                    || on_its_way(value)
            };
            let (used, saved) = (store.entry(name), store.saved(name));
            // a driven car finds its trims by itself, from zero as from anywhere
            let erased = matches!(used.by, Writer::Reset | Writer::PowerCut | Writer::CodeClear);
            let must = match name {
                Name::ClosedStop | Name::CamRest | Name::EgrStop => true,
                Name::IdleAirLight => erased,
                _ => false,
            };
            let named = name.text();
            if must && !used.learned {
                out.push(NotWhole::NotLearned { name: named });
            } else if !fits(used.value) {
                let unit = name.unit().to_owned();
                out.push(NotWhole::Learned { name: named, value: used.value, needs, unit });
            } else if !fits_saved(saved.value) || (must && !saved.learned) {
                out.push(NotWhole::NotSaved { name: named });
            }
        }
        out.extend(self.wheel_astray());
        out.extend(self.count_astray());
        out
    }

    /// The charge that the module counts from a rest on; without a rest it counts nothing.
    fn count_astray(&self) -> Option<NotWhole> {
        let count = &self.ecm.s.charging;
        let [value, needs] = [count.charge, self.plant.s.parts.battery.charge].map(|share| 100.0 * share);
        let astray = count.referenced && (value - needs).abs() > COUNT_PCT;
        let name = || "battery_charge".to_owned();
        astray.then(|| NotWhole::Learned { name: name(), value, needs, unit: "%".into() })
    }

    fn wheel_astray(&self) -> Option<NotWhole> {
        let (parts, store) = (&self.plant.s.parts, &self.ecm.s.store);
        let name = || "wheel_table".to_owned();
        let seen = edges_deg(&parts.wheel, &parts.crank_sensor, self.car.plant.crank.wheel_radius_mm);
        let is = self.ecm.window_errors_deg(&seen);
        let most_deg = WHEEL_SHARE * self.ecm.table_error_counted_deg();
        // stored and true error of the window that is furthest off, if two neighbouring windows differ by too much
        let off = |edges: &[f64]| -> Option<(f64, f64)> {
            let held = self.ecm.window_errors_deg(edges);
            let errors: Vec<f64> = held.iter().zip(&is).map(|(held, is)| held - is).collect();
            let before = errors.iter().skip(errors.len() - 1).chain(&errors);
            let over = errors.iter().zip(before).any(|(e, before)| (e - before).abs() > most_deg);
            let furthest = (0..errors.len()).max_by(|a, b| errors[*a].abs().total_cmp(&errors[*b].abs()))?;
            over.then_some((held[furthest], is[furthest]))
        };
        if !store.wheel.learned || store.wheel.suspect {
            return Some(NotWhole::NotLearned { name: name() });
        }
        if let Some((value, needs)) = off(&store.wheel.edges_deg) {
            return Some(NotWhole::Learned { name: name(), value, needs, unit: "°".into() });
        }
        let saved = store.saved_wheel();
        (!saved.learned || off(&saved.edges_deg).is_some()).then(|| NotWhole::NotSaved { name: name() })
    }
}
