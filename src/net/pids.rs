//! Parameters of SAE J1979 / ISO 15031-5 that the module supports, with their published scalings.
//!
//! *Inside*: parameter identifiers (service 01, F4xx), support masks, readiness bits. *Outside*: services that carry them
//! ([`super::obd`], [`super::data`]).
//!
//! Scalings and bit positions are those of SAE J1979-DA, quoted from memory; `tests/class/net_data.rs` checks each
//! against the published formula, written there independently.

use crate::link::{FreezeFrame, Scan};

/// How a value is encoded in bytes.
#[derive(Debug, Clone, Copy)]
pub enum Coding {
    /// Value = step × number + zero, in this many bytes.
    Linear {
        /// Value of one count.
        step: f64,
        /// Value at count 0.
        zero: f64,
        /// Number of bytes.
        bytes: usize,
        /// The value.
        get: fn(&Scan) -> f64,
    },
    /// Bits, or several values.
    Bits {
        /// Number of bytes.
        bytes: usize,
        /// The bytes.
        get: fn(&Scan) -> Vec<u8>,
    },
}

/// A parameter.
#[derive(Debug, Clone, Copy)]
pub struct Pid {
    /// Identifier.
    pub pid: u8,
    /// Formula as published, with A to D for its bytes; empty if it needs words (messages `net-bits-…`).
    pub formula: &'static str,
    /// Unit; empty for bits.
    pub unit: &'static str,
    /// How it is coded.
    pub coding: Coding,
    /// Whether this car has it.
    pub here: fn(&Scan) -> bool,
}

fn always(_: &Scan) -> bool {
    true
}
fn two_banks(s: &Scan) -> bool {
    s.banks > 1
}

const fn linear(
    pid: u8,
    formula: &'static str,
    unit: &'static str,
    (step, zero, bytes): (f64, f64, usize),
    get: fn(&Scan) -> f64,
) -> Pid {
    Pid { pid, formula, unit, coding: Coding::Linear { step, zero, bytes, get }, here: always }
}
const fn bits(pid: u8, formula: &'static str, bytes: usize, get: fn(&Scan) -> Vec<u8>) -> Pid {
    Pid { pid, formula, unit: "", coding: Coding::Bits { bytes, get }, here: always }
}
const fn only(pid: Pid, here: fn(&Scan) -> bool) -> Pid {
    Pid { here, ..pid }
}

const PERCENT: f64 = 100.0 / 255.0;
const TRIM: f64 = 100.0 / 128.0;

/// Every parameter that the module of any car supports.
pub const PIDS: &[Pid] = &[
    bits(0x01, "", 4, |s| monitors(s, false).into()),
    bits(0x02, "", 2, |s| framed(s).map_or([0, 0], |c| two_bytes(c.0)).into()),
    bits(0x03, "", 2, |s| vec![s.fuel_system.byte(), 0]),
    linear(0x04, "100/255 × A", "%", (PERCENT, 0.0, 1), |s| s.load_pct),
    linear(0x05, "A − 40", "°C", (1.0, -40.0, 1), |s| s.live.coolant_c),
    linear(0x06, "100/128 × A − 100", "%", (TRIM, -100.0, 1), |s| s.live.short_pct),
    linear(0x07, "100/128 × A − 100", "%", (TRIM, -100.0, 1), |s| s.live.long_pct),
    only(linear(0x08, "100/128 × A − 100", "%", (TRIM, -100.0, 1), |s| s.live.short_bank2_pct), two_banks),
    only(linear(0x09, "100/128 × A − 100", "%", (TRIM, -100.0, 1), |s| s.live.long_bank2_pct), two_banks),
    linear(0x0B, "A", "kPa", (1.0, 0.0, 1), |s| s.live.map_kpa),
    linear(0x0C, "(256 × A + B) / 4", "rpm", (0.25, 0.0, 2), |s| s.live.engine_speed_rpm),
    linear(0x0D, "A", "km/h", (1.0, 0.0, 1), |s| s.live.road_km_h),
    linear(0x0E, "A / 2 − 64", "°", (0.5, -64.0, 1), |s| s.live.spark_deg),
    linear(0x0F, "A − 40", "°C", (1.0, -40.0, 1), |s| s.live.inlet_air_c),
    only(linear(0x10, "(256 × A + B) / 100", "g/s", (0.01, 0.0, 2), |s| s.live.air_g_s), |s| s.metered),
    linear(0x11, "100/255 × A", "%", (PERCENT, 0.0, 1), |s| s.throttle_pct),
    bits(0x13, "", 1, |s| vec![if s.banks > 1 { 0b0011_0011 } else { 0b0000_0011 }]),
    bits(0x15, "", 2, |s| vec![count(s.live.rear_oxygen_v, 0.005, 0.0, 1)[0], 0xFF]),
    only(bits(0x19, "", 2, |s| vec![count(s.live.rear_oxygen_bank2_v, 0.005, 0.0, 1)[0], 0xFF]), two_banks),
    bits(0x1C, "", 1, |_| vec![0x01]),
    linear(0x1F, "256 × A + B", "s", (1.0, 0.0, 2), |s| s.run_s),
    only(linear(0x23, "10 × (256 × A + B)", "kPa", (10.0, 0.0, 2), |s| s.live.rail_kpa), |s| s.rail),
    bits(0x24, "2/65536 × (256 × A + B); 8/65536 × (256 × C + D) V", 4, |s| wide(s, 0)),
    only(bits(0x28, "2/65536 × (256 × A + B); 8/65536 × (256 × C + D) V", 4, |s| wide(s, 1)), two_banks),
    only(linear(0x2C, "100/255 × A", "%", (PERCENT, 0.0, 1), commanded_pct), |s| s.egr_least.is_some()),
    only(linear(0x2D, "100/128 × A − 100", "%", (TRIM, -100.0, 1), egr_error_pct), |s| {
        s.egr_least.is_some()
    }),
    linear(0x2E, "100/255 × A", "%", (PERCENT, 0.0, 1), |s| s.live.purge_pct),
    linear(0x2F, "100/255 × A", "%", (PERCENT, 0.0, 1), |s| s.live.fuel_level_pct),
    linear(0x33, "A", "kPa", (1.0, 0.0, 1), |s| s.ambient_kpa),
    bits(0x41, "", 4, |s| monitors(s, true).into()),
    linear(0x42, "(256 × A + B) / 1000", "V", (0.001, 0.0, 2), |s| s.live.supply_v),
    linear(0x44, "2/65536 × (256 × A + B)", "", (2.0 / 65_536.0, 0.0, 2), |s| s.lambda_asked),
    linear(0x49, "100/255 × A", "%", (PERCENT, 0.0, 1), |s| s.live.pedal_pct),
    bits(0x51, "", 1, |_| vec![0x01]),
    only(linear(0x52, "100/255 × A", "%", (PERCENT, 0.0, 1), |s| s.live.alcohol_pct), |s| s.blends),
];

