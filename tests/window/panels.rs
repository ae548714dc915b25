//! Panels drawn without a window: which wishes come out, which words and roles go in, what the keyboard reaches,
//! and that nothing shows truth while the lid is closed.

use super::support::{Bay, Pane, act, asked, bay, click, done, has, pane, pane_of, press};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT, Queryable};
use idlewright::bench::action::{
    Action, Connector, Gear, Ill, Key as Turn, Load, Note, PartChoice, PartKind, Said, Sensor,
};
use idlewright::bench::facts::Told;
use idlewright::bench::record::Kind;
use idlewright::bench::tools::{Point, Tool};
use idlewright::bench::trace::COLUMNS;
use idlewright::bench::view::DashLamp;
use idlewright::lesson::Prediction;
use idlewright::lesson::facts::Outcome;
use idlewright::link::{DiagRequest, DiagResponse, Group, Refused, Routine, WaitsFor};
use idlewright::session::desk::Reach;
use idlewright::session::live::{Order, Pace};
use idlewright::window::panels::Plays;
use idlewright::window::panels::settings::{Settings, Tag, Theme, Volume};
use idlewright::window::panels::traces::{self, WIDE};
use idlewright::window::panels::{Front, Middle, Save, Wish, charts, keys, part, time, welcome, wheel};
use idlewright::words::facts;
use idlewright::words::numbers::{Units, clock, signed};
use std::path::PathBuf;
use std::sync::OnceLock;

/// A healthy engine at idle, nothing read yet.
fn healthy() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    Bay::like(ONE.get_or_init(|| bay("healthy-idle", &[], 20.0)))
}

/// A car that idles high, with codes and learned values read.
fn high() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    let read = [act(Action::Ask(DiagRequest::ReadCodes)), act(Action::Ask(DiagRequest::ReadLearned))];
    Bay::like(ONE.get_or_init(|| bay("idles-high", &read, 30.0)))
}

/// The same under an open lid, in two futures.
fn high_open() -> Bay {
    static ONE: OnceLock<Bay> = OnceLock::new();
    Bay::like(ONE.get_or_init(|| {
        let all =
            [Order::Lid(true), Order::Fork, Order::Do(Action::Load(Load::Compressor, true), Reach::Second)];
        bay("idles-high", &all, 20.0)
    }))
}

// ---------------------------------------------------------------------------------------------------
// Hands
// ---------------------------------------------------------------------------------------------------

#[test]
fn hands_ask_for_what_they_touch() {
    let mut p = pane(healthy());
    let drive = click(&mut p, "gear drive");
    assert_eq!(drive, done(Action::Gear(Gear::Drive)));
    let off = click(&mut p, "key off");
    assert_eq!(off, done(Action::Key(Turn::Off)));
    assert_eq!(click(&mut p, "key start"), done(Action::Key(Turn::Crank)));
    assert_eq!(click(&mut p, "Brake"), done(Action::Brake(true)));
    for (load, name) in [
        (Load::Compressor, "A/C compressor"),
        (Load::HeatedGlass, "Heated rear window"),
        (Load::Lamps, "Headlamps"),
        (Load::Steering, "Steering at full lock"),
        (Load::Blower, "Cabin blower"),
    ] {
        assert_eq!(click(&mut p, name), done(Action::Load(load, true)), "{name}");
    }
    assert_eq!(click(&mut p, "Battery terminal"), done(Action::Connector(Connector::Battery, false)));
}

#[test]
fn hands_show_where_the_bench_says_they_are() {
    let mut b = healthy();
    b.view.first.hands.brake = true;
    b.view.first.hands.lamps = true;
    let mut p = pane(b);
    assert_eq!(click(&mut p, "Brake"), done(Action::Brake(false)));
    assert_eq!(click(&mut p, "Headlamps"), done(Action::Load(Load::Lamps, false)));
    let on = p.h.get_by_role_and_label(Role::CheckBox, "Brake");
    assert_eq!(format!("{:?}", on.accesskit_node().toggled()), "Some(True)");
}

/// The pedal's slider rounded a driver's 2.4 % to 2 and asked for that: the driver was off the pedal at once.
#[test]
fn bug_the_pedal_is_left_to_a_driver_who_has_it() {
    let mut b = healthy();
    b.view.driving = true;
    b.view.first.hands.pedal_pct = 2.4;
    let mut p = pane(b);
    assert!(has(&p, "The driver has the pedals"));
    assert_eq!(p.settle(), Vec::new());
    assert_eq!(press(&mut p, Key::Backspace), done(Action::Pedal(0.0)), "a hand takes it");
}

#[test]
fn every_key_of_the_list_asks_for_what_it_says() {
    let mut p = pane(healthy());
    let all: &[(Key, Action)] = &[
        (Key::Q, Action::Key(Turn::Off)),
        (Key::W, Action::Key(Turn::On)),
        (Key::E, Action::Key(Turn::Crank)),
        (Key::Plus, Action::Pedal(5.0)),
        (Key::Minus, Action::Pedal(0.0)),
        (Key::Backspace, Action::Pedal(0.0)),
        (Key::P, Action::Gear(Gear::Park)),
        (Key::D, Action::Gear(Gear::Drive)),
        (Key::B, Action::Brake(true)),
        (Key::C, Action::Load(Load::Compressor, true)),
        (Key::H, Action::Load(Load::HeatedGlass, true)),
        (Key::L, Action::Load(Load::Lamps, true)),
        (Key::T, Action::Load(Load::Steering, true)),
        (Key::A, Action::Load(Load::Blower, true)),
        (Key::X, Action::Connector(Connector::Battery, false)),
    ];
    for (key, action) in all {
        assert_eq!(press(&mut p, *key), done(action.clone()), "{key:?}");
    }
    let orders = [
        (Key::Space, Order::Pace(Pace::REAL)),
        (Key::Num0, Order::Pace(Pace::SLOW)),
        (Key::Num1, Order::Pace(Pace::REAL)),
        (Key::Num2, Order::Pace(Pace::Times(10.0))),
        (Key::Num3, Order::Pace(Pace::Times(100.0))),
        (Key::Num4, Order::Pace(Pace::Flat)),
        (Key::Period, Order::Tooth),
        (Key::Comma, Order::Cycle),
        (Key::V, Order::Lid(true)),
        (Key::G, Order::Mark("mark".into())),
        (Key::F, Order::Fork),
    ];
    for (key, order) in orders {
        assert_eq!(press(&mut p, key), vec![Wish::Order(order)], "{key:?}");
    }
    let fronts = [
        (Key::O, Front::DriveOn),
        (Key::M, Front::Service),
        (Key::F6, Front::Scenarios),
        (Key::F7, Front::HealthyCar),
        (Key::F8, Front::Logbook),
        (Key::F9, Front::HandIn),
        (Key::F10, Front::Settings),
        (Key::Questionmark, Front::Keys),
        (Key::F1, Front::Words(String::new())),
    ];
    for (key, front) in fronts {
        let wishes = press(&mut p, key);
        assert!(wishes.iter().all(|w| *w == Wish::Healthy), "{key:?}");
        assert_eq!(p.h.state().state.front, front, "{key:?}");
        press(&mut p, Key::Escape);
        assert_eq!(p.h.state().state.front, Front::None, "Esc puts {key:?} away");
    }
    for (key, middle) in [
        (Key::F3, Middle::Readings),
        (Key::F4, Middle::Wheel),
        (Key::F5, Middle::Strip),
        (Key::F2, Middle::Engine),
    ] {
        press(&mut p, key);
        assert_eq!(p.h.state().state.middle, middle);
    }
    // a letter that is typed is no hand
    p.h.get_by_role(Role::TextInput).focus();
    p.settle();
    assert!(press(&mut p, Key::B).is_empty());
}

