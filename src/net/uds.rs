//! The server side of UDS (ISO 14229-1:2020): sessions, which tester holds one, and the order in which a request is
//! checked.
//!
//! *Inside*: services and the order of their negative responses, S3, several testers, functional requests. *Outside*:
//! what a service does ([`super::codes`], [`super::data`], [`super::routines`], [`super::obd`]), frames
//! ([`super::link`]).
//!
//! The order is that of figures 5 and 6 of the standard, from memory: service supported (11), in this session (7F),
//! length (13), sub-function supported (12), in this session (7E), security (33), sequence (24), then the checks of
//! the service itself. Functionally addressed requests are not refused with 11, 12, 31, 7E or 7F.
//!
//! Only one tester at a time can hold a non-default session; another tester that requests such a session, or a
//! service that needs one, gets busy (21). The session ends 5 s after the last message of its tester (S3), and with
//! it what it started.

use super::car::Module;
use super::catalogue::routine;
use super::refusal::{Nrc, done, nrc};
use super::routines::{self, Came};
use super::security::{self, Security};
use super::{codes, data, obd};
use crate::link::{DiagRequest, Routine, RoutineState, Scan};
use std::time::Duration;

/// A session without a message from its tester ends after this time.
pub const S3: Duration = Duration::from_secs(5);
/// Maximum time to an answer or a pending response \[ms\].
pub const P2_MS: u16 = 50;
/// Maximum time to the answer after a pending response \[ms\].
pub const P2_STAR_MS: u16 = 5000;

const DEFAULT: u8 = 0x01;
const EXTENDED: u8 = 0x03;
/// Suppress positive response bit.
const SUPPRESS: u8 = 0x80;

/// A tester's request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request<'a> {
    /// Source address.
    pub from: u16,
    /// Functionally addressed: all modules are meant.
    pub functional: bool,
    /// The request bytes.
    pub data: &'a [u8],
}

/// The reply to a tester.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// No reply.
    None,
    /// These bytes.
    Bytes(Vec<u8>),
    /// Response pending; the routine's result will be the answer.
    Pending(Routine),
}

/// A module as testers see it.
#[derive(Debug, Clone)]
pub struct Server {
    session: u8,
    /// Address of the tester that holds the session.
    owner: u16,
    heard: Duration,
    security: Security,
    /// The session started a routine that may still be running.
    started: bool,
}

/// A reply, or a negative response code.
type Answered = Result<Reply, Nrc>;

impl Server {
    /// A module in the default session.
    pub fn new(first_seed: u32) -> Self {
        Self {
            session: DEFAULT,
            owner: 0,
            heard: Duration::ZERO,
            security: Security::new(first_seed),
            started: false,
        }
    }

    /// Number of the current session.
    pub fn session(&self) -> u8 {
        self.session
    }

    /// Advances time: a session whose tester is silent ends.
    pub fn tick(&mut self, m: &mut dyn Module, now: Duration) {
        if self.session != DEFAULT && now.saturating_sub(self.heard) >= S3 {
            self.end_session(m);
        }
    }

    /// Returns to the default session; what the session started ends too.
    fn end_session(&mut self, m: &mut dyn Module) {
        self.session = DEFAULT;
        self.security.lock();
        if std::mem::take(&mut self.started)
            && m.scan().is_some_and(|s| matches!(s.routine, RoutineState::Running { .. }))
        {
            let _ = done(m, &DiagRequest::Stop);
        }
    }

    /// Answers a request.
    pub fn answer(&mut self, m: &mut dyn Module, r: &Request<'_>, now: Duration) -> Reply {
        self.tick(m, now);
        let Some(sid) = r.data.first().copied() else { return Reply::None };
        let Some(scan) = m.scan().filter(|s| s.awake) else { return Reply::None };
        if self.session != DEFAULT && r.from == self.owner {
            self.heard = now;
        }
        let answered = self.service(m, &scan, r, now);
        match answered {
            Ok(reply) => reply,
            Err(
                nrc::SERVICE
                | nrc::SUBFUNCTION
                | nrc::RANGE
                | nrc::SUBFUNCTION_SESSION
                | nrc::SERVICE_SESSION,
            ) if r.functional => Reply::None,
            Err(code) => Reply::Bytes(refused(sid, code)),
        }
    }

    /// The answer to a routine that was waited for; none while it is running.
    pub fn ended(&mut self, m: &mut dyn Module, of: Routine, now: Duration) -> Option<Vec<u8>> {
        // a tester that waits is still present
        self.heard = now;
        routines::ended(m, of)
    }

    /// The session in force for this tester.
    fn session_of(&self, from: u16) -> u8 {
        if from == self.owner { self.session } else { DEFAULT }
    }

    /// Refused unless the tester holds an extended session: busy if another tester holds it.
    fn extended(&self, from: u16) -> Result<(), Nrc> {
        match (self.session, from == self.owner) {
            (EXTENDED, true) => Ok(()),
            (EXTENDED, false) => Err(nrc::BUSY),
            _ => Err(nrc::SERVICE_SESSION),
        }
    }

