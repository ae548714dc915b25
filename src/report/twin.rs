//! Two futures side by side: the numbers that differ, and both on the same traces.
//!
//! *Inside*: what is compared, which traces are shown, words and layout. *Outside*: running them
//! ([`crate::session`]), drawing.
//!
//! What is called different differs at the precision that is shown.

use super::charts::{both, column, figure, flags, key_line};
use super::html::{begin, cautions, closing, end, escape, mark, minus, sentence, title_block, upper_first};
use super::svg::{Flag, Panel, Pen};
use super::timeline::{Row, rows};
use super::{
    Sheet, clock, code_states, decimals, fixed, lamp_words, learned_words, path_words, said, signed, tidy,
};
use crate::bench::trace::{COLUMNS, Column};
use crate::bench::view::Observation;
use serde::Serialize;
use std::fmt::Write;

macro_rules! put {
    ($out:expr, $($t:tt)*) => {{ let _ = write!($out, $($t)*); }};
}

/// Two sheets of one scenario: with an act, and without it.
#[derive(Debug, Clone, Copy)]
pub struct Pair<'a> {
    /// With the act.
    pub done: &'a Sheet<'a>,
    /// Without it.
    pub without: &'a Sheet<'a>,
    /// Ids of what was left out.
    pub left_out: &'a [String],
    /// When they part \[s\]; none if it never fell due.
    pub forked_s: Option<f64>,
}

/// One thing compared at the end of both.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// What, in words.
    pub what: String,
    /// Unit; empty for words.
    pub unit: String,
    /// With the act.
    pub done: String,
    /// Without it.
    pub left_out: String,
    /// Without less with, where both are numbers.
    pub difference: Option<String>,
    /// They differ at the precision shown.
    pub differs: bool,
}

/// One number of both, if either has it.
fn compared(what: &str, unit: &str, x: Option<f64>, y: Option<f64>) -> Option<Difference> {
    if x.is_none() && y.is_none() {
        return None;
    }
    let places = decimals(unit);
    let text = |v: Option<f64>| v.map_or("none".into(), |v| fixed(v, places));
    let (done, left_out) = (text(x), text(y));
    let differs = done != left_out;
    // of what is shown, so that a reader who subtracts finds the same
    let shown = |t: &str| t.parse::<f64>().ok();
    let difference = match (shown(&done), shown(&left_out)) {
        (Some(x), Some(y)) if differs => Some(signed(y - x, places)),
        _ => None,
    };
    Some(Difference { what: what.into(), unit: unit.into(), done, left_out, difference, differs })
}

