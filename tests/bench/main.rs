//! The bench around engine and module: tools, long stretches, snapshots, what is drawn, hands at random.

#[path = "../bay/mod.rs"]
mod bay;
mod cache;
mod charger;
mod engine_view;
mod evidence;
mod gauges;
mod hands;
mod leak_down;
mod life;
mod random_hands;
mod sound;
mod tools;
mod whole;
