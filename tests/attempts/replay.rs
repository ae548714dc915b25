//! Replay: what a logbook records is run again, and the verdict says whether it comes to the same.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(clippy::disallowed_methods, reason = "logbooks are written, changed and read")]

use crate::bay::program::{changed, ends, err, folder, go, out, with_sum};
use idlewright::bench::record;
use idlewright::store;
use serde_json::Value;
use std::sync::OnceLock;

/// Makes a run in a folder of its own; gives its logbook.
fn made(name: &str, args: &[&str]) -> String {
    let dir = folder(name);
    let mut all = vec!["run"];
    all.extend(args);
    all.extend(["--out", "results"]);
    ends(&go(&dir, &all), 0);
    std::fs::read_to_string(dir.join("results/logbook.jsonl")).expect("a logbook")
}

/// idles-high solved, lid closed.
fn high() -> &'static str {
    static BOOK: OnceLock<String> = OnceLock::new();
    BOOK.get_or_init(|| made("high", &["idles-high", "--actions", "idles-high/solution"]))
}

/// fast-since-a-new-throttle with its first trap, lid open.
fn fast_open() -> &'static str {
    static BOOK: OnceLock<String> = OnceLock::new();
    BOOK.get_or_init(|| {
        made(
            "fast-open",
            &[
                "fast-since-a-new-throttle",
                "--actions",
                "fast-since-a-new-throttle/trap-1",
                "--lid",
                "open",
                "--seed",
                "11",
            ],
        )
    })
}

/// The same with the lid closed and its own seed.
fn fast() -> &'static str {
    static BOOK: OnceLock<String> = OnceLock::new();
    BOOK.get_or_init(|| {
        made("fast", &["fast-since-a-new-throttle", "--actions", "fast-since-a-new-throttle/trap-1"])
    })
}

/// The healthy car for half a minute with a few switches thrown: quick to run again.
fn quick() -> &'static str {
    static BOOK: OnceLock<String> = OnceLock::new();
    BOOK.get_or_init(|| {
        let acts = folder("quick-acts").join("acts.toml");
        let text = "schema = 1\n[about]\nid = \"Q\"\ntitle = \"Switches\"\n[setup]\nrun_s = 20\n\
                    [[act]]\nid = \"lamps\"\nat_s = 2\nload = \"lamps\"\non = true\n\
                    [[act]]\nid = \"glass\"\nafter_s = 2\nload = \"heated_glass\"\non = true\n\
                    [[act]]\nid = \"codes\"\nafter_s = 2\nservice = \"read_codes\"\n\
                    [[act]]\nid = \"wait\"\nafter_s = 2\nwait_s = 1\n\
                    [[act]]\nid = \"off\"\nafter_s = 2\nkey = \"off\"\n";
        std::fs::write(&acts, text).expect("writing a file");
        made("quick", &["healthy-idle", "--actions", &acts.to_string_lossy()])
    })
}

/// The object that `replay --json` prints of this text.
#[track_caller]
fn verdict(name: &str, book: &str, code: i32) -> Value {
    let dir = folder(name);
    std::fs::write(dir.join("book.jsonl"), book).expect("writing a logbook");
    let o = go(&dir, &["replay", "book.jsonl", "--json"]);
    ends(&o, code);
    let out = out(&o);
    assert_eq!(out.lines().count(), 1, "{out}");
    serde_json::from_str(&out).expect("a JSON object")
}

/// One line as it is to a sentence that says it altered; gives the object.
#[track_caller]
fn altered(name: &str, book: &str) -> Value {
    let v = verdict(name, book, 5);
    assert_eq!(v["verdict"], "altered", "{v}");
    assert!(v["line"].is_u64(), "{v}");
    v
}

/// The module's line that a code became pending.
const PENDING: &str = "\"code_became\":{\"code\":\"P0507\",\"state\":\"pending\"}";

fn line_of(book: &str, what: &str) -> usize {
    book.lines().position(|l| l.contains(what)).unwrap_or_else(|| panic!("no line with {what}")) + 1
}

