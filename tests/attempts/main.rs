//! What somebody does with a scenario: run, paid, graded, forked, replayed, handed in; and all that ship.

#[path = "../bay/mod.rs"]
mod bay;
mod cautions;
mod desk;
mod fairness;
mod ledger;
mod lesson;
mod replay;
mod scenarios;
mod surprise;
mod sweep;
mod twin;
mod variants;
mod verify;
mod view;
