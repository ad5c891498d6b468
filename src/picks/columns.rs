//! The cloth as columns that run with the selvedges.
//!
//! Which columns of the picture stay on the same end all along the band? A band draws in and
//! meanders, so a column keeps its *share* of the width, not its distance from the centre line.
//!
//! # Method
//! 1. Smooth both selvedges along the band (the weft turns make them run in and out).
//! 2. Cut the width between them into equal columns, a little inside the selvedges.
//! 3. Average each row of the straight picture over each column.
//! 4. Take out the shadow that lies on the ground beside: in L* + 16, a*, b* it takes the same share
//!    of all three.
//! 5. Shift each column along the band by as much as the picks lean there ([`Lean`](crate::band::Lean)): a row then
//!    follows a pick from selvedge to selvedge, and midway across it stays where it is.

use ndarray::{Array2, Array3, CowArray, Ix2};
use rayon::prelude::*;

use crate::band::{BandTrace, place_across};
use crate::stats::gaussian_smooth;

/// Share of the width left out at each selvedge: the turns of the weft lie there, not cells.
pub(super) const INSET: f64 = 0.015;

/// The cloth cut into columns.
#[derive(Clone, Debug)]
pub(crate) struct Columns {
    /// CIE Lab, shape (rows along, columns across, 3).
    pub(crate) lab: Array3<f32>,
    /// `s` of row 0, mm.
    pub(crate) s0_mm: f64,
    /// Distance between rows, mm.
    pub(crate) step_mm: f64,
    /// The sway of the selvedges at each row, mm ([`BandTrace::sway_mm`]).
    pub(crate) sway_mm: Vec<f64>,
}

impl Columns {
    /// Cuts the traced band into `count` columns; `smooth_mm` is the Gaussian's sigma along the
    /// selvedges.
    pub(crate) fn cut(trace: &BandTrace, count: usize, smooth_mm: f64) -> Self {
        Self::cut_rows(trace, count, smooth_mm, 1)
    }

    /// The same of one row in so many.
    pub(crate) fn cut_rows(trace: &BandTrace, count: usize, smooth_mm: f64, one_in: usize) -> Self {
        let straight = &trace.straight;
        let (rows, across) = straight.lab[0].dim();
        let sigma = smooth_mm / straight.step_mm;
        let (first, last) = cloth_rows(trace, rows);
        let smooth = |edge: &[f64]| {
            let inner = gaussian_smooth(&edge[first..=last], sigma);
            let mut all = vec![inner[0]; rows];
            all[first..=last].copy_from_slice(&inner);
            all[last..].fill(inner[inner.len() - 1]);
            all
        };
        let (left, right) = (smooth(&trace.left_mm), smooth(&trace.right_mm));
        let taken = rows.div_ceil(one_in);
        let mut flat = vec![0.0f32; taken * count * 3];
        flat.par_chunks_mut(count * 3)
            .enumerate()
            .for_each(|(k, row)| {
                let i = k * one_in;
                let to_column = |t_mm: f64| (t_mm - straight.t0_mm) / straight.step_mm + 0.5;
                let (from, to) = (to_column(left[i]), to_column(right[i]));
                let (from, wide) = (
                    from + INSET * (to - from),
                    (1.0 - 2.0 * INSET) * (to - from),
                );
                let line = |c: usize| straight.lab[c].row(i).to_slice().unwrap_or_default();
                let sums = running_sums([line(0), line(1), line(2)]);
                let (colours, _) = row.as_chunks_mut::<3>();
                for (j, colour) in colours.iter_mut().enumerate() {
                    let a = from + wide * j as f64 / count as f64;
                    let b = from + wide * (j + 1) as f64 / count as f64;
                    *colour = mean_between(&sums, a, b, across);
                }
                if let Some([left, right]) = &trace.light {
                    into_usual_light(row, left[i], right[i]);
                }
            });
        let lab = Array3::from_shape_vec((taken, count, 3), flat).unwrap_or_default();
        let step_mm = straight.step_mm * one_in as f64;
        Self {
            lab: laid_level(lab, |k| {
                trace.lean.at_mm(straight.s0_mm + step_mm * k as f64) / step_mm
            }),
            s0_mm: straight.s0_mm,
            step_mm,
            sway_mm: (0..rows)
                .step_by(one_in)
                .map(|i| trace.sway_mm(i))
                .collect(),
        }
    }

    /// Row (fractional) of the place `s_mm`.
    pub(crate) fn row_of(&self, s_mm: f64) -> f64 {
        (s_mm - self.s0_mm) / self.step_mm
    }

