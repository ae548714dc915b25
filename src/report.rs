//! Results on paper: the account at the end of a run, the trace as CSV, and
//! the debrief as one HTML file to read and to print.
//!
//! *Inside*: wording, units, layout, pictures. *Outside*: judging (the caller hands in judged [`Line`]s),
//! files and clocks. Same sheet, same bytes.
//!
//! The lid: nothing here shows truth unless the sheet says that the lid is open, whatever the trace holds.
//! Of an expectation about truth a closed lid leaves only whether it was met.

mod cells;
mod charts;
mod curves;
mod grade;
mod handed_in;
mod html;
mod job;
mod svg;
mod text;
mod timeline;
mod twin;

use self::cells::fixed;
pub use self::cells::{csv_text, rows_csv, trace_csv};
pub use self::curves::{Curves, Detection, curves_svg};
pub use self::grade::{Attempt, Beside, GRADEBOOK, gradebook_cells, gradebook_csv, sum_words as grade_words};
pub use self::handed_in::{HandedIn, handed_in_csv, handed_in_table};
pub use self::html::debrief_html;
pub use self::text::table;
pub use self::twin::{Difference, Pair, twin_html, twin_svg, twin_table};

use crate::bench::action::{Action, Connector, Gear, Ill, Key, Load, Note, PartChoice, PartKind, Said, Wire};
use crate::bench::record::{Entry, Kind};
use crate::bench::tools::Tool;
use crate::bench::trace::Trace;
use crate::bench::view::{Lamp, LearnedView, Observation, Truth};
use crate::lesson::Grade;
use crate::link::{CodeStatus, DiagRequest, DiagResponse, Routine, Writer};
use crate::session::Job;
use crate::words::facts;

/// Cautions that stand on every printout, whatever the scenario adds.
pub const STANDING_CAUTIONS: &[&str] = &[
    "A running engine fills a closed room with carbon monoxide, which kills unnoticed: extraction on before \
     it starts.",
    "Hands, hair, cloth and tools stay clear of belts and fans; a fan can start by itself.",
    "Exhaust and catalyst burn skin and start fires, also after the engine has stopped.",
    "A powered throttle plate moves without warning: keep fingers out while it has power.",
    "This is a simplified model of made-up cars. The vehicle maker's current procedure, workplace rules and \
     the instructor always win. A screen shows reasoning, not hands: competence on a car must be shown on a \
     car.",
];

/// One judged expectation.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Path of what was looked at.
    pub what: String,
    /// Why, in the author's words.
    pub why: String,
    /// The rule, in words.
    pub rule: String,
    /// It was met.
    pub met: bool,
    /// What was found; "hidden" where the lid hides it.
    pub measured: String,
    /// When it was judged \[s\].
    pub at_s: f64,
}

/// Everything that a run has to say on paper.
#[derive(Debug, Clone)]
pub struct Sheet<'a> {
    /// Version of the program.
    pub version: &'a str,
    /// The scenario's id.
    pub id: &'a str,
    /// The scenario's title.
    pub title: &'a str,
    /// Whose variant it was, and whether that is sealed.
    pub trainee: Option<&'a str>,
    /// Id and title of the trainee's file, if there was one.
    pub actions: Option<(&'a str, &'a str)>,
    /// What the customer says.
    pub complaint: &'a str,
    /// What the scenario teaches.
    pub teaches: &'a str,
    /// The scenario's own cautions.
    pub cautions: &'a [String],
    /// The car.
    pub car_title: &'a str,
    /// Its odometer \[km\].
    pub odometer_km: f64,
    /// Seed.
    pub seed: u64,
    /// Crank step \[deg\].
    pub step_deg: f64,
    /// The lid was open.
    pub lid_open: bool,
    /// When the car was handed over \[s\].
    pub hand_over_s: f64,
    /// When the run ended \[s\].
    pub end_s: f64,
    /// Stopped before its end.
    pub stopped: bool,
    /// Hash of the bench's state at the end.
    pub state_hash: &'a str,
    /// The recorded signals.
    pub trace: &'a Trace,
    /// The logbook, as the lid allows it.
    pub log: &'a [Entry],
    /// What was seen at hand-over.
    pub before: &'a Observation,
    /// What was seen at the end.
    pub after: &'a Observation,
    /// What was true at hand-over and at the end; under an open lid only.
    pub truth: Option<(&'a Truth, &'a Truth)>,
    /// The judged expectations.
    pub lines: &'a [Line],
    /// The job card.
    pub job: &'a Job,
    /// What the attempt is worth, where the scenario is a lesson.
    pub grade: Option<&'a Grade>,
    /// Moments just before each repair and learn; under an open lid only.
    pub moments: &'a [Beside<'a>],
    /// What the model solution's work comes to, where there is one.
    pub path: Option<&'a Job>,
    /// The scenario keeps the learning gates to itself, and the lid is closed.
    pub gates_hidden: bool,
    /// Where the model reached its limits.
    pub model_notes: &'a [String],
    /// What a trouble code says.
    pub code_words: fn(&str) -> &'static str,
}

