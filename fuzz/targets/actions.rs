//! An action file: alone, and against a scenario with variants. What is accepted is accepted again as the same, and its
//! acts come back from a logbook's JSON.
#![no_main]

use idlewright::app::NoFiles;
use idlewright::app::load::{Loaded, Origin, hands_of};
use idlewright::scenario::{parse_actions_bytes, parse_actions_for};
use idlewright_fuzz::{FILE, refused, same_when_written};
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

static VARIED: LazyLock<Loaded> = LazyLock::new(|| {
    let origin = Origin::find(&NoFiles, "idles-a-little-fast").expect("it ships");
    origin.read(None).expect("it reads")
});

fuzz_target!(|bytes: &[u8]| {
    match parse_actions_bytes(bytes, FILE) {
        Ok(actions) => {
            same_when_written(&actions.acts);
            assert_eq!(parse_actions_bytes(bytes, FILE), Ok(actions));
        }
        Err(e) => refused(bytes, &e),
    }
    if let Err(e) = parse_actions_for(bytes, FILE, &VARIED.scenario.vary) {
        return refused(bytes, &e);
    }
    if let Ok(hands) = hands_of(FILE, bytes, &VARIED) {
        same_when_written(&hands.actions.acts);
        assert_eq!(hands.text.as_bytes(), bytes, "a logbook carries the text as it was");
    }
});
