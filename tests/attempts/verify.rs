//! What a class hands in is run again: one clear verdict for each file, whatever it is.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(
    clippy::disallowed_methods,
    reason = "logbooks are written, changed and read; a program is given time to begin"
)]

use crate::bay::program::{self, changed, command, ends, err, go, with_sum};
use idlewright::bench::record;
use idlewright::store;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

/// A car with a part drawn for each trainee: half a minute, so that it is quick to run again.
const SCENARIO: &str = r#"schema = 1
[about]
id = "own"
title = "Runs on three"
level = 1
complaint = "It shakes."
teaches = "One cylinder at a time."
[setup]
car = "plover"
seed = 4
coolant_c = 88.0
[[setup.part]]
part = "injector"
cylinder = "{bad}"
error_pct = -20
[[vary]]
name = "bad"
default = 3
choose = [1, 2, 3, 4]
[[act]]
id = "key-on"
at_s = 1.0
key = "on"
[[act]]
id = "start"
after_s = 2.0
key = "crank"
[[act]]
id = "hand-over"
after_s = 5.0
wait_s = 0
"#;

const ACTIONS: &str = r#"schema = 1
[about]
id = "T"
title = "t"
[setup]
run_s = 12
[[act]]
id = "lamps"
at_s = 2
load = "lamps"
on = true
[[act]]
id = "codes"
after_s = 2
service = "read_codes"
[[act]]
id = "off"
after_s = 2
key = "off"
[[act]]
id = "body"
after_s = 3
fit = { part = "throttle_body" }
[[expect]]
at = "end"
what = "live.running"
is = false
why = "key off"
[[expect]]
at = "end"
what = "live.running"
is = true
why = "so that one is not met"
"#;

fn folder(name: &str) -> PathBuf {
    let dir = program::folder(name);
    std::fs::write(dir.join("own.toml"), SCENARIO).expect("a scenario");
    std::fs::write(dir.join("T.toml"), ACTIONS).expect("actions");
    dir
}

/// A key, three tickets, and a sealed attempt of the first two; an unsealed one of the first.
fn handed_in() -> &'static [String; 3] {
    static BOOKS: OnceLock<[String; 3]> = OnceLock::new();
    BOOKS.get_or_init(|| {
        let dir = folder("made");
        std::fs::write(dir.join("key"), "an instructor's own key").expect("a key");
        std::fs::write(dir.join("class"), "bench 1\nbench 2\n").expect("a class");
        let seal =
            ["seal", "own.toml", "--class-seed", "9", "--trainees", "class", "--key", "key", "--out", "."];
        ends(&go(&dir, &seal), 0);
        let make = |who: &[&str]| {
            let run =
                [&["run", "own.toml", "--actions", "T.toml", "--out", "out", "--force"][..], who].concat();
            ends(&go(&dir, &run), 1);
            std::fs::read_to_string(dir.join("out/logbook.jsonl")).expect("a logbook")
        };
        [
            make(&["--ticket", "1-bench-1.ticket"]),
            make(&["--ticket", "2-bench-2.ticket"]),
            make(&["--class-seed", "9", "--trainee", "bench 1"]),
        ]
    })
}

/// Writes files into a folder of its own, with a key; gives the folder.
fn with_files(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let dir = folder(name);
    std::fs::write(dir.join("key"), "an instructor's own key").expect("a key");
    for (file, text) in files {
        let path = dir.join(file);
        std::fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        std::fs::write(path, text).expect("a file");
    }
    dir
}

/// The rows of `verify --json`, by file.
#[track_caller]
fn rows(dir: &Path, args: &[&str], code: i32) -> Vec<Value> {
    let o = go(dir, &[&["verify", "--json", "--scenario", "own.toml"][..], args].concat());
    let v: Value = serde_json::from_str(&ends(&o, code)).expect("one JSON object");
    v["files"].as_array().expect("rows").clone()
}

#[track_caller]
fn of<'r>(rows: &'r [Value], file: &str) -> &'r Value {
    let all: Vec<&Value> = rows.iter().filter(|r| r["file"] == file).collect();
    assert_eq!(all.len(), 1, "{file} in {rows:#?}");
    all[0]
}

