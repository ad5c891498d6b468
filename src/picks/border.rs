//! Where in the repeat do all columns change at once: where does a pick begin, drawdown or none?
//!
//! # Method
//! Between two picks the cloth changes in every column at once. So the squared slope of the learnt repeat along
//! the band, summed over the columns, beats once a pick; the beat's crest is the border between two picks.

use std::f64::consts::TAU;

use ndarray::Array2;

use super::phase::STATES_A_PICK;

/// Phase (picks, 0 to 1) of the border between two picks in the learnt repeat.
pub(crate) fn border_phase(template: &Array2<f32>) -> f64 {
    let states = template.dim().0;
    let (mut re, mut im) = (0.0, 0.0);
    for k in 0..states {
        let before = template.row((k + states - 1) % states);
        let after = template.row((k + 1) % states);
        let steps = before.iter().zip(after);
        let slope: f64 = steps.map(|(a, b)| f64::from((b - a).powi(2))).sum();
        let angle = TAU * k as f64 / STATES_A_PICK as f64;
        re += slope * angle.cos();
        im += slope * angle.sin();
    }
    (im.atan2(re) / TAU).rem_euclid(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_border_lies_where_the_ends_change_sides() {
        let shift = STATES_A_PICK / 4;
        let template = Array2::from_shape_fn((2 * STATES_A_PICK, 6), |(k, j)| {
            let row = (k + shift) / STATES_A_PICK;
            if (row + j).is_multiple_of(2) {
                1.0
            } else {
                -1.0
            }
        });
        let border = border_phase(&template);
        assert!((border - 0.75).abs() < 0.03, "{border}");
    }
}
