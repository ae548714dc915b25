//! Workshop tools, shelf, plugs and other work: everything that can be done by hand, with its cost.
//!
//! The first press opens a line and shows what it needs; anything that costs something is done by a second press.

use super::{Front, Nameplate, PanelState, Shown, Wish, style};
use crate::bench::action::{Action, Connector, Ill, PartChoice, PartKind, Sensor};
use crate::bench::record::Kind;
use crate::bench::tools::{INSTRUMENTS, Lead, Look, Point, Reading, Tool};
use crate::catalogue::cautions::Caution;
use crate::label::BatteryKind;
use crate::report::{caution_words, cost_words};
use crate::session::desk::Reach;
use crate::session::{Price, Prices};
use crate::units;
use crate::words::numbers::{clock, decimals, shown_units};
use crate::words::{Words, message_of, name, say, upper_first};
use egui::{RichText, Ui};
use std::collections::BTreeSet;

/// State of shelf and tools.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfState {
    /// The line that is open.
    pub open: Option<&'static str>,
    /// The list of plugs is open.
    pub plugs_open: bool,
    /// The chosen cylinder or bank.
    pub place: u8,
    /// The second cylinder of a swap.
    pub other: u8,
    /// The chosen sensor.
    pub sensor: Sensor,
    /// The chosen test point for a probe.
    pub point: Point,
    /// The lead in the current clamp; none for the battery's.
    pub lead: Option<Lead>,
    /// The chosen thing to look at.
    pub look: Look,
    /// The throttle body is the maker's other size.
    pub other_size: bool,
    /// The battery is of another kind or size than the one in the car.
    pub other_battery: bool,
    /// Kind and capacity \[Ah\] of that other battery.
    pub battery: (BatteryKind, f64),
    /// Serial number, if a particular part is chosen.
    pub serial: String,
    /// Fuel quantity \[l\].
    pub litres: f64,
    /// Speed to hold \[rpm\].
    pub rpm: f64,
    /// Torque of the chassis dynamometer \[N m\].
    pub nm: f64,
    /// Share of sparks to suppress \[%\].
    pub swallow: f64,
    /// Current drawn by an accessory \[A\], and whether it is wired straight to the battery posts.
    pub accessory: (f64, bool),
    /// Highest current of a battery charger \[A\], and whether its negative clamp goes on the battery's post.
    pub charger: (f64, bool),
}

impl Default for ShelfState {
    fn default() -> Self {
        Self {
            open: None,
            plugs_open: false,
            place: 1,
            other: 2,
            sensor: Sensor::Coolant,
            point: Point::BatteryPost,
            look: Look::ThrottleBody,
            lead: None,
            other_size: false,
            other_battery: false,
            battery: (BatteryKind::Flooded, 60.0),
            serial: String::new(),
            litres: 10.0,
            rpm: 2000.0,
            nm: 0.0,
            swallow: 100.0,
            accessory: (0.5, false),
            charger: (30.0, false),
        }
    }
}

/// A line that opens; true while it is open.
fn line(
    ui: &mut Ui,
    prices: &Prices,
    state: &mut PanelState,
    id: &'static str,
    called: &str,
    price: Price,
) -> bool {
    let open = state.shelf.open == Some(id);
    if style::priced(ui, &upper_first(called), &cost_words(prices, price), open).clicked() {
        state.shelf.open = if open { None } else { Some(id) };
    }
    state.shelf.open == Some(id)
}

/// A choice of one of several cylinders or banks, by number.
pub fn count(ui: &mut Ui, called: &str, x: &mut u8, most: u8) {
    *x = (*x).clamp(1, most.max(1));
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, called);
        for k in 1..=most {
            ui.selectable_value(x, k, k.to_string());
        }
    });
}

