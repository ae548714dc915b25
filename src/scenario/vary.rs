//! Variants: tables `[[vary]]` name values that differ from trainee to trainee and are equally hard for all.
//!
//! *Inside*: the tables, their rules, drawing, and filling `{name}` into the strings of a file. *Outside*: which
//! trainee is in which seat ([`Who`] is supplied by the caller), and the meaning of the filled strings (`read`).
//!
//! A file is valid TOML before names are filled in, and they are filled into the tree, not into the text: every value
//! keeps its place, so an error points at the line that the author wrote. A string that is a single name and nothing
//! else becomes a number, if the name's value is one.
//!
//! Without a class seed every name has its default: the file as it is. With one, each name has a random stream of its
//! own, keyed by class seed, trainee, scenario and name, so that a name added to a file leaves the others unchanged.
//! Choices and uniform distributions are drawn by `rand_distr`, whose samplers for these only add and multiply;
//! normal distributions by [`crate::num`], since the normal sampler in `rand_distr` takes its logarithms from
//! whichever implementation another crate of the build has switched on. A number is rounded to the decimals given in
//! the table by way of its decimal text, which is the same on every machine.
//!
//! **Checked by** `tests/attempts/variants.rs`.

use crate::num::Stream;
use crate::scenario::source::{Checked, Item, MAX_WORD, Raws, Source, Tab, nearest, owned, shown};
use crate::scenario::{Mistake, Type};
use rand_distr::{Distribution, Uniform};
use std::collections::BTreeSet;
use toml::de::{DeTable, DeValue};

/// Most tables `[[vary]]` in a file.
pub const MAX_VARY: usize = 100;
/// Most values to choose from.
const MAX_CHOICES: usize = 200;
/// Largest magnitude of a number.
const LARGEST: f64 = 1e9;
/// Most decimals of a drawn number.
const MAX_DECIMALS: u8 = 6;
/// Bench seeds that a class seed draws run from 1 to this.
const MAX_SEED: u32 = 999_999;

/// The trainee and the class: variants are drawn from these.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    /// The class's seed.
    pub class_seed: u64,
    /// Pseudonym or bench number.
    pub trainee: String,
    /// The instructor's seal over scenario, class seed and trainee, as it was supplied; see
    /// [`crate::session::ticket`].
    pub seal: Option<String>,
}

impl Who {
    /// Checks the trainee's name: 1 to 64 characters, none that controls or cannot be seen, no space at its ends.
    pub fn new(class_seed: u64, trainee: &str, seal: Option<String>) -> Result<Self, Mistake> {
        let length = trainee.chars().count();
        if length == 0 || length > MAX_WORD {
            return Err(Mistake::TraineeLength { most: MAX_WORD, given: length });
        }
        // two names that look alike must not be two trainees
        let unseen = |c: char| matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}');
        if trainee.chars().any(|c| c.is_control() || unseen(c)) {
            return Err(Mistake::TraineeControlCharacters);
        }
        if trainee.trim() != trainee {
            return Err(Mistake::TraineeSpaces);
        }
        Ok(Self { class_seed, trainee: trainee.to_owned(), seal })
    }
    /// The random stream of one name.
    fn stream(&self, scenario: &str, name: &str) -> Stream {
        Stream::new(self.class_seed, &format!("vary:{scenario}:{name}:{}", self.trainee))
    }
    /// Seed of the bench: each trainee gets other serials.
    fn bench_seed(&self, scenario: &str) -> u64 {
        // a name in a table cannot contain a dot, so this one is never taken
        let mut stream = self.stream(scenario, ".bench");
        let all = Uniform::new_inclusive(1, MAX_SEED);
        all.map_or(1, |all| u64::from(all.sample(&mut stream)))
    }
}

/// A value that replaces a name.
#[derive(Debug, Clone, PartialEq)]
pub enum Filled {
    /// A number.
    Number(f64),
    /// A word.
    Word(String),
}

impl std::fmt::Display for Filled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Filled::Number(x) => x.fmt(f),
            Filled::Word(w) => f.write_str(w),
        }
    }
}

/// One name with its value.
#[derive(Debug, Clone, PartialEq)]
struct Name {
    name: String,
    value: Filled,
    /// The value as it is filled in.
    text: String,
    /// All possible values, if they form a list.
    domain: Option<Vec<Filled>>,
    /// The name whose value determines this one, if it is not drawn itself.
    of: Option<String>,
    /// Where the table stands \[byte\].
    at: usize,
}

/// The names of a scenario with their values for one trainee, or with their defaults.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Vary {
    /// The trainee; none for the file as it is.
    pub who: Option<Who>,
    names: Vec<Name>,
    seed: Option<u64>,
}

