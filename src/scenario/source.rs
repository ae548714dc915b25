//! A file's text as tables, keys and values that know their places, and the mistakes that a single one can contain.
//!
//! *Inside*: TOML and its errors, places, single values. *Outside*: which keys exist (`read`).

use crate::scenario::{MAX_BYTES, Mistake, Place, ScenarioError, Type};
use crate::units::Range;
use std::collections::BTreeMap;
use toml::de::{DeTable, DeValue};

/// Strings that contain a name, as the author wrote them, by their first byte.
pub(super) type Raws = BTreeMap<usize, String>;

/// The result of a check.
pub(super) type Checked<T> = Result<T, ScenarioError>;

/// Longest id, serial or name of a car \[characters\].
pub(super) const MAX_WORD: usize = 64;

/// True for letters and digits of the basic alphabet and `-`, optionally `_`; neither empty nor very long.
pub(crate) fn is_word(text: &str, underscore: bool) -> bool {
    let good = |c: char| c.is_ascii_alphanumeric() || c == '-' || (underscore && c == '_');
    !text.is_empty() && text.len() <= MAX_WORD && text.chars().all(good)
}

/// A word of the file in quotes, shortened and made safe for one line.
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

/// Words of the trade for something that files call by another one.
const MEANT: &[(&str, &str)] = &[
    ("replace", "fit"),
    ("renew", "fit"),
    ("install", "fit"),
    ("disconnect", "unplug"),
    ("connect", "plug"),
    ("reconnect", "plug"),
    ("start", "crank"),
    ("run", "on"),
    ("ignition", "key"),
    ("scan", "service"),
    ("request", "service"),
    ("test", "measure"),
    ("read_dtcs", "read_codes"),
    ("read_faults", "read_codes"),
    ("erase_codes", "clear_codes"),
    ("delete_codes", "clear_codes"),
    ("multimeter", "voltmeter"),
    ("oscilloscope", "scope"),
    ("current_clamp", "ampere_clamp"),
    ("gas_analyser", "gas_reading"),
    ("exhaust_gas_analyser", "gas_reading"),
    ("vacuum", "vacuum_gauge"),
    ("=>", ">="),
    ("=<", "<="),
];

/// The nearest of the valid words, if any is near or means the same.
pub fn nearest<S: AsRef<str>>(word: &str, valid: &[S]) -> Option<String> {
    if word.len() > 2 * MAX_WORD {
        return None;
    }
    let word = word.to_lowercase();
    let meant = |(other, ours): &&(&str, &str)| *other == word && valid.iter().any(|v| v.as_ref() == *ours);
    if let Some((_, ours)) = MEANT.iter().find(meant) {
        return Some((*ours).to_owned());
    }
    let (mut best, mut least) = (None, usize::MAX);
    for candidate in valid.iter().map(S::as_ref) {
        let distance = strsim::damerau_levenshtein(&word, &candidate.to_lowercase());
        let longer = word.chars().count().max(candidate.chars().count());
        if distance < least && 2 * distance < longer {
            (best, least) = (Some(candidate.to_owned()), distance);
        }
    }
    // a unit spelt out, such as `….volts` for `….v`, is farther off in letters than many another word
    let spelt_out = |c: &&str| match (c.rsplit_once('.'), word.rsplit_once('.')) {
        (Some((head, unit)), Some((same, last))) => {
            head == same && !unit.is_empty() && last.starts_with(unit)
        }
        _ => false,
    };
    if least > 2
        && let Some(unit) = valid.iter().map(S::as_ref).find(spelt_out)
    {
        return Some(unit.to_owned());
    }
    // a word that is only begun
    let begun =
        || valid.iter().map(S::as_ref).find(|c| c.to_lowercase().starts_with(&word)).map(str::to_owned);
    best.or_else(|| if word.chars().count() >= 3 { begun() } else { None })
}

