//! Who works: class seed and trainee from arguments or from a ticket; and `idlewright seal`, which makes tickets.
//!
//! *Inside*: arguments, files of keys, trainees and tickets. *Outside*: what a seal is
//! ([`crate::session::ticket`]), what differs from trainee to trainee ([`crate::scenario`]).

use crate::bench::record::hash_of_text;
use crate::cli::{Loaded, Trouble, probe, read_origin, say, write_all};
use crate::scenario::{ActionFile, ScenarioError, Who};
use crate::session::ticket::{Key, Ticket};
use crate::store;
use clap::Args;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// Largest key, ticket or list of trainees that is read \[bytes\].
const LARGEST: u64 = 1 << 20;
/// Most trainees in one list.
const MOST_TRAINEES: usize = 2000;
/// Length of a new key before it is written in hexadecimal digits \[bytes\]: the hash's own, as RFC 2104 advises.
const KEY_BYTES: usize = 32;

/// Whose variant is run.
#[derive(Args, Default)]
pub(super) struct WhoArgs {
    /// The class's seed: with --trainee another instance, equally hard, for each
    #[arg(long, value_name = "N", requires = "trainee", conflicts_with_all = ["seed", "ticket"])]
    class_seed: Option<u64>,
    /// Who works: a pseudonym or bench number, 1 to 64 characters
    #[arg(long, value_name = "WORD", requires = "class_seed", conflicts_with_all = ["seed", "ticket"])]
    trainee: Option<String>,
    /// A ticket that the instructor sealed: class seed and trainee come from it
    #[arg(long, value_name = "FILE", conflicts_with = "seed")]
    ticket: Option<String>,
}

impl WhoArgs {
    /// Who it is, if anybody is named; a ticket must be for this text.
    pub(super) fn who(&self, scenario_text: &str) -> Result<Option<Who>, Trouble> {
        if let Some(file) = &self.ticket {
            let wrong = |why: String| Trouble::Input(format!("{file}: {why}"));
            let ticket = Ticket::read(&read_text(file, "a ticket")?).map_err(wrong)?;
            return ticket.who(scenario_text).map(Some).map_err(wrong);
        }
        named(self.class_seed, self.trainee.as_deref())
    }
}

/// Who is named by two arguments that go together.
pub(super) fn named(class_seed: Option<u64>, trainee: Option<&str>) -> Result<Option<Who>, Trouble> {
    match (class_seed, trainee) {
        (Some(seed), Some(word)) => match Who::new(seed, word, None) {
            Ok(who) => Ok(Some(who)),
            Err(why) => Err(Trouble::Input(format!("--trainee: {why}"))),
        },
        _ => Ok(None),
    }
}

/// An action file may not ask for what differs from trainee to trainee while the lid is closed: the act that it
/// names would tell. What ships may, in the scenario as it ships, which everybody can read.
pub(super) fn may_name(
    loaded: &Loaded,
    actions: &(ActionFile, String),
    lid_open: bool,
) -> Result<(), (usize, usize, String)> {
    let Some((place, raw)) = &actions.0.names else { return Ok(()) };
    let ships = || store::SCENARIOS.iter().flat_map(|s| s.actions).any(|(_, text)| *text == actions.1);
    if lid_open || (loaded.scenario.vary.who.is_none() && ships()) {
        return Ok(());
    }
    let rule = format!(
        "`{}` asks for what differs from trainee to trainee, and the lid is closed: an action file may do so under \
         an open lid only",
        raw.chars().filter(|c| !c.is_control()).take(64).collect::<String>()
    );
    Err((place.line, place.column, rule))
}

/// The same as an error in the action file.
pub(super) fn check_names(
    file: &str,
    loaded: &Loaded,
    actions: Option<&(ActionFile, String)>,
    lid_open: bool,
) -> Result<(), Trouble> {
    let Some(actions) = actions else { return Ok(()) };
    may_name(loaded, actions, lid_open).map_err(|(line, column, rule)| {
        ScenarioError { file: file.into(), line, column, rule, help: None }.into()
    })
}

