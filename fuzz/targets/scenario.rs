//! A scenario's file: read as written, for a trainee, and with one of its numbers replaced (the path stands behind the
//! first zero byte). What is accepted is accepted again as the same, and its start and acts come back from their JSON.
#![no_main]

use idlewright::app::load::Origin;
use idlewright::bench::setup::Setup;
use idlewright::scenario::{Over, Scenario, ScenarioError, Who, parse_scenario_over};
use idlewright_fuzz::{FILE, car_text, refused, same_when_written};
use libfuzzer_sys::fuzz_target;

fn read(text: &[u8], who: Option<&Who>, over: &[Over]) -> Result<Scenario, ScenarioError> {
    parse_scenario_over(text, FILE, &mut |name| car_text(name), who, over)
}

fuzz_target!(|bytes: &[u8]| {
    let (text, path) = match bytes.iter().position(|b| *b == 0) {
        Some(at) => (&bytes[..at], String::from_utf8_lossy(&bytes[at + 1..]).into_owned()),
        None => (bytes, "setup.coolant_c".to_owned()),
    };
    let scenario = match read(text, None, &[]) {
        Ok(scenario) => scenario,
        Err(e) => return refused(text, &e),
    };
    assert_eq!(read(text, None, &[]).as_ref(), Ok(&scenario));
    let setup = serde_json::to_string(&scenario.setup).expect("a start is written");
    assert_eq!(serde_json::from_str::<Setup>(&setup).expect("and read"), scenario.setup);
    same_when_written(&scenario.acts);
    // the rest costs more than all before: the length says which of it this input goes through
    match bytes.len() % 4 {
        0 => {
            let who = Who::new(7, "bench 1", None).expect("a trainee");
            match read(text, Some(&who), &[]) {
                Ok(variant) => assert_eq!(read(text, Some(&who), &[]), Ok(variant)),
                Err(e) => refused(text, &e),
            }
        }
        1 | 2 => {
            let value = if bytes.len() % 4 == 1 { 0.0 } else { -2.5 };
            if let Err(e) = read(text, None, &[Over::new(&path, value)]) {
                refused(text, &e);
            }
        }
        _ => {
            // against the car: paths, cylinders, the end
            let origin = Origin { file: FILE.to_owned(), bytes: text.to_vec(), beside: None };
            let _ = origin.read(None);
        }
    }
});
