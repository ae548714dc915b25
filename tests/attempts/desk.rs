//! A session under somebody's hands: marks, twins, questions, the lid, the thread with its pace; and that what was
//! done by hand is a logbook like any other.

use crate::bay::jobs;
use idlewright::bench::Done;
use idlewright::bench::action::{Action, Key, Load, Note, PartChoice, PartKind, Said};
use idlewright::bench::facts::Told;
use idlewright::bench::pattern::Name;
use idlewright::bench::record::Kind;
use idlewright::bench::trace::COLUMNS;
use idlewright::link::{DiagRequest, Group, Refused, Routine};
use idlewright::scenario::Scenario;
use idlewright::session::desk::{Desk, MOST_MARKS, MarkName, Reach};
use idlewright::session::live::{Live, Order, Pace, Rows};
use idlewright::session::logbook::{Logbook, logbook_text};
use idlewright::session::replay::Outcome;
use idlewright::session::teach::Question;
use idlewright::session::verdict::{Reason, Verdict};
use idlewright::session::{Options, Run, Session, Viewer};
use idlewright::store;
use std::sync::OnceLock;

fn shipped(name: &str) -> (Scenario, &'static str) {
    (jobs::scenario(name), store::shipped(name).expect("shipped").text)
}

fn desk(name: &str) -> Desk {
    static HIGH: OnceLock<Desk> = OnceLock::new();
    let new = || Desk::new(&shipped(name).0, &Options::default(), &mut |_| true).expect("a desk");
    if name == "idles-high" { HIGH.get_or_init(new).clone() } else { new() }
}

fn hand(d: &mut Desk, action: Action) -> Done {
    d.act("", &action, Reach::Both)
}

/// Key off, group reset, start, learn: as somebody would do it by hand.
fn relearn(d: &mut Desk) {
    hand(d, Action::Key(Key::Off));
    d.advance(13.0);
    hand(d, Action::Key(Key::On));
    d.advance(2.0);
    hand(d, Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir))));
    d.advance(2.0);
    hand(d, Action::Key(Key::Crank));
    d.advance(10.0);
    hand(d, Action::Ask(DiagRequest::Start(Routine::LearnIdle)));
    d.advance(120.0);
}

fn replayed(run: &Run, scenario: &Scenario, text: &str) -> (Verdict, Reason) {
    let book = Logbook::read(&logbook_text(run, text, None)).expect("reads back");
    let session = Session::new(scenario, None, &book.options, &mut |_| true).expect("a session");
    match session.replay(&book, text, None, &mut |_| true) {
        Outcome::Consistent(answer, _) => (answer.verdict, answer.reason),
        Outcome::Differs(answer) => (answer.verdict, answer.reason),
        Outcome::Stopped => panic!("nobody stopped it"),
    }
}

#[test]
fn same_by_hand_and_replayed() {
    let (scenario, text) = shipped("idles-high");
    let mut d = desk("idles-high");
    hand(&mut d, Action::Note(Note::Cautions));
    hand(&mut d, Action::Note(Note::Cause("stale-idle-air".into())));
    d.turn(720.0);
    relearn(&mut d);
    d.turn(6.0);
    hand(&mut d, Action::Load(Load::Compressor, true));
    d.advance(3.21);
    let run = d.hand_in();
    let grade = run.grade.clone().expect("it is a lesson");
    assert_eq!(grade.cause_found, Some(true));
    let (verdict, why) = replayed(&run, &scenario, text);
    assert_eq!(verdict, Verdict::Consistent, "{why:?}");
}

/// Without the reset the module learns nothing, and the engine goes on idling high.
#[test]
fn holds_an_attempt_without_one_of_its_steps() {
    let mut d = desk("idles-high");
    relearn(&mut d);
    let run = d.hand_in();
    let id = run.bench.log().iter().find_map(|e| match &e.kind {
        Kind::Act { id, action: Action::Ask(DiagRequest::Start(Routine::ResetGroup(_))) } => Some(id.clone()),
        _ => None,
    });
    let id = id.expect("it was reset");
    assert!(run.can_leave_out(&id) && !run.can_leave_out("nobody"));
    let without = run.without(&id, &mut |_| true).expect("it runs");
    let idles = |r: &Run| r.after.seen.idle.as_ref().map_or(0.0, |i| i.mean_rpm);
    println!("idle {:.0} rpm with the reset, {:.0} rpm without", idles(&run), idles(&without));
    assert!(idles(&without) > idles(&run) + 200.0);
    assert!((without.after.at_s - run.after.at_s).abs() < 0.1);
    assert!(run.without(&id, &mut |_| false).is_none(), "it stops when told to");
}