impl Pair<'_> {
    /// What was compared, in a fixed order.
    pub fn differences(&self) -> Vec<Difference> {
        let mut out = Vec::new();
        let (a, b) = (self.done.after, self.without.after);
        let mut number = |what: &str, unit: &str, f: &dyn Fn(&Observation) -> Option<f64>| {
            out.extend(compared(what, unit, f(a), f(b)));
        };
        number("engine speed at the end", "rpm", &|o| Some(o.live.engine_speed_rpm));
        number("idle speed, mean", "rpm", &|o| o.idle.as_ref().map(|i| i.mean_rpm));
        number("idle speed over its target", "rpm", &|o| o.idle.as_ref().map(|i| i.mean_rpm - i.target_rpm));
        number("idle speed, spread", "rpm", &|o| o.idle.as_ref().map(|i| i.sd_rpm));
        number("manifold pressure at idle", "kPa", &|o| o.idle.as_ref().map(|i| i.map_kpa));
        number("metered air at idle", "g/s", &|o| o.idle.as_ref().map(|i| i.air_g_s));
        number("throttle at idle", "°", &|o| o.idle.as_ref().map(|i| i.throttle_deg));
        number("spark at idle", "°", &|o| o.idle.as_ref().map(|i| i.spark_deg));
        for (k, t) in a.trims.iter().enumerate() {
            let bank = t.bank;
            number(&format!("lambda at idle, bank {bank}"), "", &|o| {
                o.idle.as_ref().and_then(|i| i.lambda.get(k).copied()).filter(|l| *l > 0.0)
            });
            number(&format!("short-term trim, bank {bank}"), "%", &|o| o.trims.get(k).map(|t| t.short_pct));
        }
        for v in &a.learned {
            number(&format!("learned: {}", learned_words(&v.name)), &v.unit, &|o| {
                o.learned.iter().find(|x| x.name == v.name).map(|x| x.value)
            });
        }
        if let (Some((_, x)), Some((_, y))) = (self.done.shown_truth(), self.without.shown_truth()) {
            let (p, q) = (&x.battery, &y.battery);
            for (what, unit, x, y) in [
                ("true: deposit in the throttle", "µm", x.deposit_um, y.deposit_um),
                ("true: battery charge", "%", p.charge_pct, q.charge_pct),
                ("true: capacity that the battery has left", "Ah", p.capacity_ah, q.capacity_ah),
                ("true: water lost by the battery", "g", p.water_lost_g, q.water_lost_g),
            ] {
                out.extend(compared(what, unit, Some(x), Some(y)));
            }
        }
        let mut words = |what: String, done: String, left_out: String| {
            let differs = done != left_out;
            out.push(Difference { what, unit: String::new(), done, left_out, difference: None, differs });
        };
        let mut codes: Vec<&str> = a.codes.iter().chain(&b.codes).map(|c| c.code.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        let state = |o: &Observation, code: &str| {
            o.codes.iter().find(|c| c.code == code).map_or_else(|| "not stored".into(), code_states)
        };
        for code in codes {
            words(format!("code {code}"), state(a, code), state(b, code));
        }
        if a.codes.is_empty() && b.codes.is_empty() {
            words("codes".into(), "none stored".into(), "none stored".into());
        }
        words("lamp".into(), lamp_words(a.lamp).into(), lamp_words(b.lamp).into());
        let may = |o: &Observation| -> String {
            let Some(v) = o.learned.iter().find(|v| v.name == "idle_air_light") else { return "none".into() };
            let shut = v.gates.iter().filter(|g| !g.open).count();
            match (v.gates.len(), shut) {
                (0, _) => "not looked at".into(),
                (_, 0) => "may learn".into(),
                (_, 1) => "1 gate shut".into(),
                (_, n) => format!("{n} gates shut"),
            }
        };
        words("idle air, light: its gates".into(), may(a), may(b));
        let met = |s: &Sheet| format!("{} of {}", s.met(), s.lines.len());
        words("expectations met".into(), met(self.done), met(self.without));
        out
    }

    fn headline_short(&self) -> String {
        let acts = self.left_out.iter().map(|id| format!("`{id}`")).collect::<Vec<_>>().join(", ");
        format!("{acts} done, and left out")
    }
    fn headline(&self) -> String {
        let acts = self.left_out.iter().map(|id| format!("`{id}`")).collect::<Vec<_>>().join(", ");
        match self.forked_s {
            Some(t) => format!("left out: {acts}; they part at {} (min:s)", clock(t, false)),
            None => format!("left out: {acts}, which never fell due: both are the same"),
        }
    }
}

/// Columns of the terminal.
const WIDE: usize = 100;

/// The comparison in plain text, for a terminal of 100 columns.
pub fn twin_table(pair: &Pair<'_>) -> String {
    let plain = |t: &str| t.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>();
    let mut out = format!("{}  {}\n", plain(pair.done.id), plain(pair.done.title));
    if let Some((id, title)) = pair.done.actions {
        out += &format!("worked by     {}: {}\n", plain(id), plain(title));
    }
    let lid = if pair.done.lid_open { "open" } else { "closed" };
    out += &format!("car           {}, seed {}, lid {lid}\n", plain(pair.done.car_title), pair.done.seed);
    out += &format!("twin          {}\n\n", plain(&pair.headline()));
    out += &format!("  {:<40} {:>18} {:>18} {:>14}\n", "at the end", "done", "left out", "difference");
    for d in pair.differences() {
        let unit =
            |t: &str| if d.unit.is_empty() || t == "none" { t.into() } else { format!("{t} {}", d.unit) };
        let sign = if d.differs { "*" } else { " " };
        let line = format!(
            "{sign} {:<40} {:>18} {:>18} {:>14}",
            d.what,
            unit(&d.done),
            unit(&d.left_out),
            d.difference.as_deref().map_or(String::new(), unit)
        );
        out += &format!("{}\n", line.trim_end().chars().take(WIDE).collect::<String>());
    }
    out += "\n* differs. A simplified model of a made-up car. The vehicle maker's current procedure, workplace\n\
            rules and the instructor always win.\n";
    out
}

