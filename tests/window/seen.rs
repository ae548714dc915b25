//! What is seen at once, and what must not be: defects that somebody met at the window, each with what holds it.

use super::panels::handed_in;
use super::support::{Bay, act, bay, bay_of, click, has, pane, pane_of, press, shown_of, wait_for};
use crate::bay::jobs;
use egui::{Key, vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use idlewright::bench::action::{Action, Connector, Key as Turn, Load};
use idlewright::bench::facts::Told;
use idlewright::bench::record::{Entry, Kind};
use idlewright::bench::tools::Tool;
use idlewright::bench::trace::COLUMNS;
use idlewright::lesson::Prediction;
use idlewright::lesson::facts::Outcome;
use idlewright::link::{CodeStatus, DiagRequest, DiagResponse, Gate, GateStatus, Refused};
use idlewright::scenario::Lid;
use idlewright::session::Options;
use idlewright::session::desk::Reach;
use idlewright::session::live::{Live, Order};
use idlewright::session::teach::Came;
use idlewright::window::panels::curves::{figure, figures, opened, pieces, points, row_at, told};
use idlewright::window::panels::cylinder_strip::Quantity;
use idlewright::window::panels::settings::{Passed, Settings};
use idlewright::window::panels::tachometer::Read;
use idlewright::window::panels::throttle_gap::Gap;
use idlewright::window::panels::{Framing, Middle, Wish, welcome};
use idlewright::words::numbers::{Units, clock};
use std::sync::OnceLock;

const WIDE: usize = COLUMNS.len();

fn column(name: &str) -> usize {
    COLUMNS.iter().position(|c| c.name == name).expect("recorded")
}

/// A car that idles high, nothing read.
fn high() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    Bay::like(ONE.get_or_init(|| bay("idles-high", &[], 20.0)))
}

/// A line of a logbook with a request and its answer.
fn answered(b: &mut Bay, ask: DiagRequest, answer: DiagResponse, t_s: f64) {
    let id = format!("asked-{t_s}");
    b.rows.log.push(Entry { t_s, kind: Kind::Act { id: id.clone(), action: Action::Ask(ask) } });
    b.rows.log.push(Entry { t_s, kind: Kind::Answer { id, answer } });
}

fn code(code: &str) -> CodeStatus {
    CodeStatus { code: code.into(), pending: true, confirmed: false, permanent: false }
}

// ---------------------------------------------------------------------------------------------------
// After hand-over
// ---------------------------------------------------------------------------------------------------

/// V did nothing once the car was handed over: nobody could look at what had been wrong.
#[test]
fn bug_truth_is_looked_at_after_hand_over() {
    let mut b = handed_in();
    let run = b.run.clone().expect("handed over");
    b.view.look_back(&mut b.rows, &run, false);
    assert!(b.view.first.truth.is_none() && !b.view.lid_open);
    let truth = column("true_deposit_um");
    assert!(b.rows.first.chunks_exact(WIDE).all(|row| row[truth].is_nan()));
    b.state.debrief_away = true;
    let mut p = pane(b);
    assert_eq!(press(&mut p, Key::V), vec![Wish::Order(Order::Lid(true))], "and nothing is asked back");
    let b = p.h.state_mut();
    b.view.look_back(&mut b.rows, &run, true);
    assert!(b.view.first.truth.is_some() && b.view.lid_open);
    assert!(b.rows.first.chunks_exact(WIDE).all(|row| row[truth].is_finite()));
    p.settle();
    assert!(has(&p, ", true "), "on the rulers");
    // the debrief leads there by one press
    let mut b = handed_in();
    b.view.look_back(&mut b.rows, &run, false);
    let mut p = pane(b);
    assert_eq!(click(&mut p, "Show what was wrong"), vec![Wish::Order(Order::Lid(true))]);
    assert!(p.h.state().state.debrief_away);
}

#[test]
fn a_locked_lid_stays_locked_after_hand_over() {
    let mut b = handed_in();
    let mut run = b.run.clone().expect("handed over");
    run.scenario.about.lid = Lid::Locked;
    b.view.look_back(&mut b.rows, &run, true);
    assert!(b.view.first.truth.is_none() && !b.view.lid_open);
}

