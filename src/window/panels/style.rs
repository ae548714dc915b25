//! Colours, type and the small drawings that all panels share.
//!
//! What the module believes is pencil: dashed, hatched. What is measured is a thin line. What is true is ink: bold,
//! and drawn under an open lid only. The kind of a line therefore shows in the line itself, and colour only helps.

use super::settings::{Settings, Theme};
use crate::words::glossary::{Word, found};
use crate::words::say;
use egui::text::LayoutJob;
use egui::{
    Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Pos2, Rect, Response,
    RichText, Sense, Shape, Stroke, StrokeKind, TextStyle, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2,
};
use std::sync::Arc;

/// The colours of one theme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Background: the drawing board.
    pub bg: Color32,
    /// Panels: paper.
    pub panel: Color32,
    /// Truth, titles, outlines of the engine.
    pub ink: Color32,
    /// Words.
    pub text: Color32,
    /// Secondary words.
    pub soft: Color32,
    /// Belief.
    pub pencil: Color32,
    /// Measurement.
    pub meas: Color32,
    /// Things that need attention: shut gates, codes, cautions.
    pub accent: Color32,
    /// Open gates.
    pub ok: Color32,
    /// Fuel.
    pub fuel: Color32,
    /// Hot gas.
    pub hot: Color32,
    /// Burnt gas.
    pub gas: Color32,
    /// Air.
    pub air: Color32,
    /// Rules.
    pub line: Color32,
    /// Outlines.
    pub edge: Color32,
    /// Fills of metal.
    pub metal: Color32,
    /// Veil over everything behind a sheet.
    pub veil: Color32,
}

const fn hex(c: u32) -> Color32 {
    Color32::from_rgb((c >> 16) as u8, (c >> 8) as u8, c as u8)
}

impl Palette {
    /// On the drawing board.
    pub const BOARD: Palette = Palette {
        bg: hex(0x00F3_F0E8),
        panel: hex(0x00FB_F9F4),
        ink: hex(0x0014_181C),
        text: hex(0x0022_272D),
        soft: hex(0x0056_5E67),
        pencil: hex(0x003F_5278),
        meas: hex(0x001F_6B66),
        accent: hex(0x00A8_3A14),
        ok: hex(0x002C_6A38),
        fuel: hex(0x008A_6414),
        hot: hex(0x00E7_B38F),
        gas: hex(0x00EB_DDB8),
        air: hex(0x00DC_E6EA),
        line: hex(0x00CF_C8B8),
        edge: hex(0x006C_7278),
        metal: hex(0x00D9_D9D4),
        veil: Color32::from_black_alpha(70),
    };
    /// In the night bay.
    pub const NIGHT: Palette = Palette {
        bg: hex(0x0013_171B),
        panel: hex(0x001A_1F25),
        ink: hex(0x00FF_FDF6),
        text: hex(0x00E6_E3DA),
        soft: hex(0x00A3_ACB6),
        pencil: hex(0x00A9_BEE8),
        meas: hex(0x0072_CDC4),
        accent: hex(0x00FF_9368),
        ok: hex(0x0083_D193),
        fuel: hex(0x00E3_BC68),
        hot: hex(0x006B_4030),
        gas: hex(0x004A_4330),
        air: hex(0x0024_343C),
        line: hex(0x0039_424C),
        edge: hex(0x0098_A1AA),
        metal: hex(0x003A_424A),
        veil: Color32::from_black_alpha(140),
    };
    /// The palette of a theme.
    pub fn of_theme(theme: Theme) -> Self {
        if theme == Theme::Night { Self::NIGHT } else { Self::BOARD }
    }
    /// The palette of a surface.
    pub fn of(ui: &Ui) -> Self {
        if ui.visuals().dark_mode { Self::NIGHT } else { Self::BOARD }
    }
    /// The palette of a context.
    pub fn of_ctx(ctx: &Context) -> Self {
        if ctx.global_style().visuals.dark_mode { Self::NIGHT } else { Self::BOARD }
    }
}

