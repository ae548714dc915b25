//! The engine in three dimensions, drawn from the model's numbers.
//!
//! *Inside*: the position of each part at the present crank angle, and its colour. *Outside*: the shapes of the parts
//! (`parts`, [`super::shapes`]), the viewpoint and the labels ([`super::board`]).
//!
//! Lengths are the car's own (one unit is 100 mm), except where a part would be too small to see: plate, valves and
//! wheel are thicker than real ones, sparks and sprays larger. Gas is coloured by the stroke; under an open lid by
//! its actual state. The wheel is drawn without its errors: they are hundredths of a degree.
#![expect(clippy::disallowed_methods, reason = "angles of a drawing: nothing simulated sees them")]

mod parts;

pub use self::parts::build;
use super::shapes::Shape;
use bevy::prelude::*;
use idlewright::bench::action::Connector;
use idlewright::bench::view::{EngineShape, EngineView, GasTruth, Stroke};
use idlewright::window::panels::style::Palette;

/// One unit in mm.
const UNIT_MM: f32 = 100.0;
/// Height of the piston crown above its pin.
const CROWN: f32 = 0.30;
/// Highest valve lift.
const LIFT: f32 = 0.10;
/// From cylinder to cylinder, in bores.
const PITCH: f32 = 1.28;
/// Angle between the banks of a V \[deg\].
const V_DEG: f32 = 60.0;

/// A part that can be pointed at, by the name that its card has.
#[derive(Component, Debug, Clone)]
pub struct Part(pub String);

/// What a drawn thing moves with.
#[derive(Component, Debug, Clone, Copy, PartialEq)]
pub enum Follows {
    /// The crank.
    Crank,
    /// The piston of a cylinder, counted from 0.
    Piston(usize),
    /// Its rod.
    Rod(usize),
    /// Its inlet valve.
    Inlet(usize),
    /// Its exhaust valve.
    Exhaust(usize),
    /// Its gas.
    Gas(usize),
    /// Its spark.
    Spark(usize),
    /// Its spray of fuel.
    Spray(usize),
    /// The throttle plate.
    Plate,
    /// Deposit behind the plate.
    Deposit,
    /// The brick of a bank's catalyst, counted from 0.
    Brick(usize),
    /// A connector: the place where it is plugged in, and how far it moves away when it is pulled.
    Plug(Connector, Vec3, Vec3),
}

/// Marks everything that belongs to the present engine.
#[derive(Component)]
pub struct OfEngine;

/// The material of a surface; its colour follows the theme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Paint {
    Metal,
    Dark,
    Paper,
    Air,
    Hot,
    Fuel,
    Ink,
    Edge,
    Meas,
    Soft,
}

/// Handles of the paints.
#[derive(Resource, Default)]
pub struct Paints {
    made: Vec<(Paint, Handle<StandardMaterial>)>,
    gas: Vec<Handle<StandardMaterial>>,
    bricks: Vec<Handle<StandardMaterial>>,
    dark: Option<bool>,
}

/// Points to which the labels lead.
#[derive(Resource, Default, Debug, Clone)]
pub struct Anchors {
    /// Throttle plate.
    pub throttle: Vec3,
    /// MAF sensor, or the duct.
    pub air: Vec3,
    /// Manifold.
    pub manifold: Vec3,
    /// Oxygen sensors by bank.
    pub lambda: Vec<Vec3>,
    /// Wheel at its sensor.
    pub wheel: Vec3,
    /// Battery.
    pub battery: Vec3,
    /// Block, for the coolant.
    pub coolant: Vec3,
    /// Over the head of each cylinder.
    pub cylinders: Vec<Vec3>,
    /// Corners of everything drawn: a view of the whole engine shows them all.
    pub corners: Vec<Vec3>,
    /// True when there are two banks.
    pub v: bool,
}

/// A screen colour, converted for the scene.
pub fn colour(c: bevy_egui::egui::Color32) -> Color {
    Color::srgb_u8(c.r(), c.g(), c.b())
}

