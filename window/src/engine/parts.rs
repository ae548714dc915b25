//! The parts of the drawn engine, built once for each car: crank and wheel, cylinders, intake, exhaust, battery.
//!
//! *Inside*: the shape of each part and its position. *Outside*: how parts move and their colour ([`super`]).

use super::{Anchors, AtX, CROWN, Follows, OfEngine, Paint, Paints, Part, Shape, Size, places};
use bevy::prelude::*;
use bevy::render::render_resource::Face;
use idlewright::bench::action::Connector;
use idlewright::bench::view::EngineShape;
use std::f32::consts::TAU;

/// Thickness of an outline.
const OUTLINE: f32 = 0.015;
/// Angle of the sensor at the wheel, from +Y towards +Z \[deg\].
const SENSOR_DEG: f32 = 62.0;

/// Builds parts with one set of meshes and materials.
struct Builder<'a, 'w, 's> {
    commands: &'a mut Commands<'w, 's>,
    meshes: &'a mut Assets<Mesh>,
    materials: &'a mut Assets<StandardMaterial>,
    paints: &'a mut Paints,
    corners: Vec<Vec3>,
}

impl Builder<'_, '_, '_> {
    fn paint(&mut self, paint: Paint) -> Handle<StandardMaterial> {
        if let Some((_, h)) = self.paints.made.iter().find(|(p, _)| *p == paint) {
            return h.clone();
        }
        let mut m = matt(Color::WHITE);
        m.unlit = !matches!(paint, Paint::Metal | Paint::Dark | Paint::Paper);
        if paint == Paint::Ink || paint == Paint::Edge {
            m.cull_mode = Some(Face::Front);
        }
        let h = self.materials.add(m);
        self.paints.made.push((paint, h.clone()));
        h
    }

    /// Adds a thing with its outline, as a child of another one or on its own.
    fn thing(
        &mut self,
        shape: Shape,
        paint: Paint,
        place: Transform,
        under: Option<Entity>,
        part: &str,
    ) -> Entity {
        let outline = if paint == Paint::Dark { Paint::Edge } else { Paint::Ink };
        if under.is_none() {
            self.corners.extend(shape.corners().map(|c| place.transform_point(c)));
        }
        let hull = self.meshes.add(shape.hull(OUTLINE).mesh());
        let mesh = self.meshes.add(shape.mesh());
        let (surface, ink) = (self.paint(paint), self.paint(outline));
        let e = self.commands.spawn((Mesh3d(mesh), MeshMaterial3d(surface), place, OfEngine)).id();
        if !part.is_empty() {
            self.commands.entity(e).insert(Part(part.into()));
        }
        let round = self.commands.spawn((Mesh3d(hull), MeshMaterial3d(ink), Transform::IDENTITY)).id();
        self.commands.entity(e).add_child(round);
        if let Some(under) = under {
            self.commands.entity(under).add_child(e);
        }
        e
    }
    /// Adds a thing without an outline.
    fn bare(&mut self, shape: Shape, paint: Paint, place: Transform, under: Option<Entity>) -> Entity {
        let mesh = self.meshes.add(shape.mesh());
        let surface = self.paint(paint);
        let e = self.commands.spawn((Mesh3d(mesh), MeshMaterial3d(surface), place, OfEngine)).id();
        if let Some(under) = under {
            self.commands.entity(under).add_child(e);
        }
        e
    }
    fn follows(&mut self, e: Entity, what: Follows) {
        self.commands.entity(e).insert(what);
    }
    /// Adds a connector that can be pulled and put back: plugged in, or a little way off.
    fn plug(
        &mut self,
        (shape, paint, under): (Shape, Paint, Option<Entity>),
        part: &str,
        connector: Connector,
        home: Vec3,
        away: Vec3,
    ) {
        let e = self.thing(shape, paint, Transform::from_translation(home), under, part);
        self.follows(e, Follows::Plug(connector, home, away));
    }
}