    /// The picture with the channels of a column beside one another: shape (rows, columns · 3).
    pub(super) fn flat(&self) -> CowArray<'_, f32, Ix2> {
        let (rows, columns, channels) = self.lab.dim();
        self.lab
            .to_shape((rows, columns * channels))
            .expect("the array is contiguous")
    }

    /// Resamples to one row for each place in `places` (fractional rows, ascending), each the mean
    /// over its share of the way to its neighbours: shape (places, columns · 3).
    pub(crate) fn resample(&self, places: &[f64]) -> Array2<f32> {
        let flat = self.flat();
        let (rows, width) = flat.dim();
        let mut sums = Array2::<f64>::zeros((rows + 1, width));
        let mut sum = vec![0.0; width];
        for i in 0..rows {
            for (sum, value) in sum.iter_mut().zip(flat.row(i)) {
                *sum += f64::from(*value);
            }
            for (out, sum) in sums.row_mut(i + 1).iter_mut().zip(&sum) {
                *out = *sum;
            }
        }
        let mut out = vec![0.0; places.len() * width];
        let lines = out.par_chunks_mut(width.max(1)).enumerate();
        lines.for_each(|(i, line)| {
            let before = if i > 0 {
                places[i] - places[i - 1]
            } else {
                places[1] - places[0]
            };
            let after = if i + 1 < places.len() {
                places[i + 1] - places[i]
            } else {
                before
            };
            let (a, b) = (
                places[i] - 0.5 * before.max(1.0),
                places[i] + 0.5 * after.max(1.0),
            );
            let (a, b) = (
                (a + 0.5).clamp(0.0, rows as f64 - 1.0),
                (b + 0.5).clamp(1.0, rows as f64),
            );
            let b = b.max(a + 1e-3);
            let (upper, lower) = (at(&sums, b), at(&sums, a));
            for (j, value) in line.iter_mut().enumerate() {
                *value = ((upper(j) - lower(j)) / (b - a)) as f32;
            }
        });
        Array2::from_shape_vec((places.len(), width), out).unwrap_or_default()
    }
}

/// The columns shifted so that picks lie level that lean by `lean`: so many rows farther along at the right selvedge
/// than midway, at each row.
fn laid_level(lab: Array3<f32>, lean: impl Fn(usize) -> f64 + Sync) -> Array3<f32> {
    let (rows, count, _) = lab.dim();
    if rows == 0 || (lean(0) == 0.0 && lean(rows - 1) == 0.0) {
        return lab;
    }
    let mut level = vec![0.0f32; rows * count * 3];
    let lines = level.par_chunks_mut(count * 3).enumerate();
    lines.for_each(|(i, line)| {
        let lean = lean(i);
        let (colours, _) = line.as_chunks_mut::<3>();
        for (j, colour) in colours.iter_mut().enumerate() {
            let across = place_across(j, count);
            let at = (i as f64 + lean * across).clamp(0.0, rows as f64 - 1.0);
            let (before, share) = (at as usize, at.fract() as f32);
            let after = (before + 1).min(rows - 1);
            *colour = [0, 1, 2].map(|c| {
                let (a, b) = (lab[(before, j, c)], lab[(after, j, c)]);
                a + share * (b - a)
            });
        }
    });
    Array3::from_shape_vec((rows, count, 3), level).unwrap_or_default()
}

/// A row's colours as they would be in the usual light, given its share at both selvedges.
fn into_usual_light(row: &mut [f32], left: f32, right: f32) {
    let columns = (row.len() / 3) as f32;
    for (j, lab) in row.chunks_exact_mut(3).enumerate() {
        let across = (j as f32 + 0.5) / columns;
        let light = (left + across * (right - left)).max(0.3);
        lab[0] = (lab[0] + 16.0) / light - 16.0;
        lab[1] /= light;
        lab[2] /= light;
    }
}

/// First and last row of the picture inside the cloth.
fn cloth_rows(trace: &BandTrace, rows: usize) -> (usize, usize) {
    let row = |s_mm: f64| {
        ((s_mm - trace.straight.s0_mm) / trace.straight.step_mm).clamp(0.0, rows as f64 - 1.0)
    };
    let (a, b) = (
        row(trace.cloth_mm.0).ceil() as usize,
        row(trace.cloth_mm.1).floor() as usize,
    );
    if a < b { (a, b) } else { (0, rows - 1) }
}

/// The running sum at a fractional place, by column.
fn at(sums: &Array2<f64>, place: f64) -> impl Fn(usize) -> f64 + '_ {
    let last = sums.dim().0 - 1;
    let i = (place.floor().max(0.0) as usize).min(last - 1);
    let f = (place - i as f64).clamp(0.0, 1.0);
    let (before, after) = (sums.row(i), sums.row(i + 1));
    move |column| before[column] * (1.0 - f) + after[column] * f
}

/// Sums of everything before each sample, of the three channels side by side.
fn running_sums(lab: [&[f32]; 3]) -> Vec<[f64; 3]> {
    let mut sums = Vec::with_capacity(lab[0].len() + 1);
    let mut sum = [0.0; 3];
    sums.push(sum);
    for ((l, a), b) in lab[0].iter().zip(lab[1]).zip(lab[2]) {
        for (total, value) in sum.iter_mut().zip([l, a, b]) {
            *total += f64::from(*value);
        }
        sums.push(sum);
    }
    sums
}

/// Mean between two fractional borders (border `k` lies before sample `k`).
fn mean_between(sums: &[[f64; 3]], a: f64, b: f64, across: usize) -> [f32; 3] {
    let top = across as f64;
    let (a, b) = (a.clamp(0.0, top - 1e-3), b.clamp(1e-3, top));
    let b = b.max(a + 1e-3);
    let read = |x: f64| {
        let i = (x as usize).min(across - 1);
        let f = x - i as f64;
        [0, 1, 2].map(|c| sums[i][c] * (1.0 - f) + sums[i + 1][c] * f)
    };
    let (low, high) = (read(a), read(b));
    [0, 1, 2].map(|c| ((high[c] - low[c]) / (b - a)) as f32)
}
