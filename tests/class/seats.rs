//! A seat: what it does is what the command line does, nothing that was acknowledged is lost, and no frame holds truth.
#![expect(clippy::disallowed_methods, reason = "reads what the class wrote")]

use crate::bay::program::{ends, go};
use crate::support::{HEALTHY, LESSON, Served};
use idlewright::app::view::{Known, view};
use idlewright::app::{NoFiles, Options, Viewer, load, trainee::Trainee};
use idlewright::bench::trace::COLUMNS;
use idlewright::link::LiveValues;
use idlewright::session::desk::Desk;
use serde_json::{Value, json};

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
fn holds_a_seat_comes_to_the_same_as_the_command_line() {
    let served = Served::new("same", LESSON);
    let (mut page, cookie) = served.seat("otter");
    page.act(json!({ "key": "off" }));
    page.order(json!({ "kind": "on", "seconds": 2.0 }));
    page.until_time(2.0);
    page.act(json!({ "measure": { "inspect": "throttle_body" } }));
    page.order(json!({ "kind": "on", "seconds": 3.0 }));
    page.until_time(5.0);
    page.order(json!({ "kind": "answer", "ask": "cause", "says": "nothing of the kind" }));
    page.act(json!({ "key": "on" }));
    page.order(json!({ "kind": "hand_in" }));
    page.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    // its logbook is one like any other
    let logbook = served.class().join("logbooks/1-1.jsonl");
    ends(&go(&served.dir, &["verify", logbook.to_str().expect("a path"), "--key", "class/key"]), 0);
    // not before the instructor says so
    assert_eq!(served.http("GET", "/debrief", &[("Cookie", &cookie)], "").0, 403);
    // the same acts at the same times by the command line: the same state
    let text = std::fs::read_to_string(&logbook).expect("kept");
    let lines: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    let from = lines[0]["hand_over_s"].as_f64().expect("a time");
    let end = &lines[lines.len() - 1]["end"];
    let at = |act: &str| {
        let is = |l: &&Value| l["kind"]["act"]["action"] == serde_json::from_str::<Value>(act).expect("JSON");
        lines.iter().rev().find(is).expect(act)["t_s"].as_f64().expect("a time") - from
    };
    let file = served.dir.join("same.toml");
    // due a moment before its recorded time, which is the end of a step
    let due = |s: f64| s - 5e-7;
    let acts = format!(
        "schema = 1\n\n[about]\nid = \"same\"\ntitle = \"Same\"\n\n[setup]\nrun_s = {}\n\n\
         [[act]]\nid = \"off\"\nat_s = {}\nkey = \"off\"\n\n\
         [[act]]\nid = \"look\"\nat_s = {}\nmeasure = \"inspect\"\npart = \"throttle_body\"\n\n\
         [[act]]\nid = \"on\"\nat_s = {}\nkey = \"on\"\n",
        due(end["simulated_s"].as_f64().expect("a time") - from),
        due(at("{\"key\":\"off\"}")).max(0.0),
        due(at("{\"measure\":{\"inspect\":\"throttle_body\"}}")),
        due(at("{\"key\":\"on\"}")),
    );
    std::fs::write(&file, acts).expect("written");
    let who = ["--class-seed", &lines[0]["class_seed"].to_string(), "--trainee", "otter"];
    let mut args = vec!["run", LESSON, "--actions", "same.toml", "--json"];
    args.extend(who);
    let run = go(&served.dir, &args);
    let run: Value = serde_json::from_slice(&run.stdout).expect("JSON");
    assert_eq!(run["state_hash"], end["state_hash"], "{run}");
}

