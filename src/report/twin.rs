//! Two futures side by side: the numbers that differ at the end, for a terminal, for programs and for the page.
//!
//! *Inside*: the compared values, and their words. *Outside*: running them ([`crate::session`]), the page
//! (`twin_page`).
//!
//! Two values count as different if they differ at the displayed precision.

use super::cells::fixed;
use super::debrief::{code_state, codes_of};
use super::names::{decimals, in_shown_units, lamp_words, learned_words, lid_words, with_unit};
use super::sheet::Sheet;
use super::text::{WIDE, plain, wrapped};
use crate::bench::not_whole::NotWhole;
use crate::bench::record::Kind;
use crate::bench::view::Observation;
use crate::lesson::Grade;
use crate::lesson::facts::Found;
use crate::words::numbers::{minutes, number, signed};
use crate::words::{facts, name, say};
use serde::Serialize;

/// Two sheets of one scenario: with an act, and without it.
#[derive(Debug, Clone, Copy)]
pub struct Pair<'a> {
    /// With the act.
    pub done: &'a Sheet<'a>,
    /// Without it.
    pub without: &'a Sheet<'a>,
    /// Ids of the acts that were left out.
    pub left_out: &'a [String],
    /// When the futures part \[s\]; none if the act never fell due.
    pub forked_s: Option<f64>,
}

/// One thing compared at the end of both futures. Its numbers are written for programs; `shown` formats them for
/// people.
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
    /// Value without the act minus value with it, if both are numbers.
    pub difference: Option<String>,
    /// They differ at the precision shown.
    pub differs: bool,
}

impl Difference {
    /// With the act, without it, and their difference, as a person reads them.
    pub fn shown(&self) -> [String; 3] {
        // as many decimals as the number for programs, unless the unit is another one
        let parsed = |t: &str| {
            let (x, unit) = in_shown_units(t.parse::<f64>().ok()?, &self.unit);
            let written = t.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            Some((x, unit, if unit == self.unit { written } else { decimals(unit) }))
        };
        let own = |t: &str| {
            parsed(t).map_or_else(|| t.to_owned(), |(x, unit, places)| with_unit(&number(x, places), unit))
        };
        let difference = match (&self.difference, parsed(&self.done), parsed(&self.left_out)) {
            (Some(_), Some((x, ..)), Some((y, unit, places))) => with_unit(&signed(y - x, places), unit),
            _ => String::new(),
        };
        [own(&self.done), own(&self.left_out), difference]
    }
}

/// One number from both futures, if either has it.
fn compared(what: String, unit: &str, x: Option<f64>, y: Option<f64>) -> Option<Difference> {
    if x.is_none() && y.is_none() {
        return None;
    }
    let places = decimals(unit);
    let text = |v: Option<f64>| v.map_or_else(|| say("seen-none"), |v| fixed(v, places));
    let (done, left_out) = (text(x), text(y));
    let differs = done != left_out;
    // from the displayed values, so that a reader who subtracts them gets the same result
    let shown = |t: &str| t.parse::<f64>().ok();
    let difference = match (shown(&done), shown(&left_out)) {
        (Some(x), Some(y)) if differs => {
            let by = fixed(y - x, places);
            Some(if y > x { format!("+{by}") } else { by })
        }
        _ => None,
    };
    Some(Difference { what, unit: unit.into(), done, left_out, difference, differs })
}

