//! The wheel view: the position of each tooth as the module learned it, as the scope measured it, and under an open
//! lid as it really is; magnified so that a twentieth of a degree is visible.

use super::charts::{self, Numbers};
use super::{PanelState, Shown, Wish, service, style};
use crate::bench::action::{Action, Sensor};
use crate::bench::tools::{Point, Tool};
use crate::link::DiagRequest;
use crate::report;
use crate::words::numbers::{clock, number, signed};
use crate::words::say;
use egui::{
    Align2, Pos2, Rect, RichText, ScrollArea, Sense, Shape, Stroke, Ui, WidgetInfo, WidgetType, vec2,
};

/// The scope on the crank sensor's wire.
pub const SCOPE: Tool = Tool::Scope(Point::Pin(Sensor::Crank));

/// Step from ring to ring \[deg\].
const RING_DEG: f64 = 0.05;
/// Least and greatest range of the rings; a larger error is drawn at the edge \[deg\].
const REACH_DEG: (f64, f64) = (0.10, 0.40);
/// Tooth pitch \[deg\].
const PITCH_DEG: f64 = 6.0;
/// Number of teeth; two more are missing in the gap.
const TEETH: usize = 58;

/// The source of tooth positions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Who {
    /// The module.
    Learned,
    /// The scope.
    Measured,
    /// The wheel itself.
    Truth,
}

impl Who {
    fn words(self) -> String {
        match self {
            Who::Learned => say("wheel-learned"),
            Who::Measured => say("wheel-measured"),
            Who::Truth => say("wheel-true"),
        }
    }
}

/// Tooth position errors \[deg\], from tooth 1 on, by source.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Teeth<'a> {
    /// From the module, once they were read.
    pub learned: Option<&'a [f64]>,
    /// From the scope, once it was used.
    pub measured: Option<&'a [f64]>,
    /// Of the wheel itself, under an open lid.
    pub truth: Option<&'a [f64]>,
}

