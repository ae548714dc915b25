//! Every shipped scenario and action file: it reads, its paths lead somewhere, it runs headless and meets
//! its own expectations.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(clippy::disallowed_methods, reason = "what ships is compared with what lies in the folder")]

use crate::bay::jobs::run;
use crate::bay::number_from;
use idlewright::bench::Bench;
use idlewright::scenario::{
    ActionFile, Scenario, Who, parse_actions_for, parse_scenario_bytes, parse_scenario_for,
};
use idlewright::session::{self, Options, Run, Session};
use idlewright::store::{self, Shipped};
use idlewright::words::facts;
use rayon::prelude::*;
use std::collections::BTreeSet;

fn read(s: &Shipped) -> Scenario {
    let mut car = |name: &str| store::car_text(name, None);
    let scenario = parse_scenario_bytes(s.text.as_bytes(), s.file, &mut car).expect(s.file);
    let sample = session::sample(&scenario).expect(s.file);
    scenario.check_paths(s.file, &sample, &Bench::known_codes()).expect(s.file);
    scenario
}

fn read_actions(scenario: &Scenario, (file, text): (&str, &str)) -> ActionFile {
    let actions = parse_actions_for(text.as_bytes(), file, &scenario.vary).expect(file);
    let sample = session::sample(scenario).expect(file);
    actions.check_paths(file, &sample, &Bench::known_codes()).expect(file);
    actions
}

/// What was not met, in words.
fn unmet(name: &str, run: &Run) -> Vec<String> {
    assert!(!run.stopped, "{name} was stopped");
    assert!(!run.judged.is_empty(), "{name} expects nothing");
    run.judged
        .iter()
        .filter(|j| !j.met)
        .map(|j| {
            let (asked, why) = (facts::asked(&j.asked), facts::why(&j.why));
            format!("{name}: at {:.1} s {} = {} (wanted {asked}; {why})", j.at_s, j.what, j.measured)
        })
        .collect()
}

