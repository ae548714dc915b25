//! The window itself: opened, filled every frame, closed.
//!
//! *Inside*: one frame (the bench's latest state, panels, engine, wishes), and the message where no window is
//! possible. *Outside*: panels, the engine's shapes, the bench's thread, pictures of the window (`pictures`).

mod pictures;
mod screen_size;

use self::pictures::{Shot, take_picture, tell_screen, time_frames, write_picture};
use self::screen_size::{fit_screen, view_port};
use super::Ears;
use super::board::{self, Eye, Lens};
use super::engine::{self, Anchors, OfEngine, Paints, Part, Things};
use bevy::app::ScheduleRunnerPlugin;
use bevy::camera::primitives::Aabb;
use bevy::camera::visibility::RenderLayers;
use bevy::camera::{CameraOutputMode, RenderTarget};
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::log::{Level, LogPlugin};
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::render_resource::{BlendState, TextureFormat};
use bevy::render::renderer::RenderAdapterInfo;
use bevy::render::view::Msaa;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::{ExitCondition, PrimaryWindow, WindowCloseRequested};
use bevy::winit::{UpdateMode, WinitPlugin, WinitSettings};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui,
};
use idlewright::bench::view::{EngineShape, Observation};
use idlewright::session::healthy::healthy;
use idlewright::session::live::{Live, Order, Pace, Rows, View};
use idlewright::session::{Options, Prices, Run};
use idlewright::store;
use idlewright::window::frames::Frames;
use idlewright::window::panels::settings::{Settings, Theme};
use idlewright::window::panels::style::Palette;
use idlewright::window::panels::{self, Framing, Front, Nameplate, PanelState, Shown, Wish};
use idlewright::window::screen::{Screen, show_focus};
use idlewright::window::{Attempt, Desk, Picture, Start};
use idlewright::words::glossary::{Word, glossary};
use idlewright::words::{facts, say, say_with};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

/// A frame was drawn: a later failure is not due to a missing display.
static OPENED: AtomicBool = AtomicBool::new(false);

/// Time between frames while something moves \[ms\].
const FRAME_MS: u64 = 16;
/// Time between frames while nothing moves \[ms\]; the effect of any input is drawn at once.
const REST_MS: u64 = 500;
/// The same while a script follows the window through a file and cannot see that nothing moves \[ms\].
const WATCHED_MS: u64 = 200;
/// Number of frames drawn without a pause after something was asked for, so that the answer appears at once.
const STIR: u32 = 20;
/// Opens the window and returns when it is closed; an error says why it could not be opened.
pub fn open(start: Start) -> Result<(), String> {
    // frames that are only timed are rendered into memory
    let unix = cfg!(all(unix, not(target_os = "macos"), not(target_os = "android")));
    if unix && start.frames.is_none() {
        let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
        if !set("DISPLAY") && !set("WAYLAND_DISPLAY") {
            return Err(say("drawing-no-display"));
        }
    }
    let room = Room::new(start)?;
    // the libraries below panic if there is no display or no driver that can draw
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if OPENED.load(Ordering::Relaxed) {
            eprintln!("{info}");
        }
    }));
    let ran = std::panic::catch_unwind(std::panic::AssertUnwindSafe(move || app(room).run()));
    std::panic::set_hook(before);
    match ran {
        Ok(AppExit::Success) => Ok(()),
        Ok(AppExit::Error(code)) => Err(say_with("drawing-ended", &[("code", code.get().into())])),
        Err(panic) => {
            if OPENED.load(Ordering::Relaxed) {
                std::panic::resume_unwind(panic);
            }
            let said = panic
                .downcast_ref::<String>()
                .map(String::as_str)
                .or_else(|| panic.downcast_ref::<&str>().copied());
            Err(match said {
                None => say("drawing-unknown"),
                Some(s) if s.contains("event loop") => say("drawing-display-silent"),
                Some(s) if s.contains("GPU") => say("drawing-no-driver"),
                Some(s) => s.lines().next().unwrap_or_default().to_owned(),
            })
        }
    }
}

