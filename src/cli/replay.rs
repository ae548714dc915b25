//! `idlewright replay`: finds what a logbook was made from, runs it again, and tells the verdict. What
//! [`crate::cli::verify`] does with many is done here with one.
//!
//! Exit codes: 0 consistent; 5 altered or other version; 2 no logbook, or its scenario is not at hand; 4 a
//! file that cannot be read or written.

use crate::bench::record::{SOURCES, hash_of_text};
use crate::cli::who::may_name;
use crate::cli::{
    LidArg, Loaded, Origin, RESULTS, Teller, Trouble, begin_told, probe, read_actions, read_origin,
    read_rubric, read_scenario, rubric_over, say, with_sheet, write_results,
};
use crate::report;
use crate::scenario::{ActionFile, Lid, RowPlan};
use crate::session;
use crate::session::logbook::{Logbook, Unfit};
use crate::session::replay::{Answer, Outcome, Verdict};
use crate::session::{Options, Progress, Run};
use crate::store;
use clap::Args;
use serde_json::{Value, json};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Largest logbook that is read \[bytes\].
const LARGEST: u64 = 64 << 20;

/// Arguments of `replay`.
#[derive(Args)]
pub(super) struct ReplayArgs {
    /// The logbook: logbook.jsonl of a run
    file: String,
    /// The scenario it was made from, where that does not ship
    #[arg(long, value_name = "FILE")]
    scenario: Option<String>,
    /// Folder for trace.csv, logbook.jsonl and the debrief of the replay, if it is consistent
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Lift the lid for who reads the debrief; not where the scenario locks it
    #[arg(long, value_enum)]
    lid: Option<LidArg>,
    /// Rows laid over the rubric
    #[arg(long, value_name = "FILE")]
    rubric: Option<String>,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
    /// Drive the car's earlier life anew, without the kept one
    #[arg(long)]
    no_cache: bool,
}

/// How a logbook is run again: what `replay` and `verify` share.
#[derive(Clone, Copy)]
pub(super) struct How<'a> {
    /// Scenarios that do not ship.
    pub(super) scenarios: &'a [Origin],
    /// Rows laid over the rubric, and the file that they come from.
    pub(super) rubric: Option<&'a (Vec<RowPlan>, String)>,
    /// Who reads the debrief may see truth.
    pub(super) open: bool,
    /// A locked lid may be lifted too: the instructor's key was given.
    pub(super) unlocks: bool,
    /// Take conditioned cars from the user's cache.
    pub(super) use_cache: bool,
    /// Known just before anything is simulated.
    pub(super) before: &'a (dyn Fn() -> Result<(), Trouble> + Sync),
}

/// What came of a logbook.
pub(super) enum Came {
    /// It was run again, and comes out.
    Out(Box<Out>),
    /// A verdict without a run to show for it.
    Verdict(Answer),
    /// It is no logbook at all, and why.
    NoLogbook(String),
    /// What it was made from is not at hand: the scenario's id, and why.
    NotAtHand(String, String),
}

/// A consistent logbook's run.
pub(super) struct Out {
    pub(super) answer: Answer,
    pub(super) run: Run,
    /// The lid was open for who worked.
    pub(super) lid_open: bool,
    pub(super) loaded: Loaded,
    /// The trainee's file.
    pub(super) actions: Option<String>,
    /// Why the conditioned car could not be kept.
    pub(super) cache_trouble: Option<String>,
}

/// What ends a replay early: trouble, or what came of it.
enum Early {
    Trouble(Trouble),
    Came(Came),
}

impl From<Trouble> for Early {
    fn from(t: Trouble) -> Self {
        Early::Trouble(t)
    }
}

impl From<Answer> for Early {
    fn from(a: Answer) -> Self {
        Early::Came(Came::Verdict(a))
    }
}

/// Reads a logbook's text, runs it again, and says what came of it.
pub(super) fn judge(
    name: &str,
    text: &str,
    how: &How<'_>,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Came, Trouble> {
    let book = match Logbook::read(text) {
        Ok(book) => book,
        Err(Unfit::NotOne(why)) => return Ok(Came::NoLogbook(why)),
        Err(Unfit::OtherVersion(why)) => {
            let verdict = Verdict::OtherVersion;
            let why = format!("{why}; only the same version can run it again");
            return Ok(Came::Verdict(Answer { verdict, why, line: None, expected: None, found: None }));
        }
        Err(Unfit::Broken(line, why)) => return Ok(Came::Verdict(Answer::altered(line, &why))),
    };
    match run_again(name, &book, how, told) {
        Ok(out) => Ok(Came::Out(Box::new(out))),
        Err(Early::Came(came)) => Ok(came),
        Err(Early::Trouble(t)) => Err(t),
    }
}