fn matt(base_color: Color) -> StandardMaterial {
    StandardMaterial {
        base_color,
        perceptual_roughness: 1.0,
        reflectance: 0.0,
        ..StandardMaterial::default()
    }
}

/// Builds the engine of a car and removes the one before.
pub fn build(
    commands: &mut Commands,
    meshes: &mut Assets<Mesh>,
    materials: &mut Assets<StandardMaterial>,
    paints: &mut Paints,
    shape: &EngineShape,
) -> Anchors {
    paints.gas.clear();
    paints.bricks.clear();
    paints.dark = None;
    let n = shape.banks.len();
    let size = Size::of(shape);
    let places = places(shape);
    let banks = shape.banks.iter().copied().max().unwrap_or(1);
    let ends = |f: fn(f32, f32) -> f32, from: f32| places.iter().map(|p| p.1).fold(from, f);
    let (left, right) =
        (ends(f32::min, f32::MAX) - size.pitch / 2.0, ends(f32::max, f32::MIN) + size.pitch / 2.0);
    let mut b = Builder { commands, meshes, materials, paints, corners: Vec::new() };
    let mut at = Anchors { cylinders: vec![Vec3::ZERO; n], ..Anchors::default() };

    crank(&mut b, shape, &size, &places, (left, right), &mut at);
    for (c, place) in places.iter().enumerate().take(n) {
        cylinder(&mut b, shape, &size, *place, c, &mut at);
    }
    intake(&mut b, shape, &size, &places, (left, right), &mut at);
    for bank in 1..=banks {
        exhaust(&mut b, shape, &size, &places, (left, right), bank, &mut at);
    }
    if shape.egr {
        recirculation(&mut b, shape, &size, &places, right);
    }
    battery(&mut b, left, &mut at);

    at.coolant = Vec3::new(left + 0.1, size.deck() - 0.5, 0.0);
    at.corners = b.corners;
    at.corners.extend(at.cylinders.iter().map(|top| *top + Vec3::Y * 0.15));
    at.v = banks > 1;
    at
}

/// Crank, wheel and its sensor.
fn crank(
    b: &mut Builder<'_, '_, '_>,
    shape: &EngineShape,
    size: &Size,
    places: &[(f32, f32)],
    (left, right): (f32, f32),
    at: &mut Anchors,
) {
    let wheel_x = right + 0.42;
    let r = size.throw;
    let mut body = Shape::round(0.17, 0.17, wheel_x - left + 0.3).along_x().moved(
        (left + wheel_x) / 2.0 - 0.05,
        0.0,
        0.0,
    );
    for (c, (tilt, x)) in places.iter().enumerate() {
        let pin = tilt + -(shape.offsets_deg[c] as f32).to_radians();
        // built upright, then turned to the pin's angle
        let narrow = if places.len() > 4 { 0.55 } else { 1.0 };
        let web = |side: f32| {
            Shape::block(Vec3::new(0.09, r + 0.42, 0.3))
                .moved(x + side * 0.17 * narrow, r / 2.0 - 0.06, 0.0)
                .and(Shape::block(Vec3::new(0.09, 0.26, 0.62)).moved(x + side * 0.17 * narrow, -0.28, 0.0))
        };
        let throw =
            web(1.0).and(web(-1.0)).and(Shape::round(0.13, 0.13, 0.32 * narrow).along_x().moved(*x, r, 0.0));
        body = body.and(throw.at(Transform::from_rotation(Quat::from_rotation_x(pin))));
    }
    let e = b.thing(body, Paint::Dark, Transform::IDENTITY, None, "");
    b.follows(e, Follows::Crank);
    // tooth k is at the sensor when the crank is 6 k past the first tooth's place
    let first_deg = SENSOR_DEG + shape.first_tooth_btdc_deg as f32;
    let wheel = Shape::wheel(size.wheel, 0.10, first_deg);
    let e = b.thing(wheel, Paint::Metal, Transform::IDENTITY, None, "flexplate");
    b.follows(e, Follows::Crank);
    b.commands.entity(e).insert(AtX(wheel_x));
    let rim = [Vec3::Y, -Vec3::Y, Vec3::Z, -Vec3::Z].map(|to| Vec3::X * wheel_x + to * size.wheel);
    b.corners.extend(rim);
    let a = SENSOR_DEG.to_radians();
    let out = Vec3::new(0.0, a.cos(), a.sin());
    let (near, far) = (out * (size.wheel + 0.03), out * (size.wheel + 0.42));
    let x = Vec3::X * wheel_x;
    let _ =
        b.thing(Shape::rod(0.085, near + x, far + x), Paint::Dark, Transform::IDENTITY, None, "crank_sensor");
    let plug = (Shape::block(Vec3::splat(0.2)), Paint::Meas, None);
    b.plug(plug, "crank_sensor", Connector::CrankSensor, far + x, out * 0.25);
    at.wheel = near + x;
    // the pulley at the other end
    let pulley = Shape::round(0.42, 0.42, 0.14).along_x();
    let e = b.thing(pulley, Paint::Metal, Transform::IDENTITY, None, "pulley");
    b.follows(e, Follows::Crank);
    b.commands.entity(e).insert(AtX(left - 0.22));
    alternator(b, left - 0.22);
}