/// A choice from a drop-down list that is no wider than its place: below its name if there is no space beside it.
pub fn chosen<T: PartialEq + Copy>(ui: &mut Ui, id: &str, called: &str, now: &mut T, all: &[(T, String)]) {
    let words = all.iter().find(|(v, _)| *v == *now).map_or("", |(_, w)| w.as_str()).to_owned();
    let t = style::Palette::of(ui);
    let wide = |words: &str, size: f32| {
        ui.painter().layout_no_wrap(words.to_owned(), egui::FontId::proportional(size), t.text).size().x
    };
    // including the drop-down arrow and the margins
    let list = (wide(&words, 16.0) + 44.0).max(150.0);
    let beside = wide(called, 14.0) + ui.spacing().item_spacing.x + list <= ui.available_width();
    let width = ui.available_width().min(150.0);
    let inside = |ui: &mut Ui| {
        style::soft(ui, called);
        egui::ComboBox::from_id_salt(id).selected_text(words).width(width).wrap().show_ui(ui, |ui| {
            for (v, w) in all {
                ui.selectable_value(now, *v, w);
            }
        });
    };
    if beside {
        ui.horizontal(inside);
    } else {
        ui.vertical(inside);
    }
    if let (false, Some((first, _))) = (all.iter().any(|(v, _)| *v == *now), all.first()) {
        *now = *first;
    }
}

/// A message that only some declared things have, for example what must hold before a tool is used.
fn told(kind: &str, id: &str) -> Option<String> {
    let message = message_of(kind, id);
    Words::english().has(&message).then(|| say(&message))
}

// ---------------------------------------------------------------------------------------------------
// Workshop tools
// ---------------------------------------------------------------------------------------------------

fn tool_of(name: &str, s: &ShelfState) -> Tool {
    let one = Tool::each().iter().find(|(id, _)| *id == name).map_or(Tool::VacuumGauge, |(_, t)| *t);
    match one {
        Tool::Voltmeter(_) => Tool::Voltmeter(s.point),
        Tool::Scope(_) => Tool::Scope(s.point),
        Tool::AmpereClamp => s.lead.map_or(Tool::AmpereClamp, Tool::ClampOn),
        Tool::Inspect(_) => Tool::Inspect(s.look),
        other => other.at(s.place),
    }
}

/// Workshop tools.
pub fn tools(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    style::heading(ui, &say("shelf-tools"), "workshop tools", shown.words, &mut state.near_word);
    for id in INSTRUMENTS {
        out.extend(style::part(ui, id, |ui| instrument(ui, shown, state, id)));
    }
    readings(ui, shown, state);
    out
}

/// One instrument: its line, and below it what the instrument is set to and what it showed, while the line is open.
fn instrument(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, id: &'static str) -> Option<Wish> {
    let price = shown.prices.of(&Action::Measure(tool_of(id, &state.shelf)));
    if !line(ui, shown.prices, state, id, &name("tool", id), price) {
        return None;
    }
    let inside = |ui: &mut Ui| {
        set_up(ui, id, shown.plate, &mut state.shelf);
        let tool = tool_of(id, &state.shelf);
        if let Some(needs) = told("tool-needs", id) {
            style::soft(ui, &needs);
        }
        let measure = Action::Measure(tool);
        cautions(ui, &measure);
        let wish = ui.button(style::bold(&say("shelf-measure"))).clicked().then(|| state.act(measure));
        // the last reading is shown where it was asked for
        if let Some(r) = shown.view.first.seen.readings.iter().find(|r| r.tool == tool) {
            reading(ui, shown, r);
        }
        wish
    };
    ui.indent(id, inside).inner
}

/// Controls for where an instrument is connected or what it is set to.
fn set_up(ui: &mut Ui, id: &str, plate: &Nameplate, s: &mut ShelfState) {
    let every = Tool::all(plate.has.cylinders.into(), plate.has.banks.into());
    match tool_of(id, s).place_key() {
        Some("cylinder") => count(ui, &say("shelf-cylinder"), &mut s.place, plate.has.cylinders),
        Some(_) => count(ui, &say("shelf-bank"), &mut s.place, plate.has.banks),
        None => {}
    }
    match id {
        "voltmeter" | "scope" => {
            let point = |t: &Tool| match t {
                Tool::Voltmeter(p) if id == "voltmeter" => Some((*p, point_name(*p))),
                Tool::Scope(p) if id == "scope" => Some((*p, point_name(*p))),
                _ => None,
            };
            let all: Vec<(Point, String)> = every.iter().filter_map(point).collect();
            chosen(ui, id, &say("shelf-at"), &mut s.point, &all);
        }
        "ampere_clamp" => {
            let mut all = vec![(None, name("lead", "battery_lead"))];
            all.extend(Lead::ALL.iter().map(|(id, lead)| (Some(*lead), name("lead", id))));
            chosen(ui, id, &say("shelf-round"), &mut s.lead, &all);
        }
        "inspect" => {
            let look = |t: &Tool| match t {
                Tool::Inspect(l) => Some((*l, name("look", l.name()))),
                _ => None,
            };
            let all: Vec<(Look, String)> = every.iter().filter_map(look).collect();
            chosen(ui, id, &say("shelf-at"), &mut s.look, &all);
        }
        _ => {}
    }
}