/// Quotes that a word processor puts in place of straight ones.
const CURLY: [char; 5] = ['“', '”', '„', '‘', '’'];

/// Copies of these words, for a mistake.
pub(super) fn owned<S: AsRef<str>>(words: &[S]) -> Vec<String> {
    words.iter().map(|w| w.as_ref().to_owned()).collect()
}

fn check_size(bytes: usize, file: &str) -> Checked<()> {
    if bytes <= MAX_BYTES {
        return Ok(());
    }
    let mistake = Mistake::TooLarge { most: MAX_BYTES, given: bytes };
    Err(ScenarioError::at(file, Place { line: 1, column: 1 }, mistake, None))
}

pub(super) fn utf8<'b>(bytes: &'b [u8], file: &str) -> Checked<&'b str> {
    check_size(bytes.len(), file)?;
    std::str::from_utf8(bytes).map_err(|error| {
        let good = std::str::from_utf8(&bytes[..error.valid_up_to()]).unwrap_or_default();
        Source::unchecked(good, file).error(good.len(), Mistake::NotUtf8)
    })
}

/// A file's text with its name.
pub(super) struct Source<'a> {
    text: &'a str,
    file: &'a str,
    /// Where each line starts \[byte\].
    lines: Vec<usize>,
    /// Strings that contain names, as they were written.
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
    /// Place of a decoded text's first byte, and whether the text is written without escapes; otherwise the place of
    /// the value.
    pub(super) fn inside(&self, span: &std::ops::Range<usize>, decoded: &str) -> (usize, bool) {
        let written = self.text.get(span.start + 1..span.end.saturating_sub(1));
        if written == Some(decoded) { (span.start + 1, true) } else { (span.start, false) }
    }
    /// Line and column of a byte; a byte beyond the end counts as the end.
    pub(super) fn place(&self, at: usize) -> Place {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let line = self.lines.partition_point(|start| *start <= at);
        let before = &self.text[self.lines[line - 1]..at];
        Place { line, column: 1 + before.trim_start_matches('\u{feff}').chars().count() }
    }
    pub(super) fn error(&self, at: usize, mistake: Mistake) -> ScenarioError {
        ScenarioError::at(self.file, self.place(at), mistake, None)
    }
    /// The same error with the nearest valid word, if any is near.
    pub(super) fn near(&self, at: usize, mistake: Mistake, help: Option<String>) -> ScenarioError {
        ScenarioError { help, ..self.error(at, mistake) }
    }
    pub(super) fn missing(&self, table: &str) -> ScenarioError {
        self.error(0, Mistake::MissingTable { table: table.to_owned() })
    }
    /// Start of the line at which the TOML parser first finds a mistake for which it gives no place, such as a key
    /// with too many parts.
    fn first_unplaced(&self) -> usize {
        let unplaced = |text: &str| DeTable::parse(text).is_err_and(|error| error.span().is_none());
        let after = self.lines.partition_point(|start| !unplaced(&self.text[..*start]));
        self.lines[after.saturating_sub(1)]
    }
    pub(super) fn tree(&self) -> Checked<DeTable<'a>> {
        DeTable::parse(self.text).map(toml::Spanned::into_inner).map_err(|error| {
            let start = error.span().map_or_else(|| self.first_unplaced(), |span| span.start);
            let says = error.message().replace(['\n', '\r'], " ");
            self.near(start, Mistake::NotToml { says }, self.meant(start))
        })
    }
    /// The value on the line of a mistake as it was meant, if it is a word or a name of `[[vary]]` without its quotes or
    /// between a word processor's, or a number with a decimal comma.
    fn meant(&self, at: usize) -> Option<String> {
        let line = self.lines.partition_point(|start| *start <= at);
        let text = self.text[self.lines[line - 1]..].lines().next()?;
        let (_, value) = text.split_once('=')?;
        let value = value.split('#').next()?.trim();
        let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        if let Some((whole, rest)) = value.split_once(',')
            && digits(whole.trim_start_matches(['+', '-']))
            && digits(rest)
        {
            return Some(format!("{whole}.{rest}"));
        }
        if value.starts_with(CURLY) {
            return Some(value.replace(CURLY, "\""));
        }
        let word = value.strip_prefix('{').and_then(|v| v.strip_suffix('}')).unwrap_or(value);
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.');
        // words of TOML itself lack no quotes
        let own = ["true", "false", "inf", "nan"].iter().any(|own| word.eq_ignore_ascii_case(own));
        let is_word = word.starts_with(|c: char| c.is_ascii_alphabetic()) && word.chars().all(plain);
        (is_word && !own).then(|| value.to_owned())
    }
}

