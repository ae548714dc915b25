//! The debrief: one self-contained HTML file, to read on a screen and to print on A4.

use super::card::card;
use super::charts;
use super::days::{DAY_HEADS, day_cells, days};
use super::expectations::{is_kept, told, verdict, whose_words};
use super::grade;
use super::logbook;
use super::names::{
    against, code_states, history, in_shown_units, lambda_words, lamp_words, learned_number,
    learned_with_unit, learned_words, listed, other_lamps, path_words, with_unit,
};
use super::page::{self, good_or_bad, mark_words, note, section};
use super::ruler::{Ruler, ruler, sum};
use super::sheet::Sheet;
use super::svg;
use super::timeline;
use crate::bench::view::{IdleView, Lamp, LiveView, Observation, Truth};
use crate::link::LearnedStatus;
use crate::words::numbers::{measured, minutes, number, shown_units, signed, signed_measured};
use crate::words::{facts, name, parts, readings, say, upper_first};
use maud::{Markup, html};

/// The debrief as one HTML file.
pub fn debrief_html(sheet: &Sheet) -> String {
    let rows = timeline::rows(sheet.log, sheet.lid_open);
    let limits = html! { ul { @for n in sheet.model_notes { li { (facts::model_note(n)) } } } };
    let body = html! {
        (page::title_block(sheet, &say("debrief-kind")))
        main {
            (page::cautions(sheet))
            @if let Some(g) = sheet.grade { (grade::graded(sheet, g)) }
            (found(sheet))
            (logbook::timeline(sheet, &rows))
            (logbook::read(&rows))
            (tool_readings(sheet))
            (driven_days(sheet))
            @if !sheet.job.lines.is_empty() { (card(sheet.job)) }
            (learned(sheet))
            (gates(sheet))
            @if !charts::of_charging(sheet) { (idle_air(sheet)) }
            (readings(sheet))
            (charts::traces(sheet, &rows))
            (truth(sheet))
            @if !sheet.model_notes.is_empty() { (section(&say("debrief-limits"), limits)) }
            (page::closing())
        }
        (page::foot(sheet, &[(say("page-foot-state"), sheet.state_hash)]))
    };
    page::page(&say!("debrief-page-title", id = sheet.id, title = sheet.title), body)
}

fn found(sheet: &Sheet) -> Markup {
    // nothing is expected of work done by hand
    if sheet.lines.is_empty() && !sheet.stopped {
        return match sheet.teaches {
            "" => html! {},
            teaches => section(&say("found-teaches"), html! { p { (teaches) } }),
        };
    }
    let good = !sheet.stopped && sheet.met() == sheet.lines.len();
    let failed = sheet.grade.is_some_and(|g| !g.closed);
    let (sign, class) = match good {
        // with nothing judged it is neither; and a green tick above them would read as passed
        true if sheet.lines.is_empty() || failed => ("–", "nb"),
        true => ("✓", "good"),
        false => ("✗", "bad"),
    };
    let heads = [
        page::words("found-result"),
        page::words("found-what"),
        page::digits("found-found"),
        page::words("found-wanted"),
        page::digits("found-at"),
    ];
    let rows = html! {
        @for l in sheet.lines.iter().filter(|l| !is_kept(l)) {
            @let told = told(sheet, l);
            tr {
                td class=(good_or_bad(l.met)) { (mark_words(l.met)) }
                td title=(l.what) { (upper_first(&path_words(&l.what))) small { (told.why) } }
                td."n wrap" { (told.measured) }
                td class=[(told.asked.chars().count() < 20).then_some("nb")] { (told.asked) }
                td.n { (minutes(l.at_s, false)) }
            }
        }
    };
    let whose = upper_first(&whose_words(sheet));
    section(
        &whose,
        html! {
            (page::verdict(sign, class, &say!("found-verdict", whose = whose.as_str(), verdict = verdict(sheet))))
            @if sheet.lines.iter().any(|l| !is_kept(l)) { (page::table(None, &heads, rows)) }
            @let kept = sheet.lines.iter().filter(|l| is_kept(l)).count();
            @if kept > 0 && kept < sheet.lines.len() { (note(&say!("found-kept", n = kept as u32))) }
            @if !sheet.teaches.is_empty() { h3 { (say("found-teaches")) } p { (sheet.teaches) } }
        },
    )
}

