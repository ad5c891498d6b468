//! What every pixel looks at and how much light falls there: exact on a coarse net of pixels,
//! straight lines between.

use super::camera::{Camera, Light};
use super::mapping::Mapping;
use crate::geometry::Point;

/// Distance between nodes of the net, px. Over that distance a map as gently bent as a lens or a
/// curved band departs from a straight line by less than 1/1000 px.
const NET_PX: usize = 8;

/// What one pixel sees.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Node {
    /// Place on the plane, mm.
    pub x: f32,
    pub y: f32,
    /// Place on the band at the height of the plane, mm.
    pub s: f32,
    pub t: f32,
    /// Change of `s` and `t` with height.
    pub ds: f32,
    pub dt: f32,
    /// Light that falls there.
    pub gain: f32,
    /// Light added by glare.
    pub glare: f32,
}

impl Node {
    fn mix(&self, other: &Self, f: f32) -> Self {
        let mix = |a: f32, b: f32| a + (b - a) * f;
        Self {
            x: mix(self.x, other.x),
            y: mix(self.y, other.y),
            s: mix(self.s, other.s),
            t: mix(self.t, other.t),
            ds: mix(self.ds, other.ds),
            dt: mix(self.dt, other.dt),
            gain: mix(self.gain, other.gain),
            glare: mix(self.glare, other.glare),
        }
    }
}

/// The net over one picture.
pub(super) struct Nodes {
    across: usize,
    width: usize,
    nodes: Vec<Node>,
}

impl Nodes {
    pub(super) fn new(camera: &Camera, mapping: &Mapping, size_px: (u32, u32)) -> Self {
        let count = |n: u32| n as usize / NET_PX + 2;
        let (across, down) = (count(size_px.0), count(size_px.1));
        let mut nodes = Vec::with_capacity(across * down);
        for j in 0..down {
            for i in 0..across {
                let px = Point::new((i * NET_PX) as f64, (j * NET_PX) as f64);
                nodes.push(node(camera, mapping, px, size_px));
            }
        }
        Self {
            across,
            width: size_px.0 as usize,
            nodes,
        }
    }

    /// Calls `see` with every pixel of row `y`.
    pub(super) fn along_row(&self, y: usize, mut see: impl FnMut(usize, &Node)) {
        let (j, fy) = (y / NET_PX, (y % NET_PX) as f32 / NET_PX as f32);
        let (top, low) = (
            &self.nodes[j * self.across..],
            &self.nodes[(j + 1) * self.across..],
        );
        for i in 0..self.width.div_ceil(NET_PX) {
            let left = top[i].mix(&low[i], fy);
            let right = top[i + 1].mix(&low[i + 1], fy);
            for step in 0..NET_PX.min(self.width - i * NET_PX) {
                see(
                    i * NET_PX + step,
                    &left.mix(&right, step as f32 / NET_PX as f32),
                );
            }
        }
    }
}

fn node(camera: &Camera, mapping: &Mapping, px: Point, size_px: (u32, u32)) -> Node {
    let place = mapping.view.to_plane(px).unwrap_or_default();
    let (s, t) = mapping.to_band(place);
    let (s1, t1) = mapping.px_to_band(px, 1.0).unwrap_or((s, t));
    let light = &camera.light;
    let (w, h) = (f64::from(size_px.0), f64::from(size_px.1));
    let (u, v) = (2.0 * px.x / w - 1.0, 2.0 * px.y / h - 1.0);
    let (sin, cos) = light.direction.sin_cos();
    let mut gain = light.exposure * (1.0 + light.gradient * (u * cos + v * sin));
    gain *= 1.0 - 0.5 * light.vignette * (u * u + v * v);
    gain *= 1.0 - shade_at(light, place);
    Node {
        x: place.x as f32,
        y: place.y as f32,
        s: s as f32,
        t: t as f32,
        ds: (s1 - s) as f32,
        dt: (t1 - t) as f32,
        gain: gain as f32,
        glare: glare_at(light, place) as f32,
    }
}

fn shade_at(light: &Light, place: Point) -> f64 {
    light.shade.map_or(0.0, |shade| {
        let (sin, cos) = shade.direction.sin_cos();
        let deep = (place.x - shade.at_mm.x) * cos + (place.y - shade.at_mm.y) * sin;
        shade.strength * super::yarn::ease(deep / shade.soft_mm.max(0.1) + 0.5)
    })
}

fn glare_at(light: &Light, place: Point) -> f64 {
    light.glare.map_or(0.0, |glare| {
        let x = place.distance(glare.at_mm) / glare.radius_mm.max(0.1);
        glare.strength * (-x * x).exp()
    })
}