#[test]
fn the_debrief_begins_with_what_is_missing_and_leads_to_its_moments() {
    let b = handed_in();
    let at = clock(0.0);
    let mut p = pane_of(b, vec2(1600.0, 2400.0));
    assert!(has(&p, "Still missing"));
    let link = format!("Go to {at}");
    p.h.get_all_by_label(&link).next().expect("the cause that was named").click();
    p.settle();
    let s = &p.h.state().state;
    assert!(s.debrief_away && s.middle == Middle::Readings && s.readings.held_s.is_some());
}

// ---------------------------------------------------------------------------------------------------
// The job card
// ---------------------------------------------------------------------------------------------------

/// A fault that the instructor applied was billed to the trainee and named on the job card.
#[test]
fn bug_an_instructor_s_fault_is_on_no_job_card() {
    let leak = |order: fn(Action, Reach) -> Order| {
        let b = bay("healthy-idle", &[Order::Lid(true), order(Action::Leak(10.0), Reach::Both)], 1.0);
        (b.view.job.minutes, b.view.job.lines.len(), b.view.first.truth.expect("shown").unmetered_leak_mm2)
    };
    let (minutes, lines, mm2) = leak(Order::InjectFault);
    assert!(minutes == 0.0 && lines == 0, "nobody worked on it: {minutes} min, {lines} lines");
    assert!(mm2 > 9.0, "it leaks all the same: {mm2} mm²");
    let (minutes, lines, _) = leak(Order::Do);
    assert!(minutes > 29.0 && lines == 1, "by hand it is work: {minutes} min, {lines} lines");
}

/// A refusal ran under the buttons to its right.
#[test]
fn bug_what_was_told_lies_on_no_button() {
    for wide in [1280.0, 1366.0, 1600.0] {
        let mut b = high();
        b.view.said = Some(Told::Refused(Refused::CodeMatured("P0507".into())));
        let p = pane_of(b, vec2(wide, 768.0));
        let told = p.h.get_by_label_contains("have not been reset since").rect();
        assert!(told.right() <= wide, "{told:?} in {wide}");
        for name in ["Settings…", "Glossary", "Keys", "Healthy car…"] {
            let button = p.h.get_by_label(name).rect();
            assert!(
                !told.shrink(1.0).intersect(button).is_positive(),
                "{wide}: {told:?} on {name} {button:?}"
            );
        }
    }
}

/// What a tool showed stood at the end of the list of tools, 300 points below the screen.
#[test]
fn bug_a_tool_s_answer_stands_under_its_button() {
    let mut b = bay("idles-high", &[act(Action::Measure(Tool::VacuumGauge))], 5.0);
    b.state.shelf.open = Some("vacuum_gauge");
    let words = idlewright::words::readings::reading(&b.view.first.seen.readings[0]);
    let p = pane(b);
    let measure = p.h.get_by_label("Measure").rect();
    let shown: Vec<_> = p.h.get_all_by_label_contains(&words).map(|n| n.rect()).collect();
    assert_eq!(shown.len(), 1, "once");
    let below = shown[0].top() - measure.bottom();
    assert!((0.0..20.0).contains(&below), "{below} points below");
}

/// The window told a price without the time that has to be paid, as "15 min + 4", and the seat "15 min, 19 units".
#[test]
fn bug_a_price_is_told_in_one_form() {
    let b = high();
    let price = b.prices.of(&Action::Measure(Tool::SmokeTest));
    let whole = b.prices.whole(price);
    let words = idlewright::report::cost_words(&b.prices, price);
    assert_eq!(words, format!("{:.0} min, {whole:.0} units", price.minutes));
    assert!(has(&pane(b), &format!("Smoke test, {words}")));
}

#[test]
fn the_tachometer_tells_speed_and_target_while_the_module_answers() {
    let b = high();
    let live = b.view.first.seen.live.clone();
    let mut p = pane(b);
    for key in [Key::F2, Key::F3, Key::F4, Key::F5] {
        press(&mut p, key);
        let spoken = format!(
            "engine speed {:.0} rpm, target {:.0} rpm, idling",
            live.engine_speed_rpm, live.target_rpm
        );
        assert!(has(&p, &spoken), "{spoken} in every view");
    }
}