#[test]
fn same_comes_out_again_with_its_marks() {
    let [one, two, open] = handed_in();
    let dir = with_files("good", &[("in/a.jsonl", one), ("in/deep/er/b.jsonl", two), ("in/notes.txt", "no")]);
    std::fs::write(dir.join("u.jsonl"), open).expect("a file");
    let all = rows(&dir, &["in", "u.jsonl", "--key", "key"], 0);
    assert_eq!(all.len(), 3, "{all:#?}");
    for (file, trainee, seal) in [
        ("in/a.jsonl", "bench 1", "sealed"),
        ("in/deep/er/b.jsonl", "bench 2", "sealed"),
        ("u.jsonl", "bench 1", "unsealed"),
    ] {
        let r = of(&all, file);
        assert_eq!(r["verdict"], "consistent", "{r}");
        assert_eq!((&r["trainee"], &r["seal"]), (&Value::from(trainee), &Value::from(seal)), "{r}");
        assert_eq!((&r["scenario"], &r["class_seed"]), (&Value::from("own"), &Value::from(9)), "{r}");
        assert_eq!((&r["met"], &r["expectations"], &r["parts"]), (&1.into(), &2.into(), &1.into()), "{r}");
        assert!(
            r["minutes"].as_f64().expect("minutes") > 0.0 && r["money"].as_f64().expect("money") > 0.0,
            "{r}"
        );
        assert!(r["line"].is_null() && r["lid_open"] == false, "{r}");
    }
    // what comes of it is what the run itself told
    let run =
        ["run", "own.toml", "--class-seed", "9", "--trainee", "bench 1", "--actions", "T.toml", "--json"];
    let v: Value = serde_json::from_str(&ends(&go(&dir, &run), 1)).expect("JSON");
    let r = of(&all, "u.jsonl");
    assert_eq!((&v["job"]["minutes"], &v["job"]["money"]), (&r["minutes"], &r["money"]));
    // without the key a seal cannot be told from a forged one; the verdict needs none
    assert_eq!(of(&rows(&dir, &["in/a.jsonl"], 0), "in/a.jsonl")["seal"], "not checked");
    assert_eq!(of(&rows(&dir, &["in/a.jsonl", "--no-cache"], 0), "in/a.jsonl")["verdict"], "consistent");
    // another instructor's key
    std::fs::write(dir.join("key"), "another instructor's key").expect("a key");
    let all = rows(&dir, &["in/a.jsonl", "u.jsonl", "--key", "key"], 5);
    assert_eq!(
        (&of(&all, "in/a.jsonl")["seal"], &of(&all, "u.jsonl")["seal"]),
        (&"forged".into(), &"unsealed".into())
    );
    assert_eq!(of(&all, "in/a.jsonl")["verdict"], "consistent", "what was done was done");
}

