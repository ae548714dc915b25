//! Idlewright: a teaching bench on which automotive technicians learn how an engine module learns.
pub mod bench;
pub mod cli;
pub mod ecm;
pub mod link;
pub mod num;
pub mod plant;
pub mod report;
pub mod scenario;
pub mod session;
pub mod signals;
pub mod store;
pub mod units;