/// Alternator behind the engine, and the belt that drives it from the crank's pulley.
fn alternator(b: &mut Builder<'_, '_, '_>, x: f32) {
    let home = Vec3::new(x, 0.62, -0.78);
    let body = Shape::rod(0.30, home + Vec3::X * 0.1, home + Vec3::X * 0.62);
    let _ = b.thing(body, Paint::Metal, Transform::IDENTITY, None, "alternator");
    let (large, small) = (0.42, 0.17);
    let wheel = Shape::rod(small, home - Vec3::X * 0.07, home + Vec3::X * 0.1);
    let _ = b.thing(wheel, Paint::Dark, Transform::IDENTITY, None, "alternator");
    // the point where a belt leaves a pulley: its components along the line between the pulleys and square to it
    let between = home - Vec3::X * x;
    let (along, long) = (between.normalize(), between.length());
    let square = Vec3::X.cross(along);
    let lean = (large - small) / long;
    let mut belt: Option<Shape> = None;
    for side in [-1.0, 1.0] {
        let out = along * lean + square * side * (1.0 - lean * lean).sqrt();
        let strand = Shape::rod(0.03, out * (large + 0.02), between + out * (small + 0.02));
        belt = Some(match belt {
            None => strand,
            Some(other) => other.and(strand),
        });
    }
    if let Some(belt) = belt {
        b.plug((belt, Paint::Dark, None), "pulley", Connector::Belt, Vec3::X * x, Vec3::NEG_X * 0.35);
    }
}