#[test]
fn the_keyboard_reaches_everything_in_front_of_it() {
    let mut p = pane(high());
    let mut reached = std::collections::BTreeSet::new();
    for _ in 0..160 {
        p.h.key_press(Key::Tab);
        p.h.run_steps(2);
        if let Some(id) = p.h.ctx.memory(|m| m.focused()) {
            reached.insert(format!("{id:?}"));
        }
    }
    p.settle();
    assert!(reached.len() > 60, "{} things can be reached", reached.len());
    p.h.get_by_label("A/C compressor").focus();
    p.settle();
    assert_eq!(press(&mut p, Key::Enter), done(Action::Load(Load::Compressor, true)));
    assert_eq!(press(&mut p, Key::Space), done(Action::Load(Load::Compressor, true)), "not the pace");
}

#[test]
fn the_list_of_keys_names_every_key() {
    let text: String = keys::LIST.iter().map(|(k, _)| format!(" {k} ")).collect();
    for key in "Q W E P N D B C H L T A X M Y V G R F J O 0 1 2 3 4 . , ? Space Backspace F1 F2 F3 F4 F5 F6 F7 F8 F9 F10 Esc ←"
        .split(' ')
    {
        assert!(text.contains(&format!(" {key} ")), "{key}");
    }
}

// ---------------------------------------------------------------------------------------------------
// Shelf and workshop tools
// ---------------------------------------------------------------------------------------------------

#[test]
fn tools_and_parts_are_done_by_a_second_press_with_their_price() {
    let mut p = pane_of(healthy(), egui::vec2(1600.0, 2400.0));
    assert!(click(&mut p, "Vacuum gauge, 5 min, 5 units").is_empty(), "it opens first");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::VacuumGauge)));
    click(&mut p, "Compression test, 14 min, 14 units");
    assert!(has(&p, "coils and injectors disconnected"));
    click(&mut p, "3");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::Compression(3))));
    click(&mut p, "Voltmeter, 3 min, 3 units");
    assert_eq!(click(&mut p, "Measure"), done(Action::Measure(Tool::Voltmeter(Point::BatteryPost))));
    click(&mut p, "Throttle body, 30 min, 270 units");
    assert!(has(&p, "engine off"));
    let fit = done(Action::Fit(PartChoice::new(PartKind::ThrottleBody)));
    assert_eq!(click(&mut p, "Fit new part (30 min, 270 units)"), fit);
    click(&mut p, "Injector, 45 min, 115 units");
    click(&mut p, "2");
    let fit = done(Action::Fit(PartChoice::new(PartKind::Injector(2))));
    assert_eq!(click(&mut p, "Fit new part (45 min, 115 units)"), fit);
}

#[test]
fn other_work_can_be_done_by_hand() {
    let mut p = pane_of(healthy(), egui::vec2(1600.0, 2400.0));
    click(&mut p, "Clean throttle body, 25 min, 31 units");
    assert_eq!(click(&mut p, "Do this"), done(Action::CleanThrottle));
    click(&mut p, "Seal the intake air leak, 30 min, 38 units");
    assert_eq!(click(&mut p, "Do this"), done(Action::Leak(0.0)));
    click(&mut p, "Swap two injectors, 60 min, 66 units");
    assert_eq!(click(&mut p, "Swap"), done(Action::SwapInjectors(1, 2)));
    click(&mut p, "Repair sensor or wiring, 35 min, 38 units");
    assert_eq!(click(&mut p, "Do this"), done(Action::Sensor(Sensor::Coolant, Ill::default())));
    click(&mut p, "Hold speed on rollers");
    assert_eq!(click(&mut p, "Hold"), done(Action::Hold { rpm: 2000.0, nm: 0.0 }));
    click(&mut p, "Connectors…, 2 min, 2 units each");
    assert_eq!(click(&mut p, "crankshaft sensor"), done(Action::Connector(Connector::CrankSensor, false)));
}

#[test]
fn what_a_tool_showed_is_read() {
    let b = bay("healthy-idle", &[act(Action::Measure(Tool::AmpereClamp))], 5.0);
    let words = idlewright::words::readings::reading(&b.view.first.seen.readings[0]);
    let p = pane_of(b, egui::vec2(1600.0, 2400.0));
    assert!(has(&p, &words), "{words}");
}

#[test]
fn a_part_s_card_opens_by_its_name_on_the_engine() {
    assert_eq!(part::of("injector_2"), Some(PartKind::Injector(2)));
    assert_eq!(part::of("flexplate"), Some(PartKind::Wheel));
    assert_eq!(part::of("oxygen_sensor_2"), Some(PartKind::Sensor(Sensor::Oxygen2)));
    assert_eq!(part::of("intake"), None, "it cannot be fitted");
    let mut b = healthy();
    b.state.open_part("injector_2");
    let mut p = pane(b);
    assert!(has(&p, "Injector 2"));
    assert_eq!(click(&mut p, "Disconnect"), done(Action::Connector(Connector::Injector(2), false)));
    let fit = done(Action::Fit(PartChoice::new(PartKind::Injector(2))));
    assert_eq!(click(&mut p, "Fit new part (45 min, 115 units)"), fit);
}

// ---------------------------------------------------------------------------------------------------
// The module's mind
// ---------------------------------------------------------------------------------------------------

#[test]
fn nothing_is_read_that_was_not_asked_for() {
    let mut p = pane(healthy());
    assert!(!has(&p, "idle air, no load"));
    assert_eq!(
        click(&mut p, "Read learned values (2 min, 2 units)"),
        done(Action::Ask(DiagRequest::ReadLearned))
    );
    assert_eq!(click(&mut p, "Read codes (2 min, 2 units)"), done(Action::Ask(DiagRequest::ReadCodes)));
}

#[test]
fn learned_values_stand_on_rulers_with_their_gates() {
    let b = high();
    let light = b.view.first.seen.learned[0].clone();
    assert_eq!(light.name, "idle_air_light");
    let shut = light.gates.iter().find(|g| !g.open).map(facts::gate).expect("it idles high: one is shut");
    let open = light.gates.iter().find(|g| g.open).map(facts::gate).expect("one is open");
    let p = pane(b);
    assert!(has(&p, "idle air, no load: stored +"));
    assert!(has(&p, "default 0.00 g/s, limits"));
    assert!(has(&p, &format!("not met: {shut}")), "{shut}");
    assert!(has(&p, &format!("met: {open}")), "{open}");
    assert!(has(&p, "no code stored") || has(&p, "P0507"));
}

#[test]
fn gates_stay_hidden_where_the_scenario_hides_them() {
    let mut b = high();
    let shut = b.view.first.seen.learned[0].gates.iter().find(|g| !g.open).map(facts::gate).expect("shut");
    b.scenario.plan.as_mut().expect("a lesson").hides.gates = true;
    let p = pane(b);
    assert!(has(&p, "find out for yourself") && !has(&p, &shut));
}

