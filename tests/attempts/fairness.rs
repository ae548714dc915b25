//! Every right way closes a job, whichever it is, and no wrong one does: cases that were once judged otherwise, and
//! attempts that are generated for every lesson.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::number_from;
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key, Note};
use idlewright::bench::not_whole::Matter;
use idlewright::bench::record::Kind;
use idlewright::bench::view::Lamp;
use idlewright::lesson::Grade;
use idlewright::lesson::facts::Found;
use idlewright::link::DiagRequest;
use idlewright::scenario::{ActionFile, Scenario, parse_actions_for, parse_scenario_bytes};
use idlewright::session::{Options, Run, Session};
use idlewright::store;
use idlewright::words::facts;
use rayon::prelude::*;

/// A lesson with its car's earlier life.
struct Lesson {
    scenario: Scenario,
    life: Bench,
}

impl Lesson {
    fn of(id: &str) -> Self {
        let shipped = store::shipped(id).expect(id);
        let mut car = |name: &str| store::car_text(name, None);
        let scenario = parse_scenario_bytes(shipped.text.as_bytes(), id, &mut car).expect(id);
        let life = Bench::new(&scenario.setup, &mut |_| true).expect(id);
        Self { scenario, life }
    }
    fn run(&self, actions: Option<&ActionFile>) -> Run {
        let options = Options { lid_open: true, ..Options::default() };
        Session::on(self.life.clone(), &self.scenario, actions, &options).expect("fits").run(&mut |_| true)
    }
    /// Lines of acts, each `after_s: what is done`, until so long after hand-over \[s\].
    fn work(&self, run_s: f64, lines: &str) -> Run {
        self.run(Some(&self.acts(run_s, lines)))
    }
    fn acts(&self, run_s: f64, lines: &str) -> ActionFile {
        let mut text =
            format!("schema = 1\n[about]\nid = \"own\"\ntitle = \"own\"\n[setup]\nrun_s = {run_s}\n");
        for (k, line) in lines.lines().map(str::trim).filter(|l| !l.is_empty()).enumerate() {
            let (after_s, hand) = line.split_once(':').expect(line);
            text += &format!("[[act]]\nid = \"a{k}\"\nafter_s = {after_s}\n{}\n", hand.replace(';', "\n"));
        }
        parse_actions_for(text.as_bytes(), "own", &self.scenario.vary)
            .unwrap_or_else(|e| panic!("{e:?}\n{text}"))
    }
}

fn grade(run: &Run) -> &Grade {
    run.grade.as_ref().expect("a lesson")
}

fn points(g: &Grade, id: &str) -> f64 {
    g.rows.iter().find(|r| r.id == id).map_or(0.0, |r| r.points)
}

/// What a grade came to, in words.
fn told(g: &Grade) -> String {
    let row = |r: &idlewright::lesson::Scored| {
        let all = r
            .findings
            .iter()
            .map(|f| format!("{} {}", if f.met { "+" } else { "-" }, facts::found(&f.found)));
        format!("{} {:.1}/{}: {}", r.id, r.points, r.of, all.collect::<Vec<_>>().join("; "))
    };
    let all: Vec<String> = g.rows.iter().map(row).collect();
    format!("closed {}, {:.0} %\n{}", g.closed, g.pct(), all.join("\n"))
}

