//! What is usual among values of which a few are odd?
//!
//! The median and other quantiles, the median absolute deviation, and the slope that most pairs agree on. None of
//! them moves when a fifth of the values goes wild, which is what a pulled selvedge or a loose
//! stretch does to a row of figures.
//!
//! References: P. K. Sen, *J. Am. Stat. Assoc.* 63 (1968) 1379, for the slope.

/// Makes a median absolute deviation read as a standard deviation for normal data: 1 / Φ⁻¹(¾).
pub(crate) const NORMAL_MAD: f64 = 1.482_602_218_505_602;

/// The middle value, the mean of the two middle ones where there is an even number.
///
/// `None` for an empty slice.
///
/// ```
/// assert_eq!(evenfell::stats::median(&[3.0, 1.0, 100.0, 2.0]), Some(2.5));
/// ```
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let mut values = values.to_vec();
    let half = values.len() / 2;
    let odd = values.len() % 2 == 1;
    let (below, middle, _) = values.select_nth_unstable_by(half, f64::total_cmp);
    if odd {
        return Some(*middle);
    }
    let before = below.iter().copied().max_by(f64::total_cmp)?;
    Some(f64::midpoint(before, *middle))
}

/// The value that a share of all stay below, `share` from 0 to 1; between two values by a straight line
/// (definition 7 of R. J. Hyndman and Y. Fan, *Am. Stat.* 50 (1996) 361).
///
/// `None` for an empty slice.
///
/// ```
/// assert_eq!(evenfell::stats::quantile(&[3.0, 1.0, 2.0], 0.25), Some(1.5));
/// ```
#[must_use]
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let last = values.len().checked_sub(1)?;
    let mut values = values.to_vec();
    let at = share.clamp(0.0, 1.0) * last as f64;
    let (_, low, above) = values.select_nth_unstable_by(at as usize, f64::total_cmp);
    let next = above.iter().copied().min_by(f64::total_cmp).unwrap_or(*low);
    Some(*low + at.fract() * (next - *low))
}

/// The median absolute deviation from the median, unscaled. `None` for an empty slice.
#[must_use]
pub fn mad(values: &[f64]) -> Option<f64> {
    let middle = median(values)?;
    let off: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
    median(&off)
}

/// The median absolute deviation times 1.4826: reads as a standard deviation for normal data.
///
/// ```
/// let sd = evenfell::stats::robust_sd(&[-1.0, 0.0, 0.0, 1.0, 1.0, 90.0]).expect("not empty");
/// assert!(sd < 2.0);
/// ```
#[must_use]
pub fn robust_sd(values: &[f64]) -> Option<f64> {
    mad(values).map(|m| m * NORMAL_MAD)
}

/// Slope and intercept that most pairs of points agree on (Theil and Sen).
///
/// All pairs are taken, so keep to a few hundred points. `None` with fewer than two different `x`.
#[must_use]
pub fn theil_sen(x: &[f64], y: &[f64]) -> Option<(f64, f64)> {
    let n = x.len().min(y.len());
    let mut slopes = Vec::with_capacity(n * n.saturating_sub(1) / 2);
    for i in 0..n {
        for j in i + 1..n {
            let run = x[j] - x[i];
            if run.abs() > f64::EPSILON {
                slopes.push((y[j] - y[i]) / run);
            }
        }
    }
    let slope = median(&slopes)?;
    let offsets: Vec<f64> = (0..n).map(|i| y[i] - slope * x[i]).collect();
    Some((slope, median(&offsets)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_of_nothing_is_nothing() {
        assert_eq!(median(&[]), None);
        assert_eq!(robust_sd(&[]), None);
        assert_eq!(theil_sen(&[1.0, 1.0], &[2.0, 3.0]), None);
    }

    #[test]
    fn one_wild_point_in_five_leaves_the_slope() {
        let x: Vec<f64> = (0..25).map(f64::from).collect();
        let mut y: Vec<f64> = x.iter().map(|x| 3.0 - 0.25 * x).collect();
        for k in (2..25).step_by(5) {
            y[k] += 40.0;
        }
        let (slope, offset) = theil_sen(&x, &y).expect("25 points");
        assert!(
            (slope + 0.25).abs() < 0.05 && (offset - 3.0).abs() < 0.6,
            "{slope} {offset}"
        );
    }
}