/// Both futures on one page.
pub fn twin_html(pair: &Pair<'_>) -> String {
    let mut o = String::new();
    let sheet = pair.done;
    begin(&mut o, &format!("Twin run: {} {}", sheet.id, sheet.title));
    title_block(&mut o, sheet, "Twin run: one car, two futures");
    o += "<main>\n";
    let acts: Vec<String> = pair.left_out.iter().map(|id| format!("<b>{}</b>", escape(id))).collect();
    put!(
        o,
        "<section class=\"lead\"><h2>What is compared</h2><p>Both are the same car with the same hands. "
    );
    match pair.forked_s {
        Some(t) => put!(
            o,
            "In one, <b>done</b>, everything is done. In the other, <b>left out</b>, the hand stays still at {}; the time passes as \
             if it had moved, and all the rest is done alike. They part at {} min:s.</p>",
            acts.join(", "),
            clock(t, false)
        ),
        None => {
            put!(o, "What was to be left out, {}, never fell due: both are the same.</p>", acts.join(", "))
        }
    }
    o += "</section>\n";
    cautions(&mut o, sheet);
    numbers(&mut o, pair);
    judged(&mut o, pair);
    let merged = merge(&rows(pair.done.log, sheet.lid_open), &rows(pair.without.log, sheet.lid_open));
    traces(&mut o, pair, &merged);
    parted(&mut o, pair, &merged);
    closing(&mut o);
    o += "</main>\n";
    let state = format!(
        "State at the end, done <code>{}</code>, left out <code>{}</code>.",
        escape(pair.done.state_hash),
        escape(pair.without.state_hash)
    );
    end(&mut o, sheet, &state);
    o
}

fn numbers(o: &mut String, pair: &Pair<'_>) {
    o.push_str(
        "<section><h2>At the end of both</h2><div class=\"scroll\"><table class=\"keep\"><thead><tr><th></th><th>What</th>\
         <th class=\"n\">Done</th><th class=\"n\">Left out</th><th class=\"n\">Difference</th></tr></thead><tbody>",
    );
    for d in pair.differences() {
        let unit = |t: &str| {
            let unit = if d.unit.is_empty() || t == "none" { String::new() } else { format!(" {}", d.unit) };
            escape(&format!("{}{unit}", if d.unit.is_empty() { t.to_string() } else { minus(t) }))
        };
        put!(
            o,
            "<tr class=\"{}\"><td>{}</td><td>{}</td><td class=\"n wrap\">{}</td><td class=\"n wrap\">{}</td><td class=\"n\">{}</td></tr>",
            if d.differs { "differs" } else { "alike" },
            if d.differs { "≠" } else { "=" },
            escape(&upper_first(&d.what)),
            unit(&d.done),
            unit(&d.left_out),
            d.difference.as_deref().map_or(String::new(), unit)
        );
    }
    o.push_str("</tbody></table></div></section>\n");
}

