//! Controls: key, pedal, gear, brake, loads, battery clamp; below them workshop tools, shelf, plugs and other work.

use super::{PanelState, Shown, Wish, shelf, style};
use crate::bench::action::{Action, Connector, Gear, Key, Load};
use crate::bench::record::Kind;
use crate::bench::view::HandsView;
use crate::session::desk::Reach;
use crate::words::numbers::{measured, number};
use crate::words::{name, say, upper_first};
use egui::{
    Align2, FontId, Rect, ScrollArea, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

/// State of the controls' panel.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HandsState {
    /// Pedal position while it is being dragged \[%\]; none while it follows the bench.
    pub pedal: Option<f64>,
}

/// Every load with its key.
pub const LOADS: [(Load, &str); 5] = [
    (Load::Compressor, "C"),
    (Load::HeatedGlass, "H"),
    (Load::Lamps, "L"),
    (Load::Steering, "T"),
    (Load::Blower, "A"),
];

/// True when a load is switched on.
pub fn is_on(h: &HandsView, load: Load) -> bool {
    match load {
        Load::Compressor => h.compressor,
        Load::HeatedGlass => h.heated_glass,
        Load::Lamps => h.lamps,
        Load::Steering => h.steering,
        Load::Blower => h.blower,
    }
}

/// The gear that was chosen last in the future that the controls act on: park and neutral are the same to the engine,
/// but not to the person at the selector.
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

/// Controls of the future that the controls act on.
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
            out.extend(style::part(ui, "controls", |ui| controls(ui, shown, state)));
            rule(ui);
            out.extend(style::part(ui, "tools", |ui| shelf::tools(ui, shown, state)));
            rule(ui);
            out.extend(style::part(ui, "parts", |ui| shelf::parts(ui, shown, state)));
            rule(ui);
            out.extend(style::part(ui, "plugs", |ui| shelf::plugs(ui, shown, state)));
            rule(ui);
            out.extend(style::part(ui, "work", |ui| shelf::work(ui, shown, state)));
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
    style::heading(ui, &say("hands-title"), "", &[], &mut state.near_word);
    if shown.view.second.is_some() {
        ui.horizontal_wrapped(|ui| {
            style::soft(ui, &say("hands-reach"));
            let all = [
                (Reach::Both, "hands-reach-both"),
                (Reach::First, "hands-reach-first"),
                (Reach::Second, "hands-reach-second"),
            ];
            for (reach, name) in all {
                ui.selectable_value(&mut state.reach, reach, say(name));
            }
        });
    } else {
        state.reach = Reach::Both;
    }
    if shown.view.driving {
        style::warn(ui, &say("hands-driver-drives"));
    }
    out.extend(style::part(ui, "car", |ui| of_the_car(ui, shown, state, h)));
    out
}

/// Key, pedal, gear, brake, loads and battery clamp.
fn of_the_car(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState, h: HandsView) -> Vec<Wish> {
    let mut out = Vec::new();
    if let Some(key) = key(ui, &h) {
        out.push(state.act(Action::Key(key)));
    }
    if let Some(pct) = pedal(ui, &h, &mut state.hands) {
        out.push(state.act(Action::Pedal(pct)));
    }
    if let Some(gear) = gears(ui, gear(shown, state.reach)) {
        out.push(state.act(Action::Gear(gear)));
    }
    ui.add_space(4.0);
    if style::switch(ui, h.brake, &say("hands-brake"), "B") {
        out.push(state.act(Action::Brake(!h.brake)));
    }
    for (load, key) in LOADS {
        let on = is_on(&h, load);
        if style::switch(ui, on, &upper_first(&name("load", load.name())), key) {
            out.push(state.act(Action::Load(load, !on)));
        }
    }
    if style::switch(ui, h.battery, &upper_first(&name("hand", "battery_clamp")), "X") {
        out.push(state.act(Action::Connector(Connector::Battery, !h.battery)));
    }
    shelf::cautions(ui, &Action::Connector(Connector::Battery, false));
    if let Some(shown) = h.charger {
        let (volts, amps) = (measured(shown.v, "V", 1), measured(shown.a, "A", 1));
        ui.label(say!("hands-charger", volts = volts, amps = amps));
    }
    out
}

/// The gear selector; returns the new gear if another one was chosen.
fn gears(ui: &mut Ui, now: Gear) -> Option<Gear> {
    let mut chosen = None;
    ui.horizontal_wrapped(|ui| {
        column(ui, &say("hands-gear-title"));
        let all = [(Gear::Park, "P", "park"), (Gear::Neutral, "N", "neutral"), (Gear::Drive, "D", "drive")];
        for (gear, letter, id) in all {
            let on = now == gear;
            let t = style::Palette::of(ui);
            let words = if on { style::bold(letter).color(t.panel) } else { egui::RichText::new(letter) };
            let mut b = egui::Button::new(words).min_size(vec2(34.0, 26.0));
            if on {
                b = b.fill(t.ink);
            }
            let called = name("gear", id);
            let r = ui.add(b).on_hover_text(say!("hands-gear-key", gear = called.as_str(), key = letter));
            r.widget_info(|| {
                let spoken = say!("hands-gear", gear = called.as_str());
                WidgetInfo::selected(WidgetType::RadioButton, ui.is_enabled(), on, spoken)
            });
            if r.clicked() && !on {
                chosen = Some(gear);
            }
        }
    });
    chosen
}

