//! The walls between the rooms, as a table and a scan.
//!
//! What it checks: which room of `src/` names which other room, which room may touch the window's
//! libraries, sockets, files and clocks, and that sibling models do not step each other (`shape` beside it:
//! how long a file and a function may be, and that files of a room import each other in one direction). Every rule has a test that trips it and one that shows what it allows.
//!
//! What it does not check: types. It reads tokens, not meaning, so it refuses the spellings that would
//! fool it (grouped imports of rooms, climbing two levels, re-exports across rooms). Calls by method
//! on a value and names built by macros are invisible to it. `clippy.toml` covers clocks, files, floating
//! point functions and hash maps a second time, by meaning.
//!
//! When a wall stands wrong: change [`ROOMS`], the table in DEVELOPERS.md and the code together.
#![expect(clippy::disallowed_methods, reason = "reading the source tree is what this test does")]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::Path;

// ---------------------------------------------------------------------------------------------------
// The table
// ---------------------------------------------------------------------------------------------------

/// Each room, and the rooms that it may name beside itself. `lib.rs` declares all and may name all.
/// A room listed here need not exist yet; a room that exists must be listed.
const ROOMS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("num", &["units"]),
    ("signals", &["units"]),
    // a printed label: paper carries it from the part to the module, as a wire would
    ("label", &["units"]),
    ("link", &["units", "label"]),
    ("plant", &["units", "num", "signals", "label"]),
    ("ecm", &["units", "num", "signals", "link", "label"]),
    // what exists, declared once
    ("catalogue", &["units", "link", "label"]),
    ("bench", &["units", "num", "signals", "link", "label", "plant", "ecm", "catalogue"]),
    // num for its streams: variants are drawn while a file is read
    ("scenario", &["units", "num", "link", "label", "catalogue", "bench"]),
    ("procedure", &["units", "link", "bench"]),
    ("lesson", &["units", "link", "catalogue", "bench", "scenario"]),
    ("store", &["units", "bench"]),
    ("session", &["units", "link", "catalogue", "bench", "scenario", "lesson", "procedure", "store"]),
    // facts to sentences: the only room with prose; it names whoever has facts, and none of these names it
    ("words", &["units", "link", "label", "catalogue", "bench", "scenario", "lesson", "store", "session"]),
    // what is proved: the plant's own laws too, which no front sees but as a row of a table
    ("evidence", &["units", "num", "signals", "label", "link", "plant", "bench", "store"]),
    // paper: what a session came to, and what was proved
    (
        "report",
        &[
            "units",
            "link",
            "label",
            "catalogue",
            "bench",
            "scenario",
            "lesson",
            "evidence",
            "words",
            "session",
        ],
    ),
    ("batch", &["units", "link", "bench", "scenario", "lesson", "report", "procedure", "store", "session"]),
    // what every front does: load, run, open, check, solve, hand in, mark; the only one that names all of these
    (
        "app",
        &[
            "units",
            "link",
            "label",
            "catalogue",
            "bench",
            "scenario",
            "lesson",
            "report",
            "evidence",
            "store",
            "session",
            "batch",
            "words",
        ],
    ),
    // a front for other people's programs: a thin coat of bytes over the typed requests
    ("net", &["units", "label", "link", "catalogue", "bench", "scenario", "session", "app", "words"]),
    // a front that serves many: seats in a browser, the instructor's wall
    (
        "class",
        &[
            "units",
            "net",
            "label",
            "link",
            "catalogue",
            "bench",
            "scenario",
            "lesson",
            "report",
            "store",
            "session",
            "app",
            "words",
        ],
    ),
    // a front is fed by app alone
    ("cli", &["units", "net", "class", "window", "words", "app"]),
    (
        "window",
        &[
            "units",
            "label",
            "link",
            "catalogue",
            "bench",
            "scenario",
            "lesson",
            "report",
            "procedure",
            "store",
            "session",
            "app",
            "words",
        ],
    ),
    ("main", &["cli"]),
];

/// Which rooms may touch the world outside the program.
const MAY_DRAW: &[&str] = &["window"];
const MAY_OPEN_SOCKETS: &[&str] = &["class", "net"];
const MAY_TOUCH_FILES: &[&str] = &["store", "class", "cli", "batch", "window", "main"];
const MAY_READ_CLOCKS: &[&str] = &["session", "net", "class", "cli", "window"];
/// Rooms whose files are stepped by their `mod.rs`, in the order written there, and by nothing else.
const STEPPED_IN_ORDER: &[&str] = &["plant", "ecm"];
/// Files that may re-export what belongs to another room: the bench's facade, the room that fronts are fed by, and the
/// crate's front door.
const MAY_REEXPORT: &[&str] = &["model/src/bench/mod.rs", "src/app/mod.rs", "src/lib.rs"];

/// A rule, in the words its violation shows: what holds and why, and what to do instead.
struct Rule {
    says: &'static str,
    way_out: &'static str,
}