fn judged(o: &mut String, pair: &Pair<'_>) {
    if pair.done.lines.is_empty() {
        return;
    }
    o.push_str(
        "<section><h2>What was expected</h2><div class=\"scroll\"><table><thead><tr><th>What and why</th><th>Wanted</th><th>Done</th>\
         <th>Left out</th></tr></thead><tbody>",
    );
    let cell = |s: &Sheet, k: Option<&super::Line>| match k {
        None => "not judged".into(),
        Some(l) => {
            let (measured, _, _) = s.told(l);
            format!(
                "<span class=\"{}\">{}</span> {}",
                if l.met { "good" } else { "bad" },
                mark(l.met),
                sentence(&tidy(&measured))
            )
        }
    };
    let mut used = vec![false; pair.without.lines.len()];
    let mut put_row = |l: &super::Line, done: String, left_out: String| {
        let (_, rule, why) = pair.done.told(l);
        put!(
            o,
            "<tr><td>{}<small>{}</small></td><td>{}</td><td>{done}</td><td>{left_out}</td></tr>",
            escape(&upper_first(&path_words(&l.what))),
            escape(why),
            sentence(said(rule))
        );
    };
    for l in pair.done.lines {
        let twin = pair
            .without
            .lines
            .iter()
            .enumerate()
            .position(|(k, m)| !used[k] && m.what == l.what && m.rule == l.rule && m.why == l.why);
        if let Some(k) = twin {
            used[k] = true;
        }
        let other = twin.and_then(|k| pair.without.lines.get(k));
        put_row(l, cell(pair.done, Some(l)), cell(pair.without, other));
    }
    for (l, _) in pair.without.lines.iter().zip(&used).filter(|u| !u.1) {
        put_row(l, cell(pair.done, None), cell(pair.without, Some(l)));
    }
    o.push_str("</tbody></table></div></section>\n");
}

// ---------------------------------------------------------------------------------------------------
// Both logbooks as one
// ---------------------------------------------------------------------------------------------------

/// A row of either, or of both.
struct Merged {
    done_s: Option<f64>,
    without_s: Option<f64>,
    row: Row,
}

/// Both logbooks in one order: what both have, and what one has alone. Numbers count anew.
fn merge(done: &[Row], without: &[Row]) -> Vec<Merged> {
    let same = |a: &Row, b: &Row| a.who == b.who && a.what == b.what;
    // longest common part, from the ends
    let (n, m) = (done.len(), without.len());
    let mut best = vec![0_u32; (n + 1) * (m + 1)];
    let at = |i: usize, j: usize| i * (m + 1) + j;
    for i in (0..n).rev() {
        for j in (0..m).rev() {
            best[at(i, j)] = if same(&done[i], &without[j]) {
                best[at(i + 1, j + 1)] + 1
            } else {
                best[at(i + 1, j)].max(best[at(i, j + 1)])
            };
        }
    }
    let mut out = Vec::new();
    let (mut i, mut j) = (0, 0);
    while i < n || j < m {
        let both = i < n && j < m && same(&done[i], &without[j]);
        if both {
            out.push(Merged {
                done_s: Some(done[i].at_s),
                without_s: Some(without[j].at_s),
                row: done[i].clone(),
            });
            (i, j) = (i + 1, j + 1);
        } else if j >= m || (i < n && best[at(i + 1, j)] >= best[at(i, j + 1)]) {
            out.push(Merged { done_s: Some(done[i].at_s), without_s: None, row: done[i].clone() });
            i += 1;
        } else {
            out.push(Merged { done_s: None, without_s: Some(without[j].at_s), row: without[j].clone() });
            j += 1;
        }
    }
    let when = |m: &Merged| m.done_s.or(m.without_s).unwrap_or(0.0);
    out.sort_by(|a, b| when(a).total_cmp(&when(b)));
    let mut next = 0;
    for m in &mut out {
        if m.done_s.is_none() {
            m.row.flag = m.row.flag.take().map(|w| w + " (left out)");
        }
        if m.row.number.is_some() {
            next += 1;
            m.row.number = Some(next);
        }
    }
    out
}

