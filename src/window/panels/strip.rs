//! Cylinder strip and wheel view: what the module counts and believes of each cylinder and of the reluctor wheel.

use super::{Shown, ink, service};
use crate::bench::action::Sensor;
use crate::bench::tools::{Point, Tool};
use crate::link::DiagRequest;
use egui::{
    Align2, FontId, Pos2, Rect, RichText, ScrollArea, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};

/// The cylinder strip: misfires that were counted, in pencil; those that were, in ink under an open lid.
pub fn cylinders(ui: &mut Ui, shown: &Shown<'_>) {
    let t = ink::Ink::of(ui);
    let seen = &shown.view.first.seen;
    let truth = shown.view.first.truth.as_ref();
    let read = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
    let n = seen.misfires.len().max(1);
    let real = |k: u8| truth.and_then(|t| t.cylinders.iter().find(|c| c.cylinder == k)).map(|c| c.misfires);
    let most = seen.misfires.iter().map(|m| u64::from(m.count).max(real(m.cylinder).unwrap_or(0))).max();
    let most = most.unwrap_or(0).max(10) as f32;
    let trim = |k: u8| {
        let name = format!("cylinder_trim_{k}");
        seen.learned.iter().find(|v| v.name == name && read).map(|v| v.value)
    };
    ui.label(ink::bold("Cylinder strip"));
    let watched = if seen.live.misfire_watched {
        "misfires are watched for"
    } else {
        "misfires are not watched for now"
    };
    ink::soft(ui, &format!("counted in this trip; {watched}"));
    let wide = (ui.available_width() * 0.6).max(260.0);
    let tall = (ui.available_height() - 8.0).clamp(160.0, 420.0);
    ui.horizontal_top(|ui| {
        let (rect, r) = ui.allocate_exact_size(vec2(wide, tall), Sense::hover());
        let said: Vec<String> =
            seen.misfires.iter().map(|m| format!("cylinder {}: {} counted", m.cylinder, m.count)).collect();
        r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, said.join(", ")));
        let p = ui.painter();
        let each = rect.width() / n as f32;
        let base = rect.bottom() - 74.0;
        for (k, m) in seen.misfires.iter().enumerate() {
            let middle = rect.left() + each * (k as f32 + 0.5);
            let half = (each * 0.32).min(34.0);
            let top = rect.top() + 30.0;
            let slot = Rect::from_min_max(pos2(middle - half, top), pos2(middle + half, base));
            p.rect(slot, 0.0, t.panel, Stroke::new(1.0, t.line), egui::StrokeKind::Inside);
            p.text(
                pos2(middle, rect.top() + 14.0),
                Align2::CENTER_CENTER,
                m.cylinder,
                ink::bold_font(18.0),
                t.ink,
            );
            let y = |c: f32| base - (base - top - 6.0) * (c / most).min(1.0);
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
            ink::table(ui, "cylinders", heads, &rows);
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

/// What a ring of the wheel view is worth \[deg\].
const RING_DEG: f64 = 0.05;
/// Degrees of a tooth: what its period's per cent are of.
const TOOTH_DEG: f64 = 6.0;

/// The wheel view: tooth timing round the wheel, measured by the scope, learned and true by windows.
pub fn wheel(ui: &mut Ui, shown: &Shown<'_>) {
    let t = ink::Ink::of(ui);
    let first = &shown.view.first;
    let scope = Tool::Scope(Point::Pin(Sensor::Crank));
    let measured = first.seen.readings.iter().find(|r| r.tool == scope);
    let windows = first.truth.as_ref().map(|t| t.windows.as_slice()).unwrap_or_default();
    ui.label(ink::bold("Wheel view"));
    ink::soft(ui, "tooth timing round the wheel, 0.05° a ring");
    let wide = ui.available_width();
    let side = (ui.available_height() - 8.0).min(wide * 0.6).max(200.0);
    ui.horizontal_top(|ui| {
        let (rect, r) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
        r.widget_info(|| {
            WidgetInfo::labeled(WidgetType::Label, true, "wheel view; its numbers stand beside it")
        });
        let middle = rect.center();
        let p = ui.painter_at(rect);
        let inner = side * 0.17;
        let zero = side * 0.34;
        let most = windows.iter().map(|w| w.is_deg.abs().max(w.believed_deg.abs())).fold(0.10, f64::max);
        let ring = f64::from(side * 0.15) / (most / RING_DEG).ceil();
        let place = |deg: f64, value: f64| -> Pos2 {
            let a = deg.to_radians() as f32 - std::f32::consts::FRAC_PI_2;
            middle + egui::Vec2::angled(a) * (zero + (value / RING_DEG * ring) as f32)
        };
        let rings = (most / RING_DEG).ceil() as i32;
        for k in -rings..=rings {
            let r = zero + (f64::from(k) * ring) as f32;
            let s = Stroke::new(if k == 0 { 1.8 } else { 1.0 }, if k == 0 { t.edge } else { t.line });
            p.circle_stroke(middle, r, s);
            if k != 0 && k % 2 == 0 {
                let words = format!("{}°", ink::signed(f64::from(k) * RING_DEG, 2));
                p.text(middle - vec2(0.0, r), Align2::CENTER_BOTTOM, words, ink::mono_font(14.0), t.soft);
            }
        }
        for k in 0..58 {
            let a = (f64::from(k) * TOOTH_DEG).to_radians() as f32 - std::f32::consts::FRAC_PI_2;
            let out = egui::Vec2::angled(a);
            p.line_segment([middle + out * inner, middle + out * (inner + 10.0)], Stroke::new(4.0, t.edge));
        }
        if let Some(r) = measured {
            let line: Vec<Pos2> = r
                .samples
                .iter()
                .enumerate()
                .map(|(k, pct)| place(k as f64 * TOOTH_DEG, pct / 100.0 * TOOTH_DEG))
                .collect();
            p.add(Shape::line(line, Stroke::new(1.3, t.meas)));
        }
        let order = &shown.plate.firing_order;
        let span = 720.0 / order.len().max(1) as f64;
        for w in windows {
            let Some(k) = order.iter().position(|c| *c == w.cylinder) else { continue };
            let from = k as f64 * span % 360.0;
            let arc = |value: f64| -> Vec<Pos2> {
                (0..=24).map(|i| place(from + span * f64::from(i) / 24.0, value)).collect()
            };
            p.extend(Shape::dashed_line(&arc(w.believed_deg), Stroke::new(2.0, t.pencil), 6.0, 4.0));
            p.add(Shape::line(arc(w.is_deg), Stroke::new(3.2, t.ink)));
            let turn = if k as f64 * span >= 360.0 { 0.62 } else { 0.86 };
            let a = (from + span / 2.0).to_radians() as f32 - std::f32::consts::FRAC_PI_2;
            let at = middle + egui::Vec2::angled(a) * inner * turn;
            p.text(at, Align2::CENTER_CENTER, w.cylinder, ink::bold_font(15.0), t.text);
        }
        ui.add_space(16.0);
        ui.vertical(|ui| {
            ScrollArea::vertical()
                .id_salt("wheel numbers")
                .show(ui, |ui| beside(ui, shown, measured.is_some()));
        });
    });
}

fn beside(ui: &mut Ui, shown: &Shown<'_>, measured: bool) {
    let t = ink::Ink::of(ui);
    let first = &shown.view.first;
    for (hand, words) in [(0, "wheel table: belief"), (1, "measured with the scope"), (2, "the true wheel")] {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(44.0, 20.0), Sense::hover());
            let ends = [rect.left_center(), rect.right_center()];
            match hand {
                0 => ui.painter().extend(Shape::dashed_line(&ends, Stroke::new(2.0, t.pencil), 6.0, 4.0)),
                1 => {
                    ui.painter().line_segment(ends, Stroke::new(1.3, t.meas));
                }
                _ => {
                    ui.painter().line_segment(ends, Stroke::new(3.2, t.ink));
                }
            }
            ui.label(words);
        });
    }
    ui.add_space(8.0);
    if let Some(truth) = &first.truth {
        let rows: Vec<Vec<String>> = truth
            .windows
            .iter()
            .map(|w| {
                vec![
                    format!("cylinder {}", w.cylinder),
                    format!("{}°", ink::signed(w.believed_deg, 3)),
                    format!("{}°", ink::signed(w.is_deg, 3)),
                ]
            })
            .collect();
        ink::table(ui, "windows", &["window of", "learned", "true"], &rows);
        ui.label(format!("largest difference {}°", ink::number(truth.wheel_off_deg, 3)));
    } else {
        ink::soft(
            ui,
            "With the lid on the table cannot be seen: whether misfires are watched for tells whether one was learned.",
        );
        let words = if first.seen.live.misfire_watched {
            "Misfires are watched for."
        } else {
            "Misfires are not watched for now."
        };
        ui.label(words);
    }
    if measured {
        let scope = Tool::Scope(Point::Pin(Sensor::Crank));
        if let Some(r) = first.seen.readings.iter().find(|r| r.tool == scope) {
            ui.label(&r.words);
            egui::CollapsingHeader::new("Tooth by tooth").show(ui, |ui| {
                let rows: Vec<Vec<String>> = r
                    .samples
                    .iter()
                    .enumerate()
                    .map(|(k, x)| vec![format!("tooth {}", k + 1), format!("{} %", ink::signed(*x, 2))])
                    .collect();
                ink::table(ui, "teeth", &["", "period"], &rows);
            });
        }
    } else {
        ink::soft(ui, "Measured: put the scope on the crank sensor's wire.");
    }
}
