//! A test file that source or papers name is there.
#![expect(clippy::disallowed_methods, reason = "reading the tree is what this test does")]

use std::path::{Path, PathBuf};

/// Paths below `tests/` that a text names.
fn named(text: &str) -> Vec<&str> {
    let belongs = |c: char| c.is_ascii_alphanumeric() || "_-./".contains(c);
    let from = text.match_indices("tests/").map(|(i, _)| &text[i..]);
    from.map(|s| s[..s.find(|c| !belongs(c)).unwrap_or(s.len())].trim_end_matches('.')).collect()
}

/// Every file below a folder; a file itself.
fn files(at: &Path) -> Vec<PathBuf> {
    match std::fs::read_dir(at) {
        Ok(inside) => inside.flat_map(|e| files(&e.expect("an entry").path())).collect(),
        Err(_) => vec![at.to_owned()],
    }
}

#[test]
fn holds_test_files_that_are_named_are_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut missing, mut seen) = (Vec::new(), 0);
    for file in
        ["src", "model/src", "window/src", "DEVELOPERS.md", "README.md", "docs", ".ci/run", "clippy.toml"]
            .iter()
            .flat_map(|f| files(&root.join(f)))
    {
        let Ok(text) = std::fs::read_to_string(&file) else { continue };
        for path in named(&text) {
            seen += 1;
            if !root.join(path).exists() {
                missing.push(format!("{} names {path}", file.display()));
            }
        }
    }
    assert!(seen > 50, "{seen} names found: the scan would prove nothing");
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

#[test]
fn trips_paths_are_found_where_a_sentence_ends() {
    assert_eq!(named("by `tests/a/b.rs`, tests/c-d.sh."), ["tests/a/b.rs", "tests/c-d.sh"]);
}
