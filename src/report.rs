//! stub, replaced
use crate::bench::{
    record::Entry,
    trace::Trace,
    view::{Observation, Truth},
};
pub struct Line {
    pub what: String,
    pub why: String,
    pub rule: String,
    pub met: bool,
    pub measured: String,
    pub at_s: f64,
}
pub struct Sheet<'a> {
    pub version: &'a str,
    pub id: &'a str,
    pub title: &'a str,
    pub actions: Option<(&'a str, &'a str)>,
    pub complaint: &'a str,
    pub teaches: &'a str,
    pub cautions: &'a [String],
    pub car_title: &'a str,
    pub odometer_km: f64,
    pub seed: u64,
    pub step_deg: f64,
    pub lid_open: bool,
    pub hand_over_s: f64,
    pub end_s: f64,
    pub stopped: bool,
    pub state_hash: &'a str,
    pub trace: &'a Trace,
    pub log: &'a [Entry],
    pub before: &'a Observation,
    pub after: &'a Observation,
    pub truth: Option<(&'a Truth, &'a Truth)>,
    pub lines: &'a [Line],
    pub model_notes: &'a [String],
    pub code_words: fn(&str) -> &'static str,
}
pub fn table(s: &Sheet) -> String {
    let mut t = String::new();
    for l in s.lines {
        t += &format!(
            "{} {} = {} ({}) {}\n",
            if l.met { "met" } else { "NOT MET" },
            l.what,
            l.measured,
            l.rule,
            l.why
        );
    }
    for e in s.log {
        t += &format!("{:?}\n", e);
    }
    t
}
pub fn trace_csv(_t: &Trace, _l: bool) -> String {
    String::new()
}
pub fn logbook_jsonl(_h: &serde_json::Value, _l: &[Entry], _e: &serde_json::Value) -> String {
    String::new()
}
pub fn debrief_html(_s: &Sheet) -> String {
    String::new()
}