const NEXT: &[u8] = include_bytes!("../../../assets/fonts/AtkinsonHyperlegibleNext-Regular.ttf");
const NEXT_BOLD: &[u8] = include_bytes!("../../../assets/fonts/AtkinsonHyperlegibleNext-Bold.ttf");
const MONO: &[u8] = include_bytes!("../../../assets/fonts/AtkinsonHyperlegibleMono-Regular.ttf");
const MONO_BOLD: &[u8] = include_bytes!("../../../assets/fonts/AtkinsonHyperlegibleMono-Bold.ttf");

fn bold_family() -> FontFamily {
    FontFamily::Name("bold".into())
}
fn mono_bold_family() -> FontFamily {
    FontFamily::Name("mono bold".into())
}

/// The program's own fonts.
pub fn fonts() -> FontDefinitions {
    let mut f = FontDefinitions::default();
    let all = [("next", NEXT), ("next bold", NEXT_BOLD), ("mono", MONO), ("mono bold", MONO_BOLD)];
    for (name, bytes) in all {
        f.font_data.insert(name.into(), Arc::new(FontData::from_static(bytes)));
    }
    let behind = f.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with =
        |first: &str| std::iter::once(first.to_owned()).chain(behind.iter().cloned()).collect::<Vec<_>>();
    f.families.insert(FontFamily::Proportional, with("next"));
    f.families.insert(FontFamily::Monospace, with("mono"));
    f.families.insert(bold_family(), with("next bold"));
    f.families.insert(mono_bold_family(), with("mono bold"));
    f
}

/// Sets fonts and style; false in the pass before the fonts are there.
pub fn ready(ctx: &Context, settings: &Settings) -> bool {
    let mark = egui::Id::new("idlewright look");
    let kept: Option<(Settings, bool)> = ctx.data(|d| d.get_temp(mark));
    let there = ctx.fonts(|f| f.definitions().families.contains_key(&bold_family()));
    if !there {
        ctx.set_fonts(fonts());
    }
    if kept.is_none_or(|(s, _)| s != *settings) {
        style(ctx, settings);
        ctx.data_mut(|d| d.insert_temp(mark, (*settings, true)));
    }
    if there
        && !ctx.data_mut(|d| std::mem::replace(d.get_temp_mut_or_default::<bool>(mark.with("letters")), true))
    {
        letters(ctx);
    }
    there
}

/// Draws every common letter once, in each size and weight that panels use, so that none is missing in the frame in
/// which it is first needed: the renderer uploads a new letter one frame late.
fn letters(ctx: &Context) {
    let plain: String = (' '..='~').collect();
    let all = format!("{plain}°µ²×·−–…“”’←→↑↓");
    let p = ctx.layer_painter(egui::LayerId::background());
    for size in [14.0, 15.0, 16.0, 17.0, 18.0, 20.0, 22.0, 25.0] {
        for family in [FontFamily::Proportional, FontFamily::Monospace, bold_family(), mono_bold_family()] {
            let _ = p.layout_no_wrap(all.clone(), FontId::new(size, family), Color32::WHITE);
        }
    }
}

/// The scrolling style. A fade over the first and last row would make those rows look selected: the bar alone shows
/// that there is more, so it is dark enough to be seen.
fn scroll() -> egui::style::ScrollStyle {
    let mut s = egui::style::ScrollStyle::thin();
    s.fade.strength = 0.0;
    s.foreground_color = true;
    s.floating_width = 4.0;
    s.dormant_handle_opacity = 0.35;
    s.active_handle_opacity = 0.6;
    s.dormant_background_opacity = 0.0;
    s.active_background_opacity = 0.0;
    s
}

