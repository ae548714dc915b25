//! The program itself, run in a folder of its own: output, files, exit codes.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(
    clippy::disallowed_methods,
    reason = "files are written and read, and a running program is waited for"
)]

use crate::bay::PLOVER as CAR;
use crate::bay::program::{command, ends, err, folder, go, json, out, program, text, write};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

fn listing(dir: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(dir) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// A short scenario: a throttle body with 6 µm and its own serial, started and idling.
fn short(lid: &str, car: &str, more: &str) -> String {
    format!(
        r#"schema = 1
[about]
id = "own"
title = "A short one"
level = 1
complaint = "None."
teaches = "Nothing."
lid = "{lid}"
[setup]
car = "{car}"
seed = 1
coolant_c = 88.0
run_s = 40
[[setup.part]]
part = "throttle_body"
serial = "QQ7QQ7"
deposit_um = 6
[[act]]
id = "key-on"
at_s = 1.0
key = "on"
[[act]]
id = "start"
after_s = 2.0
key = "crank"
{more}"#
    )
}

fn expect(what: &str, rule: &str) -> String {
    format!("[[expect]]\nat = \"end\"\nwhat = \"{what}\"\n{rule}\nwhy = \"so says the test\"\n")
}

// ---------------------------------------------------------------------------------------------------
// Run
// ---------------------------------------------------------------------------------------------------

#[test]
fn holds_run_tells_a_table() {
    let dir = folder("table");
    let o = go(&dir, &["run", "healthy-idle"]);
    ends(&o, 0);
    assert!(out(&o).contains("idle.mean_rpm") || out(&o).contains("target of 720"), "{}", out(&o));
    assert!(listing(&dir).is_empty(), "nothing is written unasked");
}

/// Every key that others may rely on.
#[test]
fn exact_json_keys() {
    let dir = folder("json");
    let o = go(&dir, &["run", "healthy-idle", "--json"]);
    ends(&o, 0);
    let v = json(&o);
    let of = |v: &Value, keys: &[&str], what: &str| {
        for k in keys {
            assert!(v.get(*k).is_some(), "{what} lacks `{k}`:\n{v:#}");
        }
    };
    of(
        &v,
        &[
            "schema",
            "version",
            "scenario",
            "car",
            "seed",
            "simulated_s",
            "cpu_s",
            "state_hash",
            "idle",
            "trims",
            "learned",
            "codes",
            "lamp",
            "job",
            "model_notes",
            "expectations",
        ],
        "the object",
    );
    assert_eq!(v["schema"], 2);
    assert_eq!(v["version"], env!("CARGO_PKG_VERSION"));
    assert_eq!(
        (&v["scenario"], &v["car"], &v["seed"]),
        (&"healthy-idle".into(), &"plover".into(), &1.into())
    );
    assert!(v["simulated_s"].as_f64().is_some_and(|s| (299.9..301.0).contains(&s)));
    assert!(v["cpu_s"].as_f64().is_some_and(|s| s > 0.0));
    assert_eq!(v["state_hash"].as_str().map(str::len), Some(64));
    of(&v["job"], &["minutes", "money", "currency", "parts_bought", "lines"], "the job card");
    assert_eq!(
        (&v["job"]["minutes"], &v["job"]["parts_bought"]),
        (&0.0.into(), &0.into()),
        "nobody did a thing"
    );
    assert!(v["readings"].is_array() && v["watched"].is_array());
    assert_eq!(v["lamp"], "off");
    assert!(v["codes"].as_array().is_some_and(Vec::is_empty));
    assert!(v["model_notes"].is_array());
    let idle =
        ["target_rpm", "mean_rpm", "sd_rpm", "map_kpa", "air_g_s", "throttle_deg", "spark_deg", "lambda"];
    of(&v["idle"], &idle, "idle");
    assert_eq!(v["idle"]["lambda"].as_array().map(Vec::len), Some(1), "one bank");
    assert_eq!(v["trims"].as_array().map(Vec::len), Some(1), "one bank");
    let trims = ["bank", "short_pct", "long_idle_g_s", "long_idle_pct", "long_part_pct", "long_high_pct"];
    of(&v["trims"][0], &trims, "trims");
    let learned = v["learned"].as_array().expect("learned values");
    assert!(learned.len() >= 6);
    for l in learned {
        of(l, &["name", "unit", "value", "default", "low", "high", "learned", "gates"], "a learned value");
        for g in l["gates"].as_array().expect("gates") {
            of(g, &["name", "open", "now", "limit", "code"], "a gate");
        }
    }
    let gates = |name: &str| learned.iter().find(|l| l["name"] == name).map(|l| l["gates"].clone());
    assert!(gates("idle_air_light").is_some_and(|g| g.as_array().is_some_and(|g| g.len() >= 8)));
    let expectations = v["expectations"].as_array().expect("expectations");
    assert_eq!(expectations.len(), 6);
    for e in expectations {
        of(e, &["what", "why", "met", "measured"], "an expectation");
        assert_eq!(e["met"], true);
    }
    assert!(v.get("truth").is_none(), "the lid is closed");
}

/// A closed lid: nothing in any output may tell what measuring would have to find.
#[test]
fn holds_a_closed_lid_in_every_output() {
    let dir = folder("closed");
    let o = go(&dir, &["run", "idles-high", "--json", "--out", "results"]);
    ends(&o, 0);
    let v = json(&o);
    assert!(v.get("truth").is_none());
    let hidden: Vec<&Value> = v["expectations"]
        .as_array()
        .expect("expectations")
        .iter()
        .filter(|e| e["what"].as_str().is_some_and(|w| w.starts_with("truth.")))
        .collect();
    assert!(!hidden.is_empty(), "idles-high expects something of truth");
    assert!(hidden.iter().all(|e| e["measured"].is_null()), "{hidden:?}");
    let results = dir.join("results");
    let all = [
        ("json", out(&o)),
        ("trace.csv", text(&results, "trace.csv")),
        ("logbook.jsonl", text(&results, "logbook.jsonl")),
        ("debrief.html", text(&results, "debrief.html")),
    ];
    for (name, text) in &all {
        assert!(!text.is_empty(), "{name} is empty");
        for word in [
            "true_",            // truth columns
            "wear_factor",      // the scenario's text, conditioning
            "conditioning",     //
            "throttle-cleaned", // the act that is the fault
            "clean_throttle",   //
            "schema = 1",       // the scenario's text
            "idle_air_needed",  // truth
            "serial",           //
            "deposit_um\":",    //
            "unmetered_leak",   //
            "bore ",            //
        ] {
            assert!(!text.contains(word), "{name} under a closed lid holds `{word}`");
        }
    }
    // the logbook names what ran by hash only, and one line is one object
    let logbook = &all[2].1;
    for line in logbook.lines() {
        assert!(serde_json::from_str::<Value>(line).is_ok(), "{line}");
    }
    // what the technician's own eyes see is there
    assert!(logbook.contains("P0507"), "{logbook}");
    let head = all[1].1.lines().find(|l| l.contains("engine_speed_rpm")).expect("a header in the trace");
    assert!(head.contains("time_s") && head.contains("map_kpa"), "{head}");
    assert!(all[1].1.lines().count() > 400, "ten rows a second");
}

/// A lesson that nobody works on tells neither what its author expects of it nor what the module has learned: with and
/// without a ticket's variant, on the terminal, as data and on the page. An open lid tells both.
#[test]
fn bug_a_closed_lid_keeps_what_nobody_read() {
    let dir = folder("unread");
    for who in [&[][..], &["--class-seed", "7", "--trainee", "bench 1"]] {
        let args = |more: &[&'static str]| [&["run", "idles-high"], who, more].concat();
        let o = go(&dir, &args(&["--json", "--out", "closed", "--force"]));
        ends(&o, 0);
        let v = json(&o);
        assert_eq!((&v["learned"], &v["trims"]), (&Value::Array(Vec::new()), &Value::Array(Vec::new())));
        for e in v["expectations"].as_array().expect("expectations") {
            assert!(e["measured"].is_null() && e["met"] == true, "{e}");
            assert!(["hidden", "truth.hidden"].iter().any(|w| e["what"] == *w), "{e}");
        }
        let table = ends(&go(&dir, &args(&[])), 0);
        let page = text(&dir, "closed/debrief.html");
        let open = ends(&go(&dir, &args(&["--lid", "open"])), 0);
        for told in ["idle air, no load", "codes.P0507.pending", "learned.idle_air_light.value"] {
            assert!(open.contains(told), "an open lid tells {told}: {open}");
            assert!(!table.contains(told) && !page.contains(told), "a closed lid tells {told}: {table}");
        }
        assert!(table.contains("not read") && table.contains("expectation"), "{table}");
    }
}

/// What another garage wrote into the module is to be found by reading: it stands in no file of a trainee whose cylinders were
/// drawn.
#[test]
fn bug_a_notice_of_the_module_tells_no_hidden_act() {
    let dir = folder("wrote");
    let args = |lid: &'static str| {
        let own = ["--class-seed", "7", "--trainee", "otter", "--out", lid, "--lid", lid];
        [&["run", "rough-since-two-were-renewed"][..], &own].concat()
    };
    let closed = ends(&go(&dir, &args("closed")), 0);
    ends(&go(&dir, &args("open")), 0);
    assert!(text(&dir.join("open"), "logbook.jsonl").contains("injector_code_written"));
    for file in ["logbook.jsonl", "debrief.html", "debrief.json"] {
        let told = text(&dir.join("closed"), file);
        assert!(
            !told.contains("injector_code_written") && !told.contains("injector code for cylinder"),
            "{file}"
        );
    }
    assert!(!closed.contains("points"), "nobody worked, so nothing is marked: {closed}");
}

#[test]
fn holds_an_open_lid_shows_truth() {
    let dir = folder("open");
    let more = expect("truth.deposit_um", "min = 5\nmax = 7");
    write(&dir, "x.toml", &short("closed", "plover", &more));
    let closed = go(&dir, &["run", "x.toml", "--json", "--out", "closed"]);
    let open = go(&dir, &["run", "x.toml", "--json", "--lid", "open", "--out", "open"]);
    ends(&closed, 0);
    ends(&open, 0);
    let (closed, open) = (json(&closed), json(&open));
    assert!(closed.get("truth").is_none());
    assert!(closed["expectations"][0]["measured"].is_null() && closed["expectations"][0]["met"] == true);
    assert_eq!(closed["state_hash"], open["state_hash"], "looking changes nothing");
    let truth = open.get("truth").expect("truth under an open lid");
    assert!(truth["deposit_um"].as_f64().is_some_and(|d| (5.9..6.2).contains(&d)), "{truth}");
    assert!(open["expectations"][0]["measured"].is_number());
    assert!(text(&dir.join("open"), "trace.csv").contains("true_"));
    assert!(!text(&dir.join("closed"), "trace.csv").contains("true_"));
    // what a scenario's own part is called, and its text, come out under an open lid only
    let book = |lid: &str| text(&dir.join(lid), "logbook.jsonl");
    assert!(book("open").contains("QQ7QQ7"));
    for name in ["trace.csv", "logbook.jsonl", "debrief.html"] {
        assert!(!text(&dir.join("closed"), name).contains("QQ7QQ7"), "{name}");
    }
    assert!(!closed.to_string().contains("QQ7QQ7"));
    // a scenario may open its lid itself, and then it can be closed for nobody
    write(&dir, "open.toml", &short("open", "plover", &more));
    let o = go(&dir, &["run", "open.toml", "--json"]);
    ends(&o, 0);
    assert!(json(&o).get("truth").is_some());
}

#[test]
fn holds_a_locked_lid_refuses() {
    let dir = folder("locked");
    write(&dir, "x.toml", &short("locked", "plover", &expect("lamp", "is = \"off\"")));
    let o = go(&dir, &["run", "x.toml", "--lid", "open", "--json", "--out", "results"]);
    ends(&o, 2);
    assert!(err(&o).contains("locked"), "{}", err(&o));
    assert!(out(&o).is_empty());
    assert!(!dir.join("results").exists(), "nothing is written");
    ends(&go(&dir, &["run", "x.toml"]), 0);
}

#[test]
fn holds_out_writes_whole_files() {
    let dir = folder("out");
    write(&dir, "x.toml", &short("closed", "plover", &expect("lamp", "is = \"off\"")));
    for force in [&[][..], &["--force"]] {
        // the second time over the first
        ends(&go(&dir, &[&["run", "x.toml", "--out", "a/b"], force].concat()), 0);
        assert_eq!(
            listing(&dir.join("a/b")),
            ["debrief.html", "debrief.json", "gradebook.csv", "logbook.jsonl", "trace.csv"]
        );
    }
    for name in ["debrief.html", "logbook.jsonl", "trace.csv"] {
        assert!(text(&dir.join("a/b"), name).len() > 200, "{name}");
    }
    // the same run gives the same files
    ends(&go(&dir, &["run", "x.toml", "--out", "c"]), 0);
    for name in ["logbook.jsonl", "trace.csv"] {
        assert_eq!(text(&dir.join("a/b"), name), text(&dir.join("c"), name), "{name}");
    }
}

#[test]
fn holds_out_where_a_file_stands_is_file_trouble() {
    let dir = folder("out-file");
    write(&dir, "x.toml", &short("closed", "plover", &expect("lamp", "is = \"off\"")));
    write(&dir, "taken", "something of mine\n");
    let o = go(&dir, &["run", "x.toml", "--out", "taken"]);
    ends(&o, 4);
    assert!(err(&o).contains("taken"), "{}", err(&o));
    assert_eq!(text(&dir, "taken"), "something of mine\n");
    assert_eq!(listing(&dir), ["taken", "x.toml"]);
    // one of the three names taken by a folder
    std::fs::create_dir_all(dir.join("half/trace.csv")).expect("a folder");
    let o = go(&dir, &["run", "x.toml", "--out", "half"]);
    ends(&o, 4);
    assert!(
        listing(&dir.join("half")).iter().all(|n| !n.ends_with(".part")),
        "{:?}",
        listing(&dir.join("half"))
    );
}

/// A sound file: one channel, 48 kHz, 16 bits, as long as was asked for, the same bytes each time; what cannot be heard is
/// refused before anything is simulated, where that is known.
#[test]
fn holds_a_run_is_heard() {
    let dir = folder("heard");
    write(&dir, "car.toml", CAR);
    write(&dir, "one.toml", &short("closed", "car.toml", ""));
    let heard = |name: &str, more: &[&str]| {
        let args = [&["run", "one.toml", "--sound", name], more].concat();
        go(&dir, &args)
    };
    ends(&heard("one.wav", &["--sound-from", "20", "--sound-for", "2.5"]), 0);
    ends(&heard("two.wav", &["--sound-from", "20", "--sound-for", "2.5"]), 0);
    let [one, two] = ["one.wav", "two.wav"].map(|name| std::fs::read(dir.join(name)).expect("a sound file"));
    assert!(one == two, "other samples");
    let number = |at: usize| u32::from_le_bytes(one[at..at + 4].try_into().expect("four bytes"));
    assert_eq!((&one[..4], &one[8..16], &one[36..40]), (&b"RIFF"[..], &b"WAVEfmt "[..], &b"data"[..]));
    // PCM, one channel; samples a second; bytes a sample, bits a sample; bytes of samples
    assert_eq!((number(20), number(24), number(32)), (0x1_0001, 48_000, 0x10_0002));
    assert_eq!((number(40), one.len()), (2 * 120_000, 44 + 240_000));
    let sample = |k: usize| i16::from_le_bytes([one[44 + 2 * k], one[45 + 2 * k]]);
    assert!((0..120_000).any(|k| sample(k).unsigned_abs() > 1000), "it can be heard");
    assert!(sample(0).abs() < 30 && sample(119_999).abs() < 30, "it begins and ends without a click");
    for (more, says) in [
        (&["--sound-from", "-1"][..], "--sound-from must be 0 or more"),
        (&["--sound-for", "0"], "--sound-for must be more than 0 and at most 600"),
        (&["--sound-for", "601"], "--sound-for must be more than 0 and at most 600"),
        (&["--sound-for", "nan"], "--sound-for must be more than 0"),
        (&["--sound-from", "100"], "nothing of that stretch was heard"),
    ] {
        let o = heard("three.wav", more);
        ends(&o, 2);
        assert!(err(&o).contains(says), "{more:?}: {}", err(&o));
        assert!(!dir.join("three.wav").exists(), "{more:?}");
    }
    let o = go(&dir, &["run", "one.toml", "--sound-for", "3"]);
    ends(&o, 2);
    assert!(err(&o).contains("--sound"), "{}", err(&o));
    std::fs::create_dir_all(dir.join("four.wav")).expect("a folder");
    ends(&heard("four.wav", &[]), 4);
}

#[test]
fn holds_unmet_expectations_are_exit_1() {
    let dir = folder("unmet");
    let more = expect("live.engine_speed_rpm", "min = 5000") + &expect("lamp", "is = \"off\"");
    write(&dir, "x.toml", &short("closed", "plover", &more));
    let o = go(&dir, &["run", "x.toml", "--json"]);
    ends(&o, 1);
    let v = json(&o);
    let met: Vec<bool> = v["expectations"].as_array().unwrap().iter().map(|e| e["met"] == true).collect();
    assert_eq!(met, [false, true]);
    assert!(v["expectations"][0]["measured"].is_number());
    ends(&go(&dir, &["run", "x.toml"]), 1);
}

#[test]
fn holds_missing_files_are_exit_4() {
    let dir = folder("missing");
    for args in [
        &["run", "nowhere.toml"][..],
        &["run", "nowhere.toml", "--json", "--out", "results"],
        &["run", "healthy-idle", "--actions", "nowhere.toml"],
        &["run", "."],
        &["check", "nowhere.toml"],
    ] {
        let o = go(&dir, args);
        ends(&o, 4);
        assert_eq!(err(&o).lines().count(), 1, "one clear line:\n{}", err(&o));
        assert!(out(&o).is_empty());
    }
    assert!(listing(&dir).is_empty());
}

#[test]
fn holds_broken_files_are_exit_2_with_their_line() {
    let dir = folder("broken");
    let good = short("closed", "plover", &expect("lamp", "is = \"off\""));
    let line_of = |text: &str, what: &str| text.lines().position(|l| l.contains(what)).unwrap() + 1;
    let cases = [
        ("syntax", good.replace("seed = 1", "seed = = 1"), "seed"),
        ("unknown key", good.replace("run_s = 40", "runs = 40"), "runs"),
        ("range", good.replace("coolant_c = 88.0", "coolant_c = 900"), "coolant_c"),
        ("unknown car", good.replace("car = \"plover\"", "car = \"plower\""), "car ="),
        ("unknown path", good.replace("what = \"lamp\"", "what = \"lamb\""), "lamb"),
        ("cylinder", good.replace("key = \"crank\"", "unplug = \"injector_7\""), "[[act]]"),
    ];
    for (what, broken, at) in cases {
        let name = format!("{}.toml", what.replace(' ', "-"));
        write(&dir, &name, &broken);
        for args in [&["run", &name, "--json", "--out", "results"][..], &["check", &name]] {
            let o = go(&dir, args);
            ends(&o, 2);
            let said = err(&o);
            assert_eq!(said.lines().count(), 1, "{what}: one error at a time:\n{said}");
            let place = said.strip_prefix(&format!("{name}:")).unwrap_or_else(|| panic!("{what}: {said}"));
            let line: usize = place.split(':').next().and_then(|n| n.parse().ok()).expect("a line number");
            if at != "[[act]]" {
                assert_eq!(line, line_of(&broken, at), "{what}: {said}");
            } else {
                // the act that does it, wherever in its table
                let by = line_of(&broken, "injector_7");
                assert!((by - 3..=by).contains(&line), "{what}: {said}");
            }
        }
        assert!(!dir.join("results").exists(), "{what}: nothing is written");
    }
    std::fs::write(dir.join("bytes.toml"), b"schema = 1\n\xff\xfe\n").expect("writing a file");
    ends(&go(&dir, &["run", "bytes.toml"]), 2);
    // a broken action file, likewise
    write(
        &dir,
        "acts.toml",
        "schema = 1\n[about]\nid = \"T\"\ntitle = \"t\"\n[[act]]\nid = \"a\"\nat_s = -1\nbrake = true\n",
    );
    let o = go(&dir, &["run", "healthy-idle", "--actions", "acts.toml"]);
    ends(&o, 2);
    assert!(err(&o).starts_with("acts.toml:7:"), "{}", err(&o));
}

#[test]
fn holds_a_car_beside_the_scenario() {
    let dir = folder("car");
    let more = expect("idle.mean_rpm", "min = 760\nmax = 840");
    // the same car with another idle target
    let target = "target_rpm = [[-20.0, 1250.0], [0.0, 1150.0], [20.0, 1020.0], [50.0, 850.0], [75.0, 720.0], [110.0, 720.0]]";
    assert!(CAR.contains(target), "the car's file has changed: mend this test");
    let own = CAR
        .replace(target, "target_rpm = [[-20.0, 1250.0], [50.0, 850.0], [75.0, 800.0], [110.0, 800.0]]")
        .replace("name = \"plover\"", "name = \"own\"");
    write(&dir, "own.toml", &own);
    write(&dir, "x.toml", &short("closed", "own.toml", &more));
    let o = go(&dir, &["run", "x.toml", "--json"]);
    ends(&o, 0);
    assert_eq!(json(&o)["car"], "own");
    // from another folder: beside the scenario, not beside who runs it
    let elsewhere = folder("car-elsewhere");
    ends(&go(&elsewhere, &["run", &dir.join("x.toml").to_string_lossy()]), 0);

    // nothing but an ordinary file in or below the folder: no path out of it, no link, no device that never ends
    let outside = "in the scenario's folder";
    let mut refused =
        vec![("../own.toml".to_owned(), outside), (dir.join("own.toml").display().to_string(), outside)];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("/dev/zero", dir.join("endless.toml")).expect("a link");
        std::os::unix::fs::symlink("own.toml", dir.join("linked.toml")).expect("a link");
        std::os::unix::fs::symlink(&elsewhere, dir.join("away")).expect("a link");
        write(&elsewhere, "own.toml", &own);
        let made = Command::new("mkfifo").arg(dir.join("pipe.toml")).status().expect("mkfifo");
        assert!(made.success());
        let links = ["endless.toml", "linked.toml", "pipe.toml", "away/own.toml"];
        refused.extend(links.map(|what| (what.to_owned(), "must be an ordinary file")));
        // a person's own link is theirs to follow; a pipe is none to wait for
        let o = go(&dir, &["calibrate", "--car", "pipe.toml"]);
        ends(&o, 2);
        assert!(err(&o).contains("must be an ordinary file"), "{}", err(&o));
    }
    for (what, says) in refused {
        write(&dir, "z.toml", &short("closed", &what, &more));
        let o = go(&dir, &["run", "z.toml"]);
        ends(&o, 2);
        assert!(err(&o).contains(says), "{what}: {}", err(&o));
    }
    // a car that a person names may lie anywhere
    write(&elsewhere, "odd.toml", &own.replace("bore_mm = 81.0", "bore_mm = -5.0"));
    let odd = elsewhere.join("odd.toml").display().to_string();
    let o = go(&dir, &["calibrate", "--car", &odd]);
    ends(&o, 2);
    assert!(err(&o).contains("bore_mm"), "{}", err(&o));

    for (what, car) in [
        ("broken.toml", own.replace("bore_mm = 81.0", "bore_mm = 81.0.0")),
        ("range.toml", own.replace("bore_mm = 81.0", "bore_mm = -5.0")),
        ("key.toml", own.replace("bore_mm = 81.0", "boer_mm = 81.0")),
    ] {
        write(&dir, what, &car);
        write(&dir, "y.toml", &short("closed", what, &more));
        let o = go(&dir, &["run", "y.toml", "--out", "results"]);
        ends(&o, 2);
        let said = err(&o);
        assert_eq!(said.lines().count(), 1, "{what}: {said}");
        assert!(said.starts_with("y.toml:") && said.contains(what), "{what}: {said}");
        assert!(!dir.join("results").exists());
    }
    write(&dir, "y.toml", &short("closed", "not-there.toml", &more));
    let o = go(&dir, &["run", "y.toml"]);
    assert!(matches!(o.status.code(), Some(2 | 4)), "{}", err(&o));
    assert!(err(&o).contains("not-there.toml") && err(&o).lines().count() == 1, "{}", err(&o));
    // never outside the scenario's own folder
    write(&dir, "y.toml", &short("closed", "../own.toml", &more));
    ends(&go(&dir, &["run", "y.toml"]), 2);
}