/// The throttle was cleaned, and the module still allows for the deposit: the gap drawn large tells both, and truth only
/// under an open lid.
#[test]
fn holds_throttle_gap_tells_what_the_module_allows_for_and_what_is_there() {
    let gap = |orders: &[Order]| {
        let b = bay("idles-high", orders, 20.0);
        let read = orders.iter().any(|o| *o != Order::Lid(true));
        (Gap::of(&shown_of(&b), read || b.view.lid_open).expect("it answers"), b)
    };
    let (unread, _) = gap(&[]);
    assert_eq!((unread.learned_um, unread.truth_um), (None, None));
    let (read, b) = gap(&[act(Action::Ask(DiagRequest::ReadLearned))]);
    assert_eq!(read.truth_um, None);
    let allowed = read.learned_um.expect("read");
    assert!(allowed > 15.0, "{read:?}");
    let near = |mut b: Bay, picture: &str| {
        b.state.look = Framing::Throttle;
        let p = pane(b);
        p.picture(picture);
        p
    };
    let p = near(b, "throttle-gap-read");
    assert!(
        has(&p, &format!("the module infers that the gap is {allowed:.0} µm narrower"))
            && !has(&p, "deposit")
    );
    let (open, b) = gap(&[Order::Lid(true)]);
    assert!(has(&near(b, "throttle-gap-open"), "true deposit on the bore"));
    let (clean, film) = open.truth_um.expect("open");
    // cleaned
    assert!(film < 3.0 && clean - film > 30.0, "{open:?}");
}

// ---------------------------------------------------------------------------------------------------
// The module
// ---------------------------------------------------------------------------------------------------

/// 80 s after key off the window still showed 14.2 V and a lambda, as if they were measured now.
#[test]
fn bug_a_module_that_does_not_answer_shows_no_values() {
    let read = act(Action::Ask(DiagRequest::ReadLearned));
    let b = bay("idles-high", &[read, act(Action::Key(Turn::Off))], 80.0);
    assert!(!b.view.first.seen.answers);
    let last = row_at(&b.rows.first, b.view.time_s).expect("recorded");
    for name in ["supply_v", "lambda_1", "coolant_c", "engine_speed_rpm", "idle_air_learned_g_s"] {
        assert!(last[column(name)].is_nan(), "{name}: {}", last[column(name)]);
    }
    let shown = |b: &Bay| {
        let p = pane_of(Bay::like(b), vec2(1600.0, 2400.0));
        (has(&p, "The module does not answer"), has(&p, "Fuel trims"), has(&p, "idle air, no load: stored"))
    };
    assert_eq!(shown(&b), (true, false, true), "learned values stay as they were read");
    let mut p = pane(Bay::like(&b));
    press(&mut p, Key::F3);
    assert!(!has(&p, "0 rpm"));
    let mut on = b;
    on.view.first.seen.answers = true;
    assert_eq!(shown(&on), (false, true, true));
}

/// Codes went on changing after one read, and the button to read them was gone.
#[test]
fn bug_codes_stay_as_they_were_read() {
    let mut b = high();
    let zero = b.view.hand_over_s;
    answered(&mut b, DiagRequest::ReadCodes, DiagResponse::Codes(vec![code("P0507")]), zero + 4.5);
    b.view.first.seen.codes = vec![code("P0507"), code("P0300")];
    let mut p = pane_of(Bay::like(&b), vec2(1600.0, 2000.0));
    assert!(has(&p, "P0507") && !has(&p, "P0300"), "nobody has read it");
    assert!(has(&p, "read at 0:04, 0:15 ago"));
    assert_eq!(
        click(&mut p, "Read again (2 min, 2 units)"),
        vec![Wish::Order(act(Action::Ask(DiagRequest::ReadCodes)))]
    );
    let now = b.view.time_s;
    let codes = b.view.first.seen.codes.clone();
    answered(&mut b, DiagRequest::ReadCodes, DiagResponse::Codes(codes), now);
    assert!(has(&pane_of(Bay::like(&b), vec2(1600.0, 2000.0)), "P0300"));
    answered(&mut b, DiagRequest::ClearCodes, DiagResponse::Ok, now);
    let p = pane_of(b, vec2(1600.0, 2000.0));
    assert!(!has(&p, "P0507") && has(&p, "Read codes (2 min, 2 units)"), "erased, and read by nobody since");
}