impl<'a> Teeth<'a> {
    /// The data that may be shown.
    pub fn of(shown: &Shown<'a>) -> Self {
        let first = &shown.view.first;
        let whole = |list: &'a Vec<f64>| (list.len() == TEETH).then_some(list.as_slice());
        let scope = first.seen.readings.iter().find(|r| r.tool == SCOPE);
        Self {
            learned: may_read(shown).then(|| whole(&first.seen.wheel_table_deg)).flatten(),
            measured: scope.and_then(|r| whole(&r.edges_deg)),
            truth: first.truth.as_ref().and_then(|t| whole(&t.wheel_deg)),
        }
    }
    fn all(&self) -> [(Who, Option<&'a [f64]>); 3] {
        [(Who::Learned, self.learned), (Who::Measured, self.measured), (Who::Truth, self.truth)]
    }
    /// Range that the rings must cover \[deg\].
    pub fn reach_deg(&self) -> f64 {
        let most = |l: Option<&[f64]>| l.unwrap_or_default().iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        self.all().iter().map(|(_, l)| most(*l)).fold(REACH_DEG.0, f64::max).min(REACH_DEG.1)
    }
}

fn may_read(shown: &Shown<'_>) -> bool {
    shown.view.lid_open || service::asked(shown, &DiagRequest::ReadLearned)
}

/// A sector of the wheel: the cylinders that fire in it, the teeth at its ends, where it begins and its width
/// \[deg\].
#[derive(Debug, Clone, PartialEq)]
pub struct Sector {
    /// Cylinders whose power strokes fall in it.
    pub cylinders: String,
    /// Teeth at its ends, from 0.
    pub teeth: (usize, usize),
    /// Where it begins, from tooth 1 \[deg\].
    pub from_deg: f64,
    /// Its width \[deg\].
    pub span_deg: f64,
}

/// Sectors from one firing top dead centre to the next, in the order in which they pass.
pub fn sectors(firing_order: &[u8], first_tooth_btdc_deg: f64) -> Vec<Sector> {
    let n = firing_order.len() / 2;
    if n == 0 {
        return Vec::new();
    }
    let span_deg = 360.0 / n as f64;
    let tooth = |deg: f64| ((deg.rem_euclid(360.0) / PITCH_DEG).round() as usize).min(TEETH - 1);
    (0..n)
        .map(|j| {
            let from_deg = (first_tooth_btdc_deg + span_deg * j as f64).rem_euclid(360.0);
            let two = [firing_order[j], firing_order[j + n]];
            Sector {
                cylinders: say!("wheel-two-cylinders", one = two[0].min(two[1]), other = two[0].max(two[1])),
                teeth: (tooth(from_deg), tooth(from_deg + span_deg)),
                from_deg,
                span_deg,
            }
        })
        .collect()
}

/// Lays out the whole view.
pub fn panel(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let teeth = Teeth::of(shown);
    let sectors = sectors(&shown.plate.firing_order, shown.view.first.engine.shape.first_tooth_btdc_deg);
    let mut wanted = false;
    ui.horizontal_wrapped(|ui| {
        let r = ui.label(style::bold(&say("wheel-title")));
        style::help(r, "reluctor wheel view", shown.words, &mut state.near_word);
        wanted = charts::button(ui, &say("wheel-chart"));
    });
    style::soft(ui, &say("wheel-rings"));
    let wide = ui.available_width();
    let side = (ui.available_height() - 8.0).min(wide * 0.6).max(160.0);
    ui.horizontal_top(|ui| {
        let from = charts::begin(ui);
        let rect = draw(ui, (side, 14.0), &teeth, &sectors);
        if wanted {
            let title = say("wheel-title");
            let svg = charts::picture(ui, &title, rect, from, shown.view.lid_open);
            let (heads, rows) = numbers(&teeth);
            state.charts.kept = Some(charts::Kept { title, name: "wheel", svg, heads, rows });
            state.front = super::Front::Keep;
        }
        ui.add_space(16.0);
        ui.vertical(|ui| {
            ScrollArea::vertical()
                .id_salt("wheel numbers")
                .auto_shrink(false)
                .show(ui, |ui| out.extend(beside(ui, shown, state, &teeth, &sectors)));
        });
    });
    out
}

/// The wheel alone, as large as the space allows.
pub fn from_afar(ui: &mut Ui, shown: &Shown<'_>) {
    let teeth = Teeth::of(shown);
    let sectors = sectors(&shown.plate.firing_order, shown.view.first.engine.shape.first_tooth_btdc_deg);
    let room = ui.available_size();
    let side = room.min_elem().max(160.0);
    ui.horizontal_top(|ui| {
        ui.add_space(((room.x - side) / 2.0).max(0.0));
        draw(ui, (side, 22.0), &teeth, &sectors);
    });
}

fn place(middle: Pos2, deg: f64, radius: f32) -> Pos2 {
    middle + egui::Vec2::angled(deg.to_radians() as f32 - std::f32::consts::FRAC_PI_2) * radius
}

/// Draws the wheel in this size, with letters of this size \[points\].
fn draw(ui: &mut Ui, (side, letters): (f32, f32), teeth: &Teeth<'_>, sectors: &[Sector]) -> Rect {
    let t = style::Palette::of(ui);
    let (rect, r) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, spoken(teeth)));
    let middle = rect.center();
    let p = ui.painter_at(rect);
    let (inner, zero) = (side * 0.17, side * 0.335);
    let small = inner < 3.7 * letters;
    let reach = teeth.reach_deg();
    let rings = (reach / RING_DEG - 1e-9).ceil() as i32;
    // the outermost ring just fits, the innermost does not touch the teeth
    let per_deg = f64::from(side * 0.135) / (f64::from(rings) * RING_DEG);
    let at = |k: usize, off: f64| {
        let most = (f64::from(rings) + 0.3) * RING_DEG;
        place(middle, PITCH_DEG * k as f64, zero + (off.clamp(-most, most) * per_deg) as f32)
    };
    for k in -rings..=rings {
        let radius = zero + (f64::from(k) * RING_DEG * per_deg) as f32;
        let s = Stroke::new(if k == 0 { 1.8 } else { 1.0 }, if k == 0 { t.edge } else { t.line });
        p.circle_stroke(middle, radius, s);
    }
    for s in sectors {
        let ends = [place(middle, s.from_deg, inner * 0.2), place(middle, s.from_deg, zero * 1.42)];
        p.extend(Shape::dashed_line(&ends, Stroke::new(1.0, t.edge), 2.0, 4.0));
        let at = place(middle, s.from_deg + 0.5 * s.span_deg, inner * 0.48);
        // in a small wheel the two lines of text are stacked, clear of the teeth
        let at = match (small, sectors.len()) {
            (true, 2) => Pos2::new(middle.x, middle.y + 0.64 * letters * (at.y - middle.y).signum()),
            _ => at,
        };
        // three labels share the middle, side by side
        let room = match (small, sectors.len()) {
            (true, 2) => 1.7,
            (_, 2) => 1.0,
            _ => 0.72,
        };
        let font = style::bold_font(if small { letters - 1.0 } else { letters + 1.0 });
        let words = style::fitting(&p, &s.cylinders, font, t.text, inner * room);
        p.galley(at - words.size() / 2.0, words, t.text);
    }
    // a small wheel has thin teeth, so that they remain separate
    let thick = (0.55 * PITCH_DEG.to_radians() as f32 * inner).min(4.0);
    for k in 0..TEETH {
        let deg = PITCH_DEG * k as f64;
        p.line_segment(
            [place(middle, deg, inner), place(middle, deg, inner + 9.0)],
            Stroke::new(thick, t.edge),
        );
    }
    let line = |list: &[f64]| -> Vec<Pos2> { list.iter().enumerate().map(|(k, off)| at(k, *off)).collect() };
    if let Some(list) = teeth.truth {
        p.add(Shape::line(line(list), Stroke::new(3.4, t.ink)));
    }
    if let Some(list) = teeth.measured {
        p.add(Shape::line(line(list), Stroke::new(1.4, t.meas)));
    }
    if let Some(list) = teeth.learned {
        p.extend(Shape::dashed_line(&line(list), Stroke::new(2.0, t.pencil), 7.0, 4.0));
    }
    // the scale of the rings, in the middle of the gap, where no line runs; the innermost ring is as far from the
    // middle one as the outermost, and is labelled only if its label touches no tooth
    for k in [-rings, 0, rings] {
        let radius = zero + (f64::from(k) * RING_DEG * per_deg) as f32;
        let words = say!("wheel-degrees", deg = signed(f64::from(k) * RING_DEG, if k == 0 { 0 } else { 2 }));
        let galley = p.layout_no_wrap(words, style::mono_font(letters), t.soft);
        let gap = 3.0 * PITCH_DEG.to_radians() as f32 * radius;
        if k < 0 && galley.size().x > gap {
            continue;
        }
        let at = place(middle, -1.5 * PITCH_DEG, radius) - galley.size() / 2.0;
        p.rect_filled(Rect::from_min_size(at, galley.size()).expand(1.0), 2.0, t.bg);
        p.galley(at, galley, t.soft);
    }
    for k in [1_usize, 15, 30, 45].into_iter().filter(|_| !small) {
        let at = place(middle, PITCH_DEG * (k - 1) as f64, inner - 0.86 * letters);
        p.text(at, Align2::CENTER_CENTER, k, style::mono_font(letters), t.soft);
    }
    if let Some(pointer) = r.hover_pos() {
        let deg = f64::from((pointer - middle).angle()).to_degrees() + 90.0;
        let k = ((deg.rem_euclid(360.0) / PITCH_DEG).round() as usize).min(TEETH - 1);
        let deg = PITCH_DEG * k as f64;
        let ends = [place(middle, deg, inner + 9.0), place(middle, deg, zero * 1.42)];
        p.line_segment(ends, Stroke::new(1.0, t.accent));
        r.on_hover_ui_at_pointer(|ui| {
            ui.label(style::bold(&say!("wheel-tooth-n", n = k + 1)));
            for (who, list) in teeth.all() {
                if let Some(list) = list {
                    ui.label(say!("wheel-offset", who = who.words(), deg = signed(list[k], 3)));
                }
            }
        });
    }
    rect
}

