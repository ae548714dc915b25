//! `idlewright run`, and the arguments that it shares with other commands.

use super::files::{Disk, no_earlier, not_there, print, print_data, probe, room_for, write_all, write_one};
use super::tell::{Teller, cache_trouble, cautions};
use crate::app::attempt::{Request, prepare};
use crate::app::trainee::Trainee;
use crate::app::{Error, Options, results, sound, terminal};
use crate::words::say;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Who works: chooses the variant that is run.
#[derive(Args, Default)]
pub(super) struct WhoArgs {
    #[arg(long, value_name = "N", requires = "trainee", conflicts_with = "ticket")]
    class_seed: Option<u64>,
    #[arg(long, value_name = "WORD", requires = "class_seed", conflicts_with = "ticket")]
    trainee: Option<String>,
    #[arg(long, value_name = "FILE")]
    ticket: Option<String>,
}

impl WhoArgs {
    pub(super) fn trainee(&self) -> Trainee<'_> {
        Trainee {
            class_seed: self.class_seed,
            trainee: self.trainee.as_deref(),
            ticket: self.ticket.as_deref(),
        }
    }
}

/// Which variant of a scenario: other parts by a seed, or the one of whoever works.
#[derive(Args, Default)]
pub(super) struct VariantArgs {
    #[arg(long, value_name = "N", conflicts_with_all = ["class_seed", "trainee", "ticket"])]
    pub(super) seed: Option<u64>,
    #[command(flatten)]
    pub(super) who: WhoArgs,
}

impl VariantArgs {
    /// The same on a command line, each argument after a space.
    pub(super) fn words(&self) -> String {
        let quoted = |text: &str| {
            let plain = |c: char| c.is_alphanumeric() || "-_./\\:".contains(c);
            if !text.is_empty() && text.chars().all(plain) { text.to_owned() } else { format!("\"{text}\"") }
        };
        let numbers = [("--seed", self.seed), ("--class-seed", self.who.class_seed)];
        let numbers = numbers.into_iter().filter_map(|(key, x)| Some((key, x?.to_string())));
        let words = [("--trainee", &self.who.trainee), ("--ticket", &self.who.ticket)];
        let words = words.into_iter().filter_map(|(key, word)| Some((key, quoted(word.as_ref()?))));
        numbers.chain(words).map(|(key, word)| format!(" {key} {word}")).collect()
    }
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum LidArg {
    Open,
    Closed,
}

#[derive(Args, Default)]
pub(super) struct RunArgs {
    file: String,
    #[arg(long, value_name = "FILE")]
    actions: Option<String>,
    #[command(flatten)]
    variant: VariantArgs,
    #[arg(long, value_name = "D")]
    step_deg: Option<f64>,
    #[arg(long, value_name = "FILE")]
    answers: Option<String>,
    #[arg(long, value_name = "FILE")]
    rubric: Option<String>,
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[arg(long, requires = "out")]
    force: bool,
    #[arg(long)]
    json: bool,
    #[arg(long, value_enum, hide_possible_values = true)]
    lid: Option<LidArg>,
    #[arg(long)]
    no_cache: bool,
    #[arg(long, value_name = "FILE")]
    sound: Option<PathBuf>,
    #[arg(long, value_name = "SECONDS", requires = "sound", allow_negative_numbers = true)]
    sound_from: Option<f64>,
    #[arg(long, value_name = "SECONDS", requires = "sound", allow_negative_numbers = true)]
    sound_for: Option<f64>,
}

impl RunArgs {
    /// A scenario by name, with every other option at its default.
    pub(super) fn of(file: &str) -> Self {
        Self { file: file.into(), ..Self::default() }
    }
}

/// Checks that the model can run at this crank step.
pub(super) fn check_step(step_deg: f64) -> Result<(), Error> {
    if [2.0, 1.0, 0.5].contains(&step_deg) {
        return Ok(());
    }
    Err(Error::rule(say!("usage-step-deg", given = step_deg.to_string())))
}

/// Runs the command; returns the exit code.
pub(super) fn run(args: &RunArgs) -> Result<u8, Error> {
    args.step_deg.map_or(Ok(()), check_step)?;
    let hear = args.sound.as_ref().map(|_| sound::stretch(args.sound_from, args.sound_for)).transpose()?;
    let request = Request {
        scenario: &args.file,
        trainee: args.variant.who.trainee(),
        actions: args.actions.as_deref(),
        answers: args.answers.as_deref(),
        rubric: args.rubric.as_deref(),
        options: Options {
            seed: args.variant.seed,
            step_deg: args.step_deg,
            lid_open: args.lid == Some(LidArg::Open),
            use_cache: !args.no_cache,
            ..Options::default()
        },
        hear,
    };
    let attempt = prepare(&Disk, &request)?;
    if let Some(file) = &args.sound {
        not_there(file, args.force)?;
        room_for(file)?;
    }
    if let Some(dir) = &args.out {
        if !args.force {
            no_earlier(dir, results::LOGBOOK)?;
        }
        probe(dir, &results::FILES)?;
    }
    cautions(&attempt.cautions());
    let mut teller = Teller::new();
    let done = attempt.run(&mut |p| teller.hear(p));
    teller.end();
    let done = done?;
    cache_trouble(&done.cache_trouble);
    // the result is printed even if it cannot be written
    let written = args.out.as_ref().map_or(Ok(()), |dir| write_all(dir, &done.results().all()));
    if args.json {
        print_data(&format!("{}\n", results::json(&done.run)))?;
    } else {
        print(&done.results().table())?;
    }
    written?;
    // a run that was stopped before the stretch began has nothing to write
    if let Some(file) = args.sound.as_ref().filter(|_| !(done.run.stopped && done.run.heard.is_empty())) {
        write_one(file, sound::wav(&done.run)?)?;
        terminal::tell(&sound::told(&file.display().to_string(), &done.run));
    }
    if done.run.stopped {
        return Err(Error::Stopped);
    }
    Ok(u8::from(!done.run.all_met()))
}