fn style(ctx: &Context, settings: &Settings) {
    let t = Palette::of_theme(settings.theme);
    ctx.set_theme(if settings.theme == Theme::Night { egui::Theme::Dark } else { egui::Theme::Light });
    ctx.all_styles_mut(|s| {
        let size = |px: f32| FontId::new(px, FontFamily::Proportional);
        s.text_styles = [
            (TextStyle::Body, size(16.0)),
            (TextStyle::Button, size(16.0)),
            (TextStyle::Small, size(14.0)),
            (TextStyle::Heading, FontId::new(17.0, bold_family())),
            (TextStyle::Monospace, FontId::new(15.0, FontFamily::Monospace)),
        ]
        .into();
        s.animation_time = if settings.reduced_motion { 0.0 } else { 0.1 };
        s.spacing.item_spacing = vec2(8.0, 6.0);
        s.spacing.button_padding = vec2(8.0, 3.0);
        s.spacing.interact_size.y = 24.0;
        s.spacing.icon_spacing = 7.0;
        s.spacing.scroll = scroll();
        let v = &mut s.visuals;
        v.dark_mode = settings.theme == Theme::Night;
        v.override_text_color = None;
        v.weak_text_color = Some(t.soft);
        v.hyperlink_color = t.text;
        v.panel_fill = t.panel;
        v.window_fill = t.panel;
        v.window_stroke = Stroke::new(1.0, t.line);
        v.window_shadow = egui::Shadow::NONE;
        v.popup_shadow = egui::Shadow::NONE;
        v.extreme_bg_color = t.bg;
        v.faint_bg_color = t.bg;
        v.code_bg_color = t.bg;
        v.warn_fg_color = t.accent;
        v.error_fg_color = t.accent;
        v.slider_trailing_fill = true;
        v.selection.bg_fill = t.pencil.gamma_multiply(0.28);
        v.selection.stroke = Stroke::new(2.0, t.ink);
        let radius = CornerRadius::same(5);
        let w = &mut v.widgets;
        for (one, fill, edge) in [
            (&mut w.noninteractive, t.panel, t.line),
            (&mut w.inactive, t.bg, t.line),
            (&mut w.hovered, t.bg, t.edge),
            (&mut w.active, t.line, t.ink),
            (&mut w.open, t.bg, t.edge),
        ] {
            one.bg_fill = fill;
            one.weak_bg_fill = fill;
            one.bg_stroke = Stroke::new(1.0, edge);
            one.fg_stroke = Stroke::new(1.2, t.text);
            one.corner_radius = radius;
            one.expansion = 0.0;
        }
        // the focused widget is recognised at once: by the width of its outline, not by colour alone
        w.active.bg_stroke = Stroke::new(2.5, t.accent);
        w.hovered.fg_stroke = Stroke::new(1.2, t.ink);
    });
}

// ---------------------------------------------------------------------------------------------------
// Words
// ---------------------------------------------------------------------------------------------------

/// Several items as a list in one line.
pub fn listed(all: impl IntoIterator<Item = String>) -> String {
    let all = all.into_iter();
    all.reduce(|before, more| say!("window-and-more", before = before, more = more)).unwrap_or_default()
}
/// The name of a key on the keyboard.
pub fn key_words(key: &str) -> String {
    match key {
        "Tab" => say("window-key-tab"),
        "Space" => say("window-key-space"),
        "Backspace" => say("window-key-backspace"),
        "Esc" => say("window-key-escape"),
        key => key.to_owned(),
    }
}

