//! Power: what the module does when the key is turned on, when it is turned off, when its supply is lost, and in days that are
//! carried on with the electrics alone.
//!
//! *Inside*: what each of them keeps, saves and forgets. *Outside*: when they happen (the sample task in `mod`).

use crate::ecm::crank_tasks::CutOutSpeed;
use crate::ecm::{Ecm, Power, alcohol, ambient, cylinder_trim, fueling, inputs, memory, monitors};
use crate::link::{Notice, RoutineState};
use crate::signals::{ActuatorFrame, SensorFrame};

/// Supply at which a relay that has let go pulls in again \[V\]: two thirds of its 12 V (common practice of relays' makers,
/// from memory).
const PULLS_IN_V: f64 = 8.0;
/// From there until the module's processor works \[s\]; assumed.
const STARTS_UP_S: f64 = 0.25;

impl Ecm {
    /// A moment of a day that is carried on with the electrics alone: its sensor counts, and charging goes by its rule.
    /// Awake; with the key on; whether the engine starts to run; whether the car drives it; coolant \[°C\].
    pub fn carry_on(
        &mut self,
        f: &SensorFrame,
        (awake, on): (bool, bool),
        starts: bool,
        overrun: bool,
        coolant_c: f64,
    ) {
        let before_s = self.s.charging.counted_s();
        let cal = &self.cal.s.charging;
        self.s.charging.count(cal, &mut self.s.store.battery, f, awake);
        if starts {
            self.s.charging.starts();
        }
        if on {
            let dt = self.s.charging.counted_s() - before_s;
            self.s.charging.slow(cal, &self.s.store.battery, overrun, coolant_c, dt);
        }
    }

    pub(super) fn wake(&mut self, now_s: f64, f: &SensorFrame) {
        let s = &mut self.s;
        s.power = Power::On;
        s.inputs = inputs::State::default();
        s.last_sample_s = now_s;
        s.ambient = ambient::State::default();
        s.alcohol = alcohol::State::default();
        self.take_in(f, [0.0, 1.0]);
        let s = &mut self.s;
        s.air.key_on(now_s);
        s.fuel = fueling::State::default();
        s.purge.key_on();
        s.catalyst.key_on(s.inputs.coolant_c);
        s.rear_trim.key_on();
        s.vapour.key_on();
        s.phaser.key_on();
        s.egr.key_on();
        // a module that wakes again with the key on, after its supply was too low, has not stood since
        let off_s = std::mem::replace(&mut s.key_off_s, -1.0);
        let stood_s = if off_s < 0.0 { 0.0 } else { now_s - off_s };
        s.monitors = monitors::State::key_on(stood_s);
        s.wheel.key_on();
        s.misfire.key_on();
        s.cut_out = None;
        s.cut_out_speed = CutOutSpeed::default();
        if std::mem::take(&mut s.fresh) {
            s.store.idle_reset_s = now_s;
        }
        s.running = false;
        s.started = false;
        s.short_pulse.end();
        s.routine = RoutineState::None;
        let restarts = std::mem::take(&mut self.s.interrupted);
        self.note(if restarts { Notice::SupplyBack } else { Notice::KeyOn });
    }

    /// Whether the module, off with the key on, begins to work. Its relay lets go at a low supply and pulls in at a higher
    /// one: a supply that recovers a little because the module no longer loads it is not enough. After an interruption the
    /// processor starts anew; what a turn of the key takes is left out.
    pub(super) fn starts_up(&mut self, now_s: f64, supply_v: f64) -> bool {
        let s = &mut self.s;
        if supply_v < PULLS_IN_V {
            s.enough_since_s = -1.0;
        } else if s.enough_since_s < 0.0 {
            s.enough_since_s = now_s;
        }
        s.enough_since_s >= 0.0 && (!s.interrupted || now_s - s.enough_since_s >= STARTS_UP_S)
    }

    pub(super) fn begin_after_run(&mut self, now_s: f64) {
        let s = &mut self.s;
        s.power = Power::AfterRun(now_s);
        s.key_off_s = now_s;
        s.codes.trip_ends();
        s.air.key_off();
        s.running = false;
        s.routine = RoutineState::None;
        s.out = ActuatorFrame::default();
        self.note(Notice::KeyOff);
    }

    /// Ends the trip, saves, and sleeps; with the key still on it wakes at the next sample.
    pub(super) fn restart(&mut self) {
        self.begin_after_run(self.s.inputs.time_s);
        self.s.store.save();
        self.s.power = Power::Off;
        self.note(Notice::Saved);
    }

    pub(super) fn lose_power(&mut self, now_s: f64, supply_v: f64) {
        let cal = self.cal.clone();
        let s = &mut self.s;
        s.out = ActuatorFrame::default();
        s.running = false;
        s.interrupted |= s.power == Power::On;
        s.enough_since_s = -1.0;
        if supply_v > 1.0 {
            // supply too low to operate, high enough to retain memory: as if asleep
            if s.power != Power::Off {
                s.store.fall_back();
                s.air.key_off();
                s.power = Power::Off;
            }
            return;
        }
        if s.had_power {
            s.had_power = false;
            s.power = Power::Off;
            s.key_off_s = -1.0;
            s.air.key_off();
            s.store.power_cut(&cal.s.memory, &self.profile, now_s);
            s.charging.power_cut();
            s.codes.erase(&self.profile.power_cut);
            if self.profile.power_cut.contains(&memory::Item::Readiness) {
                s.catalyst.forget();
                s.rear_trim.forget();
                s.vapour.forget();
                s.egr.forget();
            }
            if self.profile.power_cut.contains(&memory::Item::MisfireCounts) {
                s.misfire.forget();
            }
            if self.profile.power_cut.contains(&memory::Item::CylinderTrims) {
                s.cylinder_trim = cylinder_trim::State::default();
            }
        }
    }
}
