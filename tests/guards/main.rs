//! What no change may break: the walls between the rooms, and the same bytes everywhere.

mod architecture;
#[path = "../bay/mod.rs"]
mod bay;
mod determinism;
mod named_files;
mod shape;
