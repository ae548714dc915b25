//! Services 01 to 0A of SAE J1979 / ISO 15031-5, and the same data by the identifiers of SAE J1979-2.
//!
//! *Inside*: their requests and answers as carried over ISO 15765-4 and DoIP, from memory. *Outside*: parameters and
//! scalings ([`super::pids`]), trouble codes in the format of UDS ([`super::codes`]).

use super::car::Module;
use super::pids::{framed, frozen, mask, parameter, two_bytes};
use super::refusal::{Nrc, nrc};
use crate::link::{CodeDetail, DiagRequest, Scan};

/// Test identifier for misfire counts in this driving cycle (J1979-DA).
const COUNTS: u8 = 0x0C;
/// Unit and scaling identifier: plain counts (J1979-DA, 24).
const PLAIN: u8 = 0x24;
/// Monitor identifier for the catalyst of bank 1 (J1979-DA).
pub const CATALYST_1: u8 = 0x21;
/// Our own test identifier for the oxygen stored over that of a new catalyst; 80 and up are the maker's.
const STORED: u8 = 0x80;
/// Unit and scaling identifier: ratio of 1/256 (J1979-DA, 20).
const RATIO: u8 = 0x20;
/// Monitor identifiers for the EVAP system (J1979-DA, from memory): cap off, and 0.040 in (1.0 mm).
pub const CAP_OFF: u8 = 0x39;
/// The second of them.
pub const HOLE: u8 = 0x3B;
/// Our own test identifiers: vacuum drawn over the one wanted; area of the leak over that of the smallest fault.
const DRAWN: u8 = 0x81;
const LEAKS: u8 = 0x82;
/// Monitor identifier for recirculated exhaust gas, bank 1 (J1979-DA, from memory).
pub const EGR_1: u8 = 0x31;
/// Our own test identifier: rise of manifold pressure over that of a nominal engine.
const RISES: u8 = 0x83;
/// Monitor identifier for misfire in cylinder 1.
pub const CYLINDER_1: u8 = 0xA2;

/// The result of a request; nothing is sent if no module has the requested data.
pub type Answer = Result<Option<Vec<u8>>, Nrc>;

/// Answers a service of J1979; none if it is not one of them.
pub fn service(m: &mut dyn Module, s: &Scan, request: &[u8]) -> Option<Answer> {
    let (sid, rest) = request.split_first()?;
    Some(match sid {
        0x01 => current(m, s, rest),
        0x02 => freeze_frame(m, s, rest),
        0x03 => stored(m, s, rest, 0x43, |c| c.confirmed),
        0x07 => stored(m, s, rest, 0x47, |c| c.pending),
        0x0A => stored(m, s, rest, 0x4A, |c| c.permanent),
        0x04 => clear(m, rest),
        0x06 => tests(s, rest),
        0x09 => about(m, rest),
        _ => return None,
    })
}

fn current(m: &mut dyn Module, s: &Scan, pids: &[u8]) -> Answer {
    if pids.is_empty() || pids.len() > 6 {
        return Err(nrc::LENGTH);
    }
    if pids.contains(&0x01) || pids.contains(&0x41) {
        m.read(&DiagRequest::ReadReadiness);
    }
    if pids.iter().any(|p| !p.is_multiple_of(0x20)) {
        m.read(&DiagRequest::ReadLive);
    }
    gather(0x41, pids.iter().filter_map(|p| Some((vec![*p], parameter(s, *p)?))))
}

/// Identifiers with their data; refused if there are none.
fn gather(sid: u8, parts: impl Iterator<Item = (Vec<u8>, Vec<u8>)>) -> Answer {
    let mut out = vec![sid];
    for (id, data) in parts {
        out.extend(id);
        out.extend(data);
    }
    if out.len() == 1 { Err(nrc::SUBFUNCTION) } else { Ok(Some(out)) }
}

fn freeze_frame(m: &mut dyn Module, s: &Scan, rest: &[u8]) -> Answer {
    if rest.is_empty() || !rest.len().is_multiple_of(2) || rest.len() > 6 {
        return Err(nrc::LENGTH);
    }
    let kept = framed(s);
    if let Some((code, _)) = kept {
        m.read(&DiagRequest::ReadFreezeFrame(code.into()));
    }
    let one = |p: &[u8]| {
        let (pid, number) = (p[0], p[1]);
        let data = match (&kept, number) {
            (Some((code, frame)), 0) => frozen(s, code, frame, pid),
            // without a freeze frame, its trouble code is still reported as zero
            (None, 0) if pid == 0x02 => Some(vec![0, 0]),
            (None, 0) if pid == 0x00 => mask(&[0x02], 0).map(Vec::from),
            _ => None,
        };
        Some((vec![pid, number], data?))
    };
    gather(0x42, rest.chunks_exact(2).filter_map(one))
}

fn stored(m: &mut dyn Module, s: &Scan, rest: &[u8], sid: u8, has: fn(&CodeDetail) -> bool) -> Answer {
    if !rest.is_empty() {
        return Err(nrc::LENGTH);
    }
    m.read(&DiagRequest::ReadCodes);
    let all: Vec<[u8; 2]> = s.codes.iter().filter(|c| has(c)).map(|c| two_bytes(c.code)).collect();
    Ok(Some([vec![sid, all.len().min(255) as u8], all.concat()].concat()))
}

fn clear(m: &mut dyn Module, rest: &[u8]) -> Answer {
    if !rest.is_empty() {
        return Err(nrc::LENGTH);
    }
    super::refusal::done(m, &DiagRequest::ClearCodes)?;
    Ok(Some(vec![0x44]))
}

