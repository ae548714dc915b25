//! Forks and twins: two futures of one session share nothing and, with the same acts, are the same bytes.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(clippy::disallowed_methods, reason = "pages are written and read")]

use crate::bay::jobs::{self, actions, scenario};
use crate::bay::program::{err, folder, go, out};
use idlewright::scenario::{ActionFile, Scenario};
use idlewright::session::twin::{Named, NoAct, named};
use idlewright::session::{Run, Session};
use serde_json::Value;

fn session(scenario: &Scenario, actions: Option<&ActionFile>) -> Session {
    jobs::session(scenario, actions, &jobs::lid_open())
}

/// The bytes of a run: everything but the time that computing it took.
fn bytes(run: &Run) -> (String, Value, idlewright::bench::trace::Trace, String) {
    let mut v = run.json();
    v["cpu_s"] = Value::Null;
    (run.bench.state_hash(), v, run.trace.clone(), format!("{:?} {:?}", run.logbook(), run.judged))
}

/// A fork at any moment, before hand-over, in the midst of a wait and late, goes the way of its trunk.
#[test]
fn same_fork_and_rejoin_of_a_session() {
    let (fast, trap) = (scenario("fast-since-a-new-throttle"), actions("fast-since-a-new-throttle/trap-1"));
    let start = session(&fast, Some(&trap));
    let whole = bytes(&start.clone().run(&mut |_| true));
    let mut trunk = start.clone();
    for at_s in [0.0, 2.5, 30.03, 69.0, 77.777, 150.0, 1e9] {
        let over = trunk.advance(at_s);
        assert_eq!(over, at_s > 1e8);
        let hash = trunk.bench().state_hash();
        let fork = trunk.clone();
        assert_eq!(bytes(&fork.run(&mut |_| true)), whole, "forked at {at_s} s");
        assert_eq!(trunk.bench().state_hash(), hash, "a fork shares nothing with its trunk");
    }
    assert_eq!(bytes(&trunk.run(&mut |_| true)), whole);
}

#[test]
fn same_twins_with_nothing_left_out() {
    let (fast, trap) = (scenario("fast-since-a-new-throttle"), actions("fast-since-a-new-throttle/trap-2"));
    let start = session(&fast, Some(&trap));
    let whole = bytes(&start.clone().run(&mut |_| true));
    let twin = start.clone().twin(&[], &mut |_| true).expect("not stopped");
    assert!(twin.same() && twin.forked_s.is_none());
    assert_eq!(bytes(&twin.done), whole);
    assert_eq!(bytes(&twin.without), whole);
    // an act that nobody does changes nothing either
    let nobody = Named { trainee: true, id: "nobody".into() };
    let twin = start.clone().twin(&[nobody], &mut |_| true).expect("not stopped");
    assert!(twin.same() && twin.forked_s.is_none());
    // done is the plain run, whatever the other leaves out
    let glass = named("glass-on", &fast, Some(&trap), true).expect("an act");
    let twin = start.twin(&[glass], &mut |_| true).expect("not stopped");
    assert_eq!(bytes(&twin.done), whole);
    assert!(!twin.same());
}

/// Left out is what a file without the act would have done, with the same time passing.
#[test]
fn same_left_out_as_never_written() {
    let (fast, solution) =
        (scenario("fast-since-a-new-throttle"), actions("fast-since-a-new-throttle/solution"));
    let act = named("second-glass-off", &fast, Some(&solution), true).expect("an act");
    let twin = session(&fast, Some(&solution)).twin(&[act], &mut |_| true).expect("not stopped");
    let forked_s = twin.forked_s.expect("it fell due");
    let mut shorter = solution.clone();
    let k = shorter.acts.iter().position(|a| a.id == "second-glass-off").unwrap();
    shorter.acts[k].hand = idlewright::bench::action::Action::Wait;
    let run = session(&fast, Some(&shorter)).run(&mut |_| true);
    assert_eq!(run.bench.state_hash(), twin.without.bench.state_hash());
    assert_eq!(run.trace, twin.without.trace);
    // until they part the traces are one
    // what was not measured is not a number, and the same in both
    let bits = |row: &[f64]| row.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
    let before = |r: &Run| r.trace.rows().take_while(|row| row[0] < forked_s).map(bits).collect();
    let (a, b): (Vec<_>, Vec<_>) = (before(&twin.done), before(&twin.without));
    assert!(a == b && a.len() > 100);
}

