//! Variants: each trainee an instance of their own from the distributions in a file, the same one each time; tickets
//! that an instructor seals; and a closed lid that tells nothing of what was drawn.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(clippy::disallowed_methods, reason = "files are written and read; sums of squares need no more")]

use crate::bay::program::{self, changed, err, go};
use idlewright::bench::action::{Action, PartKind};
use idlewright::num::Stream;
use idlewright::scenario::{
    ActionFile, Filled, Mistake, Rule, Scenario, ScenarioError, Vary, Who, parse_actions, parse_actions_for,
    parse_scenario, parse_scenario_for,
};
use idlewright::session::ticket::{Key, Seal, Ticket};
use rand_distr::{Distribution, Normal};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::process::Output;

const FILE: &str = "own.toml";

/// A scenario with each way to draw, and each way to use what was drawn. Lines below count in this text.
const SCENARIO: &str = r#"schema = 1
[about]
id = "own"
title = "Runs on three"
level = 1
complaint = "It shakes, and {{this}} is in braces."
teaches = "One cylinder at a time."
[setup]
car = "plover"
seed = 4
coolant_c = 88.0
unmetered_leak_mm2 = "{leak}"
[[setup.part]]
part = "injector"
cylinder = "{bad}"
error_pct = "{off}"
serial = "N{bad}-{leak}"
[[vary]]
name = "bad"
default = 3
choose = [1, 2, 3, 4]
[[vary]]
name = "mate"
of = "bad"
map = { 1 = 4, 2 = 3, 3 = 2, 4 = 1 }
[[vary]]
name = "leak"
default = 1.4
uniform = [1.1, 1.7]
decimals = 1
[[vary]]
name = "off"
default = -20
normal = { mean = -20, sd = 2, low = -24.5, high = -16 }
decimals = 4
[[vary]]
name = "which"
default = "lamps"
choose = ["lamps", "heated_glass"]
[[act]]
id = "key-on"
at_s = 1.0
key = "on"
[[act]]
id = "start"
after_s = 2.0
key = "crank"
[[act]]
id = "box"
after_s = 20.0
interrupt_pct = 50
cylinder = "{mate}"
[[act]]
id = "load"
after_s = 1.0
load = "{which}"
on = true
[[expect]]
at = "end"
what = "codes.P030{bad}.confirmed"
is = false
why = "cylinder {bad} is only lean, by {off} %"
[[expect]]
at = "end"
what = "truth.unmetered_leak_mm2"
is = "{leak}"
why = "as it was drawn"
"#;

fn read(text: &str, who: Option<&Who>) -> Result<Scenario, ScenarioError> {
    parse_scenario_for(text.as_bytes(), FILE, &mut |_| Ok("a car".into()), who)
}

fn who(class_seed: u64, trainee: &str) -> Who {
    Who::new(class_seed, trainee, None).expect("a trainee")
}

fn values(s: &Scenario) -> BTreeMap<String, Filled> {
    s.vary.values().map(|(n, v)| (n.to_owned(), v.clone())).collect()
}

fn number(s: &Scenario, name: &str) -> f64 {
    match &values(s)[name] {
        Filled::Number(x) => *x,
        Filled::Word(w) => panic!("{name} is {w}"),
    }
}

// ---------------------------------------------------------------------------------------------------
// Filling in
// ---------------------------------------------------------------------------------------------------

/// Without a class seed the file stands as it is: its defaults, its own seed.
#[test]
fn exact_defaults_are_filled_in() {
    let s = parse_scenario(SCENARIO, FILE, &mut |_| Ok("a car".into())).expect("a good file");
    assert_eq!(s.vary.who, None);
    assert_eq!(s.setup.seed, 4);
    assert_eq!(s.setup.faults.unmetered_leak_mm2, 1.4);
    assert_eq!(s.setup.parts[0].kind, PartKind::Injector(3));
    assert_eq!(s.setup.parts[0].error_pct, Some(-20.0));
    assert_eq!(s.setup.parts[0].serial.as_deref(), Some("N3-1.4"));
    assert_eq!(s.about.complaint, "It shakes, and {this}} is in braces.");
    assert_eq!(s.acts[2].hand, Action::Interrupt(2, 50.0));
    assert_eq!(s.expects[0].what, "codes.P0303.confirmed");
    assert_eq!(s.expects[0].why, "cylinder 3 is only lean, by -20 %");
    let unfilled = s.expects[0].unfilled.as_ref().expect("it has a name in it");
    assert_eq!(unfilled.what, "codes.P030{bad}.confirmed");
    assert_eq!(unfilled.why, "cylinder {bad} is only lean, by {off} %");
    assert_eq!(s.expects[1].rule, Rule::Is(Value::from(1.4)), "a whole string becomes the bare number");
    assert_eq!(s.acts.iter().map(|a| a.drawn).collect::<Vec<_>>(), [false, false, true, true]);
}

