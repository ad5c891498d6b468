//! How many picks are there to the inch, over the whole body and around each place?
//!
//! The whole: picks of the body over the length of the body. Around a place: the picks of a
//! centred window less one, over the distance from its first to its last centre; never the mean of
//! 1 / spacing, which reads high by about the spacing's squared coefficient of variation.

use super::PickPlaces;
use crate::measurement::LocalPicks;
use crate::stats::Estimate;

/// Millimetres in an inch.
pub const MM_PER_INCH: f64 = 25.4;

/// Picks in a local window.
///
/// Five picks at 9 to the inch are 11 mm: short enough to show a slip of the hand, long enough
/// that one pick's scatter of 5 % moves it by no more than 2.5 %.
pub const LOCAL_PICKS: usize = 5;

/// Picks per inch of the whole body. `None` without picks or without length.
#[must_use]
pub fn picks_per_inch(places: &PickPlaces) -> Option<Estimate> {
    let length = places.length_mm;
    if places.count() == 0 || length.value <= 0.0 {
        return None;
    }
    let density = places.count() as f64 * MM_PER_INCH / length.value;
    let share = density / length.value;
    Some(Estimate::new(
        density,
        length.scatter * share,
        length.scale * share,
    ))
}

/// Local picks per inch around every pick that has two neighbours on each side; empty for a body
/// of fewer than [`LOCAL_PICKS`] picks.
#[must_use]
pub fn local_picks(places: &PickPlaces) -> LocalPicks {
    let scale_share = if places.length_mm.value > 0.0 {
        places.length_mm.scale / places.length_mm.value
    } else {
        0.0
    };
    let mut local = LocalPicks::default();
    let uncertainties = places.centre_u_mm.windows(LOCAL_PICKS);
    for (at, u) in places.centres_mm.windows(LOCAL_PICKS).zip(uncertainties) {
        let (first, last) = (at[0], at[LOCAL_PICKS - 1]);
        let run = last - first;
        if run <= 0.0 {
            continue;
        }
        let density = (LOCAL_PICKS - 1) as f64 * MM_PER_INCH / run;
        let noise = u[0].hypot(u[LOCAL_PICKS - 1]) / run;
        local.at_mm.push(f64::midpoint(first, last));
        local.per_inch.push(density);
        local
            .u95
            .push(Estimate::new(density, density * noise, density * scale_share).u95());
    }
    local
}

#[cfg(test)]
mod tests {
    use super::super::testing::even_places;
    use super::*;

    #[test]
    fn ten_picks_to_the_inch_read_as_ten_everywhere() {
        let places = even_places(40, 2.54);
        let whole = picks_per_inch(&places).expect("40 picks");
        assert!((whole.value - 10.0).abs() < 1e-9);
        let local = local_picks(&places);
        assert_eq!(local.at_mm.len(), 36);
        assert!(local.per_inch.iter().all(|p| (p - 10.0).abs() < 1e-9));
        assert!(local.u95.iter().all(|u| *u > 0.0));
    }

    #[test]
    fn the_scale_and_the_ends_widen_the_interval_apart() {
        let mut places = even_places(40, 2.54);
        places.length_mm = Estimate::new(101.6, 0.1016, 0.2032);
        let whole = picks_per_inch(&places).expect("40 picks");
        assert!((whole.scatter - 0.01).abs() < 1e-9 && (whole.scale - 0.02).abs() < 1e-9);
    }

    #[test]
    fn four_picks_have_no_local_window() {
        assert!(local_picks(&even_places(4, 2.0)).at_mm.is_empty());
    }
}
