//! Columns of a picture side by side, so that several are worked on at once.

use ndarray::Array2;
use rayon::prelude::*;

use crate::band::place_across;

/// Columns that are worked on at once.
pub(super) const LANES: usize = 4;

/// One value of each of them.
pub(super) type Lanes = [f32; LANES];

/// The columns of a picture of three channels, row by row, each channel by itself; a last block that
/// isn't full holds zeros.
pub(super) struct SideBySide {
    blocks: usize,
    values: Vec<Lanes>,
}

impl SideBySide {
    /// Those of a picture of shape (rows, columns · 3).
    pub(super) fn new(picture: &Array2<f32>) -> Self {
        Self::of_rows(picture, picture.dim().0, |row| row)
    }

    /// The same of a cyclic picture, with one row before the first and two behind the last: rows `k` to
    /// `k + 3` lie around the way from row `k` to the next.
    pub(super) fn cyclic(picture: &Array2<f32>) -> Self {
        let rows = picture.dim().0;
        Self::of_rows(picture, rows + 3, |row| (row + rows - 1) % rows)
    }

    fn of_rows(picture: &Array2<f32>, rows: usize, row: impl Fn(usize) -> usize + Sync) -> Self {
        let blocks = (picture.dim().1 / 3).div_ceil(LANES);
        let mut values = vec![Lanes::default(); rows * 3 * blocks];
        let lines = values.par_chunks_mut((3 * blocks).max(1)).enumerate();
        lines.for_each(|(i, line)| {
            let from = picture.row(row(i));
            let from = from.to_slice().unwrap_or_default();
            for (n, colour) in from.as_chunks::<3>().0.iter().enumerate() {
                for (c, value) in colour.iter().enumerate() {
                    line[c * blocks + n / LANES][n % LANES] = *value;
                }
            }
        });
        Self { blocks, values }
    }

    /// One channel of a row.
    pub(super) fn row(&self, row: usize, channel: usize) -> &[Lanes] {
        &self.values[(3 * row + channel) * self.blocks..][..self.blocks]
    }
}

/// How far across all columns lie, from -1 to 1.
pub(super) fn places_across(columns: usize) -> Vec<Lanes> {
    let mut places = vec![Lanes::default(); columns.div_ceil(LANES)];
    for column in 0..columns {
        places[column / LANES][column % LANES] = place_across(column, columns) as f32;
    }
    places
}