/// Runs the command; gives the exit code.
pub(super) fn replay(args: &ReplayArgs) -> Result<u8, Trouble> {
    let text = read_logbook(&args.file)?;
    let given = args.scenario.as_deref().map(read_origin).transpose()?;
    let rubric = args.rubric.as_deref().map(read_rubric).transpose()?;
    let how = How {
        scenarios: given.as_slice(),
        rubric: rubric.as_ref(),
        open: args.lid == Some(LidArg::Open),
        unlocks: false,
        use_cache: !args.no_cache,
        before: &|| args.out.as_ref().map_or(Ok(()), |dir| probe(dir, &RESULTS)),
    };
    let mut teller = Teller::new();
    let came = judge(&args.file, &text, &how, &mut |p| teller.hear(p));
    teller.end();
    match came? {
        Came::Out(out) => {
            if let Some(why) = &out.cache_trouble {
                eprintln!("{why}; it is driven anew each time");
            }
            let written = match &args.out {
                None => Ok(()),
                Some(dir) => with_sheet(&out.run, |sheet| {
                    write_results(dir, &out.run, sheet, &out.loaded.text, out.actions.as_deref())
                }),
            };
            let code = tell(args, Some(&out.run), &out.answer)?;
            written?;
            Ok(code)
        }
        Came::Verdict(answer) => tell(args, None, &answer),
        Came::NoLogbook(why) => Err(Trouble::Input(format!("{}: this is no logbook: {why}", args.file))),
        Came::NotAtHand(id, why) => Err(Trouble::Input(format!("logbook of scenario {id}: {why}"))),
    }
}

fn run_again(
    name: &str,
    book: &Logbook,
    how: &How<'_>,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Out, Early> {
    let loaded = find_scenario(book, how.scenarios)?;
    if hash_of_text(&loaded.scenario.setup.car_toml) != book.car.hash {
        let why = "the car's file is not the one that was run";
        if book.sources != SOURCES {
            let why = format!("made by a build from other sources; {why}");
            let verdict = Verdict::OtherVersion;
            return Err(Answer { verdict, why, line: Some(1), expected: None, found: None }.into());
        }
        return Err(not_at_hand(book, why));
    }
    let actions = actions(book, &loaded)?;
    let lid_open = session::admit(&loaded.scenario, actions.as_ref().map(|a| &a.0), &book.options);
    let named = |lid_open| actions.as_ref().is_none_or(|a| may_name(&loaded, a, lid_open).is_ok());
    if !lid_open.is_ok_and(named) {
        return Err(Answer::altered(1, "no run under this lid could have been made").into());
    }
    (how.before)()?;
    let options = Options { use_cache: how.use_cache, ..book.options };
    if how.open && !how.unlocks && loaded.scenario.about.lid == Lid::Locked {
        return Err(Trouble::Input(format!("{name}: {}", session::Error::Locked)).into());
    }
    let rubric = how.rubric.map(|(rows, file)| rubric_over(rows, file, &loaded)).transpose()?;
    let mut session = begin_told(name, &loaded, None, &options, told)?;
    let cache_trouble = session.cache_trouble().map(str::to_owned);
    if let Some(rubric) = rubric {
        session = session.by_rubric(rubric);
    }
    if how.open {
        session = session.for_reader();
    }
    let hands = actions.as_ref().map(|a| &a.0);
    match session.replay(book, &loaded.text, hands, told) {
        Outcome::Consistent(answer, run) => {
            let lid_open = book.options.lid_open;
            Ok(Out { answer, run: *run, lid_open, loaded, actions: actions.map(|a| a.1), cache_trouble })
        }
        Outcome::Differs(answer) => Err(answer.into()),
        Outcome::Stopped => Err(Trouble::Stopped.into()),
    }
}

/// The scenario of the logbook's hash, of those given or of those that ship.
fn find_scenario(book: &Logbook, given: &[Origin]) -> Result<Loaded, Early> {
    let who = book.who.as_ref();
    if let Some(origin) = given.iter().find(|o| hash_of_text(&o.text()) == book.scenario.hash) {
        return Ok(origin.read(who)?);
    }
    if let Some(s) = store::SCENARIOS.iter().find(|s| hash_of_text(s.text) == book.scenario.hash) {
        return Ok(read_scenario(s.file, s.text.as_bytes(), None, who)?);
    }
    let why = match given {
        [] => "the text that was run does not ship with this program: give its file with --scenario".into(),
        [one] => format!("`{}` is not the scenario that was run", one.file),
        _ => "none of the files given with --scenario is the one that was run".into(),
    };
    Err(not_at_hand(book, &why))
}

/// What was run is not here. If the logbook's own sum does not hold, that is the nearer answer.
fn not_at_hand(book: &Logbook, why: &str) -> Early {
    if book.sum_holds {
        return Early::Came(Came::NotAtHand(short_id(&book.scenario.id), why.into()));
    }
    Answer::altered(1, &format!("the text was changed, here or below: its sum does not hold; and {why}"))
        .into()
}

