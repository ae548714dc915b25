//! The model of the car against values from outside, and the laws that it must keep.

mod balances;
mod battery;
#[path = "../bay/mod.rs"]
mod bay;
mod blend;
mod catalyst;
mod cooling;
mod driving;
mod faults;
mod oxygen_sensor;
mod physics;
