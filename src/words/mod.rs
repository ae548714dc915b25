//! The words room: every sentence, name and number that a person sees is made here, in the reader's language.
//!
//! *Inside*: the messages of a language ([Fluent](https://projectfluent.org) files under `assets/words/en`), the
//! language of a thread, numbers with their units ([`numbers`]), a pseudo-language that reveals text written outside
//! this room. *Outside*: texts of scenarios, which are in the scenarios' files; the ids in files and logbooks, which
//! are the same in every language.
//!
//! A front end selects its language once ([`speak`], or [`speak_by_default`] for the whole program); from then on
//! `say("job-minutes")`, or `say!("job-spent", money = "12")` with values, gives the message. A message that a
//! language lacks is taken from English. Names of declared things follow one pattern, the kind and the id with
//! hyphens (`part-throttle-body`, `signal-coolant-c`), so that [`name`] finds them: no other list is needed.
//!
//! **Checked by** `tests/files/words.rs`.

pub mod facts;
pub mod glossary;
pub mod numbers;
pub mod parts;
pub mod readings;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentError, FluentResource};
use std::borrow::Cow;
use std::cell::RefCell;
use std::sync::{Arc, LazyLock, RwLock};

/// A value inside a message: a text, or a whole number that selects singular or plural. Numbers with decimals are
/// formatted by [`numbers::number`] first.
pub type Value<'a> = fluent_bundle::FluentValue<'a>;

/// The English messages, file by file.
const ENGLISH: &[(&str, &str)] = &[
    ("catalogue.ftl", include_str!("../../assets/words/en/catalogue.ftl")),
    ("cautions.ftl", include_str!("../../assets/words/en/cautions.ftl")),
    ("module.ftl", include_str!("../../assets/words/en/module.ftl")),
    ("bench.ftl", include_str!("../../assets/words/en/bench.ftl")),
    ("bench-tools.ftl", include_str!("../../assets/words/en/bench-tools.ftl")),
    ("files.ftl", include_str!("../../assets/words/en/files.ftl")),
    ("lesson.ftl", include_str!("../../assets/words/en/lesson.ftl")),
    ("evidence.ftl", include_str!("../../assets/words/en/evidence.ftl")),
    ("command.ftl", include_str!("../../assets/words/en/command.ftl")),
    ("paper.ftl", include_str!("../../assets/words/en/paper.ftl")),
    ("window.ftl", include_str!("../../assets/words/en/window.ftl")),
    ("window-tools.ftl", include_str!("../../assets/words/en/window-tools.ftl")),
    ("drawing.ftl", include_str!("../../assets/words/en/drawing.ftl")),
    ("class.ftl", include_str!("../../assets/words/en/class.ftl")),
    ("net.ftl", include_str!("../../assets/words/en/net.ftl")),
    ("class-server.ftl", include_str!("../../assets/words/en/class-server.ftl")),
];

/// What is wrong with a file of messages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Error {
    /// The given tag is not a valid language tag (BCP 47).
    Tag(String),
    /// A file is not valid Fluent: its name, the line and the parser's first complaint.
    Syntax(String, usize, String),
    /// Two messages have the same name: file, line and name.
    Twice(String, usize, String),
}

/// The messages of a language.
pub struct Words {
    tag: String,
    bundle: FluentBundle<FluentResource>,
    /// The messages used if one is missing here.
    otherwise: Option<Arc<Words>>,
    /// The decimal sign.
    decimal_sign: char,
}

impl std::fmt::Debug for Words {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Words({})", self.tag)
    }
}

impl Words {
    /// English, which has every message.
    pub fn english() -> Arc<Words> {
        static ENGLISH_WORDS: LazyLock<Arc<Words>> = LazyLock::new(|| {
            // the shipped files are read by every test of words
            Arc::new(Words::read("en", ENGLISH, None).unwrap_or_else(|e| unreachable!("{e:?}")))
        });
        ENGLISH_WORDS.clone()
    }

    /// A pseudo-language: English with other letters, in brackets and 40 % longer. Text that was not written in this
    /// room stands out, and panels show whether they have space for a longer language.
    pub fn pseudo() -> Arc<Words> {
        static PSEUDO: LazyLock<Arc<Words>> = LazyLock::new(|| {
            let mut words =
                Words::read("en-x-pseudo", ENGLISH, None).unwrap_or_else(|e| unreachable!("{e:?}"));
            words.bundle.set_transform(Some(pseudo_text));
            Arc::new(words)
        });
        PSEUDO.clone()
    }

