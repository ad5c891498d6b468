//! The strip of samples along one side that its selvedge is looked for in.

use rayon::prelude::*;

use super::StraightBand;

/// Which side of the band: its sign turns `t` into distance outward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Flank {
    /// The weaver's left.
    Left,
    /// The weaver's right.
    Right,
}

impl Flank {
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }
}

/// Columns kept beyond either side of a strip, for what is compared across its boundaries.
const BEYOND: isize = 16;

/// Samples between two outward distances, and a few beyond; columns run outward.
pub(super) struct Strip<'a> {
    /// The picture.
    pub band: &'a StraightBand,
    /// Turns `t` into distance outward.
    pub sign: f64,
    /// Number of columns between the two distances.
    pub columns: usize,
    /// Number of rows: all of the picture's.
    pub rows: usize,
    /// The picture's columns of the strip's, from [`BEYOND`] before its first to as many behind it.
    picture_columns: Vec<usize>,
    /// L*, a*, b* of all of these.
    lab: Vec<[f32; 3]>,
}

impl<'a> Strip<'a> {
    /// The strip between the outward distances `range_mm`.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a strip within the picture"
    )]
    pub(super) fn new(band: &'a StraightBand, flank: Flank, range_mm: (f64, f64)) -> Self {
        let sign = flank.sign();
        let columns = ((range_mm.1 - range_mm.0) / band.step_mm).max(2.0) as usize;
        let (rows, wide) = band.lab[0].dim();
        let picture_columns: Vec<usize> = (-BEYOND..columns as isize + BEYOND)
            .map(|c| {
                let t = sign * (range_mm.0 + c as f64 * band.step_mm);
                let j = ((t - band.t0_mm) / band.step_mm).round();
                j.clamp(0.0, wide as f64 - 1.0) as usize
            })
            .collect();
        let mut lab = vec![[0.0; 3]; rows * picture_columns.len()];
        let lines = lab.par_chunks_mut(picture_columns.len()).enumerate();
        lines.for_each(|(i, line)| {
            let row = |k: usize| band.lab[k].row(i).to_slice().unwrap_or_default();
            let (l, a, b) = (row(0), row(1), row(2));
            for (colour, j) in line.iter_mut().zip(&picture_columns) {
                *colour = [l[*j], a[*j], b[*j]];
            }
        });
        Self {
            band,
            sign,
            columns,
            rows,
            picture_columns,
            lab,
        }
    }

    /// How many samples a length is; at least one.
    #[allow(clippy::cast_sign_loss, reason = "lengths above zero")]
    pub(super) fn samples(&self, mm: f64) -> usize {
        (mm / self.band.step_mm).round().max(1.0) as usize
    }

    /// The picture's columns of the strip's own.
    pub(super) fn own_columns(&self) -> &[usize] {
        &self.picture_columns[BEYOND as usize..][..self.columns]
    }

    /// The colours of a row, from [`BEYOND`] before the strip's first column on.
    fn row(&self, i: usize) -> &[[f32; 3]] {
        let wide = self.picture_columns.len();
        &self.lab[i * wide..][..wide]
    }

    /// The colours of a row's own columns.
    pub(super) fn colours(&self, i: usize) -> &[[f32; 3]] {
        &self.row(i)[BEYOND as usize..][..self.columns]
    }

    /// The same, and the two next farther out.
    pub(super) fn colours_and_two(&self, i: usize) -> &[[f32; 3]] {
        &self.row(i)[BEYOND as usize..][..self.columns + 2]
    }

    /// The nearest kept column to `c`.
    #[allow(clippy::cast_sign_loss, reason = "clamped")]
    fn kept(&self, c: isize) -> usize {
        (c + BEYOND).clamp(0, self.picture_columns.len() as isize - 1) as usize
    }

    /// Colour of a sample.
    pub(super) fn lab(&self, i: usize, c: isize) -> [f32; 3] {
        self.row(i)[self.kept(c)]
    }

    /// Sums of the colours of row `i` before each column from `−reach` to `columns + reach`.
    pub(super) fn sums(&self, i: usize, reach: usize) -> Vec<[f32; 3]> {
        let row = self.row(i);
        let mut sum = [0.0; 3];
        let mut sums = Vec::with_capacity(self.columns + 2 * reach + 1);
        sums.push(sum);
        let reach = reach as isize;
        for c in -reach..self.columns as isize + reach {
            let value = row[self.kept(c)];
            sum = [0, 1, 2].map(|k| sum[k] + value[k]);
            sums.push(sum);
        }
        sums
    }

    /// Outward distance of the strip's column, exactly as sampled.
    pub(super) fn outward_mm(&self, c: isize) -> f64 {
        let j = self.picture_columns[self.kept(c)] as f64;
        self.sign * (self.band.t0_mm + j * self.band.step_mm)
    }
}
