//! A class over real sockets: what a page sends and is sent, what is kept, who is let in; and the module on a network.

#[path = "../bay/mod.rs"]
mod bay;
mod door;
mod net_data;
mod net_fuzz;
mod net_lesson;
mod net_support;
mod net_uds;
mod net_wire;
mod seats;
mod support;
mod testers;
mod walls;
