//! The gap between throttle plate and bore, magnified: what idle learning is about.
//!
//! *Inside*: the drawing and its lines. *Outside*: the width of a gap (the model's [`EngineShape`]).
//!
//! In pencil: where the module assumes the plate to be, and by how much it assumes the gap to be narrower than clean,
//! from its learned idle air. In ink, under an open lid: where the plate really is, and the film that is really
//! there.

use super::{PanelState, Shown, service, style};
use crate::bench::view::EngineShape;
use crate::link::DiagRequest;
use crate::words::say;
use egui::{Align2, FontId, Frame, Panel, Rect, Sense, Stroke, Ui, WidgetInfo, WidgetType, pos2, vec2};

/// Widths that are drawn \[µm\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Gap of a clean throttle body at the plate position that the module assumes.
    pub clean_um: f64,
    /// By how much the module assumes the gap to be narrower, from its learned idle air; none until that was read.
    pub learned_um: Option<f64>,
    /// Gap of a clean throttle body at the true plate position, and the film on the bore; none under a closed lid.
    pub truth_um: Option<(f64, f64)>,
}

/// Widest gap that is drawn \[µm\]: beyond it the plate is open so far that a film no longer matters.
const WIDEST_UM: f64 = 400.0;
/// Narrowest scale \[µm\].
const NARROWEST_UM: f64 = 100.0;
/// Height of the drawing with its heading.
const TALL: f32 = 150.0;

impl Gap {
    /// The present widths. `read` says that learned values were read; none while the module does not answer.
    pub fn of(shown: &Shown<'_>, read: bool) -> Option<Self> {
        let side = &shown.view.first;
        if !side.seen.answers {
            return None;
        }
        let (live, shape): (_, &EngineShape) = (&side.seen.live, &side.engine.shape);
        let held = |name: &str| side.seen.learned.iter().find(|v| v.name == name).map(|v| v.value);
        let learned_um = read
            .then(|| Some(shape.film_for_um(held("idle_air_light")?, held("ambient")?, live.inlet_air_c)));
        let truth_um = side.truth.as_ref().map(|t| {
            let stop = held("closed_stop").unwrap_or(t.closed_stop_deg);
            let opening = live.throttle_deg + stop - t.closed_stop_deg;
            (shape.throttle_gap_um(opening.max(0.0)), t.deposit_um)
        });
        Some(Self {
            clean_um: shape.throttle_gap_um(live.throttle_deg.max(0.0)),
            learned_um: learned_um.flatten(),
            truth_um,
        })
    }

    /// Full scale of the drawing \[µm\].
    fn scale_um(&self) -> f64 {
        let (gap, film) = self.truth_um.unwrap_or_default();
        let most = [self.clean_um, gap, film, self.learned_um.unwrap_or(0.0)].into_iter().fold(0.0, f64::max);
        (1.15 * most).clamp(NARROWEST_UM, WIDEST_UM)
    }
}

/// The drawing with its lines beside it, below the engine's throttle; nothing while the module does not answer.
pub fn strip(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) {
    let read = shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned);
    let Some(gap) = Gap::of(shown, read) else { return };
    let t = style::Palette::of(ui);
    Panel::bottom("throttle gap").frame(Frame::new().fill(t.bg)).exact_size(TALL).resizable(false).show(
        ui,
        |ui| {
            style::heading(ui, &say("gap-title"), "idle air", shown.words, &mut state.near_word);
            let um = |x: f64| shown.settings.units.value(x, "µm");
            let mut lines = vec![(t.pencil, say!("gap-clean", gap = um(gap.clean_um)))];
            if let Some(film) = gap.learned_um {
                let id = if film < 0.0 { "gap-learned-too-much" } else { "gap-learned" };
                lines.push((t.pencil, say!(id, film = um(film.abs()))));
            }
            if let Some((clean, film)) = gap.truth_um {
                let open = (clean - film).max(0.0);
                lines.push((t.ink, say!("gap-truth", film = um(film), open = um(open))));
            }
            let spoken = style::listed(lines.iter().map(|(_, words)| words.clone()));
            ui.horizontal_top(|ui| {
                let wide = (0.5 * ui.available_width()).min(440.0);
                let (rect, r) = ui.allocate_exact_size(vec2(wide, ui.available_height()), Sense::hover());
                let spoken = format!("{}: {spoken}", say("gap-title"));
                r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &spoken));
                draw(ui, rect, &gap);
                ui.vertical(|ui| {
                    for (colour, words) in lines {
                        ui.colored_label(colour, words);
                    }
                });
            });
        },
    );
}

fn draw(ui: &Ui, rect: Rect, gap: &Gap) {
    let t = style::Palette::of(ui);
    let p = ui.painter().with_clip_rect(rect);
    let wall = rect.right() - 30.0;
    let scale = (wall - rect.left() - 60.0) / gap.scale_um() as f32;
    let from_wall = |um: f64| wall - um.min(1.1 * WIDEST_UM) as f32 * scale;
    let (top, bottom) = (rect.top() + 4.0, rect.bottom() - 4.0);
    // the bore wall
    let bore = Rect::from_min_max(pos2(wall, top), pos2(rect.right(), bottom));
    style::hatch(&p, bore, Stroke::new(1.0, t.edge));
    p.vline(wall, top..=bottom, Stroke::new(2.0, t.ink));
    if let Some((_, film)) = gap.truth_um {
        let film = Rect::from_min_max(pos2(from_wall(film), top), pos2(wall, bottom));
        p.rect_filled(film, 0.0, t.gas);
        p.vline(film.left(), top..=bottom, Stroke::new(1.5, t.ink));
    }
    if let Some(film) = gap.learned_um {
        let x = from_wall(film.max(0.0));
        p.extend(egui::Shape::dashed_line(
            &[pos2(x, top), pos2(x, bottom)],
            Stroke::new(2.0, t.pencil),
            5.0,
            4.0,
        ));
    }
    let middle = rect.center().y;
    // the plate's edge: the gap is measured from its tip
    let plate = |um: f64, stroke: Stroke, filled: bool| {
        let tip = from_wall(um);
        let left = (tip - 90.0).max(rect.left() - 60.0);
        let corners = vec![
            pos2(tip, middle),
            pos2(tip - 8.0, middle + 11.0),
            pos2(left, middle + 26.0),
            pos2(left, middle + 4.0),
            pos2(tip - 8.0, middle - 11.0),
        ];
        if filled {
            p.add(egui::Shape::convex_polygon(corners, t.line, stroke));
        } else {
            let mut round = corners;
            round.push(round[0]);
            p.extend(egui::Shape::dashed_line(&round, stroke, 5.0, 4.0));
        }
    };
    if let Some((um, film)) = gap.truth_um {
        plate(um, Stroke::new(1.5, t.ink), true);
        let (from, to) = (from_wall(um), from_wall(film));
        if to - from > 4.0 {
            p.line_segment([pos2(from, top + 8.0), pos2(to, top + 8.0)], Stroke::new(1.5, t.air));
        }
    }
    plate(gap.clean_um, Stroke::new(1.5, t.pencil), false);
    // the scale bar
    let bar_um = if gap.scale_um() > 200.0 { 100.0 } else { 50.0 };
    let long = bar_um as f32 * scale;
    let at = pos2(rect.left() + 4.0, bottom - 2.0);
    p.line_segment([at, at + vec2(long, 0.0)], Stroke::new(2.0, t.text));
    let words = say!("gap-scale", um = crate::words::numbers::number(bar_um, 0));
    p.text(at + vec2(0.0, -4.0), Align2::LEFT_BOTTOM, words, FontId::proportional(12.0), t.soft);
}