#[test]
fn same_after_going_back_to_a_mark() {
    let (scenario, text) = shipped("idles-high");
    let mut d = desk("idles-high");
    d.advance(5.0);
    d.mark("before");
    let hash = d.session().bench().state_hash();
    let trace = d.session().trace().clone();
    hand(&mut d, Action::Key(Key::Off));
    d.advance(20.0);
    hand(&mut d, Action::Fit(PartChoice::new(PartKind::ThrottleBody)));
    let k = d.marks().iter().position(|m| m.name == MarkName::Named("before".into())).expect("set");
    assert!(d.rewind(k));
    assert_eq!(d.session().bench().state_hash(), hash, "engine and module as they were");
    assert_eq!(d.session().trace(), &trace);
    assert!(d.session().job().parts_bought == 0, "nothing was bought in this future");
    // once more to the first mark of all: both times are told
    d.advance(1.0);
    assert!(d.rewind(0));
    let told = |d: &Desk| {
        let log = d.session().bench().log();
        log.iter()
            .filter(|e| matches!(&e.kind, Kind::Act { action: Action::Note(Note::Rewound(_)), .. }))
            .count()
    };
    assert_eq!(told(&d), 2);
    relearn(&mut d);
    let run = d.hand_in();
    assert_eq!(run.grade.as_ref().map(|g| g.rewound), Some(2));
    let (verdict, why) = replayed(&run, &scenario, text);
    assert_eq!(verdict, Verdict::Consistent, "{why:?}");
    assert!(!desk("healthy-idle").rewind(7), "no such mark");
}

#[test]
fn holds_no_more_marks_than_its_most_and_keeps_the_named() {
    let mut d = desk("healthy-idle");
    d.mark("mine");
    for _ in 0..2 * MOST_MARKS {
        d.advance(0.01);
        d.mark_quietly(MarkName::Before(Box::new(Action::Wait)));
    }
    assert!(d.marks().len() <= MOST_MARKS);
    assert!(
        [MarkName::Named("mine".into()), MarkName::HandOver]
            .iter()
            .all(|name| d.marks().iter().any(|m| m.name == *name))
    );
    assert!(d.marks().is_sorted_by(|a, b| a.at_s <= b.at_s));
}

#[test]
fn same_twin_until_a_hand_reaches_one_of_them() {
    let mut d = desk("idles-high");
    d.fork();
    let is = |k: &Kind| matches!(k, Kind::Act { action: Action::Note(Note::Forked), .. });
    assert!(d.session().bench().log().iter().any(|e| is(&e.kind)), "a look ahead stands in the logbook");
    d.advance(10.0);
    let twin = d.twin().expect("forked").0.bench().state_hash();
    assert_eq!(twin, d.session().bench().state_hash());
    d.act("", &Action::Load(Load::Compressor, true), Reach::Second);
    d.advance(10.0);
    let (twin, forked_s) = d.twin().expect("forked");
    assert!(forked_s < d.time_s());
    assert_ne!(twin.bench().state_hash(), d.session().bench().state_hash());
    assert_eq!(twin.trace().len(), d.session().trace().len(), "the same moments are recorded");
    // the one that is handed in knows nothing of it
    let lines = d.session().bench().log().len();
    assert!(twin.bench().log().len() > lines);
    d.join();
    assert!(d.twin().is_none());
}

#[test]
fn holds_question_before_its_deed_once() {
    let mut d = desk("idles-high");
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    // the engine runs: the module will refuse, and there is nothing to predict yet
    assert_eq!(d.session().questions(&reset), vec![Question::Cause]);
    for (turn, then_s) in [(Key::Off, 13.0), (Key::On, 2.0)] {
        hand(&mut d, Action::Key(turn));
        d.advance(then_s);
    }
    let asked = d.session().questions(&reset);
    assert!(
        matches!(asked.as_slice(), [Question::Cause, Question::Ask(a)] if a.id == "after-reset"),
        "{asked:?}"
    );
    assert!(d.session().questions(&Action::Ask(DiagRequest::ReadCodes)).is_empty());
    hand(&mut d, Action::Note(Note::Answer { ask: "after-reset".into(), says: Said::Number(700.0) }));
    relearn(&mut d);
    assert!(d.session().questions(&reset).is_empty(), "asked once");
    let run = d.hand_in();
    let grade = run.grade.expect("a lesson");
    assert_eq!(grade.predictions.len(), 1);
    let said = idlewright::lesson::facts::Outcome::Number { x: 700.0, unit: "rpm".into() };
    assert_eq!(grade.predictions[0].said, Some(said));
    assert_eq!(grade.predictions[0].right, Some(true), "{:?}", grade.predictions[0]);
    assert_eq!(grade.cause_found, Some(false), "none was named");
}

