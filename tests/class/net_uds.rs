//! The order in which a request is checked, sessions, security, routines and who may do what, without a network.
//!
//! Codes and their order are those of ISO 14229-1:2020, figures 5 and 6 and annex A.1, from memory.

use crate::bay::{act, code, learned, stale, start, stop};
use crate::net_support::{Bay, OTHER, TESTER};
use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Gear, Key, Load};
use idlewright::bench::record::Kind;
use idlewright::bench::setup::Setup;
use idlewright::link::{DiagRequest, Routine, Writer};
use idlewright::net::security::{TRIES, WAIT, key};
use idlewright::store;
use std::time::Duration;

fn standing(car: &str, coolant_c: f64) -> Bench {
    let text = store::car_text(car, None).expect("a car");
    Bench::standing(&Setup::healthy(&text, 4, coolant_c)).expect("a bench")
}

/// Key on, engine stopped.
fn on(car: &str) -> Bay {
    let mut b = standing(car, 88.0);
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    Bay::new(b)
}

/// Idling, warm.
fn idling(car: &str) -> Bay {
    let mut b = standing(car, 88.0);
    start(&mut b);
    b.advance_by(60.0);
    Bay::new(b)
}

#[test]
fn source_a_request_is_checked_in_the_standard_order() {
    let mut bay = on("plover");
    for (asks, code) in [
        (&[0x84][..], 0x11),                      // no such service
        (&[0x2E, 0x24, 0x00, 0, 0, 0][..], 0x7F), // not in this session
        (&[0x27][..], 0x7F),                      // that comes before its length
        (&[0x31, 0x01, 0x03, 0x01][..], 0x7F),
        (&[0x2F, 0x26, 0x01, 0x00][..], 0x7F),
        (&[0x10][..], 0x13), // length before the sub-function
        (&[0x10, 0x55][..], 0x12),
        (&[0x10, 0x55, 0x00][..], 0x12), // a sub-function that is not there before the whole length
        (&[0x10, 0x03, 0x00][..], 0x13),
        (&[0x3E, 0x01][..], 0x12),
        (&[0x3E, 0x00, 0x00][..], 0x13),
        (&[0x11, 0x05][..], 0x12),
        (&[0x14, 0xFF, 0xFF][..], 0x13),
        (&[0x14, 0x05, 0x07, 0x00][..], 0x31), // no single code
        (&[0x19][..], 0x13),
        (&[0x19, 0x44][..], 0x12),
        (&[0x19, 0x02][..], 0x13),
        (&[0x19, 0x04, 0x99, 0x99, 0x00, 0xFF][..], 0x31),
        (&[0x22][..], 0x13),
        (&[0x22, 0xF1][..], 0x13),
        (&[0x22, 0xAB, 0xCD][..], 0x31),
        (&[0x01, 0x99][..], 0x12),
        (&[0x01][..], 0x13),
        (&[0x03, 0x00][..], 0x13),
    ] {
        assert_eq!(bay.refused(asks), code, "{asks:02X?}");
    }
    assert_eq!(bay.told(&[0x10, 0x03]), [0x50, 0x03, 0x00, 0x32, 0x01, 0xF4]);
    for (asks, code) in [
        (&[0x27, 0x05][..], 0x12),
        (&[0x27, 0x02, 1, 2, 3, 4][..], 0x24), // a key without a seed
        (&[0x31, 0x01][..], 0x13),
        (&[0x31, 0x01, 0xAB, 0xCD][..], 0x31), // the routine before security
        (&[0x31, 0x01, 0x03, 0x01][..], 0x33), // security before the sub-function
        (&[0x31, 0x03, 0x03, 0x01][..], 0x24), // results of what was never started need no key
        (&[0x2E, 0x24, 0x00][..], 0x13),
        (&[0x2E, 0xF1, 0x90, 0x00][..], 0x31), // not to be written
        (&[0x2E, 0x24, 0x00, 0x00][..], 0x33), // security before the whole length
        (&[0x2E, 0x23, 0x01, b'A'][..], 0x31), // this module works without injector codes
        (&[0x2F, 0x26, 0x01][..], 0x13),
        (&[0x2F, 0x26, 0x09, 0x00][..], 0x31), // no such cylinder
        (&[0x2F, 0x26, 0x01, 0x00][..], 0x33),
    ] {
        assert_eq!(bay.refused(asks), code, "{asks:02X?}");
    }
    bay.unlock();
    for (asks, code) in [
        (&[0x31, 0x02, 0x03, 0x01][..], 0x12), // a reset cannot be stopped
        (&[0x31, 0x01, 0x03, 0x01, 0x00][..], 0x13),
        (&[0x31, 0x02, 0x03, 0x11][..], 0x24), // nothing to stop
        (&[0x31, 0x01, 0x03, 0x21][..], 0x13), // an idle speed is wanted
        (&[0x31, 0x01, 0x03, 0x21, 0x27, 0x10][..], 0x31),
        (&[0x31, 0x01, 0x03, 0x05][..], 0x31), // this module has no short-pulse trims
        (&[0x2E, 0x24, 0x00, 0x00][..], 0x13),
        (&[0x2E, 0x24, 0x00, 0x07, 0x02, 0x58][..], 0x31),
        (&[0x2E, 0x24, 0x00, 0x00, 0x00, 0x01][..], 0x31),
        (&[0x2F, 0x26, 0x01, 0x03][..], 0x13),
        (&[0x2F, 0x26, 0x01, 0x02][..], 0x31),
    ] {
        assert_eq!(bay.refused(asks), code, "{asks:02X?}");
    }
}