/// A title.
pub fn title(text: &str) -> RichText {
    RichText::new(text).font(FontId::new(22.0, bold_family()))
}
/// Bold words.
pub fn bold(text: &str) -> RichText {
    RichText::new(text).font(FontId::new(16.0, bold_family()))
}
/// Tabular figures.
pub fn mono(text: &str) -> RichText {
    RichText::new(text).font(FontId::new(16.0, FontFamily::Monospace))
}
/// Tabular figures, bold, in this size.
pub fn figure(text: &str, size: f32) -> RichText {
    RichText::new(text).font(FontId::new(size, mono_bold_family()))
}
/// Bold type in this size, for painting.
pub fn bold_font(size: f32) -> FontId {
    FontId::new(size, bold_family())
}
/// Tabular figures, bold, in this size, for painting.
pub fn figure_font(size: f32) -> FontId {
    FontId::new(size, mono_bold_family())
}
/// Tabular type in this size, for painting.
pub fn mono_font(size: f32) -> FontId {
    FontId::new(size, FontFamily::Monospace)
}
/// Secondary words.
pub fn soft(ui: &mut Ui, text: &str) -> Response {
    let t = Palette::of(ui);
    ui.label(RichText::new(text).size(14.0).color(t.soft))
}
/// Secondary words that are not broken: if they do not fit on a line, they begin the next one.
pub fn soft_whole(ui: &mut Ui, text: &str) -> Response {
    let t = Palette::of(ui);
    ui.add(egui::Label::new(RichText::new(text).size(14.0).color(t.soft)).extend())
}
/// Words that call for attention.
pub fn warn(ui: &mut Ui, text: &str) -> Response {
    let t = Palette::of(ui);
    ui.label(bold(text).color(t.accent))
}

/// The glossary word under the pointer or the keyboard focus.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Near {
    /// The word; none if there is none at that place.
    pub word: Option<String>,
    /// True when its explanation was asked for.
    pub wanted: bool,
}

/// A heading. One that has a word in the glossary is reached by Tab and opens its explanation when it is pressed.
pub fn heading(ui: &mut Ui, text: &str, word: &str, words: &[Word], near: &mut Near) {
    let t = Palette::of(ui);
    let text = RichText::new(text).font(FontId::new(17.0, bold_family())).color(t.soft);
    if found(words, word).is_empty() {
        ui.label(text);
        return;
    }
    let r = ui.add(egui::Label::new(text).selectable(false).sense(Sense::click()));
    focus_ring(ui, &r);
    near.wanted |= r.clicked();
    help(r, word, words, near);
}

/// Gives a response its tooltip from the glossary, and notes the word for F1.
pub fn help(r: Response, word: &str, words: &[Word], near: &mut Near) -> Response {
    // nothing is looked up for the many words that nobody points at
    if !(r.contains_pointer() || r.has_focus()) {
        return r;
    }
    let Some(w) = found(words, word).first().copied() else { return r };
    if r.hovered() || r.has_focus() {
        near.word = Some(w.term.clone());
    }
    r.on_hover_ui(|ui| {
        ui.set_max_width(360.0);
        ui.label(bold(&w.term));
        ui.label(&w.says);
        soft(ui, &say("window-f1-for-more"));
    })
}

// ---------------------------------------------------------------------------------------------------
// Things to press
// ---------------------------------------------------------------------------------------------------

/// A part of a panel whose things keep their identity, and with it the keyboard's focus, whatever appears before
/// them. `name` is unique within the panel.
pub fn part<R>(ui: &mut Ui, name: &str, inside: impl FnOnce(&mut Ui) -> R) -> R {
    let id = ui.id().with(("part", name));
    ui.scope_builder(egui::UiBuilder::new().id(id), inside).inner
}

/// Things that are there at times: the identities of what follows do not depend on them, nor does the focus.
pub fn apart(ui: &mut Ui, there: bool, inside: impl FnOnce(&mut Ui)) {
    if there {
        ui.scope(inside);
    } else {
        // as many identities as a scope uses up
        ui.skip_ahead_auto_ids(1);
    }
}

/// What a key's cap is larger than its letters by.
const CAP_MARGIN: Vec2 = vec2(10.0, 4.0);

/// A key's cap.
pub fn cap(ui: &mut Ui, key: &str) {
    let t = Palette::of(ui);
    let galley = ui.painter().layout_no_wrap(key_words(key), mono_font(14.0), t.soft);
    let size = galley.size() + CAP_MARGIN;
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter().rect_stroke(rect, 4.0, Stroke::new(1.0, t.line), StrokeKind::Inside);
    ui.painter().galley(rect.center() - galley.size() / 2.0, galley, t.soft);
}

