//! Bay tools, shelf, plugs and other work: what can be done by hand, with what it costs.
//!
//! A line opens first and shows what it needs; what costs anything is done by a second press.

use super::{Front, PanelState, Plate, Shown, Wish, ink};
use crate::bench::action::{Action, Connector, Ill, PartChoice, PartKind, Sensor};
use crate::bench::record::Kind;
use crate::bench::tools::{Lead, Look, Point, Tool};
use crate::label::BatteryKind;
use crate::report;
use crate::session::desk::Reach;
use crate::session::{Price, Prices};
use crate::units;
use egui::{RichText, Ui};

/// What shelf and tools keep.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfState {
    /// The line that stands open.
    pub open: Option<&'static str>,
    /// The plugs stand open.
    pub plugs_open: bool,
    /// Which cylinder or bank.
    pub place: u8,
    /// The second cylinder of a swap.
    pub other: u8,
    /// Which sensor.
    pub sensor: Sensor,
    /// Which place for a probe.
    pub point: Point,
    /// Lead that the clamp is put round; none for the battery's.
    pub lead: Option<Lead>,
    /// What is looked at.
    pub look: Look,
    /// The maker's other size.
    pub other_size: bool,
    /// Another kind or size of battery than the one in the car.
    pub other_battery: bool,
    /// Kind and capacity \[Ah\] of that other one.
    pub battery: (BatteryKind, f64),
    /// Serial, if one in particular is taken.
    pub serial: String,
    /// Litres.
    pub litres: f64,
    /// Speed to hold \[rpm\].
    pub rpm: f64,
    /// Torque of the rollers \[N m\].
    pub nm: f64,
    /// Share of sparks to swallow \[%\].
    pub swallow: f64,
    /// What an accessory draws \[A\], and whether it is wired straight to the posts.
    pub accessory: (f64, bool),
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
        }
    }
}

/// A price in words.
pub fn cost(p: Price) -> String {
    match (p.minutes > 0.0, p.money > 0.0) {
        (true, true) => format!("{} min + {}", ink::number(p.minutes, 0), ink::number(p.money, 0)),
        (true, false) => format!("{} min", ink::number(p.minutes, 0)),
        (false, true) => ink::number(p.money, 0),
        (false, false) => String::new(),
    }
}

/// A line that opens; true while it stands open.
fn line(ui: &mut Ui, state: &mut PanelState, id: &'static str, name: &str, price: Price) -> bool {
    let open = state.shelf.open == Some(id);
    if ink::priced(ui, name, &cost(price), open).clicked() {
        state.shelf.open = if open { None } else { Some(id) };
    }
    state.shelf.open == Some(id)
}

fn number(ui: &mut Ui, name: &str, x: &mut u8, most: u8) {
    *x = (*x).clamp(1, most.max(1));
    ui.horizontal_wrapped(|ui| {
        ink::soft(ui, name);
        for k in 1..=most {
            ui.selectable_value(x, k, k.to_string());
        }
    });
}

/// One of several, from a list.
pub fn chosen<T: PartialEq + Copy>(ui: &mut Ui, id: &str, name: &str, now: &mut T, all: &[(T, String)]) {
    ui.horizontal(|ui| {
        ink::soft(ui, name);
        let words = all.iter().find(|(v, _)| *v == *now).map_or("", |(_, w)| w.as_str()).to_owned();
        egui::ComboBox::from_id_salt(id).selected_text(words).width(150.0).show_ui(ui, |ui| {
            for (v, w) in all {
                ui.selectable_value(now, *v, w);
            }
        });
    });
    if let (false, Some((first, _))) = (all.iter().any(|(v, _)| *v == *now), all.first()) {
        *now = *first;
    }
}

fn words(name: &str) -> String {
    name.replace('_', " ")
}

// ---------------------------------------------------------------------------------------------------
// Bay tools
// ---------------------------------------------------------------------------------------------------

/// Instruments: name in files, name here, what must hold before.
const TOOLS: [(&str, &str, &str); 14] = [
    ("vacuum_gauge", "Vacuum gauge", ""),
    ("fuel_pressure", "Fuel gauge", "first time: engine stopped"),
    ("smoke_test", "Smoke test", "engine stopped, key off"),
    ("exhaust_smoke", "Exhaust smoke", "engine stopped"),
    ("gas_reading", "Gas tester", "engine turning"),
    ("voltmeter", "Voltmeter", "sensor pins: key on"),
    ("ampere_clamp", "Ampere clamp", ""),
    ("battery_tester", "Battery tester", ""),
    ("hydrometer", "Hydrometer", "flooded cells"),
    ("thermometer", "Thermometer", ""),
    ("scope", "Scope", "sensor pins: key on; two seconds"),
    ("inspect", "Look at…", "throttle: engine stopped, key off; filter: engine stopped"),
    ("back_pressure", "Back pressure", "first time on a bank: engine stopped"),
    (
        "compression",
        "Compression",
        "engine stopped, coils and injectors unplugged; then full pedal and crank",
    ),
];

