//! The command line: subcommands, files read and written, exit codes.
//!
//! *Inside*: arguments, reading scenario and action files, progress, writing results, turning errors into
//! text; `replay`, `twin`, `verify`, `seal` and opening the window in files of their own. *Outside*: what a run is
//! ([`crate::session`]), what results look like ([`crate::report`]).
//!
//! Exit codes: 0 expectations hold, 1 they don't, 2 bad input, 3 no display for the window, 4 file trouble, 5 a
//! logbook that was altered or written by another version, 130 stopped.

#[cfg(feature = "panels")]
mod open;
mod replay;
mod solve;
mod survey;
mod twin;
mod verify;
mod who;
mod words;

use crate::bench::Bench;
use crate::bench::action::{Action, Connector, PartKind};
use crate::bench::car::Car;
use crate::bench::setup::Setup;
use crate::lesson::Rubric;
use crate::report::{self, Attempt, Beside, Line, Sheet};
use crate::scenario::{
    self, Act, ActionFile, Answers, At, Expect, Place, RowPlan, Scenario, ScenarioError, Timing, Who,
};
use crate::session::ticket;
use crate::session::{self, Options, Progress, Run, Session};
use crate::store;
#[cfg(feature = "panels")]
use crate::window::Open;
use clap::{Args, Parser, Subcommand, ValueEnum};
use serde_json::json;
use std::io::{IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Largest scenario or action file that is read \[bytes\].
const LARGEST: u64 = 1 << 20;

#[derive(Parser)]
#[command(
    name = "idlewright",
    version,
    about = "A bench on which technicians learn how an engine module learns.",
    after_help = "A simplified model of made-up cars: never a reference procedure for a real one. The vehicle maker's\n\
                  current procedure, workplace rules and the instructor always win.\n\n\
                  Exit codes: 0 expectations hold, 1 they don't, 2 bad input, 3 no display for the window, 4 file\n\
                  trouble, 5 a logbook that was altered or written by another version, 130 stopped."
)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// Open the window on a scenario; so does no command at all, on the first one
    #[cfg(feature = "panels")]
    Window(open::WindowArgs),
    /// Run a scenario and tell what came of it
    Run(RunArgs),
    /// Run again what a logbook records, and say whether it comes to the same
    Replay(replay::ReplayArgs),
    /// Run two futures side by side: one with an act, one without it
    Twin(twin::TwinArgs),
    /// Run again the logbooks that were handed in, many at a time, and tell the verdict on each
    Verify(verify::VerifyArgs),
    /// Seal a ticket for each trainee of a class, or make a key to seal with
    Seal(who::SealArgs),
    /// Write a scenario to begin one's own with: every key explained
    New {
        /// The file; one that is there is left alone
        file: PathBuf,
    },
    /// Check scenario and action files without running them
    Check(CheckArgs),
    /// List the shipped scenarios
    Scenarios,
    /// What a word means
    Words {
        /// A word or a part of one; none lists all
        word: Option<String>,
    },
    /// Work out the misfire monitor's limits from a healthy engine
    Calibrate(survey::CalibrateArgs),
    /// How well misfires are found on the right cylinder, and how many are counted that were none
    Curves(survey::CurvesArgs),
    /// Measure how fast warm idle and mixed driving are simulated here
    Speed {
        /// Print one JSON object
        #[arg(long)]
        json: bool,
        /// Crank step in degrees: 2, 1 or 0.5
        #[arg(long, default_value_t = 2.0)]
        step_deg: f64,
        /// Simulated seconds to measure over
        #[arg(long, default_value_t = 2000.0)]
        seconds: f64,
    },
}

#[derive(Args)]
struct RunArgs {
    /// Scenario file, or the name of a shipped one (A0, A1-idles-high ...)
    file: String,
    /// What a trainee does after hand-over: an action file, or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    actions: Option<String>,
    /// Another seed: other parts of the same kinds
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    #[command(flatten)]
    who: who::WhoArgs,
    /// Crank step in degrees: 2, 1 or 0.5
    #[arg(long, value_name = "D")]
    step_deg: Option<f64>,
    /// What the trainee answers when the session asks: cautions, cause, predictions
    #[arg(long, value_name = "FILE")]
    answers: Option<String>,
    /// Rows laid over the rubric: weights, task codes, rows of one's own
    #[arg(long, value_name = "FILE")]
    rubric: Option<String>,
    /// Folder for trace.csv, logbook.jsonl, debrief.html, debrief.json and gradebook.csv
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print one JSON object instead of the table
    #[arg(long)]
    json: bool,
    /// Lift the lid: show truth beside belief
    #[arg(long, value_enum)]
    lid: Option<LidArg>,
    /// Drive the car's earlier life anew; neither read nor keep a conditioned car
    #[arg(long)]
    no_cache: bool,
}

