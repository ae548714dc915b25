//! The debrief: one HTML file that asks for nothing from outside, to read on a screen and to print on A4.

use super::svg::{self, Ruler};
use super::{
    STANDING_CAUTIONS, Sheet, against, clock, code_states, fixed, grouped, lamp_words, learned_number,
    learned_words, path_words, signed,
};
use super::{charts, grade, timeline};
use crate::bench::view::{LearnedView, Observation, Truth};
use crate::link::Writer;
use crate::words::facts;
use std::fmt::Write;

macro_rules! put {
    ($out:expr, $($t:tt)*) => {{ let _ = write!($out, $($t)*); }};
}

/// The debrief as one HTML file.
pub fn debrief_html(sheet: &Sheet) -> String {
    let mut o = String::new();
    begin(&mut o, &format!("Debrief: {} {}", sheet.id, sheet.title));
    title_block(&mut o, sheet, "Debrief and job card");
    o += "<main>\n";
    cautions(&mut o, sheet);
    if let Some(g) = sheet.grade {
        grade::html(&mut o, sheet, g);
    }
    found(&mut o, sheet);
    let rows = timeline::rows(sheet.log, sheet.lid_open);
    timeline::timeline(&mut o, sheet, &rows);
    timeline::read(&mut o, &rows);
    tool_readings(&mut o, sheet);
    if !sheet.job.lines.is_empty() {
        sheet.job.html(&mut o);
    }
    learned(&mut o, sheet);
    gates(&mut o, sheet);
    idle_air(&mut o, sheet);
    readings(&mut o, sheet);
    charts::traces(&mut o, sheet, &rows);
    truth(&mut o, sheet);
    if !sheet.model_notes.is_empty() {
        o += "<section><h2>Where the model reached its limits</h2><ul>";
        for n in sheet.model_notes {
            put!(o, "<li>{}</li>", escape(n));
        }
        o += "</ul></section>\n";
    }
    closing(&mut o);
    o += "</main>\n";
    end(&mut o, sheet, &format!("State at the end <code>{}</code>.", escape(sheet.state_hash)));
    o
}

/// Everything up to the page's body.
pub(super) fn begin(o: &mut String, title: &str) {
    put!(
        o,
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\
         <meta name=\"color-scheme\" content=\"light dark\"><title>{}</title>\n<style>\n{}</style></head><body>\n",
        escape(title),
        include_str!("style.css")
    );
}

/// What a page ends with before its foot.
pub(super) fn closing(o: &mut String) {
    o.push_str(
        "<section class=\"closing\"><h2>What this shows, and what it does not</h2><p>A screen shows reasoning, not hands. This page \
         tells what was measured, asked and done on a simplified model of a made-up car, and what came of it. It does not tell that \
         anybody can do it on a car: competence on a car must be shown on a car. The vehicle maker’s current procedure, workplace \
         rules and the instructor always win.</p></section>\n",
    );
}

/// The foot: how to make the same page again.
pub(super) fn end(o: &mut String, sheet: &Sheet, state: &str) {
    put!(
        o,
        "<footer>Idlewright {}. Scenario {}, seed {}, crank step {}°. Lid {}. {state} The same scenario, seed and acts give the \
         same page.</footer>\n</body></html>\n",
        escape(sheet.version),
        escape(sheet.id),
        sheet.seed,
        sheet.step_deg,
        if sheet.lid_open { "open: truth is shown in bold ink" } else { "closed: no truth is shown" },
    );
}

/// Text made safe between tags and inside quotes; what a text cannot hold becomes a replacement mark.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(c),
            c if c.is_control() => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
    out
}

/// A number with a true minus sign.
pub(super) fn minus(number: &str) -> String {
    number.replace('-', "−")
}

/// A sentence with a true minus sign before its numbers; hyphens inside words stay.
pub(super) fn sentence(text: &str) -> String {
    let mut out = String::new();
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let number = c == '-' && before == ' ' && rest.peek().is_some_and(char::is_ascii_digit);
        out.push(if number { '−' } else { c });
        before = c;
    }
    escape(&out)
}