/// A text button, followed by its key: to its right, whichever side the line is filled from.
pub fn quiet_button(ui: &mut Ui, text: &str, key: &str) -> Response {
    let from_right = ui.layout().prefer_right_to_left();
    match (key.is_empty(), from_right) {
        (true, _) => {}
        (false, true) => cap(ui, key),
        (false, false) => keep_together(ui, text, key),
    }
    let r = ui.add(egui::Button::new(text));
    if !from_right && !key.is_empty() {
        cap(ui, key);
    }
    r
}

/// Begins a new row where a button would stand at the end of this one and its key at the beginning of the next.
fn keep_together(ui: &mut Ui, text: &str, key: &str) {
    let begins = ui.cursor().left() <= ui.max_rect().left() + 1.0;
    if begins || !ui.layout().main_wrap() {
        return;
    }
    let font = egui::TextStyle::Button.resolve(ui.style());
    let wide = |text: String, font| ui.painter().layout_no_wrap(text, font, Color32::BLACK).size().x;
    let space = ui.spacing();
    let needs = wide(text.to_owned(), font)
        + 2.0 * space.button_padding.x
        + space.item_spacing.x
        + wide(key_words(key), mono_font(14.0))
        + CAP_MARGIN.x;
    if ui.available_size_before_wrap().x < needs {
        ui.end_row();
    }
}

/// One of several tabs; the chosen one is underlined and bold.
pub fn tab(ui: &mut Ui, on: bool, text: &str, key: &str) -> Response {
    let t = Palette::of(ui);
    let words = if on { bold(text).color(t.ink) } else { RichText::new(text).color(t.soft) };
    let r = ui.add(egui::Button::new(words).frame(false));
    r.widget_info(|| WidgetInfo::selected(WidgetType::SelectableLabel, true, on, text));
    if on {
        let y = r.rect.bottom() + 1.0;
        ui.painter().hline(r.rect.x_range(), y, Stroke::new(2.5, t.ink));
    }
    focus_ring(ui, &r);
    if !key.is_empty() {
        cap(ui, key);
    }
    r
}

/// A focus ring for a widget that is painted by hand.
pub fn focus_ring(ui: &Ui, r: &Response) {
    if r.has_focus() {
        let t = Palette::of(ui);
        ui.painter().rect_stroke(r.rect.expand(2.0), 5.0, Stroke::new(2.0, t.accent), StrokeKind::Outside);
    }
}

/// A switch with its name, which wraps, and its key. True when it is to be changed.
pub fn switch(ui: &mut Ui, on: bool, name: &str, key: &str) -> bool {
    let t = Palette::of(ui);
    let wide = ui.available_width();
    let cap = ui.painter().layout_no_wrap(key_words(key), mono_font(14.0), t.soft);
    let cap_size = if key.is_empty() { Vec2::ZERO } else { cap.size() + vec2(10.0, 4.0) };
    let font = FontId::new(16.0, FontFamily::Proportional);
    let room = (wide - 47.0 - cap_size.x - 4.0).max(40.0);
    let words = ui.painter().layout_job(LayoutJob::simple(name.into(), font, t.text, room));
    let (rect, r) = ui.allocate_exact_size(vec2(wide, (words.size().y + 4.0).max(27.0)), Sense::click());
    r.widget_info(|| WidgetInfo::selected(WidgetType::Checkbox, ui.is_enabled(), on, name));
    let p = ui.painter();
    let pill = Rect::from_center_size(pos2(rect.left() + 18.0, rect.center().y), vec2(34.0, 18.0));
    let (fill, knob) = if on { (t.ink, t.panel) } else { (t.bg, t.edge) };
    p.rect(pill, 9.0, fill, Stroke::new(1.2, t.edge), StrokeKind::Inside);
    let x = if on { pill.right() - 9.0 } else { pill.left() + 9.0 };
    p.circle_filled(pos2(x, pill.center().y), 5.5, knob);
    p.galley(pos2(pill.right() + 12.0, rect.center().y - words.size().y / 2.0), words, t.text);
    if !key.is_empty() {
        let at = Rect::from_center_size(pos2(rect.right() - cap_size.x / 2.0, rect.center().y), cap_size);
        p.rect_stroke(at, 4.0, Stroke::new(1.0, t.line), StrokeKind::Inside);
        p.galley(at.center() - cap.size() / 2.0, cap, t.soft);
    }
    focus_ring(ui, &r);
    r.clicked()
}

