//! Facts to sentences: what the module decides and refuses, what hinders a hand, what the driver tells.
//!
//! *Inside*: one function for each sort of fact ([`crate::link`], [`crate::bench::facts`]), messages in `module.ftl` and
//! `bench.ftl`. *Outside*: which facts are shown, and beside what.

mod bench;
mod module;

pub use bench::{driver, hindrance, model_note, no_survey, told};
pub use module::{failed, flag, gate, no_stop, notice, refused, routine, routine_state, waits_for, writer};