#[test]
fn source_entry_conditions_have_their_codes() {
    // key on, engine stopped
    let mut bay = on("plover");
    bay.unlock();
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x11]), 0x84, "engine is not running");
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x14]), 0x84);
    assert_eq!(bay.refused(&[0x2F, 0x26, 0x01, 0x03, 0x00]), 0x84);
    // idling
    let mut bay = idling("plover");
    bay.unlock();
    for id in 1..=6 {
        if id != 5 {
            assert_eq!(bay.refused(&[0x31, 0x01, 0x03, id]), 0x83, "engine is running");
        }
    }
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x12]), 0x83);
    assert_eq!(bay.refused(&[0x2E, 0x24, 0x00, 0x00, 0x02, 0x58]), 0x83);
    assert_eq!(bay.refused(&[0x11, 0x01]), 0x22, "a restart knows one reason");
    act(&mut bay.bench, Action::Load(Load::Lamps, true));
    bay.present(3.0);
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x14]), 0x22, "a load");
    act(&mut bay.bench, Action::Load(Load::Lamps, false));
    act(&mut bay.bench, Action::Pedal(10.0));
    bay.present(3.0);
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x11]), 0x8A, "pedal");
    act(&mut bay.bench, Action::Pedal(0.0));
    bay.present(8.0);
    act(&mut bay.bench, Action::Brake(true));
    act(&mut bay.bench, Action::Gear(Gear::Drive));
    bay.present(3.0);
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x14]), 0x8C, "a gear");
    assert_eq!(bay.refused(&[0x2F, 0x26, 0x01, 0x03, 0x00]), 0x8C);
    // cold
    let mut b = standing("plover", 20.0);
    start(&mut b);
    b.advance_by(5.0);
    let mut bay = Bay::new(b);
    bay.unlock();
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x14]), 0x87, "too cold");
}

