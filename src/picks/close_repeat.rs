//! How like the learnt repeat is a place, and how strongly does it show it?
//!
//! The correlation of the levelled samples with the repeat, sought about the place's middle; and by least squares
//! how much of the repeat is in them where it was expected.

use ndarray::Array2;

use super::likeness::{Place, Products};

/// The repeat is sought so far about a middle, in so many steps either way, and held against so many rows about
/// it; where it was expected against some more. Spacings.
const REPEAT_SOUGHT: (f64, i32) = (0.4, 4);
const REPEAT_ROWS: (f64, f64) = (0.25, 0.3);

/// The learnt repeat and the samples that may show it.
pub(super) struct Repeat<'a> {
    pub(super) level: &'a Array2<f32>,
    pub(super) template: &'a Array2<f32>,
}

impl Repeat<'_> {
    /// Correlation of a place with the repeat, the greatest about its middle where it is `sought`, and how
    /// strong the repeat is where it was expected.
    pub(super) fn seen(&self, place: &Place, sought: bool) -> (f64, f64) {
        let expected = self.at(place, 0.0, REPEAT_ROWS.1);
        if !sought {
            return (expected.correlation(), expected.gain());
        }
        let (reach, steps) = REPEAT_SOUGHT;
        let about = (-steps..=steps).map(|k| {
            let off = reach * f64::from(k) / f64::from(steps);
            self.at(place, off, REPEAT_ROWS.0).correlation()
        });
        (about.fold(f64::NEG_INFINITY, f64::max), expected.gain())
    }

    fn at(&self, place: &Place, off: f64, half: f64) -> Products {
        let reach = (half * place.spacing).round() as i64;
        // The last three values of a row are the furrows, which stripes have too.
        let cells = self.level.dim().1 - 3;
        Products::new(
            self.level,
            self.template,
            (place, off),
            (-reach..=reach, cells),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::super::phase::STATES_A_PICK;
    use super::*;

    #[test]
    fn a_repeat_that_lies_a_third_of_a_pick_off_is_found_where_it_is_sought() {
        let states = 2 * STATES_A_PICK;
        let wave = |phase: f64, j: usize| {
            (std::f64::consts::PI * phase).sin() as f32 * [1.0, -1.0][j / 3 % 2]
        };
        let template = Array2::from_shape_fn((states, 15), |(k, j)| {
            wave(k as f64 / STATES_A_PICK as f64, j)
        });
        let level = Array2::from_shape_fn((120, 15), |(i, j)| wave((i as f64 - 5.0) / 14.0, j));
        let repeat = Repeat {
            level: &level,
            template: &template,
        };
        let place = Place {
            middle: 56.0,
            spacing: 14.0,
            phase: 4.0,
            inward: 1.0,
        };
        let (expected, gain) = repeat.seen(&place, false);
        let (sought, _) = repeat.seen(&place, true);
        assert!(
            sought > expected + 0.05 && sought > 0.9 && gain < 0.95,
            "{sought} {expected} {gain}"
        );
    }
}
