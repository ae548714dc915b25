//! What a trainee at a seat can select: hands, workshop tools, shelf, plugs, other work, requests to the module, roads;
//! each with its name, its price and the act that is sent back. It also decides which acts a seat may send at all.
//!
//! *Inside*: the list for a car, and the check of the act that is sent back. *Outside*: how it is shown (the page),
//! whether it can be done on the car in its present state (bench).

use crate::bench::action::{
    Action, Connector, Gear, Ill, Key, Life, Load, Note, PartChoice, PartKind, Sensor,
};
use crate::bench::car::Car;
use crate::bench::pattern;
use crate::bench::tools::{INSTRUMENTS, Lead, Look, MOST_WATCHED, Point, Tool};
use crate::catalogue::cautions::Caution;
use crate::catalogue::parts::Place;
use crate::label::BatteryKind;
use crate::link::{DiagRequest, LiveValues, Routine};
use crate::report::{caution_words, cost_words};
use crate::session::{Prices, replay};
use crate::units::{self, Range};
use crate::words::{Words, facts, message_of, name, say, upper_first};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Maximum length of a text typed into an act: a serial number, a code.
const LONGEST: usize = 40;
/// Maximum length of free text.
const MOST_WORDS: usize = 400;

/// What can be selected at a car.
#[derive(Debug)]
pub struct Offers<'a> {
    car: &'a Car,
    prices: &'a Prices,
    /// Names of the learned values that its module holds.
    learned: &'a [String],
}

/// A choice: the value that is inserted, and its label.
type Choice = (Value, String);

fn act(action: &Action) -> Value {
    json!(action)
}

fn of(key: &str, called: String, all: Vec<Choice>) -> Value {
    json!({ "key": key, "name": called, "of": all })
}

fn number(key: &str, called: String, range: &Range, start: f64) -> Value {
    let (low, high, unit) = (range.low, range.high, range.unit);
    json!({ "key": key, "name": called, "number": { "low": low, "high": high, "start": start, "unit": unit } })
}

/// A message about a declared item; not every item has one.
fn told(kind: &str, id: &str) -> Option<String> {
    let message = message_of(kind, id);
    Words::english().has(&message).then(|| say(&message))
}

impl<'a> Offers<'a> {
    /// The list for a car, with what its module holds.
    pub fn new(car: &'a Car, prices: &'a Prices, learned: &'a [String]) -> Self {
        Self { car, prices, learned }
    }

    /// Minutes and the total price, labour included.
    fn price(&self, action: &Action) -> String {
        cost_words(self.prices, self.prices.of(action))
    }
    fn cylinders(&self) -> Vec<Choice> {
        (1..=self.car.cylinders()).map(|k| (json!(k), k.to_string())).collect()
    }
    fn holds(&self, start: &str) -> bool {
        self.learned.iter().any(|l| l.starts_with(start))
    }

    /// Everything, in groups.
    pub fn groups(&self) -> Value {
        let group =
            |id: &str, called: String, items: Vec<Value>| json!({ "id": id, "name": called, "items": items });
        json!([
            group("tools", say("shelf-tools"), self.tools()),
            group("shelf", say("shelf-title"), self.shelf()),
            group("plugs", say("shelf-plugs"), self.plugs()),
            group("work", say("shelf-work"), self.work()),
            group("read", say("asking-read"), self.reads()),
            group("write", say("asking-write"), self.writes()),
            group("routines", say("asking-start"), self.routines()),
            group("roads", say("shelf-drive-on"), self.roads()),
        ])
    }

