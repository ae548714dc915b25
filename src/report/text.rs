//! The account in plain text, for a terminal of 100 columns.

use super::card::{lines_words, sum_words};
use super::cautions::{AtAct, job_cautions};
use super::expectations::{is_kept, told, verdict, whose_words};
use super::grade;
use super::names::{
    against, code_states, decimals, in_shown_units, lambda_words, lamp_words, learned_number, learned_words,
    lid_words, other_lamps, written,
};
use super::page::number_as_written;
use super::sheet::Sheet;
use crate::bench::record::Kind;
use crate::bench::view::TrimView;
use crate::link::{DiagResponse, LearnedStatus};
use crate::scenario::OwnCaution;
use crate::words::numbers::{grouped, measured, minutes, number, shown_units, signed, signed_measured};
use crate::words::{facts, name, readings, say};

/// Columns.
pub(super) const WIDE: usize = 100;
/// Number of lines beyond which the reasons of expectations that were met are left out.
const TALL: usize = 54;

/// The account printed at the end of a run: plain text, 100 columns, about 45 lines at most.
pub fn table(sheet: &Sheet) -> String {
    let head: Vec<String> =
        [whose(sheet), graded(sheet), engine(sheet), learned(sheet), found(sheet), work(sheet)].concat();
    let full = expectations(sheet, true);
    let judged = if head.len() + full.len() > TALL { expectations(sheet, false) } else { full };
    let mut out = String::new();
    let foot = wrapped("", &say("account-made-up"), 0);
    for line in head.iter().chain(&judged).chain([&String::new()]).chain(&foot) {
        out += line.trim_end();
        out.push('\n');
    }
    out
}

/// The cautions of a run for a terminal, shown before it begins: the job's own, the general ones, those of the acts.
pub fn cautions_text(own: &[OwnCaution], at_acts: &[AtAct]) -> String {
    let [own, always] = job_cautions(own);
    let mut out = vec![say("cautions-heading")];
    out.extend(own.iter().chain(&always).map(|c| format!("  ! {}", plain(&c.says))));
    out.extend(at_acts.iter().map(|a| {
        let words = say!("cautions-at-act", act = a.does.as_str(), caution = a.caution.says.as_str());
        format!("  {}", plain(&words))
    }));
    out.join("\n") + "\n"
}

/// A text without characters that would move a terminal's cursor.
pub(super) fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A text wrapped at the edge, each line but the first indented.
pub(super) fn wrapped(first: &str, text: &str, indent: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = first.to_string();
    let mut fresh = true;
    for word in plain(text).split_whitespace() {
        if !fresh && line.chars().count() + 1 + word.chars().count() > WIDE {
            lines.push(std::mem::replace(&mut line, " ".repeat(indent)));
            fresh = true;
        }
        if !fresh {
            line.push(' ');
        }
        line.push_str(word);
        fresh = false;
    }
    lines.push(line);
    lines
}

/// A line with its label; without one, a continuation of the line above.
fn row(label: &str, text: &str) -> Vec<String> {
    let label = if label.is_empty() { String::new() } else { say(label) };
    named(&label, text)
}

fn named(label: &str, text: &str) -> Vec<String> {
    wrapped(&format!("{label:<13} "), text, 14)
}

/// Several lines, the first with a label.
fn rows(label: &str, all: &[String]) -> Vec<String> {
    all.iter().enumerate().flat_map(|(i, text)| row(if i == 0 { label } else { "" }, text)).collect()
}