#[test]
fn truth_is_in_ink_under_an_open_lid_only() {
    // besides the button that shows and hides it
    let tells = |p: &Pane| {
        let button = "true values hidden";
        p.h.query_all_by_label_contains("true")
            .any(|n| n.accesskit_node().label().is_none_or(|words| words != button))
    };
    let closed = pane(high());
    assert!(!tells(&closed) && has(&closed, "true values hidden"));
    let mut open = pane(high_open());
    assert!(has(&open, ", true "));
    press(&mut open, Key::F5);
    assert!(tells(&open));
    let mut closed = pane(high());
    press(&mut closed, Key::F3);
    assert!(!has(&closed, "deposit"));
    press(&mut closed, Key::F5);
    assert!(!tells(&closed) && has(&closed, "counted"));
    press(&mut closed, Key::F4);
    assert!(has(&closed, "True tooth positions are hidden") && !has(&closed, "largest difference"));
}

#[test]
fn the_idle_s_air_adds_up() {
    let b = high();
    let l = b.view.first.seen.live.clone();
    let sum = l.idle_base_g_s + l.idle_load_g_s + l.idle_learned_g_s + l.idle_pi_g_s;
    let p = pane(b);
    assert!(has(&p, &format!("total +{sum:.2} g/s")), "{sum}");
}

#[test]
fn the_fuel_adds_up() {
    let b = high();
    let f = b.view.first.seen.live.fuel.expect("it runs");
    let sum = f.by_air_g_s + f.target_g_s + f.long_g_s + f.short_g_s + f.after_start_g_s;
    // by the air, at 14.7 to one or so: the terms are the module's own, this is what they must come near to
    let air = b.view.first.seen.live.air_g_s;
    assert!((air / f.by_air_g_s - 14.5).abs() < 0.6, "{air} g/s of air, {} of fuel", f.by_air_g_s);
    let mut p = pane_of(b, egui::vec2(1600.0, 1600.0));
    assert!(has(&p, &format!("total +{sum:.3} g/s")), "{sum}");
    p.h.state_mut().view.first.seen.live.fuel = None;
    p.settle();
    assert!(has(&p, "no fuel requested"));
}

#[test]
fn a_value_s_last_write_is_told() {
    let b = high();
    let words = idlewright::report::written(&b.view.first.seen.learned[0]);
    let mut p = pane_of(b, egui::vec2(1600.0, 1600.0));
    assert!(has(&p, &format!("last written: {words}")), "{words}");
    click(&mut p, "As a table");
    assert!(has(&p, "last written") && has(&p, "default"));
}

#[test]
fn codes_come_with_state_and_freeze_frame() {
    let mut b = high();
    let one = idlewright::link::CodeStatus {
        code: "P0507".into(),
        pending: true,
        confirmed: false,
        permanent: false,
    };
    for e in &mut b.rows.log {
        if let Kind::Answer { answer: DiagResponse::Codes(all), .. } = &mut e.kind {
            *all = vec![one.clone()];
        }
    }
    b.view.first.seen.dash_lamp = DashLamp::Blink;
    let mut p = pane_of(b, egui::vec2(1600.0, 2000.0));
    assert!(has(&p, "P0507") && has(&p, "pending") && has(&p, "MIL flashing: reduce load"));
    let ask = done(Action::Ask(DiagRequest::ReadFreezeFrame("P0507".into())));
    assert_eq!(click(&mut p, "Freeze frame of P0507 (1 min, 1 unit)"), ask);
    let mut b = high();
    b.view.first.seen.dash_lamp = DashLamp::BulbCheck;
    assert!(has(&pane_of(b, egui::vec2(1600.0, 2000.0)), "MIL on: bulb check"));
}

#[test]
fn the_module_is_asked_with_prices_progress_and_refusals() {
    let mut b = healthy();
    b.view.first.seen.live.routine = "running".into();
    b.view.first.seen.live.routine_waits_for = Some(WaitsFor::LetGo);
    b.view.said = Some(Told::Refused(Refused::LoadOn));
    b.state.front = Front::Service;
    let mut p = pane(b);
    let start = |r| done(Action::Ask(DiagRequest::Start(r)));
    assert_eq!(click(&mut p, "Reset idle air, 2 min, 2 units"), start(Routine::ResetGroup(Group::IdleAir)));
    assert_eq!(click(&mut p, "Settle the idle, 2 min, 2 units"), start(Routine::LearnIdle));
    assert_eq!(click(&mut p, "Learn crankshaft variation, 6 min, 6 units"), start(Routine::LearnWheel));
    assert_eq!(click(&mut p, "Switch off cylinder 1, 1 min, 1 unit"), start(Routine::CutOut(1)));
    assert_eq!(click(&mut p, "Clear codes, 1 min, 1 unit"), done(Action::Ask(DiagRequest::ClearCodes)));
    assert!(has(&p, &idlewright::words::say("caution-high-revs")), "what to mind stands beside it");
    assert!(
        has(&p, "release the pedal now")
            && has(&p, "Refused: an electrical or engine load is on. Needs all loads off.")
    );
    assert_eq!(click(&mut p, "Stop routine"), done(Action::Ask(DiagRequest::Stop)));
}

// ---------------------------------------------------------------------------------------------------
// Time and traces
// ---------------------------------------------------------------------------------------------------

#[test]
fn paces_are_asked_for_and_a_shortfall_is_told() {
    let mut p = pane(healthy());
    assert_eq!(click(&mut p, "pace ×100"), vec![Wish::Order(Order::Pace(Pace::Times(100.0)))]);
    assert_eq!(click(&mut p, "pace maximum"), vec![Wish::Order(Order::Pace(Pace::Flat))]);
    assert_eq!(time::falls_short(Pace::Times(100.0), Some(96.0)), None);
    assert_eq!(time::falls_short(Pace::Times(100.0), Some(94.0)).as_deref(), Some("reaches ×94.0 of ×100"));
    assert_eq!(time::falls_short(Pace::Times(100.0), None), None);
    let mut b = healthy();
    (b.view.pace, b.view.reached) = (Pace::Times(100.0), Some(43.0));
    assert!(has(&pane(b), "reaches ×43.0 of ×100"));
}

#[test]
fn going_back_needs_two_presses_and_says_what_is_undone() {
    let mut p = pane(high());
    let last = p.h.state().view.marks.len() - 1;
    assert!(press(&mut p, Key::R).is_empty());
    assert!(has(&p, "undo "));
    assert_eq!(press(&mut p, Key::R), vec![Wish::Order(Order::Rewind(last))]);
    // marks that lie on each other are told apart by their names
    p.h.get_by_label("car received at 0:00").click_accesskit();
    assert!(p.settle().is_empty());
    let words = {
        let v = &p.h.state().view;
        format!("Go back, undo {}", clock(v.time_s - v.marks[0].at_s))
    };
    assert_eq!(click(&mut p, &words), vec![Wish::Order(Order::Rewind(0))]);
}

