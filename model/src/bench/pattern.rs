//! Driving patterns: what the road and the traffic ask of a driver, as data.
//!
//! *Inside*: the shipped patterns (`assets/patterns`), read once; speed, slope and roughness over time; when
//! the selector is in neutral, when the key is off, when the foot is off both pedals. *Outside*: how a
//! person follows them ([`crate::bench::driver`]).
//!
//! The traces are our own. They belong to the bench, not to the user's files, so that a logbook that names a pattern
//! is complete.
//!
//! **Checked by** `holds_patterns…` in `tests/model/driving.rs`.

use crate::num::Table;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// Names of the patterns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Name {
    /// Lights, corners, a queue.
    Town,
    /// Slip road, traffic, off again.
    Motorway,
    /// Up a pass and down again.
    Hill,
    /// Waiting with the engine running.
    LongIdle,
    /// Short errands with the key off between.
    ColdStarts,
    /// Accelerate, lift off, repeat.
    CoastDowns,
    /// A country road in bad repair.
    Track,
    /// One run through the others.
    Mixed,
}

impl Name {
    /// Every pattern with its name in files.
    pub const ALL: &'static [(&'static str, Name)] = &[
        ("town", Name::Town),
        ("motorway", Name::Motorway),
        ("hill", Name::Hill),
        ("long_idle", Name::LongIdle),
        ("cold_starts", Name::ColdStarts),
        ("coast_downs", Name::CoastDowns),
        ("track", Name::Track),
        ("mixed", Name::Mixed),
    ];
    /// Name in files.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(_, n)| *n == self).map_or("", |(word, _)| word)
    }
    /// The pattern itself.
    pub fn pattern(self) -> &'static Pattern {
        let at = Self::ALL.iter().position(|(_, n)| *n == self).unwrap_or(0);
        &all()[at]
    }
}

/// Texts of the patterns, in the order of [`Name::ALL`].
const TEXTS: [&str; 8] = [
    include_str!("../../../assets/patterns/town.toml"),
    include_str!("../../../assets/patterns/motorway.toml"),
    include_str!("../../../assets/patterns/hill.toml"),
    include_str!("../../../assets/patterns/long_idle.toml"),
    include_str!("../../../assets/patterns/cold_starts.toml"),
    include_str!("../../../assets/patterns/coast_downs.toml"),
    include_str!("../../../assets/patterns/track.toml"),
    include_str!("../../../assets/patterns/mixed.toml"),
];

/// A pattern file as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    title: String,
    #[serde(default)]
    speed: Vec<[f64; 2]>,
    #[serde(default)]
    slope: Vec<[f64; 2]>,
    #[serde(default)]
    rough: Vec<[f64; 2]>,
    #[serde(default)]
    neutral: Vec<[f64; 2]>,
    #[serde(default)]
    key_off: Vec<[f64; 2]>,
    #[serde(default)]
    coast: Vec<[f64; 2]>,
    soak_to_c: Option<f64>,
    #[serde(default)]
    round: Vec<Name>,
    #[serde(default)]
    stand_s: f64,
}

/// What is asked of a driver, over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// Title for display.
    pub title: String,
    /// Road speed \[km/h\] over time \[s\].
    pub speed: Table,
    /// Slope, uphill positive \[%\], over time \[s\].
    pub slope: Table,
    /// Roughness: deviation of the torque that it puts on the crank \[N m\], over time \[s\].
    pub rough: Table,
    /// Spans with the selector in neutral \[s\].
    pub neutral: Vec<[f64; 2]>,
    /// Spans with the key off \[s\].
    pub key_off: Vec<[f64; 2]>,
    /// Spans with the foot off both pedals \[s\].
    pub coast: Vec<[f64; 2]>,
    /// Coolant after a stop with the key off, in conditioning only \[°C\].
    pub soak_to_c: Option<f64>,
}

impl Pattern {
    /// Length of one round \[s\].
    pub fn length_s(&self) -> f64 {
        self.speed.points().last().map_or(0.0, |p| p[0])
    }
    /// Road speed asked for \[m/s\] at a time \[s\]; the pattern repeats.
    pub fn speed_m_s(&self, t_s: f64) -> f64 {
        self.speed.at(self.wrapped(t_s)) / 3.6
    }
    /// Time within a round \[s\].
    pub fn wrapped(&self, t_s: f64) -> f64 {
        let length = self.length_s();
        t_s - length * (t_s / length).floor()
    }
    /// Whether a time \[s\] lies in one of the spans.
    pub fn within(&self, spans: &[[f64; 2]], t_s: f64) -> bool {
        let t = self.wrapped(t_s);
        spans.iter().any(|s| t >= s[0] && t < s[1])
    }
}

fn table(points: Vec<[f64; 2]>) -> Result<Table, String> {
    if points.is_empty() { Table::try_from(vec![[0.0, 0.0]]) } else { Table::try_from(points) }
}

/// Reads one pattern; a round is assembled from the patterns read before.
fn read(text: &str, before: &[Pattern]) -> Result<Pattern, String> {
    let mut raw: Raw = toml::from_str(text).map_err(|e| e.to_string())?;
    let mut from_s = 0.0;
    for name in &raw.round {
        let at = Name::ALL.iter().position(|(_, n)| n == name).unwrap_or(usize::MAX);
        let part = before.get(at).ok_or("a round takes patterns that stand before it")?;
        // the end of one part and the start of the next are slightly apart: times must rise
        let moved = |points: &[[f64; 2]], all: &mut Vec<[f64; 2]>| {
            all.extend(points.iter().map(|p| [p[0] + from_s, p[1]]));
        };
        moved(part.speed.points(), &mut raw.speed);
        moved(part.slope.points(), &mut raw.slope);
        moved(part.rough.points(), &mut raw.rough);
        for (spans, all) in [
            (&part.neutral, &mut raw.neutral),
            (&part.key_off, &mut raw.key_off),
            (&part.coast, &mut raw.coast),
        ] {
            all.extend(spans.iter().map(|s| [s[0] + from_s, s[1] + from_s]));
        }
        let end_s = from_s + part.length_s();
        raw.neutral.push([end_s, end_s + raw.stand_s]);
        from_s = end_s + raw.stand_s;
        // the next part begins here with its own first point
        raw.speed.push([from_s - 0.1, 0.0]);
    }
    Ok(Pattern {
        title: raw.title,
        speed: table(raw.speed)?,
        slope: table(raw.slope)?,
        rough: table(raw.rough)?,
        neutral: raw.neutral,
        key_off: raw.key_off,
        coast: raw.coast,
        soak_to_c: raw.soak_to_c,
    })
}

/// All patterns, in the order of [`Name::ALL`].
fn all() -> &'static [Pattern] {
    static ALL: OnceLock<Vec<Pattern>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all: Vec<Pattern> = Vec::new();
        for text in TEXTS {
            let pattern = read(text, &all).expect("shipped patterns are read by a test");
            all.push(pattern);
        }
        all
    })
}
