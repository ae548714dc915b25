//! The same setup and the same hands give the same bytes, always.
//!
//! The hash of a bench depends on nothing of the machine it runs on: no clock, no address, no thread, no
//! order of a hash map, no library whose last bits differ. Debug and release builds give the same one.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![expect(clippy::disallowed_methods, reason = "the recorded hash lies in a file")]

use crate::bay::{PLOVER as CAR, jobs};
use idlewright::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use idlewright::bench::pattern::Name;
use idlewright::bench::record::{Kind, hash_of};
use idlewright::bench::setup::Setup;
use idlewright::bench::{Bench, Done};
use idlewright::link::{DiagRequest, Group, Notice, Routine};
use idlewright::plant::Plant;
use idlewright::session::Run;
use idlewright::signals::{SensorFrame, ToothEdge};
use serde_json::Value;

fn setup(seed: u64) -> Setup {
    Setup::healthy(CAR, seed, 88.0)
}

fn bench(seed: u64) -> Bench {
    Bench::standing(&setup(seed)).expect("a bench")
}

fn part(kind: PartKind, serial: Option<&str>) -> PartChoice {
    PartChoice { serial: serial.map(Into::into), ..PartChoice::new(kind) }
}

/// A scene that disturbs everything once: time \[s\] and what a hand does then.
fn scene() -> Vec<(f64, Action)> {
    use Action::{
        Ask, Brake, Connector as Plug, Fit, Gear as Select, Key as Turn, Leak, Load as Switch, Pedal,
    };
    let start = |r| Ask(DiagRequest::Start(r));
    vec![
        (1.0, Turn(Key::On)),
        (3.0, Turn(Key::Crank)),
        (12.0, Switch(Load::Lamps, true)),
        (16.0, Switch(Load::Compressor, true)),
        (22.0, Pedal(20.0)),
        (26.0, Pedal(0.0)),
        (30.0, Switch(Load::Steering, true)),
        (32.0, Switch(Load::Lamps, false)),
        (32.0, Switch(Load::Compressor, false)),
        (34.0, Switch(Load::Steering, false)),
        (36.0, Brake(true)),
        (36.5, Select(Gear::Drive)),
        (38.0, Brake(false)),
        (38.0, Pedal(12.0)),
        (48.0, Pedal(0.0)),
        (48.5, Brake(true)),
        (58.0, Select(Gear::Park)),
        (59.0, Brake(false)),
        (60.0, Leak(1.5)),
        (66.0, Leak(0.0)),
        (68.0, Plug(Connector::Injector(2), false)),
        (72.0, Plug(Connector::Injector(2), true)),
        (74.0, Plug(Connector::AirMeter, false)),
        (78.0, Plug(Connector::AirMeter, true)),
        // an engine that a missing injector stopped is started again; to one that runs this is nothing
        (80.0, Turn(Key::Crank)),
        // the manual sequence
        (100.0, Brake(true)),
        (112.0, Brake(false)),
        (113.5, Switch(Load::HeatedGlass, true)),
        (123.5, Switch(Load::HeatedGlass, false)),
        (145.5, Brake(true)),
        (148.5, Brake(false)),
        (150.0, Ask(DiagRequest::ReadLive)),
        (150.1, Ask(DiagRequest::ReadCodes)),
        (150.2, start(Routine::LearnIdle)),
        (152.0, Ask(DiagRequest::Progress)),
        (154.0, Ask(DiagRequest::Stop)),
        (155.0, Ask(DiagRequest::ReadFreezeFrame("P0171".into()))),
        (155.1, Ask(DiagRequest::ReadLearned)),
        (156.0, Turn(Key::Off)),
        (170.0, Fit(part(PartKind::ThrottleBody, None))),
        (170.0, Fit(part(PartKind::Injector(3), None))),
        (170.0, Fit(part(PartKind::AirMeter, Some("KX7P2M")))),
        (171.0, Action::CleanThrottle),
        (172.0, Turn(Key::On)),
        (174.0, start(Routine::LearnClosedStop)),
        (177.0, start(Routine::ResetGroup(Group::IdleAir))),
        (177.1, start(Routine::ResetGroup(Group::LongTrims))),
        (178.0, Ask(DiagRequest::ClearCodes)),
        (179.0, Turn(Key::Crank)),
        (192.0, start(Routine::LearnIdle)),
        (215.0, Turn(Key::Off)),
        (217.0, Turn(Key::On)),
        (219.0, Turn(Key::Off)),
        (228.0, Plug(Connector::Battery, false)),
        (233.0, Plug(Connector::Battery, true)),
        (235.0, Turn(Key::On)),
        (237.0, Turn(Key::Crank)),
        (250.0, Action::Drive { pattern: Name::Town, minutes: 1.0 }),
        (315.0, Action::Wait),
    ]
}

