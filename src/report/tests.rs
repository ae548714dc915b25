use super::cautions::standing_cautions;
use super::cells::{csv_text, fixed, trace_csv};
use super::debrief::debrief_html;
use super::names::{path_words, tidy};
use super::sheet::Sheet;
use super::text::table;
use super::time_axis::TimeAxis;
use super::time_chart::{chart, thin};
use crate::bench::Bench;
use crate::bench::facts::{Hindrance, ModelNote};
use crate::bench::record::{Entry, Kind};
use crate::bench::setup::{Faults, FuelSetup, Setup, Weather};
use crate::bench::trace::{COLUMNS, Trace};
use crate::bench::view::Course;
use crate::scenario::Rule;
use crate::session::Job;
use crate::session::{Asked, Judged, Why};
use crate::words::numbers::{clock, minutes, signed};
use maud::html;

fn bench() -> Bench {
    let setup = Setup {
        car_toml: include_str!("../../assets/cars/plover.toml").into(),
        seed: 1,
        step_deg: 2.0,
        weather: Weather::default(),
        coolant_c: 20.0,
        battery_charge_pct: 90.0,
        odometer_km: 1234567.0,
        parts: Vec::new(),
        faults: Faults::default(),
        ills: Vec::new(),
        canister_pct: 10.0,
        fuel: FuelSetup::default(),
        memory_profile: None,
        battery_record: None,
        conditioning: Vec::new(),
    };
    Bench::standing(&setup).expect("the shipped car is good")
}

fn with_sheet(lid_open: bool, f: impl FnOnce(&Sheet)) {
    let b = bench();
    let (mut seen, truth) = (b.observe(), b.truth());
    for v in &mut seen.learned {
        (v.written_by, v.written_s) = (crate::link::Writer::Ordinary, -60.0);
    }
    let mut trace = Trace::default();
    trace.add(&b, &seen);
    trace.add(&b, &seen);
    let line = Judged {
        what: "truth.deposit_um".into(),
        why: Why::Author("the plate <b>is</b> 'clean' & dry".into()),
        asked: Asked::Rule(Rule::Between { min: None, max: Some(0.123456) }),
        met: true,
        measured: 0.0471147.into(),
        at_s: 61.0,
        hidden: false,
    };
    let because = Hindrance::NoValue("<hr>".into());
    let note = ModelNote::NotDriven { pattern: crate::bench::pattern::Name::Town, because };
    f(&Sheet {
        version: "0",
        id: "<A&1>",
        title: "\"quoted\" \u{1b}[31mred",
        trainee: None,
        actions: Some(("<i>", "t")),
        complaint: "<script>alert(1)</script>",
        teaches: "",
        cautions: &[],
        car_title: "Plover",
        odometer_km: 1234567.0,
        seed: 1,
        step_deg: 2.0,
        lid_open,
        hand_over_s: 0.0,
        own_lines: 0,
        end_s: 1.0,
        stopped: false,
        state_hash: "00",
        trace: &trace,
        log: &[],
        before: &seen,
        after: &seen,
        // supplied in either case: the lid decides
        truth: Some((&truth, &truth)),
        judges: &[],
        lines: &[line],
        job: &Job::default(),
        grade: None,
        moments: &[],
        path: None,
        gates_hidden: false,
        model_notes: &[note],
    });
}

#[test]
fn html_is_escaped_and_asks_for_nothing() {
    with_sheet(true, |s| {
        let page = debrief_html(s);
        for bad in ["<script", "<b>is", "<i>:", "<hr>", "\u{1b}", "http", "url(h", "src=", "@import"] {
            assert!(!page.contains(bad), "{bad}");
        }
        assert!(page.contains("&lt;script&gt;alert(1)"));
        assert!(page.contains("red") && page.contains('\u{FFFD}'), "what no text can hold is told");
        for caution in standing_cautions() {
            assert!(page.contains(&html! { (caution.says) }.into_string()), "{caution:?}");
        }
    });
}

#[test]
fn closed_lid_shows_no_truth_even_if_it_is_handed_in() {
    with_sheet(false, |s| {
        let page = debrief_html(s);
        for told in [
            "0.0471147",
            "0.123456",
            "dry",
            "class=\"ink\"",
            "line truth",
            "needed",
            "True values at the end",
        ] {
            assert!(!page.contains(told), "{told}");
        }
        assert!(page.contains("hidden"));
        let text = table(s);
        assert!(!text.contains("0.047") && !text.contains("dry") && text.contains("hidden"), "{text}");
    });
    with_sheet(true, |s| {
        let page = debrief_html(s);
        for told in ["0.05<", "0.123456", "class=\"ink\"", "line truth", "True values at the end"] {
            assert!(page.contains(told), "{told}");
        }
    });
}

