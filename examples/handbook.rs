//! Writes the tables of `docs/` from the program's own catalogue: `cargo run --no-default-features --example handbook`.
//!
//! A table stands between `<!-- generated: NAME -->` and `<!-- end: NAME -->`. What is written there by hand is lost.
//! `tests/files/docs.rs` reads this file too and says when a table is out of date.
#![expect(clippy::disallowed_methods, reason = "the documents are read and written in place")]

use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Connector, Key, Load, PartKind};
use idlewright::bench::car::Car;
use idlewright::bench::pattern;
use idlewright::bench::setup::Setup;
use idlewright::bench::tools::{Data, INSTRUMENTS, Lead, Look, Point, Reading, Tool};
use idlewright::catalogue::cautions::Caution;
use idlewright::catalogue::hands::{HANDS, WORK};
use idlewright::catalogue::parts::{Fault, PARTS, Says};
use idlewright::catalogue::services::{self, services};
use idlewright::catalogue::signals::{RECORDED, Source};
use idlewright::ecm::codes::CODES;
use idlewright::lesson::deeds;
use idlewright::link::{LIVE, Live, Needs};
use idlewright::plant::wires::Sensor;
use idlewright::scenario;
use idlewright::session::{self, Price, Prices};
use idlewright::store;
use idlewright::units::{self, Range};
use idlewright::words::{Words, message_of, name, numbers, upper_first};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Every document that holds tables.
pub const FILES: [&str; 4] = ["docs/author.md", "docs/commands.md", "docs/instructor.md", "docs/network.md"];
/// How the tables are written again.
pub const COMMAND: &str = "cargo run --no-default-features --example handbook";

fn main() {
    for file in FILES {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{file}: {e}"));
        std::fs::write(&path, filled(&text)).unwrap_or_else(|e| panic!("{file}: {e}"));
    }
}

/// A document with its tables as they should be.
pub fn filled(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("<!-- generated: ") {
        let (name, after) = after.split_once(" -->").expect("the mark of a table is closed");
        let end = format!("<!-- end: {name} -->");
        let (_, after) = after.split_once(&end).unwrap_or_else(|| panic!("table {name} has no end"));
        out += &format!("{before}<!-- generated: {name} -->\n{}{end}", block(name));
        rest = after;
    }
    out + rest
}

fn block(name: &str) -> String {
    match name {
        "hands" => hands(),
        "words" => words_of_hands(),
        "parts" => parts(),
        "sensors" => sensors(),
        "patterns" => patterns(),
        "services" => asked(),
        "tools" => tools(),
        "quantities" => quantities(),
        "live" => live(),
        "signals" => signals(),
        "deeds" => done(),
        "cars" => cars(),
        "normal" => normal(),
        "codes" => codes(),
        "prices" => other_work(),
        "cautions" => cautions(),
        "scenarios" => scenarios(),
        "rubric" => rubric(),
        "commands" => commands(),
        "identifiers" => idlewright::net::catalogue::markdown(),
        _ => panic!("no table is called {name}"),
    }
}

fn table(head: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let head: Vec<String> = head.iter().map(|h| (*h).to_owned()).collect();
    let rule = vec!["---".to_owned(); head.len()];
    let rows: String = rows.into_iter().map(|r| line(&r)).collect();
    line(&head) + &line(&rule) + &rows
}

fn code(text: &str) -> String {
    format!("`{text}`")
}

fn codes_of<'a>(all: impl IntoIterator<Item = &'a str>) -> String {
    all.into_iter().map(code).collect::<Vec<_>>().join(", ")
}

fn from_to(r: &Range) -> String {
    let unit = if r.unit.is_empty() { String::new() } else { format!(" {}", r.unit) };
    format!("{} to {}{unit}", r.low, r.high).replace('-', "−")
}

fn prices() -> Prices {
    Prices::shipped().expect("the price list reads")
}

fn price(p: Option<&Price>) -> String {
    match p {
        Some(p) if p.money > 0.0 => format!("{} min + {}", p.minutes, p.money),
        Some(p) => format!("{} min", p.minutes),
        None => String::new(),
    }
}

