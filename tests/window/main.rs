//! The panels, drawn without a window.

#[path = "../bay/mod.rs"]
mod bay;
mod panels;
mod support;
mod work;