impl Vary {
    /// Reads the tables from a scenario's tree as it was written.
    pub(super) fn read(top: &Tab<'_>, who: Option<&Who>) -> Checked<Self> {
        let id = top.get("about").and_then(|item| match item.value {
            DeValue::Table(about) => about.get("id")?.get_ref().as_str(),
            _ => None,
        });
        let id = id.unwrap_or_default();
        let mut vary = Self { who: who.cloned(), ..Self::default() };
        for tab in top.tables("vary", "[[vary]]", MAX_VARY)? {
            let name = vary.read_one(&tab, id)?;
            vary.names.push(name);
        }
        let same_parts = match top.get("setup").map(|item| item.value) {
            Some(DeValue::Table(setup)) => {
                setup.get("same_parts").is_some_and(|v| v.get_ref().as_bool() == Some(true))
            }
            _ => false,
        };
        if let (Some(who), false) = (who, same_parts) {
            vary.seed = Some(who.bench_seed(id));
        }
        Ok(vary)
    }

    /// Seed of the bench, drawn from the class seed; none without a class seed, or if all trainees get the same
    /// parts.
    pub fn seed(&self) -> Option<u64> {
        self.seed
    }

    /// The names with their values, in the file's order. They must not be shown under a closed lid.
    pub fn values(&self) -> impl Iterator<Item = (&str, &Filled)> {
        self.names.iter().map(|n| (n.name.as_str(), &n.value))
    }

    fn read_one(&self, tab: &Tab<'_>, id: &str) -> Checked<Name> {
        tab.only(&["name", "default", "choose", "uniform", "normal", "decimals", "of", "map"])?;
        let item = tab.need("name")?;
        let name = item.word(true)?;
        if let Some(first) = self.names.iter().find(|n| n.name == name) {
            let line = tab.source.place(first.at).line;
            return item.fail(Mistake::TwiceSince { what: "[[vary]]".to_owned(), given: shown(&name), line });
        }
        let way = tab.one_of(&["choose", "uniform", "normal", "of"])?;
        let kind = way.key;
        if kind != "uniform" && kind != "normal" {
            tab.go_with(&["decimals"], &["uniform", "normal"])?;
        }
        if kind != "of" {
            tab.go_with(&["map"], &["of"])?;
        }
        let stream = self.who.as_ref().map(|who| who.stream(id, &name));
        let (value, domain) = match kind {
            "choose" => read_choice(tab, &way, stream)?,
            "uniform" => (read_uniform(tab, &way, stream)?, None),
            "normal" => (read_normal(tab, &way, stream)?, None),
            _ => {
                tab.go_not_with(&["default"], "of")?;
                self.read_map(tab, &way)?
            }
        };
        let text = value.to_string();
        let of = if kind == "of" { Some(way.text()?.to_owned()) } else { None };
        Ok(Name { name, value, text, domain, of, at: tab.at })
    }

    /// A value that is determined by another name's value.
    fn read_map(&self, tab: &Tab<'_>, of: &Item<'_>) -> Checked<(Filled, Option<Vec<Filled>>)> {
        let word = of.word(true)?;
        let Some(other) = self.names.iter().find(|n| n.name == word) else {
            return Err(tab.source.near(of.at, Mistake::MapOf { given: shown(&word) }, self.near(&word)));
        };
        let Some(domain) = &other.domain else {
            return of.fail(Mistake::MapOfNoChoice { given: shown(&word) });
        };
        let map = tab.need("map")?;
        let keys: Vec<String> = domain.iter().map(Filled::to_string).collect();
        let table = map.table("map")?;
        if let Some(stray) = table.items.iter().find(|i| !keys.iter().any(|k| k == i.key)) {
            let (given, name) = (shown(stray.key), other.name.clone());
            return stray.refuse(Mistake::MapHas { given, name, keys: owned(&keys) });
        }
        let lacks = |value: String| map.fail(Mistake::MapLacks { name: other.name.clone(), value });
        let (mut value, mut all) = (None, Vec::new());
        for (key, from) in keys.iter().zip(domain) {
            let Some(item) = table.get(key) else { return lacks(key.clone()) };
            let to = read_value(&item)?;
            if *from == other.value {
                value = Some(to.clone());
            }
            all.push(to);
        }
        match value {
            Some(value) => Ok((value, Some(all))),
            None => lacks(other.value.to_string()),
        }
    }

    fn near(&self, word: &str) -> Option<String> {
        let all: Vec<&str> = self.names.iter().map(|n| n.name.as_str()).collect();
        nearest(word, &all)
    }

