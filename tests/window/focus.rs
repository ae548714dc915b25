//! The keyboard's focus: it stays on the thing that a person chose, whatever appears above, beside or below it.

use super::support::{Bay, Pane, act, bay, pane};
use egui::accesskit::{Action as Do, NodeId, Role};
use egui_kittest::kittest::{NodeT, Queryable};
use idlewright::bench::action::{Action, Key as Turn};
use idlewright::bench::tools::Tool;
use idlewright::link::{DiagRequest, Routine};
use idlewright::session::live::Order;
use idlewright::window::panels::Front;

/// A thing that can have the focus: role and words; of several alike the first, second …
type Place = (Role, String, usize);

/// All of them, each with the identity that the focus is kept by.
fn places(p: &Pane) -> Vec<(Place, NodeId)> {
    let mut all: Vec<(Place, NodeId)> = Vec::new();
    for n in p.h.query_all_by(|n| n.data().supports_action(Do::Focus) && !n.is_disabled()) {
        let n = n.accesskit_node();
        // a field for a number has no words of its own; text without any is a scale's
        let words = n.label().unwrap_or_default();
        if words.is_empty() && n.role() == Role::Label {
            continue;
        }
        let before = all.iter().filter(|((r, w, _), _)| *r == n.role() && *w == words).count();
        all.push(((n.role(), words, before), n.locate().0));
    }
    all
}

/// Shows a moment of a job, then a later one: the things that have another identity then, though they are still
/// there, and those that have left their identity to another thing. The focus would go astray with them.
fn strays(before: &Bay, after: &Bay) -> Vec<String> {
    let mut p = pane(Bay { state: before.state.clone(), ..Bay::like(before) });
    p.settle();
    let then = places(&p);
    p.h.state_mut().view = after.view.clone();
    p.h.state_mut().rows = after.rows.clone();
    p.settle();
    strays_since(&then, &p)
}

/// The same, of a pane that has changed since its things were `then`.
fn strays_since(then: &[(Place, NodeId)], p: &Pane) -> Vec<String> {
    let now = places(p);
    let mut strayed = Vec::new();
    for (place, id) in then {
        let heir = now.iter().find(|(_, i)| i == id).map(|(p, _)| p);
        let there = now.iter().any(|(p, _)| p == place);
        match heir {
            None if there => strayed.push(format!("{place:?} loses the focus")),
            Some(heir) if heir != place && !same_service(&place.1, &heir.1) => {
                strayed.push(format!("{place:?} leaves it to {heir:?}"));
            }
            _ => {}
        }
    }
    strayed
}

/// Reading again is the same service as reading for the first time.
fn same_service(words: &str, now: &str) -> bool {
    words.starts_with("Read ") && now.starts_with("Read again")
}

/// While a panel grew by what was read, the focus went to another button than the one a person had chosen: Return
/// then did something that nobody had asked for.
#[test]
fn bug_the_focus_strayed_when_a_panel_grew() {
    let ask = |r| act(Action::Ask(r));
    let orders: [Order; 6] = [
        act(Action::Measure(Tool::VacuumGauge)),
        ask(DiagRequest::ReadCodes),
        ask(DiagRequest::ReadLearned),
        ask(DiagRequest::ReadReadiness),
        ask(DiagRequest::Start(Routine::CommandIdle(900))),
        act(Action::Key(Turn::Off)),
    ];
    let moments: Vec<Bay> = (0..=orders.len()).map(|k| bay("idles-high", &orders[..k], 30.0)).collect();
    let mut strayed = Vec::new();
    for (k, two) in moments.windows(2).enumerate() {
        for (front, open) in
            [(Front::None, None), (Front::None, Some("vacuum_gauge")), (Front::Service, None)]
        {
            let mut before = Bay::like(&two[0]);
            before.state.front = front.clone();
            before.state.shelf.open = open;
            let all = strays(&before, &two[1]);
            strayed.extend(all.iter().map(|s| format!("{k} {front:?} {open:?}: {s}")));
        }
    }
    assert!(strayed.is_empty(), "{}:\n{}", strayed.len(), strayed.join("\n"));
}

/// A load on the rollers has a caution of its own, which appears at the first digit: the next digits went into the
/// field above, and the car was held at 5000 rpm.
#[test]
fn bug_a_caution_that_appeared_took_the_focus_away() {
    let mut p = pane(bay("healthy-idle", &[], 0.0));
    p.h.state_mut().state.shelf.open = Some("rollers");
    p.settle();
    let then = places(&p);
    p.h.state_mut().state.shelf.nm = 6.0;
    p.settle();
    // the line above has a price now
    let priced = |s: &String| s.contains("Hold speed on rollers");
    let strayed: Vec<_> = strays_since(&then, &p).into_iter().filter(|s| !priced(s)).collect();
    assert!(strayed.is_empty(), "{}", strayed.join("\n"));
    assert!(
        then.iter().filter(|((role, ..), _)| *role == Role::SpinButton).count() >= 2,
        "no fields for speed and load"
    );
}
