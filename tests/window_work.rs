//! Work at the car by the panels: everything that an action file can fit or make ill can be fitted and made ill there,
//! batteries and their record, what charging adds up to, hours and months, and words that explain themselves.

mod window_support;

use egui::Key;
use egui_kittest::kittest::{NodeT, Queryable};
use idlewright::bench::action::{
    Action, Connector, Gear, Ill, Life, Note, PartChoice, PartKind, Sensor, Wire,
};
use idlewright::bench::pattern::Name;
use idlewright::bench::record::{Entry, Kind};
use idlewright::bench::tools::{Lead, Tool};
use idlewright::bench::view::SlowView;
use idlewright::label::BatteryKind;
use idlewright::link::{DiagRequest, Group, Routine};
use idlewright::session::desk::Reach;
use idlewright::session::live::Order;
use idlewright::window::panels::{Front, Wish, leave, shelf, slip};
use std::collections::BTreeSet;
use std::sync::OnceLock;
use window_support::{Bay, Pane, asked, bay, pane, pane_of};

fn act(a: Action) -> Order {
    Order::Do(a, Reach::Both)
}
fn done(a: Action) -> Vec<Wish> {
    vec![Wish::Order(act(a))]
}

fn slipped(a: Action) -> Vec<Wish> {
    vec![Wish::Order(Order::Slip(a, Reach::Both))]
}

/// A healthy engine at idle whose battery record was read.
fn idling() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    let read = [act(Action::Ask(DiagRequest::ReadBatteryRecord))];
    Bay::like(ONE.get_or_init(|| bay("A0", &read, 20.0)))
}

/// All of the left panel is in sight.
fn tall(b: Bay) -> Pane {
    pane_of(b, egui::vec2(1600.0, 3200.0))
}

fn click(p: &mut Pane, label: &str) -> Vec<Wish> {
    p.h.get_by_label(label).scroll_to_me();
    p.h.run_steps(12);
    p.h.get_by_label(label).click();
    p.settle()
}

fn press(p: &mut Pane, key: Key) -> Vec<Wish> {
    p.h.key_press(key);
    p.settle()
}

fn has(p: &Pane, words: &str) -> bool {
    p.h.query_all_by_label_contains(words).next().is_some()
}

// ---------------------------------------------------------------------------------------------------
// Shelf and faults
// ---------------------------------------------------------------------------------------------------

/// Whoever adds a part to the bench adds it to the shelf of the window, or this fails.
#[test]
fn every_part_that_a_file_can_fit_is_on_the_shelf() {
    let on_shelf: BTreeSet<&str> = shelf::PARTS.iter().map(|p| p.0).collect();
    let known: BTreeSet<&str> = PartKind::ALL.iter().map(|k| k.name()).collect();
    assert_eq!(on_shelf, known);
    let mut p = tall(idling());
    for (name, called) in shelf::PARTS {
        let price = p.h.state().prices.part[name];
        let line = format!("{called}, {}", shelf::cost(idlewright::session::Price { minutes: 0.0, ..price }));
        assert!(click(&mut p, &line).is_empty(), "{line} opens first");
        let kind = PartKind::ALL.into_iter().find(|k| k.name() == name).expect("known");
        if let Some(words) = kind.caution() {
            assert!(has(&p, words), "{name} without its caution");
        }
        let fit = done(Action::Fit(PartChoice::new(kind)));
        assert_eq!(click(&mut p, &format!("Fit a new one ({})", shelf::cost(price))), fit);
        click(&mut p, &line);
    }
}

#[test]
fn a_battery_of_another_kind_and_size_can_be_fitted() {
    let mut p = tall(idling());
    click(&mut p, "Battery, 110");
    click(&mut p, "another kind or size than the one in the car");
    click(&mut p, "mat");
    let mut choice = PartChoice::new(PartKind::Battery);
    (choice.battery_type, choice.rated_ah) = (Some(BatteryKind::Mat), Some(60.0));
    assert_eq!(click(&mut p, "Fit a new one (15 min + 110)"), done(Action::Fit(choice)));
}

#[test]
fn a_card_fits_a_battery_too() {
    let mut b = idling();
    b.state.open_part("battery");
    let mut p = pane(b);
    let fit = done(Action::Fit(PartChoice::new(PartKind::Battery)));
    assert_eq!(click(&mut p, "Fit a new one (15 min + 110)"), fit);
}

/// What a file may say of a part is what the sheet of faults offers of it, and where each value begins is allowed.
#[test]
fn every_fault_that_a_file_can_have_can_be_slipped_in() {
    for kind in PartKind::ALL {
        let mut b = idling();
        b.view.lid_open = true;
        b.state.front = Front::Slip;
        b.state.slip.part = kind.name();
        let mut p = tall(b);
        let mut wanted = PartChoice::new(kind);
        for key in kind.says() {
            match *key {
                "variant" => {
                    click(&mut p, "the maker's other size");
                    wanted.other_variant = true;
                }
                "bent" => {
                    click(&mut p, "its bracket is bent");
                    wanted.bent = true;
                }
                "battery_type" => {
                    click(&mut p, "mat");
                    wanted.battery_type = Some(BatteryKind::Mat);
                }
                key => {
                    let (_, words, begins) =
                        slip::NUMBERS.into_iter().find(|n| n.0 == key).expect("has words");
                    let range = kind.range(key).expect("a number");
                    assert!((range.low..=range.high).contains(&begins), "{key}");
                    click(&mut p, words);
                    wanted.say(key, Some(begins));
                    assert_eq!(wanted.said(key), Some(begins), "{key}");
                }
            }
        }
        p.picture(&format!("fault-{}", kind.name()));
        assert_eq!(click(&mut p, "Fit it"), slipped(Action::Fit(wanted)), "{kind:?}");
    }
}

