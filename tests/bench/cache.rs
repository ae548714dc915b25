//! Conditioned cars in the cache: the same bytes with and without, and nothing that lies there can do harm.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(clippy::disallowed_methods, reason = "files in a cache folder and wall time are what is tested")]

use crate::bay::program::{command, no_folder, text};
use crate::bay::{PLOVER as CAR, crank};
use idlewright::bench::action::Action;
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::{Setup, Stretch, StretchKind};
use idlewright::bench::{self, Bench, record::hash_of};
use idlewright::store::Cache;
use std::path::Path;

fn stretch(kind: StretchKind, minutes: f64) -> Stretch {
    Stretch { kind, minutes, wear_factor: 50.0 }
}

fn setup(seed: u64) -> Setup {
    Setup {
        conditioning: vec![
            stretch(StretchKind::Pattern(Name::Town), 3.0),
            stretch(StretchKind::Idle, 1.0),
            stretch(StretchKind::Hold { rpm: 2000.0, nm: 20.0 }, 1.0),
        ],
        ..Setup::healthy(CAR, seed, 88.0)
    }
}

/// Goes on with a bench: key, start, idle, drive.
fn go_on(b: &mut Bench) {
    crank(b);
    b.advance_by(20.0);
    b.act("", Action::Drive { pattern: Name::Hill, minutes: 2.0 });
    b.advance_by(130.0);
}

/// Bytes give back the bench they were taken from, in the middle of a drive too, and what it does next.
#[test]
fn same_bench_from_its_bytes() {
    let mut b = Bench::standing(&Setup::healthy(CAR, 4, 88.0)).expect("a bench");
    crank(&mut b);
    b.advance_by(15.0);
    b.act("", Action::Drive { pattern: Name::Town, minutes: 3.0 });
    b.advance_by(45.37);
    let mut twin = Bench::from_bytes(b.setup(), &b.to_bytes()).expect("its own bytes");
    assert_eq!(twin.to_bytes(), b.to_bytes());
    for bench in [&mut b, &mut twin] {
        bench.advance_by(60.0);
        bench.act("", Action::Pedal(0.0));
        bench.advance_by(20.0);
    }
    assert_eq!(twin.state_hash(), b.state_hash());
    assert_eq!(twin.to_bytes(), b.to_bytes());
    assert_eq!(hash_of(&twin.log()), hash_of(&b.log()));
    assert_eq!(twin.observe(), b.observe());
}

/// Of several that need the same car at once, as the seats of a class do, one drives its earlier life; the others hear how
/// far it has come and take its snapshot.
#[test]
fn same_car_for_many_is_driven_once() {
    let cache = Cache::at(&no_folder("many"));
    let setup = setup(11);
    let asks = || {
        let mut told = Vec::new();
        let got = cache.conditioned(&setup, &mut |share| {
            told.push(share);
            true
        });
        let got = got.expect("a car");
        (got.kept, got.bench.state_hash(), told.last().copied())
    };
    let all: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(asks)).collect();
        threads.into_iter().map(|t| t.join().expect("no panic")).collect()
    });
    assert_eq!(all.iter().filter(|(kept, ..)| !kept).count(), 1, "{all:?}");
    assert!(all.iter().all(|(_, hash, _)| *hash == all[0].1), "{all:?}");
    // a wait that is stopped waits no longer: the answer is that of a drive that was stopped
    let other = Setup { seed: 12, ..setup.clone() };
    let stopped = cache.conditioned(&other, &mut |_| false).is_err();
    assert_eq!(stopped, Bench::new(&other, &mut |_| false).is_err());
}

/// A run from a snapshot is the run without one.
#[test]
fn same_run_from_a_snapshot() {
    let cache = Cache::at(&no_folder("same"));
    let s = setup(1);
    let mut plain = Bench::new(&s, &mut |_| true).expect("a bench");
    let first = cache.conditioned(&s, &mut |_| true).expect("a bench");
    assert!(!first.kept && first.trouble.is_none());
    let second = cache.conditioned(&s, &mut |_| panic!("nothing is driven")).expect("a bench");
    assert!(second.kept);
    let mut kept = second.bench;
    for b in [&mut plain, &mut kept] {
        go_on(b);
    }
    assert_eq!(kept.state_hash(), plain.state_hash());
    assert_eq!(kept.to_bytes(), plain.to_bytes());
    assert_eq!(hash_of(&kept.log()), hash_of(&plain.log()));
}