#[derive(Args)]
struct CheckArgs {
    /// Files, or names of shipped scenarios
    #[arg(required = true)]
    files: Vec<String>,
    /// The class's seed, with --trainee or --variants
    #[arg(long, value_name = "N")]
    class_seed: Option<u64>,
    /// Whose variant to check
    #[arg(long, value_name = "WORD", requires = "class_seed", conflicts_with = "variants")]
    trainee: Option<String>,
    /// Check the variants of so many trainees, called 1, 2, 3 and so on
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    variants: Option<u32>,
    /// Run scenarios too: their model solution must close them, fitting every part must not
    #[arg(long)]
    solve: bool,
    /// With --solve: drive the car's earlier life anew
    #[arg(long, requires = "solve")]
    no_cache: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LidArg {
    Open,
    Closed,
}

/// What ended a command early.
enum Trouble {
    /// Exit 2.
    Input(String),
    /// Exit 4.
    File(String),
    /// Exit 130.
    Stopped,
}

impl From<ScenarioError> for Trouble {
    fn from(e: ScenarioError) -> Self {
        Trouble::Input(e.to_string())
    }
}

/// What opens the window, where there can be one.
#[cfg(feature = "panels")]
type Opens = Option<Open>;
#[cfg(not(feature = "panels"))]
type Opens = Option<std::convert::Infallible>;

/// Runs the program without a window on its arguments; gives the exit code.
pub fn run(args: impl IntoIterator<Item = std::ffi::OsString>) -> u8 {
    run_on(args, None)
}

/// The same with a window.
#[cfg(feature = "panels")]
pub fn run_with(args: impl IntoIterator<Item = std::ffi::OsString>, open: Open) -> u8 {
    run_on(args, Some(open))
}

fn run_on(args: impl IntoIterator<Item = std::ffi::OsString>, open: Opens) -> u8 {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(e) => {
            // help and version are no errors; a full pipe is nobody's either
            let _ = e.print();
            return u8::from(e.use_stderr()) * 2;
        }
    };
    let done = match cli.command {
        #[cfg(feature = "panels")]
        None if open.is_some() => open::window(&open::WindowArgs::default(), open),
        #[cfg(feature = "panels")]
        Some(Command::Window(args)) => open::window(&args, open),
        None => {
            eprintln!(
                "This program has no window. Running the first scenario headless; `idlewright --help` tells the rest.\n"
            );
            run_scenario(&RunArgs {
                file: store::SCENARIOS[0].file.into(),
                actions: None,
                answers: None,
                rubric: None,
                seed: None,
                who: who::WhoArgs::default(),
                step_deg: None,
                out: None,
                json: false,
                lid: None,
                no_cache: false,
            })
        }
        Some(Command::Run(args)) => run_scenario(&args),
        Some(Command::Replay(args)) => replay::replay(&args),
        Some(Command::Twin(args)) => twin::twin(&args),
        Some(Command::Verify(args)) => verify::verify(&args),
        Some(Command::Seal(args)) => who::seal(&args),
        Some(Command::New { file }) => new_scenario(&file),
        Some(Command::Check(args)) => check_and_solve(&args),
        Some(Command::Scenarios) => list_scenarios().map(|()| 0),
        Some(Command::Words { word }) => words::words(word.as_deref()),
        Some(Command::Calibrate(args)) => survey::calibrate(&args),
        Some(Command::Curves(args)) => survey::curves(&args),
        Some(Command::Speed { json, step_deg, seconds }) => speed(json, step_deg, seconds),
    };
    match done {
        Ok(code) => code,
        Err(Trouble::Input(why)) => {
            eprintln!("{why}");
            2
        }
        Err(Trouble::File(why)) => {
            eprintln!("{why}");
            4
        }
        Err(Trouble::Stopped) => {
            eprintln!("stopped");
            130
        }
    }
}

/// Prints; a reader who has gone is nobody's trouble, a full disk is.
fn say(text: &str) -> Result<(), Trouble> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Trouble::File(format!("cannot write to the standard output: {e}")))
        }
        _ => Ok(()),
    }
}

/// A file's bytes, or a shipped text; and the folder beside it.
#[expect(clippy::disallowed_methods, reason = "the command line reads the files that a person names")]
fn read(
    name: &str,
    shipped: Option<(&'static str, &'static str)>,
) -> Result<(String, Vec<u8>, Option<PathBuf>), Trouble> {
    let path = Path::new(name);
    if !path.is_file()
        && let Some((file, text)) = shipped
    {
        return Ok((file.into(), text.into(), None));
    }
    let fail = |e: std::io::Error| Trouble::File(format!("cannot read `{name}`: {e}"));
    let meta = std::fs::metadata(path).map_err(fail)?;
    if !meta.is_file() {
        return Err(Trouble::File(format!("cannot read `{name}`: it is not a file")));
    }
    if meta.len() > LARGEST {
        return Err(Trouble::Input(format!("{name}: a scenario file is at most 1 MiB long")));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(path).and_then(|f| f.take(LARGEST).read_to_end(&mut bytes)).map_err(fail)?;
    let beside = path.parent().map(|p| if p.as_os_str().is_empty() { PathBuf::from(".") } else { p.into() });
    Ok((name.into(), bytes, beside))
}

struct Loaded {
    scenario: Scenario,
    text: String,
    sample: serde_json::Value,
    cylinders: usize,
}

/// A scenario's file as it lies there: which variant is read of it comes later.
struct Origin {
    file: String,
    bytes: Vec<u8>,
    /// The folder in which its car's file may lie.
    beside: Option<PathBuf>,
}

impl Origin {
    /// The variant that somebody gets; the scenario as it stands for nobody.
    fn read(&self, who: Option<&Who>) -> Result<Loaded, Trouble> {
        read_scenario(&self.file, &self.bytes, self.beside.as_deref(), who)
    }
    fn text(&self) -> std::borrow::Cow<'_, str> {
        String::from_utf8_lossy(&self.bytes)
    }
}