#[test]
fn same_comes_out_again() {
    for (name, book) in [("c-high", high()), ("c-fast", fast()), ("c-fast-open", fast_open())] {
        let v = verdict(name, book, 0);
        assert_eq!(v["verdict"], "consistent", "{v}");
        assert!(v["line"].is_null());
        let end: Value = serde_json::from_str(book.lines().last().unwrap()).unwrap();
        assert_eq!(v["state_hash"], end["end"]["state_hash"]);
        assert_eq!(v["simulated_s"], end["end"]["simulated_s"]);
    }
    // line ends of another system change nothing
    assert_eq!(verdict("c-crlf", &fast().replace('\n', "\r\n"), 0)["verdict"], "consistent");
}

/// A replay writes the very files of the run.
#[test]
fn same_files_as_the_run() {
    let dir = folder("files");
    let run = [
        "run",
        "fast-since-a-new-throttle",
        "--actions",
        "fast-since-a-new-throttle/trap-2",
        "--lid",
        "open",
        "--out",
        "run",
    ];
    ends(&go(&dir, &run), 0);
    let o = go(&dir, &["replay", "run/logbook.jsonl", "--out", "again"]);
    ends(&o, 0);
    assert!(out(&o).contains("consistent"), "{}", out(&o));
    for name in ["trace.csv", "logbook.jsonl", "debrief.html"] {
        let read = |of: &str| std::fs::read(dir.join(of).join(name)).expect(name);
        assert!(read("run") == read("again"), "{name}");
    }
}

#[test]
fn trips_an_altered_act() {
    // what was done: the brake held two seconds longer would have been the right thing
    let at = line_of(fast(), "\"brake-off\"");
    let line = fast().lines().nth(at - 1).unwrap();
    let t: f64 = serde_json::from_str::<Value>(line).unwrap()["t_s"].as_f64().unwrap();
    let later = line.replace(&t.to_string(), &(t + 2.7).to_string());
    assert_ne!(line, later);
    let v = altered("act-time", &with_sum(&fast().replace(line, &later)));
    assert_eq!(v["line"], at, "no step ends at that time: {v}");
    // forward by what the clock does in whole steps: the lines after it no longer fit
    let early = fast().replace("\"load\":[\"heated_glass\",true]", "\"brake\":true");
    let v = altered("act-other", &with_sum(&early));
    assert!(v["line"].as_u64().unwrap() as usize > at, "what follows no longer fits: {v}");
    // an act that leaves no trace but its own line, sum as it was
    let book = changed(high(), "\"trip-3-idle\"", "\"trip-4-idle\"");
    let v = altered("act-name", &book);
    assert!(v["why"].as_str().unwrap().contains("text was changed"), "{v}");
    // acts out of order, before the run, after it, or impossible
    for (name, to) in [("back", "2.5"), ("beyond", "1e5"), ("minus", "-5.0")] {
        let book = fast().replace(line, &line.replace(&t.to_string(), to));
        altered(name, &with_sum(&book));
    }
    let v = altered("range", &changed(fast(), "{\"load\":[\"heated_glass\",true]}", "{\"pedal\":1e9}"));
    assert!(v["why"].as_str().unwrap().contains("pedal_pct"), "{v}");
    altered("unknown", &changed(fast(), "{\"load\":[\"heated_glass\",true]}", "{\"magic\":1}"));
}

#[test]
fn trips_an_altered_answer_or_decision() {
    let book = changed(high(), "\"pending\":true", "\"pending\":false");
    let v = altered("answer", &with_sum(&book));
    assert_eq!(v["line"], line_of(high(), "\"answer\":{\"id\":\"read-codes\""));
    assert!(v["expected"].as_str().unwrap().contains("\"pending\":true"), "{v}");
    assert!(v["found"].as_str().unwrap().contains("\"pending\":false"), "{v}");
    // a person is told in words
    let dir = folder("answer-in-words");
    std::fs::write(dir.join("book.jsonl"), with_sum(&book)).expect("writing a logbook");
    let told = out(&go(&dir, &["replay", "book.jsonl"]));
    assert!(told.contains("P0507 pending") && !told.contains("\"t_s\""), "{told}");
    let v = altered("decision", &with_sum(&changed(high(), PENDING, &PENDING.replace("P0507", "P0506"))));
    assert_eq!(v["line"], line_of(high(), PENDING));
    // the last digit of a number
    let at = line_of(high(), "\"routine_done\":{\"routine\":\"learn_idle\"");
    let line = high().lines().nth(at - 1).unwrap();
    let digit = line.find(",\"kind\"").unwrap() - 1;
    let mut other = line.to_string();
    other.replace_range(digit..=digit, if &line[digit..=digit] == "5" { "6" } else { "5" });
    let v = altered("digit", &with_sum(&high().replace(line, &other)));
    assert_eq!(v["line"], at);
}