/// A page is told in the units that it asks for with its socket; another page of the class keeps its own.
#[test]
fn shows_the_units_that_a_page_asks_for() {
    let served = Served::new("units", HEALTHY);
    let (status, _, table) = served.http("GET", "/units.json", &[], "");
    let table: Value = serde_json::from_str(&table).expect("JSON");
    assert_eq!(status, 200);
    assert!(table.as_array().is_some_and(|t| t.iter().any(|u| u[0] == "N·m" && u[1] == "lb·ft")), "{table}");
    let (_, cookie) = served.seat("auk");
    let all = [("?units=us", " °F", " °C"), ("?units=metric", " °C", " °F"), ("", " °C", " °F")];
    for (k, (asks, wanted, other)) in all.into_iter().enumerate() {
        let mut page = served.page(&format!("/seat/ws{asks}"), &cookie);
        page.until_handed_over();
        page.act(json!({ "measure": "thermometer" }));
        page.order(json!({ "kind": "on", "seconds": 8.0 }));
        page.until_time(8.0 * (k + 1) as f64);
        let texts = |key: &str| {
            let of = |f: &String| serde_json::from_str::<Value>(f).expect("JSON")["texts"][key].clone();
            page.frames.iter().rev().map(of).filter_map(|v| v.as_array().cloned()).collect::<Vec<_>>()
        };
        let reading =
            texts("readings").into_iter().find_map(|all| all.first()?["text"].as_str().map(str::to_owned));
        let reading = reading.expect("a reading");
        assert!(reading.contains(wanted) && !reading.contains(other), "{asks}: {reading}");
        let mut values = texts("values").into_iter().flatten();
        let coolant = values.find(|v| v["id"] == "coolant_c").expect("told");
        let coolant = coolant["text"].as_str().expect("a text");
        assert!(coolant.ends_with(wanted), "{asks}: {coolant}");
        // what a page draws stays metric, whatever it shows
        assert!(page.view["view"]["first"]["seen"]["live"]["coolant_c"].as_f64().is_some_and(|c| c < 130.0));
    }
}

/// A learned value that nobody has read is a gap in what is recorded, as in the window and in the table of traces.
#[test]
fn bug_a_seat_was_given_a_learned_value_that_nobody_had_read() {
    let served = Served::new("unread", LESSON);
    let (mut page, _) = served.seat("teal");
    let learned = |v: &Value| -> Vec<Value> {
        let columns = v["view"]["columns"].as_array().expect("columns");
        let k = columns.iter().position(|c| c == "idle_air_learned_g_s").expect("recorded");
        v["view"]["rows"].as_array().expect("rows").iter().map(|row| row[k].clone()).collect()
    };
    page.order(json!({ "kind": "on", "seconds": 2.0 }));
    page.until_time(2.0);
    let frames = page.frames.iter().map(|f| serde_json::from_str::<Value>(f).expect("JSON"));
    let before: Vec<Value> = frames.filter(|f| f["kind"] == "view").flat_map(|f| learned(&f)).collect();
    assert!(!before.is_empty() && before.iter().all(Value::is_null), "{before:?}");
    page.act(json!({ "ask": "read_learned" }));
    page.order(json!({ "kind": "on", "seconds": 4.0 }));
    page.until_time(6.0);
    assert!(learned(&page.view).iter().any(Value::is_number), "{:?}", page.view["view"]["rows"]);
}