/// One table of the file.
pub(super) struct Tab<'a> {
    pub(super) source: &'a Source<'a>,
    /// As it is written in the file; empty for the top level of the file.
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
        Self::new(source, "", 0, map)
    }
    pub(super) fn fail<T>(&self, mistake: Mistake) -> Checked<T> {
        Err(self.source.error(self.at, mistake))
    }
    /// True if a name was filled into a string in it or below it.
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
        let missing = || Mistake::MissingKey { table: self.name.to_owned(), key: key.to_owned() };
        self.get(key).map_or_else(|| self.fail(missing()), Ok)
    }
    /// One of these words under a key that may not be omitted.
    pub(super) fn need_choice<S: AsRef<str>, T: Clone>(&self, key: &str, choices: &[(S, T)]) -> Checked<T> {
        let Some(item) = self.get(key) else {
            let one_of = choices.iter().map(|(word, _)| word.as_ref().to_owned()).collect();
            return self.fail(Mistake::MissingChoice {
                table: self.name.to_owned(),
                key: key.to_owned(),
                one_of,
            });
        };
        item.choice(choices)
    }
    /// Refuses every key but these.
    pub(super) fn only(&self, keys: &[&str]) -> Checked<()> {
        let Some(item) = self.items.iter().find(|item| !keys.contains(&item.key)) else { return Ok(()) };
        let help = nearest(item.key, keys);
        let (table, key) = (self.name.to_owned(), shown(item.key));
        let mistake = match help {
            Some(_) => Mistake::UnknownKey { table, key },
            None => Mistake::UnknownKeyOf { table, key, keys: owned(keys) },
        };
        Err(self.source.near(item.key_at, mistake, help))
    }
    /// Refuses these keys, which are allowed only together with others.
    pub(super) fn go_with<S: AsRef<str>>(&self, keys: &[&str], one_of: &[S]) -> Checked<()> {
        self.refuse(keys, |key| Mistake::GoesWith { key, one_of: owned(one_of) })
    }
    /// Refuses these keys, which are not allowed together with another one.
    pub(super) fn go_not_with(&self, keys: &[&str], with: &str) -> Checked<()> {
        self.refuse(keys, |key| Mistake::GoesNotWith { key, with: with.to_owned() })
    }
    fn refuse(&self, keys: &[&str], mistake: impl Fn(String) -> Mistake) -> Checked<()> {
        match self.items.iter().find(|item| keys.contains(&item.key)) {
            Some(item) => item.refuse(mistake(item.key.to_owned())),
            None => Ok(()),
        }
    }
    /// The one of these keys that is present; exactly one must be.
    pub(super) fn one_of(&self, keys: &[&str]) -> Checked<Item<'a>> {
        let mut there = self.items.iter().filter(|item| keys.contains(&item.key));
        let table = self.name.to_owned();
        match (there.next(), there.next()) {
            (Some(item), None) => Ok(*item),
            (Some(first), Some(second)) => {
                let (first, key) = (first.key.to_owned(), second.key.to_owned());
                second.refuse(Mistake::NotBoth { table, first, second: key })
            }
            (None, _) => self.fail(Mistake::NeedsOneOf { table, one_of: owned(keys) }),
        }
    }
    /// A number that may be omitted.
    pub(super) fn range(&self, key: &str, range: &Range) -> Checked<Option<f64>> {
        self.get(key).map(|item| item.within(range)).transpose()
    }
    /// A list of tables, empty if it is omitted.
    pub(super) fn tables(&self, key: &str, name: &'a str, most: usize) -> Checked<Vec<Tab<'a>>> {
        let Some(item) = self.get(key) else { return Ok(Vec::new()) };
        if matches!(item.value, DeValue::Table(_)) {
            return item.refuse(Mistake::WrittenAsList { key: key.to_owned(), table: name.to_owned() });
        }
        let list = item.list()?;
        if let Some(beyond) = list.get(most) {
            return beyond.fail(Mistake::TooMany { what: name.to_owned(), most, given: list.len() });
        }
        list.iter().map(|element| element.table(name)).collect()
    }
}

