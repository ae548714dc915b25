//! The model of the car against external values, and the laws that it must obey.

mod arithmetic;
mod balances;
mod battery;
#[path = "../bay/mod.rs"]
mod bay;
mod blend;
mod catalyst;
mod cooling;
mod driving;
mod egr;
mod faults;
mod oxygen_sensor;
mod phaser;
mod physics;
mod vapour;
