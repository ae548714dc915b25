//! The drawing board in the middle: the viewpoint from which the engine is seen, the labels beside it, and picking
//! parts with the pointer.
//!
//! *Inside*: orbit, zoom and named views; labels on leader lines; picking. *Outside*: the engine itself
//! ([`super::engine`]), the panels round it ([`idlewright::window::panels`]).
#![expect(clippy::disallowed_methods, reason = "angles of a drawing: nothing simulated sees them")]

use super::engine::{Anchors, Part, tooth_at_sensor};
use bevy::camera::primitives::Aabb;
use bevy::prelude::*;
use bevy_egui::egui;
use egui::{Align2, Pos2, Sense, Stroke, WidgetInfo, WidgetType, pos2, vec2};
use idlewright::bench::view::EngineView;
use idlewright::session::live::Side;
use idlewright::window::panels::settings::Settings;
use idlewright::window::panels::style::{self, Palette};
use idlewright::window::panels::{Framing, PanelState, part};
use idlewright::words::numbers::number;
use idlewright::words::{message_of, say, say_with};

/// Vertical field of view \[rad\]: narrow, as in a technical drawing.
const FIELD: f32 = 0.42;
/// Duration of a change of view \[s\].
const TURN_S: f32 = 0.35;

/// Share of the width that the engine takes up: labels are placed on both sides of it.
const BETWEEN_LABELS: f32 = 0.76;
/// Share of the height that it takes up.
const FILLED: f32 = 0.97;

/// The camera place that shows all of these corners from one side; `halves` are the tangents of the half angles of
/// view.
fn framed(corners: &[Vec3], (round, up): (f32, f32), halves: egui::Vec2) -> Place {
    let mut p = Place { round, up, away: 14.0, at: Vec3::ZERO };
    if corners.is_empty() {
        return p;
    }
    let view = p.transform();
    let (right, over, back) = (*view.right(), *view.up(), *view.back());
    p.at = corners.iter().sum::<Vec3>() / corners.len() as f32;
    // nearer things look larger: a few rounds until middle and size agree
    for _ in 0..24 {
        let (mut low, mut high) = (Vec2::MAX, Vec2::MIN);
        for c in corners {
            let v = *c - p.at;
            let seen = Vec2::new(v.dot(right), v.dot(over)) / (p.away - v.dot(back)).max(0.1);
            (low, high) = (low.min(seen), high.max(seen));
        }
        let middle = (low + high) / 2.0;
        let half = (high - low) / 2.0;
        p.at += (right * middle.x + over * middle.y) * p.away;
        p.away *= (half.x / halves.x).max(half.y / halves.y).clamp(0.5, 2.0);
    }
    p
}

/// The viewpoint from which the engine is seen.
#[derive(Resource, Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    now: Place,
    goal: Place,
    /// A hand has turned it since the last named view.
    turned: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    /// Azimuth about the upright axis, from the front towards the wheel's end \[rad\].
    round: f32,
    /// Elevation above the horizon \[rad\].
    up: f32,
    away: f32,
    at: Vec3,
}

impl Place {
    fn transform(&self) -> Transform {
        let way =
            Vec3::new(self.round.sin() * self.up.cos(), self.up.sin(), self.round.cos() * self.up.cos());
        Transform::from_translation(self.at + way * self.away).looking_at(self.at, Vec3::Y)
    }
}

impl Default for Eye {
    fn default() -> Self {
        let p = Place { round: 0.52, up: 0.20, away: 14.0, at: Vec3::new(0.0, 1.4, 0.0) };
        Self { now: p, goal: p, turned: false }
    }
}

