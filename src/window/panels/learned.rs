//! The module's state: codes, what it may learn now and why not, what it believes, how the idle air adds up, trims.
//!
//! Data that nobody has read with the scan tool is not shown under a closed lid. Once read, it stays on display,
//! and the reading is entered on the job card.

use super::{Front, PanelState, Shown, Wish, charts, rulers, service, style};
use crate::bench::action::Action;
use crate::link::{CodeStatus, DiagRequest, DiagResponse, GateStatus, LearnedStatus, MonitorStatus, Writer};
use crate::report;
use crate::words::numbers::{clock, number as plain, signed};
use crate::words::{facts, name, readings, say};
use egui::{RichText, ScrollArea, Ui, WidgetInfo, WidgetType};

/// The panel to the right: codes first, then what the module may learn now, what it believes, and its sums.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_enabled_ui(shown.conditioning.is_none(), |ui| {
            ui.horizontal_wrapped(|ui| {
                let ask = egui::Button::new(style::bold(&say("mind-ask")));
                if ui.add_enabled(may_ask(shown), ask).clicked() {
                    state.front = Front::Service;
                }
                style::cap(ui, "M");
            });
            if let Some((stands, words)) = service::standing(shown) {
                if stands == service::Stands::Failed {
                    style::warn(ui, &words);
                } else {
                    ui.label(words);
                }
            }
            ui.add_space(6.0);
            let awake = shown.view.first.seen.answers;
            let may = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
            out.extend(style::part(ui, "codes", |ui| codes_part(ui, shown, state)));
            space(ui);
            if !awake {
                ui.label(say("mind-silent"));
                space(ui);
            }
            // the reason why it may not learn is the point of a lesson: it comes before the rulers, which would push
            // it out of sight
            if may && awake && style::part(ui, "gates", |ui| gates(ui, shown, state)) {
                space(ui);
            }
            out.extend(style::part(ui, "learned", |ui| learned_part(ui, shown, state)));
            space(ui);
            let live: [(&str, Draws); 4] =
                [("idle air", idle_air), ("fuel", fuel), ("charging", charging), ("trims", trims)];
            for (name, draws) in live.into_iter().filter(|_| awake) {
                style::part(ui, name, |ui| draws(ui, shown, state));
                space(ui);
            }
            out.extend(style::part(ui, "readiness", |ui| readiness(ui, shown, state)));
        });
    });
    out
}

/// Draws what can only be looked at.
type Draws = fn(&mut Ui, &Shown<'_>, &mut PanelState);

/// Codes, as they were read.
fn codes_part(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    style::heading(ui, &say("mind-codes"), "trouble code", shown.words, &mut state.near_word);
    if shown.view.lid_open {
        return codes(ui, shown, state, &shown.view.first.seen.codes);
    }
    let Some((all, at_s)) = service::codes_read(shown) else {
        let first = read_first(ui, shown, state, DiagRequest::ReadCodes, &say("mind-read-codes"));
        return first.into_iter().collect();
    };
    let mut out = codes(ui, shown, state, all);
    out.extend(again(ui, shown, state, DiagRequest::ReadCodes, at_s));
    out
}

/// Learned values, once they were read.
fn learned_part(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let may = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        style::heading(ui, &say("mind-believes"), "learned value", shown.words, &mut state.near_word);
        wanted = may && charts::button(ui, &say("mind-believes-chart"));
    });
    if may {
        learned(ui, shown, state, wanted);
        return Vec::new();
    }
    let words = say("mind-read-learned");
    read_first(ui, shown, state, DiagRequest::ReadLearned, &words).into_iter().collect()
}