/// The name of a control, in a column of its own that is as wide as its longest name needs.
fn column(ui: &mut Ui, words: &str) {
    let t = style::Palette::of(ui);
    let font = FontId::proportional(16.0);
    let wide = |words: String| ui.painter().layout_no_wrap(words, font.clone(), t.text).size().x;
    let all = ["hands-gear-title", "hands-pedal-title"];
    let room = all.into_iter().map(|id| wide(say(id))).fold(52.0, f32::max);
    let (rect, _) = ui.allocate_exact_size(vec2(room, 24.0), Sense::hover());
    ui.painter().text(rect.left_center(), Align2::LEFT_CENTER, words, font, t.text);
}

/// The key switch with its three positions.
fn key(ui: &mut Ui, h: &HandsView) -> Option<Key> {
    let t = style::Palette::of(ui);
    let mut chosen = None;
    let now = match (h.key_on, h.cranking) {
        (_, true) => Key::Crank,
        (true, _) => Key::On,
        _ => Key::Off,
    };
    let laid = |words: String, font: FontId, colour| ui.painter().layout_no_wrap(words, font, colour);
    let title = laid(say("hands-key-title"), FontId::proportional(16.0), t.text);
    let places = [(Key::Off, "off", "Q"), (Key::On, "on", "W"), (Key::Crank, "crank", "E")].map(
        |(place, id, letter)| {
            let called = name("key", id);
            let font = if now == place { style::bold_font(14.0) } else { FontId::proportional(14.0) };
            let under = laid(called.clone(), font, if now == place { t.ink } else { t.soft });
            (place, called, under, laid(letter.into(), style::mono_font(14.0), t.soft))
        },
    );
    let [off, on, crank] =
        places.each_ref().map(|(.., under, letter)| under.size().x + 6.0 + letter.size().x);
    let wide = ui.available_width();
    let (left, right) = ((title.size().x + 12.0 + off / 2.0).max(72.0), wide - (crank / 2.0).max(26.0));
    // names that would run into each other have their key letter below them
    let beside = (right - left) / 2.0 > on / 2.0 + off.max(crank) / 2.0 + 4.0;
    let (rect, _) = ui.allocate_exact_size(vec2(wide, if beside { 52.0 } else { 70.0 }), Sense::hover());
    let (left, right, y) = (rect.left() + left, rect.left() + right, rect.top() + 16.0);
    ui.painter().galley(pos2(rect.left(), y - title.size().y / 2.0), title, t.text);
    ui.painter().hline(left..=right, y, Stroke::new(1.5, t.edge));
    for (k, (place, called, under, letter)) in places.into_iter().enumerate() {
        let x = left + (right - left) * k as f32 / 2.0;
        let tall = rect.height() - 4.0;
        let at = Rect::from_min_size(pos2(x - 26.0, rect.top() + 3.0), vec2(52.0, tall));
        let r = ui.interact(at, ui.id().with(("key", k)), Sense::click());
        let on = now == place;
        r.widget_info(|| {
            let spoken = say!("hands-key", place = called.as_str());
            WidgetInfo::selected(WidgetType::RadioButton, ui.is_enabled(), on, spoken)
        });
        let p = ui.painter();
        if on {
            p.circle(pos2(x, y), 12.0, t.panel, Stroke::new(2.5, t.ink));
            p.vline(x, y - 7.0..=y + 7.0, Stroke::new(3.0, t.ink));
        } else {
            p.circle_filled(pos2(x, y), if r.hovered() { 8.0 } else { 5.5 }, t.edge);
        }
        let below = y + 24.0 - under.size().y / 2.0;
        let (left_of_both, cap) = if beside {
            let both = under.size().x + 6.0 + letter.size().x;
            (x - both / 2.0, pos2(x + both / 2.0 - letter.size().x, below))
        } else {
            (x - under.size().x / 2.0, pos2(x - letter.size().x / 2.0, below + 18.0))
        };
        p.galley(pos2(left_of_both, below), under, t.text);
        p.galley(cap, letter, t.soft);
        if r.has_focus() {
            p.rect_stroke(at, 5.0, Stroke::new(2.0, t.accent), StrokeKind::Outside);
        }
        if r.clicked() {
            chosen = Some(place);
        }
    }
    chosen
}

/// The pedal: dragged with the pointer, or moved by its keys.
fn pedal(ui: &mut Ui, h: &HandsView, kept: &mut HandsState) -> Option<f64> {
    let mut wish = None;
    ui.horizontal_wrapped(|ui| {
        column(ui, &say("hands-pedal-title"));
        // whole percents: a slider that rounds the shown value would take the pedal away from the driver who holds it
        let mut pct = kept.pedal.unwrap_or(h.pedal_pct).round();
        ui.spacing_mut().slider_width = (ui.available_width() - 100.0).max(60.0);
        let slider = egui::Slider::new(&mut pct, 0.0..=100.0).show_value(false).step_by(1.0);
        let r = ui.add(slider);
        // above the pedal: below it is the gear selector, which is often used next
        let mut tip = egui::Tooltip::for_enabled(&r).gap(6.0);
        tip.popup = tip.popup.align(egui::RectAlign::TOP_START);
        tip.show(|ui| ui.label(say("hands-pedal-keys")));
        r.widget_info(|| WidgetInfo::slider(ui.is_enabled(), pct, say("hands-pedal")));
        ui.label(style::mono(&format!("{:>3}", number(pct, 0))));
        let off = ui.button(say("hands-pedal-lift")).on_hover_text(say("hands-pedal-lift-key"));
        off.widget_info(|| WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), say("hands-pedal-off")));
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
