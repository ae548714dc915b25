//! The wall: what the instructor sees and orders.

use crate::bay::program::{ends, folder, go};
use crate::support::{HEALTHY, LESSON, Page, Served, WORD};
use serde_json::{Value, json};

fn wall(served: &Served) -> (Page, String) {
    let cookie = served.instructor();
    let mut page = served.page("/wall/ws", &cookie);
    let hello = page.until("hello", |v| v["kind"] == "hello");
    assert!(hello["lessons"].as_array().expect("lessons").len() > 40 && hello["faults"].is_array());
    (page, cookie)
}

#[track_caller]
fn ordered(page: &mut Page, order: Value) -> Value {
    page.send(&order);
    page.until(&format!("answer to {order}"), |v| v["kind"] == "done" && v["n"] == order["n"])
}

/// Waits for a seat's tile that is like this.
#[track_caller]
fn tile(page: &mut Page, seat: u64, is: impl Fn(&Value) -> bool) -> Value {
    let of = |v: &Value| {
        v["tiles"].as_array().and_then(|t| t.iter().find(|t| t["seat"] == seat && is(t)).cloned())
    };
    let message = page.until("a tile", |v| of(v).is_some());
    of(&message).expect("it was found")
}

#[test]
fn holds_the_instructor_sees_and_orders_what_a_seat_cannot() {
    let served = Served::new("wall", LESSON);
    let (mut seat, seat_cookie) = served.seat("otter");
    let (mut page, cookie) = wall(&served);
    // a seat's cookie is none for the wall
    let own = format!("http://{}", served.host);
    assert_eq!(served.socket("/wall/ws", &seat_cookie.replace("seat=", "wall="), &own).err(), Some(403));
    for path in ["/wall/marks.csv", "/wall/debriefs", "/wall/statements.json", "/wall/logbooks/1-1.jsonl"] {
        assert_eq!(served.http("GET", path, &[("Cookie", &seat_cookie)], "").0, 403, "{path}");
    }
    tile(&mut page, 1, |t| t["state"] == "under_way" && t["stage"] == "looks");
    seat.act(json!({ "measure": "thermometer" }));
    tile(&mut page, 1, |t| t["stage"] == "measures");
    // looked at with truth, while the trainee has none
    ordered(&mut page, json!({ "kind": "look", "n": 1, "seat": 1 }));
    let look = page.until("a look", |v| v["kind"] == "look");
    assert!(look["view"]["first"]["truth"].is_object() && look["view"]["viewer"] == "instructor");
    assert_eq!(seat.view["view"]["lid_open"], false);
    assert!(seat.frames.iter().all(|f| !f.contains("\"truth\":{")));
    ordered(&mut page, json!({ "kind": "project", "n": 2, "seat": 1 }));
    let shown = page.until("the projector", |v| v["kind"] == "project");
    assert!(shown["view"]["first"]["truth"].is_null() && !shown.to_string().contains("otter"));
    // forbidden, paused, noted, slipped in
    ordered(&mut page, json!({ "kind": "allow", "n": 3, "to": [1], "rewind": false, "lid": false }));
    assert!(seat.order(json!({ "kind": "rewind", "mark": 0 })).is_some());
    assert!(seat.order(json!({ "kind": "lid", "open": true })).is_some());
    ordered(&mut page, json!({ "kind": "pause", "n": 4, "to": "all" }));
    seat.until("the pause", |v| v["kind"] == "state" && v["held_by_instructor"] == true);
    ordered(&mut page, json!({ "kind": "start", "n": 5, "to": "all" }));
    ordered(&mut page, json!({ "kind": "note", "n": 6, "to": [1], "text": "<b>Look</b>\u{7} at the trims" }));
    let note = seat.until("the note", |v| v["kind"] == "note");
    assert_eq!(note["text"], "<b>Look</b> at the trims");
    ordered(&mut page, json!({ "kind": "slip", "n": 7, "to": "all", "act": { "leak": 12.0 } }));
    let marks = seat.until_view("the mark", |v| v["marks"].as_array().is_some_and(|m| m.len() > 2));
    let names: Vec<&str> =
        marks["view"]["marks"].as_array().into_iter().flatten().filter_map(|m| m[0].as_str()).collect();
    assert!(
        !names.iter().any(|name| name.contains("12") || name.contains("leak")),
        "what it was is not said: {names:?}"
    );
    let frames = seat.frames.join("\n");
    assert!(!frames.contains("\"leak\":12"), "no frame of a seat says what was made faulty");
    assert!(!frames.contains("\"teaches\""), "nor what the job teaches");
    let refused = ordered(&mut page, json!({ "kind": "slip", "n": 8, "to": "all", "act": { "leak": 1e9 } }));
    assert!(refused["refused"].is_string());
    // any fault of a level, by the seat's own seed; a level that there is not is refused
    let before = marks["view"]["marks"].as_array().map_or(0, Vec::len);
    ordered(&mut page, json!({ "kind": "surprise", "n": 81, "to": "all", "level": 1 }));
    seat.until_view("another mark", |v| v["marks"].as_array().is_some_and(|m| m.len() > before));
    let refused = ordered(&mut page, json!({ "kind": "surprise", "n": 82, "to": "all", "level": 4 }));
    assert!(refused["refused"].is_string());
    let other = json!({ "kind": "surprise", "n": 83, "to": "all", "level": 1, "fault": "exhaust-leak" });
    assert!(ordered(&mut page, other)["refused"].is_string(), "it is of another level");
    assert!(!seat.frames.join("\n").contains("surprise"), "no frame of a seat says what was made faulty");
    // handed in, given other marks, released
    seat.order(json!({ "kind": "hand_in" }));
    tile(&mut page, 1, |t| t["handed_in"] == true);
    let refused =
        ordered(&mut page, json!({ "kind": "override", "n": 9, "seat": 1, "attempt": 1, "points": 3.0 }));
    assert!(refused["refused"].is_string(), "other marks need a reason");
    let reason = "=1+1 <i>by word of mouth</i>";
    ordered(
        &mut page,
        json!({ "kind": "override", "n": 10, "seat": 1, "attempt": 1, "points": 3.0, "reason": reason }),
    );
    ordered(&mut page, json!({ "kind": "release", "n": 11, "to": "all" }));
    seat.until("the debrief", |v| v["kind"] == "debrief");
    let own = |path: &str| served.http("GET", path, &[("Cookie", &seat_cookie)], "");
    let (metric, us) = (own("/debrief"), own("/debrief?units=us"));
    assert_eq!((metric.0, us.0), (200, 200));
    assert!(metric.2.contains("°C") && !metric.2.contains("°F"), "kept in metric units");
    assert!(us.2.contains("°F") && !us.2.contains("°C"), "kept in US units, too: the page asks for its own");
    let get = |path: &str| {
        let (status, _, body) = served.http("GET", path, &[("Cookie", &cookie)], "");
        assert_eq!(status, 200, "{path}: {body}");
        body
    };
    let csv = get("/wall/marks.csv");
    assert!(csv.contains("otter") && csv.contains("'=1+1"), "{csv}");
    let page_of_all = get("/wall/debriefs");
    assert!(page_of_all.contains("&lt;i&gt;by word of mouth") && !page_of_all.contains("<i>by word"));
    let statements: Value = serde_json::from_str(&get("/wall/statements.json")).expect("JSON");
    assert_eq!(statements[0]["result"]["score"]["raw"], 3.0);
    assert!(get("/wall/logbooks/1-1.jsonl").contains("\"end\""));
    ends(&go(&served.dir, &["verify", "class/logbooks", "--key", "class/key"]), 0);
}

