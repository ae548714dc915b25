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
mod shapes;
#[cfg(not(feature = "sound"))]
mod silence;

#[cfg(feature = "sound")]
use self::loudspeaker::Ears;
#[cfg(not(feature = "sound"))]
use self::silence::Ears;

pub use self::app::open;