/// The days on which the car was driven on or stood.
fn driven_days(sheet: &Sheet) -> Markup {
    let all = days(sheet.trace.rows(), sheet.log, sheet.lid_open, !sheet.after.learned.is_empty());
    if all.is_empty() {
        return html! {};
    }
    let words = |k: &usize| [1, 8].contains(k);
    let heads: Vec<page::Head> = DAY_HEADS.iter().enumerate().map(|(k, id)| (say(id), !words(&k))).collect();
    let rows = html! {
        @for d in &all {
            tr { @for (k, cell) in day_cells(d).iter().enumerate() { td.n[!words(&k)] { (cell) } } }
        }
    };
    section(&say("days-heading"), html! { (page::table(None, &heads, rows)) (note(&say("days-note"))) })
}

/// A table of texts before and after.
fn compared(rows: &[(String, String, String)]) -> Markup {
    let heads =
        [page::words("compared-what"), page::digits("compared-before"), page::digits("compared-after")];
    let rows = html! {
        @for (what, before, after) in rows { tr { td { (what) } td.n { (before) } td.n { (after) } } }
    };
    page::table(Some("keep"), &heads, rows)
}

fn readings(sheet: &Sheet) -> Markup {
    let mut rows: Vec<(String, String, String)> = Vec::new();
    let mut add = |what: String, f: &dyn Fn(&Observation) -> Option<String>| {
        let of = |x| f(x).unwrap_or_else(|| say("seen-none"));
        rows.push((what, of(sheet.before), of(sheet.after)));
    };
    if charts::of_charging(sheet) {
        type Charging = fn(&LiveView) -> String;
        let charging: [(&str, Charging); 4] = [
            ("signal-charge-set-v", |l| measured(l.charge_set_v, "V", 2)),
            ("signal-supply-v", |l| measured(l.supply_v, "V", 1)),
            ("signal-battery-a", |l| signed_measured(l.battery_a, "A", 1)),
            ("signal-battery-charge-pct", |l| measured(l.battery_charge_pct, "%", 1)),
        ];
        for (what, words) in charging {
            let commands = |l: &LiveView| what != "signal-charge-set-v" || l.charge_set_v > 0.0;
            add(upper_first(&say(what)), &|o| (o.answers && commands(&o.live)).then(|| words(&o.live)));
        }
    }
    type Told = fn(&IdleView) -> String;
    let idle: [(&str, Told); 7] = [
        ("seen-idle-speed", |i| {
            say!(
                "seen-idle-against",
                rpm = number(i.mean_rpm, 0),
                against = against(i.mean_rpm, i.target_rpm)
            )
        }),
        ("seen-spread", |i| with_unit(&number(i.sd_rpm, 0), "rpm")),
        ("seen-map", |i| measured(i.map_kpa, "kPa", 1)),
        ("seen-air", |i| measured(i.air_g_s, "g/s", 2)),
        ("seen-throttle", |i| with_unit(&number(i.throttle_deg, 2), "°")),
        ("seen-spark", |i| with_unit(&number(i.spark_deg, 1), "°")),
        ("seen-lambda", |i| lambda_words(&i.lambda)),
    ];
    for (what, words) in idle {
        add(say(what), &|o| Some(o.idle.as_ref().map_or_else(|| say("seen-no-idle"), words)));
    }
    for (k, t) in sheet.after.trims.iter().enumerate() {
        add(say!("seen-short-trim", bank = t.bank), &|o| {
            o.trims.get(k).map(|t| with_unit(&signed(t.short_pct, 1), "%"))
        });
        add(say!("seen-long-trim", bank = t.bank), &|o| {
            o.trims.get(k).map(|t| {
                say!(
                    "seen-long-trim-is",
                    air = signed_measured(t.long_idle_g_s, "g/s", 2),
                    pct = signed(t.long_idle_pct, 1),
                )
            })
        });
    }
    add(say("seen-lamp"), &|o| Some(lamp_words(o.lamp)));
    for (k, (words, lit)) in other_lamps(sheet.after).into_iter().enumerate() {
        if lit || other_lamps(sheet.before)[k].1 {
            add(say(words), &|o| Some(lamp_words(if other_lamps(o)[k].1 { Lamp::On } else { Lamp::Off })));
        }
    }
    let codes = codes_of(&[sheet.before, sheet.after]);
    if codes.is_empty() {
        add(say("seen-codes"), &|_| None);
    }
    for code in codes {
        add(say!("seen-code", code = code, says = name("code", code)), &|o| Some(code_state(o, code)));
    }
    section(&say("readings-heading"), compared(&rows))
}

