//! The car on the bench: [`plant`] is the physical engine, [`ecm`] the control module that learns it, [`mod@bench`]
//! couples both. This crate knows no scenario, no user-facing text and no user interface. `idlewright` re-exports all
//! of it under the same paths.
pub mod bench;
pub mod catalogue;
pub mod ecm;
pub mod label;
pub mod link;
pub mod num;
pub mod plant;
pub mod signals;
pub mod units;