#[test]
fn holds_no_frame_under_a_closed_lid_has_truth() {
    let served = Served::new("truth", LESSON);
    let (mut page, _) = served.seat("teal");
    page.send(&json!({ "kind": "look", "engine": true, "hidden": false }));
    page.act(json!({ "ask": "read_learned" }));
    page.act(json!({ "measure": "vacuum_gauge" }));
    page.order(json!({ "kind": "on", "seconds": 4.0 }));
    page.until_time(4.0);
    page.order(json!({ "kind": "fork" }));
    page.order(json!({ "kind": "on", "seconds": 1.0 }));
    page.until_time(5.0);
    // it is drawn while it moves
    page.order(json!({ "kind": "pace", "pace": 1.0 }));
    page.until("the engine", |v| v["kind"] == "engine");
    let frames = page.frames.join("\n");
    assert!(frames.contains("\"kind\":\"engine\"") && frames.contains("\"second\":["));
    // the very same car beside it, looked at by somebody who may see truth
    let seed = class_seed(&served);
    let whose = Trainee { class_seed: Some(seed), trainee: Some("teal"), ticket: None };
    let a1 = load::scenario(&NoFiles, LESSON, &whose).expect("ships");
    let mut desk = Desk::new(&a1.scenario, &Options::default(), &mut |_| true).expect("a desk");
    let mut hidden = Vec::new();
    let mut believed = Vec::new();
    for _ in 0..5 {
        let v = serde_json::to_value(view(&desk, &[], Viewer::Instructor, Known::default())).expect("JSON");
        numbers(&v["first"]["truth"], &mut hidden);
        numbers(&v["first"]["seen"], &mut believed);
        for (k, name) in v["columns"].as_array().expect("columns").iter().enumerate() {
            if COLUMNS.iter().any(|c| c.truth && *name == c.name) {
                v["rows"].as_array().expect("rows").iter().for_each(|row| numbers(&row[k], &mut hidden));
            }
        }
        // what the module itself shows at some time is no secret
        for _ in 0..20 {
            desk.advance(0.05);
            let v = serde_json::to_value(view(&desk, &[], Viewer::Trainee, Known::default())).expect("JSON");
            numbers(&v["first"]["seen"], &mut believed);
        }
    }
    hidden.retain(|n| !believed.contains(n));
    hidden.sort();
    hidden.dedup();
    assert!(hidden.len() > 10, "{hidden:?}");
    // the module's own values may come out as the same number
    let own = |before: &str| {
        let before = before.trim_end_matches('-');
        before.ends_with("\"name\":\"wheel_table\",\"unit\":\"°\",\"value\":")
            || LiveValues::NAMES.iter().any(|name| before.ends_with(&format!("\"{name}\":")))
    };
    let around = |n: &String| {
        let mut hits = frames.match_indices(n.as_str()).map(|(i, _)| &frames[..i]);
        hits.find(|before| !own(before)).map(|before| {
            let tail: Vec<char> = before.chars().rev().take(80).collect();
            tail.into_iter().rev().collect::<String>() + n
        })
    };
    let told: Vec<String> = hidden.iter().filter_map(around).collect();
    assert!(told.is_empty(), "a trainee is given {told:?}");
    for kept_back in ["true_", "\"right\":", "needed_parts"] {
        assert!(!frames.contains(kept_back), "{kept_back}");
    }
}

/// The class's seed, as its next logbook would carry it: from an attempt that is handed in.
fn class_seed(served: &Served) -> u64 {
    let (mut page, _) = served.seat("seed");
    page.order(json!({ "kind": "hand_in" }));
    page.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    let books = std::fs::read_dir(served.class().join("logbooks")).expect("a folder");
    let book = books.flatten().next().expect("one").path();
    let text = std::fs::read_to_string(book).expect("text");
    let first: Value = serde_json::from_str(text.lines().next().expect("a line")).expect("JSON");
    first["class_seed"].as_u64().expect("a seed")
}