/// Words on one line of limited width: in the size asked for, or as large as fits.
pub fn fitting(
    p: &egui::Painter,
    words: &str,
    font: FontId,
    colour: Color32,
    room: f32,
) -> Arc<egui::Galley> {
    let asked = p.layout_no_wrap(words.to_owned(), font.clone(), colour);
    let share = room / asked.size().x.max(1.0);
    if share >= 1.0 {
        return asked;
    }
    let size = (font.size * share).floor().max(8.0);
    p.layout_no_wrap(words.to_owned(), FontId::new(size, font.family), colour)
}

/// A line with an action to the left and its cost to the right; if they do not fit beside each other, the cost goes
/// below.
pub fn priced(ui: &mut Ui, name: &str, cost: &str, open: bool) -> Response {
    let t = Palette::of(ui);
    let wide = ui.available_width();
    let ink = if ui.is_enabled() { t.text } else { t.soft };
    let laid = |font: FontId, room: f32| {
        ui.painter().layout_job(LayoutJob::simple(name.into(), font, ink, room.max(40.0)))
    };
    let price = ui.painter().layout_no_wrap(cost.into(), mono_font(14.0), t.soft);
    let room = wide - 8.0;
    // measured with bold letters, open or not: pressing a line never breaks it into two
    let beside =
        laid(bold_font(16.0), f32::INFINITY).size().x + 10.0 + price.size().x <= room || cost.is_empty();
    let font = if open { bold_font(16.0) } else { FontId::new(16.0, FontFamily::Proportional) };
    let words = laid(font, room);
    let tall = if beside { words.size().y } else { words.size().y + price.size().y };
    let (rect, r) = ui.allocate_exact_size(vec2(wide, (tall + 6.0).max(26.0)), Sense::click());
    // only what reads the screen aloud asks for it
    r.widget_info(|| {
        let spoken =
            if cost.is_empty() { name.to_owned() } else { listed([name.to_owned(), cost.to_owned()]) };
        WidgetInfo::labeled(WidgetType::Button, ui.is_enabled(), &spoken)
    });
    let p = ui.painter();
    if r.hovered() || open {
        p.rect_filled(rect, 4.0, t.bg);
    }
    let half = |g: &egui::Galley| if beside { (rect.height() - g.size().y) / 2.0 } else { 3.0 };
    let right = rect.right() - 4.0 - price.size().x;
    let (top, bottom) =
        (half(&words), if beside { half(&price) } else { rect.height() - 3.0 - price.size().y });
    p.galley(rect.left_top() + vec2(4.0, top), words, ink);
    p.galley(pos2(right, rect.top() + bottom), price, t.soft);
    focus_ring(ui, &r);
    r
}

// ---------------------------------------------------------------------------------------------------
// Drawings
// ---------------------------------------------------------------------------------------------------

/// A gate's sign: a barred square for shut, an open post for open.
pub fn gate_sign(p: &egui::Painter, middle: Pos2, open: bool, t: &Palette) {
    if open {
        let s = Stroke::new(1.8, t.ok);
        p.vline(middle.x - 4.5, middle.y - 6.0..=middle.y + 5.0, s);
        p.vline(middle.x + 4.5, middle.y - 6.0..=middle.y + 5.0, s);
        p.hline(middle.x - 8.0..=middle.x - 1.0, middle.y + 5.0, s);
        p.hline(middle.x + 1.0..=middle.x + 8.0, middle.y + 5.0, s);
    } else {
        let square = Rect::from_center_size(middle, Vec2::splat(15.0));
        p.rect_filled(square, 3.0, t.accent);
        p.hline(middle.x - 4.5..=middle.x + 4.5, middle.y, Stroke::new(2.5, t.panel));
    }
}