/// Dimensions of an engine in units.
struct Size {
    bore: f32,
    throw: f32,
    rod: f32,
    gap: f32,
    wheel: f32,
    duct: f32,
    pitch: f32,
}

impl Size {
    fn of(s: &EngineShape) -> Self {
        let u = |mm: f64| mm as f32 / UNIT_MM;
        Self {
            bore: u(s.bore_mm),
            throw: u(s.stroke_mm) / 2.0,
            rod: u(s.rod_mm),
            gap: u(s.stroke_mm) / (s.compression_ratio as f32 - 1.0).max(1.0),
            wheel: u(s.wheel_radius_mm),
            duct: u(s.throttle_bore_mm) / 2.0,
            pitch: u(s.bore_mm) * PITCH,
        }
    }
    /// Height of the head's underside above the crank's axis.
    fn deck(&self) -> f32 {
        self.throw + self.rod + CROWN + self.gap
    }
}

/// Tilt of each cylinder from upright towards the viewer, and its position along the crank.
fn places(s: &EngineShape) -> Vec<(f32, f32)> {
    let banks = s.banks.iter().copied().max().unwrap_or(1);
    let size = Size::of(s);
    let most = (1..=banks).map(|b| s.banks.iter().filter(|x| **x == b).count()).max().unwrap_or(1);
    let mut met = [0usize; 8];
    s.banks
        .iter()
        .map(|b| {
            let k = met[usize::from(*b) % 8];
            met[usize::from(*b) % 8] += 1;
            let x = (k as f32 - (most as f32 - 1.0) / 2.0) * size.pitch;
            if banks == 1 {
                (0.0, x)
            } else {
                let front = *b == 1;
                let tilt = if front { V_DEG / 2.0 } else { -V_DEG / 2.0 };
                (tilt.to_radians(), x + if front { -0.11 } else { 0.11 })
            }
        })
        .collect()
}

/// A part further along the crank that turns with it.
#[derive(Component)]
pub struct AtX(f32);

/// The tooth at the sensor, from 1; none in the gap.
pub fn tooth_at_sensor(shape: &EngineShape, crank_deg: f64) -> Option<usize> {
    let past = (crank_deg + shape.first_tooth_btdc_deg + 3.0).rem_euclid(360.0);
    let k = (past / 6.0) as usize;
    (k < 58).then_some(k + 1)
}

/// Colour of a cylinder's gas, which is drawn between crown and head.
fn gas_colour(stroke: Stroke, gas: Option<&GasTruth>, t: &Palette) -> Color {
    let (air, burnt, hot) = (colour(t.air), colour(t.gas), colour(t.hot));
    match gas {
        // by its actual state: fresh or burnt, and the hotter, the redder
        Some(g) => mix(mix(air, burnt, g.products), hot, (g.t_k - 900.0) / 900.0),
        None => match stroke {
            Stroke::Intake => air,
            Stroke::Compression => mix(air, colour(t.pencil), 0.12),
            Stroke::Power => hot,
            Stroke::Exhaust => burnt,
        },
    }
}

/// Colour of a catalyst brick, from its own grey through a dull red to a light orange.
fn brick_colour(glow: f64, t: &Palette) -> Color {
    let steps = [colour(t.metal), Color::srgb_u8(0x8E, 0x1F, 0x10), Color::srgb_u8(0xE2, 0x5A, 0x1E)];
    let last = Color::srgb_u8(0xFF, 0xC0, 0x5C);
    let at = 3.0 * glow.clamp(0.0, 1.0);
    let [grey, red, orange] = steps;
    match at {
        x if x < 1.0 => mix(grey, red, x.sqrt()),
        x if x < 2.0 => mix(red, orange, x - 1.0),
        x => mix(orange, last, x - 2.0),
    }
}

/// Mixes a share of the second colour into the first, in linear light.
fn mix(a: Color, b: Color, x: f64) -> Color {
    let (a, b, x) = (a.to_linear(), b.to_linear(), x.clamp(0.0, 1.0) as f32);
    Color::linear_rgb(
        a.red + (b.red - a.red) * x,
        a.green + (b.green - a.green) * x,
        a.blue + (b.blue - a.blue) * x,
    )
}