fn tool_of(name: &str, s: &ShelfState) -> Tool {
    match name {
        "vacuum_gauge" => Tool::VacuumGauge,
        "fuel_pressure" => Tool::FuelPressure,
        "smoke_test" => Tool::SmokeTest,
        "exhaust_smoke" => Tool::ExhaustSmoke,
        "gas_reading" => Tool::GasReading,
        "voltmeter" => Tool::Voltmeter(s.point),
        "ampere_clamp" => s.lead.map_or(Tool::AmpereClamp, Tool::ClampOn),
        "battery_tester" => Tool::BatteryTester,
        "hydrometer" => Tool::Hydrometer,
        "thermometer" => Tool::Thermometer,
        "scope" => Tool::Scope(s.point),
        "inspect" => Tool::Inspect(s.look),
        "back_pressure" => Tool::BackPressure(s.place),
        _ => Tool::Compression(s.place),
    }
}

/// Bay tools.
pub fn tools(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ink::heading(ui, "Bay tools", "bay tools", shown.words, &mut state.near_word);
    for (id, name, needs) in TOOLS {
        let price = shown.prices.of(&Action::Measure(tool_of(id, &state.shelf)));
        if !line(ui, state, id, name, price) {
            continue;
        }
        ui.indent(id, |ui| {
            let every = Tool::all(shown.plate.cylinders.into(), shown.plate.banks.into());
            let s = &mut state.shelf;
            match id {
                "compression" => number(ui, "cylinder", &mut s.place, shown.plate.cylinders),
                "back_pressure" => number(ui, "bank", &mut s.place, shown.plate.banks),
                "voltmeter" | "scope" => {
                    let all: Vec<(Point, String)> = every
                        .iter()
                        .filter_map(|t| match t {
                            Tool::Voltmeter(p) if id == "voltmeter" => Some((*p, words(&p.name()))),
                            Tool::Scope(p) if id == "scope" => Some((*p, words(&p.name()))),
                            _ => None,
                        })
                        .collect();
                    chosen(ui, id, "at", &mut s.point, &all);
                }
                "ampere_clamp" => {
                    let mut all = vec![(None, "battery lead".to_owned())];
                    all.extend(Lead::ALL.iter().map(|(name, lead)| (Some(*lead), words(name))));
                    chosen(ui, id, "round", &mut s.lead, &all);
                }
                "inspect" => {
                    let all: Vec<(Look, String)> = every
                        .iter()
                        .filter_map(|t| match t {
                            Tool::Inspect(l) => Some((*l, words(l.name()))),
                            _ => None,
                        })
                        .collect();
                    chosen(ui, id, "at", &mut s.look, &all);
                }
                _ => {}
            }
            let tool = tool_of(id, s);
            if !needs.is_empty() {
                ink::soft(ui, &format!("needs {needs}"));
            }
            if let Some(id) = tool.caution() {
                caution(ui, &crate::words::name("caution", id));
            }
            if ui.button(ink::bold("Measure")).clicked() {
                out.push(state.act(Action::Measure(tool)));
            }
        });
    }
    readings(ui, shown);
    out
}

/// What can hurt, said where it is done.
pub fn caution(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).size(14.0).color(ink::Ink::of(ui).accent));
}

/// What tools have shown, the latest first.
fn readings(ui: &mut Ui, shown: &Shown<'_>) {
    let mut all: Vec<_> = shown.view.first.seen.readings.iter().collect();
    if all.is_empty() {
        return;
    }
    all.sort_by(|a, b| b.at_s.total_cmp(&a.at_s));
    let t = ink::Ink::of(ui);
    ui.add_space(4.0);
    ink::soft(ui, "They showed");
    for r in all {
        let at = ink::clock(r.at_s - shown.view.hand_over_s);
        ui.label(
            RichText::new(format!("{at}  {}", crate::words::readings::reading(r))).size(15.0).color(t.meas),
        );
    }
}

// ---------------------------------------------------------------------------------------------------
// Shelf
// ---------------------------------------------------------------------------------------------------

