//! A ticket and a key. What reads is written again and reads as the same; a seal holds only if the key made it, and a
//! ticket admits to the text alone that it was made for.
#![no_main]

use idlewright::bench::record::hash_of_text;
use idlewright::scenario::Who;
use idlewright::session::ticket::{Key, Seal, Ticket};
use libfuzzer_sys::fuzz_target;

const SCENARIO: &str = "a scenario";

fuzz_target!(|bytes: &[u8]| {
    let key = Key::new(b"sixteen bytes at least, for a key").expect("a key");
    if let Ok(own) = Key::new(bytes) {
        let who = Who::new(1, "bench 1", None).expect("a trainee");
        let sealed = Who { seal: Some(own.seal("id", "hash", &who)), ..who };
        assert_eq!(own.check("id", "hash", &sealed), Seal::Sealed);
        // HMAC fills a key up with zero bytes, so two texts may be one key
        let same = own.seal("id", "hash", &sealed) == key.seal("id", "hash", &sealed);
        assert_eq!(key.check("id", "hash", &sealed) == Seal::Sealed, same);
    }
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Ok(ticket) = Ticket::read(text) else { return };
    assert_eq!(Ticket::read(&ticket.text()), Ok(ticket.clone()));
    let fits = ticket.hash == hash_of_text(SCENARIO);
    match ticket.clone().who(SCENARIO) {
        Ok(who) => {
            assert!(fits, "a ticket for another text");
            let made = key.seal(&ticket.scenario, &ticket.hash, &who);
            let held = key.check(&ticket.scenario, &ticket.hash, &who);
            assert_eq!(held == Seal::Sealed, made == ticket.seal, "{ticket:?}");
        }
        Err(_) if fits => assert!(Who::new(ticket.class_seed, &ticket.trainee, None).is_err()),
        Err(_) => {}
    }
});
