//! The slow clock: days that are lived through with the electrics alone come to what days in full come to; the same
//! bytes however time is cut; a hand ends it.
//!
//! The long comparison is an example: `cargo run --example year -- --each 1,14`. With IDLEWRIGHT_LONG set the tests
//! here drive longer trips, too.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use crate::bay::PLOVER as CAR;
use crate::bay::program::{ends, folder, go, text, write};
use idlewright::bench::action::{Action, Connector, Key, Life, Note};
use idlewright::bench::facts::{DriverTells, Hindrance, LifeEnd, Stranded};
use idlewright::bench::pattern::Name;
use idlewright::bench::record::Kind;
use idlewright::bench::setup::Setup;
use idlewright::bench::{Bench, Done};

const DAY_S: f64 = 86_400.0;

fn long() -> bool {
    std::env::var_os("IDLEWRIGHT_LONG").is_some()
}

/// Two short trips a day.
const SHORT: Life = Life { pattern: Name::Town, minutes: 2.0, trips: 2, days_a_week: 7, days: 3, each: 2 };

/// A car that has stood for a moment; its throttle chokes so many times faster than in life.
fn standing(chokes: f64) -> Bench {
    let car = CAR.replace("deposit_um_h = 0.04", &format!("deposit_um_h = {:.3}", 0.04 * chokes));
    let mut b = Bench::standing(&Setup::healthy(&car, 1, 20.0)).expect("a bench");
    b.advance_by(1.0);
    b
}

fn told(b: &Bench) -> Vec<DriverTells> {
    let what = |k: &Kind| if let Kind::Drive { what } = k { Some(what.clone()) } else { None };
    b.log().iter().filter_map(|e| what(&e.kind)).collect()
}

/// Driven on to the end; it lasts so many days to the microsecond and says so.
fn lived(mut b: Bench, life: Life) -> Bench {
    let from_s = b.time_s();
    assert_eq!(b.act("life", Action::DriveOn(life)), Done::Yes);
    let until_s = b.slow_until_s().expect("a life");
    b.advance_to(until_s);
    assert!((b.time_s() - from_s - DAY_S * f64::from(life.days)).abs() < 1e-6, "{}", b.time_s());
    assert!(b.slow_view().is_none(), "over");
    let last = told(&b).pop();
    assert!(matches!(last, Some(DriverTells::DrivenOn { how: LifeEnd::Whole, .. })), "{last:?}");
    b
}

/// What is compared: deposit \[µm\], learned idle air \[g/s\], capacity left, water lost \[g\], charge given \[Ah\], charge,
/// charge by the module's count.
fn left(b: &Bench) -> [f64; 7] {
    let s = &b.plant().s;
    let battery = &s.parts.battery;
    let seen = b.observe();
    let learned = seen.learned.iter().find(|l| l.name == "idle_air_light").expect("it is there");
    [
        s.parts.throttle.deposit_um,
        learned.value,
        battery.health(),
        battery.water_lost_g,
        battery.given_ah,
        battery.charge,
        b.ecm().s.charging.charge,
    ]
}

/// Fifteen days (thirty where asked for long ones) driven every day, in full and with a day in 7 and in 14 in full: deposit,
/// capacity and what the module counts within 2 %, water and charge given too; learned idle air within 0.03 g/s, which
/// is what it wanders by. The deposit grows ten times faster than in life, so that there is something to learn, and a
/// trip is long enough to idle warm. The tolerance is the project's own.
#[test]
fn holds_days_that_are_carried_on() {
    let (trips, days) = if long() { (2, 30) } else { (1, 15) };
    let month = |each| Life { pattern: Name::Town, minutes: 25.0, trips, days_a_week: 7, days, each };
    let full = left(&lived(standing(10.0), month(1)));
    println!("in full: {full:.4?}");
    for each in [7, 14] {
        let now = left(&lived(standing(10.0), month(each)));
        let off: Vec<f64> = now.iter().zip(full).map(|(x, r)| 100.0 * (x / r - 1.0)).collect();
        println!("each {each}: {now:.4?}, off by {off:.2?} %");
        for (k, what) in
            [(0, "deposit"), (2, "capacity"), (3, "water"), (4, "given"), (5, "charge"), (6, "counted")]
        {
            assert!(off[k].abs() < 2.0, "{what} is off by {:.2} %", off[k]);
        }
        let lost = (1.0 - now[2]) / (1.0 - full[2]) - 1.0;
        println!("each {each}: capacity lost is off by {:.2} %", 100.0 * lost);
        assert!(lost.abs() < 0.05);
        assert!((now[1] - full[1]).abs() < 0.03, "learned {:.3} against {:.3} g/s", now[1], full[1]);
    }
}