fn short_id(id: &str) -> String {
    id.chars().filter(|c| !c.is_control()).take(64).collect()
}

/// The trainee's file from the header, for its expectations; and its text.
fn actions(book: &Logbook, loaded: &Loaded) -> Result<Option<(ActionFile, String)>, Early> {
    let Some(text) = book.actions_text()? else { return Ok(None) };
    match read_actions("actions", text.as_bytes(), loaded) {
        Ok(actions) => Ok(Some(actions)),
        Err(_) => {
            Err(Answer::altered(1, "the header's `actions` text is none that could have been run").into())
        }
    }
}

/// Prints the verdict; gives its exit code.
fn tell(args: &ReplayArgs, run: Option<&Run>, answer: &Answer) -> Result<u8, Trouble> {
    if args.json {
        let mut v = json!(answer);
        if let Some(run) = run {
            v["scenario"] = json!(run.scenario.about.id);
            v["actions"] = json!(run.actions.as_ref().map(|a| a.about.id.as_str()));
            v["simulated_s"] = json!(run.bench.time_s());
            v["state_hash"] = json!(run.bench.state_hash());
            v["expectations"] = json!(run.judged);
            v["grade"] = json!(run.grade);
        }
        let mut object = json!({ "schema": session::JSON_SCHEMA, "version": env!("CARGO_PKG_VERSION") });
        if let (Value::Object(all), Value::Object(more)) = (&mut object, v) {
            all.extend(more);
        }
        say(&format!("{object}\n"))?;
    } else {
        say(&in_words(args, run, answer))?;
    }
    Ok(if answer.verdict == Verdict::Consistent { 0 } else { 5 })
}

fn in_words(args: &ReplayArgs, run: Option<&Run>, answer: &Answer) -> String {
    let word = match answer.verdict {
        Verdict::Consistent => "consistent",
        Verdict::Altered => "altered",
        Verdict::OtherVersion => "other version",
    };
    let line = answer.line.map_or(String::new(), |n| format!("line {n}: "));
    let mut out = format!("{}: {word}: {line}{}\n", args.file, answer.why);
    for (name, text) in [("expected", &answer.expected), ("found", &answer.found)] {
        if let Some(text) = text {
            out += &format!("  {name:<9} {text}\n");
        }
    }
    if let Some(run) = run {
        let met = run.judged.iter().filter(|j| j.met).count();
        let by = run.actions.as_ref().map_or(String::new(), |a| format!(", worked by {}", a.about.id));
        out += &format!(
            "  scenario {}{by}, seed {}, lid {}, {:.0} s simulated; {met} of {} expectations met\n",
            run.scenario.about.id,
            run.bench.setup().seed,
            if run.lid_open { "open" } else { "closed" },
            run.bench.time_s(),
            run.judged.len()
        );
        if let Some(g) = &run.grade {
            out += &format!("  {}\n", report::grade_words(g));
        }
        out += "  It tells that these acts come to this. It cannot tell who did them.\n";
    } else if args.out.is_some() {
        out += "  Nothing was written.\n";
    }
    out
}

/// A logbook's text, or why there is none.
fn read_logbook(name: &str) -> Result<String, Trouble> {
    read_book(Path::new(name)).map_err(|t| match t {
        Unread::File(why) => Trouble::File(format!("cannot read `{name}`: {why}")),
        Unread::Large => Trouble::Input(format!("{name}: {}", Unread::LARGE)),
        Unread::NotText => Trouble::Input(format!("{name}: this is no logbook: {}", Unread::NOT_TEXT)),
    })
}

/// Why a file's text could not be had.
pub(super) enum Unread {
    /// The system's reason.
    File(String),
    /// Larger than any logbook.
    Large,
    /// Not UTF-8.
    NotText,
}

impl Unread {
    pub(super) const LARGE: &str = "a logbook is at most 64 MiB long";
    pub(super) const NOT_TEXT: &str = "it is not UTF-8 text";
}

/// A logbook's text.
#[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
pub(super) fn read_book(path: &Path) -> Result<String, Unread> {
    let fail = |e: std::io::Error| Unread::File(e.to_string());
    let meta = std::fs::metadata(path).map_err(fail)?;
    if !meta.is_file() {
        return Err(Unread::File("it is not a file".into()));
    }
    if meta.len() > LARGEST {
        return Err(Unread::Large);
    }
    let mut bytes = Vec::new();
    std::fs::File::open(path).and_then(|f| f.take(LARGEST).read_to_end(&mut bytes)).map_err(fail)?;
    String::from_utf8(bytes).map_err(|_| Unread::NotText)
}
