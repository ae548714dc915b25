//! One connection of a tester: which frame answers which, and what the server must do about it.
//!
//! *Inside*: routing activation, alive check, diagnostic messages, faults, the connection's timers, as a state machine
//! without sockets or clocks: bytes and times in, [`Effect`]s out. *Outside*: what a request means ([`super::uds`]),
//! the table of connections and the sockets (`server`).
//!
//! ISO 13400-2:2012, from memory: 7.1.2 routing activation, 7.1.5 diagnostic messages, table 18 timers.

use super::doip::{EDITION_2012, Fault, Frame, Framer, payload};
use super::identity::{FUNCTIONAL, MODULE};
use std::time::Duration;

/// A connection without routing activation is closed after this time (T_TCP_Initial_Inactivity).
pub const INITIAL: Duration = Duration::from_secs(2);
/// A connection without traffic is closed after this time (T_TCP_General_Inactivity).
pub const GENERAL: Duration = Duration::from_secs(300);
/// An alive check must be answered within this time (T_TCP_Alive_Check).
pub const ALIVE: Duration = Duration::from_millis(500);

/// Codes of the routing activation response.
pub mod activation {
    /// The source address is not that of a tester.
    pub const UNKNOWN_SOURCE: u8 = 0x00;
    /// All connections are in use.
    pub const ALL_TAKEN: u8 = 0x01;
    /// This connection was activated with another source address.
    pub const OTHER_SOURCE: u8 = 0x02;
    /// Another connection uses this source address and is alive.
    pub const IN_USE: u8 = 0x03;
    /// Unsupported activation type.
    pub const UNKNOWN_KIND: u8 = 0x06;
    /// Activated.
    pub const DONE: u8 = 0x10;
}

/// Codes of a diagnostic message's negative acknowledgement.
pub mod nack {
    /// The source address is not that of the activation.
    pub const SOURCE: u8 = 0x02;
    /// Unknown target address.
    pub const TARGET: u8 = 0x03;
    /// The module is asleep: key off, or no supply.
    pub const UNREACHABLE: u8 = 0x06;
}

/// The server's next action.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
    /// Send a frame.
    Send(Frame),
    /// Close the connection, after sending what is queued.
    Close,
    /// Check in the table whether this source address may be activated, and call [`Link::settled`].
    Settle {
        /// The tester's address.
        source: u16,
        /// Protocol version that it uses.
        version: u8,
    },
    /// The tester has answered an alive check.
    Alive,
    /// A request for the module.
    Request {
        /// The tester's address.
        source: u16,
        /// The request is addressed to all modules, not to this one alone.
        functional: bool,
        /// The request.
        data: Vec<u8>,
        /// Protocol version that the tester uses.
        version: u8,
    },
}

/// One connection.
#[derive(Debug)]
pub struct Link {
    framer: Framer,
    /// Source address of the activation.
    source: Option<u16>,
    /// The table is being checked.
    settling: bool,
    heard: Duration,
    closed: bool,
}

/// Whether a source address is one of external test equipment.
fn is_tester(source: u16) -> bool {
    (0x0E00..=0x0FFF).contains(&source)
}

impl Link {
    /// A new connection.
    pub fn new(now: Duration) -> Self {
        Self { framer: Framer::default(), source: None, settling: false, heard: now, closed: false }
    }
    /// Source address of the activation.
    pub fn source(&self) -> Option<u16> {
        self.source
    }
    /// Whether the connection has ended.
    pub fn closed(&self) -> bool {
        self.closed
    }
    /// Number of bytes stored.
    pub fn holds(&self) -> usize {
        self.framer.holds()
    }
    /// Whether the inactivity timer has expired.
    pub fn too_quiet(&self, now: Duration) -> bool {
        let most = if self.source.is_some() { GENERAL } else { INITIAL };
        now.saturating_sub(self.heard) >= most
    }

    /// Bytes were received. Each effect must be carried out before the next one is taken.
    pub fn feed(&mut self, bytes: &[u8], now: Duration, awake: bool) -> Vec<Effect> {
        let mut all = Vec::new();
        let mut framer = std::mem::take(&mut self.framer);
        framer.push(bytes, &mut |frame| {
            if self.closed {
                return;
            }
            match frame {
                Ok(frame) => {
                    // a connection without activation is closed however much it sends
                    if self.source.is_some() {
                        self.heard = now;
                    }
                    self.frame(&frame, awake, &mut all);
                }
                Err((version, fault)) => self.fault(version, fault, &mut all),
            }
        });
        self.framer = framer;
        all
    }

    fn fault(&mut self, version: u8, fault: Fault, all: &mut Vec<Effect>) {
        all.push(Effect::Send(Frame::refuses(version, fault)));
        if fault.ends() {
            self.close(all);
        }
    }

