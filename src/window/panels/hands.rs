//! Hands: key, pedal, gear, brake, loads, battery clamp; below them bay tools, shelf, plugs and other work.

use super::{PanelState, Shown, Wish, ink, shelf};
use crate::bench::action::{Action, Connector, Gear, Key, Load};
use crate::bench::record::Kind;
use crate::bench::view::HandsView;
use crate::session::desk::Reach;
use egui::{
    Align2, FontId, Rect, ScrollArea, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

/// What the hands' panel keeps.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HandsState {
    /// Where the pedal is being dragged to \[%\]; none while it follows the bench.
    pub pedal: Option<f64>,
}

/// What a load is called, with its key.
pub const LOADS: [(Load, &str, &str); 5] = [
    (Load::Compressor, "Compressor", "C"),
    (Load::HeatedGlass, "Heated glass", "H"),
    (Load::Lamps, "Lamps", "L"),
    (Load::Steering, "Steering turned", "T"),
    (Load::Blower, "Cabin blower", "A"),
];

/// A load is switched on.
pub fn is_on(h: &HandsView, load: Load) -> bool {
    match load {
        Load::Compressor => h.compressor,
        Load::HeatedGlass => h.heated_glass,
        Load::Lamps => h.lamps,
        Load::Steering => h.steering,
        Load::Blower => h.blower,
    }
}

/// The gear that was chosen last in the future that a hand reaches: park and neutral are one to the engine, and two to a
/// hand.
pub fn gear(shown: &Shown<'_>, reach: Reach) -> Gear {
    if hands_of(shown, reach).drive {
        return Gear::Drive;
    }
    let last = shown.rows.log.iter().rev().find_map(|e| match &e.kind {
        Kind::Act { action: Action::Gear(g), .. } if *g != Gear::Drive => Some(*g),
        _ => None,
    });
    last.unwrap_or(Gear::Neutral)
}

/// Controls of the future that a hand reaches.
pub fn hands_of(shown: &Shown<'_>, reach: Reach) -> HandsView {
    match (&shown.view.second, reach) {
        (Some(second), Reach::Second) => second.hands,
        _ => shown.view.first.hands,
    }
}

/// The panel to the left.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_enabled_ui(shown.conditioning.is_none() && shown.run.is_none(), |ui| {
            out.extend(controls(ui, shown, state));
            rule(ui);
            out.extend(shelf::tools(ui, shown, state));
            rule(ui);
            out.extend(shelf::parts(ui, shown, state));
            rule(ui);
            out.extend(shelf::plugs(ui, shown, state));
            rule(ui);
            out.extend(shelf::work(ui, shown, state));
        });
    });
    out
}

fn rule(ui: &mut Ui) {
    ui.add_space(8.0);
    ui.separator();
    ui.add_space(2.0);
}

fn controls(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let h = hands_of(shown, state.reach);
    ink::heading(ui, "Hands", "", &[], &mut state.near_word);
    if shown.view.second.is_some() {
        ui.horizontal_wrapped(|ui| {
            ink::soft(ui, "reach");
            let all = [(Reach::Both, "both"), (Reach::First, "first"), (Reach::Second, "second")];
            for (reach, name) in all {
                ui.selectable_value(&mut state.reach, reach, name);
            }
        });
    } else {
        state.reach = Reach::Both;
    }
    if shown.view.driving {
        ink::warn(ui, "The driver has pedal and brake");
    }
    if let Some(key) = key(ui, &h) {
        out.push(state.act(Action::Key(key)));
    }
    if let Some(pct) = pedal(ui, &h, &mut state.hands) {
        out.push(state.act(Action::Pedal(pct)));
    }
    let now = gear(shown, state.reach);
    ui.horizontal(|ui| {
        name(ui, "Gear");
        let all = [(Gear::Park, "P", "park"), (Gear::Neutral, "N", "neutral"), (Gear::Drive, "D", "drive")];
        for (gear, letter, name) in all {
            let on = now == gear;
            let t = ink::Ink::of(ui);
            let words = if on { ink::bold(letter).color(t.panel) } else { egui::RichText::new(letter) };
            let mut b = egui::Button::new(words).min_size(vec2(34.0, 26.0));
            if on {
                b = b.fill(t.ink);
            }
            let r = ui.add(b).on_hover_text(format!("{name} (key {letter})"));
            r.widget_info(|| {
                WidgetInfo::selected(WidgetType::RadioButton, ui.is_enabled(), on, format!("gear {name}"))
            });
            if r.clicked() && !on {
                out.push(state.act(Action::Gear(gear)));
            }
        }
    });
    ui.add_space(4.0);
    if ink::switch(ui, h.brake, "Brake", "B") {
        out.push(state.act(Action::Brake(!h.brake)));
    }
    for (load, name, key) in LOADS {
        let on = is_on(&h, load);
        if ink::switch(ui, on, name, key) {
            out.push(state.act(Action::Load(load, !on)));
        }
    }
    if ink::switch(ui, h.battery, "Battery clamp", "X") {
        out.push(state.act(Action::Connector(Connector::Battery, !h.battery)));
    }
    out
}

