//! The documents: what they name is there, their commands are understood, their tables are up to date.
#![expect(clippy::disallowed_methods, reason = "reading the documents is what this test does")]

#[path = "../../examples/handbook.rs"]
#[allow(dead_code, reason = "the example's own main is not called here")]
mod handbook;

use clap::error::ErrorKind;
use idlewright::{cli, scenario, store};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// What a reader of the documents makes, so that it is not there.
const MADE: [&str; 3] = ["my-scenario", "my-scenario/solution", "mine.toml"];
/// Words with hyphens, written as code, that are no scenario.
const OTHER_WORDS: [&str; 3] = ["en-x-pseudo", "handed-in", "my-scenario"];

struct Document {
    path: PathBuf,
    text: String,
}

impl Document {
    fn name(&self) -> String {
        self.path.strip_prefix(root()).unwrap_or(&self.path).display().to_string()
    }
    /// Lines with their number, and whether they stand in a fenced block, and in one without a language.
    fn lines(&self) -> impl Iterator<Item = (usize, &str, bool, bool)> {
        let (mut fenced, mut plain) = (false, false);
        self.text.lines().enumerate().filter_map(move |(k, line)| {
            if let Some(language) = line.trim_start().strip_prefix("```") {
                plain = !fenced && language.is_empty();
                fenced = !fenced;
                return None;
            }
            Some((k + 1, line, fenced, fenced && plain))
        })
    }
    /// Pieces of code inside sentences, with their line.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        let outside = self.lines().filter(|l| !l.2);
        outside.flat_map(|(k, line, ..)| line.split('`').skip(1).step_by(2).map(move |c| (k, c)))
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn documents() -> Vec<Document> {
    let all = handbook::documents().into_iter();
    let read =
        |path: &Path| std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    all.map(|path| Document { text: read(&path), path }).collect()
}

fn none_wrong(wrong: &[String]) {
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn holds_tables_are_as_the_catalogue_has_them() {
    for d in documents().iter().filter(|d| handbook::FILES.contains(&d.name().as_str())) {
        let now = handbook::filled(&d.text);
        let differs = d.text.lines().zip(now.lines()).find(|(old, new)| old != new);
        assert!(
            d.text == now,
            "{} is out of date: write its tables again with `{}`\n{differs:#?}",
            d.name(),
            handbook::COMMAND
        );
    }
}

#[test]
fn holds_readme_is_one_page() {
    let readme = std::fs::read_to_string(root().join("README.md")).expect("README.md");
    assert!(readme.lines().count() <= 200, "README.md has {} lines, more than 200", readme.lines().count());
}

/// The anchor that a heading has.
fn anchor(heading: &str) -> String {
    let kept = heading.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c));
    kept.collect::<String>().trim().to_lowercase().replace(' ', "-")
}

fn anchors(text: &str) -> BTreeSet<String> {
    let d = Document { path: PathBuf::new(), text: text.to_owned() };
    let headings = d.lines().filter(|l| !l.2 && l.1.starts_with('#'));
    headings.map(|l| anchor(l.1.trim_start_matches('#'))).collect()
}

#[test]
fn holds_links_lead_somewhere() {
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for d in documents() {
        for (k, line, ..) in d.lines().filter(|l| !l.2) {
            for target in line.split("](").skip(1).filter_map(|rest| rest.split_once(')')).map(|(t, _)| t) {
                if target.starts_with("https://") {
                    continue;
                }
                seen += 1;
                let (file, place) = target.split_once('#').unwrap_or((target, ""));
                let path =
                    if file.is_empty() { d.path.clone() } else { d.path.with_file_name("").join(file) };
                let known = || std::fs::read_to_string(&path).is_ok_and(|t| anchors(&t).contains(place));
                if !path.exists() || (!place.is_empty() && !known()) {
                    wrong.push(format!("{}:{k}: nothing is at {target}", d.name()));
                }
            }
        }
    }
    assert!(seen > 40, "{seen} links found: the scan would prove nothing");
    none_wrong(&wrong);
}

/// The arguments of a line for a terminal, without what is said behind a `#`.
fn arguments(line: &str) -> Vec<String> {
    let (mut all, mut word, mut quoted, mut any) = (Vec::new(), String::new(), false, false);
    for c in line.chars() {
        match c {
            '"' => (quoted, any) = (!quoted, true),
            '#' if !quoted && !any => break,
            ' ' if !quoted => {
                if std::mem::take(&mut any) {
                    all.push(std::mem::take(&mut word));
                }
            }
            c => {
                word.push(c);
                any = true;
            }
        }
    }
    if any {
        all.push(word);
    }
    all
}

/// The part of a line that is the program's command line.
fn command_line(line: &str) -> Option<Vec<String>> {
    let line = line.trim();
    if line.starts_with("cargo run") && !line.contains("--example") {
        let (_, rest) = line.split_once(" -- ")?;
        return Some(arguments(&format!("idlewright {rest}")));
    }
    line.starts_with("idlewright ").then(|| arguments(line))
}