/// Bytes of a small file that a person names.
#[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
fn read_bytes(name: &str, what: &str) -> Result<Vec<u8>, Trouble> {
    let fail = |e: std::io::Error| Trouble::File(format!("cannot read {what} `{name}`: {e}"));
    let meta = std::fs::metadata(name).map_err(fail)?;
    if !meta.is_file() {
        return Err(Trouble::File(format!("cannot read {what} `{name}`: it is not a file")));
    }
    if meta.len() > LARGEST {
        return Err(Trouble::Input(format!("{name}: {what} is at most 1 MiB long")));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(name).and_then(|f| f.take(LARGEST).read_to_end(&mut bytes)).map_err(fail)?;
    Ok(bytes)
}

fn read_text(name: &str, what: &str) -> Result<String, Trouble> {
    String::from_utf8(read_bytes(name, what)?)
        .map_err(|_| Trouble::Input(format!("{name}: {what} must be text in UTF-8")))
}

/// The instructor's key.
pub(super) fn read_key(name: &str) -> Result<Key, Trouble> {
    Key::new(&read_bytes(name, "a key")?).map_err(|why| Trouble::Input(format!("{name}: {why}")))
}

/// Arguments of `seal`.
#[derive(Args)]
pub(super) struct SealArgs {
    /// Scenario file, or the name of a shipped one
    #[arg(required_unless_present = "new_key")]
    scenario: Option<String>,
    /// The class's seed
    #[arg(long, value_name = "N", required_unless_present = "new_key")]
    class_seed: Option<u64>,
    /// Text file with one trainee a line: pseudonyms or bench numbers
    #[arg(long, value_name = "FILE", required_unless_present = "new_key")]
    trainees: Option<String>,
    /// The instructor's key: any file of 16 bytes or more
    #[arg(long, value_name = "FILE", required_unless_present = "new_key")]
    key: Option<String>,
    /// Folder for one ticket for each trainee
    #[arg(long, value_name = "DIR", required_unless_present = "new_key")]
    out: Option<PathBuf>,
    /// Make a new key instead; a file that is there is left alone
    #[arg(long, value_name = "FILE", conflicts_with_all = ["scenario", "class_seed", "trainees", "key", "out"])]
    new_key: Option<PathBuf>,
}

/// Runs the command; gives the exit code.
pub(super) fn seal(args: &SealArgs) -> Result<u8, Trouble> {
    if let Some(path) = &args.new_key {
        new_key(path)?;
        say(&format!("{}: a new key. Who has it can seal tickets: keep it to yourself.\n", path.display()))?;
        return Ok(0);
    }
    let (Some(name), Some(class_seed), Some(list), Some(key), Some(out)) =
        (&args.scenario, args.class_seed, &args.trainees, &args.key, &args.out)
    else {
        return Err(Trouble::Input(
            "seal needs a scenario, a class seed, trainees, a key and a folder".into(),
        ));
    };
    let source = read_origin(name)?;
    let key = read_key(key)?;
    let all = trainees(&read_text(list, "a list of trainees")?, list, class_seed)?;
    let width = all.len().to_string().len();
    let mut files = Vec::new();
    for (nth, who) in all.iter().enumerate() {
        // a variant that does not read would be found out by a trainee
        let loaded = source.read(Some(who))?;
        let ticket = Ticket::new(&loaded.scenario.about.id, &loaded.text, who, &key);
        let name = format!("{:0width$}-{}.ticket", nth + 1, file_word(&who.trainee));
        files.push((name, ticket.text()));
    }
    let names: Vec<&str> = files.iter().map(|f| f.0.as_str()).collect();
    probe(out, &names)?;
    for (name, text) in &files {
        let path = out.join(name);
        if path.exists() && read_bytes(&path.to_string_lossy(), "a ticket")? != text.as_bytes() {
            let why = "another ticket lies there; give an empty folder";
            return Err(Trouble::File(format!("cannot write `{}`: {why}", path.display())));
        }
    }
    let files: Vec<(&str, String)> = names.iter().copied().zip(files.iter().map(|f| f.1.clone())).collect();
    write_all(out, &files)?;
    say(&format!("{} tickets in {}\n", files.len(), out.display()))?;
    Ok(0)
}

/// The trainees of a list, each named once.
fn trainees(text: &str, file: &str, class_seed: u64) -> Result<Vec<Who>, Trouble> {
    let mut all = Vec::new();
    let mut lines: BTreeMap<&str, usize> = BTreeMap::new();
    for (k, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let (word, line) = (line.trim(), k + 1);
        if word.is_empty() {
            continue;
        }
        let wrong = |why: String| Trouble::Input(format!("{file}:{line}:1: {why}"));
        if let Some(first) = lines.insert(word, line) {
            return Err(wrong(format!("this trainee already stands on line {first}")));
        }
        if all.len() == MOST_TRAINEES {
            return Err(wrong(format!("there must be no more than {MOST_TRAINEES} trainees")));
        }
        all.push(Who::new(class_seed, word, None).map_err(wrong)?);
    }
    if all.is_empty() {
        return Err(Trouble::Input(format!("{file}: it names no trainee")));
    }
    Ok(all)
}

/// A word fit for a file's name on every system.
fn file_word(word: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
    let out: String = word.chars().take(40).map(plain).collect();
    if out.chars().all(|c| c == '-') { hash_of_text(word).chars().take(8).collect() } else { out }
}

/// A new key from the system's own randomness, in a file that nobody else may read where the system has it so.
#[expect(clippy::disallowed_methods, reason = "the command line writes the key that a person asked for")]
fn new_key(path: &Path) -> Result<(), Trouble> {
    let shown = path.display();
    let fail = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Trouble::File(format!("`{shown}` is there already, and a key is never written over"))
        }
        _ => Trouble::File(format!("cannot write key `{shown}`: {e}")),
    };
    let mut bytes = [0; KEY_BYTES];
    getrandom::fill(&mut bytes)
        .map_err(|e| Trouble::File(format!("the system gives no random numbers for a key: {e}")))?;
    let text: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
    let mut open = std::fs::OpenOptions::new();
    open.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    let mut file = open.open(path).map_err(fail)?;
    file.write_all(text.as_bytes())
        .and_then(|()| file.write_all(b"\n"))
        .and_then(|()| file.sync_all())
        .map_err(|e| {
            // half a key is worse than none
            let _ = std::fs::remove_file(path);
            fail(e)
        })
}