#[test]
fn same_variant_for_the_same_trainee_and_another_for_the_next() {
    let one = read(SCENARIO, Some(&who(7, "bench 1"))).expect("a variant");
    assert_eq!(one, read(SCENARIO, Some(&who(7, "bench 1"))).expect("a variant"));
    // what was drawn is where it belongs
    assert_eq!(one.setup.parts[0].kind, PartKind::Injector(number(&one, "bad") as u8));
    assert_eq!(one.setup.faults.unmetered_leak_mm2, number(&one, "leak"));
    assert_eq!(number(&one, "mate"), 5.0 - number(&one, "bad"));
    assert!(one.setup.seed != 4 && Some(one.setup.seed) == one.vary.seed());
    // each of class seed, trainee and scenario makes another
    let mut all = BTreeSet::new();
    for (seed, trainee) in [(7, "bench 1"), (7, "bench 2"), (8, "bench 1"), (7, "bench1")] {
        let s = read(SCENARIO, Some(&who(seed, trainee))).expect("a variant");
        assert!(all.insert((format!("{:?}", values(&s)), s.setup.seed)), "{seed} {trainee}");
    }
    let other = changed(SCENARIO, "id = \"own\"", "id = \"another\"");
    let s = read(&other, Some(&who(7, "bench 1"))).expect("a variant");
    assert!(all.insert((format!("{:?}", values(&s)), s.setup.seed)));
    // recorded: what a trainee gets must not change from one version or machine to the next
    let said: Vec<String> = one.vary.values().map(|(n, v)| format!("{n}={v}")).collect();
    assert_eq!(said.join(" ") + &format!(" seed={}", one.setup.seed), RECORDED);
}

/// What class seed 7 and "bench 1" draw from [`SCENARIO`].
const RECORDED: &str = "bad=1 mate=4 leak=1.4 off=-20.7078 which=heated_glass seed=745020";

/// A name more in the file leaves what the others draw.
#[test]
fn same_draws_beside_a_new_name() {
    let more = changed(SCENARIO, "[[act]]", "[[vary]]\nname = \"km\"\ndefault = 1\nchoose = [1, 2]\n[[act]]");
    let more = changed(&more, "seed = 4", "seed = 4\nodometer_km = \"{km}\"");
    for k in 0..20 {
        let who = who(3, &format!("t{k}"));
        let (a, b) = (read(SCENARIO, Some(&who)).expect("a"), read(&more, Some(&who)).expect("b"));
        for (name, value) in a.vary.values() {
            assert_eq!(values(&b)[name], *value);
        }
        assert_eq!(a.setup.seed, b.setup.seed);
    }
}

#[test]
fn exact_same_parts_for_all() {
    let text = changed(SCENARIO, "seed = 4", "seed = 4\nsame_parts = true");
    for k in 0..5 {
        assert_eq!(read(&text, Some(&who(3, &format!("t{k}")))).expect("a variant").setup.seed, 4);
    }
    let seeds: BTreeSet<u64> = (0..200)
        .map(|k| read(SCENARIO, Some(&who(3, &format!("t{k}")))).expect("a variant").setup.seed)
        .collect();
    assert!(seeds.len() > 195, "{} of 200 seeds differ", seeds.len());
}

#[test]
fn exact_action_files_use_the_same_names() {
    let text = "schema = 1\n[about]\nid = \"S\"\ntitle = \"t\"\n[[act]]\nid = \"fit\"\nat_s = 1\n\
                fit = { part = \"injector\", cylinder = \"{bad}\" }\n[[expect]]\nat = \"end\"\n\
                what = \"codes.P030{bad}.pending\"\nis = false\nwhy = \"mended\"\n";
    for k in 0..10 {
        let s = read(SCENARIO, Some(&who(5, &format!("t{k}")))).expect("a variant");
        let a = parse_actions_for(text.as_bytes(), "a.toml", &s.vary).expect("actions");
        let Action::Fit(choice) = &a.acts[0].hand else { panic!("{:?}", a.acts[0].hand) };
        assert_eq!(choice.kind, PartKind::Injector(number(&s, "bad") as u8));
        assert_eq!(a.expects[0].what, format!("codes.P030{}.pending", number(&s, "bad")));
        assert_eq!(a.names.as_ref().map(|n| (n.0.line, n.1.as_str())), Some((8, "{bad}")));
    }
    // a scenario without variants has no names
    let e = parse_actions(text, "a.toml").expect_err("no such name");
    assert!(e.line == 8 && matches!(*e.mistake, Mistake::NoName { .. }), "{e}");
    let plain = changed(text, "\"{bad}\"", "3").replace("{bad}", "3");
    let a: ActionFile = parse_actions_for(plain.as_bytes(), "a.toml", &Vary::default()).expect("actions");
    assert_eq!(a.names, None);
}

