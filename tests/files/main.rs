//! What goes in and out as text: files, the command line, words.

mod bad_input;
#[path = "../bay/mod.rs"]
mod bay;
mod cli;
mod docs;
mod facts;
mod messages;
mod packaging;
mod pseudo;
mod words;