fn parted(o: &mut String, pair: &Pair<'_>, merged: &[Merged]) {
    o.push_str(
        "<section><h2>What was done, and what the module decided</h2><div class=\"scroll\"><table class=\"timeline\"><thead><tr>\
         <th class=\"n\">Mark</th><th class=\"n\">Done</th><th class=\"n\">Left out</th><th>Who</th><th>What</th></tr></thead><tbody>",
    );
    let time = |t: Option<f64>| t.map_or("—".to_string(), |t| minus(&clock(t, true)));
    let mut told = false;
    for m in merged.iter().filter(|m| m.row.at_s >= 0.0) {
        let alone = m.done_s.is_none() || m.without_s.is_none();
        let parts = alone || pair.forked_s.is_some_and(|t| m.row.at_s > t + 1e-3);
        if parts && !told {
            told = true;
            o.push_str("<tr class=\"part\"><td></td><td colspan=\"4\">Here they part.</td></tr>");
        }
        put!(
            o,
            "<tr class=\"{}{}\"><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td>{}</td><td>{}</td></tr>",
            if m.row.who == "module" { "mind" } else { "hand" },
            if alone { " alone" } else { "" },
            m.row.number.map_or(String::new(), |n| format!("<span class=\"no\">{n}</span>")),
            time(m.done_s),
            time(m.without_s),
            m.row.who,
            sentence(&upper_first(&m.row.what))
        );
    }
    o.push_str(
        "</tbody></table></div><p class=\"note-line\">Times in minutes and seconds from where the job begins. On the traces a mark \
         of both stands at the time of <i>done</i>.</p></section>\n",
    );
}

// ---------------------------------------------------------------------------------------------------
// Traces
// ---------------------------------------------------------------------------------------------------