/// Codes that occur in any of these observations, in order.
pub(super) fn codes_of<'o>(all: &[&'o Observation]) -> Vec<&'o str> {
    let mut codes: Vec<&str> = all.iter().flat_map(|o| &o.codes).map(|c| c.code.as_str()).collect();
    codes.sort_unstable();
    codes.dedup();
    codes
}

/// The state of a code.
pub(super) fn code_state(o: &Observation, code: &str) -> String {
    o.codes.iter().find(|c| c.code == code).map_or_else(|| say("code-not-stored"), code_states)
}

/// The last readings of the workshop tools.
fn tool_readings(sheet: &Sheet) -> Markup {
    if sheet.after.readings.is_empty() {
        return html! {};
    }
    let list = html! {
        ul {
            @for r in &sheet.after.readings {
                li { (say!("tools-reading", at = minutes(r.at_s, false), words = readings::reading(r))) }
            }
        }
    };
    section(&say("tools-heading"), html! { (list) (note(&say("tools-note"))) })
}

fn learned(sheet: &Sheet) -> Markup {
    if sheet.after.learned.is_empty() {
        return section(&say("learned-heading"), note(&say("learned-unread")));
    }
    section(
        &say("learned-heading"),
        html! {
            p."note-line" {
                (say("learned-note"))
                @if sheet.shown_truth().is_some() { " " (say("learned-note-truth")) }
            }
            div.rulers { @for v in &sheet.after.learned { (learned_value(sheet, v)) } }
        },
    )
}

fn learned_value(sheet: &Sheet, v: &LearnedStatus) -> Markup {
    let number = |x: f64| learned_number(v, x);
    let before = sheet.before.learned.iter().find(|b| b.name == v.name).map_or(v.value, |b| b.value);
    let truth = sheet.shown_truth().and_then(|t| t.1.of_learned(&v.name));
    let name = learned_words(&v.name);
    let told = say!(
        "learned-title",
        name = name.as_str(),
        unit = shown_units().unit(&v.unit),
        now = number(v.value),
        before = number(before),
        default = number(v.default),
        low = number(v.low),
        high = number(v.high),
    );
    let title = match truth {
        Some(t) => say!("learned-title-truth", told = told, truth = number(t)),
        None => told,
    };
    let picture = ruler(&Ruler {
        title: &title,
        low: v.low,
        high: v.high,
        default: v.default,
        before,
        now: v.value,
        truth,
        number: &number,
    });
    let history = upper_first(&history(v));
    let below =
        say!("learned-below", before = number(before), default = number(v.default), history = history);
    html! {
        div {
            div.name { span { (upper_first(&name)) } b { (learned_with_unit(v, v.value)) } }
            (picture)
            div."note-line" { (below) }
        }
    }
}

fn gates(sheet: &Sheet) -> Markup {
    if sheet.gates_hidden || sheet.after.learned.is_empty() {
        return html! {};
    }
    let (idle, rest): (Vec<&LearnedStatus>, Vec<&LearnedStatus>) =
        sheet.after.learned.iter().partition(|v| v.name == "idle_air_light");
    let rest: Vec<&LearnedStatus> = rest.into_iter().filter(|v| !v.gates.is_empty()).collect();
    let of = |v: &LearnedStatus| {
        let shut: Vec<String> = v.gates.iter().filter(|g| !g.open).map(facts::gate).collect();
        let why = if shut.is_empty() { say("gates-all-open") } else { listed(&shut) };
        let name = upper_first(&learned_words(&v.name));
        gate(shut.is_empty(), &say!("gates-of", of = name, why = why))
    };
    section(
        &say("gates-heading"),
        html! {
            @for v in idle {
                h3 { (upper_first(&learned_words(&v.name))) }
                @if v.gates.is_empty() { p { (say("gates-not-looked")) } }
                ul.gates {
                    @for g in v.gates.iter().filter(|g| !g.open).chain(v.gates.iter().filter(|g| g.open)) {
                        (gate(g.open, &facts::gate(g)))
                    }
                }
            }
            @if !rest.is_empty() { h3 { (say("gates-others")) } ul.gates { @for v in rest { (of(v)) } } }
        },
    )
}

fn gate(open: bool, why: &str) -> Markup {
    html! {
        li {
            (sign(open))
            span {
                span class=(good_or_bad(open)) { (say(if open { "gate-open" } else { "gate-shut" })) } " "
                span.why { (why) }
            }
        }
    }
}