/// Readiness monitors, as they were read.
fn readiness(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    style::heading(ui, &say("mind-readiness"), "readiness", shown.words, &mut state.near_word);
    if shown.view.lid_open {
        monitors(ui, &shown.view.first.seen.readiness);
        return None;
    }
    match service::answer_to(shown, &DiagRequest::ReadReadiness) {
        Some((DiagResponse::Readiness(all), at_s)) => {
            monitors(ui, all);
            again(ui, shown, state, DiagRequest::ReadReadiness, at_s)
        }
        _ => read_first(ui, shown, state, DiagRequest::ReadReadiness, &say("mind-read-readiness")),
    }
}

/// True while the module can still be asked: a car that was handed in can only be looked at.
fn may_ask(shown: &Shown<'_>) -> bool {
    shown.run.is_none()
}

fn space(ui: &mut Ui) {
    ui.add_space(10.0);
}

/// The button that reads: it keeps the focus when it reads again.
fn reads(ui: &mut Ui, shown: &Shown<'_>, words: &str) -> bool {
    let button = egui::Button::new(words).wrap();
    style::part(ui, "read", |ui| ui.add_enabled(may_ask(shown), button).clicked())
}

/// A button to read something for the first time, or again after it was erased.
fn read_first(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &PanelState,
    request: DiagRequest,
    name: &str,
) -> Option<Wish> {
    let action = Action::Ask(request);
    let price = report::cost_words(shown.prices, shown.prices.of(&action));
    style::soft(ui, &say("window-not-read-yet"));
    let words = say!("window-priced", what = name, price = price);
    reads(ui, shown, &words).then(|| state.act(action))
}

/// The age of a reading, with a button to read it again.
fn again(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &PanelState,
    request: DiagRequest,
    at_s: f64,
) -> Option<Wish> {
    let now_s = shown.view.time_s;
    let at = clock(at_s - shown.view.hand_over_s);
    style::soft(ui, &say!("mind-read-at", time = at, ago = clock((now_s - at_s).max(0.0))));
    let action = Action::Ask(request);
    let price = report::cost_words(shown.prices, shown.prices.of(&action));
    let words = say!("window-priced", what = say("mind-read-again"), price = price);
    reads(ui, shown, &words).then(|| state.act(action))
}

/// Readiness monitors, each with whether it has run.
fn monitors(ui: &mut Ui, all: &[MonitorStatus]) {
    for m in all {
        let id = if m.complete { "mind-monitor-has-run" } else { "mind-monitor-has-not-run" };
        style::verdict(ui, m.complete, &say!(id, monitor = name("monitor", &m.name)));
    }
}

/// A learned value's number, in pencil.
pub(super) fn number(shown: &Shown<'_>, v: &LearnedStatus, x: f64) -> String {
    if v.unit == "°" {
        return with_unit(plain(x, 2), "°");
    }
    let units = shown.settings.units;
    if v.default == 0.0 && v.low < 0.0 { units.signed_value(x, &v.unit) } else { units.value(x, &v.unit) }
}

/// Who wrote a learned value last, and when by the window's clock, which starts when the car is received.
fn written(shown: &Shown<'_>, v: &LearnedStatus) -> String {
    report::written(&LearnedStatus { written_s: v.written_s - shown.view.hand_over_s, ..v.clone() })
}

/// The glossary's word for a learned value.
pub fn word_of(name: &str) -> &'static str {
    let all = [
        ("idle_air_loaded", "extra idle air under load"),
        ("idle_air", "idle air"),
        ("closed_stop", "throttle stop"),
        ("egr_stop", "closed position"),
        ("ambient", "ambient pressure"),
        ("long_", "long-term fuel trim"),
        ("cylinder_trim", "cylinder trim"),
        ("injector_dead", "dead time"),
        ("injector", "injector code"),
        ("short_pulse", "short-pulse trim"),
        ("wheel", "crankshaft variation"),
    ];
    all.iter().find(|(start, _)| name.starts_with(start)).map_or("learned value", |(_, word)| word)
}