/// One cylinder, in a coordinate frame of its own with Y along its axis.
fn cylinder(
    b: &mut Builder<'_, '_, '_>,
    shape: &EngineShape,
    size: &Size,
    (tilt, x): (f32, f32),
    c: usize,
    at: &mut Anchors,
) {
    let place = Transform::from_xyz(x, 0.0, 0.0).with_rotation(Quat::from_rotation_x(tilt));
    let frame = b.commands.spawn((place, Visibility::default(), OfEngine)).id();
    let (bore, deck) = (size.bore, size.deck());
    let radius = bore / 2.0;
    let k = c + 1;
    // the liner, cut open in front
    let long = 2.0 * size.throw + CROWN + 0.28;
    let liner = Shape::shell(radius + 0.01, radius + 0.075, long, 0.0, TAU / 2.0);
    let _ = b.thing(
        liner,
        Paint::Metal,
        Transform::from_xyz(0.0, deck - long / 2.0, 0.0),
        Some(frame),
        &format!("rings_{k}"),
    );
    // the head, cut open in front as well
    let head =
        Shape::block(Vec3::new(bore + 0.26, 0.10, radius + 0.08)).moved(0.0, 0.05, -radius / 2.0 - 0.04);
    let _ = b.thing(head, Paint::Metal, Transform::from_xyz(0.0, deck, 0.0), Some(frame), "");
    let piston = Shape::round(radius - 0.012, radius - 0.012, 0.46).moved(0.0, CROWN - 0.23, 0.0);
    let rings = [0.06, 0.12, 0.18]
        .map(|y| Shape::shell(radius - 0.02, radius - 0.006, 0.018, 0.0, TAU).moved(0.0, CROWN - y, 0.0));
    let e = b.thing(piston, Paint::Metal, Transform::IDENTITY, Some(frame), &format!("rings_{k}"));
    b.follows(e, Follows::Piston(c));
    for ring in rings {
        let _ = b.bare(ring, Paint::Soft, Transform::IDENTITY, Some(e));
    }
    let rod = Shape::block(Vec3::new(0.12, size.rod - 0.2, 0.16)).moved(0.0, size.rod / 2.0, 0.0);
    let eye = |r: f32, y: f32| Shape::round(r, r, 0.16).along_x().moved(0.0, y, 0.0);
    let rod = rod.and(eye(0.20, 0.0)).and(eye(0.13, size.rod));
    let e = b.thing(rod, Paint::Dark, Transform::IDENTITY, Some(frame), "");
    b.follows(e, Follows::Rod(c));
    // gas from the crown to the head, cut open like the liner so that the valves can be seen; stretched with the
    // piston's motion
    let gas = Shape::shell(0.0, radius - 0.006, 1.0, 0.0, TAU / 2.0).moved(0.0, -0.5, 0.0);
    let material = b.materials.add(StandardMaterial { unlit: true, ..matt(Color::WHITE) });
    b.paints.gas.push(material.clone());
    let mesh = b.meshes.add(gas.mesh());
    let e = b
        .commands
        .spawn((Mesh3d(mesh), MeshMaterial3d(material), Transform::IDENTITY, OfEngine, Follows::Gas(c)))
        .id();
    b.commands.entity(frame).add_child(e);
    // valves: inlet to the left, exhaust to the right
    for (side, follows) in [(-1.0, Follows::Inlet(c)), (1.0, Follows::Exhaust(c))] {
        let disc =
            Shape::round(0.165, 0.09, 0.06).and(Shape::round(0.022, 0.022, 0.78).moved(0.0, 0.40, 0.0));
        let spring = Shape::round(0.085, 0.085, 0.05).moved(0.0, 0.76, 0.0);
        let place = Transform::from_xyz(side * bore * 0.25, deck - 0.02, 0.03);
        let holder = b.commands.spawn((place, Visibility::default(), OfEngine)).id();
        b.commands.entity(frame).add_child(holder);
        let e =
            b.thing(disc.and(spring), Paint::Dark, Transform::IDENTITY, Some(holder), &format!("valves_{k}"));
        b.follows(e, follows);
    }
    // plug and coil
    let plug = Shape::round(0.03, 0.03, 0.12).and(Shape::round(0.05, 0.05, 0.34).moved(0.0, 0.2, 0.0));
    let _ = b.thing(
        plug,
        Paint::Paper,
        Transform::from_xyz(0.0, deck + 0.03, 0.06),
        Some(frame),
        &format!("plug_{k}"),
    );
    let coil = Shape::block(Vec3::new(0.17, 0.34, 0.17)).moved(0.0, 0.55, 0.0);
    let (home, away) = (Vec3::new(0.0, deck + 0.05, 0.06), Vec3::new(0.0, 0.28, 0.12));
    b.plug((coil, Paint::Dark, Some(frame)), &format!("coil_{k}"), Connector::Coil(k as u8), home, away);
    let star = [0.0, 60.0, 120.0].map(|a: f32| {
        Shape::block(Vec3::new(0.30, 0.035, 0.035))
            .at(Transform::from_rotation(Quat::from_rotation_z(a.to_radians())))
    });
    let [one, two, three] = star;
    let e =
        b.bare(one.and(two).and(three), Paint::Hot, Transform::from_xyz(0.0, deck - 0.07, 0.10), Some(frame));
    b.follows(e, Follows::Spark(c));
    // the injector: into the port, or beside the chamber
    let (tip, tail) = if shape.direct {
        (Vec3::new(-radius + 0.02, deck - 0.03, 0.05), Vec3::new(-radius - 0.30, deck + 0.22, 0.05))
    } else {
        (Vec3::new(-bore * 0.25 - 0.10, deck + 0.22, 0.0), Vec3::new(-bore * 0.25 - 0.36, deck + 0.60, 0.0))
    };
    let body = Shape::rod(0.055, tip, tail).and(Shape::rod(0.03, tip - (tail - tip) * 0.15, tip));
    let _ = b.thing(body, Paint::Paper, Transform::IDENTITY, Some(frame), &format!("injector_{k}"));
    let away = (tail - tip).normalize_or(Vec3::Y) * 0.24;
    let plug = (Shape::block(Vec3::splat(0.13)), Paint::Meas, Some(frame));
    b.plug(plug, &format!("injector_{k}"), Connector::Injector(k as u8), tail, away);
    let aim = if shape.direct { Vec3::new(0.22, -0.16, 0.0) } else { Vec3::new(0.11, -0.22, 0.0) };
    let spray = Shape::round(0.11, 0.015, aim.length()).between(tip + aim, tip);
    let e = b.bare(spray, Paint::Fuel, Transform::IDENTITY, Some(frame));
    b.follows(e, Follows::Spray(c));
    at.cylinders[c] = place.transform_point(Vec3::new(0.0, deck + 0.86, 0.06));
}