#[test]
fn trips_removed_and_added_lines() {
    let without = |book: &str, what: &str| {
        let at = line_of(book, what);
        let left: Vec<&str> = book.lines().enumerate().filter(|(k, _)| k + 1 != at).map(|(_, l)| l).collect();
        (at, left.join("\n") + "\n")
    };
    // a decision of the module
    let (at, book) = without(high(), PENDING);
    assert_eq!(altered("gone-decision", &with_sum(&book))["line"], at);
    // an act whose consequences stay behind
    let (at, book) = without(high(), "\"id\":\"reset\",\"action\"");
    assert_eq!(altered("gone-act", &with_sum(&book))["line"], at);
    // an act without consequences: only the sum knows
    let (_, book) = without(high(), "\"trip-3-idle\"");
    altered("gone-wait", &book);
    // a decision that was never made, in the midst and at the end
    for (name, before) in [("added", "\"key-off\""), ("added-end", "{\"end\"")] {
        let at = line_of(high(), before);
        let mut lines: Vec<&str> = high().lines().collect();
        lines.insert(at - 1, "{\"t_s\":58.0,\"kind\":{\"module\":{\"what\":{\"routine_done\":{\"routine\":\"learn_idle\",\"error_deg\":null}}}}}");
        assert_eq!(altered(name, &with_sum(&(lines.join("\n") + "\n")))["line"], at);
    }
}

#[test]
fn trips_an_altered_end_or_header() {
    let end = line_of(quick(), "{\"end\"");
    let hash = |book: &str| serde_json::from_str::<Value>(book.lines().last().unwrap()).unwrap();
    let simulated = hash(quick())["end"]["simulated_s"].to_string();
    let state = hash(quick())["end"]["state_hash"].as_str().unwrap().to_string();
    let flip = |h: &str| if h.starts_with('0') { h.replacen('0', "1", 1) } else { format!("0{}", &h[1..]) };
    let v = altered("hash", &changed(quick(), &state, &flip(&state)));
    assert_eq!(v["line"], end);
    assert!(v["why"].as_str().unwrap().contains("state"), "{v}");
    let sum = hash(quick())["end"]["sum"].as_str().unwrap().to_string();
    altered("sum", &changed(quick(), &sum, &flip(&sum)));
    altered("stopped", &changed(quick(), "\"stopped\":false", "\"stopped\":true"));
    altered("longer", &changed(quick(), &simulated, &format!("{simulated}1")));
    altered("for-ever", &changed(quick(), "\"simulated_s\":", "\"simulated_s\":2640000"));
    for (name, from, to) in [
        ("seed", "\"seed\":", "\"seed\":7"),
        ("step", "\"step_deg\":2.0", "\"step_deg\":1.0"),
        ("odd-step", "\"step_deg\":2.0", "\"step_deg\":7.0"),
        ("lid", "\"lid\":\"closed\"", "\"lid\":\"open\""),
        ("lid-odd", "\"lid\":\"closed\"", "\"lid\":\"ajar\""),
        ("handed", "\"hand_over_s\":", "\"hand_over_s\":7"),
        ("who", "id = \\\"Q\\\"", "id = \\\"R\\\""),
        ("scenario", "\"scenario\":{\"id\":\"healthy-idle\"", "\"scenario\":{\"id\":\"idles-high\""),
        ("scenario-hash", "\"hash\":\"", "\"hash\":\"0"),
    ] {
        altered(name, &changed(quick(), from, to));
    }
    // a rest that no hand can ask for does not make room for a run without end
    let rest = "{\"t_s\":58.0,\"kind\":{\"act\":{\"id\":\"r\",\"action\":{\"rest\":1e300}}}}";
    let mut lines: Vec<&str> = quick().lines().collect();
    lines.insert(end - 1, rest);
    let book = changed(&(lines.join("\n") + "\n"), "\"simulated_s\":", "\"simulated_s\":1000000000000");
    assert_eq!(altered("rests-for-ever", &with_sum(&book))["line"], end);
    // the seed's other parts, with a sum made right
    altered("seed-sum", &with_sum(&changed(quick(), "\"seed\":", "\"seed\":7")));
}