const ROOM: Rule = Rule {
    says: "a room names only the rooms that the table allows it",
    way_out: "carry the value through signals, link or the bench's verbs, or move the code to the room that \
              owns it; if the wall stands wrong, change ROOMS in tests/guards/architecture.rs and DEVELOPERS.md",
};
const UNLISTED: Rule = Rule {
    says: "every room, and everything named at the crate's root, stands in the table",
    way_out: "put it into the room that owns the idea, or add a row for the new room to ROOMS in \
              tests/guards/architecture.rs and to DEVELOPERS.md",
};
const GROUPED: Rule = Rule {
    says: "rooms are imported one to a line, so that a plain scan finds them",
    way_out: "write one `use crate::room::…;` for each room",
};
const CLIMBING: Rule = Rule {
    says: "`super` is used once, so that a plain scan knows where a path leads",
    way_out: "write the path from `crate::`",
};
const ROOT_ALIAS: Rule = Rule {
    says: "the crate's root is neither renamed nor imported whole, which would hide which room is named",
    way_out: "name the room: `use crate::room::Thing;`",
};
const REEXPORT: Rule = Rule {
    says: "no room re-exports another, or one wall would have two doors; bench/mod.rs, app/mod.rs and lib.rs may",
    way_out: "let the reader import from the room that owns it, where the table allows that",
};
const HIDDEN_DOOR: Rule = Rule {
    says: "a source file belongs to one room, and is reached by the module tree only",
    way_out: "declare the module in its own room's mod.rs (or in lib.rs), without `path`, `include!` or a \
              second declaration in main.rs",
};
const DRAWING: Rule = Rule {
    says: "the window's libraries are named in window only, so that all else builds and tests without them",
    way_out: "move the drawing to src/window/, and give it a view to draw and actions to return",
};
const SOCKETS: Rule = Rule {
    says: "sockets live in class and net only, so that replay needs none",
    way_out: "hand bytes, text or a DiagRequest to net through the session",
};
const FILES: Rule = Rule {
    says: "files are touched in store, class, cli, batch, window and main only",
    way_out: "take text or bytes as an argument and return text or bytes; let the caller read and write",
};
const CLOCKS: Rule = Rule {
    says: "the wall clock is read in session, net, class, cli and window only, so that replay gives the same bytes",
    way_out: "use simulated time, handed in as an argument",
};
const SIBLING_STEP: Rule = Rule {
    says: "inside plant and ecm only mod.rs calls a file's step, so that the order of a step is written once",
    way_out: "return the value as an output, and let mod.rs carry it to the sibling in the written order",
};
/// One place where a rule is broken.
struct Violation {
    file: String,
    line: usize,
    text: String,
    rule: &'static Rule,
}

impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Violation { file, line, text, rule } = self;
        write!(f, "{file}:{line}: `{text}`\n    rule: {}\n    way out: {}", rule.says, rule.way_out)
    }
}

// ---------------------------------------------------------------------------------------------------
// Reading Rust: tokens without comments and literals
// ---------------------------------------------------------------------------------------------------

/// A word or a sign, and the line it stands on. `::` is one sign; string and character literals are gone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Token {
    pub(super) text: String,
    pub(super) line: usize,
}

impl Token {
    pub(super) fn is_word(&self) -> bool {
        self.text.starts_with(|c: char| c.is_alphabetic() || c == '_')
    }
}

/// The tokens of a source text, and which of its lines hold code.
pub(super) fn tokens(source: &str) -> (Vec<Token>, BTreeSet<usize>) {
    let s: Vec<char> = source.chars().collect();
    let at = |i: usize| s.get(i).copied().unwrap_or('\0');
    let word = |c: char| c.is_alphanumeric() || c == '_';
    let mut out = Vec::new();
    let mut code_lines = BTreeSet::new();
    let (mut i, mut line) = (0, 1);
    while i < s.len() {
        let c = s[i];
        let start = i;
        if c == '\n' {
            line += 1;
            i += 1;
            continue;
        }
        if c.is_whitespace() {
            i += 1;
            continue;
        }
        if c == '/' && at(i + 1) == '/' {
            while i < s.len() && s[i] != '\n' {
                i += 1;
            }
            continue;
        }
        if c == '/' && at(i + 1) == '*' {
            let mut depth = 0;
            while i < s.len() {
                if s[i] == '/' && at(i + 1) == '*' {
                    depth += 1;
                    i += 2;
                } else if s[i] == '*' && at(i + 1) == '/' {
                    depth -= 1;
                    i += 2;
                    if depth == 0 {
                        break;
                    }
                } else {
                    line += usize::from(s[i] == '\n');
                    i += 1;
                }
            }
            continue;
        }
        code_lines.insert(line);
        if word(c) {
            while word(at(i)) {
                i += 1;
            }
            let text: String = s[start..i].iter().collect();
            let raw = matches!(text.as_str(), "r" | "br" | "cr");
            if raw && at(i) == '#' && (at(i + 1).is_alphabetic() || at(i + 1) == '_') {
                i += 1; // a raw identifier: the word that follows is the name
                continue;
            }
            if raw && (at(i) == '"' || at(i) == '#') {
                let mut hashes = 0;
                while at(i) == '#' {
                    hashes += 1;
                    i += 1;
                }
                i += 1;
                while i < s.len() && !(s[i] == '"' && (1..=hashes).all(|k| at(i + k) == '#')) {
                    line += usize::from(s[i] == '\n');
                    code_lines.insert(line);
                    i += 1;
                }
                i += 1 + hashes;
                continue;
            }
            if matches!(text.as_str(), "b" | "c") && (at(i) == '"' || at(i) == '\'') {
                continue; // the prefix of a literal, which the next turn skips
            }
            out.push(Token { text, line });
            continue;
        }
        if c == '"' {
            i += 1;
            while i < s.len() && s[i] != '"' {
                if s[i] == '\\' {
                    i += 1;
                }
                line += usize::from(at(i) == '\n');
                code_lines.insert(line);
                i += 1;
            }
            i += 1;
            continue;
        }
        if c == '\'' {
            if at(i + 1) == '\\' {
                i += 3; // the quote, the backslash, and what it escapes
                while i < s.len() && s[i] != '\'' {
                    i += 1;
                }
                i += 1;
            } else if at(i + 2) == '\'' {
                i += 3;
            } else {
                i += 1; // a lifetime: its name is no path
                while word(at(i)) {
                    i += 1;
                }
            }
            continue;
        }
        i += if c == ':' && at(i + 1) == ':' { 2 } else { 1 };
        out.push(Token { text: s[start..i].iter().collect(), line });
    }
    (out, code_lines)
}

