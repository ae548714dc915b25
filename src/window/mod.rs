//! The window: the engine in three dimensions in the middle, the panels round it.
//!
//! *Inside*: drawing, and passing on what a person asks for. *Outside*: simulating, judging and storing
//! ([`crate::session::live`] runs on a thread of its own and takes the same acts as an action file); reading
//! scenarios and writing results (the caller that opens the window supplies these functions: [`Desk`]).
//!
//! This module holds what is drawn with egui alone. The code that opens the window and draws the engine in three
//! dimensions is in a package of its own (`window/`), so that Bevy is built only for that package; a program that has
//! a window supplies an [`Open`].

pub mod frames;
pub mod loudspeaker;
pub mod panels;
pub mod screen;

use self::panels::{Middle, Save};
use crate::scenario::Scenario;
use crate::session::{Options, Run};
use std::path::{Path, PathBuf};

/// Opens the window and returns when it is closed; an error says why it could not be opened.
pub type Open = fn(Start) -> Result<(), String>;

/// A scenario as it was read.
#[derive(Debug, Clone)]
pub struct Attempt {
    /// The scenario itself.
    pub scenario: Scenario,
    /// Its text: the logbook carries its hash.
    pub text: String,
}

/// What the window needs from its caller, which owns all file access.
#[derive(Debug, Clone, Copy)]
pub struct Desk {
    /// Reads a scenario by its name or path; an error says in words what is wrong with it.
    pub read: fn(&str) -> Result<Attempt, String>,
    /// Writes what was asked for into a folder, and reports the result in words.
    pub write: fn(&Run, &str, Save, &Path) -> Result<String, String>,
}

/// A picture of the window, taken instead of opening it for a person to work in.
#[derive(Debug, Clone, Default)]
pub struct Picture {
    /// The file to write it to.
    pub file: PathBuf,
    /// When to take it, counted from hand-over \[s of simulated time\].
    pub after_s: f64,
    /// With the lid open.
    pub lid_open: bool,
    /// What is shown in the middle.
    pub middle: Middle,
    /// In the night theme.
    pub night: bool,
}

/// How to begin.
#[derive(Debug, Clone)]
pub struct Start {
    /// The first attempt.
    pub attempt: Attempt,
    /// Seed, step and cache.
    pub options: Options,
    /// Files.
    pub desk: Desk,
    /// A picture instead of a person.
    pub picture: Option<Picture>,
    /// File to which the screen's contents are written with every frame.
    pub screen: Option<PathBuf>,
    /// Number of frames to render into memory as fast as possible and time before the program ends; needs no display.
    pub frames: Option<u32>,
    /// Size in pixels.
    pub size: (u32, u32),
}