/// Whatever makes another bench has another name: seed, parts, weather, conditioning, and the car's text.
#[test]
fn exact_another_setup_has_another_name() {
    let s = setup(1);
    let mut others = [setup(2), setup(1), setup(1), setup(1), setup(1), setup(1)];
    others[1].weather.ambient_c += 1.0;
    others[2].conditioning[0].minutes += 0.5;
    others[3].conditioning[0].kind = StretchKind::Pattern(Name::Hill);
    others[4].car_toml.push('\n');
    others[5].faults.unmetered_leak_mm2 = 0.5;
    assert_eq!(Cache::key(&s), Cache::key(&setup(1)));
    let mut keys: Vec<String> = others.iter().map(Cache::key).collect();
    keys.push(Cache::key(&s));
    keys.sort();
    keys.dedup();
    assert_eq!(keys.len(), others.len() + 1);
}

/// A file that was changed in one bit, cut short, emptied, put there by another, or is a folder, is passed
/// over; the bench is driven anew and the file, where that is possible, put right.
#[test]
fn trips_a_damaged_snapshot() {
    let cache = Cache::at(&no_folder("damaged"));
    let s = Setup { conditioning: vec![stretch(StretchKind::Idle, 0.1)], ..setup(3) };
    let good = cache.conditioned(&s, &mut |_| true).expect("a bench").bench.state_hash();
    let path = cache.path(&s).expect("there is a folder");
    let whole = std::fs::read(&path).expect("it was kept");
    let mut cases: Vec<Vec<u8>> =
        vec![Vec::new(), b"something else".to_vec(), whole[..whole.len() / 2].to_vec()];
    for at in [0, 30, 100, 170, whole.len() - 1] {
        let mut bent = whole.clone();
        bent[at] ^= 1;
        cases.push(bent);
    }
    // whole, but another setup's
    let other = Setup { seed: 4, ..s.clone() };
    cache.conditioned(&other, &mut |_| true).expect("a bench");
    cases.push(std::fs::read(cache.path(&other).expect("a folder")).expect("it was kept"));
    for (n, bytes) in cases.iter().enumerate() {
        std::fs::write(&path, bytes).expect("writing");
        let again = cache.conditioned(&s, &mut |_| true).expect("a bench");
        assert!(!again.kept, "case {n} was taken for good");
        assert_eq!(again.bench.state_hash(), good, "case {n}");
        assert_eq!(std::fs::read(&path).expect("it is there"), whole, "case {n} was not put right");
    }
    std::fs::remove_file(&path).expect("removing");
    std::fs::create_dir(&path).expect("a folder in its place");
    let again = cache.conditioned(&s, &mut |_| true).expect("a bench");
    assert!(!again.kept && again.trouble.is_some());
    assert_eq!(again.bench.state_hash(), good);
}

/// Bytes of another engine, and bytes that are none, are refused without harm.
#[test]
fn trips_bytes_that_are_no_bench() {
    let s = Setup::healthy(CAR, 1, 88.0);
    let b = Bench::standing(&s).expect("a bench");
    let bytes = b.to_bytes();
    assert!(matches!(Bench::from_bytes(&s, &[]), Err(bench::Error::Setup(_))));
    assert!(matches!(Bench::from_bytes(&s, &bytes[..bytes.len() / 3]), Err(bench::Error::Setup(_))));
    let one = CAR
        .replace("firing_order = [1, 3, 4, 2]", "firing_order = [1, 2]")
        .replace("banks = [1, 1, 1, 1]", "banks = [1, 1]");
    let two = Setup::healthy(&one, 1, 88.0);
    assert!(Bench::standing(&two).is_ok(), "the other engine is good as such");
    assert!(matches!(Bench::from_bytes(&two, &bytes), Err(bench::Error::Setup(_))));
}

/// Bytes of a car that were changed by hand so that some list is shorter than its car's were read, and the module looked up a
/// learned value that was not there. Each byte is tried as a length of zero: what is read is a bench that can be looked at.
#[test]
fn bug_changed_bytes_were_read_as_a_car_without_learned_values() {
    let b = Bench::standing(&Setup::healthy(CAR, 3, 80.0)).expect("a bench");
    let bytes = b.to_bytes();
    let (mut refused, mut read) = (0, 0);
    for at in 0..bytes.len() {
        let mut changed = bytes.clone();
        // what a list holds is left out with it, or stays as what follows
        for rest in [at + 1, at + 2] {
            changed.truncate(at);
            changed.push(0);
            changed.extend_from_slice(bytes.get(rest..).unwrap_or_default());
            match b.clone().restored(&changed) {
                Ok(bench) => {
                    read += 1;
                    let _ = bench.observe();
                }
                Err(_) => refused += 1,
            }
        }
    }
    println!("{refused} refused, {read} read");
    assert!(refused > 1000 && read > 1000, "{refused} refused, {read} read");
}

/// A conditioning that was stopped leaves nothing behind; no folder at all is no trouble.
#[test]
fn exact_stopped_is_not_kept() {
    let dir = no_folder("stopped");
    let cache = Cache::at(&dir);
    let s = Setup { conditioning: vec![stretch(StretchKind::Idle, 0.1)], ..setup(5) };
    assert!(cache.conditioned(&s, &mut |_| false).is_err());
    assert!(!dir.exists());
    let none = Cache::none().conditioned(&s, &mut |_| true).expect("a bench");
    assert!(!none.kept && none.trouble.is_none());
}