/// The name of a test point: a sensor's pin is named after the sensor.
fn point_name(p: Point) -> String {
    let kind = if matches!(p, Point::Pin(_)) { "sensor" } else { "point" };
    name(kind, &p.name())
}

/// The cautions of an act, shown where it is done.
pub fn cautions(ui: &mut Ui, of: &Action) {
    told_cautions(ui, of.cautions());
}

fn told_cautions(ui: &mut Ui, all: &[Caution]) {
    // which cautions apply can change while a number is being typed: what stands below keeps the focus
    style::apart(ui, !all.is_empty(), |ui| {
        for caution in all {
            let words =
                RichText::new(caution_words(*caution)).size(14.0).color(style::Palette::of(ui).accent);
            // a long sentence must not make its column wider
            ui.add(egui::Label::new(words).wrap());
        }
    });
}

/// Tool readings, the latest first.
fn readings(ui: &mut Ui, shown: &Shown<'_>, state: &PanelState) {
    let mut all: Vec<_> = shown.view.first.seen.readings.iter().collect();
    if all.is_empty() {
        return;
    }
    all.sort_by(|a, b| b.at_s.total_cmp(&a.at_s));
    ui.add_space(4.0);
    style::soft(ui, &say("shelf-showed"));
    for r in all.into_iter().filter(|r| state.shelf.open != Some(r.tool.instrument())) {
        reading(ui, shown, r);
    }
}

/// A tool reading and when it was taken.
fn reading(ui: &mut Ui, shown: &Shown<'_>, r: &Reading) {
    let t = style::Palette::of(ui);
    let at = clock(r.at_s - shown.view.hand_over_s);
    let words = say!("window-at", time = at, what = crate::words::readings::reading(r));
    ui.add(egui::Label::new(RichText::new(words).size(15.0).color(t.meas)).wrap());
}

// ---------------------------------------------------------------------------------------------------
// Shelf
// ---------------------------------------------------------------------------------------------------

/// Parts that this car has, one of each kind.
pub fn here(plate: &Nameplate) -> impl Iterator<Item = PartKind> {
    let has = plate.has;
    PartKind::ALL.into_iter().filter(move |kind| has.part(*kind).is_ok())
}

/// The part with this name, in the chosen place.
pub fn kind_of(name: &str, s: &ShelfState) -> PartKind {
    match PartKind::ALL.into_iter().find(|k| k.name() == name) {
        Some(PartKind::Sensor(_)) => PartKind::Sensor(s.sensor),
        Some(kind) => kind.at(s.place),
        None => PartKind::Module,
    }
}

/// The choice of where a part goes, if there are several places.
pub fn place(ui: &mut Ui, name: &str, plate: &Nameplate, s: &mut ShelfState) {
    match kind_of(name, s).place_key() {
        Some("cylinder") => count(ui, &say("shelf-cylinder"), &mut s.place, plate.has.cylinders),
        Some("bank") => count(ui, &say("shelf-bank"), &mut s.place, plate.has.banks),
        Some(_) => {
            let all: Vec<(Sensor, String)> = sensors(plate);
            chosen(ui, "sensor", &say("shelf-which"), &mut s.sensor, &all);
        }
        None => {}
    }
}

/// Kind and capacity of a battery, as printed on its label.
pub fn battery(ui: &mut Ui, (kind, ah): &mut (BatteryKind, f64)) {
    ui.horizontal_wrapped(|ui| {
        for (id, one) in BatteryKind::ALL {
            ui.selectable_value(kind, *one, name("battery", id));
        }
        let (low, high) = (units::RATED_AH.low, units::RATED_AH.high);
        ui.add(egui::DragValue::new(ah).range(low..=high).speed(1.0).max_decimals(0).suffix(" Ah"));
    });
    *ah = ah.round();
}