    /// Another language, from the texts of its files; a message that it lacks is taken from English. Its message
    /// `decimal-sign` may set another sign than the point.
    pub fn of(tag: &str, files: &[(&str, &str)]) -> Result<Words, Error> {
        Self::read(tag, files, Some(Self::english()))
    }

    fn read(tag: &str, files: &[(&str, &str)], otherwise: Option<Arc<Words>>) -> Result<Words, Error> {
        // the private-use part of a tag (`en-x-pseudo`) does not select plural forms
        let id = tag.split("-x-").next().unwrap_or(tag).parse().map_err(|_| Error::Tag(tag.to_owned()))?;
        let mut bundle = FluentBundle::new_concurrent(vec![id]);
        // direction marks around every value would end up in files, tables and searches
        bundle.set_use_isolating(false);
        for (name, text) in files {
            let resource = FluentResource::try_new((*text).to_owned()).map_err(|(_, errors)| {
                let (at, first) =
                    errors.first().map_or((0, String::new()), |e| (e.pos.start, e.kind.to_string()));
                Error::Syntax((*name).to_owned(), line_at(text, at), first)
            })?;
            bundle.add_resource(resource).map_err(|errors| {
                let id = errors.into_iter().find_map(|e| match e {
                    FluentError::Overriding { id, .. } => Some(id),
                    _ => None,
                });
                let id = id.unwrap_or_default();
                let at = text.rfind(&format!("\n{id} =")).map_or(0, |at| at + 1);
                Error::Twice((*name).to_owned(), line_at(text, at), id)
            })?;
        }
        let mut words = Words { tag: tag.to_owned(), bundle, otherwise, decimal_sign: '.' };
        if words.has("decimal-sign") {
            words.decimal_sign = words.say("decimal-sign", &[]).chars().next().unwrap_or('.');
        }
        Ok(words)
    }

    /// Its tag, such as `en`.
    pub fn tag(&self) -> &str {
        &self.tag
    }

    /// True when it has a message of that name itself.
    pub fn has(&self, id: &str) -> bool {
        self.bundle.has_message(id)
    }

    /// Names of the English messages in these files.
    pub fn english_ids<'a>(files: &'a [&str]) -> impl Iterator<Item = &'static str> + 'a {
        let of = |text: &'static str| text.lines().filter_map(|line| line.split_once(" =")).map(|(id, _)| id);
        let all = ENGLISH.iter().filter(|(name, _)| files.contains(name));
        all.flat_map(move |(_, text)| of(text)).filter(|id| !id.starts_with([' ', '#']))
    }

    /// The message of that name with its values left open, as `{$name}`, for a caller that inserts them.
    pub fn pattern(&self, id: &str) -> String {
        let Some(pattern) = self.bundle.get_message(id).and_then(|m| m.value()) else {
            return self.otherwise.as_ref().map_or_else(|| format!("⟨{id}⟩"), |w| w.pattern(id));
        };
        // without values each placeable is written out as it is
        self.bundle.format_pattern(pattern, None, &mut Vec::new()).into_owned()
    }

    /// The message of that name with these values; the name in brackets if no language has the message.
    pub fn say(&self, id: &str, values: &[(&str, Value<'_>)]) -> String {
        let Some(pattern) = self.bundle.get_message(id).and_then(|m| m.value()) else {
            return self.otherwise.as_ref().map_or_else(|| format!("⟨{id}⟩"), |w| w.say(id, values));
        };
        let args: FluentArgs<'_> = values.iter().map(|(k, v)| (*k, v.clone())).collect();
        let mut errors = Vec::new();
        let said = self.bundle.format_pattern(pattern, Some(&args), &mut errors);
        debug_assert!(errors.is_empty(), "message `{id}` in {}: {errors:?}", self.tag);
        said.into_owned()
    }
}

/// The line, from 1, on which a byte of a text stands.
fn line_at(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|b| *b == b'\n').count()
}

