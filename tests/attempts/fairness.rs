//! Every right way closes a job, whichever it is, and no wrong one does: cases that were once judged otherwise, and
//! attempts that are generated for every lesson.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::number_from;
use idlewright::bench::Bench;
use idlewright::lesson::Grade;
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

fn closes(run: &Run) {
    let g = grade(run);
    assert!(g.closed, "a right way does not close: {}", told(g));
}

fn stays_open(run: &Run) {
    let g = grade(run);
    assert!(!g.closed, "a wrong way closes: {}", told(g));
}

const RESTART: &str = "
    5: key = \"off\"
    15: key = \"on\"
    2: key = \"crank\"
";

/// Idle air reset, and the rest left to ordinary learning: no routine is needed.
#[test]
fn bug_ordinary_learning_after_a_reset_closes() {
    let l = Lesson::of("idles-high");
    let run = l.work(
        520.0,
        &format!(
            "5: key = \"off\"
             15: key = \"on\"
             2: service = \"reset_idle_air\"
             2: key = \"crank\"
             300: key = \"off\"
             15: key = \"on\"
             2: key = \"crank\"
             60: service = \"read_codes\"
             {RESTART}"
        ),
    );
    closes(&run);
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

/// Lessons that are tried: a sample, or as many as `IDLEWRIGHT_FAIRNESS` says.
fn lessons() -> Vec<&'static store::Shipped> {
    let n = number_from("IDLEWRIGHT_FAIRNESS").unwrap_or(4) as usize;
    let mut car = |name: &str| store::car_text(name, None);
    let mut lesson = |s: &&store::Shipped| {
        parse_scenario_bytes(s.text.as_bytes(), s.id, &mut car).expect(s.id).plan.is_some()
    };
    store::SCENARIOS.iter().filter(|s| lesson(s)).take(n).collect()
}

/// Hands that know nothing: the same for every lesson, on a car that was left idling or not.
const HELPLESS: [(&str, f64, &str); 6] = [
    ("nothing", 60.0, ""),
    ("waiting", 300.0, "300: wait_s = 0"),
    (
        "clearing codes",
        200.0,
        "5: service = \"read_codes\"\n5: service = \"clear_codes\"\n60: service = \"read_codes\"",
    ),
    (
        "cutting the power",
        240.0,
        "5: key = \"off\"\n15: unplug = \"battery\"\n60: plug = \"battery\"\n5: key = \"on\"\n2: key = \"crank\"\n90: service = \"read_codes\"",
    ),
    (
        "starting again",
        240.0,
        "5: key = \"off\"\n15: key = \"on\"\n2: key = \"crank\"\n60: key = \"off\"\n15: key = \"on\"\n2: key = \"crank\"\n60: service = \"read_codes\"",
    ),
    (
        "pressing about",
        200.0,
        "5: pedal_pct = 30\n3: pedal_pct = 0\n5: brake = true\n2: brake = false\n5: load = \"lamps\"; on = true\n5: load = \"lamps\"; on = false\n5: service = \"read_live\"\n5: measure = \"voltmeter\"; point = \"battery_post\"\n20: key = \"off\"",
    ),
];

/// Nothing that helpless hands do closes a lesson, and it earns next to nothing.
#[test]
fn holds_helpless_hands_earn_nothing() {
    let all = |s: &&store::Shipped| {
        let l = Lesson::of(s.id);
        let one = |(name, run_s, lines): &(&str, f64, &str)| {
            let run = l.work(*run_s, lines);
            let g = grade(&run);
            let most = if *name == "nothing" { 0.0 } else { 10.0 };
            let fair = !g.closed && g.pct() <= most + 1e-9;
            (!fair).then(|| format!("{}, {name}: {}", s.id, told(g)))
        };
        HELPLESS.iter().filter_map(one).collect::<Vec<_>>()
    };
    let wrong: Vec<String> = lessons().par_iter().flat_map(all).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