/// What wears with use does so by hours of running, and what a day between takes is what a day in full took.
#[test]
fn holds_use_wears_by_the_hour() {
    let b = lived(standing(1.0), Life { days: 6, each: 3, ..SHORT });
    let s = &b.plant().s;
    // two days in full of six, at the first and at the fourth, and the last
    let hours = s.totals.running_s / 3600.0 * 6.0 / 3.0;
    let per_h = [
        (s.parts.throttle.deposit_um, 0.04),
        (s.parts.plugs[0].gap_mm - 0.9, 0.00014),
        (s.parts.injectors[0].clogged, 0.000014),
        (-s.parts.air_meter.error_at_60, 0.00001),
    ];
    for (is, rate) in per_h {
        // a drive lasts some seconds more or less, until the car stands
        assert!((is / (rate * hours) - 1.0).abs() < 0.02, "{is} against {}", rate * hours);
    }
}

/// Over a month of driving and carrying on, what went into the battery is stored, gassed or on the surface of its plates.
/// What is stored is ∫ C dq; capacity falls meanwhile by less than a per cent, so that its mean charge will do there.
/// Energy: what was left at the posts less what the stored charge is worth at rest is lost, never won.
#[test]
fn holds_charge_over_a_month() {
    let b = standing(1.0);
    let life = Life { days: 28, days_a_week: 5, each: 7, minutes: 6.0, ..SHORT };
    let from = b.plant().s.clone();
    let b = lived(b, life);
    let to = &b.plant().s;
    let (old, new) = (&from.parts.battery, &to.parts.battery);
    let in_ah = (to.electrical.sums.battery_as - from.electrical.sums.battery_as) / 3600.0;
    let gassed_ah = new.gassed_ah - old.gassed_ah;
    let mean = 0.5 * (old.charge + new.charge);
    let stored_ah = new.charge * new.capacity_ah()
        - old.charge * old.capacity_ah()
        - mean * (new.capacity_ah() - old.capacity_ah());
    let layer_ah = (new.layer_as() - old.layer_as()) / 3600.0;
    let pending_ah = (to.electrical.pending_as() - from.electrical.pending_as()) / 3600.0;
    let off_ah = in_ah - gassed_ah - stored_ah - layer_ah - pending_ah;
    let through_ah = new.given_ah - old.given_ah;
    println!(
        "{in_ah:.3} Ah in, {stored_ah:.3} stored, {gassed_ah:.3} gassed, {through_ah:.3} given: off {off_ah:.5} Ah"
    );
    assert!(through_ah > 1.0);
    assert!(off_ah.abs() < 0.01);
    let in_wh = (to.electrical.sums.battery_j - from.electrical.sums.battery_j) / 3600.0;
    let kept_wh = stored_ah * 0.5 * (old.open_circuit_v() + new.open_circuit_v());
    let lost_wh = in_wh - kept_wh;
    println!("{in_wh:.2} Wh in, {kept_wh:.2} Wh kept, {lost_wh:.2} Wh lost");
    assert!(lost_wh > 0.0 && lost_wh < 12.0 * gassed_ah * 1.5 + 12.0 * through_ah * 0.5);
}

/// However the advance is cut, from a fork and from bytes in the midst of a drive, of a night, of a day carried on: the
/// same bytes at the end.
#[test]
fn same_life_however_it_is_cut() {
    let end_s = 3.0 * DAY_S + 2.0;
    let mut whole = standing(1.0);
    let _ = whole.act("life", Action::DriveOn(SHORT));
    whole.advance_to(end_s);
    let mut cut = standing(1.0);
    let _ = cut.act("life", Action::DriveOn(SHORT));
    while cut.time_s() < end_s {
        let to_s = (cut.time_s() + 1234.5).min(end_s);
        cut.advance_to(to_s);
        let _ = cut.observe();
    }
    assert_eq!(cut.state_hash(), whole.state_hash());
    assert_eq!(cut.to_bytes(), whole.to_bytes());
    for at_s in [20_000.0, 27_060.0, 100_000.0, DAY_S + 27_050.0, 2.0 * DAY_S + 27_060.0] {
        let mut b = standing(1.0);
        let _ = b.act("life", Action::DriveOn(SHORT));
        b.advance_to(at_s);
        let mut fork = b.clone();
        let mut read = Bench::from_bytes(b.setup(), &b.to_bytes()).expect("its own bytes");
        for b in [&mut fork, &mut read] {
            b.advance_to(end_s);
            assert_eq!(b.to_bytes(), whole.to_bytes(), "from {at_s} s");
        }
    }
}

/// A hand ends it at once, wherever it is; words do not. What was begun is told.
#[test]
fn holds_a_hand_ends_it() {
    // at night, in the first trip, on the day carried on
    for at_s in [10_000.0, 27_060.0, 1.5 * DAY_S] {
        let mut b = standing(1.0);
        let _ = b.act("life", Action::DriveOn(SHORT));
        b.advance_to(at_s);
        let _ = b.act("say", Action::Note(Note::Words("so far".into())));
        let _ = b.act("wait", Action::Wait);
        let view = b.slow_view().expect("it goes on");
        assert!((view.share - at_s / (3.0 * DAY_S)).abs() < 0.001, "{view:?}");
        assert_eq!(b.observe().slow, Some(view));
        let now_s = b.time_s();
        assert!(now_s < at_s + 61.0);
        let _ = b.act("key", Action::Key(Key::Off));
        assert!(b.slow_view().is_none() && b.slow_row_s().is_none());
        assert!((b.time_s() - now_s).abs() < 1e-9);
        assert!(
            told(&b).iter().any(|t| matches!(t, DriverTells::DrivenOn { how: LifeEnd::Touched, .. })),
            "{:?}",
            told(&b)
        );
        b.advance_by(30.0);
        assert!(!b.turning() && b.driver().is_none());
    }
}

