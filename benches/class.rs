//! How long a class takes: thirty attempts of forty simulated minutes each, on idles-high with parts of their own, are made
//! and then verified: with every car's earlier life kept, and with none. Prints seconds; several minutes:
//! `cargo bench --bench class`.
#![expect(clippy::disallowed_methods, reason = "files are written and read, and time is what is measured")]

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};
use std::time::Instant;

/// Runs the program in a folder with a cache of its own.
fn go(dir: &Path, args: &[&str]) -> Output {
    let mut c = Command::new(env!("CARGO_BIN_EXE_idlewright-headless"));
    c.current_dir(dir).env("IDLEWRIGHT_CACHE", dir.join("cache")).args(args).output().expect("it runs")
}

/// Verifies what was handed in; gives the seconds.
fn verified(dir: &Path, what: &str, more: &[&str]) -> f64 {
    let o = go(dir, &[&["verify", "in", "--json"][..], more].concat());
    let told = String::from_utf8_lossy(&o.stderr);
    assert_eq!(o.status.code(), Some(0), "every one is consistent: {told}");
    let v: Value = serde_json::from_slice(&o.stdout).expect("a JSON object");
    assert_eq!(v["files"].as_array().map(Vec::len), Some(30));
    // where the system tells it: how busy the machine was besides
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let wall_s = v["wall_s"].as_f64().expect("seconds");
    println!("{what}: {wall_s:.1} s\n    {}\n    load {}", told.trim(), load.trim());
    wall_s
}

fn main() {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("class");
    let _ = std::fs::remove_dir_all(&dir);
    std::fs::create_dir_all(&dir).expect("a folder");
    // the solution, then ten minutes of town and idling up to forty
    let acts =
        include_str!("../scenarios/idle-air/idles-high/solution.toml").replace("run_s = 900", "run_s = 2400");
    let drive = "[[act]]\nid = \"drive\"\nafter_s = 60\ndrive = \"town\"\nminutes = 10\n[[expect]]";
    std::fs::write(dir.join("class.toml"), acts.replacen("[[expect]]", drive, 1)).expect("actions");
    let all: Vec<usize> = (1..=30).collect();
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let began = Instant::now();
    std::thread::scope(|scope| {
        for part in all.chunks(all.len().div_ceil(cores)) {
            let dir = &dir;
            scope.spawn(move || {
                for k in part {
                    let (who, out) = (format!("bench {k}"), format!("in/{k}"));
                    let args = [
                        "run",
                        "idles-high",
                        "--class-seed",
                        "5",
                        "--trainee",
                        &who,
                        "--actions",
                        "class.toml",
                    ];
                    let o = go(dir, &[&args[..], &["--out", &out]].concat());
                    let told = String::from_utf8_lossy(&o.stderr);
                    assert!(matches!(o.status.code(), Some(0 | 1)), "{told}");
                }
            });
        }
    });
    println!("made in {:.1} s, earlier lives and files included", began.elapsed().as_secs_f64());
    let warm = verified(&dir, "verified, every earlier life kept", &[]);
    let cold = verified(&dir, "verified, every earlier life driven anew", &["--no-cache"]);
    println!("of which the earlier lives {:.1} s", cold - warm);
}
