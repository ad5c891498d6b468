//! By how much must a standard uncertainty that rests on few values be multiplied for 95 %?
//!
//! Student's factor (JCGM 100:2008, annex G): closed forms for one and two degrees of freedom, the
//! [`t_quantile`] above.

use super::t_quantile;

/// The factor that makes a 95 % interval of a standard uncertainty with so many degrees of
/// freedom; infinite for none.
///
/// ```
/// use evenfell::stats::coverage_factor;
/// assert!((coverage_factor(1) - 12.71).abs() < 0.01);
/// assert!((coverage_factor(11) - 2.20).abs() < 0.005);
/// ```
#[must_use]
pub fn coverage_factor(freedom: usize) -> f64 {
    match freedom {
        0 => f64::INFINITY,
        1 => (std::f64::consts::PI * 0.475).tan(),
        2 => 0.95 * (2.0 / (1.0 - 0.95 * 0.95_f64)).sqrt(),
        _ => t_quantile(0.975, freedom as f64),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factors_are_those_of_the_guide() {
        // JCGM 100:2008, table G.2, column 95 %.
        for (freedom, factor) in [
            (1, 12.71),
            (2, 4.30),
            (3, 3.18),
            (4, 2.78),
            (5, 2.57),
            (6, 2.45),
            (8, 2.31),
            (10, 2.23),
            (11, 2.20),
            (20, 2.09),
            (50, 2.01),
            (100, 1.984),
        ] {
            let got = coverage_factor(freedom);
            assert!((got - factor).abs() < 0.01, "{freedom}: {got}");
        }
        assert!(coverage_factor(0).is_infinite());
    }
}
