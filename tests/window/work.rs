//! Work at the car by the panels: everything that an action file can fit or make ill can be fitted and made ill there,
//! batteries and their record, what charging adds up to, hours and months, and words that explain themselves.

use super::support::{Bay, Pane, act, asked, bay, click, done, has, pane, pane_of, press};
use egui::Key;
use egui::accesskit::Role;
use egui::{Rect, Shape};
use egui_kittest::kittest::{NodeT, Queryable};
use idlewright::bench::action::{
    Action, Connector, Gear, Ill, Life, Note, PartChoice, PartKind, Sensor, Wire,
};
use idlewright::bench::facts::Alone;
use idlewright::bench::pattern::Name;
use idlewright::bench::record::{Entry, Kind};
use idlewright::bench::tools::{Lead, Tool};
use idlewright::bench::trace::COLUMNS;
use idlewright::bench::view::SlowView;
use idlewright::label::BatteryKind;
use idlewright::link::{CodeState, DiagRequest, Group, NoStop, Notice, Routine, Writer};
use idlewright::report;
use idlewright::session::desk::{MarkName, Reach};
use idlewright::session::live::Order;
use idlewright::window::panels::settings::{Settings, Tag};
use idlewright::window::panels::{Front, Middle, Wish, confirm, cylinder_strip, language, marks};
use idlewright::words::numbers::Units;
use idlewright::words::{self, facts, upper_first};
use std::sync::OnceLock;

fn slipped(a: Action) -> Vec<Wish> {
    vec![Wish::Order(Order::InjectFault(a, Reach::Both))]
}

/// A healthy engine at idle whose battery record was read.
fn idling() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    let read = [act(Action::Ask(DiagRequest::ReadBatteryRecord))];
    Bay::like(ONE.get_or_init(|| bay("healthy-idle", &read, 20.0)))
}

/// All of the left panel is in sight.
fn tall(b: Bay) -> Pane {
    pane_of(b, egui::vec2(1600.0, 3200.0))
}

/// A car that idles high, with codes, learned values and readiness read.
fn idles_high() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    let read = [DiagRequest::ReadCodes, DiagRequest::ReadLearned, DiagRequest::ReadReadiness];
    Bay::like(ONE.get_or_init(|| bay("idles-high", &read.map(|r| act(Action::Ask(r))), 30.0)))
}

/// Every shape that was painted, each with what is seen of it.
fn painted(p: &Pane) -> Vec<(Shape, Rect)> {
    fn flat(shape: &Shape, clip: Rect, out: &mut Vec<(Shape, Rect)>) {
        match shape {
            Shape::Vec(all) => all.iter().for_each(|s| flat(s, clip, out)),
            s => {
                let seen = s.visual_bounding_rect().intersect(clip);
                if seen.is_positive() {
                    out.push((s.clone(), seen));
                }
            }
        }
    }
    let mut out = Vec::new();
    p.h.output().shapes.iter().for_each(|s| flat(&s.shape, s.clip_rect, &mut out));
    out
}

/// All words that were painted, where they are seen, and whether they were cut short.
pub fn texts(p: &Pane) -> Vec<(String, Rect, bool)> {
    let all = painted(p).into_iter().filter_map(|(s, seen)| match s {
        Shape::Text(t) => Some((t.galley.text().to_owned(), seen, t.galley.elided)),
        _ => None,
    });
    all.filter(|t| !t.0.trim().is_empty()).collect()
}

/// All words that were painted, each with the size of its smallest letters \[points\].
pub fn letters(p: &Pane) -> Vec<(String, f32)> {
    let all = painted(p).into_iter().filter_map(|(s, _)| match s {
        Shape::Text(t) => {
            let sizes = t.galley.job.sections.iter().map(|s| s.format.font_id.size);
            Some((t.galley.text().to_owned(), sizes.fold(f32::INFINITY, f32::min)))
        }
        _ => None,
    });
    all.filter(|t| !t.0.trim().is_empty()).collect()
}

fn left_of(p: &Pane, words: &str) -> f32 {
    let all = texts(p);
    all.iter().find(|t| t.0 == words).unwrap_or_else(|| panic!("{words} is not there")).1.left()
}