#[test]
fn sensors_and_pipes_are_made_ill_under_an_open_lid() {
    let mut b = idling();
    b.view.lid_open = true;
    b.state.front = Front::Slip;
    let mut p = pane(b);
    click(&mut p, "to earth");
    click(&mut p, "stuck");
    let ill = Ill { wire: Wire::ToEarth, stuck: true, ..Ill::default() };
    assert_eq!(click(&mut p, "Make it so"), slipped(Action::Sensor(Sensor::Coolant, ill)));
    assert_eq!(click(&mut p, "Leak in the exhaust"), slipped(Action::ExhaustLeak(30.0)));
    // the lid goes on, and the sheet with it
    p.h.state_mut().view.lid_open = false;
    p.settle();
    assert!(!has(&p, "Make it so"));
}

// ---------------------------------------------------------------------------------------------------
// Battery and charging
// ---------------------------------------------------------------------------------------------------

#[test]
fn the_battery_record_is_read_and_entered() {
    let mut b = idling();
    b.state.front = Front::Service;
    let mut p = pane(b);
    assert!(has(&p, "it counts on: flooded, 60 Ah"), "what was read stays in sight");
    let read = done(Action::Ask(DiagRequest::ReadBatteryRecord));
    assert_eq!(click(&mut p, "Read the battery record, 1 min"), read);
    click(&mut p, "mat");
    let enter = DiagRequest::EnterBatteryRecord { kind: BatteryKind::Mat, rated_ah: 60.0 };
    assert_eq!(click(&mut p, "Enter mat, 60 Ah, 3 min"), done(Action::Ask(enter)));
}

#[test]
fn the_charging_adds_up() {
    let b = idling();
    let l = b.view.first.seen.live.clone();
    let sum = l.charge_base_v + l.charge_cold_v + l.charge_age_v + l.charge_stage_v;
    // the module limits what it asks for; a healthy warm car is inside
    assert!((sum - l.charge_set_v).abs() < 1e-9, "{sum} against {}", l.charge_set_v);
    let mut p = tall(b);
    assert!(has(&p, &format!("asks for +{sum:.2} V")), "{sum}");
    for term in ["base by kind", "temperature", "age by record", "stage"] {
        assert!(has(&p, term), "{term}");
    }
    p.h.state_mut().view.first.seen.live.charge_set_v = 0.0;
    p.settle();
    assert!(has(&p, "nothing is asked of the alternator"));
}

#[test]
fn why_it_may_not_stop_at_lights_is_told() {
    let mut b = idling();
    b.view.first.seen.live.stop_start = "refused".into();
    b.view.first.seen.live.stop_start_says = "battery low".into();
    let mut p = tall(b);
    assert!(has(&p, "stopping at lights is refused: battery low"));
    p.h.state_mut().view.first.seen.live.stop_start = "allowed".into();
    p.settle();
    assert!(has(&p, "stopping at lights is allowed"));
}

#[test]
fn the_battery_s_tools_measure() {
    let mut p = tall(idling());
    click(&mut p, "Battery tester, 3 min");
    assert!(has(&p, "Battery: hydrogen and acid"), "its caution stands beside it");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::BatteryTester)));
    click(&mut p, "Hydrometer, 10 min");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::Hydrometer)));
    click(&mut p, "Ampere clamp, 3 min");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::AmpereClamp)));
    for (_, lead) in Lead::ALL {
        p.h.state_mut().state.shelf.lead = Some(*lead);
        p.settle();
        assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::ClampOn(*lead))));
    }
}

#[test]
fn something_can_be_wired_past_the_sensor_and_taken_off() {
    let mut p = tall(idling());
    click(&mut p, "Wire an accessory, 25 min + 3");
    click(&mut p, "straight to the battery's posts");
    assert_eq!(click(&mut p, "Wire it"), done(Action::Accessory { amps: 0.5, past_sensor: true }));
    assert_eq!(click(&mut p, "Take it off"), done(Action::Accessory { amps: 0.0, past_sensor: false }));
}

// ---------------------------------------------------------------------------------------------------
// Hours and months
// ---------------------------------------------------------------------------------------------------

