//! Shapes for drawing the engine, computed from numbers.
//!
//! *Inside*: blocks, cylinders, half shells, the toothed wheel, and their outlines. *Outside*: their positions
//! ([`super::engine`]).
//!
//! One unit is 100 mm. A shape's outline is the same shape, slightly larger and drawn inside out, so that it shows as
//! an ink line.
#![expect(clippy::disallowed_methods, reason = "angles of a drawing: nothing simulated sees them")]

use bevy::asset::RenderAssetUsages;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::*;
use std::collections::BTreeMap;
use std::f32::consts::TAU;

/// Corners, their normals, and triangles.
#[derive(Debug, Clone, Default)]
pub struct Shape {
    points: Vec<[f32; 3]>,
    normals: Vec<[f32; 3]>,
    triangles: Vec<u32>,
}

impl Shape {
    fn corner(&mut self, p: Vec3, n: Vec3) -> u32 {
        self.points.push(p.to_array());
        self.normals.push(n.to_array());
        self.points.len() as u32 - 1
    }

    /// A flat four-cornered face; seen from its front, the corners run anticlockwise.
    fn face(&mut self, corners: [Vec3; 4]) {
        let n = (corners[1] - corners[0]).cross(corners[2] - corners[0]).normalize_or_zero();
        let k = corners.map(|c| self.corner(c, n));
        self.triangles.extend([k[0], k[1], k[2], k[0], k[2], k[3]]);
    }

    /// A block about the origin.
    pub fn block(size: Vec3) -> Self {
        let h = size / 2.0;
        let mut s = Self::default();
        for (axis, u, v) in
            [(Vec3::X, Vec3::Y, Vec3::Z), (Vec3::Y, Vec3::Z, Vec3::X), (Vec3::Z, Vec3::X, Vec3::Y)]
        {
            for sign in [1.0, -1.0] {
                let (a, u, v) = (axis * sign * h, u * sign * h, v * h);
                s.face([a - u - v, a + u - v, a + u + v, a - u + v]);
            }
        }
        s
    }

    /// A round body along Y about the origin, with its lower and upper radius.
    pub fn round(lower: f32, upper: f32, height: f32) -> Self {
        Self::turned(
            &[(0.0, -height / 2.0), (lower, -height / 2.0), (upper, height / 2.0), (0.0, height / 2.0)],
            0.0,
            TAU,
        )
    }

    /// A pipe along Y about the origin, extending round the Y axis from one angle to another; 0 points to +X, a
    /// quarter turn to −Z. Cut faces are closed.
    pub fn shell(inner: f32, outer: f32, height: f32, from: f32, to: f32) -> Self {
        let h = height / 2.0;
        let rim = [(inner, -h), (outer, -h), (outer, h), (inner, h), (inner, -h)];
        let mut s = Self::turned(&rim, from, to);
        if to - from < TAU - 1e-3 {
            let at = |angle: f32, r: f32, y: f32| Vec3::new(r * angle.cos(), y, -r * angle.sin());
            let cut = |a: f32| [at(a, inner, -h), at(a, outer, -h), at(a, outer, h), at(a, inner, h)];
            s.face(cut(from));
            let last = cut(to);
            s.face([last[1], last[0], last[3], last[2]]);
        }
        s
    }

    /// A profile of radius and height turned round the Y axis; on the outside it runs upwards.
    fn turned(line: &[(f32, f32)], from: f32, to: f32) -> Self {
        let steps = ((to - from) / TAU * 40.0).ceil().max(3.0) as usize;
        let mut s = Self::default();
        for pair in line.windows(2) {
            let ((r0, y0), (r1, y1)) = (pair[0], pair[1]);
            let slope = Vec2::new(y1 - y0, r0 - r1).normalize_or_zero();
            let mut before: Option<(u32, u32)> = None;
            for k in 0..=steps {
                let a = from + (to - from) * k as f32 / steps as f32;
                let (c, sn) = (a.cos(), -a.sin());
                let n = Vec3::new(slope.x * c, slope.y, slope.x * sn);
                let low = s.corner(Vec3::new(r0 * c, y0, r0 * sn), n);
                let high = s.corner(Vec3::new(r1 * c, y1, r1 * sn), n);
                if let Some((l, h)) = before {
                    s.triangles.extend([l, low, high, l, high, h]);
                }
                before = Some((low, high));
            }
        }
        s
    }