#[test]
fn holds_a_trainees_acts_run_after_hand_over() {
    let dir = folder("actions");
    write(&dir, "x.toml", &short("closed", "plover", &expect("live.engine_speed_rpm", "min = 5000")));
    let acts = "schema = 1\n[about]\nid = \"T\"\ntitle = \"Lamps\"\n[setup]\nrun_s = 20\n\
                [[act]]\nid = \"lamps\"\nat_s = 5.0\nload = \"lamps\"\non = true\n";
    write(&dir, "acts.toml", &format!("{acts}{}", expect("live.running", "is = true")));
    let o = go(&dir, &["run", "x.toml", "--actions", "acts.toml", "--json", "--out", "results"]);
    ends(&o, 0);
    assert_eq!(json(&o)["expectations"].as_array().map(Vec::len), Some(1), "the trainee's own expectation");
    assert!(text(&dir.join("results"), "logbook.jsonl").contains("lamps"));
}

#[test]
fn holds_seed_and_step_can_be_changed() {
    let dir = folder("seed");
    write(&dir, "x.toml", &short("closed", "plover", &expect("lamp", "is = \"off\"")));
    let run = |more: &[&str]| {
        let mut args = vec!["run", "x.toml", "--json"];
        args.extend(more);
        let o = go(&dir, &args);
        ends(&o, 0);
        json(&o)
    };
    let (plain, again, other, fine) =
        (run(&[]), run(&["--seed", "1"]), run(&["--seed", "7"]), run(&["--step-deg", "1"]));
    assert_eq!(plain["state_hash"], again["state_hash"]);
    assert_eq!(other["seed"], 7);
    assert_ne!(plain["state_hash"], other["state_hash"]);
    assert_ne!(plain["state_hash"], fine["state_hash"]);
    ends(&go(&dir, &["run", "x.toml", "--step-deg", "3"]), 2);
}