fn sign(good: bool) -> &'static str {
    if good {
        "<svg class=\"sign\" viewBox=\"0 0 15 15\" aria-hidden=\"true\"><path class=\"post\" d=\"M4 2v12M11 2v12M1 14h13\"/></svg>"
    } else {
        "<svg class=\"sign\" viewBox=\"0 0 15 15\" aria-hidden=\"true\"><rect class=\"shut\" width=\"15\" height=\"15\" rx=\"2\"/>\
         <path class=\"cut\" d=\"M3 7.5h9\"/></svg>"
    }
}

/// A tick or a cross, for what was judged.
pub(super) fn mark(good: bool) -> &'static str {
    if good { "✓ met" } else { "✗ not met" }
}

pub(super) fn title_block(o: &mut String, sheet: &Sheet, kind: &str) {
    put!(o, "<header><p class=\"lede\">{kind}</p><h1>{} {}</h1>", escape(sheet.id), escape(sheet.title));
    if let Some(trainee) = sheet.trainee {
        put!(o, "<p>Trainee <b>{}</b></p>", escape(trainee));
    }
    if let Some((id, title)) = sheet.actions {
        put!(o, "<p>Worked by <b>{}</b>: {}</p>", escape(id), escape(title));
    }
    if !sheet.complaint.is_empty() {
        put!(o, "<blockquote>“{}”</blockquote>", escape(sheet.complaint));
    }
    let facts = [
        ("Car", escape(sheet.car_title)),
        ("Odometer", format!("{} km", grouped(sheet.odometer_km).replace(' ', "\u{202F}"))),
        ("Handed over at", format!("{} min:s", clock(sheet.hand_over_s, false))),
        (
            if sheet.stopped { "Stopped at" } else { "Ended at" },
            format!("{} min:s", clock(sheet.end_s, false)),
        ),
        ("Lamp", lamp_words(sheet.after.lamp).into()),
        ("Lid", if sheet.lid_open { "open" } else { "closed" }.into()),
    ];
    o.push_str("<dl class=\"facts\">");
    for (term, text) in facts {
        put!(o, "<div><dt>{term}</dt><dd>{text}</dd></div>");
    }
    o.push_str("</dl></header>\n");
}

pub(super) fn cautions(o: &mut String, sheet: &Sheet) {
    o.push_str("<section class=\"caution\"><h2>Cautions for the real bay</h2><ul>");
    for c in sheet.cautions {
        put!(o, "<li>{}</li>", escape(c));
    }
    if !sheet.cautions.is_empty() {
        o.push_str("</ul><h3>And always</h3><ul>");
    }
    for c in STANDING_CAUTIONS {
        if !sheet.cautions.iter().any(|own| own == c) {
            put!(o, "<li>{}</li>", escape(c));
        }
    }
    o.push_str("</ul></section>\n");
}

fn found(o: &mut String, sheet: &Sheet) {
    let good = !sheet.stopped && sheet.met() == sheet.lines.len();
    let (sign, class) = match good {
        // nothing judged is neither
        true if sheet.lines.is_empty() => ("–", "nb"),
        true => ("✓", "good"),
        false => ("✗", "bad"),
    };
    put!(
        o,
        "<section><h2>What was found</h2><p class=\"verdict\"><span class=\"{class}\" aria-hidden=\"true\">{sign}</span> {}.</p>",
        escape(&format!("Expectations: {}", sheet.verdict()))
    );
    if !sheet.lines.is_empty() {
        o.push_str(
            "<div class=\"scroll\"><table><thead><tr><th>Result</th><th>What and why</th><th class=\"n\">Found</th>\
             <th>Wanted</th><th class=\"n\">At, min:s</th></tr></thead><tbody>",
        );
        for l in sheet.lines {
            let (measured, rule, why) = sheet.told(l);
            put!(
                o,
                "<tr><td class=\"{}\">{}</td><td title=\"{}\">{}<small>{}</small></td><td class=\"n wrap\">{}</td><td{}>{}</td>\
                 <td class=\"n\">{}</td></tr>",
                if l.met { "good" } else { "bad" },
                mark(l.met),
                escape(&l.what),
                escape(&upper_first(&path_words(&l.what))),
                escape(why),
                sentence(&measured),
                if rule.chars().count() < 20 { " class=\"nb\"" } else { "" },
                sentence(rule),
                clock(l.at_s, false)
            );
        }
        o.push_str("</tbody></table></div>");
    }
    if !sheet.teaches.is_empty() {
        put!(o, "<h3>What it teaches</h3><p>{}</p>", escape(sheet.teaches));
    }
    o.push_str("</section>\n");
}