/// True when a value has nothing to tell: it is at its reset value, nothing has written it since the car was built,
/// and there is no truth to compare it with.
fn at_rest(shown: &Shown<'_>, v: &LearnedStatus) -> bool {
    let truth = shown.view.first.truth.as_ref().and_then(|t| t.of_learned(&v.name));
    v.value == v.default && truth.is_none() && matches!(v.written_by, Writer::Delivered | Writer::Factory)
}

/// Learned values: current ones while the module answers, otherwise the last ones it reported.
fn values<'a>(shown: &Shown<'a>) -> &'a [LearnedStatus] {
    let seen = &shown.view.first.seen;
    if seen.answers || shown.view.lid_open {
        return &seen.learned;
    }
    match service::answer_to(shown, &DiagRequest::ReadLearned) {
        Some((DiagResponse::Learned(all), _)) => all,
        _ => &[],
    }
}

fn learned(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, wanted: bool) {
    if let (false, false, Some((_, at_s))) = (
        shown.view.first.seen.answers,
        shown.view.lid_open,
        service::answer_to(shown, &DiagRequest::ReadLearned),
    ) {
        let (at, ago) = (clock(at_s - shown.view.hand_over_s), clock((shown.view.time_s - at_s).max(0.0)));
        style::soft(ui, &say!("mind-read-at", time = at, ago = ago));
    }
    let (from, top) = (charts::begin(ui), ui.cursor().min);
    let all = values(shown);
    let (rest, told): (Vec<_>, Vec<_>) = all.iter().partition(|v| at_rest(shown, v));
    for v in &told {
        ruler(ui, shown, state, v);
    }
    // a chart that is saved contains all of them
    if wanted {
        rest.iter().for_each(|v| ruler(ui, shown, state, v));
    } else if !rest.is_empty() {
        let id = if told.is_empty() { "mind-all-at-default" } else { "mind-more-at-default" };
        let words = say!(id, n = rest.len());
        style::fold(ui, "at their default", &words, told.is_empty(), |ui| {
            rest.iter().for_each(|v| ruler(ui, shown, state, v));
        });
    }
    if all.is_empty() {
        style::soft(ui, &say("mind-no-power"));
    }
    if wanted {
        let end = egui::pos2(ui.max_rect().right(), ui.cursor().min.y);
        let rect = egui::Rect::from_min_max(top, end).expand(6.0);
        let (heads, rows) = numbers(shown);
        let title = say("mind-believes");
        let svg = charts::picture(ui, &title, rect, from, shown.view.lid_open);
        state.charts.kept = Some(charts::Kept { title, name: "learned", svg, heads, rows });
        state.front = Front::Keep;
    }
    table(ui, shown);
}

/// One learned value: its name, its number, its ruler.
fn ruler(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, v: &LearnedStatus) {
    let t = style::Palette::of(ui);
    let title = name("learned", &v.name);
    let now = number(shown, v, v.value);
    let r = style::pair(ui, &title, style::figure(&now, 16.0).color(t.pencil));
    style::help(r, word_of(&v.name), shown.words, &mut state.near_word);
    let truth = shown.view.first.truth.as_ref().and_then(|t| t.of_learned(&v.name));
    let ruler = rulers::Ruler { low: v.low, high: v.high, default: v.default, value: v.value, truth };
    let of = |x: f64| number(shown, v, x);
    let (default, low, high) = (of(v.default), of(v.low), of(v.high));
    let written = written(shown, v);
    let spoken = match truth {
        None => say!(
            "mind-ruler",
            name = title,
            stored = now,
            default = default,
            low = low,
            high = high,
            written = written
        ),
        Some(x) => say!(
            "mind-ruler-and-parts",
            name = title,
            stored = now,
            default = default,
            low = low,
            high = high,
            parts = of(x),
            written = written
        ),
    };
    rulers::ruler(ui, &ruler, &spoken).on_hover_ui(|ui| {
        ui.set_max_width(320.0);
        ui.label(&spoken);
    });
}

