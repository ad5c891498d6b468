//! Fuzz: single hairs that stand out of the yarn. They have no part in the outline.

use super::cloth::{Grid, linear};
use super::layout::stream;
use super::rng::Rng;
use super::weave::Drawn;
use super::yarn::{Knot, Yarn};

/// Thickness of a hair, mm.
const HAIR_MM: f64 = 0.03;

/// Draws every yarn's hairs over the lit cloth, given the mean height of its top,
/// only from where the yarn shows.
pub(super) fn draw_hairs(drawn: &Drawn, height: &Grid<f32>, lit: &mut Grid<[f32; 4]>) {
    let mut rng = Rng::fork(drawn.spec.seed, stream::HAIR);
    for yarn in &drawn.yarns {
        let look = &drawn.looks[yarn.look];
        let colour = linear(look.colour).map(|c| (1.15 * c).min(1.0));
        let count = (look.hairs_per_mm * yarn.length_mm() + rng.unit()) as usize;
        for _ in 0..count {
            hair(yarn, look.hair_mm, colour, height, lit, &mut rng);
        }
    }
}

/// One hair: a curved line from the side of the yarn.
fn hair(
    yarn: &Yarn,
    length_mm: f64,
    colour: [f32; 3],
    height: &Grid<f32>,
    lit: &mut Grid<[f32; 4]>,
    rng: &mut Rng,
) {
    if yarn.knots.len() < 2 {
        return;
    }
    let i = rng.whole(0, yarn.knots.len() - 2);
    let (a, b) = (yarn.knots[i], yarn.knots[i + 1]);
    if f64::from(height.at(a.s as f32, a.t as f32)) > a.z + a.r {
        return;
    }
    let along = (b.t - a.t).atan2(b.s - a.s);
    let side = if rng.chance(0.5) { 1.0 } else { -1.0 };
    let mut heading = along + side * rng.between(0.3, 1.8);
    let (mut s, mut t) = root(&a, along, side);
    let length = length_mm * rng.between(0.3, 1.5);
    let bend = rng.normal() * 1.2 / length_mm.max(0.2);
    let step = 0.7 * lit.cell_mm;
    let strength = (HAIR_MM / lit.cell_mm * rng.between(0.4, 1.0)).min(0.8) as f32;
    let steps = (length / step) as usize;
    for n in 0..steps {
        let fade = 1.0 - 0.6 * n as f32 / steps.max(1) as f32;
        splat(lit, s, t, colour, 0.7 * strength * fade);
        s += step * heading.cos();
        t += step * heading.sin();
        heading += bend * step;
    }
}

/// Where a hair leaves the yarn.
fn root(knot: &Knot, along: f64, side: f64) -> (f64, f64) {
    let out = 0.8 * knot.r * side;
    (knot.s - out * along.sin(), knot.t + out * along.cos())
}

/// Blends a little colour into the four cells around a place.
fn splat(lit: &mut Grid<[f32; 4]>, s: f64, t: f64, colour: [f32; 3], strength: f32) {
    let (x, y) = (
        (s - lit.origin_mm.0) / lit.cell_mm,
        (t - lit.origin_mm.1) / lit.cell_mm,
    );
    if x < 0.0 || y < 0.0 || x >= (lit.nx - 1) as f64 || y >= (lit.ny - 1) as f64 {
        return;
    }
    let (x0, y0) = (x as usize, y as usize);
    let (fx, fy) = ((x - x0 as f64) as f32, (y - y0 as f64) as f32);
    for (dx, dy, share) in [
        (0, 0, (1.0 - fx) * (1.0 - fy)),
        (1, 0, fx * (1.0 - fy)),
        (0, 1, (1.0 - fx) * fy),
        (1, 1, fx * fy),
    ] {
        let cell = &mut lit.values[(y0 + dy) * lit.nx + x0 + dx];
        let alpha = strength * share;
        for c in 0..3 {
            cell[c] += alpha * (colour[c] - cell[c]);
        }
        cell[3] += alpha * (1.0 - cell[3]);
    }
}