// ---------------------------------------------------------------------------------------------------
// Shelf and faults
// ---------------------------------------------------------------------------------------------------

/// Whoever adds a part to the bench adds it to the shelf of the window, or this fails.
/// A car that has all that only some cars have.
fn with_every_system() -> Bay {
    let mut b = idling();
    (b.plate.has.air_meter, b.plate.has.phaser) = (true, true);
    (b.plate.has.vapour, b.plate.has.egr) = (true, true);
    b
}

#[test]
fn parts_that_a_car_lacks_are_not_on_its_shelf() {
    let p = tall(idling());
    let has_line = |name: &str| has(&p, &format!("{}, ", upper_first(&words::name("part", name))));
    assert!(has_line("throttle_body"));
    for name in ["cam_phaser", "egr_valve", "fuel_cap", "vapour_line", "vent_valve"] {
        assert!(!has_line(name), "{name}");
    }
}

#[test]
fn every_part_that_a_file_can_fit_is_on_the_shelf() {
    let mut p = tall(with_every_system());
    for kind in PartKind::ALL {
        let name = kind.name();
        let called = upper_first(&words::name("part", name));
        let prices = p.h.state().prices.clone();
        let price = prices.part[name];
        let line = format!("{called}, {}", report::cost_words(&prices, price));
        assert!(click(&mut p, &line).is_empty(), "{line} opens first");
        for caution in kind.cautions() {
            let words = words::name("caution", caution.id());
            assert!(has(&p, &words), "{name} without its caution");
        }
        let fit = done(Action::Fit(PartChoice::new(kind)));
        assert_eq!(click(&mut p, &format!("Fit new part ({})", report::cost_words(&prices, price))), fit);
        click(&mut p, &line);
    }
}

/// Work that is no part, by its line: what must be minded stands beside the price once the line is open.
#[test]
fn work_that_can_hurt_says_so_where_it_is_done() {
    let mut p = tall(idling());
    for (id, work) in [
        ("clean_throttle_body", Action::CleanThrottle),
        ("exhaust_leak", Action::ExhaustLeak(0.0)),
        ("sensor_wiring", Action::Sensor(Sensor::Coolant, Ill::default())),
        ("swap_injectors", Action::SwapInjectors(1, 2)),
        ("accessory", Action::Accessory { amps: 0.5, past_sensor: false }),
        ("charger", Action::Charger { amps: 30.0, past_sensor: false }),
        ("spark_interrupter", Action::Interrupt(1, 100.0)),
        ("refuel", Action::Refuel(10.0)),
        ("rollers", Action::Hold { rpm: 2000.0, nm: 0.0 }),
    ] {
        let called = upper_first(&words::name("hand", id));
        let prices = &p.h.state().prices;
        let price = report::cost_words(prices, prices.of(&work));
        let line = if price.is_empty() { called } else { format!("{called}, {price}") };
        click(&mut p, &line);
        assert!(!work.cautions().is_empty());
        for caution in work.cautions() {
            assert!(has(&p, &words::name("caution", caution.id())), "{id} without {caution:?}");
        }
        click(&mut p, &line);
    }
    assert!(has(&p, &words::say("caution-battery-leads")), "the clamp's stands below it");
    for (front, caution) in [(Front::Service, "caution-misfire-heat"), (Front::DriveOn, "caution-road-work")]
    {
        p.h.state_mut().state.front = front;
        p.settle();
        assert!(has(&p, &words::say(caution)), "{caution}");
    }
}

#[test]
fn a_battery_of_another_kind_and_size_can_be_fitted() {
    let mut p = tall(idling());
    click(&mut p, "Battery, 15 min, 125 units");
    click(&mut p, "different type or size from the one in the car");
    click(&mut p, "AGM");
    let mut choice = PartChoice::new(PartKind::Battery);
    (choice.battery_type, choice.rated_ah) = (Some(BatteryKind::Agm), Some(60.0));
    assert_eq!(click(&mut p, "Fit new part (15 min, 125 units)"), done(Action::Fit(choice)));
}