impl Sheet<'_> {
    /// Truth before and after, if the lid lets it through.
    fn shown_truth(&self) -> Option<(&Truth, &Truth)> {
        if self.lid_open { self.truth } else { None }
    }
    fn met(&self) -> usize {
        self.lines.iter().filter(|l| l.met).count()
    }
    /// Measured, rule and why of a line, as the lid allows them.
    fn told<'l>(&self, line: &'l Line) -> (String, &'l str, &'l str) {
        if line.what.starts_with("truth.") && !self.lid_open {
            return ("hidden".into(), "hidden", "told when the lid is open");
        }
        let rule = line.rule.strip_prefix("is ").unwrap_or(&line.rule).trim_matches('"');
        (said(&measured_words(&line.what, &line.measured)).into(), said(rule), &line.why)
    }
    fn verdict(&self) -> String {
        let (met, all) = (self.met(), self.lines.len());
        let stopped = if self.stopped { "; stopped before its end" } else { "" };
        match all {
            0 => format!("nothing was expected{stopped}"),
            _ if met == all => format!("all {all} met{stopped}"),
            _ => format!("{met} of {all} met{stopped}"),
        }
    }
}

// ---------------------------------------------------------------------------------------------------
// Numbers and times
// ---------------------------------------------------------------------------------------------------

/// The same with its sign, unless it is zero.
fn signed(x: f64, decimals: usize) -> String {
    let text = fixed(x, decimals);
    let zero = !text.bytes().any(|b| (b'1'..=b'9').contains(&b));
    if zero || text.starts_with('-') { text } else { format!("+{text}") }
}

/// Decimals that a unit deserves.
fn decimals(unit: &str) -> usize {
    match unit {
        "rpm" | "°C" | "km/h" => 0,
        "%" | "kPa" | "V" | "µm" | "mm²" => 1,
        "" => 3,
        _ => 2,
    }
}

/// A number too long to read, shortened; anything else as it is.
fn tidy(text: &str) -> String {
    match text.parse::<f64>() {
        Ok(x) if x.is_finite() && text.len() > 7 => fixed(x, if x.abs() >= 100.0 { 1 } else { 3 }),
        _ => text.into(),
    }
}

/// A measured number with one digit more than its unit is shown with, so that a rule at its edge can be read.
fn measured_words(path: &str, measured: &str) -> String {
    let unit = UNITS.iter().find(|(tail, _)| path.ends_with(tail)).map(|u| u.1);
    match (measured.parse::<f64>(), unit) {
        (Ok(x), Some(unit)) if x.is_finite() => fixed(x, decimals(unit) + 1),
        _ => tidy(measured),
    }
}

/// What a program calls true, false and null, as a person says it.
fn said(text: &str) -> &str {
    match text {
        "true" => "yes",
        "false" => "no",
        "null" => "no value",
        other => other,
    }
}

/// Minutes and seconds, with tenths of a second if asked for.
pub fn clock(s: f64, tenths: bool) -> String {
    let t = (s.abs() * 10.0).round() as u64;
    let t = if tenths { t } else { (s.abs().round() as u64) * 10 };
    let sign = if s < 0.0 && t > 0 { "-" } else { "" };
    let tail = if tenths { format!(".{}", t % 10) } else { String::new() };
    format!("{sign}{}:{:02}{tail}", t / 600, t / 10 % 60)
}

/// Thousands apart.
fn grouped(x: f64) -> String {
    let digits = fixed(x.max(0.0), 0);
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(c);
    }
    out
}

/// A learned value's number: with a sign where its default is zero.
fn learned_number(v: &LearnedView, x: f64) -> String {
    if v.default == 0.0 { signed(x, decimals(&v.unit)) } else { fixed(x, decimals(&v.unit)) }
}

