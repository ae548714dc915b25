//! Verifying a class's logbooks: many are replayed at a time, seals are checked, and duplicate attempts are found.
//!
//! *Inside*: one verdict on each file. *Outside*: which files there are (the front), replaying one
//! ([`super::replay`]), the table and the CSV ([`crate::report`]).
//!
//! A verdict is *consistent*, *altered*, *other version*, or *not judged* if the file is no logbook or its scenario
//! is not available; a verdict of *not judged* says nothing about who changed what.

use super::replay::{Came, How, judge, of_hash};
use super::results::{acts_as_solution, page_checked};
use super::trainee::key;
use super::{Error, Files, NotKept, Progress, Run, Sort, Unread, VERSION};
use crate::bench::record::hash_of_text;
use crate::lesson::Grade;
use crate::report::{HandedIn, handed_in_csv, handed_in_table};
use crate::session::JSON_SCHEMA;
use crate::session::logbook::Claims;
use crate::session::ticket::{Key, Seal};
use crate::session::verdict::Verdict;
use crate::words::{self, facts, say};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::panic::AssertUnwindSafe;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// A file to judge.
#[derive(Debug, Clone)]
pub struct Found {
    /// Its name.
    pub name: String,
    /// Why it could not be found.
    pub missing: Option<String>,
    /// It was named more than once.
    pub twice: bool,
}

/// Options for judging a class's logbooks.
#[derive(Debug, Clone, Default)]
pub struct Verifier {
    how: How,
    key: Option<Key>,
}

impl Verifier {
    /// Reads the key and the scenarios. A scenario that cannot be read is refused here; otherwise each of its
    /// logbooks would remain unjudged for the same reason.
    pub fn new(files: &dyn Files, how: How, key_file: Option<&str>) -> Result<Self, Error> {
        for s in &how.scenarios {
            s.read(None)?;
        }
        Ok(Self { how, key: key_file.map(|k| key(files, k)).transpose()? })
    }
}

/// Stores a debrief under a name that identifies the trainee.
pub type Keep<'a> = dyn Fn(&str, String) -> Result<(), Error> + Sync + 'a;

/// Callbacks for progress and debriefs, and the flag that stops the work; used from many threads.
pub struct Watch<'a> {
    /// Receives the number of files done and the total.
    pub told: &'a (dyn Fn(usize, usize) + Sync),
    /// Stores a debrief under a name that identifies the trainee; none if debriefs are not wanted.
    pub keep: Option<&'a Keep<'a>>,
    /// Stops the work once it is true.
    pub stop: &'a AtomicBool,
}

impl std::fmt::Debug for Watch<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Watch(..)")
    }
}

/// A share of the files, for one of several machines: share `k` of `of`, counted from 1. Files with identical text
/// fall into the same share, so that the text is run once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// Number of this share, from 1.
    pub k: usize,
    /// Number of shares.
    pub of: usize,
}

impl Share {
    /// All files in one share.
    pub const WHOLE: Share = Share { k: 1, of: 1 };

    /// Parses `K/N`.
    pub fn read(text: &str) -> Result<Self, Error> {
        let wrong = || Error::rule(say!("app-share", given = super::shown(text)));
        let (k, of) = text.split_once('/').ok_or_else(wrong)?;
        let share = Self { k: k.parse().map_err(|_| wrong())?, of: of.parse().map_err(|_| wrong())? };
        if (1..=share.of).contains(&share.k) && share.of <= MOST_SHARES { Ok(share) } else { Err(wrong()) }
    }
    /// Whether number `k` of all, from 0, is in this share.
    pub(super) fn has(self, k: usize) -> bool {
        k % self.of == self.k - 1
    }
}

/// Maximum number of shares.
const MOST_SHARES: usize = 10_000;

/// The verdicts on all files, or on those of a share.
#[derive(Debug, Clone, Default)]
pub struct Verdicts {
    rows: Vec<HandedIn>,
    /// Each row's position among all files, and the total number of files.
    places: Vec<usize>,
    of: usize,
    share: Option<Share>,
    /// Number of logbooks that were run.
    pub run: usize,
    /// CPU time for earlier lives that had to be driven anew, and for everything else \[s\].
    pub spent_s: (f64, f64),
    /// Why conditioned cars could not be cached.
    pub cache_troubles: BTreeSet<NotKept>,
}