impl Pair<'_> {
    /// All compared values, in a fixed order.
    pub fn differences(&self) -> Vec<Difference> {
        let mut out = self.numbers();
        out.extend(self.truths());
        out.extend(self.words());
        out
    }

    fn numbers(&self) -> Vec<Difference> {
        let mut out = Vec::new();
        let (a, b) = (self.done.after, self.without.after);
        let mut add = |what: String, unit: &str, f: &dyn Fn(&Observation) -> Option<f64>| {
            out.extend(compared(what, unit, f(a), f(b)));
        };
        add(say("compared-engine-speed"), "rpm", &|o| Some(o.live.engine_speed_rpm));
        type Idle = fn(&crate::bench::view::IdleView) -> f64;
        let idle: [(&str, &str, Idle); 7] = [
            ("compared-idle-mean", "rpm", |i| i.mean_rpm),
            ("compared-idle-over", "rpm", |i| i.mean_rpm - i.target_rpm),
            ("compared-idle-spread", "rpm", |i| i.sd_rpm),
            ("compared-idle-map", "kPa", |i| i.map_kpa),
            ("compared-idle-air", "g/s", |i| i.air_g_s),
            ("compared-idle-throttle", "°", |i| i.throttle_deg),
            ("compared-idle-spark", "°", |i| i.spark_deg),
        ];
        for (what, unit, of) in idle {
            add(say(what), unit, &|o| o.idle.as_ref().map(of));
        }
        for (k, t) in a.trims.iter().enumerate() {
            add(say!("compared-lambda", bank = t.bank), "", &|o| {
                o.idle.as_ref().and_then(|i| i.lambda.get(k).copied()).filter(|l| *l > 0.0)
            });
            add(say!("compared-short-trim", bank = t.bank), "%", &|o| o.trims.get(k).map(|t| t.short_pct));
        }
        for v in &a.learned {
            add(say!("compared-learned", name = learned_words(&v.name)), &v.unit, &|o| {
                o.learned.iter().find(|x| x.name == v.name).map(|x| x.value)
            });
        }
        out
    }

    fn truths(&self) -> Vec<Difference> {
        let (Some((_, x)), Some((_, y))) = (self.done.shown_truth(), self.without.shown_truth()) else {
            return Vec::new();
        };
        let (p, q) = (&x.battery, &y.battery);
        [
            ("compared-true-deposit", "µm", x.deposit_um, y.deposit_um),
            ("compared-true-charge", "%", p.charge_pct, q.charge_pct),
            ("compared-true-capacity", "Ah", p.capacity_ah, q.capacity_ah),
            ("compared-true-water", "g", p.water_lost_g, q.water_lost_g),
        ]
        .into_iter()
        .filter_map(|(what, unit, x, y)| compared(say(what), unit, Some(x), Some(y)))
        .collect()
    }

    fn words(&self) -> Vec<Difference> {
        let (a, b) = (self.done.after, self.without.after);
        let mut out = Vec::new();
        let mut add = |what: String, done: String, left_out: String| {
            let differs = done != left_out;
            out.push(Difference { what, unit: String::new(), done, left_out, difference: None, differs });
        };
        let codes = codes_of(&[a, b]);
        if codes.is_empty() {
            add(say("compared-codes"), say("account-no-codes"), say("account-no-codes"));
        }
        for code in codes {
            add(say!("compared-code", code = code), code_state(a, code), code_state(b, code));
        }
        add(say("compared-lamp"), lamp_words(a.lamp), lamp_words(b.lamp));
        let may = |o: &Observation| {
            let Some(v) = o.learned.iter().find(|v| v.name == "idle_air_light") else {
                return say("seen-none");
            };
            let shut = v.gates.iter().filter(|g| !g.open).count() as u32;
            match (v.gates.len(), shut) {
                (0, _) => say("compared-not-looked"),
                (_, 0) => say("compared-may-learn"),
                (_, n) => say!("compared-gates-shut", n = n),
            }
        };
        add(say("compared-gates"), may(a), may(b));
        let met = |s: &Sheet| say!("compared-met-of", met = s.met() as u32, all = s.lines.len() as u32);
        add(say("compared-met"), met(self.done), met(self.without));
        out
    }

    /// The acts that were left out, as a list.
    pub(super) fn acts(&self, mark: &str) -> String {
        self.left_out.iter().map(|id| format!("{mark}{id}{mark}")).collect::<Vec<_>>().join(", ")
    }
}

/// An idle fluctuates, and its trims with it: closer than this they count as the same in plain lines \[rpm, %\].
const SAME: (f64, f64) = (20.0, 3.0);