/// A choice of any sensor, including the crank sensor: its wiring can be faulty, although it is a separate part on
/// the shelf.
pub fn any_sensor(ui: &mut Ui, plate: &Nameplate, s: &mut ShelfState) -> Sensor {
    let mut all = sensors(plate);
    all.push((Sensor::Crank, name("sensor", Sensor::Crank.name())));
    chosen(ui, "any sensor", &say("shelf-which"), &mut s.sensor, &all);
    s.sensor
}

fn sensors(plate: &Nameplate) -> Vec<(Sensor, String)> {
    let here = |s: Sensor| s != Sensor::Crank && plate.has.sensor(s);
    Sensor::ALL.iter().filter(|(s, _)| here(*s)).map(|(s, id)| (*s, name("sensor", id))).collect()
}

/// The controls that are open under a part, with *Fit*.
pub fn fit(ui: &mut Ui, name: &'static str, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    place(ui, name, shown.plate, &mut state.shelf);
    fit_kind(ui, kind_of(name, &state.shelf), shown, state)
}

/// The options of a part whose place is known, with *Fit*.
pub fn fit_kind(ui: &mut Ui, kind: PartKind, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let s = &mut state.shelf;
    if kind == PartKind::ThrottleBody {
        ui.checkbox(&mut s.other_size, name("fault", "variant"));
    }
    if kind == PartKind::Battery {
        ui.checkbox(&mut s.other_battery, say("shelf-other-battery"));
        if s.other_battery {
            battery(ui, &mut s.battery);
        }
    }
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, &say("shelf-serial"));
        let hint = say("shelf-serial-any");
        ui.add(egui::TextEdit::singleline(&mut s.serial).hint_text(hint).desired_width(120.0).char_limit(40))
            .on_hover_text(say("shelf-serial-why"));
    });
    let mut choice = PartChoice::new(kind);
    choice.other_variant = kind == PartKind::ThrottleBody && s.other_size;
    if kind == PartKind::Battery && s.other_battery {
        (choice.battery_type, choice.rated_ah) = (Some(s.battery.0), Some(s.battery.1));
    }
    let serial = s.serial.trim();
    choice.serial = (!serial.is_empty()).then(|| serial.to_owned());
    let action = Action::Fit(choice);
    let price = cost_words(shown.prices, shown.prices.of(&action));
    style::soft(
        ui,
        &say(if kind == PartKind::Module { "shelf-needs-key-off" } else { "shelf-needs-stopped" }),
    );
    cautions(ui, &action);
    let fit = egui::Button::new(style::bold(&say!("shelf-fit", price = price))).wrap();
    ui.add(fit).clicked().then(|| state.act(action))
}

/// The shelf.
pub fn parts(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    style::heading(ui, &say("shelf-title"), "spare parts", shown.words, &mut state.near_word);
    for kind in here(shown.plate) {
        let id = kind.name();
        let price = shown.prices.part.get(id).copied().unwrap_or_default();
        style::part(ui, id, |ui| {
            if line(ui, shown.prices, state, id, &name("part", id), price) {
                ui.indent(id, |ui| out.extend(fit(ui, id, shown, state)));
            }
        });
    }
    out
}

// ---------------------------------------------------------------------------------------------------
// Plugs
// ---------------------------------------------------------------------------------------------------

/// True when a plug hangs loose in the future that the controls act on, as anybody who looks there can see.
pub fn pulled(shown: &Shown<'_>, reach: Reach, c: Connector) -> bool {
    let side = match (&shown.view.second, reach) {
        (Some(second), Reach::Second) => second,
        _ => &shown.view.first,
    };
    side.engine.pulled.contains(&c)
}

/// Number of plugs that this person pulled and did not put back, by the logbook: nobody has looked at the others yet.
fn own_pulled(shown: &Shown<'_>) -> usize {
    let last = |c: Connector| {
        shown.rows.log.iter().rev().find_map(|e| match &e.kind {
            Kind::Act { action: Action::Connector(one, is_in), .. } if *one == c => Some(*is_in),
            _ => None,
        })
    };
    Connector::named(shown.plate.has.cylinders).iter().filter(|(_, c)| last(*c) == Some(false)).count()
}

