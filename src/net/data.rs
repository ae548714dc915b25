//! Data by identifier: read (service 22) and write (service 2E).
//!
//! *Inside*: the module's own identifiers on the wire, and where the standard ones come from. *Outside*: numbers
//! ([`super::catalogue`]), published parameters ([`super::obd`]), who may write ([`super::uds`]).

use super::car::Module;
use super::catalogue::{
    BATTERY, INJECTOR, INJECTOR_CODE, LIVE_FROM, MISFIRES, WHEEL, learned_id, thousandths,
};
use super::obd;
use super::refusal::{Nrc, done, nrc};
use super::routines::cut;
use crate::label::BatteryKind;
use crate::link::{DiagRequest, DiagResponse, LIVE, LearnedStatus, Needs, Scan, Writer};

/// Maximum number of identifiers in one request.
const MOST: usize = 16;
/// Maximum length of an answer \[bytes\].
const LONGEST: usize = 4095;

/// Service 22. Identifiers that this car does not have are skipped, unless there is no other.
pub fn read(m: &mut dyn Module, s: &Scan, session: u8, request: &[u8]) -> Result<Vec<u8>, Nrc> {
    let ids = &request[1..];
    if ids.is_empty() || !ids.len().is_multiple_of(2) || ids.len() > 2 * MOST {
        return Err(nrc::LENGTH);
    }
    let mut out = vec![0x62];
    for id in ids.chunks_exact(2) {
        let did = u16::from_be_bytes([id[0], id[1]]);
        if let Some(data) = value(m, s, session, did) {
            out.extend(id);
            out.extend(data);
        }
    }
    match out.len() {
        1 => Err(nrc::RANGE),
        n if n > LONGEST => Err(nrc::TOO_LONG),
        _ => Ok(out),
    }
}

/// The cylinder that an identifier after `from` refers to, if the engine has it.
fn cylinder(s: &Scan, did: u16, from: u16) -> Option<u8> {
    let k = did.checked_sub(from)?;
    (1..=u16::from(s.cylinders)).contains(&k).then_some(k as u8)
}

/// Whether this car has the quantity that a live value measures.
fn has(s: &Scan, needs: Needs) -> bool {
    match needs {
        Needs::Rail => s.rail,
        Needs::Blends => s.blends,
        Needs::Phaser => s.phased,
        Needs::Egr => s.egr_least.is_some(),
        Needs::Bank2 => s.banks > 1,
        // nobody can tell a car without the sensor, or one whose test has not run, from a 0
        Needs::Nothing | Needs::SensorOrTest => true,
    }
}

fn value(m: &mut dyn Module, s: &Scan, session: u8, did: u16) -> Option<Vec<u8>> {
    let live = did.checked_sub(LIVE_FROM).and_then(|k| LIVE.get(usize::from(k)));
    if let Some(live) = live.filter(|l| has(s, l.needs)) {
        m.read(&DiagRequest::ReadLive);
        return Some(thousandths((live.get)(&s.live)).into());
    }
    if let Some(k) = cylinder(s, did, MISFIRES) {
        m.read(&DiagRequest::ReadLive);
        return Some(s.live.misfires[usize::from(k) - 1].to_be_bytes().into());
    }
    if let Some(k) = cylinder(s, did, INJECTOR) {
        return Some(vec![u8::from(cut(s) != Some(k))]);
    }
    if let Some(k) = cylinder(s, did, INJECTOR_CODE) {
        return injector_code(m, s, k);
    }
    match did {
        0x2200..=0x22FF => {
            m.read(&DiagRequest::ReadLearned);
            let (all, _) = m.learned()?;
            return all.iter().find(|l| learned_id(&l.name) == Some(did)).map(learned);
        }
        WHEEL => {
            m.read(&DiagRequest::ReadLearned);
            let (_, edges) = m.learned()?;
            let signed = |deg: &f64| ((1000.0 * deg).round().clamp(-32_768.0, 32_767.0) as i16).to_be_bytes();
            return (!edges.is_empty()).then(|| edges.iter().flat_map(signed).collect());
        }
        BATTERY => return battery(m),
        _ => {}
    }
    let i = m.identity();
    match did {
        0xF186 => Some(vec![session]),
        0xF18C => Some(format!("{:0>10}", &i.vin[11..]).into_bytes()),
        0xF190 => Some(i.vin.as_bytes().into()),
        0xF195 => Some(env!("CARGO_PKG_VERSION").as_bytes().into()),
        0xF197 => Some(i.name.as_bytes().into()),
        _ => obd::by_identifier(m, s, did),
    }
}