pub(super) fn upper_first(text: &str) -> String {
    let mut c = text.chars();
    c.next().map_or(String::new(), |f| f.to_uppercase().collect::<String>() + c.as_str())
}

/// A table of words, before and after.
fn compared(o: &mut String, rows: &[(String, String, String)]) {
    o.push_str(
        "<div class=\"scroll\"><table class=\"keep\"><thead><tr><th>What</th><th class=\"n\">At hand-over</th><th class=\"n\">At the end</th></tr>\
         </thead><tbody>",
    );
    for (what, before, after) in rows {
        put!(
            o,
            "<tr><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td></tr>",
            escape(what),
            sentence(before),
            sentence(after)
        );
    }
    o.push_str("</tbody></table></div>");
}

fn readings(o: &mut String, sheet: &Sheet) {
    o.push_str("<section><h2>Readings</h2>");
    let mut rows: Vec<(String, String, String)> = Vec::new();
    let mut add = |what: &str, f: &dyn Fn(&Observation) -> Option<String>| {
        let of = |x| f(x).unwrap_or_else(|| "none".into());
        rows.push((what.into(), of(sheet.before), of(sheet.after)));
    };
    let idle = |o: &Observation, f: &dyn Fn(&crate::bench::view::IdleView) -> String| {
        Some(o.idle.as_ref().map_or_else(|| "no warm idle".into(), f))
    };
    add("Idle speed, mean of up to 30 s", &|o| {
        idle(o, &|i| format!("{} rpm, {}", fixed(i.mean_rpm, 0), against(i.mean_rpm, i.target_rpm)))
    });
    add("Its spread", &|o| idle(o, &|i| format!("{} rpm", fixed(i.sd_rpm, 0))));
    add("Manifold pressure", &|o| idle(o, &|i| format!("{} kPa", fixed(i.map_kpa, 1))));
    add("Metered air", &|o| idle(o, &|i| format!("{} g/s", fixed(i.air_g_s, 2))));
    add("Throttle above its stored stop", &|o| idle(o, &|i| format!("{} °", fixed(i.throttle_deg, 2))));
    add("Spark before top", &|o| idle(o, &|i| format!("{} °", fixed(i.spark_deg, 1))));
    let lambda = |l: &f64| if *l > 0.0 { fixed(*l, 3) } else { "sensor cold".into() };
    add("Lambda", &|o| idle(o, &|i| i.lambda.iter().map(lambda).collect::<Vec<_>>().join(" and ")));
    for (k, t) in sheet.after.trims.iter().enumerate() {
        add(&format!("Short-term trim, bank {}", t.bank), &|o| {
            o.trims.get(k).map(|t| format!("{} %", signed(t.short_pct, 1)))
        });
        add(&format!("Long-term trim at idle, bank {}", t.bank), &|o| {
            o.trims
                .get(k)
                .map(|t| format!("{} g/s, {} %", signed(t.long_idle_g_s, 2), signed(t.long_idle_pct, 1)))
        });
    }
    add("Lamp", &|o| Some(lamp_words(o.lamp).into()));
    let mut codes: Vec<&str> =
        sheet.before.codes.iter().chain(&sheet.after.codes).map(|c| c.code.as_str()).collect();
    codes.sort_unstable();
    codes.dedup();
    if codes.is_empty() {
        add("Codes", &|_| None);
    }
    for code in codes {
        let words = (sheet.code_words)(code);
        add(&format!("Code {code}, {words}"), &|o| {
            Some(o.codes.iter().find(|c| c.code == code).map_or_else(|| "not stored".into(), code_states))
        });
    }
    compared(o, &rows);
    o.push_str("</section>\n");
}

/// What the bay tools last showed.
fn tool_readings(o: &mut String, sheet: &Sheet) {
    if sheet.after.readings.is_empty() {
        return;
    }
    o.push_str("<section><h2>Measured with bay tools</h2><ul>");
    for r in &sheet.after.readings {
        put!(o, "<li>at {} min:s: {}", clock(r.at_s, false), sentence(&crate::words::readings::reading(r)));
        if let Some(id) = r.tool.caution() {
            put!(o, " <i>{}</i>", escape(&crate::words::name("caution", id)));
        }
        o.push_str("</li>");
    }
    o.push_str("</ul><p class=\"note-line\">The last reading of each. Every instrument has an error of its own.</p></section>\n");
}

