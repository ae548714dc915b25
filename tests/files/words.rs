//! The words room: messages of a language, their fallback, the pseudo-language, numbers.

use idlewright::words::numbers::{Units, clock, number, signed};
use idlewright::words::{Error, Words, say, speak};
use std::sync::Arc;

#[test]
fn holds_every_shipped_message_reads() {
    assert_eq!(Words::english().tag(), "en");
}

#[test]
fn exact_numbers_read_well() {
    assert_eq!(number(-0.0004, 2), "0.00");
    assert_eq!(signed(0.5, 1), "+0.5");
    assert_eq!(signed(-12.0, 0), "\u{2212}12");
    assert_eq!(clock(3725.0), "1:02:05");
    assert_eq!(Units::Us.value(100.0, "°C"), "212 °F");
}

#[test]
fn holds_what_a_language_lacks_is_said_in_english() {
    let own = "decimal-sign = ,\ngreeting = Guten Tag\n";
    let german = Arc::new(Words::of("de", &[("own.ftl", own)]).unwrap());
    let _speaking = speak(&german);
    assert_eq!(say("greeting"), "Guten Tag");
    assert_eq!(number(1.5, 1), "1,5");
    assert_eq!(say("no-such-message"), "⟨no-such-message⟩");
}

#[test]
fn trips_on_a_file_that_is_no_fluent_and_on_a_message_that_stands_twice() {
    assert!(matches!(Words::of("de", &[("own.ftl", "?? = x")]), Err(Error::Syntax(..))));
    let twice = [("a.ftl", "greeting = a\n"), ("b.ftl", "greeting = b\n")];
    assert!(matches!(Words::of("de", &twice), Err(Error::Twice(..))));
    assert!(matches!(Words::of("?", &[]), Err(Error::Tag(_))));
}