/// The drawing in words, for a screen reader.
fn spoken(teeth: &Teeth<'_>) -> String {
    let most = teeth.all().into_iter().filter_map(|(who, list)| {
        let list = list?;
        let k = (0..list.len()).max_by(|a, b| list[*a].abs().total_cmp(&list[*b].abs())).unwrap_or(0);
        Some(say!("wheel-most", who = who.words(), deg = signed(list[k], 3), n = k + 1))
    });
    match most.collect::<Vec<_>>().as_slice() {
        [] => say("wheel-spoken"),
        [one] => say!("wheel-spoken-and-one", one = one.as_str()),
        [one, two] => say!("wheel-spoken-and-two", one = one.as_str(), two = two.as_str()),
        [one, two, three, ..] => {
            say!("wheel-spoken-and-three", one = one.as_str(), two = two.as_str(), three = three.as_str())
        }
    }
}

/// The numbers tooth by tooth.
fn numbers(teeth: &Teeth<'_>) -> Numbers {
    let there: Vec<_> = teeth.all().into_iter().filter_map(|(n, l)| Some((n, l?))).collect();
    let heads = std::iter::once(say("wheel-tooth"))
        .chain(there.iter().map(|(who, _)| say!("wheel-head-degrees", who = who.words())));
    let rows = (0..TEETH).map(|k| {
        let cells = there.iter().map(|(_, l)| signed(l[k], 3));
        std::iter::once((k + 1).to_string()).chain(cells).collect()
    });
    (heads.collect(), rows.collect())
}