#[test]
fn source_low_voltage_and_things_in_the_wrong_order() {
    let mut b = standing("dunlin", 88.0);
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    // lamps and glass pull the battery down with the engine stopped
    for load in [Load::Lamps, Load::HeatedGlass, Load::Blower] {
        act(&mut b, Action::Load(load, true));
    }
    act(&mut b, Action::Accessory { amps: 30.0, past_sensor: false });
    for _ in 0..120 {
        if b.scan().live.supply_v < 11.0 {
            break;
        }
        b.advance_by(60.0);
    }
    let volts = b.scan().live.supply_v;
    let mut bay = Bay::new(b);
    bay.unlock();
    if volts < 11.0 {
        assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x12]), 0x93, "voltage too low at {volts} V");
    } else {
        panic!("the battery does not fall below 11 V: {volts}");
    }
}

#[test]
fn holds_functional_requests_are_not_refused_with_what_others_may_have() {
    let mut bay = on("plover");
    for asks in [&[0x84][..], &[0x10, 0x55], &[0x22, 0xAB, 0xCD], &[0x2E, 0x24, 0, 0], &[0x01, 0x99]] {
        assert_eq!(bay.ask_as(TESTER, true, asks), None, "{asks:02X?}");
    }
    assert_eq!(bay.ask_as(TESTER, true, &[0x3E, 0x00]), Some(vec![0x7E, 0x00]));
    assert_eq!(bay.ask_as(TESTER, true, &[0x3E, 0x80]), None, "suppressed");
    assert_eq!(bay.ask_as(TESTER, true, &[0x14, 0xFF, 0xFF]), Some(vec![0x7F, 0x14, 0x13]));
}

#[test]
fn holds_security_waits_after_wrong_keys() {
    let mut bay = on("plover");
    bay.told(&[0x10, 0x03]);
    for k in 1..=TRIES {
        let seed = bay.told(&[0x27, 0x01]);
        assert_ne!(seed[2..], [0, 0, 0, 0]);
        let code = bay.refused(&[0x27, 0x02, 0, 0, 0, 0]);
        assert_eq!(code, if k < TRIES { 0x35 } else { 0x36 });
    }
    assert_eq!(bay.refused(&[0x27, 0x01]), 0x37);
    bay.present(WAIT.as_secs_f64());
    bay.wait(0.1);
    bay.unlock();
    assert_eq!(bay.told(&[0x27, 0x01]), [0x67, 0x01, 0, 0, 0, 0], "open already");
    // a change of session locks it again
    bay.told(&[0x10, 0x03]);
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x01]), 0x33);
    // each bit of the algorithm counts
    assert_eq!(key(0), 0x4944_4C45u32.rotate_left(7).wrapping_add(0x5752_4947));
}

#[test]
fn holds_one_tester_has_the_session() {
    let mut bay = on("plover");
    bay.unlock();
    assert_eq!(bay.ask_as(OTHER, false, &[0x10, 0x03]), Some(vec![0x7F, 0x10, 0x21]));
    assert_eq!(bay.ask_as(OTHER, false, &[0x31, 0x01, 0x03, 0x01]), Some(vec![0x7F, 0x31, 0x21]));
    assert_eq!(bay.ask_as(OTHER, false, &[0x22, 0xF1, 0x86]), Some(vec![0x62, 0xF1, 0x86, 0x01]));
    assert_eq!(bay.told(&[0x22, 0xF1, 0x86]), [0x62, 0xF1, 0x86, 0x03]);
    // the other's words do not keep it up
    for _ in 0..6 {
        bay.wait(1.0);
        bay.ask_as(OTHER, false, &[0x3E, 0x00]);
    }
    assert_eq!(bay.told(&[0x22, 0xF1, 0x86])[3], 0x01, "it ended after 5 s");
    assert_eq!(bay.ask_as(OTHER, false, &[0x10, 0x03]).map(|a| a[0]), Some(0x50));
}

