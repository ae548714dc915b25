//! Days that a car was driven on or left standing: one line for each.
//!
//! *Inside*: which days there were, and what of each can be told from the trace and the logbook. *Outside*: living
//! them (bench), layout (the debrief, the window).
//!
//! A day that was driven at full physics is told by its rows, a minute apart: running time and distance are about
//! right to a minute a trip. Of a day whose electrics alone were simulated, minutes and starts are those of the order.

use super::names::in_shown_units;
use crate::bench::action::{Action, Life};
use crate::bench::facts::DriverTells;
use crate::bench::record::{Entry, Kind};
use crate::bench::trace::COLUMNS;
use crate::link::Notice;
use crate::words::numbers::{DAY_S, measured, number, signed, signed_measured};
use crate::words::say;

/// Longest time between two rows of a drive \[s\].
const ROWS_S: f64 = 61.0;
/// The engine runs above this speed \[rpm\].
const RUNS_RPM: f64 = 400.0;
/// Most days that are listed.
const MOST: usize = 400;

/// How a day was spent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spent {
    /// Driven at full physics.
    Driven,
    /// Driven; its electrics alone were simulated.
    Carried,
    /// The car stood.
    Stood,
    /// It would not start, or could not go on.
    Stranded,
}

/// One day.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// Its number in its stretch, from 1.
    pub number: u32,
    /// How it was spent.
    pub spent: Spent,
    /// Time that the engine ran \[min\].
    pub ran_min: Option<f64>,
    /// Starts.
    pub starts: Option<u32>,
    /// Distance \[km\].
    pub about_km: Option<f64>,
    /// Battery charge at its end as the module counts it, and the true one where it may be seen \[%\].
    pub charge_pct: (Option<f64>, Option<f64>),
    /// Learned idle air at its end \[g/s\].
    pub idle_air_g_s: Option<f64>,
    /// Short-term and long-term trim of bank 1 at its end \[%\].
    pub trims_pct: Option<(f64, f64)>,
    /// Codes that became pending or confirmed.
    pub codes: Vec<String>,
}

/// A time in which nobody worked on the car.
struct Stretch {
    from_s: f64,
    to_s: f64,
    life: Option<Life>,
    /// Its day from which the car was left standing.
    stranded: Option<u32>,
}

/// Messages of the headings of [`day_cells`].
pub const DAY_HEADS: [&str; 9] = [
    "days-day",
    "days-spent",
    "days-ran",
    "days-starts",
    "days-distance",
    "days-charge",
    "days-idle-air",
    "days-trims",
    "days-codes",
];

/// The days of a logbook, by its rows of the trace; true values only where they may be seen, learned ones where they were
/// `read`, too.
pub fn days<'r>(
    rows: impl Iterator<Item = &'r [f64]>,
    log: &[Entry],
    lid_open: bool,
    read: bool,
) -> Vec<Day> {
    if !log.iter().any(|e| matches!(e.kind, Kind::Act { action: Action::DriveOn(_) | Action::Rest(_), .. })) {
        return Vec::new();
    }
    let rows: Vec<&[f64]> = rows.collect();
    let now_s = rows.last().map_or(0.0, |r| r[0]);
    let mut out = Vec::new();
    for stretch in stretches(log, now_s) {
        let long = ((stretch.to_s - stretch.from_s) / DAY_S - 1e-6).ceil().max(1.0) as u32;
        for k in 0..long {
            let from_s = stretch.from_s + DAY_S * f64::from(k);
            let to_s = (from_s + DAY_S).min(stretch.to_s);
            let own = &rows[rows.partition_point(|r| r[0] < from_s)..rows.partition_point(|r| r[0] <= to_s)];
            let noted = |e: &&Entry| from_s <= e.t_s && e.t_s < to_s;
            let mut day = day(&stretch, k, own, log.iter().filter(noted));
            if !lid_open {
                day.charge_pct.1 = None;
            }
            if !lid_open && !read {
                day.idle_air_g_s = None;
            }
            out.push(day);
            if out.len() >= MOST {
                return out;
            }
        }
    }
    out
}

