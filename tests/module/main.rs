//! What the control module learns, decides, reports and does, tested together with the engine.

mod alcohol;
mod altitude;
#[path = "../bay/mod.rs"]
mod bay;
mod catalyst_monitor;
mod charging;
mod circuits;
mod consequences;
mod crank_learn;
mod crank_signal;
mod cylinder_trim;
mod dunlin;
mod egr;
mod injectors;
mod learning;
mod learning_more;
mod memory;
mod misfire;
mod phaser;
mod random_days;
mod rear_trim;
mod rough_road;
mod services;
mod starting;
mod vapour;
mod whimbrel;