/// What is said with a hand's key, and what the hand does.
fn hand(key: &str) -> (String, &'static str) {
    let range = |r: &Range| from_to(r);
    let words = |all: &[&str]| codes_of(all.iter().copied());
    match key {
        "key" => (words(&["off", "on", "crank"]), "turns the key; `crank` holds it until the engine runs"),
        "pedal_pct" => (range(&units::PEDAL_PCT), "moves the accelerator pedal"),
        "brake" => (words(&["true", "false"]), "presses or releases the brake"),
        "gear" => (words(&["park", "neutral", "drive"]), "moves the selector"),
        "load" => (codes_of(Load::ALL.iter().map(|l| l.0)), "switches a load; `on` is `true` or `false`"),
        "fit" => ("a table: [parts](#parts-sensors-and-their-faults)".into(), "fits a part"),
        "unplug" => ("see below".into(), "disconnects"),
        "plug" => ("see below".into(), "connects"),
        "clean" => (words(&["throttle_body"]), "cleans it"),
        "leak_mm2" => {
            (range(&units::LEAK_MM2), "makes a hole in the intake after the MAF sensor; 0 repairs it")
        }
        "exhaust_leak_mm2" => (range(&units::EXHAUST_LEAK_MM2), "the same ahead of the oxygen sensor"),
        "sensor" => {
            ("a table: [sensors](#parts-sensors-and-their-faults)".into(), "sets a sensor and its wire")
        }
        "refuel_l" => (range(&units::REFUEL_L), "fills up"),
        "swap_injectors" => ("two cylinders, `[2, 3]`".into(), "swaps two injectors"),
        "interrupt_pct" => {
            (range(&units::INTERRUPT_PCT), "drops that share of a coil's sparks; 0 takes the box out")
        }
        "service" => ("[requests](#asking-the-module)".into(), "asks the module"),
        "measure" => ("[tools](#workshop-tools)".into(), "uses a workshop tool"),
        "watch" => ("a list of [live values](#live-values)".into(), "gives the scan tool a list"),
        "wait_s" => ("seconds".into(), "waits"),
        "drive" => ("a [pattern](#driving-resting-months-of-use)".into(), "drives for so many minutes"),
        "drive_on" => ("a [pattern](#driving-resting-months-of-use)".into(), "uses the car day by day"),
        "rest_h" => (range(&units::REST_H), "locks the car and leaves it"),
        "accessory_a" => (range(&units::ACCESSORY_A), "wires in something that always draws"),
        "charger_a" => (range(&units::CHARGER_A), "connects a battery charger; 0 removes it"),
        "hold_rpm" => (range(&units::HOLD_RPM), "holds an engine speed against a torque"),
        "cautions" => (words(&["read"]), "says that the cautions were read"),
        "cause" => ("the id of a [cause](#causes)".into(), "says what is wrong"),
        "predict" => ("the id of a [question](#questions)".into(), "answers it"),
        "note" => ("words".into(), "writes into the logbook"),
        _ => panic!("say in examples/handbook.rs what the hand `{key}` takes and does"),
    }
}

fn hands() -> String {
    table(
        &["key", "value", "beside it", "does"],
        HANDS.iter().map(|h| {
            let (value, does) = hand(h.key);
            vec![code(h.key), value, codes_of(h.with.iter().copied()), does.into()]
        }),
    )
}

fn words_of_hands() -> String {
    let several = |id: &str| id.ends_with("_1") && (id.starts_with("injector") || id.starts_with("coil"));
    let connectors: Vec<String> = Connector::named(1)
        .into_iter()
        .map(|(id, _)| if several(&id) { format!("{} and so on", code(&id)) } else { code(&id) })
        .collect();
    format!("`unplug` and `plug` take {}.\n", connectors.join(", "))
}

fn fault(f: &Fault) -> String {
    let with = f.with.map_or(String::new(), |w| format!("; with `{w}`"));
    let says = match f.says {
        Says::Number(r) => from_to(&r),
        Says::Whole(r) => format!("whole, {}", from_to(&r)),
        Says::OneOf(all) => codes_of(all.iter().copied()),
        Says::Flag => "`true`".into(),
    };
    format!("`{}` {} ({says}{with})", f.key, name("fault", f.key))
}

fn parts() -> String {
    let prices = prices();
    table(
        &["`part`", "is", "takes besides `serial`", "fitting costs"],
        PARTS.iter().map(|p| {
            let place = p.place.key().map_or(String::new(), |k| format!(" with `{k}`"));
            let faults: Vec<String> = p.faults.iter().map(fault).collect();
            vec![code(p.id) + &place, name("part", p.id), faults.join("; "), price(prices.part.get(p.id))]
        }),
    )
}