#[test]
fn csv_holds_truth_under_an_open_lid_only() {
    let b = bench();
    let mut trace = Trace::default();
    trace.add(&b, &b.observe());
    let (closed, open) = (trace_csv(&trace, false, true), trace_csv(&trace, true, true));
    let hidden = COLUMNS.iter().filter(|c| c.truth).count();
    assert!(hidden > 0 && !closed.contains("true_") && open.contains("true_deposit_um"));
    let cells = |text: &str| text.lines().map(|l| l.split(',').count()).collect::<Vec<_>>();
    assert_eq!(cells(&open), [COLUMNS.len(); 2]);
    assert_eq!(cells(&closed), [COLUMNS.len() - hidden; 2]);
    assert!(closed.starts_with("time_s,engine_speed_rpm,") && closed.ends_with('\n'));
}

#[test]
fn thinning_keeps_extremes_gaps_and_order() {
    let mut points: Vec<(f64, f64)> = (0..10_000).map(|k| (f64::from(k), f64::from(k % 7))).collect();
    points[1234].1 = 500.0;
    points[8765].1 = -500.0;
    for p in &mut points[4000..5000] {
        p.1 = f64::NAN;
    }
    let few = thin(&points, 700);
    assert!(few.len() <= 700);
    assert!(few.contains(&(1234.0, 500.0)) && few.contains(&(8765.0, -500.0)));
    assert!(few.windows(2).all(|w| w[0].0 < w[1].0));
    assert!(few.iter().any(|p| p.1.is_nan()));
    assert_eq!(thin(&points[..300], 700).len(), 300);
}

#[test]
fn account_fits_a_terminal() {
    with_sheet(true, |s| {
        let text = table(s);
        assert!(text.lines().count() <= 45);
        assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
        assert!(!text.contains('\u{1b}') && text.contains("1 234 567 km"));
    });
}

#[test]
fn numbers_and_times_read_well() {
    assert_eq!(
        (fixed(-0.0004, 2), signed(0.5, 1), signed(-0.04, 1)),
        ("0.00".into(), "+0.5".into(), "0.0".into())
    );
    assert_eq!(
        (minutes(59.6, false), minutes(-61.25, true), minutes(3600.0, false)),
        ("1:00".into(), "\u{2212}1:01.3".into(), "60:00".into())
    );
    // hours and days are told as such: "3607:45" is read by nobody
    assert_eq!(
        (minutes(7200.0, false), minutes(216_465.0, false), clock(-90_000.0)),
        ("2:00:00".into(), "2 d 12:07:45".into(), "\u{2212}1 d 1:00:00".into())
    );
    assert_eq!(
        (tidy("719.4410306314267"), tidy("service routine")),
        ("719.4".into(), "service routine".into())
    );
    assert_eq!(path_words("learned.idle_air_light.value"), "idle air, no load");
    assert_eq!(path_words("idle.mean_rpm"), "idle: mean speed (rpm)");
    assert_eq!(path_words("codes.P0507.pending"), "code P0507 pending");
}

#[test]
fn cells_are_quoted_where_they_must_be_and_never_a_formula() {
    let row = ["a,b", "say \"x\"", "=1+1", "-1.5", "\u{2212}1.5", "+0.5", "@x", "two\nlines", "\t=x", ""];
    let text = csv_text(&["one", "two"], [row.map(String::from).to_vec()]);
    assert_eq!(text, "one,two\n\"a,b\",\"say \"\"x\"\"\",'=1+1,-1.5,-1.5,+0.5,'@x,two lines,' =x,\n");
}

// ---------------------------------------------------------------------------------------------------
// Words
// ---------------------------------------------------------------------------------------------------

