//! `scenarios`, `job`, `words` and `new`: what ships, a job as it is handed out, the glossary, a starting point for a
//! new scenario.

use super::files::{Disk, print, probe, write_new};
use super::run::WhoArgs;
use crate::app::load::{self, SCENARIO};
use crate::app::{Error, listing, results, shown};
use crate::words::{name, say};
use clap::Args;
use std::path::Path;

/// Arguments of `scenarios`.
#[derive(Args)]
pub(super) struct ScenariosArgs {
    #[arg(long, conflicts_with = "path")]
    actions: bool,
    #[arg(long)]
    path: bool,
}

/// Lists the shipped scenarios. Their action files would reveal the fault to a trainee and are listed only on
/// request.
pub(super) fn scenarios(args: &ScenariosArgs) -> Result<u8, Error> {
    print(&if args.path { along_the_path()? } else { by_family(args.actions) })?;
    Ok(0)
}

fn by_family(actions: bool) -> String {
    let mut text = format!("{}\n", say("list-scenarios"));
    let mut family = "";
    for s in listing::scenarios() {
        if s.family != family {
            family = s.family;
            text += &format!("\n{}\n", name("family", family));
        }
        text += &format!("  {:<30} {}  {}\n", s.name, say!("list-level", level = s.level), s.title);
        if actions && !s.actions.is_empty() {
            text += &format!("      --actions {}\n", s.actions.join(" | "));
        }
    }
    text
}

fn along_the_path() -> Result<String, Error> {
    let all = listing::scenarios();
    let mut text = format!("{}\n", say("list-path"));
    for (k, stage) in (1..).zip(listing::path()?) {
        text += &format!("\n{k}. {}\n", shown(&stage.title));
        for job in stage.job {
            let Some(s) = all.iter().find(|s| s.name == job.id) else { continue };
            text += &format!("  {:<30} {}  {}\n", s.name, say!("list-level", level = s.level), s.title);
            if !job.after.is_empty() {
                text += &format!("      {}\n", say!("list-after", names = job.after.join(", ")));
            }
        }
    }
    Ok(text)
}

/// Prints a glossary entry, the entries that contain the requested word, or all terms if none is given.
pub(super) fn words(asked: &str) -> Result<u8, Error> {
    let all = listing::glossary()?;
    if asked.is_empty() {
        let terms: Vec<&str> = all.iter().map(|w| w.term.as_str()).collect();
        print(&format!("{}\n\n{}\n", terms.join(", "), say("list-words")))?;
        return Ok(0);
    }
    let hits = listing::entries(&all, asked).map_err(|near| {
        let near = near.map_or(String::new(), |n| say!("app-did-you-mean", word = n));
        Error::rule(format!("{}{near}", say!("list-no-word", word = shown(asked))))
    })?;
    for w in hits {
        let also = match w.also.as_slice() {
            [] => String::new(),
            also => format!(" ({})", say!("list-also", words = also.join(", "))),
        };
        let see = match w.see.as_slice() {
            [] => String::new(),
            see => format!(" {}", say!("list-see", words = see.join(", "))),
        };
        print(&format!("{}{also}: {}{see}\n", w.term, w.says))?;
    }
    Ok(0)
}

/// Arguments of `job`.
#[derive(Args)]
pub(super) struct JobArgs {
    file: String,
    #[command(flatten)]
    who: WhoArgs,
}

/// Prints a job as a trainee gets it: the complaint, the cautions, the possible causes, the questions.
pub(super) fn job(args: &JobArgs) -> Result<u8, Error> {
    print(&results::job(&load::scenario(&Disk, &args.file, &args.who.trainee())?.scenario))?;
    Ok(0)
}

/// Writes the template, or a copy of a shipped scenario, without overwriting: into a folder for the scenario, or (the
/// template alone) into a file.
pub(super) fn new(path: &Path, from: Option<&str>) -> Result<u8, Error> {
    let file = path.extension().is_some_and(|e| e == "toml");
    let id = path.file_name().and_then(|n| n.to_str());
    match from {
        Some(_) if file => return Err(Error::rule(say("new-from-needs-folder"))),
        Some(from) => {
            let copied = listing::copied(from, id)?;
            probe(path, &[])?;
            for (name, text) in &copied {
                write_new(&path.join(name), text, false)?;
            }
        }
        None if file => write_new(path, &listing::template(None), false)?,
        None => {
            probe(path, &[])?;
            write_new(&path.join(SCENARIO), &listing::template(id), false)?;
        }
    }
    print(&format!("{}\n", say!("new-done", file = path.display().to_string())))?;
    Ok(0)
}
