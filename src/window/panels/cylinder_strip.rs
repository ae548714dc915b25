//! The cylinder strip: what the module counts and believes of each cylinder.

use super::{Front, PanelState, Shown, charts, service, style};
use crate::bench::view::{MisfireView, Truth};
use crate::link::{DiagRequest, LearnedStatus};
use crate::words::numbers::{number, signed};
use crate::words::say;
use egui::{FontId, Rect, RichText, Sense, Stroke, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2};

/// What a full bar is worth, and what a part of it is: round numbers, of which the counts take at least two fifths.
pub fn scale(most: u64) -> (u64, u64) {
    let mut part = 2;
    // 2, 5, 10, 20, 50, …
    for k in 0.. {
        if most <= 5 * part {
            break;
        }
        part = if k % 3 == 0 { part / 2 * 5 } else { part * 2 };
    }
    (5 * part, part)
}

/// What the strip draws: counts, and what may be seen beside them.
struct Strip<'a> {
    misfires: &'a [MisfireView],
    truth: Option<&'a Truth>,
    /// Learned values of the module, once they were read.
    learned: Option<&'a [LearnedStatus]>,
    /// What a full bar is worth, and what a part of it is.
    scale: (u64, u64),
}

impl<'a> Strip<'a> {
    fn of(shown: &Shown<'a>) -> Self {
        let seen = &shown.view.first.seen;
        let read = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
        let mut strip = Strip {
            misfires: &seen.misfires,
            truth: shown.view.first.truth.as_ref(),
            learned: read.then_some(&seen.learned),
            scale: (0, 0),
        };
        let most = |m: &MisfireView| u64::from(m.count).max(strip.real(m.cylinder).unwrap_or(0));
        strip.scale = scale(seen.misfires.iter().map(most).max().unwrap_or(0));
        strip
    }
    /// Misfires that were.
    fn real(&self, cylinder: u8) -> Option<u64> {
        self.truth?.cylinders.iter().find(|c| c.cylinder == cylinder).map(|c| c.misfires)
    }
    /// The learned trim \[%\].
    fn trim(&self, cylinder: u8) -> Option<f64> {
        let name = format!("cylinder_trim_{cylinder}");
        self.learned?.iter().find(|v| v.name == name).map(|v| v.value)
    }
    /// What the drawing says, in words.
    fn spoken(&self) -> String {
        let each = self.misfires.iter();
        let each = each.map(|m| say!("strip-cylinder-counted", cylinder = m.cylinder, n = m.count));
        say!("strip-spoken", cylinders = style::listed(each), full = self.scale.0)
    }
    /// Its numbers.
    fn numbers(&self) -> charts::Numbers {
        let heads = ["counted", "trim", "true", "lambda", "work"];
        let heads = heads.iter().take(if self.truth.is_some() { 5 } else { 2 });
        let heads = heads.map(|head| say(&format!("strip-head-{head}")));
        let rows = self.misfires.iter().map(|m| {
            let mut row = vec![say!("strip-cylinder", cylinder = m.cylinder), m.count.to_string()];
            row.push(self.trim(m.cylinder).map_or(String::new(), |x| format!("{} %", signed(x, 1))));
            if let Some(c) = self.truth.and_then(|t| t.cylinders.iter().find(|c| c.cylinder == m.cylinder)) {
                row.extend([c.misfires.to_string(), number(c.lambda, 2), number(c.imep_kpa, 0)]);
            }
            row
        });
        (std::iter::once(String::new()).chain(heads).collect(), rows.collect())
    }
}