/// A sample of a line as it is drawn, with its description.
fn key(ui: &mut Ui, who: Who, words: &str) {
    let t = style::Palette::of(ui);
    ui.horizontal_wrapped(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(44.0, 20.0), Sense::hover());
        let ends = [rect.left_center(), rect.right_center()];
        let p = ui.painter();
        match who {
            Who::Learned => p.extend(Shape::dashed_line(&ends, Stroke::new(2.0, t.pencil), 7.0, 4.0)),
            Who::Measured => {
                p.line_segment(ends, Stroke::new(1.4, t.meas));
            }
            Who::Truth => {
                p.line_segment(ends, Stroke::new(3.4, t.ink));
            }
        }
        ui.label(words);
    });
}

fn beside(
    ui: &mut Ui,
    shown: &Shown<'_>,
    state: &PanelState,
    teeth: &Teeth<'_>,
    sectors: &[Sector],
) -> Vec<Wish> {
    let mut out = Vec::new();
    let t = style::Palette::of(ui);
    let ask = |ui: &mut Ui, words: &str, action: Action| {
        let price = report::cost_words(shown.prices, shown.prices.of(&action));
        ui.button(say!("window-priced", what = say(words), price = price))
            .clicked()
            .then(|| state.act(action))
    };
    key(ui, Who::Learned, &say("wheel-table"));
    if !may_read(shown) {
        style::soft(ui, &say("window-not-read-yet"));
        out.extend(ask(ui, "wheel-read", Action::Ask(DiagRequest::ReadLearned)));
    } else if teeth.learned.is_none() {
        style::soft(ui, &say("wheel-no-table"));
    }
    key(ui, Who::Measured, &say("wheel-by-scope"));
    if teeth.measured.is_none() {
        style::soft(ui, &say("wheel-not-measured"));
        out.extend(ask(ui, "wheel-put-scope", Action::Measure(SCOPE)));
    } else {
        let far = teeth.measured.unwrap_or_default().iter().any(|x| x.abs() > REACH_DEG.1);
        if far {
            ui.label(RichText::new(say("wheel-beyond")).size(14.0).color(t.accent));
        }
        style::soft(ui, &say("wheel-beat-out"));
        out.extend(ask(ui, "wheel-measure-again", Action::Measure(SCOPE)));
    }
    if teeth.truth.is_some() {
        key(ui, Who::Truth, &say("wheel-as-it-is"));
    }
    ui.add_space(8.0);
    let there: Vec<_> = teeth.all().into_iter().filter_map(|(n, l)| Some((n, l?))).collect();
    if !there.is_empty() {
        ui.label(style::bold(&say("wheel-by-sectors")));
        style::soft(ui, &say("wheel-sectors-say"));
        let heads: Vec<String> =
            std::iter::once(say("wheel-sector-of")).chain(there.iter().map(|(who, _)| who.words())).collect();
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let rows: Vec<Vec<String>> = sectors
            .iter()
            .map(|s| {
                let by = |l: &[f64]| say!("wheel-degrees", deg = signed(l[s.teeth.1] - l[s.teeth.0], 3));
                std::iter::once(s.cylinders.clone()).chain(there.iter().map(|(_, l)| by(l))).collect()
            })
            .collect();
        style::wide_table(ui, "sectors", &heads, &rows);
    }
    if let Some(truth) = &shown.view.first.truth {
        ui.label(say!("wheel-off", deg = number(truth.wheel_off_deg, 3)));
    }
    ui.add_space(4.0);
    let watched = shown.view.first.seen.live.misfire_watched;
    ui.label(say(if watched { "wheel-misfires-watched" } else { "wheel-misfires-not-watched" }));
    if !shown.view.lid_open {
        style::soft(ui, &say("wheel-lid-on"));
    }
    if let Some(r) = shown.view.first.seen.readings.iter().find(|r| r.tool == SCOPE) {
        ui.add_space(6.0);
        let at = clock(r.at_s - shown.view.hand_over_s);
        let words = say!("window-at", time = at, what = crate::words::readings::reading(r));
        ui.label(RichText::new(words).size(15.0).color(t.meas));
    }
    if !there.is_empty() {
        egui::CollapsingHeader::new(say("wheel-tooth-by-tooth")).show(ui, |ui| {
            let (heads, rows) = numbers(teeth);
            let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
            style::table(ui, "teeth", &heads, &rows);
        });
    }
    out
}