// ---------------------------------------------------------------------------------------------------
// Words
// ---------------------------------------------------------------------------------------------------

/// A learned value's name in words.
pub fn learned_words(name: &str) -> String {
    let (base, bank) = match name.split_once("_bank") {
        Some((base, bank)) => (base, format!(", bank {bank}")),
        None => (name, String::new()),
    };
    let words = match base {
        "idle_air_light" => "idle air, light",
        "idle_air_loaded" => "idle air, loaded difference",
        "closed_stop" => "closed throttle stop",
        "battery_age" => "battery's age by its record",
        "battery_charge" => "battery's charge by count",
        "long_idle" => "long-term trim, idle",
        "long_part" => "long-term trim, part load",
        "long_high" => "long-term trim, high flow",
        other => return other.replace('_', " ") + &bank,
    };
    format!("{words}{bank}")
}

/// Who wrote a learned value last, and when.
pub fn written(v: &LearnedView) -> String {
    match v.written_by {
        Writer::Delivered => facts::writer(Writer::Delivered),
        Writer::Factory => "when the car was built".into(),
        by if v.written_s < 0.0 => format!("{}, before it came in", facts::writer(by)),
        by => format!("{}, at {}", facts::writer(by), clock(v.written_s, false)),
    }
}

/// A code's states in words.
pub fn code_states(c: &CodeStatus) -> String {
    let all = [("pending", c.pending), ("confirmed", c.confirmed), ("permanent", c.permanent)];
    let on: Vec<&str> = all.iter().filter(|s| s.1).map(|s| s.0).collect();
    if on.is_empty() { "stored, healed".into() } else { on.join(", ") }
}

fn lamp_words(lamp: Lamp) -> &'static str {
    match lamp {
        Lamp::Off => "off",
        Lamp::On => "on",
        Lamp::Blink => "flashing: ease off",
    }
}

/// How far idle speed is from its target.
fn against(mean_rpm: f64, target_rpm: f64) -> String {
    let off = (mean_rpm - target_rpm).round();
    match off {
        o if o >= 5.0 => format!("{} over target {}", fixed(o, 0), fixed(target_rpm, 0)),
        o if o <= -5.0 => format!("{} under target {}", fixed(-o, 0), fixed(target_rpm, 0)),
        _ => format!("on target {}", fixed(target_rpm, 0)),
    }
}

/// The path of an expectation, in words.
fn path_words(path: &str) -> String {
    let seg: Vec<&str> = path.split('.').collect();
    match seg.as_slice() {
        ["learned", name, "value"] => learned_words(name),
        ["learned", name, "gates", gate, "open"] => {
            format!("{}: gate \"{}\" open", learned_words(name), gate.replace('_', " "))
        }
        ["learned", name, rest @ ..] => {
            format!("{}: {}", learned_words(name), rest.join(" ").replace('_', " "))
        }
        ["codes", code, rest @ ..] => format!("code {code} {}", rest.join(" ")),
        ["live" | "job", rest @ ..] => keys_words(rest),
        [first, rest @ ..] if !rest.is_empty() => {
            format!("{}: {}", first.replace('_', " "), keys_words(rest))
        }
        _ => keys_words(&seg),
    }
}

/// Tails of keys, and their units.
const UNITS: &[(&str, &str)] = &[
    ("_rpm", "rpm"),
    ("_g_s", "g/s"),
    ("_kpa", "kPa"),
    ("_deg", "°"),
    ("_pct", "%"),
    ("_um", "µm"),
    ("_mm2", "mm²"),
    ("_km_h", "km/h"),
    ("_c", "°C"),
    ("_v", "V"),
    ("_s", "s"),
];

fn keys_words(keys: &[&str]) -> String {
    let words = |key: &&str| {
        for (tail, unit) in UNITS {
            if let Some(base) = key.strip_suffix(tail) {
                let base = match base {
                    "mean" => "mean speed",
                    "sd" => "spread of speed",
                    "map" => "manifold pressure",
                    other => other,
                };
                return format!("{} ({unit})", base.replace('_', " "));
            }
        }
        key.replace('_', " ")
    };
    keys.iter().map(words).collect::<Vec<_>>().join(", ")
}

