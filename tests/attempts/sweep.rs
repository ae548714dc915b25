//! A scenario over many seeds and values: how its results spread, on any number of threads and in any number of shares.
#![expect(clippy::disallowed_methods, reason = "files are written and read")]

use crate::bay::program::{changed, command, ends, err, folder, go, json, out, text, write};
use std::path::Path;
use std::process::Output;

/// Short enough to run many times: a warm idle with a leak after the MAF sensor.
const LEAKY: &str = r#"schema = 1
[about]
id = "leaky"
title = "A leak after the MAF sensor"
level = 1
complaint = "It hisses."
teaches = "How far a leak moves the trims."
[setup]
car = "plover"
seed = 3
coolant_c = 86.0
unmetered_leak_mm2 = 2.0
run_s = 12
[[setup.part]]
part = "injector"
cylinder = 2
error_pct = -6
[[setup.part]]
part = "injector"
cylinder = 3
error_pct = 4
[[act]]
id = "on"
at_s = 0.5
key = "on"
[[act]]
id = "start"
after_s = 1.0
key = "crank"
[[expect]]
at = "end"
what = "live.engine_speed_rpm"
min = 500
max = 820
why = "it idles"
[[expect]]
at = "end"
what = "truth.unmetered_leak_mm2"
max = 3
why = "the leak is small"
[[expect]]
at = "end"
what = "lamp"
is = "off"
why = "no lamp so soon"
"#;

const VARIED: [&str; 4] = ["--over", "setup.unmetered_leak_mm2=0:6:3", "--lid", "open"];
const FILES: [&str; 4] = ["sweep.json", "sweep.csv", "runs.csv", "sweep.html"];

fn leaky(name: &str) -> std::path::PathBuf {
    let dir = folder(name);
    write(&dir, "leaky.toml", LEAKY);
    dir
}

fn sweep(dir: &Path, threads: &str, rest: &[&str]) -> Output {
    let args: Vec<&str> = ["sweep", "leaky.toml", "--runs", "3"].iter().chain(rest).copied().collect();
    command(dir, &args).env("RAYON_NUM_THREADS", threads).output().expect("the program runs")
}

#[track_caller]
fn same_files(dir: &Path, one: &str, other: &str) {
    for file in FILES {
        assert!(
            text(dir, &format!("{one}/{file}")) == text(dir, &format!("{other}/{file}")),
            "{one}, {other}: {file}"
        );
    }
}

/// One thread, two, and three shares put together: the same bytes in every file.
#[test]
fn same_on_any_threads_and_in_any_shares() {
    let dir = leaky("same");
    let all = |out: &'static str| [&VARIED[..], &["--signal", "true_leak_g_s", "--out", out]].concat();
    let one = sweep(&dir, "1", &all("one"));
    ends(&one, 0);
    assert!(err(&one).contains("9 runs simulated") && err(&one).contains("on one thread"), "{}", err(&one));
    ends(&sweep(&dir, "2", &all("two")), 0);
    same_files(&dir, "one", "two");
    for (share, out) in [("1/3", "a"), ("2/3", "b"), ("3/3", "c")] {
        let told = ends(&sweep(&dir, "2", &[&all(out)[..], &["--shard", share]].concat()), 0);
        assert!(told.contains("3 of 3 runs of share"), "{told}");
        assert!(!dir.join(out).join("sweep.csv").exists(), "a share has no spread");
    }
    ends(&go(&dir, &["sweep", "--merge", "c", "a", "b", "--out", "merged"]), 0);
    same_files(&dir, "one", "merged");
    // the folder's file will do as well, and one part that is the whole
    ends(&go(&dir, &["sweep", "--merge", "merged/sweep.json", "--out", "again"]), 0);
    same_files(&dir, "one", "again");
}