/// Orders for seats that do not exist were "Done.", and any word meant all seats.
#[test]
fn bug_an_order_for_nobody_was_done() {
    let served = Served::new("nobody", LESSON);
    let (mut seat, _) = served.seat("otter");
    let (mut page, _) = wall(&served);
    let orders = [
        json!({ "kind": "pause", "to": "none" }),
        json!({ "kind": "pause", "to": [1, 99] }),
        json!({ "kind": "assign", "to": [99], "lesson": HEALTHY }),
        json!({ "kind": "release", "to": [99] }),
        json!({ "kind": "admit", "seat": 99 }),
        json!({ "kind": "delete", "seat": 99 }),
        json!({ "kind": "look", "seat": 99 }),
        json!({ "kind": "compare", "seats": [99], "columns": ["engine_speed_rpm"] }),
        json!({ "kind": "compare", "seats": [1], "columns": ["nonsense"] }),
    ];
    for (k, mut order) in orders.into_iter().enumerate() {
        order["n"] = json!(k);
        let answer = ordered(&mut page, order.clone());
        assert!(answer["refused"].is_string() && answer["text"].is_null(), "{order}: {answer}");
    }
    // nor was the one seat there is paused with the others
    tile(&mut page, 1, |t| t["paused"] == false);
    assert_eq!(seat.order(json!({ "kind": "mark", "name": "goes on" })), None);
}