#[test]
fn two_futures_stand_on_the_same_traces_with_their_difference() {
    let b = high_open();
    let at = b.view.time_s;
    let one = traces::row_at(&b.rows.first, at).expect("recorded")[1];
    let two = traces::row_at(&b.rows.second, at).expect("recorded")[1];
    assert!((one - two).abs() > 1.0, "a compressor in one future only: {one} {two}");
    let mut p = pane(b);
    press(&mut p, Key::F3);
    for head in ["second", "difference"] {
        assert!(has(&p, head));
    }
    let by = format!("{} rpm", signed(two - one, 1));
    assert!(has(&p, &by), "{by}");
    assert_eq!(press(&mut p, Key::J), vec![Wish::Order(Order::Join)]);
    // a hand reaches the future that was chosen
    p.h.state_mut().state.reach = Reach::Second;
    let wish = Wish::Order(Order::Do(Action::Brake(true), Reach::Second));
    assert_eq!(press(&mut p, Key::B), vec![wish]);
}

#[test]
fn a_thinned_trace_keeps_every_spike() {
    let mut rows = vec![0.0; WIDE * 50_000];
    for (k, r) in rows.chunks_exact_mut(WIDE).enumerate() {
        r[0] = k as f64 * 0.1;
        r[1] = if k == 31_234 { 5000.0 } else { 700.0 };
    }
    let points = traces::points(&rows, 1, 0.0, 5000.0, 900);
    assert!(points.len() <= 910, "{}", points.len());
    assert!(points.iter().any(|p| p[1] == 5000.0 && (p[0] - 3123.4).abs() < 1e-6));
    assert!(points.is_sorted_by(|a, b| a[0] <= b[0]));
    // a short stretch is shown row by row
    let few = traces::points(&rows, 1, 10.0, 20.0, 900);
    assert!((100..=103).contains(&few.len()), "{}", few.len());
    assert!(traces::row_at(&rows, -1.0).is_none());
    assert!(traces::points(&[], 1, 0.0, 1.0, 900).is_empty());
}

#[test]
fn traces_are_chosen_and_saved_without_truth_under_a_closed_lid() {
    let mut p = pane(high());
    press(&mut p, Key::F3);
    click(&mut p, "Temperatures");
    click(&mut p, "coolant");
    let coolant = COLUMNS.iter().position(|c| c.name == "coolant_c").expect("recorded");
    assert!(p.h.state().state.readings.chosen.contains(&coolant));
    let rows = p.h.state().rows.first.clone();
    let text = |open, read| idlewright::report::rows_csv(rows.chunks_exact(WIDE), open, read);
    let closed = text(false, false);
    assert!(closed.starts_with("time_s,engine_speed_rpm") && !closed.contains("true_"));
    assert_eq!(closed.lines().count(), rows.len() / WIDE + 1);
    assert!(text(true, false).contains("true_deposit_um"));
    // nobody has read the learned values
    assert!(!closed.contains("idle_air_learned") && text(false, true).contains("idle_air_learned_g_s"));
}

#[test]
fn driving_on_is_asked_for_and_can_be_stopped() {
    let mut b = healthy();
    b.state.front = Front::DriveOn;
    let mut p = pane(b);
    let wishes = click(&mut p, "Drive");
    assert!(
        matches!(wishes.as_slice(), [Wish::Order(Order::Do(Action::Drive { minutes, .. }, _))] if *minutes == 20.0),
        "{wishes:?}"
    );
    p.h.state_mut().view.driving = true;
    let at = p.h.state().view.time_s;
    p.h.state_mut().view.runs_to_s = Some(at + 1200.0);
    p.settle();
    assert_eq!(click(&mut p, "Stop here"), vec![Wish::Order(Order::Pace(Pace::Paused))]);
}

#[test]
fn the_cursor_is_put_down_without_a_pointer() {
    let mut p = pane(high());
    press(&mut p, Key::F3);
    let zero = p.h.state().view.hand_over_s;
    p.h.get_by_role_and_label(Role::Slider, "cursor").focus();
    p.settle();
    press(&mut p, Key::ArrowLeft);
    let at = p.h.state().state.readings.held_s.expect("put down");
    assert!(at < p.h.state().view.time_s);
    let rows = &p.h.state().rows.first;
    let speed = traces::row_at(rows, at).expect("recorded")[1];
    assert!(has(&p, &format!("{speed:.0} rpm")), "what was then stands beside it");
    assert!(has(&p, &format!("at {}", clock(at - zero))));
    click(&mut p, "Remove cursor");
    assert_eq!(p.h.state().state.readings.held_s, None);
}

// ---------------------------------------------------------------------------------------------------
// Charts to keep
// ---------------------------------------------------------------------------------------------------

/// Every chart of the window: the key that brings it up, what its button says, its file, a head of its numbers.
const CHARTS: [(Key, &str, &str, &str); 6] = [
    (Key::F2, "save strip: engine speed, target speed…", "traces", "engine speed rpm"),
    (Key::F3, "save chart 1: manifold absolute pressure…", "traces", "manifold absolute pressure kPa"),
    (Key::F4, "save reluctor wheel view…", "wheel", "tooth"),
    (Key::F5, "save cylinder strip…", "cylinders", "counted"),
    (Key::F2, "save learned values…", "learned", "default"),
    (Key::F2, "save idle air…", "idle-air", "requested"),
];

#[test]
fn every_chart_is_kept_as_picture_and_numbers() {
    let mut b = high_open();
    b.state.files.folder = "somewhere".into();
    let mut p = pane_of(b, egui::vec2(1600.0, 1400.0));
    for (key, button, name, head) in CHARTS {
        press(&mut p, key);
        assert!(click(&mut p, button).is_empty(), "{button}: a sheet first");
        assert_eq!(p.h.state().state.front, Front::Keep, "{button}");
        assert!(has(&p, head), "{button}: its numbers stand on the sheet");
        let kept = click(&mut p, "Save picture (SVG)");
        let [Wish::Keep { folder, name: file, text }] = kept.as_slice() else { panic!("{button}: {kept:?}") };
        assert_eq!((folder, file), (&PathBuf::from("somewhere"), &format!("{name}.svg")));
        // marks, lines and words, not an empty sheet; and it can be read as what it says it is
        assert!(text.starts_with("<svg xmlns=") && text.ends_with("</svg>\n"), "{button}");
        assert!(text.matches("<path").count() > 3, "{button}: {} lines", text.matches("<path").count());
        assert!(text.matches("<text").count() > 3 && !text.contains("NaN"), "{button}");
        assert_eq!(text.matches("<g ").count(), text.matches("</g>").count(), "{button}");
        let kept = click(&mut p, "Save values (CSV)");
        let [Wish::Keep { name: file, text, .. }] = kept.as_slice() else { panic!("{button}: {kept:?}") };
        assert_eq!(file, &format!("{name}.csv"));
        let mut lines = text.lines();
        assert!(lines.next().expect("heads").contains(head), "{button}: {text}");
        let cells = text.lines().next().expect("heads").split(',').count();
        assert!(lines.clone().count() > 2, "{button}: {text}");
        assert!(text.contains('"') || lines.all(|l| l.split(',').count() == cells), "{button}: {text}");
        if let Ok(dir) = std::env::var("IDLEWRIGHT_PICTURES") {
            let kept = p.h.state().state.charts.kept.clone().expect("open");
            charts::write(&PathBuf::from(dir), &format!("chart-{name}-{}.svg", key.name()), &kept.svg);
        }
        press(&mut p, Key::Escape);
        assert_eq!(p.h.state().state.charts.kept, None);
    }
}

