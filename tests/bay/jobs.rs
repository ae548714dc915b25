//! Jobs: scenarios that ship, their action files, and runs of them.

use idlewright::scenario::{ActionFile, Scenario, parse_actions, parse_scenario};
use idlewright::session::live::{Live, View};
use idlewright::session::{Options, Run, Session};
use idlewright::store;

/// A scenario from its text.
pub fn read(text: &str, file: &str) -> Scenario {
    parse_scenario(text, file, &mut |car| store::car_text(car, None)).expect(file)
}

/// A scenario that ships, by its id.
pub fn scenario(name: &str) -> Scenario {
    let s = store::shipped(name).expect("a shipped scenario");
    read(s.text, s.id)
}

/// An action file that ships.
pub fn actions(name: &str) -> ActionFile {
    let (file, text) = store::shipped_actions(name).expect("a shipped action file");
    parse_actions(text, file).expect(name)
}

/// A scenario that waits to be run.
pub fn session(scenario: &Scenario, actions: Option<&ActionFile>, options: &Options) -> Session {
    Session::new(scenario, actions, options, &mut |_| true).expect("a session")
}

/// A scenario run to its end.
pub fn run(scenario: &Scenario, actions: Option<&ActionFile>, options: &Options) -> Run {
    session(scenario, actions, options).run(&mut |_| true)
}

/// With an open lid, else as usual.
pub fn lid_open() -> Options {
    Options { lid_open: true, ..Options::default() }
}

/// Waits for a thread that is paced by the wall clock, for so long at most \[s\].
#[expect(clippy::disallowed_methods, reason = "waits for a thread that is paced by the wall clock")]
pub fn wait_for(live: &Live, most_s: u64, is: impl Fn(&View) -> bool) {
    let since = std::time::Instant::now();
    while !is(&live.view()) {
        assert!(live.trouble().is_none(), "{:?}", live.trouble());
        assert!(since.elapsed().as_secs() < most_s, "{:?}", live.view().said);
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
}
