//! Numbers and units as a person reads them.
//!
//! *Inside*: decimals, signs, metric and US units, clocks; every front end and every page formats its numbers here.
//! *Outside*: numbers in files for programs (CSV, JSON, TOML), which keep the decimal point and SI units.
//!
//! **Checked by** `tests/files/words.rs`.

use super::spoken;

/// Which units are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// kPa, °C, km/h.
    #[default]
    Metric,
    /// inHg and psi, °F, mph.
    Us,
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

    /// The same with its unit appended, and with the decimals of that unit.
    pub fn value(self, value: f64, unit: &str) -> String {
        let (x, unit) = self.quantity(value, unit);
        with_unit(number(x, decimals(unit)), unit)
    }

    /// The same with its sign.
    pub fn signed_value(self, value: f64, unit: &str) -> String {
        let (x, unit) = self.quantity(value, unit);
        with_unit(signed(x, decimals(unit)), unit)
    }
}

fn with_unit(text: String, unit: &str) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

/// Number of decimals with which a unit is shown.
pub fn decimals(unit: &str) -> usize {
    match unit {
        "rpm" | "km/h" | "mph" | "°C" | "°F" | "kPa" | "psi" | "km" | "miles" | "µs" | "µm" => 0,
        "%" | "°" | "V" | "A" | "inHg" | "mm²" => 1,
        "lb/min" => 3,
        _ => 2,
    }
}

/// Time since hand-over: minutes and seconds, from one hour on with hours.
pub fn clock(s: f64) -> String {
    let whole = s.abs().floor() as u64;
    let sign = if s < 0.0 && whole > 0 { "\u{2212}" } else { "" };
    let (h, m, s) = (whole / 3600, whole / 60 % 60, whole % 60);
    if h > 0 { format!("{sign}{h}:{m:02}:{s:02}") } else { format!("{sign}{m}:{s:02}") }
}

/// Minutes and seconds since hand-over for the headings of a table, without hours; with tenths of a second if asked
/// for.
pub fn minutes(s: f64, tenths: bool) -> String {
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