/// Each name that was refused, because somebody had it, used up a seat's number and with it a tester's port.
#[test]
fn bug_refused_names_used_up_seats() {
    let served = Served::new("refused-names", HEALTHY);
    served.join("otter");
    for _ in 0..5 {
        assert_eq!(served.joins(json!({ "class": WORD, "seat": "OTTER" })).0, 409);
    }
    served.join("heron");
    let (mut page, _) = wall(&served);
    tile(&mut page, 2, |t| t["word"] == "heron");
}

/// One act numbered 2^64 − 1 made a seat's later acts look like repeats of earlier ones; an act after hand-over had no
/// answer.
#[test]
fn bug_a_seat_was_silenced_by_a_number() {
    let served = Served::new("numbers", LESSON);
    let (mut seat, _) = served.seat("otter");
    let ack = |seat: &mut Page, n: u64| {
        seat.send(&json!({ "kind": "mark", "name": "x", "n": n }));
        seat.until("an answer", |v| v["kind"] == "ack" && v["n"] == n)
    };
    assert!(ack(&mut seat, u64::MAX)["refused"].is_string());
    assert!(ack(&mut seat, 1)["refused"].is_null());
    let marks = |v: &Value| v["view"]["marks"].as_array().is_some_and(|m| m.iter().any(|m| m[0] == "x"));
    seat.until("the mark", marks);
    seat.send(&json!({ "kind": "hand_in", "n": 2 }));
    seat.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    assert!(ack(&mut seat, 3)["refused"].is_string());
}

#[test]
fn holds_a_seat_moves_to_another_tablet_by_a_code() {
    let served = Served::new("admit", HEALTHY);
    let (mut old, _) = served.seat("finch");
    let (mut page, _) = wall(&served);
    let code = ordered(&mut page, json!({ "kind": "admit", "n": 1, "seat": 1 }))["code"].clone();
    let with = |code: &Value| json!({ "class": crate::support::WORD, "seat": "finch", "code": code });
    assert_eq!(served.joins(with(&json!("000000x"))).0, 403);
    let (status, head, _) = served.joins(with(&code));
    assert_eq!(status, 200);
    assert_eq!(old.until_closed().as_deref(), Some("elsewhere"));
    assert!(head.contains("set-cookie: seat="));
    assert_eq!(served.joins(with(&code)).0, 403, "good once");
    // the class's word, which everybody knows, gives no further tries at a code
    let guesses: Vec<u16> = (0..12).map(|k| served.joins(with(&json!(format!("{k:06}")))).0).collect();
    assert_eq!((guesses[0], guesses[11]), (403, 429), "{guesses:?}");
    // and it goes, with all that is kept of it
    ordered(&mut page, json!({ "kind": "delete", "n": 2, "seat": 1 }));
    assert!(!served.class().join("journals/1-1.jsonl").exists());
}