    /// The driver's controls, each with what pressing it does.
    pub fn hands(&self) -> Value {
        let one = |id: &str, called: String, all: Vec<(&str, String, Action)>| {
            let all: Vec<Value> = all
                .into_iter()
                .map(|(id, name, a)| json!({ "id": id, "name": name, "act": act(&a) }))
                .collect();
            json!({ "id": id, "name": called, "of": all })
        };
        let switch = |id: &str, called: String, on: Action, off: Action| {
            one(id, called, vec![("off", name("key", "off"), off), ("on", name("key", "on"), on)])
        };
        let keys = [("off", Key::Off), ("on", Key::On), ("crank", Key::Crank)];
        let gears = [("park", Gear::Park), ("neutral", Gear::Neutral), ("drive", Gear::Drive)];
        let mut all = vec![
            one(
                "key",
                say("hands-key-title"),
                keys.map(|(id, k)| (id, name("key", id), Action::Key(k))).into(),
            ),
            one(
                "gear",
                say("hands-gear-title"),
                gears.map(|(id, g)| (id, name("gear", id), Action::Gear(g))).into(),
            ),
            json!({ "id": "pedal", "name": say("hands-pedal-title"), "act": { "pedal": "$pct" },
                "fields": [number("$pct", say("hands-pedal"), &units::PEDAL_PCT, 0.0)] }),
            switch("brake", say("hands-brake"), Action::Brake(true), Action::Brake(false)),
        ];
        for (id, load) in Load::ALL {
            let called = upper_first(&name("load", id));
            all.push(switch(id, called, Action::Load(*load, true), Action::Load(*load, false)));
        }
        let clamp = |on| Action::Connector(Connector::Battery, on);
        all.push(switch("battery", upper_first(&name("hand", "battery_clamp")), clamp(true), clamp(false)));
        json!(all)
    }

    fn item(
        &self,
        (id, called): (&str, String),
        priced: &Action,
        needs: Vec<Option<String>>,
        act: Value,
        fields: Vec<Value>,
    ) -> Value {
        let mind: Vec<String> = needs.into_iter().flatten().collect();
        json!({
            "id": id,
            "name": upper_first(&called),
            "price": self.price(priced),
            "mind": mind,
            "caution": minded(priced.cautions().iter().copied()),
            "act": act,
            "fields": fields,
        })
    }

    fn tools(&self) -> Vec<Value> {
        let every = Tool::all(self.car.cylinders().into(), self.car.banks().into());
        let item = |id: &&str| {
            let own: Vec<Tool> =
                every.iter().copied().filter(|t| t.instrument() == *id && self.here(*t)).collect();
            let first = Action::Measure(*own.first()?);
            let (act_of, fields) = if own.len() == 1 {
                (act(&first), Vec::new())
            } else {
                let all = own.iter().map(|t| (act(&Action::Measure(*t)), set_to(*t))).collect();
                (json!("$act"), vec![of("$act", say("shelf-at"), all)])
            };
            let mut tool =
                self.item((id, name("tool", id)), &first, vec![told("tool-needs", id)], act_of, fields);
            let cautions = own.iter().flat_map(|t| Action::Measure(*t).cautions());
            tool["caution"] = json!(minded(cautions.copied()));
            Some(tool)
        };
        INSTRUMENTS.iter().filter_map(item).collect()
    }

    /// Whether the tool has something to measure on this car.
    fn here(&self, tool: Tool) -> bool {
        match tool {
            Tool::Voltmeter(Point::Pin(s)) | Tool::Scope(Point::Pin(s)) => s == Sensor::Crank || self.has(s),
            _ => true,
        }
    }
    fn has(&self, sensor: Sensor) -> bool {
        sensor != Sensor::Crank && self.car.has().sensor(sensor)
    }

    fn shelf(&self) -> Vec<Value> {
        let has = self.car.has();
        let here = PartKind::ALL.into_iter().filter(|k| has.part(*k).is_ok());
        here.map(|kind| self.part(kind)).collect()
    }