fn app(room: Room) -> App {
    let (x, y) = room.size;
    let window = Window {
        title: "Idlewright".into(),
        name: Some("idlewright".into()),
        resolution: (x, y).into(),
        ..Window::default()
    };
    let unseen = room.frames.is_some();
    let exit_condition = if unseen { ExitCondition::DontExit } else { ExitCondition::OnAllClosed };
    let plugins = DefaultPlugins
        .set(WindowPlugin {
            primary_window: Some(window),
            exit_condition,
            // the window asks for confirmation if work would be lost
            close_when_requested: false,
            ..WindowPlugin::default()
        })
        // a picture must be complete: no pipeline may still be compiling
        .set(RenderPlugin {
            synchronous_pipeline_compilation: room.picture.is_some(),
            ..RenderPlugin::default()
        })
        .set(LogPlugin { level: Level::ERROR, filter: "error".into(), ..LogPlugin::default() });
    let mut app = App::new();
    if unseen {
        app.add_plugins(plugins.build().disable::<WinitPlugin>());
        app.add_plugins(ScheduleRunnerPlugin::run_loop(Duration::ZERO));
    } else {
        app.add_plugins(plugins);
    }
    app.add_plugins(EguiPlugin::default())
        .insert_resource(ClearColor(Color::BLACK))
        .insert_resource(room)
        .init_resource::<Paints>()
        .init_resource::<Anchors>()
        .init_resource::<Eye>()
        .add_systems(Startup, set_up)
        .add_systems(Update, (fit_screen, asked_to_close, hear, build, pose).chain())
        .add_systems(EguiPrimaryContextPass, draw)
        .add_systems(Last, (take_picture, tell_screen, time_frames));
    app
}

/// Everything that the window holds.
#[derive(Resource)]
struct Room {
    desk: Desk,
    options: Options,
    size: (u32, u32),
    attempt: Attempt,
    plate: Nameplate,
    prices: Prices,
    words: Vec<Word>,
    settings: Settings,
    state: PanelState,
    live: Live,
    view: View,
    rows: Rows,
    run: Option<Run>,
    healthy: Option<JoinHandle<Option<Observation>>>,
    healthy_shows: Option<Observation>,
    handing_in: bool,
    told: Option<String>,
    built: Option<EngineShape>,
    aspect: f32,
    stir: u32,
    /// Frames since the engine was built.
    drawn: u32,
    /// Where the engine is drawn \[pixels\].
    engine_at: Option<egui::Rect>,
    /// The widget that had the keyboard focus when it was last scrolled into view.
    focus: Option<egui::Id>,
    screen: Option<Screen>,
    picture: Option<(Picture, Shot)>,
    pictures: u32,
    /// Frames to be timed, when the program does nothing else.
    frames: Option<Frames>,
    ears: Ears,
}

impl Room {
    fn new(start: Start) -> Result<Self, String> {
        let Start { attempt, options, desk, picture, screen, frames, size } = start;
        let mut settings = Settings::read();
        let mut told = None;
        if let Some(p) = &picture {
            // the picture is the same for everybody
            let theme = if p.night { Theme::Night } else { Theme::default() };
            settings = Settings { theme, reduced_motion: true, ..Settings::default() };
        } else {
            told = panels::language::speak_as_kept(&settings).err();
        }
        let mut state = PanelState::new(&settings);
        if picture.is_some() || frames.is_some() {
            state.front = Front::None;
            state.cautioned = true;
        }
        if let Some(p) = &picture {
            state.middle = p.middle;
        }
        Ok(Self {
            desk,
            options,
            size,
            plate: Nameplate::of(&attempt.scenario),
            prices: Prices::shipped()?,
            words: glossary(store::GLOSSARY)?,
            settings,
            state,
            live: Live::start(attempt.scenario.clone(), options, || ()),
            attempt,
            view: View::default(),
            rows: Rows::default(),
            run: None,
            healthy: None,
            healthy_shows: None,
            handing_in: false,
            told,
            built: None,
            aspect: 1.5,
            stir: STIR,
            drawn: 0,
            engine_at: None,
            focus: None,
            screen: screen.map(Screen::new),
            picture: picture.map(|p| (p, Shot::Asked)),
            pictures: 0,
            frames: frames.map(Frames::new),
            ears: Ears::default(),
        })
    }

