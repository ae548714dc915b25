//! Settings: what is kept in the platform's own folder, and the sheet on which they are changed.
//!
//! *Inside*: reading that no damage stops, writing that leaves the old file or the new one. *Outside*: what they do
//! to the look ([`super::ink`]) and to the window's scale.

use super::{Front, PanelState, Shown, Wish, ink, sheet};
use directories::ProjectDirs;
use egui::Context;
use std::path::PathBuf;

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// The drawing board.
    #[default]
    Board,
    /// The night bay.
    Night,
}

/// Which units are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// kPa, °C, km/h.
    #[default]
    Metric,
    /// inHg and psi, °F, mph.
    Us,
}

/// What a person has chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Settings {
    /// Light or dark.
    pub theme: Theme,
    /// Everything half as large again.
    pub projector: bool,
    /// Units.
    pub units: Units,
    /// Nothing moves that need not.
    pub reduced_motion: bool,
    /// The cautions of the first start were read.
    pub cautions_read: bool,
}

/// Largest file that is read \[bytes\].
const LARGEST: u64 = 64 * 1024;

impl Settings {
    /// How much larger everything is drawn.
    pub fn scale(&self) -> f32 {
        if self.projector { 1.5 } else { 1.0 }
    }

    /// From a file's text. What is damaged, unknown or missing is as it was made.
    pub fn parse(text: &str) -> Self {
        let mut s = Self::default();
        // line by line, so that one damaged line costs only itself
        for line in text.lines() {
            let Some((key, value)) = line.split_once('=') else { continue };
            let value = value.trim().trim_matches('"');
            let yes = value == "true";
            match key.trim() {
                "theme" => s.theme = if value == "night" { Theme::Night } else { Theme::Board },
                "units" => s.units = if value == "us" { Units::Us } else { Units::Metric },
                "projector" => s.projector = yes,
                "reduced_motion" => s.reduced_motion = yes,
                "cautions_read" => s.cautions_read = yes,
                _ => {}
            }
        }
        s
    }
    /// As a file's text.
    pub fn text(&self) -> String {
        let theme = if self.theme == Theme::Night { "night" } else { "board" };
        let units = if self.units == Units::Us { "us" } else { "metric" };
        format!(
            "theme = \"{theme}\"\nunits = \"{units}\"\nprojector = {}\nreduced_motion = {}\ncautions_read = {}\n",
            self.projector, self.reduced_motion, self.cautions_read
        )
    }

    /// Where they are kept: `IDLEWRIGHT_SETTINGS` names another folder than the platform's own.
    pub fn path() -> Option<PathBuf> {
        let own = std::env::var_os("IDLEWRIGHT_SETTINGS").filter(|v| !v.is_empty()).map(PathBuf::from);
        let dir =
            own.or_else(|| ProjectDirs::from("", "", "idlewright").map(|d| d.config_dir().to_path_buf()))?;
        Some(dir.join("settings.toml"))
    }
    /// As they were kept; as made where there are none, or none that can be read.
    #[expect(clippy::disallowed_methods, reason = "the window keeps its own settings")]
    pub fn read() -> Self {
        let Some(path) = Self::path() else { return Self::default() };
        let fits = std::fs::metadata(&path).is_ok_and(|m| m.is_file() && m.len() <= LARGEST);
        let bytes = if fits { std::fs::read(&path).unwrap_or_default() } else { Vec::new() };
        Self::parse(&String::from_utf8_lossy(&bytes))
    }
    /// Keeps them: written beside and moved, so that no half file is left.
    #[expect(clippy::disallowed_methods, reason = "the window keeps its own settings")]
    pub fn keep(&self) -> Result<(), String> {
        let Some(path) = Self::path() else { return Err("there is no folder for settings".into()) };
        let Some(dir) = path.parent() else { return Err("there is no folder for settings".into()) };
        let part = dir.join(format!(".settings.{}.part", std::process::id()));
        std::fs::create_dir_all(dir)
            .and_then(|()| std::fs::write(&part, self.text()))
            .and_then(|()| std::fs::rename(&part, &path))
            .map_err(|e| {
                let _ = std::fs::remove_file(&part);
                format!("the settings could not be kept in {}: {e}", dir.display())
            })
    }

    /// A number with its unit as this person wants it: metric in, shown as chosen.
    pub fn quantity(&self, value: f64, unit: &str) -> (f64, &'static str) {
        let us = self.units == Units::Us;
        match unit {
            "kPa" if us => (value * 0.295_299_83, "inHg"),
            "kPa" => (value, "kPa"),
            // fuel and exhaust gauges read in pounds
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
    /// The same in words, with so many decimals as the unit is read in.
    pub fn words(&self, value: f64, unit: &str) -> String {
        let (x, unit) = self.quantity(value, unit);
        let text = ink::number(x, decimals(unit));
        if unit.is_empty() { text } else { format!("{text} {unit}") }
    }
}

/// Decimals that a unit is read in.
pub fn decimals(unit: &str) -> usize {
    match unit {
        "rpm" | "km/h" | "mph" | "°C" | "°F" | "kPa" | "psi" | "km" | "miles" | "µs" | "µm" => 0,
        "%" | "°" | "V" | "A" | "inHg" | "mm²" => 1,
        "lb/min" => 3,
        _ => 2,
    }
}

/// The sheet on which they are changed.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut s = *shown.settings;
    sheet(ctx, "settings", "Settings", &mut state.front, 460.0, |ui, _: &mut Front| {
        ui.label(ink::bold("Light"));
        ui.radio_value(&mut s.theme, Theme::Board, "Drawing board (light)");
        ui.radio_value(&mut s.theme, Theme::Night, "Night bay (dark)");
        ui.add_space(10.0);
        ui.label(ink::bold("Size"));
        ui.checkbox(&mut s.projector, "Projector: everything half as large again");
        ui.add_space(10.0);
        ui.label(ink::bold("Units"));
        ui.radio_value(&mut s.units, Units::Metric, "Metric: kPa, °C, km/h, g/s");
        ui.radio_value(&mut s.units, Units::Us, "US: inHg and psi, °F, mph, lb/min");
        ink::soft(ui, "What the module says in its own sentences stays metric, as do files.");
        ui.add_space(10.0);
        ui.label(ink::bold("Motion"));
        ui.checkbox(&mut s.reduced_motion, "Reduced: nothing moves that need not");
        ui.add_space(10.0);
        if let Some(path) = Settings::path() {
            ink::soft(ui, &format!("Kept in {}", path.display()));
        }
    });
    if s == *shown.settings { Vec::new() } else { vec![Wish::Settings(s)] }
}
