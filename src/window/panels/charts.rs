//! Charts to keep: any drawing as it appears on the screen, saved as a vector picture and as numbers.
//!
//! *Inside*: the button beside a chart, turning what was painted into SVG, the sheet with the chart's table and the
//! folder for its files. *Outside*: drawing a chart; writing a file (the window calls [`write()`]).
//!
//! A picture is made from the shapes that were painted, so it can show nothing that the screen did not: belief
//! dashed, measurement thin, truth bold, and truth under an open lid only.

use super::{Front, PanelState, Save, Shown, Wish, sheet, style};
use crate::report;
use crate::words::numbers::number;
use crate::words::say;
use egui::epaint::{ClippedShape, ColorMode, PathShape, RectShape, TextShape};
use egui::{Color32, Context, FontFamily, Rect, Shape, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType};
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Most rows of a chart's numbers that the sheet shows; the file holds all of them.
const MOST_ROWS: usize = 60;

/// A chart that somebody wants to keep.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Kept {
    /// Its title.
    pub title: String,
    /// Name of its files, without the extension.
    pub name: &'static str,
    /// The picture.
    pub svg: String,
    /// Column headings of its numbers.
    pub heads: Vec<String>,
    /// Its numbers.
    pub rows: Vec<Vec<String>>,
}

impl Kept {
    /// The numbers as comma-separated rows.
    pub fn csv(&self) -> String {
        // a true minus sign and the language's own decimal sign are for people, not for programs
        let point = number(0.5, 1).chars().nth(1).unwrap_or('.');
        let cell = |c: &String| {
            let c = c.replace('\u{2212}', "-");
            let is_number = c.starts_with(|d: char| d.is_ascii_digit() || d == '-' || d == '+');
            if is_number { c.replacen(point, ".", 1) } else { c }
        };
        report::csv_text(&self.heads, self.rows.iter().map(|row| row.iter().map(cell).collect()))
    }
}

/// State of the charts that are being kept.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ChartsState {
    /// The chart that is being kept.
    pub kept: Option<Kept>,
    /// The wish to grant once the sheet is no longer drawn, and the number of rounds until then.
    pub later: Option<(u8, Wish)>,
}

/// A chart's numbers: heads and rows.
pub type Numbers = (Vec<String>, Vec<Vec<String>>);

/// How many shapes have been painted so far: the index at which a chart begins.
pub fn begin(ui: &Ui) -> usize {
    let layer = ui.layer_id();
    ui.ctx().graphics(|g| g.get(layer).map_or(0, |l| l.all_entries().len()))
}

/// The button that keeps a chart; true when it was pressed.
pub fn button(ui: &mut Ui, title: &str) -> bool {
    let button = egui::Button::new(say("charts-save")).small();
    let r = ui.add(button).on_hover_text(say!("charts-save-what", what = title));
    let spoken = say!("charts-save-spoken", what = title);
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), &spoken));
    r.clicked()
}

/// What was painted into a rectangle of this layer since index `from`, as SVG.
pub fn picture(ui: &Ui, title: &str, rect: Rect, from: usize, lid_open: bool) -> String {
    let layer = ui.layer_id();
    let shapes: Vec<ClippedShape> = ui
        .ctx()
        .graphics(|g| g.get(layer).map_or_else(Vec::new, |l| l.all_entries().skip(from).cloned().collect()));
    svg(title, rect, &style::Palette::of(ui), &shapes, lid_open)
}

// ---------------------------------------------------------------------------------------------------
// Shapes as SVG
// ---------------------------------------------------------------------------------------------------

/// A colour as an attribute's value, with its opacity.
fn colour(c: Color32) -> (String, f32) {
    let [r, g, b, a] = c.to_srgba_unmultiplied();
    (format!("#{r:02X}{g:02X}{b:02X}"), f32::from(a) / 255.0)
}

fn fill(c: Color32) -> String {
    let (hex, covers) = colour(c);
    match covers {
        0.0 => " fill=\"none\"".into(),
        x if x < 1.0 => format!(" fill=\"{hex}\" fill-opacity=\"{x:.2}\""),
        _ => format!(" fill=\"{hex}\""),
    }
}

fn stroke(width: f32, c: Color32) -> String {
    let (hex, covers) = colour(c);
    if width <= 0.0 || covers == 0.0 {
        return String::new();
    }
    let covers = if covers < 1.0 { format!(" stroke-opacity=\"{covers:.2}\"") } else { String::new() };
    format!(" stroke=\"{hex}\" stroke-width=\"{width:.1}\"{covers}")
}

fn line_of(s: &Stroke) -> String {
    stroke(s.width, s.color)
}

/// Space above a chart for its title, and below it for the key to its lines.
const BANDS: (f32, f32) = (34.0, 28.0);

