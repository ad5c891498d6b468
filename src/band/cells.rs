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
    /// L*, a*, b* of each cell's mean light, and its roughness: `4 · ln(1 + SD of L)`.
    pub features: Vec<[f32; 4]>,
}

impl Cells {
    /// Averages the photo.
    pub(super) fn new(photo: &LinearPhoto<'_>, view: &View, cell_mm: f64) -> Self {
        let middle = Point::new(photo.width() as f64 / 2.0, photo.height() as f64 / 2.0);
        let px_per_mm = view
            .to_plane(middle)
            .map_or(1.0, |place| view.px_per_mm(place));
        let size_px = whole((cell_mm * px_per_mm).round().max(1.0));
        let (width, height) = (photo.width() / size_px, photo.height() / size_px);
        // Roughness on a scale near L*: the square root of light.
        let scale: Vec<f32> = (0..=u8::MAX)
            .map(|code| 100.0 * photo.colours.light(code).sqrt())
            .collect();
        let features = (0..width * height)
            .into_par_iter()
            .map(|i| {
                let corner = ((i % width) * size_px, (i / width) * size_px);
                cell_features(photo, &scale, corner, size_px)
            })
            .collect();
        Self {
            width,
            height,
            size_px,
            size_mm: size_px as f64 / px_per_mm,
            features,
        }
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
    scale: &[f32],
    (x0, y0): (usize, usize),
    size: usize,
) -> [f32; 4] {
    let mut sum = [0.0_f32; 3];
    let (mut light, mut light2) = (0.0_f32, 0.0_f32);
    for y in y0..y0 + size {
        for codes in photo.codes(x0, y, size).chunks_exact(3) {
            for (total, code) in sum.iter_mut().zip(codes) {
                *total += photo.colours.light(*code);
            }
            let l = scale[usize::from(codes[1])];
            light += l;
            light2 += l * l;
        }
    }
    let n = (size * size) as f32;
    let [l, a, b] = photo.colours.lab(sum.map(|v| v / n));
    let mean = light / n;
    let sd = (light2 / n - mean * mean).max(0.0).sqrt();
    [l, a, b, 4.0 * (1.0 + sd).ln()]
}