impl<'a> Item<'a> {
    /// An error at the value.
    pub(super) fn fail<T>(&self, mistake: Mistake) -> Checked<T> {
        Err(self.source.error(self.at, mistake))
    }
    /// An error at the key.
    pub(super) fn refuse<T>(&self, mistake: Mistake) -> Checked<T> {
        Err(self.source.error(self.key_at, mistake))
    }
    /// Its key, for a mistake.
    pub(super) fn name(&self) -> String {
        self.key.to_owned()
    }
    pub(super) fn wrong<T>(&self, wanted: Type) -> Checked<T> {
        let given = match self.value {
            DeValue::String(_) => Type::Text,
            DeValue::Integer(_) | DeValue::Float(_) => Type::Number,
            DeValue::Boolean(_) => Type::Flag,
            DeValue::Datetime(_) => Type::Date,
            DeValue::Array(_) => Type::List,
            DeValue::Table(_) => Type::Table,
        };
        self.fail(Mistake::WrongType { key: self.name(), wanted, given })
    }
    /// Place of a byte of the decoded text, if the text is written without escapes; otherwise its start.
    pub(super) fn inside(&self, offset: usize) -> usize {
        let Some(decoded) = self.value.as_str() else { return self.at };
        match self.source.inside(&(self.at..self.end), decoded) {
            (start, true) => start + offset,
            (start, false) => start,
        }
    }
    /// The text as it was written, if it contained a name.
    pub(super) fn raw(&self) -> Option<&'a str> {
        self.source.raws.get(&self.at).map(String::as_str)
    }
    pub(super) fn text(&self) -> Checked<&'a str> {
        match self.value {
            DeValue::String(text) => Ok(text),
            _ => self.wrong(Type::Text),
        }
    }
    /// Text for people: not empty, without control characters, optionally in several lines.
    pub(super) fn prose(&self, lines: bool) -> Checked<String> {
        let text = self.text()?;
        if text.trim().is_empty() {
            return self.fail(Mistake::Empty { key: self.name() });
        }
        if text.chars().any(|c| c.is_control() && !(lines && ['\n', '\r', '\t'].contains(&c))) {
            let key = self.name();
            let mistake =
                if lines { Mistake::ControlCharacters { key } } else { Mistake::LineBreaks { key } };
            return self.fail(mistake);
        }
        Ok(text.to_owned())
    }
    pub(super) fn word(&self, underscore: bool) -> Checked<String> {
        let text = self.text()?;
        if is_word(text, underscore) {
            return Ok(text.to_owned());
        }
        let (key, given) = (self.name(), shown(text));
        self.fail(Mistake::NotAWord { key, most: MAX_WORD, underscore, given })
    }
    /// A word, or two words for the id of an action file: the scenario's and its own.
    pub(super) fn id(&self) -> Checked<String> {
        match self.text()?.split_once('/') {
            Some((of, own)) if is_word(of, false) && is_word(own, false) => Ok(format!("{of}/{own}")),
            _ => self.word(false),
        }
    }
    pub(super) fn choice<S: AsRef<str>, T: Clone>(&self, choices: &[(S, T)]) -> Checked<T> {
        let words: Vec<&str> = choices.iter().map(|(word, _)| word.as_ref()).collect();
        let DeValue::String(text) = self.value else { return self.wrong(Type::Text) };
        if let Some((_, value)) = choices.iter().find(|(word, _)| word.as_ref() == text) {
            return Ok(value.clone());
        }
        let mistake = Mistake::NotOneOf { key: self.name(), one_of: owned(&words), given: shown(text) };
        Err(self.source.near(self.at, mistake, nearest(text, &words)))
    }
    pub(super) fn flag(&self) -> Checked<bool> {
        match self.value {
            DeValue::Boolean(flag) => Ok(*flag),
            _ => self.wrong(Type::Flag),
        }
    }
    pub(super) fn number(&self) -> Checked<f64> {
        self.number_or(Type::Number)
    }
    pub(super) fn number_or(&self, wanted: Type) -> Checked<f64> {
        let number = match self.value {
            DeValue::Integer(n) => {
                i128::from_str_radix(n.as_str(), n.radix()).map_or(f64::INFINITY, |n| n as f64)
            }
            DeValue::Float(x) => x.as_str().parse().unwrap_or(f64::NAN),
            _ => return self.wrong(wanted),
        };
        if !number.is_finite() {
            return self.fail(Mistake::NotFinite { key: self.name() });
        }
        // No negative zero: it would be written with other bytes in a record.
        Ok(number + 0.0)
    }
    pub(super) fn within(&self, range: &Range) -> Checked<f64> {
        let number = self.number()?;
        if range.holds(number) {
            return Ok(number);
        }
        let Range { low, high, unit, .. } = *range;
        self.fail(Mistake::OutOfRange { key: self.name(), low, high, unit: unit.to_owned(), given: number })
    }
    /// A small whole number.
    pub(super) fn count(&self, low: u8, high: u8) -> Checked<u8> {
        Ok(self.whole_number(f64::from(low), f64::from(high))? as u8)
    }
    pub(super) fn whole(&self, range: &Range) -> Checked<u32> {
        Ok(self.whole_number(range.low, range.high)? as u32)
    }
    /// A whole number from low to high.
    pub(super) fn whole_number(&self, low: f64, high: f64) -> Checked<f64> {
        let given = self.number()?;
        if given.fract() == 0.0 && (low..=high).contains(&given) {
            return Ok(given);
        }
        self.fail(Mistake::NotWhole { key: self.name(), low, high, given })
    }
    pub(super) fn seed(&self) -> Checked<u64> {
        let DeValue::Integer(n) = self.value else { return self.wrong(Type::Whole) };
        match u64::from_str_radix(n.as_str(), n.radix()) {
            Ok(seed) => Ok(seed),
            Err(_) => self.fail(Mistake::Seed { key: self.name(), most: u64::MAX.to_string() }),
        }
    }
    pub(super) fn list(&self) -> Checked<Vec<Item<'a>>> {
        let DeValue::Array(list) = self.value else { return self.wrong(Type::List) };
        let element = |value: &'a toml::Spanned<DeValue<'a>>| {
            let span = value.span();
            Item { at: span.start, end: span.end, value: value.get_ref(), key_at: span.start, ..*self }
        };
        Ok(list.iter().map(element).collect())
    }
    pub(super) fn table(&self, name: &'a str) -> Checked<Tab<'a>> {
        match self.value {
            DeValue::Table(map) => Ok(Tab::new(self.source, name, self.at, map)),
            DeValue::Array(_) => {
                self.refuse(Mistake::WrittenAsTable { key: self.name(), table: name.to_owned() })
            }
            _ => self.wrong(Type::Table),
        }
    }
}