#[test]
fn a_card_fits_a_battery_too() {
    let mut b = idling();
    b.state.open_part("battery");
    let mut p = pane(b);
    let fit = done(Action::Fit(PartChoice::new(PartKind::Battery)));
    assert_eq!(click(&mut p, "Fit new part (15 min, 125 units)"), fit);
}

/// What a file may say of a part is what the sheet of faults offers of it, and where each value begins is allowed.
#[test]
fn every_fault_that_a_file_can_have_can_be_slipped_in() {
    for kind in PartKind::ALL {
        let mut b = with_every_system();
        b.view.lid_open = true;
        b.state.front = Front::InjectFault;
        b.state.inject_fault.part = kind.name();
        let mut p = tall(b);
        let mut wanted = PartChoice::new(kind);
        for fault in kind.faults() {
            if fault.key == "battery_type" {
                click(&mut p, "AGM");
            } else {
                click(&mut p, &words::name("fault", fault.key));
            }
            if let Some(range) = fault.range() {
                assert!((range.low..=range.high).contains(&fault.begins), "{}", fault.key);
            }
            wanted.say(fault.key, Some(fault.begins));
            assert_eq!(wanted.said(fault.key), Some(fault.begins), "{}", fault.key);
        }
        p.picture(&format!("fault-{}", kind.name()));
        assert_eq!(click(&mut p, "Fit part"), slipped(Action::Fit(wanted)), "{kind:?}");
    }
}

#[test]
fn sensors_and_pipes_are_made_ill_under_an_open_lid() {
    let mut b = idling();
    b.view.lid_open = true;
    b.state.front = Front::InjectFault;
    let mut p = pane(b);
    click(&mut p, "short to earth");
    click(&mut p, "stuck");
    let ill = Ill { wire: Wire::ToEarth, stuck: true, ..Ill::default() };
    assert_eq!(click(&mut p, "Apply fault"), slipped(Action::Sensor(Sensor::Coolant, ill)));
    assert_eq!(click(&mut p, "Exhaust leak"), slipped(Action::ExhaustLeak(30.0)));
    // the lid goes on, and the sheet with it
    p.h.state_mut().view.lid_open = false;
    p.settle();
    assert!(!has(&p, "Apply fault"));
}

// ---------------------------------------------------------------------------------------------------
// Battery and charging
// ---------------------------------------------------------------------------------------------------

#[test]
fn the_battery_record_is_read_and_entered() {
    let mut b = idling();
    b.state.front = Front::Service;
    let mut p = pane(b);
    assert!(has(&p, "registered: flooded, 60 Ah"), "what was read stays in sight");
    let read = done(Action::Ask(DiagRequest::ReadBatteryRecord));
    assert_eq!(click(&mut p, "Read battery record, 1 min, 1 unit"), read);
    click(&mut p, "AGM");
    let enter = DiagRequest::EnterBatteryRecord { kind: BatteryKind::Agm, rated_ah: 60.0 };
    assert_eq!(click(&mut p, "Register AGM, 60 Ah, 3 min, 3 units"), done(Action::Ask(enter)));
}

#[test]
fn the_charging_adds_up() {
    let b = idling();
    let l = b.view.first.seen.live.clone();
    let sum = l.charge_base_v + l.charge_cold_v + l.charge_age_v + l.charge_stage_v;
    // the module limits what it asks for; a healthy warm car is inside
    assert!((sum - l.charge_set_v).abs() < 1e-9, "{sum} against {}", l.charge_set_v);
    let mut p = tall(b);
    assert!(has(&p, &format!("total +{sum:.2} V")), "{sum}");
    for term in ["base by type", "temperature", "age", "stage"] {
        assert!(has(&p, term), "{term}");
    }
    p.h.state_mut().view.first.seen.live.values.charge_set_v = 0.0;
    p.settle();
    assert!(has(&p, "alternator off"));
}

#[test]
fn why_it_may_not_stop_at_lights_is_told() {
    let mut b = idling();
    b.view.first.seen.live.stop_start = "refused".into();
    b.view.first.seen.live.stop_start_because = Some(NoStop::NotRunning);
    let mut p = tall(b);
    assert!(has(&p, "stop-start: not allowed, the engine is not running"));
    p.h.state_mut().view.first.seen.live.stop_start = "allowed".into();
    p.settle();
    assert!(has(&p, "stop-start: allowed"));
}

