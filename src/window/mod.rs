//! The window: the engine in three dimensions in the middle, the panels round it.
//!
//! *Inside*: drawing, and passing on what a person asks for. *Outside*: whatever is simulated, judged or kept
//! ([`crate::session::live`] runs on a thread of its own and takes the same acts as an action file), reading
//! scenarios and writing results (whoever opens the window hands in how: [`Desk`]).
//!
//! Here is what egui alone draws. What opens the window, and the engine in three dimensions, stands in a package of
//! its own (`window/`), so that Bevy is built for nothing else; whoever has a window hands in an [`Open`].

pub mod frames;
pub mod panels;
pub mod screen;

use self::panels::{Middle, Save};
use crate::scenario::Scenario;
use crate::session::{Options, Run};
use std::path::{Path, PathBuf};

/// Opens the window and comes back when it is closed; why it could not be opened otherwise.
pub type Open = fn(Start) -> Result<(), String>;

/// A scenario as it was read.
#[derive(Debug, Clone)]
pub struct Attempt {
    /// What it says.
    pub scenario: Scenario,
    /// Its text: the logbook carries its hash.
    pub text: String,
}

/// What the window asks of whoever opens it: files are theirs.
#[derive(Debug, Clone, Copy)]
pub struct Desk {
    /// Reads a scenario by its name or path; what is wrong with it otherwise, in words.
    pub read: fn(&str) -> Result<Attempt, String>,
    /// Writes what was asked for into a folder, and says so in words.
    pub write: fn(&Run, &str, Save, &Path) -> Result<String, String>,
}

/// A picture of the window that is wanted instead of a person's work.
#[derive(Debug, Clone, Default)]
pub struct Picture {
    /// Where to.
    pub file: PathBuf,
    /// How long after hand-over \[s of simulated time\].
    pub after_s: f64,
    /// Under an open lid.
    pub lid_open: bool,
    /// What takes the middle.
    pub middle: Middle,
    /// In the night bay.
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
    /// What stands on the screen is written there with every frame.
    pub screen: Option<PathBuf>,
    /// So many frames are drawn into memory as fast as they can be and timed, and then it ends; needs no display.
    pub frames: Option<u32>,
    /// Size in pixels.
    pub size: (u32, u32),
}
