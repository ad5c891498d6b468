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

/// Where a selvedge is looked for.
#[derive(Clone, Debug)]
pub(super) struct Sought {
    /// Outward distance that the strip follows along the band, at each row, mm; missing rows follow none.
    /// It changes so slowly that neighbouring rows are held against each other as if it didn't.
    pub along_mm: Vec<f64>,
    /// First and last distance from there, outward, mm.
    pub range_mm: (f64, f64),
}

impl Sought {
    /// Between two outward distances that hold for all rows, mm.
    pub(super) fn between(from_mm: f64, to_mm: f64) -> Self {
        Self {
            along_mm: Vec::new(),
            range_mm: (from_mm, to_mm),
        }
    }
}

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
    /// The picture's column of each row's first; may lie beyond the picture.
    first: Vec<isize>,
    /// L*, a*, b* of each row's columns, from [`BEYOND`] before its first to as many behind its last.
    lab: Vec<[f32; 3]>,
}

impl<'a> Strip<'a> {
    /// The strip where `sought` says.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a strip within the picture"
    )]
    pub(super) fn new(band: &'a StraightBand, flank: Flank, sought: &Sought) -> Self {
        let sign = flank.sign();
        let (from_mm, to_mm) = sought.range_mm;
        let columns = ((to_mm - from_mm) / band.step_mm).max(2.0) as usize;
        let rows = band.lab[0].nrows();
        let column_of = |t: f64| ((t - band.t0_mm) / band.step_mm).round() as isize;
        let along = sought
            .along_mm
            .iter()
            .copied()
            .chain(std::iter::repeat(0.0));
        let mut strip = Self {
            band,
            sign,
            columns,
            rows,
            first: along
                .take(rows)
                .map(|along| column_of(sign * (along + from_mm)))
                .collect(),
            lab: Vec::new(),
        };
        let mut lab = vec![[0.0; 3]; rows * strip.wide()];
        let lines = lab.par_chunks_mut(strip.wide()).enumerate();
        lines.for_each(|(i, line)| {
            let row = |k: usize| band.lab[k].row(i).to_slice().unwrap_or_default();
            let (l, a, b) = (row(0), row(1), row(2));
            for (colour, c) in line.iter_mut().zip(-BEYOND..) {
                let j = strip.picture_column(i, c);
                *colour = [l[j], a[j], b[j]];
            }
        });
        strip.lab = lab;
        strip
    }

    /// Columns kept of each row.
    fn wide(&self) -> usize {
        self.columns + 2 * BEYOND as usize
    }

    /// The picture's column of a row's column `c`, the nearest where the picture ends.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a column of the picture"
    )]
    fn picture_column(&self, i: usize, c: isize) -> usize {
        let last = self.band.lab[0].ncols() as isize - 1;
        (self.first[i] + self.sign as isize * c).clamp(0, last) as usize
    }

    /// How many samples a length is; at least one.
    #[allow(clippy::cast_sign_loss, reason = "lengths above zero")]
    pub(super) fn samples(&self, mm: f64) -> usize {
        (mm / self.band.step_mm).round().max(1.0) as usize
    }

    /// The picture's columns of a row's own.
    pub(super) fn own_columns(&self, i: usize) -> impl Iterator<Item = usize> {
        (0..self.columns as isize).map(move |c| self.picture_column(i, c))
    }

    /// The colours of a row, from [`BEYOND`] before the strip's first column on.
    fn row(&self, i: usize) -> &[[f32; 3]] {
        &self.lab[i * self.wide()..][..self.wide()]
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
        (c + BEYOND).clamp(0, self.wide() as isize - 1) as usize
    }

    /// Colour of a sample.
    pub(super) fn lab(&self, i: usize, c: isize) -> [f32; 3] {
        self.row(i)[self.kept(c)]
    }

    /// Sums of the colours of row `i` before each column from `−reach` to `columns + reach`.
    pub(super) fn sums(&self, i: usize, reach: usize, sums: &mut Vec<[f32; 3]>) {
        let row = self.row(i);
        let mut sum = [0.0; 3];
        let mut add = |value: &[f32; 3]| {
            sum = [0, 1, 2].map(|k| sum[k] + value[k]);
            sum
        };
        let kept = reach.min(BEYOND as usize);
        let (first, last) = (&row[0], &row[row.len() - 1]);
        let own = &row[BEYOND as usize - kept..row.len() - (BEYOND as usize - kept)];
        sums.clear();
        sums.push([0.0; 3]);
        sums.extend((kept..reach).map(|_| add(first)));
        sums.extend(own.iter().map(&mut add));
        sums.extend((kept..reach).map(|_| add(last)));
    }

    /// Outward distance of a row's column, exactly as sampled.
    pub(super) fn outward_mm(&self, i: usize, c: isize) -> f64 {
        let j = self.picture_column(i, c) as f64;
        self.sign * (self.band.t0_mm + j * self.band.step_mm)
    }
}