#[test]
fn the_battery_s_tools_measure() {
    let mut p = tall(idling());
    click(&mut p, "Battery tester, 3 min, 3 units");
    assert!(
        has(&p, "A battery gives off hydrogen") && has(&p, "Battery acid burns"),
        "its caution stands beside it"
    );
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::BatteryTester)));
    click(&mut p, "Hydrometer, 10 min, 10 units");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::Hydrometer)));
    click(&mut p, "Current clamp, 3 min, 3 units");
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
    click(&mut p, "Wire or remove an accessory, 25 min, 28 units");
    click(&mut p, "directly to the battery posts");
    assert_eq!(click(&mut p, "Fit"), done(Action::Accessory { amps: 0.5, past_sensor: true }));
    assert_eq!(click(&mut p, "Remove"), done(Action::Accessory { amps: 0.0, past_sensor: false }));
}

#[test]
fn a_charger_is_connected_and_taken_off() {
    let mut p = tall(idling());
    click(&mut p, "Connect or remove a battery charger (support unit), 5 min, 5 units");
    click(&mut p, "negative clamp on the battery post");
    assert_eq!(click(&mut p, "Connect"), done(Action::Charger { amps: 30.0, past_sensor: true }));
    assert_eq!(click(&mut p, "Remove"), done(Action::Charger { amps: 0.0, past_sensor: false }));
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
    second.seen.slow = Some(SlowView { doing: Alone::Locked, day: None, share: 0.25 });
    p.h.state_mut().view.second = Some(second);
    assert!(p.settle().is_empty());
    assert!(has(&p, "the car is locked"));
    let bar = p.h.get_all_by_role(egui::accesskit::Role::ProgressIndicator).next().expect("progress");
    assert_eq!(bar.accesskit_node().numeric_value(), Some(25.0));
}

#[test]
fn a_car_is_left_for_hours() {
    left_alone("Park the car", &Action::Rest(8.0));
}

#[test]
fn a_car_is_driven_on_from_day_to_day() {
    let life = Life { pattern: Name::Mixed, minutes: 30.0, trips: 2, days_a_week: 5, days: 28, each: 14 };
    left_alone("Drive it daily", &Action::DriveOn(life));
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
    click(&mut p, "Connectors…, 2 min, 2 units each");
    let fan = words::name("connector", "fan");
    assert_eq!(click(&mut p, &fan), second(Action::Connector(Connector::Fan, true)));
}

// ---------------------------------------------------------------------------------------------------
// Small things
// ---------------------------------------------------------------------------------------------------

#[test]
fn the_foot_comes_off_the_pedal_by_one_press() {
    let mut p = pane(idling());
    assert_eq!(click(&mut p, "release the pedal"), done(Action::Pedal(0.0)));
}

