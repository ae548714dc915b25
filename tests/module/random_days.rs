//! Random days: a sound car in any weather starts, idles and sets no code, whatever its driver does; and a car on which
//! everything that somebody did was undone is as good as before.
//!
//! `IDLEWRIGHT_SEEDS` tries more of them.

use crate::bay::{CARS, act, seeds};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Gear, Ill, Key, Load, Sensor};
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::{Setup, Weather};
use idlewright::link::{DiagRequest, Routine};
use idlewright::num::Stream;
use idlewright::plant::wires::Wire;

/// A car, a driver who draws from a stream, and what was done so far.
struct Day {
    b: Bench,
    s: Stream,
    done: Vec<String>,
}

impl Day {
    /// A car in a weather from so many degrees on [°C], at so many kilopascals and more.
    fn new(seed: u64, from_c: f64, from_kpa: f64) -> Self {
        let mut s = Stream::new(seed, "random.days");
        let mut from = |low: f64, high: f64| low + (high - low) * s.uniform();
        let (name, car) = CARS[from(0.0, 2.999) as usize];
        let ambient_c = from(from_c, 45.0).round();
        let mut setup = Setup::healthy(car, seed, ambient_c);
        setup.weather = Weather { ambient_c, ambient_kpa: from(from_kpa, 104.0).round() };
        setup.battery_charge_pct = from(70.0, 100.0).round();
        setup.canister_pct = from(0.0, 80.0).round();
        setup.fuel.full_pct = from(20.0, 80.0).round();
        let car = format!("{name}, seed {seed}, {:?}, {} % charged", setup.weather, setup.battery_charge_pct);
        Self { b: Bench::new(&setup, &mut |_| true).expect("a bench"), s, done: vec![car] }
    }
    fn from(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.s.uniform()
    }
    fn below(&mut self, n: usize) -> usize {
        ((self.s.uniform() * n as f64) as usize).min(n - 1)
    }
    fn of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())].clone()
    }
    fn does(&mut self, action: Action) {
        self.done.push(format!("{:.0} s: {action:?}", self.b.time_s()));
        // what is hindered or refused was tried
        let _ = self.b.act("", action);
    }
    #[track_caller]
    fn holds(&self, is: bool, what: &str) {
        assert!(is, "{what} at {:.0} s\n{}", self.b.time_s(), self.done.join("\n"));
    }
    fn running(&self) -> bool {
        self.b.observe().live.running
    }
    /// Turns the key until the engine runs, at most so many times.
    #[track_caller]
    fn starts(&mut self, tries: usize) {
        for _ in 0..tries {
            self.does(Action::Key(Key::On));
            let wait_s = self.from(0.5, 3.0);
            self.b.advance_by(wait_s);
            self.does(Action::Key(Key::Crank));
            self.b.advance_by(11.0);
            if self.running() {
                return;
            }
            self.does(Action::Key(Key::Off));
            self.b.advance_by(6.0);
        }
        self.holds(false, "no start");
    }
    fn drives(&mut self, minutes: f64) {
        let pattern = self.of(Name::ALL).1;
        self.does(Action::Drive { pattern, minutes });
        self.b.advance_by(60.0 * minutes + 60.0);
    }
    fn touches_the_pedal(&mut self) {
        let (pct, for_s) = (self.from(10.0, 100.0), self.from(0.2, 1.5));
        self.does(Action::Pedal(pct));
        self.b.advance_by(for_s);
        self.does(Action::Pedal(0.0));
        let wait_s = self.from(0.5, 10.0);
        self.b.advance_by(wait_s);
    }
    fn switches_a_load(&mut self) {
        let (load, on) = (self.of(Load::ALL).1, self.s.uniform() < 0.5);
        self.does(Action::Load(load, on));
    }
    /// What a driver does.
    fn lives(&mut self) {
        match self.below(6) {
            0 | 1 => {
                let minutes = self.from(5.0, 20.0).round();
                self.drives(minutes);
            }
            2 => {
                for _ in 0..4 {
                    self.switches_a_load();
                    let wait_s = self.from(1.0, 60.0);
                    self.b.advance_by(wait_s);
                }
            }
            3 => {
                let hours = if self.s.uniform() < 0.5 { self.from(0.1, 1.0) } else { self.from(1.0, 14.0) };
                self.does(Action::Key(Key::Off));
                // headlamps that are left on empty the battery
                self.does(Action::Load(Load::Lamps, false));
                self.b.advance_by(20.0);
                self.does(Action::Rest(hours));
                self.b.advance_by(3600.0 * hours);
                self.starts(1);
            }
            4 => {
                let (rpm, nm) = (self.from(1200.0, 4500.0), self.from(0.0, 60.0));
                self.does(Action::Hold { rpm, nm });
                self.b.advance_by(120.0);
                self.does(Action::Pedal(0.0));
                self.b.advance_by(10.0);
            }
            _ => self.touches_the_pedal(),
        }
    }
    /// What somebody tries who looks for a fault, or makes one.
    fn tries(&mut self, connectors: &[(String, Connector)]) {
        match self.below(11) {
            0..=2 => {
                let connector = self.of(connectors).1;
                self.does(Action::Connector(connector, false));
            }
            3 => {
                let mm2 = self.from(0.0, 40.0);
                self.does(Action::Leak(mm2));
            }
            4 => {
                let mm2 = self.from(0.0, 20.0);
                self.does(Action::ExhaustLeak(mm2));
            }
            5 => {
                let (cylinder, pct) = (1 + self.below(4) as u8, self.from(0.0, 100.0));
                self.does(Action::Interrupt(cylinder, pct));
            }
            6 => {
                let routine = self.of(Routine::ALL).1;
                self.does(Action::Ask(DiagRequest::Start(routine)));
            }
            7 => {
                for _ in 0..1 + self.below(8) {
                    let (key, wait_s) = (self.of(&[Key::Off, Key::On, Key::Crank]), self.from(0.02, 3.0));
                    self.does(Action::Key(key));
                    self.b.advance_by(wait_s);
                }
            }
            8 => {
                let sensor = self.of(&Sensor::ALL).0;
                let wire = self.of(&[Wire::Sound, Wire::Open, Wire::ToEarth, Wire::ToSupply, Wire::Loose]);
                let (offset_v, gain) = (self.from(-1.0, 1.0), self.from(0.7, 1.3));
                self.does(Action::Sensor(sensor, Ill { wire, offset_v, gain, ..Ill::default() }));
            }
            9 => self.touches_the_pedal(),
            _ => self.lives_while_it_runs(),
        }
        let wait_s = if self.s.uniform() < 0.5 { self.from(0.05, 10.0) } else { self.from(10.0, 200.0) };
        self.b.advance_by(wait_s);
    }
    fn lives_while_it_runs(&mut self) {
        if self.running() {
            self.drives(3.0);
        } else {
            self.does(Action::Key(Key::Crank));
            self.b.advance_by(11.0);
        }
    }
    /// Everything is as it was, and codes are cleared.
    fn undoes(&mut self, connectors: &[(String, Connector)]) {
        for action in
            [Action::Pedal(0.0), Action::Brake(true), Action::Gear(Gear::Neutral), Action::Brake(false)]
        {
            act(&mut self.b, action);
        }
        self.does(Action::Ask(DiagRequest::Stop));
        self.does(Action::Key(Key::Off));
        self.b.advance_by(60.0);
        for (_, connector) in connectors {
            self.does(Action::Connector(*connector, true));
        }
        for (sensor, _) in Sensor::ALL {
            act(&mut self.b, Action::Sensor(sensor, Ill::default()));
        }
        for (_, load) in Load::ALL {
            act(&mut self.b, Action::Load(*load, false));
        }
        for cylinder in 1..=4 {
            act(&mut self.b, Action::Interrupt(cylinder, 0.0));
        }
        act(&mut self.b, Action::Leak(0.0));
        act(&mut self.b, Action::ExhaustLeak(0.0));
        act(&mut self.b, Action::Key(Key::On));
        self.b.advance_by(3.0);
        self.does(Action::Ask(DiagRequest::ClearCodes));
        act(&mut self.b, Action::Key(Key::Off));
        self.b.advance_by(20.0);
    }
    /// Codes that pend or are confirmed, without those that say that a value has still to be learned, while it has.
    fn codes(&self) -> Vec<String> {
        let open: Vec<String> = self.b.not_whole().iter().map(|n| n.thing()).collect();
        let still = |code: &str, value: &str, is: &str| code == is && open.iter().any(|o| o == value);
        let o = self.b.observe();
        let all = o.codes.iter().filter(|c| c.pending || c.confirmed).map(|c| c.code.clone());
        all.filter(|c| !still(c, "learned.wheel_table", "P0315") && !still(c, "learned.closed_stop", "P2176"))
            .collect()
    }
    #[track_caller]
    fn is_sound(&self) {
        self.holds(self.running(), "stalled");
        let codes = self.codes();
        self.holds(codes.is_empty(), &format!("codes {codes:?}"));
    }
    #[track_caller]
    fn idles(&mut self) {
        if !self.b.ecm().s.air.idling {
            return;
        }
        self.b.advance_by(20.0);
        let mut mean = 0.0;
        for _ in 0..100 {
            self.b.advance_by(0.1);
            mean += 0.01 * self.b.plant().speed_rpm();
        }
        let target = self.b.ecm().live().target_rpm;
        self.holds((mean - target).abs() < 40.0, &format!("idles at {mean:.0} rpm, wanted {target:.0}"));
    }
}