/// A tick or a cross, for anything but a gate.
fn mark_sign(p: &egui::Painter, middle: Pos2, good: bool, t: &Palette) {
    if good {
        let s = Stroke::new(2.2, t.ok);
        let path = [vec2(-6.0, 0.0), vec2(-2.0, 5.0), vec2(6.0, -6.0)].map(|v| middle + v);
        p.add(Shape::line(path.to_vec(), s));
    } else {
        let s = Stroke::new(2.6, t.accent);
        p.line_segment([middle + vec2(-5.0, -5.0), middle + vec2(5.0, 5.0)], s);
        p.line_segment([middle + vec2(-5.0, 5.0), middle + vec2(5.0, -5.0)], s);
    }
}

/// A sentence with a sign before it; `spoken` is what a screen reader says.
fn signed_sentence(
    ui: &mut Ui,
    good: bool,
    why: &str,
    spoken: &str,
    sign: fn(&egui::Painter, Pos2, bool, &Palette),
) {
    let t = Palette::of(ui);
    let wide = ui.available_width();
    let (font, colour) = if good {
        (FontId::new(15.0, FontFamily::Proportional), t.soft)
    } else {
        (bold_font(15.0), t.accent)
    };
    let job = LayoutJob::simple(why.into(), font, colour, wide - 28.0);
    let galley = ui.painter().layout_job(job);
    let (rect, r) = ui.allocate_exact_size(vec2(wide, galley.size().y.max(20.0) + 2.0), Sense::hover());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, spoken));
    sign(ui.painter(), rect.left_top() + vec2(10.0, 11.0), good, &t);
    ui.painter().galley(rect.left_top() + vec2(28.0, 1.0), galley, colour);
}

/// A gate as a sentence with its sign; a screen reader says whether it is open or shut.
pub fn gate(ui: &mut Ui, open: bool, why: &str) {
    let spoken = say!(if open { "window-gate-open" } else { "window-gate-shut" }, why = why);
    signed_sentence(ui, open, why, &spoken, gate_sign);
}

/// A finding as a sentence with a tick or a cross; a screen reader says whether it is met or not met.
pub fn finding(ui: &mut Ui, met: bool, says: &str) {
    let spoken = say!(if met { "window-met" } else { "window-not-met" }, says = says);
    signed_sentence(ui, met, says, &spoken, mark_sign);
}

/// A sentence that itself says whether the result is good; the tick or cross only repeats it.
pub fn verdict(ui: &mut Ui, good: bool, says: &str) {
    signed_sentence(ui, good, says, says, mark_sign);
}

/// Fills a rectangle with pencil strokes.
pub fn hatch(p: &egui::Painter, rect: Rect, stroke: Stroke) {
    let p = p.with_clip_rect(rect.intersect(p.clip_rect()));
    let mut x = rect.left() - rect.height();
    while x < rect.right() {
        p.line_segment([pos2(x, rect.bottom()), pos2(x + rect.height(), rect.top())], stroke);
        x += 6.0;
    }
}

/// A dashed outline.
pub fn dashed_rect(p: &egui::Painter, r: Rect, stroke: Stroke) {
    let path = [r.left_top(), r.right_top(), r.right_bottom(), r.left_bottom(), r.left_top()];
    p.extend(Shape::dashed_line(&path, stroke, 4.0, 3.0));
}