#[test]
fn a_heading_explains_itself_by_pointer_and_by_key() {
    let mut p = pane(idling());
    assert!(click(&mut p, "Learned values").is_empty());
    assert_eq!(p.h.state().state.front, Front::Words("learned value".into()));
    let mut p = pane(idling());
    for _ in 0..200 {
        p.h.key_press(Key::Tab);
        p.h.run_steps(2);
        if p.h.get_by_label("Learned values").is_focused() {
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
    assert_eq!(click(&mut p, "Disconnect"), pull);
    let fit = done(Action::Fit(PartChoice::new(PartKind::Sensor(Sensor::Oxygen1))));
    assert_eq!(click(&mut p, "Fit new part (15 min, 75 units)"), fit);
}

/// Truth lists no sensors: a card that then called one good would say so of an ill one too.
#[test]
fn bug_a_card_calls_no_part_good_that_it_knows_nothing_of() {
    let open = |part: &str| {
        let ill = Ill { offset_v: 0.4, ..Ill::default() };
        let mut b = bay(
            "healthy-idle",
            &[
                Order::Lid(true),
                Order::InjectFault(Action::Sensor(Sensor::ManifoldPressure, ill), Reach::Both),
            ],
            1.0,
        );
        b.state.open_part(part);
        pane(b)
    };
    assert!(!has(&open("sensor_map"), "in good condition"));
    assert!(has(&open("sensor_map"), "no true value of its own"));
    assert!(has(&open("rings_2"), "in good condition"), "what does not leak is not listed");
    assert!(has(&open("battery"), "capacity now"));
}

#[test]
fn the_logbook_is_read_line_by_line() {
    let mut p = pane(idling());
    press(&mut p, Key::F8);
    assert!(has(&p, "battery record"), "what was asked and answered");
    let now = p.h.state().view.time_s;
    let pending = Notice::CodeBecame { code: "P0507".into(), state: CodeState::Pending };
    p.h.state_mut().rows.log.push(Entry { t_s: now, kind: Kind::Module { what: pending.clone() } });
    p.settle();
    assert!(has(&p, &facts::notice(&pending)));
}

/// A window that is closed on work asks back; an untouched car, or one that was handed over, does not.
#[test]
fn closing_asks_back_where_work_would_be_lost() {
    let b = idling();
    assert!(confirm::work_is_lost(&b.view, &b.rows, None));
    let fresh = bay("healthy-idle", &[act(Action::Note(Note::Cautions))], 1.0);
    assert!(!confirm::work_is_lost(&fresh.view, &fresh.rows, None));
    let mut b = idling();
    b.state.front = Front::Close;
    let mut p = pane(b);
    assert_eq!(click(&mut p, "Close and lose the work"), vec![Wish::Close]);
    p.h.state_mut().state.front = Front::Close;
    p.settle();
    assert!(click(&mut p, "Hand over first…").is_empty());
    assert_eq!(p.h.state().state.front, Front::HandIn);
}

/// F1 over a question opened the glossary behind it, to be found once the question was gone.
#[test]
fn bug_a_question_stands_alone() {
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    let mut p = pane(asked("idles-high", &act(reset)));
    assert!(press(&mut p, Key::F1).is_empty());
    assert_eq!(p.h.state().state.front, Front::None);
}

// ---------------------------------------------------------------------------------------------------
// What is in sight, and what lies on what
// ---------------------------------------------------------------------------------------------------

/// The lesson's heart: at 1600×900 all of why the idle's air may not be learned now is seen without scrolling.
#[test]
fn gates_are_in_sight_once_values_were_read() {
    let b = idles_high();
    let light = b.view.first.seen.learned[0].clone();
    assert!(light.name == "idle_air_light" && light.gates.len() > 3);
    let p = pane(b);
    let below = p.h.get_by_label("pace pause").rect().top();
    assert!(below < 900.0, "where the panel along the bottom begins: {below}");
    for g in &light.gates {
        let words = format!("{}: {}", if g.open { "met" } else { "not met" }, facts::gate(g));
        let at = p.h.get_all_by_label(&words).next().expect("told").rect();
        assert!(at.bottom() < below - 10.0, "{words} at {at:?}, below which is {below}");
    }
    let top = |words: &str| p.h.get_by_label(words).rect().top();
    let order = ["Codes", "Can the module learn now?", "Learned values", "Idle air"].map(top);
    assert!(order.is_sorted(), "{order:?}");
}

#[test]
fn values_that_nobody_wrote_are_folded_and_still_kept() {
    let mut b = idles_high();
    let all = &mut b.view.first.seen.learned;
    let mut names = Vec::new();
    for v in all.iter_mut().skip(1).take(2) {
        (v.value, v.written_by) = (v.default, Writer::Delivered);
        names.push(idlewright::report::learned_words(&v.name));
    }
    // one that was written, though to its default, has something to tell
    (all[3].value, all[3].written_by) = (all[3].default, Writer::Ordinary);
    let written = idlewright::report::learned_words(&all[3].name);
    let rest = |v: &&idlewright::link::LearnedStatus| {
        v.value == v.default && [Writer::Delivered, Writer::Factory].contains(&v.written_by)
    };
    let n = all.iter().filter(rest).count();
    let every = all.len();
    let mut p = tall(b);
    let stored = |name: &str| format!("{name}: stored");
    assert!(names.iter().all(|name| !has(&p, &stored(name))), "{names:?}");
    assert!(has(&p, &stored(&written)), "{written}");
    click(&mut p, "save learned values…");
    let kept = p.h.state().state.charts.kept.clone().expect("kept");
    assert_eq!(kept.rows.len(), every);
    assert!(names.iter().all(|name| kept.svg.contains(name)), "the picture has them too");
    p.h.key_press(Key::Escape);
    p.settle();
    click(&mut p, "As a table");
    assert!(names.iter().all(|name| has(&p, name) && !has(&p, &stored(name))), "in the table, folded or not");
    click(&mut p, &format!("{n} more at their default"));
    assert!(names.iter().all(|name| has(&p, &stored(name))));
}

/// "Make the exhaust tight" ran into "40 min, 52 units", and on a projector half of the list did.
#[test]
fn bug_no_words_to_the_left_run_into_others() {
    for projector in [false, true] {
        let mut b = idling();
        b.settings.projector = projector;
        // so tall, also at a projector's size, that nothing is scrolled away
        let p = pane_of(b, egui::vec2(1600.0, 4800.0));
        p.picture(if projector { "left-projector" } else { "left" });
        // as wide as the panel is
        let edge = if projector { 270.0 } else { 300.0 };
        let all: Vec<_> = texts(&p).into_iter().filter(|t| t.1.right() < edge && t.1.top() > 100.0).collect();
        assert!(all.len() > 80, "{}", all.len());
        for (k, (words, at, _)) in all.iter().enumerate() {
            for (other, at_other, _) in &all[k + 1..] {
                let both = at.shrink(1.0).intersect(at_other.shrink(1.0));
                assert!(
                    !both.is_positive(),
                    "projector {projector}: {words} at {at:?} on {other} at {at_other:?}"
                );
            }
        }
    }
}

/// A fade over the first and last row of what scrolls looked like a row that was chosen.
#[test]
fn bug_nothing_fades_where_it_scrolls() {
    let p = pane(idles_high());
    assert!(painted(&p).iter().all(|(s, _)| !matches!(s, Shape::Mesh(_))));
}

#[test]
fn a_long_complaint_is_read_in_full() {
    let longest = idlewright::store::SCENARIOS
        .iter()
        .map(|s| crate::bay::jobs::scenario(s.id).about)
        .max_by_key(|a| a.complaint.len())
        .expect("ship");
    let mut b = idling();
    b.scenario.about.complaint = longest.complaint.clone();
    let p = pane(b);
    p.picture("complaint");
    let (words, at, cut) =
        texts(&p).into_iter().find(|t| t.0.contains(longest.complaint.trim())).expect("it is there whole");
    assert!(!cut && at.height() > 30.0, "{words} at {at:?}");
    for (other, at_other, _) in texts(&p).into_iter().filter(|t| t.0 != words) {
        assert!(!at.shrink(1.0).intersects(at_other.shrink(1.0)), "{other} at {at_other:?}");
    }
}

#[test]
fn a_key_s_cap_stands_behind_what_it_presses() {
    let mut p = pane(idling());
    let line = ["Settings…", "F10", "Glossary", "F1", "Keys", "?"].map(|w| left_of(&p, w));
    assert!(line.is_sorted(), "{line:?}");
    p.h.key_press(Key::F10);
    p.settle();
    assert!(left_of(&p, "Close") < left_of(&p, "Esc"), "on a sheet too");
}

// ---------------------------------------------------------------------------------------------------
// Words, units, scales
// ---------------------------------------------------------------------------------------------------

/// Only a gate is open or shut.
#[test]
fn readiness_is_spoken_as_what_has_run() {
    let mut b = idles_high();
    b.view.first.seen.live.stop_start = "allowed".into();
    let all = b.view.first.seen.readiness.clone();
    assert!(!all.is_empty());
    let p = tall(b);
    for m in all {
        let words = if m.complete { "complete" } else { "not complete" };
        p.h.get_by_label(&format!("{}: {words}", m.name.replace('_', " ")));
    }
    p.h.get_by_label("stop-start: allowed");
}

/// Opened again for the same word, the sheet showed what had been looked for last.
#[test]
fn bug_a_word_is_explained_anew_each_time() {
    let mut b = idling();
    b.state.front = Front::Words("gate".into());
    let mut p = pane(b);
    assert!(has(&p, "A condition that must be met"));
    click(&mut p, "learned value");
    assert!(has(&p, "worked out for the parts it controls") && !has(&p, "A condition that must be met"));
    p.h.key_press(Key::Escape);
    p.settle();
    assert_eq!(p.h.state().state.front, Front::None);
    p.h.state_mut().state.front = Front::Words("gate".into());
    p.settle();
    assert!(has(&p, "A condition that must be met"));
}

/// Amperes and grams stood without a unit.
#[test]
fn bug_every_signal_keeps_its_unit() {
    for units in [Units::Metric, Units::Us] {
        for c in COLUMNS {
            assert_eq!(
                units.quantity(1.0, c.unit).1.is_empty(),
                c.unit.is_empty(),
                "{} in {units:?}",
                c.name
            );
        }
        assert_eq!(units.value(12.34, "A"), "12.3 A");
        assert_eq!(units.value(3.0, "g"), "3.00 g");
    }
    let mut b = idling();
    b.settings.units = Units::Us;
    b.view.first.seen.live.values.battery_c = 25.0;
    assert!(has(&tall(b), " A, 77 °F (sensor)"));
}

/// What is typed is typed in the units that are chosen; what is done is metric.
#[test]
fn bug_numbers_are_typed_in_the_chosen_units() {
    let mut b = idling();
    b.settings.units = Units::Us;
    b.state.shelf.nm = 40.0;
    let mut p = tall(b);
    click(&mut p, "Hold speed on rollers, 12 min, 12 units");
    let all = texts(&p);
    assert!(["29.5", " lb·ft"].iter().all(|is| all.iter().any(|t| t.0 == *is)), "{all:?}");
    assert_eq!(click(&mut p, "Hold"), done(Action::Hold { rpm: 2000.0, nm: 40.0 }), "nothing was typed");
    fn field(p: &Pane) -> egui_kittest::Node<'_> {
        let is = |n: &egui_kittest::Node<'_>| {
            n.accesskit_node().numeric_value().is_some_and(|x| (x - 29.5).abs() < 0.1)
        };
        p.h.get_all_by_role(Role::SpinButton).find(is).expect("a field")
    }
    field(&p).focus();
    p.settle();
    field(&p).type_text("20");
    p.settle();
    press(&mut p, egui::Key::Enter);
    let held = click(&mut p, "Hold");
    let [Wish::Order(Order::Do(Action::Hold { rpm, nm }, _))] = held.as_slice() else { panic!("{held:?}") };
    assert!(*rpm == 2000.0 && (nm - 20.0 / 0.737_562_15).abs() < 0.05, "{nm}");
}

