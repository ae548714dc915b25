//! What goes in and out as text: files, the command line, words.

mod bad_input;
mod cli;
mod words;