/// A logbook with every kind of act, answer and note.
fn everything() -> Vec<Entry> {
    use crate::bench::action::{
        Action, Connector, Gear, Ill, Key, Load, Note, PartChoice, PartKind, Said, Sensor,
    };
    use crate::bench::tools::{Lead, Look, Point, Tool};
    use crate::link::{
        CodeStatus, DiagRequest, DiagResponse, LiveValues, MonitorStatus, Notice, Refused, Routine,
    };
    let mut acts = vec![
        Action::Key(Key::On),
        Action::Key(Key::Crank),
        Action::Pedal(20.0),
        Action::Brake(true),
        Action::Gear(Gear::Neutral),
        Action::CleanThrottle,
        Action::Leak(0.0),
        Action::Leak(12.0),
        Action::ExhaustLeak(3.0),
        Action::SwapInjectors(1, 2),
        Action::CopyInjectorCode { cylinder: 1, body: 2 },
        Action::Interrupt(1, 20.0),
        Action::Refuel(10.0),
        Action::Accessory { amps: 1.0, past_sensor: true },
        Action::Charger { amps: 0.0, past_sensor: false },
        Action::Charger { amps: 30.0, past_sensor: false },
        Action::Charger { amps: 30.0, past_sensor: true },
        Action::Rest(8.0),
        Action::Hold { rpm: 2000.0, nm: 40.0 },
        Action::Watch(Vec::new()),
        Action::Measure(Tool::FuelPressure),
        Action::Measure(Tool::Voltmeter(Point::BatteryPost)),
        Action::Measure(Tool::ClampOn(Lead::Alternator)),
        Action::Measure(Tool::Inspect(Look::Hoses)),
        Action::Measure(Tool::Compression(2)),
        Action::Measure(Tool::LeakDown(2)),
        Action::Note(Note::Cautions),
        Action::Note(Note::Lid(true)),
        Action::Note(Note::Forked),
        Action::Note(Note::Rewound(3.0)),
        Action::Note(Note::Answer { ask: "1".into(), says: Said::Number(2.0) }),
        Action::Sensor(Sensor::Coolant, Ill { offset_v: 0.2, stuck: true, ..Ill::default() }),
    ];
    acts.extend(Load::ALL.iter().map(|l| Action::Load(l.1, true)));
    acts.extend(Connector::named(2).into_iter().map(|c| Action::Connector(c.1, false)));
    acts.extend(PartKind::ALL.iter().map(|kind| {
        let mut choice = PartChoice::new(*kind);
        kind.faults().iter().for_each(|f| choice.say(f.key, Some(f.begins)));
        Action::Fit(choice)
    }));
    let code = CodeStatus { code: "P0507".into(), pending: true, confirmed: true, permanent: false };
    let monitor = MonitorStatus { name: "misfire".into(), complete: false };
    let asked = [
        (DiagRequest::ReadCodes, DiagResponse::Codes(vec![code])),
        (DiagRequest::ReadReadiness, DiagResponse::Readiness(vec![monitor])),
        (DiagRequest::Start(Routine::LearnIdle), DiagResponse::Refused(Refused::LoadOn)),
        (DiagRequest::ClearCodes, DiagResponse::Ok),
        (DiagRequest::ReadLearned, DiagResponse::Learned(Vec::new())),
        (DiagRequest::ReadInjectorCode(1), DiagResponse::InjectorCode(None)),
        (DiagRequest::ReadLive, DiagResponse::Live(LiveValues::default())),
        (DiagRequest::Stop, DiagResponse::Silent),
    ];
    let mut all: Vec<Kind> = acts.into_iter().map(|action| Kind::Act { id: String::new(), action }).collect();
    for (request, answer) in asked {
        all.push(Kind::Act { id: "1".into(), action: Action::Ask(request) });
        all.push(Kind::Answer { id: "1".into(), answer });
    }
    all.extend(
        [Notice::KeyOff, Notice::EngineStopped, Notice::SequenceComplete { idle_air_light_g_s: 0.1 }]
            .map(|what| Kind::Module { what }),
    );
    let moved = Course { name: "coolant_c".into(), first: 1.0, last: 2.0, least: 1.0, most: 3.0 };
    let still = Course { name: "long_pct".into(), ..Course::default() };
    all.push(Kind::Shown { id: String::new(), values: vec![moved.clone()] });
    all.push(Kind::Watched { id: String::new(), values: vec![moved, still] });
    all.push(Kind::TimedOut { id: String::new(), condition: "1".into() });
    all.into_iter().enumerate().map(|(k, kind)| Entry { t_s: k as f64, kind }).collect()
}

