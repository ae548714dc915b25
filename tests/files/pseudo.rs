//! The command line in the pseudo-language: what was not said by the words room stands out as plain letters.
//!
//! Plain may be: ids, paths, numbers with their units, the program's own syntax (commands, `--arguments`,
//! PLACEHOLDERS), and texts of scenario files and of the glossary, which have files of their own. What is wrong with a
//! file is looked at wherever a test breaks one (`is_mistake` in `tests/bay/jobs.rs`).
#![expect(clippy::disallowed_methods, reason = "the program's own output is read back")]

use crate::bay::program::{changed, err, folder, go, out};
use idlewright::app::listing;
use idlewright::store;
use std::path::Path;
use std::sync::OnceLock;

/// The program's own names and units, which are the same in every language.
const SYNTAX: &[&str] = &["idlewright", "idlewright-headless", "help", "rpm", "kPa", "min"];

/// Names of all commands.
fn commands() -> &'static [String] {
    static ALL: OnceLock<Vec<String>> = OnceLock::new();
    ALL.get_or_init(|| {
        let all = idlewright::cli::command();
        all.get_subcommands().map(|c| c.get_name().to_owned()).collect()
    })
}

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
        .filter(|w| !commands().iter().any(|c| c == w))
        .map(str::to_owned)
        .collect()
}

fn lines_of(dir: &Path, args: &[&str]) -> Vec<String> {
    let o = go(dir, &[&["--lang", "en-x-pseudo"], args].concat());
    let all = out(&o) + &err(&o);
    assert!(all.contains('⟦'), "{args:?} says nothing in the language that was asked for:\n{all}");
    all.lines().map(str::to_owned).collect()
}