/// Height and depth of the middle of the manifold: between the banks of a V, otherwise above and behind.
fn plenum(size: &Size, places: &[(f32, f32)]) -> Vec3 {
    let v = places.iter().any(|p| p.0 != 0.0);
    let (y, z) = if v { (size.deck() + 0.62, 0.0) } else { (size.deck() + 1.22, -0.42) };
    Vec3::new(0.0, y, z)
}

/// Manifold, runners, throttle body, MAF sensor.
fn intake(
    b: &mut Builder<'_, '_, '_>,
    shape: &EngineShape,
    size: &Size,
    places: &[(f32, f32)],
    (left, right): (f32, f32),
    at: &mut Anchors,
) {
    let deck = size.deck();
    let Vec3 { y, z, .. } = plenum(size, places);
    let (x0, x1) = (left + 0.05, right - 0.15);
    let plenum = Shape::block(Vec3::new(x1 - x0, 0.36, 0.40));
    let _ = b.thing(plenum, Paint::Air, Transform::from_xyz((x0 + x1) / 2.0, y, z), None, "intake");
    for (tilt, x) in places {
        let place = Transform::from_xyz(*x, 0.0, 0.0).with_rotation(Quat::from_rotation_x(*tilt));
        let port = place.transform_point(Vec3::new(-size.bore * 0.25 - 0.04, deck + 0.14, -0.10));
        let runner = Shape::rod(0.12, port, Vec3::new(x - 0.12, y - 0.12, z));
        let _ = b.thing(runner, Paint::Air, Transform::IDENTITY, None, "intake");
    }
    // the throttle body, cut open in front
    let long = 0.62;
    let middle = Vec3::new(x0 - long / 2.0, y, z);
    let tube = Shape::shell(size.duct + 0.01, size.duct + 0.06, long, TAU * 0.0, TAU / 2.0).along_x();
    let _ = b.thing(tube, Paint::Metal, Transform::from_translation(middle), None, "throttle_body");
    let plate = Shape::round(size.duct - 0.01, size.duct - 0.01, 0.03).along_x().and(
        Shape::round(0.03, 0.03, 2.0 * size.duct + 0.2)
            .at(Transform::from_rotation(Quat::from_rotation_x(TAU / 4.0))),
    );
    let e = b.thing(plate, Paint::Dark, Transform::from_translation(middle), None, "throttle_body");
    b.follows(e, Follows::Plate);
    let film = Shape::shell(size.duct - 0.05, size.duct + 0.005, 0.10, 0.0, TAU / 2.0).along_x();
    let e = b.bare(film, Paint::Soft, Transform::from_translation(middle + Vec3::X * 0.06), None);
    b.follows(e, Follows::Deposit);
    let home = middle + Vec3::new(0.0, size.duct + 0.14, -0.05);
    let plug = (Shape::block(Vec3::new(0.22, 0.16, 0.2)), Paint::Meas, None);
    b.plug(plug, "throttle_body", Connector::ThrottleBody, home, Vec3::Y * 0.25);
    at.throttle = middle + Vec3::Y * size.duct * 0.4;
    // the duct, with the meter in it
    let duct = Vec3::new(middle.x - long / 2.0 - 0.45, y, z);
    let pipe = Shape::shell(size.duct + 0.01, size.duct + 0.05, 0.9, 0.0, TAU / 2.0).along_x();
    let _ = b.thing(
        pipe,
        Paint::Air,
        Transform::from_translation(duct),
        None,
        if shape.metered { "air_meter" } else { "air_filter" },
    );
    for k in 0..3 {
        let tip = duct + Vec3::new(-0.28 + 0.26 * k as f32, 0.0, 0.0);
        let _ = b.bare(
            Shape::round(0.055, 0.0, 0.13).along_x(),
            Paint::Meas,
            Transform::from_translation(tip),
            None,
        );
    }
    if shape.metered {
        let home = duct + Vec3::new(-0.1, size.duct + 0.14, -0.05);
        let meter = (Shape::block(Vec3::new(0.30, 0.22, 0.24)), Paint::Meas, None);
        b.plug(meter, "air_meter", Connector::AirMeter, home, Vec3::Y * 0.25);
    }
    let filter = Shape::block(Vec3::new(0.42, 0.8, 0.7));
    let _ =
        b.thing(filter, Paint::Paper, Transform::from_translation(duct - Vec3::X * 0.68), None, "air_filter");
    at.air = duct;
    at.manifold = Vec3::new(x0 + 0.55 * (x1 - x0), y + 0.1, z + 0.2);
    let home = Vec3::new(x1 - 0.25, y + 0.24, z);
    let plug = (Shape::block(Vec3::new(0.18, 0.14, 0.18)), Paint::Meas, None);
    b.plug(plug, "sensor_map", Connector::ManifoldPressure, home, Vec3::Y * 0.22);
}