/// Identifiers of the monitors whose results are reported.
fn monitors(s: &Scan) -> Vec<u8> {
    let vapour = s.vapour_least_mm.iter().flat_map(|_| [CAP_OFF, HOLE]);
    (0..s.banks)
        .map(|b| CATALYST_1 + b)
        .chain(s.egr_least.iter().map(|_| EGR_1))
        .chain(vapour)
        .chain((0..s.cylinders).map(|c| CYLINDER_1 + c))
        .collect()
}

/// A monitor's results: identifier, test, unit, value, minimum and maximum; none if this car has no such monitor.
pub fn results(s: &Scan, mid: u8) -> Option<Vec<u8>> {
    if mid.is_multiple_of(0x20) {
        return mask(&monitors(s), mid).map(Vec::from);
    }
    if let Some(bank) = mid.checked_sub(CATALYST_1).filter(|b| *b < s.banks) {
        // before a test has ended, value and limits are zero
        let [value, least, most] = s.catalyst_pct[usize::from(bank)].map_or([0, 0, 0], |pct| {
            let ratio = |pct: f64| (2.56 * pct).round().clamp(0.0, 65_535.0) as u16;
            [ratio(pct), ratio(s.catalyst_least_pct), 0xFFFF]
        });
        let numbers = [value, least, most].map(u16::to_be_bytes).concat();
        return Some([&[STORED, RATIO], &numbers[..]].concat());
    }
    if let (CAP_OFF | HOLE, Some(least_mm)) = (mid, s.vapour_least_mm) {
        let ratio = |x: f64| (256.0 * x).round().clamp(0.0, 65_535.0) as u16;
        let (test, [value, least, most]) = match (mid, s.vapour) {
            (CAP_OFF, None) => (DRAWN, [0; 3]),
            (CAP_OFF, Some((_, drawn))) => (DRAWN, [ratio(drawn), ratio(1.0), 0xFFFF]),
            (_, None) => (LEAKS, [0; 3]),
            (_, Some((mm, _))) => (LEAKS, [ratio((mm / least_mm) * (mm / least_mm)), 0, ratio(1.0)]),
        };
        let numbers = [value, least, most].map(u16::to_be_bytes).concat();
        return Some([&[test, RATIO], &numbers[..]].concat());
    }
    if let (EGR_1, Some(least)) = (mid, s.egr_least) {
        let ratio = |x: f64| (256.0 * x).round().clamp(0.0, 65_535.0) as u16;
        let numbers = s.egr.map_or([0; 3], |flow| [ratio(flow), ratio(least), 0xFFFF]);
        return Some([&[RISES, RATIO], &numbers.map(u16::to_be_bytes).concat()[..]].concat());
    }
    let cylinder = usize::from(mid.checked_sub(CYLINDER_1)?);
    if cylinder >= usize::from(s.cylinders) {
        return None;
    }
    let counts = s.live.misfires[cylinder].min(0xFFFF) as u16;
    // the rule evaluates misfire rates, not counts: these have no limit
    Some([&[COUNTS, PLAIN], &counts.to_be_bytes()[..], &[0, 0, 0xFF, 0xFF]].concat())
}

fn tests(s: &Scan, mids: &[u8]) -> Answer {
    let masks = mids.iter().all(|m| m.is_multiple_of(0x20));
    // one monitor, or support masks only
    if mids.is_empty() || mids.len() > 6 || (mids.len() > 1 && !masks) {
        return Err(nrc::LENGTH);
    }
    gather(0x46, mids.iter().filter_map(|m| Some((vec![*m], results(s, *m)?))))
}

/// Vehicle information, by the identifiers of service 09, without the number of items.
pub fn vehicle(m: &dyn Module, id: u8) -> Option<Vec<u8>> {
    let i = m.identity();
    let padded = |text: &str, to: usize| {
        let mut all = text.as_bytes().to_vec();
        all.resize(to, 0);
        all
    };
    match id {
        0x00 => mask(&[0x02, 0x04, 0x06, 0x0A], 0).map(Vec::from),
        0x02 => Some(i.vin.as_bytes().to_vec()),
        0x04 => Some(padded(&i.calibration, 16)),
        0x06 => Some(i.check.to_vec()),
        0x0A => Some(padded(&i.name, 20)),
        _ => None,
    }
}

fn about(m: &dyn Module, ids: &[u8]) -> Answer {
    let masks = ids.iter().all(|i| i.is_multiple_of(0x20));
    if ids.is_empty() || ids.len() > 6 || (ids.len() > 1 && !masks) {
        return Err(nrc::LENGTH);
    }
    let one = |id: &u8| {
        let data = vehicle(m, *id)?;
        let head = if id.is_multiple_of(0x20) { vec![*id] } else { vec![*id, 1] };
        Some((head, data))
    };
    gather(0x49, ids.iter().filter_map(one))
}

/// The same data by the identifiers of J1979-2: F400 parameters, F600 monitors, F800 vehicle information.
pub fn by_identifier(m: &mut dyn Module, s: &Scan, did: u16) -> Option<Vec<u8>> {
    let low = did as u8;
    match did >> 8 {
        0xF4 => {
            let data = parameter(s, low)?;
            match low {
                0x01 | 0x41 => m.read(&DiagRequest::ReadReadiness),
                _ if !low.is_multiple_of(0x20) => m.read(&DiagRequest::ReadLive),
                _ => {}
            }
            Some(data)
        }
        0xF6 => results(s, low),
        0xF8 => vehicle(m, low),
        _ => None,
    }
}