#[test]
fn holds_what_was_acknowledged_outlives_a_kill() {
    let mut served = Served::new("kill", LESSON);
    let (mut page, cookie) = served.seat("heron");
    page.act(json!({ "load": ["compressor", true] }));
    page.order(json!({ "kind": "on", "seconds": 20.0 }));
    page.until_time(20.0);
    page.order(json!({ "kind": "mark", "name": "here" }));
    page.act(json!({ "ask": { "start": "learn_idle" } }));
    // the act waits for a question, and time with it
    page.order(json!({ "kind": "pass" }));
    page.order(json!({ "kind": "pace", "pace": 1.0 }));
    // time runs on for a while: what the journal is told each second
    let before = page.until("three seconds", |v| {
        v["view"]["time_s"].as_f64().zip(v["view"]["hand_over_s"].as_f64()).is_some_and(|(t, h)| t - h > 23.0)
    });
    served.kill();
    let dir = served.dir.clone();
    let served = Served::again(&dir, &[]);
    assert_eq!(served.key, None, "the link is shown once");
    let mut page = served.page("/seat/ws", &cookie);
    let hello = page.until_handed_over();
    assert_eq!(hello["attempt"]["last_n"], 6);
    let after = page.until("a view", |v| v["kind"] == "view");
    let time = |v: &Value| v["view"]["time_s"].as_f64().expect("a time");
    assert!(time(&after) > time(&before) - 2.5, "{} s, and {} s before", time(&after), time(&before));
    assert!(after["view"]["marks"].to_string().contains("here"), "{}", after["view"]["marks"]);
    assert_eq!(after["view"]["first"]["hands"]["compressor"], true);
    assert_eq!(after["live"]["pace"], 1.0, "it goes on as it went");
    // what the page did not see acknowledged it sends again: it is acknowledged, and done once
    let lines = |v: &Value| v["view"]["lines"].to_string().matches("compressor").count();
    let once = lines(&after);
    page.send(&json!({ "kind": "act", "n": 1, "act": { "load": ["compressor", true] } }));
    page.until("the ack", |v| v["kind"] == "ack" && v["n"] == 1);
    page.order(json!({ "kind": "hand_in" }));
    page.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    let book = served.class().join("logbooks/1-1.jsonl");
    let text = std::fs::read_to_string(&book).expect("kept");
    assert_eq!(text.matches("compressor").count(), once, "done once");
    ends(&go(&served.dir, &["verify", book.to_str().expect("a path")]), 0);
}

#[test]
fn holds_a_cut_page_comes_back_to_where_it_was() {
    let served = Served::new("cut", LESSON);
    let (mut page, cookie) = served.seat("snipe");
    page.act(json!({ "brake": true }));
    page.order(json!({ "kind": "on", "seconds": 5.0 }));
    page.until_time(5.0);
    let view = page.view["view"].clone();
    let rows =
        view["rows_from"].as_u64().expect("a number") + view["rows"].as_array().expect("rows").len() as u64;
    let lines = view["lines_from"].as_u64().expect("a number")
        + view["lines"].as_array().expect("lines").len() as u64;
    drop(page);
    let mut page = served.page("/seat/ws", &cookie);
    page.send(
        &json!({ "kind": "resume", "attempt": 1, "epoch": view["epoch"], "rows": rows, "lines": lines }),
    );
    page.until_handed_over();
    let one = page.until("a view", |v| v["kind"] == "view");
    assert_eq!(one["view"]["first"]["hands"]["brake"], true);
    // a second page takes the seat; the first is told
    let mut second = served.page("/seat/ws", &cookie);
    assert_eq!(page.until_closed().as_deref(), Some("elsewhere"));
    second.until_handed_over();
    second.act(json!({ "brake": false }));
}

#[test]
fn holds_a_seat_does_what_hands_can_and_no_more() {
    let served = Served::new("refused", LESSON);
    let (mut page, _) = served.seat("wren");
    for act in [
        json!({ "leak": 4.0 }),
        json!({ "note": { "lid": true } }),
        json!({ "note": { "rewound": 5.0 } }),
        json!({ "pedal": 400.0 }),
        json!({ "measure": { "compression": 9 } }),
        json!({ "no such thing": 1 }),
        json!({ "watch": ["engine_speed_rpm", "truth"] }),
        json!({ "sensor": ["coolant", { "offset_v": 0.4, "gain": 1.0, "lag_s": 0.0, "noise_v": 0.0, "stuck": false, "wire": "sound" }] }),
    ] {
        let refused = page.order(json!({ "kind": "act", "act": act }));
        assert!(refused.is_some(), "{act}");
    }
    for message in [
        json!({ "kind": "on", "seconds": 1e9 }),
        json!({ "kind": "pace", "pace": -1.0 }),
        json!({ "kind": "pace", "pace": 1e9 }),
        json!({ "kind": "answer", "ask": "cause", "says": "no such cause" }),
    ] {
        assert!(page.order(message.clone()).is_some(), "{message}");
    }
    // words stay words
    let words = "<script>alert(1)</script>\u{202e}";
    page.act(json!({ "note": { "words": words } }));
    let view = page.until("the words", |v| v["texts"]["log"].to_string().contains("script"));
    assert!(view["texts"]["log"].to_string().contains("<script>"), "as text, for the page to show as text");
}

