//! A conditioned car's snapshot. The input changes a real one: after a first byte, groups of four say where (three
//! bytes) and to what; or, if the first byte is odd, the input itself stands in for the bench's bytes.
//!
//! The file of the cache is refused if anything in it differs. The bench's bytes without the file's checksum are either
//! refused, or read as a bench that is written and read again as the same.
#![no_main]

use idlewright::bench::Bench;
use idlewright::bench::setup::{Setup, Stretch, StretchKind};
use idlewright::store::{self, Cache};
use libfuzzer_sys::fuzz_target;
use std::path::PathBuf;
use std::sync::LazyLock;

struct Whole {
    setup: Setup,
    /// Never turned: whoever stood one up for every input would try a few inputs a second.
    standing: Bench,
    bytes: Vec<u8>,
    cache: Cache,
    path: PathBuf,
    file: Vec<u8>,
}

static WHOLE: LazyLock<Whole> = LazyLock::new(|| {
    let mut setup = Setup::healthy(store::CARS[0].1, 3, 80.0);
    setup.conditioning = vec![Stretch { kind: StretchKind::Idle, minutes: 0.1, wear_factor: 1.0 }];
    let dir = std::env::temp_dir().join(format!("idlewright-fuzz-{}", std::process::id()));
    let cache = Cache::at(&dir);
    let bench = cache.conditioned(&setup, &mut |_| true).expect("a bench").bench;
    let path = cache.path(&setup).expect("a folder");
    let file = std::fs::read(&path).expect("it was kept");
    let standing = Bench::standing(&setup).expect("a bench");
    Whole { setup, standing, bytes: bench.to_bytes(), cache, path, file }
});

fn changed(whole: &[u8], edits: &[u8]) -> Vec<u8> {
    let mut all = whole.to_vec();
    for edit in edits.chunks_exact(4) {
        let at = u32::from_be_bytes([0, edit[0], edit[1], edit[2]]) as usize % (all.len() + 1);
        match all.get_mut(at) {
            Some(byte) => *byte = edit[3],
            None => all.push(edit[3]),
        }
    }
    if edits.len() % 4 == 3 {
        all.truncate(usize::from(edits[edits.len() - 1]) * all.len() / 256);
    }
    all
}

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let whole = &*WHOLE;
    // few go through the disk: a snapshot that is passed over is driven anew, for some seconds until it can be stopped
    if first % 64 == 16 {
        let file = changed(&whole.file, rest);
        let same = file == whole.file;
        std::fs::write(&whole.path, &file).expect("a file");
        // stopped where it would be driven anew
        let found = whole.cache.conditioned(&whole.setup, &mut |_| false);
        assert_eq!(found.is_ok_and(|c| c.kept), same, "a damaged snapshot is passed over");
        return;
    }
    let tried = if first % 2 == 1 { rest.to_vec() } else { changed(&whole.bytes, rest) };
    if let Ok(bench) = whole.standing.clone().restored(&tried) {
        let written = bench.to_bytes();
        let again = whole.standing.clone().restored(&written).expect("what was written reads");
        assert_eq!(again.to_bytes(), written);
        let _ = bench.observe();
    }
});