/// One verdict and one reason for everything that can be handed in.
#[test]
fn trips_one_clear_verdict_each() {
    let [one, ..] = handed_in();
    let head = one.lines().next().expect("a header");
    let cut: String = one.lines().take(4).map(|l| format!("{l}\n")).collect();
    let shipped = one.replace(head, &changed(head, "\"id\":\"own\"", "\"id\":\"another\""));
    let foreign = {
        let at = head.find("\"hash\":\"").expect("a hash") + 8;
        let mut h = head.to_owned();
        h.replace_range(at..at + 4, "0000");
        with_sum(&one.replace(head, &h))
    };
    let physics = format!("\"physics\":\"{}\"", record::PHYSICS);
    let sources = format!("\"sources\":\"{}\"", store::SOURCES);
    let act = "{\"load\":[\"lamps\",true]}";
    let cases: Vec<(&str, String, &str, &str)> = vec![
        ("cut", cut, "altered", "cut off"),
        ("half-line", one[..one.len() - 30].into(), "altered", "cut off"),
        (
            "act",
            with_sum(&changed(one, act, "{\"load\":[\"heated_glass\",true]}")),
            "altered",
            "the replay does not give",
        ),
        ("name", changed(one, "\"lamps\"", "\"lmaps\""), "altered", "text was changed"),
        (
            "answer",
            with_sum(&changed(one, "\"codes\":[]", "\"codes\":[ ]")),
            "altered",
            "the replay does not give",
        ),
        (
            "trainee",
            with_sum(&changed(one, "bench 1", "bench 2")),
            "altered",
            "does not give the header's `seed`",
        ),
        (
            "class",
            with_sum(&changed(one, "\"class_seed\":9", "\"class_seed\":8")),
            "altered",
            "does not give the header's `seed`",
        ),
        (
            "nobody",
            with_sum(&changed(one, "\"trainee\":\"bench 1\"", "\"trainee\":null")),
            "altered",
            "has only some of",
        ),
        ("odd-name", with_sum(&changed(one, "bench 1", "bench\\n1")), "altered", "control characters"),
        ("id", with_sum(&shipped), "altered", "does not give the header's `scenario`"),
        (
            "version",
            changed(one, "{\"idlewright\":\"", "{\"idlewright\":\"9."),
            "other version",
            "Idlewright 9.",
        ),
        ("form", changed(one, "\"schema\":4", "\"schema\":99"), "other version", "logbook format 99"),
        (
            "future",
            "{\"idlewright\":\"7.0\",\"schema\":99}\nnew\n".into(),
            "other version",
            "logbook format 99",
        ),
        ("physics", changed(one, &physics, "\"physics\":\"00\""), "other version", "physics 00"),
        (
            "sources",
            with_sum(&changed(&changed(one, &sources, "\"sources\":\"a\""), act, "{\"brake\":true}")),
            "other version",
            "another build of the program",
        ),
        ("empty", String::new(), "not judged", "not a logbook: it is empty"),
        ("words", "Dear Sir,\n".into(), "not judged", "not a logbook"),
        ("list", "[1]\n".into(), "not judged", "not a logbook"),
        ("csv", "time_s,rpm\n0,720\n".into(), "not judged", "not a logbook"),
        ("unknown", foreign, "not judged", "is not the scenario that was run"),
    ];
    let files: Vec<(String, &str)> =
        cases.iter().map(|c| (format!("in/{}.jsonl", c.0), c.1.as_str())).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|f| (f.0.as_str(), f.1)).collect();
    let dir = with_files("each", &files);
    std::fs::write(dir.join("in/bytes.jsonl"), b"\xff\xfe\x00").expect("a file");
    std::fs::File::create(dir.join("in/huge.jsonl"))
        .expect("a file")
        .set_len((64 << 20) + 1)
        .expect("a length");
    std::fs::create_dir_all(dir.join("nothing/in/it")).expect("a folder");
    let all = rows(&dir, &["in", "nothing", "nowhere.jsonl", "--key", "key"], 5);
    assert_eq!(all.len(), cases.len() + 4);
    let mut wanted: Vec<(String, &str, &str)> =
        cases.iter().map(|c| (format!("in/{}.jsonl", c.0), c.2, c.3)).collect();
    wanted.extend([
        ("in/bytes.jsonl".into(), "not judged", "not a logbook: it is not UTF-8"),
        ("in/huge.jsonl".into(), "not judged", "at most 64 MiB"),
        ("nothing".into(), "not judged", "there are no *.jsonl files"),
        ("nowhere.jsonl".into(), "not judged", "there is no such file"),
    ]);
    for (file, verdict, reason) in &wanted {
        let r = of(&all, file);
        let said = r["reason"].as_str().expect("a reason");
        assert!(r["verdict"] == *verdict && said.contains(reason), "{file}: {r}");
        assert!(!said.contains('\n') && !said.is_empty());
        assert_eq!(r["line"].is_u64(), *verdict == "altered" || *file == "in/sources.jsonl", "{r}");
        assert!(
            r["minutes"].is_null() && r["met"].is_null(),
            "nothing is told of what did not come out: {r}"
        );
    }
    // whose seal holds though the rest was changed, and whose does not
    for (file, seal) in [
        ("act", "sealed"),
        ("trainee", "forged"),
        ("class", "forged"),
        ("id", "forged"),
        ("unknown", "forged"),
    ] {
        assert_eq!(of(&all, &format!("in/{file}.jsonl"))["seal"], seal);
    }
    // each of them alone makes the exit code
    for file in ["cut", "version", "empty"] {
        rows(&dir, &[&format!("in/{file}.jsonl")], 5);
    }
    // the same in words and as a gradebook's rows
    let o = go(&dir, &["verify", "in", "--scenario", "own.toml", "--csv", "out/marks.csv"]);
    let table = ends(&o, 5);
    let csv = std::fs::read_to_string(dir.join("out/marks.csv")).expect("a CSV");
    assert_eq!(csv.lines().count(), 1 + cases.len() + 2);
    for word in ["cut off", "other version", "not judged", "1 forged", "It cannot show who did the work"] {
        let elsewhere = word == "1 forged";
        assert!(elsewhere || table.contains(word), "{word}: {table}");
    }
    assert!(table.lines().take(1).all(|l| l.chars().count() <= 100), "{table}");
    let without = go(&dir, &["verify", "in/act.jsonl"]);
    assert!(ends(&without, 5).contains("give its file with --scenario"));
}

