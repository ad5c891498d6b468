//! How likely is each sample of the straight band cloth? Worked out only where it is asked for.

use std::ops::Range;

use ndarray::Array2;
use rayon::prelude::*;

use super::StraightBand;
use super::colour_model::ColourModel;

/// Log odds of being cloth, of one straight band.
#[derive(Clone, Copy, Debug)]
pub(super) struct Odds<'a> {
    /// The straight picture.
    pub band: &'a StraightBand,
    /// Samples that lie on the photo.
    pub covered: &'a Array2<bool>,
    /// Colours of cloth and ground.
    pub model: &'a ColourModel,
}

impl Odds<'_> {
    /// Those of row `i` at some columns, and where asked for the same against ground that lies in the
    /// light; 0 where the photo ends.
    pub(super) fn of_row(
        &self,
        i: usize,
        columns: &[usize],
        odds: &mut [f32],
        mut against_lit: Option<&mut [f32]>,
    ) {
        let row = |k: usize| self.band.lab[k].row(i).to_slice().unwrap_or_default();
        let lab = [row(0), row(1), row(2)];
        let lit = against_lit.as_deref_mut();
        self.model.log_odds(lab, columns, odds, lit);
        for odds in [Some(odds), against_lit].into_iter().flatten() {
            for (odds, column) in odds.iter_mut().zip(columns) {
                if !self.covered[(i, *column)] {
                    *odds = 0.0;
                }
            }
        }
    }

    /// Those of a part of the picture.
    pub(super) fn of_part(&self, rows: Range<usize>, columns: Range<usize>) -> Array2<f32> {
        let columns: Vec<usize> = columns.collect();
        let mut part = Array2::zeros((rows.len(), columns.len()));
        if let Some(flat) = part.as_slice_mut().filter(|flat| !flat.is_empty()) {
            let lines = flat.par_chunks_mut(columns.len()).zip(rows);
            lines.for_each(|(odds, i)| {
                self.of_row(i, &columns, odds, None);
            });
        }
        part
    }
}