// ---------------------------------------------------------------------------------------------------
// Reading Rust: paths
// ---------------------------------------------------------------------------------------------------

/// A path as written, such as `crate::plant::air`; from a `use` tree, one for each leaf.
#[derive(Debug, Clone)]
pub(super) struct Named {
    pub(super) segs: Vec<String>,
    pub(super) line: usize,
    /// The inline modules (`mod tests { … }`) around it.
    inside: Vec<String>,
    pub(super) import: Option<Import>,
}

#[derive(Debug, Clone)]
pub(super) struct Import {
    pub(super) public: bool,
    alias: Option<String>,
}

impl Named {
    fn text(&self) -> String {
        self.segs.join("::")
    }
}

pub(super) fn paths(t: &[Token]) -> Vec<Named> {
    let is = |i: usize, text: &str| t.get(i).is_some_and(|k| k.text == text);
    let mut out = Vec::new();
    let mut open: Vec<Option<String>> = Vec::new(); // one entry for each brace; a name if it is a module's
    let mut i = 0;
    while i < t.len() {
        if is(i, "{") {
            let named = i >= 2 && is(i - 2, "mod") && t[i - 1].is_word();
            open.push(named.then(|| t[i - 1].text.clone()));
            i += 1;
            continue;
        }
        if is(i, "}") {
            open.pop();
            i += 1;
            continue;
        }
        if !t[i].is_word() {
            i += 1;
            continue;
        }
        let inside: Vec<String> = open.iter().flatten().cloned().collect();
        if is(i, "use") && !is(i + 1, "<") {
            let mut leaves = Vec::new();
            let public = is_public(t, i);
            i = use_tree(t, i + 1, &[], &mut leaves);
            out.extend(leaves.into_iter().map(|(segs, line, alias)| Named {
                segs,
                line,
                inside: inside.clone(),
                import: Some(Import { public, alias }),
            }));
            continue;
        }
        let begins = i == 0
            || !is(i - 1, "::")
            || !(i >= 2 && (t[i - 2].is_word() || is(i - 2, ">") || is(i - 2, "]") || is(i - 2, ")")));
        let line = t[i].line;
        let mut segs = vec![t[i].text.clone()];
        i += 1;
        while is(i, "::") && t.get(i + 1).is_some_and(Token::is_word) {
            segs.push(t[i + 1].text.clone());
            i += 2;
        }
        if begins {
            out.push(Named { segs, line, inside, import: None });
        }
    }
    out
}

/// Whether the `use` at `i` is preceded by `pub` or `pub(…)`.
fn is_public(t: &[Token], i: usize) -> bool {
    let before = t[..i].iter().rev().map(|k| k.text.as_str());
    let mut words = before.skip_while(|w| !matches!(*w, ";" | "{" | "}" | "]" | "pub"));
    words.next() == Some("pub")
}

type Leaf = (Vec<String>, usize, Option<String>);

/// Reads one use tree from `i`, adds its leaves, and returns where it ends.
fn use_tree(t: &[Token], mut i: usize, prefix: &[String], out: &mut Vec<Leaf>) -> usize {
    let mut segs = prefix.to_vec();
    let mut line = t.get(i).map_or(0, |k| k.line);
    while let Some(k) = t.get(i) {
        match k.text.as_str() {
            "::" => i += 1,
            "{" => {
                i += 1;
                while t.get(i).is_some_and(|k| k.text != "}") {
                    i = use_tree(t, i, &segs, out);
                    i += usize::from(t.get(i).is_some_and(|k| k.text == ","));
                }
                return i + 1;
            }
            "as" => {
                let alias = t.get(i + 1).map(|k| k.text.clone());
                out.push((segs, line, alias));
                return i + 2;
            }
            "*" => {
                segs.push("*".into());
                out.push((segs, line, None));
                return i + 1;
            }
            _ if k.is_word() => {
                line = k.line;
                if k.text != "self" || segs.is_empty() {
                    segs.push(k.text.clone());
                }
                i += 1;
            }
            "$" => i += 1,
            _ => break,
        }
    }
    out.push((segs, line, None));
    // A sign that no use tree holds: step over it, so that a strange file cannot hold the scan up.
    i + usize::from(t.get(i).is_some_and(|k| !matches!(k.text.as_str(), "," | "}" | ";")))
}

