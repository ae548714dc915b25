//! The car on the bench: [`plant`] is the engine as it is, [`ecm`] the module that learns it, [`mod@bench`] couples both.
//! No scenario, no sentence and no front is known here. `idlewright` hands all of it on under the same paths.
pub mod bench;
pub mod catalogue;
pub mod ecm;
pub mod label;
pub mod link;
pub mod num;
pub mod plant;
pub mod signals;
pub mod units;