/// A scenario's file, or a shipped one.
fn read_origin(name: &str) -> Result<Origin, Trouble> {
    let shipped = store::shipped(name).map(|s| (s.file, s.text));
    let (file, bytes, beside) = read(name, shipped)?;
    Ok(Origin { file, bytes, beside })
}

/// The variant of who is named on the command line or by a ticket.
fn load_scenario(name: &str, who: &who::WhoArgs) -> Result<Loaded, Trouble> {
    let source = read_origin(name)?;
    let who = who.who(&source.text())?;
    source.read(who.as_ref())
}

/// A scenario from its bytes, with the folder in which its car's file may lie.
fn read_scenario(
    file: &str,
    bytes: &[u8],
    beside: Option<&Path>,
    who: Option<&Who>,
) -> Result<Loaded, Trouble> {
    let mut car = |name: &str| {
        let text = store::car_text(name, beside)?;
        Car::parse(&text).map_err(|e| format!("`{name}`: {e}"))?;
        Ok(text)
    };
    let scenario = scenario::parse_scenario_for(bytes, file, &mut car, who)?;
    let sample = session::sample(&scenario).map_err(|e| Trouble::Input(format!("{file}: {e}")))?;
    let cylinders = Car::parse(&scenario.setup.car_toml).map_or(0, |c| c.plant.layout.cylinders());
    scenario.check_paths(file, &sample, &Bench::known_codes())?;
    check_end(file, scenario.run_s, &scenario.acts, &scenario.expects)?;
    check_cylinders(file, &scenario.acts, cylinders)?;
    session::teach::rubric(&scenario, file, None)?;
    let text = String::from_utf8_lossy(bytes).into_owned();
    Ok(Loaded { scenario, text, sample, cylinders })
}

fn load_actions(name: &str, of: &Loaded) -> Result<(ActionFile, String), Trouble> {
    let (file, bytes, _) = read(name, store::shipped_actions(name))?;
    read_actions(&file, &bytes, of)
}

/// An action file from its bytes, for a scenario.
fn read_actions(file: &str, bytes: &[u8], of: &Loaded) -> Result<(ActionFile, String), Trouble> {
    let actions = scenario::parse_actions_for(bytes, file, &of.scenario.vary)?;
    actions.check_paths(file, &of.sample, &Bench::known_codes())?;
    check_end(file, actions.run_s, &actions.acts, &actions.expects)?;
    check_cylinders(file, &actions.acts, of.cylinders)?;
    check_notes(file, &actions.acts, &of.scenario)?;
    Ok((actions, String::from_utf8_lossy(bytes).into_owned()))
}

/// Nothing may be asked for after the end: acts with a time of their own and expectations lie before `run_s`.
fn check_end(file: &str, run_s: Option<f64>, acts: &[Act], expects: &[Expect]) -> Result<(), Trouble> {
    let Some(end_s) = run_s else { return Ok(()) };
    let late = |place: Place, what: String| {
        let rule = format!("{what} lies after the end, run_s = {end_s}");
        Err(ScenarioError { file: file.into(), line: place.line, column: place.column, rule, help: None }
            .into())
    };
    for a in acts {
        if let Timing::At(t) = a.timing
            && t > end_s
        {
            return late(a.place, format!("act `{}` at {t} s", a.id));
        }
    }
    for e in expects {
        if let At::Time(t) = e.at
            && t > end_s
        {
            return late(e.place, format!("the expectation at {t} s"));
        }
    }
    Ok(())
}

/// What is said names questions and causes that the scenario has.
fn check_notes(file: &str, acts: &[Act], scenario: &Scenario) -> Result<(), Trouble> {
    for act in acts {
        if let Action::Note(note) = &act.hand
            && let Err(why) = session::teach::check_note(scenario, note)
        {
            let (line, column) = (act.place.line, act.place.column);
            let rule = format!("act `{}`: {why}", act.id);
            return Err(ScenarioError { file: file.into(), line, column, rule, help: None }.into());
        }
    }
    Ok(())
}

