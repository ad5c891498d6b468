//! With how many digits is a value written? As many as its error deserves.
//!
//! # Method
//! The rule of the Particle Data Group: of the error's three leading digits, 100 to 354 are
//! rounded to two figures, 355 to 949 to one, 950 to 999 to 1000 with two figures; the value then
//! ends at the same place. Errors of ten and more are written whole.
//!
//! Reference: Particle Data Group, *Review of Particle Physics*, Introduction, section 5.3.

/// The value and its error as text, `20.31 ± 0.04`; the error alone sets the digits.
///
/// ```
/// use evenfell::stats::shown;
/// assert_eq!(shown(20.3141, 0.0412), "20.31 ± 0.04");
/// assert_eq!(shown(20.3141, 0.0254), "20.314 ± 0.025");
/// assert_eq!(shown(20.3141, 3.14), "20.3 ± 3.1");
/// ```
#[must_use]
pub fn shown(value: f64, error: f64) -> String {
    let places = decimals(error);
    format!("{value:.places$} ± {error:.places$}")
}

/// The value alone, with the digits that its error leaves it.
///
/// ```
/// assert_eq!(evenfell::stats::shown_value(20.3141, 0.0412), "20.31");
/// ```
#[must_use]
pub fn shown_value(value: f64, error: f64) -> String {
    format!("{value:.0$}", decimals(error))
}

/// Decimal places that an error deserves; 3 where it is zero or no number.
fn decimals(error: f64) -> usize {
    let error = error.abs();
    if !(error.is_finite() && error > 0.0) {
        return 3;
    }
    // The exponent of the leading digit; a float's own exponent form gives it without rounding
    // trouble at powers of ten.
    let text = format!("{error:.2e}");
    let (digits, exponent) = text.split_once('e').unwrap_or(("1.00", "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let leading: String = digits.chars().filter(char::is_ascii_digit).collect();
    let leading: u32 = leading.parse().unwrap_or(100);
    // From 950 on the error rounds up to 1000, whose two figures end where one figure did.
    let places = if leading <= 354 {
        1 - exponent
    } else {
        -exponent
    };
    usize::try_from(places.clamp(0, 9)).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_places_follow_the_error() {
        for (error, text) in [
            (0.0354, "1.235 ± 0.035"),
            (0.0356, "1.23 ± 0.04"),
            (0.0949, "1.23 ± 0.09"),
            (0.0951, "1.23 ± 0.10"),
            (0.000_12, "1.234_57 ± 0.000_12"),
        ] {
            assert_eq!(shown(1.234_567, error), text.replace('_', ""), "{error}");
        }
    }

    #[test]
    fn a_large_error_is_written_whole() {
        assert_eq!(shown(1234.5, 120.0), "1234 ± 120");
        assert_eq!(shown(1.5, 0.0), "1.500 ± 0.000");
    }
}