/// Always shown: column, pen, words, unit, what is always in sight, height.
type Always = (&'static str, Pen, (&'static str, &'static str, (f64, f64), f64));

const ALWAYS: &[(&str, &[Always])] = &[
    ("Engine speed", &[("engine_speed_rpm", Pen::Measured, ("engine speed", "rpm", (0.0, 1000.0), 190.0))]),
    (
        "Learned idle air",
        &[("idle_air_learned_g_s", Pen::Belief, ("idle air: learned", "g/s", (-0.6, 1.0), 130.0))],
    ),
    (
        "Fuel trims and lambda, bank 1",
        &[
            ("short_trim_1_pct", Pen::Dots, ("short-term trim", "%", (-5.0, 5.0), 90.0)),
            ("long_trim_1_pct", Pen::Belief, ("long-term trim", "%", (-5.0, 5.0), 90.0)),
            ("lambda_1", Pen::Measured, ("lambda, cut at 0.6 and 1.4", "", (0.9, 1.1), 90.0)),
        ],
    ),
];

/// Most traces that are added for their difference.
const MOST_ADDED: usize = 4;

/// What is a plain difference in a unit.
fn scale(unit: &str) -> f64 {
    match unit {
        "rpm" => 20.0,
        "kPa" => 2.0,
        "°" | "%" => 0.5,
        "g/s" => 0.1,
        "V" => 0.1,
        "" => 0.01,
        _ => 2.0,
    }
}

/// Mean distance of a column between both after they part, in plain differences.
fn distance(pair: &Pair<'_>, name: &str, unit: &str) -> f64 {
    let (Some(a), Some(b), Some(t)) =
        (column(pair.done, name, false), column(pair.without, name, false), pair.forked_s)
    else {
        return 0.0;
    };
    let apart = a.iter().zip(&b).filter(|(p, q)| p.0 >= t && p.1.is_finite() && q.1.is_finite());
    let (sum, n) = apart.fold((0.0, 0.0), |(s, n), (p, q)| (s + (p.1 - q.1).abs(), n + 1.0));
    if n > 0.0 { sum / n / scale(unit) } else { 0.0 }
}

/// Both futures on chosen traces, as a picture of its own; columns that the lid hides are refused.
pub fn twin_svg(pair: &Pair<'_>, names: &[String]) -> Result<String, String> {
    let mut panels = Vec::new();
    for name in names {
        let Some(c) = COLUMNS.iter().find(|c| c.name == *name && c.name != "time_s") else {
            let all: Vec<&str> = COLUMNS.iter().map(|c| c.name).filter(|n| *n != "time_s").collect();
            return Err(format!("no trace is called `{name}`; traces are {}", all.join(", ")));
        };
        if c.truth && !pair.done.lid_open {
            return Err(format!("`{name}` is truth, and the lid is closed: --lid open shows it"));
        }
        let first = column(pair.done, c.name, false).and_then(|all| all.first().map(|q| q.1)).unwrap_or(0.0);
        let look = (c.words, c.unit, (first, first + scale(c.unit)), 120.0);
        panels.extend(both(pair.done, pair.without, c.name, pen_of(c), look));
    }
    let end_s = |s: &Sheet| s.trace.rows().last().map_or(1.0, |r| r[0]);
    let to_s = end_s(pair.done).max(end_s(pair.without));
    let title = format!("{} {}: {}", pair.done.id, pair.done.title, pair.headline_short());
    let words = "With rings: left out. Thin: measured. Dashed: what the module believes or wants. Bold: true. A \
                 simplified model of a made-up car.";
    Ok(super::svg::alone(&title, &panels, &[], to_s, words))
}

/// What a column is drawn with.
fn pen_of(c: &Column) -> Pen {
    match c.name {
        _ if c.truth => Pen::Truth,
        n if n.starts_with("idle_air")
            || n.starts_with("target")
            || n.contains("trim")
            || n.starts_with("charge_set")
            || n.starts_with("battery_charge") =>
        {
            Pen::Belief
        }
        _ => Pen::Measured,
    }
}

fn traces(o: &mut String, pair: &Pair<'_>, merged: &[Merged]) {
    let end_s = |s: &Sheet| s.trace.rows().last().map_or(1.0, |r| r[0]);
    let to_s = end_s(pair.done).max(end_s(pair.without));
    let shown: Vec<Row> = merged.iter().map(|m| m.row.clone()).collect();
    let mut flags = flags(&shown);
    let mark = |at_s, words: &str| Flag { at_s, number: None, words: Some(words.into()) };
    if let Some(t) = pair.forked_s {
        flags.push(mark(t, "they part"));
    }
    flags.push(mark(pair.done.hand_over_s, "hand-over"));
    flags.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    o.push_str("<section>");
    let mut lead = "<h2>Both on the same traces</h2>".to_string();
    key_line(&mut lead, pair.done.lid_open, "with rings: left out");
    let unit_of = |name: &str| COLUMNS.iter().find(|c| c.name == name).map_or("", |c| c.unit);
    for (caption, columns) in ALWAYS {
        let panels: Vec<Panel> = columns
            .iter()
            .filter_map(|(name, pen, look)| both(pair.done, pair.without, name, *pen, *look))
            .collect();
        let alike = columns.iter().all(|(name, _, _)| distance(pair, name, unit_of(name)) < 0.05);
        let caption = format!("{caption}{}", if alike { ": the same in both" } else { "" });
        figure(o, &std::mem::take(&mut lead), &caption, &panels, &flags, to_s);
    }
    let fixed: Vec<&str> = ALWAYS.iter().flat_map(|a| a.1.iter().map(|c| c.0)).collect();
    let mut more: Vec<(f64, usize)> = COLUMNS
        .iter()
        .enumerate()
        .filter(|(_, c)| c.name != "time_s" && !fixed.contains(&c.name))
        .map(|(k, c)| (distance(pair, c.name, c.unit), k))
        .filter(|d| d.0 >= 1.0)
        .collect();
    more.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, k) in more.into_iter().take(MOST_ADDED) {
        let c = &COLUMNS[k];
        let pen = pen_of(c);
        let values = |s: &Sheet| column(s, c.name, false).unwrap_or_default();
        let first = values(pair.done).iter().map(|q| q.1).find(|v| v.is_finite()).unwrap_or(0.0);
        let keep = (first, first + scale(c.unit));
        let panel = both(pair.done, pair.without, c.name, pen, (c.words, c.unit, keep, 110.0));
        let panels: Vec<Panel> = panel.into_iter().collect();
        figure(o, "", &upper_first(c.words), &panels, &flags, to_s);
    }
    o.push_str("</section>\n");
}
