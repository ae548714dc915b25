//! The command line in the pseudo-language: what was not said by the words room stands out as plain letters.
//!
//! Plain may be: ids, paths, numbers with their units, the program's own syntax (commands, `--arguments`,
//! PLACEHOLDERS), and texts of scenario files and of the glossary, which have files of their own. What paper
//! prints is counted: [`LEFT`] may only shrink.
#![expect(clippy::disallowed_methods, reason = "the program's own output is read back")]

use crate::bay::program::{err, folder, go, out};
use idlewright::app::listing;
use std::path::Path;

/// Lines with plain words that the tables of a run, a twin and a class still print.
const LEFT: &[(&str, usize)] = &[("run", 40), ("twin", 40), ("verify", 4), ("replay", 1)];

/// The program's own syntax, which is the same in every language, and units.
const SYNTAX: &[&str] = &[
    "idlewright",
    "idlewright-headless",
    "window",
    "run",
    "replay",
    "twin",
    "verify",
    "seal",
    "new",
    "check",
    "scenarios",
    "words",
    "calibrate",
    "curves",
    "speed",
    "help",
    "rpm",
    "kPa",
    "min",
];

/// Plain words of a line: three letters or more in a row, outside of the brackets that the pseudo-language sets.
fn plain(line: &str) -> Vec<String> {
    let mut bare = String::new();
    let mut deep = 0;
    for c in line.chars() {
        match c {
            '⟦' => deep += 1,
            '⟧' => deep -= 1,
            _ if deep == 0 => bare.push(c),
            _ => bare.push(' '),
        }
    }
    let id = |w: &str| w.contains(|c: char| c.is_ascii_digit() || "_./\\".contains(c)) || w.starts_with('-');
    let placeholder = |w: &str| w.chars().all(|c| c.is_ascii_uppercase() || c == '-');
    bare.split(|c: char| c.is_whitespace() || "()[]<>,;:`\"'…".contains(c))
        .map(|w| w.trim_matches(|c: char| !c.is_ascii_alphanumeric() && c != '-' && c != '_' && c != '.'))
        .filter(|w| w.chars().filter(char::is_ascii_alphabetic).count() >= 3)
        .filter(|w| !id(w) && !placeholder(w) && !SYNTAX.contains(w))
        .map(str::to_owned)
        .collect()
}

fn lines(dir: &Path, args: &[&str]) -> Vec<String> {
    let o = go(dir, &[&["--lang", "en-x-pseudo"], args].concat());
    let all = out(&o) + &err(&o);
    assert!(all.contains('⟦'), "{args:?} says nothing in the language that was asked for:\n{all}");
    all.lines().map(str::to_owned).collect()
}

fn left(dir: &Path, args: &[&str], texts: &[String]) -> Vec<String> {
    let without = |l: String| texts.iter().fold(l, |l, t| l.replace(t.as_str(), ""));
    lines(dir, args)
        .into_iter()
        .map(without)
        .filter_map(|l| {
            let words = plain(&l);
            (!words.is_empty()).then(|| format!("{l}    <- {}", words.join(" ")))
        })
        .collect()
}

fn titles() -> Vec<String> {
    let all = listing::scenarios().into_iter();
    let mut all: Vec<String> = all
        .flat_map(|s| {
            let id = s.name.to_owned();
            [s.title, id].into_iter().chain(s.actions.into_iter().map(str::to_owned))
        })
        .collect();
    // what the system says of its files
    all.extend(["No such file or directory".to_owned(), "os error".to_owned()]);
    // a title inside another goes last
    all.sort_by_key(|t| std::cmp::Reverse(t.len()));
    all
}

#[test]
fn holds_help_is_said_in_the_language_that_is_asked_for() {
    let dir = folder("pseudo-help");
    let mut all = left(&dir, &["--help"], &[]);
    let commands = [
        "run",
        "replay",
        "twin",
        "verify",
        "seal",
        "new",
        "check",
        "scenarios",
        "words",
        "calibrate",
        "curves",
        "speed",
    ];
    for c in commands {
        all.extend(left(&dir, &[c, "--help"], &[]));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn holds_what_commands_print_is_said_in_the_language_that_is_asked_for() {
    let dir = folder("pseudo-commands");
    let mut texts = titles();
    texts.push("no-such".into());
    // why a file is no logbook is still said where it is read
    texts.push("its first line is no JSON object".into());
    let terms: Vec<String> = listing::glossary().expect("reads").into_iter().map(|w| w.term).collect();
    let mut all = left(&dir, &["scenarios"], &texts);
    let mut by_length = terms;
    by_length.sort_by_key(|t| std::cmp::Reverse(t.len()));
    all.extend(left(&dir, &["words"], &by_length));
    by_length.push("no-such-word".into());
    all.extend(left(&dir, &["words", "no-such-word"], &by_length));
    all.extend(left(&dir, &["check", "healthy-idle", "idles-high", "idles-high/solution"], &texts));
    all.extend(left(&dir, &["new", "own.toml"], &[]));
    all.extend(left(&dir, &["seal", "--new-key", "key.txt"], &[]));
    std::fs::write(dir.join("class.txt"), "b1\nb2\n").expect("written");
    let seal = [
        "seal",
        "idles-high",
        "--class-seed",
        "1",
        "--trainees",
        "class.txt",
        "--key",
        "key.txt",
        "--out",
        "t",
    ];
    all.extend(left(&dir, &seal, &[]));
    for wrong in [
        &["run"][..],
        &["run", "no-such.toml"],
        &["run", "healthy-idle", "--step-deg", "3"],
        &["run", "healthy-idle", "--seed", "x"],
        &["run", "healthy-idle", "--no-such"],
        &["no-such"],
        &["replay", "no-such.jsonl"],
        &["replay", "own.toml"],
    ] {
        all.extend(left(&dir, wrong, &texts));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn holds_what_paper_prints_in_plain_words_only_shrinks() {
    let dir = folder("pseudo-paper");
    let texts = titles();
    let runs: [(&str, &[&str]); 4] = [
        ("run", &["run", "healthy-idle", "--out", "out"]),
        ("twin", &["twin", "idles-high", "--actions", "idles-high/solution", "--without", "reset"]),
        ("replay", &["replay", "out/logbook.jsonl"]),
        ("verify", &["verify", "out"]),
    ];
    for (name, args) in runs {
        let found = left(&dir, args, &texts);
        let may = LEFT.iter().find(|l| l.0 == name).map_or(0, |l| l.1);
        println!("{name}: {} of {may} lines\n{}", found.len(), found.join("\n"));
        assert!(found.len() <= may, "{name}: {} lines\n{}", found.len(), found.join("\n"));
    }
}

#[test]
fn trips_a_language_with_a_mistake() {
    let dir = folder("language");
    std::fs::write(dir.join("de.ftl"), "app-stopped = angehalten\n\nno message\n").expect("written");
    let o = go(&dir, &["--lang", "de.ftl", "scenarios"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).starts_with("de.ftl:3: "), "{}", err(&o));
    std::fs::write(dir.join("de.ftl"), "list-level = Stufe { $level }\n").expect("written");
    let o = go(&dir, &["scenarios", "--lang=de.ftl"]);
    assert!(out(&o).contains("Stufe 1") && out(&o).contains("Shipped"), "{}", out(&o));
    let o = go(&dir, &["--lang", "nowhere", "scenarios"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(err(&o).contains("`nowhere` is no language"), "{}", err(&o));
}
