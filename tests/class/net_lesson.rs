//! A lesson that is closed by a network client, with hands beside it, and replayed from its logbook without a network.
#![expect(clippy::disallowed_methods, reason = "waits for a program that goes by the clock")]

use crate::bay::program::{command, ends, folder, go, text};
use crate::net_support::{Line, TESTER};
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

/// The program serving a scenario.
struct Serving {
    child: Child,
    at: SocketAddr,
}

impl Serving {
    fn new(dir: &Path, args: &[&str]) -> Self {
        let all = [&["serve"], args, &["--listen", "127.0.0.1:0", "--out", "out"]].concat();
        let mut child = command(dir, &all)
            .stdin(Stdio::piped())
            .stderr(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .expect("the program runs");
        let mut at = None;
        let mut errors = BufReader::new(child.stderr.take().expect("piped"));
        let mut line = String::new();
        while errors.read_line(&mut line).is_ok_and(|n| n > 0) {
            if at.is_none() {
                at = line.split_whitespace().find_map(|w| w.trim_end_matches(':').parse().ok());
            }
            if line.contains("Ctrl-C") {
                break;
            }
            line.clear();
        }
        // what is told later is read too, or the program would wait for a reader
        std::thread::spawn(move || errors.lines().map_while(Result::ok).for_each(|l| println!("serve: {l}")));
        Self { child, at: at.expect("it says where it is") }
    }
    fn hand(&mut self, line: &str) {
        writeln!(self.child.stdin.as_mut().expect("piped"), "{line}").expect("a line");
        // the program reads it at once; what came of it is asked for over the network
        std::thread::sleep(Duration::from_millis(300));
    }
    fn end(mut self) -> i32 {
        self.hand("end");
        self.child.wait().expect("it ends").code().expect("a code")
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.child.kill();
    }
}

/// Waits until something holds, and keeps the session up meanwhile.
#[track_caller]
fn until(line: &mut Line, what: &str, mut holds: impl FnMut(&mut Line) -> bool) {
    let end = Instant::now() + Duration::from_secs(180);
    while !holds(line) {
        assert!(Instant::now() < end, "{what}: never");
        std::thread::sleep(Duration::from_millis(200));
    }
}

fn value(line: &mut Line, id: u16) -> f64 {
    let [a, b] = id.to_be_bytes();
    let told = line.told(&[0x22, a, b]);
    f64::from(i32::from_be_bytes(told[3..7].try_into().expect("four bytes"))) / 1000.0
}

/// Time since the engine started by the parameter of the law; zero while it stands, none while the module sleeps.
fn runs_for_s(line: &mut Line) -> Option<u16> {
    let ack = line.request(0x1000, &[0x01, 0x1F])?;
    if ack.kind != 0x8002 {
        return None;
    }
    // it may have fallen asleep between acknowledgement and answer
    let told = line.frame_within(Duration::from_secs(2))?.payload;
    Some(u16::from_be_bytes([told[6], told[7]]))
}

#[test]
fn holds_a_lesson_is_closed_over_the_network_and_replays_to_the_same_state() {
    let dir = folder("lesson");
    let mut s = Serving::new(&dir, &["idles-high", "--pace", "10"]);
    let mut line = Line::activated(s.at, TESTER);
    until(&mut line, "idle too high is pending", |l| l.told(&[0x07]) == [0x47, 1, 0x05, 0x07]);
    assert!(value(&mut line, 0x2201) > 1.4, "learned for a deposit that is gone");
    s.hand("cautions = \"read\"");
    s.hand("cause = \"stale-idle-air\"");
    s.hand("predict = \"after-reset\"; answer = 720");
    s.hand("key = \"off\"");
    until(&mut line, "asleep", |l| runs_for_s(l).is_none());
    std::thread::sleep(Duration::from_secs(2));
    s.hand("key = \"on\"");
    until(&mut line, "awake", |l| runs_for_s(l) == Some(0));
    line.unlock();
    assert_eq!(line.told(&[0x31, 0x01, 0x03, 0x01])[..5], [0x71, 0x01, 0x03, 0x01, 0x02]);
    assert!(value(&mut line, 0x2201).abs() < 1e-9);
    s.hand("key = \"crank\"");
    until(&mut line, "idling", |l| runs_for_s(l).is_some_and(|s| s >= 10));
    assert_eq!(line.told(&[0x31, 0x01, 0x03, 0x11])[4], 0x01);
    until(&mut line, "learned", |l| l.told(&[0x31, 0x03, 0x03, 0x11])[4] == 0x02);
    for _ in 0..2 {
        until(&mut line, "a trip", |l| runs_for_s(l).is_some_and(|s| s >= 60));
        s.hand("key = \"off\"");
        until(&mut line, "asleep", |l| runs_for_s(l).is_none());
        std::thread::sleep(Duration::from_secs(2));
        s.hand("key = \"on\"");
        until(&mut line, "awake", |l| runs_for_s(l) == Some(0));
        s.hand("key = \"crank\"");
    }
    until(&mut line, "the last trip", |l| runs_for_s(l).is_some_and(|s| s >= 60));
    assert_eq!(line.told(&[0x07]), [0x47, 0], "no code any more");
    assert!((value(&mut line, 0x2100) - 720.0).abs() < 60.0, "it idles as it should");
    drop(line);
    assert_eq!(s.end(), 0);
    let book = text(&dir, "out/logbook.jsonl");
    for act in ["reset_group", "learn_idle", "read_codes", "read_learned"] {
        assert!(book.contains(act), "{act} stands in the logbook");
    }
    let grade: Value = serde_json::from_str(&text(&dir, "out/debrief.json")).expect("a debrief");
    println!("{}", grade["grade"]["points"]);
    ends(&go(&dir, &["replay", "out/logbook.jsonl"]), 0);
}

#[test]
fn holds_an_action_file_moves_hands_beside_the_network() {
    let dir = folder("hands");
    let acts = "schema = 1\n[about]\nid = \"hands\"\ntitle = \"Key\"\n[setup]\nrun_s = 600\n\
        [[act]]\nid = \"lights\"\nat_s = 2.0\nload = \"lamps\"\non = true\n\
        [[act]]\nid = \"off\"\nafter_s = 10.0\nkey = \"off\"\n";
    crate::bay::program::write(&dir, "hands.toml", acts);
    let mut s = Serving::new(&dir, &["healthy-idle", "--pace", "10", "--actions", "hands.toml"]);
    let mut line = Line::activated(s.at, TESTER);
    until(&mut line, "asleep", |l| runs_for_s(l).is_none());
    // what is no hand is told, and nothing is done
    s.hand("service = \"nothing\"");
    s.hand("pedal_pct = 1000");
    assert_eq!(s.end(), 0);
    let book = text(&dir, "out/logbook.jsonl");
    assert!(book.contains("\"id\":\"lights\"") && !book.contains("\"pedal\""), "{book}");
    ends(&go(&dir, &["replay", "out/logbook.jsonl"]), 0);
}

#[test]
fn holds_the_network_is_asked_for() {
    let dir = folder("lan");
    let refused = ends(&go(&dir, &["serve", "healthy-idle", "--listen", "0.0.0.0:0"]), 2);
    assert!(refused.is_empty());
    ends(&go(&dir, &["serve", "healthy-idle", "--listen", "nowhere"]), 2);
    ends(&go(&dir, &["serve", "healthy-idle", "--pace", "0"]), 2);
    let table = ends(&go(&dir, &["identifiers"]), 0);
    assert!(table.contains("| `0314` |") && table.contains("`F40C`") | table.contains("F40C"), "{table}");
    let data = ends(&go(&dir, &["identifiers", "--format", "json"]), 0);
    let data: Value = serde_json::from_str(&data).expect("data");
    assert!(data["identifiers"].as_array().is_some_and(|a| a.len() > 90));
}