/// What of a command line names a scenario or action file and is neither shipped nor there.
fn unknown(given: &clap::ArgMatches) -> Vec<String> {
    let Some((command, m)) = given.subcommand() else { return Vec::new() };
    let names: &[&str] = match command {
        "run" | "twin" => &["file", "actions"],
        "window" | "seal" => &["scenario"],
        "check" => &["files"],
        _ => &[],
    };
    let texts = names.iter().filter_map(|n| m.get_raw(n)).flatten().map(|v| v.to_string_lossy().into_owned());
    let known = |name: &String| {
        let there = root().join(name).exists() || root().join(format!("{name}.toml")).exists();
        let placeholder = name.chars().all(|c| c.is_ascii_uppercase());
        there
            || placeholder
            || MADE.contains(&name.as_str())
            || store::shipped(name).is_some()
            || store::shipped_actions(name).is_some()
    };
    texts.filter(|name| !known(name)).collect()
}

#[test]
fn holds_commands_are_understood_and_name_what_ships() {
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for d in documents() {
        let blocks = d.lines().filter(|l| l.3).map(|l| (l.0, l.1, true));
        // inside a sentence a command may be named without what it needs
        for (k, text, whole) in blocks.chain(d.code().map(|(k, c)| (k, c, false))) {
            let Some(args) = command_line(text).filter(|_| whole || !text.contains(['…', '['])) else {
                continue;
            };
            seen += 1;
            match cli::command().try_get_matches_from(args) {
                Ok(given) => {
                    let unknown = unknown(&given).into_iter();
                    wrong.extend(unknown.map(|n| format!("{}:{k}: there is no {n} in `{text}`", d.name())));
                }
                Err(e) if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {}
                Err(e) if !whole && e.kind() == ErrorKind::MissingRequiredArgument => {}
                Err(e) => wrong.push(format!("{}:{k}: `{text}`: {}", d.name(), e.kind())),
            }
        }
    }
    assert!(seen > 40, "{seen} commands found: the scan would prove nothing");
    none_wrong(&wrong);
}

/// What of the files that a document for developers names as code is not there.
#[test]
fn holds_source_files_that_are_named_are_there() {
    let (mut wrong, mut seen) = (Vec::new(), 0);
    let ends = [".rs", ".toml", ".md", ".ftl", ".sh", ".py"];
    for d in documents().iter().filter(|d| d.name() == "DEVELOPERS.md") {
        for (k, code) in d.code().filter(|c| {
            c.1.contains('/') && !c.1.contains([' ', '*']) && ends.iter().any(|e| c.1.ends_with(e))
        }) {
            seen += 1;
            if !root().join(code).exists() {
                wrong.push(format!("{}:{k}: there is no {code}", d.name()));
            }
        }
    }
    assert!(seen > 30, "{seen} files found: the scan would prove nothing");
    none_wrong(&wrong);
}

#[test]
fn holds_examples_of_files_read() {
    let (mut wrong, mut scenarios) = (Vec::new(), 0);
    for d in documents() {
        for block in d.text.split("\n```toml\n").skip(1).filter_map(|rest| rest.split_once("\n```")) {
            let text = block.0;
            if let Err(e) = text.parse::<toml::Table>() {
                wrong.push(format!("{}: {e}in:\n{text}", d.name()));
            }
            if text.contains("[setup]") {
                scenarios += 1;
                let read = scenario::parse_scenario(text, &d.name(), &mut |name| store::car_text(name, None));
                wrong.extend(read.err().map(|e| e.to_string()));
            }
        }
    }
    assert!(scenarios > 0, "no scenario found: the scan would prove nothing");
    none_wrong(&wrong);
}

#[test]
fn holds_scenarios_that_are_named_ship() {
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for d in documents() {
        for (k, code) in d.code() {
            let (id, action) = code.split_once('/').unwrap_or((code, ""));
            let word =
                |w: &str| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit());
            if !id.contains('-')
                || !id.split('-').all(word)
                || OTHER_WORDS.contains(&id)
                || id.starts_with("idlewright-")
            {
                continue;
            }
            seen += 1;
            let known = if action.is_empty() {
                store::shipped(id).is_some()
            } else {
                store::shipped_actions(code).is_some()
            };
            if !known {
                wrong.push(format!("{}:{k}: no scenario is called `{code}`", d.name()));
            }
        }
    }
    assert!(seen > 40, "{seen} names found: the scan would prove nothing");
    none_wrong(&wrong);
}

#[test]
fn trips_anchors_and_arguments_are_read_as_meant() {
    assert_eq!(anchor(" Parts, sensors and their faults"), "parts-sensors-and-their-faults");
    assert!(!anchors("# One\n```\n# two\n```\n").contains("two"));
    assert_eq!(
        arguments("idlewright run x --trainee \"bench 4\"  # a word"),
        ["idlewright", "run", "x", "--trainee", "bench 4"]
    );
    assert_eq!(command_line("cargo run --release -- run x").unwrap(), ["idlewright", "run", "x"]);
    assert!(command_line("cargo run --example handbook -- x").is_none());
}