/// Who, and what in words, for one line of the logbook.
pub fn entry_words(e: &Entry, lid_open: bool) -> (&'static str, String) {
    match &e.kind {
        Kind::Act { action: Action::Note(note), .. } => ("says", note_words(note)),
        Kind::Act { action, .. } => ("hand", action_words(action, lid_open)),
        Kind::Hindered { why, .. } => ("bench", format!("would not do it: {why}")),
        Kind::Answer { answer, .. } => ("module", answer_words(answer)),
        Kind::Reading { reading, .. } => ("tool", crate::words::readings::reading(reading)),
        Kind::Module { what } => ("module", facts::notice(what)),
        Kind::Drive { what } => ("driver", what.clone()),
        Kind::Model { what } => ("bench", format!("model at its limits: {what}")),
        Kind::TimedOut { condition, .. } => ("bench", format!("waited in vain for {condition}")),
    }
}

/// The id of the act that a line of the logbook belongs to.
fn entry_id(e: &Entry) -> &str {
    match &e.kind {
        Kind::Act { id, .. }
        | Kind::Hindered { id, .. }
        | Kind::Answer { id, .. }
        | Kind::Reading { id, .. }
        | Kind::TimedOut { id, .. } => id,
        Kind::Module { .. } | Kind::Model { .. } | Kind::Drive { .. } => "",
    }
}

/// An act in words; what only an open lid shows is left out under a closed one.
pub fn action_words(action: &Action, lid_open: bool) -> String {
    let on = |on: bool| if on { "on" } else { "off" };
    match action {
        Action::Key(Key::Off) => "key off".into(),
        Action::Key(Key::On) => "key on".into(),
        Action::Key(Key::Crank) => "cranked".into(),
        Action::Pedal(pct) => format!("pedal to {} %", fixed(*pct, 0)),
        Action::Brake(true) => "brake pressed".into(),
        Action::Brake(false) => "brake released".into(),
        Action::Gear(Gear::Park) => "gear to park".into(),
        Action::Gear(Gear::Neutral) => "gear to neutral".into(),
        Action::Gear(Gear::Drive) => "gear to drive".into(),
        Action::Load(Load::Compressor, b) => format!("compressor {}", on(*b)),
        Action::Load(Load::HeatedGlass, b) => format!("heated glass {}", on(*b)),
        Action::Load(Load::Lamps, b) => format!("lamps {}", on(*b)),
        Action::Load(Load::Blower, b) => format!("cabin blower {}", on(*b)),
        Action::Load(Load::Steering, true) => "steering turned at standstill".into(),
        Action::Load(Load::Steering, false) => "steering let go".into(),
        Action::Connector(Connector::Battery, b) => format!("battery clamp {}", on(*b)),
        Action::Connector(c, true) => format!("{} plugged in", connector_words(*c)),
        Action::Connector(c, false) => format!("{} unplugged", connector_words(*c)),
        Action::Fit(choice) => fit_words(choice, lid_open),
        Action::CleanThrottle => "throttle body cleaned in place".into(),
        Action::Leak(mm2) if *mm2 <= 0.0 => "hoses and gaskets made tight".into(),
        Action::Leak(mm2) if lid_open => format!("leak of {} mm² opened", fixed(*mm2, 1)),
        Action::Leak(_) => "something done to hoses and gaskets".into(),
        Action::ExhaustLeak(mm2) if *mm2 <= 0.0 => "exhaust made tight".into(),
        Action::ExhaustLeak(mm2) if lid_open => format!("exhaust leak of {} mm² opened", fixed(*mm2, 1)),
        Action::ExhaustLeak(_) => "something done to the exhaust".into(),
        Action::Sensor(sensor, ill) if ill.sound() => {
            format!("{} and its wire put right", sensor.name().replace('_', " "))
        }
        Action::Sensor(sensor, ill) if lid_open => {
            format!("{} made ill: {}", sensor.name().replace('_', " "), ill_words(ill))
        }
        Action::Sensor(..) => "something done to a sensor or its wire".into(),
        Action::SwapInjectors(a, b) => format!("injectors of cylinders {a} and {b} swapped"),
        Action::CopyInjectorCode { cylinder, body } if cylinder == body => {
            format!("code on the injector of cylinder {body} entered for it")
        }
        Action::CopyInjectorCode { cylinder, body } => {
            format!("code on the injector of cylinder {body} entered for cylinder {cylinder}")
        }
        Action::Interrupt(k, pct) if *pct > 0.0 => {
            format!("box in coil {k}'s wire, swallowing {} % of its sparks", fixed(*pct, 1))
        }
        Action::Interrupt(k, _) => format!("box out of coil {k}'s wire"),
        Action::Refuel(l) => format!("{} L filled in", fixed(*l, 0)),
        Action::Accessory { amps, .. } if *amps <= 0.0 => "accessory taken out".into(),
        Action::Accessory { amps, past_sensor } => {
            let how =
                if *past_sensor { "straight to the battery's posts" } else { "behind the current sensor" };
            format!("accessory of {} A wired {how}", fixed(*amps, 2))
        }
        Action::Rest(hours) => format!("locked and left for {} h", fixed(*hours, 1)),
        Action::DriveOn(life) => format!(
            "driven on for {} days: {} trips a day of {} min, {}, {} days a week",
            life.days,
            life.trips,
            fixed(life.minutes, 0),
            life.pattern.word(),
            life.days_a_week
        ),
        Action::Ask(request) => ask_words(request),
        Action::Hold { rpm, nm } => {
            format!("held at {} rpm against {} N·m on rollers", fixed(*rpm, 0), fixed(*nm, 0))
        }
        Action::Drive { pattern, minutes } => {
            format!("driven by the pattern {} for {} min", pattern.word(), fixed(*minutes, 1))
        }
        Action::Measure(tool) => measure_words(*tool),
        Action::Watch(names) if names.is_empty() => "service tester watches nothing".into(),
        Action::Watch(names) => format!("service tester watches {}", names.join(", ").replace('_', " ")),
        Action::Note(note) => note_words(note),
        Action::Wait => "waited".into(),
    }
}