/// What an answer says under a closed lid tells nothing that the logbook could not hold.
#[test]
fn holds_a_closed_lid_in_a_verdict() {
    let books = [
        changed(high(), PENDING, &PENDING.replace("P0507", "P0506")),
        high().lines().take(3).map(|l| format!("{l}\n")).collect::<String>() + high().lines().last().unwrap(),
        changed(high(), "\"t_s\":2.0000000000436557", "\"t_s\":2.5"),
    ];
    for (k, book) in books.iter().enumerate() {
        let said = altered(&format!("lid-{k}"), &with_sum(book)).to_string();
        for word in ["clean_throttle", "throttle-cleaned", "deposit", "truth", "conditioning"] {
            assert!(!said.contains(word), "{word}: {said}");
        }
    }
}

#[test]
fn trips_truncated_books() {
    let all = quick();
    for (name, part) in [("no-end", all.lines().count() - 1), ("half", 5), ("header", 1)] {
        let cut: String = all.lines().take(part).map(|l| format!("{l}\n")).collect();
        let v = altered(name, &cut);
        assert!(v["why"].as_str().unwrap().contains("cut off"), "{v}");
        assert_eq!(v["line"], part);
    }
    altered("mid-line", &all[..all.len() - 40]);
    altered("twice", &format!("{all}{all}"));
}

#[test]
fn trips_other_versions() {
    let physics = format!("\"physics\":\"{}\"", record::PHYSICS);
    for (name, from, to) in [
        ("version", "{\"idlewright\":\"", "{\"idlewright\":\"9."),
        ("schema", "\"schema\":4", "\"schema\":3"),
        ("schema-none", "\"schema\":4,", ""),
        ("physics", physics.as_str(), "\"physics\":\"00ff\""),
        ("physics-none", &format!("{physics},"), ""),
    ] {
        let v = verdict(name, &changed(quick(), from, to), 5);
        assert_eq!(v["verdict"], "other version", "{name}: {v}");
    }
    // other sources that come to the same are no matter; where they do not, nobody altered anything
    let sources = format!("\"sources\":\"{}\"", store::SOURCES);
    let other = with_sum(&changed(quick(), &sources, "\"sources\":\"abc\""));
    assert_eq!(verdict("sources", &other, 0)["verdict"], "consistent");
    let v = verdict("sources-differ", &changed(&other, "{\"key\":\"off\"}", "{\"brake\":true}"), 5);
    assert_eq!(v["verdict"], "other version", "{v}");
    // nothing of what follows is asked for
    let v = verdict("future", "{\"idlewright\":\"7.0\",\"schema\":99}\nsomething new\n", 5);
    assert_eq!(v["verdict"], "other version");
}

/// The physics that a header names is that of this build: the recorded hash that its tests come to.
#[test]
fn holds_physics_is_the_recorded_scene() {
    let recorded =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/scene.hash")).unwrap();
    assert_eq!(record::PHYSICS, recorded.trim());
    assert_eq!(record::PHYSICS.len(), 64);
    assert!(high().contains(record::PHYSICS));
}

#[test]
fn trips_what_is_no_logbook() {
    let dir = folder("none");
    let cases: [(&str, &[u8]); 7] = [
        ("empty", b""),
        ("blank", b"\n\n"),
        ("words", b"Dear Sir,\nI have done it.\n"),
        ("foreign", b"{\"log\":[]}\n{\"end\":{}}\n"),
        ("list", b"[1,2]\n"),
        ("bytes", b"\xff\xfe\x00"),
        ("csv", b"time_s,engine_speed_rpm\n0,720\n"),
    ];
    for (name, bytes) in cases {
        std::fs::write(dir.join(name), bytes).unwrap();
        let o = go(&dir, &["replay", name]);
        ends(&o, 2);
        let err = err(&o);
        assert!(err.lines().count() == 1 && err.contains("not a logbook") && err.starts_with(name), "{err}");
        assert!(o.stdout.is_empty());
    }
    for missing in ["nowhere.jsonl", "."] {
        let o = go(&dir, &["replay", missing]);
        ends(&o, 4);
        assert_eq!(err(&o).lines().count(), 1);
    }
    // a folder for results that cannot be one
    std::fs::write(dir.join("book"), fast()).unwrap();
    ends(&go(&dir, &["replay", "book", "--out", "book"]), 4);
}