    fn part(&self, kind: PartKind) -> Value {
        let mut fields = Vec::new();
        let kinds: Vec<PartKind> = match kind.declared().place {
            Place::Engine => vec![kind],
            Place::Cylinder => (1..=self.car.cylinders()).map(|k| kind.at(k)).collect(),
            Place::Bank => (1..=self.car.banks()).map(|k| kind.at(k)).collect(),
            Place::Sensor => {
                Sensor::ALL.iter().filter(|s| self.has(s.0)).map(|s| PartKind::Sensor(s.0)).collect()
            }
        };
        let mut choice = act(&Action::Fit(PartChoice::new(kind)));
        if kinds.len() > 1 {
            let called = |k: &PartKind| match k {
                PartKind::Sensor(s) => name("sensor", s.name()),
                k => k.which().unwrap_or_default(),
            };
            let all = kinds.iter().map(|k| (json!(k), called(k))).collect();
            let field = match kind.place_key() {
                Some("cylinder") => "shelf-cylinder",
                Some("bank") => "shelf-bank",
                _ => "shelf-which",
            };
            fields.push(of("$kind", say(field), all));
            choice["fit"]["kind"] = json!("$kind");
        }
        if kind == PartKind::ThrottleBody {
            fields.push(json!({ "key": "$variant", "name": name("fault", "variant"), "flag": false }));
            choice["fit"]["other_variant"] = json!("$variant");
        }
        if kind == PartKind::Battery {
            fields.extend(battery_fields(true));
            choice["fit"]["battery_type"] = json!("$battery");
            choice["fit"]["rated_ah"] = json!("$ah");
        }
        choice["fit"]["serial"] = json!("$serial");
        fields
            .push(json!({ "key": "$serial", "name": say("shelf-serial"), "text": LONGEST, "optional": true,
            "why": say("shelf-serial-why") }));
        let needs = if kind == PartKind::Module { "shelf-needs-key-off" } else { "shelf-needs-stopped" };
        let id = kind.name();
        let priced = Action::Fit(PartChoice::new(kind));
        self.item((id, name("part", id)), &priced, vec![Some(say(needs))], choice, fields)
    }

    fn plugs(&self) -> Vec<Value> {
        let has = self.car.has();
        // the battery is among the driver's controls
        let here = |c: &Connector| *c != Connector::Battery && has.connector(*c).is_ok();
        let all = Connector::named(self.car.cylinders()).into_iter().filter(|(_, c)| here(c));
        all.map(|(id, c)| {
            let [out, back] = [false, true].map(|is_in| Action::Connector(c, is_in));
            let ways = vec![(act(&out), say("class-plug-pull")), (act(&back), say("class-plug-push"))];
            let fields = vec![of("$act", String::new(), ways)];
            let mut item = self.item((&id, name("connector", &id)), &out, vec![], json!("$act"), fields);
            item["connector"] = json!(c);
            item
        })
        .collect()
    }

    fn work(&self) -> Vec<Value> {
        let plain = [
            ("clean_throttle_body", Action::CleanThrottle),
            ("inlet_leak", Action::Leak(0.0)),
            ("exhaust_leak", Action::ExhaustLeak(0.0)),
        ];
        let mut all: Vec<Value> = plain
            .into_iter()
            .map(|(id, a)| {
                let mind = vec![told("hand-mind", id), told("hand-needs", id)];
                self.item((id, name("hand", id)), &a, mind, act(&a), vec![])
            })
            .collect();
        let mut work = |id: &str, priced: Action, mind: Option<String>, act: Value, fields: Vec<Value>| {
            all.push(self.item((id, name("hand", id)), &priced, vec![mind], act, fields));
        };
        let sound = |s: Sensor| Action::Sensor(s, Ill::default());
        let sensors = Sensor::ALL.iter().map(|s| s.0).filter(|s| *s == Sensor::Crank || self.has(*s));
        let sensors = sensors.map(|s| (act(&sound(s)), name("sensor", s.name()))).collect();
        work(
            "sensor_wiring",
            sound(Sensor::Coolant),
            Some(say("shelf-sensor-and-wire")),
            json!("$act"),
            vec![of("$act", say("shelf-which"), sensors)],
        );
        let mut second = self.cylinders();
        second.rotate_left(1);
        work(
            "swap_injectors",
            Action::SwapInjectors(1, 2),
            Some(say("shelf-needs-stopped")),
            json!({ "swap_injectors": ["$a", "$b"] }),
            vec![of("$a", say("shelf-cylinder"), self.cylinders()), of("$b", say("shelf-swap-with"), second)],
        );
        work(
            "accessory",
            Action::Accessory { amps: 0.5, past_sensor: false },
            None,
            json!({ "accessory": { "amps": "$a", "past_sensor": "$posts" } }),
            vec![
                number("$a", say("shelf-draws"), &units::ACCESSORY_A, 0.5),
                json!({ "key": "$posts", "name": say("shelf-to-the-posts"), "flag": false }),
            ],
        );
        work(
            "charger",
            Action::Charger { amps: 30.0, past_sensor: false },
            None,
            json!({ "charger": { "amps": "$a", "past_sensor": "$posts" } }),
            vec![
                number("$a", say("shelf-charges"), &units::CHARGER_A, 30.0),
                json!({ "key": "$posts", "name": say("shelf-clamp-on-the-post"), "flag": false }),
            ],
        );
        work(
            "spark_interrupter",
            Action::Interrupt(1, 100.0),
            None,
            json!({ "interrupt": ["$cylinder", "$pct"] }),
            vec![
                of("$cylinder", say("shelf-cylinder"), self.cylinders()),
                number("$pct", say("shelf-swallows"), &units::INTERRUPT_PCT, 100.0),
            ],
        );
        work(
            "refuel",
            Action::Refuel(1.0),
            Some(say("shelf-needs-stopped")),
            json!({ "refuel": "$l" }),
            vec![number("$l", say("shelf-fuel"), &units::REFUEL_L, 10.0)],
        );
        work(
            "rollers",
            Action::Hold { rpm: 2000.0, nm: 1.0 },
            Some(say("shelf-hold-until")),
            json!({ "hold": { "rpm": "$rpm", "nm": "$nm" } }),
            vec![
                number("$rpm", say("shelf-hold-at"), &units::HOLD_RPM, 2000.0),
                number("$nm", say("shelf-rollers"), &units::HOLD_NM, 0.0),
            ],
        );
        all
    }