fn sensors() -> String {
    let wires = ["sound", "open", "to_earth", "to_supply", "loose"];
    let rows = [
        ("offset_v", from_to(&units::SENSOR_OFFSET_V)),
        ("gain", from_to(&units::SENSOR_GAIN)),
        ("lag_s", from_to(&units::SENSOR_LAG_S)),
        ("noise_v", from_to(&units::SENSOR_NOISE_V)),
        ("stuck", code("true")),
        ("wire", codes_of(wires)),
    ];
    format!("Sensors are {}.\n\n", codes_of(Sensor::ALL.iter().map(|s| s.1)))
        + &table(
            &["key", "is", "takes"],
            rows.into_iter().map(|(key, takes)| vec![code(key), name("sensor-ill", key), takes]),
        )
}

fn patterns() -> String {
    table(
        &["pattern", "is", "a round takes"],
        pattern::Name::ALL.iter().map(|(word, p)| {
            let p = p.pattern();
            let (_, says) = p.title.split_once(": ").unwrap_or(("", &p.title));
            vec![code(word), says.to_owned(), format!("{:.1} min", p.length_s() / 60.0)]
        }),
    )
}

fn asked() -> String {
    let prices = prices();
    table(
        &["`service`", "does", "with", "costs"],
        services().map(|s| {
            let takes = codes_of(s.takes.iter().copied());
            vec![code(s.id()), name("service", s.id()), takes, price(prices.service.get(s.id()))]
        }),
    )
}

fn tools() -> String {
    let prices = prices();
    let data = Data::shipped().expect("the tools' data reads");
    let all = Tool::all(1, 1);
    let of =
        |instrument: &str| all.iter().copied().filter(|t| t.instrument() == instrument).collect::<Vec<_>>();
    let rows = INSTRUMENTS.iter().map(|id| {
        let mine = of(id);
        let mut reads: Vec<String> = Vec::new();
        for reading in mine.iter().map(|t| Reading::sample(*t)) {
            let names = reading.numbers.iter().map(|n| &n.0).chain(reading.marks.iter().map(|m| &m.0));
            names.for_each(|n| {
                if !reads.contains(n) {
                    reads.push(n.clone());
                }
            });
        }
        let needs = message_of("tool-needs", id);
        let needs = if Words::english().has(&needs) { idlewright::words::say(&needs) } else { String::new() };
        let needs = needs.strip_prefix("needs ").unwrap_or(&needs).to_owned();
        let takes_s = mine.iter().map(|t| data.takes_s(*t)).fold(0.0, f64::max);
        let takes = if takes_s > 0.0 { format!("{takes_s} s") } else { String::new() };
        let with = match *id {
            "voltmeter" | "scope" => "`point`",
            "ampere_clamp" | "current_clamp" => "`point` (a lead)",
            "inspect" => "`part`",
            "back_pressure" => "`bank`",
            "gas_reading" => "`bank`, if ahead of the catalyst",
            "compression" | "leak_down" => "`cylinder`",
            _ => "",
        };
        let reads = codes_of(reads.iter().map(String::as_str));
        vec![code(id), name("tool", id), with.into(), reads, needs, takes, price(prices.tool.get(*id))]
    });
    let points: Vec<String> = Point::volts().iter().map(|p| p.name()).collect();
    let looks = Look::ALL.iter().map(|l| l.0).filter(|l| !l.starts_with("injector_") || *l == "injector_1");
    let leads = std::iter::once("battery_lead").chain(Lead::ALL.iter().map(|l| l.0));
    table(&["`measure`", "is", "with", "reads", "needs", "takes", "costs"], rows)
        + &format!(
            "\nA `point` is {}; a lead is {}; a `part` is {}.\n",
            codes_of(points.iter().map(String::as_str)),
            codes_of(leads),
            codes_of(looks)
        )
}

/// A bench of each car, healthy, with the key off.
fn benches() -> Vec<(Car, Bench)> {
    store::CARS
        .iter()
        .map(|(_, text)| {
            let setup = Setup::healthy(text, 1, 88.0);
            (Car::parse(text).expect("a car"), Bench::standing(&setup).expect("a bench"))
        })
        .collect()
}

/// What a number of a cylinder or bank stands behind.
const NUMBERED: [&str; 14] = [
    "",
    "bank",
    "cylinder",
    "injector_",
    "coil_",
    "misfires_",
    "cylinder_trim_",
    "short_pulse_",
    "injector_flow_",
    "injector_dead_",
    "long_idle_bank",
    "long_part_bank",
    "long_high_bank",
    "rear_trim_bank",
];