impl Verdicts {
    /// The verdicts as a table for a terminal.
    pub fn table(&self) -> String {
        handed_in_table(&self.rows)
    }
    /// The verdicts for a gradebook, one CSV row per logbook.
    pub fn csv(&self) -> String {
        handed_in_csv(&self.rows)
    }
    /// The verdicts as data; `wall_s` is the elapsed time \[s\].
    pub fn json(&self, wall_s: f64) -> Value {
        let mut v = json!({
            "schema": JSON_SCHEMA,
            "version": VERSION,
            "files": self.rows,
            "wall_s": wall_s,
            "rebuild_cpu_s": self.spent_s.0,
            "run_cpu_s": self.spent_s.1,
        });
        if let Some(share) = self.share {
            v["share"] = json!({ "k": share.k, "of": share.of, "files": self.of, "places": self.places });
        }
        v
    }
    /// Merges the verdicts of all shares from the data that each printed; the result is that of a single run.
    pub fn merged(files: &dyn Files, names: &[String]) -> Result<Self, Error> {
        let (mut all, mut shares) = (Self::default(), BTreeSet::new());
        let mut rows: BTreeMap<usize, HandedIn> = BTreeMap::new();
        for name in names {
            let wrong = |why: &str| Error::of(name, say(why));
            let text = super::text_of(files, name, Sort::Logbook)?;
            let told: Told = serde_json::from_str(&text).map_err(|_| wrong("app-no-share"))?;
            if told.version != VERSION || told.schema != JSON_SCHEMA {
                return Err(wrong("app-share-version"));
            }
            let fits =
                all.of == told.share.files && shares.iter().all(|s: &(usize, usize)| s.1 == told.share.of);
            if told.share.places.len() != told.files.len() || !(shares.is_empty() || fits) {
                return Err(wrong("app-share-differs"));
            }
            all.of = told.share.files;
            shares.insert((told.share.k, told.share.of));
            all.spent_s = (all.spent_s.0 + told.rebuild_cpu_s, all.spent_s.1 + told.run_cpu_s);
            for (place, row) in told.share.places.into_iter().zip(told.files) {
                if rows.insert(place, row).is_some() {
                    return Err(wrong("app-share-twice"));
                }
            }
        }
        if rows.len() != all.of || rows.keys().enumerate().any(|(k, place)| k != *place) {
            return Err(Error::rule(say!("app-share-missing", rows = rows.len(), files = all.of)));
        }
        all.rows = rows.into_values().collect();
        Ok(all)
    }
    /// Whether there are seals and none of them matches the key: probably the wrong key was given.
    pub fn fits_no_seal(&self) -> bool {
        let has = |seal: Seal| self.rows.iter().any(|r| r.seal == seal.word());
        has(Seal::Forged) && !has(Seal::Sealed)
    }
    /// Whether all are consistent and no seal is forged.
    pub fn good(&self) -> bool {
        let fine = |r: &HandedIn| r.verdict == CONSISTENT && r.seal != Seal::Forged.word();
        self.rows.iter().all(|r| fine(r) || r.is_missing())
    }
    /// Adds a row for each trainee of a class who handed in nothing, and a remark to the row of each logbook that
    /// names somebody else.
    pub fn compare(&mut self, class: &[String]) {
        for row in &mut self.rows {
            if row.trainee.as_ref().is_some_and(|named| !class.contains(named)) {
                row.unlisted = true;
                row.reason = format!("{}; {}", row.reason, say("app-not-in-list"));
            }
        }
        // a forged seal does not show that this trainee handed the file in
        let own = self.rows.iter().filter(|r| r.seal != Seal::Forged.word());
        let handed_in: BTreeSet<&str> = own.filter_map(|r| r.trainee.as_deref()).collect();
        let missing = class.iter().filter(|who| !handed_in.contains(who.as_str()));
        let rows: Vec<HandedIn> = missing.cloned().map(HandedIn::missing).collect();
        self.rows.extend(rows);
    }
}

