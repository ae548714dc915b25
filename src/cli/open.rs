//! `idlewright window`: its arguments, and the message if no window can be opened.

#[cfg(feature = "panels")]
mod desk;

#[cfg(feature = "panels")]
use self::desk::opened;
use super::Opens;
use super::files::room_for;
use super::run::VariantArgs;
use crate::app::{Error, listing, terminal};
use crate::words::say;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Exit code if no window can be opened.
const NO_DISPLAY: u8 = 3;

#[derive(Args, Default)]
pub(super) struct WindowArgs {
    scenario: Option<String>,
    #[command(flatten)]
    pub(super) variant: VariantArgs,
    #[arg(long)]
    pub(super) no_cache: bool,
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
    #[arg(long, value_name = "SECONDS", requires = "picture")]
    pub(super) after: Option<f64>,
    #[arg(long, requires = "picture")]
    pub(super) open_lid: bool,
    #[arg(long, value_enum, requires = "picture", hide_possible_values = true)]
    pub(super) show: Option<ShowArg>,
    #[arg(long, requires = "picture")]
    pub(super) night: bool,
    #[arg(long, value_name = "FILE")]
    pub(super) screen: Option<PathBuf>,
    #[arg(long, value_name = "N", conflicts_with_all = ["picture", "screen"],
        value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(super) frames: Option<u32>,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ShowArg {
    Engine,
    Traces,
    Wheel,
    Cylinders,
}

/// Opens the window, if the program was built with one.
pub(super) fn window(args: &WindowArgs, open: Opens) -> Result<u8, Error> {
    let name = args.scenario.as_deref().unwrap_or(listing::first());
    let after_s = args.after.unwrap_or(0.0);
    if !(0.0..=86_400.0).contains(&after_s) {
        return Err(Error::rule(say!("usage-after", given = after_s.to_string())));
    }
    if let Some(file) = &args.picture
        && file.extension().is_none_or(|e| !e.eq_ignore_ascii_case("png"))
    {
        return Err(Error::rule(say!("usage-picture-png", file = file.display().to_string())));
    }
    for file in args.screen.iter().chain(&args.picture) {
        room_for(file)?;
    }
    if let Err(why) = opened(args, name, open)? {
        let variant = args.variant.words();
        terminal::tell(&say!("window-cannot-open", why = why, scenario = name, variant = variant));
        if cfg!(feature = "class") {
            terminal::tell(&say!("window-page-instead", scenario = name));
        }
        return Ok(NO_DISPLAY);
    }
    Ok(0)
}

#[cfg(not(feature = "panels"))]
fn opened(_: &WindowArgs, _: &str, _: Opens) -> Result<Result<(), String>, Error> {
    Ok(Err(say("window-not-built")))
}
