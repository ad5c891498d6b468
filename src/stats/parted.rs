//! Where do values part in two best?
//!
//! Reference: N. Otsu, "A threshold selection method from gray-level histograms", *IEEE Trans. SMC* 9 (1979) 62.

/// How many of the ascending values make up the lower part, where the variance between both parts is greatest;
/// `None` of fewer than two.
pub(crate) fn parted(ascending: &[f64]) -> Option<usize> {
    let n = ascending.len();
    let total: f64 = ascending.iter().sum();
    let mut below = 0.0;
    let mut best = (f64::NEG_INFINITY, None);
    for k in 1..n {
        below += ascending[k - 1];
        let (left, right) = (k as f64, (n - k) as f64);
        let apart = (total - below) / right - below / left;
        let between = left * right * apart * apart;
        if between > best.0 {
            best = (between, Some(k));
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_part_in_their_widest_gap_and_one_value_nowhere() {
        assert_eq!(parted(&[0.0, 0.1, 0.2, 5.0, 5.1]), Some(3));
        assert_eq!(parted(&[1.0]), None);
    }
}
