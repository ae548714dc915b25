//! What the program writes and where: nothing half-written, nothing replaced that is no ordinary file, nothing shown to
//! others that tells the truth about a sealed car.
#![cfg(unix)]
#![expect(clippy::disallowed_methods, reason = "files are written and read")]

use crate::bay::program::{command, ends, err, folder, go, out, program, text, write};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::Command;

const RESULTS: [&str; 5] = ["debrief.html", "debrief.json", "gradebook.csv", "logbook.jsonl", "trace.csv"];

fn mode(path: &Path) -> u32 {
    std::fs::metadata(path).expect("a file").permissions().mode() & 0o777
}

fn set_mode(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).expect("permissions");
}

fn names(dir: &Path) -> Vec<String> {
    let all = std::fs::read_dir(dir).expect("a folder");
    let mut all: Vec<String> =
        all.map(|e| e.expect("an entry").file_name().to_string_lossy().into()).collect();
    all.sort();
    all
}

/// A link stays a link, and a file's permissions stay as somebody set them.
#[test]
fn bug_results_replaced_links_and_lost_permissions() {
    let dir = folder("links");
    std::fs::create_dir_all(dir.join("kept")).expect("a folder");
    std::fs::create_dir_all(dir.join("results")).expect("a folder");
    write(&dir, "kept/mine.csv", "old");
    write(&dir, "results/logbook.jsonl", "old");
    set_mode(&dir.join("results/logbook.jsonl"), 0o640);
    symlink("../kept/mine.csv", dir.join("results/trace.csv")).expect("a link");
    ends(&go(&dir, &["run", "healthy-idle", "--out", "results", "--force"]), 0);
    assert!(dir.join("results/trace.csv").is_symlink());
    assert!(text(&dir, "kept/mine.csv").starts_with("time_s"), "what the link leads to was written");
    assert_eq!(mode(&dir.join("results/logbook.jsonl")), 0o640);
    assert!(text(&dir, "results/logbook.jsonl").starts_with('{'));
    assert_eq!(names(&dir.join("results")), RESULTS);
    assert_eq!(names(&dir.join("kept")), ["mine.csv"]);
}

/// Devices, pipes and read-only files are refused before anything is simulated.
#[test]
fn bug_results_replaced_pipes_and_files_that_are_read_only() {
    let dir = folder("refused");
    for (name, says) in [("pipe", "no ordinary file"), ("closed", "read-only")] {
        let results = dir.join(name);
        std::fs::create_dir_all(&results).expect("a folder");
        let file = results.join("trace.csv");
        if name == "pipe" {
            assert!(Command::new("mkfifo").arg(&file).status().expect("mkfifo").success());
        } else {
            std::fs::write(&file, "old").expect("a file");
            set_mode(&file, 0o444);
        }
        let o = go(&dir, &["run", "healthy-idle", "--out", name]);
        assert!(ends(&o, 4).is_empty());
        assert!(err(&o).contains(says), "{}", err(&o));
        assert_eq!(names(&results), ["trace.csv"], "nothing else was written");
    }
}

/// A disk that fills up leaves the results of before, all of them.
#[test]
fn bug_a_full_disk_mixed_old_results_and_new_ones() {
    let dir = folder("full");
    ends(&go(&dir, &["run", "healthy-idle", "--out", "results"]), 0);
    let before: Vec<String> = RESULTS.iter().map(|name| text(&dir.join("results"), name)).collect();
    let sizes: Vec<usize> = before.iter().map(String::len).collect();
    let (least, most) = (sizes.iter().min().expect("some"), sizes.iter().max().expect("some"));
    assert!(least / 512 + 1 < most / 512, "one of the files has to fit where another does not: {sizes:?}");
    // blocks of 512 bytes; the signal is ignored, so that writing fails as it does on a full disk
    let line = format!(
        "trap '' XFSZ; ulimit -f {}; exec '{}' run healthy-idle --seed 2 --no-cache --force --out results",
        least / 512 + 1,
        program().display()
    );
    let o = Command::new("sh").args(["-c", &line]).current_dir(&dir).output().expect("a shell");
    ends(&o, 4);
    assert_eq!(names(&dir.join("results")), RESULTS, "{}", err(&o));
    for (name, before) in RESULTS.iter().zip(before) {
        assert!(text(&dir.join("results"), name) == before, "{name} is another");
    }
}