/// Somebody's answers, fit for the scenario.
fn load_answers(name: &str, of: &Loaded) -> Result<Answers, Trouble> {
    let (file, bytes, _) = read(name, None)?;
    let answers = scenario::parse_answers(&text_of(&file, bytes)?, &file)?;
    session::teach::check_answers(&of.scenario, &answers)
        .map_err(|why| Trouble::Input(format!("{file}: {why}")))?;
    Ok(answers)
}

/// The rubric for a scenario, with a file's rows laid over it.
fn load_rubric(name: &str, of: &Loaded) -> Result<Rubric, Trouble> {
    let (rows, file) = read_rubric(name)?;
    rubric_over(&rows, &file, of)
}

/// A rubric file's rows, and the file's name.
fn read_rubric(name: &str) -> Result<(Vec<RowPlan>, String), Trouble> {
    let (file, bytes, _) = read(name, None)?;
    let rows = scenario::parse_rubric(&text_of(&file, bytes)?, &file)?;
    Ok((rows, file))
}

fn rubric_over(rows: &[RowPlan], file: &str, of: &Loaded) -> Result<Rubric, Trouble> {
    Ok(session::teach::rubric(&of.scenario, &of.scenario.about.id, Some((rows, file)))?)
}

fn text_of(file: &str, bytes: Vec<u8>) -> Result<String, Trouble> {
    String::from_utf8(bytes).map_err(|_| Trouble::Input(format!("{file}: a file must be text in UTF-8")))
}

/// Hands may only reach for cylinders that the car has.
fn check_cylinders(file: &str, acts: &[Act], cylinders: usize) -> Result<(), Trouble> {
    for act in acts {
        let k = match &act.hand {
            Action::Connector(Connector::Injector(k) | Connector::Coil(k), _) => *k,
            Action::Fit(choice) => match choice.kind {
                PartKind::Injector(k) => k,
                _ => continue,
            },
            _ => continue,
        };
        if usize::from(k) > cylinders {
            return Err(ScenarioError {
                file: file.into(),
                line: act.place.line,
                column: act.place.column,
                rule: format!("act `{}` reaches for cylinder {k}; this car has {cylinders}", act.id),
                help: None,
            }
            .into());
        }
    }
    Ok(())
}

/// Tells on the error stream how far a run is.
struct Teller {
    stop: Arc<AtomicBool>,
    began: Instant,
    running_since: Option<(Instant, f64)>,
    last: Option<Instant>,
    terminal: bool,
    told: bool,
}

impl Teller {
    #[expect(
        clippy::disallowed_methods,
        reason = "progress is told by the wall clock; nothing simulated sees it"
    )]
    fn new() -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let flag = stop.clone();
        // a second handler in one process is refused; then Ctrl-C simply ends it
        let _ = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed));
        Self {
            stop,
            began: Instant::now(),
            running_since: None,
            last: None,
            terminal: std::io::stderr().is_terminal(),
            told: false,
        }
    }
    /// Hears progress; false once Ctrl-C was pressed.
    #[expect(
        clippy::disallowed_methods,
        reason = "progress is told by the wall clock; nothing simulated sees it"
    )]
    fn hear(&mut self, p: Progress) -> bool {
        let now = Instant::now();
        let every = Duration::from_millis(if self.terminal { 300 } else { 5000 });
        if let (Progress::Running { at_s, .. }, None) = (p, self.running_since) {
            self.running_since = Some((now, at_s));
        }
        if now.duration_since(self.last.unwrap_or(self.began)) >= every {
            self.last = Some(now);
            self.tell(p, now);
        }
        !self.stop.load(Ordering::Relaxed)
    }
    fn tell(&mut self, p: Progress, now: Instant) {
        let line = match p {
            Progress::Conditioning(share) => {
                let spent = now.duration_since(self.began).as_secs_f64();
                format!("driving the car's earlier life: {:3.0} %, {spent:.0} s spent", 100.0 * share)
            }
            Progress::Running { at_s, end_s, slow } => {
                let (since, from_s) = self.running_since.unwrap_or((self.began, 0.0));
                let spent = now.duration_since(since).as_secs_f64().max(1e-6);
                let pace = (at_s - from_s) / spent;
                let left = if pace > 0.0 { (end_s - at_s).max(0.0) / pace } else { 0.0 };
                if slow.is_empty() {
                    format!(
                        "{} of {} simulated, {pace:.0} times real time, {left:.0} s left",
                        min_s(at_s),
                        min_s(end_s)
                    )
                } else {
                    // day and night go by at very different paces: seconds left would say nothing
                    let [at, end] = [at_s, end_s].map(|s| s / 86_400.0);
                    format!("day {at:.1} of {end:.1}, {:.0} %: {slow}; {spent:.0} s spent", 100.0 * at / end)
                }
            }
        };
        self.told = true;
        if self.terminal {
            eprint!("\r\x1b[2K{line}");
        } else {
            eprintln!("{line}");
        }
    }
    fn end(&self) {
        if self.told && self.terminal {
            eprint!("\r\x1b[2K");
        }
    }
}

