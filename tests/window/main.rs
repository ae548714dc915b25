//! The panels, drawn without a window.

mod afterwards;
#[path = "../bay/mod.rs"]
mod bay;
mod focus;
mod panels;
mod pseudo;
mod seen;
mod support;
mod work;