/// One file under two names, one attempt in two files, one attempt under two headers.
#[test]
fn trips_attempts_that_are_one_and_the_same() {
    let [one, two, open] = handed_in();
    let crlf = one.replace('\n', "\r\n");
    let dir =
        with_files("same", &[("a.jsonl", one), ("b.jsonl", &crlf), ("c.jsonl", two), ("d.jsonl", open)]);
    let all = rows(&dir, &["a.jsonl", "./a.jsonl", "b.jsonl", "c.jsonl", "d.jsonl", "."], 0);
    assert_eq!(all.len(), 4, "{all:#?}");
    let said = |f: &str| of(&all, f)["reason"].as_str().expect("a reason").to_owned();
    // no file tells who copied from whom: each row names the other
    assert!(said("a.jsonl").ends_with("; the same attempt as b.jsonl; given twice"), "{}", said("a.jsonl"));
    assert!(said("b.jsonl").ends_with("; the same attempt as a.jsonl"), "{}", said("b.jsonl"));
    assert!(
        said("d.jsonl").ends_with("; same lines as a.jsonl, under another header"),
        "{}",
        said("d.jsonl")
    );
    assert!(!said("c.jsonl").contains("a.jsonl"), "{}", said("c.jsonl"));
    assert_eq!(of(&all, "b.jsonl")["same_as"], "a.jsonl");
    assert_eq!(of(&all, "a.jsonl")["same_as"], "b.jsonl");
    assert_eq!(of(&all, "c.jsonl")["same_as"], Value::Null);
    assert!(all.iter().all(|r| r["verdict"] == "consistent"));
}

/// What one did, another did too, on a car of their own.
#[test]
fn trips_the_same_acts_under_two_names() {
    let dir = folder("copied");
    let acts: String = ["on", "off"]
        .iter()
        .cycle()
        .take(8)
        .map(|key| format!("[[act]]\nafter_s = 2\nkey = \"{key}\"\n"))
        .collect();
    let numbered = |head: &str| {
        let mut k = 0;
        let body: String = acts
            .lines()
            .map(|l| {
                if l == "[[act]]" {
                    k += 1;
                    format!("{l}\nid = \"{head}{k}\"\n")
                } else {
                    format!("{l}\n")
                }
            })
            .collect();
        format!("schema = 1\n[about]\nid = \"{head}\"\ntitle = \"{head}\"\n{body}")
    };
    for (bench, head) in [("bench 1", "one"), ("bench 2", "other")] {
        std::fs::write(dir.join(format!("{head}.toml")), numbered(head)).expect("actions");
        let file = format!("{head}.toml");
        let out = format!("out-{head}");
        go(
            &dir,
            &["run", "own.toml", "--class-seed", "9", "--trainee", bench, "--actions", &file, "--out", &out],
        );
    }
    let all = rows(&dir, &["out-one/logbook.jsonl", "out-other/logbook.jsonl"], 0);
    let said = |k: usize| all[k]["reason"].as_str().expect("a reason").to_owned();
    assert!(said(1).ends_with("same actions in the same order as out-one/logbook.jsonl"), "{}", said(1));
    assert!(said(0).ends_with("same actions in the same order as out-other/logbook.jsonl"), "{}", said(0));
    // the instructor sees it at a glance, though both are consistent
    let files = ["out-one/logbook.jsonl", "out-other/logbook.jsonl"];
    let table = ends(&go(&dir, &[&["verify", "--scenario", "own.toml"][..], &files].concat()), 0);
    assert!(table.contains("same actions in the same order as out-one/logbook.jsonl"), "{table}");
}

