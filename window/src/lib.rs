//! The window, opened: Bevy's part of the room `window`. The other part, the panels, stands in the library.
//!
//! A package of its own, so that whoever tests the library builds none of Bevy. Without the feature `window`
//! nothing is here, and the program is the command line alone.
#![cfg(feature = "window")]

mod app;
mod board;
mod engine;
mod shapes;

pub use self::app::open;