#[test]
fn holds_everything_offered_can_be_sent_back() {
    let served = Served::new("offers", LESSON);
    let cookie = served.join("robin");
    let mut page = served.page("/seat/ws", &cookie);
    let hello = page.until_handed_over();
    let mut tried = 0;
    for group in hello["lesson"]["groups"].as_array().expect("groups") {
        for item in group["items"].as_array().expect("items") {
            let act = filled(&item["act"], item["fields"].as_array().expect("fields"));
            // months of driving take their time
            if group["id"] == "roads" {
                continue;
            }
            let refused = page.order(json!({ "kind": "act", "act": act }));
            assert_eq!(refused, None, "{}: {act}", item["id"]);
            // what is asked first is passed over
            page.order(json!({ "kind": "pass" }));
            tried += 1;
        }
    }
    assert!(tried > 60, "{tried}");
}

/// An act with the first choice of each field put in, as a page does it.
fn filled(act: &Value, fields: &[Value]) -> Value {
    let value = |field: &Value| {
        if let Some(first) = field["of"].get(0) {
            return first[0].clone();
        }
        if field["number"].is_object() {
            return field["number"]["start"].clone();
        }
        if field["flag"].is_boolean() {
            return field["flag"].clone();
        }
        if field["optional"] == true { Value::Null } else { json!("P0507") }
    };
    match act {
        Value::String(s) => fields.iter().find(|f| f["key"] == **s).map_or_else(|| act.clone(), value),
        Value::Array(all) => all.iter().map(|v| filled(v, fields)).collect(),
        Value::Object(all) => all.iter().map(|(k, v)| (k.clone(), filled(v, fields))).collect(),
        other => other.clone(),
    }
}

#[test]
fn holds_shares_put_together_are_the_bytes_of_one_run() {
    let served = Served::new("shares", HEALTHY);
    for word in ["one", "two", "three"] {
        let (mut page, _) = served.seat(word);
        page.act(json!({ "load": ["lamps", true] }));
        page.order(json!({ "kind": "hand_in" }));
        page.until("the end", |v| v["kind"] == "state" && v["attempt"]["state"] == "handed_in");
    }
    let books = served.class().join("logbooks");
    // one that was handed in twice, and something that is no logbook
    std::fs::copy(books.join("1-1.jsonl"), books.join("again.jsonl")).expect("copied");
    std::fs::write(books.join("none.jsonl"), "{}\n").expect("written");
    let run = |args: &[&str]| {
        let mut all = vec!["verify"];
        all.extend(args);
        go(&served.dir, &all)
    };
    let whole = ends(&run(&["class/logbooks", "--key", "class/key", "--csv", "whole.csv"]), 5);
    let mut files = Vec::new();
    for k in 1..=3 {
        let json = run(&["class/logbooks", "--key", "class/key", "--shard", &format!("{k}/3"), "--json"]);
        let file = format!("share-{k}.json");
        std::fs::write(served.dir.join(&file), json.stdout).expect("written");
        files.push(file);
    }
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let merged = ends(&run(&[files.as_slice(), &["--merge", "--csv", "merged.csv"]].concat()), 5);
    assert_eq!(merged, whole);
    let read = |name: &str| std::fs::read(served.dir.join(name)).expect("written");
    assert_eq!(read("merged.csv"), read("whole.csv"));
    // what is missing, and what was given twice, is told of
    ends(&run(&[&files[1..], &["--merge"]].concat()), 2);
    ends(&run(&[&files[..1], &files[..], &["--merge"]].concat()), 2);
    for bad in ["0/3", "4/3", "3", "a/b"] {
        ends(&run(&["class/logbooks", "--shard", bad]), 2);
    }
}