// ---------------------------------------------------------------------------------------------------
// The other commands
// ---------------------------------------------------------------------------------------------------

#[test]
fn holds_check_reads_without_running() {
    let dir = folder("check");
    let o = go(
        &dir,
        &["check", "healthy-idle", "idles-high", "idles-high/solution", "fast-since-a-new-throttle/trap-1"],
    );
    ends(&o, 0);
    assert_eq!(out(&o).lines().count(), 4, "{}", out(&o));
    write(&dir, "x.toml", &short("closed", "plover", &expect("lamp", "is = \"off\"")));
    write(&dir, "bad.toml", &short("ajar", "plover", ""));
    ends(&go(&dir, &["check", "x.toml"]), 0);
    let o = go(&dir, &["check", "x.toml", "bad.toml", "x.toml"]);
    ends(&o, 2);
    assert!(err(&o).starts_with("bad.toml:8:"), "{}", err(&o));
    assert_eq!(out(&o).lines().count(), 2, "the good ones are told as well: {}", out(&o));
    ends(&go(&dir, &["check", "missing.toml", "bad.toml"]), 2);
    ends(&go(&dir, &["check", "missing.toml", "x.toml"]), 4);
    ends(&go(&dir, &["check"]), 2);
}

/// An action file is read against the scenario in its folder; without one for its form, and that is told.
#[test]
fn holds_check_tells_what_an_action_file_was_read_against() {
    let dir = folder("check-actions");
    let hands = "schema = 1\n[about]\nid = \"year\"\ntitle = \"A year on\"\n[setup]\nrun_s = 60\n\
                 [[act]]\nid = \"wait\"\nat_s = 1\nwait_s = 5\n\
                 [[expect]]\nat = \"end\"\nwhat = \"trims.bank2.long_idle_pct\"\nmin = 0\nwhy = \"of a V6\"\n";
    for name in ["year.toml", "idles-high.year.toml"] {
        write(&dir, name, hands);
        let o = go(&dir, &["check", name]);
        ends(&o, 0);
        assert_eq!(
            out(&o),
            format!(
                "{name}: action file year, 1 actions, 1 expectations: valid in form; to check it against its job too, name it first: check JOB FILE\n"
            )
        );
    }
    // the scenario beside it in the command is the one it belongs to, unless there are two
    let text = idlewright::store::shipped("idles-high").expect("it ships").text;
    write(&dir, "mine.toml", text);
    let o = go(&dir, &["check", "year.toml", "mine.toml"]);
    ends(&o, 2);
    assert!(err(&o).contains("bank2"), "a four has no second bank: {}", err(&o));
    write(&dir, "other.toml", text);
    let o = go(&dir, &["check", "year.toml", "mine.toml", "other.toml"]);
    ends(&o, 0);
    assert!(out(&o).contains("to check it against its job too"), "{}", out(&o));
    // what its form forbids is told at its line, and that no scenario helped
    write(&dir, "wrong.toml", &hands.replace("wait_s = 5", "wait_s = \"{long}\""));
    let o = go(&dir, &["check", "wrong.toml"]);
    ends(&o, 2);
    assert!(
        err(&o).starts_with("wrong.toml:10:") && err(&o).contains("scenario was not found"),
        "{}",
        err(&o)
    );
    write(&dir, "late.toml", &hands.replace("at_s = 1", "at_s = 61"));
    ends(&go(&dir, &["check", "late.toml"]), 2);
    // a scenario half written is none
    write(&dir, "half.toml", &hands.replace("run_s = 60", "seed = 1"));
    let o = go(&dir, &["check", "half.toml"]);
    ends(&o, 2);
    assert!(err(&o).contains("level"), "{}", err(&o));
    // with its scenario beside it, or in a folder called after a shipped one, paths are held against that car
    let own = hands.replace("trims.bank2", "trims.bank1");
    for folder in ["own", "idles-high"] {
        std::fs::create_dir_all(dir.join(folder)).expect("a folder");
    }
    write(&dir, "own/scenario.toml", &short("closed", "plover", ""));
    for name in ["own/year.toml", "idles-high/year.toml"] {
        write(&dir, name, hands);
        let o = go(&dir, &["check", name]);
        ends(&o, 2);
        assert!(err(&o).starts_with(&format!("{name}:13:")), "{}", err(&o));
        write(&dir, name, &own);
        let o = go(&dir, &["check", name]);
        ends(&o, 0);
        assert!(out(&o).contains("action file year for scenario "), "{}", out(&o));
    }
}

