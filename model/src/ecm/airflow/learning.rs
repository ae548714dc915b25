//! Learning of idle air: gates, ordinary learning, the manual sequence's result, the commanded learn.
//!
//! *Inside*: when the integrator's value may be transferred to a learned value, and how fast. *Outside*: idle control
//! itself and the closed stop (`airflow`), recognising the sequence's steps (`sequences`).

use super::{Cal, Context, Event, State};
use crate::ecm::codes::Code;
use crate::ecm::memory::Name;
use crate::ecm::{Gate, inputs, sequences};
use crate::link::Gate as GateKind;
use crate::link::{Failed, Writer};

/// Codes that block learning of idle air, both ordinary learning and the manual sequence.
const BLOCKING: [Code; 18] = [
    Code::P2176,
    Code::P2135,
    Code::P2119,
    Code::P0101,
    Code::P0116,
    Code::P0117,
    Code::P0118,
    Code::P0506,
    Code::P0507,
    Code::P0300,
    Code::P0301,
    Code::P0302,
    Code::P0303,
    Code::P0304,
    Code::P0305,
    Code::P0306,
    Code::P0307,
    Code::P0308,
];

/// Deviation of measured lambda from 1 below which a commanded learn can complete \[-\]; our own value.
const MIXED: f64 = 0.1;

impl State {
    /// Slow task, every 100 ms: learning and its gates.
    pub fn slow(
        &mut self,
        cal: &Cal,
        seq: &sequences::Cal,
        c: &mut Context<'_>,
        dt_s: f64,
        events: &mut Vec<Event>,
    ) {
        let error = self.target_rpm - c.inputs.rpm;
        if self.idling {
            self.error_2s.add(error);
            self.error_5s.add(error);
            self.integrator_2s.add(self.integrator);
        }
        let near = self.error_2s.get().is_some_and(|e| e.abs() <= cal.learn_gate[0]);
        self.error_good_s = if self.idling && near { self.error_good_s + dt_s } else { 0.0 };
        let blocked = BLOCKING.iter().find(|k| c.codes.active(**k)).copied();
        let window_open = c.store.idle_window_open;
        self.judge_gates(cal, c.inputs, blocked, window_open);
        if self.commanded.is_some() {
            self.commanded_learn(cal, c, dt_s, events);
        } else if self.sequence.step == 0 {
            self.ordinary_learn(cal, c, dt_s);
        }
        self.judge_window_gates(cal, seq, c.inputs, blocked, window_open);
    }

    /// Gates of ordinary learning, for the light value and for the difference under load.
    fn judge_gates(&mut self, cal: &Cal, i: &inputs::State, blocked: Option<Code>, window_open: bool) {
        let [window_rpm, for_s, bound] = cal.learn_gate;
        let mean_error = self.error_2s.get();
        let mean_integrator = self.integrator_2s.get();
        let loaded = self.switched_load(i);
        for (which, gates) in self.gates.iter_mut().enumerate() {
            gates.clear();
            gates.extend(Self::common_gates(cal, i, self.idling && self.cut_out.is_none()));
            if which == 1 {
                // the difference is learned under a load that the module itself accounts for, in gear or not
                gates[2].open = true;
            }
            let load = if which == 0 { GateKind::NoLoad } else { GateKind::Loaded };
            gates.extend([
                Gate::switch(load, loaded == (which == 1)),
                Gate::measured(
                    GateKind::SpeedError,
                    window_open || self.error_good_s >= for_s,
                    mean_error.unwrap_or(self.target_rpm - i.rpm),
                    window_rpm,
                ),
                Gate::measured(
                    GateKind::IntegratorBounded,
                    window_open || mean_integrator.is_some_and(|m| m.abs() <= bound),
                    mean_integrator.unwrap_or(self.integrator),
                    bound,
                ),
                Gate::switch(GateKind::StopKnown, self.stop_known),
                Gate::no_code(blocked),
            ]);
        }
    }

    /// Gates that the manual sequence judges.
    fn judge_window_gates(
        &mut self,
        cal: &Cal,
        seq: &sequences::Cal,
        i: &inputs::State,
        blocked: Option<Code>,
        window_open: bool,
    ) {
        let mean = self.error_5s.get();
        self.window_gates.clear();
        self.window_gates.extend(Self::common_gates(cal, i, self.idling));
        self.window_gates.extend([
            Gate::switch(GateKind::NoLoad, !(i.compressor_request || i.lamps || !i.neutral)),
            Gate::measured(
                GateKind::SpeedError,
                window_open || mean.is_some_and(|e| e.abs() <= seq.window_rpm),
                mean.unwrap_or(self.target_rpm - i.rpm),
                seq.window_rpm,
            ),
            Gate::switch(GateKind::StopKnown, self.stop_known),
            Gate::no_code(blocked),
        ]);
    }