const CONSISTENT: &str = "consistent";

/// The data printed by one share.
#[derive(Deserialize)]
struct Told {
    schema: u64,
    version: String,
    files: Vec<HandedIn>,
    rebuild_cpu_s: f64,
    run_cpu_s: f64,
    share: ToldShare,
}

#[derive(Deserialize)]
struct ToldShare {
    k: usize,
    of: usize,
    files: usize,
    places: Vec<usize>,
}

/// Judges all files, or those of a share.
pub fn verify(
    files: &dyn Files,
    found: &[Found],
    by: &Verifier,
    share: Share,
    watch: &Watch<'_>,
) -> Result<Verdicts, Error> {
    let spoken = words::spoken();
    let looks: Vec<Result<Look, String>> = found
        .par_iter()
        .map(|f| {
            let _speaking = words::speak(&spoken);
            look(files, f)
        })
        .collect();
    rubric_fits(&by.how, &looks)?;
    let same = same_attempts(&looks);
    let like = same_acts(&looks);
    // a text handed in twice is run only once
    let own = |k: usize| share.has(same[k].0);
    let first: BTreeSet<usize> =
        (0..found.len()).filter(|k| same[*k].0 == *k && looks[*k].is_ok() && own(*k)).collect();
    let done = AtomicUsize::new(0);
    let judged: BTreeMap<usize, Judged> = first
        .par_iter()
        .map(|k| {
            let _speaking = words::speak(&spoken);
            let unlocks = looks[*k].as_ref().is_ok_and(|l| sealed(&l.claims, by.key.as_ref()));
            let judged = judge_one(files, &found[*k].name, by, unlocks, *k + 1, watch);
            (watch.told)(done.fetch_add(1, Ordering::Relaxed) + 1, first.len());
            judged.map(|j| (*k, j))
        })
        .collect::<Result<_, Error>>()?;
    let (run, of) = (first.len(), found.len());
    let mut all =
        Verdicts { run, of, share: (share != Share::WHOLE).then_some(share), ..Verdicts::default() };
    for (k, f) in found.iter().enumerate().filter(|(k, _)| own(*k)) {
        let (claims, came) = match &looks[k] {
            Ok(l) => (l.claims.clone(), judged.get(&same[k].0).cloned()),
            Err(why) => (Claims::default(), Some(Judged::not(why))),
        };
        let came = came.unwrap_or_else(|| Judged::not(&say("app-not-reached")));
        if same[k].0 == k {
            all.spent_s = (all.spent_s.0 + came.spent_s.0, all.spent_s.1 + came.spent_s.1);
        }
        all.cache_troubles.extend(came.cache_trouble.clone());
        let other = same[k].1.map(|j| (&found[j], same[k].0 == same[j].0));
        let like = like[k].map(|j| &found[j]);
        all.rows.push(row(f, &claims, came, by.key.as_ref(), (other, like)));
        all.places.push(k);
    }
    Ok(all)
}

/// A rubric that fits no scenario of these logbooks is refused once: otherwise each of them would remain unjudged for
/// the same reason. One that fits some of them is reported at the others.
fn rubric_fits(how: &How, looks: &[Result<Look, String>]) -> Result<(), Error> {
    let Some(rows) = &how.rubric else { return Ok(()) };
    let claimed = looks.iter().flatten().filter_map(|l| Some(l.claims.scenario.as_ref()?.hash.as_str()));
    let mut unfit = None;
    for hash in claimed.collect::<BTreeSet<_>>() {
        // a scenario that cannot be read is reported at its logbook
        let Ok(Some(loaded)) = of_hash(hash, &how.scenarios, None) else { continue };
        // whether the reader may see truth depends on each logbook
        match rows.over(&loaded, true) {
            Ok(_) => return Ok(()),
            Err(why) => unfit = unfit.or(Some(why)),
        }
    }
    unfit.map_or(Ok(()), Err)
}

