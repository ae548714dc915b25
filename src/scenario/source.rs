//! A file's text as tables, keys and values that know where they stand, and the wording of what is wrong
//! with one of them.
//!
//! *Inside*: TOML and its errors in plain words, places, single values. *Outside*: which keys there are
//! (`read`).

use crate::scenario::{MAX_BYTES, Place, ScenarioError};
use crate::units::Range;
use std::collections::BTreeMap;
use toml::de::{DeTable, DeValue};

/// Strings as the author wrote them, by the byte where they begin: those with a name in them.
pub(super) type Raws = BTreeMap<usize, String>;

/// What a check gives.
pub(super) type Checked<T> = Result<T, ScenarioError>;

/// Longest id, serial or name of a car \[characters\].
pub(super) const MAX_WORD: usize = 64;

/// Letters and digits of the plain alphabet and `-`, on demand `_`; neither empty nor very long.
pub(crate) fn is_word(text: &str, underscore: bool) -> bool {
    let good = |c: char| c.is_ascii_alphanumeric() || c == '-' || (underscore && c == '_');
    !text.is_empty() && text.len() <= MAX_WORD && text.chars().all(good)
}

/// A word of the file in quotes, made short and harmless for one line.
pub(super) fn shown(text: &str) -> String {
    let mut out = String::from("\"");
    let mut chars = text.chars();
    chars.by_ref().take(60).for_each(|c| match c {
        '"' => out.push(c),
        c => out.extend(c.escape_debug()),
    });
    out.push_str(if chars.next().is_some() { "…\"" } else { "\"" });
    out
}

/// The nearest of the valid words, if one is near.
pub fn nearest<S: AsRef<str>>(word: &str, valid: &[S]) -> Option<String> {
    if word.len() > 2 * MAX_WORD {
        return None;
    }
    let word = word.to_lowercase();
    let (mut best, mut least) = (None, usize::MAX);
    for candidate in valid.iter().map(S::as_ref) {
        let distance = strsim::damerau_levenshtein(&word, &candidate.to_lowercase());
        let longer = word.chars().count().max(candidate.chars().count());
        if distance < least && 2 * distance <= longer {
            (best, least) = (Some(candidate.to_owned()), distance);
        }
    }
    best
}

/// `a, b or c`; numbered names in a row as `a_1 to a_8`.
fn listing<S: AsRef<str>>(words: &[S]) -> String {
    let mut groups: Vec<(&str, &str, &str)> = Vec::new();
    for word in words.iter().map(S::as_ref) {
        let stem = word.trim_end_matches(|c: char| c.is_ascii_digit());
        match groups.last_mut() {
            Some((last_stem, _, to)) if *last_stem == stem && stem != word => *to = word,
            _ => groups.push((stem, word, word)),
        }
    }
    let text = |(_, from, to): &(&str, &str, &str)| {
        if from == to { format!("\"{from}\"") } else { format!("\"{from}\" to \"{to}\"") }
    };
    let all: Vec<String> = groups.iter().map(text).collect();
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => all.concat(),
    }
}

fn check_size(bytes: usize, file: &str) -> Checked<()> {
    if bytes <= MAX_BYTES {
        return Ok(());
    }
    Err(ScenarioError {
        file: file.to_owned(),
        line: 1,
        column: 1,
        rule: format!("a file must be no larger than {MAX_BYTES} bytes ({bytes} given)"),
        help: None,
    })
}

pub(super) fn utf8<'b>(bytes: &'b [u8], file: &str) -> Checked<&'b str> {
    check_size(bytes.len(), file)?;
    std::str::from_utf8(bytes).map_err(|error| {
        let good = std::str::from_utf8(&bytes[..error.valid_up_to()]).unwrap_or_default();
        let rule = "a file must be text in UTF-8, and this character is not";
        Source::unchecked(good, file).error(good.len(), rule)
    })
}

/// Text with its name.
pub(super) struct Source<'a> {
    text: &'a str,
    file: &'a str,
    /// Where each line starts \[byte\].
    lines: Vec<usize>,
    /// Strings with names in them, as they were written.
    pub(super) raws: Raws,
}