/// Plugs and hoses.
pub fn plugs(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let price = shown.prices.of(&Action::Connector(Connector::Fan, false));
    let called = match own_pulled(shown) {
        0 => say("shelf-plugs"),
        pulled => say!("shelf-plugs-pulled", pulled = pulled),
    };
    let each = say!("shelf-each", cost = cost_words(shown.prices, price));
    if style::priced(ui, &called, &each, state.shelf.plugs_open).clicked() {
        state.shelf.plugs_open = !state.shelf.plugs_open;
    }
    if !state.shelf.plugs_open {
        return out;
    }
    let all = Connector::named(shown.plate.has.cylinders);
    let minded: BTreeSet<Caution> = all.iter().flat_map(|(_, c)| c.cautions()).copied().collect();
    told_cautions(ui, &minded.into_iter().collect::<Vec<_>>());
    for (id, c) in all {
        // the battery has a switch of its own above
        let here = c != Connector::Battery && shown.plate.has.connector(c).is_ok();
        let is_in = !pulled(shown, state.reach, c);
        if here && style::switch(ui, is_in, &name("connector", &id), "") {
            out.push(state.act(Action::Connector(c, !is_in)));
        }
    }
    out
}

// ---------------------------------------------------------------------------------------------------
// Other work
// ---------------------------------------------------------------------------------------------------

fn drag(ui: &mut Ui, called: &str, x: &mut f64, range: std::ops::RangeInclusive<f64>, unit: &str) {
    ui.horizontal_wrapped(|ui| {
        style::soft(ui, called);
        typed(ui, x, (*range.start(), *range.end()), unit, |drag| drag.speed(1.0));
    });
}

