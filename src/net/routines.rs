//! Routine control (service 31) and control of one cylinder's injector (service 2F).
//!
//! *Inside*: start, stop and results on the wire. *Outside*: what a routine does and when it is refused
//! (`ecm/services.rs`), who may start one ([`super::uds`]).

use super::car::Module;
use super::catalogue::{INJECTOR, immediate, routine};
use super::refusal::{Nrc, done, nrc};
use crate::link::{DiagRequest, Failed, Routine, RoutineState, Scan, WaitsFor};

/// Starts a routine.
pub const START: u8 = 0x01;
/// Stops a routine.
pub const STOP: u8 = 0x02;
/// Reports the state of a routine.
pub const RESULTS: u8 = 0x03;

/// Reported for a failure whose reason a scenario hides.
const KEPT: u8 = 0xFF;

/// The result of a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    /// The answer.
    Answer(Vec<u8>),
    /// The routine continues: its result is the answer.
    Pending(Routine),
}

/// The cylinder whose injector a tester has cut off, from 1.
pub fn cut(s: &Scan) -> Option<u8> {
    match s.routine {
        RoutineState::Running { routine: Routine::CutOut(k), .. } => Some(k),
        _ => None,
    }
}

/// State of a routine: 00 never started, 01 running, 02 completed, 03 failed; then what it waits for or why it
/// failed; and, for a speed to be held, the minimum and maximum \[rpm\] and the time \[s\].
pub fn status(state: &RoutineState, keeps: bool) -> [u8; 7] {
    let mut out = [0; 7];
    match state {
        RoutineState::None => {}
        RoutineState::Running { waits_for, .. } => {
            out[0] = 1;
            let (why, hold) = match waits_for {
                None => (0, None),
                Some(WaitsFor::Hold(hold)) => (1, Some(hold)),
                Some(WaitsFor::LetGo) => (2, None),
                Some(WaitsFor::HoldAgain { hold, .. }) => (3, Some(hold)),
            };
            out[1] = why;
            if let Some(hold) = hold {
                let rpm = |x: f64| (x.round().clamp(0.0, 65_535.0) as u16).to_be_bytes();
                [out[2], out[3]] = rpm(hold.low_rpm);
                [out[4], out[5]] = rpm(hold.high_rpm);
                out[6] = hold.for_s.ceil().clamp(0.0, 255.0) as u8;
            }
        }
        RoutineState::Done { .. } => out[0] = 2,
        RoutineState::Failed { because, .. } => {
            out[0] = 3;
            out[1] = if keeps && *because != Failed::Stopped { KEPT } else { failed(*because) };
        }
    }
    out
}

/// The code number for why a routine failed.
pub fn failed(because: Failed) -> u8 {
    match because {
        Failed::NotAtRest => 0x01,
        Failed::AtLimit => 0x02,
        Failed::StopOutside => 0x03,
        Failed::LeftIdle => 0x04,
        Failed::LeftWarmIdle => 0x05,
        Failed::CylindersNotAtRest => 0x06,
        Failed::Stopped => 0x07,
        Failed::NotParked => 0x08,
        Failed::EngineStopped => 0x09,
        Failed::AttemptsUsedUp { .. } => 0x0A,
        Failed::NoVerdict => 0x0B,
        Failed::CamTooFar => 0x0C,
        Failed::EngineTurned => 0x0D,
        Failed::LearnBrokenOff => 0x0E,
        Failed::EgrStopOutside => 0x0F,
        Failed::Withheld => KEPT,
    }
}

/// The routine that a state belongs to.
fn whose(state: &RoutineState) -> Option<Routine> {
    match state {
        RoutineState::None => None,
        RoutineState::Running { routine, .. }
        | RoutineState::Done { routine }
        | RoutineState::Failed { routine, .. } => Some(*routine),
    }
}

/// Whether two are the same routine, regardless of parameters.
fn same(a: Routine, b: Routine) -> bool {
    a == b || matches!((a, b), (Routine::CommandIdle(_), Routine::CommandIdle(_)))
}

