//! `idlewright verify`: what a class handed in is run again, many logbooks at a time.
//!
//! *Inside*: which files, running them in parallel, seals, attempts that are one and the same. *Outside*: running one
//! (`replay`), the table and the CSV ([`crate::report`]).
//!
//! Every file gets one verdict: *consistent*, *altered*, *other version*, or *not judged* where it is no logbook
//! or what it was made from is not at hand: of these nothing is said about who changed what. Exit codes: 0 all
//! are consistent and no seal is forged; 5 any is not; 4 or 2 trouble with the command itself; 130 stopped.

use crate::bench::record::hash_of_text;
use crate::cli::replay::{Came, How, Unread, judge, read_book};
use crate::cli::who::read_key;
use crate::cli::{
    LidArg, Origin, Teller, Trouble, probe, read_origin, read_rubric, say, with_sheet, write_all,
};
use crate::lesson::Grade;
use crate::report::{HandedIn, debrief_html, handed_in_csv, handed_in_table};
use crate::session::logbook::Claims;
use crate::session::replay::Verdict;
use crate::session::ticket::{Key, Seal};
use crate::session::{JSON_SCHEMA, Progress, Run};
use clap::Args;
use rayon::prelude::*;
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};
use std::io::IsTerminal;
use std::panic::AssertUnwindSafe;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Instant;

/// How deep folders are looked through.
const DEEPEST: usize = 16;

/// Arguments of `verify`.
#[derive(Args)]
pub(super) struct VerifyArgs {
    /// Logbooks; of a folder all *.jsonl in and below it
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// A scenario that does not ship; may be given more than once
    #[arg(long, value_name = "FILE")]
    scenario: Vec<String>,
    /// The instructor's key, to check seals with
    #[arg(long, value_name = "FILE")]
    key: Option<String>,
    /// Rows laid over the rubric
    #[arg(long, value_name = "FILE")]
    rubric: Option<String>,
    /// Folder for the debrief of each logbook that comes out
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Lift the lid in those debriefs; where a scenario locks it, with --key and a good seal only
    #[arg(long, value_enum)]
    lid: Option<LidArg>,
    /// Write one row for each logbook into this file
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Print one JSON object instead of the table
    #[arg(long)]
    json: bool,
    /// Drive each car's earlier life anew, without the kept one
    #[arg(long)]
    no_cache: bool,
}

/// A file to judge, or why there is none.
struct Found {
    path: PathBuf,
    missing: Option<String>,
    twice: bool,
}

/// What a first look at a file tells: enough to find attempts that are one and the same.
struct Look {
    claims: Claims,
    /// Hash of the text, whatever its line ends.
    whole: String,
    /// Hash of the lines between first and last; none where there are none.
    lines: Option<String>,
}

/// What came of one text.
#[derive(Clone)]
struct Judged {
    verdict: &'static str,
    reason: String,
    line: Option<usize>,
    lid_open: Option<bool>,
    minutes: Option<f64>,
    money: Option<f64>,
    parts: Option<usize>,
    met: Option<usize>,
    expectations: Option<usize>,
    grade: Option<Grade>,
    /// Its debrief, if it was asked for.
    page: Option<String>,
    /// Time of the processor that the car's earlier life took, if it was driven anew, and the rest \[s\].
    spent_s: (f64, f64),
    cache_trouble: Option<String>,
}

impl Judged {
    fn without_run(verdict: &'static str, reason: &str, line: Option<usize>) -> Self {
        Self {
            verdict,
            reason: reason.into(),
            line,
            lid_open: None,
            minutes: None,
            money: None,
            parts: None,
            met: None,
            expectations: None,
            grade: None,
            page: None,
            spent_s: (0.0, 0.0),
            cache_trouble: None,
        }
    }
    fn not(reason: &str) -> Self {
        Self::without_run("not judged", reason, None)
    }
}