#[test]
fn holds_scenarios_lists_what_ships() {
    let dir = folder("scenarios");
    let o = go(&dir, &["scenarios"]);
    let told = go(&dir, &["scenarios", "--actions"]);
    ends(&o, 0);
    ends(&told, 0);
    for s in idlewright::store::SCENARIOS {
        assert!(out(&o).contains(&format!("\n  {} ", s.id)), "{}", s.id);
        for a in s.actions {
            // how many traps there are, and what they are called by, is nothing for a trainee
            assert!(out(&told).contains(a.0) && !out(&o).contains(a.0), "{}", a.0);
        }
    }
    // each family by its name in words, before what belongs to it
    let at = |words: &str| out(&o).find(words).unwrap_or_else(|| panic!("{words}: {}", out(&o)));
    assert!(at("\nHealthy\n") < at("healthy-idle") && at("healthy-idle") < at("\nIdle air\n"));
    assert!(at("\nIdle air\n") < at("idles-high") && at("idles-high") < at("\nFuel trims\n"));
}

/// Every scenario stands on the path once, after those that it builds on, and builds on none that is harder.
#[test]
fn holds_the_path_leads_through_all() {
    let dir = folder("path");
    let o = go(&dir, &["scenarios", "--path"]);
    ends(&o, 0);
    let level = |id: &str| {
        idlewright::app::listing::scenarios().iter().find(|s| s.name == id).map(|s| s.level).expect(id)
    };
    let mut done: Vec<String> = Vec::new();
    let mut at = 0;
    for job in idlewright::app::listing::path().expect("it reads").into_iter().flat_map(|s| s.job) {
        assert!(!done.contains(&job.id), "{} stands twice", job.id);
        for before in &job.after {
            assert!(done.contains(before), "{before} stands after {}", job.id);
            assert!(level(before) <= level(&job.id), "{before} is harder than {}", job.id);
        }
        let line = format!("\n  {} ", job.id);
        let found =
            out(&o)[at..].find(&line).unwrap_or_else(|| panic!("{} is not told in its place", job.id));
        at += found;
        done.push(job.id);
    }
    for s in idlewright::store::SCENARIOS {
        assert!(done.iter().any(|d| d == s.id), "{} is not on the path", s.id);
    }
}