/// Whether a routine supports a sub-function.
pub fn may(r: Routine, sub: u8) -> bool {
    match sub {
        START | RESULTS => true,
        STOP => !immediate(r),
        _ => false,
    }
}

fn answer(sub: u8, id: u16, state: &RoutineState, keeps: bool) -> Vec<u8> {
    [&[0x71, sub], &id.to_be_bytes()[..], &status(state, keeps)].concat()
}

/// Service 31; routine, sub-function and length were checked.
pub fn control(m: &mut dyn Module, s: &Scan, sub: u8, id: u16, option: &[u8]) -> Result<Came, Nrc> {
    let of = routine(id).ok_or(nrc::RANGE)?;
    let of = match (of, option) {
        (Routine::CommandIdle(_), [a, b]) => Routine::CommandIdle(u16::from_be_bytes([*a, *b])),
        _ => of,
    };
    let keeps = m.keeps_reasons();
    let mine = whose(&s.routine).is_some_and(|r| same(r, of));
    let runs = mine && matches!(s.routine, RoutineState::Running { .. });
    match sub {
        START => {
            if let Routine::CommandIdle(rpm) = of
                && rpm != 0
                && !crate::units::IDLE_RPM.holds(f64::from(rpm))
            {
                return Err(nrc::RANGE);
            }
            done(m, &DiagRequest::Start(of))?;
            // learning the closed stop takes a few seconds: the tester is told to wait
            if of == Routine::LearnClosedStop {
                return Ok(Came::Pending(of));
            }
            let state = m.scan().map_or(RoutineState::None, |s| s.routine);
            Ok(Came::Answer(answer(sub, id, &state, keeps)))
        }
        STOP if !runs => Err(nrc::SEQUENCE),
        STOP => {
            done(m, &DiagRequest::Stop)?;
            let state = m.scan().map_or(RoutineState::None, |s| s.routine);
            Ok(Came::Answer(answer(sub, id, &state, keeps)))
        }
        _ if !mine => Err(nrc::SEQUENCE),
        _ => Ok(Came::Answer(answer(sub, id, &s.routine, keeps))),
    }
}

/// The answer to the start of a routine that was waited for; none while it is running.
pub fn ended(m: &mut dyn Module, of: Routine) -> Option<Vec<u8>> {
    let state = m.scan().map_or(RoutineState::None, |s| s.routine);
    if matches!(state, RoutineState::Running { .. }) {
        return None;
    }
    let id = super::catalogue::routines().find(|r| r.1 == of).map_or(0, |r| r.0);
    Some(answer(START, id, &state, m.keeps_reasons()))
}

/// The cylinder that an identifier of service 2F refers to.
pub fn controlled(s: &Scan, did: u16) -> Option<u8> {
    let k = did.checked_sub(INJECTOR)?;
    (1..=u16::from(s.cylinders)).contains(&k).then_some(k as u8)
}

/// Service 2F for a cylinder's injector: 03 00 cuts it off, 03 01 enables it, 00 returns control to the module.
pub fn injector(m: &mut dyn Module, s: &Scan, k: u8, rest: &[u8]) -> Result<Vec<u8>, Nrc> {
    let (how, wants_cut) = match rest {
        [0x00] => (0x00, false),
        [0x03, 0x00] => (0x03, true),
        [0x03, 0x01] => (0x03, false),
        [0x00 | 0x03, ..] if rest.len() != if rest[0] == 0 { 1 } else { 2 } => return Err(nrc::LENGTH),
        _ => return Err(nrc::RANGE),
    };
    let is_cut = cut(s) == Some(k);
    if wants_cut && !is_cut {
        done(m, &DiagRequest::Start(Routine::CutOut(k)))?;
    } else if !wants_cut && is_cut {
        done(m, &DiagRequest::Stop)?;
    }
    let did = (INJECTOR + u16::from(k)).to_be_bytes();
    Ok([&[0x6F], &did[..], &[how, u8::from(!wants_cut)]].concat())
}