/// Every scenario, solution and trap meets its own expectations. The car's earlier life is driven once for each
/// scenario; all cores share the work.
#[test]
fn holds_every_scenario_solution_and_trap_meets_its_expectations() {
    let seed = number_from("IDLEWRIGHT_SEED");
    let all = |s: &Shipped| {
        let mut scenario = read(s);
        scenario.setup.seed = seed.unwrap_or(scenario.setup.seed);
        let options = Options { seed, ..Options::default() };
        let life = Bench::new(&scenario.setup, &mut |_| true).expect(s.file);
        let run = |actions: Option<&ActionFile>| {
            Session::on(life.clone(), &scenario, actions, &options).expect(s.file).run(&mut |_| true)
        };
        let mut wrong = unmet(s.file, &run(None));
        for a in s.actions {
            let done = run(Some(&read_actions(&scenario, *a)));
            wrong.extend(unmet(a.0, &done));
            wrong.extend(misgraded(a.0, &done));
        }
        wrong
    };
    let wrong: Vec<String> = store::SCENARIOS.par_iter().flat_map(all).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A model solution comes to every point and closes the job, a trap does neither.
fn misgraded(name: &str, run: &Run) -> Option<String> {
    let g = run.grade.as_ref()?;
    let lost = || {
        let rows = g.rows.iter().filter(|r| !r.full());
        let all = rows.flat_map(|r| r.findings.iter().filter(|f| !f.met).map(|f| facts::found(&f.found)));
        all.collect::<Vec<_>>().join("; ")
    };
    match name.contains(".solution.") {
        true if !g.full() => {
            Some(format!("{name}: {} of {} points, closed {}: {}", g.points, g.of, g.closed, lost()))
        }
        false if g.closed || g.full() => {
            Some(format!("{name}: a trap that closes: {} of {} points", g.points, g.of))
        }
        _ => None,
    }
}

/// Every lesson's solution and traps for trainees of a class: another fault of the same kind on other parts. One
/// trainee each; as many as `IDLEWRIGHT_VARIANTS` says.
#[test]
fn holds_lessons_for_other_trainees() {
    let n = number_from("IDLEWRIGHT_VARIANTS").unwrap_or(1);
    let all = |(s, trainee): &(&Shipped, u64)| {
        let who = Who { class_seed: 2026, trainee: trainee.to_string(), seal: None };
        let mut car = |name: &str| store::car_text(name, None);
        let scenario = parse_scenario_for(s.text.as_bytes(), s.file, &mut car, Some(&who)).expect(s.file);
        let life = Bench::new(&scenario.setup, &mut |_| true).expect(s.file);
        let mut wrong = Vec::new();
        for a in s.actions {
            let actions = parse_actions_for(a.1.as_bytes(), a.0, &scenario.vary).expect(a.0);
            let run = Session::on(life.clone(), &scenario, Some(&actions), &Options::default());
            let run = run.expect(s.file).run(&mut |_| true);
            let name = format!("trainee {trainee}, {}", a.0);
            wrong.extend(unmet(&name, &run));
            wrong.extend(misgraded(&name, &run));
        }
        wrong
    };
    let lessons: Vec<&Shipped> = store::SCENARIOS.iter().filter(|s| read(s).plan.is_some()).collect();
    assert!(!lessons.is_empty());
    let each: Vec<(&Shipped, u64)> = lessons.iter().flat_map(|s| (1..=n).map(move |k| (*s, k))).collect();
    let wrong: Vec<String> = each.par_iter().flat_map(all).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A lesson is a fault, at least one mistake to allow, and one way that closes the job; A0 is health.
#[test]
fn practice_every_lesson_has_a_solution_and_a_trap() {
    for s in store::SCENARIOS.iter().filter(|s| !s.file.starts_with("A0-")) {
        let of = |what: &str| s.actions.iter().filter(|a| a.0.contains(what)).count();
        assert!(of(".solution.") >= 1, "{} has no solution", s.file);
        assert!(of(".trap-") >= 1, "{} has no trap", s.file);
    }
    for s in store::SCENARIOS {
        let scenario = read(s);
        let id = s.file.split('-').next();
        assert_eq!(id, Some(scenario.about.id.as_str()), "{}: file name and id", s.file);
        assert!(!scenario.about.cautions.is_empty(), "{} has no caution", s.file);
        for a in s.actions {
            let stem = s.file.trim_end_matches("toml");
            assert!(a.0.starts_with(stem), "{} belongs to {}", a.0, s.file);
        }
    }
}

#[test]
fn same_files_ship_as_lie_in_the_folder() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let lie: BTreeSet<String> = std::fs::read_dir(folder)
        .expect("the folder of scenarios")
        .map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    let ship: BTreeSet<String> = store::SCENARIOS
        .iter()
        .flat_map(|s| std::iter::once(s.file).chain(s.actions.iter().map(|a| a.0)))
        .map(str::to_owned)
        .collect();
    assert_eq!(lie, ship, "left: in the folder; right: listed in the store");
}

/// A finer step is the same engine: A0 meets the same expectations with half a degree and one degree.
#[test]
fn holds_a0_with_finer_steps() {
    let a0 = read(store::shipped("A0").expect("A0 ships"));
    for step_deg in [1.0, 0.5] {
        let options = Options { step_deg: Some(step_deg), ..Options::default() };
        let run = run(&a0, None, &options);
        assert_eq!(run.bench.setup().step_deg, step_deg);
        let wrong = unmet(&format!("A0 at {step_deg}°"), &run);
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}

/// Healthy is not one lucky seed.
#[test]
fn holds_a0_with_other_parts() {
    let a0 = read(store::shipped("A0").expect("A0 ships"));
    let mut wrong = Vec::new();
    for seed in 2..=6 {
        let options = Options { seed: Some(seed), ..Options::default() };
        wrong.extend(unmet(&format!("A0, seed {seed}"), &run(&a0, None, &options)));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