/// An attempt with the acts of the model solution says so, whatever its file is called, and whatever the times are.
#[test]
fn trips_the_acts_of_the_model_solution() {
    let dir = folder("solution");
    let shipped = store::shipped("idles-high").expect("a scenario").actions;
    let text =
        shipped.iter().find(|(name, _)| name.ends_with("/solution")).expect("a solution").1.to_string();
    let renamed = text.replace("idles-high/solution", "mine").replace("after_s = 12.0", "after_s = 14.0");
    assert_ne!(renamed, text);
    // one act fewer: no remark
    let own = renamed.replacen("service = \"read_learned\"", "service = \"read_readiness\"", 1);
    assert_ne!(own, renamed);
    for (name, text) in [("mine", renamed), ("own", own)] {
        std::fs::write(dir.join(format!("{name}.toml")), text).expect("actions");
        let (file, out) = (format!("{name}.toml"), format!("out-{name}"));
        go(
            &dir,
            &["run", "idles-high", "--trainee", name, "--class-seed", "3", "--actions", &file, "--out", &out],
        );
    }
    let files = ["out-mine/logbook.jsonl", "out-own/logbook.jsonl"];
    let all: Value = serde_json::from_str(&ends(&go(&dir, &[&["verify", "--json"][..], &files].concat()), 0))
        .expect("data");
    let said = |k: usize| (all["files"][k]["as_solution"].clone(), all["files"][k]["reason"].to_string());
    assert_eq!(said(0).0, true, "{}", said(0).1);
    assert!(said(0).1.contains("same actions in the same order as the model solution"), "{}", said(0).1);
    assert_eq!(said(1).0, false, "{}", said(1).1);
    let table = ends(&go(&dir, &[&["verify"][..], &files].concat()), 0);
    assert_eq!(table.matches("as the model solution").count(), 1, "{table}");
}

/// With the class's list nobody is forgotten: who handed in nothing has a row, and a stranger is remarked.
#[test]
fn holds_a_class_list_against_what_was_handed_in() {
    let dir = folder("listed");
    for who in ["bench 1", "bench 9"] {
        let out = format!("in/{who}");
        go(&dir, &["run", "own.toml", "--class-seed", "9", "--trainee", who, "--out", &out]);
    }
    std::fs::write(dir.join("class.txt"), "\u{feff}bench 1\r\nbench 2\r\n\r\nbench 3\r\n").expect("a list");
    let verify = ["verify", "in", "--scenario", "own.toml", "--trainees", "class.txt", "--csv", "m.csv"];
    let table = ends(&go(&dir, &verify), 0);
    assert_eq!(table.matches("not handed in").count(), 2, "{table}");
    assert!(table.contains("2 trainees on the list handed in nothing"), "{table}");
    assert_eq!(table.matches("not on the list").count(), 1, "{table}");
    assert!(table.contains("2 files:"), "{table}");
    let csv = std::fs::read_to_string(dir.join("m.csv")).expect("a CSV");
    let rows: Vec<&str> = csv.lines().skip(1).collect();
    assert_eq!(rows.len(), 4, "{csv}");
    assert!(rows[2].contains("bench 2,,,,,not handed in,"), "{csv}");
    assert!(rows[3].contains("bench 3,,,,,not handed in,"), "{csv}");
    // a list with a mistake is refused before anything is run
    std::fs::write(dir.join("class.txt"), "bench 1\nbench 1\n").expect("a list");
    let out = go(&dir, &verify);
    assert_eq!(out.status.code(), Some(2));
}

/// A file that somebody wrote another's name into is nothing that the other handed in.
#[test]
fn bug_a_forged_file_counted_as_handed_in() {
    let [one, ..] = handed_in();
    let other = with_sum(&changed(one, "bench 1", "bench 2"));
    let dir = with_files(
        "forged-list",
        &[("in/one.jsonl", one), ("in/other.jsonl", &other), ("class.txt", "bench 1\nbench 2\n")],
    );
    let rows = rows(&dir, &["in", "--key", "key", "--trainees", "class.txt"], 5);
    let of = |who: &str| -> Vec<&Value> {
        rows.iter().filter(|r| r["trainee"] == who).map(|r| &r["verdict"]).collect()
    };
    assert_eq!(of("bench 1"), [&Value::from("consistent")]);
    assert_eq!(of("bench 2"), [&Value::from("altered"), &"not handed in".into()]);
}

/// A trainee's word is no formula in a gradebook.
#[test]
fn trips_a_name_that_is_a_formula() {
    let dir = folder("formula");
    let run = ["run", "own.toml", "--class-seed", "1", "--trainee", "=1+1,\"x\"", "--out", "in"];
    ends(&go(&dir, &run), 0);
    ends(&go(&dir, &["verify", "in", "--scenario", "own.toml", "--csv", "m.csv"]), 0);
    let csv = std::fs::read_to_string(dir.join("m.csv")).expect("a CSV");
    let row = csv.lines().nth(1).expect("a row");
    assert!(row.starts_with("in/logbook.jsonl,\"'=1+1,\"\"x\"\"\",1,own,,unsealed,consistent,"), "{row}");
}