/// Parts: name in files and what they are called here.
pub const PARTS: [(&str, &str); 22] = [
    ("throttle_body", "Throttle body"),
    ("air_meter", "Air meter"),
    ("injector", "Injector"),
    ("fuel_pump", "Fuel pump"),
    ("regulator", "Pressure regulator"),
    ("fuel_filter", "Fuel filter"),
    ("air_filter", "Air filter"),
    ("purge_valve", "Purge valve"),
    ("thermostat", "Thermostat"),
    ("exhaust", "Exhaust, catalyst"),
    ("sensor", "Sensor"),
    ("flexplate", "Flexplate"),
    ("crank_sensor", "Crank sensor"),
    ("coil", "Coil"),
    ("plug", "Spark plug"),
    ("valves", "Valves"),
    ("rings", "Piston rings"),
    ("pulley", "Crank pulley"),
    ("cam_drive", "Cam drive"),
    ("battery", "Battery"),
    ("alternator", "Alternator"),
    ("module", "Module, blank"),
];

/// Parts that this car has.
pub fn here(plate: &Plate) -> impl Iterator<Item = (&'static str, &'static str)> {
    let metered = plate.air_meter;
    PARTS.into_iter().filter(move |(name, _)| metered || *name != "air_meter")
}

/// The part of that name, in the place that is chosen.
pub fn kind_of(name: &str, s: &ShelfState) -> PartKind {
    match PartKind::ALL.into_iter().find(|k| k.name() == name) {
        Some(PartKind::Sensor(_)) => PartKind::Sensor(s.sensor),
        Some(kind) => kind.at(s.place),
        None => PartKind::Module,
    }
}

/// Where one of several parts goes.
pub fn place(ui: &mut Ui, name: &str, plate: &Plate, s: &mut ShelfState) {
    match kind_of(name, s).place_key() {
        Some("cylinder") => number(ui, "cylinder", &mut s.place, plate.cylinders),
        Some("bank") => number(ui, "bank", &mut s.place, plate.banks),
        Some(_) => {
            let all: Vec<(Sensor, String)> = sensors(plate);
            chosen(ui, "sensor", "which", &mut s.sensor, &all);
        }
        None => {}
    }
}

/// Kind and capacity of a battery, as they stand on its label.
pub fn battery(ui: &mut Ui, (kind, ah): &mut (BatteryKind, f64)) {
    ui.horizontal_wrapped(|ui| {
        for (name, one) in BatteryKind::ALL {
            ui.selectable_value(kind, *one, *name);
        }
        let (low, high) = (units::RATED_AH.low, units::RATED_AH.high);
        ui.add(egui::DragValue::new(ah).range(low..=high).speed(1.0).max_decimals(0).suffix(" Ah"));
    });
    *ah = ah.round();
}

/// Which sensor, the crank's too: its wire can be ill, though it is a part of its own on the shelf.
pub fn any_sensor(ui: &mut Ui, plate: &Plate, s: &mut ShelfState) -> Sensor {
    let mut all = sensors(plate);
    all.push((Sensor::Crank, "crank".into()));
    chosen(ui, "any sensor", "which", &mut s.sensor, &all);
    s.sensor
}

fn sensors(plate: &Plate) -> Vec<(Sensor, String)> {
    let here = |s: Sensor| match s {
        Sensor::AirMeter => plate.air_meter,
        Sensor::Oxygen2 => plate.banks > 1,
        Sensor::Crank => false,
        _ => true,
    };
    Sensor::ALL.iter().filter(|(s, _)| here(*s)).map(|(s, n)| (*s, words(n))).collect()
}

/// What stands open under a part, with *Fit*.
pub fn fit(ui: &mut Ui, name: &'static str, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    place(ui, name, shown.plate, &mut state.shelf);
    fit_kind(ui, kind_of(name, &state.shelf), shown, state)
}

/// What may be chosen of a part whose place is known, with *Fit*.
pub fn fit_kind(ui: &mut Ui, kind: PartKind, shown: &Shown<'_>, state: &mut PanelState) -> Option<Wish> {
    let s = &mut state.shelf;
    if kind == PartKind::ThrottleBody {
        ui.checkbox(&mut s.other_size, "the maker's other size");
    }
    if kind == PartKind::Battery {
        ui.checkbox(&mut s.other_battery, "another kind or size than the one in the car");
        if s.other_battery {
            battery(ui, &mut s.battery);
        }
    }
    ui.horizontal(|ui| {
        ink::soft(ui, "serial");
        let hint = "any";
        ui.add(egui::TextEdit::singleline(&mut s.serial).hint_text(hint).desired_width(120.0).char_limit(40))
            .on_hover_text("Left empty, a new one is taken from the shelf. The same serial is bought once.");
    });
    let mut choice = PartChoice::new(kind);
    choice.other_variant = kind == PartKind::ThrottleBody && s.other_size;
    if kind == PartKind::Battery && s.other_battery {
        (choice.battery_type, choice.rated_ah) = (Some(s.battery.0), Some(s.battery.1));
    }
    let serial = s.serial.trim();
    choice.serial = (!serial.is_empty()).then(|| serial.to_owned());
    let action = Action::Fit(choice);
    let price = cost(shown.prices.of(&action));
    ink::soft(ui, if kind == PartKind::Module { "needs key off" } else { "needs the engine stopped" });
    if let Some(id) = kind.caution() {
        caution(ui, &crate::words::name("caution", id));
    }
    ui.button(ink::bold(&format!("Fit a new one ({price})"))).clicked().then(|| state.act(action))
}

