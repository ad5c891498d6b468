//! Lays the band straight: one sampling of the photo along the centre line.

use std::ops::Range;

use ndarray::Array2;
use rayon::prelude::*;

use super::{CentreLine, StraightBand};
use crate::geometry::Point;
use crate::raster::{LinearPhoto, Tile};
use crate::scale::View;

/// Rows and columns that are sampled together, so that what they share of the photo is turned into light
/// once, and lies within the processor's nearest memory. Columns are a multiple of eight.
const BLOCK: (usize, usize) = (32, 40);

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

/// How the photo is read between its pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Reading {
    /// As sharp as it is.
    Sharp,
    /// A little softer, and faster: enough for a first look.
    Soft,
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
    reading: Reading,
) -> (StraightBand, Array2<bool>) {
    let count = |(a, b): (f64, f64)| ((b - a) / window.step_mm).ceil().max(1.0) as usize + 1;
    let (rows, columns) = (count(window.s_mm), count(window.t_mm));
    // Filled in place: a second copy of a large band would double the memory.
    let mut planes = [(); 3].map(|()| vec![0.0_f32; rows * columns]);
    let mut on_photo = vec![false; rows * columns];
    let [l, a, b] = &mut planes;
    let size = BLOCK.0 * columns;
    let strips = (l.par_chunks_mut(size))
        .zip(a.par_chunks_mut(size))
        .zip(b.par_chunks_mut(size))
        .zip(on_photo.par_chunks_mut(size));
    strips.enumerate().for_each(|(k, (((l, a), b), on_photo))| {
        let s = |row: usize| window.s_mm.0 + (k * BLOCK.0 + row) as f64 * window.step_mm;
        let (mut tile, mut places) = (Tile::default(), Vec::new());
        for from in (0..columns).step_by(BLOCK.1) {
            let count = BLOCK.1.min(columns - from);
            places.clear();
            for row in 0..l.len() / columns {
                push_places(view, line, s(row), window, from..from + count, &mut places);
            }
            let in_tile = tile.take(photo, &places);
            let covered = in_tile && tile.covered();
            for (row, places) in places.chunks_exact(count).enumerate() {
                let at = row * columns + from..row * columns + from + count;
                let (l, a, b) = (&mut l[at.clone()], &mut a[at.clone()], &mut b[at.clone()]);
                if in_tile {
                    let mut light = [[0.0; 4]; BLOCK.1];
                    let samples = light.iter_mut().zip(places);
                    match reading {
                        Reading::Sharp => samples.for_each(|(light, &px)| *light = tile.cubic(px)),
                        Reading::Soft => samples.for_each(|(light, &px)| *light = tile.linear(px)),
                    }
                    for (k, light) in light[..count].iter().enumerate() {
                        [l[k], a[k], b[k], _] = *light;
                    }
                } else {
                    for (k, &px) in places.iter().enumerate() {
                        [l[k], a[k], b[k]] = photo.cubic(px);
                    }
                }
                for (on_photo, &px) in on_photo[at].iter_mut().zip(places) {
                    *on_photo = covered || photo.covers(px);
                }
            }
        }
        photo.colours.lab_of_row([l, a, b]);
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

/// Pixels of some columns of a row, from a multiple of eight on: exact at every eighth sample, straight
/// lines between (the view bends by less than a hundredth of a pixel over so short a way).
fn push_places(
    view: &View,
    line: CentreLine,
    s: f64,
    window: Window,
    columns: Range<usize>,
    places: &mut Vec<Point>,
) {
    const EVERY: usize = 8;
    let exact = |j: usize| view.to_px(line.place(s, window.t_mm.0 + j as f64 * window.step_mm));
    let mut a = exact(columns.start);
    for j in columns.clone().step_by(EVERY) {
        let b = exact(j + EVERY);
        for k in 0..EVERY.min(columns.end - j) {
            let share = k as f64 / EVERY as f64;
            places.push(Point::new(
                a.x + share * (b.x - a.x),
                a.y + share * (b.y - a.y),
            ));
        }
        a = b;
    }
}