fn truth_of(name: &str, t: &Truth) -> Option<f64> {
    match name {
        "idle_air_light" => Some(t.idle_air_needed_g_s),
        "closed_stop" => Some(t.closed_stop_deg),
        "battery_charge" => Some(t.battery.charge_pct),
        _ => None,
    }
}

fn learned(o: &mut String, sheet: &Sheet) {
    o.push_str(
        "<section><h2>Learned values</h2><p class=\"note-line\">End stops are the limits, the notch the default. The dashed bar \
         runs from there to the pencil mark, which is the value now; the faint mark is the value at hand-over.",
    );
    if sheet.shown_truth().is_some() {
        o.push_str(" The ink mark below is what the fitted parts really are.");
    }
    o.push_str("</p><div class=\"rulers\">");
    for v in &sheet.after.learned {
        let number = |x: f64| minus(&learned_number(v, x));
        let before = sheet.before.learned.iter().find(|b| b.name == v.name).map_or(v.value, |b| b.value);
        let truth = sheet.shown_truth().and_then(|t| truth_of(&v.name, t.1));
        let name = learned_words(&v.name);
        let truth_words = truth.map_or(String::new(), |t| format!(", the parts {}", number(t)));
        let title = format!(
            "{name} in {}: now {}, before {}, default {}, limits {} to {}{truth_words}",
            v.unit,
            number(v.value),
            number(before),
            number(v.default),
            number(v.low),
            number(v.high)
        );
        let picture = svg::ruler(&Ruler {
            title: &title,
            low: v.low,
            high: v.high,
            default: v.default,
            before,
            now: v.value,
            truth,
            number: &number,
        });
        put!(
            o,
            "<div><div class=\"name\"><span>{}</span><b>{} {}</b></div>{picture}<div class=\"note-line\">Before {}, default {}. \
             {}.</div></div>",
            escape(&upper_first(&name)),
            number(v.value),
            escape(&v.unit),
            number(before),
            number(v.default),
            escape(&upper_first(&history(v)))
        );
    }
    o.push_str("</div></section>\n");
}

/// How a value came to be what it is.
pub(super) fn history(v: &LearnedView) -> String {
    let when = if v.written_s < 0.0 {
        "before the car came in".into()
    } else {
        format!("at {}", clock(v.written_s, false))
    };
    match v.written_by {
        Writer::Delivered => "never learned: the default".into(),
        Writer::Factory => "set when the car was built".into(),
        Writer::Ordinary => format!("last moved by ordinary learning, {when}"),
        Writer::Reset => format!("put back to its default by a group reset, {when}"),
        Writer::PowerCut => format!("lost with the power, {when}"),
        by => format!("last written by the {}, {when}", facts::writer(by)),
    }
}

fn gates(o: &mut String, sheet: &Sheet) {
    if sheet.gates_hidden {
        return;
    }
    let mut rest = Vec::new();
    o.push_str("<section><h2>May it learn now?</h2>");
    for v in &sheet.after.learned {
        let name = upper_first(&learned_words(&v.name));
        let shut: Vec<String> = v.gates.iter().filter(|g| !g.open).map(facts::gate).collect();
        if v.name != "idle_air_light" {
            if !v.gates.is_empty() {
                rest.push((name, shut));
            }
            continue;
        }
        put!(o, "<h3>{}</h3>", escape(&name));
        if v.gates.is_empty() {
            o.push_str("<p>The module has not looked at its gates since power-up.</p>");
        }
        o.push_str("<ul class=\"gates\">");
        for g in v.gates.iter().filter(|g| !g.open).chain(v.gates.iter().filter(|g| g.open)) {
            gate(o, g.open, "", &facts::gate(g));
        }
        o.push_str("</ul>");
    }
    if !rest.is_empty() {
        o.push_str("<h3>The other learned values</h3><ul class=\"gates\">");
        for (name, shut) in rest {
            let why = if shut.is_empty() { "all gates open".into() } else { shut.join("; ") };
            gate(o, shut.is_empty(), &format!("{name}: "), &why);
        }
        o.push_str("</ul>");
    }
    o.push_str("</section>\n");
}