/// A bank's exhaust: stubs, collector, downpipe with its sensor, catalyst cut open in front.
fn exhaust(
    b: &mut Builder<'_, '_, '_>,
    shape: &EngineShape,
    size: &Size,
    places: &[(f32, f32)],
    (left, right): (f32, f32),
    bank: u8,
    at: &mut Anchors,
) {
    let deck = size.deck();
    let name = format!("exhaust_{bank}");
    let mine: Vec<(f32, f32)> =
        places.iter().zip(&shape.banks).filter(|(_, x)| **x == bank).map(|(p, _)| *p).collect();
    let tilt = mine.first().map_or(0.0, |p| p.0);
    // outwards, away from the other bank; behind for a single one
    let front = tilt > 0.0;
    let out = if front { 1.0 } else { -1.0 };
    let place = |x: f32, y: f32, z: f32| {
        Transform::from_rotation(Quat::from_rotation_x(tilt)).transform_point(Vec3::new(x, y, z))
    };
    let (y, z) = (deck + 0.22, out * (size.bore / 2.0 + 0.42));
    let first = mine.iter().map(|p| p.1).fold(f32::MAX, f32::min).max(left);
    // anything that would hide its cylinders is cut away: its stubs end in open cuts, and a line shows where the pipe
    // was
    let starts = if front { right + 0.25 } else { first };
    for (_, x) in &mine {
        let x = x + size.bore * 0.25;
        let (port, joint) = (place(x, deck + 0.12, out * 0.12), place(x + 0.10, y, z));
        let end = if front { port.lerp(joint, 0.42) } else { joint };
        let stub = Shape::rod(0.10, port, end);
        let _ = b.thing(stub, Paint::Metal, Transform::IDENTITY, None, &name);
        if front {
            let cut = Shape::rod(0.075, end, end + (joint - port).normalize_or(Vec3::Z) * 0.03);
            let _ = b.bare(cut, Paint::Soft, Transform::IDENTITY, None);
            let _ = b.bare(Shape::rod(0.012, end, joint), Paint::Soft, Transform::IDENTITY, None);
        }
    }
    if front {
        let line = Shape::rod(0.012, place(first + size.bore * 0.25 + 0.10, y, z), place(starts, y, z));
        let _ = b.bare(line, Paint::Soft, Transform::IDENTITY, None);
        let cut = Shape::rod(0.10, place(starts - 0.02, y, z), place(starts, y, z));
        let _ = b.bare(cut, Paint::Soft, Transform::IDENTITY, None);
    }
    // it passes the wheel; the front one runs further out, so that it hides none of the wheel
    let end = right + if front { 1.55 } else { 0.75 };
    let collector = Shape::rod(0.13, place(starts, y, z), place(end, y, z));
    let corner = place(end, y, z);
    let low = Vec3::new(end + 0.16, 0.75, corner.z);
    let down = Shape::rod(0.13, corner, low);
    let elbow = Shape::round(0.16, 0.16, 0.30).moved(corner.x, corner.y, corner.z);
    let _ = b.thing(collector.and(elbow).and(down), Paint::Metal, Transform::IDENTITY, None, &name);
    let can = Shape::shell(0.27, 0.31, 0.72, 0.0, TAU / 2.0)
        .and(Shape::round(0.13, 0.31, 0.16).moved(0.0, -0.44, 0.0))
        .and(Shape::round(0.31, 0.13, 0.16).moved(0.0, 0.44, 0.0));
    let middle = Transform::from_xyz(low.x, low.y - 0.35, low.z);
    let _ = b.thing(can, Paint::Metal, middle, None, &name);
    brick(b, middle, usize::from(bank) - 1, &name);
    let middle = corner.lerp(low, 0.42);
    let away = Vec3::new(0.75, 0.25, 0.6).normalize();
    let body = Shape::rod(0.05, middle, middle + away * 0.32);
    let part = format!("oxygen_sensor_{bank}");
    let _ = b.thing(body, Paint::Dark, Transform::IDENTITY, None, &part);
    let home = middle + away * 0.36;
    let connector = if bank == 1 { Connector::OxygenSensor1 } else { Connector::OxygenSensor2 };
    b.plug((Shape::block(Vec3::splat(0.15)), Paint::Meas, None), &part, connector, home, away * 0.25);
    at.lambda.push(home);
}

