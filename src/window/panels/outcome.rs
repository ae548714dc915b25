//! The outcome of a prediction, shown at the moment when it is known: what was predicted, what came, and how the
//! value went. Time is paused until the card has been read.

use super::{Middle, PanelState, Shown, Wish, curves, style};
use crate::lesson::facts::Outcome;
use crate::session::live::Order;
use crate::session::teach::Came;
use crate::words::numbers::{clock, shown_units};
use crate::words::{facts, say};
use egui::{Align2, Context, Frame, Margin, Rect, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, WidgetType};
use egui::{pos2, vec2};

/// The card in front of everything.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let Some(came) = &shown.view.came else { return Vec::new() };
    let t = style::Palette::of_ctx(ctx);
    let mut out = Vec::new();
    let wide = 720.0_f32.min(ctx.content_rect().width() - 80.0);
    egui::Modal::new(egui::Id::new("outcome"))
        .backdrop_color(t.veil)
        .frame(Frame::new().fill(t.panel).inner_margin(Margin::same(24)).stroke((1.0, t.line)))
        .show(ctx, |ui| {
            ui.set_width(wide);
            said_and_came(ui, came);
            let tall = (ctx.content_rect().height() - 420.0).clamp(90.0, 220.0);
            if came.course.len() > 1 {
                course(ui, came, vec2(wide, tall));
            }
            ui.add_space(8.0);
            ui.label(style::title(&say("outcome-why")).color(t.ink));
            style::soft(ui, &say("outcome-alone"));
            ui.add_space(8.0);
            ui.horizontal_wrapped(|ui| {
                let go_on = ui.button(style::bold(&say("outcome-go-on")));
                let look = ui.button(say("outcome-traces"));
                if look.clicked() {
                    state.middle = Middle::Readings;
                }
                if go_on.clicked() || look.clicked() {
                    out.push(Wish::Order(Order::Hold(false)));
                }
            });
        });
    out
}

/// The question, the prediction and the outcome, in large letters.
fn said_and_came(ui: &mut Ui, came: &Came) {
    let t = style::Palette::of(ui);
    let p = &came.prediction;
    ui.label(style::bold(&p.question));
    ui.add_space(6.0);
    let said = p.said.as_ref().map_or_else(String::new, facts::outcome);
    let result = p.came.as_ref().map_or_else(String::new, facts::outcome);
    let large = |words: String| egui::RichText::new(words).font(style::bold_font(26.0));
    ui.label(large(say!("outcome-said", said = said)).color(t.pencil));
    ui.label(large(say!("outcome-came", came = result)).color(t.meas));
    match p.right {
        Some(true) => style::verdict(ui, true, &say("debrief-right")),
        Some(false) => style::verdict(ui, false, &say("debrief-wrong")),
        None => {}
    }
    ui.add_space(6.0);
}

/// The course of the value from the question to its outcome, with the prediction as a dashed line.
fn course(ui: &mut Ui, came: &Came, size: Vec2) -> Rect {
    let t = style::Palette::of(ui);
    let (rect, r) = ui.allocate_exact_size(size, Sense::hover());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, say("outcome-course")));
    let units = shown_units();
    let (said, of) = match &came.prediction.said {
        Some(Outcome::Number { x, unit }) => (Some(*x), unit.as_str()),
        _ => (None, ""),
    };
    let shown = |x: f64| if units.unit(of) == of { x } else { units.quantity(x, of).0 };
    let said = said.map(shown);
    let all = came.course.iter().map(|c| shown(c.1)).chain(said);
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
    let (low, high) = curves::opened((low, high), 0.05 * high.abs().max(low.abs()).max(1e-6));
    let air = 0.08 * (high - low);
    let (low, high) = (low - air, high + air);
    let end_s = came.course.last().map_or(1.0, |c| c.0).max(1e-6);
    let area = Rect::from_min_max(rect.min + vec2(70.0, 4.0), rect.max - vec2(30.0, 24.0));
    let x = |s: f64| area.left() + area.width() * (s / end_s) as f32;
    let y = |v: f64| area.bottom() - area.height() * ((v - low) / (high - low)) as f32;
    let p = ui.painter();
    let (figures, step) = curves::figures((low, high), area.height(), 14.0);
    for f in figures {
        p.hline(area.x_range(), y(f), Stroke::new(1.0, t.line));
        let words = curves::figure(f, step);
        p.text(pos2(area.left() - 8.0, y(f)), Align2::RIGHT_CENTER, words, style::mono_font(14.0), t.soft);
    }
    for k in 0..=4 {
        let s = end_s * f64::from(k) / 4.0;
        p.vline(x(s), area.bottom()..=area.bottom() + 4.0, Stroke::new(1.0, t.edge));
        let at = pos2(x(s), area.bottom() + 14.0);
        p.text(at, Align2::CENTER_CENTER, clock(s.round()), style::mono_font(14.0), t.soft);
    }
    if let Some(said) = said {
        let ends = [pos2(area.left(), y(said)), pos2(area.right(), y(said))];
        p.extend(Shape::dashed_line(&ends, Stroke::new(2.0, t.pencil), 7.0, 4.0));
    }
    let line = came.course.iter().map(|(s, v)| pos2(x(*s), y(shown(*v)))).collect();
    p.add(Shape::line(line, Stroke::new(1.8, t.meas)));
    rect
}