/// Lift wanted of the exhaust-gas-recirculation valve over the largest that is ever wanted \[%\].
fn commanded_pct(s: &Scan) -> f64 {
    100.0 * s.live.egr_wanted_mm / s.egr_most_mm.max(0.1)
}
/// Its actual lift less the wanted, over the wanted \[%\]; where none is wanted, all that is there counts as the most the byte
/// carries.
fn egr_error_pct(s: &Scan) -> f64 {
    let (wanted, is) = (s.live.egr_wanted_mm, s.live.egr_lift_mm);
    match wanted > 0.0 {
        true => 100.0 * (is / wanted - 1.0),
        // what the sensor's noise makes is none
        false if is < 0.05 => 0.0,
        false => 99.2,
    }
}

/// A code's number in the two bytes of SAE J2012: the letter in the top two bits.
pub fn two_bytes(code: &str) -> [u8; 2] {
    let mut all = code.chars();
    let system = match all.next() {
        Some('C') => 1,
        Some('B') => 2,
        Some('U') => 3,
        _ => 0,
    };
    let rest = all.as_str();
    let number = u16::from_str_radix(rest, 16).unwrap_or(0) & 0x3FFF;
    ((system << 14) | number).to_be_bytes()
}

/// A value as a count, rounded to the nearest and limited to the range.
pub fn count(value: f64, step: f64, zero: f64, bytes: usize) -> Vec<u8> {
    let most = f64::from(2u32.pow(8 * bytes as u32) - 1);
    let n = ((value - zero) / step).round().clamp(0.0, most) as u32;
    n.to_be_bytes()[4 - bytes..].to_vec()
}

fn wide(s: &Scan, bank: usize) -> Vec<u8> {
    let lambda = [s.live.lambda, s.live.lambda_bank2][bank];
    [count(lambda, 2.0 / 65_536.0, 0.0, 2), count(s.oxygen_v[bank], 8.0 / 65_536.0, 0.0, 2)].concat()
}

impl Pid {
    /// Its present bytes.
    pub fn bytes(&self, s: &Scan) -> Vec<u8> {
        match self.coding {
            Coding::Linear { step, zero, bytes, get } => count(get(s), step, zero, bytes),
            Coding::Bits { get, .. } => get(s),
        }
    }
    /// Number of bytes.
    pub fn length(&self) -> usize {
        match self.coding {
            Coding::Linear { bytes, .. } | Coding::Bits { bytes, .. } => bytes,
        }
    }
}

