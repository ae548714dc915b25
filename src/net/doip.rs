//! Frames of DoIP (ISO 13400-2:2012 and 2019): the generic header, payload types, and what each payload holds.
//!
//! *Inside*: converting between bytes and frames, header faults, buffering at most one frame of a stream. *Outside*:
//! which frame answers which ([`super::link`]), sockets (`server`).
//!
//! Numbers are those of ISO 13400-2, from memory: table 16 (header), 17 (payload types), 19 (header faults), 25 and 26
//! (routing activation), 23 (negative acknowledgement of a diagnostic message).

/// Length of the generic header \[bytes\].
pub const HEADER: usize = 8;
/// Maximum payload that is accepted \[bytes\]: two addresses and a request.
pub const LONGEST: usize = 4 + MOST_DATA;
/// Maximum length of a diagnostic request \[bytes\].
pub const MOST_DATA: usize = 4095;

/// Protocol version of the standard's 2012 edition, which most programs use.
pub const EDITION_2012: u8 = 0x02;
/// Protocol version of the 2019 edition.
pub const EDITION_2019: u8 = 0x03;
/// Protocol version in a vehicle identification request if the vehicle's version is not known.
pub const ANY_EDITION: u8 = 0xFF;

/// Payload types.
pub mod payload {
    /// Generic negative acknowledgement of a header.
    pub const HEADER_NACK: u16 = 0x0000;
    /// Vehicle identification request.
    pub const IDENTIFY: u16 = 0x0001;
    /// Vehicle identification request with entity identification.
    pub const IDENTIFY_EID: u16 = 0x0002;
    /// Vehicle identification request with vehicle identification number.
    pub const IDENTIFY_VIN: u16 = 0x0003;
    /// Vehicle announcement, and the response to an identification request.
    pub const ANNOUNCE: u16 = 0x0004;
    /// Routing activation request.
    pub const ACTIVATE: u16 = 0x0005;
    /// Routing activation response.
    pub const ACTIVATED: u16 = 0x0006;
    /// Alive check request.
    pub const ALIVE: u16 = 0x0007;
    /// Alive check response.
    pub const IS_ALIVE: u16 = 0x0008;
    /// Entity status request.
    pub const STATUS: u16 = 0x4001;
    /// Entity status response.
    pub const STATUS_IS: u16 = 0x4002;
    /// Diagnostic power mode request.
    pub const POWER: u16 = 0x4003;
    /// Diagnostic power mode response.
    pub const POWER_IS: u16 = 0x4004;
    /// Diagnostic message.
    pub const DIAGNOSTIC: u16 = 0x8001;
    /// Positive acknowledgement of a diagnostic message.
    pub const ACK: u16 = 0x8002;
    /// Negative acknowledgement of a diagnostic message.
    pub const NACK: u16 = 0x8003;
}

/// A fault in a header; the number is the code of the generic negative acknowledgement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Fault {
    /// Version and inverse version do not match: the connection is closed.
    Pattern = 0x00,
    /// Unknown payload type, or not allowed on this transport: the frame is discarded.
    Type = 0x01,
    /// Longer than can be accepted: the frame is discarded.
    TooLarge = 0x02,
    /// The length does not fit the payload type: the connection is closed.
    Length = 0x04,
}

impl Fault {
    /// Whether nothing after it on the connection can be decoded.
    pub fn ends(self) -> bool {
        matches!(self, Fault::Pattern | Fault::Length)
    }
}

/// A frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// Protocol version.
    pub version: u8,
    /// Payload type.
    pub kind: u16,
    /// Payload.
    pub payload: Vec<u8>,
}

impl Frame {
    /// A frame.
    pub fn new(version: u8, kind: u16, payload: Vec<u8>) -> Self {
        Self { version, kind, payload }
    }
    /// The negative acknowledgement of a header fault.
    pub fn refuses(version: u8, fault: Fault) -> Self {
        Self::new(version, payload::HEADER_NACK, vec![fault as u8])
    }
    /// The frame as sent.
    pub fn bytes(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(HEADER + self.payload.len());
        out.extend([self.version, !self.version]);
        out.extend(self.kind.to_be_bytes());
        out.extend((self.payload.len() as u32).to_be_bytes());
        out.extend(&self.payload);
        out
    }
    /// Decodes a datagram, which must hold exactly one frame.
    pub fn of_datagram(bytes: &[u8]) -> Result<Self, Fault> {
        let Some((head, rest)) = bytes.split_first_chunk::<HEADER>() else { return Err(Fault::Length) };
        let (version, kind, length) = header(head)?;
        if length > LONGEST as u64 {
            return Err(Fault::TooLarge);
        }
        if length != rest.len() as u64 {
            return Err(Fault::Length);
        }
        Ok(Self::new(version, kind, rest.to_vec()))
    }
}

/// Version, payload type and length of a header.
fn header(h: &[u8; HEADER]) -> Result<(u8, u16, u64), Fault> {
    let version = h[0];
    let known = matches!(version, 0x01 | EDITION_2012 | EDITION_2019 | ANY_EDITION);
    if h[1] != !version || !known {
        return Err(Fault::Pattern);
    }
    let length = u32::from_be_bytes([h[4], h[5], h[6], h[7]]);
    Ok((version, u16::from_be_bytes([h[2], h[3]]), u64::from(length)))
}

/// Splits a stream into frames. It stores less than one frame; a frame that is too long is counted and dropped.
#[derive(Debug, Default)]
pub struct Framer {
    kept: Vec<u8>,
    skip: u64,
    broken: bool,
}

impl Framer {
    /// Takes bytes; passes on each complete frame, and each header fault with the version of its frame.
    pub fn push(&mut self, mut bytes: &[u8], out: &mut dyn FnMut(Result<Frame, (u8, Fault)>)) {
        while !bytes.is_empty() && !self.broken {
            if self.skip > 0 {
                let n = self.skip.min(bytes.len() as u64);
                self.skip -= n;
                bytes = &bytes[n as usize..];
                continue;
            }
            let wants = match self.kept.first_chunk::<HEADER>() {
                None => HEADER,
                Some(head) => match header(head) {
                    Ok((.., length)) => HEADER + length as usize,
                    Err(_) => HEADER,
                },
            };
            let n = (wants - self.kept.len()).min(bytes.len());
            self.kept.extend_from_slice(&bytes[..n]);
            bytes = &bytes[n..];
            self.cut(out);
        }
    }

    /// Passes on the complete frames.
    fn cut(&mut self, out: &mut dyn FnMut(Result<Frame, (u8, Fault)>)) {
        let Some(head) = self.kept.first_chunk::<HEADER>() else { return };
        match header(head) {
            Err(fault) => {
                // after it, no byte can be trusted to start a frame
                self.broken = true;
                let version = if head[1] == !head[0] { head[0] } else { EDITION_2012 };
                self.kept.clear();
                out(Err((version, fault)));
            }
            Ok((version, _, length)) if length > LONGEST as u64 => {
                self.skip = length;
                self.kept.clear();
                out(Err((version, Fault::TooLarge)));
            }
            Ok((version, kind, length)) if self.kept.len() == HEADER + length as usize => {
                let payload = self.kept.split_off(HEADER);
                self.kept.clear();
                out(Ok(Frame { version, kind, payload }));
            }
            Ok(_) => {}
        }
    }

    /// Number of bytes stored.
    pub fn holds(&self) -> usize {
        self.kept.len()
    }
}
