//! What is done again and again at a bench: start it, hold it, ask its module, take means.

use super::Case;
use crate::bench::action::{Action, Key, PartChoice, PartKind};
use crate::bench::pattern::Name;
use crate::bench::setup::{Setup, Stretch, StretchKind};
use crate::bench::survey;
use crate::bench::{Bench, Done};
use crate::link::{DiagRequest, DiagResponse};

impl Case {
    /// A healthy car of this case, so warm \[°C\].
    pub(super) fn setup(&self, coolant_c: f64) -> Setup {
        Setup::healthy(self.text, self.seed, coolant_c)
    }
    /// The same in air of that temperature too.
    pub(super) fn in_air(&self, coolant_c: f64, ambient_c: f64) -> Setup {
        let mut s = self.setup(coolant_c);
        s.weather.ambient_c = ambient_c;
        s
    }
    /// Warm and idling for twenty seconds.
    pub(super) fn warm(&self) -> Option<Bench> {
        survey::warm(&self.setup(90.0)).ok()
    }
    /// The same with such parts.
    pub(super) fn warm_with(&self, parts: Vec<PartChoice>) -> Option<Bench> {
        survey::warm(&Setup { parts, ..self.setup(90.0) }).ok()
    }
}

/// The car's file with parts that are all exactly nominal.
pub(super) fn nominal(text: &str) -> String {
    let changed = |line: &str| {
        let key = line.split(" = ").next().unwrap_or("").to_owned();
        match key.as_str() {
            "runout_mm" => format!("{key} = [0.0, 0.0]"),
            k if k.contains("_sigma") => format!("{key} = 0.0"),
            _ => line.to_owned(),
        }
    };
    text.lines().map(changed).collect::<Vec<_>>().join("\n")
}

/// A bench that stands as its setup says, conditioned if that asks for it.
pub(super) fn built(setup: &Setup) -> Option<Bench> {
    Bench::new(setup, &mut |_| true).ok()
}

/// A part with an error \[%\].
pub(super) fn off_by(kind: PartKind, error_pct: f64) -> PartChoice {
    PartChoice { error_pct: Some(error_pct), ..PartChoice::new(kind) }
}

/// A part that is worn so far \[%\].
pub(super) fn worn(kind: PartKind, wear_pct: f64) -> PartChoice {
    PartChoice { wear_pct: Some(wear_pct), ..PartChoice::new(kind) }
}

pub(super) fn act(b: &mut Bench, a: Action) {
    b.act("", a);
}

/// Key on, two seconds, and on to the starter.
pub(super) fn crank(b: &mut Bench) {
    act(b, Action::Key(Key::On));
    b.advance_by(2.0);
    act(b, Action::Key(Key::Crank));
}

/// Starts the engine, and so many seconds; whether it runs.
pub(super) fn start(b: &mut Bench, seconds: f64) -> bool {
    crank(b);
    b.advance_by(seconds);
    b.observe().live.running
}

/// Pedal up, key off, and the after-run.
pub(super) fn stop(b: &mut Bench) {
    act(b, Action::Pedal(0.0));
    b.advance_by(4.0);
    act(b, Action::Key(Key::Off));
    b.advance_by(15.0);
}

/// Holds a speed against rollers for a time.
pub(super) fn hold(b: &mut Bench, rpm: f64, nm: f64, for_s: f64) {
    act(b, Action::Hold { rpm, nm });
    b.advance_by(for_s);
}

/// Asks the module.
pub(super) fn ask(b: &mut Bench, r: DiagRequest) -> Option<DiagResponse> {
    match b.act("", Action::Ask(r)) {
        Done::Answer(a) => Some(a),
        _ => None,
    }
}

/// Codes that are stored, in whatever state.
pub(super) fn codes(b: &Bench) -> Vec<String> {
    b.observe().codes.into_iter().map(|c| c.code).collect()
}

pub(super) fn has_code(b: &Bench, code: &str) -> bool {
    codes(b).iter().any(|c| c == code)
}

/// Pending, confirmed, permanent; none if nothing is stored.
pub(super) fn code(b: &Bench, number: &str) -> Option<(bool, bool, bool)> {
    let all = b.observe().codes;
    all.iter().find(|c| c.code == number).map(|c| (c.pending, c.confirmed, c.permanent))
}

/// A learned value as a tester shows it.
pub(super) fn learned(b: &Bench, name: &str) -> f64 {
    b.observe().learned.iter().find(|l| l.name == name).map_or(f64::NAN, |l| l.value)
}

/// Mean of something over so many seconds, fifty times a second.
pub(super) fn mean(b: &mut Bench, seconds: f64, what: impl Fn(&Bench) -> f64) -> f64 {
    let n = (seconds * 50.0).round().max(1.0) as u32;
    let mut sum = 0.0;
    for _ in 0..n {
        b.advance_by(0.02);
        sum += what(b);
    }
    sum / f64::from(n)
}

/// Short- and long-term trim of bank 1 together \[-\].
pub(super) fn both(b: &Bench) -> f64 {
    let l = b.observe().live;
    (1.0 + 0.01 * l.short_pct) * (1.0 + 0.01 * l.long_pct) - 1.0
}

/// Fuel injected over so many seconds \[kg\].
pub(super) fn injected_kg(b: &mut Bench, seconds: f64) -> f64 {
    let from = b.plant().s.totals.injected_kg;
    b.advance_by(seconds);
    b.plant().s.totals.injected_kg - from
}

/// Misfires counted in this trip, all cylinders.
pub(super) fn counted(b: &Bench) -> Vec<u32> {
    b.observe().misfires.iter().map(|m| m.count).collect()
}

pub(super) fn driven(pattern: Name, minutes: f64) -> Stretch {
    Stretch { kind: StretchKind::Pattern(pattern), minutes, wear_factor: 1.0 }
}

pub(super) fn held(rpm: f64, nm: f64, minutes: f64) -> Stretch {
    Stretch { kind: StretchKind::Hold { rpm, nm }, minutes, wear_factor: 1.0 }
}

/// Drives a pattern to its end or until it is enough, looked at every second.
pub(super) fn drive(b: &mut Bench, pattern: Name, minutes: f64, mut enough: impl FnMut(&Bench) -> bool) {
    act(b, Action::Drive { pattern, minutes });
    while b.driver().is_some() && !enough(b) {
        b.advance_by(1.0);
    }
}
