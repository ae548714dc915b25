//! An attempt by hand, run once more without one of its steps: the twin that a debrief offers.
//!
//! *Inside*: where the attempt forks, which later acts follow and when; a thread that can be stopped. *Outside*:
//! leaving an act out ([`crate::session::twin`]), how both are compared ([`crate::report`]).
//!
//! It starts at the desk's last mark before the step, so that what lies before is not computed again. Later acts
//! follow at the same intervals. Where the car can then not be left alone for hours or days, that time does not pass.
//!
//! **Checked by** its own tests and `tests/attempts/desk.rs`.

use crate::bench::action::Action;
use crate::bench::not_whole::NotWhole;
use crate::bench::record::{Entry, Kind};
use crate::scenario::{Act, ActionFile, Lid, Timing};
use crate::session::replay::SLACK_S;
use crate::session::teach::is_injected;
use crate::session::twin::{AtMark, Named};
use crate::session::{Progress, Queue, Run, SAME_S, Session};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};

impl Run {
    /// Whether this is a step of work by hand that can be left out.
    pub fn can_leave_out(&self, id: &str) -> bool {
        self.step(id).is_some()
    }

    /// Line of a step in the log, and the session at the last mark before it.
    fn step(&self, id: &str) -> Option<(usize, &Session)> {
        let log = self.bench.log();
        let is = |e: &Entry| matches!(&e.kind, Kind::Act { id: own, .. } if own == id);
        let line = log.iter().position(is).filter(|line| *line >= self.own_lines && !is_injected(id))?;
        let mut marks = self.marks.iter().rev().map(|m| m.session());
        Some((line, marks.find(|s| s.trainee && s.queue.acts.is_empty() && s.bench.log().len() <= line)?))
    }

    /// The attempt without one of its steps; none if there is no such step, or if told to stop.
    pub fn without(&self, id: &str, told: &mut dyn FnMut(Progress) -> bool) -> Option<Run> {
        self.again(id, AtMark::LeaveOut, told)
    }

    /// The attempt from the last mark before one of its steps on, with the step or without it.
    fn again(&self, id: &str, step: AtMark, told: &mut dyn FnMut(Progress) -> bool) -> Option<Run> {
        let (_, from) = self.step(id)?;
        let mut session = from.clone();
        let ends_s = self.after.at_s;
        let log = self.bench.log().get(session.bench.log().len()..)?;
        let (acts, rest_s) = following(log, session.bench.time_s(), ends_s);
        session.queue = Queue::new(&acts, session.bench.time_s());
        session.actions = Some(ActionFile {
            about: self.scenario.about.clone(),
            run_s: Some(0.0),
            acts,
            expects: Vec::new(),
            names: None,
        });
        session.lid_open = self.lid_open;
        session.run_to_fork(&[Named { trainee: true, id: id.to_owned() }], told)?;
        session.at_mark = step;
        let mut goes_on = |s: &Session| {
            told(Progress::Running { at_s: s.bench.time_s(), end_s: ends_s, slow: s.bench.alone() })
        };
        while !session.queue.acts.is_empty() {
            if !goes_on(&session) {
                return None;
            }
            session.step(ends_s);
        }
        let until_s = session.queue.last_s + rest_s - SLACK_S;
        while session.bench.time_s() + SAME_S < until_s {
            if !goes_on(&session) {
                return None;
            }
            session.step(until_s);
        }
        let mut run = session.finish(false, 0.0);
        run.actions = None;
        Some(run)
    }

    /// The faults that are left on the car, for a reader who looks at the truth of a finished attempt; none while the
    /// scenario keeps truth locked.
    pub fn left_wrong(&self) -> Option<Vec<NotWhole>> {
        (self.scenario.about.lid != Lid::Locked).then(|| self.bench.not_whole())
    }
}

/// The acts of these lines with the intervals between them, from a time on \[s\], and the time after the last of them
/// \[s\]. A rest or a drive of days lasts until the next act at most.
fn following(log: &[Entry], from_s: f64, ends_s: f64) -> (Vec<Act>, f64) {
    let given = |e: &Entry| match &e.kind {
        Kind::Act { id, action } => Some((e.t_s, id.clone(), action.clone())),
        _ => None,
    };
    let given: Vec<(f64, String, Action)> = log.iter().filter_map(given).collect();
    let next_s: Vec<f64> = given.iter().skip(1).map(|g| g.0).chain([ends_s]).collect();
    let mut at_s = from_s;
    let mut acts = Vec::with_capacity(given.len());
    for ((t_s, id, hand), next_s) in given.into_iter().zip(next_s) {
        // steps of a rest are long: a wait that is due a rounding error later would take one more
        let wait_s = (hand.alone_s().min(next_s - t_s) - SLACK_S).max(0.0);
        let timing = Timing::After((t_s - at_s - SLACK_S).max(0.0));
        at_s = t_s + wait_s;
        acts.push(Act::of_no_file(id, timing, hand, wait_s));
    }
    (acts, (ends_s - at_s).max(0.0))
}