/// Learned values told P0300 in their gates while codes were "not read yet".
#[test]
fn bug_a_gate_names_no_code_that_was_not_read() {
    let mut b = high();
    let zero = b.view.hand_over_s;
    let gate = GateStatus {
        name: Gate::NoBlockingCode,
        open: false,
        now: 0.0,
        limit: 0.0,
        code: Some("P0300".into()),
    };
    b.view.first.seen.learned.iter_mut().for_each(|v| v.gates = vec![gate.clone()]);
    let all = b.view.first.seen.learned.clone();
    answered(&mut b, DiagRequest::ReadLearned, DiagResponse::Learned(all), zero + 5.0);
    assert!(!has(&pane_of(Bay::like(&b), vec2(1600.0, 2400.0)), "P0300"));
    answered(&mut b, DiagRequest::ReadCodes, DiagResponse::Codes(vec![code("P0300")]), zero + 6.0);
    assert!(has(&pane_of(b, vec2(1600.0, 2400.0)), "P0300"));
}

/// The sum of the idle's air told the learned value to who had not read it.
#[test]
fn bug_what_is_learned_is_not_told_before_it_is_read() {
    let mut b = high();
    let live = b.view.first.seen.live.clone();
    let learned = format!("learned {:+.2} g/s", live.idle_learned_g_s);
    let p = pane(Bay::like(&b));
    assert!(!has(&p, &learned) && has(&p, "learned and idle correction"));
    let mut p = pane(Bay::like(&b));
    press(&mut p, Key::F3);
    click(&mut p, "Idle (2)");
    assert!(!has(&p, "idle air: learned"), "nor as a trace");
    let (all, at) = (b.view.first.seen.learned.clone(), b.view.time_s);
    answered(&mut b, DiagRequest::ReadLearned, DiagResponse::Learned(all), at);
    assert!(has(&pane(b), &learned), "{learned}");
}

/// Beside a coolant in °F its gate was told in °C.
#[test]
fn bug_gates_are_told_in_the_units_that_are_shown() {
    let mut b = high();
    let (all, at) = (b.view.first.seen.learned.clone(), b.view.time_s);
    answered(&mut b, DiagRequest::ReadLearned, DiagResponse::Learned(all), at);
    assert!(has(&pane(Bay::like(&b)), "°C, warm enough"));
    b.settings.units = Units::Us;
    let p = pane(b);
    assert!(has(&p, "°F, warm enough") && !has(&p, "°C, warm enough"));
}

// ---------------------------------------------------------------------------------------------------
// Traces
// ---------------------------------------------------------------------------------------------------

#[test]
fn exact_every_signal_has_a_least_span() {
    for c in &COLUMNS[1..] {
        assert!(c.least_span > 0.0, "{}", c.name);
    }
}

/// ±20 rpm of a healthy idle filled the height of its chart.
#[test]
fn bug_a_healthy_idle_does_not_look_rough() {
    let (low, high) = opened((700.0, 740.0), 200.0);
    assert_eq!((low, high), (620.0, 820.0), "what is seen stands in the middle");
    assert_eq!(opened((690.0, 1090.0), 200.0), (690.0, 1090.0), "what is more is shown as it is");
    assert_eq!(opened((0.0, 1.0), 20.0), (0.0, 20.0), "no room below nothing where nothing is below");
    assert_eq!(opened((f64::INFINITY, f64::NEG_INFINITY), 1.0), (0.0, 1.0), "nothing was measured");
}

/// Often a chart had one number beside it.
#[test]
fn bug_every_scale_has_two_figures_at_least() {
    for tall in [36.0, 60.0, 90.0, 150.0, 300.0] {
        for letters in [14.0, 24.0] {
            for (low, high) in
                [(620.0, 820.0), (693.0, 1107.0), (14.3, 15.3), (-0.4, 0.6), (0.0, 8000.0), (-3.0, 1.0)]
            {
                let (all, step) = figures((low, high), tall, letters);
                assert!(all.len() >= 2 && all.len() <= 6, "{all:?} for {low} to {high} in {tall}");
                assert!(all.iter().all(|x| *x >= low - 1e-6 && *x <= high + 1e-6), "{all:?}");
                let words: std::collections::BTreeSet<String> =
                    all.iter().map(|x| figure(*x, step)).collect();
                assert_eq!(words.len(), all.len(), "figures differ: {words:?}");
            }
        }
    }
    assert_eq!(
        (figure(14.5, 0.5), figure(700.0, 50.0), figure(0.25, 0.25)),
        ("14.5".into(), "700".into(), "0.25".into())
    );
}