/// A car is left alone as it was asked for, and how far it is stands beside the time.
fn left_alone(press: &str, is: &Action) {
    let mut b = idling();
    b.state.front = Front::DriveOn;
    let mut p = pane(b);
    assert_eq!(click(&mut p, press), done(is.clone()));
    assert_eq!(p.h.state().state.front, Front::None);
    // in whichever future it is
    let mut second = p.h.state().view.first.clone();
    second.seen.slow = Some(SlowView { doing: "left standing".into(), share: 0.25 });
    p.h.state_mut().view.second = Some(second);
    assert!(p.settle().is_empty());
    assert!(has(&p, "left standing"));
    let bar = p.h.get_all_by_role(egui::accesskit::Role::ProgressIndicator).next().expect("progress");
    assert_eq!(bar.accesskit_node().numeric_value(), Some(25.0));
}

#[test]
fn a_car_is_left_for_hours() {
    left_alone("Leave the car", &Action::Rest(8.0));
}

#[test]
fn a_car_is_driven_on_from_day_to_day() {
    let life = Life { pattern: Name::Mixed, minutes: 30.0, trips: 2, days_a_week: 5, days: 28, each: 14 };
    left_alone("Drive on from day to day", &Action::DriveOn(life));
}

// ---------------------------------------------------------------------------------------------------
// Two futures
// ---------------------------------------------------------------------------------------------------

/// Hands in the second future were judged by the first: neutral counted as chosen there, and a plug as pushed in.
#[test]
fn bug_hands_in_the_second_future_see_its_own_controls() {
    let mut b = idling();
    b.view.second = Some(b.view.first.clone());
    b.view.forked_s = Some(b.view.time_s);
    b.state.reach = Reach::Second;
    if let Some(second) = &mut b.view.second {
        second.hands.drive = true;
        second.engine.pulled.push(Connector::Fan);
    }
    let mut p = tall(b);
    let second = |a| vec![Wish::Order(Order::Do(a, Reach::Second))];
    assert_eq!(press(&mut p, Key::N), second(Action::Gear(Gear::Neutral)));
    click(&mut p, "Plugs and hoses…, 2 min each");
    let fan = idlewright::report::connector_words(Connector::Fan);
    assert_eq!(click(&mut p, &fan), second(Action::Connector(Connector::Fan, true)));
}

// ---------------------------------------------------------------------------------------------------
// Small things
// ---------------------------------------------------------------------------------------------------

#[test]
fn the_foot_comes_off_the_pedal_by_one_press() {
    let mut p = pane(idling());
    assert_eq!(click(&mut p, "foot off the pedal"), done(Action::Pedal(0.0)));
}

#[test]
fn a_heading_explains_itself_by_pointer_and_by_key() {
    let mut p = pane(idling());
    assert!(click(&mut p, "What the module believes").is_empty());
    assert_eq!(p.h.state().state.front, Front::Words("learned value".into()));
    let mut p = pane(idling());
    for _ in 0..200 {
        p.h.key_press(Key::Tab);
        p.h.run_steps(2);
        if p.h.get_by_label("What the module believes").is_focused() {
            break;
        }
    }
    p.h.key_press(Key::F1);
    p.settle();
    assert_eq!(p.h.state().state.front, Front::Words("learned value".into()));
}

/// Sensors opened the card of the coolant's, or of the throttle body.
#[test]
fn bug_a_sensor_s_card_is_its_own() {
    let mut b = idling();
    b.state.open_part("oxygen_sensor_1");
    let mut p = pane(b);
    let pull = done(Action::Connector(Connector::OxygenSensor1, false));
    assert_eq!(click(&mut p, "Pull its plug"), pull);
    let fit = done(Action::Fit(PartChoice::new(PartKind::Sensor(Sensor::Oxygen1))));
    assert_eq!(click(&mut p, "Fit a new one (15 min + 60)"), fit);
}

#[test]
fn the_logbook_is_read_line_by_line() {
    let mut p = pane(idling());
    press(&mut p, Key::F8);
    assert!(has(&p, "battery record"), "what was asked and answered");
    let now = p.h.state().view.time_s;
    p.h.state_mut().rows.log.push(Entry { t_s: now, kind: Kind::Module { what: "P0507 pending".into() } });
    p.settle();
    assert!(has(&p, "P0507 pending"));
}

/// A window that is closed on work asks back; an untouched car, or one that was handed over, does not.
#[test]
fn closing_asks_back_where_work_would_be_lost() {
    let b = idling();
    assert!(leave::work_is_lost(&b.view, &b.rows, None));
    let fresh = bay("A0", &[act(Action::Note(Note::Cautions))], 1.0);
    assert!(!leave::work_is_lost(&fresh.view, &fresh.rows, None));
    let mut b = idling();
    b.state.front = Front::Close;
    let mut p = pane(b);
    assert_eq!(click(&mut p, "Close it and lose the work"), vec![Wish::Close]);
    p.h.state_mut().state.front = Front::Close;
    p.settle();
    assert!(click(&mut p, "Hand it over first…").is_empty());
    assert_eq!(p.h.state().state.front, Front::HandIn);
}

/// F1 over a question opened the glossary behind it, to be found once the question was gone.
#[test]
fn bug_a_question_stands_alone() {
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    let mut p = pane(asked("A1", &act(reset)));
    assert!(press(&mut p, Key::F1).is_empty());
    assert_eq!(p.h.state().state.front, Front::None);
}