#[test]
fn the_whole_window_is_a_picture_once_the_sheet_is_gone() {
    let mut b = high();
    b.state.files.folder = "somewhere".into();
    let mut p = pane(b);
    click(&mut p, "save strip: engine speed, target speed…");
    p.h.get_by_label("Save whole window (PNG)").click();
    p.h.run_steps(2);
    assert!(p.h.state().wishes.is_empty(), "the sheet was drawn with the press");
    assert_eq!(p.settle(), vec![Wish::Save(Save::Picture, PathBuf::from("somewhere"))]);
    assert_eq!(p.h.state().state.front, Front::None);
}

#[test]
fn a_chart_is_written_whole_or_not_at_all() {
    let dir = std::env::temp_dir().join(format!("idlewright-charts-{}", std::process::id()));
    let said = charts::write(&dir, "wheel.svg", "<svg/>");
    assert!(said.starts_with("Saved: ") && said.contains("wheel.svg"), "{said}");
    #[expect(clippy::disallowed_methods, reason = "what was written is read again")]
    let files = || -> Vec<(String, String)> {
        let all = std::fs::read_dir(&dir).expect("there").map(|f| f.expect("readable").path());
        all.map(|f| (f.file_name().unwrap().to_string_lossy().into(), std::fs::read_to_string(f).unwrap()))
            .collect()
    };
    assert_eq!(files(), vec![("wheel.svg".to_owned(), "<svg/>".to_owned())]);
    let said = charts::write(&dir.join("wheel.svg"), "more.svg", "<svg/>");
    assert!(said.contains("could not be saved"), "{said}");
    assert_eq!(files().len(), 1);
    #[expect(clippy::disallowed_methods, reason = "the test's own folder")]
    std::fs::remove_dir_all(&dir).expect("its own");
}

#[test]
fn no_chart_that_is_kept_holds_truth_under_a_closed_lid() {
    let mut p = pane_of(high(), egui::vec2(1600.0, 1400.0));
    for (key, button, ..) in CHARTS {
        press(&mut p, key);
        click(&mut p, button);
        let kept = p.h.state().state.charts.kept.clone().expect("kept");
        for text in [&kept.svg, &kept.csv()] {
            assert!(!text.contains("true"), "{button}");
        }
        // ink is the widest line; nothing but outlines and letters is drawn with it, and no line of a chart
        assert!(
            !kept.svg.contains("stroke-width=\"3.4\"") && !kept.svg.contains("stroke-width=\"3.2\""),
            "{button}"
        );
        press(&mut p, Key::Escape);
    }
}

// ---------------------------------------------------------------------------------------------------
// The wheel, tooth by tooth
// ---------------------------------------------------------------------------------------------------

/// Fifty-eight teeth, of which one stands aside.
fn teeth(tooth: usize, deg: f64) -> Vec<f64> {
    (1..=58).map(|k| if k == tooth { deg } else { 0.0 }).collect()
}

#[test]
fn the_wheel_shows_learned_measured_and_true_teeth() {
    let mut b = high_open();
    b.view.first.seen.wheel_table_deg = teeth(12, -0.05);
    b.view.first.truth.as_mut().expect("open").wheel_deg = teeth(30, 0.08);
    let scope = Tool::Scope(Point::Pin(Sensor::Crank));
    let mut reading = idlewright::bench::tools::Reading::sample(scope);
    reading.edges_deg = teeth(44, 0.11);
    b.view.first.seen.readings.push(reading);
    b.state.middle = Middle::Wheel;
    let mut p = pane_of(b, egui::vec2(1600.0, 2400.0));
    assert!(has(&p, "learned: largest \u{2212}0.050° at tooth 12"));
    assert!(has(&p, "measured: largest +0.110° at tooth 44"));
    assert!(has(&p, "true: largest +0.080° at tooth 30"));
    click(&mut p, "Each tooth");
    assert!(has(&p, "\u{2212}0.050") && has(&p, "+0.110") && has(&p, "+0.080"));
    assert_eq!(click(&mut p, "Measure again (8 min, 8 units)"), done(Action::Measure(scope)));
    // the lid on: the wheel itself is gone, belief needs asking, what was measured stays
    let mut b = healthy();
    b.view.first.seen = p.h.state().view.first.seen.clone();
    b.state.middle = Middle::Wheel;
    let mut p = pane(b);
    assert!(has(&p, "measured: largest") && !has(&p, "true: largest") && !has(&p, "learned: largest"));
    assert!(!has(&p, "true tooth positions"));
    assert_eq!(
        click(&mut p, "Read crankshaft variation (2 min, 2 units)"),
        done(Action::Ask(DiagRequest::ReadLearned))
    );
}

/// By hand: 1-3-4-2 with the first tooth 84° before top: the sector of 1 begins at 84° and of 3 at 264°, teeth 14
/// and 44 from 0; a V6 has three, 120° each.
#[test]
fn exact_sectors_of_the_wheel() {
    let four = wheel::sectors(&[1, 3, 4, 2], 84.0);
    assert_eq!(four.len(), 2);
    assert_eq!((four[0].cylinders.as_str(), four[0].teeth), ("1 and 4", (14, 44)));
    assert_eq!((four[1].cylinders.as_str(), four[1].teeth), ("2 and 3", (44, 14)));
    let six = wheel::sectors(&[1, 2, 3, 4, 5, 6], 84.0);
    assert_eq!(six.iter().map(|s| s.teeth).collect::<Vec<_>>(), vec![(14, 34), (34, 54), (54, 14)]);
    assert_eq!(six[2].cylinders, "3 and 6");
}