// ---------------------------------------------------------------------------------------------------
// The check
// ---------------------------------------------------------------------------------------------------

/// `model/src/plant/air.rs` is the module `plant::air`; `model/src/plant/mod.rs` is `plant`; `src/lib.rs` is the root, and so is
/// that of the package `model`. The package `window` is the other part of the room of that name: `window/src/app.rs` is
/// `window::app`; its program is a `main`.
pub(super) fn module_of(path: &str) -> Vec<String> {
    if let Some(inner) = path.strip_prefix("window/").filter(|inner| *inner != "src/main.rs") {
        return [vec!["window".to_string()], module_of(inner)].concat();
    }
    let path = path.trim_start_matches("window/").trim_start_matches("model/");
    let inner = path.trim_start_matches("src/").trim_end_matches(".rs");
    let mut module: Vec<String> = inner.split('/').map(str::to_string).collect();
    if matches!(module.last().map(String::as_str), Some("mod")) || inner == "lib" {
        module.pop();
    }
    module
}

/// The path from the crate's root, or none if it does not begin at a place that the text alone decides.
/// In main.rs `crate` is the program, which has no rooms; `idlewright` is the library from anywhere.
pub(super) fn from_root(named: &Named, module: &[String]) -> Option<Vec<String>> {
    let mut segs = named.segs.as_slice();
    if segs.len() > 1 && segs[0] == "self" && segs[1] == "super" {
        segs = &segs[1..];
    }
    let mut base = match segs[0].as_str() {
        "crate" | "idlewright" | "idlewright_model" if named.import.is_some() || segs.len() > 1 => Vec::new(),
        "super" | "self" if named.import.is_some() || segs.len() > 1 => {
            let mut here = module.to_vec();
            here.extend(named.inside.iter().cloned());
            if segs[0] == "super" {
                here.pop();
            }
            here
        }
        _ => return None,
    };
    base.extend(segs[1..].iter().cloned());
    Some(base)
}

/// Every violation in the given files, as (path, text) pairs with paths such as `model/src/plant/air.rs`.
fn check(files: &[(String, String)]) -> Vec<Violation> {
    let modules: BTreeSet<Vec<String>> = files.iter().map(|(path, _)| module_of(path)).collect();
    files.iter().flat_map(|(path, text)| check_file(path, text, &modules)).collect()
}

fn check_file(path: &str, text: &str, modules: &BTreeSet<Vec<String>>) -> Vec<Violation> {
    let module = module_of(path);
    let room = module.first().map_or("lib", String::as_str);
    let (tokens, _) = tokens(text);
    let named = paths(&tokens);
    let mut found: Vec<Violation> = Vec::new();
    let mut add = |line: usize, text: String, rule: &'static Rule| {
        found.push(Violation { file: path.to_string(), line, text, rule });
    };

    let allowed = ROOMS.iter().find(|(name, _)| *name == room).map(|(_, may)| *may);
    if allowed.is_none() && room != "lib" {
        add(1, room.to_string(), &UNLISTED);
    }

    scan_signs(&tokens, room, &mut add);

    for n in &named {
        let target = from_root(n, &module);
        if n.segs.iter().filter(|s| *s == "super").count() > 1 {
            add(n.line, n.text(), &CLIMBING);
            continue;
        }
        if room != "lib"
            && let Some(target) = &target
        {
            scan_room(n, target, room, path, allowed.unwrap_or(&[]), &mut add);
        }
        scan_outside(n, room, &mut add);
    }

    if STEPPED_IN_ORDER.contains(&room) {
        scan_steps(&named, &module, modules, &mut add);
    }
    found
}

