//! Tasks for individual cylinders, in order: injector codes, cylinder trim, short-pulse routine.
//!
//! *Inside*: passing values between them. *Outside*: what each does (`injectors`, `cylinder_trim`,
//! `short_pulse`), when they run (`mod`).

use crate::ecm::codes::Code;
use crate::ecm::{Calibration, Ecm, State, cylinder_trim, fueling, injectors, inputs, short_pulse};
use crate::link::{Routine, Writer};

impl Ecm {
    /// Enters the factory data for the injectors: the codes of the car's original injectors, cylinder 1 first.
    pub fn deliver_codes<'a>(&mut self, codes: impl Iterator<Item = Option<&'a str>>) {
        let Some(direct) = &self.cal.s.fuel.direct else { return };
        for (c, code) in codes.enumerate().take(self.cal.plate.firing_order.len()) {
            if let Some(label) = code.and_then(|code| crate::label::read(code).ok())
                && label.class == direct.class
            {
                self.s.store.enter(c as u8, label.flow_pct, label.dead_us, Writer::Factory, 0.0);
            }
        }
    }

    /// Every 100 ms: monitors of missing and incompatible injector data.
    pub(super) fn code_verdicts(&mut self) {
        if self.s.store.holds().coded {
            self.verdict(Code::P268A, Some(injectors::State::missing(&self.s.store)));
            for (c, code) in injectors::INCOMPATIBLE.into_iter().enumerate() {
                self.verdict(code, Some(self.s.injectors.other_kind[c]));
            }
        }
    }
}

impl State {
    /// Every 10 ms.
    pub(super) fn cylinders_fast(&mut self, cal: &Calibration, dt: f64) {
        let s = self;
        // a cylinder's fuel is cut by command, or the mixture is swung on purpose: the sensor then says nothing about the
        // other cylinders
        let held = s.cut_out.is_some() || s.misfire.cut.contains(&true) || s.catalyst.swings();
        if let Some(trim) = &cal.s.cylinder_trim {
            if s.running && s.inputs.in_step() {
                let look = cylinder_look(cal, &s.inputs, &s.fuel, s.running && !held);
                s.cylinder_trim.fast(trim, &look, dt);
            } else {
                s.cylinder_trim.stopped();
            }
        }
    }

    /// Called when a firing's window has ended; `follows`: it is consecutive with the windows before it.
    pub(super) fn cylinders_push(&mut self, cal: &Calibration, follows: bool) {
        let s = self;
        let Some(trim) = &cal.s.cylinder_trim else { return };
        let wheel = &s.store.wheel;
        let push = cylinder_trim::Push {
            position: s.misfire.position,
            window_s: s.misfire.window_s,
            counted: s.misfire.counted,
            trusted: follows && wheel.learned && !wheel.suspect && s.inputs.pedal_pct < 1.0,
            rpm: s.inputs.segment_rpm,
            air_mg: 1e3 * s.fuel.air_g,
            order: &cal.plate.firing_order,
        };
        s.cylinder_trim.push(trim, &push);
    }

    /// Every 100 ms.
    pub(super) fn cylinders_slow(&mut self, cal: &Calibration, dt: f64) {
        let (s, n) = (self, cal.plate.firing_order.len());
        if let Some(trim) = &cal.s.cylinder_trim {
            let silent = s.cut_out.is_some() || s.misfire.cut.contains(&true) || s.catalyst.swings();
            let look = cylinder_look(cal, &s.inputs, &s.fuel, s.running && !silent);
            let held = s.short_pulse.phase == short_pulse::Phase::Short;
            s.cylinder_trim.slow(trim, &cal.s.memory, &mut s.store, &look, held, dt);
            let mut ctx = short_pulse::Context {
                trim: &mut s.cylinder_trim,
                store: &mut s.store,
                memory_cal: &cal.s.memory,
                open_us: s.fuel.open_us,
                short_us: cal.s.fuel.direct.as_ref().map_or(1.0, |d| d.short_us),
                certain: trim.learn[0],
                cylinders: n,
                time_s: s.inputs.time_s,
                idling: s.air.idling && look.closed_loop,
            };
            if let Some(ended) = s.short_pulse.slow(&mut ctx, dt) {
                let routine = Routine::LearnShortPulse;
                s.ended(routine, ended.map(|()| None));
            }
        }
    }
}

/// Inputs of the cylinder trim.
fn cylinder_look<'a>(
    cal: &'a Calibration,
    i: &inputs::State,
    fuel: &fueling::State,
    running: bool,
) -> cylinder_trim::Inputs<'a> {
    let banks = cal.plate.bank_count();
    cylinder_trim::Inputs {
        time_s: i.time_s,
        segment_s: i.segment_s,
        rpm: i.rpm,
        air_g_s: i.air_g_s,
        coolant_c: i.coolant_c,
        lambda: i.lambda,
        closed_loop: running && !fuel.cut && fuel.closed_loop[..banks].iter().all(|x| *x),
        steady: fuel.steady(),
        order: &cal.plate.firing_order,
        banks: &cal.plate.banks,
    }
}