// ---------------------------------------------------------------------------------------------------
// Distributions
// ---------------------------------------------------------------------------------------------------

/// Trainees drawn for each distribution.
const N: usize = 4000;

fn class() -> impl Iterator<Item = Scenario> {
    (0..N).map(|k| read(SCENARIO, Some(&who(11, &format!("bench {k}")))).expect("a variant"))
}

fn mean_sd(x: &[f64]) -> (f64, f64) {
    let mean = x.iter().sum::<f64>() / x.len() as f64;
    let var = x.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / x.len() as f64;
    (mean, var.sqrt())
}

/// Choices are equally likely, and independent of each other. Pearson's chi-squared: with 3 (or 1) degrees of
/// freedom it is above 16.27 (10.83) once in 1000, by the tables of that distribution (from memory).
#[test]
fn source_choices_are_equally_likely() {
    let mut bad = [0.0; 4];
    let mut glass = 0.0;
    let mut both = [0.0; 4];
    for s in class() {
        let k = number(&s, "bad") as usize - 1;
        bad[k] += 1.0;
        if values(&s)["which"] == Filled::Word("heated_glass".into()) {
            glass += 1.0;
            both[k] += 1.0;
        }
    }
    let n = N as f64;
    let chi = |counts: &[f64], each: f64| counts.iter().map(|c| (c - each) * (c - each) / each).sum::<f64>();
    assert!(chi(&bad, n / 4.0) < 16.27, "{bad:?}");
    assert!(chi(&[glass, n - glass], n / 2.0) < 10.83, "{glass}");
    assert!(chi(&both, n / 8.0) < 18.47, "{both:?}: four cells, 4 degrees");
}

/// Evenly from 1.1 to 1.7 in tenths: seven values, the ends with half of the share since they are rounded to from
/// one side only. Mean 1.4 by symmetry, variance as summed over the seven.
#[test]
fn exact_even_spread() {
    let x: Vec<f64> = class().map(|s| number(&s, "leak")).collect();
    let shares = [0.5, 1.0, 1.0, 1.0, 1.0, 1.0, 0.5].map(|s| s / 6.0);
    let mut var = 0.0;
    for (k, share) in shares.iter().enumerate() {
        let value = 1.1 + 0.1 * k as f64;
        let found = x.iter().filter(|x| (*x - value).abs() < 1e-9).count() as f64 / N as f64;
        // four standard errors of a share
        assert!((found - share).abs() < 4.0 * (share * (1.0 - share) / N as f64).sqrt(), "{value}: {found}");
        var += share * (value - 1.4) * (value - 1.4);
    }
    let (mean, sd) = mean_sd(&x);
    assert!((mean - 1.4).abs() < 4.0 * (var / N as f64).sqrt(), "{mean}");
    assert!((sd / var.sqrt() - 1.0).abs() < 0.04, "{sd} against {}", var.sqrt());
}