/// By hand: a full bar is five round parts, and the most that was counted takes two fifths of it or more.
#[test]
fn exact_scale_of_the_cylinder_strip() {
    for (most, full) in
        [(0, 10), (10, 10), (11, 25), (26, 50), (51, 100), (1180, 2500), (2501, 5000), (90_000, 100_000)]
    {
        assert_eq!(cylinder_strip::scale(most), (full, full / 5), "{most}");
    }
    let mut b = idles_high();
    b.state.middle = Middle::Strip;
    b.view.first.seen.misfires[1].count = 1180;
    b.view.first.seen.live.values.misfire_pct = 24.6;
    let p = pane(b);
    assert!(has(&p, "cylinder 2: 1180 counted") && has(&p, "a full bar is 2500"));
    assert!(has(&p, "24.6 % of all firings in the last 200 revolutions"));
    let all = texts(&p);
    for mark in ["0", "500", "1000", "1500", "2000", "2500"] {
        assert!(all.iter().any(|t| t.0 == mark), "{mark}");
    }
}

/// "−0.35°" lay on the teeth, beside the 1 of the first.
#[test]
fn bug_no_ring_s_words_lie_on_a_tooth() {
    for projector in [false, true] {
        for reach in [0.08, 0.21, 0.34] {
            let mut b = idles_high();
            b.view.first.seen.wheel_table_deg = (0..58).map(|k| if k == 20 { reach } else { 0.0 }).collect();
            b.state.middle = Middle::Wheel;
            b.settings.projector = projector;
            let p = pane(b);
            let ring =
                |t: &str| t == "0°" || (t.ends_with('°') && t.len() > 4 && t.starts_with(['+', '\u{2212}']));
            let words: Vec<_> = texts(&p).into_iter().collect();
            // a tooth is nine points long
            let teeth = painted(&p).into_iter().filter(|(s, _)| {
                matches!(s, Shape::LineSegment { points: [a, b], .. } if (a.distance(*b) - 9.0).abs() < 0.01)
            });
            let teeth: Vec<Rect> = teeth.map(|t| t.1).collect();
            assert!(teeth.len() >= 58);
            let middle = teeth.iter().fold(Rect::NOTHING, |a, t| a.union(*t)).expand(400.0);
            let rings: Vec<_> = words
                .iter()
                .filter(|t| ring(&t.0) && middle.contains_rect(t.1) && t.1.left() < 900.0)
                .collect();
            assert!(rings.iter().any(|t| t.0 == "0°"));
            for (words, at, _) in rings {
                assert!(
                    !teeth.iter().any(|t| t.intersects(*at)),
                    "{reach}, projector {projector}: {words} at {at:?}"
                );
            }
        }
    }
}