impl<'a> Source<'a> {
    pub(super) fn new(text: &'a str, file: &'a str) -> Checked<Self> {
        check_size(text.len(), file)?;
        Ok(Self::unchecked(text, file))
    }
    pub(super) fn unchecked(text: &'a str, file: &'a str) -> Self {
        let starts = text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(at, _)| at + 1);
        Self { text, file, lines: std::iter::once(0).chain(starts).collect(), raws: Raws::new() }
    }
    /// Where the first byte of a decoded text stands, and whether it is written without escapes; else where the
    /// value stands.
    pub(super) fn inside(&self, span: &std::ops::Range<usize>, decoded: &str) -> (usize, bool) {
        let written = self.text.get(span.start + 1..span.end.saturating_sub(1));
        if written == Some(decoded) { (span.start + 1, true) } else { (span.start, false) }
    }
    /// Line and column of a byte; one beyond the end counts as the end.
    pub(super) fn place(&self, at: usize) -> Place {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let line = self.lines.partition_point(|start| *start <= at);
        let before = &self.text[self.lines[line - 1]..at];
        Place { line, column: 1 + before.trim_start_matches('\u{feff}').chars().count() }
    }
    pub(super) fn error(&self, at: usize, rule: impl Into<String>) -> ScenarioError {
        let Place { line, column } = self.place(at);
        ScenarioError { file: self.file.to_owned(), line, column, rule: rule.into(), help: None }
    }
    pub(super) fn tree(&self) -> Checked<DeTable<'a>> {
        DeTable::parse(self.text).map(toml::Spanned::into_inner).map_err(|error| {
            let start = error.span().map_or(0, |span| span.start);
            self.error(start, error.message().replace(['\n', '\r'], " "))
        })
    }
}

/// One table of the file.
pub(super) struct Tab<'a> {
    pub(super) source: &'a Source<'a>,
    pub(super) name: &'a str,
    pub(super) at: usize,
    pub(super) items: Vec<Item<'a>>,
}

/// One key of the file with its value.
#[derive(Clone, Copy)]
pub(super) struct Item<'a> {
    pub(super) source: &'a Source<'a>,
    pub(super) key: &'a str,
    pub(super) key_at: usize,
    pub(super) at: usize,
    pub(super) end: usize,
    pub(super) value: &'a DeValue<'a>,
}