/// Normal, drawn again beyond the limits: mean and spread are those of the sampler of `rand_distr` with the same
/// limits, and of the closed form of a normal cut at both ends (Johnson, Kotz and Balakrishnan 1994, 13.10; from
/// memory, hence the sampler beside it).
#[test]
fn source_normal_spread() {
    let x: Vec<f64> = class().map(|s| number(&s, "off")).collect();
    assert!(x.iter().all(|x| (-24.5..=-16.0).contains(x)));
    let (mean, sd) = mean_sd(&x);
    let normal = Normal::new(-20.0, 2.0).expect("a distribution");
    let mut stream = Stream::new(1, "a sampler to compare with");
    let other: Vec<f64> = std::iter::repeat_with(|| normal.sample(&mut stream))
        .filter(|x| (-24.5..=-16.0).contains(x))
        .take(200_000)
        .collect();
    let (other_mean, other_sd) = mean_sd(&other);
    // limits at -2.25 and +2 deviations: density 0.03174 and 0.05399, between them 0.96503 of all
    let (phi_a, phi_b, z) = (0.031_740, 0.053_991, 0.965_025);
    let (a, b): (f64, f64) = (-2.25, 2.0);
    let shift = (phi_a - phi_b) / z;
    let closed_mean = -20.0 + 2.0 * shift;
    let closed_sd = 2.0 * (1.0 + (a * phi_a - b * phi_b) / z - shift * shift).sqrt();
    let error = sd / (N as f64).sqrt();
    assert!((mean - other_mean).abs() < 4.0 * error, "{mean} against {other_mean}");
    assert!((mean - closed_mean).abs() < 4.0 * error, "{mean} against {closed_mean}");
    assert!((sd / other_sd - 1.0).abs() < 0.045, "{sd} against {other_sd}");
    assert!((sd / closed_sd - 1.0).abs() < 0.045, "{sd} against {closed_sd}");
    assert!((other_mean - closed_mean).abs() < 0.02 && (other_sd / closed_sd - 1.0).abs() < 0.01);
}

// ---------------------------------------------------------------------------------------------------
// Mistakes
// ---------------------------------------------------------------------------------------------------

