//! The files that are the program's own: embedded cars and scenarios.
//!
//! *Inside*: what ships, by name; reading a car's file that lies beside a scenario. *Outside*: what the
//! files mean (scenario and bench), and where a person writes results (command line, window).

use std::path::Path;

/// Shipped cars: name and text.
pub const CARS: &[(&str, &str)] = &[("plover", include_str!("../assets/cars/plover.toml"))];

/// What work costs.
pub const PRICES: &str = include_str!("../assets/prices.toml");

/// A shipped scenario with the action files that belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shipped {
    /// File name.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
    /// Action files: name and text.
    pub actions: &'static [(&'static str, &'static str)],
}

macro_rules! shipped {
    ($( $file:literal [ $($action:literal),* ] ),+ $(,)?) => {
        /// Shipped scenarios, easy to hard.
        pub const SCENARIOS: &[Shipped] = &[ $( Shipped {
            file: $file,
            text: include_str!(concat!("../scenarios/", $file)),
            actions: &[ $( ($action, include_str!(concat!("../scenarios/", $action))) ),* ],
        } ),+ ];
    };
}

shipped! {
    "A0-healthy.toml" [],
    "A1-idles-high.toml" ["A1-idles-high.solution.toml", "A1-idles-high.trap-1.toml", "A1-idles-high.trap-2.toml"],
    "A9-by-the-stopwatch.toml" ["A9-by-the-stopwatch.solution.toml", "A9-by-the-stopwatch.trap-1.toml", "A9-by-the-stopwatch.trap-2.toml"],
}

/// Largest car file that is read \[bytes\].
const LARGEST: u64 = 1 << 20;

/// Text of a car's file: a shipped name, or a path beside the scenario.
#[expect(clippy::disallowed_methods, reason = "this room reads the files that scenarios name")]
pub fn car_text(name: &str, beside: Option<&Path>) -> Result<String, String> {
    if let Some((_, text)) = CARS.iter().find(|(n, _)| *n == name) {
        return Ok((*text).into());
    }
    if !name.ends_with(".toml") {
        let names: Vec<&str> = CARS.iter().map(|c| c.0).collect();
        return Err(format!(
            "no car is called `{name}`; shipped are {}, or give a .toml file beside the scenario",
            names.join(", ")
        ));
    }
    let Some(beside) = beside else {
        return Err(format!("a shipped scenario cannot name the file `{name}`"));
    };
    let path = beside.join(name);
    let size = std::fs::metadata(&path).map_err(|e| format!("cannot read car file `{name}`: {e}"))?.len();
    if size > LARGEST {
        return Err(format!("car file `{name}` is larger than 1 MiB"));
    }
    std::fs::read_to_string(&path).map_err(|e| format!("cannot read car file `{name}`: {e}"))
}

/// A shipped scenario by file name, its stem, or its id (the part before the first dash).
pub fn shipped(name: &str) -> Option<&'static Shipped> {
    SCENARIOS.iter().find(|s| {
        let stem = s.file.trim_end_matches(".toml");
        name == s.file
            || name == stem
            || stem.split('-').next().is_some_and(|id| id.eq_ignore_ascii_case(name))
    })
}

/// A shipped action file by name or stem.
pub fn shipped_actions(name: &str) -> Option<(&'static str, &'static str)> {
    SCENARIOS
        .iter()
        .flat_map(|s| s.actions)
        .find(|(file, _)| name == *file || name == file.trim_end_matches(".toml"))
        .copied()
}