fn min_s(t: f64) -> String {
    format!("{}:{:02}", (t / 60.0) as u64, (t % 60.0) as u64)
}

fn run_scenario(args: &RunArgs) -> Result<u8, Trouble> {
    if let Some(d) = args.step_deg
        && ![2.0, 1.0, 0.5].contains(&d)
    {
        return Err(Trouble::Input(format!("--step-deg must be 2, 1 or 0.5 ({d} given)")));
    }
    let loaded = load_scenario(&args.file, &args.who)?;
    let actions = args.actions.as_deref().map(|a| load_actions(a, &loaded)).transpose()?;
    let options = Options {
        seed: args.seed,
        step_deg: args.step_deg,
        lid_open: args.lid == Some(LidArg::Open),
        use_cache: !args.no_cache,
        ..Options::default()
    };
    admit(&args.file, args.actions.as_deref(), &loaded, actions.as_ref(), &options)?;
    let answers = args.answers.as_deref().map(|a| load_answers(a, &loaded)).transpose()?;
    let rubric = args.rubric.as_deref().map(|r| load_rubric(r, &loaded)).transpose()?;
    if let Some(dir) = &args.out {
        probe(dir, &RESULTS)?;
    }
    let mut teller = Teller::new();
    let mut session = begin(&args.file, &loaded, actions.as_ref().map(|a| &a.0), &options, &mut teller)?;
    if let Some(answers) = answers {
        session = session.with_answers(answers);
    }
    if let Some(rubric) = rubric {
        session = session.by_rubric(rubric);
    }
    let run = session.run(&mut |p| teller.hear(p));
    teller.end();
    with_sheet(&run, |sheet| {
        // what was simulated is told even where it cannot be written
        let written = args.out.as_ref().map_or(Ok(()), |dir| {
            write_results(dir, &run, sheet, &loaded.text, actions.as_ref().map(|a| a.1.as_str()))
        });
        if args.json {
            say(&format!("{}\n", run.json()))?;
        } else {
            say(&report::table(sheet))?;
        }
        written?;
        if run.stopped {
            return Err(Trouble::Stopped);
        }
        Ok(u8::from(!run.all_met()))
    })
}

/// A session at its start, the car's earlier life driven.
fn begin(
    file: &str,
    loaded: &Loaded,
    actions: Option<&ActionFile>,
    options: &Options,
    teller: &mut Teller,
) -> Result<Session, Trouble> {
    let s = begin_told(file, loaded, actions, options, &mut |p| teller.hear(p))?;
    if let Some(why) = s.cache_trouble() {
        teller.end();
        eprintln!("{why}; it is driven anew each time");
    }
    Ok(s)
}

/// The same, told to anybody.
fn begin_told(
    file: &str,
    loaded: &Loaded,
    actions: Option<&ActionFile>,
    options: &Options,
    told: &mut dyn FnMut(Progress) -> bool,
) -> Result<Session, Trouble> {
    match Session::new(&loaded.scenario, actions, options, told) {
        Ok(s) => Ok(s),
        Err(session::Error::Bench(crate::bench::Error::Stopped)) => Err(Trouble::Stopped),
        Err(e) => Err(Trouble::Input(format!("{file}: {e}"))),
    }
}

/// Refuses what the lid forbids, with the place in the file that asked for it.
fn admit(
    file: &str,
    actions_file: Option<&str>,
    loaded: &Loaded,
    actions: Option<&(ActionFile, String)>,
    options: &Options,
) -> Result<(), Trouble> {
    let e = match session::admit(&loaded.scenario, actions.map(|a| &a.0), options) {
        Ok(lid_open) => {
            return who::check_names(actions_file.unwrap_or_default(), loaded, actions, lid_open);
        }
        Err(e) => e,
    };
    let rule = e.to_string();
    Err(match e {
        session::Error::AsksForTruth(line, column, _) => {
            let file = actions_file.unwrap_or_default().into();
            ScenarioError { file, line, column, rule, help: None }.into()
        }
        _ => Trouble::Input(format!("{file}: {rule}")),
    })
}

