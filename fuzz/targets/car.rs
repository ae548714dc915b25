//! A car's file. What is accepted is accepted again, stands on a bench, and runs for a moment with the key on and at
//! cranking; what is refused is refused in words.
#![no_main]

use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key};
use idlewright::bench::car::Car;
use idlewright::bench::setup::Setup;
use idlewright::words::facts;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match Car::parse(text) {
        Ok(car) => {
            let again = Car::parse(text).expect("accepted before");
            assert_eq!((again.name, again.title), (car.name, car.title));
            let setup = Setup::healthy(text, 1, 20.0);
            let Ok(mut bench) = Bench::standing(&setup) else { return };
            let _ = bench.act("", Action::Key(Key::On));
            bench.advance_by(0.05);
            let _ = bench.act("", Action::Key(Key::Crank));
            bench.advance_by(0.1);
            let _ = bench.observe();
            // and what it came to is kept and read again
            let bytes = bench.to_bytes();
            let kept = Bench::from_bytes(&setup, &bytes).expect("its own bytes");
            assert_eq!(kept.state_hash(), bench.state_hash());
        }
        Err(e) => {
            assert!(!facts::car(&e).is_empty());
            let lines = 1 + text.matches('\n').count();
            assert!(e.line.is_none_or(|line| (1..=lines).contains(&line)), "line {:?} of {lines}", e.line);
        }
    }
});