/// Says of the rows what the logbook's own lines and the car's tester do not bear out.
fn untrue(run: &Run) -> Vec<String> {
    let g = grade(run);
    let log = run.bench.log().get(run.own_lines..).unwrap_or_default();
    let hindered =
        |id: &str| log.iter().any(|e| matches!(&e.kind, Kind::Hindered { id: of, .. } if of == id));
    let acts: Vec<&Action> = log
        .iter()
        .filter_map(|e| match &e.kind {
            Kind::Act { id, action } if !hindered(id) => Some(action),
            _ => None,
        })
        .collect();
    let started = acts.iter().any(|a| matches!(a, Action::Key(Key::Crank)));
    let read = acts.iter().any(|a| matches!(a, Action::Ask(DiagRequest::ReadCodes)));
    let fitted = acts.iter().filter(|a| matches!(a, Action::Fit(_))).count();
    let named = acts.iter().any(|a| matches!(a, Action::Note(Note::Cause(_))));
    let first = acts.iter().find(|a| !matches!(a, Action::Note(_) | Action::Wait));
    let cautions = acts.iter().any(|a| matches!(a, Action::Note(Note::Cautions)));
    let codes = run.bench.observe().codes;
    let wrong = run.bench.not_whole();
    let holds = |f: &Found| match f {
        Found::Whole => !wrong.iter().any(|x| x.matter() == Matter::Car),
        Found::LearnedRight => !wrong.iter().any(|x| x.matter() == Matter::Learned),
        Found::NotWhole(x) => wrong.contains(x),
        Found::ProofStarted => started,
        Found::ProofCodesRead => started && read,
        Found::NoCodeLeft => run.after.seen.lamp == Lamp::Off && !codes.iter().any(|c| c.pending),
        Found::CodeLeft { code } => codes.iter().any(|c| c.code == *code && (c.pending || c.confirmed)),
        Found::GoodParts(all) => all.len() <= fitted,
        Found::CauseNamed | Found::CauseNamedLate | Found::CauseWrong => named,
        Found::CauseNotNamed => !named,
        Found::CautionsNotRead => !cautions,
        Found::CautionsRead => cautions && first.is_some(),
        Found::Minutes { spent, .. } => (spent - run.job.minutes).abs() < 1e-9,
        Found::Money { spent, .. } => (spent - run.job.money).abs() < 1e-9,
        Found::JobOpen => !g.closed,
        _ => true,
    };
    let all = g.rows.iter().flat_map(|r| r.findings.iter().map(move |f| (r, f)));
    let lies = all.filter(|(_, f)| !holds(&f.found));
    let sum: f64 = g.rows.iter().map(|r| r.points).sum();
    let off = ((sum - g.points).abs() > 1e-9).then(|| format!("{sum} points of rows, {} in all", g.points));
    lies.map(|(r, f)| format!("{}: {}", r.id, facts::found(&f.found))).chain(off).collect()
}

fn closes(run: &Run) {
    let g = grade(run);
    assert!(g.closed, "a right way does not close: {}", told(g));
}

fn stays_open(run: &Run) {
    let g = grade(run);
    assert!(!g.closed, "a wrong way closes: {}", told(g));
}

/// Idle air reset, and the rest left to ordinary learning: no routine is needed.
#[test]
fn bug_ordinary_learning_after_a_reset_closes() {
    let l = Lesson::of("idles-high");
    let run = l.work(
        480.0,
        "5: key = \"off\"
         15: key = \"on\"
         2: service = \"reset_idle_air\"
         2: key = \"crank\"
         300: key = \"off\"
         15: key = \"on\"
         2: key = \"crank\"
         60: service = \"read_codes\"",
    );
    closes(&run);
}

/// Readiness reached by being driven on is reached, without a drive of one's own; too short a drive leaves it open.
#[test]
fn bug_readiness_reached_by_daily_use_closes() {
    let l = Lesson::of("driven-daily-and-never-ready");
    let work = |minutes: u32| {
        l.work(
            88000.0,
            &format!(
                "0: cautions = \"read\"
                 5: service = \"read_codes\"
                 2: service = \"read_readiness\"
                 2: service = \"read_learned\"
                 2: cause = \"level\"
                 5: key = \"off\"
                 60: refuel_l = 25
                 5: drive_on = \"motorway\"; minutes = {minutes}; trips = 1; days = 1; each = 1
                 10: key = \"on\"
                 5: service = \"read_readiness\"
                 2: service = \"read_codes\""
            ),
        )
    };
    closes(&work(30));
    stays_open(&work(2));
}

/// Bodies moved to where their codes are, instead of codes to where the bodies are.
#[test]
fn bug_bodies_moved_instead_of_codes_close() {
    let l = Lesson::of("rough-since-two-were-renewed");
    let run = l.work(
        620.0,
        "5: key = \"off\"
         60: swap_injectors = [2, 3]
         20: key = \"on\"
         2: service = \"reset_cylinder_trims\"
         2: key = \"crank\"
         380: key = \"off\"
         15: key = \"on\"
         2: key = \"crank\"
         60: service = \"read_learned\"
         5: service = \"read_codes\"",
    );
    closes(&run);
}

/// Everything replaced, module too: nothing is entered, nothing is learned.
#[test]
fn bug_swapping_everything_earns_no_repair() {
    for id in ["rough-since-two-were-renewed", "idles-high"] {
        let l = Lesson::of(id);
        let (cylinders, banks) = (l.life.cylinders() as u8, l.life.banks() as u8);
        let run = l.run(Some(&idlewright::session::solve::swap_everything(cylinders, banks)));
        stays_open(&run);
        let g = grade(&run);
        assert_eq!(points(g, "repaired"), 0.0, "{}", told(g));
    }
}