/// It needs the key off, a standing engine and a battery; a battery that is gone ends it where it cannot start.
#[test]
fn trips_refusals() {
    let why = |b: &mut Bench| match b.act("life", Action::DriveOn(SHORT)) {
        Done::Hindered(why) => why,
        other => panic!("{other:?}"),
    };
    let mut b = standing(1.0);
    let _ = b.act("key", Action::Key(Key::On));
    assert_eq!(why(&mut b), Hindrance::KeyOn);
    b.advance_by(2.0);
    let _ = b.act("start", Action::Key(Key::Crank));
    b.advance_by(10.0);
    let _ = b.act("key", Action::Key(Key::Off));
    assert_eq!(why(&mut b), Hindrance::EngineTurns);
    let mut b = standing(1.0);
    let _ = b.act("clamp", Action::Connector(Connector::Battery, false));
    assert_eq!(why(&mut b), Hindrance::ClampOff);
    // ten amperes for eight hours take what a battery has
    let mut b = standing(1.0);
    let _ = b.act("wire", Action::Accessory { amps: 10.0, past_sensor: false });
    let _ = b.act("life", Action::DriveOn(SHORT));
    b.advance_to(b.slow_until_s().expect("a life"));
    let told = told(&b);
    assert_eq!(told[0], DriverTells::Stranded { day: 1, because: Stranded::NoStart });
    assert!(matches!(told[1], DriverTells::DrivenOn { how: LifeEnd::Stranded, .. }), "{told:?}");
    assert!((b.time_s() - 1.0 - 3.0 * DAY_S).abs() < 0.02 && b.slow_view().is_none());
    assert!(b.plant().s.parts.battery.charge < 0.1);
}

/// After what deposits in a year a learned value stands where the parts ask, and it was learned: nobody typed it.
#[test]
fn holds_learned_after_a_year_of_deposit() {
    let (minutes, days) = if long() { (57.6, 364) } else { (25.0, 28) };
    // as much as a year of commuting leaves
    let chokes = if long() { 1.0 } else { 480.0 / (25.0 / 60.0 * 28.0) };
    let b = standing(chokes);
    let before = left(&b)[1];
    let needed_before = b.quick_truth()[1];
    let life = Life {
        pattern: Name::Town,
        minutes,
        trips: if long() { 2 } else { 1 },
        days_a_week: 7,
        days,
        each: 2,
    };
    let b = lived(b, life);
    let (now, needed) = (left(&b)[1], b.quick_truth()[1]);
    println!(
        "deposit {:.1} µm; learned {before:.3} to {now:.3} g/s, the parts ask {needed_before:.3} to {needed:.3}",
        left(&b)[0]
    );
    assert!(needed - needed_before > 0.4);
    // the band of the healthy idle, M2
    assert!((now - needed).abs() < 0.15);
}

/// A life in an action file: the logbook comes out again by the program's own replay, a row of the trace stands where the
/// car sets off, and there are few of them.
#[test]
fn same_life_replayed() {
    let dir = folder("replayed");
    let acts = "schema = 1\n[about]\nid = \"L\"\ntitle = \"Driven on\"\n\
                [[act]]\nid = \"off\"\nat_s = 2\nkey = \"off\"\n\
                [[act]]\nid = \"life\"\nafter_s = 20\ndrive_on = \"town\"\nminutes = 2\ntrips = 1\ndays = 2\neach = 2\n\
                [[act]]\nid = \"rest\"\nafter_s = 1\nrest_h = 5\n";
    write(&dir, "acts.toml", acts);
    ends(&go(&dir, &["run", "healthy-idle", "--actions", "acts.toml", "--out", "results"]), 0);
    let trace = text(&dir, "results/trace.csv");
    let times: Vec<f64> = trace.lines().skip(1).filter_map(|l| l.split(',').next()?.parse().ok()).collect();
    let from_s = times.iter().copied().find(|t| *t > 27_000.0).expect("a morning");
    println!("{} rows, the first after seven {from_s} s", times.len());
    let slow = times.windows(2).filter(|w| w[1] - w[0] > 50.0).count();
    assert!((5..400).contains(&slow), "{slow} long rows");
    assert!(times.windows(2).all(|w| w[1] > w[0]));
    assert!(ends(&go(&dir, &["replay", "results/logbook.jsonl"]), 0).contains("consistent"));
}