/// What is read of a file before it is run: enough to find duplicate attempts.
struct Look {
    claims: Claims,
    /// Hash of the text, independent of its line endings.
    whole: String,
    /// Hash of the lines between the first and the last; none if there are none.
    lines: Option<String>,
    /// Hash of the acts on the received car, independent of their times; none if there are too few to be distinctive.
    acts: Option<String>,
}

/// Fewer acts than this may well coincide at two benches.
const TELLING: usize = 6;

/// The acts on the received car that a logbook records, in order.
fn acts_of(lines: &[&str]) -> Option<String> {
    let [header, between @ .., _] = lines else { return None };
    let header: Value = serde_json::from_str(header).ok()?;
    let from_s = header["hand_over_s"].as_f64()?;
    let act = |line: &&str| {
        let line: Value =
            serde_json::from_str(line).ok().filter(|l: &Value| l["t_s"].as_f64() >= Some(from_s))?;
        let action = &line["kind"]["act"]["action"];
        (action.is_object() && action.get("note").is_none()).then(|| action.to_string())
    };
    let acts: Vec<String> = between.iter().filter(|l| l.contains("{\"act\":")).filter_map(act).collect();
    (acts.len() >= TELLING).then(|| hash_of_text(&acts.join("\n")))
}

/// A file's text, or why it could not be read.
fn text_of(files: &dyn Files, name: &str) -> Result<String, String> {
    let no_logbook = |why: String| say!("app-is-no-logbook", why = why);
    let bytes = files.read(name, Sort::Logbook).map_err(|e| match e {
        Unread::System(why) => say!("app-cannot-be-read", why = why),
        Unread::NoFile => say!("app-cannot-be-read", why = say("app-not-a-file")),
        Unread::TooLarge => no_logbook(say!("app-too-large", sort = "logbook")),
    })?;
    String::from_utf8(bytes).map_err(|_| no_logbook(say("app-not-utf8")))
}

fn look(files: &dyn Files, found: &Found) -> Result<Look, String> {
    if let Some(why) = &found.missing {
        return Err(why.clone());
    }
    let text = text_of(files, &found.name)?.replace("\r\n", "\n");
    let lines: Vec<&str> = text.trim_end_matches('\n').split('\n').collect();
    let between = match lines.as_slice() {
        // an attempt without any act looks like every other
        [_, between @ .., _] if between.iter().any(|l| l.contains("{\"act\":")) => Some(between.join("\n")),
        _ => None,
    };
    Ok(Look {
        claims: Claims::of(&text),
        whole: hash_of_text(text.trim_end_matches('\n')),
        lines: between.map(|b| hash_of_text(&b)),
        acts: acts_of(&lines),
    })
}

/// For each file, the first file with identical text, and another file that holds the same attempt: the same text, or
/// the same lines under another header. No file tells who copied from whom, so each row names the other.
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
    let others = both_ways(all.iter().map(|(_, other)| *other).collect());
    all.iter().zip(others).map(|((first, _), other)| (*first, other)).collect()
}

/// Pairs of which the later names the earlier, so that the earlier names the first later one, too.
fn both_ways(mut others: Vec<Option<usize>>) -> Vec<Option<usize>> {
    for k in 0..others.len() {
        if let Some(earlier) = others[k].filter(|j| *j < k) {
            others[earlier].get_or_insert(k);
        }
    }
    others
}

/// For each file, another file in which someone else did exactly the same acts in the same order.
fn same_acts(looks: &[Result<Look, String>]) -> Vec<Option<usize>> {
    let mut known: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let who = |k: usize| looks[k].as_ref().ok().and_then(|l| l.claims.trainee.as_deref());
    let mut of = |k: usize| {
        let look = looks[k].as_ref().ok()?;
        let key = (look.claims.scenario.as_ref()?.id.as_str(), look.acts.as_deref()?);
        let first = *known.entry(key).or_insert(k);
        (first < k && who(first) != who(k)).then_some(first)
    };
    both_ways((0..looks.len()).map(&mut of).collect())
}