/// A path with `N` for the number of a cylinder, bank or place.
fn without_numbers(path: &str) -> String {
    let word = |w: &str| {
        let base = w.trim_end_matches(|c: char| c.is_ascii_digit());
        if base.len() < w.len() && NUMBERED.contains(&base) { format!("{base}N") } else { w.to_owned() }
    };
    path.split('.').map(word).collect::<Vec<_>>().join(".")
}

fn quantities() -> String {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for (_, text) in store::CARS {
        let sample = session::sample(&healthy(text)).expect("a sample");
        for path in scenario::paths(&sample) {
            let (group, below) = path.split_once('.').unwrap_or((&path, ""));
            let told_elsewhere = ["learned", "readings", "watched", "codes"].contains(&group);
            let says_which =
                ["name", "bank", "cylinder"].iter().any(|end| below.ends_with(&format!(".{end}")));
            // what stands alone says which run it is, but for the lamps
            if told_elsewhere || says_which || (below.is_empty() && !group.ends_with("lamp")) {
                continue;
            }
            let below = without_numbers(below);
            let at = groups.iter().position(|g| g.0 == group).unwrap_or_else(|| {
                groups.push((group.to_owned(), Vec::new()));
                groups.len() - 1
            });
            if !groups[at].1.contains(&below) {
                groups[at].1.push(below);
            }
        }
    }
    let lines = groups.into_iter().map(|(group, below)| match below.as_slice() {
        [one] if one.is_empty() => vec![code(&group), String::new()],
        all => vec![code(&group), codes_of(all.iter().map(String::as_str))],
    });
    let more = [
        ["`codes`", "`CODE.pending`, `CODE.confirmed`, `CODE.permanent`"],
        ["`readings`", "`NAME.…` as the [tools](#workshop-tools) say"],
        ["`watched`", "`NAME.value`, `NAME.age_s` of [live values](#live-values)"],
        [
            "`learned`",
            "`NAME.value`, `NAME.default`, `NAME.low`, `NAME.high`, `NAME.learned`, `NAME.written_by`, \
             `NAME.written_s`, `NAME.gates.GATE.open`",
        ],
    ];
    let more = more.map(|row| row.map(str::to_owned).to_vec());
    table(&["first word", "then"], lines.chain(more)) + "\nLearned values and their gates:\n\n" + &learned()
}

fn learned() -> String {
    let mut all: BTreeMap<String, (String, BTreeSet<String>)> = BTreeMap::new();
    for (_, mut bench) in benches() {
        bench.act("", Action::Key(Key::On));
        bench.advance_by(1.0);
        for l in bench.observe().learned {
            let is = format!("{}{}", name("learned", &l.name).replace(" 1", ""), unit_of(Some(&l.unit)));
            let row = all.entry(without_numbers(&l.name)).or_insert_with(|| (is, BTreeSet::new()));
            row.1.extend(l.gates.iter().map(|g| g.name.name().to_owned()));
        }
    }
    table(
        &["`NAME`", "is", "`GATE`"],
        all.into_iter()
            .map(|(id, (is, gates))| vec![code(&id), is, codes_of(gates.iter().map(String::as_str))]),
    )
}

fn unit_of(unit: Option<&str>) -> String {
    unit.filter(|u| !u.is_empty()).map_or(String::new(), |u| format!(" [{u}]"))
}

/// The shortest scenario on a car.
fn healthy(car: &str) -> scenario::Scenario {
    let text = "schema = 1\n[about]\nid = \"x\"\ntitle = \"x\"\nlevel = 1\ncomplaint = \"x\"\nteaches = \"x\"\n[setup]\ncar = \"plover\"\nseed = 1\n";
    scenario::parse_scenario(text, "x", &mut |_| Ok(car.to_owned())).expect("a scenario")
}

fn live() -> String {
    table(
        &["live value", "is", "unit", "J1979"],
        LIVE.iter().map(|l| {
            let pid = l.pid.map_or(String::new(), |p| format!("{p:02X}"));
            vec![code(l.id), name("signal", l.id), l.unit.into(), pid]
        }),
    )
}

fn signals() -> String {
    table(
        &["column", "is", "unit", "kind"],
        RECORDED.iter().map(|s| {
            let kind = match s.source {
                Source::Time => "",
                Source::Truth(_) => "true value: with `--lid open` only",
                _ if s.believed => "the module's value",
                _ => "measured",
            };
            vec![code(s.name), name("signal", s.name), s.unit.into(), kind.into()]
        }),
    )
}