/// A scenario of one's own, with its car beside it and an act that waits in vain.
#[test]
fn same_with_a_scenario_of_ones_own() {
    let dir = folder("own");
    let car = include_str!("../../assets/cars/plover.toml");
    std::fs::write(dir.join("own.toml"), car.replace("name = \"plover\"", "name = \"own\"")).unwrap();
    let scenario = r#"schema = 1
[about]
id = "own"
title = "A short one"
level = 1
complaint = "None."
teaches = "Nothing."
lid = "locked"
[setup]
car = "own.toml"
seed = 1
coolant_c = 88.0
[[act]]
id = "key-on"
at_s = 1.0
key = "on"
[[act]]
id = "start"
after_s = 2.0
key = "crank"
"#;
    let acts = r#"schema = 1
[about]
id = "T"
title = "t"
[setup]
run_s = 120
[[act]]
id = "at-once"
at_s = 0
load = "lamps"
on = true
[[act]]
id = "start"
when = "live.engine_speed_rpm > 4000"
timeout_s = 3.33
brake = true
[[act]]
id = "body"
after_s = 2.017
fit = { part = "throttle_body" }
[[act]]
id = "drive"
after_s = 2
drive = "town"
minutes = 1
[[act]]
id = "into-the-drive"
at_s = 40
load = "lamps"
on = false
[[act]]
id = "pause"
after_s = 1
wait_s = 7
[[expect]]
at = 12.345
what = "live.running"
is = true
why = "so says the test"
"#;
    std::fs::write(dir.join("x.toml"), scenario).unwrap();
    std::fs::write(dir.join("acts.toml"), acts).unwrap();
    ends(&go(&dir, &["run", "x.toml", "--actions", "acts.toml", "--out", "a"]), 1);
    let book = std::fs::read_to_string(dir.join("a/logbook.jsonl")).unwrap();
    for line in ["timed_out", "hindered", "{\"act\":{\"id\":\"drive\"", "into-the-drive"] {
        assert!(book.contains(line), "{line}: {book}");
    }
    assert_eq!(book.matches("hindered").count(), 1, "the drive was driven: {book}");
    // it does not ship
    let o = go(&dir, &["replay", "a/logbook.jsonl"]);
    ends(&o, 2);
    assert!(err(&o).contains("--scenario") && err(&o).contains("own"));
    ends(&go(&dir, &["replay", "a/logbook.jsonl", "--scenario", "fast-since-a-new-throttle"]), 2);
    let o = go(&dir, &["replay", "a/logbook.jsonl", "--scenario", "x.toml", "--out", "b"]);
    ends(&o, 0);
    for name in ["trace.csv", "logbook.jsonl", "debrief.html"] {
        let read = |of: &str| std::fs::read(dir.join(of).join(name)).expect(name);
        assert!(read("a") == read("b"), "{name}");
    }
    // a lid that may not be opened was not
    std::fs::write(dir.join("open.jsonl"), changed(&book, "\"closed\"", "\"open\"")).unwrap();
    ends(&go(&dir, &["replay", "open.jsonl", "--scenario", "x.toml"]), 5);
    // hindered, and told why
    let other = changed(&book, "\"engine_turns\"", "\"key_on\"");
    std::fs::write(dir.join("hindered.jsonl"), with_sum(&other)).unwrap();
    ends(&go(&dir, &["replay", "hindered.jsonl", "--scenario", "x.toml"]), 5);
    // another car beside it
    std::fs::write(dir.join("own.toml"), car.replace("name = \"plover\"", "name = \"other\"")).unwrap();
    let o = go(&dir, &["replay", "a/logbook.jsonl", "--scenario", "x.toml"]);
    ends(&o, 2);
    assert!(err(&o).contains("car"), "{}", err(&o));
}