/// What a control is called, in a column of its own.
fn name(ui: &mut Ui, words: &str) {
    let (rect, _) = ui.allocate_exact_size(vec2(52.0, 24.0), Sense::hover());
    let t = ink::Ink::of(ui);
    let font = FontId::proportional(16.0);
    ui.painter().text(rect.left_center(), Align2::LEFT_CENTER, words, font, t.text);
}

/// The key with its three places.
fn key(ui: &mut Ui, h: &HandsView) -> Option<Key> {
    let t = ink::Ink::of(ui);
    let mut chosen = None;
    let wide = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(wide, 52.0), Sense::hover());
    let font = FontId::proportional(16.0);
    ui.painter().text(pos2(rect.left(), rect.top() + 16.0), Align2::LEFT_CENTER, "Key", font, t.text);
    let places = [(Key::Off, "off", "Q"), (Key::On, "on", "W"), (Key::Crank, "start", "E")];
    let now = match (h.key_on, h.cranking) {
        (_, true) => Key::Crank,
        (true, _) => Key::On,
        _ => Key::Off,
    };
    let (left, right, y) = (rect.left() + 72.0, rect.right() - 26.0, rect.top() + 16.0);
    ui.painter().hline(left..=right, y, Stroke::new(1.5, t.edge));
    for (k, (place, name, letter)) in places.into_iter().enumerate() {
        let x = left + (right - left) * k as f32 / 2.0;
        let at = Rect::from_center_size(pos2(x, y + 11.0), vec2(52.0, 48.0));
        let r = ui.interact(at, ui.id().with(("key", k)), Sense::click());
        let on = now == place;
        r.widget_info(|| {
            WidgetInfo::selected(WidgetType::RadioButton, ui.is_enabled(), on, format!("key {name}"))
        });
        let p = ui.painter();
        if on {
            p.circle(pos2(x, y), 12.0, t.panel, Stroke::new(2.5, t.ink));
            p.vline(x, y - 7.0..=y + 7.0, Stroke::new(3.0, t.ink));
        } else {
            p.circle_filled(pos2(x, y), if r.hovered() { 8.0 } else { 5.5 }, t.edge);
        }
        let (font, colour) =
            if on { (ink::bold_font(14.0), t.ink) } else { (FontId::proportional(14.0), t.soft) };
        p.text(pos2(x - 7.0, y + 24.0), Align2::CENTER_CENTER, name, font, colour);
        p.text(pos2(x + 20.0, y + 24.0), Align2::CENTER_CENTER, letter, ink::mono_font(14.0), t.soft);
        if r.has_focus() {
            p.rect_stroke(at, 5.0, Stroke::new(2.0, t.accent), StrokeKind::Outside);
        }
        if r.clicked() {
            chosen = Some(place);
        }
    }
    chosen
}

/// The pedal: dragged, or by its keys.
fn pedal(ui: &mut Ui, h: &HandsView, kept: &mut HandsState) -> Option<f64> {
    let mut wish = None;
    ui.horizontal(|ui| {
        name(ui, "Pedal");
        // whole percents: a slider that rounds what it is shown would take the pedal from a driver who has it
        let mut pct = kept.pedal.unwrap_or(h.pedal_pct).round();
        ui.spacing_mut().slider_width = (ui.available_width() - 100.0).max(60.0);
        let slider = egui::Slider::new(&mut pct, 0.0..=100.0).show_value(false).step_by(1.0);
        let r = ui.add(slider).on_hover_text("+ and − move it by 5 %, Backspace takes the foot off");
        r.widget_info(|| WidgetInfo::slider(ui.is_enabled(), pct, "pedal"));
        ui.label(ink::mono(&format!("{:>3}", ink::number(pct, 0))));
        let off = ui.button("lift").on_hover_text("the foot off the pedal (Backspace)");
        off.widget_info(|| WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), "foot off the pedal"));
        if off.clicked() {
            wish = Some(0.0);
        }
        if r.changed() {
            wish = Some(pct);
            kept.pedal = r.dragged().then_some(pct);
        }
        if r.drag_stopped() || (!r.dragged() && !r.has_focus()) {
            kept.pedal = None;
        }
    });
    wish
}