/// A table beside a drawing: column headings, then rows; the first column holds words, the others numbers.
pub fn table(ui: &mut Ui, name: &str, heads: &[&str], rows: &[Vec<String>]) {
    let t = Palette::of(ui);
    egui::Grid::new(name).num_columns(heads.len()).spacing(vec2(14.0, 3.0)).show(ui, |ui| {
        for h in heads {
            ui.label(RichText::new(*h).size(14.0).color(t.soft));
        }
        ui.end_row();
        for row in rows {
            for (k, cell) in row.iter().enumerate() {
                if k == 0 {
                    ui.label(RichText::new(cell).size(15.0));
                } else {
                    ui.label(mono(cell).size(15.0));
                }
            }
            ui.end_row();
        }
    });
}

/// A table that may be wider than its place: it scrolls sideways, and words below it wrap.
pub fn wide_table(ui: &mut Ui, name: &str, heads: &[&str], rows: &[Vec<String>]) {
    egui::ScrollArea::horizontal()
        .id_salt(name)
        .auto_shrink([false, true])
        .show(ui, |ui| table(ui, name, heads, rows));
}

/// A section that folds away under its heading, which wraps where a panel is narrow.
pub fn fold<R>(
    ui: &mut Ui,
    id: impl std::hash::Hash + std::fmt::Debug,
    words: &str,
    open_at_first: bool,
    inside: impl FnOnce(&mut Ui) -> R,
) -> Option<R> {
    let t = Palette::of(ui);
    let id = ui.make_persistent_id(("fold", id));
    let mut open = ui.data(|d| d.get_temp(id).unwrap_or(open_at_first));
    let wide = ui.available_width();
    let font = FontId::new(15.0, FontFamily::Proportional);
    let galley = ui.painter().layout_job(LayoutJob::simple(words.into(), font, t.text, wide - 22.0));
    let (rect, _) = ui.allocate_exact_size(vec2(wide, galley.size().y.max(20.0) + 4.0), Sense::hover());
    let r = ui.interact(rect, id, Sense::click());
    r.widget_info(|| WidgetInfo::selected(WidgetType::CollapsingHeader, ui.is_enabled(), open, words));
    if r.clicked() {
        open = !open;
        ui.data_mut(|d| d.insert_temp(id, open));
    }
    let middle = rect.left_top() + vec2(8.0, 12.0);
    let tip = if open {
        [vec2(-5.0, -3.0), vec2(5.0, -3.0), vec2(0.0, 4.0)]
    } else {
        [vec2(-3.0, -5.0), vec2(4.0, 0.0), vec2(-3.0, 5.0)]
    };
    let colour = if r.hovered() { t.ink } else { t.edge };
    ui.painter().add(Shape::convex_polygon(tip.map(|v| middle + v).to_vec(), colour, Stroke::NONE));
    ui.painter().galley(rect.left_top() + vec2(20.0, 2.0), galley, t.text);
    focus_ring(ui, &r);
    open.then(|| ui.indent(id.with("inside"), inside).inner)
}

/// A name to the left, which wraps, and a number to the right that never overlaps it.
pub fn pair(ui: &mut Ui, name: &str, number: RichText) -> Response {
    let wide = ui.available_width();
    let number = egui::WidgetText::from(number).into_galley(
        ui,
        Some(egui::TextWrapMode::Extend),
        f32::INFINITY,
        TextStyle::Monospace,
    );
    let t = Palette::of(ui);
    let font = FontId::new(16.0, FontFamily::Proportional);
    let room = (wide - number.size().x - 10.0).max(60.0);
    let words = ui.painter().layout_job(LayoutJob::simple(name.into(), font, t.text, room));
    let tall = words.size().y.max(number.size().y);
    let (rect, r) = ui.allocate_exact_size(vec2(wide, tall), Sense::hover());
    let spoken = say!("window-named-value", name = name, value = number.text());
    r.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &spoken));
    ui.painter().galley(rect.left_top(), words, t.text);
    ui.painter().galley(pos2(rect.right() - number.size().x, rect.top()), number, t.text);
    r
}
