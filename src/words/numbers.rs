//! Numbers and units as a person reads them.
//!
//! *Inside*: decimals, signs, metric and US units, clocks; every front end and every page formats its numbers here.
//! *Outside*: numbers in files for programs (CSV, JSON, TOML), which keep the decimal point and SI units.
//!
//! **Checked by** `tests/files/words.rs`.

use super::{say, spoken};
use std::cell::Cell;

/// Which units are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// kPa, °C, km/h.
    #[default]
    Metric,
    /// inHg and psi, °F, mph.
    Us,
}

/// Both.
pub const UNITS: [Units; 2] = [Units::Metric, Units::Us];

thread_local! {
    static SHOWN: Cell<Units> = const { Cell::new(Units::Metric) };
}

/// Sets the units of this thread's sentences, until the returned value is dropped; without it they are metric.
#[must_use = "the units are shown while this is held"]
pub fn show_in(units: Units) -> Showing {
    Showing { before: SHOWN.replace(units) }
}

/// Holds a thread's units: when it is dropped, the previous units return.
#[derive(Debug)]
pub struct Showing {
    before: Units,
}

impl Drop for Showing {
    fn drop(&mut self) {
        SHOWN.set(self.before);
    }
}

/// The units of this thread.
pub fn shown_units() -> Units {
    SHOWN.get()
}

/// A metric value with its unit, as this thread shows it: metric with these decimals, else with those of the unit.
pub fn measured(x: f64, unit: &str, decimals: usize) -> String {
    shown_units().written(x, unit, decimals, number)
}

/// The same with its sign.
pub fn signed_measured(x: f64, unit: &str, decimals: usize) -> String {
    shown_units().written(x, unit, decimals, signed)
}

/// A number with this many decimals: no minus sign on zero, and a true minus sign elsewhere.
pub fn number(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    let nothing = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    let sign = spoken().decimal_sign;
    let mut out = String::with_capacity(text.len() + 2);
    for c in text.chars() {
        match c {
            '-' if nothing => {}
            '-' => out.push('\u{2212}'),
            '.' => out.push(sign),
            c => out.push(c),
        }
    }
    out
}

/// A number with the decimals that it was given with.
pub fn as_written(x: f64) -> String {
    let text = x.to_string();
    number(x, text.split_once('.').map_or(0, |(_, decimals)| decimals.len()))
}

/// A number with its sign; zero has none.
pub fn signed(x: f64, decimals: usize) -> String {
    let text = number(x, decimals);
    if x > 0.0 && text.chars().any(|c| c.is_ascii_digit() && c != '0') { format!("+{text}") } else { text }
}

impl Units {
    /// A metric value in these units, and the unit. `kPa rail` is a pressure as shown by gauges for fuel and exhaust.
    /// A value with any other unit is unchanged and gets no unit.
    pub fn quantity(self, value: f64, unit: &str) -> (f64, &'static str) {
        let us = self == Units::Us;
        match unit {
            "kPa" if us => (value * 0.295_299_83, "inHg"),
            "kPa" => (value, "kPa"),
            "kPa rail" if us => (value * 0.145_037_74, "psi"),
            "kPa rail" => (value, "kPa"),
            "°C" if us => (value * 1.8 + 32.0, "°F"),
            "°C" => (value, "°C"),
            "km/h" if us => (value * 0.621_371_19, "mph"),
            "km/h" => (value, "km/h"),
            "km" if us => (value * 0.621_371_19, "miles"),
            "km" => (value, "km"),
            "g/s" if us => (value * 0.132_277_36, "lb/min"),
            "g/s" => (value, "g/s"),
            "N·m" if us => (value * 0.737_562_15, "lb·ft"),
            "N·m" => (value, "N·m"),
            "kg" if us => (value * 2.204_622_62, "lb"),
            "kg" => (value, "kg"),
            "L" if us => (value * 0.264_172_05, "gal"),
            "L" => (value, "L"),
            "rpm" => (value, "rpm"),
            "°" => (value, "°"),
            "%" => (value, "%"),
            "V" => (value, "V"),
            "A" => (value, "A"),
            "g" => (value, "g"),
            "s" => (value, "s"),
            "µs" => (value, "µs"),
            "µm" => (value, "µm"),
            "mm²" => (value, "mm²"),
            _ => (value, ""),
        }
    }