/// The supply was drawn at 14.9 V for 17 days of standing, and an alternator that is off as 0 V, so that nothing else was
/// seen of it.
#[test]
fn bug_what_was_not_measured_is_a_gap() {
    let (supply, set, speed) = (column("supply_v"), column("charge_set_v"), column("engine_speed_rpm"));
    let mut rows = vec![0.0; WIDE * 2000];
    for (k, r) in rows.chunks_exact_mut(WIDE).enumerate() {
        r[0] = k as f64;
        let asleep = (500..1500).contains(&k);
        r[supply] = if asleep { f64::NAN } else { 14.9 };
        r[set] = if k < 100 { 0.0 } else { 14.8 };
    }
    for most in [5000, 200] {
        let all = pieces(points(&rows, supply, 0.0, 2000.0, most));
        assert_eq!(all.len(), 2, "{most} points at most");
        assert!(all[0].last().expect("some")[0] < 500.0 && all[1][0][0] >= 1490.0);
        let all = pieces(points(&rows, set, 0.0, 2000.0, most));
        assert!(all.iter().flatten().all(|p| p[1] == 14.8), "off is not 0 V");
        assert!(points(&rows, set, 0.0, 2000.0, most).is_sorted_by(|a, b| a[0] <= b[0]));
    }
    assert_eq!(told(&rows[..WIDE], speed), 0.0, "an engine that stands is measured");
    assert!(pieces(vec![[0.0, f64::NAN], [1.0, f64::NAN]]).is_empty());
}

/// "672:00:00" was written over its neighbour.
#[test]
fn bug_days_are_told_as_days() {
    assert_eq!(clock(95.0), "1:35");
    assert_eq!(clock(28.0 * 86_400.0), "28 d 0:00");
    assert_eq!(clock(2.0 * 86_400.0 + 3725.0), "2 d 1:02:05");
    let mut b = high();
    b.view.time_s = b.view.hand_over_s + 28.0 * 86_400.0 + 0.5;
    assert!(has(&pane(b), "28 d 0:00"));
}

/// Charts one below the other did not show the same moments at the same place.
#[test]
fn bug_charts_share_one_axis_of_time() {
    let mut b = high();
    b.state.middle = Middle::Readings;
    b.state.readings.chosen =
        vec![column("engine_speed_rpm"), column("map_kpa"), column("supply_v"), column("lambda_1")];
    let p = pane_of(b, vec2(1024.0, 768.0));
    let texts = super::work::texts(&p);
    // figures of the scales end where the charts begin, the figures of time stand below the last alone
    let times: Vec<_> = texts
        .iter()
        .filter(|(w, r, _)| {
            w.matches(':').count() == 1 && w.len() <= 5 && r.left() > 240.0 && r.right() < 744.0
        })
        .collect();
    let lines: std::collections::BTreeSet<i64> =
        times.iter().map(|(_, r, _)| r.center().y.round() as i64).collect();
    assert!(lines.len() <= 3, "one line of times below the charts, and the edge's: {lines:?}");
    assert!(!has(&p, "strip: "), "the first chart is not shown twice");
}

/// A line of time of a few seconds had lines and no figures.
#[test]
fn bug_a_short_line_of_time_had_no_figures() {
    let p = pane_of(bay("healthy-idle", &[], 0.0), vec2(1600.0, 900.0));
    let texts = super::work::texts(&p);
    let seconds = |w: &str| w.strip_suffix(" s").is_some_and(|s| s.replace('−', "-").parse::<f64>().is_ok());
    let figures: Vec<_> = texts.iter().filter(|(w, ..)| seconds(w)).map(|(w, ..)| w.clone()).collect();
    assert!(figures.len() >= 2, "{figures:?}");
}

/// A bookmark that was set before an act in the second future stayed, and going back to it undid nothing.
#[test]
fn bug_an_act_in_the_second_future_sets_no_bookmark() {
    let b = bay(
        "healthy-idle",
        &[Order::Fork, Order::Do(Action::Load(Load::Compressor, true), Reach::Second), Order::Join],
        1.0,
    );
    assert_eq!(b.view.marks.len(), 1, "the car's own: {:?}", b.view.marks);
    let both = bay("healthy-idle", &[Order::Fork, act(Action::Load(Load::Compressor, true))], 1.0);
    assert_eq!(both.view.marks.len(), 2);
}

