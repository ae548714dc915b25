//! `idlewright replay`: finds what a logbook was made from, runs it again, and tells the verdict.
//!
//! Exit codes: 0 consistent; 5 altered or other version; 2 no logbook, or its scenario is not at hand; 4 a
//! file that cannot be read or written.

use crate::bench::record::{SOURCES, hash_of_text};
use crate::cli::{
    Loaded, RESULTS, Teller, Trouble, begin, load_scenario, probe, read_actions, read_scenario, say,
    with_sheet, write_results,
};
use crate::scenario::ActionFile;
use crate::session;
use crate::session::logbook::{Logbook, Unfit};
use crate::session::replay::{Answer, Outcome, Verdict};
use crate::session::{Options, Run};
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
    /// Folder for trace.csv, logbook.jsonl and debrief.html of the replay, if it is consistent
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
    /// Drive the car's earlier life anew, without the kept one
    #[arg(long)]
    no_cache: bool,
}

/// What ends a replay early: trouble, or a verdict.
enum Early {
    Trouble(Trouble),
    Answer(Answer),
}

impl From<Trouble> for Early {
    fn from(t: Trouble) -> Self {
        Early::Trouble(t)
    }
}

impl From<Answer> for Early {
    fn from(a: Answer) -> Self {
        Early::Answer(a)
    }
}

/// Runs the command; gives the exit code.
pub(super) fn replay(args: &ReplayArgs) -> Result<u8, Trouble> {
    let text = read_logbook(&args.file)?;
    let book = match Logbook::read(&text) {
        Ok(book) => book,
        Err(Unfit::NotOne(why)) => {
            return Err(Trouble::Input(format!("{}: this is no logbook: {why}", args.file)));
        }
        Err(Unfit::OtherVersion(why)) => {
            let verdict = Verdict::OtherVersion;
            let why = format!("{why}; only the same version can run it again");
            return tell(args, None, &Answer { verdict, why, line: None, expected: None, found: None });
        }
        Err(Unfit::Broken(line, why)) => return tell(args, None, &Answer::altered(line, &why)),
    };
    match run_again(args, &book) {
        Ok((answer, run, loaded)) => {
            let written = match &args.out {
                None => Ok(()),
                Some(dir) => with_sheet(&run, |sheet| {
                    let actions = book.actions.as_ref().map(|a| a.text.as_str());
                    write_results(dir, &run, sheet, &loaded.text, actions)
                }),
            };
            let code = tell(args, Some(&run), &answer)?;
            written?;
            Ok(code)
        }
        Err(Early::Answer(answer)) => tell(args, None, &answer),
        Err(Early::Trouble(t)) => Err(t),
    }
}

fn run_again(args: &ReplayArgs, book: &Logbook) -> Result<(Answer, Run, Loaded), Early> {
    let loaded = find_scenario(args, book)?;
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
    if session::admit(&loaded.scenario, actions.as_ref(), &book.options).is_err() {
        return Err(Answer::altered(1, "no run under this lid could have been made").into());
    }
    if let Some(dir) = &args.out {
        probe(dir, &RESULTS)?;
    }
    let mut teller = Teller::new();
    let options = Options { use_cache: !args.no_cache, ..book.options };
    let session = begin(&args.file, &loaded, None, &options, &mut teller)?;
    let outcome = session.replay(book, &loaded.text, actions.as_ref(), &mut |p| teller.hear(p));
    teller.end();
    match outcome {
        Outcome::Consistent(answer, run) => Ok((answer, *run, loaded)),
        Outcome::Differs(answer) => Err(answer.into()),
        Outcome::Stopped => Err(Trouble::Stopped.into()),
    }
}

/// The scenario that was given, or the shipped one of the logbook's hash.
fn find_scenario(args: &ReplayArgs, book: &Logbook) -> Result<Loaded, Early> {
    let loaded = match &args.scenario {
        Some(name) => load_scenario(name)?,
        None => {
            let shipped = store::SCENARIOS.iter().find(|s| hash_of_text(s.text) == book.scenario.hash);
            let Some(s) = shipped else {
                let why =
                    "the text that was run does not ship with this program: give its file with --scenario";
                return Err(not_at_hand(book, why));
            };
            read_scenario(s.file, s.text.as_bytes(), None)?
        }
    };
    if hash_of_text(&loaded.text) != book.scenario.hash {
        let name = args.scenario.as_deref().unwrap_or_default();
        return Err(not_at_hand(book, &format!("`{name}` is not the scenario that was run")));
    }
    Ok(loaded)
}

/// What was run is not here. If the logbook's own sum does not hold, that is the nearer answer.
fn not_at_hand(book: &Logbook, why: &str) -> Early {
    if book.sum_holds {
        return Trouble::Input(format!("logbook of scenario {}: {why}", short_id(&book.scenario.id))).into();
    }
    Answer::altered(1, &format!("the text was changed, here or below: its sum does not hold; and {why}"))
        .into()
}

fn short_id(id: &str) -> String {
    id.chars().filter(|c| !c.is_control()).take(64).collect()
}

/// The trainee's file from the header, for its expectations.
fn actions(book: &Logbook, loaded: &Loaded) -> Result<Option<ActionFile>, Early> {
    let Some(text) = book.actions_text()? else { return Ok(None) };
    match read_actions("actions", text.as_bytes(), loaded) {
        Ok((actions, _)) => Ok(Some(actions)),
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
        out += "  It tells that these acts come to this. It cannot tell who did them.\n";
    } else if args.out.is_some() {
        out += "  Nothing was written.\n";
    }
    out
}

/// The logbook's text.
#[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
fn read_logbook(name: &str) -> Result<String, Trouble> {
    let fail = |e: std::io::Error| Trouble::File(format!("cannot read `{name}`: {e}"));
    let path = Path::new(name);
    let meta = std::fs::metadata(path).map_err(fail)?;
    if !meta.is_file() {
        return Err(Trouble::File(format!("cannot read `{name}`: it is not a file")));
    }
    if meta.len() > LARGEST {
        return Err(Trouble::Input(format!("{name}: a logbook is at most 64 MiB long")));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(path).and_then(|f| f.take(LARGEST).read_to_end(&mut bytes)).map_err(fail)?;
    String::from_utf8(bytes)
        .map_err(|_| Trouble::Input(format!("{name}: this is no logbook: it is not UTF-8 text")))
}
