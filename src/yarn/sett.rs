//! How close threads can lie: Ashenhurst's diameters to the inch.
//!
//! A yarn of n yards to the pound lies 0.9 √n times side by side in an inch when it is firm,
//! 0.84 √n when it is soft. Half of them leave room for the other threads of a plain weave.
//! The rule is one for ordinary yarns: a cord or a roving may differ by a fifth.

use super::Yarn;

/// Ashenhurst's factor for firm yarn.
const FIRM: f64 = 0.9;
/// Ashenhurst's factor for soft yarn.
const SOFT: f64 = 0.84;
/// By how much picks may pass the diameters to the inch before they can't be: weft beaten over
/// itself in a weft-faced band.
const CRAMMED: f64 = 1.3;

/// Whether a yarn is spun firm or soft.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Firmness {
    /// Firmly spun: cotton, linen, worsted.
    #[default]
    Firm,
    /// Softly spun: woollen.
    Soft,
}

/// Touching diameters to the inch (T. R. Ashenhurst's rule).
///
/// ```
/// use evenfell::yarn::{Firmness, Yarn, diameters_per_inch};
/// let yarn = Yarn::parse("8/2 cotton").unwrap();
/// assert_eq!(diameters_per_inch(&yarn, Firmness::Firm).round(), 52.0);
/// ```
#[must_use]
pub fn diameters_per_inch(yarn: &Yarn, firmness: Firmness) -> f64 {
    let factor = match firmness {
        Firmness::Firm => FIRM,
        Firmness::Soft => SOFT,
    };
    factor * yarn.yards_per_pound().sqrt()
}

/// Diameter of the yarn by the same rule, mm.
#[must_use]
pub fn diameter_mm(yarn: &Yarn, firmness: Firmness) -> f64 {
    crate::units::MM_PER_INCH / diameters_per_inch(yarn, firmness)
}

/// Ends to the inch of a weave in which a thread floats over `ends_per_repeat` ends in a repeat
/// and passes from face to back `crossings_per_repeat` times: the diameters to the inch times
/// ends / (ends + crossings). Plain weave is (2, 2), a 2/2 twill (4, 2).
///
/// ```
/// use evenfell::yarn::{Firmness, Yarn, sett_per_inch};
/// let yarn = Yarn::parse("8/2 cotton").unwrap();
/// assert!((sett_per_inch(&yarn, Firmness::Firm, 4, 2) - 34.8).abs() < 0.05);
/// ```
#[must_use]
pub fn sett_per_inch(
    yarn: &Yarn,
    firmness: Firmness,
    ends_per_repeat: u32,
    crossings_per_repeat: u32,
) -> f64 {
    let threads = f64::from(ends_per_repeat);
    let all = threads + f64::from(crossings_per_repeat);
    diameters_per_inch(yarn, firmness) * if all > 0.0 { threads / all } else { 1.0 }
}

/// Ends to the inch of a plain weave: half the diameters.
#[must_use]
pub fn plain_sett_per_inch(yarn: &Yarn, firmness: Firmness) -> f64 {
    sett_per_inch(yarn, firmness, 2, 2)
}

/// Most picks to the inch that `weft` can lie at: more means that rows were counted double.
///
/// ```
/// use evenfell::yarn::{Yarn, most_picks_per_inch};
/// let weft = Yarn::parse("8/2 cotton").unwrap();
/// assert!(most_picks_per_inch(&weft) < 70.0);
/// ```
#[must_use]
pub fn most_picks_per_inch(weft: &Yarn) -> f64 {
    CRAMMED * 2.0 * plain_sett_per_inch(weft, Firmness::Firm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_two_cotton_has_the_setts_of_the_rule() {
        // Ashenhurst: 8/2 cotton 52 diameters to the inch, plain sett 26, 2/2 twill 34.8.
        let yarn = Yarn::parse("8/2 cotton").unwrap();
        assert!((diameters_per_inch(&yarn, Firmness::Firm) - 52.0).abs() < 0.5);
        assert!((plain_sett_per_inch(&yarn, Firmness::Firm) - 26.0).abs() < 0.1);
        assert!((sett_per_inch(&yarn, Firmness::Firm, 4, 2) - 34.8).abs() < 0.05);
        assert!(diameters_per_inch(&yarn, Firmness::Soft) < 49.0);
    }

    #[test]
    fn twice_the_plain_sett_is_possible_and_double_counting_is_not() {
        let yarn = Yarn::parse("8/2 cotton").unwrap();
        let most = most_picks_per_inch(&yarn);
        assert!((most - 1.3 * 52.17).abs() < 0.1, "{most}");
    }
}