/// What is told is what `run` tells of the same seed and the same file.
#[test]
fn holds_what_run_tells() {
    let dir = leaky("run");
    let told = ["--signal", "engine_speed_rpm", "--signal", "trims.bank1.short_pct", "--json"];
    let found = sweep(&dir, "2", &[&VARIED[..], &told].concat());
    ends(&found, 0);
    let found = json(&found);
    assert_eq!(found["rows"].as_array().map(Vec::len), Some(9));
    write(&dir, "six.toml", &changed(LEAKY, "unmetered_leak_mm2 = 2.0", "unmetered_leak_mm2 = 6"));
    let run = go(&dir, &["run", "six.toml", "--seed", "4", "--lid", "open", "--json", "--out", "run"]);
    let run = json(&run);
    // the third value, the second seed
    let row = &found["rows"][7];
    assert_eq!(row["run"], 7);
    assert_eq!(row["values"][1], run["trims"][0]["short_pct"]);
    let speed = row["values"][0].as_f64().expect("a number");
    let trace = text(&dir, "run/trace.csv");
    let names: Vec<&str> = trace.lines().next().expect("names").split(',').collect();
    let at = names.iter().position(|n| *n == "engine_speed_rpm").expect("the column");
    let last = trace.lines().last().and_then(|l| l.split(',').nth(at)).expect("a row");
    assert_eq!(format!("{speed:.3}"), last);
    let met: Vec<bool> = row["judged"].as_array().expect("judged").iter().map(|j| j[1] == true).collect();
    let expected = run["expectations"].as_array().expect("expectations");
    assert_eq!(met, expected.iter().map(|e| e["met"] == true).collect::<Vec<_>>());
    assert_eq!(met, [true, false, true], "a leak of 6 mm² is not small, and all else holds");
    // a share of runs in which it was met, by point: the leak is small at 0 and 3, not at 6
    let small = |point: usize| found["points"][point]["spread"][2]["met_pct"].clone();
    assert_eq!([small(0), small(1), small(2)], [100.0, 100.0, 0.0]);
    assert_eq!(found["points"][2]["spread"][2]["percentiles"]["p50"], 6.0);
}

/// An engine that has stopped has no correction in force: a gap, and the runs are counted. What is stored stays.
#[test]
fn bug_a_stopped_engine_has_no_trims() {
    let dir = folder("stopped");
    let off = "[[act]]\nid = \"off\"\nat_s = 9\nkey = \"off\"\n[[expect]]\nat = \"end\"\nwhat = \"lamp\"";
    write(&dir, "leaky.toml", &changed(LEAKY, "[[expect]]\nat = \"end\"\nwhat = \"lamp\"", off));
    let signals = ["short_trim_1_pct", "trims.bank1.short_pct", "trims.bank1.long_part_pct"];
    let told: Vec<&str> = signals.iter().flat_map(|s| ["--signal", s]).chain(["--out", "out"]).collect();
    let table = ends(&sweep(&dir, "2", &told), 0);
    assert_eq!(table.matches("engine stopped in 3").count(), 2, "{table}");
    let found: serde_json::Value = serde_json::from_str(&text(&dir, "out/sweep.json")).expect("an object");
    for row in found["rows"].as_array().expect("rows") {
        assert!(
            row["values"][0].is_null() && row["values"][1].is_null() && row["values"][2].is_number(),
            "{row}"
        );
    }
    let csv = text(&dir, "out/sweep.csv");
    assert!(csv.lines().next().is_some_and(|names| names.ends_with(",engine_stopped")), "{csv}");
    assert!(csv.lines().any(|l| l.contains("short_trim_1_pct") && l.ends_with(",3")), "{csv}");
}

/// A module that sleeps tells nothing: the last values of its last trip met expectations.
#[test]
fn bug_a_sleeping_module_told_live_values() {
    let dir = folder("sleeps");
    let asleep = "[[act]]\nid = \"off\"\nat_s = 9\nkey = \"off\"\n[[act]]\nid = \"flat\"\nafter_s = 1\nunplug = \"battery\"\n\
                  [[expect]]\nat = \"end\"\nwhat = \"live.supply_v\"\nmin = 0\nmax = 20\nwhy = \"told\"\n\
                  [[expect]]\nat = \"end\"\nwhat = \"lamp\"";
    write(&dir, "leaky.toml", &changed(LEAKY, "[[expect]]\nat = \"end\"\nwhat = \"lamp\"", asleep));
    let run = json(&go(&dir, &["run", "leaky.toml", "--json"]));
    let live = run["live"].as_object().expect("an object");
    let numbers = live.values().filter(|x| x.is_number()).count();
    assert!(live["supply_v"].is_null() && numbers == 0 && live["running"] == false, "{live:?}");
    let supply = &run["expectations"][2];
    assert_eq!((&supply["what"], &supply["met"]), (&"live.supply_v".into(), &false.into()), "{supply}");
}