fn note_words(note: &Note) -> String {
    match note {
        Note::Cautions => "the cautions were read".into(),
        Note::Cause(id) => format!("holds to be wrong: {}", id.replace(['-', '_'], " ")),
        Note::Answer { ask, says } => {
            format!("predicts, to \"{}\": {}", ask.replace(['-', '_'], " "), said_words(says))
        }
        Note::Words(words) => format!("notes: {words}"),
        Note::Lid(true) => "the lid was opened".into(),
        Note::Lid(false) => "the lid was closed".into(),
        Note::Forked => "forked: from here on a second future could be tried".into(),
        Note::Rewound(by_s) => format!("went back to a mark: {} s of work undone", fixed(*by_s, 1)),
    }
}

/// An answer in words.
fn said_words(says: &Said) -> String {
    match says {
        Said::Number(x) => tidy(&x.to_string()),
        Said::Word(w) => w.replace(['-', '_'], " "),
    }
}

fn measure_words(tool: Tool) -> String {
    let name = tool.instrument().replace('_', " ");
    let with = match tool {
        Tool::Voltmeter(p) | Tool::Scope(p) => format!("{name} at {}", p.name().replace('_', " ")),
        Tool::Inspect(l) => format!("looked at {}", l.name().replace('_', " ")),
        Tool::ClampOn(lead) => format!("{name} round the {}", lead.name().replace('_', " ")),
        Tool::Compression(k) => format!("{name} gauge in cylinder {k}"),
        _ => name,
    };
    match tool.caution() {
        Some(id) => format!("{with}. {}", crate::words::name("caution", id)),
        None => with,
    }
}

fn ill_words(ill: &Ill) -> String {
    let mut out = Vec::new();
    let sound = Ill::default();
    if ill.offset_v != sound.offset_v {
        out.push(format!("offset {} V", signed(ill.offset_v, 2)));
    }
    if ill.gain != sound.gain {
        out.push(format!("gain {}", fixed(ill.gain, 2)));
    }
    if ill.lag_s != sound.lag_s {
        out.push(format!("lag {} s", fixed(ill.lag_s, 1)));
    }
    if ill.noise_v != sound.noise_v {
        out.push(format!("noise {} V", fixed(ill.noise_v, 3)));
    }
    if ill.stuck {
        out.push("stuck".into());
    }
    match ill.wire {
        Wire::Sound => {}
        Wire::Open => out.push("wire open".into()),
        Wire::ToEarth => out.push("wire shorted to earth".into()),
        Wire::ToSupply => out.push("wire shorted to supply".into()),
        Wire::Loose => out.push("loose contact".into()),
    }
    out.join(", ")
}