/// Puts a run into the shape that reports are made from.
fn with_sheet<T>(run: &Run, then: impl FnOnce(&Sheet<'_>) -> T) -> T {
    let lines: Vec<Line> = run
        .judged
        .iter()
        .map(|j| Line {
            what: j.what.clone(),
            why: j.why.clone(),
            rule: j.rule.clone(),
            met: j.met,
            measured: match &j.measured {
                serde_json::Value::Null if j.hidden => "hidden".into(),
                serde_json::Value::Null => "nothing".into(),
                serde_json::Value::Number(n) => n.as_f64().map_or(n.to_string(), |x| format!("{x:.3}")),
                serde_json::Value::String(s) => s.clone(),
                other => other.to_string(),
            },
            at_s: j.at_s,
        })
        .collect();
    let log = run.logbook();
    let notes = run.bench.model_notes();
    let hash = run.bench.state_hash();
    let about = &run.scenario.about;
    let setup = run.bench.setup();
    let beside = |(what, m): &'_ (String, session::Moment)| (what.clone(), m.at_s);
    let named: Vec<(String, f64)> = run.moments.iter().map(beside).collect();
    let moments: Vec<Beside<'_>> = named
        .iter()
        .zip(&run.moments)
        .map(|((what, at_s), (_, m))| Beside { what, at_s: *at_s, seen: &m.seen, truth: &m.truth })
        .collect();
    let path = run.lid_open.then(|| solution_work(&run.scenario)).flatten();
    let hides = run.scenario.plan.as_ref().map(|p| p.hides).unwrap_or_default();
    let trainee = run.scenario.vary.who.as_ref().map(ticket::trainee_words);
    then(&Sheet {
        version: env!("CARGO_PKG_VERSION"),
        id: &about.id,
        title: &about.title,
        trainee: trainee.as_deref(),
        actions: run.actions.as_ref().map(|a| (a.about.id.as_str(), a.about.title.as_str())),
        complaint: &about.complaint,
        teaches: &about.teaches,
        cautions: &about.cautions,
        car_title: run.bench.car_name().1,
        odometer_km: setup.odometer_km,
        seed: setup.seed,
        step_deg: setup.step_deg,
        lid_open: run.lid_open,
        hand_over_s: run.hand_over_s,
        end_s: run.after.at_s,
        stopped: run.stopped,
        state_hash: &hash,
        trace: &run.trace,
        log: &log,
        before: &run.before.seen,
        after: &run.after.seen,
        truth: run.lid_open.then_some((&run.before.truth, &run.after.truth)),
        lines: &lines,
        job: &run.job,
        grade: run.grade.as_ref(),
        moments: if run.lid_open { &moments } else { &[] },
        path: path.as_ref(),
        gates_hidden: hides.gates && !run.lid_open,
        model_notes: &notes,
    })
}

/// What the work of the model solution comes to, for a scenario that ships with one.
fn solution_work(of: &Scenario) -> Option<report::job::Job> {
    let shipped = store::shipped(&of.about.id)?;
    let (file, text) = shipped.actions.iter().find(|(f, _)| f.ends_with(".solution.toml"))?;
    session::work_of(&scenario::parse_actions_for(text.as_bytes(), file, &of.vary).ok()?).ok()
}

/// What a gradebook's row tells of a run.
fn attempt_of<'r>(run: &'r Run, trainee: Option<&'r str>) -> Attempt<'r> {
    Attempt {
        trainee,
        scenario: &run.scenario.about.id,
        actions: run.actions.as_ref().map_or("", |a| a.about.title.as_str()),
        seed: run.bench.setup().seed,
        grade: run.grade.as_ref(),
        job: &run.job,
        expectations: (run.judged.iter().filter(|j| j.met).count(), run.judged.len()),
        stopped: run.stopped,
    }
}

fn write_results(
    dir: &Path,
    run: &Run,
    sheet: &Sheet<'_>,
    scenario: &str,
    actions: Option<&str>,
) -> Result<(), Trouble> {
    let trainee = run.scenario.vary.who.as_ref().map(ticket::trainee_words);
    write_all(
        dir,
        &[
            (RESULTS[0], report::trace_csv(&run.trace, run.lid_open)),
            (RESULTS[1], session::logbook::logbook_text(run, scenario, actions)),
            (RESULTS[2], report::debrief_html(sheet)),
            (RESULTS[3], format!("{:#}\n", debrief_json(run))),
            (RESULTS[4], report::gradebook_csv(&attempt_of(run, trainee.as_deref()))),
        ],
    )
}

/// Makes the folder and sees that it can be written, before anything is simulated.
#[expect(clippy::disallowed_methods, reason = "the command line writes the results that a person asked for")]
fn probe(dir: &Path, names: &[&str]) -> Result<(), Trouble> {
    let shown = dir.display();
    std::fs::create_dir_all(dir).map_err(|e| Trouble::File(format!("cannot make folder `{shown}`: {e}")))?;
    for name in names {
        if dir.join(name).is_dir() {
            return Err(Trouble::File(format!(
                "cannot write `{}`: it is a folder",
                dir.join(name).display()
            )));
        }
    }
    let part = dir.join(format!(".probe.{}.part", std::process::id()));
    std::fs::write(&part, "")
        .and_then(|()| std::fs::remove_file(&part))
        .map_err(|e| Trouble::File(format!("cannot write into folder `{shown}`: {e}")))
}

/// The debrief as data: what `--json` prints, with the cautions, the timeline and the moments.
fn debrief_json(run: &Run) -> serde_json::Value {
    let mut v = run.json();
    v["title"] = json!(run.scenario.about.title);
    v["complaint"] = json!(run.scenario.about.complaint);
    v["cautions"] = json!(run.scenario.about.cautions);
    v["always"] = json!(report::standing_cautions());
    v["hand_over_s"] = json!(run.hand_over_s);
    v["timeline"] = json!(run.logbook());
    let moment = |(what, m): &(String, session::Moment)| {
        let mut o = json!({ "before": what, "at_s": m.at_s, "seen": m.seen });
        if run.lid_open {
            o["truth"] = json!(m.truth);
        }
        o
    };
    v["moments"] = json!(run.moments.iter().map(moment).collect::<Vec<_>>());
    v
}

/// Names of the files that a run writes.
const RESULTS: [&str; 5] = ["trace.csv", "logbook.jsonl", "debrief.html", "debrief.json", "gradebook.csv"];

/// Writes every file beside its place first and moves it there when whole, so that none is half-written.
#[expect(clippy::disallowed_methods, reason = "the command line writes the results that a person asked for")]
fn write_all(dir: &Path, files: &[(&str, String)]) -> Result<(), Trouble> {
    let fail = |what: &str, e: std::io::Error| Trouble::File(format!("cannot write {what}: {e}"));
    std::fs::create_dir_all(dir).map_err(|e| fail(&format!("folder `{}`", dir.display()), e))?;
    for (name, text) in files {
        let path = dir.join(name);
        let part = dir.join(format!(".{name}.{}.part", std::process::id()));
        let shown = format!("`{}`", path.display());
        if let Err(e) = std::fs::write(&part, text).and_then(|()| std::fs::rename(&part, &path)) {
            let _ = std::fs::remove_file(&part);
            return Err(fail(&shown, e));
        }
    }
    Ok(())
}

/// Writes the template where nothing is yet.
#[expect(clippy::disallowed_methods, reason = "the command line writes the file that a person asked for")]
fn new_scenario(path: &Path) -> Result<u8, Trouble> {
    let shown = path.display();
    let file = std::fs::OpenOptions::new().write(true).create_new(true).open(path);
    let written = file.and_then(|mut f| f.write_all(store::TEMPLATE.as_bytes()));
    written.map_err(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Trouble::File(format!("`{shown}` is there already and is left alone"))
        }
        _ => Trouble::File(format!("cannot write `{shown}`: {e}")),
    })?;
    say(&format!("{shown}: a scenario to begin with; `idlewright run {shown} --lid open` runs it\n"))?;
    Ok(0)
}

