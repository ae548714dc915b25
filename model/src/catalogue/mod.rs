//! The catalogue: what exists, each thing declared once.
//!
//! *Inside*: tables of parts with the attributes that may be stated of them, and of every other thing that files,
//! screens, hints and prices name: id, unit, range, decimals, where it is allowed, caution. *Outside*: what a thing
//! does (plant, ecm, bench) and its name in a language (`words::name` with the kind and the id).
//!
//! Reader, template, nearest-word hints, shelf, sheet of faults, deeds and price list are derived from these tables:
//! a new thing needs a line here, its effect where physics applies it, and its name.
//!
//! **Checked by** `holds_every_declared_thing_has_a_name` in `tests/files/words.rs`.

pub mod cautions;
pub mod hands;
pub mod parts;
pub mod services;
pub mod signals;
