//! A logbook that was handed in: read, and judged up to where something would be simulated. What reads is written again
//! from its parts and reads as the same; a line changed behind its sum is known by it.
#![no_main]

use idlewright::app::replay::{How, judge};
use idlewright::session::logbook::{Claims, Logbook, Unfit};
use idlewright::words::facts;
use idlewright_fuzz::FILE;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let _ = Claims::of(text).who();
    match Logbook::read(text) {
        Ok(book) => {
            let lines = book.lines.iter().map(|l| l.text.as_str());
            let all: Vec<&str> =
                [book.header.as_str()].into_iter().chain(lines).chain([book.end.as_str()]).collect();
            assert_eq!(Logbook::read(&(all.join("\n") + "\n")).as_ref(), Ok(&book));
            if book.sum_holds {
                let longer = [
                    &all[..1],
                    &[r#"{"t_s":0.0,"kind":{"timed_out":{"id":"x","waited_for":"x"}}}"#],
                    &all[1..],
                ];
                let changed = Logbook::read(&longer.concat().join("\n"));
                assert!(!changed.is_ok_and(|b| b.sum_holds), "a line more, and the sum still holds");
            }
        }
        Err(Unfit::NotOne(why) | Unfit::OtherVersion(why)) => assert!(!facts::reason(&why).is_empty()),
        Err(Unfit::Broken(line, why)) => {
            assert!(!facts::reason(&why).is_empty());
            assert!((1..=1 + text.matches('\n').count()).contains(&line), "line {line}");
        }
    }
    // stopped before anything is simulated; for an eighth of the inputs, since it builds a bench
    if bytes.len().is_multiple_of(8) {
        let _ = judge(FILE, text, &How::default(), false, &|| Ok(()), &mut |_| false);
    }
});