impl<'a> Tab<'a> {
    pub(super) fn new(source: &'a Source<'a>, name: &'a str, at: usize, map: &'a DeTable<'a>) -> Self {
        let item = |(key, value): (&'a toml::Spanned<_>, &'a toml::Spanned<DeValue<'a>>)| {
            let (key_at, span) = (key.span().start, value.span());
            let key: &'a std::borrow::Cow<'a, str> = key.get_ref();
            Item { source, key, key_at, at: span.start, end: span.end, value: value.get_ref() }
        };
        let mut items: Vec<_> = map.iter().map(item).collect();
        items.sort_by_key(|item| item.key_at);
        Self { source, name, at, items }
    }
    pub(super) fn top(source: &'a Source<'a>, map: &'a DeTable<'a>) -> Self {
        Self::new(source, "the file", 0, map)
    }
    pub(super) fn fail<T>(&self, rule: String) -> Checked<T> {
        Err(self.source.error(self.at, rule))
    }
    /// Some string in it or below it had a name filled in.
    pub(super) fn drawn(&self) -> bool {
        fn any(raws: &Raws, at: usize, value: &DeValue<'_>) -> bool {
            match value {
                DeValue::Array(list) => list.iter().any(|v| any(raws, v.span().start, v.get_ref())),
                DeValue::Table(map) => map.iter().any(|(_, v)| any(raws, v.span().start, v.get_ref())),
                _ => raws.contains_key(&at),
            }
        }
        self.items.iter().any(|item| any(&self.source.raws, item.at, item.value))
    }
    pub(super) fn get(&self, key: &str) -> Option<Item<'a>> {
        self.items.iter().find(|item| item.key == key).copied()
    }
    pub(super) fn need(&self, key: &str) -> Checked<Item<'a>> {
        self.get(key).map_or_else(|| self.fail(format!("{} needs the key {}", self.name, shown(key))), Ok)
    }
    /// Refuses every key but these.
    pub(super) fn only(&self, keys: &[&str]) -> Checked<()> {
        let Some(item) = self.items.iter().find(|item| !keys.contains(&item.key)) else { return Ok(()) };
        let help = nearest(item.key, keys);
        let mut rule = format!("{} has no key {}", self.name, shown(item.key));
        if help.is_none() {
            rule.push_str(&format!("; its keys are {}", keys.join(", ")));
        }
        Err(ScenarioError { help, ..self.source.error(item.key_at, rule) })
    }
    /// Refuses these keys, which are valid elsewhere.
    pub(super) fn refuse(&self, keys: &[&str], because: &str) -> Checked<()> {
        match self.items.iter().find(|item| keys.contains(&item.key)) {
            Some(item) => item.refuse(format!("{} {because}", item.key)),
            None => Ok(()),
        }
    }
    /// The one key of these that must be there.
    pub(super) fn one_of(&self, keys: &[&str], what: &str) -> Checked<Item<'a>> {
        let mut there = self.items.iter().filter(|item| keys.contains(&item.key));
        match (there.next(), there.next()) {
            (Some(item), None) => Ok(*item),
            (Some(first), Some(second)) => second.refuse(format!(
                "{} takes just {what}: {} and {} do not go together",
                self.name, first.key, second.key
            )),
            (None, _) => self.fail(format!("{} needs {what}: one of {}", self.name, keys.join(", "))),
        }
    }
    /// A number that may be left out.
    pub(super) fn range(&self, key: &str, range: &Range) -> Checked<Option<f64>> {
        self.get(key).map(|item| item.within(range)).transpose()
    }
    /// A list of tables, empty if it is left out.
    pub(super) fn tables(&self, key: &str, name: &'a str, most: usize) -> Checked<Vec<Tab<'a>>> {
        let Some(item) = self.get(key) else { return Ok(Vec::new()) };
        if matches!(item.value, DeValue::Table(_)) {
            return item.refuse(format!("{key} must be written {name}, with two brackets on each side"));
        }
        let list = item.list()?;
        if let Some(beyond) = list.get(most) {
            return beyond.fail(format!("there must be no more than {most} {name} ({} given)", list.len()));
        }
        list.iter().map(|element| element.table(name)).collect()
    }
}