    /// Reads another scenario, by its name or path.
    fn read(&mut self, name: &str) {
        match (self.desk.read)(name) {
            Ok(attempt) => self.begin(attempt),
            Err(why) => self.told = Some(why),
        }
    }

    /// Begins another attempt; the one before is discarded.
    fn begin(&mut self, attempt: Attempt) {
        self.plate = Nameplate::of(&attempt.scenario);
        self.live = Live::start(attempt.scenario.clone(), self.options, || ());
        self.attempt = attempt;
        self.state = self.state.anew();
        self.view = View::default();
        self.rows = Rows::default();
        self.run = None;
        (self.healthy, self.healthy_shows) = (None, None);
        self.handing_in = false;
        self.told = None;
        self.built = None;
    }

    /// Grants a wish; pictures of the window and other views are left to the caller.
    fn grant(&mut self, wish: Wish) -> Option<Wish> {
        match wish {
            Wish::Order(Order::Lid(open)) if self.run.is_some() => {
                if let Some(run) = &self.run {
                    self.view.look_back(&mut self.rows, run, open);
                }
            }
            Wish::Order(order) => {
                self.handing_in |= order == Order::HandIn;
                let _ = self.live.order(order);
            }
            Wish::Scenario(id) => self.read(&id),
            Wish::Open(path) => self.read(&path.to_string_lossy()),
            Wish::Again => self.begin(self.attempt.clone()),
            Wish::Settings(settings) => {
                if settings.language != self.settings.language {
                    self.told = panels::language::speak(settings.language).err();
                }
                self.settings = settings;
                if let Err(why) = settings.keep() {
                    self.told = Some(why);
                }
            }
            Wish::Save(panels::Save::Picture, _) | Wish::Look(_) | Wish::Close => return Some(wish),
            Wish::Healthy => self.start_healthy(),
            Wish::Keep { folder, name, text } => {
                self.told = Some(panels::charts::write(&folder, &name, &text))
            }
            Wish::Save(what, folder) => self.told = Some(self.save(what, &folder)),
        }
        None
    }

    /// Starts a healthy car of the same model on a thread that ends by itself; its result is taken over when it is
    /// ready.
    fn start_healthy(&mut self) {
        match self.healthy.take() {
            Some(thread) if thread.is_finished() => self.healthy_shows = thread.join().ok().flatten(),
            Some(thread) => self.healthy = Some(thread),
            None => {
                let car = self.attempt.scenario.setup.car_toml.clone();
                self.healthy = Some(std::thread::spawn(move || healthy(&car).ok()));
            }
        }
    }

    fn save(&self, what: panels::Save, folder: &Path) -> String {
        match &self.run {
            Some(run) => match (self.desk.write)(run, &self.attempt.text, what, folder) {
                Ok(said) | Err(said) => said,
            },
            None => say("drawing-not-yet"),
        }
    }

    /// The volume at which somebody wants to hear the engine \[%\]: nobody does in a picture.
    fn volume_pct(&self) -> Option<u8> {
        let wanted = self.settings.sound && self.picture.is_none() && self.frames.is_none();
        wanted.then_some(self.settings.volume.0)
    }

    fn moves(&self) -> bool {
        let runs = self.view.pace != Pace::Paused || self.view.runs_to_s.is_some();
        runs || self.stir > 0
            || self.built.is_none()
            || self.handing_in && self.run.is_none()
            || self.picture.is_some()
    }
}

/// The engine's camera.
#[derive(Component)]
struct BoardCamera;

