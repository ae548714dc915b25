//! The panels round the engine: plain functions over a borrowed view that return wishes.
//!
//! *Inside*: what is shown, and which control asks for what. *Outside*: carrying out the wishes (session), the engine
//! in three dimensions, files (window). A panel keeps only what would be lost if it were closed: [`PanelState`].
//!
//! [`all`] lays them out: job card on top, controls to the left, the module's state to the right, time along the
//! bottom. The middle is left free for the engine, or holds the traces, wheel view or cylinder strip.

pub mod charts;
pub mod confirm;
pub mod curves;
pub mod cylinder_strip;
pub mod debrief;
pub mod guide;
pub mod hands;
pub mod healthy_car;
pub mod inject_fault;
pub mod job;
pub mod keys;
pub mod language;
pub mod learned;
pub mod logbook;
pub mod marks;
pub mod outcome;
pub mod part;
pub mod presentation;
pub mod questions;
pub mod rulers;
pub mod service;
pub mod settings;
pub mod settings_sheet;
pub mod shelf;
pub mod style;
pub mod tachometer;
pub mod throttle_gap;
pub mod time;
pub mod traces;
pub mod welcome;
pub mod wheel;
pub mod without;
pub mod words;

use self::settings::Settings;
use crate::bench::action::Action;
use crate::bench::car::Car;
use crate::bench::has::Has;
use crate::bench::view::Observation;
use crate::scenario::Scenario;
use crate::session::desk::Reach;
use crate::session::live::{Order, Rows, View};
use crate::session::{Prices, Run};
use crate::words::glossary::Word;
use crate::words::numbers::show_in;
use crate::words::say;
use egui::{CentralPanel, Context, Frame, Margin, Panel, Rect, Ui, UiBuilder};
use std::path::PathBuf;

/// Something that a person at the window wants.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "a few a frame at most; an order is plain to match on")]
pub enum Wish {
    /// An order to the session: the only way to the bench.
    Order(Order),
    /// Another attempt: a shipped scenario by its id.
    Scenario(String),
    /// Another attempt: a scenario from a file.
    Open(PathBuf),
    /// The same scenario from the start, for the same trainee.
    Again,
    /// Close the window.
    Close,
    /// Other settings: to be applied, and stored in the user's folder.
    Settings(Settings),
    /// Write a result into a folder.
    Save(Save, PathBuf),
    /// Keep a chart: [`charts::write`] does it.
    Keep {
        /// The folder.
        folder: PathBuf,
        /// The file's name in it.
        name: String,
        /// The file's contents.
        text: String,
    },
    /// Move the camera to this view of the engine.
    Look(Framing),
    /// Make a healthy car of the same model to show beside this one; repeated until it is there.
    Healthy,
}

/// What can be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Save {
    /// The graded account, to print.
    Debrief,
    /// The logbook, to hand in.
    Logbook,
    /// The recorded signals.
    Trace,
    /// The window as it looks now, as a picture.
    Picture,
}

/// Named views of the engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Framing {
    /// All of it.
    #[default]
    Whole,
    /// Pistons and valves.
    Cylinders,
    /// Throttle plate and air.
    Throttle,
    /// Reluctor wheel and its sensor.
    Wheel,
}

/// A car's data as on its nameplate.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Nameplate {
    /// Its title.
    pub title: String,
    /// What it has that another car may lack.
    pub has: Has,
    /// Cylinders in the order in which they fire.
    pub firing_order: Vec<u8>,
}

impl Nameplate {
    /// The nameplate of a scenario's car.
    pub fn of(scenario: &Scenario) -> Self {
        let Ok(car) = Car::parse(&scenario.setup.car_toml) else { return Self::default() };
        Self { title: car.title.clone(), has: car.has(), firing_order: car.firing_order().to_vec() }
    }
}