    /// Ordinary learning: slowly transfers the integrator's value to the learned value.
    fn ordinary_learn(&mut self, cal: &Cal, c: &mut Context<'_>, dt_s: f64) {
        let most = cal.learn_g_s_min / 60.0 * dt_s;
        let m = self.integrator_2s.get().unwrap_or(0.0);
        for (which, name) in [Name::IdleAirLight, Name::IdleAirLoaded].into_iter().enumerate() {
            if self.gates[which].iter().all(|g| g.open) && m.abs() > 0.01 {
                let m = m.clamp(-most, most);
                self.integrator -= c.store.move_by(c.memory_cal, name, m, Writer::Ordinary, c.inputs.time_s);
            }
        }
    }

    /// Gates that ordinary learning and the sequence's window share.
    fn common_gates(cal: &Cal, i: &inputs::State, idling: bool) -> [Gate; 4] {
        let [low, high] = cal.learn_coolant_c;
        let warm = i.coolant_c >= low && i.coolant_c <= high;
        [
            Gate::switch(GateKind::Idling, idling),
            Gate::measured(GateKind::Warm, warm, i.coolant_c, low),
            Gate::switch(GateKind::Neutral, i.neutral),
            Gate::measured(GateKind::Standing, i.road_km_h < 1.0, i.road_km_h, 1.0),
        ]
    }

    /// Sequence recogniser, every 10 ms.
    pub fn watch_sequence(&mut self, seq: &sequences::Cal, c: &mut Context<'_>, events: &mut Vec<Event>) {
        let i = c.inputs;
        let look = sequences::Inputs {
            brake: i.brake,
            heated_glass: i.heated_glass,
            may_run: self.idling
                && i.road_km_h < 1.0
                && i.neutral
                && i.coolant_c >= seq.warm_c
                && !i.compressor_request
                && !i.lamps
                && self.commanded.is_none(),
            leaves: !self.idling || i.road_km_h >= 1.0 || !i.neutral,
            window: self.window_gates.iter().all(|g| g.open),
        };
        match self.sequence.look(seq, &look, i.time_s) {
            sequences::Outcome::None => {}
            sequences::Outcome::Aborted(step) => events.push(Event::SequenceAborted(step)),
            sequences::Outcome::Complete => {
                let m = self.integrator.clamp(-seq.largest_move_g_s, seq.largest_move_g_s);
                let went = c.store.move_by(c.memory_cal, Name::IdleAirLight, m, Writer::Sequence, i.time_s);
                self.integrator -= went;
                c.store.idle_window_open = false;
                events.push(Event::SequenceDone);
            }
        }
    }

    fn commanded_learn(&mut self, cal: &Cal, c: &mut Context<'_>, dt_s: f64, events: &mut Vec<Event>) {
        let i = c.inputs;
        let Some((for_s, good_s)) = self.commanded else { return };
        let [rate, pi_near, rpm_near, hold_s, give_up_s] = cal.commanded;
        // air learned with the mixture far off would be wrong as soon as the mixture is right; 0: no sensor reading
        let mixed = i.lambda[0] <= 0.0 || (i.lambda[0] - 1.0).abs() < MIXED;
        let good = mixed && self.pi.abs() < pi_near && (self.target_rpm - i.rpm).abs() < rpm_near;
        let good_s = if good { good_s + dt_s } else { 0.0 };
        // a value at its limit was not learned: the correct value lies beyond the limit
        let [_, low, high] = c.store.limits(c.memory_cal, Name::IdleAirLight);
        let value = c.store.get(Name::IdleAirLight);
        let at_limit = value <= low + 1e-9 || value >= high - 1e-9;
        if good_s >= hold_s && !at_limit {
            c.store.idle_window_open = false;
            self.commanded = None;
            events.push(Event::RoutineEnded(Ok(())));
            return;
        }
        if for_s >= give_up_s || self.switched_load(i) {
            self.commanded = None;
            let because = if at_limit { Failed::AtLimit } else { Failed::NotAtRest };
            events.push(Event::RoutineEnded(Err(because)));
            return;
        }
        let most = rate * dt_s;
        let went = c.store.move_by(
            c.memory_cal,
            Name::IdleAirLight,
            (self.integrator * dt_s).clamp(-most, most),
            Writer::Routine,
            i.time_s,
        );
        self.integrator -= went;
        self.commanded = Some((for_s + dt_s, good_s));
    }
}
