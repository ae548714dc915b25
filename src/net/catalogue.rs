//! The numbers that the module answers to: its own identifiers and routines, and the table of all of them for those
//! who write a tester program.
//!
//! *Inside*: the value, routine or control in the project's catalogue for each number; the table as Markdown and as
//! data. *Outside*: the values themselves ([`crate::link`]), published parameters ([`super::pids`]), services
//! ([`super::data`], [`super::routines`]).
//!
//! The module's own numbers are invented. They are in the ranges that ISO 14229-1 leaves to the vehicle manufacturer:
//! identifiers in 0100 to A5FF, routines in 0200 to DFFF (annexes C.1 and F.1, from memory).

use super::pids::{Coding, PIDS};
use crate::link::{Group, LIVE, Routine};
use crate::words::{name, say};
use serde_json::{Value, json};

/// First identifier of the live values, which follow in the order in which they are declared.
pub const LIVE_FROM: u16 = 0x2100;
/// Injector correction code; add the cylinder number.
pub const INJECTOR_CODE: u16 = 0x2300;
/// The battery configured in the module.
pub const BATTERY: u16 = 0x2400;
/// Misfires counted in this trip; add the cylinder number.
pub const MISFIRES: u16 = 0x2500;
/// Injector under control of the tester; add the cylinder number.
pub const INJECTOR: u16 = 0x2600;
/// The learned wheel table.
pub const WHEEL: u16 = 0x2700;

/// Learned values by the prefix of their names, each with the identifier of the first one.
pub const LEARNED: &[(&str, u16)] = &[
    ("idle_air_light", 0x2201),
    ("idle_air_loaded", 0x2202),
    ("closed_stop", 0x2203),
    ("ambient", 0x2204),
    ("wheel_table", 0x2205),
    ("battery_age", 0x2206),
    ("battery_charge", 0x2207),
    ("alcohol", 0x2208),
    ("vapour_leak", 0x2209),
    ("cam_rest", 0x220A),
    ("egr_stop", 0x220B),
    ("long_idle_bank", 0x2210),
    ("long_part_bank", 0x2220),
    ("long_high_bank", 0x2230),
    ("injector_flow_", 0x2240),
    ("injector_dead_", 0x2250),
    ("cylinder_trim_", 0x2260),
    ("short_pulse_", 0x2270),
    ("catalyst_bank", 0x2280),
    ("rear_trim_bank", 0x2290),
];

/// Identifier of the first group's reset; the others follow in the order of [`Group::ALL`].
const RESETS_FROM: u16 = 0x0301;
/// Other routines and their identifiers; a routine without one cannot be started over a network.
const ROUTINES: &[(u16, Routine)] = &[
    (0x0311, Routine::LearnIdle),
    (0x0312, Routine::LearnClosedStop),
    (0x0313, Routine::LearnShortPulse),
    (0x0314, Routine::LearnWheel),
    (0x0315, Routine::TestVapour),
    (0x0316, Routine::LearnCamRest),
    (0x0317, Routine::LearnEgrStop),
    (0x0321, Routine::CommandIdle(0)),
];

/// Every routine that can be started over a network, with its identifier.
pub fn routines() -> impl Iterator<Item = (u16, Routine)> {
    let resets = (RESETS_FROM..).zip(Group::ALL.iter().map(|g| Routine::ResetGroup(*g)));
    resets.chain(ROUTINES.iter().copied())
}

/// The identifier of a learned value, by name.
pub fn learned_id(name: &str) -> Option<u16> {
    LEARNED.iter().find_map(|(start, id)| match name.strip_prefix(start)? {
        "" => Some(*id),
        number => number.parse::<u16>().ok().filter(|n| (1..=8).contains(n)).map(|n| id + n),
    })
}

/// The identifier of a live value, by its position in the list.
pub fn live_id(place: usize) -> u16 {
    LIVE_FROM + place as u16
}

/// A value in thousandths, as the module's own identifiers carry it.
pub fn thousandths(value: f64) -> [u8; 4] {
    let n = (1000.0 * value).round().clamp(f64::from(i32::MIN), f64::from(i32::MAX));
    (n as i32).to_be_bytes()
}

/// The routine with this number.
pub fn routine(id: u16) -> Option<Routine> {
    routines().find(|r| r.0 == id).map(|r| r.1)
}

/// A line of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Section of the table.
    pub part: &'static str,
    /// Number, or first and last number.
    pub id: String,
    /// Name in the project's catalogue; empty if only the network has it.
    pub name: String,
    /// Description in words.
    pub says: String,
    /// Its bytes.
    pub bytes: String,
    /// How the bytes are decoded.
    pub coding: String,
    /// Unit.
    pub unit: String,
    /// The permitted operations: the suffix of a message `net-may-…`.
    pub may: &'static str,
}