static BY_DEFAULT: RwLock<Option<Arc<Words>>> = RwLock::new(None);
thread_local! {
    static SPOKEN: RefCell<Option<Arc<Words>>> = const { RefCell::new(None) };
}

/// Sets the language of this thread, until the returned value is dropped.
#[must_use = "the language is spoken while this is held"]
pub fn speak(words: &Arc<Words>) -> Speaking {
    let before = SPOKEN.with(|s| s.replace(Some(words.clone())));
    Speaking { before }
}

/// Holds a thread's language: when it is dropped, the previous language returns.
#[derive(Debug)]
pub struct Speaking {
    before: Option<Arc<Words>>,
}

impl Drop for Speaking {
    fn drop(&mut self) {
        SPOKEN.with(|s| *s.borrow_mut() = self.before.take());
    }
}

/// Sets the language of every thread that has chosen none: for a program with one reader.
pub fn speak_by_default(words: &Arc<Words>) {
    *BY_DEFAULT.write().unwrap_or_else(|e| e.into_inner()) = Some(words.clone());
}

/// True once a language was chosen, English included.
pub fn is_chosen() -> bool {
    let by_default = || BY_DEFAULT.read().unwrap_or_else(|e| e.into_inner()).is_some();
    SPOKEN.with(|s| s.borrow().is_some()) || by_default()
}

/// The language of this thread.
pub fn spoken() -> Arc<Words> {
    SPOKEN
        .with(|s| s.borrow().clone())
        .or_else(|| BY_DEFAULT.read().unwrap_or_else(|e| e.into_inner()).clone())
        .unwrap_or_else(Words::english)
}

/// The message of that name.
pub fn say(id: &str) -> String {
    spoken().say(id, &[])
}

/// The message of that name with values in it; `say!` writes the list.
pub fn say_with(id: &str, values: &[(&str, Value<'_>)]) -> String {
    spoken().say(id, values)
}

/// The name of a declared thing: kind `part` and id `throttle_body` give the message `part-throttle-body`. One of
/// several, such as `injector_3` or `long_idle_bank1`, has the message `…-n` with its number in it, unless it has a
/// message of its own.
pub fn name(kind: &str, id: &str) -> String {
    let message = message_of(kind, id);
    let base = message.trim_end_matches(|c: char| c.is_ascii_digit());
    match message[base.len()..].parse::<u32>() {
        Ok(n) if !Words::english().has(&message) => {
            let base = base.trim_end_matches('-').trim_end_matches("-bank");
            say_with(&format!("{base}-n"), &[("n", Value::from(n))])
        }
        _ => say(&message),
    }
}

/// The text with its first letter capitalised, for the beginning of a line or for a button.
pub fn upper_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// The id of the message that names a declared thing.
pub fn message_of(kind: &str, id: &str) -> String {
    format!("{kind}-{}", id.replace('_', "-"))
}

/// A message with values: `say!("job-spent", money = number(12.0, 0), lines = 3)`. A value is a text or a whole number.
macro_rules! message {
    ($id:expr $(,)?) => { $crate::words::say($id) };
    ($id:expr, $($name:ident = $value:expr),+ $(,)?) => {
        $crate::words::say_with($id, &[$((stringify!($name), $crate::words::Value::from($value))),+])
    };
}
pub(crate) use message as say;

/// Accented letters, two fifths more of them, and brackets around each piece of text.
fn pseudo_text(text: &str) -> Cow<'_, str> {
    let letters = text.chars().filter(|c| c.is_ascii_alphabetic()).count();
    if letters == 0 {
        return Cow::Borrowed(text);
    }
    let mut out = String::from("⟦");
    out.extend(text.chars().map(pseudo_letter));
    out.extend(std::iter::repeat_n('~', (2 * letters).div_ceil(5)));
    out.push('⟧');
    Cow::Owned(out)
}

/// The letter that stands for an English one in the pseudo-language.
fn pseudo_letter(c: char) -> char {
    const PLAIN: &str = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    const MARKED: &str = "áƀçđéƒĝĥíĵķĺɱñóþɋŕšťúṽŵẋýžÁƁÇĐÉƑĜĤÍĴĶĹṀÑÓÞɊŔŠŤÚṼŴẊÝŽ";
    PLAIN.chars().position(|p| p == c).and_then(|k| MARKED.chars().nth(k)).unwrap_or(c)
}