/// From −25 to 45 °C and 70 to 104 kPa: every start at the first try, no stall, no code, idle speed where it is wanted.
#[test]
fn holds_random_days_with_a_sound_car() {
    for seed in seeds(4) {
        let mut day = Day::new(seed, -25.0, 70.0);
        day.starts(1);
        for _ in 0..6 {
            day.lives();
            day.is_sound();
            day.idles();
        }
    }
}

/// Connectors, leaks, wires, keys and routines at random; then all is put back and the codes are cleared. The car starts, runs
/// three trips and sets no code again.
#[test]
fn holds_what_is_undone_leaves_no_trace() {
    for seed in seeds(4) {
        let mut day = Day::new(seed, -10.0, 78.0);
        let connectors = Connector::named(day.b.cylinders() as u8);
        day.starts(1);
        for _ in 0..2 + day.below(6) {
            day.tries(&connectors);
        }
        day.undoes(&connectors);
        for _ in 0..3 {
            // plugs may still be wet
            day.starts(3);
            day.b.advance_by(120.0);
            day.is_sound();
            day.does(Action::Drive { pattern: Name::Mixed, minutes: 10.0 });
            day.b.advance_by(690.0);
            day.is_sound();
            day.idles();
            day.does(Action::Key(Key::Off));
            day.b.advance_by(60.0);
            day.does(Action::Rest(9.0));
            day.b.advance_by(9.0 * 3600.0);
        }
    }
}
