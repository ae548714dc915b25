//! Thin program: arguments to the command line's room, result to the exit code.
fn main() {}