/// Plays acts whose time has not come yet; gives the hash after each.
fn play(b: &mut Bench, acts: &[(f64, Action)]) -> Vec<String> {
    acts.iter()
        .map(|(t, action)| {
            b.advance_to(*t);
            let done = b.act("", action.clone());
            assert!(!matches!(done, Done::Hindered(_)), "at {t} s: {action:?}: {done:?}");
            b.state_hash()
        })
        .collect()
}

fn play_all(seed: u64, acts: &[(f64, Action)]) -> Bench {
    let mut b = bench(seed);
    play(&mut b, acts);
    b
}

fn said(b: &Bench, what: fn(&Notice) -> bool) -> bool {
    b.log().iter().any(|e| matches!(&e.kind, Kind::Module { what: w } if what(w)))
}

#[test]
fn same_twice_whatever_was_done_to_it() {
    let acts = scene();
    let (mut a, mut b) = (bench(1), bench(1));
    assert_eq!(play(&mut a, &acts), play(&mut b, &acts), "hashes after each act");
    assert_eq!(a.log(), b.log());
    assert_eq!(a.observe(), b.observe());
    assert_eq!(a.truth(), b.truth());
    // the scene did disturb what it says
    let wanted: [fn(&Notice) -> bool; 4] = [
        |n| matches!(n, Notice::SequenceComplete { .. } | Notice::SequenceAborted { .. }),
        |n| *n == Notice::RoutineStarted { routine: Routine::LearnIdle },
        |n| *n == Notice::RoutineStarted { routine: Routine::LearnClosedStop },
        |n| *n == Notice::GroupReset { group: Group::IdleAir },
    ];
    for (k, what) in wanted.into_iter().enumerate() {
        assert!(said(&a, what), "the scene never came to number {k}\n{:#?}", a.log());
    }
    assert!(a.observe().live.running, "the engine runs at the end of the scene");
}

/// What decides about the future is in the hash: how many parts came from the shelf draws the next one's serial, and
/// since when the key is held at crank says when it is let go.
#[test]
fn bug_hash_holds_what_was_fitted_and_since_when_it_cranks() {
    let fit = |b: &mut Bench| {
        b.act("", Action::Fit(part(PartKind::Coil(1), Some("C-77"))));
    };
    let (mut once, mut twice) = (bench(1), bench(1));
    fit(&mut once);
    fit(&mut twice);
    assert_eq!(once.state_hash(), twice.state_hash());
    fit(&mut twice);
    assert_ne!(once.state_hash(), twice.state_hash(), "another part came from the shelf");

    let crank = |again: bool| {
        let mut b = bench(1);
        b.act("", Action::Key(Key::Crank));
        b.advance_by(0.2);
        if again {
            b.act("", Action::Key(Key::Crank));
        }
        b.state_hash()
    };
    assert_ne!(crank(false), crank(true), "the key is held for longer");
}

/// A part that was not fitted does not draw the serial of the next one.
#[test]
fn bug_a_refused_part_draws_no_serial() {
    let serial = |refused: bool| {
        let mut b = bench(1);
        if refused {
            let done = b.act("", Action::Fit(PartChoice::new(PartKind::Coil(7))));
            assert!(matches!(done, Done::Hindered(_)), "this engine has four cylinders");
        }
        b.act("", Action::Fit(PartChoice::new(PartKind::Coil(1))));
        b.plant().s.parts.coils[0].serial.clone()
    };
    assert_eq!(serial(true), serial(false));
}

/// The guard: a hash that never changed would prove nothing.
#[test]
fn trips_when_a_seed_a_time_or_a_part_differs() {
    let acts = scene();
    let first = play_all(1, &acts).state_hash();
    assert_ne!(first, play_all(2, &acts).state_hash(), "another seed");
    let mut later = acts.clone();
    later[2].0 += 0.1;
    assert_ne!(first, play_all(1, &later).state_hash(), "lamps a tenth of a second later");
    let mut other = acts.clone();
    let meter = other.iter_mut().find(|a| matches!(&a.1, Action::Fit(c) if c.serial.is_some())).unwrap();
    meter.1 = Action::Fit(part(PartKind::AirMeter, Some("KX7P2N")));
    assert_ne!(first, play_all(1, &other).state_hash(), "another serial");
    let mut hashes = play(&mut bench(1), &acts);
    hashes.dedup();
    assert!(hashes.len() + 8 > acts.len(), "most acts and waits show in the hash");
}