/// Numbers reach the part that the path names: one of several, and one that the file does not list.
#[test]
fn holds_paths_into_lists() {
    let dir = leaky("paths");
    let short = |over: &str| {
        let args = [
            "sweep",
            "leaky.toml",
            "--runs",
            "1",
            "--lid",
            "open",
            "--over",
            over,
            "--signal",
            "supply_v",
            "--json",
        ];
        let found = json(&go(&dir, &args));
        found["rows"].as_array().expect("rows").iter().map(|r| r["values"][0].as_f64()).collect::<Vec<_>>()
    };
    for over in [
        "setup.part.injector.cylinder3.error_pct=-10,10",
        "setup.part.1.error_pct=-10,10",
        "setup.part.injector.cylinder4.error_pct=-10,10",
        "setup.part.battery.wear_pct=0,80",
        "setup.sensor.manifold_pressure.offset_v=0,0.4",
        "setup.weather.ambient_c=-10,30",
        "setup.battery_charge_pct=60,95",
        "act.start.after_s=1,3",
    ] {
        let values = short(over);
        assert!(values.len() == 2 && values[0].is_some() && values[0] != values[1], "{over}: {values:?}");
    }
}

/// What cannot be meant is refused in words, with the nearest word where one is near, before anything is run.
#[test]
fn trips_what_cannot_be_varied_or_told() {
    let dir = leaky("refused");
    let cases: [(&[&str], &[&str]); 16] = [
        (&["--over", "setup.unmetered_leek_mm2=0:8:9"], &["unmetered_leek_mm2", "unmetered_leak_mm2"]),
        (&["--over", "setup.unmetered_leak_mm2=0:800:3"], &["--over", "(400 given)"]),
        (&["--over", "setup.unmetered_leak_mm2"], &["FROM:TO:COUNT"]),
        (&["--over", "setpu.coolant_c=1,2"], &["setup.coolant_c"]),
        (&["--over", "about.level=1,2"], &["there is no value at the path"]),
        (&["--over", "setup.wether.ambient_c=1,2"], &["did you mean \"weather\""]),
        (&["--over", "setup.part.injector.error_pct=1,2"], &["setup.part.injector.cylinder2.error_pct"]),
        (&["--over", "setup.part.injecter.cylinder1.error_pct=1,2"], &["did you mean \"injector\""]),
        (&["--over", "setup.part.injector.cylinder9.error_pct=1,2"], &["--over"]),
        (&["--over", "setup.conditioning.0.minutes=1,2"], &["there is no value at the path"]),
        (&["--over", "act.strat.after_s=1,2"], &["act.start.after_s"]),
        (&["--over", "setup=1,2"], &["leads to a group"]),
        (&["--over", "setup.seed=1,2"], &["--runs", "--seed"]),
        (&["--over", "setup.coolant_c=1,2", "--over", "setup.coolant_c=3,4"], &["twice"]),
        (&["--signal", "engine_sped_rpm"], &["did you mean \"engine_speed_rpm\""]),
        (&["--signal", "cpu_s"], &["no signal"]),
    ];
    for (args, says) in cases {
        let o = sweep(&dir, "1", &[args, &["--lid", "open", "--out", "out"]].concat());
        ends(&o, 2);
        for said in says {
            assert!(err(&o).contains(said), "{args:?}: {}", err(&o));
        }
        assert!(!dir.join("out").exists(), "{args:?}");
    }
    let signals = ["--signal", "map_kpa"].repeat(6);
    let o = go(&dir, &[&["sweep", "leaky.toml", "--runs", "100000"][..], &signals].concat());
    ends(&o, 2);
    assert!(err(&o).contains("1100000 numbers"), "{}", err(&o));
    let many = [
        "sweep",
        "leaky.toml",
        "--lid",
        "open",
        "--over",
        "setup.coolant_c=0:90:1000",
        "--over",
        "setup.fuel_pct=50,60",
    ];
    ends(&go(&dir, &many), 2);
    ends(&go(&dir, &["sweep", "leaky.toml", "--runs", "0"]), 2);
    ends(&go(&dir, &["sweep"]), 2);
}