fn check(args: &CheckArgs) -> Result<u8, Trouble> {
    let mut worst: Option<Trouble> = None;
    for name in &args.files {
        match check_all(name, args) {
            Ok(what) => say(&format!("{name}: {what}\n"))?,
            Err(t) => {
                match &t {
                    Trouble::Input(why) | Trouble::File(why) => eprintln!("{why}"),
                    Trouble::Stopped => {}
                }
                if !matches!(worst, Some(Trouble::Input(_))) {
                    worst = Some(t);
                }
            }
        }
    }
    Ok(match worst {
        None => 0,
        Some(Trouble::Input(_)) => 2,
        Some(_) => 4,
    })
}

/// Checks, then runs what can be solved; 1 if one cannot, or without thinking.
fn check_and_solve(args: &CheckArgs) -> Result<u8, Trouble> {
    let code = check(args)?;
    if code != 0 || !args.solve {
        return Ok(code);
    }
    let mut good = true;
    for name in &args.files {
        for who in asked_for(args)? {
            good &= solve::solve(name, who.as_ref(), args.no_cache)?;
        }
    }
    Ok(u8::from(!good))
}

/// Whose variants are meant: the scenario as it stands, and the trainees that were asked for.
fn asked_for(args: &CheckArgs) -> Result<Vec<Option<Who>>, Trouble> {
    let Some(n) = args.variants else {
        return Ok(vec![who::named(args.class_seed, args.trainee.as_deref())?]);
    };
    let class_seed = args.class_seed.unwrap_or(1);
    let mut all = vec![None];
    for trainee in 1..=n {
        all.push(who::named(Some(class_seed), Some(&trainee.to_string()))?);
    }
    Ok(all)
}

/// Checks a file for everybody that was asked for.
fn check_all(name: &str, args: &CheckArgs) -> Result<String, Trouble> {
    if args.class_seed.is_some() && args.trainee.is_none() && args.variants.is_none() {
        return Err(Trouble::Input("--class-seed needs --trainee or --variants".into()));
    }
    let Some(n) = args.variants else {
        return check_one(name, who::named(args.class_seed, args.trainee.as_deref())?.as_ref());
    };
    let class_seed = args.class_seed.unwrap_or(1);
    let mut said = check_one(name, None)?;
    for trainee in 1..=n {
        let who = who::named(Some(class_seed), Some(&trainee.to_string()))?;
        check_one(name, who.as_ref()).map_err(|t| match t {
            Trouble::Input(why) => {
                Trouble::Input(format!("{why} (the variant of trainee {trainee}, class seed {class_seed})"))
            }
            other => other,
        })?;
    }
    said += &format!(", and so for {n} trainees of class seed {class_seed}");
    Ok(said)
}

