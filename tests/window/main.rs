//! The panels, drawn without a window.

mod panels;
mod support;
mod work;