/// Every line of the table.
pub fn rows() -> Vec<Row> {
    let mut all = Vec::new();
    for p in PIDS {
        let coding = match p.coding {
            Coding::Linear { bytes, .. } | Coding::Bits { bytes, .. } => bytes,
        };
        let own = LIVE.iter().find(|l| l.pid == Some(p.pid)).map_or("", |l| l.id);
        all.push(Row {
            part: "pid",
            id: format!("{:02X}, F4{:02X}", p.pid, p.pid),
            name: own.into(),
            says: name("net-pid", &format!("{:02x}", p.pid)),
            bytes: coding.to_string(),
            coding: if p.formula.is_empty() {
                name("net-bits", &format!("{:02x}", p.pid))
            } else {
                p.formula.into()
            },
            unit: p.unit.into(),
            may: "read",
        });
    }
    let plain =
        |part, id: String, called: &str, says: String, (bytes, coding): (&str, &str), unit: &str, may| Row {
            part,
            id,
            name: called.into(),
            says,
            bytes: bytes.into(),
            coding: coding.into(),
            unit: unit.into(),
            may,
        };
    for (k, l) in LIVE.iter().enumerate() {
        let id = format!("{:04X}", live_id(k));
        all.push(plain(
            "live",
            id,
            l.id,
            name("signal", l.id),
            ("4", &say("net-coding-thousandths")),
            l.unit,
            "read",
        ));
    }
    for (start, id) in LEARNED {
        let several = start.ends_with('_') || start.ends_with("bank");
        let id = if several { format!("{:04X} + n", id) } else { format!("{id:04X}") };
        // a group of several has the name of the first
        let says = if several {
            name("learned", &format!("{start}1")).replacen('1', "n", 1)
        } else {
            name("learned", start)
        };
        let called = if several { format!("{start}n") } else { (*start).to_owned() };
        all.push(plain("learned", id, &called, says, ("18", &say("net-coding-learned")), "", "read"));
    }
    let own = [
        (INJECTOR_CODE, "injector_code", "1 + n", "net-coding-text", "read-write"),
        (BATTERY, "battery_record", "9", "net-coding-battery", "read-write"),
        (MISFIRES, "misfires", "4", "net-coding-count", "read"),
        (INJECTOR, "cut_out", "1", "net-coding-injector", "read-control"),
        (WHEEL, "wheel_table", "2 × 58", "net-coding-wheel", "read"),
    ];
    for (id, called, bytes, coding, may) in own {
        let several = !matches!(id, BATTERY | WHEEL);
        let number = if several { format!("{id:04X} + n") } else { format!("{id:04X}") };
        let says = name("net-own", called);
        let bytes = if id == INJECTOR_CODE { "n" } else { bytes };
        all.push(plain("own", number, called, says, (bytes, &say(coding)), "", may));
    }
    for id in [0xF186u16, 0xF18C, 0xF190, 0xF195, 0xF197, 0xF802, 0xF804, 0xF806, 0xF80A] {
        let says = name("net-did", &format!("{id:04x}"));
        all.push(plain(
            "identity",
            format!("{id:04X}"),
            "",
            says,
            ("", &say("net-coding-as-published")),
            "",
            "read",
        ));
    }
    for (id, r) in routines() {
        let says = name("service", r.name());
        let (bytes, coding) = if matches!(r, Routine::CommandIdle(_)) {
            ("2", say("net-coding-rpm"))
        } else {
            ("0", String::new())
        };
        let may = if immediate(r) { "start" } else { "start-stop" };
        all.push(plain("routine", format!("{id:04X}"), r.name(), says, (bytes, &coding), "", may));
    }
    all
}

/// Whether a routine completes at its start.
pub fn immediate(r: Routine) -> bool {
    matches!(r, Routine::ResetGroup(_) | Routine::CommandIdle(_))
}

/// The sections of the table in order.
const PARTS: [&str; 6] = ["pid", "live", "learned", "own", "identity", "routine"];

/// The table as Markdown.
pub fn markdown() -> String {
    let all = rows();
    let mut out = String::new();
    for part in PARTS {
        let head = say("net-table-head");
        let wide = head.matches('|').count().saturating_sub(1);
        out += &format!("### {}\n\n{head}\n|{}\n", name("net-part", part), " --- |".repeat(wide));
        for r in all.iter().filter(|r| r.part == part) {
            let called = if r.name.is_empty() { String::new() } else { format!("`{}`", r.name) };
            let unit = if r.unit.is_empty() { String::new() } else { format!(" {}", r.unit) };
            out += &format!(
                "| `{}` | {} | {} | {} | {}{} | {} |\n",
                r.id,
                r.says,
                called,
                r.bytes,
                r.coding,
                unit,
                name("net-may", r.may)
            );
        }
        out += "\n";
    }
    out
}

/// The table as data.
pub fn json() -> Value {
    let one = |r: Row| {
        json!({
            "part": r.part, "id": r.id, "name": r.name, "says": r.says, "bytes": r.bytes, "coding": r.coding,
            "unit": r.unit, "may": name("net-may", r.may),
        })
    };
    json!({ "identifiers": rows().into_iter().map(one).collect::<Vec<_>>() })
}