/// A shipped scenario is named by its id alone; for anything near it, or with its family before it, the id is told.
#[test]
fn trips_on_a_name_that_does_not_ship() {
    let dir = folder("names");
    for (args, hint) in [
        (&["run", "idle-high"][..], "idles-high"),
        (&["run", "Idles-High"], "idles-high"),
        (&["run", "idle-air/idles-high"], "idles-high"),
        (&["check", "battery/smells-of-acid"], "smells-of-acid"),
        (&["run", "idles-high", "--actions", "idles-high/solutoin"], "idles-high/solution"),
        (&["run", "idles-high", "--actions", "idle-air/idles-high/trap-1"], "idles-high/trap-1"),
    ] {
        let o = go(&dir, args);
        ends(&o, 2);
        assert!(err(&o).contains(&format!("did you mean \"{hint}\"?")), "{args:?}: {}", err(&o));
    }
    let o = go(&dir, &["run", "nothing-like-it-at-all-in-any-way"]);
    ends(&o, 2);
    assert!(
        err(&o).contains("nothing of that name ships") && !err(&o).contains("did you mean"),
        "{}",
        err(&o)
    );
}

/// A scenario's folder stands for its scenario, its action files are named with or without their ending, and `check`
/// reads all that lies in it.
#[test]
fn holds_a_scenario_is_a_folder() {
    let dir = folder("own-folder");
    let own = dir.join("family/mine");
    std::fs::create_dir_all(&own).expect("a folder");
    let text = short("closed", "own-car.toml", &expect("lamp", "is = \"off\""));
    let car = include_str!("../../assets/cars/plover.toml");
    let hands = "schema = 1\n[about]\nid = \"mine/solution\"\ntitle = \"t\"\n[setup]\nrun_s = 2\n\
                 [[act]]\nid = \"wait\"\nat_s = 1\nwait_s = 1\n";
    for (name, text) in [
        ("scenario.toml", text.as_str()),
        ("solution.toml", hands),
        ("answers.toml", "schema = 1\ncautions = \"read\"\n"),
        ("rubric.toml", "schema = 1\n[[row]]\nid = \"cause\"\npoints = 3\n"),
        ("own-car.toml", car),
        ("notes.txt", "not read"),
    ] {
        std::fs::write(own.join(name), text).expect("a file");
    }
    for args in [
        &["run", "family/mine"][..],
        &["run", "family/mine/scenario.toml"],
        &["run", "family/mine/", "--actions", "family/mine/solution"],
        &["run", "family/mine/scenario.toml", "--actions", "family/mine/solution.toml"],
    ] {
        ends(&go(&dir, args), 0);
    }
    for folder in ["family/mine", "family"] {
        let o = go(&dir, &["check", folder]);
        ends(&o, 0);
        let said: Vec<String> = out(&o).lines().map(|l| l.replace(['\\'], "/")).collect();
        let begin = [
            ("scenario.toml", "scenario own"),
            ("answers.toml", "answers for scenario own"),
            ("own-car.toml", "car plover"),
            ("rubric.toml", "rubric for scenario own"),
            ("solution.toml", "action file mine/solution for scenario own"),
        ];
        assert_eq!(said.len(), begin.len(), "{said:?}");
        for (line, (file, what)) in said.iter().zip(begin) {
            assert!(line.starts_with(&format!("family/mine/{file}: {what}")), "{line}");
        }
    }
    // one that is wrong is told, and the others are read all the same
    std::fs::write(own.join("answers.toml"), "schema = 1\ncautions = \"maybe\"\n").expect("a file");
    let o = go(&dir, &["check", "family"]);
    ends(&o, 2);
    assert!(err(&o).contains("answers.toml:2:") && out(&o).lines().count() == 4, "{}", err(&o));
    // a folder with no scenario in it is none
    ends(&go(&dir, &["run", "family"]), 4);
}

