//! The cloth with its stripes and shades taken out: what is left is the weave.
//!
//! A band striped in two colours has lines in its spectra at the stripes' own distance, and they are
//! the strongest ones. But a stripe changes all ends alike, while the weave makes neighbouring
//! ends differ; and what stands between two picks, the furrow, is a dark line narrower than a pick.
//!
//! # Method
//! 1. From every sample take what all columns have in common, and divide by how far the columns
//!    differ around there (over about two picks): a stripe of little contrast counts as much as one
//!    of much.
//! 2. The furrows: the mean lightness closed over [`CLOSED_PICKS`] less itself (black top hat: P.
//!    Soille, *Morphological Image Analysis*, 2nd ed. 2003, ch. 4.5). A step from one stripe to the next
//!    leaves no trace in it. They stand in one more column, as strong as all others together.
//!
//! # Limits
//! Rows that differ from one another only in how many ends show weft lose that difference.

use ndarray::Array2;

use super::pitch::SAMPLES_A_PICK;
use crate::stats::{gaussian_smooth, median, running_max, running_min};

/// A dark line narrower than this share of a pick is a furrow.
const CLOSED_PICKS: f64 = 0.6;

/// Rows are brought to the same contrast, but not those below this share of the usual power.
const LEAST_CONTRAST: f64 = 0.3;

/// From this share of the usual power on a row is fully trusted.
const TRUSTED_CONTRAST: f64 = 0.5;

/// Power of the furrows against that of all ends together.
const FURROW_SHARE: f64 = 0.7;

/// The levelled samples.
#[derive(Clone, Debug)]
pub(crate) struct Level {
    /// Shape (rows, columns · 3 + 3): the last column holds the furrows.
    pub(crate) samples: Array2<f32>,
    /// How far each row is to be trusted, 0 to 1: where the columns hardly differ (a stripe whose
    /// weft has the warp's colour) what is left is shading, and may stand the other way round.
    pub(crate) trust: Vec<f64>,
}

impl Level {
    /// The same, every row trusted by this share of what it was: a path through it bends less.
    pub(crate) fn trusting_less(&self, share: f64) -> Self {
        Self {
            samples: self.samples.clone(),
            trust: self.trust.iter().map(|t| share * t).collect(),
        }
    }

    /// The same, trusting only the rows that `take` accepts.
    pub(crate) fn trusting(&self, take: impl Fn(usize) -> bool) -> Self {
        let trust = self.trust.iter().enumerate();
        Self {
            samples: self.samples.clone(),
            trust: trust.map(|(i, t)| if take(i) { *t } else { 0.0 }).collect(),
        }
    }
}

/// Levels `samples` (high-passed; `raw` before that).
pub(crate) fn levelled(samples: &Array2<f32>, raw: &Array2<f32>) -> Level {
    let (rows, width) = samples.dim();
    let columns = width / 3;
    let mut out = Array2::<f32>::zeros((rows, width + 3));
    let mut spread = vec![0.0; rows];
    let mut light = vec![0.0; rows];
    for i in 0..rows {
        for c in 0..3 {
            let mean = (0..columns).map(|j| samples[[i, 3 * j + c]]).sum::<f32>() / columns as f32;
            for j in 0..columns {
                let own = samples[[i, 3 * j + c]] - mean;
                out[[i, 3 * j + c]] = own;
                spread[i] += f64::from(own.powi(2));
            }
        }
        light[i] = (0..columns)
            .map(|j| f64::from(raw[[i, 3 * j]]))
            .sum::<f64>()
            / columns as f64;
    }
    let around = gaussian_smooth(&spread, SAMPLES_A_PICK as f64);
    let typical = median(&around).unwrap_or(0.0);
    let floor = LEAST_CONTRAST * typical;
    for (i, power) in around.iter().enumerate() {
        let scale = (columns as f64 / (power + floor).max(1e-9)).sqrt() as f32;
        out.row_mut(i).mapv_inplace(|v| v * scale);
    }
    let half = (0.5 * CLOSED_PICKS * SAMPLES_A_PICK as f64).round() as usize;
    let furrows = black_top_hat(&light, half);
    let mean = furrows.iter().sum::<f64>() / rows.max(1) as f64;
    let power = furrows.iter().map(|f| (f - mean).powi(2)).sum::<f64>() / rows.max(1) as f64;
    // A band without furrows must not have its noise blown up: half a grey level is noise.
    let scale = FURROW_SHARE * (columns as f64 / (power + 0.25)).sqrt();
    for (i, furrow) in furrows.iter().enumerate() {
        out[[i, width]] = ((furrow - mean) * scale) as f32;
    }
    Level {
        samples: out,
        trust: around
            .iter()
            .map(|power| (power / (TRUSTED_CONTRAST * typical).max(1e-9)).min(1.0))
            .collect(),
    }
}

/// Closing less the values: dark lines narrower than `2 · half + 1`.
pub(super) fn black_top_hat(values: &[f64], half: usize) -> Vec<f64> {
    let closed = running_min(&running_max(values, half), half);
    closed.iter().zip(values).map(|(c, v)| c - v).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_between_stripes_is_no_furrow_and_a_dark_line_is() {
        let mut light: Vec<f64> = (0..60).map(|i| if i < 30 { 20.0 } else { 70.0 }).collect();
        light[45] = 50.0;
        let furrows = black_top_hat(&light, 4);
        assert!((furrows[45] - 20.0).abs() < 1e-9);
        assert!(
            furrows
                .iter()
                .enumerate()
                .all(|(i, f)| i == 45 || *f < 1e-9)
        );
    }

    #[test]
    fn stripes_of_all_ends_alike_leave_nothing() {
        let samples =
            Array2::from_shape_fn((80, 12), |(i, _)| if i % 20 < 10 { 30.0 } else { -30.0 });
        let flat = levelled(&samples, &samples).samples;
        assert!(
            flat.columns()
                .into_iter()
                .take(12)
                .all(|c| c.iter().all(|v| v.abs() < 1e-3))
        );
    }
}