/// A connector in words.
pub fn connector_words(c: Connector) -> String {
    match c {
        Connector::AirMeter => "air meter".into(),
        Connector::ManifoldPressure => "manifold pressure sensor".into(),
        Connector::ThrottleBody => "throttle body".into(),
        Connector::CoolantSensor => "coolant sensor".into(),
        Connector::OxygenSensor1 => "oxygen sensor of bank 1".into(),
        Connector::OxygenSensor2 => "oxygen sensor of bank 2".into(),
        Connector::RearOxygenSensor1 => "rear oxygen sensor of bank 1".into(),
        Connector::RearOxygenSensor2 => "rear oxygen sensor of bank 2".into(),
        Connector::CrankSensor => "crank sensor".into(),
        Connector::Injector(k) => format!("injector {k}"),
        Connector::Coil(k) => format!("coil {k}"),
        Connector::Battery => "battery".into(),
        Connector::PurgeValve => "purge valve".into(),
        Connector::PurgeHose => "purge hose".into(),
        Connector::Fan => "radiator fan".into(),
        Connector::Pedal => "pedal".into(),
        Connector::Belt => "belt".into(),
    }
}

fn fit_words(choice: &PartChoice, lid_open: bool) -> String {
    let mut out = match choice.kind {
        PartKind::ThrottleBody => "throttle body fitted".to_string(),
        PartKind::AirMeter => "air meter fitted".into(),
        PartKind::Injector(k) => format!("injector {k} fitted"),
        PartKind::FuelPump => "fuel pump fitted".into(),
        PartKind::Regulator => "fuel pressure regulator fitted".into(),
        PartKind::FuelFilter => "fuel filter fitted".into(),
        PartKind::AirFilter => "air filter fitted".into(),
        PartKind::PurgeValve => "purge valve fitted".into(),
        PartKind::Thermostat => "thermostat fitted".into(),
        PartKind::Battery => "battery fitted".into(),
        PartKind::Alternator => "alternator fitted".into(),
        PartKind::Exhaust(b) => format!("exhaust of bank {b} fitted"),
        PartKind::Sensor(sensor) => format!("{} sensor fitted", sensor.name().replace('_', " ")),
        PartKind::Module => "module replaced by a blank one".into(),
        PartKind::Wheel => "flexplate fitted".into(),
        PartKind::CrankSensor => "crank sensor fitted".into(),
        PartKind::Coil(k) => format!("coil {k} fitted"),
        PartKind::Plug(k) => format!("plug {k} fitted"),
        PartKind::Valves(k) => format!("valves of cylinder {k} done"),
        PartKind::Rings(k) => format!("rings of cylinder {k} done"),
        PartKind::Pulley => "crank pulley fitted".into(),
        PartKind::CamDrive => "cam drive put on".into(),
    };
    // what is printed on a battery anybody can read
    let printed = [
        choice.battery_type.map(|k| k.name().to_string()),
        choice.rated_ah.map(|x| format!("{} Ah", fixed(x, 0))),
        choice.cold_a.map(|x| format!("{} A", fixed(x, 0))),
    ];
    for words in printed.into_iter().flatten() {
        out += &format!(", {words}");
    }
    if let Some(serial) = &choice.serial {
        out += &format!(", serial {serial}");
    }
    if lid_open {
        let own = [
            ("deposit", choice.deposit_um, "µm"),
            ("stop off by", choice.stop_offset_deg, "°"),
            ("error", choice.error_pct, "%"),
            ("error at 60 g/s", choice.error_high_pct, "%"),
            ("wear", choice.wear_pct, "%"),
            ("track wear", choice.track_wear_pct, "%"),
            ("leaks", choice.leak_mm2, "mm²"),
            ("drips", choice.drip_mg_s, "mg/s"),
            ("runout", choice.runout_mm, "mm"),
            ("furthest out at", choice.high_deg, "°"),
            ("tooth", choice.hit_tooth.map(f64::from), ""),
            ("off by", choice.hit_deg, "°"),
            ("gap", choice.gap_mm, "mm"),
            ("ripple", choice.ripple_nm, "N·m"),
            ("teeth late:", choice.teeth_late, ""),
            ("charged", choice.charge_pct, "%"),
        ];
        if choice.bent {
            out += ", bracket bent";
        }
        if choice.other_variant {
            out += ", the other variant";
        }
        for (words, x, unit) in own {
            if let Some(x) = x {
                out += &format!(", {words} {} {unit}", fixed(x, decimals(unit)));
            }
        }
    }
    out
}