/// The shelf.
pub fn parts(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ink::heading(ui, "Shelf", "shelf", shown.words, &mut state.near_word);
    for (name, called) in here(shown.plate) {
        let price = shown.prices.part.get(name).copied().unwrap_or_default();
        let open = line(ui, state, name, called, Price { minutes: 0.0, ..price });
        if open {
            ui.indent(name, |ui| out.extend(fit(ui, name, shown, state)));
        }
    }
    out
}

// ---------------------------------------------------------------------------------------------------
// Plugs
// ---------------------------------------------------------------------------------------------------

/// A plug that hangs loose in the future that a hand reaches, as everybody sees who looks there.
pub fn pulled(shown: &Shown<'_>, reach: Reach, c: Connector) -> bool {
    let side = match (&shown.view.second, reach) {
        (Some(second), Reach::Second) => second,
        _ => &shown.view.first,
    };
    side.engine.pulled.contains(&c)
}

/// How many plugs this hand pulled and has not put back, as the logbook tells it: nobody has looked at the others yet.
fn own_pulled(shown: &Shown<'_>) -> usize {
    let last = |c: Connector| {
        shown.rows.log.iter().rev().find_map(|e| match &e.kind {
            Kind::Act { action: Action::Connector(one, is_in), .. } if *one == c => Some(*is_in),
            _ => None,
        })
    };
    Connector::named(shown.plate.cylinders).iter().filter(|(_, c)| last(*c) == Some(false)).count()
}

/// Plugs and hoses.
pub fn plugs(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let price = shown.prices.of(&Action::Connector(Connector::Fan, false));
    let count = own_pulled(shown);
    let name = if count > 0 { format!("Plugs, {count} pulled") } else { "Plugs and hoses…".into() };
    if ink::priced(ui, &name, &format!("{} each", cost(price)), state.shelf.plugs_open).clicked() {
        state.shelf.plugs_open = !state.shelf.plugs_open;
    }
    if !state.shelf.plugs_open {
        return out;
    }
    for (_, c) in Connector::named(shown.plate.cylinders) {
        let here = match c {
            Connector::AirMeter => shown.plate.air_meter,
            Connector::OxygenSensor2 => shown.plate.banks > 1,
            // it has a switch of its own above
            Connector::Battery => false,
            _ => true,
        };
        let is_in = !pulled(shown, state.reach, c);
        if here && ink::switch(ui, is_in, &report::connector_words(c), "") {
            out.push(state.act(Action::Connector(c, !is_in)));
        }
    }
    out
}

// ---------------------------------------------------------------------------------------------------
// Other work
// ---------------------------------------------------------------------------------------------------

fn drag(ui: &mut Ui, name: &str, x: &mut f64, range: std::ops::RangeInclusive<f64>, unit: &str) {
    ui.horizontal(|ui| {
        ink::soft(ui, name);
        ui.add(egui::DragValue::new(x).range(range).speed(1.0).suffix(format!(" {unit}")));
    });
}