/// Gives a material this colour, if it has another one.
fn tint(materials: &mut Assets<StandardMaterial>, handle: Option<&Handle<StandardMaterial>>, wanted: Color) {
    if let Some(h) = handle
        && materials.get(h).is_some_and(|m| m.base_color != wanted)
        && let Some(mut m) = materials.get_mut(h)
    {
        m.base_color = wanted;
    }
}

/// Everything that moves.
pub type Things<'w, 's> = Query<
    'w,
    's,
    (&'static Follows, &'static mut Transform, Option<&'static AtX>, Option<&'static mut Visibility>),
    Without<Camera>,
>;

/// Moves every part to its present position.
pub fn pose(
    view: &EngineView,
    gas: Option<&[GasTruth]>,
    deposit_um: Option<f64>,
    t: &Palette,
    paints: &Paints,
    materials: &mut Assets<StandardMaterial>,
    things: &mut Things<'_, '_>,
) {
    let shape = &view.shape;
    let size = Size::of(shape);
    let deck = size.deck();
    let shown = |on: bool| if on { Visibility::Inherited } else { Visibility::Hidden };
    let pin = |c: usize| {
        let a = view.cylinders.get(c).map_or(0.0, |v| v.deg.to_radians()) as f32;
        Vec3::new(0.0, size.throw * a.cos(), size.throw * a.sin())
    };
    let piston = |c: usize| {
        let drop = view.cylinders.get(c).map_or(0.0, |v| v.drop_mm) as f32 / UNIT_MM;
        size.throw + size.rod - drop
    };
    // a cam that is timed late opens the real valves later
    let late = |c: usize| gas.and_then(|g| g.get(c)).map_or(0.0, |g| g.valves_late_deg);
    let lifts = |c: usize| {
        view.cylinders.get(c).map_or((0.0, 0.0), |v| {
            if late(c) == 0.0 { (v.inlet_lift, v.exhaust_lift) } else { shape.lifts(v.deg - late(c)) }
        })
    };
    for (follows, mut place, at_x, visible) in things.iter_mut() {
        match *follows {
            Follows::Crank => {
                place.rotation = Quat::from_rotation_x(view.crank_deg.to_radians() as f32);
                if let Some(AtX(x)) = at_x {
                    place.translation.x = *x;
                }
            }
            Follows::Piston(c) => place.translation.y = piston(c),
            Follows::Rod(c) => {
                let from = pin(c);
                let way = Vec3::new(0.0, piston(c), 0.0) - from;
                place.translation = from;
                place.rotation = Quat::from_rotation_arc(Vec3::Y, way.normalize_or(Vec3::Y));
            }
            Follows::Inlet(c) => place.translation.y = -LIFT * lifts(c).0 as f32,
            Follows::Exhaust(c) => place.translation.y = -LIFT * lifts(c).1 as f32,
            Follows::Gas(c) => {
                let high = (deck - piston(c) - CROWN).max(0.01);
                place.translation.y = deck;
                place.scale.y = high;
                let Some(v) = view.cylinders.get(c) else { continue };
                tint(materials, paints.gas.get(c), gas_colour(v.stroke, gas.and_then(|g| g.get(c)), t));
            }
            Follows::Brick(k) => {
                let glow = view.glow.get(k).copied().unwrap_or(0.0);
                tint(materials, paints.bricks.get(k), brick_colour(glow, t));
            }
            Follows::Spark(c) => {
                if let Some(mut v) = visible {
                    *v = shown(view.cylinders.get(c).is_some_and(|v| v.sparks));
                }
            }
            Follows::Spray(c) => {
                if let Some(mut v) = visible {
                    *v = shown(view.cylinders.get(c).is_some_and(|v| v.injects));
                }
            }
            Follows::Plate => {
                place.rotation = Quat::from_rotation_z(-view.plate_deg.to_radians() as f32);
            }
            Follows::Deposit => {
                // a film of 100 µm is drawn as a tenth of the duct's radius
                let film = deposit_um.unwrap_or(0.0) as f32;
                place.scale.x = (film / 100.0).clamp(0.1, 2.0);
                if let Some(mut v) = visible {
                    *v = shown(film > 1.0);
                }
            }
            Follows::Plug(connector, home, away) => {
                let off = view.pulled.contains(&connector);
                place.translation = if off { home + away } else { home };
            }
        }
    }
}