/// Everything that panels may look at.
#[derive(Clone, Copy)]
pub struct Shown<'a> {
    /// The latest view.
    pub view: &'a View,
    /// Recorded signals and the logbook.
    pub rows: &'a Rows,
    /// The scenario being worked on.
    pub scenario: &'a Scenario,
    /// Its car.
    pub plate: &'a Nameplate,
    /// What work costs.
    pub prices: &'a Prices,
    /// Settings.
    pub settings: &'a Settings,
    /// The glossary.
    pub words: &'a [Word],
    /// The attempt, once it was handed in.
    pub run: Option<&'a Run>,
    /// Progress of driving the car's earlier life, until hand-over.
    pub conditioning: Option<f64>,
    /// What a healthy car of this model shows at idle, once somebody asked for it.
    pub healthy: Option<&'a Observation>,
    /// Why the session ended, or the result of the last wish that did not go to the session: a file that was written,
    /// or the reason why not.
    pub told: Option<&'a str>,
    /// Whether the program can play sound.
    pub plays: Plays<'a>,
}

/// Whether the program can play sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Plays<'a> {
    /// It was built without; nothing is said of it.
    #[default]
    Not,
    /// It can, as far as is known.
    Yes,
    /// It cannot on this machine: why.
    Fails(&'a str),
}

/// What is shown in the middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Middle {
    /// The engine.
    #[default]
    Engine,
    /// Traces.
    Readings,
    /// The wheel view.
    Wheel,
    /// The cylinder strip.
    Strip,
}

/// The sheet in front of everything.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Front {
    /// Nothing.
    #[default]
    None,
    /// Cautions and how to begin.
    First,
    /// The cautions of this job.
    Cautions,
    /// Which scenario?
    Scenarios,
    /// What is wrong?
    Cause,
    /// Ask the module.
    Service,
    /// Drive, park or wait.
    DriveOn,
    /// Inject a fault.
    InjectFault,
    /// A healthy car beside this one.
    HealthyCar,
    /// Hand the car over?
    HandIn,
    /// Settings.
    Settings,
    /// Keys.
    Keys,
    /// The glossary, and the word to look up.
    Words(String),
    /// A part's card.
    Part(String),
    /// A chart to be kept.
    Keep,
    /// The logbook.
    Logbook,
    /// Confirm that the lid comes off.
    Lid,
    /// Confirm that the window closes.
    Close,
    /// A finished attempt without one of its steps.
    Without,
}

/// State of the panels.
#[derive(Debug, Clone, Default)]
pub struct PanelState {
    /// What is shown in the middle.
    pub middle: Middle,
    /// The named view that was chosen last.
    pub look: Framing,
    /// The sheet in front.
    pub front: Front,
    /// The future that the controls act on while there are two.
    pub reach: Reach,
    /// The word under the pointer or the focus, for F1.
    pub near_word: style::Near,
    /// The act that was ordered last: the one that a question holds back.
    pub last: Option<(Action, Reach)>,
    /// State of the controls.
    pub hands: hands::HandsState,
    /// Shelf and workshop tools.
    pub shelf: shelf::ShelfState,
    /// Service.
    pub service: service::ServiceState,
    /// Time.
    pub time: time::TimeState,
    /// Traces.
    pub readings: traces::ReadingsState,
    /// Questions.
    pub ask: questions::AskState,
    /// State of the fault sheet.
    pub inject_fault: inject_fault::InjectFaultState,
    /// Words.
    pub words: words::WordsState,
    /// Files.
    pub files: debrief::FilesState,
    /// Charts that are kept.
    pub charts: charts::ChartsState,
    /// State of the opening sheets.
    pub first: welcome::FirstState,
    /// The step that the debrief leaves out.
    pub without: without::WithoutState,
    /// The debrief of a handed-in attempt was closed.
    pub debrief_away: bool,
    /// The cautions of this attempt were shown.
    pub cautioned: bool,
    /// The next step of the guided tour.
    pub guide: Option<usize>,
    /// The quantity in the cylinder strip; none for the one that separates the cylinders best.
    pub strip: Option<cylinder_strip::Quantity>,
    /// Presentation view: little is shown, to be read from afar.
    pub presents: bool,
    /// With large letters: the module's panel takes the place of the controls on the left.
    pub module_left: bool,
}