#[expect(clippy::disallowed_methods, reason = "time is given to a car that must not use it")]
#[test]
fn holds_a_pause_and_what_is_allowed_outlive_a_kill() {
    let mut served = Served::new("paused", HEALTHY);
    let (mut seat, cookie) = served.seat("wren");
    let (mut page, _) = wall(&served);
    seat.order(json!({ "kind": "pace", "pace": 1.0 }));
    ordered(&mut page, json!({ "kind": "allow", "n": 1, "to": [1], "rewind": false }));
    ordered(&mut page, json!({ "kind": "pause", "n": 2, "to": [1] }));
    seat.until("the pause", |v| v["kind"] == "state" && v["held_by_instructor"] == true);
    served.kill();
    let dir = served.dir.clone();
    let served = Served::again(&dir, &[]);
    let mut seat = served.page("/seat/ws", &cookie);
    let hello = seat.until_handed_over();
    assert_eq!((&hello["held_by_instructor"], &hello["allowed"]["rewind"]), (&json!(true), &json!(false)));
    let time = |v: &Value| v["view"]["time_s"].as_f64().expect("a time");
    let first = time(&seat.until("a view", |v| v["kind"] == "view"));
    std::thread::sleep(std::time::Duration::from_secs(2));
    seat.act(json!({ "load": ["lamps", true] }));
    let later = time(&seat.until_view("the act", |v| v["first"]["hands"]["lamps"] == true));
    assert!((later - first).abs() < 0.1, "time ran from {first} to {later} s");
}

#[test]
fn holds_a_lesson_of_ones_own_is_a_folder() {
    let dir = folder("own-lesson");
    ends(&go(&dir, &["new", "class/lessons/mine", "--from", LESSON]), 0);
    let served = Served::again(&dir, &["--word", WORD, "--lesson", HEALTHY]);
    let (mut seat, _) = served.seat("teal");
    let cookie = served.instructor();
    let mut page = served.page("/wall/ws", &cookie);
    let hello = page.until("hello", |v| v["kind"] == "hello");
    let first = &hello["lessons"][0];
    assert_eq!((&first["id"], &first["own"], &first["marked"]), (&json!("mine"), &json!(true), &json!(true)));
    ordered(&mut page, json!({ "kind": "assign", "n": 1, "to": [1], "lesson": "mine" }));
    let hello = seat.until("the other lesson", |v| v["kind"] == "hello" && v["lesson"]["id"] == "mine");
    assert!(hello["lesson"]["causes"].as_array().is_some_and(|c| c.len() > 2));
    seat.until_handed_over();
}

/// What new seats get follows what was assigned to all, over a restart with the same command, too; an assignment that is
/// refused changes nothing.
#[test]
#[expect(clippy::disallowed_methods, reason = "a broken lesson is written into the class's folder")]
fn bug_a_refused_order_and_a_restart_changed_what_new_seats_get() {
    let dir = folder("joined-later");
    std::fs::create_dir_all(dir.join("class/lessons/broken")).expect("a folder");
    std::fs::write(dir.join("class/lessons/broken/scenario.toml"), "schema = 1\n").expect("a file");
    let command = ["--word", WORD, "--lesson", HEALTHY];
    let mut served = Served::again(&dir, &command);
    let lesson = |served: &Served, word: &str| {
        let cookie = served.join(word);
        served.page("/seat/ws", &cookie).until_handed_over()["lesson"]["id"].clone()
    };
    let cookie = served.instructor();
    let mut page = served.page("/wall/ws", &cookie);
    let refused = ordered(&mut page, json!({ "kind": "assign", "n": 1, "to": "all", "lesson": "broken" }));
    assert!(refused["refused"].is_string(), "{refused}");
    assert_eq!(lesson(&served, "teal"), HEALTHY);
    ordered(&mut page, json!({ "kind": "assign", "n": 2, "to": "all", "lesson": LESSON }));
    assert_eq!(lesson(&served, "rail"), LESSON);
    served.kill();
    let mut served = Served::again(&dir, &command);
    assert_eq!(lesson(&served, "snipe"), LESSON);
    // another lesson on the command line is another wish
    served.kill();
    let served = Served::again(&dir, &["--word", WORD, "--lesson", "hesitates"]);
    assert_eq!(lesson(&served, "crane"), "hesitates");
}

