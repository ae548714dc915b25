//! The model of the car against values from outside, and the laws that it must keep.

mod balances;
mod battery;
mod catalyst;
mod driving;
mod faults;
mod physics;
