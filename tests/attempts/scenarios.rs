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
use idlewright::words::{Words, facts};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn read(s: &Shipped) -> Scenario {
    let mut car = |name: &str| store::car_text(name, None);
    let scenario = parse_scenario_bytes(s.text.as_bytes(), s.id, &mut car).expect(s.id);
    let sample = session::sample(&scenario).expect(s.id);
    scenario.check_paths(s.id, &sample, &Bench::known_codes()).expect(s.id);
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
        let life = Bench::new(&scenario.setup, &mut |_| true).expect(s.id);
        let run = |actions: Option<&ActionFile>| {
            Session::on(life.clone(), &scenario, actions, &options).expect(s.id).run(&mut |_| true)
        };
        let mut wrong = unmet(s.id, &run(None));
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
    match name.ends_with("/solution") {
        true if !g.full() => {
            Some(format!("{name}: {} of {} points, closed {}: {}", g.points, g.of, g.closed, lost()))
        }
        false if g.closed || g.full() => {
            Some(format!("{name}: a trap that closes: {} of {} points", g.points, g.of))
        }
        _ => None,
    }
}

/// What does not come out as it should when a trainee gets this lesson, by its solution and its traps.
fn wrong_for(s: &Shipped, trainee: u64) -> Vec<String> {
    let who = Who { class_seed: 2026, trainee: trainee.to_string(), seal: None };
    let mut car = |name: &str| store::car_text(name, None);
    let scenario = parse_scenario_for(s.text.as_bytes(), s.id, &mut car, Some(&who)).expect(s.id);
    let life = Bench::new(&scenario.setup, &mut |_| true).expect(s.id);
    let mut wrong = Vec::new();
    for a in s.actions {
        let actions = parse_actions_for(a.1.as_bytes(), a.0, &scenario.vary).expect(a.0);
        let run = Session::on(life.clone(), &scenario, Some(&actions), &Options::default());
        let run = run.expect(s.id).run(&mut |_| true);
        let name = format!("trainee {trainee}, {}", a.0);
        wrong.extend(unmet(&name, &run));
        wrong.extend(misgraded(&name, &run));
    }
    wrong
}

/// Every lesson's solution and traps for trainees of a class: another fault of the same kind on other parts. One
/// trainee each; as many as `IDLEWRIGHT_VARIANTS` says.
#[test]
fn holds_lessons_for_other_trainees() {
    let n = number_from("IDLEWRIGHT_VARIANTS").unwrap_or(1);
    let lessons: Vec<&Shipped> = store::SCENARIOS.iter().filter(|s| read(s).plan.is_some()).collect();
    assert!(!lessons.is_empty());
    let each: Vec<(&Shipped, u64)> = lessons.iter().flat_map(|s| (1..=n).map(move |k| (*s, k))).collect();
    let wrong: Vec<String> = each.par_iter().flat_map(|(s, trainee)| wrong_for(s, *trainee)).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Right work that was not believed or could not be done: a long-term trim that had been saved a little off before it came
/// right, and injectors that stayed cut because of misfires whose codes were cleared, so that the engine died while the
/// wheel was learned.
#[test]
fn bug_right_work_closes_for_every_trainee() {
    let these = [("driven-all-afternoon", 8), ("refuses-to-learn", 13), ("flashes-since-the-oil-seal", 8)];
    let wrong: Vec<String> = these
        .par_iter()
        .flat_map(|(id, trainee)| {
            wrong_for(store::SCENARIOS.iter().find(|s| s.id == *id).expect(id), *trainee)
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A lesson is a fault, at least one mistake to allow, and one way that closes the job.
#[test]
fn practice_every_lesson_has_a_solution_and_a_trap() {
    for s in store::SCENARIOS.iter().filter(|s| s.family != "healthy") {
        let of = |what: &str| s.actions.iter().filter(|a| a.0.contains(what)).count();
        assert!(of("/solution") >= 1, "{} has no solution", s.id);
        assert!(of("/trap-") >= 1, "{} has no trap", s.id);
    }
    for s in store::SCENARIOS {
        let scenario = read(s);
        assert_eq!(s.id, scenario.about.id, "folder and id");
        assert!(s.id.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}: a slug in words", s.id);
        assert!(
            Words::english().has(&format!("family-{}", s.family)),
            "{}: a family without a name",
            s.family
        );
        assert!(!scenario.about.cautions.is_empty(), "{} has no caution", s.id);
        for a in s.actions {
            assert_eq!(a.0, read_actions(&scenario, *a).about.id, "file and id");
        }
    }
    let ids: BTreeSet<&str> = store::SCENARIOS.iter().map(|s| s.id).collect();
    assert_eq!(ids.len(), store::SCENARIOS.len(), "an id ships twice");
}

#[test]
fn same_files_ship_as_lie_in_the_folder() {
    fn files(folder: &Path) -> Vec<PathBuf> {
        let inside = std::fs::read_dir(folder).expect("a folder of scenarios");
        let inside = inside.map(|e| e.expect("an entry").path());
        inside.flat_map(|p| if p.is_dir() { files(&p) } else { vec![p] }).collect()
    }
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios"));
    let lie: BTreeSet<PathBuf> = files(folder).into_iter().collect();
    let ship: BTreeSet<PathBuf> = store::SCENARIOS
        .iter()
        .flat_map(|s| {
            let own = std::iter::once(format!("{}/scenario", s.id));
            let family = folder.join(s.family);
            own.chain(s.actions.iter().map(|a| a.0.to_owned())).map(move |f| family.join(f + ".toml"))
        })
        .collect();
    assert_eq!(lie, ship, "left: in the folder; right: listed in the store");
}

/// A finer step is the same engine: healthy-idle meets the same expectations with half a degree and one degree.
#[test]
fn holds_healthy_idle_with_finer_steps() {
    let healthy = read(store::shipped("healthy-idle").expect("it ships"));
    for step_deg in [1.0, 0.5] {
        let options = Options { step_deg: Some(step_deg), ..Options::default() };
        let run = run(&healthy, None, &options);
        assert_eq!(run.bench.setup().step_deg, step_deg);
        let wrong = unmet(&format!("healthy-idle at {step_deg}°"), &run);
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}

/// Healthy is not one lucky seed.
#[test]
fn holds_healthy_idle_with_other_parts() {
    let healthy = read(store::shipped("healthy-idle").expect("it ships"));
    let mut wrong = Vec::new();
    for seed in 2..=6 {
        let options = Options { seed: Some(seed), ..Options::default() };
        wrong.extend(unmet(&format!("healthy-idle, seed {seed}"), &run(&healthy, None, &options)));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