fn left(dir: &Path, args: &[&str], texts: &[String]) -> Vec<String> {
    let long = || texts.iter().filter(|t| t.contains(' '));
    let without = |l: String| long().fold(l, |l, t| l.replace(t.as_str(), ""));
    lines_of(dir, args)
        .into_iter()
        .map(without)
        .filter_map(|l| {
            let words: Vec<String> = plain(&l).into_iter().filter(|w| !texts.contains(w)).collect();
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

/// Every text in a shipped scenario, its action files and its car: what their authors wrote is told as they wrote it.
fn written(id: &str) -> Vec<String> {
    fn texts(v: &toml::Value, all: &mut Vec<String>) {
        match v {
            toml::Value::String(s) => all.push(s.clone()),
            toml::Value::Array(a) => a.iter().for_each(|v| texts(v, all)),
            toml::Value::Table(t) => t.values().for_each(|v| texts(v, all)),
            _ => {}
        }
    }
    let shipped = store::shipped(id).expect("ships");
    let files = shipped.actions.iter().map(|a| a.1).chain([shipped.text, crate::bay::PLOVER]);
    let mut all = Vec::new();
    for file in files {
        texts(&toml::from_str(file).expect("TOML"), &mut all);
    }
    all
}

#[test]
fn holds_help_is_said_in_the_language_that_is_asked_for() {
    let dir = folder("pseudo-help");
    let mut all = left(&dir, &["--help"], &[]);
    for c in commands() {
        all.extend(left(&dir, &[c.as_str(), "--help"], &[]));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn holds_what_commands_print_is_said_in_the_language_that_is_asked_for() {
    let dir = folder("pseudo-commands");
    let mut texts = titles();
    texts.push("no-such".into());
    let terms: Vec<String> = listing::glossary().expect("reads").into_iter().map(|w| w.term).collect();
    let mut all = left(&dir, &["scenarios"], &texts);
    let stages = listing::path().expect("reads").into_iter();
    let stages: Vec<String> =
        stages.flat_map(|s| std::iter::once(s.title).chain(s.job.into_iter().map(|j| j.id))).collect();
    texts.extend(stages);
    all.extend(left(&dir, &["scenarios", "--actions"], &texts));
    all.extend(left(&dir, &["scenarios", "--path"], &texts));
    let mut by_length = terms;
    by_length.sort_by_key(|t| std::cmp::Reverse(t.len()));
    all.extend(left(&dir, &["words"], &by_length));
    by_length.push("no-such-word".into());
    all.extend(left(&dir, &["words", "no-such-word"], &by_length));
    all.extend(left(&dir, &["check", "healthy-idle", "idles-high", "idles-high/solution"], &texts));
    all.extend(left(&dir, &["new", "own.toml"], &[]));
    let mut job = written("idles-high");
    job.extend(texts.clone());
    job.sort_by_key(|t| std::cmp::Reverse(t.len()));
    all.extend(left(&dir, &["job", "idles-high"], &job));
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
fn holds_what_paper_prints_is_said_in_the_language_that_is_asked_for() {
    let dir = folder("pseudo-paper");
    let mut texts = titles();
    texts.extend(written("healthy-idle"));
    texts.extend(written("idles-high"));
    // the name as a table cuts it short
    texts.push("healthy".into());
    texts.sort_by_key(|t| std::cmp::Reverse(t.len()));
    let runs: [(&str, &[&str]); 4] = [
        ("run", &["run", "healthy-idle", "--out", "out", "--force"]),
        ("twin", &["twin", "idles-high", "--actions", "idles-high/solution", "--without", "reset"]),
        ("replay", &["replay", "out/logbook.jsonl"]),
        ("verify", &["verify", "out"]),
    ];
    for (name, args) in runs {
        let found = left(&dir, args, &texts);
        assert!(found.is_empty(), "{name}: {} lines\n{}", found.len(), found.join("\n"));
    }
}

/// What is told of logbooks that were altered, one after the other.
#[test]
fn holds_what_is_told_of_altered_logbooks_is_said_in_the_language_that_is_asked_for() {
    let dir = folder("pseudo-altered");
    let o = go(&dir, &["run", "healthy-idle", "--out", "out"]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let book = std::fs::read_to_string(dir.join("out/logbook.jsonl")).expect("a logbook");
    let lines: Vec<&str> = book.lines().collect();
    let last = lines.len() - 1;
    let cut =
        |k: usize| lines.iter().enumerate().filter(|l| l.0 != k).map(|l| *l.1).collect::<Vec<_>>().join("\n");
    let with = |from: &str, to: &str| changed(&book, from, to);
    let altered = [
        ("empty", String::new()),
        ("none", "x\n".into()),
        ("other", with("\"idlewright\":\"", "\"idlewright\":\"9")),
        ("form", with("\"schema\":", "\"schema\":9")),
        ("physics", with("\"physics\":\"", "\"physics\":\"9")),
        ("lid", with("\"lid\":\"", "\"lid\":\"9")),
        ("step", with("\"step_deg\":", "\"step_deg\":9")),
        ("half", with("\"class_seed\":null", "\"class_seed\":9")),
        ("header", with("\"seed\":", "\"seed\":9")),
        ("scenario", with("\"hash\":\"", "\"hash\":\"9")),
        ("cut", cut(last)),
        ("missing", cut(last - 1)),
        ("end", with("\"simulated_s\":", "\"simulated_s\":9")),
        ("state", with("\"state_hash\":\"", "\"state_hash\":\"9")),
        ("sum", with("\"sum\":\"", "\"sum\":\"9")),
        ("line", book.replacen(lines[last], &format!("9\n{}", lines[last]), 1)),
    ];
    let mut all = Vec::new();
    for (name, text) in &altered {
        let file = format!("{name}9.jsonl");
        std::fs::write(dir.join(&file), text).expect("written");
        // what stands in the logbook is told as it stands there
        let told = lines_of(&dir, &["replay", &file]).into_iter();
        let told = told.map(|l| l.split(['{', '"']).next().unwrap_or_default().to_owned());
        all.extend(told.filter(|l| plain(l).iter().any(|w| w != "sum")).map(|l| format!("{name}: {l}")));
    }
    // the scenario's name is cut short in the table
    let told = lines_of(&dir, &["verify", "."]).into_iter();
    let told = told.map(|l| l.split(['{', '"']).next().unwrap_or_default().to_owned());
    all.extend(told.filter(|l| plain(l).iter().any(|w| !["healthy", "sum"].contains(&w.as_str()))));
    assert!(all.is_empty(), "{}", all.join("\n"));
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
    assert!(err(&o).contains("`nowhere` is not a shipped language"), "{}", err(&o));
}