    /// Fills the names into every string of a tree except those of `[[vary]]` itself. `own` is set for the scenario
    /// that contains the tables: a drawn value must be used there, by its name or by a map of it. A map alone may be
    /// unused, because action files may need it.
    pub(super) fn fill<'a>(
        &'a self,
        tree: &mut DeTable<'a>,
        source: &Source<'_>,
        own: bool,
    ) -> Checked<Raws> {
        let mut fill = Fill { vary: self, source, raws: Raws::new(), used: BTreeSet::new() };
        for (key, value) in tree.iter_mut() {
            if key.get_ref() != "vary" || !own {
                fill.value(value)?;
            }
        }
        let Fill { raws, mut used, .. } = fill;
        // a map comes after the name that it reads
        for name in self.names.iter().rev() {
            if let (Some(of), true) = (&name.of, used.contains(name.name.as_str())) {
                used.insert(of);
            }
        }
        match self.names.iter().find(|n| own && n.of.is_none() && !used.contains(n.name.as_str())) {
            None => Ok(raws),
            Some(n) => Err(source.error(n.at, Mistake::NameUnused { name: n.name.clone() })),
        }
    }
}

/// A walk through a tree that fills in names.
struct Fill<'v, 's, 't> {
    vary: &'v Vary,
    source: &'s Source<'t>,
    raws: Raws,
    used: BTreeSet<&'v str>,
}

