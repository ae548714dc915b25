//! Rows that are laid over a rubric, and answers to questions. What is accepted is accepted again as the same, and laid
//! over a lesson; under a closed lid no row may ask for truth.
#![no_main]

use idlewright::app::load::{Loaded, Origin, Rows, answers};
use idlewright::app::{Error, NoFiles, Wrong};
use idlewright::scenario::{parse_answers, parse_rubric};
use idlewright_fuzz::{FILE, One, refused};
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

static LESSON: LazyLock<Loaded> = LazyLock::new(|| {
    let origin = Origin::find(&NoFiles, "idles-high").expect("it ships");
    origin.read(None).expect("it reads")
});

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match parse_rubric(text, FILE) {
        Ok(rows) => {
            assert_eq!(parse_rubric(text, FILE), Ok(rows));
            match Rows::read(&One(bytes), FILE) {
                Ok(rows) => {
                    let open = rows.over(&LESSON, true);
                    let closed = rows.over(&LESSON, false);
                    assert!(
                        open.is_ok() || closed.is_err(),
                        "what a closed lid lets pass an open one does too"
                    );
                }
                // well written, of an action that there is not
                Err(Error::Input(Wrong { place: Some(_), mistake: Some(_), .. })) => {}
                Err(e) => panic!("{e:?}"),
            }
        }
        Err(e) => refused(bytes, &e),
    }
    match parse_answers(text, FILE) {
        Ok(given) => {
            assert_eq!(parse_answers(text, FILE), Ok(given));
            let _ = answers(&One(bytes), FILE, &LESSON);
        }
        Err(e) => refused(bytes, &e),
    }
});