/// Who worked, and on what.
fn whose(sheet: &Sheet) -> Vec<String> {
    let mut out = wrapped("", &format!("{}  {}", sheet.id, sheet.title), 4);
    if let Some(trainee) = sheet.trainee {
        out.extend(row("account-trainee", trainee));
    }
    if let Some((id, title)) = sheet.actions {
        out.extend(row("account-worked-by", &format!("{id}: {title}")));
    }
    let car = say!(
        "account-car-is",
        car = sheet.car_title,
        km = grouped(in_shown_units(sheet.odometer_km, "km").0),
        unit = shown_units().unit("km"),
        seed = sheet.seed.to_string(),
        step = number_as_written(sheet.step_deg),
        lid = lid_words(sheet.lid_open),
    );
    out.extend(row("account-car", &car));
    if !sheet.complaint.is_empty() {
        out.extend(row("account-complaint", &format!("\"{}\"", sheet.complaint)));
    }
    let time = say!(
        if sheet.stopped { "account-time-stopped" } else { "account-time-ended" },
        from = minutes(sheet.hand_over_s, false),
        to = minutes(sheet.end_s, false),
    );
    out.extend(row("account-time", &time));
    out.push(String::new());
    out
}

fn graded(sheet: &Sheet) -> Vec<String> {
    let Some(g) = sheet.grade else { return Vec::new() };
    let mut out: Vec<String> = grade::lines(g).iter().flat_map(|(label, text)| named(label, text)).collect();
    out.push(String::new());
    out
}

/// Engine, idle and trims at the end.
fn engine(sheet: &Sheet) -> Vec<String> {
    let live = &sheet.after.live;
    let engine = match (live.running, live.engine_speed_rpm > 0.0) {
        (true, _) => say!("account-running", rpm = number(live.engine_speed_rpm, 0)),
        (false, true) => say("account-turning"),
        (false, false) => say("account-standing"),
    };
    let mut out = row("account-engine", &engine);
    match &sheet.after.idle {
        None => out.extend(row("account-idle", &say("account-no-idle"))),
        Some(i) => {
            let speed = say!(
                "account-idle-is",
                rpm = number(i.mean_rpm, 0),
                against = against(i.mean_rpm, i.target_rpm),
                spread = number(i.sd_rpm, 0),
                map = measured(i.map_kpa, "kPa", 1),
                air = measured(i.air_g_s, "g/s", 2),
            );
            let rest = say!(
                "account-idle-rest",
                throttle = number(i.throttle_deg, decimals("°")),
                spark = number(i.spark_deg, 1),
                lambda = lambda_words(&i.lambda),
            );
            out.extend(rows("account-idle", &[speed, rest]));
        }
    }
    out.extend(sheet.after.trims.iter().flat_map(trims));
    out.push(String::new());
    out
}

fn trims(t: &TrimView) -> Vec<String> {
    let words = say!(
        "account-trims-are",
        short = signed(t.short_pct, 1),
        air = signed_measured(t.long_idle_g_s, "g/s", 2),
        idle = signed(t.long_idle_pct, 1),
        part = signed(t.long_part_pct, 1),
        high = signed(t.long_high_pct, 1),
    );
    named(&say!("account-trims", bank = t.bank), &words)
}

/// The table of learned values, and whether idle air may be learned.
fn learned(sheet: &Sheet) -> Vec<String> {
    if sheet.after.learned.is_empty() {
        let unread = row("account-learned-values", &say("learned-unread"));
        return unread.into_iter().chain([String::new()]).collect();
    }
    let line = |c: [&str; 6]| {
        plain(&format!("{:<33} {:>6} {:<3} {:>7}  {:>14}  {}", c[0], c[1], c[2], c[3], c[4], c[5]))
    };
    let head = ["value", "now", "default", "limits", "by"].map(|h| say(&format!("account-learned-{h}")));
    let mut out = vec![line([&head[0], &head[1], "", &head[2], &head[3], &head[4]])];
    for v in &sheet.after.learned {
        let n = |x: f64| learned_number(v, x);
        let limits = say!("account-limits", low = n(v.low), high = n(v.high));
        out.push(line([
            &learned_words(&v.name),
            &n(v.value),
            shown_units().unit(&v.unit),
            &n(v.default),
            &limits,
            &written_short(v),
        ]));
    }
    out.push(String::new());
    out.extend(may_learn(sheet));
    out
}