#[test]
fn same_fork_and_rejoin() {
    let acts = scene();
    let half = acts.iter().position(|a| a.0 >= 113.0).unwrap();
    let mut trunk = bench(3);
    play(&mut trunk, &acts[..half]);
    let said: Vec<_> = trunk.log().iter().filter(|e| matches!(e.kind, Kind::Module { .. })).collect();
    assert!(trunk.observe().live.running, "the fork is of a running engine: {said:?}");
    let at_fork = trunk.state_hash();
    let mut branch = trunk.clone();
    assert_eq!(branch.state_hash(), at_fork);
    // a fork that goes another way touches nothing of where it came from
    let mut astray = trunk.clone();
    astray.act("", Action::Pedal(30.0));
    astray.advance_by(1.0);
    assert_eq!(trunk.state_hash(), at_fork, "a fork shares no state");
    assert_eq!(play(&mut trunk, &acts[half..]), play(&mut branch, &acts[half..]));
    assert_eq!(trunk.log(), branch.log());
    astray.act("", Action::Pedal(0.0));
    play(&mut astray, &acts[half..]);
    assert_ne!(trunk.state_hash(), astray.state_hash(), "another past, another state");
    assert_eq!(trunk.state_hash(), play_all(3, &acts).state_hash(), "forking itself changes nothing");
}

#[test]
fn same_serial_same_part() {
    let kinds = [PartKind::ThrottleBody, PartKind::AirMeter, PartKind::Injector(3)];
    let with = |seed: u64, serial: Option<&str>| {
        let mut s = setup(seed);
        s.parts = kinds.iter().map(|k| part(*k, serial)).collect();
        let p = Bench::standing(&s).expect("a bench").plant().s.parts.clone();
        (p.throttle, p.air_meter, p.injectors[2].clone())
    };
    let first = with(1, Some("KX7P2M"));
    for seed in [2, 99, u64::MAX] {
        assert_eq!(first, with(seed, Some("KX7P2M")), "seed {seed}");
    }
    // fitted by hand, under another seed: still the same part
    let mut b = bench(77);
    for k in kinds {
        assert_eq!(b.act("", Action::Fit(part(k, Some("KX7P2M")))), Done::Yes);
    }
    let p = b.plant().s.parts.clone();
    assert_eq!(first, (p.throttle, p.air_meter, p.injectors[2].clone()));
    // another serial is another part, and no serial follows the seed
    let other = with(1, Some("KX7P2N"));
    assert!(first.0 != other.0 && first.1 != other.1 && first.2 != other.2);
    assert_eq!(with(5, None), with(5, None));
    assert_ne!(with(5, None), with(6, None));
}

#[test]
fn same_advance_in_pieces() {
    let acts = scene();
    let whole = play_all(1, &acts);
    for pieces in [[0.013, 0.1, 0.000_7, 1.7], [0.333, 0.01, 0.02, 0.004_9]] {
        let mut b = bench(1);
        let mut next = pieces.iter().cycle();
        for (t, action) in &acts {
            while b.time_s() < *t {
                b.advance_to((b.time_s() + next.next().unwrap()).min(*t));
            }
            b.act("", action.clone());
        }
        assert_eq!(whole.state_hash(), b.state_hash(), "pieces {pieces:?}");
        assert_eq!(whole.log(), b.log(), "pieces {pieces:?}");
    }
}

/// Looking is not touching: a bench that is read all the time goes the way of one that is left alone.
#[test]
fn same_watched_or_not() {
    let acts = &scene()[..24];
    let alone = play_all(1, acts);
    let mut b = bench(1);
    for (t, action) in acts {
        while b.time_s() + 0.5 < *t {
            b.advance_by(0.37);
            let _ = (b.observe(), b.truth(), b.quick_truth(), b.state_hash(), b.clone().advance_by(0.05));
        }
        b.advance_to(*t);
        b.act("", action.clone());
    }
    assert_eq!(alone.state_hash(), b.state_hash());
}

/// On another thread, beside others: nothing is shared and nothing depends on who runs first.
#[test]
fn same_on_any_thread() {
    let here = play_all(1, &scene()).state_hash();
    let there: Vec<String> = std::thread::scope(|s| {
        let runs: Vec<_> = (0..2).map(|_| s.spawn(|| play_all(1, &scene()).state_hash())).collect();
        runs.into_iter().map(|r| r.join().expect("a run")).collect()
    });
    assert_eq!(there, [here.clone(), here]);
}