fn check_one(name: &str, who: Option<&Who>) -> Result<String, Trouble> {
    let shipped = store::shipped(name).map(|s| (s.file, s.text)).or_else(|| store::shipped_actions(name));
    let (file, bytes, _) = read(name, shipped)?;
    let of = scenario_of(&file);
    if !is_action_file(&bytes, of.is_some()) {
        let l = read_origin(name)?.read(who)?;
        return Ok(format!(
            "scenario {}, {} acts, {} expectations: good",
            l.scenario.about.id,
            l.scenario.acts.len(),
            l.scenario.expects.len()
        ));
    }
    let (actions, against, verdict) = if let Some(of) = of {
        let of = read_origin(&of)?.read(who)?;
        (load_actions(name, &of)?.0, format!(" for scenario {}", of.scenario.about.id), "good".to_owned())
    } else {
        // paths, cylinders, causes and names drawn are the scenario's: without one they cannot be judged
        let alone = "no scenario was found to read it against";
        let actions = scenario::parse_actions_bytes(&bytes, &file)
            .map_err(|e| Trouble::Input(format!("{e} ({alone})")))?;
        check_end(&file, actions.run_s, &actions.acts, &actions.expects)?;
        (actions, String::new(), format!("good in form; {alone}"))
    };
    Ok(format!(
        "actions {}{against}, {} acts, {} expectations: {verdict}",
        actions.about.id,
        actions.acts.len(),
        actions.expects.len()
    ))
}

/// An action file's scenario: the file beside it whose name goes up to the first dot, or the shipped one of that name.
fn scenario_of(file: &str) -> Option<String> {
    let file = Path::new(file);
    let own = format!("{}.toml", file.file_name()?.to_str()?.split('.').next()?);
    let beside = file.with_file_name(&own);
    if beside == file {
        return None;
    }
    if beside.is_file() {
        return beside.to_str().map(str::to_owned);
    }
    store::shipped(&own).map(|s| s.file.to_owned())
}

/// An action file names no car. Where no scenario is found for it, it must have acts, and no more of a start than an
/// action file may have: else it may be a scenario half written.
fn is_action_file(bytes: &[u8], known: bool) -> bool {
    let Some(t) = std::str::from_utf8(bytes).ok().and_then(|t| t.parse::<toml::Table>().ok()) else {
        return false;
    };
    let keys = |section: &str| t.get(section).and_then(|s| s.as_table()).into_iter().flat_map(|s| s.keys());
    let names_car = keys("setup").any(|k| k == "car") || keys("about").any(|k| k == "complaint");
    !names_car && (known || (t.contains_key("act") && keys("setup").all(|k| k == "run_s")))
}

fn list_scenarios() -> Result<(), Trouble> {
    let mut text = String::from("Shipped scenarios; run one with `idlewright run NAME`:\n\n");
    for s in store::SCENARIOS {
        let mut car = |name: &str| store::car_text(name, None);
        if let Ok(sc) = scenario::parse_scenario(s.text, s.file, &mut car) {
            text += &format!(
                "  {:<24} level {}  {}\n",
                s.file.trim_end_matches(".toml"),
                sc.about.level,
                sc.about.title
            );
            for (file, actions) in s.actions {
                if let Ok(a) = scenario::parse_actions_for(actions.as_bytes(), file, &sc.vary) {
                    text += &format!(
                        "      --actions {:<36} {}\n",
                        file.trim_end_matches(".toml"),
                        a.about.title
                    );
                }
            }
        }
    }
    say(&text)
}

fn speed(as_json: bool, step_deg: f64, seconds: f64) -> Result<u8, Trouble> {
    if ![2.0, 1.0, 0.5].contains(&step_deg) {
        return Err(Trouble::Input(format!("--step-deg must be 2, 1 or 0.5 ({step_deg} given)")));
    }
    if !(1.0..=1e6).contains(&seconds) {
        return Err(Trouble::Input(format!("--seconds must be from 1 to 1000000 ({seconds} given)")));
    }
    let setup = Setup { step_deg, ..Setup::healthy(store::CARS[0].1, 1, 90.0) };
    let s = session::idle_speed(&setup, seconds).map_err(|e| Trouble::Input(e.to_string()))?;
    if as_json {
        say(&format!("{}\n", json!(s)))?;
    } else {
        say(&format!(
            "{}, {} cylinders, step {}°\nwarm idle        {:.0} times real time on one core\nmixed driving    {:.0} times real time on one core\na cylinder step  {:.1} ns\n",
            s.car,
            s.cylinders,
            s.step_deg,
            s.idle_times_real_time,
            s.mixed_times_real_time.unwrap_or(0.0),
            s.ns_per_cylinder_step
        ))?;
    }
    Ok(0)
}