    fn service(&mut self, m: &mut dyn Module, s: &Scan, r: &Request<'_>, now: Duration) -> Answered {
        let d = r.data;
        match d[0] {
            0x10 => {
                self.with_sub(d, &[DEFAULT, EXTENDED], |me, sub| me.change_session(m, r.from, sub, d, now))
            }
            0x11 => self.with_sub(d, &[0x01, 0x02, 0x03], |me, sub| me.restart(m, r.from, sub, d)),
            0x14 => codes::clear(m, d).map(Reply::Bytes),
            0x19 => self.with_sub(d, &codes::REPORTS, |_, sub| codes::read(m, s, sub, d)),
            0x22 => data::read(m, s, self.session_of(r.from), d).map(Reply::Bytes),
            0x27 => {
                self.extended(r.from)?;
                self.with_sub(d, &[security::SEED, security::KEY], |me, sub| {
                    me.security.access(sub, &d[2..], now)
                })
            }
            0x2E => {
                self.extended(r.from)?;
                self.write(m, s, d).map(Reply::Bytes)
            }
            0x2F => {
                self.extended(r.from)?;
                self.control(m, s, d).map(Reply::Bytes)
            }
            0x31 => {
                self.extended(r.from)?;
                self.routine(m, s, d)
            }
            0x3E => {
                self.with_sub(
                    d,
                    &[0x00],
                    |_, sub| {
                        if d.len() == 2 { Ok(vec![0x7E, sub]) } else { Err(nrc::LENGTH) }
                    },
                )
            }
            _ => match obd::service(m, s, d) {
                Some(answer) => answer.map(|a| a.map_or(Reply::None, Reply::Bytes)),
                None => Err(nrc::SERVICE),
            },
        }
    }

    /// A service with a sub-function: minimum length, whether it is supported, and suppression of the positive
    /// response.
    fn with_sub(
        &mut self,
        d: &[u8],
        known: &[u8],
        then: impl FnOnce(&mut Self, u8) -> Result<Vec<u8>, Nrc>,
    ) -> Answered {
        let Some(sub) = d.get(1).copied() else { return Err(nrc::LENGTH) };
        if !known.contains(&(sub & !SUPPRESS)) {
            return Err(nrc::SUBFUNCTION);
        }
        let answer = then(self, sub & !SUPPRESS)?;
        Ok(if sub & SUPPRESS != 0 { Reply::None } else { Reply::Bytes(answer) })
    }

    fn change_session(
        &mut self,
        m: &mut dyn Module,
        from: u16,
        to: u8,
        d: &[u8],
        now: Duration,
    ) -> Result<Vec<u8>, Nrc> {
        if d.len() != 2 {
            return Err(nrc::LENGTH);
        }
        let others = self.session != DEFAULT && from != self.owner;
        match to {
            EXTENDED if others => return Err(nrc::BUSY),
            EXTENDED => {
                self.security.lock();
                (self.session, self.owner, self.heard) = (EXTENDED, from, now);
            }
            // a tester that holds no session is in the default one anyway
            _ if others => {}
            _ => self.end_session(m),
        }
        let [p2, star] = [P2_MS, P2_STAR_MS / 10].map(u16::to_be_bytes);
        Ok([&[0x50, to], &p2[..], &star[..]].concat())
    }

    fn restart(&mut self, m: &mut dyn Module, from: u16, sub: u8, d: &[u8]) -> Result<Vec<u8>, Nrc> {
        if d.len() != 2 {
            return Err(nrc::LENGTH);
        }
        if self.session != DEFAULT && from != self.owner {
            return Err(nrc::BUSY);
        }
        // the service has only one reason for refusal
        done(m, &DiagRequest::Restart).map_err(|_| nrc::CONDITIONS)?;
        self.started = false;
        self.end_session(m);
        Ok(vec![0x51, sub])
    }

    fn write(&mut self, m: &mut dyn Module, s: &Scan, d: &[u8]) -> Result<Vec<u8>, Nrc> {
        let [_, a, b, rest @ ..] = d else { return Err(nrc::LENGTH) };
        if rest.is_empty() {
            return Err(nrc::LENGTH);
        }
        let did = u16::from_be_bytes([*a, *b]);
        let takes = data::writable(s, did).ok_or(nrc::RANGE)?;
        self.unlocked()?;
        if !takes.contains(&rest.len()) {
            return Err(nrc::LENGTH);
        }
        data::write(m, s, did, rest)
    }

    fn unlocked(&self) -> Result<(), Nrc> {
        if self.security.open() { Ok(()) } else { Err(nrc::LOCKED) }
    }

    fn control(&mut self, m: &mut dyn Module, s: &Scan, d: &[u8]) -> Result<Vec<u8>, Nrc> {
        let [_, a, b, rest @ ..] = d else { return Err(nrc::LENGTH) };
        if rest.is_empty() {
            return Err(nrc::LENGTH);
        }
        let k = routines::controlled(s, u16::from_be_bytes([*a, *b])).ok_or(nrc::RANGE)?;
        self.unlocked()?;
        let answer = routines::injector(m, s, k, rest)?;
        self.started = true;
        Ok(answer)
    }

    fn routine(&mut self, m: &mut dyn Module, s: &Scan, d: &[u8]) -> Answered {
        let [_, sub, a, b, option @ ..] = d else { return Err(nrc::LENGTH) };
        let (quiet, sub) = (sub & SUPPRESS != 0, sub & !SUPPRESS);
        let id = u16::from_be_bytes([*a, *b]);
        let of = routine(id).ok_or(nrc::RANGE)?;
        if sub != routines::RESULTS {
            self.unlocked()?;
        }
        if !routines::may(of, sub) {
            return Err(nrc::SUBFUNCTION);
        }
        let takes = usize::from(sub == routines::START && matches!(of, Routine::CommandIdle(_)));
        if option.len() != 2 * takes {
            return Err(nrc::LENGTH);
        }
        let came = routines::control(m, s, sub, id, option)?;
        if sub == routines::START {
            self.started = true;
        }
        Ok(match came {
            // an answer announced as pending is always sent
            Came::Pending(of) => Reply::Pending(of),
            Came::Answer(_) if quiet => Reply::None,
            Came::Answer(bytes) => Reply::Bytes(bytes),
        })
    }
}

/// A negative response.
pub fn refused(sid: u8, code: Nrc) -> Vec<u8> {
    vec![0x7F, sid, code]
}