/// A table of marks, into which an instructor may have written, was written over without a word.
#[test]
fn bug_an_earlier_table_of_marks_was_lost() {
    let dir = with_files("marked", &[("a.jsonl", &handed_in()[0]), ("m.csv", "my own remarks\n")]);
    let verify = ["verify", "a.jsonl", "--scenario", "own.toml", "--csv", "m.csv"];
    let refused = go(&dir, &verify);
    ends(&refused, 4);
    assert!(String::from_utf8_lossy(&refused.stderr).contains("already exists"), "{refused:?}");
    let kept = || std::fs::read_to_string(dir.join("m.csv")).expect("a table");
    assert_eq!(kept(), "my own remarks\n");
    ends(&go(&dir, &[&verify[..], &["--force"]].concat()), 0);
    assert!(kept().contains(",passed,points,"), "{}", kept());
}

/// A table of marks in which nobody handed in anything was in the way of the real one.
#[test]
fn bug_marks_of_a_folder_that_is_not_there_were_kept() {
    let dir = folder("nobody");
    let o = go(&dir, &["verify", "handed-in", "--csv", "marks.csv"]);
    assert_eq!(o.status.code(), Some(5), "{o:?}");
    assert!(program::out(&o).contains("handed-in") && !dir.join("marks.csv").exists(), "{o:?}");
}

/// Trouble with the command itself is no verdict on anybody.
#[test]
fn trips_trouble_with_the_command() {
    let [one, ..] = handed_in();
    let rubric = "schema = 1\n[[row]]\nid = \"mine\"\nsays = \"s\"\npoints = 5\n\
                  [[row.check]]\ndid = \"part.coyl\"\nwhy = \"w\"\n";
    let files =
        [("a.jsonl", one.as_str()), ("short", "x"), ("broken.toml", "schema = 2\n"), ("rubric.toml", rubric)];
    let dir = with_files("trouble", &files);
    std::fs::create_dir_all(dir.join("folder")).expect("a folder");
    for (args, code) in [
        (&["a.jsonl", "--key", "nowhere"][..], 4),
        (&["a.jsonl", "--key", "short"], 2),
        (&["a.jsonl", "--scenario", "nowhere.toml"], 4),
        (&["a.jsonl", "--scenario", "broken.toml"], 2),
        // nobody's attempt can meet it
        (&["a.jsonl", "--rubric", "rubric.toml"], 2),
        (&["a.jsonl", "--csv", "folder"], 4),
        (&["a.jsonl", "--csv", "a.jsonl/m.csv"], 4),
        (&[], 2),
    ] {
        let o = go(&dir, &[&["verify"][..], args].concat());
        assert!(ends(&o, code).is_empty(), "{args:?}");
        assert!(!o.stderr.is_empty());
    }
}

/// A row that changes none and adds none fits no scenario that was handed in: told once, before anything is replayed.
#[test]
fn bug_a_misspelt_row_of_a_rubric_was_told_at_each_logbook() {
    let [one, two, _] = handed_in();
    let rubric = "schema = 1\n[[row]]\nid = \"prof\"\npoints = 5\n";
    let dir = with_files("misspelt", &[("a.jsonl", one), ("b.jsonl", two), ("r.toml", rubric)]);
    let o = go(&dir, &["verify", ".", "--scenario", "own.toml", "--rubric", "r.toml"]);
    assert!(ends(&o, 2).is_empty(), "no table");
    assert_eq!(err(&o).matches("r.toml:2:1").count(), 1, "{}", err(&o));
}

/// Ctrl-C ends it, with its own code and without a half-told table.
#[test]
#[cfg(unix)]
fn same_end_when_interrupted() {
    let [one, ..] = handed_in();
    // the life of another car, days of it, keeps it busy
    let life = "\n[[setup.conditioning]]\ndrive = \"town\"\nminutes = 600\n";
    let other = format!("{SCENARIO}{}", life.repeat(5));
    let hash = record::hash_of_text;
    let dir = with_files("stop", &[("another.toml", &other)]);
    let book = with_sum(&changed(one, &hash(SCENARIO), &hash(&other)));
    std::fs::write(dir.join("a.jsonl"), book).expect("a logbook");
    let mut c = command(&dir, &["verify", "a.jsonl", "--scenario", "another.toml", "--csv", "m.csv"]);
    let child = c.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    std::thread::sleep(std::time::Duration::from_secs(3));
    let kill = Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill");
    assert!(kill.success());
    let o = child.wait_with_output().expect("it ends");
    assert!(ends(&o, 130).is_empty());
    assert!(!dir.join("m.csv").exists(), "nothing half-told is written");
}
