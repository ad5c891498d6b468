//! Does the beat creep from start to finish?
//!
//! The drift figure (plain least squares over all picks) is a finding where its whole interval
//! lies beyond the tolerance, where the slope that most pairs of picks agree on shows at least half
//! of it (a single loose stretch near an end tilts the plain fit, not this one), and where it is
//! more than the pick-to-pick scatter tilts a line by chance.

use super::chance::stands_out;
use super::words;
use crate::beat::PickPlaces;
use crate::measurement::{Beat, Finding, FindingKind};
use crate::stats::{LineFit, effective_count, gaps, theil_sen};

/// The finding, if there is one. `tolerance` is a share.
#[must_use]
pub fn drift(places: &PickPlaces, beat: &Beat, tolerance: f64) -> Option<Finding> {
    let size = beat.drift_percent.value;
    if size.abs() - beat.drift_percent.u95 <= 100.0 * tolerance {
        return None;
    }
    let (robust, chance) = tilt(places)?;
    if robust * size.signum() < 0.5 * size.abs() || size.abs() <= chance {
        return None;
    }
    let last = u32::try_from(places.count()).ok();
    let finding = Finding {
        kind: FindingKind::Drift,
        side: None,
        from_mm: 0.0,
        to_mm: places.length_mm.value,
        size,
        unit: "%".into(),
        pick: last.map(|_| 1),
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let seen = format!(
        "the picks creep {} from start to finish: the spacing at the finish is {:.0} % {} than at \
         the start",
        if size > 0.0 { "apart" } else { "together" },
        size.abs(),
        if size > 0.0 { "wider" } else { "narrower" },
    );
    Some(words::finish(finding, &seen))
}

/// Drift by the slope that most pairs agree on, and how much chance may tilt a line; both in %.
fn tilt(places: &PickPlaces) -> Option<(f64, f64)> {
    let pitch = places.pitch_mm().filter(|p| *p > 0.0)?;
    let x = &places.centres_mm;
    let mids: Vec<f64> = x.windows(2).map(|p| f64::midpoint(p[0], p[1])).collect();
    let spacing = gaps(x);
    let to_percent = 100.0 * (mids.last()? - mids.first()?) / pitch;
    let line = LineFit::new(&mids, &spacing)?;
    let left: Vec<f64> = mids
        .iter()
        .zip(&spacing)
        .map(|(m, d)| d - line.at(*m))
        .collect();
    let worth = effective_count(&left).max(4.0);
    let se = line.slope_se() * (left.len() as f64 / worth).sqrt();
    let (slope, _) = theil_sen(&mids, &spacing)?;
    let chance = stands_out(1.0, worth - 2.0) * se;
    Some((slope * to_percent, chance * to_percent))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::split;
    use crate::beat::testing::places_of;
    use crate::stats::testing::Normal;

    fn found(cv: f64, seed: u64, factor: impl Fn(f64) -> f64) -> Option<Finding> {
        let mut normal = Normal::new(seed);
        let share = |k: u32| factor(f64::from(k) / 59.0);
        let spacing: Vec<f64> = (0..60)
            .map(|k| 2.3 * share(k) * (1.0 + cv * normal.draw()))
            .collect();
        let places = places_of(&spacing);
        drift(&places, &split(&places).expect("61 picks"), 0.08)
    }

    #[test]
    fn a_creep_is_found_with_its_sign() {
        for seed in 0..30 {
            let one = found(0.04, seed, |s| 1.14 - 0.28 * s).expect("a creep of 28 %");
            assert!((one.size + 28.0).abs() < 9.0, "{one:?}");
            assert!(one.text.contains("together"), "{}", one.text);
        }
    }

    #[test]
    fn a_loose_stretch_near_the_finish_is_no_creep() {
        let stretch = |s: f64| if s > 0.85 { 1.35 } else { 1.0 };
        let wrong = (0..30)
            .filter(|seed| found(0.03, *seed, stretch).is_some())
            .count();
        assert_eq!(wrong, 0);
    }

    #[test]
    fn chance_is_no_creep() {
        let wrong = (0..600)
            .filter(|seed| found(0.06, 70 + seed, |_| 1.0).is_some())
            .count();
        assert!(wrong <= 2, "{wrong} of 600");
    }
}