/// The oldest go when there are more than 1024.
#[test]
fn trips_too_many_snapshots() {
    let dir = no_folder("many");
    std::fs::create_dir_all(&dir).expect("a folder");
    for n in 0..1040 {
        std::fs::write(dir.join(format!("{n:04}.snapshot")), "old").expect("writing");
    }
    std::fs::write(dir.join("mine.txt"), "not the program's").expect("writing");
    let s = Setup { conditioning: vec![stretch(StretchKind::Idle, 0.1)], ..setup(6) };
    let cache = Cache::at(&dir);
    cache.conditioned(&s, &mut |_| true).expect("a bench");
    let left = std::fs::read_dir(&dir).expect("the folder").count();
    assert_eq!(left, 1024 + 1);
    assert!(dir.join("mine.txt").exists());
    assert!(cache.path(&s).expect("a folder").exists(), "the newest stays");
}

const SCENARIO: &str = r#"schema = 1
[about]
id = "T1"
title = "An hour on the road"
level = 1
complaint = "None."
teaches = "A car's life is driven once."
lid = "open"
[setup]
car = "plover"
seed = 11
coolant_c = 88.0
run_s = 20
[[setup.conditioning]]
drive = "mixed"
minutes = MINUTES
[[act]]
id = "key"
at_s = 1.0
key = "on"
[[act]]
id = "start"
after_s = 2.0
key = "crank"
[[expect]]
at = "end"
what = "live.running"
is = true
why = "it starts"
"#;

/// By the command line: driven, from the snapshot, and without cache; two at once. Every file the same.
#[test]
fn same_files_with_and_without_cache() {
    let dir = no_folder("program");
    let cache = dir.join("cache");
    std::fs::create_dir_all(&dir).expect("a folder");
    std::fs::write(dir.join("t.toml"), SCENARIO.replace("MINUTES", "6")).expect("writing");
    let by = |dir: &Path, cache: &Path, args: &[&str]| {
        command(dir, args).env("IDLEWRIGHT_CACHE", cache).output().expect("the program runs")
    };
    let run = |out: &str, extra: &[&str]| {
        let mut args = vec!["run", "t.toml", "--out", out];
        args.extend(extra);
        let o = by(&dir, &cache, &args);
        assert!(o.status.success(), "{}", String::from_utf8_lossy(&o.stderr));
    };
    run("plain", &["--no-cache"]);
    assert!(!cache.exists(), "--no-cache keeps nothing");
    std::thread::scope(|s| {
        s.spawn(|| run("one", &[]));
        s.spawn(|| run("two", &[]));
    });
    let kept: Vec<_> = std::fs::read_dir(&cache).expect("the cache").flatten().collect();
    assert_eq!(kept.len(), 1, "one snapshot, nothing half-written: {kept:?}");
    run("kept", &[]);
    for name in ["trace.csv", "logbook.jsonl", "debrief.html"] {
        let plain = text(&dir.join("plain"), name);
        for other in ["one", "two", "kept"] {
            assert!(text(&dir.join(other), name) == plain, "{other}/{name} differs");
        }
    }
    // a cache that cannot be written is told once and costs nothing else
    std::fs::write(dir.join("file"), "in the way").expect("writing");
    let o = by(&dir, &dir.join("file"), &["run", "t.toml"]);
    assert!(o.status.success());
    assert_eq!(String::from_utf8_lossy(&o.stderr).matches("could not be stored").count(), 1);
}

/// A scenario with an hour of conditioning starts from its snapshot in under a second.
#[test]
fn holds_an_hour_starts_at_once() {
    let cache = Cache::at(&no_folder("hour"));
    let s = Setup {
        conditioning: vec![Stretch {
            kind: StretchKind::Pattern(Name::Mixed),
            minutes: 60.0,
            wear_factor: 1.0,
        }],
        ..Setup::healthy(CAR, 11, 88.0)
    };
    let driven = std::time::Instant::now();
    let first = cache.conditioned(&s, &mut |_| true).expect("a bench");
    let driven = driven.elapsed();
    let kept = std::time::Instant::now();
    let second = cache.conditioned(&s, &mut |_| true).expect("a bench");
    let kept = kept.elapsed();
    assert!(second.kept);
    assert_eq!(first.bench.state_hash(), second.bench.state_hash());
    let size = std::fs::metadata(cache.path(&s).expect("a folder")).expect("it is there").len();
    println!("an hour driven in {driven:.2?}, from its snapshot of {size} bytes in {kept:.2?}");
    assert!(kept.as_secs_f64() < 1.0);
    assert!(second.bench.model_notes().is_empty(), "{:?}", second.bench.model_notes());
}
