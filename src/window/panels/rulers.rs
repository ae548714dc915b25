//! Learned values and sums as drawings: the ruler with its limits, the bars that add up to the amount asked for.

use super::style::{Palette, bold_font, dashed_rect, hatch, listed, mono_font};
use crate::words::say;
use egui::text::LayoutJob;
use egui::{
    Align2, FontId, Rect, Response, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType, pos2, vec2,
};
use std::sync::Arc;

/// A learned value's ruler.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ruler {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Value after a reset.
    pub default: f64,
    /// Value in use.
    pub value: f64,
    /// True value of the fitted parts, under an open lid.
    pub truth: Option<f64>,
}

/// Draws the ruler: end stops, a notch, a dashed bar from the notch to the pencil mark, the ink mark below.
pub fn ruler(ui: &mut Ui, r: &Ruler, spoken: &str) -> Response {
    let t = Palette::of(ui);
    let tall = if r.truth.is_some() { 34.0 } else { 24.0 };
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), tall), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::ProgressIndicator, true, spoken));
    let p = ui.painter();
    let y = rect.top() + 14.0;
    let (left, right) = (rect.left() + 1.0, rect.right() - 1.0);
    let span = (r.high - r.low).max(1e-12);
    let x = |v: f64| left + (right - left) * (((v - r.low) / span).clamp(0.0, 1.0) as f32);
    p.hline(left..=right, y, Stroke::new(1.5, t.line));
    for end in [left, right] {
        p.vline(end, y - 6.0..=y + 6.0, Stroke::new(1.5, t.edge));
    }
    p.vline(x(r.default), y - 4.0..=y + 4.0, Stroke::new(1.5, t.edge));
    let (from, to) = (x(r.default), x(r.value));
    p.extend(Shape::dashed_line(
        &[pos2(from.min(to), y), pos2(from.max(to), y)],
        Stroke::new(5.0, t.pencil),
        4.0,
        3.0,
    ));
    // a pencil's point above the line
    let tip = pos2(to, y - 5.0);
    let mark = vec![tip, tip + vec2(-6.0, -8.0), tip + vec2(6.0, -8.0)];
    p.add(Shape::convex_polygon(mark, t.panel, Stroke::new(1.5, t.pencil)));
    if let Some(truth) = r.truth {
        let at = x(truth);
        p.vline(at, y - 6.0..=y + 8.0, Stroke::new(3.0, t.ink));
        let tip = pos2(at, y + 8.0);
        let mark = vec![tip, tip + vec2(7.0, 9.0), tip + vec2(-7.0, 9.0)];
        p.add(Shape::convex_polygon(mark, t.ink, Stroke::NONE));
    }
    response
}

/// A term of a sum.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// Its name.
    pub name: String,
    /// What it adds.
    pub value: f64,
    /// True for a learned term.
    pub learned: bool,
}

/// Terms that add up to the amount asked for, one below the other, as bars; learned terms are hatched. Returns where
/// they were drawn.
pub fn sum(ui: &mut Ui, terms: &[Term], number: &dyn Fn(f64) -> String) -> Rect {
    let t = Palette::of(ui);
    let whole: f64 = terms.iter().map(|x| x.value).sum();
    // the lowest and highest values that the bars reach
    let mut at = 0.0_f64;
    let (mut low, mut high) = (0.0_f64, 1e-3_f64);
    for term in terms {
        at += term.value;
        (low, high) = (low.min(at), high.max(at));
    }
    let spoken = terms.iter().map(|x| say!("window-named-value", name = &*x.name, value = number(x.value)));
    let spoken = say!("window-sum", terms = listed(spoken), whole = number(whole));
    let wide = ui.available_width();
    // long names wrap, so that the bars have space
    let name = |words: &str, font: FontId, colour| {
        ui.painter().layout_job(LayoutJob::simple(words.to_owned(), font, colour, 0.45 * wide))
    };
    let names: Vec<_> = terms.iter().map(|x| name(&x.name, FontId::proportional(14.0), t.soft)).collect();
    let asks = name(&say("window-asks-for"), bold_font(14.0), t.text);
    let row = names.iter().map(|g| g.size().y).fold(asks.size().y, f32::max).max(18.0) + 4.0;
    let tall = row * (terms.len() + 1) as f32;
    let (rect, r) = ui.allocate_exact_size(vec2(wide, tall), Sense::hover());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &spoken));
    let p = ui.painter();
    let width = |x: f64| p.layout_no_wrap(number(x), mono_font(14.0), t.text).size().x;
    let numbers = terms.iter().map(|x| x.value).chain([whole]).map(width).fold(60.0, f32::max);
    let widest = names.iter().map(|g| g.size().x).fold(asks.size().x.max(58.0), f32::max);
    let (left, right) = (rect.left() + widest + 8.0, rect.right() - numbers - 8.0);
    let x = |v: f64| left + (right - left).max(10.0) * ((v - low) / (high - low)) as f32;
    let written = |words: Arc<egui::Galley>, y: f32, colour| {
        p.galley(pos2(rect.left(), y - words.size().y / 2.0), words, colour);
    };
    let mut from = 0.0;
    for (k, (term, words)) in terms.iter().zip(names).enumerate() {
        let y = rect.top() + row * k as f32 + row / 2.0;
        let to = from + term.value;
        let (a, b) = (x(from).min(x(to)), x(from).max(x(to)));
        let bar = Rect::from_min_max(pos2(a, y - 7.0), pos2(b.max(a + 1.5), y + 7.0));
        let s = Stroke::new(1.4, t.pencil);
        if term.learned {
            hatch(p, bar, Stroke::new(1.0, t.pencil));
            dashed_rect(p, bar, s);
        } else {
            p.rect(bar, 0.0, t.bg, s, StrokeKind::Inside);
        }
        written(words, y, t.soft);
        let at = pos2(rect.right(), y);
        p.text(at, Align2::RIGHT_CENTER, number(term.value), mono_font(14.0), t.pencil);
        from = to;
    }
    let y = rect.top() + row * (terms.len() as f32 + 0.5);
    p.vline(x(whole), rect.top()..=y + 7.0, Stroke::new(1.0, t.line));
    written(asks, y, t.text);
    p.text(pos2(rect.right(), y), Align2::RIGHT_CENTER, number(whole), mono_font(14.0), t.text);
    rect
}
