//! The panels, drawn without a window.

mod panels;
mod pseudo;
mod support;
mod work;