    /// A toothed wheel along X about the origin: sixty positions, two of them without a tooth. The middle of tooth
    /// `k` (from 0) is at `first − 6 k` degrees from +Y towards +Z.
    pub fn wheel(radius: f32, thick: f32, first_deg: f32) -> Self {
        let root = radius - 0.075;
        let h = thick / 2.0;
        let hub = 0.16;
        let at = |x: f32, r: f32, deg: f32| {
            let a = deg.to_radians();
            Vec3::new(x, r * a.cos(), r * a.sin())
        };
        let mut s = Self::default();
        for k in 0..60 {
            let middle = first_deg - 6.0 * k as f32;
            let tip = if k < 58 { radius } else { root };
            // a tooth, then the gap after it
            for (from, to, r) in [(middle + 1.5, middle - 1.5, tip), (middle - 1.5, middle - 4.5, root)] {
                s.face([at(h, hub, to), at(h, r, to), at(h, r, from), at(h, hub, from)]);
                s.face([at(-h, hub, from), at(-h, r, from), at(-h, r, to), at(-h, hub, to)]);
                s.face([at(-h, r, from), at(h, r, from), at(h, r, to), at(-h, r, to)]);
            }
            if k < 58 {
                for (edge, sign) in [(middle + 1.5, 1.0), (middle - 1.5, -1.0)] {
                    let mut side =
                        [at(-h, root, edge), at(h, root, edge), at(h, tip, edge), at(-h, tip, edge)];
                    if sign < 0.0 {
                        side.reverse();
                    }
                    s.face(side);
                }
            }
        }
        s
    }

    /// The shape at another place.
    pub fn at(mut self, place: Transform) -> Self {
        for p in &mut self.points {
            *p = place.transform_point(Vec3::from_array(*p)).to_array();
        }
        for n in &mut self.normals {
            *n = (place.rotation * Vec3::from_array(*n)).to_array();
        }
        self
    }
    /// The shape, shifted.
    pub fn moved(self, x: f32, y: f32, z: f32) -> Self {
        self.at(Transform::from_xyz(x, y, z))
    }
    /// Turns a body from the Y axis to the X axis.
    pub fn along_x(self) -> Self {
        self.at(Transform::from_rotation(Quat::from_rotation_z(-TAU / 4.0)))
    }
    /// Moves a body along Y about the origin so that it reaches from one point to another (its height must be their
    /// distance).
    pub fn between(self, from: Vec3, to: Vec3) -> Self {
        let way = (to - from).normalize_or(Vec3::Y);
        let place = Transform::from_translation((from + to) / 2.0);
        self.at(place.with_rotation(Quat::from_rotation_arc(Vec3::Y, way)))
    }
    /// A round rod from one point to another.
    pub fn rod(radius: f32, from: Vec3, to: Vec3) -> Self {
        Self::round(radius, radius, from.distance(to)).between(from, to)
    }
    /// Both shapes as one.
    pub fn and(mut self, other: Self) -> Self {
        let n = self.points.len() as u32;
        self.points.extend(other.points);
        self.normals.extend(other.normals);
        self.triangles.extend(other.triangles.iter().map(|i| i + n));
        self
    }

    /// Corners of its bounding box.
    pub fn corners(&self) -> [Vec3; 8] {
        let all = || self.points.iter().map(|p| Vec3::from_array(*p));
        let (low, high) = (all().reduce(Vec3::min), all().reduce(Vec3::max));
        let (low, high) = (low.unwrap_or_default(), high.unwrap_or_default());
        let pick = |k: usize, bit: usize, axis: usize| if k & bit > 0 { high[axis] } else { low[axis] };
        std::array::from_fn(|k| Vec3::new(pick(k, 1, 0), pick(k, 2, 1), pick(k, 4, 2)))
    }