fn done() -> String {
    let mut all: Vec<(String, Vec<String>)> = Vec::new();
    for deed in deeds::known() {
        let (verb, below) = deed.split_once('.').unwrap_or((&deed, ""));
        let below = without_numbers(below);
        let at = all.iter().position(|a| a.0 == verb).unwrap_or_else(|| {
            all.push((verb.to_owned(), Vec::new()));
            all.len() - 1
        });
        if !below.is_empty() && !all[at].1.contains(&below) {
            all[at].1.push(below);
        }
    }
    table(
        &["word", "then"],
        all.into_iter().map(|(verb, below)| vec![code(&verb), codes_of(below.iter().map(String::as_str))]),
    )
}

fn cars() -> String {
    table(
        &["`car`", "is", "engine", "air", "coded injectors, cylinder trim", "memory profile"],
        benches().into_iter().map(|(car, _)| {
            let (cylinders, banks) = (car.cylinders(), car.banks());
            let plural = if banks > 1 { "banks" } else { "bank" };
            vec![
                code(&car.name),
                car.title.clone(),
                format!("{cylinders} cylinders, {banks} {plural}"),
                if car.has().air_meter { "MAF sensor" } else { "from pressure and speed" }.into(),
                if car.ecm.s.cylinder_trim.is_some() { "yes" } else { "no" }.into(),
                format!("*{}*", car.ecm.s.memory.profile),
            ]
        }),
    )
}

/// Live values that a technician compares with those of a sound car.
const NORMAL: [&str; 15] = [
    "engine_speed_rpm",
    "coolant_c",
    "map_kpa",
    "air_g_s",
    "rail_kpa",
    "throttle_deg",
    "spark_deg",
    "lambda",
    "short_pct",
    "long_pct",
    "rear_oxygen_v",
    "idle_learned_g_s",
    "supply_v",
    "battery_a",
    "cam_advance_deg",
];

/// How long values are averaged \[s\].
const AVERAGED_S: u32 = 10;

/// The means of live values of sound cars with a hot exhaust: at idle, and held at 2500 rpm without load.
fn normal() -> String {
    let all = benches();
    let mut columns = Vec::new();
    let mut head = vec!["live value".to_owned()];
    for (car, mut bench) in all {
        bench.act("", Action::Key(Key::Crank));
        bench.advance_by(10.0);
        // the sensors after the catalysts need hot gas for minutes
        bench.act("", Action::Hold { rpm: 2500.0, nm: 0.0 });
        bench.advance_by(600.0);
        let held = means(&mut bench);
        bench.act("", Action::Pedal(0.0));
        bench.advance_by(180.0);
        head.extend([format!("{}, idle", car.title), "2500 rpm".to_owned()]);
        columns.extend([means(&mut bench), held]);
    }
    let rows = NORMAL.iter().map(|id| {
        let value = |c: &BTreeMap<&str, String>| c.get(id).cloned().unwrap_or_default();
        std::iter::once(code(id)).chain(columns.iter().map(value)).collect()
    });
    table(&head.iter().map(String::as_str).collect::<Vec<_>>(), rows.collect::<Vec<_>>())
}

/// The mean of each live value that the car has, with its unit.
fn means(bench: &mut Bench) -> BTreeMap<&'static str, String> {
    let mut sums = vec![0.0; LIVE.len()];
    for _ in 0..10 * AVERAGED_S {
        bench.advance_by(0.1);
        let live = bench.observe().live;
        LIVE.iter().zip(&mut sums).for_each(|(l, sum)| *sum += (l.get)(&live));
    }
    // what a car lacks stands at 0 altogether
    let shown = LIVE.iter().zip(sums).filter(|(l, sum)| l.needs == Needs::Nothing || *sum != 0.0);
    let mean = |sum: f64, l: &Live| numbers::number(sum / f64::from(10 * AVERAGED_S), l.decimals);
    shown.map(|(l, sum)| (l.id, format!("{} {}", mean(sum, l), l.unit).trim_end().to_owned())).collect()
}

fn codes() -> String {
    table(&["code", "says"], CODES.iter().map(|c| vec![code(c.1), name("code", c.1)]))
}

