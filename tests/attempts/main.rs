//! What somebody does with a scenario: run, paid, graded, forked, replayed, handed in; and all that ship.

mod desk;
mod ledger;
mod lesson;
mod replay;
mod scenarios;
mod twin;
mod variants;
mod verify;