#[test]
fn holds_a_tester_that_is_lost_leaves_nothing_running() {
    let mut bay = idling("plover");
    bay.unlock();
    assert_eq!(bay.told(&[0x2F, 0x26, 0x02, 0x03, 0x00]), [0x6F, 0x26, 0x02, 0x03, 0x00]);
    bay.wait(2.0);
    assert_eq!(bay.told(&[0x22, 0x26, 0x02])[3], 0, "cut");
    assert_eq!(bay.told(&[0x22, 0x26, 0x01])[3], 1, "the others work");
    // nobody asks any more: at the next tick it is over
    bay.wait(4.9);
    let now = bay.now + Duration::from_millis(200);
    let mut module = idlewright::net::car::OnBench::new(&mut bay.bench);
    bay.server.tick(&mut module, now);
    bay.now = now;
    assert_eq!(bay.told(&[0x22, 0x26, 0x02])[3], 1, "it works again");
    assert_eq!(bay.server.session(), 1);
    // the end stands in the logbook as the tester's own request would
    let stops = |k: &Kind| matches!(k, Kind::Act { action: Action::Ask(DiagRequest::Stop), .. });
    assert_eq!(bay.bench.log().iter().filter(|e| stops(&e.kind)).count(), 1);
    // by hand it goes as well
    bay.unlock();
    bay.told(&[0x2F, 0x26, 0x01, 0x03, 0x00]);
    assert_eq!(bay.refused(&[0x2F, 0x26, 0x02, 0x03, 0x00]), 0x21, "one at a time");
    assert_eq!(bay.told(&[0x2F, 0x26, 0x01, 0x00]), [0x6F, 0x26, 0x01, 0x00, 0x01]);
}

#[test]
fn holds_the_idle_is_relearned_by_requests() {
    let mut b = stale();
    stop(&mut b);
    act(&mut b, Action::Key(Key::On));
    b.advance_by(2.0);
    let mut bay = Bay::new(b);
    bay.unlock();
    assert_eq!(bay.told(&[0x31, 0x01, 0x03, 0x01])[..5], [0x71, 0x01, 0x03, 0x01, 0x02]);
    assert_eq!(learned(&bay.bench, "idle_air_light").written_by, Writer::Reset);
    act(&mut bay.bench, Action::Key(Key::Crank));
    bay.present(15.0);
    assert_eq!(bay.told(&[0x31, 0x01, 0x03, 0x11])[..5], [0x71, 0x01, 0x03, 0x11, 0x01]);
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x14]), 0x21, "one routine at a time");
    assert_eq!(bay.refused(&[0x31, 0x03, 0x03, 0x14]), 0x24, "results of another");
    for _ in 0..100 {
        bay.present(2.0);
        let status = bay.told(&[0x31, 0x03, 0x03, 0x11])[4];
        if status != 1 {
            assert_eq!(status, 2, "done");
            break;
        }
    }
    assert_eq!(learned(&bay.bench, "idle_air_light").written_by, Writer::Routine);
    assert_eq!(code(&bay.bench, "P0507").map(|c| c.0), Some(true), "it pends until a trip has passed");
}

#[test]
fn holds_the_closed_stop_is_answered_when_it_is_learned() {
    let mut bay = on("plover");
    bay.unlock();
    let answer = bay.told(&[0x31, 0x01, 0x03, 0x12]);
    assert_eq!(answer[..5], [0x71, 0x01, 0x03, 0x12, 0x02], "pending, then done");
    assert_eq!(learned(&bay.bench, "closed_stop").written_by, Writer::Routine);
    // a restart saves and wakes again
    assert_eq!(bay.told(&[0x11, 0x01]), [0x51, 0x01]);
    assert_eq!(bay.ask(&[0x3E, 0x00]), None, "asleep for a moment");
    bay.wait(0.5);
    assert_eq!(bay.told(&[0x22, 0xF1, 0x86])[3], 0x01);
    assert_eq!(learned(&bay.bench, "closed_stop").written_by, Writer::Routine);
}