/// Under a closed lid nothing true is told: not varied, not as a signal, not with an expectation. A locked lid stays.
#[test]
fn holds_the_lid() {
    let dir = leaky("lid");
    for args in [&VARIED[..2], &["--signal", "true_leak_g_s"], &["--signal", "truth.unmetered_leak_mm2"]] {
        let o = sweep(&dir, "1", args);
        ends(&o, 2);
        assert!(err(&o).contains("--lid open"), "{}", err(&o));
    }
    ends(&sweep(&dir, "2", &["--out", "closed"]), 0);
    for file in FILES {
        let told = text(&dir, &format!("closed/{file}"));
        for true_word in ["unmetered_leak", "the leak is small", "unmetered leak"] {
            assert!(!told.contains(true_word), "{file} tells {true_word}");
        }
        assert!(told.contains("engine_speed_rpm") || told.contains("ngine speed"), "{file}");
    }
    let runs = text(&dir, "closed/runs.csv");
    assert_eq!(
        runs.lines().next(),
        Some("run,seed,all met,live.engine_speed_rpm,live.engine_speed_rpm met,truth.hidden met,lamp met")
    );
    write(&dir, "locked.toml", &changed(LEAKY, "[setup]", "lid = \"locked\"\n[setup]"));
    ends(&go(&dir, &["sweep", "locked.toml", "--lid", "open"]), 2);
}

/// Parts of another sweep, of another version, twice or too few are refused; so is a folder with another sweep in it.
#[test]
fn trips_parts_that_do_not_fit() {
    let dir = leaky("parts");
    for (share, out) in [("1/2", "a"), ("2/2", "b")] {
        ends(&sweep(&dir, "2", &["--out", out, "--shard", share]), 0);
    }
    ends(&sweep(&dir, "2", &["--out", "other", "--shard", "2/2", "--signal", "map_kpa"]), 0);
    let older = text(&dir, "b/sweep.json").replacen("\"version\":\"", "\"version\":\"0.", 1);
    write(&dir, "older.json", &older);
    write(&dir, "none.json", "{}");
    for (parts, says) in [
        (&["a", "a"][..], "the same share given twice"),
        (&["a"], "from the shares 2/2"),
        (&["a", "other"], "another sweep"),
        (&["a", "older.json"], "another version"),
        (&["a", "none.json"], "not what sweep writes"),
        (&["a", "leaky.toml"], "not what sweep writes"),
    ] {
        let o = go(&dir, &[&["sweep", "--merge"], parts, &["--out", "out"]].concat());
        ends(&o, 2);
        assert!(err(&o).contains(says), "{parts:?}: {}", err(&o));
        assert!(!dir.join("out").exists());
    }
    let o = sweep(&dir, "2", &["--out", "a"]);
    ends(&o, 4);
    assert!(err(&o).contains("another sweep or another share"), "{}", err(&o));
}

/// A sweep that was stopped goes on where it was: runs that are there are not run again, and the bytes are the same.
#[test]
fn same_after_a_stop() {
    let dir = leaky("stop");
    ends(&sweep(&dir, "2", &["--out", "whole"]), 0);
    // as Ctrl-C after one run leaves it
    let whole = text(&dir, "whole/sweep.json");
    let mut part: serde_json::Value = serde_json::from_str(&whole).expect("an object");
    part["rows"].as_array_mut().expect("rows").truncate(1);
    part.as_object_mut().expect("an object").remove("points");
    std::fs::create_dir(dir.join("stopped")).expect("a folder");
    write(&dir, "stopped/sweep.json", &part.to_string());
    let o = go(&dir, &["sweep", "--merge", "stopped"]);
    ends(&o, 2);
    assert!(err(&o).contains("2 of 3 runs are missing"), "{}", err(&o));
    let o = sweep(&dir, "2", &["--out", "stopped"]);
    ends(&o, 0);
    assert!(err(&o).contains("2 runs simulated"), "{}", err(&o));
    same_files(&dir, "whole", "stopped");
    assert!(out(&o).contains("3 of 3 (100.0 %)"), "{}", out(&o));
}