    fn request(
        &self,
        id: &str,
        called: String,
        ask: DiagRequest,
        act: Option<Value>,
        fields: Vec<Value>,
    ) -> Value {
        let action = Action::Ask(ask);
        let act = act.unwrap_or_else(|| json!(action));
        self.item((id, called), &action, vec![], act, fields)
    }
    fn plain(&self, ask: DiagRequest) -> Value {
        let id = ask.name();
        self.request(id, name("service", id), ask, None, vec![])
    }

    fn reads(&self) -> Vec<Value> {
        use DiagRequest::{ReadBatteryRecord, ReadCodes, ReadLearned, ReadLive, ReadReadiness};
        let mut all: Vec<Value> = [ReadCodes, ReadLearned, ReadReadiness, ReadLive, ReadBatteryRecord]
            .map(|a| self.plain(a))
            .into();
        all.push(self.request(
            "read_freeze_frame",
            name("service", "read_freeze_frame"),
            DiagRequest::ReadFreezeFrame(String::new()),
            Some(json!({ "ask": { "read_freeze_frame": "$code" } })),
            vec![json!({ "key": "$code", "name": say("asking-type-a-code"), "text": 5, "of_codes": true })],
        ));
        if self.holds("injector_flow") {
            let own =
                |k: &Value| json!(Action::Ask(DiagRequest::ReadInjectorCode(k.as_u64().unwrap_or(1) as u8)));
            let all_of = self.cylinders().into_iter().map(|(k, text)| (own(&k), text)).collect();
            all.push(self.request(
                "read_injector_code",
                name("service", "read_injector_code"),
                DiagRequest::ReadInjectorCode(1),
                Some(json!("$act")),
                vec![of("$act", say("shelf-cylinder"), all_of)],
            ));
        }
        all
    }

    fn writes(&self) -> Vec<Value> {
        let mut all = vec![self.plain(DiagRequest::ClearCodes), self.plain(DiagRequest::Restart)];
        all[0]["mind"] = json!([say("asking-clear-mind")]);
        let mut record = self.request(
            "enter_battery_record",
            name("service", "enter_battery_record"),
            DiagRequest::EnterBatteryRecord { kind: BatteryKind::Flooded, rated_ah: 60.0 },
            Some(json!({ "ask": { "enter_battery_record": { "kind": "$battery", "rated_ah": "$ah" } } })),
            battery_fields(false),
        );
        record["mind"] = json!([say("asking-battery-label")]);
        all.push(record);
        if self.holds("injector_flow") {
            let copy = Action::CopyInjectorCode { cylinder: 1, body: 1 };
            all.push(self.item(
                ("copy_injector_code", say("asking-enter-printed")),
                &copy,
                vec![],
                json!({ "copy_injector_code": { "cylinder": "$cylinder", "body": "$body" } }),
                vec![
                    of("$cylinder", say("asking-of-cylinder"), self.cylinders()),
                    of("$body", say("asking-printed-on"), self.cylinders()),
                ],
            ));
            all.push(self.request(
                "write_injector_code",
                say("asking-enter-typed"),
                DiagRequest::WriteInjectorCode { cylinder: 1, code: String::new() },
                Some(
                    json!({ "ask": { "write_injector_code": { "cylinder": "$cylinder", "code": "$code" } } }),
                ),
                vec![
                    of("$cylinder", say("asking-of-cylinder"), self.cylinders()),
                    json!({ "key": "$code", "name": say("asking-type-a-code"), "text": LONGEST }),
                ],
            ));
        }
        all
    }