/// Value, default, lower and upper limit in thousandths; whether it was ever learned; what wrote it last.
fn learned(l: &LearnedStatus) -> Vec<u8> {
    let mut out: Vec<u8> = [l.value, l.default, l.low, l.high].into_iter().flat_map(thousandths).collect();
    out.extend([u8::from(l.learned), writer(l.written_by)]);
    out
}

/// The code number for what wrote a value.
pub fn writer(by: Writer) -> u8 {
    match by {
        Writer::Delivered => 0,
        Writer::Factory => 1,
        Writer::Ordinary => 2,
        Writer::Sequence => 3,
        Writer::Routine => 4,
        Writer::CoastDowns => 5,
        Writer::Refinement => 6,
        Writer::Reset => 7,
        Writer::PowerCut => 8,
        Writer::CodeClear => 9,
        Writer::Entered => 10,
    }
}

/// The stored correction code of an injector as text; one byte 00 if none was written. Only cars whose module uses
/// such codes have it.
fn injector_code(m: &mut dyn Module, s: &Scan, k: u8) -> Option<Vec<u8>> {
    if !s.rail {
        return None;
    }
    match m.ask_quietly(&DiagRequest::ReadInjectorCode(k))? {
        DiagResponse::InjectorCode(code) => Some(code.map_or(vec![0], String::into_bytes)),
        _ => None,
    }
}

/// Battery type, rated capacity, charge throughput, and the charge throughput at which it counts as worn out, all in
/// tenths of an ampere hour.
fn battery(m: &mut dyn Module) -> Option<Vec<u8>> {
    match m.ask_quietly(&DiagRequest::ReadBatteryRecord)? {
        DiagResponse::BatteryRecord(r) => {
            let kind = BatteryKind::ALL.iter().position(|k| k.1 == r.kind).unwrap_or(0) as u8;
            let tenths = |ah: f64| (10.0 * ah).round().clamp(0.0, 16_777_215.0) as u32;
            let [_, _, a, b] = tenths(r.rated_ah).min(0xFFFF).to_be_bytes();
            let three = |ah: f64| tenths(ah).to_be_bytes()[1..].to_vec();
            Some([vec![kind, a, b], three(r.passed_ah), three(r.worn_out_ah)].concat())
        }
        _ => None,
    }
}

/// The length of a writable identifier; none for any other.
pub fn writable(s: &Scan, did: u16) -> Option<std::ops::RangeInclusive<usize>> {
    match did {
        BATTERY => Some(3..=3),
        _ if s.rail && cylinder(s, did, INJECTOR_CODE).is_some() => Some(1..=16),
        _ => None,
    }
}

/// Service 2E; identifier and length were checked.
pub fn write(m: &mut dyn Module, s: &Scan, did: u16, data: &[u8]) -> Result<Vec<u8>, Nrc> {
    let request = match (did, data) {
        (BATTERY, [kind, a, b]) => {
            let kind = BatteryKind::ALL.get(usize::from(*kind)).ok_or(nrc::RANGE)?.1;
            let rated_ah = f64::from(u16::from_be_bytes([*a, *b])) / 10.0;
            // a value that nobody could enter by hand
            if !crate::units::RATED_AH.holds(rated_ah) {
                return Err(nrc::RANGE);
            }
            DiagRequest::EnterBatteryRecord { kind, rated_ah }
        }
        _ => {
            let cylinder = cylinder(s, did, INJECTOR_CODE).ok_or(nrc::RANGE)?;
            let plain = data.iter().all(|b| b.is_ascii_graphic());
            let code = String::from_utf8(data.to_vec()).ok().filter(|_| plain).ok_or(nrc::RANGE)?;
            DiagRequest::WriteInjectorCode { cylinder, code }
        }
    };
    done(m, &request)?;
    Ok([&[0x6E], &did.to_be_bytes()[..]].concat())
}
