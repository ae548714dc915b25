//! A small sample of the evidence: the same on any number of threads, not behind what is recorded, every row in words.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use idlewright::evidence::{self, Record, Step, System, Wanted};
use idlewright::report::{Evidence, evidence_html, evidence_line};
use idlewright::words::{Words, message_of, speak};

const RECORDED: &str = include_str!("../../docs/evidence.json");

/// Starts of one car, warm to frosty: few seconds each.
fn sample() -> Wanted {
    Wanted { car: Some("plover".into()), only: Some(System::Start), seeds: 2 }
}

fn by_threads(n: usize) -> String {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(n).build().expect("threads");
    pool.install(|| Record::of(&sample(), &evidence::measure(&sample(), &|_, _| ())).text())
}

#[test]
fn same_findings_on_any_number_of_threads_and_not_behind_the_record() {
    let (one, three) = (by_threads(1), by_threads(3));
    assert!(one == three && one.len() > 500);
    let is = Record::read(&one).expect("its own text");
    let recorded = Record::read(RECORDED).expect("docs/evidence.json");
    let steps = is.since(&recorded, &sample());
    assert!(!steps.iter().any(Step::is_back), "{steps:?}");
}

#[test]
fn holds_every_row_and_source_has_its_words() {
    let english = Words::english();
    for row in evidence::rows() {
        for (kind, id) in [
            ("evidence-row", row.id),
            ("evidence-source", row.source.id),
            ("evidence-kind", row.source.kind.name()),
            ("evidence-system", row.system.name()),
        ] {
            assert!(english.has(&message_of(kind, id)), "{kind}-{id}");
        }
    }
}

/// No row that was recorded is gone from the table.
#[test]
fn holds_every_recorded_row_is_declared() {
    let all: serde_json::Value = serde_json::from_str(RECORDED).expect("JSON");
    for row in all["rows"].as_array().expect("rows") {
        let id = row["id"].as_str().expect("an id");
        assert!(evidence::rows().any(|r| r.id == id), "{id} is recorded and not declared");
    }
}

/// The page asks for nothing from outside, tells a miss by a word and not by colour alone, and shows each row.
#[test]
fn holds_the_page_tells_hits_and_misses_in_words() {
    let wanted = Wanted { car: Some("plover".into()), only: Some(System::Battery), seeds: 1 };
    let mut findings: Vec<_> = evidence::measure(&wanted, &|_, _| ());
    // one of them made to miss
    findings[0].seen[0].value = 2.0 * findings[0].seen[0].band[1];
    let page = |findings| evidence_html(&Evidence { version: "0", seeds: 1, findings });
    let html = page(&findings);
    assert_eq!(html.matches("✓ pass").count(), findings.iter().filter(|f| f.passes()).count());
    assert!(html.contains("✗ miss"), "{html}");
    assert!(html.contains("+100 %") && evidence_line(&findings[0]).contains("+100 %"));
    assert!(!html.contains("http") && !html.contains("src="));
    let _speaking = speak(&Words::pseudo());
    assert!(!page(&findings).contains("pass<"));
}