/// The valve on the manifold that lets exhaust gas in, and the pipe to it from the collector of bank 1.
fn recirculation(
    b: &mut Builder<'_, '_, '_>,
    shape: &EngineShape,
    size: &Size,
    places: &[(f32, f32)],
    right: f32,
) {
    let tilt = places.iter().zip(&shape.banks).find(|(_, bank)| **bank == 1).map_or(0.0, |(p, _)| p.0);
    let out = if tilt > 0.0 { 1.0 } else { -1.0 };
    let turned = Transform::from_rotation(Quat::from_rotation_x(tilt));
    let collector =
        |x: f32| turned.transform_point(Vec3::new(x, size.deck() + 0.22, out * (size.bore / 2.0 + 0.42)));
    let plenum = plenum(size, places);
    let seat = Vec3::new(right + 0.45, plenum.y, plenum.z);
    let into = Shape::rod(0.09, Vec3::new(right - 0.16, plenum.y, plenum.z), seat);
    let body = Shape::round(0.15, 0.15, 0.30).moved(seat.x, seat.y, seat.z);
    let motor = Shape::round(0.12, 0.12, 0.26).moved(seat.x, seat.y + 0.28, seat.z);
    // the pipe drops behind the valve, and so hides nothing of the wheel
    let below = Vec3::new(seat.x, collector(seat.x).y + 0.1, seat.z - 0.1);
    let pipe = Shape::rod(0.06, seat, below).and(Shape::rod(0.06, below, collector(seat.x)));
    let _ = b.thing(into.and(pipe), Paint::Metal, Transform::IDENTITY, None, "egr_valve");
    let _ = b.thing(body.and(motor), Paint::Dark, Transform::IDENTITY, None, "egr_valve");
    let home = seat + Vec3::new(0.0, 0.48, 0.0);
    let plug = (Shape::block(Vec3::new(0.18, 0.14, 0.16)), Paint::Meas, None);
    b.plug(plug, "egr_valve", Connector::EgrValve, home, Vec3::Y * 0.24);
}