fn set_up(
    mut commands: Commands,
    mut egui: ResMut<'_, EguiGlobalSettings>,
    mut images: ResMut<'_, Assets<Image>>,
    room: Res<'_, Room>,
    card: Option<Res<'_, RenderAdapterInfo>>,
) {
    let target = match room.frames {
        Some(_) => {
            let (x, y) = room.size;
            let image = Image::new_target_texture(x, y, TextureFormat::Rgba8UnormSrgb, None);
            RenderTarget::Image(images.add(image).into())
        }
        None => RenderTarget::default(),
    };
    egui.auto_create_primary_context = false;
    // a software renderer is too slow for anti-aliasing
    let by_processor = card.is_some_and(|c| format!("{:?}", c.device_type) == "Cpu");
    let smooth = if by_processor { Msaa::Off } else { Msaa::Sample4 };
    commands.spawn((
        BoardCamera,
        Camera3d::default(),
        Camera { order: 0, ..Camera::default() },
        target.clone(),
        Eye::lens(),
        Eye::default().transform(),
        Tonemapping::None,
        smooth,
        AmbientLight { brightness: 720.0, ..AmbientLight::default() },
    ));
    let sun = Transform::from_xyz(-3.0, 6.0, 5.0).looking_at(Vec3::ZERO, Vec3::Y);
    commands.spawn((DirectionalLight { illuminance: 1100.0, ..DirectionalLight::default() }, sun));
    commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        target,
        RenderLayers::none(),
        Msaa::Off,
        Tonemapping::None,
        Camera {
            order: 1,
            output_mode: CameraOutputMode::Write {
                blend_state: Some(BlendState::PREMULTIPLIED_ALPHA_BLENDING),
                clear_color: ClearColorConfig::None,
            },
            clear_color: ClearColorConfig::Custom(Color::NONE),
            ..Camera::default()
        },
    ));
}

/// Takes over the latest state of the bench.
fn hear(mut room: ResMut<'_, Room>, mut pace: Option<ResMut<'_, WinitSettings>>, eye: Res<'_, Eye>) {
    let room = &mut *room;
    if room.run.is_none() {
        room.view = room.live.view();
        room.live.take(&mut room.rows);
        if let Some(run) = room.live.handed_in() {
            // nobody works on the car any more: it stays as it was handed in
            room.view.look_back(&mut room.rows, &run, run.lid_open);
            room.run = Some(run);
        }
    }
    if let Some(why) = room.live.trouble() {
        room.told = Some(facts::trouble(&why));
    }
    room.ears.attend(room.volume_pct(), &room.live);
    room.stir = room.stir.saturating_sub(1);
    let rest = if room.screen.is_some() { WATCHED_MS } else { REST_MS };
    let wait = if room.moves() || eye.moves() { FRAME_MS } else { rest };
    let mode = UpdateMode::reactive(Duration::from_millis(wait));
    if let Some(pace) = &mut pace
        && pace.focused_mode != mode
    {
        **pace = WinitSettings { focused_mode: mode, unfocused_mode: mode };
    }
    if let Some((picture, shot)) = &mut room.picture {
        *shot = match *shot {
            Shot::Asked if room.view.number > 0 => {
                if picture.lid_open {
                    let _ = room.live.order(Order::Lid(true));
                }
                let _ = room.live.order(Order::To(room.view.hand_over_s + picture.after_s));
                Shot::Running
            }
            Shot::Running
                if room.drawn > 0 && room.view.time_s + 1e-6 >= room.view.hand_over_s + picture.after_s =>
            {
                Shot::Settling(0)
            }
            Shot::Settling(n) => Shot::Settling(n + 1),
            other => other,
        };
    }
}

/// Builds the engine if the car has changed.
#[expect(clippy::too_many_arguments, reason = "a system takes what it touches")]
fn build(
    mut commands: Commands,
    mut room: ResMut<'_, Room>,
    mut meshes: ResMut<'_, Assets<Mesh>>,
    mut materials: ResMut<'_, Assets<StandardMaterial>>,
    mut paints: ResMut<'_, Paints>,
    mut anchors: ResMut<'_, Anchors>,
    mut eye: ResMut<'_, Eye>,
    old: Query<'_, '_, Entity, (With<OfEngine>, Without<ChildOf>)>,
) {
    let shape = &room.view.first.engine.shape;
    if room.view.number == 0 || room.built.as_ref() == Some(shape) {
        return;
    }
    for e in &old {
        commands.entity(e).despawn();
    }
    *anchors = engine::build(&mut commands, &mut meshes, &mut materials, &mut paints, shape);
    eye.look(Framing::Whole, &anchors, room.aspect, true);
    room.built = Some(shape.clone());
    room.drawn = 0;
}