/// A metric number, shown and typed in the units that are chosen.
pub fn typed(
    ui: &mut Ui,
    x: &mut f64,
    (low, high): (f64, f64),
    unit: &str,
    drawn: impl FnOnce(egui::DragValue<'_>) -> egui::DragValue<'_>,
) {
    let units = shown_units();
    let called = units.unit(unit);
    let told = |x: f64| units.quantity(x, unit).0;
    let mut now = told(*x);
    let suffix = if called.is_empty() { String::new() } else { format!(" {called}") };
    let mut drag = drawn(egui::DragValue::new(&mut now).range(told(low)..=told(high)).suffix(suffix));
    if called != unit {
        drag = drag.max_decimals(decimals(called));
    }
    if ui.add(drag).changed() {
        *x = units.metric(now, unit).clamp(low, high);
    }
}

/// The button that carries out the open line of work.
fn does(ui: &mut Ui, message: &str) -> bool {
    ui.button(style::bold(&say(message))).clicked()
}

/// A line of work with its controls below it while it is open: returns the act that `inside` asks for.
fn job(
    ui: &mut Ui,
    (shown, state): (&Shown<'_>, &mut PanelState),
    id: &'static str,
    costs: &Action,
    inside: impl FnOnce(&mut Ui, &mut ShelfState) -> Option<Action>,
) -> Option<Wish> {
    style::part(ui, id, |ui| {
        if !line(ui, shown.prices, state, id, &name("hand", id), shown.prices.of(costs)) {
            return None;
        }
        let inside = |ui: &mut Ui| {
            cautions(ui, costs);
            inside(ui, &mut state.shelf)
        };
        let action = ui.indent(id, inside).inner;
        action.map(|a| state.act(a))
    })
}

/// Other work.
pub fn work(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    style::heading(ui, &say("shelf-work"), "", &[], &mut state.near_word);
    let plain = [
        ("clean_throttle_body", Action::CleanThrottle),
        ("inlet_leak", Action::Leak(0.0)),
        ("exhaust_leak", Action::ExhaustLeak(0.0)),
    ];
    for (id, action) in plain {
        out.extend(job(ui, (shown, state), id, &action.clone(), |ui, _| {
            for words in [told("hand-mind", id), told("hand-needs", id)].into_iter().flatten() {
                style::soft(ui, &words);
            }
            does(ui, "shelf-do-it").then_some(action)
        }));
    }
    out.extend(on_sensors_and_injectors(ui, shown, state));
    out.extend(on_the_wiring(ui, shown, state));
    let litre = Action::Refuel(state.shelf.litres);
    out.extend(job(ui, (shown, state), "refuel", &litre, |ui, s| {
        drag(ui, &say("shelf-fuel"), &mut s.litres, 1.0..=120.0, "L");
        does(ui, "shelf-fill-in").then_some(Action::Refuel(s.litres))
    }));
    let hold = Action::Hold { rpm: state.shelf.rpm, nm: state.shelf.nm };
    out.extend(job(ui, (shown, state), "rollers", &hold, |ui, s| {
        drag(ui, &say("shelf-hold-at"), &mut s.rpm, 1200.0..=5000.0, "rpm");
        drag(ui, &say("shelf-rollers"), &mut s.nm, 0.0..=300.0, "N·m");
        style::soft(ui, &say("shelf-hold-until"));
        does(ui, "shelf-hold").then_some(Action::Hold { rpm: s.rpm, nm: s.nm })
    }));
    if style::priced(ui, &say("shelf-drive-on"), &say("shelf-drive-on-cost"), false).clicked() {
        state.front = Front::DriveOn;
    }
    out
}

/// Putting sensors right, swapping injectors.
fn on_sensors_and_injectors(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let sound = Action::Sensor(state.shelf.sensor, Ill::default());
    out.extend(job(ui, (shown, state), "sensor_wiring", &sound, |ui, s| {
        let sensor = any_sensor(ui, shown.plate, s);
        style::soft(ui, &say("shelf-sensor-and-wire"));
        does(ui, "shelf-do-it").then_some(Action::Sensor(sensor, Ill::default()))
    }));
    let swap = Action::SwapInjectors(state.shelf.place, state.shelf.other);
    out.extend(job(ui, (shown, state), "swap_injectors", &swap, |ui, s| {
        count(ui, &say("shelf-cylinder"), &mut s.place, shown.plate.has.cylinders);
        count(ui, &say("shelf-swap-with"), &mut s.other, shown.plate.has.cylinders);
        style::soft(ui, &say("shelf-needs-stopped"));
        let differ = s.place != s.other;
        let swap = egui::Button::new(style::bold(&say("shelf-swap")));
        ui.add_enabled(differ, swap).clicked().then_some(Action::SwapInjectors(s.place, s.other))
    }));
    out
}

/// Accessories, a battery charger, and a box in a coil's control wire.
fn on_the_wiring(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let wired = Action::Accessory { amps: 0.5, past_sensor: false };
    out.extend(job(ui, (shown, state), "accessory", &wired, |ui, s| {
        drag(ui, &say("shelf-draws"), &mut s.accessory.0, 0.0..=30.0, &say("shelf-amps-always"));
        ui.checkbox(&mut s.accessory.1, say("shelf-to-the-posts"));
        let (amps, past_sensor) = s.accessory;
        two(
            ui,
            ("shelf-wire-it", Action::Accessory { amps, past_sensor }),
            ("shelf-take-it-off", Action::Accessory { amps: 0.0, past_sensor: false }),
        )
    }));
    let charged = Action::Charger { amps: state.shelf.charger.0, past_sensor: false };
    out.extend(job(ui, (shown, state), "charger", &charged, |ui, s| {
        drag(ui, &say("shelf-charges"), &mut s.charger.0, 1.0..=50.0, &say("shelf-amps-at-most"));
        ui.checkbox(&mut s.charger.1, say("shelf-clamp-on-the-post"));
        let (amps, past_sensor) = s.charger;
        two(
            ui,
            ("shelf-connect-charger", Action::Charger { amps, past_sensor }),
            ("shelf-take-it-off", Action::Charger { amps: 0.0, past_sensor: false }),
        )
    }));
    let boxed = Action::Interrupt(state.shelf.place, state.shelf.swallow);
    out.extend(job(ui, (shown, state), "spark_interrupter", &boxed, |ui, s| {
        count(ui, &say("shelf-cylinder"), &mut s.place, shown.plate.has.cylinders);
        drag(ui, &say("shelf-swallows"), &mut s.swallow, 0.0..=100.0, &say("shelf-of-its-sparks"));
        two(
            ui,
            ("shelf-put-it-in", Action::Interrupt(s.place, s.swallow)),
            ("shelf-take-it-out", Action::Interrupt(s.place, 0.0)),
        )
    }));
    out
}

/// Two buttons: one does something, the other undoes it.
fn two(ui: &mut Ui, on: (&str, Action), off: (&str, Action)) -> Option<Action> {
    ui.horizontal_wrapped(|ui| {
        let on = does(ui, on.0).then_some(on.1);
        if ui.button(say(off.0)).clicked() { Some(off.1) } else { on }
    })
    .inner
}
