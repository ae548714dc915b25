//! Keys: every action by hand has a key, and this is the list of them.

use super::hands::{LOADS, gear, hands_of, is_on};
use super::{Front, Middle, PanelState, Shown, Wish, confirm, sheet, style, time};
use crate::bench::action::{Action, Connector, Gear, Key as Turn};
use crate::session::desk::Reach;
use crate::session::live::{Order, Pace};
use crate::words::say;
use egui::{Context, Key, Modifiers};

/// Every key with the message that describes what it does.
pub const LIST: &[(&str, &str)] = &[
    ("Tab", "keys-tab"),
    ("Space", "keys-space"),
    ("0 1 2 3 4", "keys-paces"),
    (".", "keys-tooth"),
    (",", "keys-cycle"),
    ("O", "keys-drive-on"),
    ("Q W E", "keys-key"),
    ("+ −", "keys-pedal"),
    ("Backspace", "keys-pedal-off"),
    ("P N D", "keys-gear"),
    ("B", "keys-brake"),
    ("C H L T A", "keys-loads"),
    ("X", "keys-battery"),
    ("M", "keys-ask"),
    ("Y", "keys-cause"),
    ("V", "keys-lid"),
    ("G", "keys-mark"),
    ("R", "keys-back"),
    ("F", "keys-fork"),
    ("J", "keys-join"),
    ("F1", "keys-words"),
    ("F2 F3 F4 F5", "keys-middles"),
    ("F6", "keys-scenarios"),
    ("F7", "keys-healthy"),
    ("F8", "keys-logbook"),
    ("F9", "keys-hand-over"),
    ("F10", "keys-settings"),
    ("F11", "keys-present"),
    ("?", "keys-list"),
    ("← → ↑ ↓", "keys-turn"),
    ("Esc", "keys-escape"),
];

/// Wishes from the keys pressed in this round.
pub fn all(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    if ctx.text_edit_focused() {
        return Vec::new();
    }
    let hit = |key: Key| ctx.input_mut(|i| i.consume_key(Modifiers::NONE, key));
    // while a question is open, no other key acts until it is answered
    if !shown.view.questions.is_empty() || state.ask.open_wanted || shown.view.came.is_some() {
        return Vec::new();
    }
    if hit(Key::F1) {
        state.front = Front::Words(state.near_word.word.clone().unwrap_or_default());
    }
    if state.front != Front::None {
        return Vec::new();
    }
    let shifted = |key: Key| ctx.input_mut(|i| i.consume_key(Modifiers::SHIFT, key));
    if hit(Key::Questionmark) || shifted(Key::Questionmark) || shifted(Key::Slash) {
        state.front = Front::Keys;
    }
    for (key, middle) in [
        (Key::F2, Middle::Engine),
        (Key::F3, Middle::Readings),
        (Key::F4, Middle::Wheel),
        (Key::F5, Middle::Strip),
    ] {
        if hit(key) {
            state.middle = middle;
        }
    }
    for (key, front) in [
        (Key::F6, Front::Scenarios),
        (Key::F7, Front::HealthyCar),
        (Key::F8, Front::Logbook),
        (Key::F10, Front::Settings),
    ] {
        if hit(key) {
            state.front = front;
        }
    }
    if hit(Key::F11) {
        state.presents = !state.presents;
    }
    if shown.conditioning.is_some() {
        return Vec::new();
    }
    let mut out = Vec::new();
    if hit(Key::V) {
        out.extend(confirm::move_lid(shown, state));
    }
    if shown.run.is_some() {
        return out;
    }
    let fronts = [(Key::O, Front::DriveOn), (Key::M, Front::Service), (Key::F9, Front::HandIn)];
    for (key, front) in fronts {
        if hit(key) {
            state.front = front;
        }
    }
    if hit(Key::Y) && shown.scenario.plan.as_ref().is_some_and(|p| !p.causes.is_empty()) {
        state.front = Front::Cause;
    }
    out.extend(hands(&hit, &shifted, shown, state));
    out.extend(of_time(ctx, &hit, shown, state));
    out
}

