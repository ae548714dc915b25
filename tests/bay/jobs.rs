//! Jobs: scenarios that ship, their action files, and runs of them.

use idlewright::scenario::{ActionFile, Mistake, Scenario, parse_actions, parse_scenario};
use idlewright::session::live::{Live, View};
use idlewright::session::{Options, Run, Session};
use idlewright::store;
use idlewright::words::{Words, facts, speak};
use serde_json::{Value, json};

/// A scenario from its text.
pub fn read(text: &str, file: &str) -> Scenario {
    parse_scenario(text, file, &mut |car| store::car_text(car, None)).expect(file)
}

/// Fails unless this stands in the fact of what is wrong with a file.
#[track_caller]
pub fn is_mistake(what: &str, mistake: &Mistake, wanted: &str) {
    let is = format!("{mistake:?}");
    assert!(is.contains(wanted), "{what}: wanted {wanted}, got {is}");
    let _speaking = speak(&Words::pseudo());
    let told = facts::mistake(mistake);
    let left = plain_words(&told, &json!(mistake));
    assert!(left.is_empty(), "{what}: {left:?} is plain English in {told}");
}

/// Words of three letters or more that a sentence in the pseudo-language has outside of its brackets, without those that
/// the fact itself holds: words of the file, and what TOML and the system say.
fn plain_words(told: &str, fact: &Value) -> Vec<String> {
    fn leaves(v: &Value, out: &mut Vec<String>) {
        match v {
            Value::String(text) => out.push(text.clone()),
            Value::Array(all) => all.iter().for_each(|v| leaves(v, out)),
            Value::Object(all) => all.values().for_each(|v| leaves(v, out)),
            _ => {}
        }
    }
    let mut own = Vec::new();
    leaves(fact, &mut own);
    own.sort_by_key(|text| std::cmp::Reverse(text.len()));
    let mut bare = told.to_owned();
    own.iter().filter(|text| !text.is_empty()).for_each(|text| bare = bare.replace(text.as_str(), " "));
    let mut deep = 0;
    let outside = bare.chars().map(|c| {
        deep += i32::from(c == '⟦') - i32::from(c == '⟧');
        if deep == 0 { c } else { ' ' }
    });
    let outside: String = outside.collect();
    let words = outside.split(|c: char| !c.is_ascii_alphabetic()).filter(|w| w.len() > 2);
    words.map(str::to_owned).collect()
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
