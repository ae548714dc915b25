//! A number of a scenario's start or acts that is set from outside the file: what a sweep varies.
//!
//! *Inside*: finding the place of a number in a file's tree by its dot path, and putting another one there. *Outside*:
//! whether the number is allowed (the tree is read afterwards as if the author had written it), which numbers are
//! tried.
//!
//! A segment is a key of a table. In a list of tables it selects the one that is called so by its `part`, `sensor`, `id`,
//! `name` or `drive`; `cylinderN` and `bankN` select among several of one kind. A whole number is the place in a list,
//! from 0. A key that the file leaves out is added, and so is a part or a sensor that the file does not list.
//!
//! **Checked by** `tests/attempts/sweep.rs`.

use crate::scenario::Mistake;
use crate::scenario::source::{Raws, nearest, shown};
use std::borrow::Cow;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

/// A number that replaces one of a scenario's file, or is added to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Over {
    path: String,
    text: String,
}

impl Over {
    /// The number for a path; it must be finite.
    pub fn new(path: &str, value: f64) -> Self {
        Self { path: path.to_owned(), text: value.to_string() }
    }
    /// The path.
    pub fn path(&self) -> &str {
        &self.path
    }
}

/// The broken rule and the nearest valid path.
pub(super) type NoPlace = (Box<Mistake>, Option<String>);

/// Tables of a file that may be changed.
const OPEN: [&str; 2] = ["setup", "act"];
/// Lists of tables to which one is added if none is called so: a part or a sensor that is not listed is sound.
const GROWS: [&str; 2] = ["part", "sensor"];
/// A list that is not begun for a number: what else its tables hold only the author knows.
const STAYS: &str = "conditioning";
/// Keys by which a table of a list is called.
const CALLED: [&str; 5] = ["part", "sensor", "id", "name", "drive"];
/// Keys by whose number a table of a list is told from others of its kind.
const COUNTED: [&str; 2] = ["cylinder", "bank"];

/// Puts the number into the tree, and takes away what the author wrote there.
pub(super) fn put<'a>(tree: &mut DeTable<'a>, over: &'a Over, raws: &mut Raws) -> Result<(), NoPlace> {
    let segments: Vec<&'a str> = over.path.split('.').collect();
    let first = segments.first().copied().unwrap_or_default();
    let mut put = Put { over, raws };
    if !OPEN.contains(&first) {
        let help = nearest(first, &OPEN).map(|word| put.with(first, &word));
        return Err((put.nothing(), help));
    }
    if segments.iter().any(|s| s.is_empty()) {
        return Err((put.nothing(), None));
    }
    put.table(tree, &segments)
}

struct Put<'a, 'r> {
    over: &'a Over,
    raws: &'r mut Raws,
}