/// Learning gates, those of a single value under its name; values with the same gates share one list. False where
/// there are none.
fn gates(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> bool {
    let all = &shown.view.first.seen.learned;
    if all.iter().all(|v| v.gates.is_empty()) {
        return false;
    }
    let hidden = shown.scenario.plan.as_ref().is_some_and(|p| p.hides.gates) && !shown.view.lid_open;
    style::heading(ui, &say("mind-may-learn"), "gate", shown.words, &mut state.near_word);
    if hidden {
        style::soft(ui, &say("mind-find-out"));
        return true;
    }
    let mut told: Vec<(&LearnedStatus, Vec<String>)> = Vec::new();
    for v in all.iter().filter(|v| !v.gates.is_empty()) {
        match told.iter_mut().find(|(o, _)| o.gates == v.gates) {
            Some((_, names)) => names.push(name("learned", &v.name)),
            None => told.push((v, vec![name("learned", &v.name)])),
        }
    }
    for (v, names) in told {
        let open = v.gates.iter().all(|g| g.open);
        let shut = v.gates.iter().filter(|g| !g.open).count();
        // the heading says what may or may not be learned, the list below says why
        let title = if names.len() == 1 {
            let id = if open { "mind-value-gates-open" } else { "mind-value-gates-shut" };
            say!(id, name = names[0].as_str(), value = number(shown, v, v.value), n = shut)
        } else {
            let id = if open { "mind-gates-open" } else { "mind-gates-shut" };
            say!(id, names = style::listed(names), n = shut)
        };
        style::fold(ui, ("gates", &v.name), &title, v.name == "idle_air_light", |ui| {
            // one list, recognised as such at a glance
            ui.spacing_mut().item_spacing.y = 2.0;
            // shut gates first
            for g in v.gates.iter().filter(|g| !g.open).chain(v.gates.iter().filter(|g| g.open)) {
                style::gate(ui, g.open, &facts::gate_in(shown.settings.units, &as_read(shown, g)));
            }
        });
    }
    true
}

/// A gate as it may be shown: it names a code only if codes were read and the code was among them.
fn as_read(shown: &Shown<'_>, g: &GateStatus) -> GateStatus {
    let known = |code: &String| {
        let read = service::codes_read(shown).map_or(&[][..], |(all, _)| all);
        shown.view.lid_open || read.iter().any(|c| c.code == *code)
    };
    GateStatus { code: g.code.clone().filter(known), ..g.clone() }
}

/// The numbers of all rulers.
fn numbers(shown: &Shown<'_>) -> charts::Numbers {
    let lid = shown.view.first.truth.as_ref();
    let rows = values(shown).iter().map(|v| {
        let mut row = vec![
            name("learned", &v.name),
            number(shown, v, v.value),
            number(shown, v, v.default),
            number(shown, v, v.low),
            number(shown, v, v.high),
            written(shown, v),
        ];
        if let Some(t) = lid {
            row.push(t.of_learned(&v.name).map_or(String::new(), |x| number(shown, v, x)));
        }
        row
    });
    let heads = ["value", "stored", "default", "low", "high", "written", "true"];
    let heads = heads.into_iter().take(if lid.is_some() { 7 } else { 6 });
    let heads = heads.map(|head| say(&format!("mind-head-{head}")));
    (heads.collect(), rows.collect())
}

fn table(ui: &mut Ui, shown: &Shown<'_>) {
    style::fold(ui, "learned table", &say("mind-as-table"), false, |ui| {
        let (heads, rows) = numbers(shown);
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        style::wide_table(ui, "learned", &heads, &rows);
    });
}

fn codes(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, all: &[CodeStatus]) -> Vec<Wish> {
    let mut out = Vec::new();
    let t = style::Palette::of(ui);
    if all.is_empty() {
        ui.label(say("mind-no-code"));
    }
    for c in all {
        let frame = service::frame_of(shown, &c.code);
        ui.horizontal_wrapped(|ui| {
            ui.label(style::figure(&c.code, 18.0).color(t.accent));
            if frame.is_none() {
                let action = Action::Ask(DiagRequest::ReadFreezeFrame(c.code.clone()));
                let price = report::cost_words(shown.prices, shown.prices.of(&action));
                let button = egui::Button::new(say!("mind-freeze-frame", price = price.as_str()));
                let r = ui.add_enabled(may_ask(shown), button);
                // one freeze frame may be offered for each of several codes
                let spoken = say!("mind-freeze-frame-of", code = c.code.as_str(), price = price);
                r.widget_info(|| WidgetInfo::labeled(WidgetType::Button, may_ask(shown), &spoken));
                if r.clicked() {
                    out.push(state.act(action));
                }
            }
        });
        let r = ui.label(RichText::new(report::code_states(c)).color(t.accent));
        let word = if c.confirmed { "confirmed" } else { "pending" };
        style::help(r, word, shown.words, &mut state.near_word);
        style::soft(ui, &name("code", &c.code));
        match frame {
            None => {}
            Some(None) => {
                style::soft(ui, &say("mind-no-freeze-frame"));
            }
            Some(Some(f)) => {
                let rows = readings::freeze_frame(&f, shown.settings.units).into_iter().map(Vec::from);
                let rows: Vec<Vec<String>> = rows.collect();
                style::table(ui, &c.code, &[&say("mind-freeze-frame-head"), ""], &rows);
            }
        }
    }
    out
}

/// A sum that the module forms: the prefix of its messages, its word in the glossary, the name of its files.
struct Sum {
    id: &'static str,
    word: &'static str,
    file: &'static str,
}

const IDLE_AIR: Sum = Sum { id: "mind-idle-air", word: "idle air", file: "idle-air" };
const FUEL: Sum = Sum { id: "mind-fuel", word: "fuel calculation", file: "fuel" };
const CHARGING: Sum = Sum { id: "mind-charging", word: "battery record", file: "charging" };

impl Sum {
    fn say(&self, what: &str) -> String {
        say(&format!("{}-{what}", self.id))
    }
    /// A term of the sum as a person reads it: fuel flow is small beside airflow and has one digit more.
    fn term(&self, shown: &Shown<'_>, x: f64) -> String {
        if self.file == CHARGING.file {
            return with_unit(signed(x, 2), "V");
        }
        let (x, unit) = shown.settings.units.quantity(x, "g/s");
        let decimals = if unit == "g/s" { 2 + usize::from(self.file == FUEL.file) } else { 3 };
        with_unit(signed(x, decimals), unit)
    }
    /// Says that the sum is not being formed at present.
    fn not_now(&self, ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
        style::heading(ui, &say(self.id), self.word, shown.words, &mut state.near_word);
        style::soft(ui, &self.say("not"));
    }
}

fn with_unit(number: String, unit: &str) -> String {
    format!("{number} {unit}")
}

/// The sum of the idle air: bars that add up to the airflow asked for.
fn idle_air(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let l = &shown.view.first.seen.live;
    if !l.idling {
        return IDLE_AIR.not_now(ui, shown, state);
    }
    let (base, loads) = (("base", l.idle_base_g_s, false), ("loads", l.idle_load_g_s, false));
    // the learned share must be read first, like every learned value: until then it is shown together with the
    // correction
    if shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned) {
        let terms = [base, loads, ("learned", l.idle_learned_g_s, true), ("pi", l.idle_pi_g_s, false)];
        sum(ui, shown, state, &IDLE_AIR, &terms);
    } else {
        let corrections = l.idle_learned_g_s + l.idle_pi_g_s;
        sum(ui, shown, state, &IDLE_AIR, &[base, loads, ("corrections", corrections, false)]);
    }
}