fn stretches(log: &[Entry], now_s: f64) -> Vec<Stretch> {
    let mut out = Vec::new();
    for (k, e) in log.iter().enumerate() {
        let Kind::Act { id, action } = &e.kind else { continue };
        let life = match action {
            Action::DriveOn(life) => Some(*life),
            Action::Rest(_) => None,
            _ => continue,
        };
        let after = &log[k + 1..];
        let same = |x: &&Entry| x.t_s <= e.t_s;
        let hindered = |x: &Entry| matches!(&x.kind, Kind::Hindered { id: own, .. } if own == id);
        if after.iter().take_while(same).any(hindered) {
            continue;
        }
        let ends = |x: &Entry| match &x.kind {
            Kind::Drive { what: DriverTells::DrivenOn { .. } } => life.is_some(),
            Kind::Drive { what: DriverTells::RestOver | DriverTells::RestTouched } => life.is_none(),
            _ => false,
        };
        let end = after.iter().position(ends);
        let planned_s = e.t_s + action.alone_s();
        let to_s = end.map_or(planned_s.min(now_s), |k| after[k].t_s);
        let stranded = after[..end.unwrap_or(after.len())].iter().find_map(|x| match &x.kind {
            Kind::Drive { what: DriverTells::Stranded { day, .. } } => Some(*day),
            _ => None,
        });
        out.push(Stretch { from_s: e.t_s, to_s, life, stranded });
    }
    out
}

fn column(name: &str) -> usize {
    COLUMNS.iter().position(|c| c.name == name).unwrap_or_default()
}

fn day<'e>(of: &Stretch, k: u32, rows: &[&[f64]], log: impl Iterator<Item = &'e Entry>) -> Day {
    let last = |name: &str| {
        let at = column(name);
        rows.iter().rev().map(|r| r[at]).find(|x| x.is_finite())
    };
    let (rpm, road) = (column("engine_speed_rpm"), column("road_km_h"));
    let runs = |r: &[f64]| r[rpm] >= RUNS_RPM;
    let (mut ran_s, mut way_m, mut starts) = (0.0, 0.0, 0);
    for (k, r) in rows.iter().enumerate() {
        if !runs(r) {
            continue;
        }
        starts += u32::from(k == 0 || !runs(rows[k - 1]));
        let for_s = rows.get(k + 1).map_or(0.0, |next| next[0] - r[0]);
        if for_s <= ROWS_S {
            ran_s += for_s;
            way_m += for_s * r[road].max(0.0) / 3.6;
        }
    }
    let meant = of.life.filter(|life| k % 7 < u32::from(life.days_a_week));
    let spent = match (of.stranded, meant) {
        (Some(day), _) if k + 1 >= day => Spent::Stranded,
        (_, Some(_)) if starts == 0 => Spent::Carried,
        (_, Some(_)) => Spent::Driven,
        (_, None) => Spent::Stood,
    };
    let carried = meant.filter(|_| spent == Spent::Carried);
    let mut codes: Vec<String> = Vec::new();
    for e in log {
        if let Kind::Module { what: Notice::CodeBecame { code, .. } } = &e.kind
            && !codes.contains(code)
        {
            codes.push(code.clone());
        }
    }
    Day {
        number: k + 1,
        spent,
        ran_min: carried.map(|l| l.minutes * f64::from(l.trips)).or((starts > 0).then_some(ran_s / 60.0)),
        starts: carried.map(|l| u32::from(l.trips)).or((starts > 0).then_some(starts)),
        about_km: (starts > 0).then_some(way_m / 1000.0),
        charge_pct: (last("battery_charge_pct"), last("true_battery_charge_pct")),
        idle_air_g_s: last("idle_air_learned_g_s"),
        trims_pct: last("short_trim_1_pct").zip(last("long_trim_1_pct")),
        codes,
    }
}

/// A day's cells, in the units shown.
pub fn day_cells(d: &Day) -> [String; 9] {
    let none = || say("days-none");
    let spent = say(match d.spent {
        Spent::Driven => "days-driven",
        Spent::Carried => "days-carried",
        Spent::Stood => "days-stood",
        Spent::Stranded => "days-stranded",
    });
    let pct = |x: f64| measured(x, "%", 0);
    let charge = match d.charge_pct {
        (Some(x), Some(truth)) => say!("days-charge-and-true", charge = pct(x), truth = pct(truth)),
        (None, Some(truth)) => say!("days-charge-true", truth = pct(truth)),
        (x, None) => x.map_or_else(none, pct),
    };
    [
        d.number.to_string(),
        spent,
        d.ran_min.map_or_else(none, |x| number(x, 0)),
        d.starts.map_or_else(none, |n| n.to_string()),
        d.about_km.map_or_else(none, |x| {
            let (x, unit) = in_shown_units(x, "km");
            say!("quantity", value = number(x, 1), unit = unit)
        }),
        charge,
        d.idle_air_g_s.map_or_else(none, |x| signed_measured(x, "g/s", 2)),
        d.trims_pct.map_or_else(none, |(short, long)| {
            say!("days-trims-are", short = signed(short, 1), long = signed(long, 1))
        }),
        if d.codes.is_empty() { none() } else { d.codes.join(", ") },
    ]
}