impl PanelState {
    /// At the start: cautions in front, unless they were read before.
    pub fn new(settings: &Settings) -> Self {
        let front = if settings.cautions_read { Front::None } else { Front::First };
        Self { front, ..Self::default() }
    }
    /// The state that carries over to another attempt.
    pub fn anew(&self) -> Self {
        Self {
            middle: self.middle,
            readings: self.readings.anew(),
            files: self.files.clone(),
            guide: self.guide,
            presents: self.presents,
            ..Self::default()
        }
    }
    /// The wish for an act, in the futures that the controls act on.
    pub fn act(&self, action: Action) -> Wish {
        Wish::Order(Order::Do(action, self.reach))
    }
    /// Opens a part's card, as a click on the engine does.
    pub fn open_part(&mut self, name: &str) {
        self.front = Front::Part(name.into());
    }
}

/// The result of one round of all panels.
#[derive(Debug, Clone, Default)]
pub struct Out {
    /// Wishes, in order.
    pub wishes: Vec<Wish>,
    /// Where the engine may be drawn, in points; none while something else is shown in the middle.
    pub engine: Option<Rect>,
}

/// A surface that covers a context's whole screen.
pub fn root(ctx: &Context) -> Ui {
    let max_rect = ctx.content_rect();
    Ui::new(
        ctx.clone(),
        egui::Id::new("panels"),
        UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(max_rect),
    )
}

/// Lays out and draws all panels. `ui` takes the whole window ([`root`]).
pub fn all(ui: &mut Ui, shown: &Shown<'_>, state: &mut PanelState) -> Out {
    let mut out = Out::default();
    // sentences tell quantities in the units of the gauges
    let _units = show_in(shown.settings.units);
    if !style::ready(ui.ctx(), shown.settings) {
        // the fonts are available from the next pass on
        ui.ctx().request_repaint();
        return out;
    }
    state.near_word = style::Near::default();
    out.wishes.extend(charts::later(ui.ctx(), state));
    // keys typed into a field and entered within one frame are not the window's keys, even if the field has lost the
    // focus since
    let typing = ui.ctx().text_edit_focused();
    if !shown.scenario.about.cautions.is_empty()
        && !state.cautioned
        && state.front == Front::None
        && shown.conditioning.is_none()
        && shown.run.is_none()
    {
        state.cautioned = true;
        if !job::cautions_kept(shown) {
            state.front = Front::Cautions;
        }
    }
    if state.presents && shown.conditioning.is_none() && (shown.run.is_none() || state.debrief_away) {
        return presentation::all(ui, shown, state, typing, out);
    }
    let w = &mut out.wishes;
    let t = style::Palette::of(ui);
    Panel::top("job").frame(quiet(t.panel)).show(ui, |ui| w.extend(job::panel(ui, shown, state)));
    let id = &shown.scenario.about.id;
    let passed = shown.run.and_then(|r| r.grade.as_ref()).is_some_and(|g| g.closed);
    if passed && shown.settings.passed.with(id) != shown.settings.passed {
        w.push(Wish::Settings(Settings { passed: shown.settings.passed.with(id), ..*shown.settings }));
    }
    if let Some(run) = shown.run.filter(|_| !state.debrief_away) {
        CentralPanel::default()
            .frame(quiet(t.bg))
            .show(ui, |ui| w.extend(debrief::panel(ui, shown, run, state)));
        w.extend(fronts(ui.ctx(), shown, state));
        if !typing {
            w.extend(keys::all(ui.ctx(), shown, state));
        }
        return out;
    }
    let wide = ui.available_width();
    let narrow = Frame::new().fill(t.panel).inner_margin(Margin::symmetric(16, 10));
    // with large letters one column serves for both panels, so that the engine stays as large as it was
    let one = shown.settings.projector;
    Panel::left("hands")
        .frame(narrow)
        .exact_size((wide * 0.19).clamp(if one { 270.0 } else { 240.0 }, 300.0))
        .resizable(false)
        .show(ui, |ui| {
            w.extend(within(ui, |ui| {
                if one {
                    column_tabs(ui, state);
                }
                if one && state.module_left {
                    learned::panel(ui, shown, state)
                } else {
                    hands::panel(ui, shown, state)
                }
            }));
        });
    // without the strip there is less to show, so the bottom panel is lower
    let share = if state.middle == Middle::Readings { 0.22 } else { 0.32 };
    Panel::bottom("time")
        .frame(quiet(t.bg))
        .exact_size((ui.available_height() * share).clamp(if one { 130.0 } else { 180.0 }, 330.0))
        .resizable(false)
        .show(ui, |ui| w.extend(within(ui, |ui| time::panel(ui, shown, state))));
    if !one {
        Panel::right("mind")
            .frame(narrow)
            .exact_size((wide * 0.25).clamp(280.0, 400.0))
            .resizable(false)
            .show(ui, |ui| w.extend(within(ui, |ui| learned::panel(ui, shown, state))));
    }
    let fill = if state.middle == Middle::Engine { egui::Color32::TRANSPARENT } else { t.bg };
    out.engine = CentralPanel::default()
        .frame(quiet(fill))
        .show(ui, |ui| {
            within(ui, |ui| {
                w.extend(middle_tabs(ui, state));
                guide::bar(ui, shown, state);
                match state.middle {
                    Middle::Engine if state.look == Framing::Throttle => {
                        throttle_gap::strip(ui, shown, state)
                    }
                    Middle::Engine => {}
                    Middle::Readings => traces::panel(ui, shown, state),
                    Middle::Wheel => w.extend(wheel::panel(ui, shown, state)),
                    Middle::Strip => cylinder_strip::cylinders(ui, shown, state),
                }
                (state.middle == Middle::Engine).then(|| ui.available_rect_before_wrap())
            })
        })
        .inner;
    if state.near_word.wanted && state.front == Front::None {
        state.front = Front::Words(state.near_word.word.clone().unwrap_or_default());
    }
    over(ui, shown, state, typing, w);
    out
}

