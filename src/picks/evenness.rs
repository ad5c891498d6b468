//! How evenly do picks follow one another?
//!
//! Hands beat evenly, and a repeat that can't be followed loses picks here and counts them twice there. So of two
//! ways to follow it, the one whose gaps change less from one to the next is likelier.

/// How much one gap differs from the next, mean of the logarithms.
pub(crate) fn unevenness(centres_mm: &[f64]) -> f64 {
    let logs: Vec<f64> = centres_mm
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).max(1e-3).ln())
        .collect();
    let changes: Vec<f64> = logs
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .collect();
    if changes.is_empty() {
        return f64::INFINITY;
    }
    changes.iter().sum::<f64>() / changes.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pick_lost_is_uneven_and_a_creeping_beat_is_not() {
        let creeping: Vec<f64> = (0..40)
            .map(|k| f64::from(k) + 0.004 * f64::from(k * k))
            .collect();
        let mut lost: Vec<f64> = (0..40).map(f64::from).collect();
        lost.remove(17);
        assert!(unevenness(&creeping) < 0.5 * unevenness(&lost));
    }
}