/// The sum of the fuel: the amount that follows from the air, and its corrections.
fn fuel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let Some(f) = shown.view.first.seen.live.fuel else { return FUEL.not_now(ui, shown, state) };
    let terms = [
        ("by-air", f.by_air_g_s, false),
        ("target", f.target_g_s, false),
        ("long", f.long_g_s, true),
        ("short", f.short_g_s, false),
        ("after-start", f.after_start_g_s, false),
    ];
    sum(ui, shown, state, &FUEL, &terms);
}

/// The sum of the charging set-point, the battery as the module's record has it, and whether the engine may stop at
/// lights.
fn charging(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let l = &shown.view.first.seen.live;
    if l.charge_set_v > 0.0 {
        let terms = [
            ("base", l.charge_base_v, false),
            ("cold", l.charge_cold_v, false),
            ("age", l.charge_age_v, true),
            ("stage", l.charge_stage_v, false),
        ];
        sum(ui, shown, state, &CHARGING, &terms);
    } else {
        CHARGING.not_now(ui, shown, state);
    }
    let units = shown.settings.units;
    ui.label(say!(
        "mind-battery",
        current = units.signed_value(l.battery_a, "A"),
        temperature = units.value(l.battery_c, "°C"),
        charge = plain(l.battery_charge_pct, 0)
    ));
    match l.stop_start.as_str() {
        "allowed" => style::verdict(ui, true, &say("mind-stop-allowed")),
        "refused" => match &l.stop_start_because {
            None => style::verdict(ui, false, &say("mind-stop-refused")),
            Some(why) => {
                let why = facts::no_stop(shown.settings.units, why);
                style::verdict(ui, false, &say!("mind-stop-refused-why", why = why));
            }
        },
        _ => {}
    }
}

