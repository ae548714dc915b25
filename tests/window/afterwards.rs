//! What a debrief offers once the car was handed over.

use super::support::{Bay, bay, click, has, pane_of, press};
use egui::Key;
use idlewright::bench::action::{Action, Key as Ignition};
use idlewright::link::{DiagRequest, Group, Routine};
use idlewright::session::Options;
use idlewright::session::desk::{Desk, MarkName, Reach};

/// An attempt at the job that idles high, worked by hand: idle air reset and learned again.
fn relearned() -> Bay {
    let mut b = bay("idles-high", &[], 1.0);
    let mut desk = Desk::new(&b.scenario, &Options::default(), &mut |_| true).expect("a desk");
    let start = |r| Action::Ask(DiagRequest::Start(r));
    for (action, then_s) in [
        (Action::Key(Ignition::Off), 13.0),
        (Action::Key(Ignition::On), 2.0),
        (start(Routine::ResetGroup(Group::IdleAir)), 2.0),
        (Action::Key(Ignition::Crank), 10.0),
        (start(Routine::LearnIdle), 120.0),
    ] {
        desk.mark_quietly(MarkName::Before(Box::new(action.clone())));
        let _ = desk.act("", &action, Reach::Both);
        desk.advance(then_s);
    }
    let run = desk.hand_in();
    b.view.look_back(&mut b.rows, &run, run.lid_open);
    b.run = Some(run);
    b
}

/// Whoever wanted to see what a step was good for had to write an action file and run a twin on the command line.
#[test]
#[expect(clippy::disallowed_methods, reason = "waits for a thread")]
fn a_debrief_leaves_out_a_step_by_one_press() {
    let mut p = pane_of(relearned(), egui::vec2(1600.0, 2400.0));
    p.picture("debrief-steps");
    click(&mut p, "Without this step: service: reset idle air");
    assert!(has(&p, "Running the rest of your work again"));
    p.picture("without-runs");
    let since = std::time::Instant::now();
    while !has(&p, "at the end") {
        assert!(since.elapsed().as_secs() < 300, "it does not end");
        std::thread::sleep(std::time::Duration::from_millis(20));
        p.settle();
    }
    assert!(has(&p, "The engine would idle at") && has(&p, "instead of 7"), "idle speed is told");
    assert!(has(&p, "idle air learned, no load") || has(&p, "Idle air"), "numbers stand side by side");
    p.picture("without");
    press(&mut p, Key::Escape);
    assert!(!has(&p, "The engine would idle at"));
    // a step that is put away while it runs stops running
    click(&mut p, "Without this step: service: reset idle air");
    click(&mut p, "Stop");
    assert!(!has(&p, "Running the rest of your work again"));
}
