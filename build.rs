//! Works out one word that stands for what this build computes: a hash over the sources, the data they
//! carry, the versions of the dependencies, compiler and target. Snapshots are kept under it, so that a
//! changed build never reads what another has left (see `src/store.rs`). And a second word for the sources
//! alone of what computes, the same on every system: logbooks carry it (see `src/session/logbook.rs`).
#![allow(clippy::disallowed_methods, reason = "a build script reads the sources that it stands for")]

use std::path::{Path, PathBuf};
use std::process::Command;

/// FNV-1a over 128 bits: the word needs to differ, not to withstand anybody.
struct Hash(u128);

impl Hash {
    fn add(&mut self, bytes: &[u8]) {
        let length = bytes.len() as u64;
        for b in length.to_le_bytes().iter().chain(bytes) {
            self.0 = (self.0 ^ u128::from(*b)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }
}

fn files(under: &Path, all: &mut Vec<PathBuf>) {
    if under.is_file() {
        all.push(under.into());
    } else if let Ok(dir) = std::fs::read_dir(under) {
        for entry in dir.flatten() {
            files(&entry.path(), all);
        }
    }
}

fn main() {
    let mut hash = Hash(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d);
    for root in ["src", "model", "assets", "build.rs", "Cargo.toml", "Cargo.lock"] {
        println!("cargo::rerun-if-changed={root}");
        let mut all = Vec::new();
        files(Path::new(root), &mut all);
        all.sort();
        for path in all {
            hash.add(path.to_string_lossy().replace('\\', "/").as_bytes());
            hash.add(&std::fs::read(&path).unwrap_or_default());
        }
    }
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let version = Command::new(rustc).arg("-vV").output().map(|o| o.stdout).unwrap_or_default();
    hash.add(&version);
    for name in ["TARGET", "OPT_LEVEL", "PROFILE"] {
        hash.add(std::env::var(name).unwrap_or_default().as_bytes());
    }
    // `--version` tells for what and how the program was built
    for name in ["TARGET", "PROFILE"] {
        println!("cargo::rustc-env=IDLEWRIGHT_{name}={}", std::env::var(name).unwrap_or_default());
    }
    println!("cargo::rustc-env=IDLEWRIGHT_SOURCES={:032x}", sources());
    println!("cargo::rustc-env=IDLEWRIGHT_BUILD={:032x}", hash.0);
}

/// The word for the sources of what computes: without what only tells of it, and with any line ends.
fn sources() -> u128 {
    const COMPUTES: &[&str] = &[
        "model/src",
        "src/scenario/vary.rs",
        "src/session.rs",
        "assets/cars",
        "assets/patterns",
        "assets/prices.toml",
        "assets/tools.toml",
        "Cargo.lock",
    ];
    let mut hash = Hash(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d);
    for root in COMPUTES {
        let mut all = Vec::new();
        files(Path::new(root), &mut all);
        let name = |p: &PathBuf| p.to_string_lossy().replace('\\', "/");
        all.sort_by_key(name);
        for path in all {
            let text = std::fs::read(&path).unwrap_or_default();
            hash.add(name(&path).as_bytes());
            hash.add(&text.into_iter().filter(|b| *b != b'\r').collect::<Vec<u8>>());
        }
    }
    hash.0
}
