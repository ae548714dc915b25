//! The tachometer: engine speed, the idle speed that the module asks for, and the engine's operating state.
//!
//! The thin needle is the speed that the module measures; the dashed mark is the target that it asks for. If the
//! module does not answer, neither is shown.

use super::{Shown, style};
use crate::words::numbers::number;
use crate::words::say;
use egui::{Align2, FontId, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2};

/// The values on the tachometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// Speed \[rpm\]; none while the module does not answer.
    pub rpm: Option<f64>,
    /// Idle speed that is asked for \[rpm\]; none while the module does not control the idle.
    pub target_rpm: Option<f64>,
}

impl Read {
    /// The values of the first car.
    pub fn of(shown: &Shown<'_>) -> Self {
        let seen = &shown.view.first.seen;
        let live = &seen.live;
        Self {
            rpm: seen.answers.then_some(live.engine_speed_rpm),
            target_rpm: (seen.answers && live.idling && live.target_rpm > 0.0).then_some(live.target_rpm),
        }
    }
}

/// The engine's operating state, in a word or two.
pub fn doing(shown: &Shown<'_>) -> String {
    let side = &shown.view.first;
    let live = &side.seen.live;
    say(match () {
        () if side.hands.cranking => "tacho-cranking",
        () if !side.hands.key_on => "tacho-key-off",
        () if shown.view.driving => "tacho-driven",
        () if live.routine == "running" => "tacho-routine",
        () if !live.running => "tacho-stopped",
        () if live.idling => "tacho-idling",
        () => "tacho-running",
    })
}

/// Full scale \[rpm\]. It never changes: the same needle position always means the same speed.
pub const FULL_RPM: f64 = 8000.0;

/// The dial, in this size, with the speed as a number.
pub fn dial(ui: &mut Ui, shown: &Shown<'_>, size: Vec2) {
    let t = style::Palette::of(ui);
    let read = Read::of(shown);
    let (rect, r) = ui.allocate_exact_size(size, Sense::hover());
    let figure = read.rpm.map_or_else(|| say("tacho-none"), |x| number(x, 0));
    let target = read.target_rpm.map_or_else(|| say("tacho-none"), |x| number(x, 0));
    let doing = doing(shown);
    r.widget_info(|| {
        let spoken =
            say!("tacho-spoken", rpm = figure.as_str(), target = target.as_str(), doing = doing.as_str());
        WidgetInfo::labeled(WidgetType::Label, true, spoken)
    });
    let p = ui.painter();
    // an arc to the left, the number to its right
    let radius = (size.y * 0.82).min(size.x * 0.36);
    let hub = pos2(rect.left() + radius + 4.0, rect.top() + radius + 4.0);
    let at = |rpm: f64, from: f32| {
        let share = (rpm / FULL_RPM).clamp(0.0, 1.0) as f32;
        hub + Vec2::angled(std::f32::consts::PI * (1.0 + share)) * radius * from
    };
    let arc: Vec<_> = (0..=40).map(|k| at(FULL_RPM * f64::from(k) / 40.0, 1.0)).collect();
    p.add(Shape::line(arc, Stroke::new(1.5, t.edge)));
    // a tick for every thousand, every second one numbered
    let figures = style::figure_font((radius * 0.24).clamp(10.0, 26.0));
    for k in 0..=8 {
        let rpm = 1000.0 * f64::from(k);
        let numbered = k % 2 == 0;
        let (from, wide) = if numbered { (0.88, 2.2) } else { (0.93, 1.0) };
        p.line_segment([at(rpm, from), at(rpm, 1.0)], Stroke::new(wide, t.edge));
        if numbered {
            p.text(at(rpm, 0.7), Align2::CENTER_CENTER, number(f64::from(k), 0), figures.clone(), t.soft);
        }
    }
    if let Some(target) = read.target_rpm {
        let ends = [at(target, 0.3), at(target, 1.08)];
        p.extend(Shape::dashed_line(&ends, Stroke::new(2.5, t.pencil), 5.0, 3.0));
    }
    if let Some(rpm) = read.rpm {
        p.line_segment([hub, at(rpm, 0.94)], Stroke::new(2.2, t.meas));
        p.circle_filled(hub, 3.5, t.meas);
    }
    let left = hub.x + radius + 12.0;
    let room = rect.right() - left;
    let large = (size.y * 0.56).min(room / 2.4);
    p.text(pos2(left, rect.top() - 2.0), Align2::LEFT_TOP, &figure, style::figure_font(large), t.ink);
    let small = (size.y * 0.2).clamp(14.0, 30.0);
    let write = |words: &str, y: f32, font: FontId, colour| {
        let words = style::fitting(p, words, font, colour, room);
        p.galley(pos2(left, y), words, colour);
    };
    let below = rect.top() + large * 1.04;
    let aim = match read.target_rpm {
        Some(_) => say!("tacho-target", rpm = target.as_str()),
        None => say("tacho-rpm"),
    };
    write(&aim, below, FontId::proportional(small), t.pencil);
    write(&doing, below + small * 1.2, style::bold_font(small), t.text);
}

/// Size of the small tachometer on the job card.
pub const SMALL: Vec2 = vec2(228.0, 62.0);
