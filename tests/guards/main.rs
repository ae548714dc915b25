//! What no change may break: the walls between the rooms, and the same bytes everywhere.

mod architecture;
mod determinism;