/// The sign of a gate: open posts, or barred.
fn sign(open: bool) -> Markup {
    html! {
        svg.sign viewBox="0 0 15 15" aria-hidden="true" {
            @if open {
                (svg::path("post", "M4 2v12M11 2v12M1 14h13"))
            } @else {
                rect.shut width="15" height="15" rx="2" {}
                (svg::path("cut", "M3 7.5h9"))
            }
        }
    }
}

fn idle_air(sheet: &Sheet) -> Markup {
    let l = &sheet.after.live;
    // the two apart would tell a learned value that nobody has read
    let corrections: &[(&str, f64)] = if sheet.after.learned.is_empty() {
        &[("air-corrections", l.idle_learned_g_s + l.idle_pi_g_s)]
    } else {
        &[("air-learned", l.idle_learned_g_s), ("air-pi", l.idle_pi_g_s)]
    };
    let terms = [&[("air-base", l.idle_base_g_s), ("air-loads", l.idle_load_g_s)], corrections].concat();
    let terms: Vec<(String, f64)> = terms.into_iter().map(|(id, v)| (say(id), v)).collect();
    let term = |(name, v): &(String, f64)| {
        say!("air-term", name = name.as_str(), flow = signed_measured(*v, "g/s", 2))
    };
    let title = say!(
        "air-title",
        terms = terms.iter().map(term).collect::<Vec<_>>().join(", "),
        all = measured(terms.iter().map(|t| t.1).sum::<f64>(), "g/s", 2),
    );
    let state = match (l.running, l.idling) {
        (false, _) => Some("air-not-running"),
        (true, false) => Some("air-not-in-force"),
        (true, true) => None,
    };
    section(
        &say("air-heading"),
        html! {
            @if let Some(state) = state { (note(&say(state))) }
            div.fig { (sum(&title, &terms, l.air_g_s)) }
            (note(&say("air-note")))
        },
    )
}

fn truth(sheet: &Sheet) -> Markup {
    let Some((before, after)) = sheet.shown_truth() else { return html! {} };
    let two = |what: &str, f: fn(&Truth) -> String| (say(what), f(before), f(after));
    let mut rows = vec![
        two("truth-deposit", |t| with_unit(&number(t.deposit_um, 1), "µm")),
        two("truth-idle-air", |t| signed_measured(t.idle_air_needed_g_s, "g/s", 2)),
        two("truth-closed-stop", |t| with_unit(&number(t.closed_stop_deg, 2), "°")),
        two("truth-leak", |t| {
            say!(
                "truth-leak-is",
                area = number(t.unmetered_leak_mm2, 1),
                flow = measured(t.unmetered_leak_g_s, "g/s", 2)
            )
        }),
        two("truth-coolant", |t| measured(t.coolant_c, "°C", 0)),
    ];
    if after.parts.iter().any(|p| p.name == "air_meter") {
        let gain = |t: &Truth| with_unit(&signed(100.0 * (t.air_meter_gain - 1.0), 1), "%");
        rows.push(two("truth-air-meter", gain));
    }
    let pressure = shown_units().unit("kPa rail");
    let cylinders = ["number", "lambda", "pressure", "scatter", "residual", "misfires"]
        .map(|h| (say!(&format!("truth-cylinder-{h}"), unit = pressure), true));
    let parts = ["part", "serial", "is"].map(|h| page::words(&format!("truth-part-{h}")));
    section(
        &say("truth-heading"),
        html! {
            (compared(&rows))
            h3 { (say("truth-cylinders")) }
            (page::table(Some("keep"), &cylinders, html! {
                @for c in &after.cylinders {
                    tr {
                        td.n { (c.cylinder) }
                        td.n { (number(c.lambda, 3)) }
                        td.n { (number(in_shown_units(c.imep_kpa, "kPa rail").0, 0)) }
                        td.n { (number(c.imep_cov_pct, 1)) }
                        td.n { (number(c.residual_pct, 1)) }
                        td.n { (c.misfires) }
                    }
                }
            }))
            h3 { (say("truth-parts")) }
            (page::table(None, &parts, html! {
                @for p in &after.parts {
                    tr {
                        td { (upper_first(&name("part", &p.name))) }
                        td { (p.serial) }
                        td { (parts::part(p)) }
                    }
                }
            }))
        },
    )
}
