//! Trouble codes by UDS: clear (service 14) and read (service 19).
//!
//! *Inside*: code numbers and status bytes on the wire, snapshot and extended data. *Outside*: the life cycle of a
//! code (`ecm/codes.rs`), the same codes in the format of J1979 ([`super::obd`]).
//!
//! ISO 14229-1:2020, 12.2 and 12.3, from memory. A code is its two bytes by SAE J2012 and a failure type byte of 00.

use super::car::Module;
use super::pids::{FRAMED, frozen, two_bytes};
use super::refusal::{Nrc, done, nrc};
use crate::link::{CodeDetail, DiagRequest, Scan};

/// Status availability mask: the module supports all bits.
const AVAILABLE: u8 = 0xFF;
/// DTC format identifier: SAE J2012-DA, with a failure type byte.
const FORMAT: u8 = 0x00;
/// Record number of the one snapshot stored for a code.
pub const SNAPSHOT: u8 = 0x01;
/// Extended data: warm-ups since the lamp went out; good trips in a row.
pub const EXTENDED: [u8; 2] = [0x01, 0x02];

/// A code's number with a failure type byte that adds no information.
fn three_bytes(code: &str) -> [u8; 3] {
    let [a, b] = two_bytes(code);
    [a, b, 0]
}

/// Service 14: clears all codes, by the group of all codes or that of the emissions system.
pub fn clear(m: &mut dyn Module, request: &[u8]) -> Result<Vec<u8>, Nrc> {
    let [_, a, b, c] = *request else { return Err(nrc::LENGTH) };
    if !matches!([a, b, c], [0xFF, 0xFF, 0xFF | 0x33]) {
        // the module cannot clear a single code
        return Err(nrc::RANGE);
    }
    done(m, &DiagRequest::ClearCodes)?;
    Ok(vec![0x54])
}

/// Sub-functions of service 19 that are supported.
pub const REPORTS: [u8; 8] = [0x01, 0x02, 0x03, 0x04, 0x06, 0x0A, 0x15, 0x55];

/// Service 19; the sub-function was checked to be one of [`REPORTS`].
pub fn read(m: &mut dyn Module, s: &Scan, report: u8, request: &[u8]) -> Result<Vec<u8>, Nrc> {
    let rest = &request[2..];
    let head = |more: &[u8]| [&[0x59, report], more].concat();
    let matching = |mask: u8| s.codes.iter().filter(move |c| c.status() & mask & AVAILABLE != 0);
    let listed = |c: &CodeDetail| [&three_bytes(c.code)[..], &[c.status()]].concat();
    let answer = match (report, rest) {
        (0x01, [mask]) => {
            let count = matching(*mask).count() as u16;
            head(&[&[AVAILABLE, FORMAT], &count.to_be_bytes()[..]].concat())
        }
        (0x02, [mask]) => [head(&[AVAILABLE]), matching(*mask).flat_map(listed).collect()].concat(),
        (0x03, []) => {
            let kept = s.codes.iter().filter(|c| c.frame.is_some());
            [head(&[]), kept.flat_map(|c| [&three_bytes(c.code)[..], &[SNAPSHOT]].concat()).collect()]
                .concat()
        }
        (0x0A, []) => [head(&[AVAILABLE]), s.codes.iter().flat_map(listed).collect()].concat(),
        (0x15, []) => {
            let permanent = s.codes.iter().filter(|c| c.permanent);
            [head(&[AVAILABLE]), permanent.flat_map(listed).collect()].concat()
        }
        // the same by the report that the law requires: emissions system group (33)
        (0x55, [0x33]) => {
            let permanent = s.codes.iter().filter(|c| c.permanent);
            [head(&[0x33, AVAILABLE, 0x04]), permanent.flat_map(listed).collect()].concat()
        }
        (0x55, [_]) => return Err(nrc::RANGE),
        (0x04, [a, b, c, number]) => {
            let code = coded(s, [*a, *b, *c]).ok_or(nrc::RANGE)?;
            if !matches!(*number, SNAPSHOT | 0xFF) {
                return Err(nrc::RANGE);
            }
            m.read(&DiagRequest::ReadFreezeFrame(code.code.into()));
            return Ok(snapshot(s, code, report));
        }
        (0x06, [a, b, c, number]) => {
            let code = coded(s, [*a, *b, *c]).ok_or(nrc::RANGE)?;
            let records = EXTENDED.into_iter().zip([code.warm_ups, code.good_trips]);
            let wanted: Vec<u8> = records
                .filter(|(k, _)| *number == 0xFF || k == number)
                .flat_map(|(k, value)| [k, value])
                .collect();
            if wanted.is_empty() {
                return Err(nrc::RANGE);
            }
            [head(&three_bytes(code.code)), vec![code.status()], wanted].concat()
        }
        _ => return Err(nrc::LENGTH),
    };
    // the list of supported codes is not a reading of stored ones
    if report != 0x0A {
        m.read(&DiagRequest::ReadCodes);
    }
    Ok(answer)
}

/// The code with this number, if this car's module can set it.
fn coded(s: &Scan, number: [u8; 3]) -> Option<&CodeDetail> {
    s.codes.iter().find(|c| three_bytes(c.code) == number)
}

/// The snapshot of a code: its parameters by identifiers F4xx, in the published scalings.
fn snapshot(s: &Scan, code: &CodeDetail, report: u8) -> Vec<u8> {
    let mut out = [&[0x59, report], &three_bytes(code.code)[..], &[code.status()]].concat();
    let Some(frame) = &code.frame else { return out };
    let parts: Vec<(u8, Vec<u8>)> =
        FRAMED.into_iter().filter_map(|pid| Some((pid, frozen(s, code.code, frame, pid)?))).collect();
    out.extend([SNAPSHOT, parts.len() as u8]);
    for (pid, data) in parts {
        out.extend([0xF4, pid]);
        out.extend(data);
    }
    out
}
