//! Idlewright: a teaching bench on which automotive technicians learn how an engine module learns.
//!
//! | room | what |
//! | --- | --- |
//! | [`plant`] | the world as it is |
//! | [`ecm`] | what a control module believes and does |
//! | [`signals`], [`link`], [`label`] | all that passes between them: pins and edges; the diagnostic link's words; what is printed on a part |
//! | [`mod@bench`] | both coupled, with hands, views, logbook, hash |
//! | [`lesson`] | what an attempt is worth |
//! | [`scenario`], [`store`] | what a person's files say; what ships, and conditioned cars that are kept |
//! | [`session`] | the one loop: runs, desks, logbooks, twins |
//! | [`evidence`] | every value from outside the program beside what it gives |
//! | [`batch`] | many benches at once, without a scenario |
//! | [`report`] | results on paper |
//! | [`app`] | what every front does: load, check, run, open, solve, hand in, mark, verify; a view for who looks |
//! | `class` | front: seats in a browser and the instructor's wall (feature `class`) |
//! | [`net`] | front: the module over open standards (sockets with feature `net`) |
//! | [`cli`] | front: arguments, files, exit codes |
//! | `window` | front: the engine and its panels (features `panels` and `window`) |
//! | [`words`] | sentences, names, numbers and units, in the reader's language |
//! | [`num`], [`units`] | deterministic arithmetic; conversions and ranges |
//!
//! What this does not do: it is a simplified model of made-up cars and never a reference procedure for a
//! real one.
//!
//! ```
//! use idlewright::bench::{Bench, action::{Action, Key}};
//! use idlewright::{scenario, store};
//!
//! let shipped = store::shipped("healthy-idle").unwrap();
//! let mut car = |name: &str| store::car_text(name, None);
//! let healthy = scenario::parse_scenario(shipped.text, shipped.id, &mut car).unwrap();
//! let mut bench = Bench::standing(&healthy.setup).unwrap();
//! bench.act("", Action::Key(Key::On));
//! bench.advance_by(2.0);
//! bench.act("", Action::Key(Key::Crank));
//! bench.advance_by(30.0);
//! assert!(bench.observe().live.running);
//! ```
pub use idlewright_model::bench;
pub use idlewright_model::catalogue;
pub use idlewright_model::ecm;
pub use idlewright_model::label;
pub use idlewright_model::link;
pub use idlewright_model::num;
pub use idlewright_model::plant;
pub use idlewright_model::signals;
pub use idlewright_model::units;

pub mod app;
pub mod batch;
#[cfg(feature = "class")]
pub mod class;
pub mod cli;
pub mod evidence;
pub mod lesson;
pub mod net;
pub mod report;
pub mod scenario;
pub mod session;
pub mod store;
#[cfg(feature = "panels")]
pub mod window;
pub mod words;