/// Plain words of three letters or more outside tags, style and attributes.
fn plain_words(text: &str) -> Vec<String> {
    let mut shown = String::new();
    let mut rest = text.split_once("</style>").map_or(text, |(_, body)| body);
    while let Some((before, tag)) = rest.split_once('<') {
        shown += before;
        shown.push(' ');
        rest = tag.split_once('>').map_or("", |(_, after)| after);
    }
    shown += rest;
    // a word with letters of more than one alphabet comes from the words room
    let shown = ["&quot;", "&amp;", "&lt;", "&gt;"].iter().fold(shown, |text, sign| text.replace(sign, " "));
    let words = shown.split(|c: char| !c.is_alphanumeric() && c != '_' && c != '~');
    let plain = words.filter(|w| w.len() >= 3 && w.bytes().all(|b| b.is_ascii_alphabetic()));
    plain.map(String::from).collect()
}

/// In the pseudo-language no plain English word is left on paper. Symbols of units are the same in every language, as
/// are ids and serials; texts of scenario, car and trainee are digits here. The bench's own sentences (why an act is
/// not possible, what the driver reports, notes of a model) are not in this logbook.
#[test]
fn paper_speaks_the_language_that_is_chosen() {
    use super::twin::{Pair, twin_table};
    use super::twin_page::{twin_html, twin_svg};
    let _speaking = crate::words::speak(&crate::words::Words::pseudo());
    let log = everything();
    with_sheet(true, |s| {
        let mut truth = s.truth.expect("handed in").1.clone();
        truth.parts.iter_mut().for_each(|p| p.serial = "1".into());
        let line = |what: &str| Judged {
            what: what.into(),
            why: Why::Author("1".into()),
            asked: Asked::Rule(Rule::Is(1.into())),
            met: false,
            measured: 2.into(),
            at_s: 3.0,
            hidden: false,
        };
        let paths =
            ["idle.mean_rpm", "learned.idle_air_light.value", "codes.P0507.pending", "lamp", "live.lambda"];
        let lines = paths.map(line);
        let plain = Sheet {
            id: "1",
            title: "2",
            trainee: Some("3"),
            actions: Some(("4", "5")),
            complaint: "6",
            teaches: "7",
            car_title: "8",
            log: &log,
            truth: Some((&truth, &truth)),
            lines: &lines,
            model_notes: &[],
            ..s.clone()
        };
        // paths appear as ids in the account
        let account = paths.iter().fold(table(&plain), |text, path| text.replace(path, ""));
        let left_out = ["1".to_owned()];
        let pair = Pair { done: &plain, without: &plain, left_out: &left_out, forked_s: Some(1.0) };
        let picture = twin_svg(&pair, &["engine_speed_rpm".into()]).expect("a trace");
        for (of, text) in [
            ("debrief", debrief_html(&plain)),
            ("account", account),
            ("twin page", twin_html(&pair)),
            ("twin table", twin_table(&pair)),
            ("twin picture", picture),
        ] {
            let mut left = plain_words(&text);
            left.retain(|w| !["rpm", "kPa"].contains(&w.as_str()));
            assert!(left.is_empty(), "{of}: {left:?}");
            assert!(text.contains('⟦'), "{of} speaks the pseudo-language");
        }
    });
}

/// The word finder of this test does find plain words.
#[test]
fn trips_a_plain_word() {
    assert_eq!(plain_words("<p class=\"note\">⟦ñóţé⟧ 720 rpm, left <b>out</b></p>"), ["rpm", "left", "out"]);
}

/// Ticks of clock times with days in them ("1 d 6:00:00") are wider than the space between ticks.
#[test]
fn labels_a_scale_over_a_day_in_days() {
    let scale = |hours: f64| plain_ticks(&chart("t", &[], &[], &TimeAxis::to(hours * 3600.0)).into_string());
    let days = scale(30.0);
    assert!(days.iter().all(|t| !t.contains(" d ")), "{days:?}");
    assert!(days.iter().any(|t| t == "0.5") && days.iter().any(|t| t == "days"), "{days:?}");
    let hours = scale(20.0);
    assert!(hours.iter().any(|t| t == "3:00:00") && hours.iter().all(|t| t != "days"), "{hours:?}");
}

/// The texts of a drawing, one by one.
fn plain_ticks(svg: &str) -> Vec<String> {
    svg.split("</text>").filter_map(|t| Some(t.rsplit_once('>')?.1.to_owned())).collect()
}
