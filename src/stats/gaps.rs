//! Distances between neighbouring places.

/// The distance from each place to the next, in the places' own unit; one less than there are places.
pub(crate) fn gaps(places: &[f64]) -> Vec<f64> {
    places.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_is_one_gap_less_than_places_and_none_without() {
        assert_eq!(gaps(&[1.0, 3.5, 3.0]), [2.5, -0.5]);
        assert!(gaps(&[1.0]).is_empty() && gaps(&[]).is_empty());
    }
}
