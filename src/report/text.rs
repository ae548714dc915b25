//! The account in plain text, for a terminal of 100 columns.

use super::{
    Sheet, against, clock, code_states, decimals, fixed, grade, grouped, lamp_words, learned_number,
    learned_words, signed, written,
};
use crate::bench::record::Kind;
use crate::words::facts;

/// Columns.
const WIDE: usize = 100;
/// Lines beyond which the reasons of what was met are left out.
const TALL: usize = 54;

/// The account printed at the end of a run: plain text, 100 columns, about 45 lines at most.
pub fn table(sheet: &Sheet) -> String {
    let head = head(sheet);
    let full = expectations(sheet, true);
    let judged = if head.len() + full.len() > TALL { expectations(sheet, false) } else { full };
    let mut out = String::new();
    let foot = wrapped("", MADE_UP, 0);
    for line in head.iter().chain(&judged).chain([&String::new()]).chain(&foot) {
        out += line.trim_end();
        out.push('\n');
    }
    out
}

/// What every account ends with.
const MADE_UP: &str = "A simplified model of a made-up car. The vehicle maker's current procedure, workplace rules and the instructor always win.";

/// Without what would move a terminal's cursor.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// Words broken at the edge, each line but the first indented.
fn wrapped(first: &str, text: &str, indent: usize) -> Vec<String> {
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

fn row(label: &str, text: &str) -> Vec<String> {
    wrapped(&format!("{label:<14}"), text, 14)
}

fn head(sheet: &Sheet) -> Vec<String> {
    let mut out = wrapped("", &format!("{}  {}", sheet.id, sheet.title), 4);
    if let Some(trainee) = sheet.trainee {
        out.extend(row("trainee", trainee));
    }
    if let Some((id, title)) = sheet.actions {
        out.extend(row("worked by", &format!("{id}: {title}")));
    }
    let lid = if sheet.lid_open { "open" } else { "closed" };
    out.extend(row(
        "car",
        &format!(
            "{}, {} km; seed {}, crank step {}°, lid {lid}",
            sheet.car_title,
            grouped(sheet.odometer_km),
            sheet.seed,
            sheet.step_deg
        ),
    ));
    if !sheet.complaint.is_empty() {
        out.extend(row("complaint", &format!("\"{}\"", sheet.complaint)));
    }
    for (i, caution) in sheet.cautions.iter().enumerate() {
        out.extend(row(if i == 0 { "cautions" } else { "" }, caution));
    }
    let ended = if sheet.stopped { "stopped before its end at" } else { "ended at" };
    let (from, to) = (clock(sheet.hand_over_s, false), clock(sheet.end_s, false));
    out.extend(row("time", &format!("handed over at {from}, {ended} {to} (min:s)")));
    out.push(String::new());
    if let Some(g) = sheet.grade {
        out.extend(grade::lines(g).iter().flat_map(|(label, text)| row(label, text)));
        out.push(String::new());
    }
    out.extend(row(
        "engine",
        &match (sheet.after.live.running, sheet.after.live.engine_speed_rpm > 0.0) {
            (true, _) => format!("running at the end, {} rpm", fixed(sheet.after.live.engine_speed_rpm, 0)),
            (false, true) => "turning at the end, not running by itself".to_string(),
            (false, false) => "not running at the end".to_string(),
        },
    ));
    out.extend(idle(sheet));
    for t in &sheet.after.trims {
        out.extend(row(
            &format!("trims, bank {}", t.bank),
            &format!(
                "short {} %, long: idle {} g/s ({} %), part load {} %, high flow {} %",
                signed(t.short_pct, 1),
                signed(t.long_idle_g_s, 2),
                signed(t.long_idle_pct, 1),
                signed(t.long_part_pct, 1),
                signed(t.long_high_pct, 1)
            ),
        ));
    }
    out.push(String::new());
    out.push(format!(
        "{:<33} {:>6} {:<3} {:>7}  {:>14}  {}",
        "learned value", "now", "", "default", "limits", "last written by"
    ));
    for v in &sheet.after.learned {
        let n = |x: f64| learned_number(v, x);
        out.push(plain(&format!(
            "{:<33} {:>6} {:<3} {:>7}  {:>14}  {}",
            learned_words(&v.name),
            n(v.value),
            v.unit,
            n(v.default),
            format!("{} to {}", n(v.low), n(v.high)),
            written(v).replace("before it came in", "earlier")
        )));
    }
    out.push(String::new());
    out.extend(may_learn(sheet));
    if sheet.after.codes.is_empty() {
        out.extend(row("codes", "none stored"));
    }
    for (i, c) in sheet.after.codes.iter().enumerate() {
        let label = if i == 0 { "codes" } else { "" };
        out.extend(row(label, &format!("{} {}: {}", c.code, (sheet.code_words)(&c.code), code_states(c))));
    }
    out.extend(row("lamp", lamp_words(sheet.after.lamp)));
    for (i, r) in sheet.after.readings.iter().enumerate() {
        let label = if i == 0 { "measured" } else { "" };
        out.extend(row(
            label,
            &format!("{}, at {}", crate::words::readings::reading(r), clock(r.at_s, false)),
        ));
    }
    if !sheet.job.lines.is_empty() {
        out.extend(row("job card", &sheet.job.sum_words()));
        out.extend(row("", &sheet.job.lines_words()));
    }
    for e in sheet.log {
        if let Kind::Hindered { id, why } = &e.kind {
            let what = if id.is_empty() { "an act" } else { id };
            out.extend(row("hindered", &format!("{what}, at {}: {why}", clock(e.t_s, false))));
        }
    }
    for note in sheet.model_notes.iter().take(3) {
        out.extend(row("model note", note));
    }
    out.push(String::new());
    out
}

fn idle(sheet: &Sheet) -> Vec<String> {
    let Some(i) = &sheet.after.idle else { return row("idle", "no warm idle to speak of") };
    let lambda: Vec<String> =
        i.lambda.iter().map(|l| if *l > 0.0 { fixed(*l, 3) } else { "sensor cold".into() }).collect();
    let mut out = row(
        "idle",
        &format!(
            "{} rpm, {}, spread {} rpm; manifold {} kPa, air {} g/s",
            fixed(i.mean_rpm, 0),
            against(i.mean_rpm, i.target_rpm),
            fixed(i.sd_rpm, 0),
            fixed(i.map_kpa, 1),
            fixed(i.air_g_s, 2)
        ),
    );
    out.extend(row(
        "",
        &format!(
            "throttle {}°, spark {}°, lambda {}",
            fixed(i.throttle_deg, decimals("°")),
            fixed(i.spark_deg, 1),
            lambda.join(" and ")
        ),
    ));
    out
}

fn may_learn(sheet: &Sheet) -> Vec<String> {
    let Some(v) = sheet.after.learned.iter().find(|v| v.name == "idle_air_light") else { return Vec::new() };
    if v.gates.is_empty() {
        return row("idle air", "has not looked at its gates since power-up");
    }
    let shut: Vec<_> = v.gates.iter().filter(|g| !g.open).collect();
    if shut.is_empty() {
        return row("idle air", &format!("may learn: all {} gates open", v.gates.len()));
    }
    let mut out = Vec::new();
    for (i, g) in shut.iter().enumerate() {
        out.extend(row(if i == 0 { "idle air" } else { "" }, &format!("shut: {}", facts::gate(g))));
    }
    out
}

fn expectations(sheet: &Sheet, reasons: bool) -> Vec<String> {
    let mut out = wrapped("", &format!("expectations: {}", sheet.verdict()), 4);
    let width = sheet.lines.iter().map(|l| l.what.chars().count()).max().unwrap_or(0).min(48);
    for line in sheet.lines {
        let (measured, rule, why) = sheet.told(line);
        let sign = if line.met { "met" } else { "NOT MET" };
        let first = format!("  {sign:<9}{:<width$}  ", plain(&line.what));
        let text = format!("{measured}; wanted {rule}; at {}", clock(line.at_s, false));
        out.extend(wrapped(&first, &text, 13));
        if (reasons || !line.met) && !why.is_empty() {
            out.extend(wrapped(&" ".repeat(11), why, 11));
        }
    }
    out
}
