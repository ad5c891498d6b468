//! Which of some centres is each colour nearest to? Several colours are held against each at once.

use rayon::prelude::*;

use crate::stats::told_anew;

/// Colours that are held against the centres at once.
pub(crate) const AT_ONCE: usize = 8;

/// Fewest of such groups that one core takes.
const GROUPS_A_PART: usize = 64;

/// The centres nearest to some colours.
pub(crate) struct Nearest {
    /// Which.
    pub(crate) own: [u32; AT_ONCE],
    /// Squared distance.
    pub(crate) gap: [f32; AT_ONCE],
}

impl Nearest {
    /// Up to [`AT_ONCE`] colours.
    pub(crate) fn of<C: Copy + Into<[f64; 3]>>(
        colours: impl Iterator<Item = [f32; 3]>,
        centres: &[C],
    ) -> Self {
        let mut x = [[0.0; AT_ONCE]; 3];
        for (n, lab) in colours.take(AT_ONCE).enumerate() {
            (x[0][n], x[1][n], x[2][n]) = (lab[0], lab[1], lab[2]);
        }
        let mut nearest = Self {
            own: [0; AT_ONCE],
            gap: [f32::INFINITY; AT_ONCE],
        };
        for (k, centre) in (0..).zip(centres) {
            nearest.take(k, narrow(*centre), &x);
        }
        nearest
    }

    /// Takes one more centre into account. By itself, so that the compiler works on all colours at once.
    #[inline(never)]
    fn take(&mut self, k: u32, centre: [f32; 3], x: &[[f32; AT_ONCE]; 3]) {
        for n in 0..AT_ONCE {
            let d = (
                x[0][n] - centre[0],
                x[1][n] - centre[1],
                x[2][n] - centre[2],
            );
            let gap = d.0 * d.0 + d.1 * d.1 + d.2 * d.2;
            // A choice between whole numbers by itself would be made with a branch.
            let mask = u32::from(gap < self.gap[n]).wrapping_neg();
            self.gap[n] = if gap < self.gap[n] { gap } else { self.gap[n] };
            self.own[n] = (k & mask) | (self.own[n] & !mask);
        }
    }
}

/// A colour in `f32`: exact to a hundred-thousandth of what tells two colours apart.
fn narrow<C: Into<[f64; 3]>>(colour: C) -> [f32; 3] {
    colour.into().map(|v| v as f32)
}

/// Labels every colour with its nearest centre; whether any label is another than before.
pub(crate) fn relabelled<C: Copy + Into<[f64; 3]> + Sync>(
    label: &mut [usize],
    colours: &[C],
    centres: &[C],
) -> bool {
    let of_some = |(label, some): (&mut [usize], &[C])| {
        let found = Nearest::of(some.iter().map(|colour| narrow(*colour)), centres);
        told_anew(label, &found.own, |k| *k as usize)
    };
    let parts = label
        .par_chunks_mut(AT_ONCE)
        .zip(colours.par_chunks(AT_ONCE));
    parts
        .with_min_len(GROUPS_A_PART)
        .map(of_some)
        .reduce(|| false, |a, b| a || b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_colour_gets_the_nearest_centre_the_first_of_equals() {
        let centres = [[0.0; 3], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0]];
        let colours: Vec<[f64; 3]> = (0..19).map(|n| [f64::from(n % 11), 0.0, 0.0]).collect();
        let mut label = vec![2; colours.len()];
        assert!(relabelled(&mut label, &colours, &centres));
        for (k, colour) in label.iter().zip(&colours) {
            assert_eq!(*k, usize::from(colour[0] > 5.0), "{colour:?}");
        }
        assert!(!relabelled(&mut label, &colours, &centres));
    }
}