/// A twentieth of a degree is seen: at 1600×900 it moves the line by more than its own width many times over.
#[test]
fn a_twentieth_of_a_degree_is_seen() {
    let height_of = |deg: f64| {
        let mut b = high_open();
        b.view.first.seen.wheel_table_deg = teeth(12, deg);
        b.view.first.truth.as_mut().expect("open").wheel_deg = Vec::new();
        b.state.middle = Middle::Wheel;
        let mut p = pane(b);
        click(&mut p, "save reluctor wheel view…");
        let svg = p.h.state().state.charts.kept.clone().expect("kept").svg;
        // pencil's lines: from their ends, the one that reaches furthest to the right of the tooth's place
        svg.lines()
            .filter(|l| l.contains("#3F5278") || l.contains("#A9BEE8"))
            .filter_map(|l| l.split("<path d=\"M").nth(1)?.split(' ').next()?.parse::<f64>().ok())
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let moved = height_of(0.05) - height_of(0.0);
    assert!(moved > 8.0, "{moved} points");
}

// ---------------------------------------------------------------------------------------------------
// Lessons
// ---------------------------------------------------------------------------------------------------

fn held() -> Bay {
    let reset = Action::Ask(DiagRequest::Start(Routine::ResetGroup(Group::IdleAir)));
    let mut b = asked("idles-high", &act(reset.clone()));
    assert_eq!(b.view.questions.len(), 2, "the cause, and what comes of it");
    b.state.last = Some((reset, Reach::Both));
    b
}

#[test]
fn questions_hold_an_act_back() {
    let one = held();
    let mut p = pane(Bay { state: one.state.clone(), ..Bay::like(&one) });
    assert!(has(&p, "First, a question") && has(&p, "reset idle air"));
    assert!(press(&mut p, Key::B).is_empty(), "no hand reaches round it");
    let plan = one.scenario.plan.clone().expect("a lesson");
    p.h.get_by_label(&plan.causes[0].says).click();
    p.settle();
    let say = p.h.get_all_by_label("Submit").next().expect("there");
    say.click();
    assert_eq!(p.settle(), done(Action::Note(Note::Cause(plan.causes[0].id.clone()))));
    p.h.get_all_by_role(Role::TextInput).last().expect("a field").focus();
    p.settle();
    p.h.get_all_by_role(Role::TextInput).last().expect("a field").type_text("720");
    p.settle();
    p.h.get_all_by_label("Submit").last().expect("there").click();
    let says = Said::Number(720.0);
    assert_eq!(p.settle(), done(Action::Note(Note::Answer { ask: "after-reset".into(), says })));
    let (action, _) = one.state.last.clone().expect("waits");
    assert_eq!(click(&mut p, "Continue without answering"), done(action));
    assert_eq!(click(&mut p, "Cancel"), done(Action::Wait));
}

/// Asked for from a sheet, the question stands alone: with two sheets Tab came to neither.
#[test]
fn bug_questions_leave_the_keyboard_to_a_sheet_behind() {
    let one = held();
    let mut state = one.state.clone();
    state.front = Front::Service;
    let mut p = pane(Bay { state, ..Bay::like(&one) });
    let mut fields = 0;
    for _ in 0..12 {
        p.h.key_press(Key::Tab);
        p.h.run_steps(2);
        // one field for a number, one for words
        fields += p.h.get_all_by_role(Role::TextInput).filter(|n| n.is_focused()).count();
    }
    assert!(fields > 0, "Tab comes to the number that is asked for");
    p.h.state_mut().view.questions.clear();
    p.settle();
    assert!(has(&p, "Scan tool"), "the sheet is back once it is answered");
}

#[test]
fn a_cause_is_named_from_the_scenario_s_own() {
    let mut p = pane(high());
    press(&mut p, Key::Y);
    let plan = p.h.state().scenario.plan.clone().expect("a lesson");
    for c in &plan.causes {
        assert!(has(&p, &c.says));
    }
    p.h.get_by_label(&plan.causes[1].says).click();
    p.settle();
    let wish = done(Action::Note(Note::Cause(plan.causes[1].id.clone())));
    assert_eq!(click(&mut p, "Submit"), wish);
    assert_eq!(p.h.state().state.front, Front::None);
}

#[test]
fn cautions_come_before_the_first_hand() {
    let mut b = high();
    b.state.cautioned = false;
    let mut p = pane(b);
    let [own, always] = idlewright::report::job_cautions(&p.h.state().scenario.about.cautions);
    assert!(!own.is_empty() && own.iter().chain(&always).all(|c| has(&p, &c.says)));
    let wishes = click(&mut p, "I have read them and will follow them");
    assert_eq!(wishes, done(Action::Note(Note::Cautions)));
}

#[test]
fn the_job_card_tells_and_hands_over() {
    let mut b = high();
    b.view.lid_open = false;
    let mut p = pane(b);
    assert!(has(&p, "Idles high since the throttle was cleaned"));
    assert!(has(&p, "creeping forward at the lights"));
    assert!(has(&p, "61000 km"));
    // a lesson: it asks back before the lid comes off for the first time
    assert!(click(&mut p, "true values hidden").is_empty());
    assert!(click(&mut p, "Keep them hidden").is_empty());
    press(&mut p, Key::V);
    assert!(has(&p, "The debrief records that you looked"));
    assert_eq!(click(&mut p, "Show them"), vec![Wish::Order(Order::Lid(true))]);
    press(&mut p, Key::F9);
    assert!(has(&p, "You have not named the cause."));
    assert_eq!(click(&mut p, "Hand over the car"), vec![Wish::Order(Order::HandIn)]);
}

#[test]
fn a_locked_lid_stays_on() {
    let mut b = high();
    b.scenario.about.lid = idlewright::scenario::Lid::Locked;
    let mut p = pane(b);
    assert!(click(&mut p, "true values locked").is_empty());
    assert!(press(&mut p, Key::V).is_empty());
}

pub fn handed_in() -> Bay {
    use idlewright::session::Options;
    use idlewright::session::live::Live;
    let mut b = high();
    let mut live = Live::start(b.scenario.clone(), Options::default(), || ());
    super::support::wait_for(&live, |_| true);
    for o in [
        act(Action::Note(Note::Cautions)),
        act(Action::Note(Note::Cause("stale-idle-air".into()))),
        Order::HandIn,
    ] {
        assert!(live.order(o));
    }
    live.wait();
    b.run = live.handed_in();
    assert!(b.run.is_some());
    b
}

#[test]
fn the_debrief_shows_the_grade_and_saves_it() {
    let b = handed_in();
    let grade = b.run.as_ref().and_then(|r| r.grade.clone()).expect("a lesson");
    let mut p = pane_of(b, egui::vec2(1600.0, 2400.0));
    assert!(has(&p, "not passed: work incomplete"));
    for row in &grade.rows {
        assert!(has(&p, &row.says), "{}", row.says);
        // a finding is met or not met; only a gate is open or shut
        for f in &row.findings {
            let spoken =
                format!("{}: {}", if f.met { "passed" } else { "not passed" }, facts::found(&f.found));
            assert!(p.h.get_all_by_label(&spoken).next().is_some(), "{spoken}");
        }
    }
    assert!(
        has(&p, "something on the car is still not right; visible when true values are shown")
            && has(&p, "Causes named")
    );
    for (right, spoken) in [(true, "correct"), (false, "wrong")] {
        let one = Prediction {
            id: "one".into(),
            question: "What comes?".into(),
            said: Some(Outcome::Number { x: 720.0, unit: "rpm".into() }),
            came: Some(Outcome::Number { x: 1072.0, unit: "rpm".into() }),
            right: Some(right),
            asked_s: 1.0,
            looked_s: Some(2.0),
            alone_s: None,
            why: "For a reason.".into(),
        };
        let grade = p.h.state_mut().run.as_mut().and_then(|r| r.grade.as_mut()).expect("a lesson");
        grade.predictions = vec![one];
        grade.good_parts = 2;
        p.settle();
        p.h.get_by_label(spoken);
        p.h.get_by_label("Good parts replaced: 2");
    }
    p.h.state_mut().state.files.folder = "somewhere".into();
    p.settle();
    let folder = PathBuf::from("somewhere");
    assert_eq!(click(&mut p, "Save debrief"), vec![Wish::Save(Save::Debrief, folder.clone())]);
    assert_eq!(click(&mut p, "Save logbook"), vec![Wish::Save(Save::Logbook, folder)]);
    assert_eq!(click(&mut p, "Try again"), vec![Wish::Again]);
    assert!(press(&mut p, Key::B).is_empty(), "the car is handed over");
    p.picture("debrief");
}

#[test]
fn a_car_that_was_handed_over_is_only_looked_at() {
    let mut b = handed_in();
    b.state.debrief_away = true;
    b.rows.log.clear();
    let mut p = pane(b);
    for button in ["Scan tool…", "Read codes (2 min, 2 units)", "Read learned values (2 min, 2 units)"] {
        assert!(p.h.get_by_label(button).accesskit_node().is_disabled(), "{button}");
        assert!(click(&mut p, button).is_empty(), "{button}");
        assert_eq!(p.h.state().state.front, Front::None);
    }
}

// ---------------------------------------------------------------------------------------------------
// First minute, settings, words
// ---------------------------------------------------------------------------------------------------

#[test]
fn the_first_minute_shows_cautions_and_the_first_job() {
    let mut b = healthy();
    b.state.front = Front::First;
    let mut p = pane(b);
    assert!(has(&p, "carbon monoxide"));
    let wishes = click(&mut p, "The first job: idles high");
    assert_eq!(p.h.state().state.guide, None);
    let kept = Settings { cautions_read: true, ..p.h.state().settings };
    assert_eq!(wishes, vec![Wish::Settings(kept), Wish::Scenario("idles-high".into())]);
    assert_eq!(idlewright::window::panels::PanelState::new(&Settings::default()).front, Front::First);
}

#[test]
fn a_look_round_goes_on_as_it_is_done() {
    let mut b = healthy();
    b.state.front = Front::First;
    let mut p = pane(b);
    let wishes = click(&mut p, "Tour of a healthy engine");
    assert!(wishes.contains(&Wish::Scenario("healthy-idle".into())), "{wishes:?}");
    assert_eq!(p.h.state().state.anew().guide, Some(0), "kept when the healthy car is opened");
    assert!(has(&p, "Let time run") && has(&p, "tour, 1 of"));
    p.h.state_mut().view.pace = Pace::REAL;
    p.settle();
    assert!(has(&p, "Switch on the A/C compressor"), "what was done is not asked for again");
    click(&mut p, "Next step");
    assert!(has(&p, "Press “Read learned values”"));
    p.h.state_mut().view.lid_open = true;
    p.settle();
    assert!(has(&p, "tour, 3 of"), "one step after the other");
    click(&mut p, "Next step");
    assert!(has(&p, "Look at the reluctor wheel"), "the lid is off already");
    press(&mut p, Key::F4);
    assert!(has(&p, "split the run in two"));
    click(&mut p, "End the tour");
    assert!(!has(&p, "tour, "));
    // and begun again from the list of keys
    press(&mut p, Key::Questionmark);
    click(&mut p, "Show the start page again…");
    assert_eq!(p.h.state().state.front, Front::First);
}

#[test]
fn every_scenario_that_ships_can_be_chosen() {
    assert_eq!(welcome::items().len(), idlewright::store::SCENARIOS.len());
    assert!(welcome::items().iter().all(|i| !i.car.is_empty() && (1..=3).contains(&i.level)));
    let mut b = healthy();
    b.state.front = Front::Scenarios;
    let mut p = pane(b);
    let item = &welcome::items()[1];
    let wishes = click(&mut p, &item.title);
    assert_eq!(wishes, vec![Wish::Scenario(item.id.clone())]);
}

#[test]
fn a_healthy_car_stands_beside_this_one() {
    let mut b = high();
    b.state.front = Front::HealthyCar;
    let mut p = pane(b);
    assert!(p.settle().iter().all(|w| *w == Wish::Healthy), "wished until it is there");
    let car = p.h.state().scenario.setup.car_toml.clone();
    let healthy = idlewright::session::healthy::healthy(&car).expect("builds");
    // on its target, where the one that came in idles high
    assert!((healthy.live.engine_speed_rpm - healthy.live.target_rpm).abs() < 60.0);
    let words = format!("{:.0} rpm", healthy.live.engine_speed_rpm);
    p.h.state_mut().healthy = Some(healthy);
    p.settle();
    assert!(has(&p, &words) && has(&p, "this car"));
    // learned values are told as finely as on their rulers
    let stop =
        p.h.state().view.first.seen.learned.iter().find(|v| v.name == "closed_stop").expect("has one").value;
    assert!(p.h.query_all_by_label(&format!("{stop:.2} °")).next().is_some(), "{stop}");
    p.picture("beside");
}

#[test]
fn settings_are_asked_for_and_survive_damage() {
    let mut b = healthy();
    b.state.front = Front::Settings;
    let mut p = pane(b);
    let old = p.h.state().settings;
    let wish = |s| vec![Wish::Settings(s)];
    let night = click(&mut p, "Dark (night bay)");
    assert_eq!(night[..1], wish(Settings { theme: Theme::Night, ..old })[..]);
    let all = Settings {
        theme: Theme::Night,
        projector: true,
        units: Units::Us,
        language: Tag::new("pt-BR"),
        reduced_motion: true,
        sound: true,
        volume: Volume(80),
        cautions_read: true,
        passed: Settings::default().passed,
    };
    assert_eq!(Settings::parse(&all.text()), all);
    assert_eq!(Settings::parse(&Settings::default().text()), Settings::default());
    let damaged = all.text().replace("units = \"us\"", "uni\u{0}ts = [[[");
    assert_eq!(Settings::parse(&damaged), Settings { units: Units::Metric, ..all });
    assert_eq!(Settings::parse(&all.text().replace("pt-BR", "pt BR")), Settings { language: None, ..all });
    for volume in ["55", "110", "-10", "loud"] {
        let text = all.text().replace("volume_pct = 80", &format!("volume_pct = {volume}"));
        assert_eq!(Settings::parse(&text), Settings { volume: Volume(50), ..all }, "{volume}");
    }
    for junk in ["", "\u{feff}", "theme", "= = =", "theme = 7\nprojector = perhaps", "\u{fffd}\u{fffd}"] {
        assert_eq!(Settings::parse(junk), Settings::default(), "{junk:?}");
    }
}

/// A program that was built without sound says nothing of it; one that cannot play says why.
#[test]
fn sound_is_offered_where_it_can_be_played() {
    let says = "Play the exhaust at real speed";
    let shown = |plays| {
        let mut b = healthy();
        (b.state.front, b.plays) = (Front::Settings, plays);
        pane(b)
    };
    assert!(shown(Plays::Not).h.query_by_label(says).is_none());
    let mut p = shown(Plays::Yes);
    let old = p.h.state().settings;
    assert!(!old.sound, "off unless wished");
    assert_eq!(click(&mut p, says)[..1], [Wish::Settings(Settings { sound: true, ..old })]);
    assert!(p.h.query_by_label_contains("low volume first").is_some());
    let p = shown(Plays::Fails("no sound device was found"));
    assert!(p.h.query_by_label_contains("No sound can be played: no sound device was found").is_some());
}

#[test]
fn units_are_shown_as_chosen() {
    let us = Settings { units: Units::Us, ..Settings::default() };
    // exact by definition: 1 inch of mercury 3.386389 kPa, 1 mile 1.609344 km, 1 lb 453.59237 g
    assert_eq!(us.units.value(101.325, "kPa"), "29.9 inHg");
    assert_eq!(us.units.value(100.0, "°C"), "212 °F");
    assert_eq!(us.units.value(160.9344, "km/h"), "100 mph");
    assert_eq!(us.units.value(453.592_37 / 60.0, "g/s"), "1.000 lb/min");
    assert_eq!(us.units.value(689.475_7, "kPa rail"), "100 psi");
    assert_eq!(Units::default().value(101.325, "kPa"), "101 kPa");
    let mut b = high();
    b.settings = us;
    assert!(has(&pane(b), "37904 miles"));
}

#[test]
fn a_word_is_explained_where_it_stands() {
    let mut p = pane(high());
    press(&mut p, Key::F1);
    assert!(matches!(p.h.state().state.front, Front::Words(_)));
    p.h.state_mut().state.front = Front::Words("gate".into());
    p.settle();
    assert!(has(&p, "A condition that must be met"));
    click(&mut p, "learned value");
    assert!(has(&p, "worked out for the parts it controls"));
}

#[test]
fn conditioning_is_waited_for() {
    let mut b = healthy();
    b.conditioning = Some(0.4);
    let mut p = pane(b);
    assert!(has(&p, "Simulating the car's history"));
    assert!(press(&mut p, Key::B).is_empty(), "no hand before the car is here");
}

#[test]
fn faults_are_slipped_in_under_an_open_lid_only() {
    let mut b = high_open();
    b.state.front = Front::InjectFault;
    let mut p = pane(b);
    let leak = Order::InjectFault(Action::Leak(10.0), Reach::Both);
    assert_eq!(click(&mut p, "Size of an intake air leak"), vec![Wish::Order(leak)]);
    // by level: any of it, or a named one; nothing that needs a standing engine while this one runs
    assert!(has(&p, "Any of level 3") && has(&p, "Exhaust leak ahead of the sensor"));
    assert!(!has(&p, "Crank sensor bracket bent"), "the engine runs");
    let wishes = click(&mut p, "Any of level 1");
    assert!(matches!(wishes.as_slice(), [Wish::Order(Order::InjectFault(..))]), "{wishes:?}");
    assert_eq!(click(&mut p, "Any of level 1"), wishes, "the same until one was applied");
    p.picture("faults-by-level");
    let mut b = high();
    b.state.front = Front::InjectFault;
    let p = pane(b);
    assert!(!has(&p, "Size of an intake air leak") && !has(&p, "Any of level 1"));
}

#[test]
fn the_middle_is_left_free_for_the_engine() {
    for (settings, least) in [
        (Settings::default(), egui::vec2(800.0, 450.0)),
        (Settings { projector: true, ..Settings::default() }, egui::vec2(400.0, 200.0)),
    ] {
        let mut b = healthy();
        b.settings = settings;
        let p = pane(b);
        let free = p.h.state().engine.expect("the engine's");
        assert!(free.width() >= least.x && free.height() >= least.y, "{free:?}");
    }
}

/// In every light, size and middle: nothing that can be pressed lies outside the window or under its neighbour.
/// A bookmark tells its name and when it was set.
fn is_bookmark(spoken: &str) -> bool {
    let at = spoken.rsplit_once(" at ").map_or("", |(_, time)| time);
    at.contains(':') && at.chars().all(|c| c.is_ascii_digit() || c == ':')
}

#[test]
fn nothing_lies_outside_the_window_or_on_something_else() {
    for projector in [false, true] {
        for (name, bay) in [("idles-high", high()), ("two futures", high_open())] {
            let mut b = bay;
            b.settings.projector = projector;
            b.view.first.seen.dash_lamp = DashLamp::Blink;
            (b.view.first.seen.charge_lamp, b.view.first.seen.hot_lamp) = (true, true);
            // so tall that nothing is scrolled away under its neighbour
            let mut p = pane_of(b, egui::vec2(1600.0, 4200.0));
            for lamp in ["Charging lamp on", "Coolant temperature lamp on"] {
                assert!(p.h.query_by_label(lamp).is_some(), "{lamp}");
            }
            for key in [Key::F2, Key::F3, Key::F4, Key::F5] {
                press(&mut p, key);
                let screen = p.h.ctx.content_rect().expand(1.0);
                let buttons: Vec<(String, egui::Rect)> =
                    p.h.get_all_by_role(Role::Button)
                        .map(|n| (n.accesskit_node().label().unwrap_or_default(), n.rect()))
                        .collect();
                assert!(buttons.len() > 20);
                for (k, (label, rect)) in buttons.iter().enumerate() {
                    let at = format!("{name}, projector {projector}, {key:?}: {label} at {rect:?}");
                    assert!(rect.left() >= screen.left() && rect.right() <= screen.right(), "{at}");
                    if !screen.contains_rect(*rect) {
                        // scrolled away
                        continue;
                    }
                    // marks share a place where they share a time
                    for (other, at_other) in &buttons[k + 1..] {
                        let both = rect.shrink(2.0).intersect(at_other.shrink(2.0));
                        let marks = is_bookmark(label) && is_bookmark(other);
                        assert!(!both.is_positive() || marks, "{at} lies on {other} at {at_other:?}");
                    }
                }
            }
        }
    }
}

/// Not a judgement: what a person looks at. `IDLEWRIGHT_PICTURES=folder` names where they go.
#[test]
fn pictures() {
    if std::env::var_os("IDLEWRIGHT_PICTURES").is_none() {
        return;
    }
    let p = pane(high());
    p.picture("high-board");
    for theme in [Theme::Board, Theme::Night] {
        let light = if theme == Theme::Night { "night" } else { "board" };
        let mut b = high_open();
        b.settings.theme = theme;
        let mut p = pane(b);
        p.picture(&format!("open-{light}"));
        for (key, name) in [(Key::F3, "traces"), (Key::F4, "wheel"), (Key::F5, "strip")] {
            press(&mut p, key);
            p.picture(&format!("{name}-{light}"));
        }
        click(&mut p, "save cylinder strip…");
        p.picture(&format!("keep-{light}"));
    }
    // what stands further down to the right
    let p = pane_of(high(), egui::vec2(1600.0, 1800.0));
    p.picture("tall");
    let mut b = bay("idles-high", &[act(Action::Measure(Tool::Scope(Point::Pin(Sensor::Crank))))], 10.0);
    b.state.middle = Middle::Wheel;
    b.state.guide = Some(4);
    pane(b).picture("wheel-measured");
    let one = held();
    pane(Bay { state: one.state.clone(), ..Bay::like(&one) }).picture("question");
    for projector in [false, true] {
        for (front, name) in [
            (Front::First, "first"),
            (Front::Scenarios, "scenarios"),
            (Front::Service, "service"),
            (Front::Settings, "settings"),
            (Front::Keys, "keys"),
            (Front::DriveOn, "drive"),
            (Front::HandIn, "hand-in"),
            (Front::Cause, "cause"),
            (Front::Words("gate".into()), "words"),
            (Front::Part("injector_2".into()), "part"),
        ] {
            let mut b = high();
            b.state.front = front;
            b.settings.projector = projector;
            pane(b).picture(&format!("{name}{}", if projector { "-projector" } else { "" }));
        }
    }
    for (key, name) in [(Key::F2, "engine"), (Key::F3, "traces"), (Key::F4, "wheel"), (Key::F5, "strip")] {
        let mut b = high_open();
        b.settings.projector = true;
        let mut p = pane(b);
        press(&mut p, key);
        p.picture(&format!("projector-{name}"));
    }
    let mut b = high();
    b.settings.projector = true;
    b.state.guide = Some(1);
    pane(b).picture("projector");
}