#[test]
fn trips_broken_variants() {
    let cases: &[(&str, &str, usize, &str)] = &[
        (
            "choose = [1, 2, 3, 4]",
            "",
            18,
            r#"NeedsOneOf { table: "[[vary]]", one_of: ["choose", "uniform", "normal", "of"] }"#,
        ),
        (
            "choose = [1, 2, 3, 4]",
            "choose = [1, 2, 3, 4]\nuniform = [1, 2]",
            22,
            r#"NotBoth { table: "[[vary]]", first: "choose", second: "uniform" }"#,
        ),
        ("choose = [1, 2, 3, 4]", "choose = [3]", 21, r#"TooFew { what: "choose", least: 2 }"#),
        ("choose = [1, 2, 3, 4]", "choose = 3", 21, r#"WrongType { key: "choose", wanted: List"#),
        ("choose = [1, 2, 3, 4]", "choose = [1, 2, 3, 3.0]", 21, r#"Twice { what: "choose""#),
        (
            "choose = [1, 2, 3, 4]",
            "choose = [1, 2, 3, true]",
            21,
            r#"WrongType { key: "choose", wanted: NumberOrText"#,
        ),
        ("choose = [1, 2, 3, 4]", "choose = [1, 2, 3, \"a b\"]", 21, r#"NotAWord { key: "choose""#),
        (
            "choose = [1, 2, 3, 4]",
            "choose = [1, 2, 3, 1e12]",
            21,
            r#"OutOfRange { key: "choose", low: -1000000000.0, high: 1000000000.0"#,
        ),
        ("choose = [1, 2, 3, 4]", "choose = [1, 2, 4]", 20, "DefaultNotChosen"),
        (
            "choose = [1, 2, 3, 4]",
            "choose = [1, 2, 3, 4]\ndecimals = 1",
            22,
            r#"GoesWith { key: "decimals", one_of: ["uniform", "normal"] }"#,
        ),
        (
            "choose = [1, 2, 3, 4]",
            "choose = [1, 2, 3, 4]\nmap = {}",
            22,
            r#"GoesWith { key: "map", one_of: ["of"] }"#,
        ),
        ("default = 3\n", "", 18, r#"MissingKey { table: "[[vary]]", key: "default" }"#),
        ("name = \"bad\"", "name = \"ba d\"", 19, r#"NotAWord { key: "name", most: 64"#),
        (
            "name = \"leak\"",
            "name = \"bad\"",
            27,
            r#"TwiceSince { what: "[[vary]]", given: "\"bad\"", line: 18 }"#,
        ),
        ("name = \"leak\"", "nmae = \"leak\"", 27, r#"UnknownKey { table: "[[vary]]", key: "\"nmae\"" }"#),
        ("of = \"bad\"", "of = \"leak\"", 24, "MapOf"),
        ("of = \"bad\"", "of = \"bda\"", 24, r#"Some("bad")"#),
        ("of = \"bad\"", "of = \"bad\"\ndefault = 1", 25, r#"GoesNotWith { key: "default", with: "of" }"#),
        ("4 = 1 }", "5 = 1 }", 25, r#"MapHas { given: "\"5\"", name: "bad""#),
        (", 4 = 1 }", " }", 25, r#"MapLacks { name: "bad", value: "4" }"#),
        ("map = { 1 = 4", "map = { 1 = true", 25, r#"WrongType { key: "1", wanted: NumberOrText"#),
        ("uniform = [1.1, 1.7]", "uniform = [1.7, 1.1]", 29, "UniformOrder { low: 1.7, high: 1.1 }"),
        ("uniform = [1.1, 1.7]", "uniform = [1.1]", 29, "Uniform { given: 1 }"),
        ("uniform = [1.1, 1.7]", "uniform = [1.11, 1.7]", 29, "Decimals { given: 1.11, decimals: 1 }"),
        ("uniform = [1.1, 1.7]", "uniform = [1.1, inf]", 29, "NotFinite"),
        ("decimals = 1\n", "", 26, r#"MissingKey { table: "[[vary]]", key: "decimals" }"#),
        ("decimals = 1\n", "decimals = 7\n", 30, r#"NotWhole { key: "decimals", low: 0.0, high: 6.0"#),
        ("default = 1.4", "default = 1.8", 28, r#"OutOfRange { key: "default", low: 1.1, high: 1.7"#),
        ("default = 1.4", "default = 1.41", 28, "Decimals { given: 1.41, decimals: 1 }"),
        ("sd = 2", "sd = 0", 34, r#"NotPositive { key: "sd", given: 0.0 }"#),
        ("sd = 2", "sd = 20", 34, "Narrow"),
        ("mean = -20", "mean = 20", 34, "MeanOutside"),
        ("sd = 2, ", "", 34, r#"MissingKey { table: "normal", key: "sd" }"#),
        ("sd = 2", "sd = 2, dev = 1", 34, r#"{ table: "normal", key: "\"dev\"""#),
        ("default = -20", "default = -30", 33, r#"OutOfRange { key: "default""#),
        ("cylinder = \"{bad}\"", "cylinder = \"{bda}\"", 15, r#"Some("bad")"#),
        ("cylinder = \"{bad}\"", "cylinder = \"{bad\"", 15, "NameNotClosed"),
        ("cylinder = \"{bad}\"", "cylinder = \"{}\"", 15, "NoName"),
        (
            "cylinder = \"{bad}\"",
            "cylinder = \"{which}\"",
            15,
            r#"WrongType { key: "cylinder", wanted: Number"#,
        ),
        ("load = \"{which}\"", "load = \"lamps\"", 36, r#"NameUnused { name: "which" }"#),
        ("load = \"{which}\"", "load = \"{bad}\"", 36, r#"NameUnused { name: "which" }"#),
        ("[[vary]]\nname = \"bad\"", "[vary]\nname = \"bad\"", 0, ""),
        ("seed = 4", "seed = 4\nsame_parts = 1", 11, r#"WrongType { key: "same_parts", wanted: Flag"#),
        ("why = \"as it was drawn\"", "why = \"{leak}\"", 67, r#"WrongType { key: "why", wanted: Text"#),
    ];
    for (from, to, line, rule) in cases {
        let e = read(&changed(SCENARIO, from, to), None).expect_err(to);
        let said = format!("{:?} {:?}", e.mistake, e.help);
        assert!(said.contains(rule), "{from} -> {to}: {said}");
        assert!(*line == 0 || e.line == *line, "{from} -> {to}: {said}");
        let told = idlewright::app::Error::from(e).to_string();
        assert_eq!(told.lines().count(), 1, "{told}");
    }
    // a place inside a string is the place in the file
    let e = read(&changed(SCENARIO, "P030{bad}", "P030{dab}"), None).expect_err("no such name");
    let column =
        SCENARIO.lines().find(|l| l.contains("P030{bad}")).and_then(|l| l.find("bad")).expect("it") + 1;
    assert_eq!((e.line, e.column), (60, column), "{e}");
    // what is drawn may break a rule that the default keeps: told for that trainee
    let text = changed(SCENARIO, "choose = [1, 2, 3, 4]", "choose = [1, 2, 3, 400]");
    let text = changed(&text, "4 = 1 }", "400 = 1 }");
    assert!(read(&text, None).is_ok());
    let wrong = (0..40).filter(|k| read(&text, Some(&who(1, &k.to_string()))).is_err()).count();
    assert!((2..=20).contains(&wrong), "{wrong} of 40 cannot be read");
}

#[test]
fn trips_broken_trainees() {
    for word in ["", " a", "a ", "a\nb", "\u{7f}", &"x".repeat(65)] {
        assert!(Who::new(1, word, None).is_err(), "{word:?}");
    }
    for word in ["1", "bench 7", "Jürgen", "\u{1f697}", &"ä".repeat(64)] {
        assert!(Who::new(1, word, None).is_ok(), "{word:?}");
    }
}

// ---------------------------------------------------------------------------------------------------
// Seals
// ---------------------------------------------------------------------------------------------------

/// The seal is HMAC-SHA256: RFC 4231's form is checked by the crate; here, that each field is under it.
#[test]
fn trips_a_ticket_forged_in_each_field() {
    let key = Key::new(b"0123456789abcdef").expect("a key");
    let one = who(9, "bench 1");
    let t = Ticket::new("own", SCENARIO, &one, &key);
    let sealed = |t: &Ticket, key: &Key| {
        let who = Who::new(t.class_seed, &t.trainee, Some(t.seal.clone())).expect("a trainee");
        key.check(&t.scenario, &t.hash, &who)
    };
    assert_eq!(sealed(&t, &key), Seal::Sealed);
    assert_eq!(t, Ticket::read(&t.text()).expect("a ticket"));
    let flip = |h: &str| if h.starts_with('0') { h.replacen('0', "1", 1) } else { format!("0{}", &h[1..]) };
    let forged = [
        Ticket { scenario: "another".into(), ..t.clone() },
        Ticket { hash: flip(&t.hash), ..t.clone() },
        Ticket { class_seed: 10, ..t.clone() },
        Ticket { trainee: "bench 2".into(), ..t.clone() },
        Ticket { trainee: "bench 1\u{301}".into(), ..t.clone() },
        Ticket { seal: flip(&t.seal), ..t.clone() },
        Ticket { seal: t.seal[..62].into(), ..t.clone() },
        Ticket { seal: t.seal.to_uppercase(), ..t.clone() },
        Ticket { seal: String::new(), ..t.clone() },
    ];
    for f in &forged {
        assert_eq!(sealed(f, &key), Seal::Forged, "{f:?}");
    }
    let other = Key::new(b"0123456789abcdeg").expect("a key");
    assert_eq!(sealed(&t, &other), Seal::Forged);
    assert_eq!(key.check("own", &t.hash, &one), Seal::Unsealed);
    // an editor's line end does not count
    let again = Key::new(b"0123456789abcdef\r\n").expect("a key");
    assert_eq!(sealed(&t, &again), Seal::Sealed);
    assert!(Key::new(b"0123456789abcde\n").is_err(), "15 bytes are too few");
    assert_eq!(format!("{key:?}"), "Key(..)", "a key is not told");
    // a ticket is for one text
    assert!(t.clone().who(SCENARIO).is_ok());
    assert!(t.clone().who(&changed(SCENARIO, "seed = 4", "seed = 5")).is_err());
    for text in
        ["", "{}", "[]", "no", &t.text().replace("\"idlewright_ticket\":1", "\"idlewright_ticket\":2")]
    {
        assert!(Ticket::read(text).is_err(), "{text}");
    }
}

// ---------------------------------------------------------------------------------------------------
// Command line
// ---------------------------------------------------------------------------------------------------

fn folder(name: &str) -> PathBuf {
    let dir = program::folder(name);
    std::fs::write(dir.join(FILE), SCENARIO).expect("a scenario");
    let acts = "schema = 1\n[about]\nid = \"T\"\ntitle = \"t\"\n[setup]\nrun_s = 8\n\
                [[act]]\nid = \"codes\"\nat_s = 3\nservice = \"read_codes\"\n";
    std::fs::write(dir.join("T.toml"), acts).expect("actions");
    let cut = "[[act]]\nid = \"cut\"\nafter_s = 1\nservice = \"cut_out\"\ncylinder = \"{bad}\"\n";
    std::fs::write(dir.join("N.toml"), format!("{acts}{cut}")).expect("actions");
    dir
}

#[track_caller]
fn ends(o: &Output, code: i32) -> String {
    program::ends(o, code) + &err(o)
}

/// Every channel of a run under a closed lid: none has what was drawn, and all name the trainee, marked unsealed.
#[test]
fn holds_a_closed_lid_over_what_was_drawn() {
    let dir = folder("lid");
    let trainee = ["--class-seed", "7", "--trainee", "bench 1"];
    let run = |more: &[&str], code| ends(&go(&dir, &[&["run", FILE][..], &trainee, more].concat()), code);
    let table = run(&["--out", "closed"], 0);
    let object = run(&["--json"], 0);
    let one = read(SCENARIO, Some(&who(7, "bench 1"))).expect("a variant");
    let file = |name: &str| std::fs::read_to_string(dir.join("closed").join(name)).expect(name);
    let (bad, off) = (number(&one, "bad"), number(&one, "off"));
    let channels = [
        ("table", table),
        ("object", object),
        ("logbook", file("logbook.jsonl")),
        ("trace", file("trace.csv")),
        ("debrief", file("debrief.html")),
    ];
    for (name, said) in &channels {
        for hidden in [
            &format!("{off:.3}")[..7],
            &format!("P030{bad}"),
            &format!("cylinder {bad}"),
            "interrupt",
            "heated",
            "lamps",
            "deposit",
        ] {
            assert!(!said.contains(hidden), "{name} tells {hidden}:\n{said}");
        }
        if *name != "trace" {
            assert!(said.contains("bench 1"), "{name} names the trainee");
        }
        if ["table", "object", "debrief"].contains(name) {
            assert!(said.contains("unsealed"), "{name} marks that nobody sealed it:\n{said}");
            assert!(said.contains("P030{bad}"), "{name} tells the expectation as it was written:\n{said}");
        }
    }
    let v: Value = serde_json::from_str(channels[1].1.lines().next().expect("a line")).expect("JSON");
    assert_eq!((&v["trainee"], &v["class_seed"]), (&Value::from("bench 1"), &Value::from(7)));
    let open = run(&["--json", "--lid", "open"], 0);
    assert!(open.contains(&format!("P030{bad}")) && open.contains(&off.to_string()), "{open}");
    let v: Value =
        serde_json::from_str(&program::ends(&go(&dir, &["run", FILE, "--json"]), 0)).expect("JSON");
    assert!(v["trainee"].is_null() && v["class_seed"].is_null() && v["seal"].is_null());
    assert_eq!(v["seed"], 4);
}

/// An action file that asks for what was drawn would be told it by the act.
#[test]
fn trips_names_in_an_action_file_under_a_closed_lid() {
    let dir = folder("names");
    let trainee = ["--class-seed", "7", "--trainee", "bench 1"];
    for who in [&trainee[..], &[]] {
        let o = go(&dir, &[&["run", FILE, "--actions", "N.toml"][..], who].concat());
        let said = ends(&o, 2);
        assert!(said.starts_with("N.toml:15:12: `{bad}`") && said.contains("--lid open"), "{said}");
        let o = go(&dir, &[&["run", FILE, "--actions", "N.toml", "--lid", "open"][..], who].concat());
        ends(&o, 0);
        ends(&go(&dir, &[&["run", FILE, "--actions", "T.toml"][..], who].concat()), 0);
    }
    let twin = ["twin", FILE, "--actions", "N.toml", "--without", "codes"];
    ends(&go(&dir, &[&twin[..], &trainee].concat()), 2);
    // nor may a twin leave out an act that holds it
    ends(&go(&dir, &[&["twin", FILE, "--without", "box"][..], &trainee].concat()), 2);
    ends(&go(&dir, &[&["twin", FILE, "--without", "box", "--lid", "open"][..], &trainee].concat()), 0);
}

#[test]
fn trips_arguments_that_do_not_go_together() {
    let dir = folder("arguments");
    for args in [
        &["run", FILE, "--trainee", "a"][..],
        &["run", FILE, "--class-seed", "1"],
        &["run", FILE, "--class-seed", "1", "--trainee", "a", "--seed", "3"],
        &["run", FILE, "--class-seed", "1", "--trainee", " a"],
        &["run", FILE, "--class-seed", "1", "--trainee", ""],
        &["run", FILE, "--class-seed", "-1", "--trainee", "a"],
        &["run", FILE, "--ticket", "T.toml"],
        &["check", FILE, "--class-seed", "1"],
        &["check", FILE, "--variants", "0"],
        &["seal", FILE],
        &["seal", "--new-key", "k", "--key", "k"],
    ] {
        let o = go(&dir, args);
        let said = ends(&o, 2);
        assert!(!said.is_empty() && o.stdout.is_empty(), "{args:?}: {said}");
    }
    ends(&go(&dir, &["run", FILE, "--ticket", "nowhere"]), 4);
    ends(&go(&dir, &["check", FILE, "--variants", "25"]), 0);
    // an action file that sets what its scenario drew: it is read in the variant of the scenario beside it
    ends(&go(&dir, &["check", "N.toml", "--class-seed", "1", "--trainee", "a"]), 2);
    ends(&go(&dir, &["check", FILE, "N.toml", "--class-seed", "1", "--trainee", "a"]), 0);
    let lesson = dir.join("lesson");
    std::fs::create_dir(&lesson).expect("a folder");
    std::fs::write(lesson.join("scenario.toml"), SCENARIO).expect("a scenario");
    std::fs::rename(dir.join("N.toml"), lesson.join("solution.toml")).expect("renamed");
    ends(&go(&dir, &["check", "lesson", "--variants", "5"]), 0);
    // what only some variants break is told with the trainee that has it
    let text = changed(SCENARIO, "choose = [1, 2, 3, 4]", "choose = [1, 2, 3, 400]");
    std::fs::write(dir.join("some.toml"), changed(&text, "4 = 1 }", "400 = 1 }")).expect("a scenario");
    ends(&go(&dir, &["check", "some.toml"]), 0);
    let said = ends(&go(&dir, &["check", "some.toml", "--variants", "30"]), 2);
    assert!(said.contains("some.toml:15:") && said.contains("variant of trainee"), "{said}");
}

#[test]
fn holds_seal_makes_one_ticket_for_each_trainee() {
    let dir = folder("seal");
    ends(&go(&dir, &["seal", "--new-key", "key"]), 0);
    let key = std::fs::read(dir.join("key")).expect("a key");
    let said = ends(&go(&dir, &["seal", "--new-key", "key"]), 4);
    assert!(said.contains("never overwritten"), "{said}");
    assert_eq!(key, std::fs::read(dir.join("key")).expect("a key"), "it is the old one");
    ends(&go(&dir, &["seal", "--new-key", "key2"]), 0);
    assert_ne!(key, std::fs::read(dir.join("key2")).expect("a key"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(dir.join("key")).expect("a key").permissions().mode();
        assert_eq!(mode & 0o077, 0, "nobody else may read it: {mode:o}");
    }
    std::fs::write(dir.join("class.txt"), "bench 1\r\n\nbench/2\nÄnne\n../../x\n").expect("a list");
    let args = ["seal", FILE, "--class-seed", "7", "--trainees", "class.txt", "--key", "key", "--out", "t"];
    ends(&go(&dir, &args), 0);
    let mut names: Vec<String> = std::fs::read_dir(dir.join("t"))
        .expect("tickets")
        .map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names, ["1-bench-1.ticket", "2-bench-2.ticket", "3--nne.ticket", "4-------x.ticket"]);
    ends(&go(&dir, &args), 0); // the same tickets once more
    let other = args.map(|a| if a == "key" { "key2" } else { a });
    assert!(ends(&go(&dir, &other), 4).contains("a different ticket is already there"));
    // it is run with, and nothing else decides who it is
    let run = ["run", FILE, "--ticket", "t/1-bench-1.ticket", "--json"];
    let v: Value = serde_json::from_str(&program::ends(&go(&dir, &run), 0)).expect("JSON");
    let s = read(SCENARIO, Some(&who(7, "bench 1"))).expect("a variant");
    assert_eq!((&v["trainee"], &v["seal"]), (&Value::from("bench 1"), &Value::from("not checked")));
    assert_eq!(v["seed"], s.setup.seed);
    let said = ends(&go(&dir, &["run", "healthy-idle", "--ticket", "t/1-bench-1.ticket"]), 2);
    assert!(said.contains("for another text of scenario own"), "{said}");
    for more in [&["--seed", "3"][..], &["--class-seed", "7", "--trainee", "bench 1"]] {
        ends(&go(&dir, &[&run[..], more].concat()), 2);
    }
    // lists and keys that are none
    let text = std::fs::read_to_string(dir.join("key")).expect("a key");
    for (list, rule) in [
        ("a\nb\na\n", "class.txt:3:1: this trainee is already on line 1"),
        ("\n \n", "there is no trainee in it"),
        ("a\u{7}b\n", "class.txt:1:1: the trainee's name must not contain control"),
        ("a\nb\u{202e}c\n", "class.txt:2:1: the trainee's name must not contain control"),
        ("a\nb\u{200b}\n", "class.txt:2:1: the trainee's name must not contain control"),
        (&text, "class.txt:1:1: this looks like a key"),
    ] {
        std::fs::write(dir.join("class.txt"), list).expect("a list");
        let said = ends(&go(&dir, &args), 2);
        assert!(said.contains(rule), "{said}");
    }
    std::fs::write(dir.join("class.txt"), "a\n").expect("a list");
    std::fs::write(dir.join("key"), "short").expect("a key");
    assert!(ends(&go(&dir, &args), 2).contains("16 bytes or more"));
    std::fs::remove_file(dir.join("key")).expect("gone");
    ends(&go(&dir, &args), 4);
}