impl<'a> Item<'a> {
    /// An error at the value.
    pub(super) fn fail<T>(&self, rule: String) -> Checked<T> {
        Err(self.source.error(self.at, rule))
    }
    /// An error at the key.
    pub(super) fn refuse<T>(&self, rule: String) -> Checked<T> {
        Err(self.source.error(self.key_at, rule.replace(['\n', '\r'], " ")))
    }
    pub(super) fn wrong<T>(&self, wanted: &str) -> Checked<T> {
        let given = match self.value {
            DeValue::String(_) => "text in quotes",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.fail(format!("{} must be {wanted}, but {given} is given", self.key))
    }
    /// Where a byte of the decoded text stands, if the text is written without escapes; else its start.
    pub(super) fn inside(&self, offset: usize) -> usize {
        let Some(decoded) = self.value.as_str() else { return self.at };
        match self.source.inside(&(self.at..self.end), decoded) {
            (start, true) => start + offset,
            (start, false) => start,
        }
    }
    /// The text as it was written, if a name was filled in.
    pub(super) fn raw(&self) -> Option<&'a str> {
        self.source.raws.get(&self.at).map(String::as_str)
    }
    pub(super) fn text(&self) -> Checked<&'a str> {
        match self.value {
            DeValue::String(text) => Ok(text),
            _ => self.wrong("text in quotes"),
        }
    }
    /// Text for people: not empty, without control characters, on demand in several lines.
    pub(super) fn prose(&self, lines: bool) -> Checked<String> {
        let text = self.text()?;
        if text.trim().is_empty() {
            return self.fail(format!("{} must not be empty", self.key));
        }
        if text.chars().any(|c| c.is_control() && !(lines && ['\n', '\r', '\t'].contains(&c))) {
            let and_lines = if lines { "" } else { " or line breaks" };
            return self.fail(format!("{} must hold no control characters{and_lines}", self.key));
        }
        Ok(text.to_owned())
    }
    pub(super) fn word(&self, underscore: bool) -> Checked<String> {
        let text = self.text()?;
        if is_word(text, underscore) {
            return Ok(text.to_owned());
        }
        let signs = if underscore {
            "unaccented letters, digits, - and _"
        } else {
            "unaccented letters, digits and -"
        };
        let key = self.key;
        self.fail(format!("{key} must be 1 to {MAX_WORD} {signs} ({} given)", shown(text)))
    }
    /// A word, or two as an action file is named: the scenario's and its own.
    pub(super) fn name(&self) -> Checked<String> {
        match self.text()?.split_once('/') {
            Some((of, own)) if is_word(of, false) && is_word(own, false) => Ok(format!("{of}/{own}")),
            _ => self.word(false),
        }
    }
    pub(super) fn choice<S: AsRef<str>, T: Clone>(&self, choices: &[(S, T)]) -> Checked<T> {
        let words: Vec<&str> = choices.iter().map(|(word, _)| word.as_ref()).collect();
        let DeValue::String(text) = self.value else { return self.wrong(&listing(&words)) };
        if let Some((_, value)) = choices.iter().find(|(word, _)| word.as_ref() == text) {
            return Ok(value.clone());
        }
        let rule = format!("{} must be {} ({} given)", self.key, listing(&words), shown(text));
        Err(ScenarioError { help: nearest(text, &words), ..self.source.error(self.at, rule) })
    }
    pub(super) fn flag(&self) -> Checked<bool> {
        match self.value {
            DeValue::Boolean(flag) => Ok(*flag),
            _ => self.wrong("true or false, without quotes"),
        }
    }
    pub(super) fn number(&self) -> Checked<f64> {
        self.number_or("a number")
    }
    pub(super) fn number_or(&self, wanted: &str) -> Checked<f64> {
        let number = match self.value {
            DeValue::Integer(n) => {
                i128::from_str_radix(n.as_str(), n.radix()).map_or(f64::INFINITY, |n| n as f64)
            }
            DeValue::Float(x) => x.as_str().parse().unwrap_or(f64::NAN),
            _ => return self.wrong(wanted),
        };
        if !number.is_finite() {
            return self.fail(format!("{} must be a finite number", self.key));
        }
        // No negative zero: it would be other bytes in a record.
        Ok(number + 0.0)
    }
    pub(super) fn within(&self, range: &Range) -> Checked<f64> {
        let number = self.number()?;
        range.check(number).or_else(|rule| self.fail(format!("{}: {}", self.key, rule.replace("  ", " "))))
    }
    /// A small whole number.
    pub(super) fn count(&self, low: u8, high: u8) -> Checked<u8> {
        let number = self.number()?;
        if number.fract() == 0.0 && number >= f64::from(low) && number <= f64::from(high) {
            return Ok(number as u8);
        }
        self.fail(format!("{} must be a whole number from {low} to {high} ({number} given)", self.key))
    }
    pub(super) fn whole(&self, range: &Range) -> Checked<u32> {
        let number = self.within(range)?;
        if number.fract() == 0.0 {
            return Ok(number as u32);
        }
        self.fail(format!("{} must be a whole number ({number} given)", self.key))
    }
    pub(super) fn seed(&self) -> Checked<u64> {
        let DeValue::Integer(n) = self.value else { return self.wrong("a whole number without a point") };
        match u64::from_str_radix(n.as_str(), n.radix()) {
            Ok(seed) => Ok(seed),
            Err(_) => self.fail(format!("{} must be a whole number from 0 to {}", self.key, u64::MAX)),
        }
    }
    pub(super) fn list(&self) -> Checked<Vec<Item<'a>>> {
        let DeValue::Array(list) = self.value else { return self.wrong("a list") };
        let element = |value: &'a toml::Spanned<DeValue<'a>>| {
            let span = value.span();
            Item { at: span.start, end: span.end, value: value.get_ref(), key_at: span.start, ..*self }
        };
        Ok(list.iter().map(element).collect())
    }
    pub(super) fn table(&self, name: &'a str) -> Checked<Tab<'a>> {
        match self.value {
            DeValue::Table(map) => Ok(Tab::new(self.source, name, self.at, map)),
            DeValue::Array(_) => self.refuse(format!("{} must be written {name}, one table only", self.key)),
            _ if name.starts_with('[') => self.wrong(&format!("a table {name}")),
            _ => self.wrong("a group { key = value, ... }"),
        }
    }
}