    /// Metric units that have another name in US units: the metric one, the US one, what a metric number is multiplied by
    /// and what is then added, and the decimals with which the US unit is shown.
    pub fn us_table() -> Vec<(&'static str, &'static str, f64, f64, usize)> {
        let of = |unit: &'static str| {
            let ((zero, called), (one, _)) = (Units::Us.quantity(0.0, unit), Units::Us.quantity(1.0, unit));
            (unit, called, one - zero, zero, decimals(called))
        };
        ["kPa", "°C", "km/h", "km", "g/s", "N·m", "kg", "L"].into_iter().map(of).collect()
    }

    /// A metric unit's name in these units; a unit that is the same in both keeps its name.
    pub fn unit(self, unit: &str) -> &str {
        match self.quantity(0.0, unit).1 {
            "" => unit,
            known => known,
        }
    }

    /// The metric value of a number that was given in these units.
    pub fn metric(self, given: f64, unit: &str) -> f64 {
        let [zero, one] = [0.0, 1.0].map(|x| self.quantity(x, unit).0);
        (given - zero) / (one - zero)
    }

    /// A value with its unit: a unit that is the same in both with the given decimals.
    fn written(self, x: f64, unit: &str, places: usize, f: fn(f64, usize) -> String) -> String {
        let (value, called) = self.quantity(x, unit);
        if called.is_empty() || called == unit {
            return with_unit(f(x, places), unit);
        }
        let places = if self == Units::Us { decimals(called) } else { places };
        with_unit(f(value, places), called)
    }

    /// The same with its unit appended, and with the decimals of that unit.
    pub fn value(self, value: f64, unit: &str) -> String {
        self.written(value, unit, decimals(self.unit(unit)), number)
    }

    /// The same with its sign.
    pub fn signed_value(self, value: f64, unit: &str) -> String {
        self.written(value, unit, decimals(self.unit(unit)), signed)
    }
}

fn with_unit(text: String, unit: &str) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

/// Number of decimals with which a unit is shown.
pub fn decimals(unit: &str) -> usize {
    match unit {
        "rpm" | "km/h" | "mph" | "°C" | "°F" | "kPa" | "psi" | "km" | "miles" | "µs" | "µm" => 0,
        "%" | "°" | "V" | "A" | "inHg" | "mm²" | "N·m" | "lb·ft" | "kg" | "lb" | "L" | "gal" => 1,
        "lb/min" => 3,
        _ => 2,
    }
}

/// A day \[s\].
pub const DAY_S: f64 = 86_400.0;

/// Time since hand-over: minutes and seconds, from one hour on with hours, from one day on with days.
pub fn clock(s: f64) -> String {
    let whole = s.abs().floor() as u64;
    let sign = if s < 0.0 && whole > 0 { "\u{2212}" } else { "" };
    let (days, h, m, s) = (whole / 86_400, whole / 3600 % 24, whole / 60 % 60, whole % 60);
    let time = if h > 0 { format!("{h}:{m:02}:{s:02}") } else { format!("{m}:{s:02}") };
    let time =
        if days > 0 { say!("time-days-and", days = number(days as f64, 0), clock = time) } else { time };
    format!("{sign}{time}")
}

/// Time since hand-over in a table or a sentence of minutes, to the nearest second, or with tenths if asked for; from two
/// hours on as [`clock`] tells it.
pub fn minutes(s: f64, tenths: bool) -> String {
    if s.abs() >= 7200.0 {
        return clock(s.round());
    }
    let t = (s.abs() * 10.0).round() as u64;
    let t = if tenths { t } else { (s.abs().round() as u64) * 10 };
    let sign = if s < 0.0 && t > 0 { "\u{2212}" } else { "" };
    let tail = if tenths { format!("{}{}", spoken().decimal_sign, t % 10) } else { String::new() };
    format!("{sign}{}:{:02}{tail}", t / 600, t / 10 % 60)
}

/// A whole number, none below zero, with its thousands separated.
pub fn grouped(x: f64) -> String {
    let digits = number(x.max(0.0), 0);
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push('\u{202F}');
        }
        out.push(c);
    }
    out
}
