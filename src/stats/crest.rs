//! Where does a row of values have its crest, between its steps?

/// Where the parabola through three values, a step apart, is greatest, in steps from the middle one; 0 where it has no
/// crest.
pub(crate) fn crest(before: f64, here: f64, after: f64) -> f64 {
    let bend = before - 2.0 * here + after;
    if bend < 0.0 {
        0.5 * (before - after) / bend
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_crest_of_a_parabola_is_found_and_a_valley_has_none() {
        let parabola = |x: f64| 3.0 - 2.0 * (x - 0.3).powi(2);
        let at = crest(parabola(-1.0), parabola(0.0), parabola(1.0));
        assert!((at - 0.3).abs() < 1e-12);
        assert!(crest(1.0, 0.0, 2.0).abs() < 1e-12);
    }
}