/// The brick of a catalyst, with the lines of its channels; it has a material of its own, since it may glow.
fn brick(b: &mut Builder<'_, '_, '_>, place: Transform, bank: usize, name: &str) {
    let material = b.materials.add(StandardMaterial { unlit: true, ..matt(Color::WHITE) });
    b.paints.bricks.push(material.clone());
    let mesh = b.meshes.add(Shape::round(0.25, 0.25, 0.66).mesh());
    let parts = (Mesh3d(mesh), MeshMaterial3d(material), place, OfEngine);
    let e = b.commands.spawn((parts, Follows::Brick(bank), Part(name.into()))).id();
    let hull = b.meshes.add(Shape::round(0.25, 0.25, 0.66).hull(OUTLINE).mesh());
    let ink = b.paint(Paint::Ink);
    let round = b.commands.spawn((Mesh3d(hull), MeshMaterial3d(ink), Transform::IDENTITY)).id();
    b.commands.entity(e).add_child(round);
    for k in 0..7 {
        let a = TAU * (k as f32 - 3.0) / 22.0;
        let (x, z) = (0.252 * a.sin(), 0.252 * a.cos());
        let channel = Shape::rod(0.006, Vec3::new(x, -0.33, z), Vec3::new(x, 0.33, z));
        let _ = b.bare(channel, Paint::Soft, Transform::IDENTITY, Some(e));
    }
}

/// Battery with its clamp.
fn battery(b: &mut Builder<'_, '_, '_>, left: f32, at: &mut Anchors) {
    let middle = Vec3::new(left - 1.35, 0.0, 0.35);
    let _ = b.thing(
        Shape::block(Vec3::new(0.95, 0.62, 0.55)),
        Paint::Paper,
        Transform::from_translation(middle),
        None,
        "battery",
    );
    for side in [-0.3, 0.3] {
        let post = middle + Vec3::new(side, 0.36, 0.0);
        let _ = b.thing(
            Shape::round(0.06, 0.05, 0.12),
            Paint::Dark,
            Transform::from_translation(post),
            None,
            "battery",
        );
    }
    let home = middle + Vec3::new(0.3, 0.40, 0.0);
    let clamp = Shape::block(Vec3::new(0.24, 0.09, 0.2)).and(Shape::rod(
        0.04,
        Vec3::ZERO,
        Vec3::new(0.42, 0.16, -0.1),
    ));
    let away = Vec3::new(0.05, 0.32, 0.0);
    b.plug((clamp, Paint::Meas, None), "battery", Connector::Battery, home, away);
    at.battery = middle + Vec3::new(0.0, 0.15, 0.28);
}