#[test]
fn holds_an_answer_after_the_deed_is_none() {
    let mut d = desk("idles-high");
    relearn(&mut d);
    hand(&mut d, Action::Note(Note::Answer { ask: "after-reset".into(), says: Said::Number(720.0) }));
    let grade = d.hand_in().grade.expect("a lesson");
    assert_eq!(grade.predictions[0].said, None);
}

#[test]
fn holds_truth_back_until_the_lid_opens_and_never_forgets_that_it_did() {
    let (scenario, text) = shipped("idles-high");
    let mut d = desk("idles-high");
    assert!(d.session().seen_by(Viewer::Trainee).truth().is_none());
    d.mark("closed");
    d.lid(true).expect("may be opened");
    assert!(d.session().seen_by(Viewer::Trainee).truth().is_some());
    let k = d.marks().len() - 1;
    assert!(d.rewind(k));
    d.lid(false).expect("may be closed");
    d.advance(1.0);
    let run = d.hand_in();
    assert!(run.lid_open, "whoever has seen truth hands in under an open lid");
    let (verdict, why) = replayed(&run, &scenario, text);
    assert_eq!(verdict, Verdict::Consistent, "{why:?}");
}

#[test]
fn same_on_a_thread_of_its_own() {
    let (scenario, text) = shipped("idles-high");
    let mut live = Live::start(scenario.clone(), Options::default(), || ());
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    let order = |o: Order| assert!(live.order(o));
    order(Order::Do(Action::Note(Note::Cautions), Reach::Both));
    order(Order::Tooth);
    order(Order::Cycle);
    order(Order::Mark("start".into()));
    order(Order::Do(Action::Key(Key::Off), Reach::Both));
    order(Order::To(70.0));
    wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s >= 70.0);
    order(Order::Do(Action::Key(Key::On), Reach::Both));
    order(Order::To(72.0));
    wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s >= 72.0);
    // this one waits until what is wrong was named and the question answered
    order(Order::Do(reset.clone(), Reach::Both));
    wait_for(&live, |v| v.questions.len() == 2);
    order(Order::Do(Action::Note(Note::Cause("stale-idle-air".into())), Reach::Both));
    order(Order::Do(
        Action::Note(Note::Answer { ask: "after-reset".into(), says: Said::Number(720.0) }),
        Reach::Both,
    ));
    wait_for(&live, |v| v.questions.is_empty());
    // refused with a reason: the group is reset with the engine stopped only
    order(Order::Do(Action::Key(Key::Crank), Reach::Both));
    order(Order::To(80.0));
    wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s >= 80.0);
    order(Order::Do(reset, Reach::Both));
    wait_for(&live, |v| matches!(v.said, Some(Told::Refused(Refused::EngineTurning { .. }))));
    order(Order::Fork);
    order(Order::Pace(Pace::Flat));
    wait_for(&live, |v| v.time_s > 120.0 && v.second.is_some());
    order(Order::Pace(Pace::Paused));
    let mut rows = Rows::default();
    live.take(&mut rows);
    let before = rows.first.len();
    assert!(before > 0 && rows.second.len() == before && !rows.log.is_empty());
    let truth = |rows: &Rows| {
        let last = rows.first.chunks_exact(COLUMNS.len()).next_back().expect("a row").to_vec();
        COLUMNS.iter().zip(last).filter(|(c, x)| c.truth && x.is_finite()).count()
    };
    assert_eq!(truth(&rows), 0, "no truth under a closed lid");
    order(Order::Join);
    wait_for(&live, |v| v.second.is_none());
    live.take(&mut rows);
    assert!(rows.second.is_empty() && rows.first.len() >= before);
    order(Order::HandIn);
    live.wait();
    let run = live.handed_in().expect("handed in");
    assert!(live.handed_in().is_none(), "once");
    let (verdict, why) = replayed(&run, &scenario, text);
    assert_eq!(verdict, Verdict::Consistent, "{why:?}");
    let grade = run.grade.expect("a lesson");
    assert_eq!((grade.cause_found, grade.predictions.len()), (Some(true), 1));
}

