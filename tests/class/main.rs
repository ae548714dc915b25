//! A class over real sockets: what a page sends and is sent, what is kept, who is let in.

#[path = "../bay/mod.rs"]
mod bay;
mod door;
mod seats;
mod support;
mod walls;