/// The writer of a value, in short form.
fn written_short(v: &LearnedStatus) -> String {
    use crate::link::Writer::{Delivered, Factory};
    match v.written_by {
        Delivered | Factory => written(v),
        by if v.written_s < 0.0 => say!("written-earlier", who = facts::writer(by)),
        _ => written(v),
    }
}

fn may_learn(sheet: &Sheet) -> Vec<String> {
    let Some(v) = sheet.after.learned.iter().find(|v| v.name == "idle_air_light") else { return Vec::new() };
    let shut: Vec<String> =
        v.gates.iter().filter(|g| !g.open).map(|g| say!("account-gate-shut", why = facts::gate(g))).collect();
    match (v.gates.len() as u32, shut.is_empty()) {
        (0, _) => row("account-idle-air", &say("account-not-looked")),
        (all, true) => row("account-idle-air", &say!("account-may-learn", gates = all)),
        _ => rows("account-idle-air", &shut),
    }
}

/// Codes, lamp, readings.
fn found(sheet: &Sheet) -> Vec<String> {
    let code = |c: &crate::link::CodeStatus| {
        let says = name("code", &c.code);
        say!("account-code", code = c.code.as_str(), says = says, states = code_states(c))
    };
    let mut codes: Vec<String> = sheet.after.codes.iter().map(code).collect();
    if codes.is_empty() {
        codes.push(say("account-no-codes"));
    }
    let mut out = rows("account-codes", &codes);
    out.extend(row("account-lamp", &lamp_words(sheet.after.lamp)));
    for (id, _) in other_lamps(sheet.after).into_iter().filter(|(_, lit)| *lit) {
        out.extend(row("account-lamp", &say!("account-lamp-also", lamp = say(id))));
    }
    let reading = |r: &crate::bench::tools::Reading| {
        say!("account-reading", words = readings::reading(r), at = minutes(r.at_s, false))
    };
    out.extend(rows("account-measured", &sheet.after.readings.iter().map(reading).collect::<Vec<_>>()));
    out
}

/// Job card, acts that could not be done, limits of the model.
fn work(sheet: &Sheet) -> Vec<String> {
    let mut out = Vec::new();
    if !sheet.job.lines.is_empty() {
        out.extend(rows("account-job", &[sum_words(sheet.job), lines_words(sheet.job)]));
    }
    for e in sheet.log {
        let (label, id, why) = match &e.kind {
            Kind::Hindered { id, why } => ("account-hindered", id, facts::hindrance(why)),
            Kind::Answer { id, answer: DiagResponse::Refused(why) } => {
                ("account-refused", id, facts::refused(why))
            }
            _ => continue,
        };
        let what = if id.is_empty() { say("account-an-act") } else { id.clone() };
        let words = say!("account-hindered-is", what = what, at = minutes(e.t_s, false), why = why);
        out.extend(row(label, &words));
    }
    for note in sheet.model_notes.iter().take(3) {
        out.extend(row("account-model-note", &facts::model_note(note)));
    }
    out.push(String::new());
    out
}

fn expectations(sheet: &Sheet, reasons: bool) -> Vec<String> {
    let mut out =
        wrapped("", &say!("account-expectations", whose = whose_words(sheet), verdict = verdict(sheet)), 4);
    let width = sheet.lines.iter().map(|l| l.what.chars().count()).max().unwrap_or(0).min(48);
    // of what a lesson keeps back there is nothing to tell but how many were met
    for line in sheet.lines.iter().filter(|l| !is_kept(l)) {
        let told = told(sheet, line);
        let sign = say(if line.met { "account-met" } else { "account-not-met" });
        let first = format!("  {sign:<8} {:<width$}  ", plain(&line.what));
        let text = say!(
            "account-expectation",
            measured = told.measured,
            rule = told.asked,
            at = minutes(line.at_s, false),
        );
        out.extend(wrapped(&first, &text, 13));
        if (reasons || !line.met) && !told.why.is_empty() {
            out.extend(wrapped(&" ".repeat(11), &told.why, 11));
        }
    }
    out
}