fn other_work() -> String {
    let prices = prices();
    let rows = WORK.iter().map(|id| vec![name("hand", id), price(prices.hand.get(*id))]);
    format!("An hour costs {} {}.\n\n", prices.hour_money, prices.currency) + &table(&["work", "costs"], rows)
}

fn cautions() -> String {
    let mut with: BTreeMap<Caution, Vec<String>> = BTreeMap::new();
    let mut add = |cautions: &[Caution], at: String| {
        for caution in cautions {
            let all = with.entry(*caution).or_default();
            if !all.contains(&at) {
                all.push(at.clone());
            }
        }
    };
    HANDS.iter().for_each(|h| add(h.cautions, code(h.key)));
    PartKind::ALL.iter().for_each(|p| add(p.cautions(), name("part", p.name())));
    Connector::named(1).iter().for_each(|c| add(c.1.cautions(), name("connector", &c.0)));
    services().for_each(|s| add(services::cautions(&s.ask), code(s.id())));
    Tool::all(1, 1).iter().for_each(|t| add(t.cautions(), name("tool", t.instrument())));
    let rows = Caution::ALL.iter().map(|(id, c)| {
        let always = if Caution::STANDING.contains(c) { "yes" } else { "" };
        let at = with.get(c).map(|all| all.join(", ")).unwrap_or_default();
        vec![code(id), name("caution", id), always.into(), at]
    });
    table(&["key", "says", "always shown", "with"], rows)
}

fn scenarios() -> String {
    table(
        &["scenario", "family", "level", "car", "title", "marked", "trainees differ"],
        store::SCENARIOS.iter().map(|s| {
            let mut car = |name: &str| store::car_text(name, None);
            let read = scenario::parse_scenario(s.text, s.id, &mut car).expect(s.id);
            let car = Car::parse(&read.setup.car_toml).expect("a car").name;
            let yes = |b: bool| if b { "yes" } else { "" }.to_owned();
            vec![
                code(&read.about.id),
                name("family", s.family),
                read.about.level.to_string(),
                upper_first(&car),
                read.about.title.clone(),
                yes(read.plan.is_some()),
                yes(s.text.contains("\n[[vary]]")),
            ]
        }),
    )
}

fn rubric() -> String {
    let rows = scenario::parse_rubric(store::RUBRIC, "rubric.toml").expect("the rubric reads");
    table(
        &["row", "says", "points", "needed to pass"],
        rows.into_iter().map(|r| {
            let points = r.points.map_or(String::new(), |p| p.to_string());
            let closes = if r.closes == Some(true) { "yes" } else { "" };
            vec![code(&r.id), r.says.unwrap_or_default(), points, closes.into()]
        }),
    )
}

fn commands() -> String {
    let mut out = String::new();
    for c in idlewright::cli::command().get_subcommands().filter(|c| c.get_name() != "help") {
        let mut usage = format!("idlewright {}", c.get_name());
        let mut rows = Vec::new();
        for a in c.get_arguments() {
            let value = a.get_value_names().and_then(|v| v.first()).map(|v| v.to_string());
            let value = value.filter(|_| a.get_action().takes_values()).unwrap_or_default();
            let many = if matches!(a.get_action(), clap::ArgAction::Append) { " …" } else { "" };
            let help = a.get_help().map(|h| h.to_string()).unwrap_or_default().replace('|', "\\|");
            if a.is_positional() {
                let value = format!("{value}{many}");
                usage += &if a.is_required_set() { format!(" {value}") } else { format!(" [{value}]") };
                rows.insert(0, vec![code(&value), help]);
            } else if let Some(long) = a.get_long().filter(|l| !["help", "lang", "version"].contains(l)) {
                rows.push(vec![code(format!("--{long} {value}").trim_end()) + many, help]);
            }
        }
        let about = c.get_about().map(|h| h.to_string()).unwrap_or_default();
        out += &format!("\n## {}\n\n`{usage}`: {about}.\n", c.get_name());
        if !rows.is_empty() {
            out += &format!("\n{}", table(&["argument", "does"], rows));
        }
    }
    out + "\n"
}

/// Where the documents lie, for the test that reads them.
pub fn documents() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    fn below(at: &Path, out: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(at).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                below(&path, out);
            } else if path.extension().is_some_and(|e| e == "md") {
                out.push(path);
            }
        }
    }
    let mut all = vec![root.join("README.md"), root.join("DEVELOPERS.md")];
    below(&root.join("docs"), &mut all);
    all.sort();
    all
}