/// Reading a question costs no time, whatever the pace.
#[test]
fn bug_time_stands_while_something_is_asked() {
    let (scenario, _) = shipped("idles-high");
    let live = Live::start(scenario, Options::default(), || ());
    let order = |o: Order| assert!(live.order(o));
    // the module resets nothing while the engine runs, and nothing is asked about what it refuses
    for (turn, then_s) in [(Key::Off, 13.0), (Key::On, 2.0)] {
        wait_for(&live, |v| v.number > 0 && v.runs_to_s.is_none());
        order(Order::Do(Action::Key(turn), Reach::Both));
        let to_s = live.view().time_s + then_s;
        order(Order::To(to_s));
        wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s + 1e-6 >= to_s);
    }
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    order(Order::Do(reset, Reach::Both));
    wait_for(&live, |v| v.questions.len() == 2);
    let at_s = live.view().time_s;
    order(Order::Pace(Pace::Flat));
    // twenty looks at it, each a view of its own: a bench that runs would be far by then
    let (first, before) = (live.view().number, live.view().marks.len());
    for k in 0..20 {
        order(Order::Mark(format!("look {k}")));
        wait_for(&live, |v| v.number > first && v.marks.len() == before + k + 1);
    }
    assert_eq!(live.view().time_s, at_s);
    // passed over, and it goes on as fast as it was asked to
    order(Order::Do(Action::Wait, Reach::Both));
    wait_for(&live, |v| v.questions.is_empty() && v.time_s > at_s + 1.0);
}

/// What takes the car away for so long is run to its end, in the second future too; what is not done is not waited for.
#[test]
fn same_a_drive_is_run_to_its_end() {
    let (scenario, _) = shipped("healthy-idle");
    let live = Live::start(scenario, Options::default(), || ());
    let order = |o: Order| assert!(live.order(o));
    let drive = Action::Drive { pattern: Name::Town, minutes: 2.0 };
    order(Order::Do(Action::Rest(1.0), Reach::Both));
    wait_for(&live, |v| matches!(v.said, Some(Told::Hindered(_))));
    assert_eq!(live.view().runs_to_s, None, "it idles: it cannot be left");
    order(Order::To(live.view().time_s + 20.0));
    wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s > v.hand_over_s + 19.9);
    order(Order::Fork);
    order(Order::Do(drive, Reach::Second));
    wait_for(&live, |v| v.runs_to_s.is_some());
    let v = live.view();
    assert!((v.runs_to_s.unwrap_or_default() - v.runs_from_s - 120.0).abs() < 0.1);
    wait_for(&live, |v| v.runs_to_s.is_none());
    let v = live.view();
    assert!(v.time_s >= v.forked_s.expect("two") + 120.0);
}

/// An instructor's fault is asked nothing, and the mark beside it tells nobody what it was.
#[test]
fn holds_a_fault_that_is_slipped_in_tells_itself_to_nobody() {
    let (scenario, _) = shipped("idles-high");
    let mut live = Live::start(scenario, Options::default(), || ());
    let order = |o: Order| assert!(live.order(o));
    order(Order::Lid(true));
    order(Order::InjectFault(Action::Leak(12.0), Reach::Both));
    order(Order::Lid(false));
    wait_for(&live, |v| v.marks.len() == 2 && !v.lid_open);
    let v = live.view();
    assert!(v.questions.is_empty(), "a lesson with causes asks before a repair, and not before a fault");
    assert_eq!(v.marks[1].name, MarkName::SlippedIn);
    let mut rows = Rows::default();
    live.take(&mut rows);
    for e in &rows.log {
        let (_, words) = idlewright::report::entry_words(e, false);
        assert!(!words.contains("12"), "{words}");
    }
    order(Order::HandIn);
    live.wait();
    let run = live.handed_in().expect("handed in");
    let leaks = |e: &&idlewright::bench::record::Entry| matches!(&e.kind, Kind::Act { action: Action::Leak(x), .. } if *x == 12.0);
    assert_eq!(run.bench.log().iter().filter(leaks).count(), 1, "it stands in the logbook");
}

#[test]
fn trips_a_bench_that_cannot_be_built() {
    let (mut scenario, _) = shipped("healthy-idle");
    scenario.setup.car_toml = "nonsense".into();
    let mut live = Live::start(scenario, Options::default(), || ());
    live.wait();
    assert!(live.trouble().is_some());
}

fn wait_for(live: &Live, is: impl Fn(&idlewright::session::live::View) -> bool) {
    jobs::wait_for(live, 120, is);
}