#[test]
fn holds_injectors_are_coded_in_the_right_order() {
    let mut bay = on("dunlin");
    let own = bay.told(&[0x22, 0x23, 0x03]);
    let printed = String::from_utf8(own[3..].to_vec()).expect("a code as text");
    bay.unlock();
    let write = |code: &str| [&[0x2E, 0x23, 0x03], code.as_bytes()].concat();
    // two characters changed places: its check character finds it
    let mut mistyped: Vec<char> = printed.chars().collect();
    let swap = (0..mistyped.len() - 1)
        .find(|k| {
            let (a, b) = (mistyped[*k], mistyped[*k + 1]);
            a != b && a != '-' && b != '-'
        })
        .expect("two that differ");
    mistyped.swap(swap, swap + 1);
    let mistyped: String = mistyped.into_iter().collect();
    assert_eq!(bay.refused(&write(&mistyped)), 0x31);
    assert_eq!(bay.told(&[0x22, 0x23, 0x03])[3..], *printed.as_bytes(), "nothing was written");
    assert_eq!(bay.told(&write(&printed)), [0x6E, 0x23, 0x03]);
    // a new module knows no code: its short-pulse learn wants them first
    let mut b = standing("dunlin", 88.0);
    let part = idlewright::bench::action::PartChoice::new(idlewright::bench::action::PartKind::Module);
    act(&mut b, Action::Fit(part));
    start(&mut b);
    b.advance_by(40.0);
    let mut bay = Bay::new(b);
    bay.unlock();
    assert_eq!(bay.told(&[0x22, 0x23, 0x01]), [0x62, 0x23, 0x01, 0x00], "none is stored");
    assert_eq!(bay.refused(&[0x31, 0x01, 0x03, 0x13]), 0x24, "codes come first");
    assert_eq!(bay.refused(&write(&printed)), 0x83, "with the engine stopped");
}

#[test]
fn holds_the_battery_is_registered() {
    let mut bay = on("plover");
    bay.unlock();
    assert_eq!(bay.told(&[0x2E, 0x24, 0x00, 0x01, 0x02, 0x58]), [0x6E, 0x24, 0x00]);
    let told = bay.told(&[0x22, 0x24, 0x00]);
    assert_eq!(told[3..6], [0x01, 0x02, 0x58], "AGM, 60 Ah");
    assert_eq!(told[6..9], [0, 0, 0], "nothing has passed it");
}

#[test]
fn holds_nothing_that_is_hidden_is_told() {
    // every identifier and every service, on a car with a fault that no module sees: its size appears nowhere
    let answers = |leak_mm2: f64| {
        let mut b = standing("plover", 88.0);
        act(&mut b, Action::Key(Key::On));
        b.advance_by(2.0);
        act(&mut b, Action::Leak(leak_mm2));
        b.advance_by(1.0);
        let mut bay = Bay::new(b);
        let mut all = Vec::new();
        for did in 0..=0xFFFFu16 {
            let [a, b] = did.to_be_bytes();
            all.push(bay.ask(&[0x22, a, b]));
        }
        all
    };
    // at rest a leak moves no pin, so two cars that differ in it alone must answer alike
    let (none, some) = (answers(0.0), answers(12.0));
    let differ: Vec<usize> = (0..none.len()).filter(|k| none[*k] != some[*k]).collect();
    assert!(differ.is_empty(), "{differ:04X?}");
}

#[test]
fn holds_a_routine_is_the_same_act_as_a_window_press() {
    let mut bay = on("plover");
    bay.unlock();
    bay.told(&[0x31, 0x01, 0x03, 0x01]);
    let mut other = on("plover").bench;
    other.act("", Action::Ask(DiagRequest::Start(Routine::ALL[0].1)));
    let acts = |b: &Bench| -> Vec<Kind> { b.log().iter().map(|e| e.kind.clone()).collect() };
    assert_eq!(acts(&bay.bench), acts(&other));
    assert_eq!(bay.bench.state_hash(), other.state_hash());
}