/// Pace, bookmarks, two futures.
fn of_time(ctx: &Context, hit: &dyn Fn(Key) -> bool, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let v = shown.view;
    // Space presses the widget that has the focus
    if ctx.memory(|m| m.focused().is_none()) && hit(Key::Space) {
        let runs = v.pace != Pace::Paused || v.runs_to_s.is_some();
        out.push(Wish::Order(Order::Pace(if runs { Pace::Paused } else { Pace::REAL })));
    }
    let paces = [
        (Key::Num0, Pace::SLOW),
        (Key::Num1, Pace::REAL),
        (Key::Num2, Pace::Times(10.0)),
        (Key::Num3, Pace::Times(100.0)),
        (Key::Num4, Pace::Flat),
    ];
    for (key, pace) in paces {
        if hit(key) {
            out.push(Wish::Order(Order::Pace(pace)));
        }
    }
    if hit(Key::Period) {
        out.push(Wish::Order(Order::Tooth));
    }
    if hit(Key::Comma) {
        out.push(Wish::Order(Order::Cycle));
    }
    if hit(Key::G) {
        out.push(time::set_mark(state));
    }
    if hit(Key::R) {
        match state.time.back.take().filter(|k| *k < v.marks.len()) {
            Some(k) => out.push(Wish::Order(Order::Rewind(k))),
            None => state.time.back = v.marks.len().checked_sub(1),
        }
    }
    if hit(Key::F) && v.second.is_none() {
        state.reach = Reach::Second;
        out.push(Wish::Order(Order::Fork));
    }
    if hit(Key::J) && v.second.is_some() {
        state.reach = Reach::Both;
        out.push(Wish::Order(Order::Join));
    }
    out
}

fn hands(
    hit: &dyn Fn(Key) -> bool,
    shifted: &dyn Fn(Key) -> bool,
    shown: &Shown<'_>,
    state: &PanelState,
) -> Vec<Wish> {
    let mut out = Vec::new();
    let h = hands_of(shown, state.reach);
    for (key, turn) in [(Key::Q, Turn::Off), (Key::W, Turn::On), (Key::E, Turn::Crank)] {
        if hit(key) {
            out.push(state.act(Action::Key(turn)));
        }
    }
    let pedal = |by: f64| Action::Pedal((h.pedal_pct + by).clamp(0.0, 100.0));
    if hit(Key::Plus) || shifted(Key::Plus) || hit(Key::Equals) || shifted(Key::Equals) {
        out.push(state.act(pedal(5.0)));
    }
    if hit(Key::Minus) {
        out.push(state.act(pedal(-5.0)));
    }
    if hit(Key::Backspace) {
        out.push(state.act(Action::Pedal(0.0)));
    }
    for (key, to) in [(Key::P, Gear::Park), (Key::N, Gear::Neutral), (Key::D, Gear::Drive)] {
        if hit(key) && gear(shown, state.reach) != to {
            out.push(state.act(Action::Gear(to)));
        }
    }
    if hit(Key::B) {
        out.push(state.act(Action::Brake(!h.brake)));
    }
    let keys = [Key::C, Key::H, Key::L, Key::T, Key::A];
    for (key, (load, ..)) in keys.into_iter().zip(LOADS) {
        if hit(key) {
            out.push(state.act(Action::Load(load, !is_on(&h, load))));
        }
    }
    if hit(Key::X) {
        out.push(state.act(Action::Connector(Connector::Battery, !h.battery)));
    }
    out
}

/// The list.
pub fn list(ctx: &Context, state: &mut PanelState) -> Vec<Wish> {
    sheet(ctx, "keys", &say("keys-title"), &mut state.front, 640.0, |ui, front: &mut Front| {
        if ui.button(say("keys-first-minute")).clicked() {
            *front = Front::First;
        }
        ui.add_space(6.0);
        egui::Grid::new("keys").num_columns(2).spacing(egui::vec2(18.0, 1.0)).show(ui, |ui| {
            for (key, does) in LIST {
                ui.label(style::mono(&style::key_words(key)));
                // a grid by itself does not wrap its text
                ui.add(egui::Label::new(say(does)).wrap());
                ui.end_row();
            }
        });
    });
    Vec::new()
}