/// The strip was empty unless something misfired.
#[test]
fn the_cylinder_strip_shows_what_differs() {
    let mut b = bay("healthy-idle", &[Order::Lid(true)], 20.0);
    b.state.middle = Middle::Strip;
    b.view.first.seen.misfires.iter_mut().for_each(|m| m.count = 0);
    let truth = b.view.first.truth.as_mut().expect("shown");
    truth.cylinders.iter_mut().for_each(|c| c.lambda = if c.cylinder == 3 { 1.12 } else { 1.0 });
    truth.cylinders.iter_mut().for_each(|c| c.imep_kpa = 150.0);
    let mut p = pane(b);
    assert!(has(&p, "true lambda cylinder 1: 0.0 %, cylinder 2: 0.0 %, cylinder 3: +12.0 %"));
    click(&mut p, "misfires");
    assert_eq!(p.h.state().state.strip, Some(Quantity::Counts));
    assert!(has(&p, "a full bar is"));
}

// ---------------------------------------------------------------------------------------------------
// What came of a prediction
// ---------------------------------------------------------------------------------------------------

fn came() -> Came {
    let number = |x| Some(Outcome::Number { x, unit: "rpm".into() });
    let prediction = Prediction {
        id: "one".into(),
        question: "How will it idle?".into(),
        said: number(720.0),
        came: number(1058.0),
        right: Some(false),
        asked_s: 1.0,
        looked_s: Some(121.0),
        alone_s: Some(120.0),
        why: "For a reason.".into(),
    };
    Came { prediction, course: (0..120).map(|k| (f64::from(k), 1100.0 - 0.4 * f64::from(k))).collect() }
}

#[test]
fn a_card_sets_what_came_beside_what_was_said() {
    let mut b = high();
    b.view.came = Some(came());
    let mut p = pane(b);
    assert!(has(&p, "You said: 720 rpm.") && has(&p, "Result: 1058 rpm.") && has(&p, "Why?"));
    assert!(!has(&p, "For a reason"), "the reason is the debrief's");
    assert!(press(&mut p, Key::B).is_empty(), "no hand reaches round it");
    assert_eq!(click(&mut p, "Continue"), vec![Wish::Order(Order::Hold(false))]);
    assert_eq!(click(&mut p, "Continue with the traces"), vec![Wish::Order(Order::Hold(false))]);
    assert_eq!(p.h.state().state.middle, Middle::Readings);
    p.picture("outcome");
}

/// An outcome was told in the debrief alone, long after anybody remembered what they had expected.
#[test]
fn an_outcome_is_told_when_it_is_known_and_time_stands_until_it_was_looked_at() {
    use idlewright::bench::action::{Note, Said};
    let scenario = jobs::scenario("idles-high");
    let ask = scenario
        .plan
        .as_ref()
        .expect("a lesson")
        .asks
        .iter()
        .find(|a| a.id == "power-cut")
        .expect("asked")
        .clone();
    let live = Live::start(scenario, Options::default(), || ());
    wait_for(&live, |_| true);
    let off = act(Action::Key(Turn::Off));
    assert!(live.order(off));
    let pull = act(Action::Connector(Connector::Battery, false));
    assert!(live.order(Order::On(60.0)));
    let begun = live.view().time_s;
    wait_for(&live, |v| v.runs_to_s.is_none() && v.time_s > begun + 59.0);
    assert!(live.order(pull));
    wait_for(&live, |v| !v.questions.is_empty());
    assert!(
        live.order(act(Action::Note(Note::Answer { ask: ask.id.clone(), says: Said::Word("down".into()) })))
    );
    assert!(live.order(act(Action::Note(Note::Cause("stale-idle-air".into())))));
    wait_for(&live, |v| v.questions.is_empty());
    let after = ask.after_s.expect("after a time");
    let due = live.view().time_s + after;
    assert!(live.order(Order::On(after + 60.0)));
    wait_for(&live, |v| v.came.is_some());
    let v = live.view();
    assert!((v.time_s - due).abs() < 0.1, "at {} of {due}: it is told at its moment", v.time_s);
    let one = v.came.clone().expect("told");
    assert_eq!(one.prediction.id, "power-cut");
    assert!(one.prediction.came.is_some() && one.prediction.right == Some(false));
    assert!(live.order(Order::Hold(false)));
    wait_for(&live, |v| v.came.is_none() && v.time_s > due + 59.0);
}

// ---------------------------------------------------------------------------------------------------
// From afar, the tour, the list
// ---------------------------------------------------------------------------------------------------