/// Runs the command; gives the exit code.
#[expect(
    clippy::disallowed_methods,
    reason = "how long it took is told by the wall clock; no verdict sees it"
)]
pub(super) fn verify(args: &VerifyArgs) -> Result<u8, Trouble> {
    let scenarios = args.scenario.iter().map(|s| read_origin(s)).collect::<Result<Vec<Origin>, _>>()?;
    for s in &scenarios {
        // a file that does not read would leave its logbooks unjudged, each with the same reason
        s.read(None)?;
    }
    let key = args.key.as_deref().map(read_key).transpose()?;
    if let Some(csv) = &args.csv {
        let (dir, name) = apart(csv)?;
        probe(dir, &[name])?;
    }
    let began = Instant::now();
    let found = find(&args.files);
    let stop = Teller::new().stop;
    let looks: Vec<Result<Look, String>> = found.par_iter().map(look).collect();
    let same = same_attempts(&looks);
    // a text that was handed in twice is run once
    let first: BTreeSet<usize> = (0..found.len()).filter(|k| same[*k].0 == *k && looks[*k].is_ok()).collect();
    let rubric = args.rubric.as_deref().map(read_rubric).transpose()?;
    if let Some(dir) = &args.out {
        probe(dir, &[])?;
    }
    let how = How {
        scenarios: &scenarios,
        rubric: rubric.as_ref(),
        open: args.lid == Some(LidArg::Open),
        unlocks: false,
        use_cache: !args.no_cache,
        before: &|| Ok(()),
    };
    let done = AtomicUsize::new(0);
    let judged: BTreeMap<usize, Judged> = first
        .par_iter()
        .map(|k| {
            let sealed = looks[*k].as_ref().is_ok_and(|l| sealed(&l.claims, key.as_ref()));
            let how = How { unlocks: sealed, ..how };
            let page = args.out.as_deref().map(|dir| (dir, *k + 1));
            let judged = judge_one(&found[*k].path, &how, page, &stop);
            tell_progress(done.fetch_add(1, Ordering::Relaxed) + 1, first.len());
            judged.map(|j| (*k, j))
        })
        .collect::<Result<_, Trouble>>()?;
    let mut rows = Vec::new();
    let mut spent_s = (0.0, 0.0);
    for (k, f) in found.iter().enumerate() {
        let (claims, came) = match &looks[k] {
            Ok(l) => (l.claims.clone(), judged.get(&same[k].0).cloned()),
            Err(why) => (Claims::default(), Some(Judged::not(why))),
        };
        let came = came.unwrap_or_else(|| Judged::not("it was not reached"));
        if same[k].0 == k {
            spent_s = (spent_s.0 + came.spent_s.0, spent_s.1 + came.spent_s.1);
        }
        rows.push(row(f, &claims, came, key.as_ref(), same[k].1.map(|j| (&found[j], same[k].0 != k))));
    }
    let wall_s = began.elapsed().as_secs_f64();
    let troubles: BTreeSet<&String> = judged.values().filter_map(|j| j.cache_trouble.as_ref()).collect();
    for why in troubles {
        eprintln!("{why}; it is driven anew each time");
    }
    eprintln!(
        "{} logbooks run again in {wall_s:.1} s on {} threads; time of the processor: {:.1} s for earlier lives that \
         were not kept, {:.1} s for the rest",
        first.len(),
        rayon::current_num_threads(),
        spent_s.0,
        spent_s.1
    );
    let written = match &args.csv {
        Some(csv) => apart(csv).and_then(|(dir, name)| write_all(dir, &[(name, handed_in_csv(&rows))])),
        None => Ok(()),
    };
    if args.json {
        say(&format!(
            "{}\n",
            json!({
                "schema": JSON_SCHEMA,
                "version": env!("CARGO_PKG_VERSION"),
                "files": rows,
                "wall_s": wall_s,
                "rebuild_cpu_s": spent_s.0,
                "run_cpu_s": spent_s.1,
            })
        ))?;
    } else {
        say(&handed_in_table(&rows))?;
    }
    written?;
    let good = |r: &HandedIn| r.verdict == "consistent" && r.seal != Seal::Forged.word();
    Ok(if rows.iter().all(good) { 0 } else { 5 })
}

/// How far it is, where somebody looks on.
fn tell_progress(done: usize, all: usize) {
    if std::io::stderr().is_terminal() {
        eprint!("\r\x1b[2K{}", if done < all { format!("{done} of {all} run again") } else { String::new() });
    }
}

/// Folder and name of a file to write.
fn apart(path: &Path) -> Result<(&Path, &str), Trouble> {
    let dir = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match path.file_name().and_then(|n| n.to_str()) {
        Some(name) => Ok((dir, name)),
        None => Err(Trouble::File(format!("cannot write `{}`: it is no file's name", path.display()))),
    }
}

