//! A view for who looks: what a trainee is given holds no truth under a closed lid, an instructor sees it all the same.
#![expect(clippy::disallowed_methods, reason = "waits for a thread that is paced by the wall clock")]

use idlewright::app::view::{Known, View, of_live, view};
use idlewright::app::{NoFiles, Options, Viewer, load, trainee::Trainee};
use idlewright::bench::action::{Action, Key, PartChoice, PartKind};
use idlewright::bench::trace::COLUMNS;
use idlewright::session::desk::{Desk, Reach};
use idlewright::session::live::{Live, Order};
use serde_json::Value;

fn desk() -> Desk {
    let high = load::scenario(&NoFiles, "idles-high", &Trainee::default()).expect("ships");
    let mut d = Desk::new(&high.scenario, &Options::default(), &mut |_| true).expect("a desk");
    d.advance(5.0);
    d
}

fn seen(d: &Desk, viewer: Viewer) -> (View, Value, String) {
    let v = view(d, &[], viewer, Known::default());
    let text = serde_json::to_string(&v).expect("serialises");
    (v, serde_json::from_str(&text).expect("reads back"), text)
}

/// Numbers that tell something: so many digits that none stands elsewhere by chance.
fn numbers(v: &Value, out: &mut Vec<String>) {
    match v {
        Value::Number(n) if n.to_string().len() >= 10 => out.push(n.to_string()),
        Value::Array(all) => all.iter().for_each(|v| numbers(v, out)),
        Value::Object(all) => all.values().for_each(|v| numbers(v, out)),
        _ => {}
    }
}

#[test]
fn holds_a_trainees_view_has_no_truth_that_the_instructors_has() {
    let d = desk();
    let (instructor, json, instructors) = seen(&d, Viewer::Instructor);
    let (trainee, _, trainees) = seen(&d, Viewer::Trainee);
    let mut hidden = Vec::new();
    numbers(&json["first"]["truth"], &mut hidden);
    for (k, name) in instructor.columns.iter().enumerate() {
        if COLUMNS.iter().any(|c| c.name == *name && c.truth) {
            json["rows"].as_array().expect("rows").iter().for_each(|row| numbers(&row[k], &mut hidden));
            assert!(!trainee.columns.contains(name), "{name}");
        }
    }
    // where the module has learned just what is true, its own value is no secret of the world's
    let mut believed = Vec::new();
    numbers(&json["first"]["seen"], &mut believed);
    hidden.retain(|n| !believed.contains(n));
    assert!(hidden.len() > 10, "{hidden:?}");
    for number in &hidden {
        assert!(instructors.contains(number.as_str()));
        assert!(!trainees.contains(number.as_str()), "a trainee is given {number}");
    }
    assert!(trainee.first.truth.is_none() && trainee.grade.is_none() && instructor.first.truth.is_some());
    // nothing else is kept from the trainee: what can be measured and read stands in both
    assert_eq!(trainee.first.seen.live, instructor.first.seen.live);
    // while the module answers; with the key off nothing is measured
    assert!(trainee.rows.last().is_some_and(|row| !row.iter().any(|x| x.is_nan())));
}

#[test]
fn holds_an_instructors_look_leaves_no_trace() {
    let d = desk();
    let before = (d.session().bench().state_hash(), d.session().bench().log().len());
    let (v, _, _) = seen(&d, Viewer::Instructor);
    assert!(!v.lid_open, "the trainee's lid stays closed");
    assert_eq!((d.session().bench().state_hash(), d.session().bench().log().len()), before);
    assert!(!d.hand_in().lid_open, "nobody who worked has seen truth");
}

#[test]
fn holds_an_open_lid_shows_the_trainee_the_same() {
    let mut d = desk();
    d.lid(true).expect("may be opened");
    assert_eq!(seen(&d, Viewer::Trainee).0.first, seen(&d, Viewer::Instructor).0.first);
}

#[test]
fn holds_what_is_known_is_not_given_again() {
    let mut d = desk();
    let (first, _, _) = seen(&d, Viewer::Trainee);
    d.advance(2.0);
    let _ = d.act("", &Action::Key(Key::Off), Reach::Both);
    let known = Known { epoch: first.epoch, rows: first.rows.len(), lines: first.lines.len() };
    let more = view(&d, &[], Viewer::Trainee, known);
    let (all, _, _) = seen(&d, Viewer::Trainee);
    // what was not measured is not a number, and the same again
    let bits = |rows: &[Vec<f64>]| rows.iter().map(|r| r.iter().map(|x| x.to_bits()).collect()).collect();
    let (given, whole): (Vec<Vec<u64>>, Vec<Vec<u64>>) =
        (bits(&[first.rows, more.rows].concat()), bits(&all.rows));
    assert_eq!(given, whole);
    assert_eq!([first.lines, more.lines].concat(), all.lines);
    d.fork();
    let anew = view(&d, &[], Viewer::Trainee, known);
    assert_eq!((anew.rows_from, anew.lines_from), (0, 0), "another epoch: all is given anew");
}

#[test]
fn holds_questions_do_not_tell_what_is_right() {
    let high = load::scenario(&NoFiles, "idles-high", &Trainee::default()).expect("ships");
    let right: Vec<String> = high.scenario.plan.iter().flat_map(|p| &p.asks).map(|a| a.why.clone()).collect();
    let live = Live::start(high.scenario, Options::default(), || ());
    while live.conditioning().is_some() {
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    assert!(live.order(Order::Do(Action::Key(Key::Off), Reach::Both)));
    assert!(live.order(Order::Do(Action::Fit(PartChoice::new(PartKind::ThrottleBody)), Reach::Both)));
    let v = of_live(&live, Viewer::Trainee, Known::default()).expect("it runs");
    assert_eq!(v.questions[0].id, "cause");
    assert!(v.questions[0].choices.len() > 1);
    let text = serde_json::to_string(&v).expect("serialises");
    // as a key: a choice may well have that word for its id
    assert!(!text.contains("\"right\":"), "{text}");
    let told: Vec<&String> =
        right.iter().filter(|why| !why.is_empty() && text.contains(why.as_str())).collect();
    assert!(told.is_empty(), "{told:?}");
    assert!(of_live(&live, Viewer::Instructor, Known::default()).expect("it runs").first.truth.is_some());
}
