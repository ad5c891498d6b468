//! The coarse look: the photo as square cells of mean colour and roughness.

use crate::geometry::Point;
use crate::raster::LinearPhoto;
use crate::scale::View;
use rayon::prelude::*;

/// The photo in cells of `size_px` × `size_px` pixels, in rows from the top.
#[derive(Debug)]
pub(super) struct Cells {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Side of a cell, px.
    pub size_px: usize,
    /// Side of a cell on the plane, mm, in the picture's middle.
    pub size_mm: f64,
    /// L*, a*, b* of each cell's mean light, and its roughness: `4 · ln(1 + SD of L)`; nothing of cells
    /// that weren't looked at.
    pub features: Vec<[f32; 4]>,
}

impl Cells {
    /// Cuts up the photo; no cell is looked at yet.
    pub(super) fn new(photo: &LinearPhoto<'_>, view: &View, cell_mm: f64) -> Self {
        let middle = Point::new(photo.width() as f64 / 2.0, photo.height() as f64 / 2.0);
        let px_per_mm = view
            .to_plane(middle)
            .map_or(1.0, |place| view.px_per_mm(place));
        let size_px = whole((cell_mm * px_per_mm).round().max(1.0));
        let (width, height) = (photo.width() / size_px, photo.height() / size_px);
        Self {
            width,
            height,
            size_px,
            size_mm: size_px as f64 / px_per_mm,
            features: vec![[0.0; 4]; width * height],
        }
    }

    /// Averages the photo in those cells that `wanted` accepts.
    pub(super) fn look(&mut self, photo: &LinearPhoto<'_>, wanted: impl Fn(usize) -> bool + Sync) {
        // What the sums of a cell grow by: light, and roughness on a scale near L*, the square root of
        // light.
        let codes: Vec<(f32, f32)> = (0..=u8::MAX)
            .map(|code| photo.colours.light(code))
            .map(|light| (light, 100.0 * light.sqrt()))
            .collect();
        let (width, size_px) = (self.width, self.size_px);
        let features = self.features.par_iter_mut().enumerate();
        features
            .filter(|(i, _)| wanted(*i))
            .for_each(|(i, features)| {
                let corner = ((i % width) * size_px, (i / width) * size_px);
                *features = cell_features(photo, &codes, corner, size_px);
            });
    }

    /// The pixel at the centre of cell `(x, y)`.
    pub(super) fn centre_px(&self, x: usize, y: usize) -> Point {
        let half = (self.size_px as f64 - 1.0) / 2.0;
        let at = |i: usize| (i * self.size_px) as f64 + half;
        Point::new(at(x), at(y))
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded and positive"
)]
fn whole(v: f64) -> usize {
    v as usize
}

fn cell_features(
    photo: &LinearPhoto<'_>,
    of_codes: &[(f32, f32)],
    (x0, y0): (usize, usize),
    size: usize,
) -> [f32; 4] {
    let mut sum = [0.0_f32; 4];
    let mut light2 = 0.0_f32;
    for y in y0..y0 + size {
        let (pixels, _) = photo.codes(x0, y, size).as_chunks::<3>();
        for codes in pixels {
            let [(red, _), (green, light), (blue, _)] =
                codes.map(|code| of_codes.get(usize::from(code)).copied().unwrap_or_default());
            for (total, value) in sum.iter_mut().zip([red, green, blue, light]) {
                *total += value;
            }
            light2 += light * light;
        }
    }
    let n = (size * size) as f32;
    let [red, green, blue, light] = sum;
    let [l, a, b] = photo.colours.lab([red, green, blue].map(|v| v / n));
    let mean = light / n;
    let sd = (light2 / n - mean * mean).max(0.0).sqrt();
    [l, a, b, 4.0 * (1.0 + sd).ln()]
}