#[test]
fn exact_speed_json_keys() {
    let dir = folder("speed");
    let o = go(&dir, &["speed", "--json", "--seconds", "50"]);
    ends(&o, 0);
    let v = json(&o);
    assert_eq!((&v["car"], &v["cylinders"], &v["step_deg"]), (&"plover".into(), &4.into(), &2.0.into()));
    assert!(v["idle_times_real_time"].as_f64().is_some_and(|x| x > 1.0), "{v}");
    assert!(v["ns_per_cylinder_step"].as_f64().is_some_and(|x| x > 0.0), "{v}");
    assert!(v.as_object().is_some_and(|o| o.contains_key("mixed_times_real_time")));
    assert!(v["mixed_times_real_time"].as_f64().is_some_and(|x| x > 1.0), "{v}");
    let o = go(&dir, &["speed", "--seconds", "5"]);
    ends(&o, 0);
    assert!(out(&o).contains("real time"));
    ends(&go(&dir, &["speed", "--step-deg", "3"]), 2);
    ends(&go(&dir, &["speed", "--seconds", "0"]), 2);
}

#[test]
fn holds_wrong_arguments_are_exit_2_and_help_is_0() {
    let dir = folder("arguments");
    for args in [
        &["--nonsense"][..],
        &["run"],
        &["run", "healthy-idle", "--nonsense"],
        &["run", "healthy-idle", "--lid", "ajar"],
        &["run", "healthy-idle", "--seed", "-1"],
        &["dance"],
    ] {
        let o = go(&dir, args);
        ends(&o, 2);
        assert!(out(&o).is_empty() && !err(&o).is_empty(), "{args:?}");
    }
    for args in [&["--help"][..], &["run", "--help"], &["--version"]] {
        let o = go(&dir, args);
        ends(&o, 0);
        assert!(!out(&o).is_empty());
    }
    let o = go(&dir, &["--help"]);
    for code in ["0 ", "1 ", "2 ", "4 ", "130 "] {
        assert!(out(&o).contains(code), "the help tells exit code {code}");
    }
}

