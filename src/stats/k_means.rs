//! Which points lie together?
//!
//! # Method
//! From given centres: every point belongs to the nearest, every centre moves to the mean of its points, until no
//! point changes (S. P. Lloyd, "Least squares quantization in PCM", IEEE Trans. Inf. Theory 28, 1982). Where
//! to start, and which centre is the nearest, is the caller's.

/// Moves the centres `rounds` times at most; the centres, and which of them each point belongs to.
///
/// `relabel` writes the nearest centre of every point and says whether any changed. A centre without points stays.
pub(crate) fn k_means<P, const D: usize>(
    points: &[P],
    mut centres: Vec<P>,
    rounds: usize,
    mut relabel: impl FnMut(&mut [usize], &[P]) -> bool,
) -> (Vec<P>, Vec<usize>)
where
    P: Copy + Into<[f64; D]> + From<[f64; D]>,
{
    let mut label = vec![0; points.len()];
    for round in 0..rounds {
        if !relabel(&mut label, &centres) && round > 0 {
            break;
        }
        let mut sums = vec![([0.0; D], 0.0); centres.len()];
        for (point, k) in points.iter().zip(&label) {
            let (sum, n) = &mut sums[*k];
            let point: [f64; D] = (*point).into();
            for (sum, value) in sum.iter_mut().zip(point) {
                *sum += value;
            }
            *n += 1.0;
        }
        for (centre, (sum, n)) in centres.iter_mut().zip(sums) {
            if n > 0.0 {
                *centre = sum.map(|s| s / n).into();
            }
        }
    }
    (centres, label)
}

/// Gives every point the label that `own` says; whether any changed.
pub(crate) fn told_anew<P>(label: &mut [usize], points: &[P], own: impl Fn(&P) -> usize) -> bool {
    let mut moved = false;
    for (label, point) in label.iter_mut().zip(points) {
        let own = own(point);
        moved |= own != *label;
        *label = own;
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_heaps_are_told_and_a_centre_far_from_all_stays() {
        let points: Vec<[f64; 2]> = (0..40)
            .map(|i| {
                let heap = f64::from(i % 2) * 10.0;
                [heap + 0.1 * f64::from(i % 5), heap]
            })
            .collect();
        let nearest = |centres: &[[f64; 2]], p: &[f64; 2]| {
            let far = |c: &[f64; 2]| (c[0] - p[0]).powi(2) + (c[1] - p[1]).powi(2);
            let order = |a: &usize, b: &usize| far(&centres[*a]).total_cmp(&far(&centres[*b]));
            (0..centres.len()).min_by(order).unwrap()
        };
        let starts = vec![[1.0, 1.0], [7.0, 7.0], [-900.0, 0.0]];
        let (centres, label) = k_means::<_, 2>(&points, starts, 20, |label, centres| {
            told_anew(label, &points, |p| nearest(centres, p))
        });
        assert!((0..40).all(|i| label[i] == i % 2));
        assert!((centres[0][0] - 0.2).abs() < 0.05 && (centres[1][1] - 10.0).abs() < 1e-9);
        assert!((centres[2][0] + 900.0).abs() < 1e-9);
    }
}