    fn routines(&self) -> Vec<Value> {
        let here = |r: &Routine| r.is_for().is_none_or(|name| self.holds(name));
        let mut all: Vec<Value> = Vec::new();
        for (_, r) in Routine::ALL.iter().filter(|(_, r)| here(r)) {
            all.push(self.plain(DiagRequest::Start(*r)));
        }
        let cut = |k: u8| DiagRequest::Start(Routine::CutOut(k));
        let cuts = (1..=self.car.cylinders()).map(|k| (json!(Action::Ask(cut(k))), k.to_string())).collect();
        all.push(self.request(
            "cut_out",
            name("service", cut(1).name()),
            cut(1),
            Some(json!("$act")),
            vec![of("$act", say("shelf-cylinder"), cuts)],
        ));
        let idle = |rpm| DiagRequest::Start(Routine::CommandIdle(rpm));
        let own = (json!(Action::Ask(idle(0))), say("asking-own-idle"));
        let speeds = [700_u16, 800, 900, 1000, 1200, 1500, 2000, 2500, 3000];
        let speeds =
            speeds.map(|rpm| (json!(Action::Ask(idle(rpm))), say!("asking-idle", rpm = rpm.to_string())));
        all.push(self.request(
            "command_idle",
            name("service", idle(0).name()),
            idle(0),
            Some(json!("$act")),
            vec![of("$act", say("asking-idle-at"), std::iter::once(own).chain(speeds).collect())],
        ));
        all.push(self.plain(DiagRequest::Stop));
        all
    }

    fn roads(&self) -> Vec<Value> {
        let patterns = || {
            let all = pattern::Name::ALL.iter();
            of("$road", say("class-road"), all.map(|(id, p)| (json!(p), name("pattern", id))).collect())
        };
        let minutes = |start| number("$min", say("class-road-minutes"), &units::DRIVE_MIN, start);
        let life = Life {
            pattern: pattern::Name::Mixed,
            minutes: 30.0,
            trips: 2,
            days_a_week: 5,
            days: 28,
            each: 14,
        };
        let drive = Action::Drive { pattern: pattern::Name::Mixed, minutes: 20.0 };
        let item = |id: &str, called: &str, a: &Action, act: Value, fields: Vec<Value>| {
            self.item((id, say(called)), a, vec![], act, fields)
        };
        let whole = |key: &str, id: &str, low: u32, high: u32, start: u32| {
            json!({ "key": key, "name": say(id), "number":
                { "low": low, "high": high, "start": start, "unit": "", "whole": true } })
        };
        vec![
            item(
                "drive",
                "class-road-drive",
                &drive,
                json!({ "drive": { "pattern": "$road", "minutes": "$min" } }),
                vec![patterns(), minutes(20.0)],
            ),
            item(
                "rest",
                "class-road-rest",
                &Action::Rest(8.0),
                json!({ "rest": "$h" }),
                vec![number("$h", say("class-road-hours"), &units::REST_H, 8.0)],
            ),
            item(
                "drive_on",
                "class-road-life",
                &Action::DriveOn(life),
                json!({ "drive_on": { "pattern": "$road", "minutes": "$min", "trips": "$trips",
                    "days_a_week": "$week", "days": "$days", "each": 14 } }),
                vec![
                    patterns(),
                    minutes(30.0),
                    whole("$trips", "class-road-trips", 1, 8, 2),
                    whole("$week", "class-road-week", 1, 7, 5),
                    whole("$days", "class-road-days", 1, units::LIFE_DAYS.high as u32, 28),
                ],
            ),
        ]
    }
}

