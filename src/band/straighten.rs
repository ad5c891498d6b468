//! Lays the band straight: one sampling of the photo along the centre line.

use ndarray::Array2;
use rayon::prelude::*;

use super::{CentreLine, StraightBand};
use crate::geometry::Point;
use crate::raster::LinearPhoto;
use crate::scale::View;

/// The stretch of the plane that is laid straight.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    /// First and last `s`, mm.
    pub(crate) s_mm: (f64, f64),
    /// First and last `t`, mm.
    pub(crate) t_mm: (f64, f64),
    /// Distance between samples, mm.
    pub(crate) step_mm: f64,
}

/// Samples the window; the second value says of every sample whether it lies on the photo.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "sizes of a window that lies on a photo"
)]
pub(crate) fn straighten(
    photo: &LinearPhoto<'_>,
    view: &View,
    line: CentreLine,
    window: Window,
) -> (StraightBand, Array2<bool>) {
    let count = |(a, b): (f64, f64)| ((b - a) / window.step_mm).ceil().max(1.0) as usize + 1;
    let (rows, columns) = (count(window.s_mm), count(window.t_mm));
    // Filled in place: a second copy of a large band would double the memory.
    let mut planes = [(); 3].map(|()| vec![0.0_f32; rows * columns]);
    let mut on_photo = vec![false; rows * columns];
    let [l, a, b] = &mut planes;
    let lines = (l.par_chunks_mut(columns))
        .zip(a.par_chunks_mut(columns))
        .zip(b.par_chunks_mut(columns))
        .zip(on_photo.par_chunks_mut(columns));
    lines.enumerate().for_each(|(i, (((l, a), b), on_photo))| {
        let s = window.s_mm.0 + i as f64 * window.step_mm;
        for (j, px) in row_places(view, line, s, window, columns)
            .into_iter()
            .enumerate()
        {
            [l[j], a[j], b[j]] = photo.colours.lab(photo.cubic(px));
            on_photo[j] = photo.covers(px);
        }
    });
    let shape = (rows, columns);
    let plane = |values| Array2::from_shape_vec(shape, values).unwrap_or_default();
    let straight = StraightBand {
        lab: planes.map(plane),
        step_mm: window.step_mm,
        s0_mm: window.s_mm.0,
        t0_mm: window.t_mm.0,
        centre_line: line,
    };
    let covered = Array2::from_shape_vec(shape, on_photo).unwrap_or_default();
    (straight, covered)
}

/// Pixels of one row: exact at every eighth sample, straight lines between (the view bends by less
/// than a hundredth of a pixel over so short a way).
fn row_places(view: &View, line: CentreLine, s: f64, window: Window, columns: usize) -> Vec<Point> {
    const EVERY: usize = 8;
    let exact = |j: usize| view.to_px(line.place(s, window.t_mm.0 + j as f64 * window.step_mm));
    let mut places = Vec::with_capacity(columns);
    let mut j = 0;
    let mut a = exact(0);
    while j < columns {
        let b = exact(j + EVERY);
        for k in 0..EVERY.min(columns - j) {
            let share = k as f64 / EVERY as f64;
            places.push(Point::new(
                a.x + share * (b.x - a.x),
                a.y + share * (b.y - a.y),
            ));
        }
        a = b;
        j += EVERY;
    }
    places
}