/// The cylinder strip: misfires that were counted, in pencil; those that were, in ink under an open lid.
pub fn cylinders(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let t = style::Palette::of(ui);
    let live = &shown.view.first.seen.live;
    let strip = Strip::of(shown);
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        let r = ui.label(style::bold(&say("strip-title")));
        style::help(r, "cylinder strip", shown.words, &mut state.near_word);
        let watched = live.misfire_watched;
        style::soft(ui, &say(if watched { "strip-counted-watched" } else { "strip-counted-not-watched" }));
        wanted = charts::button(ui, &say("strip-chart"));
    });
    style::soft(ui, &say!("strip-share", pct = number(live.misfire_pct, 1)));
    let wide = (ui.available_width() * if strip.truth.is_some() { 0.48 } else { 0.6 }).max(240.0);
    let tall = (ui.available_height() - 8.0).clamp(160.0, 420.0);
    ui.horizontal_top(|ui| {
        let from = charts::begin(ui);
        let rect = draw(ui, vec2(wide, tall), &strip);
        let title = say("strip-title");
        let svg = wanted.then(|| charts::picture(ui, &title, rect, from, shown.view.lid_open));
        ui.add_space(16.0);
        ui.vertical(|ui| {
            let (heads, rows) = strip.numbers();
            style::wide_table(ui, "cylinders", &heads.iter().map(String::as_str).collect::<Vec<_>>(), &rows);
            if let Some(svg) = svg {
                state.charts.kept = Some(charts::Kept { title, name: "cylinders", svg, heads, rows });
                state.front = Front::Keep;
            }
            if strip.learned.is_none() {
                style::soft(ui, &say("strip-trims-later"));
            }
            ui.add_space(8.0);
            ui.label(RichText::new(say("strip-same-teeth")).size(14.0).color(t.soft));
        });
    });
}

/// The bars, with what their height is worth to the left.
fn draw(ui: &mut Ui, size: Vec2, strip: &Strip<'_>) -> Rect {
    let t = style::Palette::of(ui);
    let (rect, r) = ui.allocate_exact_size(size, Sense::hover());
    let said = strip.spoken();
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, said.as_str()));
    let p = ui.painter();
    let (full, part) = strip.scale;
    let (top, base) = (rect.top() + 30.0, rect.bottom() - 74.0);
    let y = |c: f32| base - (base - top) * (c / full as f32).min(1.0);
    let marks: Vec<_> = (0..=full / part)
        .map(|k| p.layout_no_wrap((k * part).to_string(), style::mono_font(14.0), t.soft))
        .collect();
    let scale_wide = marks.iter().map(|g| g.size().x).fold(0.0, f32::max) + 8.0;
    let left = rect.left() + scale_wide;
    // in a low strip only the ends have room for their numbers
    let (last, low) = (marks.len() - 1, y(0.0) - y(part as f32) < 18.0);
    for (k, words) in marks.into_iter().enumerate() {
        let at = y(k as f32 * part as f32);
        p.hline(left..=rect.right(), at, Stroke::new(1.0, t.line));
        if low && k != 0 && k != last {
            continue;
        }
        p.galley(pos2(left - 8.0 - words.size().x, at - words.size().y / 2.0), words, t.soft);
    }
    let each = (rect.width() - scale_wide) / strip.misfires.len().max(1) as f32;
    for (k, m) in strip.misfires.iter().enumerate() {
        let middle = left + each * (k as f32 + 0.5);
        let half = (each * 0.32).min(34.0);
        let slot = Rect::from_min_max(pos2(middle - half, top), pos2(middle + half, base));
        p.rect(slot, 0.0, t.panel, Stroke::new(1.0, t.line), egui::StrokeKind::Inside);
        // words below a bar keep clear of those below the next
        let write = |words: String, down: f32, font: FontId, colour| {
            let words = style::fitting(p, &words, font, colour, each - 6.0);
            p.galley(pos2(middle, base + down) - words.size() / 2.0, words, colour);
        };
        write(m.cylinder.to_string(), rect.top() + 14.0 - base, style::bold_font(18.0), t.ink);
        if m.count > 0 {
            let bar = Rect::from_min_max(
                pos2(middle - half + 4.0, y(m.count as f32)),
                pos2(middle + half - 4.0, base),
            );
            style::hatch(p, bar, Stroke::new(1.0, t.pencil));
            style::dashed_rect(p, bar, Stroke::new(1.5, t.pencil));
        }
        write(m.count.to_string(), 16.0, style::mono_font(19.0), t.pencil);
        if let Some(c) = strip.real(m.cylinder) {
            p.hline(middle - half..=middle + half, y(c as f32), Stroke::new(4.0, t.ink));
            write(say!("strip-true", n = c), 38.0, style::bold_font(15.0), t.ink);
        }
        if let Some(x) = strip.trim(m.cylinder) {
            write(say!("strip-trim", pct = signed(x, 1)), 58.0, FontId::proportional(14.0), t.pencil);
        }
    }
    rect
}
