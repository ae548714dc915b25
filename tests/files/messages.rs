//! Messages and the source, read against each other: what is said exists and gets the values that it takes, and nothing
//! stands in the files of messages that nobody says.
//!
//! Not seen: whether a message whose id is put together while the program runs is there. It belongs to a kind, the first
//! text that [`FINDERS`] are given, or begins and ends like a text with a gap (`strip-head-{head}`);
//! `tests/files/words.rs` goes through the things of each kind that is declared.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Kinds of names that the catalogue declares, and those that are found by a kind which is chosen while the program runs.
/// Sums of the module's mind are among them: each names its terms.
const KINDS: &[&str] =
    &["car", "code", "group", "pattern", "point", "sensor", "mind-idle-air", "mind-fuel", "mind-charging"];

/// What finds a message by its kind and an id.
const FINDERS: [&str; 5] = ["name", "message_of", "sentence", "told", "said"];

/// All files below a folder that end so.
#[expect(clippy::disallowed_methods, reason = "the source itself is read")]
fn files(dir: &Path, end: &str, out: &mut Vec<(PathBuf, String)>) {
    let mut all: Vec<PathBuf> =
        std::fs::read_dir(dir).expect("a folder").map(|f| f.expect("readable").path()).collect();
    all.sort();
    for file in all {
        if file.is_dir() {
            files(&file, end, out);
        } else if file.extension().is_some_and(|e| e == end) {
            let text = std::fs::read_to_string(&file).expect("text");
            out.push((file, text));
        }
    }
}

fn of_project(dirs: &[&str], end: &str) -> Vec<(PathBuf, String)> {
    let mut out = Vec::new();
    for dir in dirs {
        files(&Path::new(env!("CARGO_MANIFEST_DIR")).join(dir), end, &mut out);
    }
    out
}

/// Every English message: its file, and the values that it takes.
fn messages() -> BTreeMap<String, (String, BTreeSet<String>)> {
    let mut out: BTreeMap<String, (String, BTreeSet<String>)> = BTreeMap::new();
    for (file, text) in of_project(&["assets/words/en"], "ftl") {
        let file = file.file_name().expect("a file").to_string_lossy().into_owned();
        let mut now = String::new();
        for line in text.lines().filter(|l| !l.starts_with('#')) {
            if let Some((id, _)) =
                line.split_once('=').filter(|_| line.starts_with(|c: char| c.is_ascii_alphabetic()))
            {
                now = id.trim().to_owned();
                out.insert(now.clone(), (file.clone(), BTreeSet::new()));
            }
            if let Some((_, values)) = out.get_mut(&now) {
                values.extend(line.split('$').skip(1).map(word));
            }
        }
    }
    out
}

