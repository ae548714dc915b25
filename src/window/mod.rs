//! The window: the engine in three dimensions in the middle, the panels round it.
//!
//! *Inside*: drawing, and passing on what a person asks for. *Outside*: whatever is simulated, judged or kept
//! ([`crate::session::live`] runs on a thread of its own and takes the same acts as an action file).

pub mod panels;

#[cfg(feature = "window")]
use bevy::prelude::*;

/// Opens the window and comes back when it is closed.
#[cfg(feature = "window")]
pub fn open() {
    App::new().add_plugins(DefaultPlugins).add_plugins(bevy_egui::EguiPlugin::default()).run();
}