fn sum(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, of: &Sum, terms: &[(&str, f64, bool)]) {
    let title = say(of.id);
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        style::heading(ui, &title, of.word, shown.words, &mut state.near_word);
        wanted = charts::button(ui, &of.say("chart"));
    });
    let from = charts::begin(ui);
    let terms: Vec<rulers::Term> = terms
        .iter()
        .map(|(id, x, learned)| rulers::Term { name: of.say(id), value: *x, learned: *learned })
        .collect();
    let rect = rulers::sum(ui, &terms, &|x| of.term(shown, x)).expand(6.0);
    if wanted {
        let heads = vec![say("mind-term"), say("mind-asked-for")];
        let whole: f64 = terms.iter().map(|t| t.value).sum();
        let all = terms.into_iter().map(|t| (t.name, t.value)).chain([(say("window-asks-for"), whole)]);
        let rows = all.map(|(name, x)| vec![name, of.term(shown, x)]).collect();
        let svg = charts::picture(ui, &title, rect, from, shown.view.lid_open);
        state.charts.kept = Some(charts::Kept { title, name: of.file, svg, heads, rows });
        state.front = Front::Keep;
    }
}

/// Trims by bank, cell by cell.
fn trims(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    style::heading(ui, &say("mind-trims"), "short-term fuel trim", shown.words, &mut state.near_word);
    let t = style::Palette::of(ui);
    let all = &shown.view.first.seen.trims;
    for trim in all {
        if all.len() > 1 {
            style::soft(ui, &say!("mind-bank", bank = trim.bank));
        }
        let pct = |x: f64| with_unit(signed(x, 1), "%");
        let rows = [
            ("mind-trim-short", pct(trim.short_pct), "short-term fuel trim"),
            (
                "mind-trim-idle",
                shown.settings.units.signed_value(trim.long_idle_g_s, "g/s"),
                "long-term fuel trim",
            ),
            ("mind-trim-part", pct(trim.long_part_pct), "long-term fuel trim"),
            ("mind-trim-high", pct(trim.long_high_pct), "long-term fuel trim"),
        ];
        for (name, number, word) in rows {
            let r = style::pair(ui, &say(name), style::mono(&number).size(15.0).color(t.pencil));
            style::help(r, word, shown.words, &mut state.near_word);
        }
    }
}