/// What two people compare when their results differ: version, physics and sources as a logbook has them, build.
#[test]
fn holds_version_tells_program_physics_and_build() {
    let dir = folder("version");
    let short = ends(&go(&dir, &["-V"]), 0);
    assert_eq!(short, concat!("idlewright ", env!("CARGO_PKG_VERSION"), "\n"));
    let told = ends(&go(&dir, &["--version"]), 0);
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines[0], short.trim_end());
    ends(&go(&dir, &["run", "healthy-idle", "--out", "."]), 0);
    let book = text(&dir, "logbook.jsonl");
    let header: Value = serde_json::from_str(book.lines().next().expect("a first line")).expect("JSON");
    for (line, key) in [(lines[1], "physics"), (lines[2], "sources")] {
        assert_eq!(line, format!("{key} {}", header[key].as_str().expect("a hash")));
    }
    let profile = if cfg!(debug_assertions) { "debug" } else { "release" };
    assert!(lines[3].starts_with(&format!("build {profile}, ")), "{told}");
    assert!(lines[3].contains(std::env::consts::ARCH), "{told}");
    // the commit is told only where whoever built it named one
    assert_eq!(
        lines[3].contains(", commit "),
        option_env!("IDLEWRIGHT_COMMIT").is_some_and(|c| !c.is_empty())
    );
    assert_eq!(lines.len(), 4, "{told}");
}