impl Eye {
    /// Goes to a named view, at once or in a smooth turn.
    pub fn look(&mut self, look: Framing, a: &Anchors, aspect: f32, at_once: bool) {
        let tan = (FIELD / 2.0).tan();
        let fit = |w: f32, h: f32| (h.max(w / aspect.max(0.3)) * 1.05) / tan;
        self.goal = match look {
            Framing::Whole => {
                let up = if a.v { 0.30 } else { 0.20 };
                framed(&a.corners, (0.52, up), vec2(tan * aspect.max(0.3) * BETWEEN_LABELS, tan * FILLED))
            }
            Framing::Cylinders => {
                let n = a.cylinders.len().max(1) as f32;
                let middle = a.cylinders.iter().sum::<Vec3>() / n;
                let at = Vec3::new(middle.x, middle.y - 1.25, 0.0);
                let wide = a.cylinders.iter().map(|c| (c.x - middle.x).abs()).fold(0.0, f32::max);
                Place { round: 0.12, up: 0.12, away: fit((wide + 1.0) / BETWEEN_LABELS, 1.55), at }
            }
            Framing::Throttle => Place { round: -0.25, up: 0.22, away: fit(1.2, 0.9), at: a.throttle },
            Framing::Wheel => {
                Place { round: 1.05, up: 0.16, away: fit(1.1, 1.1), at: Vec3::new(a.wheel.x, 0.15, 0.1) }
            }
        };
        self.turned = false;
        if at_once {
            self.now = self.goal;
        }
    }
    /// Moves one step towards the goal.
    pub fn step(&mut self, seconds: f32, reduced_motion: bool) {
        let k = if reduced_motion { 1.0 } else { 1.0 - (-4.0 * seconds / TURN_S).exp() };
        let (n, g) = (&mut self.now, self.goal);
        n.round += (g.round - n.round) * k;
        n.up += (g.up - n.up) * k;
        n.away += (g.away - n.away) * k;
        n.at = n.at.lerp(g.at, k);
        if (n.away - g.away).abs() + (n.round - g.round).abs() + (n.up - g.up).abs() < 1e-3 {
            *n = g;
        }
    }
    /// True when a hand has turned or zoomed the view since the last named view.
    pub fn is_turned(&self) -> bool {
        self.turned
    }
    /// True while the view is still turning.
    pub fn moves(&self) -> bool {
        self.now != self.goal
    }
    /// The camera's transform.
    pub fn transform(&self) -> Transform {
        self.now.transform()
    }
    /// The camera's projection.
    pub fn lens() -> Projection {
        Projection::Perspective(PerspectiveProjection {
            fov: FIELD,
            near: 0.5,
            far: 80.0,
            ..PerspectiveProjection::default()
        })
    }
    fn orbit(&mut self, dx: f32, dy: f32) {
        self.turned = true;
        self.goal.round -= dx * 0.008;
        self.goal.up = (self.goal.up + dy * 0.008).clamp(-0.5, 1.45);
        (self.now.round, self.now.up) = (self.goal.round, self.goal.up);
    }
    fn zoom(&mut self, by: f32) {
        self.turned = true;
        self.goal.away = (self.goal.away * (-by).exp()).clamp(2.5, 45.0);
        self.now.away = self.goal.away;
    }
}

/// The camera's mapping from a point in the world to a point on the screen.
#[derive(Clone, Copy)]
pub struct Lens<'a> {
    /// Camera.
    pub camera: &'a Camera,
    /// Its place in the world.
    pub place: &'a GlobalTransform,
    /// The area in which it draws, in points.
    pub rect: egui::Rect,
}

impl Lens<'_> {
    fn on_screen(&self, p: Vec3) -> Option<Pos2> {
        let n = self.camera.world_to_ndc(self.place, p)?;
        let r = self.rect;
        Some(pos2(r.left() + (n.x + 1.0) / 2.0 * r.width(), r.top() + (1.0 - n.y) / 2.0 * r.height()))
    }
    fn ray(&self, at: Pos2) -> Option<(Vec3, Vec3)> {
        let r = self.rect;
        let x = (at.x - r.left()) / r.width() * 2.0 - 1.0;
        let y = 1.0 - (at.y - r.top()) / r.height() * 2.0;
        let far = self.camera.ndc_to_world(self.place, Vec3::new(x, y, 0.01))?;
        let from = self.place.translation();
        Some((from, (far - from).normalize_or_zero()))
    }
}