/// A disk that is full keeps no empty file of a new scenario, a key or a picture.
#[test]
fn bug_new_and_picture_left_empty_files_on_a_full_disk() {
    let twin = "twin idles-high --actions idles-high/solution --without reset --trace engine_speed_rpm --picture x.svg";
    for (k, args) in ["new mine.toml", "seal --new-key class.key", twin].iter().enumerate() {
        let dir = folder(&format!("no-room-{k}"));
        let line = format!("trap '' XFSZ; ulimit -f 0; exec '{}' {args}", program().display());
        let o = Command::new("sh").args(["-c", &line]).current_dir(&dir).output().expect("a shell");
        assert_eq!(o.status.code(), Some(4), "{args}: {}", err(&o));
        assert_eq!(names(&dir), [""; 0], "{args}");
    }
}

/// What a car's earlier life left lies where nobody else looks.
#[test]
fn bug_snapshots_could_be_read_by_everybody() {
    let dir = folder("own");
    let cache = dir.join("cache");
    let ran = command(&dir, &["run", "idles-high"]).env("IDLEWRIGHT_CACHE", &cache).output();
    assert!(matches!(ran.expect("it runs").status.code(), Some(0 | 1)));
    assert_eq!(mode(&cache), 0o700);
    let kept = names(&cache);
    assert_eq!(kept.len(), 1, "{kept:?}");
    assert_eq!(mode(&cache.join(&kept[0])), 0o600);
}

/// Two keys that differ in a space at the end are two keys; line ends do not count.
#[test]
fn bug_a_key_lost_spaces_at_its_end() {
    let dir = folder("keys");
    write(&dir, "class.txt", "bench 1\n");
    let ticket = |key: &str, to: &str| {
        write(&dir, "key", key);
        let args = [
            "seal",
            "idles-high",
            "--class-seed",
            "7",
            "--trainees",
            "class.txt",
            "--key",
            "key",
            "--out",
            to,
        ];
        ends(&go(&dir, &args), 0);
        text(&dir.join(to), "1-bench-1.ticket")
    };
    let one = ticket("sixteen letters or more", "one");
    assert_eq!(one, ticket("sixteen letters or more\r\n", "two"));
    assert_ne!(one, ticket("sixteen letters or more ", "three"));
}

/// What lies too deep is told, in its own row.
#[test]
fn bug_verify_passed_over_what_lies_deep() {
    let dir = folder("deep");
    let deep = dir.join("in").join("a/".repeat(20));
    std::fs::create_dir_all(&deep).expect("folders");
    std::fs::write(deep.join("x.jsonl"), "{}").expect("a file");
    let o = go(&dir, &["verify", "in"]);
    ends(&o, 5);
    assert!(out(&o).contains("more than 16 folders deep"), "{}", out(&o));
}

/// A trace that there is not is told before anything runs.
#[test]
fn bug_twin_ran_before_it_looked_at_the_traces() {
    let dir = folder("traces");
    let twin = ["twin", "idles-high", "--actions", "idles-high/solution", "--without", "reset", "--picture"];
    let o = go(&dir, &[&twin[..], &["x.svg", "--trace", "no_such_trace"]].concat());
    assert!(ends(&o, 2).is_empty());
    assert!(err(&o).contains("no_such_trace") && !err(&o).contains('%'), "only that is told: {}", err(&o));
    ends(&go(&dir, &[&twin[..], &["no/x.svg/y", "--trace", "engine_speed_rpm"]].concat()), 0);
    std::fs::create_dir_all(dir.join("folder")).expect("a folder");
    ends(&go(&dir, &[&twin[..], &["folder", "--trace", "engine_speed_rpm"]].concat()), 4);
}