/// The name that a text begins with.
fn word(text: &str) -> String {
    text.chars().take_while(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-')).collect()
}

/// The source without lines of comment.
fn code(text: &str) -> String {
    text.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

/// Every text in quotes.
fn quoted(code: &str) -> BTreeSet<String> {
    code.split('"').map(str::to_owned).collect()
}

/// What stands before and behind the gap in an id that is put together.
fn around_a_gap(text: &str) -> Option<(String, String)> {
    let (begins, ends) = (text.split_once('{')?.0, text.rsplit_once('}')?.1);
    let id = |t: &str| t.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    let good = begins.len() > 3 && begins.ends_with('-') && id(begins) && id(ends);
    good.then(|| (begins.to_owned(), ends.to_owned()))
}

/// Every call of that name whose first argument is a text: the text, and what follows it.
fn calls<'a>(code: &'a str, called: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> {
    code.match_indices(called).filter_map(move |(at, _)| {
        // a method of one language's words is no saying
        if code[..at].ends_with(|c: char| c.is_alphanumeric() || matches!(c, '_' | '.')) {
            return None;
        }
        let rest = code[at + called.len()..].trim_start_matches('!');
        rest.strip_prefix('(')?.trim_start().strip_prefix('"')?.split_once('"')
    })
}

/// Every `say("id")` and `say!("id", name = …)`: the id, and the names of the values that it is given.
fn sayings(code: &str) -> Vec<(String, BTreeSet<String>)> {
    calls(code, "say").map(|(id, values)| (id.to_owned(), names(values))).collect()
}

/// The names before `=` in a list of values, up to the bracket that ends it.
fn names(list: &str) -> BTreeSet<String> {
    let (mut depth, mut text, mut out) = (0, false, BTreeSet::new());
    let mut begins = 0;
    let mut one = |piece: &str| {
        if let Some((name, _)) = piece.split_once('=').filter(|(name, _)| word(name.trim()) == name.trim()) {
            out.insert(name.trim().to_owned());
        }
    };
    for (k, c) in list.char_indices() {
        match c {
            '"' => text = !text,
            _ if text => {}
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 0 => {
                one(&list[begins..k]);
                break;
            }
            ')' | ']' | '}' => depth -= 1,
            ',' if depth == 0 => {
                one(&list[begins..k]);
                begins = k + 1;
            }
            _ => {}
        }
    }
    out.remove("");
    out
}

#[test]
fn holds_everything_that_is_said_is_a_message_with_just_its_values() {
    let messages = messages();
    assert!(messages.len() > 100, "{}", messages.len());
    let mut wrong = Vec::new();
    let mut said = 0;
    for (file, text) in of_project(&["src", "model/src", "window/src"], "rs") {
        for (id, values) in sayings(&code(&text)) {
            said += 1;
            match messages.get(&id) {
                None => wrong.push(format!("{}: no message `{id}`", file.display())),
                Some((_, takes)) if *takes != values => {
                    wrong.push(format!("{}: `{id}` takes {takes:?} and is given {values:?}", file.display()));
                }
                Some(_) => {}
            }
        }
    }
    assert!(said > 100, "{said}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Facts that `words::facts::sentence` says: the kind of their messages, the source that declares them, and their name.
const FACTS: &[(&str, &str, &str)] = &[
    ("found", "src/lesson/facts.rs", "Found"),
    ("not-whole", "model/src/bench/not_whole.rs", "NotWhole"),
    ("mistake", "src/scenario/mistake.rs", "Mistake"),
    ("type", "src/scenario/mistake.rs", "Type"),
    ("no-car", "model/src/bench/car.rs", "NoCar"),
    ("alone", "model/src/bench/facts.rs", "Alone"),
    ("unfit", "model/src/bench/mod.rs", "Unfit"),
    ("car-rule", "model/src/bench/car.rs", "CarRule"),
    ("param", "model/src/units.rs", "ParamRule"),
    ("no-act", "src/session/twin.rs", "NoAct"),
    ("reason", "src/session/verdict.rs", "Reason"),
];

/// The variants of an enum, with the names of their fields; what a variant holds without a name is `x`.
fn variants(source: &str, of: &str) -> Vec<(String, BTreeSet<String>)> {
    let code: String = code(source).lines().filter(|l| !l.trim_start().starts_with("#[")).collect();
    let body = code.split_once(&format!("pub enum {of} {{")).expect("declared").1;
    let (mut depth, mut now, mut all) = (0, String::new(), Vec::new());
    for c in body.chars() {
        match c {
            '}' if depth == 0 => break,
            '{' | '(' | '<' => depth += 1,
            '}' | ')' | '>' => depth -= 1,
            ',' if depth == 0 => {
                all.push(std::mem::take(&mut now));
                continue;
            }
            _ => {}
        }
        now.push(c);
    }
    all.push(now);
    let variant = |text: &String| {
        let name = word(text.trim());
        let fields = match text.split_once('{') {
            Some((_, fields)) => {
                fields.split(',').filter_map(|f| Some(f.split_once(':')?.0.trim().to_owned())).collect()
            }
            None if text.contains('(') => BTreeSet::from(["x".to_owned()]),
            None => BTreeSet::new(),
        };
        (!name.is_empty()).then_some((name, fields))
    };
    all.iter().filter_map(variant).collect()
}

/// `NoGoodPart` as a message has it: `no-good-part`.
fn hyphened(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars() {
        if c.is_ascii_uppercase() && !out.is_empty() {
            out.push('-');
        }
        out.push(c.to_ascii_lowercase());
    }
    out
}

/// A match names that variant, and not one whose name only begins alike.
fn told_by_hand(source: &str, variant: &str) -> bool {
    let goes_on = |rest: &str| rest.starts_with(|c: char| c.is_alphanumeric() || c == '_');
    source.split(variant).skip(1).any(|rest| !goes_on(rest))
}

#[test]
fn holds_every_fact_has_a_message_with_values_that_it_has() {
    let messages = messages();
    let told: String = of_project(&["src/words/facts"], "rs").into_iter().map(|f| f.1).collect();
    let sources: BTreeMap<PathBuf, String> = of_project(&["src", "model/src"], "rs").into_iter().collect();
    let mut wrong = Vec::new();
    for (kind, file, of) in FACTS {
        let source = &sources[&Path::new(env!("CARGO_MANIFEST_DIR")).join(file)];
        let all = variants(source, of);
        assert!(all.len() > 1, "{of}: {all:?}");
        for (name, fields) in all {
            match messages.get(&format!("{kind}-{}", hyphened(&name))) {
                Some((_, takes)) if takes.is_subset(&fields) => {}
                // said by hand
                _ if told_by_hand(&told, &format!("{of}::{name}")) => {}
                Some((_, takes)) => {
                    wrong.push(format!("{of}::{name}: its message takes {takes:?}, it has {fields:?}"))
                }
                None => wrong.push(format!("{of}::{name} has no message")),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn holds_every_message_is_said() {
    let messages = messages();
    let (mut used, mut kinds) = (BTreeSet::new(), BTreeSet::new());
    kinds.extend(KINDS.iter().map(|k| (*k).to_owned()));
    // pages of a class say theirs by id too
    for (_, text) in ["js", "html"].iter().flat_map(|end| of_project(&["assets/class"], end)) {
        used.extend(text.split(['"', '\'', '`']).map(|piece| piece.replace("${", "{")));
    }
    for (_, text) in of_project(&["src", "model/src", "window/src"], "rs") {
        let code = code(&text);
        used.extend(quoted(&code));
        kinds.extend(FINDERS.iter().flat_map(|f| calls(&code, f)).map(|(kind, _)| kind.to_owned()));
    }
    let of_kind = |id: &str| {
        kinds.iter().any(|k| id.strip_prefix(k.as_str()).is_some_and(|rest| rest.starts_with('-')))
    };
    let gaps: Vec<(String, String)> = used.iter().filter_map(|text| around_a_gap(text)).collect();
    let with_gap = |id: &str| gaps.iter().any(|(begins, ends)| id.starts_with(begins) && id.ends_with(ends));
    let dead: Vec<String> = messages
        .iter()
        .filter(|(id, _)| !used.contains(*id) && !of_kind(id) && !with_gap(id))
        .map(|(id, (file, _))| format!("{file}: nobody says `{id}`"))
        .collect();
    assert!(dead.is_empty(), "{}", dead.join("\n"));
}

#[test]
fn trips_on_what_is_said_wrongly() {
    let said = sayings(
        "say(\"a-b\"); x.say(\"no\", &[]); say!(\n \"c\", one = f(1, 2), two = \"x, y = z\"); assay(\"n\")",
    );
    let set = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect::<BTreeSet<_>>();
    assert_eq!(said, vec![("a-b".into(), set(&[])), ("c".into(), set(&["one", "two"]))]);
}
