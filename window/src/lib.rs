//! Opening the window: Bevy's part of the room `window`. The other part, the panels, is in the library.
//!
//! It is a package of its own, so that testing the library builds nothing of Bevy. Without the feature `window` the
//! package is empty, and the program is the command line alone.
#![cfg(feature = "window")]

mod app;
mod board;
mod engine;
#[cfg(feature = "sound")]
mod loudspeaker;
#[cfg(not(feature = "sound"))]
#[path = "silence.rs"]
mod loudspeaker;
mod shapes;

pub use self::app::open;