/// Handles the pointer and the keys that turn the view; returns the name of the part under the pointer.
pub fn hands(
    ctx: &egui::Context,
    lens: &Lens<'_>,
    eye: &mut Eye,
    parts: &Query<'_, '_, (&Part, &GlobalTransform, &Aabb)>,
    spoken: &str,
) -> Option<(String, bool)> {
    let ui = egui::Ui::new(
        ctx.clone(),
        egui::Id::new("board"),
        egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(lens.rect),
    );
    let id = egui::Id::new("the engine");
    let r = ui.interact(lens.rect, id, Sense::click_and_drag());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, spoken));
    if r.dragged() {
        let d = r.drag_delta();
        eye.orbit(d.x, d.y);
    }
    if r.hovered() {
        let by = ctx.input(|i| i.smooth_scroll_delta().y);
        if by != 0.0 {
            eye.zoom(by * 0.002);
        }
    }
    if r.has_focus() {
        let filter = egui::EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..egui::EventFilter::default()
        };
        ctx.memory_mut(|m| m.set_focus_lock_filter(id, filter));
        let key = |k: egui::Key| if ctx.input(|i| i.key_down(k)) { 6.0 } else { 0.0 };
        let dx = key(egui::Key::ArrowRight) - key(egui::Key::ArrowLeft);
        let dy = key(egui::Key::ArrowUp) - key(egui::Key::ArrowDown);
        if dx != 0.0 || dy != 0.0 {
            eye.orbit(dx, dy);
        }
        let near = key(egui::Key::PageUp) - key(egui::Key::PageDown);
        if near != 0.0 {
            eye.zoom(near * 0.004);
        }
        let t = Palette::of(&ui);
        ui.painter().rect_stroke(
            lens.rect.shrink(2.0),
            4.0,
            Stroke::new(2.0, t.accent),
            egui::StrokeKind::Inside,
        );
    }
    let at = r.hover_pos()?;
    let name = pointed_at(lens.ray(at)?, parts)?;
    if r.hovered() && !r.dragged() {
        ctx.set_cursor_icon(egui::CursorIcon::PointingHand);
    }
    Some((name, r.clicked()))
}

/// The nearest part that a ray hits.
fn pointed_at(
    (from, way): (Vec3, Vec3),
    parts: &Query<'_, '_, (&Part, &GlobalTransform, &Aabb)>,
) -> Option<String> {
    let mut best: Option<(f32, &str)> = None;
    for (part, place, round) in parts.iter() {
        let back = place.affine().inverse();
        let (o, d) = (back.transform_point3(from), back.transform_vector3(way));
        let (c, h) = (Vec3::from(round.center), Vec3::from(round.half_extents));
        if let Some(t) = slab(o, d, c - h, c + h)
            && best.is_none_or(|(b, _)| t < b)
        {
            best = Some((t, &part.0));
        }
    }
    best.map(|(_, name)| name.to_owned())
}

/// Distance along a ray to where it enters a box.
fn slab(o: Vec3, d: Vec3, low: Vec3, high: Vec3) -> Option<f32> {
    let (mut from, mut to) = (0.0_f32, f32::MAX);
    for k in 0..3 {
        if d[k].abs() < 1e-9 {
            if o[k] < low[k] || o[k] > high[k] {
                return None;
            }
            continue;
        }
        let (a, b) = ((low[k] - o[k]) / d[k], (high[k] - o[k]) / d[k]);
        from = from.max(a.min(b));
        to = to.min(a.max(b));
    }
    (from <= to).then_some(from)
}

/// A label: name, value, end of its leader line, measured or true.
struct Label {
    name: String,
    value: String,
    at: Pos2,
    truth: bool,
}

