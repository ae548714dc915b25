//! The cylinder strip: what the module counts and believes of each cylinder.

use super::{Front, PanelState, Shown, charts, ink, service};
use crate::link::DiagRequest;
use egui::{Align2, FontId, Rect, RichText, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

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

/// The cylinder strip: misfires that were counted, in pencil; those that were, in ink under an open lid.
pub fn cylinders(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let t = ink::Ink::of(ui);
    let seen = &shown.view.first.seen;
    let truth = shown.view.first.truth.as_ref();
    let read = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
    let n = seen.misfires.len().max(1);
    let real = |k: u8| truth.and_then(|t| t.cylinders.iter().find(|c| c.cylinder == k)).map(|c| c.misfires);
    let most = seen.misfires.iter().map(|m| u64::from(m.count).max(real(m.cylinder).unwrap_or(0))).max();
    let (full, part) = scale(most.unwrap_or(0));
    let trim = |k: u8| {
        let name = format!("cylinder_trim_{k}");
        seen.learned.iter().find(|v| v.name == name && read).map(|v| v.value)
    };
    let watched = if seen.live.misfire_watched {
        "misfires are watched for"
    } else {
        "misfires are not watched for now"
    };
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        let r = ui.label(ink::bold("Cylinder strip"));
        ink::help(r, "cylinder strip", shown.words, &mut state.near_word);
        ink::soft(ui, &format!("counted in this trip; {watched}"));
        wanted = charts::button(ui, "cylinder strip");
    });
    let share = ink::number(seen.live.misfire_pct, 1);
    ink::soft(ui, &format!("{share} % of all firings in the last 200 turns"));
    let wide = (ui.available_width() * if truth.is_some() { 0.48 } else { 0.6 }).max(240.0);
    let tall = (ui.available_height() - 8.0).clamp(160.0, 420.0);
    ui.horizontal_top(|ui| {
        let from = charts::begin(ui);
        let (rect, r) = ui.allocate_exact_size(vec2(wide, tall), Sense::hover());
        let said: Vec<String> =
            seen.misfires.iter().map(|m| format!("cylinder {}: {} counted", m.cylinder, m.count)).collect();
        let said = format!("{}; a full bar is {full}", said.join(", "));
        r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, said.as_str()));
        let p = ui.painter();
        let base = rect.bottom() - 74.0;
        // what a bar's height is worth, to the left of them
        let marks: Vec<_> = (0..=full / part)
            .map(|k| p.layout_no_wrap((k * part).to_string(), ink::mono_font(14.0), t.soft))
            .collect();
        let scale_wide = marks.iter().map(|g| g.size().x).fold(0.0, f32::max) + 8.0;
        let left = rect.left() + scale_wide;
        let each = (rect.width() - scale_wide) / n as f32;
        let (top, full) = (rect.top() + 30.0, full as f32);
        let y = |c: f32| base - (base - top) * (c / full).min(1.0);
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
        for (k, m) in seen.misfires.iter().enumerate() {
            let middle = left + each * (k as f32 + 0.5);
            let half = (each * 0.32).min(34.0);
            let slot = Rect::from_min_max(pos2(middle - half, top), pos2(middle + half, base));
            p.rect(slot, 0.0, t.panel, Stroke::new(1.0, t.line), egui::StrokeKind::Inside);
            p.text(
                pos2(middle, rect.top() + 14.0),
                Align2::CENTER_CENTER,
                m.cylinder,
                ink::bold_font(18.0),
                t.ink,
            );
            if m.count > 0 {
                let bar = Rect::from_min_max(
                    pos2(middle - half + 4.0, y(m.count as f32)),
                    pos2(middle + half - 4.0, base),
                );
                ink::hatch(p, bar, Stroke::new(1.0, t.pencil));
                ink::dashed_rect(p, bar, Stroke::new(1.5, t.pencil));
            }
            p.text(pos2(middle, base + 16.0), Align2::CENTER_CENTER, m.count, ink::mono_font(19.0), t.pencil);
            if let Some(c) = real(m.cylinder) {
                let at = y(c as f32);
                p.hline(middle - half..=middle + half, at, Stroke::new(4.0, t.ink));
                let words = format!("true {c}");
                p.text(pos2(middle, base + 38.0), Align2::CENTER_CENTER, words, ink::bold_font(15.0), t.ink);
            }
            if let Some(x) = trim(m.cylinder) {
                let words = format!("trim {} %", ink::signed(x, 1));
                p.text(
                    pos2(middle, base + 58.0),
                    Align2::CENTER_CENTER,
                    words,
                    FontId::proportional(14.0),
                    t.pencil,
                );
            }
        }
        let svg = wanted.then(|| charts::picture(ui, "Cylinder strip", rect, from, shown.view.lid_open));
        ui.add_space(16.0);
        ui.vertical(|ui| {
            let rows: Vec<Vec<String>> = seen
                .misfires
                .iter()
                .map(|m| {
                    let mut row = vec![format!("cylinder {}", m.cylinder), m.count.to_string()];
                    row.push(trim(m.cylinder).map_or(String::new(), |x| format!("{} %", ink::signed(x, 1))));
                    if let Some(c) = truth.and_then(|t| t.cylinders.iter().find(|c| c.cylinder == m.cylinder))
                    {
                        row.push(c.misfires.to_string());
                        row.push(ink::number(c.lambda, 2));
                        row.push(ink::number(c.imep_kpa, 0));
                    }
                    row
                })
                .collect();
            let heads: &[&str] = if truth.is_some() {
                &["", "counted", "trim", "true", "lambda", "work kPa"]
            } else {
                &["", "counted", "trim"]
            };
            ink::wide_table(ui, "cylinders", heads, &rows);
            if let Some(svg) = svg {
                let heads = heads.iter().map(|h| (*h).to_owned()).collect();
                let title = "Cylinder strip".into();
                state.charts.kept = Some(charts::Kept { title, name: "cylinders", svg, heads, rows });
                state.front = Front::Keep;
            }
            if !read {
                ink::soft(ui, "Trims are shown once learned values were read.");
            }
            ui.add_space(8.0);
            let shared =
                "Cylinders a whole turn apart pass the same teeth: counts in two of them may be the wheel.";
            ui.label(RichText::new(shared).size(14.0).color(t.soft));
        });
    });
}