/// The worn body renewed, and its code entered, without the detour over moved codes; the codes that were left behind are
/// put right.
#[test]
fn bug_a_worn_body_is_no_good_part() {
    let l = Lesson::of("stayed-after-a-swap");
    let run = l.work(
        700.0,
        "5: key = \"off\"
         60: fit = { part = \"injector\", cylinder = 3, serial = \"D-1248\" }
         20: key = \"on\"
         5: service = \"write_injector_code\"; cylinder = 3; off_body = 3
         5: service = \"write_injector_code\"; cylinder = 2; off_body = 2
         2: service = \"reset_cylinder_trims\"
         2: key = \"crank\"
         380: key = \"off\"
         15: key = \"on\"
         2: key = \"crank\"
         60: service = \"read_learned\"
         5: service = \"read_codes\"",
    );
    assert_eq!(grade(&run).good_parts, 0, "{}", told(grade(&run)));
    closes(&run);
}

/// What comes of a coil is what is counted with nothing else done, whatever is cleared on the car meanwhile.
#[test]
fn bug_an_outcome_is_counted_before_anything_is_cleared() {
    let l = Lesson::of("flashes-at-high-revs");
    let run = l.work(
        90.0,
        "5: predict = \"coils\"; answer = \"as-before\"
         5: key = \"off\"
         10: fit = { part = \"coil\", cylinder = 2 }
         5: key = \"on\"
         2: key = \"crank\"
         15: hold_rpm = 3800; hold_nm = 0
         20: pedal_pct = 0
         2: service = \"clear_codes\"",
    );
    let p = grade(&run).predictions.iter().find(|p| p.id == "coils").expect("was asked");
    assert_eq!(p.right, Some(true), "{p:?}");
}

/// A throttle body is fitted and then reset and relearned within the question's time: what came is what the body does.
#[test]
fn bug_an_outcome_is_of_its_deed_alone() {
    let l = Lesson::of("idles-high");
    let run = l.work(
        150.0,
        "1: predict = \"new-body\"; answer = \"right\"
         1: predict = \"clear\"; answer = \"same\"
         3: key = \"off\"
         15: fit = { part = \"throttle_body\" }
         2: key = \"on\"
         1: service = \"clear_codes\"
         1: service = \"reset_idle_air\"
         1: key = \"crank\"
         10: service = \"learn_idle\"",
    );
    let right = |id: &str| {
        let p = grade(&run).predictions.iter().find(|p| p.id == id).expect("was asked");
        (p.right, p.came.as_ref().map(facts::outcome))
    };
    assert_eq!(right("new-body").0, Some(false), "{:?}", right("new-body"));
    assert_eq!(right("clear").0, Some(true), "{:?}", right("clear"));
}

/// A reset was asked for while the engine ran, and refused; the question about its outcome was then marked by a car on
/// which nothing had been reset, and was not put again when the reset was done.
#[test]
fn bug_a_refused_act_was_judged_as_if_it_were_done() {
    let l = Lesson::of("idles-high");
    let run = l.work(
        120.0,
        "1: predict = \"after-reset\"; answer = 720
         2: service = \"reset_idle_air\"
         2: key = \"off\"
         15: key = \"on\"
         2: service = \"reset_idle_air\"
         1: key = \"crank\"
         10: service = \"learn_idle\"",
    );
    let of: Vec<_> = grade(&run).predictions.iter().filter(|p| p.id == "after-reset").collect();
    assert_eq!(of.len(), 1);
    assert_eq!(of[0].right, Some(true), "{:?}", of[0].came.as_ref().map(facts::outcome));
    // refused and never done: nothing came of it, so nothing is marked
    let run = l.work(60.0, "1: predict = \"after-reset\"; answer = 720\n2: service = \"reset_idle_air\"");
    assert!(grade(&run).predictions.iter().all(|p| p.id != "after-reset" || p.right.is_none()));
}

/// How much is tried: a sample, or as many as `IDLEWRIGHT_FAIRNESS` says.
fn sample(few: usize) -> usize {
    number_from("IDLEWRIGHT_FAIRNESS").map_or(few, |n| n as usize)
}

fn lessons() -> Vec<&'static store::Shipped> {
    let mut car = |name: &str| store::car_text(name, None);
    let mut lesson = |s: &&store::Shipped| {
        parse_scenario_bytes(s.text.as_bytes(), s.id, &mut car).expect(s.id).plan.is_some()
    };
    store::SCENARIOS.iter().filter(|s| lesson(s)).collect()
}

/// What proves a repair, at the end of each way.
const PROVEN: &str = "
    5: key = \"off\"
    15: key = \"on\"
    2: key = \"crank\"
    60: service = \"read_learned\"
    5: service = \"read_codes\"
    60: wait_s = 0";

/// Right ways by other routes than the model solution's: lesson, route, and what is done before it is proven.
const RIGHT: [(&str, &str, &str); 12] = [
    (
        "idles-high",
        "learned by ordinary idling",
        "5: key = \"off\"
         15: key = \"on\"
         2: service = \"reset_idle_air\"
         2: key = \"crank\"
         300: wait_s = 0",
    ),
    (
        "fast-since-a-new-throttle",
        "a command instead of the manual sequence",
        "5: key = \"off\"
         15: key = \"on\"
         2: service = \"reset_idle_air\"
         2: key = \"crank\"
         10: service = \"learn_idle\"
         170: wait_s = 0",
    ),
    (
        "rough-since-two-were-renewed",
        "two more new injectors, with their codes",
        "5: key = \"off\"
         30: fit = { part = \"injector\", cylinder = 2 }
         30: fit = { part = \"injector\", cylinder = 3 }
         30: key = \"on\"
         2: service = \"write_injector_code\"; cylinder = 2; off_body = 2
         2: service = \"write_injector_code\"; cylinder = 3; off_body = 3
         2: service = \"reset_cylinder_trims\"
         2: key = \"crank\"
         360: wait_s = 0",
    ),
    (
        "hesitates",
        "the leak mended, and driven",
        "5: key = \"off\"
         30: leak_mm2 = 0
         15: key = \"on\"
         2: key = \"crank\"
         20: drive = \"mixed\"; minutes = 40",
    ),
    (
        "idles-high",
        "another throttle body, and learned on command",
        "5: key = \"off\"
         30: fit = { part = \"throttle_body\" }
         15: key = \"on\"
         2: service = \"reset_idle_air\"
         2: key = \"crank\"
         10: service = \"learn_idle\"
         170: wait_s = 0",
    ),
    (
        "rough-since-two-were-renewed",
        "codes entered, and the trims found by idling",
        "5: key = \"off\"
         30: key = \"on\"
         2: service = \"write_injector_code\"; cylinder = 2; off_body = 2
         2: service = \"write_injector_code\"; cylinder = 3; off_body = 3
         2: key = \"crank\"
         1200: wait_s = 0",
    ),
    (
        "stayed-after-a-swap",
        "bodies swapped back, and the worn one renewed where it first stood",
        "5: key = \"off\"
         60: swap_injectors = [2, 3]
         60: fit = { part = \"injector\", cylinder = 2 }
         20: key = \"on\"
         5: service = \"write_injector_code\"; cylinder = 2; off_body = 2
         2: service = \"reset_cylinder_trims\"
         2: key = \"crank\"
         380: wait_s = 0",
    ),
    (
        "slightly-rough",
        "the injector renewed, and driven",
        "5: key = \"off\"
         30: fit = { part = \"injector\", cylinder = 3 }
         15: key = \"on\"
         2: key = \"crank\"
         20: drive = \"mixed\"; minutes = 20",
    ),
    (
        "corrections-too-high",
        "the MAF sensor renewed, and driven",
        "5: key = \"off\"
         30: fit = { part = \"air_meter\" }
         15: key = \"on\"
         2: key = \"crank\"
         20: drive = \"mixed\"; minutes = 15
         5: drive = \"motorway\"; minutes = 15",
    ),
    (
        "dips-at-the-lights",
        "learned by ordinary idling",
        "2: load = \"compressor\"; on = false
         5: key = \"off\"
         15: key = \"on\"
         2: service = \"reset_long_trims\"
         2: key = \"crank\"
         900: wait_s = 0",
    ),
    (
        "lamp-since-the-body-shop",
        "filled up, so that the module infers the share by itself",
        "5: key = \"off\"
         20: refuel_l = 20
         20: key = \"on\"
         2: service = \"reset_long_trims\"
         1: service = \"clear_codes\"
         2: key = \"crank\"
         20: drive = \"motorway\"; minutes = 6
         5: drive = \"town\"; minutes = 6",
    ),
    (
        "rich-since-the-repair",
        "idled until the trims are gone",
        "1: cause = \"stale-trims\"
         2: key = \"on\"
         2: key = \"crank\"
         900: key = \"off\"
         15: key = \"on\"
         2: key = \"crank\"
         12: service = \"read_live\"",
    ),
];

/// Whatever the route, a car that is whole and proven to be so closes the job.
#[test]
fn holds_right_ways_by_other_routes_close() {
    let one = |(id, route, lines): &(&str, &str, &str)| {
        let l = Lesson::of(id);
        let run = l.work(4000.0, &format!("{lines}{PROVEN}"));
        let g = grade(&run);
        let lies = untrue(&run);
        (!g.closed || !lies.is_empty()).then(|| format!("{id}, {route}: {}\nuntrue: {lies:?}", told(g)))
    };
    let wrong: Vec<String> = RIGHT.par_iter().take(sample(4)).filter_map(one).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// Wrong hands: the same for every lesson; with the most that they may earn \[%\], where what they do cannot mend anything.
const WRONG: [(&str, Option<f64>, f64, &str); 8] = [
    ("nothing", Some(0.0), 60.0, "60: wait_s = 0"),
    (
        "codes cleared",
        Some(10.0),
        200.0,
        "5: service = \"read_codes\"
         5: service = \"clear_codes\"
         60: service = \"read_codes\"",
    ),
    (
        "started again",
        Some(10.0),
        240.0,
        "5: key = \"off\"
         15: key = \"on\"
         2: key = \"crank\"
         60: key = \"off\"
         15: key = \"on\"
         2: key = \"crank\"
         60: service = \"read_codes\"",
    ),
    (
        "pressed about",
        Some(10.0),
        200.0,
        "5: pedal_pct = 30
         3: pedal_pct = 0
         5: brake = true
         2: brake = false
         5: load = \"lamps\"; on = true
         5: load = \"lamps\"; on = false
         5: service = \"read_live\"
         5: measure = \"voltmeter\"; point = \"battery_post\"
         20: key = \"off\"",
    ),
    (
        "the power cut",
        None,
        240.0,
        "5: key = \"off\"
         15: unplug = \"battery\"
         60: plug = \"battery\"
         5: key = \"on\"
         2: key = \"crank\"
         90: service = \"read_codes\"",
    ),
    (
        "everything reset, nothing learned",
        None,
        120.0,
        "5: key = \"off\"
         15: key = \"on\"
         2: service = \"reset_idle_air\"
         1: service = \"reset_long_trims\"
         1: service = \"reset_closed_stop\"
         1: service = \"reset_wheel_table\"
         1: service = \"clear_codes\"
         2: key = \"crank\"
         60: service = \"read_codes\"",
    ),
    (
        "plugs and coils",
        Some(10.0),
        240.0,
        "5: key = \"off\"
         15: fit = { part = \"plug\", cylinder = 1 }
         5: fit = { part = \"coil\", cylinder = 1 }
         5: fit = { part = \"plug\", cylinder = 4 }
         5: key = \"on\"
         1: service = \"clear_codes\"
         2: key = \"crank\"
         60: service = \"read_codes\"",
    ),
    (
        "a hose left off",
        Some(10.0),
        120.0,
        "5: key = \"off\"
         15: leak_mm2 = 8
         5: key = \"on\"
         2: key = \"crank\"
         60: service = \"read_codes\"",
    ),
];

/// No wrong hands close a lesson, they earn next to nothing, and what is said of them is true.
#[test]
fn holds_wrong_hands_close_nothing() {
    let all = |s: &&store::Shipped| {
        let l = Lesson::of(s.id);
        let one = |(name, most, run_s, lines): &(&str, Option<f64>, f64, &str)| {
            // one try does what the job asks for
            let mends = (s.id, *name) == ("lamp-since-the-battery", "plugs and coils");
            let run = l.work(*run_s, lines);
            let g = grade(&run);
            let lies = untrue(&run);
            let dear = most.is_some_and(|most| g.pct() > most + 1e-9) && !mends;
            (g.closed || dear || !lies.is_empty())
                .then(|| format!("{}, {name}: {}\nuntrue: {lies:?}", s.id, told(g)))
        };
        WRONG.iter().filter_map(one).collect::<Vec<_>>()
    };
    // a step through all of them, so that a sample has every family
    let lessons = lessons();
    let n = sample(5).clamp(1, lessons.len());
    let some: Vec<&store::Shipped> = (0..n).map(|k| lessons[k * lessons.len() / n]).collect();
    let wrong: Vec<String> = some.par_iter().flat_map(all).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