/// What would have differed without an act, in a few plain lines. `wrong`: the faults left with the act and without
/// it, for a reader who may see them.
pub fn twin_lines(pair: &Pair<'_>, wrong: Option<[&[NotWhole]; 2]>) -> Vec<String> {
    let mut out = Vec::new();
    let (a, b) = (pair.done.after, pair.without.after);
    let rpm = |x: f64| number(x, 0);
    match (&a.idle, &b.idle) {
        (Some(x), Some(y)) if (x.mean_rpm - y.mean_rpm).abs() >= SAME.0 => {
            let target = rpm(y.target_rpm);
            let (done, without) = (rpm(x.mean_rpm), rpm(y.mean_rpm));
            out.push(say!("without-idle", without = without, done = done, target = target));
        }
        (Some(x), None) => out.push(say!("without-no-idle", done = rpm(x.mean_rpm))),
        (None, Some(y)) => out.push(say!("without-idles", without = rpm(y.mean_rpm))),
        _ => {}
    }
    for (x, y) in a.trims.iter().zip(&b.trims) {
        let [done, without] = [x, y].map(|t| t.short_pct + t.long_idle_pct);
        if (done - without).abs() >= SAME.1 {
            let (done, without) = (signed(done, 1), signed(without, 1));
            out.push(say!("without-trims", bank = x.bank, without = without, done = done));
        }
    }
    for code in codes_of(&[a, b]) {
        let [done, without] = [a, b].map(|o| code_state(o, code));
        if done != without {
            let says = name("code", code);
            out.push(say!("without-code", code = code, says = says, without = without, done = done));
        }
    }
    if a.lamp != b.lamp {
        let [done, without] = [a.lamp, b.lamp].map(lamp_words);
        out.push(say!("without-lamp", without = without, done = done));
    }
    let hindered = |s: &Sheet<'_>| s.log.iter().filter(|e| matches!(e.kind, Kind::Hindered { .. })).count();
    let more = hindered(pair.without).saturating_sub(hindered(pair.done)) as u32;
    if more > 0 {
        out.push(say!("without-hindered", n = more));
    }
    out.extend(not_whole(pair, wrong));
    if out.is_empty() {
        out.push(say!("without-same", rpm = rpm(SAME.0), pct = number(SAME.1, 0)));
    }
    out
}

/// Whether the car and the job are then in order, and what is not.
fn not_whole(pair: &Pair<'_>, wrong: Option<[&[NotWhole]; 2]>) -> Option<String> {
    let (done, without) = (pair.done.grade?, pair.without.grade?);
    if let Some([with_it, without_it]) = wrong {
        let [x, y] = [with_it, without_it].map(|all| all.iter().map(facts::not_whole).collect::<Vec<_>>());
        return match (x == y, y.is_empty(), x.is_empty()) {
            (true, ..) => None,
            (_, true, _) => Some(say("without-whole")),
            (_, _, true) => Some(say!("without-wrong", wrong = y.join("; "))),
            _ => Some(say!("without-other-wrong", wrong = y.join("; "), done = x.join("; "))),
        };
    }
    let kept = |f: &Found| matches!(f, Found::NotWholeKept | Found::LearnedWrongKept);
    let whole = |g: &Grade| !g.rows.iter().flat_map(|r| &r.findings).any(|f| kept(&f.found));
    match (whole(done), whole(without)) {
        (true, false) => Some(say("without-not-whole")),
        (false, true) => Some(say("without-whole")),
        _ if done.closed && !without.closed => Some(say("without-not-closed")),
        _ => None,
    }
}

/// The comparison in plain text, for a terminal of 100 columns.
pub fn twin_table(pair: &Pair<'_>) -> String {
    let mut out = format!("{}  {}\n", plain(pair.done.id), plain(pair.done.title));
    let mut row = |label: &str, text: &str| {
        for line in wrapped(&format!("{:<13} ", say(label)), text, 14) {
            out += &format!("{}\n", line.trim_end());
        }
    };
    if let Some((id, title)) = pair.done.actions {
        row("account-worked-by", &format!("{id}: {title}"));
    }
    let car = say!(
        "twin-car-is",
        car = pair.done.car_title,
        seed = pair.done.seed.to_string(),
        lid = lid_words(pair.done.lid_open),
    );
    row("account-car", &car);
    let acts = pair.acts("`");
    let headline = match pair.forked_s {
        Some(t) => say!("twin-headline", acts = acts, at = minutes(t, false)),
        None => say!("twin-headline-never", acts = acts),
    };
    row("twin-label", &headline);
    let mut lines =
        vec![(" ", ["twin-at-the-end", "twin-done", "twin-left-out", "twin-difference"].map(say))];
    for d in pair.differences() {
        let [done, left_out, difference] = d.shown();
        lines.push((if d.differs { "*" } else { " " }, [d.what, done, left_out, difference]));
    }
    let wide = |k: usize| lines.iter().map(|l| l.1[k].chars().count()).max().unwrap_or(0);
    let wide: [usize; 4] = std::array::from_fn(wide);
    out += "\n";
    for (sign, [what, done, left_out, difference]) in &lines {
        let [a, b, c, d] = wide;
        let line = format!("{sign} {what:<a$}  {done:>b$}  {left_out:>c$}  {difference:>d$}");
        out += &(plain(line.trim_end()).chars().take(WIDE).collect::<String>() + "\n");
    }
    out += "\n";
    let judged = pair.done.lines.len() + pair.without.lines.len() > 0;
    for id in judged.then_some("twin-met-says").into_iter().chain(["twin-foot"]) {
        for line in wrapped("", &say(id), 0) {
            out += &format!("{line}\n");
        }
    }
    out
}