/// The files that arguments name, in their order, those of a folder by name; each once.
fn find(args: &[PathBuf]) -> Vec<Found> {
    let mut all: Vec<Found> = Vec::new();
    let mut known: BTreeMap<PathBuf, usize> = BTreeMap::new();
    let mut add = |path: PathBuf, missing: Option<String>, named: bool| {
        // two names of one file are one file
        let one = path.canonicalize().unwrap_or_else(|_| path.clone());
        if let Some(k) = known.get(&one) {
            all[*k].twice |= named;
            return;
        }
        known.insert(one, all.len());
        all.push(Found { path, missing, twice: false });
    };
    for path in args {
        if !path.is_dir() {
            let missing = if path.exists() { None } else { Some("there is no such file".to_owned()) };
            add(path.clone(), missing, true);
            continue;
        }
        let mut below = Vec::new();
        let missing = match walk(path, 0, &mut below) {
            Err(why) => Some(format!("cannot read this folder: {why}")),
            Ok(()) if below.is_empty() => Some("a folder without a *.jsonl in or below it".to_owned()),
            Ok(()) => None,
        };
        if missing.is_some() {
            add(path.clone(), missing, true);
        }
        below.sort();
        for file in below {
            add(file, None, false);
        }
    }
    all
}

/// All *.jsonl in and below a folder. Links to folders are not followed: they may lead round in a circle.
#[expect(clippy::disallowed_methods, reason = "the command line reads the folders that a person names")]
fn walk(dir: &Path, depth: usize, out: &mut Vec<PathBuf>) -> Result<(), std::io::Error> {
    for entry in std::fs::read_dir(dir)? {
        let entry = entry?;
        let path = entry.path();
        if entry.file_type()?.is_dir() {
            if depth < DEEPEST {
                walk(&path, depth + 1, out)?;
            }
        } else if path.extension().is_some_and(|e| e == "jsonl") {
            out.push(path);
        }
    }
    Ok(())
}

/// A file's text, or why there is none.
fn text_of(path: &Path) -> Result<String, String> {
    read_book(path).map_err(|t| match t {
        Unread::File(why) => format!("cannot be read: {why}"),
        Unread::Large => format!("no logbook: {}", Unread::LARGE),
        Unread::NotText => format!("no logbook: {}", Unread::NOT_TEXT),
    })
}

fn look(found: &Found) -> Result<Look, String> {
    if let Some(why) = &found.missing {
        return Err(why.clone());
    }
    let text = text_of(&found.path)?.replace("\r\n", "\n");
    let lines: Vec<&str> = text.trim_end_matches('\n').split('\n').collect();
    let between = match lines.as_slice() {
        // an attempt in which nobody did anything is like any other
        [_, between @ .., _] if between.iter().any(|l| l.contains("{\"act\":")) => Some(between.join("\n")),
        _ => None,
    };
    Ok(Look {
        claims: Claims::of(&text),
        whole: hash_of_text(text.trim_end_matches('\n')),
        lines: between.map(|b| hash_of_text(&b)),
    })
}

/// For each file the first with the very same text, and another before it that holds the same attempt: the same text,
/// or the same lines under another header.
fn same_attempts(looks: &[Result<Look, String>]) -> Vec<(usize, Option<usize>)> {
    let (mut texts, mut lines): (BTreeMap<&str, usize>, BTreeMap<&str, usize>) = Default::default();
    let mut all = Vec::new();
    for (k, look) in looks.iter().enumerate() {
        let Ok(look) = look else {
            all.push((k, None));
            continue;
        };
        let first = *texts.entry(&look.whole).or_insert(k);
        let like = look.lines.as_deref().map(|l| *lines.entry(l).or_insert(k));
        let other = if first < k { Some(first) } else { like.filter(|j| *j < k) };
        all.push((first, other));
    }
    all
}

/// The instructor's key made this attempt's seal.
fn sealed(claims: &Claims, key: Option<&Key>) -> bool {
    match (key, claims.who(), &claims.scenario) {
        (Some(key), Some(who), Some(s)) => key.check(&s.id, &s.hash, &who) == Seal::Sealed,
        _ => false,
    }
}

/// Writes a debrief under a name that tells whose it is; gives the name.
fn write_page(dir: &Path, number: usize, path: &Path, run: &Run) -> Result<String, Trouble> {
    let stem = path.file_stem().map_or_else(|| "logbook".into(), |s| s.to_string_lossy().into_owned());
    let of = run.scenario.vary.who.as_ref().map_or(stem, |w| w.trainee.clone());
    let plain: String = of.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).take(40).collect();
    let name = format!("{number:03}-{plain}.html");
    with_sheet(run, |sheet| write_all(dir, &[(&name, debrief_html(sheet))]))?;
    Ok(name)
}