/// Sheets in front of the panels, and keys.
fn over(ui: &Ui, shown: &Shown<'_>, state: &mut PanelState, typing: bool, w: &mut Vec<Wish>) {
    // one sheet at a time: with two open, the keyboard would reach neither
    let asked = !shown.view.questions.is_empty() || state.ask.open_wanted;
    if shown.view.came.is_some() {
        w.extend(outcome::modal(ui.ctx(), shown, state));
    } else {
        w.extend(questions::modal(ui.ctx(), shown, state));
        if !asked {
            w.extend(fronts(ui.ctx(), shown, state));
        }
    }
    if !typing {
        w.extend(keys::all(ui.ctx(), shown, state));
    }
    for wish in w.iter() {
        if let Wish::Order(Order::Do(action, reach)) = wish
            && !matches!(action, Action::Note(_))
        {
            state.last = Some((action.clone(), *reach));
        }
    }
}

/// Tabs to choose between controls and module, where one column serves for both.
fn column_tabs(ui: &mut Ui, state: &mut PanelState) {
    ui.horizontal_wrapped(|ui| {
        for (module, id) in [(false, "hands-title"), (true, "middle-module")] {
            if style::tab(ui, state.module_left == module, &say(id), "").clicked() {
                state.module_left = module;
            }
        }
    });
    ui.add_space(4.0);
}

/// The frame of a panel without a border.
fn quiet(fill: egui::Color32) -> Frame {
    Frame::new().fill(fill).inner_margin(Margin::symmetric(20, 12))
}

/// A space of its own: contents that do not fit are cut off, and move nothing beside it.
fn within<R>(ui: &mut Ui, inside: impl FnOnce(&mut Ui) -> R) -> R {
    let rect = ui.available_rect_before_wrap();
    let mut room =
        ui.new_child(UiBuilder::new().max_rect(rect).layout(egui::Layout::top_down(egui::Align::Min)));
    // a focus ring may extend a little beyond the edge
    room.set_clip_rect(rect.expand(6.0).intersect(ui.clip_rect()));
    let out = inside(&mut room);
    ui.advance_cursor_after_rect(rect);
    out
}