#[test]
fn holds_an_exam_is_one_attempt_without_a_way_back() {
    let served = Served::new("exam", HEALTHY);
    let (mut seat, cookie) = served.seat("rail");
    let (mut page, _) = wall(&served);
    let unmarked = ordered(&mut page, json!({ "kind": "exam", "n": 0, "lesson": HEALTHY }));
    assert!(unmarked["refused"].is_string(), "{unmarked}");
    let begun = ordered(&mut page, json!({ "kind": "exam", "n": 1, "lesson": LESSON, "minutes": 40 }));
    assert_eq!(begun["seats"], 1, "{begun}");
    let hello = seat.until_handed_over();
    assert_eq!((&hello["attempt"]["exam"], &hello["attempt"]["number"]), (&json!(true), &json!(2)));
    assert!(hello["attempt"]["clock_left_s"].as_u64().is_some_and(|s| s > 2300));
    for refused in [
        json!({ "kind": "lid", "open": true }),
        json!({ "kind": "fork" }),
        json!({ "kind": "rewind", "mark": 0 }),
    ] {
        assert!(seat.order(refused.clone()).is_some(), "{refused}");
    }
    seat.act(json!({ "key": "off" }));
    ordered(&mut page, json!({ "kind": "exam", "n": 2, "end": true }));
    seat.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    assert_eq!(
        served.http("GET", "/debrief", &[("Cookie", &cookie)], "").0,
        403,
        "not before it is released"
    );
}

#[test]
fn holds_answers_are_shown_when_all_have_answered() {
    let served = Served::new("bars", LESSON);
    let (mut first, _) = served.seat("one");
    let (mut second, _) = served.seat("two");
    let (mut page, _) = wall(&served);
    let refused = ordered(&mut page, json!({ "kind": "bars", "n": 1, "ask": "weather", "seconds": 600 }));
    assert!(refused["refused"].as_str().is_some_and(|why| why.contains("weather")), "{refused}");
    ordered(&mut page, json!({ "kind": "bars", "n": 2, "ask": "cause", "seconds": 600 }));
    let bars = page.until("the bars", |v| v["kind"] == "bars" && v["of"] == 2);
    assert!(bars["shown"] == false && bars["bars"].as_array().expect("bars").is_empty());
    // the causes to choose from come with the question that the first repair brings up
    let choices = |page: &mut Page| {
        page.act(json!({ "key": "off" }));
        page.act(json!("clean_throttle"));
        let asked = page.until_view("the question", |v| v["questions"][0]["id"] == "cause");
        asked["view"]["questions"][0]["choices"].clone()
    };
    let all = choices(&mut first);
    choices(&mut second);
    first.order(json!({ "kind": "answer", "ask": "cause", "says": all[0][0] }));
    page.until("one answer", |v| v["kind"] == "bars" && v["answered"] == 1 && v["shown"] == false);
    second.order(json!({ "kind": "answer", "ask": "cause", "says": all[1][0] }));
    let bars = page.until("both", |v| v["kind"] == "bars" && v["shown"] == true);
    let seats: u64 = bars["bars"].as_array().expect("bars").iter().filter_map(|b| b["seats"].as_u64()).sum();
    assert_eq!(seats, 2, "{bars}");
}