impl<'a> Put<'a, '_> {
    fn nothing(&self) -> Box<Mistake> {
        Mistake::NoPath { given: shown(&self.over.path) }.into()
    }
    fn group(&self) -> Box<Mistake> {
        Mistake::PathToGroup { given: shown(&self.over.path) }.into()
    }
    /// The path with one of its words replaced.
    fn with(&self, word: &str, by: &str) -> String {
        self.over.path.split('.').map(|s| if s == word { by } else { s }).collect::<Vec<_>>().join(".")
    }
    fn value(&self) -> DeValue<'a> {
        match DeValue::parse(&self.over.text) {
            Ok(value) => value.into_inner(),
            // what is no number is refused where the value is read
            Err(_) => DeValue::String(Cow::Borrowed(self.over.text.as_str())),
        }
    }
    fn replace(&mut self, old: &mut Spanned<DeValue<'a>>) -> Result<(), NoPlace> {
        if matches!(old.get_ref(), DeValue::Table(_) | DeValue::Array(_)) {
            return Err((self.group(), None));
        }
        self.raws.remove(&old.span().start);
        *old = Spanned::new(old.span(), self.value());
        Ok(())
    }

    fn table(&mut self, map: &mut DeTable<'a>, rest: &[&'a str]) -> Result<(), NoPlace> {
        let Some((key, below)) = rest.split_first() else { return Err((self.group(), None)) };
        if !map.contains_key(*key) {
            let fresh = match below {
                [] => self.value(),
                _ if *key == STAYS => return Err((self.nothing(), None)),
                _ if GROWS.contains(key) => DeValue::Array(DeArray::new()),
                _ => DeValue::Table(DeTable::new()),
            };
            insert(map, key, fresh);
            if below.is_empty() {
                return Ok(());
            }
        }
        let Some(there) = map.get_mut(*key) else { return Err((self.nothing(), None)) };
        match there.get_mut() {
            _ if below.is_empty() => self.replace(there),
            DeValue::Table(map) => self.table(map, below),
            DeValue::Array(list) => self.list(list, key, below),
            _ => Err((self.nothing(), None)),
        }
    }

    fn list(&mut self, list: &mut DeArray<'a>, of: &'a str, rest: &[&'a str]) -> Result<(), NoPlace> {
        let mut left: Vec<usize> = (0..list.len()).collect();
        let mut taken = 0;
        for word in rest {
            let called: Vec<usize> =
                left.iter().copied().filter(|k| is_called(&list[*k], *k, word)).collect();
            if called.is_empty() && (taken == 0 || counted(word).is_none()) {
                break;
            }
            left = called;
            taken += 1;
        }
        let words = &rest[..taken.max(1).min(rest.len())];
        match (taken, left.as_slice()) {
            (0, _) | (_, []) if GROWS.contains(&of) => self.grow(list, of, rest),
            (0, _) | (_, []) => {
                let names: Vec<String> = list.iter().filter_map(|e| name_of(e).map(str::to_owned)).collect();
                let word = words.first().copied().unwrap_or_default();
                Err((self.nothing(), nearest(word, &names).map(|by| self.with(word, &by))))
            }
            (_, [one]) => {
                let one = *one;
                match (list.get_mut(one), &rest[taken..]) {
                    (Some(there), []) => self.replace(there),
                    (Some(there), below) => match there.get_mut() {
                        DeValue::Table(map) => self.table(map, below),
                        _ => Err((self.nothing(), None)),
                    },
                    (None, _) => Err((self.nothing(), None)),
                }
            }
            // several of one kind: the path with what tells the first of them from the others
            (_, [first, ..]) => {
                let which =
                    COUNTED.iter().find_map(|key| Some(format!("{key}{}", number_of(&list[*first], key)?)));
                let word = words.last().copied().unwrap_or_default();
                Err((self.group(), which.map(|which| self.with(word, &format!("{word}.{which}")))))
            }
        }
    }

    /// Adds a table to a list: what it is called, which one of its kind it is, and the number.
    fn grow(&mut self, list: &mut DeArray<'a>, of: &'a str, rest: &[&'a str]) -> Result<(), NoPlace> {
        let Some((name, mut rest)) = rest.split_first() else { return Err((self.group(), None)) };
        let mut map = DeTable::new();
        insert(&mut map, of, DeValue::String(Cow::Borrowed(name)));
        while let Some((word, below)) = rest.split_first() {
            let Some((key, digits)) = counted(word) else { break };
            insert(
                &mut map,
                key,
                DeValue::parse(digits).map_or(DeValue::Boolean(false), Spanned::into_inner),
            );
            rest = below;
        }
        self.table(&mut map, rest)?;
        list.push(Spanned::new(0..0, DeValue::Table(map)));
        Ok(())
    }
}

/// Adds a key; it has no place in the file.
fn insert<'a>(map: &mut DeTable<'a>, key: &'a str, value: DeValue<'a>) {
    map.insert(Spanned::new(0..0, Cow::Borrowed(key)), Spanned::new(0..0, value));
}

/// The key and the digits of a word such as `cylinder3`.
fn counted(word: &str) -> Option<(&'static str, &str)> {
    COUNTED.iter().find_map(|key| {
        let digits = word.strip_prefix(key)?;
        let plain = digits.len() < 4 && digits.starts_with(|c| matches!(c, '1'..='9'));
        (plain && digits.bytes().all(|b| b.is_ascii_digit())).then_some((*key, digits))
    })
}

fn name_of<'e>(element: &'e Spanned<DeValue<'_>>) -> Option<&'e str> {
    let DeValue::Table(map) = element.get_ref() else { return None };
    CALLED.iter().find_map(|key| map.get(*key)?.get_ref().as_str())
}

fn number_of<'e>(element: &'e Spanned<DeValue<'_>>, key: &str) -> Option<&'e str> {
    let DeValue::Table(map) = element.get_ref() else { return None };
    map.get(key)?.get_ref().as_integer().map(|n| n.as_str())
}

/// Whether a word selects this element of a list.
fn is_called(element: &Spanned<DeValue<'_>>, index: usize, word: &str) -> bool {
    if word == index.to_string() {
        return true;
    }
    let DeValue::Table(map) = element.get_ref() else { return false };
    CALLED.iter().any(|key| map.get(*key).and_then(|v| v.get_ref().as_str()) == Some(word))
        || counted(word).is_some_and(|(key, digits)| number_of(element, key) == Some(digits))
}