/// What reached the module, in order.
#[expect(clippy::large_enum_variant, reason = "a handful in a test")]
enum Pins {
    Edge(ToothEdge),
    Sample(SensorFrame),
}

/// Drives an engine and its module by hand, as the bench does; gives everything on the harness.
fn record_pins(b: &Bench, seconds: f64) -> (Plant, idlewright::ecm::Ecm, Vec<Pins>) {
    let (mut plant, mut ecm) = (b.plant().clone(), b.ecm().clone());
    let mut pins = Vec::new();
    while plant.s.time_s < seconds {
        let t = plant.s.time_s;
        let h = &mut plant.s.hands;
        h.key_on = t > 1.0;
        h.key_crank = t > 3.0 && t < 4.2;
        h.lamps = (10.0..15.0).contains(&t);
        h.compressor = (12.0..18.0).contains(&t);
        h.pedal_pct = if (20.0..24.0).contains(&t) { 15.0 } else { 0.0 };
        let stepped = plant.step(ecm.out());
        if let Some(e) = stepped.edge {
            ecm.edge(&e);
            pins.push(Pins::Edge(e));
        }
        if stepped.sampled {
            ecm.sample(plant.frame());
            pins.push(Pins::Sample(plant.frame().clone()));
        }
    }
    (plant, ecm, pins)
}

/// The pins are all that the module has: one that gets the recorded pins and nothing else comes to the
/// same commands at every sample and to the same state.
#[test]
fn same_pins_same_module() {
    let b = bench(1);
    let (_, ecm, pins) = record_pins(&b, 40.0);
    let (_, again, pins_again) = record_pins(&b, 40.0);
    assert_eq!(ecm.s, again.s);
    let frames = |pins: &[Pins]| -> Vec<SensorFrame> {
        pins.iter().filter_map(|p| if let Pins::Sample(f) = p { Some(f.clone()) } else { None }).collect()
    };
    assert_eq!(hash_of(&frames(&pins)), hash_of(&frames(&pins_again)), "every frame, bit for bit");
    assert!(frames(&pins).len() > 3900);
    let mut twin = b.ecm().clone();
    for p in &pins {
        match p {
            Pins::Edge(e) => twin.edge(e),
            Pins::Sample(f) => twin.sample(f),
        }
    }
    assert_eq!(hash_of(&twin.s), hash_of(&ecm.s));
    assert_eq!(twin.out(), ecm.out());
    assert!(ecm.s.running, "the engine was started");
}

fn session(file: &str, actions: Option<&str>) -> Run {
    jobs::run(&jobs::scenario(file), actions.map(jobs::actions).as_ref(), &jobs::lid_open())
}

#[test]
fn same_session_twice_but_for_cpu_time() {
    for (file, actions) in
        [("healthy-idle", None), ("fast-since-a-new-throttle", Some("fast-since-a-new-throttle/solution"))]
    {
        let (a, b) = (session(file, actions), session(file, actions));
        let without_cpu = |r: &Run| -> Value {
            let mut v = r.json();
            let cpu = v.as_object_mut().expect("an object").remove("cpu_s").expect("cpu_s is there");
            assert!(cpu.as_f64().is_some_and(|s| s >= 0.0));
            v
        };
        assert_eq!(without_cpu(&a).to_string(), without_cpu(&b).to_string(), "{file}");
        assert_eq!(a.trace, b.trace, "{file}");
        assert_eq!(a.logbook(), b.logbook(), "{file}");
        assert_eq!(a.bench.state_hash(), b.bench.state_hash());
    }
}

const GOLDEN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/scene.hash");

#[test]
fn same_recorded_hash() {
    let now = play_all(1, &scene()).state_hash();
    if std::env::var_os("IDLEWRIGHT_RECORD").is_some() {
        std::fs::write(GOLDEN, format!("{now}\n")).expect("writing the recorded hash");
    }
    let recorded = std::fs::read_to_string(GOLDEN).unwrap_or_default();
    assert_eq!(
        recorded.trim(),
        now,
        "\nThe scene's hash is not the recorded one. Why did it change? A change of model, of module, of a \
         car's file or of what the state holds changes it, and the commit says which. Nothing of the machine \
         does: if no such change was meant, something random or machine-bound has crept in. When the change \
         is meant, re-record:\n    IDLEWRIGHT_RECORD=1 cargo test --test guards determinism\n"
    );
}