#[test]
fn exact_names_of_acts() {
    let (high, solution) = (scenario("idles-high"), actions("idles-high/solution"));
    let of = |word: &str, open: bool| named(word, &high, Some(&solution), open);
    assert_eq!(of("reset", false), Ok(Named { trainee: true, id: "reset".into() }));
    assert_eq!(of("hand-over", false), Ok(Named { trainee: false, id: "hand-over".into() }));
    assert_eq!(of("scenario:start", false), Ok(Named { trainee: false, id: "start".into() }));
    assert_eq!(of("actions:start", false), Ok(Named { trainee: true, id: "start".into() }));
    assert_eq!(of("start", false), Err(NoAct::InBoth { act: "start".into() }));
    let fault = "throttle-cleaned".to_owned();
    assert!(
        matches!(of("nothing", true), Err(NoAct::Unknown { of_scenario, .. }) if of_scenario.contains(&fault))
    );
    // a word that both files have is listed as it has to be written
    let Err(NoAct::Unknown { of_actions, of_scenario, .. }) = of("nothing", true) else { panic!() };
    assert!(of_actions.contains(&"actions:start".into()) && of_actions.contains(&"reset".into()));
    assert!(of_scenario.contains(&"scenario:start".into()) && !of_scenario.contains(&"reset".into()));
    // what tells the fault is not there under a closed lid
    assert!(
        matches!(of(&fault, false), Err(NoAct::NotUnderLid { of_scenario, .. }) if !of_scenario.contains(&fault))
    );
    assert_eq!(of("throttle-cleaned", true), Ok(Named { trainee: false, id: "throttle-cleaned".into() }));
}

/// idles-high with and without the reset: the learn is refused, the idle stays high, the lamp comes on.
#[test]
fn holds_idles_high_without_the_reset() {
    let dir = folder("high");
    let args = ["twin", "idles-high", "--actions", "idles-high/solution", "--without", "reset", "--out", "x"];
    let table = go(&dir, &args);
    assert_eq!(table.status.code(), Some(0), "{}", err(&table));
    let table = out(&table);
    assert!(table.lines().all(|l| l.chars().count() <= 100), "{table}");
    let row = |what: &str| {
        table.lines().find(|l| l.contains(what)).unwrap_or_else(|| panic!("{what}:\n{table}")).to_string()
    };
    assert!(row("idle speed, mean").starts_with('*'));
    assert!(row("closed throttle stop").starts_with(' '));
    assert!(row("code P0507").contains("not stored  ") && row("code P0507").contains("  pending, confirmed"));
    let page = std::fs::read_to_string(dir.join("x/twin.html")).expect("a page");
    for told in [
        "left out",
        "circles",
        "What this page shows",
        "Cautions",
        "The runs differ from here",
        "Learned idle air",
    ] {
        assert!(page.contains(told), "{told}");
    }
    // a closed lid on this page too, and nothing asked for from outside
    for bad in ["true_", "line truth", "deposit", "throttle-cleaned", "<script", "http", "src=", "@import"] {
        assert!(!page.contains(bad), "{bad}");
    }
    let o = go(&dir, &[&args[..6], &["--json"]].concat());
    let v: Value = serde_json::from_str(&out(&o)).expect("an object");
    assert_eq!((&v["same"], &v["left_out"][0]), (&Value::from(false), &Value::from("reset")));
    assert!(v["done"]["idle"]["mean_rpm"].as_f64().unwrap() < 740.0);
    assert!(v["without"]["idle"]["mean_rpm"].as_f64().unwrap() > 950.0);
    assert!(v["done"].get("truth").is_none() && v["without"].get("truth").is_none());
    assert_eq!(v["done"]["simulated_s"].as_f64().map(f64::round), Some(944.0));
    // the same page again
    assert_eq!(go(&dir, &[&args[..7], &["y"]].concat()).status.code(), Some(0));
    assert!(page == std::fs::read_to_string(dir.join("y/twin.html")).expect("a page"));
}

#[test]
fn trips_wrong_acts() {
    let dir = folder("wrong");
    for (args, code) in [
        (&["twin", "healthy-idle"][..], 2),
        (&["twin", "healthy-idle", "--without", "nothing"], 2),
        (&["twin", "idles-high", "--without", "throttle-cleaned"], 2),
        (&["twin", "idles-high", "--without", "key-on", "--also", "nothing"], 2),
        (&["twin", "nowhere.toml", "--without", "x"], 4),
    ] {
        let o = go(&dir, args);
        assert_eq!(o.status.code(), Some(code), "{args:?}: {}", err(&o));
        assert!(o.stdout.is_empty());
    }
    assert!(std::fs::read_dir(&dir).expect("a folder").next().is_none(), "nothing is written");
}