impl<'v> Fill<'v, '_, '_> {
    fn value(&mut self, spanned: &mut toml::Spanned<DeValue<'v>>) -> Checked<()> {
        let span = spanned.span();
        match spanned.get_mut() {
            DeValue::Array(list) => list.iter_mut().try_for_each(|element| self.value(element)),
            DeValue::Table(map) => map.iter_mut().try_for_each(|(_, below)| self.value(below)),
            DeValue::String(text) if text.contains('{') => {
                let raw = text.clone().into_owned();
                let inside = self.source.inside(&span, &raw);
                let (filled, named) = self.text(&raw, inside)?;
                let bare = named.filter(|n| raw.len() == n.name.len() + 2);
                let number = bare.filter(|n| matches!(n.value, Filled::Number(_)));
                let number = number.and_then(|n| DeValue::parse(&n.text).ok());
                *spanned.get_mut() = match number {
                    Some(number) => number.into_inner(),
                    None => DeValue::String(filled.into()),
                };
                if named.is_some() {
                    self.raws.insert(span.start, raw);
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// The text with its names filled in, and the last of these names. `inside` is the place of the text's first
    /// byte, and whether its bytes are those of the file.
    fn text(&mut self, raw: &str, (start, same): (usize, bool)) -> Checked<(String, Option<&'v Name>)> {
        let (mut out, mut named, mut at) = (String::new(), None, 0);
        while let Some(open) = raw[at..].find('{') {
            out.push_str(&raw[at..at + open]);
            at += open + 1;
            if raw[at..].starts_with('{') {
                out.push('{');
                at += 1;
                continue;
            }
            let fault =
                |mistake, help| self.source.near(if same { start + at } else { start }, mistake, help);
            let Some(close) = raw[at..].find('}') else { return Err(fault(Mistake::NameNotClosed, None)) };
            let word = &raw[at..at + close];
            let Some(name) = self.vary.names.iter().find(|n| n.name == word) else {
                return Err(fault(Mistake::NoName { given: shown(word) }, self.vary.near(word)));
            };
            out.push_str(&name.text);
            self.used.insert(&name.name);
            named = Some(name);
            at += close + 1;
        }
        out.push_str(&raw[at..]);
        Ok((out, named))
    }
}

/// A number that is finite and not too large.
fn read_number(item: &Item<'_>) -> Checked<f64> {
    let number = item.number()?;
    if number.abs() > LARGEST {
        let (key, low, high, unit) = (item.name(), -LARGEST, LARGEST, String::new());
        return item.fail(Mistake::OutOfRange { key, low, high, unit, given: number });
    }
    Ok(number)
}

fn read_value(item: &Item<'_>) -> Checked<Filled> {
    match item.value {
        DeValue::String(_) => Ok(Filled::Word(item.word(true)?)),
        DeValue::Integer(_) | DeValue::Float(_) => Ok(Filled::Number(read_number(item)?)),
        _ => item.wrong(Type::NumberOrText),
    }
}

fn read_choice(
    tab: &Tab<'_>,
    choose: &Item<'_>,
    stream: Option<Stream>,
) -> Checked<(Filled, Option<Vec<Filled>>)> {
    let list = choose.list()?;
    if list.len() < 2 {
        return choose.fail(Mistake::TooFew { what: choose.name(), least: 2 });
    }
    if list.len() > MAX_CHOICES {
        return choose.fail(Mistake::TooMany { what: choose.name(), most: MAX_CHOICES, given: list.len() });
    }
    let mut all: Vec<Filled> = Vec::new();
    for item in &list {
        let value = read_value(item)?;
        // a map cannot tell apart values that are written the same
        if all.iter().any(|v| v.to_string() == value.to_string()) {
            return item.fail(Mistake::Twice { what: choose.name(), given: value.to_string() });
        }
        all.push(value);
    }
    let item = tab.need("default")?;
    let default = read_value(&item)?;
    if !all.contains(&default) {
        return item.fail(Mistake::DefaultNotChosen { given: default.to_string() });
    }
    let drawn = stream.and_then(|mut stream| {
        let index = Uniform::new(0, all.len() as u32).ok()?.sample(&mut stream);
        all.get(index as usize).cloned()
    });
    Ok((drawn.unwrap_or(default), Some(all)))
}

/// Decimals of a drawn number.
fn read_decimals(tab: &Tab<'_>) -> Checked<usize> {
    Ok(usize::from(tab.need("decimals")?.count(0, MAX_DECIMALS)?))
}

/// A number with no more decimals than are drawn, so that a rounded value stays within the limits.
fn read_limit(item: &Item<'_>, decimals: usize) -> Checked<f64> {
    let number = read_number(item)?;
    if rounded(number, decimals) == number {
        return Ok(number);
    }
    item.fail(Mistake::Decimals { given: number, decimals })
}

fn read_default(tab: &Tab<'_>, low: f64, high: f64, decimals: usize) -> Checked<f64> {
    let item = tab.need("default")?;
    let default = read_limit(&item, decimals)?;
    if default >= low && default <= high {
        return Ok(default);
    }
    let (key, unit) = (item.name(), String::new());
    item.fail(Mistake::OutOfRange { key, low, high, unit, given: default })
}

/// Nearest number with this many decimals, by its decimal text: no arithmetic that could differ between machines.
fn rounded(x: f64, decimals: usize) -> f64 {
    // no negative zero: its text would differ
    format!("{x:.decimals$}").parse().unwrap_or(x) + 0.0
}

fn read_uniform(tab: &Tab<'_>, uniform: &Item<'_>, stream: Option<Stream>) -> Checked<Filled> {
    let decimals = read_decimals(tab)?;
    let list = uniform.list()?;
    let [low, high] = list.as_slice() else {
        return uniform.fail(Mistake::Uniform { given: list.len() });
    };
    let (first, second) = (low, high);
    let (low, high) = (read_limit(first, decimals)?, read_limit(second, decimals)?);
    if low >= high {
        return second.fail(Mistake::UniformOrder { low, high });
    }
    let default = read_default(tab, low, high, decimals)?;
    let drawn = stream.and_then(|mut stream| {
        let x = Uniform::new_inclusive(low, high).ok()?.sample(&mut stream);
        Some(rounded(x, decimals).clamp(low, high))
    });
    Ok(Filled::Number(drawn.unwrap_or(default)))
}

fn read_normal(tab: &Tab<'_>, normal: &Item<'_>, stream: Option<Stream>) -> Checked<Filled> {
    let decimals = read_decimals(tab)?;
    let table = normal.table("normal")?;
    table.only(&["mean", "sd", "low", "high"])?;
    let mean = read_number(&table.need("mean")?)?;
    let sd_item = table.need("sd")?;
    let sd = read_number(&sd_item)?;
    let (low, high) = (table.need("low")?, table.need("high")?);
    let (low, high_item) = (read_limit(&low, decimals)?, high);
    let high = read_limit(&high_item, decimals)?;
    if sd <= 0.0 {
        return sd_item.fail(Mistake::NotPositive { key: sd_item.name(), given: sd });
    }
    if low > mean || mean > high {
        return high_item.fail(Mistake::MeanOutside { low, high, mean });
    }
    // with a narrower range, most of the drawn values would be discarded
    if high - low < sd {
        return high_item.fail(Mistake::Narrow { low, high, sd });
    }
    let default = read_default(tab, low, high, decimals)?;
    let drawn = stream.map(|mut stream| {
        loop {
            let x = rounded(mean + sd * stream.normal(), decimals);
            if x >= low && x <= high {
                return x;
            }
        }
    });
    Ok(Filled::Number(drawn.unwrap_or(default)))
}