fn middle_tabs(ui: &mut Ui, state: &mut PanelState) -> Vec<Wish> {
    let mut out = Vec::new();
    let wide = ui.available_width();
    let narrow = wide < 620.0;
    ui.horizontal_wrapped(|ui| {
        let tabs = [
            (Middle::Engine, "middle-engine", "F2"),
            (Middle::Readings, "middle-traces", "F3"),
            (Middle::Wheel, "middle-wheel", "F4"),
            (Middle::Strip, "middle-cylinders", "F5"),
        ];
        for (middle, name, key) in tabs {
            let r = style::tab(ui, state.middle == middle, &say(name), if narrow { "" } else { key });
            if r.on_hover_text(say!("middle-key", key = key)).clicked() {
                state.middle = middle;
            }
        }
        if style::tab(ui, false, &say("middle-present"), if narrow { "" } else { "F11" }).clicked() {
            state.presents = true;
        }
        if state.middle == Middle::Engine {
            ui.add_space(16.0);
            if wide >= 800.0 {
                style::soft_whole(ui, &say("middle-look"));
            }
            let looks = [
                (Framing::Whole, "middle-look-all"),
                (Framing::Cylinders, "middle-look-cylinders"),
                (Framing::Throttle, "middle-look-throttle"),
                (Framing::Wheel, "middle-look-wheel"),
            ];
            for (look, name) in looks {
                if ui.link(say(name)).clicked() {
                    state.look = look;
                    out.push(Wish::Look(look));
                }
            }
        }
    });
    out
}

/// Draws the sheet that is in front.
fn fronts(ctx: &Context, shown: &Shown<'_>, state: &mut PanelState) -> Vec<Wish> {
    match state.front.clone() {
        Front::None => Vec::new(),
        Front::First => welcome::start(ctx, shown, state),
        Front::Cautions => welcome::cautions(ctx, shown, state),
        Front::Scenarios => welcome::scenarios(ctx, shown, state),
        Front::Cause => questions::cause(ctx, shown, state),
        Front::Service => service::modal(ctx, shown, state),
        Front::DriveOn => time::drive_on(ctx, shown, state),
        Front::InjectFault => inject_fault::modal(ctx, shown, state),
        Front::HealthyCar => healthy_car::modal(ctx, shown, state),
        Front::HandIn => job::hand_in(ctx, shown, state),
        Front::Settings => settings_sheet::modal(ctx, shown, state),
        Front::Keys => keys::list(ctx, state),
        Front::Words(word) => words::modal(ctx, shown, state, &word),
        Front::Part(name) => part::card(ctx, shown, state, &name),
        Front::Keep => charts::modal(ctx, shown, state),
        Front::Logbook => {
            logbook::modal(ctx, shown, &mut state.front);
            Vec::new()
        }
        Front::Lid => confirm::lid(ctx, state),
        Front::Close => confirm::close(ctx, state),
        Front::Without => without::modal(ctx, shown, state),
    }
}

/// A sheet in front of everything, with a title and a close button. Returns what `inside` returns.
pub(crate) fn sheet<R>(
    ctx: &Context,
    name: &str,
    title: &str,
    front: &mut Front,
    width: f32,
    inside: impl FnOnce(&mut Ui, &mut Front) -> R,
) -> R {
    let t = style::Palette::of_ctx(ctx);
    let most = ctx.content_rect().size();
    let answer = egui::Modal::new(egui::Id::new(name))
        .backdrop_color(t.veil)
        .frame(Frame::new().fill(t.panel).inner_margin(Margin::same(24)).stroke((1.0, t.line)))
        .show(ctx, |ui| {
            ui.set_width(width.min(most.x - 80.0));
            ui.horizontal(|ui| {
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    if style::quiet_button(ui, &say("sheet-put-away"), "Esc").clicked() {
                        *front = Front::None;
                    }
                    // the title gets the width that the button leaves: a long one takes more lines
                    ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
                        ui.label(style::title(title))
                    });
                });
            });
            ui.add_space(8.0);
            let tall = most.y - 170.0;
            egui::ScrollArea::vertical()
                .max_height(tall)
                .min_scrolled_height(tall)
                .show(ui, |ui| inside(ui, front))
                .inner
        });
    if answer.should_close() {
        *front = Front::None;
    }
    answer.inner
}