/// Moves every part to its present position.
#[expect(clippy::too_many_arguments, reason = "a system takes what it touches")]
fn pose(
    mut room: ResMut<'_, Room>,
    mut materials: ResMut<'_, Assets<StandardMaterial>>,
    mut paints: ResMut<'_, Paints>,
    mut eye: ResMut<'_, Eye>,
    time: Res<'_, Time>,
    mut things: Things<'_, '_>,
    mut camera: Single<'_, '_, &mut Transform, (With<BoardCamera>, With<Camera>)>,
    mut paper: ResMut<'_, ClearColor>,
) {
    let t = Palette::of_theme(room.settings.theme);
    paper.0 = engine::colour(t.bg);
    if room.built.is_none() {
        return;
    }
    room.drawn = room.drawn.saturating_add(1);
    let side = &room.view.first;
    engine::repaint(&mut paints, &mut materials, &t, room.settings.theme == Theme::Night);
    let deposit_um = side.truth.as_ref().map(|t| t.deposit_um);
    engine::pose(&side.engine, side.gas.as_deref(), deposit_um, &t, &paints, &mut materials, &mut things);
    eye.step(time.delta_secs(), room.settings.reduced_motion);
    **camera = eye.transform();
}

/// Draws panels and labels, and grants wishes.
#[expect(clippy::too_many_arguments, reason = "a system takes what it touches")]
fn draw(
    mut commands: Commands,
    mut contexts: EguiContexts<'_, '_>,
    mut room: ResMut<'_, Room>,
    anchors: Res<'_, Anchors>,
    mut eye: ResMut<'_, Eye>,
    window: Single<'_, '_, &Window, With<PrimaryWindow>>,
    mut camera: Single<'_, '_, (&mut Camera, &GlobalTransform), With<BoardCamera>>,
    (parts, mut exit): (Query<'_, '_, (&Part, &GlobalTransform, &Aabb)>, MessageWriter<'_, AppExit>),
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    let room = &mut *room;
    OPENED.store(true, Ordering::Relaxed);
    let scale = room.settings.scale();
    if (ctx.zoom_factor() - scale).abs() > 1e-3 {
        ctx.set_zoom_factor(scale);
    }
    let shown = Shown {
        view: &room.view,
        rows: &room.rows,
        scenario: &room.attempt.scenario,
        plate: &room.plate,
        prices: &room.prices,
        settings: &room.settings,
        words: &room.words,
        run: room.run.as_ref(),
        healthy: room.healthy_shows.as_ref(),
        conditioning: room.live.conditioning(),
        told: room.told.as_deref(),
        plays: room.ears.plays(),
    };
    if room.screen.is_some() {
        ctx.enable_accesskit();
    }
    show_focus(&ctx, &mut room.focus);
    let mut root = panels::root(&ctx);
    let out = panels::all(&mut root, &shown, &mut room.state);
    let rect = out.engine.filter(|r| r.width() > 40.0 && r.height() > 40.0);
    let (camera, place) = &mut *camera;
    let (camera, place): (&mut Camera, &GlobalTransform) = (camera, place);
    // while something else is in the middle, the camera still clears the window, and draws one point of it
    let nothing = egui::Rect::from_min_size(egui::pos2(0.0, 0.0), egui::vec2(1.0, 1.0));
    view_port(camera, rect.unwrap_or(nothing), &ctx, &window);
    room.engine_at = rect.map(|r| r * ctx.pixels_per_point());
    if let Some(rect) = rect {
        let aspect = rect.width() / rect.height();
        if (aspect - room.aspect).abs() > 0.01 {
            room.aspect = aspect;
            // a view that was turned by hand is kept
            if !eye.is_turned() {
                eye.look(Framing::Whole, &anchors, aspect, true);
            }
        }
        if room.built.is_some() {
            let lens = Lens { camera, place, rect };
            let slow = matches!(room.view.pace, Pace::Paused) || room.view.pace == Pace::SLOW;
            let how = (slow, room.state.presents);
            board::labels(&ctx, &lens, &anchors, &room.view.first, &room.settings, how);
            let spoken = say("drawing-spoken");
            // there is no pointer in a picture
            let at_front = room.state.front == Front::None && room.picture.is_none();
            if let Some((name, clicked)) =
                board::hands(&ctx, &lens, &mut eye, &parts, &spoken).filter(|_| at_front)
            {
                board::tell(&ctx, &name);
                if clicked {
                    board::open(&mut room.state, &name);
                }
            }
        }
    }
    if !out.wishes.is_empty() {
        room.stir = STIR;
    }
    for wish in out.wishes {
        match room.grant(wish) {
            Some(Wish::Look(look)) => {
                eye.look(look, &anchors, room.aspect, room.settings.reduced_motion);
            }
            Some(Wish::Save(_, folder)) => {
                commands.spawn(Screenshot::primary_window()).observe(
                    move |taken: On<'_, '_, ScreenshotCaptured>, mut room: ResMut<'_, Room>| {
                        room.told = Some(write_picture(&taken.image, &folder));
                        room.stir = STIR;
                    },
                );
            }
            Some(Wish::Close) => {
                exit.write(AppExit::Success);
            }
            _ => {}
        }
    }
    Ok(())
}