/// Painted shapes as a picture of their own, with a title and a key to the lines.
pub fn svg(title: &str, rect: Rect, t: &style::Palette, shapes: &[ClippedShape], lid_open: bool) -> String {
    let (w, h) = (rect.width().max(360.0), rect.height().max(1.0) + BANDS.0 + BANDS.1);
    let (left, top) = (rect.left(), rect.top() - BANDS.0);
    let means = report::escaped(&say(if lid_open { "charts-means-with-truth" } else { "charts-means" }));
    let mut o = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{left:.1} {top:.1} {w:.1} {h:.1}\" width=\"{w:.0}\" height=\"{h:.0}\" \
         role=\"img\" aria-label=\"{t}\" font-family=\"'Atkinson Hyperlegible Next', sans-serif\">\n<title>{t}</title>\n\
         <rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{w:.1}\" height=\"{h:.1}\"{}/>\n\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"17\" font-weight=\"700\"{}>{t}</text>\n\
         <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"13\"{}>{means}</text>\n",
        fill(t.bg),
        top + 23.0,
        fill(t.ink),
        top + h - 9.0,
        fill(t.soft),
        t = report::escaped(title),
        x = left + 8.0,
    );
    let mut clips: Vec<Rect> = Vec::new();
    let mut open = None;
    for s in shapes {
        let clip = s.clip_rect.intersect(rect);
        let bounds = s.shape.visual_bounding_rect();
        if !clip.is_positive() || !bounds.intersects(clip) {
            continue;
        }
        let k = clips.iter().position(|c| *c == clip).unwrap_or_else(|| {
            clips.push(clip);
            let k = clips.len() - 1;
            if open.take().is_some() {
                o.push_str("</g>\n");
            }
            let _ = writeln!(
                o,
                "<clipPath id=\"c{k}\"><rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/></clipPath>",
                clip.left(),
                clip.top(),
                clip.width(),
                clip.height()
            );
            k
        });
        if open != Some(k) {
            if open.is_some() {
                o.push_str("</g>\n");
            }
            let _ = writeln!(o, "<g clip-path=\"url(#c{k})\">");
            open = Some(k);
        }
        put(&mut o, &s.shape);
    }
    if open.is_some() {
        o.push_str("</g>\n");
    }
    o + "</svg>\n"
}

fn put(o: &mut String, shape: &Shape) {
    match shape {
        Shape::Vec(all) => all.iter().for_each(|s| put(o, s)),
        Shape::Circle(c) => {
            let _ = writeln!(
                o,
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\"{}{}/>",
                c.center.x,
                c.center.y,
                c.radius,
                fill(c.fill),
                line_of(&c.stroke)
            );
        }
        Shape::LineSegment { points: [a, b], stroke } => {
            let _ =
                writeln!(o, "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\"{}/>", a.x, a.y, b.x, b.y, line_of(stroke));
        }
        Shape::Path(p) => path(o, p),
        Shape::Rect(r) => rectangle(o, r),
        Shape::Text(t) => text(o, t),
        // no chart contains any of these
        Shape::Noop
        | Shape::Ellipse(_)
        | Shape::Mesh(_)
        | Shape::QuadraticBezier(_)
        | Shape::CubicBezier(_)
        | Shape::Callback(_) => {}
    }
}

fn path(o: &mut String, p: &PathShape) {
    let d: Vec<String> = p.points.iter().map(|p| format!("{:.1} {:.1}", p.x, p.y)).collect();
    let ink = match &p.stroke.color {
        ColorMode::Solid(c) => *c,
        ColorMode::UV(_) => Color32::TRANSPARENT,
    };
    let _ = writeln!(
        o,
        "<path d=\"M{}{}\" stroke-linejoin=\"round\"{}{}/>",
        d.join("L"),
        if p.closed { "Z" } else { "" },
        fill(p.fill),
        stroke(p.stroke.width, ink)
    );
}

fn rectangle(o: &mut String, r: &RectShape) {
    let half = 0.5 * r.stroke.width;
    let at = match r.stroke_kind {
        _ if r.stroke.is_empty() => r.rect,
        StrokeKind::Inside => r.rect.shrink(half),
        StrokeKind::Outside => r.rect.expand(half),
        StrokeKind::Middle => r.rect,
    };
    let _ = writeln!(
        o,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" rx=\"{}\"{}{}/>",
        at.left(),
        at.top(),
        at.width().max(0.0),
        at.height().max(0.0),
        r.corner_radius.nw,
        fill(r.fill),
        line_of(&r.stroke)
    );
}