/// Runs one file's logbook again. What it takes is told in time of the processor, which a busy machine does not
/// change.
fn judge_one(
    path: &Path,
    how: &How<'_>,
    page: Option<(&Path, usize)>,
    stop: &AtomicBool,
) -> Result<Judged, Trouble> {
    let cpu = cpu_time::ThreadTime::now();
    let (mut life_from, mut life_s) = (None, 0.0);
    let mut told = |p: Progress| {
        match (p, life_from) {
            (Progress::Conditioning(_), None) => life_from = Some(cpu.elapsed()),
            (Progress::Running { .. }, Some(from)) if life_s == 0.0 => {
                life_s = cpu.elapsed().saturating_sub(from).as_secs_f64();
            }
            _ => {}
        }
        !stop.load(Ordering::Relaxed)
    };
    if stop.load(Ordering::Relaxed) {
        return Err(Trouble::Stopped);
    }
    let text = match text_of(path) {
        Ok(text) => text,
        Err(why) => return Ok(Judged::not(&why)),
    };
    let name = path.display().to_string();
    // a logbook that brings the program down is no reason to leave the others unjudged
    let came = std::panic::catch_unwind(AssertUnwindSafe(|| judge(&name, &text, how, &mut told)));
    let mut judged = match came {
        Err(_) => Judged::not("the program failed while it ran this again: please report it"),
        Ok(Err(Trouble::Stopped)) => return Err(Trouble::Stopped),
        Ok(Err(Trouble::Input(why) | Trouble::File(why))) => Judged::not(&why),
        Ok(Ok(Came::NoLogbook(why))) => Judged::not(&format!("no logbook: {why}")),
        Ok(Ok(Came::NotAtHand(_, why))) => Judged::not(&why),
        Ok(Ok(Came::Verdict(answer))) => {
            let mut why = answer.why;
            if let (Some(expected), Some(found)) = (&answer.expected, &answer.found) {
                why += &format!(" (expected {expected}; found {found})");
            }
            Judged::without_run(word(answer.verdict), &why, answer.line)
        }
        Ok(Ok(Came::Out(out))) => Judged {
            page: page.map(|(dir, n)| write_page(dir, n, path, &out.run)).transpose()?,
            grade: out.run.grade.clone(),
            lid_open: Some(out.lid_open),
            minutes: Some(out.run.job.minutes),
            money: Some(out.run.job.money),
            parts: Some(out.run.job.parts_bought as usize),
            met: Some(out.run.judged.iter().filter(|j| j.met).count()),
            expectations: Some(out.run.judged.len()),
            cache_trouble: out.cache_trouble,
            ..Judged::without_run(word(out.answer.verdict), &out.answer.why, out.answer.line)
        },
    };
    let all_s = cpu.elapsed().as_secs_f64();
    judged.spent_s = (life_s, all_s - life_s);
    Ok(judged)
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Consistent => "consistent",
        Verdict::Altered => "altered",
        Verdict::OtherVersion => "other version",
    }
}

/// The row of one file; `same` is a file before it that holds the same attempt, and whether its text is the same.
fn row(
    found: &Found,
    claims: &Claims,
    came: Judged,
    key: Option<&Key>,
    same: Option<(&Found, bool)>,
) -> HandedIn {
    let who = claims.who();
    let seal = match (key, &who, &claims.scenario) {
        (Some(key), Some(who), Some(s)) => key.check(&s.id, &s.hash, who),
        // a seal on nobody, or on nothing
        (Some(_), ..) if claims.ticket.is_some() => Seal::Forged,
        (None, ..) if claims.ticket.is_some() => Seal::NotChecked,
        _ => Seal::Unsealed,
    };
    // what is no logbook names nobody
    let named = claims.trainee.is_some() || claims.scenario.is_some();
    let mut reason = came.reason;
    if came.lid_open == Some(true) {
        reason += "; the lid was open";
    }
    if let Some((other, whole)) = same {
        let what = if whole { "the same attempt as" } else { "under another header the very lines of" };
        reason += &format!("; {what} {}", other.path.display());
    }
    if found.twice {
        reason += "; named twice";
    }
    HandedIn {
        file: found.path.display().to_string(),
        trainee: claims.trainee.clone(),
        class_seed: claims.class_seed,
        scenario: claims.scenario.as_ref().map(|s| s.id.clone()),
        seal: if named { seal.word() } else { "-" },
        verdict: came.verdict,
        reason: reason.chars().map(|c| if c.is_control() { ' ' } else { c }).collect(),
        line: came.line,
        same_as: same.map(|(other, _)| other.path.display().to_string()),
        lid_open: came.lid_open,
        minutes: came.minutes,
        money: came.money,
        parts: came.parts,
        met: came.met,
        expectations: came.expectations,
        grade: came.grade,
        debrief: came.page,
    }
}