/// Handles a request to close the window: it closes at once if nothing would be lost, or at the second request.
fn asked_to_close(
    mut asked: MessageReader<'_, '_, WindowCloseRequested>,
    mut room: ResMut<'_, Room>,
    mut exit: MessageWriter<'_, AppExit>,
) {
    if asked.read().count() == 0 {
        return;
    }
    let room = &mut *room;
    let lost = panels::confirm::work_is_lost(&room.view, &room.rows, room.run.as_ref());
    if lost && room.state.front != Front::Close {
        room.state.front = Front::Close;
        room.stir = STIR;
    } else {
        exit.write(AppExit::Success);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::ecs::system::RunSystemOnce;
    use idlewright::bench::action::{Action, Load};
    use idlewright::bench::record::{Entry, Kind};
    use idlewright::scenario;

    fn room() -> Room {
        let file = store::SCENARIOS[0];
        let mut car = |name: &str| store::car_text(name, None);
        let scenario = scenario::parse_scenario(file.text, file.id, &mut car).expect("ships");
        let desk = Desk {
            read: |_| Err("no scenario here".into()),
            write: |_, _, _, _| Err("nothing is written here".into()),
        };
        let attempt = Attempt { scenario, text: file.text.into() };
        let (picture, screen, frames) = (None, None, None);
        let size = (1600, 900);
        Room::new(Start { attempt, options: Options::default(), desk, picture, screen, frames, size })
            .expect("a room")
    }

    /// The result of a request to close: whether the window closes, and which sheet is in front.
    fn closed(room: Room) -> (bool, Front, Room) {
        let mut world = World::new();
        world.init_resource::<Messages<WindowCloseRequested>>();
        world.init_resource::<Messages<AppExit>>();
        world.insert_resource(room);
        world.write_message(WindowCloseRequested { window: Entity::PLACEHOLDER });
        world.run_system_once(asked_to_close).expect("runs");
        let ends = !world.resource::<Messages<AppExit>>().is_empty();
        let room = world.remove_resource::<Room>().expect("still there");
        (ends, room.state.front.clone(), room)
    }

    #[test]
    fn holds_a_window_with_work_in_it_asks_before_it_closes() {
        let mut one = room();
        one.state.front = Front::None;
        let (ends, _, mut one) = closed(one);
        assert!(ends, "an untouched car is lost to nobody");
        let action = Action::Load(Load::Lamps, true);
        one.rows.log.push(Entry { t_s: 1.0, kind: Kind::Act { id: "hand-1".into(), action } });
        let (ends, front, one) = closed(one);
        assert!(!ends && front == Front::Close, "{front:?}");
        let (ends, ..) = closed(one);
        assert!(ends, "asked for twice");
    }

    #[test]
    fn holds_the_same_attempt_begins_again_with_what_it_was() {
        let mut one = room();
        one.attempt.scenario.about.title = "one of a class".into();
        one.state.front = Front::HandIn;
        assert!(one.grant(Wish::Again).is_none());
        assert_eq!(one.attempt.scenario.about.title, "one of a class", "not what ships under that name");
        assert_eq!(one.state.front, Front::None);
        assert!(one.grant(Wish::Scenario("Z9".into())).is_none());
        assert_eq!(one.told.as_deref(), Some("no scenario here"));
    }
}