fn text(o: &mut String, t: &TextShape) {
    let Some(section) = t.galley.job.sections.first() else { return };
    let font = &section.format.font_id;
    let of_text = section.format.color;
    let ink = t.override_text_color.unwrap_or(if of_text == Color32::PLACEHOLDER {
        t.fallback_color
    } else {
        of_text
    });
    let (family, weight) = match &font.family {
        FontFamily::Monospace => (" font-family=\"'Atkinson Hyperlegible Mono', monospace\"", ""),
        FontFamily::Name(n) if n.contains("mono") => {
            (" font-family=\"'Atkinson Hyperlegible Mono', monospace\"", " font-weight=\"700\"")
        }
        FontFamily::Name(_) => ("", " font-weight=\"700\""),
        FontFamily::Proportional => ("", ""),
    };
    for row in &t.galley.rows {
        let Some(first) = row.row.glyphs.first() else { continue };
        let words: String = row.row.glyphs.iter().map(|g| g.chr).collect();
        if words.trim().is_empty() {
            continue;
        }
        let at = t.pos + row.pos.to_vec2() + first.pos.to_vec2();
        // a rotated axis title turns about the point where its text begins
        let turned = if t.angle == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({:.1} {:.1} {:.1})\"", t.angle.to_degrees(), t.pos.x, t.pos.y)
        };
        let _ = writeln!(
            o,
            "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{:.1}\" xml:space=\"preserve\"{family}{weight}{}{turned}>{}</text>",
            at.x,
            at.y,
            font.size,
            fill(ink),
            report::escaped(&words)
        );
    }
}

// ---------------------------------------------------------------------------------------------------
// Keeping
// ---------------------------------------------------------------------------------------------------

/// The sheet: the chart's numbers, and where its files go.
pub fn modal(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    let Some(kept) = state.charts.kept.clone() else {
        state.front = Front::None;
        return Vec::new();
    };
    let mut front = state.front.clone();
    let title = say!("charts-keep", chart = kept.title.as_str());
    let out = sheet(ctx, "keep", &title, &mut front, 720.0, |ui, front: &mut Front| {
        let mut out = Vec::new();
        ui.horizontal_wrapped(|ui| {
            ui.label(say("charts-into-folder"));
            ui.add(egui::TextEdit::singleline(&mut state.files.folder).desired_width(420.0));
        });
        let folder = PathBuf::from(state.files.folder.trim());
        let good = !folder.as_os_str().is_empty();
        ui.horizontal_wrapped(|ui| {
            let all =
                [("charts-save-picture", "svg", &kept.svg), ("charts-save-numbers", "csv", &kept.csv())];
            for (words, ending, text) in all {
                if ui.add_enabled(good, egui::Button::new(style::bold(&say(words)))).clicked() {
                    let name = format!("{}.{ending}", kept.name);
                    out.push(Wish::Keep { folder: folder.clone(), name, text: text.clone() });
                }
            }
            let whole = ui.add_enabled(good, egui::Button::new(say("charts-save-window")));
            if whole.on_hover_text(say("charts-sheet-goes-first")).clicked() {
                state.charts.later = Some((2, Wish::Save(Save::Picture, folder.clone())));
                *front = Front::None;
            }
        });
        if let Some(told) = shown.told {
            style::soft(ui, told);
        }
        ui.add_space(8.0);
        let n = kept.rows.len();
        if n > MOST_ROWS {
            style::soft(ui, &say!("charts-some-rows", shown = MOST_ROWS, all = n));
        }
        let every = n.div_ceil(MOST_ROWS).max(1);
        let rows: Vec<Vec<String>> = kept.rows.iter().step_by(every).cloned().collect();
        let heads: Vec<&str> = kept.heads.iter().map(String::as_str).collect();
        style::wide_table(ui, "kept", &heads, &rows);
        out
    });
    if front != Front::Keep {
        state.charts.kept = None;
    }
    state.front = front;
    out
}

/// The wish that is due now that the sheet is no longer drawn.
pub fn later(ctx: &Context, state: &mut PanelState) -> Option<Wish> {
    let (rounds, wish) = state.charts.later.take()?;
    if rounds == 0 {
        return Some(wish);
    }
    state.charts.later = Some((rounds - 1, wish));
    ctx.request_repaint();
    None
}

/// The path of a file with that name in a folder, with a number appended if the name is taken: no file that somebody
/// kept is overwritten.
pub fn free(folder: &Path, name: &str) -> PathBuf {
    let (stem, end) = name.rsplit_once('.').unwrap_or((name, ""));
    let numbered = (2..).map(|k| folder.join(format!("{stem}-{k}.{end}")));
    let mut all = std::iter::once(folder.join(name)).chain(numbered);
    all.find(|f| !f.exists()).unwrap_or_else(|| folder.join(name))
}

/// Writes a temporary file and renames it, so that no half-written file is left; returns the result in words.
#[expect(clippy::disallowed_methods, reason = "what somebody wanted to keep of the window")]
pub fn write(folder: &Path, name: &str, text: &str) -> String {
    let file = free(folder, name);
    let part = folder.join(format!(".{name}.{}.part", std::process::id()));
    let done = std::fs::create_dir_all(folder)
        .and_then(|()| std::fs::write(&part, text))
        .and_then(|()| std::fs::rename(&part, &file));
    match done {
        Ok(()) => say!("charts-written", file = file.display().to_string()),
        Err(e) => {
            let _ = std::fs::remove_file(&part);
            say!("charts-not-written", file = file.display().to_string(), why = e.to_string())
        }
    }
}