/// The bytes of a parameter or support mask; none if this car does not have it.
pub fn parameter(s: &Scan, pid: u8) -> Option<Vec<u8>> {
    if pid.is_multiple_of(0x20) {
        let all: Vec<u8> = PIDS.iter().filter(|p| (p.here)(s)).map(|p| p.pid).collect();
        return mask(&all, pid).map(Vec::from);
    }
    PIDS.iter().find(|p| p.pid == pid && (p.here)(s)).map(|p| p.bytes(s))
}

/// Which of the 32 identifiers after `from` are supported; the last bit says that a further mask follows. None if
/// neither these nor later ones are supported; the first mask always exists.
pub fn mask(all: &[u8], from: u8) -> Option<[u8; 4]> {
    let first = u32::from(from);
    let mut bits = 0u32;
    let mut beyond = false;
    for id in all {
        let id = u32::from(*id);
        if id > first && id < first + 32 {
            bits |= 1 << (32 - (id - first));
        }
        beyond |= id >= first + 32;
    }
    if beyond {
        bits |= 1;
    }
    (from == 0 || bits != 0).then_some(bits.to_be_bytes())
}

/// Readiness as in PID 01 and 41. Byte B: bits 0 misfire, 1 fuel system, 2 components; the same three, four bits
/// higher, for not complete; bit 3 clear for spark ignition. C, D: bit 0 catalyst, 2 EVAP system, 5 oxygen sensor, 6 its heater,
/// 7 recirculated exhaust gas.
fn monitors(s: &Scan, this_trip: bool) -> [u8; 4] {
    let mut out = [0; 4];
    if !this_trip {
        let stored = s.codes.iter().filter(|c| c.confirmed).count().min(127) as u8;
        out[0] = stored | (u8::from(s.lamp) << 7);
    }
    for m in &s.monitors {
        let open = u8::from(!if this_trip { m.this_trip } else { m.complete });
        match m.name {
            "misfire" => out[1] |= 0x01 | (open << 4),
            "fuel_system" => out[1] |= 0x02 | (open << 5),
            "components" => out[1] |= 0x04 | (open << 6),
            "catalyst" => (out[2], out[3]) = (out[2] | 0x01, out[3] | open),
            "evaporative_system" => (out[2], out[3]) = (out[2] | 0x04, out[3] | (open << 2)),
            "egr_system" => (out[2], out[3]) = (out[2] | 0x80, out[3] | (open << 7)),
            "oxygen_sensor" => (out[2], out[3]) = (out[2] | 0x20, out[3] | (open << 5)),
            "oxygen_sensor_heater" => (out[2], out[3]) = (out[2] | 0x40, out[3] | (open << 6)),
            _ => {}
        }
    }
    out
}

/// The code whose freeze frame is the one that the law requires: misfire and fuel system take priority over all
/// others, then the earliest.
pub fn framed(s: &Scan) -> Option<(&'static str, FreezeFrame)> {
    let first = |c: &&crate::link::CodeDetail| u8::from(!matches!(c.monitor, "misfire" | "fuel_system"));
    s.codes
        .iter()
        .filter(|c| c.frame.is_some())
        .min_by(|a, b| first(a).cmp(&first(b)).then(a.matured_s.total_cmp(&b.matured_s)))
        .and_then(|c| c.frame.map(|f| (c.code, f)))
}

/// Parameters of a freeze frame in addition to the code itself.
pub const FRAMED: [u8; 10] = [0x03, 0x04, 0x05, 0x06, 0x07, 0x0B, 0x0C, 0x0D, 0x10, 0x02];

/// The bytes of a freeze frame's parameter, in the same scalings; none if the frame does not hold it.
pub fn frozen(s: &Scan, code: &str, frame: &FreezeFrame, pid: u8) -> Option<Vec<u8>> {
    let of = |value: f64| {
        PIDS.iter().find(|p| p.pid == pid).and_then(|p| match p.coding {
            Coding::Linear { step, zero, bytes, .. } => Some(count(value, step, zero, bytes)),
            Coding::Bits { .. } => None,
        })
    };
    match pid {
        0x00 => {
            let all: Vec<u8> = FRAMED.into_iter().filter(|p| *p != 0x10 || s.metered).collect();
            mask(&all, 0).map(Vec::from)
        }
        0x02 => Some(two_bytes(code).into()),
        0x03 => Some(vec![frame.fuel_system.byte(), 0]),
        0x04 => of(frame.load_pct),
        0x05 => of(frame.coolant_c),
        0x06 => of(frame.short_pct),
        0x07 => of(frame.long_pct),
        0x0B => of(frame.map_kpa),
        0x0C => of(frame.engine_speed_rpm),
        0x0D => of(frame.road_km_h),
        0x10 if s.metered => of(frame.air_g_s),
        _ => None,
    }
}