    fn close(&mut self, all: &mut Vec<Effect>) {
        self.closed = true;
        all.push(Effect::Close);
    }

    fn frame(&mut self, frame: &Frame, awake: bool, all: &mut Vec<Effect>) {
        // the version for "unknown" is allowed in identification requests only
        let version = if frame.version == 0xFF { EDITION_2012 } else { frame.version };
        match (frame.kind, frame.payload.len()) {
            (payload::ACTIVATE, 7 | 11) => self.activate(frame, version, all),
            (payload::ALIVE, 0) => {
                all.push(Effect::Send(Frame::new(version, payload::IS_ALIVE, MODULE.to_be_bytes().into())));
            }
            (payload::IS_ALIVE, 2) => all.push(Effect::Alive),
            (payload::DIAGNOSTIC, 5..) => self.diagnostic(frame, version, awake, all),
            // messages that only an entity sends are ignored
            (payload::HEADER_NACK, 1) | (payload::ACK | payload::NACK, 5..) => {}
            (
                payload::ACTIVATE
                | payload::ALIVE
                | payload::IS_ALIVE
                | payload::DIAGNOSTIC
                | payload::HEADER_NACK
                | payload::ACK
                | payload::NACK,
                _,
            ) => self.fault(version, Fault::Length, all),
            _ => self.fault(version, Fault::Type, all),
        }
    }

    fn activate(&mut self, frame: &Frame, version: u8, all: &mut Vec<Effect>) {
        let source = u16::from_be_bytes([frame.payload[0], frame.payload[1]]);
        // activation type default, or the one required by law
        let kind_known = frame.payload[2] <= 0x01;
        let refused = if !is_tester(source) {
            Some(activation::UNKNOWN_SOURCE)
        } else if !kind_known {
            Some(activation::UNKNOWN_KIND)
        } else if self.source.is_some_and(|s| s != source) {
            Some(activation::OTHER_SOURCE)
        } else {
            None
        };
        match refused {
            Some(code) => {
                all.push(Effect::Send(activated(version, source, code)));
                self.close(all);
            }
            None if self.source == Some(source) => {
                all.push(Effect::Send(activated(version, source, activation::DONE)));
            }
            None if self.settling => {}
            None => {
                self.settling = true;
                all.push(Effect::Settle { source, version });
            }
        }
    }

    /// The result of the check in the table.
    pub fn settled(&mut self, source: u16, version: u8, code: u8, now: Duration) -> Vec<Effect> {
        self.settling = false;
        let mut all = vec![Effect::Send(activated(version, source, code))];
        if code == activation::DONE {
            self.source = Some(source);
            self.heard = now;
        } else {
            self.close(&mut all);
        }
        all
    }

    fn diagnostic(&mut self, frame: &Frame, version: u8, awake: bool, all: &mut Vec<Effect>) {
        let p = &frame.payload;
        let (source, target) = (u16::from_be_bytes([p[0], p[1]]), u16::from_be_bytes([p[2], p[3]]));
        let refuses = |code: u8| Effect::Send(acknowledged(version, payload::NACK, target, source, code));
        if self.source != Some(source) {
            all.push(refuses(nack::SOURCE));
            return self.close(all);
        }
        if target != MODULE && target != FUNCTIONAL {
            return all.push(refuses(nack::TARGET));
        }
        if !awake {
            return all.push(refuses(nack::UNREACHABLE));
        }
        all.push(Effect::Send(acknowledged(version, payload::ACK, target, source, 0)));
        let functional = target == FUNCTIONAL;
        all.push(Effect::Request { source, functional, data: p[4..].to_vec(), version });
    }
}

/// The routing activation response.
fn activated(version: u8, source: u16, code: u8) -> Frame {
    let mut p = Vec::from(source.to_be_bytes());
    p.extend(MODULE.to_be_bytes());
    p.push(code);
    p.extend([0; 4]);
    Frame::new(version, payload::ACTIVATED, p)
}

/// An acknowledgement: the acknowledging address comes first.
fn acknowledged(version: u8, kind: u16, from: u16, to: u16, code: u8) -> Frame {
    let mut p = Vec::from(from.to_be_bytes());
    p.extend(to.to_be_bytes());
    p.push(code);
    Frame::new(version, kind, p)
}

/// The module's answer as a diagnostic message to a tester.
pub fn answered(version: u8, to: u16, data: &[u8]) -> Frame {
    let mut p = Vec::from(MODULE.to_be_bytes());
    p.extend(to.to_be_bytes());
    p.extend(data);
    Frame::new(version, payload::DIAGNOSTIC, p)
}