/// A request to the module in words.
pub fn ask_words(request: &DiagRequest) -> String {
    match request {
        DiagRequest::ReadCodes => "asked for codes".into(),
        DiagRequest::ClearCodes => "asked to clear codes".into(),
        DiagRequest::ReadFreezeFrame(code) => format!("asked for the freeze frame of {code}"),
        DiagRequest::ReadLearned => "asked for learned values".into(),
        DiagRequest::ReadLive => "asked for live values".into(),
        DiagRequest::ReadValue(name) => format!("asked for {}", name.replace('_', " ")),
        DiagRequest::ReadReadiness => "asked for readiness".into(),
        DiagRequest::WriteInjectorCode { cylinder, code } => {
            format!("entered injector code {code} for cylinder {cylinder}")
        }
        DiagRequest::ReadInjectorCode(k) => format!("asked for the injector code of cylinder {k}"),
        DiagRequest::EnterBatteryRecord { kind, rated_ah } => {
            format!("entered a battery: {}, {} Ah", kind.name(), fixed(*rated_ah, 0))
        }
        DiagRequest::ReadBatteryRecord => "asked for the battery record".into(),
        DiagRequest::Start(Routine::CommandIdle(0)) => "asked for the module's own idle speed".into(),
        DiagRequest::Start(Routine::CommandIdle(rpm)) => format!("asked for an idle of {rpm} rpm"),
        DiagRequest::Start(r) => format!("asked to start: {}", r.name().replace('_', " ")),
        DiagRequest::Progress => "asked how the routine stands".into(),
        DiagRequest::Stop => "asked to stop the routine".into(),
    }
}

fn answer_words(answer: &DiagResponse) -> String {
    match answer {
        DiagResponse::Ok => "accepted".into(),
        DiagResponse::Refused(r) => format!("refused: {}", facts::refused(r)),
        DiagResponse::Silent => "no answer: asleep or without power".into(),
        DiagResponse::Codes(codes) if codes.is_empty() => "no code stored".into(),
        DiagResponse::Codes(codes) => {
            "codes: ".to_string()
                + &codes
                    .iter()
                    .map(|c| format!("{} {}", c.code, code_states(c)))
                    .collect::<Vec<_>>()
                    .join("; ")
        }
        DiagResponse::FreezeFrame(None) => "no freeze frame stored for it".into(),
        DiagResponse::FreezeFrame(Some(f)) => format!(
            "freeze frame: {} rpm, coolant {} °C, manifold {} kPa, air {} g/s, trims {} and {} %",
            fixed(f.engine_speed_rpm, 0),
            fixed(f.coolant_c, 0),
            fixed(f.map_kpa, 1),
            fixed(f.air_g_s, 2),
            signed(f.short_pct, 1),
            signed(f.long_pct, 1)
        ),
        DiagResponse::Learned(all) => {
            let one = |s: &crate::link::LearnedStatus| {
                let v = LearnedView::from_status(s.clone(), 0.0);
                format!("{} {} {}", learned_words(&v.name), learned_number(&v, v.value), v.unit)
            };
            "learned values: ".to_string() + &all.iter().map(one).collect::<Vec<_>>().join("; ")
        }
        DiagResponse::Live(l) => format!(
            "live: {} rpm (target {}), manifold {} kPa, air {} g/s, coolant {} °C, supply {} V",
            fixed(l.engine_speed_rpm, 0),
            fixed(l.target_rpm, 0),
            fixed(l.map_kpa, 1),
            fixed(l.air_g_s, 2),
            fixed(l.coolant_c, 0),
            fixed(l.supply_v, 1)
        ),
        DiagResponse::InjectorCode(None) => "no injector code stored".into(),
        DiagResponse::InjectorCode(Some(code)) => format!("injector code {code}"),
        DiagResponse::BatteryRecord(r) => format!(
            "battery record: {} {} Ah, {} of {} Ah counted through it",
            r.kind.name(),
            fixed(r.rated_ah, 0),
            fixed(r.passed_ah, 0),
            fixed(r.worn_out_ah, 0)
        ),
        DiagResponse::Value(x) => format!("value {}", fixed(*x, 3)),
        DiagResponse::Readiness(all) => {
            let open: Vec<String> =
                all.iter().filter(|m| !m.complete).map(|m| m.name.replace('_', " ")).collect();
            if open.is_empty() {
                "readiness: every monitor complete".into()
            } else {
                format!("readiness: not complete: {}", open.join(", "))
            }
        }
        DiagResponse::Routine(state) => facts::routine_state(state),
    }
}

#[cfg(test)]
mod tests;