/// The result for one text.
#[derive(Clone, Default)]
struct Judged {
    verdict: &'static str,
    reason: String,
    line: Option<usize>,
    actions: Option<String>,
    lid_open: Option<bool>,
    minutes: Option<f64>,
    money: Option<f64>,
    parts: Option<usize>,
    met: Option<usize>,
    expectations: Option<usize>,
    grade: Option<Grade>,
    /// Its debrief, if one was requested.
    page: Option<String>,
    /// Its acts are those of the model solution, in the same order.
    as_solution: bool,
    /// CPU time for driving the car's earlier life, if it was driven anew, and for everything else \[s\].
    spent_s: (f64, f64),
    cache_trouble: Option<NotKept>,
}

impl Judged {
    fn without_run(verdict: &'static str, reason: &str, line: Option<usize>) -> Self {
        Self { verdict, reason: reason.into(), line, ..Self::default() }
    }
    fn not(reason: &str) -> Self {
        Self::without_run("not judged", reason, None)
    }
}

/// Whether this attempt's seal was made with the instructor's key.
fn sealed(claims: &Claims, key: Option<&Key>) -> bool {
    match (key, claims.who(), &claims.scenario) {
        (Some(key), Some(who), Some(s)) => key.check(&s.id, &s.hash, &who) == Seal::Sealed,
        _ => false,
    }
}

/// A debrief's name, which identifies the trainee.
fn page_name(number: usize, name: &str, run: &Run) -> String {
    let stem = std::path::Path::new(name).file_stem();
    let stem = stem.map_or_else(|| "logbook".into(), |s| s.to_string_lossy().into_owned());
    let of = run.scenario.vary.who.as_ref().map_or(stem, |w| w.trainee.clone());
    let plain: String = of.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).take(40).collect();
    format!("{number:03}-{plain}.html")
}

/// Maximum CPU time for one file \[s of one processor core\]: a file that needs more must not keep a class waiting.
/// An hour at the car takes some seconds, a year of driving some minutes.
const MOST_CPU_S: f64 = 900.0;

/// Replays one file's logbook. Its cost is measured in CPU time, which does not depend on the load of the machine.
fn judge_one(
    files: &dyn Files,
    name: &str,
    by: &Verifier,
    unlocks: bool,
    number: usize,
    watch: &Watch<'_>,
) -> Result<Judged, Error> {
    let cpu = cpu_time::ThreadTime::now();
    let mut spent = false;
    let (mut life_from, mut life_s) = (None, 0.0);
    let mut told = |p: Progress| {
        match (p, life_from) {
            (Progress::Conditioning(_), None) => life_from = Some(cpu.elapsed()),
            (Progress::Running { .. }, Some(from)) if life_s == 0.0 => {
                life_s = cpu.elapsed().saturating_sub(from).as_secs_f64();
            }
            _ => {}
        }
        spent = cpu.elapsed().as_secs_f64() > MOST_CPU_S;
        !spent && !watch.stop.load(Ordering::Relaxed)
    };
    if watch.stop.load(Ordering::Relaxed) {
        return Err(Error::Stopped);
    }
    let text = match text_of(files, name) {
        Ok(text) => text,
        Err(why) => return Ok(Judged::not(&why)),
    };
    // a logbook that crashes the program must not leave the others unjudged
    let came = std::panic::catch_unwind(AssertUnwindSafe(|| {
        judge(name, &text, &by.how, unlocks, &|| Ok(()), &mut told)
    }));
    let mut judged = match came {
        Err(_) => Judged::not(&say("app-program-failed")),
        Ok(Err(Error::Stopped)) if spent => {
            Judged::not(&say!("app-takes-too-long", minutes = MOST_CPU_S / 60.0))
        }
        Ok(Err(Error::Stopped)) => return Err(Error::Stopped),
        Ok(Err(e)) => Judged::not(&e.to_string()),
        Ok(Ok(came)) => told_of(came, name, unlocks, number, watch)?,
    };
    let all_s = cpu.elapsed().as_secs_f64();
    judged.spent_s = (life_s, all_s - life_s);
    Ok(judged)
}