#[test]
fn one_key_leaves_what_a_class_looks_at() {
    let mut p = pane_of(high(), vec2(1280.0, 720.0));
    press(&mut p, Key::F11);
    let b = p.h.state();
    let engine = b.engine.expect("the engine is left");
    assert!(engine.width() > 1200.0 && engine.height() > 220.0, "{engine:?}");
    assert!(has(&p, &b.scenario.about.title) && has(&p, "engine speed ") && has(&p, "MIL "));
    for hidden in ["Scan tool…", "Workshop tools", "Read codes (2 min, 2 units)"] {
        assert!(!has(&p, hidden), "{hidden}");
    }
    // letters that are read from eight metres: no figure is written smaller than 22 points
    let small: Vec<_> = super::work::letters(&p)
        .into_iter()
        .filter(|(w, size)| w.chars().any(|c| c.is_ascii_digit()) && *size < 22.0 && !w.contains("F11"))
        .collect();
    assert!(small.is_empty(), "{small:?}");
    p.picture("present-engine");
    press(&mut p, Key::F4);
    p.picture("present-wheel");
    assert_eq!(press(&mut p, Key::Num2).len(), 1, "keys work on");
    press(&mut p, Key::F11);
    assert!(has(&p, "Scan tool…"));
}

#[test]
fn bug_large_letters_leave_the_engine_as_large_as_it_was() {
    let size = |projector| {
        let mut b = high();
        b.settings.projector = projector;
        let p = pane(b);
        p.h.state().engine.expect("the engine's").size() * p.h.ctx.pixels_per_point()
    };
    let (small, large) = (size(false), size(true));
    assert!(large.x >= small.x && large.x * large.y >= 0.9 * small.x * small.y, "{small:?} {large:?}");
}

/// Step 6 of the tour was over as soon as F was pressed, before anybody had seen two runs.
#[test]
fn bug_the_tour_waits_until_both_runs_were_looked_at() {
    let mut b = bay("healthy-idle", &[Order::Fork], 2.0);
    b.state.guide = Some(5);
    let mut p = pane(b);
    assert!(has(&p, "split the run in two"));
    press(&mut p, Key::F3);
    assert!(has(&p, "End of the tour"));
}

#[test]
fn scenarios_that_were_passed_are_ticked_and_a_next_one_is_proposed() {
    let ids: Vec<String> = welcome::items().iter().filter(|i| i.lesson).map(|i| i.id.clone()).collect();
    assert!(idlewright::store::SCENARIOS.len() <= 64, "a bit for each");
    let passed = ids.iter().fold(Passed::default(), |p, id| p.with(id));
    assert!(ids.iter().all(|id| passed.has(id)) && !Passed::default().has(&ids[0]));
    let settings = Settings { passed: Passed::default().with("idles-high"), ..Settings::default() };
    assert_eq!(Settings::parse(&settings.text()), settings, "kept by its id: {}", settings.text());
    assert_eq!(Settings::parse("passed = \"no-such idles-high\"").passed, settings.passed);
    let mut b = bay_of(jobs::scenario("healthy-idle"), &[], 1.0);
    b.settings = Settings { cautions_read: true, ..settings };
    b.state.front = idlewright::window::panels::Front::Scenarios;
    let mut p = pane(b);
    assert!(p.h.get_all_by_label("passed").count() == 1);
    let next = welcome::items()
        .iter()
        .filter(|i| i.lesson && i.id != "idles-high")
        .min_by_key(|i| i.level)
        .expect("more");
    let wishes = click(&mut p, &format!("Next: {}", next.title));
    assert_eq!(wishes, vec![Wish::Scenario(next.id.clone())]);
}

#[test]
fn a_module_that_answers_is_read() {
    let b = high();
    let mut asleep = Bay::like(&b);
    asleep.view.first.seen.answers = false;
    let read = |b: &Bay| {
        let shown = super::support::shown_of(b);
        Read::of(&shown)
    };
    assert!(read(&b).rpm.is_some() && read(&b).target_rpm.is_some());
    assert_eq!(read(&asleep), Read { rpm: None, target_rpm: None });
    let p = pane(b);
    let node = p.h.get_by_label_contains("engine speed ").accesskit_node();
    // a label's words are its value
    let named = node.label().or(node.value()).unwrap_or_default();
    assert!(named.contains("rpm"), "{named}");
}