/// Other work.
pub fn work(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ink::heading(ui, "Other work", "", &[], &mut state.near_word);
    let cylinders = shown.plate.cylinders;
    let plain: [(&'static str, &str, Action, &str, &str); 3] = [
        (
            "clean",
            "Clean the throttle body",
            Action::CleanThrottle,
            "engine stopped, key off",
            "A powered throttle plate can close on a finger.",
        ),
        ("tight", "Tighten the inlet", Action::Leak(0.0), "", "hoses and gaskets behind the air meter"),
        (
            "exhaust tight",
            "Tighten the exhaust",
            Action::ExhaustLeak(0.0),
            "",
            "Exhaust and catalyst stay hot after the engine has stopped.",
        ),
    ];
    for (id, name, action, needs, note) in plain {
        if line(ui, state, id, name, shown.prices.of(&action)) {
            ui.indent(id, |ui| {
                ink::soft(ui, note);
                if !needs.is_empty() {
                    ink::soft(ui, &format!("needs {needs}"));
                }
                if ui.button(ink::bold("Do it")).clicked() {
                    out.push(state.act(action));
                }
            });
        }
    }
    let sound = Action::Sensor(state.shelf.sensor, Ill::default());
    if line(ui, state, "wiring", "Put a sensor right", shown.prices.of(&sound)) {
        ui.indent("wiring", |ui| {
            let sensor = any_sensor(ui, shown.plate, &mut state.shelf);
            ink::soft(ui, "the sensor and its wire");
            if ui.button(ink::bold("Do it")).clicked() {
                out.push(state.act(Action::Sensor(sensor, Ill::default())));
            }
        });
    }
    let (a, b) = (state.shelf.place, state.shelf.other);
    if line(ui, state, "swap", "Swap two injectors", shown.prices.of(&Action::SwapInjectors(a, b))) {
        ui.indent("swap", |ui| {
            number(ui, "cylinder", &mut state.shelf.place, cylinders);
            number(ui, "with", &mut state.shelf.other, cylinders);
            ink::soft(ui, "needs the engine stopped");
            let (a, b) = (state.shelf.place, state.shelf.other);
            if ui.add_enabled(a != b, egui::Button::new(ink::bold("Swap"))).clicked() {
                out.push(state.act(Action::SwapInjectors(a, b)));
            }
        });
    }
    let litre = Action::Refuel(state.shelf.litres);
    if line(ui, state, "refuel", "Fill in fuel", shown.prices.of(&litre)) {
        ui.indent("refuel", |ui| {
            drag(ui, "so much", &mut state.shelf.litres, 1.0..=120.0, "L");
            if ui.button(ink::bold("Fill in")).clicked() {
                out.push(state.act(Action::Refuel(state.shelf.litres)));
            }
        });
    }
    let wired = Action::Accessory { amps: 0.5, past_sensor: false };
    if line(ui, state, "accessory", "Wire an accessory", shown.prices.of(&wired)) {
        ui.indent("accessory", |ui| {
            drag(ui, "draws", &mut state.shelf.accessory.0, 0.0..=30.0, "A, always");
            ui.checkbox(&mut state.shelf.accessory.1, "straight to the battery's posts");
            let (amps, past_sensor) = state.shelf.accessory;
            ui.horizontal(|ui| {
                if ui.button(ink::bold("Wire it")).clicked() {
                    out.push(state.act(Action::Accessory { amps, past_sensor }));
                }
                if ui.button("Take it off").clicked() {
                    out.push(state.act(Action::Accessory { amps: 0.0, past_sensor: false }));
                }
            });
        });
    }
    let boxed = Action::Interrupt(state.shelf.place, state.shelf.swallow);
    if line(ui, state, "spark", "Box in a coil's wire", shown.prices.of(&boxed)) {
        ui.indent("spark", |ui| {
            number(ui, "cylinder", &mut state.shelf.place, cylinders);
            drag(ui, "swallows", &mut state.shelf.swallow, 0.0..=100.0, "% of its sparks");
            ui.horizontal(|ui| {
                let k = state.shelf.place;
                if ui.button(ink::bold("Put it in")).clicked() {
                    out.push(state.act(Action::Interrupt(k, state.shelf.swallow)));
                }
                if ui.button("Take it out").clicked() {
                    out.push(state.act(Action::Interrupt(k, 0.0)));
                }
            });
        });
    }
    let hold = Action::Hold { rpm: state.shelf.rpm, nm: state.shelf.nm };
    if line(ui, state, "hold", "Hold a speed", shown.prices.of(&hold)) {
        ui.indent("hold", |ui| {
            drag(ui, "at", &mut state.shelf.rpm, 1200.0..=5000.0, "rpm");
            drag(ui, "rollers", &mut state.shelf.nm, 0.0..=300.0, "N m");
            ink::soft(ui, "A driver holds it until a hand touches pedal, brake, gear or key.");
            if ui.button(ink::bold("Hold")).clicked() {
                out.push(state.act(Action::Hold { rpm: state.shelf.rpm, nm: state.shelf.nm }));
            }
        });
    }
    if ink::priced(ui, "Drive on…", "the time it takes", false).clicked() {
        state.front = Front::DriveOn;
    }
    out
}

/// What a request over the link costs.
pub fn link_cost(prices: &Prices, action: &Action) -> String {
    cost(prices.of(action))
}