    /// The shape enlarged by this much in every direction: the part visible beyond the original is its outline.
    pub fn hull(&self, by: f32) -> Self {
        let key = |p: &[f32; 3]| p.map(|x| (x * 2000.0).round() as i64);
        let mut sums: BTreeMap<[i64; 3], Vec3> = BTreeMap::new();
        for (p, n) in self.points.iter().zip(&self.normals) {
            let sum = sums.entry(key(p)).or_default();
            let n = Vec3::from_array(*n);
            // faces that share a corner and a direction count once
            if sum.normalize_or_zero().dot(n) < 0.99 {
                *sum += n;
            }
        }
        let mut hull = self.clone();
        for p in &mut hull.points {
            let away = sums.get(&key(p)).copied().unwrap_or_default().normalize_or_zero();
            *p = (Vec3::from_array(*p) + away * by).to_array();
        }
        hull
    }

    /// The shape as a mesh for the graphics card.
    pub fn mesh(self) -> Mesh {
        Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::default())
            .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, self.points)
            .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, self.normals)
            .with_inserted_indices(Indices::U32(self.triangles))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Checks that the corner order of every triangle puts its front where its normals point.
    fn fronts_as_told(s: &Shape) {
        for (across, n, _) in triangles(s) {
            assert!(across.dot(n) > 0.5, "{across:?} {n:?}");
        }
    }
    fn triangles(s: &Shape) -> Vec<(Vec3, Vec3, Vec3)> {
        let of = |t: &[u32]| {
            let p = |k: usize| Vec3::from_array(s.points[t[k] as usize]);
            let across = (p(1) - p(0)).cross(p(2) - p(0));
            (across, Vec3::from_array(s.normals[t[0] as usize]), (p(0) + p(1) + p(2)) / 3.0)
        };
        let all = s.triangles.chunks(3).map(of).filter(|(a, ..)| a.length() > 1e-9);
        all.map(|(a, n, m)| (a.normalize(), n, m)).collect()
    }

    #[test]
    fn holds_fronts_outwards() {
        for s in [Shape::block(Vec3::new(1.0, 2.0, 3.0)), Shape::round(1.0, 0.5, 2.0)] {
            fronts_as_told(&s);
            assert!(triangles(&s).iter().all(|(_, n, middle)| n.dot(*middle) > 0.0), "away from the middle");
        }
        for s in [
            Shape::shell(0.8, 1.0, 2.0, 0.3, 3.0),
            Shape::wheel(0.9, 0.1, 40.0),
            Shape::rod(0.1, Vec3::ZERO, Vec3::new(1.0, 1.0, 0.5)),
        ] {
            fronts_as_told(&s);
        }
        // a shell that is open towards +Z: its two cut faces point that way
        let open = Shape::shell(0.8, 1.0, 2.0, 0.0, TAU / 2.0);
        let cut = triangles(&open).iter().filter(|(_, n, m)| n.z > 0.99 && m.z.abs() < 1e-4).count();
        assert_eq!(cut, 4);
    }

    #[test]
    fn exact_a_wheel_has_fifty_eight_teeth() {
        let s = Shape::wheel(0.9, 0.1, 0.0);
        let tips = s.points.iter().filter(|p| (p[1].hypot(p[2]) - 0.9).abs() < 1e-4).count();
        // two faces with two corners at the tip, a tip with four, two sides with two
        assert_eq!(tips, 58 * (2 * 2 + 4 + 2 * 2));
    }

    #[test]
    fn holds_an_outline_lies_round_its_shape() {
        let s = Shape::block(Vec3::ONE);
        let h = s.hull(0.01);
        let size = |s: &Shape| {
            s.points.iter().map(|p| p[0].abs().max(p[1].abs()).max(p[2].abs())).fold(0.0, f32::max)
        };
        assert!(size(&h) > size(&s) + 0.005 && size(&h) < size(&s) + 0.0101);
    }
}