/// Spellings that a scan of paths would miss.
fn scan_signs(t: &[Token], room: &str, add: &mut impl FnMut(usize, String, &'static Rule)) {
    let is = |i: usize, text: &str| t.get(i).is_some_and(|k| k.text == text);
    for (i, k) in t.iter().enumerate() {
        let root = matches!(k.text.as_str(), "crate" | "idlewright" | "idlewright_model");
        if root && is(i + 1, "::") && is(i + 2, "{") {
            add(k.line, format!("{}::{{…}}", k.text), &GROUPED);
        }
        if k.text == "path" && i >= 2 && is(i - 1, "[") && is(i - 2, "#") && is(i + 1, "=") {
            add(k.line, "#[path = …]".into(), &HIDDEN_DOOR);
        }
        if k.text == "include" && is(i + 1, "!") {
            add(k.line, "include!".into(), &HIDDEN_DOOR);
        }
        if k.text == "mod" && room == "main" && is(i + 2, ";") {
            add(k.line, format!("mod {}", t[i + 1].text), &HIDDEN_DOOR);
        }
    }
}

/// The wall between rooms: `target` is what is named, from the crate's root.
fn scan_room(
    n: &Named,
    target: &[String],
    room: &str,
    path: &str,
    allowed: &[&str],
    add: &mut impl FnMut(usize, String, &'static Rule),
) {
    let Some(first) = target.first().filter(|s| *s != "*") else {
        if n.import.is_some() {
            add(n.line, n.text(), &ROOT_ALIAS);
        }
        return;
    };
    if first == room {
        return;
    }
    let listed = ROOMS.iter().any(|(name, _)| name == first);
    if room == "main" && n.segs[0] != "idlewright" && !listed {
        return; // main.rs naming something of its own
    }
    if allowed.contains(&first.as_str()) {
        if n.import.as_ref().is_some_and(|u| u.public) && !MAY_REEXPORT.contains(&path) {
            add(n.line, format!("pub use {}", n.text()), &REEXPORT);
        }
    } else {
        add(n.line, n.text(), if listed { &ROOM } else { &UNLISTED });
    }
}

/// What lies outside the program: window libraries, sockets, files, clocks.
fn scan_outside(n: &Named, room: &str, add: &mut impl FnMut(usize, String, &'static Rule)) {
    let segs: Vec<&str> = n.segs.iter().map(String::as_str).collect();
    let std_path = |what: &str| matches!(segs[..], ["std" | "core", w, ..] if w == what);
    let pair = |a: &str, b: &[&str]| segs.windows(2).any(|w| w[0] == a && b.contains(&w[1]));

    let draws = segs.iter().any(|s| {
        matches!(*s, "bevy" | "egui" | "eframe") || s.starts_with("bevy_") || s.starts_with("egui_")
    });
    if draws && !MAY_DRAW.contains(&room) {
        add(n.line, n.text(), &DRAWING);
    }
    let socket =
        std_path("net") || segs.iter().any(|s| matches!(*s, "TcpStream" | "TcpListener" | "UdpSocket"));
    if socket && !MAY_OPEN_SOCKETS.contains(&room) {
        add(n.line, n.text(), &SOCKETS);
    }
    let file = std_path("fs")
        || (segs.len() > 1 && segs[0] == "fs")
        || segs.contains(&"OpenOptions")
        || pair("File", &["open", "create", "create_new", "options"]);
    if file && !MAY_TOUCH_FILES.contains(&room) {
        add(n.line, n.text(), &FILES);
    }
    let clock = segs.iter().any(|s| matches!(*s, "SystemTime" | "UNIX_EPOCH"))
        || pair("time", &["Instant"])
        || pair("Instant", &["now"])
        || (std_path("time") && segs.last() == Some(&"*"));
    if clock && !MAY_READ_CLOCKS.contains(&room) {
        add(n.line, n.text(), &CLOCKS);
    }
}

/// A file of plant or ecm naming `step` of a module that is neither itself nor below it.
fn scan_steps(
    named: &[Named],
    module: &[String],
    modules: &BTreeSet<Vec<String>>,
    add: &mut impl FnMut(usize, String, &'static Rule),
) {
    // What each imported name stands for, so that `use super::air as a; a::step(…)` is seen through.
    let mut imported: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for n in named {
        if let (Some(import), Some(target)) = (&n.import, from_root(n, module))
            && let Some(name) = import.alias.as_ref().or(target.last())
        {
            imported.insert(name.clone(), target.clone());
        }
    }
    for n in named {
        if n.segs.last().is_none_or(|s| s != "step") {
            continue;
        }
        let target = from_root(n, module).or_else(|| {
            if n.segs.len() < 2 {
                return None; // a bare `step(…)`: its own, or imported by a path seen above
            }
            let mut full = match imported.get(&n.segs[0]) {
                Some(t) => t.clone(),
                None => (0..=module.len())
                    .rev()
                    .map(|k| [&module[..k], &n.segs[..1]].concat())
                    .find(|candidate| modules.contains(candidate))?,
            };
            full.extend(n.segs[1..].iter().cloned());
            Some(full)
        });
        if let Some(target) = target
            && target.first() == module.first()
            && !target.starts_with(module)
        {
            add(n.line, n.text(), &SIBLING_STEP);
        }
    }
}

// ---------------------------------------------------------------------------------------------------
// The real tree
// ---------------------------------------------------------------------------------------------------

/// All files below `top` (a folder or a file, from the package's root), as paths with `/`, sorted.
pub(super) fn files_below(top: &str) -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let full = root.join(top);
    if full.is_file() {
        return vec![top.to_string()];
    }
    let Ok(entries) = std::fs::read_dir(&full) else { return Vec::new() };
    let mut names: Vec<String> = entries
        .map(|e| e.expect("listing a folder of the package").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names.iter().flat_map(|name| files_below(&format!("{top}/{name}"))).collect()
}

pub(super) fn text_of(path: &str) -> Option<String> {
    let full = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    String::from_utf8(std::fs::read(&full).unwrap_or_else(|e| panic!("reading {path}: {e}"))).ok()
}

#[test]
fn source_tree_keeps_the_walls() {
    let files: Vec<(String, String)> = ["src", "model/src", "window/src"]
        .into_iter()
        .flat_map(files_below)
        .filter(|path| path.ends_with(".rs"))
        .map(|path| {
            let text = text_of(&path).unwrap_or_else(|| panic!("{path} is not UTF-8"));
            (path, text)
        })
        .collect();
    for top in ["src/report/", "model/src/plant/", "window/src/"] {
        let found = files.iter().any(|(path, _)| path.starts_with(top));
        assert!(found, "no source file found below {top}: the scan would prove nothing");
    }
    let found = check(&files);
    let list: Vec<String> = found.iter().map(Violation::to_string).collect();
    assert!(found.is_empty(), "{} place(s) break the walls:\n{}", found.len(), list.join("\n"));
}

/// The table itself: each name once, every named room known, and nobody both above and below another.
#[test]
fn holds_the_table_is_whole_and_without_circles() {
    let names: BTreeSet<&str> = ROOMS.iter().map(|(name, _)| *name).collect();
    assert_eq!(names.len(), ROOMS.len(), "a room stands twice in the table");
    for (i, (name, may)) in ROOMS.iter().enumerate() {
        for other in *may {
            let at = ROOMS.iter().position(|(n, _)| n == other);
            let at = at.unwrap_or_else(|| panic!("{name} may name {other}, which has no row"));
            // cli starts the window; window is listed after it and may not name it back.
            let forward = at < i || (*name, *other) == ("cli", "window");
            assert!(forward, "{name} may name {other}, listed later: a circle could hide there");
        }
    }
}

/// Marks of unfinished work, put together here so that this file does not hold them itself.
fn unfinished() -> [String; 3] {
    [["todo", "!("].concat(), ["unimplemented", "!("].concat(), ["#[", "ignore"].concat()]
}

fn unfinished_in(path: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (i, line) in text.lines().enumerate() {
        for mark in unfinished() {
            if line.contains(&mark) {
                found.push(format!(
                    "{path}:{}: `{mark}`\n    rule: nothing unfinished or switched off is kept in the tree\n    \
                     way out: finish it, leave it out, or list a known failure with its reason in tests/cases.toml",
                    i + 1
                ));
            }
        }
    }
    found
}

#[test]
fn source_tree_holds_nothing_unfinished() {
    let tops = [
        "src",
        "model/src",
        "window/src",
        "tests",
        "assets",
        "scenarios",
        "benches",
        "docs",
        "README.md",
        "DEVELOPERS.md",
        ".ci",
    ];
    let found: Vec<String> = tops
        .iter()
        .flat_map(|top| files_below(top))
        .filter_map(|path| text_of(&path).map(|text| unfinished_in(&path, &text)))
        .flatten()
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn trips_unfinished_work() {
    for mark in unfinished() {
        assert_eq!(unfinished_in("src/x.rs", &format!("fn f() {{\n    {mark}\n}}")).len(), 1, "{mark}");
    }
    assert!(unfinished_in("README.md", "What is left to do: nothing is ignored.").is_empty());
}

// ---------------------------------------------------------------------------------------------------
// Each rule trips, and lets through what it should
// ---------------------------------------------------------------------------------------------------

fn check_one(path: &str, text: &str) -> Vec<Violation> {
    // Neighbours that exist, so that siblings are known as such.
    let around = [
        "src/lib.rs",
        "model/src/plant/mod.rs",
        "model/src/plant/air.rs",
        "model/src/plant/crank.rs",
        "model/src/ecm/codes.rs",
    ];
    let mut files: Vec<(String, String)> =
        around.iter().filter(|p| **p != path).map(|p| (p.to_string(), String::new())).collect();
    files.push((path.to_string(), text.to_string()));
    check(&files)
}

#[track_caller]
fn trips(path: &str, text: &str, line: usize, rule: &'static Rule) {
    let found = check_one(path, text);
    let list: Vec<String> = found.iter().map(Violation::to_string).collect();
    assert!(
        found.iter().any(|v| v.rule.says == rule.says && v.line == line && v.file == path),
        "expected at {path}:{line}: {}\nfound: {list:#?}\nin:\n{text}",
        rule.says
    );
}

#[track_caller]
fn passes(path: &str, text: &str) {
    let list: Vec<String> = check_one(path, text).iter().map(Violation::to_string).collect();
    assert!(list.is_empty(), "expected nothing, found: {list:#?}\nin:\n{text}");
}

#[test]
fn trips_room_not_in_the_table() {
    trips("model/src/plant/air.rs", "//! Air.\nuse crate::ecm::Ecm;", 2, &ROOM);
    trips("model/src/ecm/mod.rs", "fn f(p: &crate::plant::Plant) {}", 1, &ROOM);
    trips("model/src/ecm/mod.rs", "fn f() { x::<crate::plant::Plant>::new(); }", 1, &ROOM);
    trips("src/lesson.rs", "use crate::plant::air;", 1, &ROOM);
    trips("src/lesson/deeds.rs", "use crate::r#session::Pace;", 1, &ROOM);
    trips("src/scenario.rs", "macro_rules! m { () => { $crate::ecm::f() } }", 1, &ROOM);
    trips("model/src/units.rs", "#[cfg(test)]\nmod tests {\n    use crate::num::lag;\n}", 3, &ROOM);
    trips("src/cloud.rs", "use idlewright::bench::Bench;", 1, &ROOM);
    trips("window/src/app.rs", "use idlewright::plant::Plant;", 1, &ROOM);
    trips("window/src/app.rs", "use idlewright::cli::run;", 1, &ROOM);
    // Every pair that the table does not allow.
    for (room, may) in ROOMS {
        for (other, _) in ROOMS.iter().filter(|(other, _)| other != room && !may.contains(other)) {
            trips(&format!("src/{room}.rs"), &format!("use idlewright::{other}::X;"), 1, &ROOM);
        }
    }
}

#[test]
fn holds_rooms_in_the_table_pass() {
    passes(
        "model/src/plant/air.rs",
        "use crate::units::Kelvin;\nuse crate::plant::crank;\nuse super::crank::Speed;",
    );
    passes(
        "model/src/plant/air.rs",
        "// use crate::ecm::Ecm;\n/* /* */ crate::ecm */\nconst S: &str = \"crate::ecm::X\";",
    );
    passes(
        "model/src/plant/air.rs",
        "const S: &str = r#\"crate::ecm \" \"#; const C: char = '\"'; // crate::ecm\n",
    );
    passes(
        "model/src/plant/air.rs",
        "fn f<'a>(x: &'a str) -> char { '\\'' } /// crate::ecm::X\nconst Q: u8 = b'\"';",
    );
    passes("src/main.rs", "fn main() { idlewright::cli::run() }");
    passes("window/src/main.rs", "fn main() { idlewright::cli::run_with(args, idlewright_window::open) }");
    passes("window/src/app.rs", "use super::engine;\nuse idlewright::window::panels;\nuse bevy::prelude::*;");
    passes("window/src/lib.rs", "mod app;\npub use self::app::open;");
    passes(
        "src/lib.rs",
        "pub mod plant;\npub mod ecm;\npub use crate::bench::Bench;\nuse crate::plant::Plant;",
    );
    for (room, may) in ROOMS {
        for other in *may {
            passes(&format!("src/{room}.rs"), &format!("use idlewright::{other}::X;"));
        }
    }
}

#[test]
fn trips_super_climbing_out_of_a_room() {
    trips("model/src/plant/mod.rs", "use super::ecm::Ecm;", 1, &ROOM);
    trips("src/scenario.rs", "fn f(x: self::super::plant::Plant) {}", 1, &ROOM);
    trips("model/src/plant/air.rs", "mod tests {\n    use super::super::crank;\n}", 2, &CLIMBING);
    trips("model/src/plant/air.rs", "fn f() { super::super::ecm::f() }", 1, &CLIMBING);
    trips("src/scenario.rs", "use super::*;", 1, &ROOT_ALIAS);
    trips("src/scenario.rs", "use super::{plant::Plant, units};", 1, &ROOM);
}

#[test]
fn holds_super_inside_a_room_passes() {
    passes("src/scenario.rs", "struct Raw;\nmod tests {\n    use super::*;\n    use super::Raw;\n}");
    passes("model/src/plant/mod.rs", "mod tests { fn f() { super::air::step() } }");
    passes("model/src/plant/air.rs", "use super::{crank::Speed, Plant};");
    passes("src/scenario.rs", "use super::bench::Setup;\npub(super) fn f() {}\npub(crate) fn g() {}");
}

#[test]
fn trips_main_reaching_past_cli() {
    trips("src/main.rs", "use idlewright::bench::Bench;", 1, &ROOM);
    trips("src/main.rs", "fn main() { idlewright::session::go() }", 1, &ROOM);
    trips("src/main.rs", "fn main() { idlewright::Bench::new() }", 1, &UNLISTED);
    trips("window/src/main.rs", "fn main() { idlewright::session::go() }", 1, &ROOM);
}

#[test]
fn trips_room_without_a_row() {
    trips("src/helpers.rs", "", 1, &UNLISTED);
    trips("src/bin/other.rs", "", 1, &UNLISTED);
    trips("src/lesson.rs", "use crate::helpers::f;", 1, &UNLISTED);
    trips("src/lesson.rs", "use crate::Plant;", 1, &UNLISTED);
}

#[test]
fn trips_grouped_import_of_rooms() {
    trips("src/lesson.rs", "use crate::{bench::Bench, units::Kelvin};", 1, &GROUPED);
    trips("src/lesson.rs", "use crate::{\n    bench::Bench,\n    plant::Plant,\n};", 3, &ROOM);
    trips("src/main.rs", "use idlewright::{cli};", 1, &GROUPED);
    passes("src/lesson.rs", "use crate::bench::{Bench, view::{Observation, Truth}};");
}

#[test]
fn trips_root_renamed_or_imported_whole() {
    trips("src/lesson.rs", "use crate as c;", 1, &ROOT_ALIAS);
    trips("src/lesson.rs", "use crate::*;", 1, &ROOT_ALIAS);
    trips("src/lesson.rs", "use super as up;", 1, &ROOT_ALIAS);
    passes("src/lesson.rs", "use crate::bench as b;\nuse crate::units::*;");
}

#[test]
fn trips_reexport_across_rooms() {
    trips("src/session.rs", "pub use crate::bench::Bench;", 1, &REEXPORT);
    trips("model/src/bench/view.rs", "pub(crate) use crate::plant::{air::State};", 1, &REEXPORT);
    passes("model/src/bench/mod.rs", "pub use crate::plant::Part;\npub use action::Action;");
    passes("src/lib.rs", "pub use crate::bench::Bench;");
    passes("model/src/plant/mod.rs", "pub use crate::plant::air::Filter;\npub use self::crank::Wheel;");
    passes(
        "src/session.rs",
        "pub fn f() {}\nuse crate::bench::Bench;\npub struct S { pub x: u8 }\nuse crate::link::X;",
    );
}

#[test]
fn trips_hidden_doors() {
    trips("src/lesson.rs", "#[path = \"plant/air.rs\"]\nmod air;", 1, &HIDDEN_DOOR);
    trips("src/lesson.rs", "include!(\"plant/air.rs\");", 1, &HIDDEN_DOOR);
    trips("src/main.rs", "mod plant;", 1, &HIDDEN_DOOR);
    passes("src/store.rs", "const CAR: &str = include_str!(\"../assets/cars/plover.toml\");\nlet path = 1;");
}

#[test]
fn trips_window_libraries_outside_window() {
    for name in ["bevy", "egui", "bevy_egui", "egui_plot", "eframe"] {
        trips("src/cli.rs", &format!("use {name}::prelude::*;"), 1, &DRAWING);
        passes("src/window/mod.rs", &format!("use {name}::prelude::*;"));
    }
    trips("src/session.rs", "\nfn f(ui: &mut ::egui::Ui) {}", 2, &DRAWING);
    trips("window/src/main.rs", "use bevy::prelude::*;", 1, &DRAWING);
}

#[test]
fn trips_sockets_outside_net() {
    trips("src/cli.rs", "use std::net::TcpStream;", 1, &SOCKETS);
    trips("src/session.rs", "use std::{fmt,\n    net::{self, IpAddr}};", 2, &SOCKETS);
    trips("src/session.rs", "fn f() { ::std::net::TcpListener::bind(a); }", 1, &SOCKETS);
    passes("src/net.rs", "use std::net::{TcpListener, TcpStream};");
    passes("src/cli.rs", "use crate::net::serve;");
}

#[test]
fn trips_files_outside_their_rooms() {
    for text in [
        "use std::fs;",
        "use std::{fmt, fs::File};",
        "fn f() { std::fs::read(p); }",
        "fn f() { fs::write(p, b); }",
        "fn f() { File::open(p); }",
        "fn f() { OpenOptions::new(); }",
    ] {
        trips("src/report.rs", text, 1, &FILES);
        trips("model/src/bench/record.rs", text, 1, &FILES);
        for room in MAY_TOUCH_FILES {
            passes(&format!("src/{room}.rs"), text);
        }
    }
    passes("src/scenario.rs", "struct File { act: Vec<Act> }\nfn f(file: &File) { File::default(); }");
}

#[test]
fn trips_clocks_outside_their_rooms() {
    for text in [
        "use std::time::Instant;",
        "use std::time::{Duration, SystemTime};",
        "use std::time::*;",
        "fn f() { std::time::Instant::now(); }",
        "fn f() { time::Instant::now(); }",
        "fn f() { Instant::now(); }",
        "fn f() { SystemTime::now(); }",
    ] {
        trips("model/src/bench/mod.rs", text, 1, &CLOCKS);
        trips("model/src/plant/air.rs", text, 1, &CLOCKS);
        for room in MAY_READ_CLOCKS {
            passes(&format!("src/{room}.rs"), text);
        }
    }
    passes("model/src/bench/mod.rs", "use std::time::Duration;\nstruct Instant(u64);");
}

#[test]
fn trips_sibling_stepping_a_sibling() {
    for text in [
        "fn f() { crate::plant::crank::step(p, s); }",
        "fn f() { super::crank::step(p, s); }",
        "fn f() { crank::step(p, s); }",
        "use super::crank::step;",
        "use super::crank::{State, step as turn};",
        "use super::crank as c; fn f() { c::step(p, s); }",
        "use crate::plant::crank::State; fn f() { State::step(s); }",
        "fn f() { let go = super::crank::step; }",
        "fn f() { super::step(p, s); }",
        "mod tests { fn f() { crate::plant::crank::step(p, s); } }",
    ] {
        trips("model/src/plant/air.rs", text, 1, &SIBLING_STEP);
    }
    trips("model/src/ecm/misfire.rs", "use super::codes;\nfn f() { codes::step(c); }", 2, &SIBLING_STEP);
    trips("model/src/plant/air/throttle.rs", "fn f() { crank::step(p, s); }", 1, &SIBLING_STEP);
}

#[test]
fn holds_steps_from_the_schedule_pass() {
    passes(
        "model/src/plant/mod.rs",
        "mod air;\nmod crank;\nfn f() { air::step(p, s); crate::plant::crank::step(p, s); }",
    );
    passes(
        "model/src/plant/air.rs",
        "fn step() {}\nfn f() { step(); self::step(); crate::plant::air::step(); }",
    );
    passes("model/src/plant/air.rs", "mod tests { use super::*; fn f() { step(); super::step(); } }");
    passes(
        "model/src/plant/air.rs",
        "use super::crank::Speed;\nfn f(s: Speed) { num::step(s); Self::step(s); }",
    );
    passes("model/src/bench/mod.rs", "use crate::plant::air;\nfn f() { air::step(p, s); }");
}

#[test]
fn exact_a_violation_says_where_what_why_and_how_else() {
    let found = check_one("model/src/plant/air.rs", "\n\nuse crate::ecm::Ecm;");
    assert_eq!(found.len(), 1);
    let message = found[0].to_string();
    assert!(message.starts_with("model/src/plant/air.rs:3: `crate::ecm::Ecm`\n    rule: "), "{message}");
    assert!(message.contains(ROOM.says) && message.contains(ROOM.way_out), "{message}");
}