/// Writes labels with their leader lines, and the cylinders' numbers.
pub fn labels(
    ctx: &egui::Context,
    lens: &Lens<'_>,
    a: &Anchors,
    side: &Side,
    settings: &Settings,
    (pace_slow, afar): (bool, bool),
) {
    let k = if afar { 1.6 } else { 1.0 };
    let t = Palette::of_ctx(ctx);
    let p = ctx.layer_painter(egui::LayerId::background()).with_clip_rect(lens.rect);
    let v: &EngineView = &side.engine;
    let live = &side.seen.live;
    for (c, top) in a.cylinders.iter().enumerate() {
        if let Some(at) = lens.on_screen(*top) {
            let at = at - vec2(0.0, 16.0);
            p.circle_filled(at, 12.0, t.bg);
            p.text(at, Align2::CENTER_CENTER, c + 1, style::bold_font(18.0), t.ink);
        }
    }
    let mut all: Vec<Label> = Vec::new();
    let mut add = |name: String, value: String, at: Vec3, truth: bool| {
        if let Some(at) = lens.on_screen(at).filter(|at| lens.rect.expand(40.0).contains(*at)) {
            all.push(Label { name, value, at, truth });
        }
    };
    // a module that does not answer reports no measurements
    let answers = side.seen.answers;
    let of = |x: f64, unit: &str| {
        if answers { settings.units.value(x, unit) } else { say("tacho-none") }
    };
    if v.shape.metered {
        add(say("drawing-air"), of(live.air_g_s, "g/s"), a.air, false);
    } else {
        add(say("drawing-air-worked-out"), of(live.air_by_pressure_g_s, "g/s"), a.air, false);
    }
    add(say("drawing-throttle"), of(live.throttle_deg, "°"), a.throttle, false);
    add(say("drawing-manifold"), of(live.map_kpa, "kPa"), a.manifold, false);
    for (bank, at) in a.lambda.iter().enumerate() {
        let lambda = if bank == 0 { live.lambda } else { live.lambda_bank2 };
        let name = match a.lambda.len() {
            1 => say("drawing-lambda"),
            _ => say_with("drawing-lambda-bank", &[("bank", (bank + 1).into())]),
        };
        let value = match () {
            () if !answers => say("tacho-none"),
            () if lambda > 0.0 => number(lambda, 2),
            () => say("drawing-lambda-cold"),
        };
        add(name, value, *at, false);
    }
    add(say("drawing-speed"), of(live.engine_speed_rpm, "rpm"), a.wheel, false);
    add(say("drawing-coolant"), of(live.coolant_c, "°C"), a.coolant, false);
    add(say("drawing-supply"), of(live.supply_v, "V"), a.battery, false);
    if pace_slow {
        let tooth = tooth_at_sensor(&v.shape, v.crank_deg)
            .map_or_else(|| say("drawing-tooth-gap"), |k| format!("{k}"));
        add(say("drawing-tooth"), tooth, a.wheel, false);
    }
    if let Some(truth) = &side.truth {
        add(say("drawing-deposit"), of(truth.deposit_um, "µm"), a.throttle, true);
    }
    // labels do not run into the legend's line
    let above = lens.rect.with_max_y(lens.rect.bottom() - 24.0 * k);
    place(&p, above, all, &t, k);
    legend(&p, lens.rect, side.gas.is_some(), &t, k);
}

/// The key to the gas colours, in the lower left corner, where the engine leaves space: colours by stroke, or by the
/// gas itself where truth is shown.
fn legend(p: &egui::Painter, rect: egui::Rect, truth: bool, t: &Palette, k: f32) {
    let all = if truth {
        [(t.air, "drawing-gas-fresh"), (t.hot, "drawing-gas-hot"), (t.gas, "drawing-gas-burnt")]
    } else {
        [(t.air, "drawing-gas-intake"), (t.hot, "drawing-gas-power"), (t.gas, "drawing-gas-exhaust")]
    };
    let laid = all.map(|(colour, id)| {
        (colour, p.layout_no_wrap(say(id), egui::FontId::proportional(14.0 * k), t.soft))
    });
    let side = 14.0 * k;
    let mut x = rect.left() + 10.0;
    let y = rect.bottom() - side;
    for (colour, words) in laid {
        let swatch = egui::Rect::from_min_size(pos2(x, y - side / 2.0), vec2(side, side));
        p.rect(swatch, 2.0, colour, Stroke::new(1.0, t.edge), egui::StrokeKind::Inside);
        let at = pos2(x + side + 6.0, y - words.size().y / 2.0);
        x = at.x + words.size().x + 18.0;
        p.rect_filled(egui::Rect::from_min_size(at, words.size()).expand(2.0), 2.0, t.bg);
        p.galley(at, words, t.soft);
    }
}

/// Places labels in a column on each side, in the order of the points that they lead to.
fn place(p: &egui::Painter, rect: egui::Rect, all: Vec<Label>, t: &Palette, size: f32) {
    let middle = rect.center().x;
    let (mut left, mut right): (Vec<Label>, Vec<Label>) = all.into_iter().partition(|l| l.at.x < middle);
    for (side, is_left) in [(&mut left, true), (&mut right, false)] {
        side.sort_by(|a, b| a.at.y.total_cmp(&b.at.y));
        let n = side.len() as f32;
        // letters that a low picture has no space for become smaller, before labels lie on the legend
        let size = size.min(((rect.height() - 14.0) / (46.0 * n.max(1.0))).max(0.85));
        let high = 46.0 * size;
        let mut y = rect.top() + 6.0;
        for (k, l) in side.iter().enumerate() {
            let last = rect.bottom() - 8.0 - high * (n - k as f32);
            let top = (l.at.y - high / 2.0).clamp(y, last.max(y));
            y = top + high;
            label(p, rect, l, (top, size), is_left, t);
        }
    }
}