/// What the thread and its owner share.
#[derive(Debug, Default)]
struct Shared {
    stop: AtomicBool,
    /// Share done, as bits.
    share: AtomicU64,
    run: OnceLock<Option<Run>>,
}

/// An attempt that is run once more without a step, on a thread of its own. The thread ends when this is dropped.
#[derive(Debug)]
pub struct Rerun(Arc<Shared>);

impl Rerun {
    /// Starts it; none if there is no such step, or no thread.
    pub fn start(of: &Run, id: &str) -> Option<Self> {
        if !of.can_leave_out(id) {
            return None;
        }
        let shared = Arc::new(Shared::default());
        let (theirs, of, id) = (Arc::clone(&shared), of.clone(), id.to_owned());
        let work = move || {
            let mut from_s = None;
            let run = of.without(&id, &mut |p| {
                if let Progress::Running { at_s, end_s, .. } = p {
                    let from_s = *from_s.get_or_insert(at_s);
                    let share = (at_s - from_s) / (end_s - from_s).max(1e-6);
                    theirs.share.store(share.clamp(0.0, 1.0).to_bits(), Ordering::Relaxed);
                }
                !theirs.stop.load(Ordering::Relaxed)
            });
            let _ = theirs.run.set(run);
        };
        std::thread::Builder::new().name("without".into()).spawn(work).ok()?;
        Some(Self(shared))
    }

    /// Share of the simulated time that is done, 0 to 1.
    pub fn share(&self) -> f64 {
        f64::from_bits(self.0.share.load(Ordering::Relaxed))
    }

    /// Its end, once it is there.
    pub fn run(&self) -> Option<&Run> {
        self.0.run.get()?.as_ref()
    }
}

impl Drop for Rerun {
    fn drop(&mut self) {
        self.0.stop.store(true, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::action::{Action, Key, Load};
    use crate::session::Options;
    use crate::session::desk::{Desk, Reach};
    use crate::store;

    /// With the step done the rest of an attempt comes out as it did: what differs without it follows from the step.
    #[test]
    fn same_attempt_with_the_step_done() {
        let shipped = store::shipped("healthy-idle").expect("it ships");
        let mut car = |name: &str| store::car_text(name, None);
        let scenario = crate::scenario::parse_scenario(shipped.text, shipped.id, &mut car).expect("it reads");
        // other moments round otherwise
        for deg in [431.0, 389.0, 467.0, 521.0, 613.0] {
            same_with_a_turn_of(&scenario, deg);
        }
    }

    fn same_with_a_turn_of(scenario: &crate::scenario::Scenario, deg: f64) {
        let mut desk = Desk::new(scenario, &Options::default(), &mut |_| true).expect("a desk");
        let hand = |d: &mut Desk, a: Action| {
            d.mark_quietly(crate::session::desk::MarkName::Before(Box::new(a.clone())));
            let _ = d.act("", &a, Reach::Both);
        };
        desk.advance(3.217);
        hand(&mut desk, Action::Load(Load::Compressor, true));
        desk.turn(deg);
        hand(&mut desk, Action::Load(Load::Lamps, true));
        desk.advance(11.03);
        hand(&mut desk, Action::Key(Key::Off));
        desk.advance(20.0);
        hand(&mut desk, Action::Rest(6.0));
        desk.advance(2.0 * 3600.0);
        hand(&mut desk, Action::Key(Key::On));
        desk.advance(5.0);
        let run = desk.hand_in();
        let id = run.bench.log().iter().skip(run.own_lines).find_map(|e| match &e.kind {
            Kind::Act { id, action: Action::Load(..) } => Some(id.clone()),
            _ => None,
        });
        let id = id.expect("a step");
        let again = run.again(&id, AtMark::Do, &mut |_| true).expect("it runs");
        assert_eq!(again.bench.state_hash(), run.bench.state_hash());
        assert_eq!(again.bench.log(), run.bench.log());
        let without = run.without(&id, &mut |_| true).expect("it runs");
        assert_ne!(without.bench.state_hash(), run.bench.state_hash());
        assert!((without.after.at_s - run.after.at_s).abs() < 0.1);
    }
}
