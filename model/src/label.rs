//! The correction code printed on an injector's body: its alphabet, its layout, its check characters.
//!
//! *Inside*: nine characters and their meaning. *Outside*: an injector's true properties (plant), what the module
//! does with the code entered (ecm). Both sides may use this module, because a printed label carries the data from
//! one to the other, as a copper wire would.
//!
//! **Layout**: class, two characters of flow, two of dead time, four of check; printed in threes with hyphens between,
//! as `D9D-HDH-8R4`. The alphabet leaves out characters that are easily misread on a dirty body: 0 O Q, 1 I L, B, C
//! G, S, U V, Z. Its length is a prime number.
//!
//! **Check**: with characters numbered from 0, the nine numbers lie on one curve of the fourth degree over their places,
//! modulo 23. The first five fix the curve, the other four must lie on it. Two such curves that differ meet in four places
//! at most, so a code with up to four wrong characters, two swapped ones among them, never passes (Reed and Solomon 1960).
//!
//! **Valid** for flow within ±13 %, dead time within ±130 µs.
//!
//! **Checked by** `exact_every_slip…`, `exact_codes…` in `tests/module/injectors.rs`.

use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// Characters of a code, in the order of their numbers.
pub const ALPHABET: &str = "23456789ADEFHJKMNPRTWXY";
/// Characters of a code, hyphens not counted.
pub const LENGTH: usize = 9;
/// Data characters; the others check them.
const SAID: usize = 5;
/// Characters between two hyphens.
const GROUP: usize = 3;
/// Characters in the alphabet: a prime.
const BASE: i64 = 23;
/// One step of flow \[%\].
pub const FLOW_STEP_PCT: f64 = 0.05;
/// One step of dead time \[µs\].
pub const DEAD_STEP_US: f64 = 0.5;
/// Steps in either direction that two characters can encode.
const MOST_STEPS: i64 = (BASE * BASE - 1) / 2;

/// What a code says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Label {
    /// Kind of injector.
    pub class: char,
    /// Static flow over nominal \[%\].
    pub flow_pct: f64,
    /// Dead time over nominal \[µs\].
    pub dead_us: f64,
}

/// Why a code cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unreadable {
    /// The number of characters differs from [`LENGTH`].
    Length(usize),
    /// A character that is not in the alphabet.
    Character(char),
    /// The check characters do not fit the rest.
    Check,
}

fn number(c: char) -> Option<i64> {
    ALPHABET.find(c).map(|i| i as i64)
}

fn character(n: i64) -> char {
    ALPHABET.as_bytes()[n as usize] as char
}

/// The number at a place, counted from 1, on the curve through the first numbers: Lagrange's formula, whose weights
/// are integers for consecutive integer places.
fn on_curve(said: &[i64], place: i64) -> i64 {
    let weight = |own: i64| {
        let others = (1..=said.len() as i64).filter(|i| *i != own);
        let (over, under) = others.fold((1, 1), |(over, under), i| (over * (place - i), under * (own - i)));
        over / under
    };
    said.iter().zip(1..).map(|(n, own)| n * weight(own)).sum::<i64>().rem_euclid(BASE)
}

fn steps(value: f64, step: f64) -> Option<i64> {
    let n = (value / step).round();
    (n.abs() <= MOST_STEPS as f64).then_some(n as i64 + MOST_STEPS)
}

/// The code for an injector; none if a value lies outside the range of a code, or the class is not in the alphabet.
pub fn write(label: &Label) -> Option<String> {
    let flow = steps(label.flow_pct, FLOW_STEP_PCT)?;
    let dead = steps(label.dead_us, DEAD_STEP_US)?;
    let said: [i64; SAID] = [number(label.class)?, flow / BASE, flow % BASE, dead / BASE, dead % BASE];
    let all: Vec<char> = (1..=LENGTH as i64).map(|place| character(on_curve(&said, place))).collect();
    let groups: Vec<String> = all.chunks(GROUP).map(|group| group.iter().collect()).collect();
    Some(groups.join("-"))
}

/// Decodes a code. Lower-case letters count as upper-case; hyphens may be left out.
pub fn read(code: &str) -> Result<Label, Unreadable> {
    let given: Vec<char> = code.chars().filter(|c| *c != '-').map(|c| c.to_ascii_uppercase()).collect();
    if given.len() != LENGTH {
        return Err(Unreadable::Length(given.len()));
    }
    let mut n = [0; LENGTH];
    for (place, c) in n.iter_mut().zip(&given) {
        *place = number(*c).ok_or(Unreadable::Character(*c))?;
    }
    let (said, check) = n.split_at(SAID);
    if check.iter().zip(SAID as i64 + 1..).any(|(c, place)| *c != on_curve(said, place)) {
        return Err(Unreadable::Check);
    }
    Ok(Label {
        class: given[0],
        flow_pct: (n[1] * BASE + n[2] - MOST_STEPS) as f64 * FLOW_STEP_PCT,
        dead_us: (n[3] * BASE + n[4] - MOST_STEPS) as f64 * DEAD_STEP_US,
    })
}

/// How the acid is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BatteryKind {
    /// Free acid.
    #[default]
    Flooded,
    /// AGM: the acid is held in an absorbent glass mat.
    Agm,
}

impl BatteryKind {
    /// Every kind with its name in files.
    pub const ALL: &'static [(&'static str, BatteryKind)] =
        &[("flooded", BatteryKind::Flooded), ("agm", BatteryKind::Agm)];
    /// Name in files and on labels.
    pub fn name(self) -> &'static str {
        match self {
            BatteryKind::Flooded => "flooded",
            BatteryKind::Agm => "agm",
        }
    }
}

/// What is printed on a battery.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BatteryLabel {
    /// How the acid is held.
    pub kind: BatteryKind,
    /// Capacity in a 20-hour discharge at 25 °C \[Ah\].
    pub rated_ah: f64,
    /// Cold-cranking current \[A\].
    pub cold_a: f64,
}

impl BatteryLabel {
    /// Checks every value; `s` is the section that contains it.
    pub fn check(&self, s: &str) -> Result<(), ParamError> {
        between(s, "rated_ah", self.rated_ah, 20.0, 200.0)?;
        between(s, "cold_a", self.cold_a, 100.0, 1500.0)
    }
}
