//! The shape of source files: how long a file and a function may be, and that the files of a room import each other in
//! one direction.
//!
//! *A circle*: a file names another of its room by `crate::room::…`, `super::…` or `self::…`, that one a third, and so
//! on, back to the first. A file and those that it declares (`mod part;`) do not count among themselves: it puts the
//! room together and holds what all of its parts know, so it names them and they name it. Parts of parts count like
//! any others, as soon as they reach a file that is neither above nor below.

use super::architecture::{files_below, from_root, module_of, paths, text_of, tokens};
use std::collections::{BTreeMap, BTreeSet};

/// Lines of code (neither blank nor comment) in one source file: past this, a reader no longer holds it in mind.
const MOST_IN_FILE: usize = 600;
/// The same in one function, from its name to its closing brace.
const MOST_IN_FUNCTION: usize = 100;

type Files = Vec<(String, String)>;

fn sources() -> Files {
    let all =
        ["src", "model/src", "window/src"].into_iter().flat_map(files_below).filter(|p| p.ends_with(".rs"));
    let files: Files =
        all.map(|p| (p.clone(), text_of(&p).unwrap_or_else(|| panic!("{p} is not UTF-8")))).collect();
    assert!(!files.is_empty(), "no source file found: the scan would prove nothing");
    files
}

/// Functions of a source text with their lines of code; one inside another counts for both.
fn functions(text: &str) -> Vec<(String, usize)> {
    let (t, code) = tokens(text);
    let is = |i: usize, what: &str| t.get(i).is_some_and(|k| k.text == what);
    let mut out = Vec::new();
    for i in 0..t.len() {
        if !is(i, "fn") || !t.get(i + 1).is_some_and(|k| k.is_word()) {
            continue;
        }
        // a body begins at the first brace outside of parentheses; a declaration ends before one
        let (mut k, mut deep) = (i + 2, 0_i32);
        while k < t.len() && !(deep == 0 && (is(k, "{") || is(k, ";"))) {
            deep += i32::from(is(k, "(") || is(k, "[")) - i32::from(is(k, ")") || is(k, "]"));
            k += 1;
        }
        if !is(k, "{") {
            continue;
        }
        let mut braces = 0_i32;
        while k < t.len() {
            braces += i32::from(is(k, "{")) - i32::from(is(k, "}"));
            if braces == 0 {
                break;
            }
            k += 1;
        }
        let last = t.get(k).map_or(t[t.len() - 1].line, |end| end.line);
        out.push((t[i + 1].text.clone(), code.range(t[i].line..=last).count()));
    }
    out
}

/// Files that import each other in a circle: each a set of paths.
fn circles(files: &Files) -> Vec<BTreeSet<String>> {
    let modules: BTreeMap<Vec<String>, &str> =
        files.iter().map(|(p, _)| (module_of(p), p.as_str())).collect();
    let above = |a: &[String], b: &[String]| a.len() < b.len() && b.starts_with(a);
    let mut names: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (path, text) in files {
        let module = module_of(path);
        for n in paths(&tokens(text).0) {
            let Some(target) = from_root(&n, &module) else { continue };
            let Some((other, to)) =
                (0..=target.len()).rev().find_map(|k| modules.get_key_value(&target[..k]))
            else {
                continue;
            };
            let apart = *other != module && !above(other, &module) && !above(&module, other);
            if apart && other.first() == module.first() {
                names.entry(path).or_default().insert(to);
            }
        }
    }
    let next = |a: &str| -> Vec<&str> { names.get(a).into_iter().flatten().copied().collect() };
    let reached = |from: &str| -> BTreeSet<&str> {
        let (mut seen, mut open) = (BTreeSet::new(), next(from));
        while let Some(at) = open.pop() {
            if seen.insert(at) {
                open.extend(next(at));
            }
        }
        seen
    };
    let all: BTreeMap<&str, BTreeSet<&str>> = files.iter().map(|(p, _)| (p.as_str(), reached(p))).collect();
    let circle = |p: &&str| -> BTreeSet<String> {
        all[*p].iter().filter(|q| all[*q].contains(*p)).map(|q| (*q).to_owned()).collect()
    };
    let found: BTreeSet<BTreeSet<String>> = all.keys().map(circle).filter(|c| c.len() > 1).collect();
    found.into_iter().collect()
}

#[test]
fn holds_no_source_file_is_too_long() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let lines = tokens(&text).1.len();
        if lines > MOST_IN_FILE {
            wrong.push(format!(
                "{path} has {lines} lines of code, at most {MOST_IN_FILE}: split it by owner of the idea"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn holds_no_function_is_too_long() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        for (name, lines) in functions(&text) {
            if lines > MOST_IN_FUNCTION {
                wrong.push(format!(
                    "{name} in {path} has {lines} lines of code, at most {MOST_IN_FUNCTION}: name its parts"
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn holds_files_of_a_room_import_in_one_direction() {
    let found: Vec<String> = circles(&sources()).iter().map(|c| format!("{c:?}")).collect();
    let way_out = "move what both need into a file that names neither, or let the parent hand it down";
    assert!(found.is_empty(), "circles of imports:\n{}\nway out: {way_out}", found.join("\n"));
}

fn of(files: &[(&str, &str)]) -> Vec<BTreeSet<String>> {
    circles(&files.iter().map(|(p, t)| ((*p).to_owned(), (*t).to_owned())).collect())
}

#[test]
fn trips_circles_of_imports() {
    let (a, b, c) = ("src/report/a.rs", "src/report/b.rs", "src/report/c.rs");
    let room = ("src/report.rs", "mod a;\nmod b;\nmod c;");
    let two = of(&[room, (a, "use super::b::B;"), (b, "fn f() { crate::report::a::g() }")]);
    assert_eq!(two, [BTreeSet::from([a.to_owned(), b.to_owned()])]);
    let three = [room, (a, "use super::b::B;"), (b, "use super::c::{C, D};"), (c, "use crate::report::a;")];
    assert_eq!(of(&three)[0].len(), 3);
    // a part of a part
    let part = ("src/report/a/inner.rs", "use crate::report::b::B;");
    let inner = of(&[room, (a, "mod inner;"), part, (b, "use super::a::inner::f;")]);
    assert_eq!(inner[0].len(), 2);
}

#[test]
fn holds_one_direction_and_a_parent_that_puts_a_room_together_pass() {
    let (a, b) = ("src/report/a.rs", "src/report/b.rs");
    let parent = ("src/report.rs", "mod a;\nmod b;\nuse self::a::A;\nfn f() { a::f(); self::b::g() }");
    let found =
        of(&[parent, (a, "use super::{Sheet, b::B};"), (b, "use super::Sheet;\nuse crate::bench::Bench;")]);
    assert!(found.is_empty(), "{found:?}");
    // rooms have a table of their own
    assert!(of(&[("src/x.rs", "use crate::y::Y;"), ("src/y.rs", "use crate::x::X;")]).is_empty());
}

#[test]
fn exact_lines_of_functions() {
    let text = "fn a() {\n    // why\n\n    b();\n}\ntrait T {\n    fn d(&self);\n}\nfn c(x: fn(u8) -> u8) -> [u8; 2] { x(1) }\n";
    assert_eq!(functions(text), [("a".to_owned(), 3), ("c".to_owned(), 1)]);
}