/// Mixes the paints again after a change of theme.
pub fn repaint(paints: &mut Paints, materials: &mut Assets<StandardMaterial>, t: &Palette, dark: bool) {
    if paints.dark == Some(dark) {
        return;
    }
    paints.dark = Some(dark);
    for (paint, handle) in &paints.made {
        let c = match paint {
            Paint::Metal => t.metal,
            Paint::Dark => t.edge,
            Paint::Paper => t.panel,
            Paint::Air => t.air,
            Paint::Hot => t.accent,
            Paint::Fuel => t.fuel,
            Paint::Ink => t.ink,
            Paint::Edge => t.ink,
            Paint::Meas => t.meas,
            Paint::Soft => t.soft,
        };
        if let Some(mut m) = materials.get_mut(handle) {
            m.base_color = colour(c);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use idlewright::bench::Bench;
    use idlewright::bench::setup::Setup;
    use idlewright::store;
    use idlewright::window::panels::part;
    use idlewright::words::{Words, message_of};

    fn view(car: usize) -> EngineView {
        Bench::standing(&Setup::healthy(store::CARS[car].1, 1, 90.0)).expect("a car that ships").engine_view()
    }

    /// A part under the pointer opens its own card.
    #[test]
    fn holds_every_part_that_is_drawn_has_a_card() {
        for car in 0..store::CARS.len() {
            let mut world = World::new();
            let mut queue = bevy::ecs::world::CommandQueue::default();
            let mut commands = Commands::new(&mut queue, &world);
            let (mut meshes, mut materials) = (Assets::default(), Assets::default());
            let shape = view(car).shape;
            build(&mut commands, &mut meshes, &mut materials, &mut Paints::default(), &shape);
            queue.apply(&mut world);
            let names: std::collections::BTreeSet<String> =
                world.query::<&Part>().iter(&world).map(|p| p.0.clone()).collect();
            assert!(names.len() > 20, "{names:?}");
            for name in &names {
                let base = name.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('_');
                assert!(Words::english().has(&message_of("drawn", base)), "no words for {name}");
            }
            for name in names.iter().filter(|n| *n != "intake") {
                assert!(part::of(name).is_some(), "{name}");
            }
            assert_eq!(names.contains("egr_valve"), shape.egr);
        }
    }

    #[test]
    fn exact_the_first_tooth_is_at_the_sensor_where_the_car_says() {
        let shape = view(0).shape;
        let first = 360.0 - shape.first_tooth_btdc_deg;
        assert_eq!(tooth_at_sensor(&shape, first), Some(1));
        assert_eq!(tooth_at_sensor(&shape, first + 6.0 * 57.0), Some(58));
        assert_eq!(tooth_at_sensor(&shape, first - 6.0), None, "the gap");
    }

    #[test]
    fn holds_every_cylinder_has_a_place_of_its_own() {
        for car in 0..store::CARS.len() {
            let shape = view(car).shape;
            let all = places(&shape);
            assert_eq!(all.len(), shape.banks.len());
            for (k, a) in all.iter().enumerate() {
                assert!(!all[..k].contains(a), "two cylinders in one place");
            }
        }
    }

    #[test]
    fn exact_pistons_stay_under_the_head() {
        let v = view(0);
        let size = Size::of(&v.shape);
        for deg in (0..720).step_by(5) {
            let drop = v.shape.drop_mm(f64::from(deg)) as f32 / UNIT_MM;
            let crown = size.throw + size.rod - drop + CROWN;
            assert!(crown < size.deck() && crown > size.deck() - 2.0 * size.throw - size.gap - 1e-4);
        }
    }
}