fn told_of(came: Came, name: &str, sealed: bool, number: usize, watch: &Watch<'_>) -> Result<Judged, Error> {
    Ok(match came {
        Came::NoLogbook(why) => Judged::not(&say!("app-is-no-logbook", why = facts::reason(&why))),
        Came::NotAtHand(_, why) => Judged::not(&facts::reason(&why)),
        Came::Verdict(answer) => {
            let mut why = facts::reason(&answer.reason);
            if let (Some(expected), Some(found)) = (&answer.expected, &answer.found) {
                why = say!(
                    "app-expected-found",
                    why = why,
                    expected = expected.as_str(),
                    found = found.as_str()
                );
            }
            Judged::without_run(word(answer.verdict), &why, answer.line)
        }
        Came::Out(out) => {
            let page_of = |keep: &(dyn Fn(&str, String) -> Result<(), Error> + Sync)| {
                let name = page_name(number, name, &out.run);
                keep(&name, page_checked(&out.run, sealed)).map(|()| name)
            };
            Judged {
                page: watch.keep.map(page_of).transpose()?,
                as_solution: acts_as_solution(&out.run, TELLING),
                grade: out.run.grade.clone(),
                actions: out.run.actions.as_ref().map(|a| a.about.title.clone()),
                lid_open: Some(out.lid_open),
                minutes: Some(out.run.job.minutes),
                money: Some(out.run.job.money),
                parts: Some(out.run.job.parts_bought as usize),
                met: Some(out.run.judged.iter().filter(|j| j.met).count()),
                expectations: Some(out.run.judged.len()),
                cache_trouble: out.cache_trouble,
                ..Judged::without_run(
                    word(out.answer.verdict),
                    &facts::reason(&out.answer.reason),
                    out.answer.line,
                )
            }
        }
    })
}

/// The id of a verdict.
pub fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Consistent => CONSISTENT,
        Verdict::Altered => "altered",
        Verdict::OtherVersion => "other version",
    }
}

/// The row for one file. `same` is another file that holds the same attempt, and whether its text is identical;
/// `like` is one in which someone else did the same acts.
fn row(
    found: &Found,
    claims: &Claims,
    came: Judged,
    key: Option<&Key>,
    (same, like): (Option<(&Found, bool)>, Option<&Found>),
) -> HandedIn {
    let who = claims.who();
    let seal = match (key, &who, &claims.scenario) {
        (Some(key), Some(who), Some(s)) => key.check(&s.id, &s.hash, who),
        // a seal without a trainee or without a scenario
        (Some(_), ..) if claims.ticket.is_some() => Seal::Forged,
        (None, ..) if claims.ticket.is_some() => Seal::NotChecked,
        _ => Seal::Unsealed,
    };
    // a file that is no logbook names nobody
    let named = claims.trainee.is_some() || claims.scenario.is_some();
    let mut reasons = vec![came.reason];
    if came.lid_open == Some(true) {
        reasons.push(say("app-lid-was-open"));
    }
    if let Some((other, whole)) = same {
        let id = if whole { "app-same-attempt" } else { "app-same-lines" };
        reasons.push(say!(id, file = other.name.as_str()));
    } else if let Some(other) = like {
        // for the instructor to see: two who worked it out together did nothing wrong
        reasons.push(say!("app-same-acts", file = other.name.as_str()));
    }
    if came.as_solution {
        reasons.push(say("app-solution-acts"));
    }
    if found.twice {
        reasons.push(say("app-named-twice"));
    }
    HandedIn {
        file: found.name.clone(),
        trainee: claims.trainee.clone(),
        class_seed: claims.class_seed,
        scenario: claims.scenario.as_ref().map(|s| s.id.clone()),
        actions: came.actions,
        seal: if named { seal.word() } else { "-" }.into(),
        verdict: came.verdict.into(),
        reason: reasons.join("; ").chars().map(|c| if c.is_control() { ' ' } else { c }).collect(),
        line: came.line,
        same_as: same.map(|(other, _)| other.name.clone()),
        acts_as: like.filter(|_| same.is_none()).map(|other| other.name.clone()),
        as_solution: came.as_solution,
        unlisted: false,
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
