//! The cylinder strip: what the module counts and believes of each cylinder.

use super::{Front, PanelState, Shown, charts, service, style};
use crate::bench::view::{CylinderTruth, MisfireView, Truth};
use crate::link::{DiagRequest, LearnedStatus};
use crate::words::numbers::{number, signed};
use crate::words::say;
use egui::{FontId, Rect, RichText, Sense, Stroke, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2};

/// The value of a full bar and of one division: round numbers, chosen so that the counts fill at least two fifths of
/// it.
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

/// The quantity that is drawn for each cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Misfires that the module counts.
    Counts,
    /// Trims that it has learned.
    Trims,
    /// Lambda, by truth.
    Lambda,
    /// Work per cycle against the mean of all cylinders, by truth.
    Work,
}

impl Quantity {
    /// All quantities with their messages.
    pub const ALL: [(Quantity, &'static str); 4] = [
        (Quantity::Counts, "strip-shows-counts"),
        (Quantity::Trims, "strip-shows-trims"),
        (Quantity::Lambda, "strip-shows-lambda"),
        (Quantity::Work, "strip-shows-work"),
    ];
    /// A cylinder's deviation \[%\]; none for counts.
    fn off_pct(self, strip: &Strip<'_>, cylinder: u8) -> Option<f64> {
        let truth = |of: fn(&CylinderTruth) -> f64| {
            strip.truth?.cylinders.iter().find(|c| c.cylinder == cylinder).map(of)
        };
        match self {
            Quantity::Counts => None,
            Quantity::Trims => strip.trim(cylinder),
            Quantity::Lambda => truth(|c| 100.0 * (c.lambda - 1.0)),
            Quantity::Work => {
                let all = &strip.truth?.cylinders;
                let mean = all.iter().map(|c| c.imep_kpa).sum::<f64>() / all.len().max(1) as f64;
                truth(|c| c.imep_kpa).filter(|_| mean > 1.0).map(|x| 100.0 * (x / mean - 1.0))
            }
        }
    }
    /// True when there is something to show.
    fn is_known(self, strip: &Strip<'_>) -> bool {
        self == Quantity::Counts || strip.misfires.iter().any(|m| self.off_pct(strip, m.cylinder).is_some())
    }
    /// The quantity that separates the cylinders best: misfires, if there were any, otherwise the one with the widest
    /// spread.
    fn most_telling(strip: &Strip<'_>) -> Self {
        if strip.misfires.iter().any(|m| m.count > 0) {
            return Quantity::Counts;
        }
        let spread = |q: Quantity| {
            let all: Vec<f64> = strip.misfires.iter().filter_map(|m| q.off_pct(strip, m.cylinder)).collect();
            let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let low = all.iter().copied().fold(f64::INFINITY, f64::min);
            (high - low).max(0.0)
        };
        let all = [Quantity::Trims, Quantity::Lambda, Quantity::Work];
        let best = all.into_iter().max_by(|a, b| spread(*a).total_cmp(&spread(*b)));
        best.filter(|q| spread(*q) > 0.5).unwrap_or(Quantity::Counts)
    }
}

/// What the strip draws: counts, and what may be shown beside them.
struct Strip<'a> {
    misfires: &'a [MisfireView],
    truth: Option<&'a Truth>,
    /// Learned values of the module, once they have been read.
    learned: Option<&'a [LearnedStatus]>,
    /// The value of a full bar and of one division.
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
    /// Misfires that really happened.
    fn real(&self, cylinder: u8) -> Option<u64> {
        self.truth?.cylinders.iter().find(|c| c.cylinder == cylinder).map(|c| c.misfires)
    }
    /// The learned trim \[%\].
    fn trim(&self, cylinder: u8) -> Option<f64> {
        let name = format!("cylinder_trim_{cylinder}");
        self.learned?.iter().find(|v| v.name == name).map(|v| v.value)
    }
    /// The drawing in words, for a screen reader.
    fn spoken(&self) -> String {
        let each = self.misfires.iter();
        let each = each.map(|m| say!("strip-cylinder-counted", cylinder = m.cylinder, n = m.count));
        say!("strip-spoken", cylinders = style::listed(each), full = self.scale.0)
    }
    /// The strip's numbers as a table.
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

/// The cylinder strip: counted misfires in pencil; misfires that really happened in ink, under an open lid.
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
    let now = state.strip.filter(|q| q.is_known(&strip)).unwrap_or_else(|| Quantity::most_telling(&strip));
    ui.horizontal_wrapped(|ui| {
        for (q, id) in Quantity::ALL {
            if q.is_known(&strip) && ui.selectable_label(q == now, say(id)).clicked() {
                state.strip = Some(q);
            }
        }
    });
    style::soft(ui, &say!("strip-share", pct = number(live.misfire_pct, 1)));
    let wide = (ui.available_width() * if strip.truth.is_some() { 0.48 } else { 0.6 }).max(240.0);
    let tall = (ui.available_height() - 8.0).clamp(160.0, 420.0);
    ui.horizontal_top(|ui| {
        let from = charts::begin(ui);
        let size = vec2(wide, tall);
        let rect =
            if now == Quantity::Counts { draw(ui, size, &strip) } else { draw_off(ui, size, &strip, now) };
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

/// The bars, with their scale to the left.
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
    // in a low strip only the ends of the scale have space for their numbers
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
        // words below a bar do not run into those below the next bar
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

/// Each cylinder's deviation, up and down from a line: the module's learned values hatched, true values filled.
fn draw_off(ui: &mut Ui, size: Vec2, strip: &Strip<'_>, of: Quantity) -> Rect {
    let t = style::Palette::of(ui);
    let (rect, r) = ui.allocate_exact_size(size, Sense::hover());
    let all: Vec<(u8, Option<f64>)> =
        strip.misfires.iter().map(|m| (m.cylinder, of.off_pct(strip, m.cylinder))).collect();
    let title = Quantity::ALL.iter().find(|(q, _)| *q == of).map_or_else(String::new, |(_, id)| say(id));
    r.widget_info(|| {
        let each =
            all.iter().filter_map(|(c, x)| Some(say!("strip-off", cylinder = *c, pct = signed((*x)?, 1))));
        let spoken = say!("window-named-value", name = title.as_str(), value = style::listed(each));
        WidgetInfo::labeled(WidgetType::Label, true, spoken)
    });
    let p = ui.painter();
    let most = all.iter().filter_map(|(_, x)| x.map(f64::abs)).fold(0.0, f64::max);
    let full = [5.0, 10.0, 20.0, 50.0, 100.0].into_iter().find(|f| most <= *f).unwrap_or(100.0);
    let (top, bottom) = (rect.top() + 40.0, rect.bottom() - 44.0);
    let y = |pct: f64| (top + bottom) / 2.0 - (bottom - top) / 2.0 * (pct / full).clamp(-1.0, 1.0) as f32;
    let left = rect.left() + 64.0;
    for pct in [full, full / 2.0, 0.0, -full / 2.0, -full] {
        p.hline(left..=rect.right(), y(pct), Stroke::new(if pct == 0.0 { 1.8 } else { 1.0 }, t.line));
        let words = say!("strip-pct", pct = signed(pct, if full < 10.0 { 1 } else { 0 }));
        let words = p.layout_no_wrap(words, style::mono_font(14.0), t.soft);
        p.galley(pos2(left - 8.0 - words.size().x, y(pct) - words.size().y / 2.0), words, t.soft);
    }
    let each = (rect.right() - left) / all.len().max(1) as f32;
    let learned = of == Quantity::Trims;
    for (k, (cylinder, off)) in all.iter().enumerate() {
        let middle = left + each * (k as f32 + 0.5);
        let half = (each * 0.3).min(34.0);
        let write = |words: String, at: f32, font: FontId, colour| {
            let words = style::fitting(p, &words, font, colour, each - 6.0);
            p.galley(pos2(middle, at) - words.size() / 2.0, words, colour);
        };
        write(cylinder.to_string(), rect.top() + 16.0, style::bold_font(18.0), t.ink);
        let Some(off) = off else { continue };
        let bar = Rect::from_two_pos(pos2(middle - half, y(0.0)), pos2(middle + half, y(*off)));
        if learned {
            style::hatch(p, bar, Stroke::new(1.0, t.pencil));
            style::dashed_rect(p, bar, Stroke::new(1.5, t.pencil));
        } else {
            p.rect_filled(bar, 0.0, t.ink);
        }
        let colour = if learned { t.pencil } else { t.ink };
        write(say!("strip-pct", pct = signed(*off, 1)), rect.bottom() - 24.0, style::mono_font(17.0), colour);
    }
    rect
}