/// A reader who goes away early is nobody's error.
#[test]
fn holds_a_closed_pipe_is_no_panic() {
    let dir = folder("pipe");
    let mut child = command(&dir, &["scenarios"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let o = child.wait_with_output().expect("it ends");
    ends(&o, 0);
    assert!(err(&o).is_empty(), "{}", err(&o));
}

/// A long run that is told to end in the middle, started by way of a line of the shell (`exec "$@"`).
#[cfg(unix)]
fn told_to_end(dir: &Path, shell: &str, signals: &[&str]) -> std::process::Output {
    let more = expect("lamp", "is = \"off\"");
    write(dir, "x.toml", &short("closed", "plover", &more).replace("run_s = 40", "run_s = 80000"));
    let mut child = Command::new("sh")
        .args(["-c", shell, "sh"])
        .arg(program())
        .args(["run", "x.toml", "--json", "--out", "results"])
        .current_dir(dir)
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the program runs");
    for signal in signals {
        std::thread::sleep(std::time::Duration::from_millis(1500));
        assert!(child.try_wait().expect("asking").is_none(), "it ended before it was told {signal}");
        let sent = Command::new("kill").args([signal, &child.id().to_string()[..]]).status();
        assert!(sent.expect("kill runs").success());
    }
    child.wait_with_output().expect("it ends")
}

/// Ctrl-C ends a long run with what there is.
#[cfg(unix)]
#[test]
fn holds_ctrl_c_writes_what_there_is() {
    let dir = folder("stop");
    let o = told_to_end(&dir, "exec \"$@\"", &["-INT"]);
    ends(&o, 130);
    assert_eq!(
        listing(&dir.join("results")),
        ["debrief.html", "debrief.json", "gradebook.csv", "logbook.jsonl", "trace.csv"]
    );
    let v = json(&o);
    let simulated = v["simulated_s"].as_f64().expect("a time");
    assert!(simulated > 1.0 && simulated < 80_000.0, "{simulated}");
    assert_eq!(v["expectations"][0]["met"], false, "what was not reached was not met");
    let book = text(&dir.join("results"), "logbook.jsonl");
    assert!(book.lines().all(|l| serde_json::from_str::<Value>(l).is_ok()));
    assert!(book.lines().last().is_some_and(|l| l.contains("\"stopped\":true")), "{book}");
}

/// So do the machine that shuts down and the terminal that is closed; the logbook replays.
#[cfg(unix)]
#[test]
fn bug_sigterm_and_sighup_kept_nothing() {
    for signal in ["-TERM", "-HUP"] {
        let dir = folder(&signal[1..]);
        ends(&told_to_end(&dir, "exec \"$@\"", &[signal]), 130);
        let book = text(&dir.join("results"), "logbook.jsonl");
        assert!(book.lines().last().is_some_and(|l| l.contains("\"stopped\":true")), "{signal}: {book}");
        ends(&go(&dir, &["replay", "results/logbook.jsonl", "--scenario", "x.toml"]), 0);
    }
}

/// A run that was started so as to outlive its terminal (`nohup`) does.
#[cfg(target_os = "linux")]
#[test]
fn holds_a_run_under_nohup_outlives_its_terminal() {
    let o = told_to_end(&folder("nohup"), "trap '' HUP; exec \"$@\"", &["-HUP", "-TERM"]);
    ends(&o, 130);
}

/// A class that is a service of the machine ends in order when the service is stopped.
#[cfg(all(unix, feature = "class"))]
#[test]
fn holds_sigterm_ends_a_class() {
    use std::io::BufRead;
    let dir = folder("class");
    let mut child = command(&dir, &["class", "room", "--listen", "127.0.0.1:0"])
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut lines = std::io::BufReader::new(child.stdout.take().expect("a pipe")).lines();
    assert!(lines.any(|l| l.is_ok_and(|l| l.contains("http://127.0.0.1:"))), "it opens");
    let sent = Command::new("kill").args(["-TERM", &child.id().to_string()]).status().expect("kill runs");
    assert!(sent.success());
    assert_eq!(child.wait().expect("it ends").code(), Some(0));
}

/// What `new` writes reads well for anybody, runs as it stands, and is never written over anything.
#[test]
fn holds_the_template_runs() {
    let dir = folder("new");
    ends(&go(&dir, &["new", "mine.toml"]), 0);
    std::fs::write(dir.join("theirs.toml"), "mine").expect("a file");
    ends(&go(&dir, &["new", "theirs.toml"]), 4);
    assert_eq!(std::fs::read_to_string(dir.join("theirs.toml")).expect("a file"), "mine");
    ends(&go(&dir, &["new", "no/where.toml"]), 4);
    // a folder is made, and the scenario called after it
    ends(&go(&dir, &["new", "lessons/hisses"]), 0);
    ends(&go(&dir, &["new", "lessons/hisses"]), 4);
    let o = go(&dir, &["check", "lessons/hisses"]);
    ends(&o, 0);
    assert!(out(&o).contains(": scenario hisses, "), "{}", out(&o));
    ends(&go(&dir, &["check", "mine.toml", "--variants", "20"]), 0);
    ends(&go(&dir, &["run", "mine.toml"]), 0);
    for trainee in ["1", "2"] {
        ends(&go(&dir, &["run", "mine.toml", "--class-seed", "3", "--trainee", trainee]), 0);
    }
    // a key that is left out there is good as well
    let text = std::fs::read_to_string(dir.join("mine.toml")).expect("a file");
    let left_out: Vec<&str> = text.lines().filter(|l| l.starts_with("#: ")).collect();
    assert!(left_out.len() >= 10, "{left_out:?}");
    for line in left_out {
        let with = text.replacen(line, &line[3..], 1);
        std::fs::write(dir.join("with.toml"), with).expect("a file");
        ends(&go(&dir, &["check", "with.toml"]), 0);
    }
}

/// An earlier attempt's logbook was written over without a word: it is what a trainee hands in.
#[test]
fn bug_an_earlier_logbook_was_written_over() {
    let dir = folder("earlier");
    write(&dir, "x.toml", &short("closed", "plover", &expect("lamp", "is = \"off\"")));
    ends(&go(&dir, &["run", "x.toml", "--out", "results"]), 0);
    let before = text(&dir.join("results"), "logbook.jsonl");
    let o = go(&dir, &["run", "x.toml", "--seed", "5", "--out", "results"]);
    assert!(ends(&o, 4).is_empty());
    assert!(err(&o).contains("logbook.jsonl") && err(&o).contains("--force"), "{}", err(&o));
    assert_eq!(text(&dir.join("results"), "logbook.jsonl"), before);
    ends(&go(&dir, &["run", "x.toml", "--seed", "5", "--out", "results", "--force"]), 0);
    assert_ne!(text(&dir.join("results"), "logbook.jsonl"), before);
    // without a folder there is nothing to write over
    ends(&go(&dir, &["run", "x.toml", "--force"]), 2);
}

/// Who types the name alone means the file of this job, and was told of another job's.
#[test]
fn bug_an_action_file_named_without_its_scenario_was_taken_for_another_jobs() {
    let dir = folder("own-actions");
    let o = go(&dir, &["run", "idles-high", "--actions", "solution"]);
    ends(&o, 2);
    assert!(err(&o).contains("idles-high/solution"), "{}", err(&o));
    let o = go(&dir, &["run", "rich-since-the-repair", "--actions", "trap-1"]);
    ends(&o, 2);
    assert!(err(&o).contains("rich-since-the-repair/trap-1"), "{}", err(&o));
    // a scenario in a file of its own, with its action file beside it
    std::fs::create_dir_all(dir.join("own")).expect("a folder");
    write(&dir, "own/scenario.toml", &short("closed", "plover", &expect("lamp", "is = \"off\"")));
    write(&dir, "own/mine.toml", "schema = 1\n");
    let o = go(&dir, &["run", "own", "--actions", "mine"]);
    ends(&o, 2);
    assert!(err(&o).contains("own/mine.toml"), "{}", err(&o));
}

/// Whoever started the window with a ticket was sent to a run of another variant.
#[test]
fn bug_no_display_forgot_the_ticket() {
    let dir = folder("no-display");
    write(&dir, "key", "sixteen letters or more");
    write(&dir, "class.txt", "bench 1\n");
    let seal = "seal idles-high --class-seed 7 --trainees class.txt --key key --out my tickets";
    let mut args: Vec<&str> = seal.split(' ').collect();
    args.truncate(args.len() - 2);
    args.push("my tickets");
    ends(&go(&dir, &args), 0);
    let ticket = "my tickets/1-bench-1.ticket";
    let o = go(&dir, &["window", "idles-high", "--ticket", ticket]);
    ends(&o, 3);
    let wanted = format!("run idles-high --ticket \"{ticket}\"`");
    assert!(err(&o).contains(&wanted), "{}", err(&o));
    let o = go(&dir, &["window", "idles-high", "--class-seed", "7", "--trainee", "bench-2"]);
    ends(&o, 3);
    assert!(err(&o).contains("run idles-high --class-seed 7 --trainee bench-2`"), "{}", err(&o));
    let o = go(&dir, &["window", "idles-high"]);
    assert!(err(&o).contains("run idles-high`"), "{}", err(&o));
}