fn gate(o: &mut String, open: bool, name: &str, why: &str) {
    let (class, word) = if open { ("good", "open") } else { ("bad", "shut") };
    put!(
        o,
        "<li>{}<span><span class=\"{class}\">{word}</span> <span class=\"why\">{}{}</span></span></li>",
        sign(open),
        escape(name),
        sentence(why)
    );
}

fn idle_air(o: &mut String, sheet: &Sheet) {
    let l = &sheet.after.live;
    o.push_str("<section><h2>Idle air adds up</h2>");
    if !l.running {
        o.push_str(
            "<p class=\"note-line\">The engine did not run at the end; these are the last values.</p>",
        );
    } else if !l.idling {
        o.push_str("<p class=\"note-line\">Idle control was not in force at the end.</p>");
    }
    let terms = [
        ("base", l.idle_base_g_s),
        ("loads", l.idle_load_g_s),
        ("learned", l.idle_learned_g_s),
        ("PI", l.idle_pi_g_s),
    ];
    let said: Vec<String> = terms.iter().map(|t| format!("{} {}", t.0, minus(&signed(t.1, 2)))).collect();
    let all = terms.iter().map(|t| t.1).sum::<f64>();
    let title = format!("idle air in g/s: {} add to {}", said.join(", "), minus(&fixed(all, 2)));
    put!(o, "<div class=\"fig\">{}</div>", svg::sum(&title, &terms, ("metered air", l.air_g_s)));
    o.push_str(
        "<p class=\"note-line\">Pencil is what the module reckons at the end of the run; PI is the controller's own part, which \
         also takes back what was learned wrongly, as far as its limit. The thin outline is what the air meter saw.</p></section>\n",
    );
}

fn truth(o: &mut String, sheet: &Sheet) {
    let Some((before, after)) = sheet.shown_truth() else { return };
    o.push_str("<section><h2>What was true, with the lid open</h2>");
    let two = |what: &str, f: fn(&Truth) -> String| (what.to_string(), f(before), f(after));
    compared(
        o,
        &[
            two("Deposit on the throttle", |t| format!("{} µm", fixed(t.deposit_um, 1))),
            two("Idle air that the parts need", |t| format!("{} g/s", signed(t.idle_air_needed_g_s, 2))),
            two("Closed throttle stop", |t| format!("{} °", fixed(t.closed_stop_deg, 2))),
            two("Unmetered leak", |t| {
                format!("{} mm², {} g/s", fixed(t.unmetered_leak_mm2, 1), fixed(t.unmetered_leak_g_s, 2))
            }),
            two("Air meter", |t| format!("{} %", signed(100.0 * (t.air_meter_gain - 1.0), 1))),
            two("Coolant", |t| format!("{} °C", fixed(t.coolant_c, 0))),
        ],
    );
    o.push_str(
        "<h3>Cylinders at the end</h3><div class=\"scroll\"><table class=\"keep\"><thead><tr><th class=\"n\">Cylinder</th><th class=\"n\">Lambda</th>\
         <th class=\"n\">Mean pressure, kPa</th><th class=\"n\">Its scatter, %</th><th class=\"n\">Residual gas, %</th>\
         <th class=\"n\">Misfires</th></tr></thead><tbody>",
    );
    for c in &after.cylinders {
        put!(
            o,
            "<tr><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td>\
             <td class=\"n\">{}</td></tr>",
            c.cylinder,
            fixed(c.lambda, 3),
            minus(&fixed(c.imep_kpa, 0)),
            fixed(c.imep_cov_pct, 1),
            fixed(c.residual_pct, 1),
            c.misfires
        );
    }
    o.push_str("</tbody></table></div><h3>Fitted parts at the end</h3><div class=\"scroll\"><table><thead><tr><th>Part</th><th>Serial</th><th>As it is</th></tr></thead><tbody>");
    for p in &after.parts {
        put!(
            o,
            "<tr><td>{}</td><td>{}</td><td>{}</td></tr>",
            escape(&upper_first(&p.name.replace('_', " "))),
            escape(&p.serial),
            sentence(&crate::words::parts::part(p))
        );
    }
    o.push_str("</tbody></table></div></section>\n");
}