/// The cautions for what can be selected, each once; none if there are none.
fn minded(cautions: impl Iterator<Item = Caution>) -> Option<String> {
    let all: BTreeSet<Caution> = cautions.collect();
    let words: Vec<String> = all.into_iter().map(|c| upper_first(&caution_words(c))).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// Kind and capacity of a battery; on the shelf, the default is the kind that is in the car.
fn battery_fields(on_shelf: bool) -> Vec<Value> {
    let same = on_shelf.then(|| (Value::Null, say("slip-battery-as-the-car")));
    let kinds = BatteryKind::ALL.iter().map(|(id, k)| (json!(k), name("battery", id)));
    let sizes = [35.0, 44.0, 50.0, 60.0, 70.0, 80.0, 95.0].map(|ah| (json!(ah), format!("{ah:.0} Ah")));
    vec![
        of("$battery", name("fault", "battery_type"), same.clone().into_iter().chain(kinds).collect()),
        of("$ah", name("fault", "rated_ah"), same.into_iter().chain(sizes).collect()),
    ]
}

/// The setting of a tool.
fn set_to(tool: Tool) -> String {
    match tool {
        Tool::Voltmeter(Point::Pin(s)) | Tool::Scope(Point::Pin(s)) => name("sensor", s.name()),
        Tool::Voltmeter(p) | Tool::Scope(p) => name("point", &p.name()),
        Tool::AmpereClamp => name("lead", "battery_lead"),
        Tool::ClampOn(lead) => name("lead", Lead::ALL.iter().find(|l| l.1 == lead).map_or("", |l| l.0)),
        Tool::Inspect(look) => name("look", Look::name(look)),
        Tool::GasReading => say("class-tailpipe"),
        Tool::GasAhead(k) | Tool::BackPressure(k) => format!("{} {k}", say("shelf-bank")),
        Tool::Compression(k) | Tool::LeakDown(k) => format!("{} {k}", say("shelf-cylinder")),
        _ => String::new(),
    }
}

/// Why a seat may not do this act; none if it may try. What a trainee's hands cannot do (inject a fault, record that
/// the bench went back) is refused, and so is any number outside the range that a file could ask for.
pub fn refused(action: &Action, car: &Car) -> Option<String> {
    let not_theirs = || Some(say("class-not-offered"));
    let short = |text: &str, most: usize| text.chars().count() <= most && !text.chars().any(char::is_control);
    let places = action.reaches();
    let there = |(place, k): &(Place, u8)| match place {
        Place::Cylinder => (1..=car.cylinders()).contains(k),
        Place::Bank => (1..=car.banks()).contains(k),
        _ => true,
    };
    if !places.iter().all(there) {
        return not_theirs();
    }
    let fits = match action {
        Action::Note(Note::Cautions) => true,
        Action::Note(Note::Words(words)) => short(words, MOST_WORDS),
        Action::Note(_) => false,
        Action::Leak(mm2) | Action::ExhaustLeak(mm2) => *mm2 == 0.0,
        Action::Sensor(_, ill) => *ill == Ill::default(),
        Action::Fit(choice) => {
            const OFFERED: [&str; 3] = ["variant", "battery_type", "rated_ah"];
            let plain = PartChoice::KEYS.iter().all(|k| OFFERED.contains(k) || choice.said(k).is_none());
            plain && choice.serial.as_deref().is_none_or(|s| short(s, LONGEST))
        }
        Action::Watch(names) => {
            names.len() <= MOST_WATCHED && names.iter().all(|n| LiveValues::NAMES.contains(&n.as_str()))
        }
        Action::Ask(DiagRequest::ReadFreezeFrame(code) | DiagRequest::WriteInjectorCode { code, .. }) => {
            short(code, LONGEST)
        }
        _ => true,
    };
    if !fits {
        return not_theirs();
    }
    replay::allowed(action).err().map(|why| facts::mistake(&why))
}
