use super::html::escape;
use super::svg::thin;
use super::*;
use crate::bench::Bench;
use crate::bench::setup::{Faults, Setup, Weather};
use crate::bench::trace::COLUMNS;

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
        (v.written_by, v.written_s) = (Writer::Ordinary, -60.0);
    }
    let mut trace = Trace::default();
    trace.add(&b, &seen);
    trace.add(&b, &seen);
    let line = Line {
        what: "truth.deposit_um".into(),
        why: "the plate <b>is</b> 'clean' & dry".into(),
        rule: "at most 0.123456".into(),
        met: true,
        measured: "0.0471147".into(),
        at_s: 61.0,
    };
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
        end_s: 1.0,
        stopped: false,
        state_hash: "00",
        trace: &trace,
        log: &[],
        before: &seen,
        after: &seen,
        // handed in either way: the lid decides
        truth: Some((&truth, &truth)),
        lines: &[line],
        job: &Job::default(),
        grade: None,
        moments: &[],
        path: None,
        gates_hidden: false,
        model_notes: &["<hr>".into()],
        code_words: |_| "words",
    });
}

#[test]
fn html_is_escaped_and_asks_for_nothing() {
    assert_eq!(
        escape("<a href='x'>\"&\"</a>\u{7}"),
        "&lt;a href=&#39;x&#39;&gt;&quot;&amp;&quot;&lt;/a&gt;\u{FFFD}"
    );
    with_sheet(true, |s| {
        let page = debrief_html(s);
        for bad in ["<script", "<b>is", "<i>:", "<hr>", "\u{1b}", "http", "url(h", "src=", "@import"] {
            assert!(!page.contains(bad), "{bad}");
        }
        assert!(page.contains("&lt;script&gt;alert(1)"));
        for caution in STANDING_CAUTIONS {
            assert!(page.contains(&escape(caution)), "{caution}");
        }
    });
}

#[test]
fn closed_lid_shows_no_truth_even_if_it_is_handed_in() {
    with_sheet(false, |s| {
        let page = debrief_html(s);
        for told in
            ["0.0471147", "0.123456", "dry", "class=\"ink\"", "line truth", "parts need", "What was true"]
        {
            assert!(!page.contains(told), "{told}");
        }
        assert!(page.contains("hidden"));
        let text = table(s);
        assert!(!text.contains("0.047") && !text.contains("dry") && text.contains("hidden"), "{text}");
    });
    with_sheet(true, |s| {
        let page = debrief_html(s);
        for told in ["0.05<", "0.123456", "class=\"ink\"", "line truth", "What was true"] {
            assert!(page.contains(told), "{told}");
        }
    });
}

#[test]
fn csv_holds_truth_under_an_open_lid_only() {
    let b = bench();
    let mut trace = Trace::default();
    trace.add(&b, &b.observe());
    let (closed, open) = (trace_csv(&trace, false), trace_csv(&trace, true));
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
        (clock(59.6, false), clock(-61.25, true), clock(3600.0, false)),
        ("1:00".into(), "-1:01.3".into(), "60:00".into())
    );
    assert_eq!(
        (tidy("719.4410306314267"), tidy("service routine")),
        ("719.4".into(), "service routine".into())
    );
    assert_eq!(path_words("learned.idle_air_light.value"), "idle air, light");
    assert_eq!(path_words("idle.mean_rpm"), "idle: mean speed (rpm)");
    assert_eq!(path_words("codes.P0507.pending"), "code P0507 pending");
}

#[test]
fn cells_are_quoted_where_they_must_be_and_never_a_formula() {
    let row = ["a,b", "say \"x\"", "=1+1", "-1.5", "\u{2212}1.5", "+0.5", "@x", "two\nlines", "\t=x", ""];
    let text = csv_text(&["one", "two"], [row.map(String::from).to_vec()]);
    assert_eq!(text, "one,two\n\"a,b\",\"say \"\"x\"\"\",'=1+1,-1.5,-1.5,+0.5,'@x,two lines,' =x,\n");
}