#[test]
fn exact_marks_are_named_by_whole_words() {
    assert_eq!(marks::mark_words(&MarkName::HandOver), "car received");
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    assert_eq!(marks::mark_words(&MarkName::Before(Box::new(reset))), "requested: reset idle air");
    assert_eq!(marks::shortly("key off", 16), "key off");
    assert_eq!(marks::shortly("fitted spark plug, cylinder 2", 18), "fitted spark plug…");
    assert_eq!(marks::shortly("Donaudampfschiff", 5), "Donau…");
}

/// Whoever starts the program in English, as `--lang en` does, is not spoken to in the language that is kept.
#[test]
fn bug_english_that_was_asked_for_wins_over_the_language_that_is_kept() {
    let kept = Settings { language: Tag::new("en-x-pseudo"), ..Settings::default() };
    let _speaking = idlewright::words::speak(&idlewright::words::Words::english());
    assert_eq!(language::speak_as_kept(&kept), Ok(()));
    assert_eq!(idlewright::words::spoken().tag(), "en");
}

/// A file of a language and a folder of one are offered; one that does not read says where.
#[test]
fn holds_languages_beside_the_settings_are_offered() {
    let dir = std::env::temp_dir().join(format!("idlewright-languages-{}", std::process::id()));
    let put = |name: &str, text: &str| {
        let file = dir.join(name);
        #[expect(clippy::disallowed_methods, reason = "the test's own folder")]
        std::fs::create_dir_all(file.parent().expect("one"))
            .and_then(|()| std::fs::write(file, text))
            .expect("writable");
    };
    put("de.ftl", "language-name = Deutsch\njob-minutes = Minuten\n");
    put("fr/first.ftl", "job-minutes = minutes\n");
    put("fr/second.ftl", "language-name = français\n");
    put("it.ftl", "job-minutes\n");
    put("notes.txt", "no language");
    let offers = language::offers_in(Some(&dir));
    #[expect(clippy::disallowed_methods, reason = "the test's own folder")]
    std::fs::remove_dir_all(&dir).expect("its own");
    let of = |tag: &str| offers.iter().find(|o| o.tag == Tag::new(tag)).expect("offered");
    assert_eq!((offers[0].name(), offers[0].tag), ("English".to_owned(), None));
    assert_eq!((of("de").name(), of("fr").name()), ("Deutsch".to_owned(), "français".to_owned()));
    let german = of("de").words.as_ref().expect("reads");
    assert_eq!(german.say("job-minutes", &[]), "Minuten");
    assert_eq!(german.say("job-go-on", &[]), "Continue working", "English where it has none");
    let why = of("it").words.as_ref().expect_err("is no Fluent");
    assert!(why.contains("it.ftl:"), "{why}");
    assert!(offers.iter().all(|o| o.tag != Tag::new("notes")));
}