fn label(
    p: &egui::Painter,
    rect: egui::Rect,
    l: &Label,
    (top, size): (f32, f32),
    is_left: bool,
    t: &Palette,
) {
    let colour = if l.truth { t.ink } else { t.meas };
    let font = if l.truth { style::bold_font(17.0 * size) } else { style::mono_font(17.0 * size) };
    let name = p.layout_no_wrap(l.name.clone(), egui::FontId::proportional(14.0 * size), t.soft);
    let value = p.layout_no_wrap(l.value.clone(), font, colour);
    let wide = name.size().x.max(value.size().x).max(64.0);
    let x = if is_left { rect.left() + 10.0 } else { rect.right() - 10.0 - wide };
    let line_y = top + 20.0 * size;
    let near = if is_left { x + wide } else { x };
    let line = Stroke::new(if l.truth { 2.0 } else { 1.0 }, t.edge);
    p.line_segment([pos2(x, line_y), pos2(x + wide, line_y)], line);
    p.line_segment([pos2(near, line_y), l.at], line);
    p.circle_filled(l.at, 3.0, t.edge);
    let back = |r: egui::Rect| p.rect_filled(r.expand(2.0), 2.0, t.bg);
    let name_at = pos2(x, line_y - name.size().y - 1.0);
    back(egui::Rect::from_min_size(name_at, name.size()));
    p.galley(name_at, name, t.soft);
    let value_at = pos2(x, line_y + 2.0);
    back(egui::Rect::from_min_size(value_at, value.size()));
    p.galley(value_at, value, colour);
}

/// Names the part under the pointer beside it.
pub fn tell(ctx: &egui::Context, name: &str) {
    let t = Palette::of_ctx(ctx);
    let Some(at) = ctx.pointer_hover_pos() else { return };
    let p = ctx.layer_painter(egui::LayerId::background());
    let words = words(name);
    let galley = p.layout_no_wrap(words, egui::FontId::proportional(15.0), t.text);
    let r = egui::Rect::from_min_size(at + vec2(16.0, 14.0), galley.size());
    p.rect(r.expand(5.0), 3.0, t.panel, Stroke::new(1.0, t.line), egui::StrokeKind::Outside);
    p.galley(r.min, galley, t.text);
}

/// A drawn part's name for people, with its number if there are several.
fn words(name: &str) -> String {
    match name.rsplit_once('_').and_then(|(base, n)| Some((base, n.parse::<u8>().ok()?))) {
        Some((base, n)) => say_with(&message_of("drawn", base), &[("n", n.into())]),
        None => say(&message_of("drawn", name)),
    }
}

/// Opens a part's card, if it has one.
pub fn open(state: &mut PanelState, name: &str) {
    if part::of(name).is_some() {
        state.open_part(name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_a_ray_meets_a_box_where_it_begins() {
        let (low, high) = (Vec3::splat(-1.0), Vec3::ONE);
        assert_eq!(slab(Vec3::new(0.0, 0.0, 5.0), -Vec3::Z, low, high), Some(4.0));
        assert_eq!(slab(Vec3::new(2.0, 0.0, 5.0), -Vec3::Z, low, high), None);
        assert_eq!(slab(Vec3::new(0.0, 0.0, 5.0), Vec3::Z, low, high), None, "behind");
    }

    #[test]
    fn holds_a_whole_engine_is_in_its_frame() {
        let corners: Vec<Vec3> = (0..8)
            .map(|k: i32| Vec3::new((k & 1) as f32 * 6.0, (k & 2) as f32 * 2.0, (k & 4) as f32 * 0.7))
            .collect();
        let halves = vec2(0.3, 0.2);
        let place = framed(&corners, (0.52, 0.3), halves);
        let back = place.transform().to_matrix().inverse();
        let seen: Vec<Vec2> = corners
            .iter()
            .map(|c| back.transform_point3(*c))
            .map(|v| Vec2::new(v.x / -v.z / halves.x, v.y / -v.z / halves.y))
            .collect();
        let most = seen.iter().map(|s| s.x.abs().max(s.y.abs())).fold(0.0, f32::max);
        assert!((most - 1.0).abs() < 0.01, "the furthest corner touches the frame: {most}");
    }

    #[test]
    fn holds_names_read_well() {
        assert_eq!(words("throttle_body"), "Throttle body");
        assert_eq!(words("injector_2"), "Injector 2");
    }
}
